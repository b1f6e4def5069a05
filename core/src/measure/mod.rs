//! L2. The measuring tape: from a measured segment of a person's own body to a distance on it.
//!
//! A B-cun is one of so many equal parts of a segment between two landmarks. Each segment has its own
//! unit; one unit for a whole person does not exist. Finger units stay finger units. Whole
//! micrometres throughout, rounded once, half up.

use crate::atlas::{Offset, Site, Unit};
use crate::base::cite::Mark;
use crate::base::data::{BadData, read};
use crate::base::pack::Pack;
use crate::base::units::Micrometres;
use alloc::string::String;
use alloc::vec::Vec;
use serde::{Deserialize, Serialize};

/// A length of the body that is divided into equal parts.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, Pack)]
pub struct Segment {
    /// Stable name: "forearm".
    pub id: String,
    /// Where the tape starts.
    pub from: String,
    /// Where it ends.
    pub to: String,
    /// How many B-cun it counts. 2 to 19.
    pub cun: u16,
    /// True for a width, false for a length.
    pub width: bool,
    /// Below this a reading is taken for a slip (policy).
    pub least: Micrometres,
    /// Above this a reading is taken for a slip (policy).
    pub most: Micrometres,
    /// Where the count is from.
    pub source: String,
    /// How well the count is supported.
    pub mark: Mark,
}

/// Every segment in the program.
///
/// # Errors
/// [`BadData`] if the program is damaged.
pub fn segments() -> Result<Vec<Segment>, BadData> {
    read(
        "segments",
        include_str!(concat!(env!("OUT_DIR"), "/segments.json")),
    )
}

/// Why no distance can be given.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoDistance {
    /// A segment of no parts.
    #[error("a segment of no parts cannot be divided")]
    NoParts,
    /// What was typed is no length.
    #[error("that is no length in centimetres")]
    NotANumber,
    /// Farther than the numbers go; far beyond any body.
    #[error("that is farther than any body is long")]
    TooFar,
    /// The reading is outside what an adult's tape can plausibly say.
    #[error("{got} does not look like this length")]
    Implausible {
        /// Which segment.
        segment: String,
        /// What was read, in micrometres.
        got: u32,
        /// The least that is taken.
        least: Micrometres,
        /// The most that is taken.
        most: Micrometres,
    },
    /// The point gives no figure from this landmark.
    #[error("the standard gives no figure here")]
    NoFigure,
    /// The segment or finger has not been measured yet.
    #[error("not measured yet")]
    NotMeasured(Wanted),
}

/// What has to be measured first.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Wanted {
    /// This segment, by id.
    Segment(String),
    /// The person's own finger unit.
    Finger,
}

/// The distance of `hundredths` of a B-cun on a segment of `segment` length and `cun` parts: length
/// × offset ÷ parts, rounded half up to a whole micrometre.
///
/// # Errors
/// [`NoDistance::NoParts`] and [`NoDistance::TooFar`].
pub fn offset_in_um(
    segment: Micrometres,
    cun: u16,
    hundredths: u16,
) -> Result<Micrometres, NoDistance> {
    let parts = u64::from(cun).saturating_mul(100);
    ratio(u64::from(segment.0), u64::from(hundredths), parts)
}

/// The distance of `hundredths` of a finger unit of this length, rounded half up.
///
/// # Errors
/// [`NoDistance::TooFar`].
pub fn finger_in_um(finger: Micrometres, hundredths: u16) -> Result<Micrometres, NoDistance> {
    ratio(u64::from(finger.0), u64::from(hundredths), 100)
}

/// How far off a point may be when the tape was off by `tape`: n·e/N for n of N parts, rounded up,
/// so that it is never understated.
///
/// # Errors
/// [`NoDistance::NoParts`] and [`NoDistance::TooFar`].
pub fn tape_error_um(
    tape: Micrometres,
    cun: u16,
    hundredths: u16,
) -> Result<Micrometres, NoDistance> {
    let parts = u64::from(cun).saturating_mul(100);
    let product = u64::from(tape.0).saturating_mul(u64::from(hundredths));
    let up = product.saturating_add(parts.saturating_sub(1));
    let um = up.checked_div(parts).ok_or(NoDistance::NoParts)?;
    u32::try_from(um)
        .map(Micrometres)
        .map_err(|_| NoDistance::TooFar)
}

/// `a * b / c`, half up. `a` and `b` are below 2^32 and 2^16, so the product fits.
fn ratio(a: u64, b: u64, c: u64) -> Result<Micrometres, NoDistance> {
    let doubled = a.saturating_mul(b).saturating_mul(2).saturating_add(c);
    let um = doubled
        .checked_div(c.saturating_mul(2))
        .ok_or(NoDistance::NoParts)?;
    u32::try_from(um)
        .map(Micrometres)
        .map_err(|_| NoDistance::TooFar)
}

