//! A point: where it is, how it is found, how deep textbooks go, what lies near, and who says so.

use super::region::{Area, Side};
use crate::base::body::Body;
use crate::base::cite::Mark;
use crate::base::pack::Pack;
use crate::base::units::Micrometres;
use alloc::string::String;
use alloc::vec::Vec;
use serde::{Deserialize, Serialize};

/// What sort of name a point has.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, Pack,
)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// One of the 361 channel points of WHO 2008.
    Channel,
    /// An extra point of the WHO nomenclature.
    Extra,
    /// A site of our own or of the practice: in no standard.
    Own,
}

/// How often a point occurs on a body.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, Pack, Body,
)]
#[serde(rename_all = "snake_case")]
pub enum Reach {
    /// Once on each side: two needles when both are taken.
    Pair,
    /// Once, on the midline.
    Midline,
    /// Four round a centre on the midline (EX-HN1): four needles.
    Four,
}

impl Reach {
    /// How many needles this side takes; 0 when the point has no such side.
    #[must_use]
    pub fn needles(self, side: Side) -> u16 {
        match (self, side) {
            (Self::Pair, Side::Both) => 2,
            (Self::Pair, Side::Right | Side::Left) | (Self::Midline, Side::Centre) => 1,
            (Self::Four, Side::Centre) => 4,
            _ => 0,
        }
    }
}

/// Sets of points that screening speaks of. The grouping is policy; which points belong is in the
/// data file.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, Pack,
)]
#[serde(rename_all = "snake_case")]
pub enum Group {
    /// Within the orbit.
    Orbit,
    /// On its rim and the brow.
    Rim,
    /// Front and side of the neck.
    NeckFront,
    /// Back of the neck.
    NeckBack,
    /// Left out in pregnancy by custom.
    PregnancyCustom,
}

/// The unit of an offset. The two never mix: each has its own length on each person.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, Pack,
)]
#[serde(rename_all = "snake_case")]
pub enum Unit {
    /// A part of a measured segment of the person's own body.
    BCun,
    /// A finger unit: the person's own finger.
    FCun,
}

/// A distance in proportional or finger units.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize, Pack)]
pub struct Offset {
    /// In hundredths of the unit: 150 is one and a half.
    pub hundredths: u16,
    /// Which unit.
    pub unit: Unit,
}

/// One way a point is found: from a landmark, in a direction, perhaps by a distance.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, Pack)]
pub struct Site {
    /// What is felt or seen.
    pub landmark: String,
    /// From the landmark toward the point, in anatomical words. On the scalp "superior" means along
    /// the skin toward the crown. Absent: on the landmark itself, or no direction is given.
    #[serde(default)]
    pub axis: Option<String>,
    /// How far. Absent where the standard gives no figure.
    #[serde(default)]
    pub offset: Option<Offset>,
    /// The segment whose unit the offset counts in, by id. Absent where none is measured there.
    #[serde(default)]
    pub segment: Option<String>,
}

/// Something said of a point, with a mark of its own: what a needle could harm there, a custom that
/// bars it, what lies under the skin.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, Pack)]
pub struct Hazard {
    /// How well it is supported; not always as well as the point.
    pub mark: Mark,
    /// In words, with the study where one was read.
    pub words: String,
}

/// One point of the atlas.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, Pack)]
pub struct Point {
    /// As the standard writes it: "LI4", "EX-HN3"; our own have a code of our own.
    pub code: String,
    /// Pinyin name, or a plain name for our own.
    pub name: String,
    /// What sort of name it has.
    pub kind: Kind,
    /// Where it is needled and counted.
    pub area: Area,
    /// Pair, midline or four.
    pub reach: Reach,
    /// The sets it belongs to.
    #[serde(default)]
    pub groups: Vec<Group>,
    /// Where it is, in our own words.
    pub words: String,
    /// How it is found: one or two bearings.
    pub sites: Vec<Site>,
    /// Least and greatest depth in general textbooks. No cosmetic advice and no safety limit.
    /// Absent where none was read.
    #[serde(default)]
    pub depth: Option<(Micrometres, Micrometres)>,
    /// Least and greatest angle to the skin in degrees, from the words perpendicular 90, oblique 45,
    /// transverse 15 (mapping from memory).
    #[serde(default)]
    pub angle: Option<(u8, u8)>,
    /// What to mind.
    #[serde(default)]
    pub hazards: Vec<Hazard>,
    /// What lies under the skin: muscles and other layers. Standard anatomy, marked one by one; empty
    /// where nothing was read or recalled.
    #[serde(default)]
    pub layer: Vec<Hazard>,
    /// Vessels and nerves near by, in the same way.
    #[serde(default)]
    pub nearby: Vec<Hazard>,
    /// Where name, site, offsets, depth and angle come from. Keys: [`super::sources`].
    pub source: String,
    /// How well they are supported. The source may call a single figure recalled.
    pub mark: Mark,
}

impl Point {
    /// Whether it belongs to a set.
    #[must_use]
    pub fn is_in(&self, group: Group) -> bool {
        self.groups.contains(&group)
    }
}

/// What a source key stands for.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, Pack)]
pub struct Source {
    /// As in source cells.
    pub key: String,
    /// Author, title, place.
    pub text: String,
    /// How it was seen, with marks.
    pub seen: String,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pair_is_two_needles_and_sishencong_four() {
        assert_eq!(Reach::Pair.needles(Side::Both), 2);
        assert_eq!(Reach::Pair.needles(Side::Left), 1);
        assert_eq!(Reach::Pair.needles(Side::Centre), 0);
        assert_eq!(Reach::Midline.needles(Side::Centre), 1);
        assert_eq!(Reach::Midline.needles(Side::Both), 0);
        assert_eq!(Reach::Four.needles(Side::Centre), 4);
    }
}
