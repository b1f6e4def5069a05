//! The chair: how many are in, and which clock needs me?

use super::by_point::ByPoint;
use super::count::did;
use super::frame::{NotSaved, SavedSign};
use super::resume::Resume;
use super::unwell::Unwell;
use crate::desk::{Awake, Route, use_desk};
use crate::parts::wick::{Burns, Waiting, permille};
use crate::parts::{
    Call, CountHead, Look, Notice, OneOf, Posts, Press, Rail, Select, Sheet, Slab, Step,
};
use crate::shape::prelude::*;
use pinfold_core::atlas::Region;
use pinfold_core::base::id::EntryId;
use pinfold_core::base::units::Seconds;
use pinfold_core::event::session::{CreamOn, Doing, How, Incident, IncidentKind, Mode};
use pinfold_core::ledger::ChairCommand;
use pinfold_core::session::{ClockState, FlawKind, Sum, What};
use pinfold_core::view::chair::{self as view, ChairView, ClockLine, USUAL_STAY};
use pinfold_core::view::count::asks_promise;
use pinfold_core::view::flaw;
use pinfold_core::view::resume::Shown;
use pinfold_core::view::today::consent_of;
use pinfold_core::view::visit::day_of;
use pinfold_core::words::device::EN as DEVICE;
use pinfold_core::words::flaw::EN as FLAW;
use pinfold_core::words::{acts, app, chair, place};

/// What the page is for just now.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Stage {
    Placing,
    TakingOut,
}

fn small(n: u32) -> u16 {
    u16::try_from(n).unwrap_or(u16::MAX)
}

/// The rail's posts for a sum.
pub(super) fn posts(sum: &Sum) -> Posts {
    Posts {
        inside: small(sum.in_now),
        stays_in: small(sum.stays_in),
        out_uncounted: small(sum.out_uncounted),
        out: small(sum.out),
        not_found: small(sum.not_found),
        spoilt: small(sum.spoilt),
        unused: small(sum.unused),
        unaccounted: small(sum.open()),
    }
}

/// Whether it says that a newer version wrote here.
pub(super) fn newer(kind: &FlawKind) -> bool {
    matches!(kind, FlawKind::UnknownKind | FlawKind::NewerVersion)
}

/// Whether it says that something here is damaged or was erased.
pub(super) fn damage(kind: &FlawKind) -> bool {
    matches!(kind, FlawKind::Malformed | FlawKind::Erased)
}

/// The chair of one session.
#[component]
pub fn Chair(
    /// The session.
    session: EntryId,
) -> impl IntoShape {
    let desk = use_desk();
    // Read where it lies by all that is drawn from it; a copy for each would be made at every press.
    let seen = Memo::new(move |_| desk.session(session, view::chair).unwrap_or_else(empty));
    let there = Memo::new(move |_| desk.session(session, |_| ()).is_some());
    move || {
        if there.get() {
            view! { <Here session=session seen=seen /> }
        } else {
            view! {
                <main class="column stack">
                    <Notice title=app::EN.not_there next=app::EN.not_there_next quiet=true>
                        <Press text=app::EN.today on_press=move |()| desk.go(&Route::Today) />
                    </Notice>
                </main>
            }
        }
    }
}

/// Stands in for the moment between a session's going and the page's noticing.
pub(super) fn empty() -> ChairView {
    view::chair(&pinfold_core::session::Session::default())
}

