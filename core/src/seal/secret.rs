//! Keys and nonces as values, and the one cipher they go into: XChaCha20-Poly1305.
//!
//! The cipher, its tag and its comparison are the crate's. What stands here is which bytes go in.

use alloc::boxed::Box;
use alloc::string::String;
use alloc::vec::Vec;
use base64ct::{Base64Unpadded, Encoding};
use chacha20poly1305::aead::AeadInOut;
use chacha20poly1305::{KeyInit, Tag, XChaCha20Poly1305, XNonce};
use core::fmt;
use zeroize::{Zeroize, Zeroizing};

/// Bytes of a key.
pub const KEY: usize = 32;
/// Bytes of a nonce.
pub const NONCE: usize = 24;
/// Bytes of the tag at the end of what was sealed.
const TAG: usize = 16;

/// 256 secret bits. Overwritten when it is dropped; not printed, not compared, not copied by
/// anybody outside this room.
///
/// It stands on the heap, so that moving the value leaves no copy behind.
pub struct Key(Box<[u8; KEY]>);

impl Key {
    /// A key from 32 bytes of the browser's generator for secrets, or of a key derivation. The
    /// caller's own copy is the caller's to overwrite.
    #[must_use]
    pub fn from_bytes(bytes: &[u8; KEY]) -> Self {
        Self(Box::new(*bytes))
    }

    pub(super) fn bytes(&self) -> &[u8; KEY] {
        &self.0
    }
}

impl Drop for Key {
    fn drop(&mut self) {
        self.0.zeroize();
    }
}

impl fmt::Debug for Key {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Key")
    }
}

/// 192 random bits for one sealing. It is used up by it: the type is neither copied nor cloned, so
/// sealing two things with one nonce does not compile.
///
/// ```compile_fail
/// # use pinfold_core::seal::Nonce;
/// fn twice(_: Nonce, _: Nonce) {}
/// let nonce = Nonce::from_random([7; 24]);
/// twice(nonce, nonce);
/// ```
///
/// The same with two nonces does:
///
/// ```
/// # use pinfold_core::seal::Nonce;
/// fn twice(_: Nonce, _: Nonce) {}
/// twice(Nonce::from_random([7; 24]), Nonce::from_random([8; 24]));
/// ```
#[derive(Debug)]
pub struct Nonce([u8; NONCE]);

impl Nonce {
    /// A nonce from 24 bytes of the browser's generator for secrets. Never from a counter, a clock
    /// or a copy: 192 random bits do not meet twice, and nothing else is checked.
    #[must_use]
    pub fn from_random(bytes: [u8; NONCE]) -> Self {
        Self(bytes)
    }

    pub(super) fn bytes(&self) -> &[u8; NONCE] {
        &self.0
    }
}

/// Ciphertext and tag, in front of them what `before` holds. Nothing only if the text is longer
/// than the cipher can take (256 GiB).
pub(super) fn encrypt(
    key: &Key,
    nonce: &[u8; NONCE],
    bound: &str,
    before: &[u8],
    plain: &[u8],
) -> Option<String> {
    // The plain text is copied into its place and encrypted there: no second copy is left behind.
    let mut out = Vec::new();
    out.reserve_exact(before.len().saturating_add(plain.len()).saturating_add(TAG));
    out.extend_from_slice(before);
    out.extend_from_slice(plain);
    let (_, text) = out.split_at_mut_checked(before.len())?;
    let tag = XChaCha20Poly1305::new(key.bytes().into()).encrypt_inout_detached(
        &XNonce::from(*nonce),
        bound.as_bytes(),
        text.into(),
    );
    let Ok(tag) = tag else {
        out.zeroize();
        return None;
    };
    out.extend_from_slice(&tag);
    Some(Base64Unpadded::encode_string(&out))
}

/// The bytes of a base64 word: standard alphabet, no padding, one spelling only.
pub(super) fn decode(word: &str) -> Option<Vec<u8>> {
    Base64Unpadded::decode_vec(word).ok()
}

