//! Words of the atlas, of one point's page, and of the measuring tape.

use super::plan::EN as PLAN;
use crate::atlas::face::{Basis, Drawn};
use crate::atlas::{Hazard, Kind, Offset, Point, Reach, Site, Unit};
use crate::base::cite::Mark;
use crate::base::units::Micrometres;
use crate::measure::{Distance, NoDistance, Segment, offset_in_um, uncertainty};
use crate::needle::decimal_mm;
use alloc::format;
use alloc::string::{String, ToString};

/// Every sentence of these pages.
#[expect(missing_docs, reason = "each field is the sentence it holds")]
pub struct AtlasWords {
    pub atlas: &'static str,
    pub what: &'static str,
    pub find: &'static str,
    pub none: &'static str,
    pub place: &'static str,
    pub found_by: &'static str,
    pub depth: &'static str,
    pub no_depth: &'static str,
    pub under: &'static str,
    pub near: &'static str,
    pub no_layer: &'static str,
    pub hazards: &'static str,
    pub no_hazards: &'static str,
    pub left_out: &'static str,
    pub left_out_note: &'static str,
    pub from: &'static str,
    pub drawing: &'static str,
    pub no_drawing: &'static str,
    pub no_point: &'static str,
    pub caution: &'static str,
    pub tape: &'static str,
    pub tape_what: &'static str,
    pub needed: &'static str,
    pub others: &'static str,
    pub keep: &'static str,
    pub kept: &'static str,
    pub in_cm: &'static str,
    pub finger: &'static str,
    pub finger_note: &'static str,
    pub offsets: &'static str,
    pub no_procedure: &'static str,
    pub no_offsets: &'static str,
}

/// English.
pub const EN: AtlasWords = AtlasWords {
    atlas: "Atlas of points",
    what: "Every point that can be planned: the standard's codes, and sites of our own that have none. The word in brackets is the mark of a figure: read in a source, from memory, common practice, derived, or policy, a figure that somebody had to choose.",
    find: "Find a point: code, name, region or muscle",
    none: "No point has all of these words. Try a code such as LI4, a name, a region or a muscle.",
    place: "Where",
    found_by: "How it is found",
    depth: "Depth and angle",
    no_depth: "No depth was read for this point.",
    under: "Under the skin",
    near: "Near by",
    no_layer: "Nothing was read or recalled of what lies here. That does not mean that nothing does.",
    hazards: "What to mind",
    no_hazards: "No hazard was read or recalled for this point. That does not mean that there is none.",
    left_out: "Who it is left out for",
    left_out_note: "Rules that leave it out, ask about it or limit it. Rules on places count when somebody names this one; rules on the whole visit stand in the rule book.",
    from: "Where this is from",
    drawing: "The drawing is a schema: no distance is read off it.",
    no_drawing: "This point is not on the face: its region is drawn on the hands, or not at all.",
    no_point: "There is no point of this code here. Nothing was changed.",
    caution: "For a licensed practitioner. A textbook figure is not a depth for cosmetic work and never a limit that makes it harmless.",
    tape: "Measuring tape",
    tape_what: "Lengths of this person's own body, in centimetres. Entered once and used at every visit. Each length is divided into so many equal parts, and one part is one B-cun there and nowhere else.",
    needed: "For the procedure chosen today",
    others: "Other lengths",
    keep: "Keep these lengths",
    kept: "Kept. The points below use them.",
    in_cm: "cm",
    finger: "Finger unit: across the person's own thumb at its widest joint",
    finger_note: "The person's own, not the practitioner's (memory). Finger units stay finger units and are never taken from another length.",
    offsets: PLAN.in_mm,
    no_procedure: "No procedure is chosen for today: choose one in Plan, and its points stand here.",
    no_offsets: "No point of this procedure has an offset to measure: each is found by touch.",
};

impl AtlasWords {
    /// One thing said of a point, with its mark: "masseter (read)".
    #[must_use]
    pub fn said(&self, said: &Hazard) -> String {
        format!("{} ({})", said.words, said.mark.word())
    }

    /// What sort of point it is: "Channel point, a pair".
    #[must_use]
    pub fn kind(&self, point: &Point) -> String {
        let kind = match point.kind {
            Kind::Channel => "Channel point",
            Kind::Extra => "Extra point",
            Kind::Own => "A site of our own, in no standard",
        };
        let reach = match point.reach {
            Reach::Pair => "a pair",
            Reach::Midline => "on the midline",
            Reach::Four => "four round a centre",
        };
        format!("{kind}, {reach}")
    }

    /// Depth and angle, never as a depth to reach.
    #[must_use]
    pub fn depth(&self, point: &Point) -> String {
        let Some((least, most)) = point.depth else {
            return self.no_depth.to_string();
        };
        let angle = point.angle.map_or(String::new(), |(least, most)| {
            if least == most {
                format!(" at {most}°")
            } else {
                format!(" at {least} to {most}°")
            }
        });
        format!(
            "{} to {} mm{angle} ({}). Textbook figure, not a safe depth; angles are our mapping of the words (memory).",
            decimal_mm(least, 0),
            decimal_mm(most, 0),
            point.mark.word()
        )
    }

