//! Today: who is in a chair, whose visit is due, and what is not finished. Answered from the folds
//! alone, so the first page does not unpack what is known of points and rules.

use crate::base::date::Date;
use crate::base::flat;
use crate::base::id::EntryId;
use crate::base::stamp::Wall;
use crate::event::person::Consented;
use crate::ledger::Ledger;
use crate::session::{State, Summary};
use crate::view::visit::day_of;
use alloc::string::String;
use alloc::vec::Vec;

/// A chair that is open.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OpenChair {
    /// The session.
    pub session: EntryId,
    /// Whose; empty if nobody was named.
    pub name: String,
    /// Needles in now, with those taken out in a hurry and not yet counted.
    pub inside: u32,
    /// When it was opened.
    pub at: Wall,
    /// A rehearsal.
    pub rehearsal: bool,
}

/// The next thing to do for somebody.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Todo {
    /// Nothing was asked today.
    Ask,
    /// Nothing was looked at today.
    Look,
    /// Asked and looked at.
    Plan,
    /// In the chair.
    Chair,
    /// Counted and closed, not written up.
    Write,
    /// Written up, and no further visit is booked.
    Next,
    /// Nothing is left.
    Nothing,
}

/// Somebody who is booked today, or with whom something was begun today.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Due {
    /// Who.
    pub person: EntryId,
    /// Their name.
    pub name: String,
    /// The booked time, if there is one.
    pub at: Option<Wall>,
    /// Never treated here before today.
    pub first: bool,
    /// What comes next.
    pub todo: Todo,
    /// Today's session.
    pub session: Option<EntryId>,
}

/// A session that is closed and not written up.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unwritten {
    /// The session.
    pub session: EntryId,
    /// Whose; empty if nobody was named.
    pub name: String,
    /// When it was opened.
    pub at: Wall,
}

fn name_of(ledger: &Ledger, person: Option<EntryId>) -> String {
    let person = person.and_then(|id| ledger.who(id));
    person.map_or_else(String::new, |p| p.name.clone())
}

fn name(ledger: &Ledger, state: &State) -> String {
    name_of(ledger, state.person)
}

/// Every open chair, oldest first.
#[must_use]
pub fn open_chairs(ledger: &Ledger) -> Vec<OpenChair> {
    let line = |(session, s): (EntryId, &crate::session::Session)| {
        let state = s.state();
        OpenChair {
            session,
            name: name(ledger, state),
            inside: state.sum.in_now.saturating_add(state.sum.out_uncounted),
            at: state.opened_at.unwrap_or_default(),
            rehearsal: state.rehearsal,
        }
    };
    ledger.open_sessions().map(line).collect()
}

/// Whose visits are due on a day, by their booked times; those that came without one are last.
#[must_use]
pub fn due(ledger: &Ledger, today: Date, zone: i16) -> Vec<Due> {
    let mut all = Vec::new();
    // Whole days since 1970, without making a date of each: there are as many as there were visits.
    let ahead = i64::from(zone).saturating_mul(60_000);
    let day = |at: Wall| at.0.saturating_add(ahead).div_euclid(86_400_000);
    let now = i64::from(today.days());
    for (person, known) in ledger.everybody().filter(|(_, p)| !p.name.is_empty()) {
        let at = known.bookings.iter().copied();
        let at = at.into_iter().find(|at| day(*at) == now);
        let asked = known.asked.contains(&today);
        let (mut first, mut session) = (true, None);
        for (id, visit) in ledger.visits_of(person) {
            let Some(opened) = visit.opened_at.filter(|_| !visit.rehearsal) else {
                continue;
            };
            if day(opened) == now {
                session = Some((id, visit));
            } else {
                first = false;
            }
        }
        if at.is_none() && !asked && session.is_none() {
            continue;
        }
        let written = |id| known.written.contains(&id);
        let todo = match session {
            Some((_, visit)) if visit.open => Todo::Chair,
            Some((id, _)) if !written(id) => Todo::Write,
            Some(_) if known.bookings.iter().any(|at| day(*at) > now) => Todo::Nothing,
            Some(_) => Todo::Next,
            None if !asked => Todo::Ask,
            None if !known.looked.contains(&today) => Todo::Look,
            None => Todo::Plan,
        };
        all.push(Due {
            person,
            name: known.name.clone(),
            at,
            first,
            todo,
            session: session.map(|(id, _)| id),
        });
    }
    flat::sort_by_key(&mut all, |due| due.at.unwrap_or(Wall(i64::MAX)));
    all
}

