//! A practice of so many closed sessions and people, invented, always the same: what is packed of it, its
//! sheets, and one more session that is open. Shared by the examples that time it and that write it down.

use pinfold_core::base::date::Date;
use pinfold_core::base::id::{EntryId, Replica};
use pinfold_core::base::stamp::{Stamp, Wall, When};
use pinfold_core::event::person::{Answered, Booked, Chose, Looked, Named, Told, Wrote};
use pinfold_core::event::session::{Did, Doing, How, Mode};
use pinfold_core::intake::{Reply, Value};
use pinfold_core::journal::pack::{PackName, Packed};
use pinfold_core::journal::{Entry, Journal};
use pinfold_core::ledger::{
    ChairCommand as C, Command, DeskCommand as D, Hand, Index, Ledger, Packing, SheetName, Want,
};
use pinfold_core::session::OpenItem;
use pinfold_core::view::books::Books;
use pinfold_core::view::visit;
use std::collections::BTreeMap;

pub const DAY: i64 = 86_400_000;
pub const BEGIN: i64 = 1_500_000_000_000;

pub struct Maker {
    pub ledger: Ledger,
    pub at: i64,
    pub run: u128,
    pub luck: u64,
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

    pub fn act(&mut self, command: impl Into<Command>) -> Option<EntryId> {
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

    /// Somebody who comes, for the first time or again: asked, looked at, and a procedure chosen.
    fn visitor(&mut self, known: Option<EntryId>, n: usize, ids: &[String]) -> EntryId {
        // A run of the app has a name of its own.
        self.run = 1 + u128::from(self.luck(u64::MAX)) * 0x1_0000_0000_0001;
        let date: Date = visit::day_of(Wall(self.at), 60);
        let who = known.unwrap_or_else(|| {
            let names = ["Wren", "Plover", "Siskin", "Merle", "Avocet", "Dunlin"];
            let place = ["Ford", "Weir", "Moor", "Holt", "Fell", "Mere"];
            let (a, b) = (self.luck(6) as usize, self.luck(6) as usize);
            let named = Named {
                name: format!("{} of the {} {n}", names[a], place[b]),
                birth_date: None,
                contact: None,
                came_for: None,
            };
            self.act(D::Meet(named)).expect("written down")
        });
        self.answers(who, date, ids, if known.is_none() { 40 } else { 12 });
        let (text, scores) = ("clear".into(), Default::default());
        self.act(D::Look(who, Looked { date, text, scores }));
        let chose = Chose {
            date,
            procedure: "first_short".into(),
            cream: None,
            electro: false,
            most: None,
            instead: Vec::new(),
        };
        self.act(D::Choose(who, chose));
        who
    }

    /// A visit up to the close: some 60 facts in the chair.
    pub fn open(&mut self, person: EntryId) -> EntryId {
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

    pub fn close(&mut self, session: EntryId) {
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

type Sheets = Vec<(SheetName, Option<Vec<u8>>)>;

pub struct Kept {
    pub packs: BTreeMap<PackName, Packed>,
    pub sheets: Sheets,
    pub tail: Vec<Entry>,
    pub last: u64,
    pub open: EntryId,
    pub at: i64,
}

pub fn close_words() -> Option<String> {
    Some("counted twice and signed".into())
}

/// Reads everything in that a ledger knows of.
fn load(ledger: &mut Ledger, packs: &BTreeMap<PackName, Packed>) {
    let names = ledger.to_load(&Want::Everything);
    let read = |name: PackName| (name, Ok(packs[&name].entries().expect("sound")));
    ledger.absorb(names.into_iter().map(read).collect());
}

/// A practice of so many sessions and people, and one more session that is open.
pub fn practice(sessions: usize, people: usize, books: &Books) -> Kept {
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
    // People come in turn, as they do: what is one person's lies scattered over the years.
    let each = sessions.checked_div(people).unwrap_or(0);
    let mut theirs: Vec<(Option<EntryId>, Sheets)> = vec![(None, Vec::new()); people];
    for turn in 0..each * people {
        let n = turn % people;
        let (person, sheets) = &mut theirs[n];
        let mut floor = Journal::new();
        floor.know_of(kept.last, None);
        maker.ledger = Ledger::resume(Index::read(sheets), floor);
        load(&mut maker.ledger, &kept.packs);
        maker.at += DAY / 3;
        let who = maker.visitor(*person, n, &ids);
        *person = Some(who);
        let session = maker.open(who);
        maker.close(session);
        let words = close_words();
        let closed = maker.act(C::Close { session, words });
        assert!(closed.is_some(), "{:?}", open_items(&maker.ledger, session));
        maker.after(who, session);
        let ledger = &mut maker.ledger;
        let streams = ledger.packable();
        for stream in &streams {
            let packing: Packing = ledger.pack(*stream).expect("closed");
            ledger.packed(&packing);
            kept.packs.insert(packing.packed.name, packing.packed);
        }
        let name = SheetName {
            seq: 1 + turn as u64,
            part: None,
        };
        let sheet = (name, Some(ledger.sheet(name, &streams)));
        sheets.push(sheet.clone());
        kept.sheets.push(sheet);
        kept.last = ledger.journal().next_id(Replica(0)).counter - 1;
    }
    // And somebody is in the chair.
    let mut floor = Journal::new();
    floor.know_of(kept.last, None);
    maker.ledger = Ledger::resume(Index::default(), floor);
    maker.at += DAY;
    let who = maker.visitor(None, people, &ids);
    kept.open = maker.open(who);
    kept.tail = maker.ledger.journal().iter().cloned().collect();
    kept.last = maker.ledger.journal().next_id(Replica(0)).counter - 1;
    kept.at = maker.at;
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

pub fn open_items(ledger: &Ledger, session: EntryId) -> Vec<OpenItem> {
    let state = ledger.session(session).map(|s| s.state().clone());
    state
        .and_then(|s| s.reconcile(None).err())
        .unwrap_or_default()
}
