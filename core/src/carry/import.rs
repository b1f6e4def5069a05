//! What a copy would bring in, said before it does.

use super::check::{Beside, Checked, check, known};
use super::differ::pairs;
use crate::base::flat;
use crate::base::id::{EntryId, Stream};
use crate::base::stamp::Wall;
use crate::event::copies::{Brought, Pair};
use crate::event::{Event, MANY, Unread};
use crate::journal::{Carried, Journal, LineFlaw, Scope};
use crate::ledger::{Ledger, Refusal, Want};
use crate::words::copies::EN;
use alloc::string::{String, ToString};
use alloc::vec::Vec;

/// A closed session whose count this would open again.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reopened {
    /// The session.
    pub session: EntryId,
    /// Whose; empty if nobody was named.
    pub name: String,
    /// When it was opened.
    pub at: Option<Wall>,
}

/// A setting that would have another value.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Change {
    /// Its stable name.
    pub name: String,
    /// What it is now.
    pub before: String,
    /// What it would be.
    pub after: String,
}

/// What bringing a copy in would do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Summary {
    /// The copy beside what is here.
    pub checked: Checked,
    /// What is new, in the practitioner's words, and how many of each.
    pub new: Vec<(&'static str, u32)>,
    /// People who are not here yet, by name.
    pub people: Vec<String>,
    /// Visits that are not here yet.
    pub visits: u32,
    /// Matters on which both say something that the other did not know.
    pub differ: Vec<Pair>,
    /// Sessions whose count would be open again.
    pub reopens: Vec<Reopened>,
    /// Settings that would change.
    pub changes: Vec<Change>,
    /// Settings of somebody else's practice that are left out.
    pub left_out: u32,
    /// People who are here and would be erased, by name.
    pub erases: Vec<String>,
    /// Whose chair holds it up: see [`at_chair`].
    pub at_chair: Vec<String>,
    /// Facts of a kind or form that this build does not know.
    pub newer: u32,
    /// Facts that are not as their kind has them.
    pub malformed: u32,
    /// Lines that are left out, and why.
    pub flaws: Vec<LineFlaw>,
    /// What is to be merged.
    pub journal: Journal,
    /// How many facts are new, beside what is written down about copies.
    pub entries: u32,
}

impl Summary {
    /// Whether merging would change nothing.
    #[must_use]
    pub fn nothing_new(&self) -> bool {
        self.checked.new == 0 && self.checked.differ == 0
    }

    /// What to write down once it was brought in. Nothing, if nothing came but what is written down
    /// about copies: two phones would else go on telling each other so for ever.
    #[must_use]
    pub fn brought(&self) -> Option<Brought> {
        (self.entries > 0).then(|| Brought {
            entries: self.entries,
            differ: self.differ.iter().take(MANY).copied().collect(),
        })
    }
}

fn name(ledger: &Ledger, person: Option<EntryId>) -> String {
    let person = person.and_then(|id| ledger.who(id));
    person.map_or_else(String::new, |p| p.name.clone())
}

/// Of a record that somebody else handed over, the settings are left out: those here stand. Points and
/// procedures come along, and where one is called the same as one here, it is listed as disagreeing.
fn admit(ledger: &Ledger, carried: &Carried) -> (Journal, u32) {
    let stays = |kind: &str| kind != "practice.set";
    let here = ledger.practice().settings().next().is_some();
    if carried.header.scope() != Scope::Person || !here {
        return (carried.journal.clone(), 0);
    }
    let left = carried
        .journal
        .texts()
        .filter(|e| !stays(&e.kind) && !known(e, &carried.journal, ledger.journal()));
    let left = u32::try_from(left.count()).unwrap_or(u32::MAX);
    (carried.journal.part(&|entry| stays(&entry.kind)), left)
}

/// What has to be read in before it can be said what a copy would bring: what it touches, and of one
/// person whatever is known of them.
#[must_use]
pub fn wanted_for(ledger: &Ledger, carried: &Carried) -> Want {
    match carried.header.scope() {
        Scope::Whole | Scope::Since | Scope::Procedures => {
            Want::Streams(ledger.touched(&carried.journal))
        }
        Scope::Person => {
            let mut streams = ledger.touched(&carried.journal);
            if let Some(person) = carried.header.person {
                streams.extend(ledger.streams_of(person));
            }
            Want::Streams(streams)
        }
    }
}

