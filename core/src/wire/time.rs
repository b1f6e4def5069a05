//! Times for the outside, from a wall time and the minutes that local time was ahead of UTC.

use crate::base::date::Date;
use crate::base::stamp::{Wall, When};
use crate::session::Fact;
use alloc::format;
use alloc::string::String;

/// A stretch of time; both ends the same where there was one moment.
pub(super) type Range = (Wall, Wall);

const DAY: i64 = 86_400_000;
/// Time zones reach 14 hours from UTC; FHIR's `dateTime` allows no more (read: its own pattern).
const FARTHEST: i16 = 840;

/// Day, hour, minute and second. Nothing for a time outside the years 1800 to 2299.
fn civil(at: Wall, zone: i16) -> Option<(Date, i64, i64, i64)> {
    let millis = at.0.saturating_add(i64::from(zone).saturating_mul(60_000));
    let day = Date::from_days(i32::try_from(millis.div_euclid(DAY)).ok()?).ok()?;
    let second = millis.rem_euclid(DAY).div_euclid(1000);
    let minute = second.div_euclid(60);
    Some((
        day,
        minute.div_euclid(60),
        minute.rem_euclid(60),
        second.rem_euclid(60),
    ))
}

/// As RFC 3339 writes it, with the offset: `2027-01-15T09:10:00+01:00`. An offset that no place has
/// is not believed: the time is then in UTC, and `Z` says that the local one is not known.
pub(super) fn instant(at: Wall, zone: i16) -> Option<String> {
    let known = (-FARTHEST..=FARTHEST).contains(&zone);
    let (day, h, m, s) = civil(at, if known { zone } else { 0 })?;
    let offset = if known {
        let size = zone.unsigned_abs();
        format!(
            "{}{:02}:{:02}",
            if zone < 0 { '-' } else { '+' },
            size / 60,
            size % 60
        )
    } else {
        "Z".into()
    };
    Some(format!("{day}T{h:02}:{m:02}:{s:02}{offset}"))
}

/// As a spreadsheet reads it, in local time: `2027-01-15 09:10:00`.
pub(super) fn local(at: Wall, zone: i16) -> Option<String> {
    let (day, h, m, s) = civil(at, zone)?;
    Some(format!("{day} {h:02}:{m:02}:{s:02}"))
}

/// As iCalendar writes it, in UTC: `20270115T081000Z`.
pub(super) fn utc(at: Wall) -> Option<String> {
    let (day, h, m, s) = civil(at, 0)?;
    let (year, month, date) = day.parts();
    Some(format!("{year:04}{month:02}{date:02}T{h:02}{m:02}{s:02}Z"))
}

/// The local day.
pub(super) fn day(at: Wall, zone: i16) -> Option<Date> {
    civil(at, zone).map(|(day, ..)| day)
}

/// When a fact happened, from when to when.
pub(super) fn range(fact: &Fact) -> Range {
    between(fact.when, fact.at.wall)
}

/// When something entered at a time happened, from when to when.
pub(super) fn between(when: When, entered: Wall) -> Range {
    match when {
        When::Now => (entered, entered),
        When::About(at) => (at, at),
        When::Between(a, b) => (a.min(b), a.max(b)),
    }
}

/// Both stretches, and what lies between them.
pub(super) fn widen(range: Option<Range>, by: Range) -> Option<Range> {
    Some(range.map_or(by, |(from, to)| (from.min(by.0), to.max(by.1))))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_as_three_standards_write_them() {
        // 1 800 000 000 seconds after 1970 is 2027-01-15T08:00:00Z (checked with GNU date).
        let at = Wall(1_800_000_000_999);
        let text = |zone| instant(at, zone).unwrap();
        assert_eq!(text(60), "2027-01-15T09:00:00+01:00");
        assert_eq!(text(-210), "2027-01-15T04:30:00-03:30");
        assert_eq!(text(0), "2027-01-15T08:00:00+00:00");
        assert_eq!(text(840), "2027-01-15T22:00:00+14:00");
        assert_eq!(
            text(841),
            "2027-01-15T08:00:00Z",
            "no place has this offset"
        );
        assert_eq!(text(-1440), "2027-01-15T08:00:00Z");
        assert_eq!(local(at, 960).unwrap(), "2027-01-16 00:00:00");
        assert_eq!(utc(at).unwrap(), "20270115T080000Z");
        assert_eq!(utc(Wall(-1)).unwrap(), "19691231T235959Z");
    }

    #[test]
    fn a_time_that_cannot_be_has_no_text() {
        for at in [i64::MIN, i64::MAX, 1 << 60] {
            for zone in [i16::MIN, 0, i16::MAX] {
                assert_eq!(instant(Wall(at), zone), None);
                assert_eq!(local(Wall(at), zone), None);
            }
            assert_eq!(utc(Wall(at)), None);
        }
    }
}
