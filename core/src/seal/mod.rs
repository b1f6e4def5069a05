//! An edge: sealing of entries before they touch any storage. Nonces and keys are passed in; there
//! is no randomness here.
//!
//! The first codec is plain text, and says so in its first word, so that a sealed one can stand
//! beside it in the same store.

mod packs;

use crate::base::id::EntryId;
use crate::journal::{Entry, KeyId};
use alloc::format;
use alloc::string::String;

/// Why a sealed text was not opened. The text is kept as it stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unsealed {
    /// No codec of that name here: from a newer build.
    UnknownCodec,
    /// The key is not here, or was destroyed.
    NoKey,
    /// It was opened, but is no entry, or not the one its row says.
    NotThatEntry,
}

/// Seals and opens the text of one entry. The entry's name is bound to the seal, so a text moved to
/// another row does not open.
pub trait Seal {
    /// The sealed text. Synchronous: it happens between a tap and its redraw.
    fn seal(&self, id: EntryId, key: KeyId, plain: &str) -> String;
    /// The plain text.
    ///
    /// # Errors
    /// [`Unsealed`] says why not.
    fn open(&self, id: EntryId, sealed: &str) -> Result<String, Unsealed>;
}

/// No sealing at all, marked as such.
#[derive(Clone, Copy, Debug, Default)]
pub struct Plain;

const PLAIN: &str = "plain ";

impl Seal for Plain {
    fn seal(&self, _id: EntryId, _key: KeyId, plain: &str) -> String {
        format!("{PLAIN}{plain}")
    }

    fn open(&self, _id: EntryId, sealed: &str) -> Result<String, Unsealed> {
        sealed
            .strip_prefix(PLAIN)
            .map(Into::into)
            .ok_or(Unsealed::UnknownCodec)
    }
}

/// Seals an entry for its row.
#[must_use]
pub fn close(seal: &impl Seal, entry: &Entry) -> String {
    seal.seal(entry.id, entry.key, &entry.to_line())
}

/// Opens a row's text, and checks that it is the entry its row says.
///
/// # Errors
/// [`Unsealed`] says why not; keep the text.
pub fn open(seal: &impl Seal, id: EntryId, sealed: &str) -> Result<Entry, Unsealed> {
    let plain = seal.open(id, sealed)?;
    let entry = Entry::from_line(&plain).map_err(|_| Unsealed::NotThatEntry)?;
    if entry.id == id {
        Ok(entry)
    } else {
        Err(Unsealed::NotThatEntry)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_row_opens_only_as_itself() {
        let line = r#"{"id":"1-00000000000000000000000000000001","at":{"wall":5,"mono":1,"zone":0},"stream":"practice","kind":"note","body":{"text":"x"}}"#;
        let entry = Entry::from_line(line).unwrap();
        let sealed = close(&Plain, &entry);
        assert_eq!(open(&Plain, entry.id, &sealed), Ok(entry.clone()));
        let other = EntryId {
            counter: 2,
            replica: entry.id.replica,
        };
        assert_eq!(open(&Plain, other, &sealed), Err(Unsealed::NotThatEntry));
        assert_eq!(
            open(&Plain, entry.id, "sealed9 xyz"),
            Err(Unsealed::UnknownCodec)
        );
    }
}
