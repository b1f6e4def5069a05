//! Cuts a case into cells. Every answer that is still open becomes one or more *variables*: a
//! yes-no question has two cells, a choice one for each option, a number or date one for each
//! stretch between the rules' thresholds, a question with several answers two for each option, a
//! question about places two for each half of an area. A rule's condition becomes a small tree
//! over cells in which everything already known is folded away.

use crate::atlas::{Area, Side};
use crate::base::flat;
use crate::intake::{Bank, Compare, Exit, Expr, Figure, Kind, Milli, Question, Reply, Span, Value};
use crate::screening::case::{BIRTH_DATE, Case};
use crate::screening::rules::{Rule, Rules};
use crate::topical::{Product, Shelf};
use alloc::boxed::Box;
use alloc::string::{String, ToString};
use alloc::vec::Vec;

use crate::base::truth::Truth;

/// A condition over cells.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Node {
    /// Decided.
    Const(bool),
    /// The variable lies in one of the cells of the mask.
    Atom(u16, u64),
    Not(Box<Node>),
    All(Vec<Node>),
    Any(Vec<Node>),
    /// Weights of those that hold reach the least.
    Score(i64, Vec<(i64, Node)>),
}

/// An open part of an answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Var {
    /// Whose answer.
    pub question: u16,
    /// How many cells it is cut into.
    pub cells: u8,
}

/// Which part of a question's answer a variable stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Part {
    Whole,
    Option(u16),
    Place(Area, Side),
}

/// What is known of a question.
#[derive(Clone, Debug)]
pub(crate) enum State<'a> {
    Known(&'a Value),
    /// A date of birth that stands on the person's page.
    Born(Value),
    /// Asked and not known, with its own consequence.
    Exited(&'a Exit),
    Open,
}

/// A case and everything that is known of it.
pub(crate) struct Ground<'a> {
    pub bank: &'a Bank,
    pub rules: &'a Rules,
    pub case: &'a Case,
    pub product: Option<&'a Product>,
    pub states: Vec<State<'a>>,
    pub vars: Vec<Var>,
    parts: flat::Map<(u16, Part), u16>,
    /// For numbers and dates, where cells begin: thousandths, or days ago.
    edges: Vec<Vec<i64>>,
    /// For questions with several answers, which sets of options conditions speak of.
    masks: flat::Map<u16, flat::Set<u64>>,
}

impl Node {
    fn not(self) -> Self {
        match self {
            Self::Const(b) => Self::Const(!b),
            Self::Not(inner) => *inner,
            other => Self::Not(Box::new(other)),
        }
    }

    /// All of the parts, folded.
    pub fn all(parts: impl IntoIterator<Item = Self>) -> Self {
        let mut kept = Vec::new();
        for part in parts {
            match part {
                Self::Const(true) => {}
                Self::Const(false) => return Self::Const(false),
                Self::All(inner) => kept.extend(inner),
                other => kept.push(other),
            }
        }
        match (kept.pop(), kept.is_empty()) {
            (None, _) => Self::Const(true),
            (Some(only), true) => only,
            (Some(last), false) => {
                kept.push(last);
                Self::All(kept)
            }
        }
    }

    /// Any of the parts, folded.
    pub fn any(parts: impl IntoIterator<Item = Self>) -> Self {
        let mut kept = Vec::new();
        for part in parts {
            match part {
                Self::Const(false) => {}
                Self::Const(true) => return Self::Const(true),
                Self::Any(inner) => kept.extend(inner),
                other => kept.push(other),
            }
        }
        match (kept.pop(), kept.is_empty()) {
            (None, _) => Self::Const(false),
            (Some(only), true) => only,
            (Some(last), false) => {
                kept.push(last);
                Self::Any(kept)
            }
        }
    }

