//! Copies: what goes out, what a copy is beside what is here, what bringing one in would do, choices
//! between facts that disagree, and erasing.

use pinfold_core::base::id::{EntryId, Replica};
use pinfold_core::base::stamp::Wall;
use pinfold_core::carry::{self, Beside, Part};
use pinfold_core::event::Event;
use pinfold_core::event::person::Named;
use pinfold_core::event::practice::Set;
use pinfold_core::event::session::{How, Incident, IncidentKind};
use pinfold_core::journal::{
    Carried, Entry, Journal, KeyId, Limits, Reading, Scope, Sum, TOMBSTONE,
};
use pinfold_core::ledger::{ChairCommand, Command, DeskCommand, Ledger, Refusal};
use pinfold_core::practice::retention::{EXAMPLES, Until};
use pinfold_core::view::books::Books;
use pinfold_core::words::copies::EN;
use pinfold_tests::check::property;
use pinfold_tests::hand;
use proptest::prelude::*;
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

/// A phone: its journal, and a clock that goes on.
#[derive(Clone)]
struct Phone {
    ledger: Ledger,
    run: u128,
    now: i64,
}

impl Phone {
    fn new(run: u128) -> Self {
        let ledger = Ledger::default();
        Self {
            ledger,
            run,
            now: 0,
        }
    }

    /// The same practice on another phone, or after a new start.
    fn other(&self, run: u128) -> Self {
        Self {
            run,
            ..self.clone()
        }
    }

    fn refused(&mut self, command: impl Into<Command>) -> Result<EntryId, Refusal> {
        self.now += 60_000;
        let facts = self
            .ledger
            .decide(&command.into(), &hand(self.run, self.now))?;
        self.ledger.append(&facts);
        Ok(facts.entries()[0].id)
    }

    fn act(&mut self, command: impl Into<Command>) -> EntryId {
        self.refused(command).expect("decided")
    }

    fn meet(&mut self, name: &str) -> EntryId {
        self.act(DeskCommand::Meet(named(name)))
    }

    fn take(&self, part: Part) -> Option<carry::Taken> {
        carry::take(&self.ledger, part, Wall(1_800_000_000_000 + self.now))
    }

    /// Takes a copy out and writes that down.
    fn copy(&mut self, part: Part) -> Carried {
        let taken = self.take(part).expect("a copy");
        if let Some(made) = taken.made {
            self.act(DeskCommand::CopyMade(made));
        }
        read(&taken.text)
    }

    /// Brings a copy in, as the desk does.
    fn bring(&mut self, carried: &Carried) -> carry::Summary {
        let seen = summary(&self.ledger, carried);
        let _ = self.ledger.merge(&seen.journal).expect("all of it is here");
        if let Some(brought) = seen.brought() {
            self.act(DeskCommand::Brought(brought));
        }
        seen
    }

    fn text(&self) -> String {
        String::from_utf8(self.ledger.journal().to_lines()).expect("text")
    }
}

/// Everything is read in here; what is not is `tests/tests/joined.rs`.
fn all(ledger: &Ledger) -> pinfold_core::ledger::Whole<'_> {
    ledger.whole().expect("all of it is here")
}

fn summary(ledger: &Ledger, carried: &Carried) -> carry::Summary {
    carry::summary(ledger, Beside::of(ledger, carried)).expect("all of it is here")
}

fn check(ledger: &Ledger, carried: &Carried) -> carry::Checked {
    summary(ledger, carried).checked
}

fn disagreements(
    ledger: &Ledger,
    books: Option<&pinfold_core::view::books::Books>,
) -> Vec<carry::Disagreement> {
    carry::disagreements(ledger, books)
}

fn named(name: &str) -> Named {
    Named {
        name: name.into(),
        birth_date: None,
        contact: None,
        came_for: None,
    }
}

fn set(name: &str, value: &str) -> DeskCommand {
    DeskCommand::Set(Set {
        name: name.into(),
        value: value.into(),
        reason: String::new(),
    })
}

fn read(text: &[u8]) -> Carried {
    let read = Reading::whole(text, Limits::HERE).expect("a copy");
    assert!(read.flaws.is_empty() && read.missing() == 0);
    read
}

fn open(person: Option<EntryId>) -> ChairCommand {
    ChairCommand::Open {
        mode: pinfold_core::event::session::Mode::CountOnly,
        person,
        plan: Vec::new(),
        rehearsal: false,
        procedure: None,
    }
}

fn place(session: EntryId, count: u16) -> ChairCommand {
    ChairCommand::Place {
        session,
        region: "cheek.left".parse().expect("a region"),
        count,
        size: None,
        points: Vec::new(),
        stay: None,
    }
}

fn take_out(session: EntryId, count: u16) -> ChairCommand {
    ChairCommand::TakeOut {
        session,
        region: "cheek.left".parse().expect("a region"),
        count,
        how: How::Taken,
        first: None,
    }
}

