//! Who is next and what is unfinished?

use super::frame::{DeskTabs, NotSaved, SavedSign, WasGone, marked, time_of_day};
use super::sealing::Sign;
use crate::desk::{Route, use_desk, zone};
use crate::parts::{Look, Press};
use crate::shape::prelude::*;
use pinfold_core::base::stamp::Wall;
use pinfold_core::view::chair as view;
use pinfold_core::view::today::{Due, Todo, due, open_chairs, unwritten};
use pinfold_core::view::visit::day_of;
use pinfold_core::words::people::EN as PEOPLE;
use pinfold_core::words::{app, chair, copies, place};

/// A name, or that there is none.
fn named(name: String) -> String {
    if name.is_empty() {
        app::EN.no_name.into()
    } else {
        name
    }
}

/// What comes next for somebody: its name, what is missing, where it is done.
fn next(due: &Due) -> (&'static str, &'static str, Route) {
    let (w, p) = (&app::EN, due.person);
    match (due.todo, due.session) {
        (Todo::Chair, Some(session)) => (PEOPLE.chair, w.todo_chair, Route::Chair(session)),
        (Todo::Write, Some(session)) => (PEOPLE.write, w.todo_write, Route::Write(session)),
        (Todo::Ask, _) => (PEOPLE.ask, w.todo_ask, Route::Ask(p)),
        (Todo::Look, _) => (PEOPLE.look, w.todo_look, Route::Look(p)),
        (Todo::Plan, _) => (PEOPLE.plan, w.todo_plan, Route::Plan(p)),
        (Todo::Nothing, _) => ("", w.todo_nothing, Route::Person(p)),
        _ => (PEOPLE.next, w.todo_next, Route::Next(p)),
    }
}

/// Today.
#[component]
pub fn Today(
    /// Draws what there is to say of the room on this phone and to ask of the emergency number, once
    /// that has come.
    notes: Option<fn() -> Shape>,
) -> impl IntoShape {
    let desk = use_desk();
    // The open chairs first, large: after a phone that went off this is what is wanted.
    let soonest = move |session| {
        desk.track_time();
        let left = desk.now().and_then(|now| {
            desk.session(session, |s| {
                let clocks = view::clocks(s.state(), &now, &chair::EN, &place::EN);
                clocks.first().and_then(|c| c.left)
            })
        });
        left.flatten()
            .map_or(String::new(), |left| app::EN.next_out(left))
    };
    let chairs = move || {
        desk.read(open_chairs)
            .into_iter()
            .map(|open| {
                let name = named(open.name);
                let since = time_of_day(open.at, zone());
                view! {
                    <a class="open" href=Route::Chair(open.session).href()>
                        <b class="num">{open.inside}</b>
                        <span>
                            <b><bdi>{app::EN.in_the_chair(&name)}</bdi> {marked(open.rehearsal)}</b>
                            <span class="note">
                                {app::EN.needles_in(open.inside)} ", " {since} " \u{b7} "
                                {move || soonest(open.session)}
                            </span>
                        </span>
                        <b>{app::EN.resume}</b>
                    </a>
                }
            })
            .collect::<Vec<_>>()
    };
    let visits =
        move || {
            let lines = desk.read(|l| due(l, desk.today(), zone()));
            let nobody = lines
                .is_empty()
                .then(|| view! { <p>{app::EN.nobody_due}</p> });
            let lines = lines
            .into_iter()
            .map(|line| {
                let (step, missing, route) = next(&line);
                let at = line.at.map_or(app::EN.no_time.to_string(), |at| time_of_day(at, zone()));
                let first = if line.first { app::EN.first_visit } else { "" };
                view! {
                    <li>
                        <a class="due" href=route.href()>
                            <b>{at}</b>
                            <span><b><bdi>{line.name}</bdi></b> " " <small>{first}</small></span>
                            <span class="note"><b>{step}</b> " " {missing}</span>
                        </a>
                    </li>
                }
            })
            .collect::<Vec<_>>();
            view! { {nobody} <ol class="day">{lines}</ol> }
        };
    let late = move || {
        let lines = desk.read(|l| unwritten(l, desk.today(), zone()));
        (!lines.is_empty()).then(|| {
            let lines = lines
                .into_iter()
                .map(|line| {
                    let name = named(line.name);
                    let when = format!(
                        "{} {}",
                        day_of(line.at, zone()),
                        time_of_day(line.at, zone())
                    );
                    view! {
                        <li>
                            <a class="press plain spread" href=Route::Write(line.session).href()>
                                <span><bdi>{name}</bdi><small>{when}</small></span>
                            </a>
                        </li>
                    }
                })
                .collect::<Vec<_>>();
            view! { <h2>{app::EN.unfinished}</h2> <ul class="stack">{lines}</ul> }
        })
    };
    let last = move || desk.read(|l| l.practice().last_copy().map(|c| (c.at, c.brought)));
    // Whole days since the last copy; one that was never taken is as old as what is here.
    let days = move |at: Wall| desk.stamp().wall.since(at) / 86_400_000;
    let old = move || match last() {
        Some((at, _)) => days(at),
        None => desk.read(|l| l.everybody().next().map_or(0, |_| i64::MAX)),
    };
    let age = move || match last() {
        Some((at, brought)) => copies::EN.age(days(at), brought),
        None => copies::EN.never.to_string(),
    };
    view! {
        <div class="screen">
            <header class="head column">
                <h1>{app::EN.today} " " <small class="note">{desk.today().to_string()}</small></h1>
                <p class="note end"><SavedSign /> <br /> {app::EN.works_offline}</p>
            </header>
            <main class="column halves">
                <div class="stack">
                    <NotSaved />
                    <p class="note" hidden=move || desk.read(|l| l.unread()) == 0>{app::EN.still_reading}</p>
                    <div class="stack">{chairs}</div>
                    <WasGone />
                    <a class="press plain" href=Route::Copies.href() hidden=move || { old() < 14 }>{age}</a>
                    <Sign />
                    {notes.map(|draw| draw())}
                    <section class="stack">{visits}</section>
                </div>
                <div class="stack">
                    <section class="stack">{late}</section>
                    <a class="note" href=Route::Copies.href() hidden=move || { old() >= 14 }>{age}</a>
                    <a class="press plain" href=Route::People.href()>{PEOPLE.add}</a>
                    <Press
                        text=chair::EN.count_only
                        note=chair::EN.count_only_note
                        look=Look::Plain
                        spread=true
                        on_press=move |()| desk.go(&Route::CountOnly)
                    />
                    <a class="press plain" href=Route::CountOnly.href()>{chair::EN.rehearse}</a>
                    <Update />
                </div>
            </main>
            <DeskTabs here=0 />
        </div>
    }
}

/// A new version is only offered, and only taken when nothing is open.
#[component]
fn Update() -> impl IntoShape {
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
