//! Words of what is one press in the chair, of search, tray and sweep, and of what the record says
//! about them.

use crate::event::session::{Doing, Ended, Finder, How, SearchPlace, TurnedUp};
use crate::session::TrayWhy;
use alloc::format;
use alloc::string::{String, ToString};

/// Fixed words.
#[expect(missing_docs, reason = "each field is the sentence it holds")]
pub struct ActWords {
    pub fell_out: &'static str,
    pub fell_unseen: &'static str,
    pub fell_unseen_next: &'static str,
    pub changed: &'static str,
    pub changed_spoilt: &'static str,
    pub up: &'static str,
    pub up_next: &'static str,
    pub together: &'static str,
    pub bled: &'static str,
    pub bruised: &'static str,
    pub stays_in: &'static str,
    pub look_in: &'static str,
    pub look_in_in: &'static str,
    pub waits: &'static str,
    pub bell: &'static str,
    pub leaving: &'static str,
    pub before_they_go: &'static str,
    pub sat: &'static str,
    pub stood: &'static str,
    pub steady: &'static str,
    pub two_chairs: &'static str,
    pub promise_sound: &'static str,
    pub promise_watch: &'static str,
    pub hand_over: &'static str,
    pub wipe: &'static str,
    pub wipe_note: &'static str,
    pub hand_over_from: &'static str,
    pub hand_over_to: &'static str,
    pub relief: &'static str,
    pub move_block: &'static str,
    pub two_totals: &'static str,
    pub choose_total: &'static str,
    pub recount: &'static str,
    pub tray: &'static str,
    pub tray_tens: &'static str,
    pub tray_over: &'static str,
    pub tray_differs: &'static str,
    pub damaged: &'static str,
    pub tray_again: &'static str,
    pub straight_to_box: &'static str,
    pub search: &'static str,
    pub looked: &'static str,
    pub found: &'static str,
    pub explained: &'static str,
    pub sign_not_found: &'static str,
    pub turned_up: &'static str,
    pub its_size: &'static str,
    pub which_visit: &'static str,
    pub where_found: &'static str,
    pub elsewhere: &'static str,
    pub not_known: &'static str,
    pub missing_there: &'static str,
    pub no_visit: &'static str,
    pub nobody_stuck: &'static str,
    pub in_words: &'static str,
    pub write_down: &'static str,
    pub up_kept: &'static str,
    pub they_call: &'static str,
    pub call_kept: &'static str,
    pub after: &'static str,
    pub embedded: &'static str,
    pub loose: &'static str,
    pub stuck: &'static str,
    pub fits: &'static str,
    pub what_went_wrong: &'static str,
    pub left_in_first: &'static str,
    pub false_balance: &'static str,
    pub unseen_term: &'static str,
    pub fell_off_term: &'static str,
    pub turned_up_term: &'static str,
}

