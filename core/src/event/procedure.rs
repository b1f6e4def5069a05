//! Procedures of the practice's own: composed, and taken off the list.

use super::Bounded;
use crate::base::body::{Body, Reader, Writer};
use crate::procedure::compose::OWN;
use alloc::borrow::ToOwned;
use alloc::boxed::Box;
use alloc::string::String;
use serde_json::value::RawValue;

/// The longest a procedure may be, in bytes: 300 points with everything said of each.
pub const MOST_PROCEDURE: usize = 64_000;

/// A part of a body that is kept as the JSON it is, for a later reader.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Json(String);

impl Json {
    /// JSON that a writer of ours made; `null` if it is none, which only a programming slip can cause.
    #[must_use]
    pub fn new(text: String) -> Self {
        Self(RawValue::from_string(text).map_or_else(|_| "null".into(), |raw| raw.get().into()))
    }

    /// As it stands in the file.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.0
    }

    fn raw(&self) -> Box<RawValue> {
        RawValue::from_string(self.0.clone()).unwrap_or_else(|_| RawValue::NULL.to_owned())
    }
}

impl Body for Json {
    fn write(&self, out: &mut Writer) {
        self.raw().write(out);
    }
    fn read(from: &mut Reader<'_>) -> Self {
        Self(Box::<RawValue>::read(from).get().into())
    }
}

/// The same for `serde`, which the tests hold ours against.
#[cfg(test)]
impl serde::Serialize for Json {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serde::Serialize::serialize(&self.raw(), serializer)
    }
}

#[cfg(test)]
impl<'de> serde::Deserialize<'de> for Json {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let raw: Box<RawValue> = serde::Deserialize::deserialize(deserializer)?;
        Ok(Self(raw.get().into()))
    }
}

/// A procedure was composed, or composed anew. The latest stands; a session keeps which it was
/// planned from.
#[derive(Clone, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(deny_unknown_fields)]
pub struct Composed {
    /// Its stable name, the same in every version.
    pub id: String,
    /// The whole procedure, as `practice::composed` writes it. Only whoever plans or lists procedures
    /// looks into it, so that the chair need not carry its reader.
    pub procedure: Json,
}

/// A procedure was taken off the list, or put back. Nothing of it is lost.
#[derive(Clone, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
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
