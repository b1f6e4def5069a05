//! What happens in the chair.

use super::{Bounded, Count, LONG_TEXT, MANY};
use crate::atlas::{Area, Region, Side};
use crate::base::body::Body;
use crate::base::id::{EntryId, NeedleId};
use crate::base::units::{Micrometres, Seconds};
use crate::needle::Size;
use crate::procedure::{Direction, How as Technique};
use alloc::string::String;
use alloc::vec::Vec;

/// How a session was opened.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(rename_all = "snake_case")]
pub enum Mode {
    /// No plan and no screening here; the record says so for good.
    CountOnly,
    /// From a plan, after screening.
    Planned,
}

/// A session begins. The stream is named by this entry.
#[derive(Clone, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(deny_unknown_fields)]
pub struct Opened {
    /// How.
    pub mode: Mode,
    /// The entry that first wrote the person down, if one is known yet.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub person: Option<EntryId>,
    /// What was planned, region by region; empty for *count only*.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub plan: Vec<PlannedRegion>,
    /// A rehearsal is plainly marked and out of all statistics.
    #[serde(default, skip_serializing_if = "core::ops::Not::not")]
    pub rehearsal: bool,
    /// Which procedure it was planned from, in which version; none for *count only* and in old logs.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub procedure: Option<Used>,
}

/// Which procedure a session was planned from. A later edit of it changes nothing here.
#[derive(Clone, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(deny_unknown_fields)]
pub struct Used {
    /// Its stable name.
    pub id: String,
    /// What it was called then.
    pub name: String,
    /// Exactly which.
    pub version: Version,
}

/// A version of a procedure.
#[derive(Clone, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(rename_all = "snake_case")]
pub enum Version {
    /// One of the practice's own: the fact that composed it.
    Composed(EntryId),
    /// One of Pinfold's: 16 hexadecimal digits made from its content.
    BuiltIn(String),
}

/// What a plan says of one region, placed and timed as one.
#[derive(Clone, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(deny_unknown_fields)]
pub struct PlannedRegion {
    /// Where.
    pub region: Region,
    /// How long its needles stay.
    pub stay: Seconds,
    /// The needles, size by size; empty if every point was left out.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub needles: Vec<PlannedNeedles>,
    /// Points left out today, with the rule that left them out.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub left_out: Vec<LeftOut>,
}

/// Planned needles of one size.
#[derive(Clone, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(deny_unknown_fields)]
pub struct PlannedNeedles {
    /// Their size.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub size: Option<Size>,
    /// How many.
    pub count: Count,
    /// The points, in order.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub points: Vec<PointUse>,
}

impl PlannedRegion {
    /// How many needles the plan puts here.
    #[must_use]
    pub fn count(&self) -> u16 {
        self.needles
            .iter()
            .fold(0_u16, |sum, n| sum.saturating_add(n.count.get()))
    }
}

/// One point on one side.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(deny_unknown_fields)]
pub struct PointUse {
    /// WHO point code.
    pub code: String,
    /// The patient's side, or the midline.
    pub side: Side,
}

/// A point left out today.
#[derive(Clone, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(deny_unknown_fields)]
pub struct LeftOut {
    /// Which.
    pub point: PointUse,
    /// The rule that left it out.
    pub rule: String,
}

/// A session is joined to a person after it began.
#[derive(Clone, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(deny_unknown_fields)]
pub struct Joined {
    /// The entry that first wrote the person down.
    pub person: EntryId,
}

/// A packet or strip was opened: so many needles by its label.
#[derive(Clone, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(deny_unknown_fields)]
pub struct Pack {
    /// How many needles its label says.
    pub held: Count,
    /// Their size, if said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub size: Option<Size>,
    /// The lot printed on it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lot: Option<String>,
}

/// A packet held another number than its label says: 9 or 11 in a ten.
#[derive(Clone, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(deny_unknown_fields)]
pub struct PackFault {
    /// The packet.
    pub pack: EntryId,
    /// How many were in it.
    pub held: u16,
}