    /// One bearing: "0.5 B-cun superior of anterior hairline: 10 mm here, give or take 8 mm (derived)".
    #[must_use]
    pub fn bearing(
        &self,
        site: &Site,
        segment: Option<&Segment>,
        here: Result<Distance, NoDistance>,
    ) -> String {
        let axis = match &site.axis {
            Some(axis) => format!("{axis} of "),
            None => String::new(),
        };
        let Some(Offset { hundredths, unit }) = site.offset else {
            return format!("{axis}{}", site.landmark);
        };
        let unit = match unit {
            Unit::BCun => "B-cun",
            Unit::FCun => "F-cun (finger unit)",
        };
        let units = decimal_mm(Micrometres(u32::from(hundredths).saturating_mul(10)), 0);
        let mut out = format!("{units} {unit} {axis}{}", site.landmark);
        if let Some(segment) = segment {
            let (from, to) = (&segment.from, &segment.to);
            out.push_str(&format!(", {} B-cun being {from} to {to}", segment.cun));
        }
        match here {
            Ok(Distance { um, give_or_take }) => {
                let on_face = give_or_take == uncertainty(None, true).0;
                let mark = uncertainty(Some(hundredths), on_face).1;
                out.push_str(&format!(
                    ": {} here ({})",
                    PLAN.distance(um, give_or_take),
                    mark.word()
                ));
            }
            Err(NoDistance::NoFigure) => {}
            Err(why) => out.push_str(&format!(". {}", PLAN.tape(&why))),
        }
        out
    }

    /// From where to where.
    #[must_use]
    pub fn segment(&self, segment: &Segment) -> String {
        format!("From {} to {}", segment.from, segment.to)
    }

    /// What one part is worth, and where the count is from.
    #[must_use]
    pub fn unit(&self, segment: &Segment, length: Option<Micrometres>) -> String {
        let count = format!(
            "{} B-cun ({}: {})",
            segment.cun,
            segment.mark.word(),
            segment.source
        );
        let unit = length.and_then(|length| offset_in_um(length, segment.cun, 100).ok());
        match unit {
            // The worked examples of the reference give hundredths of a centimetre.
            Some(unit) => {
                let hundredths = unit.0.saturating_add(50) / 100;
                format!("{count}. One is {} mm here", tenths(hundredths))
            }
            None => count,
        }
    }

    /// Centimetres as they were typed: "25.2".
    #[must_use]
    pub fn cm(&self, length: Micrometres) -> String {
        let thousandths = length.0 / 10;
        decimal_mm(Micrometres(thousandths), 0)
    }

    /// How the place on the drawing was got, and how far off it may be; nothing for a point that is not
    /// drawn.
    #[must_use]
    pub fn drawn(&self, at: Option<&Drawn>) -> String {
        let Some(at) = at else {
            return self.no_drawing.to_string();
        };
        let basis = match at.basis {
            Basis::Derived => "derived from the canon of proportions",
            Basis::DerivedAssumed => {
                "derived from the canon of proportions, with an assumption on top"
            }
            Basis::Assumed => "an assumption from ordinary anatomy",
            Basis::MeasuredDerived => "one way measured on a CT model, the other derived",
            Basis::Chosen => "put there by the practice",
        };
        format!(
            "{} Its place there: {basis}; give or take {} mm on the drawing, an assumption.",
            self.drawing,
            at.tolerance.div_ceil(10)
        )
    }

    /// Where a point is from, with its mark.
    #[must_use]
    pub fn origin(&self, point: &Point) -> String {
        let mark: Mark = point.mark;
        format!("{} ({})", point.source, mark.word())
    }
}

/// "21.0" from 210.
fn tenths(n: u32) -> String {
    format!("{}.{}", n / 10, n % 10)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::atlas::Atlas;
    use crate::measure::{Measures, distance, segments};

    #[test]
    fn a_bearing_names_landmark_units_millimetres_and_mark() {
        let atlas = Atlas::load().unwrap();
        let segments = segments().unwrap();
        let point = atlas.get("PC6").unwrap();
        let site = &point.sites[0];
        let segment = segments
            .iter()
            .find(|s| Some(&s.id) == site.segment.as_ref());
        let mut measures = Measures::default();
        let said = |m: &Measures| EN.bearing(site, segment, distance(site, &segments, m, false));
        assert!(
            said(&measures).contains("Lay the tape"),
            "{}",
            said(&measures)
        );
        measures.set("forearm", Micrometres(252_000));
        assert_eq!(
            said(&measures),
            "2 B-cun proximal of palmar wrist crease, 12 B-cun being cubital crease to wrist crease: 42 mm, give or take 8 mm here (derived)"
        );
        assert_eq!(
            EN.unit(segment.unwrap(), Some(Micrometres(252_000))),
            "12 B-cun (read: training tables, four seen). One is 21.0 mm here"
        );
        assert_eq!(EN.cm(Micrometres(252_000)), "25.2");
    }

    #[test]
    fn a_depth_is_never_told_without_what_it_is_not() {
        let atlas = Atlas::load().unwrap();
        let (mut with, mut without) = (0, 0);
        for point in atlas.points() {
            let said = EN.depth(point);
            if point.depth.is_some() {
                assert!(said.contains("not a safe depth"), "{}", point.code);
                with += 1;
            } else {
                assert_eq!(said, EN.no_depth);
                without += 1;
            }
        }
        assert!(with > 50 && without > 20, "{with} {without}");
    }
}
