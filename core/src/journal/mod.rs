//! L3. The generic log: envelopes, order, identity, merge and damage. It knows two kinds of fact only:
//! the tombstone, because erasing must hold whatever else is understood, and the choice between two
//! texts of one id, because it decides which of them is folded.
//!
//! A journal is a set of entries by id. Merging is the union of sets, so it may be done in any
//! order and any number of times. Nothing is ever removed: an id with two different texts keeps
//! both and is named as damage; a line that cannot be read is kept as it stands.

pub mod entry;
mod header;
mod lines;
pub mod pack;
mod reading;
mod sum;

pub use entry::{Entry, KeyId, SETTLED, TOMBSTONE};
pub use header::{Covered, Header, Scope};
pub use lines::{HEADER, LineFlaw, LineTrouble, MAX_LINE, ReadLines};
pub use reading::{COUNTER_BROUGHT, Carried, Limit, Limits, Reading, Refused};
pub use sum::{BadSum, Sum};

use crate::base::id::{COUNTER_MAX, EntryId, Replica, Stream};
use crate::base::stamp::Wall;
use crate::base::{flat, paged};
use alloc::string::String;
use alloc::vec::Vec;

/// What is wrong with a journal. Every flaw leaves the rest readable.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Damage {
    /// Two different texts claim one id. Both are kept; the one that was chosen is folded, or the one
    /// that sorts first.
    Rivals(EntryId),
    /// A line that is no entry. Kept and written out again as it stands.
    Unreadable(String),
}

/// What an insertion changed.
#[must_use]
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Inserted {
    /// A fact not known before.
    New,
    /// The same id and the same text: nothing changed.
    Same,
    /// The same id and another text: both are kept.
    Rival,
}

/// The append-only set of entries.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Journal {
    entries: paged::Map<EntryId, Entry>,
    rivals: paged::Map<EntryId, paged::Map<Entry, ()>>,
    unreadable: paged::Map<String, ()>,
    // As many as people were erased.
    tombs: flat::Set<KeyId>,
    // Sessions that were theirs from before anybody said so.
    buried: flat::Set<Stream>,
    // Every word ever said on which of two texts stands: of which id, by which fact, which text.
    choices: flat::Set<(EntryId, EntryId, Sum)>,
    streams: paged::Map<(Stream, EntryId), ()>,
    latest: Option<Wall>,
    /// The greatest counter of entries that are kept elsewhere and are not here.
    floor: u64,
}

impl Journal {
    /// An empty journal.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds one entry. Takes any entry in any order.
    pub fn insert(&mut self, entry: Entry) -> Inserted {
        if let Some(tomb) = entry.tomb() {
            self.bury(tomb.key, &tomb.streams);
        }
        let entry = if self.erased(&entry) {
            entry.without_body()
        } else {
            entry
        };
        if let Some((of, text)) = entry.chooses()
            && self.choices.insert((of, entry.id, text))
        {
            self.stand(of);
        }
        let id = entry.id;
        self.latest = self.latest.max(Some(entry.at.wall));
        let Some(known) = self.entries.get(&id) else {
            self.streams.insert((entry.stream, id), ());
            self.entries.insert(id, entry);
            return Inserted::New;
        };
        if *known == entry {
            return Inserted::Same;
        }
        if let Some(rivals) = self.rivals.get_mut(&id) {
            if rivals.get(&entry).is_some() {
                return Inserted::Same;
            }
            rivals.insert(entry, ());
        } else {
            let mut both = paged::Map::default();
            both.insert(known.clone(), ());
            both.insert(entry, ());
            self.rivals.insert(id, both);
        }
        self.stand(id);
        Inserted::Rival
    }

    /// Which of two texts of one id stands: the one chosen last, or the least of them, so that it does
    /// not depend on who came first.
    fn stand(&mut self, id: EntryId) {
        let (Some(rivals), Some(known)) = (self.rivals.get(&id), self.entries.get(&id)) else {
            return;
        };
        let chosen = self.choices.iter().rev().filter(|(of, _, _)| *of == id);
        let chosen = chosen
            .filter_map(|(_, _, text)| rivals.keys().find(|r| Sum::of(&r.to_line()) == *text))
            .next();
        let Some(stands) = chosen.or_else(|| rivals.keys().next()).cloned() else {
            return;
        };
        self.streams.remove(&(known.stream, id));
        self.streams.insert((stands.stream, id), ());
        self.entries.insert(id, stands);
    }

