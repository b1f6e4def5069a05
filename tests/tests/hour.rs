//! The shortest hour: the open instances at their proven optimum, golden values of a general-purpose
//! solver, the closed forms against a session played needle by needle, and files that are wrong.
//!
//! `tests/instances` holds the open instances A01 to A07 of our scheduling reference (invented data);
//! their optima are stated there, proved by OR-Tools 9.15 (CP-SAT). `tests/golden/hour.jsonl` was made
//! by `tests/golden/hour.py`.

use pinfold_core::base::units::Seconds;
use pinfold_core::plan::hour::closed::Equal;
use pinfold_core::plan::hour::instance::{Instance, MOST_NEEDLES};
use pinfold_core::plan::hour::search::{Answer, Proof, STEPS, solve};
use pinfold_tests::check::property;
use pinfold_tests::hour::{Starts, chair, faults, takes};
use proptest::prelude::*;
use serde_json::{Value, json};
use std::fs;
use std::path::{Path, PathBuf};

fn file(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(name)
}

fn text(id: &str) -> String {
    fs::read_to_string(file(&format!("instances/{id}.json"))).expect(id)
}

fn instance(id: &str) -> Value {
    serde_json::from_str(&text(id)).expect(id)
}

fn solved(instance: &Value, steps: u64) -> Answer {
    solve(
        &Instance::read(&instance.to_string()).expect("of the format"),
        steps,
    )
}

fn starts(answer: &Answer) -> Starts {
    answer.starts.iter().cloned().collect()
}

/// An answer must be what it says, whatever it says.
fn judge(instance: &Value, answer: &Answer) -> Result<(), String> {
    let id = &instance["id"];
    let Some(value) = answer.value else {
        return match answer.proof {
            Proof::Infeasible | Proof::Unknown if answer.starts.is_empty() => Ok(()),
            _ => Err(format!("{id}: {:?} without a schedule", answer.proof)),
        };
    };
    let starts = starts(answer);
    let faults = faults(instance, &starts);
    if !faults.is_empty() {
        return Err(format!("{id}: {faults:?}"));
    }
    let sound = match answer.proof {
        Proof::Optimal => answer.bound == Some(value),
        Proof::Feasible => answer.bound.is_some_and(|bound| bound < value),
        Proof::Infeasible | Proof::Unknown => false,
    };
    if !sound || chair(instance, &starts) != value {
        return Err(format!(
            "{id}: {:?} {value} {:?}, chair {}",
            answer.proof,
            answer.bound,
            chair(instance, &starts)
        ));
    }
    Ok(())
}

#[test]
fn open_instances_are_at_their_proven_optimum() {
    for (id, optimum) in [
        ("A01", Some(1566)),
        ("A02", Some(1973)),
        ("A03", Some(1909)),
        ("A04", Some(3829)),
        ("A05", Some(3983)),
        ("A06", None),
        ("A07", Some(3030)),
    ] {
        let instance = instance(id);
        let answer = solved(&instance, STEPS);
        judge(&instance, &answer).expect(id);
        assert_eq!(answer.value, optimum, "{id}");
        let proof = optimum.map_or(Proof::Infeasible, |_| Proof::Optimal);
        assert_eq!(answer.proof, proof, "{id}");
        println!("{id}: {optimum:?}, {} steps", answer.steps);
    }
}

#[test]
fn golden_values_of_a_general_purpose_solver() {
    let lines = fs::read_to_string(file("golden/hour.jsonl")).expect("golden lines");
    let (mut count, mut impossible, mut with_cream, mut gaps) = (0, 0, 0, Vec::new());
    for line in lines.lines() {
        let line: Value = serde_json::from_str(line).expect("JSON");
        let instance = &line["instance"];
        let id = instance["id"].as_str().expect("a name");
        let answer = solved(instance, STEPS);
        judge(instance, &answer).expect(id);
        count += 1;
        with_cream += usize::from(instance["topical"] != json!([]));
        match answer.proof {
            Proof::Infeasible => {
                assert_eq!(line["status"], "INFEASIBLE", "{id}");
                impossible += 1;
            }
            Proof::Optimal => {
                assert_eq!(line["status"], "OPTIMAL", "{id}");
                assert_eq!(json!(answer.value), line["value"], "{id}");
            }
            Proof::Feasible | Proof::Unknown => gaps.push(id.to_string()),
        }
    }
    println!("{count} golden lines, {impossible} impossible, {with_cream} with cream");
    assert!(count >= 40 && impossible >= 5 && with_cream >= 10);
    assert!(gaps.is_empty(), "not settled: {gaps:?}");
}

