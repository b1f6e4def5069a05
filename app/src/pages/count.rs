//! Does it add up? First what is left in the strips and the sweep, with no sum shown; then the sum
//! and the close.

use super::chair::{damage, empty, newer, posts};
use super::frame::{NotSaved, SavedSign, time_of_day, two_press};
use super::resume::Resume;
use super::unwell::Unwell;
use crate::desk::{Route, use_desk};
use crate::parts::ticks::Tick;
use crate::parts::{
    Field, Hold, HoldWords, Keys, KeysWords, Kind, Look, Notice, Press, Rail, Ticks,
};
use crate::shape::prelude::*;
use pinfold_core::atlas::Region;
use pinfold_core::base::id::EntryId;
use pinfold_core::event::session::{Did, Doing, Finder, SearchPlace, SeenIn};
use pinfold_core::ledger::{ChairCommand, Found};
use pinfold_core::needle::Size;
use pinfold_core::session::OpenItem;
use pinfold_core::view::chair::{self as view, ChairView, size_text};
use pinfold_core::view::count::{Choice, CountView, count};
use pinfold_core::view::resume::Shown;
use pinfold_core::words::{acts, app, chair, place};

/// The count of one session.
#[component]
pub fn Count(
    /// The session.
    session: EntryId,
) -> impl IntoShape {
    let desk = use_desk();
    let seen = Memo::new(move |_| desk.session(session, view::chair).unwrap_or_else(empty));
    let there = Memo::new(move |_| desk.session(session, |_| ()).is_some());
    move || {
        if there.get() {
            view! { <Here session=session seen=seen /> }
        } else {
            view! {
                <main class="column">
                    <Notice title=app::EN.not_there next=app::EN.not_there_next quiet=true />
                </main>
            }
        }
    }
}

/// What is asked next: what is still in, by eye; the tray after a hurried removal; the strips of one
/// size; or the whole tray, blind: its full tens, then what is over.
#[derive(Clone, Copy, PartialEq)]
enum Asked {
    Inside(Region),
    Tray,
    Strips(Option<Size>),
    Tens,
    Over,
}

