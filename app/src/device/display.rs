//! How the app is shown: from the home screen, or in a browser's tab.

use super::reach;

/// Where the app runs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Display {
    /// From the home screen, in a window of its own.
    Standalone,
    /// In a tab of the browser.
    Tab,
}

/// Every way of being shown without the browser around it.
const OWN: &str =
    "(display-mode: standalone), (display-mode: fullscreen), (display-mode: minimal-ui)";

/// Where it runs now.
#[must_use]
pub fn mode() -> Display {
    let by_media = web_sys::window()
        .and_then(|window| window.match_media(OWN).ok().flatten())
        .is_some_and(|query| query.matches());
    // Older home-screen apps on iOS tell by this property alone.
    if by_media || reach::navigator("standalone").is_truthy() {
        Display::Standalone
    } else {
        Display::Tab
    }
}