/// Where a placing fact comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(rename_all = "snake_case")]
pub enum Basis {
    /// Entered when the needles were placed.
    #[default]
    Placing,
    /// More came out of the region than had been entered as placed: what came out had been in.
    CameOut,
    /// More were seen there than had been entered as placed.
    Seen,
}

#[cfg(test)]
impl Basis {
    #[expect(
        clippy::trivially_copy_pass_by_ref,
        reason = "serde passes a reference"
    )]
    fn is_placing(&self) -> bool {
        *self == Self::Placing
    }
}

/// Needles went into one region.
#[derive(Clone, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(deny_unknown_fields)]
pub struct Placed {
    /// Where.
    pub region: Region,
    /// How many.
    pub count: Count,
    /// Their size, if said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub size: Option<Size>,
    /// Which points, in the order of the needles; may name fewer than `count`.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub points: Vec<PointUse>,
    /// How long they are meant to stay, if said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stay: Option<Seconds>,
    /// What this entry rests on.
    #[serde(default, skip_serializing_if = "Basis::is_placing")]
    pub basis: Basis,
    /// Which line of the session's plan this is, counted from 0.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub of: Option<u16>,
}

/// A run of needles of one placing fact: ordinals `from` to `to`, both included.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(deny_unknown_fields)]
pub struct Span {
    /// The placing fact.
    pub placed: EntryId,
    /// First ordinal.
    pub from: u16,
    /// Last ordinal.
    pub to: u16,
}

impl Span {
    /// The needles' names. At most [`MANY`], however wide a hostile span claims to be.
    pub fn needles(self) -> impl Iterator<Item = NeedleId> {
        (self.from..=self.to)
            .take(MANY)
            .map(move |ordinal| NeedleId {
                placed: self.placed,
                ordinal,
            })
    }

    /// Packs sorted names into as few runs as they allow.
    #[must_use]
    pub fn pack(needles: &[NeedleId]) -> Vec<Self> {
        let mut spans: Vec<Self> = Vec::new();
        for needle in needles {
            match spans.last_mut() {
                Some(last)
                    if last.placed == needle.placed
                        && last.to.checked_add(1) == Some(needle.ordinal) =>
                {
                    last.to = needle.ordinal;
                }
                _ => spans.push(Self {
                    placed: needle.placed,
                    from: needle.ordinal,
                    to: needle.ordinal,
                }),
            }
        }
        spans
    }
}

/// Some needles, by name.
#[derive(Clone, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(deny_unknown_fields)]
pub struct Spans {
    /// Which.
    pub needles: Vec<Span>,
}

/// How a needle came out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(rename_all = "snake_case")]
pub enum How {
    /// Taken out.
    #[default]
    Taken,
    /// Fell out and was found.
    FellOut,
    /// Turned up after a search.
    TurnedUp,
    /// Changed for another at the same point.
    Changed,
    /// Taken together with others, in one grip.
    Together,
    /// Nobody here saw it come out, and what became of it is known: the words stand in a note.
    Explained,
}

#[cfg(test)]
impl How {
    #[expect(
        clippy::trivially_copy_pass_by_ref,
        reason = "serde passes a reference"
    )]
    fn is_taken(&self) -> bool {
        *self == Self::Taken
    }
}

/// Needles came out.
#[derive(Clone, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(deny_unknown_fields)]
pub struct Out {
    /// The region that was cleared and counted, if it was done by region.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub region: Option<Region>,
    /// Which needles; for a region total the ledger chose them.
    pub needles: Vec<Span>,
    /// How.
    #[serde(default, skip_serializing_if = "How::is_taken")]
    pub how: How,
    /// The first answer, where it differed and the region was looked through again. 0 to 500.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub first: Option<u16>,
    /// For a region's total: how many totals of that region its writer had seen before. Two totals
    /// of one region with one number are the same round of taking out, entered twice.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pass: Option<u16>,
}

