//! The held press: what ends a session or empties a face cannot be done by one touch. Hold until the
//! fill reaches the end edge, or, for whoever cannot hold, press twice.

use super::press::{deafen, when};
use crate::shape::prelude::*;
use std::time::Duration;
use wasm_bindgen::JsCast as _;

/// How long a press is held.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Span {
    /// 1200 ms: close, count the rest, delete.
    #[default]
    Grave,
    /// 700 ms: corrections that can be undone.
    Lite,
}

impl Span {
    /// In milliseconds; the same figures stand in `tokens.css` for the fill.
    #[must_use]
    pub const fn ms(self) -> u64 {
        match self {
            Self::Grave => 1_200,
            Self::Lite => 700,
        }
    }
}

/// A key let go this soon was a press, not a hold broken off, in milliseconds.
const PRESS_MS: u64 = 400;
/// The second of two presses comes no sooner than this after the first, in milliseconds.
const REST_MS: u64 = 600;
/// And no later than this, in milliseconds.
const ARMED_MS: u64 = 5_000;
/// How long "Nothing changed" stays, in milliseconds.
const SAID_MS: u64 = 3_000;

/// What holds the press down.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum By {
    Pointer,
    Key,
}

/// What a held press shows.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
enum Shows {
    #[default]
    Rest,
    Filling,
    Nothing,
    Armed,
}

/// The held press as a machine: times go in, and at most one `true` (act now) comes out per act.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
struct Machine {
    shows: Shows,
    held: Option<(u64, By)>,
    armed: Option<u64>,
}

impl Machine {
    fn down(&mut self, at: u64, by: By) {
        if self.held.is_none() {
            self.held = Some((at, by));
            self.shows = Shows::Filling;
        }
    }

    /// The fill may have reached the end. `true`: act.
    fn full(&mut self, at: u64, span: Span) -> bool {
        match self.held {
            Some((since, _)) if at.saturating_sub(since) >= span.ms() => {
                *self = Self::default();
                true
            }
            _ => false,
        }
    }

    /// Let go. `true`: act. Also decides when the page was too busy to notice a full hold in time.
    fn up(&mut self, at: u64, span: Span) -> bool {
        if self.full(at, span) {
            return true;
        }
        let Some((since, by)) = self.held.take() else {
            return false;
        };
        if by == By::Key && at.saturating_sub(since) < PRESS_MS {
            return self.press(since);
        }
        self.armed = None;
        self.shows = Shows::Nothing;
        false
    }

    /// Slid off, was taken away, or lost the focus.
    fn broken(&mut self) {
        if self.held.take().is_some() {
            self.armed = None;
            self.shows = Shows::Nothing;
        }
    }

    /// A press on the two-press road: a key struck shortly, a switch, a screen reader. `true`: act.
    fn press(&mut self, at: u64) -> bool {
        match self.armed {
            Some(since) if at.saturating_sub(since) > ARMED_MS => {
                self.armed = Some(at);
                self.shows = Shows::Armed;
                false
            }
            // Too soon: the same knuckle, or a switch that chatters.
            Some(since) if at.saturating_sub(since) < REST_MS => {
                self.shows = Shows::Armed;
                false
            }
            Some(_) => {
                *self = Self::default();
                true
            }
            None => {
                self.armed = Some(at);
                self.shows = Shows::Armed;
                false
            }
        }
    }

    /// Esc, or the five seconds are over.
    fn leave(&mut self) {
        if self.armed.take().is_some() {
            self.held = None;
            self.shows = Shows::Nothing;
        }
    }

    /// "Nothing changed" has been said long enough.
    fn said(&mut self) {
        if self.shows == Shows::Nothing {
            self.shows = Shows::Rest;
        }
    }
}

/// The words of a held press.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct HoldWords {
    /// While it fills: "Keep holding\u{2026}".
    pub keep: &'static str,
    /// After letting go early: "Nothing changed".
    pub nothing: &'static str,
    /// After the first of two presses: "Press again to close, Esc to leave".
    pub again: &'static str,
}

