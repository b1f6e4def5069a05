//! When something was entered, and when it happened.

use super::body::Body;
use serde::{Deserialize, Serialize};

/// Milliseconds since 1970-01-01T00:00:00Z by the phone's wall clock. It can jump: people set
/// clocks. Never trusted alone; see [`Stamp`].
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize, Body,
)]
#[serde(transparent)]
pub struct Wall(pub i64);

impl Wall {
    /// Milliseconds from `earlier` to `self`; negative if the wall clock was set back.
    #[must_use]
    pub fn since(self, earlier: Self) -> i64 {
        self.0.saturating_sub(earlier.0)
    }

    /// This time moved by `millis`; saturates at the ends of the range.
    #[must_use]
    pub fn plus(self, millis: i64) -> Self {
        Self(self.0.saturating_add(millis))
    }
}

/// The desk's stamp on an entry: the only place where time enters the core.
///
/// `mono` is milliseconds since this run of the app started. It never goes back but may lose the
/// time a phone slept, and it means nothing in another run; the run is named by the replica in the
/// entry's id.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Default, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
pub struct Stamp {
    /// Wall clock.
    pub wall: Wall,
    /// Milliseconds since this run started.
    pub mono: i64,
    /// Minutes that local time is ahead of UTC, for printing only. Range -1440 to 1440.
    pub zone: i16,
}

/// When a fact happened, as far as anybody knows.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Default, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(rename_all = "snake_case")]
pub enum When {
    /// At the moment it was entered.
    #[default]
    Now,
    /// About then.
    About(Wall),
    /// Somewhere between these two.
    Between(Wall, Wall),
}

impl When {
    /// True for the default, so that a plain entry stays short in its file.
    #[must_use]
    pub fn is_now(&self) -> bool {
        *self == Self::Now
    }

    /// The earliest moment it may have happened, given the stamp of its entry. Elapsed time is
    /// measured from here: the reading that errs toward *too long in*.
    #[must_use]
    pub fn earliest(&self, entered: Wall) -> Wall {
        match *self {
            Self::Now => entered,
            Self::About(at) => at,
            Self::Between(a, b) => a.min(b),
        }
    }

    /// The latest moment it may have happened, given the stamp of its entry.
    #[must_use]
    pub fn latest(&self, entered: Wall) -> Wall {
        match *self {
            Self::Now => entered,
            Self::About(at) => at,
            Self::Between(a, b) => a.max(b),
        }
    }
}
