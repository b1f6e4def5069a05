//! Whole-number units. Lengths are micrometres, doses milligrams or micrograms, times seconds or
//! milliseconds: no float reaches a fact, and none is printed.

use super::body::Body;
use super::pack::Pack;
use serde::{Deserialize, Serialize};

/// A length in whole micrometres (1 mm = 1000 µm). Range 0 to 4 294 967 295.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, Pack, Body,
)]
#[serde(transparent)]
pub struct Micrometres(pub u32);

impl Micrometres {
    /// From whole millimetres; saturates at the largest length that can be held.
    #[must_use]
    pub const fn from_mm(mm: u32) -> Self {
        Self(mm.saturating_mul(1000))
    }
}

/// A span of whole seconds.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, Pack, Body,
)]
#[serde(transparent)]
pub struct Seconds(pub u32);

impl Seconds {
    /// From whole minutes; saturates.
    #[must_use]
    pub const fn from_minutes(minutes: u32) -> Self {
        Self(minutes.saturating_mul(60))
    }

    /// The same span in milliseconds.
    #[must_use]
    pub fn as_millis(self) -> i64 {
        i64::from(self.0).saturating_mul(1000)
    }
}