/// Works out what bringing a copy in would do. Pure: it is done on a second ledger. `beside` has seen all
/// that is here, if it wanted to.
///
/// # Errors
/// [`Refusal::LoadFirst`] while something of [`wanted_for`] is not read in.
pub fn summary(ledger: &Ledger, beside: Beside<'_>) -> Result<Summary, Refusal> {
    let carried = beside.carried();
    let lacking = ledger.lacking(&wanted_for(ledger, carried));
    if !lacking.is_empty() {
        return Err(Refusal::LoadFirst(lacking));
    }
    let (journal, left_out) = admit(ledger, carried);
    let here = ledger.journal();
    let mut after = ledger.clone();
    after.merge(&journal)?;
    let mut seen = Summary {
        checked: check(ledger, beside),
        new: Vec::new(),
        people: Vec::new(),
        visits: 0,
        differ: pairs(here, &journal, carried.header.scope()),
        reopens: Vec::new(),
        changes: Vec::new(),
        left_out,
        erases: Vec::new(),
        at_chair: at_chair(ledger, &journal),
        newer: 0,
        malformed: 0,
        flaws: carried.flaws.clone(),
        journal: Journal::new(),
        entries: 0,
    };
    let mut new: flat::Map<&'static str, u32> = flat::Map::new();
    for text in journal.texts().filter(|text| !known(text, &journal, here)) {
        let read = Event::read(&here.admitted(text));
        let n = match &read {
            Err(Unread::UnknownKind | Unread::NewerVersion) if text.erases().is_none() => {
                &mut seen.newer
            }
            Err(Unread::Malformed(_)) => &mut seen.malformed,
            _ => new.or_default(EN.kind(&text.kind)),
        };
        *n = n.saturating_add(1);
        if !text.kind.starts_with("copy.") {
            seen.entries = seen.entries.saturating_add(1);
        }
    }
    seen.new = new.into_iter().collect();
    for (id, person) in after.people_here() {
        let before = ledger.person(id);
        if before.is_none() && person.named.is_some() {
            seen.people.push(person.name().to_string());
        }
        if let Some(before) = before.filter(|p| p.named.is_some() && !p.erased)
            && person.erased
        {
            seen.erases.push(before.name().to_string());
        }
    }
    for (id, session) in after.sessions_here() {
        let state = session.state();
        match ledger.session(id).map(|s| s.state()) {
            None if state.opened.is_some() => seen.visits = seen.visits.saturating_add(1),
            Some(before) if before.closed.is_some() && state.closed.is_none() && !state.erased => {
                seen.reopens.push(Reopened {
                    session: id,
                    name: name(&after, state.person),
                    at: state.opened_at,
                });
            }
            _ => {}
        }
    }
    let mut names: flat::Set<&str> = flat::Set::new();
    names.extend(ledger.practice().settings().map(|(name, _)| name));
    names.extend(after.practice().settings().map(|(name, _)| name));
    for name in &names {
        let before = ledger.practice().setting(name);
        let after = after.practice().setting(name);
        if before != after {
            seen.changes.push(Change {
                name: (*name).to_string(),
                before: before.to_string(),
                after: after.to_string(),
            });
        }
    }
    seen.journal = journal;
    Ok(seen)
}

/// Whose chair would be erased, by name, while it is open with needles or cream: a count that nobody can
/// finish any more. Nothing of it is to be brought in before that is done.
#[must_use]
pub fn at_chair(ledger: &Ledger, journal: &Journal) -> Vec<String> {
    let erased = ledger.erased_by(journal);
    let graves: flat::Set<Stream> = journal.graves().collect();
    let open = ledger.open_sessions().filter(|(id, session)| {
        let state = session.state();
        let theirs = state.person.is_some_and(|person| erased.contains(&person));
        let gone = theirs || graves.contains(&Stream::Session(*id));
        let needles = state.sum.in_now.saturating_add(state.sum.out_uncounted);
        let cream = state.creams.iter().any(|c| c.off.is_none());
        gone && !state.erased && (needles > 0 || cream)
    });
    open.map(|(_, session)| name(ledger, session.state().person))
        .collect()
}

/// Streams with facts in both journals that the other does not have.
pub(super) fn both_wrote(here: &Journal, there: &Journal) -> Vec<Stream> {
    let mut streams = flat::Set::new();
    for text in there.texts().filter(|t| !known(t, there, here)) {
        streams.insert(text.stream);
    }
    let ours = |stream: &Stream| here.of(*stream).any(|t| !known(t, here, there));
    streams.iter().copied().filter(ours).collect()
}
