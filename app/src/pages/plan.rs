//! What goes where, with what, for how long?

use super::ask::Findings;
use super::frame::{NotSaved, SavedSign, Steps};
use super::settings::EmergencyNumber;
use crate::desk::{Route, use_desk};
use crate::parts::face_map::{self, MapWords, Mark, Place, Seat, State};
use crate::parts::slab::Tall;
use crate::parts::ticks::Tick;
use crate::parts::{FaceMap, Field, Kind, Look, OneOf, Press, Select, Slab, Ticks};
use crate::shape::prelude::*;
use pinfold_core::atlas::{Area, Face, Region, Side};
use pinfold_core::base::id::EntryId;
use pinfold_core::event::Count;
use pinfold_core::event::person::{Chose, ChosenCream, Consented};
use pinfold_core::event::session::Mode;
use pinfold_core::ledger::{ChairCommand, DeskCommand};
use pinfold_core::plan::{Fit, Offer, Plan, Topical};
use pinfold_core::view::hour::{bars, hour};
use pinfold_core::view::points;
use pinfold_core::view::procedures::{find, list, used};
use pinfold_core::view::visit::{Books, VisitView, for_the_chair, may_plan};
use pinfold_core::words::atlas::EN as ATLAS;
use pinfold_core::words::plan::EN;
use pinfold_core::words::procedures::EN as PROCEDURES;
use pinfold_core::words::{chair, people, place, visit as words};

/// Marks on the drawings, one after another: hands are filled from their middle.
pub struct Marks<'a> {
    face: &'a Face,
    hands: [u16; 2],
    /// What was put on.
    pub all: Vec<Mark>,
}

impl<'a> Marks<'a> {
    /// None yet.
    pub fn new(face: &'a Face) -> Self {
        Self {
            face,
            hands: [0; 2],
            all: Vec::new(),
        }
    }

    /// Puts a point on its drawing, if it has one.
    pub fn add(&mut self, code: &str, side: Side, region: Region, number: u16, state: State) {
        let drawn = self.face.place(code, side);
        let (place, x, y) = match (&drawn, region.area) {
            (_, Area::HandsArms | Area::LegsFeet | Area::Trunk) => {
                let nth = &mut self.hands[usize::from(side == Side::Left)];
                let (x, y) = face_map::on_hands(side, *nth);
                *nth += 1;
                (Place::Hands, x, y)
            }
            (Some(d), _) => match d.behind {
                Some(behind) => {
                    let (x, y) = face_map::on_crown(i32::from(d.at.x), behind);
                    (Place::Crown, x, y)
                }
                None => (Place::Face, i32::from(d.at.x), i32::from(d.at.y)),
            },
            (None, _) => return,
        };
        self.all.push(Mark {
            code: code.to_string(),
            side,
            place,
            x,
            y,
            state,
            number,
            region,
            next: false,
            flagged: false,
        });
    }
}

/// The marks of a plan on the drawing: planned points, and those left out.
pub fn marks(face: &Face, plan: &Plan) -> Vec<Mark> {
    let mut marks = Marks::new(face);
    for block in &plan.blocks {
        for place in &block.places {
            let state = State::Planned;
            marks.add(&place.point, place.side, block.region, place.number, state);
        }
    }
    for out in &plan.left_out {
        if let Some(region) = out.region {
            marks.add(&out.point, out.side, region, 0, State::Skipped);
        }
    }
    marks.all
}

