//! The shortest hour: branch and bound over who comes first, with a proof or an honest gap.
//!
//! Once the order of the hands is settled, all that is left are distances between operations, and of
//! such a system the earliest start of every operation is a solution by itself (our scheduling
//! reference, section 4; derived). So the search is over orders only: start everything as early as is
//! known, take the first two operations that overlap, and try both orders. With no overlap the times
//! are the best of that branch.
//!
//! The least limit that reasoning alone cannot refute is a bound for every schedule; the search tries
//! that limit first, because it is nearly always reached, and widens it when it has been refuted.
//! Work is counted in steps, not in time, so the answer is the same on every device.

use super::instance::{Group, GroupOrder, Instance, Removal};
use super::network::{Dead, Mark, Network};
use super::{Errand, Needle, closed};
use crate::base::units::Seconds;
use alloc::format;
use alloc::string::{String, ToString};
use alloc::vec::Vec;

/// A budget that suffices for the open instances with room to spare; a second or two of a desk
/// machine when it is used up.
pub const STEPS: u64 = 400_000_000;

/// How much is proven.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Proof {
    /// No schedule is shorter.
    Optimal,
    /// A schedule; a shorter one may exist, not below the bound.
    Feasible,
    /// No schedule exists.
    Infeasible,
    /// The steps were used up: no schedule found, and none excluded.
    Unknown,
}

impl Proof {
    /// Its name in a file of answers.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Optimal => "OPTIMAL",
            Self::Feasible => "FEASIBLE",
            Self::Infeasible => "INFEASIBLE",
            Self::Unknown => "UNKNOWN",
        }
    }
}

/// What came out. Times in seconds from the start of the visit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Answer {
    /// How much is proven.
    pub proof: Proof,
    /// Chair time of the schedule, if there is one.
    pub value: Option<i64>,
    /// No schedule is shorter than this; none where no schedule exists.
    pub bound: Option<i64>,
    /// Start of every operation by its name: `open`, `close`, `set.g`, `ins.g.i`, `rem.g.i`,
    /// `app.id`, `wip.id`, with g and i from 0. Empty without a schedule.
    pub starts: Vec<(String, i64)>,
    /// Steps used.
    pub steps: u64,
}

/// The network of an instance, and what its operations are called.
struct Model {
    network: Network,
    names: Vec<String>,
    /// Group, placing and taking out of each needle, in placing order.
    needles: Vec<(usize, usize, usize)>,
    /// Each set-up, and the number of the needle it comes before.
    setups: Vec<(usize, usize, u32)>,
    /// Putting on and wiping of each cream, and the number of the first needle in its areas.
    creams: Vec<(usize, usize, Option<usize>)>,
}

