//! Does it add up? First what is left in the strips and the sweep, with no sum shown; then the sum
//! and the close.

use super::chair::posts;
use super::frame::{NotSaved, SavedSign};
use crate::desk::{Route, use_desk};
use crate::parts::ticks::Tick;
use crate::parts::{Field, Hold, HoldWords, Kind, Look, Notice, Press, Rail, Step, Ticks};
use leptos::prelude::*;
use pinfold_core::base::id::EntryId;
use pinfold_core::ledger::ChairCommand;
use pinfold_core::session::OpenItem;
use pinfold_core::view::chair::{self as view, ChairView};
use pinfold_core::words::{app, chair, place};

/// The count of one session.
#[component]
pub fn Count(
    /// The session.
    session: EntryId,
) -> impl IntoView {
    let desk = use_desk();
    let seen = Memo::new(move |_| desk.session(session, view::chair));
    let there = Memo::new(move |_| seen.with(Option::is_some));
    move || {
        if there.get() {
            let seen = Signal::derive(move || {
                seen.get()
                    .unwrap_or_else(|| view::chair(&pinfold_core::session::Session::default()))
            });
            view! { <Here session=session seen=seen /> }.into_any()
        } else {
            view! {
                <main class="column">
                    <Notice title=app::EN.not_there next=app::EN.not_there_next quiet=true />
                </main>
            }
            .into_any()
        }
    }
}

