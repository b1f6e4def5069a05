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
use crate::journal::{Entry, KeyId, TOMBSTONE};
use crate::needle::Size;
use alloc::string::String;
use alloc::vec::Vec;

fn day(at: Wall, zone: i16) -> Date {
    let local = at.0.saturating_add(i64::from(zone).saturating_mul(60_000));
    let days = i32::try_from(local.div_euclid(86_400_000)).unwrap_or(0);
    Date::from_days(days).unwrap_or_else(|_| Date::epoch())
}

impl Ledger {
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
