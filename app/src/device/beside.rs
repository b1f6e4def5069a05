//! A file that lies beside the program, from the phone's own copy or the server.

use super::reach;
use js_sys::Uint8Array;

/// Fetches one file of this build.
///
/// # Errors
/// Words for a diagnosis: the status, or why it was not reached.
pub async fn fetch(name: &str) -> Result<Vec<u8>, String> {
    let words = |why: wasm_bindgen::JsValue| reach::error_name(&why);
    let window = js_sys::global();
    let answer = reach::ask(&window, "fetch", &[&name.into()])
        .await
        .map_err(words)?;
    if reach::get(&answer, "ok").is_truthy() {
        let bytes = reach::ask(&answer, "arrayBuffer", &[])
            .await
            .map_err(words)?;
        Ok(Uint8Array::new(&bytes).to_vec())
    } else {
        Err(format!(
            "status {}",
            reach::get(&answer, "status")
                .as_f64()
                .map_or(0, |code| code as u16)
        ))
    }
}
