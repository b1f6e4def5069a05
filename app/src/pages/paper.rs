//! Paper: the question sheet, the tray list with a tally, the record, the sheet to take home.

use super::plan::Lines;
use super::write::RecordLines;
use crate::desk::{CopyOut, Route, use_desk};
use crate::parts::{Look, Press};
use crate::shape::prelude::*;
use pinfold_core::base::id::EntryId;
use pinfold_core::intake::bank::Kind;
use pinfold_core::record::record;
use pinfold_core::view::after::stays;
use pinfold_core::view::letter::{Heads, letter};
use pinfold_core::view::visit::day_of;
use pinfold_core::words::ask::ENGLISH as ASK;
use pinfold_core::words::beside::EN as BESIDE;
use pinfold_core::words::letter as words;
use pinfold_core::words::plan::EN as PLAN;
use pinfold_core::words::record::EN as REC;
use pinfold_core::words::settings::EN as EN_COPIES;
use pinfold_core::words::visit::EN;
use pinfold_core::words::{chair, place};
use wasm_bindgen_futures::spawn_local;

/// A sheet: what stands on it, and the press that is not printed.
#[component]
fn Sheet(
    /// Where one came from: a phone's own window has no way back.
    back: Route,
    children: Children,
) -> impl IntoShape {
    let desk = use_desk();
    view! {
        <main class="paper">
            <div class="row unprinted">
                <a class="press plain" href=back.href()>{chair::EN.back}</a>
                <Press text=EN.print look=Look::Solid on_press=move |()| desk.print() />
            </div>
            {children()}
        </main>
    }
}

/// The whole bank, to be filled in by hand, in the order it is entered.
#[component]
pub fn QuestionSheet() -> impl IntoShape {
    let desk = use_desk();
    let lines = desk
        .books(|b| {
            let bank = &b.knowledge.bank;
            let mut last = None;
            let mut lines = Vec::new();
            for q in bank
                .questions
                .iter()
                .filter(|q| q.by == pinfold_core::intake::By::Patient)
            {
                if last != Some(q.group) {
                    last = Some(q.group);
                    let title = bank
                        .groups
                        .get(q.group)
                        .map_or(String::new(), |g| g.title.clone());
                    lines.push((true, title, String::new()));
                }
                let answers = match &q.kind {
                    Kind::YesNo => format!("\u{2610} {}   \u{2610} {}", ASK.yes, ASK.no),
                    Kind::Choice(o) | Kind::Side(o) | Kind::Several(o) => o
                        .iter()
                        .map(|(_, t)| format!("\u{2610} {t}"))
                        .collect::<Vec<_>>()
                        .join("   "),
                    Kind::Number { unit, .. } => format!("________ {unit}"),
                    Kind::Date => "____-__-__".into(),
                    Kind::Places => "________________".into(),
                };
                lines.push((false, q.say.clone(), answers));
            }
            lines
        })
        .unwrap_or_default();
    let lines = lines
        .into_iter()
        .map(|(title, text, answers)| {
            if title {
                view! { <h2>{text}</h2> }
            } else {
                view! { <p class="line"><span>{text}</span> <span class="blank">{answers}</span></p> }
            }
        })
        .collect::<Vec<_>>();
    view! {
        <Sheet back=Route::Settings>
            <h1>{EN.sheet_title}</h1>
            <p>{EN.sheet_how}</p>
            {lines}
        </Sheet>
    }
}

/// The tray list of today's plan, with a tally for a flat battery.
#[component]
pub fn TrayList(
    /// Whose plan.
    person: EntryId,
) -> impl IntoShape {
    let desk = use_desk();
    let visit = desk.visit(person);
    let name = visit.as_ref().map_or(String::new(), |v| v.name.clone());
    let cream = visit
        .as_ref()
        .and_then(|v| v.chosen.as_ref()?.cream.clone());
    let plan = visit.and_then(|v| v.plan);
    let tally = plan.as_ref().map_or(Vec::new(), |p| {
        p.blocks
            .iter()
            .map(|b| {
                let points = b.places.iter().map(|p| (p.point.as_str(), p.side));
                let stay = PLAN.stay(b.stay.0, b.stay.1);
                view! {
                    <tr>
                        <th scope="row">
                            {place::EN.region(b.region)} " " <small>{place::EN.points(points)} ", " {stay}</small>
                        </th>
                        <td>{b.needles}</td>
                        <td class="blank"></td>
                        <td class="blank"></td>
                    </tr>
                }
            })
            .collect()
    });
    view! {
        <Sheet back=Route::Plan(person)>
            <h1>{EN.tray_title} " " <bdi>{name}</bdi></h1>
            <p>{EN.plugged_in}</p>
            <h2>{EN.tally}</h2>
            <table class="table">
                <thead>
                    <tr>
                        <th scope="col">{REC.region}</th>
                        <th scope="col">{REC.needles}</th>
                        <th scope="col">{EN.tally_in}</th>
                        <th scope="col">{EN.tally_out}</th>
                    </tr>
                </thead>
                <tbody>{tally}</tbody>
            </table>
            {plan.map(|p| view! { <Lines plan=p cream=cream paper=true /> })}
        </Sheet>
    }
}

