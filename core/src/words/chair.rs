//! Words of the chair: counts, clocks, placing, taking out, counting, closing.

use alloc::format;
use alloc::string::{String, ToString};

/// Fixed words.
#[expect(missing_docs, reason = "each field is the sentence it holds")]
pub struct ChairWords {
    pub chair: &'static str,
    pub count_only: &'static str,
    pub count_only_note: &'static str,
    pub count_only_start: &'static str,
    pub count_only_caution: &'static str,
    pub not_screened: &'static str,
    pub nobody_named: &'static str,
    pub in_now: &'static str,
    pub out: &'static str,
    pub placed: &'static str,
    pub placed_in_all: &'static str,
    pub as_planned: &'static str,
    pub counts: &'static str,
    pub nothing_opened: &'static str,
    pub next_clock: &'static str,
    pub due_now: &'static str,
    pub take_out_in: &'static str,
    pub wipe_off_in: &'static str,
    pub over: &'static str,
    pub by_hand: &'static str,
    pub by_hand_next: &'static str,
    pub clocks_after: &'static str,
    pub no_clock: &'static str,
    pub placing: &'static str,
    pub taking_out: &'static str,
    pub where_to: &'static str,
    pub one_fewer: &'static str,
    pub one_more: &'static str,
    pub how_many: &'static str,
    pub how_long: &'static str,
    pub no_time_set: &'static str,
    pub stay_5_more: &'static str,
    pub something_else: &'static str,
    pub back: &'static str,
    pub undo: &'static str,
    pub count: &'static str,
    pub clear_the_region: &'static str,
    pub then_look: &'static str,
    pub how_many_came_out: &'static str,
    pub more: &'static str,
    pub look_again: &'static str,
    pub look_again_why: &'static str,
    pub count_again_here: &'static str,
    pub leave_it_open: &'static str,
    pub packets: &'static str,
    pub packet_opened: &'static str,
    pub needles_in_packet: &'static str,
    pub lot: &'static str,
    pub lot_hint: &'static str,
    pub spoilt: &'static str,
    pub spoilt_note: &'static str,
    pub strips_left: &'static str,
    pub strips_left_note: &'static str,
    pub swept: &'static str,
    pub adds_up: &'static str,
    pub count_again: &'static str,
    pub close: &'static str,
    pub keep_holding: &'static str,
    pub nothing_changed: &'static str,
    pub press_again: &'static str,
    pub closed: &'static str,
    pub words_label: &'static str,
    pub words_hint: &'static str,
    pub saved: &'static str,
    pub saving: &'static str,
    pub noted: &'static str,
    pub not_saved: &'static str,
    pub one_by_one: &'static str,
    pub cream_on: &'static str,
    pub cream_off: &'static str,
    pub cream: &'static str,
    pub all_out: &'static str,
    pub all_out_note: &'static str,
    pub not_found: &'static str,
    pub stays_in: &'static str,
    pub sum_first: &'static str,
    pub unused: &'static str,
    pub unaccounted: &'static str,
    pub out_uncounted: &'static str,
    pub spoilt_term: &'static str,
    pub not_found_term: &'static str,
    pub wipe_off: &'static str,
    pub now: &'static str,
    pub inside: &'static str,
    pub that_many: &'static str,
    pub typed: &'static str,
    pub one_counted_out: &'static str,
    pub in_the_plan: &'static str,
    pub unwell: &'static str,
    pub unwell_call: &'static str,
    pub unwell_no_number: &'static str,
    pub unwell_stop: &'static str,
    pub unwell_stop_why: &'static str,
    pub stopped_next: &'static str,
    pub unwell_time: &'static str,
    pub unwell_note: &'static str,
    pub unwell_happened: &'static str,
    pub unwell_noted: &'static str,
    pub all_out_noted: &'static str,
    pub press_again_all_out: &'static str,
    pub no_consent: &'static str,
    pub needles_refused: &'static str,
    pub cream_refused: &'static str,
    pub as_one: &'static str,
    pub fell_out: &'static str,
    pub stays_in_here: &'static str,
    pub stays_in_term: &'static str,
    pub all_at_once: &'static str,
    pub packets_planned: &'static str,
    pub cream_first: &'static str,
    pub cream_unconfirmed: &'static str,
    pub how_many_left: &'static str,
    pub how_many_in_tray: &'static str,
    pub how_many_in_box: &'static str,
    pub too_many_counted: &'static str,
    pub strips_again: &'static str,
    pub spoilt_one: &'static str,
    pub where_to_look: &'static str,
    pub opened_term: &'static str,
    pub and_the_rest: &'static str,
    pub lot_bad: &'static str,
    pub beside: &'static str,
    pub packet_held: &'static str,
    pub rehearse: &'static str,
    pub rehearse_note: &'static str,
    pub rehearsal: &'static str,
    pub rehearsed: &'static str,
}

