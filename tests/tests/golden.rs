//! Old logs are read for ever: one golden line of each kind of fact, and everything it comes to.

use pinfold_core::event::{Event, Unread};
use pinfold_core::journal::{Journal, TOMBSTONE};
use pinfold_core::ledger::Ledger;
use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

fn logs() -> Vec<(String, Vec<u8>)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("logs");
    let mut found: Vec<_> = fs::read_dir(folder)
        .expect("the folder of old logs")
        .flatten()
        .filter(|e| e.path().extension().is_some_and(|x| x == "journal"))
        .map(|e| {
            (
                e.file_name().to_string_lossy().into_owned(),
                fs::read(e.path()).expect("a log"),
            )
        })
        .collect();
    found.sort();
    found
}

#[test]
fn every_kind_of_fact_has_a_golden_line_that_reads_and_is_written_the_same() {
    let mut kinds = BTreeSet::new();
    for (name, bytes) in logs() {
        let read = Journal::from_lines(&bytes);
        assert!(read.flaws.is_empty(), "{name}: {:?}", read.flaws);
        assert_eq!(
            String::from_utf8_lossy(&read.journal.to_lines()),
            String::from_utf8_lossy(&bytes),
            "{name}"
        );
        for entry in read.journal.iter() {
            kinds.insert(entry.kind.clone());
            if entry.kind == TOMBSTONE {
                assert!(entry.erases().is_some());
                continue;
            }
            let event =
                Event::read(entry).unwrap_or_else(|why| panic!("{name}: {}: {why:?}", entry.kind));
            assert_eq!(event.kind(), entry.kind);
            assert_eq!(
                event.body().get(),
                entry.body.get(),
                "{name}: {}",
                entry.kind
            );
        }
    }
    let known: BTreeSet<String> = Event::KINDS
        .iter()
        .map(ToString::to_string)
        .chain([TOMBSTONE.to_string()])
        .collect();
    assert_eq!(
        kinds, known,
        "a kind without a golden line, or a line of a kind that is gone"
    );
}

#[test]
fn the_first_log_still_comes_to_what_it_came_to() {
    let bytes = fs::read(Path::new(env!("CARGO_MANIFEST_DIR")).join("logs/first.journal"))
        .expect("the log");
    let ledger = Ledger::new(Journal::from_lines(&bytes).journal);
    let (_, session) = ledger
        .whole()
        .expect("all of it")
        .sessions()
        .next()
        .expect("a session");
    let sum = session.state().sum;
    assert_eq!(
        (
            sum.opened,
            sum.placed,
            sum.in_now,
            sum.out,
            sum.stays_in,
            sum.not_found,
            sum.spoilt,
            sum.unaccounted
        ),
        (4, 3, 0, 1, 1, 1, 1, 0)
    );
    assert!(
        session.state().notes.is_empty(),
        "the note was corrected away"
    );
    let (_, person) = ledger
        .whole()
        .expect("all of it")
        .people()
        .next()
        .expect("a person");
    assert_eq!(person.name(), "Wren of the Ford");
    assert_eq!(person.answers.len(), 1);
    assert_eq!(ledger.practice().setting("emergency_number"), "000");
}

#[test]
fn the_second_log_still_holds_a_figure_a_rule_and_a_point_let_stay() {
    let bytes = fs::read(Path::new(env!("CARGO_MANIFEST_DIR")).join("logs/second.journal"))
        .expect("the log");
    let ledger = Ledger::new(Journal::from_lines(&bytes).journal);
    let knowledge = pinfold_core::screening::Knowledge::load().expect("knowledge");
    let until = pinfold_core::base::stamp::Wall(i64::MAX);
    let (figures, odd) = ledger.practice().figures(&knowledge.rules, until);
    assert!(odd.is_empty() && figures.contains_key("inr_stop"));
    let (rules, odd) = ledger.practice().judged(&knowledge.bank, &knowledge.rules);
    assert!(odd.is_empty() && rules.len() == 1);
    let (_, person) = ledger
        .whole()
        .expect("all of it")
        .people()
        .next()
        .expect("a person");
    assert_eq!(person.overrides[0].points[0].code, "EX-HN3");
    assert_eq!(person.measures.get("forearm").map(|um| um.0), Some(252_000));
    assert_eq!(person.measures.get("finger").map(|um| um.0), Some(21_000));
}

