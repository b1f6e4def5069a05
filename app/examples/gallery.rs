//! Every part in all its states, for looking at: developers only, never shipped. `app/examples/gallery`
//! builds and serves it. The hash says what is shown: `#chair`, `#due`, `#placing`, `#region`,
//! `#again`, `#count`, `#search`, `#ok`, `#rails`, `#map`, `#turned`, `#zoom`, `#crown`, `#states`,
//! `#ask`, `#desk`, `#sheet`, `#else`. The texts are samples.

use leptos::prelude::{document, window};
use pinfold_app::parts::face_map::{on_crown, on_hands};
use pinfold_app::parts::slab::Tall;
use pinfold_app::parts::tabs::Tab;
use pinfold_app::parts::wick::permille;
use pinfold_app::parts::*;
use pinfold_app::shape::mount_to_body;
use pinfold_app::shape::prelude::*;
use pinfold_core::atlas::face::View;
use pinfold_core::atlas::{Area, Atlas, Region, Side};
use pinfold_core::base::truth::Truth;

const MAP: MapWords = MapWords {
    right: "R",
    left: "L",
    whose: "patient's",
};
const KEYS: KeysWords = KeysWords {
    more: "more",
    done: "that many",
    back: "back",
    typed: "typed",
};
const CLOSE: HoldWords = HoldWords {
    keep: "Keep holding\u{2026}",
    nothing: "Nothing changed",
    again: "Press again to close, Esc to leave",
};

fn main() {
    mount_to_body(|| view! { <Gallery /> });
}

fn hash() -> String {
    window()
        .location()
        .hash()
        .unwrap_or_default()
        .trim_start_matches('#')
        .to_string()
}

#[component]
fn Gallery() -> impl IntoShape {
    let shown = RwSignal::new(hash());
    let listener = window_event_listener(leptos::ev::hashchange, move |_| shown.set(hash()));
    on_cleanup(move || listener.remove());
    move || {
        let name = shown.get();
        let (name, theme) = name.split_once('/').unwrap_or((&name, ""));
        let desk = matches!(name, "ask" | "desk" | "map" | "turned") != (theme == "other");
        if let Some(root) = document().document_element() {
            let _ = if desk {
                root.remove_attribute("data-theme")
            } else {
                root.set_attribute("data-theme", "chair")
            };
        }
        match name {
            "due" => view! { <Chair due=true /> },
            "placing" => view! { <Placing /> },
            "region" => view! { <RegionAsk /> },
            "again" => view! { <Again /> },
            "count" => view! { <Count /> },
            "search" => view! { <Search /> },
            "ok" => view! { <AddsUp /> },
            "rails" => view! { <Rails /> },
            "map" => view! { <Map seat=Seat::Facing /> },
            "turned" => view! { <Map seat=Seat::HeadEnd /> },
            "zoom" => view! { <Zoom area=Area::Cheek seat=Seat::Facing /> },
            "zoomturned" => view! { <Zoom area=Area::Cheek seat=Seat::HeadEnd /> },
            "forehead" => view! { <Zoom area=Area::Forehead seat=Seat::Facing /> },
            "crown" => view! { <Zoom area=Area::Scalp seat=Seat::Facing /> },
            "states" => view! { <States /> },
            "ask" => view! { <Ask /> },
            "desk" => view! { <Desk /> },
            "sheet" | "else" => view! { <Else /> },
            _ => view! { <Chair due=false /> },
        }
    }
}

#[component]
fn Strip() -> impl IntoShape {
    view! {
        <header class="strip column">
            <bdi class="who">"Ana R."</bdi>
            <span>"visit 4 of 10"</span>
            <span class="end">
                <Saved state=Written::Saved text="saved 14:32" />
            </span>
        </header>
    }
}

#[component]
fn Doors(last: &'static str) -> impl IntoShape {
    view! {
        <div class="row three">
            <Press text=last look=Look::Plain chair=true small=true on_press=|()| () />
            <Press text="Something else" look=Look::Plain chair=true small=true on_press=|()| () />
            <Press text="Unwell" look=Look::Plain chair=true small=true on_press=|()| () />
        </div>
    }
}

