//! From facts to state, in one pass over the facts in the order of their ids.

use super::clock::{Moment, Run};
use super::{Cream, Fate, Flaw, FlawKind, Needle, NoteLine, PackLine, State, Sum};
use crate::base::flat;
use crate::base::id::{EntryId, NeedleId};
use crate::base::stamp::{Stamp, When};
use crate::event::session::{Basis, Closed, Span};
use crate::event::{Event, Unread};
use crate::journal::Entry;
use crate::needle::Size;
use alloc::string::String;
use alloc::vec::Vec;

/// One fact as the fold holds it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fact {
    /// When it was entered.
    pub at: Stamp,
    /// When it happened.
    pub when: When,
    /// The first fact of its act.
    pub act: Option<EntryId>,
    /// Its kind, also when nobody here knows it.
    pub kind: String,
    /// What it says, or why that was not read.
    pub event: Result<Event, Unread>,
}

impl Fact {
    /// Reads an entry.
    #[must_use]
    pub fn read(entry: &Entry) -> Self {
        Self {
            at: entry.at,
            when: entry.when,
            act: entry.act,
            kind: entry.kind.clone(),
            event: Event::read(entry),
        }
    }

    fn moment(&self, id: EntryId) -> Moment {
        let wall = self.when.earliest(self.at.wall);
        let ago = self.at.wall.since(wall).max(0);
        Moment {
            run: id.replica,
            counter: id.counter,
            wall,
            mono: self.at.mono.saturating_sub(ago),
        }
    }
}

/// Facts that a standing correction takes back. Newest first, so that a correction that was itself
/// taken back corrects nothing.
pub(super) fn corrected(facts: &flat::Map<EntryId, Fact>) -> flat::Set<EntryId> {
    let mut gone = flat::Set::new();
    for (&id, fact) in facts.iter().rev() {
        if gone.contains(&id) {
            continue;
        }
        if let Ok(Event::Corrected(c)) = &fact.event {
            // Only what came before can be corrected: no two facts can take each other back.
            gone.extend(c.targets.iter().filter(|target| **target < id));
        }
    }
    gone
}

/// See [`super::Session::last_act`].
pub(super) fn last_act(facts: &flat::Map<EntryId, Fact>) -> Vec<EntryId> {
    let gone = corrected(facts);
    let can = |fact: &Fact| {
        !matches!(
            fact.event,
            Ok(Event::Opened(_) | Event::Joined(_) | Event::Corrected(_)) | Err(_)
        )
    };
    let newest = facts
        .iter()
        .rev()
        .find(|(id, fact)| !gone.contains(*id) && can(fact));
    let Some((&last, fact)) = newest else {
        return Vec::new();
    };
    let act = fact.act.unwrap_or(last);
    let same = |(id, fact): &(&EntryId, &Fact)| {
        (**id == act || fact.act == Some(act)) && !gone.contains(*id) && can(fact)
    };
    facts.iter().rev().filter(same).map(|(&id, _)| id).collect()
}

/// A size pool: what was opened, and what was seen of it.
#[derive(Default)]
struct Pool {
    held: u32,
    seen: u32,
}

pub(super) fn state(facts: &flat::Map<EntryId, Fact>) -> State {
    let gone = corrected(facts);
    let mut fold = Fold::default();
    for (&id, fact) in facts {
        fold.note_run(id, fact);
        if !gone.contains(&id) {
            fold.fact(id, fact);
        } else if let Err(why) = &fact.event {
            fold.unread(id, why);
        }
    }
    fold.finish()
}

#[derive(Default)]
struct Fold {
    state: State,
    spoilt: flat::Map<Option<Size>, u32>,
    unplaced_not_found: u32,
    closes: Vec<(EntryId, Closed)>,
}

impl Fold {
    fn flaw(&mut self, entry: EntryId, kind: FlawKind) {
        self.state.flaws.push(Flaw { entry, kind });
    }

