//! What a visit comes to, gathered once for the bundle and for the tables.

use super::time::{Range, day, range, widen};
use crate::atlas::Region;
use crate::base::date::Date;
use crate::base::flat;
use crate::base::id::{EntryId, NeedleId, Stream};
use crate::base::stamp::{Wall, When};
use crate::event::Event;
use crate::event::person::Answered;
use crate::event::session::PointUse;
use crate::journal::Entry;
use crate::ledger::Ledger;
use crate::needle::Size;
use crate::people::Person;
use crate::session::{Fact, Fate, Needle, Session, State};
use alloc::vec::Vec;

/// One region of a visit, over all its needles.
#[derive(Clone, Debug)]
pub(super) struct Place<'a> {
    /// Where.
    pub region: Region,
    /// When they went in, from when to when.
    pub went_in: Range,
    /// When those that came out did.
    pub came_out: Option<Range>,
    /// Points, each with its side, in order.
    pub points: Vec<&'a PointUse>,
    /// How many of each size.
    pub sizes: Vec<(Option<Size>, u32)>,
    /// The first answer, where the region was looked through again.
    pub first_answer: Option<u16>,
    /// Some of its times were entered as "about then".
    pub about: bool,
}

/// A fact that says needles were not found.
#[derive(Clone, Debug)]
pub(super) struct Missing<'a> {
    /// The fact.
    pub id: EntryId,
    /// When, at the latest.
    pub at: Wall,
    /// Placed needles that are still not found.
    pub placed: u32,
    /// Opened needles, never placed, that are still not found.
    pub unplaced: u32,
    /// What was searched and told.
    pub words: &'a str,
}

/// A visit: one session.
pub(super) struct Visit<'a> {
    /// The session.
    pub id: EntryId,
    /// What its facts come to.
    pub state: &'a State,
    facts: Vec<(EntryId, &'a Fact)>,
    /// Its local day, by the stamp it was opened with.
    pub day: Option<Date>,
    /// When it was closed, while that holds.
    pub ended: Option<Wall>,
    /// Region by region, in the order of the first needle.
    pub places: Vec<Place<'a>>,
    /// What was not found.
    pub missing: Vec<Missing<'a>>,
}

impl<'a> Visit<'a> {
    /// Gathers.
    pub fn new(id: EntryId, session: &'a Session) -> Self {
        let state = session.state();
        let facts: Vec<(EntryId, &Fact)> = session
            .facts()
            .filter(|(_, _, stands)| *stands)
            .map(|(id, fact, _)| (id, fact))
            .collect();
        let begun = state
            .opened_at
            .or(facts.first().map(|(_, fact)| fact.at.wall));
        let mut visit = Self {
            id,
            state,
            day: begun.and_then(|at| day(at, state.zone)),
            ended: None,
            facts,
            places: Vec::new(),
            missing: Vec::new(),
        };
        visit.ended = state.closed.and_then(|id| visit.when(id)).map(|r| r.1);
        visit.gather();
        visit
    }

