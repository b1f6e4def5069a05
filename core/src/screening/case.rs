//! What is screened: one person, one day, what was answered and what is planned.

use crate::atlas::{Area, Side};
use crate::base::date::Date;
use crate::base::flat;
use crate::intake::bank::fault;
use crate::intake::{Answers, Bank, Fault, Milli, Reply, Slip, Value};
use crate::needle;
use crate::screening::rules::{Rule, Rules, Set};
use crate::topical::{Cream, Shelf};
use alloc::format;
use alloc::string::{String, ToString};
use alloc::vec::Vec;

/// The question that the person's date of birth answers.
pub const BIRTH_DATE: &str = "birth_date";

/// A point that is planned.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Planned {
    /// WHO code.
    pub code: String,
    /// On which side.
    pub side: Side,
    /// With what sort of needle.
    pub kind: needle::Kind,
}

/// A point of the practice's own: what screening has to know of it, since no rule names it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OwnPoint {
    /// Its code, which no point of the data files has.
    pub code: String,
    /// Where it lies.
    pub area: Area,
    /// The point sets it belongs to, by name.
    pub sets: Vec<String>,
}

/// One person on one day.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Case {
    /// The day of the screening.
    pub date: Date,
    /// Date of birth, if it is on record.
    pub birth_date: Option<Date>,
    /// The last visit before this one; `None` if there was none.
    pub last_visit: Option<Date>,
    /// How many needles were left in on purpose at the last visit.
    pub left_in: u16,
    /// What was answered.
    pub answers: Answers,
    /// What is planned; empty while there is no plan, and then every target counts.
    pub points: Vec<Planned>,
    /// The cream planned.
    pub topical: Option<Cream>,
    /// Whether current is planned.
    pub electro: bool,
    /// Settings that differ from the defaults, in thousandths.
    pub settings: flat::Map<String, Milli>,
    /// Why a setting was loosened, in the practice's words.
    pub reasons: flat::Map<String, String>,
    /// Rules of the practice's own. They are judged beside the built-in ones and can only add
    /// findings: there is no outcome that takes one away.
    pub own: Vec<Rule>,
    /// Points of the practice's own. One with the code of a built-in point is not looked at.
    pub own_points: Vec<OwnPoint>,
}

impl Case {
    /// A case with nothing answered and nothing planned.
    #[must_use]
    pub fn new(date: Date) -> Self {
        Self {
            date,
            birth_date: None,
            last_visit: None,
            left_in: 0,
            answers: Answers::new(),
            points: Vec::new(),
            topical: None,
            electro: false,
            settings: flat::Map::new(),
            reasons: flat::Map::new(),
            own: Vec::new(),
            own_points: Vec::new(),
        }
    }

    /// Whether everything handed in can be used.
    ///
    /// # Errors
    /// The first field that cannot, and why.
    pub fn check(&self, bank: &Bank, rules: &Rules, shelf: &Shelf) -> Result<(), Fault> {
        self.check_person()?;
        let born = self.birth_date;
        for (id, answer) in &self.answers {
            let field = format!("answers.{id}");
            let question = bank
                .question(id)
                .ok_or_else(|| fault(&field, Slip::Unheard))?;
            question
                .check(answer, self.date)
                .map_err(|slip| fault(&field, slip))?;
            if born.is_some_and(|b| answer.date < b) {
                return Err(fault(&field, Slip::BeforeBirth));
            }
            match &answer.reply {
                Reply::Known(Value::Date(date))
                    if id == BIRTH_DATE && born.is_some_and(|b| b != *date) =>
                {
                    return Err(fault(&field, Slip::Against("person.birth_date".into())));
                }
                Reply::Known(Value::Date(date)) if born.is_some_and(|b| *date < b) => {
                    return Err(fault(&field, Slip::BeforeBirth));
                }
                Reply::Known(Value::Number(n)) => {
                    if let Some((other, limit)) = self.upper_neighbour(bank, question.below)
                        && *n >= limit
                    {
                        return Err(fault(&field, Slip::Against(format!("answers.{other}"))));
                    }
                }
                _ => {}
            }
        }
        for (at, point) in self.points.iter().enumerate() {
            if self.area_of(rules, &point.code).is_none() {
                return Err(fault(&format!("points[{at}].code"), Slip::Unheard));
            }
        }
        if let Some(cream) = &self.topical
            && shelf.product(&cream.product).is_none()
        {
            return Err(fault("topical.product", Slip::Unheard));
        }
        for (id, figure) in &self.settings {
            let field = format!("settings.{id}");
            let setting = rules
                .setting(id)
                .ok_or_else(|| fault(&field, Slip::Unheard))?;
            if *figure < setting.min || *figure > setting.max {
                return Err(fault(&field, Slip::OutOfRange(setting.min, setting.max)));
            }
        }
        Ok(())
    }

    fn check_person(&self) -> Result<(), Fault> {
        if self.birth_date.is_some_and(|b| b > self.date) {
            return Err(fault("person.birth_date", Slip::InFuture));
        }
        if let Some(last) = self.last_visit {
            if last > self.date {
                return Err(fault("person.last_visit", Slip::InFuture));
            }
            if self.birth_date.is_some_and(|b| last < b) {
                return Err(fault("person.last_visit", Slip::BeforeBirth));
            }
        }
        Ok(())
    }

    /// The number that an answer must stay below, and the question it was given to.
    fn upper_neighbour(&self, bank: &Bank, below: Option<u16>) -> Option<(String, Milli)> {
        let other = bank.questions.get(usize::from(below?))?;
        match &self.answers.get(&other.id)?.reply {
            Reply::Known(Value::Number(n)) => Some((other.id.to_string(), *n)),
            _ => None,
        }
    }

    fn own_point(&self, code: &str) -> Option<&OwnPoint> {
        self.own_points.iter().find(|own| own.code == code)
    }

    /// The area a point lies in; none for a code that is no point.
    #[must_use]
    pub fn area_of(&self, rules: &Rules, code: &str) -> Option<Area> {
        let own = || self.own_point(code).map(|own| own.area);
        rules.area_of(code).or_else(own)
    }

    /// Whether a point belongs to a set.
    #[must_use]
    pub fn is_in(&self, set: &Set, code: &str) -> bool {
        let own = || {
            self.own_point(code)
                .is_some_and(|own| own.sets.contains(&set.name))
        };
        set.points.iter().any(|c| c == code) || own()
    }

    /// The figure of a setting, in thousandths.
    #[must_use]
    pub fn setting(&self, rules: &Rules, at: u16) -> Milli {
        rules.settings.get(usize::from(at)).map_or(Milli(0), |s| {
            self.settings.get(&s.id).copied().unwrap_or(s.default)
        })
    }
}