#[component]
fn Here(session: EntryId, seen: Memo<ChairView>) -> impl IntoShape {
    let desk = use_desk();
    let count = move |of: fn(&Sum) -> u32| Memo::new(move |_| seen.with(|v| small(of(&v.sum))));
    let inside = count(|s| s.in_now);
    let out = count(|s| s.out);
    let placed = count(|s| s.placed);
    let marks = Memo::new(move |_| seen.with(|v| posts(&v.sum)));
    let line = Memo::new(move |_| seen.with(|v| view::sum_line(&chair::EN, &v.sum)));
    let packless = Memo::new(move |_| seen.with(|v| v.packs.is_empty()));
    let flaws = Memo::new(move |_| seen.with(|v| v.flaws.clone()));
    let stopped = Memo::new(move |_| seen.with(|v| v.stopped.clone()));
    let undo_rests = Memo::new(move |_| seen.with(|v| !v.can_undo));

    let clocks = Memo::new(move |_| {
        desk.track_time();
        let lines = desk.session(session, |s| {
            desk.now()
                .map(|now| view::clocks(s.state(), &now, &chair::EN, &place::EN))
        });
        lines.flatten().unwrap_or_default()
    });
    let any_due = Memo::new(move |_| {
        clocks.with(|c| {
            c.iter().any(|c| {
                matches!(
                    c.state,
                    ClockState::Due | ClockState::Over | ClockState::ByHand
                )
            })
        })
    });
    let stage = RwSignal::new(
        if seen.with_untracked(|v| v.sum.placed > 0 && v.to_place.is_none()) {
            Stage::TakingOut
        } else {
            Stage::Placing
        },
    );
    // A clock that falls due turns the page to taking out: that is what it asks for.
    Effect::new(move |before: Option<bool>| {
        let due = any_due.get();
        if due && before == Some(false) {
            stage.set(Stage::TakingOut);
        }
        due
    });
    // So does a stop.
    Effect::new(move |before: Option<bool>| {
        let now = stopped.with(Option::is_some);
        if now && before == Some(false) {
            stage.set(Stage::TakingOut);
        }
        now
    });

    let who = Memo::new(move |_| {
        let person = seen.with(|v| v.person);
        let name = desk.read(|l| {
            person
                .and_then(|p| l.person(p))
                .map(|p| p.name().to_string())
        });
        name.filter(|n| !n.is_empty())
            .unwrap_or_else(|| chair::EN.nobody_named.into())
    });
    // Flags, never locks: what happens is written down all the same.
    let flags = move || {
        if seen.with(|v| v.rehearsal) {
            return chair::EN.rehearsal;
        }
        if seen.with(|v| v.mode == Some(Mode::CountOnly)) {
            return chair::EN.not_screened;
        }
        desk.read(|l| match consent_of(l, session) {
            None => chair::EN.no_consent,
            Some(c) if !c.needles => chair::EN.needles_refused,
            Some(c) if !c.cream && seen.with(|v| !v.creams.is_empty()) => chair::EN.cream_refused,
            _ => "",
        })
    };
    // The place of this line is kept whatever it says, so that no count moves under a finger.
    let phone = move || {
        let screen = match desk.awake().get() {
            Awake::Refused | Awake::Absent => app::EN.screen_off,
            Awake::Held => app::EN.screen_on,
            Awake::Off | Awake::Asking => "",
        };
        let battery = desk.battery().get().map(|left| DEVICE.battery(left));
        format!("{} {screen}", battery.unwrap_or_default())
    };
    let else_open = RwSignal::new(false);
    let wiping = RwSignal::new(None::<i64>);
    // Two chairs with needles: the practitioner says how the other's clocks will be heard.
    let promise = Memo::new(move |_| desk.read(|l| asks_promise(l, session)));
    let promised = move |what: Doing| {
        let what = did(what);
        let _ = desk.act(ChairCommand::Do { session, what });
    };
    let undo = move |()| {
        let _ = desk.act(ChairCommand::Undo { session });
    };
    let out_stage = move || stage.get() == Stage::TakingOut;
    // That a newer version wrote here stays for good, and nothing at the chair mends it: a flag at the
    // head, the words below what the hands need.
    let flawed = move |of_newer: bool| {
        let shown = flaws.get();
        let mut shown = shown
            .into_iter()
            .filter(|kind| newer(kind) == of_newer)
            .peekable();
        shown.peek()?;
        let lines: Vec<_> = shown
            .map(|kind| view! { <li class="wrong">{flaw::say(&FLAW, kind)}</li> })
            .collect();
        Some(view! { <ul class="lines">{lines}</ul> })
    };

    view! {
        <div class="screen chair">
            <header class="strip column">
                <h1 class="who"><bdi>{move || who.get()}</bdi></h1>
                <span class="flag">{flags}</span>
                {move || flaws.with(|f| f.iter().any(newer)).then(|| view! { <span class="flag">{chair::EN.newer_here}</span> })}
                <span class="end"><SavedSign /></span>
                <p class="phone" role="status">{phone}</p>
            </header>
            <main class="column">
                <NotSaved />
                <Resume session=session shown=Signal::derive(move || Shown::Chair { out: out_stage() }) />
                <div hidden=move || !promise.get()>
                    <Notice title=acts::EN.two_chairs quiet=true>
                        <div class="row">
                            <Press text=acts::EN.promise_sound chair=true small=true on_press=move |()| promised(Doing::PromisedSound) />
                            <Press text=acts::EN.promise_watch chair=true small=true on_press=move |()| promised(Doing::PromisedWatch) />
                        </div>
                    </Notice>
                </div>
                <CountHead
                    name=chair::EN.counts
                    inside=inside
                    out=out
                    placed=placed
                    in_word=chair::EN.inside
                    now_word=chair::EN.now
                    out_word=chair::EN.out
                    placed_words=chair::EN.placed_in_all
                >
                    <Rail posts=marks label=line />
                </CountHead>
                <p class="sum">
                    <bdi>{move || line.get()}</bdi>
                    <span hidden=move || !packless.get()>" \u{b7} " {chair::EN.nothing_opened}</span>
                </p>
                <p class="wrong" role="alert" hidden=move || stopped.with(Option::is_none)>
                    {move || stopped.get().map_or(String::new(), |why| format!("{}. {}", chair::EN.stopped(&why), chair::EN.stopped_next))}
                </p>
                {move || flawed(false)}
                <OneOf
                    name=chair::EN.chair
                    texts=vec![chair::EN.placing.to_string(), chair::EN.taking_out.to_string()]
                    chosen=Signal::derive(move || usize::from(out_stage()))
                    on_choose=move |i| stage.set(if i == 0 { Stage::Placing } else { Stage::TakingOut })
                />
                <Clocks clocks=clocks whole=Signal::derive(out_stage) session=session />
                {move || flawed(true)}
            </main>
            <footer class="column foot last">
                {move || if out_stage() {
                    view! { <TakeOut session=session clocks=clocks /> }
                } else {
                    view! { <Placing session=session seen=seen stage=stage /> }
                }}
                <div class="row three">
                    <Press text=chair::EN.undo look=Look::Plain chair=true small=true shut=undo_rests on_press=undo />
                    <Press
                        text=chair::EN.something_else
                        look=Look::Plain
                        chair=true
                        small=true
                        on_press=move |()| else_open.set(true)
                    />
                    <Unwell session=session />
                </div>
            </footer>
            <Else session=session seen=seen open=else_open wiping=wiping />
            <Wiping since=wiping />
        </div>
    }
}