impl Model {
    /// Groups go in as `order` lists them.
    fn new(instance: &Instance, order: &[usize]) -> Self {
        let mut chains: Vec<Vec<i64>> = alloc::vec![Vec::new()];
        let mut names = alloc::vec![Vec::new()];
        // First of the placing chain that is a needle of the group, where it has one.
        let mut first_of: Vec<Option<usize>> = alloc::vec![None; instance.groups.len()];
        let mut removals: Vec<(usize, usize)> = Vec::new();
        let (mut setups, mut needles_before) = (Vec::new(), 0_usize);
        for &which in order {
            let Some(group) = instance.groups.get(which) else {
                continue;
            };
            let needles = group.needles as usize;
            if let (Some(placing), Some(called)) = (chains.first_mut(), names.first_mut()) {
                if group.setup > 0 {
                    setups.push((placing.len(), needles_before, group.setup));
                    placing.push(i64::from(group.setup));
                    called.push(format!("set.{which}"));
                }
                if let Some(first) = first_of.get_mut(which).filter(|_| needles > 0) {
                    *first = Some(placing.len());
                }
                for i in 0..needles {
                    placing.push(i64::from(group.insert));
                    called.push(format!("ins.{which}.{i}"));
                }
            }
            needles_before = needles_before.saturating_add(needles);
            if needles > 0 {
                removals.push((which, chains.len()));
                chains.push(alloc::vec![i64::from(group.remove); needles]);
                names.push((0..needles).map(|i| format!("rem.{which}.{i}")).collect());
            }
        }
        let first_cream = chains.len();
        for topical in &instance.topicals {
            chains.push(alloc::vec![
                i64::from(topical.apply),
                i64::from(topical.wipe)
            ]);
            names.push(alloc::vec![
                format!("app.{}", topical.id),
                format!("wip.{}", topical.id)
            ]);
        }
        let placed = chains.first().map_or(0, Vec::len);
        let mut network = Network::new(&chains, i64::from(instance.open));
        let mut in_placing_order = Vec::new();
        for (which, chain) in removals {
            let (Some(group), Some(Some(first))) =
                (instance.groups.get(which), first_of.get(which))
            else {
                continue;
            };
            for i in 0..group.needles as usize {
                let placing = network.op(0, first.saturating_add(i));
                let taking = network.op(chain, i);
                network.window(
                    placing,
                    taking,
                    i64::from(group.stay.least),
                    i64::from(group.stay.most),
                );
                network.order(placing, taking);
                in_placing_order.push((which, placing, taking));
            }
            if instance.removal == Removal::AfterLastInsertion {
                network.order(
                    network.op(0, placed.saturating_sub(1)),
                    network.op(chain, 0),
                );
            }
        }
        let mut creams = Vec::new();
        for (number, topical) in instance.topicals.iter().enumerate() {
            let chain = first_cream.saturating_add(number);
            let (apply, wipe) = (network.op(chain, 0), network.op(chain, 1));
            network.window(
                apply,
                wipe,
                i64::from(topical.dwell.least),
                i64::from(topical.dwell.most),
            );
            let mut covered = order.iter().filter_map(|&which| {
                let group = instance.groups.get(which)?;
                let first = first_of.get(which).copied().flatten()?;
                topical
                    .areas
                    .contains(&group.area)
                    .then(|| (first, first.saturating_add(group.needles as usize)))
            });
            let Some((first, end)) = covered.next() else {
                creams.push((apply, wipe, None));
                continue;
            };
            let end = covered.next_back().map_or(end, |(_, end)| end);
            let first = network.op(0, first);
            let number = in_placing_order.iter().position(|(_, op, _)| *op == first);
            creams.push((apply, wipe, number));
            network.order(wipe, first);
            network.window(
                wipe,
                first,
                i64::from(topical.first.least),
                i64::from(topical.first.most),
            );
            if let Some(most) = topical.last {
                let last = network.op(0, end.saturating_sub(1));
                // The last must be in by then, so it starts that much earlier.
                network.ends_within(wipe, last, i64::from(most));
            }
        }
        network.ready();
        Self {
            network,
            names: names.concat(),
            needles: in_placing_order,
            setups,
            creams,
        }
    }

    /// A schedule at little cost: creams first, then everything in the order listed, hands never
    /// idle without need and needles out first in first out. With `late`, placing waits so that what
    /// comes before the first wiping ends when it is due. None where that keeps not every window.
    fn simple(&self, instance: &Instance, late: bool) -> Option<Vec<i64>> {
        let mut starts: Vec<i64> = alloc::vec![0; self.names.len()];
        let mut put = |op: usize, start: u32| {
            if let Some(known) = starts.get_mut(op) {
                *known = i64::from(start);
            }
        };
        let mut errands = Vec::new();
        for &(op, before, takes) in &self.setups {
            errands.push((
                op,
                Errand {
                    before,
                    not_before: 0,
                    takes: Seconds(takes),
                    then_wait: Seconds(0),
                },
            ));
        }
        let mut now = instance.open;
        for (topical, (apply, wipe, first)) in instance.topicals.iter().zip(&self.creams) {
            put(*apply, now);
            now = now.saturating_add(topical.apply);
            errands.push((
                *wipe,
                Errand {
                    before: first.unwrap_or(usize::MAX),
                    not_before: now.saturating_add(topical.dwell.least),
                    takes: Seconds(topical.wipe),
                    then_wait: Seconds(topical.first.least),
                },
            ));
        }
        errands.sort_by_key(|(_, errand)| errand.before);
        let needles: Vec<Needle> = self
            .needles
            .iter()
            .filter_map(|(which, ..)| instance.groups.get(*which))
            .map(Group::needle)
            .collect();
        if late && let Some((_, wiping)) = errands.iter().find(|(_, e)| e.not_before > 0) {
            let ahead = needles.iter().take(wiping.before);
            let placing = ahead.fold(0_u32, |sum, needle| sum.saturating_add(needle.place.0));
            let setups = self
                .setups
                .iter()
                .filter(|(_, before, _)| *before <= wiping.before);
            let setups = setups.fold(0_u32, |sum, (_, _, takes)| sum.saturating_add(*takes));
            let ahead = placing.saturating_add(setups);
            now = now.max(wiping.not_before.saturating_sub(ahead));
        }
        let (ops, errands): (Vec<usize>, Vec<Errand>) = errands.into_iter().unzip();
        let run = super::run(&needles, &errands, now);
        for (op, start) in ops.into_iter().zip(run.errands) {
            put(op, start);
        }
        for ((_, placing, taking), times) in self.needles.iter().zip(run.needles) {
            put(*placing, times.from);
            put(*taking, times.out_from);
        }
        self.network.accepts(&starts).then_some(starts)
    }

