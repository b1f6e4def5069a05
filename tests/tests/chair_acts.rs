//! One-press acts, times, clocks, the demands of a close, and what turns up later: each as it would
//! happen in a room, with figures worked out by hand.

use pinfold_core::atlas::{Region, Side};
use pinfold_core::base::id::{EntryId, Replica};
use pinfold_core::base::stamp::{Wall, When};
use pinfold_core::base::units::{Micrometres, Seconds};
use pinfold_core::event::Count;
use pinfold_core::event::person::{CallKind, Called, Named};
use pinfold_core::event::practice::Set;
use pinfold_core::event::session::{
    CreamOn, Did, Doing, Ended, Felt, Finder, How, Incident, IncidentKind, LeftOut, Mode,
    Otherwise, PlannedNeedles, PlannedRegion, PointUse, SearchPlace, SeenIn,
};
use pinfold_core::ledger::{ChairCommand as C, Command, DeskCommand, Found, Hand, Ledger};
use pinfold_core::needle::{Kind, Size};
use pinfold_core::record::record;
use pinfold_core::session::{ClockState, FlawKind, Now, OpenItem, State, TrayWhy, What, figures};
use pinfold_core::view::after::{self, Balance};
use pinfold_core::view::by_point;
use pinfold_core::view::count::{asks_promise, blocks, count};
use pinfold_tests::hand;

const MINUTE: i64 = 60_000;
const START: i64 = 1_800_000_000_000;

fn r(name: &str) -> Region {
    name.parse().expect("a region")
}

fn size(d: u32) -> Option<Size> {
    Some(Size {
        kind: Kind::Filiform,
        diameter: Micrometres(d),
        length: Micrometres::from_mm(15),
    })
}

/// A room: a ledger, a clock, and a session open in it.
struct Room {
    ledger: Ledger,
    session: EntryId,
    now: i64,
    when: When,
}

impl Room {
    fn new(replica: u128) -> Self {
        let (ledger, session) = pinfold_tests::count_only(replica);
        Self {
            ledger,
            session,
            now: 0,
            when: When::Now,
        }
    }

    /// A room whose visit is not the one in ten.
    fn plain() -> Self {
        let plain = (1..99)
            .map(Self::new)
            .find(|room| !room.state().one_in_ten());
        plain.expect("nine in ten are")
    }

    fn state(&self) -> &State {
        self.ledger.session(self.session).unwrap().state()
    }

    fn run(
        &mut self,
        command: impl Into<Command>,
    ) -> Result<EntryId, pinfold_core::ledger::Refusal> {
        let stamp = hand(1, self.now).stamp;
        let at = Hand {
            replica: Replica(self.session.replica.0),
            stamp,
            when: self.when,
        };
        let facts = self.ledger.decide(&command.into(), &at)?;
        self.ledger.append(&facts);
        Ok(facts.entries()[0].id)
    }

    fn go(&mut self, command: impl Into<Command>) -> EntryId {
        self.run(command).expect("it happened")
    }

    fn wait(&mut self, millis: i64) -> &mut Self {
        self.now += millis;
        self
    }

    fn pack(&mut self, held: u16, size: Option<Size>) -> EntryId {
        let (session, lot) = (self.session, Some("W7".into()));
        self.go(C::OpenPack {
            session,
            held,
            size,
            lot,
        })
    }

    fn place(&mut self, region: &str, count: u16, size: Option<Size>) -> EntryId {
        let session = self.session;
        self.go(C::Place {
            session,
            region: r(region),
            count,
            size,
            points: Vec::new(),
            stay: Some(Seconds(1200)),
        })
    }

    fn take(&mut self, region: &str, count: u16) -> EntryId {
        let session = self.session;
        self.go(C::TakeOut {
            session,
            region: r(region),
            count,
            how: How::Taken,
            first: None,
        })
    }

    fn did(&mut self, what: Doing) -> EntryId {
        let session = self.session;
        let what = Did {
            what,
            who: "Teal".into(),
            from: "Rail".into(),
            next: (what == Doing::LookedIn).then_some(Seconds(300)),
        };
        self.go(C::Do { session, what })
    }

    fn strips(&mut self, size: Option<Size>, left: u16) {
        let session = self.session;
        self.go(C::CountStrips {
            session,
            size,
            left,
        });
    }

    fn sweep(&mut self) {
        let session = self.session;
        let areas = self.state().areas_used();
        self.go(C::Sweep { session, areas });
    }

    fn tray(&mut self, n: u16) {
        let session = self.session;
        self.go(C::CountTray {
            session,
            tens: n / 10,
            over: n % 10,
        });
    }

    fn open(&self, words: Option<&str>) -> Vec<OpenItem> {
        self.state().reconcile(words).err().unwrap_or_default()
    }

    fn close(&mut self, words: Option<&str>) -> EntryId {
        let session = self.session;
        let words = words.map(Into::into);
        self.go(C::Close { session, words })
    }

    fn clocks(&self) -> Vec<pinfold_core::session::Clock> {
        self.state().clocks(&Now {
            run: self.session.replica,
            wall: Wall(START + self.now),
            mono: self.now,
            follows_since: 0,
        })
    }

    fn when_of(&self, id: EntryId) -> When {
        self.ledger.journal().get(id).unwrap().when
    }

    fn happened(&self) -> Vec<String> {
        let record = record(&self.ledger, self.session).unwrap();
        record.happened.into_iter().map(|(_, line)| line).collect()
    }
}

fn found(count: u16, size: Option<Size>) -> Found {
    Found {
        count,
        region: None,
        size,
        place: Some(SearchPlace::ShoeFloor),
        by: Finder::Person,
        embedded: false,
        stuck: false,
        fits: Vec::new(),
        words: "in the shoe, at home".into(),
    }
}

#[test]
fn packets_of_nine_and_eleven_are_kept_beside_their_labels() {
    let mut room = Room::plain();
    let session = room.session;
    let short = room.pack(10, size(160));
    room.go(C::PackHeld {
        session,
        pack: short,
        held: 9,
    });
    room.place("cheek.left", 8, size(160));
    let long = room.pack(10, size(160));
    room.place("cheek.right", 8, size(160));
    room.go(C::PackHeld {
        session,
        pack: long,
        held: 11,
    });
    room.strips(size(160), 4);
    let view = count(room.ledger.session(session).unwrap());
    let packs: Vec<_> = view.packs.iter().map(|p| (p.label, p.held)).collect();
    assert_eq!(packs, [(10, 9), (10, 11)]);
    assert!(view.packs.iter().all(|p| p.lot.as_deref() == Some("W7")));
    // 9 + 11 = 20 opened = 16 placed + 4 unused.
    assert_eq!(
        (view.sum.opened, view.sum.placed, view.sum.unused),
        (20, 16, 4)
    );
    assert_eq!(view.sum.open(), 0);
    assert_eq!(view.sizes[0].1.opened, 20);
}

