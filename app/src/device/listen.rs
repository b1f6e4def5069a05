//! A listener that takes itself off again.

use wasm_bindgen::prelude::*;
use web_sys::{Event, EventTarget};

/// Listens until it is dropped.
#[must_use = "dropping a listener takes it off"]
pub struct Listener {
    target: EventTarget,
    kind: &'static str,
    hand: Closure<dyn Fn(Event)>,
    first: bool,
}

impl Listener {
    /// Calls `hand` for every event of this kind that reaches `target`.
    pub fn new(target: &EventTarget, kind: &'static str, hand: impl Fn(Event) + 'static) -> Self {
        Self::made(target, kind, Closure::new(hand), false)
    }

    fn made(
        target: &EventTarget,
        kind: &'static str,
        hand: Closure<dyn Fn(Event)>,
        first: bool,
    ) -> Self {
        let call = hand.as_ref().unchecked_ref();
        // It can only fail if no function were given.
        let _ = target.add_event_listener_with_callback_and_bool(kind, call, first);
        Self {
            target: target.clone(),
            kind,
            hand,
            first,
        }
    }

    /// Listens on `window` before anything on the page hears of it.
    pub fn before(kind: &'static str, hand: impl Fn(Event) + 'static) -> Option<Self> {
        web_sys::window().map(|window| Self::made(&window, kind, Closure::new(hand), true))
    }

    /// Listens on `window`; nothing in a place without one.
    pub fn on_window(kind: &'static str, hand: impl Fn(Event) + 'static) -> Option<Self> {
        web_sys::window().map(|window| Self::new(&window, kind, hand))
    }

    /// Listens on `document`.
    pub fn on_document(kind: &'static str, hand: impl Fn(Event) + 'static) -> Option<Self> {
        let document = web_sys::window()?.document()?;
        Some(Self::new(&document, kind, hand))
    }
}

impl Drop for Listener {
    fn drop(&mut self) {
        let call = self.hand.as_ref().unchecked_ref();
        let _ = self
            .target
            .remove_event_listener_with_callback_and_bool(self.kind, call, self.first);
    }
}
