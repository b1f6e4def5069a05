//! One job for a worker of our own origin, beside the page. It is started for the job and ended with
//! it, so that its memory goes back to the phone.

use super::listen::Listener;
use super::reach;
use js_sys::{Array, Function, Object, Promise, Reflect};
use std::cell::RefCell;
use std::rc::Rc;
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::JsFuture;

/// Ends the worker when it is dropped.
struct Worker(JsValue);

impl Drop for Worker {
    fn drop(&mut self) {
        let _ = reach::call(&self.0, "terminate", &[]);
    }
}

/// Starts the script at `address` as a module, gives it an object of these fields, and waits for its
/// first word. Nothing if the browser has no such workers, or the script did not start.
pub async fn ask(address: &str, fields: &[(&str, JsValue)]) -> Option<JsValue> {
    let maker: Function = reach::global("Worker").dyn_into().ok()?;
    let options = Object::new();
    reach::set(&options, "type", &"module".into());
    let made = Reflect::construct(&maker, &Array::of2(&address.into(), &options)).ok()?;
    let worker = Worker(made);
    let target: &web_sys::EventTarget = worker.0.unchecked_ref();

    let ears = Rc::new(RefCell::new(Vec::new()));
    let said = Promise::new(&mut |done, _| {
        for kind in ["message", "error", "messageerror"] {
            let done = done.clone();
            ears.borrow_mut()
                .push(Listener::new(target, kind, move |event| {
                    event.prevent_default();
                    // An error event has no data, or none that is ours.
                    let _ = done.call1(&JsValue::UNDEFINED, &reach::get(&event, "data"));
                }));
        }
    });
    let message = Object::new();
    for (name, value) in fields {
        reach::set(&message, name, value);
    }
    reach::call(&worker.0, "postMessage", &[&message]).ok()?;
    let answer = JsFuture::from(said).await.ok()?;
    answer.is_object().then_some(answer)
}