#[test]
fn a_needle_dropped_unseen_before_placing_is_not_accounted_for_until_it_is_found() {
    let mut room = Room::plain();
    let session = room.session;
    room.pack(10, size(160));
    room.wait(MINUTE).place("cheek.left", 7, size(160));
    room.wait(20 * MINUTE).take("cheek.left", 7);
    room.strips(size(160), 2);
    room.sweep();
    assert_eq!(room.state().sum.open(), 1);
    assert!(room.open(None).contains(&OpenItem::Unaccounted(1)));
    // A mismatch asks for the blind tray count as well, and says why.
    assert_eq!(room.state().tray_asked, [TrayWhy::Mismatch]);
    room.go(C::TurnUp {
        session,
        found: found(1, size(160)),
    });
    assert_eq!(
        (room.state().sum.turned_up, room.state().sum.open()),
        (1, 0)
    );
    if !room.state().tray_asked.is_empty() {
        room.tray(8);
    }
    room.close(None);
    let record = record(&room.ledger, session).unwrap();
    assert_eq!((record.at_close, record.false_balance), (Some((10, 0)), 0));
}

#[test]
fn a_needle_nobody_saw_fall_stays_open_until_found_explained_or_signed() {
    for end in 0..3 {
        let mut room = Room::plain();
        let session = room.session;
        room.place("scalp.centre", 5, None);
        room.go(C::FellUnseen {
            session,
            region: r("scalp.centre"),
            count: 1,
        });
        room.wait(20 * MINUTE).take("scalp.centre", 4);
        room.sweep();
        assert_eq!((room.state().sum.unseen, room.state().sum.open()), (1, 1));
        assert!(
            room.open(Some("it must be somewhere"))
                .contains(&OpenItem::Unaccounted(1))
        );
        let out = match end {
            0 => {
                room.go(C::TurnUp {
                    session,
                    found: found(1, None),
                });
                5
            }
            1 => {
                room.go(C::Explain {
                    session,
                    region: r("scalp.centre"),
                    count: 1,
                    words: "the person took it home in a tissue".into(),
                });
                4
            }
            _ => {
                let sign = C::NotFound {
                    session,
                    region: r("scalp.centre"),
                    count: 1,
                    words: "looked everywhere twice, told the person".into(),
                };
                room.go(sign);
                // Signed for good only when every place was looked at.
                let left = SearchPlace::ALL.to_vec();
                assert!(room.open(None).contains(&OpenItem::NotSearched(left)));
                let some = [SearchPlace::Face, SearchPlace::SharpsBox].to_vec();
                room.go(C::Search {
                    session,
                    places: some,
                });
                assert_eq!(room.state().search_left().len(), 13);
                room.go(C::Search {
                    session,
                    places: SearchPlace::ALL.to_vec(),
                });
                4
            }
        };
        room.sweep();
        assert_eq!(
            room.open(Some("no packet was entered")),
            [OpenItem::TrayUncounted([TrayWhy::Mismatch].to_vec())]
        );
        room.tray(out);
        room.close(Some("no packet was entered"));
        let sum = room.state().sum;
        assert_eq!(
            (sum.unseen, sum.not_found),
            (0, u32::from(end == 2)),
            "{end}"
        );
    }
}

#[test]
fn a_changed_needle_has_a_point_a_size_and_a_clock_of_its_own() {
    let mut room = Room::plain();
    let session = room.session;
    let point = PointUse {
        code: "ST3".into(),
        side: Side::Left,
    };
    room.go(C::Place {
        session,
        region: r("cheek.left"),
        count: 2,
        size: size(160),
        points: [point.clone()].to_vec(),
        stay: Some(Seconds(1200)),
    });
    room.wait(10 * MINUTE).go(C::ChangeNeedle {
        session,
        region: r("cheek.left"),
        point: Some(point.clone()),
        size: None,
        spoilt: false,
    });
    let state = room.state();
    assert_eq!(
        (state.sum.placed, state.sum.in_now, state.sum.out),
        (3, 2, 1)
    );
    let at_point = state
        .needles
        .values()
        .filter(|n| n.point.as_ref() == Some(&point));
    assert_eq!(at_point.count(), 2, "a point owns several needles");
    // 20 minutes from 10:00 is 10 minutes away for the first, 20 for the new one.
    let clock = &room.clocks()[0];
    let due = clock.due.unwrap();
    assert_eq!((clock.needles, due.left), (2, 10 * MINUTE));
    assert_eq!(due.wall, Wall(START + 20 * MINUTE));
    assert_eq!(due.last, Wall(START + 30 * MINUTE));
    // The first is taken out: the window is the new one's.
    let old = *room
        .state()
        .needles
        .iter()
        .find(|(_, n)| n.point.is_none())
        .unwrap()
        .0;
    room.go(C::TakeOutOne {
        session,
        needle: old,
        how: How::Taken,
    });
    assert_eq!(room.clocks()[0].due.unwrap().left, 20 * MINUTE);
    // One that never held is spoilt and was never placed.
    room.go(C::ChangeNeedle {
        session,
        region: r("cheek.left"),
        point: None,
        size: size(160),
        spoilt: true,
    });
    assert_eq!((room.state().sum.spoilt, room.state().sum.placed), (1, 4));
}

