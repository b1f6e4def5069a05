//! Civil dates, as whole days. No clock, no time zone: a date is what is written on the form.

use super::body::{Body, Reader, Writer};
use core::fmt;
use core::str::FromStr;
use serde::{Deserialize, Deserializer, Serialize, Serializer};

/// A date of the proleptic Gregorian calendar, held as days since 1970-01-01.
/// Years 1800 to 2299: outside them a date on a form is a slip of the pen.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Date(i32);

/// Text or numbers that are not a date.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("not a date: write year-month-day, as 2026-03-09")]
pub struct BadDate;

const FIRST_YEAR: i32 = 1800;
const LAST_YEAR: i32 = 2299;
/// Their first and last day, counted from 1970-01-01.
const DAYS: core::ops::RangeInclusive<i32> = -62_091..=120_529;

fn leap(year: i32) -> bool {
    year.rem_euclid(4) == 0 && (year.rem_euclid(100) != 0 || year.rem_euclid(400) == 0)
}

fn month_length(year: i32, month: u8) -> u8 {
    match month {
        2 if leap(year) => 29,
        2 => 28,
        4 | 6 | 9 | 11 => 30,
        _ => 31,
    }
}

impl Date {
    /// The date with this year, month (1 to 12) and day (1 to 31).
    ///
    /// # Errors
    /// If there is no such day, or the year is outside 1800 to 2299.
    #[expect(
        clippy::arithmetic_side_effects,
        reason = "year is within 1800..=2299, month and day within the calendar: every term is below 1e6"
    )]
    pub fn new(year: i32, month: u8, day: u8) -> Result<Self, BadDate> {
        if !(FIRST_YEAR..=LAST_YEAR).contains(&year)
            || !(1..=12).contains(&month)
            || !(1..=month_length(year, month)).contains(&day)
        {
            return Err(BadDate);
        }
        // Years counted from 1 March, so that the leap day comes last.
        let (m, d) = (i32::from(month), i32::from(day));
        let y = if m <= 2 { year - 1 } else { year };
        let from_march = (m + 9) % 12;
        let day_of_year = (153 * from_march + 2) / 5 + d - 1;
        let era = y / 400;
        let year_of_era = y % 400;
        let day_of_era = year_of_era * 365 + year_of_era / 4 - year_of_era / 100 + day_of_year;
        Ok(Self(era * 146_097 + day_of_era - 719_468))
    }

    /// 1970-01-01.
    #[must_use]
    pub const fn epoch() -> Self {
        Self(0)
    }

    /// Days since 1970-01-01; negative before it.
    #[must_use]
    pub fn days(self) -> i32 {
        self.0
    }

    /// The date that is this many days after 1970-01-01.
    ///
    /// # Errors
    /// If its year is outside 1800 to 2299.
    pub fn from_days(days: i32) -> Result<Self, BadDate> {
        if DAYS.contains(&days) {
            Ok(Self(days))
        } else {
            Err(BadDate)
        }
    }

    /// Year, month and day.
    #[must_use]
    #[expect(
        clippy::arithmetic_side_effects,
        reason = "days lie within 1800..=2299, so every term is positive and below 1e7"
    )]
    pub fn parts(self) -> (i32, u8, u8) {
        let z = self.0 + 719_468;
        let era = z / 146_097;
        let day_of_era = z % 146_097;
        let year_of_era =
            (day_of_era - day_of_era / 1460 + day_of_era / 36_524 - day_of_era / 146_096) / 365;
        let day_of_year = day_of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
        let from_march = (5 * day_of_year + 2) / 153;
        let day = day_of_year - (153 * from_march + 2) / 5 + 1;
        let month = if from_march < 10 {
            from_march + 3
        } else {
            from_march - 9
        };
        let year = year_of_era + era * 400 + i32::from(month <= 2);
        (
            year,
            u8::try_from(month).unwrap_or(1),
            u8::try_from(day).unwrap_or(1),
        )
    }

    /// Whole days from `earlier` to `self`; negative if `earlier` is later.
    #[must_use]
    pub fn since(self, earlier: Self) -> i32 {
        self.0.saturating_sub(earlier.0)
    }

    /// The latest date on which somebody or something could have begun and be `months` whole
    /// months old today. A day that the month lacks falls back to its last day, so that a birth
    /// on 29 February counts as a year older on 1 March in other years.
    #[must_use]
    pub fn months_back(self, months: u32) -> Self {
        let (year, month, day) = self.parts();
        let count = year
            .saturating_mul(12)
            .saturating_add(i32::from(month).saturating_sub(1))
            .saturating_sub(i32::try_from(months).unwrap_or(i32::MAX));
        let (y, m) = (
            count.div_euclid(12),
            u8::try_from(count.rem_euclid(12).saturating_add(1)).unwrap_or(1),
        );
        Self::new(y, m, day.min(month_length(y, m)))
            .or_else(|_| Self::new(FIRST_YEAR, 1, 1))
            .unwrap_or(self)
    }

    /// Completed months since `earlier`; 0 if it is later.
    #[must_use]
    pub fn months_since(self, earlier: Self) -> u32 {
        let (y1, m1, d1) = earlier.parts();
        let (y2, m2, d2) = self.parts();
        let months = y2
            .saturating_sub(y1)
            .saturating_mul(12)
            .saturating_add(i32::from(m2))
            .saturating_sub(i32::from(m1))
            .saturating_sub(i32::from(d2 < d1));
        u32::try_from(months).unwrap_or(0)
    }

    /// Completed years since `earlier`; 0 if it is later.
    #[must_use]
    pub fn years_since(self, earlier: Self) -> u32 {
        self.months_since(earlier).checked_div(12).unwrap_or(0)
    }
}

