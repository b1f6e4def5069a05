//! What goes out: all of it, what came since the last copy, one person, procedures.

use super::walk::through;
use crate::base::flat;
use crate::base::id::{EntryId, Stream};
use crate::base::stamp::Wall;
use crate::event::Event;
use crate::event::copies::Made;
use crate::event::session::Version;
use crate::journal::{Covered, Entry, Header, Journal, Piece, Scope, Sum};
use crate::ledger::{Ledger, Want};
use crate::practice::{FIGURE, own};
use alloc::string::String;
use alloc::vec::Vec;

/// What is taken out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// All of it.
    Whole,
    /// What came since the last copy, if that can be told: see [`Copying::end`].
    Since,
    /// One person.
    Person(EntryId),
    /// Procedures of the practice's own.
    Procedures,
}

/// A copy ready to be saved.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Taken {
    /// The file.
    pub text: Vec<u8>,
    /// How many lines it has below its first.
    pub entries: u32,
    /// What to write down once it is saved; nothing for a part that is no copy.
    pub made: Option<Made>,
}

/// What has to be read in before a part can be taken out by [`take`].
#[must_use]
pub fn wanted(part: Part) -> Want {
    match part {
        Part::Whole | Part::Since => Want::Everything,
        Part::Person(person) => Want::Person(person, 0),
        Part::Procedures => Want::Streams(Vec::new()),
    }
}

/// From how many bytes of lines on a copy goes on in another file. Policy: a third of what is read of
/// one ([`crate::journal::Limits::HERE`]), and what a phone can seal and share in one go.
pub const PIECE: usize = 33_554_432;

/// One file of a copy.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Written {
    /// The file.
    pub text: Vec<u8>,
    /// How many lines it has below its first.
    pub entries: u32,
}

/// Lines below a header, and how many.
#[derive(Clone, Debug, Default)]
struct Lines {
    text: Vec<u8>,
    count: u32,
}

impl Lines {
    fn add(&mut self, line: &str) {
        self.text.extend_from_slice(line.as_bytes());
        self.text.push(b'\n');
        self.count = self.count.saturating_add(1);
    }

    fn under(&self, mut header: Header) -> Written {
        header.entries = Some(self.count);
        let mut text = header.to_line().into_bytes();
        text.reserve_exact(self.text.len().saturating_add(1));
        text.push(b'\n');
        text.extend_from_slice(&self.text);
        Written {
            text,
            entries: self.count,
        }
    }
}

/// A copy of everything, or of what came since the last one, in the making: facts are given to it
/// ([`super::Walk`]) and files come out.
#[derive(Clone, Debug)]
pub struct Copying {
    header: Header,
    before: EntryId,
    most: usize,
    number: u32,
    // What erases stands in every file: what was erased must not come back by way of one.
    erasing: Vec<String>,
    lines: Lines,
    all: (u32, Sum),
    base: (u32, Sum),
}

impl Copying {
    /// Begins one of `part`, which is [`Part::Whole`] or [`Part::Since`]. `now` is the phone's wall
    /// clock; `most` how many bytes a file may have before another is begun ([`PIECE`]). Nothing for
    /// another part, or if there is no earlier copy.
    #[must_use]
    pub fn new(ledger: &Ledger, part: Part, now: Wall, most: usize) -> Option<Self> {
        let mut header = Header::new(match part {
            Part::Whole => Scope::Whole,
            Part::Since => Scope::Since,
            Part::Person(_) | Part::Procedures => return None,
        });
        header.at = Some(now);
        if part == Part::Since {
            header.since = Some(ledger.practice().last_copy()?.made.covers);
        }
        let practice = ledger.journal().of(Stream::Practice);
        let erasing = practice.filter(|entry| entry.erases().is_some());
        let mut lines = Lines::default();
        let old = |entry: &&Entry| header.since.is_some_and(|base| entry.id < base.before);
        let old = erasing.clone().filter(old);
        old.for_each(|entry| lines.add(&entry.to_line()));
        Some(Self {
            header,
            before: ledger.journal().free(),
            most,
            number: 0,
            erasing: erasing.map(Entry::to_line).collect(),
            lines,
            all: Default::default(),
            base: Default::default(),
        })
    }

    /// Takes facts in. They stay in one file; if there is no room for them in the one in the making,
    /// that is done, and given back.
    pub fn take(&mut self, facts: &Journal) -> Option<Written> {
        let (mut new, since) = (Lines::default(), self.header.since);
        facts.lines(&mut |id, line| {
            let counts = |sum: &mut (u32, Sum), before| {
                if id.is_none_or(|id| id < before) {
                    sum.0 = sum.0.saturating_add(1);
                    sum.1.add(line);
                }
            };
            counts(&mut self.all, self.before);
            if let Some(base) = since {
                counts(&mut self.base, base.before);
                // What is no entry has no place in the order, so it goes along each time.
                if id.is_some_and(|id| id < base.before) {
                    return;
                }
            }
            new.add(line);
        });
        let both = self.lines.text.len().saturating_add(new.text.len());
        let full = both > self.most && self.lines.count > 0 && new.count > 0;
        let done = full.then(|| {
            self.number = self.number.saturating_add(1);
            let done = self.piece(None);
            self.lines = Lines::default();
            self.erasing.iter().for_each(|line| self.lines.add(line));
            done
        });
        self.lines.text.extend_from_slice(&new.text);
        self.lines.count = self.lines.count.saturating_add(new.count);
        done
    }

