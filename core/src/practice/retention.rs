//! How long records are kept. The period is a setting: what holds is the law where the practice is.
//! Nothing is erased by it: it only says which records are past it.

use super::Practice;
use crate::base::cite::Mark;
use crate::base::date::Date;
use crate::event::practice::Set;
use alloc::string::{String, ToString};
use alloc::vec::Vec;

/// The names of the settings: years, from what, and the birthday for those who were minors.
pub const YEARS: &str = "retention.years";
/// See [`YEARS`].
pub const FROM: &str = "retention.from";
/// See [`YEARS`].
pub const MINOR: &str = "retention.minor";

/// Under this age somebody is a minor. The rule of REC-TX says "under 18" (read).
const OF_AGE: u16 = 18;

/// A period.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Retention {
    /// Years, 1 to 100.
    pub years: u16,
    /// Counted from the last thing written down about a person; else from their last visit.
    pub from_entry: bool,
    /// For somebody who was a minor then: not before this birthday. 0 for no such rule.
    pub minor_until: u16,
}

/// A period that stands somewhere, to be chosen from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Example {
    /// Stable id.
    pub id: &'static str,
    /// What the practitioner reads.
    pub name: &'static str,
    /// The period.
    pub keep: Retention,
    /// Source keys.
    pub source: &'static str,
    /// How well it is supported.
    pub mark: Mark,
}

/// Every example, from `data/retention.toml`.
pub const EXAMPLES: &[Example] = include!(concat!(env!("OUT_DIR"), "/retention.rs"));

/// Until when a record is to be kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Until {
    /// To this day, it included.
    Day(Date),
    /// At least to this day: the birth date is not known, so they may have been a minor.
    AtLeast(Date),
}

fn years_after(day: Date, years: u16) -> Date {
    let (year, month, of_month) = day.parts();
    let year = year.saturating_add(i32::from(years));
    // From 29 February on to 1 March: a record is rather kept a day longer.
    let there = Date::new(year, month, of_month).or_else(|_| Date::new(year, 3, 1));
    // Past the last year that a date can have, it is kept for ever.
    there.or_else(|_| Date::new(2299, 12, 31)).unwrap_or(day)
}

impl Retention {
    /// The period in the settings, if one was chosen and can be read.
    #[must_use]
    pub fn of(practice: &Practice) -> Option<Self> {
        let number = |name| practice.setting(name).parse::<u16>().ok();
        let keep = Self {
            years: number(YEARS)?,
            from_entry: practice.setting(FROM) == "entry",
            minor_until: number(MINOR).unwrap_or(0),
        };
        keep.sound().then_some(keep)
    }

    fn sound(self) -> bool {
        (1..=100).contains(&self.years) && self.minor_until <= 100
    }

    /// The settings that say so.
    #[must_use]
    pub fn settings(self) -> Vec<Set> {
        let set = |name: &str, value: String| Set {
            name: name.to_string(),
            value,
            reason: String::new(),
        };
        let from = if self.from_entry { "entry" } else { "visit" };
        Vec::from([
            set(YEARS, self.years.to_string()),
            set(FROM, from.to_string()),
            set(MINOR, self.minor_until.to_string()),
        ])
    }

    /// Until when the record of somebody is to be kept, whose last visit or entry was on `last`.
    #[must_use]
    pub fn until(self, last: Date, birth: Option<Date>) -> Until {
        let plain = years_after(last, self.years);
        if self.minor_until == 0 {
            return Until::Day(plain);
        }
        let Some(birth) = birth else {
            return Until::AtLeast(plain);
        };
        let minor = last < years_after(birth, OF_AGE);
        let birthday = years_after(birth, self.minor_until);
        Until::Day(if minor { plain.max(birthday) } else { plain })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> Date {
        text.parse().unwrap()
    }

    fn example(id: &str) -> Retention {
        EXAMPLES.iter().find(|e| e.id == id).unwrap().keep
    }

    /// Row 57 of the safety reference: a 16-year-old, last visit 1 June 2025, the rule of REC-TX (read):
    /// the 21st birthday or 1 June 2030, the later.
    #[test]
    fn a_minors_record_is_kept_to_the_later_of_two_days() {
        let tx = example("tx");
        let last = day("2025-06-01");
        let until = |birth| tx.until(last, Some(day(birth)));
        assert_eq!(until("2009-03-05"), Until::Day(day("2030-06-01")));
        assert_eq!(until("2009-06-01"), Until::Day(day("2030-06-01")));
        assert_eq!(until("2008-06-02"), Until::Day(day("2030-06-01")));
        // Younger than 16, the birthday is the later.
        assert_eq!(until("2011-03-05"), Until::Day(day("2032-03-05")));
        // Of age on the very day: the plain period.
        let short = Retention { years: 1, ..tx };
        let until = |birth| short.until(last, Some(day(birth)));
        assert_eq!(until("2007-06-01"), Until::Day(day("2026-06-01")));
        assert_eq!(until("2007-06-02"), Until::Day(day("2028-06-02")));
    }

    #[test]
    fn an_unknown_birth_date_is_not_of_age() {
        let last = day("2025-06-01");
        assert_eq!(
            example("tx").until(last, None),
            Until::AtLeast(day("2030-06-01"))
        );
        assert_eq!(
            example("fl").until(last, None),
            Until::Day(day("2030-06-01"))
        );
    }

    #[test]
    fn leap_days_and_far_years_are_kept_rather_longer() {
        let fl = example("fl");
        assert_eq!(
            fl.until(day("2024-02-29"), None),
            Until::Day(day("2029-03-01"))
        );
        let far = Retention { years: 100, ..fl };
        assert_eq!(
            far.until(day("2250-01-01"), None),
            Until::Day(day("2299-12-31"))
        );
    }
}
