//! What is known of an hour while its best order is searched for: who comes before whom, and how
//! early and how late each operation can start.
//!
//! The operations form *chains* whose own order is settled: all placing (with the set-ups between)
//! in the given order, the taking out of each group first in first out, and each cream. First in
//! first out loses nothing inside a group of equal needles: of two removals in the other order the
//! stays after a swap lie between the two before it (our scheduling reference, section 2.2; derived).
//! So "who comes before x" is one count for each chain, and the search is over counts.
//!
//! Everything is held twice, seen from the start and, mirrored in time, from the end, so that one
//! piece of reasoning serves both. Mirrored, operation x is operation n−1−x and chain c is chain
//! k−1−c.
//!
//! What can be concluded, repeated until nothing new comes:
//! 1. *time*: x starts no earlier than the network of least and most distances says (Dechter, Meiri
//!    & Pearl 1991, simple temporal network; memory);
//! 2. *windows*: of two operations of which only one order still fits the limit, that order is set
//!    (immediate selection);
//! 3. *energy*: x starts no earlier than the hands need for everything known to come before it;
//! 4. *stays*: what lies between placing a needle and taking it out must fit its longest stay.

use alloc::vec::Vec;

/// The entry, or zero: the search never asks outside its tables.
pub(super) fn at<T: Copy + Default>(list: &[T], which: usize) -> T {
    list.get(which).copied().unwrap_or_default()
}

/// No solution this way.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Dead;

/// `to` starts at least `after` seconds after `from` starts; may be negative.
#[derive(Clone, Copy, Debug)]
struct Distance {
    from: usize,
    to: usize,
    after: i64,
}

/// `to` starts at most `most` seconds after `from` ends.
#[derive(Clone, Copy, Debug)]
struct Stay {
    from: usize,
    to: usize,
    most: i64,
}

/// One view of the network: from the start, or from the end.
#[derive(Clone, Debug, Default)]
struct Side {
    /// How long each operation takes.
    takes: Vec<i64>,
    /// Sum of the operations before this one by number; one entry more than there are operations.
    sums: Vec<i64>,
    /// Chain of each operation.
    chain: Vec<usize>,
    /// First operation of each chain; one entry more than there are chains.
    first: Vec<usize>,
    /// Distances, by `to`.
    distances: Vec<Distance>,
    /// Where the distances of an operation begin; one entry more than there are operations.
    distances_of: Vec<usize>,
    stays: Vec<Stay>,
    /// Not started earlier than this.
    head: Vec<i64>,
    /// How many of each chain are known to come before: `known[x * chains + c]`.
    known: Vec<u32>,
    /// What was changed, to take it back: where, in `known` or in `head`, and what was there.
    trail: Vec<(usize, bool, i64)>,
    /// Something was learned about time, or about order, since this was last set to false.
    lifted: bool,
    learned: bool,
}

impl Side {
    fn chains(&self) -> usize {
        self.first.len().saturating_sub(1)
    }

    fn ops(&self) -> usize {
        self.takes.len()
    }

    fn len(&self, chain: usize) -> usize {
        at(&self.first, chain.saturating_add(1)).saturating_sub(at(&self.first, chain))
    }

    fn op(&self, chain: usize, position: usize) -> usize {
        at(&self.first, chain).saturating_add(position)
    }

    fn position(&self, op: usize) -> usize {
        op.saturating_sub(at(&self.first, at(&self.chain, op)))
    }

    fn cell(&self, op: usize, chain: usize) -> usize {
        op.saturating_mul(self.chains()).saturating_add(chain)
    }

    fn before(&self, op: usize, chain: usize) -> usize {
        at(&self.known, self.cell(op, chain)) as usize
    }

    fn end(&self, op: usize) -> i64 {
        at(&self.head, op).saturating_add(at(&self.takes, op))
    }

    fn mirror(&self, op: usize) -> usize {
        self.ops().saturating_sub(1).saturating_sub(op)
    }

    fn mirror_chain(&self, chain: usize) -> usize {
        self.chains().saturating_sub(1).saturating_sub(chain)
    }

    /// Seconds of the operations of a chain from one position up to another.
    fn sum(&self, chain: usize, from: usize, to: usize) -> i64 {
        if to <= from {
            return 0;
        }
        at(&self.sums, self.op(chain, to)).saturating_sub(at(&self.sums, self.op(chain, from)))
    }

