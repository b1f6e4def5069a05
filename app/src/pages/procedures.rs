//! Procedures: which there are, ours and the practice's own; and one of its own being composed.

use super::frame::{DeskTabs, NotSaved, SavedSign, gone};
use crate::desk::{Desk, Picked, Route, use_desk};
use crate::parts::slab::Tall;
use crate::parts::{Field, Kind, Look, Notice, OneOf, Press, Select, Slab};
use crate::shape::prelude::*;
use pinfold_core::atlas::{Reach, Side};
use pinfold_core::practice::Practice;
use pinfold_core::procedure::{Composition, ModuleName, Visit, compose};
use pinfold_core::view::draft::{self, DIALS, Dial, Knob, OF_A_PART, OF_A_POINT, PARTS};
use pinfold_core::view::points;
use pinfold_core::view::procedures::{self, Brought, Standing};
use pinfold_core::view::visit::Books;
use pinfold_core::words::place::EN as PLACE;
use pinfold_core::words::plan::EN as PLAN;
use pinfold_core::words::procedures::EN;
use pinfold_core::words::settings::EN as SETTINGS;
use wasm_bindgen_futures::spawn_local;

/// Reads the practice's procedures with the books at hand; `other` where there are none.
fn with<R>(desk: Desk, other: R, read: impl FnOnce(&Books, &Practice) -> R) -> R {
    desk.read(|l| desk.books(|b| read(b, l.practice())))
        .unwrap_or(other)
}

/// Every procedure.
#[component]
pub fn Procedures() -> impl IntoShape {
    let desk = use_desk();
    let lines = Memo::new(move |_| with(desk, Vec::new(), procedures::list));
    let said = RwSignal::new(String::new());
    let brought = RwSignal::new(Vec::<Brought>::new());
    let list = move || {
        let mut views = Vec::new();
        for line in lines.get() {
            let id = line.id.clone();
            let retired = line.retired;
            let turn = move |()| {
                let _ = desk.act(procedures::retire(&id, retired));
            };
            let whose = if line.own { EN.own } else { EN.built_in };
            let off = if retired { EN.retired } else { "" };
            let source = format!("{} ({})", line.evidence, line.evidence_mark.word());
            let edit = line.own.then(|| {
                let to = Route::Compose(line.id.clone(), false).href();
                view! { <a class="press plain fit" href=to>{EN.change}</a> }
            });
            let copy = Route::Compose(line.id.clone(), true).href();
            views.push(view! {
                <article class="panel stack">
                    <h2><bdi>{line.name}</bdi> ", " {line.needles}</h2>
                    <p class="note">{whose} " \u{b7} " {EN.visit(line.visit)} " " <b>{off}</b></p>
                    <p><bdi>{line.about}</bdi></p>
                    <p class="note">{source}</p>
                    <p class="note"><bdi>{line.source}</bdi></p>
                    <p class="wrong" hidden=line.trouble.is_empty()><bdi>{line.trouble.clone()}</bdi></p>
                    <div class="row">
                        {edit}
                        <a class="press plain fit" href=copy>{EN.copy}</a>
                        <Press text=if retired { EN.put_back } else { EN.take_off } look=Look::Plain fit=true on_press=turn />
                    </div>
                </article>
            });
        }
        views
    };
    let share = move |()| {
        let text = with(desk, String::new(), |b, p| {
            let own = procedures::list(b, p).into_iter().filter(|l| l.own);
            let ids: Vec<String> = own.map(|l| l.id).collect();
            let ids: Vec<&str> = ids.iter().map(String::as_str).collect();
            procedures::share(b, p, &ids)
        });
        spawn_local(async move {
            said.set(gone(
                desk.give_text("procedures.txt", text).await,
                SETTINGS.kept,
            ));
        });
    };
    let bring = move |()| {
        spawn_local(async move {
            let text = match desk.pick_text().await {
                Picked::Text(text) => text,
                Picked::Nothing => return,
                Picked::TooMuch => return said.set(SETTINGS.too_large.to_string()),
            };
            let read = with(desk, None, |b, p| Some(procedures::read_file(b, p, &text)));
            let Some(read) = read else { return };
            match read {
                Ok(all) => {
                    let count = |wanted: fn(&Standing) -> bool| {
                        all.iter().filter(|one| wanted(&one.standing)).count()
                    };
                    said.set(EN.brought(
                        count(|s| matches!(s, Standing::New)),
                        count(|s| matches!(s, Standing::Here(_))),
                        count(|s| matches!(s, Standing::Differs(_))),
                    ));
                    brought.set(all);
                }
                Err(why) => {
                    brought.set(Vec::new());
                    said.set(EN.unusable(&why));
                }
            }
        });
    };
    let take = move |differing: bool| {
        let done = match brought.with_untracked(|all| procedures::take(all, differing)) {
            Some(command) => desk.act(command).is_ok(),
            None => true,
        };
        brought.set(Vec::new());
        said.set(if done { EN.taken } else { SETTINGS.too_long }.to_string());
    };
    let has = move |wanted: fn(&Standing) -> bool| {
        brought.with(|all| all.iter().any(|one| wanted(&one.standing)))
    };
    let new = move || has(|s| matches!(s, Standing::New));
    let differs = move || has(|s| matches!(s, Standing::Differs(_)));
    let names = move || {
        let line = |one: Brought| {
            view! { <li><bdi>{one.made.name}</bdi> ", " {one.needles}</li> }
        };
        brought.get().into_iter().map(line).collect::<Vec<_>>()
    };
    view! {
        <div class="screen">
            <header class="head column">
                <h1>{EN.procedures}</h1>
                <p class="note end"><SavedSign /></p>
            </header>
            <main class="column stack reading">
                <NotSaved />
                <p>{EN.what}</p>
                <div class="row">
                    <a class="press" href=Route::Compose(String::new(), false).href()>{EN.new}</a>
                    <Press text=EN.share look=Look::Plain on_press=share />
                    <Press text=EN.bring look=Look::Plain on_press=bring />
                </div>
                <p role="status">{move || said.get()}</p>
                <ul class="lines">{names}</ul>
                <div class="row">
                    <div hidden=move || !new()><Press text=EN.take_new on_press=move |()| take(false) /></div>
                    <div hidden=move || !differs()><Press text=EN.take_all look=Look::Plain on_press=move |()| take(true) /></div>
                </div>
                {list}
                <p class="note">{EN.caution}</p>
            </main>
            <DeskTabs here=2 />
        </div>
    }
}