    fn score(least: i64, parts: Vec<(i64, Self)>) -> Self {
        let mut kept = Vec::new();
        let mut still = least;
        for (weight, part) in parts {
            match part {
                Self::Const(true) => still = still.saturating_sub(weight),
                Self::Const(false) => {}
                other => kept.push((weight, other)),
            }
        }
        let most = kept.iter().fold(0_i64, |n, (w, _)| n.saturating_add(*w));
        if still <= 0 {
            Self::Const(true)
        } else if most < still {
            Self::Const(false)
        } else {
            Self::Score(still, kept)
        }
    }

    /// Truth under a partial choice of cells; `None` for a variable that is not chosen.
    pub fn truth(&self, cell: &impl Fn(u16) -> Option<u8>) -> Truth {
        match self {
            Self::Const(b) => Truth::from(*b),
            Self::Atom(var, mask) => cell(*var).map_or(Truth::Unknown, |c| {
                Truth::from(mask.checked_shr(u32::from(c)).unwrap_or(0) & 1 == 1)
            }),
            Self::Not(inner) => inner.truth(cell).not(),
            Self::All(parts) => {
                let mut truth = Truth::Yes;
                for part in parts {
                    truth = truth.and(part.truth(cell));
                    if truth == Truth::No {
                        break;
                    }
                }
                truth
            }
            Self::Any(parts) => {
                let mut truth = Truth::No;
                for part in parts {
                    truth = truth.or(part.truth(cell));
                    if truth == Truth::Yes {
                        break;
                    }
                }
                truth
            }
            Self::Score(least, parts) => {
                let (mut sure, mut possible) = (0_i64, 0_i64);
                for (weight, part) in parts {
                    match part.truth(cell) {
                        Truth::Yes => {
                            sure = sure.saturating_add(*weight);
                            possible = possible.saturating_add(*weight);
                        }
                        Truth::Unknown => possible = possible.saturating_add(*weight),
                        Truth::No => {}
                    }
                }
                if sure >= *least {
                    Truth::Yes
                } else if possible >= *least {
                    Truth::Unknown
                } else {
                    Truth::No
                }
            }
        }
    }

    /// The variables in it.
    pub fn vars(&self, out: &mut flat::Set<u16>) {
        match self {
            Self::Const(_) => {}
            Self::Atom(var, _) => {
                out.insert(*var);
            }
            Self::Not(inner) => inner.vars(out),
            Self::All(parts) | Self::Any(parts) => parts.iter().for_each(|p| p.vars(out)),
            Self::Score(_, parts) => parts.iter().for_each(|(_, p)| p.vars(out)),
        }
    }
}

/// Rounds `n / by` up and down; `by` is positive.
fn ceil_div(n: i64, by: i64) -> i64 {
    n.saturating_add(by.saturating_sub(1))
        .checked_div_euclid(by)
        .unwrap_or(0)
}

fn floor_div(n: i64, by: i64) -> i64 {
    n.checked_div_euclid(by).unwrap_or(0)
}

fn bit(option: u16) -> u64 {
    1_u64.checked_shl(u32::from(option)).unwrap_or(0)
}

/// The options named directly among alternatives, joined by question, and the other alternatives.
fn split(parts: &[Expr]) -> (flat::Map<u16, u64>, impl Iterator<Item = &Expr>) {
    let mut masks: flat::Map<u16, u64> = flat::Map::new();
    for part in parts {
        if let Expr::Has(question, option) = part {
            *masks.or_default(*question) |= bit(*option);
        }
    }
    let others = parts.iter().filter(|p| !matches!(p, Expr::Has(..)));
    (masks, others)
}

/// Every set of options that a condition speaks of as one.
fn find_masks(expr: &Expr, out: &mut flat::Map<u16, flat::Set<u64>>) {
    match expr {
        Expr::Any(parts) => {
            let (masks, others) = split(parts);
            for (question, mask) in masks {
                out.or_default(question).insert(mask);
            }
            others.for_each(|p| find_masks(p, out));
        }
        Expr::All(parts) => parts.iter().for_each(|p| find_masks(p, out)),
        Expr::Score(_, parts) => parts.iter().for_each(|(_, p)| find_masks(p, out)),
        Expr::Not(part) => find_masks(part, out),
        Expr::Has(question, option) => {
            out.or_default(*question).insert(bit(*option));
        }
        _ => {}
    }
}

