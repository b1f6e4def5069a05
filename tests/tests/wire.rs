//! What leaves Pinfold for other programs, beside standards and libraries that are not ours.

use jsonschema::Validator;
use pinfold_core::base::id::EntryId;
use pinfold_core::base::stamp::{Stamp, Wall, When};
use pinfold_core::event::session::{Finder, Incident, IncidentKind};
use pinfold_core::event::{Event, Unread};
use pinfold_core::journal::{Entry, Journal, TOMBSTONE};
use pinfold_core::ledger::{ChairCommand, Command, DeskCommand, Found, Ledger};
use pinfold_core::session::{RegionSum, Sum};
use pinfold_core::view::books::Books;
use pinfold_core::wire::tables::Table;
use pinfold_core::wire::{Refused, calendar, fhir, tables};
use pinfold_core::words::cards::incident;
use pinfold_core::words::wire::EN;
use pinfold_tests::wire::{TEXTS, invent, latest, write_all};
use serde_json::{Map, Value, json};
use sha2::{Digest, Sha256};
use std::collections::BTreeSet;
use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command as Run;

fn here() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn log(name: &str) -> Ledger {
    let bytes = fs::read(here().join("logs").join(name)).expect("a log");
    Ledger::new(Journal::from_lines(&bytes).journal)
}

/// The logs of `tests/logs` whose files for other programs are stored in `tests/golden/wire`.
const LOGS: [&str; 8] = [
    "fifth", "first", "second", "third", "fourth", "stopped", "chair", "choices",
];

fn books() -> Books {
    Books::load().expect("knowledge")
}

fn parsed(bundle: &str) -> Value {
    serde_json::from_str(bundle).expect("JSON")
}

fn resources<'a>(bundle: &'a Value, kind: &str) -> Vec<&'a Value> {
    let entries = bundle["entry"].as_array().expect("entries");
    let all = entries.iter().map(|e| &e["resource"]);
    all.filter(|r| r["resourceType"] == kind).collect()
}

/// A whole-number component of an observation.
fn term(observation: &Value, what: &str) -> Option<u64> {
    let parts = observation["component"].as_array()?;
    parts.iter().find(|c| c["code"]["text"] == what)?["valueInteger"].as_u64()
}

fn count_of(bundle: &Value) -> &Value {
    let all = resources(bundle, "Observation");
    all.into_iter()
        .find(|o| o["code"]["text"] == EN.needle_count)
        .expect("the count")
}

fn sums_agree(observation: &Value, sum: &Sum) -> Result<(), String> {
    for (what, n) in [
        (EN.opened, sum.opened),
        (EN.packless, sum.packless),
        (EN.placed, sum.placed),
        (EN.in_now, sum.in_now),
        (EN.out, sum.out),
        (EN.out_uncounted, sum.out_uncounted),
        (EN.stays_in, sum.stays_in),
        (EN.not_found, sum.not_found),
        (EN.unused, sum.unused),
        (EN.spoilt, sum.spoilt),
        (EN.unaccounted, sum.unaccounted),
        (EN.unplaced_not_found, sum.unplaced_not_found),
        (EN.unseen, sum.unseen),
        (EN.fell_off, sum.fell_off),
        (EN.turned_up, sum.turned_up),
    ] {
        if term(observation, what) != Some(n.into()) {
            return Err(format!("{what}: {:?} and {n}", term(observation, what)));
        }
    }
    Ok(())
}

fn region_agrees(observation: &Value, sum: &RegionSum) -> bool {
    [
        (EN.placed, sum.placed),
        (EN.in_now, sum.in_now),
        (EN.out, sum.out),
        (EN.out_uncounted, sum.out_uncounted),
        (EN.stays_in, sum.stays_in),
        (EN.not_found, sum.not_found),
        (EN.unseen, sum.unseen),
        (EN.fell_off, sum.fell_off),
    ]
    .into_iter()
    .all(|(what, n)| term(observation, what) == Some(n.into()))
}

const CASES: u64 = 60;

