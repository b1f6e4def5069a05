//! Keys from what a person types: Argon2id for a passphrase, HKDF for a recovery code.
//!
//! Text form of parameters and salt, one word: `argon2id,v=19,m=19456,t=2,p=1,<base64 of 16 bytes>`.

use argon2::{Algorithm, Argon2, Block, Params, Version};
use base64ct::{Base64Unpadded, Encoding};
use core::fmt;
use core::str::FromStr;
use hkdf::Hkdf;
use sha2_worker::Sha256;
use zeroize::{Zeroize, Zeroizing};

/// Bytes of a key.
pub const KEY: usize = 32;
/// Bytes of a salt.
pub const SALT: usize = 16;

/// How much work a guess costs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Cost {
    /// Memory in KiB.
    m: u32,
    /// Passes over it.
    t: u32,
    /// Lanes.
    p: u32,
}

impl Cost {
    /// The least that is written or read: m = 19 456 KiB (19 MiB), t = 2, p = 1, one of the minimum
    /// settings of the OWASP Password Storage Cheat Sheet [read].
    pub const LEAST: Self = Self {
        m: 19_456,
        t: 2,
        p: 1,
    };

    /// What a phone may be asked for, cheapest first. The memory stops at 64 MiB, because a browser
    /// does not give memory back to the phone before the worker ends; above that, passes (our choice).
    pub const LADDER: [Self; 5] = [
        Self::LEAST,
        Self {
            t: 3,
            ..Self::LEAST
        },
        Self {
            m: 32_768,
            t: 3,
            p: 1,
        },
        Self {
            m: 65_536,
            t: 3,
            p: 1,
        },
        Self {
            m: 65_536,
            t: 5,
            p: 1,
        },
    ];

    /// The longest that an unlocking should take on the phone that set it, in milliseconds (our choice).
    pub const WANTED_MS: u32 = 700;

    /// More than this is not computed, whatever a row says: 256 MiB, 16 passes, 4 lanes.
    const MOST: Self = Self {
        m: 262_144,
        t: 16,
        p: 4,
    };

    /// The dearest rung that should take no longer than [`Cost::WANTED_MS`] on a phone where
    /// [`Cost::LEAST`] took `least_ms`. Work grows with memory times passes. Never below the least,
    /// however slow the phone.
    #[must_use]
    pub fn for_phone(least_ms: u32) -> Self {
        let work = |cost: &Self| u64::from(cost.m).saturating_mul(u64::from(cost.t));
        let wanted = u64::from(Self::WANTED_MS).saturating_mul(work(&Self::LEAST));
        let fits = |cost: &&Self| work(cost).saturating_mul(u64::from(least_ms.max(1))) <= wanted;
        let dearest = Self::LADDER.iter().rev().find(fits);
        dearest.copied().unwrap_or(Self::LEAST)
    }

    fn is_bearable(self) -> bool {
        let (least, most) = (Self::LEAST, Self::MOST);
        (least.m..=most.m).contains(&self.m)
            && (least.t..=most.t).contains(&self.t)
            && (least.p..=most.p).contains(&self.p)
    }

    /// Memory in KiB.
    #[must_use]
    pub const fn kib(self) -> u32 {
        self.m
    }
}

/// Parameters and salt of one passphrase. They are no secret.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct How {
    cost: Cost,
    salt: [u8; SALT],
}

/// Why no key was made.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum NoKey {
    /// The text is not of this form, or asks for less than is safe or more than is bearable.
    Text,
    /// Not enough memory now.
    Memory,
    /// An empty passphrase.
    Empty,
}

impl How {
    /// For a new passphrase: a cost, and 16 bytes of the browser's generator for secrets.
    #[must_use]
    pub const fn new(cost: Cost, salt: [u8; SALT]) -> Self {
        Self { cost, salt }
    }

    /// The cost.
    #[must_use]
    pub const fn cost(&self) -> Cost {
        self.cost
    }

