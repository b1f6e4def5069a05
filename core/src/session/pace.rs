//! How long the hands took, as far as a session's own facts tell: from one press to the next. What
//! was entered afterwards, faster than a hand can work, or over an interruption teaches nothing; the
//! figures for that are data: [`Learning`], and for what the chair itself asks, [`super::figures`].
//!
//! A press says that its needles are done. So the time from the press before is theirs only if that
//! was the same work, in the same run of the app, and nothing else was pressed between.

use super::fold::Fact;
use super::{Session, State};
use crate::atlas::Area;
use crate::base::id::{EntryId, NeedleId, Replica};
use crate::base::stamp::{Stamp, When};
use crate::event::Event;
use crate::event::session::{Basis, How};
use crate::needle::Kind;
use crate::procedure::{Learning, ModuleName};
use alloc::vec::Vec;

/// The two clocks of one run may differ by this much between two presses, in milliseconds: more, and
/// one of them was set or slept (policy).
const CLOCKS_AGREE: i64 = 2_000;

/// What one press teaches: milliseconds for each of its needles, in which part.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Pace {
    /// The part of a procedure that such needles belong to.
    pub module: ModuleName,
    /// They were taken out, not placed.
    pub out: bool,
    /// How many there were.
    pub needles: u16,
    /// Milliseconds for each.
    pub millis: i64,
}

/// The work of one press, if it is work that can be timed.
#[derive(Clone, Copy, PartialEq, Eq)]
struct Work {
    module: ModuleName,
    out: bool,
    needles: u16,
    /// Not begun before this wall time: the stay was not over.
    due: i64,
}

/// The facts of one act.
struct Press {
    act: EntryId,
    at: Stamp,
    run: Replica,
    /// Entered as it happened: not at another time, not late, not as a block.
    now: bool,
    /// Some of it was marked as a block: no hand can have earned it in the time before it.
    block: bool,
    /// None for anything else that was done on the phone, and for what was taken back.
    work: Option<Work>,
}

/// The part that a needle of this sort belongs to; none if its sort was not said.
fn module(area: Area, kind: Option<Kind>) -> Option<ModuleName> {
    ModuleName::of(area, kind?)
}

/// The work of one fact that stands.
fn work(session: &Session, fact: &Fact) -> Option<Work> {
    match &fact.event {
        Ok(Event::Placed(placed)) if placed.basis == Basis::Placing => Some(Work {
            module: module(placed.region.area, placed.size.map(|s| s.kind))?,
            out: false,
            needles: placed.count.get(),
            due: i64::MIN,
        }),
        Ok(Event::Out(out)) if out.how == How::Taken && out.first.is_none() => {
            let mut all: Option<Work> = None;
            for name in out.needles.iter().flat_map(|span| span.needles()) {
                let one = taken(session, name)?;
                all = Some(match all {
                    None => one,
                    Some(all) => together(all, one)?,
                });
            }
            all
        }
        _ => None,
    }
}

/// One needle that was taken out. When a needle's stay was over is known only if it was entered as it
/// went in.
fn taken(session: &Session, name: NeedleId) -> Option<Work> {
    let state = &session.state;
    let placing = session.facts.get(&name.placed);
    placing.filter(|fact| fact.when == When::Now)?;
    let needle = state.needles.get(&name)?;
    let stay = state.stays.get(&needle.region).copied().or(needle.stay);
    Some(Work {
        module: module(needle.region.area, needle.size.map(|s| s.kind))?,
        out: true,
        needles: 1,
        due: stay.map_or(i64::MIN, |s| needle.placed.wall.plus(s.as_millis()).0),
    })
}

/// Two pieces of one press; none if they are not the same work.
fn together(a: Work, b: Work) -> Option<Work> {
    ((a.module, a.out) == (b.module, b.out)).then(|| Work {
        needles: a.needles.saturating_add(b.needles),
        due: a.due.max(b.due),
        ..a
    })
}

/// A fact, its name, and whether it stands.
type Line<'a> = (EntryId, &'a Fact, bool);

