//! What a fact is the last word on. Two facts on one matter cannot both stand.

use super::Event;
use crate::base::flat;
use crate::base::id::{EntryId, Stream};
use crate::journal::{Entry, Journal};
use alloc::string::{String, ToString};
use alloc::vec::Vec;

/// A matter within one stream: the kind of fact, and which one if there are several.
pub type Matter = (&'static str, String);

impl Event {
    /// The matter on which this is a word that the latest such word replaces; none where facts stand
    /// beside each other. Totals of a region have a number of their own for that: see
    /// [`crate::event::session::Out::pass`].
    #[must_use]
    pub fn matter(&self) -> Option<Matter> {
        let which = match self {
            Self::Named(_) | Self::Closed(_) | Self::Joined(_) | Self::Tray(_) => String::new(),
            Self::Answered(e) => e.question.clone(),
            Self::Consented(e) => e.date.to_string(),
            Self::Looked(e) => e.date.to_string(),
            Self::Chose(e) => e.date.to_string(),
            Self::Wrote(e) => e.session.to_string(),
            Self::Stay(e) => e.region.to_string(),
            Self::PackFault(e) => e.pack.to_string(),
            Self::Set(e) => e.name.clone(),
            Self::Composed(e) => e.id.clone(),
            Self::Retired(e) => e.id.clone(),
            Self::Described(e) => e.code.clone(),
            Self::TakenAway(e) => e.code.clone(),
            _ => return None,
        };
        Some((self.kind(), which))
    }
}

/// Facts that a standing correction or choice takes out, of facts in the order of their ids. Newest
/// first, so that a correction that was itself taken back corrects nothing, and the last choice holds.
pub fn gone<'a>(
    facts: impl DoubleEndedIterator<Item = (EntryId, &'a Event)>,
) -> flat::Set<EntryId> {
    let (mut gone, mut kept) = (flat::Set::new(), flat::Set::new());
    for (id, event) in facts.rev() {
        if gone.contains(&id) {
            continue;
        }
        // Only what came before can be taken out: no two facts can take each other back.
        match event {
            Event::Corrected(c) => gone.extend(c.targets.iter().copied().filter(|t| *t < id)),
            Event::Settled(c) => {
                let over = c.over.iter().copied().filter(|t| *t < id);
                gone.extend(over.filter(|t| !kept.contains(t)));
                if c.stands < id {
                    kept.insert(c.stands);
                }
            }
            _ => {}
        }
    }
    gone
}

/// The last standing word on each matter of a stream.
#[must_use]
pub fn last_words(journal: &Journal, stream: Stream) -> flat::Map<Matter, &Entry> {
    let read: Vec<(&Entry, Event)> = journal
        .of(stream)
        .filter_map(|entry| Some((entry, Event::read(entry).ok()?)))
        .collect();
    let gone = gone(read.iter().map(|(entry, event)| (entry.id, event)));
    let mut last = flat::Map::new();
    for (entry, event) in &read {
        if !gone.contains(&entry.id)
            && let Some(matter) = event.matter()
        {
            last.insert(matter, *entry);
        }
    }
    last
}