/// Plan.
#[component]
pub fn PlanToday(
    /// Who.
    person: EntryId,
) -> impl IntoShape {
    let desk = use_desk();
    let visit = Memo::new(move |_| desk.visit(person));
    let late = move || {
        visit
            .with(|v| v.as_ref().and_then(|v| v.late))
            .map(|slot| EN.late(slot))
    };
    let name = move || visit.with(|v| v.as_ref().map_or(String::new(), |v| v.name.clone()));
    let cream = move || visit.with(|v| v.as_ref().and_then(|v| v.chosen.as_ref()?.cream.clone()));
    let came_for = move || {
        let named = desk.read(|l| l.person(person).and_then(|p| p.named.clone()));
        let wish = named.and_then(|n| n.came_for)?;
        Some(format!("{}: {wish}", people::EN.came_for))
    };
    let may = Memo::new(move |_| visit.with(|v| v.as_ref().is_some_and(may_plan)));
    let procedures = desk
        .books(|b| desk.read_now(|l| list(b, l.practice())))
        .unwrap_or_default();
    let mut ids: Vec<String> = Vec::new();
    let mut texts: Vec<String> = Vec::new();
    for line in procedures {
        if !line.retired {
            ids.push(line.id);
            texts.push(format!("{}, {}", line.name, line.needles));
        }
    }
    let chosen = {
        let ids = ids.clone();
        Memo::new(move |_| {
            let id = visit.with(|v| {
                v.as_ref()
                    .and_then(|v| v.chosen.as_ref())
                    .map(|c| c.procedure.clone())
            });
            id.and_then(|id| ids.iter().position(|i| *i == id))
                .unwrap_or(usize::MAX)
        })
    };
    let choose = move |i: usize| {
        let before = visit.with_untracked(|v| v.as_ref().and_then(|v| v.chosen.clone()));
        if let Some(procedure) = ids.get(i).cloned() {
            let chose = Chose {
                date: desk.today(),
                procedure,
                cream: before.and_then(|c| c.cream),
                electro: false,
                most: None,
                instead: Vec::new(),
            };
            let _ = desk.act(DeskCommand::Choose(person, chose));
        }
    };
    // The same procedure, made to fit.
    let take = move |offer: Offer| {
        let before = visit.with_untracked(|v| v.as_ref().and_then(|v| v.chosen.clone()));
        let Some(mut chose) = before else { return };
        match offer {
            Offer::WithoutCream(_) => chose.cream = None,
            Offer::Fewer(needles, _) => chose.most = Count::new(needles),
            Offer::FewerWithoutCream(needles, _) => {
                chose.cream = None;
                chose.most = Count::new(needles);
            }
            Offer::Longer(_) => return,
        }
        let _ = desk.act(DeskCommand::Choose(person, chose));
    };
    let plan = Memo::new(move |_| visit.with(|v| v.as_ref().and_then(|v| v.plan.clone())));
    let evidence = move || {
        let id = visit.with(|v| {
            v.as_ref()
                .and_then(|v| v.chosen.as_ref())
                .map(|c| c.procedure.clone())
        });
        let said = |b: &Books, id: String| {
            let found = desk.read_now(|l| find(b, l.practice(), &id));
            found.map_or(PROCEDURES.unread.to_string(), |p| p.evidence)
        };
        desk.books(|b| id.map(|id| said(b, id)))
            .ok()
            .flatten()
            .unwrap_or_default()
    };
    let drawn = Memo::new(move |_| {
        let draw = |b: &Books, plan: &Plan| {
            desk.read_now(|l| marks(points::atlas(b, l.practice()).face(), plan))
        };
        plan.with(|p| p.as_ref().and_then(|p| desk.books(|b| draw(b, p)).ok()))
            .unwrap_or_default()
    });
    let picked = RwSignal::new(None::<Region>);
    let seat = move || {
        if desk.read(|l| l.practice().setting("seat") == "head_end") {
            Seat::HeadEnd
        } else {
            Seat::Facing
        }
    };
    let map_words = MapWords {
        right: place::EN.right,
        left: place::EN.left,
        whose: place::EN.patients_word,
    };
    let cream_allowed = move || desk.read(|l| l.practice().setting("cream_scope") == "confirmed");
    let go = move |rehearsal: bool| {
        // Today's chair is still open: that is where the needles are.
        let open = visit.with_untracked(|v| v.as_ref().filter(|v| !v.steps.counted)?.session);
        if let (Some(session), false) = (open, rehearsal) {
            return desk.go(&Route::Chair(session));
        }
        let lines = plan.with_untracked(|p| {
            p.as_ref()
                .and_then(|p| desk.books(|b| for_the_chair(b, p)).ok())
        });
        let open = ChairCommand::Open {
            mode: Mode::Planned,
            // Nobody is treated in a rehearsal, so it is nobody's.
            person: (!rehearsal).then_some(person),
            plan: lines.unwrap_or_default(),
            rehearsal,
            procedure: visit
                .with_untracked(|v| v.as_ref()?.chosen.clone())
                .and_then(|c| {
                    let which = |b: &Books| desk.read_now(|l| used(b, l.practice(), &c.procedure));
                    desk.books(which).ok().flatten()
                }),
        };
        if let Ok(session) = desk.act(open) {
            desk.go(&Route::Chair(session));
        }
    };
    let consented = Memo::new(move |_| visit.with(|v| v.as_ref().is_some_and(|v| v.consented)));
    view! {
        <div class="screen">
            <header class="column">
                <div class="head"><h1><bdi>{name}</bdi></h1><p class="note end"><SavedSign /></p></div>
                <Steps person=person here=Some(2) />
            </header>
            <main class="column halves">
                <div class="stack">
                    <NotSaved />
                    <EmergencyNumber />
                    <div hidden=move || may.get()><Findings person=person visit=visit /></div>
                    <div class="listed"><OneOf name=words::EN.procedure texts=texts chosen=chosen on_choose=choose /></div>
                    <p hidden=move || came_for().is_none()><bdi>{came_for}</bdi></p>
                    <p class="note">{evidence}</p>
                    <p><b>{late}</b></p>
                    <p hidden=move || plan.with(Option::is_some)>{EN.none_yet}</p>
                    <div hidden=move || plan.with(Option::is_none)>
                        <FaceMap
                            name=Signal::derive(move || plan.with(|p| words::EN.map_name(p.as_ref().map_or(0, |p| p.needles))))
                            marks=drawn
                            words=map_words
                            chosen=picked
                            on_region=move |r| picked.set(Some(r))
                            seat=Signal::derive(seat)
                        />
                    </div>
                </div>
                <div class="stack">
                    {move || plan.get().map(|p| view! { <Lines plan=p cream=cream() on_offer=Callback::new(take) /> })}
                    {move || visit.get().map(|v| view! { <Instead visit=v /> })}
                    <div hidden=move || !cream_allowed()><CreamForm person=person visit=visit /></div>
                    <ConsentForm person=person visit=visit />
                    <a class="press plain" href=Route::PrintTray(person).href()>{words::EN.print_tray}</a>
                    <a class="press plain" href=Route::Tape(person).href()>{ATLAS.tape}</a>
                    <a class="press plain" href=Route::Atlas.href()>{ATLAS.atlas}</a>
                    <p class="note" hidden=move || consented.get()>{words::EN.no_consent}</p>
                    <Slab
                        text=words::EN.go_to_chair
                        note=Signal::derive(move || if may.get() { words::EN.dims.to_string() } else { words::EN.not_planned.to_string() })
                        tall=Tall::Low
                        solid=true
                        shut=Signal::derive(move || !may.get() || plan.with(Option::is_none))
                        on_press=move |()| go(false)
                    />
                    <Press
                        text=chair::EN.rehearse
                        note=chair::EN.rehearse_note
                        look=Look::Plain
                        shut=Signal::derive(move || plan.with(Option::is_none))
                        on_press=move |()| go(true)
                    />
                    <Press text=words::EN.count_only look=Look::Plain on_press=move |()| desk.go(&Route::CountOnly) />
                </div>
            </main>
        </div>
    }
}

