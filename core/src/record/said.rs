//! The record in words, for the page and for paper: the lines before its table, the rows, and the
//! lines after it. What happened between two times is said with both.

use super::{Range, Record, RegionRecord};
use crate::base::stamp::Wall;
use crate::event::session::{Mode, PointUse};
use crate::session::FlawKind;
use crate::view::chair::{row, size_text, sum_line, title};
use crate::view::flaw;
use crate::words::acts::EN as ACTS;
use crate::words::beside::EN as BESIDE;
use crate::words::chair::EN as CHAIR;
use crate::words::flaw::EN as FLAW;
use crate::words::place::EN as PLACES;
use crate::words::record::EN as REC;
use crate::words::visit::EN as VISIT;
use alloc::format;
use alloc::string::{String, ToString};
use alloc::vec::Vec;

/// One row of the table.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Row {
    /// "Patient's L cheek".
    pub region: String,
    /// The points named.
    pub points: String,
    /// "7 0.16 × 15 mm".
    pub sizes: String,
    /// When they went in.
    pub went_in: String,
    /// When they came out; a dash if none did.
    pub came_out: String,
    /// "7 / 5, 2 stay in".
    pub counts: String,
}

/// A time of day: "14:05".
#[must_use]
pub fn time(at: Wall, zone: i16) -> String {
    let minutes = at.0.div_euclid(60_000).saturating_add(i64::from(zone));
    let of_day = minutes.rem_euclid(24 * 60);
    format!("{:02}:{:02}", of_day.div_euclid(60), of_day.rem_euclid(60))
}

/// A stretch of time, or one time where both ends are in one minute: "14:05–14:08".
#[must_use]
pub fn times((from, to): Range, zone: i16) -> String {
    let (a, b) = (time(from, zone), time(to, zone));
    if a == b { a } else { format!("{a}\u{2013}{b}") }
}

/// What a person wrote, kept apart from the sentence around it whichever way it runs.
fn own(text: &str) -> String {
    format!("\u{2068}{text}\u{2069}")
}

fn points<'a>(points: impl IntoIterator<Item = &'a PointUse>) -> String {
    PLACES.points(points.into_iter().map(|p| (p.code.as_str(), p.side)))
}

impl RegionRecord {
    fn row(&self, zone: i16) -> Row {
        let sizes = self.sizes.iter();
        let sizes = sizes.map(|(size, n)| format!("{n} {}", size_text(*size)).trim().into());
        let mut counts = format!("{} / {}", self.placed, self.out);
        for (n, word) in [
            (self.stays_in, CHAIR.stays_in),
            (self.not_found, CHAIR.not_found_term),
            (self.fell_off, ACTS.fell_off_term),
            (self.open, CHAIR.unaccounted),
        ] {
            if n > 0 {
                counts.push_str(&format!(", {n} {word}"));
            }
        }
        if let Some(first) = self.first_answer {
            counts.push_str(&REC.first_answer(first));
        }
        let out = self.came_out.map(|range| times(range, zone));
        Row {
            region: title(&PLACES, self.region),
            points: points(&self.points),
            sizes: row(sizes),
            went_in: times(self.went_in, zone),
            came_out: out.unwrap_or_else(|| "\u{2013}".into()),
            counts,
        }
    }
}

impl Record {
    /// Screening, consent, what was gone past, figures in force, points left out.
    #[must_use]
    pub fn before(&self) -> Vec<String> {
        let mut lines = Vec::new();
        let screening = if self.mode == Some(Mode::CountOnly) {
            REC.not_screened
        } else {
            REC.screened
        };
        lines.push(screening.to_string());
        let consent = self.consent.as_ref().map(|c| {
            let parts = [
                (c.needles, VISIT.consent_needles),
                (c.cream, VISIT.consent_cream),
                (c.stays_in, VISIT.consent_stays),
                (c.pictures, VISIT.consent_pictures),
            ];
            let said = parts.map(|(yes, word)| {
                let said = if yes { REC.agreed } else { REC.refused };
                format!("{word}: {said}")
            });
            said.join("; ")
        });
        let consent = consent.unwrap_or_else(|| REC.no_consent.into());
        lines.push(format!("{} {consent}", REC.consent));
        for o in &self.overrides {
            let (past, at, why) = (REC.went_past, points(&o.points), own(&o.reason));
            lines.push(format!("{past} {} {at}: {why}", o.rule));
        }
        for (id, value, why) in &self.figures {
            lines.push(format!("{} {id} {value} {}", REC.figure, own(why)));
        }
        if !self.left_out.is_empty() {
            let left = self.left_out.iter();
            let left = row(left.map(|l| format!("{} ({})", points([&l.point]), l.rule)));
            lines.push(format!("{} {left}", REC.left_out));
        }
        lines
    }

    /// The table, a row for each region.
    #[must_use]
    pub fn rows(&self) -> Vec<Row> {
        self.regions.iter().map(|r| r.row(self.zone)).collect()
    }

    /// "50 opened: 48 out, 2 unused = adds up".
    #[must_use]
    pub fn sum_said(&self) -> String {
        let mut line = sum_line(&CHAIR, &self.sum);
        if self.closed && self.missing() == 0 {
            line.push_str(&format!(" = {}", CHAIR.adds_up));
        }
        line
    }

    /// Not found, of those placed and those that never were.
    #[must_use]
    pub fn missing(&self) -> u32 {
        let sum = &self.sum;
        sum.not_found.saturating_add(sum.unplaced_not_found)
    }

    /// Packets, cream, what is said about the count, what happened, notes, corrections. `here`: on
    /// the practice's own page, where a line may speak of somebody else's visit; never on paper.
    #[must_use]
    pub fn after(&self, here: bool) -> Vec<String> {
        let zone = self.zone;
        let mut lines = Vec::new();
        for (size, held, lot) in &self.packs {
            let lot = lot.as_deref().map_or_else(|| REC.no_lot.into(), own);
            let size = size_text(*size);
            lines.push(format!("{held} \u{d7} {size}, {} {lot}", REC.lot));
        }
        for c in &self.creams {
            let off = c.off.map_or(REC.not_wiped.into(), |at| time(at, zone));
            let product = c.product.as_deref().unwrap_or_default();
            let on = time(c.on, zone);
            lines.push(format!("{} {product}, {on}\u{2013}{off}", REC.cream));
        }
        lines.extend(self.signed.iter().map(|s| own(s)));
        lines.extend(self.about_count.iter().cloned());
        let now = (self.sum.opened, self.missing());
        if let Some((opened, missing)) = self.at_close.filter(|then| *then != now) {
            lines.push(BESIDE.closed_over(opened, missing));
        }
        for kind in &self.flaws {
            // It stands among what is said about the count.
            if *kind != FlawKind::FalseBalance {
                lines.push(flaw::say(&FLAW, *kind).to_string());
            }
        }
        // What was pressed in one minute stands in one line: sat, stood, steady.
        let mut last = String::new();
        for (range, line) in &self.happened {
            let when = times(*range, zone);
            match lines.last_mut().filter(|_| when == last) {
                Some(same) => same.push_str(&format!("; {}", own(line))),
                None => lines.push(format!("{when} {}", own(line))),
            }
            last = when;
        }
        for (at, text) in &self.notes {
            lines.push(format!("{} {}", time(*at, zone), own(text)));
        }
        if here {
            let other = self.from_elsewhere.iter();
            lines.extend(other.map(|line| format!("{} {}", REC.from_elsewhere, own(line))));
        }
        if self.corrected > 0 {
            lines.push(REC.corrected(self.corrected));
        }
        lines
    }
}
