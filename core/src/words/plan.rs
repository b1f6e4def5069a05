//! The words of the plan, the tray, the hour and the measuring tape.

use super::place::PlaceWords;
use crate::base::units::{Micrometres, Seconds};
use crate::event::person::ChosenCream;
use crate::measure::{NoDistance, Wanted};
use crate::needle::{Label, Pack, Size, decimal_mm};
use crate::plan::{Fit, Learned, LeftOut, Offer, Plan, Slot, Span, Why, Work};
use crate::procedure::{Direction, How, ModuleName, Sought};
use alloc::format;
use alloc::string::{String, ToString};
use alloc::vec::Vec;

/// Every sentence of the plan page.
#[expect(missing_docs, reason = "each field is the sentence it holds")]
pub struct PlanWords {
    pub order: &'static str,
    pub first_in_first_out: &'static str,
    pub tray: &'static str,
    pub hour: &'static str,
    pub left_out: &'static str,
    pub to_fit: &'static str,
    pub nothing_left: &'static str,
    pub none_yet: &'static str,
    pub depth_note: &'static str,
    pub own_choice: &'static str,
    pub interleaved: &'static str,
    pub intradermals: &'static str,
    pub unknown_point: &'static str,
    pub unknown_size: &'static str,
    pub perpendicular: &'static str,
    pub oblique: &'static str,
    pub transverse: &'static str,
    pub pressed: &'static str,
    pub backward: &'static str,
    pub upward: &'static str,
    pub downward: &'static str,
    pub medial: &'static str,
    pub lateral: &'static str,
    pub no_sensation: &'static str,
    pub mild: &'static str,
    pub de_qi: &'static str,
    pub no_slot: &'static str,
    pub also: &'static str,
    pub no_figure: &'static str,
    pub measure_finger: &'static str,
    pub measure_segment: &'static str,
    pub no_distance: &'static str,
    pub not_a_number: &'static str,
    pub cream_late: &'static str,
    pub cream: &'static str,
    pub hands_free: &'static str,
    pub hour_note: &'static str,
    pub in_mm: &'static str,
    pub instead: &'static str,
    pub instead_of: &'static str,
    pub instead_code: &'static str,
    pub instead_hint: &'static str,
    pub instead_put: &'static str,
    pub instead_back: &'static str,
    pub instead_bad: &'static str,
    pub to_place: &'static str,
    pub to_remove: &'static str,
}

/// English.
pub const EN: PlanWords = PlanWords {
    order: "Order, by region",
    first_in_first_out: "Taken out in the order they went in, each when its stay is over.",
    tray: "On the tray",
    hour: "The hour",
    left_out: "Left out today",
    to_fit: "Chosen here: fewer needles, to fit the time.",
    nothing_left: "Today's answers leave no point of this procedure. Choose another, or stop here; nothing is lost.",
    none_yet: "No plan yet: choose a procedure.",
    depth_note: "From general textbooks. Not a depth for cosmetic work and not a limit.",
    own_choice: "our own choice, no source",
    interleaved: "So some come out before the last goes in. Leave some out to have all in at once, or work in waves, which is never quicker.",
    intradermals: "Intradermals",
    unknown_point: "The atlas has no such point on this side.",
    unknown_size: "The needle size is not known here.",
    perpendicular: "straight in",
    oblique: "oblique",
    transverse: "transverse, along the skin",
    pressed: "pressed in",
    backward: "slanted backward",
    upward: "tip upward",
    downward: "tip downward",
    medial: "tip toward the midline",
    lateral: "tip outward",
    no_sensation: "no sensation sought",
    mild: "a mild feeling",
    de_qi: "de qi",
    no_slot: "No slot given: the time is only an estimate.",
    also: "Also:",
    no_figure: "No figure is given from this landmark: find it by touch.",
    measure_finger: "Measure the person's own finger unit first.",
    measure_segment: "Lay the tape along this length first.",
    no_distance: "No distance can be worked out from this. Nothing was changed: measure again.",
    not_a_number: "Write centimetres with a point, such as 25.2. Nothing was changed.",
    to_place: "to place one",
    to_remove: "to take one out",
    cream_late: "This plan has the cream on longer than its label allows. Shorten the dwell or leave it out.",
    cream: "Cream",
    hands_free: "Hands free: look in",
    instead: "Another point in place of one left out",
    instead_of: "in place of",
    instead_code: "the point to take",
    instead_hint: "Its code. It must lie in the same area; today's answers are asked of it too.",
    instead_put: "Put it in",
    instead_back: "Take back",
    instead_bad: "No point of this code lies in the same area, or it is in the plan already. Nothing was changed.",
    in_mm: "The points, in millimetres",
    hour_note: "In minutes from sitting down. Tall bars are hands at work, low ones what is in or on the skin.",
};

