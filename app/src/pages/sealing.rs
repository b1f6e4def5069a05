//! With or without a passphrase: the question before the first person, the mark that stays, locking.

use super::settings::Pick;
use crate::desk::{LOCK_AFTER, Route, Sealing, use_desk};
use crate::parts::{Look, Notice, Press};
use crate::shape::prelude::*;
use pinfold_core::view::chair::title;
use pinfold_core::words::place;
use pinfold_core::words::vault::EN;

/// Asks how this practice is kept, before anybody is written down in it.
#[component]
pub fn Choice() -> impl IntoShape {
    let desk = use_desk();
    view! {
        <section class="panel stack">
            <h2>{EN.choice}</h2>
            <p class="reading">{EN.choice_why}</p>
            <Press text=EN.choice_set look=Look::Solid on_press=move |()| desk.go(&Route::Seal) />
            <Press
                text=EN.choice_without
                note=EN.choice_without_note
                look=Look::Plain
                spread=true
                on_press=move |()| desk.do_without()
            />
        </section>
    }
}

/// On Today: the quiet sign that there is no passphrase, and what could not be read.
#[component]
pub fn Sign() -> impl IntoShape {
    let desk = use_desk();
    let open = move || {
        let open = desk.sealing().get() == Sealing::Open && !desk.invented();
        open.then(
            || view! { <p class="note"><a href=Route::Settings.href()>{EN.open_mark}</a></p> },
        )
    };
    view! { <Flaws /> {open} }
}

/// What could not be opened, each way once.
#[component]
pub fn Flaws() -> impl IntoShape {
    let desk = use_desk();
    move || {
        desk.sealing().track();
        let flaws = desk.unsealed().into_iter();
        let flaws = flaws.map(|(words, n)| EN.several(words, n));
        let outs = desk.outs_left();
        let left = outs
            .iter()
            .map(|out| EN.out_left(&EN.out_of(out.count, &title(&place::EN, out.region))));
        let mut told: Vec<Shape> = flaws
            .chain(left)
            .map(|words| view! { <Notice title=EN.flaws kept=words quiet=true /> })
            .collect();
        if !outs.is_empty() {
            told.push(view! { <Press text=EN.out_read look=Look::Plain on_press=move |()| desk.outs_are_written() /> });
        }
        told
    }
}

/// In Settings: how it stands, and what can be done about it.
#[component]
pub fn SealPanel() -> impl IntoShape {
    let desk = use_desk();
    let said = RwSignal::new("");
    let body = move || {
        if desk.invented() {
            return view! { <div /> };
        }
        if desk.sealing().get() == Sealing::Sealed {
            view! {
                <p>{EN.sealed_mark}</p>
                <Press
                    text=EN.lock_now
                    on_press=move |()| {
                        if let Err(why) = desk.lock() {
                            said.set(why);
                        }
                    }
                />
                <p role="status">{move || said.get()}</p>
                <a class="press plain" href=Route::Passphrase.href()>{EN.change}</a>
                <Pick
                    name=LOCK_AFTER
                    label=EN.lock_after
                    hint=EN.lock_after_hint
                    choices=vec![
                        ("", EN.ten_minutes),
                        ("2", EN.two_minutes),
                        ("5", EN.five_minutes),
                        ("30", EN.half_hour),
                        ("60", EN.hour),
                    ]
                />
            }
        } else {
            let open = (desk.sealing().get() == Sealing::Open)
                .then(|| view! { <p><b>{EN.open_mark}</b></p> });
            view! {
                {open}
                <a class="press plain" href=Route::Seal.href()>{EN.choice_set}</a>
            }
        }
    };
    view! { <section class="panel stack"><h2>{EN.passphrase}</h2> <Flaws /> {body}</section> }
}
