//! What happened that the plan did not say? Filled from the chair; only gaps are asked.

use super::frame::{NotSaved, SavedSign, Steps};
use crate::desk::{Route, use_desk};
use crate::parts::slab::Tall;
use crate::parts::{Field, Kind, Look, Notice, Press, Slab};
use crate::shape::prelude::*;
use pinfold_core::base::id::EntryId;
use pinfold_core::event::person::Wrote;
use pinfold_core::ledger::{ChairCommand, DeskCommand};
use pinfold_core::record::{Record, record};
use pinfold_core::view::people::everybody;
use pinfold_core::words::app;
use pinfold_core::words::people::EN;
use pinfold_core::words::record::EN as REC;

/// The record as it stands, in lines: on the page and on paper.
#[component]
pub fn RecordLines(
    /// The record.
    record: Record,
    /// On paper, where nothing is said of another visit.
    #[prop(optional)]
    paper: bool,
) -> impl IntoShape {
    let rows = record
        .rows()
        .into_iter()
        .map(|r| {
            view! {
                <tr>
                    <th scope="row">{r.region}<br /><small>{r.points}</small></th>
                    <td>{r.sizes}</td>
                    <td>{r.went_in}</td>
                    <td>{r.came_out}</td>
                    <td>{r.counts}</td>
                </tr>
            }
        })
        .collect::<Vec<_>>();
    let lines = |lines: Vec<String>| {
        let lines: Vec<_> = lines.into_iter().map(|l| view! { <li>{l}</li> }).collect();
        view! { <ul class="lines">{lines}</ul> }
    };
    let boxed =
        |wanted: bool, words: String| wanted.then(|| view! { <p class="boxed"><b>{words}</b></p> });
    let missing = record.missing();
    view! {
        {boxed(record.rehearsal, REC.rehearsal.into())}
        {record.before().into_iter().map(|l| view! { <p>{l}</p> }).collect::<Vec<_>>()}
        <div class="scroll">
            <table class="table">
                <thead>
                    <tr>
                        <th scope="col">{REC.region}</th>
                        <th scope="col">{REC.size}</th>
                        <th scope="col">{REC.went_in}</th>
                        <th scope="col">{REC.came_out}</th>
                        <th scope="col">{REC.placed_out}</th>
                    </tr>
                </thead>
                <tbody>{rows}</tbody>
            </table>
        </div>
        <p class="note">{REC.not_per_needle}</p>
        <p><bdi>{record.sum_said()}</bdi></p>
        {boxed(missing > 0, REC.not_found(missing))}
        {lines(record.after(!paper))}
    }
}

