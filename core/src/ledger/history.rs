//! What is packed away: which packs to read in for what, what is known without them, and what is to
//! be packed next. Nothing here reads or writes; whoever keeps the bytes asks and gives.

use super::sheet::{self, Index, Line, Record, SheetName};
use super::slot::{Held, Slot, Summed};
use super::{Ledger, Refusal};
use crate::base::flat;
use crate::base::id::{EntryId, Stream};
use crate::base::stamp::Wall;
use crate::journal::pack::{PackName, Packed};
use crate::journal::{Entry, Journal, KeyId};
use crate::people::{self, Person};
use crate::session::{self, Session};
use alloc::string::String;
use alloc::vec::Vec;
use core::ops::Deref;

/// What somebody is about to look at or to do.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Want {
    /// The first page: open sessions and whoever is in them, and streams whose latest facts are not
    /// packed.
    Start,
    /// A person, their sessions, and as many of the latest closed sessions as teach a speed.
    Person(EntryId, u16),
    /// A session, whoever it belongs to, and what was found elsewhere and may be from it.
    Session(EntryId, u16),
    /// These streams.
    Streams(Vec<Stream>),
    /// Everything.
    Everything,
}

/// A ledger of which everything is read in, or everything of one person: for tables, traces and copies.
#[derive(Clone, Copy, Debug)]
pub struct Whole<'a> {
    ledger: &'a Ledger,
    of: Option<EntryId>,
}

impl Deref for Whole<'_> {
    type Target = Ledger;
    fn deref(&self) -> &Ledger {
        self.ledger
    }
}

impl<'a> Whole<'a> {
    /// Every session, or every one of the person, oldest first.
    pub fn sessions(self) -> impl DoubleEndedIterator<Item = (EntryId, &'a Session)> {
        let theirs =
            move |session: &Session| self.of.is_none() || session.state().person == self.of;
        let all = self.ledger.sessions.iter();
        let all = all.filter_map(|(&id, slot)| Some((id, slot.fold.as_deref()?)));
        all.filter(move |(_, session)| theirs(session))
    }

    /// Everybody, or the person alone, in the order they were first written down.
    pub fn people(self) -> impl Iterator<Item = (EntryId, &'a Person)> {
        let all = self.ledger.people.iter();
        let all = all.filter_map(|(&id, slot)| Some((id, slot.fold.as_deref()?)));
        all.filter(move |(id, _)| self.of.is_none_or(|of| of == *id))
    }
}

/// A pack as it was read: its entries, or its text if it is flawed.
pub type Read = (PackName, Result<Vec<Entry>, String>);

/// Facts to be packed, and the single rows that the pack replaces once it is kept.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Packing {
    /// The pack.
    pub packed: Packed,
    /// Entries whose rows may go.
    pub rows: Vec<EntryId>,
}

fn names(stream: Stream, held: &Held) -> impl Iterator<Item = PackName> {
    let left = held.packs.iter().filter(|(_, given)| !**given);
    left.map(move |(&(last, cover), _)| PackName {
        stream,
        last,
        cover,
    })
}

/// Tells a journal of what is kept elsewhere of a stream. Whether some of it was erased.
fn told(journal: &mut Journal, stream: Stream, held: &Held) -> bool {
    let last = held.packs.last_key_value().map_or(0, |(name, _)| name.0);
    journal.know_of(last, held.latest);
    let mut keys = held.keys.iter().map(|id| KeyId::Person(*id));
    keys.any(|key| journal.destroyed(key)) || journal.buried(stream)
}

fn unread<F: Summed>((_, slot): &(&EntryId, &Slot<F>)) -> bool {
    slot.line.is_none() && !slot.held.whole()
}

