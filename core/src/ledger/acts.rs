//! What the acts of the chair become. More needles than were known is never a reason to refuse: what
//! was there is written down first, as its own fact, so the number said is the number meant.

use super::chair::Found;
use super::{Facts, Hand, Ledger, Refusal};
use crate::atlas::Region;
use crate::base::flat;
use crate::base::id::{EntryId, NeedleId, Stream};
use crate::base::stamp::When;
use crate::base::units::Seconds;
use crate::event::session::{
    Basis, Closed, Corrected, Did, Doing, How, Out, Placed, PointUse, Span, Spoilt, TurnedUp,
};
use crate::event::{Count, Event};
use crate::journal::KeyId;
use crate::needle::Size;
use crate::session::{Fate, State};
use alloc::string::String;
use alloc::vec;
use alloc::vec::Vec;

pub(super) fn count(n: u16) -> Result<Count, Refusal> {
    Count::new(n).ok_or(Refusal::OutOfRange)
}

/// A region's total, as it was told.
#[derive(Clone, Copy)]
pub(super) struct Told {
    pub(super) region: Region,
    pub(super) n: u16,
    pub(super) how: How,
    pub(super) first: Option<u16>,
}

/// The first `n` needles of a region in one of these states, in the order they went in.
pub(super) fn pick(
    state: &State,
    region: Option<Region>,
    fates: &[Fate],
    n: usize,
) -> Vec<NeedleId> {
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
    pub(super) fn in_session(
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
    pub(super) fn take_out(
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
        let (mut events, needles) = match Count::new(n) {
            Some(_) => self.known(state, region, TO_OUT, n, hand)?,
            None => (Vec::new(), Vec::new()),
        };
        events.push(Event::Out(Out {
            region: Some(region),
            needles: Span::pack(&needles),
            how,
            first,
            pass: Some(state.passes.get(&region).copied().unwrap_or(0)),
        }));
        // Faster than a hand works, it was worked before: somewhere since the hands were last busy.
        let mut hand = *hand;
        let stamp = hand.stamp;
        let gap = state.since_hands(hand.replica, stamp.wall, stamp.mono);
        let fast = gap.is_some_and(|millis| State::too_fast(n.into(), millis));
        if let (When::Now, true, Some(last)) = (hand.when, fast, state.run_from.or(state.hands)) {
            hand.when = When::Between(last.wall.min(stamp.wall), stamp.wall);
        }
        self.in_session(session, state, events, &hand)
    }

    /// So many needles of a region in one of these states. More than are known were there all the
    /// same: that is written down first, as its own fact, so the number said is the number meant.
    pub(super) fn known(
        &self,
        state: &State,
        region: Region,
        fates: &[Fate],
        n: u16,
        hand: &Hand,
    ) -> Result<(Vec<Event>, Vec<NeedleId>), Refusal> {
        let n = count(n)?.get();
        let mut needles = pick(state, Some(region), fates, usize::from(n));
        let known = u16::try_from(needles.len()).unwrap_or(u16::MAX);
        let mut events = Vec::new();
        if let Some(extra) = Count::new(n.saturating_sub(known)) {
            // Its name is the next one: the facts of one act are numbered in order.
            let placed = self.journal().next_id(hand.replica);
            needles.extend((0..extra.get()).map(|ordinal| NeedleId { placed, ordinal }));
            let basis = if fates == TO_OUT {
                Basis::CameOut
            } else {
                Basis::Seen
            };
            events.push(beyond(region, extra, basis));
        }
        Ok((events, needles))
    }

    /// The facts of a changed needle: the old one out, or spoilt if it never held; a new one placed
    /// at the same point, with its own time.
    pub(super) fn changed(
        &self,
        state: &State,
        region: Region,
        point: Option<&PointUse>,
        size: Option<Size>,
        spoilt: bool,
        hand: &Hand,
    ) -> Result<Vec<Event>, Refusal> {
        let inside = |(_, n): &(&NeedleId, &crate::session::Needle)| {
            n.region == region && n.fate == Fate::In
        };
        let at_point = |(_, n): &(&NeedleId, &crate::session::Needle)| {
            point.is_none() || n.point.as_ref() == point
        };
        let of_region = || state.needles.iter().filter(inside);
        let old = of_region().rev().find(at_point);
        let like = old.or_else(|| of_region().next()).map(|(_, n)| n.clone());
        let mut events = Vec::new();
        if spoilt {
            events.push(Event::Spoilt(Spoilt {
                count: count(1)?,
                size,
            }));
        } else if let Some((name, _)) = old {
            events.push(out(&[*name], How::Changed));
        } else {
            let (first, needles) = self.known(state, region, TO_OUT, 1, hand)?;
            events.extend(first);
            events.push(out(&needles, How::Changed));
        }
        let point = point.cloned().or_else(|| match old {
            Some((_, n)) if !spoilt => n.point.clone(),
            _ => None,
        });
        events.push(Event::Placed(Placed {
            region,
            count: count(1)?,
            size: size.or(like.as_ref().and_then(|n| n.size)),
            points: point.into_iter().collect(),
            stay: like.as_ref().and_then(|n| n.stay),
            basis: Basis::Placing,
            of: like.as_ref().and_then(|n| n.of),
        }));
        Ok(events)
    }

    /// A block belongs to the person in the other chair: corrected here, placed there at its own
    /// time, in one act over two sessions.
    pub(super) fn move_block(
        &self,
        session: EntryId,
        found: &crate::session::Session,
        placed: EntryId,
        to: EntryId,
        hand: &Hand,
    ) -> Result<Facts, Refusal> {
        let other = self.at_hand(to)?;
        if found.state().read_only {
            return Err(Refusal::NewerFacts);
        }
        let block = found
            .facts()
            .find(|(id, _, stands)| *id == placed && *stands);
        let (_, fact, _) = block.ok_or(Refusal::NoSuchThing)?;
        let Ok(Event::Placed(body)) = &fact.event else {
            return Err(Refusal::NoSuchThing);
        };
        // Only while all of it is in: what has come out was counted here.
        let needles = found.state().needles.iter();
        let mut of_it = needles.filter(|(name, _)| name.placed == placed);
        if to == session || of_it.any(|(_, n)| n.fate != Fate::In) {
            return Err(Refusal::NoSuchThing);
        }
        let gone = Event::Corrected(Corrected {
            targets: vec![placed],
            why: None,
        });
        let mut facts = self.in_session(session, found.state(), vec![gone], hand)?;
        let mut then = *hand;
        then.when = match fact.when {
            When::Now => When::About(fact.at.wall),
            when => when,
        };
        let mut body = body.clone();
        body.of = None;
        let here = self.in_session(to, other.state(), vec![Event::Placed(body)], &then)?;
        facts.follow(here);
        Ok(facts)
    }

    /// Takes an act back. A block that came from another chair goes back there: the correction that
    /// took it away is itself corrected, so the needles are under their old names again.
    pub(super) fn undo(
        &self,
        session: EntryId,
        state: &State,
        targets: Vec<EntryId>,
        hand: &Hand,
    ) -> Result<Facts, Refusal> {
        let acts = targets.iter().filter_map(|id| self.journal().get(*id)?.act);
        for act in acts {
            if self.journal().get(act).is_none() && !self.may_hold(act).is_empty() {
                return Err(self.not_here(act));
            }
        }
        let from = targets.iter().find_map(|target| {
            let first = self.journal().get(self.journal().get(*target)?.act?)?;
            match first.stream {
                Stream::Session(other) if other != session => Some((other, first.id)),
                _ => None,
            }
        });
        let back = Event::Corrected(Corrected { targets, why: None });
        let mut facts = self.in_session(session, state, vec![back], hand)?;
        if let Some((other, moved)) = from
            && let Some(chair) = self.in_memory(other)?
        {
            let again = Event::Corrected(Corrected {
                targets: vec![moved],
                why: None,
            });
            facts.follow(self.in_session(other, chair.state(), vec![again], hand)?);
        }
        Ok(facts)
    }
}

/// From where a needle that came out may have come, the likeliest first.
pub(super) const TO_OUT: &[Fate] = &[
    Fate::In,
    Fate::OutUncounted,
    Fate::Unseen,
    Fate::NotFound,
    Fate::StaysIn,
    Fate::FellOff,
];

pub(super) fn plain(what: Doing) -> Did {
    Did {
        what,
        who: String::new(),
        from: String::new(),
        next: None,
    }
}

pub(super) fn out(needles: &[NeedleId], how: How) -> Event {
    Event::Out(Out {
        region: None,
        needles: Span::pack(needles),
        how,
        first: None,
        pass: None,
    })
}

pub(super) fn beyond(region: Region, count: Count, basis: Basis) -> Event {
    Event::Placed(Placed {
        region,
        count,
        size: None,
        points: Vec::new(),
        stay: None,
        basis,
        of: None,
    })
}

/// What needles that turned up explain: those that were missed first; of a region that is named,
/// then those that stay in or are in there. The rest is loose. `taken`: already spoken for.
pub(super) fn turned_up(
    state: &State,
    found: &Found,
    taken: &[NeedleId],
) -> Result<Event, Refusal> {
    let n = usize::from(count(found.count)?.get());
    let missed = [Fate::NotFound, Fate::Unseen, Fate::FellOff];
    let named = [Fate::OutUncounted, Fate::StaysIn, Fate::In];
    let mut needles = Vec::new();
    let fates = missed.iter().map(|f| (f, true));
    for (fate, always) in fates.chain(named.iter().map(|f| (f, false))) {
        if !always && found.region.is_none() {
            continue;
        }
        let fits = state.needles.iter().filter(|(name, needle)| {
            let size = found.size.is_none() || needle.size.is_none() || found.size == needle.size;
            needle.fate == *fate
                && size
                && found.region.is_none_or(|r| r == needle.region)
                && !taken.contains(name)
        });
        let left = n.saturating_sub(needles.len());
        needles.extend(fits.map(|(&name, _)| name).take(left));
    }
    flat::sort_by_key(&mut needles, |name| *name);
    let loose = n.saturating_sub(needles.len());
    Ok(Event::TurnedUp(TurnedUp {
        needles: Span::pack(&needles),
        loose: u16::try_from(loose).unwrap_or(u16::MAX),
        size: found.size,
        place: found.place,
        by: found.by,
        embedded: found.embedded,
        stuck: found.stuck,
        fits: found.fits.clone(),
        words: found.words.clone(),
        after: state.closed,
    }))
}

/// The facts of placing a line of the plan, one for each size. Where the count is not the planned
/// one, the last needles are the ones that were left, and any extra are of the first size. Needles
/// that went in before at points of this line are not placed again: the rest of the line is.
pub(super) fn planned(state: &State, line: u16, n: u16) -> Result<Vec<Event>, Refusal> {
    let plan = state
        .plan
        .get(usize::from(line))
        .ok_or(Refusal::NoSuchThing)?;
    let mut left = count(n)?.get();
    let mut counts: Vec<u16> = Vec::new();
    let mut named: Vec<Vec<PointUse>> = Vec::new();
    for needles in &plan.needles {
        let points = state.unplaced(line, &needles.points);
        let done = needles.points.len().saturating_sub(points.len());
        let done = u16::try_from(done).unwrap_or(u16::MAX);
        let here = needles.count.get().saturating_sub(done).min(left);
        left = left.saturating_sub(here);
        counts.push(here);
        named.push(points);
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
        let mut points = named.get(at).cloned().unwrap_or_default();
        points.truncate(usize::from(here));
        events.push(Event::Placed(Placed {
            region: plan.region,
            count,
            size: plan.needles.get(at).and_then(|n| n.size),
            points,
            stay: Some(plan.stay),
            basis: Basis::Placing,
            of: Some(line),
        }));
    }
    Ok(events)
}

/// One needle at a named point: of the size and the stay that the plan has for it, where it belongs
/// to a line of the plan.
pub(super) fn placed_at(
    state: &State,
    region: Region,
    line: Option<u16>,
    point: &PointUse,
    stay: Option<Seconds>,
) -> Result<Event, Refusal> {
    let plan = match line {
        Some(line) => {
            let plan = state.plan.get(usize::from(line));
            Some(plan.ok_or(Refusal::NoSuchThing)?)
        }
        None => None,
    };
    let sizes = plan.map_or(&[][..], |p| p.needles.as_slice());
    let named = sizes.iter().find(|n| n.points.contains(point));
    Ok(Event::Placed(Placed {
        region: plan.map_or(region, |p| p.region),
        count: count(1)?,
        size: named.or(sizes.first()).and_then(|n| n.size),
        points: vec![point.clone()],
        stay: plan.map(|p| p.stay).or(stay),
        basis: Basis::Placing,
        of: line,
    }))
}

/// Only what [`State::reconcile`] has proved can be closed.
pub(super) fn closing(state: &State, proof: &crate::session::Reconciled) -> Event {
    Event::Closed(Closed {
        opened: state.sum.opened,
        not_found: state
            .sum
            .not_found
            .saturating_add(state.sum.unplaced_not_found),
        facts: state.physical,
        words: proof.words().map(Into::into),
        demands: crate::session::DEMANDS,
    })
}
