//! L2. From answers to findings. Rules are data; this judges them in three-valued logic, keeps for
//! every finding why it was found, and says which questions can still change anything.
//!
//! A rule that cannot be evaluated counts as a possible stop: it asks. All unknown is never
//! "none". Adding an answer never takes back what was already certain.

mod asked;
pub mod case;
mod ground;
mod open;
pub mod rules;

pub use case::{BIRTH_DATE, Case, OwnPoint, Planned};
pub use rules::{Aim, Rule, Rules, Set, Setting, Spot};

use crate::atlas::{Area, Region, Side};
use crate::base::cite::Mark;
use crate::base::data::BadData;
use crate::base::flat;
use crate::base::truth::Truth;
use crate::base::units::Micrometres;
use crate::intake::outcome::Piece;
use crate::intake::{
    Bank, Compare, Expr, Fault, Figure, Limit, Milli, Outcome, Urgency, Value, Words,
};
use crate::needle;
use crate::topical::{Product, Shelf, Use};
use alloc::format;
use alloc::string::{String, ToString};
use alloc::vec;
use alloc::vec::Vec;
use ground::{Ground, Node, State};
use open::{Board, Certain, Lamp, STOP};

/// What the plan must leave alone or cap.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Target {
    /// A point; `Both` is wherever it is planned.
    Point(String, Side),
    /// A named group of points, while nothing is planned yet.
    Set(String, Side),
    /// A region.
    Region(Region),
    /// Every needle of this kind.
    Kind(needle::Kind),
}

impl Target {
    /// `LI4`, `LI4.left`, `ORBIT`, `cheek.left`, `kind:intradermal`.
    #[must_use]
    pub fn name(&self) -> String {
        match self {
            Self::Point(name, side) | Self::Set(name, side) => match side {
                Side::Both | Side::Centre => name.clone(),
                one => format!("{name}.{}", one.name()),
            },
            Self::Region(region) => region.to_string(),
            Self::Kind(needle::Kind::Filiform) => "kind:filiform".to_string(),
            Self::Kind(needle::Kind::Intradermal) => "kind:intradermal".to_string(),
        }
    }
}

/// A limit with its figure.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Cap {
    /// One that has no figure.
    Plain(Limit),
    /// At most so many needles.
    Needles(u32),
    /// At most so deep.
    Depth(Micrometres),
    /// Needles stay at most so many minutes.
    Minutes(u32),
    /// Cream stays at most so many minutes.
    CreamMinutes(u32),
    /// Cream on at most so many square centimetres.
    CreamArea(u32),
}

/// Whether the practitioner may go against a finding.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Override {
    /// Not at all.
    Never,
    /// With a written reason.
    Reason,
}

/// What a rule found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Finding {
    /// Rule id.
    pub rule: String,
    /// Which of the rule's consequences.
    pub part: Option<String>,
    /// What it means for the visit.
    pub outcome: Outcome,
    /// For a rule that cannot be evaluated yet: what it could turn out to be.
    pub could_be: Option<Outcome>,
    /// What is left alone or capped; empty: the whole visit. With a plan, only what is planned.
    pub targets: Vec<Target>,
    /// What the plan must keep to.
    pub caps: Vec<Cap>,
    /// To whom, and how soon.
    pub refer: Option<(String, Urgency)>,
    /// Ids of the questions, or fields of the case, that it rests on.
    pub because: Vec<String>,
    /// What it changes and why, for the practitioner.
    pub words: String,
    /// Source keys.
    pub source: Vec<String>,
    /// How well it is supported.
    pub mark: Mark,
    /// Whether code or figure is Pinfold's choice.
    pub policy: bool,
    /// Whether it may be overridden.
    pub overriding: Override,
}

/// What all rules together say.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Screening {
    /// The heaviest outcome; `None` says that nothing was found, never more than that.
    pub verdict: Option<Outcome>,
    /// Every finding, heaviest first.
    pub findings: Vec<Finding>,
    /// Rules that hold but hit nothing of today's plan: for whoever adds a point later.
    pub standing: Vec<Finding>,
    /// Open questions, most decisive first.
    pub open: Vec<String>,
    /// Whether the open questions are exact; if not, some may be asked that could not change
    /// anything. None that could is ever left out.
    pub exact: bool,
}

/// Everything screening needs, read once.
#[derive(Clone, Debug)]
pub struct Knowledge {
    /// The questions.
    pub bank: Bank,
    /// The rules.
    pub rules: Rules,
    /// The creams.
    pub shelf: Shelf,
}

impl Knowledge {
    /// Reads all embedded knowledge. Done once; the caller holds it.
    ///
    /// # Errors
    /// If the build is broken; then nothing may be screened.
    pub fn load() -> Result<Self, BadData> {
        Ok(Self {
            bank: Bank::load()?,
            rules: Rules::load()?,
            shelf: Shelf::load()?,
        })
    }