#[test]
fn clocks_stand_soonest_first_and_cannot_be_paused() {
    let mut room = Room::plain();
    let session = room.session;
    room.did(Doing::Waits);
    assert_eq!(room.clocks()[0].what, What::Waits);
    assert_eq!(room.clocks()[0].state, ClockState::Open);
    let cream = CreamOn {
        regions: [r("forehead.centre")].to_vec(),
        earliest: Seconds(1800),
        latest: Seconds(3600),
        product: None,
        milligrams: None,
    };
    let cream = room.wait(MINUTE).go(C::CreamOn { session, cream });
    assert!(
        room.clocks().iter().all(|c| c.what != What::Waits),
        "hands are at work: nobody waits"
    );
    room.place("cheek.left", 5, None);
    room.place("cheek.right", 5, None);
    room.did(Doing::LookedIn);
    let order: Vec<What> = room.clocks().iter().map(|c| c.what).collect();
    assert_eq!(order[0], What::LookIn, "5 min, then 20, 20, 30");
    let now = Now {
        run: room.session.replica,
        wall: Wall(START + room.now),
        mono: room.now,
        follows_since: 0,
    };
    let lines = pinfold_core::view::chair::clocks(
        room.state(),
        &now,
        &pinfold_core::words::chair::EN,
        &pinfold_core::words::place::EN,
    );
    assert_eq!(
        (lines[0].name.as_str(), lines[0].left),
        ("Look in: Teal", Some(300))
    );
    assert_eq!(order.last(), Some(&What::Cream(cream)));
    let left = |room: &Room, what| {
        let clocks = room.clocks();
        clocks
            .iter()
            .find(|c| c.what == what)
            .unwrap()
            .due
            .unwrap()
            .left
    };
    let (cheek, other) = (What::Stay(r("cheek.left")), What::Stay(r("cheek.right")));
    room.wait(21 * MINUTE);
    assert_eq!(left(&room, cheek), -MINUTE, "overdue");
    let stay = C::Stay {
        session,
        region: r("cheek.left"),
        length: Seconds(25 * 60),
    };
    let at = room.go(stay);
    assert_eq!(
        (left(&room, cheek), left(&room, other)),
        (4 * MINUTE, -MINUTE)
    );
    let fact = room.ledger.journal().get(at).unwrap();
    assert_eq!(
        fact.at.wall,
        Wall(START + 22 * MINUTE),
        "5 more is written down with its minute"
    );
    room.wait(38 * MINUTE);
    let clocks = room.clocks();
    let cream = clocks
        .iter()
        .find(|c| c.what == What::Cream(cream))
        .unwrap();
    assert_eq!((cream.elapsed, cream.state), (59 * MINUTE, ClockState::Due));
    room.wait(MINUTE);
    let over = room
        .clocks()
        .into_iter()
        .find(|c| matches!(c.what, What::Cream(_)));
    assert_eq!(
        over.unwrap().state,
        ClockState::Over,
        "past its latest time"
    );
}

#[test]
fn totals_faster_than_a_hand_are_a_range_and_teach_nothing() {
    assert_eq!(figures::HAND_PACE, 1000);
    let mut room = Room::plain();
    room.place("cheek.left", 7, None);
    room.wait(MINUTE).place("cheek.right", 7, None);
    room.place("forehead.centre", 3, None);
    let first = room.wait(19 * MINUTE).take("cheek.left", 7);
    let block = room.wait(2000).take("cheek.right", 7);
    let last = room.wait(2000).take("forehead.centre", 3);
    assert_eq!(
        room.when_of(first),
        When::Now,
        "control: there was time for it"
    );
    // From the last other act of the hands, the placing at minute 1, and not from the count before.
    let from = Wall(START + MINUTE);
    let range = |s: i64| When::Between(from, Wall(START + 20 * MINUTE + s));
    assert_eq!(room.when_of(block), range(2000));
    assert_eq!(room.when_of(last), range(4000));
    assert_eq!(
        room.state().blocks.iter().copied().collect::<Vec<_>>(),
        [block, last]
    );
    assert_eq!(room.state().tray_asked, [TrayWhy::LateOrBlock]);
    let record = record(&room.ledger, room.session).unwrap();
    let of = |name: &str| {
        record
            .regions
            .iter()
            .find(|line| line.region == r(name))
            .unwrap()
    };
    assert!(of("cheek.right").block && !of("cheek.left").block);
    assert_eq!(
        of("cheek.right").came_out,
        Some((from, Wall(START + 20 * MINUTE + 2000)))
    );
    assert!(
        record
            .about_count
            .iter()
            .any(|l| l.contains("faster than a hand works: 2"))
    );
    // Undone, it is as if it had not been: the tray is not asked for.
    let session = room.session;
    room.go(C::Undo { session });
    room.go(C::Undo { session });
    assert!(room.state().blocks.is_empty() && room.state().tray_asked.is_empty());
}

#[test]
fn what_is_entered_late_says_so() {
    let mut room = Room::plain();
    room.wait(10 * MINUTE);
    room.when = When::About(Wall(START + 9 * MINUTE));
    room.place("cheek.left", 3, None);
    assert!(
        room.state().late.is_empty(),
        "control: a minute is not late"
    );
    room.when = When::Between(Wall(START), Wall(START + 5 * MINUTE));
    let late = room.place("cheek.left", 3, None);
    assert_eq!(
        room.state().late.iter().copied().collect::<Vec<_>>(),
        [late]
    );
    assert_eq!(room.state().tray_asked, [TrayWhy::LateOrBlock]);
    // Both times are kept: when it happened, and when it was entered.
    let fact = room.ledger.journal().get(late).unwrap();
    assert_eq!(fact.at.wall, Wall(START + 10 * MINUTE));
    assert_eq!(fact.when, room.when);
}

#[test]
fn one_visit_in_ten_is_chosen_by_its_name_before_anything_is_counted() {
    let mut chosen = 0;
    for n in 0..10_000_u32 {
        // Names as a phone draws them.
        let name =
            u128::from(n).wrapping_mul(0x9e37_79b9_7f4a_7c15_f39c_c060_5ced_c834) ^ 0x5bd1_e995;
        let room = Room::new(name);
        assert_eq!(
            room.state().one_in_ten(),
            Room::new(name).state().one_in_ten()
        );
        chosen += u32::from(room.state().one_in_ten());
    }
    // 1000 of 10 000 with a spread of 30: four of them either way.
    assert!((880..=1120).contains(&chosen), "{chosen}");
    let mut room = (1..99)
        .map(Room::new)
        .find(|room| room.state().one_in_ten())
        .unwrap();
    room.place("cheek.left", 4, None);
    assert_eq!(room.state().tray_asked, [TrayWhy::OneInTen]);
    room.wait(20 * MINUTE).take("cheek.left", 4);
    room.sweep();
    let words = Some("no packet was entered");
    let open = room.open(words);
    assert!(
        matches!(&open[..], [OpenItem::TrayUncounted(why)] if why.contains(&TrayWhy::OneInTen))
    );
    room.tray(3);
    assert_eq!(room.open(None).last(), Some(&OpenItem::TrayDiffers));
    room.tray(4);
    assert_eq!(room.open(words), []);
}