/// English.
pub const EN: ChairWords = ChairWords {
    chair: "Chair",
    count_only: "Count only",
    count_only_note: "a chair with no plan",
    count_only_start: "Start",
    count_only_caution: "No questions are asked here, and the record will say so for good. Ask yourself what could make needling harmful today.",
    not_screened: "screening not recorded here",
    nobody_named: "No name yet",
    in_now: "in now",
    out: "out",
    placed: "placed",
    placed_in_all: "placed in all",
    as_planned: "as planned",
    counts: "Needles",
    nothing_opened: "No packet entered yet",
    next_clock: "Next clock",
    due_now: "Due now",
    take_out_in: "take out in",
    wipe_off_in: "wipe off in",
    over: "over",
    by_hand: "Check by hand",
    by_hand_next: "The phone's clock was set back. No clock on it can be believed: look at the wall, and take every region as due.",
    clocks_after: "Clocks after that",
    no_clock: "No clock is running",
    placing: "Placing",
    taking_out: "Taking out",
    where_to: "Where",
    one_fewer: "one fewer",
    one_more: "one more",
    how_many: "needles",
    how_long: "They stay",
    no_time_set: "no time set",
    stay_5_more: "Stay 5 more",
    something_else: "Something else",
    back: "Back",
    undo: "Undo",
    count: "Count",
    clear_the_region: "Clear the region,",
    then_look: "then look, and feel with a flat hand.",
    how_many_came_out: "how many came out?",
    more: "more",
    look_again: "Look again here",
    look_again_why: "Part the hair, lift the brow, look under the ear and on the linen. Then count what lies in the tray from this region.",
    count_again_here: "Now: how many came out in all?",
    leave_it_open: "Leave it open",
    packets: "Packets",
    packet_opened: "Packet opened",
    needles_in_packet: "needles by its label",
    lot: "Lot",
    lot_hint: "as printed on the packet; may stay empty",
    spoilt: "Spoilt, never placed",
    spoilt_note: "bent, dropped or touched",
    strips_left: "Left in the opened strips",
    strips_left_note: "Count what lies unused, and press it.",
    swept: "Swept by hand",
    adds_up: "adds up",
    count_again: "Count again",
    close: "Close session",
    keep_holding: "Keep holding\u{2026}",
    nothing_changed: "Nothing changed",
    press_again: "Press again to close, Esc to leave",
    closed: "Closed",
    words_label: "What did not add up",
    words_hint: "A few words: what was searched, who was told.",
    saved: "saved",
    saving: "saving\u{2026}",
    noted: "Written down.",
    not_saved: "not saved",
    one_by_one: "One by one",
    cream_on: "Numbing cream on",
    cream_off: "Cream wiped off",
    cream: "Cream",
    all_out: "Take all out now, count later",
    all_out_note: "for a faint or an alarm",
    not_found: "Looked for, not found",
    stays_in: "stays in",
    sum_first: "Until it is counted",
    unused: "unused",
    unaccounted: "not yet accounted for",
    out_uncounted: "out, not yet counted",
    spoilt_term: "spoilt",
    not_found_term: "not found",
    wipe_off: "Wipe off the cream",
    now: "now",
    inside: "in",
    that_many: "that many",
    typed: "typed",
    one_counted_out: "One counted in the tray",
    in_the_plan: "planned",
    unwell: "Unwell",
    unwell_call: "Call",
    unwell_no_number: "No local emergency number is written down: Settings.",
    unwell_stop: "No more needles today",
    unwell_stop_why: "raised at the chair",
    stopped_next: "Nothing more is planned. Take out what is in. What goes in all the same is written down with a flag.",
    unwell_time: "Write the time down",
    unwell_note: "Unwell",
    unwell_happened: "This happened: write down the time",
    unwell_noted: "Written down.",
    all_out_noted: "All are out, not yet counted. Count them when the person is safe.",
    press_again_all_out: "Press again: all are out",
    no_consent: "no consent written down",
    needles_refused: "needles refused",
    cream_refused: "cream refused",
    as_one: "needle",
    fell_out: "Fell out, found",
    stays_in_here: "Stays in on purpose",
    stays_in_term: "stays in on purpose",
    all_at_once: "Count the whole region",
    packets_planned: "Strips opened, as planned",
    cream_first: "Cream is still on here: wipe it off and clean first. If needles go in all the same, they are counted and flagged.",
    cream_unconfirmed: "That your scope allows cream is not confirmed in Settings. What is on the skin is written down all the same.",
    how_many_left: "how many are left, unused?",
    how_many_in_tray: "how many did you count in the tray?",
    how_many_in_box: "how many did you count into the box?",
    too_many_counted: "That is more than were taken out uncounted. Nothing was changed: count again.",
    strips_again: "Count the strips again",
    spoilt_one: "One spoilt, never placed",
    where_to_look: "Look on face and hairline, ears, hair clips, collar and sleeves, pillow and blanket, shoes and floor, used cotton, guide tubes, strips and tray. Look into the sharps box, never reach.",
    opened_term: "opened",
    and_the_rest: "and",
    lot_bad: "A lot has at most 80 letters. What you typed is still here.",
    beside: "Depth, feeling, packet, hand over",
    packet_held: "A packet held another number",
    rehearse: "Rehearse",
    rehearse_note: "nobody is treated; out of every figure",
    rehearsal: "Rehearsal: nobody is treated",
    rehearsed: " (rehearsal)",
};