/// English.
pub const EN: ActWords = ActWords {
    fell_out: "Fell out, found",
    fell_unseen: "Fell out, not seen",
    fell_unseen_next: "It is not accounted for until it is found or explained. Look before the person moves.",
    changed: "Changed needle",
    changed_spoilt: "The old one never held",
    up: "Up with needles in",
    up_next: "When they are back, count what is in by eye, region by region. The tray is counted at the end.",
    together: "Several taken together",
    bled: "Bled",
    bruised: "Bruise",
    stays_in: "Stays in on purpose",
    look_in: "Look in",
    look_in_in: "look in",
    waits: "The person waits",
    bell: "Call bell in hand",
    leaving: "Before you leave the room",
    before_they_go: "Before they go",
    sat: "Sat up",
    stood: "Stood",
    steady: "Steady",
    two_chairs: "Another chair is open. How will you hear its clocks?",
    promise_sound: "Sound stays on",
    promise_watch: "I watch the clocks",
    hand_over: "Hand over",
    wipe: "Wipe the glass",
    wipe_note: "Presses are not taken for 20 seconds",
    hand_over_from: "From",
    hand_over_to: "To",
    relief: "Both look: how many are in, region by region?",
    move_block: "This block belongs to the other chair",
    two_totals: "This region was counted twice in one round",
    choose_total: "This one is right",
    recount: "Count by eye what is in",
    tray: "Count every used needle in the tray, spoilt ones too. Look into it, do not reach.",
    tray_tens: "full tens",
    tray_over: "and over",
    damaged: "something here is damaged or was erased: count again, and write what you found",
    tray_differs: "the tray holds another number than came out: count it again, or write why",
    tray_again: "Count the tray",
    straight_to_box: "Needles went straight to the sharps box: no tray was counted.",
    search: "Where to look",
    looked: "Looked for a needle",
    found: "Found it",
    explained: "Explained",
    sign_not_found: "Sign: not found",
    turned_up: "A needle turned up",
    its_size: "its size",
    which_visit: "which visit it may be from",
    where_found: "where it was found",
    elsewhere: "elsewhere: say in words",
    not_known: "not known",
    missing_there: "not found then:",
    no_visit: "No visit of this person used such a needle. Choose another size, or not known; nothing was written yet.",
    nobody_stuck: "nobody was stuck",
    in_words: "where, when and how, in words",
    write_down: "Write it down",
    up_kept: "Written down. The count of that visit is added to, never rewritten.",
    they_call: "They call with something",
    call_kept: "Written down, with the time.",
    after: "After the visit: a needle turned up, or they call",
    embedded: "still in the skin",
    loose: "loose",
    stuck: "somebody else was stuck by it",
    fits: "It may be from another visit as well.",
    what_went_wrong: "What went wrong",
    left_in_first: "Needles were left in on purpose last time: are they out?",
    false_balance: "False balance: the count had added up, and afterwards a needle turned up that it had accounted for.",
    unseen_term: "left its place unseen",
    fell_off_term: "fell off unseen",
    turned_up_term: "turned up",
};

impl ActWords {
    /// While the glass is wiped.
    #[must_use]
    pub fn wiping(&self, left: i64) -> String {
        format!("Presses rest {left} s")
    }

