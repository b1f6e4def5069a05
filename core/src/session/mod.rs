//! L4. One session as a fold of its facts: every needle by name, the sums, cream and clocks.
//!
//! The fold is total: whatever the facts are, it gives a state and a list of flaws. It is made anew
//! from the session's own facts at every change, so what is shown after a reload, a merge or a
//! correction cannot differ from what was shown before; a session has some hundred facts at most,
//! and the cost does not grow with history.

mod clock;
mod fold;
pub mod pace;
mod pass;
mod reconcile;
mod summary;

pub use clock::{Clock, ClockState, Due, Moment, Now, OVER, SOON, What};
pub use fold::Fact;
pub use pass::TwoTotals;
pub(crate) use reconcile::DEMANDS;
pub use reconcile::{OpenItem, Reconciled};
pub use summary::Summary;

/// Figures of the chair, from `data/chair.toml`.
pub mod figures {
    include!(concat!(env!("OUT_DIR"), "/chair.rs"));
}

use crate::atlas::{Area, Region};
use crate::base::flat;
use crate::base::id::{EntryId, NeedleId, Replica};
use crate::base::stamp::{Wall, When};
use crate::base::units::Seconds;
use crate::event::session::{
    Did, Doing, Incident, Mode, PlannedRegion, PointUse, SearchPlace, StayEnded, Tray, TurnedUp,
    Used,
};
use crate::journal::Entry;
use crate::needle::Size;
use alloc::string::String;
use alloc::vec::Vec;

/// Where a placed needle is now.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Fate {
    /// In the skin.
    In,
    /// Out and counted.
    Out,
    /// Taken out in a hurry, still to be counted.
    OutUncounted,
    /// In on purpose.
    StaysIn,
    /// Looked for and not found.
    NotFound,
    /// It left its place and nobody saw it: not accounted for until it is found or explained.
    Unseen,
    /// It stayed in on purpose and fell off unseen.
    FellOff,
}

/// One placed needle.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Needle {
    /// Where it went in.
    pub region: Region,
    /// Its size, if said.
    pub size: Option<Size>,
    /// Its point, if said.
    pub point: Option<PointUse>,
    /// When it went in, at the earliest.
    pub placed: Moment,
    /// How long it was meant to stay, if said when it was placed.
    pub stay: Option<Seconds>,
    /// Which line of the plan it belongs to, if any.
    pub of: Option<u16>,
    /// Where it is now.
    pub fate: Fate,
    /// The fact that says so, once it is no longer simply in.
    pub by: Option<EntryId>,
}

/// One application of cream.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cream {
    /// The fact that put it on.
    pub id: EntryId,
    /// Where.
    pub regions: Vec<Region>,
    /// When it went on, at the earliest.
    pub on: Moment,
    /// Earliest time to wipe it off.
    pub earliest: Seconds,
    /// Latest time to wipe it off.
    pub latest: Seconds,
    /// The product, if said.
    pub product: Option<String>,
    /// When it was wiped off.
    pub off: Option<Wall>,
}

/// The terms of the two sums. Each counts its own facts; none is worked out from the others:
/// `opened = placed + unused + spoilt + turned up + unaccounted` and
/// `placed = in + out + out, not yet counted + stays in + not found + unseen + fell off`.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Sum {
    /// Needles known to have been opened: those of every packet, and those that were seen although
    /// no packet that was entered explains them.
    pub opened: u32,
    /// Of those, the ones that no entered packet explains.
    pub packless: u32,
    /// Went in.
    pub placed: u32,
    /// In now.
    pub in_now: u32,
    /// Out and counted.
    pub out: u32,
    /// Out, not yet counted.
    pub out_uncounted: u32,
    /// In on purpose.
    pub stays_in: u32,
    /// Counted in the strips.
    pub unused: u32,
    /// Spoilt, never placed.
    pub spoilt: u32,
    /// Opened, and nobody has said what became of them.
    pub unaccounted: u32,
    /// Placed, looked for, not found.
    pub not_found: u32,
    /// Of the unaccounted, those signed as not found.
    pub unplaced_not_found: u32,
    /// Left their places unseen, and not yet found or explained.
    pub unseen: u32,
    /// Stayed in on purpose and fell off unseen.
    pub fell_off: u32,
    /// Turned up, and no placed needle explains them.
    pub turned_up: u32,
}

