//! Clocks: when something began, how long ago that is now, and what it asks for.
//!
//! Nothing is counted in ticks. Of the wall clock and the steady clock the longer reading wins; a
//! wall clock that reads less than any recorded stamp was set back, and every clock is then to be
//! checked by hand.

use super::{Fate, State};
use crate::atlas::Region;
use crate::base::flat;
use crate::base::id::{EntryId, Replica};
use crate::base::stamp::Wall;
use crate::base::units::Seconds;
use crate::event::session::Doing;
use alloc::vec::Vec;

/// The last minute before a clock is due is called *soon*.
pub const SOON: Seconds = Seconds(60);

/// From three minutes over, a clock says so in words on the main press as well.
pub const OVER: Seconds = Seconds(180);

/// When something happened, on both clocks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Moment {
    /// The run whose steady clock `mono` belongs to.
    pub run: Replica,
    /// Where in the order of causes.
    pub counter: u64,
    /// Wall clock.
    pub wall: Wall,
    /// Milliseconds on that run's steady clock; negative if it happened before the run began.
    pub mono: i64,
}

/// Now, on both clocks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Now {
    /// This run.
    pub run: Replica,
    /// Wall clock.
    pub wall: Wall,
    /// This run's steady clock.
    pub mono: i64,
    /// This run's steady clock when it began to follow the journal: from then on no time is lost
    /// but what the phone slept.
    pub follows_since: i64,
}

/// What the entries of a run tell of the time that passed in it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Run {
    pub(super) counter: u64,
    pub(super) first: i64,
    pub(super) last: i64,
    pub(super) first_wall: Wall,
    pub(super) last_wall: Wall,
}

/// What a clock is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum What {
    /// Cream dwelling on the skin; ends only with *wiped off*.
    Cream(EntryId),
    /// Needles staying in a region; ends only with needles out.
    Stay(Region),
    /// The next look-in at somebody with needles or cream on.
    LookIn,
    /// Somebody waits; it only counts up.
    Waits,
}

/// What a clock asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum ClockState {
    /// The phone's clock cannot be believed: check by hand. Counts as due.
    ByHand,
    /// Past due by [`OVER`] or past its latest time.
    Over,
    /// Due.
    Due,
    /// Due within [`SOON`].
    Soon,
    /// Not yet.
    Waiting,
    /// Nobody said how long; it only counts up.
    Open,
}

/// When a clock is due.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Due {
    /// After so long.
    pub after: Seconds,
    /// And not later than this.
    pub latest: Seconds,
    /// Milliseconds left by the longer reading; negative once over.
    pub left: i64,
    /// The same on the wall clock, for printing as a time of day.
    pub wall: Wall,
    /// When the last of what it is about is due: each needle stays from its own placing.
    pub last: Wall,
}

/// One running clock.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Clock {
    /// What it is about.
    pub what: What,
    /// Where: for cream, the first of its regions.
    pub region: Option<Region>,
    /// How many needles it is about.
    pub needles: u32,
    /// When it began, at the earliest.
    pub since: Wall,
    /// Milliseconds since then, by the longer reading. Never negative.
    pub elapsed: i64,
    /// When it is due, if anybody said.
    pub due: Option<Due>,
    /// What it asks for.
    pub state: ClockState,
}

/// The stay of one region.
struct Window {
    /// The placing of the needle that is due first; of the earliest, if none has a length.
    start: Moment,
    /// The earliest placing.
    since: Wall,
    /// How long that needle stays, if anybody said.
    length: Option<Seconds>,
    /// Milliseconds it has left.
    left: Option<i64>,
    /// When the last needle is due.
    last: Wall,
    /// How many are in.
    needles: u32,
}

impl State {
    /// True if the wall clock reads less than a stamp this session already holds.
    #[must_use]
    pub fn set_back(&self, now: &Now) -> bool {
        self.latest.is_some_and(|latest| now.wall < latest)
    }

    /// Milliseconds since `start`, by the longer of the two readings; never negative.
    #[must_use]
    pub fn elapsed(&self, start: &Moment, now: &Now) -> i64 {
        let wall = now.wall.since(start.wall);
        wall.max(self.steady(start, now)).max(0)
    }

