//! Who is next and what is unfinished?

use super::frame::{DeskTabs, NotSaved, SavedSign, time_of_day};
use crate::desk::{Route, use_desk};
use crate::parts::{Look, Press};
use leptos::prelude::*;
use pinfold_core::base::id::EntryId;
use pinfold_core::base::stamp::Wall;
use pinfold_core::words::{app, chair};

#[derive(Clone, PartialEq)]
struct Line {
    session: EntryId,
    at: Wall,
    inside: u32,
}

/// Today.
#[component]
pub fn Today() -> impl IntoView {
    let desk = use_desk();
    let lines = Memo::new(move |_| {
        desk.read(|ledger| {
            let line = |(session, s): (EntryId, &pinfold_core::session::Session)| Line {
                session,
                at: s.state().opened_at.unwrap_or_default(),
                inside: s.state().sum.in_now + s.state().sum.out_uncounted,
            };
            let open: Vec<Line> = ledger.open_sessions().map(line).collect();
            open
        })
    });
    let zone = crate::desk::zone();
    let open = move || {
        lines
            .get()
            .into_iter()
            .map(|line| {
                view! {
                    <a class="press spread" href=Route::Chair(line.session).href()>
                        <span>{chair::EN.count_only} <small>{time_of_day(line.at, zone)}</small></span>
                        <b>{app::EN.needles_in(line.inside)}</b>
                    </a>
                }
            })
            .collect::<Vec<_>>()
    };
    view! {
        <div class="screen">
            <header class="head column">
                <h1>{app::EN.today}</h1>
                <p class="note end"><SavedSign /> <br /> {app::EN.works_offline}</p>
            </header>
            <main class="column stack">
                <NotSaved />
                <p hidden=move || !lines.with(Vec::is_empty)>{app::EN.nobody_today}</p>
                <div class="stack">{open}</div>
                <Press
                    text=chair::EN.count_only
                    note=chair::EN.count_only_note
                    look=Look::Plain
                    spread=true
                    on_press=move |()| desk.go(&Route::CountOnly)
                />
                <Update />
            </main>
            <DeskTabs here=0 />
        </div>
    }
}

/// A new version is only offered, and only taken when nothing is open.
#[component]
fn Update() -> impl IntoView {
    let desk = use_desk();
    let open = move || desk.read(|ledger| ledger.open_sessions().next().is_some());
    view! {
        <section class="panel" hidden=move || !desk.update_waits().get()>
            <p>{app::EN.update} <span class="note" hidden=move || !open()>{app::EN.update_waits}</span></p>
            <Press
                text=app::EN.update_take
                shut=Signal::derive(open)
                on_press=move |()| {
                    let _ = desk.take_update();
                }
            />
        </section>
    }
}
