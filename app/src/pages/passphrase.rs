//! Setting a passphrase: twice the same, then a recovery code onto paper and two groups of it back; and
//! putting another in its place.

use super::frame::{DeskTabs, NotSaved, SavedSign};
use crate::desk::{NewDoor, Route, Sealing, use_desk, wrong_passphrase as wrong};
use crate::parts::{Field, Kind, Look, Notice, Press};
use crate::shape::prelude::*;
use pinfold_core::seal::RecoveryCode;
use pinfold_core::words::vault::EN;
use wasm_bindgen_futures::spawn_local;

/// The second and the last of a code's seven groups.
fn groups(code: &str) -> (String, String) {
    let mut groups = code.split('-');
    let second = groups.nth(1).unwrap_or_default().to_string();
    (second, groups.next_back().unwrap_or_default().to_string())
}

/// Whether what was typed is a group, in either case, with O for 0 and I or L for 1.
fn same_group(typed: &str, group: &str) -> bool {
    let plain = |c: char| match c.to_ascii_uppercase() {
        'O' => '0',
        'I' | 'L' => '1',
        other => other,
    };
    typed
        .chars()
        .filter(|c| !c.is_whitespace() && *c != '-')
        .map(plain)
        .eq(group.chars())
}

/// How far it is.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Step {
    Passphrase,
    Code,
    Back,
    Working,
    Done,
}

/// Two fields for a new passphrase.
#[component]
pub fn Twice(
    label: &'static str,
    first: RwSignal<String>,
    second: RwSignal<String>,
    error: RwSignal<String>,
) -> impl IntoShape {
    view! {
        <Field id="new" kind=Kind::Secret label=label hint=EN.passphrase_hint value=first on_input=move |t| first.set(t) error=error />
        <Field id="again" kind=Kind::Secret label=EN.again value=second on_input=move |t| second.set(t) />
    }
}

/// Sets a passphrase and a recovery code; or another code, of what is sealed.
#[component]
pub fn SealPractice(
    /// Another code only.
    #[prop(optional)]
    renew: bool,
) -> impl IntoShape {
    let desk = use_desk();
    let sealed = desk.sealing().get_untracked() == Sealing::Sealed;
    let already = sealed != renew || desk.invented();
    let step = RwSignal::new(Step::Passphrase);
    let (first, second) = (RwSignal::new(String::new()), RwSignal::new(String::new()));
    let (one, last) = (RwSignal::new(String::new()), RwSignal::new(String::new()));
    let error = RwSignal::new(String::new());
    // Drawn once; only its printed form is kept on the page, until it is gone with it.
    let code = RwSignal::new(String::new());
    let go_on = move |()| {
        // The present one is tried with the code, at the end.
        let said = (!renew).then(|| wrong(&first.get_untracked(), &second.get_untracked()));
        let said = said.flatten();
        error.set(said.unwrap_or_default().to_string());
        if said.is_some() {
            return;
        }
        match desk.draw_code() {
            Some(drawn) => {
                code.set(drawn.printed().to_string());
                step.set(Step::Code);
            }
            None => error.set(EN.no_chance.to_string()),
        }
    };
    let seal = move |()| {
        let (second_group, last_group) = groups(&code.get_untracked());
        let back = same_group(&one.get_untracked(), &second_group)
            && same_group(&last.get_untracked(), &last_group);
        let Some(drawn) = RecoveryCode::from_typed(&code.get_untracked())
            .ok()
            .filter(|_| back)
        else {
            return error.set(EN.wrong_groups.to_string());
        };
        error.set(String::new());
        step.set(Step::Working);
        let passphrase = first.get_untracked();
        spawn_local(async move {
            let done = if renew {
                desk.change_door(Some(passphrase), NewDoor::Code(&drawn))
                    .await
            } else {
                desk.seal(&passphrase, &drawn).await
            };
            match done {
                Ok(()) => {
                    for secret in [first, second, one, last, code] {
                        secret.set(String::new());
                    }
                    step.set(Step::Done);
                }
                Err(why) => {
                    error.set(why.to_string());
                    step.set(Step::Back);
                }
            }
        });
    };
    let (title, now, done) = if renew {
        (EN.new_code, EN.new_code_now, EN.code_renewed)
    } else {
        (EN.choice_set, EN.seal_now, EN.sealed_now)
    };
    let body = move || {
        if already && step.get() != Step::Done {
            return view! { <p role="status">{EN.sealed_already}</p> };
        }
        match step.get() {
            Step::Passphrase if renew => view! {
                <form class="stack" on:submit=move |ev| { ev.prevent_default(); go_on(()); }>
                    <p class="reading">{EN.new_code_why}</p>
                    <Field id="present" kind=Kind::Secret label=EN.old_passphrase value=first on_input=move |t| first.set(t) error=error />
                    <Press text=EN.go_on look=Look::Solid on_press=go_on />
                </form>
            },
            Step::Passphrase => view! {
                <form class="stack" on:submit=move |ev| { ev.prevent_default(); go_on(()); }>
                    <p class="reading">{EN.choice_why}</p>
                    <Twice label=EN.passphrase first=first second=second error=error />
                    <Press text=EN.go_on look=Look::Solid on_press=go_on />
                </form>
            },
            Step::Code => view! {
                <h2>{EN.code_title}</h2>
                <p class="reading">{EN.code_why}</p>
                <p class="panel"><b class="code num">{code.get_untracked()}</b></p>
                <Press text=EN.print_code look=Look::Plain on_press=move |()| desk.print() />
                <Press text=EN.code_written look=Look::Solid on_press=move |()| step.set(Step::Back) />
            },
            Step::Back => view! {
                <form class="stack" on:submit=move |ev| { ev.prevent_default(); seal(()); }>
                    <h2>{EN.code_check_title}</h2>
                    <p class="reading">{EN.code_check_why}</p>
                    <Field id="second-group" label=EN.second_group value=one on_input=move |t| one.set(t) error=error />
                    <Field id="last-group" label=EN.last_group value=last on_input=move |t| last.set(t) />
                    <Press text=now look=Look::Solid on_press=seal />
                    <Press text=EN.show_again look=Look::Plain on_press=move |()| step.set(Step::Code) />
                </form>
            },
            Step::Working => view! { <p role="status">{EN.working}</p> },
            Step::Done => view! {
                <p role="status">{done}</p>
                <Press text=EN.go_on look=Look::Solid on_press=move |()| desk.go(&Route::Today) />
            },
        }
    };
    view! {
        <div class="screen">
            <header class="head column">
                <h1>{title}</h1>
                <p class="note end"><SavedSign /></p>
            </header>
            <main class="column stack"><NotSaved /> {body}</main>
            <DeskTabs here=2 />
        </div>
    }
}