impl fmt::Display for Date {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (year, month, day) = self.parts();
        write!(f, "{year:04}-{month:02}-{day:02}")
    }
}

impl fmt::Debug for Date {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

impl FromStr for Date {
    type Err = BadDate;
    fn from_str(text: &str) -> Result<Self, BadDate> {
        let plain = text.len() == 10 && text.bytes().all(|b| b.is_ascii_digit() || b == b'-');
        if !plain {
            return Err(BadDate);
        }
        let mut parts = text.split('-');
        let (Some(y), Some(m), Some(d), None) =
            (parts.next(), parts.next(), parts.next(), parts.next())
        else {
            return Err(BadDate);
        };
        if y.len() != 4 || m.len() != 2 || d.len() != 2 {
            return Err(BadDate);
        }
        Self::new(
            y.parse().map_err(|_| BadDate)?,
            m.parse().map_err(|_| BadDate)?,
            d.parse().map_err(|_| BadDate)?,
        )
    }
}

impl Body for Date {
    fn write(&self, out: &mut Writer) {
        out.shown(self);
    }
    fn read(from: &mut Reader<'_>) -> Self {
        from.parsed(Self(0))
    }
}

impl Serialize for Date {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Date {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = alloc::string::String::deserialize(deserializer)?;
        text.parse().map_err(serde::de::Error::custom)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn d(text: &str) -> Date {
        text.parse().unwrap()
    }

    #[test]
    fn every_day_reads_back_and_follows_the_one_before() {
        let mut day = d("1800-01-01");
        let last = d("2299-12-31");
        while day < last {
            let next = Date::from_days(day.days() + 1).unwrap();
            assert_eq!(d(&alloc::format!("{next}")), next);
            let (y, m, dd) = next.parts();
            let (py, pm, pd) = day.parts();
            let follows = (y, m) == (py, pm) && dd == pd + 1
                || dd == 1 && pd == month_length(py, pm) && (m == pm + 1 || m == 1 && y == py + 1);
            assert!(follows, "{day} {next}");
            day = next;
        }
        assert_eq!(
            [d("1800-01-01").days(), last.days()],
            [*DAYS.start(), *DAYS.end()]
        );
        for beyond in [DAYS.start() - 1, DAYS.end() + 1, i32::MIN, i32::MAX] {
            assert_eq!(Date::from_days(beyond), Err(BadDate));
        }
        assert_eq!(d("1970-01-01").days(), 0);
        assert_eq!(d("2000-02-29").days(), 11_016);
    }

    #[test]
    fn slips_are_refused() {
        for bad in [
            "2026-02-29",
            "2026-13-01",
            "2026-00-01",
            "26-01-01",
            "2026-1-1",
            "2026/01/01",
            "1799-12-31",
            "2300-01-01",
            "+026-01-01",
            "2026-01-1a",
            "",
            "----------",
        ] {
            assert!(bad.parse::<Date>().is_err(), "{bad}");
        }
    }

    #[test]
    fn ages_turn_on_the_birthday_and_leap_days_on_1_march() {
        let born = d("2010-06-15");
        assert_eq!(d("2026-06-14").years_since(born), 15);
        assert_eq!(d("2026-06-15").years_since(born), 16);
        let leap_day = d("2008-02-29");
        assert_eq!(d("2026-02-28").years_since(leap_day), 17);
        assert_eq!(d("2026-03-01").years_since(leap_day), 18);
    }

    #[test]
    fn months_back_is_the_edge_of_months_since() {
        for text in [
            "2026-03-01",
            "2024-02-29",
            "2026-02-28",
            "2026-12-31",
            "2026-05-31",
        ] {
            let today = d(text);
            for months in [1, 3, 6, 11, 12, 13, 192, 216] {
                let edge = today.months_back(months);
                let after = Date::from_days(edge.days() + 1).unwrap();
                assert!(today.months_since(edge) >= months, "{text} {months} {edge}");
                assert!(
                    today.months_since(after) < months,
                    "{text} {months} {after}"
                );
            }
        }
    }
}
