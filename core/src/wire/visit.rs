//! What a visit comes to, gathered once for the bundle and for the tables.

use super::time::{Range, day, range, widen};
use crate::atlas::Region;
use crate::base::date::Date;
use crate::base::flat;
use crate::base::id::{EntryId, NeedleId, Stream};
use crate::base::stamp::{Wall, When};
use crate::event::Event;
use crate::event::person::{Answered, Told};
use crate::intake::Reply;
use crate::ledger::Ledger;
use crate::needle::Size;
use crate::people::Person;
use crate::session::{Fact, Fate, Needle, Session, State};
use alloc::string::String;
use alloc::vec::Vec;

/// One region of a visit, over all its needles.
#[derive(Clone, Debug)]
pub(super) struct Place {
    /// Where.
    pub region: Region,
    /// When they went in, from when to when.
    pub went_in: Range,
    /// When those that came out did.
    pub came_out: Option<Range>,
    /// Points, each with its side, in order.
    pub points: Vec<(String, crate::atlas::Side)>,
    /// How many of each size.
    pub sizes: Vec<(Option<Size>, u32)>,
    /// The first answer, where the region was looked through again.
    pub first_answer: Option<u16>,
    /// Some of its times were entered as "about then".
    pub about: bool,
}

/// A fact that says needles were not found.
#[derive(Clone, Debug)]
pub(super) struct Missing {
    /// The fact.
    pub id: EntryId,
    /// When, at the latest.
    pub at: Wall,
    /// Placed needles that are still not found.
    pub placed: u32,
    /// Opened needles, never placed, that are still not found.
    pub unplaced: u32,
    /// What was searched and told.
    pub words: String,
}

/// A visit: one session.
pub(super) struct Visit<'a> {
    /// The session.
    pub id: EntryId,
    /// What its facts come to.
    pub state: &'a State,
    facts: flat::Map<EntryId, &'a Fact>,
    /// Its local day, by the stamp it was opened with.
    pub day: Option<Date>,
    /// When it was closed, while that holds.
    pub ended: Option<Wall>,
    /// Region by region, in the order of the first needle.
    pub places: Vec<Place>,
    /// What was not found.
    pub missing: Vec<Missing>,
}

impl<'a> Visit<'a> {
    /// Gathers.
    pub fn new(id: EntryId, session: &'a Session) -> Self {
        let state = session.state();
        let facts: flat::Map<EntryId, &Fact> = session
            .facts()
            .filter(|(_, _, stands)| *stands)
            .map(|(id, fact, _)| (id, fact))
            .collect();
        let begun = state
            .opened_at
            .or_else(|| facts.values().next().map(|fact| fact.at.wall));
        let mut visit = Self {
            id,
            state,
            day: begun.and_then(|at| day(at, state.zone)),
            ended: state
                .closed
                .and_then(|id| facts.get(&id))
                .map(|fact| range(fact).1),
            facts,
            places: Vec::new(),
            missing: Vec::new(),
        };
        visit.gather();
        visit
    }

    fn gather(&mut self) {
        let state = self.state;
        for (name, needle) in &state.needles {
            let went_in = self.went_in(*name, needle);
            let came_out = self.came_out(needle);
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
                place.points.push((point.code.clone(), point.side));
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
        for (&id, fact) in &self.facts {
            match &fact.event {
                Ok(Event::Out(out)) => {
                    if let Some(first) = out.first {
                        let of = |p: &&mut Place| Some(p.region) == out.region;
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
                        words: e.words.clone(),
                    });
                }
                _ => {}
            }
        }
    }

    fn about(&self, id: EntryId) -> bool {
        let fact = self.facts.get(&id);
        fact.is_some_and(|fact| matches!(fact.when, When::About(_)))
    }

    /// When a needle went in, from when to when.
    pub fn went_in(&self, name: NeedleId, needle: &Needle) -> Range {
        let fact = self.facts.get(&name.placed);
        fact.map_or((needle.placed.wall, needle.placed.wall), |fact| range(fact))
    }

