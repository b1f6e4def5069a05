//! What is heard and felt of the clocks: off until it is chosen, and only while the page is in sight.

use super::Desk;
use crate::device::{tone, visibility};
use pinfold_core::view::heard::Heard;

impl Desk {
    /// The volume chosen, 0 to 1; 0 is off.
    fn volume(&self) -> f64 {
        self.read_now(|l| match l.practice().setting("sound") {
            "soft" => 0.1,
            "middle" => 0.3,
            "loud" => 0.9,
            _ => 0.0,
        })
    }

    fn shakes(&self) -> bool {
        self.read_now(|l| l.practice().setting("vibration") == "on")
    }

    /// On a press: without one no browser lets a page sound later.
    pub(super) fn ready_to_sound(&self) {
        if self.volume() > 0.0 {
            tone::ready();
        }
    }

    /// Sounds and vibrates as it is set: for a clock, and to try it.
    pub fn sound(&self) {
        let volume = self.volume();
        if volume > 0.0 {
            tone::sound(volume);
        }
        if self.shakes() {
            tone::shake();
        }
    }

    /// Whether this browser can sound, and whether it can vibrate.
    #[must_use]
    pub fn can_be_heard(&self) -> (bool, bool) {
        (tone::can_sound(), tone::can_shake())
    }

    /// Sounds if a clock fell due since the last look. Out of sight nothing is looked at, so what fell
    /// due meanwhile is heard once, on coming back. The first look after a start is silent: the page says
    /// all that is due.
    pub(super) fn sounds(&self, heard: Heard) {
        if !visibility::visible() {
            return;
        }
        let rings = |before: &Heard| heard.rings(before);
        let rings = self.inner().heard.borrow().as_ref().is_some_and(rings);
        self.inner().heard.replace(Some(heard));
        if rings {
            self.sound();
        }
    }
}
