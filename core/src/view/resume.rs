//! Coming back to the chair: where the person was, what is in, which clock wants a hand, what comes
//! next. Times of absence are policy: 5 s are a glance elsewhere, after 30 s nobody should trust to
//! memory.

use crate::atlas::Region;
use crate::base::stamp::Wall;
use crate::session::{ClockState, Now, Session, What};
use crate::view::chair::{clocks, row, title};
use crate::words::chair::EN as CHAIR;
use crate::words::device::EN;
use crate::words::place::EN as PLACE;
use alloc::format;
use alloc::string::String;
use alloc::vec::Vec;

/// Out of sight this long while taking out, one line says where one was, in milliseconds.
pub const LINE_MS: i64 = 5_000;
/// Out of sight this long, the card lies over the page, in milliseconds.
pub const CARD_MS: i64 = 30_000;
/// A wall clock this far from the steady one was moved, in milliseconds. Phones set themselves by a
/// second or two.
pub const MOVED_MS: i64 = 10_000;

/// Somebody is back after the page could not be seen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Back {
    /// How long it was out of sight, in milliseconds.
    pub away: i64,
    /// The app was started again: nobody knows how long it was away.
    pub again: bool,
    /// When they came back.
    pub at: Wall,
}

impl Back {
    /// Away once more before this was read: the longer one stays, and that it was started again.
    #[must_use]
    pub fn after(self, before: Option<Self>) -> Self {
        match before {
            Some(before) if before.again || before.away > self.away => before,
            _ => self,
        }
    }
}

/// Which page of the chair is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shown {
    /// Counts and clocks; whether it is taking out.
    Chair {
        /// Taking out, not placing.
        out: bool,
    },
    /// One region is being taken out and asked for.
    Region(Region),
    /// The count.
    Count,
}

/// What is said.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub enum Says {
    /// Nothing.
    #[default]
    Nothing,
    /// One line over the page.
    Line(String),
    /// A card over the page: its lines in order.
    Card(Vec<String>),
}

/// What is said to somebody who comes back to a session.
///
/// A number that is being asked for is not told: no number on the page of the count, and none for the
/// region that is being counted.
#[must_use]
pub fn resume(session: &Session, now: &Now, back: Option<Back>, shown: Shown) -> Says {
    let state = session.state();
    let Some(back) = back else {
        return Says::Nothing;
    };
    // A session opened since the start has nothing to be told of it. Its run says so, not its time: the
    // wall clock may have been moved.
    let since = back.again && state.opened.is_some_and(|id| id.replica == now.run);
    if since || state.closed.is_some() {
        return Says::Nothing;
    }
    let place = match shown {
        Shown::Chair { .. } => EN.at_the_chair.into(),
        Shown::Count => EN.counting.into(),
        Shown::Region(region) => EN.at(&within(title(&PLACE, region))),
    };
    let away = back.away.div_euclid(1000);
    if !back.again && back.away < CARD_MS {
        let line = match shown {
            _ if back.away < LINE_MS => return Says::Nothing,
            Shown::Chair { out: true } => EN.away(away),
            Shown::Region(_) => format!("{} {place}", EN.away(away)),
            Shown::Chair { out: false } | Shown::Count => return Says::Nothing,
        };
        return Says::Line(line);
    }
    let mut lines = Vec::new();
    let away = match state.latest {
        Some(latest) if back.again => EN.again(back.at.since(latest).div_euclid(1000)),
        _ => EN.away(away),
    };
    lines.push(format!("{away} {place}"));

    let regions = state.regions.iter().filter(|(_, sum)| sum.in_now > 0);
    let inside = regions.map(|(&region, sum)| {
        let name = PLACE.region(region);
        match shown {
            Shown::Count => name,
            Shown::Region(here) if here == region => format!("{name} {}", EN.being_counted),
            _ => format!("{name} {}", sum.in_now),
        }
    });
    let inside = row(inside);
    if !inside.is_empty() {
        lines.push(format!("{}: {inside}.", CHAIR.in_now));
    }
    let running = clocks(state, now, &CHAIR, &PLACE);
    if state.set_back(now) {
        lines.push(EN.by_hand.into());
    }
    let due = running.iter().filter_map(|clock| {
        clock
            .left
            .filter(|left| *left <= 0)
            .map(|left| (clock, left))
    });
    let due = row(due.map(|(clock, left)| {
        let minutes = CHAIR.minutes(left.saturating_neg().div_euclid(60));
        format!("{} {minutes} {}", clock.name, EN.over)
    }));
    if !due.is_empty() {
        lines.push(format!("{}: {due}.", CHAIR.due_now));
    }
    let next = running
        .iter()
        .find(|clock| matches!(clock.what, What::Stay(_) | What::Cream(_)));
    let in_time = |left: i64| {
        let minutes = left.saturating_add(59).div_euclid(60);
        format!(", {}", CHAIR.minutes(minutes))
    };
    let when = next
        .filter(|clock| clock.state != ClockState::ByHand)
        .and_then(|clock| clock.left.filter(|left| *left > 0))
        .map_or(String::new(), in_time);
    let next = match (shown, next.map(|clock| (clock.what, clock.region))) {
        (Shown::Region(region), _) => CHAIR.take_out(&PLACE.region(region)),
        (Shown::Count, _) => CHAIR.count.into(),
        (_, Some((What::Cream(_), _))) => format!("{}{when}", CHAIR.wipe_off),
        (_, Some((What::Stay(_), Some(region)))) => {
            format!("{}{when}", CHAIR.take_out(&PLACE.region(region)))
        }
        _ if state.sum.placed == 0 => CHAIR.placing.into(),
        _ => CHAIR.count.into(),
    };
    lines.push(format!("{}: {next}.", EN.next));
    Says::Card(lines)
}