    fn lift(&mut self, op: usize, to: i64) {
        if let Some(head) = self.head.get_mut(op)
            && *head < to
        {
            self.trail.push((op, false, *head));
            *head = to;
            self.lifted = true;
        }
    }

    /// The first `count` of `chain` come before `op`.
    fn learn(&mut self, op: usize, chain: usize, count: usize) {
        let cell = self.cell(op, chain);
        let count = u32::try_from(count).unwrap_or(u32::MAX);
        if let Some(known) = self.known.get_mut(cell)
            && *known < count
        {
            self.trail.push((cell, true, i64::from(*known)));
            *known = count;
            self.learned = true;
        }
    }

    fn take_back(&mut self, to: usize) {
        while self.trail.len() > to {
            let Some((place, order, was)) = self.trail.pop() else {
                return;
            };
            if order {
                if let Some(known) = self.known.get_mut(place) {
                    *known = u32::try_from(was).unwrap_or_default();
                }
            } else if let Some(head) = self.head.get_mut(place) {
                *head = was;
            }
        }
    }

    /// What comes before the one before comes before.
    fn close(&mut self) -> Result<(), Dead> {
        for op in 0..self.ops() {
            let own = at(&self.chain, op);
            for chain in 0..self.chains() {
                let count = self.before(op, chain);
                let Some(last) = count.checked_sub(1) else {
                    continue;
                };
                if chain == own && last >= self.position(op) {
                    return Err(Dead);
                }
                let last = self.op(chain, last);
                for other in 0..self.chains() {
                    let theirs = self.before(last, other);
                    self.learn(op, other, theirs);
                }
            }
        }
        Ok(())
    }

    /// Writes what is known here into the other view.
    fn tell(&self, other: &mut Self) -> Result<(), Dead> {
        for op in 0..self.ops() {
            let chain = at(&self.chain, op);
            let behind = self.len(chain).saturating_sub(self.position(op));
            for theirs in 0..self.chains() {
                let count = self.before(op, theirs);
                if let Some(last) = count.checked_sub(1) {
                    let last = self.mirror(self.op(theirs, last));
                    other.learn(last, self.mirror_chain(chain), behind);
                }
                let after = other.before(self.mirror(op), self.mirror_chain(theirs));
                if count.saturating_add(after) > self.len(theirs) {
                    return Err(Dead);
                }
            }
        }
        Ok(())
    }

    /// Of each pair of which only one order fits the limit, sets that order.
    fn windows(&mut self, other: &Self, limit: i64) {
        for op in 0..self.ops() {
            let end = self.end(op);
            let own = at(&self.chain, op);
            for chain in (0..self.chains()).filter(|chain| *chain != own) {
                let before = self.before(op, chain);
                let mut count = before;
                while count < self.len(chain) {
                    let next = self.op(chain, count);
                    let whole = end
                        .saturating_add(at(&self.takes, next))
                        .saturating_add(at(&other.head, self.mirror(next)));
                    if whole <= limit {
                        break;
                    }
                    count = count.saturating_add(1);
                }
                self.learn(op, chain, count);
            }
        }
    }

    /// Seconds of hands between the two ends of a stay, if everything that comes before `also` comes
    /// before its end as well.
    fn between(&self, other: &Self, stay: &Stay, also: Option<usize>) -> i64 {
        let mut sum = 0_i64;
        for chain in 0..self.chains() {
            let after = other.before(self.mirror(stay.from), self.mirror_chain(chain));
            let from = self.len(chain).saturating_sub(after);
            let mut to = self.before(stay.to, chain);
            if let Some(also) = also {
                let theirs = if at(&self.chain, also) == chain {
                    self.position(also).saturating_add(1)
                } else {
                    self.before(also, chain)
                };
                to = to.max(theirs);
            }
            sum = sum.saturating_add(self.sum(chain, from, to));
        }
        sum
    }