    fn starts(&self) -> Vec<i64> {
        (0..self.names.len())
            .map(|op| self.network.earliest(op))
            .collect()
    }
}

impl Group {
    fn needle(&self) -> Needle {
        Needle {
            place: Seconds(self.insert),
            remove: Seconds(self.remove),
            least: Seconds(self.stay.least),
            most: Seconds(self.stay.most),
            stays: false,
        }
    }
}

/// Which of two operations in conflict is tried first.
#[derive(Clone, Copy, Debug)]
enum Rule {
    /// The one that must start earlier.
    Due,
    /// The one that can start earlier.
    Ready,
    /// Placing.
    In,
    /// Taking out, and creams.
    Out,
}

/// So many failed pairs are remembered.
const REMEMBERED: usize = 256;

enum Outcome {
    Found,
    Refuted,
    GaveUp,
}

fn prefers(network: &Network, rule: Rule, one: usize, two: usize) -> bool {
    match rule {
        Rule::Ready => network.earliest(one) <= network.earliest(two),
        Rule::In if network.chain(one) == 0 || network.chain(two) == 0 => network.chain(one) == 0,
        Rule::Out if network.chain(one) == 0 || network.chain(two) == 0 => network.chain(two) == 0,
        Rule::Due | Rule::In | Rule::Out => network.latest(one) <= network.latest(two),
    }
}

/// Looks for a schedule within the limit of the network; leaves the network there if it finds one.
fn look(
    network: &mut Network,
    recent: &mut Vec<(usize, usize)>,
    rule: Rule,
    steps: u64,
) -> Outcome {
    let all = network.stop;
    network.stop = network.steps.saturating_add(steps).min(all);
    let outcome = dive(network, recent, rule);
    network.stop = all;
    outcome
}

fn dive(network: &mut Network, recent: &mut Vec<(usize, usize)>, rule: Rule) -> Outcome {
    let mut open: Vec<(Mark, usize, usize)> = Vec::new();
    let mut sound = network.conclude();
    loop {
        // Broken off: refuted where it was refuted, but the times are not a schedule.
        if network.is_spent() {
            return Outcome::GaveUp;
        }
        match sound {
            Ok(()) => {
                let Some(conflict) = network.conflict() else {
                    return Outcome::Found;
                };
                let (one, two) = recent
                    .iter()
                    .rev()
                    .copied()
                    .find(|(one, two)| network.is_open(*one, *two))
                    .unwrap_or(conflict);
                let (first, then) = if prefers(network, rule, one, two) {
                    (one, two)
                } else {
                    (two, one)
                };
                open.push((network.mark(), then, first));
                network.order(first, then);
            }
            Err(Dead) => {
                let Some((mark, first, then)) = open.pop() else {
                    return Outcome::Refuted;
                };
                network.take_back(mark);
                network.order(first, then);
                let pair = (first.min(then), first.max(then));
                recent.retain(|failed| *failed != pair);
                recent.push(pair);
                if recent.len() > REMEMBERED {
                    recent.remove(0);
                }
            }
        }
        sound = network.conclude();
    }
}