fn packet(session: EntryId, held: u16, lot: &str) -> ChairCommand {
    ChairCommand::OpenPack {
        session,
        held,
        size: None,
        lot: Some(lot.into()),
    }
}

/// A packet of one lot, its needles in and out, counted and closed.
fn visit(phone: &mut Phone, person: Option<EntryId>, lot: &str) -> EntryId {
    let session = phone.act(open(person));
    phone.act(packet(session, 5, lot));
    phone.act(place(session, 5));
    phone.act(take_out(session, 5));
    close(phone, session);
    session
}

fn close(phone: &mut Phone, session: EntryId) {
    phone.act(ChairCommand::CountStrips {
        session,
        size: None,
        left: 0,
    });
    let state = phone
        .ledger
        .session(session)
        .expect("there")
        .state()
        .clone();
    for demand in pinfold_tests::demands(&state, session) {
        phone.act(demand);
    }
    phone.act(ChairCommand::Close {
        session,
        words: None,
    });
    assert!(
        phone
            .ledger
            .session(session)
            .expect("there")
            .state()
            .closed
            .is_some()
    );
}

// --- scopes ----------------------------------------------------------------------------------------

#[test]
fn each_scope_says_what_it_is_and_holds_that() {
    let mut phone = Phone::new(1);
    let (wren, sedge) = (phone.meet("Wren"), phone.meet("Sedge"));
    phone.act(set("practitioner", "Reed"));
    phone.act(set("practitioner", "Reed Street"));
    visit(&mut phone, Some(wren), "LOT-W");
    visit(&mut phone, Some(sedge), "LOT-S");
    let whole = phone.copy(Part::Whole);
    assert_eq!(whole.header.scope(), Scope::Whole);
    assert_eq!(whole.header.entries, u32::try_from(whole.lines).ok());
    assert!(whole.header.at.is_some());

    let one = phone.copy(Part::Person(wren));
    assert_eq!(
        (one.header.scope(), one.header.person),
        (Scope::Person, Some(wren))
    );
    let text = String::from_utf8(one.journal.to_lines()).expect("text");
    assert!(text.contains("Wren") && text.contains("LOT-W"));
    assert!(!text.contains("Sedge") && !text.contains("LOT-S"));
    assert!(
        text.contains("Reed Street") && !text.contains("\"Reed\""),
        "in force"
    );
    let all = phone.text();
    assert!(
        all.contains("Sedge") && all.contains("\"Reed\""),
        "control: it is there to be left out"
    );
    // It can be read by itself: the same visit comes out of it.
    let alone = Ledger::new(one.journal.clone());
    let sums = |ledger: &Ledger| {
        ledger
            .sessions_of(wren)
            .map(|(_, s)| s.state().sum)
            .collect::<Vec<_>>()
    };
    assert_eq!(sums(&alone), sums(&phone.ledger));
    assert_eq!(sums(&alone).len(), 1);

    assert!(
        phone.take(Part::Procedures).expect("a file").made.is_none(),
        "no copy of the practice"
    );
    assert!(
        phone
            .take(Part::Person(EntryId {
                counter: 99,
                replica: Replica(9)
            }))
            .is_none()
    );
}

#[test]
fn what_came_since_the_last_copy_is_all_that_it_lacks() {
    let mut phone = Phone::new(1);
    phone.meet("Wren");
    assert!(phone.take(Part::Since).is_none(), "there is no copy yet");
    let first = phone.copy(Part::Whole);
    phone.meet("Sedge");
    let second = phone.copy(Part::Since);
    phone.meet("Rush");
    let third = phone.copy(Part::Since);
    assert!(second.journal.len() < first.journal.len() + 2 && third.journal.len() == 2);
    let mut again = first.journal.clone();
    again.merge(&second.journal);
    assert_ne!(
        again.len() + 1,
        phone.ledger.journal().len(),
        "control: the third is needed"
    );
    again.merge(&third.journal);
    // All but the note that the last copy was made.
    assert_eq!(again.len() + 1, phone.ledger.journal().len());
    let checked = check(&phone.ledger, &second);
    assert_eq!(checked.continues, Some(true));
    assert_eq!(check(&Ledger::default(), &second).continues, Some(false));

    // An older fact comes from elsewhere: then it cannot be told any more, and all has to go out.
    let mut other = Phone::new(2);
    other.meet("Teasel");
    let theirs = other.copy(Part::Whole);
    phone.bring(&theirs);
    assert!(phone.take(Part::Since).is_none());
    let last = phone.ledger.practice().last_copy().expect("one");
    assert_eq!(last.brought, 1);
    assert!(EN.age(3, last.brought).contains("not in it"));
    phone.copy(Part::Whole);
    assert!(
        phone.take(Part::Since).is_some(),
        "control: after a whole copy it can"
    );
}

