//! How long one full case takes in a browser, as `make bench` reads it: the milliseconds of each of a
//! number of runs, one after the other, stand on the page.

use full_case::{case, quiet};
use pinfold_core::screening::Knowledge;

#[path = "../../core/examples/full_case/mod.rs"]
mod full_case;

/// Enough for a mean over a coarse clock.
const RUNS: u32 = 200;

/// Runs before the clock is read, for the browser's compiler to have done its work.
const WARM: u32 = 100;

fn main() {
    let Ok(knowledge) = Knowledge::load() else {
        return;
    };
    let said: Vec<String> = [case(&knowledge, quiet), case(&knowledge, |_| None)]
        .iter()
        .map(|case| {
            let mut findings = 0;
            for _ in 0..WARM {
                findings += knowledge.screen(case).map_or(0, |s| s.findings.len());
            }
            let began = js_sys::Date::now();
            for _ in 0..RUNS {
                findings += knowledge.screen(case).map_or(0, |s| s.findings.len());
            }
            let each = (js_sys::Date::now() - began) / f64::from(RUNS);
            format!("{each} {findings}")
        })
        .collect();
    if let Some(page) = web_sys::window().and_then(|window| window.document()) {
        page.set_title(&said.join(";"));
    }
}
