//! The whole face with crown and hands beside it: dots are not pressed, a touch picks a region.

use super::drawing::{halves, highlight, of, tile, turn};
use super::glyph;
use super::{MapWords, Mark, Place, Seat, State, seen};
use crate::parts::press::chairside_counts;
use crate::shape::prelude::*;
use pinfold_core::atlas::region::{Area, Region, Side};
use std::fmt::Write as _;

/// Half the width of a dot on the face: about 5 px on a phone.
const DOT: i32 = 30;
/// And on the smaller drawings, which are drawn smaller.
const SMALL_DOT: i32 = 38;

/// The areas that have a tile on the face.
const TILES: [Area; 7] = [
    Area::Scalp,
    Area::Forehead,
    Area::EyeRim,
    Area::Cheek,
    Area::MouthJaw,
    Area::Ear,
    Area::Neck,
];

/// The region that is needled under a touch: the one of this area and side, or the one in which both
/// sides are worked together.
fn touched(marks: &[Mark], area: Area, side: Side) -> Option<Region> {
    let on = |wanted: Side| {
        marks
            .iter()
            .map(|mark| mark.region)
            .find(|region| region.area == area && region.side == wanted)
    };
    on(side)
        .or_else(|| on(Side::Both))
        .or_else(|| on(Side::Centre))
}

/// The dots of one state in one place.
fn dots(marks: &[Mark], place: Place, seat: Seat, state: State, centre: bool) -> String {
    let r = if place == Place::Face { DOT } else { SMALL_DOT };
    let mut d = String::new();
    for mark in marks {
        let is_centre = state == State::Planned && mark.side == Side::Centre;
        if mark.place == place && mark.state == state && is_centre == centre {
            let (x, y) = seen(place, seat, mark.x, mark.y);
            glyph::mark(&mut d, state, x, y, r);
        }
    }
    d
}

fn stems(marks: &[Mark], place: Place, seat: Seat) -> String {
    let r = if place == Place::Face { DOT } else { SMALL_DOT };
    let mut d = String::new();
    for mark in marks {
        if mark.place == place {
            let (x, y) = seen(place, seat, mark.x, mark.y);
            glyph::stem(&mut d, mark.state, x, y, r);
        }
    }
    d
}

/// A dotted arc from the chosen mark to its twin.
fn twin_arc(marks: &[Mark], seat: Seat, picked: Option<usize>) -> String {
    let arc = || {
        let mark = marks.get(picked?)?;
        let twin = marks.iter().find(|other| {
            other.code == mark.code
                && other.number == mark.number
                && other.place == mark.place
                && other.side != mark.side
        })?;
        let (x1, y1) = seen(mark.place, seat, mark.x, mark.y);
        let (x2, y2) = seen(twin.place, seat, twin.x, twin.y);
        let mut d = String::new();
        write!(
            d,
            "M{x1} {y1}Q{} {} {x2} {y2}",
            (x1 + x2) / 2,
            (y1 + y2) / 2 + 160
        )
        .ok()?;
        (mark.place == Place::Face).then_some(d)
    };
    arc().unwrap_or_default()
}

/// One drawing's dots, all states.
#[component]
fn Dots(
    marks: Signal<Vec<Mark>>,
    seat: Signal<Seat>,
    place: Place,
    chosen: Signal<Option<Region>>,
) -> impl IntoShape {
    let path = move |state: State, centre: bool| {
        let d = move || marks.with(|marks| dots(marks, place, seat.get(), state, centre));
        view! { <path class=state.class() class:centre=centre d=d /> }
    };
    // The region chosen is also ringed dot by dot: on the small drawings there is no outline for it.
    let rings = move || {
        let mut d = String::new();
        if let Some(region) = chosen.get()
            && place != Place::Face
        {
            marks.with(|marks| {
                for mark in marks
                    .iter()
                    .filter(|m| m.place == place && m.region == region)
                {
                    let (x, y) = seen(place, seat.get(), mark.x, mark.y);
                    glyph::circle(&mut d, x, y, SMALL_DOT * 3 / 2);
                }
            });
        }
        d
    };
    view! {
        <g class="marks dots">
            <path class="stem" d=move || marks.with(|marks| stems(marks, place, seat.get())) />
            {path(State::Planned, false)}
            {path(State::Planned, true)}
            {State::ALL
                .into_iter()
                .filter(|&state| state != State::Planned)
                .map(|state| path(state, false))
                .collect::<Vec<_>>()}
            <path class="ring" d=rings />
        </g>
    }
}

