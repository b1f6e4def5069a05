//! Copies out and in: what leaves, what a file is beside what is here, and what it would bring.

use super::copy_out::TakeOut;
use super::frame::{DeskTabs, NotSaved, SavedSign, time_of_day};
use super::sealing::Choice;
use crate::desk::{Desk, LookedInto, Route, SealedFile, use_desk, zone};
use crate::parts::{Field, Kind, Look, Notice, Press};
use crate::shape::prelude::*;
use pinfold_core::base::stamp::Wall;
use pinfold_core::carry::{Part, Summary, disagreements};
use pinfold_core::seal::CopyTrouble;
use pinfold_core::view::visit::day_of;
use pinfold_core::words::copies::{EN, shown};
use pinfold_core::words::settings;
use pinfold_core::words::vault::EN as VAULT;
use std::cell::Cell;
use std::rc::Rc;
use wasm_bindgen_futures::spawn_local;

/// "2026-03-09 14:05".
pub fn moment(at: Wall) -> String {
    format!("{} {}", day_of(at, zone()), time_of_day(at, zone()))
}

/// How old the last copy is, in words.
pub fn age(desk: Desk) -> String {
    let last = desk.read(|l| l.practice().last_copy().map(|c| (c.at, c.brought)));
    last.map_or_else(
        || EN.never.to_string(),
        |(at, brought)| EN.age(desk.stamp().wall.since(at) / 86_400_000, brought),
    )
}

/// What a file is beside what is here, line by line.
fn compared(seen: &Summary) -> Vec<String> {
    let c = &seen.checked;
    let mut lines = vec![EN.counted(c.entries, c.here, c.new, c.differ)];
    lines.extend(c.at.map(moment));
    lines.extend(c.piece.map(|p| EN.piece(p.number, p.all.is_some())));
    if c.lacking == 0 {
        let words = if c.piece.is_some() {
            EN.lacks_nothing_of
        } else {
            EN.lacks_nothing
        };
        lines.push(words.to_string());
    } else {
        lines.push(EN.lacking(c.lacking, &c.last_lacking.map_or(String::new(), moment)));
    }
    match c.continues {
        Some(true) => lines.push(EN.continues.to_string()),
        Some(false) => lines.push(EN.continues_not.to_string()),
        None => {}
    }
    match c.complete {
        Some(true) => lines.push(EN.all_files.to_string()),
        Some(false) => lines.push(EN.not_all_files.to_string()),
        None => {}
    }
    if c.missing > 0 {
        lines.push(EN.cut_off(c.missing));
    }
    if c.erased > 0 {
        lines.push(EN.still_holds(c.erased));
    }
    lines
}

/// What bringing it in would do, line by line; empty if nothing is new.
fn would(seen: &Summary) -> Vec<String> {
    if seen.nothing_new() {
        return vec![EN.all_here.to_string()];
    }
    let mut lines: Vec<String> = seen
        .new
        .iter()
        .map(|(what, n)| format!("{n} {what}"))
        .collect();
    let mut more = |n: u32, words: String| {
        if n > 0 {
            lines.push(words);
        }
    };
    more(seen.visits, EN.visits(seen.visits));
    more(seen.newer, EN.newer(seen.newer));
    more(seen.malformed, EN.malformed(seen.malformed));
    more(seen.left_out, EN.left_out(seen.left_out));
    if !seen.differ.is_empty() {
        lines.push(EN.would_differ(seen.differ.len()));
    }
    lines
}

fn list(title: &'static str, why: &'static str, lines: Vec<String>) -> Option<Shape> {
    (!lines.is_empty()).then(|| {
        let lines: Vec<_> = lines
            .into_iter()
            .map(|line| view! { <li><bdi>{line}</bdi></li> })
            .collect();
        view! { <section class="panel stack"><h2>{title}</h2><p class="note">{why}</p><ul class="lines">{lines}</ul></section> }
    })
}

/// What was found in a copy, before anything is done.
#[component]
fn Found(
    /// The file beside what is here.
    seen: Rc<Summary>,
    /// Done with it.
    #[prop(into)]
    on_done: Callback<String>,
) -> impl IntoShape {
    let desk = use_desk();
    let name = |name: &String| {
        if name.is_empty() {
            EN.nobody_named.to_string()
        } else {
            shown(name)
        }
    };
    let reopens = seen.reopens.iter().map(|r| {
        let at = r.at.map_or(String::new(), moment);
        format!("{} {at}", name(&r.name))
    });
    let changes = seen.changes.iter().map(|c| {
        format!(
            "{}: {} \u{2192} {}",
            shown(&c.name),
            EN.value(&c.before, ""),
            EN.value(&c.after, "")
        )
    });
    let rests = seen.nothing_new() || !seen.at_chair.is_empty();
    let lists = vec![
        list(
            EN.at_chair,
            EN.at_chair_why,
            seen.at_chair.iter().map(name).collect(),
        ),
        list(
            EN.erases,
            EN.erases_why,
            seen.erases.iter().map(name).collect(),
        ),
        list(EN.reopens, EN.reopens_why, reopens.collect()),
        list(EN.changes, "", changes.collect()),
        list(EN.new_people, "", seen.people.iter().map(name).collect()),
        list(
            EN.flaws,
            "",
            seen.flaws.iter().take(50).map(|f| EN.flaw(f)).collect(),
        ),
    ];
    let what = list(EN.check, EN.check_note, compared(&seen));
    let does = list(EN.in_, EN.would, would(&seen));
    let under_way = Cell::new(false);
    let bring = move |()| {
        // A second press would bring nothing, and say so.
        if under_way.replace(true) {
            return;
        }
        let seen = seen.clone();
        spawn_local(async move {
            on_done.run(match desk.bring(&seen).await {
                Ok(n) => EN.brought(n),
                Err(why) => why.to_string(),
            });
        });
    };
    view! {
        <div class="stack">
            {what}
            {does}
            {lists}
            <div class="row">
                <div hidden=rests><Press text=EN.bring_in look=Look::Solid on_press=bring /></div>
                <Press text=EN.leave look=Look::Plain on_press=move |()| on_done.run(EN.left.to_string()) />
            </div>
        </div>
    }
}