    /// Nothing may come before the end of a stay that makes it too long.
    fn stays(&mut self, other: &Self) -> Result<(), Dead> {
        for which in 0..self.stays.len() {
            let Some(stay) = self.stays.get(which).copied() else {
                continue;
            };
            if self.between(other, &stay, None) > stay.most {
                return Err(Dead);
            }
            let own = at(&self.chain, stay.to);
            let until = self.position(stay.to).saturating_add(1);
            for chain in (0..self.chains()).filter(|chain| *chain != own) {
                let after = other.before(self.mirror(stay.to), self.mirror_chain(chain));
                let end = self.len(chain).saturating_sub(after);
                // The more of a chain comes before, the more lies between: halve to the first that is
                // too much. Those behind it in its chain follow by themselves.
                let too_much = |position: usize| {
                    let last = self.op(chain, position);
                    self.between(other, &stay, Some(last)) > stay.most
                };
                let (mut low, mut high) = (self.before(stay.to, chain), end);
                if low >= high || !too_much(high.saturating_sub(1)) {
                    continue;
                }
                while low < high {
                    let middle = low.midpoint(high);
                    if too_much(middle) {
                        high = middle;
                    } else {
                        low = middle.saturating_add(1);
                    }
                }
                let first = self.op(chain, low);
                self.learn(first, own, until);
            }
        }
        Ok(())
    }

    /// One pass of the network of distances; true if something moved.
    fn pass(&mut self, order: &[usize]) -> bool {
        self.lifted = false;
        for &op in order {
            let mut head = at(&self.head, op);
            for chain in 0..self.chains() {
                if let Some(last) = self.before(op, chain).checked_sub(1) {
                    head = head.max(self.end(self.op(chain, last)));
                }
            }
            let from = at(&self.distances_of, op);
            let to = at(&self.distances_of, op.saturating_add(1));
            for distance in self.distances.get(from..to).unwrap_or_default() {
                head = head.max(at(&self.head, distance.from).saturating_add(distance.after));
            }
            self.lift(op, head);
        }
        self.lifted
    }

    fn by_head(&self) -> Vec<usize> {
        let mut order: Vec<usize> = (0..self.ops()).collect();
        order.sort_unstable_by_key(|op| (at(&self.head, *op), self.end(*op), *op));
        order
    }

    /// The hands must have done all that comes before.
    fn energy(&mut self, order: &[usize], start: i64) {
        for op in 0..self.ops() {
            let mut free = start;
            if order.is_empty() {
                for chain in 0..self.chains() {
                    free = free.saturating_add(self.sum(chain, 0, self.before(op, chain)));
                }
            }
            for &earlier in order {
                let chain = at(&self.chain, earlier);
                if self.position(earlier) < self.before(op, chain) {
                    free = free
                        .max(at(&self.head, earlier))
                        .saturating_add(at(&self.takes, earlier));
                }
            }
            self.lift(op, free);
        }
    }
}

/// A network of operations on one pair of hands.
#[derive(Clone, Debug, Default)]
pub(super) struct Network {
    from_start: Side,
    from_end: Side,
    start: i64,
    limit: i64,
    /// Work done so far, in looks at one operation against one chain.
    pub(super) steps: u64,
    /// Conclusions are broken off when so much work is done. What was concluded by then holds.
    pub(super) stop: u64,
}

/// Where to go back to.
#[derive(Clone, Copy, Debug)]
pub(super) struct Mark(usize, usize);

/// Above this many operations the exact form of *energy*, quadratic in their number, is left out.
const EXACT_ENERGY: usize = 1000;
/// So many rounds of conclusions at most before the search goes on: more is only slower.
const ROUNDS: usize = 12;

impl Network {
    /// Chains of operations by how long each takes, none of them starting before `start`.
    pub(super) fn new(chains: &[Vec<i64>], start: i64) -> Self {
        let mut network = Self {
            start,
            ..Self::default()
        };
        let lists: Vec<&[i64]> = chains.iter().map(Vec::as_slice).collect();
        network.from_start.build(&lists, false);
        network.from_end.build(&lists, true);
        network
    }

    /// Number of an operation.
    pub(super) fn op(&self, chain: usize, position: usize) -> usize {
        self.from_start.op(chain, position)
    }

    /// `to` starts from `least` to `most` seconds after `from` ends.
    pub(super) fn window(&mut self, from: usize, to: usize, least: i64, most: i64) {
        let takes = at(&self.from_start.takes, from);
        self.distance(from, to, takes.saturating_add(least));
        self.at_most(from, to, most);
    }

    fn at_most(&mut self, from: usize, to: usize, most: i64) {
        let takes = at(&self.from_start.takes, from);
        self.distance(to, from, 0_i64.saturating_sub(takes).saturating_sub(most));
        self.from_start.stays.push(Stay { from, to, most });
        self.from_end.stays.push(Stay {
            from: self.from_end.mirror(to),
            to: self.from_end.mirror(from),
            most,
        });
    }