#[test]
fn what_is_in_no_copy_is_never_left_out_of_the_next() {
    let step = prop_oneof![Just(0_u8), Just(1), Just(2), Just(3), Just(4)];
    let lost = std::cell::Cell::new((0_u32, 0_u32));
    property(
        "since the last copy",
        300,
        &prop::collection::vec((any::<bool>(), step), 1..30),
        |steps| {
            let mut phones = [Phone::new(1), Phone::new(2)];
            let mut copies = [Journal::new(), Journal::new()];
            for (which, step) in steps {
                let (here, there) = (usize::from(which), usize::from(!which));
                match step {
                    0 | 1 => {
                        phones[here].meet("Wren");
                    }
                    2 => {
                        let theirs = read(&phones[there].take(Part::Whole).expect("all").text);
                        phones[here].bring(&theirs);
                    }
                    _ => {
                        // The copies of one phone, laid on one pile.
                        let part = if phones[here].take(Part::Since).is_some() && step == 3 {
                            Part::Since
                        } else {
                            Part::Whole
                        };
                        let before = phones[here].ledger.journal().clone();
                        let copy = phones[here].copy(part);
                        let (since, all) = lost.get();
                        lost.set((since + u32::from(part == Part::Since), all + 1));
                        copies[here].merge(&copy.journal);
                        // What a part goes on from may lie on the other pile: it was merged here with its note.
                        if part == Part::Since {
                            let other = copies[there].clone();
                            copies[here].merge(&other);
                        }
                        for text in before.texts() {
                            prop_assert!(copies[here].holds(text), "{} is in no copy", text.id);
                        }
                    }
                }
            }
            Ok(())
        },
    );
    let (since, all) = lost.get();
    println!("  {since} of {all} copies were parts");
    assert!(since > 50, "control: parts were taken");
}

// --- checking --------------------------------------------------------------------------------------

#[test]
fn a_copy_is_compared_and_nothing_is_changed() {
    let mut phone = Phone::new(1);
    let wren = phone.meet("Wren");
    let copy = phone.copy(Part::Whole);
    let after = phone.meet("Sedge");
    let mut other = phone.other(2);
    other.meet("Rush");
    let theirs = read(&other.take(Part::Whole).expect("all").text);
    let before = phone.text();
    let old = check(&phone.ledger, &copy);
    // The note on the copy and Sedge came after it.
    assert_eq!(
        (old.entries, old.here, old.new, old.differ, old.lacking),
        (1, 1, 0, 0, 2)
    );
    let last = phone.ledger.journal().get(after).expect("there").at.wall;
    assert_eq!(old.last_lacking, Some(last));
    assert!(
        EN.lacking(old.lacking, "14:05")
            .contains("lacks 2 facts that are here, the last of 14:05")
    );
    let new = check(&phone.ledger, &theirs);
    assert_eq!(
        (new.entries, new.here, new.new, new.differ, new.lacking),
        (4, 3, 1, 0, 0)
    );
    // The same name with another text.
    let spoilt = String::from_utf8(other.take(Part::Whole).expect("all").text).expect("text");
    let spoilt = read(spoilt.replace("Wren", "Wran").as_bytes());
    let differs = check(&phone.ledger, &spoilt);
    assert_eq!(
        (
            differs.entries,
            differs.here,
            differs.new,
            differs.differ,
            differs.lacking
        ),
        (4, 2, 1, 1, 1)
    );
    assert_eq!(phone.text(), before);
    // A file whose end is missing says so by its own count.
    let whole = other.take(Part::Whole).expect("all").text;
    let cut = &whole[..whole.len() * 2 / 3];
    let cut = Reading::whole(cut, Limits::HERE).expect("its beginning");
    assert!(cut.missing() > 0 && check(&phone.ledger, &cut).missing == cut.missing());
    let _ = wren;
}

// --- bringing in -----------------------------------------------------------------------------------

/// The toy: a set of names and texts.
type Toy = BTreeSet<(EntryId, String)>;

fn toy(journal: &Journal) -> Toy {
    journal
        .texts()
        .map(|text| (text.id, text.to_line()))
        .collect()
}

fn any_text() -> impl Strategy<Value = Entry> {
    (1..7_u64, 0..2_u128, 0..3_u8, 0..6_u8).prop_map(|(counter, run, body, kind)| {
        let id = EntryId { counter, replica: Replica(run) };
        let kind = ["note", "needle.sang", "practice.set", "person.named", "copy.brought", "settled"][usize::from(kind)];
        let line = format!(
            r#"{{"id":"{id}","at":{{"wall":{counter},"mono":0,"zone":0}},"stream":"practice","kind":"{kind}","body":{{"name":"{body}","value":"{body}","text":"{body}"}}}}"#
        );
        Entry::from_line(&line).expect("an entry")
    })
}

