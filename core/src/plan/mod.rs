//! L2. The plan of one visit: a procedure, less what today's answers leave out, within today's
//! limits, laid out as regions, tray and hour. Pure, whole numbers only, the same every time.
//!
//! What must be left out and why comes in as plain values; this room knows no question and no rule.
//! A plan may be refused or come out empty; what was done can always be recorded all the same.

pub mod hour;
pub mod tray;

use crate::atlas::{Area, Atlas, Group, Point, Region, Side};
use crate::base::flat;
use crate::base::units::{Micrometres, Seconds};
use crate::needle::{Kind, Needles, Pack, Size};
use crate::procedure::{Direction, How, Module, ModuleName, Procedure, Sought, Step};
use alloc::string::{String, ToString};
use alloc::vec::Vec;
use hour::{Errand, Needle, Run};
use serde::{Deserialize, Serialize};

/// Why something is left out or limited: the rule's id and its words, as screening gave them.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Reason {
    /// Id of the rule.
    pub rule: String,
    /// What a person reads.
    pub words: String,
}

/// What an omission hits.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Target {
    /// A point by code, on this side; both hits every side and the midline.
    Point(String, Side),
    /// A set of points.
    Group(Group),
    /// A whole area, on this side; both hits everything in it.
    Area(Area, Side),
    /// Every needle of this kind.
    Kind(Kind),
}

/// A figure that must not be passed, where, and why.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Capped<T> {
    /// The greatest that is allowed.
    pub most: T,
    /// Where; empty is everywhere.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub on: Vec<Target>,
    /// Why.
    pub why: Reason,
}

impl<T> Capped<T> {
    /// A cap on the whole visit.
    #[must_use]
    pub fn everywhere(most: T, why: Reason) -> Self {
        Self {
            most,
            on: Vec::new(),
            why,
        }
    }
}

/// One thing left out, and why.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Omission {
    /// What.
    pub what: Target,
    /// Why.
    pub why: Reason,
}

/// How a person lies or sits.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Position {
    /// On the back, flat or raised: the back of the neck cannot be reached.
    OnBack,
    /// On the front: the face cannot be reached.
    OnFront,
    /// Sitting.
    Sitting,
}

/// Today's limits. Empty: none.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Limits {
    /// No more needles than this, in all or on what each names.
    pub most_needles: Vec<Capped<u16>>,
    /// No needle in longer. A region whose needles differ goes by the shortest, so that it can still
    /// be taken out as one.
    pub most_stay: Vec<Capped<Seconds>>,
    /// No needle deeper.
    pub most_depth: Vec<Capped<Micrometres>>,
    /// The person must lie or sit so.
    pub position: Option<(Position, Reason)>,
    /// No numbing cream.
    pub no_topical: Vec<Reason>,
    /// No numbing cream on these areas.
    pub no_topical_on: Vec<(Area, Reason)>,
    /// Cream on no longer than the least of these.
    pub cream_stay: Vec<(Seconds, Reason)>,
    /// Cream on no more skin than the least of these, in square centimetres.
    pub cream_area: Vec<(u32, Reason)>,
    /// No current through needles.
    pub no_electro: Vec<Reason>,
    /// No needle stays in when the person goes home.
    pub no_retained: Vec<Reason>,
    /// What else to mind: shallow, gentle, press longer.
    pub mind: Vec<Reason>,
}

/// A numbing cream as its label and the practitioner have it. Times come from the label, not from us.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Cream {
    /// Where it goes, and how many square centimetres it covers there.
    pub areas: Vec<(Area, u32)>,
    /// How much the label asks for, in milligrams of cream on each square centimetre, least and most.
    pub amount: Option<(u32, u32)>,
    /// To put it on.
    pub apply: Seconds,
    /// Not off before.
    pub least: Seconds,
    /// Not on after, where the label says so.
    pub most: Option<Seconds>,
    /// To wipe it off and clean.
    pub wipe: Seconds,
    /// From clean skin to the first needle there.
    pub wait: Seconds,
}

/// The time there is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Slot {
    /// Minutes after local midnight at which it starts.
    pub start: u16,
    /// How long it is.
    pub length: Seconds,
}

/// What the practitioner chooses.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Options {
    /// Packets on the shelf, by size; a size not named comes in strips of 5 and 10.
    pub packs: flat::Map<String, Vec<Pack>>,
    /// Spare needles wanted of each size.
    pub spares: u16,
    /// From sitting down to the first needle or cream (policy).
    pub open: Seconds,
    /// From the last needle out to the door (policy).
    pub close: Seconds,
    /// A cream, if one is wanted.
    pub cream: Option<Cream>,
    /// The slot, if there is one.
    pub slot: Option<Slot>,
    /// No more needles than this, if the practitioner chose so to fit the time.
    pub most: Option<u16>,
    /// How long the practitioner's own hands need, where sessions have taught it; elsewhere the
    /// procedure's figures stand.
    pub speeds: Vec<Speed>,
}

