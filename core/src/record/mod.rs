//! L6. The written record of a session: what a later reader needs, from the facts alone. Where
//! nothing was written per needle it says so, and a block is never printed as single times.

mod happened;
pub mod said;

use crate::atlas::Region;
use crate::base::date::Date;
use crate::base::flat;
use crate::base::id::EntryId;
use crate::base::stamp::Wall;
use crate::event::Event;
use crate::event::person::{Consented, Overrode, Wrote};
use crate::event::session::{LeftOut, Mode, PointUse, Used};
use crate::ledger::{Ledger, Want};
use crate::needle::Size;
use crate::session::{Fate, FlawKind, Sum};
use crate::view::visit::day_of;
use alloc::string::{String, ToString};
use alloc::vec::Vec;

/// A stretch of time; both ends the same where there was one moment.
pub type Range = (Wall, Wall);

/// One region of the record.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RegionRecord {
    /// Where.
    pub region: Region,
    /// Needles by size.
    pub sizes: Vec<(Option<Size>, u32)>,
    /// Points named, in order.
    pub points: Vec<PointUse>,
    /// When they went in.
    pub went_in: Range,
    /// When they came out, for those that did.
    pub came_out: Option<Range>,
    /// Placed.
    pub placed: u32,
    /// Out and counted.
    pub out: u32,
    /// In on purpose.
    pub stays_in: u32,
    /// Looked for, not found.
    pub not_found: u32,
    /// Still in, out and not yet counted, or gone from its place unseen.
    pub open: u32,
    /// Stayed in on purpose, and fell off unseen.
    pub fell_off: u32,
    /// Counted as a block, faster than a hand works: the time it came out is a range, and no single
    /// needle's time can be read from it.
    pub block: bool,
    /// The first answer, where the region was looked through again.
    pub first_answer: Option<u16>,
}

/// One application of cream.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CreamRecord {
    /// The product, if said.
    pub product: Option<String>,
    /// When it went on.
    pub on: Wall,
    /// When it was wiped off.
    pub off: Option<Wall>,
}

/// The record of one session.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Record {
    /// The session.
    pub session: EntryId,
    /// The person, if known.
    pub person: Option<EntryId>,
    /// Their name, as told.
    pub name: String,
    /// Their birth date, if told.
    pub birth_date: Option<Date>,
    /// The day.
    pub date: Option<Date>,
    /// Minutes local time was ahead of UTC.
    pub zone: i16,
    /// Which visit of theirs this is, counted from 1.
    pub visit: u32,
    /// How it was opened.
    pub mode: Option<Mode>,
    /// A rehearsal.
    pub rehearsal: bool,
    /// Which procedure it was planned from, in which version, if that was kept.
    pub procedure: Option<Used>,
    /// Consent of that day, if it was written down.
    pub consent: Option<Consented>,
    /// Findings gone past that day, with their reasons.
    pub overrides: Vec<Overrode>,
    /// Figures of the rules that the practice had set when the session began: id, value, reason.
    pub figures: Vec<(String, String, String)>,
    /// Region by region, in the order they were placed.
    pub regions: Vec<RegionRecord>,
    /// Points left out of the plan.
    pub left_out: Vec<LeftOut>,
    /// Packets: size, how many, lot.
    pub packs: Vec<(Option<Size>, u16, Option<String>)>,
    /// Cream.
    pub creams: Vec<CreamRecord>,
    /// The sums.
    pub sum: Sum,
    /// Closed, and it still holds.
    pub closed: bool,
    /// What was written about anything that did not add up.
    pub signed: Vec<String>,
    /// Notes, with their times.
    pub notes: Vec<(Wall, String)>,
    /// What happened beside, in the order of its times: from when to when, and in words.
    pub happened: Vec<(Range, String)>,
    /// What has to be said about the count, a sentence each.
    pub about_count: Vec<String>,
    /// Needles written down with another visit that may be from this one, in the words of that visit:
    /// for the practice's own eyes, since they may speak of somebody else.
    pub from_elsewhere: Vec<String>,
    /// The sum as it was closed over: opened, and not found. It stays so whatever turns up later.
    pub at_close: Option<(u32, u32)>,
    /// After the count had added up, so many needles turned up that it had accounted for.
    pub false_balance: u32,
    /// How many facts were corrected.
    pub corrected: u32,
    /// What does not fit together.
    pub flaws: Vec<FlawKind>,
    /// What was written up.
    pub wrote: Option<Wrote>,
}

fn widen(range: Option<Range>, at: Wall) -> Option<Range> {
    Some(range.map_or((at, at), |(from, to)| (from.min(at), to.max(at))))
}

