//! Waiting until the browser has nothing better to do.

use super::reach;
use js_sys::{Function, Object, Promise};
use wasm_bindgen::JsValue;
use wasm_bindgen_futures::JsFuture;

/// The longest wait, in milliseconds. Policy.
const LONGEST: i32 = 2_000;
/// How long a browser that does not tell is left alone, in milliseconds. Policy.
const UNTOLD: i32 = 300;

/// Comes back when the browser is idle, at the latest after two seconds.
pub async fn moment() {
    let _ = JsFuture::from(Promise::new(&mut |settle, _| arm(&settle))).await;
}

fn arm(settle: &Function) {
    let options = Object::new();
    reach::set(&options, "timeout", &JsValue::from_f64(f64::from(LONGEST)));
    let window = reach::global("window");
    let asked = reach::call(&window, "requestIdleCallback", &[settle, &options]);
    if let (Err(_), Some(window)) = (asked, web_sys::window()) {
        let _ = window.set_timeout_with_callback_and_timeout_and_arguments_0(settle, UNTOLD);
    }
}