    /// The texts of every id that has more than one, and whether one of them was chosen.
    pub fn rivals(&self) -> impl Iterator<Item = (EntryId, impl Iterator<Item = &Entry>, bool)> {
        self.rivals.iter().map(|(&id, texts)| {
            let is = |text: &Sum| texts.keys().any(|r| Sum::of(&r.to_line()) == *text);
            let chosen = |(of, _, text): &(EntryId, EntryId, Sum)| *of == id && is(text);
            (id, texts.keys(), self.choices.iter().any(chosen))
        })
    }

    /// An entry as it would stand here: without its body, if that was erased.
    #[must_use]
    pub fn admitted(&self, entry: &Entry) -> Entry {
        let entry = entry.clone();
        if self.erased(&entry) {
            entry.without_body()
        } else {
            entry
        }
    }

    /// Every text of one id.
    pub fn texts_of(&self, id: EntryId) -> impl Iterator<Item = &Entry> {
        let one = self.get(id);
        let beside = self.beside(id);
        let one_of = one.into_iter();
        one_of.chain(beside.filter(move |rival| Some(*rival) != one))
    }

    fn beside(&self, id: EntryId) -> impl Iterator<Item = &Entry> {
        self.rivals
            .get(&id)
            .into_iter()
            .flat_map(|texts| texts.keys())
    }

    /// The first id that nobody can have written yet.
    #[must_use]
    pub fn free(&self) -> EntryId {
        self.next_id(Replica(0))
    }

    /// Whether this very text is here, standing or beside another.
    #[must_use]
    pub fn holds(&self, entry: &Entry) -> bool {
        let beside = || {
            self.rivals
                .get(&entry.id)
                .is_some_and(|r| r.get(entry).is_some())
        };
        self.get(entry.id) == Some(entry) || beside()
    }

    /// The part of it that `keep` wants, with all texts of an id or none. Tombstones always come along:
    /// what was erased must not come back by way of a part.
    #[must_use]
    pub fn part(&self, keep: &dyn Fn(&Entry) -> bool) -> Self {
        let mut part = Self::new();
        for entry in self.entries.values() {
            if keep(entry) || entry.erases().is_some() {
                let _ = part.insert(entry.clone());
                for rival in self.beside(entry.id) {
                    let _ = part.insert(rival.clone());
                }
            }
        }
        part
    }

    /// Every text: entries with their rivals, causes before effects.
    pub fn texts(&self) -> impl Iterator<Item = &Entry> {
        self.entries.values().flat_map(|entry| {
            let beside = self.beside(entry.id);
            core::iter::once(entry).chain(beside.filter(move |rival| *rival != entry))
        })
    }

    fn erased(&self, entry: &Entry) -> bool {
        let with_it = entry.key == KeyId::Practice && self.buried.contains(&entry.stream);
        entry.erases().is_none() && (with_it || self.tombs.contains(&entry.key))
    }

    /// Takes the bodies sealed under `key` out of every entry, for good; and those of the practice in
    /// sessions that are named.
    fn bury(&mut self, key: KeyId, streams: &[Stream]) {
        if key == KeyId::Practice {
            return;
        }
        let mut more = self.tombs.insert(key);
        for stream in streams {
            // Only of sessions: no tombstone can take the practice's own facts away.
            more |= matches!(stream, Stream::Session(_)) && self.buried.insert(*stream);
        }
        if more {
            self.strip();
        }
    }

