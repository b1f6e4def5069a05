//! The clocks: wall time, time since this run started, and the zone for printing.

use pinfold_core::base::stamp::{Stamp, Wall};

/// Milliseconds since 1970 by the wall clock. People set clocks: never trusted alone.
#[must_use]
pub fn wall() -> i64 {
    // A float far outside i64 saturates; the wall clock stays within 2^53.
    js_sys::Date::now() as i64
}

/// Milliseconds since the page was opened. Never goes back, but on a phone it may lose the time
/// that the phone slept.
#[must_use]
pub fn mono() -> i64 {
    web_sys::window()
        .and_then(|window| window.performance())
        .map_or(0, |performance| performance.now() as i64)
}

/// Minutes that local time is now ahead of UTC.
#[must_use]
pub fn zone() -> i16 {
    // JavaScript counts the other way: minutes that UTC is ahead.
    -(js_sys::Date::new_0().get_timezone_offset() as i16)
}

/// All three, read together.
#[must_use]
pub fn now() -> Stamp {
    Stamp {
        wall: Wall(wall()),
        mono: mono(),
        zone: zone(),
    }
}
