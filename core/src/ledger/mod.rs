//! L5. The one door: a command becomes facts, or a refusal with its reason. Journal and folds are
//! kept together here, so nothing is folded that is not logged.

mod acts;
mod chair;
mod desk;
mod erase;
mod settle;

pub use chair::{ChairCommand, Found};
pub use desk::DeskCommand;
pub use settle::Choice;

use crate::base::flat;
use crate::base::id::{EntryId, Replica, Stream};
use crate::base::stamp::{Stamp, When};
use crate::event::Event;
use crate::journal::{Entry, Journal, KeyId};
use crate::people::Person;
use crate::practice::Practice;
use crate::session::{OpenItem, Session};
use alloc::vec::Vec;

/// Something the practitioner does.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Command {
    /// In the chair.
    Chair(ChairCommand),
    /// At the desk.
    Desk(DeskCommand),
}

impl From<ChairCommand> for Command {
    fn from(command: ChairCommand) -> Self {
        Self::Chair(command)
    }
}

impl From<DeskCommand> for Command {
    fn from(command: DeskCommand) -> Self {
        Self::Desk(command)
    }
}

/// Why nothing was written. The app may refuse to plan, to correct and to close; a refusal never
/// stands between the practitioner and a physical fact.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Refusal {
    /// The session named is not known here. What happened can be recorded in a new one.
    NoSuchSession,
    /// There is no act that could be taken back.
    NothingToUndo,
    /// A number that cannot be: 0 where something happened, or more than 500.
    OutOfRange,
    /// A field is beyond its bounds: these words name it.
    Unwritable(&'static str),
    /// No needle, cream or fact of that name.
    NoSuchThing,
    /// A session of theirs is open with needles in: nobody is erased with needles in the skin.
    NeedlesIn(EntryId),
    /// The session does not add up yet.
    StillOpen(Vec<OpenItem>),
    /// The session or the person holds facts from a newer build. A session can be added to here, but
    /// corrected and closed only there; of a person only what was seen and done is written down.
    NewerFacts,
}

/// Facts that were decided and are to be appended and stored. Dropping them loses them.
#[must_use = "facts that are not appended are lost"]
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Facts(Vec<Entry>);

impl Facts {
    /// The entries, in order.
    #[must_use]
    pub fn entries(&self) -> &[Entry] {
        &self.0
    }

    /// Adds facts of another stream to the same act: named after these, and taken back with them.
    fn follow(&mut self, more: Self) {
        let Some(first) = self.0.first().map(|entry| entry.act.unwrap_or(entry.id)) else {
            return;
        };
        for mut entry in more.0 {
            if let Some(last) = self.0.last() {
                entry.id = last.id;
                let next = last.id.counter.saturating_add(1);
                entry.id.counter = next.min(crate::base::id::COUNTER_MAX);
            }
            entry.act = Some(first);
            self.0.push(entry);
        }
    }
}

/// Who writes, and when: the desk's stamp for one act.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Hand {
    /// This run.
    pub replica: Replica,
    /// Now.
    pub stamp: Stamp,
    /// When it happened, if not now.
    pub when: When,
}

/// Journal and folds, in one owner.
#[derive(Clone, Debug, Default)]
pub struct Ledger {
    journal: Journal,
    sessions: flat::Map<EntryId, Session>,
    people: flat::Map<EntryId, Person>,
    practice: Practice,
}

impl Ledger {
    /// Folds a journal.
    #[must_use]
    pub fn new(journal: Journal) -> Self {
        let mut ledger = Self {
            journal,
            ..Self::default()
        };
        let streams: Vec<Stream> = ledger.journal.streams().collect();
        ledger.refold(streams.into_iter());
        ledger
    }

    fn refold(&mut self, streams: impl Iterator<Item = Stream>) {
        for stream in streams {
            match stream {
                Stream::Session(id) => {
                    self.sessions
                        .insert(id, Session::fold(self.journal.of(stream)));
                }
                Stream::Person(id) => {
                    self.people
                        .insert(id, Person::fold(self.journal.of(stream)));
                }
                Stream::Practice => self.practice = Practice::fold(self.journal.of(stream)),
            }
        }
    }

