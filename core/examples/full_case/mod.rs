//! The case that screening is timed with, on this machine and in a browser.

use pinfold_core::atlas::Side;
use pinfold_core::base::date::Date;
use pinfold_core::base::flat;
use pinfold_core::intake::{Answer, Kind, Milli, Question, Reply, Value};
use pinfold_core::needle;
use pinfold_core::procedure::procedures;
use pinfold_core::screening::{Case, Knowledge, Planned};
use pinfold_core::topical::Cream;

/// Quiet answers with something to report in every ninth: most rules are looked at, few stop.
pub fn quiet(at: usize) -> Option<usize> {
    Some(usize::from(at.is_multiple_of(9)))
}

fn today() -> Date {
    Date::from_days(20_521).unwrap_or_else(|_| Date::epoch())
}

/// An answer to a question: the `n`-th of a few.
fn value(question: &Question, n: usize) -> Value {
    match &question.kind {
        Kind::YesNo => Value::Yes(n % 2 == 1),
        Kind::Choice(o) | Kind::Side(o) => Value::Choice(o[n % o.len()].0.clone()),
        Kind::Several(o) => {
            let some = o.iter().skip(n % (o.len() + 1)).take(2);
            Value::Several(some.map(|(id, _)| id.clone()).collect())
        }
        Kind::Number { min, max, step, .. } => {
            let span = (max.0 - min.0) / step.0;
            Value::Number(Milli(min.0 + span * (n % 7) as i64 / 7 * step.0))
        }
        Kind::Date => Value::Date(today().months_back(n as u32 % 9)),
        Kind::Places => Value::Places(
            ["cheek.left", "forehead.both"]
                .iter()
                .take(n % 3)
                .filter_map(|r| r.parse().ok())
                .collect::<flat::Set<_>>(),
        ),
    }
}

/// A case with the longest procedure planned and a cream, in which each question is answered as
/// `answer` says, if it does.
pub fn case(knowledge: &Knowledge, answer: impl Fn(usize) -> Option<usize>) -> Case {
    let mut case = Case::new(today());
    case.birth_date = Some(today().months_back(45 * 12));
    case.last_visit = Some(today().months_back(2));
    let all = procedures().unwrap_or_default();
    let longest = all.iter().max_by_key(|p| p.needles);
    for (code, side, size) in longest.iter().flat_map(|p| p.uses()) {
        let tiny = size.starts_with("0.20x0.");
        case.points.push(Planned {
            code: code.into(),
            side: if side == Side::Centre {
                side
            } else {
                Side::Both
            },
            kind: if tiny {
                needle::Kind::Intradermal
            } else {
                needle::Kind::Filiform
            },
        });
    }
    case.topical = Some(Cream {
        product: "mix_2_5_uk".into(),
        mg: 20_000,
        area_cm2: 100,
        minutes: 60,
        wrap: false,
    });
    for (at, question) in knowledge.bank.questions.iter().enumerate() {
        let Some(n) = answer(at).filter(|_| question.id != "birth_date") else {
            continue;
        };
        let value = match question.id.as_str() {
            "systolic" => Value::Number(Milli::whole(150)),
            "diastolic" => Value::Number(Milli::whole(90)),
            _ => value(question, n),
        };
        let reply = Reply::Known(value);
        let date = today();
        case.answers
            .insert(question.id.clone(), Answer { reply, date });
    }
    case
}
