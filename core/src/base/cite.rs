//! A figure with its source and mark. A clinical figure without one is a defect.

use super::body::Body;
use super::pack::Pack;
use serde::{Deserialize, Serialize};

/// How well a figure is supported. Carried over from the reference, never upgraded.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, Pack, Body,
)]
#[serde(rename_all = "snake_case")]
pub enum Mark {
    /// Seen in the source named.
    Read,
    /// Recalled, not confirmed.
    Memory,
    /// Trade custom, no single source.
    CommonPractice,
    /// Worked out from marked figures.
    Derived,
    /// A number that someone had to choose; no source fixes it.
    Policy,
    /// Set by a practice for itself. Never in a data file of Pinfold's: no such figure was looked at here.
    Own,
}

impl Mark {
    /// The word printed beside a figure.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Read => "read",
            Self::Memory => "memory",
            Self::CommonPractice => "common practice",
            Self::Derived => "derived",
            Self::Policy => "policy",
            Self::Own => "set by a practice",
        }
    }
}
