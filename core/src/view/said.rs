//! What was answered, in words: to be read back to the person, and for a letter.

use super::visit::{Books, VisitView};
use crate::base::date::Date;
use crate::intake::bank::Kind;
use crate::intake::{Answer, Question, Reason, Reply, Value};
use crate::words::ask::ENGLISH as EN;
use crate::words::place;
use alloc::format;
use alloc::string::{String, ToString};
use alloc::vec::Vec;

/// One answer in words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Said {
    /// What was asked.
    pub question: String,
    /// What was answered.
    pub answer: String,
    /// When.
    pub date: Date,
}

impl Said {
    /// An answer to a question, in words.
    #[must_use]
    pub fn new(question: &Question, answer: &Answer) -> Self {
        Self {
            question: question.say.clone(),
            answer: in_words(question, &answer.reply),
            date: answer.date,
        }
    }
}

/// What is read back: whatever is not a plain no, and how many plain noes there were.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ReadBack {
    /// In the order of the bank.
    pub said: Vec<Said>,
    /// Answers that were a plain no.
    pub noes: usize,
}

/// An answer in words: "yes", "72.5 kg", "asked, not known".
#[must_use]
pub fn in_words(question: &Question, reply: &Reply) -> String {
    let value = match reply {
        Reply::Unknown(Reason::NotMeasured) => return EN.not_measured.into(),
        Reply::Unknown(_) => return EN.not_known.into(),
        Reply::Known(value) => value,
    };
    let option = |id: &String| match &question.kind {
        Kind::Choice(options) | Kind::Side(options) | Kind::Several(options) => options
            .iter()
            .find(|(known, _)| known == id)
            .map_or_else(|| id.clone(), |(_, words)| words.clone()),
        _ => id.clone(),
    };
    let list = |words: Vec<String>| {
        if words.is_empty() {
            EN.none_of_these.to_string()
        } else {
            words.join(", ")
        }
    };
    match value {
        Value::Yes(true) => EN.yes.into(),
        Value::Yes(false) => EN.no.into(),
        Value::Choice(id) => option(id),
        Value::Several(ids) => list(ids.iter().map(option).collect()),
        Value::Number(n) => match &question.kind {
            Kind::Number { unit, .. } => format!("{n} {unit}"),
            _ => n.to_string(),
        },
        Value::Date(date) => date.to_string(),
        Value::Places(regions) => list(regions.iter().map(|r| place::EN.region(*r)).collect()),
    }
}

/// A no, whatever the kind of question.
fn plain_no(reply: &Reply) -> bool {
    match reply {
        Reply::Known(Value::Yes(false)) => true,
        Reply::Known(Value::Choice(id)) => id == "no",
        Reply::Known(Value::Several(ids)) => ids.is_empty(),
        Reply::Known(Value::Places(regions)) => regions.is_empty(),
        _ => false,
    }
}

/// What to read back of a visit, before anything is planned on it.
#[must_use]
pub fn read_back(books: &Books, visit: &VisitView) -> ReadBack {
    let mut out = ReadBack::default();
    for question in &books.knowledge.bank.questions {
        let Some(answer) = visit.answers.get(&question.id) else {
            continue;
        };
        if !visit.asked.contains(&question.id) {
            continue;
        }
        if plain_no(&answer.reply) {
            out.noes = out.noes.saturating_add(1);
        } else {
            out.said.push(Said::new(question, answer));
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::flat;
    use crate::intake::Milli;

    fn question(books: &Books, id: &str) -> Question {
        books.knowledge.bank.question(id).unwrap().clone()
    }

    #[test]
    fn every_kind_of_answer_has_words() {
        let books = Books::load().unwrap();
        let words = |id: &str, reply| in_words(&question(&books, id), &reply);
        let known = Reply::Known;
        assert_eq!(
            words("weight", known(Value::Number(Milli(72_500)))),
            "72.5 kg"
        );
        assert_eq!(
            words("weight", Reply::Unknown(Reason::NotMeasured)),
            "not measured today"
        );
        assert_eq!(
            words("weight", Reply::Unknown(Reason::NotKnown)),
            "asked, not known"
        );
        let mut seen = 0;
        for q in &books.knowledge.bank.questions {
            let (Kind::Choice(options) | Kind::Side(options) | Kind::Several(options)) = &q.kind
            else {
                continue;
            };
            for (id, said) in options {
                let one = known(match q.kind {
                    Kind::Several(_) => Value::Several([id.clone()].into_iter().collect()),
                    _ => Value::Choice(id.clone()),
                });
                assert_eq!(in_words(q, &one), *said, "{}", q.id);
                seen += 1;
            }
        }
        assert!(seen > 20, "{seen} options");
        let places = question(&books, "weight");
        let cheek = Value::Places(["cheek.left".parse().unwrap()].into_iter().collect());
        assert_eq!(in_words(&places, &known(cheek)), "L cheek");
        assert_eq!(
            in_words(&places, &known(Value::Places(flat::Set::new()))),
            "None of these"
        );
    }
}