/// What a page begins with: a new one, one of its own, or a copy.
fn begun(books: &Books, practice: &Practice, of: &str, copy: bool) -> Option<Composition> {
    if of.is_empty() {
        Some(Composition::empty())
    } else if copy {
        procedures::copy(books, practice, of)
    } else {
        procedures::edit(books, practice, of)
    }
}

/// One procedure of the practice's own.
#[component]
pub fn Compose(
    /// What it is made from; nothing for a new one.
    of: String,
    /// Whether that is copied, and not changed.
    copy: bool,
) -> impl IntoShape {
    let desk = use_desk();
    let made = desk.read_now(|l| desk.books(|b| begun(b, l.practice(), &of, copy)));
    let Some(made) = made.ok().flatten() else {
        return view! {
            <div class="screen">
                <header class="column"><h1>{EN.procedures}</h1></header>
                <main class="column stack">
                    <Notice title=EN.not_there quiet=true />
                    <a class="press plain" href=Route::Procedures.href()>{EN.procedures}</a>
                </main>
                <DeskTabs here=2 />
            </div>
        };
    };
    let draft = RwSignal::new(made);
    let shape = Memo::new(move |_| draft.with(draft::shape));
    let wrong = RwSignal::new(Vec::<String>::new());
    let parts = move || {
        shape.track();
        let count = draft.with_untracked(|d| d.modules.len());
        (0..count)
            .map(|at| view! { <Part draft=draft at=at /> })
            .collect::<Vec<_>>()
    };
    let missing = Memo::new(move |_| {
        shape.track();
        let there = |part: &ModuleName| {
            draft.with_untracked(|d| d.modules.iter().any(|m| m.module == *part))
        };
        PARTS
            .into_iter()
            .filter(|part| !there(part))
            .collect::<Vec<_>>()
    });
    let to_add = RwSignal::new(0_usize);
    let choices = move || {
        let all = missing.get();
        let words = all
            .iter()
            .map(|part| PLAN.module(*part, &PLACE).to_string());
        let words = words.collect::<Vec<_>>();
        view! { <Select id="part" label=EN.part options=words chosen=to_add on_choose=move |at| to_add.set(at) /> }
    };
    let add_part = move |()| {
        let part = missing.with_untracked(|all| all.get(to_add.get_untracked()).copied());
        let part = part.and_then(|part| desk.books(|b| procedures::part(b, part)).ok());
        if let Some(part) = part {
            draft.update(|d| {
                d.add_module(part);
            });
            to_add.set(0);
        }
    };
    let keep = move |()| {
        let kept = desk.read_now(|l| {
            desk.books(|b| draft.with_untracked(|d| procedures::save(b, l.practice(), d)))
        });
        match kept {
            Ok(Ok(command)) => {
                if command.is_none_or(|command| desk.act(command).is_ok()) {
                    desk.go(&Route::Procedures);
                } else {
                    wrong.set(vec![SETTINGS.too_long.to_string()]);
                }
            }
            Ok(Err(all)) => {
                let words = |d: &Composition| all.iter().map(|w| EN.trouble(d, w)).collect();
                let mut words: Vec<String> = draft.with_untracked(words);
                words.push(EN.nothing_changed.to_string());
                wrong.set(words);
            }
            Err(_) => {}
        }
    };
    let slips = move || {
        let line = |text: String| view! { <li><bdi>{text}</bdi></li> };
        wrong.get().into_iter().map(line).collect::<Vec<_>>()
    };
    let text = |get: fn(&mut Composition) -> &mut String| {
        let value = Signal::derive(move || draft.get());
        (
            Signal::derive(move || std::mem::take(get(&mut value.get()))),
            Callback::new(move |text: String| draft.update(|d| *get(d) = text)),
        )
    };
    let (name, set_name) = text(|d| &mut d.name);
    let (about, set_about) = text(|d| &mut d.about);
    let (source, set_source) = text(|d| &mut d.source);
    let visits = [Visit::First, Visit::Return, Visit::Any];
    let visit = Signal::derive(move || {
        draft.with(|d| visits.iter().position(|v| *v == d.visit).unwrap_or(2))
    });
    let needles = move || {
        let count = draft.with(|d| desk.books(|b| d.needles(&b.atlas)).unwrap_or(0));
        PLAN.needles(count)
    };
    view! {
        <div class="screen">
            <header class="head column">
                <h1>{EN.composing}</h1>
                <p class="note end"><SavedSign /></p>
            </header>
            <main class="column stack reading">
                <NotSaved />
                <p>{EN.composing_what}</p>
                <Field id="name" label=EN.name value=name on_input=set_name required=true />
                <OneOf name=EN.for_whom texts=visits.map(|v| EN.visit(v).to_string()).to_vec() chosen=visit on_choose=move |at: usize| draft.update(|d| d.visit = visits.get(at).copied().unwrap_or(Visit::Any)) />
                <Field id="about" label=EN.about value=about kind=Kind::Lines on_input=set_about />
                <Field id="source" label=EN.source value=source on_input=set_source />
                {parts}
                <section class="panel stack">
                    <h2>{EN.add_part}</h2>
                    {choices}
                    <Press text=EN.add_part fit=true on_press=add_part />
                </section>
                <p>{needles}</p>
                <div role="alert"><ul class="lines">{slips}</ul></div>
                <Slab text=EN.keep_it tall=Tall::Low solid=true on_press=keep />
                <p class="note">{EN.caution}</p>
            </main>
            <DeskTabs here=2 />
        </div>
    }
}

