//! Reaching what the typed bindings do not offer, or offer only behind an unstable switch. A
//! browser without the ability answers `undefined`, never an exception.

use js_sys::{Array, Function, Promise, Reflect};
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::JsFuture;

/// A property, or `undefined` where there is none.
#[must_use]
pub fn get(of: &JsValue, name: &str) -> JsValue {
    Reflect::get(of, &JsValue::from_str(name)).unwrap_or(JsValue::UNDEFINED)
}

/// A property of `window`.
#[must_use]
pub fn global(name: &str) -> JsValue {
    get(&js_sys::global(), name)
}

/// A property of `navigator`.
#[must_use]
pub fn navigator(name: &str) -> JsValue {
    get(&global("navigator"), name)
}

/// Sets a property; a frozen object is left as it is.
pub fn set(of: &JsValue, name: &str, value: &JsValue) {
    let _ = Reflect::set(of, &JsValue::from_str(name), value);
}

/// True if `of` has a method of this name.
#[must_use]
pub fn can(of: &JsValue, method: &str) -> bool {
    get(of, method).is_function()
}

/// Calls a method.
///
/// # Errors
/// What the method threw, or `undefined` if there is no such method.
pub fn call(of: &JsValue, method: &str, arguments: &[&JsValue]) -> Result<JsValue, JsValue> {
    let method: Function = get(of, method).dyn_into().map_err(|_| JsValue::UNDEFINED)?;
    let list = Array::new();
    for argument in arguments {
        list.push(argument);
    }
    Reflect::apply(&method, of, &list)
}

/// Calls a method that answers with a promise, and waits for it.
///
/// # Errors
/// What the method threw or the promise was rejected with; `undefined` if there is no such method.
pub async fn ask(of: &JsValue, method: &str, arguments: &[&JsValue]) -> Result<JsValue, JsValue> {
    let answer = call(of, method, arguments)?;
    // Resolving a plain value is allowed: an old browser may answer at once.
    JsFuture::from(Promise::resolve(&answer)).await
}

/// The `name` of an error, such as `QuotaExceededError`; empty if it has none.
#[must_use]
pub fn error_name(error: &JsValue) -> String {
    get(error, "name").as_string().unwrap_or_default()
}
