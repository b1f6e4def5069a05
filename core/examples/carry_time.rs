//! What a whole copy costs, taken out and brought in, beside `serde_json` over the same lines.
//!
//! `cargo run --release -p pinfold-core --example carry_time [SESSIONS PEOPLE]`. All in one run, turn by turn:
//! read the ratios. Everything is invented. *Out* is [`carry::take`] of everything into lines; beside it every
//! line, read before, is written again from a [`serde_json::Value`]. *In* is [`Reading::whole`] and
//! [`Ledger::merge`] into an empty practice; beside it every line is read into a [`serde_json::Value`].
#![expect(
    clippy::disallowed_macros,
    clippy::disallowed_types,
    reason = "an example may print and look at the clock; the library may not"
)]

mod scale;

use pinfold_core::base::stamp::Wall;
use pinfold_core::carry::{self, Part};
use pinfold_core::journal::{Journal, Limits, Reading};
use pinfold_core::ledger::Ledger;
use pinfold_core::view::books::Books;
use serde_json::Value;
use std::hint::black_box;
use std::time::Instant;

const ROUNDS: usize = 9;

fn millis<T>(run: impl FnOnce() -> T) -> (f64, T) {
    let begun = Instant::now();
    let made = black_box(run());
    (begun.elapsed().as_secs_f64() * 1e3, made)
}

fn main() {
    let number = |n: usize, or: usize| {
        let word = std::env::args().nth(n);
        word.and_then(|word| word.parse().ok()).unwrap_or(or)
    };
    let books = Books::load().expect("sound");
    let kept = scale::practice(number(1, 1_000), number(2, 200), &books);
    let mut journal = Journal::new();
    for entry in kept
        .packs
        .values()
        .flat_map(|p| p.entries().expect("sound"))
    {
        let _ = journal.insert(entry);
    }
    for entry in kept.tail {
        let _ = journal.insert(entry);
    }
    let ledger = Ledger::new(journal);
    let take = || carry::take(&ledger, Part::Whole, Wall(kept.at)).expect("read in");
    let text = take().text;
    let lines: Vec<&[u8]> = text
        .split(|b| *b == b'\n')
        .filter(|l| !l.is_empty())
        .collect();
    let read = |line: &&[u8]| serde_json::from_slice::<Value>(line).expect("JSON");
    let values: Vec<Value> = lines.iter().map(read).collect();
    println!(
        "{} lines, {} bytes, {ROUNDS} rounds, turn by turn",
        lines.len(),
        text.len()
    );

    let mut took: [Vec<f64>; 5] = Default::default();
    for _ in 0..ROUNDS {
        let (out, taken) = millis(take);
        assert!(taken.text == text, "control: the same copy");
        let (plain_out, size) = millis(|| {
            let mut all = Vec::new();
            for value in &values {
                all.extend(serde_json::to_vec(value).expect("JSON"));
                all.push(b'\n');
            }
            all.len()
        });
        assert_eq!(size, text.len(), "control: as many bytes");
        let (reading, carried) = millis(|| Reading::whole(&text, Limits::HERE).expect("a copy"));
        let (merging, brought) = millis(|| {
            let mut empty = Ledger::default();
            let new = empty.merge(&carried.journal).expect("nothing is packed");
            (new, empty)
        });
        assert_eq!(
            brought.0 + 1,
            lines.len(),
            "control: every line but the header came in"
        );
        let (plain_in, read) = millis(|| lines.iter().map(read).collect::<Vec<Value>>());
        assert_eq!(read.len(), lines.len());
        for (all, one) in took
            .iter_mut()
            .zip([out, plain_out, reading, merging, plain_in])
        {
            all.push(one);
        }
    }
    let [out, plain_out, reading, merging, plain_in] = took.map(|mut all| {
        all.sort_by(f64::total_cmp);
        all[ROUNDS / 2]
    });
    println!("| ms, median | Pinfold | serde_json | ratio |\n|---|---|---|---|");
    let row = |what: &str, ours: f64, plain: f64| {
        println!("| {what} | {ours:.1} | {plain:.1} | {:.2} |", ours / plain);
    };
    row("out: everything as lines", out, plain_out);
    row("in: read and checked", reading, plain_in);
    row(
        "in: and merged, every fact folded",
        reading + merging,
        plain_in,
    );
}