/// One choice of a draft.
#[component]
fn Choose(draft: RwSignal<Composition>, knob: Knob, module: usize, step: usize) -> impl IntoShape {
    let desk = use_desk();
    let options = desk.books(|b| knob.options(b)).unwrap_or_default();
    let chosen = Memo::new(move |_| {
        draft.with(|d| desk.books(|b| knob.get(b, d, module, step)).unwrap_or(0))
    });
    let choose = move |at: usize| {
        draft.update(|d| {
            let _ = desk.books(|b| knob.set(b, d, (module, step), at));
        });
    };
    view! { <Select id=format!("k{module}-{step}-{knob:?}") label=knob.label() options=options chosen=chosen on_choose=choose /> }
}

/// Moves up, moves down, goes: of a part, or of a point.
#[component]
fn Moves(
    draft: RwSignal<Composition>,
    at: usize,
    /// The point's part; none for a part.
    part: Option<usize>,
) -> impl IntoShape {
    let step = move |to: Option<usize>| {
        draft.update(|d| {
            let _ = match (part, to) {
                (None, Some(to)) => d.move_module(at, to),
                (None, None) => d.remove_module(at),
                (Some(part), Some(to)) => d.move_step(part, at, to),
                (Some(part), None) => d.remove_step(part, at),
            };
        });
    };
    view! {
        <div class="row three">
            <Press text=EN.up look=Look::Plain fit=true on_press=move |()| step(Some(at.wrapping_sub(1))) />
            <Press text=EN.down look=Look::Plain fit=true on_press=move |()| step(Some(at + 1)) />
            <Press text=EN.take_out look=Look::Plain fit=true on_press=move |()| step(None) />
        </div>
    }
}

