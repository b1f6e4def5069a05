//! One region, enlarged: discs of 44 px or more that can be pressed, in order, tied to their true
//! spots where the drawing had to spread them.

use super::drawing::{Locator, of};
use super::glyph;
use super::spread::spread;
use super::{MapWords, Mark, Place, Seat, State, seen, turned};
use crate::parts::press::chairside_counts;
use crate::shape::prelude::*;
use std::fmt::Write as _;

/// The map is this wide and high: 288 px on the narrowest phone, so a disc is never under 44 px.
const WIDTH: i32 = 2880;
const HEIGHT: i32 = 2160;
/// Half a disc.
const DISC: i32 = 220;
/// Half of what a finger may hit.
const REACH: i32 = 260;
/// A disc moved further than this is tied to its spot.
const TIED: i32 = 60;
/// The smallest window, so that one lonely point is still seen on a piece of face.
const WINDOW_LEAST: i32 = 720;
/// Kept free around the outermost marks.
const WINDOW_EDGE: i32 = 130;

/// What part of the drawing is shown, in tenths of the drawing, as seen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Window {
    x: i32,
    y: i32,
    width: i32,
    height: i32,
}

impl Window {
    fn around(spots: &[(i32, i32)]) -> Self {
        let least = |pick: fn(&(i32, i32)) -> i32| spots.iter().map(pick).min().unwrap_or(0);
        let most = |pick: fn(&(i32, i32)) -> i32| spots.iter().map(pick).max().unwrap_or(0);
        let (x0, x1) = (least(|s| s.0) - WINDOW_EDGE, most(|s| s.0) + WINDOW_EDGE);
        let (y0, y1) = (least(|s| s.1) - WINDOW_EDGE, most(|s| s.1) + WINDOW_EDGE);
        // The map's own proportions, grown from the side that needs more.
        let width = (x1 - x0).max((y1 - y0) * WIDTH / HEIGHT).max(WINDOW_LEAST);
        let height = width * HEIGHT / WIDTH;
        Self {
            x: (x0 + x1 - width) / 2,
            y: (y0 + y1 - height) / 2,
            width,
            height,
        }
    }

    /// From the drawing to the map.
    fn place(self, (x, y): (i32, i32)) -> (i32, i32) {
        (
            (x - self.x) * WIDTH / self.width,
            (y - self.y) * WIDTH / self.width,
        )
    }

    /// The transform of the drawing, whose units are ten tenths.
    fn transform(self, turned: bool) -> String {
        let (x, y) = self.place((0, 0));
        let sign = if turned { "-" } else { "" };
        let thousandths = WIDTH * 10_000 / self.width;
        format!(
            "translate({x} {y}) scale({sign}{}.{:03})",
            thousandths / 1000,
            thousandths % 1000
        )
    }
}

/// A disc, ready to draw.
#[derive(Clone, Debug, PartialEq, Eq)]
struct Disc {
    at: (i32, i32),
    spot: (i32, i32),
    text: String,
    state: State,
    next: bool,
    flagged: bool,
}

/// The picture of one region.
#[derive(Clone, Debug, PartialEq, Eq)]
struct Picture {
    place: Place,
    seat: Seat,
    window: Window,
    discs: Vec<Disc>,
}

impl Picture {
    fn of(marks: &[Mark], seat: Seat, words: MapWords) -> Self {
        let place = marks.first().map_or(Place::Face, |mark| mark.place);
        let spots: Vec<_> = marks
            .iter()
            .map(|mark| seen(place, seat, mark.x, mark.y))
            .collect();
        let window = Window::around(&spots);
        let spots: Vec<_> = spots.into_iter().map(|spot| window.place(spot)).collect();
        let discs = spread(&spots, WIDTH, HEIGHT)
            .into_iter()
            .zip(spots)
            .zip(marks)
            .map(|((at, spot), mark)| Disc {
                at,
                spot,
                text: words.mark(mark),
                state: mark.state,
                next: mark.next,
                flagged: mark.flagged,
            })
            .collect();
        Self {
            place,
            seat,
            window,
            discs,
        }
    }

