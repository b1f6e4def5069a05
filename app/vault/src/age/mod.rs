//! The sealed file: age, version 1, with a passphrase (C2SP `age.md` [read]; the scrypt recipient).
//!
//! The format is public and other programs read it, which is why it is this one: a copy must open when
//! Pinfold is gone. Here stands the format alone; scrypt, HKDF, HMAC, ChaCha20-Poly1305 and their
//! comparisons are crates. The crate that does all of it weighs 84 kB and 75 crates (2026-11), and
//! measures the work of scrypt by a clock.
//!
//! Inside is a journal as text. Chunks of 64 KiB go in and out one at a time.

mod armour;
mod header;
mod payload;
mod reading;
#[cfg(test)]
mod tests;
mod writing;

pub use payload::CHUNK;
pub use reading::{Limits, Reading, open};
pub use writing::{Chance, Form, Unwritten, Work, Writing, seal};

use hkdf::Hkdf;
use pinfold_core::seal::CopyTrouble;
use sha2_worker::Sha256;
use zeroize::Zeroizing;

/// 128 random bits, new in every file, from which its other keys follow.
type FileKey = Zeroizing<[u8; 16]>;

/// A key that follows from the file key.
fn derived(salt: Option<&[u8]>, file_key: &FileKey, info: &str) -> Zeroizing<[u8; 32]> {
    let mut key = Zeroizing::new([0; 32]);
    // 32 bytes are far below HKDF's most, which is its only refusal.
    let made =
        Hkdf::<Sha256>::new(salt, file_key.as_slice()).expand(info.as_bytes(), key.as_mut_slice());
    debug_assert!(made.is_ok());
    key
}

/// The key that the file key is wrapped with: `scrypt(N = 2^work, r = 8, p = 1)`.
fn wrap_key(
    passphrase: &str,
    salt: &[u8; 16],
    work: u8,
) -> Result<Zeroizing<[u8; 32]>, CopyTrouble> {
    const LABEL: &[u8] = b"age-encryption.org/v1/scrypt";
    let params = scrypt::Params::new(work, 8, 1).map_err(|_| CopyTrouble::Work)?;
    // 128 * r * N bytes.
    let memory = 1024_usize
        .checked_shl(work.into())
        .ok_or(CopyTrouble::Work)?;
    if !crate::can_have(memory) {
        return Err(CopyTrouble::Memory);
    }
    let mut labelled = Vec::from(LABEL);
    labelled.extend_from_slice(salt);
    let mut key = Zeroizing::new([0; 32]);
    scrypt::scrypt(
        passphrase.as_bytes(),
        &labelled,
        &params,
        key.as_mut_slice(),
    )
    .map_err(|_| CopyTrouble::Work)?;
    Ok(key)
}