    /// The key of a passphrase, taken as the bytes of its text: nothing is trimmed or changed.
    ///
    /// # Errors
    /// [`NoKey`]. A wrong passphrase is no error here: it makes a key that opens nothing.
    pub fn key(&self, passphrase: &str) -> Result<Zeroizing<[u8; KEY]>, NoKey> {
        if passphrase.is_empty() {
            return Err(NoKey::Empty);
        }
        let Cost { m, t, p } = self.cost;
        let params = Params::new(m, t, p, Some(KEY)).map_err(|_| NoKey::Text)?;
        let blocks = params.block_count();
        let mut memory: Vec<Block> = Vec::new();
        memory
            .try_reserve_exact(blocks)
            .map_err(|_| NoKey::Memory)?;
        memory.resize(blocks, Block::new());
        let mut key = Zeroizing::new([0; KEY]);
        let done = Argon2::new(Algorithm::Argon2id, Version::V0x13, params)
            .hash_password_into_with_memory(
                passphrase.as_bytes(),
                &self.salt,
                key.as_mut_slice(),
                &mut memory,
            );
        for block in &mut memory {
            block.zeroize();
        }
        done.map_err(|_| NoKey::Text)?;
        Ok(key)
    }
}

impl fmt::Display for How {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Cost { m, t, p } = self.cost;
        let salt = Base64Unpadded::encode_string(&self.salt);
        write!(f, "argon2id,v=19,m={m},t={t},p={p},{salt}")
    }
}

impl FromStr for How {
    type Err = NoKey;
    fn from_str(text: &str) -> Result<Self, NoKey> {
        let mut words = text.split(',');
        if (words.next(), words.next()) != (Some("argon2id"), Some("v=19")) {
            return Err(NoKey::Text);
        }
        let mut number = |name: &str| {
            let digits = words.next()?.strip_prefix(name)?;
            let plain = digits.bytes().all(|b| b.is_ascii_digit()) && !digits.starts_with('0');
            digits.parse::<u32>().ok().filter(|_| plain)
        };
        let (m, t, p) = (number("m="), number("t="), number("p="));
        let (Some(m), Some(t), Some(p)) = (m, t, p) else {
            return Err(NoKey::Text);
        };
        let cost = Cost { m, t, p };
        let mut salt = [0; SALT];
        let word = words.next().ok_or(NoKey::Text)?;
        let decoded = Base64Unpadded::decode(word, &mut salt).map_err(|_| NoKey::Text)?;
        if decoded.len() != SALT || words.next().is_some() || !cost.is_bearable() {
            return Err(NoKey::Text);
        }
        Ok(Self { cost, salt })
    }
}

