//! The part of the address after `#`: the app's routes. It needs no server rule, and the back
//! button works.

use super::listen::Listener;

/// The route in the address, without the `#`. Empty at the start page.
#[must_use]
pub fn read() -> String {
    let hash = web_sys::window()
        .and_then(|window| window.location().hash().ok())
        .unwrap_or_default();
    hash.strip_prefix('#').map(String::from).unwrap_or(hash)
}

/// Goes to a route; *back* returns from it.
pub fn go(route: &str) {
    if let Some(window) = web_sys::window() {
        let _ = window.location().set_hash(route);
    }
}

/// Goes to a route in the place of the present one: *back* skips it.
pub fn replace(route: &str) {
    if let Some(window) = web_sys::window() {
        let _ = window.location().replace(&format!("#{route}"));
    }
}

/// Tells of every change of route, whoever made it, until the listener is dropped.
pub fn watch(changed: impl Fn(String) + 'static) -> Option<Listener> {
    Listener::on_window("hashchange", move |_| changed(read()))
}
