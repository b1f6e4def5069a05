//! Summaries as rows of bytes. A *sheet* lists streams: the packs their facts lie in, and what they
//! come to in few words. There are *base* sheets, which together list everything, and a small one
//! *since* for every close; idle time lays a new base and takes away what it covers, so that a close
//! writes little and a start reads little.
//!
//! Sheets are caches. The directory of packs and the summaries are told apart: another version of the
//! folds ([`FOLD`]) leaves the directory good and the summaries to be made again.
//!
//! ```text
//! format (1)  length of directory (4, little endian)  directory  summaries  checksum (8: FNV-1a)
//! ```

use crate::base::date::Date;
use crate::base::flat;
use crate::base::id::{BadId, EntryId, Replica, Stream};
use crate::base::pack::{From, Pack};
use crate::base::stamp::Wall;
use crate::{people, session};
use alloc::collections::BinaryHeap;
use alloc::string::{String, ToString};
use alloc::vec::Vec;
use core::fmt;
use core::str::FromStr;

/// The version of what summaries say. To be raised whenever a fold or a summary changes what it makes
/// of the same facts: then every summary is made again. A test folds the golden logs and fails when
/// they come to something else under the same version.
pub const FOLD: u16 = 3;

const FORMAT: u8 = 1;

/// The name of a sheet. Text order is the order of names.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct SheetName {
    /// 1 for the first. A base sheet has the number of the last small one that it covers.
    pub seq: u64,
    /// Of a base sheet: which of how many, from 0.
    pub part: Option<(u32, u32)>,
}

impl fmt::Display for SheetName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.part {
            Some((part, of)) => write!(f, "base.{:016}.{part:06}.{of}", self.seq),
            None => write!(f, "since.{:016}", self.seq),
        }
    }
}

impl FromStr for SheetName {
    type Err = BadId;
    fn from_str(text: &str) -> Result<Self, BadId> {
        let read = || {
            let mut words = text.split('.');
            let kind = words.next()?;
            let seq = words.next()?.parse().ok()?;
            let part = match kind {
                "base" => Some((words.next()?.parse().ok()?, words.next()?.parse().ok()?)),
                _ => None,
            };
            let name = Self { seq, part };
            (name.to_string() == text).then_some(name)
        };
        read().ok_or(BadId("name of a sheet"))
    }
}

/// What a stream comes to.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) enum Line {
    Session(session::Summary),
    Person(people::Summary),
}

/// One stream on a sheet.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Record {
    pub(super) stream: Stream,
    /// The greatest counter and the cover of each of its packs.
    pub(super) packs: Vec<(u64, u64)>,
    /// Whose keys seal it.
    pub(super) keys: Vec<EntryId>,
    /// The latest stamp in it.
    pub(super) latest: Option<Wall>,
    /// Nothing while it is still to be worked out.
    pub(super) line: Option<Line>,
}

type Id = (usize, u64);

#[derive(Pack)]
struct Directory {
    fold: u16,
    seq: u64,
    part: Option<(u32, u32)>,
    replicas: Vec<Replica>,
    rows: Vec<Held>,
}

#[derive(Pack)]
struct Held {
    person: bool,
    id: Id,
    packs: Vec<(u64, u64)>,
    keys: Vec<Id>,
    latest: Option<i64>,
    summed: bool,
}

#[derive(Pack, Default)]
struct Lines {
    sessions: Vec<SessionLaid>,
    people: Vec<PersonLaid>,
}

#[derive(Pack)]
struct SessionLaid {
    opened_at: Option<i64>,
    zone: i16,
    person: Option<Id>,
    rehearsal: bool,
    closed: bool,
    open: bool,
    erased: bool,
    stays_in: u32,
    two_totals: bool,
    fits: Vec<Id>,
    lots: Vec<String>,
}

#[derive(Pack)]
struct PersonLaid {
    name: String,
    erased: bool,
    bookings: Vec<i64>,
    asked: Vec<i32>,
    looked: Vec<i32>,
    written: Vec<Id>,
}

fn sum(bytes: &[u8]) -> u64 {
    bytes.iter().fold(0xcbf2_9ce4_8422_2325, |sum, byte| {
        (sum ^ u64::from(*byte)).wrapping_mul(0x0100_0000_01b3)
    })
}

/// Each number less the one before it, so that days and times take few bytes.
fn steps(all: impl Iterator<Item = i64>) -> Vec<i64> {
    let mut before = 0_i64;
    all.map(|n| n.wrapping_sub(core::mem::replace(&mut before, n)))
        .collect()
}

