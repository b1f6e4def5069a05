//! What a record says beside its tables: what happened, by the time it happened, and what has to be
//! said about the count.

use super::Range;
use crate::base::flat;
use crate::base::id::EntryId;
use crate::event::Event;
use crate::event::session::{Doing, How, PointUse, Tray};
use crate::ledger::Ledger;
use crate::session::Session;
use crate::view::chair::row;
use crate::words::acts::EN as ACTS;
use crate::words::beside::EN as BESIDE;
use crate::words::cards::incident;
use crate::words::place::EN as PLACES;
use alloc::string::{String, ToString};
use alloc::vec::Vec;

fn with_words(mut line: String, words: &str) -> String {
    if !words.trim().is_empty() {
        line.push_str(": ");
        line.push_str(words.trim());
    }
    line
}

fn at(mut line: String, region: Option<crate::atlas::Region>, point: Option<&PointUse>) -> String {
    if let Some(region) = region {
        line.push_str(", ");
        line.push_str(&PLACES.region(region));
    }
    if let Some(point) = point {
        line.push_str(", ");
        line.push_str(&PLACES.points([(point.code.as_str(), point.side)]));
    }
    line
}

/// What happened beside needles simply placed and taken out, by its times.
pub(super) fn happened(found: &Session, when: &flat::Map<EntryId, Range>) -> Vec<(Range, String)> {
    let state = found.state();
    let mut lines = Vec::new();
    for (id, fact, stands) in found.facts() {
        let (true, Ok(event)) = (stands, &fact.event) else {
            continue;
        };
        let of_first = |spans: &[crate::event::session::Span]| {
            let name = spans.first()?.needles().next()?;
            state.needles.get(&name)
        };
        let line = match event {
            Event::Incident(e) => with_words(
                at(incident(e.kind).into(), e.region, e.point.as_ref()),
                &e.words,
            ),
            Event::Otherwise(e) => with_words(
                at(BESIDE.otherwise.into(), Some(e.region), e.point.as_ref()),
                &BESIDE.differs(e),
            ),
            Event::Did(e) if e.what == Doing::StraightToBox => continue,
            Event::Did(e) => ACTS.did(e.what, &e.who, &e.from),
            Event::Inside(e) => {
                let seen = e.regions.iter();
                row(seen.map(|r| ACTS.seen(&PLACES.region(r.region), r.seen)))
            }
            Event::Out(e) if !matches!(e.how, How::Taken | How::Together) => {
                let needle = of_first(&e.needles);
                let line = ACTS.how(e.how).to_string();
                at(
                    line,
                    needle.map(|n| n.region),
                    needle.and_then(|n| n.point.as_ref()),
                )
            }
            Event::Unseen(e) => {
                let region = of_first(&e.needles).map(|n| n.region);
                at(ACTS.fell_unseen.into(), region, None)
            }
            Event::StayEnded(e) => {
                let region = of_first(&e.needles).map(|n| n.region);
                at(ACTS.ended(e.how).into(), region, None)
            }
            Event::TurnedUp(e) => ACTS.up(e),
            Event::Searched(e) => with_words(
                ACTS.looked.into(),
                &row(e.places.iter().map(|p| ACTS.place(*p).into())),
            ),
            _ => continue,
        };
        if let Some(range) = when.get(&id) {
            lines.push((*range, line));
        }
    }
    flat::sort_by_key(&mut lines, |(range, _)| *range);
    lines
}

/// What has to be said about the count.
pub(super) fn about_count(session: EntryId, found: &Session) -> Vec<String> {
    let state = found.state();
    let mut lines = chosen(found);
    if state.straight_to_box {
        lines.push(ACTS.straight_to_box.to_string());
    } else if let Some(Tray { tens, over }) = state.tray {
        let n = u32::from(tens).saturating_mul(10);
        let why = row(state.tray_asked.iter().map(|w| ACTS.tray_why(*w).into()));
        lines.push(ACTS.tray_counted(n.saturating_add(u32::from(over)), &why));
    }
    for pack in state.packs.values().filter(|p| p.held != p.label) {
        let lot = pack.lot.as_deref().unwrap_or_default();
        lines.push(BESIDE.held(pack.label, pack.held, lot));
    }
    let stays = crate::view::after::stays_of(session, state);
    lines.extend(stays.iter().map(crate::view::after::StayLine::line));
    if !state.blocks.is_empty() {
        lines.push(ACTS.blocks(state.blocks.len()));
    }
    if !state.late.is_empty() {
        lines.push(ACTS.late(state.late.len()));
    }
    if state.false_balance > 0 {
        lines.push(ACTS.false_balance.to_string());
    }
    lines
}

/// Rounds that were entered twice, and which of the two totals was chosen: a total that was set aside
/// while another of its round stood. One that was undone before it was entered again is no such round.
fn chosen(found: &Session) -> Vec<String> {
    let mut lines = Vec::new();
    let total = |event: &Event| match event {
        Event::Out(e) => {
            let n: usize = e.needles.iter().map(|span| span.needles().count()).sum();
            Some((e.region?, e.pass?, n))
        }
        _ => None,
    };
    let facts = || {
        found
            .facts()
            .filter_map(|(id, fact, stands)| Some((id, fact.event.as_ref().ok()?, stands)))
    };
    for (aside, event, _) in facts().filter(|(_, _, stands)| !stands) {
        let Some((region, pass, other)) = total(event) else {
            continue;
        };
        // Nothing is chosen while two of them stand.
        if (found.state().two_totals.iter()).any(|two| two.region == region) {
            continue;
        }
        let by = facts().find(|(_, event, stands)| {
            *stands && matches!(event, Event::Corrected(c) if c.targets.contains(&aside))
        });
        let kept = facts().find_map(|(id, event, stands)| {
            let (at, of, n) = total(event)?;
            let before = by.as_ref().is_some_and(|(by, _, _)| id < *by);
            (stands && before && (at, of) == (region, pass)).then_some(n)
        });
        if let Some(kept) = kept {
            lines.push(BESIDE.chosen(&PLACES.region(region), kept, other));
        }
    }
    lines
}

/// Needles written down with another visit that may be from this one.
pub(super) fn from_elsewhere(ledger: &Ledger, session: EntryId) -> Vec<String> {
    let mut lines = Vec::new();
    // A rehearsal treated nobody: no needle is from it, and none that was used there is elsewhere.
    if ledger.session(session).is_none_or(|s| s.state().rehearsal) {
        return lines;
    }
    let fits = ledger
        .visits()
        .filter(|(_, v)| !v.rehearsal && v.fits.contains(&session));
    for (other, found) in fits.filter_map(|(id, _)| Some((id, ledger.session(id)?))) {
        for (_, _, up) in &found.state().turned_up {
            if other != session && up.fits.contains(&session) {
                lines.push(with_words(ACTS.up(up), ACTS.fits));
            }
        }
    }
    lines
}
