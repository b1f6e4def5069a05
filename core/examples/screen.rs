//! Screens one case from the command line. The format is stable: fields are added, never renamed.
//!
//! ```text
//! cargo run -p pinfold-core --example screen -- --list      prints the questions, as JSON
//! cargo run -p pinfold-core --example screen < case.json    prints the screening, as JSON
//! ```
//!
//! **In**
//! ```json
//! { "date": "2026-03-09",
//!   "person": { "birth_date": "1984-05-01", "last_visit": "2026-01-12", "left_in": 0 },
//!   "answers": { "pregnant": { "value": true, "date": "2026-03-09" },
//!                "inr": { "unknown": "not_measured", "date": "2026-03-09" } },
//!   "points": [ { "code": "LI4", "side": "both", "kind": "filiform" } ],
//!   "topical": { "product": "lidocaine_4_uk_larger", "grams": 12.5, "area_cm2": 80, "minutes": 30,
//!                "wrap": false },
//!   "electro": false,
//!   "settings": { "inr_stop": 3.0, "pregnancy_stop": true,
//!                 "toxin_stop_days": { "value": 10, "reason": "why it may be looser" } },
//!   "rules": [] }
//! ```
//! Only `date` must be there. A person without `last_visit` was never here before; one without
//! `birth_date` leaves that question open. An answer without a date was given on the day.
//! A value is written by kind of question: yes_no `true`, `false`, "yes" or "no"; choice and side the
//! option's id; several a list of ids, empty for none; number a number or its decimal text, at most
//! three decimals; date "year-month-day"; places a list such as `["forehead.both", "cheek.left"]`.
//! `unknown` is one of not_asked, not_known, not_measured. A setting is a number or true and false; or
//! `value` with its `reason`, and then a looser one is refused without a reason. `rules` are the
//! practice's own, as in a file of them (`core/src/practice/own.rs`).
//!
//! **Out**
//! `verdict` is the heaviest of the findings: emergency, stop, ask, refer, omit (also for no cream and
//! no current), limit, record, none. Each finding has `rule`, `part`, `outcome` (also no_topical and
//! no_electro), `targets` ("LI4", "LI4.left", "forehead.both", "ORBIT", "kind:intradermal"; empty is
//! the whole visit), `because` (question ids, or fields of the case), `words`, `source`, `mark`,
//! `policy`, `override` (never | reason), and where they apply `could_be` (for a rule that cannot be
//! evaluated yet), `limits` and `refer`. With points planned, `targets` holds only what is planned; a
//! rule that holds and hits nothing planned stands under `standing` and does not count for the verdict.
//! `open` are the questions whose answer can still change the verdict or the plan, most decisive first.
//!
//! A region that may not be needled is `omit` with `override: never`, not a stop of the visit.
//!
//! What cannot be used is refused: one line on the error stream names the field, exit code 2.

#![expect(
    clippy::disallowed_macros,
    reason = "an example program speaks by printing"
)]

use case_file::{Wrong, case, problem};
use pinfold_core::base::cite::Mark;
use pinfold_core::intake::{By, Kind, Milli, Outcome, Reason, Urgency};
use pinfold_core::screening::{Cap, Finding, Knowledge, Override, Screening};
use serde_json::{Map, Value, json};
use std::io::{Read, Write};
use std::process::ExitCode;

mod case_file;

fn main() -> ExitCode {
    let knowledge = match Knowledge::load() {
        Ok(knowledge) => knowledge,
        Err(why) => {
            eprintln!("error: {why}");
            return ExitCode::from(2);
        }
    };
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    if arguments.iter().any(|a| a == "--list") {
        print_out(&list(&knowledge));
        return ExitCode::SUCCESS;
    }
    if let Some(argument) = arguments.first() {
        eprintln!(
            "error: field `{argument}`: the only argument is --list; a case comes in on the input"
        );
        return ExitCode::from(2);
    }
    let mut bytes = Vec::new();
    let read = std::io::stdin().read_to_end(&mut bytes);
    let answer = read
        .map_err(|why| Wrong("input".into(), why.to_string()))
        .and_then(|_| {
            serde_json::from_slice(&bytes)
                .map_err(|why| Wrong("input".into(), format!("it is not JSON: {why}")))
        })
        .and_then(|value: Value| case(&value, &knowledge))
        .and_then(|case| {
            knowledge
                .screen(&case)
                .map_err(|fault| Wrong(fault.field.clone(), problem(&fault)))
        });
    match answer {
        Ok(screening) => {
            print_out(&written(&screening));
            ExitCode::SUCCESS
        }
        Err(Wrong(field, what)) => {
            eprintln!("error: field `{field}`: {what}");
            ExitCode::from(2)
        }
    }
}