#[component]
fn Chair(due: bool) -> impl IntoShape {
    let posts = RwSignal::new(Posts {
        inside: 41,
        out: 7,
        unaccounted: 2,
        ..Posts::default()
    });
    let inside = Signal::derive(move || posts.get().inside);
    let out = Signal::derive(move || posts.get().out);
    let left: i64 = if due { -45 } else { 200 };
    let scale = 1_200;
    let late = if due { 240 } else { 0 };
    let rows = [
        ("Mouth, jaw", "10", 360, Burns::Needles),
        ("Eye rim", "6", 540, Burns::Needles),
        ("Cream, lip", "", 720, Burns::Cream),
    ];
    let rows: Vec<_> = rows
        .into_iter()
        .map(|(name, needles, left, burns)| {
            let left = left - late;
            let time = format!("{} min", left / 60);
            view! { <Waiting name=name time=time needles=needles left=permille(left, scale) burns=burns /> }
        })
        .collect();
    view! {
        <div class="screen chair">
            <Strip />
            <main class="column">
                <CountHead
                    name="Needles"
                    inside=inside
                    out=out
                    placed=48
                    in_word="in"
                    now_word="now"
                    out_word="out"
                    placed_words="placed in all"
                    note="placed as planned"
                >
                    <Rail posts=posts label="50 opened: 41 in, 7 out, 2 not yet accounted for" />
                </CountHead>
                <p class="sum">
                    <bdi>"50 opened: 41 in, 7 out, " <b>"2 not yet accounted for"</b></bdi>
                </p>
                <Call
                    name="Next clock"
                    whose="Patient's"
                    title="L cheek"
                    left=left
                    before="take out in"
                    over="over"
                    wick=permille(left, scale)
                />
                <ol class="waiting" aria-label="Clocks after that">
                    {rows}
                    <li class="rest">"and 2 more, the last in 17 min"</li>
                    <li class="rest short">"and the rest, the last in 17 min"</li>
                </ol>
            </main>
            <footer class="column foot last">
                <Slab
                    text="Take out L cheek"
                    on_press=move |()| {
                        posts
                            .update(|posts| {
                                posts.inside -= 1;
                                posts.out += 1;
                            });
                    }
                />
                <Doors last=if due { "Stay 5 more" } else { "Face map" } />
            </footer>
        </div>
    }
}

#[component]
fn Placing() -> impl IntoShape {
    let count = RwSignal::new(7_u16);
    view! {
        <div class="screen chair">
            <Strip />
            <main class="column">
                <CountHead
                    name="Needles"
                    inside=11
                    out=0
                    placed=11
                    in_word="in"
                    now_word="now"
                    out_word="out"
                    placed_words="placed"
                    note="placed as planned"
                >
                    <Rail
                        posts=Posts { inside: 11, unaccounted: 39, ..Posts::default() }
                        label="50 opened: 11 in, 39 not yet accounted for"
                    />
                </CountHead>
                <p class="sum">
                    <bdi>"50 opened: 11 in, 0 out, " <b>"39 not yet accounted for"</b></bdi>
                </p>
                <section class="call" aria-label="Next to place">
                    <h2><small>"Patient's"</small> " L cheek"</h2>
                    <Step
                        value=count
                        on_change=move |n| count.set(n)
                        fewer="one fewer"
                        more="one more"
                        note="as planned"
                    />
                    <p class="note">"\u{25c6} 3L is barred today. If it goes in, it is written down with a flag."</p>
                </section>
                <ol class="waiting" aria-label="Clocks">
                    <Waiting name="Hands, arms" needles="4" time="38 min" left=800 />
                    <Waiting name="R cheek" needles="7" time="1 min over" left=0 over=true />
                </ol>
            </main>
            <footer class="column foot last">
                <Slab text=Signal::derive(move || format!("Placed {}, L cheek", count.get())) on_press=|()| () />
                <Doors last="Face map" />
            </footer>
        </div>
    }
}

