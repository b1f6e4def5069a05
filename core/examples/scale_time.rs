//! How what is done every day costs with 10,000 sessions of 2,000 people, beside an empty practice.
//!
//! `cargo run --release -p pinfold-core --example scale_time [SESSIONS PEOPLE]`. All in one run: read
//! the ratios. Everything is invented; nothing is read or written. "Start" is what lies between the
//! bytes and what Today shows: sheets, the tail, and the packs that the tail wants.
#![expect(
    clippy::disallowed_macros,
    clippy::disallowed_types,
    reason = "an example may print and look at the clock; the library may not"
)]

mod scale;

use pinfold_core::base::date::Date;
use pinfold_core::base::id::{EntryId, Replica, Stream};
use pinfold_core::base::stamp::{Stamp, Wall, When};
use pinfold_core::journal::Journal;
use pinfold_core::journal::pack::{PackName, Packed};
use pinfold_core::ledger::{
    ChairCommand as C, Command, DeskCommand as D, Hand, Index, Ledger, Read, SheetName, Want,
};
use pinfold_core::seal::{How as Derived, KEY, Key, NONCE, New, Nonce, Plain, Unlocked};
use pinfold_core::view::books::Books;
use pinfold_core::view::{people, today, visit};
use scale::{BEGIN, DAY, Kept, Maker, close_words, open_items, practice};
use std::hint::black_box;
use std::time::Instant;

fn load(kept: &Kept, ledger: &mut Ledger, want: &Want) -> usize {
    let mut read = 0;
    loop {
        let names = ledger.to_load(want);
        if names.is_empty() {
            return read;
        }
        read += names.len();
        let packs: Vec<Read> = names
            .into_iter()
            .map(|name| {
                (
                    name,
                    kept.packs[&name].entries().map_err(|w| format!("{w:?}")),
                )
            })
            .collect();
        ledger.absorb(packs);
    }
}

fn start(kept: &Kept) -> Ledger {
    let index = Index::read(&kept.sheets);
    assert!(index.sound);
    let mut tail = Journal::new();
    for entry in &kept.tail {
        let _ = tail.insert(entry.clone());
    }
    let mut ledger = Ledger::resume(index, tail);
    load(kept, &mut ledger, &Want::Start);
    ledger
}

fn todays(ledger: &Ledger, day: Date) {
    black_box(today::open_chairs(ledger));
    black_box(today::due(ledger, day, 60));
    black_box(today::unwritten(ledger, day, 60));
}

/// Microseconds that this thread has worked; on a system that does not tell, of the wall clock.
fn worked(since: Instant) -> f64 {
    let told = std::fs::read_to_string("/proc/thread-self/schedstat").ok();
    let nanos = told.and_then(|text| text.split(' ').next()?.parse::<f64>().ok());
    nanos.map_or_else(|| since.elapsed().as_secs_f64() * 1e6, |n| n / 1e3)
}

/// The middle of so many runs, in microseconds: of the wall clock if it is short, for which the
/// system's account of work is too coarse; of work if it is long, for which others would be counted in.
fn time<T>(runs: usize, mut run: impl FnMut() -> T) -> f64 {
    let (mut wall, mut work) = (Vec::new(), Vec::new());
    for _ in 0..runs {
        let begun = Instant::now();
        let before = worked(begun);
        let made = black_box(run());
        wall.push(begun.elapsed().as_secs_f64() * 1e6);
        work.push(worked(begun) - before);
        drop(made);
    }
    wall.sort_by(f64::total_cmp);
    work.sort_by(f64::total_cmp);
    if wall[runs / 2] < 3_000.0 {
        wall[runs / 2]
    } else {
        work[runs / 2]
    }
}

