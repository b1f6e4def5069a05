//! The drawings themselves: a few curves on one grid, written in whole drawing units (a tenth of the
//! marks' unit is one tenth of these), turned but never mirrored.

use super::{Place, Seat, turned};
use crate::shape::prelude::*;
use pinfold_core::atlas::region::{Area, Region, Side};

/// What one side of the face has; the other side is the same, flipped.
fn half_face() -> impl IntoShape {
    view! {
        <g>
            <path
                class="sk"
                d="M72-34C78-44 88-40 87-26C86.5-14 82-8 80 2C78.5 10 73 12 69.5 8"
            />
            <path class="ln f2" d="M76-29C81-32 83-26 81-20C79.5-15 77-14 77-8" />
        </g>
    }
}

/// Eye, brow, fold and nostril of one side: over the face's outline.
fn half_features() -> impl IntoShape {
    view! {
        <g>
            <path
                class="hr"
                d="M0-163C54-163 92-132 91-82C90-62 86-50 82-40C78-30 73-34 71.5-42C70-60 64-72 52-82C38-93 18-97 0-97Z"
            />
            <path class="ln" d="M15-13.5C23-5.5 39-4.5 49-12.5" />
            <path
                class="ln f2"
                d="M16.5-18.5C26-26.5 40-26 49.5-18M22-8.6L20.6-5.2M29-6.4L28.4-2.6M36-6.3L36.8-2.5M43-8.6L45-5.2M9-29C5.5-12 6 2 8.5 12M20 27C26 34 30.5 42 31.5 50M14 128C26 122 44 122 58 126M0 54.6C7 56 17 55 26.5 54.5"
            />
            <path class="br" d="M14-35C24-43 41-45 55-36C42-40 27-38.5 14.5-31.5Z" />
            <path
                class="ln"
                d="M13.5 13C19 16 19.5 25.5 12 27.5C8.5 27.5 7.5 25 6 26.5C4 29 2 29.8 0 29.8"
            />
        </g>
    }
}

/// The face, closed eyes, from the front.
pub(super) fn face() -> Shape {
    view! {
        <g class="fc">
            <path
                class="nk"
                d="M46 66C45 90 48 104 58 112C74 121 92 124 104 132L104 150L-104 150L-104 132C-92 124-74 121-58 112C-48 104-45 90-46 66Z"
            />
            {half_face()}
            <g transform="scale(-1 1)">{half_face()}</g>
            <path
                class="sk"
                d="M0-150C40-150 73-124 74.5-80C75-58 72-40 71-20C70 6 66 32 55 53C46 70 26 94 0 94C-26 94-46 70-55 53C-66 32-70 6-71-20C-72-40-75-58-74.5-80C-73-124-40-150 0-150Z"
            />
            <path
                class="lp"
                d="M-26.5 54.5C-21 52-16 49.5-10.5 47C-7 45.2-4 45.5 0 48.5C4 45.5 7 45.2 10.5 47C16 49.5 21 52 26.5 54.5C20 62.5 11 67 0 67C-11 67-20 62.5-26.5 54.5Z"
            />
            {half_features()}
            <g transform="scale(-1 1)">{half_features()}</g>
            <path class="ln f2" d="M-9 77C-4 74.5 4 74.5 9 77" />
        </g>
    }
}

/// The crown from above, nose up: as seen from the head end.
fn crown() -> Shape {
    view! {
        <g class="fc">
            <path class="sk" d="M-7-70C-5-79 5-79 7-70Z" />
            <path class="sk" d="M-50-14C-60-18-62 6-50 8M50-14C60-18 62 6 50 8" />
            <path
                class="hr"
                d="M0-71C30-71 51-44 51-6C51 36 30 66 0 66C-30 66-51 36-51-6C-51-44-30-71 0-71Z"
            />
            <path class="ln f2" d="M-40-47C-22-38 22-38 40-47" />
            <path class="ln f2 dash" d="M0-42L0 66M-51-3L51-3" />
        </g>
    }
}

/// One hand, fingers up.
fn hand() -> impl IntoShape {
    view! {
        <path
            class="sk"
            d="M-34 29C-33 17-37 9-37-2L-37-17C-37-20-33-20-33-17L-32.4-6L-31.4-23C-31.2-26-27.4-26-27.4-23L-27-7L-25.4-25C-25-28-21.4-27.8-21.4-24.8L-21.6-6.4L-19-21C-18.4-23.8-15-23-15.2-20.4L-16.4-1C-13-4-11-7-8.4-8.4C-6-9.6-4.4-7.6-6-5.6C-10-.4-12.6 6-15.4 11C-17.2 15-17 22-16 29"
        />
    }
}

/// Both hands, backs upwards, fingers away: as seen from the head end.
fn hands() -> Shape {
    view! {
        <g class="fc">
            {hand()} <g transform="scale(-1 1)">{hand()}</g>
        </g>
    }
}

/// The drawing of a place.
pub(super) fn of(place: Place) -> Shape {
    match place {
        Place::Face => face(),
        Place::Crown => crown(),
        Place::Hands => hands(),
    }
}