    /// When it came out and was counted, if it was. One that first came out uncounted came out then.
    pub fn came_out(&self, needle: &Needle) -> Option<Range> {
        let by = needle.by.filter(|_| needle.fate == Fate::Out)?;
        self.facts.get(&by).map(|fact| range(fact))
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
        let place = |p: &Place| p.came_out.is_some_and(|out| out.1 < p.went_in.0);
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
        match &self.facts.get(&pack)?.event {
            Ok(Event::Pack(e)) => Some(e.held.get()),
            _ => None,
        }
    }

    /// Milligrams of cream, if they were said.
    pub fn milligrams(&self, cream: EntryId) -> Option<u32> {
        match &self.facts.get(&cream)?.event {
            Ok(Event::CreamOn(e)) => e.milligrams,
            _ => None,
        }
    }

    /// When a fact happened.
    pub fn when(&self, id: EntryId) -> Option<Range> {
        self.facts.get(&id).map(|fact| range(fact))
    }
}

/// An answer as it was given.
#[derive(Clone, Debug)]
pub(super) struct Said {
    /// The question.
    pub question: String,
    /// What was said.
    pub reply: Reply,
    /// The day it was said.
    pub date: Date,
    /// How it came in.
    pub told: Told,
    /// When it was entered.
    pub entered: Wall,
    /// Minutes that local time was ahead of UTC then.
    pub zone: i16,
}

/// Every answer of a person that stands, oldest entry first; several to one question are all here.
pub(super) fn answers(ledger: &Ledger, person: EntryId) -> Vec<Said> {
    let entries: Vec<_> = ledger
        .journal()
        .of(Stream::Person(person))
        .map(|entry| (entry, Event::read(entry)))
        .collect();
    let mut gone = flat::Set::new();
    for (entry, event) in entries.iter().rev() {
        if let (Ok(Event::Corrected(c)), false) = (event, gone.contains(&entry.id)) {
            gone.extend(
                c.targets
                    .iter()
                    .filter(|target| **target < entry.id)
                    .copied(),
            );
        }
    }
    let mut out = Vec::new();
    for (entry, event) in entries {
        if let (
            Ok(Event::Answered(Answered {
                question,
                reply,
                date,
                told,
            })),
            false,
        ) = (event, gone.contains(&entry.id))
        {
            out.push(Said {
                question,
                reply,
                date,
                told,
                entered: entry.at.wall,
                zone: entry.at.zone,
            });
        }
    }
    out
}

/// What was said on each day that still stood on `until`, question by question: the days on which an
/// answer was given that no later one had replaced by then, each with all that was said on it.
pub(super) fn standing(said: &[Said], until: Option<Date>) -> Vec<(Date, Vec<&Said>)> {
    let mut latest: flat::Map<&str, Date> = flat::Map::new();
    let mut by_day: flat::Map<Date, flat::Map<&str, &Said>> = flat::Map::new();
    let up_to = |s: &&Said| until.is_none_or(|until| s.date <= until);
    for one in said.iter().filter(up_to) {
        latest.insert(&one.question, one.date);
        by_day.or_default(one.date).insert(&one.question, one);
    }
    let stands = |day: Date| latest.values().any(|last| *last == day);
    by_day
        .into_iter()
        .filter(|(day, _)| stands(*day))
        .map(|(day, rows)| (day, rows.into_values().collect()))
        .collect()
}

/// Whether nothing is left of a session but that it was there: its person's key was destroyed.
pub(super) fn erased(person: Option<&Person>, state: &State) -> bool {
    let erased = |f: &crate::session::Flaw| f.kind == crate::session::FlawKind::Erased;
    person.is_some_and(|p| p.erased) || (state.opened.is_none() && state.flaws.iter().any(erased))
}