    fn strip(&mut self) {
        let erased: Vec<EntryId> = self
            .texts()
            .filter(|entry| entry.body.get() != "null" && self.erased(entry))
            .map(|entry| entry.id)
            .collect();
        for id in erased {
            if let Some(rivals) = self.rivals.get(&id) {
                let mut stripped = paged::Map::default();
                for text in rivals.keys() {
                    stripped.insert(self.admitted(text), ());
                }
                let first = stripped.keys().next().cloned();
                if stripped.len() > 1 {
                    self.rivals.insert(id, stripped);
                    self.stand(id);
                } else if let Some(first) = first {
                    // Nothing told them apart but what was erased, so the stream is the same.
                    self.rivals.remove(&id);
                    self.entries.insert(id, first);
                }
            } else if let Some(entry) = self.entries.get_mut(&id) {
                *entry = entry.clone().without_body();
            }
        }
    }

    /// The union of two journals. Idempotent, commutative and associative. Returns how many
    /// entries were new here.
    pub fn merge(&mut self, other: &Self) -> usize {
        let streams: Vec<Stream> = other.buried.iter().copied().collect();
        for &key in &other.tombs {
            self.bury(key, &streams);
        }
        for &choice in &other.choices {
            if self.choices.insert(choice) {
                self.stand(choice.0);
            }
        }
        let mut new = 0_usize;
        for entry in other.texts() {
            if self.insert(entry.clone()) == Inserted::New {
                new = new.saturating_add(1);
            }
        }
        for line in other.unreadable.keys() {
            self.keep_unreadable(line.clone());
        }
        new
    }

    /// Keeps a line that is no entry, so that nothing is lost by passing through here.
    pub fn keep_unreadable(&mut self, line: String) {
        self.unreadable.insert(line, ());
    }

    /// How many lines are no entry.
    #[must_use]
    pub fn unreadable(&self) -> usize {
        self.unreadable.len()
    }

    /// Lets go of a line that is no entry, once it was erased wherever it was kept.
    pub fn let_go(&mut self, line: &str) {
        self.unreadable.remove(&line.into());
    }

    /// One entry by its name.
    #[must_use]
    pub fn get(&self, id: EntryId) -> Option<&Entry> {
        self.entries.get(&id)
    }

    /// Every entry, causes before effects.
    pub fn iter(&self) -> impl Iterator<Item = &Entry> {
        self.entries.values()
    }

    /// The entries of one stream, causes before effects.
    pub fn of(&self, stream: Stream) -> impl Iterator<Item = &Entry> {
        let (from, to) = ((stream, EntryId::LEAST), (stream, EntryId::GREATEST));
        let ids = self.streams.between(&from, &to);
        ids.filter_map(|((_, id), ())| self.entries.get(id))
    }

    /// Every stream that has an entry.
    pub fn streams(&self) -> impl Iterator<Item = Stream> {
        let mut last = None;
        let each = self.streams.iter().map(|((stream, _), ())| *stream);
        each.filter(move |stream| last.replace(*stream) != Some(*stream))
    }

    /// Keys that were destroyed; nothing sealed under them can come back.
    pub fn tombs(&self) -> impl Iterator<Item = KeyId> {
        self.tombs.iter().copied()
    }

    /// How many entries there are.
    #[must_use]
    pub fn len(&self) -> usize {
        self.entries.len()
    }

