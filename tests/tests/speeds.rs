//! What sessions teach about the practitioner's own hands, and what they do not: blocks, bursts, rehearsals,
//! interruptions, clocks that were set, sessions written down afterwards. The figures are policy: no
//! published time per needle was found.

use pinfold_core::atlas::{Atlas, Region};
use pinfold_core::base::id::{EntryId, Replica};
use pinfold_core::base::stamp::{Stamp, Wall, When};
use pinfold_core::base::units::Seconds;
use pinfold_core::event::Count;
use pinfold_core::event::practice::Set;
use pinfold_core::event::session::{How, Mode, PlannedNeedles, PlannedRegion};
use pinfold_core::journal::Journal;
use pinfold_core::ledger::{ChairCommand, Command, DeskCommand, Hand, Ledger};
use pinfold_core::needle::Needles;
use pinfold_core::plan::{Books, Limits, Options, Plan, Speed, Work, plan};
use pinfold_core::procedure::{Learning, ModuleName, procedures};
use pinfold_core::session::figures::{HAND_PACE, LATE};
use pinfold_core::view::speeds::{SETTING, learned};
use pinfold_core::words::{place, plan as words};
use pinfold_tests::check::property;
use proptest::prelude::*;

/// What goes wrong with one press of placing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Trouble {
    None,
    /// Entered as a block: somewhere between two times.
    Block,
    /// Entered as of some time ago.
    About,
    /// Entered as of longer ago than the chair takes for just now.
    Late,
    /// Nine minutes of something else before it.
    Interrupted,
    /// Four minutes of something else before a few needles.
    Delayed,
    /// A packet was opened before it.
    Packet,
    /// Pressed, taken back, pressed again.
    Undone,
    /// The wall clock was set forward before it.
    ClockSet,
    /// The app was started anew before it.
    Restarted,
    /// Entered together with the next one, after both.
    WithNext,
}

const ALL: [Trouble; 10] = [
    Trouble::Block,
    Trouble::About,
    Trouble::Late,
    Trouble::Interrupted,
    Trouble::Delayed,
    Trouble::Packet,
    Trouble::Undone,
    Trouble::ClockSet,
    Trouble::Restarted,
    Trouble::WithNext,
];

/// One session: how fast the hands were, and what went wrong.
#[derive(Clone, Debug)]
struct Visit {
    /// Milliseconds to place one needle, line by line.
    place: [i64; 4],
    /// Milliseconds to take one out.
    remove: [i64; 4],
    /// Before the press of each line; the first line teaches nothing in any case.
    trouble: [Trouble; 4],
    rehearsal: bool,
    closed: bool,
    /// Needles come out so many seconds after they went in, at the earliest.
    stay: i64,
}

impl Visit {
    fn even(place: i64, remove: i64) -> Self {
        Self {
            place: [place * 1000; 4],
            remove: [remove * 1000; 4],
            trouble: [Trouble::None; 4],
            rehearsal: false,
            closed: true,
            stay: 1200,
        }
    }

    fn with(line: usize, trouble: Trouble) -> Self {
        let mut visit = Self::even(12, 5);
        visit.trouble[line] = trouble;
        visit
    }
}

const LINES: [(&str, u16); 4] = [
    ("hands_arms.both", 4),
    ("forehead.both", 5),
    ("cheek.right", 7),
    ("cheek.left", 7),
];

struct Room {
    ledger: Ledger,
    replica: u128,
    wall: i64,
    mono: i64,
    when: When,
}

impl Room {
    fn new() -> Self {
        Self {
            ledger: Ledger::default(),
            replica: 1,
            wall: 1_800_000_000_000,
            mono: 1_000,
            when: When::Now,
        }
    }

    fn pass(&mut self, millis: i64) {
        self.wall += millis;
        self.mono += millis;
    }

    fn act(&mut self, command: impl Into<Command>) -> EntryId {
        let hand = Hand {
            replica: Replica(self.replica),
            stamp: Stamp {
                wall: Wall(self.wall),
                mono: self.mono,
                zone: 0,
            },
            when: self.when,
        };
        let facts = self.ledger.decide(&command.into(), &hand).expect("done");
        self.ledger.append(&facts);
        facts.entries()[0].id
    }

