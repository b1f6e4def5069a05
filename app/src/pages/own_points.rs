//! Points of the practice's own: written down, changed, taken away.

use super::frame::{DeskTabs, NotSaved, SavedSign};
use crate::desk::{Route, use_desk};
use crate::parts::ticks::Tick;
use crate::parts::{Field, Kind, Look, OneOf, Press, Select, Ticks};
use crate::shape::prelude::*;
use pinfold_core::atlas::{Area, Reach};
use pinfold_core::event::point::{Described, OWN_POINT};
use pinfold_core::measure::centimetres;
use pinfold_core::view::points::{list, save, sets, take_away};
use pinfold_core::words::atlas::EN as ATLAS;
use pinfold_core::words::place::EN as PLACE;
use pinfold_core::words::points::EN;
use pinfold_core::words::settings::EN as SETTINGS;

const AREAS: [Area; 10] = [
    Area::HandsArms,
    Area::LegsFeet,
    Area::Trunk,
    Area::Scalp,
    Area::Ear,
    Area::Forehead,
    Area::EyeRim,
    Area::Cheek,
    Area::MouthJaw,
    Area::Neck,
];

/// A depth in millimetres as micrometres; the same reader as for lengths, a tenth.
fn depth(text: &str) -> Option<u32> {
    centimetres(text).map(|um| um.0 / 10)
}