/// Prints JSON; a reader that stops reading early is no error.
fn print_out(value: &Value) {
    let _ = writeln!(std::io::stdout(), "{value:#}");
}

fn mark(mark: Mark) -> &'static str {
    match mark {
        Mark::Read => "read",
        Mark::Memory => "memory",
        Mark::CommonPractice => "common_practice",
        Mark::Derived => "derived",
        Mark::Policy => "policy",
        Mark::Own => "own",
    }
}

fn cap(cap: Cap) -> String {
    match cap {
        Cap::Plain(limit) => serde_json::to_value(limit)
            .map_or_else(|_| String::new(), |v| v.as_str().unwrap_or("").into()),
        Cap::Needles(n) => format!("at most {n} needles"),
        Cap::Depth(depth) => format!("at most {} mm deep", Milli(i64::from(depth.0))),
        Cap::Minutes(n) => format!("at most {n} minutes"),
        Cap::CreamMinutes(n) => format!("cream at most {n} minutes"),
        Cap::CreamArea(n) => format!("cream on at most {n} cm2"),
    }
}

fn urgency(urgency: Urgency) -> &'static str {
    match urgency {
        Urgency::Routine => "routine",
        Urgency::Soon => "soon",
        Urgency::TwoWeeks => "two_weeks",
        Urgency::Urgent => "urgent",
        Urgency::SameDay => "same_day",
    }
}

fn finding(finding: &Finding) -> Value {
    let targets: Vec<String> = finding.targets.iter().map(|t| t.name()).collect();
    let mut out = json!({
        "rule": finding.rule,
        "outcome": finding.outcome.name(),
        "targets": targets,
        "because": finding.because,
        "words": finding.words,
        "source": finding.source,
        "mark": mark(finding.mark),
        "policy": finding.policy,
        "override": match finding.overriding { Override::Never => "never", Override::Reason => "reason" },
    });
    if let Some(map) = out.as_object_mut() {
        if let Some(part) = &finding.part {
            map.insert("part".into(), json!(part));
        }
        if let Some(outcome) = finding.could_be {
            map.insert("could_be".into(), json!(outcome.name()));
        }
        if !finding.caps.is_empty() {
            let caps: Vec<String> = finding.caps.iter().map(|c| cap(*c)).collect();
            map.insert("limits".into(), json!(caps));
        }
        if let Some((whom, when)) = &finding.refer {
            map.insert(
                "refer".into(),
                json!({ "to": whom, "urgency": urgency(*when) }),
            );
        }
    }
    out
}

fn written(screening: &Screening) -> Value {
    let verdict = match screening.verdict {
        None => "none",
        Some(Outcome::NoElectro | Outcome::NoTopical) => "omit",
        Some(other) => other.name(),
    };
    let each = |list: &[Finding]| -> Vec<Value> { list.iter().map(finding).collect() };
    json!({
        "verdict": verdict,
        "findings": each(&screening.findings),
        "open": screening.open,
        "standing": each(&screening.standing),
    })
}