impl Sum {
    /// Not yet accounted for: of those opened and of those placed.
    #[must_use]
    pub fn open(&self) -> u32 {
        self.unaccounted.saturating_add(self.unseen)
    }
}

/// What is known of the needles of one size.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct SizeSum {
    /// What its packets held.
    pub opened: u32,
    /// Went in.
    pub placed: u32,
    /// Of those, in on purpose.
    pub stays_in: u32,
    /// Counted in the strips, if they were since they were last handled.
    pub unused: Option<u32>,
    /// Spoilt, never placed.
    pub spoilt: u32,
    /// Turned up.
    pub turned_up: u32,
}

/// Why the tray is to be counted blind.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum TrayWhy {
    /// All were taken out in a hurry.
    Emergency,
    /// Something was entered late, or a region was counted faster than a hand works.
    LateOrBlock,
    /// The person got up with needles in.
    GotUp,
    /// Something did not agree.
    Mismatch,
    /// The one visit in ten.
    OneInTen,
}

/// Something went wrong.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct IncidentLine {
    /// The fact.
    pub id: EntryId,
    /// When it was entered.
    pub at: Wall,
    /// When it happened.
    pub when: When,
    /// What.
    pub what: Incident,
}

/// Something was done beside needles and cream.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DidLine {
    /// The fact.
    pub id: EntryId,
    /// When it happened, at the earliest.
    pub at: Moment,
    /// What.
    pub what: Did,
}

/// The terms for one region.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct RegionSum {
    /// Went in.
    pub placed: u32,
    /// In now.
    pub in_now: u32,
    /// Out and counted.
    pub out: u32,
    /// Out, not yet counted.
    pub out_uncounted: u32,
    /// In on purpose.
    pub stays_in: u32,
    /// Looked for and not found.
    pub not_found: u32,
    /// Left their places unseen, and not yet found or explained.
    pub unseen: u32,
    /// Stayed in on purpose and fell off unseen.
    pub fell_off: u32,
}

/// What does not fit together in a session's facts. Named, never hidden; nothing is lost by it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum FlawKind {
    /// A kind of fact this build does not know.
    UnknownKind,
    /// A fact in a version this build does not know.
    NewerVersion,
    /// A fact whose body does not have its shape.
    Malformed,
    /// The person's key was destroyed.
    Erased,
    /// A needle was said to be out twice, or to be elsewhere after it was out. It counts once.
    DoubledOut,
    /// A fact names a needle that was never placed, or whose placing was corrected away.
    UnknownNeedle,
    /// A fact names a packet, cream or fact that is not there.
    UnknownTarget,
    /// A correction names a fact that comes after it.
    CorrectsTheFuture,
    /// More needles were seen than the entered packets held.
    MoreThanOpened,
    /// Needles were placed where cream was not yet recorded as wiped off.
    CreamedSkin,
    /// A needle was placed at a point that was left out today.
    BarredPoint,
    /// Needles were placed after a red flag had ended the placing.
    AfterStop,
    /// One round of taking out of a region was entered twice. Until one of the totals is chosen,
    /// the one with the fewest out stands.
    TwoTotals,
    /// By eye, another number of needles was seen in a region than is known to be in.
    SeenOtherwise,
    /// The count had added up, and a needle turned up afterwards that it had accounted for.
    FalseBalance,
}

/// One flaw and the entry it hangs on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Flaw {
    /// The entry.
    pub entry: EntryId,
    /// What is wrong.
    pub kind: FlawKind,
}

/// A note as it stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NoteLine {
    /// The fact.
    pub id: EntryId,
    /// When it was entered.
    pub at: Wall,
    /// The words.
    pub text: String,
    /// Where, if anywhere.
    pub region: Option<Region>,
}

