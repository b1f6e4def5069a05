//! The face map: our own drawing of a face, a crown and two hands, with the needles on it.
//!
//! Two depths: [`FaceMap`] shows the whole face, where a touch picks a region; [`RegionMap`] shows one
//! region with discs large enough to press. The drawing is a schema: distances for a person are given
//! in words in the list and never read off it.
//!
//! Everything is in tenths of the drawing's unit (about 1 mm on a face 142 wide), whole numbers.
//! `x` grows towards the patient's left, and 0 is the midline. On the face `y` grows downwards, from
//! the hairline at -970 over the brow at -380 to the chin at 940. On the crown `y` grows from the
//! forehead (-710) to the back of the head (660), and on the hands from the finger tips (-310) to
//! the wrists (310).

mod drawing;
mod glyph;
mod region_map;
mod spread;
mod whole;

pub use drawing::{Locator, RegionPicture};
pub use region_map::RegionMap;
pub use whole::FaceMap;

use pinfold_core::atlas::region::{Region, Side};

/// Half the width of the drawn face: `x` of a point whose reference position is 1.
pub const FACE_HALF: i32 = 710;
/// `y` of the front hairline: reference position 0.
pub const HAIRLINE: i32 = -970;
/// `y` of the tip of the chin: reference position 1.
pub const CHIN: i32 = 940;

/// Where a scalp point stands on the crown: `x` as on the face, and how far it lies behind the front
/// hairline along the skin, in hundredths of a B-cun (12 from hairline to hairline). A schema: the
/// roundness of a head is drawn flat, evenly from the hairline to the back.
#[must_use]
pub fn on_crown(x: i32, behind: u16) -> (i32, i32) {
    (x * 510 / FACE_HALF, -440 + i32::from(behind) * 84 / 100)
}

/// Where the `nth` needle (from 0) of one side is drawn on the hands: to be seen and counted, two
/// beside each other on the back of the hand. It is not where the point lies; the list says that.
#[must_use]
pub fn on_hands(side: Side, nth: u16) -> (i32, i32) {
    let n = i32::from(nth);
    let x = 310 - n % 2 * 110;
    let y = n / 2 * 110;
    (if side == Side::Right { -x } else { x }, y)
}

/// The drawing a mark stands on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Place {
    /// The face, seen from the front.
    Face,
    /// The crown, seen from above.
    Crown,
    /// Both hands and forearms, backs upwards.
    Hands,
}

/// Where the practitioner sits. The drawings turn half round together, so that on all of them the
/// same side of the patient is on the same hand of the practitioner; numbers stay upright.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Seat {
    /// Facing the patient: the patient's right is on the left of the drawing.
    #[default]
    Facing,
    /// At the head end, looking towards the feet: the patient's left is on the left.
    HeadEnd,
}

/// What is known about one needle. Each has its own shape; colour only helps.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum State {
    /// To be placed: a dashed ring.
    Planned,
    /// In the skin: a solid disc with a stem.
    In,
    /// Out: a hollow square.
    Out,
    /// Out, not yet counted: a square, lower half filled.
    OutUncounted,
    /// Left out of the plan today: a short bar.
    Skipped,
    /// Stays in on purpose: a ring under a flat cap.
    StaysIn,
    /// Not yet accounted for: a ring of long dashes.
    Unaccounted,
    /// Differs after a recount, or not found: a diamond.
    Differs,
}

impl State {
    /// Every state.
    pub const ALL: [Self; 8] = [
        Self::Planned,
        Self::In,
        Self::Out,
        Self::OutUncounted,
        Self::Skipped,
        Self::StaysIn,
        Self::Unaccounted,
        Self::Differs,
    ];

    /// The class in the style sheet.
    const fn class(self) -> &'static str {
        match self {
            Self::Planned => "planned",
            Self::In => "in",
            Self::Out => "out",
            Self::OutUncounted => "uncounted",
            Self::Skipped => "skipped",
            Self::StaysIn => "stays",
            Self::Unaccounted => "open",
            Self::Differs => "odd",
        }
    }
}

/// One needle, or one planned needle, on the map.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mark {
    /// The point's code, such as `ST3`; two marks of a pair share it.
    pub code: String,
    /// The patient's side.
    pub side: Side,
    /// The drawing it stands on.
    pub place: Place,
    /// Across, towards the patient's left; see the module for the unit.
    pub x: i32,
    /// Down or back; see the module for the unit.
    pub y: i32,
    /// What is known about it.
    pub state: State,
    /// Its number within the region; two marks of a pair share it.
    pub number: u16,
    /// The region it is counted in.
    pub region: Region,
    /// The next one expected: an outer ring.
    pub next: bool,
    /// On a barred point, in creamed skin, in a stopped session: a small diamond at its shoulder.
    pub flagged: bool,
}