impl Segment {
    /// Takes a reading only when a tape on an adult can plausibly say it.
    ///
    /// # Errors
    /// [`NoDistance::Implausible`] with the limits, so that the words can name them.
    pub fn reading(&self, got: Micrometres) -> Result<Micrometres, NoDistance> {
        if got < self.least || got > self.most {
            return Err(NoDistance::Implausible {
                segment: self.id.clone(),
                got: got.0,
                least: self.least,
                most: self.most,
            });
        }
        Ok(got)
    }

    /// One B-cun on this segment, rounded half up.
    ///
    /// # Errors
    /// As [`Segment::reading`].
    pub fn unit(&self, length: Micrometres) -> Result<Micrometres, NoDistance> {
        offset_in_um(self.reading(length)?, self.cun, 100)
    }

    /// The distance of an offset along this segment.
    ///
    /// # Errors
    /// As [`Segment::reading`] and [`offset_in_um`].
    pub fn distance(
        &self,
        length: Micrometres,
        hundredths: u16,
    ) -> Result<Micrometres, NoDistance> {
        offset_in_um(self.reading(length)?, self.cun, hundredths)
    }
}

/// The least and greatest finger unit that is taken for one (policy).
pub const FINGER: (Micrometres, Micrometres) = (Micrometres(12_000), Micrometres(35_000));

/// What has been measured on one person: segments by id, and the finger unit.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Measures {
    /// Length of each measured segment.
    pub segments: crate::base::flat::Map<String, Micrometres>,
    /// One finger unit: the patient's own hand, not the practitioner's (memory).
    #[serde(default)]
    pub finger: Option<Micrometres>,
}

/// The name of the finger unit among lengths.
pub const FINGER_UNIT: &str = "finger";

impl Measures {
    /// Takes a length over; 0 takes it back.
    pub fn set(&mut self, id: &str, um: Micrometres) {
        if id == FINGER_UNIT {
            self.finger = (um.0 > 0).then_some(um);
        } else if um.0 > 0 {
            self.segments.insert(id.into(), um);
        } else {
            self.segments.remove(id);
        }
    }

    /// A length by its segment's id, or the finger unit.
    #[must_use]
    pub fn get(&self, id: &str) -> Option<Micrometres> {
        if id == FINGER_UNIT {
            self.finger
        } else {
            self.segments.get(id).copied()
        }
    }
}

/// Reads centimetres as a tape gives them, `25.2` or `25,2`, with at most three places.
#[must_use]
pub fn centimetres(text: &str) -> Option<Micrometres> {
    let text = text.trim();
    let (whole, part) = match text.split_once(['.', ',']) {
        Some((whole, part)) if !part.is_empty() => (whole, part),
        Some(_) => return None,
        None => (text, ""),
    };
    let digits = |text: &str| text.bytes().all(|b| b.is_ascii_digit());
    if whole.is_empty() || part.len() > 3 || !digits(whole) || !digits(part) {
        return None;
    }
    let whole: u32 = whole.parse().ok()?;
    let part: u32 = alloc::format!("{part:0<3}").parse().ok()?;
    let um = whole.checked_mul(10_000)?;
    um.checked_add(part.checked_mul(10)?).map(Micrometres)
}

/// A reading that is about to be written down: what was typed, if a tape on an adult can plausibly say it.
/// Nothing typed takes the length back.
///
/// # Errors
/// [`NoDistance::Implausible`] with the limits; [`NoDistance::NotANumber`].
pub fn typed(segments: &[Segment], id: &str, text: &str) -> Result<Micrometres, NoDistance> {
    if text.trim().is_empty() {
        return Ok(Micrometres(0));
    }
    let um = centimetres(text).ok_or(NoDistance::NotANumber)?;
    match segments.iter().find(|segment| segment.id == id) {
        Some(segment) => segment.reading(um),
        None => finger(um),
    }
}

fn finger(um: Micrometres) -> Result<Micrometres, NoDistance> {
    let (least, most) = FINGER;
    if um < least || um > most {
        return Err(NoDistance::Implausible {
            segment: String::from(FINGER_UNIT),
            got: um.0,
            least,
            most,
        });
    }
    Ok(um)
}

/// A distance on a person, with how far off it may be.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Distance {
    /// From the landmark.
    pub um: Micrometres,
    /// Plus or minus. Derived from published location errors; see [`uncertainty`].
    pub give_or_take: Micrometres,
}

/// How far off a point may be, as our reference derives it from published errors: on a landmark
/// 5 mm; up to 4 cun along a measured segment 8 mm; farther 13 mm (derived). On the face 3 mm, an
/// assumption (policy): no study of facial points was found.
#[must_use]
pub fn uncertainty(hundredths: Option<u16>, on_face: bool) -> (Micrometres, Mark) {
    match hundredths {
        _ if on_face => (Micrometres::from_mm(3), Mark::Policy),
        None | Some(0) => (Micrometres::from_mm(5), Mark::Derived),
        Some(1..=400) => (Micrometres::from_mm(8), Mark::Derived),
        Some(_) => (Micrometres::from_mm(13), Mark::Derived),
    }
}

