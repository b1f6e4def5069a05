//! Broken, truncated, spliced and foreign journal files: whatever the bytes, nothing panics, every
//! line that was not touched is still read, and what cannot be read is named.

use pinfold_core::base::id::EntryId;
use pinfold_core::event::Event;
use pinfold_core::journal::Journal;
use pinfold_core::ledger::Ledger;
use pinfold_core::session::Now;
use pinfold_core::view::chair as view;
use pinfold_core::words::{chair, flaw, place};
use pinfold_tests::check::property;
use proptest::prelude::*;
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

/// One thing that happens to a file. Places are parts of its length in 65,536ths.
#[derive(Clone, Debug)]
enum Harm {
    Flip(u16, u8),
    Put(u16, Vec<u8>),
    Cut(u16, u16),
    CopyOver(u16, u16, u8),
    SwapLines(u16, u16),
    DoubleLine(u16),
    Figure(u16, i64),
    End(u16),
}

fn any_harm() -> impl Strategy<Value = Harm> {
    let odd = prop_oneof![
        proptest::collection::vec(any::<u8>(), 1..24),
        Just(b"\n".to_vec()),
        Just(b"\r\n{\"pinfold\":\"journal\",\"format\":99}\n".to_vec()),
        Just(b"\"},{\"".to_vec()),
        Just(vec![b'['; 300]),
        Just(vec![0xff, 0xfe, 0x00]),
    ];
    let figure = prop_oneof![any::<i64>(), Just(i64::MAX), Just(i64::MIN), -2..70_000_i64];
    prop_oneof![
        3 => (any::<u16>(), 1..=255_u8).prop_map(|(at, by)| Harm::Flip(at, by)),
        2 => (any::<u16>(), odd).prop_map(|(at, what)| Harm::Put(at, what)),
        2 => (any::<u16>(), any::<u16>()).prop_map(|(from, to)| Harm::Cut(from, to)),
        1 => (any::<u16>(), any::<u16>(), any::<u8>()).prop_map(|(from, to, n)| Harm::CopyOver(from, to, n)),
        1 => (any::<u16>(), any::<u16>()).prop_map(|(a, b)| Harm::SwapLines(a, b)),
        1 => any::<u16>().prop_map(Harm::DoubleLine),
        3 => (any::<u16>(), figure).prop_map(|(at, n)| Harm::Figure(at, n)),
        1 => any::<u16>().prop_map(Harm::End),
    ]
}

fn spot(part: u16, length: usize) -> usize {
    usize::from(part) * length / 65_536
}

fn lines(bytes: &[u8]) -> Vec<Vec<u8>> {
    bytes.split(|&b| b == b'\n').map(<[u8]>::to_vec).collect()
}

fn harm(bytes: &mut Vec<u8>, what: &Harm) {
    let length = bytes.len();
    if length == 0 {
        return;
    }
    match what {
        Harm::Flip(at, by) => bytes[spot(*at, length)] ^= by,
        Harm::Put(at, more) => {
            let at = spot(*at, length);
            bytes.splice(at..at, more.iter().copied());
        }
        Harm::Cut(from, to) => {
            let (from, to) = (spot(*from, length), spot(*to, length));
            // Short holes mostly: a long one leaves little to look at.
            bytes.drain(from..to.clamp(from, length.min(from + 200)));
        }
        Harm::CopyOver(from, to, n) => {
            let (from, to) = (spot(*from, length), spot(*to, length));
            let n = usize::from(*n).min(length - from).min(length - to);
            bytes.copy_within(from..from + n, to);
        }
        Harm::SwapLines(a, b) => {
            let mut all = lines(bytes);
            let (a, b) = (spot(*a, all.len()), spot(*b, all.len()));
            all.swap(a, b);
            *bytes = all.join(&b'\n');
        }
        Harm::DoubleLine(at) => {
            let mut all = lines(bytes);
            let at = spot(*at, all.len());
            all.insert(at, all[at].clone());
            *bytes = all.join(&b'\n');
        }
        Harm::Figure(at, n) => {
            // The next run of digits becomes another figure: still JSON, no longer sense.
            let from = spot(*at, length);
            let Some(start) = (from..length).find(|&i| bytes[i].is_ascii_digit()) else {
                return;
            };
            let end = (start..length).find(|&i| !bytes[i].is_ascii_digit());
            bytes.splice(start..end.unwrap_or(length), n.to_string().into_bytes());
        }
        Harm::End(at) => bytes.truncate(spot(*at, length)),
    }
}

fn golden() -> Vec<u8> {
    fs::read(Path::new(env!("CARGO_MANIFEST_DIR")).join("logs/first.journal")).expect("the log")
}

