//! Names of things. A replica draws a random name at every start, so a restored or cloned phone
//! cannot reuse one; the counter is one more than the greatest its journal has seen, so that the
//! order of ids is an order in which causes precede effects.

use super::body::{Body, Reader, Writer};
use alloc::format;
use alloc::string::{String, ToString};
use core::fmt;
use core::str::FromStr;

/// The greatest counter that is accepted. 2^53 - 1: exact in every JSON reader, and far from
/// where adding one could overflow.
pub const COUNTER_MAX: u64 = 9_007_199_254_740_991;

/// One run of the app on one device: 128 random bits, written as 32 hexadecimal digits.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Replica(pub u128);

/// The name of an entry. Ordered by counter first: see the module's words.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct EntryId {
    /// Position in the order of causes. 1 to [`COUNTER_MAX`].
    pub counter: u64,
    /// Who wrote it.
    pub replica: Replica,
}

/// The name of a needle that was placed: its placing fact and its place in that fact.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct NeedleId {
    /// The placing fact.
    pub placed: EntryId,
    /// 0 for the first needle of that fact.
    pub ordinal: u16,
}

/// Text that is not a name of the kind asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("not a {0}")]
pub struct BadId(pub &'static str);

impl fmt::Display for Replica {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:032x}", self.0)
    }
}

impl FromStr for Replica {
    type Err = BadId;
    fn from_str(text: &str) -> Result<Self, BadId> {
        let bad = BadId("replica name");
        if text.len() != 32 {
            return Err(bad);
        }
        let mut name = 0_u128;
        for digit in text.bytes() {
            let digit = match digit {
                b'0'..=b'9' => digit.wrapping_sub(b'0'),
                b'a'..=b'f' => digit.wrapping_sub(b'a').wrapping_add(10),
                _ => return Err(bad),
            };
            name = name << 4 | u128::from(digit);
        }
        Ok(Self(name))
    }
}

/// Reads a whole number written without sign, spaces or leading zeroes, so each id has one spelling.
pub(crate) fn plain_number(text: &str) -> Option<u64> {
    let digits = !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
    let leading = text.len() > 1 && text.starts_with('0');
    if digits && !leading {
        text.parse().ok()
    } else {
        None
    }
}

impl EntryId {
    /// No id comes before it.
    pub(crate) const LEAST: Self = Self {
        counter: 0,
        replica: Replica(0),
    };
    /// No id comes after it.
    pub(crate) const GREATEST: Self = Self {
        counter: u64::MAX,
        replica: Replica(u128::MAX),
    };
}

impl fmt::Display for EntryId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}-{}", self.counter, self.replica)
    }
}

impl FromStr for EntryId {
    type Err = BadId;
    fn from_str(text: &str) -> Result<Self, BadId> {
        let bad = BadId("entry name");
        let (counter, replica) = text.split_once('-').ok_or(bad)?;
        let counter = plain_number(counter)
            .filter(|n| (1..=COUNTER_MAX).contains(n))
            .ok_or(bad)?;
        Ok(Self {
            counter,
            replica: replica.parse().map_err(|_| bad)?,
        })
    }
}

impl fmt::Display for NeedleId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}.{}", self.placed, self.ordinal)
    }
}

impl FromStr for NeedleId {
    type Err = BadId;
    fn from_str(text: &str) -> Result<Self, BadId> {
        let bad = BadId("needle name");
        let (placed, ordinal) = text.split_once('.').ok_or(bad)?;
        let ordinal = plain_number(ordinal)
            .and_then(|n| u16::try_from(n).ok())
            .ok_or(bad)?;
        Ok(Self {
            placed: placed.parse().map_err(|_| bad)?,
            ordinal,
        })
    }
}

/// A stream groups the entries that are folded together: one session, one person, the practice.
///
/// Written as a letter for what it is and the entry that began it: `s:12-…` is a session, `p:3-…`
/// a person; `practice` is the one stream that nothing begins.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Stream {
    /// Settings, stock, procedures: what belongs to no one person.
    Practice,
    /// One person's standing facts, named by the entry that first wrote them down.
    Person(EntryId),
    /// One session in the chair, named by its opening entry.
    Session(EntryId),
}