/// The whole face.
///
/// - `name`: what it shows, for a screen reader ("Face map, 44 of 48 points; hands and arms beside it").
///   The list beside the map does everything the map does, so nothing in the map takes the focus.
/// - `marks`; `seat`; `words`.
/// - `chosen`: the region shown as picked; `on_region`: a region that has marks was touched.
/// - `picked`: the index of a mark whose twin is to be shown by a dotted arc.
#[component]
pub fn FaceMap(
    #[prop(into)] name: Signal<String>,
    #[prop(into)] marks: Signal<Vec<Mark>>,
    words: MapWords,
    #[prop(into)] chosen: Signal<Option<Region>>,
    #[prop(into)] on_region: Callback<Region>,
    #[prop(optional, into)] seat: Signal<Seat>,
    #[prop(optional, into)] picked: Signal<Option<usize>>,
) -> impl IntoShape {
    let touch = move |ev: web_sys::MouseEvent, area: Area, side: Side| {
        if chairside_counts(&ev)
            && let Some(region) = marks.with_untracked(|marks| touched(marks, area, side))
        {
            on_region.run(region);
        }
    };
    let tiles = move |side: Side| {
        let flip = (side == Side::Right).then_some("scale(-1 1)");
        let paths: Vec<_> = TILES
            .into_iter()
            .map(|area| {
                view! { <path d=tile(area) on:click=move |ev| touch(ev, area, side) /> }
            })
            .collect();
        view! { <g class="tiles" transform=flip>{paths}</g> }
    };
    // An inset stands for its area; both sides of it are tried, the touched half first.
    let inset = move |place: Place,
                      area: Area,
                      view_box: &'static str,
                      class: &'static str,
                      half: (i32, i32, i32, i32)| {
        let zone = move |left_half: bool| {
            let (x, y, width, height) = half;
            let side = move || match (left_half, seat.get_untracked()) {
                (true, Seat::Facing) | (false, Seat::HeadEnd) => Side::Right,
                _ => Side::Left,
            };
            view! {
                <rect
                    class="tiles"
                    x=if left_half { x } else { 0 }
                    y=y
                    width=width
                    height=height
                    on:click=move |ev| touch(ev, area, side())
                />
            }
        };
        let has = move || marks.with(|marks| marks.iter().any(|mark| mark.place == place));
        let corner = move |right: bool| {
            move || {
                let (left, other) = words.corners(seat.get());
                if right { other } else { left }
            }
        };
        let (x, y, _, height) = half;
        view! {
            <svg class=class viewBox=view_box hidden=move || !has() aria-hidden="true">
                <g transform=move || turn(place, seat.get())>{of(place)}</g>
                <text class="side" x=x + 20 y=y + height - 30>
                    {corner(false)}
                </text>
                <text class="side end" x=-x - 20 y=y + height - 30>
                    {corner(true)}
                </text>
                <Dots marks=marks seat=seat place=place chosen=chosen />
                {zone(true)}
                {zone(false)}
            </svg>
        }
    };
    let hot = move || {
        chosen
            .get()
            .filter(|region| halves(region.side) != (false, false))
            .map(highlight)
    };
    let view_box = move || match seat.get() {
        Seat::Facing => "-1080 -1660 2160 2840",
        Seat::HeadEnd => "-1080 -1180 2160 2840",
    };
    let low = move || match seat.get() {
        Seat::Facing => 1100,
        Seat::HeadEnd => 1580,
    };
    view! {
        <div class="map whole" role="img" aria-label=move || name.get()>
            <svg viewBox=view_box aria-hidden="true">
                <g transform=move || turn(Place::Face, seat.get())>{of(Place::Face)} {hot}</g>
                <text class="side" x="-1030" y=move || low() - 90>
                    {move || words.corners(seat.get()).0}
                </text>
                <text class="whose" x="-1030" y=low>
                    {words.whose}
                </text>
                <text class="side end" x="1030" y=move || low() - 90>
                    {move || words.corners(seat.get()).1}
                </text>
                <text class="whose end" x="1030" y=low>
                    {words.whose}
                </text>
                <path
                    class="twin"
                    d=move || marks.with(|marks| twin_arc(marks, seat.get(), picked.get()))
                />
                <Dots marks=marks seat=seat place=Place::Face chosen=chosen />
                <g transform=move || turn(Place::Face, seat.get())>
                    {tiles(Side::Left)} {tiles(Side::Right)}
                </g>
            </svg>
            {inset(
                Place::Hands,
                Area::HandsArms,
                "-500 -360 1000 720",
                "inset at-left",
                (-500, -360, 500, 720),
            )}
            {inset(
                Place::Crown,
                Area::Scalp,
                "-680 -850 1360 1700",
                "inset at-right",
                (-680, -850, 680, 1700),
            )}
        </div>
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mark(area: Area, side: Side, of: Side, x: i32, number: u16) -> Mark {
        Mark {
            code: format!("P{number}"),
            side,
            place: Place::Face,
            x,
            y: 100,
            state: State::Planned,
            number,
            region: Region { area, side: of },
            next: false,
            flagged: false,
        }
    }

    #[test]
    fn a_touch_finds_the_side_or_the_pair_and_never_an_empty_region() {
        let marks = [
            mark(Area::Cheek, Side::Left, Side::Left, 300, 1),
            mark(Area::Forehead, Side::Right, Side::Both, -200, 1),
        ];
        assert_eq!(
            touched(&marks, Area::Cheek, Side::Left),
            Some(marks[0].region)
        );
        assert_eq!(touched(&marks, Area::Cheek, Side::Right), None);
        assert_eq!(
            touched(&marks, Area::Forehead, Side::Left),
            Some(marks[1].region)
        );
        assert_eq!(touched(&marks, Area::Neck, Side::Left), None);
    }

    #[test]
    fn the_arc_joins_a_pair_and_a_centre_point_has_none() {
        let marks = [
            mark(Area::Cheek, Side::Left, Side::Both, 240, 1),
            mark(Area::Cheek, Side::Right, Side::Both, -240, 1),
            mark(Area::MouthJaw, Side::Centre, Side::Both, 0, 2),
        ];
        assert_eq!(
            twin_arc(&marks, Seat::Facing, Some(0)),
            "M240 100Q0 260 -240 100"
        );
        assert_eq!(twin_arc(&marks, Seat::Facing, Some(2)), "");
        assert_eq!(twin_arc(&marks, Seat::Facing, None), "");
        assert_eq!(twin_arc(&marks, Seat::Facing, Some(9)), "");
    }

    #[test]
    fn every_mark_is_drawn_in_exactly_one_path() {
        let mut marks: Vec<Mark> = State::ALL
            .into_iter()
            .enumerate()
            .map(|(i, state)| Mark {
                state,
                ..mark(Area::Cheek, Side::Left, Side::Left, 10 * i as i32, i as u16)
            })
            .collect();
        marks.push(mark(Area::Cheek, Side::Centre, Side::Both, 0, 9));
        let mut drawn = 0;
        for state in State::ALL {
            for centre in [false, true] {
                if !dots(&marks, Place::Face, Seat::Facing, state, centre).is_empty() {
                    drawn += 1;
                }
            }
        }
        assert_eq!(drawn, marks.len());
    }
}