/// What is known while limits are tried. Limits are on the end of the last operation before closing.
struct Hunt {
    model: Model,
    root: Mark,
    /// No schedule ends before this.
    low: i64,
    best: Option<(i64, Vec<i64>)>,
    /// Pairs whose first order failed, the last one last.
    recent: Vec<(usize, usize)>,
    steps: u64,
}

impl Hunt {
    fn left(&self) -> u64 {
        self.steps.saturating_sub(self.model.network.steps)
    }

    /// Where the best schedule so far ends.
    fn high(&self) -> i64 {
        self.best.as_ref().map_or(i64::MAX, |(end, _)| *end)
    }

    fn refuted_at_once(&mut self, limit: i64) -> bool {
        let network = &mut self.model.network;
        network.set_limit(limit);
        let dead = network.conclude() == Err(Dead);
        network.take_back(self.root);
        dead
    }

    fn try_limit(&mut self, limit: i64, rule: Rule, steps: u64) -> Outcome {
        let network = &mut self.model.network;
        network.set_limit(limit);
        let outcome = look(network, &mut self.recent, rule, steps);
        match outcome {
            Outcome::Found => {
                let starts = self.model.starts();
                let end = self.model.network.ends(&starts);
                if end < self.high() {
                    self.best = Some((end, starts));
                }
            }
            Outcome::Refuted => self.low = self.low.max(limit.saturating_add(1)),
            Outcome::GaveUp => {}
        }
        self.model.network.take_back(self.root);
        outcome
    }

    /// Raises the bound as far as reasoning without search does.
    fn bound(&mut self, horizon: i64) {
        let (mut low, mut high) = (self.low, horizon);
        while low < high && self.left() > 0 {
            let middle = low.midpoint(high);
            if self.refuted_at_once(middle) {
                low = middle.saturating_add(1);
                self.low = self.low.max(low);
            } else {
                high = middle;
            }
        }
    }

    /// Narrows from both ends until they meet or the steps are used up.
    fn narrow(&mut self, horizon: i64) {
        const RULES: [Rule; 4] = [Rule::Due, Rule::Out, Rule::In, Rule::Ready];
        let mut part = self.steps / 256;
        loop {
            // Up from the bound, in growing strides while limits are refuted.
            let mut stride = 0;
            while self.low < self.high() && self.left() > 0 {
                let limit = self
                    .low
                    .saturating_add(stride)
                    .min(self.high().saturating_sub(1));
                let mut outcome = Outcome::GaveUp;
                for rule in RULES {
                    outcome = self.try_limit(limit, rule, part);
                    if !matches!(outcome, Outcome::GaveUp) || self.left() == 0 {
                        break;
                    }
                }
                match outcome {
                    Outcome::Refuted => stride = stride.max(1).saturating_mul(2),
                    Outcome::Found => stride /= 4,
                    Outcome::GaveUp => break,
                }
            }
            // Any schedule at all, and shorter ones from there.
            while self.low < self.high() && self.left() > 0 {
                let limit = match &self.best {
                    None => horizon,
                    Some((end, _)) => self.low.midpoint(*end),
                };
                let mut found = false;
                for rule in RULES {
                    match self.try_limit(limit, rule, part) {
                        Outcome::GaveUp => continue,
                        Outcome::Found | Outcome::Refuted => found = true,
                    }
                    break;
                }
                if !found || self.low > horizon {
                    break;
                }
            }
            if self.low >= self.high().min(horizon.saturating_add(1)) || self.left() == 0 {
                return;
            }
            part = part.saturating_mul(2).max(1);
        }
    }
}

/// An end that every instance with a schedule can keep: each operation as long as it takes or its
/// least distance, one after the other. Least starts are longest paths, and a path has each
/// operation once.
fn horizon(instance: &Instance) -> i64 {
    let mut sum = i64::from(instance.open);
    let mut add = |seconds: u32, times: u32| {
        sum = sum.saturating_add(i64::from(seconds).saturating_mul(i64::from(times)));
    };
    for group in &instance.groups {
        add(group.setup, 1);
        add(group.insert, group.needles);
        add(group.stay.least, group.needles);
        add(group.remove, group.needles);
    }
    for topical in &instance.topicals {
        add(topical.apply, 1);
        add(topical.dwell.least, 1);
        add(topical.wipe, 1);
        add(topical.first.least, 1);
    }
    sum
}