/// Which way a hand works.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Work {
    /// A needle goes in.
    Place,
    /// A needle comes out.
    Remove,
}

/// How long one needle takes, as sessions have taught it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Speed {
    /// In which part of a procedure.
    pub module: ModuleName,
    /// Placing or taking out.
    pub work: Work,
    /// Seconds for one needle.
    pub seconds: Seconds,
    /// From how many presses.
    pub observations: u16,
}

/// A learned figure that a plan was timed with.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Learned {
    /// The figure.
    pub speed: Speed,
    /// The procedure's own, in whose place it stands.
    pub instead_of: Seconds,
}

impl Default for Options {
    /// One spare of each size, five minutes before and after (policy), no cream, no slot.
    fn default() -> Self {
        Self {
            packs: flat::Map::new(),
            spares: 1,
            open: Seconds::from_minutes(5),
            close: Seconds::from_minutes(5),
            cream: None,
            slot: None,
            most: None,
            speeds: Vec::new(),
        }
    }
}

impl Options {
    fn speed(&self, module: ModuleName, work: Work) -> Option<Speed> {
        let mut all = self.speeds.iter();
        all.find(|s| (s.module, s.work) == (module, work)).copied()
    }

    /// Seconds of the hands at one needle of a module, learned where they were.
    fn hands(&self, module: &Module) -> (Seconds, Seconds) {
        let learned =
            |work, own: Seconds| self.speed(module.module, work).map_or(own, |s| s.seconds);
        (
            learned(Work::Place, module.seconds.place),
            learned(Work::Remove, module.seconds.remove),
        )
    }

    /// The learned figures that modules are timed with.
    fn learned<'a>(&self, modules: impl Iterator<Item = &'a Module>) -> Vec<Learned> {
        let mut out = Vec::new();
        for module in modules {
            let hands = module.seconds;
            for (work, own) in [(Work::Place, hands.place), (Work::Remove, hands.remove)] {
                let speed = self.speed(module.module, work);
                out.extend(speed.map(|speed| Learned {
                    speed,
                    instead_of: own,
                }));
            }
        }
        out
    }
}

/// Why a point is not in the plan.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Why {
    /// Today's answers.
    Finding(Reason),
    /// No more than so many needles.
    MostNeedles(u16, Reason),
    /// It cannot be reached as the person lies.
    Position(Position, Reason),
    /// It would stay in overnight.
    Retained(Reason),
    /// Chosen by the practitioner, to fit the time.
    ToFit,
    /// The atlas has no such point, or not on this side.
    UnknownPoint,
    /// There is no such needle size.
    UnknownSize,
}

/// A point that is not in the plan.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct LeftOut {
    /// Its code.
    pub point: String,
    /// The patient's side.
    pub side: Side,
    /// Where it would have been counted; none for a point the atlas does not have.
    pub region: Option<Region>,
    /// How many needles fewer.
    pub needles: u16,
    /// Every reason, not only the first.
    pub why: Vec<Why>,
}

impl LeftOut {
    /// The rule that left it out, where a rule did.
    #[must_use]
    pub fn rule(&self) -> &str {
        self.why
            .iter()
            .find_map(|why| match why {
                Why::Finding(r)
                | Why::MostNeedles(_, r)
                | Why::Position(_, r)
                | Why::Retained(r) => Some(r.rule.as_str()),
                _ => None,
            })
            .unwrap_or_default()
    }
}

/// One point on one side, to be needled.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Place {
    /// The point's number within its area; both sides of a pair share it.
    pub number: u16,
    /// Its code.
    pub point: String,
    /// The patient's side: right, left or centre.
    pub side: Side,
    /// 1, or 4 for EX-HN1.
    pub needles: u16,
    /// Stable name of the size.
    pub size: String,
    /// How it goes in.
    pub how: How,
    /// Which way.
    pub direction: Direction,
    /// What is sought.
    pub sought: Sought,
    /// Not deeper than this today; none where nothing limits it. Never a depth to reach.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub most_depth: Option<Micrometres>,
    /// Stays in on purpose when the person goes home.
    #[serde(default, skip_serializing_if = "core::ops::Not::not")]
    pub worn_home: bool,
}

/// From and to, in seconds from the start of the visit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Span {
    /// First second.
    pub from: u32,
    /// Last second.
    pub to: u32,
}

