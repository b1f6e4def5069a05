//! The chair: how many are in, which clock needs a hand, and what comes next.

use crate::atlas::{Area, Region, Side};
use crate::base::flat;
use crate::base::id::EntryId;
use crate::base::stamp::Wall;
use crate::base::units::Seconds;
use crate::event::session::{LeftOut, Mode};
use crate::needle::{Pack, Size};
use crate::plan::tray;
use crate::session::{ClockState, FlawKind, Now, OpenItem, State, Sum, What};
use crate::words::acts;
use crate::words::chair::ChairWords;
use crate::words::place::{self, PlaceWords};
use alloc::string::String;
use alloc::vec::Vec;

/// The stay offered for needles nobody planned: about 20 minutes is common practice. A suggestion
/// on the page; what is written down is what was chosen.
pub const USUAL_STAY: Seconds = Seconds::from_minutes(20);

/// What the chair shows, apart from its clocks.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ChairView {
    /// The sums.
    pub sum: Sum,
    /// How it was opened.
    pub mode: Option<Mode>,
    /// Whose session, if known.
    pub person: Option<EntryId>,
    /// Regions in the order they are worked: planned ones first, then the others used.
    pub regions: Vec<RegionLine>,
    /// The first line of the plan that still waits for needles.
    pub to_place: Option<u16>,
    /// Why nothing more is planned, if a red flag was raised at the chair.
    pub stopped: Option<String>,
    /// Cream that is on.
    pub creams: Vec<EntryId>,
    /// Opened packets by size: how many needles they held.
    pub packs: Vec<(Option<Size>, u32)>,
    /// Closed.
    pub closed: bool,
    /// Closed once, and opened again by something that came after.
    pub reopened: bool,
    /// What does not fit together, each kind once.
    pub flaws: Vec<FlawKind>,
    /// The first act can be taken back.
    pub can_undo: bool,
    /// A rehearsal.
    pub rehearsal: bool,
}

/// One line of the chair: a line of the plan, or a region that was used without one.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RegionLine {
    /// Where.
    pub region: Region,
    /// Its place in the plan, counted from 0; none if it was not planned.
    pub line: Option<u16>,
    /// How many needles the plan puts there.
    pub planned: u16,
    /// How long they are to stay: changed, planned, or said when placed.
    pub stay: Option<Seconds>,
    /// Points left out today.
    pub left_out: Vec<LeftOut>,
    /// Went in.
    pub placed: u32,
    /// In now, in the whole region.
    pub in_now: u32,
    /// When the first of them went in.
    pub first: Option<Wall>,
}

/// One clock, ready to be drawn.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ClockLine {
    /// What it is about.
    pub what: What,
    /// Where.
    pub region: Option<Region>,
    /// "L cheek", or "Cream".
    pub name: String,
    /// "Patient's", or nothing.
    pub whose: &'static str,
    /// How many needles; 0 for cream.
    pub needles: u32,
    /// Seconds left, negative once over; none if nobody said how long.
    pub left: Option<i64>,
    /// Seconds since it began.
    pub elapsed: i64,
    /// What it asks for.
    pub state: ClockState,
}

