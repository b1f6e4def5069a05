//! What belongs to no one person: settings, figures of the rules and rules of the practice's own.

use super::{Bounded, LONG_TEXT};
use crate::base::body::Body;
use alloc::string::String;

/// A setting was given a value. The latest stands; the record keeps which stood when.
#[derive(Clone, Debug, PartialEq, Eq, Body)]
#[cfg_attr(test, derive(serde::Serialize, serde::Deserialize))]
#[serde(deny_unknown_fields)]
pub struct Set {
    /// Which, by its stable name.
    pub name: String,
    /// Its value as text; empty takes it back.
    pub value: String,
    /// Why, where a reason is asked for: a figure of the rules made looser.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub reason: String,
}

impl Bounded for Set {
    fn check(&self) -> Result<(), &'static str> {
        if self.name.is_empty() || self.name.len() > 80 {
            return Err("setting: name empty or too long");
        }
        if self.value.len() > LONG_TEXT || self.reason.len() > LONG_TEXT {
            Err("setting: too long")
        } else {
            Ok(())
        }
    }
}
