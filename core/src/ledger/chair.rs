//! Commands of the chair.

use super::{Facts, Hand, Ledger, Refusal};
use crate::atlas::{Area, Region};
use crate::base::flat;
use crate::base::id::{EntryId, NeedleId, Stream};
use crate::base::units::Seconds;
use crate::event::session::{
    Basis, Closed, Corrected, CreamOff, CreamOn, How, Joined, Mode, NotFound, Note, Opened, Out,
    Pack, PackFault, Placed, PlannedRegion, PointUse, Span, Spans, Spoilt, StaysIn, Stopped,
    Strips, Swept, Tray, Used,
};
use crate::event::{Count, Event};
use crate::journal::KeyId;
use crate::needle::Size;
use crate::session::{Fate, State};
use alloc::string::String;
use alloc::vec;
use alloc::vec::Vec;

/// Something done in the chair. `session` is the entry that opened it.
#[derive(Clone, Debug, PartialEq, Eq)]
#[expect(missing_docs, reason = "fields are named as in the facts they become")]
pub enum ChairCommand {
    /// A session begins.
    Open {
        mode: Mode,
        person: Option<EntryId>,
        plan: Vec<PlannedRegion>,
        rehearsal: bool,
        procedure: Option<Used>,
    },
    /// It is joined to a person.
    Join { session: EntryId, person: EntryId },
    /// A packet was opened.
    OpenPack {
        session: EntryId,
        held: u16,
        size: Option<Size>,
        lot: Option<String>,
    },
    /// Several packets were opened in one act: how many needles each holds, and their size.
    OpenPacks {
        session: EntryId,
        packs: Vec<(u16, Option<Size>)>,
    },
    /// A packet held another number than its label says.
    PackHeld {
        session: EntryId,
        pack: EntryId,
        held: u16,
    },
    /// Needles went in.
    Place {
        session: EntryId,
        region: Region,
        count: u16,
        size: Option<Size>,
        points: Vec<PointUse>,
        stay: Option<Seconds>,
    },
    /// A line of the session's plan went in: so many needles, as planned or not.
    PlacePlanned {
        session: EntryId,
        line: u16,
        count: u16,
    },
    /// A region is clear; so many came out of it.
    TakeOut {
        session: EntryId,
        region: Region,
        count: u16,
        how: How,
        first: Option<u16>,
    },
    /// One needle came out.
    TakeOutOne {
        session: EntryId,
        needle: NeedleId,
        how: How,
    },
    /// All were taken out in a hurry, to be counted later.
    AllOut { session: EntryId },
    /// So many of those taken out in a hurry were counted from the tray.
    CountedOut { session: EntryId, count: u16 },
    /// Needles stay in on purpose.
    LeaveIn {
        session: EntryId,
        region: Region,
        count: u16,
        longest: Option<Seconds>,
    },
    /// So many in this region were looked for and not found.
    NotFound {
        session: EntryId,
        region: Region,
        count: u16,
        words: String,
    },
    /// So many that were opened and never placed were looked for and not found.
    UnplacedNotFound {
        session: EntryId,
        count: u16,
        words: String,
    },
    /// Needles were spoilt before they were placed.
    Spoil {
        session: EntryId,
        count: u16,
        size: Option<Size>,
    },
    /// What is left in the strips of one size.
    CountStrips {
        session: EntryId,
        size: Option<Size>,
        left: u16,
    },
    /// What lies in the tray.
    CountTray {
        session: EntryId,
        tens: u16,
        over: u16,
    },
    /// Areas were swept by hand.
    Sweep { session: EntryId, areas: Vec<Area> },
    /// Numbing cream went on.
    CreamOn { session: EntryId, cream: CreamOn },
    /// Numbing cream was wiped off.
    CreamOff { session: EntryId, cream: EntryId },
    /// The planned stay of a region becomes this long.
    Stay {
        session: EntryId,
        region: Region,
        length: Seconds,
    },
    /// A red flag: nothing more is planned.
    Stop { session: EntryId, why: String },
    /// Something worth writing down.
    Note {
        session: EntryId,
        text: String,
        region: Option<Region>,
    },
    /// The latest act was a slip.
    Undo { session: EntryId },
    /// These facts were a slip.
    Correct {
        session: EntryId,
        targets: Vec<EntryId>,
        why: Option<String>,
    },
    /// The session is closed.
    Close {
        session: EntryId,
        words: Option<String>,
    },
}

