//! L5. The one door: a command becomes facts, or a refusal with its reason. Journal and folds are
//! kept together here, so nothing is folded that is not logged.

mod acts;
mod chair;
mod desk;
mod erase;
mod history;
mod settle;
mod sheet;
mod slot;

pub use history::{Packing, Read, Want, Whole};
pub use sheet::{FOLD, Index, SheetName};

pub use chair::{ChairCommand, Found};
pub use desk::DeskCommand;
pub use erase::{Burial, Repacked};
pub use settle::Choice;

use crate::base::id::{EntryId, Replica, Stream};
use crate::base::stamp::{Stamp, When};
use crate::base::{flat, paged};
use crate::event::Event;
use crate::journal::{Entry, Inserted, Journal, KeyId};
use crate::people::Person;
use crate::practice::Practice;
use crate::session::{OpenItem, Session};
use alloc::boxed::Box;
use alloc::vec::Vec;
use slot::{Held, Slot};

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
    /// Facts of these streams are packed and not read in yet: load them and ask again. Never said of
    /// an open session, which is always read in.
    LoadFirst(Vec<Stream>),
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
///
/// Of closed sessions, and of people who are not at hand, it may know only the summary; their facts
/// lie in packs until somebody wants them ([`Ledger::to_load`], [`Ledger::absorb`]). What is read in
/// is read in whole: there is no fold of a part of a stream.
#[derive(Clone, Debug, Default)]
pub struct Ledger {
    journal: Journal,
    sessions: flat::Map<EntryId, Slot<Session>>,
    people: flat::Map<EntryId, Slot<Person>>,
    practice: Practice,
    /// Person and session, for each session that has one.
    visits: paged::Map<(Stream, EntryId), ()>,
    open: flat::Set<EntryId>,
}

impl Ledger {
    /// Folds a journal.
    #[must_use]
    pub fn new(journal: Journal) -> Self {
        Self::resume(Index::default(), journal)
    }

    /// Folds a stream anew, if all of it is here.
    fn refold(&mut self, stream: Stream) {
        match stream {
            Stream::Session(id) => {
                let slot = self.sessions.or_default(id);
                if slot.held.whole() && self.journal.of(stream).next().is_some() {
                    slot.fold = Some(Box::new(Session::fold(self.journal.of(stream))));
                    self.sum_up(id);
                }
            }
            Stream::Person(id) => {
                let slot = self.people.or_default(id);
                if slot.held.whole() && self.journal.of(stream).next().is_some() {
                    let person = Person::fold(self.journal.of(stream));
                    slot.line = Some(person.summary());
                    slot.fold = Some(Box::new(person));
                }
            }
            Stream::Practice => self.practice = Practice::fold(self.journal.of(stream)),
        }
    }

    /// What follows from a session that was folded: its summary, and the two lists made of those.
    fn sum_up(&mut self, id: EntryId) {
        let Some(slot) = self.sessions.get_mut(&id) else {
            return;
        };
        if let Some(session) = &slot.fold {
            slot.line = Some(session.summary());
        }
        let (before, now) = (slot.listed, slot.line.as_ref().and_then(|line| line.person));
        slot.listed = now;
        if slot.fold.as_ref().is_some_and(|session| session.is_open()) {
            self.open.insert(id);
        } else {
            self.open.remove(&id);
        }
        if before != now {
            if let Some(person) = before {
                self.visits.remove(&(Stream::Person(person), id));
            }
            if let Some(person) = now {
                self.visits.insert((Stream::Person(person), id), ());
            }
        }
    }

    /// What is known of where a stream's facts are; nothing for the practice's own, which are always
    /// read in.
    fn held(&mut self, stream: Stream) -> Option<&mut Held> {
        match stream {
            Stream::Session(id) => Some(&mut self.sessions.or_default(id).held),
            Stream::Person(id) => Some(&mut self.people.or_default(id).held),
            Stream::Practice => None,
        }
    }

    /// Puts an entry into the journal. Says whether it may change other streams than its own: it
    /// destroyed a key, chose between two texts, or is a second text of its name.
    fn take_in(&mut self, entry: &Entry, loose: bool) -> bool {
        let rival = self.journal.insert(entry.clone()) == Inserted::Rival;
        if let Some(held) = self.held(entry.stream) {
            held.note(entry, loose);
        }
        rival || entry.erases().is_some() || entry.chooses().is_some()
    }

    /// Folds everything again that is read in.
    fn refold_all(&mut self) {
        let streams: Vec<Stream> = self.journal.streams().collect();
        for stream in streams {
            self.refold(stream);
        }
    }

    /// The journal, as far as it is read in.
    #[must_use]
    pub fn journal(&self) -> &Journal {
        &self.journal
    }

    /// One session; none if it is not known or not read in.
    #[must_use]
    pub fn session(&self, id: EntryId) -> Option<&Session> {
        self.sessions.get(&id)?.fold.as_deref()
    }

    /// One person; none if they are not known or not read in.
    #[must_use]
    pub fn person(&self, id: EntryId) -> Option<&Person> {
        self.people.get(&id)?.fold.as_deref()
    }

    /// The practice.
    #[must_use]
    pub fn practice(&self) -> &Practice {
        &self.practice
    }

    /// The sessions of one person that are read in, oldest first: all of them once nothing of
    /// [`Want::Person`] is left to load.
    pub fn sessions_of(
        &self,
        person: EntryId,
    ) -> impl DoubleEndedIterator<Item = (EntryId, &Session)> {
        let ids = self.visit_ids(person);
        ids.filter_map(|id| Some((id, self.session(id)?)))
    }

    /// Sessions that are not closed, oldest first. They are always read in. One whose facts were erased
    /// has no chair any more, unless something about needles was written down after it.
    pub fn open_sessions(&self) -> impl Iterator<Item = (EntryId, &Session)> {
        let ids = self.open.iter();
        ids.filter_map(|&id| Some((id, self.session(id)?)))
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
        let mut far = false;
        for entry in &facts.0 {
            streams.insert(entry.stream);
            far |= self.take_in(entry, true);
        }
        if far {
            self.refold_all();
            return;
        }
        for stream in streams {
            match stream {
                Stream::Session(id) => {
                    let slot = self.sessions.or_default(id);
                    if slot.held.whole() {
                        let session = slot.fold.get_or_insert_default();
                        session.add(facts.0.iter().filter(|e| e.stream == stream));
                        self.sum_up(id);
                    }
                }
                _ => self.refold(stream),
            }
        }
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