/// What the chair shows of one session.
#[must_use]
pub fn chair(session: &crate::session::Session) -> ChairView {
    let state = session.state();
    let mut regions: Vec<RegionLine> = Vec::new();
    for (at, planned) in state.plan.iter().enumerate() {
        regions.push(RegionLine {
            region: planned.region,
            line: u16::try_from(at).ok(),
            planned: planned.count(),
            stay: Some(planned.stay),
            left_out: planned.left_out.clone(),
            placed: 0,
            in_now: 0,
            first: None,
        });
    }
    for needle in state.needles.values() {
        let of = |line: &&mut RegionLine| match needle.of {
            Some(_) => line.line == needle.of,
            None => line.region == needle.region && line.line.is_none(),
        };
        let at = needle.placed.wall;
        match regions.iter_mut().find(of) {
            Some(line) => {
                line.placed = line.placed.saturating_add(1);
                line.first = Some(line.first.map_or(at, |first| first.min(at)));
                line.stay = line.stay.or(needle.stay);
            }
            None => regions.push(RegionLine {
                region: needle.region,
                line: None,
                planned: 0,
                stay: needle.stay,
                left_out: Vec::new(),
                placed: 1,
                in_now: 0,
                first: Some(at),
            }),
        }
    }
    for line in &mut regions {
        line.stay = state.stays.get(&line.region).copied().or(line.stay);
        line.in_now = state.regions.get(&line.region).map_or(0, |sum| sum.in_now);
    }
    let waits = |line: &&RegionLine| line.planned > 0 && line.placed == 0;
    let mut packs: Vec<(Option<Size>, u32)> = Vec::new();
    for pack in state.packs.values() {
        match packs.iter_mut().find(|(size, _)| *size == pack.size) {
            Some((_, held)) => *held = held.saturating_add(u32::from(pack.held)),
            None => packs.push((pack.size, u32::from(pack.held))),
        }
    }
    let flaws: flat::Set<FlawKind> = state.flaws.iter().map(|flaw| flaw.kind).collect();
    ChairView {
        sum: state.sum,
        mode: state.mode,
        person: state.person,
        to_place: match state.stopped {
            Some(_) => None,
            None => regions.iter().find(waits).and_then(|line| line.line),
        },
        stopped: state.stopped.as_ref().map(|(_, why)| why.clone()),
        regions,
        creams: state
            .creams
            .iter()
            .filter(|c| c.off.is_none())
            .map(|c| c.id)
            .collect(),
        packs,
        closed: state.closed.is_some(),
        reopened: state.reopened,
        flaws: flaws.into_iter().collect(),
        can_undo: !state.read_only && !session.last_act().is_empty(),
        rehearsal: state.rehearsal,
    }
}

/// The clocks, soonest first.
#[must_use]
pub fn clocks(state: &State, now: &Now, chair: &ChairWords, places: &PlaceWords) -> Vec<ClockLine> {
    let second = |millis: i64| millis.div_euclid(1000);
    let line = |clock: crate::session::Clock| {
        let (name, whose) = match (clock.what, clock.region) {
            (What::LookIn, _) => (acts::EN.look_in_by(state.looks_in()), ""),
            (What::Waits, _) => (acts::EN.waits.into(), ""),
            (What::Cream(_), _) | (_, None) => (chair.cream.into(), ""),
            (What::Stay(_), Some(region)) => (places.region(region), places.whose(region)),
        };
        ClockLine {
            what: clock.what,
            region: clock.region,
            name,
            whose,
            needles: clock.needles,
            // Rounded up, so that a clock reads 0:00 only when it is due.
            left: clock.due.map(|due| second(due.left.saturating_add(999))),
            elapsed: second(clock.elapsed),
            state: clock.state,
        }
    };
    state.clocks(now).into_iter().map(line).collect()
}

/// How a clock stands that is not the next: "6 min", "2 min over"; since when, if nobody said how long.
#[must_use]
pub fn time_text(chair: &ChairWords, line: &ClockLine) -> String {
    match line.left {
        Some(left) if left > 0 => chair.minutes(left.saturating_add(59).div_euclid(60)),
        Some(left) => {
            let over = chair.minutes(left.saturating_neg().div_euclid(60));
            alloc::format!("{over} {}", chair.over)
        }
        None => chair.minutes(line.elapsed.div_euclid(60)),
    }
}

/// The longest time any of these clocks has left: the scale their wicks share.
#[must_use]
pub fn scale(clocks: &[ClockLine]) -> i64 {
    clocks
        .iter()
        .filter_map(|clock| clock.left)
        .max()
        .unwrap_or(0)
        .max(60)
}

/// The sum as a line, every term that is not nought.
#[must_use]
pub fn sum_line(words: &ChairWords, sum: &Sum) -> String {
    words.sum_line(
        sum.opened,
        &[
            (sum.in_now, "in"),
            (sum.out, words.out),
            (sum.out_uncounted, words.out_uncounted),
            (sum.stays_in, words.stays_in),
            (sum.unused, words.unused),
            (sum.spoilt, words.spoilt_term),
            (sum.not_found, words.not_found_term),
            (sum.fell_off, acts::EN.fell_off_term),
            (sum.turned_up, acts::EN.turned_up_term),
            (sum.open(), words.unaccounted),
        ],
    )
}