impl<'a> Ground<'a> {
    /// Reads the case: which answers hold, and where the cells of numbers and dates begin.
    pub fn new(bank: &'a Bank, rules: &'a Rules, shelf: &'a Shelf, case: &'a Case) -> Self {
        let product = case
            .topical
            .as_ref()
            .and_then(|cream| shelf.product(&cream.product));
        let states = bank
            .questions
            .iter()
            .map(|question| Self::state(bank, case, question))
            .collect();
        let mut ground = Self {
            bank,
            rules,
            case,
            product,
            states,
            vars: Vec::new(),
            parts: flat::Map::new(),
            edges: bank.questions.iter().map(|_| Vec::new()).collect(),
            masks: flat::Map::new(),
        };
        let gates = bank.questions.iter().filter_map(|q| q.asked_when.as_ref());
        let judged = rules.rules.iter().chain(&case.own);
        let whens = judged.clone().map(|r| &r.when);
        let aims = judged.flat_map(|r| &r.to);
        let aims = aims.filter_map(|a| a.only_if.as_ref());
        let uses = product.iter().flat_map(|p| &p.uses).map(|u| &u.when);
        let mut found = Vec::new();
        for expr in gates.chain(whens).chain(aims).chain(uses) {
            ground.find_edges(expr, &mut found);
            find_masks(expr, &mut ground.masks);
        }
        for (question, edge) in found {
            ground.add_edge(question, edge);
        }
        ground
    }

