//! Words of what is rare at the chair: what differed from the plan, one needle at a named point, a
//! packet that held another number, a hand-over, a rehearsal, needles that stay in for days.

use crate::event::session::{Felt, Otherwise};
use crate::session::figures;
use crate::words::plan::EN as PLAN;
use alloc::format;
use alloc::string::{String, ToString};
use alloc::vec::Vec;

/// Fixed words.
#[expect(missing_docs, reason = "each field is the sentence it holds")]
pub struct BesideWords {
    pub page: &'static str,
    pub otherwise: &'static str,
    pub otherwise_note: &'static str,
    pub whole_region: &'static str,
    pub as_planned: &'static str,
    pub depth: &'static str,
    pub technique: &'static str,
    pub direction: &'static str,
    pub felt: &'static str,
    pub in_words: &'static str,
    pub nothing_said: &'static str,
    pub fault: &'static str,
    pub fault_note: &'static str,
    pub which_packet: &'static str,
    pub it_held: &'static str,
    pub by_point: &'static str,
    pub another_point: &'static str,
    pub side: &'static str,
    pub place_one: &'static str,
    pub card: &'static str,
    pub inside: &'static str,
    pub clocks: &'static str,
    pub answers: &'static str,
    pub lots: &'static str,
    pub none_inside: &'static str,
    pub no_clock: &'static str,
    pub not_asked: &'static str,
    pub nothing_known: &'static str,
    pub no_lot: &'static str,
    pub stays_refused: &'static str,
    pub then_count: &'static str,
    pub days: &'static str,
    pub days_note: &'static str,
    pub leave_in: &'static str,
    pub are_they_out: &'static str,
}

/// English.
pub const EN: BesideWords = BesideWords {
    page: "Otherwise than planned",
    otherwise: "Depth, technique, feeling",
    otherwise_note: "Only what differed. The rest is recorded as planned, not per needle.",
    whole_region: "the whole region",
    as_planned: "as planned",
    depth: "mm deep; 0 is as planned",
    technique: "How it went in",
    direction: "Which way",
    felt: "What the person felt",
    in_words: "In words",
    nothing_said: "Nothing that differs was chosen, so nothing was written down.",
    fault: "A packet held another number",
    fault_note: "The sum follows; the label stays in the record.",
    which_packet: "Which packet",
    it_held: "needles were in it",
    by_point: "By point",
    another_point: "Another point",
    side: "Side",
    place_one: "Placed 1 here",
    card: "For the colleague",
    inside: "In now",
    clocks: "Clocks",
    answers: "What matters of the answers",
    lots: "Packets and lots",
    none_inside: "no needle is in",
    no_clock: "no clock is running",
    not_asked: "No answers are known here: ask the person yourself.",
    nothing_known: "nothing that was answered changes anything",
    no_lot: "no packet was written down",
    stays_refused: "That needles stay in was refused. What stays in all the same is written down.",
    then_count: "Handed over. Now count by eye what is in.",
    days: "days at most",
    days_note: "needles",
    leave_in: "They stay in",
    are_they_out: "Are they out? Say how:",
};

impl BesideWords {
    /// A feeling.
    #[must_use]
    pub const fn feeling(&self, felt: Felt) -> &'static str {
        match felt {
            Felt::Nothing => "nothing felt",
            Felt::Dull => "mild, dull",
            Felt::DeQi => "de qi",
            Felt::Sharp => "sharp pain",
            Felt::Electric => "like an electric shock",
        }
    }

    /// A depth: "6 mm deep", "0.6 mm deep".
    #[must_use]
    pub fn deep(&self, micrometres: u32) -> String {
        let (mm, rest) = (
            micrometres.checked_div(1000).unwrap_or(0),
            micrometres.checked_rem(1000).unwrap_or(0),
        );
        if rest == 0 {
            format!("{mm} mm deep")
        } else {
            let part = format!("{rest:03}");
            format!("{mm}.{} mm deep", part.trim_end_matches('0'))
        }
    }

    /// What differed: "6 mm deep, oblique, upward, de qi: slow to come".
    #[must_use]
    pub fn differs(&self, e: &Otherwise) -> String {
        let mut said: Vec<String> = Vec::new();
        said.extend(e.depth.map(|d| self.deep(d.0)));
        said.extend(match (e.technique, e.direction) {
            (Some(how), way) => Some(PLAN.technique(how, way.unwrap_or(NO_WAY))),
            (None, Some(way)) => Some(self.way(way).to_string()),
            (None, None) => None,
        });
        said.extend(e.felt.map(|f| self.feeling(f).to_string()));
        let mut line = said.join(", ");
        let words = e.words.trim();
        if !words.is_empty() {
            if !line.is_empty() {
                line.push_str(": ");
            }
            line.push_str(words);
        }
        line
    }

    /// A direction, where none is one too.
    #[must_use]
    pub const fn way(&self, way: crate::procedure::Direction) -> &'static str {
        match PLAN.direction(way) {
            Some(words) => words,
            None => "no slant",
        }
    }

    /// "A packet of 10 held 9, lot W7".
    #[must_use]
    pub fn held(&self, label: u16, held: u16, lot: &str) -> String {
        let lot = if lot.is_empty() {
            String::new()
        } else {
            format!(", lot {lot}")
        };
        format!("A packet labelled {label} held {held}{lot}.")
    }

    /// "L cheek was counted twice in one round: 7 was chosen, 6 was set aside."
    #[must_use]
    pub fn chosen(&self, region: &str, kept: usize, other: usize) -> String {
        format!(
            "{region} was counted twice in one round: {kept} was chosen, {other} was set aside."
        )
    }

    /// The press that corrects a packet: "It held 9".
    #[must_use]
    pub fn this_held(&self, n: u16) -> String {
        format!("It held {n}")
    }

    /// What is known of how long a needle may be worn, with its mark.
    #[must_use]
    pub fn worn(&self) -> String {
        format!(
            "Disc press needles are worn 1 to {} days, shorter in heat: from memory, no source confirmed. The packet and local codes decide.",
            figures::WORN_DAYS
        )
    }

    /// The count as it was closed over, once something was added to it.
    #[must_use]
    pub fn closed_over(&self, opened: u32, not_found: u32) -> String {
        format!("Closed over {opened} opened, {not_found} not found.")
    }

    /// "Out by 2026-11-29".
    #[must_use]
    pub fn out_by(&self, day: &str) -> String {
        format!("Out by {day} at the latest.")
    }
}

const NO_WAY: crate::procedure::Direction = crate::procedure::Direction::None;