impl Ledger {
    /// A ledger of an index, and of the journal of whatever is not packed.
    #[must_use]
    pub fn resume(index: Index, tail: Journal) -> Self {
        let mut ledger = Self {
            people: index.people,
            sessions: index.sessions,
            ..Self::default()
        };
        let mut journal = tail;
        // What is erased is not believed, unless it says so itself.
        for (id, slot) in ledger.people.iter_mut() {
            let doubted = told(&mut journal, Stream::Person(*id), &slot.held);
            slot.line.take_if(|line| doubted && !line.erased);
        }
        let mut visits = Vec::with_capacity(ledger.sessions.len());
        for (id, slot) in ledger.sessions.iter_mut() {
            let doubted = told(&mut journal, Stream::Session(*id), &slot.held);
            slot.line.take_if(|line| doubted && !line.erased);
            slot.listed = slot.line.as_ref().and_then(|line| line.person);
            visits.extend(slot.listed.map(|person| (Stream::Person(person), *id)));
        }
        // Filled in order: in any other the half of a page is moved for each.
        for at in flat::order(visits.len(), &|a, b| visits.get(a) > visits.get(b)) {
            if let Some(visit) = visits.get(at) {
                ledger.visits.insert(*visit, ());
            }
        }
        let streams: Vec<Stream> = journal.streams().collect();
        for entry in journal.iter() {
            if let Some(held) = ledger.held(entry.stream) {
                held.note(entry, true);
            }
        }
        ledger.journal = journal;
        for stream in streams {
            ledger.refold(stream);
        }
        ledger
    }

    pub(super) fn held_of(&self, stream: Stream) -> Option<&Held> {
        match stream {
            Stream::Session(id) => self.sessions.get(&id).map(|slot| &slot.held),
            Stream::Person(id) => self.people.get(&id).map(|slot| &slot.held),
            Stream::Practice => None,
        }
    }

    /// Whether a stream is known here and not read in whole.
    pub(super) fn lacks(&self, stream: Stream) -> bool {
        self.held_of(stream).is_some_and(|held| !held.whole())
    }

    /// The streams that have to be read in whole, oldest first. Some may be already.
    fn streams_for(&self, want: &Want) -> flat::Set<Stream> {
        let mut streams = flat::Set::new();
        match want {
            Want::Start => {
                for (&id, slot) in &self.people {
                    if !slot.held.loose.is_empty() {
                        streams.insert(Stream::Person(id));
                    }
                }
                for (&id, slot) in &self.sessions {
                    let open = slot.line.as_ref().is_some_and(|line| line.open);
                    if open || !slot.held.loose.is_empty() {
                        streams.insert(Stream::Session(id));
                    }
                    if let (true, Some(person)) = (open, slot.listed) {
                        streams.insert(Stream::Person(person));
                    }
                }
            }
            Want::Person(person, latest) => {
                self.add_person(*person, &mut streams);
                self.add_latest(*latest, &mut streams);
            }
            Want::Session(session, latest) => {
                streams.insert(Stream::Session(*session));
                self.add_fits(&[*session], &mut streams);
                let line = self.visit(*session);
                if let Some(person) = line.and_then(|line| line.person) {
                    self.add_person(person, &mut streams);
                }
                self.add_latest(*latest, &mut streams);
            }
            Want::Streams(all) => streams.extend(all.iter().copied()),
            Want::Everything => {
                streams.extend(self.people.keys().map(|id| Stream::Person(*id)));
                streams.extend(self.sessions.keys().map(|id| Stream::Session(*id)));
            }
        }
        streams
    }

    fn add_person(&self, person: EntryId, streams: &mut flat::Set<Stream>) {
        let mut sessions: Vec<EntryId> = self.visit_ids(person).collect();
        // Where the summary is still to be worked out, the key tells whose it is.
        let unknown = self.sessions.iter().filter(unread);
        let theirs = unknown.filter(|(_, slot)| slot.held.keys.contains(&person));
        sessions.extend(theirs.map(|(id, _)| *id));
        self.add_fits(&sessions, streams);
        streams.insert(Stream::Person(person));
        streams.extend(sessions.into_iter().map(Stream::Session));
    }

    /// Sessions in which something was found that may be from one of these.
    fn add_fits(&self, sessions: &[EntryId], streams: &mut flat::Set<Stream>) {
        for (id, line) in self.visits() {
            if line.fits.iter().any(|other| sessions.contains(other)) {
                streams.insert(Stream::Session(id));
            }
        }
    }