/// The transform that brings a drawing's units to tenths, turned as the seat asks.
pub(super) fn turn(place: Place, seat: Seat) -> &'static str {
    if turned(place, seat) {
        "scale(-10)"
    } else {
        "scale(10)"
    }
}

/// The shape that shows an area on the face, on the patient's left.
pub(super) const fn shape(area: Area) -> &'static str {
    match area {
        Area::Scalp => "M0-160C52-160 88-130 87-84C80-70 76-62 72-52C66-76 42-95 0-95Z",
        Area::Forehead => "M0-93C22-93 46-86 58-73C66-64 69-54 69-46C52-52 36-48 20-42L0-40Z",
        Area::EyeRim => "M8-31C20-46 48-48 66-38C70-26 68-10 62-1C46 10 22 7 12-2C8-10 6-20 8-31Z",
        Area::Cheek => "M14 8C30 2 52-2 67 3C66 22 58 36 40 48C30 46 20 34 14 8Z",
        Area::MouthJaw => "M0 33C14 33 27 41 36 53C44 55 52 51 59 45C54 66 30 90 0 92Z",
        Area::Ear => "M71-38C80-50 92-42 90-26C89-12 84-8 82 2C80 13 73 15 68 11Z",
        Area::Neck => "M46 68C45 90 48 104 58 113L0 113L0 97C20 95 36 83 46 68Z",
        Area::HandsArms | Area::LegsFeet | Area::Trunk => "",
    }
}

/// The tile of the face that a touch for an area may land on, on the patient's left. Larger than the
/// shape: tiles leave no gaps, and none is under 48 px on a phone.
pub(super) const fn tile(area: Area) -> &'static str {
    match area {
        Area::Scalp => "M0-166H108V-56H74L56-97H0Z",
        Area::Forehead => "M0-97H56L74-56V-44H0Z",
        Area::EyeRim => "M0-44H72V4H0Z",
        Area::Cheek => "M0 4H72V50H40L14 30H0Z",
        Area::MouthJaw => "M0 30H14L40 50H72L60 98H0Z",
        Area::Ear => "M74-56H108V50H72V-44Z",
        Area::Neck => "M0 98H60L72 50H108V118H0Z",
        Area::HandsArms | Area::LegsFeet | Area::Trunk => "",
    }
}

/// Which halves of the drawing a side covers: (the patient's left, the patient's right).
pub(super) const fn halves(side: Side) -> (bool, bool) {
    match side {
        Side::Left => (true, false),
        Side::Right => (false, true),
        Side::Both | Side::Centre => (true, true),
    }
}

/// A region's shape on the face.
pub(super) fn highlight(region: Region) -> Shape {
    let (left, right) = halves(region.side);
    let d = shape(region.area);
    view! {
        <g class="hot">
            {left.then(|| view! { <path d=d /> })}
            {right.then(|| view! { <path d=d transform="scale(-1 1)" /> })}
        </g>
    }
}

/// A small picture of where a region is: for the question "how many came out here?", where no
/// needle may be drawn.
///
/// - `region`; `seat`.
#[component]
pub fn RegionPicture(
    #[prop(into)] region: Signal<Region>,
    #[prop(optional, into)] seat: Signal<Seat>,
) -> impl IntoShape {
    let picture = move || {
        let region = region.get();
        let place = match region.area {
            Area::HandsArms => Place::Hands,
            Area::Scalp => Place::Crown,
            _ => Place::Face,
        };
        let seat = seat.get();
        let view_box = match (place, seat) {
            (Place::Face, Seat::Facing) => "-1000 -1240 2000 2400",
            (Place::Face, Seat::HeadEnd) => "-1000 -1160 2000 2400",
            (Place::Crown, _) => "-720 -820 1440 1640",
            (Place::Hands, _) => "-460 -380 920 760",
        };
        let all = if place == Place::Face {
            highlight(region)
        } else {
            Shape::Nothing
        };
        view! {
            <svg class="where" viewBox=view_box aria-hidden="true">
                <g class="hot" transform=turn(place, seat)>
                    {of(place)}
                    {all}
                </g>
            </svg>
        }
    };
    view! { {picture} }
}

/// The small whole face that shows which window of it the region map is.
///
/// - `window`: left, top, width, height in tenths, as seen; `seat`.
#[component]
pub fn Locator(window: Signal<(i32, i32, i32, i32)>, seat: Signal<Seat>) -> impl IntoShape {
    let view_box = move || match seat.get() {
        Seat::Facing => "-1100 -1680 2200 3000",
        Seat::HeadEnd => "-1100 -1320 2200 3000",
    };
    view! {
        <svg class="locator" viewBox=view_box aria-hidden="true">
            <g transform=move || turn(Place::Face, seat.get())>{face()}</g>
            <rect
                class="window"
                x=move || window.get().0
                y=move || window.get().1
                width=move || window.get().2
                height=move || window.get().3
            />
        </svg>
    }
}
