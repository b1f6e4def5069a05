//! Whether the page can be seen. A change to hidden is the last thing a phone reliably tells.

use super::clock;
use super::listen::Listener;
use std::cell::Cell;
use web_sys::VisibilityState;

/// What changed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Seen {
    /// The page went out of sight: another app, another tab, or the screen is off.
    Hidden,
    /// The page is in sight again.
    Visible {
        /// Milliseconds it was out of sight, by the wall clock: the other clock may have slept.
        /// Never negative, even if the wall clock was set back.
        away: i64,
    },
}

/// True if the page is in sight now.
#[must_use]
pub fn visible() -> bool {
    web_sys::window()
        .and_then(|window| window.document())
        .is_some_and(|document| document.visibility_state() == VisibilityState::Visible)
}

/// Tells of every change until the listener is dropped.
pub fn watch(changed: impl Fn(Seen) + 'static) -> Option<Listener> {
    let hidden_at = Cell::new(None);
    Listener::on_document("visibilitychange", move |_| {
        if visible() {
            let away = hidden_at
                .take()
                .map_or(0, |at: i64| clock::wall().saturating_sub(at).max(0));
            changed(Seen::Visible { away });
        } else {
            hidden_at.set(Some(clock::wall()));
            changed(Seen::Hidden);
        }
    })
}