/// Everything a start and a chair page would do with it.
fn use_it(journal: Journal) -> usize {
    let mut drawn = 0;
    let ledger = Ledger::new(journal);
    for (_, session) in ledger.whole().expect("all of it").sessions() {
        let seen = view::chair(session);
        let sum = &seen.sum;
        assert_eq!(
            sum.opened,
            sum.placed + sum.unused + sum.spoilt + sum.unaccounted,
            "what was opened"
        );
        assert_eq!(
            sum.placed,
            sum.in_now + sum.out + sum.out_uncounted + sum.stays_in + sum.not_found,
            "what was placed"
        );
        drawn += view::sum_line(&chair::EN, sum).len();
        for kind in &seen.flaws {
            drawn += pinfold_core::view::flaw::say(&flaw::EN, *kind).len();
        }
        for (wall, mono) in [(0, 0), (1_800_000_900_000, 900_000), (i64::MAX, i64::MAX)] {
            let now = Now {
                run: pinfold_core::base::id::Replica(7),
                wall: pinfold_core::base::stamp::Wall(wall),
                mono,
                follows_since: 0,
            };
            drawn += view::clocks(session.state(), &now, &chair::EN, &place::EN).len();
        }
        let _ = session.state().reconcile(Some("words enough to sign"));
    }
    for (_, person) in ledger.whole().expect("all of it").people() {
        drawn += person.name().len();
    }
    drawn
}

#[test]
fn a_mangled_journal_is_read_as_far_as_it_can_be() {
    let whole = golden();
    let before = Journal::from_lines(&whole);
    assert!(
        before.flaws.is_empty() && before.journal.len() > 20,
        "control: the whole file has no flaw"
    );
    let by_line: BTreeMap<Vec<u8>, EntryId> = before
        .journal
        .iter()
        .map(|entry| (entry.to_line().into_bytes(), entry.id))
        .collect();
    let damaged = std::cell::Cell::new((0_u32, 0_u32, 0_u32));
    property(
        "mangled journals",
        2_000,
        &proptest::collection::vec(any_harm(), 1..6),
        |harms| {
            let mut bytes = whole.clone();
            harms.iter().for_each(|one| harm(&mut bytes, one));
            let read = Journal::from_lines(&bytes);
            // Every whole line is read: as it was, or, if another text came under its id, beside it.
            let mut untouched = 0;
            for line in lines(&bytes) {
                let Some(id) = by_line.get(&line) else {
                    continue;
                };
                untouched += 1;
                prop_assert!(
                    read.journal.get(*id).is_some(),
                    "a whole line was not read: {}",
                    String::from_utf8_lossy(&line)
                );
            }
            let (cases, flawed, kept) = damaged.get();
            damaged.set((
                cases + 1,
                flawed + u32::from(!read.flaws.is_empty()),
                kept + untouched,
            ));
            for entry in read.journal.iter() {
                let _ = Event::read(entry);
            }
            // Written out and read again it is the same journal.
            let again = Journal::from_lines(&read.journal.to_lines());
            prop_assert_eq!(again.journal.len(), read.journal.len());
            // Both sums hold, on any facts at all, and everything that is drawn can be drawn.
            use_it(read.journal);
            // Merged with the whole file nothing of the whole is missing.
            let mut both = Ledger::new(Journal::from_lines(&bytes).journal);
            both.merge(&before.journal).expect("all of it is here");
            prop_assert!(
                before
                    .journal
                    .iter()
                    .all(|entry| both.journal().get(entry.id).is_some())
            );
            Ok(())
        },
    );
    let (cases, flawed, kept) = damaged.get();
    println!("  {flawed} of {cases} files had named flaws; {kept} whole lines were all read");
    assert!(
        flawed * 2 > cases,
        "control: most of the files were really damaged"
    );
}

#[test]
fn a_foreign_file_is_no_journal_and_harms_nothing() {
    property(
        "foreign files",
        2_000,
        &proptest::collection::vec(any::<u8>(), 0..2_000),
        |bytes| {
            let read = Journal::from_lines(&bytes);
            prop_assert!(read.journal.is_empty());
            use_it(read.journal);
            Ok(())
        },
    );
    // Deep nesting must not end the program by its stack.
    for deep in [
        "[".repeat(100_000),
        format!("{{\"id\":{}", "{\"a\":".repeat(50_000)),
    ] {
        let text = format!("{}\n{deep}\n", pinfold_core::journal::HEADER);
        let read = Journal::from_lines(text.as_bytes());
        assert!(read.journal.is_empty() && !read.flaws.is_empty());
    }
}
