//! Figures and rules that a practice sets for itself: what it may write, what the journal keeps, what a
//! shared file may hold, and that nothing built in is lost by any of it.

use pinfold_core::base::date::Date;
use pinfold_core::base::id::Replica;
use pinfold_core::base::stamp::{Stamp, Wall, When};
use pinfold_core::event::practice::Set;
use pinfold_core::intake::{Answer, Fault, Milli, Outcome, Reply, Slip, Value};
use pinfold_core::ledger::{Command, DeskCommand, Hand, Ledger};
use pinfold_core::practice::own::{self, Fact, Unusable};
use pinfold_core::practice::{FIGURE, figure};
use pinfold_core::screening::{Case, Finding, Knowledge};

fn set(ledger: &mut Ledger, wall: i64, set: Set) {
    let stamp = Stamp {
        wall: Wall(wall),
        ..Stamp::default()
    };
    let hand = Hand {
        replica: Replica(1),
        stamp,
        when: When::Now,
    };
    let command = Command::Desk(DeskCommand::Set(set));
    let facts = ledger.decide(&command, &hand).expect("within bounds");
    ledger.append(&facts);
}

fn knowledge() -> Knowledge {
    Knowledge::load().expect("knowledge")
}

fn slip(result: Result<Set, Fault>) -> Option<Slip> {
    result.err().map(|fault| fault.slip)
}

#[test]
fn a_figure_is_tightened_freely_and_loosened_only_with_a_reason() {
    let rules = knowledge().rules;
    // INR: lower is stricter, 1 to 6 allowed, 3.5 by default.
    assert!(figure(&rules, "inr_stop", Some(Milli(3000)), "").is_ok());
    let looser = |reason| figure(&rules, "inr_stop", Some(Milli(4000)), reason);
    assert_eq!(slip(looser("")), Some(Slip::NoReason));
    assert_eq!(slip(looser("  because ")), Some(Slip::NoReason));
    assert!(looser("our haematologist asks for it").is_ok());
    // Platelets: higher is stricter.
    assert!(figure(&rules, "platelets_stop", Some(Milli::whole(30)), "").is_ok());
    let low = figure(&rules, "platelets_stop", Some(Milli::whole(10)), "");
    assert_eq!(slip(low), Some(Slip::NoReason));
    assert!(matches!(
        slip(figure(
            &rules,
            "inr_stop",
            Some(Milli(9000)),
            "a good long reason"
        )),
        Some(Slip::OutOfRange(..))
    ));
    let nobody = figure(&rules, "mood", Some(Milli(0)), "a good long reason");
    assert_eq!(slip(nobody), Some(Slip::Unheard));
}

#[test]
fn the_record_keeps_which_figure_stood_when() {
    let rules = knowledge().rules;
    let mut ledger = Ledger::default();
    let why = "agreed with the surgery next door";
    let first = figure(&rules, "inr_stop", Some(Milli(4000)), why).expect("a reason");
    set(&mut ledger, 100, first);
    set(
        &mut ledger,
        200,
        figure(&rules, "inr_stop", None, "").expect("taken back"),
    );
    let last = figure(&rules, "inr_stop", Some(Milli(3000)), "").expect("stricter");
    set(&mut ledger, 300, last);
    let at = |wall: i64| {
        let (figures, bad) = ledger.practice().figures(&rules, Wall(wall));
        assert!(bad.is_empty());
        figures.get("inr_stop").map(|f| (f.value, f.reason.clone()))
    };
    assert_eq!(at(99), None);
    assert_eq!(at(150), Some((Milli(4000), why.into())));
    assert_eq!(at(250), None);
    assert_eq!(at(i64::MAX), Some((Milli(3000), String::new())));
}