fn left_cheek() -> Region {
    Region {
        area: Area::Cheek,
        side: Side::Left,
    }
}

#[component]
fn RegionAsk() -> impl IntoShape {
    let question = RwSignal::new(0_u32);
    let said = RwSignal::new(None::<u16>);
    view! {
        <div class="screen chair">
            <header class="head column">
                <Press text="\u{2039} Chair" look=Look::Plain chair=true small=true fit=true on_press=move |()| question.update(|q| *q += 1) />
                <h1>"L cheek"</h1>
                <p class="end note"><b class="num">"+1:10"</b> " over"</p>
            </header>
            <main class="column">
                <div class="wherewords">
                    <RegionPicture region=left_cheek() />
                    <p>
                        <b>"Clear the region,"</b>
                        "then look, and feel with a flat hand. Next: mouth, jaw in 2 min."
                    </p>
                </div>
                <h2 class="question">
                    <small>"Patient's L cheek:"</small>
                    "how many came out?"
                </h2>
                <Keys
                    name="How many came out"
                    words=KEYS
                    question=question
                    on_answer=move |n| said.set(Some(n))
                />
                <p class="heard" id="said">{move || format!("{:?}", said.get())}</p>
            </main>
            <footer class="column foot last">
                <div class="row">
                    <Press text="Something else" look=Look::Plain chair=true small=true on_press=|()| () />
                    <Press text="Unwell" look=Look::Plain chair=true small=true on_press=|()| () />
                </div>
            </footer>
        </div>
    }
}

fn ticks(texts: &[&str]) -> Vec<Tick> {
    texts
        .iter()
        .map(|text| Tick {
            text: (*text).to_string(),
            wide: text.len() > 24,
        })
        .collect()
}

fn toggles(first: usize, all: usize) -> RwSignal<Vec<bool>> {
    RwSignal::new((0..all).map(|i| i < first).collect())
}

fn toggle(done: RwSignal<Vec<bool>>) -> impl Fn(usize) + Copy + Send + Sync + 'static {
    move |i| {
        done.update(|done| {
            if let Some(one) = done.get_mut(i) {
                *one = !*one;
            }
        })
    }
}

#[component]
fn Again() -> impl IntoShape {
    let done = toggles(2, 6);
    view! {
        <div class="screen chair">
            <header class="head column"><h1>"L cheek"</h1></header>
            <main class="column stack">
                <div class="wherewords">
                    <RegionPicture region=left_cheek() />
                    <p><b>"Patient's L cheek"</b> "counted once, 14:36. Undo stays here until this region is finished."</p>
                </div>
                <Notice
                    title="Look again here"
                    next="The number differs from what was placed. Look before you leave this cheek, then count what came out once more."
                    quiet=true
                    far=true
                />
                <Ticks
                    name="Looked here"
                    ticks=ticks(&["skin, by hand", "nose side", "sideburn", "ear", "used cotton", "collar"])
                    done=done
                    on_toggle=toggle(done)
                    chair=true
                />
            </main>
            <footer class="column foot last">
                <Slab text="Count again" on_press=|()| () />
                <div class="row">
                    <Press text="Something else" look=Look::Plain chair=true small=true on_press=|()| () />
                    <Press text="Leave it open" look=Look::Plain chair=true small=true on_press=|()| () />
                </div>
            </footer>
        </div>
    }
}