    fn piece(&self, all: Option<Covered>) -> Written {
        let mut header = self.header.clone();
        let number = self.number;
        header.piece = (number > 0).then_some(Piece { number, all });
        self.lines.under(header)
    }

    /// The last file, once everything was taken in, and what to write down when all of them are saved.
    /// Nothing if something that the last copy covered is not here, or something else is before it: only
    /// the whole can go out then.
    #[must_use]
    pub fn end(mut self) -> Option<(Written, Made)> {
        if let Some(base) = self.header.since {
            (self.base == (base.entries, base.sum)).then_some(())?;
        }
        let (entries, sum) = self.all;
        let covers = Covered {
            before: self.before,
            entries,
            sum,
        };
        let scope = self.header.scope();
        if self.number > 0 {
            self.number = self.number.saturating_add(1);
        }
        Some((self.piece(Some(covers)), Made { scope, covers }))
    }
}

/// Takes a part out as one file. `now` is the phone's wall clock. Nothing if there is no such person, or
/// it cannot be told what came since the last copy, or while something of [`wanted`] is not read in.
/// Whoever has much takes it out by [`Copying`].
#[must_use]
pub fn take(ledger: &Ledger, part: Part, now: Wall) -> Option<Taken> {
    if !ledger.has(&wanted(part)) {
        return None;
    }
    let mut header = Header::new(match part {
        Part::Whole | Part::Since => {
            let mut copying = Copying::new(ledger, part, now, usize::MAX)?;
            through(ledger, &mut |facts| drop(copying.take(facts)));
            let (written, made) = copying.end()?;
            return Some(Taken {
                text: written.text,
                entries: written.entries,
                made: Some(made),
            });
        }
        Part::Person(_) => Scope::Person,
        Part::Procedures => Scope::Procedures,
    });
    header.at = Some(now);
    if let Part::Person(person) = part {
        ledger.person(person)?.named.as_ref()?;
        header.person = Some(person);
    }
    let held = within(ledger, header.scope(), header.person);
    let mut lines = Lines::default();
    held.lines(&mut |_, line| lines.add(line));
    let written = lines.under(header);
    Some(Taken {
        text: written.text,
        entries: written.entries,
        made: None,
    })
}

/// The facts of a part: one person's, or procedures.
pub(super) fn within(ledger: &Ledger, scope: Scope, person: Option<EntryId>) -> Journal {
    let journal = ledger.journal();
    match (scope, person) {
        (Scope::Procedures, _) => journal.part(&|entry| {
            matches!(
                entry.kind.as_str(),
                "procedure.composed" | "procedure.retired"
            )
        }),
        (Scope::Person, Some(person)) => of_person(ledger, person),
        _ => Journal::new(),
    }
}

/// One person: what was written down about them, their sessions, and of the practice what is needed to
/// read those: its own points, the versions of procedures that were used or are planned, figures and
/// rules of its own with their history (the record says which stood when), and the settings in force.
fn of_person(ledger: &Ledger, person: EntryId) -> Journal {
    let journal = ledger.journal();
    let (mut versions, mut names) = (flat::Set::new(), flat::Set::new());
    let mut sessions = flat::Set::new();
    for (id, session) in ledger.sessions_of(person) {
        sessions.insert(id);
        if let Some(used) = &session.state().procedure {
            if let Version::Composed(version) = &used.version {
                versions.insert(*version);
            }
            names.insert(used.id.clone());
        }
    }
    let known = ledger.person(person);
    names.extend(
        known
            .into_iter()
            .flat_map(|p| p.plans.values().map(|c| c.procedure.clone())),
    );
    let is_latest = |id: &str, version| {
        let kept = ledger.practice().composed(id);
        kept.is_some_and(|kept| kept.version == version)
    };
    let mut settings: flat::Map<String, EntryId> = flat::Map::new();
    for entry in journal.of(Stream::Practice) {
        match Event::read(entry) {
            Ok(Event::Set(set)) => {
                settings.insert(set.name, entry.id);
            }
            // The latest of it, beside those that were used.
            Ok(Event::Composed(e)) if names.contains(&e.id) && is_latest(&e.id, entry.id) => {
                versions.insert(entry.id);
            }
            _ => {}
        }
    }
    let in_force: flat::Set<EntryId> = settings.values().copied().collect();
    let needed = |entry: &Entry| match entry.kind.as_str() {
        "point.described" | "point.taken_away" => true,
        "procedure.composed" => versions.contains(&entry.id),
        "practice.set" => {
            let history = |e: Event| match e {
                Event::Set(set) => {
                    set.name.starts_with(FIGURE) || set.name.starts_with(own::PREFIX)
                }
                _ => false,
            };
            in_force.contains(&entry.id) || Event::read(entry).is_ok_and(history)
        }
        _ => false,
    };
    journal.part(&|entry| match entry.stream {
        Stream::Person(id) => id == person,
        Stream::Session(id) => sessions.contains(&id),
        Stream::Practice => needed(entry),
    })
}