    /// What the steady clocks can vouch for: in the run it began in up to that run's last entry,
    /// then in each later run from its first entry to its last, and in this run to now. Runs that
    /// overlap (two phones) are not added up.
    fn steady(&self, start: &Moment, now: &Now) -> i64 {
        if start.run == now.run {
            return now.mono.saturating_sub(start.mono);
        }
        let Some(first) = self.runs.get(&start.run) else {
            return 0;
        };
        let mut total = first.last.saturating_sub(start.mono).max(0);
        let mut until = first.last_wall;
        let mut later: Vec<(&Replica, &Run)> = self
            .runs
            .iter()
            .filter(|(name, run)| **name != start.run && run.counter > start.counter)
            .collect();
        flat::sort_by_key(&mut later, |(name, run)| (run.counter, **name));
        for (name, run) in later {
            if *name == now.run || run.first_wall < until {
                continue;
            }
            total = total.saturating_add(run.last.saturating_sub(run.first));
            until = run.last_wall;
        }
        let here = self
            .runs
            .get(&now.run)
            .map_or(now.follows_since, |run| run.first.min(now.follows_since));
        total.saturating_add(now.mono.saturating_sub(here).max(0))
    }

    /// Every running clock, the one that wants attention soonest first.
    #[must_use]
    pub fn clocks(&self, now: &Now) -> Vec<Clock> {
        let mut clocks: Vec<Clock> = Vec::new();
        for cream in self.creams.iter().filter(|c| c.off.is_none()) {
            let window = Some((cream.earliest, cream.latest));
            let mut clock = self.clock(What::Cream(cream.id), &cream.on, window, now);
            clock.region = cream.regions.first().copied();
            clocks.push(clock);
        }
        for (region, stay) in self.stay_windows(now) {
            let window = stay
                .length
                .map(|s| (s, Seconds(s.0.saturating_add(OVER.0))));
            let mut clock = self.clock(What::Stay(region), &stay.start, window, now);
            clock.region = Some(region);
            clock.needles = stay.needles;
            clock.since = stay.since;
            if let Some(due) = &mut clock.due {
                due.last = stay.last.max(due.wall);
            }
            clocks.push(clock);
        }
        let tended = self.sum.in_now > 0 || self.creams.iter().any(|c| c.off.is_none());
        let look = self
            .did
            .iter()
            .rev()
            .find(|d| d.what.what == Doing::LookedIn);
        if let Some(look) = look.filter(|_| tended)
            && let Some(next) = look.what.next
        {
            let window = Some((next, Seconds(next.0.saturating_add(OVER.0))));
            clocks.push(self.clock(What::LookIn, &look.at, window, now));
        }
        if let Some(waits) = self.waits {
            clocks.push(self.clock(What::Waits, &waits, None, now));
        }
        flat::sort_by_key(&mut clocks, |c| {
            let left = c.due.map_or(i64::MAX, |due| due.left);
            (c.state == ClockState::Open, left, c.since, c.what)
        });
        clocks
    }

    /// Region by region, from each needle's own placing: the needle that is due first rules.
    fn stay_windows(&self, now: &Now) -> flat::Map<Region, Window> {
        let mut windows: flat::Map<Region, Window> = flat::Map::new();
        for needle in self.needles.values().filter(|n| n.fate == Fate::In) {
            let length = self.stays.get(&needle.region).copied().or(needle.stay);
            let start = needle.placed;
            let left = length.map(|l| l.as_millis().saturating_sub(self.elapsed(&start, now)));
            let due = start.wall.plus(length.map_or(0, Seconds::as_millis));
            let window = windows.or_insert_with(needle.region, || Window {
                start,
                since: start.wall,
                length,
                left,
                last: due,
                needles: 0,
            });
            window.needles = window.needles.saturating_add(1);
            window.since = window.since.min(start.wall);
            if length.is_some() {
                window.last = window.last.max(due);
            }
            let sooner = match (left, window.left) {
                (Some(here), Some(first)) => here < first,
                (here, None) => here.is_some() || start.wall < window.start.wall,
                (None, Some(_)) => false,
            };
            if sooner {
                (window.start, window.length, window.left) = (start, length, left);
            }
        }
        windows
    }

    fn clock(
        &self,
        what: What,
        start: &Moment,
        window: Option<(Seconds, Seconds)>,
        now: &Now,
    ) -> Clock {
        let elapsed = self.elapsed(start, now);
        let due = window.map(|(after, latest)| Due {
            after,
            latest,
            left: after.as_millis().saturating_sub(elapsed),
            wall: start.wall.plus(after.as_millis()),
            last: start.wall.plus(after.as_millis()),
        });
        let state = match due {
            _ if self.set_back(now) => ClockState::ByHand,
            None => ClockState::Open,
            Some(due) if elapsed >= due.latest.as_millis() => ClockState::Over,
            Some(due) if due.left <= 0 => ClockState::Due,
            Some(due) if due.left <= SOON.as_millis() => ClockState::Soon,
            Some(_) => ClockState::Waiting,
        };
        Clock {
            what,
            region: None,
            needles: 0,
            since: start.wall,
            elapsed,
            due,
            state,
        }
    }
}
