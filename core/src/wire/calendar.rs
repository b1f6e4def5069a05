//! Booked visits for a calendar program: iCalendar, RFC 5545.
//!
//! Times are in UTC, so they do not move when a phone travels. A calendar is synchronised to places
//! that nobody here knows, so an event names no treatment and no complaint, and no person either
//! unless that is asked for.

use super::name::uuid;
use super::time::utc;
use crate::base::id::EntryId;
use crate::base::stamp::Wall;
use crate::ledger::{Ledger, Whole};
use crate::people::{Booking, Person};
use crate::words::wire::EN;
use alloc::string::{String, ToString};

/// What an event says beyond its time.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Options {
    /// The person's name stands in it.
    pub name: bool,
    /// So many minutes before it, the calendar program is to remind. At most a week is kept.
    pub alarm: Option<u16>,
}

const WEEK_MINUTES: u16 = 10_080;

/// A line may hold so many octets, without its end (RFC 5545, section 3.1).
const LINE: usize = 75;

/// One content line, folded. A character is never cut in two.
fn line(out: &mut String, text: &str) {
    let mut room = LINE;
    for c in text.chars() {
        if c.len_utf8() > room {
            out.push_str("\r\n ");
            room = LINE.saturating_sub(1);
        }
        room = room.saturating_sub(c.len_utf8());
        out.push(c);
    }
    out.push_str("\r\n");
}

/// A text value (section 3.3.11): backslash, semicolon, comma and line ends are escaped, other
/// control characters have no place in it.
fn text(value: &str) -> String {
    let mut out = String::new();
    let mut returned = false;
    for c in value.trim().chars() {
        match c {
            '\\' | ';' | ',' => {
                out.push('\\');
                out.push(c);
            }
            '\n' if returned => {}
            '\n' | '\r' => out.push_str("\\n"),
            c if c.is_control() => out.push(' '),
            c => out.push(c),
        }
        returned = c == '\r';
    }
    out
}

fn event(
    out: &mut String,
    booking: &Booking,
    who: &str,
    options: Options,
    made: &str,
) -> Option<()> {
    let start = utc(booking.at)?;
    let end = utc(booking
        .at
        .plus(i64::from(booking.minutes).saturating_mul(60_000)))?;
    let summary = if options.name && !who.is_empty() {
        EN.appointment_with(who)
    } else {
        EN.appointment.into()
    };
    let mut say = |name: &str, value: &str| line(out, &[name, value].concat());
    say("BEGIN:VEVENT", "");
    say("UID:", &uuid("VEVENT", booking.id, &[]));
    say("DTSTAMP:", made);
    say("DTSTART:", &start);
    say("DTEND:", &end);
    say("SUMMARY:", &text(&summary));
    say("CLASS:PRIVATE", "");
    if let Some(minutes) = options.alarm {
        let trigger = minutes.min(WEEK_MINUTES).to_string();
        say("BEGIN:VALARM", "");
        say("ACTION:DISPLAY", "");
        say("DESCRIPTION:", EN.appointment);
        say("TRIGGER:-PT", &[&trigger, "M"].concat());
        say("END:VALARM", "");
    }
    line(out, "END:VEVENT");
    Some(())
}

fn calendar(events: &str) -> String {
    let mut out = String::new();
    line(&mut out, "BEGIN:VCALENDAR");
    line(&mut out, "VERSION:2.0");
    line(&mut out, EN.product_id);
    line(&mut out, "CALSCALE:GREGORIAN");
    out.push_str(events);
    line(&mut out, "END:VCALENDAR");
    out
}

/// One booked visit of a person, as a file of its own. `made` is now. The same booking has the same
/// UID in every file, so importing it twice makes one event.
///
/// Nothing if there is no such booking, or its time lies outside the years 1800 to 2299.
#[must_use]
pub fn booking(
    ledger: &Ledger,
    person: EntryId,
    booking: EntryId,
    options: Options,
    made: Wall,
) -> Option<String> {
    let person = ledger.person(person)?;
    let found = person.bookings.iter().find(|b| b.id == booking)?;
    let mut events = String::new();
    event(&mut events, found, person.name(), options, &utc(made)?)?;
    Some(calendar(&events))
}

/// The next visit of a person: the soonest that has not begun before `made`.
#[must_use]
pub fn next(ledger: &Ledger, person: EntryId, options: Options, made: Wall) -> Option<String> {
    let soonest = coming(ledger.person(person)?, made).next()?;
    booking(ledger, person, soonest.id, options, made)
}

/// Every booked visit of everybody that has not begun before `made`, person by person. RFC 5545 asks
/// for at least one event, so without one there is no file.
#[must_use]
pub fn all(ledger: Whole<'_>, options: Options, made: Wall) -> Option<String> {
    let stamp = utc(made)?;
    let mut events = String::new();
    for (_, person) in ledger.people() {
        for booking in coming(person, made) {
            let _ = event(&mut events, booking, person.name(), options, &stamp);
        }
    }
    (!events.is_empty()).then(|| calendar(&events))
}

fn coming(person: &Person, from: Wall) -> impl Iterator<Item = &Booking> {
    person.bookings.iter().filter(move |b| b.at >= from)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::property;
    use proptest::prelude::*;

    #[test]
    fn escapes_as_the_standard_shows() {
        // RFC 5545, section 3.3.11, has an example of a text with line ends and commas like this one.
        assert_eq!(text("a\\b; c, d\r\ne\u{7}f"), "a\\\\b\\; c\\, d\\ne f");
        assert_eq!(text("plain: \"so\""), "plain: \"so\"");
    }

    #[test]
    fn any_text_folds_into_short_lines_and_unfolds() {
        let texts = prop_oneof![".{0,300}", "[äß€😀]{0,120}"];
        property("folded lines", 1000, &texts, |value: String| {
            let value = text(&value);
            let mut out = String::new();
            line(&mut out, &value);
            for one in out.strip_suffix("\r\n").unwrap_or_default().split("\r\n") {
                prop_assert!(one.len() <= LINE, "{} octets", one.len());
            }
            let folded = [value.as_str(), "\r\n"].concat();
            prop_assert_eq!(out.replace("\r\n ", ""), folded);
            Ok(())
        });
    }
}
