//! Rules of the practice's own: written down as settings, shared as a file, judged beside the
//! built-in ones. A rule can only add a finding, so none switches a built-in one off.
//!
//! ```json
//! {"pinfold":"rules","format":1,"rules":[
//!  {"id":"OWN-1","when":[[{"question":"fainted","is":["yes"]}]],"outcome":"limit",
//!   "limits":["lying"],"words":"Lying down, and somebody stays.","source":"our own case book"}]}
//! ```
//! `when` is a list of lists: it holds if all facts of any one list do. A fact names a question
//! (or `first_visit`, `electro`, `cream`) and either `is` (any of these options; yes and no for a
//! yes-no question), `at_least` or `below` (a number, or days since a date), and may be turned
//! round with `not`. `to` names points (`LI4`, `LI4.left`, one of the practice's own), point sets (`ORBIT`), regions
//! (`cheek.left`) or `kind:intradermal`; an omission needs it. The mark is always policy.

use crate::atlas::{Region, Side};
use crate::base::body::{self, Body, Reader, Writer, Wrong};
use crate::base::cite::Mark;
use crate::event::LONG_TEXT;
use crate::event::point::is_own;
use crate::event::practice::Set;
use crate::intake::outcome::Piece;
use crate::intake::{
    Bank, Compare, Expr, Fault, Figure, Kind, Limit, Milli, Outcome, Slip, Span, Urgency, Words,
};
use crate::needle;
use crate::screening::{Aim, Rule, Rules, Spot};
use alloc::boxed::Box;
use alloc::format;
use alloc::string::{String, ToString};
use alloc::vec;
use alloc::vec::Vec;

/// What the name of a setting that holds a rule begins with; the rule's id follows.
pub const PREFIX: &str = "rule.";

/// What every id of a practice's rule begins with. No built-in rule's does.
pub const OWN: &str = "OWN-";

/// Facts in all rules of one practice together: a bound, so that numbers stay cut into cells.
pub const MOST_FACTS: usize = 40;

/// One fact about an answer. Exactly one of `is`, `at_least` and `below` is given.
#[derive(Clone, Debug, PartialEq, Eq, Body)]
#[serde(deny_unknown_fields)]
pub struct Fact {
    /// The question's stable id, or `first_visit`, `electro` or `cream`.
    pub question: String,
    /// Any of these options.
    #[serde(default)]
    pub is: Vec<String>,
    /// The number, or the days since the date, is at least this: decimal text.
    #[serde(default)]
    pub at_least: Option<String>,
    /// It is below this.
    #[serde(default)]
    pub below: Option<String>,
    /// The fact does not hold.
    #[serde(default)]
    pub not: bool,
}

/// A rule as it is written down and shared.
#[derive(Clone, Debug, PartialEq, Eq, Body)]
#[serde(deny_unknown_fields)]
pub struct OwnRule {
    /// `OWN-` and at most 36 letters, digits or hyphens.
    pub id: String,
    /// All facts of any one of these lists.
    pub when: Vec<Vec<Fact>>,
    /// What follows.
    pub outcome: Outcome,
    /// What is left out, limited or without cream; empty is the whole visit.
    #[serde(default)]
    pub to: Vec<String>,
    /// What the plan keeps to; limits without a figure.
    #[serde(default)]
    pub limits: Vec<Limit>,
    /// For a referral: to whom, and how soon.
    #[serde(default)]
    pub refer: Option<(String, Urgency)>,
    /// What it changes and why.
    pub words: String,
    /// What it rests on, in the practice's words.
    pub source: String,
}

/// Why a file of rules, or one in it, cannot be used. Nothing of the file is taken then.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Unusable {
    /// It is not such a file; the reader's words.
    NotRules(String),
    /// A rule that does not fit the questions or points: the field, and what is wrong.
    Rule(Fault),
}

