//! Clocks against a simulated phone: sleep, a wall clock set back or forward, runs that end.

use pinfold_core::atlas::{Area, Region, Side};
use pinfold_core::base::id::Replica;
use pinfold_core::base::stamp::{Stamp, Wall, When};
use pinfold_core::base::units::Seconds;
use pinfold_core::ledger::{ChairCommand as C, Hand};
use pinfold_core::session::{ClockState, Now};
use pinfold_tests::check::property;
use pinfold_tests::{act, count_only};
use proptest::prelude::*;

#[derive(Clone, Debug)]
enum Step {
    /// Awake for so many milliseconds.
    Awake(i64),
    /// Asleep: the steady clock stands still.
    Asleep(i64),
    /// The wall clock is set by so much.
    Set(i64),
    /// The tab is killed and opened again.
    Restart,
    /// Something is written down.
    Entry,
}

fn any_step() -> impl Strategy<Value = Step> {
    prop_oneof![
        4 => (0..1_000_000_i64).prop_map(Step::Awake),
        2 => (0..5_000_000_i64).prop_map(Step::Asleep),
        1 => (-90_000_000..90_000_000_i64).prop_map(Step::Set),
        1 => Just(Step::Restart),
        3 => Just(Step::Entry),
    ]
}

/// A phone: what is true, and what its clocks say.
struct Phone {
    truth: i64,
    wall: i64,
    mono: i64,
    run: u128,
    follows: i64,
}

impl Phone {
    fn hand(&self) -> Hand {
        let stamp = Stamp {
            wall: Wall(self.wall),
            mono: self.mono,
            zone: 0,
        };
        Hand {
            replica: Replica(self.run),
            stamp,
            when: When::Now,
        }
    }

    fn now(&self) -> Now {
        Now {
            run: Replica(self.run),
            wall: Wall(self.wall),
            mono: self.mono,
            follows_since: self.follows,
        }
    }

    fn step(&mut self, step: &Step) {
        match *step {
            Step::Awake(ms) => {
                self.truth += ms;
                self.wall += ms;
                self.mono += ms;
            }
            Step::Asleep(ms) => {
                self.truth += ms;
                self.wall += ms;
            }
            Step::Set(ms) => self.wall += ms,
            Step::Restart => {
                self.run += 1;
                self.mono = 300;
                self.follows = 300;
            }
            Step::Entry => {}
        }
    }
}

const CHEEK: Region = Region {
    area: Area::Cheek,
    side: Side::Left,
};

#[test]
fn never_less_than_the_longer_reading() {
    property(
        "clock readings",
        2000,
        &prop::collection::vec(any_step(), 0..20),
        |steps| {
            let mut phone = Phone {
                truth: 0,
                wall: 1_800_000_000_000,
                mono: 5_000,
                run: 1,
                follows: 0,
            };
            let (mut ledger, session) = count_only(1);
            let place = C::Place {
                session,
                region: CHEEK,
                count: 5,
                size: None,
                points: Vec::new(),
                stay: Some(Seconds(1200)),
            };
            act(&mut ledger, place, &phone.hand()).unwrap();
            let (start_truth, start_wall, start_mono) = (phone.truth, phone.wall, phone.mono);
            // What steady clocks can vouch for: awake time between entries of one run, and since the
            // present run began to follow.
            let mut vouched = 0;
            let mut last_entry = start_mono;
            let mut latest_wall = start_wall;
            let mut was_set = false;
            for step in &steps {
                match step {
                    Step::Restart => {
                        phone.step(step);
                        last_entry = phone.mono;
                    }
                    Step::Entry => {
                        vouched += phone.mono - last_entry;
                        last_entry = phone.mono;
                        latest_wall = latest_wall.max(phone.wall);
                        let note = C::Note {
                            session,
                            text: "x".into(),
                            region: None,
                        };
                        act(&mut ledger, note, &phone.hand()).unwrap();
                    }
                    Step::Set(_) => {
                        was_set = true;
                        phone.step(step);
                    }
                    _ => phone.step(step),
                }
            }
            let now = phone.now();
            let clocks = ledger.session(session).unwrap().state().clocks(&now);
            prop_assert_eq!(clocks.len(), 1);
            let clock = clocks[0];
            prop_assert!(clock.elapsed >= phone.wall - start_wall, "wall reading");
            if phone.run == 1 {
                prop_assert!(clock.elapsed >= phone.mono - start_mono, "steady reading");
            }
            if !was_set {
                prop_assert!(clock.elapsed >= vouched, "vouched for by entries");
                prop_assert_eq!(
                    clock.elapsed,
                    phone.truth - start_truth,
                    "nothing was set: exact"
                );
            }
            if phone.wall < latest_wall {
                prop_assert_eq!(clock.state, ClockState::ByHand);
            } else {
                prop_assert_ne!(clock.state, ClockState::ByHand);
                prop_assert_eq!(clock.elapsed >= 1_200_000, clock.due.unwrap().left <= 0);
            }
            Ok(())
        },
    );
}

#[test]
fn the_four_named_cases() {
    let minute = 60_000;
    let hour = 60 * minute;
    for (name, steps, elapsed, state) in [
        (
            "an hour's sleep",
            vec![Step::Asleep(hour)],
            hour,
            ClockState::Over,
        ),
        (
            "set back an hour",
            vec![Step::Awake(minute), Step::Set(-hour)],
            minute,
            ClockState::ByHand,
        ),
        (
            "forward a day",
            vec![Step::Set(24 * hour)],
            24 * hour,
            ClockState::Over,
        ),
        // A zone change moves what is printed, not the wall clock in UTC.
        (
            "zone change",
            vec![Step::Awake(19 * minute + 30_000)],
            1_170_000,
            ClockState::Soon,
        ),
        (
            "waiting",
            vec![Step::Awake(minute)],
            minute,
            ClockState::Waiting,
        ),
        (
            "due",
            vec![Step::Awake(20 * minute)],
            20 * minute,
            ClockState::Due,
        ),
    ] {
        let mut phone = Phone {
            truth: 0,
            wall: 1_800_000_000_000,
            mono: 0,
            run: 1,
            follows: 0,
        };
        let (mut ledger, session) = count_only(1);
        let place = C::Place {
            session,
            region: CHEEK,
            count: 5,
            size: None,
            points: Vec::new(),
            stay: Some(Seconds(1200)),
        };
        act(&mut ledger, place, &phone.hand()).unwrap();
        steps.iter().for_each(|step| phone.step(step));
        let clock = ledger
            .session(session)
            .unwrap()
            .state()
            .clocks(&phone.now())[0];
        assert_eq!((clock.elapsed, clock.state), (elapsed, state), "{name}");
    }
}
