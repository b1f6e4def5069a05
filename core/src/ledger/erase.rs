//! Erasing a person: first what is left of them in numbers, then the tombstone.

use super::{Facts, Hand, Ledger, Refusal};
use crate::base::date::Date;
use crate::base::flat;
use crate::base::id::{EntryId, Stream};
use crate::base::stamp::Wall;
use crate::event::copies::{LotUse, Residue};
use crate::event::session::IncidentKind;
use crate::event::{Event, MANY};
use crate::journal::entry::Tomb;
use crate::journal::pack::{PackName, Packed};
use crate::journal::{Entry, Journal, KeyId, TOMBSTONE};
use crate::needle::Size;
use alloc::string::String;
use alloc::vec::Vec;

fn day(at: Wall, zone: i16) -> Date {
    let local = at.0.saturating_add(i64::from(zone).saturating_mul(60_000));
    let days = i32::try_from(local.div_euclid(86_400_000)).unwrap_or(0);
    Date::from_days(days).unwrap_or_else(|_| Date::epoch())
}

/// The packs of one stream, before and after.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Repacked {
    /// Whose.
    pub stream: Stream,
    /// The sound packs that were.
    pub old: Vec<PackName>,
    /// Those that cannot be read, with their texts.
    pub flawed: Vec<(PackName, String)>,
    /// What is left, in one pack; nothing if nothing of it can be packed.
    pub new: Option<Packed>,
}

/// What is to be done with what is kept, once somebody was erased.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Burial {
    /// Streams of which something packed was theirs.
    pub packs: Vec<Repacked>,
    /// What is left of facts that stand in rows. Every row of such a name goes, and this comes.
    pub rows: Vec<Entry>,
}

impl Ledger {
    /// The people whose keys another journal says were destroyed and which are not destroyed here.
    #[must_use]
    pub fn erased_by(&self, other: &Journal) -> Vec<EntryId> {
        let new = other.tombs().filter(|key| !self.journal().destroyed(*key));
        let person = |key| match key {
            KeyId::Person(person) => Some(person),
            KeyId::Practice => None,
        };
        new.filter_map(person).collect()
    }

    /// The streams that hold something of people who were erased.
    fn graves_of(&self, people: &[EntryId]) -> flat::Set<Stream> {
        let mut streams = flat::Set::new();
        for person in people {
            streams.extend(self.sealed_for(*person));
        }
        for entry in self.journal().of(Stream::Practice) {
            let theirs = |tomb: &Tomb| matches!(tomb.key, KeyId::Person(p) if people.contains(&p));
            if let Some(tomb) = entry.tomb().filter(theirs) {
                streams.extend(tomb.streams);
            }
        }
        streams
    }

    /// What takes the place of what is kept of people who were erased: after their tombstones were
    /// appended.
    ///
    /// # Errors
    /// [`Refusal::LoadFirst`] while something of theirs is not read in.
    pub fn burial(&self, people: &[EntryId]) -> Result<Burial, Refusal> {
        let streams = self.graves_of(people);
        let lacking = streams.iter().copied().filter(|s| self.lacks(*s));
        let lacking: Vec<Stream> = lacking.collect();
        if !lacking.is_empty() {
            return Err(Refusal::LoadFirst(lacking));
        }
        let mut burial = Burial::default();
        for &stream in &streams {
            let Some(held) = self.held_of(stream) else {
                continue;
            };
            let name = |&(last, cover): &(u64, u64)| PackName {
                stream,
                last,
                cover,
            };
            let entries: Vec<&Entry> = self
                .journal()
                .of(stream)
                .filter(|e| !held.loose.contains(&e.id) && self.fit(stream, e))
                .collect();
            if !held.packs.is_empty() {
                let sound = held.packs.keys().filter(|k| !held.flawed.contains_key(k));
                let flawed = held.flawed.iter();
                burial.packs.push(Repacked {
                    stream,
                    old: sound.map(name).collect(),
                    flawed: flawed.map(|(k, text)| (name(k), text.clone())).collect(),
                    new: self.packed_of(stream, &entries),
                });
            }
        }
        let theirs = |entry: &Entry| {
            matches!(entry.key, KeyId::Person(p) if people.contains(&p))
                || streams.contains(&entry.stream)
        };
        let in_a_row = |entry: &Entry| {
            let held = self.held_of(entry.stream);
            held.is_none_or(|h| h.loose.contains(&entry.id)) || self.journal().has_rivals(entry.id)
        };
        let rows = self.journal().texts().filter(|e| theirs(e) && in_a_row(e));
        // Two texts of one name go and come together, whatever was erased of them.
        let bare = |e: &&Entry| e.body.get() == "null" || self.journal().has_rivals(e.id);
        burial.rows = rows.filter(bare).cloned().collect();
        Ok(burial)
    }

    /// Says which packs there are once it is done. `flawed`: those that cannot be read go too, and what
    /// they held is let go.
    pub fn bury(&mut self, burial: &Burial, flawed: bool) {
        for one in &burial.packs {
            let Some(held) = self.held(one.stream) else {
                continue;
            };
            for name in &one.old {
                held.packs.remove(&(name.last, name.cover));
            }
            for (name, _) in one.flawed.iter().filter(|_| flawed) {
                held.packs.remove(&(name.last, name.cover));
                held.flawed.remove(&(name.last, name.cover));
            }
            if let Some(packed) = &one.new {
                let name = packed.name;
                held.packs.insert((name.last, name.cover), true);
            }
            for (_, text) in one.flawed.iter().filter(|_| flawed) {
                self.journal.let_go(text);
            }
        }
    }