/// Limits without a figure.
const LIMITS: &[(&str, Limit)] = &[
    ("lying", Limit::Lying),
    ("gentle", Limit::Gentle),
    ("superficial", Limit::Superficial),
    ("thin", Limit::Thin),
    ("press_after", Limit::PressAfter),
    ("never_alone", Limit::NeverAlone),
    ("test_one", Limit::TestOne),
    ("warn_bruise", Limit::WarnBruise),
    ("warn_marks", Limit::WarnMarks),
    ("recheck", Limit::Recheck),
    ("oblique", Limit::Oblique),
    ("clean_strictly", Limit::CleanStrictly),
    ("cream_clear", Limit::CreamClear),
];

impl Body for Limit {
    fn write(&self, out: &mut Writer) {
        let found = LIMITS.iter().find(|(_, known)| known == self);
        out.text(found.map_or("", |(name, _)| name));
    }
    fn read(from: &mut Reader<'_>) -> Self {
        let name = from.text();
        let found = LIMITS.iter().find(|(known, _)| *known == name);
        from.or(found.map(|(_, limit)| *limit), Self::Lying)
    }
}

fn fault<T>(field: &str, slip: Slip) -> Result<T, Fault> {
    let field = field.to_string();
    Err(Fault { field, slip })
}

impl Fact {
    fn read(&self, bank: &Bank, field: &str) -> Result<Expr, Fault> {
        let expr = self.plain(bank, field)?;
        Ok(if self.not {
            Expr::Not(Box::new(expr))
        } else {
            expr
        })
    }

    fn plain(&self, bank: &Bank, field: &str) -> Result<Expr, Fault> {
        let (compare, figure) = match (&self.at_least, &self.below, self.is.as_slice()) {
            (Some(n), None, []) => (Compare::Ge, n),
            (None, Some(n), []) => (Compare::Lt, n),
            (None, None, [_, ..]) => return self.options(bank, field),
            _ => return fault(field, Slip::WrongKind),
        };
        let (at, kind) = Self::question(bank, &self.question, field)?;
        let Ok(figure) = figure.parse::<Milli>() else {
            return fault(field, Slip::WrongKind);
        };
        match kind {
            Kind::Number { min, max, .. } if figure < *min || figure > *max => {
                fault(field, Slip::OutOfRange(*min, *max))
            }
            Kind::Number { .. } => Ok(Expr::Num(at, compare, Figure::Number(figure))),
            Kind::Date if figure < Milli(0) => {
                fault(field, Slip::OutOfRange(Milli(0), Milli::whole(73_000)))
            }
            Kind::Date => Ok(Expr::Since(at, Span::Days, compare, Figure::Number(figure))),
            _ => fault(field, Slip::WrongKind),
        }
    }

    fn question<'b>(bank: &'b Bank, id: &str, field: &str) -> Result<(u16, &'b Kind), Fault> {
        let found = bank.position(id).and_then(|at| {
            let question = bank.questions.get(at)?;
            Some((u16::try_from(at).ok()?, &question.kind))
        });
        found.map_or_else(|| fault(&format!("{field}.question"), Slip::Unheard), Ok)
    }

    fn options(&self, bank: &Bank, field: &str) -> Result<Expr, Fault> {
        let yes_no = [("no", 0_u16), ("yes", 1)];
        let known = |id: &str| yes_no.iter().find(|(o, _)| *o == id).map(|(_, at)| *at);
        let circumstance = match self.question.as_str() {
            "first_visit" => Some(Expr::FirstVisit),
            "electro" => Some(Expr::Electro),
            "cream" => Some(Expr::Cream),
            _ => None,
        };
        let at_of = |kind: &Kind, id: &String| {
            let at = match kind {
                Kind::YesNo => known(id),
                Kind::Choice(o) | Kind::Side(o) | Kind::Several(o) => o
                    .iter()
                    .position(|(option, _)| option == id)
                    .and_then(|at| u16::try_from(at).ok()),
                _ => return fault(field, Slip::WrongKind),
            };
            at.map_or_else(|| fault(field, Slip::NoSuchOption(id.clone())), Ok)
        };
        if let Some(expr) = circumstance {
            let mut any = Vec::new();
            for id in &self.is {
                any.push(if at_of(&Kind::YesNo, id)? == 1 {
                    expr.clone()
                } else {
                    Expr::Not(Box::new(expr.clone()))
                });
            }
            return Ok(Expr::Any(any));
        }
        let (q, kind) = Self::question(bank, &self.question, field)?;
        let (mut mask, mut any) = (0_u64, Vec::new());
        for id in &self.is {
            let at = at_of(kind, id)?;
            mask |= 1_u64.checked_shl(u32::from(at)).unwrap_or(0);
            any.push(Expr::Has(q, at));
        }
        Ok(match kind {
            Kind::Several(_) => Expr::Any(any),
            _ => Expr::Is(q, mask),
        })
    }
}

