//! What is rare at the chair, and needs words: what differed at a needle, a packet that held another
//! number, a colleague who takes over. It stands on the shelf, so no visit waits for it.

use super::count::did;
use super::frame::{NotSaved, SavedSign};
use crate::desk::{Route, use_desk};
use crate::parts::{Field, Kind, Look, Press, Select, Slab, Step};
use crate::shape::prelude::*;
use pinfold_core::atlas::Region;
use pinfold_core::base::id::EntryId;
use pinfold_core::base::units::Micrometres;
use pinfold_core::event::session::{Did, Doing, Felt, Otherwise, PointUse};
use pinfold_core::ledger::ChairCommand;
use pinfold_core::procedure::Direction;
use pinfold_core::view::chair::{size_text, title};
use pinfold_core::view::count::blocks;
use pinfold_core::view::draft::{DIRECTIONS, HOWS};
use pinfold_core::view::handover::card;
use pinfold_core::words::beside::EN;
use pinfold_core::words::plan::EN as PLAN;
use pinfold_core::words::{acts, chair, place};

/// The page.
#[component]
pub fn Beside(
    /// The session.
    session: EntryId,
) -> impl IntoShape {
    let desk = use_desk();
    let rehearsal = desk.session(session, |s| s.state().rehearsal) == Some(true);
    // Blocks that were entered in this chair and belong to the other one.
    let moves = move || {
        let others = desk.read(|l| {
            // A needle of a rehearsal is on nobody, and none goes there from a visit.
            let alike = |s: &pinfold_core::session::Session| s.state().rehearsal == rehearsal;
            let open = l
                .open_sessions()
                .filter(|(id, s)| *id != session && alike(s));
            open.map(|(id, _)| id).collect::<Vec<_>>()
        });
        let Some(to) = others.first().copied() else {
            return Vec::new();
        };
        let blocks = desk.session(session, blocks).unwrap_or_default();
        blocks
            .into_iter()
            .map(|(placed, region, n)| {
                let text = format!("{n}, {}", place::EN.region(region));
                let go = move |()| {
                    let _ = desk.act(ChairCommand::MoveBlock { session, placed, to });
                };
                view! { <Press text=text note=acts::EN.move_block chair=true small=true look=Look::Plain on_press=go /> }
            })
            .collect()
    };
    view! {
        <div class="screen chair">
            <header class="head column">
                <Press text=chair::EN.chair look=Look::Plain chair=true fit=true on_press=move |()| desk.replace(&Route::Chair(session)) />
                <h1>{EN.page}</h1>
                <p class="note end"><SavedSign /></p>
            </header>
            <main class="column stack">
                <NotSaved />
                <p class="boxed" hidden=!rehearsal>{chair::EN.rehearsal}</p>
                <Differs session=session />
                <Packets session=session />
                <section class="stack">{moves}</section>
                <HandOver session=session />
            </main>
        </div>
    }
}

/// Where something differed: regions with needles, and the points named in them.
fn spots(session: EntryId) -> Vec<(Region, Option<PointUse>)> {
    let all = use_desk().session(session, |s| {
        let mut all: Vec<(Region, Option<PointUse>)> = Vec::new();
        for needle in s.state().needles.values() {
            for spot in [None, needle.point.clone()] {
                let spot = (needle.region, spot);
                if !all.contains(&spot) {
                    all.push(spot);
                }
            }
        }
        all.sort();
        all
    });
    all.unwrap_or_default()
}

/// Depth, technique and feeling, by exception.
#[component]
fn Differs(session: EntryId) -> impl IntoShape {
    let desk = use_desk();
    let spots = StoredValue::new(spots(session));
    let [spot, how, way, felt] = [(); 4].map(|()| RwSignal::new(0_usize));
    let depth = RwSignal::new(0_u16);
    let words = RwSignal::new(String::new());
    let said = RwSignal::new("");
    let names: Vec<String> = spots
        .get_value()
        .iter()
        .map(|(region, point)| {
            let at = point.as_ref().map_or(EN.whole_region.to_string(), |p| {
                place::EN.points([(p.code.as_str(), p.side)])
            });
            format!("{}, {at}", title(&place::EN, *region))
        })
        .collect();
    let none = names.is_empty();
    // The first of each list is "as planned".
    let pick = move |id: &'static str,
                     label: &'static str,
                     rest: Vec<String>,
                     to: RwSignal<usize>| {
        let mut options = vec![EN.as_planned.to_string()];
        options.extend(rest);
        view! { <Select id=id label=label options=options chosen=to on_choose=move |at| to.set(at) /> }
    };
    let keep = move |()| {
        let all = spots.get_value();
        let Some((region, point)) = all.get(spot.get_untracked()).cloned() else {
            return;
        };
        let mm = depth.get_untracked();
        let at = |of: RwSignal<usize>| of.get_untracked().checked_sub(1);
        let what = Otherwise {
            region,
            point,
            depth: (mm > 0).then(|| Micrometres::from_mm(mm.into())),
            technique: at(how).and_then(|i| HOWS.get(i).copied()),
            direction: at(way).and_then(|i| DIRECTIONS.get(i).copied()),
            felt: at(felt).and_then(|i| Felt::ALL.get(i).copied()),
            words: words.get_untracked().trim().to_string(),
        };
        let done = desk.act(ChairCommand::Otherwise { session, what });
        said.set(if done.is_ok() {
            depth.set(0);
            words.set(String::new());
            for list in [how, way, felt] {
                list.set(0);
            }
            chair::EN.noted
        } else {
            EN.nothing_said
        });
    };
    view! {
        <section class="panel stack" hidden=none>
            <h2>{EN.otherwise}</h2>
            <p class="note">{EN.otherwise_note}</p>
            <Select id="differs-at" label=chair::EN.where_to options=names chosen=spot on_choose=move |at| spot.set(at) />
            <Step value=depth on_change=move |n| depth.set(n) fewer=chair::EN.one_fewer more=chair::EN.one_more note=EN.depth most=60 />
            {pick("differs-how", EN.technique, HOWS.iter().map(|h| PLAN.technique(*h, Direction::None)).collect(), how)}
            {pick("differs-way", EN.direction, DIRECTIONS.iter().map(|w| EN.way(*w).to_string()).collect(), way)}
            {pick("differs-felt", EN.felt, Felt::ALL.iter().map(|f| EN.feeling(*f).to_string()).collect(), felt)}
            <Field id="differs-words" label=EN.in_words kind=Kind::Lines value=words on_input=move |t| words.set(t) />
            <p role="status"><b>{move || said.get()}</b></p>
            <Press text=acts::EN.write_down chair=true on_press=keep />
        </section>
    }
}

