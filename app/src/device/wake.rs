//! Keeping the screen on. What is reported is the true state: a phone may refuse or take it back.

use super::listen::Listener;
use super::reach;
use super::visibility::{self, Seen, visible};
use std::cell::{Cell, RefCell};
use std::rc::Rc;
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::spawn_local;
use web_sys::EventTarget;

/// Whether the screen will stay on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Awake {
    /// Nobody asked.
    Off,
    /// Asked, no answer yet.
    Asking,
    /// The screen stays on.
    Held,
    /// The phone said no, or took it back (power saving, page out of sight).
    Refused,
    /// This browser cannot.
    Absent,
}

/// Keeps the screen on while it is wanted. Asks again each time the page comes back in sight.
#[must_use = "dropping it lets the screen go off"]
pub struct Wake {
    inner: Rc<Inner>,
    _visible: Option<Listener>,
}

struct Inner {
    wanted: Cell<bool>,
    state: Cell<Awake>,
    sentinel: RefCell<Option<(JsValue, Listener)>>,
    changed: Box<dyn Fn(Awake)>,
}

impl Wake {
    /// Nothing is asked for yet. `changed` is told of each new state.
    pub fn new(changed: impl Fn(Awake) + 'static) -> Self {
        let inner = Rc::new(Inner {
            wanted: Cell::new(false),
            state: Cell::new(Awake::Off),
            sentinel: RefCell::new(None),
            changed: Box::new(changed),
        });
        let seen = Rc::downgrade(&inner);
        let visible = visibility::watch(move |what| {
            if let (Seen::Visible { .. }, Some(inner)) = (what, seen.upgrade()) {
                inner.ask();
            }
        });
        Self {
            inner,
            _visible: visible,
        }
    }

    /// Asks for the screen to stay on, or lets it go off again.
    pub fn want(&self, on: bool) {
        self.inner.wanted.set(on);
        if on {
            self.inner.ask();
        } else {
            self.inner.let_go();
        }
    }

    /// The state last reported.
    #[must_use]
    pub fn state(&self) -> Awake {
        self.inner.state.get()
    }
}

impl Drop for Wake {
    fn drop(&mut self) {
        self.inner.wanted.set(false);
        self.inner.let_go();
    }
}

impl Inner {
    fn report(&self, state: Awake) {
        if self.state.replace(state) != state {
            (self.changed)(state);
        }
    }

    fn let_go(&self) {
        let held = self.sentinel.take();
        if let Some((sentinel, _)) = held {
            let_sleep(&sentinel);
        }
        self.report(Awake::Off);
    }

    fn ask(self: &Rc<Self>) {
        if !self.wanted.get() || matches!(self.state.get(), Awake::Asking | Awake::Held) {
            return;
        }
        let lock = reach::navigator("wakeLock");
        if !reach::can(&lock, "request") {
            return self.report(Awake::Absent);
        }
        if !visible() {
            return self.report(Awake::Refused);
        }
        self.report(Awake::Asking);
        let inner = Rc::clone(self);
        spawn_local(async move {
            let answer = reach::ask(&lock, "request", &[&JsValue::from_str("screen")]).await;
            match answer {
                // It may have been let go while we asked.
                Ok(sentinel) if !inner.wanted.get() => let_sleep(&sentinel),
                Ok(sentinel) => inner.hold(sentinel),
                Err(_) if inner.wanted.get() => inner.report(Awake::Refused),
                Err(_) => {}
            }
        });
    }

    fn hold(self: &Rc<Self>, sentinel: JsValue) {
        let inner = Rc::downgrade(self);
        let target: &EventTarget = sentinel.unchecked_ref();
        let taken_back = Listener::new(target, "release", move |_| {
            if let Some(inner) = inner.upgrade()
                && inner.wanted.get()
            {
                inner.report(Awake::Refused);
            }
        });
        self.sentinel.replace(Some((sentinel, taken_back)));
        self.report(Awake::Held);
    }
}

/// Asked before this returns: a page that is going away has no later.
fn let_sleep(sentinel: &JsValue) {
    let _ = reach::call(sentinel, "release", &[]);
}
