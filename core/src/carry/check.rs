//! Checking a copy: it is opened, counted and compared, and nothing is changed.

use super::scope::within;
use super::walk::through;
use crate::base::id::{EntryId, Stream};
use crate::base::stamp::Wall;
use crate::journal::{Carried, Covered, Entry, Journal, Piece, Scope, Sum};
use crate::ledger::Ledger;
use alloc::vec::Vec;

/// What a copy is beside what is here.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Checked {
    /// What it says that it holds.
    pub scope: Scope,
    /// When it was taken out, if it says so.
    pub at: Option<Wall>,
    /// Facts in it.
    pub entries: usize,
    /// Of these, those that are here too.
    pub here: usize,
    /// Of these, those that are not here.
    pub new: usize,
    /// Of these, those that stand here under the same name with another text.
    pub differ: usize,
    /// Of those that are here: how many it still holds readably although they were erased here.
    pub erased: usize,
    /// Facts that are here and that it should hold and lacks.
    pub lacking: usize,
    /// When the last of these was entered.
    pub last_lacking: Option<Wall>,
    /// Lines missing at its end, by its own count.
    pub missing: usize,
    /// Lines that cannot be read.
    pub flaws: usize,
    /// For what came after an earlier copy: whether all that the earlier one covered is here.
    pub continues: Option<bool>,
    /// Of a copy that is more than one file: which of them it is.
    pub piece: Option<Piece>,
    /// Of the last of these: whether everything that all of them cover is here once it is brought in.
    pub complete: Option<bool>,
}

/// Whether a text of one journal is in another, once what either of them erased is erased.
pub(super) fn known(text: &Entry, from: &Journal, other: &Journal) -> bool {
    let bare = other.admitted(text);
    let mut texts = other.texts_of(text.id);
    texts.any(|known| from.admitted(known) == bare)
}

/// What is here beside a copy of everything, or of what came since an earlier one: facts are given to it
/// ([`super::Walk`]), so that they need not all be read in.
#[derive(Clone, Debug)]
pub struct Beside<'a> {
    carried: &'a Carried,
    lacking: usize,
    last_lacking: Option<Wall>,
    since: (u32, Sum),
    all: (u32, Sum),
}

/// What has to agree with the lines here.
fn all_of(carried: &Carried) -> Option<Covered> {
    carried.header.piece.and_then(|piece| piece.all)
}

impl<'a> Beside<'a> {
    /// Nothing of what is here was seen yet.
    #[must_use]
    pub fn new(carried: &'a Carried) -> Self {
        Self {
            carried,
            lacking: 0,
            last_lacking: None,
            since: Default::default(),
            all: Default::default(),
        }
    }

    /// The copy.
    pub(super) fn carried(&self) -> &'a Carried {
        self.carried
    }

    /// Whether anything here tells more than what the copy touches. If not, nothing need be given.
    #[must_use]
    pub fn wanted(&self) -> bool {
        let header = &self.carried.header;
        let scope = matches!(header.scope(), Scope::Whole | Scope::Since);
        let more_follow = header.piece.is_some_and(|piece| piece.all.is_none());
        scope && (!more_follow || header.since.is_some())
    }

    /// The same of a ledger that has everything read in.
    #[must_use]
    pub fn of(ledger: &Ledger, carried: &'a Carried) -> Self {
        let mut beside = Self::new(carried);
        if beside.wanted() {
            through(ledger, &mut |facts| beside.take(facts));
        }
        beside
    }

    /// Takes facts in.
    pub fn take(&mut self, facts: &Journal) {
        let header = &self.carried.header;
        let add = |sum: &mut (u32, Sum), covers: Option<Covered>| {
            if let Some(covers) = covers {
                let (count, more) = facts.sum_before(covers.before);
                sum.0 = sum.0.saturating_add(count);
                sum.1 = Sum(sum.1.0.wrapping_add(more.0));
            }
        };
        add(&mut self.since, header.since);
        add(&mut self.all, all_of(self.carried));
        if header.piece.is_none() {
            self.lacks(facts);
        }
    }

    /// Notes what of some facts the copy should hold and lacks.
    fn lacks(&mut self, facts: &Journal) {
        let since = self.carried.header.since;
        let first = since.map_or(EntryId::LEAST, |base| base.before);
        for text in facts.texts() {
            if text.id >= first && !known(text, facts, &self.carried.journal) {
                self.lacking = self.lacking.saturating_add(1);
                self.last_lacking = self.last_lacking.max(Some(text.at.wall));
            }
        }
    }

    /// The same for what a part should hold: one of several files all facts of what it tells of.
    fn lacks_of_part(&mut self, ledger: &Ledger) {
        let header = &self.carried.header;
        match (header.scope(), header.piece) {
            (Scope::Person | Scope::Procedures, _) => {
                self.lacks(&within(ledger, header.scope(), header.person));
            }
            (_, Some(piece)) => {
                let streams = self.carried.journal.streams();
                // Of the practice the later files have no more than what erases.
                let told = streams.filter(|s| piece.number == 1 || *s != Stream::Practice);
                self.lacks(&ledger.journal().only(&told.collect::<Vec<_>>()));
            }
            (_, None) => {}
        }
    }
}

/// Compares a copy with what is here. What it touches has to be read in: [`super::summary`] sees to that.
pub(super) fn check(ledger: &Ledger, mut beside: Beside<'_>) -> Checked {
    beside.lacks_of_part(ledger);
    let carried = beside.carried;
    let (here, there) = (ledger.journal(), &carried.journal);
    let header = &carried.header;
    let same = |covers: Covered, sum: (u32, Sum)| sum == (covers.entries, covers.sum);
    let mut checked = Checked {
        scope: header.scope(),
        at: header.at,
        entries: 0,
        here: 0,
        new: 0,
        differ: 0,
        erased: 0,
        lacking: beside.lacking,
        last_lacking: beside.last_lacking,
        missing: carried.missing(),
        flaws: carried.flaws.len(),
        continues: header.since.map(|base| same(base, beside.since)),
        piece: header.piece,
        complete: None,
    };
    let all = all_of(carried);
    let (mut count, mut sum) = beside.all;
    for text in there.texts() {
        checked.entries = checked.entries.saturating_add(1);
        let n = if known(text, there, here) {
            if here.admitted(text) != *text {
                checked.erased = checked.erased.saturating_add(1);
            }
            &mut checked.here
        } else if here.get(text.id).is_some() {
            &mut checked.differ
        } else {
            if all.is_some_and(|all| text.id < all.before) {
                count = count.saturating_add(1);
                sum.add(&text.to_line());
            }
            &mut checked.new
        };
        *n = n.saturating_add(1);
    }
    checked.complete = all.map(|all| same(all, (count, sum)));
    checked
}