/// The presses of a session, in order.
fn presses(session: &Session, facts: &[Line<'_>]) -> Vec<Press> {
    let mut all: Vec<Press> = Vec::new();
    for &(id, fact, stands) in facts {
        let work = stands.then(|| work(session, fact)).flatten();
        let block = session.state.blocks.contains(&id);
        let now = fact.when == When::Now && !block && !session.state.late.contains(&id);
        // Most facts are an act of their own.
        let act = fact.act.unwrap_or(id);
        let mut before = all.iter_mut().rev();
        let before = fact.act.and_then(|_| before.find(|press| press.act == act));
        match before {
            Some(press) => {
                press.now &= now;
                press.block |= block;
                press.work = press.work.zip(work).and_then(|(a, b)| together(a, b));
            }
            None => all.push(Press {
                act,
                at: fact.at,
                run: id.replica,
                now,
                block,
                work,
            }),
        }
    }
    all
}

/// Milliseconds between two presses of one run; none if its clocks do not agree on them.
fn gap(from: &Press, to: &Press) -> Option<i64> {
    let wall = to.at.wall.since(from.at.wall);
    let steady = to.at.mono.saturating_sub(from.at.mono);
    let agree = wall.saturating_sub(steady).saturating_abs() <= CLOCKS_AGREE;
    (from.run == to.run && agree && wall >= 0 && steady >= 0).then_some(wall.max(steady))
}

/// Whether most needles came out so soon after they went in that it was all written down afterwards.
fn written_after(session: &Session, facts: &[Line<'_>], policy: &Learning) -> bool {
    let (mut soon, mut all) = (0_u32, 0_u32);
    for &(_, fact, stands) in facts {
        let Ok(Event::Out(out)) = &fact.event else {
            continue;
        };
        if !stands {
            continue;
        }
        for name in out.needles.iter().flat_map(|span| span.needles()) {
            let Some(needle) = session.state.needles.get(&name) else {
                continue;
            };
            all = all.saturating_add(1);
            let stayed = fact.at.wall.since(needle.placed.wall);
            if stayed < policy.written_after.as_millis() {
                soon = soon.saturating_add(1);
            }
        }
    }
    soon.saturating_mul(2) > all
}

/// What a session teaches about the hands, press by press, in order. Nothing, unless it was closed,
/// was no rehearsal, and holds nothing this build cannot read.
#[must_use]
pub fn paces(session: &Session, policy: &Learning) -> Vec<Pace> {
    let state = &session.state;
    let mut out = Vec::new();
    if state.closed.is_none() || state.rehearsal || state.read_only || state.damaged {
        return out;
    }
    let facts: Vec<Line<'_>> = session.facts().collect();
    if written_after(session, &facts, policy) {
        return out;
    }
    let presses = presses(session, &facts);
    // Of each press: what it would teach, if it was work after the same work.
    let taught: Vec<Option<Pace>> = presses
        .iter()
        .zip(core::iter::once(None).chain(presses.iter().map(Some)))
        .map(|(press, before)| {
            let (before, work) = (before?, press.work?);
            let same = before.work.is_some_and(|b| b.out == work.out);
            if !(same && before.now && press.now) {
                return None;
            }
            let waited = work.due.saturating_sub(before.at.wall.0).max(0);
            let gap = gap(before, press)?;
            // Out before its time: nobody waited.
            let busy = if waited < gap {
                gap.saturating_sub(waited)
            } else {
                gap
            };
            Some(Pace {
                module: work.module,
                out: work.out,
                needles: work.needles,
                millis: busy.checked_div(i64::from(work.needles))?,
            })
        })
        .collect();
    let too_fast = |pace: &Pace| {
        if pace.out {
            State::too_fast(1, pace.millis)
        } else {
            pace.millis < policy.fastest_place.as_millis()
        }
    };
    for (at, pace) in taught.iter().enumerate() {
        let Some(pace) = pace else { continue };
        // A press right after it that no hand can have earned: both were entered at the end of both.
        let after = at.saturating_add(1);
        let next = taught.get(after).and_then(Option::as_ref);
        let block = presses.get(after).is_some_and(|press| press.block);
        let whole = pace.millis.saturating_mul(i64::from(pace.needles));
        if !too_fast(pace)
            && !block
            && !next.is_some_and(too_fast)
            && pace.millis <= policy.slowest.as_millis()
            && whole <= policy.interruption.as_millis()
        {
            out.push(*pace);
        }
    }
    out
}
