//! The shortest hour for one instance of the format `pinfold-sched-1` (kind `session`) on stdin, as
//! one JSON object on stdout: `status` (`OPTIMAL`, `FEASIBLE`, `INFEASIBLE`; `UNKNOWN` when the steps
//! ran out with nothing found and nothing excluded), `value` and `bound` in seconds of chair time,
//! `starts` of every operation, and `retention_range`, the shortest and longest stay of a needle.
//! Where all needles cannot be in at once, `repair` says what would work. One argument: the most
//! steps of work.
//!
//! `cargo run -p pinfold-core --example hour < tests/instances/A05.json`
#![allow(clippy::disallowed_macros, reason = "an example talks by printing")]

use pinfold_core::base::units::Seconds;
use pinfold_core::plan::hour::closed::Equal;
use pinfold_core::plan::hour::instance::{Instance, Removal};
use pinfold_core::plan::hour::search::{Answer, Proof, STEPS, solve};
use serde_json::{Map, Value, json};
use std::error::Error;
use std::io::Read;
use std::process::ExitCode;

/// Shortest and longest stay of a needle.
fn stays(instance: &Instance, answer: &Answer) -> Option<(i64, i64)> {
    let starts: std::collections::BTreeMap<&str, i64> = answer
        .starts
        .iter()
        .map(|(name, start)| (name.as_str(), *start))
        .collect();
    let mut range: Option<(i64, i64)> = None;
    for (g, group) in instance.groups.iter().enumerate() {
        for i in 0..group.needles {
            let out = starts.get(format!("rem.{g}.{i}").as_str())?;
            let placed = starts.get(format!("ins.{g}.{i}").as_str())? + i64::from(group.insert);
            let stay = out - placed;
            range = Some(range.map_or((stay, stay), |(a, b)| (a.min(stay), b.max(stay))));
        }
    }
    range
}

/// What would work where one block of one group is impossible: how many fit one block, waves, and
/// taking needles out as they fall due.
fn repair(instance: &Instance, answer: &Answer, steps: u64) -> Option<Value> {
    let [group] = instance.groups.as_slice() else {
        return None;
    };
    if answer.proof != Proof::Infeasible || !instance.topicals.is_empty() {
        return None;
    }
    let equal = Equal {
        needles: group.needles,
        place: Seconds(group.insert),
        remove: Seconds(group.remove),
        least: Seconds(group.stay.least),
        most: Seconds(group.stay.most),
    };
    let waves = equal.waves()?;
    let ends = instance.open + instance.close + group.setup;
    let any = Instance {
        removal: Removal::Any,
        ..instance.clone()
    };
    Some(json!({
        "most_in_one_block": equal.most_first_in_first_out(),
        "waves": waves.count,
        "most_in_one_wave": waves.smaller + u32::from(waves.larger > 0),
        "chair_time_in_waves": u64::from(waves.chair.0) + u64::from(ends),
        "chair_time_out_when_due": solve(&any, steps).value,
    }))
}

fn say() -> Result<Value, Box<dyn Error>> {
    let steps = match std::env::args().nth(1) {
        None => STEPS,
        Some(text) => text
            .parse()
            .map_err(|_| "the argument: must be a whole number of steps")?,
    };
    let mut text = String::new();
    std::io::stdin().read_to_string(&mut text)?;
    let instance = Instance::read(&text)?;
    let mut answer = solve(&instance, steps);
    let mut said = Map::new();
    said.insert("status".into(), json!(answer.proof.name()));
    said.insert("value".into(), json!(answer.value));
    said.insert("bound".into(), json!(answer.bound));
    said.insert("steps".into(), json!(answer.steps));
    if answer.value.is_some() {
        said.insert("retention_range".into(), json!(stays(&instance, &answer)));
        let starts: Map<String, Value> = core::mem::take(&mut answer.starts)
            .into_iter()
            .map(|(name, start)| (name, json!(start)))
            .collect();
        said.insert("starts".into(), Value::Object(starts));
    }
    if let Some(repair) = repair(&instance, &answer, steps) {
        said.insert("repair".into(), repair);
    }
    Ok(Value::Object(said))
}

fn main() -> ExitCode {
    match say() {
        Ok(said) => {
            println!("{said}");
            ExitCode::SUCCESS
        }
        Err(why) => {
            eprintln!("no hour: {why}");
            ExitCode::FAILURE
        }
    }
}