fn unstepped(all: Vec<i64>) -> impl Iterator<Item = i64> {
    let mut sum = 0_i64;
    all.into_iter().map(move |step| {
        sum = sum.wrapping_add(step);
        sum
    })
}

fn days(all: &[Date]) -> Vec<i32> {
    let steps = steps(all.iter().map(|day| i64::from(day.days())));
    steps
        .into_iter()
        .map(|n| i32::try_from(n).unwrap_or(0))
        .collect()
}

fn dates(all: Vec<i32>) -> Vec<Date> {
    let days = unstepped(all.into_iter().map(i64::from).collect());
    days.filter_map(|n| Date::from_days(i32::try_from(n).ok()?).ok())
        .collect()
}

/// Writes a sheet.
pub(super) fn write(name: SheetName, records: Vec<Record>) -> Vec<u8> {
    // Filled out of order, but a sheet has some hundreds at most.
    let mut places: flat::Map<Replica, usize> = flat::Map::new();
    let mut replicas: Vec<Replica> = Vec::new();
    let mut id = |id: &EntryId| -> Id {
        let place = *places.or_insert_with(id.replica, || {
            replicas.push(id.replica);
            replicas.len().saturating_sub(1)
        });
        (place, id.counter)
    };
    let mut lines = Lines::default();
    let mut rows = Vec::new();
    for record in records {
        let (person, name) = match record.stream {
            Stream::Person(name) => (true, name),
            Stream::Session(name) => (false, name),
            Stream::Practice => continue,
        };
        rows.push(Held {
            person,
            id: id(&name),
            packs: record.packs,
            keys: record.keys.iter().map(&mut id).collect(),
            latest: record.latest.map(|at| at.0),
            summed: record.line.is_some(),
        });
        match record.line {
            Some(Line::Session(s)) => lines.sessions.push(SessionLaid {
                opened_at: s.opened_at.map(|at| at.0),
                zone: s.zone,
                person: s.person.as_ref().map(&mut id),
                rehearsal: s.rehearsal,
                closed: s.closed,
                open: s.open,
                erased: s.erased,
                stays_in: s.stays_in,
                two_totals: s.two_totals,
                fits: s.fits.iter().map(&mut id).collect(),
                lots: s.lots,
            }),
            Some(Line::Person(p)) => lines.people.push(PersonLaid {
                name: p.name,
                erased: p.erased,
                bookings: steps(p.bookings.iter().map(|at| at.0)),
                asked: days(&p.asked),
                looked: days(&p.looked),
                written: p.written.iter().map(&mut id).collect(),
            }),
            None => {}
        }
    }
    let mut directory = Vec::new();
    Directory {
        fold: FOLD,
        seq: name.seq,
        part: name.part,
        replicas,
        rows,
    }
    .pack(&mut directory);
    let mut out = Vec::from([FORMAT]);
    let length = u32::try_from(directory.len()).unwrap_or(u32::MAX);
    out.extend_from_slice(&length.to_le_bytes());
    out.extend(directory);
    lines.pack(&mut out);
    let check = sum(&out);
    out.extend_from_slice(&check.to_le_bytes());
    out
}

/// Reads a sheet; nothing if it is damaged, of another format, or not the one that its name says.
pub(super) fn read(name: SheetName, bytes: &[u8]) -> Option<Vec<Record>> {
    let (body, check) = bytes.split_last_chunk::<8>()?;
    if sum(body) != u64::from_le_bytes(*check) {
        return None;
    }
    let (format, rest) = body.split_first()?;
    let (length, rest) = rest.split_first_chunk::<4>()?;
    let length = usize::try_from(u32::from_le_bytes(*length)).ok()?;
    let (directory, lines) = rest.split_at_checked(length)?;
    let directory: Directory = From::whole(directory)?;
    if *format != FORMAT || (directory.seq, directory.part) != (name.seq, name.part) {
        return None;
    }
    let lines: Option<Lines> = (directory.fold == FOLD)
        .then(|| From::whole(lines))
        .flatten();
    let lines = lines.unwrap_or_default();
    let (mut sessions, mut people) = (lines.sessions.into_iter(), lines.people.into_iter());
    let id = |(place, counter): Id| {
        let replica = *directory.replicas.get(place)?;
        Some(EntryId { counter, replica })
    };
    let ids = |all: Vec<Id>| -> Option<Vec<EntryId>> { all.into_iter().map(id).collect() };
    let mut records = Vec::with_capacity(directory.rows.len().min(4096));
    for row in directory.rows {
        let line = match (row.summed, row.person) {
            (false, _) => None,
            (true, false) => sessions.next().and_then(|s| {
                Some(Line::Session(session::Summary {
                    opened_at: s.opened_at.map(Wall),
                    zone: s.zone,
                    person: match s.person {
                        Some(person) => Some(id(person)?),
                        None => None,
                    },
                    rehearsal: s.rehearsal,
                    closed: s.closed,
                    open: s.open,
                    erased: s.erased,
                    stays_in: s.stays_in,
                    two_totals: s.two_totals,
                    fits: ids(s.fits)?,
                    lots: s.lots,
                }))
            }),
            (true, true) => people.next().and_then(|p| {
                Some(Line::Person(people::Summary {
                    name: p.name,
                    erased: p.erased,
                    bookings: unstepped(p.bookings).map(Wall).collect(),
                    asked: dates(p.asked),
                    looked: dates(p.looked),
                    written: ids(p.written)?,
                }))
            }),
        };
        let name = id(row.id)?;
        records.push(Record {
            stream: if row.person {
                Stream::Person(name)
            } else {
                Stream::Session(name)
            },
            packs: row.packs,
            keys: ids(row.keys)?,
            latest: row.latest.map(Wall),
            line,
        });
    }
    Some(records)
}

