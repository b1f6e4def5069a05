//! What do I see and feel today? Reduced to notes.

use super::frame::{NotSaved, SavedSign, Steps};
use crate::desk::{Route, use_desk};
use crate::parts::{Field, Kind, Slab};
use crate::shape::prelude::*;
use pinfold_core::base::id::EntryId;
use pinfold_core::event::person::Looked;
use pinfold_core::ledger::DeskCommand;
use pinfold_core::words::people::EN;

/// Look.
#[component]
pub fn LookToday(
    /// Who.
    person: EntryId,
) -> impl IntoShape {
    let desk = use_desk();
    let today = desk.today();
    let (name, before) = desk.read(|l| {
        l.person(person)
            .map_or((String::new(), String::new()), |p| {
                let text = p
                    .looks
                    .get(&today)
                    .map_or(String::new(), |l| l.text.clone());
                (p.name().to_string(), text)
            })
    });
    let text = RwSignal::new(before);
    let wrong = RwSignal::new(String::new());
    let kept = RwSignal::new(text.get_untracked());
    let write = move || {
        let looked = Looked {
            date: today,
            text: text.get_untracked(),
            scores: Vec::new(),
        };
        let done = desk.act(DeskCommand::Look(person, looked)).is_ok();
        wrong.set(if done { "" } else { EN.too_long }.to_string());
        if done {
            kept.set(text.get_untracked());
        }
        done
    };
    // Kept when the field is left, too: the phone may be put down any time.
    let left = move |_| {
        // The page may be gone already; then there is nothing to compare.
        if text.try_get_untracked() != kept.try_get_untracked() {
            let _ = write();
        }
    };
    let keep = move |()| {
        if write() {
            desk.go(&Route::Plan(person));
        }
    };
    view! {
        <div class="screen">
            <header class="column">
                <div class="head"><h1><bdi>{name}</bdi></h1><p class="note end"><SavedSign /></p></div>
                <Steps person=person here=Some(1) />
            </header>
            <main class="column stack">
                <NotSaved />
                <div on:focusout=left>
                    <Field id="seen" label=EN.looked_label hint=EN.looked_hint kind=Kind::Lines value=text on_input=move |t| text.set(t) error=wrong />
                </div>
                <Slab text=EN.looked_keep tall=crate::parts::slab::Tall::Low solid=true on_press=keep />
            </main>
        </div>
    }
}