#[test]
fn the_numbers_of_a_bundle_are_those_of_the_ledger() {
    let books = books();
    let (mut visits, mut closed, mut refused, mut regions, mut lost) = (0, 0, 0, 0, 0);
    let (mut happened, mut false_balances) = (0, 0);
    for seed in 0..CASES {
        let ledger = invent(&books, seed);
        let made = latest(&ledger);
        for (id, session) in ledger.whole().expect("all of it").sessions() {
            let state = session.state();
            let bundle = match fhir::visit(&ledger, &books, id, made) {
                Ok(bundle) => parsed(&bundle),
                Err(why) => {
                    let erased = state.person.and_then(|p| ledger.person(p));
                    let erased = erased.is_some_and(|p| p.erased) || state.opened.is_none();
                    assert!(state.rehearsal || erased, "seed {seed}: {why:?}");
                    refused += 1;
                    continue;
                }
            };
            visits += 1;
            closed += usize::from(state.closed.is_some());
            let count = count_of(&bundle);
            sums_agree(count, &state.sum).unwrap_or_else(|why| panic!("seed {seed}: {why}"));
            let final_ = if state.closed.is_some() {
                "final"
            } else {
                "preliminary"
            };
            assert_eq!(count["status"], final_);
            let places: Vec<_> = resources(&bundle, "Observation")
                .into_iter()
                .filter(|o| o["code"]["text"] == EN.region)
                .collect();
            assert_eq!(places.len(), state.regions.len(), "seed {seed}");
            for (region, sum) in &state.regions {
                let site = EN.site(*region);
                let of =
                    |o: &&&Value| o["bodySite"]["text"] == site.as_str() && region_agrees(o, sum);
                assert!(places.iter().any(|o| of(&o)), "seed {seed}: {region}");
                regions += 1;
            }
            assert_eq!(resources(&bundle, "Device").len(), state.packs.len());
            let events = resources(&bundle, "AdverseEvent");
            let missing: u32 = events
                .iter()
                .map(|e| first_number(&e["event"]["text"]))
                .sum();
            let known = state.sum.not_found + state.sum.unplaced_not_found;
            assert!(
                missing == known,
                "seed {seed}: {missing} told, {known} known"
            );
            let later = state
                .turned_up
                .iter()
                .filter(|(_, _, up)| up.after.is_some());
            let beside = state.incidents.len() + later.count();
            assert!((beside..=state.signed.len() + beside).contains(&events.len()));
            for line in &state.incidents {
                let what = incident(line.what.kind);
                let says = |e: &&&Value| {
                    let text = e["event"]["text"].as_str().unwrap_or_default();
                    let whose = line.what.kind == IncidentKind::Needlestick;
                    text.starts_with(what) && e["subject"]["reference"].is_null() == whose
                };
                assert!(events.iter().any(|e| says(&e)), "seed {seed}: {what}");
            }
            assert_eq!(
                term(count, EN.false_balance),
                Some(state.false_balance.into())
            );
            happened += beside;
            false_balances += usize::from(state.false_balance > 0);
            lost += known;
        }
    }
    // Control: another number is seen.
    let ledger = log("first.journal");
    let (id, session) = ledger
        .whole()
        .expect("all of it")
        .sessions()
        .next()
        .expect("a session");
    let bundle = parsed(&fhir::visit(&ledger, &books, id, latest(&ledger)).expect("a bundle"));
    let mut sum = session.state().sum;
    assert!(sums_agree(count_of(&bundle), &sum).is_ok());
    sum.not_found += 1;
    assert!(sums_agree(count_of(&bundle), &sum).is_err());
    println!(
        "{visits} visits of {CASES} invented practices, {closed} closed, {regions} regions, {lost} needles not found; {refused} refused; {happened} incidents and late finds, {false_balances} false balances"
    );
    assert!(happened > 60 && false_balances > 3);
    assert!(visits > 60 && closed > 10 && refused > 3 && regions > 100 && lost > 20);
}

/// The number that a text begins with.
fn first_number(text: &Value) -> u32 {
    let text = text.as_str().unwrap_or_default();
    text.split(' ')
        .next()
        .and_then(|n| n.parse().ok())
        .unwrap_or(0)
}

#[test]
fn a_person_is_their_visits_under_the_same_names() {
    let books = books();
    let mut shared = 0;
    for seed in 0..20 {
        let ledger = invent(&books, seed);
        let made = latest(&ledger);
        for (person, _) in ledger.whole().expect("all of it").people() {
            let Ok(whole) = fhir::person(&ledger, &books, person, made) else {
                continue;
            };
            assert_eq!(
                fhir::person(&ledger, &books, person, made),
                Ok(whole.clone())
            );
            let urls = |text: &str| -> BTreeSet<String> {
                let bundle = parsed(text);
                let entries = bundle["entry"].as_array().expect("entries").clone();
                entries.iter().map(|e| e["fullUrl"].to_string()).collect()
            };
            let all = urls(&whole);
            for (id, _) in ledger.sessions_of(person) {
                if let Ok(one) = fhir::visit(&ledger, &books, id, made) {
                    let one = urls(&one);
                    assert!(one.is_subset(&all), "seed {seed}");
                    shared += one.len();
                }
            }
        }
    }
    assert!(shared > 200, "{shared} resources compared");
}

#[test]
fn a_count_only_visit_says_that_screening_was_not_recorded_here() {
    let books = books();
    let notes = |name: &str| {
        let ledger = log(name);
        let (id, _) = ledger
            .whole()
            .expect("all of it")
            .sessions()
            .next()
            .expect("a session");
        let bundle = parsed(&fhir::visit(&ledger, &books, id, latest(&ledger)).expect("a bundle"));
        let text = resources(&bundle, "Procedure")[0]["note"].to_string();
        (text, resources(&bundle, "QuestionnaireResponse").len())
    };
    let said = "screening was not recorded here";
    let (text, answers) = notes("stopped.journal");
    assert!(text.contains(said) && answers == 0);
    let (text, answers) = notes("first.journal");
    assert!(
        !text.contains(said) && answers == 1,
        "control: a planned one"
    );
}