    fn gather(&mut self) {
        let state = self.state;
        for (name, needle) in &state.needles {
            let went_in = self.went_in(*name, needle);
            let came_out = self.came_out(needle);
            let came_out = came_out.filter(|_| !self.afterwards(needle));
            let about = self.about(name.placed) || needle.by.is_some_and(|by| self.about(by));
            let at = self.places.iter().position(|p| p.region == needle.region);
            let at = at.unwrap_or_else(|| {
                self.places.push(Place {
                    region: needle.region,
                    went_in,
                    came_out: None,
                    points: Vec::new(),
                    sizes: Vec::new(),
                    first_answer: None,
                    about: false,
                });
                self.places.len().saturating_sub(1)
            });
            let Some(place) = self.places.get_mut(at) else {
                continue;
            };
            place.went_in = widen(Some(place.went_in), went_in).unwrap_or(went_in);
            if let Some(out) = came_out {
                place.came_out = widen(place.came_out, out);
            }
            place.about |= about;
            if let Some(point) = &needle.point {
                place.points.push(point);
            }
            match place
                .sizes
                .iter_mut()
                .find(|(size, _)| *size == needle.size)
            {
                Some((_, n)) => *n = n.saturating_add(1),
                None => place.sizes.push((needle.size, 1)),
            }
        }
        let mut unplaced = state.sum.unplaced_not_found;
        for &(id, fact) in &self.facts {
            match &fact.event {
                Ok(Event::Out(out)) => {
                    if let Some(first) = out.first {
                        let of = |p: &&mut Place<'_>| Some(p.region) == out.region;
                        if let Some(place) = self.places.iter_mut().find(of) {
                            place.first_answer = Some(first);
                        }
                    }
                }
                Ok(Event::NotFound(e)) => {
                    // Unplaced ones that were accounted for afterwards are missing no more.
                    let here = u32::from(e.unplaced).min(unplaced);
                    unplaced = unplaced.saturating_sub(here);
                    let still = |n: &&Needle| n.by == Some(id) && n.fate == Fate::NotFound;
                    let placed = state.needles.values().filter(still).count();
                    self.missing.push(Missing {
                        id,
                        at: range(fact).1,
                        placed: u32::try_from(placed).unwrap_or(u32::MAX),
                        unplaced: here,
                        words: &e.words,
                    });
                }
                _ => {}
            }
        }
    }

    fn fact(&self, id: EntryId) -> Option<&'a Fact> {
        let found = self.facts.iter().find(|(known, _)| *known == id);
        found.map(|(_, fact)| *fact)
    }

    fn about(&self, id: EntryId) -> bool {
        self.fact(id)
            .is_some_and(|fact| matches!(fact.when, When::About(_)))
    }

    /// Whether the time of anything here was entered as about then.
    pub fn any_about(&self) -> bool {
        let about = |fact: &Fact| matches!(fact.when, When::About(_));
        self.facts.iter().any(|(_, fact)| about(fact))
    }

    /// When a needle went in, from when to when.
    pub fn went_in(&self, name: NeedleId, needle: &Needle) -> Range {
        self.when(name.placed)
            .unwrap_or((needle.placed.wall, needle.placed.wall))
    }

    /// When it came out and was counted, if it was. One that first came out uncounted came out then;
    /// one that turned up loose came out nobody knows when.
    pub fn came_out(&self, needle: &Needle) -> Option<Range> {
        let by = needle.by.filter(|_| needle.fate == Fate::Out)?;
        match &self.fact(by)?.event {
            Ok(Event::TurnedUp(up)) if !up.embedded => None,
            _ => self.when(by),
        }
    }

    /// Whether what became of a needle was told after the count was closed: no part of the visit's own
    /// times.
    fn afterwards(&self, needle: &Needle) -> bool {
        let by = needle.by.and_then(|by| self.fact(by));
        match by.map(|fact| &fact.event) {
            Some(Ok(Event::TurnedUp(up))) => up.after.is_some(),
            Some(Ok(Event::StayEnded(end))) => end.after.is_some(),
            _ => false,
        }
    }

    /// When its needles went in and came out, over all regions: first in, last out.
    pub fn span(&self) -> (Option<Wall>, Option<Wall>) {
        let mut all = None;
        for place in &self.places {
            all = widen(all, place.went_in);
            if let Some(out) = place.came_out {
                all = widen(all, out);
            }
        }
        let sum = &self.state.sum;
        let over = sum.in_now == 0 && sum.out_uncounted == 0;
        (all.map(|a| a.0), all.map(|a| a.1).filter(|_| over))
    }

    /// Whether something is said to have ended before it began: a clock was set, or a time was entered
    /// as about then.
    pub fn contradicts(&self) -> bool {
        let state = self.state;
        let before = |from: Option<Wall>, to: Option<Wall>| matches!((from, to), (Some(a), Some(b)) if b < a);
        let (first, last) = self.span();
        let place = |p: &Place<'_>| p.came_out.is_some_and(|out| out.1 < p.went_in.0);
        before(state.opened_at, self.ended)
            || before(first, last)
            || self.places.iter().any(place)
            || state.creams.iter().any(|c| before(Some(c.on.wall), c.off))
            || state
                .packs
                .keys()
                .any(|p| before(self.when(*p).map(|r| r.0), self.ended))
    }

    /// How many facts were taken back.
    pub fn corrected(session: &Session) -> u32 {
        let gone = session.facts().filter(|(_, _, stands)| !stands).count();
        u32::try_from(gone).unwrap_or(u32::MAX)
    }

    /// The label of a packet as it was opened, whatever it held in fact.
    pub fn label(&self, pack: EntryId) -> Option<u16> {
        match &self.fact(pack)?.event {
            Ok(Event::Pack(e)) => Some(e.held.get()),
            _ => None,
        }
    }

    /// Milligrams of cream, if they were said.
    pub fn milligrams(&self, cream: EntryId) -> Option<u32> {
        match &self.fact(cream)?.event {
            Ok(Event::CreamOn(e)) => e.milligrams,
            _ => None,
        }
    }

    /// When a fact happened, as it was told.
    pub fn told(&self, id: EntryId) -> Option<When> {
        self.fact(id).map(|fact| fact.when)
    }

    /// When a fact happened, from when to when.
    pub fn when(&self, id: EntryId) -> Option<Range> {
        self.fact(id).map(range)
    }
}