/// Everything that sheets list.
#[derive(Clone, Debug, Default)]
pub struct Index {
    pub(super) records: Vec<Record>,
    /// Whether all sheets were there and sound. If not, [`super::Ledger::audit`] has to be given the
    /// names of all packs before anything is shown.
    pub sound: bool,
    /// The number of the latest sheet.
    pub seq: u64,
    /// How many small sheets lie beside the base.
    pub since: usize,
}

impl Index {
    /// Reads sheets, in any order: the name and the bytes of each; no bytes where they could not be
    /// had. What is damaged is left out and makes the index not [`Index::sound`].
    #[must_use]
    pub fn read(sheets: &[(SheetName, Option<Vec<u8>>)]) -> Self {
        let mut sound = true;
        let parts = |seq: u64| {
            sheets
                .iter()
                .filter(move |(n, _)| n.seq == seq && n.part.is_some())
        };
        let complete = |seq: u64| {
            let of = parts(seq)
                .find_map(|(name, _)| name.part)
                .map_or(0, |(_, of)| of);
            usize::try_from(of).is_ok_and(|of| of > 0 && parts(seq).count() == of)
        };
        let bases: flat::Set<u64> = sheets
            .iter()
            .filter_map(|(n, _)| n.part.map(|_| n.seq))
            .collect();
        let base = bases.iter().rev().find(|seq| complete(**seq)).copied();
        // A base in the making lies beside a complete one, which is taken away last.
        let base = base.or_else(|| bases.last().copied().inspect(|_| sound = false));
        let from = base.unwrap_or(0);
        let mut counts: Vec<&(SheetName, Option<Vec<u8>>)> = sheets
            .iter()
            .filter(|(n, _)| match n.part {
                Some(_) => Some(n.seq) == base,
                None => n.seq > from,
            })
            .collect();
        flat::sort_by_key(&mut counts, |(name, _)| (name.seq, name.part.is_none()));
        let (mut seq, mut since) = (from, 0_usize);
        let mut found: Vec<(usize, Record)> = Vec::new();
        for (at, (name, bytes)) in counts.into_iter().enumerate() {
            if name.part.is_none() {
                // The number of a base that was never finished is not used again.
                let mut next = seq.saturating_add(1);
                while bases.contains(&next) && next < name.seq {
                    next = next.saturating_add(1);
                }
                sound &= name.seq == next;
                seq = name.seq;
                since = since.saturating_add(1);
            }
            match bytes.as_ref().and_then(|bytes| read(*name, bytes)) {
                Some(records) => found.extend(records.into_iter().map(|r| (at, r))),
                None => sound = false,
            }
        }
        // The latest word on a stream stands.
        // A heap's sort: this list is long, and the sort of short ones takes its square.
        let order = found.iter().enumerate();
        let order: Vec<_> = order
            .map(|(place, (at, r))| (r.stream, core::cmp::Reverse(*at), place))
            .collect();
        let mut order = BinaryHeap::from(order).into_sorted_vec();
        order.dedup_by_key(|(stream, ..)| *stream);
        let mut found: Vec<Option<Record>> = found.into_iter().map(|(_, r)| Some(r)).collect();
        let mut records = Vec::with_capacity(order.len());
        for (_, _, place) in order {
            records.extend(found.get_mut(place).and_then(Option::take));
        }
        let greatest = sheets.iter().map(|(name, _)| name.seq).max().unwrap_or(0);
        Self {
            records,
            sound,
            seq: seq.max(greatest),
            since,
        }
    }
}
