//! The sealed text of one entry.
//!
//! ```text
//! sealed1 practice <base64 of: nonce, ciphertext and tag of the whole line>
//! sealed1 p:3-<32 hex> <base64 of: nonce, ciphertext and tag of the envelope> <base64 of: ciphertext and tag of the body>
//! ```
//!
//! The journal says what a destroyed key takes away: the body, not the envelope. So an entry under a
//! person's key is sealed in two parts: its envelope (when, stream, kind) under the practice's key,
//! its body under the person's. With the person's key gone the row reads as the journal itself
//! leaves it after an erasure, so that a restart shows what was shown before it. One nonce serves
//! both parts, once under each key.
//!
//! The entry's name and the key's name are bound to both parts, and the body to its envelope.

use super::secret::{self, Key, Nonce};
use super::{Unsealed, keys::Unlocked};
use crate::base::id::EntryId;
use crate::journal::{Entry, KeyId};
use alloc::boxed::Box;
use alloc::format;
use alloc::string::String;
use alloc::vec::Vec;
use serde_json::value::RawValue;
use zeroize::Zeroizing;

/// The first word of a sealed row.
pub(super) const SEALED: &str = "sealed1";

/// Why an entry was not sealed. Nothing was written; the entry is still in the caller's hand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unsealable {
    /// There is no key of this person: none was made, or it was destroyed.
    NoKey(EntryId),
    /// Longer than the cipher can take.
    TooLong,
}

/// What a sealed row gives.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Opened {
    /// The entry.
    Whole(Entry),
    /// Its body's key is not here, or was destroyed: the entry without its body.
    Residue(Entry),
}

fn bound(part: &str, id: EntryId, key: KeyId, after: &str) -> String {
    format!("pinfold {SEALED} {part}\n{id}\n{key}\n{after}")
}

const WHOLE: &str = "whole";
const ENVELOPE: &str = "envelope";
const BODY: &str = "body";

fn text(bytes: &[u8]) -> Result<&str, Unsealed> {
    core::str::from_utf8(bytes).map_err(|_| Unsealed::NotThatEntry)
}

/// Opens a first part: the nonce is at its front.
fn first_part(
    key: &Key,
    bound: &str,
    word: &str,
) -> Result<([u8; secret::NONCE], Zeroizing<Vec<u8>>), Unsealed> {
    let bytes = secret::decode(word).ok_or(Unsealed::Broken)?;
    let (nonce, sealed) = secret::split_nonce(&bytes).ok_or(Unsealed::Broken)?;
    let plain = secret::decrypt(key, nonce, bound, sealed).ok_or(Unsealed::Broken)?;
    Ok((*nonce, plain))
}

fn entry(line: &[u8], id: EntryId) -> Result<Entry, Unsealed> {
    let entry = Entry::from_line(text(line)?).map_err(|_| Unsealed::NotThatEntry)?;
    if entry.id == id {
        Ok(entry)
    } else {
        Err(Unsealed::NotThatEntry)
    }
}

fn body(bytes: &[u8]) -> Result<Box<RawValue>, Unsealed> {
    RawValue::from_string(text(bytes)?.into()).map_err(|_| Unsealed::NotThatEntry)
}

impl Unlocked {
    /// Seals an entry for its row. Synchronous: it happens between a tap and its redraw.
    ///
    /// # Errors
    /// [`Unsealable`]; nothing is ever written unsealed instead.
    pub fn close(&self, entry: &Entry, nonce: Nonce) -> Result<String, Unsealable> {
        let id = entry.id;
        // A tombstone must be readable when the key it names is gone.
        let person = match entry.key {
            KeyId::Person(person) if entry.erases().is_none() => person,
            _ => return self.close_whole(entry, nonce),
        };
        let key = self.person(person).ok_or(Unsealable::NoKey(person))?;
        let envelope = Zeroizing::new(entry.clone().without_body().to_line());
        let named = bound(ENVELOPE, id, entry.key, "");
        let nonce = nonce.bytes();
        let first = secret::encrypt(self.practice(), nonce, &named, nonce, envelope.as_bytes())
            .ok_or(Unsealable::TooLong)?;
        let named = bound(BODY, id, entry.key, &first);
        let second = secret::encrypt(key, nonce, &named, &[], entry.body.get().as_bytes())
            .ok_or(Unsealable::TooLong)?;
        Ok(format!("{SEALED} {} {first} {second}", entry.key))
    }

    /// Seals an entry whole under the practice's key, whosever it is: for a person whose own key is
    /// damaged, because what happened is never refused. Destroying a person's key does not reach such
    /// a row.
    ///
    /// # Errors
    /// [`Unsealable::TooLong`].
    pub fn close_whole(&self, entry: &Entry, nonce: Nonce) -> Result<String, Unsealable> {
        let line = Zeroizing::new(entry.to_line());
        let bound = bound(WHOLE, entry.id, KeyId::Practice, "");
        let nonce = nonce.bytes();
        let word = secret::encrypt(self.practice(), nonce, &bound, nonce, line.as_bytes())
            .ok_or(Unsealable::TooLong)?;
        Ok(format!("{SEALED} {} {word}", KeyId::Practice))
    }

    /// Opens a row as far as the keys go.
    ///
    /// # Errors
    /// [`Unsealed`] says why not; keep the text. Never [`Unsealed::NoKey`]: that is
    /// [`Opened::Residue`].
    pub fn open(&self, id: EntryId, sealed: &str) -> Result<Opened, Unsealed> {
        let mut words = sealed.split(' ');
        if words.next() != Some(SEALED) {
            return Err(Unsealed::UnknownCodec);
        }
        let key = words.next().and_then(|word| word.parse().ok());
        let key: KeyId = key.ok_or(Unsealed::Broken)?;
        match (key, words.next(), words.next(), words.next()) {
            (KeyId::Practice, Some(word), None, None) => {
                let bound = bound(WHOLE, id, key, "");
                let (_, line) = first_part(self.practice(), &bound, word)?;
                entry(&line, id).map(Opened::Whole)
            }
            (KeyId::Person(person), Some(first), Some(second), None) => {
                let named = bound(ENVELOPE, id, key, "");
                let (nonce, envelope) = first_part(self.practice(), &named, first)?;
                let mut found = entry(&envelope, id)?;
                if found.key != key {
                    return Err(Unsealed::NotThatEntry);
                }
                let Some(personal) = self.person(person) else {
                    return Ok(Opened::Residue(found));
                };
                let bytes = secret::decode(second).ok_or(Unsealed::Broken)?;
                let named = bound(BODY, id, key, first);
                let plain = secret::decrypt(personal, &nonce, &named, &bytes);
                found.body = body(&plain.ok_or(Unsealed::Broken)?)?;
                Ok(Opened::Whole(found))
            }
            _ => Err(Unsealed::Broken),
        }
    }
}
