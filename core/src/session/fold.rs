//! From facts to state, in one pass over the facts in the order of their ids.

use super::clock::{Moment, Run};
use super::pass::{self, Passes};
use super::{
    Cream, DidLine, Fate, Flaw, FlawKind, IncidentLine, Needle, NoteLine, PackLine, State, Sum,
    TrayWhy, figures,
};
use crate::base::flat;
use crate::base::id::{EntryId, NeedleId};
use crate::base::stamp::{Stamp, When};
use crate::event::matter::gone;
use crate::event::session::{Basis, Closed, Did, Doing, Ended, How, Inside, Span};
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

/// Facts that a standing correction or choice takes out.
pub(super) fn corrected(facts: &flat::Map<EntryId, Fact>) -> flat::Set<EntryId> {
    gone(
        facts
            .iter()
            .filter_map(|(&id, fact)| Some((id, fact.event.as_ref().ok()?))),
    )
}

/// See [`super::Session::last_act`].
pub(super) fn last_act(facts: &flat::Map<EntryId, Fact>) -> Vec<EntryId> {
    let gone = corrected(facts);
    let can = |fact: &Fact| {
        !matches!(
            fact.event,
            Ok(Event::Opened(_)
                | Event::Joined(_)
                | Event::Corrected(_)
                | Event::Settled(_)
                | Event::Did(Did {
                    what: Doing::StraightToBox,
                    ..
                }))
                | Err(_)
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
    let standing = || facts.iter().filter(|(id, _)| !gone.contains(*id));
    let told = |fact: &Fact| fact.event.as_ref().is_ok_and(after_close);
    if !standing().any(|(_, fact)| told(fact)) {
        return run(facts, &gone, EntryId::GREATEST);
    }
    // What was told after a close is added to it; a later close was made over it. So each close is
    // judged by what it knew, the newest first; if none holds, what was told is as any other fact.
    for (&id, fact) in standing().rev() {
        if matches!(fact.event, Ok(Event::Closed(_))) {
            let state = run(facts, &gone, id);
            if state.closed == Some(id) {
                return state;
            }
        }
    }
    run(facts, &gone, EntryId::GREATEST)
}

/// Folds; what was told after a close named `close`, or after a later one, is added last.
fn run(facts: &flat::Map<EntryId, Fact>, gone: &flat::Set<EntryId>, close: EntryId) -> State {
    let mut fold = Fold {
        passes: pass::passes(facts, gone),
        ..Fold::default()
    };
    for (&id, fact) in facts {
        fold.note_run(id, fact);
        if !gone.contains(&id) {
            fold.fact(id, fact, close);
        } else if let Err(why) = &fact.event {
            fold.unread(id, why);
        }
    }
    fold.finish()
}

#[derive(Default)]
struct Fold<'a> {
    state: State,
    passes: Passes,
    spoilt: flat::Map<Option<Size>, u32>,
    loose: flat::Map<Option<Size>, u32>,
    unplaced_not_found: u32,
    closes: Vec<(EntryId, Closed)>,
    /// Facts that came after a close and do not open the count again.
    late: Vec<(EntryId, &'a Fact)>,
    /// Out, and never in the tray: taken out at home, or explained.
    never_in_tray: u32,
    all_out: bool,
    got_up: bool,
    differed: bool,
}

impl<'a> Fold<'a> {
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
        // What a newer build wrote may change anything; what is damaged is the same for every build.
        match kind {
            FlawKind::UnknownKind | FlawKind::NewerVersion => self.state.read_only = true,
            _ => self.state.damaged = true,
        }
        self.state.erased |= kind == FlawKind::Erased;
        self.flaw(id, kind);
    }

    /// A strip count lapses when needles that may be of its size are handled after it.
    fn lapse(&mut self, size: Option<Size>) {
        self.state
            .strips
            .retain(|&counted, _| counted.is_some() && size.is_some() && counted != size);
        self.state.tray = None;
    }

    fn fact(&mut self, id: EntryId, fact: &'a Fact, close: EntryId) {
        let event = match &fact.event {
            Ok(event) => event,
            Err(why) => return self.unread(id, why),
        };
        if id > close && after_close(event) {
            self.late.push((id, fact));
        } else {
            self.apply(id, fact, event);
        }
    }

    /// When the hands were last heard of, and whether this fact was entered late or in a block.
    fn hands(&mut self, id: EntryId, fact: &Fact, event: &Event) {
        // What came out, or was seen, beyond what was known: a part of the act it stands in front of.
        if matches!(event, Event::Placed(e) if e.basis != Basis::Placing) {
            return;
        }
        let moment = Moment {
            run: id.replica,
            counter: id.counter,
            wall: fact.at.wall,
            mono: fact.at.mono,
        };
        let s = &mut self.state;
        let total = match event {
            Event::Out(out) => out.region.map(|_| count(&out.needles)),
            _ => None,
        };
        let gap = s.since_hands(id.replica, fact.at.wall, fact.at.mono);
        s.run_from = match (total, gap) {
            (Some(n), Some(millis)) if State::too_fast(n, millis) => {
                s.blocks.insert(id);
                s.run_from.or(s.hands)
            }
            (Some(_), _) => s.hands,
            (None, _) => None,
        };
        let entered = fact.at.wall;
        let late = i64::from(figures::LATE).saturating_mul(1000);
        if entered.since(fact.when.latest(entered)) > late {
            s.late.insert(id);
        }
        s.hands = Some(moment);
        s.waits = None;
    }

    #[expect(clippy::too_many_lines, reason = "one arm for each kind of fact")]
    fn apply(&mut self, id: EntryId, fact: &Fact, event: &Event) {
        let physical = !matches!(
            event,
            Event::Opened(_)
                | Event::Joined(_)
                | Event::Note(_)
                | Event::Stopped(_)
                | Event::Corrected(_)
                | Event::Closed(_)
                | Event::Stay(_)
                | Event::Searched(_)
                | Event::Incident(_)
                | Event::Otherwise(_)
                | Event::Did(_)
                | Event::Called(_)
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
                | Event::CopyMade(_)
                | Event::Brought(_)
                | Event::Settled(_)
                | Event::Residue(_)
        );
        if physical {
            self.state.physical = self.state.physical.saturating_add(1);
        }
        // What came after a close is applied last, and says nothing of the hands at the chair.
        if !after_close(event) && (physical || matches!(event, Event::Opened(_))) {
            self.hands(id, fact, event);
        }
        if self.passes.beaten_acts.contains(&fact.act.unwrap_or(id)) {
            let came_out = |e: &crate::event::session::Placed| e.basis == Basis::CameOut;
            match event {
                Event::Out(_) if self.passes.beaten.contains(&id) => return,
                Event::Placed(e) if came_out(e) => return,
                _ => {}
            }
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
                    label: e.held.get(),
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
                } else {
                    self.differed = true;
                    self.state.tray = None;
                }
                self.state.swept.remove(&e.region.area);
                self.placed(id, fact, e);
            }
            Event::Out(e) => {
                self.differed |= e.first.is_some();
                if let Some(region) = e.region {
                    self.state.swept.remove(&region.area);
                }
                if e.how == How::Explained {
                    self.never_in_tray = self.never_in_tray.saturating_add(count(&e.needles));
                }
                self.unsweep(&e.needles);
                self.state.tray = None;
                self.fates(id, &e.needles, Fate::Out);
            }
            Event::OutUncounted(e) => {
                self.all_out = true;
                self.state.swept.clear();
                self.state.tray = None;
                self.fates(id, &e.needles, Fate::OutUncounted);
            }
            Event::StaysIn(e) => {
                let at = fact.when.earliest(fact.at.wall);
                self.state.left_in.insert(id, (at, e.longest));
                self.fates(id, &e.needles, Fate::StaysIn);
            }
            Event::Unseen(e) => {
                self.differed = true;
                self.state.searched.clear();
                self.unsweep(&e.needles);
                self.fates(id, &e.needles, Fate::Unseen);
            }
            Event::StayEnded(e) => {
                if e.how == Ended::ByPerson {
                    self.never_in_tray = self.never_in_tray.saturating_add(count(&e.needles));
                }
                if e.after.is_none() {
                    self.state.tray = None;
                    self.unsweep(&e.needles);
                }
                let fate = match e.how {
                    Ended::FellOffUnseen => Fate::FellOff,
                    Ended::ByMe | Ended::ByPerson => Fate::Out,
                };
                self.fates(id, &e.needles, fate);
                let at = fact.when.earliest(fact.at.wall);
                self.state.stays_ended.push((id, at, e.clone()));
            }
            Event::TurnedUp(e) => {
                if e.after.is_none() {
                    self.state.tray = None;
                }
                self.fates(id, &e.needles, Fate::Out);
                let n = self.loose.or_default(e.size);
                *n = n.saturating_add(u32::from(e.loose));
                let at = fact.when.earliest(fact.at.wall);
                self.state.turned_up.push((id, at, e.clone()));
            }
            Event::Inside(e) => self.inside(id, e),
            Event::Searched(e) => self.state.searched.extend(e.places.iter().copied()),
            Event::Incident(e) => self.state.incidents.push(IncidentLine {
                id,
                at: fact.at.wall,
                when: fact.when,
                what: e.clone(),
            }),
            // It changes no count and no clock: the record reads it from the facts.
            Event::Otherwise(_) => {}
            Event::Did(e) => self.did(id, fact, e),
            Event::NotFound(e) => {
                self.differed = true;
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
            Event::Closed(e) => {
                self.state.waits = None;
                self.closes.push((id, e.clone()));
            }
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
            | Event::Called(_)
            | Event::Set(_)
            | Event::Composed(_)
            | Event::Retired(_)
            | Event::Described(_)
            | Event::TakenAway(_)
            | Event::CopyMade(_)
            | Event::Brought(_)
            | Event::Residue(_) => self.flaw(id, FlawKind::Malformed),
            // What it takes out was taken out before anything was folded.
            Event::Settled(_) => {}
        }
    }

    /// Areas that needles came out of are to be swept again.
    fn unsweep(&mut self, spans: &[Span]) {
        let state = &mut self.state;
        for name in spans.iter().flat_map(|span| span.needles()) {
            if let Some(needle) = state.needles.get(&name) {
                state.swept.remove(&needle.region.area);
            }
        }
    }

    /// Needles seen by eye, against those known to be there.
    fn inside(&mut self, id: EntryId, e: &Inside) {
        for line in &e.regions {
            self.state.recount.remove(&line.region);
            let here =
                self.state.needles.values().filter(|n| {
                    n.region == line.region && matches!(n.fate, Fate::In | Fate::StaysIn)
                });
            if here.count() != usize::from(line.seen) {
                self.differed = true;
                self.flaw(id, FlawKind::SeenOtherwise);
            }
        }
    }

    fn did(&mut self, id: EntryId, fact: &Fact, e: &Did) {
        let at = fact.moment(id);
        let state = &mut self.state;
        match e.what {
            // Needles that stay in on purpose go home with the person.
            Doing::GotUp => {
                let inside = state.needles.values().filter(|n| n.fate == Fate::In);
                let regions: flat::Set<crate::atlas::Region> = inside.map(|n| n.region).collect();
                self.got_up |= !regions.is_empty();
                state.recount.extend(regions);
            }
            Doing::HandedOver => {
                let inside = state
                    .needles
                    .values()
                    .filter(|n| matches!(n.fate, Fate::In | Fate::StaysIn));
                state.recount.extend(inside.map(|n| n.region));
            }
            Doing::Waits => state.waits = Some(at),
            Doing::LookedIn => state.waits = None,
            Doing::StraightToBox => state.straight_to_box = true,
            _ => {}
        }
        state.did.push(DidLine {
            id,
            at,
            what: e.clone(),
        });
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
                (Fate::Out, _) => false,
                (Fate::OutUncounted, Fate::StaysIn | Fate::Unseen | Fate::FellOff) => false,
                (Fate::NotFound, then) => matches!(then, Fate::Out | Fate::FellOff),
                (Fate::Unseen, then) => matches!(then, Fate::Out | Fate::NotFound),
                (Fate::FellOff, then) => then == Fate::Out,
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
        self.state.two_totals = core::mem::take(&mut self.passes.two);
        self.state.passes = core::mem::take(&mut self.passes.next);
        let losers: Vec<EntryId> = self.passes.beaten.iter().copied().collect();
        for id in losers {
            self.flaw(id, FlawKind::TwoTotals);
        }
        self.sum();
        self.close();
        let late = core::mem::take(&mut self.late);
        if let (Some(close), false) = (self.state.closed, late.is_empty()) {
            let s = &self.state;
            let (packless, physical) = (s.sum.packless, s.physical);
            for (id, fact) in late {
                if let Ok(event) = &fact.event {
                    self.apply(id, fact, event);
                }
            }
            self.sum();
            let s = &mut self.state;
            s.physical = physical;
            s.false_balance = s.sum.packless.saturating_sub(packless);
            if s.false_balance > 0 {
                self.flaw(close, FlawKind::FalseBalance);
            }
        }
        let sum = &self.state.sum;
        let explained = self.state.false_balance == sum.packless;
        let first = self.state.packs.keys().next().copied();
        if let (true, Some(pack)) = (sum.packless > 0 && !explained, first) {
            self.flaw(self.state.opened.unwrap_or(pack), FlawKind::MoreThanOpened);
        }
        flat::sort_by(&mut self.state.flaws, Ord::cmp);
        self.state.flaws.dedup();
        self.state
    }

    /// What the sums say of recounts and the tray, and whether a close holds over them.
    fn close(&mut self) {
        let state = &mut self.state;
        let regions = &state.regions;
        state.recount.retain(|region| {
            let here = regions.get(region);
            here.is_some_and(|r| r.in_now > 0 || r.stays_in > 0)
        });
        let sum = state.sum;
        state.in_tray = sum
            .out
            .saturating_sub(self.never_in_tray)
            .saturating_add(sum.spoilt)
            .saturating_add(sum.turned_up);
        let mut why = Vec::new();
        // With needles straight into the box nothing lies in a tray, and none is claimed.
        if !state.straight_to_box && sum.placed > 0 {
            let late = !state.late.is_empty() || !state.blocks.is_empty();
            let counted = !state.packs.is_empty()
                && (state.packs.values()).all(|p| state.strips.contains_key(&p.size));
            let short = counted && (sum.unaccounted > 0 || sum.packless > 0);
            let differs = self.differed || sum.unseen > 0 || short;
            for (holds, reason) in [
                (self.all_out, TrayWhy::Emergency),
                (late, TrayWhy::LateOrBlock),
                (self.got_up, TrayWhy::GotUp),
                (differs, TrayWhy::Mismatch),
                (state.one_in_ten(), TrayWhy::OneInTen),
            ] {
                if holds {
                    why.push(reason);
                }
            }
        }
        state.tray_asked = why;
        let state = &self.state;
        let holds = |(_, close): &&(EntryId, Closed)| {
            close.facts == state.physical
                && close.opened == state.sum.opened
                && super::reconcile::open_items(state, close.words.as_deref(), close.demands)
                    .is_empty()
        };
        self.state.closed = self.closes.iter().rev().find(holds).map(|(id, _)| *id);
        self.state.reopened = self.state.closed.is_none() && !self.closes.is_empty();
    }

    fn sum(&mut self) {
        let state = &mut self.state;
        state.regions.clear();
        state.sizes.clear();
        let mut sum = Sum::default();
        let mut pools: flat::Map<Option<Size>, Pool> = flat::Map::new();
        for pack in state.packs.values() {
            let pool = pools.or_default(pack.size);
            pool.held = pool.held.saturating_add(u32::from(pack.held));
            let size = state.sizes.or_default(pack.size);
            size.opened = size.opened.saturating_add(u32::from(pack.held));
        }
        for needle in state.needles.values() {
            let seen = &mut pools.or_default(needle.size).seen;
            *seen = seen.saturating_add(1);
            let region = state.regions.or_default(needle.region);
            region.placed = region.placed.saturating_add(1);
            sum.placed = sum.placed.saturating_add(1);
            let size = state.sizes.or_default(needle.size);
            size.placed = size.placed.saturating_add(1);
            let stays = u32::from(needle.fate == Fate::StaysIn);
            size.stays_in = size.stays_in.saturating_add(stays);
            let (term, here) = match needle.fate {
                Fate::In => (&mut sum.in_now, &mut region.in_now),
                Fate::Out => (&mut sum.out, &mut region.out),
                Fate::OutUncounted => (&mut sum.out_uncounted, &mut region.out_uncounted),
                Fate::StaysIn => (&mut sum.stays_in, &mut region.stays_in),
                Fate::NotFound => (&mut sum.not_found, &mut region.not_found),
                Fate::Unseen => (&mut sum.unseen, &mut region.unseen),
                Fate::FellOff => (&mut sum.fell_off, &mut region.fell_off),
            };
            *term = term.saturating_add(1);
            *here = here.saturating_add(1);
        }
        for (&size, &left) in &state.strips {
            let seen = &mut pools.or_default(size).seen;
            *seen = seen.saturating_add(u32::from(left));
            sum.unused = sum.unused.saturating_add(u32::from(left));
            let size = state.sizes.or_default(size);
            size.unused = Some(u32::from(left));
        }
        for (&size, &n) in &self.spoilt {
            let seen = &mut pools.or_default(size).seen;
            *seen = seen.saturating_add(n);
            sum.spoilt = sum.spoilt.saturating_add(n);
            let size = state.sizes.or_default(size);
            size.spoilt = size.spoilt.saturating_add(n);
        }
        for (&size, &n) in &self.loose {
            let seen = &mut pools.or_default(size).seen;
            *seen = seen.saturating_add(n);
            sum.turned_up = sum.turned_up.saturating_add(n);
            if n > 0 {
                let size = state.sizes.or_default(size);
                size.turned_up = size.turned_up.saturating_add(n);
            }
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
    }
}

/// Whether a fact was written down after the session had been closed, and does not open it again.
fn after_close(event: &Event) -> bool {
    match event {
        Event::TurnedUp(e) => e.after.is_some(),
        Event::StayEnded(e) => e.after.is_some(),
        _ => false,
    }
}

/// How many needles some runs name, hostile ones bounded.
fn count(spans: &[Span]) -> u32 {
    let n = spans
        .iter()
        .map(|span| span.needles().count())
        .sum::<usize>();
    u32::try_from(n).unwrap_or(u32::MAX)
}

fn overlaps(a: crate::atlas::Region, b: crate::atlas::Region) -> bool {
    use crate::atlas::Side::Both;
    a.area == b.area && (a.side == b.side || a.side == Both || b.side == Both)
}
