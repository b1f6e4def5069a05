//! An invented practice to look around in. Nobody in it exists; it lies in a database of its own.

use super::Desk;
use crate::device::clock;
use pinfold_core::base::id::EntryId;
use pinfold_core::base::stamp::Wall;
use pinfold_core::event::person::{Booked, Named};
use pinfold_core::event::practice::Set;
use pinfold_core::ledger::{Command, DeskCommand};
use pinfold_core::words::invented::{EN, Invented};

impl Desk {
    /// Writes the invented practice down, through the same door as everything else, if this is it and
    /// nobody is in it.
    pub fn fill_with_invented(&self) {
        if !self.invented() || self.read_now(|l| l.everybody().next().is_some()) {
            return;
        }
        let setting = |name: &str, value: &str| {
            let _ = self.act(DeskCommand::Set(Set {
                name: name.into(),
                value: value.into(),
                reason: String::new(),
            }));
        };
        setting("practitioner", EN.practitioner);
        setting("registration", EN.registration);
        setting("emergency_number", EN.emergency_number);
        let hour = 3_600_000;
        let start = clock::wall() / hour * hour;
        for (at, someone) in (0_i64..).zip(EN.people) {
            let Some(person) = self.invent(someone) else {
                continue;
            };
            let booked = Booked {
                at: Wall(start + (at + 1) * hour),
                minutes: 60,
            };
            let _ = self.act(Command::Desk(DeskCommand::Book(person, booked)));
        }
    }

    fn invent(&self, someone: &Invented) -> Option<EntryId> {
        let named = Named {
            name: someone.name.into(),
            birth_date: someone.birth_date.parse().ok(),
            contact: None,
            came_for: Some(someone.came_for.into()),
        };
        self.act(DeskCommand::Meet(named)).ok()
    }
}