/// A plan in lines: order, tray, what was left out, the hour.
#[component]
pub fn Lines(
    /// The plan.
    plan: Plan,
    /// The cream that was chosen.
    cream: Option<ChosenCream>,
    /// On paper the order stands in the tally, and the hour in words is enough.
    #[prop(optional)]
    paper: bool,
    /// What is done with an offer that makes it fit; without it offers are only told.
    #[prop(optional)]
    on_offer: Option<Callback<Offer>>,
) -> impl IntoShape {
    let desk = use_desk();
    let order = plan
        .blocks
        .iter()
        .map(|b| {
            let name = place::EN.region(b.region);
            let points = b.places.iter().map(|p| (p.point.as_str(), p.side));
            let points = place::EN.points(points);
            view! {
                <li>
                    <span>{name} " " <span class="note">{points}</span></span>
                    <b class="end">{b.needles} ", " {EN.stay(b.stay.0, b.stay.1)}</b>
                </li>
            }
        })
        .collect::<Vec<_>>();
    let gauges = desk.read_now(|l| l.practice().setting("needle_labels") == "gauge");
    let tray = plan
        .tray
        .iter()
        .flat_map(|line| {
            let gauge = gauges
                .then(|| {
                    desk.books(|b| b.needles.gauge(line.size.diameter)?.west.clone())
                        .ok()?
                })
                .flatten();
            line.packs
                .iter()
                .map(|(pack, n)| EN.packets(line.size, gauge.as_ref(), *pack, *n))
                .collect::<Vec<_>>()
        })
        .map(|text| view! { <li>{text}</li> })
        .collect::<Vec<_>>();
    let left = EN.left(&plan.left_out, &place::EN);
    let left: Vec<_> = left.into_iter().map(|l| view! { <li>{l}</li> }).collect();
    let lying = plan.position.as_ref().map(|(_, why)| why);
    let mut seen = Vec::new();
    let mind = plan
        .mind
        .iter()
        .filter(|m| {
            let new = Some(*m) != lying && !seen.contains(&&m.words);
            seen.push(&m.words);
            new
        })
        .map(
            |m| view! { <li>{m.words.clone()} <span class="note">" " {m.rule.clone()}</span></li> },
        )
        .collect::<Vec<_>>();
    let offers = match &plan.fit {
        Fit::TooLong(_, offers) => offers
            .iter()
            .map(|o| {
                let (offer, text) = (*o, EN.offer(*o));
                match on_offer {
                    Some(take) if !matches!(offer, Offer::Longer(_)) => view! {
                        <li><Press text=text look=Look::Plain on_press=move |()| take.run(offer) /></li>
                    },
                    _ => view! { <li>{text}</li> },
                }
            })
            .collect::<Vec<_>>(),
        _ => Vec::new(),
    };
    let rows = if paper { Vec::new() } else { hour(&plan) };
    let rows = rows
        .into_iter()
        .map(|row| {
            let d = |spans, top, foot| bars(spans, plan.total, top, foot);
            let free = row.begins.is_empty();
            view! {
                <li>
                    <b>{row.name}</b> " " <span class="note">{row.words}</span>
                    <svg viewBox="0 0 1000 24" preserveAspectRatio="none" aria-hidden="true">
                        <path class="lasts" class:free=free d=d(&row.lasts, 10, 18) />
                        <path class="begins" d=d(&row.begins, 0, 24) />
                        <path class="ends" d=d(&row.ends, 0, 24) />
                    </svg>
                </li>
            }
        })
        .collect::<Vec<_>>();
    let learned: Vec<_> = plan
        .learned
        .iter()
        .map(|l| view! { <li>{EN.learned(l, &place::EN)}</li> })
        .collect();
    let no_rows = rows.is_empty();
    let leave = plan.leave_at.map(|at| EN.leave_by(at));
    let none_left = left.is_empty();
    let none_minded = mind.is_empty();
    let position = plan.position.as_ref().map(|(_, why)| why.words.clone());
    let cream = match (&plan.topical, &cream) {
        (Topical::On(_), Some(cream)) => {
            format!("{} {}.", words::EN.cream_on, EN.cream_chosen(cream))
        }
        _ => String::new(),
    };
    view! {
        <section class="panel stack" hidden=paper>
            <h2>{EN.order}</h2>
            <ol class="lines">{order}</ol>
            <p class="note">{EN.first_in_first_out}</p>
        </section>
        <section class="panel stack" hidden=none_left>
            <h2>{EN.left_out}</h2>
            <ul class="lines">{left}</ul>
        </section>
        <section class="panel stack" hidden=none_minded>
            <h2>{words::EN.mind}</h2>
            <p>{position}</p>
            <ul class="lines">{mind}</ul>
        </section>
        <section class="panel stack">
            <h2>{EN.tray}</h2>
            <ul class="lines">{tray}</ul>
            <p>{EN.to_open(plan.opened, plan.needles)}</p>
            <p class="note">{EN.tubes(plan.filiform_opened())}</p>
            <p>{cream}</p>
        </section>
        <section class="panel stack">
            <h2>{EN.hour}</h2>
            <p>{EN.minutes(plan.total)} ". " {EN.fit(&plan.fit)}</p>
            <ol class="hour">{rows}</ol>
            <p class="note" hidden=no_rows>{EN.hour_note}</p>
            <ul class="lines note">{learned}</ul>
            <p>{EN.one_go(&plan)}</p>
            <ul class="lines">{offers}</ul>
            <p><b>{leave}</b></p>
        </section>
    }
}