/// Opens ciphertext and tag. Nothing if key, nonce, bound text, ciphertext or tag is another.
pub(super) fn decrypt(
    key: &Key,
    nonce: &[u8; NONCE],
    bound: &str,
    sealed: &[u8],
) -> Option<Zeroizing<Vec<u8>>> {
    let (text, tag) = sealed.split_at_checked(sealed.len().checked_sub(TAG)?)?;
    let tag = Tag::try_from(tag).ok()?;
    let mut plain = Zeroizing::new(text.to_vec());
    XChaCha20Poly1305::new(key.bytes().into())
        .decrypt_inout_detached(
            &XNonce::from(*nonce),
            bound.as_bytes(),
            plain.as_mut_slice().into(),
            &tag,
        )
        .ok()?;
    Some(plain)
}

/// Takes the nonce off the front.
pub(super) fn split_nonce(bytes: &[u8]) -> Option<(&[u8; NONCE], &[u8])> {
    bytes.split_first_chunk::<NONCE>()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn hex(text: &str) -> Vec<u8> {
        text.as_bytes()
            .chunks(2)
            .map(|two| u8::from_str_radix(core::str::from_utf8(two).unwrap(), 16).unwrap())
            .collect()
    }

    /// draft-irtf-cfrg-xchacha-03, appendix A.3.1. Written down from memory; `tests/outside/run.sh
    /// vault` asks libsodium for the same numbers.
    #[test]
    fn the_drafts_example() {
        let plain = b"Ladies and Gentlemen of the class of '99: If I could offer you only one tip \
for the future, sunscreen would be it.";
        let mut key = [0; 32];
        key.copy_from_slice(&hex(
            "808182838485868788898a8b8c8d8e8f909192939495969798999a9b9c9d9e9f",
        ));
        let mut nonce = [0; 24];
        nonce.copy_from_slice(&hex("404142434445464748494a4b4c4d4e4f5051525354555657"));
        let aad = hex("50515253c0c1c2c3c4c5c6c7");
        let mut text = plain.to_vec();
        let cipher = XChaCha20Poly1305::new(&key.into());
        let tag = cipher
            .encrypt_inout_detached(&nonce.into(), &aad, text.as_mut_slice().into())
            .unwrap();
        assert_eq!(
            text,
            hex(
                "bd6d179d3e83d43b9576579493c0e939572a1700252bfaccbed2902c21396cbb\
731c7f1b0b4aa6440bf3a82f4eda7e39ae64c6708c54c216cb96b72e1213b452\
2f8c9ba40db5d945b11b69b982c1bb9e3f3fac2bc369488f76b2383565d3fff9\
21f9664c97637da9768812f615c68b13b52e"
            )
        );
        assert_eq!(tag.as_slice(), hex("c0875924c1c7987947deafd8780acf49"));
        // And the same through our own two functions, with text as what is bound.
        let key = Key::from_bytes(&key);
        let word = encrypt(&key, &nonce, "bound", &nonce, plain).unwrap();
        let bytes = decode(&word).unwrap();
        let (front, sealed) = split_nonce(&bytes).unwrap();
        assert_eq!(front, &nonce);
        let opened = decrypt(&key, front, "bound", sealed).unwrap();
        assert_eq!(opened.as_slice(), plain);
        assert!(decrypt(&key, front, "other", sealed).is_none());
    }

    #[test]
    fn base64_has_one_spelling() {
        assert_eq!(decode("AAE"), Some(alloc::vec![0, 1]));
        for other in ["AAF", "AAE=", "AA E", "AAE\n", "A", "AA_", "é"] {
            assert_eq!(decode(other), None, "{other}");
        }
    }

    #[test]
    fn a_key_is_not_printed() {
        let key = Key::from_bytes(&[0x41; 32]);
        assert_eq!(alloc::format!("{key:?}"), "Key");
    }
}
