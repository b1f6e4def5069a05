//! A message in a frame: what happened, what is kept, what to do next. It stays until it is
//! settled; nothing here vanishes by itself.

use crate::shape::prelude::*;

/// A framed message.
///
/// - `title`: what happened; `kept`: what is safe; `next`: what to do; the last two may be empty.
/// - `quiet`: plain ink instead of plum and a diamond, for what is most often a slip.
/// - `equal`: plain ink and an equals sign: it adds up.
/// - `far`: title readable at 80 cm.
/// - `alert`: spoken at once (only a mismatch after a recount, and "not saved"); else spoken when the
///   reader is free.
/// - `children`: presses under the words.
#[component]
pub fn Notice(
    #[prop(into)] title: Signal<String>,
    #[prop(optional, into)] kept: Signal<String>,
    #[prop(optional, into)] next: Signal<String>,
    #[prop(optional)] quiet: bool,
    #[prop(optional)] equal: bool,
    #[prop(optional)] far: bool,
    #[prop(optional)] alert: bool,
    #[prop(optional)] children: Option<Children>,
) -> impl IntoShape {
    let mark = (!quiet).then(|| {
        view! {
            <svg viewBox="0 0 60 60" aria-hidden="true">
                <path d=if equal { "M10 22H50M10 38H50" } else { "M30 3L57 30L30 57L3 30Z" } />
                <text x="30" y="42">
                    {(!equal).then_some("?")}
                </text>
            </svg>
        }
    });
    view! {
        <section
            class="notice"
            class:quiet=quiet || equal
            class:equal=equal
            class:far=far
            role=if alert { "alert" } else { "status" }
        >
            {mark}
            <div>
                <h2>{move || title.get()}</h2>
                <p hidden=move || kept.with(String::is_empty)>{move || kept.get()}</p>
                <p hidden=move || next.with(String::is_empty)>{move || next.get()}</p>
            </div>
            {children.map(|draw| view! { <div class="rest">{draw()}</div> })}
        </section>
    }
}
