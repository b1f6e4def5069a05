//! What the ledger knows of one stream, read in or not.

use crate::base::flat;
use crate::base::id::EntryId;
use crate::base::stamp::Wall;
use crate::journal::{Entry, KeyId};
use crate::people::Person;
use crate::session::Session;
use crate::{people, session};
use alloc::boxed::Box;
use alloc::string::String;

/// What a fold is in few words.
pub(super) trait Summed {
    type Line: Clone + core::fmt::Debug + Default + PartialEq;
}

impl Summed for Session {
    type Line = session::Summary;
}

impl Summed for Person {
    type Line = people::Summary;
}

/// Where a stream's facts are.
#[derive(Clone, Debug, Default)]
pub(super) struct Held {
    /// Packs, by their greatest counter and cover, and whether each was read in.
    pub(super) packs: flat::Map<(u64, u64), bool>,
    /// The texts of packs that are flawed.
    pub(super) flawed: flat::Map<(u64, u64), String>,
    /// Facts that stand in no pack yet.
    pub(super) loose: flat::Set<EntryId>,
    /// People whose keys seal some of it.
    pub(super) keys: flat::Set<EntryId>,
    /// The latest stamp in it.
    pub(super) latest: Option<Wall>,
}

impl Held {
    /// Whether all of it is read in.
    pub(super) fn whole(&self) -> bool {
        self.packs.values().all(|given| *given)
    }

    pub(super) fn note(&mut self, entry: &Entry, loose: bool) {
        if let KeyId::Person(person) = entry.key {
            self.keys.insert(person);
        }
        self.latest = self.latest.max(Some(entry.at.wall));
        if loose {
            self.loose.insert(entry.id);
        }
    }
}

/// One stream: where its facts are, what they come to, and that in few words.
#[derive(Clone, Debug)]
pub(super) struct Slot<F: Summed> {
    pub(super) held: Held,
    /// Only of a stream that is read in whole.
    pub(super) fold: Option<Box<F>>,
    /// Nothing while it is still to be worked out.
    pub(super) line: Option<F::Line>,
    /// Under which person it stands in the list of visits.
    pub(super) listed: Option<EntryId>,
}

impl<F: Summed> Default for Slot<F> {
    fn default() -> Self {
        Self::of(Held::default(), false)
    }
}

impl<F: Summed> Slot<F> {
    /// Of a stream that is not read in. `summed`: an empty line, to be filled in.
    pub(super) fn of(held: Held, summed: bool) -> Self {
        Self {
            held,
            fold: None,
            line: summed.then(F::Line::default),
            listed: None,
        }
    }
}
