//! Writing a file, in pieces as they come.

use super::payload::{CHUNK, Cipher, NONCE};
use super::{FileKey, armour, header, wrap_key};
use chacha20poly1305::aead::AeadInOut;
use chacha20poly1305::{ChaCha20Poly1305, KeyInit, Nonce};
use zeroize::{Zeroize, Zeroizing};

/// The work of scrypt, as the power of two. 16 takes 64 MiB, 17 128 MiB, 18 256 MiB, for the one who
/// knows the passphrase and for the one who guesses it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Work(u8);

impl Work {
    /// What a phone writes: 2^16, and opens again (our choice: the format's own default is 18, which a
    /// browser on a phone may not get the memory for; a long passphrase makes up for two halvings).
    pub const PHONE: Self = Self(16);
    /// What a larger machine may write: 2^18.
    pub const DESK: Self = Self(18);

    #[cfg(test)]
    pub(super) const fn test(work: u8) -> Self {
        Self(work)
    }
}

/// The random parts of one file, from the browser's generator for secrets. Used up by it: neither
/// copied nor cloned, so no second file can have the same.
pub struct Chance([u8; 48]);

impl Chance {
    /// From 48 random bytes.
    #[must_use]
    pub const fn from_random(bytes: [u8; 48]) -> Self {
        Self(bytes)
    }
}

impl Drop for Chance {
    fn drop(&mut self) {
        self.0.zeroize();
    }
}

/// How the file is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    /// Bytes.
    Bytes,
    /// Letters, in lines of 64: a third longer, and it survives being pasted.
    Letters,
}

/// Why no file was written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unwritten {
    /// An empty passphrase keeps nobody out.
    EmptyPassphrase,
    /// Not enough memory now.
    Memory,
    /// The cipher refused, which it does not for files that exist.
    Cipher,
}

/// A file being written. What is ready goes to `out`; here waits less than a chunk and a line.
pub struct Writing<F: FnMut(&[u8])> {
    cipher: Cipher,
    number: u64,
    chunk: Zeroizing<Vec<u8>>,
    letters: Option<Vec<u8>>,
    out: F,
}

impl<F: FnMut(&[u8])> Writing<F> {
    /// Derives the key, which takes a moment, and writes the header.
    ///
    /// # Errors
    /// [`Unwritten`]; nothing went out.
    pub fn start(
        passphrase: &str,
        work: Work,
        chance: Chance,
        form: Form,
        out: F,
    ) -> Result<Self, Unwritten> {
        if passphrase.is_empty() {
            return Err(Unwritten::EmptyPassphrase);
        }
        let mut file_key: FileKey = Zeroizing::new([0; 16]);
        let (mut salt, mut nonce) = ([0; 16], [0; NONCE]);
        let places = file_key.iter_mut().chain(&mut salt).chain(&mut nonce);
        for (place, byte) in places.zip(&chance.0) {
            *place = *byte;
        }
        let key = wrap_key(passphrase, &salt, work.0).map_err(|_| Unwritten::Memory)?;
        let mut wrapped = Zeroizing::new(file_key.to_vec());
        // The nonce is fixed: this key wraps once.
        let tag = ChaCha20Poly1305::new((&*key).into())
            .encrypt_inout_detached(&Nonce::default(), &[], wrapped.as_mut_slice().into())
            .map_err(|_| Unwritten::Cipher)?;
        wrapped.extend_from_slice(&tag);
        let head = header::write(&file_key, &salt, work.0, &wrapped);
        let mut chunk = Zeroizing::new(Vec::new());
        // Full chunk and tag: it never moves as it grows.
        chunk
            .try_reserve_exact(CHUNK.saturating_add(16))
            .map_err(|_| Unwritten::Memory)?;
        let mut this = Self {
            cipher: Cipher::new(&file_key, &nonce),
            number: 0,
            chunk,
            letters: (form == Form::Letters).then(Vec::new),
            out,
        };
        if this.letters.is_some() {
            (this.out)(armour::BEGIN.as_bytes());
            (this.out)(b"\n");
        }
        this.put(head.as_bytes());
        this.put(&nonce);
        Ok(this)
    }

    /// Sends sealed bytes out, as letters if asked for.
    fn put(&mut self, bytes: &[u8]) {
        let Some(waiting) = &mut self.letters else {
            (self.out)(bytes);
            return;
        };
        waiting.extend_from_slice(bytes);
        let lines = waiting.chunks_exact(armour::LINE);
        let rest = lines.remainder().to_vec();
        let text: String = lines.map(armour::line).collect();
        (self.out)(text.as_bytes());
        *waiting = rest;
    }

    fn send(&mut self, last: bool) -> Result<(), Unwritten> {
        if !self.cipher.seal(self.number, last, &mut self.chunk) {
            return Err(Unwritten::Cipher);
        }
        self.number = self.number.checked_add(1).ok_or(Unwritten::Cipher)?;
        let mut sealed = core::mem::take(&mut *self.chunk);
        self.put(&sealed);
        sealed.clear();
        *self.chunk = sealed;
        Ok(())
    }

    /// Takes more of the plain text.
    ///
    /// # Errors
    /// [`Unwritten`]; what went out is no whole file and will not open.
    pub fn push(&mut self, mut plain: &[u8]) -> Result<(), Unwritten> {
        while !plain.is_empty() {
            // A full chunk waits until it is known that it is not the last.
            if self.chunk.len() == CHUNK {
                self.send(false)?;
            }
            let room = CHUNK.saturating_sub(self.chunk.len());
            let (now, later) = plain.split_at_checked(room).unwrap_or((plain, &[]));
            self.chunk.extend_from_slice(now);
            plain = later;
        }
        Ok(())
    }

    /// Writes the end. Without it no reader takes the file for whole.
    ///
    /// # Errors
    /// [`Unwritten`]; what went out is no whole file and will not open.
    pub fn finish(mut self) -> Result<(), Unwritten> {
        self.send(true)?;
        if let Some(rest) = self.letters.take() {
            if !rest.is_empty() {
                (self.out)(armour::line(&rest).as_bytes());
            }
            (self.out)(armour::END.as_bytes());
            (self.out)(b"\n");
        }
        Ok(())
    }
}

/// A whole file at once.
///
/// # Errors
/// [`Unwritten`].
pub fn seal(
    plain: &[u8],
    passphrase: &str,
    work: Work,
    chance: Chance,
    form: Form,
) -> Result<Vec<u8>, Unwritten> {
    let mut file = Vec::new();
    let out = |bytes: &[u8]| file.extend_from_slice(bytes);
    let mut writing = Writing::start(passphrase, work, chance, form, out)?;
    writing.push(plain)?;
    writing.finish()?;
    Ok(file)
}
