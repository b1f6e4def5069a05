//! The rules, settings and point sets as packed at build time from `data/rules*.toml`.

use crate::atlas::{Area, Region, Side};
use crate::base::cite::Mark;
use crate::base::data::{BadData, read};
use crate::base::pack::Pack;
use crate::intake::{Expr, Limit, Milli, Outcome, Urgency, Words};
use crate::needle;
use alloc::string::String;
use alloc::vec::Vec;
use serde::{Deserialize, Serialize};

const PACKED: &str = include_str!(concat!(env!("OUT_DIR"), "/rules.json"));

/// Everything a screening is judged by.
#[derive(Clone, Debug, Serialize, Deserialize, Pack)]
pub struct Rules {
    /// Figures somebody had to choose.
    pub settings: Vec<Setting>,
    /// In which area each point lies.
    pub areas: Vec<(Area, Vec<String>)>,
    /// Groups of points that rules name.
    pub sets: Vec<Set>,
    /// The rules.
    pub rules: Vec<Rule>,
    /// Where everything is from.
    pub sources: Vec<Source>,
    /// Sentences of findings that are worked out: id and words with `{0}`, `{1}` ...
    pub says: Vec<(String, String)>,
}

/// Where something is from.
#[derive(Clone, Debug, Serialize, Deserialize, Pack)]
pub struct Source {
    /// The name that rules use.
    pub key: String,
    /// What it is, and how much of it was seen.
    pub text: String,
    /// How well it was seen.
    pub mark: Mark,
}

/// A figure somebody had to choose.
#[derive(Clone, Debug, Serialize, Deserialize, Pack)]
pub struct Setting {
    /// Stable id.
    pub id: String,
    /// What it is.
    pub say: String,
    /// Its unit; switches have none.
    #[serde(default)]
    pub unit: Option<String>,
    /// Used unless the practice says otherwise.
    pub default: Milli,
    /// Least allowed.
    pub min: Milli,
    /// Most allowed.
    pub max: Milli,
    /// Whether a greater figure is the stricter one; `None` for a statement of fact.
    pub stricter_up: Option<bool>,
    /// Source keys.
    pub source: Vec<String>,
    /// How well the figure is supported.
    pub mark: Mark,
}

/// A group of points.
#[derive(Clone, Debug, Serialize, Deserialize, Pack)]
pub struct Set {
    /// Stable name.
    pub name: String,
    /// Its points.
    pub points: Vec<String>,
    /// What lies there.
    pub why: String,
    /// Source keys.
    pub source: Vec<String>,
    /// How well the grouping is supported.
    pub mark: Mark,
}

/// One row of a rule.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, Pack)]
pub struct Rule {
    /// Stable id.
    pub id: String,
    /// Which of the rule's consequences this row is.
    #[serde(default)]
    pub part: Option<String>,
    /// When it applies.
    pub when: Expr,
    /// What follows.
    pub outcome: Outcome,
    /// What is left out or limited; empty: the whole visit.
    #[serde(default)]
    pub to: Vec<Aim>,
    /// What the plan must keep to.
    #[serde(default)]
    pub limits: Vec<Limit>,
    /// An omission no written reason lifts.
    #[serde(default)]
    pub hard: bool,
    /// To whom, and how soon.
    #[serde(default)]
    pub refer: Option<(String, Urgency)>,
    /// What it changes and why.
    pub words: Words,
    /// Source keys.
    pub source: Vec<String>,
    /// How well the fact is supported.
    pub mark: Mark,
    /// Whether the code or figure is Pinfold's choice.
    #[serde(default)]
    pub policy: bool,
}

/// A target of a rule, and when it is one.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, Pack)]
pub struct Aim {
    /// What is aimed at.
    pub to: Spot,
    /// Only when this holds as well.
    #[serde(default, rename = "if")]
    pub only_if: Option<Expr>,
}

/// What a rule aims at.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, Pack)]
#[serde(rename_all = "snake_case")]
pub enum Spot {
    /// A point, on one side or wherever it is planned.
    Point(String, Option<Side>),
    /// A set of points, on one side or wherever they are planned.
    Set(u16, Option<Side>),
    /// A region.
    Region(Region),
    /// The regions answered to this question.
    Places(u16),
    /// Every needle of this kind.
    Kind(needle::Kind),
}

impl Rules {
    /// Reads the embedded rules. Done once; the caller holds them.
    ///
    /// # Errors
    /// If the build is broken; then nothing may be screened.
    pub fn load() -> Result<Self, BadData> {
        read("rules", PACKED)
    }

    /// The area a point lies in; `None` for a code that is no point.
    #[must_use]
    pub fn area_of(&self, code: &str) -> Option<Area> {
        self.areas
            .iter()
            .find(|(_, codes)| codes.iter().any(|c| c == code))
            .map(|(area, _)| *area)
    }

    /// A sentence with its figures filled in; the id itself if there is no such sentence.
    #[must_use]
    pub fn say(&self, id: &str, figures: &[&str]) -> String {
        let words = self.says.iter().find(|(i, _)| i == id);
        let mut out = words.map_or_else(|| String::from(id), |(_, words)| words.clone());
        for (at, figure) in figures.iter().enumerate() {
            out = out.replace(&alloc::format!("{{{at}}}"), figure);
        }
        out
    }

    /// The setting with this id.
    #[must_use]
    pub fn setting(&self, id: &str) -> Option<&Setting> {
        self.settings.iter().find(|s| s.id == id)
    }
}

impl Setting {
    /// Whether a figure is looser than the default.
    #[must_use]
    pub fn loosened_by(&self, figure: Milli) -> bool {
        match self.stricter_up {
            Some(true) => figure < self.default,
            Some(false) => figure > self.default,
            None => false,
        }
    }
}

/// Whether a written reason may go past an outcome: never past a stop or heavier, an open question,
/// what bars cream or current, or an omission marked hard (safety reference, section 0; policy); nor
/// past a limit that keeps cream off a place.
#[must_use]
pub const fn passable(outcome: Outcome, hard: bool, cream_clear: bool) -> bool {
    match outcome {
        Outcome::Limit => !cream_clear,
        Outcome::Refer | Outcome::Record => true,
        Outcome::Omit => !hard,
        _ => false,
    }
}

impl Rule {
    /// Whether a written reason may go past it.
    #[must_use]
    pub fn passable(&self) -> bool {
        let cream_clear = self.limits.contains(&Limit::CreamClear);
        passable(self.outcome, self.hard, cream_clear)
    }

    /// Id and part: `BD2.omit`, or `LY1`.
    #[must_use]
    pub fn name(&self) -> String {
        match &self.part {
            Some(part) => alloc::format!("{}.{part}", self.id),
            None => self.id.clone(),
        }
    }
}