#[component]
fn Here(session: EntryId, seen: Memo<ChairView>) -> impl IntoShape {
    let desk = use_desk();
    let words = RwSignal::new(String::new());
    let open = Memo::new(move |_| {
        let words = words.get();
        let words = (!words.trim().is_empty()).then_some(words);
        desk.session(session, |s| s.state().reconcile(words.as_deref()).err())
            .flatten()
            .unwrap_or_default()
    });
    // Sizes that are to be counted once more, although they were.
    let again = RwSignal::new(Vec::<Option<Size>>::new());
    // Full tens of the tray, once they were told.
    let tens = RwSignal::new(None::<u16>);
    // The tray is to be counted once more, although it was.
    let tray_again = RwSignal::new(false);
    let asked = Memo::new(move |_| {
        let once_more = again.with(|a| a.first().copied());
        let told = tens.get();
        let tray = || {
            if told.is_some() {
                Asked::Over
            } else {
                Asked::Tens
            }
        };
        // Strips before the tray, so that one figure does not lean on the other.
        open.with(|o| {
            let first = |wanted: fn(&OpenItem) -> Option<Asked>| o.iter().find_map(wanted);
            first(|item| match item {
                OpenItem::RecountDue(regions) => regions.first().map(|r| Asked::Inside(*r)),
                _ => None,
            })
            .or_else(|| {
                first(|item| match item {
                    OpenItem::Uncounted(_) => Some(Asked::Tray),
                    OpenItem::StripsUncounted(size) => Some(Asked::Strips(*size)),
                    _ => None,
                })
            })
            .or(once_more.map(Asked::Strips))
            .or_else(|| {
                let wanted = o.iter().any(|i| matches!(i, OpenItem::TrayUncounted(_)));
                (wanted || tray_again.get()).then(tray)
            })
        })
    });
    let question = RwSignal::new(0_u32);
    let said = RwSignal::new("");
    let answer = move |n: u16| {
        let done = match asked.get_untracked() {
            Some(Asked::Tray) => desk.act(ChairCommand::CountedOut { session, count: n }),
            Some(Asked::Inside(region)) => desk.act(ChairCommand::SeeInside {
                session,
                regions: vec![SeenIn { region, seen: n }],
            }),
            Some(Asked::Tens) => {
                tens.set(Some(n));
                question.update(|q| *q += 1);
                return;
            }
            Some(Asked::Over) => {
                let full = tens.get_untracked().unwrap_or(0);
                tens.set(None);
                tray_again.set(false);
                desk.act(ChairCommand::CountTray {
                    session,
                    tens: full,
                    over: n,
                })
            }
            Some(Asked::Strips(size)) => {
                again.update(|a| a.retain(|s| *s != size));
                desk.act(ChairCommand::CountStrips {
                    session,
                    size,
                    left: n,
                })
            }
            None => return,
        };
        said.set(if done.is_ok() {
            ""
        } else {
            chair::EN.too_many_counted
        });
        question.update(|q| *q += 1);
    };
    let box_used = desk.read_now(|l| l.practice().setting("used_needles") == "box");
    let about = move || match asked.get() {
        Some(Asked::Strips(size)) => format!("{} {}", chair::EN.strips_left, size_text(size)),
        Some(Asked::Inside(region)) => view::title(&place::EN, region),
        Some(Asked::Tens | Asked::Over) => acts::EN.tray.to_string(),
        _ => String::new(),
    };
    let how_many = move || match asked.get() {
        Some(Asked::Tray) if box_used => chair::EN.how_many_in_box,
        Some(Asked::Tray) => chair::EN.how_many_in_tray,
        Some(Asked::Inside(_)) => acts::EN.recount,
        Some(Asked::Tens) => acts::EN.tray_tens,
        Some(Asked::Over) => acts::EN.tray_over,
        _ => chair::EN.how_many_left,
    };
    let counted = Memo::new(move |_| desk.session(session, count));
    let why_tray =
        move || counted.with(|c| c.as_ref().map_or(String::new(), |c| c.tray_why.clone()));
    let closed = Memo::new(move |_| seen.with(|v| v.closed));
    let adds_up = move || asked.get().is_none() && open.with(Vec::is_empty);
    let posts = Memo::new(move |_| seen.with(|v| posts(&v.sum)));
    let line = Memo::new(move |_| seen.with(|v| view::sum_line(&chair::EN, &v.sum)));
    let unaccounted =
        move || seen.with(|v| v.sum.unaccounted.saturating_sub(v.sum.unplaced_not_found));
    let too_short = move || words.with(|w| w.trim().chars().count() < 8);
    let sign_for = move |region: Region, n: u32| {
        let command = ChairCommand::NotFound {
            session,
            region,
            count: u16::try_from(n).unwrap_or(u16::MAX),
            words: words.get_untracked(),
        };
        let _ = desk.act(command);
    };
    // Regions with needles in: go there, or write that they were looked for and not found.
    let inside = move || {
        let lines = seen.with(|v| {
            let mut lines: Vec<(Region, u32)> = Vec::new();
            for line in v.regions.iter().filter(|l| l.in_now > 0) {
                if !lines.iter().any(|(r, _)| *r == line.region) {
                    lines.push((line.region, line.in_now));
                }
            }
            lines
        });
        lines
            .into_iter()
            .map(|(region, n)| {
                let name = place::EN.region(region);
                view! {
                    <div class="row">
                        <Press text=chair::EN.take_out(&name) chair=true small=true on_press=move |()| desk.go(&Route::Region(session, region)) />
                        <Press
                            text=chair::EN.not_found_here(n, &name)
                            chair=true
                            small=true
                            look=Look::Plain
                            shut=Signal::derive(too_short)
                            on_press=move |()| sign_for(region, n)
                        />
                    </div>
                }
            })
            .collect::<Vec<_>>()
    };
    // Regions that a needle left with nobody seeing: found, explained, or signed for.
    let unseen = move || {
        let lines = desk.session(session, |s| {
            let regions = s.state().regions.iter();
            let lines = regions.filter(|(_, sum)| sum.unseen > 0);
            lines.map(|(r, sum)| (*r, sum.unseen)).collect::<Vec<_>>()
        });
        let line = |(region, n): (Region, u32)| {
            let name = place::EN.region(region);
            let found = move |()| {
                let found = Found {
                    count: 1,
                    region: Some(region),
                    size: None,
                    place: None,
                    by: Finder::Practitioner,
                    embedded: false,
                    stuck: false,
                    fits: Vec::new(),
                    words: words.get_untracked().trim().to_string(),
                };
                let _ = desk.act(ChairCommand::TurnUp { session, found });
            };
            let explained = move |()| {
                let command = ChairCommand::Explain {
                    session,
                    region,
                    count: 1,
                    words: words.get_untracked(),
                };
                let _ = desk.act(command);
            };
            let short = Signal::derive(too_short);
            view! {
                <h3>{name.clone()} ": " {n}</h3>
                <div class="row three">
                    <Press text=acts::EN.found chair=true small=true on_press=found />
                    <Press text=acts::EN.explained chair=true small=true look=Look::Plain shut=short on_press=explained />
                    <Press text=acts::EN.sign_not_found chair=true small=true look=Look::Plain shut=short on_press=move |()| sign_for(region, n) />
                </div>
            }
        };
        lines
            .unwrap_or_default()
            .into_iter()
            .map(line)
            .collect::<Vec<_>>()
    };
    let still_in = move || seen.with(|v| v.sum.in_now);
    let differs = move || {
        asked.get().is_none()
            && seen.with(|v| {
                let s = &v.sum;
                v.flaws.iter().any(damage)
                    || s.in_now
                        + s.unseen
                        + s.unaccounted
                        + s.packless
                        + s.not_found
                        + s.unplaced_not_found
                        > 0
            })
    };
    let strips_again = move |()| {
        again.set(seen.with_untracked(|v| v.packs.iter().map(|(size, _)| *size).collect()));
        question.update(|q| *q += 1);
    };
    let not_found = move |()| {
        let command = ChairCommand::UnplacedNotFound {
            session,
            count: u16::try_from(unaccounted()).unwrap_or(u16::MAX),
            words: words.get_untracked(),
        };
        let _ = desk.act(command);
    };

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
            // A rehearsal has a record to look at, too.
            let write = seen.with_untracked(|v| v.person.is_some() || v.rehearsal);
            desk.replace(&if write {
                Route::Write(session)
            } else {
                Route::Today
            });
        }
    };
    // Each term is a sum of its own facts; the two totals are theirs.
    let terms = move || {
        let s = seen.with(|v| v.sum);
        let w = &chair::EN;
        let term = |word: &'static str, n: u32, class: &'static str| {
            view! { <dt class=class>{word}</dt> <dd class=class>{n}</dd> }
        };
        view! {
            <dl class="terms">
                {term(w.inside, s.in_now, "")}
                {term(w.out, s.out, "")}
                {term(w.out_uncounted, s.out_uncounted, "")}
                {term(w.stays_in_term, s.stays_in, "")}
                {term(w.not_found_term, s.not_found, "")}
                {(s.unseen > 0).then(|| term(acts::EN.unseen_term, s.unseen, ""))}
                {(s.fell_off > 0).then(|| term(acts::EN.fell_off_term, s.fell_off, ""))}
                {term(w.placed_in_all, s.placed, "total")}
                {term(w.unused, s.unused, "")}
                {term(w.spoilt_term, s.spoilt, "")}
                {term(w.unaccounted, s.unaccounted, "")}
                {term(w.opened_term, s.opened, "total")}
            </dl>
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
                <Press
                    text=chair::EN.undo
                    look=Look::Plain
                    chair=true
                    fit=true
                    small=true
                    shut=Signal::derive(move || seen.with(|v| !v.can_undo))
                    on_press=move |()| {
                        let _ = desk.act(ChairCommand::Undo { session });
                    }
                />
                <div class="end"><Unwell session=session /></div>
            </header>
            <main class="column stack">
                <p class="note"><SavedSign /> " " {move || if seen.with(|v| v.rehearsal) { chair::EN.rehearsal } else { "" }}
                    " " <span class="flag">{move || if seen.with(|v| v.flaws.iter().any(newer)) { chair::EN.newer_here } else { "" }}</span>
                </p>
                <NotSaved />
                <Resume session=session shown=Signal::derive(|| Shown::Count) />
                <p class="wrong" hidden=move || still_in() == 0>{move || chair::EN.still_in(still_in())}</p>
                {move || {
                    let choices = counted.with(|c| c.as_ref().map_or(Vec::new(), |c| c.choices.clone()));
                    choices.into_iter().map(|one| view! { <TwoTotals session=session choice=one /> }).collect::<Vec<_>>()
                }}
                <section hidden=move || asked.get().is_none()>
                    <p class="note" hidden=move || !matches!(asked.get(), Some(Asked::Tens | Asked::Over))>{why_tray}</p>
                    <h2 class="question"><small>{about}</small> " " {how_many}</h2>
                    <Keys
                        name=Signal::derive(move || format!("{} {}", about(), how_many()))
                        words=KeysWords {
                            more: chair::EN.more,
                            done: chair::EN.that_many,
                            back: chair::EN.back,
                            typed: chair::EN.typed,
                        }
                        question=question
                        on_answer=answer
                    />
                    <p class="wrong" role="status" hidden=move || said.get().is_empty()>{move || said.get()}</p>
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
                    let none = ticks.is_empty();
                    let toggle = move |i: usize| {
                        if let Some(area) = areas.get(i) {
                            let _ = desk.act(ChairCommand::Sweep { session, areas: vec![*area] });
                        }
                    };
                    view! {
                        <section class="stack" hidden=none>
                            <h2>{chair::EN.swept}</h2>
                            <Ticks name=chair::EN.swept ticks=ticks done=done on_toggle=toggle chair=true />
                        </section>
                    }
                }}
                <section class="stack" hidden=move || asked.get().is_some()>
                    <div hidden=move || !adds_up()>
                        <Notice title=chair::EN.adds_up equal=true far=true />
                    </div>
                    {terms}
                    <Rail posts=posts label=line />
                    <div role="status"><ul class="lines">
                        {move || {
                            open.get()
                                .iter()
                                .map(|item| view! { <li class="wrong">{view::open_item(&chair::EN, item)}</li> })
                                .collect::<Vec<_>>()
                        }}
                    </ul></div>
                    <div class="stack" hidden=move || !differs()>
                        <p class="note">{chair::EN.where_to_look}</p>
                        <Search session=session counted=counted />
                        <Press text=acts::EN.tray_again chair=true small=true look=Look::Plain on_press=move |()| tray_again.set(true) />
                        <a class="press chairside plain" href=Route::Beside(session).href()>{chair::EN.packet_held}</a>
                        <Press text=chair::EN.strips_again chair=true small=true look=Look::Plain on_press=strips_again />
                        <Press
                            text=chair::EN.spoilt_one
                            chair=true
                            small=true
                            look=Look::Plain
                            on_press=move |()| {
                                let _ = desk.act(ChairCommand::Spoil { session, count: 1, size: None });
                            }
                        />
                        <Field
                            id="words"
                            label=chair::EN.words_label
                            hint=chair::EN.words_hint
                            kind=Kind::Lines
                            value=words
                            on_input=move |text| words.set(text)
                        />
                        {inside}
                        {unseen}
                        <div hidden=move || unaccounted() == 0>
                            <Press text=chair::EN.not_found chair=true look=Look::Plain shut=Signal::derive(too_short) on_press=not_found />
                        </div>
                    </div>
                </section>
            </main>
            <footer class="column foot flow last">
                <BeforeTheyGo session=session counted=counted />
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
                    two_press=two_press()
                    on_done=close
                />
            </footer>
        </div>
    }
}

