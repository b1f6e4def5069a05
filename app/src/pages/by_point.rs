//! One needle at a named point, where that is wanted: the planned points of the region, then any
//! other of it. A press is a needle.

use crate::desk::use_desk;
use crate::parts::{Look, Press, Select};
use crate::shape::prelude::*;
use pinfold_core::atlas::Region;
use pinfold_core::base::id::EntryId;
use pinfold_core::event::session::PointUse;
use pinfold_core::ledger::ChairCommand;
use pinfold_core::view::by_point::{others, planned};
use pinfold_core::view::chair::USUAL_STAY;
use pinfold_core::view::points;
use pinfold_core::words::beside::EN;
use pinfold_core::words::place;

/// Points to press.
#[component]
pub fn ByPoint(
    /// The session.
    session: EntryId,
    /// What is placed next: the line of the plan, if it is one, and where.
    #[prop(into)]
    at: Signal<Option<(Option<u16>, Region)>>,
    /// One was placed.
    on_placed: Callback<()>,
) -> impl IntoShape {
    let desk = use_desk();
    let name = |p: &PointUse| place::EN.points([(p.code.as_str(), p.side)]);
    let put = move |point: PointUse| {
        let Some((line, region)) = at.get_untracked() else {
            return;
        };
        let stay = Some(USUAL_STAY);
        let one = ChairCommand::PlaceAt {
            session,
            region,
            line,
            point,
            stay,
        };
        if desk.act(one).is_ok() {
            on_placed.run(());
        }
    };
    let presses = move || {
        let line = at.get().and_then(|(line, _)| line);
        let left = line.and_then(|line| desk.session(session, |s| planned(s.state(), line)));
        let press = |p: PointUse| {
            view! { <Press text=name(&p) chair=true small=true look=Look::Plain on_press=move |()| put(p.clone()) /> }
        };
        left.unwrap_or_default()
            .into_iter()
            .map(press)
            .collect::<Vec<_>>()
    };
    let chosen = RwSignal::new(0_usize);
    let other = move || {
        let (_, region) = at.get()?;
        let all = desk
            .books(|b| desk.read_now(|l| others(&points::atlas(b, l.practice()), region)))
            .unwrap_or_default();
        let names = all.iter().map(name).collect::<Vec<_>>();
        chosen.set(0);
        let place = move |()| {
            if let Some(point) = all.get(chosen.get_untracked()) {
                put(point.clone());
            }
        };
        Some(view! {
            <Select id="by-point" label=EN.another_point options=names chosen=chosen on_choose=move |i| chosen.set(i) />
            <Press text=EN.place_one chair=true small=true look=Look::Plain on_press=place />
        })
    };
    view! {
        <details class="card">
            <summary>{EN.by_point}</summary>
            <div class="row">{presses}</div>
            {other}
        </details>
    }
}
