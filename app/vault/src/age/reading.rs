//! Reading a file: everything that can be wrong has a name, and nothing is given out unchecked.

use super::header::{self, Header};
use super::payload::{Cipher, NONCE, Sealed};
use super::{FileKey, armour, wrap_key};
use chacha20poly1305::aead::AeadInOut;
use chacha20poly1305::{ChaCha20Poly1305, KeyInit, Nonce, Tag};
use pinfold_core::seal::CopyTrouble;
use std::borrow::Cow;
use zeroize::Zeroizing;

/// What a file may cost.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Limits {
    /// The longest file, in bytes.
    pub bytes: usize,
    /// The greatest work, as the power of two: 18 takes 256 MiB.
    pub work: u8,
}

impl Limits {
    /// On a phone: 256 MiB of file, and work of 2^18, which other programs write by default (our choice
    /// after the format's advice to have a limit).
    pub const PHONE: Self = Self {
        bytes: 268_435_456,
        work: 18,
    };
    /// Never more than this, whatever is asked: 1 GiB of memory.
    const WORK: u8 = 20;
}

/// A file whose passphrase was right and whose header is whole. Its chunks come out one by one, each
/// checked. **The last one says whether the file is whole**: take nothing in before the end came.
pub struct Reading<'a> {
    cipher: Cipher,
    rest: Sealed<'a>,
    number: u64,
    state: State,
}

enum State {
    /// More chunks are to come.
    Within,
    /// The last one came and something follows, or nothing follows and it did not come.
    Wrong(CopyTrouble),
    /// All has been said.
    Over,
}

/// Opens a file with its passphrase.
///
/// # Errors
/// [`CopyTrouble`] says what is wrong. Nothing was given out.
pub fn open<'a>(
    file: &'a [u8],
    passphrase: &str,
    limits: Limits,
) -> Result<Reading<'a>, CopyTrouble> {
    let file = bytes_of(file, limits)?;
    let header = Header::read(&file)?;
    let (salt, work, wrapped) = header.passphrase()?;
    if work > limits.work.min(Limits::WORK) {
        return Err(CopyTrouble::Work);
    }
    let key = wrap_key(passphrase, &salt, work)?;
    let file_key = unwrap(&key, wrapped).ok_or(CopyTrouble::WrongPassphrase)?;
    header.check(&file_key)?;
    let at = file.len().saturating_sub(header.payload.len());
    Reading::start(&file_key, Sealed { file, at })
}

/// The file's bytes, out of their form in letters if they are in it.
pub(super) fn bytes_of(file: &[u8], limits: Limits) -> Result<Cow<'_, [u8]>, CopyTrouble> {
    if file.len() > limits.bytes {
        return Err(CopyTrouble::TooLarge);
    }
    let file = if armour::is_armour(file) {
        Cow::Owned(armour::decode(file)?)
    } else {
        Cow::Borrowed(file)
    };
    if header::is_header(&file) {
        Ok(file)
    } else if armour::begins_late(&file) {
        Err(CopyTrouble::ArmourExtra)
    } else {
        Err(CopyTrouble::NotSealed)
    }
}

fn unwrap(key: &[u8; 32], wrapped: &[u8; 32]) -> Option<FileKey> {
    let (text, tag) = wrapped.split_at_checked(16)?;
    let mut file_key: FileKey = Zeroizing::new(text.try_into().ok()?);
    let tag = Tag::try_from(tag).ok()?;
    // The nonce is fixed: this key wraps once.
    ChaCha20Poly1305::new(key.into())
        .decrypt_inout_detached(&Nonce::default(), &[], file_key.as_mut_slice().into(), &tag)
        .ok()?;
    Some(file_key)
}

impl<'a> Reading<'a> {
    pub(super) fn start(file_key: &FileKey, mut rest: Sealed<'a>) -> Result<Self, CopyTrouble> {
        let nonce = rest.bytes().first_chunk::<NONCE>();
        let nonce = nonce.ok_or(CopyTrouble::Header)?;
        let cipher = Cipher::new(file_key, nonce);
        rest.skip(NONCE);
        Ok(Self {
            cipher,
            rest,
            number: 0,
            state: State::Within,
        })
    }

    /// All of it, or nothing.
    ///
    /// # Errors
    /// [`CopyTrouble`] says what is wrong.
    pub fn all(self) -> Result<Zeroizing<Vec<u8>>, CopyTrouble> {
        // The plain text is no longer than what is sealed, so it never moves as it grows.
        let mut out = Zeroizing::new(Vec::new());
        out.try_reserve_exact(self.rest.bytes().len())
            .map_err(|_| CopyTrouble::Memory)?;
        for chunk in self {
            out.extend_from_slice(&chunk?);
        }
        Ok(out)
    }
}

impl Iterator for Reading<'_> {
    type Item = Result<Zeroizing<Vec<u8>>, CopyTrouble>;

    fn next(&mut self) -> Option<Self::Item> {
        match self.state {
            State::Over => None,
            State::Wrong(why) => {
                self.state = State::Over;
                Some(Err(why))
            }
            State::Within => {
                let chunk = self.cipher.next(self.number, &mut self.rest);
                self.number = self.number.saturating_add(1);
                self.state = match (&chunk, self.rest.bytes().is_empty()) {
                    (Ok((_, false)), false) => State::Within,
                    (Ok((_, false)), true) => State::Wrong(CopyTrouble::Cut),
                    (Ok((_, true)), false) => State::Wrong(CopyTrouble::Extra),
                    (Ok((_, true)), true) | (Err(_), _) => State::Over,
                };
                Some(chunk.map(|(plain, _)| plain))
            }
        }
    }
}