/// The record of a session.
#[component]
pub fn RecordSheet(
    /// The session.
    session: EntryId,
) -> impl IntoShape {
    let desk = use_desk();
    let found = desk.read(|l| record(l, session));
    let (practitioner, registration) = desk.read(|l| {
        (
            l.practice().setting("practitioner").to_string(),
            l.practice().setting("registration").to_string(),
        )
    });
    let head = found.as_ref().map(|r| {
        let born = r
            .birth_date
            .map_or(String::new(), |d| format!(", {} {d}", REC.born));
        let date = r.date.map_or(String::new(), |d| d.to_string());
        let visit = pinfold_core::words::people::EN.visit_number(r.visit);
        let from = r.procedure.as_ref().map(|used| {
            let words = &pinfold_core::words::procedures::EN;
            view! { <p class="note">{words.planned_from} " " <bdi>{words.used(used)}</bdi></p> }
        });
        view! { <p><b><bdi>{r.name.clone()}</bdi></b> {born} ". " {date} ", " {visit} "."</p> {from} }
    });
    let wrote = found.as_ref().and_then(|r| r.wrote.clone()).map(|w| {
        let people = &pinfold_core::words::people::EN;
        [
            (people.marks, w.marks),
            (people.felt, w.felt),
            (people.otherwise, w.otherwise),
            (people.told, w.told),
        ]
        .into_iter()
        .filter(|(_, text)| !text.trim().is_empty())
        .map(|(label, text)| view! { <p><b>{label} ":"</b> " " <bdi>{text}</bdi></p> })
        .collect::<Vec<_>>()
    });
    view! {
        <Sheet back=Route::Write(session)>
            <h1>{REC.record}</h1>
            {head}
            {found.map(|r| view! { <RecordLines record=r paper=true /> })}
            {wrote}
            <p class="line"><span>{REC.signature} ": " <bdi>{practitioner}</bdi> " " <bdi>{registration}</bdi></span> <span class="blank">"________________"</span></p>
            <p class="note">{REC.caution}</p>
        </Sheet>
    }
}

/// The letter to another clinician.
#[component]
pub fn LetterSheet(
    /// About whom.
    person: EntryId,
) -> impl IntoShape {
    let desk = use_desk();
    let lines = desk.visit(person).and_then(|v| {
        let letter = desk.books(|b| letter(b, &v)).ok().flatten()?;
        let from = desk.read(|l| {
            let set = |name| l.practice().setting(name).to_string();
            format!("{} {}", set("practitioner"), set("registration"))
        });
        let heads = Heads {
            name: v.name,
            born: v.birth_date,
            today: desk.today(),
            from,
        };
        Some(letter.lines(&heads))
    });
    let text = lines.as_ref().map_or(String::new(), |l| l.join("\n"));
    let none = lines.is_none();
    let said = RwSignal::new("");
    let share = move |()| {
        let text = text.clone();
        spawn_local(async move {
            said.set(match desk.give_text("letter.txt", text).await {
                CopyOut::Ready => EN_COPIES.kept,
                CopyOut::Given => EN_COPIES.copy_gone,
                CopyOut::Failed => EN_COPIES.copy_failed,
            });
        });
    };
    let lines: Vec<_> = lines
        .unwrap_or_default()
        .into_iter()
        .map(|l| view! { <p><bdi>{l}</bdi></p> })
        .collect();
    view! {
        <Sheet back=Route::Ask(person)>
            <div class="unprinted" hidden=none>
                <Press text=words::EN.share look=Look::Plain on_press=share />
                <p role="status">{move || said.get()}</p>
            </div>
            <h1>{words::EN.title}</h1>
            <p hidden=!none>{words::EN.none}</p>
            {lines}
            <p class="line" hidden=none><span>{REC.signature}</span> <span class="blank">"________________"</span></p>
        </Sheet>
    }
}

/// The sheet to take home.
#[component]
pub fn Aftercare(
    /// Whose.
    person: EntryId,
) -> impl IntoShape {
    let desk = use_desk();
    let today = desk.today();
    let next = desk.read(|l| {
        let zone = crate::desk::zone();
        l.person(person).and_then(|p| {
            p.bookings
                .iter()
                .map(|b| (day_of(b.at, zone), b.at))
                .find(|(day, _)| *day > today)
                .map(|(day, at)| format!("{day} {}", super::frame::time_of_day(at, zone)))
        })
    });
    let number = desk.read(|l| l.practice().setting("emergency_number").to_string());
    // What stays in comes first: it is the one thing they have to do.
    let inside = desk.read(|l| stays(l, person));
    let inside: Vec<_> = inside
        .iter()
        .map(|one| {
            let by = one.due().map_or(String::new(), |at| {
                BESIDE.out_by(&day_of(at, crate::desk::zone()).to_string())
            });
            view! { <li><b>{one.line()} " " {by}</b></li> }
        })
        .collect();
    let lines = EN
        .aftercare
        .iter()
        .map(|l| view! { <li>{*l}</li> })
        .collect::<Vec<_>>();
    view! {
        <Sheet back=Route::Next(person)>
            <div class="home">
                <h1>{EN.aftercare_title}</h1>
                <ul>{inside} {lines}</ul>
                <p><b>{number}</b></p>
                <p>{EN.aftercare_next} " " {next.unwrap_or_else(|| "________________".into())}</p>
                <p class="line"><span>{EN.own_line}</span> <span class="blank">"________________________________"</span></p>
            </div>
        </Sheet>
    }
}
