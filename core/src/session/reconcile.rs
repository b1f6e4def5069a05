//! Whether a session may be closed. The proof is a value that only this file can make.

use super::{Fate, State, TrayWhy};
use crate::atlas::{Area, Region};
use crate::base::flat;
use crate::event::session::SearchPlace;
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
    /// It holds facts that a newer build wrote.
    Unreadable,
    /// Some of its facts are damaged or were erased, and no word is written about it.
    Damaged,
    /// One round of taking out of this region was entered twice: choose one.
    TwoTotals(Region),
    /// These regions are to be counted by eye: somebody got up, or another took over.
    RecountDue(Vec<Region>),
    /// These areas were used and not swept by hand since.
    NotSwept(Vec<Area>),
    /// The tray is to be counted blind, for these reasons.
    TrayUncounted(Vec<TrayWhy>),
    /// The tray holds another number than came out, and no word is written about it.
    TrayDiffers,
    /// Something was not found, and these places were not looked at.
    NotSearched(Vec<SearchPlace>),
}

/// Which demands a session closed now has to meet; see [`crate::event::session::Closed::demands`].
pub(crate) const DEMANDS: u16 = 1;

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
pub(super) fn open_items(state: &State, words: Option<&str>, demands: u16) -> Vec<OpenItem> {
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
    let unaccounted = sum.open().saturating_sub(sum.unplaced_not_found);
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
    if state.damaged && !written(words) {
        open.push(OpenItem::Damaged);
    }
    for two in &state.two_totals {
        open.push(OpenItem::TwoTotals(two.region));
    }
    if demands > 0 {
        demanded(state, written(words), missing, &mut open);
    }
    open
}

/// What was not demanded of the first sessions.
fn demanded(state: &State, written: bool, missing: u32, open: &mut Vec<OpenItem>) {
    if !state.recount.is_empty() {
        open.push(OpenItem::RecountDue(
            state.recount.iter().copied().collect(),
        ));
    }
    let used = state.areas_used();
    let unswept: Vec<Area> = used
        .into_iter()
        .filter(|a| !state.swept.contains(a))
        .collect();
    if !unswept.is_empty() {
        open.push(OpenItem::NotSwept(unswept));
    }
    match &state.tray {
        None if !state.tray_asked.is_empty() => {
            open.push(OpenItem::TrayUncounted(state.tray_asked.clone()));
        }
        Some(tray) => {
            let n = u32::from(tray.tens).saturating_mul(10);
            if n.saturating_add(u32::from(tray.over)) != state.in_tray && !written {
                open.push(OpenItem::TrayDiffers);
            }
        }
        None => {}
    }
    if missing > 0 {
        let left = state.search_left();
        if !left.is_empty() {
            open.push(OpenItem::NotSearched(left));
        }
    }
}

impl State {
    /// Proof that this session may be closed.
    ///
    /// # Errors
    /// Everything that still stands in the way.
    pub fn reconcile(&self, words: Option<&str>) -> Result<Reconciled, Vec<OpenItem>> {
        let open = open_items(self, words, DEMANDS);
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

    /// The areas used today, in working order: exactly these are swept by hand.
    #[must_use]
    pub fn areas_used(&self) -> Vec<Area> {
        let used = |area: &Area| self.regions.keys().any(|region| region.area == *area);
        Area::ALL.iter().copied().filter(used).collect()
    }

    /// Places not looked at yet, for a needle that is missed.
    #[must_use]
    pub fn search_left(&self) -> Vec<SearchPlace> {
        let left = |place: &SearchPlace| !self.searched.contains(place);
        SearchPlace::ALL.iter().copied().filter(left).collect()
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