#[test]
fn needles_entered_as_a_block_have_two_ends_and_no_single_time() {
    let books = books();
    let ends = |when| {
        let (mut ledger, session) = pinfold_tests::count_only(3);
        let mut hand = pinfold_tests::hand(3, 900_000);
        hand.when = when;
        let place = ChairCommand::Place {
            session,
            region: "cheek.left".parse().expect("a region"),
            count: 9,
            size: None,
            points: Vec::new(),
            stay: None,
        };
        pinfold_tests::act(&mut ledger, place, &hand).expect("recorded");
        let bundle = parsed(&fhir::visit(&ledger, &books, session, hand.stamp).expect("a bundle"));
        let all = resources(&bundle, "Observation");
        let region = all
            .iter()
            .find(|o| o["code"]["text"] == EN.region)
            .expect("a region");
        let parts = region["component"].as_array().expect("components").clone();
        let part = parts.into_iter().find(|c| c["code"]["text"] == EN.went_in);
        let period = part.expect("when they went in")["valuePeriod"].clone();
        let table = tables::table(
            ledger.whole().expect("all of it"),
            &books,
            Table::Needles,
            tables::Options::default(),
        );
        (
            period["start"].to_string(),
            period["end"].to_string(),
            table,
            region["note"].to_string(),
        )
    };
    let start = Wall(1_800_000_000_000);
    let (from, to, table, _) = ends(When::Between(start, start.plus(600_000)));
    assert_eq!(from, "\"2027-01-15T09:00:00+01:00\"");
    assert_eq!(to, "\"2027-01-15T09:10:00+01:00\"");
    assert_eq!(
        table
            .matches(",2027-01-15 09:00:00,2027-01-15 09:10:00,")
            .count(),
        9
    );
    let (from, to, _, note) = ends(When::Now);
    assert_eq!(
        (from.as_str(), from == to, note.as_str()),
        ("\"2027-01-15T09:15:00+01:00\"", true, "null"),
        "control"
    );
    let (.., note) = ends(When::About(start));
    assert!(note.contains("as about then"));
}

/// One *count only* visit with what is done to it, as its bundle.
fn visit_of(acts: impl FnOnce(&mut Ledger, EntryId)) -> Value {
    let (mut ledger, session) = pinfold_tests::count_only(3);
    acts(&mut ledger, session);
    let made = latest(&ledger);
    parsed(&fhir::visit(&ledger, &books(), session, made).expect("a bundle"))
}

#[test]
fn what_went_wrong_is_an_event_in_words_with_no_invented_code() {
    let went_wrong = |kind, when| {
        visit_of(|ledger, session| {
            let what = Incident {
                kind,
                region: "cheek.left".parse().ok(),
                point: None,
                words: "small, pressed on it".into(),
            };
            let mut hand = pinfold_tests::hand(3, 900_000);
            hand.when = when;
            let command = ChairCommand::Incident { session, what };
            pinfold_tests::act(ledger, command, &hand).expect("recorded");
        })
    };
    let start = Wall(1_800_000_000_000);
    let bundle = went_wrong(IncidentKind::Bruise, When::Now);
    let event = resources(&bundle, "AdverseEvent")[0];
    assert_eq!(
        event["event"],
        json!({"text": "Bruise, Cheek, patient's left: small, pressed on it"})
    );
    assert_eq!(event["actuality"], "actual");
    assert_eq!(event["date"], "2027-01-15T09:15:00+01:00");
    assert!(event["subject"]["reference"].is_string());
    for coded in ["category", "seriousness", "severity", "outcome"] {
        assert!(event.get(coded).is_none(), "nobody said it: {coded}");
    }
    // Between two times it has no single one; the words have both.
    let bundle = went_wrong(
        IncidentKind::Faint,
        When::Between(start, start.plus(600_000)),
    );
    let event = resources(&bundle, "AdverseEvent")[0];
    assert!(event.get("date").is_none());
    let text = event["event"]["text"].as_str().expect("words");
    assert!(
        text.ends_with(". Between 2027-01-15 09:00:00 and 2027-01-15 09:10:00, local time."),
        "{text}"
    );
    let bundle = went_wrong(IncidentKind::Faint, When::About(start));
    let event = resources(&bundle, "AdverseEvent")[0];
    assert_eq!(event["date"], "2027-01-15T09:00:00+01:00");
    assert!(event["event"]["text"].to_string().contains(EN.about_then));
    // The practitioner was stuck: the event is not the patient's.
    let bundle = went_wrong(IncidentKind::Needlestick, When::Now);
    let event = resources(&bundle, "AdverseEvent")[0];
    assert_eq!(event["subject"], json!({"display": EN.practitioner}));
    assert!(resources(&visit_of(|_, _| ()), "AdverseEvent").is_empty());
}

