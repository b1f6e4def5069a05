//! What the worker's script may ask for: the edge between this module and JavaScript. Built for the
//! browser only.
//!
//! What went wrong goes out as one word: `text`, `memory` or `empty`. Bytes that come in are the
//! script's own copies; what goes out is overwritten here once it is handed over.

use crate::door::{Cost, How, NoKey, SALT, recovery_key};
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