/// Needles stay in on purpose.
#[derive(Clone, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(deny_unknown_fields)]
pub struct StaysIn {
    /// Which.
    pub needles: Vec<Span>,
    /// The longest they are meant to stay, if said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub longest: Option<Seconds>,
}

/// How a needle that stayed in on purpose came to be in no longer.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(rename_all = "snake_case")]
pub enum Ended {
    /// Taken out by the practitioner.
    ByMe,
    /// Taken out by the person.
    ByPerson,
    /// Fell off, and nobody saw it.
    FellOffUnseen,
}

/// Needles that stayed in on purpose are in no longer.
#[derive(Clone, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(deny_unknown_fields)]
pub struct StayEnded {
    /// Which.
    pub needles: Vec<Span>,
    /// How.
    pub how: Ended,
    /// The closing fact it came after, if the session was closed. It does not open the count again.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub after: Option<EntryId>,
}

/// A place where a needle is looked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(rename_all = "snake_case")]
#[expect(missing_docs, reason = "each is the place it names")]
pub enum SearchPlace {
    Face,
    Hairline,
    Ear,
    HairClips,
    Collar,
    Sleeve,
    Pillow,
    Blanket,
    ShoeFloor,
    UsedCotton,
    Bin,
    GuideTubes,
    Strips,
    Tray,
    SharpsBox,
}

impl SearchPlace {
    /// Every place, in the order they are looked at.
    pub const ALL: &'static [Self] = &[
        Self::Face,
        Self::Hairline,
        Self::Ear,
        Self::HairClips,
        Self::Collar,
        Self::Sleeve,
        Self::Pillow,
        Self::Blanket,
        Self::ShoeFloor,
        Self::UsedCotton,
        Self::Bin,
        Self::GuideTubes,
        Self::Strips,
        Self::Tray,
        Self::SharpsBox,
    ];
}

/// Places were looked through for a needle.
#[derive(Clone, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(deny_unknown_fields)]
pub struct Searched {
    /// Which.
    pub places: Vec<SearchPlace>,
}

/// Who found a needle.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(rename_all = "snake_case")]
pub enum Finder {
    /// The practitioner.
    Practitioner,
    /// The person it was used on.
    Person,
    /// Somebody else.
    Other,
}

/// A needle turned up: in the room, or after the visit.
#[derive(Clone, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(deny_unknown_fields)]
pub struct TurnedUp {
    /// The placed needles it explains.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub needles: Vec<Span>,
    /// How many turned up that no placed needle explains. 0 to 500.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub loose: u16,
    /// Their size, if it could be told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub size: Option<Size>,
    /// Where, if it is one of these places.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub place: Option<SearchPlace>,
    /// By whom.
    pub by: Finder,
    /// Still in the skin, and not loose.
    #[serde(default, skip_serializing_if = "core::ops::Not::not")]
    pub embedded: bool,
    /// Somebody else was stuck by it.
    #[serde(default, skip_serializing_if = "core::ops::Not::not")]
    pub stuck: bool,
    /// Other sessions it may be from as well.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub fits: Vec<EntryId>,
    /// Where and how, in words.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub words: String,
    /// The closing fact it came after, if the session was closed. It does not open the count again.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub after: Option<EntryId>,
}

/// Needles in the skin were counted by eye, region by region: when somebody who had got up is back,
/// and when a colleague takes over.
#[derive(Clone, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(deny_unknown_fields)]
pub struct Inside {
    /// What was seen where.
    pub regions: Vec<SeenIn>,
}

/// How many needles were seen in a region.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(deny_unknown_fields)]
pub struct SeenIn {
    /// Where.
    pub region: Region,
    /// How many. 0 to 500.
    pub seen: u16,
}

