//! L4. The practice as a fold of its facts: settings, figures of the rules, rules and procedures of
//! its own.

pub mod composed;
pub mod own;
pub mod points;
pub mod retention;

use crate::base::flat;
use crate::base::id::EntryId;
use crate::base::stamp::Wall;
use crate::event::Event;
use crate::event::copies::Made;
use crate::event::matter::gone;
use crate::event::point::{Described, is_own};
use crate::event::practice::Set;
use crate::event::procedure::{Composed, Json, Retired};
use crate::intake::{Bank, Fault, Milli, Slip};
use crate::journal::Entry;
use crate::screening::{Rule, Rules, Spot};
use alloc::format;
use alloc::string::{String, ToString};
use alloc::vec::Vec;
use own::{MOST_FACTS, OwnRule};

/// What the name of a setting that holds a figure of the rules begins with; the figure's id follows.
pub const FIGURE: &str = "figure.";

/// The practice.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Practice {
    settings: flat::Map<String, String>,
    /// Every word on a figure, with its time, in order: the record asks which stood when.
    figures: Vec<(Wall, Set)>,
    composed: flat::Map<String, Kept>,
    retired: flat::Set<String>,
    /// Points by code, and whether they were taken away.
    points: flat::Map<String, (Described, bool)>,
    last_copy: Option<LastCopy>,
}

/// The copy that was taken out last.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LastCopy {
    /// The fact that says so.
    pub fact: EntryId,
    /// When.
    pub at: Wall,
    /// What it covered.
    pub made: Made,
    /// How many entries were brought in from elsewhere since: they may not be in it, however old.
    pub brought: u32,
}

/// A procedure of the practice's own as its facts hold it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Kept {
    /// The fact that composed it first.
    pub first: EntryId,
    /// The fact that composed it as it stands.
    pub version: EntryId,
    /// What it is; [`composed::read`] reads it.
    pub procedure: Json,
}

/// A figure of the rules as the practice set it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Figure {
    /// In thousandths.
    pub value: Milli,
    /// Why, in the practice's words; never empty for a looser figure.
    pub reason: String,
}

/// Whether a practice may use this figure: stricter freely, looser with a reason of a few words.
fn accepted(rules: &Rules, id: &str, value: Milli, reason: &str) -> Result<(), Slip> {
    let setting = rules.setting(id).ok_or(Slip::Unheard)?;
    if value < setting.min || value > setting.max {
        Err(Slip::OutOfRange(setting.min, setting.max))
    } else if setting.loosened_by(value) && reason.trim().chars().count() < 8 {
        Err(Slip::NoReason)
    } else {
        Ok(())
    }
}

/// The fact that gives a figure of the rules another value, or takes that back.
///
/// # Errors
/// The field that cannot be used: no such figure, out of its range, or looser without a reason.
pub fn figure(rules: &Rules, id: &str, value: Option<Milli>, reason: &str) -> Result<Set, Fault> {
    let known = match value {
        Some(value) => accepted(rules, id, value, reason),
        None => rules.setting(id).map(|_| ()).ok_or(Slip::Unheard),
    };
    known.map_err(|slip| Fault {
        field: format!("settings.{id}"),
        slip,
    })?;
    Ok(Set {
        name: format!("{FIGURE}{id}"),
        value: value.map_or_else(String::new, |v| v.to_string()),
        reason: reason.trim().to_string(),
    })
}

