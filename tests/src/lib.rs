//! Outside checks live in `tests/tests`; this library holds what they share.

#[path = "../../core/src/check.rs"]
pub mod check;
pub mod hour;
pub mod wire;

use pinfold_core::base::id::{EntryId, Replica};
use pinfold_core::base::stamp::{Stamp, Wall, When};
use pinfold_core::event::session::{Mode, SeenIn};
use pinfold_core::ledger::{ChairCommand, Command, Hand, Ledger, Refusal};
use pinfold_core::session::State;

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
    let session = ledger
        .whole()
        .expect("all of it")
        .sessions()
        .next()
        .expect("it is there")
        .0;
    (ledger, session)
}

/// What closing asks for beside the sums, all of it as it should be: needles seen by eye, places
/// searched, areas swept, the tray counted.
#[must_use]
pub fn demands(state: &State, session: EntryId) -> Vec<ChairCommand> {
    let small = |n: u32| u16::try_from(n).unwrap_or(u16::MAX);
    let mut all = Vec::new();
    if !state.recount.is_empty() {
        let seen = |region| {
            let sum = state.regions.get(region).copied().unwrap_or_default();
            SeenIn {
                region: *region,
                seen: small(sum.in_now + sum.stays_in),
            }
        };
        let regions = state.recount.iter().map(seen).collect();
        all.push(ChairCommand::SeeInside { session, regions });
    }
    if state.sum.not_found + state.sum.unplaced_not_found > 0 {
        let places = state.search_left();
        all.push(ChairCommand::Search { session, places });
    }
    let areas = state.areas_used();
    if !areas.is_empty() {
        all.push(ChairCommand::Sweep { session, areas });
    }
    if !state.tray_asked.is_empty() {
        let (tens, over) = (small(state.in_tray / 10), small(state.in_tray % 10));
        all.push(ChairCommand::CountTray {
            session,
            tens,
            over,
        });
    }
    all
}
