//! L1. Procedures: which points, in which order, with which needle, for how long. Ours are of our own
//! composition and say so; no trial has tested them. A practice composes its own ([`compose`]).

pub mod check;
pub mod compose;

pub use check::{Field, Slip, Wrong};
pub use compose::Composition;

use crate::atlas::{Area, Atlas, Reach, Side};
use crate::base::body::{Body, Reader, Writer};
use crate::base::cite::Mark;
use crate::base::data::{BadData, read};
use crate::base::pack::Pack;
use crate::base::units::Seconds;
use crate::needle::Kind;
use alloc::string::String;
use alloc::vec::Vec;
use serde::{Deserialize, Serialize};

/// Whom a procedure is for.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, Pack, Body,
)]
#[serde(rename_all = "snake_case")]
pub enum Visit {
    /// Somebody never needled on the face before.
    First,
    /// Somebody who has been.
    Return,
    /// Either.
    Any,
}

/// A part of a procedure, in the order parts are placed.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, Pack, Body,
)]
#[serde(rename_all = "snake_case")]
pub enum ModuleName {
    /// Hands and arms: first, for comfort (common practice).
    HandsArms,
    /// Legs and feet.
    LegsFeet,
    /// Under the hair.
    Scalp,
    /// The ear.
    Ear,
    /// Hairline to brow.
    Forehead,
    /// Brow, temple corner and orbital rim.
    EyeRim,
    /// Cheek and side of the nose.
    Cheek,
    /// Lips, chin and jaw.
    MouthJaw,
    /// The neck.
    Neck,
    /// Tiny needles lying in the skin, in whichever area: last.
    Intradermals,
}

impl ModuleName {
    /// The part that a needle belongs to, by where it is and what sort it is; none for the trunk.
    #[must_use]
    pub const fn of(area: Area, kind: Kind) -> Option<Self> {
        Some(match (kind, area) {
            (Kind::Intradermal, _) => Self::Intradermals,
            (_, Area::HandsArms) => Self::HandsArms,
            (_, Area::LegsFeet) => Self::LegsFeet,
            (_, Area::Trunk) => return None,
            (_, Area::Scalp) => Self::Scalp,
            (_, Area::Ear) => Self::Ear,
            (_, Area::Forehead) => Self::Forehead,
            (_, Area::EyeRim) => Self::EyeRim,
            (_, Area::Cheek) => Self::Cheek,
            (_, Area::MouthJaw) => Self::MouthJaw,
            (_, Area::Neck) => Self::Neck,
        })
    }

    /// The area all its points lie in; none for intradermals, which lie where their points do.
    #[must_use]
    pub const fn area(self) -> Option<Area> {
        Some(match self {
            Self::HandsArms => Area::HandsArms,
            Self::LegsFeet => Area::LegsFeet,
            Self::Scalp => Area::Scalp,
            Self::Ear => Area::Ear,
            Self::Forehead => Area::Forehead,
            Self::EyeRim => Area::EyeRim,
            Self::Cheek => Area::Cheek,
            Self::MouthJaw => Area::MouthJaw,
            Self::Neck => Area::Neck,
            Self::Intradermals => return None,
        })
    }
}

/// How a needle goes in, in the trade's words.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, Pack, Body,
)]
#[serde(rename_all = "snake_case")]
pub enum How {
    /// Straight in.
    Perpendicular,
    /// At about half a right angle.
    Oblique,
    /// Along the skin.
    Transverse,
    /// Pressed in under its plaster.
    Pressed,
}

/// Which way the tip points.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, Pack, Body,
)]
#[serde(rename_all = "snake_case")]
pub enum Direction {
    /// No slant.
    None,
    /// Toward the back of the head.
    Backward,
    /// Toward the crown.
    Upward,
    /// Toward the feet.
    Downward,
    /// Toward the midline.
    Medial,
    /// Away from the midline.
    Lateral,
}