fn spot(rules: &Rules, text: &str, field: &str) -> Result<Spot, Fault> {
    if let Ok(region) = text.parse::<Region>() {
        return Ok(Spot::Region(region));
    }
    match text {
        "kind:intradermal" => return Ok(Spot::Kind(needle::Kind::Intradermal)),
        "kind:filiform" => return Ok(Spot::Kind(needle::Kind::Filiform)),
        _ => {}
    }
    let (name, side) = match text.split_once('.') {
        Some((name, side)) => (name, Side::from_name(side)),
        None => (text, Some(Side::Both)),
    };
    let Some(side) = side else {
        return fault(field, Slip::NoSuchOption(text.to_string()));
    };
    let side = (side != Side::Both).then_some(side);
    let set = rules.sets.iter().position(|set| set.name == name);
    match set.and_then(|at| u16::try_from(at).ok()) {
        Some(at) => Ok(Spot::Set(at, side)),
        // Whether the practice has such a point is asked when its rules are judged.
        None if rules.area_of(name).is_some() || is_own(name) => {
            Ok(Spot::Point(name.to_string(), side))
        }
        None => fault(field, Slip::Unheard),
    }
}

impl OwnRule {
    /// The rule as screening judges it.
    ///
    /// # Errors
    /// The field that cannot be used, and why: `OWN-1.when[0][1].question`.
    pub fn read(&self, bank: &Bank, rules: &Rules) -> Result<Rule, Fault> {
        let at = |field: &str| format!("{}.{field}", self.id);
        let plain = |c: char| c.is_ascii_alphanumeric() || c == '-';
        let tail = self.id.strip_prefix(OWN).unwrap_or_default();
        if tail.is_empty() || tail.len() > 36 || !tail.chars().all(plain) {
            return fault("id", Slip::NoSuchOption(self.id.clone()));
        }
        for (text, field) in [(&self.words, "words"), (&self.source, "source")] {
            if text.trim().is_empty() || text.len() > 400 {
                return fault(
                    &at(field),
                    Slip::OutOfRange(Milli::whole(1), Milli::whole(400)),
                );
            }
        }
        if self.facts() == 0 || self.when.iter().any(Vec::is_empty) {
            return fault(&at("when"), Slip::WrongKind);
        }
        let mut any = Vec::new();
        for (i, list) in self.when.iter().enumerate() {
            let mut all = Vec::new();
            for (j, fact) in list.iter().enumerate() {
                all.push(fact.read(bank, &at(&format!("when[{i}][{j}]")))?);
            }
            any.push(Expr::All(all));
        }
        let mut to = Vec::new();
        for (i, text) in self.to.iter().enumerate() {
            to.push(Aim {
                to: spot(rules, text, &at(&format!("to[{i}]")))?,
                only_if: None,
            });
        }
        let whole = !matches!(
            self.outcome,
            Outcome::Omit | Outcome::Limit | Outcome::NoTopical
        );
        if (self.outcome == Outcome::Omit && to.is_empty()) || (whole && !to.is_empty()) {
            return fault(&at("to"), Slip::WrongKind);
        }
        let counted = |l: &Limit| {
            matches!(
                l,
                Limit::Needles(_) | Limit::DepthMm(_) | Limit::Minutes(_) | Limit::CreamMinutes(_)
            )
        };
        if (self.outcome == Outcome::Limit) == self.limits.is_empty()
            || self.limits.iter().any(counted)
        {
            return fault(&at("limits"), Slip::WrongKind);
        }
        if (self.outcome == Outcome::Refer) != self.refer.is_some() {
            return fault(&at("refer"), Slip::WrongKind);
        }
        Ok(Rule {
            id: self.id.clone(),
            part: None,
            when: Expr::Any(any),
            outcome: self.outcome,
            to,
            limits: self.limits.clone(),
            hard: false,
            refer: self.refer.clone(),
            words: Words(vec![Piece::Text(self.words.clone())]),
            source: vec![self.source.clone()],
            mark: Mark::Policy,
            policy: true,
        })
    }