    /// Judges a case. See [`screen`].
    ///
    /// # Errors
    /// The first field of the case that cannot be used.
    pub fn screen(&self, case: &Case) -> Result<Screening, Fault> {
        screen(&self.bank, &self.rules, &self.shelf, case)
    }
}

impl Screening {
    /// What the screening comes to, for comparing two of them: the verdict, and what the plan
    /// must change. From a stop on there is no plan, so nothing of it changes.
    #[must_use]
    pub fn effect(&self) -> (Option<Outcome>, flat::Set<String>) {
        let mut changes = flat::Set::new();
        if self.verdict.is_none_or(|v| v < Outcome::Stop) {
            for finding in &self.findings {
                for cause in Causes::of(finding) {
                    changes.insert(cause);
                }
            }
        }
        let level = self.verdict.map(|v| match v {
            Outcome::NoElectro | Outcome::NoTopical => Outcome::Omit,
            other => other,
        });
        (level, changes)
    }
}

/// Names for changes to a plan. Two findings that change the same have the same names.
struct Causes;

impl Causes {
    fn of(finding: &Finding) -> Vec<String> {
        let hard = finding.overriding == Override::Never;
        let places: Vec<String> = if finding.targets.is_empty() {
            vec![String::new()]
        } else {
            finding.targets.iter().flat_map(Self::halves).collect()
        };
        Self::names(finding.outcome, hard, &places, &finding.caps)
    }

    fn halves(target: &Target) -> Vec<String> {
        let halves = |name: &str, side: Side| match side {
            Side::Both => vec![format!("{name}.right"), format!("{name}.left")],
            one => vec![format!("{name}.{}", one.name())],
        };
        match target {
            Target::Point(name, side) | Target::Set(name, side) => halves(name, *side),
            Target::Region(region) => halves(region.area.name(), region.side),
            Target::Kind(_) => vec![target.name()],
        }
    }

    fn names(outcome: Outcome, hard: bool, places: &[String], caps: &[Cap]) -> Vec<String> {
        let mut out = Vec::new();
        for place in places {
            match outcome {
                Outcome::Omit => {
                    out.push(format!("omit {place}"));
                    if hard {
                        out.push(format!("omit hard {place}"));
                    }
                }
                Outcome::NoTopical | Outcome::NoElectro => {
                    out.push(format!("{} {place}", outcome.name()));
                }
                Outcome::Limit => {
                    for cap in caps {
                        out.push(format!("limit {cap:?} {place}"));
                    }
                }
                _ => {}
            }
        }
        out
    }
}

/// Where a line comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Origin {
    Rule(usize),
    Exit(u16),
    Label(usize),
}

/// One consequence at one place.
struct Line {
    origin: Origin,
    node: Node,
    targets: Vec<Target>,
    /// Holds, but touches nothing that is planned.
    misses: bool,
    /// A further question the line hangs on: where something is.
    place_question: Option<u16>,
}

/// What an origin says, whoever wrote it.
struct Saying {
    rule: String,
    part: Option<String>,
    outcome: Outcome,
    caps: Vec<Cap>,
    hard: bool,
    refer: Option<(String, Urgency)>,
    words: String,
    source: Vec<String>,
    mark: Mark,
    policy: bool,
}

/// A label's consequence: a condition, and what it says.
struct Label {
    when: Expr,
    saying: Saying,
}

/// Judges a case by the rules.
///
/// # Errors
/// The first field of the case that cannot be used: an unknown id, a number out of range, dates
/// that contradict one another.
pub fn screen(bank: &Bank, rules: &Rules, shelf: &Shelf, case: &Case) -> Result<Screening, Fault> {
    case.check(bank, rules, shelf)?;
    Ok(Judge::new(bank, rules, shelf, case).judge())
}

struct Judge<'a> {
    ground: Ground<'a>,
    labels: Vec<Label>,
    lines: Vec<Line>,
    /// The area of each planned point.
    point_areas: Vec<Option<Area>>,
}

impl<'a> Judge<'a> {
    fn new(bank: &'a Bank, rules: &'a Rules, shelf: &'a Shelf, case: &'a Case) -> Self {
        let mut ground = Ground::new(bank, rules, shelf, case);
        let labels = labels(&mut ground, shelf);
        let mut judge = Self {
            ground,
            labels,
            lines: Vec::new(),
            point_areas: case
                .points
                .iter()
                .map(|p| case.area_of(rules, &p.code))
                .collect(),
        };
        for (at, rule) in rules.rules.iter().chain(&case.own).enumerate() {
            judge.add_rule(at, rule);
        }
        for at in 0..judge.labels.len() {
            let Some((when, cautious)) = judge
                .labels
                .get(at)
                .map(|l| (l.when.clone(), l.saying.outcome < Outcome::Refer))
            else {
                continue;
            };
            let node = judge.ground.ground(&when, cautious);
            judge.push(Origin::Label(at), node, Vec::new(), false, None);
        }
        judge
    }

