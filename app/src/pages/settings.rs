//! How the practice is set up, and the way to copies and invented data.

use super::at_chair::AtTheChair;
use super::frame::{DeskTabs, NotSaved, SavedSign};
use super::sealing::SealPanel;
use crate::desk::{Desk, Route, use_desk};
use crate::parts::{Field, Kind, Look, OneOf, Press};
use crate::shape::prelude::*;
use pinfold_core::event::practice::Set as Setting;
use pinfold_core::ledger::DeskCommand;
use pinfold_core::words::settings::EN;
use pinfold_core::words::{app, atlas, exports, points, procedures, rules};

/// Writes a setting down if it changed; false if it was refused.
pub(super) fn give(desk: Desk, name: &str, value: String) -> bool {
    desk.read_now(|l| l.practice().setting(name) == value)
        || desk
            .act(DeskCommand::Set(Setting {
                name: name.into(),
                value,
                reason: String::new(),
            }))
            .is_ok()
}

/// One line of text that is a setting. It is written down when the field is left.
#[component]
fn Text(
    name: &'static str,
    label: &'static str,
    #[prop(default = "")] hint: &'static str,
) -> impl IntoShape {
    let desk = use_desk();
    let value = RwSignal::new(desk.read_now(|l| l.practice().setting(name).to_string()));
    let wrong = RwSignal::new(String::new());
    let keep = move || {
        // The page may be gone already.
        let Some(text) = value.try_get_untracked() else {
            return;
        };
        let kept = give(desk, name, text.trim().to_string());
        wrong.set(if kept { "" } else { EN.too_long }.to_string());
    };
    view! {
        <div on:focusout=move |_| keep()>
            <Field id=name label=label hint=hint value=value on_input=move |t| value.set(t) error=wrong />
        </div>
    }
}

/// Asks for the emergency number, until there is one.
#[component]
pub fn EmergencyNumber() -> impl IntoShape {
    let desk = use_desk();
    const NAME: &str = "emergency_number";
    let value = RwSignal::new(String::new());
    let wrong = RwSignal::new(String::new());
    let has = Memo::new(move |_| desk.read(|l| !l.practice().setting(NAME).is_empty()));
    let keep = move |()| {
        let kept = give(desk, NAME, value.get_untracked().trim().to_string());
        wrong.set(if kept { "" } else { EN.too_long }.to_string());
    };
    move || {
        (!has.get()).then(|| {
            view! {
                <section class="panel stack">
                    <h2>{app::EN.first_session}</h2>
                    <Field
                        id="emergency"
                        label=EN.emergency
                        hint=app::EN.first_session_why
                        kind=Kind::Phone
                        value=value
                        on_input=move |t| value.set(t)
                        error=wrong
                    />
                    <Press text=EN.keep on_press=keep />
                </section>
            }
        })
    }
}

/// A choice that is a setting; the first is what holds while nothing was chosen.
#[component]
pub fn Pick(
    name: &'static str,
    label: &'static str,
    choices: Vec<(&'static str, &'static str)>,
    #[prop(default = "")] hint: &'static str,
) -> impl IntoShape {
    let desk = use_desk();
    let values: Vec<&'static str> = choices.iter().map(|(v, _)| *v).collect();
    let texts = choices
        .iter()
        .map(|(_, t)| (*t).to_string())
        .collect::<Vec<_>>();
    let chosen = {
        let values = values.clone();
        Memo::new(move |_| {
            desk.read(|l| {
                values
                    .iter()
                    .position(|v| *v == l.practice().setting(name))
                    .unwrap_or(0)
            })
        })
    };
    let choose = move |i: usize| {
        if let Some(value) = values.get(i) {
            let _ = give(desk, name, (*value).to_string());
        }
    };
    view! {
        <div class="stack">
            <h2>{label}</h2>
            <p class="note">{hint}</p>
            <OneOf
                name=label
                texts=texts
                chosen=chosen
                on_choose=choose
            />
        </div>
    }
}

/// Settings.
#[component]
pub fn Settings() -> impl IntoShape {
    let desk = use_desk();
    view! {
        <div class="screen">
            <header class="head column">
                <h1>{EN.settings}</h1>
                <p class="note end"><SavedSign /></p>
            </header>
            <main class="column halves">
                <div class="stack">
                <NotSaved />
                <Text name="emergency_number" label=EN.emergency hint=EN.emergency_hint />
                <Text name="practitioner" label=EN.practitioner />
                <Text name="registration" label=EN.registration hint=EN.registration_hint />
                <Pick
                    name="cream_scope"
                    label=EN.cream_scope
                    hint=EN.cream_scope_hint
                    choices=vec![("", EN.cream_no), ("confirmed", EN.cream_yes)]
                />
                <Pick name="seat" label=EN.seat choices=vec![("", EN.facing), ("head_end", EN.head_end)] />
                <Pick name="used_needles" label=EN.used choices=vec![("", EN.used_tray), ("box", EN.used_box)] />
                <Pick
                    name="needle_labels"
                    label=EN.needle_labels
                    hint=EN.needle_labels_hint
                    choices=vec![("", EN.millimetres), ("gauge", EN.with_gauge)]
                />
                <Pick name="weights" label=EN.weights hint=EN.weights_hint choices=vec![("", EN.kilograms), ("pounds", EN.pounds)] />
                <Pick name="learned_speeds" label=EN.speeds hint=EN.speeds_hint choices=vec![("", EN.speeds_on), ("off", EN.speeds_off)] />
                <Pick name="language" label=EN.language hint=EN.language_hint choices=vec![("", EN.english)] />
                </div>
                <div class="stack">
                <section class="panel stack">
                    <h2>{EN.copies}</h2>
                    <Press text=EN.copies look=Look::Plain on_press=move |()| desk.go(&Route::Copies) />
                    <a class="press plain" href=Route::Exports(None).href()>{exports::EN.page}</a>
                    <a class="press plain" href=Route::PrintSheet.href()>{EN.question_sheet}</a>
                    <a class="press plain" href=Route::Atlas.href()>{atlas::EN.atlas}</a>
                    <a class="press plain" href=Route::Procedures.href()>{procedures::EN.procedures}</a>
                    <a class="press plain" href=Route::OwnPoints.href()>{points::EN.own_points}</a>
                    <a class="press plain" href=Route::Rules.href()>{rules::EN.rules}</a>
                    <a class="press plain" href=Route::OwnRules.href()>{rules::EN.own}</a>
                </section>
                <AtTheChair />
                <SealPanel />
                <section class="panel stack">
                    <h2>{EN.demo}</h2>
                    <p class="note">{EN.demo_why}</p>
                    <div hidden=desk.invented()>
                        <Press text=EN.demo look=Look::Plain on_press=move |()| desk.look_around() />
                    </div>
                    <div hidden=!desk.invented()>
                        <Press text=EN.demo_leave look=Look::Plain on_press=move |()| desk.leave_invented() />
                    </div>
                </section>
                </div>
            </main>
            <DeskTabs here=2 />
        </div>
    }
}