/// What the needle is to feel like.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, Pack, Body,
)]
#[serde(rename_all = "snake_case")]
pub enum Sought {
    /// Nothing is sought.
    None,
    /// A mild, dull feeling.
    Mild,
    /// De qi.
    DeQi,
}

/// The needle of a module.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, Pack)]
pub struct SizeChoice {
    /// Stable name of the size.
    pub id: String,
    /// How well the choice is supported.
    pub mark: Mark,
}

/// Technique and direction of a module.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize, Pack)]
pub struct Technique {
    /// How it goes in.
    pub how: How,
    /// Which way.
    pub direction: Direction,
    /// How well the choice is supported.
    pub mark: Mark,
}

/// Sensation of a module.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize, Pack)]
pub struct Sensation {
    /// What is sought.
    pub sought: Sought,
    /// How well the choice is supported.
    pub mark: Mark,
}

/// How long a needle stays.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize, Pack)]
pub struct Stay {
    /// Not out before.
    pub least: Seconds,
    /// Not in after.
    pub most: Seconds,
    /// How well the window is supported.
    pub mark: Mark,
}

/// How long the hands are busy with one needle: a planning figure.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize, Pack)]
pub struct Hands {
    /// To place one.
    pub place: Seconds,
    /// To take one out.
    pub remove: Seconds,
    /// How well the figures are supported: none were found published.
    pub mark: Mark,
}

/// Seconds of any number: one that cannot be is the greatest there is, which no bound lets through,
/// so that the bound is what a person reads.
fn any_seconds(from: &mut Reader<'_>) -> Seconds {
    Seconds(u32::try_from(i64::read(from)).unwrap_or(u32::MAX))
}

/// The figures of a part with their mark, as a practice's own procedures hold them: `own` where no mark
/// is given, which no data file of Pinfold's may leave out.
macro_rules! figures {
    ($($name:ident { $($field:ident: $read:path),* })*) => {$(
        impl Body for $name {
            fn write(&self, out: &mut Writer) {
                $(self.$field.write(out);)*
                self.mark.write(out);
                out.object(concat!($(stringify!($field), " ",)* "mark"));
            }
            fn read(from: &mut Reader<'_>) -> Self {
                from.object(concat!($(stringify!($field), " ",)* "mark?"));
                Self {
                    $($field: $read(from),)*
                    mark: if from.missing() { Mark::Own } else { Mark::read(from) },
                }
            }
        }
    )*};
}
figures! {
    SizeChoice { id: String::read }
    Technique { how: How::read, direction: Direction::read }
    Sensation { sought: Sought::read }
    Stay { least: any_seconds, most: any_seconds }
    Hands { place: any_seconds, remove: any_seconds }
}

/// One point of a procedure.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, Pack, Body)]
#[serde(deny_unknown_fields)]
pub struct Step {
    /// The point's code.
    pub point: String,
    /// The patient's side; both is a pair, two needles.
    pub side: Side,
    /// 1 the heart of the procedure, 2 usual, 3 the first to go.
    pub keep: u8,
    /// Another needle than the module's.
    #[serde(default)]
    pub size: Option<String>,
    /// Another technique than the module's.
    #[serde(default)]
    pub how: Option<How>,
    /// Another direction than the module's.
    #[serde(default)]
    pub direction: Option<Direction>,
    /// Stays in on purpose when the person goes home.
    #[serde(default)]
    pub worn_home: bool,
}

/// Points placed one after the other with the same needle and stay.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, Pack, Body)]
#[serde(deny_unknown_fields)]
pub struct Module {
    /// Which part.
    pub module: ModuleName,
    /// Whether right and left are placed, timed and counted apart.
    #[serde(default)]
    pub apart: bool,
    /// The needle.
    pub size: SizeChoice,
    /// How it goes in.
    pub technique: Technique,
    /// What is sought.
    pub sensation: Sensation,
    /// How long it stays.
    pub stay: Stay,
    /// How long the hands are busy.
    pub seconds: Hands,
    /// The points, in order.
    pub steps: Vec<Step>,
}