/// Other points in the place of those left out: only where the practitioner chooses so.
#[component]
fn Instead(visit: VisitView) -> impl IntoShape {
    let desk = use_desk();
    let person = visit.person;
    let Some(chosen) = visit.chosen.clone() else {
        return view! { <p hidden=true></p> };
    };
    let mut codes: Vec<String> = Vec::new();
    for left in visit.plan.iter().flat_map(|p| &p.left_out) {
        if !codes.contains(&left.point) {
            codes.push(left.point.clone());
        }
    }
    let gone = RwSignal::new(0_usize);
    let code = RwSignal::new(String::new());
    let wrong = RwSignal::new("");
    let choose = move |chose: Chose| {
        let _ = desk.act(DeskCommand::Choose(person, chose));
    };
    let back: Vec<_> = chosen
        .instead
        .iter()
        .enumerate()
        .map(|(at, (from, to))| {
            let mut less = chosen.clone();
            less.instead.remove(at);
            view! {
                <li>
                    <span>{format!("{to} {} {from}", EN.instead_of)}</span>
                    <span class="end"><Press text=EN.instead_back look=Look::Plain fit=true on_press=move |()| choose(less.clone()) /></span>
                </li>
            }
        })
        .collect();
    let none = codes.is_empty() && back.is_empty();
    let put = {
        let codes = codes.clone();
        move |()| {
            let typed = code.get_untracked().trim().to_ascii_uppercase();
            let Some(from) = codes.get(gone.get_untracked()).cloned() else {
                return;
            };
            let mut more = chosen.clone();
            more.instead.push((from.clone(), typed.clone()));
            let fits = desk.read_now(|l| {
                desk.books(|b| {
                    let atlas = points::atlas(b, l.practice());
                    let before = find(b, l.practice(), &more.procedure)?;
                    let after = before.with(&atlas, &more.instead);
                    let has = |code: &str| after.uses().any(|(other, ..)| other == code);
                    Some(has(&typed) && !has(&from))
                })
            });
            if matches!(fits, Ok(Some(true))) {
                wrong.set("");
                choose(more);
            } else {
                wrong.set(EN.instead_bad);
            }
        }
    };
    view! {
        <details class="card" hidden=none>
            <summary>{EN.instead}</summary>
            <ul class="lines">{back}</ul>
            <Select id="instead-of" label=EN.instead_of options=codes chosen=gone on_choose=move |at| gone.set(at) />
            <Field id="instead" label=EN.instead_code hint=EN.instead_hint value=code on_input=move |t| code.set(t) error=Signal::derive(move || wrong.get().to_string()) />
            <Press text=EN.instead_put look=Look::Plain on_press=put />
        </details>
    }
}