/// The next clock large, the others as a stair of wicks.
#[component]
fn Clocks(
    session: EntryId,
    clocks: Memo<Vec<ClockLine>>,
    /// False while placing: then only what is due is drawn large.
    #[prop(into)]
    whole: Signal<bool>,
) -> impl IntoShape {
    let desk = use_desk();
    let next = Memo::new(move |_| clocks.with(|c| c.first().cloned()));
    let by_hand =
        Memo::new(move |_| clocks.with(|c| c.iter().any(|c| c.state == ClockState::ByHand)));
    let scale = Memo::new(move |_| clocks.with(|c| view::scale(c)));
    let has = Memo::new(move |_| {
        next.with(|c| c.as_ref().is_some_and(|c| c.left.is_some()))
            && (whole.get()
                || next.with(|c| c.as_ref().and_then(|c| c.left).is_some_and(|l| l <= 60)))
    });
    let left = Memo::new(move |_| next.with(|c| c.as_ref().and_then(|c| c.left).unwrap_or(0)));
    let title =
        Memo::new(move |_| next.with(|c| c.as_ref().map_or(String::new(), |c| c.name.clone())));
    let whose = Memo::new(move |_| {
        next.with(|c| c.as_ref().map_or("", |c| c.whose))
            .to_string()
    });
    let cream = Memo::new(move |_| {
        next.with(|c| c.as_ref().is_some_and(|c| matches!(c.what, What::Cream(_))))
    });
    let before = move || {
        if cream.get() {
            chair::EN.wipe_off_in
        } else {
            chair::EN.take_out_in
        }
    };
    let name = move || {
        if left.get() <= 0 {
            chair::EN.due_now
        } else {
            chair::EN.next_clock
        }
    };
    let rows = Memo::new(move |_| clocks.with(|c| c.len()));
    // While placing, two are enough; the others are told in words, so that none disappears.
    let shown = move || {
        if whole.get() {
            rows.get()
        } else {
            rows.get().min(2)
        }
    };
    let rest = move || {
        let last = clocks.with(|c| c.iter().filter_map(|c| c.left).max().unwrap_or(0));
        chair::EN.the_rest(rows.get() - shown(), last.max(0).div_euclid(60))
    };
    // Rows are drawn by place, so a second that passes changes only its own words.
    let row = move |i: usize| {
        let at = Memo::new(move |_| clocks.with(|c| c.get(i).cloned()));
        let text = move |of: fn(&ClockLine) -> String| {
            Memo::new(move |_| at.with(|c| c.as_ref().map_or(String::new(), of)))
        };
        let time = text(|c| view::time_text(&chair::EN, c));
        let bar = Memo::new(move |_| {
            at.with(|c| {
                c.as_ref()
                    .and_then(|c| c.left)
                    .map_or(0, |left| permille(left, scale.get()))
            })
        });
        let over = Memo::new(move |_| {
            at.with(|c| c.as_ref().and_then(|c| c.left).is_some_and(|l| l <= 0))
        });
        let needles = text(|c| {
            if c.needles > 0 {
                c.needles.to_string()
            } else {
                String::new()
            }
        });
        // While taking out, a row is the door to its region.
        let door = Memo::new(move |_| {
            let region = at.with(|c| c.as_ref().and_then(|c| c.region));
            region
                .filter(|_| whole.get())
                .map_or(String::new(), |r| Route::Region(session, r).href())
        });
        let burns = if at
            .with_untracked(|c| c.as_ref().is_some_and(|c| matches!(c.what, What::Cream(_))))
        {
            Burns::Cream
        } else {
            Burns::Needles
        };
        view! { <Waiting name=text(|c| c.name.clone()) time=time left=bar needles=needles over=over href=door burns=burns /> }
    };
    let wick = Memo::new(move |_| permille(left.get(), scale.get()));
    let whole_minutes = desk.read_now(|l| !l.practice().setting("clock_figures").is_empty());
    let (unit, over) = if whole_minutes {
        (DEVICE.min, DEVICE.min_over)
    } else {
        ("", chair::EN.over)
    };
    view! {
        <div hidden=move || !by_hand.get()>
            <Notice title=chair::EN.by_hand next=chair::EN.by_hand_next far=true />
        </div>
        {move || {
            has.get().then(|| {
                let burns = if cream.get() { Burns::Cream } else { Burns::Needles };
                view! {
                    <Call
                        name=Signal::derive(move || name().to_string())
                        title=title
                        whose=whose
                        left=left
                        before=Signal::derive(move || before().to_string())
                        over=over
                        unit=unit
                        wick=wick
                        burns=burns
                    />
                }
            })
        }}
        <ol class="waiting" class:doors=whole aria-label=chair::EN.clocks_after>
            {move || {
                let skip = usize::from(has.get());
                (skip..shown()).map(row).collect::<Vec<_>>()
            }}
            <li class="rest" hidden=move || shown() == rows.get()>{rest}</li>
        </ol>
    }
}

