//! The front view: where points are drawn, and which area a tap falls in.
//!
//! The frame is the drawing's: x 0 is the midline and grows toward the patient's left, which is on
//! the viewer's right when facing; y grows downward; hairline -970, brow -380, nose base 300, chin
//! 940, in tenths of a millimetre on a face 142 mm wide. A schema: no distance of a real face is
//! read off it.

use super::region::{Area, Side};
use crate::base::cite::Mark;
use crate::base::data::{BadData, read};
use crate::base::pack::Pack;
use alloc::string::String;
use alloc::vec::Vec;
use serde::{Deserialize, Serialize};

/// Which drawing a spot belongs to.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, Pack,
)]
#[serde(rename_all = "snake_case")]
pub enum View {
    /// The face from the front.
    Front,
    /// The side of the head.
    Side,
    /// The back of the head and neck.
    Back,
    /// The strip under the chin.
    Neck,
    /// The two hands, backs upward; a frame of its own, see [`Drawn::at`].
    Hand,
}

/// Whether a spot can be seen from the front.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, Pack,
)]
#[serde(rename_all = "snake_case")]
pub enum Seen {
    /// Plainly.
    Yes,
    /// At the outline or foreshortened.
    Edge,
    /// Not at all: draw it on the side, back or crown view.
    No,
}

/// How the coordinates were got.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, Pack,
)]
#[serde(rename_all = "snake_case")]
pub enum Basis {
    /// From the canon of proportions and the point's offset.
    Derived,
    /// The same, with an assumption on top.
    DerivedAssumed,
    /// By ordinary anatomy, no figure.
    Assumed,
    /// One coordinate measured on a CT model, the other derived.
    MeasuredDerived,
    /// Put there by a practice, on the drawing itself.
    Chosen,
}

/// A place on the drawing, in tenths of a millimetre.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, Pack,
)]
pub struct Spot {
    /// 0 midline; positive toward the patient's left.
    pub x: i16,
    /// Downward.
    pub y: i16,
}

/// One needle's place on the drawing.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Drawn {
    /// The patient's side; centre on the midline.
    pub side: Side,
    /// Where, in the frame of its drawing: the face's for every view but the hand's, which has the
    /// finger tips at -310 and the wrist at 310.
    pub at: Spot,
    /// How far behind the front hairline along the skin, in hundredths of a B-cun, for the view of
    /// the crown from above. Only for the scalp.
    pub behind: Option<u16>,
    /// Which drawing.
    pub view: View,
    /// Whether it shows from the front.
    pub seen: Seen,
    /// How the place was got.
    pub basis: Basis,
    /// How far off it may be drawn: an assumption throughout.
    pub tolerance: u16,
}

impl Drawn {
    /// The same needle on the crown seen from above: forehead at -710, hairline at -420, back of the
    /// head at 660, 510 half wide. 78 to a B-cun behind the hairline; across, the front view's place
    /// brought to the narrower drawing. A schema like the front view; only for points with a known
    /// distance behind the hairline.
    #[must_use]
    pub fn crown(&self) -> Option<Spot> {
        let behind = i32::from(self.behind?);
        let y = behind.saturating_mul(78) / 100;
        let x = i32::from(self.at.x).saturating_mul(510) / 710;
        Some(Spot {
            x: i16::try_from(x).ok()?,
            y: i16::try_from(y.saturating_sub(420)).ok()?,
        })
    }
}

/// How much skin an area has, both sides together.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, Pack)]
pub struct Skin {
    /// Which area.
    pub area: Area,
    /// Square centimetres.
    pub cm2: u32,
    /// Where the figure is from.
    pub source: String,
    /// How well it is supported.
    pub mark: Mark,
}

#[derive(Clone, Debug, Serialize, Deserialize, Pack)]
struct Row {
    code: String,
    x: i16,
    y: i16,
    mirrored: bool,
    view: View,
    seen: Seen,
    basis: Basis,
    tolerance: u16,
    #[serde(default)]
    behind: Option<u16>,
}

/// The outline of an area on the half of the drawing with x of 0 and more; the other half mirrors it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, Pack)]
pub struct Outline {
    /// Which area.
    pub area: Area,
    /// Its corners in order.
    pub corners: Vec<(i16, i16)>,
}

/// Spots and outlines of the front view.
#[derive(Clone, Debug, Serialize, Deserialize, Pack)]
pub struct Face {
    spots: Vec<Row>,
    outlines: Vec<Outline>,
    skin: Vec<Skin>,
}

impl Face {
    /// Reads the drawing inside the program.
    ///
    /// # Errors
    /// [`BadData`] if the program is damaged.
    pub fn load() -> Result<Self, BadData> {
        read("face", include_str!(concat!(env!("OUT_DIR"), "/face.json")))
    }

