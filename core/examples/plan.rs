//! Prints the plan of a visit as the app makes it: procedure, findings and measures in; order, tray, doses
//! and the hour out.
//!
//! ```text
//! cargo run -p pinfold-core --example plan -- return_full             nobody asked anything yet
//! cargo run -p pinfold-core --example plan -- return_full < case.json
//! ```
//!
//! **In**: the case of `--example screen`, without `points`, and beside it, each if wanted:
//! ```json
//! { "date": "2026-03-09", "answers": {},
//!   "slot": { "start": "13:30", "minutes": 50 },
//!   "most": 40, "rest": "no",
//!   "lengths": { "forearm": "25.2", "finger": "2.1" } }
//! ```
//! `rest` answers "no" to every question that is not answered and can be answered so. Lengths are
//! centimetres, by the segment's id or `finger`. What cannot be used is refused: one line on
//! the error stream names the field, exit code 2. Nothing here is advice on a real person.

#![allow(
    clippy::disallowed_macros,
    reason = "an example speaks by printing; the core itself has no output"
)]

use case_file::{Read_, Wrong, case, count, object, present, problem, text, wrong};
use pinfold_core::base::date::Date;
use pinfold_core::base::flat;
use pinfold_core::base::id::{EntryId, Replica};
use pinfold_core::base::stamp::{Stamp, Wall, When};
use pinfold_core::event::Count;
use pinfold_core::event::person::{Answered, Booked, Chose, ChosenCream, Measured, Named, Told};
use pinfold_core::event::practice::Set;
use pinfold_core::event::session::Mode;
use pinfold_core::intake::{Answer, Kind, Reply, Value as Said};
use pinfold_core::ledger::{ChairCommand, Command, DeskCommand, Hand, Ledger};
use pinfold_core::measure::typed;
use pinfold_core::plan::{Fit, Plan, Topical};
use pinfold_core::screening::Case;
use pinfold_core::view::atlas::offsets;
use pinfold_core::view::books::Books;
use pinfold_core::view::hour::hour;
use pinfold_core::view::visit::visit;
use pinfold_core::words::{ask, place, plan as words};
use serde_json::{Map, Value};
use std::io::{IsTerminal, Read};
use std::process::ExitCode;

mod case_file;

fn main() -> ExitCode {
    match run() {
        Ok(()) => ExitCode::SUCCESS,
        Err(Wrong(field, what)) => {
            eprintln!("error: field `{field}`: {what}");
            ExitCode::from(2)
        }
    }
}

/// The journal of one invented person, written as the desk would.
struct Writing {
    ledger: Ledger,
}

impl Writing {
    fn act(&mut self, day: Date, command: impl Into<Command>, field: &str) -> Read_<EntryId> {
        let hand = Hand {
            replica: Replica(7),
            stamp: Stamp {
                wall: Wall(i64::from(day.days()) * 86_400_000),
                mono: 0,
                zone: 0,
            },
            when: When::Now,
        };
        let facts = self
            .ledger
            .decide(&command.into(), &hand)
            .map_err(|why| Wrong(field.into(), format!("{why:?}")))?;
        let first = facts.entries().first().map(|entry| entry.id);
        self.ledger.append(&facts);
        first.ok_or_else(|| Wrong(field.into(), "nothing was written".into()))
    }
}