    fn push(
        &mut self,
        origin: Origin,
        node: Node,
        targets: Vec<Target>,
        misses: bool,
        place_question: Option<u16>,
    ) {
        if node != Node::Const(false) {
            self.lines.push(Line {
                origin,
                node,
                targets,
                misses,
                place_question,
            });
        }
    }

    fn add_rule(&mut self, at: usize, rule: &Rule) {
        // What caps or leaves out applies if it might; what stops leaves it to the way out.
        let cautious = matches!(
            rule.outcome,
            Outcome::Omit | Outcome::Limit | Outcome::NoElectro | Outcome::NoTopical
        );
        let mut exited = flat::Set::new();
        self.ground.exited(&rule.when, &mut exited);
        if !exited.is_empty() {
            let might = self.ground.ground(&rule.when, true);
            let does = self.ground.ground(&rule.when, false);
            let unsure = Node::all([might, not(does)]);
            for question in exited {
                self.push(
                    Origin::Exit(question),
                    unsure.clone(),
                    Vec::new(),
                    false,
                    None,
                );
            }
        }
        let base = self.ground.ground(&rule.when, cautious);
        if base == Node::Const(false) {
            return;
        }
        if rule.to.is_empty() {
            self.push(Origin::Rule(at), base, Vec::new(), false, None);
            return;
        }
        for aim in &rule.to {
            let extra = match &aim.only_if {
                Some(expr) => self.ground.ground(expr, cautious),
                None => Node::Const(true),
            };
            let when = Node::all([base.clone(), extra]);
            if let Spot::Places(question) = aim.to {
                for &area in Area::ALL {
                    for side in [Side::Right, Side::Left] {
                        let place = self.ground.place(question, area, side, cautious);
                        let node = Node::all([when.clone(), place]);
                        let whole = Target::Region(Region { area, side });
                        self.aim(at, node, whole, Some(question));
                    }
                }
            } else if let Some(whole) = self.whole(&aim.to) {
                self.aim(at, when, whole, None);
            }
        }
    }

    fn whole(&self, spot: &Spot) -> Option<Target> {
        Some(match spot {
            Spot::Point(code, side) => Target::Point(code.clone(), side.unwrap_or(Side::Both)),
            Spot::Set(set, side) => Target::Set(
                self.ground.rules.sets.get(usize::from(*set))?.name.clone(),
                side.unwrap_or(Side::Both),
            ),
            Spot::Region(region) => Target::Region(*region),
            Spot::Kind(kind) => Target::Kind(*kind),
            Spot::Places(_) => return None,
        })
    }

    /// Adds a line for a target: for what it hits of the plan, or whole while there is no plan.
    fn aim(&mut self, at: usize, node: Node, whole: Target, place_question: Option<u16>) {
        if node == Node::Const(false) {
            return;
        }
        if self.ground.case.points.is_empty() {
            self.push(Origin::Rule(at), node, vec![whole], false, place_question);
            return;
        }
        let hits = self.hits(&whole);
        if hits.is_empty() {
            self.push(Origin::Rule(at), node, vec![whole], true, place_question);
        } else {
            self.push(Origin::Rule(at), node, hits, false, place_question);
        }
    }

    /// What a target hits of the plan: planned points, each on the side that is meant.
    fn hits(&self, whole: &Target) -> Vec<Target> {
        let rules = self.ground.rules;
        let mut out = flat::Set::new();
        for (point, area) in self.ground.case.points.iter().zip(&self.point_areas) {
            let side = match whole {
                Target::Point(code, side) if *code == point.code => *side,
                Target::Set(name, side)
                    if rules
                        .sets
                        .iter()
                        .any(|s| s.name == *name && self.ground.case.is_in(s, &point.code)) =>
                {
                    *side
                }
                Target::Region(region) if *area == Some(region.area) => region.side,
                Target::Kind(kind) if *kind == point.kind => Side::Both,
                _ => continue,
            };
            let hit = match (side, point.side) {
                // A centre point belongs to both halves.
                (_, Side::Centre) => Some(Side::Centre),
                (Side::Both | Side::Centre, planned) => Some(planned),
                (one, Side::Both) => Some(one),
                (one, planned) if one == planned => Some(one),
                _ => None,
            };
            if let Some(side) = hit {
                out.insert(Target::Point(point.code.clone(), side));
            }
        }
        out.into_iter().collect()
    }

