//! Rounds of taking out. A region's total carries the number of totals its writer had seen before.
//! Two totals of one region with one number are one round, entered on two phones: never added up.

use super::fold::Fact;
use crate::atlas::Region;
use crate::base::flat;
use crate::base::id::EntryId;
use crate::event::Event;
use alloc::vec::Vec;

/// One round of taking out that was entered twice.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TwoTotals {
    /// Where.
    pub region: Region,
    /// Which round, counted from 0.
    pub pass: u16,
    /// The totals and how many each says, the one that stands until one is chosen first.
    pub totals: Vec<(EntryId, u32)>,
}

/// What the standing totals of a session come to.
#[derive(Default)]
pub(super) struct Passes {
    /// Rounds entered twice.
    pub(super) two: Vec<TwoTotals>,
    /// Totals that do not stand while their round is not settled.
    pub(super) beaten: flat::Set<EntryId>,
    /// Acts of those totals.
    pub(super) beaten_acts: flat::Set<EntryId>,
    /// The number of the next round, region by region.
    pub(super) next: flat::Map<Region, u16>,
}

pub(super) fn passes(facts: &flat::Map<EntryId, Fact>, gone: &flat::Set<EntryId>) -> Passes {
    let mut rounds: flat::Map<(Region, u16), Vec<(u32, EntryId)>> = flat::Map::new();
    let mut passes = Passes::default();
    for (&id, fact) in facts {
        let Ok(Event::Out(out)) = &fact.event else {
            continue;
        };
        let (Some(region), false) = (out.region, gone.contains(&id)) else {
            continue;
        };
        let next = passes.next.or_default(region);
        // Totals from before rounds were numbered count one each.
        *next = match out.pass {
            Some(pass) => pass.saturating_add(1).max(*next),
            None => next.saturating_add(1),
        };
        if let Some(pass) = out.pass {
            let n = out
                .needles
                .iter()
                .map(|s| u32::from(s.to.saturating_sub(s.from)));
            let n = n.fold(0_u32, |sum, n| sum.saturating_add(n).saturating_add(1));
            rounds.or_default((region, pass)).push((n, id));
        }
    }
    for (&(region, pass), totals) in &rounds {
        if totals.len() < 2 {
            continue;
        }
        // The fewest out stands: it errs toward still in.
        let mut totals = totals.clone();
        flat::sort_by_key(&mut totals, |total| *total);
        for (_, id) in totals.iter().skip(1) {
            passes.beaten.insert(*id);
            let act = facts.get(id).and_then(|fact| fact.act).unwrap_or(*id);
            passes.beaten_acts.insert(act);
        }
        passes.two.push(TwoTotals {
            region,
            pass,
            totals: totals.into_iter().map(|(n, id)| (id, n)).collect(),
        });
    }
    passes
}