/// What can be done beside needles and cream.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(rename_all = "snake_case")]
pub enum Doing {
    /// The person got up with needles in.
    GotUp,
    /// The person has the call bell in hand.
    Bell,
    /// Before they go: sitting.
    Sat,
    /// Before they go: standing.
    Stood,
    /// Before they go: steady.
    Steady,
    /// The person waits from now on.
    Waits,
    /// Somebody looked in; `next` says when the next look is due.
    LookedIn,
    /// A second chair is open: the practitioner promised to keep the sound on.
    PromisedSound,
    /// A second chair is open: the practitioner promised to watch the clocks.
    PromisedWatch,
    /// Needles go straight to the sharps box here: there is no tray to count.
    StraightToBox,
    /// Another practitioner took over.
    HandedOver,
}

/// Something was done beside needles and cream.
#[derive(Clone, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(deny_unknown_fields)]
pub struct Did {
    /// What.
    pub what: Doing,
    /// Who: who looked in, who took over.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub who: String,
    /// From whom it was taken over.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub from: String,
    /// For a look-in: the next one after so long. At most a day.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub next: Option<Seconds>,
}

/// What can go wrong.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(rename_all = "snake_case")]
pub enum IncidentKind {
    /// Faint, or about to.
    Faint,
    /// It bled.
    Bleeding,
    /// A bruise shows.
    Bruise,
    /// A swelling of blood that grows.
    Haematoma,
    /// A needle that does not come out.
    StuckNeedle,
    /// A bent or broken needle.
    BentOrBroken,
    /// Strong pain.
    StrongPain,
    /// Signs of too much local anaesthetic.
    Toxicity,
    /// Signs about an eye.
    Eye,
    /// Signs about the chest.
    Chest,
    /// The practitioner was stuck by a used needle.
    Needlestick,
    /// Something else.
    Other,
}

impl IncidentKind {
    /// Every kind.
    pub const ALL: &'static [Self] = &[
        Self::Faint,
        Self::Bleeding,
        Self::Bruise,
        Self::Haematoma,
        Self::StuckNeedle,
        Self::BentOrBroken,
        Self::StrongPain,
        Self::Toxicity,
        Self::Eye,
        Self::Chest,
        Self::Needlestick,
        Self::Other,
    ];
}

/// Something went wrong. When it happened and when it was entered stand in its envelope.
#[derive(Clone, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(deny_unknown_fields)]
pub struct Incident {
    /// What.
    pub kind: IncidentKind,
    /// Where, if said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub region: Option<Region>,
    /// At which point, if said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub point: Option<PointUse>,
    /// In words.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub words: String,
}

/// What the person felt where a needle went in, as they said it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(rename_all = "snake_case")]
pub enum Felt {
    /// Nothing.
    Nothing,
    /// A mild, dull feeling.
    Dull,
    /// De qi.
    DeQi,
    /// A sharp pain.
    Sharp,
    /// Like an electric shock: a nerve may have been touched.
    Electric,
}

impl Felt {
    /// Every feeling, in the order they are offered.
    pub const ALL: &'static [Self] = &[
        Self::Nothing,
        Self::Dull,
        Self::DeQi,
        Self::Sharp,
        Self::Electric,
    ];
}

/// Depth, technique or feeling differed from the plan, in a region or at one point. Written by
/// exception: where no such fact stands, nothing was recorded needle by needle. It says one of
/// them at least.
#[derive(Clone, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(deny_unknown_fields)]
pub struct Otherwise {
    /// Where.
    pub region: Region,
    /// At which point; at every needle of the region if none is named.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub point: Option<PointUse>,
    /// How deep, in micrometres. 100 to 100 000: 0.1 to 100 mm, a bound for hostile files and no
    /// advice.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub depth: Option<Micrometres>,
    /// How it went in.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub technique: Option<Technique>,
    /// Which way.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub direction: Option<Direction>,
    /// What was felt.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub felt: Option<Felt>,
    /// In words.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub words: String,
}