    /// It was not done after all: everything is kept where it was.
    pub fn unbury(&mut self, burial: &Burial) {
        for one in &burial.packs {
            let Some(held) = self.held(one.stream) else {
                continue;
            };
            if let Some(packed) = &one.new {
                held.packs.remove(&(packed.name.last, packed.name.cover));
            }
            for name in &one.old {
                held.packs.insert((name.last, name.cover), true);
            }
            for (name, text) in &one.flawed {
                held.packs.insert((name.last, name.cover), true);
                held.flawed.insert((name.last, name.cover), text.clone());
            }
            for (_, text) in &one.flawed {
                self.journal.keep_unreadable(text.clone());
            }
        }
    }

    /// What is left of a person once they are erased. Rehearsals leave nothing.
    #[must_use]
    pub fn residue(&self, person: EntryId) -> Residue {
        let mut lots: flat::Map<(Date, String, Option<Size>), (u16, u16)> = flat::Map::new();
        let mut incidents: flat::Map<IncidentKind, u16> = flat::Map::new();
        let mut not_found = 0_u32;
        for (_, session) in self.sessions_of(person) {
            let state = session.state();
            if state.rehearsal {
                continue;
            }
            let at = state.opened_at.unwrap_or_default();
            for pack in state.packs.values() {
                let lot = pack.lot.clone().unwrap_or_default();
                let used = lots.or_default((day(at, state.zone), lot, pack.size));
                used.0 = used.0.saturating_add(1);
                used.1 = used.1.saturating_add(pack.held);
            }
            for line in &state.incidents {
                let n = incidents.or_default(line.what.kind);
                *n = n.saturating_add(1);
            }
            let missed = state
                .sum
                .not_found
                .saturating_add(state.sum.unplaced_not_found);
            not_found = not_found.saturating_add(missed);
        }
        let lots = lots
            .iter()
            .map(|((day, lot, size), (packets, needles))| LotUse {
                day: *day,
                lot: lot.clone(),
                size: *size,
                packets: *packets,
                needles: *needles,
            });
        Residue {
            lots: lots.collect(),
            incidents: incidents.iter().map(|(kind, n)| (*kind, *n)).collect(),
            not_found: u16::try_from(not_found).unwrap_or(u16::MAX),
        }
    }

    pub(super) fn erase(&self, person: EntryId, hand: &Hand) -> Result<Facts, Refusal> {
        self.person_at_hand(person)?;
        // What is left of them has to be worked out from all of it.
        let mut streams = self.sealed_for(person);
        streams.extend(self.visit_ids(person).map(Stream::Session));
        streams.retain(|stream| self.lacks(*stream));
        if !streams.is_empty() {
            return Err(Refusal::LoadFirst(streams));
        }
        let inside = |(_, s): &(EntryId, &crate::session::Session)| {
            let sum = &s.state().sum;
            s.state().closed.is_none() && sum.in_now.saturating_add(sum.out_uncounted) > 0
        };
        if let Some((session, _)) = self.sessions_of(person).find(inside) {
            return Err(Refusal::NeedlesIn(session));
        }
        let left = self.residue(person);
        let mut events = Vec::new();
        if left != Residue::default() {
            // More lots than one fact may hold are said in several.
            let mut parts = left.lots.chunks(MANY);
            events.push(Event::Residue(Residue {
                lots: parts.next().unwrap_or_default().to_vec(),
                ..left.clone()
            }));
            events.extend(parts.map(|lots| {
                Event::Residue(Residue {
                    lots: lots.to_vec(),
                    ..Residue::default()
                })
            }));
        }
        let mut facts = self.write(Some(Stream::Practice), KeyId::Practice, &events, hand)?;
        // No act joins them: the tombstone names the person, and the numbers must not lead there.
        for entry in &mut facts.0 {
            entry.act = None;
        }
        let mut id = self.journal().next_id(hand.replica);
        if let Some(last) = facts.0.last() {
            id = last.id;
            let next = id.counter.saturating_add(1);
            id.counter = next.min(crate::base::id::COUNTER_MAX);
        }
        let tomb = Tomb {
            key: KeyId::Person(person),
            streams: self.begun_without(person),
        };
        facts.0.push(Entry {
            id,
            at: hand.stamp,
            when: hand.when,
            stream: Stream::Practice,
            key: KeyId::Practice,
            act: None,
            kind: TOMBSTONE.into(),
            v: 1,
            body: Entry::raw(&crate::base::body::write(&tomb)),
        });
        Ok(facts)
    }

    /// Sessions of a person that hold facts under the practice's key: they began before anybody said
    /// whose they were.
    fn begun_without(&self, person: EntryId) -> Vec<Stream> {
        let streams = self.sessions_of(person).map(|(id, _)| Stream::Session(id));
        let mixed = |stream: &Stream| {
            let mut entries = self.journal().of(*stream);
            entries.any(|entry| entry.key == KeyId::Practice)
        };
        streams.filter(mixed).collect()
    }
}
