//! What other pages ask of a session that is not unpacked.

use super::Session;
use crate::base::id::EntryId;
use crate::base::stamp::Wall;
use alloc::string::String;
use alloc::vec::Vec;

/// A session in few words. It follows from the session's facts alone, so it is a cache: whoever
/// doubts it folds the facts again.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Summary {
    /// When it was opened.
    pub opened_at: Option<Wall>,
    /// Minutes local time was ahead of UTC then.
    pub zone: i16,
    /// Whose it is, if known.
    pub person: Option<EntryId>,
    /// A rehearsal.
    pub rehearsal: bool,
    /// Closed, and the close still holds.
    pub closed: bool,
    /// Still to be worked on: see [`Session::is_open`].
    pub open: bool,
    /// Some of it was sealed under a key that was destroyed.
    pub erased: bool,
    /// Needles in on purpose.
    pub stays_in: u32,
    /// The count of a region was entered twice, and nobody chose yet.
    pub two_totals: bool,
    /// Other sessions that a needle which turned up here may be from.
    pub fits: Vec<EntryId>,
    /// The lots of its packets that were said, each once, in order.
    pub lots: Vec<String>,
}

impl Session {
    /// Whether it is still to be closed. One whose facts were erased has no chair any more, unless
    /// something about needles was written down after it.
    #[must_use]
    pub fn is_open(&self) -> bool {
        let state = &self.state;
        state.closed.is_none() && !(state.erased && state.physical == 0)
    }

    /// The session in few words.
    #[must_use]
    pub fn summary(&self) -> Summary {
        let state = &self.state;
        let mut fits: Vec<EntryId> = Vec::new();
        for (_, _, up) in &state.turned_up {
            fits.extend(&up.fits);
        }
        let lots = state.packs.values().filter_map(|p| p.lot.clone());
        let lots: crate::base::flat::Set<String> = lots.collect();
        Summary {
            opened_at: state.opened_at,
            zone: state.zone,
            person: state.person,
            rehearsal: state.rehearsal,
            closed: state.closed.is_some(),
            open: self.is_open(),
            erased: state.erased,
            stays_in: state.sum.stays_in,
            two_totals: !state.two_totals.is_empty(),
            fits,
            lots: lots.into_iter().collect(),
        }
    }
}