/// Needles were looked for and not found. Signed for good; a needle that turns up later is a
/// further fact.
#[derive(Clone, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(deny_unknown_fields)]
pub struct NotFound {
    /// Placed needles that were not found.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub needles: Vec<Span>,
    /// Opened needles, never placed, that were not found. 0 to 500.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub unplaced: u16,
    /// What was searched and what was told.
    pub words: String,
}

#[cfg(test)]
#[expect(
    clippy::trivially_copy_pass_by_ref,
    reason = "serde passes a reference"
)]
fn is_zero(n: &u16) -> bool {
    *n == 0
}

/// Needles were spoilt before they were placed.
#[derive(Clone, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(deny_unknown_fields)]
pub struct Spoilt {
    /// How many.
    pub count: Count,
    /// Their size, if said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub size: Option<Size>,
}

/// What was left in the opened strips of one size. An observation: the latest stands, and it lapses
/// when needles of that size are opened, placed or spoilt after it.
#[derive(Clone, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(deny_unknown_fields)]
pub struct Strips {
    /// The size counted, if said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub size: Option<Size>,
    /// How many were left, unused. 0 to 500.
    pub left: u16,
}

/// What lay in the tray: full tens and what is over.
#[derive(Clone, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(deny_unknown_fields)]
pub struct Tray {
    /// Full tens.
    pub tens: u16,
    /// And so many over.
    pub over: u16,
}

/// Areas were swept by hand and found clear.
#[derive(Clone, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(deny_unknown_fields)]
pub struct Swept {
    /// Which.
    pub areas: Vec<Area>,
}

/// Numbing cream went on.
#[derive(Clone, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(deny_unknown_fields)]
pub struct CreamOn {
    /// Where.
    pub regions: Vec<Region>,
    /// Earliest time to wipe it off, from the label the practitioner entered.
    pub earliest: Seconds,
    /// Latest time to wipe it off.
    pub latest: Seconds,
    /// The product's row in the topical data or the shelf, if said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub product: Option<String>,
    /// How much, in milligrams of cream, if said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub milligrams: Option<u32>,
}

/// Numbing cream was wiped off.
#[derive(Clone, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(deny_unknown_fields)]
pub struct CreamOff {
    /// The fact that put it on.
    pub cream: EntryId,
}

/// The planned stay of a region was changed, say by "5 more". What has passed is kept.
#[derive(Clone, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(deny_unknown_fields)]
pub struct Stay {
    /// Where.
    pub region: Region,
    /// How long its needles are to stay, counted from when they went in. 1 minute to 24 hours.
    pub length: Seconds,
}

/// A red flag was raised with the chair open: from here on nothing more is planned. What goes in all
/// the same is counted and flagged, and everything comes out as ever.
#[derive(Clone, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(deny_unknown_fields)]
pub struct Stopped {
    /// What was raised.
    pub why: String,
}

/// Something worth writing down.
#[derive(Clone, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(deny_unknown_fields)]
pub struct Note {
    /// The words.
    pub text: String,
    /// Where, if anywhere.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub region: Option<Region>,
}

/// A slip of the finger or of the count: the facts named are taken as never having happened. They
/// stay in the journal, as does this.
#[derive(Clone, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(deny_unknown_fields)]
pub struct Corrected {
    /// The facts.
    pub targets: Vec<EntryId>,
    /// Why, if said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub why: Option<String>,
}

/// The session was closed: every term of the sum as it stood.
#[derive(Clone, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(deny_unknown_fields)]
pub struct Closed {
    /// Needles known to have been opened.
    pub opened: u32,
    /// Signed as not found.
    pub not_found: u32,
    /// How many facts about needles, packets and cream it closes over. When there are more or
    /// fewer, a merge or a correction came after, and the count is open again.
    pub facts: u32,
    /// What was written about anything that did not add up.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub words: Option<String>,
    /// Which set of demands it met: 0 for the first, which asked for strips and signatures; 1 for
    /// the one that also asks for sweeps, tray counts and searches.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub demands: u16,
}