/// The distance a point's bearing asks for on this person.
///
/// # Errors
/// [`NoDistance::NoFigure`] when the standard gives none or no segment is measured there,
/// [`NoDistance::NotMeasured`] when the tape has not been laid yet, and those of
/// [`Segment::distance`].
pub fn distance(
    site: &Site,
    segments: &[Segment],
    measures: &Measures,
    on_face: bool,
) -> Result<Distance, NoDistance> {
    let Offset { hundredths, unit } = site.offset.ok_or(NoDistance::NoFigure)?;
    let um = match unit {
        Unit::FCun => {
            let finger = measures
                .finger
                .ok_or(NoDistance::NotMeasured(Wanted::Finger))?;
            finger_in_um(self::finger(finger)?, hundredths)?
        }
        Unit::BCun => {
            let id = site.segment.as_ref().ok_or(NoDistance::NoFigure)?;
            let segment = segments
                .iter()
                .find(|segment| segment.id == *id)
                .ok_or(NoDistance::NoFigure)?;
            let length = measures
                .segments
                .get(id)
                .ok_or_else(|| NoDistance::NotMeasured(Wanted::Segment(id.clone())))?;
            segment.distance(*length, hundredths)?
        }
    };
    Ok(Distance {
        um,
        give_or_take: uncertainty(Some(hundredths), on_face).0,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::atlas::Atlas;
    use proptest::prelude::*;

    #[test]
    fn rounding_is_half_up_once() {
        assert_eq!(offset_in_um(Micrometres(1), 1, 50), Ok(Micrometres(1)));
        assert_eq!(offset_in_um(Micrometres(1), 1, 49), Ok(Micrometres(0)));
        assert_eq!(
            offset_in_um(Micrometres(1), 0, 49),
            Err(NoDistance::NoParts)
        );
        assert_eq!(
            offset_in_um(Micrometres(u32::MAX), 1, u16::MAX),
            Err(NoDistance::TooFar)
        );
    }

    #[test]
    fn a_tape_is_read_in_centimetres_and_a_slip_is_refused() {
        let cases = [
            ("25.2", Some(252_000)),
            ("25,2", Some(252_000)),
            (" 8 ", Some(80_000)),
            ("0.125", Some(1_250)),
            ("25.", None),
            (".5", None),
            ("-3", None),
            ("25.2 cm", None),
            ("1e3", None),
            ("99999999999", None),
            ("429497", None),
            ("2.1234", None),
        ];
        for (text, um) in cases {
            assert_eq!(centimetres(text), um.map(Micrometres), "{text}");
        }
        let segments = segments().unwrap();
        assert_eq!(
            typed(&segments, "forearm", "25.2"),
            Ok(Micrometres(252_000))
        );
        assert_eq!(typed(&segments, "forearm", " "), Ok(Micrometres(0)));
        for text in ["2.52", "252", "0"] {
            let said = typed(&segments, "forearm", text);
            assert!(
                matches!(said, Err(NoDistance::Implausible { .. })),
                "{text}"
            );
        }
        assert_eq!(
            typed(&segments, "forearm", "long"),
            Err(NoDistance::NotANumber)
        );
        assert!(typed(&segments, FINGER_UNIT, "2").is_ok());
        assert!(typed(&segments, FINGER_UNIT, "20").is_err());
    }

    #[test]
    fn a_finger_unit_is_never_taken_from_a_segment() {
        let atlas = Atlas::load().unwrap();
        let segments = segments().unwrap();
        let mut measures = Measures::default();
        for segment in &segments {
            measures.segments.insert(segment.id.clone(), segment.least);
        }
        let site = &atlas.get("ST4").unwrap().sites[0];
        assert_eq!(
            distance(site, &segments, &measures, true),
            Err(NoDistance::NotMeasured(Wanted::Finger))
        );
        measures.finger = Some(Micrometres::from_mm(20));
        let found = distance(site, &segments, &measures, true).unwrap();
        assert_eq!(found.um, Micrometres::from_mm(8));
        measures.finger = Some(Micrometres::from_mm(200));
        assert!(matches!(
            distance(site, &segments, &measures, true),
            Err(NoDistance::Implausible { .. })
        ));
    }

    #[test]
    fn every_segment_a_point_names_exists() {
        let segments = segments().unwrap();
        for point in Atlas::load().unwrap().points() {
            for id in point.sites.iter().filter_map(|site| site.segment.as_ref()) {
                assert!(segments.iter().any(|s| s.id == *id), "{}", point.code);
            }
        }
    }

    proptest! {
        #[test]
        fn longer_segments_and_offsets_never_give_shorter_distances(
            a in 0_u32..2_000_000, b in 0_u32..2_000_000, cun in 1_u16..20,
            n in 0_u16..3000, m in 0_u16..3000,
        ) {
            let at = |length: u32, n: u16| offset_in_um(Micrometres(length), cun, n).unwrap();
            prop_assert!(at(a.min(b), n) <= at(a.max(b), n));
            prop_assert!(at(a, n.min(m)) <= at(a, n.max(m)));
            prop_assert_eq!(at(a, cun * 100), Micrometres(a));
        }
    }
}
