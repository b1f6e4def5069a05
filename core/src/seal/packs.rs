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

/// What each letter of base64 stands for; 64 and more for what is none.
#[expect(
    clippy::indexing_slicing,
    reason = "worked out by the compiler: what goes past the end does not build"
)]
const SIGNS: [u8; 256] = {
    let letters = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut signs = [u8::MAX; 256];
    let mut at = 0;
    while at < letters.len() {
        signs[letters[at] as usize] = at as u8;
        at += 1;
    }
    signs
};

/// The bytes of plain text, by a table: a start reads more than a megabyte of it, and the library's way, which
/// takes the same time for every letter, is made for secrets. Here nothing is one.
fn bytes(word: &str) -> Result<Vec<u8>, Unsealed> {
    let sign = |letter: u8| SIGNS.get(usize::from(letter)).copied().unwrap_or(u8::MAX);
    let (fours, rest) = word.as_bytes().as_chunks::<4>();
    let mut out = alloc::vec![0; fours.len().saturating_mul(3)];
    let mut all = 0;
    for (&[a, b, c, d], three) in fours.iter().zip(out.as_chunks_mut::<3>().0) {
        let [a, b, c, d] = [sign(a), sign(b), sign(c), sign(d)];
        all |= a | b | c | d;
        *three = [a << 2 | b >> 4, b << 4 | c >> 2, c << 6 | d];
    }
    // What is left over in the last letter is nothing: one spelling only.
    match *rest {
        [] => {}
        [a, b] => {
            let [a, b] = [sign(a), sign(b)];
            all |= a | b | if b & 15 == 0 { 0 } else { u8::MAX };
            out.push(a << 2 | b >> 4);
        }
        [a, b, c] => {
            let [a, b, c] = [sign(a), sign(b), sign(c)];
            all |= a | b | c | if c & 3 == 0 { 0 } else { u8::MAX };
            out.extend([a << 2 | b >> 4, b << 4 | c >> 2]);
        }
        _ => all = u8::MAX,
    }
    if all > 63 {
        return Err(Unsealed::NotThatEntry);
    }
    Ok(out)
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
    use proptest::prelude::*;

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

    /// A practice with two people's keys; nonces differ by the turn.
    fn practice() -> (
        Unlocked,
        [crate::base::id::EntryId; 2],
        impl FnMut() -> Option<Nonce>,
    ) {
        use crate::seal::{How, NONCE, New};
        let mut turn = 0_u8;
        let mut chance = move || {
            turn += 1;
            Some(Nonce::from_random([turn; NONCE]))
        };
        let mut next = || chance().unwrap();
        let new = New {
            data: Key::from_bytes(&[1; 32]),
            practice: Key::from_bytes(&[2; 32]),
            nonces: [next(), next(), next()],
        };
        let how = How::new("made-up").unwrap();
        let outer = Key::from_bytes(&[3; 32]);
        let mut unlocked = Unlocked::set_up(new, how, &outer, None).unwrap().unlocked;
        let people = [
            "3-00000000000000000000000000000001",
            "4-00000000000000000000000000000001",
        ];
        let people = people.map(|id| id.parse().unwrap());
        for (person, byte) in people.into_iter().zip([4, 5]) {
            let key = Key::from_bytes(&[byte; 32]);
            let _ = unlocked.add_person(person, key, next()).unwrap();
        }
        (unlocked, people, chance)
    }

    fn packed(first: u64) -> Packed {
        let line = |counter: u64, key: &str, text: &str| {
            let line = format!(
                r#"{{"id":"{counter}-00000000000000000000000000000001","at":{{"wall":5,"mono":1,"zone":0}},"stream":"s:1-00000000000000000000000000000001","key":"{key}","kind":"note","body":{{"text":"{text}"}}}}"#
            );
            Entry::from_line(&line).unwrap()
        };
        let all = [
            line(first, "practice", "nobody's"),
            line(first + 1, "p:3-00000000000000000000000000000001", "Wren's"),
            line(first + 2, "p:4-00000000000000000000000000000001", "Sedge's"),
        ];
        Packed::new(all[0].stream, all.iter()).unwrap()
    }

    fn has(text: &str, private: &str) -> bool {
        let decoded = text.split(' ').filter_map(|word| bytes(word).ok());
        let mut all = decoded.chain([text.as_bytes().to_vec()]);
        all.any(|b| b.windows(private.len()).any(|w| w == private.as_bytes()))
    }

    #[test]
    fn a_sealed_pack_reads_back_and_gives_nothing_away() {
        let (unlocked, _, mut chance) = practice();
        let packed = packed(7);
        let text = unlocked.close_pack(&packed, &mut chance).unwrap();
        assert_eq!(unlocked.open_pack(packed.name, &text), Ok(packed.clone()));
        for private in ["nobody's", "Wren's", "Sedge's", "note"] {
            assert!(has(&Plain.close_pack(&packed), private), "control");
            assert!(!has(&text, private), "{private}");
        }
        assert_eq!(text.split(' ').count(), 8, "{text}");
        // Each part has a nonce of its own: nothing is sealed twice under one key and nonce.
        let words = text.split(' ').filter_map(|word| bytes(word).ok());
        let mut nonces: Vec<Vec<u8>> = words
            .filter(|b| b.len() > 40)
            .map(|b| b[..secret::NONCE].to_vec())
            .collect();
        nonces.sort();
        nonces.dedup();
        assert_eq!(nonces.len(), 4);
        assert_eq!(
            unlocked.close_pack(&packed, &mut || None),
            None,
            "no chance"
        );
    }

    #[test]
    fn no_part_of_a_sealed_pack_stands_in_another() {
        let (unlocked, _, mut chance) = practice();
        let (one, two) = (packed(7), packed(17));
        let texts = [&one, &two].map(|p| unlocked.close_pack(p, &mut chance).unwrap());
        assert!(unlocked.open_pack(one.name, &texts[0]).is_ok(), "control");
        assert_eq!(
            unlocked.open_pack(two.name, &texts[0]),
            Err(Unsealed::Broken)
        );
        let again = unlocked.close_pack(&one, &mut chance).unwrap();
        for other in [&texts[1], &again] {
            let words: Vec<&str> = texts[0].split(' ').collect();
            let others: Vec<&str> = other.split(' ').collect();
            for at in [1, 3, 5, 7] {
                let mut mixed = words.clone();
                mixed[at] = others[at];
                let found = unlocked.open_pack(one.name, &mixed.join(" "));
                assert_eq!(found, Err(Unsealed::Broken), "part {at}");
            }
            let mut swapped = words.clone();
            swapped.swap(5, 7);
            let found = unlocked.open_pack(one.name, &swapped.join(" "));
            assert_eq!(found, Err(Unsealed::Broken));
        }
        for bad in ["", "sealed1", "sealed1 !", "sealed9 AA", "plain AA"] {
            assert!(unlocked.open_pack(one.name, bad).is_err(), "{bad}");
        }
    }

    #[test]
    fn without_a_persons_key_the_rest_of_a_sealed_pack_opens() {
        let (mut unlocked, [wren, sedge], mut chance) = practice();
        let packed = packed(7);
        let text = unlocked.close_pack(&packed, &mut chance).unwrap();
        let bodies = |unlocked: &Unlocked, text: &str| -> Vec<String> {
            let entries = unlocked.open_pack(packed.name, text).unwrap().entries();
            entries
                .unwrap()
                .iter()
                .map(|e| e.body.get().into())
                .collect()
        };
        assert!(bodies(&unlocked, &text)[1].contains("Wren"), "control");
        let _ = unlocked.forget(wren);
        let left = bodies(&unlocked, &text);
        assert_eq!(left[1], "null");
        assert!(left[0].contains("nobody") && left[2].contains("Sedge"));
        // Somebody whose key is damaged is written down under the practice's, as in single rows.
        let under = unlocked.close_pack(&packed, &mut chance).unwrap();
        assert!(bodies(&unlocked, &under)[1].contains("Wren"));
        let _ = unlocked.forget(sedge);
        assert_eq!(bodies(&unlocked, &text)[2], "null");
    }

    #[test]
    fn a_sealed_sheet_opens_under_its_own_name_only() {
        let (unlocked, _, mut chance) = practice();
        let sheet = b"Wren of the Ford";
        let text = unlocked
            .close_sheet("since.1", sheet, chance().unwrap())
            .unwrap();
        assert_eq!(unlocked.open_sheet("since.1", &text), Ok(sheet.to_vec()));
        assert_eq!(unlocked.open_sheet("since.2", &text), Err(Unsealed::Broken));
        assert!(has(&Plain.close_sheet(sheet), "Wren"), "control");
        assert!(!has(&text, "Wren"));
        let plain = Plain.close_sheet(sheet);
        let foreign = unlocked.open_sheet("since.1", &plain);
        assert_eq!(
            foreign,
            Err(Unsealed::UnknownCodec),
            "a plain one is a stranger's"
        );
    }

    proptest! {
        /// Beside the library: what it reads is read alike, what it refuses is refused.
        #[test]
        fn plain_text_is_read_as_the_library_reads_it(
            bytes_in in prop::collection::vec(any::<u8>(), 0..200),
            at in any::<prop::sample::Index>(),
            letter in any::<char>(),
        ) {
            let text = Base64Unpadded::encode_string(&bytes_in);
            prop_assert_eq!(bytes(&text).ok(), Some(bytes_in));
            let mut spoilt: Vec<char> = text.chars().collect();
            if !spoilt.is_empty() {
                let at = at.index(spoilt.len());
                spoilt[at] = letter;
            }
            let spoilt: String = spoilt.into_iter().collect();
            prop_assert_eq!(bytes(&spoilt).ok(), Base64Unpadded::decode_vec(&spoilt).ok());
        }

        #[test]
        fn short_and_odd_ends_too(text in "[A-Za-z0-9+/=_ -]{0,9}") {
            prop_assert_eq!(bytes(&text).ok(), Base64Unpadded::decode_vec(&text).ok());
        }
    }
}