fn main() {
    let number = |n: usize, or: usize| {
        std::env::args()
            .nth(n)
            .and_then(|t| t.parse().ok())
            .unwrap_or(or)
    };
    let (sessions, persons) = (number(1, 10_000), number(2, 2_000));
    let books = Books::load().expect("sound");
    let begun = Instant::now();
    let (full, empty) = (practice(sessions, persons, &books), practice(0, 0, &books));
    println!("made in {:.0} s", begun.elapsed().as_secs_f64());
    let size =
        |p: &Packed| p.envelopes.len() + p.bodies.iter().map(|(_, b)| b.len()).sum::<usize>();
    let packed: usize = full.packs.values().map(size).sum();
    let entries: usize = full
        .packs
        .values()
        .map(|p| p.entries().expect("sound").len())
        .sum();
    let lines: usize = full
        .packs
        .values()
        .flat_map(|p| p.entries().expect("sound"))
        .map(|e| e.to_line().len() + 1)
        .sum();
    let sheets: usize = full
        .sheets
        .iter()
        .map(|(_, b)| b.as_ref().map_or(0, Vec::len))
        .sum();
    println!(
        "{sessions} sessions, {persons} people: {entries} facts, {} bytes as lines; {} packs, {packed} bytes; \
         {} sheets, {sheets} bytes (read at a start); {} rows in the tail",
        lines,
        full.packs.len(),
        full.sheets.len(),
        full.tail.len()
    );
    let row = |what: &str, a: f64, b: f64| {
        println!("| {what} | {a:.1} | {b:.1} | {:.2} | {:.1} |", b / a, b - a);
    };
    println!("| us, median | empty | full | ratio | more by |\n|---|---|---|---|---|");
    let day = visit::day_of(Wall(full.at), 60);
    let cold = |kept: &Kept| {
        time(31, || {
            let ledger = start(kept);
            todays(&ledger, day);
            ledger
        })
    };
    row("start to Today", cold(&empty), cold(&full));
    let unpack = time(11, || Books::unpack(&books.pack()).is_ok());
    println!("(for comparison, packing and unpacking the knowledge: {unpack:.1})");
    let (mut with, mut without) = (start(&full), start(&empty));
    row(
        "Today drawn again",
        time(31, || todays(&without, day)),
        time(31, || todays(&with, day)),
    );

    let mut at = full.at;
    let mut tap = |kept: &Kept, ledger: &mut Ledger| {
        let session = kept.open;
        let place = Command::Chair(C::Place {
            session,
            region: "nose.centre"
                .parse()
                .or_else(|_| "chin.centre".parse())
                .or_else(|_| "cheek.left".parse())
                .expect("a region"),
            count: 1,
            size: None,
            points: Vec::new(),
            stay: None,
        });
        at += 9_000;
        let hand = Hand {
            replica: Replica(7),
            stamp: Stamp {
                wall: Wall(at),
                mono: at - BEGIN,
                zone: 60,
            },
            when: When::Now,
        };
        let facts = ledger.decide(&place, &hand).expect("a tap");
        ledger.append(&facts);
        black_box(ledger.open_sessions().count());
        let undo = ledger
            .decide(&Command::Chair(C::Undo { session }), &hand)
            .expect("undone");
        ledger.append(&undo);
    };
    let a = time(101, || tap(&empty, &mut without));
    let b = time(101, || tap(&full, &mut with));
    row("a tap, and taken back", a, b);

    // A close, from a copy each time; the copy is not counted.
    let close = |kept: &Kept, ledger: &Ledger| {
        let mut all: Vec<f64> = (0..31)
            .map(|_| {
                let mut maker = Maker {
                    ledger: ledger.clone(),
                    at: kept.at + 3_600_000,
                    run: 9,
                    luck: 1,
                };
                maker.close(kept.open);
                let begun = Instant::now();
                let words = close_words();
                let closed = maker.act(C::Close {
                    session: kept.open,
                    words,
                });
                assert!(
                    closed.is_some(),
                    "{:?}",
                    open_items(&maker.ledger, kept.open)
                );
                let ledger = &mut maker.ledger;
                let who = ledger
                    .visit(kept.open)
                    .and_then(|v| v.person)
                    .expect("somebody");
                let streams = [Stream::Session(kept.open), Stream::Person(who)];
                let mut bytes = 0;
                for stream in streams {
                    let packing = ledger.pack(stream).expect("closed");
                    bytes += packing.packed.envelopes.len();
                    ledger.packed(&packing);
                }
                let name = SheetName {
                    seq: 1_000_000,
                    part: None,
                };
                bytes += ledger.sheet(name, &streams).len();
                black_box(bytes);
                begun.elapsed().as_secs_f64() * 1e6
            })
            .collect();
        all.sort_by(f64::total_cmp);
        all[15]
    };
    row(
        "a close: facts, two packs, a sheet",
        close(&empty, &without),
        close(&full, &with),
    );

    println!("\n| of the full practice alone | us |\n|---|---|");
    let who = with
        .everybody()
        .nth(persons / 2)
        .map(|(id, _)| id)
        .expect("somebody");
    let latest = books.learning.sessions;
    let fresh = start(&full);
    let mut read = 0;
    let opened = time(15, || {
        let mut ledger = fresh.clone();
        read = load(&full, &mut ledger, &Want::Person(who, latest));
        assert!(visit::visit(&ledger, &books, who, day, 60).is_some());
    });
    let copied = time(15, || fresh.clone());
    let first = fresh
        .to_load(&Want::Streams([Stream::Person(who)].to_vec()))
        .len();
    println!(
        "| a person opened: {read} packs, {first} of them theirs alone, and their visit judged | {:.0} |",
        opened - copied
    );
    println!(
        "| whether a person is read in, asked | {:.1} |",
        time(31, || with.has(&Want::Person(who, latest)))
    );
    println!(
        "| a name looked for, the last | {:.1} |",
        time(31, || people::find(
            &with,
            &format!("ford {}", persons - 1),
            20
        ))
    );
    println!(
        "| a new base laid, all of it | {:.0} |",
        time(5, || {
            let name = SheetName {
                seq: 1,
                part: Some((0, 1)),
            };
            with.groups(240)
                .iter()
                .map(|g| with.sheet(name, g).len())
                .sum::<usize>()
        })
    );

    let mut bare = Ledger::default();
    let known = time(1, || bare.audit(full.packs.keys().copied().collect()).len());
    println!("| the names of all packs set beside an empty index | {known:.0} |");
    let mut slices: Vec<f64> = Vec::new();
    while bare.unread() > 0 {
        let names = bare.to_learn(20);
        let packs: Vec<Read> = names
            .into_iter()
            .map(|name| {
                (
                    name,
                    full.packs[&name].entries().map_err(|w| format!("{w:?}")),
                )
            })
            .collect();
        let begun = Instant::now();
        bare.learn(packs);
        slices.push(begun.elapsed().as_secs_f64() * 1e6);
    }
    slices.sort_by(f64::total_cmp);
    let sum: f64 = slices.iter().sum();
    println!(
        "| everything summed up again: {} slices of 20 streams, median {:.0}, longest {:.0}, all | {sum:.0} |",
        slices.len(),
        slices[slices.len() / 2],
        slices[slices.len() - 1]
    );
    let same = bare.visits().zip(with.visits()).all(|(a, b)| a == b);
    assert!(same, "what was summed up again is what the sheets say");
    sealed(&full, &fresh, who, latest);
}

