//! Which questions are still open: those for which two completions that differ only in that
//! answer differ in verdict or in what the plan must change.
//!
//! For a question this asks: is there a choice of cells for everything else, and two cells for it,
//! such that some line fires with the one and not with the other, and nothing else hides the
//! difference? A depth-first search with three-valued pruning finds such a choice or shows that
//! there is none. It is exact; if it ever runs out of steps the question counts as open, so an
//! effective question is never left out.
//!
//! A question with several answers is open if and only if one of its options is: on a cube of
//! yes-no options a function that changes at all changes along some edge.

use crate::base::flat;
use crate::base::truth::Truth;
use crate::screening::ground::{Node, Var};
use alloc::vec;
use alloc::vec::Vec;

/// What the search sees of a line: when it fires, how much it weighs, what it changes in the plan.
#[derive(Clone, Debug)]
pub(crate) struct Lamp {
    pub node: Node,
    pub level: u8,
    pub changes: Vec<u32>,
    /// Where it comes from, for the caller.
    pub line: usize,
}

/// The level from which nothing is needled, so that changes to the plan no longer count.
pub(crate) const STOP: u8 = 5;

/// How many cells one search may try before the question counts as open.
const STEPS: u32 = 20_000;

/// What is already certain.
#[derive(Clone, Debug, Default)]
pub(crate) struct Certain {
    /// Greatest level that fires whatever is answered; `None` if nothing does.
    pub level: Option<u8>,
    /// Changes that are made whatever is answered.
    pub changes: flat::Set<u32>,
}

/// A question that is open, and how much it can decide.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Open {
    pub question: u16,
    /// The greatest level it can switch.
    pub level: u8,
    /// How many lines it stands in.
    pub lines: usize,
}

/// At which of the two cells of the question a line is looked at.
#[derive(Clone, Copy, PartialEq, Eq)]
enum At {
    First,
    Second,
}

#[derive(Clone, Copy)]
struct Demand {
    lamp: usize,
    at: At,
    fires: bool,
}

struct Search<'a> {
    lamps: &'a [Lamp],
    vars: &'a [Var],
    lamp_vars: &'a [Vec<u16>],
    subject: u16,
    first: u8,
    second: u8,
    cells: Vec<Option<u8>>,
    demands: Vec<Demand>,
    /// For each variable, the demands it occurs in.
    watch: flat::Map<u16, Vec<usize>>,
    steps: u32,
}

enum Found {
    Yes,
    No,
    OutOfSteps,
}

impl Search<'_> {
    fn truth(&self, demand: Demand) -> Truth {
        let Some(lamp) = self.lamps.get(demand.lamp) else {
            return Truth::No;
        };
        let mine = match demand.at {
            At::First => self.first,
            At::Second => self.second,
        };
        let truth = lamp.node.truth(&|var| {
            if var == self.subject {
                Some(mine)
            } else {
                self.cells.get(usize::from(var)).copied().flatten()
            }
        });
        if demand.fires { truth } else { truth.not() }
    }

    /// Tries to meet every demand from the one at `from` on.
    fn descend(&mut self, mut from: usize) -> Found {
        let demand = loop {
            let Some(demand) = self.demands.get(from).copied() else {
                return Found::Yes;
            };
            match self.truth(demand) {
                Truth::Yes => from = from.saturating_add(1),
                Truth::No => return Found::No,
                Truth::Unknown => break demand,
            }
        };
        let free = self.lamp_vars.get(demand.lamp).and_then(|vars| {
            vars.iter()
                .copied()
                .find(|v| *v != self.subject && self.cells.get(usize::from(*v)) == Some(&None))
        });
        let Some(var) = free else {
            return Found::No;
        };
        let count = self.vars.get(usize::from(var)).map_or(0, |v| v.cells);
        for cell in 0..count {
            if self.steps == 0 {
                return Found::OutOfSteps;
            }
            self.steps = self.steps.saturating_sub(1);
            if let Some(slot) = self.cells.get_mut(usize::from(var)) {
                *slot = Some(cell);
            }
            let broken = self.watch.get(&var).is_some_and(|list| {
                list.iter().any(|d| {
                    self.demands
                        .get(*d)
                        .is_some_and(|d| self.truth(*d) == Truth::No)
                })
            });
            if !broken {
                match self.descend(from) {
                    Found::No => {}
                    other => return other,
                }
            }
        }
        if let Some(slot) = self.cells.get_mut(usize::from(var)) {
            *slot = None;
        }
        Found::No
    }
}

/// The lines that are not decided, with their variables.
pub(crate) struct Board<'a> {
    /// Searches that ran out of steps: what they asked about counts as open.
    pub unfinished: core::cell::Cell<u32>,
    vars: &'a [Var],
    lamps: Vec<Lamp>,
    lamp_vars: Vec<Vec<u16>>,
    certain: &'a Certain,
}