#[test]
fn with_needles_straight_in_the_box_no_tray_is_claimed() {
    let mut room = Room::new(7);
    let set = Set {
        name: "used_needles".into(),
        value: "box".into(),
        reason: String::new(),
    };
    room.go(DeskCommand::Set(set));
    let open = C::Open {
        mode: Mode::CountOnly,
        person: None,
        plan: Vec::new(),
        rehearsal: false,
        procedure: None,
    };
    room.session = room.go(open);
    assert!(
        room.state().straight_to_box,
        "the setting is written into the session"
    );
    let session = room.session;
    assert!(
        room.run(C::Undo { session }).is_err(),
        "and is no act to take back"
    );
    room.place("cheek.left", 4, None);
    room.did(Doing::GotUp);
    room.go(C::AllOut { session });
    room.go(C::CountedOut { session, count: 4 });
    assert_eq!(room.state().tray_asked, []);
    room.sweep();
    room.close(Some("no packet was entered"));
    let said = record(&room.ledger, session).unwrap().about_count;
    assert!(
        said.iter()
            .any(|l| l.contains("straight to the sharps box")),
        "{said:?}"
    );
    assert!(!said.iter().any(|l| l.contains("counted blind")));
}

#[test]
fn up_with_needles_in_asks_for_a_count_by_eye() {
    let mut room = Room::plain();
    let session = room.session;
    room.place("cheek.left", 5, None);
    room.place("scalp.centre", 3, None);
    room.did(Doing::GotUp);
    let due: Vec<Region> = room.state().recount.iter().copied().collect();
    assert_eq!(due.len(), 2);
    assert!(
        room.open(None)
            .iter()
            .any(|o| matches!(o, OpenItem::RecountDue(_)))
    );
    let see = |region: &str, seen| C::SeeInside {
        session,
        regions: [SeenIn {
            region: r(region),
            seen,
        }]
        .to_vec(),
    };
    room.go(see("cheek.left", 5));
    assert_eq!(room.state().recount.len(), 1);
    assert!(room.state().flaws.is_empty());
    // Fewer than are known: they are in until somebody knows better, and the difference is named.
    room.go(see("scalp.centre", 2));
    assert_eq!(room.state().sum.in_now, 8);
    assert!(
        room.state()
            .flaws
            .iter()
            .any(|f| f.kind == FlawKind::SeenOtherwise)
    );
    // More than are known: what is seen in the skin is in.
    room.go(see("scalp.centre", 4));
    assert_eq!(room.state().sum.in_now, 9);
    let why = &room.state().tray_asked;
    assert!(
        why.contains(&TrayWhy::GotUp) && why.contains(&TrayWhy::Mismatch),
        "{why:?}"
    );
    assert!(
        room.happened()
            .iter()
            .any(|l| l.contains("Got up with needles in"))
    );
}

#[test]
fn a_hand_over_names_both_and_asks_for_a_count_at_relief() {
    let mut room = Room::plain();
    let session = room.session;
    room.place("cheek.left", 5, None);
    room.did(Doing::HandedOver);
    assert_eq!(room.state().recount.len(), 1);
    let regions = [SeenIn {
        region: r("cheek.left"),
        seen: 5,
    }];
    room.go(C::SeeInside {
        session,
        regions: regions.to_vec(),
    });
    assert!(room.state().recount.is_empty());
    let said = room.happened();
    assert!(
        said.iter().any(|l| l == "Handed over from Rail to Teal"),
        "{said:?}"
    );
    assert!(
        said.iter().any(|l| l == "L cheek: 5 seen by eye"),
        "{said:?}"
    );
}

#[test]
fn a_second_chair_asks_for_a_promise_once() {
    let mut room = Room::plain();
    let first = room.session;
    room.place("cheek.left", 5, None);
    assert!(
        !asks_promise(&room.ledger, first),
        "control: one chair asks for none"
    );
    let open = |rehearsal| C::Open {
        mode: Mode::CountOnly,
        person: None,
        plan: Vec::new(),
        rehearsal,
        procedure: None,
    };
    let second = room.go(open(false));
    assert!(asks_promise(&room.ledger, second));
    room.session = second;
    room.did(Doing::PromisedSound);
    assert!(!asks_promise(&room.ledger, second));
    assert!(room.happened().iter().any(|l| l.contains("Sound stays on")));
}

#[test]
fn a_block_in_the_wrong_chair_moves_with_its_time() {
    let mut room = Room::plain();
    let first = room.session;
    let block = room.place("cheek.left", 5, None);
    let open = C::Open {
        mode: Mode::CountOnly,
        person: None,
        plan: Vec::new(),
        rehearsal: false,
        procedure: None,
    };
    let second = room.wait(MINUTE).go(open);
    let listed = blocks(room.ledger.session(first).unwrap());
    assert_eq!(listed, [(block, r("cheek.left"), 5)]);
    room.wait(9 * MINUTE).go(C::MoveBlock {
        session: first,
        placed: block,
        to: second,
    });
    assert_eq!(room.state().sum.placed, 0);
    room.session = second;
    assert_eq!(room.state().sum.in_now, 5);
    assert_eq!(room.clocks()[0].elapsed, 10 * MINUTE, "since it went in");
    let corrected = record(&room.ledger, first).unwrap().corrected;
    assert_eq!(
        corrected, 1,
        "the first record says that something was corrected"
    );
}

#[test]
fn incidents_stand_in_the_record_with_their_times() {
    let mut room = Room::plain();
    let session = room.session;
    room.place("cheek.left", 5, None);
    room.wait(5 * MINUTE);
    room.when = When::About(Wall(START + 4 * MINUTE));
    for kind in IncidentKind::ALL {
        let what = Incident {
            kind: *kind,
            region: Some(r("cheek.left")),
            point: Some(PointUse {
                code: "ST3".into(),
                side: Side::Left,
            }),
            words: "told so".into(),
        };
        room.go(C::Incident { session, what });
    }
    room.when = When::Now;
    room.did(Doing::Bell);
    for what in [Doing::Sat, Doing::Stood] {
        room.did(what);
    }
    let record = record(&room.ledger, session).unwrap();
    let about = Wall(START + 4 * MINUTE);
    let times = record
        .happened
        .iter()
        .filter(|(at, _)| *at == (about, about));
    assert_eq!(times.count(), IncidentKind::ALL.len());
    let faint = record
        .happened
        .iter()
        .find(|(_, l)| l.starts_with("Faint"))
        .unwrap();
    assert_eq!(faint.1, "Faint, or about to, L cheek, ST3 L: told so");
    assert_eq!(room.state().incidents[0].at, Wall(START + 5 * MINUTE));
    assert!(room.happened().iter().any(|l| l == "Call bell in hand"));
    let left = count(room.ledger.session(session).unwrap()).before_they_go;
    assert_eq!(left, [Doing::Steady]);
    // An incident is not a needle: it changes no sum, and no count is opened again by it.
    assert_eq!(room.state().physical, 1);
}

