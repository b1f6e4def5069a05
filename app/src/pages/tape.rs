//! The measuring tape: a person's own lengths, entered once, and what they make of every offset. Never
//! on the way of a visit.

use super::frame::{NotSaved, SavedSign, Steps};
use crate::desk::{Route, use_desk};
use crate::parts::slab::Tall;
use crate::parts::{Field, Kind, Notice, Slab};
use crate::shape::prelude::*;
use pinfold_core::base::id::EntryId;
use pinfold_core::event::person::Measured;
use pinfold_core::ledger::{DeskCommand, Ledger};
use pinfold_core::measure::typed;
use pinfold_core::procedure::Procedure;
use pinfold_core::view::atlas::{TapeLine, offsets, tape};
use pinfold_core::view::points::atlas;
use pinfold_core::view::procedures::find;
use pinfold_core::view::visit::Books;
use pinfold_core::words::app;
use pinfold_core::words::atlas::EN;
use pinfold_core::words::plan::EN as PLAN;

/// One length as it is typed.
#[derive(Clone)]
struct Typing {
    line: TapeLine,
    text: RwSignal<String>,
    wrong: RwSignal<String>,
}

/// The procedure that a person's plan of today uses.
fn chosen(
    ledger: &Ledger,
    books: &Books,
    person: EntryId,
    today: pinfold_core::base::date::Date,
) -> Option<Procedure> {
    let chose = ledger.person(person)?.plans.get(&today)?;
    find(books, ledger.practice(), &chose.procedure)
}

/// The tape.
#[component]
pub fn Tape(
    /// Whose.
    person: EntryId,
) -> impl IntoShape {
    let desk = use_desk();
    let today = desk.today();
    let there = desk.read_now(|l| l.person(person).is_some());
    let name = move || {
        desk.read(|l| {
            l.person(person)
                .map_or(String::new(), |p| p.name().to_string())
        })
    };
    // Read once: what is typed must stand while it is kept.
    let lines = desk
        .read_now(|l| {
            let measures = l.person(person).map(|p| p.measures.clone());
            desk.books(|b| {
                tape(
                    b,
                    &atlas(b, l.practice()),
                    &measures.unwrap_or_default(),
                    chosen(l, b, person, today).as_ref(),
                )
            })
        })
        .unwrap_or_default();
    let typing: Vec<Typing> = lines
        .into_iter()
        .map(|line| Typing {
            text: RwSignal::new(line.length.clone()),
            wrong: RwSignal::new(String::new()),
            line,
        })
        .collect();
    let done = RwSignal::new(false);
    let kept = StoredValue::new(typing.clone());
    let keep = move |()| {
        done.set(false);
        let mut lengths = Vec::new();
        let mut sound = true;
        for one in kept.get_value() {
            let text = one.text.get_untracked();
            let before =
                desk.read_now(|l| l.person(person).and_then(|p| p.measures.get(&one.line.id)));
            let read = desk.books(|b| typed(&b.segments, &one.line.id, &text));
            match read {
                Ok(Ok(um)) => {
                    one.wrong.set(String::new());
                    if um != before.unwrap_or(pinfold_core::base::units::Micrometres(0)) {
                        lengths.push((one.line.id, um));
                    }
                }
                Ok(Err(why)) => {
                    sound = false;
                    one.wrong.set(PLAN.tape(&why));
                }
                Err(_) => sound = false,
            }
        }
        // All or nothing: a slip in one keeps every one open, with what was typed.
        if sound && !lengths.is_empty() {
            let measured = Measured {
                date: today,
                lengths,
            };
            done.set(desk.act(DeskCommand::Measure(person, measured)).is_ok());
        } else {
            done.set(sound);
        }
    };
    let field = |one: &Typing| {
        let (text, wrong) = (one.text, one.wrong);
        let note = one.line.note.clone();
        view! {
            <Field
                id=format!("t-{}", one.line.id)
                label=one.line.what.clone()
                hint=note
                kind=Kind::Decimal
                value=text
                on_input=move |t| text.set(t)
                error=wrong
            />
        }
    };
    let needed: Vec<_> = typing.iter().filter(|t| t.line.needed).map(field).collect();
    let others: Vec<_> = typing
        .iter()
        .filter(|t| !t.line.needed)
        .map(field)
        .collect();
    let none_needed = needed.is_empty();
    let points = move || {
        let found = desk.read(|l| {
            let measures = l
                .person(person)
                .map(|p| p.measures.clone())
                .unwrap_or_default();
            let of = |b: &Books, p: &Procedure| offsets(b, &atlas(b, l.practice()), &measures, p);
            desk.books(|b| chosen(l, b, person, today).map(|p| of(b, &p)))
        });
        match found.ok().flatten() {
            None => vec![view! { <p>{EN.no_procedure}</p> }],
            Some(lines) if lines.is_empty() => vec![view! { <p>{EN.no_offsets}</p> }],
            Some(lines) => lines
                .into_iter()
                .map(|line| {
                    let ways = line.bearings.into_iter().map(|b| view! { <p>{b}</p> });
                    view! {
                        <article class="card">
                            <a class="press spread plain" href=Route::Point(line.code.clone()).href()><b>{line.code}</b> <span>{line.name}</span></a>
                            {ways.collect::<Vec<_>>()}
                        </article>
                    }
                })
                .collect(),
        }
    };
    view! {
        <div class="screen">
            <header class="column">
                <div class="head"><h1><bdi>{name}</bdi></h1><p class="note end"><SavedSign /></p></div>
                <Steps person=person here=None />
            </header>
            <main class="column halves">
                <div class="stack">
                    <NotSaved />
                    <div hidden=there><Notice title=app::EN.not_there next=app::EN.not_there_next quiet=true /></div>
                    <h2>{EN.tape}</h2>
                    <p>{EN.tape_what}</p>
                    <section class="panel stack" hidden=none_needed>
                        <h2>{EN.needed}</h2>
                        {needed}
                    </section>
                    <details open=none_needed>
                        <summary>{EN.others}</summary>
                        <div class="stack">{others}</div>
                    </details>
                    <p role="status"><b hidden=move || !done.get()>{EN.kept}</b></p>
                    <Slab text=EN.keep tall=Tall::Low solid=true on_press=keep />
                </div>
                <div class="stack">
                    <section class="panel stack">
                        <h2>{EN.offsets}</h2>
                        {points}
                    </section>
                    <p class="note">{EN.caution}</p>
                </div>
            </main>
        </div>
    }
}
