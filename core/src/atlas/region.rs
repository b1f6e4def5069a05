//! Sides, areas and regions: the places needles are counted by. Left and right are the patient's.

use crate::base::body::{Body, Reader, Writer};
use crate::base::pack::Pack;
use alloc::string::String;
use core::fmt;
use core::str::FromStr;
use serde::{Deserialize, Deserializer, Serialize, Serializer};

/// The patient's side.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, Pack, Body,
)]
#[serde(rename_all = "snake_case")]
pub enum Side {
    /// The patient's right.
    Right,
    /// The patient's left.
    Left,
    /// On both sides: a pair.
    Both,
    /// On the midline.
    Centre,
}

macro_rules! areas {
    ($($(#[$doc:meta])* $name:ident = $text:literal),* $(,)?) => {
        /// A part of the body that is needled, cleared and counted as one. In the order it is
        /// usually worked: hands and arms first, for comfort (common practice).
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Pack)]
        pub enum Area { $($(#[$doc])* $name),* }

        impl Area {
            /// Every area, in order.
            pub const ALL: &'static [Self] = &[$(Self::$name),*];

            /// The stable name in files.
            #[must_use]
            pub const fn name(self) -> &'static str {
                match self { $(Self::$name => $text),* }
            }

            /// Reads a stable name.
            #[must_use]
            pub fn from_name(text: &str) -> Option<Self> {
                match text { $($text => Some(Self::$name),)* _ => None }
            }
        }
    };
}

areas! {
    /// Hands, wrists, forearms, elbows.
    HandsArms = "hands_arms",
    /// Legs, ankles, feet.
    LegsFeet = "legs_feet",
    /// Chest, belly, back.
    Trunk = "trunk",
    /// Under the hair, front hairline to occiput. The hair hides needles.
    Scalp = "scalp",
    /// The ear.
    Ear = "ear",
    /// Front hairline to brow.
    Forehead = "forehead",
    /// Brow, temple corner and the rim of the orbit.
    EyeRim = "eye_rim",
    /// Cheek and side of the nose.
    Cheek = "cheek",
    /// Lips, chin and jaw.
    MouthJaw = "mouth_jaw",
    /// Front, side and back of the neck.
    Neck = "neck",
}

/// One area on one side: the unit of placing, clocks and taking out. Written `cheek.left`.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Pack)]
pub struct Region {
    /// The part of the body.
    pub area: Area,
    /// The patient's side; `Both` when the two sides are worked and counted as one.
    pub side: Side,
}

/// Text that does not name a region.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("not a region")]
pub struct BadRegion;

impl Side {
    /// The stable name in files.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Right => "right",
            Self::Left => "left",
            Self::Both => "both",
            Self::Centre => "centre",
        }
    }

    /// Reads a stable name.
    #[must_use]
    pub fn from_name(text: &str) -> Option<Self> {
        match text {
            "right" => Some(Self::Right),
            "left" => Some(Self::Left),
            "both" => Some(Self::Both),
            "centre" => Some(Self::Centre),
            _ => None,
        }
    }
}

impl Region {
    /// Its halves, the patient's right first: what a question about places is answered by.
    #[must_use]
    pub const fn halves(self) -> &'static [Side] {
        match self.side {
            Side::Right => &[Side::Right],
            Side::Left => &[Side::Left],
            Side::Both | Side::Centre => &[Side::Right, Side::Left],
        }
    }
}

impl fmt::Display for Region {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}.{}", self.area.name(), self.side.name())
    }
}

impl fmt::Debug for Region {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

impl FromStr for Region {
    type Err = BadRegion;
    fn from_str(text: &str) -> Result<Self, BadRegion> {
        let (area, side) = text.split_once('.').ok_or(BadRegion)?;
        Ok(Self {
            area: Area::from_name(area).ok_or(BadRegion)?,
            side: Side::from_name(side).ok_or(BadRegion)?,
        })
    }
}

impl Body for Region {
    fn write(&self, out: &mut Writer) {
        out.shown(self);
    }
    fn read(from: &mut Reader<'_>) -> Self {
        from.parsed(Self {
            area: Area::HandsArms,
            side: Side::Both,
        })
    }
}

impl Body for Area {
    fn write(&self, out: &mut Writer) {
        out.text(self.name());
    }
    fn read(from: &mut Reader<'_>) -> Self {
        let name = from.text();
        from.or(Self::from_name(&name), Self::HandsArms)
    }
}

impl Serialize for Region {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Region {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = String::deserialize(deserializer)?;
        text.parse().map_err(serde::de::Error::custom)
    }
}

impl Serialize for Area {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.name())
    }
}

impl<'de> Deserialize<'de> for Area {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = String::deserialize(deserializer)?;
        Self::from_name(&text).ok_or_else(|| serde::de::Error::custom("not an area of the body"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_region_reads_back() {
        for &area in Area::ALL {
            for side in [Side::Right, Side::Left, Side::Both, Side::Centre] {
                let region = Region { area, side };
                assert_eq!(alloc::format!("{region}").parse(), Ok(region));
            }
        }
        assert_eq!("cheek".parse::<Region>(), Err(BadRegion));
        assert_eq!("chin.left".parse::<Region>(), Err(BadRegion));
    }
}
