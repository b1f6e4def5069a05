//! The band: in, out and placed in all on one line, with the next clock at the end. It is left off
//! the screens where a count is asked, since it would give the answer away.

use crate::shape::prelude::*;

/// The one-line band of counts.
///
/// - `inside`, `out`, `placed`: the three counts.
/// - `in_word`, `out_word`, `placed_words`: "in", "out", "placed in all".
/// - `next`, `next_words`: the next clock ("2 min") and whose it is ("mouth, jaw"); empty when none.
#[component]
pub fn Band(
    #[prop(into)] inside: Signal<u16>,
    #[prop(into)] out: Signal<u16>,
    #[prop(into)] placed: Signal<u16>,
    #[prop(into)] in_word: Signal<String>,
    #[prop(into)] out_word: Signal<String>,
    #[prop(into)] placed_words: Signal<String>,
    #[prop(optional, into)] next: Signal<String>,
    #[prop(optional, into)] next_words: Signal<String>,
) -> impl IntoShape {
    view! {
        <p class="band">
            <b class="num in">{move || inside.get()}</b>
            <span>{move || in_word.get()}</span>
            <b class="num out">{move || out.get()}</b>
            <span>{move || out_word.get()}</span>
            <b class="num">{move || placed.get()}</b>
            <span>{move || placed_words.get()}</span>
            <span class="end" hidden=move || next.with(String::is_empty)>
                <b>
                    <bdi>{move || next.get()}</bdi>
                </b>
                {move || next_words.get()}
            </span>
        </p>
    }
}