    fn visit(&mut self, visit: &Visit) {
        let size = Needles::load()
            .expect("sound")
            .get("0.16x15")
            .map(|s| s.size);
        let plan = LINES
            .map(|(region, count)| PlannedRegion {
                region: region.parse().expect("a region"),
                stay: Seconds(1200),
                needles: vec![PlannedNeedles {
                    size,
                    count: Count::new(count).expect("a count"),
                    points: Vec::new(),
                }],
                left_out: Vec::new(),
            })
            .to_vec();
        let session = self.act(ChairCommand::Open {
            mode: Mode::Planned,
            person: None,
            plan,
            rehearsal: visit.rehearsal,
            procedure: None,
        });
        self.pass(300_000);
        let mut placed = [0_i64; 4];
        for (at, (_, count)) in LINES.iter().enumerate() {
            let place = ChairCommand::PlacePlanned {
                session,
                line: u16::try_from(at).expect("few"),
                count: *count,
            };
            let took = visit.place[at] * i64::from(*count);
            self.pass(took);
            match visit.trouble[at] {
                Trouble::None => {}
                Trouble::Block => {
                    let from = Wall(self.wall - took);
                    self.when = When::Between(from, Wall(self.wall));
                }
                Trouble::About => self.when = When::About(Wall(self.wall - 60_000)),
                Trouble::Late => {
                    let late = Seconds(LATE).as_millis() + 1;
                    self.when = When::About(Wall(self.wall - late));
                }
                Trouble::Interrupted => self.pass(540_000),
                Trouble::Delayed => self.pass(60_001 * i64::from(*count) - took),
                Trouble::Packet => {
                    let (held, lot) = (10, None);
                    self.act(ChairCommand::OpenPack {
                        session,
                        held,
                        size,
                        lot,
                    });
                }
                Trouble::Undone => {
                    self.act(place.clone());
                    self.act(ChairCommand::Undo { session });
                }
                Trouble::ClockSet => self.wall += 30_000,
                Trouble::Restarted => {
                    self.replica += 1;
                    self.mono = 500;
                }
                Trouble::WithNext => {
                    // This press comes with the next one: see below.
                    if at + 1 < LINES.len() {
                        self.pass(visit.place[at + 1] * i64::from(LINES[at + 1].1));
                    }
                }
            }
            self.act(place);
            self.when = When::Now;
            placed[at] = self.wall;
            if visit.trouble[at] == Trouble::WithNext && at + 1 < LINES.len() {
                self.pass(1_500 - visit.place[at + 1] * i64::from(LINES[at + 1].1));
            }
        }
        self.pass(60_000);
        for (at, (region, count)) in LINES.iter().enumerate() {
            // Nobody begins before the stay is over.
            let wait = (placed[at] + visit.stay * 1000 - self.wall).max(0);
            self.pass(wait + visit.remove[at] * i64::from(*count));
            let region: Region = region.parse().expect("a region");
            self.act(ChairCommand::TakeOut {
                session,
                region,
                count: *count,
                how: How::Taken,
                first: None,
            });
        }
        if visit.closed {
            self.pass(60_000);
            let state = self.ledger.session(session).expect("there").state();
            let held: u16 = state.packs.values().map(|p| p.held).sum();
            if held > 0 {
                // Of all that were placed and opened, the rest is in the strips.
                let placed: u16 = LINES.iter().map(|(_, count)| count).sum();
                let left = held.saturating_sub(placed);
                self.act(ChairCommand::CountStrips {
                    session,
                    size,
                    left,
                });
            }
            let now = self.ledger.session(session).expect("there").state();
            for demand in pinfold_tests::demands(now, session) {
                self.act(demand);
            }
            let words = Some("the packets were not entered".to_string());
            self.act(ChairCommand::Close { session, words });
        }
        self.pass(3_600_000);
    }

    fn learned(&self) -> Vec<Speed> {
        learned(&self.ledger, &policy()).expect("all of it is here")
    }

    fn of(&self, module: ModuleName, work: Work) -> Option<(u32, u16)> {
        let all = self.learned();
        let found = all.iter().find(|s| (s.module, s.work) == (module, work));
        found.map(|s| (s.seconds.0, s.observations))
    }
}

fn policy() -> Learning {
    Learning::load().expect("sound")
}

fn after(visits: &[Visit]) -> Room {
    let mut room = Room::new();
    for visit in visits {
        room.visit(visit);
    }
    room
}

