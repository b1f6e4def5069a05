//! Entries of one stream packed into one row, so that a start need not read what is closed.
//!
//! Packing is bytes only: what comes out is what went in. A pack has an envelope part and, for each
//! key, a part of bodies, so it can be sealed as single rows are: envelopes under the practice's
//! key, bodies under the person's. A fact that is in a pack and in a row is one fact.
//!
//! The envelope part is a version byte (1) and then, in the form of [`crate::base::pack`]: the stream;
//! tables of replicas, keys and kinds; and one row an entry, whose counter and times are differences
//! from the row before. A part of bodies is the list of the bodies' JSON, as it stood, in the order of
//! the entries under that key.

use super::{Entry, KeyId};
use crate::base::flat;
use crate::base::id::{BadId, COUNTER_MAX, EntryId, Replica, Stream, plain_number};
use crate::base::pack::{From, Pack};
use crate::base::stamp::{Stamp, Wall, When};
use alloc::borrow::ToOwned;
use alloc::string::{String, ToString};
use alloc::vec::Vec;
use core::fmt;
use core::str::FromStr;
use serde_json::value::RawValue;

/// The version of the envelope part, its first byte.
const VERSION: u8 = 1;

/// The name of a pack: whose entries, the greatest counter among them, and a hash of their ids. Two
/// packs of one name hold the same facts.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct PackName {
    /// Whose entries.
    pub stream: Stream,
    /// The greatest counter of their ids.
    pub last: u64,
    /// A hash of their ids; the order in which they are taken does not matter.
    pub cover: u64,
}

impl fmt::Display for PackName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{}-{:016x}", self.stream, self.last, self.cover)
    }
}

impl FromStr for PackName {
    type Err = BadId;
    fn from_str(text: &str) -> Result<Self, BadId> {
        let read = || {
            let (stream, rest) = text.split_once('/')?;
            let (last, cover) = rest.split_once('-')?;
            // One spelling only. Not asked by writing it again: there are thousands.
            let hex = |b: u8| matches!(b, b'0'..=b'9' | b'a'..=b'f');
            if cover.len() != 16 || !cover.bytes().all(hex) {
                return None;
            }
            Some(Self {
                stream: stream.parse().ok()?,
                last: plain_number(last)?,
                cover: u64::from_str_radix(cover, 16).ok()?,
            })
        };
        read().ok_or(BadId("name of a pack"))
    }
}

