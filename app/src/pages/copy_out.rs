//! A copy on its way out: its passphrase, twice; sealing; and only then the press that lets it leave.

use super::frame::gone;
use super::passphrase::Twice;
use crate::desk::{
    CopyOut, Prepared, Wrapped, can_ask_where, can_share, use_desk, wrong_passphrase,
};
use crate::parts::{Look, Press};
use crate::shape::prelude::*;
use pinfold_core::carry::Part;
use pinfold_core::words::copies::EN;
use pinfold_core::words::settings;
use std::rc::Rc;
use wasm_bindgen_futures::spawn_local;

/// How far it is.
#[derive(Clone)]
enum Step {
    Asked,
    Preparing,
    /// And which of its files leaves next, from 0.
    Ready(Rc<Prepared>, usize),
}

/// Takes a part out as a copy.
#[component]
pub fn TakeOut(
    /// Which part.
    part: Part,
    /// Done with it: what became of it, in words.
    #[prop(into)]
    on_done: Callback<String>,
) -> impl IntoShape {
    let desk = use_desk();
    let step = RwSignal::new(Step::Asked);
    let (first, second) = (RwSignal::new(String::new()), RwSignal::new(String::new()));
    let error = RwSignal::new(String::new());
    let said = RwSignal::new(String::new());
    let prepare = move |wrapped: Wrapped| {
        error.set(String::new());
        said.set(String::new());
        step.set(Step::Preparing);
        spawn_local(async move {
            let done = desk.copy_out(wrapped).await;
            match done {
                Ok(copy) => {
                    // It lives on in the copy only.
                    first.set(String::new());
                    second.set(String::new());
                    step.set(Step::Ready(Rc::new(copy), 0));
                }
                Err(why) => {
                    said.set(why.to_string());
                    step.set(Step::Asked);
                }
            }
        });
    };
    let seal = move |()| {
        let passphrase = first.get_untracked();
        match wrong_passphrase(&passphrase, &second.get_untracked()) {
            Some(why) => error.set(why.to_string()),
            None => prepare(Wrapped::Sealed(part, passphrase)),
        }
    };
    let give = Callback::new(move |share: bool| {
        let Step::Ready(copy, nth) = step.get_untracked() else {
            return;
        };
        spawn_local(async move {
            let what = desk.give_copy(&copy, nth, share).await;
            let words = gone(what, settings::EN.copied);
            let (next, of) = (nth + 1, copy.files());
            if what == CopyOut::Ready && next < of {
                said.set(EN.file_left(next, of));
                step.set(Step::Ready(copy, next));
            } else if what == CopyOut::Ready {
                on_done.run(words);
            } else {
                // It is still ready: another press may do.
                said.set(words);
            }
        });
    });
    let body = move || match step.get() {
        Step::Asked => view! {
            <form class="stack" on:submit=move |ev| { ev.prevent_default(); seal(()); }>
                <p class="reading">{EN.pass_lost}</p>
                <Twice label=EN.pass first=first second=second error=error />
                <Press text=EN.prepare look=Look::Solid on_press=seal />
                {(part == Part::Procedures).then(|| view! {
                    <Press text=EN.plain note=EN.plain_note look=Look::Plain spread=true on_press=move |()| prepare(Wrapped::PlainProcedures) />
                })}
            </form>
        },
        Step::Preparing => view! { <p role="status">{EN.preparing}</p> },
        Step::Ready(copy, nth) => {
            let words = if copy.sealed {
                EN.ready
            } else {
                EN.ready_plain
            };
            let save = if can_ask_where() {
                EN.save
            } else {
                EN.download
            };
            view! {
                <p role="status"><b>{words}</b></p>
                <p>{EN.next_file(nth + 1, copy.files())}</p>
                <div hidden=!can_share()><Press text=EN.share look=Look::Solid on_press=move |()| give.run(true) /></div>
                <Press text=save look=Look::Solid on_press=move |()| give.run(false) />
            }
        }
    };
    view! {
        <section class="panel stack">
            {body}
            <p role="status">{move || said.get()}</p>
            <Press text=EN.not_this_one look=Look::Plain on_press=move |()| on_done.run(settings::EN.copy_gone.to_string()) />
        </section>
    }
}