    fn saying(&self, origin: Origin) -> Option<Saying> {
        match origin {
            Origin::Rule(at) => {
                let rule = self.ground.rule(at)?;
                Some(Saying {
                    rule: rule.id.clone(),
                    part: rule.part.clone(),
                    outcome: rule.outcome,
                    caps: rule.limits.iter().map(|l| self.cap(*l)).collect(),
                    hard: rule.hard,
                    refer: rule.refer.clone(),
                    words: self.words(&rule.words),
                    source: rule.source.clone(),
                    mark: rule.mark,
                    policy: rule.policy,
                })
            }
            Origin::Exit(question) => {
                let Some(State::Exited(exit)) = self.ground.states.get(usize::from(question))
                else {
                    return None;
                };
                Some(Saying {
                    rule: exit.rule.clone(),
                    part: Some("not_known".to_string()),
                    outcome: exit.outcome,
                    caps: exit.limits.iter().map(|l| self.cap(*l)).collect(),
                    hard: false,
                    refer: None,
                    words: self.words(&exit.words),
                    source: exit.source.clone(),
                    mark: exit.mark,
                    policy: exit.policy,
                })
            }
            Origin::Label(at) => {
                let saying = &self.labels.get(at)?.saying;
                Some(Saying {
                    rule: saying.rule.clone(),
                    part: saying.part.clone(),
                    outcome: saying.outcome,
                    caps: saying.caps.clone(),
                    hard: saying.hard,
                    refer: saying.refer.clone(),
                    words: saying.words.clone(),
                    source: saying.source.clone(),
                    mark: saying.mark,
                    policy: saying.policy,
                })
            }
        }
    }

    fn figure(&self, setting: u16) -> Milli {
        self.ground.case.setting(self.ground.rules, setting)
    }

    fn cap(&self, limit: Limit) -> Cap {
        let whole = |setting| {
            let n = self.figure(setting).0.checked_div(1000).unwrap_or(0);
            u32::try_from(n).unwrap_or(0)
        };
        match limit {
            Limit::Needles(s) => Cap::Needles(whole(s)),
            Limit::Minutes(s) => Cap::Minutes(whole(s)),
            Limit::CreamMinutes(s) => Cap::CreamMinutes(whole(s)),
            // Thousandths of a millimetre are micrometres.
            Limit::DepthMm(s) => {
                Cap::Depth(Micrometres(u32::try_from(self.figure(s).0).unwrap_or(0)))
            }
            plain => Cap::Plain(plain),
        }
    }

    fn number(&self, question: u16) -> Option<Milli> {
        match self.ground.states.get(usize::from(question))? {
            State::Known(Value::Number(n)) => Some(*n),
            _ => None,
        }
    }

    fn days(&self, question: u16) -> Option<Milli> {
        match self.ground.states.get(usize::from(question))? {
            State::Known(Value::Date(d)) => {
                Some(Milli::whole(i64::from(self.ground.case.date.since(*d))))
            }
            _ => None,
        }
    }

    /// The sentence with today's figures.
    fn words(&self, words: &Words) -> String {
        let unknown = self.ground.rules.say("not_known_figure", &[]);
        let mut out = String::new();
        for piece in &words.0 {
            let number = match piece {
                Piece::Text(text) => {
                    out.push_str(text);
                    continue;
                }
                Piece::Setting(at) => Some(self.figure(*at)),
                Piece::Answer(q) => self.number(*q),
                Piece::Days(q) => self.days(*q),
                Piece::Left(s, q) => self.number(*q).map(|n| self.left(*s, n)),
                Piece::LeftDays(s, q) => self.days(*q).map(|n| self.left(*s, n)),
            };
            match number {
                Some(n) => out.push_str(&n.to_string()),
                None => out.push_str(&unknown),
            }
        }
        // A pair, such as a blood pressure, is said to be unknown once.
        out.replace(&alloc::format!("{unknown}/{unknown}"), &unknown)
    }

    fn left(&self, setting: u16, less: Milli) -> Milli {
        Milli(self.figure(setting).0.saturating_sub(less.0).max(0))
    }

    fn when(&self, origin: Origin) -> Option<&Expr> {
        match origin {
            Origin::Rule(at) => self.ground.rule(at).map(|r| &r.when),
            Origin::Label(at) => self.labels.get(at).map(|l| &l.when),
            Origin::Exit(_) => None,
        }
    }

    fn id_of(&self, question: u16) -> Option<String> {
        let question = self.ground.bank.questions.get(usize::from(question))?;
        Some(question.id.clone())
    }

    fn ids_of(&self, questions: &flat::Set<u16>) -> Vec<String> {
        let ids: flat::Set<String> = questions.iter().filter_map(|q| self.id_of(*q)).collect();
        ids.into_iter().collect()
    }

    /// The questions whose answers lines still wait for.
    fn questions_of(&self, lines: &[&Line]) -> flat::Set<u16> {
        let mut vars = flat::Set::new();
        lines.iter().for_each(|l| l.node.vars(&mut vars));
        vars.iter()
            .filter_map(|v| self.ground.vars.get(usize::from(*v)))
            .map(|v| v.question)
            .collect()
    }