/// A journal from elsewhere may hold a figure that this build would not have written.
#[test]
fn a_figure_that_cannot_be_used_leaves_the_built_in_one_in_force_and_is_named() {
    let rules = knowledge().rules;
    let mut ledger = Ledger::default();
    for (wall, (id, value)) in (1..).zip([
        ("inr_stop", "4"),
        ("platelets_stop", "many"),
        ("gap_months", "99"),
        ("gap_months_2", "3"),
        ("inr_ask", "2.5"),
    ]) {
        let odd = Set {
            name: format!("{FIGURE}{id}"),
            value: value.into(),
            reason: String::new(),
        };
        set(&mut ledger, wall, odd);
    }
    let (good, bad) = ledger.practice().figures(&rules, Wall(i64::MAX));
    assert_eq!(good.keys().collect::<Vec<_>>(), ["inr_ask"]);
    let fields: Vec<&str> = bad.iter().map(|f| f.field.as_str()).collect();
    assert_eq!(
        fields,
        [
            "settings.gap_months",
            "settings.gap_months_2",
            "settings.inr_stop",
            "settings.platelets_stop"
        ]
    );
}

fn file(rules: &str) -> String {
    format!("{{\"pinfold\":\"rules\",\"format\":1,\"rules\":[{rules}]}}")
}

const LYING: &str = r#"{"id":"OWN-1","when":[[{"question":"fainted","is":["yes"]}],[{"question":"systolic","below":"95"},{"question":"first_visit","is":["yes"],"not":true}]],"outcome":"limit","limits":["lying"],"words":"Low pressure or fainted: lying down.","source":"our own case book"}"#;
const HAND: &str = r#"{"id":"OWN-hand","when":[[{"question":"toxin_date","at_least":"0"},{"question":"procedures","is":["toxin","filler"]}]],"outcome":"omit","to":["LI4.left","ORBIT","cheek.right","kind:intradermal"],"words":"Not here.","source":"our own case book"}"#;

#[test]
fn a_rule_is_added_shared_as_a_file_and_removed() {
    let Knowledge { bank, rules, .. } = knowledge();
    let text = file(&format!("{LYING},{HAND}"));
    let read = own::read(&text, &bank, &rules).expect("sound");
    assert_eq!(read.len(), 2);
    assert_eq!(own::write(&read), text, "a file is written as it was read");
    let mut ledger = Ledger::default();
    for (wall, rule) in (1..).zip(&read) {
        set(&mut ledger, wall, rule.setting());
    }
    assert_eq!(ledger.practice().own_rules(), read);
    let (judged, bad) = ledger.practice().judged(&bank, &rules);
    assert_eq!((judged.len(), bad.len()), (2, 0));
    let gone = Set {
        value: String::new(),
        ..read[0].setting()
    };
    set(&mut ledger, 9, gone);
    assert_eq!(ledger.practice().own_rules(), read[1..]);
}

fn said(value: Value, date: Date) -> Answer {
    let reply = Reply::Known(value);
    Answer { reply, date }
}

