//! Words of what leaves Pinfold: files for a clinic's server, a spreadsheet, a calendar.

use crate::atlas::{Region, Side};
use crate::words::place;
use alloc::format;
use alloc::string::{String, ToString};

/// Fixed words.
#[expect(missing_docs, reason = "each field is the sentence it holds")]
pub struct WireWords {
    pub product: &'static str,
    pub product_id: &'static str,
    pub appointment: &'static str,
    pub acupuncture: &'static str,
    pub visit: &'static str,
    pub region: &'static str,
    pub needle_count: &'static str,
    pub opened: &'static str,
    pub packless: &'static str,
    pub placed: &'static str,
    pub in_now: &'static str,
    pub out: &'static str,
    pub out_uncounted: &'static str,
    pub stays_in: &'static str,
    pub unused: &'static str,
    pub spoilt: &'static str,
    pub unaccounted: &'static str,
    pub not_found: &'static str,
    pub unplaced_not_found: &'static str,
    pub unseen: &'static str,
    pub fell_off: &'static str,
    pub turned_up: &'static str,
    pub false_balance: &'static str,
    pub from_elsewhere: &'static str,
    pub about_then: &'static str,
    pub points: &'static str,
    pub went_in: &'static str,
    pub came_out: &'static str,
    pub first_answer: &'static str,
    pub about: &'static str,
    pub contradicts: &'static str,
    pub no_size: &'static str,
    pub needle: &'static str,
    pub lying_needle: &'static str,
    pub cream: &'static str,
    pub cream_not_wiped: &'static str,
    pub cream_no_time: &'static str,
    pub where_on: &'static str,
    pub answers: &'static str,
    pub consent: &'static str,
    pub treatment: &'static str,
    pub consent_policy: &'static str,
    pub consent_needles: &'static str,
    pub consent_cream: &'static str,
    pub consent_stays_in: &'static str,
    pub consent_pictures: &'static str,
    pub read_back: &'static str,
    pub looked: &'static str,
    pub score: &'static str,
    pub marks: &'static str,
    pub felt: &'static str,
    pub otherwise: &'static str,
    pub not_done: &'static str,
    pub mode_unknown: &'static str,
    pub signed: &'static str,
    pub nobody: &'static str,
    pub practitioner: &'static str,
    pub writer: &'static str,
    pub written_out: &'static str,
    pub journal_session: &'static str,
    pub came_for: &'static str,
    pub planned: &'static str,
    pub count_only: &'static str,
    pub screening_before: &'static str,
    pub screening_none: &'static str,
    pub not_known: &'static str,
    pub fate_in: &'static str,
    pub fate_out: &'static str,
    pub fate_out_uncounted: &'static str,
    pub fate_stays_in: &'static str,
    pub fate_not_found: &'static str,
    pub asked: &'static str,
    pub paper: &'static str,
    pub patient: &'static str,
    pub yes: &'static str,
    pub no: &'static str,
    pub refused_unknown: &'static str,
    pub refused_rehearsal: &'static str,
    pub refused_erased: &'static str,
    pub refused_clock: &'static str,
}

