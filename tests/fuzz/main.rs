//! Texts that are taken apart and put together wrongly, for as long as there is time. Four targets:
//! what a start reads, what a file brings, rules and procedures from elsewhere. Each begins with sound
//! texts, changes them by chance, and keeps what led to an answer that it had not seen: so it works its
//! way in, with no compiler of its own and no instruments.
//!
//! `PINFOLD_FUZZ_SECONDS` is for each target (1 if it is not said), `PINFOLD_SEED` as everywhere.

use pinfold_core::carry;
use pinfold_core::event::Event;
use pinfold_core::journal::{Journal, Limits, Reading};
use pinfold_core::ledger::Ledger;
use pinfold_core::practice::{composed, own};
use pinfold_core::view::books::Books;
use pinfold_core::view::procedures;
use pinfold_core::words::copies::EN;
use std::collections::BTreeSet;
use std::fs;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;
use std::time::{Duration, Instant};

/// Chance from a seed: Marsaglia's xorshift, 64 bits, 13-7-17.
struct Chance(u64);

impl Chance {
    fn next(&mut self) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0
    }

    fn below(&mut self, n: usize) -> usize {
        usize::try_from(self.next() >> 16).unwrap_or(0) % n.max(1)
    }
}

/// What is put into a text: what readers stumble over.
const ODD: &[&[u8]] = &[
    b"\n",
    b"\r\n",
    b"\0",
    b"\"",
    b"\\",
    b"\\ud800",
    b"\\u0000",
    b"{",
    b"}",
    b"[",
    b"]",
    b",",
    b":",
    b"null",
    b"true",
    b"-1",
    b"0",
    b"-0",
    b"1e309",
    b"9007199254740992",
    b"9223372036854775808",
    b"65536",
    b"{}",
    b"[]",
    b"\"\"",
    b"\xff\xfe",
    b"\xef\xbb\xbf",
    b"\xc0\xaf",
    "\u{202e}".as_bytes(),
    b"{\"pinfold\":\"journal\",\"format\":1}\n",
    b"practice",
    b"needle.sang",
    b"key.erased",
    b"settled",
    b"copy.made",
];

/// One change.
fn change(text: &mut Vec<u8>, other: &[u8], chance: &mut Chance) {
    let length = text.len();
    let (at, to) = (chance.below(length + 1), chance.below(length + 1));
    let (from, to) = (at.min(to), at.max(to));
    match chance.below(9) {
        0 if length > 0 => text[at.min(length - 1)] ^= 1 << chance.below(8),
        1 => {
            let odd = ODD[chance.below(ODD.len())];
            text.splice(at..at, odd.iter().copied());
        }
        2 => {
            text.drain(from..to.min(from + 40));
        }
        3 => {
            let part = text[from..to.min(from + 400)].to_vec();
            let there = chance.below(text.len() + 1);
            text.splice(there..there, part);
        }
        4 if !other.is_empty() => {
            let cut = chance.below(other.len());
            let end = (cut + chance.below(400)).min(other.len());
            text.splice(at..at, other[cut..end].iter().copied());
        }
        5 => {
            // The next number becomes another.
            let digit = |i: &usize| text[*i].is_ascii_digit();
            if let Some(start) = (at..length).find(digit) {
                let end = (start..length).find(|i| !digit(i)).unwrap_or(length);
                let n = chance.next() >> chance.below(64);
                text.splice(start..end, n.to_string().into_bytes());
            }
        }
        6 => {
            let mut lines: Vec<Vec<u8>> = text.split(|b| *b == b'\n').map(<[u8]>::to_vec).collect();
            let (a, b) = (chance.below(lines.len()), chance.below(lines.len()));
            lines.swap(a, b);
            *text = lines.join(&b'\n');
        }
        7 if length > 0 => {
            // One name becomes another that stands in the text.
            let words: Vec<&[u8]> = text.split(|b| *b == b'"').skip(1).step_by(2).collect();
            let (Some(old), Some(new)) = (
                words.get(chance.below(words.len())),
                words.get(chance.below(words.len())),
            ) else {
                return;
            };
            let (old, new) = (old.to_vec(), new.to_vec());
            if let Some(place) =
                (0..length - old.len().min(length)).find(|i| text[*i..].starts_with(&old))
            {
                text.splice(place..place + old.len(), new);
            }
        }
        _ => text.truncate(at.max(length / 4)),
    }
}