/// Changes the passphrase, or the recovery code.
#[component]
pub fn ChangePassphrase() -> impl IntoShape {
    let renewing = RwSignal::new(false);
    move || {
        if renewing.get() {
            view! { <SealPractice renew=true /> }
        } else {
            view! { <OtherPassphrase on_code=move |()| renewing.set(true) /> }
        }
    }
}

#[component]
fn OtherPassphrase(
    /// Another code is wanted.
    #[prop(into)]
    on_code: Callback<()>,
) -> impl IntoShape {
    let desk = use_desk();
    let by_code = desk.came_by_code();
    let old = RwSignal::new(String::new());
    let (first, second) = (RwSignal::new(String::new()), RwSignal::new(String::new()));
    let error = RwSignal::new(String::new());
    let said = RwSignal::new("");
    let change = move |()| {
        if said.get_untracked() == EN.working {
            return;
        }
        let fault = wrong(&first.get_untracked(), &second.get_untracked());
        error.set(fault.unwrap_or_default().to_string());
        if fault.is_some() {
            return;
        }
        said.set(EN.working);
        let present = (!by_code).then(|| old.get_untracked());
        let new = first.get_untracked();
        spawn_local(async move {
            let done = desk.change_door(present, NewDoor::Passphrase(&new)).await;
            for secret in [old, first, second] {
                secret.set(String::new());
            }
            match done {
                Ok(()) => {
                    said.set(EN.changed_now);
                }
                Err(why) => {
                    said.set("");
                    error.set(why.to_string());
                }
            }
        });
    };
    let present = if by_code {
        view! { <Notice title=EN.by_code quiet=true /> }
    } else {
        view! { <Field id="old" kind=Kind::Secret label=EN.old_passphrase value=old on_input=move |t| old.set(t) /> }
    };
    // Whoever came by the code sets a passphrase first.
    let code = (!by_code).then(|| {
        view! { <Press text=EN.new_code note=EN.new_code_why look=Look::Plain spread=true on_press=on_code /> }
    });
    view! {
        <div class="screen">
            <header class="head column">
                <h1>{EN.change}</h1>
                <p class="note end"><SavedSign /></p>
            </header>
            <main class="column stack">
                <NotSaved />
                <form class="stack" on:submit=move |ev| { ev.prevent_default(); change(()); }>
                    {present}
                    <Twice label=EN.new_passphrase first=first second=second error=error />
                    <Press text=EN.change look=Look::Solid on_press=change />
                </form>
                <p role="status">{move || said.get()}</p>
                {code}
            </main>
            <DeskTabs here=2 />
        </div>
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_new_passphrase_is_long_and_typed_twice() {
        assert_eq!(
            wrong("a stile over the wall", "a stile over the wall"),
            None
        );
        assert_eq!(wrong("short", "short"), Some(EN.too_short));
        assert_eq!(wrong("", ""), Some(EN.too_short));
        assert_eq!(
            wrong("a stile over the wall", "a stile over the Wall"),
            Some(EN.differ)
        );
    }

    #[test]
    fn two_groups_of_the_code_are_asked_back() {
        let (second, last) = groups("0123-4567-89AB-CDEF-GHJK-MNPQ-RSTV");
        assert_eq!((second.as_str(), last.as_str()), ("4567", "RSTV"));
        assert!(same_group(" rstv", "RSTV") && same_group("OIL2", "0112"));
        assert!(
            !same_group("RSTU", "RSTV") && !same_group("", "RSTV") && !same_group("RST", "RSTV")
        );
    }
}