fn carried(entries: &[Entry]) -> Carried {
    let mut journal = Journal::new();
    for entry in entries {
        let _ = journal.insert(entry.clone());
    }
    read(&journal.to_lines())
}

fn brought(ledger: &Ledger, copy: &Carried) -> Ledger {
    let mut after = ledger.clone();
    let _ = after
        .merge(&summary(ledger, copy).journal)
        .expect("all of it is here");
    after
}

#[test]
fn bringing_in_is_a_union_of_sets() {
    let some = || prop::collection::vec(any_text(), 0..12);
    let rivals = std::cell::Cell::new(0_u32);
    property(
        "bringing copies in",
        1_000,
        &(some(), some(), some()),
        |(a, b, c)| {
            let here = Ledger::new(carried(&a).journal);
            let (b, c) = (carried(&b), carried(&c));
            let seen = summary(&here, &b);
            let one = brought(&here, &b);
            // Against the toy: a plain set.
            let union: Toy = toy(here.journal())
                .union(&toy(&b.journal))
                .cloned()
                .collect();
            prop_assert_eq!(toy(one.journal()), union.clone());
            prop_assert_eq!(
                seen.checked.new + seen.checked.differ,
                union.len() - toy(here.journal()).len()
            );
            prop_assert_eq!(
                seen.checked.here,
                toy(here.journal()).intersection(&toy(&b.journal)).count()
            );
            prop_assert_eq!(seen.nothing_new(), one.journal() == here.journal());
            rivals.set(rivals.get() + u32::from(seen.checked.differ > 0));
            // Again, in another order, in other groups.
            let again = brought(&one, &b);
            prop_assert_eq!(again.journal(), one.journal(), "idempotent");
            let other = brought(&Ledger::new(b.journal.clone()), &carried(&a));
            prop_assert_eq!(other.journal(), one.journal(), "commutative");
            let both = brought(&Ledger::new(b.journal.clone()), &c);
            let left = brought(&one, &c);
            let right = brought(&here, &read(&both.journal().to_lines()));
            prop_assert_eq!(left.journal(), right.journal(), "associative");
            Ok(())
        },
    );
    assert!(
        rivals.get() > 100,
        "control: texts disagreed in {} cases",
        rivals.get()
    );
    // Control: a merge where the newcomer wins is seen by the same comparison.
    let (a, b) = (any_pair().0, any_pair().1);
    let last_wins = |first: &Entry, second: &Entry| {
        let mut map = BTreeMap::new();
        map.insert(first.id, first.to_line());
        map.insert(second.id, second.to_line());
        map
    };
    assert_ne!(last_wins(&a, &b), last_wins(&b, &a));
}

fn any_pair() -> (Entry, Entry) {
    let line = |text: &str| {
        let line = format!(
            r#"{{"id":"1-00000000000000000000000000000001","at":{{"wall":1,"mono":0,"zone":0}},"stream":"practice","kind":"note","body":{{"text":"{text}"}}}}"#
        );
        Entry::from_line(&line).expect("an entry")
    };
    (line("a"), line("b"))
}

#[test]
fn a_summary_says_what_would_come_and_which_counts_would_open_again() {
    let mut phone = Phone::new(1);
    let wren = phone.meet("Wren");
    let session = phone.act(open(Some(wren)));
    phone.act(packet(session, 2, "L"));
    phone.act(place(session, 2));
    let mut other = phone.other(2);
    // Here it is counted out and closed; there one needle more went in, and somebody new came.
    phone.act(take_out(session, 2));
    close(&mut phone, session);
    other.act(place(session, 1));
    other.meet("Sedge");
    other.act(set("emergency_number", "999"));
    let theirs = read(&other.take(Part::Whole).expect("all").text);
    let before = phone.text();
    let seen = summary(&phone.ledger, &theirs);
    assert_eq!(phone.text(), before, "nothing is changed by looking");
    assert_eq!(seen.people, ["Sedge"]);
    let reopened: Vec<_> = seen
        .reopens
        .iter()
        .map(|r| (r.session, r.name.as_str()))
        .collect();
    assert_eq!(reopened, [(session, "Wren")]);
    let new: BTreeMap<&str, u32> = seen.new.iter().copied().collect();
    assert_eq!(new.get("needles in and out"), Some(&1));
    assert_eq!(new.get("names and how to reach them"), Some(&1));
    assert_eq!(seen.changes.len(), 1);
    assert_eq!(seen.changes[0].after, "999");
    assert!(
        phone
            .ledger
            .session(session)
            .expect("there")
            .state()
            .closed
            .is_some(),
        "control"
    );
    phone.bring(&theirs);
    let state = phone.ledger.session(session).expect("there").state();
    assert!(
        state.reopened && state.closed.is_none(),
        "a fact merged into a closed session opens it"
    );
    assert!(summary(&phone.ledger, &theirs).nothing_new());
    assert!(
        summary(&phone.ledger, &theirs).reopens.is_empty(),
        "only what was closed"
    );
}

