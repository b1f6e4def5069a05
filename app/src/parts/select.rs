//! One of many, by the phone's own list.

use crate::shape::prelude::*;

/// A labelled list.
///
/// - `id`: unique on the page; `label`; `options`: the words in order.
/// - `chosen`: the index of the chosen one; `on_choose`: the index that was picked.
#[component]
pub fn Select(
    #[prop(into)] id: String,
    #[prop(into)] label: Signal<String>,
    options: Vec<String>,
    #[prop(into)] chosen: Signal<usize>,
    #[prop(into)] on_choose: Callback<usize>,
) -> impl IntoShape {
    let options: Vec<_> = options
        .into_iter()
        .enumerate()
        .map(|(at, words)| view! { <option value=at.to_string() selected=move || chosen.get() == at>{words}</option> })
        .collect();
    let pick = move |ev: web_sys::Event| {
        if let Ok(at) = event_target_value(&ev).parse() {
            on_choose.run(at);
        }
    };
    view! {
        <div class="field">
            <label for=id.clone()>{move || label.get()}</label>
            <select id=id on:change=pick>{options}</select>
        </div>
    }
}