/// Own rules find what they say, beside everything the built-in ones find; their absence is the
/// control.
#[test]
fn an_own_rule_adds_a_finding_and_takes_none_away() {
    let knowledge = knowledge();
    let today: Date = "2026-03-09".parse().expect("a date");
    let mut case = Case::new(today);
    case.last_visit = Some(today.months_back(1));
    for (id, value) in [
        ("fainted", Value::Yes(true)),
        ("systolic", Value::Number(Milli::whole(182))),
        ("eaten", Value::Yes(false)),
    ] {
        case.answers.insert(id.into(), said(value, today));
    }
    let sure = |case: &Case| -> Vec<Finding> {
        let found = knowledge.screen(case).expect("a case").findings;
        found.into_iter().filter(|f| f.could_be.is_none()).collect()
    };
    let before = sure(&case);
    assert!(before.iter().any(|f| f.outcome == Outcome::Stop));
    assert!(!before.iter().any(|f| f.rule.starts_with(own::OWN)));
    // The mildest outcome a rule can have, on the very answer that stops: nothing is lifted by it.
    let mild = r#"{"id":"OWN-2","when":[[{"question":"systolic","at_least":"180"}]],"outcome":"record","words":"Known to us.","source":"ours"}"#;
    let text = file(&format!("{LYING},{HAND},{mild}"));
    let own = own::read(&text, &knowledge.bank, &knowledge.rules).expect("sound");
    case.own = own
        .iter()
        .map(|rule| rule.read(&knowledge.bank, &knowledge.rules).expect("sound"))
        .collect();
    let after = sure(&case);
    for finding in &before {
        assert!(after.contains(finding), "{} was lost", finding.rule);
    }
    for id in ["OWN-1", "OWN-2"] {
        let found = after.iter().find(|f| f.rule == id).expect("found");
        assert!(found.policy && found.mark.word() == "policy", "{id}");
    }
    // No built-in rule could be taken for an own one.
    let names = knowledge.rules.rules.iter();
    assert!(names.clone().count() > 100 && !names.clone().any(|r| r.id.starts_with(own::OWN)));
}

#[test]
fn a_file_that_cannot_be_used_is_refused_by_field() {
    let Knowledge { bank, rules, .. } = knowledge();
    let with = |from: &str, to: &str| {
        assert!(LYING.contains(from), "{from}");
        file(&LYING.replacen(from, to, 1))
    };
    for (text, field) in [
        (with("OWN-1", "BD1"), "id"),
        (with("OWN-1", "OWN-a b"), "id"),
        (file(&format!("{LYING},{LYING}")), "id"),
        (with("fainted", "swooned"), "OWN-1.when[0][0].question"),
        (with(r#"["yes"]"#, r#"["often"]"#), "OWN-1.when[0][0]"),
        (with(r#""is":["yes"]"#, r#""is":[]"#), "OWN-1.when[0][0]"),
        (with("95", "9500"), "OWN-1.when[1][0]"),
        (with("95", "low"), "OWN-1.when[1][0]"),
        (with(r#""limits":["lying"],"#, ""), "OWN-1.limits"),
        (with("limit\"", "omit\""), "OWN-1.to"),
        (with("limit\"", "refer\""), "OWN-1.limits"),
        (with("our own case book", " "), "OWN-1.source"),
        (
            with(r#""words""#, r#""to":["LI99"],"words""#),
            "OWN-1.to[0]",
        ),
        (
            with(r#""words""#, r#""to":["LI4.up"],"words""#),
            "OWN-1.to[0]",
        ),
    ] {
        match own::read(&text, &bank, &rules) {
            Err(Unusable::Rule(fault)) => assert_eq!(fault.field, field, "{text}: {fault:?}"),
            other => panic!("{text}: {other:?}"),
        }
    }
    for text in [
        "",
        "[]",
        "{}",
        "{\"pinfold\":\"rules\"",
        &file(LYING).replace("\"format\":1", "\"format\":2"),
        &with("\"outcome\"", "\"result\""),
        &with("limit\"", "skip\""),
        // A limit with a figure: figures are Pinfold's settings.
        &with(r#"["lying"]"#, r#"[{"needles":1}]"#),
        &with(r#"["lying"]"#, r#"["calm"]"#),
    ] {
        let refused = own::read(text, &bank, &rules);
        assert!(matches!(refused, Err(Unusable::NotRules(_))), "{text}");
    }
    let fact = Fact {
        question: "fainted".into(),
        is: ["yes".into()].to_vec(),
        at_least: None,
        below: None,
        not: false,
    };
    let mut many = own::read(&file(LYING), &bank, &rules).expect("the control");
    many[0].when = [vec![fact; own::MOST_FACTS + 1]].to_vec();
    let refused = own::read(&own::write(&many), &bank, &rules);
    assert!(matches!(refused, Err(Unusable::Rule(f)) if f.field == "rules"));
}