/// What still stands in the way of closing, in words.
#[must_use]
pub fn open_item(words: &ChairWords, item: &OpenItem) -> String {
    match item {
        OpenItem::StillIn(n) => words.still_in(*n),
        OpenItem::Uncounted(n) => words.uncounted(*n),
        OpenItem::Unaccounted(n) => words.not_accounted(*n),
        OpenItem::StripsUncounted(size) => words.strips_to_count(&size_text(*size)),
        OpenItem::MoreThanOpened(n) => words.more_than_opened(*n),
        OpenItem::NotFoundUnsigned(n) => words.unsigned(*n),
        OpenItem::CreamOn(_) => words.cream_still_on(),
        OpenItem::Unreadable => words.newer(),
        OpenItem::Damaged => acts::EN.damaged.into(),
        OpenItem::TwoTotals(region) => acts::EN.to_choose(&place::EN.region(*region)),
        OpenItem::RecountDue(regions) => {
            acts::EN.to_recount(&row(regions.iter().map(|r| place::EN.region(*r))))
        }
        OpenItem::NotSwept(areas) => {
            acts::EN.to_sweep(&row(areas.iter().map(|a| place::EN.area(*a).into())))
        }
        OpenItem::TrayUncounted(why) => {
            acts::EN.tray_to_count(&row(why.iter().map(|w| acts::EN.tray_why(*w).into())))
        }
        OpenItem::TrayDiffers => acts::EN.tray_differs.into(),
        OpenItem::NotSearched(places) => {
            acts::EN.to_search(&row(places.iter().map(|p| acts::EN.place(*p).into())))
        }
    }
}

/// Words in a row, with commas.
pub(crate) fn row(words: impl Iterator<Item = String>) -> String {
    words.collect::<Vec<_>>().join(", ")
}

/// A size as it stands on a packet: "0.16 × 15 mm"; nothing if nobody said.
#[must_use]
pub fn size_text(size: Option<Size>) -> String {
    size.map_or_else(String::new, |size| {
        let hundredths = size.diameter.0.checked_div(10).unwrap_or(0);
        let (whole, part) = (hundredths.checked_div(100), hundredths.checked_rem(100));
        let tenths = size.length.0.checked_div(100).unwrap_or(0);
        let (mm, tenth) = (tenths.checked_div(10), tenths.checked_rem(10).unwrap_or(0));
        let length = match tenth {
            0 => alloc::format!("{}", mm.unwrap_or(0)),
            _ => alloc::format!("{}.{tenth}", mm.unwrap_or(0)),
        };
        alloc::format!(
            "{}.{:02} \u{d7} {length} mm",
            whole.unwrap_or(0),
            part.unwrap_or(0)
        )
    })
}

/// The areas whose sweep by hand is asked for: exactly those used today, in working order.
#[must_use]
pub fn areas_used(view: &ChairView) -> Vec<Area> {
    Area::ALL
        .iter()
        .copied()
        .filter(|area| {
            view.regions
                .iter()
                .any(|line| line.region.area == *area && line.placed > 0)
        })
        .collect()
}

/// Regions offered where there is no plan, in working order: hands and arms first.
#[must_use]
pub fn all_regions() -> Vec<Region> {
    let mut all = Vec::new();
    for &area in Area::ALL {
        let sides: &[Side] = match area {
            Area::EyeRim | Area::Cheek | Area::Ear => &[Side::Right, Side::Left],
            Area::HandsArms | Area::LegsFeet => &[Side::Both],
            Area::Scalp | Area::Forehead | Area::MouthJaw | Area::Neck | Area::Trunk => {
                &[Side::Centre]
            }
        };
        all.extend(sides.iter().map(|&side| Region { area, side }));
    }
    all
}

