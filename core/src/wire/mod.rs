//! Edge. What leaves Pinfold in forms that other programs read: a FHIR R4 Bundle for a clinic's
//! server, tables for a spreadsheet, booked visits for a calendar.
//!
//! Every function is from the ledger to a text. Now comes in as an argument, and names for the
//! outside are made from the names of entries, so the same journal gives the same text. Nothing here
//! is ever read back: the journal file is the copy that loses nothing.

pub mod calendar;
mod csv;
pub mod fhir;
mod json;
mod name;
pub mod tables;
mod time;
mod visit;

use crate::words::wire::EN;

/// Why nothing was written out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Refused {
    /// There is no such session or person here, or not all of it is read in.
    Unknown,
    /// A rehearsal: nobody was treated, so nothing of it belongs in a person's record elsewhere.
    Rehearsal,
    /// The person's key was destroyed, and with it what would be written.
    Erased,
    /// The time of the export lies outside the years 1800 to 2299.
    Clock,
}

impl Refused {
    /// What happened, what is kept, and what can be done.
    #[must_use]
    pub const fn say(self) -> &'static str {
        match self {
            Self::Unknown => EN.refused_unknown,
            Self::Rehearsal => EN.refused_rehearsal,
            Self::Erased => EN.refused_erased,
            Self::Clock => EN.refused_clock,
        }
    }
}
