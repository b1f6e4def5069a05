//! The way: the strip of a visit's steps. It shows where you are and what is done; steps ahead can
//! be opened, never silently finished.

use crate::shape::prelude::*;

/// How far a step is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stage {
    /// Finished: a tick.
    Done,
    /// The one shown: thick ink line under it.
    Here,
    /// Not finished.
    Ahead,
}

/// One step of the way.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mile {
    /// Its short name, at most five or so letters.
    pub text: String,
    /// Where its page is, such as `#/visit/3/plan`.
    pub href: String,
    /// How far it is.
    pub stage: Stage,
}

/// The step strip.
///
/// - `name`: for a screen reader, such as "Where you are"; `done`: the word it adds to finished steps.
/// - `miles`: the steps in order.
#[component]
pub fn Way(
    #[prop(into)] name: Signal<String>,
    #[prop(into)] done: Signal<String>,
    #[prop(into)] miles: Signal<Vec<Mile>>,
) -> impl IntoShape {
    let steps = move || {
        miles
            .get()
            .into_iter()
            .map(|mile| {
                let is_done = mile.stage == Stage::Done;
                view! {
                    <li class:done=is_done>
                        <a
                            href=mile.href
                            aria-current=(mile.stage == Stage::Here).then_some("step")
                            aria-label=is_done.then(|| format!("{}, {}", mile.text, done.get()))
                        >
                            {mile.text.clone()}
                        </a>
                    </li>
                }
            })
            .collect::<Vec<_>>()
    };
    view! {
        <nav aria-label=move || name.get()>
            <ol class="way">{steps}</ol>
        </nav>
    }
}