/// What each rule of the judge rejects.
#[test]
fn a_broken_schedule_fails_the_judge() {
    let whole = instance("A04");
    let answer = solved(&whole, STEPS);
    let good = starts(&answer);
    assert!(
        faults(&whole, &good).is_empty(),
        "control: whole before it is broken"
    );
    let broken = |instance: &Value, change: &dyn Fn(&mut Starts), word: &str| {
        let mut starts = good.clone();
        change(&mut starts);
        let faults = faults(instance, &starts);
        assert!(
            faults.iter().any(|fault| fault.contains(word)),
            "{word}: {faults:?}"
        );
    };
    let put = |name: &'static str, at: i64| {
        move |s: &mut Starts| {
            s.insert(name.into(), at);
        }
    };
    broken(&whole, &put("ins.0.1", good["ins.0.0"]), "at once");
    broken(
        &whole,
        &put("rem.0.0", good["ins.0.0"] + 10 + 1199),
        "stay of 1199",
    );
    broken(
        &whole,
        &put("rem.3.0", good["ins.3.0"] + 20 + 1201),
        "stay of 1201",
    );
    broken(
        &whole,
        &put("set.1", good["ins.1.0"] + 1),
        "before its set-up",
    );
    broken(
        &whole,
        &put("ins.2.0", good["ins.0.0"] - 1),
        "before ins.0.0",
    );
    broken(
        &whole,
        &put("wip.face", good["app.face"] + 180 + 1799),
        "dwell of 1799",
    );
    broken(
        &whole,
        &put("wip.face", good["app.face"] + 180 + 3601),
        "dwell of 3601",
    );
    broken(
        &whole,
        &put("wip.face", good["ins.2.0"] - 90 - 301),
        "first needle 301 after",
    );
    broken(
        &whole,
        &put("ins.3.7", good["wip.face"] + 90 + 1181),
        "last needle in 1201 after",
    );
    broken(&whole, &put("open", 1), "open: not at 0");
    broken(&whole, &put("app.face", 119), "before open is over");
    broken(
        &whole,
        &put("close", good["close"] - 1),
        "after close has begun",
    );
    broken(
        &whole,
        &|s| s.retain(|name, _| name != "rem.0.0"),
        "other operations",
    );
    let mut block = whole.clone();
    block["policy"]["removal_start"] = json!("after_last_insertion");
    let early = good["ins.3.7"];
    broken(&block, &put("rem.0.0", early), "before all are in");
}

/// Moving one operation of a proven schedule breaks it or gains nothing.
#[test]
fn no_single_move_improves_a_proven_schedule() {
    let ids = ["A02", "A03", "A04", "A05", "A07"];
    let all: Vec<(Value, Answer)> = ids
        .iter()
        .map(|id| (instance(id), solved(&instance(id), STEPS)))
        .collect();
    let any = (0..all.len(), any::<prop::sample::Index>(), -60_i64..60);
    property("one move", 400, &any, |(which, op, by)| {
        let (instance, answer) = &all[which];
        let mut starts = starts(answer);
        let name = op.get(&answer.starts).0.clone();
        *starts.get_mut(&name).expect("a start") += by;
        if faults(instance, &starts).is_empty() {
            prop_assert!(Some(chair(instance, &starts)) >= answer.value);
        }
        Ok(())
    });
}

fn one_group(n: u32, a: u32, b: u32, least: u32, most: u32, removal: &str) -> Value {
    json!({
        "format": "pinfold-sched-1", "kind": "session", "id": "one", "title": "invented",
        "time_unit": "second", "data": "invented",
        "open": {"duration": 0}, "close": {"duration": 0},
        "groups": [{"id": "g", "area": "face", "needles": n, "setup": 0, "insert": a, "remove": b,
            "retention": {"min": least, "max": most}}],
        "topical": [],
        "policy": {"group_order": "strict", "removal_start": removal},
        "objective": ["chair_time"],
    })
}