#[component]
fn Count() -> impl IntoShape {
    let value = RwSignal::new(None::<u16>);
    let done = toggles(2, 7);
    let written = move || value.get().map_or(String::new(), |n| n.to_string());
    view! {
        <div class="screen chair">
            <header class="head column"><h1>"Count"</h1><p class="end note">"Ana R., visit 4"</p></header>
            <main class="column stack">
                <h2>"How many are left in the strips?"</h2>
                <ol class="lines">
                    <li>"0.16 \u{d7} 15 mm" <b class="end num">"1"</b></li>
                    <li>"0.20 \u{d7} 25 mm" <b class="end num" id="pad-value">{written}</b></li>
                </ol>
                <Pad
                    name="Number keys"
                    value=value
                    on_value=move |n| value.set(n)
                    on_done=|()| ()
                    back="back"
                    done="next"
                />
                <h2>"Sweep by hand, tick each"</h2>
                <Ticks
                    name="Swept by hand"
                    ticks=ticks(&["hair left", "hair right", "hair back", "ears", "brows", "neck", "hands and arms, under the blanket"])
                    done=done
                    on_toggle=toggle(done)
                    chair=true
                />
            </main>
            <footer class="column foot last">
                <Hold text="Close session" note="You can close at 50 of 50" words=CLOSE shut=true on_done=|()| () />
            </footer>
        </div>
    }
}

#[component]
fn Search() -> impl IntoShape {
    let done = toggles(3, 15);
    view! {
        <div class="screen chair">
            <header class="head column"><h1>"Count"</h1></header>
            <main class="column stack">
                <Notice title="1 not accounted for" kept="49 of 50, counted twice" alert=true />
                <Rail
                    posts=Posts { out: 47, not_found: 1, unused: 2, ..Posts::default() }
                    label="47 out, 1 not accounted for, 2 unused, of 50 opened"
                />
                <p class="sum">"50 opened: 0 in, 47 out, 2 unused, 0 spoilt, 0 stays in, " <b>"1 not accounted for"</b></p>
                <Ticks
                    name="Looked here"
                    ticks=ticks(&["face", "hairline", "ear", "hair clips", "collar", "sleeve", "pillow", "blanket", "shoe, floor", "in used cotton", "bin", "guide tubes", "strips", "tray", "sharps box: look, never reach in"])
                    done=done
                    on_toggle=toggle(done)
                />
                <div class="row">
                    <Press text="Found it" chair=true on_press=|()| () />
                    <Press text="Count again" look=Look::Plain chair=true on_press=|()| () />
                </div>
            </main>
            <footer class="column foot last">
                <Hold text="Close session" note="You can close at 50 of 50, or after the whole search with a note" words=CLOSE shut=true on_done=|()| () />
            </footer>
        </div>
    }
}

#[component]
fn AddsUp() -> impl IntoShape {
    let closed = RwSignal::new(0);
    let terms = [
        ("in", "swept by hand", 0),
        ("out", "counted by region", 48),
        ("unused", "counted in the strips", 2),
        ("spoilt, never placed", "", 0),
        ("stays in", "on purpose", 0),
        ("not accounted for", "", 0),
    ];
    view! {
        <div class="screen chair">
            <header class="head column"><h1>"Count"</h1></header>
            <main class="column stack">
                <Notice title="Adds up" kept="50 of 50 accounted for" equal=true />
                <dl class="terms">
                    {terms
                        .into_iter()
                        .map(|(term, how, n)| {
                            view! {
                                <dt>{term} " " <small>{how}</small></dt>
                                <dd>{n}</dd>
                            }
                        })
                        .collect::<Vec<_>>()}
                    <dt class="total">"opened"</dt>
                    <dd class="total">"50"</dd>
                </dl>
                <Rail posts=Posts { out: 48, unused: 2, ..Posts::default() } label="48 out, 2 unused, of 50 opened" />
                <p class="note" id="closed">{move || format!("closed {} times", closed.get())}</p>
            </main>
            <footer class="column foot last">
                <Hold text="Undo" note="700 ms" span=Span::Lite words=CLOSE on_done=|()| () />
                <Hold text="Close session" note="closes the session at 14:56" words=CLOSE on_done=move |()| closed.update(|n| *n += 1) />
            </footer>
        </div>
    }
}