/// One group without cream has a closed form: the schedule that reaches it, or nothing where it says
/// nothing.
fn by_closed_form(instance: &Instance) -> Option<Answer> {
    let mut with_needles = instance
        .groups
        .iter()
        .enumerate()
        .filter(|(_, g)| g.needles > 0);
    let (which, group) = with_needles.next()?;
    if with_needles.next().is_some() || !instance.topicals.is_empty() {
        return None;
    }
    let equal = closed::Equal {
        needles: group.needles,
        place: Seconds(group.insert),
        remove: Seconds(group.remove),
        least: Seconds(group.stay.least),
        most: Seconds(group.stay.most),
    };
    let Some(shortest) = equal.first_in_first_out() else {
        return (instance.removal == Removal::AfterLastInsertion).then(|| Answer {
            proof: Proof::Infeasible,
            value: None,
            bound: None,
            starts: Vec::new(),
            steps: 0,
        });
    };
    // Set-ups are done first: those of groups without needles as well, in their order, where they
    // come before; those after it when the last needle is in.
    let needle = group.needle();
    if instance
        .groups
        .iter()
        .skip(which.saturating_add(1))
        .any(|g| g.setup > 0)
    {
        return None;
    }
    let mut now = i64::from(instance.open);
    let mut starts = alloc::vec![("open".to_string(), 0)];
    for (g, group) in instance.groups.iter().enumerate() {
        if group.setup > 0 {
            starts.push((format!("set.{g}"), now));
            now = now.saturating_add(i64::from(group.setup));
        }
    }
    let run = super::run(&alloc::vec![needle; group.needles as usize], &[], 0);
    if run.end != shortest.0 || run.interleaved {
        return None;
    }
    for (i, times) in run.needles.iter().enumerate() {
        starts.push((
            format!("ins.{which}.{i}"),
            now.saturating_add(i64::from(times.from)),
        ));
        starts.push((
            format!("rem.{which}.{i}"),
            now.saturating_add(i64::from(times.out_from)),
        ));
    }
    let over = now.saturating_add(i64::from(shortest.0));
    starts.push(("close".to_string(), over));
    let value = over.saturating_add(i64::from(instance.close));
    Some(Answer {
        proof: Proof::Optimal,
        value: Some(value),
        bound: Some(value),
        starts,
        steps: 0,
    })
}

fn in_order(instance: &Instance, order: &[usize], steps: u64) -> Answer {
    let mut model = Model::new(instance, order);
    model.network.stop = steps;
    let horizon = horizon(instance);
    let root = model.network.mark();
    let mut hunt = Hunt {
        model,
        root,
        low: i64::from(instance.open),
        best: None,
        recent: Vec::new(),
        steps,
    };
    // The hands of a plan count to 136 years; nothing longer is tried.
    let countable = horizon <= i64::from(u32::MAX);
    for late in [false, true].into_iter().filter(|_| countable) {
        if let Some(starts) = hunt.model.simple(instance, late) {
            let end = hunt.model.network.ends(&starts);
            if end < hunt.high() {
                hunt.best = Some((end, starts));
            }
        }
    }
    let horizon = horizon.min(hunt.high());
    if hunt.refuted_at_once(horizon) {
        hunt.low = horizon.saturating_add(1);
    } else {
        hunt.bound(horizon);
        hunt.narrow(horizon);
    }
    let close = i64::from(instance.close);
    let bound = Some(hunt.low.saturating_add(close));
    let used = hunt.model.network.steps;
    let Some((end, starts)) = hunt.best else {
        let none = hunt.low > horizon;
        return Answer {
            proof: if none {
                Proof::Infeasible
            } else {
                Proof::Unknown
            },
            value: None,
            bound: bound.filter(|_| !none),
            starts: Vec::new(),
            steps: used,
        };
    };
    let mut named = alloc::vec![("open".to_string(), 0), ("close".to_string(), end)];
    named.extend(hunt.model.names.into_iter().zip(starts));
    Answer {
        proof: if hunt.low >= end {
            Proof::Optimal
        } else {
            Proof::Feasible
        },
        value: Some(end.saturating_add(close)),
        bound,
        starts: named,
        steps: used,
    }
}

