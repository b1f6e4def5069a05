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

use full_case::{case, quiet};
use pinfold_core::screening::Knowledge;
use std::hint::black_box;
use std::time::{Duration, Instant};

#[path = "full_case/mod.rs"]
mod full_case;

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
        let one = case(&more, quiet);
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