/// A packet that held another number than its label says.
#[component]
fn Packets(session: EntryId) -> impl IntoShape {
    let desk = use_desk();
    let packs = Memo::new(move |_| {
        let all = desk.session(session, |s| {
            let packs = s.state().packs.iter();
            packs
                .map(|(&id, p)| (id, p.label, p.held, p.size, p.lot.clone()))
                .collect::<Vec<_>>()
        });
        all.unwrap_or_default()
    });
    let which = RwSignal::new(0_usize);
    let held = RwSignal::new(9_u16);
    let said = RwSignal::new("");
    let list = move || {
        let names = packs.get().into_iter().map(|(_, label, now, size, lot)| {
            let now = if now == label {
                String::new()
            } else {
                format!(" ({now})")
            };
            let lot = lot.map_or(String::new(), |lot| format!(", {lot}"));
            format!("{label}{now}, {}{lot}", size_text(size))
        });
        let names = names.collect::<Vec<_>>();
        view! { <Select id="fault" label=EN.which_packet options=names chosen=which on_choose=move |at| which.set(at) /> }
    };
    let keep = move |()| {
        let all = packs.get_untracked();
        let Some(&(pack, ..)) = all.get(which.get_untracked()) else {
            return;
        };
        let held = held.get_untracked();
        let fault = ChairCommand::PackHeld {
            session,
            pack,
            held,
        };
        let done = desk.act(fault).is_ok();
        said.set(if done {
            chair::EN.noted
        } else {
            chair::EN.not_saved
        });
    };
    view! {
        <section class="panel stack" hidden=move || packs.with(Vec::is_empty)>
            <h2>{EN.fault}</h2>
            <p class="note">{EN.fault_note}</p>
            {list}
            <Step value=held on_change=move |n| held.set(n) fewer=chair::EN.one_fewer more=chair::EN.one_more note=EN.it_held most=120 />
            <p role="status"><b>{move || said.get()}</b></p>
            <Press text=Signal::derive(move || EN.this_held(held.get())) chair=true on_press=keep />
        </section>
    }
}

/// The card for the colleague, both names, and then the count by eye.
#[component]
fn HandOver(session: EntryId) -> impl IntoShape {
    let desk = use_desk();
    let lists = move || {
        desk.track_time();
        let now = desk.now()?;
        let person = desk.session(session, |s| s.state().person).flatten();
        let visit = person.and_then(|person| desk.visit(person));
        let card = desk.session(session, |s| card(s.state(), &now, visit.as_ref()))?;
        let list = |head: &'static str, lines: Vec<String>| {
            let lines: Vec<_> = lines
                .into_iter()
                .map(|l| view! { <li><bdi>{l}</bdi></li> })
                .collect();
            view! { <h3>{head}</h3> <ul class="lines">{lines}</ul> }
        };
        Some(view! {
            {list(EN.inside, card.inside)}
            {list(EN.clocks, card.clocks)}
            {list(EN.answers, card.answers)}
            {list(EN.lots, card.lots)}
        })
    };
    let mine = desk.read_now(|l| l.practice().setting("practitioner").to_string());
    let [from, to] = [mine, String::new()].map(RwSignal::new);
    let shut = Signal::derive(move || {
        from.with(|t| t.trim().is_empty()) || to.with(|t| t.trim().is_empty())
    });
    let hand_over = move |()| {
        let what = Did {
            who: to.get_untracked().trim().to_string(),
            from: from.get_untracked().trim().to_string(),
            ..did(Doing::HandedOver)
        };
        if desk.act(ChairCommand::Do { session, what }).is_ok() {
            // What is in is asked for there, region by region.
            desk.replace(&Route::Count(session));
        }
    };
    view! {
        <section class="panel stack">
            <h2>{acts::EN.hand_over}</h2>
            <p><b>{EN.card}</b></p>
            {lists}
            <Field id="hand-from" label=acts::EN.hand_over_from value=from on_input=move |t| from.set(t) />
            <Field id="hand-to" label=acts::EN.hand_over_to value=to on_input=move |t| to.set(t) />
            <p class="note">{acts::EN.relief}</p>
            <Slab text=acts::EN.hand_over shut=shut on_press=hand_over />
        </section>
    }
}