    /// So many of the latest closed sessions, and any later ones that may be closed.
    fn add_latest(&self, latest: u16, streams: &mut flat::Set<Stream>) {
        let mut left = latest;
        for (&id, slot) in self.sessions.iter().rev() {
            if left == 0 {
                return;
            }
            match &slot.line {
                Some(line) if line.closed && !line.rehearsal => left = left.saturating_sub(1),
                Some(_) => continue,
                None => {}
            }
            streams.insert(Stream::Session(id));
        }
    }

    /// The packs that are still to be read in for something, oldest stream first; none if nothing is
    /// missing. Ask again after [`Ledger::absorb`]: what was read may want more.
    #[must_use]
    pub fn to_load(&self, want: &Want) -> Vec<PackName> {
        let mut packs = Vec::new();
        for &stream in &self.streams_for(want) {
            if let Some(held) = self.held_of(stream) {
                packs.extend(names(stream, held));
            }
        }
        packs
    }

    /// Whether everything is read in for something.
    #[must_use]
    pub fn has(&self, want: &Want) -> bool {
        self.lacking(want).is_empty()
    }

    /// The streams that are still to be read in for something.
    #[must_use]
    pub fn lacking(&self, want: &Want) -> Vec<Stream> {
        let streams = self.streams_for(want);
        let streams = streams.iter().copied();
        streams.filter(|stream| self.lacks(*stream)).collect()
    }

    /// Every stream, in groups that belong together: the practice; each person with their sessions; each
    /// session that is nobody's.
    pub(crate) fn groups_of_all(&self) -> Vec<Vec<Stream>> {
        let mut groups = Vec::from([Vec::from([Stream::Practice])]);
        groups.extend(self.people.keys().map(|person| {
            let visits = self.visit_ids(*person).map(Stream::Session);
            core::iter::once(Stream::Person(*person))
                .chain(visits)
                .collect()
        }));
        let known = |person: &EntryId| self.people.get(person).is_some();
        let nobodys = self
            .sessions
            .iter()
            .filter(|(_, slot)| !slot.listed.as_ref().is_some_and(known));
        groups.extend(nobodys.map(|(id, _)| Vec::from([Stream::Session(*id)])));
        groups
    }

    /// The packs of a stream that are not read in.
    pub(crate) fn packs_left(&self, stream: Stream) -> impl Iterator<Item = PackName> {
        let held = self.held_of(stream).into_iter();
        held.flat_map(move |held| names(stream, held))
    }

    /// A person's streams: themselves and their sessions.
    pub(crate) fn streams_of(&self, person: EntryId) -> Vec<Stream> {
        let streams = self.streams_for(&Want::Person(person, 0));
        streams.iter().copied().collect()
    }

    /// The sessions that are read in, oldest first. Not all there are: see [`Whole::sessions`].
    pub(crate) fn sessions_here(&self) -> impl Iterator<Item = (EntryId, &Session)> {
        let all = self.sessions.iter();
        all.filter_map(|(&id, slot)| Some((id, slot.fold.as_deref()?)))
    }

    /// The people who are read in, in the order they were first written down. Not everybody: see
    /// [`Whole::people`].
    pub(crate) fn people_here(&self) -> impl Iterator<Item = (EntryId, &Person)> {
        let all = self.people.iter();
        all.filter_map(|(&id, slot)| Some((id, slot.fold.as_deref()?)))
    }

    /// Takes in packs that were read. A stream counts as read in once all its packs were given; a
    /// flawed one is kept as it stands, as a line that cannot be read.
    pub fn absorb(&mut self, packs: Vec<Read>) {
        let (mut streams, mut far) = (flat::Set::new(), false);
        for (name, read) in packs {
            streams.insert(name.stream);
            if let (Err(text), Some(held)) = (&read, self.held(name.stream)) {
                held.flawed.insert((name.last, name.cover), text.clone());
            }
            match read {
                Ok(entries) => {
                    for entry in entries {
                        far |= self.take_in(&entry, false);
                    }
                }
                Err(text) => self.journal.keep_unreadable(text),
            }
            if let Some(held) = self.held(name.stream) {
                held.packs.insert((name.last, name.cover), true);
            }
        }
        if far {
            self.refold_all();
            return;
        }
        for &stream in &streams {
            self.refold(stream);
        }
    }