/// One round of taking out that was entered twice: one of the two is chosen.
#[component]
fn TwoTotals(session: EntryId, choice: Choice) -> impl IntoShape {
    let desk = use_desk();
    let totals: Vec<_> = choice
        .totals
        .into_iter()
        .map(|(total, n, at)| {
            let text = format!("{n}, {}", time_of_day(at, crate::desk::zone()));
            let choose = move |()| {
                let _ = desk.act(ChairCommand::ChooseTotal { session, total });
            };
            view! { <Press text=text note=acts::EN.choose_total chair=true small=true look=Look::Plain on_press=choose /> }
        })
        .collect();
    view! {
        <section class="stack">
            <Notice title=acts::EN.two_totals kept=choice.title alert=true />
            <div class="row">{totals}</div>
        </section>
    }
}

/// Where to look, place by place; each press is a fact.
#[component]
fn Search(session: EntryId, counted: Memo<Option<CountView>>) -> impl IntoShape {
    let desk = use_desk();
    let ticks: Vec<Tick> = SearchPlace::ALL
        .iter()
        .map(|place| Tick {
            text: acts::EN.place(*place).into(),
            wide: *place == SearchPlace::SharpsBox,
        })
        .collect();
    let done = Signal::derive(move || {
        counted.with(|c| {
            let places = c.iter().flat_map(|c| &c.places);
            places.map(|(_, looked)| *looked).collect::<Vec<_>>()
        })
    });
    let look = move |at: usize| {
        if let Some(place) = SearchPlace::ALL.get(at) {
            let places = vec![*place];
            let _ = desk.act(ChairCommand::Search { session, places });
        }
    };
    let short = move || {
        let short = counted.with(|c| c.as_ref().map_or(Vec::new(), |c| c.short.clone()));
        let line = |one: pinfold_core::view::count::Short| format!("{}: {}", one.title, one.n);
        short.into_iter().map(line).collect::<Vec<_>>().join(", ")
    };
    view! {
        <p>{short}</p>
        <Ticks name=acts::EN.search ticks=ticks done=done on_toggle=look chair=true />
    }
}

