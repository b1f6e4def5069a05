//! How many came out here? Asked when the region is clear, on a screen that shows neither the
//! planned nor the placed number, so there is nothing to agree with.

use super::frame::{NotSaved, SavedSign};
use super::leave_in::LeaveIn;
use super::resume::Resume;
use super::unwell::Unwell;
use crate::desk::{Route, use_desk};
use crate::parts::slab::Tall;
use crate::parts::{Keys, KeysWords, Look, Notice, Press, Slab};
use crate::shape::prelude::*;
use pinfold_core::atlas::Region;
use pinfold_core::base::id::EntryId;
use pinfold_core::event::session::How;
use pinfold_core::ledger::ChairCommand;
use pinfold_core::view::chair as view;
use pinfold_core::view::resume::Shown;
use pinfold_core::words::{app, chair, place};

/// Taking out one region.
#[component]
pub fn RegionOut(
    /// The session.
    session: EntryId,
    /// The region.
    region: Region,
) -> impl IntoShape {
    let desk = use_desk();
    let first = RwSignal::new(None::<u16>);
    let question = RwSignal::new(0_u32);
    let name = place::EN.region(region);
    let whose = place::EN.whose(region);
    let title = view::title(&place::EN, region);
    let there = desk.session(session, |_| ()).is_some();

    let answer = move |n: u16| {
        let inside = desk
            .session(session, |s| s.state().in_region(region).count())
            .and_then(|n| u16::try_from(n).ok())
            .unwrap_or(0);
        let before = first.get_untracked();
        if n != inside && before.is_none() {
            first.set(Some(n));
            question.update(|q| *q += 1);
            return;
        }
        let take = ChairCommand::TakeOut {
            session,
            region,
            count: n,
            how: How::Taken,
            first: before,
        };
        if desk.act(take).is_ok() {
            desk.replace(&Route::Chair(session));
        }
    };
    let again = move || first.get().is_some();
    // As it is chosen in Settings; this page can change over.
    let single = RwSignal::new(desk.read_now(|l| l.practice().setting("out_form") == "one"));
    // What is in here, first in first, with its point; and how many came out.
    let next = move || {
        let seen = desk.session(session, |s| {
            let state = s.state();
            let needle = state.in_region(region).next()?;
            let point = state.needles.get(&needle).and_then(|n| n.point.as_ref());
            let name = point.map_or(chair::EN.as_one.to_string(), |p| {
                place::EN.points([(p.code.as_str(), p.side)])
            });
            Some((needle, name))
        });
        seen.flatten()
    };
    let out_here = move || {
        let n = desk.session(session, |s| {
            s.state().regions.get(&region).map_or(0, |r| r.out)
        });
        chair::EN.out_here(n.unwrap_or(0))
    };
    let one = move |how: How| {
        if let Some((needle, _)) = next() {
            let take = ChairCommand::TakeOutOne {
                session,
                needle,
                how,
            };
            if desk.act(take).is_ok() && next().is_none() {
                desk.replace(&Route::Chair(session));
            }
        }
    };
    let undo = move |()| {
        let _ = desk.act(ChairCommand::Undo { session });
    };
    let asked = {
        let title = title.clone();
        move || format!("{title}: {}", chair::EN.how_many_came_out)
    };
    view! {
        <div class="screen chair">
            <header class="head column">
                <Press
                    text=chair::EN.chair
                    look=Look::Plain
                    chair=true
                    fit=true
                    on_press=move |()| desk.replace(&Route::Chair(session))
                />
                <h1><small>{whose}</small> " " {name}</h1>
                <div class="end"><Unwell session=session /></div>
            </header>
            <main class="column stack">
                <p class="note"><SavedSign /></p>
                <NotSaved />
                <Resume session=session shown=Signal::derive(move || Shown::Region(region)) />
                <div hidden=there>
                    <Notice title=app::EN.not_there next=app::EN.not_there_next quiet=true />
                </div>
                {move || if single.get() {
                    view! {
                        <Slab
                            text=Signal::derive(move || chair::EN.took_out(&next().map_or(String::new(), |(_, name)| name)))
                            note=Signal::derive(out_here)
                            tall=Tall::Again
                            on_press=move |()| one(How::Taken)
                        />
                        <Press text=chair::EN.fell_out chair=true look=Look::Plain on_press=move |()| one(How::FellOut) />
                        <Press text=chair::EN.undo chair=true look=Look::Plain on_press=undo />
                    }
                } else {
                    let title = title.clone();
                    let asked = asked.clone();
                    view! {
                        <p hidden=again><b>{chair::EN.clear_the_region}</b> " " {chair::EN.then_look}</p>
                        <div hidden=move || !again()>
                            <Notice title=chair::EN.look_again next=chair::EN.look_again_why quiet=true far=true />
                        </div>
                        <h2 class="question">
                            <small>{title} ":"</small>
                            " "
                            {move || if again() { chair::EN.count_again_here } else { chair::EN.how_many_came_out }}
                        </h2>
                        <Keys
                            name=Signal::derive(asked)
                            words=KeysWords {
                                more: chair::EN.more,
                                done: chair::EN.that_many,
                                back: chair::EN.back,
                                typed: chair::EN.typed,
                            }
                            question=question
                            on_answer=answer
                        />
                    }
                }}
            </main>
            <footer class="column foot last">
                <div class="row three">
                    <Press
                        text=Signal::derive(move || if single.get() { chair::EN.all_at_once } else { chair::EN.one_by_one }.to_string())
                        look=Look::Plain
                        chair=true
                        small=true
                        on_press=move |()| single.update(|s| *s = !*s)
                    />
                    <LeaveIn session=session region=region on_done=Callback::new(move |()| desk.replace(&Route::Chair(session))) />
                    <Press
                        text=chair::EN.leave_it_open
                        look=Look::Plain
                        chair=true
                        small=true
                        on_press=move |()| desk.replace(&Route::Chair(session))
                    />
                </div>
            </footer>
        </div>
    }
}