/// Numbing cream, where the practitioner has confirmed that their scope allows it.
#[component]
fn CreamForm(person: EntryId, visit: Memo<Option<VisitView>>) -> impl IntoShape {
    let desk = use_desk();
    let products = desk
        .books(|b| {
            b.knowledge
                .shelf
                .products
                .iter()
                .map(|p| (p.id.clone(), p.name.clone()))
                .collect::<Vec<_>>()
        })
        .unwrap_or_default();
    let first = products.first().map_or(String::new(), |(id, _)| id.clone());
    let product = RwSignal::new(first);
    let grams = RwSignal::new(String::from("3"));
    let area = RwSignal::new(String::from("20"));
    let minutes = RwSignal::new(String::from("30"));
    let wrong = RwSignal::new("");
    let on = Memo::new(move |_| {
        visit.with(|v| {
            v.as_ref()
                .and_then(|v| v.chosen.as_ref())
                .is_some_and(|c| c.cream.is_some())
        })
    });
    let set = move |cream: Option<ChosenCream>| {
        let before = visit.with_untracked(|v| v.as_ref().and_then(|v| v.chosen.clone()));
        match before {
            Some(chosen) => {
                let done = desk.act(DeskCommand::Choose(person, Chose { cream, ..chosen }));
                wrong.set(if done.is_ok() {
                    ""
                } else {
                    words::EN.cream_bad
                });
            }
            None => wrong.set(EN.none_yet),
        }
    };
    let keep = move |()| {
        let read = || {
            let grams: pinfold_core::intake::Milli = grams
                .get_untracked()
                .trim()
                .replace(',', ".")
                .parse()
                .ok()?;
            Some(ChosenCream {
                product: product.get_untracked(),
                milligrams: u32::try_from(grams.0).ok().filter(|n| *n > 0)?,
                area_cm2: area.get_untracked().trim().parse().ok()?,
                minutes: minutes.get_untracked().trim().parse().ok()?,
            })
        };
        match read() {
            Some(cream) => set(Some(cream)),
            None => wrong.set(words::EN.cream_bad),
        }
    };
    let options = products
        .into_iter()
        .map(|(id, name)| view! { <option value=id>{name}</option> })
        .collect::<Vec<_>>();
    view! {
        <section class="panel stack">
            <h2>{words::EN.cream}</h2>
            <p class="note">{words::EN.cream_caution}</p>
            <div class="field">
                <label for="product">{words::EN.cream_product}</label>
                <select id="product" on:change=move |ev| product.set(event_target_value(&ev))>{options}</select>
            </div>
            <div class="row three">
                <Field id="grams" label=words::EN.cream_grams kind=Kind::Number value=grams on_input=move |t| grams.set(t) />
                <Field id="area" label=words::EN.cream_area kind=Kind::Number value=area on_input=move |t| area.set(t) />
                <Field id="dwell" label=words::EN.cream_minutes kind=Kind::Number value=minutes on_input=move |t| minutes.set(t) />
            </div>
            <p class="wrong" role="status" hidden=move || wrong.get().is_empty()>{move || wrong.get()}</p>
            <div class="row">
                <Press text=words::EN.cream_keep on_press=keep />
                <div hidden=move || !on.get()><Press text=words::EN.cream_none look=Look::Plain on_press=move |()| set(None) /></div>
            </div>
        </section>
    }
}

