//! One person's record: taken out, or erased for good.

use super::copy_out::TakeOut;
use super::frame::{DeskTabs, NotSaved, SavedSign};
use crate::desk::{Erased, use_desk};
use crate::parts::{Hold, HoldWords, Look, Press};
use crate::shape::prelude::*;
use pinfold_core::base::id::EntryId;
use pinfold_core::carry::Part;
use pinfold_core::words::chair;
use pinfold_core::words::copies::{EN, shown};
use wasm_bindgen_futures::spawn_local;

/// Erasing a person.
#[component]
pub fn Erase(
    /// Who.
    person: EntryId,
) -> impl IntoShape {
    let desk = use_desk();
    let said = RwSignal::new(String::new());
    let taking = RwSignal::new(false);
    let taken = move |words: String| {
        taking.set(false);
        said.set(words);
    };
    let name = move || desk.read(|l| l.person(person).map_or(String::new(), |p| shown(p.name())));
    let there = move || !name().is_empty();
    let left = move || {
        let left = desk.read(|l| l.residue(person));
        let packets = left.lots.iter().map(|lot| usize::from(lot.packets)).sum();
        let incidents = left.incidents.iter().map(|(_, n)| usize::from(*n)).sum();
        EN.residue(packets, incidents, usize::from(left.not_found))
    };
    // Not refused, but not to be forgotten either.
    let warned = move || {
        let (stays, cream) = desk.read(|l| {
            let states = || l.sessions_of(person).map(|(_, session)| session.state());
            let states = || states().filter(|state| !state.rehearsal);
            let stays: u32 = states().map(|state| state.sum.stays_in).sum();
            let cream = states().any(|s| s.creams.iter().any(|cream| cream.off.is_none()));
            (stays, cream)
        });
        let stays = (stays > 0).then(|| EN.erase_stays(stays));
        let said = stays
            .into_iter()
            .chain(cream.then(|| EN.erase_cream.to_string()));
        said.map(|words| view! { <p class="wrong">{words}</p> })
            .collect::<Vec<_>>()
    };
    let erase = move |()| {
        spawn_local(async move {
            let words = match desk.erase(person).await {
                Erased::Gone => EN.erased,
                Erased::RowsLeft => EN.erase_not_kept,
                Erased::NeedlesIn => EN.needles_in,
                Erased::Nobody => EN.cannot_be_read,
                Erased::NotRead => EN.not_read,
                Erased::NotSaved => EN.not_kept,
            };
            said.set(words.to_string());
        });
    };
    view! {
        <div class="screen">
            <header class="head column">
                <h1><bdi>{name}</bdi></h1>
                <p class="note end"><SavedSign /></p>
            </header>
            <main class="column stack">
                <NotSaved />
                <p role="status"><b>{move || said.get()}</b></p>
                <div class="stack" hidden=move || !there()>
                    <div hidden=move || taking.get()>
                        <Press text=EN.person note=EN.person_note look=Look::Plain spread=true on_press=move |()| taking.set(true) />
                    </div>
                    {move || taking.get().then(|| view! { <TakeOut part=Part::Person(person) on_done=taken /> })}
                    <h2>{EN.erase}</h2>
                    <p class="reading">{EN.erase_what}</p>
                    <p>{EN.erase_left} " " {left}</p>
                    <p class="reading"><b>{EN.erase_copies}</b></p>
                    {warned}
                    <Hold
                        text=EN.erase
                        note=EN.erase_hold
                        words=HoldWords {
                            keep: chair::EN.keep_holding,
                            nothing: chair::EN.nothing_changed,
                            again: chair::EN.press_again,
                        }
                        on_done=erase
                    />
                </div>
            </main>
            <DeskTabs here=1 />
        </div>
    }
}
