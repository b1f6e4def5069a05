//! L3. The kinds of fact. A closed list: adding one is a decision, and one golden line of each kind
//! is kept in the tests for ever.
//!
//! The kind stands in the envelope, so bodies are plain objects: no tag inside them.

pub mod copies;
pub mod matter;
pub mod person;
pub mod point;
pub mod practice;
pub mod procedure;
pub mod session;

use crate::base::body::{Body, Reader, Writer};
use crate::journal::Entry;
use alloc::boxed::Box;
use alloc::string::{String, ToString};
use serde_json::value::RawValue;

/// Why a body was not read. The entry is kept, merged and written out all the same.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Unread {
    /// A kind this build does not know: most likely from a newer one.
    UnknownKind,
    /// A known kind in a version this build does not know.
    NewerVersion,
    /// A known kind whose body does not have its shape; the reader's words.
    Malformed(String),
    /// The person's key was destroyed.
    Erased,
}

macro_rules! events {
    ($($(#[$doc:meta])* $name:ident($body:ty) = $kind:literal),* $(,)?) => {
        /// A fact about what happened.
        #[derive(Clone, Debug, PartialEq, Eq)]
        pub enum Event { $($(#[$doc])* $name($body)),* }

        /// A kind, to find the body's type by.
        #[derive(Clone, Copy)]
        enum Kind { $($name),* }

        impl Kind {
            const ALL: &'static [Self] = &[$(Self::$name),*];
        }

        impl Event {
            /// Every kind this build knows.
            pub const KINDS: &'static [&'static str] = &[$($kind),*];

            /// The kind, as it stands in the envelope.
            #[must_use]
            pub const fn kind(&self) -> &'static str {
                match self { $(Self::$name(_) => $kind),* }
            }

            /// The body as JSON.
            #[must_use]
            pub fn body(&self) -> Box<RawValue> {
                let mut out = Writer::default();
                match self { $(Self::$name(body) => body.write(&mut out)),* }
                Entry::raw(&out.end())
            }

            #[cfg(test)]
            fn by_serde(kind: &str, text: &str) -> Option<Self> {
                match kind {
                    $($kind => serde_json::from_str(text).ok().map(Self::$name),)*
                    _ => None,
                }
            }

            #[cfg(test)]
            fn body_by_serde(&self) -> String {
                match self { $(Self::$name(body) => serde_json::to_string(body).expect("JSON")),* }
            }

            /// Whether the body is within its bounds.
            ///
            /// # Errors
            /// Words that name the field that is not.
            pub fn within_bounds(&self) -> Result<(), &'static str> {
                match self { $(Self::$name(body) => body.check()),* }
            }

            /// Reads the fact out of its envelope.
            ///
            /// # Errors
            /// [`Unread`] says why not; nothing is lost by it.
            pub fn read(entry: &Entry) -> Result<Self, Unread> {
                let mut kinds = Self::KINDS.iter().zip(Kind::ALL);
                let Some((_, kind)) = kinds.find(|(name, _)| **name == entry.kind) else {
                    return Err(Unread::UnknownKind);
                };
                if entry.v != 1 { return Err(Unread::NewerVersion); }
                if entry.body.get() == "null" { return Err(Unread::Erased); }
                let mut from = Reader::of(&entry.body);
                let event = match kind {
                    $(Kind::$name => Self::$name(Body::read(&mut from))),*
                };
                from.end().map_err(|why| Unread::Malformed(why.to_string()))?;
                event.within_bounds().map_err(|why| Unread::Malformed(why.to_string()))?;
                Ok(event)
            }
        }
    };
}

/// What a body must satisfy beyond its shape. Hostile files are typed and bounded here, once.
trait Bounded {
    /// # Errors
    /// Words that name the field.
    fn check(&self) -> Result<(), &'static str> {
        Ok(())
    }
}

/// How many things one fact may be about. More than any session holds; a bound for hostile files.
pub const MANY: usize = 500;

/// A written reason or note, at most this many bytes.
pub const LONG_TEXT: usize = 8_000;

/// A count of needles in one fact: 1 to [`MANY`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[cfg_attr(test, derive(serde::Serialize), serde(transparent))]
pub struct Count(u16);

impl Count {
    /// A count, if it is in range.
    #[must_use]
    pub fn new(n: u16) -> Option<Self> {
        (1..=MANY).contains(&usize::from(n)).then_some(Self(n))
    }

    /// The number.
    #[must_use]
    pub fn get(self) -> u16 {
        self.0
    }
}

impl Body for Count {
    fn write(&self, out: &mut Writer) {
        self.0.write(out);
    }
    fn read(from: &mut Reader<'_>) -> Self {
        let n = u16::read(from);
        from.or(Self::new(n), Self(1))
    }
}

#[cfg(test)]
impl<'de> serde::Deserialize<'de> for Count {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let n: u16 = serde::Deserialize::deserialize(deserializer)?;
        Self::new(n).ok_or_else(|| serde::de::Error::custom("a count of needles is 1 to 500"))
    }
}