fn count(n: u16) -> Result<Count, Refusal> {
    Count::new(n).ok_or(Refusal::OutOfRange)
}

/// A region's total, as it was told.
#[derive(Clone, Copy)]
struct Told {
    region: Region,
    n: u16,
    how: How,
    first: Option<u16>,
}

/// The first `n` needles of a region in one of these states, in the order they went in.
fn pick(state: &State, region: Option<Region>, fates: &[Fate], n: usize) -> Vec<NeedleId> {
    let mut picked = Vec::new();
    for fate in fates {
        let fits = state
            .needles
            .iter()
            .filter(|(_, needle)| needle.fate == *fate && region.is_none_or(|r| needle.region == r))
            .map(|(&id, _)| id);
        picked.extend(fits.take(n.saturating_sub(picked.len())));
    }
    flat::sort_by_key(&mut picked, |id| *id);
    picked
}

impl Ledger {
    pub(super) fn decide_chair(
        &self,
        command: &ChairCommand,
        hand: &Hand,
    ) -> Result<Facts, Refusal> {
        use ChairCommand as C;
        if let C::Open {
            mode,
            person,
            plan,
            rehearsal,
            procedure,
        } = command
        {
            let opened = Event::Opened(Opened {
                mode: *mode,
                person: *person,
                plan: plan.clone(),
                rehearsal: *rehearsal,
                procedure: procedure.clone(),
            });
            let key = person.map_or(KeyId::Practice, KeyId::Person);
            return self.write(None, key, &[opened], hand);
        }
        let session = command.session().ok_or(Refusal::NoSuchSession)?;
        let found = self.session(session).ok_or(Refusal::NoSuchSession)?;
        let state = found.state();
        let event = match command {
            C::Open { .. } => return Err(Refusal::NoSuchSession),
            C::Join { person, .. } => Event::Joined(Joined { person: *person }),
            C::OpenPack {
                held, size, lot, ..
            } => Event::Pack(Pack {
                held: count(*held)?,
                size: *size,
                lot: lot.clone(),
            }),
            C::OpenPacks { packs, .. } => {
                let mut events = Vec::new();
                for (held, size) in packs {
                    events.push(Event::Pack(Pack {
                        held: count(*held)?,
                        size: *size,
                        lot: None,
                    }));
                }
                return self.in_session(session, state, events, hand);
            }
            C::PackHeld { pack, held, .. } => {
                if !state.packs.contains_key(pack) {
                    return Err(Refusal::NoSuchThing);
                }
                Event::PackFault(PackFault {
                    pack: *pack,
                    held: *held,
                })
            }
            C::Place {
                region,
                count: n,
                size,
                points,
                stay,
                ..
            } => {
                let count = count(*n)?;
                let mut points = points.clone();
                points.truncate(usize::from(*n));
                Event::Placed(Placed {
                    region: *region,
                    count,
                    size: *size,
                    points,
                    stay: *stay,
                    basis: Basis::Placing,
                    of: None,
                })
            }
            C::TakeOut {
                region,
                count: n,
                how,
                first,
                ..
            } => {
                let told = Told {
                    region: *region,
                    n: *n,
                    how: *how,
                    first: *first,
                };
                return self.take_out(session, state, told, hand);
            }
            C::PlacePlanned { line, count: n, .. } => {
                let events = planned(state, *line, *n)?;
                return self.in_session(session, state, events, hand);
            }
            C::TakeOutOne { needle, how, .. } => {
                if !state.needles.contains_key(needle) {
                    return Err(Refusal::NoSuchThing);
                }
                Event::Out(Out {
                    region: None,
                    needles: Span::pack(&[*needle]),
                    how: *how,
                    first: None,
                })
            }
            C::AllOut { .. } => {
                let all = pick(state, None, &[Fate::In, Fate::StaysIn], usize::MAX);
                Event::OutUncounted(Spans {
                    needles: Span::pack(&all),
                })
            }
            C::CountedOut { count: n, .. } => {
                let some = pick(state, None, &[Fate::OutUncounted], usize::from(*n));
                if some.len() < usize::from(*n) {
                    return Err(Refusal::OutOfRange);
                }
                Event::Out(Out {
                    region: None,
                    needles: Span::pack(&some),
                    how: How::Taken,
                    first: None,
                })
            }
            C::LeaveIn {
                region,
                count: n,
                longest,
                ..
            } => {
                let some = pick(state, Some(*region), &[Fate::In], usize::from(*n));
                if some.len() < usize::from(count(*n)?.get()) {
                    return Err(Refusal::OutOfRange);
                }
                Event::StaysIn(StaysIn {
                    needles: Span::pack(&some),
                    longest: *longest,
                })
            }
            C::NotFound {
                region,
                count: n,
                words,
                ..
            } => {
                let fates = [Fate::In, Fate::OutUncounted];
                let some = pick(state, Some(*region), &fates, usize::from(*n));
                if some.len() < usize::from(count(*n)?.get()) {
                    return Err(Refusal::OutOfRange);
                }
                let needles = Span::pack(&some);
                Event::NotFound(NotFound {
                    needles,
                    unplaced: 0,
                    words: words.clone(),
                })
            }
            C::UnplacedNotFound {
                count: n, words, ..
            } => {
                let unplaced = count(*n)?.get();
                Event::NotFound(NotFound {
                    needles: Vec::new(),
                    unplaced,
                    words: words.clone(),
                })
            }
            C::Spoil { count: n, size, .. } => Event::Spoilt(Spoilt {
                count: count(*n)?,
                size: *size,
            }),
            C::CountStrips { size, left, .. } => {
                if usize::from(*left) > crate::event::MANY {
                    return Err(Refusal::OutOfRange);
                }
                Event::Strips(Strips {
                    size: *size,
                    left: *left,
                })
            }
            C::CountTray { tens, over, .. } => {
                if *tens > 100 || usize::from(*over) > crate::event::MANY {
                    return Err(Refusal::OutOfRange);
                }
                Event::Tray(Tray {
                    tens: *tens,
                    over: *over,
                })
            }
            C::Sweep { areas, .. } => Event::Swept(Swept {
                areas: areas.clone(),
            }),
            C::CreamOn { cream, .. } => Event::CreamOn(cream.clone()),
            C::CreamOff { cream, .. } => {
                if !state.creams.iter().any(|c| c.id == *cream) {
                    return Err(Refusal::NoSuchThing);
                }
                Event::CreamOff(CreamOff { cream: *cream })
            }
            C::Stay { region, length, .. } => {
                if !(60..=86_400).contains(&length.0) {
                    return Err(Refusal::OutOfRange);
                }
                Event::Stay(crate::event::session::Stay {
                    region: *region,
                    length: *length,
                })
            }
            C::Stop { why, .. } => Event::Stopped(Stopped { why: why.clone() }),
            C::Note { text, region, .. } => Event::Note(Note {
                text: text.clone(),
                region: *region,
            }),
            C::Undo { .. } => {
                if state.read_only {
                    return Err(Refusal::NewerFacts);
                }
                let targets = found.last_act();
                if targets.is_empty() {
                    return Err(Refusal::NothingToUndo);
                }
                Event::Corrected(Corrected { targets, why: None })
            }
            C::Correct { targets, why, .. } => {
                if state.read_only {
                    return Err(Refusal::NewerFacts);
                }
                if targets.is_empty() || targets.iter().any(|t| self.journal.get(*t).is_none()) {
                    return Err(Refusal::NoSuchThing);
                }
                Event::Corrected(Corrected {
                    targets: targets.clone(),
                    why: why.clone(),
                })
            }
            C::Close { words, .. } => {
                let proof = state
                    .reconcile(words.as_deref())
                    .map_err(Refusal::StillOpen)?;
                closing(state, &proof)
            }
        };
        self.in_session(session, state, vec![event], hand)
    }