fn run() -> Read_<()> {
    let books = Books::load().map_err(|why| Wrong("program".into(), why))?;
    let id = std::env::args()
        .nth(1)
        .unwrap_or_else(|| "return_full".into());
    let Some(procedure) = books.procedure(&id) else {
        let ids: Vec<&str> = books.procedures.iter().map(|p| p.id.as_str()).collect();
        return wrong(
            "procedure",
            format!("no {id}; there are {}", ids.join(", ")),
        );
    };
    let mut map = input()?;
    let [slot, most, lengths, rest] =
        ["slot", "most", "lengths", "rest"].map(|key| map.remove(key));
    if map.contains_key("points") {
        return wrong("points", "they are the procedure's");
    }
    let mut case = case(&Value::Object(map), &books.knowledge)?;
    match rest.as_ref().map(|rest| text(rest, "rest")).transpose()? {
        None => {}
        Some("no") => no_to_the_rest(&books, &mut case),
        Some(_) => return wrong("rest", "it can only be no"),
    }
    let mut at = Writing {
        ledger: Ledger::default(),
    };
    let day = case.date;
    let person = at.act(
        day,
        DeskCommand::Meet(Named {
            name: "Somebody".into(),
            birth_date: case.birth_date,
            contact: None,
            came_for: None,
        }),
        "person",
    )?;
    if let Some(before) = case.last_visit {
        let open = ChairCommand::Open {
            mode: Mode::CountOnly,
            person: Some(person),
            plan: Vec::new(),
            rehearsal: false,
            procedure: None,
        };
        at.act(before, open, "person.last_visit")?;
    }
    for (question, answer) in case.answers.iter() {
        let answered = Answered {
            question: question.clone(),
            reply: answer.reply.clone(),
            date: answer.date,
            told: Told::Asked,
        };
        let field = format!("answers.{question}");
        at.act(day, DeskCommand::Answer(person, answered), &field)?;
    }
    for (id, figure) in case.settings.iter() {
        let reason = case.reasons.get(id).cloned().unwrap_or_default();
        let (name, value) = match id.as_str() {
            "cream_scope_confirmed" => ("cream_scope".to_string(), "confirmed".to_string()),
            _ => (format!("figure.{id}"), figure.to_string()),
        };
        let set = Set {
            name,
            value,
            reason,
        };
        at.act(day, DeskCommand::Set(set), &format!("settings.{id}"))?;
    }
    if let Some(slot) = slot {
        let booked = booked(&slot, day)?;
        at.act(day, DeskCommand::Book(person, booked), "slot")?;
    }
    if let Some(lengths) = lengths {
        let measured = measured(&books, &lengths, day)?;
        at.act(day, DeskCommand::Measure(person, measured), "lengths")?;
    }
    let most = most.map(|most| count(&most, "most", 500)).transpose()?;
    let chose = Chose {
        date: day,
        procedure: id.clone(),
        cream: case.topical.as_ref().map(|cream| ChosenCream {
            product: cream.product.clone(),
            milligrams: cream.mg,
            area_cm2: cream.area_cm2,
            minutes: cream.minutes,
        }),
        electro: case.electro,
        most: most
            .and_then(|n| u16::try_from(n).ok())
            .and_then(Count::new),
        instead: Vec::new(),
    };
    at.act(day, DeskCommand::Choose(person, chose), "procedure")?;
    let seen = visit(&at.ledger, &books, person, day, 0)
        .ok_or_else(|| Wrong("person".into(), "nobody is there".into()))?;
    if let Some(fault) = &seen.fault {
        return wrong(&fault.field, problem(fault));
    }

    println!("{}\n{}\n", procedure.name, procedure.evidence);
    let findings = seen.screening.iter().flat_map(|s| &s.findings);
    let mut undecided = 0;
    for finding in findings {
        if finding.could_be.is_some() {
            undecided += 1;
            continue;
        }
        let outcome = ask::ENGLISH.outcome(finding.outcome);
        println!("{outcome}: {} ({})", finding.words, finding.rule);
    }
    let open = seen.screening.as_ref().map_or(0, |s| s.open.len());
    println!("{open} questions are open; {undecided} rules wait for them.\n");
    match &seen.plan {
        Some(plan) => print(plan),
        None => println!("{}", words::EN.none_yet),
    }
    let person = at.ledger.person(person);
    let measures = person.map(|p| p.measures.clone()).unwrap_or_default();
    println!("\n{}", words::EN.in_mm);
    for line in offsets(&books, &books.atlas, &measures, procedure) {
        for bearing in &line.bearings {
            println!("  {:<7} {bearing}", line.code);
        }
    }
    Ok(())
}

/// "No", or none of a list, to every question that was not answered and can be answered so.
fn no_to_the_rest(books: &Books, case: &mut Case) {
    for question in &books.knowledge.bank.questions {
        let value = match question.kind {
            Kind::YesNo => Said::Yes(false),
            Kind::Several(_) => Said::Several(flat::Set::new()),
            _ => continue,
        };
        if !case.answers.contains_key(&question.id) {
            let reply = Reply::Known(value);
            let date = case.date;
            case.answers
                .insert(question.id.clone(), Answer { reply, date });
        }
    }
}