    fn finding(&self, origin: Origin, lines: &[&Line]) -> Option<Finding> {
        let saying = self.saying(origin)?;
        let mut because = match (origin, self.when(origin)) {
            (Origin::Exit(question), _) => self.id_of(question).into_iter().collect(),
            (_, Some(when)) => self.ground.because(when).1,
            (_, None) => flat::Set::new(),
        };
        for line in lines {
            because.extend(line.place_question.and_then(|q| self.id_of(q)));
            if let (Origin::Rule(at), false) = (origin, line.targets.is_empty()) {
                because.extend(self.aim_reasons(at));
            }
        }
        // Where no cream may lie is not for a reason to lift, though needling there may go on.
        let cream_clear = saying.caps.contains(&Cap::Plain(Limit::CreamClear));
        let never = !rules::passable(saying.outcome, saying.hard, cream_clear);
        Some(Finding {
            rule: saying.rule,
            part: saying.part,
            outcome: saying.outcome,
            could_be: None,
            targets: joined(lines.iter().flat_map(|l| l.targets.iter().cloned())),
            caps: saying.caps,
            refer: saying.refer,
            because: because.into_iter().collect(),
            words: saying.words,
            source: saying.source,
            mark: saying.mark,
            policy: saying.policy,
            overriding: if never {
                Override::Never
            } else {
                Override::Reason
            },
        })
    }

    /// Questions that decide which of a rule's targets are meant.
    fn aim_reasons(&self, at: usize) -> flat::Set<String> {
        let mut out = flat::Set::new();
        let aims = self.ground.rule(at).map_or(&[][..], |r| &r.to);
        for expr in aims.iter().filter_map(|a| a.only_if.as_ref()) {
            let (truth, why) = self.ground.because(expr);
            if truth.possible() {
                out.extend(why);
            }
        }
        out
    }

    /// The names of the changes a line makes.
    fn changes(&self, line: &Line, saying: &Saying) -> Vec<String> {
        if line.misses {
            return Vec::new();
        }
        let places: Vec<String> = if line.targets.is_empty() {
            vec![String::new()]
        } else {
            line.targets.iter().flat_map(Causes::halves).collect()
        };
        Causes::names(saying.outcome, saying.hard, &places, &saying.caps)
    }

