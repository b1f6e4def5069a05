//! A chair with no plan: the second of the two presses that open it.

use crate::desk::{Route, use_desk};
use crate::parts::{Look, Press, Slab};
use crate::shape::prelude::*;
use pinfold_core::event::session::Mode;
use pinfold_core::ledger::ChairCommand;
use pinfold_core::words::chair;

/// Count only.
#[component]
pub fn CountOnly() -> impl IntoShape {
    let desk = use_desk();
    let start = move |rehearsal| {
        let open = ChairCommand::Open {
            mode: Mode::CountOnly,
            person: None,
            plan: Vec::new(),
            rehearsal,
            procedure: None,
        };
        if let Ok(session) = desk.act(open) {
            desk.replace(&Route::Chair(session));
        }
    };
    view! {
        <div class="screen">
            <header class="head column"><h1>{chair::EN.count_only}</h1></header>
            <main class="column stack">
                <p class="reading">{chair::EN.count_only_caution}</p>
            </main>
            <footer class="column foot last">
                <Slab text=chair::EN.count_only_start on_press=move |()| start(false) />
                <Press text=chair::EN.rehearse note=chair::EN.rehearse_note look=Look::Plain chair=true on_press=move |()| start(true) />
                <Press
                    text=chair::EN.back
                    look=Look::Plain
                    chair=true
                    on_press=move |()| desk.go(&Route::Today)
                />
            </footer>
        </div>
    }
}