/// What is placed in one go: one region's needles of one module. One press.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Block {
    /// Which part of the procedure.
    pub module: ModuleName,
    /// Where, and how it is counted.
    pub region: Region,
    /// In placing order: a pair right, then left.
    pub places: Vec<Place>,
    /// How many needles.
    pub needles: u16,
    /// Least and most stay.
    pub stay: (Seconds, Seconds),
    /// Expected time of placing.
    pub placing: Span,
    /// Expected time of taking out; none when all stay in on purpose.
    pub taking_out: Option<Span>,
    /// The longest stay expected of a needle in it.
    pub longest: Seconds,
}

/// One region's total: the unit of taking out and counting.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct RegionTotal {
    /// Which.
    pub region: Region,
    /// Points taken on both sides within it.
    pub pairs: u16,
    /// Points taken once.
    pub singles: u16,
    /// How many needles.
    pub needles: u16,
}

/// Packets of one size.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct TrayLine {
    /// Stable name of the size.
    pub id: String,
    /// The size.
    pub size: Size,
    /// How many will be placed.
    pub needed: u16,
    /// Packets to lay out.
    pub packs: Vec<(Pack, u16)>,
    /// How many needles those hold.
    pub opened: u16,
}

/// What becomes of the cream.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Topical {
    /// None was wanted, or nothing is needled where it was to go.
    None,
    /// It may not be used today.
    LeftOut(Vec<Reason>),
    /// It is used.
    On(CreamTimes),
}

/// The cream's times, in seconds from the start of the visit.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct CreamTimes {
    /// Where it goes: the wanted areas that are needled and not barred.
    pub areas: Vec<Area>,
    /// Areas it was wanted on and may not go.
    pub barred: Vec<(Area, Reason)>,
    /// How much skin it covers, in square centimetres.
    pub cm2: u32,
    /// Milligrams of cream that the label asks for on so much skin, least and most.
    pub amount_mg: Option<(u32, u32)>,
    /// More skin than is allowed today: the cap and its reason.
    pub too_wide: Option<(u32, Reason)>,
    /// Putting it on.
    pub on: Span,
    /// Wiping it off.
    pub off: Span,
    /// Off by then at the latest, by its label.
    pub off_by: Option<u32>,
    /// First needle there not before.
    pub ready: u32,
    /// True when the plan cannot have it off in time.
    pub late: bool,
}

/// A region whose needles would stay in too long.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Overstay {
    /// Which.
    pub region: Region,
    /// By how much.
    pub by: Seconds,
}

/// Whether it fits the slot.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Fit {
    /// No slot was given.
    NoSlot,
    /// It fits, with so much to spare.
    Fits(Seconds),
    /// It does not, by so much; what would.
    TooLong(Seconds, Vec<Offer>),
}

/// What would make it fit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Offer {
    /// The same needles without cream: this long.
    WithoutCream(Seconds),
    /// No more than so many needles: this long.
    Fewer(u16, Seconds),
    /// Both together.
    FewerWithoutCream(u16, Seconds),
    /// A slot longer by so much.
    Longer(Seconds),
}

/// The plan of one visit.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Plan {
    /// Id of the procedure.
    pub procedure: String,
    /// What is placed, in order.
    pub blocks: Vec<Block>,
    /// The same by region, in the order they are first placed, which is the order they come out.
    pub regions: Vec<RegionTotal>,
    /// What is not in it, in the procedure's order.
    pub left_out: Vec<LeftOut>,
    /// Needles to place.
    pub needles: u16,
    /// Of those, how many stay in on purpose.
    pub worn_home: u16,
    /// What to lay out, in order of first use.
    pub tray: Vec<TrayLine>,
    /// Needles in the packets laid out.
    pub opened: u16,
    /// The cream.
    pub topical: Topical,
    /// Why no current, if so.
    pub no_electro: Vec<Reason>,
    /// How the person lies, if that is limited.
    pub position: Option<(Position, Reason)>,
    /// What else to mind.
    pub mind: Vec<Reason>,
    /// Which speeds are the practitioner's own, learned from sessions, of the parts that are in it.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub learned: Vec<Learned>,
    /// From sitting down to the door.
    pub total: Seconds,
    /// True when some needles come out before the last goes in.
    pub interleaved: bool,
    /// How many go in before the first has to come out; all, unless some come out in between.
    pub in_one_go: u16,
    /// Regions whose needles would stay too long all the same.
    pub overstays: Vec<Overstay>,
    /// Whether it fits the slot.
    pub fit: Fit,
    /// Minutes after local midnight at which the person can leave; may pass 1440. None without slot.
    pub leave_at: Option<u32>,
}

impl Plan {
    /// The blocks of one region, in placing order.
    pub fn of_region(&self, region: Region) -> impl Iterator<Item = &Block> {
        self.blocks
            .iter()
            .filter(move |block| block.region == region)
    }