#[test]
fn three_presses_of_a_part_teach_its_pace_and_fewer_do_not() {
    let visit = Visit::even(12, 5);
    let room = after(&[visit.clone(), visit.clone()]);
    // Two cheeks a visit, one forehead; nothing came before the hands.
    assert_eq!(room.of(ModuleName::Cheek, Work::Place), Some((12, 4)));
    assert_eq!(room.of(ModuleName::Cheek, Work::Remove), Some((5, 4)));
    assert_eq!(room.of(ModuleName::Forehead, Work::Place), None);
    let room = after(&[visit.clone(), visit.clone(), visit]);
    assert_eq!(room.of(ModuleName::Forehead, Work::Place), Some((12, 3)));
    assert_eq!(room.of(ModuleName::Forehead, Work::Remove), Some((5, 3)));
    assert_eq!(room.of(ModuleName::HandsArms, Work::Place), None);
    assert_eq!(room.of(ModuleName::Scalp, Work::Place), None);
}

#[test]
fn the_middle_value_counts_and_is_rounded_up() {
    let mut visit = Visit::even(12, 5);
    visit.place = [0, 9_001, 20_000, 20_000];
    let mut slow = visit.clone();
    slow.place[1] = 55_000;
    let room = after(&[visit.clone(), slow, visit]);
    assert_eq!(room.of(ModuleName::Forehead, Work::Place), Some((10, 3)));
}

#[test]
fn a_block_entry_teaches_nothing() {
    let block = Visit::with(1, Trouble::Block);
    let room = after(&[block.clone(), block.clone(), block.clone(), block]);
    assert_eq!(room.of(ModuleName::Forehead, Work::Place), None);
    // The press after a block has nothing to count from either: one cheek of two is left.
    assert_eq!(room.of(ModuleName::Cheek, Work::Place), Some((12, 4)));
    // The control: the same presses entered as they happened.
    let now = Visit::even(12, 5);
    let room = after(&[now.clone(), now.clone(), now.clone(), now]);
    assert_eq!(room.of(ModuleName::Forehead, Work::Place), Some((12, 4)));
    assert_eq!(room.of(ModuleName::Cheek, Work::Place), Some((12, 8)));
}

/// Regions that were taken out one after the other and entered at the end of both: the second total is
/// a block to the chair, and the first, which seems slow, is the time of both.
#[test]
fn what_the_chair_marks_as_a_block_or_late_teaches_nothing_about_taking_out() {
    let marked = |room: &Room| -> (usize, usize) {
        let states = room
            .ledger
            .whole()
            .expect("all of it")
            .sessions()
            .map(|(_, s)| s.state());
        states.fold((0, 0), |(blocks, late), s| {
            (blocks + s.blocks.len(), late + s.late.len())
        })
    };
    let of = |visit: &Visit| {
        let room = after(&vec![visit.clone(); 3]);
        (
            room.of(ModuleName::Forehead, Work::Remove).map(|(s, _)| s),
            room.of(ModuleName::Cheek, Work::Remove),
            marked(&room),
        )
    };
    // Slower out than in: nobody waits for a stay between two regions.
    let visit = Visit::even(5, 12);
    let taught = (Some(12), Some((12, 6)), (0, 0));
    assert_eq!(of(&visit), taught, "the control");
    // The right cheek in no time: neither it nor the forehead before it, and the left counts from it no more.
    let mut block = visit.clone();
    block.remove[2] = 0;
    assert_eq!(of(&block), (None, None, (3, 0)));
    // One millisecond for each needle less than the chair's figure, and exactly that figure.
    let mut edge = visit.clone();
    edge.remove = [i64::from(HAND_PACE) - 1; 4];
    assert_eq!(of(&edge).1, None);
    edge.remove = [i64::from(HAND_PACE); 4];
    assert_eq!(of(&edge).1, Some((HAND_PACE.div_ceil(1000), 6)));
    // Two totals of which the chair stored the second as it was pressed, as old logs hold them.
    let mut old = after(&vec![block.clone(); 3]);
    let lines = String::from_utf8(old.ledger.journal().to_lines()).expect("UTF-8");
    let pressed: String = lines
        .lines()
        .map(|line| {
            let mut line: serde_json::Value = serde_json::from_str(line).expect("JSON");
            if let Some(entry) = line.as_object_mut() {
                entry.remove("when");
            }
            format!("{line}\n")
        })
        .collect();
    assert_ne!(lines, pressed, "control: they were stored as ranges");
    old.ledger = Ledger::new(Journal::from_lines(pressed.as_bytes()).journal);
    assert_eq!(marked(&old), (3, 0));
    assert_eq!(old.of(ModuleName::Forehead, Work::Remove), None);
    assert_eq!(old.of(ModuleName::Cheek, Work::Remove), None);
    // Entered late: longer after it happened than the chair's figure. When the stay was over is not known
    // then, so taking the forehead out teaches nothing either, and the right cheek counts from it no more.
    let late = Visit::with(1, Trouble::Late);
    assert_eq!(of(&late), (None, Some((5, 3)), (0, 3)));
    let room = after(&vec![late; 3]);
    assert_eq!(room.of(ModuleName::Forehead, Work::Place), None);
}

