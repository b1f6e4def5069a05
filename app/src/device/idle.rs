//! Moments in which the browser has nothing else to do.

use super::reach;
use js_sys::Promise;
use wasm_bindgen_futures::JsFuture;

/// How long to wait where the browser does not tell, in milliseconds. Policy.
const AFTER: i32 = 50;

/// Waits for such a moment. On a browser that does not tell of them, a while.
pub async fn moment() {
    let promise = Promise::new(&mut |settle, _| {
        if reach::call(&js_sys::global(), "requestIdleCallback", &[&settle]).is_err()
            && let Some(window) = web_sys::window()
        {
            let _ = window.set_timeout_with_callback_and_timeout_and_arguments_0(&settle, AFTER);
        }
    });
    let _ = JsFuture::from(promise).await;
}