/// An answer as it was given.
#[derive(Clone, Debug)]
pub(super) struct Said {
    /// What was said.
    pub answered: Answered,
    /// When it was entered.
    pub entered: Wall,
    /// Minutes that local time was ahead of UTC then.
    pub zone: i16,
}

/// Every answer of a person that stands, oldest entry first; several to one question are all here.
pub(super) fn answers(ledger: &Ledger, person: EntryId) -> Vec<Said> {
    let entries: Vec<&Entry> = ledger.journal().of(Stream::Person(person)).collect();
    let mut gone: flat::Set<EntryId> = flat::Set::new();
    for entry in entries.iter().rev().filter(|e| e.kind == "corrected") {
        if let (Ok(Event::Corrected(c)), false) = (Event::read(entry), gone.contains(&entry.id)) {
            gone.extend(c.targets.iter().filter(|target| **target < entry.id));
        }
    }
    let mut out = Vec::new();
    for entry in entries {
        if entry.kind == "person.answered"
            && !gone.contains(&entry.id)
            && let Ok(Event::Answered(answered)) = Event::read(entry)
        {
            out.push(Said {
                answered,
                entered: entry.at.wall,
                zone: entry.at.zone,
            });
        }
    }
    out
}

/// The days on which an answer was given that no later one had replaced on `until`.
pub(super) fn days(said: &[Said], until: Option<Date>) -> Vec<Date> {
    let mut days: Vec<Date> = Vec::new();
    let mut rest = said;
    while let [one, later @ ..] = rest {
        rest = later;
        let counts = |s: &Said| until.is_none_or(|until| s.answered.date <= until);
        let replaced = |s: &Said| counts(s) && s.answered.question == one.answered.question;
        if counts(one) && !later.iter().any(replaced) && !days.contains(&one.answered.date) {
            days.push(one.answered.date);
        }
    }
    days
}

/// The last word on a question on one day.
pub(super) fn on<'s>(said: &'s [Said], day: Date, question: &str) -> Option<&'s Said> {
    said.iter()
        .rev()
        .find(|s| s.answered.date == day && s.answered.question == question)
}

/// Whether nothing is left of a session but that it was there: its person's key was destroyed.
pub(super) fn erased(person: Option<&Person>, state: &State) -> bool {
    let erased = |f: &crate::session::Flaw| f.kind == crate::session::FlawKind::Erased;
    person.is_some_and(|p| p.erased) || (state.opened.is_none() && state.flaws.iter().any(erased))
}
