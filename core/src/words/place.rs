//! Names of places on the body. Left and right are the patient's.

use crate::atlas::{Area, Region, Side};
use alloc::format;
use alloc::string::{String, ToString};

/// Names of areas and sides.
#[expect(missing_docs, reason = "each field is named as its area or side")]
pub struct PlaceWords {
    pub hands_arms: &'static str,
    pub legs_feet: &'static str,
    pub trunk: &'static str,
    pub scalp: &'static str,
    pub ear: &'static str,
    pub forehead: &'static str,
    pub eye_rim: &'static str,
    pub cheek: &'static str,
    pub mouth_jaw: &'static str,
    pub neck: &'static str,
    pub right: &'static str,
    pub left: &'static str,
    pub patients: &'static str,
    pub patients_word: &'static str,
}

/// English.
pub const EN: PlaceWords = PlaceWords {
    hands_arms: "Hands, arms",
    legs_feet: "Legs, feet",
    trunk: "Trunk",
    scalp: "Scalp",
    ear: "Ear",
    forehead: "Forehead",
    eye_rim: "Eye rim",
    cheek: "Cheek",
    mouth_jaw: "Mouth, jaw",
    neck: "Neck",
    right: "R",
    left: "L",
    patients: "Patient's",
    patients_word: "patient's",
};

impl PlaceWords {
    /// An area on its own: "Cheek".
    #[must_use]
    pub const fn area(&self, area: Area) -> &'static str {
        match area {
            Area::HandsArms => self.hands_arms,
            Area::LegsFeet => self.legs_feet,
            Area::Trunk => self.trunk,
            Area::Scalp => self.scalp,
            Area::Ear => self.ear,
            Area::Forehead => self.forehead,
            Area::EyeRim => self.eye_rim,
            Area::Cheek => self.cheek,
            Area::MouthJaw => self.mouth_jaw,
            Area::Neck => self.neck,
        }
    }

    /// A region as it stands in rows: "L cheek", "Mouth, jaw".
    #[must_use]
    pub fn region(&self, region: Region) -> String {
        let area = self.area(region.area);
        match region.side {
            Side::Right => format!("{} {}", self.right, area.to_lowercase()),
            Side::Left => format!("{} {}", self.left, area.to_lowercase()),
            Side::Both | Side::Centre => area.to_string(),
        }
    }

    /// What stands before a region in titles and questions, for one that has a side: "Patient's".
    #[must_use]
    pub const fn whose(&self, region: Region) -> &'static str {
        match region.side {
            Side::Right | Side::Left => self.patients,
            Side::Both | Side::Centre => "",
        }
    }
}