/// What is placed next: a line of the plan, or a region without one.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Spot {
    Line(u16, Region),
    Free(Region),
}

impl Spot {
    fn region(self) -> Region {
        match self {
            Self::Line(_, region) | Self::Free(region) => region,
        }
    }
}

/// Placing: where, how many; one press for a whole region.
#[component]
fn Placing(session: EntryId, seen: Memo<ChairView>, stage: RwSignal<Stage>) -> impl IntoShape {
    let desk = use_desk();
    // The first line of the plan that waits, else the first region nothing was placed in.
    let first = move || {
        seen.with_untracked(|v| {
            let line = v
                .to_place
                .and_then(|n| v.regions.iter().find(|l| l.line == Some(n)));
            let free = || {
                view::all_regions()
                    .into_iter()
                    .find(|r| !v.regions.iter().any(|l| l.region == *r && l.placed > 0))
            };
            let open = v.stopped.is_none();
            line.and_then(|l| l.line.map(|n| Spot::Line(n, l.region)))
                .or_else(|| open.then(free).flatten().map(Spot::Free))
        })
    };
    let planned = move |spot: Option<Spot>| match spot {
        Some(Spot::Line(n, _)) => seen.with_untracked(|v| {
            v.regions
                .iter()
                .find(|l| l.line == Some(n))
                .map_or(1, |l| l.planned.saturating_sub(small(l.placed)).max(1))
        }),
        _ => 1,
    };
    let spot = RwSignal::new(first());
    let count = RwSignal::new(planned(spot.get_untracked()));
    let choose = move |to: Option<Spot>| {
        spot.set(to);
        count.set(planned(to));
    };
    let text = Memo::new(move |_| {
        spot.get().map_or(String::new(), |s| {
            chair::EN.placed_here(count.get(), &place::EN.region(s.region()))
        })
    });
    let note = Memo::new(move |_| match spot.get() {
        Some(Spot::Line(..)) if count.get() == planned(spot.get_untracked()) => {
            chair::EN.as_planned
        }
        _ => chair::EN.how_many,
    });
    let packets =
        Memo::new(move |_| seen.with(|v| v.packs.is_empty() && v.mode == Some(Mode::Planned)));
    let open_packets = move |()| {
        if let Some(packs) = desk.session(session, |s| view::packets(s.state())) {
            let _ = desk.act(ChairCommand::OpenPacks { session, packs });
        }
    };
    // A needle into creamed skin is placed and flagged; first it is said.
    let creamed = move || {
        let region = spot.get().map(Spot::region);
        let on = desk.session(session, |s| {
            let mut on = s.state().creams.iter().filter(|c| c.off.is_none());
            on.any(|c| region.is_some_and(|r| c.regions.contains(&r)))
        });
        on == Some(true)
    };
    let place_them = move |()| {
        let Some(here) = spot.get_untracked() else {
            return;
        };
        let count = count.get_untracked();
        let command = match here {
            Spot::Line(line, _) => ChairCommand::PlacePlanned {
                session,
                line,
                count,
            },
            Spot::Free(region) => ChairCommand::Place {
                session,
                region,
                count,
                size: None,
                points: Vec::new(),
                stay: Some(USUAL_STAY),
            },
        };
        if desk.act(command).is_ok() {
            choose(first());
            // The plan is in: the next press must not place a needle nobody planned.
            if matches!(here, Spot::Line(..)) && seen.with_untracked(|v| v.to_place.is_none()) {
                stage.set(Stage::TakingOut);
            }
        }
    };
    // One went in by its point: the rest of its line is next, then whatever is.
    let one_more = move |()| {
        let here = spot.get_untracked();
        let whole = seen.with_untracked(|v| {
            let line =
                |l: &&view::RegionLine| matches!(here, Some(Spot::Line(n, _)) if l.line == Some(n));
            let line = v.regions.iter().find(line);
            line.is_some_and(|l| l.placed >= u32::from(l.planned))
        });
        choose(if whole { first() } else { here });
        if whole && seen.with_untracked(|v| v.to_place.is_none()) {
            stage.set(Stage::TakingOut);
        }
    };
    // Planned lines by their number, free regions by their name.
    let name = |spot: Spot| match spot {
        Spot::Line(n, _) => format!("#{n}"),
        Spot::Free(region) => region.to_string(),
    };
    let spots = move || {
        seen.with(|v| {
            let mut all: Vec<Spot> = v
                .regions
                .iter()
                .filter_map(|l| l.line.map(|n| Spot::Line(n, l.region)))
                .collect();
            all.extend(view::all_regions().into_iter().map(Spot::Free));
            all
        })
    };
    let options = move || {
        // After a stop no place is proposed, and none is chosen until somebody does.
        let none = seen
            .with(|v| v.stopped.is_some())
            .then(|| view! { <option value="" selected=move || spot.get().is_none()></option> });
        let places = spots().into_iter().map(|s| {
            let planned = matches!(s, Spot::Line(..));
            let text = view::title(&place::EN, s.region());
            let text = if planned {
                format!("{text}, {}", chair::EN.in_the_plan)
            } else {
                text
            };
            view! { <option value=name(s) selected=move || spot.get() == Some(s)>{text}</option> }
        });
        none.into_iter().chain(places).collect::<Vec<_>>()
    };
    let barred = Memo::new(move |_| {
        seen.with(|v| match spot.get() {
            Some(Spot::Line(n, _)) => v
                .regions
                .iter()
                .find(|l| l.line == Some(n))
                .map_or(String::new(), |l| left_out(&l.left_out)),
            _ => String::new(),
        })
    });
    view! {
        <CreamStep session=session />
        <div hidden=move || !packets.get()>
            <Press text=chair::EN.packets_planned chair=true look=Look::Plain on_press=open_packets />
        </div>
        <p class="wrong" hidden=move || !creamed()>{chair::EN.cream_first}</p>
        <div class="field inline">
            <label for="where">{chair::EN.where_to}</label>
            <select
                id="where"
                on:change=move |ev| {
                    let chosen = event_target_value(&ev);
                    choose(spots().into_iter().find(|s| name(*s) == chosen));
                }
            >
                {options}
            </select>
        </div>
        <p class="note" hidden=move || barred.with(String::is_empty)>{move || barred.get()}</p>
        <Step
            value=count
            on_change=move |n| count.set(n)
            fewer=chair::EN.one_fewer
            more=chair::EN.one_more
            note=Signal::derive(move || note.get().to_string())
            least=1
            most=60
        />
        <ByPoint
            session=session
            at=Signal::derive(move || spot.get().map(|s| match s {
                Spot::Line(line, region) => (Some(line), region),
                Spot::Free(region) => (None, region),
            }))
            on_placed=Callback::new(one_more)
        />
        // After a stop nothing is proposed: where it went in is said first.
        <div hidden=move || spot.get().is_none()>
            <Slab text=text on_press=place_them />
        </div>
    }
}