    /// Whether a pack of a person, or of a session of theirs, was read and is missing or flawed.
    #[must_use]
    pub fn flawed(&self, person: EntryId) -> bool {
        let streams = self.streams_of(person);
        let mut held = streams.iter().filter_map(|stream| self.held_of(*stream));
        held.any(|held| !held.flawed.is_empty())
    }

    /// The whole, if all of it is read in.
    #[must_use]
    pub fn whole(&self) -> Option<Whole<'_>> {
        let sessions = self.sessions.values().all(|slot| slot.held.whole());
        let whole = sessions && self.people.values().all(|slot| slot.held.whole());
        whole.then_some(Whole {
            ledger: self,
            of: None,
        })
    }

    /// The whole of one person, if all of it is read in.
    #[must_use]
    pub fn whole_of(&self, person: EntryId) -> Option<Whole<'_>> {
        self.has(&Want::Person(person, 0)).then_some(Whole {
            ledger: self,
            of: Some(person),
        })
    }

    /// What is known of a session that need not be read in; none while it is being worked out.
    #[must_use]
    pub fn visit(&self, session: EntryId) -> Option<&session::Summary> {
        self.sessions.get(&session)?.line.as_ref()
    }

    /// Every session in few words, oldest first.
    pub fn visits(&self) -> impl DoubleEndedIterator<Item = (EntryId, &session::Summary)> {
        let all = self.sessions.iter();
        all.filter_map(|(&id, slot)| Some((id, slot.line.as_ref()?)))
    }

    pub(super) fn visit_ids(&self, person: EntryId) -> impl DoubleEndedIterator<Item = EntryId> {
        let person = Stream::Person(person);
        let ends = [EntryId::LEAST, EntryId::GREATEST].map(|id| (person, id));
        let [from, to] = &ends;
        self.visits.between(from, to).map(|((_, id), ())| *id)
    }

    /// The sessions of one person in few words, oldest first.
    pub fn visits_of(
        &self,
        person: EntryId,
    ) -> impl DoubleEndedIterator<Item = (EntryId, &session::Summary)> {
        let ids = self.visit_ids(person);
        ids.filter_map(|id| Some((id, self.visit(id)?)))
    }

    /// What is known of a person who need not be read in; none while it is being worked out.
    #[must_use]
    pub fn who(&self, person: EntryId) -> Option<&people::Summary> {
        self.people.get(&person)?.line.as_ref()
    }

    /// Everybody in few words, in the order they were first written down.
    pub fn everybody(&self) -> impl Iterator<Item = (EntryId, &people::Summary)> {
        let all = self.people.iter();
        all.filter_map(|(&id, slot)| Some((id, slot.line.as_ref()?)))
    }

    /// The latest closed sessions that were no rehearsals, latest first, up to `most`.
    ///
    /// # Errors
    /// The streams to be read in first.
    pub fn latest_closed(&self, most: u16) -> Result<Vec<&Session>, Refusal> {
        let mut streams = flat::Set::new();
        self.add_latest(most, &mut streams);
        let lacking = streams.iter().copied().filter(|s| self.lacks(*s));
        let lacking: Vec<Stream> = lacking.collect();
        if !lacking.is_empty() {
            return Err(Refusal::LoadFirst(lacking));
        }
        let ids = streams.iter().rev().filter_map(|stream| match stream {
            Stream::Session(id) => self.session(*id),
            _ => None,
        });
        Ok(ids.collect())
    }

    /// How many packed streams are not summed up yet. While there are any, lists may lack something
    /// and have to say so.
    #[must_use]
    pub fn unread(&self) -> usize {
        let sessions = self.sessions.iter().filter(unread).count();
        sessions.saturating_add(self.people.iter().filter(unread).count())
    }

    /// The packs to be read for the next `most` summaries, the latest sessions first and their people
    /// with them.
    #[must_use]
    pub fn to_learn(&self, most: usize) -> Vec<PackName> {
        let sessions = self.sessions.iter().rev().filter(unread);
        let sessions = sessions.map(|(id, slot)| (Stream::Session(*id), &slot.held));
        let people = self.people.iter().filter(unread);
        let people = people.map(|(id, slot)| (Stream::Person(*id), &slot.held));
        // People first: every list begins with a name.
        let some = people.chain(sessions).take(most);
        some.flat_map(|(stream, held)| names(stream, held))
            .collect()
    }

    /// Sums streams up from their packs, all of each, without keeping what was read. Gives back the
    /// streams that were, to be written on a sheet.
    pub fn learn(&mut self, packs: Vec<Read>) -> Vec<Stream> {
        let mut groups: flat::Map<Stream, Vec<Read>> = flat::Map::new();
        for pack in packs {
            groups.or_default(pack.0.stream).push(pack);
        }
        let mut done = Vec::new();
        for (stream, packs) in groups {
            let Some(held) = self.held(stream) else {
                continue;
            };
            let given = |name: &(u64, u64)| packs.iter().any(|(p, _)| (p.last, p.cover) == *name);
            if !held.packs.keys().all(given) {
                continue;
            }
            done.push(stream);
            // What else there is of it, and what is flawed, is kept.
            if !held.loose.is_empty() || packs.iter().any(|(_, read)| read.is_err()) {
                self.absorb(packs);
                continue;
            }
            let mut journal = self.journal.bare();
            for entry in packs
                .into_iter()
                .filter_map(|(_, read)| read.ok())
                .flatten()
            {
                if let Some(held) = self.held(stream) {
                    held.note(&entry, false);
                }
                let _ = journal.insert(entry);
            }
            self.journal.know_of(0, journal.latest());
            match stream {
                Stream::Session(id) => {
                    let line = Session::fold(journal.of(stream)).summary();
                    self.sessions.or_default(id).line = Some(line);
                    self.sum_up(id);
                }
                Stream::Person(id) => {
                    let line = Person::fold(journal.of(stream)).summary();
                    self.people.or_default(id).line = Some(line);
                }
                Stream::Practice => {}
            }
        }
        done
    }

    /// Sets the directory right by the names of all packs that are kept. What it had otherwise is to
    /// be worked out again. Gives back the streams that changed.
    pub fn audit(&mut self, kept: Vec<PackName>) -> Vec<Stream> {
        let order = flat::order(kept.len(), &|a, b| kept.get(a) > kept.get(b));
        let order = order.into_iter().filter_map(|at| kept.get(at).copied());
        let mut kept: Vec<PackName> = order.collect();
        kept.dedup();
        let mut changed = Vec::new();
        for stream in self.streams_for(&Want::Everything) {
            let there = kept.binary_search_by(|name| name.stream.cmp(&stream));
            if there.is_err() && self.audit_one(stream, &[]) {
                changed.push(stream);
            }
        }
        for packs in kept.chunk_by(|a, b| a.stream == b.stream) {
            for name in packs {
                self.journal.know_of(name.last, None);
            }
            let stream = packs.iter().map(|name| name.stream).next();
            changed.extend(stream.filter(|stream| self.audit_one(*stream, packs)));
        }
        changed
    }

    /// The same for one stream, whose packs are given in order. Whether it changed.
    fn audit_one(&mut self, stream: Stream, kept: &[PackName]) -> bool {
        let Some(held) = self.held(stream) else {
            return false;
        };
        let packs = kept.iter().map(|name| (name.last, name.cover));
        if held.packs.keys().copied().eq(packs.clone()) {
            return false;
        }
        let before = held.packs.len();
        // What was read in stays, whatever became of its pack.
        held.packs
            .retain(|name, given| *given || packs.clone().any(|kept| kept == *name));
        let left = held.packs.len();
        for name in packs {
            held.packs.or_insert(name, false);
        }
        let differs = (before, left) != (left, held.packs.len());
        if differs {
            self.forget(stream);
        }
        differs
    }

    /// Lets go of what a stream came to; it is folded again if all of it is here.
    fn forget(&mut self, stream: Stream) {
        match stream {
            Stream::Session(id) => {
                let slot = self.sessions.or_default(id);
                (slot.fold, slot.line) = (None, None);
                if slot.held.packs.is_empty() && slot.held.loose.is_empty() {
                    self.sum_up(id);
                    self.sessions.remove(&id);
                    return;
                }
                self.sum_up(id);
            }
            Stream::Person(id) => {
                let slot = self.people.or_default(id);
                (slot.fold, slot.line) = (None, None);
                if slot.held.packs.is_empty() && slot.held.loose.is_empty() {
                    self.people.remove(&id);
                    return;
                }
            }
            Stream::Practice => return,
        }
        self.refold(stream);
    }

    /// Lets go of every summary of what is not read in, to be worked out again in slices.
    pub fn doubt(&mut self) {
        for stream in self.streams_for(&Want::Everything).into_iter() {
            if self.lacks(stream) {
                self.forget(stream);
            }
        }
    }

    /// What of a stream is to be packed: nothing of one that is not read in or still open, and
    /// neither tombstones nor names that two texts claim.
    #[must_use]
    pub fn pack(&self, stream: Stream) -> Option<Packing> {
        let held = self.held_of(stream)?;
        let open = match stream {
            Stream::Session(id) => self.session(id)?.is_open(),
            Stream::Person(id) => self.visit_ids(id).any(|visit| self.open.contains(&visit)),
            Stream::Practice => true,
        };
        if open || !held.whole() {
            return None;
        }
        let entries = held.loose.iter().filter_map(|id| self.journal.get(*id));
        let entries: Vec<&Entry> = entries.filter(|e| self.fit(stream, e)).collect();
        Some(Packing {
            rows: entries.iter().map(|entry| entry.id).collect(),
            packed: self.packed_of(stream, &entries)?,
        })
    }

    /// Whether an entry may stand in a pack of a stream: neither a tombstone nor a name that two texts
    /// claim may.
    pub(super) fn fit(&self, stream: Stream, entry: &Entry) -> bool {
        entry.stream == stream && entry.erases().is_none() && !self.journal.has_rivals(entry.id)
    }

    /// A pack of these. What was under a key that is destroyed has no bodies, and no part for them.
    pub(super) fn packed_of(&self, stream: Stream, entries: &[&Entry]) -> Option<Packed> {
        let mut packed = Packed::new(stream, entries.iter().copied())?;
        let here = |(key, _): &(KeyId, Vec<u8>)| !self.journal.destroyed(*key);
        packed.bodies.retain(here);
        Some(packed)
    }

    /// Every stream of which something may be packed.
    #[must_use]
    pub fn packable(&self) -> Vec<Stream> {
        let sessions = self.sessions.iter();
        let sessions = sessions.filter(|(_, s)| !s.held.loose.is_empty() && s.fold.is_some());
        let people = self.people.iter();
        let people = people.filter(|(_, s)| !s.held.loose.is_empty() && s.fold.is_some());
        let people = people.map(|(id, _)| Stream::Person(*id));
        people
            .chain(sessions.map(|(id, _)| Stream::Session(*id)))
            .collect()
    }

    /// When the latest fact of a stream was entered.
    #[must_use]
    pub fn latest_of(&self, stream: Stream) -> Option<Wall> {
        self.held_of(stream)?.latest
    }

    /// Whether such a pack is kept already: then only the rows are to go.
    #[must_use]
    pub fn has_pack(&self, name: PackName) -> bool {
        let held = self.held_of(name.stream);
        held.is_some_and(|held| held.packs.contains_key(&(name.last, name.cover)))
    }

    /// A pack is kept: before its rows are taken away.
    pub fn packed(&mut self, packing: &Packing) {
        let name = packing.packed.name;
        if let Some(held) = self.held(name.stream) {
            held.packs.insert((name.last, name.cover), true);
            held.loose.retain(|id| !packing.rows.contains(id));
        }
    }

    /// Lets go of what was read in and lies in packs, but for whatever is wanted: its summaries stay, and it
    /// can be read in again.
    pub fn put_away(&mut self, wanted: &[Want]) {
        let mut keep = self.streams_for(&Want::Start);
        for want in wanted {
            for stream in self.streams_for(want).into_iter() {
                keep.insert(stream);
            }
        }
        for stream in self.streams_for(&Want::Everything).into_iter() {
            let packed = |held: &Held| {
                let all = !held.packs.is_empty() && held.whole();
                all && held.loose.is_empty() && held.flawed.is_empty()
            };
            let go = !keep.contains(&stream) && self.held_of(stream).is_some_and(packed);
            if !go || !self.journal.put_away(stream) {
                continue;
            }
            match stream {
                Stream::Session(id) => self.sessions.or_default(id).fold = None,
                Stream::Person(id) => self.people.or_default(id).fold = None,
                Stream::Practice => {}
            }
            if let Some(held) = self.held(stream) {
                held.packs.values_mut().for_each(|given| *given = false);
            }
        }
    }

    /// Whatever was kept is gone: what is read in stands in no pack any more, and is to be kept again.
    pub fn emptied(&mut self) {
        for stream in self.streams_for(&Want::Everything).into_iter() {
            let all: Vec<EntryId> = self.journal.of(stream).map(|entry| entry.id).collect();
            if let Some(held) = self.held(stream).filter(|held| held.whole()) {
                held.packs.clear();
                held.flawed.clear();
                held.loose.extend(all);
            }
        }
    }

    /// All packed streams in groups of about `size`, each person with their sessions: one group for
    /// each sheet of a new base.
    #[must_use]
    pub fn groups(&self, size: usize) -> Vec<Vec<Stream>> {
        let mut groups = Vec::new();
        let mut group = Vec::new();
        let mut add = |streams: &mut Vec<Stream>| {
            group.append(streams);
            if group.len() >= size {
                groups.push(core::mem::take(&mut group));
            }
        };
        for &id in self.people.keys() {
            let mut streams = Vec::from([Stream::Person(id)]);
            streams.extend(self.visit_ids(id).map(Stream::Session));
            add(&mut streams);
        }
        for (&id, slot) in &self.sessions {
            if slot
                .listed
                .is_none_or(|person| !self.people.contains_key(&person))
            {
                add(&mut Vec::from([Stream::Session(id)]));
            }
        }
        if !group.is_empty() {
            groups.push(group);
        }
        groups
    }

    /// A sheet of these streams, as far as they are packed.
    #[must_use]
    pub fn sheet(&self, name: SheetName, streams: &[Stream]) -> Vec<u8> {
        let record = |stream: &Stream| {
            let held = self.held_of(*stream)?;
            let line = match stream {
                Stream::Session(id) => self.visit(*id).cloned().map(Line::Session),
                Stream::Person(id) => self.who(*id).cloned().map(Line::Person),
                Stream::Practice => return None,
            };
            (!held.packs.is_empty()).then(|| Record {
                stream: *stream,
                packs: held.packs.keys().copied().collect(),
                keys: held.keys.iter().copied().collect(),
                latest: held.latest,
                line,
            })
        };
        sheet::write(name, streams.iter().filter_map(record).collect())
    }

    /// What has to be read in before another journal is merged: what it writes in, and what it erases
    /// or chooses between.
    #[must_use]
    pub fn touched(&self, other: &Journal) -> Vec<Stream> {
        let mut streams: flat::Set<Stream> = other.streams().collect();
        streams.extend(other.graves().filter(|s| !self.journal.buried(*s)));
        let new = |key: &KeyId| !self.journal.destroyed(*key);
        for key in other.tombs().filter(new) {
            if let KeyId::Person(person) = key {
                streams.extend(self.sealed_for(person));
            }
        }
        for id in other.choices() {
            streams.extend(self.may_hold(id));
        }
        let known = streams.iter().copied();
        known.filter(|s| self.held_of(*s).is_some()).collect()
    }

    /// Takes in another journal; every stream it touches is folded again. Returns how many entries
    /// were new here.
    ///
    /// # Errors
    /// [`Refusal::LoadFirst`] with the streams that it touches and that are not read in; nothing was
    /// taken in then.
    pub fn merge(&mut self, other: &Journal) -> Result<usize, Refusal> {
        let lacking = self.touched(other).into_iter();
        let lacking: Vec<Stream> = lacking.filter(|s| self.lacks(*s)).collect();
        if !lacking.is_empty() {
            return Err(Refusal::LoadFirst(lacking));
        }
        let new = |entry: &&Entry| !self.journal.holds(&self.journal.admitted(entry));
        let notes: Vec<Entry> = other.texts().filter(new).cloned().collect();
        let count = self.journal.merge(other);
        for entry in notes {
            if let Some(held) = self.held(entry.stream) {
                held.note(&entry, true);
            }
        }
        self.refold_all();
        Ok(count)
    }

    /// The streams of which something is sealed under a person's key, or may be: of what is still to be
    /// worked out that is not known.
    pub(super) fn sealed_for(&self, person: EntryId) -> Vec<Stream> {
        let sessions = self.sessions.iter();
        let sessions = sessions.filter(|s| unread(s) || s.1.held.keys.contains(&person));
        let people = self.people.iter();
        let people = people.filter(|s| unread(s) || s.1.held.keys.contains(&person));
        let people = people.map(|(id, _)| Stream::Person(*id));
        people
            .chain(sessions.map(|(id, _)| Stream::Session(*id)))
            .collect()
    }

    /// Streams that are not read in and may hold an entry, by its place in the order of causes.
    pub(crate) fn may_hold(&self, id: EntryId) -> Vec<Stream> {
        let may = |first: &EntryId, held: &Held| {
            let last = held.packs.keys().map(|(last, _)| *last).max();
            !held.whole() && first.counter <= id.counter && last >= Some(id.counter)
        };
        let people = self.people.iter().filter(|(id, s)| may(id, &s.held));
        let people = people.map(|(id, _)| Stream::Person(*id));
        let all = self.sessions.iter().filter(|(id, s)| may(id, &s.held));
        people
            .chain(all.map(|(id, _)| Stream::Session(*id)))
            .collect()
    }

    /// Why an entry is not found: it may be in a session that is not read in.
    pub(super) fn not_here(&self, id: EntryId) -> Refusal {
        let streams = self.may_hold(id);
        if streams.is_empty() {
            Refusal::NoSuchThing
        } else {
            Refusal::LoadFirst(streams)
        }
    }

    /// A session, if there is one; a refusal if it has to be read in first.
    pub(super) fn in_memory(&self, session: EntryId) -> Result<Option<&Session>, Refusal> {
        match self.at_hand(session) {
            Ok(found) => Ok(Some(found)),
            Err(Refusal::NoSuchSession) => Ok(None),
            Err(why) => Err(why),
        }
    }

    /// A session to be worked on.
    pub(super) fn at_hand(&self, session: EntryId) -> Result<&Session, Refusal> {
        if self.lacks(Stream::Session(session)) {
            return Err(Refusal::LoadFirst(Vec::from([Stream::Session(session)])));
        }
        self.session(session).ok_or(Refusal::NoSuchSession)
    }

    /// A person to be worked on.
    pub(super) fn person_at_hand(&self, person: EntryId) -> Result<&Person, Refusal> {
        if self.lacks(Stream::Person(person)) {
            return Err(Refusal::LoadFirst(Vec::from([Stream::Person(person)])));
        }
        self.person(person).ok_or(Refusal::NoSuchThing)
    }
}