    fn judge(&self) -> Screening {
        let mut names: flat::Map<String, u32> = flat::Map::new();
        let mut sayings: flat::Map<Origin, Saying> = flat::Map::new();
        let mut lamps = Vec::new();
        for (at, line) in self.lines.iter().enumerate() {
            if !sayings.contains_key(&line.origin) {
                let Some(saying) = self.saying(line.origin) else {
                    continue;
                };
                sayings.insert(line.origin, saying);
            }
            let Some(saying) = sayings.get(&line.origin) else {
                continue;
            };
            if line.misses {
                continue;
            }
            let changes = self
                .changes(line, saying)
                .into_iter()
                .map(|name| {
                    let next = u32::try_from(names.len()).unwrap_or(u32::MAX);
                    *names.or_insert(name, next)
                })
                .collect();
            lamps.push(Lamp {
                node: line.node.clone(),
                level: saying.outcome.level(),
                changes,
                line: at,
            });
        }
        // Where a smallest group of rules is sought, which of several is found hangs on this order: it
        // is that of their names, not of the file, and what only a way out says is dropped first.
        flat::sort_by(&mut lamps, |a, b| {
            let key = |lamp: &Lamp| {
                let origin = self.lines.get(lamp.line).map(|l| l.origin)?;
                let saying = sayings.get(&origin)?;
                let exit = matches!(origin, Origin::Exit(_));
                Some((!exit, &saying.rule, &saying.part, lamp.line))
            };
            key(a).cmp(&key(b))
        });
        let mut certain = Certain::default();
        for lamp in lamps.iter().filter(|l| l.node == Node::Const(true)) {
            certain.level = certain.level.max(Some(lamp.level));
            certain.changes.extend(lamp.changes.iter().copied());
        }
        let loosened = loosened(self.ground.rules, self.ground.case);
        if !loosened.is_empty() {
            certain.level = certain.level.max(Some(Outcome::Record.level()));
        }

        let board = Board::new(&lamps, &self.ground.vars, &certain);
        let open = board.open();
        let open_ids: flat::Set<u16> = open.iter().map(|o| o.question).collect();

        let mut fired: flat::Map<Origin, Vec<&Line>> = flat::Map::new();
        let mut missed: flat::Map<Origin, Vec<&Line>> = flat::Map::new();
        let mut unsure: flat::Map<Origin, Vec<&Line>> = flat::Map::new();
        for line in &self.lines {
            let list = match (&line.node, line.misses) {
                (Node::Const(true), false) => &mut fired,
                (Node::Const(true), true) => &mut missed,
                (_, false) => &mut unsure,
                (_, true) => continue,
            };
            list.or_default(line.origin).push(line);
        }
        let mut findings: Vec<Finding> = fired
            .iter()
            .filter_map(|(origin, lines)| self.finding(*origin, lines))
            .collect();
        findings.extend(loosened);
        // The heaviest level that every completion reaches, though no single rule is certain.
        let levels = (0..=Outcome::Emergency.level()).rev();
        let inevitable = levels
            .filter(|level| certain.level.is_none_or(|l| *level > l))
            .map(|level| (level, board.inevitable(level)))
            .find(|(_, group)| !group.is_empty());
        if let Some((_, group)) = &inevitable {
            // Whatever is answered, one of these holds: no answer is needed to say so. What is
            // certain is only the weakest of them.
            let mut sure: flat::Map<Origin, Vec<&Line>> = flat::Map::new();
            for line in group.iter().filter_map(|at| self.lines.get(*at)) {
                sure.or_default(line.origin).push(line);
            }
            let sure: Vec<Finding> = sure
                .iter()
                .filter_map(|(origin, lines)| {
                    let mut finding = self.finding(*origin, lines)?;
                    finding.because = self.ids_of(&self.questions_of(lines));
                    finding.could_be = Some(finding.outcome);
                    Some(finding)
                })
                .collect();
            let least = sure.iter().map(|f| f.outcome).min_by_key(|o| o.level());
            findings.extend(sure.into_iter().map(|finding| Finding {
                outcome: least.unwrap_or(finding.outcome),
                ..finding
            }));
        }
        let reached = inevitable.map(|(level, _)| level).max(certain.level);
        let stopped = reached.is_some_and(|l| l >= STOP);
        for (origin, lines) in &unsure {
            let asked: flat::Set<u16> = self
                .questions_of(lines)
                .intersection(&open_ids)
                .copied()
                .collect();
            let Some(mut finding) = self.finding(*origin, lines) else {
                continue;
            };
            if asked.is_empty() || (stopped && finding.outcome < Outcome::Emergency) {
                continue;
            }
            finding.because = self.ids_of(&asked);
            finding.could_be = Some(finding.outcome);
            finding.outcome = Outcome::Ask;
            finding.overriding = Override::Never;
            finding.words = self.ground.rules.say("undecided", &[&finding.words]);
            findings.push(finding);
        }
        let verdict = findings.iter().map(|f| f.outcome).max_by_key(|o| o.level());
        flat::sort_by(&mut findings, |a, b| {
            // Of referrals the soonest first: it stands where two name the same clinician.
            let soon = |f: &Finding| f.refer.as_ref().map(|(_, urgency)| *urgency);
            (b.outcome.level(), soon(b), &a.rule, &a.part, &a.outcome).cmp(&(
                a.outcome.level(),
                soon(a),
                &b.rule,
                &b.part,
                &b.outcome,
            ))
        });
        Screening {
            verdict,
            findings,
            standing: missed
                .iter()
                .filter_map(|(origin, lines)| self.finding(*origin, lines))
                .collect(),
            open: open.iter().filter_map(|o| self.id_of(o.question)).collect(),
            exact: board.unfinished.get() == 0,
        }
    }
}

fn not(node: Node) -> Node {
    match node {
        Node::Const(b) => Node::Const(!b),
        other => Node::Not(alloc::boxed::Box::new(other)),
    }
}

/// Joins left and right of the same thing into both.
fn joined(targets: impl Iterator<Item = Target>) -> Vec<Target> {
    let all: flat::Set<Target> = targets.collect();
    let mut out = flat::Set::new();
    for target in &all {
        let both = |name: &String, make: fn(String, Side) -> Target| {
            let (left, right) = (
                make(name.clone(), Side::Left),
                make(name.clone(), Side::Right),
            );
            let whole = make(name.clone(), Side::Both);
            if all.contains(&whole) || (all.contains(&left) && all.contains(&right)) {
                whole
            } else {
                target.clone()
            }
        };
        out.insert(match target {
            Target::Point(name, Side::Left | Side::Right) => both(name, Target::Point),
            Target::Set(name, Side::Left | Side::Right) => both(name, Target::Set),
            Target::Region(Region { area, side }) if *side != Side::Both => {
                let make = |side| Target::Region(Region { area: *area, side });
                if all.contains(&make(Side::Left)) && all.contains(&make(Side::Right)) {
                    make(Side::Both)
                } else {
                    target.clone()
                }
            }
            other => other.clone(),
        });
    }
    out.into_iter().collect()
}

