//! What the browser tests share.

use js_sys::Promise;
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::JsFuture;

/// Runs a line of JavaScript: the tests play the browser's part in what goes wrong.
pub fn js(code: &str) -> JsValue {
    js_sys::eval(code).unwrap_or_else(|why| panic!("{code}: {why:?}"))
}

/// Waits.
pub async fn sleep(millis: i32) {
    let timer = Promise::new(&mut |done, _| {
        let _ = web_sys::window()
            .unwrap()
            .set_timeout_with_callback_and_timeout_and_arguments_0(&done, millis);
    });
    JsFuture::from(timer).await.unwrap();
}

/// Waits until something holds, and fails the test if it does not within ten seconds.
pub async fn until(what: &str, holds: impl Fn() -> bool) {
    for _ in 0..1000 {
        if holds() {
            return;
        }
        sleep(10).await;
    }
    panic!("never: {what}");
}
