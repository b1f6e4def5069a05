//! The knowledge as one value, and as one file beside the program.
//!
//! The program that runs in the browser carries neither the knowledge nor a reader of JSON for each
//! of its types: it fetches one packed file of its own build. That takes 60 kB off the code a phone
//! has to compile before the first needle can be counted (2026-11). The pack is not
//! self-describing, so it begins with an identity made from the data files and from the sources of
//! the types that read them: a pack of another build is refused, never misread.

use crate::atlas::{self, Atlas, Face, Point, Source};
use crate::base::data::BadData;
use crate::base::pack::{From, Pack};
use crate::intake::Bank;
use crate::measure::{Segment, segments};
use crate::needle::Needles;
use crate::procedure::{Learning, Procedure, procedures};
use crate::screening::{Knowledge, Rules};
use crate::topical::Shelf;
use alloc::string::{String, ToString};
use alloc::vec::Vec;

/// Made by the build from the data files and the types' sources: 16 hexadecimal digits.
pub const IDENTITY: &str = include_str!(concat!(env!("OUT_DIR"), "/knowledge-id.txt"));

/// All that must be read once.
pub struct Books {
    /// Questions, rules and creams.
    pub knowledge: Knowledge,
    /// Points.
    pub atlas: Atlas,
    /// What the source keys of points stand for.
    pub point_sources: Vec<Source>,
    /// The lengths of a body that are divided into equal parts.
    pub segments: Vec<Segment>,
    /// Where points are drawn.
    pub face: Face,
    /// Needle sizes.
    pub needles: Needles,
    /// Procedures.
    pub procedures: Vec<Procedure>,
    /// What a session teaches about the practitioner's hands.
    pub learning: Learning,
}

/// The packed file, in its order.
#[derive(Pack)]
struct Packed {
    bank: Bank,
    rules: Rules,
    shelf: Shelf,
    points: Vec<Point>,
    point_sources: Vec<Source>,
    segments: Vec<Segment>,
    face: Face,
    needles: Needles,
    procedures: Vec<Procedure>,
    learning: Learning,
}

impl Books {
    /// Reads the knowledge out of the program itself; nothing of a phone's app calls this.
    ///
    /// # Errors
    /// Words of the reader, if the build is broken: then nothing may be planned.
    pub fn load() -> Result<Self, String> {
        fn bad(why: BadData) -> String {
            why.to_string()
        }
        Ok(Self {
            knowledge: Knowledge::load().map_err(bad)?,
            atlas: Atlas::load().map_err(bad)?,
            point_sources: atlas::sources().map_err(bad)?,
            segments: segments().map_err(bad)?,
            face: Face::load().map_err(bad)?,
            needles: Needles::load().map_err(bad)?,
            procedures: procedures().map_err(bad)?,
            learning: Learning::load().map_err(bad)?,
        })
    }

    /// The file that goes beside the program: [`IDENTITY`], then the values packed.
    #[must_use]
    pub fn pack(&self) -> Vec<u8> {
        let values = Packed {
            bank: self.knowledge.bank.clone(),
            rules: self.knowledge.rules.clone(),
            shelf: self.knowledge.shelf.clone(),
            points: self.atlas.points().cloned().collect(),
            point_sources: self.point_sources.clone(),
            segments: self.segments.clone(),
            face: self.face.clone(),
            needles: self.needles.clone(),
            procedures: self.procedures.clone(),
            learning: self.learning,
        };
        let mut file = IDENTITY.as_bytes().to_vec();
        values.pack(&mut file);
        file
    }

    /// Reads such a file.
    ///
    /// # Errors
    /// [`BadData`] if it is damaged or belongs to another build: a reload fetches the right one.
    pub fn unpack(file: &[u8]) -> Result<Self, BadData> {
        let bad = BadData("knowledge");
        let values = file.strip_prefix(IDENTITY.as_bytes()).ok_or(bad)?;
        let read: Packed = From::whole(values).ok_or(bad)?;
        Ok(Self {
            knowledge: Knowledge {
                bank: read.bank,
                rules: read.rules,
                shelf: read.shelf,
            },
            atlas: Atlas::new(read.points, read.face.clone()),
            point_sources: read.point_sources,
            segments: read.segments,
            face: read.face,
            needles: read.needles,
            procedures: read.procedures,
            learning: read.learning,
        })
    }

    /// A procedure by its id.
    #[must_use]
    pub fn procedure(&self, id: &str) -> Option<&Procedure> {
        self.procedures.iter().find(|p| p.id == id)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_packed_comes_out_the_same() {
        let books = Books::load().expect("sound");
        let file = books.pack();
        let again = Books::unpack(&file).expect("unpacks");
        let show = |b: &Books| {
            alloc::format!(
                "{:?}{:?}{:?}{:?}{:?}{:?}{:?}",
                b.knowledge,
                b.atlas,
                b.point_sources,
                b.segments,
                b.face,
                b.needles,
                b.procedures
            )
        };
        assert_eq!(show(&again), show(&books));
        assert!(
            show(&books).len() > 100_000,
            "there is something to compare"
        );
    }

    #[test]
    fn a_damaged_file_and_one_of_another_build_are_refused() {
        let file = Books::load().expect("sound").pack();
        assert!(Books::unpack(&file).is_ok());
        let mut other = file.clone();
        other[0] = if other[0] == b'0' { b'1' } else { b'0' };
        assert!(Books::unpack(&other).is_err());
        for short in [0, 5, IDENTITY.len(), file.len() / 2, file.len() - 1] {
            assert!(Books::unpack(&file[..short]).is_err(), "{short} bytes");
        }
    }

    #[test]
    fn bytes_that_are_not_what_was_packed_end_in_an_answer() {
        let file = Books::load().expect("sound").pack();
        let (mut refused, mut seed) = (0, 0x2545_f491_4f6c_dd1d_u64);
        for _ in 0..2000 {
            seed ^= seed << 13;
            seed ^= seed >> 7;
            seed ^= seed << 17;
            let mut other = file.clone();
            let at = IDENTITY.len()
                + usize::try_from(seed >> 16).expect("fits") % (file.len() - IDENTITY.len());
            other[at] ^= u8::try_from(seed & 0xff).expect("a byte") | 1;
            refused += usize::from(Books::unpack(&other).is_err());
        }
        assert!(refused > 100, "{refused} of 2000");
        // A condition in a condition in a condition, as deep as the file is long.
        let mut deep = IDENTITY.as_bytes().to_vec();
        deep.resize(file.len(), 2);
        assert!(Books::unpack(&deep).is_err());
    }
}
