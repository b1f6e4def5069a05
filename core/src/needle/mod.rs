//! L1. Needles as the trade sizes them: diameter and length in whole micrometres.

use crate::base::units::Micrometres;
use serde::{Deserialize, Serialize};

/// What sort of needle. Filiform needles are covered by ISO 17218:2014, intradermal needles by
/// ISO 18746:2016 (both read: scope and contents only).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// The ordinary fine needle with a handle.
    Filiform,
    /// A tiny needle lying in the skin.
    Intradermal,
}

/// A needle's size. No ordering by label is offered: gauge numbers grow as needles get thinner,
/// other label systems the other way round; the diameter can be compared.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct Size {
    /// What sort of needle.
    pub kind: Kind,
    /// Diameter of the body.
    pub diameter: Micrometres,
    /// Length of the body.
    pub length: Micrometres,
}