impl PlanWords {
    /// Guide tubes for so many filiform needles laid out.
    #[must_use]
    pub fn tubes(&self, needles: u16) -> String {
        if needles == 0 {
            return String::new();
        }
        format!(
            "Guide tubes: one to each packet or needle, as packed, for {needles} (common practice); intradermals need none."
        )
    }

    /// What is left of the time booked.
    #[must_use]
    pub fn late(&self, slot: Slot) -> String {
        format!(
            "Late: counted from {}, with {} left of the time booked.",
            clock(u32::from(slot.start)),
            self.minutes(slot.length)
        )
    }

    /// A time from the start, in minutes and seconds: "7:30".
    fn since(second: u32) -> String {
        format!("{}:{:02}", second / 60, second % 60)
    }

    /// From when to when.
    #[must_use]
    pub fn span(&self, span: Span) -> String {
        format!("{} to {}", Self::since(span.from), Self::since(span.to))
    }

    /// When a block goes in and comes out.
    #[must_use]
    pub fn block_hour(&self, placing: Span, out: Option<Span>) -> String {
        let placing = self.span(placing);
        match out {
            Some(out) => format!("in {placing}, out {}", self.span(out)),
            None => format!("in {placing}, stay in"),
        }
    }

    /// When the cream goes on and comes off.
    #[must_use]
    pub fn cream_hour(&self, on: u32, off: Span) -> String {
        format!("on at {}, wiped off {}", Self::since(on), self.span(off))
    }

    /// The latest time by the label, after [`Self::cream_hour`].
    #[must_use]
    pub fn off_by(&self, by: u32) -> String {
        format!(", by {} at the latest", Self::since(by))
    }