/// The words on the maps.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct MapWords {
    /// The letter for the patient's right: "R".
    pub right: &'static str,
    /// The letter for the patient's left: "L".
    pub left: &'static str,
    /// Under each letter: "patient's".
    pub whose: &'static str,
}

impl MapWords {
    /// How a mark is written: `4R`, `4L`; an unpaired point has its number alone.
    #[must_use]
    pub fn mark(&self, mark: &Mark) -> String {
        let letter = match mark.side {
            Side::Right => self.right,
            Side::Left => self.left,
            Side::Both | Side::Centre => "",
        };
        format!("{}{letter}", mark.number)
    }

    /// The letters at the left and right corner of the drawing. They are the patient's sides and
    /// change places only when the whole drawing turns.
    const fn corners(&self, seat: Seat) -> (&'static str, &'static str) {
        match seat {
            Seat::Facing => (self.right, self.left),
            Seat::HeadEnd => (self.left, self.right),
        }
    }
}

/// Where a spot stands on the drawing as it is turned.
#[must_use]
fn seen(place: Place, seat: Seat, x: i32, y: i32) -> (i32, i32) {
    match (place, seat) {
        (Place::Face, Seat::Facing) => (x, y),
        (Place::Face, Seat::HeadEnd) => (-x, -y),
        // These two are drawn as seen from the head end.
        (_, Seat::HeadEnd) => (-x, y),
        (_, Seat::Facing) => (x, -y),
    }
}

/// Whether a drawing is turned half round from the way its paths are written.
const fn turned(place: Place, seat: Seat) -> bool {
    match place {
        Place::Face => matches!(seat, Seat::HeadEnd),
        Place::Crown | Place::Hands => matches!(seat, Seat::Facing),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use pinfold_core::atlas::region::Area;

    const WORDS: MapWords = MapWords {
        right: "R",
        left: "L",
        whose: "patient's",
    };

    #[test]
    fn the_same_side_is_on_the_same_hand_on_all_drawings() {
        for place in [Place::Face, Place::Crown, Place::Hands] {
            let (x, _) = seen(place, Seat::Facing, 100, 50);
            assert!(
                x > 0,
                "facing, the patient's left is on the right: {place:?}"
            );
            let (x, _) = seen(place, Seat::HeadEnd, 100, 50);
            assert!(x < 0, "from the head end it is on the left: {place:?}");
        }
        assert_eq!(WORDS.corners(Seat::Facing), ("R", "L"));
        assert_eq!(WORDS.corners(Seat::HeadEnd), ("L", "R"));
    }

    #[test]
    fn scalp_points_fall_on_the_drawn_crown() {
        // Hairline, the crown's middle five cun behind it, and the back hairline.
        assert_eq!(on_crown(0, 0), (0, -440));
        assert_eq!(on_crown(0, 500), (0, -20));
        let (x, y) = on_crown(FACE_HALF, 1_200);
        assert!(x <= 510 && y < 660);
    }

    #[test]
    fn hands_hold_their_own_side() {
        assert!(on_hands(Side::Left, 0).0 > 0 && on_hands(Side::Right, 0).0 < 0);
        assert_ne!(on_hands(Side::Left, 0), on_hands(Side::Left, 1));
    }

    #[test]
    fn a_turn_is_half_round_and_never_a_mirror() {
        for place in [Place::Face, Place::Crown, Place::Hands] {
            let (x, y) = seen(place, Seat::Facing, 70, 30);
            assert_eq!(seen(place, Seat::HeadEnd, 70, 30), (-x, -y));
        }
    }

    #[test]
    fn pairs_carry_their_side_and_centre_points_do_not() {
        let mut mark = Mark {
            code: "ST3".into(),
            side: Side::Left,
            place: Place::Face,
            x: 284,
            y: 290,
            state: State::Planned,
            number: 4,
            region: Region {
                area: Area::Cheek,
                side: Side::Left,
            },
            next: false,
            flagged: false,
        };
        assert_eq!(WORDS.mark(&mark), "4L");
        mark.side = Side::Right;
        assert_eq!(WORDS.mark(&mark), "4R");
        mark.side = Side::Centre;
        assert_eq!(WORDS.mark(&mark), "4");
    }
}
