//! Tells the static page that the program runs, so that it stands back.

use super::reach;

/// To be called once, after the first screen is drawn.
pub fn tell() {
    let _ = reach::call(&reach::global("pinfold"), "started", &[]);
}