#[test]
fn a_needle_that_turns_up_after_the_close_is_said_and_changes_no_time_of_the_visit() {
    let visit = |later: bool| {
        visit_of(|ledger, session| {
            let region = "cheek.left".parse().expect("a region");
            let mut at = 0;
            let mut go = |ledger: &mut Ledger, command| {
                at += 60_000;
                let hand = pinfold_tests::hand(3, at);
                pinfold_tests::act(ledger, command, &hand).expect("recorded");
            };
            let (size, lot) = (None, None);
            go(
                ledger,
                ChairCommand::OpenPack {
                    session,
                    held: 5,
                    size,
                    lot,
                },
            );
            let (count, points, stay) = (5, Vec::new(), None);
            go(
                ledger,
                ChairCommand::Place {
                    session,
                    region,
                    count,
                    size,
                    points,
                    stay,
                },
            );
            let (how, first) = (Default::default(), None);
            go(
                ledger,
                ChairCommand::TakeOut {
                    session,
                    region,
                    count,
                    how,
                    first,
                },
            );
            go(
                ledger,
                ChairCommand::CountStrips {
                    session,
                    size,
                    left: 0,
                },
            );
            let now = ledger.session(session).expect("there").state().clone();
            for demand in pinfold_tests::demands(&now, session) {
                go(ledger, demand);
            }
            go(
                ledger,
                ChairCommand::Close {
                    session,
                    words: None,
                },
            );
            if later {
                let found = scarf("in the scarf, next morning");
                let hand = pinfold_tests::hand(3, 86_400_000);
                let command = ChairCommand::TurnUp { session, found };
                pinfold_tests::act(ledger, command, &hand).expect("recorded");
            }
        })
    };
    let bundle = visit(true);
    let count = count_of(&bundle);
    assert_eq!(count["status"], "final", "it does not open the count again");
    assert_eq!(term(count, EN.false_balance), Some(1));
    assert_eq!(term(count, EN.turned_up), Some(1));
    assert_eq!(term(count, EN.opened), Some(6));
    let note = count["note"][0]["text"].as_str().expect("a note");
    assert!(
        note.starts_with("False balance: ") && note.ends_with("over 5 opened and 0 not found.")
    );
    let event = resources(&bundle, "AdverseEvent")[0];
    assert_eq!(
        event["event"]["text"],
        "After the count was closed, 1 needle turned up. A needle turned up, found by the person, loose: in the scarf, next morning"
    );
    assert_eq!(event["date"], "2027-01-16T09:00:00+01:00");
    let before = visit(false);
    let performed = |bundle: &Value| resources(bundle, "Procedure")[0]["performedPeriod"].clone();
    assert_eq!(performed(&bundle), performed(&before));
    // The control: the same visit without it.
    assert_eq!(term(count_of(&before), EN.false_balance), Some(0));
    assert!(count_of(&before).get("note").is_none());
    assert!(resources(&before, "AdverseEvent").is_empty());
}

#[test]
fn what_was_said_of_a_needle_with_one_visit_does_not_go_out_with_another_that_it_may_be_from() {
    let (mut ledger, second) = pinfold_tests::count_only(3);
    let open = ChairCommand::Open {
        mode: pinfold_core::event::session::Mode::CountOnly,
        person: None,
        plan: Vec::new(),
        rehearsal: false,
        procedure: None,
    };
    pinfold_tests::act(&mut ledger, open, &pinfold_tests::hand(3, 60_000)).expect("opened");
    let first = ledger
        .whole()
        .expect("all of it")
        .sessions()
        .last()
        .expect("there")
        .0;
    let words = "in the hood of the other one's coat";
    let found = Found {
        fits: vec![second],
        ..scarf(words)
    };
    let turn_up = ChairCommand::TurnUp {
        session: first,
        found,
    };
    pinfold_tests::act(&mut ledger, turn_up, &pinfold_tests::hand(3, 120_000)).expect("recorded");
    let bundle = |session| fhir::visit(&ledger, &books(), session, latest(&ledger)).expect("one");
    assert!(bundle(second).contains(EN.from_elsewhere) && !bundle(second).contains(words));
    assert!(bundle(first).contains(words), "control");
}

fn scarf(words: &str) -> Found {
    Found {
        count: 1,
        region: None,
        size: None,
        place: None,
        by: Finder::Person,
        embedded: false,
        stuck: false,
        fits: Vec::new(),
        words: words.into(),
    }
}

#[test]
fn unknown_is_never_written_as_no() {
    let books = books();
    let (mut unknown, mut noes) = (0, 0);
    for seed in 0..20 {
        let ledger = invent(&books, seed);
        for (person, _) in ledger.whole().expect("all of it").people() {
            let Ok(bundle) = fhir::person(&ledger, &books, person, latest(&ledger)) else {
                continue;
            };
            let bundle = parsed(&bundle);
            for response in resources(&bundle, "QuestionnaireResponse") {
                for item in response["item"].as_array().expect("items") {
                    let answer = item["answer"].as_array().expect("an answer for every item");
                    let text = answer[0]["valueString"].as_str().unwrap_or_default();
                    unknown +=
                        usize::from(text.contains("not known") || text.contains("not measured"));
                    noes += usize::from(answer[0]["valueBoolean"] == false);
                }
            }
        }
    }
    println!("{unknown} answers not known, {noes} noes");
    assert!(unknown > 50 && noes > 50);
}

#[test]
fn nothing_goes_out_of_a_rehearsal_or_of_somebody_who_was_erased() {
    let books = books();
    let mut ledger = log("first.journal");
    let (session, person) = {
        let (id, s) = ledger
            .whole()
            .expect("all of it")
            .sessions()
            .next()
            .expect("a session");
        (id, s.state().person.expect("somebody"))
    };
    let made = latest(&ledger);
    assert!(
        fhir::visit(&ledger, &books, session, made).is_ok(),
        "control"
    );
    let nobody: EntryId = "999-000102030405060708090a0b0c0d0e0f"
        .parse()
        .expect("an id");
    assert_eq!(
        fhir::visit(&ledger, &books, nobody, made),
        Err(Refused::Unknown)
    );
    assert_eq!(
        fhir::person(&ledger, &books, nobody, made),
        Err(Refused::Unknown)
    );
    let year = Stamp {
        wall: Wall(i64::MAX),
        ..made
    };
    assert_eq!(
        fhir::visit(&ledger, &books, session, year),
        Err(Refused::Clock)
    );
    let hand = pinfold_tests::hand(5, 99_000_000);
    let facts = ledger
        .decide(&Command::Desk(DeskCommand::Erase(person)), &hand)
        .expect("erasing is never refused");
    ledger.append(&facts);
    assert_eq!(
        fhir::visit(&ledger, &books, session, made),
        Err(Refused::Erased)
    );
    assert_eq!(
        fhir::person(&ledger, &books, person, made),
        Err(Refused::Erased)
    );
    let rehearse = ChairCommand::Open {
        mode: pinfold_core::event::session::Mode::CountOnly,
        person: None,
        plan: Vec::new(),
        rehearsal: true,
        procedure: None,
    };
    pinfold_tests::act(&mut ledger, rehearse, &hand).expect("opened");
    let (rehearsal, _) = ledger
        .whole()
        .expect("all of it")
        .sessions()
        .last()
        .expect("it is there");
    assert_eq!(
        fhir::visit(&ledger, &books, rehearsal, made),
        Err(Refused::Rehearsal)
    );
    let said = [
        Refused::Unknown,
        Refused::Rehearsal,
        Refused::Erased,
        Refused::Clock,
    ]
    .map(Refused::say);
    assert!(
        said.iter()
            .all(|s| s.starts_with("Nothing was written out"))
    );
}

