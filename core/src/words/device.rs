//! Words of what the phone does at the chair: pedal, sound, battery, clock, and coming back to it.

use alloc::format;
use alloc::string::{String, ToString};

/// Fixed words.
#[expect(missing_docs, reason = "each field is the sentence it holds")]
pub struct DeviceWords {
    pub at_chair: &'static str,
    pub out_form: &'static str,
    pub by_region: &'static str,
    pub one_by_one: &'static str,
    pub one_by_one_hint: &'static str,
    pub pedal: &'static str,
    pub pedal_hint: &'static str,
    pub pedal_none: &'static str,
    pub pedal_learn: &'static str,
    pub pedal_press: &'static str,
    pub pedal_refused: &'static str,
    pub pedal_forget: &'static str,
    pub space: &'static str,
    pub hold: &'static str,
    pub hold_hint: &'static str,
    pub hold_down: &'static str,
    pub press_twice: &'static str,
    pub figures: &'static str,
    pub figures_hint: &'static str,
    pub seconds: &'static str,
    pub minutes: &'static str,
    pub min: &'static str,
    pub min_over: &'static str,
    pub sound: &'static str,
    pub sound_hint: &'static str,
    pub sound_absent: &'static str,
    pub vibration: &'static str,
    pub vibration_absent: &'static str,
    pub off: &'static str,
    pub on: &'static str,
    pub soft: &'static str,
    pub middle: &'static str,
    pub loud: &'static str,
    pub try_it: &'static str,
    pub where_you_were: &'static str,
    pub go_on: &'static str,
    pub at_the_chair: &'static str,
    pub counting: &'static str,
    pub being_counted: &'static str,
    pub over: &'static str,
    pub by_hand: &'static str,
    pub next: &'static str,
}

/// English.
pub const EN: DeviceWords = DeviceWords {
    at_chair: "At the chair",
    out_form: "Taking out",
    by_region: "by region",
    one_by_one: "one by one",
    one_by_one_hint: "By region you count once, when it is clear. One by one you press for every needle. The page of a region can change over.",
    pedal: "Pedal or clicker",
    pedal_hint: "Any that sends a key. It presses the large slab in Chair, and takes out the next needle one by one. It closes nothing, and does nothing that is held.",
    pedal_none: "No key is learned.",
    pedal_learn: "Learn the pedal's key",
    pedal_press: "Press the pedal now. Esc leaves it as it was.",
    pedal_refused: "Tab and Esc are needed for other things: let the pedal send another key. Nothing was changed.",
    pedal_forget: "Forget this key",
    space: "Space",
    hold: "Where a press is held down",
    hold_hint: "For whoever cannot hold: the first press arms, a second one within 5 seconds acts.",
    hold_down: "hold it down",
    press_twice: "press twice",
    figures: "Clock figures",
    figures_hint: "Without seconds less moves on the page.",
    seconds: "minutes and seconds",
    minutes: "whole minutes only",
    min: "min",
    min_over: "min over",
    sound: "Sound when a clock is due",
    sound_hint: "One low tone when it is due, one more when it is 3 minutes over, only while Pinfold is in sight. It is a reminder on a phone, not a medical alarm: keep a second timer at hand.",
    sound_absent: "No sound in this browser.",
    vibration: "Vibration when a clock is due",
    vibration_absent: "No vibration in this browser.",
    off: "off",
    on: "on",
    soft: "soft",
    middle: "middle",
    loud: "loud",
    try_it: "Try it",
    where_you_were: "Where you were",
    go_on: "Go on",
    at_the_chair: "You were at the chair.",
    counting: "You were counting.",
    being_counted: "not counted yet",
    over: "over",
    by_hand: "The phone's clock was moved: check every clock by hand.",
    next: "Next",
};

impl DeviceWords {
    /// "40 s", from two minutes on "12 min".
    #[must_use]
    pub fn span(&self, seconds: i64) -> String {
        if seconds < 120 {
            format!("{seconds} s")
        } else {
            format!("{} {}", seconds.checked_div(60).unwrap_or(0), self.min)
        }
    }

    /// "Away 40 s."
    #[must_use]
    pub fn away(&self, seconds: i64) -> String {
        format!("Away {}.", self.span(seconds))
    }

    /// "Started again. The last press was 12 min ago."; without the time if a moved clock knows none.
    #[must_use]
    pub fn again(&self, seconds: i64) -> String {
        if seconds < 0 {
            return "Started again.".into();
        }
        let span = self.span(seconds);
        format!("Started again. The last press was {span} ago.")
    }

    /// "You were at patient's L cheek, not counted yet."
    #[must_use]
    pub fn at(&self, place: &str) -> String {
        format!("You were at {place}, {}.", self.being_counted)
    }

    /// "Battery 14 %: plug in".
    #[must_use]
    pub fn battery(&self, percent: u8) -> String {
        format!("Battery {percent} %: plug in")
    }

    /// "The phone's clock was moved 5 min back.", with what to do. One that slept in sight looks the
    /// same as one moved ahead, so both are said.
    #[must_use]
    pub fn moved(&self, seconds: i64) -> String {
        let span = self.span(seconds.saturating_abs());
        if seconds < 0 {
            format!("The phone's clock was moved {span} back. Check every clock by hand.")
        } else {
            format!(
                "The phone's clock was moved {span} ahead, or the phone slept. That time counts as in: check every clock by hand."
            )
        }
    }

    /// The name of a learned key.
    #[must_use]
    pub fn key(&self, key: &str) -> String {
        if key == " " { self.space } else { key }.to_string()
    }
}
