//! Count: what is swept, searched, chosen and counted blind before the sum is believed.

use crate::atlas::{Area, Region};
use crate::base::id::EntryId;
use crate::base::stamp::Wall;
use crate::event::session::{Doing, SearchPlace};
use crate::ledger::Ledger;
use crate::needle::Size;
use crate::session::{Session, SizeSum, Sum};
use crate::view::chair::{row, title};
use crate::words::acts::EN as ACTS;
use crate::words::place::EN as PLACES;
use alloc::string::String;
use alloc::vec::Vec;

/// One opened packet.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PackView {
    /// The fact that opened it.
    pub id: EntryId,
    /// Size, if said.
    pub size: Option<Size>,
    /// Its lot, if said.
    pub lot: Option<String>,
    /// How many its label says.
    pub label: u16,
    /// How many it held; another number than its label where a fault was found.
    pub held: u16,
}

/// One round of taking out that was entered twice.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Choice {
    /// Where.
    pub region: Region,
    /// "Patient's L cheek".
    pub title: String,
    /// The totals to choose from: the fact, how many, and when it was entered.
    pub totals: Vec<(EntryId, u32, Wall)>,
}

/// A region that came out short.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Short {
    /// Where: the likeliest place, not the only one.
    pub region: Region,
    /// Its name.
    pub title: String,
    /// How many are not accounted for here.
    pub n: u32,
}

/// What Count shows of one session.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CountView {
    /// The sums.
    pub sum: Sum,
    /// The sums by size of needle; needles that stay in on purpose have packets of their own size.
    pub sizes: Vec<(Option<Size>, SizeSum)>,
    /// Packets, in the order they were opened.
    pub packs: Vec<PackView>,
    /// The areas used today, and whether they are swept.
    pub areas: Vec<(Area, bool)>,
    /// Why the tray is to be counted blind, in words; empty if nothing asks for it.
    pub tray_why: String,
    /// The tray was counted since a needle last moved.
    pub tray_counted: bool,
    /// Needles go straight to the sharps box here: no tray count is claimed.
    pub straight_to_box: bool,
    /// Rounds entered twice.
    pub choices: Vec<Choice>,
    /// Regions to be counted by eye.
    pub recount: Vec<Region>,
    /// Where to look, and what was looked at.
    pub places: Vec<(SearchPlace, bool)>,
    /// Regions that came out short.
    pub short: Vec<Short>,
    /// Left to do before they go: sit, stand, steady.
    pub before_they_go: Vec<Doing>,
}

/// What Count shows of one session.
#[must_use]
pub fn count(session: &Session) -> CountView {
    let state = session.state();
    let entered = |id: EntryId| {
        let mut facts = session.facts();
        let fact = facts.find(|(other, _, _)| *other == id);
        fact.map_or(Wall(0), |(_, fact, _)| fact.at.wall)
    };
    let short = state.regions.iter().filter_map(|(&region, sum)| {
        let n = sum
            .in_now
            .saturating_add(sum.unseen)
            .saturating_add(sum.not_found);
        let title = title(&PLACES, region);
        (n > 0).then_some(Short { region, title, n })
    });
    CountView {
        sum: state.sum,
        sizes: state
            .sizes
            .iter()
            .map(|(&size, &sum)| (size, sum))
            .collect(),
        packs: state
            .packs
            .iter()
            .map(|(&id, pack)| PackView {
                id,
                size: pack.size,
                lot: pack.lot.clone(),
                label: pack.label,
                held: pack.held,
            })
            .collect(),
        areas: state
            .areas_used()
            .into_iter()
            .map(|area| (area, state.swept.contains(&area)))
            .collect(),
        tray_why: row(state.tray_asked.iter().map(|w| ACTS.tray_why(*w).into())),
        tray_counted: state.tray.is_some(),
        straight_to_box: state.straight_to_box,
        choices: state
            .two_totals
            .iter()
            .map(|two| Choice {
                region: two.region,
                title: title(&PLACES, two.region),
                totals: (two.totals.iter())
                    .map(|&(id, n)| (id, n, entered(id)))
                    .collect(),
            })
            .collect(),
        recount: state.recount.iter().copied().collect(),
        places: SearchPlace::ALL
            .iter()
            .map(|&place| (place, state.searched.contains(&place)))
            .collect(),
        short: short.collect(),
        before_they_go: [Doing::Sat, Doing::Stood, Doing::Steady]
            .into_iter()
            .filter(|what| state.done(*what).is_none())
            .collect(),
    }
}

/// Whether a promise is to be asked for in this chair: another one is open with needles or cream
/// on somebody, and none was given here yet.
#[must_use]
pub fn asks_promise(ledger: &Ledger, session: EntryId) -> bool {
    let promised = ledger.session(session).is_some_and(|s| {
        let state = s.state();
        let given = [Doing::PromisedSound, Doing::PromisedWatch];
        given.iter().any(|what| state.done(*what).is_some())
    });
    let busy = |(id, s): (EntryId, &Session)| {
        let state = s.state();
        let cream = state.creams.iter().any(|c| c.off.is_none());
        let inside = state.sum.in_now.saturating_add(state.sum.out_uncounted);
        id != session && !state.rehearsal && (inside > 0 || cream)
    };
    !promised && ledger.open_sessions().any(busy)
}

/// The placing facts of a session that can still be moved to the other chair: all of it is in.
/// The fact, where, and how many.
#[must_use]
pub fn blocks(session: &Session) -> Vec<(EntryId, Region, u16)> {
    use crate::session::Fate;
    let mut blocks: Vec<(EntryId, Region, u16, bool)> = Vec::new();
    for (name, needle) in &session.state().needles {
        let inside = needle.fate == Fate::In;
        match blocks.last_mut().filter(|b| b.0 == name.placed) {
            Some(block) => {
                block.2 = block.2.saturating_add(1);
                block.3 &= inside;
            }
            None => blocks.push((name.placed, needle.region, 1, inside)),
        }
    }
    let whole = blocks.into_iter().filter(|block| block.3);
    whole.map(|(id, region, n, _)| (id, region, n)).collect()
}
