//! An older build meets what a newer one wrote: it is kept, said in words, and neither corrected nor
//! planned over; what physically happened is written down all the same.

use pinfold_core::atlas::Region;
use pinfold_core::base::date::Date;
use pinfold_core::base::id::EntryId;
use pinfold_core::base::stamp::Wall;
use pinfold_core::event::person::{Answered, Booked, CallKind, Called, Looked, Named, Told, Wrote};
use pinfold_core::event::session::How;
use pinfold_core::intake::{Reason, Reply};
use pinfold_core::journal::{HEADER, Journal, Limits, Reading, Refused};
use pinfold_core::ledger::{ChairCommand, Choice, Command, DeskCommand, Ledger, Refusal};
use pinfold_core::session::OpenItem;
use pinfold_core::words::copies::EN as COPIES;
use pinfold_tests::hand;

const PERSON: &str = "1-00000000000000000000000000000001";
const SESSION: &str = "2-00000000000000000000000000000001";

fn line(n: u32, stream: &str, kind: &str, v: u32, body: &str) -> String {
    // Version 1 is left out, as Pinfold writes it.
    let v = if v == 1 {
        String::new()
    } else {
        format!(r#""v":{v},"#)
    };
    format!(
        r#"{{"id":"{n}-00000000000000000000000000000001","at":{{"wall":{},"mono":{n},"zone":0}},"stream":"{stream}","kind":"{kind}",{v}"body":{body}}}"#,
        1_800_000_000_000_u64 + u64::from(n)
    )
}

/// A person, a chair and a setting; `more` is from elsewhere.
fn ledger(more: &[String]) -> (Ledger, EntryId, EntryId) {
    let mut lines = vec![
        HEADER.to_string(),
        line(
            1,
            &format!("p:{PERSON}"),
            "person.named",
            1,
            r#"{"name":"Reed Warble (invented)"}"#,
        ),
        line(
            2,
            &format!("s:{SESSION}"),
            "session.opened",
            1,
            &format!(r#"{{"mode":"planned","person":"{PERSON}"}}"#),
        ),
    ];
    lines.extend(more.iter().cloned());
    let read = Journal::from_lines(format!("{}\n", lines.join("\n")).as_bytes());
    assert_eq!(read.flaws, [], "every line is an entry");
    let (person, session) = (
        PERSON.parse().expect("an id"),
        SESSION.parse().expect("an id"),
    );
    (Ledger::new(read.journal), person, session)
}

fn acts(ledger: &mut Ledger, command: impl Into<Command>) -> Result<(), Refusal> {
    let facts = ledger.decide(&command.into(), &hand(9, 100_000))?;
    ledger.append(&facts);
    Ok(())
}

fn day() -> Date {
    "2027-01-15".parse().expect("a day")
}

/// What stands of a person and what a plan is made from.
fn planned(person: EntryId) -> Vec<Command> {
    let named = Named {
        name: "Reed Warbler (invented)".into(),
        birth_date: None,
        contact: None,
        came_for: None,
    };
    let booked = Booked {
        at: Wall(1_800_100_000_000),
        minutes: 60,
    };
    let answered = Answered {
        question: "pregnancy".into(),
        reply: Reply::Unknown(Reason::NotKnown),
        date: day(),
        told: Told::Asked,
    };
    vec![
        DeskCommand::Rename(person, named).into(),
        DeskCommand::Book(person, booked).into(),
        DeskCommand::Answer(person, answered).into(),
    ]
}

/// What was seen and done.
fn happened(person: EntryId, session: EntryId) -> Vec<Command> {
    let looked = Looked {
        date: day(),
        text: "a dry patch".into(),
        scores: Vec::new(),
    };
    let wrote = Wrote {
        session,
        marks: "none".into(),
        felt: String::new(),
        otherwise: String::new(),
        told: String::new(),
        done: true,
    };
    let called = Called {
        about: CallKind::Other,
        session: Some(session),
        words: "a bruise".into(),
        told: String::new(),
    };
    let region: Region = "cheek.left".parse().expect("a region");
    vec![
        DeskCommand::Look(person, looked).into(),
        DeskCommand::Write(person, wrote).into(),
        DeskCommand::Call(person, called).into(),
        ChairCommand::Place {
            session,
            region,
            count: 2,
            size: None,
            points: Vec::new(),
            stay: None,
        }
        .into(),
        ChairCommand::TakeOut {
            session,
            region,
            count: 2,
            how: How::Taken,
            first: None,
        }
        .into(),
    ]
}

/// What a newer build may have written: a kind, and a version of a known kind.
fn strange(n: u32, stream: &str, known: &str) -> [String; 2] {
    [
        line(n, stream, "person.sang", 1, r#"{"tune":"x"}"#),
        line(n, stream, known, 7, r#"{"anything":{"at":["all"]}}"#),
    ]
}

#[test]
fn a_person_with_newer_facts_is_read_only_and_what_happened_is_written_down() {
    let (mut control, person, session) = ledger(&[]);
    assert!(!control.person(person).expect("there").read_only());
    for command in planned(person).into_iter().chain(happened(person, session)) {
        acts(&mut control, command).expect("control: without newer facts nothing is refused");
    }
    for newer in strange(3, &format!("p:{PERSON}"), "person.chose") {
        let (mut ledger, person, session) = ledger(std::slice::from_ref(&newer));
        assert!(ledger.person(person).expect("there").read_only());
        for command in planned(person) {
            assert_eq!(
                acts(&mut ledger, command.clone()),
                Err(Refusal::NewerFacts),
                "{command:?}"
            );
        }
        for command in happened(person, session) {
            acts(&mut ledger, command.clone()).unwrap_or_else(|why| panic!("{command:?}: {why:?}"));
        }
        let sum = ledger.session(session).expect("there").state().sum;
        assert_eq!((sum.placed, sum.out), (2, 2), "what happened counts");
        assert!(
            !ledger.session(session).expect("there").state().read_only,
            "the visit is its own"
        );
        let lines = String::from_utf8(ledger.journal().to_lines()).expect("text");
        assert!(lines.lines().any(|line| line == newer), "kept untouched");
        // To erase somebody is a duty of its own.
        acts(&mut ledger, DeskCommand::Erase(person)).expect("erased");
    }
}

#[test]
fn a_damaged_fact_is_no_newer_one() {
    let (ledger, person, _) = ledger(&[line(3, &format!("p:{PERSON}"), "person.booked", 1, "{}")]);
    let person = ledger.person(person).expect("there");
    assert_eq!(
        (person.unread, person.newer, person.read_only()),
        (1, 0, false)
    );
}

#[test]
fn a_choice_between_facts_of_a_person_waits_for_the_newer_build() {
    let name = |n, name: &str| {
        line(
            n,
            &format!("p:{PERSON}"),
            "person.named",
            1,
            &format!(r#"{{"name":"{name}"}}"#),
        )
    };
    let choose = |more: &[String]| {
        let (mut ledger, _, _) = ledger(more);
        let fact = |n: u32| {
            format!("{n}-00000000000000000000000000000001")
                .parse()
                .expect("an id")
        };
        acts(
            &mut ledger,
            DeskCommand::Settle(Choice::Fact(fact(3), vec![fact(4)])),
        )
    };
    let mut more = vec![name(3, "Reed"), name(4, "Sedge")];
    assert_eq!(choose(&more), Ok(()), "control");
    more.push(line(5, &format!("p:{PERSON}"), "person.sang", 1, "{}"));
    assert_eq!(choose(&more), Err(Refusal::NewerFacts));
}

#[test]
fn a_session_with_newer_facts_goes_on_and_is_closed_elsewhere() {
    for newer in strange(3, &format!("s:{SESSION}"), "needle.placed") {
        let (mut ledger, person, session) = ledger(&[newer]);
        for command in happened(person, session) {
            acts(&mut ledger, command).expect("a physical fact is never refused");
        }
        for command in planned(person) {
            acts(&mut ledger, command).expect("the person is read as always");
        }
        let state = ledger.session(session).expect("there").state();
        let open = state.reconcile(None).expect_err("it cannot be closed here");
        assert!(open.contains(&OpenItem::Unreadable));
        let seen = pinfold_core::view::chair::chair(ledger.session(session).expect("there"));
        assert!(!seen.can_undo, "undo rests");
        let said: Vec<&str> = seen
            .flaws
            .iter()
            .map(|kind| pinfold_core::view::flaw::say(&pinfold_core::words::flaw::EN, *kind))
            .collect();
        assert!(
            said.iter().any(|words| words.contains("newer version")),
            "{said:?}"
        );
    }
    let (mut ledger, person, session) = ledger(&[]);
    for command in happened(person, session) {
        acts(&mut ledger, command).expect("control");
    }
    let seen = pinfold_core::view::chair::chair(ledger.session(session).expect("there"));
    assert!(
        seen.can_undo,
        "control: otherwise the last act can be taken back"
    );
}

#[test]
fn a_damaged_fact_is_undone_and_closed_over_in_written_words_and_never_called_newer() {
    use pinfold_core::view::chair::{chair, open_item};
    let damaged = line(
        3,
        &format!("s:{SESSION}"),
        "needle.placed",
        1,
        r#"{"count":"two"}"#,
    );
    let newer = line(
        3,
        &format!("s:{SESSION}"),
        "needle.placed",
        9,
        r#"{"count":"two"}"#,
    );
    let closed = |more: &str, words: Option<&str>| {
        let (mut ledger, _, session) = ledger(&[more.into()]);
        let note = ChairCommand::Note {
            session,
            text: "looked again".into(),
            region: None,
        };
        acts(&mut ledger, note).expect("written down");
        let undone = acts(&mut ledger, ChairCommand::Undo { session });
        let words = words.map(Into::into);
        let done = acts(&mut ledger, ChairCommand::Close { session, words });
        (undone, done, ledger, session)
    };
    let (undone, done, ledger, session) = closed(&damaged, Some("counted the tray again: none"));
    assert_eq!((undone, done), (Ok(()), Ok(())));
    let found = ledger.session(session).expect("there");
    assert!(
        found.state().closed.is_some() && !found.is_open(),
        "the close holds"
    );
    let (undone, done, ledger, session) = closed(&damaged, None);
    assert_eq!(undone, Ok(()));
    assert_eq!(
        done,
        Err(Refusal::StillOpen(vec![OpenItem::Damaged])),
        "in words only"
    );
    let state = ledger.session(session).expect("there").state();
    assert!(state.damaged && !state.read_only);
    assert!(
        !chair(ledger.session(session).expect("there"))
            .flaws
            .is_empty(),
        "and named"
    );
    let said = open_item(&pinfold_core::words::chair::EN, &OpenItem::Damaged);
    assert!(
        said.contains("damaged") && !said.contains("newer"),
        "{said}"
    );
    let (undone, done, ..) = closed(&newer, Some("counted the tray again: none"));
    assert_eq!(
        undone,
        Err(Refusal::NewerFacts),
        "control: what is newer is not"
    );
    assert_eq!(done, Err(Refusal::StillOpen(vec![OpenItem::Unreadable])));
}

#[test]
fn newer_facts_of_the_practice_are_counted() {
    let setting = line(
        3,
        "practice",
        "practice.set",
        1,
        r#"{"name":"seat","value":"head_end"}"#,
    );
    assert_eq!(
        ledger(std::slice::from_ref(&setting)).0.practice().newer(),
        0,
        "control"
    );
    for newer in strange(4, "practice", "practice.set") {
        let (ledger, _, _) = ledger(&[setting.clone(), newer]);
        assert_eq!(ledger.practice().newer(), 1);
        assert_eq!(
            ledger.practice().setting("seat"),
            "head_end",
            "the rest is read"
        );
    }
}

#[test]
fn a_file_of_a_newer_format_is_refused_as_a_whole_with_words() {
    let (ledger, _, _) = ledger(&[]);
    let text = String::from_utf8(ledger.journal().to_lines()).expect("text");
    assert!(
        Reading::whole(text.as_bytes(), Limits::HERE).is_ok(),
        "control"
    );
    let newer = text.replacen("\"format\":1", "\"format\":2", 1);
    let Err(why) = Reading::whole(newer.as_bytes(), Limits::HERE) else {
        panic!("it was taken in");
    };
    assert_eq!(why, Refused::Newer(2));
    let words = COPIES.refused(&why);
    assert!(
        words.contains("newer version") && words.contains("Nothing was changed"),
        "{words}"
    );
}