    /// A part of a procedure.
    #[must_use]
    pub const fn module(&self, module: ModuleName, places: &PlaceWords) -> &'static str {
        match module.area() {
            Some(area) => places.area(area),
            None => self.intradermals,
        }
    }

    /// Technique and direction: "transverse, along the skin, slanted backward".
    #[must_use]
    pub fn technique(&self, how: How, direction: Direction) -> String {
        let how = match how {
            How::Perpendicular => self.perpendicular,
            How::Oblique => self.oblique,
            How::Transverse => self.transverse,
            How::Pressed => self.pressed,
        };
        self.direction(direction)
            .map_or_else(|| how.to_string(), |toward| format!("{how}, {toward}"))
    }

    /// A direction on its own; none without a slant.
    #[must_use]
    pub const fn direction(&self, direction: Direction) -> Option<&'static str> {
        Some(match direction {
            Direction::None => return None,
            Direction::Backward => self.backward,
            Direction::Upward => self.upward,
            Direction::Downward => self.downward,
            Direction::Medial => self.medial,
            Direction::Lateral => self.lateral,
        })
    }

    /// What is sought.
    #[must_use]
    pub const fn sought(&self, sought: Sought) -> &'static str {
        match sought {
            Sought::None => self.no_sensation,
            Sought::Mild => self.mild,
            Sought::DeQi => self.de_qi,
        }
    }

    /// Packets of one size: "9 strips of 5, 0.16 × 15 mm", and where it is wanted the gauge on the
    /// packet, with its mark.
    #[must_use]
    pub fn packets(&self, size: Size, gauge: Option<&Label>, pack: Pack, count: u16) -> String {
        let what = match (pack, count) {
            (Pack::One, 1) => "single needle".to_string(),
            (Pack::One, _) => "single needles".to_string(),
            (pack, 1) => format!("strip of {}", pack.needles()),
            (pack, _) => format!("strips of {}", pack.needles()),
        };
        let gauge = gauge.map_or_else(String::new, |g| {
            format!(" (gauge {}, {})", g.label, g.mark.word())
        });
        format!("{count} {what}, {size}{gauge}")
    }

    /// "55 to open, 48 to place, 7 spare".
    #[must_use]
    pub fn to_open(&self, opened: u16, placed: u16) -> String {
        let spare = opened.saturating_sub(placed);
        format!("{opened} to open, {placed} to place, {spare} spare")
    }

    /// How many needles.
    #[must_use]
    pub fn needles(&self, count: u16) -> String {
        match count {
            1 => "1 needle".to_string(),
            _ => format!("{count} needles"),
        }
    }

    /// A span rounded up to whole minutes.
    #[must_use]
    pub fn minutes(&self, span: Seconds) -> String {
        format!("{} min", span.0.div_ceil(60))
    }

    /// A stay: "20 to 30 min".
    #[must_use]
    pub fn stay(&self, least: Seconds, most: Seconds) -> String {
        if least == most {
            return self.minutes(most);
        }
        format!("{} to {}", least.0 / 60, self.minutes(most))
    }

    /// When the person can leave, from minutes after midnight; past midnight it goes on from 0:00.
    #[must_use]
    pub fn leave_by(&self, minute: u32) -> String {
        format!("out of the door by {}", clock(minute))
    }

    /// Why one point is not in the plan.
    #[must_use]
    pub fn why(&self, why: &Why) -> String {
        match why {
            Why::Finding(reason) | Why::Position(_, reason) | Why::Retained(reason) => {
                reason.words.clone()
            }
            Why::MostNeedles(most, reason) => {
                format!("{} (no more than {})", reason.words, self.needles(*most))
            }
            Why::ToFit => self.to_fit.to_string(),
            Why::UnknownPoint => self.unknown_point.to_string(),
            Why::UnknownSize => self.unknown_size.to_string(),
        }
    }

    /// What is not in the plan, with every reason; points that have the same reasons stand together:
    /// "LI4 R L, SP6 R L: Left out in pregnancy."
    #[must_use]
    pub fn left(&self, left: &[LeftOut], places: &PlaceWords) -> Vec<String> {
        let mut groups: Vec<(&[Why], Vec<&LeftOut>)> = Vec::new();
        for one in left {
            match groups.iter_mut().find(|(why, _)| *why == one.why) {
                Some((_, points)) => points.push(one),
                None => groups.push((&one.why, alloc::vec![one])),
            }
        }
        groups
            .into_iter()
            .map(|(why, points)| {
                let mut out = places.points(points.iter().map(|p| (p.point.as_str(), p.side)));
                for (at, reason) in why.iter().enumerate() {
                    if at == 0 {
                        out.push_str(": ");
                    } else {
                        out.push_str(&format!(" {} ", self.also));
                    }
                    out.push_str(&self.why(reason));
                }
                out
            })
            .collect()
    }

    /// Whether it fits. Time to spare is rounded down, so that it is never promised too much.
    #[must_use]
    pub fn fit(&self, fit: &Fit) -> String {
        match fit {
            Fit::NoSlot => self.no_slot.to_string(),
            Fit::Fits(spare) => format!("Fits, with {} min to spare.", spare.0 / 60),
            Fit::TooLong(over, _) => format!(
                "Does not fit the slot: {} too long. Nothing is changed. What would fit:",
                self.minutes(*over)
            ),
        }
    }

    /// A speed that sessions have taught: "Cheek: 12 s to place one, learned from 7 presses; the
    /// procedure's figure is 15 s."
    #[must_use]
    pub fn learned(&self, learned: &Learned, places: &PlaceWords) -> String {
        let speed = learned.speed;
        let work = match speed.work {
            Work::Place => self.to_place,
            Work::Remove => self.to_remove,
        };
        format!(
            "{}: {} s {work}, learned from {} presses; the procedure's figure is {} s.",
            self.module(speed.module, places),
            speed.seconds.0,
            speed.observations,
            learned.instead_of.0
        )
    }

    /// One way to make it fit.
    #[must_use]
    pub fn offer(&self, offer: Offer) -> String {
        match offer {
            Offer::WithoutCream(total) => format!("Without cream: {}", self.minutes(total)),
            Offer::Fewer(count, total) => {
                format!("{}: {}", self.needles(count), self.minutes(total))
            }
            Offer::FewerWithoutCream(count, total) => {
                format!(
                    "{} and no cream: {}",
                    self.needles(count),
                    self.minutes(total)
                )
            }
            Offer::Longer(by) => {
                format!("A slot {} longer, today or another day", self.minutes(by))
            }
        }
    }

    /// What is said of a plan whose needles cannot all be in at once: why, what is planned in its
    /// place, and the other way, which never takes less time. Empty for other plans.
    #[must_use]
    pub fn one_go(&self, plan: &Plan) -> String {
        if !plan.interleaved {
            return String::new();
        }
        format!(
            "{} cannot all be in before the first is due out; at most {} can. {}",
            self.needles(plan.needles),
            plan.in_one_go,
            self.interleaved
        )
    }

    /// How much cream the label asks for on so much skin: "10.0 to 13.4 g on 67 cm2". The least is
    /// rounded up and the most down to a tenth of a gram.
    #[must_use]
    pub fn cream_amount(&self, cm2: u32, least_mg: u32, most_mg: u32) -> String {
        let (least, most) = (least_mg.div_ceil(100), most_mg / 100);
        format!(
            "{}.{} to {}.{} g on {cm2} cm²",
            least / 10,
            least % 10,
            most / 10,
            most % 10
        )
    }

    /// The cream that was chosen: "10 g of cream on 80 cm², at least 30 min".
    #[must_use]
    pub fn cream_chosen(&self, cream: &ChosenCream) -> String {
        format!(
            "{} g of cream on {} cm², at least {} min",
            decimal_mm(Micrometres(cream.milligrams), 0),
            cream.area_cm2,
            cream.minutes
        )
    }

    /// What went wrong with the tape and what to do.
    #[must_use]
    pub fn tape(&self, why: &NoDistance) -> String {
        match why {
            NoDistance::Implausible {
                got, least, most, ..
            } => format!(
                "{} does not look right here. This length is usually between {} and {}. Nothing was changed: measure again, or check the decimal point.",
                centimetres(Micrometres(*got)),
                centimetres(*least),
                centimetres(*most)
            ),
            NoDistance::NoFigure => self.no_figure.to_string(),
            NoDistance::NotMeasured(Wanted::Finger) => self.measure_finger.to_string(),
            NoDistance::NotMeasured(Wanted::Segment(_)) => self.measure_segment.to_string(),
            NoDistance::NotANumber => self.not_a_number.to_string(),
            NoDistance::NoParts | NoDistance::TooFar => self.no_distance.to_string(),
        }
    }

    /// A distance on the skin in whole millimetres, since no point is found more closely: "84 mm, give
    /// or take 8 mm".
    #[must_use]
    pub fn distance(&self, at: Micrometres, give_or_take: Micrometres) -> String {
        let millimetres = at.0.saturating_add(500) / 1000;
        let around = decimal_mm(give_or_take, 0);
        format!("{millimetres} mm, give or take {around} mm")
    }
}

