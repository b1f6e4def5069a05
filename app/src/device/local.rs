//! Whether the browser lets this page use local storage at all.

/// True if it does. To be asked before any use of it: the library stops the program where local
/// storage is denied.
#[must_use]
pub fn at_hand() -> bool {
    web_sys::window()
        .and_then(|window| window.local_storage().ok().flatten())
        .is_some()
}