/// "Left out today: LI4 L, ST1 R. If one goes in, it is written down with a flag."
fn left_out(points: &[pinfold_core::event::session::LeftOut]) -> String {
    if points.is_empty() {
        return String::new();
    }
    let names = place::EN.points(points.iter().map(|l| (l.point.code.as_str(), l.point.side)));
    chair::EN.left_out_here(&names)
}

/// The cream that is planned: on, then off, each one press.
#[component]
fn CreamStep(session: EntryId) -> impl IntoShape {
    let desk = use_desk();
    let planned = move || {
        desk.read(|l| {
            let state = l.session(session)?.state();
            let day = day_of(state.opened_at?, state.zone);
            let cream = l.person(state.person?)?.plans.get(&day)?.cream.clone()?;
            state.creams.is_empty().then_some(cream)
        })
    };
    let on = move || {
        desk.session(session, |s| {
            let cream = s.state().creams.iter().find(|c| c.off.is_none())?;
            Some(cream.id)
        })
        .flatten()
    };
    let put_on = move |()| {
        let Some(chosen) = planned() else { return };
        let used = desk.session(session, |s| {
            // The plan's own regions: a forehead may be written as both sides or as the midline.
            let areas = view::cream_regions();
            let planned = s.state().plan.iter().map(|line| line.region);
            planned
                .filter(|r| areas.iter().any(|a| a.area == r.area))
                .collect::<Vec<_>>()
        });
        let earliest = Seconds::from_minutes(chosen.minutes);
        // Off by the shortest time a label of this product gives that is not under the chosen one.
        let latest = desk.books(|b| {
            let product = b
                .knowledge
                .shelf
                .products
                .iter()
                .find(|p| p.id == chosen.product)?;
            let ends = product.uses.iter().filter_map(|u| u.latest_min);
            ends.filter(|end| *end >= chosen.minutes).min()
        });
        let latest = latest
            .ok()
            .flatten()
            .map_or(earliest, Seconds::from_minutes);
        let cream = CreamOn {
            regions: used.unwrap_or_default(),
            earliest,
            latest,
            product: Some(chosen.product),
            milligrams: Some(chosen.milligrams),
        };
        let _ = desk.act(ChairCommand::CreamOn { session, cream });
    };
    let wipe = move |()| {
        if let Some(cream) = on() {
            let _ = desk.act(ChairCommand::CreamOff { session, cream });
        }
    };
    view! {
        <div hidden=move || planned().is_none()>
            <Press text=chair::EN.cream_on chair=true look=Look::Plain on_press=put_on />
        </div>
        <div hidden=move || on().is_none()>
            <Press text=chair::EN.cream_off chair=true on_press=wipe />
        </div>
    }
}

