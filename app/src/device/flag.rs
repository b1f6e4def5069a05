//! A small yes or no that is kept over a reload, and is nobody's data.

use super::local::at_hand;
use gloo_storage::{LocalStorage, Storage};

/// True if it is set.
#[must_use]
pub fn is_set(name: &str) -> bool {
    at_hand() && LocalStorage::get::<bool>(name).unwrap_or(false)
}

/// Sets it; false if the browser keeps nothing.
#[must_use]
pub fn set(name: &str) -> bool {
    at_hand() && LocalStorage::set(name, true).is_ok()
}

/// Takes it away.
pub fn clear(name: &str) {
    if at_hand() {
        LocalStorage::delete(name);
    }
}