#[test]
fn a_name_stands_in_calendars_and_tables_only_if_it_is_asked_for() {
    let (ledger, books) = (log("first.journal"), books());
    let name = "Wren of the Ford";
    let made = latest(&ledger);
    let person = ledger
        .whole()
        .expect("all of it")
        .people()
        .next()
        .expect("somebody")
        .0;
    let event = |name| {
        let options = calendar::Options { name, alarm: None };
        calendar::next(&ledger, person, options, made.wall).expect("a booking")
    };
    assert!(!event(false).contains(name));
    assert!(event(true).contains(name), "control");
    let uid = |text: &str| {
        text.lines()
            .find(|l| l.starts_with("UID:"))
            .map(str::to_string)
    };
    assert_eq!(uid(&event(false)), uid(&event(true)), "the same event");
    assert!(!event(false).contains("VALARM"));
    for table in Table::ALL {
        let with = |names| {
            let options = tables::Options {
                names,
                ..tables::Options::default()
            };
            tables::table(ledger.whole().expect("all of it"), &books, *table, options)
        };
        assert!(!with(false).contains(name), "{table:?}");
        assert_eq!(
            with(true).contains(name),
            table.columns().contains(&"name"),
            "{table:?}, control"
        );
    }
}

/// Whether a spreadsheet program may run this cell; written down here on its own.
fn formula(cell: &str) -> bool {
    let risky = |c: char| "=+-@\t\r\n\u{ff1d}\u{ff0b}\u{ff0d}\u{ff20}".contains(c);
    let number = cell.parse::<f64>().is_ok() && !cell.contains(['e', 'E', 'n', 'N']);
    let first = |t: &str| t.chars().next().is_some_and(risky);
    (first(cell) || first(cell.trim_start())) && !number
}

#[test]
fn tables_read_in_a_library_and_hold_no_formula() {
    let books = books();
    let run = TEXTS.iter().filter(|t| formula(t)).count();
    assert!(
        run >= 8,
        "control: {run} of the texts would run as they are"
    );
    let (mut cells, mut defused, mut needles, mut rehearsed) = (0, 0, 0, 0);
    for seed in 0..CASES {
        let ledger = invent(&books, seed);
        for table in Table::ALL {
            let options = tables::Options {
                names: true,
                mark: true,
                person: None,
            };
            let text = tables::table(ledger.whole().expect("all of it"), &books, *table, options);
            let text = text.strip_prefix('\u{feff}').expect("the mark");
            // Strict about the number of cells in a row.
            let mut reader = csv::ReaderBuilder::new()
                .has_headers(false)
                .from_reader(text.as_bytes());
            let rows: Vec<csv::StringRecord> =
                reader.records().map(|r| r.expect("a row")).collect();
            assert_eq!(rows[0].iter().collect::<Vec<_>>(), table.columns());
            for cell in rows.iter().flatten() {
                assert!(!formula(cell), "seed {seed}, {table:?}: {cell:?}");
                defused += usize::from(cell.strip_prefix('\'').is_some_and(formula));
                cells += 1;
            }
            if *table == Table::Needles {
                let treated = ledger.whole().expect("all of it").sessions();
                let treated = treated.filter(|(_, s)| !s.state().rehearsal);
                let placed: u32 = treated.map(|(_, s)| s.state().sum.placed).sum();
                assert_eq!(rows.len() - 1, placed as usize, "seed {seed}");
                needles += placed;
            }
            if *table == Table::Visits {
                let at = |name: &str| {
                    table
                        .columns()
                        .iter()
                        .position(|c| *c == name)
                        .expect("a column")
                };
                let sum = |name: &str| -> u32 {
                    rows[1..]
                        .iter()
                        .map(|r| r[at(name)].parse::<u32>().expect("a number"))
                        .sum()
                };
                let whole = ledger.whole().expect("all of it");
                let treated = whole.sessions().filter(|(_, s)| !s.state().rehearsal);
                let here: u32 = treated.map(|(_, s)| s.state().sum.opened).sum();
                assert_eq!(sum("opened"), here, "seed {seed}");
                let all: u32 = whole.sessions().map(|(_, s)| s.state().sum.opened).sum();
                rehearsed += all - here;
            }
        }
    }
    println!("{cells} cells, {defused} defused, {needles} needles");
    assert!(defused > 100 && needles > 300);
    assert!(rehearsed > 0, "control: none was left out");
}

