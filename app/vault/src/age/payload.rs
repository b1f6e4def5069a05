//! The body of a file: chunks of 64 KiB, each sealed under its number and whether it is the last.

use super::{FileKey, derived};
use chacha20poly1305::aead::AeadInOut;
use chacha20poly1305::{ChaCha20Poly1305, KeyInit, Nonce, Tag};
use pinfold_core::seal::CopyTrouble;
use zeroize::{Zeroize, Zeroizing};

/// Bytes of plain text in a chunk.
pub const CHUNK: usize = 65_536;
const TAG: usize = 16;
/// Bytes of a sealed chunk.
const SEALED: usize = 65_552;
/// Bytes of the nonce in front.
pub(super) const NONCE: usize = 16;

/// The cipher of one file.
pub(super) struct Cipher(ChaCha20Poly1305);

impl Cipher {
    pub(super) fn new(file_key: &FileKey, nonce: &[u8; NONCE]) -> Self {
        let key = derived(Some(nonce), file_key, "payload");
        Self(ChaCha20Poly1305::new((&*key).into()))
    }

    /// Eleven bytes of the chunk's number, and one that says whether it is the last.
    fn nonce(number: u64, last: bool) -> Nonce {
        let mut nonce = [0; 12];
        for (place, byte) in nonce.iter_mut().skip(3).zip(number.to_be_bytes()) {
            *place = byte;
        }
        if let Some(end) = nonce.last_mut() {
            *end = u8::from(last);
        }
        nonce.into()
    }

    /// Seals a chunk where it stands; the tag follows it. False, and an empty chunk, where the cipher
    /// refuses 64 KiB, which it does not.
    pub(super) fn seal(&self, number: u64, last: bool, chunk: &mut Vec<u8>) -> bool {
        let nonce = Self::nonce(number, last);
        match self
            .0
            .encrypt_inout_detached(&nonce, &[], chunk.as_mut_slice().into())
        {
            Ok(tag) => {
                chunk.extend_from_slice(&tag);
                true
            }
            Err(_) => {
                chunk.zeroize();
                false
            }
        }
    }

    fn open(&self, number: u64, last: bool, sealed: &[u8]) -> Option<Zeroizing<Vec<u8>>> {
        let (text, tag) = sealed.split_at_checked(sealed.len().checked_sub(TAG)?)?;
        let tag = Tag::try_from(tag).ok()?;
        let mut plain = Zeroizing::new(text.to_vec());
        let nonce = Self::nonce(number, last);
        self.0
            .decrypt_inout_detached(&nonce, &[], plain.as_mut_slice().into(), &tag)
            .ok()?;
        Some(plain)
    }

    /// Opens the next chunk of `rest` and takes it off; true if it says of itself that it is the last.
    /// Only a full chunk may say that it is not.
    pub(super) fn next(
        &self,
        number: u64,
        rest: &mut Sealed<'_>,
    ) -> Result<(Zeroizing<Vec<u8>>, bool), CopyTrouble> {
        let all = rest.bytes();
        let chunk = all.get(..SEALED).unwrap_or(all);
        let full = chunk.len() == SEALED;
        let alone = chunk.len() == all.len();
        // What is likely first: nearly every full chunk with something behind it is not the last.
        let (plain, last) = match self.open(number, alone, chunk) {
            Some(plain) => (plain, alone),
            None => match self.open(number, !alone, chunk) {
                Some(plain) if full => (plain, !alone),
                Some(_) => return Err(CopyTrouble::Cut),
                None if chunk.len() < TAG => return Err(CopyTrouble::Cut),
                None => return Err(CopyTrouble::Changed),
            },
        };
        if plain.is_empty() && number > 0 {
            return Err(CopyTrouble::Changed);
        }
        rest.skip(chunk.len());
        Ok((plain, last))
    }
}

/// What is still sealed: borrowed from the file, or decoded from its form in letters.
pub(super) struct Sealed<'a> {
    pub(super) file: std::borrow::Cow<'a, [u8]>,
    pub(super) at: usize,
}

impl Sealed<'_> {
    pub(super) fn bytes(&self) -> &[u8] {
        self.file.get(self.at..).unwrap_or_default()
    }

    pub(super) fn skip(&mut self, bytes: usize) {
        self.at = self.at.saturating_add(bytes);
    }
}