    fn note_run(&mut self, id: EntryId, fact: &Fact) {
        let s = &mut self.state;
        s.latest = s.latest.max(Some(fact.at.wall));
        let run = s.runs.or_insert(
            id.replica,
            Run {
                counter: id.counter,
                first: fact.at.mono,
                last: fact.at.mono,
                first_wall: fact.at.wall,
                last_wall: fact.at.wall,
            },
        );
        run.last = run.last.max(fact.at.mono);
        run.last_wall = run.last_wall.max(fact.at.wall);
    }

    fn unread(&mut self, id: EntryId, why: &Unread) {
        let kind = match why {
            Unread::UnknownKind => FlawKind::UnknownKind,
            Unread::NewerVersion => FlawKind::NewerVersion,
            Unread::Malformed(_) => FlawKind::Malformed,
            Unread::Erased => FlawKind::Erased,
        };
        self.state.read_only = true;
        self.flaw(id, kind);
    }

    /// A strip count lapses when needles that may be of its size are handled after it.
    fn lapse(&mut self, size: Option<Size>) {
        self.state
            .strips
            .retain(|&counted, _| counted.is_some() && size.is_some() && counted != size);
        self.state.tray = None;
    }

    fn fact(&mut self, id: EntryId, fact: &Fact) {
        let event = match &fact.event {
            Ok(event) => event,
            Err(why) => return self.unread(id, why),
        };
        let physical = !matches!(
            event,
            Event::Opened(_)
                | Event::Joined(_)
                | Event::Note(_)
                | Event::Stopped(_)
                | Event::Corrected(_)
                | Event::Closed(_)
                | Event::Stay(_)
                | Event::Named(_)
                | Event::Answered(_)
                | Event::Overrode(_)
                | Event::Consented(_)
                | Event::Looked(_)
                | Event::Chose(_)
                | Event::Measured(_)
                | Event::Booked(_)
                | Event::Wrote(_)
                | Event::Set(_)
                | Event::Composed(_)
                | Event::Retired(_)
                | Event::Described(_)
                | Event::TakenAway(_)
        );
        if physical {
            self.state.physical = self.state.physical.saturating_add(1);
        }
        match event {
            Event::Opened(e) => {
                let s = &mut self.state;
                if s.opened.is_none() {
                    s.opened = Some(id);
                    s.opened_at = Some(fact.at.wall);
                    s.zone = fact.at.zone;
                    s.mode = Some(e.mode);
                    s.person = s.person.or(e.person);
                    s.plan.clone_from(&e.plan);
                    s.rehearsal = e.rehearsal;
                    s.procedure.clone_from(&e.procedure);
                }
            }
            Event::Joined(e) => self.state.person = Some(e.person),
            Event::Pack(e) => {
                self.lapse(e.size);
                let line = PackLine {
                    size: e.size,
                    held: e.held.get(),
                    lot: e.lot.clone(),
                };
                self.state.packs.insert(id, line);
            }
            Event::PackFault(e) => match self.state.packs.get_mut(&e.pack) {
                Some(pack) => pack.held = e.held,
                None => self.flaw(id, FlawKind::UnknownTarget),
            },
            Event::Placed(e) => {
                if e.basis == Basis::Placing {
                    self.lapse(e.size);
                }
                self.state.swept.remove(&e.region.area);
                self.placed(id, fact, e);
            }
            Event::Out(e) => {
                if let Some(region) = e.region {
                    self.state.swept.remove(&region.area);
                }
                self.state.tray = None;
                self.fates(id, &e.needles, Fate::Out);
            }
            Event::OutUncounted(e) => {
                self.state.swept.clear();
                self.state.tray = None;
                self.fates(id, &e.needles, Fate::OutUncounted);
            }
            Event::StaysIn(e) => self.fates(id, &e.needles, Fate::StaysIn),
            Event::NotFound(e) => {
                self.fates(id, &e.needles, Fate::NotFound);
                self.unplaced_not_found = self
                    .unplaced_not_found
                    .saturating_add(u32::from(e.unplaced));
                self.state.signed.push(e.words.clone());
            }
            Event::Spoilt(e) => {
                self.lapse(e.size);
                let n = self.spoilt.or_default(e.size);
                *n = n.saturating_add(u32::from(e.count.get()));
            }
            Event::Strips(e) => {
                self.state.strips.insert(e.size, e.left);
            }
            Event::Tray(e) => self.state.tray = Some(e.clone()),
            Event::Swept(e) => self.state.swept.extend(e.areas.iter().copied()),
            Event::CreamOn(e) => self.state.creams.push(Cream {
                id,
                regions: e.regions.clone(),
                on: fact.moment(id),
                earliest: e.earliest,
                latest: e.latest,
                product: e.product.clone(),
                off: None,
            }),
            Event::CreamOff(e) => {
                let at = fact.when.earliest(fact.at.wall);
                match self.state.creams.iter_mut().find(|c| c.id == e.cream) {
                    Some(cream) => cream.off = cream.off.or(Some(at)),
                    None => self.flaw(id, FlawKind::UnknownTarget),
                }
            }
            Event::Stay(e) => {
                self.state.stays.insert(e.region, e.length);
            }
            Event::Stopped(e) => {
                let first = self.state.stopped.take();
                self.state.stopped = first.or_else(|| Some((fact.at.wall, e.why.clone())));
            }
            Event::Note(e) => self.state.notes.push(NoteLine {
                id,
                at: fact.at.wall,
                text: e.text.clone(),
                region: e.region,
            }),
            Event::Corrected(e) => {
                if e.targets.iter().any(|target| *target >= id) {
                    self.flaw(id, FlawKind::CorrectsTheFuture);
                }
            }
            Event::Closed(e) => self.closes.push((id, e.clone())),
            // Facts of other streams have no business here; a file that puts one here is damaged.
            Event::Named(_)
            | Event::Answered(_)
            | Event::Overrode(_)
            | Event::Consented(_)
            | Event::Looked(_)
            | Event::Chose(_)
            | Event::Measured(_)
            | Event::Booked(_)
            | Event::Wrote(_)
            | Event::Set(_)
            | Event::Composed(_)
            | Event::Retired(_)
            | Event::Described(_)
            | Event::TakenAway(_) => self.flaw(id, FlawKind::Malformed),
        }
    }