    fn path(&self, state: State) -> String {
        let mut d = String::new();
        for disc in self.discs.iter().filter(|disc| disc.state == state) {
            glyph::mark(&mut d, state, disc.at.0, disc.at.1, DISC);
        }
        d
    }

    fn stems(&self) -> String {
        let mut d = String::new();
        for disc in &self.discs {
            glyph::stem(&mut d, disc.state, disc.at.0, disc.at.1, DISC);
        }
        d
    }

    fn ties(&self) -> String {
        let mut d = String::new();
        for disc in &self.discs {
            let ((x, y), (tx, ty)) = (disc.at, disc.spot);
            if (x - tx).abs().max((y - ty).abs()) > TIED {
                let _ = write!(d, "M{x} {y}L{tx} {ty}");
                glyph::circle(&mut d, tx, ty, 25);
            }
        }
        d
    }

    fn order(&self) -> String {
        let mut d = String::new();
        for (index, disc) in self.discs.iter().enumerate() {
            let letter = if index == 0 { 'M' } else { 'L' };
            let _ = write!(d, "{letter}{} {}", disc.at.0, disc.at.1);
        }
        d
    }

    fn rings(&self) -> String {
        let mut d = String::new();
        for disc in self.discs.iter().filter(|disc| disc.next) {
            glyph::circle(&mut d, disc.at.0, disc.at.1, DISC + 75);
        }
        d
    }

    fn flags(&self) -> String {
        let mut d = String::new();
        for disc in self.discs.iter().filter(|disc| disc.flagged) {
            glyph::diamond(
                &mut d,
                disc.at.0 - DISC * 3 / 4,
                disc.at.1 - DISC * 3 / 4,
                80,
            );
        }
        d
    }
}

