//! What is heard of the clocks: which fell due since the last look. A phone sleeps and timers are
//! late, so it is never the timer that says what is due, but what stood at the last look and what
//! stands now.

use crate::base::id::EntryId;
use crate::session::{ClockState, Now, OVER, State, What};
use alloc::vec::Vec;

/// How far a clock is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Far {
    Waits,
    Due,
    /// Three minutes over.
    Over,
}

/// One look at every clock that has an end.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Heard {
    clocks: Vec<(EntryId, What, Far)>,
    /// Milliseconds until the next moment that is heard: the next due one, or three minutes after it.
    pub next: Option<i64>,
}

impl Heard {
    /// Looks at the clocks of some sessions.
    #[must_use]
    pub fn look<'a>(sessions: impl Iterator<Item = (EntryId, &'a State)>, now: &Now) -> Self {
        let mut heard = Self::default();
        for (session, state) in sessions {
            for clock in state.clocks(now) {
                let Some(due) = clock.due else { continue };
                let late = due.left.saturating_add(OVER.as_millis());
                let far = match due.left {
                    _ if late <= 0 => Far::Over,
                    left if left <= 0 || clock.state == ClockState::ByHand => Far::Due,
                    _ => Far::Waits,
                };
                let ahead = [due.left, late].into_iter().find(|millis| *millis > 0);
                heard.next = match (heard.next, ahead) {
                    (Some(soonest), Some(here)) => Some(soonest.min(here)),
                    (one, other) => one.or(other),
                };
                heard.clocks.push((session, clock.what, far));
            }
        }
        heard
    }

    /// Whether anything fell due, or became three minutes late, since `before`. However much did, it
    /// is one tone. A clock that was not there before is heard if it is due already.
    #[must_use]
    pub fn rings(&self, before: &Self) -> bool {
        self.clocks.iter().any(|(session, what, far)| {
            let mut held = before.clocks.iter();
            let held = held.find(|(s, w, _)| s == session && w == what);
            *far > held.map_or(Far::Waits, |(.., far)| *far)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::atlas::Region;
    use crate::base::units::Seconds;
    use crate::ledger::ChairCommand as C;
    use crate::view::resume::room::Room;

    const SECOND: i64 = 1000;
    const MINUTE: i64 = 60 * SECOND;

    fn looks(room: &Room) -> Heard {
        let open = room.ledger.open_sessions().map(|(id, s)| (id, s.state()));
        Heard::look(open, &room.now())
    }

    /// Goes on to each of these moments; says at which of them a tone is heard.
    fn tones(room: &mut Room, at: &[i64]) -> Vec<i64> {
        let mut before = looks(room);
        let mut heard = Vec::new();
        for &moment in at {
            room.at = moment;
            let after = looks(room);
            if after.rings(&before) {
                heard.push(moment);
            }
            before = after;
        }
        heard
    }

    #[test]
    fn each_due_moment_is_heard_once_and_once_more_three_minutes_later() {
        let mut room = Room::new();
        room.place("cheek.left", 5, 20);
        let seconds: Vec<i64> = (1..30 * 60).map(|s| s * SECOND).collect();
        assert_eq!(tones(&mut room, &seconds), [20 * MINUTE, 23 * MINUTE]);
    }

    #[test]
    fn two_clocks_in_one_second_are_one_tone_and_apart_they_are_two() {
        let mut room = Room::new();
        room.place("cheek.left", 5, 20);
        room.place("cheek.right", 5, 20);
        room.place("neck.centre", 2, 21);
        let seconds: Vec<i64> = (1..30 * 60).map(|s| s * SECOND).collect();
        assert_eq!(
            tones(&mut room, &seconds),
            [20 * MINUTE, 21 * MINUTE, 23 * MINUTE, 24 * MINUTE]
        );
    }

    #[test]
    fn after_a_sleep_over_ten_moments_there_is_one_tone() {
        let mut room = Room::new();
        for (n, region) in [
            "cheek.left",
            "cheek.right",
            "neck.centre",
            "forehead.centre",
            "scalp.centre",
        ]
        .into_iter()
        .enumerate()
        {
            room.place(region, 1, 10 + u32::try_from(n).unwrap());
        }
        assert_eq!(
            tones(&mut room, &[MINUTE, 60 * MINUTE, 61 * MINUTE]),
            [60 * MINUTE]
        );
    }

    #[test]
    fn a_stay_made_longer_is_heard_when_it_is_due_anew() {
        let mut room = Room::new();
        room.place("neck.centre", 2, 20);
        assert_eq!(tones(&mut room, &[MINUTE, 20 * MINUTE]), [20 * MINUTE]);
        let before = looks(&room);
        let region: Region = "neck.centre".parse().unwrap();
        room.go(C::Stay {
            session: room.session,
            region,
            length: Seconds::from_minutes(25),
        });
        assert!(!looks(&room).rings(&before), "longer is not due");
        assert_eq!(tones(&mut room, &[21 * MINUTE, 25 * MINUTE]), [25 * MINUTE]);
    }

    #[test]
    fn the_next_moment_is_the_next_due_one_or_three_minutes_after() {
        let mut room = Room::new();
        assert_eq!(looks(&room).next, None, "control: nothing runs");
        room.place("neck.centre", 2, 20);
        assert_eq!(looks(&room).next, Some(20 * MINUTE));
        room.at = 20 * MINUTE;
        assert_eq!(looks(&room).next, Some(3 * MINUTE));
        room.at = 23 * MINUTE;
        assert_eq!(looks(&room).next, None);
    }

    #[test]
    fn a_wall_clock_set_back_is_heard_once() {
        let mut room = Room::new();
        room.place("neck.centre", 2, 20);
        let before = looks(&room);
        room.set_back = 2 * MINUTE;
        let after = looks(&room);
        assert!(after.rings(&before));
        assert!(!after.rings(&after));
    }
}