#[test]
fn an_emergency_removal_is_counted_blind_from_the_tray() {
    let mut room = Room::plain();
    let session = room.session;
    room.place("cheek.left", 12, None);
    room.place("scalp.centre", 8, None);
    room.wait(5 * MINUTE).go(C::AllOut { session });
    assert_eq!(room.state().sum.out_uncounted, 20);
    assert_eq!(room.state().tray_asked, [TrayWhy::Emergency]);
    room.tray(19);
    let open = room.open(Some("the person was unwell"));
    assert!(open.contains(&OpenItem::Uncounted(1)), "{open:?}");
    assert!(
        !open.contains(&OpenItem::TrayDiffers),
        "what is in the tray agrees; one is missing"
    );
    room.tray(20);
    assert_eq!(
        (room.state().sum.out, room.state().sum.out_uncounted),
        (20, 0)
    );
    room.sweep();
    room.close(Some("the person was unwell"));
    let said = record(&room.ledger, session).unwrap().about_count;
    assert!(
        said[0].contains("Tray counted blind: 20, because all were taken out"),
        "{said:?}"
    );
}

/// Somebody with a closed visit: ten opened, eight in and out, `left` in the strips.
fn closed_visit(left: u16, sign: bool) -> (Room, EntryId) {
    let mut room = Room::plain();
    let named = Named {
        name: "Wren".into(),
        birth_date: None,
        contact: None,
        came_for: None,
    };
    let person = room.go(DeskCommand::Meet(named));
    let open = C::Open {
        mode: Mode::CountOnly,
        person: Some(person),
        plan: Vec::new(),
        rehearsal: false,
        procedure: None,
    };
    room.session = room.go(open);
    let session = room.session;
    room.pack(10, size(160));
    room.place("cheek.left", 8, size(160));
    room.wait(20 * MINUTE).take("cheek.left", 8);
    room.strips(size(160), left);
    room.sweep();
    if sign {
        room.go(C::UnplacedNotFound {
            session,
            count: 1,
            words: "looked everywhere, told the person".into(),
        });
        room.go(C::Search {
            session,
            places: SearchPlace::ALL.to_vec(),
        });
    }
    room.tray(8);
    room.close(None);
    (room, person)
}

#[test]
fn a_count_that_added_up_becomes_a_false_balance() {
    let (mut room, person) = closed_visit(2, false);
    let session = room.session;
    assert_eq!(after::balance(room.state()), Balance::AddsUp);
    let fits = after::fits(&room.ledger, person, size(160));
    assert_eq!((fits.len(), fits[0].used), (1, 8));
    assert!(
        after::fits(&room.ledger, person, size(300)).is_empty(),
        "another size fits no visit"
    );
    let close = room.state().closed;
    let mut up = found(1, size(160));
    (up.embedded, up.by) = (true, Finder::Person);
    room.wait(26 * 60 * MINUTE)
        .go(C::TurnUp { session, found: up });
    let state = room.state();
    assert_eq!(
        state.closed, close,
        "the count is added to, never opened or rewritten"
    );
    assert_eq!(
        (state.sum.opened, state.sum.turned_up, state.false_balance),
        (11, 1, 1)
    );
    assert!(state.flaws.iter().any(|f| f.kind == FlawKind::FalseBalance));
    assert!(
        state
            .flaws
            .iter()
            .all(|f| f.kind != FlawKind::MoreThanOpened)
    );
    assert_eq!(after::balance(state), Balance::False(1));
    let record = record(&room.ledger, session).unwrap();
    assert_eq!((record.at_close, record.false_balance), (Some((10, 0)), 1));
    assert!(
        record
            .about_count
            .iter()
            .any(|l| l.starts_with("False balance"))
    );
    let said = &record.happened.last().unwrap().1;
    assert_eq!(
        said,
        "A needle turned up, found by the person, still in the skin, shoe and floor: in the shoe, at home"
    );
    // What turned up, and that the count was false.
    let lines = after::turned_up(&room.ledger, person);
    assert_eq!(lines.len(), 2);
    assert!(lines[1].2.starts_with("False balance"));
}

#[test]
fn a_needle_signed_as_not_found_is_explained_when_it_turns_up() {
    let (mut room, _) = closed_visit(1, true);
    let session = room.session;
    assert_eq!(after::balance(room.state()), Balance::NotFound(1));
    room.go(C::TurnUp {
        session,
        found: found(1, size(160)),
    });
    assert_eq!(after::balance(room.state()), Balance::Explained(1));
    let record = record(&room.ledger, session).unwrap();
    assert_eq!(
        (record.at_close, record.false_balance),
        (Some((10, 1)), 0),
        "1 not found, for good"
    );
    assert!(record.closed);
}

#[test]
fn a_needle_that_fits_two_visits_is_counted_in_one_and_named_in_the_other() {
    let (mut room, person) = closed_visit(2, false);
    let first = room.session;
    let open = |rehearsal| C::Open {
        mode: Mode::CountOnly,
        person: Some(person),
        plan: Vec::new(),
        rehearsal,
        procedure: None,
    };
    room.session = room.wait(MINUTE).go(open(false));
    room.place("scalp.centre", 2, size(160));
    let second = room.session;
    let practice = room.wait(MINUTE).go(open(true));
    let fits = after::fits(&room.ledger, person, size(160));
    let named: Vec<EntryId> = fits.iter().map(|f| f.session).collect();
    assert_eq!(
        named,
        [second, first],
        "open first; a rehearsal fits nothing: {practice}"
    );
    let mut up = found(1, size(160));
    up.fits = [second].to_vec();
    room.session = first;
    room.go(C::TurnUp {
        session: first,
        found: up,
    });
    assert_eq!(
        room.ledger.session(second).unwrap().state().sum.turned_up,
        0
    );
    let said = record(&room.ledger, second).unwrap().from_elsewhere;
    assert!(
        said.iter().any(|l| l.contains("may be from another visit")),
        "{said:?}"
    );
    // Rehearsals count as no visit.
    assert_eq!(record(&room.ledger, second).unwrap().visit, 2);
    room.session = practice;
    assert!(room.state().rehearsal && record(&room.ledger, practice).unwrap().visit == 2);
}