fn list(knowledge: &Knowledge) -> Value {
    let bank = &knowledge.bank;
    let rows: Vec<Value> = bank
        .questions
        .iter()
        .map(|q| {
            let (kind, choices, unit, range) = match &q.kind {
                Kind::YesNo => ("yes_no", Some(json!(["no", "yes"])), None, None),
                Kind::Choice(o) => ("choice", Some(named(o)), None, None),
                Kind::Side(o) => ("side", Some(named(o)), None, None),
                Kind::Several(o) => ("several", Some(named(o)), None, None),
                Kind::Number { unit, min, max, .. } => (
                    "number",
                    None,
                    Some(unit.clone()),
                    Some(json!([min.to_string(), max.to_string()])),
                ),
                Kind::Date => ("date", None, None, None),
                Kind::Places => ("places", None, None, None),
            };
            let exits: Vec<&str> = q
                .exits
                .iter()
                .map(|e| match e.reason {
                    Reason::NotAsked => "not_asked",
                    Reason::NotKnown => "not_known",
                    Reason::NotMeasured => "not_measured",
                })
                .collect();
            let mut row = json!({
                "id": q.id, "kind": kind, "choices": choices, "unit": unit, "range": range,
                "words": q.say, "why": q.why,
                "group": bank.groups.get(q.group).map(|g| g.id.as_str()),
                "no_to_all": bank.plain_no(q).is_some(),
                "by": if q.by == By::Patient { "patient" } else { "practitioner" },
                "valid_days": q.valid_days,
                "return_line": q.return_line.as_ref().map(|(line, _)| *line),
                "exits": exits, "source": q.source, "mark": mark(q.mark),
            });
            if let (Some(map), Kind::Choice(o) | Kind::Side(o) | Kind::Several(o)) =
                (row.as_object_mut(), &q.kind)
            {
                let said: Map<String, Value> =
                    o.iter().map(|(id, say)| (id.clone(), json!(say))).collect();
                map.insert("choice_words".into(), Value::Object(said));
            }
            row
        })
        .collect();
    json!(rows)
}

fn named(options: &[(String, String)]) -> Value {
    json!(options.iter().map(|(id, _)| id).collect::<Vec<_>>())
}

#[cfg(test)]
mod tests {
    use super::*;
    use pinfold_core::intake::{Reply, Value as Said};

    /// The field and the words of what is refused.
    fn refused(text: &str) -> (String, String) {
        let knowledge = Knowledge::load().expect("knowledge");
        let value: Value = match serde_json::from_str(text) {
            Ok(value) => value,
            Err(why) => return ("input".into(), why.to_string()),
        };
        match case(&value, &knowledge) {
            Err(Wrong(field, what)) => (field, what),
            Ok(case) => match knowledge.screen(&case) {
                Err(fault) => (fault.field.clone(), problem(&fault)),
                Ok(screening) => (String::new(), written(&screening)["verdict"].to_string()),
            },
        }
    }