// --- the journal's schema ------------------------------------------------------------------------

fn schema() -> Value {
    let text = fs::read_to_string(here().join("data/journal.schema.json")).expect("the schema");
    serde_json::from_str(&text).expect("JSON")
}

fn validator() -> Validator {
    jsonschema::draft202012::options()
        .should_validate_formats(true)
        .build(&schema())
        .expect("a schema of draft 2020-12")
}

fn golden_lines() -> Vec<Value> {
    let mut lines = Vec::new();
    for name in LOGS {
        let text = fs::read_to_string(here().join(format!("logs/{name}.journal"))).expect("a log");
        lines.extend(text.lines().map(|l| serde_json::from_str(l).expect("JSON")));
    }
    lines
}

/// Kinds without a definition, or without the branch that asks for it.
fn undefined<'a>(schema: &Value, kinds: impl Iterator<Item = &'a str>) -> Vec<&'a str> {
    let branches = schema["$defs"]["entry"]["allOf"]
        .as_array()
        .expect("branches");
    let asked = |kind: &str| {
        let wanted = format!("#/$defs/kind%20{kind}");
        branches.iter().any(|b| {
            b["if"]["properties"]["kind"]["const"] == kind
                && b["then"]["properties"]["body"]["anyOf"][1]["$ref"] == wanted.as_str()
        })
    };
    let defined = |kind: &str| schema["$defs"].get(format!("kind {kind}")).is_some();
    kinds
        .filter(|kind| !defined(kind) || !asked(kind))
        .collect()
}

#[test]
fn every_kind_of_fact_has_a_definition_in_the_schema() {
    let schema = schema();
    let kinds = || Event::KINDS.iter().copied().chain([TOMBSTONE]);
    let missing = undefined(&schema, kinds().chain(["needle.sang"]));
    assert_eq!(
        missing,
        ["needle.sang"],
        "control: only the one that does not exist"
    );
    let defined = schema["$defs"].as_object().expect("definitions");
    let extra: Vec<&str> = defined
        .keys()
        .filter_map(|name| name.strip_prefix("kind "))
        .filter(|name| !kinds().any(|kind| kind == *name))
        .collect();
    assert!(extra.is_empty(), "kinds that are gone: {extra:?}");
}

#[test]
fn every_golden_line_and_every_invented_one_is_of_the_schema() {
    let validator = validator();
    let mut seen = 0;
    let mut check = |line: &Value| {
        let why: Vec<String> = validator.iter_errors(line).map(|e| e.to_string()).collect();
        assert!(why.is_empty(), "{line}: {why:?}");
        seen += 1;
    };
    golden_lines().iter().for_each(&mut check);
    let books = books();
    for seed in 0..20 {
        let lines = invent(&books, seed).journal().to_lines();
        let text = String::from_utf8(lines).expect("UTF-8");
        text.lines()
            .for_each(|l| check(&serde_json::from_str(l).expect("JSON")));
    }
    println!("{seen} lines");
    assert!(seen > 1000);
}

/// What Pinfold's own reader says of a line: whether it is an entry whose fact is read.
fn reads(line: &Value) -> bool {
    let Ok(entry) = Entry::from_line(&line.to_string()) else {
        return false;
    };
    if entry.kind == TOMBSTONE {
        return entry.erases().is_some();
    }
    matches!(
        Event::read(&entry),
        Ok(_) | Err(Unread::UnknownKind | Unread::NewerVersion | Unread::Erased)
    )
}

/// One value made into something else, at every place of a line: name and line.
fn spoilt(line: &Value) -> Vec<(String, Value)> {
    fn paths(value: &Value, here: String, all: &mut Vec<String>) {
        all.push(here.clone());
        match value {
            Value::Object(members) => members
                .iter()
                .for_each(|(k, v)| paths(v, format!("{here}/{k}"), all)),
            Value::Array(items) => items
                .iter()
                .enumerate()
                .for_each(|(n, v)| paths(v, format!("{here}/{n}"), all)),
            _ => {}
        }
    }
    let mut all = Vec::new();
    paths(line, String::new(), &mut all);
    let mut out = Vec::new();
    for path in all.iter().skip(1) {
        for new in [
            json!("x"),
            json!(-1),
            json!(1_000_000),
            json!(1.5),
            json!({}),
            json!([{}]),
            json!(true),
        ] {
            let mut bad = line.clone();
            *bad.pointer_mut(path).expect("a place") = new.clone();
            out.push((format!("{path} becomes {new}"), bad));
        }
        let (parent, name) = path.rsplit_once('/').expect("a name");
        if let Some(Value::Object(members)) = line.pointer(parent) {
            let mut less: Map<String, Value> = members.clone();
            less.remove(name);
            let mut bad = line.clone();
            *bad.pointer_mut(parent).expect("a place") = Value::Object(less);
            out.push((format!("{path} gone"), bad));
        }
    }
    for path in ["", "/body"] {
        let mut bad = line.clone();
        if let Some(Value::Object(members)) = bad.pointer_mut(path) {
            members.insert("more".into(), json!(1));
            out.push((format!("{path} has more"), bad));
        }
    }
    out
}

