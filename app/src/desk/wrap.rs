//! The seam where a copy is sealed before it leaves and opened when it comes, in a worker of its own. A
//! sealed file that was picked goes to the worker as the browser's own file: the page never holds it.

use super::sealing::{VAULT, not_made};
use crate::device::files::{self, File};
use crate::device::reach::get;
use crate::device::{entropy, worker};
use js_sys::Uint8Array;
use pinfold_core::seal::{CopyTrouble, LONGEST};
use pinfold_core::words::copies::EN as COPIES;
use pinfold_core::words::vault::EN;
use wasm_bindgen::JsValue;

/// A copy's text, sealed: bytes of letters. The cost for whoever guesses is the worker's, and fixed.
///
/// # Errors
/// Words for a person: there is no file.
pub(super) async fn seal(text: &[u8], passphrase: &str) -> Result<JsValue, &'static str> {
    let chance = entropy::bytes::<48>().ok_or(EN.no_chance)?;
    let fields = [
        ("do", "seal".into()),
        ("plain", Uint8Array::from(text).into()),
        ("passphrase", passphrase.into()),
        ("chance", Uint8Array::from(chance.as_slice()).into()),
    ];
    let answer = worker::ask(VAULT, &fields).await.ok_or(EN.no_worker)?;
    let file = get(&answer, "file");
    if file.is_object() {
        Ok(file)
    } else {
        Err(not_made(&answer))
    }
}

/// Why a sealed copy was not opened.
pub(super) enum Unopened {
    /// Another passphrase may open it.
    Passphrase,
    /// No passphrase will, or not now: in words.
    Never(&'static str),
}

async fn ask(fields: &[(&str, JsValue)]) -> Result<JsValue, Unopened> {
    let never = Unopened::Never;
    let answer = worker::ask(VAULT, fields)
        .await
        .ok_or(never(COPIES.no_worker))?;
    let Some(why) = get(&answer, "why").as_string() else {
        return Ok(answer);
    };
    Err(match CopyTrouble::from_word(&why) {
        Some(CopyTrouble::WrongPassphrase) => Unopened::Passphrase,
        Some(why) => never(EN.copy(why)),
        None if why == "unreadable" => never(COPIES.unreadable),
        None => never(COPIES.no_worker),
    })
}

/// Looks at a sealed copy as far as it goes without its passphrase.
///
/// # Errors
/// [`Unopened`].
pub(super) async fn look(file: &File) -> Result<(), Unopened> {
    if files::size(file) > u64::try_from(LONGEST).unwrap_or(u64::MAX) {
        return Err(Unopened::Never(EN.copy(CopyTrouble::TooLarge)));
    }
    ask(&[("do", "look".into()), ("file", file.into())])
        .await
        .map(|_| ())
}

/// The text of a sealed copy: all of it, checked, or nothing.
///
/// # Errors
/// [`Unopened`].
pub(super) async fn open(file: &File, passphrase: &str) -> Result<Vec<u8>, Unopened> {
    let fields = [
        ("do", "open".into()),
        ("file", file.into()),
        ("passphrase", passphrase.into()),
    ];
    let answer = ask(&fields).await?;
    Ok(Uint8Array::new(&get(&answer, "plain")).to_vec())
}
