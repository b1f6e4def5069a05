//! Where two phones disagree: side by side, for somebody to choose.

use super::copies::moment;
use super::frame::{DeskTabs, NotSaved, SavedSign};
use crate::desk::use_desk;
use crate::parts::{Look, Press};
use crate::shape::prelude::*;
use pinfold_core::carry::{Disagreement, Side, disagreements};
use pinfold_core::words::copies::{EN, shown};

/// What waits for a choice.
#[component]
pub fn Differ() -> impl IntoShape {
    let desk = use_desk();
    let all = move || {
        desk.known().track();
        desk.read(|l| {
            let found = desk.books(|b| disagreements(l, Some(b)));
            found.unwrap_or_else(|_| disagreements(l, None))
        })
    };
    let side = move |side: Side| {
        let stands = if side.stands { EN.stands } else { "" };
        let choose = side.choose;
        view! {
            <li class="stack">
                <bdi>{shown(&side.words)}</bdi>
                <small class="note">{moment(side.at)} " " {stands}</small>
                <Press text=EN.choose look=Look::Plain fit=true on_press=move |()| {
                    let _ = desk.act(choose.clone());
                } />
            </li>
        }
    };
    let one = move |one: Disagreement| {
        let sides: Vec<_> = one.sides.into_iter().map(side).collect();
        view! {
            <section class="panel stack">
                <h2>{one.title}</h2>
                <p class="note"><bdi>{shown(&one.name)}</bdi></p>
                <ul class="lines">{sides}</ul>
            </section>
        }
    };
    let lists = move || all().into_iter().map(one).collect::<Vec<_>>();
    view! {
        <div class="screen">
            <header class="head column">
                <h1>{EN.differ}</h1>
                <p class="note end"><SavedSign /></p>
            </header>
            <main class="column stack">
                <NotSaved />
                <p class="reading">{EN.differ_why}</p>
                <p hidden=move || !all().is_empty()>{EN.differ_none}</p>
                {lists}
            </main>
            <DeskTabs here=2 />
        </div>
    }
}