/// A title in the middle of a sentence: its first letter small.
fn within(mut title: String) -> String {
    if let Some(first) = title.get_mut(..1) {
        first.make_ascii_lowercase();
    }
    title
}

/// By how many milliseconds the wall clock was moved between two looks at both clocks; 0 if it was
/// not. Back is certain: a steady clock never gains. Ahead is told only if the page was in sight
/// throughout (`seen`); a phone that slept looks the same.
#[must_use]
pub fn moved(before: (Wall, i64), now: (Wall, i64), seen: bool) -> i64 {
    let wall = now.0.since(before.0);
    let by = wall.saturating_sub(now.1.saturating_sub(before.1));
    if by <= -MOVED_MS || (seen && by >= MOVED_MS) {
        by
    } else {
        0
    }
}

/// A room to test in: a ledger with one open session, and two clocks.
#[cfg(test)]
pub(crate) mod room {
    use crate::base::id::{EntryId, Replica};
    use crate::base::stamp::{Stamp, Wall, When};
    use crate::base::units::Seconds;
    use crate::event::session::Mode;
    use crate::ledger::{ChairCommand as C, Hand, Ledger};
    use crate::session::Now;
    use alloc::vec::Vec;

    pub(crate) const START: i64 = 1_800_000_000_000;

    pub(crate) struct Room {
        pub ledger: Ledger,
        pub session: EntryId,
        /// Milliseconds since it was opened.
        pub at: i64,
        /// By how much the wall clock was set back.
        pub set_back: i64,
    }

    impl Room {
        pub(crate) fn new() -> Self {
            let mut room = Self {
                ledger: Ledger::default(),
                session: EntryId {
                    counter: 1,
                    replica: Replica(7),
                },
                at: 0,
                set_back: 0,
            };
            room.session = room.go(C::Open {
                mode: Mode::CountOnly,
                person: None,
                plan: Vec::new(),
                rehearsal: false,
                procedure: None,
            });
            room
        }

        pub(crate) fn now(&self) -> Now {
            Now {
                run: Replica(7),
                wall: Wall(START + self.at - self.set_back),
                mono: self.at,
                follows_since: 0,
            }
        }

        pub(crate) fn go(&mut self, command: C) -> EntryId {
            let now = self.now();
            let hand = Hand {
                replica: now.run,
                stamp: Stamp {
                    wall: now.wall,
                    mono: now.mono,
                    zone: 0,
                },
                when: When::Now,
            };
            let facts = self.ledger.decide(&command.into(), &hand).unwrap();
            self.ledger.append(&facts);
            facts.entries()[0].id
        }

        pub(crate) fn place(&mut self, region: &str, count: u16, minutes: u32) {
            let session = self.session;
            self.go(C::Place {
                session,
                region: region.parse().unwrap(),
                count,
                size: None,
                points: Vec::new(),
                stay: Some(Seconds(minutes * 60)),
            });
        }
    }
}

#[cfg(test)]
mod tests {
    use super::room::{Room, START};
    use super::*;
    use crate::base::id::Replica;
    use crate::event::session::How;
    use crate::ledger::ChairCommand as C;

    const MINUTE: i64 = 60_000;

    fn says(room: &Room, away: i64, shown: Shown) -> Says {
        let session = room.ledger.session(room.session).unwrap();
        let now = room.now();
        let back = Back {
            away,
            again: false,
            at: now.wall,
        };
        resume(session, &now, Some(back), shown)
    }

    fn region(name: &str) -> Region {
        name.parse().unwrap()
    }

    /// 8 minutes in: 7 in the left cheek for 5 minutes, 4 at the neck for 20.
    fn room() -> Room {
        let mut room = Room::new();
        room.place("cheek.left", 7, 5);
        room.place("neck.centre", 4, 20);
        room.at = 8 * MINUTE;
        room
    }

    #[test]
    fn five_seconds_are_a_line_and_thirty_a_card() {
        let room = room();
        let out = Shown::Chair { out: true };
        assert_eq!(says(&room, 4_999, out), Says::Nothing);
        assert_eq!(says(&room, 5_000, out), Says::Line("Away 5 s.".into()));
        let cheek = Shown::Region(region("cheek.left"));
        assert_eq!(
            says(&room, 29_999, cheek),
            Says::Line("Away 29 s. You were at patient's L cheek, not counted yet.".into())
        );
        for spot in [Shown::Chair { out: false }, Shown::Count] {
            assert_eq!(says(&room, 29_999, spot), Says::Nothing);
        }
        for spot in [out, Shown::Chair { out: false }, cheek, Shown::Count] {
            assert!(matches!(says(&room, 30_000, spot), Says::Card(_)));
        }
    }

