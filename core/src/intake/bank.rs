//! The question bank: what is asked, of whom, when, and how long an answer holds.

use super::answer::{Answer, Answers, Fault, Milli, Reason, Reply, Slip, Value};
use super::condition::Expr;
use super::outcome::{Limit, Outcome, Words};
use crate::base::cite::Mark;
use crate::base::data::{BadData, read};
use crate::base::date::Date;
use crate::base::flat;
use crate::base::pack::Pack;
use alloc::string::{String, ToString};
use alloc::vec::Vec;
use serde::{Deserialize, Serialize};

/// The bank as packed at build time from `data/questions.toml`.
const PACKED: &str = include_str!(concat!(env!("OUT_DIR"), "/bank.json"));

/// Every question, in the order of the file. Conditions only look upward in it.
#[derive(Clone, Debug, Serialize, Deserialize, Pack)]
pub struct Bank {
    /// The headings.
    pub groups: Vec<Group>,
    /// The questions.
    pub questions: Vec<Question>,
}

/// A heading.
#[derive(Clone, Debug, Serialize, Deserialize, Pack)]
pub struct Group {
    /// Stable id.
    pub id: String,
    /// What stands above the questions.
    pub title: String,
    /// Whether the whole group may be answered "no to all of these". Never true of red flags.
    pub no_to_all: bool,
}

/// Who can answer.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, Pack)]
#[serde(rename_all = "snake_case")]
pub enum By {
    /// The person treated.
    #[default]
    Patient,
    /// Whoever looks, feels or measures.
    Practitioner,
}

/// What kind of answer a question takes.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, Pack)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// Yes or no.
    YesNo,
    /// One of these: id and words.
    Choice(Vec<(String, String)>),
    /// One of these, about sides of the body.
    Side(Vec<(String, String)>),
    /// Any of these, or none.
    Several(Vec<(String, String)>),
    /// A number.
    Number {
        /// Its unit.
        unit: String,
        /// Least that can be entered, in thousandths.
        min: Milli,
        /// Most that can be entered, in thousandths.
        max: Milli,
        /// The step, in thousandths: 1000 for whole numbers.
        step: Milli,
    },
    /// A date, not in the future.
    Date,
    /// Regions of the body.
    Places,
}

/// An honest way out: what follows when a blocking question is asked and cannot be answered.
#[derive(Clone, Debug, Serialize, Deserialize, Pack)]
pub struct Exit {
    /// For which reason.
    pub reason: Reason,
    /// The rule it stands in for.
    pub rule: String,
    /// What follows.
    pub outcome: Outcome,
    /// What the plan must keep to.
    #[serde(default)]
    pub limits: Vec<Limit>,
    /// What it changes and why.
    pub words: Words,
    /// Source keys.
    pub source: Vec<String>,
    /// How well it is supported.
    pub mark: Mark,
    /// Whether it is Pinfold's choice.
    #[serde(default)]
    pub policy: bool,
}

/// One question.
#[derive(Clone, Debug, Serialize, Deserialize, Pack)]
pub struct Question {
    /// Stable for ever: records hold it.
    pub id: String,
    /// Position of its group.
    pub group: usize,
    /// Kind of answer.
    pub kind: Kind,
    /// What is asked.
    pub say: String,
    /// Why it is asked.
    pub why: String,
    /// Who answers.
    #[serde(default)]
    pub by: By,
    /// When it is asked at all.
    #[serde(default)]
    pub asked_when: Option<Expr>,
    /// How many days an answer holds; 0 is the same day only. `None`: until changed.
    #[serde(default)]
    pub valid_days: Option<u32>,
    /// A later "yes" to that question makes an answer old.
    #[serde(default)]
    pub renewed_by: Option<u16>,
    /// That question names what this one asks: a "no" to it, given today, is a no to this one until
    /// somebody answers this one itself.
    #[serde(default)]
    pub covered_by: Option<u16>,
    /// Its number must be below the number answered there.
    #[serde(default)]
    pub below: Option<u16>,
    /// Line and title on the screen of a return visit.
    #[serde(default)]
    pub return_line: Option<(u8, String)>,
    /// Ways out.
    #[serde(default)]
    pub exits: Vec<Exit>,
    /// Source keys of why it is asked.
    pub source: Vec<String>,
    /// How well that is supported.
    pub mark: Mark,
}

impl Bank {
    /// Reads the embedded bank. Done once; the caller holds it.
    ///
    /// # Errors
    /// If the build is broken; then nothing may be screened.
    pub fn load() -> Result<Self, BadData> {
        read("questions", PACKED)
    }

    /// Position of a question.
    #[must_use]
    pub fn position(&self, id: &str) -> Option<usize> {
        self.questions.iter().position(|q| q.id == id)
    }

    /// The question with this id.
    #[must_use]
    pub fn question(&self, id: &str) -> Option<&Question> {
        self.questions.iter().find(|q| q.id == id)
    }

