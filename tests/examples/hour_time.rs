//! How long planning takes on this machine, without a browser: a plan for 70 needles, and the shortest
//! hour of the open instances. By hand:
//!
//! `cargo run --release -p pinfold-tests --example hour_time`
//!
//! Times are of this machine at this moment; read the ratios. Steps are the same everywhere.

use pinfold_core::atlas::Atlas;
use pinfold_core::base::units::Seconds;
use pinfold_core::needle::Needles;
use pinfold_core::plan::hour::instance::Instance;
use pinfold_core::plan::hour::search::{STEPS, solve};
use pinfold_core::plan::{Books, Limits, Options, Slot, plan};
use pinfold_core::procedure::{Procedure, procedures};
use pinfold_tests::hour::cream_on_the_face;
use std::error::Error;
use std::fs;
use std::path::Path;
use std::time::{Duration, Instant};

/// Shortest, median and longest of so many runs.
fn timed(runs: usize, mut work: impl FnMut()) -> (Duration, Duration, Duration) {
    let mut times: Vec<Duration> = (0..runs)
        .map(|_| {
            let begun = Instant::now();
            work();
            begun.elapsed()
        })
        .collect();
    times.sort_unstable();
    (times[0], times[runs / 2], times[runs - 1])
}

fn say(what: &str, (least, median, most): (Duration, Duration, Duration), more: &str) {
    let ms = |time: Duration| time.as_secs_f64() * 1000.0;
    println!(
        "{what:<44} {:>9.3} ms median ({:.3} to {:.3}) {more}",
        ms(median),
        ms(least),
        ms(most)
    );
}

/// The parts of two of our procedures in one, to reach 70 needles.
fn seventy(all: &[Procedure]) -> Result<Procedure, Box<dyn Error>> {
    let get = |id: &str| all.iter().find(|p| p.id == id).ok_or("no such procedure");
    let mut whole = get("return_full")?.clone();
    whole.modules.extend(get("return_lines")?.modules.clone());
    Ok(whole)
}

fn main() -> Result<(), Box<dyn Error>> {
    let atlas = Atlas::load()?;
    let needles = Needles::load()?;
    let books = Books {
        atlas: &atlas,
        needles: &needles,
    };
    let procedure = seventy(&procedures()?)?;
    let cream = cream_on_the_face();
    let at_most = |most| Options {
        most: Some(most),
        ..Options::default()
    };
    // Pairs stay pairs, so the cap may have to be a little above.
    let enough = |most: &u16| {
        plan(books, &procedure, &[], &Limits::default(), &at_most(*most)).needles >= 70
    };
    let plain = at_most((70..100).find(enough).ok_or("fewer than 70 needles")?);
    // Too short, so that every offer is worked out as well.
    let tight = Options {
        cream: Some(cream),
        slot: Some(Slot {
            start: 600,
            length: Seconds::from_minutes(50),
        }),
        ..plain.clone()
    };
    for (what, options) in [
        ("plan", &plain),
        ("plan, cream and a slot too short", &tight),
    ] {
        let made = || plan(books, &procedure, &[], &Limits::default(), options);
        let placed = made().needles;
        let times = timed(51, || {
            std::hint::black_box(made());
        });
        say(&format!("{what}, {placed} needles"), times, "");
    }
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("instances");
    for id in ["A01", "A02", "A03", "A04", "A05", "A06", "A07"] {
        let instance = Instance::read(&fs::read_to_string(folder.join(format!("{id}.json")))?)?;
        let answer = solve(&instance, STEPS);
        let times = timed(11, || {
            std::hint::black_box(solve(&instance, STEPS));
        });
        let value = answer
            .value
            .map_or(String::new(), |value| format!(" {value} s"));
        let more = format!("{}{value}, {} steps", answer.proof.name(), answer.steps);
        say(&format!("shortest hour of {id}"), times, &more);
    }
    Ok(())
}
