//! Files that are broken in ways that have a name: each is refused or named in words, and nothing here
//! is changed by looking at it.

use pinfold_core::carry;
use pinfold_core::journal::{Journal, Limits, Reading, Refused};
use pinfold_core::ledger::Ledger;
use pinfold_core::words::copies::EN;
use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

const HEAD: &str = r#"{"pinfold":"journal","format":1}"#;
const ID: &str = "7-000102030405060708090a0b0c0d0e0f";

/// An entry with some of its text changed.
fn line(from: &str, to: &str) -> String {
    let whole = format!(
        r#"{{"id":"{ID}","at":{{"wall":1800000000000,"mono":5,"zone":60}},"stream":"s:{ID}","kind":"needle.placed","v":1,"body":{{"region":"cheek.left","count":3}}}}"#
    );
    assert!(whole.contains(from), "{from}");
    whole.replacen(from, to, 1)
}

fn with(lines: &[&str]) -> Vec<u8> {
    format!("{HEAD}\n{}\n", lines.join("\n")).into_bytes()
}

/// What the words of a file have to hold.
enum Says {
    /// Nothing was taken from it.
    Refused(&'static str),
    /// The rest is read; this line is named.
    Line(&'static str),
    /// It is read as it is, and a fact in it cannot be: so many are new, newer, malformed.
    Kept(usize, u32, u32),
    /// The summary's words about the whole.
    Missing(usize),
}

use Says::{Kept, Line, Missing, Refused as No};

#[expect(clippy::too_many_lines, reason = "one row for each file")]
fn files() -> Vec<(&'static str, Vec<u8>, Says)> {
    let good = line("7-", "7-");
    let one = |from: &str, to: &str| with(&[&line(from, to)]);
    let body = |body: &str| one(r#"{"region":"cheek.left","count":3}"#, body);
    let named = |name: &str| {
        let text =
            line("needle.placed", "person.named").replace(&format!("s:{ID}"), &format!("p:{ID}"));
        with(&[&text.replace(
            r#"{"region":"cheek.left","count":3}"#,
            &format!(r#"{{"name":"{name}"}}"#),
        )])
    };
    let utf16 = |little: bool| {
        let mark = if little { [0xff, 0xfe] } else { [0xfe, 0xff] };
        let units = HEAD.encode_utf16();
        let units = units.flat_map(|u| {
            if little {
                u.to_le_bytes()
            } else {
                u.to_be_bytes()
            }
        });
        mark.into_iter().chain(units).collect::<Vec<u8>>()
    };
    let mut bom = vec![0xef, 0xbb, 0xbf];
    bom.extend(with(&[&good]));
    let deep = |n| body(&format!("{}1{}", "[".repeat(n), "]".repeat(n)));
    let long = |n| line("cheek.left", &"x".repeat(n));
    let rows = |n: usize| with(&vec![good.as_str(); n]);
    vec![
        // What is no journal.
        ("nothing", Vec::new(), No("nothing in this file")),
        (
            "only empty lines",
            b"\n\r\n\n".to_vec(),
            No("nothing in this file"),
        ),
        (
            "a picture",
            vec![0x89, b'P', b'N', b'G', 0, 0, 0, 13],
            No("no text"),
        ),
        (
            "a document",
            b"%PDF-1.7\n%\n".to_vec(),
            No("does not begin as a copy"),
        ),
        (
            "a page",
            b"<!doctype html><title>x</title>".to_vec(),
            No("does not begin as a copy"),
        ),
        (
            "an archive",
            b"PK\x03\x04\x14\x00\x00".to_vec(),
            No("no text"),
        ),
        ("zeroes", vec![0; 4096], No("no text")),
        ("UTF-16, little end first", utf16(true), No("UTF-16")),
        ("UTF-16, big end first", utf16(false), No("UTF-16")),
        (
            "UTF-16 that a browser read as text",
            "\u{fffd}\u{fffd}{\0\"\0p\0".into(),
            No("UTF-16"),
        ),
        (
            "UTF-16 without its mark",
            b"{\0\"\0p\0i\0".to_vec(),
            No("UTF-16"),
        ),
        (
            "entries without a first line",
            good.clone().into_bytes(),
            No("does not begin as a copy"),
        ),
        (
            "a first line of another program",
            b"{\"format\":1}\n".to_vec(),
            No("does not begin as a copy"),
        ),
        (
            "a first line cut off",
            HEAD[..20].into(),
            No("does not begin as a copy"),
        ),
        (
            "a file of procedures",
            b"{\"pinfold\":\"procedures\",\"format\":1,\"procedures\":[]}".to_vec(),
            No("a file of procedures"),
        ),
        (
            "a file of rules",
            b"{\"pinfold\":\"rules\",\"format\":1}".to_vec(),
            No("a file of rules"),
        ),
        (
            "a sealed file",
            b"age-encryption.org/v1\n-> scrypt x 15\n".to_vec(),
            No("locked"),
        ),
        (
            "a sealed file in letters",
            b"-----BEGIN AGE ENCRYPTED FILE-----\n".to_vec(),
            No("locked"),
        ),
        (
            "a sealed file in letters that an editor saved again",
            b"\xef\xbb\xbf \r\n\t-----BEGIN AGE ENCRYPTED FILE-----\r\n".to_vec(),
            No("locked"),
        ),
        (
            "a sealed file in bytes that are no text",
            b"age-encryption.org/\xff\xfe\x00".to_vec(),
            No("locked"),
        ),
        // What comes from later, or says that it is more than can be.
        (
            "a future format",
            HEAD.replace(":1}", ":2}").into(),
            No("newer version of Pinfold wrote this file (format 2)"),
        ),
        (
            "a far format, said otherwise",
            b"{\"pinfold\":\"journal\",\"format\":9,\"scope\":{\"of\":1}}".to_vec(),
            No("format 9"),
        ),
        (
            "a format below nothing",
            HEAD.replace(":1}", ":-1}").into(),
            No("does not begin as a copy"),
        ),
        (
            "a scope that nobody knows",
            HEAD.replace(":1}", ":1,\"scope\":\"moon\"}").into(),
            No("does not begin as a copy"),
        ),
        (
            "a claim of four billion lines",
            HEAD.replace(":1}", ":1,\"entries\":4000000000}").into(),
            No("more than 40 lines"),
        ),
        (
            "a claim beyond numbers",
            HEAD.replace(":1}", ":1,\"entries\":99999999999999999999}")
                .into(),
            No("does not begin as a copy"),
        ),
        (
            "nesting like a bomb",
            deep(40_000),
            No("deeper than 64 levels (line 2)"),
        ),
        (
            "nesting one too deep",
            deep(64),
            No("deeper than 64 levels (line 2)"),
        ),
        (
            "nesting that never ends",
            with(&[&"{\"a\":".repeat(1000)]),
            No("deeper than 64 levels (line 2)"),
        ),
        (
            "a line without end",
            with(&[&long(300_000)]),
            No("a line is longer than 262144 bytes (line 2)"),
        ),
        (
            "too many lines",
            rows(41),
            No("more than 40 lines (line 42)"),
        ),
        (
            "too many bytes",
            with(&[long(200_000).as_str(); 8]),
            No("longer than 1 MB (line 7)"),
        ),
        // Lines that are left out.
        (
            "the end cut off",
            with(&[&good, &good[..60]]),
            Line("Line 3: not an entry: not JSON"),
        ),
        (
            "fewer lines than it says",
            HEAD.replace(":1}", ":1,\"entries\":5}").into(),
            Missing(5),
        ),
        (
            "a zero in a line",
            one("cheek", "che\0ek"),
            Line("Line 2: not an entry: not JSON"),
        ),
        (
            "bytes that are no text",
            [&with(&[&good])[..], &[0xff, 0xc0, b'\n']].concat(),
            Line("Line 3: not text"),
        ),
        (
            "an overlong slash",
            [&with(&[])[..], &[0xc0, 0xaf, b'\n']].concat(),
            Line("Line 3: not text"),
        ),
        (
            "a doubled comma",
            one(",\"v\"", ",,\"v\""),
            Line("not JSON"),
        ),
        (
            "two objects in a line",
            with(&[&format!("{good}{good}")]),
            Line("not JSON"),
        ),
        ("a list", with(&["[1,2]"]), Line("not an object")),
        (
            "a field more",
            one("{\"id\"", "{\"x\":1,\"id\""),
            Line("a field that it does not have"),
        ),
        (
            "a field twice",
            one("{\"id\"", "{\"v\":1,\"id\""),
            Line("said twice: v"),
        ),
        (
            "no name",
            one(&format!("\"id\":\"{ID}\","), ""),
            Line("missing: id"),
        ),
        (
            "a counter of 0",
            one("\"7-", "\"0-"),
            Line("out of its range"),
        ),
        (
            "a counter of 2^53",
            one("\"7-", "\"9007199254740992-"),
            Line("out of its range"),
        ),
        (
            "a counter that leaves no names",
            one("\"7-", "\"9007199254740991-"),
            Line("a counter beyond any practice"),
        ),
        (
            "a counter beyond 64 bits",
            one("\"7-", "\"99999999999999999999-"),
            Line("out of its range"),
        ),
        (
            "a counter with a sign",
            one("\"7-", "\"-7-"),
            Line("out of its range"),
        ),
        (
            "a time before all clocks",
            one("1800000000000", "-1"),
            Line("a time that no clock shows"),
        ),
        (
            "a time beyond all clocks",
            one("1800000000000", "9223372036854775807"),
            Line("a time that no clock shows"),
        ),
        (
            "a time beyond numbers",
            one("1800000000000", "9223372036854775808"),
            Line("not a whole number"),
        ),
        (
            "a time with an exponent",
            one("1800000000000", "1.8e12"),
            Line("not a whole number"),
        ),
        (
            "a zone of two days",
            one("\"zone\":60", "\"zone\":2880"),
            Line("a time that no clock shows"),
        ),
        (
            "a zone beyond numbers",
            one("\"zone\":60", "\"zone\":32768"),
            Line("out of its range"),
        ),
        (
            "it happened in the year 3000",
            one(
                "\"stream\"",
                "\"when\":{\"about\":32503680000000},\"stream\"",
            ),
            Line("a time that no clock shows"),
        ),
        (
            "a run that began before it began",
            one("\"mono\":5", "\"mono\":-5"),
            Line("a time that no clock shows"),
        ),
        (
            "a stream of nobody",
            one("\"s:7-", "\"q:7-"),
            Line("out of its range"),
        ),
        (
            "a version below nothing",
            one("\"v\":1", "\"v\":-1"),
            Line("out of its range"),
        ),
        // What is read and kept, and cannot be made use of here.
        (
            "a kind from later",
            one("needle.placed", "needle.sang"),
            Kept(1, 1, 0),
        ),
        (
            "a version from later",
            one("\"v\":1", "\"v\":9"),
            Kept(1, 1, 0),
        ),
        (
            "the body of another kind",
            body("{\"name\":\"x\"}"),
            Kept(1, 0, 1),
        ),
        (
            "no needles placed",
            body("{\"region\":\"cheek.left\",\"count\":0}"),
            Kept(1, 0, 1),
        ),
        (
            "more needles than a session has",
            body("{\"region\":\"cheek.left\",\"count\":65535}"),
            Kept(1, 0, 1),
        ),
        (
            "needles below nothing",
            body("{\"region\":\"cheek.left\",\"count\":-3}"),
            Kept(1, 0, 1),
        ),
        (
            "half a needle",
            body("{\"region\":\"cheek.left\",\"count\":2.5}"),
            Kept(1, 0, 1),
        ),
        ("a lone surrogate", named("\\ud800"), Kept(1, 0, 1)),
        (
            "a name of 300 letters",
            named(&"x".repeat(300)),
            Kept(1, 0, 1),
        ),
        (
            "two facts under one name",
            with(&[&good, &line("count\":3", "count\":4")]),
            Kept(2, 0, 0),
        ),
        // What looks odd and is sound.
        ("a mark of byte order", bom, Kept(1, 0, 0)),
        (
            "lines that end as on another system",
            with(&[&format!("{good}\r")]),
            Kept(1, 0, 0),
        ),
        ("the same line many times", rows(40), Kept(1, 0, 0)),
        (
            "two files in one",
            with(&[&good, HEAD, &good]),
            Kept(1, 0, 0),
        ),
        (
            "markup in a name",
            named("<img src=x onerror=alert(1)>"),
            Kept(1, 0, 0),
        ),
        (
            "writing turned round in a name",
            named("\u{202e}nerW"),
            Kept(1, 0, 0),
        ),
    ]
}

fn ledger() -> Ledger {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("logs/chair.journal");
    Ledger::new(Journal::from_lines(&fs::read(path).expect("a log")).journal)
}

/// Small, so that too much is small too.
const LIMITS: Limits = Limits {
    bytes: 1 << 20,
    lines: 40,
    ..Limits::HERE
};

/// All that is said of a file, and what would be merged.
fn say(ledger: &Ledger, bytes: &[u8]) -> (Result<carry::Summary, Refused>, String) {
    match Reading::whole(bytes, LIMITS) {
        Err(why) => {
            let words = EN.refused(&why);
            (Err(why), words)
        }
        Ok(carried) => {
            let seen = carry::summary(ledger, carry::Beside::of(ledger, &carried))
                .expect("all of it is here");
            let words: Vec<String> = seen.flaws.iter().map(|flaw| EN.flaw(flaw)).collect();
            (Ok(seen), words.join(" "))
        }
    }
}

#[test]
fn every_broken_file_is_named_and_changes_nothing() {
    let ledger = ledger();
    let before = ledger.journal().to_lines();
    let files = files();
    let names: BTreeSet<&str> = files.iter().map(|(name, _, _)| *name).collect();
    assert_eq!(names.len(), files.len(), "each has a name of its own");
    let (mut refused, mut flawed, mut kept) = (0, 0, 0);
    for (name, bytes, says) in files {
        let (seen, words) = say(&ledger, &bytes);
        match says {
            No(expected) => {
                refused += 1;
                assert!(seen.is_err(), "{name}: taken");
                assert!(words.contains(expected), "{name}: {words}");
                assert!(words.ends_with("Nothing was changed."), "{name}: {words}");
            }
            Line(expected) => {
                flawed += 1;
                let seen = seen.unwrap_or_else(|why| panic!("{name}: {why:?}"));
                assert!(words.contains(expected), "{name}: {words}");
                assert_eq!(seen.flaws.len(), 1, "{name}");
                // The line is not in what would be merged.
                let good = seen.journal.len();
                assert_eq!(
                    good,
                    usize::from(bytes.len() > 300 && name.contains("end cut"))
                        + usize::from(name == "bytes that are no text"),
                    "{name}"
                );
            }
            Kept(new, newer, malformed) => {
                kept += 1;
                let seen = seen.unwrap_or_else(|why| panic!("{name}: {why:?}"));
                assert!(words.is_empty(), "{name}: {words}");
                assert_eq!(
                    (seen.checked.new, seen.newer, seen.malformed),
                    (new, newer, malformed),
                    "{name}"
                );
                // What nobody here can read passes through untouched.
                let mut after = ledger.clone();
                let _ = after.merge(&seen.journal).expect("all of it is here");
                let (out, text) = (
                    after.journal().to_lines(),
                    String::from_utf8_lossy(&bytes).into_owned(),
                );
                for line in text.lines().skip(1).filter(|l| !l.is_empty() && *l != HEAD) {
                    let line = line.replace("\"v\":1,", "");
                    assert!(
                        String::from_utf8_lossy(&out).contains(&line),
                        "{name}: {line}"
                    );
                }
                for person in &seen.people {
                    let shown = pinfold_core::words::copies::shown(person);
                    assert!(!shown.contains('\u{202e}'), "{name}");
                }
            }
            Missing(lines) => {
                flawed += 1;
                let seen = seen.unwrap_or_else(|why| panic!("{name}: {why:?}"));
                assert_eq!(seen.checked.missing, lines, "{name}");
            }
        }
        assert_eq!(
            ledger.journal().to_lines(),
            before,
            "{name}: something changed"
        );
    }
    println!("{refused} files refused, {flawed} with a line left out, {kept} kept as they are");
    assert!(refused + flawed + kept >= 40);
}

#[test]
fn a_claim_of_a_gigabyte_is_refused_before_it_is_read() {
    let reading = Reading::new(Limits::HERE);
    let why = reading.claims(1 << 30).expect_err("too much");
    assert!(
        EN.refused(&why).contains("longer than 128 MB. Nothing"),
        "{}",
        EN.refused(&why)
    );
    assert_eq!(reading.claims(1 << 20), Ok(()), "control: a small one");
}

#[test]
fn in_whatever_pieces_a_file_comes_it_is_read_the_same() {
    for (name, bytes, _) in files() {
        let whole = Reading::whole(&bytes, LIMITS);
        for size in [1, 7, 4096] {
            if size == 1 && bytes.len() > 100_000 {
                continue;
            }
            let mut reading = Reading::new(LIMITS);
            let fed = bytes.chunks(size).try_for_each(|piece| reading.feed(piece));
            let read = fed.and_then(|()| reading.end());
            assert_eq!(read, whole, "{name} in pieces of {size}");
        }
    }
}