/// A session of one block played needle by needle in a fixed order: every needle as early as what
/// came before allows, and put in later again where it would stay too long. Chair time, or none where
/// that never settles.
fn played(equal: Equal, last_in_first_out: bool) -> Option<i64> {
    let n = equal.needles as usize;
    let (a, b) = (i64::from(equal.place.0), i64::from(equal.remove.0));
    let (least, most) = (i64::from(equal.least.0), i64::from(equal.most.0));
    let mut placed: Vec<i64> = vec![0; n];
    let mut taken: Vec<i64> = vec![0; n];
    let order: Vec<usize> = if last_in_first_out {
        (0..n).rev().collect()
    } else {
        (0..n).collect()
    };
    // Each round moves something later, or is the last; a second round per needle settles any block
    // that can be settled, and one more of each is allowed for.
    for _ in 0..=4 * n + 4 {
        let before = (placed.clone(), taken.clone());
        let mut now = 0;
        for start in &mut placed {
            *start = now.max(*start);
            now = *start + a;
        }
        for &i in &order {
            taken[i] = taken[i].max(now).max(placed[i] + a + least);
            now = taken[i] + b;
        }
        for i in 0..n {
            placed[i] = placed[i].max(taken[i] - most - a);
        }
        if before == (placed.clone(), taken.clone()) {
            return Some(now);
        }
    }
    None
}

#[test]
fn closed_forms_agree_with_a_session_played_needle_by_needle() {
    let any = (1_u32..60, 0_u32..60, 0_u32..60, 0_u32..2000, 0_u32..2000);
    let possible = std::cell::Cell::new((0, 0));
    property("closed forms", 2000, &any, |(n, a, b, least, extra)| {
        let equal = Equal {
            needles: n,
            place: Seconds(a),
            remove: Seconds(b),
            least: Seconds(least),
            most: Seconds(least + extra),
        };
        let first = equal.first_in_first_out().map(|s| i64::from(s.0));
        let last = equal.last_in_first_out().map(|s| i64::from(s.0));
        prop_assert_eq!(first, played(equal, false));
        prop_assert_eq!(last, played(equal, true));
        prop_assert_eq!(
            equal.most_first_in_first_out().is_none_or(|most| n <= most),
            first.is_some()
        );
        prop_assert_eq!(
            equal.most_last_in_first_out().is_none_or(|most| n <= most),
            last.is_some()
        );
        let (firsts, lasts) = possible.get();
        possible.set((
            firsts + usize::from(first.is_some()),
            lasts + usize::from(last.is_some()),
        ));
        // The solver says the same of the block.
        let instance = one_group(n, a, b, least, least + extra, "after_last_insertion");
        let answer = solved(&instance, STEPS);
        prop_assert_eq!(answer.value, first);
        prop_assert_ne!(answer.proof, Proof::Unknown);
        judge(&instance, &answer).map_err(TestCaseError::fail)
    });
    let (first, last) = possible.get();
    println!("possible first in first out {first}, last in first out {last}");
    assert!(
        first >= last && (first < 100 || last > 0),
        "both kinds were met"
    );
}

/// The table of section 2.2 of our scheduling reference, back to back with a pause.
#[test]
fn stays_back_to_back_are_those_of_the_table() {
    let any = (1_u32..80, 1_u32..60, 1_u32..60, 0_u32..2000, any::<u64>());
    property("stays", 1000, &any, |(n, a, b, pause, shuffle)| {
        let stays = |order: &[u32]| {
            let mut now = n * a + pause;
            let mut stays = vec![0; n as usize];
            for &k in order {
                stays[k as usize] = now - (k + 1) * a;
                now += b;
            }
            stays
        };
        let mut order: Vec<u32> = (0..n).collect();
        let first = stays(&order);
        order.reverse();
        let last = stays(&order);
        // Any other order, from the number drawn.
        order.sort_by_key(|k| (u64::from(*k) + 1).wrapping_mul(shuffle | 1) >> 7);
        let other = stays(&order);
        for k in 1..=n {
            let (f, l) = (first[k as usize - 1], last[k as usize - 1]);
            prop_assert_eq!(f, pause + (n - k) * a + (k - 1) * b);
            prop_assert_eq!(l, pause + (n - k) * (a + b));
        }
        let sum = n * pause + n * (n - 1) / 2 * (a + b) + n * (n - 1) % 2 * (a + b) / 2;
        for stays in [&first, &last, &other] {
            prop_assert_eq!(stays.iter().sum::<u32>(), sum);
        }
        let equal = Equal {
            needles: n,
            place: Seconds(a),
            remove: Seconds(b),
            least: Seconds(*first.iter().min().expect("one")),
            most: Seconds(*first.iter().max().expect("one")),
        };
        let spread =
            |stays: &[u32]| stays.iter().max().expect("one") - stays.iter().min().expect("one");
        prop_assert_eq!(Seconds(spread(&first)), equal.spread(false));
        prop_assert_eq!(Seconds(spread(&last)), equal.spread(true));
        prop_assert!(spread(&other) >= spread(&first));
        // A window just wide enough allows this pause, and no other.
        prop_assert_eq!(equal.pause(), Some((Seconds(pause), Seconds(pause))));
        Ok(())
    });
}