impl<'a> Board<'a> {
    /// Lines that matter: undecided, and able to raise the level or to change the plan further.
    pub fn new(lamps: &[Lamp], vars: &'a [Var], certain: &'a Certain) -> Self {
        let stopped = certain.level.is_some_and(|l| l >= STOP);
        let mut kept: Vec<Lamp> = lamps
            .iter()
            .filter(|lamp| !matches!(lamp.node, Node::Const(_)))
            .filter(|lamp| {
                certain.level.is_none_or(|l| lamp.level > l)
                    || (!stopped && lamp.changes.iter().any(|c| !certain.changes.contains(c)))
            })
            .cloned()
            .collect();
        flat::sort_by_key(&mut kept, |lamp| core::cmp::Reverse(lamp.level));
        let sets: Vec<flat::Set<u16>> = kept
            .iter()
            .map(|lamp| {
                let mut set = flat::Set::new();
                lamp.node.vars(&mut set);
                set
            })
            .collect();
        let mut shared: flat::Map<u16, usize> = flat::Map::new();
        for var in sets.iter().flatten() {
            let count = shared.or_default(*var);
            *count = count.saturating_add(1);
        }
        // What many lines hang on is chosen first: a contradiction then shows at once.
        let lamp_vars = sets
            .into_iter()
            .map(|set| {
                let mut list: Vec<u16> = set.into_iter().collect();
                flat::sort_by_key(&mut list, |v| core::cmp::Reverse(shared.get(v).copied()));
                list
            })
            .collect();
        Self {
            vars,
            lamps: kept,
            lamp_vars,
            certain,
            unfinished: core::cell::Cell::new(0),
        }
    }

    /// Whether all demands can be met at once. Demands that share no variable are met apart, so
    /// that one that cannot be met is not looked for anew under every choice for the others.
    fn search(&self, subject: u16, first: u8, second: u8, demands: Vec<Demand>) -> Found {
        let mut unfinished = false;
        for group in self.groups(subject, demands) {
            match self.search_group(subject, first, second, group) {
                Found::Yes => {}
                Found::No => return Found::No,
                Found::OutOfSteps => unfinished = true,
            }
        }
        if unfinished {
            self.unfinished.set(self.unfinished.get().saturating_add(1));
            Found::OutOfSteps
        } else {
            Found::Yes
        }
    }

    /// Demands by connection through variables, the first demand's group first.
    fn groups(&self, subject: u16, demands: Vec<Demand>) -> Vec<Vec<Demand>> {
        let vars_of = |demand: &Demand| {
            let list = self.lamp_vars.get(demand.lamp).into_iter().flatten();
            list.copied().filter(|v| *v != subject)
        };
        let mut by_var: flat::Map<u16, Vec<usize>> = flat::Map::new();
        for (at, demand) in demands.iter().enumerate() {
            for var in vars_of(demand) {
                by_var.or_default(var).push(at);
            }
        }
        let mut seen = vec![false; demands.len()];
        let mut groups = Vec::new();
        for start in 0..demands.len() {
            let mut members = flat::Set::new();
            let mut waiting = vec![start];
            while let Some(at) = waiting.pop() {
                match seen.get_mut(at) {
                    Some(flag) if !*flag => *flag = true,
                    _ => continue,
                }
                members.insert(at);
                for var in demands.get(at).into_iter().flat_map(vars_of) {
                    // A variable is walked once: its list is taken.
                    waiting.extend(by_var.remove(&var).into_iter().flatten());
                }
            }
            if !members.is_empty() {
                let members = members.iter().filter_map(|at| demands.get(*at).copied());
                groups.push(members.collect());
            }
        }
        groups
    }

    fn search_group(&self, subject: u16, first: u8, second: u8, demands: Vec<Demand>) -> Found {
        let mut watch: flat::Map<u16, Vec<usize>> = flat::Map::new();
        for (at, demand) in demands.iter().enumerate() {
            for var in self.lamp_vars.get(demand.lamp).into_iter().flatten() {
                watch.or_default(*var).push(at);
            }
        }
        let mut search = Search {
            lamps: &self.lamps,
            vars: self.vars,
            lamp_vars: &self.lamp_vars,
            subject,
            first,
            second,
            cells: vec![None; self.vars.len()],
            demands,
            watch,
            steps: STEPS,
        };
        search.descend(0)
    }

    /// Demands for a line to fire at the second cell and for all that would hide it not to.
    fn demands(&self, lamp: usize, hides: impl Fn(&Lamp) -> bool, stops: bool) -> Vec<Demand> {
        let mut near = Vec::new();
        let mut far = Vec::new();
        let mine: flat::Set<u16> = self
            .lamp_vars
            .get(lamp)
            .into_iter()
            .flatten()
            .copied()
            .collect();
        for (other, row) in self.lamps.iter().enumerate() {
            let touches = self
                .lamp_vars
                .get(other)
                .is_some_and(|vars| vars.iter().any(|v| mine.contains(v)));
            let list = if touches { &mut near } else { &mut far };
            if hides(row) {
                list.push(Demand {
                    lamp: other,
                    at: At::First,
                    fires: false,
                });
            }
            if stops && row.level >= STOP {
                for at in [At::First, At::Second] {
                    list.push(Demand {
                        lamp: other,
                        at,
                        fires: false,
                    });
                }
            }
        }
        let mut all = vec![Demand {
            lamp,
            at: At::Second,
            fires: true,
        }];
        all.extend(near);
        all.extend(far);
        all
    }

