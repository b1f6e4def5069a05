//! What other pages ask of a person who is not unpacked.

use super::Person;
use crate::base::date::Date;
use crate::base::flat;
use crate::base::id::EntryId;
use crate::base::stamp::Wall;
use alloc::string::{String, ToString};
use alloc::vec::Vec;

/// A person in few words. It follows from the person's facts alone, so it is a cache.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Summary {
    /// The name they go by; empty if unknown or erased.
    pub name: String,
    /// The key was destroyed.
    pub erased: bool,
    /// Times of booked visits, soonest first.
    pub bookings: Vec<Wall>,
    /// Days of which an answer still stands.
    pub asked: Vec<Date>,
    /// Days on which something was looked at.
    pub looked: Vec<Date>,
    /// Sessions that are written up.
    pub written: Vec<EntryId>,
}

impl Person {
    /// The person in few words.
    #[must_use]
    pub fn summary(&self) -> Summary {
        let asked: flat::Set<Date> = self.answers.values().map(|a| a.date).collect();
        let written = self.written.iter().filter(|(_, w)| w.done);
        Summary {
            name: self.name().to_string(),
            erased: self.erased,
            bookings: self.bookings.iter().map(|b| b.at).collect(),
            asked: asked.into_iter().collect(),
            looked: self.looks.keys().copied().collect(),
            written: written.map(|(id, _)| *id).collect(),
        }
    }
}