    fn distance(&mut self, from: usize, to: usize, after: i64) {
        self.from_start.distances.push(Distance { from, to, after });
        let side = &self.from_end;
        let (other, own) = (side.mirror(to), side.mirror(from));
        let after = after
            .saturating_add(at(&side.takes, other))
            .saturating_sub(at(&side.takes, own));
        self.from_end.distances.push(Distance {
            from: other,
            to: own,
            after,
        });
    }

    /// `to` ends at most `most` seconds after `from` ends.
    pub(super) fn ends_within(&mut self, from: usize, to: usize, most: i64) {
        let most = most.saturating_sub(at(&self.from_start.takes, to));
        self.at_most(from, to, most);
    }

    /// `from` comes before `to`.
    pub(super) fn order(&mut self, from: usize, to: usize) {
        let side = &mut self.from_start;
        let (chain, count) = (at(&side.chain, from), side.position(from).saturating_add(1));
        side.learn(to, chain, count);
    }

    /// To be called once, after all windows are in.
    pub(super) fn ready(&mut self) {
        self.from_start.head.fill(self.start);
        for side in [&mut self.from_start, &mut self.from_end] {
            side.distances.sort_unstable_by_key(|distance| distance.to);
            let mut next = 0;
            side.distances_of.clear();
            for op in 0..=side.takes.len() {
                while side
                    .distances
                    .get(next)
                    .is_some_and(|distance| distance.to < op)
                {
                    next = next.saturating_add(1);
                }
                side.distances_of.push(next);
            }
        }
    }

    /// Everything must be over by then, the end of the hour not counted.
    pub(super) fn set_limit(&mut self, limit: i64) {
        self.limit = limit;
    }

    pub(super) fn mark(&self) -> Mark {
        Mark(self.from_start.trail.len(), self.from_end.trail.len())
    }

    pub(super) fn take_back(&mut self, mark: Mark) {
        self.from_start.take_back(mark.0);
        self.from_end.take_back(mark.1);
    }

    /// Earliest start of an operation.
    pub(super) fn earliest(&self, op: usize) -> i64 {
        at(&self.from_start.head, op)
    }

    /// Latest start of an operation that keeps the limit.
    pub(super) fn latest(&self, op: usize) -> i64 {
        let side = &self.from_end;
        self.limit.saturating_sub(side.end(side.mirror(op)))
    }

    /// Chain of an operation.
    pub(super) fn chain(&self, op: usize) -> usize {
        at(&self.from_start.chain, op)
    }

    /// True while either of the two may come first.
    pub(super) fn is_open(&self, one: usize, two: usize) -> bool {
        let side = &self.from_start;
        let comes_first = |one, two| side.position(one) < side.before(two, at(&side.chain, one));
        !comes_first(one, two) && !comes_first(two, one)
    }

    /// When the last operation is over with these starts.
    pub(super) fn ends(&self, starts: &[i64]) -> i64 {
        let takes = &self.from_start.takes;
        let end = |(start, takes): (&i64, &i64)| start.saturating_add(*takes);
        starts.iter().zip(takes).map(end).fold(self.start, i64::max)
    }

    fn step(&mut self, times: usize) {
        let size = self
            .from_start
            .ops()
            .saturating_mul(self.from_start.chains());
        let work = size.saturating_mul(times) as u64;
        self.steps = self.steps.saturating_add(work).saturating_add(1);
    }

    /// True when the work allowed for is done.
    pub(super) fn is_spent(&self) -> bool {
        self.steps >= self.stop
    }

    fn orders(&mut self) -> Result<(), Dead> {
        loop {
            self.step(self.from_start.chains().saturating_add(4));
            if self.is_spent() {
                return Ok(());
            }
            self.from_start.learned = false;
            self.from_end.learned = false;
            self.from_start.windows(&self.from_end, self.limit);
            self.from_start.close()?;
            self.from_start.tell(&mut self.from_end)?;
            self.from_end.close()?;
            self.from_end.tell(&mut self.from_start)?;
            self.from_start.stays(&self.from_end)?;
            self.from_end.stays(&self.from_start)?;
            if !self.from_start.learned && !self.from_end.learned {
                return Ok(());
            }
        }
    }