/// What the facts of a session come to.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct State {
    /// The opening fact, once it is known; a merge may bring other facts first.
    pub opened: Option<EntryId>,
    /// When it was opened.
    pub opened_at: Option<Wall>,
    /// Minutes local time was ahead of UTC when it was opened.
    pub zone: i16,
    /// How it was opened.
    pub mode: Option<Mode>,
    /// Whose session it is, if known: the entry that first wrote the person down.
    pub person: Option<EntryId>,
    /// The plan it was opened from.
    pub plan: Vec<PlannedRegion>,
    /// A rehearsal.
    pub rehearsal: bool,
    /// Which procedure it was planned from, if that is known.
    pub procedure: Option<Used>,
    /// Every needle that was placed, in the order they went in.
    pub needles: flat::Map<NeedleId, Needle>,
    /// Every opened packet: its size, how many it held, its lot.
    pub packs: flat::Map<EntryId, PackLine>,
    /// Cream, in the order it went on.
    pub creams: Vec<Cream>,
    /// Stays that were changed, region by region.
    pub stays: flat::Map<Region, Seconds>,
    /// Strip counts that still stand, by size.
    pub strips: flat::Map<Option<Size>, u16>,
    /// The tray count that still stands.
    pub tray: Option<Tray>,
    /// Areas swept since the last needle came out of them.
    pub swept: flat::Set<Area>,
    /// When and why placing was ended by a red flag, if it was.
    pub stopped: Option<(Wall, String)>,
    /// Notes.
    pub notes: Vec<NoteLine>,
    /// Signatures for what was not found.
    pub signed: Vec<String>,
    /// The sums.
    pub sum: Sum,
    /// The same, region by region.
    pub regions: flat::Map<Region, RegionSum>,
    /// The closing fact, while it still holds.
    pub closed: Option<EntryId>,
    /// It was closed, and something came after that opened the count again.
    pub reopened: bool,
    /// It holds facts that a newer build wrote: it may be added to, but not corrected or closed here.
    pub read_only: bool,
    /// Some of its facts are damaged, or were erased: the sums are worked out without them. It is closed
    /// over written words.
    pub damaged: bool,
    /// Its facts, or some of them, were erased with the key of whose it was.
    pub erased: bool,
    /// What does not fit together.
    pub flaws: Vec<Flaw>,
    /// The sums by size of needle.
    pub sizes: flat::Map<Option<Size>, SizeSum>,
    /// Rounds of taking out that were entered twice.
    pub two_totals: Vec<TwoTotals>,
    /// Region by region, how many totals were given so far: the number of the next round.
    pub passes: flat::Map<Region, u16>,
    /// Regions to be counted by eye: somebody got up, or another took over.
    pub recount: flat::Set<Region>,
    /// Places looked through since a needle was last missed.
    pub searched: flat::Set<SearchPlace>,
    /// Why the tray is to be counted blind; empty if nothing asks for it.
    pub tray_asked: Vec<TrayWhy>,
    /// Used needles that should lie in the tray: out, spoilt and turned up.
    pub in_tray: u32,
    /// Needles go straight to the sharps box: no tray is counted here, and the record says so.
    pub straight_to_box: bool,
    /// What went wrong, in the order it was entered.
    pub incidents: Vec<IncidentLine>,
    /// What was done beside needles and cream, in the order it was entered.
    pub did: Vec<DidLine>,
    /// Since when the person waits.
    pub waits: Option<Moment>,
    /// Facts that left needles in on purpose: since when, and how long they may stay.
    pub left_in: flat::Map<EntryId, (Wall, Option<Seconds>)>,
    /// Needles that turned up.
    pub turned_up: Vec<(EntryId, Wall, TurnedUp)>,
    /// Stays on purpose that ended.
    pub stays_ended: Vec<(EntryId, Wall, StayEnded)>,
    /// How many turned up, after the count had added up, that it had accounted for.
    pub false_balance: u32,
    /// Facts that were entered late.
    pub late: flat::Set<EntryId>,
    /// Region totals that came faster than a hand works. They teach no speed.
    pub blocks: flat::Set<EntryId>,
    /// When the hands were last heard of: the latest fact about needles, packets or cream.
    pub hands: Option<Moment>,
    /// Where the present run of fast region totals began.
    pub run_from: Option<Moment>,
    /// How many facts about needles, packets and cream stand.
    pub physical: u32,
    /// The latest wall time any of its entries was stamped with.
    pub latest: Option<Wall>,
    runs: flat::Map<Replica, clock::Run>,
}

