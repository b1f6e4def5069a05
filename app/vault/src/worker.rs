//! What the worker's script may ask for: the edge between this module and JavaScript. Built for the
//! browser only.
//!
//! What went wrong goes out as one word: `text`, `memory` or `empty`, and of a copy that is opened the word
//! of its trouble. Bytes that come in are the script's own copies; the worker ends with its one job.

use crate::age::Unwritten;
use crate::copy::{self, CHANCE};
use crate::door::{Cost, How, NoKey, SALT, recovery_key};
use pinfold_core::seal::CopyTrouble;
use wasm_bindgen::prelude::*;

fn word(why: NoKey) -> JsValue {
    JsValue::from_str(match why {
        NoKey::Text => "text",
        NoKey::Memory => "memory",
        NoKey::Empty => "empty",
    })
}

fn salt(bytes: &[u8]) -> Result<[u8; SALT], JsValue> {
    bytes.try_into().map_err(|_| word(NoKey::Text))
}

/// How a new passphrase is to be turned into its key, on a phone where the least cost took
/// `least_ms` milliseconds. `salt_bytes`: 16 of the browser's generator for secrets.
///
/// # Errors
/// `text` if the salt has another length.
#[wasm_bindgen]
pub fn how_for(least_ms: u32, salt_bytes: &[u8]) -> Result<String, JsValue> {
    Ok(How::new(Cost::for_phone(least_ms), salt(salt_bytes)?).to_string())
}

/// The same at the least cost, to be timed.
///
/// # Errors
/// `text` if the salt has another length.
#[wasm_bindgen]
pub fn least(salt_bytes: &[u8]) -> Result<String, JsValue> {
    Ok(How::new(Cost::LEAST, salt(salt_bytes)?).to_string())
}

/// The 32 bytes of a passphrase's key.
///
/// # Errors
/// [`NoKey`] as its word. A wrong passphrase is no error: its key opens nothing.
#[wasm_bindgen]
pub fn derive(how: &str, passphrase: &str) -> Result<Vec<u8>, JsValue> {
    let how: How = how.parse().map_err(word)?;
    how.key(passphrase).map(|key| key.to_vec()).map_err(word)
}

/// The 32 bytes of a recovery code's key, from the code's 16.
///
/// # Errors
/// `text` if the code has another length.
#[wasm_bindgen]
pub fn recovery(code: &[u8]) -> Result<Vec<u8>, JsValue> {
    let code: [u8; 16] = code.try_into().map_err(|_| word(NoKey::Text))?;
    Ok(recovery_key(&code).to_vec())
}

fn trouble(why: CopyTrouble) -> JsValue {
    JsValue::from_str(why.word())
}

/// A copy, sealed. `chance`: 48 random bytes of the browser's generator for secrets.
///
/// # Errors
/// `empty` without a passphrase, `memory`, `broken` if the chance has another length.
#[wasm_bindgen]
pub fn seal_copy(plain: &[u8], passphrase: &str, chance: &[u8]) -> Result<Vec<u8>, JsValue> {
    let broken = || JsValue::from_str("broken");
    let chance: [u8; CHANCE] = chance.try_into().map_err(|_| broken())?;
    copy::seal(plain, passphrase, chance).map_err(|why| match why {
        Unwritten::EmptyPassphrase => word(NoKey::Empty),
        Unwritten::Memory => word(NoKey::Memory),
        Unwritten::Cipher => broken(),
    })
}

/// Whether a sealed copy may open, as far as it shows without its passphrase.
///
/// # Errors
/// The word of a [`CopyTrouble`].
#[wasm_bindgen]
pub fn look_at_copy(file: &[u8]) -> Result<(), JsValue> {
    copy::look(file).map_err(trouble)
}

/// A sealed copy, opened: all of it or nothing.
///
/// # Errors
/// The word of a [`CopyTrouble`].
#[wasm_bindgen]
pub fn open_copy(file: &[u8], passphrase: &str) -> Result<Vec<u8>, JsValue> {
    let mut plain = copy::open(file, passphrase).map_err(trouble)?;
    Ok(core::mem::take(&mut *plain))
}