/// A held press, drawn as a slab. Put it last, with nothing below it and 24 px above it.
///
/// - `text`: what it does; `note`: a second line, such as "closes the session at 14:56", may be empty.
/// - `words`; `span`: how long; `on_done`: called once, when the fill is full.
/// - `shut`: dashed, does nothing; say in `note` what would open it.
/// - `two_press`: the setting of a person who cannot hold: a press arms, a second one acts.
#[component]
pub fn Hold(
    #[prop(into)] text: Signal<String>,
    words: HoldWords,
    #[prop(into)] on_done: Callback<()>,
    #[prop(optional, into)] note: Signal<String>,
    #[prop(optional)] span: Span,
    #[prop(optional, into)] shut: Signal<bool>,
    #[prop(optional, into)] two_press: Signal<bool>,
) -> impl IntoShape {
    let machine = RwSignal::new(Machine::default());
    let timer = StoredValue::new(None::<TimeoutHandle>);
    let drop_timer = move || {
        if let Some(handle) = timer.try_update_value(Option::take).flatten() {
            handle.clear();
        }
    };
    let start_timer = move |ms: u64, then: Callback<()>| {
        drop_timer();
        let handle = set_timeout_with_handle(move || then.run(()), Duration::from_millis(ms));
        timer.set_value(handle.ok());
    };
    let said = Callback::new(move |()| machine.update(Machine::said));
    let left = Callback::new(move |()| {
        machine.update(Machine::leave);
        start_timer(SAID_MS, said);
    });
    on_cleanup(drop_timer);

    // Every change goes through here: act, or start the wait that the new state needs.
    let settle = move |act: bool| {
        if act {
            drop_timer();
            on_done.run(());
            return;
        }
        match machine.with_untracked(|machine| machine.shows) {
            Shows::Nothing => start_timer(SAID_MS, said),
            Shows::Armed => start_timer(ARMED_MS, left),
            Shows::Rest | Shows::Filling => {}
        }
    };
    let began = StoredValue::new(0_u64);
    let full = Callback::new(move |()| {
        let at = began.get_value().saturating_add(span.ms());
        if machine.try_update(|machine| machine.full(at, span)) == Some(true) {
            deafen(at);
            on_done.run(());
        }
    });
    let begin = move |at: u64, by: By| {
        if machine.with_untracked(|machine| machine.held.is_none()) {
            machine.update(|machine| machine.down(at, by));
            began.set_value(at);
            start_timer(span.ms(), full);
        }
    };
    // Losing the focus and lifting a key may come when the page is gone already: then nothing is held.
    let held = move || {
        machine
            .try_with_untracked(|machine| machine.held.is_some())
            .unwrap_or(false)
    };
    let lift = move |at: u64| {
        if held() {
            drop_timer();
            settle(
                machine
                    .try_update(|machine| machine.up(at, span))
                    .unwrap_or(false),
            );
        }
    };
    let break_off = move || {
        if held() {
            drop_timer();
            machine.update(Machine::broken);
            settle(false);
        }
    };
    // A click counts only when no pointer made it, or when two presses are the rule.
    let pointed = StoredValue::new(false);

    let shows = move || machine.with(|machine| machine.shows);
    view! {
        <button
            type="button"
            class="slab hold"
            class:lite=span == Span::Lite
            class:shut=shut
            class:filling=move || shows() == Shows::Filling
            class:armed=move || shows() == Shows::Armed
            aria-disabled=move || shut.get().then_some("true")
            on:pointerdown=move |ev| {
                pointed.set_value(true);
                if shut.get_untracked() || two_press.get_untracked() || ev.button() != 0
                    || !ev.is_primary()
                {
                    return;
                }
                // Touch would otherwise keep the pointer here, and sliding off could not cancel.
                if let Some(element) = ev
                    .target()
                    .and_then(|target| target.dyn_into::<web_sys::Element>().ok())
                {
                    let _ = element.release_pointer_capture(ev.pointer_id());
                }
                begin(when(&ev), By::Pointer);
            }
            on:pointerup=move |ev| lift(when(&ev))
            on:pointerleave=move |_| break_off()
            on:pointercancel=move |_| break_off()
            on:blur=move |_| break_off()
            on:contextmenu=move |ev| ev.prevent_default()
            on:click=move |ev| {
                let by_pointer = pointed.get_value();
                pointed.set_value(false);
                if shut.get_untracked() || (by_pointer && !two_press.get_untracked()) {
                    return;
                }
                let at = when(&ev);
                settle(machine.try_update(|machine| machine.press(at)).unwrap_or(false));
            }
            on:keydown=move |ev| {
                match ev.key().as_str() {
                    "Escape" if machine.with_untracked(|m| m.armed.is_some()) => {
                        // Leaves the armed press, not the sheet it may stand on.
                        ev.prevent_default();
                        ev.stop_propagation();
                        drop_timer();
                        machine.update(Machine::leave);
                        settle(false);
                    }
                    " " | "Enter" => {
                        // The key itself is timed; the click it would make is not wanted.
                        ev.prevent_default();
                        if !ev.repeat() && !shut.get_untracked() {
                            pointed.set_value(false);
                            begin(when(&ev), By::Key);
                        }
                    }
                    _ => {}
                }
            }
            on:keyup=move |ev| {
                if matches!(ev.key().as_str(), " " | "Enter") {
                    ev.prevent_default();
                    lift(when(&ev));
                }
            }
        >
            <span class="fill"></span>
            <span>
                {move || match shows() {
                    Shows::Filling => words.keep.to_string(),
                    _ => text.get(),
                }}
            </span>
            <small aria-live="polite">
                {move || match shows() {
                    Shows::Nothing => words.nothing.to_string(),
                    Shows::Armed => words.again.to_string(),
                    Shows::Rest | Shows::Filling => note.get(),
                }}
            </small>
        </button>
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const GRAVE: Span = Span::Grave;

    #[test]
    fn a_full_hold_acts_once() {
        let mut machine = Machine::default();
        machine.down(1_000, By::Pointer);
        assert_eq!(machine.shows, Shows::Filling);
        assert!(!machine.full(2_199, GRAVE));
        assert!(machine.full(2_200, GRAVE));
        assert!(!machine.up(2_300, GRAVE));
        assert_eq!(machine.shows, Shows::Rest);
    }

    #[test]
    fn letting_go_early_changes_nothing_and_says_so() {
        let mut machine = Machine::default();
        machine.down(0, By::Pointer);
        assert!(!machine.up(1_100, GRAVE));
        assert_eq!(machine.shows, Shows::Nothing);
        assert!(!machine.full(1_200, GRAVE));
        machine.said();
        assert_eq!(machine, Machine::default());
    }

    #[test]
    fn a_short_touch_never_arms_but_a_short_key_does() {
        let mut machine = Machine::default();
        machine.down(0, By::Pointer);
        assert!(!machine.up(80, GRAVE));
        assert_eq!(machine.armed, None);

        let mut machine = Machine::default();
        machine.down(0, By::Key);
        assert!(!machine.up(80, GRAVE));
        assert_eq!((machine.shows, machine.armed), (Shows::Armed, Some(0)));
        machine.down(900, By::Key);
        assert!(machine.up(960, GRAVE));
    }

    #[test]
    fn a_key_held_the_whole_time_acts_and_one_broken_off_does_not() {
        let mut machine = Machine::default();
        machine.down(0, By::Key);
        assert!(machine.full(1_200, GRAVE));
        machine.down(5_000, By::Key);
        assert!(!machine.up(5_900, GRAVE));
        assert_eq!((machine.shows, machine.armed), (Shows::Nothing, None));
    }

    #[test]
    fn two_presses_act_between_600_ms_and_5_s() {
        for (second, acts) in [
            (0, false),
            (599, false),
            (600, true),
            (5_000, true),
            (5_001, false),
        ] {
            let mut machine = Machine::default();
            assert!(!machine.press(10_000));
            assert_eq!(machine.press(10_000 + second), acts, "{second}");
        }
    }

    #[test]
    fn a_press_that_comes_too_late_arms_anew() {
        let mut machine = Machine::default();
        assert!(!machine.press(0));
        assert!(!machine.press(6_000));
        assert!(machine.press(7_000));
    }

    #[test]
    fn esc_and_the_end_of_the_wait_disarm() {
        let mut machine = Machine::default();
        assert!(!machine.press(0));
        machine.leave();
        assert_eq!((machine.shows, machine.armed), (Shows::Nothing, None));
        assert!(!machine.press(700), "only arms again");
    }

    #[test]
    fn sliding_off_and_losing_the_focus_break_the_hold() {
        let mut machine = Machine::default();
        machine.down(0, By::Pointer);
        machine.broken();
        assert!(!machine.full(9_000, GRAVE));
        assert!(!machine.up(9_000, GRAVE));
        assert_eq!(machine.shows, Shows::Nothing);
    }

    #[test]
    fn a_busy_page_still_counts_the_time_held() {
        let mut machine = Machine::default();
        machine.down(0, By::Pointer);
        assert!(machine.up(1_250, GRAVE));
    }

    #[test]
    fn a_second_finger_does_not_restart_the_hold() {
        let mut machine = Machine::default();
        machine.down(0, By::Pointer);
        machine.down(1_000, By::Pointer);
        assert!(machine.full(1_200, Span::Grave));
    }
}