impl Practice {
    /// Folds the entries of the practice's stream. The latest word stands.
    #[must_use]
    pub fn fold<'a>(entries: impl Iterator<Item = &'a Entry>) -> Self {
        let mut practice = Self::default();
        let read = |entry| Event::read(entry).ok().map(|event| (entry, event));
        let read: Vec<(&Entry, Event)> = entries.filter_map(read).collect();
        let gone = gone(read.iter().map(|(entry, event)| (entry.id, event)));
        for (entry, event) in read {
            if gone.contains(&entry.id) {
                continue;
            }
            match event {
                Event::Set(set) => {
                    practice
                        .settings
                        .insert(set.name.clone(), set.value.clone());
                    if set.name.starts_with(FIGURE) {
                        practice.figures.push((entry.at.wall, set));
                    }
                }
                Event::Composed(Composed { id, procedure }) => {
                    let before = practice.composed.get(&id);
                    let kept = Kept {
                        first: before.map_or(entry.id, |kept| kept.first),
                        version: entry.id,
                        procedure,
                    };
                    practice.composed.insert(id, kept);
                }
                Event::Retired(Retired { id, back }) => {
                    if back {
                        practice.retired.remove(&id);
                    } else {
                        practice.retired.insert(id);
                    }
                }
                Event::Described(point) => {
                    let code = point.code.clone();
                    practice.points.insert(code, (point, false));
                }
                Event::TakenAway(taken) => {
                    if let Some((_, away)) = practice.points.get_mut(&taken.code) {
                        *away = !taken.back;
                    }
                }
                Event::CopyMade(made) => {
                    practice.last_copy = Some(LastCopy {
                        fact: entry.id,
                        at: entry.at.wall,
                        made,
                        brought: 0,
                    });
                }
                Event::Brought(brought) => {
                    if let Some(last) = &mut practice.last_copy {
                        last.brought = last.brought.saturating_add(brought.entries);
                    }
                }
                _ => {}
            }
        }
        practice
    }

    /// The copy that was taken out last, on this phone or on one that was merged with it.
    #[must_use]
    pub fn last_copy(&self) -> Option<&LastCopy> {
        self.last_copy.as_ref()
    }

    /// Every point of its own, by code, and whether it was taken away.
    pub fn points(&self) -> impl Iterator<Item = (&Described, bool)> {
        self.points.values().map(|(point, away)| (point, *away))
    }

    /// A procedure of its own, by its stable name.
    #[must_use]
    pub fn composed(&self, id: &str) -> Option<&Kept> {
        self.composed.get(id)
    }

    /// Every procedure of its own, in the order they were first composed.
    #[must_use]
    pub fn all_composed(&self) -> Vec<(&str, &Kept)> {
        let all = self.composed.iter().map(|(id, kept)| (id.as_str(), kept));
        let mut all: Vec<(&str, &Kept)> = all.collect();
        flat::sort_by_key(&mut all, |(_, kept)| kept.first);
        all
    }

    /// Whether a procedure was taken off the list.
    #[must_use]
    pub fn is_retired(&self, id: &str) -> bool {
        self.retired.contains(id)
    }

    /// A setting's value; empty if it was never given or was taken back.
    #[must_use]
    pub fn setting(&self, name: &str) -> &str {
        self.settings.get(name).map_or("", String::as_str)
    }

    /// Every setting that has a value.
    pub fn settings(&self) -> impl Iterator<Item = (&str, &str)> {
        self.settings
            .iter()
            .filter(|(_, value)| !value.is_empty())
            .map(|(name, value)| (name.as_str(), value.as_str()))
    }

    /// Every word on a figure up to a time: the latest of each, by the figure's id.
    #[must_use]
    pub fn figures_said(&self, until: Wall) -> flat::Map<&str, &Set> {
        let mut latest = flat::Map::new();
        for (_, set) in self.figures.iter().filter(|(at, _)| *at <= until) {
            let id = set.name.strip_prefix(FIGURE).unwrap_or_default();
            if set.value.is_empty() {
                latest.remove(id);
            } else {
                latest.insert(id, set);
            }
        }
        latest
    }

    /// The figures in force at a time, by id, and those that cannot be used: out of range, or looser
    /// without a reason. Pinfold's own figure stands in place of such a one.
    #[must_use]
    pub fn figures(&self, rules: &Rules, until: Wall) -> (flat::Map<String, Figure>, Vec<Fault>) {
        let (mut good, mut bad) = (flat::Map::new(), Vec::new());
        for (id, set) in self.figures_said(until) {
            let value = set.value.parse::<Milli>().map_err(|_| Slip::WrongKind);
            let value = value.and_then(|v| accepted(rules, id, v, &set.reason).map(|()| v));
            match value {
                Ok(value) => {
                    let reason = set.reason.clone();
                    good.insert(id.to_string(), Figure { value, reason });
                }
                Err(slip) => bad.push(Fault {
                    field: format!("settings.{id}"),
                    slip,
                }),
            }
        }
        (good, bad)
    }

    /// The practice's own rules, as they were written down.
    #[must_use]
    pub fn own_rules(&self) -> Vec<OwnRule> {
        let held = self.settings();
        held.filter(|(name, _)| name.starts_with(own::PREFIX))
            .filter_map(|(_, value)| OwnRule::of_setting(value))
            .collect()
    }

    /// Whether a rule names a point of the practice's own that is not here.
    fn names_nobody(&self, rule: &Rule) -> bool {
        rule.to.iter().any(|aim| match &aim.to {
            Spot::Point(code, _) => is_own(code) && !self.points.contains_key(code),
            _ => false,
        })
    }

    /// The same as screening judges them, and those that cannot be judged.
    #[must_use]
    pub fn judged(&self, bank: &Bank, rules: &Rules) -> (Vec<Rule>, Vec<Fault>) {
        let (mut good, mut bad) = (Vec::new(), Vec::new());
        let mut facts = 0_usize;
        for rule in self.own_rules() {
            facts = facts.saturating_add(rule.facts());
            match rule.read(bank, rules) {
                Ok(rule) if self.names_nobody(&rule) => bad.push(Fault {
                    field: format!("{}.to", rule.id),
                    slip: Slip::Unheard,
                }),
                Ok(rule) if facts <= MOST_FACTS => good.push(rule),
                Ok(_) => bad.push(Fault {
                    field: rule.id.clone(),
                    slip: Slip::OutOfRange(Milli(0), Milli::whole(40)),
                }),
                Err(fault) => bad.push(fault),
            }
        }
        (good, bad)
    }
}
