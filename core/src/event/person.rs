//! What is known of a person between sessions: who they are, what they answered, what they agreed
//! to, what was looked at, planned and booked.

use super::session::PointUse;
use super::{Bounded, Count, LONG_TEXT, MANY};
use crate::base::body::Body;
use crate::base::date::Date;
use crate::base::id::EntryId;
use crate::base::stamp::Wall;
use crate::base::units::Micrometres;
use crate::intake::Reply;
use alloc::string::String;
use alloc::vec::Vec;

/// Who the person is, as told. The latest stands; the first begins the person's stream.
#[derive(Clone, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(deny_unknown_fields)]
pub struct Named {
    /// The name they go by. 1 to 200 bytes.
    pub name: String,
    /// Birth date, if told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub birth_date: Option<Date>,
    /// How to reach them, if told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub contact: Option<String>,
    /// What they came for, in their words.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub came_for: Option<String>,
}

/// How an answer came in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(rename_all = "snake_case")]
pub enum Told {
    /// Asked by the practitioner.
    #[default]
    Asked,
    /// Entered from the paper sheet.
    Paper,
    /// Pressed by the patient on this phone.
    Patient,
}

#[cfg(test)]
impl Told {
    #[expect(
        clippy::trivially_copy_pass_by_ref,
        reason = "serde passes a reference"
    )]
    fn is_asked(&self) -> bool {
        *self == Self::Asked
    }
}

/// One question was answered, or honestly not.
#[derive(Clone, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(deny_unknown_fields)]
pub struct Answered {
    /// The question's stable id.
    pub question: String,
    /// What was said.
    pub reply: Reply,
    /// The day it was said.
    pub date: Date,
    /// How it came in.
    #[serde(default, skip_serializing_if = "Told::is_asked")]
    pub told: Told,
}

/// The practitioner goes past a finding that allows it, with a written reason.
#[derive(Clone, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(deny_unknown_fields)]
pub struct Overrode {
    /// The rule, with its part if it has one.
    pub rule: String,
    /// Why, in the practitioner's words.
    pub reason: String,
    /// The day it holds for.
    pub date: Date,
    /// Only these points are let stay, such as those clear of a lesion; empty is all of them.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub points: Vec<PointUse>,
}

/// What the person agreed to before needles, and that they are who the plan is for.
#[derive(Clone, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(deny_unknown_fields)]
pub struct Consented {
    /// The day.
    pub date: Date,
    /// Needles.
    pub needles: bool,
    /// Numbing cream.
    pub cream: bool,
    /// Needles that stay in on purpose.
    pub stays_in: bool,
    /// Pictures.
    pub pictures: bool,
    /// Name and birth date were read back and were right.
    pub read_back: bool,
}

/// What was seen and felt before planning.
#[derive(Clone, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(deny_unknown_fields)]
pub struct Looked {
    /// The day.
    pub date: Date,
    /// In words.
    pub text: String,
    /// Scores from 0 to 10, by what they are about.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub scores: Vec<(String, u8)>,
}

/// Which procedure is planned for a day, with its options.
#[derive(Clone, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(deny_unknown_fields)]
pub struct Chose {
    /// The day.
    pub date: Date,
    /// The procedure's id.
    pub procedure: String,
    /// Numbing cream, if any.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cream: Option<ChosenCream>,
    /// Current through needles is wanted.
    #[serde(default, skip_serializing_if = "core::ops::Not::not")]
    pub electro: bool,
    /// No more needles than this, chosen to fit the time.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub most: Option<Count>,
    /// Points put in the place of others, by the practitioner's choice: which, and what goes in instead.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub instead: Vec<(String, String)>,
}

/// Lengths were measured on the person, for the proportional units. The latest of each length stands;
/// they are used visit after visit.
#[derive(Clone, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(deny_unknown_fields)]
pub struct Measured {
    /// The day.
    pub date: Date,
    /// Each length by its segment's id, or `finger` for the person's own finger unit; 0 takes it back.
    pub lengths: Vec<(String, Micrometres)>,
}

/// The cream that is planned.
#[derive(Clone, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(deny_unknown_fields)]
pub struct ChosenCream {
    /// The product's id.
    pub product: String,
    /// Milligrams of cream.
    pub milligrams: u32,
    /// Square centimetres.
    pub area_cm2: u32,
    /// Minutes on the skin.
    pub minutes: u32,
}