/// What sealing adds: every sheet, one person's packs, and an erasure with the new base that it lays.
fn sealed(kept: &Kept, fresh: &Ledger, who: EntryId, latest: u16) {
    let mut turn = 0_u64;
    let mut chance = || {
        turn += 1;
        let mut bytes = [9; NONCE];
        bytes[..8].copy_from_slice(&turn.to_le_bytes());
        Some(Nonce::from_random(bytes))
    };
    let mut nonce = || chance().expect("one");
    let new = New {
        data: Key::from_bytes(&[1; KEY]),
        practice: Key::from_bytes(&[2; KEY]),
        nonces: [nonce(), nonce(), nonce()],
    };
    let how = Derived::new("made-up").expect("a word");
    let made = Unlocked::set_up(new, how, &Key::from_bytes(&[3; KEY]), None);
    let mut unlocked = made.expect("set up").unlocked;
    for (at, (id, _)) in fresh.everybody().enumerate() {
        let mut bytes = [4; KEY];
        bytes[..8].copy_from_slice(&(at as u64).to_le_bytes());
        let _ = unlocked.add_person(id, Key::from_bytes(&bytes), nonce());
    }
    let sheets: Vec<(String, Vec<u8>)> = kept
        .sheets
        .iter()
        .map(|(name, bytes)| (name.to_string(), bytes.clone().expect("bytes")))
        .collect();
    let mut close = |ledger: &Ledger| -> Vec<(String, String)> {
        let name = SheetName { seq: 1, part: None };
        let groups = ledger.groups(240);
        let sheets = groups.iter().map(|group| ledger.sheet(name, group));
        let seal = |bytes: Vec<u8>| {
            let nonce = chance().expect("one");
            let text = unlocked.close_sheet("base", &bytes, nonce);
            ("base".to_string(), text.expect("sealed"))
        };
        sheets.map(seal).collect()
    };
    let texts = close(fresh);
    println!(
        "\n| sealed, of the full practice | us |\n|---|---|\n| a new base laid and sealed, all of it: {} sheets | {:.0} |",
        texts.len(),
        time(5, || close(fresh))
    );
    println!(
        "| {} sheets of it opened, {} letters | {:.0} |",
        texts.len(),
        texts.iter().map(|(_, text)| text.len()).sum::<usize>(),
        time(11, || {
            let open = |(name, text): &(String, String)| unlocked.open_sheet(name, text);
            assert!(texts.iter().map(open).all(|sheet| sheet.is_ok()));
        })
    );
    println!(
        "| the same from plain text ({} sheets) | {:.0} |",
        sheets.len(),
        {
            let plain = sheets.iter().map(|(_, bytes)| Plain.close_sheet(bytes));
            let plain: Vec<String> = plain.collect();
            time(11, || {
                assert!(plain.iter().all(|text| Plain.open_sheet(text).is_ok()));
            })
        }
    );
    let mut ledger = fresh.clone();
    let names = {
        let mut all = Vec::new();
        loop {
            let names = ledger.to_load(&Want::Person(who, latest));
            if names.is_empty() {
                break all;
            }
            all.extend(names.iter().copied());
            let read =
                |name: PackName| (name, kept.packs[&name].entries().map_err(|_| String::new()));
            ledger.absorb(names.into_iter().map(read).collect());
        }
    };
    let packs: Vec<(PackName, String)> = names
        .iter()
        .map(|name| {
            let text = unlocked.close_pack(&kept.packs[name], &mut chance);
            (*name, text.expect("sealed"))
        })
        .collect();
    println!(
        "| a person's {} packs opened, {} letters | {:.0} |",
        packs.len(),
        packs.iter().map(|(_, text)| text.len()).sum::<usize>(),
        time(11, || {
            let open = |(name, text): &(PackName, String)| unlocked.open_pack(*name, text);
            assert!(packs.iter().map(open).all(|pack| pack.is_ok()));
        })
    );
    let hand = Hand {
        replica: Replica(11),
        stamp: Stamp {
            wall: Wall(kept.at + DAY),
            ..Stamp::default()
        },
        when: When::Now,
    };
    let erase = Command::Desk(D::Erase(who));
    load(kept, &mut ledger, &Want::Person(who, 0));
    match ledger.decide(&erase, &hand) {
        Ok(_) => {
            let erased = time(5, || {
                let mut ledger = ledger.clone();
                let facts = ledger.decide(&erase, &hand).expect("decided");
                ledger.append(&facts);
                let burial = ledger.burial(&[who]).expect("read in");
                ledger.bury(&burial, false);
                let mut size = 0;
                for one in burial.packs.iter().filter_map(|one| one.new.as_ref()) {
                    let text = unlocked.close_pack(one, &mut chance);
                    size += text.map_or(0, |text| text.len());
                }
                size
            });
            let copied = time(5, || ledger.clone());
            println!(
                "| one person erased: decided, folded, their packs made anew and sealed, without the base | {:.0} |",
                erased - copied
            );
        }
        Err(why) => println!("(nobody was erased: {why:?})"),
    }
}
