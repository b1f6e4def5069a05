//! What follows from a rule: the outcome, what the plan must keep to, and the words.

use crate::base::body::Body;
use crate::base::pack::Pack;
use alloc::string::String;
use alloc::vec::Vec;
use serde::{Deserialize, Serialize};

/// What a finding means for the visit. Ordered by precedence, weakest first; omissions, no cream
/// and no current weigh the same (see [`Outcome::level`]).
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, Pack, Body,
)]
#[serde(rename_all = "snake_case")]
pub enum Outcome {
    /// Keep in the record; nothing changes.
    Record,
    /// Cap the plan.
    Limit,
    /// No current.
    NoElectro,
    /// No numbing cream.
    NoTopical,
    /// Leave points or regions out.
    Omit,
    /// Advise a named kind of clinician.
    Refer,
    /// A further answer or paper is needed before a verdict.
    Ask,
    /// No needling today.
    Stop,
    /// Call the emergency number now.
    Emergency,
}

/// How soon somebody is to be seen.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, Pack, Body,
)]
#[serde(rename_all = "snake_case")]
pub enum Urgency {
    /// When convenient.
    Routine,
    /// Soon.
    Soon,
    /// Within two weeks.
    TwoWeeks,
    /// As soon as can be had.
    Urgent,
    /// The same day.
    SameDay,
}

/// What a plan must keep to. Figures are positions of settings.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, Pack,
)]
#[serde(rename_all = "snake_case")]
pub enum Limit {
    /// Lying down, not sitting.
    Lying,
    /// Little stimulation.
    Gentle,
    /// Shallow insertion.
    Superficial,
    /// The thinnest needles that serve.
    Thin,
    /// Press each place after taking the needle out.
    PressAfter,
    /// Somebody stays in the room.
    NeverAlone,
    /// One needle first, and see.
    TestOne,
    /// Say beforehand that bruises are likely.
    WarnBruise,
    /// Say beforehand that marks may stay.
    WarnMarks,
    /// Measure again.
    Recheck,
    /// Slanting, along the skin.
    Oblique,
    /// Clean the skin with extra care.
    CleanStrictly,
    /// No cream on the places named.
    CreamClear,
    /// At most so many needles.
    Needles(u16),
    /// At most so many millimetres deep.
    DepthMm(u16),
    /// Needles stay at most so many minutes.
    Minutes(u16),
    /// Cream stays at most so many minutes.
    CreamMinutes(u16),
}

/// Words with holes for figures.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, Pack)]
#[serde(transparent)]
pub struct Words(pub Vec<Piece>);

/// A piece of [`Words`].
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, Pack)]
pub enum Piece {
    /// As it stands.
    #[serde(rename = "t")]
    Text(String),
    /// The figure of a setting.
    #[serde(rename = "s")]
    Setting(u16),
    /// The number answered to a question.
    #[serde(rename = "q")]
    Answer(u16),
    /// Days since the date answered to a question.
    #[serde(rename = "d")]
    Days(u16),
    /// A setting less the number answered to a question.
    #[serde(rename = "left")]
    Left(u16, u16),
    /// A setting less the days since the date answered to a question.
    #[serde(rename = "left_days")]
    LeftDays(u16, u16),
}

impl Outcome {
    /// Weight of the outcome: 6 emergency, 5 stop, 4 ask, 3 refer, 2 omit, no cream and no
    /// current, 1 limit, 0 record. The heaviest of a visit is its verdict.
    #[must_use]
    pub const fn level(self) -> u8 {
        match self {
            Self::Record => 0,
            Self::Limit => 1,
            Self::NoElectro | Self::NoTopical | Self::Omit => 2,
            Self::Refer => 3,
            Self::Ask => 4,
            Self::Stop => 5,
            Self::Emergency => 6,
        }
    }

    /// The stable name in files.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Record => "record",
            Self::Limit => "limit",
            Self::NoElectro => "no_electro",
            Self::NoTopical => "no_topical",
            Self::Omit => "omit",
            Self::Refer => "refer",
            Self::Ask => "ask",
            Self::Stop => "stop",
            Self::Emergency => "emergency",
        }
    }
}