/// Who was erased elsewhere is not erased out of the chair: the count could not be finished any more.
#[test]
fn nobody_is_erased_out_of_an_open_chair_by_a_copy() {
    for nameless in [false, true] {
        let mut phone = Phone::new(1);
        let wren = phone.meet("Wren");
        // Begun before anybody said whose it is, or with the name.
        let session = phone.act(open((!nameless).then_some(wren)));
        if nameless {
            phone.act(ChairCommand::Join {
                session,
                person: wren,
            });
        }
        let mut other = phone.other(2);
        other.act(DeskCommand::Erase(wren));
        let theirs = read(&other.take(Part::Whole).expect("all").text);
        let whose = |phone: &Phone| summary(&phone.ledger, &theirs).at_chair;
        assert!(whose(&phone).is_empty(), "control: there is nothing in");
        phone.act(packet(session, 2, "L"));
        phone.act(place(session, 2));
        assert_eq!(whose(&phone), ["Wren"]);
        assert_eq!(carry::at_chair(&phone.ledger, &theirs.journal), ["Wren"]);
        let mut done = phone.clone();
        done.ledger
            .merge(&theirs.journal)
            .expect("all of it is here");
        let state = done.ledger.session(session).expect("there").state();
        assert!(
            state.erased && done.ledger.open_sessions().next().is_none(),
            "control: brought in all the same, the chair is gone"
        );
        phone.act(take_out(session, 2));
        close(&mut phone, session);
        assert!(whose(&phone).is_empty(), "nothing is in any more");
        assert_eq!(summary(&phone.ledger, &theirs).erases, ["Wren"]);
    }
}

#[test]
fn settings_of_a_record_handed_over_are_left_out() {
    let mut other = Phone::new(2);
    let wren = other.meet("Wren");
    other.act(set("emergency_number", "999"));
    let theirs = read(&other.take(Part::Person(wren)).expect("one").text);
    let mut phone = Phone::new(1);
    assert_eq!(
        summary(&phone.ledger, &theirs).changes.len(),
        1,
        "control: where nothing is set they come along"
    );
    phone.act(set("emergency_number", "000"));
    let seen = phone.bring(&theirs);
    assert_eq!((seen.left_out, seen.changes.len()), (1, 0));
    assert_eq!(phone.ledger.practice().setting("emergency_number"), "000");
    assert_eq!(phone.ledger.person(wren).expect("there").name(), "Wren");
}

#[test]
fn two_phones_that_tell_each_other_come_to_rest() {
    let mut one = Phone::new(1);
    one.meet("Wren");
    let mut two = Phone::new(2);
    two.meet("Sedge");
    for _ in 0..3 {
        let copy = read(&one.take(Part::Whole).expect("all").text);
        two.bring(&copy);
        let copy = read(&two.take(Part::Whole).expect("all").text);
        one.bring(&copy);
    }
    let copy = read(&one.take(Part::Whole).expect("all").text);
    assert!(summary(&two.ledger, &copy).nothing_new());
    assert_eq!(one.text(), two.text());
}

// --- disagreeing -----------------------------------------------------------------------------------

/// Two phones that gave a person another name each, and one that has both.
fn two_names() -> (Phone, EntryId) {
    let mut phone = Phone::new(1);
    let wren = phone.meet("Wren");
    let mut other = phone.other(2);
    phone.act(DeskCommand::Rename(wren, named("Wren Ford")));
    other.act(DeskCommand::Rename(wren, named("Wren Marsh")));
    other.act(DeskCommand::Rename(wren, named("Wren Moor")));
    let theirs = read(&other.take(Part::Whole).expect("all").text);
    let seen = phone.bring(&theirs);
    assert_eq!(seen.differ.len(), 1);
    (phone, wren)
}