/// "14:52".
fn clock(minute: u32) -> String {
    let minute = minute % 1440;
    format!("{}:{:02}", minute / 60, minute % 60)
}

/// Centimetres with one place, rounded half up: what a tape can be read to.
fn centimetres(length: Micrometres) -> String {
    let millimetres = length.0.saturating_add(500) / 1000;
    format!("{}.{} cm", millimetres / 10, millimetres % 10)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::atlas::Side;
    use crate::needle::Needles;
    use crate::plan::Reason;

    #[test]
    fn sentences_read_as_sentences() {
        let needles = Needles::load().unwrap();
        let size = needles.get("0.16x15").unwrap().size;
        assert_eq!(
            EN.packets(size, None, Pack::Five, 9),
            "9 strips of 5, 0.16 × 15 mm"
        );
        let west = needles.gauge(size.diameter).unwrap().west.as_ref();
        assert_eq!(
            EN.packets(size, west, Pack::One, 1),
            "1 single needle, 0.16 × 15 mm (gauge 40, memory)"
        );
        assert_eq!(EN.leave_by(14 * 60 + 2), "out of the door by 14:02");
        assert_eq!(EN.leave_by(1440 + 5), "out of the door by 0:05");
        assert_eq!(EN.to_open(50, 48), "50 to open, 48 to place, 2 spare");
        let out = |point: &str, side, words: &str| LeftOut {
            point: point.into(),
            side,
            region: None,
            needles: 1,
            why: alloc::vec![Why::Finding(Reason {
                rule: "PR1".into(),
                words: words.into(),
            })],
        };
        let pregnant = "Left out in pregnancy.";
        assert_eq!(
            EN.left(
                &[
                    out("LI4", Side::Right, pregnant),
                    out("ST3", Side::Left, "Sore here."),
                    out("LI4", Side::Left, pregnant),
                    out("SP6", Side::Right, pregnant),
                ],
                &super::super::place::EN
            ),
            [
                "LI4 R L, SP6 R: Left out in pregnancy.",
                "ST3 L: Sore here."
            ]
        );
        assert_eq!(
            EN.distance(Micrometres(84_000), Micrometres(8_000)),
            "84 mm, give or take 8 mm"
        );
    }

    #[test]
    fn an_implausible_length_is_refused_with_its_limits() {
        let segments = crate::measure::segments().unwrap();
        let forearm = segments.iter().find(|s| s.id == "forearm").unwrap();
        let refused = forearm.reading(Micrometres::from_mm(2520)).unwrap_err();
        assert_eq!(
            EN.tape(&refused),
            "252.0 cm does not look right here. This length is usually between 17.0 cm and 36.0 cm. Nothing was changed: measure again, or check the decimal point."
        );
    }
}
