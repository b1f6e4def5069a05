//! Files in and out, always by the person's own hand: save, share, pick.

use super::alarm::Timer;
use super::listen::Listener;
use super::reach;
use js_sys::{Array, Function, Object, Promise, Reflect, Uint8Array};
use std::cell::RefCell;
use std::rc::Rc;
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::JsFuture;
pub use web_sys::File;
use web_sys::{Blob, BlobPropertyBag, HtmlAnchorElement, HtmlInputElement, Url};

/// What became of a file that was to leave.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Gone {
    /// Written to the place the person chose.
    Written,
    /// Handed to the browser's downloads or to another app: whether it was kept cannot be seen, so
    /// ask the person.
    Handed,
    /// The person closed the dialog.
    Cancelled,
    /// The phone would not; nothing left.
    Refused,
}

/// Bytes or a text in the browser's own keeping, where much of it need not lie in memory.
#[must_use]
pub fn blob(content: &JsValue, kind: &str) -> Option<Blob> {
    let parts = Array::of1(content);
    let bag = BlobPropertyBag::new();
    bag.set_type(kind);
    Blob::new_with_u8_array_sequence_and_options(&parts, &bag).ok()
}

/// Saves a file where the person says, or into the downloads where the browser cannot ask.
///
/// Call it straight from a tap with the content ready, a text or bytes: the browser lets only a fresh
/// tap do this. `kind` is a media type such as `text/plain`.
pub async fn save(name: &str, kind: &str, content: &JsValue) -> Gone {
    let Some(blob) = blob(content, kind) else {
        return Gone::Refused;
    };
    let window: JsValue = js_sys::global().into();
    if !can_ask_where() {
        return download(name, &blob);
    }
    match write_where_told(&window, name, &blob).await {
        Ok(()) => Gone::Written,
        Err(why) if reach::error_name(&why) == "AbortError" => Gone::Cancelled,
        // Some places have the method and refuse it: the plain way is still open.
        Err(_) => download(name, &blob),
    }
}

/// True if the browser lets the person choose the place; else [`save`] downloads.
#[must_use]
pub fn can_ask_where() -> bool {
    reach::can(&js_sys::global(), "showSaveFilePicker")
}

async fn write_where_told(window: &JsValue, name: &str, blob: &Blob) -> Result<(), JsValue> {
    let options = Object::new();
    reach::set(&options, "suggestedName", &name.into());
    let place = reach::ask(window, "showSaveFilePicker", &[&options]).await?;
    let stream = reach::ask(&place, "createWritable", &[]).await?;
    reach::ask(&stream, "write", &[blob]).await?;
    // The file takes the place of an older one only here, so half a file is never left.
    reach::ask(&stream, "close", &[]).await?;
    Ok(())
}

fn download(name: &str, blob: &Blob) -> Gone {
    let click = || -> Option<()> {
        let url = Url::create_object_url_with_blob(blob).ok()?;
        let document = web_sys::window()?.document()?;
        let link: HtmlAnchorElement = document.create_element("a").ok()?.unchecked_into();
        link.set_href(&url);
        link.set_download(name);
        link.click();
        // The browser reads the file after the click, whatever becomes of the caller: the address
        // must outlive both.
        let later = Timer::after(60_000, move || {
            let _ = Url::revoke_object_url(&url);
        });
        std::mem::forget(later);
        Some(())
    };
    click().map_or(Gone::Refused, |()| Gone::Handed)
}

fn shareable(name: &str, content: &JsValue) -> Option<Object> {
    let maker: Function = reach::global("File").dyn_into().ok()?;
    let kind = Object::new();
    reach::set(&kind, "type", &"text/plain".into());
    let parts = Array::of3(&Array::of1(content), &name.into(), &kind);
    let file = Reflect::construct(&maker, &parts).ok()?;
    let share = Object::new();
    reach::set(&share, "files", &Array::of1(&file));
    Some(share)
}

