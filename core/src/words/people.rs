//! Words of people, bookings, looking, writing up and what comes next.

use alloc::format;
use alloc::string::String;

/// Fixed words.
#[expect(missing_docs, reason = "each field is the sentence it holds")]
pub struct PeopleWords {
    pub people: &'static str,
    pub nobody: &'static str,
    pub find: &'static str,
    pub find_none: &'static str,
    pub add: &'static str,
    pub name: &'static str,
    pub name_missing: &'static str,
    pub birth_date: &'static str,
    pub birth_hint: &'static str,
    pub birth_bad: &'static str,
    pub contact: &'static str,
    pub came_for: &'static str,
    pub keep: &'static str,
    pub change: &'static str,
    pub visits: &'static str,
    pub no_visits: &'static str,
    pub first_visit: &'static str,
    pub left_in: &'static str,
    pub ask: &'static str,
    pub look: &'static str,
    pub plan: &'static str,
    pub chair: &'static str,
    pub count: &'static str,
    pub write: &'static str,
    pub next: &'static str,
    pub way: &'static str,
    pub done: &'static str,
    pub book: &'static str,
    pub book_day: &'static str,
    pub book_time: &'static str,
    pub book_minutes: &'static str,
    pub book_bad: &'static str,
    pub unbook: &'static str,
    pub today_next: &'static str,
    pub looked_hint: &'static str,
    pub looked_label: &'static str,
    pub looked_keep: &'static str,
    pub scores: &'static str,
    pub marks: &'static str,
    pub marks_hint: &'static str,
    pub felt: &'static str,
    pub felt_hint: &'static str,
    pub otherwise: &'static str,
    pub otherwise_hint: &'static str,
    pub told: &'static str,
    pub told_hint: &'static str,
    pub write_keep: &'static str,
    pub write_done: &'static str,
    pub written: &'static str,
    pub still_open: &'static str,
    pub print: &'static str,
    pub print_record: &'static str,
    pub print_aftercare: &'static str,
    pub no_session: &'static str,
    pub kept: &'static str,
    pub not_kept: &'static str,
    pub booked: &'static str,
    pub sign: &'static str,
    pub sign_nobody: &'static str,
    pub join: &'static str,
    pub join_press: &'static str,
    pub too_long: &'static str,
    pub no_birth: &'static str,
}

/// English.
pub const EN: PeopleWords = PeopleWords {
    people: "People",
    nobody: "Nobody is written down yet.",
    find: "Look for a name",
    find_none: "Nobody here has such a name.",
    add: "Write down somebody new",
    name: "Name",
    name_missing: "A name is needed, at most 200 letters. What you typed is still here.",
    birth_date: "Birth date",
    birth_hint: "year-month-day, as 1984-02-29; may stay empty",
    birth_bad: "This is not a date in the past. Write year-month-day, as 1984-02-29.",
    contact: "How to reach them",
    came_for: "What they came for, in their words",
    keep: "Keep",
    change: "Change",
    visits: "Visits",
    no_visits: "Never treated here.",
    first_visit: "first visit",
    left_in: "left in on purpose, not yet recorded as out",
    ask: "Ask",
    look: "Look",
    plan: "Plan",
    chair: "Chair",
    count: "Count",
    write: "Write",
    next: "Next",
    way: "Where you are",
    done: "done",
    book: "Book a visit",
    book_day: "Day",
    book_time: "Time",
    book_minutes: "Minutes",
    book_bad: "Write a day, a time of day, and 5 to 600 minutes.",
    unbook: "Take this visit out",
    today_next: "Next",
    looked_hint: "At rest, then moving: brow, eyes, cheeks, mouth, jaw, neck; skin, and what is tender.",
    looked_label: "What you see and feel",
    looked_keep: "Keep what was seen",
    scores: "Scores, 0 to 10",
    marks: "Marks seen afterwards",
    marks_hint: "bruise, blood, redness: where, how large",
    felt: "How they felt, during and after",
    felt_hint: "in their words",
    otherwise: "Done otherwise than planned, and why",
    otherwise_hint: "only what differs; the rest is filled from the chair",
    told: "What was told to take home",
    told_hint: "cautions, signs to ring about",
    write_keep: "Keep as it is",
    write_done: "Keep and finish",
    written: "written up",
    still_open: "The chair is not counted and closed yet. What you write here is kept all the same.",
    print: "Print",
    print_record: "The record on paper",
    print_aftercare: "The sheet to take home",
    no_session: "There is no session of today.",
    kept: "kept",
    not_kept: "Not kept: look at the fields marked below. What you typed is still here.",
    booked: "Booked:",
    sign: "Sign and finish",
    sign_nobody: "your name is not in Settings yet",
    join: "Whose session was this?",
    join_press: "It was theirs",
    too_long: "This is longer than can be kept. What you typed is still here: shorten it.",
    no_birth: "birth date not written down",
};

impl PeopleWords {
    /// "50 of 2000 are shown: type more of the name".
    #[must_use]
    pub fn shown_of(&self, shown: usize, all: usize) -> String {
        format!("{shown} of {all} are shown. Type a part of the name.")
    }

    /// "visit 4".
    #[must_use]
    pub fn visit_number(&self, n: u32) -> String {
        format!("visit {n}")
    }

    /// "41 years".
    #[must_use]
    pub fn years(&self, n: u32) -> String {
        format!("{n} {}", if n == 1 { "year" } else { "years" })
    }
}