#[test]
fn needles_left_in_on_purpose_have_a_sum_a_sheet_and_an_end() {
    let mut room = Room::plain();
    let named = Named {
        name: "Wren".into(),
        birth_date: None,
        contact: None,
        came_for: None,
    };
    let person = room.go(DeskCommand::Meet(named));
    let open = C::Open {
        mode: Mode::CountOnly,
        person: Some(person),
        plan: Vec::new(),
        rehearsal: false,
        procedure: None,
    };
    room.session = room.go(open);
    let session = room.session;
    let press = Some(Size {
        kind: Kind::Intradermal,
        diameter: Micrometres(200),
        length: Micrometres(1500),
    });
    room.pack(4, press);
    room.place("ear.left", 3, press);
    room.go(C::LeaveIn {
        session,
        region: r("ear.left"),
        count: 3,
        longest: Some(Seconds(3 * 86_400)),
    });
    room.strips(press, 1);
    room.sweep();
    let view = count(room.ledger.session(session).unwrap());
    let own = view
        .sizes
        .iter()
        .find(|(size, _)| *size == press)
        .unwrap()
        .1;
    assert_eq!((own.opened, own.stays_in, own.unused), (4, 3, Some(1)));
    room.close(None);
    let said = record(&room.ledger, session).unwrap().about_count;
    assert!(
        said.iter()
            .any(|l| l.starts_with("3 needles stay in on purpose")),
        "{said:?}"
    );
    let stays = after::stays(&room.ledger, person);
    assert_eq!(
        stays[0].line(),
        "3 needles stay in on purpose: L ear. Take out after 3 days at the latest."
    );
    assert_eq!(stays[0].due(), Some(Wall(START + 3 * 86_400_000)));
    // At home: one taken out by the person, one fell off unseen; the count stays closed.
    room.wait(2 * 1440 * MINUTE);
    for (how, n) in [(Ended::ByPerson, 1), (Ended::FellOffUnseen, 1)] {
        room.go(C::EndStay {
            session,
            region: Some(r("ear.left")),
            count: n,
            how,
        });
    }
    let sum = room.state().sum;
    assert_eq!((sum.stays_in, sum.out, sum.fell_off), (1, 1, 1));
    assert!(room.state().closed.is_some() && room.state().false_balance == 0);
    assert_eq!(after::stays(&room.ledger, person)[0].n, 1);
    let said = room.happened();
    assert!(
        said.iter().any(|l| l == "taken out by the person, L ear"),
        "{said:?}"
    );
    // It is the first question of the next visit.
    let books = pinfold_core::view::visit::Books::load().expect("books");
    let day = "2027-03-01".parse().unwrap();
    let next = pinfold_core::view::visit::visit(&room.ledger, &books, person, day, 0).unwrap();
    assert_eq!((next.left_in, next.asked[0].as_str()), (1, "left_in_out"));
}

#[test]
fn a_call_after_the_visit_is_written_down_with_what_was_said() {
    let (mut room, person) = closed_visit(2, false);
    let call = Called {
        about: CallKind::Chest,
        session: Some(room.session),
        words: "sharp pain on breathing in".into(),
        told: "to call the emergency number now".into(),
    };
    room.wait(600 * MINUTE)
        .go(DeskCommand::Call(person, call.clone()));
    let calls = &room.ledger.person(person).unwrap().calls;
    assert_eq!((calls.len(), &calls[0].2), (1, &call));
    assert_eq!(calls[0].1, Wall(START + room.now));
}

fn at(code: &str, side: Side) -> PointUse {
    PointUse {
        code: code.into(),
        side,
    }
}

#[test]
fn what_differed_at_a_needle_is_written_by_exception_and_moves_no_count() {
    let (mut room, _) = closed_visit(2, false);
    let session = room.session;
    let (sum, said) = (room.state().sum, room.happened());
    assert!(
        !said.iter().any(|l| l.starts_with("Depth")),
        "control: {said:?}"
    );
    let what = Otherwise {
        region: r("cheek.left"),
        point: Some(at("ST3", Side::Left)),
        depth: Some(Micrometres(4500)),
        technique: Some(pinfold_core::procedure::How::Oblique),
        direction: None,
        felt: Some(Felt::DeQi),
        words: "slow to come".into(),
    };
    let plain = Otherwise {
        point: None,
        depth: None,
        technique: None,
        felt: None,
        words: String::new(),
        ..what.clone()
    };
    for bad in [
        plain.clone(),
        Otherwise {
            depth: Some(Micrometres(99)),
            ..plain.clone()
        },
        Otherwise {
            depth: Some(Micrometres(100_001)),
            ..plain.clone()
        },
    ] {
        assert!(room.run(C::Otherwise { session, what: bad }).is_err());
    }
    for depth in [100, 100_000] {
        let depth = Some(Micrometres(depth));
        let what = Otherwise {
            depth,
            ..plain.clone()
        };
        room.go(C::Otherwise { session, what });
        room.go(C::Undo { session });
    }
    room.go(C::Otherwise { session, what });
    let line =
        "Depth, technique, feeling, L cheek, ST3 L: 4.5 mm deep, oblique, de qi: slow to come";
    assert!(
        room.happened().iter().any(|l| l == line),
        "{:?}",
        room.happened()
    );
    // After the close it opens nothing again, and it changes no sum.
    assert!(room.state().closed.is_some() && room.state().sum == sum);
    room.go(C::Undo { session });
    assert_eq!(room.happened(), said);
}

/// A room with a plan for one region: two sizes, one point left out.
fn planned_room() -> Room {
    let mut room = Room::plain();
    let needles = |size: Option<Size>, codes: &[&str]| PlannedNeedles {
        size,
        count: Count::new(u16::try_from(codes.len()).unwrap()).unwrap(),
        points: codes.iter().map(|c| at(c, Side::Left)).collect(),
    };
    let plan = PlannedRegion {
        region: r("cheek.left"),
        stay: Seconds(900),
        needles: [
            needles(size(160), &["ST3", "SI18"]),
            needles(size(180), &["ST7"]),
        ]
        .to_vec(),
        left_out: [LeftOut {
            point: at("LI20", Side::Left),
            rule: "PR1".into(),
        }]
        .to_vec(),
    };
    room.session = room.go(C::Open {
        mode: Mode::Planned,
        person: None,
        plan: [plan].to_vec(),
        rehearsal: false,
        procedure: None,
    });
    room
}

