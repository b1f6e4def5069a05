//! One window writes. The browser's exclusive lock says which, and dies with its window, so a crash
//! never leaves it stuck.

use super::reach;
use js_sys::{Function, Object, Promise};
use std::cell::RefCell;
use std::rc::Rc;
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::{JsFuture, spawn_local};

/// The answer to asking for the lock.
pub enum Hold {
    /// This window has it, until the value is dropped or another window takes it.
    Held(Held),
    /// Another window has it.
    Elsewhere,
    /// This browser has no such locks: nothing warns of a second window.
    Absent,
}

/// The lock, held. Dropping it lets it go.
#[must_use = "dropping the lock lets it go"]
pub struct Held {
    let_go: Function,
}

impl Drop for Held {
    fn drop(&mut self) {
        let _ = self.let_go.call0(&JsValue::UNDEFINED);
    }
}

/// Asks for the lock `name` and answers at once. `lost` is called if another window takes it later.
pub async fn hold(name: &str, lost: impl Fn() + 'static) -> Hold {
    request(name, "ifAvailable", lost).await
}

/// Takes the lock `name` from whichever window has it; that window is told.
pub async fn take_over(name: &str, lost: impl Fn() + 'static) -> Hold {
    request(name, "steal", lost).await
}

async fn request(name: &str, how: &str, lost: impl Fn() + 'static) -> Hold {
    let locks = reach::navigator("locks");
    if !reach::can(&locks, "request") {
        return Hold::Absent;
    }
    let options = Object::new();
    reach::set(&options, how, &JsValue::TRUE);
    let let_go: Rc<RefCell<Option<Function>>> = Rc::default();
    let lost = Rc::new(lost);

    let answered = Promise::new(&mut |answer, _| {
        let granted = {
            let let_go = Rc::clone(&let_go);
            let answer = answer.clone();
            move |lock: JsValue| -> JsValue {
                if lock.is_falsy() {
                    say(&answer, Some(false));
                    return JsValue::UNDEFINED;
                }
                // The lock lasts as long as this promise stays open.
                let open = Promise::new(&mut |close, _| {
                    let_go.replace(Some(close));
                });
                say(&answer, Some(true));
                open.into()
            }
        };
        let granted = Closure::once_into_js(granted);
        let request = reach::call(&locks, "request", &[&name.into(), &options, &granted]);
        let lost = Rc::clone(&lost);
        spawn_local(async move {
            // Settles when the lock ends: fulfilled if we let it go, rejected if it was taken from
            // us or never given.
            let end = match request {
                Ok(request) => JsFuture::from(Promise::resolve(&request)).await,
                Err(why) => Err(why),
            };
            if let Err(why) = end {
                say(&answer, None);
                if reach::error_name(&why) == "AbortError" {
                    lost();
                }
            }
        });
    });

    let answer = JsFuture::from(answered).await.ok();
    match (let_go.take(), answer.and_then(|answer| answer.as_bool())) {
        (Some(let_go), Some(true)) => Hold::Held(Held { let_go }),
        (_, Some(false)) => Hold::Elsewhere,
        _ => Hold::Absent,
    }
}

/// Answers, if no answer was given yet. `None`: the browser would not say.
fn say(answer: &Function, held: Option<bool>) {
    let held = held.map_or(JsValue::UNDEFINED, JsValue::from_bool);
    let _ = answer.call1(&JsValue::UNDEFINED, &held);
}
