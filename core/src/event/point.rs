//! Points of the practice's own: described, and taken away.

use super::{Bounded, MANY};
use crate::atlas::{Area, Reach};
use crate::base::body::Body;
use alloc::string::String;
use alloc::vec::Vec;

/// What the code of every point of a practice's own begins with. No standard's does.
pub const OWN_POINT: &str = "OWN-";

/// A point of the practice's own was described, or described anew. The latest stands.
#[derive(Clone, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(deny_unknown_fields)]
pub struct Described {
    /// [`OWN_POINT`] and 1 to 12 capital letters or digits.
    pub code: String,
    /// What a person reads. 1 to 80 characters.
    pub name: String,
    /// Where it is needled and counted.
    pub area: Area,
    /// A pair, or on the midline.
    pub reach: Reach,
    /// Where it is and how it is found. 1 to 400 characters.
    pub words: String,
    /// The sets of points that rules speak of which it belongs to, by name, such as `ORBIT`. Sets of
    /// whole areas are not named: it belongs to them by its area.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub sets: Vec<String>,
    /// Where it is put on the front view, in tenths of a millimetre: the patient's left half for a
    /// pair, 0 across for the midline.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at: Option<(i16, i16)>,
    /// Least and greatest depth in micrometres; only with `source`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub depth: Option<(u32, u32)>,
    /// Where that is from, in the practice's words. Up to 400 characters.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub source: String,
}

/// A point of the practice's own was taken away, or put back.
#[derive(Clone, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(deny_unknown_fields)]
pub struct TakenAway {
    /// Its code.
    pub code: String,
    /// It is back.
    #[serde(default, skip_serializing_if = "core::ops::Not::not")]
    pub back: bool,
}

/// Whether a code is one that a practice may give.
#[must_use]
pub fn is_own(code: &str) -> bool {
    let tail = code.strip_prefix(OWN_POINT).unwrap_or_default();
    let plain = |b: u8| b.is_ascii_uppercase() || b.is_ascii_digit();
    (1..=12).contains(&tail.len()) && tail.bytes().all(plain)
}

impl Bounded for Described {
    fn check(&self) -> Result<(), &'static str> {
        if !is_own(&self.code) {
            return Err("point: not a code that a practice may give");
        }
        let longest = [&self.name, &self.words, &self.source]
            .iter()
            .any(|text| text.len() > 1_600);
        if longest || self.sets.len() > MANY || self.sets.iter().any(|set| set.len() > 40) {
            Err("point: too long")
        } else {
            Ok(())
        }
    }
}

impl Bounded for TakenAway {
    fn check(&self) -> Result<(), &'static str> {
        if is_own(&self.code) {
            Ok(())
        } else {
            Err("point: not a code that a practice may give")
        }
    }
}