#[test]
fn what_two_phones_say_otherwise_is_listed_until_somebody_chose() {
    let books = Books::load().expect("sound");
    let (mut phone, wren) = two_names();
    let name = |phone: &Phone| phone.ledger.person(wren).expect("there").name().to_string();
    assert_eq!(name(&phone), "Wren Moor", "the last word stands");
    let open = disagreements(&phone.ledger, Some(&books));
    assert_eq!(open.len(), 1);
    let sides: Vec<(&str, bool)> = open[0]
        .sides
        .iter()
        .map(|s| (s.words.as_str(), s.stands))
        .collect();
    assert_eq!(sides, [("Wren Ford", false), ("Wren Moor", true)]);
    let before = phone.clone();
    phone.act(open[0].sides[0].choose.clone());
    assert_eq!(name(&phone), "Wren Ford");
    assert!(disagreements(&phone.ledger, Some(&books)).is_empty());
    // The choice is a fact: it comes along, in whichever order.
    let chosen = read(&phone.take(Part::Whole).expect("all").text);
    let mut other = before.clone();
    other.bring(&chosen);
    assert_eq!(name(&other), "Wren Ford");
    let mut back = Ledger::new(chosen.journal.clone());
    let _ = back
        .merge(before.ledger.journal())
        .expect("all of it is here");
    assert_eq!(back.person(wren).expect("there").name(), "Wren Ford");
    // A later word stands over any choice, and another choice over the first.
    let again = open[0].sides[1].choose.clone();
    phone.act(again);
    assert_eq!(name(&phone), "Wren Moor");
    phone.act(DeskCommand::Rename(wren, named("Wren Brook")));
    assert_eq!(name(&phone), "Wren Brook");
    // Control: what one phone says one after the other, and what the other knew, is no disagreement.
    let mut one = Phone::new(1);
    let wren = one.meet("Wren");
    let first = read(&one.take(Part::Whole).expect("all").text);
    let mut two = Phone::new(2);
    two.bring(&first);
    two.act(DeskCommand::Rename(wren, named("Wren Marsh")));
    let seen = one.bring(&read(&two.take(Part::Whole).expect("all").text));
    assert!(seen.differ.is_empty() && disagreements(&one.ledger, None).is_empty());
}

#[test]
fn two_texts_of_one_name_two_totals_and_two_closes_are_listed_too() {
    let mut phone = Phone::new(1);
    let wren = phone.meet("Wren");
    let session = phone.act(open(Some(wren)));
    phone.act(place(session, 5));
    let mut other = phone.other(2);
    phone.act(take_out(session, 5));
    other.act(take_out(session, 4));
    other.act(take_out(session, 1));
    let spoilt = other.text().replace("\"Wren\"", "\"Wran\"");
    phone.bring(&read(spoilt.as_bytes()));
    let open = disagreements(&phone.ledger, None);
    let titles: Vec<&str> = open.iter().map(|d| d.title.as_str()).collect();
    assert_eq!(titles.len(), 2, "{titles:?}");
    assert!(titles[0].contains("names") && titles[1].contains("one round, entered twice"));
    let standing = open[0]
        .sides
        .iter()
        .position(|s| s.stands)
        .expect("one stands");
    phone.act(open[0].sides[1 - standing].choose.clone());
    let other_name = phone.ledger.person(wren).expect("there").name().to_string();
    assert_eq!(other_name, open[0].sides[1 - standing].words);
    phone.act(open[1].sides[0].choose.clone());
    assert!(disagreements(&phone.ledger, None).is_empty());

    let mut phone = Phone::new(1);
    let session = phone.act(self::open(None));
    let mut other = phone.other(2);
    phone.act(ChairCommand::Close {
        session,
        words: None,
    });
    other.act(ChairCommand::Close {
        session,
        words: Some("closed on the other phone".into()),
    });
    phone.bring(&read(&other.take(Part::Whole).expect("all").text));
    let open = disagreements(&phone.ledger, None);
    assert_eq!(open.len(), 1);
    assert!(open[0].title.contains("closed counts"));
    phone.act(open[0].sides[0].choose.clone());
    assert!(disagreements(&phone.ledger, None).is_empty());
    assert!(
        phone
            .ledger
            .session(session)
            .expect("there")
            .state()
            .closed
            .is_some()
    );
}

#[test]
fn choices_commute_with_merges() {
    // Three phones say and choose at random and are merged in another order: the same stands.
    let step = (0..3_usize, 0..5_u8, 0..3_usize);
    let chosen = std::cell::Cell::new(0_u32);
    property(
        "choices and merges",
        300,
        &prop::collection::vec(step, 10..40),
        |steps| {
            let mut first = Phone::new(9);
            let wren = first.meet("Wren");
            let mut phones = [first.other(1), first.other(2), first.other(3)];
            for (n, (which, step, other)) in steps.into_iter().enumerate() {
                match step {
                    0 | 1 => {
                        phones[which].act(DeskCommand::Rename(wren, named(&format!("Wren {n}"))));
                    }
                    2 => {
                        let copy = read(&phones[other].take(Part::Whole).expect("all").text);
                        phones[which].bring(&copy);
                    }
                    _ => {
                        let open = disagreements(&phones[which].ledger, None);
                        if let Some(one) = open.first() {
                            let side = &one.sides[n % one.sides.len()];
                            phones[which].act(side.choose.clone());
                            chosen.set(chosen.get() + 1);
                            let name = phones[which]
                                .ledger
                                .person(wren)
                                .expect("there")
                                .name()
                                .to_string();
                            prop_assert_eq!(&name, &side.words, "what was chosen stands");
                        }
                    }
                }
            }
            let merged = |order: [usize; 3]| {
                let mut ledger = Ledger::default();
                for at in order {
                    let _ = ledger
                        .merge(phones[at].ledger.journal())
                        .expect("all of it is here");
                }
                let said = disagreements(&ledger, None).len();
                (ledger.person(wren).expect("there").clone(), said)
            };
            let one = merged([0, 1, 2]);
            prop_assert_eq!(&one, &merged([2, 0, 1]));
            prop_assert_eq!(&one, &merged([1, 2, 0]));
            Ok(())
        },
    );
    println!("  {} choices were made", chosen.get());
    assert!(chosen.get() > 50, "control: there was something to choose");
}