/// Taking out: the region whose clock is next, or the one chosen from the list.
#[component]
fn TakeOut(session: EntryId, clocks: Memo<Vec<ClockLine>>) -> impl IntoShape {
    let desk = use_desk();
    // The soonest clock; a cream that is due comes first, then first in, first out.
    let next = Memo::new(move |_| {
        clocks.with(|c| {
            c.iter()
                .find(|c| !matches!(c.what, What::LookIn | What::Waits))
                .map(|c| (c.what, c.region))
        })
    });
    let text = move || match next.get() {
        Some((What::Cream(_), _)) => chair::EN.cream_off.to_string(),
        Some((What::Stay(r), _)) => chair::EN.take_out(&place::EN.region(r)),
        Some((What::LookIn | What::Waits, _)) | None => chair::EN.count.to_string(),
    };
    let go = move |()| match next.get_untracked() {
        Some((What::Cream(cream), _)) => {
            let _ = desk.act(ChairCommand::CreamOff { session, cream });
        }
        Some((What::Stay(region), _)) => desk.go(&Route::Region(session, region)),
        Some((What::LookIn | What::Waits, _)) | None => desk.go(&Route::Count(session)),
    };
    let due = Memo::new(move |_| {
        clocks.with(|c| {
            c.first()
                .is_some_and(|c| c.left.is_some_and(|l| l <= 60) && matches!(c.what, What::Stay(_)))
        })
    });
    let stay_more = move |()| {
        let Some((What::Stay(region), _)) = next.get_untracked() else {
            return;
        };
        let after = desk.session(session, |s| {
            let now = desk.now()?;
            let clock = s
                .state()
                .clocks(&now)
                .into_iter()
                .find(|c| c.what == What::Stay(region))?;
            // Five more than it was meant to be, or five from now if that is longer.
            let planned = clock.due.map_or(0, |d| d.after.0);
            let passed = u32::try_from(clock.elapsed.max(0) / 1000).unwrap_or(0);
            Some(planned.max(passed) + 300)
        });
        if let Some(length) = after.flatten() {
            let _ = desk.act(ChairCommand::Stay {
                session,
                region,
                length: Seconds(length),
            });
        }
    };
    view! {
        <div hidden=move || !due.get()>
            <Press small=true text=chair::EN.stay_5_more look=Look::Plain chair=true on_press=stay_more />
        </div>
        <Slab text=Signal::derive(text) on_press=go />
    }
}

