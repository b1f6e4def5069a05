//! The text of a pack and of a sheet of summaries: plain, or sealed as single rows are.
//!
//! ```text
//! plain <base64 of the envelopes> practice <base64 of bodies> p:3-<32 hex> <base64 of bodies>
//! plain <base64 of a sheet>
//! sealed1 <envelopes> practice <bodies> p:3-<32 hex> <bodies>
//! sealed1 <sheet>
//! ```
//!
//! Sealed, each part is the base64 of nonce, ciphertext and tag, with a nonce of its own: envelopes
//! under the practice's key, bodies under the key that they name. The pack's name is bound to every
//! part, and each part of bodies to its envelopes, so that no part can stand in another pack. With a
//! person's key gone the rest still opens, and reads as single rows do after an erasure.
//!
//! A person whose key is damaged has their bodies under the practice's, as in single rows.
//!
//! A sheet names people, and is the practice's, because one key opens all of them at a start. Whoever
//! erases a person takes away every sheet that may name them, in the act that destroys the key.

use super::row::SEALED;
use super::secret::{self, Key, Nonce};
use super::{PLAIN, Plain, Unlocked, Unsealed};
use crate::journal::KeyId;
use crate::journal::pack::{PackName, Packed};
use alloc::format;
use alloc::string::String;
use alloc::vec::Vec;
use base64ct::{Base64Unpadded, Encoding};
use zeroize::Zeroizing;

fn bytes(word: &str) -> Result<Vec<u8>, Unsealed> {
    Base64Unpadded::decode_vec(word).map_err(|_| Unsealed::NotThatEntry)
}

impl Plain {
    /// The text of a pack, readable by anybody.
    #[must_use]
    pub fn close_pack(self, packed: &Packed) -> String {
        let mut text = self.close_sheet(&packed.envelopes);
        for (key, bodies) in &packed.bodies {
            text.push_str(&format!(" {key} {}", Base64Unpadded::encode_string(bodies)));
        }
        text
    }

    /// The pack in a text. Whether it is the one its name says is asked by [`Packed::entries`].
    ///
    /// # Errors
    /// [`Unsealed`] says why not; keep the text.
    pub fn open_pack(self, name: PackName, text: &str) -> Result<Packed, Unsealed> {
        let text = text.strip_prefix(PLAIN).ok_or(Unsealed::UnknownCodec)?;
        let mut words = text.split(' ');
        let envelopes = bytes(words.next().unwrap_or_default())?;
        let mut bodies = Vec::new();
        while let Some(key) = words.next() {
            let key = key.parse().map_err(|_| Unsealed::NotThatEntry)?;
            let word = words.next().ok_or(Unsealed::NotThatEntry)?;
            bodies.push((key, bytes(word)?));
        }
        Ok(Packed {
            name,
            envelopes,
            bodies,
        })
    }

    /// The text of a sheet, readable by anybody.
    #[must_use]
    pub fn close_sheet(self, sheet: &[u8]) -> String {
        format!("{PLAIN}{}", Base64Unpadded::encode_string(sheet))
    }

    /// The bytes of a sheet.
    ///
    /// # Errors
    /// [`Unsealed`] says why not. A sheet is a cache: it need not be kept.
    pub fn open_sheet(self, text: &str) -> Result<Vec<u8>, Unsealed> {
        bytes(text.strip_prefix(PLAIN).ok_or(Unsealed::UnknownCodec)?)
    }
}

fn bound(part: &str, name: &str, key: KeyId, after: &str) -> String {
    format!("pinfold {SEALED} {part}\n{name}\n{key}\n{after}")
}

const ENVELOPES: &str = "pack envelopes";
const BODIES: &str = "pack bodies";
const SHEET: &str = "sheet";

fn close(key: &Key, nonce: Nonce, bound: &str, plain: &[u8]) -> Option<String> {
    let nonce = nonce.bytes();
    secret::encrypt(key, nonce, bound, nonce, plain)
}

fn open(key: &Key, bound: &str, word: &str) -> Option<Zeroizing<Vec<u8>>> {
    let bytes = secret::decode(word)?;
    let (nonce, sealed) = secret::split_nonce(&bytes)?;
    secret::decrypt(key, nonce, bound, sealed)
}