/// What the schema says in words only (its `$comment`).
fn beyond_a_schema(line: &Value, what: &str) -> bool {
    let body = &line["body"];
    let number = |name: &str| body[name].as_i64();
    number("earliest") > number("latest")
        || body["points"].as_array().map(Vec::len) > body["count"].as_u64().map(|n| n as usize)
            && body.get("points").is_some()
        || body["needles"]
            .as_array()
            .is_some_and(|spans| spans.iter().any(|s| s["from"].as_i64() > s["to"].as_i64()))
        || what.contains("more") && line["kind"] == TOMBSTONE
}

#[test]
fn the_schema_refuses_what_the_reader_refuses_and_takes_what_it_takes() {
    let validator = validator();
    let (mut both_refuse, mut both_take, mut differ) = (0, 0, Vec::new());
    for line in golden_lines().iter().filter(|l| l.get("kind").is_some()) {
        assert!(
            reads(line) && validator.is_valid(line),
            "before it is spoilt: {line}"
        );
        for (what, bad) in spoilt(line) {
            match (validator.is_valid(&bad), reads(&bad)) {
                (true, true) => both_take += 1,
                (false, false) => both_refuse += 1,
                (valid, _) if !beyond_a_schema(&bad, &what) => {
                    differ.push(format!("{} {what}: schema {valid}", line["kind"]));
                }
                _ => {}
            }
        }
    }
    println!("{both_refuse} spoilt lines refused by both, {both_take} taken by both");
    assert!(differ.is_empty(), "{differ:#?}");
    assert!(both_refuse > 1500 && both_take > 100);
}

/// References of a bundle that lead nowhere, and full URLs that stand twice.
fn astray(bundle: &Value) -> Vec<String> {
    fn references(value: &Value, all: &mut Vec<String>) {
        match value {
            Value::Object(members) => {
                for (name, inner) in members {
                    match inner.as_str() {
                        Some(text) if name == "reference" => all.push(text.into()),
                        _ => references(inner, all),
                    }
                }
            }
            Value::Array(items) => items.iter().for_each(|v| references(v, all)),
            _ => {}
        }
    }
    let mut urls = BTreeSet::new();
    let mut bad = Vec::new();
    for entry in bundle["entry"].as_array().into_iter().flatten() {
        let url = entry["fullUrl"].as_str().unwrap_or_default().to_string();
        if !urls.insert(url.clone()) {
            bad.push(url);
        }
    }
    let mut all = Vec::new();
    references(bundle, &mut all);
    bad.extend(all.into_iter().filter(|r| !urls.contains(r)));
    bad
}

#[test]
fn whatever_a_journal_holds_is_written_out_without_panic_and_whole() {
    let books = books();
    let golden = golden_lines();
    let (mut journals, mut bundles) = (0, 0);
    let mut export = |lines: &[Value]| {
        let text: String = lines.iter().map(|l| format!("{l}\n")).collect();
        let ledger = Ledger::new(Journal::from_lines(text.as_bytes()).journal);
        let made = Stamp {
            wall: Wall(1_800_200_000_000),
            ..Stamp::default()
        };
        let visits = ledger
            .whole()
            .expect("all of it")
            .sessions()
            .map(|(id, _)| fhir::visit(&ledger, &books, id, made));
        let people = ledger
            .whole()
            .expect("all of it")
            .people()
            .map(|(id, _)| fhir::person(&ledger, &books, id, made));
        for bundle in visits.chain(people).flatten() {
            let bundle = parsed(&bundle);
            assert!(astray(&bundle).is_empty(), "{:?}", astray(&bundle));
            bundles += 1;
        }
        for table in Table::ALL {
            let text = tables::table(
                ledger.whole().expect("all of it"),
                &books,
                *table,
                tables::Options::default(),
            );
            let mut reader = csv::Reader::from_reader(text.as_bytes());
            assert!(reader.records().all(|r| r.is_ok()), "{table:?}");
        }
        let _ = calendar::all(
            ledger.whole().expect("all of it"),
            calendar::Options::default(),
            Wall(0),
        );
        journals += 1;
    };
    // Times and zones that no clock shows.
    let odd = [
        json!(i64::MIN),
        json!(i64::MAX),
        json!(0),
        json!(-1),
        json!(4_000_000_000_000_000_i64),
    ];
    for (at, line) in golden.iter().enumerate() {
        let mut one = |path: &str, new: &Value| {
            let mut all = golden.clone();
            if let Some(place) = all[at].pointer_mut(path) {
                *place = new.clone();
                export(&all);
            }
        };
        for new in &odd {
            for path in [
                "/at/wall",
                "/at/mono",
                "/when/about",
                "/when/between/0",
                "/when/between/1",
                "/body/at",
            ] {
                one(path, new);
            }
        }
        for zone in [json!(i16::MIN), json!(i16::MAX), json!(1441)] {
            one("/at/zone", &zone);
        }
        for (_, bad) in spoilt(line).into_iter().step_by(11) {
            let mut all = golden.clone();
            all[at] = bad;
            export(&all);
        }
    }
    println!("{journals} spoilt journals, {bundles} bundles");
    assert!(journals > 500 && bundles > 500);
    // Control: a reference that leads nowhere is seen.
    let lost = json!({"entry": [{"fullUrl": "a", "resource": {"subject": {"reference": "b"}}}]});
    assert_eq!(astray(&lost), ["b"]);
}

// --- stored results, and the libraries themselves ------------------------------------------------

