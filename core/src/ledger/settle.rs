//! Choosing between facts that disagree.

use super::{Facts, Hand, Ledger, Refusal};
use crate::base::id::{EntryId, Stream};
use crate::event::Event;
use crate::event::copies::Settled;
use crate::journal::{KeyId, Sum};
use crate::people::Person;
use alloc::vec::Vec;

/// Which one stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Choice {
    /// Of two texts of one id: the one whose line has this sum.
    Text(EntryId, Sum),
    /// Of facts on one matter: this one, and not the others.
    Fact(EntryId, Vec<EntryId>),
}

impl Ledger {
    pub(super) fn settle(&self, choice: &Choice, hand: &Hand) -> Result<Facts, Refusal> {
        let (stands, over) = match choice {
            Choice::Text(id, sum) => {
                let mut all = self.journal().rivals();
                let (_, mut texts, _) = all
                    .find(|(known, _, _)| known == id)
                    .ok_or(Refusal::NoSuchThing)?;
                if !texts.any(|text| Sum::of(&text.to_line()) == *sum) {
                    return Err(Refusal::NoSuchThing);
                }
                let event = Event::Settled(Settled {
                    stands: *id,
                    over: Vec::new(),
                    text: Some(*sum),
                });
                return self.write(Some(Stream::Practice), KeyId::Practice, &[event], hand);
            }
            Choice::Fact(stands, over) => (*stands, over.clone()),
        };
        let here = self.journal();
        if let Some(id) = [stands]
            .iter()
            .chain(&over)
            .find(|id| here.get(**id).is_none())
        {
            return Err(self.not_here(*id));
        }
        let entry = here.get(stands).ok_or(Refusal::NoSuchThing)?;
        let same = |id: &EntryId| {
            let other = self.journal().get(*id);
            other.is_some_and(|other| other.stream == entry.stream && other.kind == entry.kind)
        };
        if over.is_empty() || !over.iter().all(same) {
            return Err(Refusal::NoSuchThing);
        }
        let event = Event::Settled(Settled {
            stands,
            over,
            text: None,
        });
        let key = match entry.stream {
            Stream::Practice => KeyId::Practice,
            Stream::Person(person) => {
                if self.person(person).is_some_and(Person::read_only) {
                    return Err(Refusal::NewerFacts);
                }
                KeyId::Person(person)
            }
            Stream::Session(id) => {
                let found = self.at_hand(id)?;
                if found.state().read_only {
                    return Err(Refusal::NewerFacts);
                }
                return self.in_session(id, found.state(), alloc::vec![event], hand);
            }
        };
        self.write(Some(entry.stream), key, &[event], hand)
    }
}