impl Unlocked {
    /// The sealed text of a pack; `chance` gives a nonce for each part. Nothing where there is no
    /// chance, or a part is longer than the cipher can take: it is never written unsealed instead.
    #[must_use]
    pub fn close_pack(
        &self,
        packed: &Packed,
        chance: &mut dyn FnMut() -> Option<Nonce>,
    ) -> Option<String> {
        let name = format!("{}", packed.name);
        let named = bound(ENVELOPES, &name, KeyId::Practice, "");
        let first = close(self.practice(), chance()?, &named, &packed.envelopes)?;
        let mut text = format!("{SEALED} {first}");
        for (key, bodies) in &packed.bodies {
            let with = match key {
                KeyId::Person(person) => self.person(*person).unwrap_or(self.practice()),
                KeyId::Practice => self.practice(),
            };
            let word = close(with, chance()?, &bound(BODIES, &name, *key, &first), bodies)?;
            text.push_str(&format!(" {key} {word}"));
        }
        Some(text)
    }

    /// Opens a pack as far as the keys go: bodies whose key is not here are left out.
    ///
    /// # Errors
    /// [`Unsealed`] says why not; keep the text. Never [`Unsealed::NoKey`].
    pub fn open_pack(&self, name: PackName, text: &str) -> Result<Packed, Unsealed> {
        let mut words = text.split(' ');
        if words.next() != Some(SEALED) {
            return Err(Unsealed::UnknownCodec);
        }
        let shown = format!("{name}");
        let first = words.next().ok_or(Unsealed::Broken)?;
        let named = bound(ENVELOPES, &shown, KeyId::Practice, "");
        let envelopes = open(self.practice(), &named, first).ok_or(Unsealed::Broken)?;
        let mut bodies = Vec::new();
        while let Some(key) = words.next() {
            let key: KeyId = key.parse().map_err(|_| Unsealed::Broken)?;
            let word = words.next().ok_or(Unsealed::Broken)?;
            let named = bound(BODIES, &shown, key, first);
            let own = match key {
                KeyId::Person(person) => self.person(person),
                KeyId::Practice => None,
            };
            let part = own.and_then(|own| open(own, &named, word));
            match part.or_else(|| open(self.practice(), &named, word)) {
                Some(part) => bodies.push((key, part.to_vec())),
                None if key != KeyId::Practice && own.is_none() => {}
                None => return Err(Unsealed::Broken),
            }
        }
        Ok(Packed {
            name,
            envelopes: envelopes.to_vec(),
            bodies,
        })
    }

    /// The sealed text of a sheet, bound to its name. Nothing only if it is longer than the cipher can
    /// take.
    #[must_use]
    pub fn close_sheet(&self, name: &str, sheet: &[u8], nonce: Nonce) -> Option<String> {
        let named = bound(SHEET, name, KeyId::Practice, "");
        let word = close(self.practice(), nonce, &named, sheet)?;
        Some(format!("{SEALED} {word}"))
    }

    /// The bytes of a sheet.
    ///
    /// # Errors
    /// [`Unsealed`] says why not. A sheet is a cache: it need not be kept.
    pub fn open_sheet(&self, name: &str, text: &str) -> Result<Vec<u8>, Unsealed> {
        let word = text.strip_prefix(SEALED).and_then(|t| t.strip_prefix(' '));
        let named = bound(SHEET, name, KeyId::Practice, "");
        let sheet = open(self.practice(), &named, word.ok_or(Unsealed::UnknownCodec)?);
        Ok(sheet.ok_or(Unsealed::Broken)?.to_vec())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::id::Stream;
    use crate::journal::Entry;

    #[test]
    fn a_pack_reads_back_and_damage_is_refused() {
        let line = r#"{"id":"7-00000000000000000000000000000001","at":{"wall":5,"mono":1,"zone":0},"stream":"practice","key":"p:3-00000000000000000000000000000001","kind":"note","body":{"text":"x"}}"#;
        let entry = Entry::from_line(line).unwrap();
        let packed = Packed::new(Stream::Practice, [&entry].into_iter()).unwrap();
        let text = Plain.close_pack(&packed);
        let again = Plain.open_pack(packed.name, &text).unwrap();
        assert_eq!(again.entries().unwrap(), core::slice::from_ref(&entry));
        // Without the person's word the rest opens.
        let cut = text.rsplit(' ').nth(2).unwrap();
        let residue = Plain
            .open_pack(packed.name, &format!("{PLAIN}{cut}"))
            .unwrap();
        assert_eq!(residue.entries().unwrap(), [entry.without_body()]);
        for bad in [
            "",
            "plain",
            "sealed9 x",
            "plain !",
            "plain AA p:3 AA",
            "plain AA practice",
        ] {
            assert!(Plain.open_pack(packed.name, bad).is_err(), "{bad}");
        }
        let sheet = Plain.close_sheet(&[1, 2, 255]);
        assert_eq!(Plain.open_sheet(&sheet), Ok(Vec::from([1, 2, 255])));
        assert!(Plain.open_sheet("plain ?").is_err());
    }
}
