//! L1. Needles as the trade sizes them: diameter and length in whole micrometres.

use crate::base::body::Body;
use crate::base::cite::Mark;
use crate::base::data::{BadData, read};
use crate::base::pack;
use crate::base::units::Micrometres;
use alloc::format;
use alloc::string::{String, ToString};
use alloc::vec::Vec;
use core::fmt;
use serde::{Deserialize, Serialize};

/// What sort of needle. Filiform needles are covered by ISO 17218:2014, intradermal needles by
/// ISO 18746:2016 (both read: scope and contents only).
#[derive(
    Clone,
    Copy,
    Debug,
    PartialEq,
    Eq,
    PartialOrd,
    Ord,
    Hash,
    Serialize,
    Deserialize,
    pack::Pack,
    Body,
)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// The ordinary fine needle with a handle.
    Filiform,
    /// A tiny needle lying in the skin.
    Intradermal,
}

/// A needle's size. No ordering by label is offered: gauge numbers grow as needles get thinner,
/// other label systems the other way round; the diameter can be compared.
#[derive(
    Clone,
    Copy,
    Debug,
    PartialEq,
    Eq,
    PartialOrd,
    Ord,
    Hash,
    Serialize,
    Deserialize,
    pack::Pack,
    Body,
)]
#[serde(deny_unknown_fields)]
pub struct Size {
    /// What sort of needle.
    pub kind: Kind,
    /// Diameter of the body.
    pub diameter: Micrometres,
    /// Length of the body.
    pub length: Micrometres,
}

impl fmt::Display for Size {
    /// As the trade writes it: "0.16 × 25 mm", diameter always with two places at least.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let diameter = decimal_mm(self.diameter, 2);
        let length = decimal_mm(self.length, 0);
        write!(f, "{diameter} × {length} mm")
    }
}

/// Micrometres as millimetres in decimal, exact, with at least so many places (at most 3).
#[must_use]
pub fn decimal_mm(length: Micrometres, least_places: usize) -> String {
    let whole = length.0 / 1000;
    let mut frac = format!("{:03}", length.0 % 1000);
    while frac.len() > least_places && frac.ends_with('0') {
        frac.pop();
    }
    if frac.is_empty() {
        whole.to_string()
    } else {
        format!("{whole}.{frac}")
    }
}

/// How many needles come in one sealed packet. Common practice knows these three.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, pack::Pack,
)]
#[serde(try_from = "u16", into = "u16")]
pub enum Pack {
    /// Singly.
    One,
    /// A strip of five.
    Five,
    /// A strip of ten.
    Ten,
}

impl Pack {
    /// Every pack, largest first.
    pub const LARGEST_FIRST: [Self; 3] = [Self::Ten, Self::Five, Self::One];

    /// Needles in it.
    #[must_use]
    pub const fn needles(self) -> u16 {
        match self {
            Self::One => 1,
            Self::Five => 5,
            Self::Ten => 10,
        }
    }
}

/// A packet size that the trade does not have.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("needles come in packets of 1, 5 or 10")]
pub struct BadPack;

impl TryFrom<u16> for Pack {
    type Error = BadPack;
    fn try_from(needles: u16) -> Result<Self, BadPack> {
        Self::LARGEST_FIRST
            .into_iter()
            .find(|pack| pack.needles() == needles)
            .ok_or(BadPack)
    }
}

impl From<Pack> for u16 {
    fn from(pack: Pack) -> Self {
        pack.needles()
    }
}

/// A printed label for a diameter, with its mark.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, pack::Pack)]
pub struct Label {
    /// What is printed: "40".
    pub label: String,
    /// How well it is supported.
    pub mark: Mark,
}

/// The labels met for one diameter. Three numberings collide, so millimetres are what counts.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, pack::Pack)]
pub struct Gauge {
    /// The diameter.
    pub diameter: Micrometres,
    /// On packs sold in the West.
    #[serde(default)]
    pub west: Option<Label>,
    /// The Japanese number.
    #[serde(default)]
    pub japanese: Option<Label>,
    /// The older domestic gauge of China.
    #[serde(default)]
    pub domestic: Option<Label>,
    /// What else was met for this diameter, in words with marks.
    #[serde(default)]
    pub also: Option<String>,
    /// Where from.
    pub source: String,
}

/// A size that can be planned with.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, pack::Pack)]
pub struct Stocked {
    /// The stable name in files: "0.16x25".
    pub id: String,
    /// Diameter and length.
    pub size: Size,
    /// The packets it comes in.
    pub packs: Vec<Pack>,
    /// What it is commonly taken for.
    #[serde(rename = "use")]
    pub taken_for: String,
    /// Where that is from.
    pub source: String,
    /// How well it is supported.
    pub mark: Mark,
}

/// Every size and gauge label in the program.
#[derive(Clone, Debug, Serialize, Deserialize, pack::Pack)]
pub struct Needles {
    sizes: Vec<Stocked>,
    gauges: Vec<Gauge>,
}

impl Needles {
    /// Reads the needle sizes inside the program.
    ///
    /// # Errors
    /// [`BadData`] if the program is damaged.
    pub fn load() -> Result<Self, BadData> {
        read(
            "needles",
            include_str!(concat!(env!("OUT_DIR"), "/needles.json")),
        )
    }

    /// Every size, in the order of the data file.
    #[must_use]
    pub fn sizes(&self) -> &[Stocked] {
        &self.sizes
    }

    /// The size with this stable name.
    #[must_use]
    pub fn get(&self, id: &str) -> Option<&Stocked> {
        self.sizes.iter().find(|size| size.id == id)
    }

    /// The labels met for a diameter.
    #[must_use]
    pub fn gauge(&self, diameter: Micrometres) -> Option<&Gauge> {
        self.gauges.iter().find(|gauge| gauge.diameter == diameter)
    }

    /// Every diameter with its labels, thinnest first.
    #[must_use]
    pub fn gauges(&self) -> &[Gauge] {
        &self.gauges
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sizes_are_written_as_the_trade_writes_them() {
        let size = |diameter, length| Size {
            kind: Kind::Filiform,
            diameter: Micrometres(diameter),
            length: Micrometres(length),
        };
        assert_eq!(size(160, 25_000).to_string(), "0.16 × 25 mm");
        assert_eq!(size(200, 600).to_string(), "0.20 × 0.6 mm");
        assert_eq!(size(125, 13_000).to_string(), "0.125 × 13 mm");
    }

    #[test]
    fn ids_say_what_the_size_is_and_every_size_has_a_gauge_row() {
        let needles = Needles::load().unwrap();
        for row in needles.sizes() {
            let id = format!(
                "{}x{}",
                decimal_mm(row.size.diameter, 2),
                decimal_mm(row.size.length, 0)
            );
            assert_eq!(row.id, id);
            assert!(needles.gauge(row.size.diameter).is_some(), "{id}");
            assert!(!row.packs.is_empty(), "{id}");
        }
        assert!(needles.get("0.17x25").is_none());
        assert_eq!(Pack::try_from(7), Err(BadPack));
    }
}