fn spans(list: &[Span]) -> Result<(), &'static str> {
    let wide = |s: &Span| s.from > s.to || usize::from(s.to) >= MANY;
    if list.len() > MANY || list.iter().any(wide) {
        Err("needles: a run is out of range")
    } else {
        Ok(())
    }
}

fn short(text: Option<&String>, limit: usize, words: &'static str) -> Result<(), &'static str> {
    if text.is_some_and(|t| t.len() > limit) {
        Err(words)
    } else {
        Ok(())
    }
}

fn few<T>(list: &[T], words: &'static str) -> Result<(), &'static str> {
    if list.len() > MANY {
        Err(words)
    } else {
        Ok(())
    }
}

fn points(list: &[PointUse]) -> Result<(), &'static str> {
    few(list, "points: too many")?;
    list.iter()
        .try_for_each(|p| short(Some(&p.code), 40, "points: a code is too long"))
}

const DAY: u32 = 86_400;

/// The least and the greatest depth a fact may hold, in micrometres.
const DEPTH_LEAST: u32 = 100;
const DEPTH_MOST: u32 = 100_000;

fn within_a_day(span: Seconds, words: &'static str) -> Result<(), &'static str> {
    if span.0 > DAY { Err(words) } else { Ok(()) }
}

impl Bounded for Opened {
    fn check(&self) -> Result<(), &'static str> {
        few(&self.plan, "plan: too many regions")?;
        if let Some(used) = &self.procedure {
            short(Some(&used.id), 80, "procedure: id too long")?;
            short(Some(&used.name), 400, "procedure: name too long")?;
            if let Version::BuiltIn(hash) = &used.version {
                short(Some(hash), 40, "procedure: version too long")?;
            }
        }
        self.plan.iter().try_for_each(|r| {
            few(&r.needles, "plan: too many sizes")?;
            r.needles.iter().try_for_each(|n| points(&n.points))?;
            few(&r.left_out, "plan: too many points left out")?;
            within_a_day(r.stay, "plan: a stay is longer than a day")?;
            if usize::from(r.count()) > MANY {
                Err("plan: too many needles")
            } else {
                Ok(())
            }
        })
    }
}

impl Bounded for Joined {}

impl Bounded for Pack {
    fn check(&self) -> Result<(), &'static str> {
        short(self.lot.as_ref(), 80, "lot: too long")
    }
}

impl Bounded for PackFault {
    fn check(&self) -> Result<(), &'static str> {
        if usize::from(self.held) > MANY {
            Err("held: too many")
        } else {
            Ok(())
        }
    }
}

impl Bounded for Placed {
    fn check(&self) -> Result<(), &'static str> {
        if self.points.len() > usize::from(self.count.get()) {
            return Err("points: more than needles");
        }
        within_a_day(self.stay.unwrap_or(Seconds(0)), "stay: longer than a day")?;
        points(&self.points)
    }
}

impl Bounded for Spans {
    fn check(&self) -> Result<(), &'static str> {
        spans(&self.needles)
    }
}

impl Bounded for Out {
    fn check(&self) -> Result<(), &'static str> {
        spans(&self.needles)
    }
}

impl Bounded for StaysIn {
    fn check(&self) -> Result<(), &'static str> {
        spans(&self.needles)
    }
}

impl Bounded for StayEnded {
    fn check(&self) -> Result<(), &'static str> {
        spans(&self.needles)
    }
}

impl Bounded for TurnedUp {
    fn check(&self) -> Result<(), &'static str> {
        spans(&self.needles)?;
        if usize::from(self.loose) > MANY {
            return Err("loose: too many");
        }
        few(&self.fits, "fits: too many")?;
        short(Some(&self.words), LONG_TEXT, "words: too long")
    }
}

impl Bounded for Searched {
    fn check(&self) -> Result<(), &'static str> {
        few(&self.places, "places: too many")
    }
}