/// What was agreed to, before needles.
#[component]
fn ConsentForm(person: EntryId, visit: Memo<Option<VisitView>>) -> impl IntoShape {
    let desk = use_desk();
    let who = move || {
        visit.with(|v| {
            v.as_ref().map_or(String::new(), |v| {
                let born = v
                    .birth_date
                    .map_or(people::EN.no_birth.to_string(), |d| d.to_string());
                format!("{}, {born}", v.name)
            })
        })
    };
    let agreed = RwSignal::new(vec![true, false, false, false]);
    let parts = [
        words::EN.consent_needles,
        words::EN.consent_cream,
        words::EN.consent_stays,
        words::EN.consent_pictures,
    ];
    let ticks = parts
        .into_iter()
        .map(|text| Tick {
            text: text.into(),
            wide: false,
        })
        .collect::<Vec<_>>();
    let given = Memo::new(move |_| visit.with(|v| v.as_ref().is_some_and(|v| v.consented)));
    // What was agreed to, and what was refused, by name.
    let stands = move || {
        desk.read(|l| {
            let c = l.person(person)?.consent.as_ref()?;
            let said = [c.needles, c.cream, c.stays_in, c.pictures];
            let named = |wanted: bool| {
                let these = said.iter().zip(parts).filter(|(yes, _)| **yes == wanted);
                these.map(|(_, word)| word).collect::<Vec<_>>().join(", ")
            };
            let (yes, no) = (named(true), named(false));
            Some(format!(
                "{} {yes}. {} {no}.",
                words::EN.agreed_to,
                words::EN.refused
            ))
        })
    };
    let turn = move |i: usize| {
        agreed.update(|a: &mut Vec<bool>| {
            if let Some(one) = a.get_mut(i) {
                *one = !*one;
            }
        });
    };
    let give = move |()| {
        let a = agreed.get_untracked();
        let at = |i: usize| a.get(i).copied().unwrap_or(false);
        let consent = Consented {
            date: desk.today(),
            needles: at(0),
            cream: at(1),
            stays_in: at(2),
            pictures: at(3),
            read_back: true,
        };
        let _ = desk.act(DeskCommand::Consent(person, consent));
    };
    view! {
        <section class="panel stack">
            <h2>{words::EN.consent}</h2>
            <p>{words::EN.read_back} " " <b><bdi>{who}</bdi></b></p>
            <Ticks
                name=words::EN.consent
                ticks=ticks
                done=agreed
                on_toggle=turn
            />
            <p hidden=move || !given.get()><b>{words::EN.consent_stands}</b> " " {stands}</p>
            <Press
                text=Signal::derive(move || if given.get() { words::EN.consent_again } else { words::EN.consent_give }.to_string())
                on_press=give
            />
        </section>
    }
}
