//! Points that one needle can be placed at, one by one, where that is wanted.

use crate::atlas::{Atlas, Reach, Region, Side};
use crate::event::session::PointUse;
use crate::session::State;
use alloc::vec::Vec;

/// The points of a line of the plan at which no needle of that line went in yet, in its order.
#[must_use]
pub fn planned(state: &State, line: u16) -> Vec<PointUse> {
    let plan = state.plan.get(usize::from(line));
    let needles = plan.map_or(&[][..], |p| p.needles.as_slice());
    let all = needles.iter().flat_map(|n| n.points.iter().cloned());
    state.unplaced(line, &all.collect::<Vec<_>>())
}

/// Every point of a region on the sides that region has, in the order of the atlas: also those left
/// out today. What goes in there is written down with its flag.
#[must_use]
pub fn others(atlas: &Atlas, region: Region) -> Vec<PointUse> {
    let mut all = Vec::new();
    for point in atlas.points().filter(|p| p.area == region.area) {
        let sides: &[Side] = match (point.reach, region.side) {
            (Reach::Pair, Side::Right) => &[Side::Right],
            (Reach::Pair, Side::Left) => &[Side::Left],
            (Reach::Pair, Side::Both | Side::Centre) => &[Side::Right, Side::Left],
            (Reach::Midline | Reach::Four, _) => &[Side::Centre],
        };
        all.extend(sides.iter().map(|&side| PointUse {
            code: point.code.clone(),
            side,
        }));
    }
    all
}