/// Closed sessions of other days that nobody wrote up, and those of any day that belong to nobody.
#[must_use]
pub fn unwritten(ledger: &Ledger, today: Date, zone: i16) -> Vec<Unwritten> {
    let waits = |(session, visit): (EntryId, &Summary)| {
        let at = visit.opened_at?;
        let done = match visit.person {
            Some(person) => {
                let written = &ledger.who(person)?.written;
                written.contains(&session) || day_of(at, zone) == today
            }
            None => false,
        };
        (visit.closed && !visit.rehearsal && !done).then(|| Unwritten {
            session,
            name: name_of(ledger, visit.person),
            at,
        })
    };
    ledger.visits().filter_map(waits).collect()
}

/// The consent that was written down on the day of a session, if there is any.
#[must_use]
pub fn consent_of(ledger: &Ledger, session: EntryId) -> Option<&Consented> {
    let state = ledger.session(session)?.state();
    let day = state.opened_at.map(|at| day_of(at, state.zone));
    let consent = ledger.person(state.person?)?.consent.as_ref()?;
    (Some(consent.date) == day && consent.read_back).then_some(consent)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::id::Replica;
    use crate::base::stamp::{Stamp, When};
    use crate::event::person::{Booked, Named, Wrote};
    use crate::event::session::Mode;
    use crate::ledger::{ChairCommand, Command, DeskCommand, Hand};

    fn act(ledger: &mut Ledger, at: i64, command: impl Into<Command>) -> EntryId {
        let stamp = Stamp {
            wall: Wall(at),
            ..Stamp::default()
        };
        let hand = Hand {
            replica: Replica(1),
            stamp,
            when: When::Now,
        };
        let facts = ledger.decide(&command.into(), &hand).unwrap();
        ledger.append(&facts);
        facts.entries()[0].id
    }

    #[test]
    fn a_visit_goes_from_due_to_chair_to_write_to_done() {
        let mut ledger = Ledger::default();
        let today: Date = "2027-01-15".parse().unwrap();
        let noon = 1_800_000_000_000 + 4 * 3_600_000; // 2027-01-15T12:00Z
        let named = Named {
            name: "Wren".into(),
            birth_date: None,
            contact: None,
            came_for: None,
        };
        let person = act(&mut ledger, noon, DeskCommand::Meet(named));
        assert!(due(&ledger, today, 0).is_empty(), "control: nobody is due");
        let booked = |at| Booked {
            at: Wall(at),
            minutes: 60,
        };
        act(&mut ledger, noon, DeskCommand::Book(person, booked(noon)));
        assert_eq!(due(&ledger, today, 0)[0].todo, Todo::Ask);
        let session = act(
            &mut ledger,
            noon,
            ChairCommand::Open {
                mode: Mode::Planned,
                person: Some(person),
                plan: Vec::new(),
                rehearsal: false,
                procedure: None,
            },
        );
        let seen = &due(&ledger, today, 0)[0];
        assert_eq!((seen.todo, seen.first), (Todo::Chair, true));
        assert_eq!(open_chairs(&ledger)[0].name, "Wren");
        assert!(consent_of(&ledger, session).is_none());
        let close = ChairCommand::Close {
            session,
            words: None,
        };
        act(&mut ledger, noon, close);
        assert_eq!(due(&ledger, today, 0)[0].todo, Todo::Write);
        let tomorrow: Date = "2027-01-16".parse().unwrap();
        assert_eq!(unwritten(&ledger, tomorrow, 0).len(), 1);
        assert!(
            unwritten(&ledger, today, 0).is_empty(),
            "it is due, not late"
        );
        let wrote = Wrote {
            session,
            marks: String::new(),
            felt: String::new(),
            otherwise: String::new(),
            told: String::new(),
            done: true,
        };
        act(&mut ledger, noon, DeskCommand::Write(person, wrote));
        assert_eq!(due(&ledger, today, 0)[0].todo, Todo::Next);
        let week = noon + 7 * 86_400_000;
        act(&mut ledger, noon, DeskCommand::Book(person, booked(week)));
        assert_eq!(due(&ledger, today, 0)[0].todo, Todo::Nothing);
        assert!(unwritten(&ledger, tomorrow, 0).is_empty());
    }
}