/// The shortest hour for an instance, with about so many steps of work at most ([`STEPS`]); a
/// conclusion that has begun is finished.
///
/// Shortest only where [`Proof::Optimal`] says so: by a closed form, or because the search came to
/// its end, or because the schedule meets the bound.
#[must_use]
pub fn solve(instance: &Instance, steps: u64) -> Answer {
    if let Some(answer) = by_closed_form(instance) {
        return answer;
    }
    let listed: Vec<usize> = (0..instance.groups.len()).collect();
    match instance.order {
        GroupOrder::Strict => in_order(instance, &listed, steps),
        GroupOrder::Free => in_any_order(instance, &listed, steps),
    }
}

/// Above this many groups not every order is tried, and nothing is claimed to be shortest.
const ALL_ORDERS: usize = 5;

/// Tries every order of the groups, each with its share of the steps.
fn in_any_order(instance: &Instance, listed: &[usize], steps: u64) -> Answer {
    let all = listed.len() <= ALL_ORDERS;
    let orders = if all {
        permutations(listed)
    } else {
        // Longest stay first, and as listed.
        let mut by_stay = listed.to_vec();
        by_stay.sort_by_key(|g| {
            let most = instance.groups.get(*g).map_or(0, |group| group.stay.most);
            (core::cmp::Reverse(most), *g)
        });
        alloc::vec![listed.to_vec(), by_stay]
    };
    let share = steps.checked_div(orders.len() as u64).unwrap_or(steps);
    let mut best: Option<Answer> = None;
    let mut bound: Option<i64> = None;
    let (mut settled, mut used) = (all, 0_u64);
    for order in &orders {
        let answer = in_order(instance, order, share);
        used = used.saturating_add(answer.steps);
        if let Some(theirs) = answer.bound {
            bound = Some(bound.map_or(theirs, |bound| bound.min(theirs)));
        }
        settled &= answer.proof != Proof::Unknown;
        let shorter = match (&best, answer.value) {
            (Some(best), Some(value)) => best.value.is_none_or(|known| value < known),
            (None, _) => true,
            (Some(_), None) => false,
        };
        if shorter {
            best = Some(answer);
        }
    }
    let mut answer = best.unwrap_or(Answer {
        proof: Proof::Unknown,
        value: None,
        bound: None,
        starts: Vec::new(),
        steps: 0,
    });
    // What holds in any order: each hand movement once, and the hour's two ends.
    let hands = bound.filter(|_| all).unwrap_or_else(|| hands_on(instance));
    answer.steps = used;
    answer.bound = Some(hands);
    answer.proof = match answer.value {
        Some(value) if value <= hands => Proof::Optimal,
        Some(_) => Proof::Feasible,
        None if settled => {
            answer.bound = None;
            Proof::Infeasible
        }
        None => Proof::Unknown,
    };
    answer
}

/// Seconds that the hands are busy in all.
fn hands_on(instance: &Instance) -> i64 {
    let mut sum = i64::from(instance.open).saturating_add(i64::from(instance.close));
    for group in &instance.groups {
        let each = i64::from(group.insert).saturating_add(i64::from(group.remove));
        sum = sum
            .saturating_add(i64::from(group.setup))
            .saturating_add(each.saturating_mul(i64::from(group.needles)));
    }
    for topical in &instance.topicals {
        sum = sum
            .saturating_add(i64::from(topical.apply))
            .saturating_add(i64::from(topical.wipe));
    }
    sum
}

fn permutations(of: &[usize]) -> Vec<Vec<usize>> {
    let mut found = alloc::vec![Vec::new()];
    for &next in of {
        let mut longer: Vec<Vec<usize>> = Vec::new();
        for shorter in &found {
            for place in 0..=shorter.len() {
                let mut with: Vec<usize> = shorter.clone();
                with.insert(place, next);
                longer.push(with);
            }
        }
        found = longer;
    }
    found
}
