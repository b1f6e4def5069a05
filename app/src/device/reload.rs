//! Loading the page again.

/// Loads the page again, from the start page.
pub fn now() {
    if let Some(window) = web_sys::window() {
        let _ = window.location().set_hash("/");
        let _ = window.location().reload();
    }
}
