//! Copies out and in: the whole journal as one plain file.

use super::frame::{DeskTabs, NotSaved, SavedSign};
use super::sealing::Choice;
use crate::desk::{CopyIn, CopyOut, use_desk};
use crate::parts::{Look, Press};
use crate::shape::prelude::*;
use pinfold_core::words::settings::EN;
use pinfold_core::words::vault::EN as VAULT;
use wasm_bindgen_futures::spawn_local;

/// Copies.
#[component]
pub fn Copies() -> impl IntoShape {
    let desk = use_desk();
    let said = RwSignal::new(String::new());
    let out = move |()| {
        spawn_local(async move {
            said.set(
                match desk.copy_out().await {
                    CopyOut::Ready => EN.copied,
                    CopyOut::Given => EN.copy_gone,
                    CopyOut::Failed => EN.copy_failed,
                }
                .to_string(),
            );
        });
    };
    let bring = move |()| {
        spawn_local(async move {
            said.set(match desk.copy_in().await {
                CopyIn::Brought { new: 0, flaws: 0 } => EN.nothing_new.to_string(),
                CopyIn::Brought { new, flaws } => EN.brought(new, flaws),
                CopyIn::NotACopy => EN.not_a_copy.to_string(),
                CopyIn::TooLarge => EN.too_large.to_string(),
                CopyIn::Nothing => String::new(),
                CopyIn::NotKept => EN.copy_failed.to_string(),
            });
        });
    };
    view! {
        <div class="screen">
            <header class="head column">
                <h1>{EN.copies}</h1>
                <p class="note end"><SavedSign /></p>
            </header>
            <main class="column stack">
                <NotSaved />
                <p class="reading">{EN.copies_why}</p>
                <Press text=EN.copy_out note=EN.copy_out_note look=Look::Solid spread=true on_press=out />
                {move || if desk.must_choose() {
                    view! { <p class="reading">{VAULT.no_people}</p> <Choice /> }
                } else {
                    view! { <Press text=EN.copy_in note=EN.copy_in_note look=Look::Plain spread=true on_press=bring /> }
                }}
                <p role="status">{move || said.get()}</p>
            </main>
            <DeskTabs here=2 />
        </div>
    }
}