/// What comes in; a terminal, or nothing, is a day on which nobody asked anything.
fn input() -> Read_<Map<String, Value>> {
    let mut text = String::new();
    let mut stdin = std::io::stdin();
    if !stdin.is_terminal() {
        stdin
            .read_to_string(&mut text)
            .map_err(|why| Wrong("input".into(), why.to_string()))?;
    }
    if text.trim().is_empty() {
        text = r#"{"date":"2026-03-09"}"#.into();
    }
    let value: Value = serde_json::from_str(&text)
        .map_err(|why| Wrong("input".into(), format!("it is not JSON: {why}")))?;
    object(&value, "input", &[]).cloned()
}

fn booked(slot: &Value, day: Date) -> Read_<Booked> {
    let map = object(slot, "slot", &["start", "minutes"])?;
    let start = match present(map, "start") {
        Some(start) => text(start, "slot.start")?,
        None => return wrong("slot.start", "it is missing"),
    };
    let minute = start.split_once(':').and_then(|(hour, minute)| {
        let (hour, minute): (i64, i64) = (hour.parse().ok()?, minute.parse().ok()?);
        ((0..24).contains(&hour) && (0..60).contains(&minute)).then_some(hour * 60 + minute)
    });
    let Some(minute) = minute else {
        return wrong("slot.start", "it must be a time of day such as 13:30");
    };
    let minutes = match present(map, "minutes") {
        Some(minutes) => count(minutes, "slot.minutes", 600)?,
        None => return wrong("slot.minutes", "it is missing"),
    };
    Ok(Booked {
        at: Wall((i64::from(day.days()) * 1440 + minute) * 60_000),
        minutes: u16::try_from(minutes).unwrap_or(0),
    })
}

fn measured(books: &Books, lengths: &Value, date: Date) -> Read_<Measured> {
    let mut found = Vec::new();
    for (id, value) in object(lengths, "lengths", &[])? {
        let field = format!("lengths.{id}");
        let known = id == pinfold_core::measure::FINGER_UNIT
            || books.segments.iter().any(|segment| segment.id == *id);
        if !known {
            return wrong(&field, "there is no such length");
        }
        let um = typed(&books.segments, id, text(value, &field)?)
            .map_err(|why| Wrong(field, words::EN.tape(&why)))?;
        found.push((id.clone(), um));
    }
    Ok(Measured {
        date,
        lengths: found,
    })
}

fn print(made: &Plan) {
    let (words, places) = (&words::EN, &place::EN);
    if made.needles == 0 {
        println!("{}", words.nothing_left);
    }
    println!("{}", words.order);
    for (at, block) in made.blocks.iter().enumerate() {
        println!(
            "{:>2} {:<14} {:>2}  stay {:<12} {}",
            at + 1,
            places.region(block.region),
            block.needles,
            words.stay(block.stay.0, block.stay.1),
            words.block_hour(block.placing, block.taking_out)
        );
        for place in &block.places {
            println!(
                "     {:>2} {:<7} {:?}, {}, {}",
                place.number,
                place.point,
                place.side,
                place.size,
                words.technique(place.how, place.direction)
            );
        }
    }
    println!("\n{}", words.tray);
    for line in &made.tray {
        for &(pack, count) in &line.packs {
            println!("  {}", words.packets(line.size, None, pack, count));
        }
    }
    println!("  {}", words.to_open(made.opened, made.needles));
    if !made.left_out.is_empty() {
        println!("\n{}", words.left_out);
        for left in words.left(&made.left_out, places) {
            println!("  {left}");
        }
    }
    println!("\n{}", words.hour);
    for row in hour(made) {
        println!("  {:<20} {}", row.name, row.words);
    }
    if let Topical::On(times) = &made.topical
        && let Some((least, most)) = times.amount_mg
    {
        println!("  {}", words.cream_amount(times.cm2, least, most));
    }
    println!(
        "  in all {}. {}",
        words.minutes(made.total),
        words.fit(&made.fit)
    );
    println!("  {}", words.one_go(made));
    if let Fit::TooLong(_, offers) = &made.fit {
        for &offer in offers {
            println!("  - {}", words.offer(offer));
        }
    }
    if let Some(minute) = made.leave_at {
        println!("  {}", words.leave_by(minute));
    }
}
