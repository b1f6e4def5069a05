//! The hour: one pair of hands places needles, waits, and takes them out again, first in first out.
//!
//! Needles go in as long as that makes no earlier needle overstay; only when it would, the earliest is
//! taken out in between. Afterwards each comes out as soon as it is due. Inside one group of equal
//! needles this is the shortest chair time there is: n needles, a seconds in, b seconds out, a stay
//! from L to U, all in before any out, take n(a+b) + max(0, L − (n−1)·min(a,b)), and it works exactly
//! when (n−1)·max(a,b) ≤ U (proved in our scheduling reference by an exchange argument; derived).

pub mod closed;
pub mod instance;
mod network;
pub mod search;

use crate::base::units::Seconds;
use alloc::collections::VecDeque;
use alloc::vec::Vec;

/// What the hands need to know of one needle.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Needle {
    /// To place it.
    pub place: Seconds,
    /// To take it out.
    pub remove: Seconds,
    /// Not out before this long after it is in.
    pub least: Seconds,
    /// Not still in after this long.
    pub most: Seconds,
    /// Stays in on purpose when the person goes home: never taken out here.
    pub stays: bool,
}

/// When one needle goes in and out, in seconds from the start of the visit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Times {
    /// The hands turn to it.
    pub from: u32,
    /// It is in.
    pub placed: u32,
    /// The hands turn to it again.
    pub out_from: u32,
    /// It is out. Equal to `placed` for one that stays in.
    pub out: u32,
}

impl Times {
    /// How long it stayed: from in to being taken hold of.
    #[must_use]
    pub fn stay(&self) -> Seconds {
        Seconds(self.out_from.saturating_sub(self.placed))
    }
}

/// Something the hands do before the needle with this number goes in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Errand {
    /// Before which needle; past the last needle it is done at the end of placing.
    pub before: usize,
    /// Not begun before this second.
    pub not_before: u32,
    /// How long the hands are busy.
    pub takes: Seconds,
    /// How long to wait afterwards, hands free.
    pub then_wait: Seconds,
}

/// How a visit runs.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Run {
    /// One entry a needle, in placing order.
    pub needles: Vec<Times>,
    /// When each errand began.
    pub errands: Vec<u32>,
    /// When the hands are free for good.
    pub end: u32,
    /// True when some came out before the last went in.
    pub interleaved: bool,
    /// How many went in before the first had to come out: all, unless some came out in between.
    pub in_one_go: usize,
}

impl Run {
    /// The next needle cannot go in unless one comes out.
    fn interleave(&mut self) {
        if !self.interleaved {
            self.in_one_go = self.needles.len();
        }
        self.interleaved = true;
    }
}

struct Hands<'a> {
    needles: &'a [Needle],
    waiting: VecDeque<usize>,
    run: Run,
    now: u32,
}

impl Hands<'_> {
    /// True when, with the hands busy until `until`, every needle that is in could still be taken
    /// hold of in its time, one after the other.
    fn all_in_time(&self, until: u32) -> bool {
        let mut at = until;
        for &which in &self.waiting {
            let (Some(needle), Some(times)) =
                (self.needles.get(which), self.run.needles.get(which))
            else {
                continue;
            };
            if at > times.placed.saturating_add(needle.most.0) {
                return false;
            }
            at = at.saturating_add(needle.remove.0);
        }
        true
    }

    /// Takes out the earliest needle, as soon as it is due.
    fn take_out(&mut self) {
        let Some(which) = self.waiting.pop_front() else {
            return;
        };
        if let (Some(needle), Some(times)) =
            (self.needles.get(which), self.run.needles.get_mut(which))
        {
            times.out_from = self.now.max(times.placed.saturating_add(needle.least.0));
            times.out = times.out_from.saturating_add(needle.remove.0);
            self.now = times.out;
        }
    }

    /// How much too long a needle placed from `from` would stay, if nothing came after it and those
    /// before it came out as they fall due.
    fn excess(&self, needle: &Needle, from: u32) -> u32 {
        let placed = from.saturating_add(needle.place.0);
        let mut at = placed;
        for &which in &self.waiting {
            if let (Some(earlier), Some(times)) =
                (self.needles.get(which), self.run.needles.get(which))
            {
                at = at
                    .max(times.placed.saturating_add(earlier.least.0))
                    .saturating_add(earlier.remove.0);
            }
        }
        at.saturating_sub(placed).saturating_sub(needle.most.0)
    }

    /// Makes room for something that starts at `not_before` or later and takes `takes`, then says
    /// when it starts.
    fn start_of(&mut self, not_before: u32, takes: Seconds) -> u32 {
        loop {
            let start = self.now.max(not_before);
            if self.waiting.is_empty() || self.all_in_time(start.saturating_add(takes.0)) {
                return start;
            }
            self.run.interleave();
            self.take_out();
        }
    }

    /// When the next needle starts to go in. Where taking out is slower than placing, a needle put in
    /// at once would wait too long behind the others: it goes in that much later, which costs no time.
    fn start_of_needle(&mut self, needle: &Needle, not_before: u32) -> u32 {
        loop {
            let mut start = self.start_of(not_before, needle.place);
            let excess = self.excess(needle, start);
            if excess == 0 {
                return start;
            }
            start = start.saturating_add(excess);
            let until = start.saturating_add(needle.place.0);
            if self.excess(needle, start) == 0 && self.all_in_time(until) {
                return start;
            }
            self.run.interleave();
            self.take_out();
        }
    }
}