#[test]
fn what_was_not_a_hand_at_work_teaches_nothing() {
    for trouble in ALL {
        let odd = Visit::with(1, trouble);
        let room = after(&[odd.clone(), odd.clone(), odd]);
        let forehead = room.of(ModuleName::Forehead, Work::Place);
        assert_eq!(forehead, None, "{trouble:?}");
        // The other presses still teach.
        let cheek = room.of(ModuleName::Cheek, Work::Place);
        assert_eq!(cheek.map(|(s, _)| s), Some(12), "{trouble:?}");
    }
    let visit = Visit::even(12, 5);
    let rehearsal = Visit {
        rehearsal: true,
        ..visit.clone()
    };
    let open = Visit {
        closed: false,
        ..visit.clone()
    };
    let paper = Visit {
        stay: 240,
        ..Visit::even(6, 5)
    };
    for odd in [rehearsal, open, paper] {
        let room = after(&[odd.clone(), odd.clone(), odd.clone()]);
        assert_eq!(room.learned(), [], "{odd:?}");
    }
    for (place, remove) in [(3, 5), (61, 5)] {
        let odd = Visit::even(place, remove);
        let room = after(&[odd.clone(), odd.clone(), odd]);
        assert_eq!(room.of(ModuleName::Cheek, Work::Place), None, "{place}");
        assert_eq!(room.of(ModuleName::Cheek, Work::Remove), Some((5, 6)));
    }
    assert_eq!(
        after(&[visit.clone(), visit]).learned().len(),
        2,
        "the control"
    );
}

#[test]
fn only_the_last_closed_sessions_count() {
    let mut visits = vec![Visit::even(40, 9); 30];
    visits.extend(vec![Visit::even(10, 4); 11]);
    visits.push(Visit {
        closed: false,
        ..Visit::even(40, 9)
    });
    let room = after(&visits);
    // 11 of 20 are fast.
    assert_eq!(room.of(ModuleName::Forehead, Work::Place), Some((10, 20)));
    let room = after(&visits[..39]);
    assert_eq!(room.of(ModuleName::Forehead, Work::Place), Some((40, 20)));
}

fn planned(speeds: Vec<Speed>) -> Plan {
    let (atlas, needles) = (
        Atlas::load().expect("sound"),
        Needles::load().expect("sound"),
    );
    let books = Books {
        atlas: &atlas,
        needles: &needles,
    };
    let all = procedures().expect("sound");
    let full = all.iter().find(|p| p.id == "return_full").expect("ours");
    let options = Options {
        speeds,
        ..Options::default()
    };
    plan(books, full, &[], &Limits::default(), &options)
}

#[test]
fn a_plan_is_timed_with_what_was_learned_and_says_so() {
    let mut room = after(&vec![Visit::even(12, 5); 3]);
    let (before, after) = (planned(Vec::new()), planned(room.learned()));
    assert!(before.learned.is_empty());
    assert!(after.total < before.total, "12 and 5 s for 15 and 6");
    let said: Vec<String> = after
        .learned
        .iter()
        .map(|l| words::EN.learned(l, &place::EN))
        .collect();
    assert_eq!(
        said,
        [
            "Forehead: 12 s to place one, learned from 3 presses; the procedure's figure is 15 s.",
            "Forehead: 5 s to take one out, learned from 3 presses; the procedure's figure is 6 s.",
            "Cheek: 12 s to place one, learned from 6 presses; the procedure's figure is 15 s.",
            "Cheek: 5 s to take one out, learned from 6 presses; the procedure's figure is 6 s.",
        ]
    );
    // By another road: each cheek is placed in 7 times the learned seconds, the hands as before.
    let placing = |plan: &Plan, module: ModuleName| -> Vec<u32> {
        let blocks = plan.blocks.iter().filter(|b| b.module == module);
        blocks.map(|b| b.placing.to - b.placing.from).collect()
    };
    assert_eq!(placing(&after, ModuleName::Cheek), [84, 84]);
    assert_eq!(placing(&before, ModuleName::Cheek), [105, 105]);
    let hands = ModuleName::HandsArms;
    assert_eq!(placing(&after, hands), placing(&before, hands));
    // Not wanted: the procedure's own figures stand.
    let off = Set {
        name: SETTING.into(),
        value: "off".into(),
        reason: String::new(),
    };
    room.act(DeskCommand::Set(off));
    assert_eq!(room.learned(), []);
}

