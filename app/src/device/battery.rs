//! The battery, where a browser tells of it; many do not.

use super::listen::Listener;
use super::reach;
use std::rc::Rc;
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::spawn_local;
use web_sys::EventTarget;

/// Under this many hundredths a battery is low. Policy.
const LOW: f64 = 20.0;

/// What is left in hundredths, if that is little and the phone is not being charged.
#[must_use]
pub fn low(level: f64, charging: bool) -> Option<u8> {
    // Rounded down: 19.9 is not yet 20. A level is 0 to 1; the cast holds whatever else comes in range.
    let left = level * 100.0;
    (!charging && (0.0..LOW).contains(&left)).then_some(left as u8)
}

/// Tells how low the battery is, at once and at each change; never where the browser does not know.
pub fn watch(told: impl Fn(Option<u8>) + 'static) {
    let phone = reach::global("navigator");
    if !reach::can(&phone, "getBattery") {
        return;
    }
    spawn_local(async move {
        let Ok(battery) = reach::ask(&phone, "getBattery", &[]).await else {
            return;
        };
        let source = battery.clone();
        let tell = Rc::new(move || {
            let level = reach::get(&source, "level").as_f64();
            let charging = reach::get(&source, "charging").as_bool().unwrap_or(false);
            told(level.and_then(|level| low(level, charging)));
        });
        tell();
        let target: &EventTarget = battery.unchecked_ref();
        for kind in ["levelchange", "chargingchange"] {
            let tell = Rc::clone(&tell);
            // For as long as the page lives.
            std::mem::forget(Listener::new(target, kind, move |_| tell()));
        }
    });
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn low_is_under_20_and_not_being_charged() {
        assert_eq!(low(0.14, false), Some(14));
        assert_eq!(low(0.1999, false), Some(19));
        assert_eq!(low(0.2, false), None);
        assert_eq!(low(1.0, false), None);
        assert_eq!(low(0.0, false), Some(0));
        assert_eq!(low(0.14, true), None);
        for odd in [f64::NAN, f64::INFINITY, -0.1] {
            assert_eq!(low(odd, false), None);
        }
    }
}