/// One-press acts that are not the ordinary way.
#[component]
fn Else(
    session: EntryId,
    seen: Memo<ChairView>,
    open: RwSignal<bool>,
    wiping: RwSignal<Option<i64>>,
) -> impl IntoShape {
    let desk = use_desk();
    let held = RwSignal::new(10_u16);
    let lot = RwSignal::new(String::new());
    let creams = Memo::new(move |_| seen.with(|v| v.creams.clone()));
    let lot_wrong = RwSignal::new(String::new());
    let act = move |command: ChairCommand| {
        let done = desk.act(command).is_ok();
        if done {
            open.set(false);
        }
        done
    };
    let open_pack = move |()| {
        let written = lot.get_untracked().trim().to_string();
        let done = act(ChairCommand::OpenPack {
            session,
            held: held.get_untracked(),
            size: None,
            lot: (!written.is_empty()).then_some(written),
        });
        lot_wrong.set(if done { "" } else { chair::EN.lot_bad }.to_string());
    };
    let unconfirmed = move || desk.read(|l| l.practice().setting("cream_scope") != "confirmed");
    let cream_on = move |()| {
        let _ = act(ChairCommand::CreamOn {
            session,
            cream: CreamOn {
                regions: view::cream_regions(),
                // Cream dwells about 30 minutes before facial needling: common practice. A label's
                // own figures come with the product.
                earliest: Seconds::from_minutes(30),
                latest: Seconds::from_minutes(60),
                product: None,
                milligrams: None,
            },
        });
    };
    view! {
        <Sheet open=open on_close=move |()| open.set(false) title=chair::EN.something_else back=chair::EN.back>
            <Acts session=session seen=seen open=open wiping=wiping />
            <section class="stack">
                <h2>{chair::EN.packets}</h2>
                <Step
                    value=held
                    on_change=move |n| held.set(n)
                    fewer=chair::EN.one_fewer
                    more=chair::EN.one_more
                    note=chair::EN.needles_in_packet
                    least=1
                    most=100
                />
                <crate::parts::Field
                    id="lot"
                    label=chair::EN.lot
                    hint=chair::EN.lot_hint
                    value=lot
                    on_input=move |text| lot.set(text)
                    error=lot_wrong
                />
                <Press text=chair::EN.packet_opened chair=true on_press=open_pack />
                <Press
                    text=chair::EN.spoilt
                    note=chair::EN.spoilt_note
                    chair=true
                    look=Look::Plain
                    on_press=move |()| {
                        let _ = act(ChairCommand::Spoil { session, count: 1, size: None });
                    }
                />
                <p class="note" hidden=move || !unconfirmed()>{chair::EN.cream_unconfirmed}</p>
                <Press text=chair::EN.cream_on chair=true look=Look::Plain on_press=cream_on />
                {move || {
                    creams
                        .get()
                        .into_iter()
                        .map(|cream| {
                            view! {
                                <Press
                                    text=chair::EN.cream_off
                                    chair=true
                                    look=Look::Plain
                                    on_press=move |()| {
                                        let _ = act(ChairCommand::CreamOff { session, cream });
                                    }
                                />
                            }
                        })
                        .collect::<Vec<_>>()
                }}
                <Press
                    text=chair::EN.count
                    chair=true
                    look=Look::Plain
                    on_press=move |()| desk.go(&Route::Count(session))
                />
            </section>
        </Sheet>
    }
}

/// The glass is being wiped: presses are not taken for 20 seconds, clocks and counts stay in view.
#[component]
fn Wiping(since: RwSignal<Option<i64>>) -> impl IntoShape {
    let desk = use_desk();
    let left = Memo::new(move |_| {
        let since = since.get()?;
        desk.track_time();
        let gone = (desk.stamp().mono - since) / 1000;
        (0..WIPE_S).contains(&gone).then_some(WIPE_S - gone)
    });
    move || {
        left.get().map(|left| {
            view! { <div class="wiping" role="status"><p>{acts::EN.wiping(left)}</p></div> }
        })
    }
}

/// How long presses rest while the glass is wiped, in seconds.
const WIPE_S: i64 = 20;