// --- erasing ---------------------------------------------------------------------------------------

#[test]
fn erasing_leaves_numbers_and_a_tombstone() {
    let mut phone = Phone::new(1);
    let (wren, sedge) = (phone.meet("Wren"), phone.meet("Sedge"));
    let session = visit(&mut phone, Some(wren), "LOT-W");
    phone.act(ChairCommand::Incident {
        session,
        what: Incident {
            kind: IncidentKind::Bruise,
            region: None,
            point: None,
            words: "PRIVATE WORDS".into(),
        },
    });
    close(&mut phone, session);
    // A chair that was opened before anybody said whose it was.
    let before = phone.act(open(None));
    phone.act(ChairCommand::Note {
        session: before,
        text: "PRIVATE NOTE".into(),
        region: None,
    });
    phone.act(ChairCommand::Join {
        session: before,
        person: wren,
    });
    let kept = visit(&mut phone, Some(sedge), "LOT-S");
    // Needles in: refused, and nothing is written.
    phone.act(place(before, 1));
    let text = phone.text();
    assert_eq!(
        phone.refused(DeskCommand::Erase(wren)),
        Err(Refusal::NeedlesIn(before))
    );
    assert_eq!(phone.text(), text);
    phone.act(take_out(before, 1));
    for private in ["\"Wren\"", "PRIVATE WORDS", "PRIVATE NOTE"] {
        assert!(
            phone.text().contains(private),
            "control: {private} is there"
        );
    }
    let old = read(&phone.take(Part::Whole).expect("all").text);
    let left = phone.ledger.residue(wren);
    assert_eq!(
        (left.lots.len(), left.lots[0].packets, left.lots[0].needles),
        (1, 1, 5)
    );
    assert_eq!(left.incidents, [(IncidentKind::Bruise, 1)]);
    let first = phone.act(DeskCommand::Erase(wren));
    let text = phone.text();
    for private in ["\"Wren\"", "PRIVATE WORDS", "PRIVATE NOTE"] {
        assert!(!text.contains(private), "{private}");
    }
    // The numbers come first, under the practice's key, and nothing in them leads to the person.
    let residue = phone.ledger.journal().get(first).expect("there");
    assert_eq!(
        (residue.kind.as_str(), residue.key, residue.act),
        ("residue", KeyId::Practice, None)
    );
    assert!(matches!(Event::read(residue), Ok(Event::Residue(r)) if r == left));
    let line = residue.to_line();
    for id in [wren, session, before] {
        assert!(!line.contains(&id.to_string()), "{line}");
    }
    assert!(line.contains("LOT-W"));
    let tomb = phone
        .ledger
        .journal()
        .iter()
        .find(|e| e.kind == TOMBSTONE)
        .expect("a tombstone");
    assert!(tomb.id > first && tomb.act.is_none());
    // No chair of theirs is left open, and everybody else is as they were.
    assert_eq!(phone.ledger.open_sessions().count(), 0);
    assert!(phone.ledger.person(wren).expect("the stream").erased);
    assert!(
        phone
            .ledger
            .session(kept)
            .expect("there")
            .state()
            .closed
            .is_some()
    );
    assert_eq!(phone.ledger.person(sedge).expect("there").name(), "Sedge");
    // An older copy still holds it, brings nothing back, and says so.
    let seen = summary(&phone.ledger, &old);
    assert!(seen.checked.erased > 0 && seen.nothing_new() && seen.people.is_empty());
    phone.bring(&old);
    assert!(!phone.text().contains("PRIVATE") && !phone.text().contains("\"Wren\""));
    // On a phone that has them, the copy says that it would erase them.
    let mut other = Phone::new(2);
    other.bring(&old);
    let now = read(&phone.take(Part::Whole).expect("all").text);
    assert_eq!(summary(&other.ledger, &now).erases, ["Wren"]);
    other.bring(&now);
    assert!(!other.text().contains("PRIVATE"));
}

