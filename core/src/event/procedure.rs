//! Procedures of the practice's own: composed, and taken off the list.

use super::Bounded;
pub use super::body::Json;
use crate::procedure::compose::OWN;
use alloc::string::String;
use serde::{Deserialize, Serialize};

/// The longest a procedure may be, in bytes: 300 points with everything said of each.
pub const MOST_PROCEDURE: usize = 64_000;

/// A procedure was composed, or composed anew. The latest stands; a session keeps which it was
/// planned from.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Composed {
    /// Its stable name, the same in every version.
    pub id: String,
    /// The whole procedure, as `practice::composed` writes it. Only whoever plans or lists procedures
    /// looks into it, so that the chair need not carry its reader.
    pub procedure: Json,
}

/// A procedure was taken off the list, or put back. Nothing of it is lost.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Retired {
    /// Its stable name; a built-in one's too.
    pub id: String,
    /// Back on the list.
    #[serde(default, skip_serializing_if = "core::ops::Not::not")]
    pub back: bool,
}

fn id(text: &str) -> Result<(), &'static str> {
    if text.is_empty() || text.len() > 80 {
        Err("procedure: id empty or too long")
    } else {
        Ok(())
    }
}

impl Bounded for Composed {
    fn check(&self) -> Result<(), &'static str> {
        id(&self.id)?;
        if !self.id.starts_with(OWN) {
            return Err("procedure: the name of one of Pinfold's");
        }
        if self.procedure.text().len() > MOST_PROCEDURE {
            Err("procedure: too long")
        } else {
            Ok(())
        }
    }
}

impl Bounded for Retired {
    fn check(&self) -> Result<(), &'static str> {
        id(&self.id)
    }
}