/// What an id adds to [`PackName::cover`]: its bits, stirred.
fn stirred(id: EntryId) -> u64 {
    let low = u64::try_from(id.replica.0 & u128::from(u64::MAX)).unwrap_or(0);
    let high = u64::try_from(id.replica.0 >> 64).unwrap_or(0);
    let mut x = low ^ high.rotate_left(32) ^ id.counter.wrapping_mul(0x9e37_79b9_7f4a_7c15);
    x = (x ^ (x >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    x = (x ^ (x >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    x ^ (x >> 31)
}

/// Packed entries of one stream.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Packed {
    /// Its name.
    pub name: PackName,
    /// All but the bodies.
    pub envelopes: Vec<u8>,
    /// The bodies under each key. A part that is not here was sealed under a key that is gone: its
    /// entries come out without bodies.
    pub bodies: Vec<(KeyId, Vec<u8>)>,
}

/// Why a pack cannot be read. Keep its text as it stands.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum PackFlaw {
    /// From a newer build, of this version.
    Newer(u8),
    /// Damaged.
    Spoilt,
    /// Sound, but another pack than its name says.
    Misnamed,
}

#[derive(Pack)]
struct Envelopes {
    stream: String,
    replicas: Vec<Replica>,
    keys: Vec<String>,
    kinds: Vec<String>,
    rows: Vec<Row>,
}

/// One envelope. Differences are from the row before, and wrap.
#[derive(Pack)]
struct Row {
    counter: u64,
    replica: usize,
    wall: i64,
    mono: i64,
    zone: i16,
    when: Option<(i64, Option<i64>)>,
    key: usize,
    act: Option<(i64, usize)>,
    kind: usize,
    v: u16,
}

/// The place of a value in a table, put there if it is new. Tables are short.
fn place<T: PartialEq>(table: &mut Vec<T>, value: T) -> usize {
    match table.iter().position(|known| *known == value) {
        Some(at) => at,
        None => {
            table.push(value);
            table.len().saturating_sub(1)
        }
    }
}

impl Packed {
    /// Packs entries of one stream; none if there are none. Entries of other streams are left out.
    #[must_use]
    pub fn new<'a>(stream: Stream, entries: impl Iterator<Item = &'a Entry>) -> Option<Self> {
        let mut all: Vec<&Entry> = entries.filter(|e| e.stream == stream).collect();
        flat::sort_by(&mut all, |a, b| a.cmp(b));
        all.dedup();
        let last = all.last()?.id.counter;
        let mut out = Envelopes {
            stream: stream.to_string(),
            replicas: Vec::new(),
            keys: Vec::new(),
            kinds: Vec::new(),
            rows: Vec::new(),
        };
        let mut bodies: Vec<(KeyId, Vec<String>)> = Vec::new();
        let (mut cover, mut before, mut at) = (0_u64, 0_u64, Stamp::default());
        for entry in all {
            cover = cover.wrapping_add(stirred(entry.id));
            let difference = |to: Wall| to.0.wrapping_sub(entry.at.wall.0);
            out.rows.push(Row {
                counter: entry.id.counter.saturating_sub(before),
                replica: place(&mut out.replicas, entry.id.replica),
                wall: entry.at.wall.0.wrapping_sub(at.wall.0),
                mono: entry.at.mono.wrapping_sub(at.mono),
                zone: entry.at.zone,
                when: match entry.when {
                    When::Now => None,
                    When::About(a) => Some((difference(a), None)),
                    When::Between(a, b) => Some((difference(a), Some(difference(b)))),
                },
                key: place(&mut out.keys, entry.key.to_string()),
                act: entry.act.map(|act| {
                    let back = entry.id.counter.wrapping_sub(act.counter);
                    (back.cast_signed(), place(&mut out.replicas, act.replica))
                }),
                kind: place(&mut out.kinds, entry.kind.clone()),
                v: entry.v,
            });
            let body = entry.body.get().to_string();
            match bodies.iter_mut().find(|(key, _)| *key == entry.key) {
                Some((_, list)) => list.push(body),
                None => bodies.push((entry.key, Vec::from([body]))),
            }
            (before, at) = (entry.id.counter, entry.at);
        }
        let mut envelopes = Vec::from([VERSION]);
        out.pack(&mut envelopes);
        let bodies = bodies.into_iter().map(|(key, list)| {
            let mut bytes = Vec::new();
            list.pack(&mut bytes);
            (key, bytes)
        });
        Some(Self {
            name: PackName {
                stream,
                last,
                cover,
            },
            envelopes,
            bodies: bodies.collect(),
        })
    }

    /// The entries, causes before effects.
    ///
    /// # Errors
    /// [`PackFlaw`] says why not; nothing of a flawed pack is given, so nothing is half known.
    pub fn entries(&self) -> Result<Vec<Entry>, PackFlaw> {
        let read = match self.envelopes.split_first() {
            Some((&VERSION, rest)) => From::whole::<Envelopes>(rest).ok_or(PackFlaw::Spoilt)?,
            Some((&newer, _)) if newer > VERSION => return Err(PackFlaw::Newer(newer)),
            _ => return Err(PackFlaw::Spoilt),
        };
        let mut bodies: Vec<(KeyId, alloc::vec::IntoIter<String>)> = Vec::new();
        for (key, bytes) in &self.bodies {
            let list: Vec<String> = From::whole(bytes).ok_or(PackFlaw::Spoilt)?;
            bodies.push((*key, list.into_iter()));
        }
        let stream: Option<Stream> = read.stream.parse().ok();
        let keys: Vec<KeyId> = read.keys.iter().filter_map(|k| k.parse().ok()).collect();
        if stream != Some(self.name.stream) || keys.len() != read.keys.len() {
            return Err(if stream.is_some() {
                PackFlaw::Misnamed
            } else {
                PackFlaw::Spoilt
            });
        }
        let mut all = Vec::new();
        let (mut counter, mut at, mut cover) = (0_u64, Stamp::default(), 0_u64);
        for row in &read.rows {
            let entry = Self::entry(&read, &keys, row, self.name.stream, (counter, at));
            let mut entry = entry.ok_or(PackFlaw::Spoilt)?;
            if let Some((_, list)) = bodies.iter_mut().find(|(key, _)| *key == entry.key) {
                let body = list
                    .next()
                    .and_then(|text| RawValue::from_string(text).ok());
                entry.body = body.ok_or(PackFlaw::Spoilt)?;
            }
            cover = cover.wrapping_add(stirred(entry.id));
            (counter, at) = (entry.id.counter, entry.at);
            all.push(entry);
        }
        if bodies.iter().any(|(_, list)| !list.as_slice().is_empty()) {
            return Err(PackFlaw::Spoilt);
        }
        if cover != self.name.cover || counter != self.name.last {
            return Err(PackFlaw::Misnamed);
        }
        Ok(all)
    }

    /// One entry without its body; none if the row points nowhere.
    fn entry(
        read: &Envelopes,
        keys: &[KeyId],
        row: &Row,
        stream: Stream,
        (counter, before): (u64, Stamp),
    ) -> Option<Entry> {
        let id = |counter: u64, replica: usize| {
            let replica = *read.replicas.get(replica)?;
            (1..=COUNTER_MAX)
                .contains(&counter)
                .then_some(EntryId { counter, replica })
        };
        let name = id(counter.checked_add(row.counter)?, row.replica)?;
        let wall = Wall(before.wall.0.wrapping_add(row.wall));
        let then = |difference: i64| Wall(wall.0.wrapping_add(difference));
        Some(Entry {
            id: name,
            at: Stamp {
                wall,
                mono: before.mono.wrapping_add(row.mono),
                zone: row.zone,
            },
            when: match row.when {
                None => When::Now,
                Some((a, None)) => When::About(then(a)),
                Some((a, Some(b))) => When::Between(then(a), then(b)),
            },
            stream,
            key: *keys.get(row.key)?,
            act: match row.act {
                None => None,
                Some((back, replica)) => Some(id(
                    name.counter.wrapping_sub(back.cast_unsigned()),
                    replica,
                )?),
            },
            kind: read.kinds.get(row.kind)?.clone(),
            v: row.v,
            body: RawValue::NULL.to_owned(),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::property;
    use alloc::format;
    use proptest::prelude::*;

    fn id() -> impl Strategy<Value = EntryId> {
        let counter = prop_oneof![1..50_u64, 1..=COUNTER_MAX];
        let replica = prop_oneof![0..3_u128, any::<u128>()];
        (counter, replica).prop_map(|(counter, replica)| EntryId {
            counter,
            replica: Replica(replica),
        })
    }

    fn wall() -> impl Strategy<Value = Wall> {
        prop_oneof![0..5_i64, any::<i64>()].prop_map(Wall)
    }

    fn any_entry(stream: Stream) -> impl Strategy<Value = Entry> {
        let when = prop_oneof![
            Just(When::Now),
            wall().prop_map(When::About),
            (wall(), wall()).prop_map(|(a, b)| When::Between(a, b)),
        ];
        let key = prop_oneof![Just(KeyId::Practice), id().prop_map(KeyId::Person)];
        let kind = prop_oneof![Just(String::from("note")), ".{0,12}"];
        let body = prop_oneof![
            ".{0,20}".prop_map(|t| format!("{{\"text\":{}}}", crate::base::body::write(&t))),
            Just(String::from(" {\"b\" : 1,\n\"a\":[1.50e3, null]} ")),
            Just(String::from("null")),
        ];
        let at = (wall(), any::<i64>(), any::<i16>());
        let act = prop::option::of(id());
        (id(), at, when, key, act, kind, any::<u16>(), body).prop_map(
            move |(id, (wall, mono, zone), when, key, act, kind, v, body)| Entry {
                id,
                at: Stamp { wall, mono, zone },
                when,
                stream,
                key,
                act,
                kind,
                v,
                body: Entry::raw(&body),
            },
        )
    }

    fn stream() -> impl Strategy<Value = Stream> {
        prop_oneof![
            Just(Stream::Practice),
            id().prop_map(Stream::Person),
            id().prop_map(Stream::Session),
        ]
    }

    fn some() -> impl Strategy<Value = (Stream, Vec<Entry>)> {
        stream().prop_flat_map(|s| (Just(s), prop::collection::vec(any_entry(s), 1..20)))
    }

    #[test]
    fn what_is_packed_comes_out() {
        property("unpack after pack", 2000, &some(), |(stream, mut all)| {
            let packed = Packed::new(stream, all.iter()).unwrap();
            prop_assert_eq!(packed.name.to_string().parse(), Ok(packed.name));
            let again = packed.entries();
            all.sort();
            all.dedup();
            prop_assert_eq!(&again, &Ok(all.clone()));
            let bodies = |all: &[Entry]| -> Vec<String> {
                all.iter().map(|e| e.body.get().to_string()).collect()
            };
            prop_assert_eq!(bodies(&again.unwrap()), bodies(&all), "byte for byte");
            all.reverse();
            prop_assert_eq!(Packed::new(stream, all.iter()), Some(packed));
            Ok(())
        });
    }

    #[test]
    fn without_a_keys_part_what_is_left_is_the_residue() {
        property("a pack after an erasure", 500, &some(), |(stream, all)| {
            let mut packed = Packed::new(stream, all.iter()).unwrap();
            let whole = packed.entries().unwrap();
            let (gone, _) = packed.bodies.remove(0);
            let left = packed.entries().unwrap();
            for (a, b) in whole.into_iter().zip(left) {
                let a = if a.key == gone { a.without_body() } else { a };
                prop_assert_eq!(a, b);
            }
            Ok(())
        });
    }

    #[test]
    fn a_damaged_pack_is_refused_whole_and_any_bytes_end_in_an_answer() {
        let bytes = prop::collection::vec(any::<u8>(), 0..60);
        let damage = (some(), any::<prop::sample::Index>(), 1..=255_u8, bytes);
        let (mut refused, mut same) = (0, 0);
        let counts = core::cell::RefCell::new((&mut refused, &mut same));
        property(
            "a damaged pack",
            2000,
            &damage,
            |((stream, all), at, flip, noise)| {
                let packed = Packed::new(stream, all.iter()).unwrap();
                let mut spoilt = packed.clone();
                let at = at.index(spoilt.envelopes.len());
                spoilt.envelopes[at] ^= flip;
                match spoilt.entries() {
                    Err(_) => *counts.borrow_mut().0 += 1,
                    // What a name does not cover is sealed or summed by whoever keeps the bytes.
                    Ok(_) => *counts.borrow_mut().1 += 1,
                }
                spoilt.envelopes = noise.clone();
                let _ = spoilt.entries();
                spoilt.envelopes = packed.envelopes.clone();
                spoilt.bodies[0].1 = noise;
                let _ = spoilt.entries();
                let mut newer = packed;
                newer.envelopes[0] = 2;
                prop_assert_eq!(newer.entries(), Err(PackFlaw::Newer(2)));
                Ok(())
            },
        );
        assert!(refused > 500, "{refused} refused, {same} read");
    }

    #[test]
    fn a_pack_under_another_name_is_not_taken() {
        let line = r#"{"id":"7-00000000000000000000000000000001","at":{"wall":5,"mono":1,"zone":0},"stream":"practice","kind":"note","body":{"text":"x"}}"#;
        let entry = Entry::from_line(line).unwrap();
        let packed = Packed::new(Stream::Practice, [&entry].into_iter()).unwrap();
        assert!(packed.entries().is_ok(), "control");
        for name in [
            PackName {
                last: 8,
                ..packed.name
            },
            PackName {
                cover: 8,
                ..packed.name
            },
            PackName {
                stream: Stream::Person(entry.id),
                ..packed.name
            },
        ] {
            let mut other = packed.clone();
            other.name = name;
            assert_eq!(other.entries(), Err(PackFlaw::Misnamed));
        }
        assert_eq!(
            Packed::new(Stream::Person(entry.id), [&entry].into_iter()),
            None
        );
        let good = "practice/7-00000000000000af";
        assert_eq!(
            good.parse().map(|name: PackName| name.to_string()),
            Ok(good.into())
        );
        for bad in [
            "practice/7-1",
            "practice/07-0000000000000001",
            "practice/+7-0000000000000001",
            "practice/7-00000000000000AF",
            "practice/7-+00000000000000f",
            "practice/7-000000000000000af",
            "practice/18446744073709551616-00000000000000af",
            "x/7-0",
            "",
        ] {
            assert!(bad.parse::<PackName>().is_err(), "{bad}");
        }
    }
}
