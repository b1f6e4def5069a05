//! What can be said of one group of equal needles without any search.
//!
//! n needles, a seconds each to place, b to take out, a stay from L to U, all in before any out, idle
//! hands where useful. The forms and their proof (an exchange argument, and three lower bounds that
//! the schedule "each out as soon as it is due" meets) are those of our scheduling reference, section
//! 2.2 (derived there; agreed with a constraint solver on 240 random cases). The problem itself is the
//! coupled-task problem with one machine (Shapiro 1980, as told in Chen & Zhang, Journal of
//! Scheduling 24:209-221, 2021, doi 10.1007/s10951-020-00668-1; read).

use crate::base::units::Seconds;

/// A group of equal needles.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Equal {
    /// How many: n.
    pub needles: u32,
    /// To place one: a.
    pub place: Seconds,
    /// To take one out: b.
    pub remove: Seconds,
    /// Least stay: L.
    pub least: Seconds,
    /// Most stay: U.
    pub most: Seconds,
}

impl Equal {
    fn gaps(&self) -> u32 {
        self.needles.saturating_sub(1)
    }

    fn hands(&self) -> u32 {
        let each = self.place.0.saturating_add(self.remove.0);
        self.needles.saturating_mul(each)
    }

    /// Least chair time of all, first in first out: n(a+b) + max(0, L − (n−1)·min(a,b)), if
    /// L ≤ U and (n−1)·max(a,b) ≤ U; none where the block is impossible. No schedule is shorter,
    /// also if needles may come out before the last is in.
    #[must_use]
    pub fn first_in_first_out(&self) -> Option<Seconds> {
        let quicker = self.place.min(self.remove).0;
        let slower = self.place.max(self.remove).0;
        let fits = self.least <= self.most && self.gaps().checked_mul(slower)? <= self.most.0;
        let idle = self
            .least
            .0
            .saturating_sub(self.gaps().saturating_mul(quicker));
        fits.then(|| {
            Seconds(
                self.hands()
                    .saturating_add(if self.needles == 0 { 0 } else { idle }),
            )
        })
    }

    /// Chair time last in first out: n(a+b) + L, if L + (n−1)(a+b) ≤ U; none where that is
    /// impossible.
    #[must_use]
    pub fn last_in_first_out(&self) -> Option<Seconds> {
        let each = self.place.0.saturating_add(self.remove.0);
        let longest = self.gaps().checked_mul(each)?.checked_add(self.least.0)?;
        let least = if self.needles == 0 { 0 } else { self.least.0 };
        (longest <= self.most.0).then(|| Seconds(self.hands().saturating_add(least)))
    }

    /// The most that can be in one block first in first out, 1 + ⌊U / max(a,b)⌋. None where there is
    /// no limit, because neither takes any time.
    #[must_use]
    pub fn most_first_in_first_out(&self) -> Option<u32> {
        super::most_in_one_go(self.place, self.remove, self.most)
    }

    /// The most that can be in one block last in first out, 1 + ⌊(U − L) / (a+b)⌋. None where there
    /// is no limit; 0 where not even one fits, because L is above U.
    #[must_use]
    pub fn most_last_in_first_out(&self) -> Option<u32> {
        let Some(room) = self.most.0.checked_sub(self.least.0) else {
            return Some(0);
        };
        let each = self.place.0.saturating_add(self.remove.0);
        room.checked_div(each).map(|n| n.saturating_add(1))
    }

    /// Longest stay less shortest, with a pause after the last needle and no idling otherwise:
    /// (n−1)·|a−b| first in first out, (n−1)(a+b) last in first out.
    #[must_use]
    pub fn spread(&self, last_in_first_out: bool) -> Seconds {
        let step = if last_in_first_out {
            self.place.0.saturating_add(self.remove.0)
        } else {
            self.place.0.abs_diff(self.remove.0)
        };
        Seconds(self.gaps().saturating_mul(step))
    }

    /// The block as two pieces of work, all in and all out, with this pause between, least and most:
    /// max(0, L − (n−1)·min(a,b)) to U − (n−1)·max(a,b). None where the block is impossible.
    #[must_use]
    pub fn pause(&self) -> Option<(Seconds, Seconds)> {
        self.first_in_first_out()?;
        let quicker = self.place.min(self.remove).0;
        let slower = self.place.max(self.remove).0;
        let idle = self.gaps().saturating_mul(quicker);
        let most = self.gaps().saturating_mul(slower);
        Some((
            Seconds(self.least.0.saturating_sub(idle)),
            Seconds(self.most.0.saturating_sub(most)),
        ))
    }

    /// What to do with more than fit one block: waves as equal as possible, each in and out before
    /// the next: sizes, larger first, and chair time of all. None where not even one needle fits.
    #[must_use]
    pub fn waves(&self) -> Option<Waves> {
        if self.least > self.most {
            return None;
        }
        let most = self
            .most_first_in_first_out()
            .unwrap_or(self.needles)
            .max(1);
        let count = self.needles.div_ceil(most).max(1);
        let smaller = self.needles.checked_div(count)?;
        let larger = self.needles.checked_rem(count)?;
        let one = |needles| Self { needles, ..*self }.first_in_first_out();
        let (small, large) = (
            one(smaller)?,
            one(smaller.saturating_add(u32::from(larger > 0)))?,
        );
        let chair = small
            .0
            .saturating_mul(count.saturating_sub(larger))
            .saturating_add(large.0.saturating_mul(larger));
        Some(Waves {
            count,
            larger,
            smaller,
            chair: Seconds(chair),
        })
    }
}

/// Needles in waves.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Waves {
    /// How many.
    pub count: u32,
    /// So many of them have one needle more.
    pub larger: u32,
    /// Needles of the others.
    pub smaller: u32,
    /// Chair time of all waves, one after the other, set-ups not counted.
    pub chair: Seconds,
}
