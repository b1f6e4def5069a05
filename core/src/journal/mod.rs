//! L3. The generic log: envelopes, order, identity, merge and damage. It knows no kind of fact but
//! one, the tombstone, because erasing must hold whatever else is understood.
//!
//! A journal is a set of entries by id. Merging is the union of sets, so it may be done in any
//! order and any number of times. Nothing is ever removed: an id with two different texts keeps
//! both and is named as damage; a line that cannot be read is kept as it stands.

pub mod entry;
mod lines;
pub mod pack;

pub use entry::{Entry, KeyId, TOMBSTONE};
pub use lines::{HEADER, MAX_LINE, ReadLines};

use crate::base::flat;
use crate::base::id::{COUNTER_MAX, EntryId, Replica, Stream};
use crate::base::stamp::Wall;
use alloc::collections::{BTreeMap, BTreeSet};
use alloc::string::String;

/// What is wrong with a journal. Every flaw leaves the rest readable.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Damage {
    /// Two different texts claim one id. Both are kept; the one that sorts first is folded.
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
    entries: BTreeMap<EntryId, Entry>,
    rivals: BTreeMap<EntryId, BTreeSet<Entry>>,
    unreadable: BTreeSet<String>,
    // As many as people were erased.
    tombs: flat::Set<KeyId>,
    // One tree for all streams: a tree in a tree would be compiled apart.
    streams: BTreeSet<(Stream, EntryId)>,
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
        if let Some(key) = entry.erases() {
            self.bury(key);
        }
        let entry = if self.erased(&entry) {
            entry.without_body()
        } else {
            entry
        };
        let id = entry.id;
        self.latest = self.latest.max(Some(entry.at.wall));
        let Some(known) = self.entries.get(&id) else {
            self.streams.insert((entry.stream, id));
            self.entries.insert(id, entry);
            return Inserted::New;
        };
        if *known == entry {
            return Inserted::Same;
        }
        let rivals = self.rivals.entry(id).or_default();
        if rivals.contains(&entry) {
            return Inserted::Same;
        }
        rivals.insert(known.clone());
        rivals.insert(entry);
        if let Some(first) = rivals.first().cloned() {
            // The least of them stands, so the choice does not depend on who came first.
            self.streams.remove(&(known.stream, id));
            self.streams.insert((first.stream, id));
            self.entries.insert(id, first);
        }
        Inserted::Rival
    }

    fn erased(&self, entry: &Entry) -> bool {
        entry.erases().is_none() && self.tombs.contains(&entry.key)
    }

    /// Takes the bodies sealed under `key` out of every entry, for good.
    fn bury(&mut self, key: KeyId) {
        if key == KeyId::Practice || !self.tombs.insert(key) {
            return;
        }
        for entry in self.entries.values_mut() {
            if entry.key == key && entry.erases().is_none() {
                *entry = entry.clone().without_body();
            }
        }
        let rivals = core::mem::take(&mut self.rivals);
        for (id, set) in rivals {
            // One by one: collecting into a tree would bring the library's sort with it.
            let mut stripped = BTreeSet::new();
            for e in set {
                stripped.insert(if e.key == key && e.erases().is_none() {
                    e.without_body()
                } else {
                    e
                });
            }
            if let Some(first) = stripped.first() {
                // The body is the last that entries are ordered by, so the first keeps its stream.
                self.entries.insert(id, first.clone());
            }
            if stripped.len() > 1 {
                self.rivals.insert(id, stripped);
            }
        }
    }

    /// The union of two journals. Idempotent, commutative and associative. Returns how many
    /// entries were new here.
    pub fn merge(&mut self, other: &Self) -> usize {
        for &key in &other.tombs {
            self.bury(key);
        }
        let mut new = 0_usize;
        for entry in other
            .entries
            .values()
            .chain(other.rivals.values().flatten())
        {
            if self.insert(entry.clone()) == Inserted::New {
                new = new.saturating_add(1);
            }
        }
        for line in &other.unreadable {
            self.keep_unreadable(line.clone());
        }
        new
    }

    /// Keeps a line that is no entry, so that nothing is lost by passing through here.
    pub fn keep_unreadable(&mut self, line: String) {
        self.unreadable.insert(line);
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
        self.streams
            .range((stream, EntryId::LEAST)..=(stream, EntryId::GREATEST))
            .filter_map(|(_, id)| self.entries.get(id))
    }

    /// Every stream that has an entry.
    pub fn streams(&self) -> impl Iterator<Item = Stream> {
        let mut last = None;
        let each = self.streams.iter().map(|(stream, _)| *stream);
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
        let last = self.entries.keys().next_back().map_or(0, |id| id.counter);
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

    /// A journal of nothing but the keys that were destroyed.
    #[must_use]
    pub fn bare(&self) -> Self {
        Self {
            tombs: self.tombs.clone(),
            ..Self::default()
        }
    }

    /// Whether a key was destroyed.
    #[must_use]
    pub fn buried(&self, key: KeyId) -> bool {
        self.tombs.contains(&key)
    }

    /// Whether two different texts claim this name.
    #[must_use]
    pub fn has_rivals(&self, id: EntryId) -> bool {
        self.rivals.contains_key(&id)
    }

    /// Everything wrong, in a fixed order.
    pub fn damage(&self) -> impl Iterator<Item = Damage> {
        let rivals = self.rivals.keys().map(|&id| Damage::Rivals(id));
        let lines = self
            .unreadable
            .iter()
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
    use alloc::vec::Vec;
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
                if tomb {
                    e.kind = TOMBSTONE.into();
                    e.body = Entry::raw(&format!("{{\"key\":\"{}\"}}", person(u64::from(body))));
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
}
