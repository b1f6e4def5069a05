//! When the program breaks, it breaks to paper: the static page takes over. What is told is where
//! and which fixed sentence, never a value: a value could be a name or a note.

use super::reach;
use std::panic::{PanicHookInfo, set_hook};
use wasm_bindgen::prelude::*;

/// Sends every panic to the static page and to the console.
pub fn watch() {
    set_hook(Box::new(|info| tell("panic", &words(info))));
}

/// Hands over to the static page. `kind` and `message` must carry no personal data.
pub fn tell(kind: &str, message: &str) {
    let message = JsValue::from_str(message);
    let _ = reach::call(&reach::global("console"), "error", &[&message]);
    let _ = reach::call(
        &reach::global("pinfold"),
        "broke",
        &[&JsValue::from_str(kind), &message],
    );
}

fn words(info: &PanicHookInfo<'_>) -> String {
    // A message put together at run time may hold a value: only one fixed in the source is told.
    let fixed = info.payload().downcast_ref::<&'static str>().copied();
    let place = info
        .location()
        .map(|at| format!("{}:{}:{}", at.file(), at.line(), at.column()));
    format!(
        "{} ({})",
        fixed.unwrap_or("stopped"),
        place.as_deref().unwrap_or("place unknown")
    )
}
