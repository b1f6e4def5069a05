//! Words of the room that the browser keeps for the records, and of records from a newer version.

use alloc::format;
use alloc::string::String;

/// Fixed words.
#[expect(missing_docs, reason = "each field is the sentence it holds")]
pub struct RoomWords {
    pub room: &'static str,
    pub looking: &'static str,
    pub agreed: &'static str,
    pub not_agreed: &'static str,
    pub not_asked: &'static str,
    pub all_the_same: &'static str,
    pub ask_again: &'static str,
    pub used_unknown: &'static str,
    pub little: &'static str,
    pub little_kept: &'static str,
    pub little_next: &'static str,
    pub copies: &'static str,
    pub own_window: &'static str,
    pub what_to_do: &'static str,
    pub tab_next: &'static str,
    pub newer_person: &'static str,
    pub newer_person_kept: &'static str,
    pub newer_person_next: &'static str,
    pub damaged_person_next: &'static str,
    pub newer_practice: &'static str,
    pub newer_practice_kept: &'static str,
    pub newer_next: &'static str,
}

/// English.
pub const EN: RoomWords = RoomWords {
    room: "Room on this phone",
    looking: "Asking the browser\u{2026}",
    agreed: "The browser has agreed not to clear these records by itself.",
    not_agreed: "The browser has not agreed to keep these records: it may clear all of them at once when the phone runs out of room.",
    not_asked: "This browser cannot be asked whether it keeps these records. Take it that it may clear them.",
    all_the_same: "It decides by its own rules, most often in favour of an app on the home screen. Clearing the browser's data, or removing the app, erases everything all the same: only a copy brings it back.",
    ask_again: "Ask again",
    used_unknown: "This browser does not say how much room is left.",
    little: "Little room is left on this phone",
    little_kept: "Everything written down so far is kept. With no room left a press is still counted and shown, but not saved.",
    little_next: "Take a copy out now. Then free room on this phone: pictures, films, apps that are not needed.",
    copies: "Take a copy out",
    own_window: "Pinfold runs from the home screen, in a window of its own.",
    what_to_do: "What to do",
    tab_next: "Take a copy out, add Pinfold to the home screen, and open it there. On an iPhone nothing that was written in the tab follows: bring the copy in there. Go on taking copies.",
    newer_person: "A newer version of Pinfold wrote about this person",
    newer_person_kept: "This version cannot read all of it. Everything is kept. A name, answers, findings, consent, lengths, plans and bookings can only be read here; a chair, what was seen, a visit written up and a call can be written down as always.",
    newer_person_next: "Do not plan from what stands here: something may be missing. Take the newer version, or go on on the phone that has it.",
    damaged_person_next: "Ask again before you plan from what stands here.",
    newer_practice: "A newer version of Pinfold wrote settings",
    newer_practice_kept: "This version cannot read all of them: a rule or a figure of your own may be missing here. They are kept.",
    newer_next: "Take the newer version, or go on on the phone that has it.",
};

/// Bytes in round figures, in powers of ten.
#[must_use]
pub fn size(bytes: u64) -> String {
    if bytes >= 1_000_000_000 {
        let tenths = bytes / 100_000_000;
        format!("{}.{} GB", tenths / 10, tenths % 10)
    } else if bytes >= 1_000_000 {
        format!("{} MB", bytes / 1_000_000)
    } else {
        format!("{} kB", bytes.div_ceil(1_000))
    }
}

impl RoomWords {
    /// "1.2 GB of 60.0 GB used, as the browser says (it rounds)."
    #[must_use]
    pub fn used(&self, used: u64, quota: u64) -> String {
        format!(
            "{} of {} used, as the browser says (it rounds).",
            size(used),
            size(quota)
        )
    }

    /// On Today, in two lines.
    #[must_use]
    pub fn tab(&self, days: u16) -> String {
        format!(
            "In a browser tab records can be cleared: by an iPhone after {days} days of use without a tap here."
        )
    }

    /// In Settings: the same with its source.
    #[must_use]
    pub fn tab_why(&self, days: u16) -> String {
        format!(
            "Pinfold runs in a browser tab. Safari on an iPhone deletes all that a tab has kept after {days} days of using the browser without a tap on this page (WebKit, 2020, as reported by The Register and Simo Ahava; read). Other browsers clear a tab when the phone runs out of room."
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sizes_are_round_and_never_nothing_for_something() {
        assert_eq!(size(0), "0 kB");
        assert_eq!(size(1), "1 kB");
        assert_eq!(size(999_000), "999 kB");
        assert_eq!(size(1_999_999), "1 MB");
        assert_eq!(size(134_217_728), "134 MB");
        assert_eq!(size(1_990_000_000), "1.9 GB");
        assert_eq!(size(u64::MAX), "18446744073.7 GB");
    }

    #[test]
    fn what_stands_on_today_fits_two_lines_of_a_phone() {
        // At 14 px some 57 signs stand in a line of 358 px; measured in the browser test too.
        assert!(EN.tab(7).len() + EN.what_to_do.len() < 114);
        assert!(EN.tab(7).contains("after 7 days"));
        assert!(EN.tab_why(7).contains("The Register and Simo Ahava; read"));
        assert_eq!(
            EN.used(12_000_000, 64_200_000_000),
            "12 MB of 64.2 GB used, as the browser says (it rounds)."
        );
    }
}