/// Asks for the passphrase of a sealed copy and looks into it.
#[component]
fn Inside(
    /// The file.
    file: Rc<SealedFile>,
    /// What it turned out to be; never a wrong passphrase.
    #[prop(into)]
    on_seen: Callback<LookedInto>,
) -> impl IntoShape {
    let desk = use_desk();
    let typed = RwSignal::new(String::new());
    let error = RwSignal::new(String::new());
    let opening = RwSignal::new(false);
    let open = Callback::new(move |()| {
        let (file, passphrase) = (file.clone(), typed.get_untracked());
        if passphrase.is_empty() {
            return error.set(VAULT.empty_passphrase.to_string());
        }
        if opening.get_untracked() {
            return;
        }
        opening.set(true);
        error.set(String::new());
        spawn_local(async move {
            let seen = desk.look_inside(&file, &passphrase).await;
            opening.set(false);
            if matches!(seen, LookedInto::WrongPassphrase) {
                return error.set(VAULT.copy(CopyTrouble::WrongPassphrase).to_string());
            }
            typed.set(String::new());
            on_seen.run(seen);
        });
    });
    view! {
        <form class="panel stack" on:submit=move |ev| { ev.prevent_default(); open.run(()); }>
            <h2>{EN.is_sealed}</h2>
            <Field id="sealed-copy" kind=Kind::Secret label=VAULT.passphrase hint=EN.is_sealed_why value=typed on_input=move |t| typed.set(t) error=error />
            <p role="status">{move || if opening.get() { EN.opening } else { "" }}</p>
            <div class="row">
                <Press text=EN.open look=Look::Solid on_press=open />
                <Press text=EN.leave look=Look::Plain on_press=move |()| on_seen.run(LookedInto::Refused(EN.left.to_string())) />
            </div>
        </form>
    }
}

/// Copies.
#[component]
pub fn Copies() -> impl IntoShape {
    let desk = use_desk();
    let said = RwSignal::new(String::new());
    let found = RwSignal::new(None::<Rc<Summary>>);
    let shut = RwSignal::new(None::<Rc<SealedFile>>);
    let taking = RwSignal::new(None::<Part>);
    let seen = Callback::new(move |what: LookedInto| {
        let (mut copy, mut file, mut words) = (None, None, String::new());
        match what {
            LookedInto::Copy(summary) => copy = Some(summary),
            LookedInto::Sealed(sealed) => file = Some(sealed),
            LookedInto::Refused(why) => words = why,
            LookedInto::WrongPassphrase | LookedInto::Nothing => return,
        }
        found.set(copy);
        shut.set(file);
        said.set(words);
    });
    let look = move |()| spawn_local(async move { seen.run(desk.look_into().await) });
    let take = move |part: Part| {
        seen.run(LookedInto::Refused(String::new()));
        taking.set(Some(part));
    };
    let done = move |words: String| {
        found.set(None);
        taking.set(None);
        said.set(words);
    };
    let open = move || desk.read(|l| disagreements(l, None).len());
    view! {
        <div class="screen">
            <header class="head column">
                <h1>{settings::EN.copies}</h1>
                <p class="note end"><SavedSign /></p>
            </header>
            <main class="column stack">
                <NotSaved />
                <p class="reading">{settings::EN.copies_why}</p>
                <p><b>{move || age(desk)}</b></p>
                <div hidden=move || open() == 0>
                    <Notice title=Signal::derive(move || format!("{}: {}", EN.differ, open())) quiet=true />
                </div>
                {move || taking.get().map(|part| view! { <TakeOut part=part on_done=done /> })}
                <div class="stack" hidden=move || taking.get().is_some()>
                    <Press text=settings::EN.copy_out note=EN.whole_note look=Look::Solid spread=true on_press=move |()| take(Part::Whole) />
                    <Press text=EN.since note=EN.since_note look=Look::Plain spread=true on_press=move |()| take(Part::Since) />
                    <Press text=EN.procedures note=EN.procedures_note look=Look::Plain spread=true on_press=move |()| take(Part::Procedures) />
                    {move || if desk.must_choose() {
                        view! { <p class="reading">{VAULT.no_people}</p> <Choice /> }
                    } else {
                        view! { <Press text=settings::EN.copy_in note=EN.look_first look=Look::Plain spread=true on_press=look /> }
                    }}
                </div>
                <p role="status">{move || said.get()}</p>
                {move || shut.get().map(|file| view! { <Inside file=file on_seen=seen /> })}
                {move || found.get().map(|seen| view! { <Found seen=seen on_done=done /> })}
                <a class="press plain" href=Route::Differ.href()>{EN.differ}</a>
                <a class="press plain" href=Route::Keeping.href()>{EN.keep_long}</a>
            </main>
            <DeskTabs here=2 />
        </div>
    }
}