    /// The one size used in a region; none where there are several or no needles.
    #[must_use]
    pub fn size_of(&self, region: Region) -> Option<Size> {
        let mut ids = self
            .of_region(region)
            .flat_map(|block| &block.places)
            .map(|place| place.size.as_str());
        let first = ids.next()?;
        if ids.any(|id| id != first) {
            return None;
        }
        let line = self.tray.iter().find(|line| line.id == first)?;
        Some(line.size)
    }

    /// How many of the needles laid out are filiform: those that guide tubes are for.
    #[must_use]
    pub fn filiform_opened(&self) -> u16 {
        let lines = self.tray.iter().filter(|l| l.size.kind == Kind::Filiform);
        lines.fold(0_u16, |sum, l| sum.saturating_add(l.opened))
    }

    /// How long a region's needles stay at least: the longest of its blocks, so that the region can
    /// be taken out as one.
    #[must_use]
    pub fn stay_of(&self, region: Region) -> Seconds {
        self.of_region(region)
            .map(|block| block.stay.0)
            .max()
            .unwrap_or(Seconds(0))
    }

    /// Regions of which nothing is left, each once, in the procedure's order.
    #[must_use]
    pub fn emptied(&self) -> Vec<Region> {
        let mut out: Vec<Region> = Vec::new();
        for region in self.left_out.iter().filter_map(|left| left.region) {
            if self.of_region(region).next().is_none() && !out.contains(&region) {
                out.push(region);
            }
        }
        out
    }
}

/// The knowledge a plan is made from.
#[derive(Clone, Copy, Debug)]
pub struct Books<'a> {
    /// Points.
    pub atlas: &'a Atlas,
    /// Sizes.
    pub needles: &'a Needles,
}

/// Makes the plan.
#[must_use]
pub fn plan(
    books: Books<'_>,
    procedure: &Procedure,
    omissions: &[Omission],
    limits: &Limits,
    options: &Options,
) -> Plan {
    let draft = Draft::new(books, procedure, omissions, limits);
    let mut made = draft.lay_out(books, procedure, limits, options, options.most, true);
    if let (Some(slot), true) = (options.slot, matches!(made.fit, Fit::TooLong(..))) {
        let try_with = |most: u16, cream: bool| {
            draft.lay_out(books, procedure, limits, options, Some(most), cream)
        };
        let offers = offers(&made, slot, try_with);
        if let Fit::TooLong(_, empty) = &mut made.fit {
            *empty = offers;
        }
    }
    made
}

/// What would make a plan fit that does not.
fn offers(made: &Plan, slot: Slot, try_with: impl Fn(u16, bool) -> Plan) -> Vec<Offer> {
    let mut offers = Vec::new();
    let creamed = matches!(made.topical, Topical::On(_));
    let fits = |plan: &Plan| plan.total <= slot.length && plan.overstays.is_empty();
    if creamed {
        let plan = try_with(made.needles, false);
        if fits(&plan) {
            offers.push(Offer::WithoutCream(plan.total));
        }
    }
    // The most needles that fit. The count is searched downward, since chair time need not grow
    // evenly with it.
    let most_that_fit = |cream: bool| {
        (1..made.needles)
            .rev()
            .map(|most| try_with(most, cream))
            .find(|plan| {
                // So few that nothing creamed is left would be no offer of fewer needles *with* cream.
                let as_asked = !(creamed && cream) || matches!(plan.topical, Topical::On(_));
                plan.needles > 0 && as_asked && fits(plan)
            })
            .map(|plan| (plan.needles, plan.total))
    };
    if let Some((needles, total)) = most_that_fit(true) {
        offers.push(Offer::Fewer(needles, total));
    }
    if creamed
        && offers.is_empty()
        && let Some((needles, total)) = most_that_fit(false)
    {
        offers.push(Offer::FewerWithoutCream(needles, total));
    }
    offers.push(Offer::Longer(Seconds(
        made.total.0.saturating_sub(slot.length.0),
    )));
    offers
}

/// A point on one side, before the needles are counted.
struct Candidate<'a> {
    module: &'a Module,
    at_module: usize,
    step: &'a Step,
    at_step: usize,
    side: Side,
    region: Option<Region>,
    needles: u16,
    point: Option<&'a Point>,
    kind: Option<Kind>,
    why: Vec<Why>,
}

impl Candidate<'_> {
    /// Whether a target hits it.
    fn is_hit(&self, target: &Target) -> bool {
        match (target, self.point) {
            (Target::Kind(kind), _) => self.kind == Some(*kind),
            (Target::Point(code, on), Some(point)) => {
                *code == point.code && side_hit(*on, self.side)
            }
            (Target::Group(group), Some(point)) => point.is_in(*group),
            (Target::Area(area, on), Some(point)) => {
                *area == point.area && side_hit(*on, self.side)
            }
            (_, None) => false,
        }
    }

    /// Whether a cap is meant for it.
    fn is_capped<T>(&self, cap: &Capped<T>) -> bool {
        cap.on.is_empty() || cap.on.iter().any(|target| self.is_hit(target))
    }
}

