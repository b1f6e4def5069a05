//! Outside checks live in `tests/tests`; this library holds what they share.

#[path = "../../core/src/check.rs"]
pub mod check;
pub mod hour;
pub mod wire;

use pinfold_core::base::id::{EntryId, Replica};
use pinfold_core::base::stamp::{Stamp, Wall, When};
use pinfold_core::event::session::Mode;
use pinfold_core::ledger::{ChairCommand, Command, Hand, Ledger, Refusal};

/// A hand that writes as `replica` at so many milliseconds.
#[must_use]
pub fn hand(replica: u128, millis: i64) -> Hand {
    Hand {
        replica: Replica(replica),
        stamp: Stamp {
            wall: Wall(1_800_000_000_000 + millis),
            mono: millis,
            zone: 60,
        },
        when: When::Now,
    }
}

/// Decides and appends; the refusal if there was one.
///
/// # Errors
/// What the ledger refused with.
pub fn act(ledger: &mut Ledger, command: ChairCommand, hand: &Hand) -> Result<(), Refusal> {
    let facts = ledger.decide(&Command::Chair(command), hand)?;
    ledger.append(&facts);
    Ok(())
}

/// A ledger with one *count only* session open, and the session's name.
///
/// # Panics
/// If opening a session is refused, which would be a defect.
#[must_use]
pub fn count_only(replica: u128) -> (Ledger, EntryId) {
    let mut ledger = Ledger::default();
    let open = ChairCommand::Open {
        mode: Mode::CountOnly,
        person: None,
        plan: Vec::new(),
        rehearsal: false,
        procedure: None,
    };
    act(&mut ledger, open, &hand(replica, 0)).expect("a session can always be opened");
    let session = ledger.sessions().next().expect("it is there").0;
    (ledger, session)
}
