//! The textual head of a file: who can open it, and a sum over that.

use super::{FileKey, derived};
use base64ct::{Base64Unpadded, Encoding};
use hmac::{Hmac, KeyInit, Mac};
use pinfold_core::seal::CopyTrouble;
use sha2_worker::Sha256;

const MAGIC: &[u8] = b"age-encryption.org/";
const VERSION: &[u8] = b"v1";
/// Letters of a full line of a body.
const COLUMNS: usize = 64;

/// One way to the file key.
pub(super) struct Stanza<'a> {
    pub(super) words: Vec<&'a str>,
    pub(super) body: Vec<u8>,
}

/// A header as it stands.
pub(super) struct Header<'a> {
    pub(super) stanzas: Vec<Stanza<'a>>,
    /// What the sum goes over: up to and with the three hyphens.
    summed: &'a [u8],
    sum: [u8; 32],
    /// What follows the header.
    pub(super) payload: &'a [u8],
}

/// True if this is meant to be an age file.
pub(super) fn is_header(file: &[u8]) -> bool {
    file.starts_with(MAGIC)
}

/// Takes a line, without its end, off the front.
fn line<'a>(rest: &mut &'a [u8]) -> Result<&'a [u8], CopyTrouble> {
    let at = rest.iter().position(|&b| b == b'\n');
    let (line, after) = at
        .and_then(|at| rest.split_at_checked(at))
        .ok_or(CopyTrouble::Header)?;
    *rest = after.get(1..).ok_or(CopyTrouble::Header)?;
    Ok(line)
}

/// Printable signs without spaces, at least one.
fn word(bytes: &[u8]) -> Result<&str, CopyTrouble> {
    let printable = bytes.iter().all(u8::is_ascii_graphic) && !bytes.is_empty();
    core::str::from_utf8(bytes)
        .ok()
        .filter(|_| printable)
        .ok_or(CopyTrouble::Header)
}

impl<'a> Header<'a> {
    pub(super) fn read(file: &'a [u8]) -> Result<Self, CopyTrouble> {
        let mut rest = file;
        let first = line(&mut rest)?;
        let version = first.strip_prefix(MAGIC).ok_or(CopyTrouble::Header)?;
        word(version)?;
        if version != VERSION {
            return Err(CopyTrouble::Version);
        }
        let mut stanzas = Vec::new();
        loop {
            // Where this line begins, should it be the last.
            let before = file.len().saturating_sub(rest.len());
            let head = line(&mut rest)?;
            if let Some(words) = head.strip_prefix(b"-> ") {
                let words: Result<Vec<&str>, CopyTrouble> =
                    words.split(|&b| b == b' ').map(word).collect();
                let words = words?;
                let mut letters = Vec::new();
                loop {
                    let text = line(&mut rest)?;
                    if text.len() > COLUMNS {
                        return Err(CopyTrouble::Header);
                    }
                    letters.extend_from_slice(text);
                    if text.len() < COLUMNS {
                        break;
                    }
                }
                let text = core::str::from_utf8(&letters).map_err(|_| CopyTrouble::Header)?;
                let body = Base64Unpadded::decode_vec(text).map_err(|_| CopyTrouble::Header)?;
                stanzas.push(Stanza { words, body });
                continue;
            }
            let sum = head.strip_prefix(b"--- ").ok_or(CopyTrouble::Header)?;
            let sum = core::str::from_utf8(sum).map_err(|_| CopyTrouble::Header)?;
            let mut buffer = [0; 32];
            let got = Base64Unpadded::decode(sum, &mut buffer).map_err(|_| CopyTrouble::Header)?;
            let whole = got.len() == 32 && !stanzas.is_empty();
            let summed = file.get(..before.saturating_add(3));
            return match summed {
                Some(summed) if whole => Ok(Self {
                    stanzas,
                    summed,
                    sum: buffer,
                    payload: rest,
                }),
                _ => Err(CopyTrouble::Header),
            };
        }
    }

    /// The salt, the work and the wrapped file key of a file with a passphrase.
    pub(super) fn passphrase(&self) -> Result<([u8; 16], u8, &[u8; 32]), CopyTrouble> {
        let scrypt = |stanza: &&Stanza<'a>| stanza.words.first() == Some(&"scrypt");
        let stanza = match self.stanzas.as_slice() {
            [only] if scrypt(&only) => only,
            all if all.iter().any(|one| scrypt(&one)) => return Err(CopyTrouble::Header),
            _ => return Err(CopyTrouble::NoPassphrase),
        };
        let &[_, salt, work] = stanza.words.as_slice() else {
            return Err(CopyTrouble::Header);
        };
        let mut buffer = [0; 16];
        let got = Base64Unpadded::decode(salt, &mut buffer).map_err(|_| CopyTrouble::Header)?;
        let digits = work.bytes().all(|b| b.is_ascii_digit()) && !work.starts_with('0');
        if got.len() != 16 || !digits {
            return Err(CopyTrouble::Header);
        }
        let wrapped = stanza.body.as_slice().try_into();
        let wrapped = wrapped.map_err(|_| CopyTrouble::Header)?;
        // A number too long to read is a number too great.
        let work = work.parse().map_err(|_| CopyTrouble::Work)?;
        Ok((buffer, work, wrapped))
    }

    pub(super) fn check(&self, file_key: &FileKey) -> Result<(), CopyTrouble> {
        let sum = summed(file_key, self.summed);
        sum.verify_slice(&self.sum)
            .map_err(|_| CopyTrouble::HeaderChanged)
    }
}

fn summed(file_key: &FileKey, text: &[u8]) -> Hmac<Sha256> {
    let key = derived(None, file_key, "header");
    // The block is filled up by hand, because a key of 32 bytes is shorter than it: HMAC says so.
    let mut block = zeroize::Zeroizing::new([0_u8; 64]);
    for (place, byte) in block.iter_mut().zip(key.iter()) {
        *place = *byte;
    }
    let mut sum = Hmac::<Sha256>::new((&*block).into());
    sum.update(text);
    sum
}

/// The header of a file with a passphrase.
pub(super) fn write(file_key: &FileKey, salt: &[u8; 16], work: u8, wrapped: &[u8]) -> String {
    let mut out = format!(
        "age-encryption.org/v1\n-> scrypt {} {work}\n{}\n---",
        Base64Unpadded::encode_string(salt),
        Base64Unpadded::encode_string(wrapped),
    );
    let sum = summed(file_key, out.as_bytes()).finalize().into_bytes();
    out.push(' ');
    out.push_str(&Base64Unpadded::encode_string(&sum));
    out.push('\n');
    out
}
