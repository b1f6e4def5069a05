//! The colours of the page and of the phone's bars around it.

use wasm_bindgen::JsCast;
use web_sys::Element;

/// Sets the theme by name on the root element, or with `None` the one that needs no name, and the
/// colour of the phone's own bars. What stands there already is not set again: this is asked at every
/// press, and the phone would be told of a new colour each time.
pub fn set(name: Option<&str>, bar: &str) {
    let Some(document) = web_sys::window().and_then(|window| window.document()) else {
        return;
    };
    if let Some(root) = document.document_element()
        && root.get_attribute("data-theme").as_deref() != name
    {
        let _ = match name {
            Some(name) => root.set_attribute("data-theme", name),
            None => root.remove_attribute("data-theme"),
        };
    }
    // One tag for each colour scheme: all of them, or the scheme the phone prefers would win.
    let Ok(tags) = document.query_selector_all("meta[name=theme-color]") else {
        return;
    };
    for index in 0..tags.length() {
        if let Some(tag) = tags.get(index) {
            let tag: Element = tag.unchecked_into();
            if tag.get_attribute("content").as_deref() != Some(bar) {
                let _ = tag.set_attribute("content", bar);
            }
        }
    }
}
