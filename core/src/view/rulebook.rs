//! Every rule that screening knows, to be read: what it says, when it is asked about, where it is
//! from, and whether anybody may go past it.

use super::visit::Books;
use crate::base::cite::Mark;
use crate::base::flat;
use crate::base::stamp::Wall;
use crate::intake::outcome::Piece;
use crate::intake::{Milli, Outcome, Words};
use crate::practice::{Figure, Practice};
use crate::screening::rules::Rule;
use crate::screening::{BIRTH_DATE, Rules};
use alloc::string::{String, ToString};
use alloc::vec::Vec;

/// One rule as it is read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RuleLine {
    /// Its stable id, with the part: `BD2.omit`.
    pub name: String,
    /// What it means for a visit.
    pub outcome: Outcome,
    /// What it changes and why, with the figures in force; an answer that belongs there is "…".
    pub words: String,
    /// The questions it rests on.
    pub asks: Vec<String>,
    /// Keys of the sources.
    pub source: Vec<String>,
    /// How well the fact is supported.
    pub mark: Mark,
    /// Whether code or figure is Pinfold's choice.
    pub policy: bool,
    /// Whether a written reason may go past it.
    pub passable: bool,
}

/// The practice's own figures, by id.
pub(super) type Figures = flat::Map<String, Figure>;

/// Every rule, heaviest outcome first, then in the order of the data files; with this practice's figures.
#[must_use]
pub fn rulebook(books: &Books, practice: &Practice) -> Vec<RuleLine> {
    let rules = &books.knowledge.rules;
    let (figures, _) = practice.figures(rules, Wall(i64::MAX));
    let mut lines: Vec<RuleLine> = rules
        .rules
        .iter()
        .map(|rule| line(books, rule, &figures))
        .collect();
    flat::sort_by_key(&mut lines, |l| core::cmp::Reverse(l.outcome.level()));
    lines
}

pub(super) fn line(books: &Books, rule: &Rule, figures: &Figures) -> RuleLine {
    let mut at = Vec::new();
    rule.when.questions(&mut at);
    for aim in rule.to.iter().filter_map(|aim| aim.only_if.as_ref()) {
        aim.questions(&mut at);
    }
    let mut asks = Vec::new();
    for question in at {
        let Some(q) = books.knowledge.bank.questions.get(usize::from(question)) else {
            continue;
        };
        if q.id != BIRTH_DATE && !asks.contains(&q.say) {
            asks.push(q.say.clone());
        }
    }
    RuleLine {
        name: rule.name(),
        outcome: rule.outcome,
        words: words(&books.knowledge.rules, &rule.words, figures),
        asks,
        source: rule.source.clone(),
        mark: rule.mark,
        policy: rule.policy,
        passable: rule.passable(),
    }
}

fn words(rules: &Rules, words: &Words, figures: &Figures) -> String {
    let setting = |at: &u16| {
        let found = rules.settings.get(usize::from(*at));
        found.map_or(Milli(0), |s| {
            figures.get(&s.id).map_or(s.default, |own| own.value)
        })
    };
    let mut out = String::new();
    for piece in &words.0 {
        match piece {
            Piece::Text(text) => out.push_str(text),
            Piece::Setting(at) => out.push_str(&setting(at).to_string()),
            _ => out.push('…'),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_rule_is_in_the_book_once_with_its_source_and_the_heaviest_come_first() {
        let books = Books::load().unwrap();
        let book = rulebook(&books, &Practice::default());
        assert_eq!(book.len(), books.knowledge.rules.rules.len());
        let names: alloc::collections::BTreeSet<_> = book.iter().map(|l| &l.name).collect();
        assert!(names.len() > 100, "{} rules", names.len());
        for pair in book.windows(2) {
            assert!(pair[0].outcome.level() >= pair[1].outcome.level());
        }
        for line in &book {
            assert!(!line.words.trim().is_empty(), "{}", line.name);
            for key in &line.source {
                assert!(
                    books.knowledge.rules.sources.iter().any(|s| s.key == *key),
                    "{}: {key}",
                    line.name
                );
            }
        }
        // Safety reference, section 0: a stop has no way past, an omission has one unless it is hard.
        assert!(
            book.iter()
                .filter(|l| l.outcome >= Outcome::Ask)
                .all(|l| !l.passable)
        );
        assert!(
            book.iter()
                .any(|l| l.outcome == Outcome::Omit && l.passable)
        );
        assert!(
            book.iter()
                .any(|l| l.outcome == Outcome::Omit && !l.passable)
        );
    }
}
