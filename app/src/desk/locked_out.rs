//! What is counted out while the practice is locked: nobody waits for a passphrase with needles in. A
//! row without names says which session and region, how many and when; it becomes a fact at the
//! unlocking.

use super::sealing::Guard;
use super::{Desk, Kept};
use crate::device::clock;
use crate::store::{Row, Shelf, strip};
use pinfold_core::atlas::Region;
use pinfold_core::base::id::{EntryId, Replica};
use pinfold_core::base::stamp::{Stamp, Wall, When};
use pinfold_core::event::session::How;
use pinfold_core::ledger::{ChairCommand, Hand};
use pinfold_core::view::chair as view;
use pinfold_core::words::{chair, place};

/// The first word of its row.
const OUT: &str = "out1";

/// So many came out of a region, counted before anything was unlocked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LockedOut {
    /// The session.
    pub session: EntryId,
    /// The region.
    pub region: Region,
    /// How many came out.
    pub count: u16,
    /// The number said first, where it was asked twice.
    first: Option<u16>,
    /// By which run, and when.
    replica: Replica,
    stamp: Stamp,
}

impl LockedOut {
    fn write(&self) -> String {
        let first = self
            .first
            .map_or("-".to_string(), |first| first.to_string());
        let Stamp { wall, mono, zone } = self.stamp;
        format!(
            "{OUT} {} {} {} {first} {:032x} {} {mono} {zone}",
            self.session, self.region, self.count, self.replica.0, wall.0
        )
    }

    /// From the text of a row; nothing if it is another's.
    pub(super) fn read(text: &str) -> Option<Self> {
        let mut words = text.split(' ');
        if words.next() != Some(OUT) {
            return None;
        }
        let out = Self {
            session: words.next()?.parse().ok()?,
            region: words.next()?.parse().ok()?,
            count: words.next()?.parse().ok()?,
            first: match words.next()? {
                "-" => None,
                first => Some(first.parse().ok()?),
            },
            replica: Replica(u128::from_str_radix(words.next()?, 16).ok()?),
            stamp: Stamp {
                wall: Wall(words.next()?.parse().ok()?),
                mono: words.next()?.parse().ok()?,
                zone: words.next()?.parse().ok()?,
            },
        };
        words.next().is_none().then_some(out)
    }
}

/// A region with needles in, as the strip knows it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct HeldIn {
    /// What it is called.
    pub label: String,
    /// How many are in.
    pub inside: u32,
    /// Where its out-count belongs; nothing in a strip of an older build.
    pub place: Option<(EntryId, Region)>,
}

/// What a locked phone shows.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Nameless {
    /// When it was written, wall milliseconds.
    pub at: i64,
    /// Needles in, by region.
    pub held: Vec<HeldIn>,
    /// Clocks, and when each is due, wall milliseconds.
    pub due: Vec<(String, i64)>,
}

fn place_of(held: &str) -> Option<(EntryId, Region)> {
    let (session, region) = held.split_once(' ')?;
    Some((session.parse().ok()?, region.parse().ok()?))
}

impl Desk {
    /// The strip, before anything is unlocked. Told anew after each count.
    #[must_use]
    pub fn nameless(&self) -> Nameless {
        self.version.track();
        let Some(strip) = strip::read() else {
            return Nameless::default();
        };
        let places = strip.held();
        let held = strip.placed().iter().enumerate();
        Nameless {
            at: strip.at(),
            held: held
                .map(|(at, (label, inside))| HeldIn {
                    label: label.clone(),
                    inside: *inside,
                    place: places.get(at).and_then(|(held, _)| place_of(held)),
                })
                .collect(),
            due: strip.due().to_vec(),
        }
    }

    /// What was counted out and is no fact yet.
    #[must_use]
    pub fn locked_outs(&self) -> Vec<LockedOut> {
        self.version.track();
        match &*self.inner().guard.borrow() {
            Guard::Locked(shut) => shut.outs().into_iter().map(|(_, out)| out).collect(),
            _ => Vec::new(),
        }
    }