/// Worked numbers of our scheduling reference, section 2.4.
#[test]
fn worked_numbers() {
    let equal = |needles, a, b, least, most| Equal {
        needles,
        place: Seconds(a),
        remove: Seconds(b),
        least: Seconds(least),
        most: Seconds(most),
    };
    let one = equal(30, 12, 6, 1200, 1800);
    assert_eq!(one.first_in_first_out(), Some(Seconds(1566)));
    assert_eq!(one.last_in_first_out(), Some(Seconds(1740)));
    assert_eq!(one.most_first_in_first_out(), Some(151));
    assert_eq!(one.most_last_in_first_out(), Some(34));
    assert_eq!(
        (one.spread(false), one.spread(true)),
        (Seconds(174), Seconds(522))
    );
    assert_eq!(one.pause(), Some((Seconds(1026), Seconds(1452))));
    let three = equal(35, 12, 6, 1200, 1800);
    assert_eq!(three.last_in_first_out(), None);
    assert_eq!(three.first_in_first_out(), Some(Seconds(1626)));
    let five = equal(20, 10, 10, 1200, 1800);
    assert_eq!(
        (five.first_in_first_out(), five.spread(false)),
        (Some(Seconds(1410)), Seconds(0))
    );
    assert_eq!(
        equal(22, 8, 14, 1000, 1500).first_in_first_out(),
        Some(Seconds(1316))
    );
    let seven = equal(64, 30, 10, 900, 1500);
    assert_eq!(
        (seven.first_in_first_out(), seven.most_first_in_first_out()),
        (None, Some(51))
    );
    let waves = seven.waves().expect("waves");
    assert_eq!((waves.count, waves.larger, waves.smaller), (2, 0, 32));
    assert_eq!(waves.chair, Seconds(3740), "62 min 20 s");
}

#[test]
fn a_free_order_is_the_best_of_all_orders() {
    let mut whole = instance("A03");
    whole["groups"].as_array_mut().expect("groups").truncate(3);
    for (g, (needles, least)) in [(4, 300), (5, 120), (3, 200)].into_iter().enumerate() {
        whole["groups"][g]["needles"] = json!(needles);
        whole["groups"][g]["retention"] = json!({"min": least, "max": least + 60});
    }
    let mut best: Option<i64> = None;
    for order in [
        [0, 1, 2],
        [0, 2, 1],
        [1, 0, 2],
        [1, 2, 0],
        [2, 0, 1],
        [2, 1, 0],
    ] {
        let mut strict = whole.clone();
        strict["groups"] = order.iter().map(|g| whole["groups"][*g].clone()).collect();
        let answer = solved(&strict, STEPS);
        assert_eq!(answer.proof, Proof::Optimal);
        best = best.into_iter().chain(answer.value).min();
    }
    let listed = solved(&whole, STEPS);
    whole["policy"]["group_order"] = json!("free");
    let free = solved(&whole, STEPS);
    assert_eq!((free.proof, free.value), (Proof::Optimal, best));
    assert!(
        free.value < listed.value,
        "control: the listed order is not the best one"
    );
    // Its schedule, with the groups renamed in the order in which they went in.
    let starts = starts(&free);
    let mut order = [0, 1, 2];
    order.sort_by_key(|g| starts[&format!("set.{g}")]);
    let mut strict = whole.clone();
    strict["groups"] = order.iter().map(|g| whole["groups"][*g].clone()).collect();
    let renamed: Starts = starts
        .into_iter()
        .map(|(name, start)| {
            let mut parts: Vec<String> = name.split('.').map(String::from).collect();
            if let Some(g) = parts.get_mut(1) {
                let was: usize = g.parse().expect("a group");
                *g = order
                    .iter()
                    .position(|g| *g == was)
                    .expect("there")
                    .to_string();
            }
            (parts.join("."), start)
        })
        .collect();
    assert_eq!(faults(&strict, &renamed), Vec::<String>::new());
}