/// The key of a recovery code. 128 random bits need no slow derivation: nobody guesses them.
#[must_use]
pub fn recovery_key(code: &[u8; 16]) -> Zeroizing<[u8; KEY]> {
    let mut key = Zeroizing::new([0; KEY]);
    // 32 bytes are far below HKDF's most, which is its only refusal.
    let made =
        Hkdf::<Sha256>::new(None, code).expand(b"pinfold recovery code 1", key.as_mut_slice());
    debug_assert!(made.is_ok());
    key
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::property;
    use proptest::prelude::*;

    fn hex(bytes: &[u8]) -> String {
        bytes.iter().map(|b| format!("{b:02x}")).collect()
    }

    /// RFC 9106, section 5.3 (Argon2id): 32 KiB, three passes, four lanes, with secret and associated
    /// data, which this program does not use. Written down from memory; `tests/outside/run.sh vault`
    /// asks other libraries for what this program does use.
    #[test]
    fn the_rfcs_example() {
        let data = argon2::AssociatedData::new(&[4; 12]).unwrap();
        let params = argon2::ParamsBuilder::new()
            .m_cost(32)
            .t_cost(3)
            .p_cost(4)
            .output_len(32)
            .data(data)
            .build()
            .unwrap();
        let argon =
            Argon2::new_with_secret(&[3; 8], Algorithm::Argon2id, Version::V0x13, params).unwrap();
        let mut tag = [0; 32];
        argon
            .hash_password_into(&[1; 32], &[2; 16], &mut tag)
            .unwrap();
        assert_eq!(
            hex(&tag),
            "0d640df58d78766c08c037a34a8b53c9d01ef0452d75b65eb52520e96b01e659"
        );
    }

    /// RFC 5869, appendix A.1. Written down from memory, as above.
    #[test]
    fn hkdfs_example() {
        let salt: Vec<u8> = (0..=12).collect();
        let info: Vec<u8> = (0xf0..=0xf9).collect();
        let mut okm = [0; 42];
        Hkdf::<Sha256>::new(Some(&salt), &[0x0b; 22])
            .expand(&info, &mut okm)
            .unwrap();
        assert_eq!(
            hex(&okm),
            "3cb25f25faacd57a90434f64d0362f2a2d2d0a90cf1a5a4c5db02d56ecc4c5bf34007208d5b887185865"
        );
    }

    #[test]
    fn a_passphrase_has_one_key() {
        let how = How::new(Cost::LEAST, *b"0123456789abcdef");
        let key = how.key("a stile over the wall").unwrap();
        assert_eq!(how.key("a stile over the wall"), Ok(key.clone()));
        assert_ne!(how.key("a stile over the wall "), Ok(key.clone()));
        let salted = How::new(Cost::LEAST, *b"0123456789abcdeF");
        assert_ne!(salted.key("a stile over the wall"), Ok(key));
        assert_eq!(how.key(""), Err(NoKey::Empty));
        assert_ne!(recovery_key(&[0; 16]), recovery_key(&[1; 16]));
    }

    #[test]
    fn the_text_form_is_read_back_and_nothing_weaker_is() {
        for cost in Cost::LADDER {
            let how = How::new(cost, [7; SALT]);
            assert_eq!(how.to_string().parse(), Ok(how.clone()));
            assert!(
                pinfold_core::seal::How::new(&how.to_string()).is_some(),
                "fits into the row of a wrapped key"
            );
        }
        let fine = "argon2id,v=19,m=19456,t=2,p=1,AAECAwQFBgcICQoLDA0ODw";
        assert!(fine.parse::<How>().is_ok(), "control");
        for (from, to) in [
            ("m=19456", "m=19455"),
            ("m=19456", "m=262145"),
            ("m=19456", "m=019456"),
            ("m=19456", "m=+19456"),
            ("m=19456", "m=99999999999"),
            ("t=2", "t=1"),
            ("t=2", "t=17"),
            ("p=1", "p=0"),
            ("p=1", "p=5"),
            ("argon2id", "argon2i"),
            ("v=19", "v=16"),
            ("DA0ODw", "DA0OD"),
            ("DA0ODw", "DA0ODx"),
            ("DA0ODw", "DA0ODw=="),
            ("DA0ODw", "DA0ODw,"),
            ("DA0ODw", "DA0ODxAR"),
            ("t=2,p=1", "p=1,t=2"),
        ] {
            let text = fine.replace(from, to);
            assert_eq!(text.parse::<How>(), Err(NoKey::Text), "{text}");
        }
        let some = prop_oneof![
            any::<String>(),
            "argon2id,v=19,m=[0-9]{0,12},t=[0-9]{0,3},p=[0-9]{0,3},[A-Za-z0-9+/=]{0,30}"
        ];
        property("parameters", 1000, &some, |text| {
            if let Ok(how) = text.parse::<How>() {
                prop_assert_eq!(how.to_string(), text);
            }
            Ok(())
        });
    }

    #[test]
    fn the_ladder_is_climbed_by_what_was_measured() {
        assert_eq!(Cost::LADDER[0], Cost::LEAST);
        assert!(Cost::LADDER.iter().all(|cost| cost.is_bearable()));
        let work = |cost: Cost| cost.m * cost.t;
        assert!(Cost::LADDER.windows(2).all(|w| work(w[0]) < work(w[1])));
        // The figures beside are what the rung is reckoned to take.
        for (least_ms, rung) in [
            (0, 4),
            (22, 4),  // 185 ms
            (83, 4),  // 699 ms
            (84, 3),  // 424 ms
            (138, 3), // 697 ms
            (139, 2), // 351 ms
            (277, 2), // 699 ms
            (278, 1), // 417 ms
            (466, 1), // 699 ms
            (467, 0),
            (700, 0),
            (5_000, 0),
            (u32::MAX, 0),
        ] {
            assert_eq!(
                Cost::for_phone(least_ms),
                Cost::LADDER[rung],
                "{least_ms} ms"
            );
        }
    }
}
