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

use super::slot::{self, Slot, Summed};
use crate::base::date::Date;
use crate::base::flat;
use crate::base::id::{BadId, EntryId, Replica, Stream};
use crate::base::pack::{From, Pack};
use crate::base::stamp::Wall;
use crate::people::{self, Person};
use crate::session::{self, Session};
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

fn days(all: &[Date]) -> Vec<i32> {
    let steps = steps(all.iter().map(|day| i64::from(day.days())));
    steps
        .into_iter()
        .map(|n| i32::try_from(n).unwrap_or(0))
        .collect()
}

fn dates(from: &mut From<'_>) -> Vec<Date> {
    let mut day = 0_i32;
    let all = from.list(|from| {
        day = day.wrapping_add(i32::unpack(from));
        Date::from_days(day).ok()
    });
    all.into_iter().flatten().collect()
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

/// Fills in what streams come to, of those that were summed up when the sheet was written.
fn fill<F: Summed>(
    from: &mut From<'_>,
    rows: &mut [(EntryId, Slot<F>)],
    mut one: impl FnMut(&mut From<'_>) -> F::Line,
) {
    let mut left = from.length();
    for line in rows.iter_mut().map(|(_, slot)| &mut slot.line) {
        if line.is_some() {
            *line = (left > 0).then(|| one(from));
            left = left.saturating_sub(1);
        }
    }
    if left > 0 {
        from.spoil();
    }
}

type Rows<F> = Vec<(EntryId, Slot<F>)>;

/// Reads a sheet behind what was read before. Nothing if it is damaged, of another format, or not the one
/// that its name says; what came of it till then is to be taken away again. Every value is made where it
/// stays: a start reads thousands.
fn read(
    name: SheetName,
    bytes: &[u8],
    people: &mut Rows<Person>,
    sessions: &mut Rows<Session>,
) -> Option<()> {
    let (body, check) = bytes.split_last_chunk::<8>()?;
    if sum(body) != u64::from_le_bytes(*check) {
        return None;
    }
    let (format, rest) = body.split_first()?;
    let (length, rest) = rest.split_first_chunk::<4>()?;
    let length = usize::try_from(u32::from_le_bytes(*length)).ok()?;
    let (directory, lines) = rest.split_at_checked(length)?;
    let mut from = From::over(directory);
    let (fold, seq) = (u16::unpack(&mut from), u64::unpack(&mut from));
    let part = Option::unpack(&mut from);
    if *format != FORMAT || (seq, part) != (name.seq, name.part) {
        return None;
    }
    let replicas = Vec::<Replica>::unpack(&mut from);
    let id = |from: &mut From<'_>| {
        let (place, counter) = Id::unpack(from);
        let replica = replicas.get(place).copied().unwrap_or_else(|| {
            from.spoil();
            Replica(0)
        });
        EntryId { counter, replica }
    };
    let new = (people.len(), sessions.len());
    let _: Vec<()> = from.list(|from| {
        let (person, id_of) = (bool::unpack(from), id(from));
        let held = slot::Held {
            packs: from.list(|from| (Pack::unpack(from), false)).into(),
            keys: from.list(id).into(),
            latest: Option::unpack(from).map(Wall),
            ..slot::Held::default()
        };
        let summed = bool::unpack(from);
        if person {
            people.push((id_of, Slot::of(held, summed)));
        } else {
            sessions.push((id_of, Slot::of(held, summed)));
        }
    });
    if !from.sound() {
        return None;
    }
    let (people, sessions) = (people.get_mut(new.0..)?, sessions.get_mut(new.1..)?);
    let mut from = From::over(if fold == FOLD { lines } else { &[] });
    fill(&mut from, sessions, |from| session::Summary {
        opened_at: Option::unpack(from).map(Wall),
        zone: i16::unpack(from),
        person: bool::unpack(from).then(|| id(from)),
        rehearsal: bool::unpack(from),
        closed: bool::unpack(from),
        open: bool::unpack(from),
        erased: bool::unpack(from),
        stays_in: u32::unpack(from),
        two_totals: bool::unpack(from),
        fits: from.list(id),
        lots: Vec::unpack(from),
    });
    fill(&mut from, people, |from| {
        let (name, erased) = (String::unpack(from), bool::unpack(from));
        let mut at = 0_i64;
        let bookings = from.list(|from| {
            at = at.wrapping_add(i64::unpack(from));
            Wall(at)
        });
        people::Summary {
            name,
            erased,
            bookings,
            asked: dates(from),
            looked: dates(from),
            written: from.list(id),
        }
    });
    if !from.sound() {
        people.iter_mut().for_each(|(_, slot)| slot.line = None);
        sessions.iter_mut().for_each(|(_, slot)| slot.line = None);
    }
    Some(())
}

/// Rows under their names; of several under one name the last.
fn latest<F: Summed>(rows: Rows<F>) -> flat::Map<EntryId, Slot<F>> {
    let names: Vec<EntryId> = rows.iter().map(|(id, _)| *id).collect();
    let order = flat::order(names.len(), &|a, b| names.get(a) > names.get(b));
    let mut rows: Vec<_> = rows.into_iter().map(Some).collect();
    let mut all: Rows<F> = Vec::with_capacity(rows.len());
    for at in order {
        let Some(row) = rows.get_mut(at).and_then(Option::take) else {
            continue;
        };
        match all.last_mut().filter(|last| last.0 == row.0) {
            Some(last) => *last = row,
            None => all.push(row),
        }
    }
    flat::Map::in_order(all)
}

/// Everything that sheets list.
#[derive(Clone, Debug, Default)]
pub struct Index {
    pub(super) people: flat::Map<EntryId, Slot<Person>>,
    pub(super) sessions: flat::Map<EntryId, Slot<Session>>,
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
        // Room at once, not doubled and moved time and again: a session takes some hundred bytes.
        let sizes = counts
            .iter()
            .map(|(_, bytes)| bytes.as_ref().map_or(0, Vec::len));
        let room = sizes.fold(0, usize::saturating_add) / 100;
        let (mut people, mut sessions) = (Vec::new(), Vec::with_capacity(room));
        for (name, bytes) in counts {
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
            let before = (people.len(), sessions.len());
            let bytes = bytes.as_ref();
            let taken = bytes.and_then(|bytes| read(*name, bytes, &mut people, &mut sessions));
            if taken.is_none() {
                people.truncate(before.0);
                sessions.truncate(before.1);
                sound = false;
            }
        }
        let greatest = sheets.iter().map(|(name, _)| name.seq).max().unwrap_or(0);
        Self {
            // The latest word on a stream stands.
            people: latest(people),
            sessions: latest(sessions),
            sound,
            seq: seq.max(greatest),
            since,
        }
    }
}