    /// A rule by its place: the built-in ones, then the practice's own.
    pub fn rule(&self, at: usize) -> Option<&'a Rule> {
        self.rules.rules.iter().chain(&self.case.own).nth(at)
    }

    /// The number answered to a question, if it is known.
    pub fn number(&self, id: &str) -> Option<Milli> {
        match self.states.get(self.bank.position(id)?)? {
            State::Known(Value::Number(n)) => Some(*n),
            _ => None,
        }
    }

    /// Options that every condition treats alike are one variable: whether any of them is true.
    /// Gives the least option of each such class within the mask. Exact, because no condition can
    /// tell the members of a class apart.
    fn classes(&self, question: u16, mask: u64) -> Vec<u16> {
        let masks = self.masks.get(&question);
        let signature = |option: u16| -> Vec<bool> {
            let sets = masks.into_iter().flatten();
            sets.map(|m| m.checked_shr(u32::from(option)).unwrap_or(0) & 1 == 1)
                .collect()
        };
        let mut seen = flat::Set::new();
        (0..64_u16)
            .filter(|o| mask.checked_shr(u32::from(*o)).unwrap_or(0) & 1 == 1)
            .filter(|o| seen.insert(signature(*o)))
            .collect()
    }

    /// Whether any option of the mask is among the answers.
    fn any_option(&mut self, question: u16, mask: u64, reading: bool) -> Node {
        let options = if matches!(self.states.get(usize::from(question)), Some(State::Open)) {
            self.classes(question, mask)
        } else {
            (0..64_u16)
                .filter(|o| mask.checked_shr(u32::from(*o)).unwrap_or(0) & 1 == 1)
                .collect()
        };
        let parts: Vec<Node> = options
            .into_iter()
            .map(|option| {
                self.fact(
                    question,
                    Part::Option(option),
                    reading,
                    |g, value| g.includes(question, option, value),
                    |_| (2, 0b10),
                )
            })
            .collect();
        Node::any(parts)
    }

    fn state(bank: &'a Bank, case: &'a Case, question: &'a Question) -> State<'a> {
        if question.id == BIRTH_DATE
            && let Some(born) = case.birth_date
        {
            return State::Born(Value::Date(born));
        }
        if !bank.holds(question, &case.answers, case.date) {
            return State::Open;
        }
        match case.answers.get(&question.id).map(|a| &a.reply) {
            Some(Reply::Known(value)) => State::Known(value),
            Some(Reply::Unknown(reason)) => {
                question.exit(*reason).map_or(State::Open, State::Exited)
            }
            None => State::Open,
        }
    }

    /// Adds an edge that a condition of the caller's own making needs.
    pub fn add_edge(&mut self, question: u16, edge: i64) {
        let (low, high, step) = self.span_of(question);
        let edge = ceil_div(edge, step).saturating_mul(step);
        let Some(edges) = self.edges.get_mut(usize::from(question)) else {
            return;
        };
        if edge > low
            && edge <= high
            && let Err(at) = edges.binary_search(&edge)
        {
            edges.insert(at, edge);
        }
    }

    /// Least, most and step of a number (thousandths) or of the days since a date.
    fn span_of(&self, question: u16) -> (i64, i64, i64) {
        let Some(question) = self.bank.questions.get(usize::from(question)) else {
            return (0, 0, 1);
        };
        match &question.kind {
            Kind::Number { min, max, step, .. } => (min.0, max.0, step.0.max(1)),
            _ => {
                let first = self
                    .case
                    .birth_date
                    .filter(|_| question.id != BIRTH_DATE)
                    .or_else(|| crate::base::date::Date::new(1800, 1, 1).ok())
                    .unwrap_or(self.case.date);
                (0, i64::from(self.case.date.since(first)), 1)
            }
        }
    }

    fn figure(&self, figure: Figure) -> i64 {
        match figure {
            Figure::Number(n) => n.0,
            Figure::Setting(at) => self.case.setting(self.rules, at).0,
        }
    }

    /// Where a comparison turns: it holds below the edge if the flag says so, else from it on.
    fn turn(&self, compare: Compare, figure: i64, unit: i64) -> (i64, bool) {
        match compare {
            Compare::Lt => (ceil_div(figure, unit), true),
            Compare::Le => (floor_div(figure, unit).saturating_add(1), true),
            Compare::Gt => (floor_div(figure, unit).saturating_add(1), false),
            Compare::Ge => (ceil_div(figure, unit), false),
        }
    }

    /// The same in days ago.
    fn turn_days(&self, span: Span, compare: Compare, figure: Figure) -> (i64, bool) {
        let (edge, below) = self.turn(compare, self.figure(figure), 1000);
        let months = match span {
            Span::Days => return (edge, below),
            Span::Months => edge,
            Span::Years => edge.saturating_mul(12),
        };
        let months = u32::try_from(months.max(0)).unwrap_or(u32::MAX);
        let then = self.case.date.months_back(months);
        (i64::from(self.case.date.since(then)), below)
    }

    fn find_edges(&self, expr: &Expr, out: &mut Vec<(u16, i64)>) {
        match expr {
            Expr::All(parts) | Expr::Any(parts) => {
                parts.iter().for_each(|p| self.find_edges(p, out));
            }
            Expr::Not(part) => self.find_edges(part, out),
            Expr::Score(_, parts) => parts.iter().for_each(|(_, p)| self.find_edges(p, out)),
            Expr::Num(q, compare, figure) => {
                out.push((*q, self.turn(*compare, self.figure(*figure), 1).0));
            }
            Expr::Since(q, span, compare, figure) => {
                out.push((*q, self.turn_days(*span, *compare, *figure).0));
            }
            _ => {}
        }
    }

    fn var(&mut self, question: u16, part: Part, cells: usize) -> u16 {
        let next = u16::try_from(self.vars.len()).unwrap_or(u16::MAX);
        let vars = &mut self.vars;
        *self.parts.or_insert_with((question, part), || {
            vars.push(Var {
                question,
                cells: u8::try_from(cells.min(64)).unwrap_or(64),
            });
            next
        })
    }

    /// Whether the question is asked at all, as a tree.
    fn gate(&mut self, question: u16, reading: bool) -> Node {
        let bank = self.bank;
        match bank
            .questions
            .get(usize::from(question))
            .and_then(|q| q.asked_when.as_ref())
        {
            Some(expr) => self.ground(expr, reading),
            None => Node::Const(true),
        }
    }

    /// A fact about one question: known, honestly unknown, or a mask over a variable's cells.
    fn fact(
        &mut self,
        question: u16,
        part: Part,
        reading: bool,
        known: impl Fn(&Self, &Value) -> bool,
        open: impl Fn(&Self) -> (usize, u64),
    ) -> Node {
        let gate = self.gate(question, reading);
        if gate == Node::Const(false) {
            return gate;
        }
        let fact = match self.states.get(usize::from(question)) {
            None => Node::Const(false),
            Some(State::Known(value)) => Node::Const(known(self, value)),
            Some(State::Born(value)) => Node::Const(known(self, value)),
            Some(State::Exited(_)) => Node::Const(reading),
            Some(State::Open) => {
                let (cells, mask) = open(self);
                let full = u64::MAX
                    .checked_shr(64_u32.saturating_sub(u32::try_from(cells).unwrap_or(64)))
                    .unwrap_or(0);
                if mask & full == 0 {
                    Node::Const(false)
                } else if mask & full == full {
                    Node::Const(true)
                } else {
                    Node::Atom(self.var(question, part, cells), mask & full)
                }
            }
        };
        Node::all([gate, fact])
    }

    fn edge_mask(&self, question: u16, edge: i64, below: bool) -> (usize, u64) {
        let (low, _, _) = self.span_of(question);
        let edges: &[i64] = self
            .edges
            .get(usize::from(question))
            .map_or(&[], Vec::as_slice);
        let mut mask = 0_u64;
        let starts = core::iter::once(low).chain(edges.iter().copied());
        for (cell, start) in starts.take(64).enumerate() {
            if (start < edge) == below {
                mask |= 1_u64
                    .checked_shl(u32::try_from(cell).unwrap_or(63))
                    .unwrap_or(0);
            }
        }
        (edges.len().saturating_add(1), mask)
    }

    /// A condition as a tree over cells. `reading` says how an answer that was honestly not known
    /// reads at this place of the tree.
    pub fn ground(&mut self, expr: &Expr, reading: bool) -> Node {
        match expr {
            Expr::All(parts) => {
                let parts: Vec<Node> = parts.iter().map(|p| self.ground(p, reading)).collect();
                Node::all(parts)
            }
            Expr::Any(parts) => {
                let (masks, others) = split(parts);
                let mut nodes: Vec<Node> = others.map(|p| self.ground(p, reading)).collect();
                for (question, mask) in masks {
                    nodes.push(self.any_option(question, mask, reading));
                }
                Node::any(nodes)
            }
            Expr::Not(part) => self.ground(part, !reading).not(),
            Expr::Score(least, parts) => {
                let parts: Vec<(i64, Node)> = parts
                    .iter()
                    .map(|(weight, p)| (*weight, self.ground(p, reading)))
                    .collect();
                Node::score(*least, parts)
            }
            Expr::Is(q, mask) => {
                let mask = *mask;
                self.fact(
                    *q,
                    Part::Whole,
                    reading,
                    |g, value| {
                        let at = g.option_position(*q, value);
                        at.is_some_and(|at| mask.checked_shr(at).unwrap_or(0) & 1 == 1)
                    },
                    |g| (g.options(*q), mask),
                )
            }
            Expr::Has(q, option) => self.any_option(*q, bit(*option), reading),
            Expr::Num(q, compare, figure) => {
                let right = self.figure(*figure);
                let (edge, below) = self.turn(*compare, right, 1);
                self.fact(
                    *q,
                    Part::Whole,
                    reading,
                    |_, value| matches!(value, Value::Number(n) if compare.holds(n.0, right)),
                    |g| g.edge_mask(*q, edge, below),
                )
            }
            Expr::Since(q, span, compare, figure) => {
                let (edge, below) = self.turn_days(*span, *compare, *figure);
                self.fact(
                    *q,
                    Part::Whole,
                    reading,
                    |g, value| {
                        matches!(value, Value::Date(d)
                            if (i64::from(g.case.date.since(*d)) < edge) == below)
                    },
                    |g| g.edge_mask(*q, edge, below),
                )
            }
            _ => Node::Const(self.plain(expr)),
        }
    }

    /// Whether a region half is among the places answered to a question.
    pub fn place(&mut self, question: u16, area: Area, side: Side, reading: bool) -> Node {
        self.fact(
            question,
            Part::Place(area, side),
            reading,
            |_, value| {
                matches!(value, Value::Places(places) if places.iter().any(|r| r.area == area
                    && (r.side == side || matches!(r.side, Side::Both | Side::Centre))))
            },
            |_| (2, 0b10),
        )
    }

    /// Facts that are always known: they come with the case.
    fn plain(&self, expr: &Expr) -> bool {
        let case = self.case;
        match expr {
            Expr::Gap(span, compare, figure) => case.last_visit.is_some_and(|last| {
                let (edge, below) = self.turn_days(*span, *compare, *figure);
                (i64::from(case.date.since(last)) < edge) == below
            }),
            Expr::On(at) => case.setting(self.rules, *at) > Milli(0),
            Expr::FirstVisit => case.last_visit.is_none(),
            Expr::LeftIn => case.left_in > 0,
            Expr::Electro => case.electro,
            Expr::Cream => case.topical.is_some(),
            Expr::Wrap => case.topical.as_ref().is_some_and(|c| c.wrap),
            Expr::Trait(at) => self.product.is_some_and(|p| p.has(*at)),
            Expr::Plan(at) => self
                .rules
                .sets
                .get(usize::from(*at))
                .is_some_and(|set| case.points.iter().any(|p| case.is_in(set, &p.code))),
            Expr::Kind(kind) => case.points.iter().any(|p| p.kind == *kind),
            _ => false,
        }
    }

    fn options(&self, question: u16) -> usize {
        match self
            .bank
            .questions
            .get(usize::from(question))
            .map(|q| &q.kind)
        {
            Some(Kind::Choice(options) | Kind::Side(options)) => options.len(),
            _ => 2,
        }
    }

    fn option_position(&self, question: u16, value: &Value) -> Option<u32> {
        let kind = &self.bank.questions.get(usize::from(question))?.kind;
        match (kind, value) {
            (Kind::YesNo, Value::Yes(yes)) => Some(u32::from(*yes)),
            (Kind::Choice(options) | Kind::Side(options), Value::Choice(id)) => {
                let at = options.iter().position(|(o, _)| o == id)?;
                u32::try_from(at).ok()
            }
            _ => None,
        }
    }

    fn includes(&self, question: u16, option: u16, value: &Value) -> bool {
        let kind = self
            .bank
            .questions
            .get(usize::from(question))
            .map(|q| &q.kind);
        match (kind, value) {
            (Some(Kind::Several(options)), Value::Several(ids)) => options
                .get(usize::from(option))
                .is_some_and(|(id, _)| ids.contains(id)),
            _ => false,
        }
    }

    /// Three-valued truth of a condition, and the facts that make it so: ids of questions, or
    /// fields of the case.
    pub fn because(&self, expr: &Expr) -> (Truth, flat::Set<String>) {
        match expr {
            Expr::All(parts) => self.combine(parts.iter(), Truth::Yes, Truth::and),
            Expr::Any(parts) => self.combine(parts.iter(), Truth::No, Truth::or),
            Expr::Not(part) => {
                let (truth, why) = self.because(part);
                (truth.not(), why)
            }
            Expr::Score(least, parts) => {
                let (mut sure, mut possible) = (0_i64, 0_i64);
                let (mut yes, mut unknown) = (flat::Set::new(), flat::Set::new());
                for (weight, part) in parts {
                    let (truth, why) = self.because(part);
                    if truth == Truth::Yes {
                        sure = sure.saturating_add(*weight);
                        yes.extend(why);
                    } else if truth == Truth::Unknown {
                        possible = possible.saturating_add(*weight);
                        unknown.extend(why);
                    }
                }
                if sure >= *least {
                    (Truth::Yes, yes)
                } else if sure.saturating_add(possible) >= *least {
                    (Truth::Unknown, unknown)
                } else {
                    (Truth::No, yes)
                }
            }
            Expr::Is(q, _) | Expr::Has(q, _) | Expr::Num(q, ..) | Expr::Since(q, ..) => {
                self.because_question(*q, expr)
            }
            _ => (
                Truth::from(self.plain(expr)),
                Self::field_of(self.rules, expr).into_iter().collect(),
            ),
        }
    }

    fn combine<'e>(
        &self,
        parts: impl Iterator<Item = &'e Expr>,
        start: Truth,
        join: impl Fn(Truth, Truth) -> Truth,
    ) -> (Truth, flat::Set<String>) {
        let mut truth = start;
        let mut seen: Vec<(Truth, flat::Set<String>)> = Vec::new();
        for part in parts {
            let one = self.because(part);
            truth = join(truth, one.0);
            seen.push(one);
        }
        let mut why = flat::Set::new();
        for (one, reasons) in seen {
            // Where the whole is unknown, what is certain of it belongs to the reason as well.
            if one == truth || (truth == Truth::Unknown && one == Truth::Yes) {
                why.extend(reasons);
            }
        }
        (truth, why)
    }

    fn because_question(&self, q: u16, expr: &Expr) -> (Truth, flat::Set<String>) {
        let Some(question) = self.bank.questions.get(usize::from(q)) else {
            return (Truth::No, flat::Set::new());
        };
        if let Some(gate) = &question.asked_when {
            let (truth, why) = self.because(gate);
            if truth == Truth::No {
                return (truth, why);
            }
        }
        let why = flat::Set::from([question.id.clone()]);
        let truth = match self.states.get(usize::from(q)) {
            Some(State::Known(value)) => self.holds(expr, value),
            Some(State::Born(value)) => self.holds(expr, value),
            _ => Truth::Unknown,
        };
        (truth, why)
    }

    fn holds(&self, expr: &Expr, value: &Value) -> Truth {
        Truth::from(match expr {
            Expr::Is(q, mask) => self
                .option_position(*q, value)
                .is_some_and(|at| mask.checked_shr(at).unwrap_or(0) & 1 == 1),
            Expr::Has(q, option) => self.includes(*q, *option, value),
            Expr::Num(_, compare, figure) => {
                matches!(value, Value::Number(n) if compare.holds(n.0, self.figure(*figure)))
            }
            Expr::Since(_, span, compare, figure) => {
                let (edge, below) = self.turn_days(*span, *compare, *figure);
                matches!(value, Value::Date(d)
                    if (i64::from(self.case.date.since(*d)) < edge) == below)
            }
            _ => false,
        })
    }

    /// The field of the case that a plain fact stands in.
    fn field_of(rules: &Rules, expr: &Expr) -> Option<String> {
        Some(match expr {
            Expr::Gap(..) | Expr::FirstVisit => "last_visit".to_string(),
            Expr::LeftIn => "left_in".to_string(),
            Expr::Electro => "electro".to_string(),
            Expr::Cream | Expr::Wrap | Expr::Trait(_) => "topical".to_string(),
            Expr::Plan(_) | Expr::Kind(_) => "points".to_string(),
            Expr::On(at) => {
                let setting = rules.settings.get(usize::from(*at))?;
                alloc::format!("settings.{}", setting.id)
            }
            _ => return None,
        })
    }

    /// Questions that were asked and honestly not known, in a condition or in what gates it.
    pub fn exited(&self, expr: &Expr, out: &mut flat::Set<u16>) {
        let mut named = Vec::new();
        expr.questions(&mut named);
        for q in named {
            if matches!(self.states.get(usize::from(q)), Some(State::Exited(_))) {
                out.insert(q);
            }
            if let Some(gate) = self
                .bank
                .questions
                .get(usize::from(q))
                .and_then(|q| q.asked_when.as_ref())
            {
                self.exited(gate, out);
            }
        }
    }
}