    fn times(&mut self) -> Result<(), Dead> {
        let ops = self.from_start.ops();
        let orders = [self.from_start.by_head(), self.from_end.by_head()];
        let size = ops.saturating_mul(self.from_start.chains()) as u64;
        for (side, order) in [&mut self.from_start, &mut self.from_end]
            .into_iter()
            .zip(&orders)
        {
            // With the order fixed for now, more passes than operations mean a circle of distances
            // that no times can keep (Bellman and Ford; memory).
            let mut passes = 0_usize;
            while side.pass(order) {
                self.steps = self.steps.saturating_add(size);
                if self.steps >= self.stop {
                    return Ok(());
                }
                passes = passes.saturating_add(1);
                if passes > ops.saturating_add(1) {
                    return Err(Dead);
                }
            }
        }
        self.step(2);
        for op in 0..ops {
            let side = &self.from_end;
            let rest = at(&side.head, side.mirror(op));
            if self.from_start.end(op).saturating_add(rest) > self.limit {
                return Err(Dead);
            }
        }
        Ok(())
    }

    /// Concludes what can be concluded within the limit, and within the work allowed for: broken off,
    /// what is known may be less than a schedule.
    pub(super) fn conclude(&mut self) -> Result<(), Dead> {
        let ops = self.from_start.ops();
        for _ in 0..ROUNDS {
            if self.is_spent() {
                return Ok(());
            }
            self.orders()?;
            self.times()?;
            self.from_start.lifted = false;
            self.from_end.lifted = false;
            for (side, start) in [(&mut self.from_start, self.start), (&mut self.from_end, 0)] {
                let order = if ops > EXACT_ENERGY {
                    Vec::new()
                } else {
                    side.by_head()
                };
                side.energy(&order, start);
            }
            self.step(if ops > EXACT_ENERGY { 2 } else { ops / 4 });
            if !self.from_start.lifted && !self.from_end.lifted {
                // Times may have settled orders since they were last looked at.
                let seen = (self.from_start.trail.len(), self.from_end.trail.len());
                self.orders()?;
                if seen == (self.from_start.trail.len(), self.from_end.trail.len()) {
                    return Ok(());
                }
            }
            self.times()?;
        }
        Ok(())
    }

    /// True if these starts, one an operation, are a schedule, the limit aside.
    pub(super) fn accepts(&self, starts: &[i64]) -> bool {
        let side = &self.from_start;
        let end = |op| at(starts, op).saturating_add(at(&side.takes, op));
        let mut order: Vec<usize> = (0..side.ops()).collect();
        order.sort_unstable_by_key(|op| (at(starts, *op), end(*op), *op));
        let mut free = self.start;
        for &op in &order {
            if at(starts, op) < free {
                return false;
            }
            free = end(op);
        }
        let in_order = |op| {
            (0..side.chains()).all(|chain| {
                let last = side.before(op, chain).checked_sub(1);
                last.is_none_or(|last| end(side.op(chain, last)) <= at(starts, op))
            })
        };
        let far_enough = |distance: &Distance| {
            at(starts, distance.from).saturating_add(distance.after) <= at(starts, distance.to)
        };
        starts.len() == side.ops()
            && (0..side.ops()).all(in_order)
            && side.distances.iter().all(far_enough)
    }

    /// The first two operations that would overlap if all started as early as is known.
    pub(super) fn conflict(&self) -> Option<(usize, usize)> {
        let side = &self.from_start;
        let order = side.by_head();
        order.windows(2).find_map(|pair| {
            let (first, second) = (pair.first().copied()?, pair.get(1).copied()?);
            (at(&side.head, second) < side.end(first)).then_some((first, second))
        })
    }
}

impl Side {
    fn build(&mut self, chains: &[&[i64]], mirrored: bool) {
        let mut sum = 0_i64;
        self.sums.push(0);
        self.first.push(0);
        let count = chains.len();
        for number in 0..count {
            let which = if mirrored {
                count.saturating_sub(1).saturating_sub(number)
            } else {
                number
            };
            let chain = chains.get(which).copied().unwrap_or_default();
            for position in 0..chain.len() {
                let from = if mirrored {
                    chain.len().saturating_sub(1).saturating_sub(position)
                } else {
                    position
                };
                let takes = at(chain, from);
                self.takes.push(takes);
                self.chain.push(number);
                sum = sum.saturating_add(takes);
                self.sums.push(sum);
            }
            self.first.push(self.takes.len());
        }
        self.head = alloc::vec![0; self.takes.len()];
        self.known = alloc::vec![0; self.takes.len().saturating_mul(count)];
        for op in 0..self.takes.len() {
            let (chain, position) = (at(&self.chain, op), self.position(op));
            self.learn(op, chain, position);
        }
        self.trail.clear();
    }
}