/// Settings that are looser than the defaults: used, and said.
fn loosened(rules: &Rules, case: &Case) -> Vec<Finding> {
    rules
        .settings
        .iter()
        .filter_map(|setting| {
            let figure = case.settings.get(&setting.id)?;
            if !setting.loosened_by(*figure) {
                return None;
            }
            Some(Finding {
                rule: "ST1".to_string(),
                part: Some(setting.id.clone()),
                outcome: Outcome::Record,
                could_be: None,
                targets: Vec::new(),
                caps: Vec::new(),
                refer: None,
                because: vec![format!("settings.{}", setting.id)],
                words: rules.say(
                    "loosened",
                    &[
                        &setting.say,
                        &figure.to_string(),
                        &setting.default.to_string(),
                        &case
                            .reasons
                            .get(&setting.id)
                            .cloned()
                            .unwrap_or_else(|| rules.say("no_reason", &[])),
                    ],
                ),
                source: setting.source.clone(),
                mark: setting.mark,
                policy: true,
                overriding: Override::Reason,
            })
        })
        .collect()
}

/// What the label of today's cream and the practice's own caps say about the plan for it.
fn labels(ground: &mut Ground<'_>, shelf: &Shelf) -> Vec<Label> {
    let mut out = Vec::new();
    let (Some(product), Some(cream)) = (ground.product, ground.case.topical.clone()) else {
        return out;
    };
    let weight = ground
        .bank
        .position("weight")
        .and_then(|w| u16::try_from(w).ok());
    let rules = ground.rules;
    let n = |n: u32| n.to_string();
    for usage in &product.uses {
        let mut say = |part: &str, outcome: Outcome, id: &str, figures: &[&str]| {
            let mut figures = figures.to_vec();
            figures.push(&usage.words);
            out.push(Label {
                when: usage.when.clone(),
                saying: label_saying(usage, part, outcome, rules.say(id, &figures)),
            });
        };
        let barred = Outcome::NoTopical;
        if let Some(most) = usage.max_mg.filter(|m| cream.mg > *m) {
            say(
                "amount",
                barred,
                "cream_over_amount",
                &[&grams(cream.mg), &grams(most)],
            );
        }
        if let Some(most) = usage.max_area_cm2.filter(|m| cream.area_cm2 > *m) {
            say(
                "area",
                barred,
                "cream_over_area",
                &[&n(cream.area_cm2), &n(most)],
            );
        }
        let late = usage.typical_latest_min.is_some_and(|t| cream.minutes >= t);
        if let Some(most) = usage.latest_min.filter(|m| cream.minutes > *m) {
            say(
                "time",
                barred,
                "cream_over_time",
                &[&n(cream.minutes), &n(most)],
            );
        } else if late {
            say(
                "upper_end",
                Outcome::Record,
                "cream_at_upper_end",
                &[&n(cream.minutes)],
            );
        }
        if let Some(least) = usage.earliest_min.filter(|e| cream.minutes < *e) {
            say(
                "early",
                Outcome::Record,
                "cream_too_early",
                &[&n(cream.minutes), &n(least)],
            );
        }
        match usage.needed_mg(cream.area_cm2) {
            Some((least, most)) => {
                let figures = [n(cream.area_cm2), grams(least), grams(most)];
                let figures: Vec<&str> = figures.iter().map(String::as_str).collect();
                say("needed", Outcome::Record, "cream_needed", &figures);
            }
            None => say("label", Outcome::Record, "cream_label", &[]),
        }
        if let (Some(per_kg), Some(weight)) = (usage.max_ug_per_kg, weight) {
            let drug = product.drugs_mg(cream.mg).first().map_or(0, |(_, mg)| *mg);
            // Lightest body, in thousandths of a kilogram, that may have this much: mg * 1e6 / ug.
            let least = u64::from(drug)
                .saturating_mul(1_000_000)
                .checked_div(u64::from(per_kg))
                .unwrap_or(0);
            let least = Milli(i64::try_from(least).unwrap_or(i64::MAX));
            let light = Expr::Num(weight, Compare::Lt, Figure::Number(least));
            ground.add_edge(weight, least.0);
            let words = rules.say(
                "cream_over_weight",
                &[&n(drug), &least.to_string(), &usage.words],
            );
            out.push(Label {
                when: Expr::All(vec![usage.when.clone(), light]),
                saying: label_saying(usage, "weight", barred, words),
            });
        }
    }
    content(ground, shelf, product, cream.mg, &mut out);
    let anybody = product.uses.iter().map(|u| u.when.clone()).collect();
    let words = rules.say("cream_not_for", &[]);
    out.push(Label {
        when: Expr::Not(alloc::boxed::Box::new(Expr::Any(anybody))),
        saying: product_saying(product, "TL0", Outcome::NoTopical, words),
    });
    let mut over = |rule: &str, setting: &str, say: &str, planned: u32, cap: fn(u32) -> Cap| {
        let at = rules.settings.iter().position(|s| s.id == setting);
        let most = at
            .and_then(|at| u16::try_from(at).ok())
            .and_then(|at| ground.case.setting(rules, at).0.checked_div(1000))
            .and_then(|most| u32::try_from(most).ok())
            .unwrap_or(0);
        if planned > most {
            let words = rules.say(say, &[&n(planned), &n(most)]);
            let mut saying = product_saying(product, rule, Outcome::Limit, words);
            saying.caps = vec![cap(most)];
            out.push(Label {
                when: Expr::Cream,
                saying: chosen(saying),
            });
        }
    };
    over(
        "TP1",
        "cream_face_cm2",
        "cream_over_policy_area",
        cream.area_cm2,
        Cap::CreamArea,
    );
    over(
        "TP2",
        "cream_minutes",
        "cream_over_policy_time",
        cream.minutes,
        Cap::CreamMinutes,
    );
    out
}