fn any_trouble() -> impl Strategy<Value = Trouble> {
    prop_oneof![
        3 => Just(Trouble::None),
        // The first nine leave the other presses of a session alone.
        2 => proptest::sample::select(&ALL[..9]),
    ]
}

fn any_visit() -> impl Strategy<Value = Visit> {
    let pace = || 4_000..60_000_i64;
    (
        [pace(), pace(), pace(), pace()],
        [
            1_000..60_000_i64,
            1_000..60_000,
            1_000..60_000,
            1_000..60_000,
        ],
        [
            Just(Trouble::None).boxed(),
            any_trouble().boxed(),
            any_trouble().boxed(),
            any_trouble().boxed(),
        ],
        proptest::bool::weighted(0.1),
        proptest::bool::weighted(0.9),
    )
        .prop_map(|(place, remove, trouble, rehearsal, closed)| Visit {
            place,
            remove,
            trouble,
            rehearsal,
            closed,
            stay: 1200,
        })
}

#[test]
fn what_is_learned_is_the_middle_of_what_hands_really_took() {
    let visits = proptest::collection::vec(any_visit(), 0..8);
    property("learned speeds", 300, &visits, |visits| {
        let room = after(&visits);
        let policy = policy();
        // By another road: what each press of a cheek really took, where nothing was wrong with it or
        // with the press before it.
        let breaks = |t: Trouble| matches!(t, Trouble::Block | Trouble::About | Trouble::Late);
        let mut real: Vec<i64> = Vec::new();
        for visit in visits.iter().filter(|v| v.closed && !v.rehearsal) {
            for line in [2, 3] {
                let own = visit.trouble[line] == Trouble::None;
                let count = i64::from(LINES[line].1);
                let short = visit.place[line] * count <= policy.interruption.as_millis();
                if own && short && !breaks(visit.trouble[line - 1]) {
                    real.push(visit.place[line]);
                }
            }
        }
        real.sort_unstable();
        let expected = (real.len() >= 3).then(|| {
            let middle = real[real.len() / 2];
            (
                u32::try_from((middle + 999) / 1000).expect("small"),
                real.len(),
            )
        });
        let got = room.of(ModuleName::Cheek, Work::Place);
        prop_assert_eq!(got.map(|(s, n)| (s, usize::from(n))), expected);
        for speed in room.learned() {
            let fastest = match speed.work {
                Work::Place => policy.fastest_place,
                Work::Remove => Seconds(HAND_PACE.div_ceil(1000)),
            };
            prop_assert!(speed.seconds >= fastest && speed.seconds <= policy.slowest);
            prop_assert!(speed.observations >= policy.observations);
        }
        Ok(())
    });
}

#[test]
fn sessions_that_teach_nothing_change_nothing() {
    let visits = proptest::collection::vec(any_visit(), 1..6);
    let odd = (0..3_u8, any_visit());
    property(
        "odd sessions",
        200,
        &(visits, odd),
        |(visits, (which, odd))| {
            let odd = match which {
                0 => Visit {
                    rehearsal: true,
                    ..odd
                },
                1 => Visit {
                    closed: false,
                    ..odd
                },
                _ => Visit {
                    trouble: [Trouble::Block; 4],
                    remove: [500; 4],
                    closed: true,
                    ..odd
                },
            };
            let mut room = after(&visits);
            let before = room.learned();
            room.visit(&odd);
            prop_assert_eq!(room.learned(), before);
            Ok(())
        },
    );
}
