//! The text of a pack and of a sheet of summaries, for now as plain as a single row.
//!
//! ```text
//! plain <base64 of the envelopes> practice <base64 of bodies> p:3-<32 hex> <base64 of bodies>
//! plain <base64 of a sheet>
//! ```
//!
//! A pack has a word for each key, so each can be sealed under its own: envelopes under the
//! practice's, bodies under the person's. With a person's word gone the rest still opens, and reads
//! as single rows do after an erasure. A sheet names people, and is the practice's: whoever erases a
//! person lays a new base in the act that destroys the key.

use super::{PLAIN, Plain, Unsealed};
use crate::journal::pack::{PackName, Packed};
use alloc::format;
use alloc::string::String;
use alloc::vec::Vec;
use base64ct::{Base64Unpadded, Encoding};

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