use copies as c;
use person as p;
use session as s;

events! {
    /// A session in the chair begins.
    Opened(s::Opened) = "session.opened",
    /// A session is joined to a person.
    Joined(s::Joined) = "session.joined",
    /// A packet was opened.
    Pack(s::Pack) = "pack.opened",
    /// A packet held another number than its label says.
    PackFault(s::PackFault) = "pack.fault",
    /// Needles went in.
    Placed(s::Placed) = "needle.placed",
    /// Needles came out.
    Out(s::Out) = "needle.out",
    /// Needles came out in a hurry and are still to be counted.
    OutUncounted(s::Spans) = "needle.out_uncounted",
    /// Needles stay in on purpose.
    StaysIn(s::StaysIn) = "needle.stays_in",
    /// Needles left their places and nobody saw it.
    Unseen(s::Spans) = "needle.unseen",
    /// Needles that stayed in on purpose are in no longer.
    StayEnded(s::StayEnded) = "needle.stay_ended",
    /// A needle turned up.
    TurnedUp(s::TurnedUp) = "needle.turned_up",
    /// Needles were looked for and not found.
    NotFound(s::NotFound) = "needle.not_found",
    /// Needles were bent, dropped or touched before they were placed.
    Spoilt(s::Spoilt) = "needle.spoilt",
    /// What is left in the strips was counted.
    Strips(s::Strips) = "count.strips",
    /// What lies in the tray was counted, without seeing the sum.
    Tray(s::Tray) = "count.tray",
    /// Needles in the skin were counted by eye.
    Inside(s::Inside) = "count.inside",
    /// Places were looked through for a needle.
    Searched(s::Searched) = "search.looked",
    /// Areas were swept by hand.
    Swept(s::Swept) = "count.swept",
    /// Numbing cream went on.
    CreamOn(s::CreamOn) = "cream.on",
    /// Numbing cream was wiped off.
    CreamOff(s::CreamOff) = "cream.off",
    /// The planned stay of a region was changed.
    Stay(s::Stay) = "clock.stay",
    /// A red flag ended the placing.
    Stopped(s::Stopped) = "session.stopped",
    /// Something went wrong.
    Incident(s::Incident) = "incident",
    /// Depth, technique or feeling differed from the plan.
    Otherwise(s::Otherwise) = "needle.otherwise",
    /// Something was done beside needles and cream.
    Did(s::Did) = "chair.did",
    /// Something worth writing down.
    Note(s::Note) = "note",
    /// A slip: the facts named never happened.
    Corrected(s::Corrected) = "corrected",
    /// The session was closed.
    Closed(s::Closed) = "session.closed",
    /// Who a person is, as told.
    Named(p::Named) = "person.named",
    /// A question was answered, or honestly not.
    Answered(p::Answered) = "person.answered",
    /// A finding was gone past, with a written reason.
    Overrode(p::Overrode) = "person.overrode",
    /// What the person agreed to before needles.
    Consented(p::Consented) = "person.consented",
    /// What was seen and felt before planning.
    Looked(p::Looked) = "person.looked",
    /// Which procedure is planned for a day.
    Chose(p::Chose) = "person.chose",
    /// Lengths were measured for the proportional units.
    Measured(p::Measured) = "person.measured",
    /// A visit was booked.
    Booked(p::Booked) = "person.booked",
    /// A session was written up.
    Wrote(p::Wrote) = "person.wrote",
    /// A person called with something after a visit.
    Called(p::Called) = "person.called",
    /// A setting was given a value.
    Set(practice::Set) = "practice.set",
    /// A procedure of the practice's own was composed.
    Composed(procedure::Composed) = "procedure.composed",
    /// A procedure was taken off the list, or put back.
    Retired(procedure::Retired) = "procedure.retired",
    /// A point of the practice's own was described.
    Described(point::Described) = "point.described",
    /// A point of the practice's own was taken away, or put back.
    TakenAway(point::TakenAway) = "point.taken_away",
    /// A copy was taken out.
    CopyMade(c::Made) = "copy.made",
    /// A copy was brought in.
    Brought(c::Brought) = "copy.brought",
    /// Where two facts disagree, one was chosen.
    Settled(c::Settled) = "settled",
    /// What is left of somebody who was erased.
    Residue(c::Residue) = "residue",
}

#[cfg(test)]
mod reference;
