//! What goes out: all of it, what came since the last copy, one person, procedures.

use crate::base::flat;
use crate::base::id::{EntryId, Stream};
use crate::base::stamp::Wall;
use crate::event::Event;
use crate::event::copies::Made;
use crate::event::session::Version;
use crate::journal::{Covered, Entry, Header, Journal, Scope};
use crate::ledger::{Ledger, Want};
use crate::practice::{FIGURE, own};
use alloc::string::String;
use alloc::vec::Vec;

/// What is taken out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// All of it.
    Whole,
    /// What came since the last copy, if that can be told: see [`base`].
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

/// What has to be read in before a part can be taken out.
#[must_use]
pub fn wanted(part: Part) -> Want {
    match part {
        Part::Whole | Part::Since => Want::Everything,
        Part::Person(person) => Want::Person(person, 0),
        Part::Procedures => Want::Streams(Vec::new()),
    }
}

/// What the last copy covered, if everything is read in, all that it covered is here and nothing else is before it. Only then
/// can it be told what came since: otherwise the whole has to go out.
#[must_use]
pub fn base(ledger: &Ledger) -> Option<Covered> {
    let covers = ledger.whole()?.practice().last_copy()?.made.covers;
    (ledger.journal().sum_before(covers.before) == (covers.entries, covers.sum)).then_some(covers)
}

/// Takes a part out. `now` is the phone's wall clock. Nothing if there is no such person, or it cannot
/// be told what came since the last copy, or while something of [`wanted`] is not read in.
#[must_use]
pub fn take(ledger: &Ledger, part: Part, now: Wall) -> Option<Taken> {
    if !ledger.has(&wanted(part)) {
        return None;
    }
    let journal = ledger.journal();
    let mut header = Header::new(match part {
        Part::Whole => Scope::Whole,
        Part::Since => Scope::Since,
        Part::Person(_) => Scope::Person,
        Part::Procedures => Scope::Procedures,
    });
    let mut held = None;
    match part {
        Part::Whole => {}
        Part::Since => {
            let base = base(ledger)?;
            header.since = Some(base);
            let mut late = journal.part(&|entry| entry.id >= base.before);
            // What is no entry has no place in the order, so it goes along each time.
            journal.lines(&mut |id, line| {
                if id.is_none() {
                    late.keep_unreadable(line.into());
                }
            });
            held = Some(late);
        }
        Part::Person(person) => {
            ledger.person(person)?.named.as_ref()?;
            header.person = Some(person);
            held = Some(within(ledger, Scope::Person, Some(person)));
        }
        Part::Procedures => held = Some(within(ledger, Scope::Procedures, None)),
    }
    let held = held.as_ref().unwrap_or(journal);
    let mut entries = 0_u32;
    held.lines(&mut |_, _| entries = entries.saturating_add(1));
    header.at = Some(now);
    header.entries = Some(entries);
    let made = matches!(part, Part::Whole | Part::Since).then(|| {
        let before = journal.free();
        let (entries, sum) = journal.sum_before(before);
        Made {
            scope: header.scope(),
            covers: Covered {
                before,
                entries,
                sum,
            },
        }
    });
    Some(Taken {
        text: held.under(&header.to_line()),
        entries,
        made,
    })
}

/// The facts of a scope: everything, one person's, or procedures.
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
        _ => journal.clone(),
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
