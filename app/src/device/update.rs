//! A newer version that was fetched and waits. It is taken in only when the person says so.

use super::listen::Listener;
use super::reach;
use wasm_bindgen::JsValue;

fn update() -> JsValue {
    reach::get(&reach::global("pinfold"), "update")
}

/// True if a newer version waits.
#[must_use]
pub fn waiting() -> bool {
    reach::get(&update(), "waiting").is_truthy()
}

/// Tells when a newer version begins to wait.
pub fn watch(changed: impl Fn() + 'static) -> Option<Listener> {
    Listener::on_window("pinfold-update", move |_| changed())
}

/// Takes the newer version in; the page reloads. False if there is nothing to take in.
pub fn apply() -> bool {
    waiting() && reach::call(&update(), "apply", &[]).is_ok()
}