    #[test]
    fn what_cannot_be_used_is_refused_by_field() {
        for (text, field) in [
            ("{", "input"),
            ("[]", "input"),
            ("{}", "date"),
            (r#"{"date":"2026-02-30"}"#, "date"),
            (r#"{"date":"2026-03-09","colour":1}"#, "colour"),
            (
                r#"{"date":"2026-03-09","person":{"birth_date":"2027-01-01"}}"#,
                "person.birth_date",
            ),
            (
                r#"{"date":"2026-03-09","person":{"birth_date":"2000-01-01","last_visit":"1999-01-01"}}"#,
                "person.last_visit",
            ),
            (
                r#"{"date":"2026-03-09","person":{"last_visit":"2026-03-10"}}"#,
                "person.last_visit",
            ),
            (
                r#"{"date":"2026-03-09","answers":{"nobody":{"value":true}}}"#,
                "answers.nobody",
            ),
            (
                r#"{"date":"2026-03-09","answers":{"pregnant":{"value":"perhaps"}}}"#,
                "answers.pregnant.value",
            ),
            (
                r#"{"date":"2026-03-09","answers":{"pregnant":{}}}"#,
                "answers.pregnant",
            ),
            (
                r#"{"date":"2026-03-09","answers":{"pregnant":{"value":true,"unknown":"not_known"}}}"#,
                "answers.pregnant",
            ),
            (
                r#"{"date":"2026-03-09","answers":{"pregnant":{"unknown":"lost"}}}"#,
                "answers.pregnant.unknown",
            ),
            (
                r#"{"date":"2026-03-09","answers":{"pregnant":{"value":true,"date":"2026-03-10"}}}"#,
                "answers.pregnant",
            ),
            (
                r#"{"date":"2026-03-09","answers":{"systolic":{"value":301}}}"#,
                "answers.systolic",
            ),
            (
                r#"{"date":"2026-03-09","answers":{"systolic":{"value":120.5}}}"#,
                "answers.systolic",
            ),
            (
                r#"{"date":"2026-03-09","answers":{"systolic":{"value":1e99}}}"#,
                "answers.systolic.value",
            ),
            (
                r#"{"date":"2026-03-09","answers":{"systolic":{"value":80},"diastolic":{"value":120}}}"#,
                "answers.diastolic",
            ),
            (
                r#"{"date":"2026-03-09","answers":{"metal":{"value":"gold"}}}"#,
                "answers.metal",
            ),
            (
                r#"{"date":"2026-03-09","answers":{"device":{"value":["pacemaker","radio"]}}}"#,
                "answers.device",
            ),
            (
                r#"{"date":"2026-03-09","answers":{"toxin_date":{"value":"2026-03-10"}}}"#,
                "answers.toxin_date",
            ),
            (
                r#"{"date":"2026-03-09","person":{"birth_date":"2000-01-01"},"answers":{"toxin_date":{"value":"1999-12-31"}}}"#,
                "answers.toxin_date",
            ),
            (
                r#"{"date":"2026-03-09","person":{"birth_date":"2000-01-01"},"answers":{"birth_date":{"value":"2000-01-02"}}}"#,
                "answers.birth_date",
            ),
            (
                r#"{"date":"2026-03-09","answers":{"toxin_where":{"value":["nose.left"]}}}"#,
                "answers.toxin_where.value",
            ),
            (
                r#"{"date":"2026-03-09","points":[{"code":"LI4","side":"left"},{"code":"XX1","side":"left"}]}"#,
                "points[1].code",
            ),
            (
                r#"{"date":"2026-03-09","points":[{"code":"LI4","side":"up"}]}"#,
                "points[0].side",
            ),
            (
                r#"{"date":"2026-03-09","topical":{"product":"soap","grams":1,"area_cm2":1,"minutes":1}}"#,
                "topical.product",
            ),
            (
                r#"{"date":"2026-03-09","topical":{"product":"mix_2_5_uk","grams":-1,"area_cm2":1,"minutes":1}}"#,
                "topical.grams",
            ),
            (
                r#"{"date":"2026-03-09","topical":{"product":"mix_2_5_uk","grams":1,"area_cm2":1}}"#,
                "topical.minutes",
            ),
            (
                r#"{"date":"2026-03-09","settings":{"inr_stop":99}}"#,
                "settings.inr_stop",
            ),
            (
                r#"{"date":"2026-03-09","settings":{"mood":1}}"#,
                "settings.mood",
            ),
            (
                r#"{"date":"2026-03-09","settings":{"inr_stop":{"value":4}}}"#,
                "settings.inr_stop",
            ),
            (r#"{"date":"2026-03-09","rules":[{"id":"OWN-1"}]}"#, "rules"),
            (
                r#"{"date":"2026-03-09","rules":[{"id":"OWN-1","when":[[{"question":"mood","is":["yes"]}]],"outcome":"stop","words":"Not today.","source":"ours"}]}"#,
                "rules.OWN-1.when[0][0].question",
            ),
        ] {
            let (got, what) = refused(text);
            assert_eq!(got, field, "{text}: {what}");
        }
        // The control: a plain case is not refused.
        assert_eq!(refused(r#"{"date":"2026-03-09"}"#).0, "");
    }

    #[test]
    fn grams_and_figures_may_have_decimals() {
        let text = r#"{"date":"2026-03-09","topical":{"product":"mix_2_5_uk","grams":12.345,
            "area_cm2":100.0,"minutes":"60"},"settings":{"inr_stop":3.25,"pregnancy_stop":true},
            "answers":{"inr":{"value":"4.20"}}}"#;
        let value = serde_json::from_str(text).expect("JSON");
        let knowledge = Knowledge::load().expect("knowledge");
        let Ok(case) = case(&value, &knowledge) else {
            panic!("refused");
        };
        assert_eq!(case.topical.map(|c| c.mg), Some(12_345));
        assert_eq!(case.settings.get("inr_stop"), Some(&Milli(3250)));
        assert_eq!(
            case.answers.get("inr").map(|a| &a.reply),
            Some(&Reply::Known(Said::Number(Milli(4200))))
        );
    }

    #[test]
    fn the_list_names_every_question() {
        let knowledge = Knowledge::load().expect("knowledge");
        let list = list(&knowledge);
        let rows = list.as_array().expect("a list");
        assert_eq!(rows.len(), knowledge.bank.questions.len());
        for row in rows {
            for key in ["id", "kind", "words", "why", "group"] {
                assert!(row[key].is_string(), "{row}");
            }
        }
    }
}