    fn in_session(
        &self,
        session: EntryId,
        state: &State,
        events: Vec<Event>,
        hand: &Hand,
    ) -> Result<Facts, Refusal> {
        let key = state.person.map_or(KeyId::Practice, KeyId::Person);
        self.write(Some(Stream::Session(session)), key, &events, hand)
    }

    /// A region's total. More than were known to be in had been in all the same: that is written
    /// down as its own fact first, so the number pressed is the number out.
    fn take_out(
        &self,
        session: EntryId,
        state: &State,
        told: Told,
        hand: &Hand,
    ) -> Result<Facts, Refusal> {
        let Told {
            region,
            n,
            how,
            first,
        } = told;
        if usize::from(n) > crate::event::MANY {
            return Err(Refusal::OutOfRange);
        }
        let fates = [Fate::In, Fate::OutUncounted, Fate::NotFound, Fate::StaysIn];
        let mut needles = pick(state, Some(region), &fates, usize::from(n));
        let known = u16::try_from(needles.len()).unwrap_or(u16::MAX);
        let mut events = Vec::new();
        if let Some(extra) = Count::new(n.saturating_sub(known)) {
            // Its name is the next one: the facts of one act are numbered in order.
            let placed = self.journal().next_id(hand.replica);
            needles.extend((0..extra.get()).map(|ordinal| NeedleId { placed, ordinal }));
            events.push(Event::Placed(Placed {
                region,
                count: extra,
                size: None,
                points: Vec::new(),
                stay: None,
                basis: Basis::CameOut,
                of: None,
            }));
        }
        let needles = Span::pack(&needles);
        events.push(Event::Out(Out {
            region: Some(region),
            needles,
            how,
            first,
        }));
        self.in_session(session, state, events, hand)
    }
}