#[test]
fn what_is_wrong_is_named() {
    let wrong = |path: &str, value: Value| {
        let mut instance = instance("A05");
        *instance.pointer_mut(path).expect(path) = value;
        Instance::read(&instance.to_string())
            .expect_err("refused")
            .to_string()
    };
    for (path, value, field) in [
        ("/format", json!("other"), "format: "),
        ("/kind", json!("day"), "kind: "),
        ("/time_unit", json!("minute"), "time_unit: "),
        ("/open/duration", json!(-1), "open.duration: "),
        ("/close", json!(3), "close: "),
        ("/groups", json!({}), "groups: "),
        ("/groups/2", json!(null), "groups[2]: "),
        ("/groups/1/needles", json!(2.5), "groups[1].needles: "),
        (
            "/groups/1/needles",
            json!(1_u64 << 60),
            "groups[1].needles: ",
        ),
        ("/groups/0/insert", json!("10"), "groups[0].insert: "),
        (
            "/groups/3/retention/min",
            json!(1201),
            "groups[3].retention: ",
        ),
        (
            "/groups/3/retention",
            json!({"min": 0}),
            "groups[3].retention.max: ",
        ),
        ("/topical/1/dwell/min", json!(2701), "topical[1].dwell: "),
        (
            "/topical/1/first_needle_lag/max",
            json!(1e300),
            "topical[1].first_needle_lag.max: ",
        ),
        ("/topical/0/areas/0", json!(7), "topical[0].areas[0]: "),
        ("/topical/1/id", json!("upper"), "topical[1].id: "),
        ("/policy/group_order", json!("any"), "policy.group_order: "),
        (
            "/policy/removal_start",
            json!("late"),
            "policy.removal_start: ",
        ),
        ("/objective", json!(["waiting"]), "objective: "),
    ] {
        let said = wrong(path, value);
        assert!(said.starts_with(field), "{path}: {said}");
    }
    let mut many = instance("A02");
    many["groups"][0]["needles"] = json!(MOST_NEEDLES - 1);
    let said = Instance::read(&many.to_string())
        .expect_err("too many")
        .to_string();
    assert!(said.starts_with("groups[1].needles: "), "{said}");
    for text in ["", "[]", "{", "null", "{\"format\":\"pinfold-sched-1\"}"] {
        assert!(Instance::read(text).is_err(), "{text}");
    }
    assert!(
        Instance::read(&"[".repeat(100_000)).is_err(),
        "deeply nested"
    );
    let mut without = instance("A05");
    without["groups"][1]
        .as_object_mut()
        .expect("a group")
        .remove("remove");
    let said = Instance::read(&without.to_string())
        .expect_err("missing")
        .to_string();
    assert_eq!(said, "groups[1].remove: is missing");
}

#[test]
fn great_and_empty_hours_are_answered() {
    // One group has a closed form at any size.
    let great = one_group(10_000, 1, 1, 0, 20_000, "any");
    let answer = solved(&great, 0);
    assert_eq!((answer.proof, answer.value), (Proof::Optimal, Some(20_000)));
    // Several do not: within few steps nothing may be claimed that is not known.
    let mut several = instance("A05");
    for g in 0..4 {
        several["groups"][g]["needles"] = json!(2500);
    }
    let answer = solved(&several, 1_000_000);
    judge_only_claims(&several, &answer);
    several["topical"] = json!([]);
    for g in 0..4 {
        several["groups"][g]["retention"] = json!({"min": 1000, "max": 10_000_000});
    }
    let answer = solved(&several, 1_000_000);
    judge_only_claims(&several, &answer);
    // Nothing to do at all, needles that take no time, and creams where no needle goes.
    let mut none = instance("A04");
    none["groups"] = json!([]);
    let answer = solved(&none, STEPS);
    judge(&none, &answer).expect("sound");
    assert_eq!(answer.value, Some(120 + 180 + 1800 + 90 + 180));
    let mut free_hands = one_group(20, 0, 0, 60, 60, "any");
    free_hands["groups"][0]["setup"] = json!(5);
    let answer = solved(&free_hands, STEPS);
    judge(&free_hands, &answer).expect("sound");
    assert_eq!((answer.proof, answer.value), (Proof::Optimal, Some(65)));
    let mut long = one_group(
        20_000, 10_000_000, 10_000_000, 10_000_000, 10_000_000, "any",
    );
    long["open"]["duration"] = json!(10_000_000);
    assert!(
        solved(&long, 10_000_000).value.is_none(),
        "no panic, no schedule"
    );
}

