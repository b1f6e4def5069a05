//! One question on a line with three answers. Nothing is filled in beforehand, and *asked, not
//! known* is an answer of its own: it is not *no*, and not the same as not asked.

use super::press::yes_no;
use crate::shape::prelude::*;
use pinfold_core::base::truth::Truth;

/// A question with its answers.
///
/// - `text`: the question; `group`: a small heading above it, may be empty.
/// - `value`: `None` when not asked; `Some(Unknown)` when asked and not known.
/// - `on_answer`: what was pressed. Pressing the chosen answer again changes nothing.
/// - `yes`, `no`, `unknown`: the words on the answers.
/// - `large`: answers on their own row, 64 px, for handing the phone to a patient or for the chair.
#[component]
pub fn Choice(
    #[prop(into)] text: Signal<String>,
    #[prop(into)] value: Signal<Option<Truth>>,
    #[prop(into)] on_answer: Callback<Truth>,
    #[prop(into)] yes: Signal<String>,
    #[prop(into)] no: Signal<String>,
    #[prop(into)] unknown: Signal<String>,
    #[prop(optional, into)] group: Signal<String>,
    #[prop(optional)] large: bool,
) -> impl IntoShape {
    let answer = move |truth: Truth, words: Signal<String>| {
        view! {
            <button
                type="button"
                class:unknown=truth == Truth::Unknown
                aria-pressed=move || yes_no(value.get() == Some(truth))
                on:click=move |_| {
                    if value.get_untracked() != Some(truth) {
                        on_answer.run(truth);
                    }
                }
            >
                {move || words.get()}
            </button>
        }
    };
    view! {
        <div class="choice" class:large=large role="group" aria-label=move || text.get()>
            <p class="asked">
                <small>{move || group.get()}</small>
                {move || text.get()}
            </p>
            <div class="answers">
                {answer(Truth::Yes, yes)} {answer(Truth::No, no)} {answer(Truth::Unknown, unknown)}
            </div>
        </div>
    }
}