    #[test]
    fn the_card_says_where_what_is_in_what_is_due_and_what_comes_next() {
        let lines = [
            "Away 3 min. You were at the chair.",
            "in now: L cheek 7, Neck 4.",
            "Due now: L cheek 3 min over.",
            "Next: Take out L cheek.",
        ];
        let Says::Card(card) = says(&room(), 3 * MINUTE, Shown::Chair { out: true }) else {
            panic!("a card");
        };
        assert_eq!(card, lines);
    }

    #[test]
    fn a_number_that_is_asked_for_is_not_told() {
        let room = room();
        let told = |spot| match says(&room, MINUTE, spot) {
            Says::Card(card) => card.join(" "),
            other => panic!("{other:?}"),
        };
        let chair = told(Shown::Chair { out: true });
        assert!(chair.contains("L cheek 7"), "control: {chair}");
        let asked = told(Shown::Region(region("cheek.left")));
        assert!(!asked.contains('7'), "{asked}");
        assert!(asked.contains("Neck 4"), "{asked}");
        let count = told(Shown::Count);
        assert!(count.contains("in now: L cheek, Neck."), "{count}");
    }

    #[test]
    fn what_comes_next_is_a_clock_with_its_time_then_the_count() {
        let mut room = room();
        room.go(C::TakeOut {
            session: room.session,
            region: region("cheek.left"),
            count: 7,
            how: How::Taken,
            first: None,
        });
        let last = |room: &Room| match says(room, MINUTE, Shown::Chair { out: true }) {
            Says::Card(card) => card.last().cloned().unwrap(),
            other => panic!("{other:?}"),
        };
        assert_eq!(last(&room), "Next: Take out Neck, 12 min.");
        room.go(C::TakeOut {
            session: room.session,
            region: region("neck.centre"),
            count: 4,
            how: How::Taken,
            first: None,
        });
        assert_eq!(last(&room), "Next: Count.");
        assert_eq!(last(&Room::new()), "Next: Placing.");
    }

    #[test]
    fn a_start_is_a_card_and_a_session_opened_since_then_is_not_spoken_of() {
        let room = room();
        let session = room.ledger.session(room.session).unwrap();
        let again = |run: u128, at: i64| {
            let now = Now {
                run: Replica(run),
                ..room.now()
            };
            let back = Back {
                away: 0,
                again: true,
                at: Wall(at),
            };
            match resume(session, &now, Some(back), Shown::Count) {
                Says::Card(card) => card[0].clone(),
                Says::Nothing => String::new(),
                Says::Line(line) => panic!("{line}"),
            }
        };
        let told = "Started again. The last press was 8 min ago. You were counting.";
        assert_eq!(again(8, START + 8 * MINUTE), told);
        assert_eq!(again(7, START + 8 * MINUTE), "", "opened in this run");
        // A clock that was set back knows no time since.
        assert_eq!(
            again(8, START - MINUTE),
            "Started again. You were counting."
        );
        assert_eq!(
            resume(session, &room.now(), None, Shown::Count),
            Says::Nothing
        );
    }

    #[test]
    fn a_clock_set_back_is_said() {
        let mut room = room();
        room.set_back = 9 * MINUTE;
        let Says::Card(card) = says(&room, MINUTE, Shown::Chair { out: true }) else {
            panic!("a card");
        };
        assert!(card.contains(&EN.by_hand.into()), "{card:?}");
    }

    #[test]
    fn the_longer_absence_stays_until_it_is_read() {
        let back = |away, again| Back {
            away,
            again,
            at: Wall(START),
        };
        assert_eq!(back(6_000, false).after(None), back(6_000, false));
        assert_eq!(
            back(6_000, false).after(Some(back(60_000, false))),
            back(60_000, false)
        );
        assert_eq!(
            back(90_000, false).after(Some(back(0, true))),
            back(0, true)
        );
        assert_eq!(
            back(90_000, false).after(Some(back(6_000, false))),
            back(90_000, false)
        );
    }

    #[test]
    fn a_moved_clock_is_found_and_a_sleep_is_none() {
        let at = |wall: i64, mono: i64| (Wall(START + wall), mono);
        assert_eq!(moved(at(0, 0), at(1000, 1000), true), 0);
        assert_eq!(moved(at(0, 0), at(-299_000, 1000), true), -300_000);
        assert_eq!(moved(at(0, 0), at(-299_000, 1000), false), -300_000);
        assert_eq!(moved(at(0, 0), at(301_000, 1000), true), 300_000);
        assert_eq!(
            moved(at(0, 0), at(301_000, 1000), false),
            0,
            "it may have slept"
        );
        assert_eq!(moved(at(0, 0), at(9_000, 1000), true), 0, "set by itself");
    }
}