/// True if the phone's share sheet takes a text file.
#[must_use]
pub fn can_share() -> bool {
    shareable("a.txt", &"a".into()).is_some_and(|share| {
        reach::call(&reach::global("navigator"), "canShare", &[&share])
            .is_ok_and(|answer| answer.is_truthy())
    })
}

/// Offers a text file to the phone's share sheet, of a text or of the bytes of one. The name must end
/// in `.txt`. Call it straight from a tap.
pub async fn share(name: &str, content: &JsValue) -> Gone {
    let Some(share) = shareable(name, content) else {
        return Gone::Refused;
    };
    match reach::ask(&reach::global("navigator"), "share", &[&share]).await {
        Ok(_) => Gone::Handed,
        Err(why) if reach::error_name(&why) == "AbortError" => Gone::Cancelled,
        Err(_) => Gone::Refused,
    }
}

/// A file the person picked, read as text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Picked {
    /// Its name, without a path.
    pub name: String,
    /// What is in it. Bytes that are not UTF-8 became U+FFFD.
    pub text: String,
}

/// Why no file was read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NotPicked {
    /// The person closed the dialog.
    Cancelled,
    /// The file is larger than the limit; it was not opened.
    TooBig {
        /// Its size in bytes.
        size: u64,
    },
    /// The phone would not open or read it.
    Unreadable,
}

/// Lets the person pick a file and reads it as text. `accept` and the tap: see [`choose`]; `limit` is
/// the greatest size in bytes.
///
/// # Errors
/// If nothing was picked, the file is too large, or it could not be read.
pub async fn pick(accept: &str, limit: u64) -> Result<Picked, NotPicked> {
    let file = choose(accept).await?;
    read(&file, limit).await
}

/// Lets the person pick a file, of which nothing is read yet. `accept` is as in an `<input type=file>`,
/// such as `.txt,text/plain`. Call it straight from a tap.
///
/// # Errors
/// If nothing was picked, or the browser has no such dialog.
pub async fn choose(accept: &str) -> Result<File, NotPicked> {
    let input = web_sys::window()
        .and_then(|window| window.document())
        .and_then(|document| document.create_element("input").ok())
        .ok_or(NotPicked::Unreadable)?;
    let input: HtmlInputElement = input.unchecked_into();
    input.set_type("file");
    input.set_accept(accept);

    let ears = Rc::new(RefCell::new(Vec::new()));
    let closed = Promise::new(&mut |done, _| {
        for kind in ["change", "cancel"] {
            let done = done.clone();
            ears.borrow_mut()
                .push(Listener::new(&input, kind, move |_| {
                    let _ = done.call0(&JsValue::UNDEFINED);
                }));
        }
        input.click();
    });
    let _ = JsFuture::from(closed).await;
    input
        .files()
        .and_then(|files| files.get(0))
        .ok_or(NotPicked::Cancelled)
}

/// How long a file is, in bytes.
#[must_use]
pub fn size(file: &File) -> u64 {
    // Whole and never below 0, whatever type it travels in.
    file.size() as u64
}

/// A piece of a file: its bytes from `from` up to `to`, or up to its end. Nothing if the phone would not
/// read it.
pub async fn piece(file: &File, from: u64, to: u64) -> Option<Vec<u8>> {
    // Files are shorter than what a float counts exactly.
    let part = file.slice_with_f64_and_f64(from as f64, to as f64).ok()?;
    let buffer = reach::ask(&part, "arrayBuffer", &[]).await.ok()?;
    Some(Uint8Array::new(&buffer).to_vec())
}

/// Reads a file as text, if it is no larger than `limit` bytes.
///
/// # Errors
/// If it is too large or cannot be read.
pub async fn read(file: &File, limit: u64) -> Result<Picked, NotPicked> {
    let size = size(file);
    if size > limit {
        return Err(NotPicked::TooBig { size });
    }
    let text = reach::ask(file, "text", &[])
        .await
        .ok()
        .and_then(|text| text.as_string())
        .ok_or(NotPicked::Unreadable)?;
    Ok(Picked {
        name: file.name(),
        text,
    })
}
