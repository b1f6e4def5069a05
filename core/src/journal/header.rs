//! The first line of a file: what it holds, when it was taken out, how many lines follow. A file of
//! an older build says only that it is a journal; it is then taken to be all of one.

use super::Sum;
use crate::base::body::{self, Body};
use crate::base::id::EntryId;
use crate::base::stamp::Wall;
use alloc::string::String;

/// What part of a journal a file holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(rename_all = "snake_case")]
pub enum Scope {
    /// All of it.
    #[default]
    Whole,
    /// What came after an earlier copy: the two together are all of it.
    Since,
    /// One person, and what is needed to read their record.
    Person,
    /// Procedures of the practice's own.
    Procedures,
}

/// The lines that a copy covers, with those before it: all whose id comes before `before`, and every
/// line that is no entry.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(deny_unknown_fields)]
pub struct Covered {
    /// The first id that was still free.
    pub before: EntryId,
    /// How many lines.
    pub entries: u32,
    /// Their sum.
    pub sum: Sum,
}

/// Of a copy that is more than one file: which of them this is. Each can be brought in by itself, in any
/// order.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(deny_unknown_fields)]
pub struct Piece {
    /// 1 for the first.
    pub number: u32,
    /// In the last: what all of them cover. Nothing while more follow.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub all: Option<Covered>,
}

/// The first line of a file. Unknown fields are let pass, so that an older build reads on.
#[derive(Clone, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
pub struct Header {
    /// `journal`.
    pub pinfold: String,
    /// 1. A reader that finds a greater one says that a newer build is needed.
    pub format: u32,
    /// What it holds; see [`Header::scope`].
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub scope: Option<Scope>,
    /// When it was taken out, by the phone's wall clock.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at: Option<Wall>,
    /// How many lines follow.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub entries: Option<u32>,
    /// For one person: who.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub person: Option<EntryId>,
    /// For what came after an earlier copy: what that one covered.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub since: Option<Covered>,
    /// Of a copy that is more than one file: which of them this is.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub piece: Option<Piece>,
}

impl Header {
    /// A header of this build.
    #[must_use]
    pub fn new(scope: Scope) -> Self {
        Self {
            pinfold: "journal".into(),
            format: 1,
            scope: Some(scope),
            at: None,
            entries: None,
            person: None,
            since: None,
            piece: None,
        }
    }

    /// What it holds. A file that does not say holds all of a journal.
    #[must_use]
    pub fn scope(&self) -> Scope {
        self.scope.unwrap_or_default()
    }

    /// As a line, without the line's end.
    #[must_use]
    pub fn to_line(&self) -> String {
        body::write(self)
    }

    /// Reads a line, if it is a journal's header of any format.
    #[must_use]
    pub fn of_line(line: &str) -> Option<Self> {
        #[derive(Body)]
        struct Least {
            pinfold: String,
            format: u32,
        }
        // Most lines are none, so it is not tried in vain.
        if !line.contains("\"pinfold\"") {
            return None;
        }
        let least = body::read_any::<Least>(line).ok();
        let least = least.filter(|least| least.pinfold == "journal")?;
        let plain = Self {
            format: least.format,
            ..Self::new(Scope::Whole)
        };
        // What a newer build says beside it in a way of its own does not hide that it is newer.
        Some(match body::read_any::<Self>(line) {
            Err(_) if least.format > 1 => plain,
            Ok(read) => read,
            Err(_) => return None,
        })
    }
}
