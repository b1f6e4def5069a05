//! Before the passphrase: what is in and what is due, without names; counting out; the emergency cards;
//! unlocking.

use super::frame::{NotSaved, SavedSign, time_of_day};
use crate::desk::{Route, Typed, use_desk, zone};
use crate::parts::slab::Tall;
use crate::parts::{Field, Keys, KeysWords, Kind, Look, Notice, Press, Slab};
use crate::shape::prelude::*;
use pinfold_core::atlas::Region;
use pinfold_core::base::id::EntryId;
use pinfold_core::base::stamp::Wall;
use pinfold_core::seal::RecoveryCode;
use pinfold_core::view::chair::title;
use pinfold_core::words::ask::ENGLISH as ASK;
use pinfold_core::words::cards::CARDS;
use pinfold_core::words::vault::EN;
use pinfold_core::words::{app, chair, place};
use wasm_bindgen_futures::spawn_local;

/// A region that is being counted out.
#[derive(Clone, Copy, PartialEq, Eq)]
struct Asked {
    session: EntryId,
    region: Region,
    inside: u32,
    first: Option<u16>,
}

/// Locked.
#[component]
pub fn Locked() -> impl IntoShape {
    let desk = use_desk();
    view! {
        <div class="screen">
            <header class="head column">
                <h1>{EN.locked}</h1>
                <p class="note end"><SavedSign /></p>
            </header>
            <main class="column stack">
                <NotSaved />
                <Inside />
                {move || match desk.cannot_unlock() {
                    Some(why) => view! { <Notice title=EN.locked kept=why alert=true /> },
                    None => view! { <Unlock /> },
                }}
                <Cards />
            </main>
        </div>
    }
}

/// Needles in, clocks, and counting out.
#[component]
fn Inside() -> impl IntoShape {
    let desk = use_desk();
    let asked = RwSignal::new(None::<Asked>);
    let question = RwSignal::new(0_u32);
    let answer = move |n: u16| {
        let Some(now) = asked.get_untracked() else {
            return;
        };
        if u32::from(n) != now.inside && now.first.is_none() {
            asked.set(Some(Asked {
                first: Some(n),
                ..now
            }));
            question.update(|q| *q += 1);
            return;
        }
        asked.set(None);
        desk.count_out_locked(now.session, now.region, n, now.first);
    };
    let keys = move || {
        asked.get().map(|now| {
            let name = title(&place::EN, now.region);
            let text = if now.first.is_some() {
                chair::EN.count_again_here
            } else {
                chair::EN.how_many_came_out
            };
            view! {
                <section class="stack">
                    <h2 class="question"><small>{name.clone()} ":"</small> " " {text}</h2>
                    <Keys
                        name=Signal::derive(move || name.clone())
                        words=KeysWords {
                            more: chair::EN.more,
                            done: chair::EN.that_many,
                            back: chair::EN.back,
                            typed: chair::EN.typed,
                        }
                        question=question
                        on_answer=answer
                    />
                    <Press text=chair::EN.leave_it_open chair=true small=true look=Look::Plain on_press=move |()| asked.set(None) />
                </section>
            }
        })
    };
    let rows = move || {
        let strip = desk.nameless();
        if strip.held.is_empty() || asked.get().is_some() {
            return None;
        }
        let rows = strip
            .held
            .into_iter()
            .map(|held| {
                let (inside, label) = (held.inside, held.label);
                let count = held.place.map(|(session, region)| {
                    let ask = move |()| {
                        question.update(|q| *q += 1);
                        asked.set(Some(Asked { session, region, inside, first: None }));
                    };
                    view! { <Press text=EN.count_out label=format!("{}: {label}", EN.count_out) chair=true small=true on_press=ask /> }
                });
                view! { <li class="spread row"><span><b class="num in">{inside}</b> " " {label.clone()}</span> {count}</li> }
            })
            .collect::<Vec<_>>();
        let at = time_of_day(Wall(strip.at), zone());
        Some(view! {
            <section class="stack">
                <h2>{EN.in_now} " (" {at} ")"</h2>
                <p class="reading">{EN.count_first}</p>
                <ul class="stack">{rows}</ul>
            </section>
        })
    };
    let clocks = move || {
        desk.track_time();
        let due = desk.nameless().due;
        let now = desk.stamp().wall.0;
        (!due.is_empty()).then(|| {
            let rows = due
                .into_iter()
                .map(|(label, at)| {
                    let when = EN.due(&time_of_day(Wall(at), zone()), at.saturating_sub(now));
                    view! { <li><b>{label}</b> " " {when}</li> }
                })
                .collect::<Vec<_>>();
            view! { <section class="stack"><h2>{EN.clocks}</h2><ul class="stack">{rows}</ul></section> }
        })
    };
    let outs = move || {
        let outs = desk.locked_outs();
        (!outs.is_empty()).then(|| {
            let rows = outs
                .into_iter()
                .map(
                    |out| view! { <li>{EN.out_of(out.count, &title(&place::EN, out.region))}</li> },
                )
                .collect::<Vec<_>>();
            view! { <section class="stack"><h2>{EN.counted}</h2><ul>{rows}</ul></section> }
        })
    };
    view! { {keys} {rows} {clocks} {outs} }
}