/// The facts of placing a line of the plan, one for each size. Where the count is not the planned
/// one, the last needles are the ones that were left, and any extra are of the first size.
fn planned(state: &State, line: u16, n: u16) -> Result<Vec<Event>, Refusal> {
    let plan = state
        .plan
        .get(usize::from(line))
        .ok_or(Refusal::NoSuchThing)?;
    let mut left = count(n)?.get();
    let mut counts: Vec<u16> = Vec::new();
    for needles in &plan.needles {
        let here = needles.count.get().min(left);
        left = left.saturating_sub(here);
        counts.push(here);
    }
    match counts.first_mut() {
        Some(first) => *first = first.saturating_add(left),
        None => counts.push(left),
    }
    let mut events = Vec::new();
    for (at, &here) in counts.iter().enumerate() {
        let Some(count) = Count::new(here) else {
            continue;
        };
        let needles = plan.needles.get(at);
        let mut points = needles.map_or_else(Vec::new, |n| n.points.clone());
        points.truncate(usize::from(here));
        events.push(Event::Placed(Placed {
            region: plan.region,
            count,
            size: needles.and_then(|n| n.size),
            points,
            stay: Some(plan.stay),
            basis: Basis::Placing,
            of: Some(line),
        }));
    }
    Ok(events)
}

/// Only what [`State::reconcile`] has proved can be closed.
fn closing(state: &State, proof: &crate::session::Reconciled) -> Event {
    Event::Closed(Closed {
        opened: state.sum.opened,
        not_found: state
            .sum
            .not_found
            .saturating_add(state.sum.unplaced_not_found),
        facts: state.physical,
        words: proof.words().map(Into::into),
    })
}

impl ChairCommand {
    /// The session it is about; none if it begins one.
    #[must_use]
    pub fn session(&self) -> Option<EntryId> {
        use ChairCommand as C;
        match self {
            C::Open { .. } => None,
            C::Join { session, .. }
            | C::OpenPack { session, .. }
            | C::OpenPacks { session, .. }
            | C::PackHeld { session, .. }
            | C::Place { session, .. }
            | C::PlacePlanned { session, .. }
            | C::TakeOut { session, .. }
            | C::TakeOutOne { session, .. }
            | C::AllOut { session }
            | C::CountedOut { session, .. }
            | C::LeaveIn { session, .. }
            | C::NotFound { session, .. }
            | C::UnplacedNotFound { session, .. }
            | C::Spoil { session, .. }
            | C::CountStrips { session, .. }
            | C::CountTray { session, .. }
            | C::Sweep { session, .. }
            | C::CreamOn { session, .. }
            | C::CreamOff { session, .. }
            | C::Stay { session, .. }
            | C::Stop { session, .. }
            | C::Note { session, .. }
            | C::Undo { session }
            | C::Correct { session, .. }
            | C::Close { session, .. } => Some(*session),
        }
    }
}
