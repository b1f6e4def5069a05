//! The slab: the one main press of a screen, 96 px high (120 px when it is repeated per needle).

use super::press::chairside_counts;
use crate::shape::prelude::*;

/// How tall the slab is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Tall {
    /// 96 px: the main press of a chair-side screen.
    #[default]
    Main,
    /// 120 px, about 20 mm: pressed once for every needle.
    Again,
    /// 64 px: at the desk.
    Low,
}

/// The main press.
///
/// - `text` and `note` (second line, left out when empty); `on_press`.
/// - `tall`; `solid`: filled with ink, for the desk; `shut`: dashed, does nothing, says why in `note`.
#[component]
pub fn Slab(
    #[prop(into)] text: Signal<String>,
    #[prop(into)] on_press: Callback<()>,
    #[prop(optional, into)] note: Signal<String>,
    #[prop(optional)] tall: Tall,
    #[prop(optional)] solid: bool,
    #[prop(optional, into)] shut: Signal<bool>,
) -> impl IntoShape {
    view! {
        <button
            type="button"
            class="slab"
            class:again=tall == Tall::Again
            class:low=tall == Tall::Low
            class:solid=solid
            class:shut=shut
            aria-disabled=move || shut.get().then_some("true")
            on:click=move |ev| {
                if chairside_counts(&ev) && !shut.get_untracked() {
                    on_press.run(());
                }
            }
        >
            <span>{move || text.get()}</span>
            <small>{move || note.get()}</small>
        </button>
    }
}