#[component]
fn Rails() -> impl IntoShape {
    let all = [(6, 1), (20, 2), (50, 3), (70, 4), (71, 5), (120, 6)];
    view! {
        <main class="column stack">
            {all
                .into_iter()
                .map(|(total, n)| {
                    let posts = Posts {
                        inside: total - 4 * n.min(total / 8),
                        out: n,
                        unaccounted: 3 * n.min(total / 8),
                        ..Posts::default()
                    };
                    view! {
                        <p class="note">{total}</p>
                        <Rail posts=posts label="sample" />
                    }
                })
                .collect::<Vec<_>>()}
            <p class="note">"all kinds, three of each"</p>
            <Rail
                posts=Posts { inside: 3, stays_in: 3, out_uncounted: 3, out: 3, not_found: 3, spoilt: 3, unused: 3, unaccounted: 3 }
                label="sample"
            />
            <p class="note">"all kinds among 66"</p>
            <Rail
                posts=Posts { inside: 20, stays_in: 2, out_uncounted: 12, out: 20, not_found: 2, spoilt: 3, unused: 4, unaccounted: 3 }
                label="sample"
            />
            <Band
                inside=38
                out=10
                placed=48
                in_word="in"
                out_word="out"
                placed_words="placed in all"
                next="2 min"
                next_words="mouth, jaw"
            />
            <p>
                <Saved state=Written::Saved text="saved 14:32" />
                " "
                <Saved state=Written::Saving text="saving\u{2026}" />
                " "
                <Saved state=Written::NotSaved text="not saved" />
            </p>
            <Slab text="Took out 4L" note="3 of 7 counted out" tall=Tall::Again on_press=|()| () />
            <Call name="Next" whose="Patient's" title="Forehead" left=42 before="take out in" over="over" wick=35 />
            <Call name="Next" title="Cream" left=1_500 before="wipe off in" over="over" wick=700 burns=Burns::Cream />
        </main>
    }
}

/// Sample marks: real points of the atlas in one region each.
fn marks() -> Vec<Mark> {
    let atlas = Atlas::load().ok();
    let plan = [
        (
            Area::Cheek,
            ["ST2", "ST3", "SI18", "LI20", "EX-HN8", "ST7"].as_slice(),
        ),
        (
            Area::MouthJaw,
            &["ST4", "ST5", "ST6", "GV26", "CV24", "LI19"],
        ),
        (Area::EyeRim, &["BL2", "TE23", "GB1", "ST1", "EX-HN7"]),
        (Area::Forehead, &["GB14", "EX-HN3", "GB15", "BL3"]),
        (Area::Scalp, &["GV20", "EX-HN1"]),
    ];
    let mut out = Vec::new();
    for (area, codes) in plan {
        for (code, number) in codes.iter().zip(1..) {
            for drawn in atlas.iter().flat_map(|atlas| atlas.face().places(code)) {
                let crown = drawn.behind.filter(|_| area == Area::Scalp);
                let (x, y) = crown
                    .map_or((i32::from(drawn.at.x), i32::from(drawn.at.y)), |behind| {
                        on_crown(i32::from(drawn.at.x), behind)
                    });
                if crown.is_none() && drawn.view != View::Front {
                    continue;
                }
                let paired = matches!(area, Area::Cheek | Area::EyeRim);
                out.push(Mark {
                    code: (*code).to_string(),
                    side: drawn.side,
                    place: if crown.is_some() {
                        Place::Crown
                    } else {
                        Place::Face
                    },
                    x,
                    y,
                    state: State::Planned,
                    number,
                    region: Region {
                        area,
                        side: if paired { drawn.side } else { Side::Both },
                    },
                    next: false,
                    flagged: false,
                });
            }
        }
    }
    for side in [Side::Right, Side::Left] {
        for nth in 0..2 {
            let (x, y) = on_hands(side, nth);
            out.push(Mark {
                code: format!("H{nth}"),
                side,
                place: Place::Hands,
                x,
                y,
                state: State::Planned,
                number: nth + 1,
                region: Region {
                    area: Area::HandsArms,
                    side: Side::Both,
                },
                next: false,
                flagged: false,
            });
        }
    }
    out
}

