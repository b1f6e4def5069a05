//! Argon2id with 19 MiB, two passes, one lane, or nothing at all.
use wasm_bindgen::prelude::*;

/// Derives 32 bytes; an empty answer is a failure, or a module built without the derivation.
#[wasm_bindgen]
pub fn derive(passphrase: &str, salt: &[u8]) -> Vec<u8> {
    #[cfg(feature = "inside")]
    {
        use argon2::{Algorithm, Argon2, Params, Version};
        let mut key = vec![0; 32];
        let done = Params::new(19 * 1024, 2, 1, Some(32)).and_then(|params| {
            Argon2::new(Algorithm::Argon2id, Version::V0x13, params).hash_password_into(passphrase.as_bytes(), salt, &mut key)
        });
        if done.is_ok() { key } else { Vec::new() }
    }
    #[cfg(not(feature = "inside"))]
    {
        let _ = (passphrase, salt);
        Vec::new()
    }
}
