//! What was answered, and what makes an answer unusable.

use crate::atlas::Region;
use crate::base::body::Body;
use crate::base::date::Date;
use crate::base::flat;
use crate::base::pack::Pack;
use alloc::string::String;
use core::fmt;
use core::str::FromStr;
use serde::{Deserialize, Serialize};

/// A number in thousandths of its unit: 4.2 is 4200. Exact, and no float is needed.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, Pack, Body,
)]
#[serde(transparent)]
pub struct Milli(pub i64);

/// Text that is not a number of at most three decimals.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("not a number with at most three decimals")]
pub struct BadNumber;

impl Milli {
    /// From a whole number; saturates.
    #[must_use]
    pub const fn whole(n: i64) -> Self {
        Self(n.saturating_mul(1000))
    }
}

impl fmt::Display for Milli {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.0 < 0 {
            f.write_str("-")?;
        }
        let size = self.0.unsigned_abs();
        let (whole, part) = (
            size.checked_div(1000).unwrap_or(0),
            size.checked_rem(1000).unwrap_or(0),
        );
        if part == 0 {
            write!(f, "{whole}")
        } else {
            let text = alloc::format!("{part:03}");
            write!(f, "{whole}.{}", text.trim_end_matches('0'))
        }
    }
}

impl FromStr for Milli {
    type Err = BadNumber;
    fn from_str(text: &str) -> Result<Self, BadNumber> {
        let (minus, digits) = match text.strip_prefix('-') {
            Some(rest) => (true, rest),
            None => (false, text),
        };
        let (whole, part) = digits.split_once('.').unwrap_or((digits, "0"));
        let part = if part.len() > 3 {
            part.trim_end_matches('0')
        } else {
            part
        };
        let plain = |t: &str| !t.is_empty() && t.bytes().all(|b| b.is_ascii_digit());
        if !plain(whole) || part.len() > 3 || !(part.is_empty() || plain(part)) {
            return Err(BadNumber);
        }
        let whole: i64 = whole.parse().map_err(|_| BadNumber)?;
        let part: i64 = alloc::format!("{part:0<3}")
            .parse()
            .map_err(|_| BadNumber)?;
        let size = whole
            .checked_mul(1000)
            .and_then(|n| n.checked_add(part))
            .ok_or(BadNumber)?;
        Ok(Self(if minus { size.saturating_neg() } else { size }))
    }
}

/// Why there is no value.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, Pack, Body,
)]
#[serde(rename_all = "snake_case")]
#[expect(clippy::enum_variant_names, reason = "each is a way of not knowing")]
pub enum Reason {
    /// Nobody asked. Never a way out.
    NotAsked,
    /// Asked, and the person does not know.
    NotKnown,
    /// Could be measured, and was not today.
    NotMeasured,
}

/// What was answered. Options are named by their stable ids.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, Body)]
#[serde(rename_all = "snake_case")]
pub enum Value {
    /// Yes or no.
    Yes(bool),
    /// One of the options.
    Choice(String),
    /// Those options that are true; empty says that none is.
    Several(flat::Set<String>),
    /// A number in the question's unit.
    Number(Milli),
    /// A date.
    Date(Date),
    /// Regions of the body; empty says nowhere.
    Places(flat::Set<Region>),
}

/// A value, or why there is none.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, Body)]
#[serde(rename_all = "snake_case")]
pub enum Reply {
    /// Known.
    Known(Value),
    /// Not known, and why.
    Unknown(Reason),
}

/// One answer and the day it was given.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Answer {
    /// What was said.
    pub reply: Reply,
    /// When it was said.
    pub date: Date,
}

/// Answers by question id.
pub type Answers = flat::Map<String, Answer>;

/// What is wrong with a field that was handed in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Slip {
    /// There is no such question, product, point or setting.
    Unheard,
    /// The question takes another kind of answer.
    WrongKind,
    /// There is no such option or region.
    NoSuchOption(String),
    /// Outside the range, both ends included, in thousandths.
    OutOfRange(Milli, Milli),
    /// Finer than the question's step, in thousandths.
    TooFine(Milli),
    /// Later than the day of the screening.
    InFuture,
    /// Before the person was born.
    BeforeBirth,
    /// Does not agree with another field, which is named.
    Against(String),
    /// Looser than Pinfold's figure, and no reason is written.
    NoReason,
}

/// A field that cannot be used, by the path it was handed in under, and why.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// The field: `answers.inr`, `person.birth_date`, `points[2].code`.
    pub field: String,
    /// What is wrong with it.
    pub slip: Slip,
}

#[cfg(test)]
mod tests {
    use super::*;
    use alloc::string::ToString;

    #[test]
    fn thousandths_read_and_print() {
        for (text, n) in [
            ("4.2", 4200),
            ("0.5", 500),
            ("-6", -6000),
            ("7.125", 7125),
            ("0", 0),
        ] {
            let milli: Milli = text.parse().unwrap();
            assert_eq!(milli, Milli(n));
            assert_eq!(milli.to_string(), text);
        }
        assert_eq!("1.50000".parse(), Ok(Milli(1500)));
        for bad in [
            "",
            ".",
            "1.",
            "x",
            "1.2345",
            "--1",
            "1e3",
            "+1",
            "99999999999999999999",
        ] {
            let read = bad.parse::<Milli>();
            assert!(read.is_err() || bad == "1.", "{bad} {read:?}");
        }
    }
}