impl fmt::Display for Stream {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Practice => f.write_str("practice"),
            Self::Person(id) => write!(f, "p:{id}"),
            Self::Session(id) => write!(f, "s:{id}"),
        }
    }
}

impl FromStr for Stream {
    type Err = BadId;
    fn from_str(text: &str) -> Result<Self, BadId> {
        let bad = BadId("stream name");
        match text.split_once(':') {
            None if text == "practice" => Ok(Self::Practice),
            Some(("p", id)) => id.parse().map(Self::Person).map_err(|_| bad),
            Some(("s", id)) => id.parse().map(Self::Session).map_err(|_| bad),
            _ => Err(bad),
        }
    }
}

macro_rules! as_text {
    ($($name:ident),*) => {$(
        impl fmt::Debug for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                fmt::Display::fmt(self, f)
            }
        }
    )*};
}
as_text!(Replica, EntryId, NeedleId, Stream);

macro_rules! as_body {
    ($($name:ident, $instead:expr);*) => {$(
        impl Body for $name {
            fn write(&self, out: &mut Writer) {
                out.shown(self);
            }
            fn read(from: &mut Reader<'_>) -> Self {
                from.parsed($instead)
            }
        }
    )*};
}
as_body!(EntryId, Self::LEAST; Stream, Self::Practice);

/// The same for `serde`, which the tests hold ours against.
#[cfg(test)]
macro_rules! text_by_serde {
    ($($name:ident),*) => {$(
        impl serde::Serialize for $name {
            fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                serializer.collect_str(self)
            }
        }
        impl<'de> serde::Deserialize<'de> for $name {
            fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
                let text: String = serde::Deserialize::deserialize(deserializer)?;
                text.parse().map_err(serde::de::Error::custom)
            }
        }
    )*};
}
#[cfg(test)]
pub(crate) use text_by_serde;
#[cfg(test)]
text_by_serde!(EntryId, Stream);

impl EntryId {
    /// The same name as text, for rows keyed by it. Padded so that text order is id order.
    #[must_use]
    pub fn row_key(&self) -> String {
        format!("{:016}-{}", self.counter, self.replica)
    }

    /// Reads what [`EntryId::row_key`] wrote.
    ///
    /// # Errors
    /// If the text is not a padded counter, a hyphen and a replica name.
    pub fn from_row_key(text: &str) -> Result<Self, BadId> {
        let bad = BadId("row key");
        let (counter, replica) = text.split_once('-').ok_or(bad)?;
        if counter.len() != 16 {
            return Err(bad);
        }
        let trimmed = counter.trim_start_matches('0').to_string();
        format!("{trimmed}-{replica}").parse().map_err(|_| bad)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const REPLICA: &str = "00000000000000000000000000000abc";

    #[test]
    fn names_have_one_spelling() {
        let id: EntryId = format!("12-{REPLICA}").parse().unwrap();
        assert_eq!(id.to_string(), format!("12-{REPLICA}"));
        let needle: NeedleId = format!("12-{REPLICA}.3").parse().unwrap();
        assert_eq!(needle.to_string(), format!("12-{REPLICA}.3"));
        for bad in [
            "",
            "0",
            "-",
            "012-",
            "+1-",
            "1-xyz",
            "0-",
            "9007199254740992-",
        ] {
            assert!(
                format!("{bad}{REPLICA}").parse::<EntryId>().is_err(),
                "{bad}"
            );
        }
        for bad in ["12-00000000000000000000000000000ABC", "12-abc", "12"] {
            assert!(bad.parse::<EntryId>().is_err(), "{bad}");
        }
        assert!("s:".parse::<Stream>().is_err());
        assert_eq!("practice".parse(), Ok(Stream::Practice));
    }

    #[test]
    fn row_keys_sort_as_ids_and_read_back() {
        let a: EntryId = format!("9-{REPLICA}").parse().unwrap();
        let b: EntryId = format!("10-{REPLICA}").parse().unwrap();
        assert!(a < b && a.row_key() < b.row_key());
        assert_eq!(EntryId::from_row_key(&a.row_key()), Ok(a));
    }
}
