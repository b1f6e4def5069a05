//! Somebody is unwell: one press from every chair-side page, and harmless if struck.

use super::frame::two_press;
use crate::desk::use_desk;
use crate::parts::{Hold, HoldWords, Look, Press, Sheet, Span};
use crate::shape::prelude::*;
use pinfold_core::base::id::EntryId;
use pinfold_core::event::session::{Incident, IncidentKind};
use pinfold_core::ledger::ChairCommand;
use pinfold_core::words::ask::ENGLISH as ASK;
use pinfold_core::words::cards::{CARDS, card as card_of};
use pinfold_core::words::chair::EN;

/// The press, and the sheet it opens: whom to call, the time, the cards, and all needles out.
#[component]
pub fn Unwell(
    /// The session.
    session: EntryId,
) -> impl IntoShape {
    let desk = use_desk();
    let open = RwSignal::new(false);
    let said = RwSignal::new("");
    let note = move |()| {
        let note = ChairCommand::Note {
            session,
            text: EN.unwell_note.into(),
            region: None,
        };
        said.set(match desk.act(note) {
            Ok(_) => EN.unwell_noted,
            Err(_) => EN.not_saved,
        });
    };
    let stopped =
        Memo::new(move |_| desk.session(session, |s| s.state().stopped.is_some()) == Some(true));
    let stop = move |()| {
        let stop = ChairCommand::Stop {
            session,
            why: EN.unwell_stop_why.into(),
        };
        said.set(match desk.act(stop) {
            Ok(_) => EN.unwell_noted,
            Err(_) => EN.not_saved,
        });
    };
    let happened = move |kind: IncidentKind| {
        let what = Incident {
            kind,
            region: None,
            point: None,
            words: String::new(),
        };
        said.set(match desk.act(ChairCommand::Incident { session, what }) {
            Ok(_) => EN.unwell_noted,
            Err(_) => EN.not_saved,
        });
    };
    let all_out = move |()| {
        // The sheet stays: a finger still lies on it, and the person is not well yet.
        if desk.act(ChairCommand::AllOut { session }).is_ok() {
            said.set(EN.all_out_noted);
        }
    };
    // Built when it is opened: a chair that is well does not pay for it.
    let cards = move || {
        open.get().then(|| {
            let number = desk.read_now(|l| l.practice().setting("emergency_number").to_string());
            let call = if number.is_empty() {
                view! { <p class="wrong">{EN.unwell_no_number}</p> }
            } else {
                let href = format!("tel:{}", number.replace(' ', ""));
                view! { <a class="press chairside solid" href=href>{EN.unwell_call} " " <bdi>{number}</bdi></a> }
            };
            let cards = CARDS
                .iter()
                .enumerate()
                .map(|(at, card)| {
                    let kind = IncidentKind::ALL
                        .iter()
                        .copied()
                        .find(|kind| card_of(*kind).is_some_and(|c| c.id == card.id));
                    let happened = kind.map(|kind| {
                        view! { <Press text=EN.unwell_happened chair=true small=true look=Look::Plain on_press=move |()| happened(kind) /> }
                    });
                    let lines = card.lines.iter().map(|l| view! { <li>{*l}</li> }).collect::<Vec<_>>();
                    view! {
                        <details class="card" open=at == 0>
                            <summary>{card.title}</summary>
                            <ol>{lines}</ol>
                            <p class="note">{ASK.source(card.source, card.mark, false)}</p>
                            {happened}
                        </details>
                    }
                })
                .collect::<Vec<_>>();
            view! {
                <div class="row">
                    {call}
                    <Press text=EN.unwell_time chair=true small=true look=Look::Plain on_press=note />
                </div>
                <div hidden=stopped>
                    <Press text=EN.unwell_stop chair=true small=true look=Look::Plain on_press=stop />
                </div>
                <p role="status">{move || said.get()}</p>
                <div>{cards}</div>
            }
        })
    };
    view! {
        <Press text=EN.unwell look=Look::Plain chair=true small=true on_press=move |()| open.set(true) />
        <Sheet open=open on_close=move |()| open.set(false) title=EN.unwell back=EN.back>
            <div class="stack">
                {cards}
                <Hold
                    text=EN.all_out
                    note=EN.all_out_note
                    words=HoldWords { keep: EN.keep_holding, nothing: EN.nothing_changed, again: EN.press_again_all_out }
                    span=Span::Lite
                    two_press=two_press()
                    on_done=all_out
                />
            </div>
        </Sheet>
    }
}
