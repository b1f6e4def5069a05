//! What happened that the plan did not say? Filled from the chair; only gaps are asked.

use super::frame::{NotSaved, SavedSign, Steps, time_of_day};
use crate::desk::{Route, use_desk};
use crate::parts::slab::Tall;
use crate::parts::{Field, Kind, Look, Notice, Press, Slab};
use crate::shape::prelude::*;
use pinfold_core::base::id::EntryId;
use pinfold_core::event::person::Wrote;
use pinfold_core::event::session::Mode;
use pinfold_core::ledger::{ChairCommand, DeskCommand};
use pinfold_core::record::{Record, record};
use pinfold_core::view::chair::{size_text, sum_line, title};
use pinfold_core::view::flaw;
use pinfold_core::view::people::everybody;
use pinfold_core::words::flaw::EN as FLAW;
use pinfold_core::words::people::EN;
use pinfold_core::words::record::EN as REC;
use pinfold_core::words::visit::EN as VISIT;
use pinfold_core::words::{app, chair, place};

/// A range of times of day, or one time.
fn range(
    from: pinfold_core::base::stamp::Wall,
    to: pinfold_core::base::stamp::Wall,
    zone: i16,
) -> String {
    let (a, b) = (time_of_day(from, zone), time_of_day(to, zone));
    if a == b { a } else { format!("{a}\u{2013}{b}") }
}

/// The record as it stands, in lines: on the page and on paper.
#[component]
pub fn RecordLines(
    /// The record.
    record: Record,
) -> impl IntoShape {
    let zone = record.zone;
    let rows = record
        .regions
        .iter()
        .map(|r| {
            let sizes = r
                .sizes
                .iter()
                .map(|(size, n)| format!("{n} {}", size_text(*size)).trim().to_string())
                .collect::<Vec<_>>()
                .join(", ");
            let out = r
                .came_out
                .map_or(String::from("\u{2013}"), |(a, b)| range(a, b, zone));
            let points = place::EN.points(r.points.iter().map(|p| (p.code.as_str(), p.side)));
            view! {
                <tr>
                    <th scope="row">{title(&place::EN, r.region)}<br /><small>{points}</small></th>
                    <td>{sizes}</td>
                    <td>{range(r.went_in.0, r.went_in.1, zone)}</td>
                    <td>{out}</td>
                    <td>{r.placed} " / " {r.out}</td>
                </tr>
            }
        })
        .collect::<Vec<_>>();
    let lots = record
        .packs
        .iter()
        .map(|(size, held, lot)| {
            let lot = lot.clone().unwrap_or_else(|| REC.no_lot.into());
            view! { <li>{*held} " \u{d7} " {size_text(*size)} ", " {REC.lot} " " <bdi>{lot}</bdi></li> }
        })
        .collect::<Vec<_>>();
    let creams = record
        .creams
        .iter()
        .map(|c| {
            let off = c.off.map_or(REC.not_wiped.to_string(), |at| time_of_day(at, zone));
            let product = c.product.clone().unwrap_or_default();
            view! { <li>{REC.cream} " " {product} ", " {time_of_day(c.on, zone)} "\u{2013}" {off}</li> }
        })
        .collect::<Vec<_>>();
    let overrides = record
        .overrides
        .iter()
        .map(|o| {
            let points = place::EN.points(o.points.iter().map(|p| (p.code.as_str(), p.side)));
            view! { <li>{REC.went_past} " " {o.rule.clone()} " " {points} ": " <bdi>{o.reason.clone()}</bdi></li> }
        })
        .collect::<Vec<_>>();
    let figures = record
        .figures
        .iter()
        .map(|(id, value, why)| view! { <li>{REC.figure} " " {id.clone()} " " {value.clone()} " " <bdi>{why.clone()}</bdi></li> })
        .collect::<Vec<_>>();
    let left = record
        .left_out
        .iter()
        .map(|l| {
            let point = place::EN.points([(l.point.code.as_str(), l.point.side)]);
            format!("{point} ({})", l.rule)
        })
        .collect::<Vec<_>>()
        .join(", ");
    let flaws = record
        .flaws
        .iter()
        .map(|k| view! { <li>{flaw::say(&FLAW, *k)}</li> })
        .collect::<Vec<_>>();
    let notes = record
        .notes
        .iter()
        .map(|(at, text)| view! { <li>{time_of_day(*at, zone)} " " <bdi>{text.clone()}</bdi></li> })
        .collect::<Vec<_>>();
    let signed = record
        .signed
        .iter()
        .map(|s| view! { <li><bdi>{s.clone()}</bdi></li> })
        .collect::<Vec<_>>();
    let screening = if record.mode == Some(Mode::CountOnly) {
        REC.not_screened
    } else {
        REC.screened
    };
    let consent = record
        .consent
        .as_ref()
        .map_or(REC.no_consent.to_string(), |c| {
            let mut parts = Vec::new();
            for (yes, word) in [
                (c.needles, VISIT.consent_needles),
                (c.cream, VISIT.consent_cream),
                (c.stays_in, VISIT.consent_stays),
                (c.pictures, VISIT.consent_pictures),
            ] {
                parts.push(format!(
                    "{word}: {}",
                    if yes { REC.agreed } else { REC.refused }
                ));
            }
            parts.join("; ")
        });
    let sum = sum_line(&chair::EN, &record.sum);
    let adds = if record.closed && record.sum.not_found == 0 {
        format!("= {}", chair::EN.adds_up)
    } else {
        String::new()
    };
    let boxed = (record.sum.not_found + record.sum.unplaced_not_found > 0).then(|| {
        view! { <p class="boxed"><b>{REC.not_found(record.sum.not_found + record.sum.unplaced_not_found)}</b></p> }
    });
    let left_line = (!left.is_empty()).then(|| view! { <p>{REC.left_out} " " {left}</p> });
    let corrected = (record.corrected > 0)
        .then(|| view! { <p class="note">{REC.corrected(record.corrected)}</p> });
    let rehearsal = record
        .rehearsal
        .then(|| view! { <p class="boxed">{REC.rehearsal}</p> });
    view! {
        {rehearsal}
        <p>{screening}</p>
        <p>{REC.consent} " " {consent}</p>
        <ul class="lines">{overrides}</ul>
        <ul class="lines">{figures}</ul>
        {left_line}
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
        <ul class="lines">{lots}</ul>
        <ul class="lines">{creams}</ul>
        <p><bdi>{sum}</bdi> " " {adds}</p>
        {boxed}
        <ul class="lines">{signed}</ul>
        <ul class="lines">{flaws}</ul>
        <ul class="lines">{notes}</ul>
        {corrected}
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
                    {person.is_none().then(|| view! { <Join session=session /> })}
                    <section class="panel stack">
                        {move || seen.get().map(|r| view! { <RecordLines record=r /> })}
                    </section>
                </div>
                <div class="stack">
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
