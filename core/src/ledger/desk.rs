//! Commands away from the chair: people, answers, consent, plans, bookings, writing, settings,
//! procedures and points of the practice's own.

use super::{Choice, Facts, Hand, Ledger, Refusal};
use crate::base::id::{EntryId, Stream};
use crate::event::Event;
use crate::event::copies::{Brought, Made};
use crate::event::person::{
    Answered, Booked, Called, Chose, Consented, Looked, Measured, Named, Overrode, Wrote,
};
use crate::event::point::{Described, TakenAway};
use crate::event::practice::Set;
use crate::event::procedure::{Composed, Retired};
use crate::event::session::Corrected;
use crate::journal::KeyId;
use crate::procedure::compose::OWN;
use alloc::format;
use alloc::vec;
use alloc::vec::Vec;

/// Something done at the desk. `person` is the entry that first wrote them down.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum DeskCommand {
    /// A person is written down for the first time.
    Meet(Named),
    /// What is known of them changed.
    Rename(EntryId, Named),
    /// A question was answered.
    Answer(EntryId, Answered),
    /// A finding is gone past, with a reason.
    Override(EntryId, Overrode),
    /// Consent and identity before needles.
    Consent(EntryId, Consented),
    /// Something was looked at.
    Look(EntryId, Looked),
    /// A procedure was chosen for a day.
    Choose(EntryId, Chose),
    /// Lengths were measured.
    Measure(EntryId, Measured),
    /// A visit was booked.
    Book(EntryId, Booked),
    /// A booked visit will not be.
    Unbook(EntryId, EntryId),
    /// A session was written up.
    Write(EntryId, Wrote),
    /// A person called with something after a visit.
    Call(EntryId, Called),
    /// A person's key is destroyed: nothing sealed under it can be read again, here or in any
    /// journal this one is merged with.
    ///
    /// Before it, what is left of them is written down in numbers. Refused only while a session of
    /// theirs is open with needles in.
    Erase(EntryId),
    /// A copy was taken out.
    CopyMade(Made),
    /// A copy was brought in.
    Brought(Brought),
    /// Where two facts disagree, one is chosen.
    Settle(Choice),
    /// A setting was given a value.
    Set(Set),
    /// Procedures of the practice's own are composed, in one act. One without a stable name is new and
    /// gets one.
    Compose(Vec<Composed>),
    /// A procedure is taken off the list, or put back.
    Retire(Retired),
    /// A point of the practice's own is described.
    Describe(Described),
    /// A point of the practice's own is taken away, or put back.
    TakeAway(TakenAway),
}

impl Ledger {
    pub(super) fn decide_desk(&self, command: &DeskCommand, hand: &Hand) -> Result<Facts, Refusal> {
        use DeskCommand as C;
        let (person, event) = match command {
            C::Meet(named) => {
                let id = self.journal().next_id(hand.replica);
                let event = Event::Named(named.clone());
                return self.write(Some(Stream::Person(id)), KeyId::Person(id), &[event], hand);
            }
            C::Set(set) => {
                let event = Event::Set(set.clone());
                return self.write(Some(Stream::Practice), KeyId::Practice, &[event], hand);
            }
            C::Compose(all) => {
                let events = self.named(all, hand);
                if events.is_empty() {
                    return Err(Refusal::NoSuchThing);
                }
                return self.write(Some(Stream::Practice), KeyId::Practice, &events, hand);
            }
            C::Retire(retired) => {
                let event = Event::Retired(retired.clone());
                return self.write(Some(Stream::Practice), KeyId::Practice, &[event], hand);
            }
            C::Describe(point) => {
                let event = Event::Described(point.clone());
                return self.write(Some(Stream::Practice), KeyId::Practice, &[event], hand);
            }
            C::TakeAway(gone) => {
                let event = Event::TakenAway(gone.clone());
                return self.write(Some(Stream::Practice), KeyId::Practice, &[event], hand);
            }
            C::Erase(person) => {
                return self.erase(*person, hand);
            }
            C::Settle(choice) => return self.settle(choice, hand),
            C::CopyMade(made) => {
                let event = Event::CopyMade(made.clone());
                return self.write(Some(Stream::Practice), KeyId::Practice, &[event], hand);
            }
            C::Brought(brought) => {
                let event = Event::Brought(brought.clone());
                return self.write(Some(Stream::Practice), KeyId::Practice, &[event], hand);
            }
            C::Rename(person, e) => (*person, Event::Named(e.clone())),
            C::Answer(person, e) => (*person, Event::Answered(e.clone())),
            C::Override(person, e) => (*person, Event::Overrode(e.clone())),
            C::Consent(person, e) => (*person, Event::Consented(e.clone())),
            C::Look(person, e) => (*person, Event::Looked(e.clone())),
            C::Choose(person, e) => (*person, Event::Chose(e.clone())),
            C::Measure(person, e) => (*person, Event::Measured(e.clone())),
            C::Book(person, e) => (*person, Event::Booked(e.clone())),
            C::Unbook(person, booking) => {
                self.person_at_hand(*person)?;
                self.journal().get(*booking).ok_or(Refusal::NoSuchThing)?;
                (
                    *person,
                    Event::Corrected(Corrected {
                        targets: vec![*booking],
                        why: None,
                    }),
                )
            }
            C::Write(person, e) => (*person, Event::Wrote(e.clone())),
            C::Call(person, e) => (*person, Event::Called(e.clone())),
        };
        let known = self.person_at_hand(person)?;
        // What was seen and done is written down all the same.
        let happened = matches!(event, Event::Looked(_) | Event::Wrote(_) | Event::Called(_));
        if known.read_only() && !happened {
            return Err(Refusal::NewerFacts);
        }
        self.write(
            Some(Stream::Person(person)),
            KeyId::Person(person),
            &[event],
            hand,
        )
    }

    /// Procedures to be composed; a new one is named after the fact that composes it, which no other
    /// phone can write.
    fn named(&self, all: &[Composed], hand: &Hand) -> Vec<Event> {
        let mut id = self.journal().next_id(hand.replica);
        let mut events = Vec::new();
        for one in all {
            let mut one = one.clone();
            if one.id.is_empty() {
                one.id = format!("{OWN}{id}");
            }
            id.counter = id.counter.saturating_add(1);
            events.push(Event::Composed(one));
        }
        events
    }
}