#[component]
fn Here(session: EntryId, #[prop(into)] seen: Signal<ChairView>) -> impl IntoView {
    let desk = use_desk();
    let words = RwSignal::new(String::new());
    let open = Memo::new(move |_| {
        let words = words.get();
        let words = (!words.trim().is_empty()).then_some(words);
        desk.session(session, |s| s.state().reconcile(words.as_deref()).err())
            .flatten()
            .unwrap_or_default()
    });
    let strips_asked = Memo::new(move |_| {
        open.with(|o| o.iter().any(|i| matches!(i, OpenItem::StripsUncounted(_))))
    });
    let closed = Memo::new(move |_| seen.with(|v| v.closed));
    let needs_words = Memo::new(move |_| {
        seen.with(|v| v.sum.packless > 0 || v.sum.not_found + v.sum.unplaced_not_found > 0)
    });
    let line = Memo::new(move |_| seen.with(|v| view::sum_line(&chair::EN, &v.sum)));
    let posts = Memo::new(move |_| seen.with(|v| posts(&v.sum)));
    let left = RwSignal::new(0_u16);
    let sizes = move || seen.with(|v| v.packs.iter().map(|(size, _)| *size).collect::<Vec<_>>());
    let uncounted = Memo::new(move |_| seen.with(|v| v.sum.out_uncounted));
    let unaccounted = Memo::new(move |_| {
        seen.with(|v| v.sum.unaccounted.saturating_sub(v.sum.unplaced_not_found))
    });

    let areas = Memo::new(move |_| seen.with(view::areas_used));
    let swept = Memo::new(move |_| {
        desk.session(session, |s| s.state().swept.clone())
            .unwrap_or_default()
    });
    let can_close_at = move || {
        if open.with(Vec::is_empty) {
            String::new()
        } else {
            chair::EN.can_close_at(seen.with(|v| v.sum.opened))
        }
    };
    let close = move |()| {
        let said = words.get_untracked();
        let words = (!said.trim().is_empty()).then_some(said);
        // A refusal says what is open; that is on this page already.
        if desk.act(ChairCommand::Close { session, words }).is_ok() {
            desk.replace(&Route::Today);
        }
    };
    view! {
        <div class="screen chair">
            <header class="head column">
                <Press
                    text=chair::EN.chair
                    look=Look::Plain
                    chair=true
                    fit=true
                    on_press=move |()| desk.replace(&Route::Chair(session))
                />
                <h1>{chair::EN.count}</h1>
                <span class="end"><SavedSign /></span>
            </header>
            <main class="column stack">
                <NotSaved />
                <section class="stack" hidden=move || !strips_asked.get()>
                    <h2>{chair::EN.strips_left}</h2>
                    <p class="note">{chair::EN.strips_left_note}</p>
                    <Step
                        value=left
                        on_change=move |n| left.set(n)
                        fewer=chair::EN.one_fewer
                        more=chair::EN.one_more
                        note=chair::EN.unused
                    />
                    {move || {
                        sizes()
                            .into_iter()
                            .map(|size| {
                                let text = format!("{} {}", chair::EN.strips_left, view::size_text(size));
                                view! {
                                    <Press
                                        text=text
                                        chair=true
                                        on_press=move |()| {
                                            let left = left.get_untracked();
                                            let _ = desk.act(ChairCommand::CountStrips { session, size, left });
                                        }
                                    />
                                }
                            })
                            .collect::<Vec<_>>()
                    }}
                </section>
                {move || {
                    let areas = areas.get();
                    let ticks = areas
                        .iter()
                        .map(|a| Tick { text: place::EN.area(*a).into(), wide: false })
                        .collect::<Vec<_>>();
                    let done = {
                        let areas = areas.clone();
                        Signal::derive(move || swept.with(|s| areas.iter().map(|a| s.contains(a)).collect::<Vec<_>>()))
                    };
                    let toggle = move |i: usize| {
                        if let Some(area) = areas.get(i) {
                            let _ = desk.act(ChairCommand::Sweep { session, areas: vec![*area] });
                        }
                    };
                    view! {
                        <section class="stack">
                            <h2>{chair::EN.swept}</h2>
                            <Ticks name=chair::EN.swept ticks=ticks done=done on_toggle=toggle chair=true />
                        </section>
                    }
                }}
                <section class="stack" hidden=move || strips_asked.get()>
                    <Rail posts=posts label=line />
                    <p class="sum"><bdi>{move || line.get()}</bdi></p>
                    <p class="far" hidden=move || !open.with(Vec::is_empty)>"= " {chair::EN.adds_up}</p>
                    <ul class="lines" role="status">
                        {move || {
                            open.get()
                                .iter()
                                .map(|item| view! { <li>{view::open_item(&chair::EN, item)}</li> })
                                .collect::<Vec<_>>()
                        }}
                    </ul>
                    <div hidden=move || { uncounted.get() == 0 }>
                        <Press
                            text=chair::EN.one_counted_out
                            chair=true
                            on_press=move |()| {
                                let _ = desk.act(ChairCommand::CountedOut { session, count: 1 });
                            }
                        />
                    </div>
                    <div class="stack" hidden=move || !needs_words.get() && unaccounted.get() == 0>
                        <Field
                            id="words"
                            label=chair::EN.words_label
                            hint=chair::EN.words_hint
                            kind=Kind::Lines
                            value=words
                            on_input=move |text| words.set(text)
                        />
                    </div>
                    <div hidden=move || { unaccounted.get() == 0 }>
                        <Press
                            text=chair::EN.not_found
                            chair=true
                            look=Look::Plain
                            shut=Signal::derive(move || words.with(|w| w.trim().chars().count() < 8))
                            on_press=move |()| {
                                let count = u16::try_from(unaccounted.get_untracked()).unwrap_or(u16::MAX);
                                let words = words.get_untracked();
                                let _ = desk.act(ChairCommand::UnplacedNotFound { session, count, words });
                            }
                        />
                    </div>
                </section>
            </main>
            <footer class="column foot last">
                <p hidden=move || !closed.get()>{chair::EN.closed}</p>
                <Hold
                    text=chair::EN.close
                    note=Signal::derive(can_close_at)
                    words=HoldWords {
                        keep: chair::EN.keep_holding,
                        nothing: chair::EN.nothing_changed,
                        again: chair::EN.press_again,
                    }
                    shut=Signal::derive(move || !open.with(Vec::is_empty) || closed.get())
                    on_done=close
                />
            </footer>
        </div>
    }
}