    /// So many came out of a region. Kept at once, like any fact; `first` as in
    /// [`ChairCommand::TakeOut`].
    pub fn count_out_locked(
        &self,
        session: EntryId,
        region: Region,
        count: u16,
        first: Option<u16>,
    ) {
        let inner = self.inner();
        let Some(replica) = inner.replica.get() else {
            return;
        };
        let out = LockedOut {
            session,
            region,
            count,
            first,
            replica,
            stamp: clock::now(),
        };
        let row = {
            let mut guard = inner.guard.borrow_mut();
            let Guard::Locked(shut) = &mut *guard else {
                return;
            };
            let row = Row {
                key: format!("out.{:032x}.{:04}", replica.0, shut.rows.len()),
                text: out.write(),
            };
            shut.rows.push(row.clone());
            row
        };
        match inner.store.borrow().as_ref() {
            Some(store) => store.append(vec![row]),
            None => self.kept.set(Kept::NotSaved(super::Why::Other)),
        }
        if let Some(strip) = strip::read() {
            let done = view::strip_stay(&chair::EN, &place::EN, region);
            let held = format!("{session} {region}");
            self.write_strip(&strip.without(&held, u32::from(count), &done, clock::wall()));
        }
        self.changed();
    }

    /// At the unlocking: each becomes a fact of the moment it was counted, by the run that counted it.
    /// One that is a fact already, because the page ended before its row was gone, is not told twice.
    pub(super) fn enter_locked_outs(&self, outs: Vec<(String, LockedOut)>) {
        let inner = self.inner();
        let mut done = Vec::new();
        for (key, out) in outs {
            let known = inner
                .ledger
                .borrow()
                .journal()
                .iter()
                .any(|entry| entry.at == out.stamp && entry.id.replica == out.replica);
            let take = ChairCommand::TakeOut {
                session: out.session,
                region: out.region,
                count: out.count,
                how: How::Taken,
                first: out.first,
            };
            let hand = Hand {
                replica: out.replica,
                stamp: out.stamp,
                when: When::Now,
            };
            let facts = inner.ledger.borrow().decide(&take.into(), &hand);
            match facts {
                Ok(facts) if !known => {
                    self.keep(facts.entries().iter());
                    inner.ledger.borrow_mut().append(&facts);
                    done.push(key);
                }
                // Its session is closed or not here: it stays, and is named.
                Err(_) if !known => inner.outs_left.borrow_mut().push((key, out)),
                _ => done.push(key),
            }
        }
        inner.entered.borrow_mut().extend(done);
    }

    /// Counts from the locked page of which no fact can be made: their session is closed or not here.
    #[must_use]
    pub fn outs_left(&self) -> Vec<LockedOut> {
        self.version.track();
        let inner = self.inner();
        let left = inner.outs_left.borrow();
        left.iter().map(|(_, out)| *out).collect()
    }

    /// Somebody has written them down elsewhere: their rows go.
    pub fn outs_are_written(&self) {
        let inner = self.inner();
        let left = inner.outs_left.take();
        let keys = left.into_iter().map(|(key, _)| key);
        inner.entered.borrow_mut().extend(keys);
        self.drop_entered();
        self.changed();
    }

    /// Takes away the rows of what became facts, once those are saved.
    pub(super) fn drop_entered(&self) {
        let inner = self.inner();
        let store = inner.store.borrow().clone();
        let Some(store) = store.filter(|store| store.waiting() == 0) else {
            return;
        };
        let keys = inner.entered.take();
        if keys.is_empty() {
            return;
        }
        wasm_bindgen_futures::spawn_local(async move {
            // Where it fails they are met again at the next unlocking, and known.
            let _ = store.erase(Shelf::Rows, &keys).await;
        });
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_count_is_read_back_and_nothing_else_is() {
        let out = LockedOut {
            session: "12-00000000000000000000000000000abc".parse().unwrap(),
            region: "cheek.left".parse().unwrap(),
            count: 7,
            first: Some(6),
            replica: Replica(0xfeed),
            stamp: Stamp {
                wall: Wall(1_800_000_000_000),
                mono: 5_000,
                zone: -60,
            },
        };
        assert_eq!(LockedOut::read(&out.write()), Some(out));
        let once = LockedOut { first: None, ..out };
        assert_eq!(LockedOut::read(&once.write()), Some(once));
        for text in ["", "out1", "plain {}", "sealed1 practice x"] {
            assert_eq!(LockedOut::read(text), None, "{text}");
        }
        assert_eq!(LockedOut::read(&(out.write() + " 1")), None);
    }
}
