//! Timers: one alarm for the next deadline, and a tick for redrawing. Neither is ever counted:
//! what is left is computed from stamps, because a phone slows and stops timers as it likes.

use super::clock;
use super::listen::Listener;
use super::visibility::{self, visible};
use std::cell::{Cell, RefCell};
use std::rc::Rc;
use wasm_bindgen::prelude::*;

/// One call after a while, unless it is dropped first.
#[must_use = "dropping a timer stops it"]
pub struct Timer {
    handle: i32,
    _hand: Closure<dyn Fn()>,
}

impl Timer {
    /// Calls `hand` in `millis` milliseconds. Longer than 24 days counts as 24 days: the browser's
    /// own limit.
    pub fn after(millis: i64, hand: impl Fn() + 'static) -> Option<Self> {
        let hand = Closure::<dyn Fn()>::new(hand);
        let millis = i32::try_from(millis.max(0)).unwrap_or(i32::MAX);
        let handle = web_sys::window()?
            .set_timeout_with_callback_and_timeout_and_arguments_0(
                hand.as_ref().unchecked_ref(),
                millis,
            )
            .ok()?;
        Some(Self {
            handle,
            _hand: hand,
        })
    }
}

impl Drop for Timer {
    fn drop(&mut self) {
        if let Some(window) = web_sys::window() {
            window.clear_timeout_with_handle(self.handle);
        }
    }
}

/// The one alarm for the next deadline. It rings in the foreground only: no browser can promise to
/// wake a locked phone.
#[must_use = "dropping the alarm stops it"]
pub struct Alarm {
    inner: Rc<Inner>,
    _visible: Option<Listener>,
}

struct Inner {
    due: Cell<Option<i64>>,
    timer: RefCell<Option<Timer>>,
    ring: Box<dyn Fn()>,
}

impl Alarm {
    /// An alarm that is not set.
    pub fn new(ring: impl Fn() + 'static) -> Self {
        let inner = Rc::new(Inner {
            due: Cell::new(None),
            timer: RefCell::new(None),
            ring: Box::new(ring),
        });
        let seen = Rc::downgrade(&inner);
        // Timers may have stood still while the page was hidden: look again on coming back.
        let visible = visibility::watch(move |_| {
            if let Some(inner) = seen.upgrade() {
                inner.look();
            }
        });
        Self {
            inner,
            _visible: visible,
        }
    }

    /// Sets the alarm for a wall time in milliseconds, or stops it. One that has passed rings at
    /// the next turn, never inside this call.
    pub fn set(&self, due: Option<i64>) {
        self.inner.due.set(due);
        self.inner.arm();
    }
}

impl Inner {
    fn arm(self: &Rc<Self>) {
        let timer = self.due.get().and_then(|due| {
            let inner = Rc::downgrade(self);
            Timer::after(due.saturating_sub(clock::wall()), move || {
                if let Some(inner) = inner.upgrade() {
                    inner.look();
                }
            })
        });
        // The old timer may be the one that is calling us: it is dropped after the swap.
        let old = self.timer.replace(timer);
        drop(old);
    }

    /// Rings if the deadline has passed, and waits on if it has not: the timer may be early, or
    /// the wall clock may have been set.
    fn look(self: &Rc<Self>) {
        match self.due.get() {
            Some(due) if clock::wall() >= due => {
                self.due.set(None);
                (self.ring)();
            }
            Some(_) => self.arm(),
            None => {}
        }
    }
}

/// Calls once a second while the page is in sight, and at once when it comes back in sight.
#[must_use = "dropping the tick stops it"]
pub struct Tick {
    beat: Rc<Beat>,
    _visible: Option<Listener>,
}

struct Beat {
    hand: Closure<dyn Fn()>,
    handle: Cell<Option<i32>>,
}

impl Beat {
    fn start(&self) {
        if self.handle.get().is_none() {
            self.handle.set(web_sys::window().and_then(|window| {
                window
                    .set_interval_with_callback_and_timeout_and_arguments_0(
                        self.hand.as_ref().unchecked_ref(),
                        1000,
                    )
                    .ok()
            }));
        }
    }

    fn stop(&self) {
        if let (Some(window), Some(handle)) = (web_sys::window(), self.handle.take()) {
            window.clear_interval_with_handle(handle);
        }
    }
}

impl Tick {
    /// Starts ticking.
    pub fn new(redraw: impl Fn() + 'static) -> Self {
        let redraw = Rc::new(redraw);
        let again = Rc::clone(&redraw);
        let beat = Rc::new(Beat {
            hand: Closure::new(move || redraw()),
            handle: Cell::new(None),
        });
        if visible() {
            beat.start();
        }
        let seen = Rc::clone(&beat);
        let watch = visibility::watch(move |_| {
            if visible() {
                again();
                seen.start();
            } else {
                seen.stop();
            }
        });
        Self {
            beat,
            _visible: watch,
        }
    }
}

impl Drop for Tick {
    fn drop(&mut self) {
        self.beat.stop();
    }
}