/// Runs one target on changed texts until its time is over. The target says in a word what came of it.
fn fuzz(name: &str, corpus: Vec<Vec<u8>>, target: impl Fn(&[u8]) -> String) {
    let seconds = std::env::var("PINFOLD_FUZZ_SECONDS").ok();
    let seconds: u64 = seconds.map_or(1, |text| text.parse().expect("a number of seconds"));
    if seconds == 0 {
        println!("fuzz {name}: SKIPPED, no seconds were given");
        return;
    }
    let seed = match std::env::var("PINFOLD_SEED").as_deref() {
        Ok("new") => std::time::UNIX_EPOCH
            .elapsed()
            .map_or(1, |d| d.as_nanos() as u64),
        Ok(text) => text.parse().expect("PINFOLD_SEED is a number or `new`"),
        Err(_) => 20_261_126,
    };
    assert!(!corpus.is_empty() && seconds <= 86_400);
    let (mut chance, mut pool) = (Chance(seed | 1), corpus);
    let mut answers: BTreeSet<String> = pool.iter().map(|text| target(text)).collect();
    let whole = answers.len();
    let until = Instant::now() + Duration::from_secs(seconds);
    let mut tried = 0_u64;
    while Instant::now() < until {
        let mut text = pool[chance.below(pool.len())].clone();
        let other = pool[chance.below(pool.len())].clone();
        for _ in 0..=chance.below(4) {
            change(&mut text, &other, &mut chance);
        }
        text.truncate(400_000);
        tried += 1;
        match catch_unwind(AssertUnwindSafe(|| target(&text))) {
            Ok(answer) => {
                if answers.insert(answer) && pool.len() < 2_000 && text.len() < 60_000 {
                    pool.push(text);
                }
            }
            Err(_) => {
                let kept = std::env::temp_dir().join(format!("pinfold-fuzz-{name}-{seed}-{tried}"));
                let _ = fs::write(&kept, &text);
                panic!(
                    "fuzz {name}, seed {seed}, text {tried}: kept in {}",
                    kept.display()
                );
            }
        }
    }
    println!(
        "fuzz {name}: {tried} texts in {seconds} s, {} answers ({whole} before), seed {seed}",
        answers.len()
    );
    assert!(
        answers.len() > whole,
        "control: changed texts led to other answers"
    );
}

fn logs() -> Vec<Vec<u8>> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("logs");
    let files = fs::read_dir(folder).expect("the old logs").flatten();
    let mut files: Vec<_> = files.map(|f| f.path()).collect();
    files.sort();
    files
        .iter()
        .map(|path| fs::read(path).expect("a log"))
        .collect()
}

/// What a journal comes to, in short: which kinds were read how.
fn come_to(journal: &Journal) -> String {
    let mut kinds = BTreeSet::new();
    for entry in journal.iter() {
        let read = Event::read(entry).map(|event| event.matter().is_some());
        kinds.insert(format!(
            "{} {read:?}",
            &entry.kind.chars().take(20).collect::<String>()
        ));
    }
    format!("{kinds:?} {}", journal.damage().count().min(3))
}

#[test]
fn what_a_start_reads() {
    fuzz("journal", logs(), |text| {
        let read = Journal::from_lines(text);
        let ledger = Ledger::new(read.journal);
        for (_, session) in ledger.whole().expect("all of it").sessions() {
            let sum = session.state().sum;
            let out = sum.in_now
                + sum.out
                + sum.out_uncounted
                + sum.stays_in
                + sum.not_found
                + sum.unseen
                + sum.fell_off;
            assert_eq!(sum.placed, out);
            assert_eq!(
                sum.opened,
                sum.placed + sum.unused + sum.spoilt + sum.turned_up + sum.unaccounted
            );
        }
        let again = Journal::from_lines(&ledger.journal().to_lines());
        assert_eq!(&again.journal, ledger.journal());
        let flaws: BTreeSet<String> = read.flaws.iter().map(|f| f.why.to_string()).collect();
        format!("{} {flaws:?}", come_to(ledger.journal()))
    });
}