/// What the cream holds, and with other numbing the day's sum of lidocaine beside what may be
/// injected. Both are shown and neither is measured by the other: these lines only record.
fn content(
    ground: &Ground<'_>,
    shelf: &Shelf,
    product: &Product,
    cream_mg: u32,
    out: &mut Vec<Label>,
) {
    let rules = ground.rules;
    let drugs = product.drugs_mg(cream_mg);
    let each = drugs
        .iter()
        .map(|(drug, mg)| rules.say("drug_mg", &[&mg.to_string(), drug]));
    let each = each.collect::<Vec<_>>().join(", ");
    let mut line = |part: &str, when: Expr, words: String, keys: &[&str]| {
        let mut saying = product_saying(product, "TA11", Outcome::Record, words);
        saying.part = Some(part.to_string());
        saying.source.extend(keys.iter().map(ToString::to_string));
        saying.mark = Mark::Derived;
        out.push(Label { when, saying });
    };
    let words = rules.say("cream_content", &[&grams(cream_mg), &each]);
    line("content", Expr::Cream, words, &[]);
    // Asked only when there was other numbing today.
    let other = ground.bank.question("other_lidocaine_mg");
    let Some(when) = other.and_then(|q| q.asked_when.clone()) else {
        return;
    };
    if ground.because(&when).0 != Truth::Yes {
        return;
    }
    let on_skin = drugs.iter().find(|(drug, _)| *drug == "lidocaine");
    let on_skin = on_skin.map_or(0, |(_, mg)| *mg);
    let other = ground.number("other_lidocaine_mg");
    let shown =
        |n: Option<Milli>| n.map_or_else(|| rules.say("not_known_figure", &[]), |n| n.to_string());
    let sum = other.map(|o| Milli(o.0.saturating_add(Milli::whole(i64::from(on_skin)).0)));
    let weight = ground.number("weight");
    let ceilings = shelf.injections.iter().map(|row| {
        let body = weight.and_then(|kg| u32::try_from(kg.0).ok());
        match (
            weight,
            body.and_then(|g| shelf.injection_ceiling_mg(&row.id, g)),
        ) {
            (Some(kg), Some(mg)) => rules.say(
                "injection_for",
                &[&row.name, &mg.to_string(), &kg.to_string()],
            ),
            _ => rules.say(
                "injection_ceiling",
                &[
                    &row.name,
                    &row.max_mg.to_string(),
                    &grams(row.max_ug_per_kg),
                ],
            ),
        }
    });
    let ceilings = ceilings.collect::<Vec<_>>().join("; ");
    let words = rules.say(
        "day_sum",
        &[
            &on_skin.to_string(),
            &shown(other),
            &shown(sum),
            &ceilings,
            &rules.say("cream_is_not_injection", &[]),
        ],
    );
    line("sum", when, words, &["US-INJ"]);
}

/// Whole milligrams as grams.
fn grams(mg: u32) -> String {
    Milli(i64::from(mg)).to_string()
}

fn label_saying(usage: &Use, part: &str, outcome: Outcome, words: String) -> Saying {
    Saying {
        rule: usage.rule.clone(),
        part: Some(part.to_string()),
        outcome,
        caps: Vec::new(),
        hard: false,
        refer: None,
        words,
        source: usage.source.clone(),
        mark: usage.mark,
        policy: usage.policy,
    }
}

fn product_saying(product: &Product, rule: &str, outcome: Outcome, words: String) -> Saying {
    Saying {
        rule: rule.to_string(),
        part: None,
        outcome,
        caps: Vec::new(),
        hard: false,
        refer: None,
        words,
        source: product.source.clone(),
        mark: product.mark,
        policy: false,
    }
}

/// Marks a saying as the practice's own choice of figure.
fn chosen(mut saying: Saying) -> Saying {
    saying.source = ["UK-4", "FDA24", "POLICY"].map(String::from).to_vec();
    saying.mark = Mark::Policy;
    saying.policy = true;
    saying
}

#[cfg(test)]
mod tests;