#[test]
fn a_tombstone_holds_through_every_merge_and_every_older_copy() {
    let back = std::cell::Cell::new(0_u32);
    let order = prop::collection::vec((0..4_usize, any::<bool>()), 1..12);
    property("tombstones and copies", 500, &order, |order| {
        let mut phone = Phone::new(1);
        let wren = phone.meet("Wren PRIVATE");
        let mut copies = vec![phone.take(Part::Whole).expect("all").text];
        let session = phone.act(open(Some(wren)));
        phone.act(ChairCommand::Note {
            session,
            text: "PRIVATE".into(),
            region: None,
        });
        copies.push(phone.take(Part::Person(wren)).expect("one").text);
        let mut other = phone.other(2);
        other.act(DeskCommand::Rename(wren, named("PRIVATE too")));
        copies.push(other.take(Part::Whole).expect("all").text);
        phone.act(DeskCommand::Erase(wren));
        copies.push(phone.take(Part::Whole).expect("all").text);
        let tombless = |journal: &Journal| {
            let text = String::from_utf8(journal.to_lines()).expect("text");
            let lines: Vec<&str> = text
                .lines()
                .filter(|line| !line.contains(TOMBSTONE))
                .collect();
            Journal::from_lines(lines.join("\n").as_bytes()).journal
        };
        let mut without = Ledger::new(tombless(phone.ledger.journal()));
        for (which, merged) in order {
            let copy = read(&copies[which]);
            if merged {
                // Turned round: the old copy takes in what is here.
                let mut old = Ledger::new(copy.journal.clone());
                let _ = old
                    .merge(phone.ledger.journal())
                    .expect("all of it is here");
                phone.ledger = old;
            } else {
                phone.bring(&copy);
            }
            prop_assert!(!phone.text().contains("PRIVATE"), "it came back");
            let _ = without
                .merge(&tombless(&copy.journal))
                .expect("all of it is here");
        }
        let text = String::from_utf8(without.journal().to_lines()).expect("text");
        back.set(back.get() + u32::from(text.contains("PRIVATE")));
        Ok(())
    });
    println!(
        "  without the tombstone it came back in {} cases",
        back.get()
    );
    assert!(
        back.get() > 300,
        "control: without the tombstone it comes back"
    );
}

// --- how long --------------------------------------------------------------------------------------

#[test]
fn records_past_their_period_are_listed() {
    let mut phone = Phone::new(1);
    let wren = phone.act(DeskCommand::Meet(Named {
        birth_date: "2010-06-01".parse().ok(),
        ..named("Wren")
    }));
    phone.act(DeskCommand::Meet(Named {
        birth_date: "1980-06-01".parse().ok(),
        ..named("Sedge")
    }));
    phone.meet("Rush");
    visit(&mut phone, Some(wren), "L");
    let past = |phone: &Phone, day: &str| {
        let day = day.parse().expect("a day");
        let past = carry::past(all(&phone.ledger), day, 60);
        past.into_iter()
            .map(|p| (p.name, p.until))
            .collect::<Vec<_>>()
    };
    assert!(
        past(&phone, "2100-01-01").is_empty(),
        "no period was chosen"
    );
    let tx = EXAMPLES.iter().find(|e| e.id == "tx").expect("an example");
    for set in tx.keep.settings() {
        phone.act(DeskCommand::Set(set));
    }
    // Everything here is of 2027-01-15. Wren is 16 then: the 21st birthday is not the later.
    assert!(past(&phone, "2032-01-15").is_empty());
    let day = "2032-01-15".parse().expect("a day");
    assert_eq!(
        past(&phone, "2032-01-16"),
        [
            ("Wren".to_string(), Until::Day(day)),
            ("Sedge".to_string(), Until::Day(day)),
            ("Rush".to_string(), Until::AtLeast(day)),
        ]
    );
    let booked = pinfold_core::event::person::Booked {
        at: Wall(2_000_000_000_000),
        minutes: 60,
    };
    phone.act(DeskCommand::Book(wren, booked));
    assert_eq!(
        past(&phone, "2032-01-16").len(),
        2,
        "somebody who comes again is not past it"
    );
}

#[test]
fn the_fifth_log_still_holds_a_choice_and_what_is_left() {
    let bytes = fs::read(Path::new(env!("CARGO_MANIFEST_DIR")).join("logs/carried.journal"))
        .expect("the log");
    let ledger = Ledger::new(Journal::from_lines(&bytes).journal);
    let (_, person) = all(&ledger).people().next().expect("a person");
    let answer = person.answers.get("pregnant").expect("answered");
    assert!(
        matches!(answer.reply, pinfold_core::intake::Reply::Known(_)),
        "the one that was chosen"
    );
    let last = ledger.practice().last_copy().expect("a copy");
    assert_eq!(
        (
            last.made.scope,
            last.made.covers.entries,
            last.made.covers.sum
        ),
        (Scope::Since, 10, Sum(u64::MAX))
    );
}
