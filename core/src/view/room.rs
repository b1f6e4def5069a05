//! The room that a browser keeps for the records: whether little is left of it, and whether it may be
//! cleared by itself.

/// Room used and room there could be, in bytes. The browser rounds both.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Room {
    /// Bytes in use.
    pub used: u64,
    /// Bytes this app may come to use.
    pub quota: u64,
}

/// Less than this left is little, in bytes. Policy: as long as the longest copy that is brought in
/// (`journal::Limits::HERE`), so that a phone that has it can still take a copy back.
pub const ENOUGH: u64 = 134_217_728;

/// More than this used is much, in hundredths. Policy: the quota is a share of a disk that other apps
/// fill too, and the browser rounds, so it is said while there is still time to act.
pub const MOST: u64 = 80;

/// After how many days of use without a tap on the page Safari on an iPhone deletes all that a tab has
/// kept. WebKit, 2020, as reported by The Register and Simo Ahava \[read\].
pub const TAB_DAYS: u16 = 7;

impl Room {
    /// What is left, in bytes.
    #[must_use]
    pub const fn left(self) -> u64 {
        self.quota.saturating_sub(self.used)
    }

    /// Whether little is left.
    #[must_use]
    pub const fn little(self) -> bool {
        self.left() < ENOUGH || self.used.saturating_mul(100) > self.quota.saturating_mul(MOST)
    }
}

/// Whether what is kept may be cleared because it lies in a browser's tab. `agreed`: whether the browser
/// says that it keeps it, nothing if it cannot be asked; that is no agreement. `own_window`: it runs
/// from the home screen.
#[must_use]
pub const fn tab_may_be_cleared(agreed: Option<bool>, own_window: bool) -> bool {
    !own_window && !matches!(agreed, Some(true))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::journal::Limits;

    #[test]
    fn little_is_less_than_a_copy_or_a_fifth() {
        assert_eq!(usize::try_from(ENOUGH), Ok(Limits::HERE.bytes));
        let room = |used, quota| Room { used, quota };
        let gb = 1_000_000_000;
        assert!(!room(0, gb).little());
        assert!(!room(gb * 80 / 100, gb).little(), "just a fifth is left");
        assert!(room(gb * 80 / 100 + 1, gb).little());
        assert!(!room(0, ENOUGH).little());
        assert!(room(1, ENOUGH).little(), "less than a copy");
        assert!(room(0, 0).little(), "none at all");
        assert!(room(u64::MAX, 5).little(), "more used than there is");
        assert_eq!(room(u64::MAX, 5).left(), 0);
        assert!(!room(0, u64::MAX).little());
    }

    #[test]
    fn only_a_tab_without_an_agreement_may_be_cleared() {
        assert!(tab_may_be_cleared(Some(false), false));
        assert!(tab_may_be_cleared(None, false), "unknown is no yes");
        assert!(!tab_may_be_cleared(Some(true), false));
        for agreed in [Some(false), Some(true), None] {
            assert!(!tab_may_be_cleared(agreed, true));
        }
    }
}
