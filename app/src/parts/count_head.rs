//! The head of the chair: how many needles are in now, readable across the room.

use crate::shape::prelude::*;

/// In now (120 px), out, placed in all.
///
/// - `name`: for a screen reader, such as "Needles".
/// - `inside`, `out`, `placed`: the three counts.
/// - `in_word` is set in the needle colour before `now_word`: "in" "now".
/// - `out_word`, `placed_words`: beside their figures.
/// - `note`: after "in now", such as "placed as planned"; may be empty.
/// - `children`: the rail, across the whole width.
#[component]
pub fn CountHead(
    #[prop(into)] name: Signal<String>,
    #[prop(into)] inside: Signal<u16>,
    #[prop(into)] out: Signal<u16>,
    #[prop(into)] placed: Signal<u16>,
    #[prop(into)] in_word: Signal<String>,
    #[prop(into)] now_word: Signal<String>,
    #[prop(into)] out_word: Signal<String>,
    #[prop(into)] placed_words: Signal<String>,
    #[prop(optional, into)] note: Signal<String>,
    #[prop(optional)] children: Option<Children>,
) -> impl IntoShape {
    let many = move || inside.get() >= 100;
    view! {
        <section class="count" aria-label=move || name.get()>
            <div class="num now" class:many=many>{move || inside.get()}</div>
            <dl>
                <div>
                    <dd class="num out">{move || out.get()}</dd>
                    <dt>{move || out_word.get()}</dt>
                </div>
                <div>
                    <dd class="num">{move || placed.get()}</dd>
                    <dt>{move || placed_words.get()}</dt>
                </div>
            </dl>
            <p class="cap">
                <b>{move || in_word.get()}</b>
                " "
                {move || now_word.get()}
                " "
                <span class="soft">{move || note.get()}</span>
            </p>
            <div class="wide">{children.map(|draw| draw())}</div>
        </section>
    }
}