    /// How many facts it names.
    #[must_use]
    pub fn facts(&self) -> usize {
        self.when.iter().map(Vec::len).sum()
    }

    /// The setting that holds it. Given an empty value, the rule is taken away.
    #[must_use]
    pub fn setting(&self) -> Set {
        Set {
            name: format!("{PREFIX}{}", self.id),
            value: body::write(self),
            reason: String::new(),
        }
    }

    /// Reads one out of its setting.
    pub(super) fn of_setting(text: &str) -> Option<Self> {
        body::read_any(text).ok()
    }
}

/// A file of rules.
#[derive(Body)]
#[serde(deny_unknown_fields)]
struct File {
    pinfold: String,
    #[serde(default)]
    format: u16,
    #[serde(default)]
    rules: Vec<OwnRule>,
}

fn parse_file(text: &str) -> Result<Vec<OwnRule>, String> {
    let words = |why: Wrong| why.to_string();
    let mut from = Reader::of(body::json(text).map_err(words)?);
    let file = File::read(&mut from);
    if file.pinfold != "rules" || file.format != 1 {
        return Err("not a file of rules of format 1".into());
    }
    from.end().map_err(words).map(|()| file.rules)
}

/// Rules as a file to hand on.
#[must_use]
pub fn write(rules: &[OwnRule]) -> String {
    body::write(&File {
        pinfold: "rules".into(),
        format: 1,
        rules: rules.to_vec(),
    })
}

/// Reads a file of rules and tries each against the questions and points.
///
/// # Errors
/// [`Unusable`] says which field and why; nothing of the file is taken then.
pub fn read(text: &str, bank: &Bank, rules: &Rules) -> Result<Vec<OwnRule>, Unusable> {
    let found = parse_file(text).map_err(Unusable::NotRules)?;
    let facts: usize = found.iter().map(OwnRule::facts).sum();
    if facts > MOST_FACTS || text.len() > LONG_TEXT.saturating_mul(4) {
        let most = Milli::whole(i64::try_from(MOST_FACTS).unwrap_or(0));
        return fault("rules", Slip::OutOfRange(Milli(0), most)).map_err(Unusable::Rule);
    }
    for (at, rule) in found.iter().enumerate() {
        rule.read(bank, rules).map_err(Unusable::Rule)?;
        if found.iter().take(at).any(|other| other.id == rule.id) {
            return fault("id", Slip::Against(rule.id.clone())).map_err(Unusable::Rule);
        }
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_those_that_rules_are_written_with() {
        fn same<T: serde::Serialize>(names: &[(&str, T)]) {
            for (name, value) in names {
                assert_eq!(serde_json::to_string(value).unwrap(), format!("\"{name}\""));
            }
        }
        same(LIMITS);
        assert_eq!(LIMITS.len(), 13);
    }
}
