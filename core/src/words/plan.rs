//! The words of the plan, the tray, the hour and the measuring tape.

use crate::atlas::{Area, Region, Side};
use crate::base::units::{Micrometres, Seconds};
use crate::measure::{NoDistance, Wanted};
use crate::needle::{Pack, Size, decimal_mm};
use crate::plan::{Fit, LeftOut, Offer, Why};
use crate::procedure::{Direction, How, ModuleName, Sought};
use alloc::format;
use alloc::string::{String, ToString};

/// Every sentence of the plan page. Plain sentences are fields; those with numbers or names in them
/// are functions.
#[derive(Clone, Copy, Debug)]
pub struct PlanWords {
    /// Over the list of regions.
    pub order: &'static str,
    /// Under it.
    pub first_in_first_out: &'static str,
    /// Over the packets.
    pub tray: &'static str,
    /// Over the timeline.
    pub hour: &'static str,
    /// Over the points that are not in the plan.
    pub left_out: &'static str,
    /// When nothing is left to place.
    pub nothing_left: &'static str,
    /// When no procedure has been chosen.
    pub none_yet: &'static str,
    /// Under every depth from a textbook.
    pub depth_note: &'static str,
    /// Beside a figure of our own choice.
    pub own_choice: &'static str,
    /// When needles have to come out before all are in.
    pub interleaved: &'static str,
    /// An area's name.
    pub area: fn(Area) -> &'static str,
    /// A region in a row: "L cheek".
    pub region: fn(Region) -> String,
    /// A region in a title: "Patient's L cheek".
    pub region_full: fn(Region) -> String,
    /// A part of a procedure.
    pub module: fn(ModuleName) -> &'static str,
    /// Technique and direction.
    pub technique: fn(How, Direction) -> String,
    /// What is sought.
    pub sought: fn(Sought) -> &'static str,
    /// Packets of one size: "9 strips of 5, 0.16 × 15 mm".
    pub packets: fn(Size, Pack, u16) -> String,
    /// "55 to open, 48 to place, 7 spare".
    pub to_open: fn(opened: u16, placed: u16) -> String,
    /// How many needles.
    pub needles: fn(u16) -> String,
    /// A span rounded up to minutes.
    pub minutes: fn(Seconds) -> String,
    /// When the person can leave, from minutes after midnight.
    pub leave_by: fn(u32) -> String,
    /// Why one point is not in the plan.
    pub why: fn(&Why) -> String,
    /// One point that is not in the plan, with every reason.
    pub left: fn(&LeftOut) -> String,
    /// Whether it fits.
    pub fit: fn(&Fit) -> String,
    /// One way to make it fit.
    pub offer: fn(Offer) -> String,
    /// What went wrong with the tape and what to do.
    pub no_distance: fn(&NoDistance) -> String,
    /// A distance on the skin: "84 mm, give or take 8 mm".
    pub distance: fn(Micrometres, Micrometres) -> String,
}

/// English.
pub const EN: PlanWords = PlanWords {
    order: "Order, by region",
    first_in_first_out: "Taken out in the order they went in, each when its stay is over.",
    tray: "On the tray",
    hour: "The hour",
    left_out: "Left out today",
    nothing_left: "Today's answers leave no point of this procedure. Choose another, or stop here; nothing is lost.",
    none_yet: "No plan yet: choose a procedure.",
    depth_note: "From general textbooks. Not a depth for cosmetic work and not a limit.",
    own_choice: "our own choice, no source",
    interleaved: "Some needles come out before the last goes in.",
    area,
    region,
    region_full,
    module,
    technique,
    sought,
    packets,
    to_open,
    needles,
    minutes,
    leave_by,
    why,
    left,
    fit,
    offer,
    no_distance,
    distance,
};

fn area(area: Area) -> &'static str {
    match area {
        Area::HandsArms => "hands, arms",
        Area::LegsFeet => "legs, feet",
        Area::Trunk => "trunk",
        Area::Scalp => "scalp",
        Area::Ear => "ear",
        Area::Forehead => "forehead",
        Area::EyeRim => "eye rim",
        Area::Cheek => "cheek",
        Area::MouthJaw => "mouth, jaw",
        Area::Neck => "neck",
    }
}

