//! How long screening takes, and how much more it asks than it must. Run by hand; prints, asserts
//! nothing about time.
//!
//! ```text
//! cargo run --release -p pinfold-core --example screen_time
//! ```
//! Printed are medians of many runs on the machine at hand: a full case (every question answered, a
//! whole plan and a cream), a case with nothing answered yet, and both at three and ten times as many
//! rules. The surplus is how many of a run of half-answered cases had a search that was not finished:
//! only in those may a question be asked that could not change anything.

#![expect(
    clippy::disallowed_macros,
    clippy::disallowed_types,
    reason = "a program that measures time and speaks by printing"
)]

use pinfold_core::atlas::Side;
use pinfold_core::base::date::Date;
use pinfold_core::base::flat;
use pinfold_core::intake::{Answer, Kind, Milli, Question, Reply, Value};
use pinfold_core::needle;
use pinfold_core::procedure::procedures;
use pinfold_core::screening::{Case, Knowledge, Planned};
use pinfold_core::topical::Cream;
use std::hint::black_box;
use std::time::{Duration, Instant};

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
fn case(knowledge: &Knowledge, answer: impl Fn(usize) -> Option<usize>) -> Case {
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

fn median(runs: usize, mut run: impl FnMut()) -> Duration {
    let mut times: Vec<Duration> = (0..runs)
        .map(|_| {
            let start = Instant::now();
            run();
            start.elapsed()
        })
        .collect();
    times.sort();
    times[runs / 2]
}

fn main() {
    let Ok(knowledge) = Knowledge::load() else {
        eprintln!("the knowledge cannot be read");
        return;
    };
    // Quiet answers with something to report in every ninth: most rules are looked at, few stop.
    let full = |at: usize| Some(usize::from(at.is_multiple_of(9)));
    println!("rules  full case  nothing answered");
    for times in [1, 3, 10] {
        let mut more = knowledge.clone();
        for copy in 1..times {
            for rule in &knowledge.rules.rules {
                let mut rule = rule.clone();
                rule.id = format!("{}x{copy}", rule.id);
                more.rules.rules.push(rule);
            }
        }
        let runs = 200 / times;
        let one = case(&more, full);
        let none = case(&more, |_| None);
        let one = median(runs, || {
            let _ = black_box(more.screen(black_box(&one)));
        });
        let none = median(runs.max(20) / 4, || {
            let _ = black_box(more.screen(black_box(&none)));
        });
        println!(
            "{:>5}  {:>6} us  {:>6} us",
            more.rules.rules.len(),
            one.as_micros(),
            none.as_micros()
        );
    }
    let (mut unfinished, mut asked, mut cases) = (0, 0, 0);
    for seed in 0..400_usize {
        let case = case(&knowledge, |at| {
            let n = (at + 1).wrapping_mul(seed.wrapping_mul(2_654_435_761) | 1) >> 7;
            (n % 100 < seed % 100).then_some(if n % 5 == 0 { n } else { 0 })
        });
        if let Ok(screening) = knowledge.screen(&case) {
            cases += 1;
            asked += screening.open.len();
            unfinished += usize::from(!screening.exact);
        }
    }
    println!("half-answered cases: {cases}, open questions in all: {asked}");
    println!("cases with a search not finished (surplus possible only there): {unfinished}");
}