/// A visit was booked.
#[derive(Clone, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(deny_unknown_fields)]
pub struct Booked {
    /// When.
    pub at: Wall,
    /// How long, in minutes. 5 to 600.
    pub minutes: u16,
}

/// A session was written up.
#[derive(Clone, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(deny_unknown_fields)]
pub struct Wrote {
    /// The session.
    pub session: EntryId,
    /// Marks seen afterwards: bruise, blood, redness.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub marks: String,
    /// How the person felt, during and after.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub felt: String,
    /// What was done otherwise than planned, and why.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub otherwise: String,
    /// What was told to take home.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub told: String,
    /// Nothing is missing from it any more.
    pub done: bool,
}

/// What a person calls with after a visit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(rename_all = "snake_case")]
#[expect(missing_docs, reason = "each is what it names")]
pub enum CallKind {
    Bruise,
    Headache,
    Chest,
    Eye,
    Other,
}

/// A person called with something after a visit. The time stands in the envelope.
#[derive(Clone, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(deny_unknown_fields)]
pub struct Called {
    /// With what.
    pub about: CallKind,
    /// The visit it is about, if one is.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub session: Option<EntryId>,
    /// What they told.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub words: String,
    /// What they were told.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub told: String,
}

fn id(text: &str) -> Result<(), &'static str> {
    if text.is_empty() || text.len() > 80 {
        Err("id: empty or too long")
    } else {
        Ok(())
    }
}

fn text(text: &str) -> Result<(), &'static str> {
    if text.len() > LONG_TEXT {
        Err("text: too long")
    } else {
        Ok(())
    }
}

impl Bounded for Named {
    fn check(&self) -> Result<(), &'static str> {
        if self.name.trim().is_empty() || self.name.len() > 200 {
            return Err("name: empty, or longer than 200 letters");
        }
        if self.contact.as_ref().is_some_and(|c| c.len() > 400) {
            return Err("contact: too long");
        }
        self.came_for.as_deref().map_or(Ok(()), text)
    }
}

impl Bounded for Answered {
    fn check(&self) -> Result<(), &'static str> {
        id(&self.question)
    }
}

impl Bounded for Overrode {
    fn check(&self) -> Result<(), &'static str> {
        id(&self.rule)?;
        if self.reason.trim().chars().count() < 8 {
            return Err("reason: write at least a few words");
        }
        if self.points.len() > MANY {
            return Err("points: too many");
        }
        text(&self.reason)
    }
}

impl Bounded for Consented {}

impl Bounded for Looked {
    fn check(&self) -> Result<(), &'static str> {
        if self.scores.len() > MANY
            || self
                .scores
                .iter()
                .any(|(what, n)| *n > 10 || what.len() > 80)
        {
            return Err("scores: from 0 to 10");
        }
        text(&self.text)
    }
}

impl Bounded for Chose {
    fn check(&self) -> Result<(), &'static str> {
        id(&self.procedure)?;
        if self.instead.len() > MANY {
            return Err("instead: too many");
        }
        for (gone, put) in &self.instead {
            id(gone)?;
            id(put)?;
        }
        self.cream.as_ref().map_or(Ok(()), |c| id(&c.product))
    }
}

impl Bounded for Measured {
    fn check(&self) -> Result<(), &'static str> {
        if self.lengths.is_empty() || self.lengths.len() > MANY {
            return Err("lengths: none or too many");
        }
        // 3 m: longer than any body. Which lengths are plausible is asked before this is written.
        if self.lengths.iter().any(|(_, um)| um.0 > 3_000_000) {
            return Err("lengths: longer than any body");
        }
        self.lengths.iter().try_for_each(|(name, _)| id(name))
    }
}

impl Bounded for Booked {
    fn check(&self) -> Result<(), &'static str> {
        if (5..=600).contains(&self.minutes) {
            Ok(())
        } else {
            Err("minutes: 5 to 600")
        }
    }
}

impl Bounded for Called {
    fn check(&self) -> Result<(), &'static str> {
        text(&self.words)?;
        text(&self.told)
    }
}

impl Bounded for Wrote {
    fn check(&self) -> Result<(), &'static str> {
        [&self.marks, &self.felt, &self.otherwise, &self.told]
            .into_iter()
            .try_for_each(|t| text(t))
    }
}
