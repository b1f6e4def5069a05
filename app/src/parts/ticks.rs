//! A list to tick: areas swept by hand, places looked in.

use super::press::yes_no;
use crate::shape::prelude::*;

/// One line of the list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Tick {
    /// What is ticked.
    pub text: String,
    /// Takes a whole row: for long texts.
    pub wide: bool,
}

/// Toggles, in the given order.
///
/// - `name`: what is ticked off, for a screen reader.
/// - `ticks`: the lines; `done`: which are ticked, by the same index (missing means not ticked).
/// - `on_toggle`: the index that was pressed.
/// - `chair`: 64 px instead of 48.
#[component]
pub fn Ticks(
    #[prop(into)] name: Signal<String>,
    #[prop(into)] ticks: Vec<Tick>,
    #[prop(into)] done: Signal<Vec<bool>>,
    #[prop(into)] on_toggle: Callback<usize>,
    #[prop(optional)] chair: bool,
) -> impl IntoShape {
    let lines: Vec<_> = ticks
        .into_iter()
        .enumerate()
        .map(|(index, tick)| {
            let ticked = move || done.with(|done| done.get(index).copied().unwrap_or(false));
            view! {
                <button
                    type="button"
                    class="press"
                    class:all=tick.wide
                    aria-pressed=move || yes_no(ticked())
                    on:click=move |_| on_toggle.run(index)
                >
                    <span>{tick.text}</span>
                </button>
            }
        })
        .collect();
    view! {
        <div class="ticks" class:chairside=chair role="group" aria-label=move || name.get()>
            {lines}
        </div>
    }
}
