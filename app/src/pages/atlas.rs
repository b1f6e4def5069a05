//! Every point, to be found; and one point with all that is known of it and how well.

use super::frame::DeskTabs;
use super::plan::Marks;
use crate::desk::{Route, use_desk};
use crate::parts::face_map::{MapWords, Mark, Seat, State};
use crate::parts::{FaceMap, Field, Notice};
use crate::shape::prelude::*;
use pinfold_core::atlas::{Face, Point, Reach, Region, Side};
use pinfold_core::measure::Measures;
use pinfold_core::view::atlas::{bearings, left_out_for, sources};
use pinfold_core::view::points::atlas;
use pinfold_core::words::ask::ENGLISH as ASK;
use pinfold_core::words::atlas::EN;
use pinfold_core::words::place::EN as PLACE;

/// Every point.
#[component]
pub fn Atlas() -> impl IntoShape {
    let desk = use_desk();
    let looked_for = RwSignal::new(String::new());
    let found = Memo::new(move |_| {
        desk.books(|b| {
            let atlas = desk.read(|l| atlas(b, l.practice()));
            let points = atlas.search(&looked_for.get());
            let line = |p: &Point| (p.code.clone(), p.name.clone(), PLACE.area(p.area));
            points.into_iter().map(line).collect::<Vec<_>>()
        })
        .unwrap_or_default()
    });
    let list = move || {
        let line = |(code, name, area): (String, String, &'static str)| {
            view! {
                <li><a class="press spread" href=Route::Point(code.clone()).href()><span>{format!("{code} {name}")}</span> <small>{area}</small></a></li>
            }
        };
        found.get().into_iter().map(line).collect::<Vec<_>>()
    };
    let count = move || found.with(Vec::len).to_string();
    view! {
        <div class="screen">
            <header class="column"><h1>{EN.atlas}</h1></header>
            <main class="column stack reading">
                <p>{EN.what}</p>
                <Field id="find" label=EN.find value=looked_for on_input=move |t| looked_for.set(t) />
                <p role="status">{count}</p>
                <p hidden=move || !found.with(Vec::is_empty)>{EN.none}</p>
                <ul class="stack">{list}</ul>
                <p class="note">{EN.caution}</p>
            </main>
            <DeskTabs here=2 />
        </div>
    }
}

/// Where a point is drawn: both of a pair.
fn marks(face: &Face, point: &Point) -> Vec<Mark> {
    let sides: &[Side] = match point.reach {
        Reach::Pair => &[Side::Right, Side::Left],
        Reach::Midline | Reach::Four => &[Side::Centre],
    };
    let mut marks = Marks::new(face);
    for side in sides {
        let region = Region {
            area: point.area,
            side: *side,
        };
        marks.add(&point.code, *side, region, 1, State::Planned);
    }
    marks.all
}

/// One point.
#[component]
pub fn PointPage(
    /// Its code.
    code: String,
) -> impl IntoShape {
    let desk = use_desk();
    let seen = desk.read_now(|l| {
        desk.books(|b| {
            let atlas = atlas(b, l.practice());
            let point = atlas.get(&code)?.clone();
            let rules = left_out_for(b, l.practice(), &point);
            let ways = bearings(b, &point, &Measures::default());
            let face = atlas.face();
            let place = EN.drawn(face.places(&code).first());
            let drawn = marks(face, &point);
            Some((ways, rules, sources(b, &point), drawn, place, point))
        })
    });
    let Some((ways, rules, sources, drawn, place, point)) = seen.ok().flatten() else {
        return view! {
            <div class="screen">
                <header class="column"><h1>{EN.atlas}</h1></header>
                <main class="column stack">
                    <Notice title=EN.no_point quiet=true />
                    <a class="press plain" href=Route::Atlas.href()>{EN.atlas}</a>
                </main>
                <DeskTabs here=2 />
            </div>
        };
    };
    let items = |texts: Vec<String>| {
        let line = |text: String| view! { <li>{text}</li> };
        texts.into_iter().map(line).collect::<Vec<_>>()
    };
    let said =
        |all: &[pinfold_core::atlas::Hazard]| items(all.iter().map(|one| EN.said(one)).collect());
    let rules = rules
        .into_iter()
        .map(|line| {
            let source = ASK.source(&line.source.join(", "), line.mark, line.policy);
            view! {
                <li>
                    <p><b>{ASK.outcome(line.outcome)}</b> ": " {line.words} " " <span class="note">{line.name} " \u{b7} " {source}</span></p>
                </li>
            }
        })
        .collect::<Vec<_>>();
    let map_words = MapWords {
        right: PLACE.right,
        left: PLACE.left,
        whose: PLACE.patients_word,
    };
    let there = !drawn.is_empty();
    let picked = RwSignal::new(None::<Region>);
    let map = there.then(|| {
        view! {
            <FaceMap
                name=format!("{} {}", point.code, point.name)
                marks=drawn
                words=map_words
                chosen=picked
                on_region=move |_| ()
                seat=Seat::Facing
            />
        }
    });
    let (no_layer, no_near) = (!point.layer.is_empty(), point.nearby.is_empty());
    let no_hazards = !point.hazards.is_empty();
    view! {
        <div class="screen">
            <header class="column">
                <div class="head"><h1>{point.code.clone()} " " {point.name.clone()}</h1><p class="note end">{PLACE.area(point.area)}</p></div>
            </header>
            <main class="column halves">
                <div class="stack">
                    <p>{EN.kind(&point)}</p>
                    <section class="panel stack">
                        <h2>{EN.place}</h2>
                        <p>{point.words.clone()}</p>
                        <h2>{EN.found_by}</h2>
                        <ul class="lines">{items(ways)}</ul>
                    </section>
                    {map}
                    <p class="note">{place}</p>
                    <section class="panel stack">
                        <h2>{EN.depth}</h2>
                        <p>{EN.depth(&point)}</p>
                    </section>
                </div>
                <div class="stack">
                    <section class="panel stack">
                        <h2>{EN.hazards}</h2>
                        <ul class="lines">{said(&point.hazards)}</ul>
                        <p hidden=no_hazards>{EN.no_hazards}</p>
                    </section>
                    <section class="panel stack">
                        <h2>{EN.under}</h2>
                        <ul class="lines">{said(&point.layer)}</ul>
                        <p hidden=no_layer>{EN.no_layer}</p>
                        <h2 hidden=no_near>{EN.near}</h2>
                        <ul class="lines">{said(&point.nearby)}</ul>
                    </section>
                    <section class="panel stack">
                        <h2>{EN.left_out}</h2>
                        <p class="note">{EN.left_out_note}</p>
                        <ul class="lines">{rules}</ul>
                    </section>
                    <section class="panel stack">
                        <h2>{EN.from}</h2>
                        <p>{EN.origin(&point)}</p>
                        <ul class="lines note">{items(sources)}</ul>
                    </section>
                    <p class="note">{EN.caution}</p>
                    <a class="press plain" href=Route::Atlas.href()>{EN.atlas}</a>
                </div>
            </main>
            <DeskTabs here=2 />
        </div>
    }
}
