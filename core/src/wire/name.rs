//! Names for the outside: UUIDs made from the names of entries, so that the same fact has the same
//! name in every file, on every phone and at every export.

use crate::base::id::EntryId;
use alloc::string::{String, ToString};

/// The system of an identifier whose value is a whole URI, by FHIR's page on identifiers (memory).
pub(super) const URI_SYSTEM: &str = "urn:ietf:rfc:3986";

// FNV-1a with 128 bits; offset basis and prime as in RFC 9923 (memory).
const BASIS: u128 = 0x6c62_272e_07bb_0142_62b8_2175_6295_c58d;
const PRIME: u128 = 0x0000_0000_0100_0000_0000_0000_0000_013b;

/// The UUID of something that belongs to an entry: what it is, the entry, and which of several (in
/// pieces).
///
/// Version 8 of RFC 9562 (section 5.8: 122 bits of the maker's own). They are a hash of the name; an
/// entry's name holds 128 random bits, so two phones do not meet.
pub(super) fn uuid(what: &str, entry: EntryId, which: &[&str]) -> String {
    let mut hash = BASIS;
    let mut add = |text: &str| {
        for byte in text.bytes() {
            hash = (hash ^ u128::from(byte)).wrapping_mul(PRIME);
        }
    };
    for piece in ["pinfold/", what, "/", &entry.to_string(), "/"] {
        add(piece);
    }
    which.iter().for_each(|piece| add(piece));
    let marked = hash & !(0xf << 76) & !(0x3 << 62) | (0x8 << 76) | (0x2 << 62);
    let mut text = String::new();
    for (n, byte) in marked.to_be_bytes().into_iter().enumerate() {
        if matches!(n, 4 | 6 | 8 | 10) {
            text.push('-');
        }
        for digit in [byte >> 4, byte & 15] {
            text.extend(char::from_digit(digit.into(), 16));
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::id::Replica;
    use std::collections::BTreeSet;

    fn id(counter: u64, replica: u128) -> EntryId {
        EntryId {
            counter,
            replica: Replica(replica),
        }
    }

    #[test]
    fn a_hundred_thousand_near_names_are_all_different_and_of_version_8() {
        let mut seen = BTreeSet::new();
        for counter in 1..=5000 {
            for replica in [1, 2, 1 << 127] {
                for what in ["Patient", "Procedure"] {
                    for which in ["", "0", "1", "2027-01-15"] {
                        let name = uuid(what, id(counter, replica), &[which]);
                        assert_eq!(name.len(), 36);
                        assert_eq!(&name[14..15], "8");
                        assert!("89ab".contains(&name[19..20]));
                        assert!(seen.insert(name));
                    }
                }
            }
        }
        assert_eq!(seen.len(), 120_000);
    }

    #[test]
    fn a_name_never_changes() {
        // Servers know visits by it: another value would double every visit that is sent again.
        assert_eq!(
            uuid(
                "Patient",
                id(1, 0x0001_0203_0405_0607_0809_0a0b_0c0d_0e0f),
                &[]
            ),
            "82a76be4-1efd-8ee4-a5f5-b3cdae91a15f"
        );
    }

    #[test]
    fn the_hash_is_fnv_1a() {
        // Published test vectors of FNV (read, in many public repositories).
        let hash = |text: &str| {
            text.bytes().fold(BASIS, |hash, byte| {
                (hash ^ u128::from(byte)).wrapping_mul(PRIME)
            })
        };
        assert_eq!(hash("a"), 0xd228_cb69_6f1a_8caf_7891_2b70_4e4a_8964);
        assert_eq!(hash("foobar"), 0x343e_1662_793c_64bf_6f0d_3597_ba44_6f18);
    }
}