/// One opened packet.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PackLine {
    /// Size, if said.
    pub size: Option<Size>,
    /// What it held: its label, or what a fault said.
    pub held: u16,
    /// What its label says.
    pub label: u16,
    /// Its lot, if said.
    pub lot: Option<String>,
}

impl State {
    /// Whether this is the one visit in ten whose tray is counted although nothing asks for it. It
    /// follows from the session's name alone, so it stands before anything is counted.
    #[must_use]
    pub fn one_in_ten(&self) -> bool {
        self.opened.is_some_and(|id| {
            let name = id.replica.0;
            let low = u64::try_from(name & u128::from(u64::MAX)).unwrap_or(0);
            let high = u64::try_from(name >> 64).unwrap_or(0);
            // The name is random; it is stirred so that a counter alone changes the choice too.
            let mut x = low ^ high.rotate_left(32) ^ id.counter.wrapping_mul(0x9e37_79b9_7f4a_7c15);
            x = (x ^ (x >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
            x = (x ^ (x >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
            x ^= x >> 31;
            x.checked_rem(u64::from(figures::TRAY_ONE_IN)) == Some(0)
        })
    }

    /// Those of a planned line's points at which no needle of that line went in yet.
    #[must_use]
    pub fn unplaced(&self, line: u16, points: &[PointUse]) -> Vec<PointUse> {
        let mut left = points.to_vec();
        for needle in self.needles.values().filter(|n| n.of == Some(line)) {
            let named = |p: &PointUse| needle.point.as_ref() == Some(p);
            if let Some(at) = left.iter().position(named) {
                left.remove(at);
            }
        }
        left
    }

    /// The latest time this was done, if it was.
    #[must_use]
    pub fn done(&self, what: Doing) -> Option<Wall> {
        let line = self.did.iter().rev().find(|line| line.what.what == what);
        line.map(|line| line.at.wall)
    }

    /// Who looks in: whoever did so last. Empty if nobody was named.
    #[must_use]
    pub fn looks_in(&self) -> &str {
        let mut lines = self.did.iter().rev();
        let last = lines.find(|line| line.what.what == Doing::LookedIn);
        last.map_or("", |line| &line.what.who)
    }

    /// Milliseconds between the last act of the hands and a stamp.
    #[must_use]
    pub fn since_hands(&self, run: Replica, wall: Wall, mono: i64) -> Option<i64> {
        let last = self.hands?;
        Some(if last.run == run {
            mono.saturating_sub(last.mono)
        } else {
            wall.since(last.wall)
        })
    }

    /// Whether so many needles could not have been taken out in that time by one hand: see
    /// [`figures::HAND_PACE`].
    #[must_use]
    pub fn too_fast(n: u32, millis: i64) -> bool {
        millis < i64::from(n.saturating_mul(figures::HAND_PACE))
    }
}

/// A session: its facts, and what they come to.
#[derive(Clone, Debug, Default)]
pub struct Session {
    facts: flat::Map<EntryId, Fact>,
    state: State,
}

impl Session {
    /// Folds the entries of one session's stream.
    #[must_use]
    pub fn fold<'a>(entries: impl Iterator<Item = &'a Entry>) -> Self {
        let mut session = Self::default();
        for entry in entries {
            session.facts.insert(entry.id, Fact::read(entry));
        }
        session.state = fold::state(&session.facts);
        session
    }

    /// Adds entries and folds again.
    pub fn add<'a>(&mut self, entries: impl Iterator<Item = &'a Entry>) {
        for entry in entries {
            self.facts.insert(entry.id, Fact::read(entry));
        }
        self.state = fold::state(&self.facts);
    }

    /// What the facts come to.
    #[must_use]
    pub fn state(&self) -> &State {
        &self.state
    }

    /// The facts of the latest act that still stands and can be taken back, newest first.
    #[must_use]
    pub fn last_act(&self) -> Vec<EntryId> {
        fold::last_act(&self.facts)
    }

    /// Every fact with whether it still stands, in order. For the record and the audit.
    pub fn facts(&self) -> impl Iterator<Item = (EntryId, &Fact, bool)> {
        let gone = fold::corrected(&self.facts);
        self.facts
            .iter()
            .map(move |(&id, fact)| (id, fact, !gone.contains(&id)))
    }
}
