//! Commands of the chair.

use super::acts::{
    TO_OUT, Told, beyond, closing, count, out, pick, placed_at, plain, planned, turned_up,
};
use super::{Facts, Hand, Ledger, Refusal};
use crate::atlas::{Area, Region};
use crate::base::flat;
use crate::base::id::{EntryId, NeedleId};
use crate::base::units::Seconds;
use crate::event::session::{
    Basis, Corrected, CreamOff, CreamOn, Did, Doing, Ended, Finder, How, Incident, Inside, Joined,
    Mode, NotFound, Note, Opened, Otherwise, Pack, PackFault, Placed, PlannedRegion, PointUse,
    SearchPlace, Searched, SeenIn, Span, Spans, Spoilt, StayEnded, StaysIn, Stopped, Strips, Swept,
    Tray, Used,
};
use crate::event::{Count, Event};
use crate::journal::KeyId;
use crate::needle::Size;
use crate::session::Fate;
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
    /// One needle went in at a named point: of a line of the plan, or of none.
    PlaceAt {
        session: EntryId,
        region: Region,
        line: Option<u16>,
        point: PointUse,
        stay: Option<Seconds>,
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
    /// Some came out of a region that is not clear yet: fell out and found, or taken together.
    TakeOutSome {
        session: EntryId,
        region: Region,
        count: u16,
        how: How,
    },
    /// One round of taking out was entered twice; this total is the right one.
    ChooseTotal { session: EntryId, total: EntryId },
    /// So many of a region left their places and nobody saw it.
    FellUnseen {
        session: EntryId,
        region: Region,
        count: u16,
    },
    /// What became of so many that nobody saw leave a region is known.
    Explain {
        session: EntryId,
        region: Region,
        count: u16,
        words: String,
    },
    /// A needle was changed for another at the same point. `spoilt`: the old one never held, and
    /// had not been entered as placed.
    ChangeNeedle {
        session: EntryId,
        region: Region,
        point: Option<PointUse>,
        size: Option<Size>,
        spoilt: bool,
    },
    /// Needles in the skin were counted by eye.
    SeeInside {
        session: EntryId,
        regions: Vec<SeenIn>,
    },
    /// Places were looked through for a needle.
    Search {
        session: EntryId,
        places: Vec<SearchPlace>,
    },
    /// Needles that stayed in on purpose are in no longer. Also after the session was closed.
    EndStay {
        session: EntryId,
        region: Option<Region>,
        count: u16,
        how: Ended,
    },
    /// Needles turned up. Also after the session was closed.
    TurnUp { session: EntryId, found: Found },
    /// Something went wrong.
    Incident { session: EntryId, what: Incident },
    /// Depth, technique or feeling differed from the plan.
    Otherwise { session: EntryId, what: Otherwise },
    /// Something was done beside needles and cream.
    Do { session: EntryId, what: Did },
    /// A placing fact belongs to the person in the other chair.
    MoveBlock {
        session: EntryId,
        placed: EntryId,
        to: EntryId,
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

/// Needles that turned up, as told.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Found {
    /// How many. 1 to 500.
    pub count: u16,
    /// The region they are from, if anybody knows.
    pub region: Option<Region>,
    /// Their size, if it could be told.
    pub size: Option<Size>,
    /// Where, if it is one of these places.
    pub place: Option<SearchPlace>,
    /// By whom.
    pub by: Finder,
    /// Still in the skin, and not loose.
    pub embedded: bool,
    /// Somebody else was stuck by it.
    pub stuck: bool,
    /// Other sessions it may be from as well.
    pub fits: Vec<EntryId>,
    /// Where and how, in words.
    pub words: String,
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
            let mut events = vec![opened];
            if self.practice().setting("used_needles") == "box" {
                events.push(Event::Did(plain(Doing::StraightToBox)));
            }
            return self.write(None, key, &events, hand);
        }
        let session = command.session().ok_or(Refusal::NoSuchSession)?;
        let found = self.at_hand(session)?;
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
            C::TakeOutSome {
                region,
                count: n,
                how,
                ..
            } => {
                let (mut events, needles) = self.known(state, *region, TO_OUT, *n, hand)?;
                events.push(out(&needles, *how));
                return self.in_session(session, state, events, hand);
            }
            C::ChooseTotal { total, .. } => {
                let has =
                    |t: &&crate::session::TwoTotals| t.totals.iter().any(|(id, _)| id == total);
                let two = state
                    .two_totals
                    .iter()
                    .find(has)
                    .ok_or(Refusal::NoSuchThing)?;
                if state.read_only {
                    return Err(Refusal::NewerFacts);
                }
                let others = two.totals.iter().filter(|(id, _)| id != total);
                let acts: flat::Set<EntryId> = others
                    .map(|(id, _)| self.journal().get(*id).and_then(|e| e.act).unwrap_or(*id))
                    .collect();
                let gone = found.facts().filter(|(id, fact, stands)| {
                    *stands && acts.contains(&fact.act.unwrap_or(*id))
                });
                Event::Corrected(Corrected {
                    targets: gone.map(|(id, _, _)| id).collect(),
                    why: None,
                })
            }
            C::FellUnseen {
                region, count: n, ..
            } => {
                let fates = &[Fate::In, Fate::StaysIn];
                let (mut events, needles) = self.known(state, *region, fates, *n, hand)?;
                events.push(Event::Unseen(Spans {
                    needles: Span::pack(&needles),
                }));
                return self.in_session(session, state, events, hand);
            }
            C::Explain {
                region,
                count: n,
                words,
                ..
            } => {
                let fates = [Fate::Unseen, Fate::NotFound];
                let some = pick(state, Some(*region), &fates, usize::from(count(*n)?.get()));
                if some.len() < usize::from(*n) {
                    return Err(Refusal::OutOfRange);
                }
                let note = Event::Note(Note {
                    text: words.clone(),
                    region: Some(*region),
                });
                let events = vec![out(&some, How::Explained), note];
                return self.in_session(session, state, events, hand);
            }
            C::ChangeNeedle {
                region,
                point,
                size,
                spoilt,
                ..
            } => {
                let events = self.changed(state, *region, point.as_ref(), *size, *spoilt, hand)?;
                return self.in_session(session, state, events, hand);
            }
            C::SeeInside { regions, .. } => {
                let mut events = Vec::new();
                for line in regions {
                    let here = state.regions.get(&line.region);
                    let known = here.map_or(0, |r| r.in_now.saturating_add(r.stays_in));
                    let known = u16::try_from(known).unwrap_or(u16::MAX);
                    // What is seen in the skin is in, whoever forgot to enter it.
                    if let Some(extra) = Count::new(line.seen.saturating_sub(known)) {
                        events.push(beyond(line.region, extra, Basis::Seen));
                    }
                }
                events.push(Event::Inside(Inside {
                    regions: regions.clone(),
                }));
                return self.in_session(session, state, events, hand);
            }
            C::Search { places, .. } => Event::Searched(Searched {
                places: places.clone(),
            }),
            C::EndStay {
                region,
                count: n,
                how,
                ..
            } => {
                let n = count(*n)?.get();
                let some = pick(state, *region, &[Fate::StaysIn], usize::from(n));
                let known = u16::try_from(some.len()).unwrap_or(u16::MAX);
                let mut events = Vec::new();
                if known > 0 {
                    events.push(Event::StayEnded(StayEnded {
                        needles: Span::pack(&some),
                        how: *how,
                        after: state.closed,
                    }));
                }
                // More than were known to stay: needles all the same.
                if n > known {
                    let by = match how {
                        Ended::ByMe => Finder::Practitioner,
                        Ended::ByPerson | Ended::FellOffUnseen => Finder::Person,
                    };
                    let found = Found {
                        count: n.saturating_sub(known),
                        region: None,
                        size: None,
                        place: None,
                        by,
                        embedded: *how != Ended::FellOffUnseen,
                        stuck: false,
                        fits: Vec::new(),
                        words: String::new(),
                    };
                    events.push(turned_up(state, &found, &some)?);
                }
                return self.in_session(session, state, events, hand);
            }
            C::TurnUp { found, .. } => turned_up(state, found, &[])?,
            C::Incident { what, .. } => Event::Incident(what.clone()),
            C::Otherwise { what, .. } => Event::Otherwise(what.clone()),
            C::Do { what, .. } => Event::Did(what.clone()),
            C::MoveBlock { placed, to, .. } => {
                return self.move_block(session, found, *placed, *to, hand);
            }
            C::PlacePlanned { line, count: n, .. } => {
                let events = planned(state, *line, *n)?;
                return self.in_session(session, state, events, hand);
            }
            C::PlaceAt {
                region,
                line,
                point,
                stay,
                ..
            } => placed_at(state, *region, *line, point, *stay)?,
            C::TakeOutOne { needle, how, .. } => {
                if !state.needles.contains_key(needle) {
                    return Err(Refusal::NoSuchThing);
                }
                out(&[*needle], *how)
            }
            C::AllOut { .. } => {
                let all = pick(state, None, &[Fate::In, Fate::StaysIn], usize::MAX);
                Event::OutUncounted(Spans {
                    needles: Span::pack(&all),
                })
            }
            C::CountedOut { count: n, .. } => {
                let n = count(*n)?.get();
                let fates = [Fate::OutUncounted, Fate::Unseen, Fate::NotFound];
                let some = pick(state, None, &fates, usize::from(n));
                let known = u16::try_from(some.len()).unwrap_or(u16::MAX);
                let mut events = Vec::new();
                if known > 0 {
                    events.push(out(&some, How::Taken));
                }
                // More lay there than anybody had entered: needles all the same.
                if n > known {
                    let found = Found {
                        count: n.saturating_sub(known),
                        region: None,
                        size: None,
                        place: Some(SearchPlace::Tray),
                        by: Finder::Practitioner,
                        embedded: false,
                        stuck: false,
                        fits: Vec::new(),
                        words: String::new(),
                    };
                    events.push(turned_up(state, &found, &some)?);
                }
                return self.in_session(session, state, events, hand);
            }
            C::LeaveIn {
                region,
                count: n,
                longest,
                ..
            } => {
                let (mut events, needles) = self.known(state, *region, &[Fate::In], *n, hand)?;
                events.push(Event::StaysIn(StaysIn {
                    needles: Span::pack(&needles),
                    longest: *longest,
                }));
                return self.in_session(session, state, events, hand);
            }
            C::NotFound {
                region,
                count: n,
                words,
                ..
            } => {
                let fates = &[Fate::Unseen, Fate::In, Fate::OutUncounted];
                let (mut events, needles) = self.known(state, *region, fates, *n, hand)?;
                events.push(Event::NotFound(NotFound {
                    needles: Span::pack(&needles),
                    unplaced: 0,
                    words: words.clone(),
                }));
                return self.in_session(session, state, events, hand);
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
                let tray = Event::Tray(Tray {
                    tens: *tens,
                    over: *over,
                });
                // Those taken out in a hurry lie among the others and cannot be told from them: what
                // lies there beyond those counted before is what came out in the hurry.
                let lies = usize::from(*tens).saturating_mul(10);
                let lies = lies.saturating_add(usize::from(*over));
                let counted = usize::try_from(state.in_tray).unwrap_or(usize::MAX);
                let hurried = lies.saturating_sub(counted);
                let some = pick(state, None, &[Fate::OutUncounted], hurried);
                if some.is_empty() {
                    tray
                } else {
                    let events = vec![out(&some, How::Taken), tray];
                    return self.in_session(session, state, events, hand);
                }
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
                return self.undo(session, state, targets, hand);
            }
            C::Correct { targets, why, .. } => {
                if state.read_only {
                    return Err(Refusal::NewerFacts);
                }
                let unknown = targets.iter().find(|t| self.journal.get(**t).is_none());
                if let Some(unknown) = unknown {
                    return Err(self.not_here(*unknown));
                }
                if targets.is_empty() {
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
            | C::PlaceAt { session, .. }
            | C::TakeOut { session, .. }
            | C::TakeOutOne { session, .. }
            | C::TakeOutSome { session, .. }
            | C::ChooseTotal { session, .. }
            | C::FellUnseen { session, .. }
            | C::Explain { session, .. }
            | C::ChangeNeedle { session, .. }
            | C::SeeInside { session, .. }
            | C::Search { session, .. }
            | C::EndStay { session, .. }
            | C::TurnUp { session, .. }
            | C::Incident { session, .. }
            | C::Otherwise { session, .. }
            | C::Do { session, .. }
            | C::MoveBlock { session, .. }
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