    /// A place to look.
    #[must_use]
    pub const fn place(&self, place: SearchPlace) -> &'static str {
        match place {
            SearchPlace::Face => "face",
            SearchPlace::Hairline => "hairline",
            SearchPlace::Ear => "ear",
            SearchPlace::HairClips => "hair clips",
            SearchPlace::Collar => "collar",
            SearchPlace::Sleeve => "sleeve",
            SearchPlace::Pillow => "pillow",
            SearchPlace::Blanket => "blanket",
            SearchPlace::ShoeFloor => "shoe and floor",
            SearchPlace::UsedCotton => "inside used cotton",
            SearchPlace::Bin => "bin",
            SearchPlace::GuideTubes => "guide tubes",
            SearchPlace::Strips => "strips",
            SearchPlace::Tray => "tray",
            SearchPlace::SharpsBox => "sharps box (look, never reach in)",
        }
    }

    /// Why the tray is counted blind.
    #[must_use]
    pub const fn tray_why(&self, why: TrayWhy) -> &'static str {
        match why {
            TrayWhy::Emergency => "all were taken out in a hurry",
            TrayWhy::LateOrBlock => "something was entered late, or faster than a hand works",
            TrayWhy::GotUp => "somebody got up with needles in",
            TrayWhy::Mismatch => "something did not agree",
            TrayWhy::OneInTen => "this is the one visit in ten",
        }
    }

    /// How a needle came out, where it was not simply taken.
    #[must_use]
    pub const fn how(&self, how: How) -> &'static str {
        match how {
            How::Taken => "taken out",
            How::FellOut => "fell out and was found",
            How::TurnedUp => "turned up",
            How::Changed => "changed for another",
            How::Together => "taken together",
            How::Explained => "explained",
        }
    }

    /// How a stay on purpose ended.
    #[must_use]
    pub const fn ended(&self, how: Ended) -> &'static str {
        match how {
            Ended::ByMe => "taken out by the practitioner",
            Ended::ByPerson => "taken out by the person",
            Ended::FellOffUnseen => "fell off unseen",
        }
    }

    /// Who found it.
    #[must_use]
    pub const fn finder(&self, by: Finder) -> &'static str {
        match by {
            Finder::Practitioner => "found by the practitioner",
            Finder::Person => "found by the person",
            Finder::Other => "found by somebody else",
        }
    }

    /// What was done beside needles and cream, as the record says it.
    #[must_use]
    pub fn did(&self, what: Doing, who: &str, from: &str) -> String {
        match what {
            Doing::GotUp => "Got up with needles in".to_string(),
            Doing::Bell => self.bell.to_string(),
            Doing::Sat => self.sat.to_string(),
            Doing::Stood => self.stood.to_string(),
            Doing::Steady => self.steady.to_string(),
            Doing::Waits => self.waits.to_string(),
            Doing::LookedIn if who.is_empty() => "Looked in".to_string(),
            Doing::LookedIn => format!("{who} looked in"),
            Doing::PromisedSound => format!("A second chair was open: {}", self.promise_sound),
            Doing::PromisedWatch => format!("A second chair was open: {}", self.promise_watch),
            Doing::StraightToBox => self.straight_to_box.to_string(),
            Doing::HandedOver => format!("Handed over from {from} to {who}"),
        }
    }

    /// A needle that turned up.
    #[must_use]
    pub fn up(&self, e: &TurnedUp) -> String {
        let mut line = format!(
            "{}, {}, {}",
            self.turned_up,
            self.finder(e.by),
            if e.embedded {
                self.embedded
            } else {
                self.loose
            }
        );
        if let Some(place) = e.place {
            line.push_str(", ");
            line.push_str(self.place(place));
        }
        if e.stuck {
            line.push_str(", ");
            line.push_str(self.stuck);
        }
        if !e.words.trim().is_empty() {
            line.push_str(": ");
            line.push_str(e.words.trim());
        }
        if !e.fits.is_empty() {
            line.push_str(". ");
            line.push_str(self.fits);
        }
        line
    }

    /// "Look in: Teal".
    #[must_use]
    pub fn look_in_by(&self, who: &str) -> String {
        if who.is_empty() {
            self.look_in.to_string()
        } else {
            format!("{}: {who}", self.look_in)
        }
    }

    /// "R cheek: 5 seen".
    #[must_use]
    pub fn seen(&self, region: &str, n: u16) -> String {
        format!("{region}: {n} seen by eye")
    }

    /// "Tray counted blind: 48, because this is the one visit in ten".
    #[must_use]
    pub fn tray_counted(&self, n: u32, why: &str) -> String {
        if why.is_empty() {
            format!("Tray counted blind: {n}")
        } else {
            format!("Tray counted blind: {n}, because {why}")
        }
    }

    /// "count the tray blind, because ...".
    #[must_use]
    pub fn tray_to_count(&self, why: &str) -> String {
        format!("count the tray, because {why}")
    }

    /// "sweep by hand: Scalp, Cheek".
    #[must_use]
    pub fn to_sweep(&self, areas: &str) -> String {
        format!("sweep by hand: {areas}")
    }

    /// "count by eye: L cheek".
    #[must_use]
    pub fn to_recount(&self, regions: &str) -> String {
        format!("count by eye what is in: {regions}")
    }

    /// "L cheek was counted twice in one round: choose one".
    #[must_use]
    pub fn to_choose(&self, region: &str) -> String {
        format!("{region} was counted twice in one round: choose one")
    }

    /// "look in: bin, tray".
    #[must_use]
    pub fn to_search(&self, places: &str) -> String {
        format!("not looked at yet: {places}")
    }

    /// "3 of 50 were entered as a block".
    #[must_use]
    pub fn blocks(&self, n: usize) -> String {
        format!("Region counts entered faster than a hand works: {n}. Their times are ranges.")
    }

    /// "2 entries were made late".
    #[must_use]
    pub fn late(&self, n: usize) -> String {
        format!("Entered late: {n}.")
    }

    /// A needle that stays in, on the sheet they take home.
    #[must_use]
    pub fn stay_line(&self, n: u32, region: &str, longest: &str) -> String {
        let what = if n == 1 {
            "needle stays"
        } else {
            "needles stay"
        };
        if longest.is_empty() {
            format!("{n} {what} in on purpose: {region}.")
        } else {
            format!("{n} {what} in on purpose: {region}. Take out after {longest} at the latest.")
        }
    }

    /// So many hours or minutes.
    #[must_use]
    pub fn span(&self, seconds: u32) -> String {
        let minutes = seconds.checked_div(60).unwrap_or(0);
        let hours = seconds.checked_div(3600).unwrap_or(0);
        if hours >= 48 {
            format!("{} days", hours.checked_div(24).unwrap_or(0))
        } else if minutes.checked_rem(60) == Some(0) && hours > 0 {
            format!("{hours} h")
        } else {
            format!("{minutes} min")
        }
    }
}
