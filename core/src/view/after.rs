//! After the visit, from Person, with no chair open: what stays in, which visits a needle fits that
//! turned up, and what became of each count.

use crate::atlas::Region;
use crate::base::id::EntryId;
use crate::base::stamp::Wall;
use crate::base::units::Seconds;
use crate::ledger::Ledger;
use crate::needle::Size;
use crate::session::{Fate, State};
use crate::words::acts::EN as ACTS;
use crate::words::place::EN as PLACES;
use alloc::string::{String, ToString};
use alloc::vec::Vec;

/// Needles that stay in on purpose.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StayLine {
    /// The session they were left in at.
    pub session: EntryId,
    /// Where.
    pub region: Region,
    /// Their size, if said.
    pub size: Option<Size>,
    /// How many.
    pub n: u32,
    /// Since when.
    pub since: Wall,
    /// The longest they are meant to stay, if said.
    pub longest: Option<Seconds>,
}

impl StayLine {
    /// When they are to be out, if anybody said how long they may stay.
    #[must_use]
    pub fn due(&self) -> Option<Wall> {
        self.longest
            .map(|longest| self.since.plus(longest.as_millis()))
    }

    /// The line for the sheet they take home.
    #[must_use]
    pub fn line(&self) -> String {
        let longest = self.longest.map_or_else(String::new, |l| ACTS.span(l.0));
        ACTS.stay_line(self.n, &PLACES.region(self.region), &longest)
    }
}

/// What stays in from one session.
#[must_use]
pub fn stays_of(session: EntryId, state: &State) -> Vec<StayLine> {
    let mut lines: Vec<StayLine> = Vec::new();
    for needle in state.needles.values().filter(|n| n.fate == Fate::StaysIn) {
        let left = needle.by.and_then(|by| state.left_in.get(&by));
        let (since, longest) = left.copied().unwrap_or((needle.placed.wall, None));
        let same = |l: &&mut StayLine| {
            l.region == needle.region && l.size == needle.size && l.since == since
        };
        match lines.iter_mut().find(same) {
            Some(line) => line.n = line.n.saturating_add(1),
            None => lines.push(StayLine {
                session,
                region: needle.region,
                size: needle.size,
                n: 1,
                since,
                longest,
            }),
        }
    }
    lines
}

/// What stays in from any visit of a person, rehearsals apart, the longest in first.
#[must_use]
pub fn stays(ledger: &Ledger, person: EntryId) -> Vec<StayLine> {
    let sessions = ledger
        .sessions_of(person)
        .filter(|(_, s)| !s.state().rehearsal);
    sessions
        .flat_map(|(id, s)| stays_of(id, s.state()))
        .collect()
}

/// What became of the count of a session.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Balance {
    /// Not closed.
    Open,
    /// It added up.
    AddsUp,
    /// So many were not found, and that was signed.
    NotFound(u32),
    /// So many were signed as not found, and have turned up since.
    Explained(u32),
    /// It had added up, and so many turned up that it had accounted for.
    False(u32),
}

/// What became of the count of a session.
#[must_use]
pub fn balance(state: &State) -> Balance {
    let missing = (state.sum.not_found).saturating_add(state.sum.unplaced_not_found);
    let found = state
        .turned_up
        .iter()
        .filter(|(_, _, up)| up.after.is_some());
    let found: usize = found
        .map(|(_, _, up)| {
            let named: usize = up.needles.iter().map(|span| span.needles().count()).sum();
            named.saturating_add(usize::from(up.loose))
        })
        .sum();
    let found = u32::try_from(found).unwrap_or(u32::MAX);
    if state.closed.is_none() {
        Balance::Open
    } else if state.false_balance > 0 {
        Balance::False(state.false_balance)
    } else if missing > 0 {
        Balance::NotFound(missing)
    } else if found > 0 && !state.signed.is_empty() {
        Balance::Explained(found)
    } else {
        Balance::AddsUp
    }
}

/// A visit that a needle may be from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Fit {
    /// The session.
    pub session: EntryId,
    /// When it was opened.
    pub at: Wall,
    /// How many of that size it used; of any size where none was said.
    pub used: u32,
    /// What became of its count.
    pub balance: Balance,
}

/// The visits of a person that a needle of this size fits, the likeliest first: those that miss one,
/// then the latest. A visit that did not open such a needle is left out, unless its sizes were
/// never said.
#[must_use]
pub fn fits(ledger: &Ledger, person: EntryId, size: Option<Size>) -> Vec<Fit> {
    let mut fits = Vec::new();
    for (session, found) in ledger.sessions_of(person) {
        let state = found.state();
        let of_size = state
            .needles
            .values()
            .filter(|n| size.is_none() || n.size.is_none() || n.size == size);
        let used = u32::try_from(of_size.count()).unwrap_or(u32::MAX);
        let opened = state
            .packs
            .values()
            .any(|p| p.size.is_none() || size.is_none() || p.size == size);
        if !state.rehearsal && (used > 0 || opened) {
            fits.push(Fit {
                session,
                at: state.opened_at.unwrap_or_default(),
                used,
                balance: balance(state),
            });
        }
    }
    crate::base::flat::sort_by_key(&mut fits, |fit| {
        let missing = matches!(fit.balance, Balance::NotFound(_) | Balance::Open);
        (!missing, core::cmp::Reverse(fit.at), fit.session)
    });
    fits
}

/// What turned up of a person's visits: the session, when, and in words; and whether the count had
/// added up, which it then did falsely.
#[must_use]
pub fn turned_up(ledger: &Ledger, person: EntryId) -> Vec<(EntryId, Wall, String)> {
    let mut lines = Vec::new();
    let treated = ledger
        .sessions_of(person)
        .filter(|(_, s)| !s.state().rehearsal);
    for (id, found) in treated {
        for (_, at, up) in &found.state().turned_up {
            lines.push((id, *at, ACTS.up(up)));
        }
        let last = found.state().turned_up.iter().map(|(_, at, _)| *at).max();
        if let (Some(at), 1..) = (last, found.state().false_balance) {
            lines.push((id, at, ACTS.false_balance.to_string()));
        }
    }
    lines
}
