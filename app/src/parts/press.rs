//! Presses: ordinary buttons. They fire on lift, and sliding off cancels: that is what a click is.
//! A knuckle often lands twice, so a second touch within 300 ms of the first is ignored; chair-side
//! presses share one memory of the last touch, because the second landing may hit the neighbour.

use crate::shape::prelude::*;
use std::cell::Cell;
use std::time::Duration;

/// A second touch this soon after the first is the same knuckle, in milliseconds.
pub const SECOND_TOUCH_MS: u64 = 300;

/// Remembers the last touch that counted.
#[derive(Clone, Copy, Debug, Default)]
pub struct Guard {
    last: Option<u64>,
}

impl Guard {
    /// A guard that has seen no touch.
    #[must_use]
    pub const fn new() -> Self {
        Self { last: None }
    }

    /// Whether a touch at `at` (milliseconds since the page began) counts, and if so remembers it.
    /// An ignored touch does not extend the wait: only what counted starts one.
    pub fn accept(&mut self, at: u64, quiet_ms: u64) -> bool {
        let soon = self
            .last
            .is_some_and(|last| at >= last && at - last < quiet_ms);
        if !soon {
            self.last = Some(at);
        }
        !soon
    }
}

thread_local! {
    static CHAIRSIDE: Cell<Guard> = const { Cell::new(Guard::new()) };
    static DEAF_UNTIL: Cell<u64> = const { Cell::new(0) };
}

/// How long after a held act a click is taken for the lifting of the same finger, in milliseconds.
const LIFTING_MS: u64 = 600;

/// A held press acted at `at` and the page may have changed under the finger that still lies on it:
/// what it lifts from is not pressed.
pub fn deafen(at: u64) {
    DEAF_UNTIL.set(at.saturating_add(LIFTING_MS));
    // Links are the browser's own: the style sheet takes them from the pointer for as long.
    let Some(root) = web_sys::window()
        .and_then(|window| window.document())
        .and_then(|document| document.document_element())
    else {
        return;
    };
    let _ = root.set_attribute("data-lifting", "");
    set_timeout(
        move || {
            let _ = root.remove_attribute("data-lifting");
        },
        Duration::from_millis(LIFTING_MS),
    );
}

/// Whether a click is only a finger that lifts after a held press.
fn only_lifts(ev: &web_sys::MouseEvent) -> bool {
    ev.detail() != 0 && when(ev) < DEAF_UNTIL.get()
}

/// When an event happened: whole milliseconds since the page began.
#[must_use]
pub fn when(ev: &web_sys::Event) -> u64 {
    // The browser counts in fractions of a millisecond; the cast rounds down and cannot go below 0.
    ev.time_stamp() as u64
}

/// Whether a chair-side click counts. One from a key or a switch (no pointer) always does.
#[must_use]
pub fn chairside_counts(ev: &web_sys::MouseEvent) -> bool {
    if ev.detail() == 0 {
        return true;
    }
    if only_lifts(ev) {
        return false;
    }
    CHAIRSIDE.with(|cell| {
        let mut guard = cell.get();
        let counts = guard.accept(when(ev), SECOND_TOUCH_MS);
        cell.set(guard);
        counts
    })
}

/// How a press is drawn.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Look {
    /// Raised ground, outlined.
    #[default]
    Raised,
    /// Outline only: a harmless door.
    Plain,
    /// Filled with ink: the one way on, at the desk.
    Solid,
}

/// A button.
///
/// - `text`: the label; `note`: a smaller second line, left out when empty.
/// - `on_press`: called once per press.
/// - `look`; `chair`: 64 px and the shared 300 ms guard; `small`: body-size text on a chair press.
/// - `spread`: label at the start, note or mark at the end.
/// - `shut`: drawn dashed and does nothing; it keeps its place in the focus order.
/// - `label`: what a screen reader says instead of the text, when not empty.
/// - `children`: a small drawing after the label.
#[component]
pub fn Press(
    #[prop(into)] text: Signal<String>,
    #[prop(into)] on_press: Callback<()>,
    #[prop(optional, into)] note: Signal<String>,
    #[prop(optional)] look: Look,
    #[prop(optional)] chair: bool,
    #[prop(optional)] small: bool,
    #[prop(optional)] spread: bool,
    #[prop(optional)] fit: bool,
    #[prop(optional, into)] shut: Signal<bool>,
    #[prop(optional, into)] label: Signal<String>,
    #[prop(optional)] children: Option<Children>,
) -> impl IntoShape {
    let own = StoredValue::new(Guard::new());
    let pressed = move |ev: web_sys::MouseEvent| {
        let counts = if chair {
            chairside_counts(&ev)
        } else {
            ev.detail() == 0
                || !only_lifts(&ev)
                    && own
                        .try_update_value(|guard| guard.accept(when(&ev), SECOND_TOUCH_MS))
                        .unwrap_or(false)
        };
        if counts && !shut.get_untracked() {
            on_press.run(());
        }
    };
    view! {
        <button
            type="button"
            class="press"
            class:plain=look == Look::Plain
            class:solid=look == Look::Solid
            class:chairside=chair
            class:small=small
            class:spread=spread
            class:fit=fit
            class:shut=shut
            aria-disabled=move || shut.get().then_some("true")
            aria-label=move || some(label.get())
            on:click=pressed
        >
            <span>{move || text.get()}<small>{move || note.get()}</small></span>
            {children.map(|draw| draw())}
        </button>
    }
}

/// One of a few, side by side; exactly one is chosen.
///
/// - `name`: what is chosen, for a screen reader; `texts`: the labels in order.
/// - `chosen`: the index of the chosen one; `on_choose`: the index that was pressed.
#[component]
pub fn OneOf(
    #[prop(into)] name: Signal<String>,
    texts: Vec<String>,
    #[prop(into)] chosen: Signal<usize>,
    #[prop(into)] on_choose: Callback<usize>,
) -> impl IntoShape {
    let buttons: Vec<_> = texts
        .into_iter()
        .enumerate()
        .map(|(index, text)| {
            view! {
                <button
                    type="button"
                    aria-pressed=move || yes_no(chosen.get() == index)
                    on:click=move |_| on_choose.run(index)
                >
                    {text}
                </button>
            }
        })
        .collect();
    view! { <div class="oneof" role="group" aria-label=move || name.get()>{buttons}</div> }
}

/// An attribute that is left out when its text is empty.
#[must_use]
pub(crate) fn some(text: String) -> Option<String> {
    (!text.is_empty()).then_some(text)
}

/// The two words ARIA states take.
#[must_use]
pub(crate) const fn yes_no(value: bool) -> &'static str {
    if value { "true" } else { "false" }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_second_touch_within_300_ms_is_ignored_and_does_not_extend_the_wait() {
        let mut guard = Guard::new();
        assert!(guard.accept(1_000, SECOND_TOUCH_MS));
        assert!(!guard.accept(1_000, SECOND_TOUCH_MS));
        assert!(!guard.accept(1_299, SECOND_TOUCH_MS));
        assert!(guard.accept(1_300, SECOND_TOUCH_MS));
        assert!(!guard.accept(1_599, SECOND_TOUCH_MS));
    }

    #[test]
    fn a_clock_that_jumps_back_does_not_deafen_the_press() {
        let mut guard = Guard::new();
        assert!(guard.accept(50_000, SECOND_TOUCH_MS));
        assert!(guard.accept(10, SECOND_TOUCH_MS));
    }
}
