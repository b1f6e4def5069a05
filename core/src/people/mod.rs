//! L4. A person as a fold of their facts: who they are, what they answered, agreed to, planned.

mod summary;

pub use summary::Summary;

use crate::base::date::Date;
use crate::base::flat;
use crate::base::id::EntryId;
use crate::base::stamp::Wall;
use crate::event::matter::gone;
use crate::event::person::{Booked, Called, Chose, Consented, Looked, Named, Overrode, Wrote};
use crate::event::{Event, Unread};
use crate::intake::{Answer, Answers};
use crate::journal::Entry;
use crate::measure::Measures;
use alloc::vec::Vec;

/// A booked visit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Booking {
    /// The fact.
    pub id: EntryId,
    /// When.
    pub at: Wall,
    /// Minutes.
    pub minutes: u16,
}

/// One person.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Person {
    /// Who they are; none if the naming fact is not here or was erased.
    pub named: Option<Named>,
    /// The latest answer to each question, with its day.
    pub answers: Answers,
    /// Overrides, in the order they were written.
    pub overrides: Vec<Overrode>,
    /// The latest consent.
    pub consent: Option<Consented>,
    /// What was looked at, day by day: the latest of each day.
    pub looks: flat::Map<Date, Looked>,
    /// What was planned, day by day: the latest of each day.
    pub plans: flat::Map<Date, Chose>,
    /// What was measured: the latest of each length.
    pub measures: Measures,
    /// Booked visits, soonest first.
    pub bookings: Vec<Booking>,
    /// What was written up, session by session: the latest of each.
    pub written: flat::Map<EntryId, Wrote>,
    /// What they called with, and when, in the order it was written down.
    pub calls: Vec<(EntryId, Wall, Called)>,
    /// The key was destroyed.
    pub erased: bool,
    /// Facts this build cannot read.
    pub unread: u32,
    /// Those of them that a newer build wrote.
    pub newer: u32,
    /// When the latest of these facts was entered.
    pub latest: Option<Wall>,
}

impl Person {
    /// Folds the entries of one person's stream. The latest word stands, in the order of ids; what
    /// was corrected never happened.
    #[must_use]
    pub fn fold<'a>(entries: impl Iterator<Item = &'a Entry>) -> Self {
        let read: Vec<(&Entry, Result<Event, Unread>)> =
            entries.map(|entry| (entry, Event::read(entry))).collect();
        let known = read
            .iter()
            .filter_map(|(entry, event)| Some((entry.id, event.as_ref().ok()?)));
        let gone = gone(known);
        let mut person = Self::default();
        for (entry, event) in read {
            person.latest = person.latest.max(Some(entry.at.wall));
            if !gone.contains(&entry.id) {
                person.fact(entry.id, entry.when.earliest(entry.at.wall), event);
            }
        }
        flat::sort_by_key(&mut person.bookings, |b| (b.at, b.id));
        person
    }

    fn fact(&mut self, id: EntryId, at: Wall, event: Result<Event, Unread>) {
        match event {
            Ok(Event::Named(e)) => self.named = Some(e),
            Ok(Event::Answered(e)) => {
                self.answers.insert(
                    e.question,
                    Answer {
                        reply: e.reply,
                        date: e.date,
                    },
                );
            }
            Ok(Event::Overrode(e)) => self.overrides.push(e),
            Ok(Event::Consented(e)) => self.consent = Some(e),
            Ok(Event::Looked(e)) => {
                self.looks.insert(e.date, e);
            }
            Ok(Event::Chose(e)) => {
                self.plans.insert(e.date, e);
            }
            Ok(Event::Called(e)) => self.calls.push((id, at, e)),
            Ok(Event::Measured(e)) => {
                for (id, um) in e.lengths {
                    self.measures.set(&id, um);
                }
            }
            Ok(Event::Booked(Booked { at, minutes })) => {
                self.bookings.push(Booking { id, at, minutes });
            }
            Ok(Event::Wrote(e)) => {
                self.written.insert(e.session, e);
            }
            Err(Unread::Erased) => self.erased = true,
            Err(why) => {
                self.unread = self.unread.saturating_add(1);
                if matches!(why, Unread::UnknownKind | Unread::NewerVersion) {
                    self.newer = self.newer.saturating_add(1);
                }
            }
            Ok(_) => {}
        }
    }

    /// A newer build wrote about them: who they are, what they answered and what is planned can only be
    /// read here, because what cannot be read may change it.
    #[must_use]
    pub fn read_only(&self) -> bool {
        self.newer > 0
    }

    /// The name they go by; nothing if unknown or erased.
    #[must_use]
    pub fn name(&self) -> &str {
        self.named.as_ref().map_or("", |n| n.name.as_str())
    }
}