/// One region.
///
/// - `name`: what it shows, for a screen reader ("Patient's L cheek, seen facing").
/// - `marks`: those of this region, in their order; the dotted path follows it. All on one drawing.
/// - `words`; `seat`; `on_pick`: the index of the disc that was pressed.
/// - `children`: beside the small whole face under the map: the page puts the choice of seat here.
#[component]
pub fn RegionMap(
    #[prop(into)] name: Signal<String>,
    #[prop(into)] marks: Signal<Vec<Mark>>,
    words: MapWords,
    #[prop(into)] on_pick: Callback<usize>,
    #[prop(optional, into)] seat: Signal<Seat>,
    #[prop(optional)] children: Option<Children>,
) -> impl IntoShape {
    let picture = Memo::new(move |_| marks.with(|marks| Picture::of(marks, seat.get(), words)));
    let place = Memo::new(move |_| picture.with(|picture| picture.place));
    let window = Signal::derive(move || {
        picture.with(|picture| {
            let window = picture.window;
            (window.x, window.y, window.width, window.height)
        })
    });
    let drawing = move || of(place.get());
    let transform = move || {
        picture.with(|picture| {
            picture
                .window
                .transform(turned(picture.place, picture.seat))
        })
    };
    let shapes: Vec<_> = State::ALL
        .into_iter()
        .map(|state| {
            view! {
                <path
                    class=state.class()
                    d=move || picture.with(|picture| picture.path(state))
                />
            }
        })
        .collect();
    // Numbers and what is pressed: rebuilt only when a mark comes, goes or changes its state.
    let discs = move || {
        picture.with(|picture| {
            picture
                .discs
                .iter()
                .enumerate()
                .map(|(index, disc)| {
                    let (x, y) = disc.at;
                    let low = y + 58 + glyph::number_shift(disc.state, DISC);
                    view! {
                        <text class=disc.state.class() x=x y=low>
                            {disc.text.clone()}
                        </text>
                        <rect
                            class="tiles"
                            x=x - REACH
                            y=y - REACH
                            width=2 * REACH
                            height=2 * REACH
                            on:click=move |ev| {
                                if chairside_counts(&ev) {
                                    on_pick.run(index);
                                }
                            }
                        />
                    }
                })
                .collect::<Vec<_>>()
        })
    };
    view! {
        <div class="map zoomed">
            <svg viewBox=format!("0 0 {WIDTH} {HEIGHT}") role="img" aria-label=move || name.get()>
                <g transform=transform>{drawing}</g>
                <text class="side" x="60" y=HEIGHT - 60>
                    {move || words.corners(seat.get()).0}
                </text>
                <text class="side end" x=WIDTH - 60 y=HEIGHT - 60>
                    {move || words.corners(seat.get()).1}
                </text>
                <g class="marks discs">
                    <path class="order" d=move || picture.with(Picture::order) />
                    <path class="tie" d=move || picture.with(Picture::ties) />
                    <path class="stem" d=move || picture.with(Picture::stems) />
                    {shapes}
                    <path class="flag" d=move || picture.with(Picture::flags) />
                    <path class="ring" d=move || picture.with(Picture::rings) />
                    {discs}
                </g>
            </svg>
            <div class="mapfoot">
                {move || {
                    (place.get() == Place::Face).then(|| view! { <Locator window=window seat=seat /> })
                }}
                {children.map(|draw| draw())}
            </div>
        </div>
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use pinfold_core::atlas::region::{Area, Region, Side};

    const WORDS: MapWords = MapWords {
        right: "R",
        left: "L",
        whose: "patient's",
    };

    fn cheek() -> Vec<Mark> {
        [
            (240, 170),
            (360, 130),
            (480, 70),
            (610, 120),
            (550, 260),
            (420, 270),
            (330, 390),
        ]
        .into_iter()
        .zip(1..)
        .map(|((x, y), number)| Mark {
            code: format!("P{number}"),
            side: Side::Left,
            place: Place::Face,
            x,
            y,
            state: State::In,
            number,
            region: Region {
                area: Area::Cheek,
                side: Side::Left,
            },
            next: number == 4,
            flagged: false,
        })
        .collect()
    }

    #[test]
    fn a_cheek_fits_its_window_and_its_discs_are_apart() {
        for seat in [Seat::Facing, Seat::HeadEnd] {
            let picture = Picture::of(&cheek(), seat, WORDS);
            assert_eq!(picture.discs.len(), 7);
            for disc in &picture.discs {
                assert!((0..=WIDTH).contains(&disc.spot.0), "{disc:?}");
                assert!((0..=HEIGHT).contains(&disc.spot.1), "{disc:?}");
            }
            for (i, a) in picture.discs.iter().enumerate() {
                for b in &picture.discs[..i] {
                    let (dx, dy) = (a.at.0 - b.at.0, a.at.1 - b.at.1);
                    assert!(dx * dx + dy * dy >= 515 * 515, "{a:?} {b:?}");
                }
            }
        }
    }

    #[test]
    fn the_drawing_and_the_spots_move_together() {
        let window = Window {
            x: -40,
            y: -220,
            width: 840,
            height: 630,
        };
        assert_eq!(window.place((-40, -220)), (0, 0));
        assert_eq!(window.place((800, -220)), (WIDTH, 0));
        assert_eq!(window.transform(false), "translate(137 754) scale(34.285)");
        assert_eq!(window.transform(true), "translate(137 754) scale(-34.285)");
    }

    #[test]
    fn no_marks_and_one_mark_still_make_a_picture() {
        let none = Picture::of(&[], Seat::Facing, WORDS);
        assert_eq!((none.discs.len(), none.order()), (0, String::new()));
        let one = Picture::of(&cheek()[..1], Seat::Facing, WORDS);
        assert_eq!(one.window.width, WINDOW_LEAST);
        assert!((one.discs[0].at.0 - WIDTH / 2).abs() < 10);
    }

    #[test]
    fn only_the_next_one_is_ringed() {
        let picture = Picture::of(&cheek(), Seat::Facing, WORDS);
        assert_eq!(picture.rings().matches('M').count(), 1);
        assert_eq!(picture.discs[3].text, "4L");
    }
}