    /// True if nothing was ever written.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.entries.is_empty()
    }

    /// The name for the next entry of `replica`: one more than the greatest counter seen.
    #[must_use]
    pub fn next_id(&self, replica: Replica) -> EntryId {
        let last = self.entries.last_key_value();
        let last = last.map_or(0, |(id, _)| id.counter);
        let last = last.max(self.floor);
        EntryId {
            counter: last.saturating_add(1).min(COUNTER_MAX),
            replica,
        }
    }

    /// The latest wall time any entry was stamped with: a clock that now reads less was set back.
    #[must_use]
    pub fn latest(&self) -> Option<Wall> {
        self.latest
    }

    /// Tells of entries that are kept elsewhere and are not here: their greatest counter, so that no
    /// name is given twice and effects come after causes, and their latest stamp.
    pub fn know_of(&mut self, last: u64, latest: Option<Wall>) {
        self.floor = self.floor.max(last);
        self.latest = self.latest.max(latest);
    }

    /// A journal of nothing but what was erased and what was chosen.
    #[must_use]
    pub fn bare(&self) -> Self {
        Self {
            tombs: self.tombs.clone(),
            buried: self.buried.clone(),
            choices: self.choices.clone(),
            ..Self::default()
        }
    }

    /// Whether a key was destroyed.
    #[must_use]
    pub fn destroyed(&self, key: KeyId) -> bool {
        self.tombs.contains(&key)
    }

    /// Whether the practice's own words in a session were erased with a person.
    #[must_use]
    pub fn buried(&self, stream: Stream) -> bool {
        self.buried.contains(&stream)
    }

    /// Sessions of which the practice's own words were erased with a person.
    pub fn graves(&self) -> impl Iterator<Item = Stream> {
        self.buried.iter().copied()
    }

    /// Of which names it was ever said which of two texts stands.
    pub fn choices(&self) -> impl Iterator<Item = EntryId> {
        self.choices.iter().map(|(of, _, _)| *of)
    }

    /// Whether two different texts claim this name.
    #[must_use]
    pub fn has_rivals(&self, id: EntryId) -> bool {
        self.rivals.get(&id).is_some()
    }

    /// Everything wrong, in a fixed order.
    pub fn damage(&self) -> impl Iterator<Item = Damage> {
        let rivals = self.rivals.keys().map(|&id| Damage::Rivals(id));
        let lines = self
            .unreadable
            .keys()
            .map(|line| Damage::Unreadable(line.clone()));
        rivals.chain(lines)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::stamp::{Stamp, When};
    use crate::check::property;
    use alloc::format;
    use proptest::prelude::*;

    fn entry(counter: u64, replica: u128, body: &str, key: KeyId) -> Entry {
        let id = EntryId {
            counter,
            replica: Replica(replica),
        };
        Entry {
            id,
            at: Stamp {
                wall: Wall(counter as i64),
                mono: 0,
                zone: 0,
            },
            when: When::Now,
            stream: Stream::Practice,
            key,
            act: None,
            kind: "note".into(),
            v: 1,
            body: Entry::raw(body),
        }
    }

    fn person(n: u64) -> KeyId {
        KeyId::Person(EntryId {
            counter: n,
            replica: Replica(7),
        })
    }

    fn any_entry() -> impl Strategy<Value = Entry> {
        (
            1..6_u64,
            0..2_u128,
            0..3_u8,
            0..3_u64,
            prop::bool::weighted(0.15),
        )
            .prop_map(|(counter, replica, body, key, tomb)| {
                let key = if key == 0 {
                    KeyId::Practice
                } else {
                    person(key)
                };
                let mut e = entry(counter, replica, &format!("{{\"text\":\"{body}\"}}"), key);
                if key == person(2) && body == 0 {
                    // A choice between two texts of an early entry.
                    let of = entry(counter, replica, r#"{"text":"1"}"#, KeyId::Practice);
                    let text = Sum::of(&of.to_line());
                    e.key = KeyId::Practice;
                    e.kind = SETTLED.into();
                    e.body = Entry::raw(&format!(r#"{{"stands":"{}","text":"{text}"}}"#, of.id));
                }
                if counter % 2 == 0 && key == KeyId::Practice {
                    e.stream = "s:1-00000000000000000000000000000001".parse().unwrap();
                }
                if tomb {
                    e.kind = TOMBSTONE.into();
                    let too = if counter > 3 {
                        r#","streams":["s:1-00000000000000000000000000000001"]"#
                    } else {
                        ""
                    };
                    e.body =
                        Entry::raw(&format!("{{\"key\":\"{}\"{too}}}", person(u64::from(body))));
                    e.key = KeyId::Practice;
                }
                e
            })
    }

    fn journal(entries: &[Entry]) -> Journal {
        let mut j = Journal::new();
        for e in entries {
            let _ = j.insert(e.clone());
        }
        j
    }

    #[test]
    fn merge_is_a_union() {
        let some = || prop::collection::vec(any_entry(), 0..12);
        property(
            "journal merge",
            2000,
            &(some(), some(), some()),
            |(a, b, c)| {
                let (ja, jb, jc) = (journal(&a), journal(&b), journal(&c));
                let mut ab = ja.clone();
                ab.merge(&jb);
                let mut ba = jb.clone();
                ba.merge(&ja);
                prop_assert_eq!(&ab, &ba, "commutative");
                let mut again = ab.clone();
                again.merge(&jb);
                again.merge(&ab);
                prop_assert_eq!(&again, &ab, "idempotent");
                let mut ab_c = ab.clone();
                ab_c.merge(&jc);
                let mut bc = jb.clone();
                bc.merge(&jc);
                let mut a_bc = ja.clone();
                a_bc.merge(&bc);
                prop_assert_eq!(&ab_c, &a_bc, "associative");
                let all: Vec<Entry> = a.iter().chain(&b).cloned().collect();
                prop_assert_eq!(journal(&all), ab, "inserting one by one is the same union");
                Ok(())
            },
        );
    }

    #[test]
    fn a_tombstone_survives_every_merge() {
        let kept = entry(1, 1, r#"{"text":"private"}"#, person(1));
        let mut old_copy = journal(core::slice::from_ref(&kept));
        let mut phone = old_copy.clone();
        let before = alloc::string::String::from_utf8(phone.to_lines()).unwrap();
        assert!(before.contains("private"), "control: it was there");
        let mut tomb = entry(2, 1, "", KeyId::Practice);
        tomb.kind = TOMBSTONE.into();
        tomb.body = Entry::raw(&format!("{{\"key\":\"{}\"}}", person(1)));
        assert_eq!(phone.insert(tomb), Inserted::New);
        phone.merge(&old_copy);
        old_copy.merge(&phone);
        for journal in [&phone, &old_copy] {
            let text = alloc::string::String::from_utf8(journal.to_lines()).unwrap();
            assert!(!text.contains("private"));
            assert_eq!(
                journal.len(),
                2,
                "the residue still says that there was an entry"
            );
        }
        assert_eq!(phone, old_copy);
    }

    #[test]
    fn rivals_are_both_kept_and_named() {
        let a = entry(1, 1, r#"{"text":"a"}"#, KeyId::Practice);
        let b = entry(1, 1, r#"{"text":"b"}"#, KeyId::Practice);
        let mut one = journal(&[a.clone(), b.clone()]);
        let other = journal(&[b, a.clone()]);
        assert_eq!(one, other);
        assert_eq!(one.insert(a), Inserted::Same);
        let damage: Vec<Damage> = one.damage().collect();
        assert!(matches!(damage.as_slice(), [Damage::Rivals(_)]));
        let text = alloc::string::String::from_utf8(one.to_lines()).unwrap();
        assert!(text.contains(r#""a""#) && text.contains(r#""b""#));
    }

    #[test]
    fn a_chosen_text_stands_in_whichever_order_it_comes() {
        let a = entry(1, 1, r#"{"text":"a"}"#, KeyId::Practice);
        let mut b = entry(1, 1, r#"{"text":"b"}"#, KeyId::Practice);
        b.stream = "s:1-00000000000000000000000000000001".parse().unwrap();
        let mut all = [a.clone(), b.clone()];
        let least = journal(&all).get(a.id).cloned().unwrap();
        let other = if least == a { b.clone() } else { a.clone() };
        let choose = |counter, of: &Entry| {
            let mut fact = entry(counter, 2, "", KeyId::Practice);
            fact.kind = SETTLED.into();
            let text = Sum::of(&of.to_line());
            fact.body = Entry::raw(&format!(r#"{{"stands":"{}","text":"{text}"}}"#, of.id));
            fact
        };
        let (first, second) = (choose(2, &other), choose(3, &least));
        let mut last = None;
        for turn in 0..3 {
            all.rotate_left(turn % 2);
            let mut facts = all.to_vec();
            facts.insert(turn, first.clone());
            let chosen = journal(&facts);
            assert_eq!(chosen.get(a.id), Some(&other), "control: not the least");
            assert_eq!(chosen.of(other.stream).count(), 2 - usize::from(other == b));
            assert!(
                chosen
                    .rivals()
                    .all(|(_, texts, chosen)| chosen && texts.count() == 2)
            );
            assert!(last.is_none_or(|last| last == chosen));
            last = Some(chosen.clone());
            facts.insert(turn, second.clone());
            assert_eq!(journal(&facts).get(a.id), Some(&least), "the last word");
        }
    }
}
