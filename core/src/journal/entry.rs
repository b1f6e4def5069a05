//! The envelope of a fact. It is read before the body, so an entry whose kind nobody here knows is
//! still kept, ordered, merged and written out again untouched.

use super::Sum;
use crate::base::body::{self, Body, Reader, Writer, Wrong};
use crate::base::id::{BadId, EntryId, Stream};
use crate::base::stamp::{Stamp, When};
use alloc::borrow::ToOwned;
use alloc::boxed::Box;
use alloc::string::String;
use alloc::vec::Vec;
use core::cmp::Ordering;
use core::fmt;
use core::str::FromStr;
use serde_json::value::RawValue;

/// The kind of a fact that the journal itself understands: a destroyed key.
pub const TOMBSTONE: &str = "key.erased";

/// The kind of another: which of several facts stands. Of two texts of one id it is the journal that
/// makes it so.
pub const SETTLED: &str = "settled";

/// Whose key seals a body. A person's key can be destroyed; the practice's cannot.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub enum KeyId {
    /// What belongs to no one person.
    #[default]
    Practice,
    /// Named by the entry that first wrote the person down.
    Person(EntryId),
}

impl KeyId {
    fn is_practice(&self) -> bool {
        *self == Self::Practice
    }
}

impl fmt::Display for KeyId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Practice => f.write_str("practice"),
            Self::Person(id) => write!(f, "p:{id}"),
        }
    }
}

impl fmt::Debug for KeyId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

impl FromStr for KeyId {
    type Err = BadId;
    fn from_str(text: &str) -> Result<Self, BadId> {
        let bad = BadId("key name");
        match text.strip_prefix("p:") {
            Some(id) => id.parse().map(Self::Person).map_err(|_| bad),
            None if text == "practice" => Ok(Self::Practice),
            None => Err(bad),
        }
    }
}

impl Body for KeyId {
    fn write(&self, out: &mut Writer) {
        out.shown(self);
        out.nothing_if(self.is_practice());
    }
    fn read(from: &mut Reader<'_>) -> Self {
        if from.missing() {
            Self::Practice
        } else {
            from.parsed(Self::Practice)
        }
    }
}

fn first_version() -> u16 {
    1
}

#[expect(
    clippy::trivially_copy_pass_by_ref,
    reason = "a field is passed by reference"
)]
fn is_first_version(v: &u16) -> bool {
    *v == 1
}

#[cfg(test)]
crate::base::id::text_by_serde!(KeyId);

/// The body of a tombstone. Unknown fields are let pass: erasing must hold whatever else is said.
#[derive(Clone, Debug, PartialEq, Eq, Body)]
pub struct Tomb {
    /// The key that is destroyed.
    pub key: KeyId,
    /// Sessions of that person which had begun before anybody said whose they were: what was written
    /// there under the practice's key is erased with them.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub streams: Vec<Stream>,
}

/// One fact in its envelope.
///
/// The field order is the order in files. Unknown fields make the line unreadable rather than be
/// dropped in silence: it is kept whole, for a newer build.
#[derive(Clone, Debug, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(deny_unknown_fields)]
pub struct Entry {
    /// Its name.
    pub id: EntryId,
    /// When it was entered.
    pub at: Stamp,
    /// When it happened.
    #[serde(default, skip_serializing_if = "When::is_now")]
    pub when: When,
    /// What it is folded with.
    pub stream: Stream,
    /// Whose key seals the body.
    #[serde(default, skip_serializing_if = "KeyId::is_practice")]
    pub key: KeyId,
    /// The first fact of the same act, if this is not it: one press may state several facts, and
    /// one undo takes them back together.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub act: Option<EntryId>,
    /// The kind of fact.
    pub kind: String,
    /// Version of the body's shape.
    #[serde(default = "first_version", skip_serializing_if = "is_first_version")]
    pub v: u16,
    /// The fact itself, read only by those who know the kind. `null` once its key was destroyed.
    pub body: Box<RawValue>,
}

impl Entry {
    /// A body from JSON text; `null` if it is not JSON, which only a programming slip can cause.
    #[must_use]
    pub fn raw(text: &str) -> Box<RawValue> {
        RawValue::from_string(text.to_owned()).unwrap_or_else(|_| RawValue::NULL.to_owned())
    }

    /// What is left of an entry whose key was destroyed: that there was one, and when.
    #[must_use]
    pub fn without_body(mut self) -> Self {
        self.body = RawValue::NULL.to_owned();
        self
    }

    /// The key that this entry destroys, if it is a tombstone.
    #[must_use]
    pub fn erases(&self) -> Option<KeyId> {
        self.tomb().map(|tomb| tomb.key)
    }

    /// What a tombstone says.
    #[must_use]
    pub fn tomb(&self) -> Option<Tomb> {
        if self.kind != TOMBSTONE {
            return None;
        }
        body::read(&self.body).ok()
    }

    /// Of which id it chooses a text, and which, if it does. Only under the practice's key: such a
    /// word is never erased, so it holds wherever it was once heard.
    #[must_use]
    pub fn chooses(&self) -> Option<(EntryId, Sum)> {
        #[derive(Body)]
        struct Choice {
            stands: EntryId,
            #[serde(default)]
            text: Option<Sum>,
        }
        if self.kind != SETTLED || !self.key.is_practice() {
            return None;
        }
        let read = body::read::<Choice>(&self.body).ok()?;
        Some((read.stands, read.text?))
    }

    /// The entry as one line of text, without the line's end.
    #[must_use]
    pub fn to_line(&self) -> String {
        body::write(self)
    }

    /// Reads one line.
    ///
    /// # Errors
    /// If the line is not JSON, or not of this shape. The reader's words name the field.
    pub fn from_line(line: &str) -> Result<Self, Wrong> {
        body::read_any(line)
    }

    fn sort_key(&self) -> impl Ord + '_ {
        let when = match self.when {
            When::Now => (0_u8, 0, 0),
            When::About(at) => (1, at.0, 0),
            When::Between(a, b) => (2, a.0, b.0),
        };
        let at = (self.at.wall, self.at.mono, self.at.zone);
        (
            self.id,
            at,
            when,
            self.stream,
            self.key,
            self.act,
            &self.kind,
            self.v,
            self.body.get(),
        )
    }
}

impl PartialEq for Entry {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Entry {}

impl PartialOrd for Entry {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Entry {
    fn cmp(&self, other: &Self) -> Ordering {
        self.sort_key().cmp(&other.sort_key())
    }
}