/// Runs a visit whose hands are free from second `start`. Errands come in the order of their needles.
#[must_use]
pub fn run(needles: &[Needle], errands: &[Errand], start: u32) -> Run {
    let mut hands = Hands {
        needles,
        waiting: VecDeque::new(),
        run: Run::default(),
        now: start,
    };
    let mut errands = errands.iter().peekable();
    let mut ready = start;
    for (which, needle) in needles.iter().enumerate() {
        while let Some(errand) = errands.next_if(|errand| errand.before <= which) {
            ready = hands.errand(errand);
        }
        let from = hands.start_of_needle(needle, ready);
        let placed = from.saturating_add(needle.place.0);
        hands.run.needles.push(Times {
            from,
            placed,
            out_from: placed,
            out: placed,
        });
        if !needle.stays {
            hands.waiting.push_back(which);
        }
        hands.now = placed;
    }
    for errand in errands {
        hands.errand(errand);
    }
    while !hands.waiting.is_empty() {
        hands.take_out();
    }
    hands.run.end = hands.now;
    if !hands.run.interleaved {
        hands.run.in_one_go = needles.len();
    }
    hands.run
}

impl Hands<'_> {
    /// Does an errand and says from when the next needle may go in.
    fn errand(&mut self, errand: &Errand) -> u32 {
        let from = self.start_of(errand.not_before, errand.takes);
        self.run.errands.push(from);
        self.now = from.saturating_add(errand.takes.0);
        self.now.saturating_add(errand.then_wait.0)
    }
}

/// How many equal needles can all be in before the first has to come out: 1 + ⌊U / max(a,b)⌋. No
/// limit when neither takes any time.
#[must_use]
pub fn most_in_one_go(place: Seconds, remove: Seconds, most: Seconds) -> Option<u32> {
    most.0
        .checked_div(place.0.max(remove.0))
        .map(|n| n.saturating_add(1))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn equal(n: usize, place: u32, remove: u32, least: u32, most: u32) -> Vec<Needle> {
        alloc::vec![Needle {
            place: Seconds(place),
            remove: Seconds(remove),
            least: Seconds(least),
            most: Seconds(most),
            stays: false,
        }; n]
    }

    #[test]
    fn an_errand_is_done_in_its_place() {
        let needles = equal(2, 10, 5, 100, 200);
        let wipe = Errand {
            before: 1,
            not_before: 60,
            takes: Seconds(20),
            then_wait: Seconds(30),
        };
        let run = run(&needles, &[wipe], 0);
        assert_eq!(run.errands, [60]);
        assert_eq!((run.needles[0].placed, run.needles[1].from), (10, 110));
        assert_eq!(run.needles[0].out_from, 120, "after the second is in");
        assert_eq!(run.end, 225);
    }

    proptest! {
        /// The closed form of the module's words, for every group that fits.
        #[test]
        fn equal_needles_take_the_least_time(
            n in 1_u32..80, a in 1_u32..60, b in 1_u32..60, least in 0_u32..2000, extra in 0_u32..2000,
        ) {
            let most = least + extra;
            prop_assume!((n - 1) * a.max(b) <= most);
            let run = run(&equal(n as usize, a, b, least, most), &[], 0);
            prop_assert_eq!(run.end, n * (a + b) + least.saturating_sub((n - 1) * a.min(b)));
            prop_assert!(!run.interleaved);
            prop_assert!(run.needles.iter().all(|t| (least..=most).contains(&t.stay().0)));
        }

        #[test]
        fn hands_do_one_thing_at_a_time(
            seconds in proptest::collection::vec((0_u32..90, 0_u32..90, 0_u32..2000, 0_u32..2000), 0..60),
            start in 0_u32..5000,
        ) {
            let needles: Vec<Needle> = seconds.into_iter().map(|(place, remove, least, extra)| Needle {
                place: Seconds(place), remove: Seconds(remove), least: Seconds(least), most: Seconds(least + extra), stays: false,
            }).collect();
            let run = run(&needles, &[], start);
            prop_assert_eq!(run.needles.len(), needles.len());
            let mut busy: Vec<(u32, u32)> = run.needles.iter()
                .flat_map(|t| [(t.from, t.placed), (t.out_from, t.out)]).collect();
            busy.sort_unstable();
            for pair in busy.windows(2) {
                prop_assert!(pair[0].1 <= pair[1].0);
            }
            for (t, n) in run.needles.iter().zip(&needles) {
                prop_assert!(t.stay() >= n.least && t.out <= run.end && t.from >= start);
            }
        }
    }
}