struct Draft<'a> {
    candidates: Vec<Candidate<'a>>,
}

/// The sides a step asks for, right before left.
fn sides(side: Side) -> &'static [Side] {
    match side {
        Side::Both => &[Side::Right, Side::Left],
        Side::Right => &[Side::Right],
        Side::Left => &[Side::Left],
        Side::Centre => &[Side::Centre],
    }
}

fn side_hit(omitted: Side, side: Side) -> bool {
    omitted == Side::Both || omitted == side
}

impl<'a> Draft<'a> {
    fn new(
        books: Books<'a>,
        procedure: &'a Procedure,
        omissions: &[Omission],
        limits: &Limits,
    ) -> Self {
        // An area whose right and left are counted apart in one module is counted so in all, or its
        // needles could not be counted out by region.
        let apart: Vec<Area> = procedure
            .modules
            .iter()
            .filter(|module| module.apart)
            .flat_map(|module| &module.steps)
            .filter_map(|step| books.atlas.get(&step.point).map(|point| point.area))
            .collect();
        let mut candidates = Vec::new();
        for (at_module, module) in procedure.modules.iter().enumerate() {
            for (at_step, step) in module.steps.iter().enumerate() {
                for &side in sides(step.side) {
                    let point = books.atlas.get(&step.point);
                    let needles = point.map_or(0, |point| point.reach.needles(side));
                    let region = point.map(|point| Region {
                        area: point.area,
                        side: if apart.contains(&point.area) {
                            side
                        } else {
                            Side::Both
                        },
                    });
                    let size = step.size.as_ref().unwrap_or(&module.size.id);
                    let kind = books.needles.get(size).map(|row| row.size.kind);
                    let mut candidate = Candidate {
                        module,
                        at_module,
                        step,
                        at_step,
                        side,
                        region,
                        needles,
                        point: point.filter(|_| needles > 0),
                        kind,
                        why: Vec::new(),
                    };
                    let hits = omissions.iter().filter(|o| candidate.is_hit(&o.what));
                    let mut why: Vec<Why> = hits.map(|o| Why::Finding(o.why.clone())).collect();
                    match candidate.point {
                        None => why.push(Why::UnknownPoint),
                        Some(point) => {
                            if let Some((position, reason)) = &limits.position
                                && !reachable(*position, point.area, point.is_in(Group::NeckBack))
                            {
                                why.push(Why::Position(*position, reason.clone()));
                            }
                        }
                    }
                    if step.worn_home {
                        why.extend(limits.no_retained.iter().cloned().map(Why::Retained));
                    }
                    if kind.is_none() {
                        why.push(Why::UnknownSize);
                    }
                    candidate.why = why;
                    candidates.push(candidate);
                }
            }
        }
        Self { candidates }
    }

    /// Which candidates go so that every cap is kept, with the reason: whole steps, so that a pair
    /// stays a pair wherever the cap is meant for both sides; those with the highest keep first, and
    /// of equals the last. Caps on a part before caps on the whole, the strictest first, then `most`
    /// for an offer that is being tried.
    fn over_the_caps(&self, limits: &Limits, most: Option<u16>) -> flat::Map<usize, Vec<Why>> {
        let mut gone: flat::Map<usize, Vec<Why>> = flat::Map::new();
        let mut caps: Vec<&Capped<u16>> = limits.most_needles.iter().collect();
        flat::sort_by_key(&mut caps, |cap| (cap.on.is_empty(), cap.most));
        for cap in caps {
            let why = || alloc::vec![Why::MostNeedles(cap.most, cap.why.clone())];
            self.trim(cap.most, |c| c.is_capped(cap), why, &mut gone);
        }
        if let Some(most) = most {
            self.trim(most, |_| true, || alloc::vec![Why::ToFit], &mut gone);
        }
        gone
    }