fn placed(room: &Room) -> Vec<(String, Option<Size>, Option<u16>)> {
    let needles = room.state().needles.values();
    let name = |p: &PointUse| format!("{} {:?}", p.code, p.side);
    needles
        .map(|n| (n.point.as_ref().map_or(String::new(), name), n.size, n.of))
        .collect()
}

#[test]
fn one_needle_at_a_named_point_leaves_the_rest_of_its_line() {
    let all = ["ST3 Left", "SI18 Left", "ST7 Left"];
    let mut room = planned_room();
    let (session, line) = (room.session, 0);
    room.go(C::PlacePlanned {
        session,
        line,
        count: 3,
    });
    let names: Vec<String> = placed(&room).into_iter().map(|n| n.0).collect();
    assert_eq!(names, all, "control: the whole line in one press");

    let mut room = planned_room();
    let session = room.session;
    let one = |code: &str, line: Option<u16>| C::PlaceAt {
        session,
        region: r("cheek.left"),
        line,
        point: at(code, Side::Left),
        stay: Some(Seconds(1200)),
    };
    let left = |room: &Room| {
        let left = by_point::planned(room.state(), 0).into_iter();
        left.map(|p| p.code).collect::<Vec<_>>()
    };
    assert_eq!(left(&room), ["ST3", "SI18", "ST7"]);
    assert!(room.run(one("ST3", Some(1))).is_err(), "no such line");
    room.go(one("ST7", Some(0)));
    assert_eq!(left(&room), ["ST3", "SI18"]);
    // The size and the stay that the plan has for that point.
    let first = room.state().needles.values().next().unwrap().clone();
    assert_eq!((first.size, first.stay), (size(180), Some(Seconds(900))));
    room.go(C::PlacePlanned {
        session,
        line: 0,
        count: 2,
    });
    let mut now = placed(&room);
    now.sort();
    assert_eq!(
        now,
        [
            ("SI18 Left".into(), size(160), Some(0)),
            ("ST3 Left".into(), size(160), Some(0)),
            ("ST7 Left".into(), size(180), Some(0)),
        ]
    );
    assert!(room.state().flaws.is_empty(), "{:?}", room.state().flaws);
    // A point that was left out goes in all the same, and says so; without a line it has no size.
    room.go(one("LI20", None));
    let flaws: Vec<FlawKind> = room.state().flaws.iter().map(|f| f.kind).collect();
    assert_eq!(flaws, [FlawKind::BarredPoint]);
    assert_eq!(room.state().sum.placed, 4);
    let last = room.state().needles.values().last().unwrap().clone();
    assert_eq!(
        (last.size, last.stay, last.of),
        (None, Some(Seconds(1200)), None)
    );
}

#[test]
fn points_that_can_be_pressed_have_the_sides_of_their_region() {
    let books = pinfold_core::view::visit::Books::load().expect("books");
    let of = |name: &str| by_point::others(&books.atlas, r(name));
    let left = of("cheek.left");
    assert!(left.contains(&at("ST3", Side::Left)) && left.iter().all(|p| p.side != Side::Right));
    let mouth = of("mouth_jaw.centre");
    for (code, side) in [
        ("CV24", Side::Centre),
        ("ST4", Side::Right),
        ("ST4", Side::Left),
    ] {
        assert!(mouth.contains(&at(code, side)), "{code} {side:?}");
    }
    assert!(!mouth.contains(&at("CV24", Side::Left)));
}

#[test]
fn a_rehearsal_is_out_of_everything_that_counts_visits() {
    use pinfold_core::view::{speeds, today};
    use pinfold_core::wire::{fhir, tables};
    let books = pinfold_core::view::visit::Books::load().expect("books");
    // One and the same visit, treated and rehearsed: whatever shows the first must not show the second.
    for rehearsal in [false, true] {
        let mut room = Room::plain();
        let named = Named {
            name: "Wren".into(),
            birth_date: None,
            contact: None,
            came_for: None,
        };
        let person = room.go(DeskCommand::Meet(named));
        room.session = room.go(C::Open {
            mode: Mode::CountOnly,
            person: Some(person),
            plan: Vec::new(),
            rehearsal,
            procedure: None,
        });
        let session = room.session;
        let day = "2027-01-15".parse().unwrap();
        let later = "2027-01-16".parse().unwrap();
        let due = |room: &Room| today::due(&room.ledger, day, 0).len();
        assert_eq!(due(&room), usize::from(!rehearsal));
        let open = today::open_chairs(&room.ledger);
        assert_eq!(
            open.last().unwrap().rehearsal,
            rehearsal,
            "shown and marked"
        );
        room.pack(10, size(160));
        for _ in 0..4 {
            room.wait(15_000).place("cheek.left", 1, size(160));
        }
        room.go(C::LeaveIn {
            session,
            region: r("cheek.left"),
            count: 1,
            longest: Some(Seconds(86_400)),
        });
        room.wait(20 * MINUTE).take("cheek.left", 3);
        room.strips(size(160), 6);
        room.sweep();
        if !room.state().tray_asked.is_empty() {
            room.tray(3);
        }
        room.close(None);
        // It had added up; then one more turns up.
        room.wait(MINUTE).go(C::TurnUp {
            session,
            found: Found {
                fits: Vec::new(),
                ..found(2, size(180))
            },
        });
        assert!(room.state().false_balance > 0);
        let counts = usize::from(!rehearsal);
        assert_eq!(today::unwritten(&room.ledger, later, 0).len(), counts);
        assert_eq!(after::stays(&room.ledger, person).len(), counts);
        assert_eq!(after::turned_up(&room.ledger, person).len(), 2 * counts);
        assert_eq!(after::fits(&room.ledger, person, size(160)).len(), counts);
        let shown = pinfold_core::view::visit::visit(&room.ledger, &books, person, later, 0);
        let shown = shown.unwrap();
        assert_eq!(shown.left_in, u32::from(!rehearsal));
        assert_eq!(shown.last_visit.is_some(), !rehearsal);
        let policy = pinfold_core::procedure::Learning {
            observations: 1,
            ..pinfold_core::procedure::Learning::load().expect("figures")
        };
        assert_eq!(
            speeds::learned(&room.ledger, &policy)
                .expect("all of it is here")
                .is_empty(),
            rehearsal
        );
        // Nothing of it leaves for another program, its lots neither.
        for table in [
            tables::Table::Visits,
            tables::Table::Lots,
            tables::Table::Needles,
        ] {
            let options = tables::Options::default();
            let text = tables::table(
                room.ledger.whole().expect("all of it is here"),
                &books,
                table,
                options,
            );
            assert_eq!(text.contains(&session.to_string()), !rehearsal, "{table:?}");
        }
        let made = hand(1, room.now).stamp;
        let one = fhir::visit(&room.ledger, &books, session, made);
        assert_eq!(one.is_err(), rehearsal);
        let record = record(&room.ledger, session).unwrap();
        assert_eq!(
            (record.rehearsal, record.visit),
            (rehearsal, u32::from(!rehearsal))
        );
    }
}