/// One-press acts about needles that are in, the person and the room.
#[component]
fn Acts(
    session: EntryId,
    seen: Memo<ChairView>,
    open: RwSignal<bool>,
    wiping: RwSignal<Option<i64>>,
) -> impl IntoShape {
    let desk = use_desk();
    let regions = Memo::new(move |_| {
        seen.with(|v| {
            let mut all: Vec<Region> = Vec::new();
            for line in v.regions.iter().filter(|l| l.in_now > 0) {
                if !all.contains(&line.region) {
                    all.push(line.region);
                }
            }
            all
        })
    });
    let at = RwSignal::new(0_usize);
    let many = RwSignal::new(2_u16);
    let said = RwSignal::new("");
    let act = Callback::new(move |command: ChairCommand| {
        let done = desk.act(command).is_ok();
        said.set(if done {
            chair::EN.noted
        } else {
            chair::EN.not_saved
        });
    });
    let here = move || regions.with_untracked(|r| r.get(at.get_untracked()).copied());
    let with = move |make: fn(EntryId, Region) -> ChairCommand| {
        if let Some(region) = here() {
            act.run(make(session, region));
        }
    };
    let wrong = move |kind: IncidentKind| {
        let what = Incident {
            kind,
            region: here(),
            point: None,
            words: String::new(),
        };
        act.run(ChairCommand::Incident { session, what });
    };
    let doing = move |what: Doing| {
        let mut what = did(what);
        // The next look-in after as long as a stay usually takes to need one: 10 minutes (policy).
        if what.what == Doing::LookedIn {
            what.next = Some(Seconds::from_minutes(10));
        }
        act.run(ChairCommand::Do { session, what });
    };
    let together = move |()| {
        if let Some(region) = here() {
            act.run(ChairCommand::TakeOutSome {
                session,
                region,
                count: many.get_untracked(),
                how: How::Together,
            });
        }
    };
    let where_now = move || {
        let names = regions.with(|r| {
            let names = r.iter().map(|r| view::title(&place::EN, *r));
            names.collect::<Vec<_>>()
        });
        view! { <Select id="act-where" label=chair::EN.where_to options=names chosen=at on_choose=move |to| at.set(to) /> }
    };
    let press = move |text: &'static str, on: Callback<()>| {
        view! { <Press text=text chair=true small=true look=Look::Plain on_press=on /> }
    };
    let one = move |text: &'static str, make: fn(EntryId, Region) -> ChairCommand| {
        press(text, Callback::new(move |()| with(make)))
    };
    let thing =
        move |text: &'static str, what: Doing| press(text, Callback::new(move |()| doing(what)));
    view! {
        <p role="status"><b>{move || said.get()}</b></p>
        <section class="stack" hidden=move || regions.with(Vec::is_empty)>
            {where_now}
            <div class="row">
                {one(acts::EN.fell_out, |session, region| ChairCommand::TakeOutSome { session, region, count: 1, how: How::FellOut })}
                {one(acts::EN.fell_unseen, |session, region| ChairCommand::FellUnseen { session, region, count: 1 })}
                {one(acts::EN.changed, |session, region| ChairCommand::ChangeNeedle { session, region, point: None, size: None, spoilt: false })}
                {one(acts::EN.changed_spoilt, |session, region| ChairCommand::ChangeNeedle { session, region, point: None, size: None, spoilt: true })}
                {press(acts::EN.bled, Callback::new(move |()| wrong(IncidentKind::Bleeding)))}
                {press(acts::EN.bruised, Callback::new(move |()| wrong(IncidentKind::Bruise)))}
            </div>
            <Step value=many on_change=move |n| many.set(n) fewer=chair::EN.one_fewer more=chair::EN.one_more note=acts::EN.together least=2 most=60 />
            {press(acts::EN.together, Callback::new(together))}
            <p class="note">{acts::EN.fell_unseen_next}</p>
        </section>
        <section class="stack">
            <div class="row">
                {thing(acts::EN.up, Doing::GotUp)}
                {thing(acts::EN.bell, Doing::Bell)}
                {thing(acts::EN.look_in, Doing::LookedIn)}
                {thing(acts::EN.waits, Doing::Waits)}
            </div>
            <p class="note">{acts::EN.up_next}</p>
        </section>
        <a class="press chairside plain" href=Route::Beside(session).href()>{chair::EN.beside}</a>
        <Press
            text=acts::EN.wipe
            note=acts::EN.wipe_note
            chair=true
            small=true
            look=Look::Plain
            on_press=move |()| {
                open.set(false);
                wiping.set(Some(desk.stamp().mono));
            }
        />
    }
}
