//! L1. Where things are on a body: sides, areas, regions, and the points with their sources.

pub mod face;
pub mod point;
pub mod region;

pub use face::{Drawn, Face, Skin, Spot};
pub use point::{Group, Hazard, Kind, Offset, Point, Reach, Site, Source, Unit};
pub use region::{Area, Region, Side};

use crate::base::data::{BadData, read};
use crate::base::flat;
use alloc::string::{String, ToString};
use alloc::vec::Vec;

/// All points, standard and our own, in the order of the data file, and where they are drawn.
#[derive(Clone, Debug)]
pub struct Atlas {
    points: Vec<Point>,
    by_code: flat::Map<String, usize>,
    face: Face,
}

impl Atlas {
    /// Reads the atlas inside the program: 97 points with a code in the WHO nomenclature, and a few
    /// sites of our own.
    ///
    /// # Errors
    /// [`BadData`] if the program is damaged.
    pub fn load() -> Result<Self, BadData> {
        let points = read(
            "points",
            include_str!(concat!(env!("OUT_DIR"), "/points.json")),
        )?;
        Ok(Self::new(points, Face::load()?))
    }

    /// An atlas of these points. A later point with the code of an earlier one takes its place in
    /// look-ups: this is how a practice's own wording goes over ours.
    #[must_use]
    pub fn new(points: Vec<Point>, face: Face) -> Self {
        let by_code = points
            .iter()
            .enumerate()
            .map(|(at, point)| (point.code.clone(), at))
            .collect();
        Self {
            points,
            by_code,
            face,
        }
    }

    /// The same atlas with a practice's own points added.
    #[must_use]
    pub fn with_own(mut self, own: impl IntoIterator<Item = Point>) -> Self {
        self.points.extend(own);
        Self::new(self.points, self.face)
    }

    /// The point with this code, written as the standard writes it.
    #[must_use]
    pub fn get(&self, code: &str) -> Option<&Point> {
        self.by_code.get(code).and_then(|&at| self.points.get(at))
    }

    /// Every point, in the order of the data file.
    pub fn points(&self) -> impl Iterator<Item = &Point> {
        self.points.iter()
    }

    /// Where points are drawn on the front view.
    #[must_use]
    pub fn face(&self) -> &Face {
        &self.face
    }

    /// Points whose code, name, words, area or muscle contain every word of `query`, case ignored; codes
    /// may be typed without hyphen ("exhn3"). Exact codes first, then codes and names that begin
    /// so, then the rest; otherwise in atlas order. An empty query finds everything.
    #[must_use]
    pub fn search(&self, query: &str) -> Vec<&Point> {
        let query = query.to_ascii_lowercase();
        let words: Vec<&str> = query.split_whitespace().collect();
        let mut found: Vec<(u8, &Point)> = self
            .points
            .iter()
            .filter_map(|point| Some((rank(point, &words)?, point)))
            .collect();
        flat::sort_by_key(&mut found, |&(rank, _)| rank);
        found.into_iter().map(|(_, point)| point).collect()
    }
}

/// How well a point answers the words: 0 is best, `None` not at all. The worst word counts.
fn rank(point: &Point, words: &[&str]) -> Option<u8> {
    let code = point.code.to_ascii_lowercase();
    let plain = code.replace('-', "");
    let name = point.name.to_ascii_lowercase();
    let rest = point.words.to_ascii_lowercase();
    let area = point.area.name().replace('_', " ");
    let layer = point.layer.iter().map(|said| said.words.as_str());
    let layer = layer.collect::<Vec<_>>().join(" ").to_ascii_lowercase();
    let mut worst = 0;
    for word in words {
        let bare = word.replace('-', "");
        let one = if plain == bare {
            0
        } else if plain.starts_with(&bare) || name.starts_with(word) {
            1
        } else if name.contains(word)
            || area.contains(word)
            || rest.contains(word)
            || layer.contains(word)
        {
            2
        } else {
            return None;
        };
        worst = worst.max(one);
    }
    Some(worst)
}

/// What the source keys in points stand for.
///
/// # Errors
/// [`BadData`] if the program is damaged.
pub fn sources() -> Result<Vec<Source>, BadData> {
    read(
        "point sources",
        include_str!(concat!(env!("OUT_DIR"), "/point-sources.json")),
    )
}

/// The source keys named in a source cell, in order, each once.
#[must_use]
pub fn source_keys(cell: &str) -> Vec<String> {
    let mut keys: Vec<String> = Vec::new();
    for word in cell.split(|c: char| !(c.is_ascii_alphanumeric() || c == '-')) {
        let is_key = word.starts_with("S-")
            || word == "WHO08"
            || (word.len() == 3 && word.starts_with("TR") && word.ends_with(char::is_numeric));
        if is_key && !keys.iter().any(|key| key == word) {
            keys.push(word.to_string());
        }
    }
    keys
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn search_finds_codes_names_and_areas() {
        let atlas = Atlas::load().unwrap();
        assert_eq!(atlas.search("exhn3")[0].code, "EX-HN3");
        assert_eq!(atlas.search("gb1")[0].code, "GB1", "exact before longer");
        assert_eq!(atlas.search("baihui")[0].code, "GV20");
        let brow = atlas.search("eye rim brow");
        assert!(brow.iter().any(|p| p.code == "TE23"));
        assert!(brow.iter().all(|p| p.area == Area::EyeRim));
        let masseter = atlas.search("masseter");
        for code in ["ST5", "ST6", "ST7", "SI18"] {
            assert!(masseter.iter().any(|p| p.code == code), "{code}");
        }
        assert!(masseter.iter().all(|p| p.code != "LI4"));
        assert!(atlas.search("zzz").is_empty());
        assert_eq!(atlas.search("  ").len(), atlas.points().count());
    }

    #[test]
    fn a_practice_can_put_its_own_wording_over_ours() {
        let atlas = Atlas::load().unwrap();
        let mut mine = atlas.get("LI4").unwrap().clone();
        mine.words = "in the web".into();
        let atlas = atlas.with_own([mine]);
        assert_eq!(atlas.get("LI4").unwrap().words, "in the web");
    }

    #[test]
    fn every_key_a_point_names_has_a_source() {
        let sources = sources().unwrap();
        let atlas = Atlas::load().unwrap();
        let mut seen = 0;
        for point in atlas.points() {
            for key in source_keys(&point.source) {
                assert!(
                    sources.iter().any(|s| s.key == key),
                    "{}: {key}",
                    point.code
                );
                seen += 1;
            }
        }
        assert!(seen > 90);
    }
}
