//! How fast the practitioner's own hands are: the middle value of what the last closed sessions teach.

use crate::base::units::Seconds;
use crate::ledger::{Ledger, Refusal};
use crate::plan::{Speed, Work};
use crate::procedure::{Learning, ModuleName};
use crate::session::Session;
use crate::session::pace::{Pace, paces};
use alloc::vec::Vec;

/// The setting that keeps the procedures' own figures: `off`. Anything else lets sessions teach.
pub const SETTING: &str = "learned_speeds";

/// What sessions teach, by part and work. The latest first, any that are not closed or are rehearsals
/// among them; no more are looked at than [`Learning::sessions`] closed ones.
#[must_use]
pub fn of_sessions<'a>(
    sessions: impl Iterator<Item = &'a Session>,
    policy: &Learning,
) -> Vec<Speed> {
    let counts = |s: &&Session| s.state().closed.is_some() && !s.state().rehearsal;
    let latest = sessions.filter(counts).take(usize::from(policy.sessions));
    of_paces(latest.flat_map(|s| paces(s, policy)).collect(), policy)
}

/// The middle value of each part and work that was seen often enough, in whole seconds, rounded up: a
/// plan is never timed faster than the hands were. Of two middle values the slower one.
fn of_paces(mut paces: Vec<Pace>, policy: &Learning) -> Vec<Speed> {
    let key = |p: &Pace| (p.module, p.out);
    crate::base::flat::sort_by_key(&mut paces, |p| (key(p), p.millis));
    let mut out = Vec::new();
    for group in paces.chunk_by(|a, b| key(a) == key(b)) {
        let (Some(first), Some(middle)) = (group.first(), group.get(group.len() / 2)) else {
            continue;
        };
        let seconds = u32::try_from(middle.millis.max(0)).unwrap_or(u32::MAX);
        if group.len() >= usize::from(policy.observations) {
            out.push(Speed {
                module: first.module,
                work: if first.out { Work::Remove } else { Work::Place },
                seconds: Seconds(seconds.div_ceil(1000).max(1)),
                observations: u16::try_from(group.len()).unwrap_or(u16::MAX),
            });
        }
    }
    out
}

/// What this practice's sessions teach; nothing if it does not want that.
///
/// # Errors
/// The sessions that have to be read in first.
pub fn learned(ledger: &Ledger, policy: &Learning) -> Result<Vec<Speed>, Refusal> {
    if ledger.practice().setting(SETTING) == "off" {
        return Ok(Vec::new());
    }
    let latest = ledger.latest_closed(policy.sessions)?;
    Ok(of_sessions(latest.into_iter(), policy))
}

/// The parts and works of which something was learned, with the figure; for a page that lists them.
#[must_use]
pub fn of(speeds: &[Speed], module: ModuleName, work: Work) -> Option<Speed> {
    let mut all = speeds.iter();
    all.find(|s| (s.module, s.work) == (module, work)).copied()
}