    fn placed(&mut self, id: EntryId, fact: &Fact, e: &crate::event::session::Placed) {
        let creamed =
            |c: &Cream| c.off.is_none() && c.regions.iter().any(|r| overlaps(*r, e.region));
        if self.state.creams.iter().any(creamed) {
            self.flaw(id, FlawKind::CreamedSkin);
        }
        let barred = self
            .state
            .plan
            .iter()
            .flat_map(|r| &r.left_out)
            .any(|left| e.points.contains(&left.point));
        if barred {
            self.flaw(id, FlawKind::BarredPoint);
        }
        let planned = self
            .state
            .plan
            .iter()
            .find(|r| r.region == e.region)
            .map(|r| r.stay);
        if self.state.stopped.is_some() && e.basis == Basis::Placing {
            self.flaw(id, FlawKind::AfterStop);
        }
        let moment = fact.moment(id);
        for ordinal in 0..e.count.get() {
            let needle = Needle {
                region: e.region,
                size: e.size,
                point: e.points.get(usize::from(ordinal)).cloned(),
                placed: moment,
                stay: e.stay.or(planned),
                of: e.of,
                fate: Fate::In,
                by: None,
            };
            self.state.needles.insert(
                NeedleId {
                    placed: id,
                    ordinal,
                },
                needle,
            );
        }
    }

    /// What a fact says became of some needles. *Out* is final: whatever names such a needle
    /// afterwards is a flaw and changes nothing, so a doubled fact can only err toward *still in*.
    fn fates(&mut self, id: EntryId, spans: &[Span], said: Fate) {
        let mut doubled = false;
        let mut unknown = false;
        for name in spans.iter().flat_map(|span| span.needles()) {
            let Some(needle) = self.state.needles.get_mut(&name) else {
                unknown = true;
                continue;
            };
            let moves = match (needle.fate, said) {
                (Fate::Out, _) | (Fate::OutUncounted, Fate::StaysIn) => false,
                (Fate::NotFound, Fate::OutUncounted | Fate::StaysIn) => false,
                (now, then) => now != then,
            };
            if moves {
                needle.fate = said;
                needle.by = Some(id);
            } else {
                doubled = true;
            }
        }
        if doubled {
            self.flaw(id, FlawKind::DoubledOut);
        }
        if unknown {
            self.flaw(id, FlawKind::UnknownNeedle);
        }
    }

