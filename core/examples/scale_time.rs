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

use pinfold_core::base::date::Date;
use pinfold_core::base::id::{EntryId, Replica, Stream};
use pinfold_core::base::stamp::{Stamp, Wall, When};
use pinfold_core::event::person::{Answered, Booked, Chose, Looked, Named, Told, Wrote};
use pinfold_core::event::session::{Did, Doing, How, Mode};
use pinfold_core::intake::{Reply, Value};
use pinfold_core::journal::pack::{PackName, Packed};
use pinfold_core::journal::{Entry, Journal};
use pinfold_core::ledger::{
    ChairCommand as C, Command, DeskCommand as D, Hand, Index, Ledger, Packing, Read, SheetName,
    Want,
};
use pinfold_core::seal::{How as Derived, KEY, Key, NONCE, New, Nonce, Plain, Unlocked};
use pinfold_core::session::OpenItem;
use pinfold_core::view::books::Books;
use pinfold_core::view::{people, today, visit};
use std::collections::BTreeMap;
use std::hint::black_box;
use std::time::Instant;

const DAY: i64 = 86_400_000;
const BEGIN: i64 = 1_500_000_000_000;

struct Maker {
    ledger: Ledger,
    at: i64,
    run: u128,
    luck: u64,
}

impl Maker {
    fn luck(&mut self, n: u64) -> u64 {
        self.luck ^= self.luck << 13;
        self.luck ^= self.luck >> 7;
        self.luck ^= self.luck << 17;
        (self.luck >> 11) % n
    }

    fn hand(&mut self) -> Hand {
        self.at += 9_000;
        Hand {
            replica: Replica(self.run),
            stamp: Stamp {
                wall: Wall(self.at),
                mono: self.at - BEGIN,
                zone: 60,
            },
            when: When::Now,
        }
    }

    fn act(&mut self, command: impl Into<Command>) -> Option<EntryId> {
        let hand = self.hand();
        let facts = self.ledger.decide(&command.into(), &hand).ok()?;
        self.ledger.append(&facts);
        facts.entries().first().map(|e| e.id)
    }

    fn answers(&mut self, person: EntryId, date: Date, ids: &[String], n: usize) {
        for _ in 0..n {
            let at = self.luck(ids.len() as u64) as usize;
            self.act(D::Answer(
                person,
                Answered {
                    question: ids[at].clone(),
                    reply: Reply::Known(Value::Yes(false)),
                    date,
                    told: Told::Asked,
                },
            ));
        }
    }

    /// A visit up to the close: some 60 facts in the chair.
    fn open(&mut self, person: EntryId) -> EntryId {
        let open = C::Open {
            mode: Mode::CountOnly,
            person: Some(person),
            plan: Vec::new(),
            rehearsal: false,
            procedure: None,
        };
        let session = self.act(open).expect("opens");
        let lots = [1000 + self.luck(400), 1000 + self.luck(400)];
        for packet in 0..5 {
            let lot = Some(format!("L{}", lots[packet / 4]));
            self.act(C::OpenPack {
                session,
                held: 10,
                size: None,
                lot,
            });
        }
        for region in [
            "forehead.left",
            "forehead.right",
            "cheek.left",
            "cheek.right",
        ] {
            let region = region.parse().expect("a region");
            for _ in 0..8 {
                self.act(C::Place {
                    session,
                    region,
                    count: 1,
                    size: None,
                    points: Vec::new(),
                    stay: None,
                });
            }
        }
        session
    }

    fn close(&mut self, session: EntryId) {
        for region in [
            "forehead.left",
            "forehead.right",
            "cheek.left",
            "cheek.right",
        ] {
            let region = region.parse().expect("a region");
            for n in [3, 5] {
                self.at += 60_000;
                self.act(C::TakeOutSome {
                    session,
                    region,
                    count: n,
                    how: How::Taken,
                });
            }
        }
        self.act(C::CountStrips {
            session,
            size: None,
            left: 18,
        });
        let areas = self
            .ledger
            .session(session)
            .expect("there")
            .state()
            .areas_used();
        self.act(C::Sweep { session, areas });
        let lies = self.ledger.session(session).expect("there").state().in_tray;
        self.act(C::CountTray {
            session,
            tens: u16::try_from(lies / 10).expect("few"),
            over: u16::try_from(lies % 10).expect("few"),
        });
        self.act(C::Do {
            session,
            what: Did {
                what: Doing::Sat,
                who: String::new(),
                from: String::new(),
                next: None,
            },
        });
    }

    fn after(&mut self, person: EntryId, session: EntryId) {
        let wrote = Wrote {
            session,
            marks: "none".into(),
            felt: "calm".into(),
            otherwise: String::new(),
            told: "sheet".into(),
            done: true,
        };
        self.act(D::Write(person, wrote));
        let at = Wall(self.at + 28 * DAY);
        self.act(D::Book(person, Booked { at, minutes: 60 }));
    }
}

