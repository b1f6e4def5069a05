//! The letter to another clinician: facts that were answered or measured, and no diagnosis.

use super::said::Said;
use super::visit::{Books, VisitView};
use crate::base::date::Date;
use crate::base::flat;
use crate::intake::{Outcome, Urgency};
use crate::words::letter::EN;
use alloc::format;
use alloc::string::{String, ToString};
use alloc::vec::Vec;

/// What another clinician is to be told. Facts; it names no disease.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Letter {
    /// To whom, and how soon, most urgent first.
    pub to: Vec<(String, Option<Urgency>)>,
    /// The answers stopped the visit, and no chair was opened all the same.
    pub not_begun: bool,
    /// The answers it rests on.
    pub said: Vec<Said>,
}

/// Who writes, about whom, and when.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Heads {
    /// The person's name.
    pub name: String,
    /// Their birth date, if it is known.
    pub born: Option<Date>,
    /// Today.
    pub today: Date,
    /// The practitioner's name and registration, as printed on records.
    pub from: String,
}

/// The letter of a visit; none if nothing in it sends the person to anybody.
#[must_use]
pub fn letter(books: &Books, visit: &VisitView) -> Option<Letter> {
    let screening = visit.screening.as_ref()?;
    let sends: Vec<_> = screening
        .findings
        .iter()
        .filter(|f| f.could_be.is_none())
        .filter(|f| f.refer.is_some() || matches!(f.outcome, Outcome::Stop | Outcome::Emergency))
        .collect();
    if sends.is_empty() {
        return None;
    }
    let mut to: Vec<(String, Option<Urgency>)> = Vec::new();
    for (who, when) in sends.iter().filter_map(|f| f.refer.as_ref()) {
        if let Some(known) = to.iter_mut().find(|(known, _)| known == who) {
            known.1 = known.1.max(Some(*when));
        } else {
            to.push((who.clone(), Some(*when)));
        }
    }
    flat::sort_by_key(&mut to, |(_, when)| core::cmp::Reverse(*when));
    let said = books
        .knowledge
        .bank
        .questions
        .iter()
        .filter(|q| sends.iter().any(|f| f.because.contains(&q.id)))
        .filter_map(|q| {
            let answer = visit.answers.get(&q.id)?;
            Some(Said::new(q, answer))
        })
        .collect();
    Some(Letter {
        to,
        not_begun: visit.session.is_none() && screening.verdict.is_some_and(|v| v >= Outcome::Stop),
        said,
    })
}

impl Letter {
    /// The letter, a line each.
    #[must_use]
    pub fn lines(&self, heads: &Heads) -> Vec<String> {
        let to: Vec<String> = self
            .to
            .iter()
            .map(|(who, when)| match when {
                Some(when) => format!("{who}, {}", EN.urgency(*when)),
                None => who.clone(),
            })
            .collect();
        let to = if to.is_empty() {
            EN.colleague.to_string()
        } else {
            to.join("; ")
        };
        let born = heads
            .born
            .map_or_else(String::new, |d| format!(", {} {d}", EN.born));
        let mut lines = Vec::from([
            format!("{} {to}", EN.to),
            format!("{}{born}. {}.", heads.name, heads.today),
            EN.asked.to_string(),
        ]);
        lines.extend(self.said.iter().map(|s| {
            let day = if s.date == heads.today {
                String::new()
            } else {
                format!(" ({})", s.date)
            };
            format!("\u{2013} {} {}{day}", s.question, s.answer)
        }));
        if self.not_begun {
            lines.push(EN.not_begun.to_string());
        }
        lines.push(EN.caution.to_string());
        lines.push(heads.from.clone());
        lines
    }
}