    fn finish(mut self) -> State {
        self.sum();
        let state = &self.state;
        let holds = |(_, close): &&(EntryId, Closed)| {
            close.facts == state.physical
                && close.opened == state.sum.opened
                && super::reconcile::open_items(state, close.words.as_deref()).is_empty()
        };
        self.state.closed = self.closes.iter().rev().find(holds).map(|(id, _)| *id);
        self.state.reopened = self.state.closed.is_none() && !self.closes.is_empty();
        flat::sort_by(&mut self.state.flaws, Ord::cmp);
        self.state.flaws.dedup();
        self.state
    }

    fn sum(&mut self) {
        let state = &mut self.state;
        let mut sum = Sum::default();
        let mut pools: flat::Map<Option<Size>, Pool> = flat::Map::new();
        for pack in state.packs.values() {
            let pool = pools.or_default(pack.size);
            pool.held = pool.held.saturating_add(u32::from(pack.held));
        }
        for needle in state.needles.values() {
            let seen = &mut pools.or_default(needle.size).seen;
            *seen = seen.saturating_add(1);
            let region = state.regions.or_default(needle.region);
            region.placed = region.placed.saturating_add(1);
            sum.placed = sum.placed.saturating_add(1);
            let (term, here) = match needle.fate {
                Fate::In => (&mut sum.in_now, &mut region.in_now),
                Fate::Out => (&mut sum.out, &mut region.out),
                Fate::OutUncounted => (&mut sum.out_uncounted, &mut region.out_uncounted),
                Fate::StaysIn => (&mut sum.stays_in, &mut region.stays_in),
                Fate::NotFound => (&mut sum.not_found, &mut region.not_found),
            };
            *term = term.saturating_add(1);
            *here = here.saturating_add(1);
        }
        for (&size, &left) in &state.strips {
            let seen = &mut pools.or_default(size).seen;
            *seen = seen.saturating_add(u32::from(left));
            sum.unused = sum.unused.saturating_add(u32::from(left));
        }
        for (&size, &n) in &self.spoilt {
            let seen = &mut pools.or_default(size).seen;
            *seen = seen.saturating_add(n);
            sum.spoilt = sum.spoilt.saturating_add(n);
        }
        // Each opened needle is claimed by at most one that was seen: first within its own size,
        // then between those whose size nobody said and whatever is left over.
        let (mut left_named, mut left_any, mut extra_named, mut extra_any) = (0_u32, 0, 0, 0);
        let mut held = 0_u32;
        for (size, pool) in &pools {
            held = held.saturating_add(pool.held);
            let left = pool.held.saturating_sub(pool.seen);
            let extra = pool.seen.saturating_sub(pool.held);
            let (l, e) = if size.is_some() {
                (&mut left_named, &mut extra_named)
            } else {
                (&mut left_any, &mut extra_any)
            };
            *l = u32::saturating_add(*l, left);
            *e = u32::saturating_add(*e, extra);
        }
        let from_any: u32 = left_any.min(extra_named);
        let to_any: u32 = left_named.min(extra_any);
        sum.unaccounted = left_named
            .saturating_sub(to_any)
            .saturating_add(left_any.saturating_sub(from_any));
        sum.packless = extra_named
            .saturating_sub(from_any)
            .saturating_add(extra_any.saturating_sub(to_any));
        sum.opened = held.saturating_add(sum.packless);
        sum.unplaced_not_found = self.unplaced_not_found.min(sum.unaccounted);
        state.sum = sum;
        if sum.packless > 0
            && !state.packs.is_empty()
            && let Some(entry) = state.opened.or_else(|| state.packs.keys().next().copied())
        {
            state.flaws.push(Flaw {
                entry,
                kind: FlawKind::MoreThanOpened,
            });
        }
    }
}

fn overlaps(a: crate::atlas::Region, b: crate::atlas::Region) -> bool {
    use crate::atlas::Side::Both;
    a.area == b.area && (a.side == b.side || a.side == Both || b.side == Both)
}