#[component]
fn Map(seat: Seat) -> impl IntoShape {
    let seat = RwSignal::new(seat);
    let chosen = RwSignal::new(Some(left_cheek()));
    let marks = RwSignal::new(marks());
    let mile = |text: &str, stage| Mile {
        text: text.into(),
        href: "#map".into(),
        stage,
    };
    let miles = vec![
        mile("Ask", Stage::Done),
        mile("Look", Stage::Done),
        mile("Plan", Stage::Here),
        mile("Chair", Stage::Ahead),
        mile("Count", Stage::Ahead),
        mile("Write", Stage::Ahead),
        mile("Next", Stage::Ahead),
    ];
    view! {
        <div class="screen">
            <header class="column">
                <div class="head"><h1>"Ana R."</h1></div>
                <Way name="Where you are" done="done" miles=miles />
            </header>
            <main class="column stack">
                <FaceMap
                    name="Face map"
                    marks=marks
                    words=MAP
                    chosen=chosen
                    on_region=move |region| chosen.set(Some(region))
                    seat=seat
                    picked=Some(0)
                />
                <OneOf
                    name="Where you sit"
                    texts=vec!["Facing".into(), "Head end".into()]
                    chosen=Signal::derive(move || usize::from(seat.get() == Seat::HeadEnd))
                    on_choose=move |i| seat.set(if i == 0 { Seat::Facing } else { Seat::HeadEnd })
                />
                <p id="chosen">{move || chosen.get().map(|region| region.to_string())}</p>
            </main>
        </div>
    }
}

#[component]
fn Zoom(area: Area, seat: Seat) -> impl IntoShape {
    let seat = RwSignal::new(seat);
    let mut some: Vec<Mark> = marks()
        .into_iter()
        .filter(|mark| mark.region.area == area && (area != Area::Cheek || mark.side == Side::Left))
        .collect();
    for (i, mark) in some.iter_mut().enumerate() {
        mark.state = if i < 2 { State::Out } else { State::In };
        mark.next = i == 2;
        mark.flagged = i == 4;
    }
    let picked = RwSignal::new(None::<usize>);
    view! {
        <main class="column stack">
            <Band inside=38 out=10 placed=48 in_word="in" out_word="out" placed_words="placed in all" next="2 min" next_words="mouth, jaw" />
            <RegionMap name="Patient's L cheek" marks=some words=MAP seat=seat on_pick=move |i| picked.set(Some(i))>
                <OneOf
                    name="Where you sit"
                    texts=vec!["Facing".into(), "Head end".into()]
                    chosen=Signal::derive(move || usize::from(seat.get() == Seat::HeadEnd))
                    on_choose=move |i| seat.set(if i == 0 { Seat::Facing } else { Seat::HeadEnd })
                />
            </RegionMap>
            <p id="picked">{move || format!("{:?}", picked.get())}</p>
        </main>
    }
}

#[component]
fn States() -> impl IntoShape {
    let some: Vec<Mark> = State::ALL
        .into_iter()
        .enumerate()
        .map(|(i, state)| {
            let n = i as i32;
            Mark {
                code: format!("P{n}"),
                side: Side::Left,
                place: Place::Face,
                x: 100 + n % 4 * 160,
                y: -100 + n / 4 * 200,
                state,
                number: i as u16 + 1,
                region: left_cheek(),
                next: false,
                flagged: i == 1,
            }
        })
        .collect();
    view! {
        <main class="column stack">
            <RegionMap name="All states" marks=some.clone() words=MAP on_pick=|_| () />
            <FaceMap name="All states" marks=some words=MAP chosen=None on_region=|_| () />
        </main>
    }
}