    /// The journal.
    #[must_use]
    pub fn journal(&self) -> &Journal {
        &self.journal
    }

    /// One session.
    #[must_use]
    pub fn session(&self, id: EntryId) -> Option<&Session> {
        self.sessions.get(&id)
    }

    /// Every session, oldest first.
    pub fn sessions(&self) -> impl DoubleEndedIterator<Item = (EntryId, &Session)> {
        self.sessions.iter().map(|(&id, session)| (id, session))
    }

    /// One person.
    #[must_use]
    pub fn person(&self, id: EntryId) -> Option<&Person> {
        self.people.get(&id)
    }

    /// Everybody, in the order they were first written down.
    pub fn people(&self) -> impl Iterator<Item = (EntryId, &Person)> {
        self.people.iter().map(|(&id, person)| (id, person))
    }

    /// The practice.
    #[must_use]
    pub fn practice(&self) -> &Practice {
        &self.practice
    }

    /// The sessions of one person, oldest first.
    pub fn sessions_of(&self, person: EntryId) -> impl Iterator<Item = (EntryId, &Session)> {
        self.sessions()
            .filter(move |(_, session)| session.state().person == Some(person))
    }

    /// Sessions that are not closed, oldest first. One whose facts were erased has no chair any more,
    /// unless something about needles was written down after it.
    pub fn open_sessions(&self) -> impl Iterator<Item = (EntryId, &Session)> {
        self.sessions().filter(|(_, session)| {
            let state = session.state();
            state.closed.is_none() && !(state.erased && state.physical == 0)
        })
    }

    /// Turns a command into facts.
    ///
    /// # Errors
    /// A [`Refusal`]; nothing was written.
    pub fn decide(&self, command: &Command, hand: &Hand) -> Result<Facts, Refusal> {
        match command {
            Command::Chair(command) => self.decide_chair(command, hand),
            Command::Desk(command) => self.decide_desk(command, hand),
        }
    }

    /// Appends decided facts and folds what they touch: one session, one person, or the practice.
    /// A destroyed key touches everything that was sealed under it, and a choice between two texts the
    /// stream of either.
    pub fn append(&mut self, facts: &Facts) {
        let mut streams = flat::Set::new();
        for entry in &facts.0 {
            streams.insert(entry.stream);
            let _ = self.journal.insert(entry.clone());
        }
        let reaches_far = |e: &Entry| e.erases().is_some() || e.chooses().is_some();
        if facts.0.iter().any(reaches_far) {
            let all: Vec<Stream> = self.journal.streams().collect();
            self.refold(all.into_iter());
            return;
        }
        for stream in streams {
            if let Stream::Session(id) = stream {
                let entries = facts.0.iter().filter(|e| e.stream == stream);
                self.sessions.or_default(id).add(entries);
            } else {
                self.refold(core::iter::once(stream));
            }
        }
    }

    /// Takes in another journal; every stream it touches is folded again. Returns how many entries
    /// were new here.
    pub fn merge(&mut self, other: &Journal) -> usize {
        let new = self.journal.merge(other);
        let streams: Vec<Stream> = self.journal.streams().collect();
        self.refold(streams.into_iter());
        new
    }

    /// The envelope and name for the facts of one act, in order.
    fn write(
        &self,
        stream: Option<Stream>,
        key: KeyId,
        events: &[Event],
        hand: &Hand,
    ) -> Result<Facts, Refusal> {
        for event in events {
            event.within_bounds().map_err(Refusal::Unwritable)?;
        }
        let first = self.journal.next_id(hand.replica);
        let mut id = first;
        let mut entries = Vec::new();
        for event in events {
            entries.push(Entry {
                id,
                at: hand.stamp,
                when: hand.when,
                stream: stream.unwrap_or(Stream::Session(first)),
                key,
                act: (id != first).then_some(first),
                kind: event.kind().into(),
                v: 1,
                body: event.body(),
            });
            id.counter = id
                .counter
                .saturating_add(1)
                .min(crate::base::id::COUNTER_MAX);
        }
        Ok(Facts(entries))
    }
}
