//! Words of the written record.

use alloc::format;
use alloc::string::String;

/// Fixed words.
#[expect(missing_docs, reason = "each field is the sentence it holds")]
pub struct RecordWords {
    pub record: &'static str,
    pub born: &'static str,
    pub not_screened: &'static str,
    pub screened: &'static str,
    pub consent: &'static str,
    pub no_consent: &'static str,
    pub agreed: &'static str,
    pub refused: &'static str,
    pub needles: &'static str,
    pub went_past: &'static str,
    pub figure: &'static str,
    pub left_out: &'static str,
    pub region: &'static str,
    pub size: &'static str,
    pub went_in: &'static str,
    pub came_out: &'static str,
    pub placed_out: &'static str,
    pub not_per_needle: &'static str,
    pub lot: &'static str,
    pub no_lot: &'static str,
    pub cream: &'static str,
    pub not_wiped: &'static str,
    pub rehearsal: &'static str,
    pub nobody: &'static str,
    pub signature: &'static str,
    pub caution: &'static str,
    pub from_elsewhere: &'static str,
}

/// English.
pub const EN: RecordWords = RecordWords {
    record: "Record of a treatment",
    born: "born",
    not_screened: "Count only: screening was not recorded here.",
    screened: "Planned after screening on this phone.",
    consent: "Consent:",
    no_consent: "none of that day is written down",
    agreed: "agreed",
    refused: "refused",
    needles: "needles",
    went_past: "Gone past, with a reason:",
    figure: "Figure of the practice in force:",
    left_out: "Left out of the plan:",
    region: "Region, points",
    size: "Needles",
    went_in: "In",
    came_out: "Out",
    placed_out: "In / out",
    not_per_needle: "Depth, technique and sensation as planned, where nothing else is written; not recorded per needle.",
    lot: "lot",
    no_lot: "not written down",
    cream: "Numbing cream",
    not_wiped: "not recorded as wiped off",
    rehearsal: "Rehearsal: nobody was treated.",
    nobody: "This session belongs to nobody yet. Write down the person first; what you typed is still here.",
    signature: "Signature",
    caution: "Written with a tool that informs a licensed practitioner. Local codes and the practitioner's training decide. In an emergency call the local number first.",
    from_elsewhere: "Written down with another visit, not printed:",
};

impl RecordWords {
    /// "1 not found".
    #[must_use]
    pub fn not_found(&self, n: u32) -> String {
        format!("{n} not found")
    }

    /// " (first answer 6)".
    #[must_use]
    pub fn first_answer(&self, n: u16) -> String {
        format!(" (first answer {n})")
    }

    /// How many entries were corrected.
    #[must_use]
    pub fn corrected(&self, n: u32) -> String {
        format!(
            "{n} {} corrected; the journal keeps them.",
            if n == 1 { "entry was" } else { "entries were" }
        )
    }
}
