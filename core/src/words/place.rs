//! Names of places on the body. Left and right are the patient's.

use crate::atlas::{Area, Region, Side};
use alloc::format;
use alloc::string::{String, ToString};
use alloc::vec::Vec;

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
            side @ (Side::Right | Side::Left) => {
                // The first letters of areas are plain ones, and case tables are 3 kB.
                format!("{} {}", self.side(side), area.to_ascii_lowercase())
            }
            Side::Both | Side::Centre => area.to_string(),
        }
    }

    /// The letter of a side; nothing for a point that has none.
    #[must_use]
    pub const fn side(&self, side: Side) -> &'static str {
        match side {
            Side::Right => self.right,
            Side::Left => self.left,
            Side::Both | Side::Centre => "",
        }
    }

    /// Points in a row, in their order, each once with the sides it has: "LI4 R L, GV20".
    #[must_use]
    pub fn points<'a>(&self, points: impl IntoIterator<Item = (&'a str, Side)>) -> String {
        let mut rows: Vec<(&str, String)> = Vec::new();
        for (code, side) in points {
            let letter = self.side(side);
            match rows.iter_mut().find(|(named, _)| *named == code) {
                Some((_, sides)) if !letter.is_empty() => {
                    sides.push(' ');
                    sides.push_str(letter);
                }
                Some(_) => {}
                None if letter.is_empty() => rows.push((code, code.into())),
                None => rows.push((code, format!("{code} {letter}"))),
            }
        }
        let mut out = String::new();
        for (_, row) in rows {
            if !out.is_empty() {
                out.push_str(", ");
            }
            out.push_str(&row);
        }
        out
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn points_stand_once_with_the_sides_they_have() {
        let row = [
            ("LI4", Side::Right),
            ("LI4", Side::Left),
            ("GV20", Side::Centre),
            ("ST3", Side::Left),
        ];
        assert_eq!(EN.points(row), "LI4 R L, GV20, ST3 L");
        assert_eq!(EN.points([]), "");
    }
}