fn side_letter(side: Side) -> &'static str {
    match side {
        Side::Right => "R ",
        Side::Left => "L ",
        Side::Both | Side::Centre => "",
    }
}

fn region(region: Region) -> String {
    format!("{}{}", side_letter(region.side), area(region.area))
}

fn region_full(at: Region) -> String {
    format!("Patient's {}", region(at))
}

fn module(module: ModuleName) -> &'static str {
    match module.area() {
        Some(at) => area(at),
        None => "intradermals",
    }
}

fn technique(how: How, direction: Direction) -> String {
    let how = match how {
        How::Perpendicular => "straight in",
        How::Oblique => "oblique",
        How::Transverse => "transverse, along the skin",
        How::Pressed => "pressed in",
    };
    let toward = match direction {
        Direction::None => return how.to_string(),
        Direction::Backward => "slanted backward",
        Direction::Upward => "tip upward",
        Direction::Downward => "tip downward",
        Direction::Medial => "tip toward the midline",
        Direction::Lateral => "tip outward",
    };
    format!("{how}, {toward}")
}

fn sought(sought: Sought) -> &'static str {
    match sought {
        Sought::None => "no sensation sought",
        Sought::Mild => "a mild feeling",
        Sought::DeQi => "de qi",
    }
}

fn packets(size: Size, pack: Pack, count: u16) -> String {
    let what = match (pack, count) {
        (Pack::One, 1) => "single needle".to_string(),
        (Pack::One, _) => "single needles".to_string(),
        (pack, 1) => format!("strip of {}", pack.needles()),
        (pack, _) => format!("strips of {}", pack.needles()),
    };
    format!("{count} {what}, {size}")
}

fn to_open(opened: u16, placed: u16) -> String {
    let spare = opened.saturating_sub(placed);
    format!("{opened} to open, {placed} to place, {spare} spare")
}

fn needles(count: u16) -> String {
    match count {
        1 => "1 needle".to_string(),
        _ => format!("{count} needles"),
    }
}

fn minutes(span: Seconds) -> String {
    format!("{} min", span.0.div_ceil(60))
}

/// "14:52"; past midnight it goes on from 0:00.
fn clock(minute: u32) -> String {
    let minute = minute % 1440;
    format!("{}:{:02}", minute / 60, minute % 60)
}

fn leave_by(minute: u32) -> String {
    format!("out of the door by {}", clock(minute))
}

fn why(why: &Why) -> String {
    match why {
        Why::Finding(reason) | Why::Position(_, reason) | Why::Retained(reason) => {
            reason.words.clone()
        }
        Why::MostNeedles(most, reason) => {
            format!("{} (no more than {})", reason.words, needles(*most))
        }
        Why::UnknownPoint => "The atlas has no such point on this side.".to_string(),
        Why::UnknownSize => "The needle size is not known here.".to_string(),
    }
}

fn left(left: &LeftOut) -> String {
    let letter = match left.side {
        Side::Right => " R",
        Side::Left => " L",
        Side::Both | Side::Centre => "",
    };
    let mut out = format!("{}{letter}", left.point);
    for (at, reason) in left.why.iter().enumerate() {
        out.push_str(if at == 0 { ": " } else { " Also: " });
        out.push_str(&why(reason));
    }
    out
}

fn fit(fit: &Fit) -> String {
    match fit {
        Fit::NoSlot => "No slot given: the time is only an estimate.".to_string(),
        Fit::Fits(spare) => format!("Fits, with {} to spare.", whole_minutes(*spare)),
        Fit::TooLong(over, _) => {
            format!(
                "Does not fit the slot: {} too long. Nothing is changed; choose one:",
                minutes(*over)
            )
        }
    }
}

