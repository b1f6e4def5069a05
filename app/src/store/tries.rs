//! Passphrases that did not open it, one after the other, kept over a reload. It only slows a hand
//! down: whoever can write to the browser's storage can take it away, and whoever copied the rows
//! guesses elsewhere.

use crate::device::local::at_hand;
use gloo_storage::{LocalStorage, Storage};

const NAME: &str = "pinfold.tries";

/// So many may go wrong before there is a wait. Policy.
const FREE: u32 = 3;
/// The first wait, in milliseconds, doubled by every further one. Policy.
const FIRST: i64 = 5_000;
/// The longest. Policy: long enough to be tiresome, short enough for a forgetful morning.
const LONGEST: i64 = 300_000;

/// What is known of tries that went wrong.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Tries {
    /// How many, one after the other.
    wrong: u32,
    /// When the last began, wall milliseconds.
    last: i64,
}

impl Tries {
    /// What is written down; none where nothing is.
    #[must_use]
    pub fn read() -> Self {
        if !at_hand() {
            return Self::default();
        }
        let text = LocalStorage::raw().get_item(NAME).ok().flatten();
        text.as_deref().and_then(Self::parse).unwrap_or_default()
    }

    fn parse(text: &str) -> Option<Self> {
        let (wrong, last) = text.split_once(' ')?;
        Some(Self {
            wrong: wrong.parse().ok()?,
            last: last.parse().ok()?,
        })
    }

    /// Writes a try down before it is made: ending the page in the middle of it is no way round.
    pub fn begin(self, now: i64) {
        if at_hand() {
            let text = format!("{} {now}", self.wrong.saturating_add(1));
            let _ = LocalStorage::raw().set_item(NAME, &text);
        }
    }

    /// Nothing was tried after all: as before.
    pub fn undo(self) {
        if at_hand() {
            let text = format!("{} {}", self.wrong, self.last);
            let _ = LocalStorage::raw().set_item(NAME, &text);
        }
    }

    /// It opened.
    pub fn forget() {
        if at_hand() {
            LocalStorage::delete(NAME);
        }
    }

    /// Milliseconds to wait before the next try. A clock that was set back makes it no longer than
    /// the whole wait.
    #[must_use]
    pub fn left(self, now: i64) -> i64 {
        let over = self.wrong.saturating_sub(FREE);
        if over == 0 {
            return 0;
        }
        let wait = FIRST
            .checked_shl(over.saturating_sub(1).min(20))
            .map_or(LONGEST, |wait| wait.min(LONGEST));
        self.last
            .saturating_add(wait)
            .saturating_sub(now)
            .clamp(0, wait)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_wait_grows_stops_growing_and_ends() {
        let tries = |wrong| Tries { wrong, last: 1_000 };
        let waits: Vec<i64> = (0..14).map(|n| tries(n).left(1_000)).collect();
        assert_eq!(
            waits,
            [
                0, 0, 0, 0, 5_000, 10_000, 20_000, 40_000, 80_000, 160_000, 300_000, 300_000,
                300_000, 300_000
            ]
        );
        assert_eq!(tries(u32::MAX).left(1_000), LONGEST);
        assert_eq!(tries(5).left(8_000), 3_000);
        assert_eq!(tries(5).left(11_000), 0);
        assert_eq!(tries(5).left(-9_000_000), 10_000, "a clock set back");
        assert_eq!(Tries::parse("4 1000"), Some(tries(4)));
        assert_eq!(Tries::parse("x"), None);
    }
}