/// "needle" or "needles".
fn needles(n: u32) -> &'static str {
    if n == 1 { "needle" } else { "needles" }
}

impl ChairWords {
    /// The main press while placing: "Placed 7, L cheek".
    #[must_use]
    pub fn placed_here(&self, n: u16, region: &str) -> String {
        format!("Placed {n}, {region}")
    }

    /// Under a line of the plan whose points were left out in part.
    #[must_use]
    pub fn left_out_here(&self, points: &str) -> String {
        format!("Left out today: {points}. If one goes in all the same, it is counted and flagged.")
    }

    /// The main press while taking out: "Take out L cheek".
    #[must_use]
    pub fn take_out(&self, region: &str) -> String {
        format!("Take out {region}")
    }

    /// So many minutes, in words: "6 min".
    #[must_use]
    pub fn minutes(&self, n: i64) -> String {
        format!("{n} min")
    }

    /// The sum as a line, until it is counted: "50 opened: 41 in, 7 out, 2 not yet accounted for".
    #[must_use]
    pub fn sum_line(&self, opened: u32, terms: &[(u32, &str)]) -> String {
        let mut line = format!("{opened} opened:");
        let mut first = true;
        for (n, word) in terms.iter().filter(|(n, _)| *n > 0) {
            line.push_str(if first { " " } else { ", " });
            line.push_str(&format!("{n} {word}"));
            first = false;
        }
        if first {
            line.push_str(" 0 in");
        }
        line
    }

    /// What still stands in the way of closing, one line each.
    #[must_use]
    pub fn still_in(&self, n: u32) -> String {
        format!("{n} {} in", needles(n))
    }

    /// See [`ChairWords::still_in`].
    #[must_use]
    pub fn uncounted(&self, n: u32) -> String {
        format!("{n} out, not yet counted: count them from the tray")
    }

    /// See [`ChairWords::still_in`].
    #[must_use]
    pub fn not_accounted(&self, n: u32) -> String {
        format!("{n} not accounted for")
    }

    /// "Placing stopped: raised at the chair".
    #[must_use]
    pub fn stopped(&self, why: &str) -> String {
        format!("Placing stopped: {why}")
    }

    /// See [`ChairWords::still_in`].
    #[must_use]
    pub fn strips_to_count(&self, size: &str) -> String {
        if size.is_empty() {
            "count what is left in the strips".to_string()
        } else {
            format!("count what is left in the strips of {size}")
        }
    }

    /// See [`ChairWords::still_in`].
    #[must_use]
    pub fn more_than_opened(&self, n: u32) -> String {
        format!("{n} more than opened: a packet was not entered, or write why")
    }

    /// See [`ChairWords::still_in`].
    #[must_use]
    pub fn unsigned(&self, n: u32) -> String {
        format!("{n} not found: write what was searched and who was told")
    }

    /// See [`ChairWords::still_in`].
    #[must_use]
    pub fn cream_still_on(&self) -> String {
        "cream is not recorded as wiped off".to_string()
    }

    /// See [`ChairWords::still_in`].
    #[must_use]
    pub fn newer(&self) -> String {
        "a newer version of Pinfold wrote here; close it with that version".to_string()
    }

    /// "You can close at 50 of 50".
    #[must_use]
    pub fn can_close_at(&self, opened: u32) -> String {
        format!("You can close at {opened} of {opened}")
    }

    /// "saved 14:32".
    #[must_use]
    pub fn saved_at(&self, time: &str) -> String {
        format!("{} {time}", self.saved)
    }

    /// "Took out SI18 L".
    #[must_use]
    pub fn took_out(&self, what: &str) -> String {
        format!("Took out {what}")
    }

    /// "3 counted out here".
    #[must_use]
    pub fn out_here(&self, n: u32) -> String {
        format!("{n} counted out here")
    }

    /// "and 4 more, the last in 17 min".
    #[must_use]
    pub fn the_rest(&self, n: usize, minutes: i64) -> String {
        format!("{} {n} more, the last in {minutes} min", self.and_the_rest)
    }

    /// "Looked for, not found: 1, L cheek".
    #[must_use]
    pub fn not_found_here(&self, n: u32, region: &str) -> String {
        format!("{}: {n}, {region}", self.not_found)
    }
}
