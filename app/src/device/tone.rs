//! One soft low tone, and a short vibration. In sight only: no browser sounds from a locked phone.

use super::reach;
use js_sys::{Array, Function, Reflect};
use std::cell::RefCell;
use wasm_bindgen::prelude::*;

thread_local! {
    static PLAYER: RefCell<Option<JsValue>> = const { RefCell::new(None) };
}

/// The pitch in hertz: as low as the loudspeaker of a phone still gives well. Our choice.
const PITCH: f64 = 330.0;
/// How long it swells and how long it lasts, in seconds: nothing in it startles. Our choice.
const SWELL: f64 = 0.15;
const LASTS: f64 = 1.2;
/// How long the phone vibrates, in milliseconds.
const SHAKES: f64 = 400.0;

fn maker() -> Option<Function> {
    ["AudioContext", "webkitAudioContext"]
        .into_iter()
        .find_map(|name| reach::global(name).dyn_into().ok())
}

/// Whether this browser has a way to sound.
#[must_use]
pub fn can_sound() -> bool {
    maker().is_some()
}

/// Whether it has a way to vibrate.
#[must_use]
pub fn can_shake() -> bool {
    reach::can(&reach::global("navigator"), "vibrate")
}

/// Makes ready, or wakes again what the phone put to sleep. To be called on a press: without one no
/// browser lets a page sound.
pub fn ready() {
    PLAYER.with_borrow_mut(|player| {
        let made = || Reflect::construct(&maker()?, &Array::new()).ok();
        if player.is_none() {
            *player = made();
        }
        if let Some(player) = player
            && reach::get(player, "state").as_string().as_deref() != Some("running")
        {
            let _ = reach::call(player, "resume", &[]);
        }
    });
}

/// Sounds once, at a volume of 0 to 1.
pub fn sound(volume: f64) {
    ready();
    PLAYER.with_borrow(|player| {
        // What is missing is not heard; the page says the same in words all the while.
        let _ = player.as_ref().map(|player| play(player, volume));
    });
}

fn play(player: &JsValue, volume: f64) -> Result<(), JsValue> {
    let now = reach::get(player, "currentTime").as_f64().unwrap_or(0.0);
    let source = reach::call(player, "createOscillator", &[])?;
    let gain = reach::call(player, "createGain", &[])?;
    reach::set(&reach::get(&source, "frequency"), "value", &PITCH.into());
    let level = reach::get(&gain, "gain");
    reach::call(&level, "setValueAtTime", &[&0.0.into(), &now.into()])?;
    for (to, at) in [(volume, SWELL), (0.0, LASTS)] {
        reach::call(
            &level,
            "linearRampToValueAtTime",
            &[&to.into(), &(now + at).into()],
        )?;
    }
    reach::call(&source, "connect", &[&gain])?;
    reach::call(&gain, "connect", &[&reach::get(player, "destination")])?;
    reach::call(&source, "start", &[&now.into()])?;
    reach::call(&source, "stop", &[&(now + LASTS).into()])?;
    Ok(())
}

/// Vibrates once.
pub fn shake() {
    let _ = reach::call(&reach::global("navigator"), "vibrate", &[&SHAKES.into()]);
}
