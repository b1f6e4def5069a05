//! How this phone behaves at the chair: pedal, sound, vibration, what is held, how clocks are written.

use super::settings::{Pick, give};
use crate::desk::{Learn, learn, use_desk};
use crate::parts::{Look, Press};
use crate::shape::prelude::*;
use leptos::ev;
use pinfold_core::words::device::EN;

/// Everything that is set for the chair.
#[component]
pub fn AtTheChair() -> impl IntoShape {
    let desk = use_desk();
    let (sounds, shakes) = desk.can_be_heard();
    let quiet = move || {
        desk.read(|l| {
            let held = |name: &str| !l.practice().setting(name).is_empty();
            !held("sound") && !held("vibration")
        })
    };
    view! {
        <section class="panel stack">
            <h2>{EN.at_chair}</h2>
            <Pick name="out_form" label=EN.out_form hint=EN.one_by_one_hint choices=vec![("", EN.by_region), ("one", EN.one_by_one)] />
            <Pedal />
            <Pick name="two_press" label=EN.hold hint=EN.hold_hint choices=vec![("", EN.hold_down), ("on", EN.press_twice)] />
            <Pick name="clock_figures" label=EN.figures hint=EN.figures_hint choices=vec![("", EN.seconds), ("minutes", EN.minutes)] />
            <Pick
                name="sound"
                label=EN.sound
                hint=EN.sound_hint
                choices=vec![("", EN.off), ("soft", EN.soft), ("middle", EN.middle), ("loud", EN.loud)]
            />
            <p class="wrong" hidden=sounds>{EN.sound_absent}</p>
            <Pick name="vibration" label=EN.vibration choices=vec![("", EN.off), ("on", EN.on)] />
            <p class="wrong" hidden=shakes>{EN.vibration_absent}</p>
            <Press text=EN.try_it look=Look::Plain shut=Signal::derive(quiet) on_press=move |()| desk.sound() />
        </section>
    }
}

/// The pedal's key: learned from the pedal itself.
#[component]
fn Pedal() -> impl IntoShape {
    const NAME: &str = "pedal";
    let desk = use_desk();
    let key = Memo::new(move |_| desk.read(|l| l.practice().setting(NAME).to_string()));
    let none = move || key.with(String::is_empty);
    let learning = RwSignal::new(false);
    let refused = RwSignal::new(false);
    let hear = move |ev: web_sys::KeyboardEvent| {
        if !learning.get_untracked() || ev.repeat() {
            return;
        }
        let heard = learn(&ev.key(), &ev.code());
        if heard == Learn::Wait {
            return;
        }
        // The press that began this has the focus: the key must not press it again.
        ev.prevent_default();
        refused.set(heard == Learn::Refused);
        match heard {
            Learn::Key(key) => {
                let _ = give(desk, NAME, key);
                learning.set(false);
            }
            Learn::Leave => learning.set(false),
            Learn::Refused | Learn::Wait => {}
        }
    };
    let listener = window_event_listener(ev::keydown, hear);
    on_cleanup(move || listener.remove());
    let says = move || {
        if learning.get() {
            EN.pedal_press.to_string()
        } else if none() {
            EN.pedal_none.to_string()
        } else {
            EN.key(&key.get())
        }
    };
    view! {
        <div class="stack">
            <h2>{EN.pedal}</h2>
            <p class="note">{EN.pedal_hint}</p>
            <p role="status" id="pedal"><b>{says}</b></p>
            <p class="wrong" role="alert" hidden=move || !refused.get()>{EN.pedal_refused}</p>
            <Press
                text=EN.pedal_learn
                look=Look::Plain
                on_press=move |()| {
                    refused.set(false);
                    learning.set(true);
                }
            />
            <div hidden=none>
                <Press
                    text=EN.pedal_forget
                    look=Look::Plain
                    on_press=move |()| {
                        let _ = give(desk, NAME, String::new());
                    }
                />
            </div>
        </div>
    }
}
