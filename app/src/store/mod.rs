//! Bytes and ids, kept in the browser. Nothing here knows what a row means.
//!
//! A row is written three times: into memory, at once into a synchronous copy (the *tail*), and in
//! one strict transaction into the database. "Saved" means that the transaction is complete; then
//! the tail gives its copy up. A row that could not be saved stays in the first two places and is
//! tried again with the same key, so trying twice is harmless.
//!
//! A key is written once. The same key with other text is never laid over the first: both are kept,
//! the second under `key~1`, and it is reported.

mod database;
mod keeping;
mod mirror;
pub mod strip;
mod tail;
pub mod tries;
mod why;
mod writing;

pub use database::remove;
pub use keeping::{Everything, Store};
pub use why::Why;
pub use writing::Deed;

/// A sealed entry under its name.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Row {
    /// The entry's name, padded so that the order of text is the order of ids.
    pub key: String,
    /// The sealed entry.
    pub text: String,
}

/// The shelves of the database.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shelf {
    /// Single entries. Never overwritten.
    Rows,
    /// Entries of one stream, packed into one. Never overwritten.
    Packs,
    /// What can be worked out again from the two above, kept so that a start is short.
    Summaries,
    /// Small facts about the store itself, such as when a copy was last taken out.
    Meta,
}

/// What the store has to say. The words are somebody else's.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum StoreEvent {
    /// Rows were taken in and are on their way.
    Saving {
        /// Rows not yet saved.
        waiting: usize,
    },
    /// A transaction is complete: its rows will be there after a restart.
    Saved {
        /// Rows not yet saved.
        waiting: usize,
    },
    /// Rows could not be saved yet. They are in memory and in the tail, and are tried again.
    NotSaved {
        /// What stood in the way.
        why: Why,
        /// Rows not yet saved.
        waiting: usize,
    },
    /// As [`StoreEvent::NotSaved`], but trying again by itself is no use: a person has to act.
    Refused {
        /// What stands in the way.
        why: Why,
    },
    /// The synchronous copy could not be made; the database is still tried.
    NoTail {
        /// What stood in the way.
        why: Why,
    },
    /// A key came with text other than what is kept under it. Both are kept.
    Conflict {
        /// The key as it came.
        key: String,
    },
    /// A row is there that is not text. It is left as it is.
    Unreadable {
        /// Its key.
        key: String,
    },
    /// The database does not open yet: another window holds it, or the phone does not answer. It is
    /// waited for.
    Held,
    /// Another window wants the database in another shape, or holds it so that we cannot open it.
    OpenElsewhere,
    /// The database was cleared away beneath us. Everything still in memory must be given again.
    Emptied,
    /// The database was gone at the start, and its rows were put back from the second copy.
    PutBack {
        /// How many.
        rows: usize,
    },
    /// The database was gone at the start although rows had been saved, and there is no second copy.
    Gone,
}
