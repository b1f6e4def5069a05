//! An edge: sealing of entries before they touch any storage. Nonces and keys are passed in; there
//! is no randomness here.
//!
//! A row says in its first word how it is to be read: `plain` or `sealed1`. So both can lie in one
//! store, and a third can come. `DEVELOPERS.md`, "Sealing", draws the keys.

mod code;
mod copy;
mod keys;
mod row;
mod secret;
#[cfg(test)]
mod tests;

pub use code::{BadCode, CODE, RecoveryCode};
pub use copy::{CopyTrouble, LONGEST};
pub use keys::{
    BadKeyRow, Door, How, KeyRow, Locked, New, NotUnlocked, SetUp, Unlocked, Which, WhyLocked,
    WrongRows,
};
pub use row::{Opened, Unsealable};
pub use secret::{KEY, Key, NONCE, Nonce};

mod packs;

use crate::base::id::EntryId;
use crate::journal::Entry;
use alloc::format;
use alloc::string::String;

/// Why a sealed text was not opened. The text is kept as it stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unsealed {
    /// No codec of that name here: from a newer build.
    UnknownCodec,
    /// The key is not here, or was destroyed.
    NoKey,
    /// The seal does not fit: the text was changed, or belongs to another row or another key.
    Broken,
    /// It was opened, but is no entry, or not the one its row says.
    NotThatEntry,
}

/// How a row is to be read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Codec {
    /// No sealing, marked as such: [`Plain`].
    Plain,
    /// Sealed: [`Unlocked`].
    Sealed,
}

impl Codec {
    /// The codec that a row names; nothing if it is of a newer build.
    ///
    /// Anybody who can write to the store can write a plain row, so a practice that is sealed takes
    /// none: only the change from plain to sealed, which the desk knows itself to be in, reads both.
    #[must_use]
    pub fn of(row: &str) -> Option<Self> {
        match row.split_once(' ')?.0 {
            "plain" => Some(Self::Plain),
            row::SEALED => Some(Self::Sealed),
            _ => None,
        }
    }
}

/// What opens the text of one row.
pub trait Seal {
    /// The entry that the row says it is.
    ///
    /// # Errors
    /// [`Unsealed`] says why not; keep the text.
    fn read(&self, id: EntryId, text: &str) -> Result<Entry, Unsealed>;
}

/// No sealing at all, marked as such.
#[derive(Clone, Copy, Debug, Default)]
pub struct Plain;

const PLAIN: &str = "plain ";

impl Plain {
    /// The row of an entry, readable by anybody.
    #[must_use]
    pub fn close(self, entry: &Entry) -> String {
        format!("{PLAIN}{}", entry.to_line())
    }
}

impl Seal for Plain {
    fn read(&self, id: EntryId, text: &str) -> Result<Entry, Unsealed> {
        let line = text.strip_prefix(PLAIN).ok_or(Unsealed::UnknownCodec)?;
        let entry = Entry::from_line(line).map_err(|_| Unsealed::NotThatEntry)?;
        if entry.id == id {
            Ok(entry)
        } else {
            Err(Unsealed::NotThatEntry)
        }
    }
}

impl Seal for Unlocked {
    /// [`Unlocked::open`] for those who want all of it or nothing.
    fn read(&self, id: EntryId, text: &str) -> Result<Entry, Unsealed> {
        match self.open(id, text)? {
            Opened::Whole(entry) => Ok(entry),
            Opened::Residue(_) => Err(Unsealed::NoKey),
        }
    }
}

/// Opens a row's text, and checks that it is the entry its row says.
///
/// # Errors
/// [`Unsealed`] says why not; keep the text.
pub fn open(seal: &impl Seal, id: EntryId, sealed: &str) -> Result<Entry, Unsealed> {
    seal.read(id, sealed)
}