    /// The lines of the one screen of a return visit, in order.
    #[must_use]
    pub fn return_screen(&self) -> Vec<&Question> {
        let mut lines: Vec<&Question> = self
            .questions
            .iter()
            .filter(|q| q.return_line.is_some())
            .collect();
        flat::sort_by_key(&mut lines, |q| {
            q.return_line.as_ref().map(|(line, _)| *line)
        });
        lines
    }

    /// The answer "no to all of these" writes for a question, if its group allows it and the
    /// question can be answered no.
    #[must_use]
    pub fn plain_no(&self, question: &Question) -> Option<Value> {
        let allowed = self.groups.get(question.group).is_some_and(|g| g.no_to_all);
        if allowed { question.no() } else { None }
    }

    /// Adds the noes that a covering question's "no" of today stands for, and gives the questions that
    /// got one. An answer that is there stays as it is.
    pub fn cover(&self, answers: &mut Answers, today: Date) -> flat::Set<String> {
        let mut got = flat::Set::new();
        for question in &self.questions {
            let Some(no) = question.no() else { continue };
            let covered = question
                .covered_by
                .and_then(|at| self.questions.get(usize::from(at)))
                .and_then(|q| answers.get(&q.id))
                .is_some_and(|a| a.date == today && a.reply == Reply::Known(Value::Yes(false)));
            if covered && !answers.contains_key(&question.id) {
                let answer = Answer {
                    reply: Reply::Known(no),
                    date: today,
                };
                answers.insert(question.id.clone(), answer);
                got.insert(question.id.clone());
            }
        }
        got
    }

    /// Whether the answer to this question still holds on `today`. "Not measured today" holds today.
    #[must_use]
    pub fn holds(&self, question: &Question, answers: &Answers, today: Date) -> bool {
        let Some(answer) = answers.get(&question.id) else {
            return false;
        };
        let age = today.since(answer.date);
        let fresh = question
            .valid_days
            .is_none_or(|days| i64::from(age) <= i64::from(days));
        let renewed = question
            .renewed_by
            .and_then(|at| self.questions.get(usize::from(at)))
            .and_then(|q| answers.get(&q.id))
            .is_some_and(|news| {
                news.reply == Reply::Known(Value::Yes(true)) && news.date > answer.date
            });
        let measured = answer.reply != Reply::Unknown(Reason::NotMeasured) || age == 0;
        fresh && !renewed && measured
    }
}

impl Question {
    /// The answer that says no, if the question has one.
    #[must_use]
    pub fn no(&self) -> Option<Value> {
        match &self.kind {
            Kind::YesNo => Some(Value::Yes(false)),
            Kind::Several(_) => Some(Value::Several(flat::Set::new())),
            Kind::Choice(options) | Kind::Side(options) => options
                .iter()
                .find(|(id, _)| id == "no")
                .map(|(id, _)| Value::Choice(id.clone())),
            Kind::Number { .. } | Kind::Date | Kind::Places => None,
        }
    }

    /// Whether an answer fits this question, on the day of a screening.
    ///
    /// # Errors
    /// Says what does not fit. Whether dates lie before birth is checked with the whole case.
    pub fn check(&self, answer: &Answer, today: Date) -> Result<(), Slip> {
        if answer.date > today {
            return Err(Slip::InFuture);
        }
        let Reply::Known(value) = &answer.reply else {
            return Ok(());
        };
        let named = |options: &[(String, String)], id: &String| {
            if options.iter().any(|(o, _)| o == id) {
                Ok(())
            } else {
                Err(Slip::NoSuchOption(id.clone()))
            }
        };
        match (&self.kind, value) {
            (Kind::YesNo, Value::Yes(_)) | (Kind::Places, Value::Places(_)) => Ok(()),
            (Kind::Choice(options) | Kind::Side(options), Value::Choice(id)) => named(options, id),
            (Kind::Several(options), Value::Several(ids)) => {
                ids.iter().try_for_each(|id| named(options, id))
            }
            (Kind::Number { min, max, step, .. }, Value::Number(n)) => {
                if n < min || n > max {
                    Err(Slip::OutOfRange(*min, *max))
                } else if n.0.checked_rem(step.0).unwrap_or(0) != 0 {
                    Err(Slip::TooFine(*step))
                } else {
                    Ok(())
                }
            }
            (Kind::Date, Value::Date(date)) if *date > answer.date => Err(Slip::InFuture),
            (Kind::Date, Value::Date(_)) => Ok(()),
            _ => Err(Slip::WrongKind),
        }
    }

    /// The way out for a reason, if there is one.
    #[must_use]
    pub fn exit(&self, reason: Reason) -> Option<&Exit> {
        self.exits.iter().find(|exit| exit.reason == reason)
    }
}

