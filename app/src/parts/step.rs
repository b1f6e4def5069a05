//! Minus, figure, plus: a count that mostly stays as it is.

use super::press::chairside_counts;
use crate::shape::prelude::*;

/// Minus, a large figure, plus.
///
/// - `value`, `least`, `most`: the count and its ends; at an end the press rests.
/// - `on_change`: the new count.
/// - `fewer`, `more`: what a screen reader says for the two presses.
/// - `note`: under the figure, for example "as planned"; may be empty.
#[component]
pub fn Step(
    #[prop(into)] value: Signal<u16>,
    #[prop(into)] on_change: Callback<u16>,
    #[prop(into)] fewer: Signal<String>,
    #[prop(into)] more: Signal<String>,
    #[prop(optional, into)] note: Signal<String>,
    #[prop(default = 0)] least: u16,
    #[prop(default = 99)] most: u16,
) -> impl IntoShape {
    let down = move || value.get() <= least;
    let up = move || value.get() >= most;
    let set = move |ev: web_sys::MouseEvent, to: u16| {
        if chairside_counts(&ev) && (least..=most).contains(&to) && to != value.get_untracked() {
            on_change.run(to);
        }
    };
    view! {
        <div class="step">
            <button
                type="button"
                class="press"
                class:shut=down
                aria-label=move || fewer.get()
                aria-disabled=move || down().then_some("true")
                on:click=move |ev| set(ev, value.get_untracked().saturating_sub(1))
            >
                "\u{2212}"
            </button>
            <p role="status">
                <b class="num">{move || value.get()}</b>
                <span>{move || note.get()}</span>
            </p>
            <button
                type="button"
                class="press"
                class:shut=up
                aria-label=move || more.get()
                aria-disabled=move || up().then_some("true")
                on:click=move |ev| set(ev, value.get_untracked().saturating_add(1))
            >
                "+"
            </button>
        </div>
    }
}
