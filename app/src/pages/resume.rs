//! Where was I? After the page could not be seen, or the app was started again.

use crate::desk::use_desk;
use crate::parts::{Look, Press, Sheet};
use crate::shape::prelude::*;
use pinfold_core::base::id::EntryId;
use pinfold_core::view::resume::{Says, Shown, resume};
use pinfold_core::words::app;
use pinfold_core::words::device::EN;

/// One line after a short absence, a card over the page after a longer one; one press clears either.
/// A clock that was moved is said in a line of its own.
#[component]
pub fn Resume(
    /// The session.
    session: EntryId,
    /// The page it stands on.
    #[prop(into)]
    shown: Signal<Shown>,
) -> impl IntoShape {
    let desk = use_desk();
    let back = desk.back();
    let moved = desk.moved();
    let says = Memo::new(move |_| {
        let back = back.get();
        if back.is_none() {
            return Says::Nothing;
        }
        desk.track_time();
        let said = desk.session(session, |s| {
            desk.now().map(|now| resume(s, &now, back, shown.get()))
        });
        said.flatten().unwrap_or_default()
    });
    let line = Memo::new(move |_| match says.get() {
        Says::Line(line) => line,
        _ => String::new(),
    });
    let card = Memo::new(move |_| match says.get() {
        Says::Card(lines) => lines,
        _ => Vec::new(),
    });
    let open = Memo::new(move |_| card.with(|lines| !lines.is_empty()));
    let clear = move |()| back.set(None);
    view! {
        <p class="row" role="status" hidden=move || line.with(String::is_empty)>
            <span>{move || line.get()}</span>
            <Press text=app::EN.seen look=Look::Plain chair=true small=true on_press=clear />
        </p>
        <p class="row" role="status" hidden=move || moved.get() == 0>
            <span>{move || EN.moved(moved.get() / 1000)}</span>
            <Press text=app::EN.seen look=Look::Plain chair=true small=true on_press=move |()| moved.set(0) />
        </p>
        <Sheet open=open on_close=clear title=EN.where_you_were back=EN.go_on>
            <div class="reading stack">
                {move || card.get().into_iter().map(|line| view! { <p>{line}</p> }).collect::<Vec<_>>()}
            </div>
        </Sheet>
    }
}
