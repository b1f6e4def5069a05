//! A labelled field whose error is tied to it, so that a screen reader says both together.

use super::press::some;
use crate::shape::prelude::*;

/// What a field takes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Kind {
    /// One line of text.
    #[default]
    Text,
    /// Several lines.
    Lines,
    /// A day, as the phone's own picker gives it: `2026-05-14`, or empty.
    Date,
    /// A time of day: `14:05`, or empty.
    Time,
    /// Digits: shows the number pad. The page reads the text; nothing is rounded here.
    Number,
    /// A number with a point, such as a length in centimetres.
    Decimal,
    /// A phone number.
    Phone,
    /// A passphrase: hidden, never offered for completion.
    Secret,
}

/// Label, input, hint and error.
///
/// - `id`: unique on the page; `label`; `value`: what the field shows; `on_input`: every change.
/// - `kind`; `hint`: under the field, may be empty; `error`: what is wrong and what to do, empty when nothing is.
/// - `required`: said by a screen reader; the page still checks.
///
/// Every field says `autocomplete="off"`: without it a browser writes what is typed into its own files,
/// to fill the page again after a crash.
#[component]
pub fn Field(
    #[prop(into)] id: String,
    #[prop(into)] label: Signal<String>,
    #[prop(into)] value: Signal<String>,
    #[prop(into)] on_input: Callback<String>,
    #[prop(optional)] kind: Kind,
    #[prop(optional, into)] hint: Signal<String>,
    #[prop(optional, into)] error: Signal<String>,
    #[prop(optional)] required: bool,
) -> impl IntoShape {
    let hint_id = format!("{id}-hint");
    let error_id = format!("{id}-wrong");
    let told = {
        let (hint_id, error_id) = (hint_id.clone(), error_id.clone());
        move || {
            let mut ids = String::new();
            if !hint.with(String::is_empty) {
                ids.push_str(&hint_id);
            }
            if !error.with(String::is_empty) {
                if !ids.is_empty() {
                    ids.push(' ');
                }
                ids.push_str(&error_id);
            }
            some(ids)
        }
    };
    let wrong = move || (!error.with(String::is_empty)).then_some("true");
    let (input_type, mode) = match kind {
        Kind::Text | Kind::Lines => ("text", None),
        Kind::Date => ("date", None),
        Kind::Time => ("time", None),
        Kind::Number => ("text", Some("numeric")),
        Kind::Decimal => ("text", Some("decimal")),
        Kind::Phone => ("tel", None),
        Kind::Secret => ("password", None),
    };
    let short = matches!(kind, Kind::Number | Kind::Decimal | Kind::Time);
    let needed = required.then_some("true");
    let input = if kind == Kind::Lines {
        view! {
            <textarea
                id=id.clone()
                autocomplete="off"
                aria-describedby=told
                aria-invalid=wrong
                aria-required=needed
                prop:value=move || value.get()
                on:input=move |ev| on_input.run(event_target_value(&ev))
            />
        }
    } else {
        view! {
            <input
                id=id.clone()
                type=input_type
                inputmode=mode
                autocomplete="off"
                class:short=short
                aria-describedby=told
                aria-invalid=wrong
                aria-required=needed
                prop:value=move || value.get()
                on:input=move |ev| on_input.run(event_target_value(&ev))
            />
        }
    };
    view! {
        <div class="field">
            <label for=id>{move || label.get()}</label>
            {input}
            <p class="note" id=hint_id>
                {move || hint.get()}
            </p>
            <p class="wrong" id=error_id aria-live="polite">
                {move || error.get()}
            </p>
        </div>
    }
}