/// Write.
#[component]
pub fn Write(
    /// The session.
    session: EntryId,
) -> impl IntoShape {
    let desk = use_desk();
    let seen = Memo::new(move |_| desk.read(|l| record(l, session)));
    let person = seen.with_untracked(|r| r.as_ref().and_then(|r| r.person));
    // Nobody was treated in a rehearsal, so it belongs to nobody.
    let rehearsal = seen.with_untracked(|r| r.as_ref().is_some_and(|r| r.rehearsal));
    let joins = person.is_none() && !rehearsal;
    let before = seen
        .with_untracked(|r| r.as_ref().and_then(|r| r.wrote.clone()))
        .unwrap_or(Wrote {
            session,
            marks: String::new(),
            felt: String::new(),
            otherwise: String::new(),
            told: String::new(),
            done: false,
        });
    let marks = RwSignal::new(before.marks.clone());
    let felt = RwSignal::new(before.felt.clone());
    let otherwise = RwSignal::new(before.otherwise.clone());
    let told = RwSignal::new(before.told.clone());
    let said = RwSignal::new("");
    let wrong = RwSignal::new(String::new());
    // What stands written; a field that is left is kept when it differs.
    let kept = RwSignal::new(before);
    let typed = move |done: bool| Wrote {
        session,
        marks: marks.get_untracked(),
        felt: felt.get_untracked(),
        otherwise: otherwise.get_untracked(),
        told: told.get_untracked(),
        done,
    };
    let keep = move |done: bool| {
        let Some(person) = person else {
            said.set(REC.nobody);
            return;
        };
        let wrote = typed(done);
        let result = desk.act(DeskCommand::Write(person, wrote.clone()));
        wrong.set(if result.is_ok() { "" } else { EN.too_long }.to_string());
        said.set(if result.is_ok() { EN.kept } else { "" });
        if result.is_ok() {
            kept.set(wrote);
            if done {
                desk.go(&Route::Next(person));
            }
        }
    };
    let left = move |_| {
        if person.is_some() && kept.try_with_untracked(|k| *k != typed(k.done)) == Some(true) {
            let done = kept.with_untracked(|k| k.done);
            let wrote = typed(done);
            if let Some(person) = person
                && desk.act(DeskCommand::Write(person, wrote.clone())).is_ok()
            {
                kept.set(wrote);
                said.set(EN.kept);
            }
        }
    };
    let signer = {
        let name = desk.read_now(|l| l.practice().setting("practitioner").to_string());
        if name.is_empty() {
            EN.sign_nobody.to_string()
        } else {
            name
        }
    };
    let heading = move || {
        seen.with(|r| {
            r.as_ref().map_or(String::new(), |r| {
                let date = r.date.map_or(String::new(), |d| d.to_string());
                format!("{} {date}, {}", r.name, EN.visit_number(r.visit))
            })
        })
    };
    let open = move || seen.with(|r| r.as_ref().is_some_and(|r| !r.closed));
    view! {
        <div class="screen">
            <header class="column">
                <div class="head"><h1><bdi>{heading}</bdi></h1><p class="note end"><SavedSign /></p></div>
                {person.map(|person| view! { <Steps person=person here=Some(5) /> })}
            </header>
            <main class="column halves">
                <div class="stack">
                    <NotSaved />
                    <div hidden=move || seen.with(Option::is_some)>
                        <Notice title=app::EN.not_there next=app::EN.not_there_next quiet=true />
                    </div>
                    <p class="note" hidden=move || !open()>{EN.still_open}</p>
                    {joins.then(|| view! { <Join session=session /> })}
                    <section class="panel stack">
                        {move || seen.get().map(|r| view! { <RecordLines record=r /> })}
                    </section>
                </div>
                <div class="stack" hidden=rehearsal>
                    <div class="stack" on:focusout=left>
                        <Field id="marks" label=EN.marks hint=EN.marks_hint kind=Kind::Lines value=marks on_input=move |t| marks.set(t) />
                        <Field id="felt" label=EN.felt hint=EN.felt_hint kind=Kind::Lines value=felt on_input=move |t| felt.set(t) />
                        <Field id="otherwise" label=EN.otherwise hint=EN.otherwise_hint kind=Kind::Lines value=otherwise on_input=move |t| otherwise.set(t) />
                        <Field
                            id="told"
                            label=EN.told
                            hint=EN.told_hint
                            kind=Kind::Lines
                            value=told
                            on_input=move |t| told.set(t)
                            error=wrong
                        />
                    </div>
                    <p role="status">{move || said.get()}</p>
                    <Press text=EN.write_keep look=Look::Plain on_press=move |()| keep(false) />
                    <Slab text=EN.sign note=signer tall=Tall::Low solid=true on_press=move |()| keep(true) />
                    <a class="press plain" href=Route::PrintRecord(session).href()>{EN.print_record}</a>
                </div>
            </main>
        </div>
    }
}

/// A session that belongs to nobody yet is given to somebody who is written down.
#[component]
fn Join(session: EntryId) -> impl IntoShape {
    let desk = use_desk();
    let people = desk.read_now(|l| {
        everybody(l)
            .map(|(id, name)| (id, name.to_string()))
            .collect::<Vec<_>>()
    });
    let chosen = RwSignal::new(people.first().map(|(id, _)| *id));
    let options = people
        .into_iter()
        .map(|(id, name)| view! { <option value=id.to_string()>{name}</option> })
        .collect::<Vec<_>>();
    let join = move |()| {
        let Some(person) = chosen.get_untracked() else {
            return;
        };
        if desk.act(ChairCommand::Join { session, person }).is_ok() {
            desk.go(&Route::Person(person));
        }
    };
    view! {
        <section class="panel stack">
            <div class="field">
                <label for="join">{EN.join}</label>
                <select id="join" on:change=move |ev| chosen.set(event_target_value(&ev).parse().ok())>{options}</select>
            </div>
            <Press text=EN.join_press shut=Signal::derive(move || chosen.get().is_none()) on_press=join />
            <a class="press plain" href=Route::People.href()>{EN.add}</a>
        </section>
    }
}
