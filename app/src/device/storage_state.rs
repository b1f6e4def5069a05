//! What the browser says about the room it keeps for us: whether it may be cleared, and how full.

use super::reach;

/// Room used and room there could be, in bytes. The browser rounds both.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Room {
    /// Bytes in use.
    pub used: u64,
    /// Bytes this app may come to use.
    pub quota: u64,
}

/// Asks the browser not to clear our storage by itself. It decides by its own rules; *no* is an
/// ordinary answer. `None` if it cannot be asked.
pub async fn persist() -> Option<bool> {
    yes_or_no("persist").await
}

/// Whether the browser has agreed. `None` if it cannot be asked.
pub async fn persisted() -> Option<bool> {
    yes_or_no("persisted").await
}

async fn yes_or_no(question: &str) -> Option<bool> {
    reach::ask(&reach::navigator("storage"), question, &[])
        .await
        .ok()?
        .as_bool()
}

/// How full it is. `None` if it cannot be asked.
pub async fn estimate() -> Option<Room> {
    let answer = reach::ask(&reach::navigator("storage"), "estimate", &[])
        .await
        .ok()?;
    let bytes = |name| reach::get(&answer, name).as_f64().map(|bytes| bytes as u64);
    Some(Room {
        used: bytes("usage")?,
        quota: bytes("quota")?,
    })
}