#[component]
fn Ask() -> impl IntoShape {
    let lines = [
        ("Since last time", "Was anything wrong after 7 May?"),
        ("Left in", "Are the 2 ear needles out?"),
        ("New", "Any new medicine?"),
        ("", "Any new treatment on face or body?"),
        ("", "Any dental work, done or planned?"),
        ("Pregnancy", "Could you be pregnant?"),
        ("Today", "Do you feel ill?"),
        ("", "Any sore skin, or a cold sore coming?"),
        ("", "Have you eaten today?"),
    ];
    let rows: Vec<_> = lines
        .into_iter()
        .enumerate()
        .map(|(i, (group, text))| {
            let start = match i {
                0 => Some(Truth::No),
                1 => Some(Truth::Yes),
                3 => Some(Truth::Unknown),
                _ => None,
            };
            let value = RwSignal::new(start);
            view! {
                <li>
                    <Choice
                        text=text
                        group=group
                        value=value
                        on_answer=move |answer| value.set(Some(answer))
                        yes="yes"
                        no="no"
                        unknown="asked, not known"
                        large=i == 8
                    />
                </li>
            }
        })
        .collect();
    view! {
        <div class="screen">
            <header class="column head"><h1>"Before we start today"</h1><p class="soft">"Ana, please press one answer on each line."</p></header>
            <main class="column"><ol>{rows}</ol></main>
            <footer class="go column last">
                <p class="note">"5 still to answer"</p>
                <Slab text="Give the phone back" tall=Tall::Low shut=true on_press=|()| () />
            </footer>
        </div>
    }
}

#[component]
fn Desk() -> impl IntoShape {
    let name = RwSignal::new(String::from("Ana R."));
    let day = RwSignal::new(String::new());
    view! {
        <div class="screen">
            <main class="column stack">
                <div class="head"><h1>"Person"</h1><span class="end"><Saved state=Written::Saving text="saving\u{2026}" /></span></div>
                <Field id="name" label="Name" value=name on_input=move |v| name.set(v) hint="as it will be printed" />
                <Field id="born" label="Birth date" kind=Kind::Date value=day on_input=move |v| day.set(v) error="No date yet. Nothing else is lost. Enter the day, or leave the field." />
                <Field id="left" label="Needles left" kind=Kind::Number value="12" on_input=|_| () />
                <Field id="words" label="What they came for" kind=Kind::Lines value="" on_input=|_| () />
                <div class="row">
                    <Press text="Write" on_press=|()| () />
                    <Press text="Leave" look=Look::Plain on_press=|()| () />
                    <Press text="Shut" shut=true on_press=|()| () />
                </div>
                <Press text="Count only" note="a chair with no plan" spread=true on_press=|()| () />
                <Notice
                    title="Could not save the last press"
                    kept="It is still on this screen."
                    next="Free some space, then press Save again."
                    alert=true
                >
                    <Press text="Save again" on_press=|()| () />
                </Notice>
            </main>
            <div class="go column last">
                <p class="note">"Dims the screen and keeps it awake"</p>
                <Slab text="Go to the chair" solid=true tall=Tall::Low on_press=|()| () />
            </div>
            <Tabs
                name="Main"
                here=Some(0)
                tabs=["Today", "People", "Shelf", "Settings"].map(|text| Tab { text: text.into(), href: "#desk".into() }).to_vec()
            />
        </div>
    }
}

#[component]
fn Else() -> impl IntoShape {
    let open = RwSignal::new(true);
    view! {
        <main class="column stack">
            <Press text="Something else" chair=true on_press=move |()| open.set(true) />
            <Sheet open=open on_close=move |()| open.set(false) title="Something else" back="Back">
                <div class="stack">
                    <Band inside=41 out=7 placed=48 in_word="in" out_word="out" placed_words="placed in all" />
                    <p class="note">"One press writes it down with the time. Undo until the region is finished."</p>
                    <Press text="Fell out, found" chair=true spread=true on_press=|()| () />
                    <Press text="Changed needle" note="+1 opened" chair=true spread=true on_press=|()| () />
                    <Press text="Up with needles in" note="tray count" chair=true spread=true on_press=|()| () />
                    <Press text="Stays in on purpose" chair=true spread=true on_press=|()| () />
                </div>
            </Sheet>
        </main>
    }
}
