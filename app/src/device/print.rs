//! The phone's print view.

/// Opens it. False if the phone would not: some do nothing, so a file is the promise and this is not.
pub fn open() -> bool {
    web_sys::window().is_some_and(|window| window.print().is_ok())
}