#[test]
fn the_third_log_still_holds_a_procedure_and_what_sessions_were_planned_from() {
    let bytes = fs::read(Path::new(env!("CARGO_MANIFEST_DIR")).join("logs/third.journal"))
        .expect("the log");
    let ledger = Ledger::new(Journal::from_lines(&bytes).journal);
    let books = pinfold_core::view::visit::Books::load().expect("knowledge");
    let practice = ledger.practice();
    let lines = pinfold_core::view::procedures::list(&books, practice);
    let own: Vec<_> = lines.iter().filter(|l| l.own).collect();
    assert_eq!(own.len(), 1);
    assert_eq!((own[0].name.as_str(), own[0].needles), ("Quiet hour", 5));
    assert_eq!((own[0].retired, own[0].trouble.as_str()), (false, ""));
    // Read and written, not a byte of it is another.
    let kept = practice.composed(&own[0].id).expect("kept");
    let made = pinfold_core::practice::composed::read(&own[0].id, &kept.procedure).expect("sound");
    let again = pinfold_core::practice::composed::composed(&made);
    assert_eq!(again.procedure, kept.procedure);
    let off: Vec<_> = lines.iter().filter(|l| l.retired).collect();
    assert!(off.len() == 1 && off[0].id == "body_only");
    let printed: Vec<String> = ledger
        .whole()
        .expect("all of it")
        .sessions()
        .filter_map(|(id, _)| pinfold_core::record::record(&ledger, id)?.procedure)
        .map(|used| pinfold_core::words::procedures::EN.used(&used))
        .collect();
    let version = "200-000102030405060708090a0b0c0d0e0f";
    assert_eq!(
        printed,
        [
            format!("Quiet hour (our own, version {version})"),
            "Short first visit (Pinfold's, version 83a8bed9efb3cf89)".to_string()
        ]
    );
}

#[test]
fn the_fourth_log_still_holds_points_of_the_practice() {
    let bytes = fs::read(Path::new(env!("CARGO_MANIFEST_DIR")).join("logs/fourth.journal"))
        .expect("the log");
    let ledger = Ledger::new(Journal::from_lines(&bytes).journal);
    let books = pinfold_core::view::visit::Books::load().expect("knowledge");
    let lines = pinfold_core::view::points::list(&books, ledger.practice());
    let seen: Vec<_> = lines
        .iter()
        .map(|l| (l.point.code.as_str(), l.away, l.trouble.as_str()))
        .collect();
    assert_eq!(seen, [("OWN-B1", false, ""), ("OWN-N1", true, "")]);
}

#[test]
fn a_kind_from_the_future_is_kept_and_makes_the_session_read_only() {
    let line = r#"{"id":"2-00000000000000000000000000000001","at":{"wall":5,"mono":1,"zone":0},"stream":"s:1-00000000000000000000000000000001","kind":"needle.sang","v":7,"body":{"tune":"x"}}"#;
    let opened = r#"{"id":"1-00000000000000000000000000000001","at":{"wall":4,"mono":0,"zone":0},"stream":"s:1-00000000000000000000000000000001","kind":"session.opened","body":{"mode":"count_only"}}"#;
    let text = format!("{}\n{opened}\n{line}\n", pinfold_core::journal::HEADER);
    let read = Journal::from_lines(text.as_bytes());
    assert_eq!(
        String::from_utf8_lossy(&read.journal.to_lines()),
        text,
        "written out untouched"
    );
    let future = read
        .journal
        .iter()
        .find(|e| e.kind == "needle.sang")
        .expect("kept");
    assert_eq!(Event::read(future), Err(Unread::UnknownKind));
    let ledger = Ledger::new(read.journal);
    let (id, session) = ledger
        .whole()
        .expect("all of it")
        .sessions()
        .next()
        .expect("a session");
    assert!(session.state().read_only);
    // It may be added to, but not corrected or closed here.
    let hand = pinfold_tests::hand(9, 100);
    let place = pinfold_core::ledger::ChairCommand::Place {
        session: id,
        region: "cheek.left".parse().expect("a region"),
        count: 2,
        size: None,
        points: Vec::new(),
        stay: None,
    };
    let mut ledger = ledger;
    pinfold_tests::act(&mut ledger, place, &hand).expect("a physical fact is never refused");
    let undo = pinfold_core::ledger::ChairCommand::Undo { session: id };
    assert!(pinfold_tests::act(&mut ledger, undo, &hand).is_err());
}

#[test]
fn the_fold_example_prints_the_documented_shape() {
    let log = Path::new(env!("CARGO_MANIFEST_DIR")).join("logs/first.journal");
    let run = std::process::Command::new(env!("CARGO"))
        .args(["run", "-q", "-p", "pinfold-core", "--example", "fold"])
        .stdin(fs::File::open(log).expect("the log"))
        .output()
        .expect("cargo runs");
    assert!(
        run.status.success(),
        "{}",
        String::from_utf8_lossy(&run.stderr)
    );
    let json: serde_json::Value = serde_json::from_slice(&run.stdout).expect("JSON");
    let keys = |v: &serde_json::Value| {
        v.as_object()
            .map(|o| o.keys().cloned().collect::<BTreeSet<_>>())
    };
    let set = |names: &str| {
        names
            .split(' ')
            .map(ToString::to_string)
            .collect::<BTreeSet<_>>()
    };
    assert_eq!(keys(&json), Some(set("sum by_region clocks closed flaws")));
    assert_eq!(
        keys(&json["sum"]),
        Some(set(
            "opened placed in out out_uncounted stays_in unused spoilt unaccounted not_found"
        ))
    );
    assert_eq!(json["sum"]["opened"], 4);
    assert_eq!(json["by_region"]["cheek.left"]["not_found"], 1);
}
