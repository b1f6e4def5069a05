//! Records that are past the period for which they are kept.

use crate::base::date::Date;
use crate::base::flat;
use crate::base::id::EntryId;
use crate::ledger::Whole;
use crate::practice::retention::{Retention, Until};
use crate::view::visit::day_of;
use alloc::string::{String, ToString};
use alloc::vec::Vec;

/// A record past its period.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Past {
    /// Whose.
    pub person: EntryId,
    /// Their name.
    pub name: String,
    /// Their last visit, or the last thing written down, as the period counts.
    pub last: Date,
    /// Until when it was to be kept.
    pub until: Until,
}

/// Every record past its period, the oldest first; nothing if no period was chosen. Nobody with a visit
/// booked, or with needles that stay in, is past it. Somebody who never came counts from the last thing
/// written down.
#[must_use]
pub fn past(ledger: Whole<'_>, today: Date, zone: i16) -> Vec<Past> {
    let Some(keep) = Retention::of(ledger.practice()) else {
        return Vec::new();
    };
    let mut all = Vec::new();
    for (person, known) in ledger.people() {
        let Some(named) = &known.named else {
            continue;
        };
        let mut entry = known.latest.map(|at| day_of(at, zone));
        let (mut visit, mut busy) = (None, false);
        for (_, session) in ledger.sessions_of(person) {
            let state = session.state();
            busy |= state.closed.is_none() || state.sum.stays_in > 0;
            entry = entry.max(state.latest.map(|at| day_of(at, state.zone)));
            if !state.rehearsal {
                visit = visit.max(state.opened_at.map(|at| day_of(at, state.zone)));
            }
        }
        busy |= known.bookings.iter().any(|b| day_of(b.at, zone) >= today);
        let last = if keep.from_entry {
            entry
        } else {
            visit.or(entry)
        };
        let (Some(last), false) = (last, busy) else {
            continue;
        };
        let until = keep.until(last, named.birth_date);
        let (Until::Day(day) | Until::AtLeast(day)) = until;
        if day < today {
            all.push(Past {
                person,
                name: named.name.to_string(),
                last,
                until,
            });
        }
    }
    flat::sort_by_key(&mut all, |past| (past.last, past.person));
    all
}