/// The passphrase, or the recovery code.
#[component]
fn Unlock() -> impl IntoShape {
    let desk = use_desk();
    let by_code = RwSignal::new(false);
    let typed = RwSignal::new(String::new());
    let wrong = RwSignal::new(String::new());
    let busy = RwSignal::new(false);
    let wait = Memo::new(move |_| {
        desk.track_time();
        desk.wait_to_unlock()
    });
    let unlock = move |()| {
        if busy.get_untracked() {
            return;
        }
        let text = typed.get_untracked();
        let what = if by_code.get_untracked() {
            match RecoveryCode::from_typed(&text) {
                Ok(code) => Typed::Code(code),
                Err(why) => return wrong.set(EN.bad_code(why)),
            }
        } else if text.is_empty() {
            return wrong.set(EN.empty_passphrase.to_string());
        } else {
            Typed::Passphrase(text)
        };
        busy.set(true);
        wrong.set(String::new());
        spawn_local(async move {
            // After it opened this page is gone, and its signals with it.
            match desk.unlock(what).await {
                Ok(()) if desk.came_by_code() => desk.go(&Route::Passphrase),
                Ok(()) => {}
                Err(why) => {
                    typed.set(String::new());
                    wrong.set(why.to_string());
                    busy.set(false);
                }
            }
        });
    };
    let field = move || {
        if by_code.get() {
            view! { <Field id="code" label=EN.code hint=EN.code_hint value=typed on_input=move |t| typed.set(t) error=wrong /> }
        } else {
            view! { <Field id="passphrase" kind=Kind::Secret label=EN.passphrase value=typed on_input=move |t| typed.set(t) error=wrong /> }
        }
    };
    let other = move |()| {
        typed.set(String::new());
        wrong.set(String::new());
        by_code.update(|by| *by = !*by);
    };
    view! {
        <section class="stack panel">
            <p class="note">{EN.locked_why}</p>
            <form
                class="stack"
                on:submit=move |ev| {
                    ev.prevent_default();
                    unlock(());
                }
            >
                {field}
                <p role="status">
                    {move || match (busy.get(), wait.get()) {
                        (true, _) => EN.working.to_string(),
                        (_, 0) => String::new(),
                        (_, left) => EN.wait(left),
                    }}
                </p>
                <Slab text=EN.unlock tall=Tall::Low solid=true on_press=unlock />
            </form>
            <div hidden=!desk.has_code()>
                <Press
                    text=Signal::derive(move || if by_code.get() { EN.use_passphrase } else { EN.use_code }.to_string())
                    look=Look::Plain
                    on_press=other
                />
            </div>
        </section>
    }
}

/// The emergency cards, to be read.
#[component]
fn Cards() -> impl IntoShape {
    let cards = CARDS
        .iter()
        .map(|card| {
            let lines = card
                .lines
                .iter()
                .map(|l| view! { <li>{*l}</li> })
                .collect::<Vec<_>>();
            view! {
                <details class="card">
                    <summary>{card.title}</summary>
                    <ol>{lines}</ol>
                    <p class="note">{ASK.source(card.source, card.mark, false)}</p>
                </details>
            }
        })
        .collect::<Vec<_>>();
    view! { <section><h2>{EN.cards}</h2> <p class="note">{app::EN.cautions.get(2).copied()}</p> {cards}</section> }
}
