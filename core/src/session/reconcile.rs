//! Whether a session may be closed. The proof is a value that only this file can make.

use super::{Fate, State};
use crate::base::flat;
use crate::needle::Size;
use alloc::string::String;
use alloc::vec::Vec;

/// What still stands in the way of closing.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum OpenItem {
    /// So many needles are in.
    StillIn(u32),
    /// So many came out in a hurry and were not counted yet.
    Uncounted(u32),
    /// So many were opened and nobody has said what became of them.
    Unaccounted(u32),
    /// The strips of this size have not been counted since they were last handled.
    StripsUncounted(Option<Size>),
    /// So many were seen that no entered packet explains, and no word is written about it.
    MoreThanOpened(u32),
    /// So many were not found, and no word is written about it.
    NotFoundUnsigned(u32),
    /// So many applications of cream are not recorded as wiped off.
    CreamOn(u32),
    /// It holds facts this build cannot read.
    Unreadable,
}

/// Proof that a session adds up, or that what does not was searched for and signed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reconciled {
    words: Option<String>,
}

impl Reconciled {
    /// What was written about anything that did not add up.
    #[must_use]
    pub fn words(&self) -> Option<&str> {
        self.words.as_deref()
    }
}

/// A reason is at least this many characters: a few words.
const FEW_WORDS: usize = 8;

fn written(words: Option<&str>) -> bool {
    words.is_some_and(|w| w.trim().chars().count() >= FEW_WORDS)
}

/// What still stands in the way; empty if nothing does.
pub(super) fn open_items(state: &State, words: Option<&str>) -> Vec<OpenItem> {
    let sum = &state.sum;
    let mut open = Vec::new();
    if sum.in_now > 0 {
        open.push(OpenItem::StillIn(sum.in_now));
    }
    if sum.out_uncounted > 0 {
        open.push(OpenItem::Uncounted(sum.out_uncounted));
    }
    let sizes: flat::Set<Option<Size>> = state.packs.values().map(|p| p.size).collect();
    for size in sizes {
        if !state.strips.contains_key(&size) {
            open.push(OpenItem::StripsUncounted(size));
        }
    }
    let unaccounted = sum.unaccounted.saturating_sub(sum.unplaced_not_found);
    if unaccounted > 0 {
        open.push(OpenItem::Unaccounted(unaccounted));
    }
    let signed = state.signed.iter().any(|s| written(Some(s)));
    let missing = sum.not_found.saturating_add(sum.unplaced_not_found);
    if missing > 0 && !signed && !written(words) {
        open.push(OpenItem::NotFoundUnsigned(missing));
    }
    if sum.packless > 0 && !written(words) {
        open.push(OpenItem::MoreThanOpened(sum.packless));
    }
    let creams = state.creams.iter().filter(|c| c.off.is_none()).count();
    if creams > 0 {
        open.push(OpenItem::CreamOn(u32::try_from(creams).unwrap_or(u32::MAX)));
    }
    if state.read_only {
        open.push(OpenItem::Unreadable);
    }
    open
}

impl State {
    /// Proof that this session may be closed.
    ///
    /// # Errors
    /// Everything that still stands in the way.
    pub fn reconcile(&self, words: Option<&str>) -> Result<Reconciled, Vec<OpenItem>> {
        let open = open_items(self, words);
        let words = words
            .map(str::trim)
            .filter(|w| !w.is_empty())
            .map(Into::into);
        if open.is_empty() {
            Ok(Reconciled { words })
        } else {
            Err(open)
        }
    }

    /// The needles of a region that are in, first in first.
    pub fn in_region(
        &self,
        region: crate::atlas::Region,
    ) -> impl Iterator<Item = crate::base::id::NeedleId> {
        self.needles
            .iter()
            .filter(move |(_, n)| n.region == region && n.fate == Fate::In)
            .map(|(&id, _)| id)
    }
}