impl Bounded for Inside {
    fn check(&self) -> Result<(), &'static str> {
        few(&self.regions, "regions: too many")?;
        if self.regions.iter().any(|r| usize::from(r.seen) > MANY) {
            Err("seen: too many")
        } else {
            Ok(())
        }
    }
}

impl Bounded for Did {
    fn check(&self) -> Result<(), &'static str> {
        short(Some(&self.who), 200, "who: too long")?;
        short(Some(&self.from), 200, "from: too long")?;
        within_a_day(
            self.next.unwrap_or(Seconds(0)),
            "next: more than a day away",
        )
    }
}

impl Bounded for Incident {
    fn check(&self) -> Result<(), &'static str> {
        short(
            self.point.as_ref().map(|p| &p.code),
            40,
            "point: the code is too long",
        )?;
        short(Some(&self.words), LONG_TEXT, "words: too long")
    }
}

impl Bounded for Otherwise {
    fn check(&self) -> Result<(), &'static str> {
        short(
            self.point.as_ref().map(|p| &p.code),
            40,
            "point: the code is too long",
        )?;
        short(Some(&self.words), LONG_TEXT, "words: too long")?;
        if self
            .depth
            .is_some_and(|d| !(DEPTH_LEAST..=DEPTH_MOST).contains(&d.0))
        {
            return Err("depth: out of range");
        }
        let said = self.depth.is_some() || self.technique.is_some() || self.direction.is_some();
        if said || self.felt.is_some() || !self.words.is_empty() {
            Ok(())
        } else {
            Err("it says nothing")
        }
    }
}

impl Bounded for NotFound {
    fn check(&self) -> Result<(), &'static str> {
        spans(&self.needles)?;
        if usize::from(self.unplaced) > MANY {
            return Err("unplaced: too many");
        }
        short(Some(&self.words), LONG_TEXT, "words: too long")
    }
}

impl Bounded for Spoilt {}

impl Bounded for Strips {
    fn check(&self) -> Result<(), &'static str> {
        if usize::from(self.left) > MANY {
            Err("left: too many")
        } else {
            Ok(())
        }
    }
}

impl Bounded for Tray {
    fn check(&self) -> Result<(), &'static str> {
        if self.tens > 100 || self.over > 500 {
            Err("tray: too many")
        } else {
            Ok(())
        }
    }
}

impl Bounded for Swept {
    fn check(&self) -> Result<(), &'static str> {
        few(&self.areas, "areas: too many")
    }
}

impl Bounded for CreamOn {
    fn check(&self) -> Result<(), &'static str> {
        few(&self.regions, "regions: too many")?;
        short(self.product.as_ref(), 200, "product: too long")?;
        if self.earliest > self.latest {
            return Err("cream: the earliest time is after the latest");
        }
        within_a_day(
            self.latest,
            "cream: the latest time is more than a day away",
        )
    }
}

impl Bounded for CreamOff {}

impl Bounded for Stay {
    fn check(&self) -> Result<(), &'static str> {
        if self.length.0 < 60 {
            return Err("stay: shorter than a minute");
        }
        within_a_day(self.length, "stay: longer than a day")
    }
}

impl Bounded for Stopped {
    fn check(&self) -> Result<(), &'static str> {
        short(Some(&self.why), LONG_TEXT, "why: too long")
    }
}

impl Bounded for Note {
    fn check(&self) -> Result<(), &'static str> {
        short(Some(&self.text), LONG_TEXT, "note: too long")
    }
}

impl Bounded for Corrected {
    fn check(&self) -> Result<(), &'static str> {
        few(&self.targets, "targets: too many")?;
        short(self.why.as_ref(), LONG_TEXT, "why: too long")
    }
}

impl Bounded for Closed {
    fn check(&self) -> Result<(), &'static str> {
        short(self.words.as_ref(), LONG_TEXT, "words: too long")
    }
}
