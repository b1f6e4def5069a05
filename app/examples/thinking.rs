//! How long the core thinks in a browser, as `make bench` reads it: one screening, one plan of 70 needles,
//! the shortest hour of an instance. The milliseconds of each, a mean over many runs, stand on the page,
//! each with a number that shows that there was something to do.

use full_case::{case, quiet};
use pinfold_core::atlas::{Area, Atlas};
use pinfold_core::base::units::Seconds;
use pinfold_core::needle::Needles;
use pinfold_core::plan::hour::instance::Instance;
use pinfold_core::plan::hour::search::{STEPS, solve};
use pinfold_core::plan::{Books, Cream, Limits, Options, Slot, plan};
use pinfold_core::procedure::{Procedure, procedures};
use pinfold_core::screening::Knowledge;

#[path = "../../core/examples/full_case/mod.rs"]
mod full_case;

/// The slowest but one of the open instances.
const A07: &str = include_str!("../../tests/instances/A07.json");

/// Mean milliseconds of one run, and what the runs came to; some runs before the clock is read, for the
/// browser's compiler to have done its work.
fn timed(runs: u32, mut work: impl FnMut() -> usize) -> String {
    for _ in 0..runs / 2 {
        work();
    }
    let began = js_sys::Date::now();
    let mut done = 0;
    for _ in 0..runs {
        done = work();
    }
    let each = (js_sys::Date::now() - began) / f64::from(runs);
    format!("{each} {done}")
}

/// The parts of two of our procedures in one, to reach 70 needles.
fn seventy(all: &[Procedure]) -> Option<Procedure> {
    let get = |id: &str| all.iter().find(|p| p.id == id);
    let mut whole = get("return_full")?.clone();
    whole.modules.extend(get("return_lines")?.modules.clone());
    Some(whole)
}

fn said() -> Option<Vec<String>> {
    let knowledge = Knowledge::load().ok()?;
    let mut said: Vec<String> = [case(&knowledge, quiet), case(&knowledge, |_| None)]
        .iter()
        .map(|case| {
            timed(200, || {
                knowledge.screen(case).map_or(0, |s| s.findings.len())
            })
        })
        .collect();
    let (atlas, needles) = (Atlas::load().ok()?, Needles::load().ok()?);
    let books = Books {
        atlas: &atlas,
        needles: &needles,
    };
    let procedure = seventy(&procedures().ok()?)?;
    let at_most = |most| Options {
        most: Some(most),
        ..Options::default()
    };
    let made = |options: &Options| plan(books, &procedure, &[], &Limits::default(), options);
    // Pairs stay pairs, so the cap may have to be a little above.
    let plain = (70..100).map(at_most).find(|o| made(o).needles >= 70)?;
    // Too short, so that every offer is worked out as well.
    let tight = Options {
        cream: Some(Cream {
            areas: vec![
                (Area::Forehead, 40),
                (Area::Cheek, 60),
                (Area::MouthJaw, 40),
            ],
            amount: None,
            apply: Seconds(120),
            least: Seconds::from_minutes(30),
            most: None,
            wipe: Seconds(120),
            wait: Seconds(300),
        }),
        slot: Some(Slot {
            start: 600,
            length: Seconds::from_minutes(50),
        }),
        ..plain.clone()
    };
    for options in [&plain, &tight] {
        said.push(timed(100, || usize::from(made(options).needles)));
    }
    let instance = Instance::read(A07).ok()?;
    said.push(timed(10, || {
        let value = solve(&instance, STEPS).value;
        value.and_then(|v| usize::try_from(v).ok()).unwrap_or(0)
    }));
    Some(said)
}

fn main() {
    let said = said().unwrap_or_default();
    if let Some(page) = web_sys::window().and_then(|window| window.document()) {
        page.set_title(&said.join(";"));
    }
}