    /// Where a point is drawn: one place for a midline point, two for a pair (right first), four for
    /// EX-HN1, none for a point off the face.
    #[must_use]
    pub fn places(&self, code: &str) -> Vec<Drawn> {
        let mut out = Vec::new();
        for row in self.spots.iter().filter(|row| row.code == code) {
            let one = |side, x| Drawn {
                side,
                at: Spot { x, y: row.y },
                behind: row.behind,
                view: row.view,
                seen: row.seen,
                basis: row.basis,
                tolerance: row.tolerance,
            };
            if row.mirrored {
                out.push(one(Side::Right, row.x.saturating_neg()));
                out.push(one(Side::Left, row.x));
            } else {
                out.push(one(Side::Centre, row.x));
            }
        }
        out
    }

    /// Puts a point of a practice's own on the front view, mirrored if it is a pair. It is drawn where
    /// it was put, so nothing is said of how far off that is.
    pub fn put(&mut self, code: &str, at: Spot, mirrored: bool) {
        self.spots.push(Row {
            code: code.into(),
            x: at.x,
            y: at.y,
            mirrored,
            view: View::Front,
            seen: Seen::Yes,
            basis: Basis::Chosen,
            tolerance: 0,
            behind: None,
        });
    }

    /// Where one side of a point is drawn.
    #[must_use]
    pub fn place(&self, code: &str, side: Side) -> Option<Drawn> {
        self.places(code)
            .into_iter()
            .find(|drawn| drawn.side == side)
    }

    /// The outlines, in the order a tap is tried against them.
    #[must_use]
    pub fn outlines(&self) -> &[Outline] {
        &self.outlines
    }

    /// How much skin each area of the face has, for the amount of a cream.
    #[must_use]
    pub fn skin(&self) -> &[Skin] {
        &self.skin
    }

    /// Which area a tap falls in.
    #[must_use]
    pub fn area_at(&self, at: Spot) -> Option<Area> {
        self.outlines
            .iter()
            .find(|outline| outline.holds(at))
            .map(|outline| outline.area)
    }
}

impl Outline {
    /// Whether a place on either half lies inside; a place on an edge is inside.
    #[must_use]
    pub fn holds(&self, at: Spot) -> bool {
        let (x, y) = (i64::from(at.x).saturating_abs(), i64::from(at.y));
        let mut inside = false;
        let corners = self.corners.iter();
        let next = self.corners.iter().cycle().skip(1);
        for (&(ax, ay), &(bx, by)) in corners.zip(next) {
            let (ax, ay) = (i64::from(ax), i64::from(ay));
            let (bx, by) = (i64::from(bx), i64::from(by));
            // Twice the signed area of the triangle: zero when the place is on the line. The factors
            // are below 2^17, so nothing saturates.
            let cross = bx
                .saturating_sub(ax)
                .saturating_mul(y.saturating_sub(ay))
                .saturating_sub(by.saturating_sub(ay).saturating_mul(x.saturating_sub(ax)));
            let between = x >= ax.min(bx) && x <= ax.max(bx) && y >= ay.min(by) && y <= ay.max(by);
            if cross == 0 && between {
                return true;
            }
            // The even-odd rule: does this edge cross the line running out from the place?
            if (ay > y) != (by > y) && (cross > 0) == (by > ay) {
                inside = !inside;
            }
        }
        inside
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn left_is_on_the_viewers_right() {
        let face = Face::load().unwrap();
        let places = face.places("GB14");
        assert_eq!(places.len(), 2);
        assert_eq!(places[0].side, Side::Right);
        assert!(places[0].at.x < 0 && places[1].at.x == -places[0].at.x);
        assert_eq!(
            face.place("EX-HN3", Side::Centre).unwrap().at,
            Spot { x: 0, y: -380 }
        );
        assert_eq!(face.places("EX-HN1").len(), 4);
        assert_eq!(face.places("LI4").len(), 2);
        assert!(face.places("LI4").iter().all(|d| d.view == View::Hand));
        assert!(face.places("ST36").is_empty());
        let crown = face.place("GV20", Side::Centre).unwrap().crown();
        assert_eq!(crown, Some(Spot { x: 0, y: -30 }));
    }

    #[test]
    fn the_even_odd_rule_holds_for_a_square_and_its_edges() {
        let square = Outline {
            area: Area::Cheek,
            corners: alloc::vec![(0, 0), (10, 0), (10, 10), (0, 10)],
        };
        for (x, y, inside) in [
            (5, 5, true),
            (-5, 5, true),
            (0, 0, true),
            (10, 4, true),
            (11, 5, false),
            (5, -1, false),
            (5, 11, false),
            (-11, 10, false),
        ] {
            assert_eq!(square.holds(Spot { x, y }), inside, "{x},{y}");
        }
    }
}