/// One part of a draft.
#[component]
fn Part(draft: RwSignal<Composition>, at: usize) -> impl IntoShape {
    let desk = use_desk();
    let name = draft.with_untracked(|d| {
        let part = d.modules.get(at);
        part.map_or("", |part| PLAN.module(part.module, &PLACE))
    });
    let knobs: Vec<_> = OF_A_PART
        .into_iter()
        .map(|knob| view! { <Choose draft=draft knob=knob module=at step=0 /> })
        .collect();
    let dials: Vec<_> = DIALS
        .into_iter()
        .map(|dial: Dial| {
            let value = RwSignal::new(draft.with_untracked(|d| dial.get(d, at)));
            let typed = move |text: String| {
                draft.update(|d| {
                    dial.set(d, at, &text);
                });
                value.set(text);
            };
            view! { <Field id=format!("d{at}-{dial:?}") label=dial.label() kind=Kind::Number value=value on_input=typed /> }
        })
        .collect();
    let points = draft.with_untracked(|d| {
        let steps = d.modules.get(at).map_or(&[][..], |m| m.steps.as_slice());
        with(desk, Vec::new(), |b, p| {
            let atlas = points::atlas(b, p);
            let line = |step| draft::line(&atlas, step);
            steps.iter().map(line).collect::<Vec<_>>()
        })
    });
    let points: Vec<_> = points
        .into_iter()
        .enumerate()
        .map(|(n, name)| {
            let knobs: Vec<_> = OF_A_POINT
                .into_iter()
                .map(|knob| view! { <Choose draft=draft knob=knob module=at step=n /> })
                .collect();
            let side = move || {
                let at = draft.with(|d| desk.books(|b| Knob::Side.get(b, d, at, n)).unwrap_or(0));
                let options = desk.books(|b| Knob::Side.options(b)).unwrap_or_default();
                options.into_iter().nth(at)
            };
            view! {
                <details class="card point">
                    <summary><bdi>{name}</bdi> ", " {side}</summary>
                    <div class="pairs">{knobs}</div>
                    <Moves draft=draft at=n part=Some(at) />
                </details>
            }
        })
        .collect();
    let told = move || {
        draft.with(|d| {
            let part = d.modules.get(at)?;
            let size = desk.books(|b| b.needles.get(&part.size.id).map(|s| s.size.to_string()));
            let size = size
                .ok()
                .flatten()
                .unwrap_or_else(|| EN.not_chosen.to_string());
            Some(format!(
                "{size}, {}",
                PLAN.stay(part.stay.least, part.stay.most)
            ))
        })
    };
    let code = RwSignal::new(String::new());
    let unknown = RwSignal::new(String::new());
    let add = move |()| {
        let typed = code.get_untracked().trim().to_ascii_uppercase();
        // Written without the hyphen too: exhn3.
        let found = with(desk, None, |b, p| {
            let atlas = points::atlas(b, p);
            let plain = |code: &str| code.replace('-', "");
            let mut points = atlas.points();
            let point = points.find(|point| plain(&point.code) == plain(&typed))?;
            let side = match point.reach {
                Reach::Pair => Side::Both,
                Reach::Midline | Reach::Four => Side::Centre,
            };
            Some((point.code.clone(), side))
        });
        match found {
            Some((point, side)) => {
                unknown.set(String::new());
                draft.update(|d| {
                    d.add_step(at, compose::step(&point, side));
                });
            }
            None => unknown.set(EN.no_point.to_string()),
        }
    };
    view! {
        <section class="panel stack">
            <h2>{name}</h2>
            <Moves draft=draft at=at part=None />
            <details class="card">
                <summary>{EN.figures} " " <span class="note">{told}</span></summary>
                <div class="pairs">{knobs} {dials}</div>
            </details>
            {points}
            <Field id=format!("add-{at}") label=EN.add_point hint=EN.add_point_hint value=code on_input=move |t| code.set(t) error=unknown />
            <Press text=EN.add_point look=Look::Plain fit=true on_press=add />
        </section>
    }
}