/// English.
pub const EN: WireWords = WireWords {
    product: "Pinfold",
    product_id: "PRODID:-//Pinfold//Pinfold//EN",
    appointment: "Appointment",
    acupuncture: "Cosmetic acupuncture with fine needles",
    visit: "Acupuncture visit",
    region: "Needles of one region",
    needle_count: "Count of needles of one visit",
    opened: "opened",
    packless: "of these, in no packet that was entered",
    placed: "placed",
    in_now: "still in when this was written out",
    out: "out and counted",
    out_uncounted: "out, not yet counted",
    stays_in: "stays in on purpose",
    unused: "unused",
    spoilt: "spoilt before placing",
    unaccounted: "opened, and nobody has said what became of them",
    not_found: "placed, looked for, not found",
    unplaced_not_found: "never placed, looked for, not found",
    unseen: "left its place unseen",
    fell_off: "stayed in on purpose, fell off unseen",
    turned_up: "turned up, from no known place",
    false_balance: "turned up after the count had added up, though it had accounted for them",
    from_elsewhere: "A needle that was written down with another visit may be from this one.",
    about_then: "Its time was entered afterwards, as about then.",
    points: "points, with the patient's side",
    went_in: "went in",
    came_out: "came out",
    first_answer: "first count, before the region was looked through again",
    about: "Some of these times were entered afterwards, as about then.",
    contradicts: "Some of these times contradict each other: a clock was set, or a time was entered as about then. Where an end would come before its beginning, only the beginning stands here.",
    no_size: "size not written down",
    needle: "Acupuncture needle",
    lying_needle: "Intradermal needle",
    cream: "Numbing cream",
    cream_not_wiped: "Not recorded as wiped off.",
    cream_no_time: "Numbing cream went on; its time cannot be read.",
    where_on: "Where:",
    answers: "Answers given before treatment",
    consent: "Consent to treatment",
    treatment: "Treatment",
    consent_policy: "What was agreed to and what was not, as written down before needles",
    consent_needles: "Needles",
    consent_cream: "Numbing cream",
    consent_stays_in: "Needles that stay in on purpose",
    consent_pictures: "Pictures",
    read_back: "Name and birth date were read back and were right.",
    looked: "What was seen and felt before planning",
    score: "Score, 0 to 10 (no validated scale):",
    marks: "Marks seen afterwards",
    felt: "How the person felt, during and after",
    otherwise: "Done otherwise than planned:",
    not_done: "The visit was closed without a needle having been placed.",
    mode_unknown: "How the visit was opened is not known here.",
    signed: "Written about what did not add up:",
    nobody: "Nobody was written down for this visit.",
    practitioner: "The practitioner who kept this record",
    writer: "software",
    written_out: "Written out from the practitioner's journal",
    journal_session: "Pinfold's journal, session",
    came_for: "Came for:",
    planned: "planned",
    count_only: "count only",
    screening_before: "before the visit, on this phone",
    screening_none: "not recorded here",
    not_known: "not known",
    fate_in: "in",
    fate_out: "out",
    fate_out_uncounted: "out, not yet counted",
    fate_stays_in: "stays in",
    fate_not_found: "not found",
    asked: "asked",
    paper: "paper",
    patient: "patient",
    yes: "yes",
    no: "no",
    refused_unknown: "Nothing was written out: this is not in the journal any more. Go back and choose again.",
    refused_rehearsal: "Nothing was written out: this was a rehearsal and nobody was treated. It is kept here, marked as one.",
    refused_erased: "Nothing was written out: what belonged to this person was erased on purpose, and no copy of it is left here.",
    refused_clock: "Nothing was written out: this phone's clock shows a year that cannot be. Nothing is lost. Set the clock and try again.",
};

impl WireWords {
    /// "Appointment: Wren".
    #[must_use]
    pub fn appointment_with(&self, who: &str) -> String {
        format!("{}: {who}", self.appointment)
    }

    /// A region for somebody who does not know our rows: "Cheek, patient's left".
    #[must_use]
    pub fn site(&self, region: Region) -> String {
        let area = place::EN.area(region.area);
        match region.side {
            Side::Left => format!("{area}, patient's left"),
            Side::Right => format!("{area}, patient's right"),
            Side::Both | Side::Centre => area.to_string(),
        }
    }

    /// "2 needles not found".
    #[must_use]
    pub fn needles_not_found(&self, n: u32, words: &str) -> String {
        let what = if n == 1 { "needle" } else { "needles" };
        if words.trim().is_empty() {
            format!("{n} {what} looked for and not found")
        } else {
            format!("{n} {what} looked for and not found: {}", words.trim())
        }
    }

    /// "Bruise, Cheek, patient's left, L ST3: it spread."
    #[must_use]
    pub fn incident(&self, what: &str, site: &str, point: &str, words: &str) -> String {
        let mut text = what.to_string();
        for (before, more) in [(", ", site), (", ", point), (": ", words.trim())] {
            if !more.is_empty() {
                text.push_str(before);
                text.push_str(more);
            }
        }
        text
    }

    /// "After the count was closed, 1 needle turned up. ..."
    #[must_use]
    pub fn after_close(&self, n: u32, up: &str) -> String {
        let what = if n == 1 { "needle" } else { "needles" };
        format!("After the count was closed, {n} {what} turned up. {up}")
    }

    /// The sum as it was closed over.
    #[must_use]
    pub fn closed_over(&self, opened: u32, not_found: u32) -> String {
        format!("The count was closed over {opened} opened and {not_found} not found.")
    }

    /// Something that happened between two local times.
    #[must_use]
    pub fn between(&self, from: &str, to: &str) -> String {
        format!("Between {from} and {to}, local time.")
    }

    /// What a packet held, by its label and in fact.
    #[must_use]
    pub fn packet(&self, label: u16, held: u16) -> String {
        if label == held {
            format!("Packet of {label}, opened.")
        } else {
            format!("Packet of {label} by its label, opened; it held {held}.")
        }
    }

    /// "3000 mg of cream".
    #[must_use]
    pub fn milligrams(&self, n: u32) -> String {
        format!("{n} mg of cream, as written down when it went on")
    }
}