#[test]
fn the_record_says_a_packet_that_held_another_number() {
    let mut room = Room::plain();
    let session = room.session;
    let pack = room.pack(10, size(160));
    let said = |room: &Room| record(&room.ledger, session).unwrap().about_count;
    assert!(said(&room).is_empty(), "control: {:?}", said(&room));
    room.go(C::PackHeld {
        session,
        pack,
        held: 11,
    });
    assert_eq!(said(&room), ["A packet labelled 10 held 11, lot W7."]);
    assert_eq!(room.state().sum.opened, 11);
}

#[test]
fn the_record_prints_ranges_as_ranges_and_keeps_other_visits_off_paper() {
    let (mut room, person) = closed_visit(2, false);
    let first = room.session;
    let here = |room: &Room, session| record(&room.ledger, session).unwrap().after(true);
    assert!(
        !here(&room, first)
            .iter()
            .any(|l| l.starts_with("Closed over"))
    );
    room.when = When::Between(Wall(START + MINUTE), Wall(START + 4 * MINUTE));
    room.go(C::Incident {
        session: first,
        what: Incident {
            kind: IncidentKind::Bruise,
            region: Some(r("cheek.left")),
            point: None,
            words: String::new(),
        },
    });
    room.when = When::Now;
    // START is 2027-01-15T08:00:00Z, and the room is an hour ahead of UTC.
    let wanted = "09:01\u{2013}09:04 \u{2068}Bruise, L cheek\u{2069}";
    assert!(
        here(&room, first).iter().any(|l| l == wanted),
        "{:?}",
        here(&room, first)
    );
    let second = room.go(C::Open {
        mode: Mode::CountOnly,
        person: Some(person),
        plan: Vec::new(),
        rehearsal: false,
        procedure: None,
    });
    let mut up = found(1, size(160));
    up.fits = [second].to_vec();
    room.go(C::TurnUp {
        session: first,
        found: up,
    });
    // What was added after the close stands beside what it was closed over.
    let lines = here(&room, first);
    for wanted in ["Closed over 10 opened, 0 not found.", "False balance"] {
        assert!(lines.iter().any(|l| l.starts_with(wanted)), "{lines:?}");
    }
    let other = |paper: bool| {
        let lines = record(&room.ledger, second).unwrap().after(!paper);
        lines.iter().any(|l| l.contains("in the shoe"))
    };
    assert!(other(false), "control: the practice's own page says it");
    assert!(!other(true));
}

#[test]
fn the_card_for_a_colleague_says_what_is_in_and_what_runs() {
    use pinfold_core::view::handover::card;
    let mut room = Room::plain();
    let session = room.session;
    let now = |room: &Room| Now {
        run: room.session.replica,
        wall: Wall(START + room.now),
        mono: room.now,
        follows_since: 0,
    };
    let none = card(room.state(), &now(&room), None);
    assert_eq!(none.inside, ["no needle is in"]);
    assert_eq!(none.clocks, ["no clock is running"]);
    assert_eq!(none.lots, ["no packet was written down"]);
    room.pack(10, size(160));
    room.place("cheek.left", 5, size(160));
    room.place("ear.left", 2, None);
    room.go(C::LeaveIn {
        session,
        region: r("ear.left"),
        count: 1,
        longest: Some(Seconds(86_400)),
    });
    room.go(C::Stop {
        session,
        why: "pale".into(),
    });
    room.wait(8 * MINUTE);
    let some = card(room.state(), &now(&room), None);
    assert!(
        some.inside.contains(&"Patient's L cheek: 5".to_string()),
        "{some:?}"
    );
    let stays = "Patient's L ear: 1 stays in on purpose".to_string();
    assert!(some.inside.contains(&stays), "{some:?}");
    // 20 minutes, 8 gone.
    assert!(
        some.clocks.contains(&"L cheek: 12 min".to_string()),
        "{some:?}"
    );
    assert_eq!(some.answers, ["Placing stopped: pale"]);
    assert_eq!(some.lots, ["10, 0.16 \u{d7} 15 mm, lot W7"]);
}

#[test]
fn the_record_says_which_of_two_totals_was_chosen() {
    let mut room = Room::plain();
    let session = room.session;
    room.place("cheek.left", 7, None);
    // The same round on another phone, which had seen no total yet.
    let mut other = Ledger::new(room.ledger.journal().clone());
    room.wait(20 * MINUTE);
    let take = |count| {
        Command::from(C::TakeOut {
            session,
            region: r("cheek.left"),
            count,
            how: How::Taken,
            first: None,
        })
    };
    let there = other.decide(&take(6), &hand(9, room.now)).expect("taken");
    other.append(&there);
    // Here it was undone once and entered again: that is no second round.
    room.take("cheek.left", 5);
    room.go(C::Undo { session });
    room.wait(MINUTE).take("cheek.left", 7);
    let said = |room: &Room| record(&room.ledger, session).unwrap().about_count;
    let chosen = |room: &Room| said(room).iter().filter(|l| l.contains("chosen")).count();
    assert_eq!(chosen(&room), 0, "control: {:?}", said(&room));
    let _ = room
        .ledger
        .merge(other.journal())
        .expect("all of it is here");
    let two = room.state().two_totals.first().expect("two totals").clone();
    let total = two.totals.iter().find(|(_, n)| *n == 7).expect("seven").0;
    room.go(C::ChooseTotal { session, total });
    let line = "L cheek was counted twice in one round: 7 was chosen, 6 was set aside.";
    assert!(said(&room).iter().any(|l| l == line), "{:?}", said(&room));
    assert_eq!(chosen(&room), 1, "{:?}", said(&room));
}