    fn trim(
        &self,
        most: u16,
        meant: impl Fn(&Candidate<'_>) -> bool,
        why: impl Fn() -> Vec<Why>,
        gone: &mut flat::Map<usize, Vec<Why>>,
    ) {
        /// A step as far as a cap is meant for it.
        struct Part {
            order: (u8, usize, usize),
            needles: u16,
            which: Vec<usize>,
        }
        let mut parts: Vec<Part> = Vec::new();
        let mut total: u16 = 0;
        for (which, c) in self.candidates.iter().enumerate() {
            if !c.why.is_empty() || gone.contains_key(&which) || !meant(c) {
                continue;
            }
            total = total.saturating_add(c.needles);
            let order = (c.step.keep, c.at_module, c.at_step);
            match parts.last_mut() {
                Some(part) if part.order == order => {
                    part.needles = part.needles.saturating_add(c.needles);
                    part.which.push(which);
                }
                _ => parts.push(Part {
                    order,
                    needles: c.needles,
                    which: alloc::vec![which],
                }),
            }
        }
        flat::sort_by_key(&mut parts, |part| part.order);
        while total > most {
            let Some(part) = parts.pop() else { break };
            total = total.saturating_sub(part.needles);
            for which in part.which {
                gone.insert(which, why());
            }
        }
    }

    fn lay_out(
        &self,
        books: Books<'_>,
        procedure: &Procedure,
        limits: &Limits,
        options: &Options,
        most_needles: Option<u16>,
        cream: bool,
    ) -> Plan {
        let gone = self.over_the_caps(limits, most_needles);
        let mut blocks: Vec<Block> = Vec::new();
        let mut hands: Vec<Vec<Needle>> = Vec::new();
        let mut keys: Vec<(usize, Region)> = Vec::new();
        let mut left_out = Vec::new();
        let mut numbers: flat::Map<Area, (u16, (usize, usize))> = flat::Map::new();
        let mut mind = limits.mind.clone();
        for (which, c) in self.candidates.iter().enumerate() {
            let over = gone.get(&which);
            let (Some(region), true, None) = (c.region, c.why.is_empty(), over) else {
                let mut why = c.why.clone();
                why.extend(over.into_iter().flatten().cloned());
                left_out.push(LeftOut {
                    point: c.step.point.clone(),
                    side: c.side,
                    region: c.region,
                    needles: c.needles,
                    why,
                });
                continue;
            };
            let (number, last) = numbers.or_insert(region.area, (0, (usize::MAX, usize::MAX)));
            if *last != (c.at_module, c.at_step) {
                *number = number.saturating_add(1);
                *last = (c.at_module, c.at_step);
            }
            let meant = limits.most_stay.iter().filter(|cap| c.is_capped(cap));
            let most = meant
                .map(|cap| cap.most)
                .fold(c.module.stay.most, Seconds::min);
            let stay = (c.module.stay.least.min(most), most);
            let mut most_depth: Option<Micrometres> = None;
            for cap in limits.most_depth.iter().filter(|cap| c.is_capped(cap)) {
                most_depth = Some(most_depth.map_or(cap.most, |least| least.min(cap.most)));
                if !mind.contains(&cap.why) {
                    mind.push(cap.why.clone());
                }
            }
            // Where the module's block for this region is: the sides of a pair may be apart.
            let found = keys.iter().position(|key| *key == (c.at_module, region));
            let at = found.unwrap_or(blocks.len());
            if found.is_none() {
                blocks.push(Block {
                    module: c.module.module,
                    region,
                    places: Vec::new(),
                    needles: 0,
                    stay,
                    placing: Span { from: 0, to: 0 },
                    taking_out: None,
                    longest: Seconds(0),
                });
                hands.push(Vec::new());
                keys.push((c.at_module, region));
            }
            if let (Some(block), Some(hands)) = (blocks.get_mut(at), hands.get_mut(at)) {
                block.needles = block.needles.saturating_add(c.needles);
                block.stay = (block.stay.0.min(stay.0), block.stay.1.min(stay.1));
                let (place, remove) = options.hands(c.module);
                for _ in 0..c.needles {
                    hands.push(Needle {
                        place,
                        remove,
                        least: stay.0,
                        most: stay.1,
                        stays: c.step.worn_home,
                    });
                }
                block.places.push(Place {
                    number: *number,
                    point: c.step.point.clone(),
                    side: c.side,
                    needles: c.needles,
                    size: c.step.size.as_ref().unwrap_or(&c.module.size.id).clone(),
                    how: c.step.how.unwrap_or(c.module.technique.how),
                    direction: c.step.direction.unwrap_or(c.module.technique.direction),
                    sought: c.module.sensation.sought,
                    most_depth,
                    worn_home: c.step.worn_home,
                });
            }
        }
        for (block, hands) in blocks.iter().zip(&mut hands) {
            for needle in hands {
                (needle.least, needle.most) = block.stay;
            }
        }
        let needles = sum(blocks.iter().map(|block| block.needles));
        let tray = lay_tray(books.needles, &blocks, options);
        let mut plan = Plan {
            procedure: procedure.id.clone(),
            regions: totals(&blocks),
            left_out,
            needles,
            worn_home: sum(blocks
                .iter()
                .flat_map(|block| &block.places)
                .filter(|place| place.worn_home)
                .map(|place| place.needles)),
            opened: sum(tray.iter().map(|line| line.opened)),
            tray,
            topical: Topical::None,
            no_electro: limits.no_electro.clone(),
            position: limits.position.clone(),
            mind,
            learned: Vec::new(),
            total: Seconds(0),
            interleaved: false,
            in_one_go: 0,
            overstays: Vec::new(),
            fit: Fit::NoSlot,
            leave_at: None,
            blocks,
        };
        let placed = |module: &&Module| plan.blocks.iter().any(|b| b.module == module.module);
        plan.learned = options.learned(procedure.modules.iter().filter(placed));
        let wanted = options.cream.as_ref().filter(|_| cream);
        time(&mut plan, &hands, limits, options, wanted);
        plan
    }
}

fn reachable(position: Position, area: Area, neck_back: bool) -> bool {
    match position {
        Position::OnBack => !neck_back,
        Position::OnFront => !matches!(
            area,
            Area::Forehead | Area::EyeRim | Area::Cheek | Area::MouthJaw
        ),
        Position::Sitting => true,
    }
}

fn sum(counts: impl Iterator<Item = u16>) -> u16 {
    counts.fold(0, u16::saturating_add)
}

/// The blocks by region, in the order regions are first placed.
fn totals(blocks: &[Block]) -> Vec<RegionTotal> {
    let mut totals: Vec<RegionTotal> = Vec::new();
    for block in blocks {
        let at = totals
            .iter()
            .position(|total| total.region == block.region)
            .unwrap_or(totals.len());
        if at == totals.len() {
            totals.push(RegionTotal {
                region: block.region,
                pairs: 0,
                singles: 0,
                needles: 0,
            });
        }
        let Some(total) = totals.get_mut(at) else {
            continue;
        };
        total.needles = total.needles.saturating_add(block.needles);
        let mut places = block.places.iter().peekable();
        while let Some(place) = places.next() {
            let twin = places.next_if(|next| {
                next.number == place.number && place.side == Side::Right && next.side == Side::Left
            });
            if twin.is_some() {
                total.pairs = total.pairs.saturating_add(1);
            } else {
                total.singles = total.singles.saturating_add(1);
            }
        }
    }
    totals
}

fn lay_tray(needles: &Needles, blocks: &[Block], options: &Options) -> Vec<TrayLine> {
    let mut lines: Vec<TrayLine> = Vec::new();
    for place in blocks.iter().flat_map(|block| &block.places) {
        if let Some(line) = lines.iter_mut().find(|line| line.id == place.size) {
            line.needed = line.needed.saturating_add(place.needles);
        } else if let Some(row) = needles.get(&place.size) {
            lines.push(TrayLine {
                id: row.id.clone(),
                size: row.size,
                needed: place.needles,
                packs: Vec::new(),
                opened: 0,
            });
        }
    }
    for line in &mut lines {
        let wanted = line.needed.saturating_add(options.spares);
        let offered = options
            .packs
            .get(&line.id)
            .map_or(&[Pack::Five, Pack::Ten][..], Vec::as_slice);
        line.packs = tray::packets(wanted, offered);
        line.opened = tray::held(&line.packs);
    }
    lines
}

/// Puts the hour into a plan whose blocks are laid out.
fn time(
    plan: &mut Plan,
    hands: &[Vec<Needle>],
    limits: &Limits,
    options: &Options,
    cream: Option<&Cream>,
) {
    let needles: Vec<Needle> = hands.iter().flatten().copied().collect();
    let mut start = options.open.0;
    let mut errands = Vec::new();
    let mut times = None;
    match cream {
        Some(_) if !limits.no_topical.is_empty() => {
            plan.topical = Topical::LeftOut(limits.no_topical.clone());
        }
        Some(cream) => {
            let barred: Vec<(Area, Reason)> = limits
                .no_topical_on
                .iter()
                .filter(|(bar, _)| cream.areas.iter().any(|(area, _)| area == bar))
                .cloned()
                .collect();
            let covered: Vec<(Area, u32)> = cream
                .areas
                .iter()
                .copied()
                .filter(|(area, _)| !barred.iter().any(|(bar, _)| bar == area))
                .filter(|(area, _)| plan.regions.iter().any(|total| total.region.area == *area))
                .collect();
            let areas: Vec<Area> = covered.iter().map(|(area, _)| *area).collect();
            let cm2 = covered
                .iter()
                .fold(0_u32, |sum, (_, cm2)| sum.saturating_add(*cm2));
            let stay_cap = limits.cream_stay.iter().map(|(most, _)| *most).min();
            let cream_most = [cream.most, stay_cap].into_iter().flatten().min();
            let cream_least = cream_most.map_or(cream.least, |most| cream.least.min(most));
            let first = plan
                .blocks
                .iter()
                .position(|block| areas.contains(&block.region.area));
            if let Some(first) = first {
                let on = Span {
                    from: start,
                    to: start.saturating_add(cream.apply.0),
                };
                let due = on.to.saturating_add(cream_least.0);
                let ahead: Vec<&Needle> = hands.iter().take(first).flatten().collect();
                let ahead_takes = ahead
                    .iter()
                    .fold(0_u32, |sum, needle| sum.saturating_add(needle.place.0));
                // What is not creamed is placed at the end of the dwell: it costs no time then and
                // its needles do not wait for the cream.
                start = on.to.max(due.saturating_sub(ahead_takes));
                errands.push(Errand {
                    before: ahead.len(),
                    not_before: due,
                    takes: cream.wipe,
                    then_wait: cream.wait,
                });
                times = Some((cream, areas, barred, cm2, cream_most, on));
            } else if !barred.is_empty() && areas.is_empty() {
                plan.topical = Topical::LeftOut(barred.into_iter().map(|(_, why)| why).collect());
            }
        }
        None => {}
    }
    let run = hour::run(&needles, &errands, start);
    if let (Some((cream, areas, barred, cm2, most, on)), Some(&from)) = (times, run.errands.first())
    {
        let off = Span {
            from,
            to: from.saturating_add(cream.wipe.0),
        };
        for (_, why) in &limits.cream_stay {
            if !plan.mind.contains(why) {
                plan.mind.push(why.clone());
            }
        }
        let off_by = most.map(|most| on.to.saturating_add(most.0));
        let widest = limits.cream_area.iter().min_by_key(|(most, _)| *most);
        plan.topical = Topical::On(CreamTimes {
            areas,
            barred,
            cm2,
            amount_mg: cream
                .amount
                .map(|(least, most)| (least.saturating_mul(cm2), most.saturating_mul(cm2))),
            too_wide: widest.filter(|(most, _)| cm2 > *most).cloned(),
            on,
            off,
            off_by,
            ready: off.to.saturating_add(cream.wait.0),
            late: off_by.is_some_and(|by| off.from > by),
        });
    }
    fill_blocks(plan, hands, &run);
    plan.interleaved = run.interleaved;
    plan.in_one_go = u16::try_from(run.in_one_go).unwrap_or(u16::MAX);
    plan.total = Seconds(run.end.max(start).saturating_add(options.close.0));
    if let Some(slot) = options.slot {
        plan.fit = match slot.length.0.checked_sub(plan.total.0) {
            Some(spare) => Fit::Fits(Seconds(spare)),
            None => Fit::TooLong(
                Seconds(plan.total.0.saturating_sub(slot.length.0)),
                Vec::new(),
            ),
        };
        plan.leave_at = Some(u32::from(slot.start).saturating_add(plan.total.0.div_ceil(60)));
    }
}

/// Copies the times of single needles into their blocks, and finds who would stay too long.
fn fill_blocks(plan: &mut Plan, hands: &[Vec<Needle>], run: &Run) {
    let mut times = run.needles.iter();
    for (block, hands) in plan.blocks.iter_mut().zip(hands) {
        let mut by = 0;
        let mut out: Option<Span> = None;
        let mut placing: Option<Span> = None;
        for needle in hands {
            let Some(t) = times.next() else { break };
            let from = placing.map_or(t.from, |span| span.from);
            placing = Some(Span { from, to: t.placed });
            if needle.stays {
                continue;
            }
            let from = out.map_or(t.out_from, |span| span.from);
            out = Some(Span { from, to: t.out });
            block.longest = block.longest.max(t.stay());
            by = by.max(t.stay().0.saturating_sub(needle.most.0));
        }
        if let Some(placing) = placing {
            block.placing = placing;
        }
        block.taking_out = out;
        if by > 0 {
            plan.overstays.push(Overstay {
                region: block.region,
                by: Seconds(by),
            });
        }
    }
}

/// Other procedures that would fit the same slot under the same findings, with their needles and
/// time, most needles first and then in the order given.
#[must_use]
pub fn others_that_fit(
    books: Books<'_>,
    procedures: &[Procedure],
    but: &str,
    omissions: &[Omission],
    limits: &Limits,
    options: &Options,
) -> Vec<(String, u16, Seconds)> {
    let mut out: Vec<(String, u16, Seconds)> = procedures
        .iter()
        .filter(|procedure| procedure.id != but)
        .map(|procedure| plan(books, procedure, omissions, limits, options))
        .filter(|plan| plan.needles > 0 && matches!(plan.fit, Fit::Fits(_)))
        .map(|plan| (plan.procedure.to_string(), plan.needles, plan.total))
        .collect();
    flat::sort_by_key(&mut out, |(_, needles, _)| core::cmp::Reverse(*needles));
    out
}