/// A fault in a field.
pub(crate) fn fault(field: &str, slip: Slip) -> Fault {
    Fault {
        field: field.to_string(),
        slip,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_covering_no_of_today_answers_what_it_names_and_nothing_else_does() {
        let bank = Bank::load().unwrap();
        let today = Date::from_days(20_000).unwrap();
        let before = Date::from_days(19_999).unwrap();
        let stroke = bank.question("rf_stroke").unwrap();
        let by = bank.questions[usize::from(stroke.covered_by.unwrap())]
            .id
            .clone();
        let case = |reply: Reply, date| {
            let mut answers = Answers::new();
            answers.insert(by.clone(), Answer { reply, date });
            let got = bank.cover(&mut answers, today);
            assert_eq!(got.contains("rf_stroke"), answers.contains_key("rf_stroke"));
            answers.get("rf_stroke").map(|a| a.reply.clone())
        };
        let no = Reply::Known(Value::Yes(false));
        assert_eq!(case(no.clone(), today), Some(no.clone()));
        assert_eq!(case(no.clone(), before), None);
        assert_eq!(case(Reply::Known(Value::Yes(true)), today), None);
        assert_eq!(case(Reply::Unknown(Reason::NotKnown), today), None);
        // What was answered itself stays.
        let mut answers = Answers::new();
        let yes = Reply::Known(Value::Yes(true));
        for (id, reply) in [(by.clone(), no), ("rf_stroke".into(), yes.clone())] {
            answers.insert(id, Answer { reply, date: today });
        }
        assert!(!bank.cover(&mut answers, today).contains("rf_stroke"));
        assert_eq!(answers.get("rf_stroke").unwrap().reply, yes);
    }

    fn red_flags(bank: &Bank) -> usize {
        let mut groups = bank.groups.iter();
        groups.position(|g| g.id == "red_flags").unwrap()
    }

    #[test]
    fn every_red_flag_that_is_not_asked_after_another_is_covered_on_a_return_visit() {
        let bank = Bank::load().unwrap();
        let flags = red_flags(&bank);
        let lines: Vec<&str> = bank.return_screen().iter().map(|q| q.id.as_str()).collect();
        for q in bank.questions.iter().filter(|q| q.group == flags) {
            if lines.contains(&q.id.as_str()) || q.asked_when.is_some() {
                continue;
            }
            let by = &bank.questions[usize::from(q.covered_by.expect(&q.id))];
            assert!(lines.contains(&by.id.as_str()), "{}", q.id);
        }
    }

    /// A "no" must be truly said: what a covered question asks about stands in the question that covers
    /// it. The signs are those of the safety reference, sections 4 and 5.
    #[test]
    fn what_covers_a_red_flag_names_its_signs() {
        let bank = Bank::load().unwrap();
        let said = &bank.question("alarm").unwrap().say;
        let signs: &[(&str, &[&str])] = &[
            ("rf_stroke", &["drooping face", "arm", "speech"]),
            ("rf_face_weak", &["weak", "face"]),
            ("rf_thunderclap", &["headache"]),
            ("rf_headache", &["headache"]),
            ("rf_vision", &["sight", "eye pain"]),
            ("rf_lid", &["bulging eye", "swollen lid"]),
            (
                "rf_chest",
                &["chest pain", "short breath", "swelling or wheeze"],
            ),
            ("rf_filler", &["white, blotchy, very painful", "sight"]),
            (
                "rf_bp_signs",
                &[
                    "a headache",
                    "chest pain",
                    "short breath",
                    "sight",
                    "weak, numb",
                ],
            ),
            (
                "rf_numb_toxic",
                &[
                    "numb lips",
                    "metal taste",
                    "ringing ears",
                    "speech",
                    "twitching",
                ],
            ),
            ("rf_skin_spreads", &["hot and spreading"]),
        ];
        let at = bank.position("alarm").and_then(|at| u16::try_from(at).ok());
        let covered = bank.questions.iter().filter(|q| q.covered_by == at);
        let covered: Vec<&str> = covered.map(|q| q.id.as_str()).collect();
        assert_eq!(covered, signs.iter().map(|(id, _)| *id).collect::<Vec<_>>());
        for (id, words) in signs {
            for word in *words {
                assert!(said.contains(word), "{id}: {word}");
            }
        }
    }

    #[test]
    fn the_return_screen_has_its_eleven_lines() {
        let bank = Bank::load().unwrap();
        let lines: Vec<u8> = bank
            .return_screen()
            .iter()
            .filter_map(|q| q.return_line.as_ref().map(|(line, _)| *line))
            .collect();
        assert_eq!(lines, (1..=11).collect::<Vec<u8>>());
    }

    #[test]
    fn red_flags_have_neither_exit_nor_a_no_to_all() {
        let bank = Bank::load().unwrap();
        let flags = red_flags(&bank);
        let mut seen = 0;
        for question in bank.questions.iter().filter(|q| q.group == flags) {
            seen += 1;
            assert!(question.exits.is_empty(), "{}", question.id);
            assert!(bank.plain_no(question).is_none(), "{}", question.id);
            assert_eq!(question.valid_days, Some(0), "{}", question.id);
        }
        assert!(seen >= 10);
        // The control: another group does take it.
        assert!(bank.questions.iter().any(|q| bank.plain_no(q).is_some()));
    }
}