/// `tests/golden/wire` was made by `tests/outside/run.sh golden` and checked by the libraries that
/// `tests/golden/wire.verdict` names, with the sum of each file. What is written out today is that.
#[test]
fn what_is_written_out_is_what_the_libraries_have_checked() {
    let verdict = fs::read_to_string(here().join("golden/wire.verdict")).expect("the verdict");
    assert!(!verdict.contains("WRONG") && verdict.contains("FHIR 4.0.1: fhir.resources 6.4.0"));
    let books = books();
    let mut seen = 0;
    let mut checked = 0;
    for name in LOGS {
        let ledger = log(&format!("{name}.journal"));
        let made = latest(&ledger);
        let lines = |all: Vec<String>| all.into_iter().map(|b| b + "\n").collect::<String>();
        let visits = ledger
            .whole()
            .expect("all of it")
            .sessions()
            .map(|(id, _)| fhir::visit(&ledger, &books, id, made));
        let people = ledger
            .whole()
            .expect("all of it")
            .people()
            .map(|(id, _)| fhir::person(&ledger, &books, id, made));
        let options = calendar::Options {
            name: false,
            alarm: Some(60),
        };
        let mut texts = vec![
            ("fhir".to_string(), lines(visits.flatten().collect())),
            ("person.fhir".into(), lines(people.flatten().collect())),
            (
                "ics".into(),
                calendar::all(ledger.whole().expect("all of it"), options, made.wall)
                    .unwrap_or_default(),
            ),
        ];
        for table in Table::ALL {
            let text = tables::table(
                ledger.whole().expect("all of it"),
                &books,
                *table,
                tables::Options::default(),
            );
            texts.push((format!("{}.csv", table.name()), text));
        }
        for (ending, text) in texts.into_iter().filter(|(_, text)| !text.is_empty()) {
            let file = format!("{name}.{ending}");
            let kept = fs::read_to_string(here().join("golden/wire").join(&file));
            let kept =
                kept.unwrap_or_else(|_| panic!("{file}: tests/outside/run.sh golden makes it"));
            assert_eq!(
                text, kept,
                "{file}: tests/outside/run.sh golden makes and checks it anew"
            );
            let sum =
                Sha256::digest(kept.as_bytes())
                    .iter()
                    .fold(String::new(), |mut hex, byte| {
                        let _ = write!(hex, "{byte:02x}");
                        hex
                    });
            assert!(
                verdict.contains(&format!("{file} {sum} ")),
                "{file} was never checked"
            );
            checked += 1;
        }
        seen += 1;
    }
    let stored = fs::read_dir(here().join("golden/wire"))
        .expect("the folder")
        .count();
    assert_eq!(
        stored, checked,
        "a stored file that nothing is compared with"
    );
    assert_eq!(seen, LOGS.len());
}

/// Runs the libraries on what invented practices write out. Skipped, and said so, where Python or the
/// libraries cannot be had.
#[test]
fn libraries_that_are_not_ours_take_what_is_written_out() {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("wire");
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder).expect("a folder");
    let books = books();
    for name in LOGS {
        write_all(&folder, name, &log(&format!("{name}.journal")), &books).expect("written");
    }
    for seed in 0..24 {
        write_all(
            &folder,
            &format!("invented{seed}"),
            &invent(&books, seed),
            &books,
        )
        .expect("written");
    }
    controls(&folder);
    let run = Run::new(here().join("outside/run.sh"))
        .arg("check")
        .arg(&folder)
        .output()
        .expect("bash runs");
    let said = String::from_utf8_lossy(&run.stdout);
    let why = String::from_utf8_lossy(&run.stderr);
    println!("{said}{why}");
    if run.status.code() == Some(77) {
        println!("SKIPPED: nothing was checked by libraries that are not ours. {why}");
        return;
    }
    assert!(run.status.success(), "{said}{why}");
}

/// What must be refused: texts as they were typed, and lines that are of no schema.
fn controls(folder: &Path) {
    let mut raw = csv::Writer::from_path(folder.join("control.raw.csv")).expect("a file");
    for text in TEXTS.iter().filter(|t| formula(t)) {
        raw.write_record(["plain", text]).expect("written");
    }
    raw.flush().expect("written");
    let mut lines = String::new();
    for line in golden_lines().iter().filter(|l| l.get("kind").is_some()) {
        for (what, bad) in spoilt(line) {
            if !reads(&bad) && !beyond_a_schema(&bad, &what) {
                lines.push_str(&format!("{bad}\n"));
            }
        }
    }
    fs::write(folder.join("control.lines"), lines).expect("written");
}

#[test]
fn the_export_example_prints_each_format() {
    let run = |words: &[&str]| {
        let log = fs::File::open(here().join("logs/first.journal")).expect("the log");
        let run = Run::new(env!("CARGO"))
            .args([
                "run",
                "-q",
                "-p",
                "pinfold-core",
                "--example",
                "export",
                "--",
            ])
            .args(words)
            .stdin(log)
            .output()
            .expect("cargo runs");
        (
            run.status.success(),
            String::from_utf8_lossy(&run.stdout).into_owned(),
        )
    };
    let (_, bundle) = run(&["fhir"]);
    assert_eq!(term(count_of(&parsed(&bundle)), EN.opened), Some(4));
    assert!(run(&["fhir-person"]).1.contains("Appointment"));
    assert!(run(&["csv", "lots"]).1.contains(",'K2207,"));
    assert!(run(&["calendar"]).1.starts_with("BEGIN:VCALENDAR\r\n"));
    assert!(!run(&["csv", "shoes"]).0, "no such table");
}
