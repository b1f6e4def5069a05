//! The reference of bodies: what `serde`'s derives and `serde_json` make of the same texts, from the
//! same attributes. Golden lines and bodies spoilt in many ways are read and written by both.
//!
//! Ours is stricter in two things, and only in them: no struct written as a list, and no plain
//! choice written as an object (`{"taken":null}`).

#![cfg(test)]

use super::{Event, Unread};
use crate::check::property;
use crate::journal::{Entry, Journal};
use proptest::prelude::*;
use proptest::sample::Index;
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::format;
use std::string::{String, ToString};
use std::vec::Vec;

/// The entries of the old logs, and bodies with what those do not hold.
fn known() -> Vec<(String, String)> {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../tests/logs");
    let mut all = Vec::new();
    for file in std::fs::read_dir(folder).expect("the old logs") {
        let bytes = std::fs::read(file.expect("a log").path()).expect("a log");
        let read = Journal::from_lines(&bytes);
        all.extend(
            read.journal
                .iter()
                .map(|e| (e.kind.clone(), e.body.get().to_string())),
        );
    }
    all.retain(|(kind, _)| kind != crate::journal::TOMBSTONE);
    let kinds: BTreeSet<&str> = all.iter().map(|(kind, _)| kind.as_str()).collect();
    assert_eq!(kinds, Event::KINDS.iter().copied().collect());
    let id = "7-000102030405060708090a0b0c0d0e0f";
    let size = r#"{"kind":"intradermal","diameter":160,"length":25000}"#;
    let more = [
        (
            "session.opened",
            format!(
                r#"{{"mode":"planned","person":"{id}","plan":[{{"region":"cheek.both","stay":1200,"needles":[{{"size":{size},"count":2,"points":[{{"code":"ST6","side":"right"}}]}},{{"count":3}}],"left_out":[{{"point":{{"code":"ST\"7","side":"centre"}},"rule":"PR1"}}]}}],"rehearsal":true}}"#
            ),
        ),
        ("pack.opened", format!(r#"{{"held":10,"size":{size},"lot":"é\n\u0001\\ \"a\""}}"#)),
        (
            "needle.placed",
            format!(
                r#"{{"region":"neck.left","count":3,"size":{size},"points":[],"stay":0,"basis":"came_out","of":0}}"#
            ),
        ),
        (
            "needle.out",
            format!(
                r#"{{"region":"ear.right","needles":[{{"placed":"{id}","from":0,"to":2}}],"how":"fell_out","first":0}}"#
            ),
        ),
        ("needle.out", r#"{"needles":[],"how":"taken"}"#.to_string()),
        (
            "needle.not_found",
            r#"{"unplaced":0,"words":""}"#.to_string(),
        ),
        (
            "person.looked",
            r#"{"date":"2026-02-28","text":"","scores":[["brow",3],["",0]]}"#.to_string(),
        ),
        (
            "person.chose",
            r#"{"date":"2026-02-28","procedure":"p","cream":{"product":"c","milligrams":1,"area_cm2":2,"minutes":3},"electro":false,"most":1}"#.to_string(),
        ),
    ];
    all.extend(more.map(|(kind, body)| (kind.to_string(), body)));
    for reply in [
        r#"{"known":{"yes":true}}"#,
        r#"{"known":{"number":-36500}}"#,
        r#"{"known":{"several":["b","a","b"]}}"#,
        r#"{"known":{"several":[]}}"#,
        r#"{"known":{"places":["neck.left","ear.both"]}}"#,
        r#"{"known":{"date":"2026-02-03"}}"#,
        r#"{"known":{"choice":""}}"#,
        r#"{"unknown":"not_asked"}"#,
        r#"{"unknown":"not_measured"}"#,
    ] {
        for told in ["asked", "paper", "patient"] {
            all.push((
                "person.answered".to_string(),
                format!(
                    r#"{{"question":"q","reply":{reply},"date":"2026-11-25","told":"{told}"}}"#
                ),
            ));
        }
    }
    all
}

/// JSON whose objects may hold a name twice.
#[derive(Clone, Debug)]
enum Json {
    Leaf(String),
    List(Vec<Json>),
    Object(Vec<(String, Json)>),
}

impl Json {
    fn of(value: &Value) -> Self {
        match value {
            Value::Array(all) => Self::List(all.iter().map(Self::of).collect()),
            Value::Object(all) => Self::Object(
                all.iter()
                    .map(|(name, value)| (name.clone(), Self::of(value)))
                    .collect(),
            ),
            leaf => Self::Leaf(leaf.to_string()),
        }
    }

    /// Written with room between, or with every letter of a text escaped.
    fn write(&self, room: &str, escaped: bool, out: &mut String) {
        let text = |text: &str| {
            let (true, Ok(plain)) = (escaped, serde_json::from_str::<String>(text)) else {
                return text.to_string();
            };
            let letters = plain.encode_utf16().map(|unit| format!("\\u{unit:04x}"));
            format!("\"{}\"", letters.collect::<String>())
        };
        let (open, close) = match self {
            Self::Leaf(leaf) => return out.push_str(&text(leaf)),
            Self::List(_) => ('[', ']'),
            Self::Object(_) => ('{', '}'),
        };
        out.push(open);
        out.push_str(room);
        let many = match self {
            Self::List(all) => all.iter().map(|one| (None, one)).collect(),
            Self::Object(all) => all.iter().map(|(name, one)| (Some(name), one)).collect(),
            Self::Leaf(_) => Vec::new(),
        };
        for (at, (name, one)) in many.into_iter().enumerate() {
            if at > 0 {
                out.push(',');
                out.push_str(room);
            }
            if let Some(name) = name {
                out.push_str(&text(&Value::from(name.as_str()).to_string()));
                out.push_str(room);
                out.push(':');
                out.push_str(room);
            }
            one.write(room, escaped, out);
            out.push_str(room);
        }
        out.push(close);
    }

    fn inner(&mut self) -> Vec<&mut Self> {
        match self {
            Self::Leaf(_) => Vec::new(),
            Self::List(all) => all.iter_mut().collect(),
            Self::Object(all) => all.iter_mut().map(|(_, one)| one).collect(),
        }
    }

    fn count(&mut self) -> usize {
        1 + self.inner().into_iter().map(Self::count).sum::<usize>()
    }

    /// Does something to the value at this place, itself being at 0.
    fn at(&mut self, place: usize, what: &mut dyn FnMut(&mut Self)) {
        let mut left = place;
        if left == 0 {
            return what(self);
        }
        left -= 1;
        for one in self.inner() {
            let size = one.count();
            if left < size {
                return one.at(left, what);
            }
            left -= size;
        }
    }
}

/// One thing that is done to a value of a body.
#[derive(Clone, Debug)]
enum Harm {
    /// It becomes another.
    Put(Index),
    /// It becomes one of another place.
    Copy(Index),
    /// A member or part goes.
    Drop(Index),
    /// A member or part comes again, at the end.
    Double(Index),
    /// A member has another name.
    Rename(Index, Index),
    /// One member or part more.
    Add(Index, Index),
    /// It becomes a list of it.
    InList,
    /// It becomes an object of it.
    InObject(Index),
    /// An object becomes the list of its values.
    AsList,
    /// Members or parts in another order.
    Turn(Index),
}

fn harm() -> impl Strategy<Value = Harm> {
    let i = any::<Index>;
    prop_oneof![
        4 => i().prop_map(Harm::Put),
        1 => i().prop_map(Harm::Copy),
        2 => i().prop_map(Harm::Drop),
        1 => i().prop_map(Harm::Double),
        1 => (i(), i()).prop_map(|(at, name)| Harm::Rename(at, name)),
        1 => (i(), i()).prop_map(|(name, value)| Harm::Add(name, value)),
        1 => Just(Harm::InList),
        1 => i().prop_map(Harm::InObject),
        2 => Just(Harm::AsList),
        4 => i().prop_map(Harm::Turn),
    ]
}

const ODD: &[&str] = &[
    "null",
    "true",
    "false",
    "0",
    "-0",
    "1",
    "2",
    "-1",
    "1.0",
    "1.5",
    "1e2",
    "500",
    "501",
    "65535",
    "65536",
    "4294967295",
    "4294967296",
    "9223372036854775807",
    "9223372036854775808",
    "-9223372036854775808",
    "-9223372036854775809",
    "18446744073709551616",
    "\"\"",
    "\"x\"",
    "\"taken\"",
    "\"fell_out\"",
    "\"placing\"",
    "\"count_only\"",
    "\"known\"",
    "\"known:\"",
    "\"filiform intradermal\"",
    "\"no\"",
    "\"2026-02-29\"",
    "\"2024-02-29\"",
    "\"cheek.left\"",
    "\"cheek\"",
    "\"left\"",
    "\"\\ud800\"",
    "\"\\ud83e\\udea1\"",
    "\"a\\u0000\\/\\t{[,:]}\"",
    "\"9-000102030405060708090a0b0c0d0e0f\"",
    "\"0-000102030405060708090a0b0c0d0e0f\"",
    "[]",
    "{}",
    "[null]",
    "[\"a\",\"b\",\"a\"]",
    "[\"x\",3]",
    "[\"x\",3,4]",
    "{\"taken\":null}",
    "{\"\":0}",
    "{\"x\":[]}",
];

const NAMES: &[&str] = &[
    "region",
    "count",
    "size",
    "points",
    "needles",
    "how",
    "how?",
    "*",
    "",
    "known",
    "unknown",
    "yes",
    "number",
    "date",
    "code",
    "x",
    "key",
    "person",
    "plan",
    "rehearsal",
    "size count",
    "kind",
    "words",
    "why",
];

impl Harm {
    fn to(&self, body: &mut Json, place: &Index) {
        let many = body.count();
        let mut copied = None;
        if let Self::Copy(from) = self {
            body.at(from.index(many), &mut |one| copied = Some(one.clone()));
        }
        body.at(place.index(many), &mut |one| match one {
            Json::List(all) => self.parts(all, |_, value| value),
            Json::Object(all) => self.parts(all, |name, value| (name, value)),
            Json::Leaf(_) => {}
        });
        body.at(place.index(many), &mut |one| {
            self.whole(one, copied.as_ref())
        });
    }

    /// What is done within a list or an object.
    fn parts<T: Clone>(&self, all: &mut Vec<T>, make: impl Fn(String, Json) -> T) {
        match self {
            Self::Add(name, value) => all.push(make(named(name), odd(value))),
            _ if all.is_empty() => {}
            Self::Drop(at) => drop(all.remove(at.index(all.len()))),
            Self::Double(at) => all.push(at.get(all).clone()),
            Self::Turn(by) => {
                let by = by.index(all.len());
                all.rotate_left(by);
            }
            _ => {}
        }
    }

    /// What is done to it as a whole.
    fn whole(&self, one: &mut Json, copied: Option<&Json>) {
        match (self, &mut *one) {
            (Self::Put(by), _) => *one = odd(by),
            (Self::Copy(_), _) => *one = copied.expect("a value").clone(),
            (Self::InList, _) => *one = Json::List([one.clone()].to_vec()),
            (Self::InObject(name), _) => {
                *one = Json::Object([(named(name), one.clone())].to_vec());
            }
            (Self::AsList, Json::Object(all)) => {
                *one = Json::List(all.iter().map(|(_, one)| one.clone()).collect());
            }
            (Self::Rename(at, name), Json::Object(all)) if !all.is_empty() => {
                let at = at.index(all.len());
                all[at].0 = named(name);
            }
            _ => {}
        }
    }
}

fn odd(at: &Index) -> Json {
    Json::Leaf(at.get(ODD).to_string())
}

fn named(at: &Index) -> String {
    at.get(NAMES).to_string()
}

fn ours(kind: &str, text: &str) -> Result<Event, String> {
    let line = format!(
        r#"{{"id":"1-000102030405060708090a0b0c0d0e0f","at":{{"wall":5,"mono":1,"zone":0}},"stream":"practice","kind":"{kind}","body":{text}}}"#
    );
    let entry = Entry::from_line(&line).expect("an entry");
    Event::read(&entry).map_err(|why| match why {
        Unread::Malformed(words) => words,
        Unread::Erased => "null".into(),
        other => panic!("{other:?}: {kind}"),
    })
}

/// The words for what only ours refuses.
const STRICTER: &[&str] = &["not an object", "a choice that is none of its choices"];

/// What an envelope may hold besides.
const WHEN: &[&str] = &[
    "",
    r#""when":{"about":1799999990000},"#,
    r#""when":{"between":[-1,0]},"v":1,"#,
    r#""when":"now","v":2,"#,
    r#""key":"p:3-000102030405060708090a0b0c0d0e0f","#,
    r#""key":"practice","act":"3-000102030405060708090a0b0c0d0e0f","#,
];

/// What both make of a body.
fn compare(kind: &str, text: &str) -> Result<End, TestCaseError> {
    let theirs = Event::by_serde(kind, text);
    match (ours(kind, text), theirs) {
        (Ok(mine), Some(theirs)) => {
            prop_assert_eq!(&mine, &theirs, "{}: {}", kind, text);
            let body = mine.body();
            prop_assert_eq!(body.get(), &theirs.body_by_serde(), "{}", text);
            let again = ours(kind, body.get());
            prop_assert_eq!(again, Ok(mine), "written, then read: {}", text);
            Ok(End::Read)
        }
        (Err(_), None) => Ok(End::Refused),
        // Bounds are ours alone.
        (Err(words), Some(theirs)) if theirs.within_bounds() == Err(words.as_str()) => {
            Ok(End::Refused)
        }
        (Err(words), Some(_)) => {
            prop_assert!(
                STRICTER.contains(&words.as_str()),
                "{kind}: {text}: {words}"
            );
            Ok(End::Stricter)
        }
        (Ok(mine), None) => Err(TestCaseError::fail(format!(
            "{kind}: {text}: read as {mine:?}"
        ))),
    }
}

#[test]
fn what_is_known_reads_and_is_written_as_by_the_reference() {
    for (kind, body) in known() {
        let end = compare(&kind, &body).expect(&body);
        assert_eq!(end, End::Read, "{kind}: {body}");
    }
}

/// What came of a spoilt text.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
enum End {
    Read,
    Refused,
    /// Refused where the reference reads.
    Stricter,
}

/// Spoils JSON in many ways, and sees that each end is met.
fn spoil(
    name: &str,
    known: &[(String, String)],
    compare: impl Fn(&str, &str) -> Result<End, TestCaseError>,
) {
    let tally = std::cell::RefCell::new(BTreeMap::<End, u32>::new());
    let strategy = (
        any::<Index>(),
        proptest::collection::vec((harm(), any::<Index>()), 0..4),
        prop_oneof![Just(""), Just(" "), Just("\n\t \r")],
        any::<bool>(),
    );
    property(name, 20_000, &strategy, |(which, harms, room, escaped)| {
        let (kind, text) = which.get(known);
        let mut json = Json::of(&serde_json::from_str(text).expect("JSON"));
        for (harm, place) in &harms {
            harm.to(&mut json, place);
        }
        let mut text = String::new();
        json.write(room, escaped, &mut text);
        let end = compare(kind, &text)?;
        *tally.borrow_mut().entry(end).or_default() += 1;
        Ok(())
    });
    let tally = tally.into_inner();
    assert!(
        tally.len() == 3 && tally.values().all(|n| *n > 50),
        "each end is met: {tally:?}"
    );
}

#[test]
fn spoilt_bodies_read_and_are_refused_as_by_the_reference() {
    spoil("bodies by both readers", &known(), compare);
}

#[test]
fn spoilt_envelopes_read_and_are_refused_as_by_the_reference() {
    let known = known().into_iter().zip(WHEN.iter().cycle());
    let lines: Vec<_> = known
        .map(|((kind, body), more)| {
            let line = format!(
                r#"{{"id":"1-000102030405060708090a0b0c0d0e0f","at":{{"wall":-5,"mono":1,"zone":0}},{more}"stream":"practice","kind":"{kind}","body":{body}}}"#
            );
            (kind, line)
        })
        .collect();
    spoil("envelopes by both readers", &lines, |_, line| {
        let theirs = serde_json::from_str::<Entry>(line).ok();
        match (Entry::from_line(line), theirs) {
            (Ok(mine), Some(theirs)) => {
                prop_assert_eq!(&mine, &theirs, "{}", line);
                let written = serde_json::to_string(&theirs).expect("JSON");
                prop_assert_eq!(mine.to_line(), written);
                Ok(End::Read)
            }
            (Err(_), None) => Ok(End::Refused),
            (Err(words), Some(_)) => {
                prop_assert!(
                    STRICTER.contains(&words.to_string().as_str()),
                    "{line}: {words}"
                );
                Ok(End::Stricter)
            }
            (Ok(mine), None) => Err(TestCaseError::fail(format!("{line}: read as {mine:?}"))),
        }
    });
}

#[test]
fn words_name_the_field() {
    for (body, words) in [
        (r#"{"region":"cheek.left"}"#, "missing: count"),
        (r#"{"count":3}"#, "missing: region"),
        (
            r#"{"region":"cheek.left","count":3,"count":4}"#,
            "said twice: count",
        ),
        (
            r#"{"region":"cheek.left","count":3,"size":null,"size":null}"#,
            "said twice: size",
        ),
        (
            r#"{"region":"cheek.left","count":3,"more":1}"#,
            "a field that it does not have",
        ),
        (
            r#"{"region":"cheek.left","count":0}"#,
            "a value out of its range",
        ),
        (
            r#"{"region":"cheek.left","count":1.5}"#,
            "not a whole number",
        ),
        (r#"{"region":3,"count":3}"#, "not a text"),
        (
            r#"{"region":"cheek.left","count":3,"points":{}}"#,
            "not a list",
        ),
        (
            r#"["cheek.left",3,null,[],null,"placing",null]"#,
            "not an object",
        ),
    ] {
        assert_eq!(
            ours("needle.placed", body),
            Err(words.to_string()),
            "{body}"
        );
    }
}