/// For instances too great for the judge's every pair.
fn judge_only_claims(instance: &Value, answer: &Answer) {
    match answer.value {
        None => assert!(answer.starts.is_empty() && answer.proof != Proof::Optimal),
        Some(value) => {
            assert!(answer.bound <= Some(value));
            assert_eq!(answer.starts.len(), takes(instance).len());
        }
    }
}

/// The least chair time over every order of the hands, each order's times worked out by pushing starts
/// later until nothing moves. For a handful of operations only.
fn every_order(instance: &Value) -> Option<i64> {
    let takes = takes(instance);
    let names: Vec<&String> = takes.keys().collect();
    let mut order: Vec<&String> = vec![names.iter().find(|n| **n == "open").expect("there")];
    let mut best = None;
    fn longer<'a>(
        order: &mut Vec<&'a String>,
        names: &[&'a String],
        instance: &Value,
        best: &mut Option<i64>,
    ) {
        if order.len() + 1 == names.len() {
            let close = names.iter().find(|n| **n == "close").expect("there");
            order.push(close);
            if let Some(starts) = pushed(instance, order)
                && faults(instance, &starts).is_empty()
            {
                let chair = chair(instance, &starts);
                *best = Some(best.map_or(chair, |known: i64| known.min(chair)));
            }
            order.pop();
            return;
        }
        for name in names {
            // Orders that the judge would refuse whatever the times are not walked.
            let there = |other: &str| order.iter().any(|n| *n == other);
            let set = format!("set.{}", name.split('.').nth(1).unwrap_or_default());
            let needs = |other: &str| names.iter().all(|n| *n != other) || there(other);
            let too_soon = (name.starts_with("rem.") && !there(&name.replace("rem", "ins")))
                || (name.starts_with("wip.") && !there(&name.replace("wip", "app")))
                || (name.starts_with("ins.") && !needs(&set));
            if *name == "close" || there(name) || too_soon {
                continue;
            }
            order.push(name);
            longer(order, names, instance, best);
            order.pop();
        }
    }
    longer(&mut order, &names, instance, &mut best);
    best
}

/// Starts in this order of the hands, each as early as can be; none if that never settles. Looks at
/// least and most of stays and creams only: the judge looks at the rest.
fn pushed(instance: &Value, order: &[&String]) -> Option<Starts> {
    let takes = takes(instance);
    let number = |value: &Value| value.as_i64().expect("a number");
    // From, to, least and most between the end of one and the start of the other.
    let mut lags: Vec<(String, String, i64, i64)> = Vec::new();
    for (g, group) in instance["groups"]
        .as_array()
        .expect("groups")
        .iter()
        .enumerate()
    {
        let stay = &group["retention"];
        for i in 0..number(&group["needles"]) {
            let (from, to) = (format!("ins.{g}.{i}"), format!("rem.{g}.{i}"));
            lags.push((from, to, number(&stay["min"]), number(&stay["max"])));
        }
        for cream in instance["topical"].as_array().expect("creams") {
            let covers = cream["areas"]
                .as_array()
                .expect("areas")
                .contains(&group["area"]);
            let wipe = format!("wip.{}", cream["id"].as_str().expect("a name"));
            let lag = &cream["first_needle_lag"];
            if covers {
                lags.push((
                    wipe,
                    format!("ins.{g}.0"),
                    number(&lag["min"]),
                    number(&lag["max"]),
                ));
            }
        }
    }
    for cream in instance["topical"].as_array().expect("creams") {
        let id = cream["id"].as_str().expect("a name");
        let dwell = &cream["dwell"];
        let (from, to) = (format!("app.{id}"), format!("wip.{id}"));
        lags.push((from, to, number(&dwell["min"]), number(&dwell["max"])));
    }
    // An operation before the one it must follow can never settle.
    let place = |name: &str| order.iter().position(|n| *n == name);
    if lags.iter().any(|(from, to, ..)| place(from) > place(to)) {
        return None;
    }
    let mut starts: Starts = order.iter().map(|name| ((*name).clone(), 0)).collect();
    for _ in 0..order.len() * 2 + 2 {
        let before = starts.clone();
        for pair in order.windows(2) {
            let end = starts[pair[0]] + takes[pair[0]];
            let start = starts.get_mut(pair[1]).expect("there");
            *start = end.max(*start);
        }
        for (from, to, least, most) in &lags {
            let (end, begin) = (starts[from] + takes[from], starts[to]);
            starts.insert(to.clone(), begin.max(end + least));
            let late = starts[to] - most - takes[from];
            let start = starts.get_mut(from).expect("there");
            *start = late.max(*start);
        }
        if before == starts {
            return Some(starts);
        }
    }
    None
}