struct Kept {
    packs: BTreeMap<PackName, Packed>,
    sheets: Vec<(SheetName, Option<Vec<u8>>)>,
    tail: Vec<Entry>,
    last: u64,
    open: EntryId,
    at: i64,
}

fn close_words() -> Option<String> {
    Some("counted twice and signed".into())
}

/// A practice of so many sessions and people, and one more session that is open.
fn practice(sessions: usize, people: usize, books: &Books) -> Kept {
    let ids: Vec<String> = books
        .knowledge
        .bank
        .questions
        .iter()
        .map(|q| q.id.clone())
        .collect();
    let mut kept = Kept {
        packs: BTreeMap::new(),
        sheets: Vec::new(),
        tail: Vec::new(),
        last: 0,
        open: EntryId {
            counter: 1,
            replica: Replica(1),
        },
        at: 0,
    };
    let mut maker = Maker {
        ledger: Ledger::default(),
        at: BEGIN,
        run: 1,
        luck: 0x2545_f491_4f6c_dd1d,
    };
    let each = sessions.checked_div(people).unwrap_or(0);
    for n in 0..=people {
        let mut floor = Journal::new();
        floor.know_of(kept.last, None);
        maker.ledger = Ledger::resume(Index::default(), floor);
        maker.at = BEGIN + (n as i64) * DAY / 2;
        let mut person = None;
        for visit in 0..each.max(1) {
            if n == people && visit > 0 {
                break;
            }
            // A run of the app has a name of its own.
            maker.run = 1 + u128::from(maker.luck(u64::MAX)) * 0x1_0000_0000_0001;
            maker.at += 28 * DAY;
            let date: Date = visit::day_of(Wall(maker.at), 60);
            let who = person.unwrap_or_else(|| {
                let names = ["Wren", "Plover", "Siskin", "Merle", "Avocet", "Dunlin"];
                let place = ["Ford", "Weir", "Moor", "Holt", "Fell", "Mere"];
                let (a, b) = (maker.luck(6) as usize, maker.luck(6) as usize);
                let named = Named {
                    name: format!("{} of the {} {n}", names[a], place[b]),
                    birth_date: None,
                    contact: None,
                    came_for: None,
                };
                maker.act(D::Meet(named)).expect("written down")
            });
            person = Some(who);
            maker.answers(who, date, &ids, if visit == 0 { 40 } else { 12 });
            let (text, scores) = ("clear".into(), Default::default());
            maker.act(D::Look(who, Looked { date, text, scores }));
            let chose = Chose {
                date,
                procedure: "first_short".into(),
                cream: None,
                electro: false,
                most: None,
                instead: Vec::new(),
            };
            maker.act(D::Choose(who, chose));
            let session = maker.open(who);
            if n == people {
                kept.open = session;
                break;
            }
            maker.close(session);
            let words = close_words();
            let closed = maker.act(C::Close { session, words });
            assert!(closed.is_some(), "{:?}", open_items(&maker.ledger, session));
            maker.after(who, session);
        }
        let ledger = &mut maker.ledger;
        if n < people {
            let streams = ledger.packable();
            for stream in &streams {
                let packing: Packing = ledger.pack(*stream).expect("closed");
                ledger.packed(&packing);
                kept.packs.insert(packing.packed.name, packing.packed);
            }
            let name = SheetName {
                seq: 1 + n as u64,
                part: None,
            };
            kept.sheets.push((name, Some(ledger.sheet(name, &streams))));
        } else {
            kept.tail = ledger.journal().iter().cloned().collect();
        }
        kept.last = ledger.journal().next_id(Replica(0)).counter - 1;
        kept.at = maker.at;
    }
    // One base of all but the last sixty closes.
    let sixty = kept.sheets.len().saturating_sub(60);
    let since = kept.sheets.split_off(sixty);
    if sixty > 0 {
        let ledger = Ledger::resume(Index::read(&kept.sheets), Journal::new());
        let groups = ledger.groups(240);
        let of = groups.len() as u32;
        kept.sheets.clear();
        for (at, group) in groups.iter().enumerate() {
            let name = SheetName {
                seq: sixty as u64,
                part: Some((at as u32, of)),
            };
            kept.sheets.push((name, Some(ledger.sheet(name, group))));
        }
    }
    kept.sheets.extend(since);
    kept
}

fn open_items(ledger: &Ledger, session: EntryId) -> Vec<OpenItem> {
    let state = ledger.session(session).map(|s| s.state().clone());
    state
        .and_then(|s| s.reconcile(None).err())
        .unwrap_or_default()
}

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