/// The packets to open for a session's plan: how many needles each holds, and their size. One spare
/// of each size, in strips of 5 and 10 (policy, as the plan's own tray).
#[must_use]
pub fn packets(state: &State) -> Vec<(u16, Option<Size>)> {
    let mut wanted: Vec<(Option<Size>, u16)> = Vec::new();
    for needles in state.plan.iter().flat_map(|region| &region.needles) {
        let n = needles.count.get();
        match wanted.iter_mut().find(|(size, _)| *size == needles.size) {
            Some((_, sum)) => *sum = sum.saturating_add(n),
            None => wanted.push((needles.size, n)),
        }
    }
    let mut packets = Vec::new();
    for (size, n) in wanted {
        for (pack, count) in tray::packets(n.saturating_add(1), &[Pack::Five, Pack::Ten]) {
            packets.extend((0..count).map(|_| (pack.needles(), size)));
        }
    }
    packets
}

/// Where numbing cream goes: forehead, cheeks, mouth and jaw. Never on the rim of an eye, which its
/// labels bar.
#[must_use]
pub fn cream_regions() -> Vec<Region> {
    let mut all = all_regions();
    all.retain(|r| matches!(r.area, Area::Forehead | Area::Cheek | Area::MouthJaw));
    all
}

/// One region of the nameless strip: its name and how many are in.
pub type StripIn = (String, u32);
/// One clock of the nameless strip: what it asks for and when, in wall milliseconds.
pub type StripDue = (String, i64);

/// The nameless strip over some sessions: needles in by region and clocks due. No name, no note, no
/// answer.
#[must_use]
pub fn strip<'a>(
    states: impl Iterator<Item = &'a State>,
    now: &Now,
    chair: &ChairWords,
    places: &PlaceWords,
) -> (Vec<StripIn>, Vec<StripDue>) {
    let (mut inside, mut due) = (Vec::new(), Vec::new());
    for state in states {
        for (&region, sum) in &state.regions {
            let n = sum.in_now.saturating_add(sum.out_uncounted);
            if n > 0 {
                let mut name = title(places, region);
                if state.rehearsal {
                    name.push_str(chair.rehearsed);
                }
                inside.push((name, n));
            }
        }
        for clock in state.clocks(now) {
            let Some(at) = clock.due else { continue };
            let words = match clock.what {
                What::Cream(_) => chair.wipe_off.into(),
                What::Stay(region) => chair.take_out(&places.region(region)),
                What::LookIn => acts::EN.look_in.into(),
                What::Waits => continue,
            };
            due.push((words, at.wall.0));
        }
    }
    (inside, due)
}

/// What the strip calls the regions of one session, so that what is counted out before anything is
/// unlocked finds its place: the session's name and the region's, and how many are in. As many and in
/// the order of [`strip`]'s own.
#[must_use]
pub fn held(session: EntryId, state: &State) -> Vec<StripIn> {
    let regions = state.regions.iter();
    regions
        .map(|(region, sum)| (region, sum.in_now.saturating_add(sum.out_uncounted)))
        .filter(|(_, n)| *n > 0)
        .map(|(region, n)| (alloc::format!("{session} {region}"), n))
        .collect()
}

/// The clock in the strip that a region counted out has done with.
#[must_use]
pub fn strip_stay(chair: &ChairWords, places: &PlaceWords, region: Region) -> String {
    chair.take_out(&places.region(region))
}

/// "Patient's L cheek", "Mouth, jaw".
#[must_use]
pub fn title(places: &PlaceWords, region: Region) -> String {
    let whose = places.whose(region);
    let name = places.region(region);
    if whose.is_empty() {
        name
    } else {
        alloc::format!("{whose} {name}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::units::Micrometres;
    use crate::needle::Kind;

    #[test]
    fn sizes_read_as_on_the_packet() {
        let size = |d, l| {
            Some(Size {
                kind: Kind::Filiform,
                diameter: Micrometres(d),
                length: Micrometres(l),
            })
        };
        assert_eq!(size_text(size(160, 15_000)), "0.16 \u{d7} 15 mm");
        assert_eq!(size_text(size(200, 1_500)), "0.20 \u{d7} 1.5 mm");
        assert_eq!(size_text(None), "");
    }
}