/// The points, and one being written.
#[component]
pub fn OwnPoints() -> impl IntoShape {
    let desk = use_desk();
    let lines = Memo::new(move |_| {
        desk.read(|l| desk.books(|b| list(b, l.practice())))
            .unwrap_or_default()
    });
    let [code, name, words, least, most, source] = [(); 6].map(|()| RwSignal::new(String::new()));
    code.set(OWN_POINT.to_string());
    let area = RwSignal::new(5_usize);
    let reach = RwSignal::new(0_usize);
    let ticked = RwSignal::new(Vec::<bool>::new());
    let wrong = RwSignal::new(String::new());
    let choices = Memo::new(move |_| {
        let area = AREAS.get(area.get()).copied().unwrap_or(Area::Forehead);
        desk.books(|b| {
            let line = |set: &pinfold_core::screening::Set| (set.name.clone(), set.why.clone());
            sets(b, area).into_iter().map(line).collect::<Vec<_>>()
        })
        .unwrap_or_default()
    });
    let fill = move |point: &Described| {
        code.set(point.code.clone());
        name.set(point.name.clone());
        words.set(point.words.clone());
        source.set(point.source.clone());
        let mm = |um: u32| {
            ATLAS.cm(pinfold_core::base::units::Micrometres(
                um.saturating_mul(10),
            ))
        };
        least.set(point.depth.map_or(String::new(), |(least, _)| mm(least)));
        most.set(point.depth.map_or(String::new(), |(_, most)| mm(most)));
        area.set(AREAS.iter().position(|a| *a == point.area).unwrap_or(0));
        reach.set(usize::from(point.reach == Reach::Midline));
        let on = |(set, _): &(String, String)| point.sets.contains(set);
        ticked.set(choices.with_untracked(|all| all.iter().map(on).collect()));
    };
    let keep = move |()| {
        let (low, high) = (least.get_untracked(), most.get_untracked());
        let depth = if low.trim().is_empty() && high.trim().is_empty() {
            None
        } else {
            // What is no number is outside every range, and is refused by its field.
            Some((depth(&low).unwrap_or(0), depth(&high).unwrap_or(0)))
        };
        let on = ticked.get_untracked();
        let point = Described {
            code: code.get_untracked().trim().to_ascii_uppercase(),
            name: name.get_untracked().trim().to_string(),
            area: AREAS
                .get(area.get_untracked())
                .copied()
                .unwrap_or(Area::Forehead),
            reach: if reach.get_untracked() == 1 {
                Reach::Midline
            } else {
                Reach::Pair
            },
            words: words.get_untracked().trim().to_string(),
            sets: choices.with_untracked(|all| {
                let on = all.iter().zip(on).filter(|(_, on)| *on);
                on.map(|((set, _), _)| set.clone()).collect()
            }),
            at: None,
            depth,
            source: source.get_untracked().trim().to_string(),
        };
        let saved = desk.read_now(|l| desk.books(|b| save(b, l.practice(), &point)));
        wrong.set(match saved {
            Ok(Ok(command)) => match command.map(|command| desk.act(command)) {
                Some(Err(_)) => SETTINGS.too_long.to_string(),
                _ => EN.kept.to_string(),
            },
            Ok(Err(all)) => {
                let slips: Vec<String> = all.iter().map(|w| EN.trouble(w)).collect();
                format!("{} {}", slips.join(" "), EN.nothing_changed)
            }
            Err(_) => String::new(),
        });
    };
    let shown = move || {
        let mut views = Vec::new();
        for line in lines.get() {
            let (point, away) = (line.point.clone(), line.away);
            let code = point.code.clone();
            let turn = move |()| {
                let _ = desk.act(take_away(&code, away));
            };
            let edit = {
                let point = point.clone();
                move |()| fill(&point)
            };
            let gone = if away { EN.away } else { "" };
            views.push(view! {
                <article class="panel stack">
                    <p><b>{point.code.clone()}</b> " " <bdi>{point.name.clone()}</bdi> " " <b>{gone}</b></p>
                    <p class="note">{PLACE.area(point.area)} " \u{b7} " {point.sets.join(", ")}</p>
                    <p><bdi>{point.words.clone()}</bdi></p>
                    <p class="wrong" hidden=line.trouble.is_empty()><bdi>{line.trouble.clone()}</bdi></p>
                    <div class="row">
                        <Press text=EN.change look=Look::Plain fit=true on_press=edit />
                        <Press text=if away { EN.put_back } else { EN.take_away } look=Look::Plain fit=true on_press=turn />
                    </div>
                </article>
            });
        }
        views
    };
    let set_ticks = move || {
        let all = choices.get();
        ticked.update(|on| on.resize(all.len(), false));
        let ticks = all
            .into_iter()
            .map(|(name, why)| Tick {
                text: format!("{name}: {why}"),
                wide: true,
            })
            .collect::<Vec<_>>();
        let turn = move |at: usize| {
            ticked.update(|on| {
                if let Some(one) = on.get_mut(at) {
                    *one = !*one;
                }
            });
        };
        view! { <Ticks name=EN.sets ticks=ticks done=ticked on_toggle=turn /> }
    };
    let areas = AREAS.map(|area| PLACE.area(area).to_string()).to_vec();
    let reaches = vec![EN.pair.to_string(), EN.midline.to_string()];
    view! {
        <div class="screen">
            <header class="head column">
                <h1>{EN.own_points}</h1>
                <p class="note end"><SavedSign /></p>
            </header>
            <main class="column stack reading">
                <NotSaved />
                <p>{EN.what}</p>
                {shown}
                <section class="panel stack">
                    <h2>{EN.write}</h2>
                    <Field id="p-code" label=EN.code hint=EN.code_hint value=code on_input=move |t| code.set(t) />
                    <Field id="p-name" label=EN.name value=name on_input=move |t| name.set(t) />
                    <Select id="p-area" label=EN.area options=areas chosen=area on_choose=move |at| area.set(at) />
                    <OneOf name=EN.reach texts=reaches chosen=reach on_choose=move |at| reach.set(at) />
                    <Field id="p-words" label=EN.words kind=Kind::Lines value=words on_input=move |t| words.set(t) />
                    {set_ticks}
                    <div class="pairs">
                        <Field id="p-least" label=EN.least kind=Kind::Decimal value=least on_input=move |t| least.set(t) />
                        <Field id="p-most" label=EN.most kind=Kind::Decimal value=most on_input=move |t| most.set(t) />
                    </div>
                    <Field id="p-source" label=EN.source value=source on_input=move |t| source.set(t) />
                    <p role="status"><b>{move || wrong.get()}</b></p>
                    <Press text=SETTINGS.keep on_press=keep />
                </section>
                <p class="note">{ATLAS.caution}</p>
                <a class="press plain" href=Route::Atlas.href()>{ATLAS.atlas}</a>
            </main>
            <DeskTabs here=2 />
        </div>
    }
}