/// Time to spare is rounded down, so that it is never promised too much.
fn whole_minutes(span: Seconds) -> String {
    format!("{} min", span.0 / 60)
}

fn offer(offer: Offer) -> String {
    match offer {
        Offer::WithoutCream(total) => format!("Without cream: {}", minutes(total)),
        Offer::Fewer(count, total) => format!("{}: {}", needles(count), minutes(total)),
        Offer::FewerWithoutCream(count, total) => {
            format!("{} and no cream: {}", needles(count), minutes(total))
        }
        Offer::Longer(by) => format!("A slot {} longer", minutes(by)),
    }
}

/// Centimetres with one place, rounded half up: what a tape can be read to.
fn centimetres(length: Micrometres) -> String {
    let millimetres = length.0.saturating_add(500) / 1000;
    format!("{}.{} cm", millimetres / 10, millimetres % 10)
}

fn no_distance(why: &NoDistance) -> String {
    match why {
        NoDistance::Implausible {
            got, least, most, ..
        } => format!(
            "{} does not look right here. This length is usually between {} and {}. Nothing was changed: measure again, or check the decimal point.",
            centimetres(Micrometres(*got)),
            centimetres(*least),
            centimetres(*most)
        ),
        NoDistance::NoFigure => {
            "No figure is given from this landmark: find it by touch.".to_string()
        }
        NoDistance::NotMeasured(Wanted::Finger) => {
            "Measure the person's own finger unit first.".to_string()
        }
        NoDistance::NotMeasured(Wanted::Segment(_)) => {
            "Lay the tape along this length first.".to_string()
        }
        NoDistance::NoParts | NoDistance::TooFar => {
            "No distance can be worked out from this. Nothing was changed: measure again."
                .to_string()
        }
    }
}

/// Whole millimetres: a point is not found more closely than that.
fn distance(at: Micrometres, give_or_take: Micrometres) -> String {
    let millimetres = at.0.saturating_add(500) / 1000;
    format!(
        "{millimetres} mm, give or take {} mm",
        decimal_mm(give_or_take, 0)
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::needle::Needles;
    use crate::plan::Reason;

    #[test]
    fn sentences_read_as_sentences() {
        let size = Needles::load().unwrap().get("0.16x15").unwrap().size;
        assert_eq!(
            (EN.packets)(size, Pack::Five, 9),
            "9 strips of 5, 0.16 × 15 mm"
        );
        assert_eq!(
            (EN.packets)(size, Pack::One, 1),
            "1 single needle, 0.16 × 15 mm"
        );
        assert_eq!((EN.leave_by)(14 * 60 + 2), "out of the door by 14:02");
        assert_eq!((EN.leave_by)(1440 + 5), "out of the door by 0:05");
        assert_eq!((EN.to_open)(50, 48), "50 to open, 48 to place, 2 spare");
        let cheek = Region {
            area: Area::Cheek,
            side: Side::Left,
        };
        assert_eq!((EN.region_full)(cheek), "Patient's L cheek");
        let out = LeftOut {
            point: "LI4".into(),
            side: Side::Right,
            region: None,
            needles: 1,
            why: alloc::vec![Why::Finding(Reason {
                rule: "PR1".into(),
                words: "Left out in pregnancy.".into(),
            })],
        };
        assert_eq!((EN.left)(&out), "LI4 R: Left out in pregnancy.");
        assert_eq!(
            (EN.distance)(Micrometres(84_000), Micrometres(8_000)),
            "84 mm, give or take 8 mm"
        );
    }

    #[test]
    fn an_implausible_length_is_refused_with_its_limits() {
        let segments = crate::measure::segments().unwrap();
        let forearm = segments.iter().find(|s| s.id == "forearm").unwrap();
        let refused = forearm.reading(Micrometres::from_mm(2520)).unwrap_err();
        assert_eq!(
            (EN.no_distance)(&refused),
            "252.0 cm does not look right here. This length is usually between 17.0 cm and 36.0 cm. Nothing was changed: measure again, or check the decimal point."
        );
    }
}