    /// Whether the variable can switch this line in a way that shows.
    fn shows(&self, var: u16, at: usize) -> bool {
        let Some(lamp) = self.lamps.get(at) else {
            return false;
        };
        let cells = self.vars.get(usize::from(var)).map_or(0, |v| v.cells);
        let raises = self.certain.level.is_none_or(|l| lamp.level > l);
        let stopped = self.certain.level.is_some_and(|l| l >= STOP);
        // Pairs of cells that could: the line may fail to fire at the first and may fire at the second.
        let alone: Vec<Truth> = (0..cells)
            .map(|cell| lamp.node.truth(&|v| (v == var).then_some(cell)))
            .collect();
        let of = |truth: Truth| {
            let cells = (0_u8..).zip(&alone);
            cells
                .filter(move |(_, t)| **t != truth)
                .map(|(cell, _)| cell)
        };
        let found = |demands: &[Demand]| {
            of(Truth::Yes).any(|first| {
                of(Truth::No).any(|second| {
                    first != second
                        && !matches!(self.search(var, first, second, demands.to_vec()), Found::No)
                })
            })
        };
        let level = lamp.level;
        if raises && found(&self.demands(at, |row| row.level >= level, false)) {
            return true;
        }
        let changes = lamp.changes.iter();
        !stopped
            && changes
                .filter(|change| !self.certain.changes.contains(*change))
                .any(|change| found(&self.demands(at, |row| row.changes.contains(change), true)))
    }

    /// The open questions, those that can decide most first.
    pub fn open(&self) -> Vec<Open> {
        let mut by_question: flat::Map<u16, (u8, usize)> = flat::Map::new();
        for (at, var) in self.vars.iter().enumerate() {
            let Ok(index) = u16::try_from(at) else {
                continue;
            };
            let standing: Vec<usize> = self
                .lamp_vars
                .iter()
                .enumerate()
                .filter(|(_, vars)| vars.contains(&index))
                .map(|(lamp, _)| lamp)
                .collect();
            let best = by_question.get(&var.question).map(|(level, _)| *level);
            // Lines stand in order of level: the first that shows is the greatest.
            let shown = standing.iter().copied().find_map(|lamp| {
                let level = self.lamps.get(lamp)?.level;
                if best.is_some_and(|b| b >= level) {
                    return Some(level);
                }
                self.shows(index, lamp).then_some(level)
            });
            if let Some(level) = shown {
                let entry = by_question.or_insert(var.question, (level, 0));
                entry.0 = entry.0.max(level);
                entry.1 = entry.1.saturating_add(standing.len());
            }
        }
        let mut open: Vec<Open> = by_question
            .into_iter()
            .map(|(question, (level, lines))| Open {
                question,
                level,
                lines,
            })
            .collect();
        flat::sort_by(&mut open, |a, b| {
            (b.level, b.lines)
                .cmp(&(a.level, a.lines))
                .then(a.question.cmp(&b.question))
        });
        open
    }

    /// Whether all of these conditions can hold at once.
    #[cfg(test)]
    pub fn can_meet(nodes: &[Node], vars: &'a [Var], certain: &'a Certain) -> bool {
        if nodes.contains(&Node::Const(false)) {
            return false;
        }
        let lamps: Vec<Lamp> = nodes
            .iter()
            .map(|node| Lamp {
                node: node.clone(),
                level: 0,
                changes: Vec::new(),
                line: 0,
            })
            .collect();
        let board = Self::new(&lamps, vars, certain);
        let all = (0..board.lamps.len()).map(|lamp| Demand {
            lamp,
            at: At::First,
            fires: true,
        });
        matches!(board.search(u16::MAX, 0, 0, all.collect()), Found::Yes)
    }

    /// A smallest group of lines of at least this level of which every completion fires one: the
    /// places they have with the caller. Empty if there is no such group.
    pub fn inevitable(&self, level: u8) -> flat::Set<usize> {
        let mut demands: Vec<Demand> = self
            .lamps
            .iter()
            .enumerate()
            .filter(|(_, lamp)| lamp.level >= level)
            .map(|(lamp, _)| Demand {
                lamp,
                at: At::First,
                fires: false,
            })
            .collect();
        // No variable has this number: both cells are idle.
        let none_fires = |demands: &[Demand]| {
            !matches!(self.search(u16::MAX, 0, 0, demands.to_vec()), Found::No)
        };
        if none_fires(&demands) {
            return flat::Set::new();
        }
        let mut at = 0;
        while at < demands.len() {
            let dropped = demands.remove(at);
            if none_fires(&demands) {
                demands.insert(at, dropped);
                at = at.saturating_add(1);
            }
        }
        let lamps = demands.iter().filter_map(|d| self.lamps.get(d.lamp));
        lamps.map(|lamp| lamp.line).collect()
    }
}
