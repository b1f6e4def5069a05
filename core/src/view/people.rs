//! People: everybody by name, and whoever is looked for. Answered from summaries alone.

use crate::base::id::EntryId;
use crate::ledger::Ledger;
use alloc::string::{String, ToString};
use alloc::vec::Vec;

/// Everybody who has a name, in the order they were first written down.
pub fn everybody(ledger: &Ledger) -> impl Iterator<Item = (EntryId, &str)> {
    let all = ledger.everybody().map(|(id, p)| (id, p.name.as_str()));
    all.filter(|(_, name)| !name.is_empty())
}

/// Up to `most` people in whose name each word that was typed stands, in small or large letters.
#[must_use]
pub fn find(ledger: &Ledger, typed: &str, most: usize) -> Vec<(EntryId, String)> {
    let typed = typed.to_lowercase();
    let fits = |name: &str| {
        let name = name.to_lowercase();
        typed.split_whitespace().all(|word| name.contains(word))
    };
    let found = everybody(ledger).filter(|(_, name)| fits(name));
    let found = found.map(|(id, name)| (id, name.to_string()));
    found.take(most).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::id::Replica;
    use crate::base::stamp::{Stamp, When};
    use crate::event::person::Named;
    use crate::ledger::{Command, DeskCommand, Hand};

    #[test]
    fn every_word_has_to_stand_in_the_name() {
        let mut ledger = Ledger::default();
        for name in ["Wren of the Ford", "Äsche vom Ufer", "Ford Siskin"] {
            let named = Named {
                name: name.into(),
                birth_date: None,
                contact: None,
                came_for: None,
            };
            let hand = Hand {
                replica: Replica(1),
                stamp: Stamp::default(),
                when: When::Now,
            };
            let command = Command::Desk(DeskCommand::Meet(named));
            let facts = ledger.decide(&command, &hand).unwrap();
            ledger.append(&facts);
        }
        let names = |typed| -> Vec<String> {
            let found = find(&ledger, typed, 9);
            found.into_iter().map(|(_, name)| name).collect()
        };
        assert_eq!(names("ford"), ["Wren of the Ford", "Ford Siskin"]);
        assert_eq!(names(" FORD wren"), ["Wren of the Ford"]);
        assert_eq!(names("äSCHE"), ["Äsche vom Ufer"]);
        assert!(names("ford plover").is_empty());
        assert_eq!(names("").len(), 3, "control");
        assert_eq!(find(&ledger, "", 2).len(), 2);
    }
}