/// The record of a session.
#[must_use]
pub fn record(ledger: &Ledger, session: EntryId) -> Option<Record> {
    // Never a record of which a part is still to be read in.
    let want = Want::Session(session, 0);
    let found = ledger.session(session).filter(|_| ledger.has(&want))?;
    let state = found.state();
    let mut when: flat::Map<EntryId, Range> = flat::Map::new();
    let mut at_close = None;
    let mut first_answers: flat::Map<Region, u16> = flat::Map::new();
    let mut words: Vec<String> = Vec::new();
    let mut corrected = 0_u32;
    for (id, fact, stands) in found.facts() {
        let entered = fact.at.wall;
        when.insert(id, (fact.when.earliest(entered), fact.when.latest(entered)));
        match &fact.event {
            _ if !stands => corrected = corrected.saturating_add(1),
            Ok(Event::Out(out)) => {
                if let (Some(region), Some(first)) = (out.region, out.first) {
                    first_answers.insert(region, first);
                }
            }
            Ok(Event::Closed(close)) => {
                words.extend(close.words.clone());
                if state.closed == Some(id) {
                    at_close = Some((close.opened, close.not_found));
                }
            }
            _ => {}
        }
    }
    let mut regions: Vec<RegionRecord> = Vec::new();
    for needle in state.needles.values() {
        let at = needle.placed.wall;
        if !regions.iter().any(|r| r.region == needle.region) {
            regions.push(RegionRecord {
                region: needle.region,
                sizes: Vec::new(),
                points: Vec::new(),
                went_in: (at, at),
                came_out: None,
                placed: 0,
                out: 0,
                stays_in: 0,
                not_found: 0,
                open: 0,
                fell_off: 0,
                block: false,
                first_answer: first_answers.get(&needle.region).copied(),
            });
        }
        let Some(line) = regions.iter_mut().find(|r| r.region == needle.region) else {
            continue;
        };
        line.went_in = (line.went_in.0.min(at), line.went_in.1.max(at));
        line.placed = line.placed.saturating_add(1);
        line.points.extend(needle.point.clone());
        match line.sizes.iter_mut().find(|(size, _)| *size == needle.size) {
            Some((_, n)) => *n = n.saturating_add(1),
            None => line.sizes.push((needle.size, 1)),
        }
        let term = match needle.fate {
            Fate::Out => {
                if let Some((by, at)) = needle.by.and_then(|by| Some((by, when.get(&by)?))) {
                    line.came_out = widen(widen(line.came_out, at.0), at.1);
                    line.block |= state.blocks.contains(&by);
                }
                &mut line.out
            }
            Fate::StaysIn => &mut line.stays_in,
            Fate::NotFound => &mut line.not_found,
            Fate::FellOff => &mut line.fell_off,
            Fate::In | Fate::OutUncounted | Fate::Unseen => &mut line.open,
        };
        *term = term.saturating_add(1);
    }
    let person = state.person.and_then(|id| ledger.person(id));
    let date = state.opened_at.map(|at| day_of(at, state.zone));
    let visit = state.person.map_or(0, |id| {
        let earlier = ledger
            .visits_of(id)
            .filter(|(other, visit)| *other <= session && !visit.rehearsal)
            .count();
        u32::try_from(earlier).unwrap_or(u32::MAX)
    });
    let flaws: flat::Set<FlawKind> = state.flaws.iter().map(|f| f.kind).collect();
    words.extend(state.signed.iter().cloned());
    Some(Record {
        session,
        person: state.person,
        name: person.map_or_else(String::new, |p| p.name().to_string()),
        birth_date: person
            .and_then(|p| p.named.as_ref())
            .and_then(|n| n.birth_date),
        date,
        zone: state.zone,
        visit,
        mode: state.mode,
        rehearsal: state.rehearsal,
        procedure: state.procedure.clone(),
        consent: person
            .and_then(|p| p.consent.clone())
            .filter(|c| Some(c.date) == date),
        overrides: person.map_or_else(Vec::new, |p| {
            p.overrides
                .iter()
                .filter(|o| Some(o.date) == date)
                .cloned()
                .collect()
        }),
        figures: state.opened_at.map_or_else(Vec::new, |at| {
            let said = ledger.practice().figures_said(at);
            said.into_iter()
                .map(|(id, set)| (id.to_string(), set.value.clone(), set.reason.clone()))
                .collect()
        }),
        regions,
        left_out: state.plan.iter().flat_map(|r| r.left_out.clone()).collect(),
        packs: state
            .packs
            .values()
            .map(|p| (p.size, p.held, p.lot.clone()))
            .collect(),
        creams: state
            .creams
            .iter()
            .map(|c| CreamRecord {
                product: c.product.clone(),
                on: c.on.wall,
                off: c.off,
            })
            .collect(),
        sum: state.sum,
        closed: state.closed.is_some(),
        signed: words,
        notes: state
            .stopped
            .iter()
            .map(|(at, why)| (*at, crate::words::chair::EN.stopped(why)))
            .chain(state.notes.iter().map(|n| (n.at, n.text.clone())))
            .collect(),
        happened: happened::happened(found, &when),
        about_count: happened::about_count(session, found),
        from_elsewhere: happened::from_elsewhere(ledger, session),
        at_close,
        false_balance: state.false_balance,
        corrected,
        flaws: flaws.into_iter().collect(),
        wrote: person.and_then(|p| p.written.get(&session)).cloned(),
    })
}
