//! A judge of the hour that shares nothing with what plans it: reads an instance of the open format
//! `pinfold-sched-1` (kind `session`) as plain JSON and recomputes every rule from the starts alone.
//! The same rules as the reference checker of the format, written anew.

use pinfold_core::atlas::Area;
use pinfold_core::base::units::Seconds;
use pinfold_core::plan::Cream;
use serde_json::Value;
use std::collections::BTreeMap;

/// Cream on the whole face: two minutes to put on and to wipe off, 30 to 60 on (common practice: it
/// dwells 30 minutes), five until the first needle. The times at hand are invented.
#[must_use]
pub fn cream_on_the_face() -> Cream {
    let face = [Area::Forehead, Area::EyeRim, Area::Cheek, Area::MouthJaw];
    Cream {
        areas: face.iter().map(|area| (*area, 50)).collect(),
        amount: None,
        apply: Seconds(120),
        least: Seconds(1800),
        most: Some(Seconds(3600)),
        wipe: Seconds(120),
        wait: Seconds(300),
    }
}

/// Start of every operation by its name.
pub type Starts = BTreeMap<String, i64>;

fn number(value: &Value) -> i64 {
    value.as_i64().expect("a whole number")
}

/// How long each operation takes, by its name.
///
/// # Panics
/// If the instance is not of the format.
#[must_use]
pub fn takes(instance: &Value) -> BTreeMap<String, i64> {
    let mut takes = BTreeMap::new();
    takes.insert("open".into(), number(&instance["open"]["duration"]));
    takes.insert("close".into(), number(&instance["close"]["duration"]));
    for (g, group) in list(&instance["groups"]).iter().enumerate() {
        if number(&group["setup"]) > 0 {
            takes.insert(format!("set.{g}"), number(&group["setup"]));
        }
        for i in 0..number(&group["needles"]) {
            takes.insert(format!("ins.{g}.{i}"), number(&group["insert"]));
            takes.insert(format!("rem.{g}.{i}"), number(&group["remove"]));
        }
    }
    for cream in list(&instance["topical"]) {
        let id = cream["id"].as_str().expect("a name");
        takes.insert(format!("app.{id}"), number(&cream["apply"]));
        takes.insert(format!("wip.{id}"), number(&cream["wipe"]));
    }
    takes
}

fn list(value: &Value) -> &[Value] {
    value.as_array().map_or(&[], Vec::as_slice)
}

/// Every rule that the starts break; none if they are a schedule. Intervals are half open: one that
/// ends at t does not overlap one that starts at t.
///
/// # Panics
/// If the instance is not of the format.
#[must_use]
pub fn faults(instance: &Value, starts: &Starts) -> Vec<String> {
    let takes = takes(instance);
    if !takes.keys().eq(starts.keys()) {
        return vec!["other operations than those of the instance".into()];
    }
    let mut faults = Vec::new();
    let from = |name: &str| starts[name];
    let to = |name: &str| starts[name] + takes[name];
    // Every pair, not only neighbours.
    for one in starts.keys() {
        for two in starts.keys().filter(|two| *two > one) {
            if to(one) > from(two) && to(two) > from(one) {
                faults.push(format!("{one} and {two} at once"));
            }
        }
    }
    let groups = list(&instance["groups"]);
    let needles = |g: usize| (0..number(&groups[g]["needles"])).map(move |i| (g, i));
    let mut placed: Vec<String> = Vec::new();
    for (g, group) in groups.iter().enumerate() {
        let set = format!("set.{g}");
        let mut own = Vec::new();
        if takes.contains_key(&set) {
            own.push(set.clone());
        }
        for (g, i) in needles(g) {
            let (placing, taking) = (format!("ins.{g}.{i}"), format!("rem.{g}.{i}"));
            let stay = from(&taking) - to(&placing);
            let window = &group["retention"];
            if stay < number(&window["min"]) || stay > number(&window["max"]) {
                faults.push(format!("{taking}: stay of {stay}"));
            }
            if takes.contains_key(&set) && from(&placing) < to(&set) {
                faults.push(format!("{placing} before its set-up"));
            }
            own.push(placing);
        }
        for later in &own {
            for earlier in &placed {
                if from(later) < to(earlier) {
                    faults.push(format!("{later} before {earlier}"));
                }
            }
        }
        placed.extend(own);
    }
    if instance["policy"]["removal_start"] == "after_last_insertion" {
        for taking in starts.keys().filter(|name| name.starts_with("rem.")) {
            if placed.iter().any(|earlier| from(taking) < to(earlier)) {
                faults.push(format!("{taking} before all are in"));
            }
        }
    }
    for cream in list(&instance["topical"]) {
        let id = cream["id"].as_str().expect("a name");
        let (apply, wipe) = (format!("app.{id}"), format!("wip.{id}"));
        let dwell = from(&wipe) - to(&apply);
        if dwell < number(&cream["dwell"]["min"]) || dwell > number(&cream["dwell"]["max"]) {
            faults.push(format!("{wipe}: dwell of {dwell}"));
        }
        let covered: Vec<String> = (0..groups.len())
            .filter(|g| list(&cream["areas"]).contains(&groups[*g]["area"]))
            .flat_map(needles)
            .map(|(g, i)| format!("ins.{g}.{i}"))
            .collect();
        if let Some(first) = covered.iter().map(|name| from(name)).min() {
            let lag = first - to(&wipe);
            let window = &cream["first_needle_lag"];
            if lag < number(&window["min"]) || lag > number(&window["max"]) {
                faults.push(format!("{wipe}: first needle {lag} after"));
            }
        }
        if let (Some(last), Some(most)) = (
            covered.iter().map(|name| to(name)).max(),
            cream["last_needle_lag_max"].as_i64(),
        ) && last - to(&wipe) > most
        {
            faults.push(format!("{wipe}: last needle in {} after", last - to(&wipe)));
        }
    }
    if from("open") != 0 {
        faults.push("open: not at 0".into());
    }
    for name in starts.keys() {
        if name != "open" && from(name) < to("open") {
            faults.push(format!("{name} before open is over"));
        }
        if name != "close" && to(name) > from("close") {
            faults.push(format!("{name} after close has begun"));
        }
    }
    faults
}

/// Chair time: the end of `close`.
///
/// # Panics
/// If there is no `close`.
#[must_use]
pub fn chair(instance: &Value, starts: &Starts) -> i64 {
    starts["close"] + number(&instance["close"]["duration"])
}