/// Sat, stood, steady: said, never asked for twice.
#[component]
fn BeforeTheyGo(session: EntryId, counted: Memo<Option<CountView>>) -> impl IntoShape {
    let desk = use_desk();
    const ALL: [Doing; 3] = [Doing::Sat, Doing::Stood, Doing::Steady];
    let ticks: Vec<Tick> = ALL
        .iter()
        .map(|what| Tick {
            text: acts::EN.did(*what, "", ""),
            wide: false,
        })
        .collect();
    let done = Signal::derive(move || {
        counted.with(|c| {
            let left = c.as_ref().map_or(&[][..], |c| c.before_they_go.as_slice());
            ALL.iter()
                .map(|what| !left.contains(what))
                .collect::<Vec<_>>()
        })
    });
    let turn = move |at: usize| {
        if let Some(what) = ALL.get(at) {
            let what = did(*what);
            let _ = desk.act(ChairCommand::Do { session, what });
        }
    };
    view! {
        <section class="stack">
            <h2>{acts::EN.before_they_go}</h2>
            <Ticks name=acts::EN.before_they_go ticks=ticks done=done on_toggle=turn chair=true />
        </section>
    }
}

/// Something done, with nobody named.
pub(super) fn did(what: Doing) -> Did {
    Did {
        what,
        who: String::new(),
        from: String::new(),
        next: None,
    }
}