#[test]
fn a_handful_of_operations_agrees_with_every_order() {
    let group = (
        1_u32..3,
        0_u32..2,
        1_u32..20,
        0_u32..12,
        0_u32..90,
        0_u32..40,
    );
    let cream = (any::<bool>(), 1_u32..20, 20_u32..80, 0_u32..30, 0_u32..15);
    let any = (group.clone(), group, cream, any::<bool>());
    let met = std::cell::Cell::new((0, 0));
    property("every order", 150, &any, |(one, two, cream, block)| {
        let (used, apply, dwell, extra, wipe) = cream;
        let removal = if block { "after_last_insertion" } else { "any" };
        let mut instance = one_group(1, 1, 1, 0, 0, removal);
        let (mut groups, mut needles) = (Vec::new(), 0);
        for (g, (n, setup, a, b, least, extra)) in [one, two].into_iter().enumerate() {
            // Three needles at most, so that all orders can be walked.
            let n = n.min(3 - needles);
            needles += n;
            groups.push(
                json!({"id": g.to_string(), "area": g.to_string(), "needles": n,
                "setup": if used { 0 } else { setup * 7 }, "insert": a, "remove": b,
                "retention": {"min": least, "max": least + extra}}),
            );
        }
        instance["groups"] = json!(groups);
        if used {
            instance["topical"] = json!([{"id": "c", "areas": ["1"], "apply": apply,
                "dwell": {"min": dwell, "max": dwell + extra}, "wipe": wipe,
                "first_needle_lag": {"min": 0, "max": extra}, "last_needle_lag_max": null}]);
        }
        let answer = solved(&instance, STEPS);
        let walked = every_order(&instance);
        prop_assert_eq!(answer.value, walked);
        prop_assert!(matches!(answer.proof, Proof::Optimal | Proof::Infeasible));
        let (some, none) = met.get();
        met.set(if walked.is_some() {
            (some + 1, none)
        } else {
            (some, none + 1)
        });
        judge(&instance, &answer).map_err(TestCaseError::fail)
    });
    let (some, none) = met.get();
    println!("possible {some}, impossible {none}");
    assert!(
        some + none < 100 || some > 0 && none > 0,
        "both kinds were met"
    );
}

#[test]
fn any_budget_gives_an_honest_answer() {
    let lines = fs::read_to_string(file("golden/hour.jsonl")).expect("golden lines");
    let all: Vec<Value> = lines
        .lines()
        .map(|line| serde_json::from_str(line).expect("JSON"))
        .collect();
    let any = (any::<prop::sample::Index>(), 0_u64..2_000_000);
    property("any budget", 200, &any, |(which, steps)| {
        let line = which.get(&all);
        let answer = solved(&line["instance"], steps);
        judge(&line["instance"], &answer).map_err(TestCaseError::fail)?;
        match line["value"].as_i64() {
            // A bound that is above a known optimum would be a lie.
            Some(optimum) => {
                prop_assert!(answer.proof != Proof::Infeasible);
                prop_assert!(answer.bound.is_some_and(|bound| bound <= optimum));
                prop_assert!(answer.value.is_none_or(|value| value >= optimum));
            }
            None => prop_assert_eq!(answer.value, None),
        }
        Ok(())
    });
}