#[test]
fn what_a_file_brings() {
    let here = Ledger::new(Journal::from_lines(&logs()[0]).journal);
    let before = here.journal().to_lines();
    fuzz("import", logs(), |text| {
        match Reading::whole(text, Limits::HERE) {
            Err(why) => EN.refused(&why),
            Ok(carried) => {
                let seen =
                    carry::summary(&here, carry::Beside::of(&here, &carried)).expect("all of it");
                let mut after = here.clone();
                let _ = after.merge(&seen.journal).expect("all of it");
                let again =
                    carry::summary(&after, carry::Beside::of(&after, &carried)).expect("all of it");
                assert!(again.nothing_new() || seen.left_out > 0);
                assert!(
                    before == here.journal().to_lines()
                        && after.journal().len() >= here.journal().len()
                );
                // What was brought in leaves names for what is written after it.
                assert!(
                    after.journal().free().counter <= pinfold_core::journal::COUNTER_BROUGHT + 1
                );
                let open = carry::disagreements(&after, None).len();
                let flaws: BTreeSet<String> =
                    seen.flaws.iter().map(|f| f.why.to_string()).collect();
                format!(
                    "{:?} {} {} {open} {flaws:?} {}",
                    seen.new,
                    seen.newer.min(3),
                    seen.malformed.min(3),
                    come_to(&seen.journal)
                )
            }
        }
    });
}

#[test]
fn rules_from_elsewhere() {
    let books = Books::load().expect("sound");
    // The sound examples of the tests beside this one, alone and together.
    let text = include_str!("../tests/practice_rules.rs");
    let parts = text
        .split("r#\"")
        .skip(1)
        .filter_map(|part| part.split("\"#").next());
    let parts: Vec<&str> = parts.filter(|t| t.starts_with("{\"id\":\"OWN-")).collect();
    let file = |rules: &str| {
        format!("{{\"pinfold\":\"rules\",\"format\":1,\"rules\":[{rules}]}}").into_bytes()
    };
    let mut corpus: Vec<Vec<u8>> = parts.iter().map(|part| file(part)).collect();
    corpus.push(file(&parts.join(",")));
    let sound = |text: &Vec<u8>| {
        own::read(
            &String::from_utf8_lossy(text),
            &books.knowledge.bank,
            &books.knowledge.rules,
        )
        .is_ok()
    };
    assert!(
        corpus.iter().any(sound),
        "control: it begins with something sound"
    );
    fuzz("rules", corpus, |text| {
        let text = String::from_utf8_lossy(text);
        match own::read(&text, &books.knowledge.bank, &books.knowledge.rules) {
            Ok(rules) => {
                let again = own::read(
                    &own::write(&rules),
                    &books.knowledge.bank,
                    &books.knowledge.rules,
                );
                assert_eq!(again, Ok(rules.clone()));
                format!(
                    "{} {}",
                    rules.len(),
                    rules.iter().map(|r| r.facts()).sum::<usize>()
                )
            }
            Err(why) => format!("{why:?}")
                .chars()
                .filter(|c| !c.is_ascii_digit())
                .take(60)
                .collect(),
        }
    });
}

#[test]
fn procedures_from_elsewhere() {
    let books = Books::load().expect("sound");
    let ledger = Ledger::default();
    // The example of the handbook, and what the third log holds.
    let text = include_str!("../../DEVELOPERS.md");
    let example = text
        .split("```json\n")
        .find(|part| part.starts_with("{\"pinfold\":\"procedures\""));
    let example = example
        .and_then(|part| part.split("```").next())
        .expect("the example");
    let third = Ledger::new(Journal::from_lines(include_bytes!("../logs/third.journal")).journal);
    let kept = third.practice().all_composed();
    let own = kept
        .iter()
        .filter_map(|(id, kept)| composed::read(id, &kept.procedure).ok());
    let own: Vec<_> = own.collect();
    let corpus = vec![
        example.as_bytes().to_vec(),
        composed::write_file(&own).into_bytes(),
    ];
    for text in &corpus {
        let read = procedures::read_file(&books, ledger.practice(), &String::from_utf8_lossy(text));
        assert!(
            read.is_ok(),
            "control: it begins with something sound: {:?}",
            read.err()
        );
    }
    fuzz("procedures", corpus, |text| {
        let text = String::from_utf8_lossy(text);
        let read = procedures::read_file(&books, ledger.practice(), &text);
        match read {
            Ok(_) => "sound".to_string(),
            Err(why) => format!("{why:?}")
                .chars()
                .filter(|c| !c.is_ascii_digit())
                .take(60)
                .collect(),
        }
    });
}
