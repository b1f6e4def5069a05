//! What is written down about copies: that one was made, that one was brought in, which of two facts
//! stands where two phones said different things, and what is left of somebody who was erased.

use super::session::IncidentKind;
use super::{Bounded, MANY};
use crate::base::body::Body;
use crate::base::date::Date;
use crate::base::id::EntryId;
use crate::journal::{Covered, Scope, Sum};
use crate::needle::Size;
use alloc::string::String;
use alloc::vec::Vec;

/// A copy was taken out that, with those before it, holds every line whose id comes before the one it
/// names. Number and sum say which lines those were, so that a journal which has others before it is
/// not taken to be covered: a merge may bring earlier ids at any time.
#[derive(Clone, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(deny_unknown_fields)]
pub struct Made {
    /// All of the journal, or what came since the copy before. Never a part that is no copy.
    pub scope: Scope,
    /// Which lines.
    pub covers: Covered,
}

/// Two facts about one matter, each written where the other was not known.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(deny_unknown_fields)]
pub struct Pair {
    /// The one that stood here.
    pub here: EntryId,
    /// The one that came.
    pub there: EntryId,
}

/// A copy was brought in.
#[derive(Clone, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(deny_unknown_fields)]
pub struct Brought {
    /// How many entries were new here.
    pub entries: u32,
    /// Where the two disagreed. From an order of ids alone it could not be told afterwards which of two
    /// facts was written in the knowledge of the other.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub differ: Vec<Pair>,
}

/// Where two facts disagree, one was chosen. The latest choice holds.
#[derive(Clone, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(deny_unknown_fields)]
pub struct Settled {
    /// The fact that stands.
    pub stands: EntryId,
    /// The facts that do not, all of them written before this one.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub over: Vec<EntryId>,
    /// Of two texts of one id: the sum of the line that stands.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub text: Option<Sum>,
}

/// Packets of one lot and size that were opened on one day.
#[derive(Clone, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(deny_unknown_fields)]
pub struct LotUse {
    /// The day.
    pub day: Date,
    /// The lot printed on them; empty if it was not written down.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub lot: String,
    /// Their size, if said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub size: Option<Size>,
    /// How many packets.
    pub packets: u16,
    /// How many needles they held.
    pub needles: u16,
}

/// What is left of somebody who was erased: lots and what went wrong, in numbers, and nothing that
/// leads to them.
#[derive(Clone, Debug, Default, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(deny_unknown_fields)]
pub struct Residue {
    /// Lots used.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub lots: Vec<LotUse>,
    /// How often what went wrong.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub incidents: Vec<(IncidentKind, u16)>,
    /// Needles that were looked for and not found.
    #[serde(default, skip_serializing_if = "is_none")]
    pub not_found: u16,
}

#[cfg(test)]
#[expect(
    clippy::trivially_copy_pass_by_ref,
    reason = "serde passes a reference"
)]
fn is_none(n: &u16) -> bool {
    *n == 0
}

impl Bounded for Made {
    fn check(&self) -> Result<(), &'static str> {
        match self.scope {
            Scope::Whole | Scope::Since => Ok(()),
            Scope::Person | Scope::Procedures => Err("scope: a part is no copy"),
        }
    }
}

impl Bounded for Brought {
    fn check(&self) -> Result<(), &'static str> {
        if self.differ.len() > MANY {
            return Err("differ: too many");
        }
        Ok(())
    }
}

impl Bounded for Settled {
    fn check(&self) -> Result<(), &'static str> {
        if self.over.len() > MANY || self.over.contains(&self.stands) {
            return Err("over: too many, or the one that stands");
        }
        if self.over.is_empty() == self.text.is_none() {
            return Err("settled: over other facts, or over another text");
        }
        Ok(())
    }
}

impl Bounded for Residue {
    fn check(&self) -> Result<(), &'static str> {
        if self.lots.len() > MANY || self.incidents.len() > MANY {
            return Err("residue: too many");
        }
        if self.lots.iter().any(|lot| lot.lot.len() > 80) {
            return Err("lot: too long");
        }
        Ok(())
    }
}