/// A whole procedure.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, Pack)]
pub struct Procedure {
    /// Stable name in files.
    pub id: String,
    /// What a person reads.
    pub name: String,
    /// How many needles it has when nothing is left out.
    pub needles: u16,
    /// Whom it is for.
    pub visit: Visit,
    /// One or two sentences.
    pub about: String,
    /// What is known about its effect, said plainly.
    pub evidence: String,
    /// How well that sentence is supported.
    pub evidence_mark: Mark,
    /// Whose composition.
    pub source: String,
    /// The mark of the composition itself.
    pub mark: Mark,
    /// The parts, in placing order.
    pub modules: Vec<Module>,
}

impl Procedure {
    /// The same with other points in the place of some: which, and what goes in instead. Each keeps its
    /// needle, stay and place in the order. One that no atlas has, or that is not counted in the same
    /// area, or is there already, is not put in.
    #[must_use]
    pub fn with(&self, atlas: &Atlas, instead: &[(String, String)]) -> Self {
        let mut other = self.clone();
        for (gone, put) in instead {
            let (Some(from), Some(to)) = (atlas.get(gone), atlas.get(put)) else {
                continue;
            };
            let there = other.uses().any(|(code, ..)| code == to.code);
            if there || from.area != to.area {
                continue;
            }
            let steps = other
                .modules
                .iter_mut()
                .flat_map(|module| &mut module.steps);
            for step in steps.filter(|step| step.point == from.code) {
                step.point = to.code.clone();
                if to.reach.needles(step.side) == 0 {
                    step.side = match to.reach {
                        Reach::Pair => Side::Both,
                        Reach::Midline | Reach::Four => Side::Centre,
                    };
                }
            }
        }
        other
    }

    /// Every point it uses, with the side it is used on and the size of its needle, in order: what
    /// screening wants to know of a plan.
    pub fn uses(&self) -> impl Iterator<Item = (&str, Side, &str)> {
        self.modules.iter().flat_map(|module| {
            module.steps.iter().map(|step| {
                let size = step.size.as_deref().unwrap_or(&module.size.id);
                (step.point.as_str(), step.side, size)
            })
        })
    }
}

/// What a session teaches about the practitioner's own hands, and what it does not: all policy. How
/// fast needles can be taken out is a figure of the chair (`session::figures::HAND_PACE`).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, Pack)]
pub struct Learning {
    /// One needle placed in fewer seconds was entered afterwards.
    pub fastest_place: Seconds,
    /// With more seconds for one needle, something else was done in between.
    pub slowest: Seconds,
    /// A gap between two presses longer than this is an interruption.
    pub interruption: Seconds,
    /// Where most needles came out sooner, the session was written down afterwards.
    pub written_after: Seconds,
    /// How many closed sessions are looked at, the latest.
    pub sessions: u16,
    /// From how many presses on a figure is used.
    pub observations: u16,
    /// How well these figures are supported.
    pub mark: Mark,
}

impl Learning {
    /// The figures inside the program.
    ///
    /// # Errors
    /// [`BadData`] if the program is damaged.
    pub fn load() -> Result<Self, BadData> {
        read(
            "learning",
            include_str!(concat!(env!("OUT_DIR"), "/learning.json")),
        )
    }
}

/// The procedures inside the program, in the order of the data file.
///
/// # Errors
/// [`BadData`] if the program is damaged.
pub fn procedures() -> Result<Vec<Procedure>, BadData> {
    read(
        "procedures",
        include_str!(concat!(env!("OUT_DIR"), "/procedures.json")),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn modules_come_in_order_and_hold_points() {
        for procedure in procedures().unwrap() {
            let order: Vec<_> = procedure.modules.iter().map(|m| m.module).collect();
            assert!(order.is_sorted_by(|a, b| a < b), "{}", procedure.id);
            for module in &procedure.modules {
                assert!(!module.steps.is_empty());
                assert!(module.stay.least <= module.stay.most);
            }
        }
    }
}
