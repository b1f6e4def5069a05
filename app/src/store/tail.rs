//! The tail: a synchronous copy of rows that are not saved yet, one local storage key each. The
//! browser writes it to disk seconds later at best, so it is a second chance and never the only one.

use super::writing::beside_key;
use super::{Row, Why};
use crate::device::local::at_hand;
use gloo_storage::errors::StorageError;
use gloo_storage::{LocalStorage, Storage};
use std::collections::BinaryHeap;

/// Where the copies of one database's rows lie: two databases never share a tail.
fn prefix(database: &str) -> String {
    format!("{database}.tail.")
}

/// What the tail held at the start.
#[derive(Default)]
pub(super) struct Tail {
    /// In the order of keys.
    pub(super) rows: Vec<Row>,
    /// Keys whose text cannot be read; they are left as they are.
    pub(super) unreadable: Vec<String>,
}

/// Copies a row. Gives back the name under which [`drop`] will find the copy.
pub(super) fn keep(database: &str, row: &Row) -> Result<String, Why> {
    if !at_hand() {
        return Err(Why::Denied);
    }
    let mut key = row.key.clone();
    let mut ordinal = 0_u32;
    loop {
        let name = format!("{}{key}", prefix(database));
        match LocalStorage::get::<String>(&name) {
            Ok(there) if there == row.text => return Ok(name),
            Err(StorageError::KeyNotFound(_)) => {
                LocalStorage::set(&name, &row.text).map_err(|why| match why {
                    StorageError::JsError(why) if why.name == "QuotaExceededError" => Why::Full,
                    _ => Why::Other,
                })?;
                return Ok(name);
            }
            // Other text, or something that cannot be read: not ours to lay over.
            Ok(_) | Err(_) => {
                ordinal = ordinal.saturating_add(1);
                key = beside_key(&row.key, ordinal);
            }
        }
    }
}

/// Gives a copy up, once its row is saved. Only if it is still the same text.
pub(super) fn drop(name: &str, text: &str) {
    if at_hand() && LocalStorage::get::<String>(name).is_ok_and(|there| there == text) {
        LocalStorage::delete(name);
    }
}

/// Everything in the tail.
pub(super) fn read(database: &str) -> Tail {
    let prefix = prefix(database);
    let mut tail = Tail::default();
    if !at_hand() {
        return tail;
    }
    let store = LocalStorage::raw();
    // Names first: reading changes nothing, but a moving list is not to be walked by position.
    let names: Vec<String> = (0..LocalStorage::length())
        .filter_map(|index| store.key(index).ok().flatten())
        .collect();
    for name in names {
        let Some(key) = name.strip_prefix(prefix.as_str()) else {
            continue;
        };
        let key = String::from(key);
        match LocalStorage::get(&name) {
            Ok(text) => tail.rows.push(Row { key, text }),
            Err(_) => tail.unreadable.push(key),
        }
    }
    // A heap's sort: as quick on thousands of rows as the library's own, and a twentieth of its code.
    tail.rows = BinaryHeap::from(tail.rows).into_sorted_vec();
    tail
}

/// The name of the copy of a row that [`read`] found.
pub(super) fn name(database: &str, key: &str) -> String {
    format!("{}{key}", prefix(database))
}
