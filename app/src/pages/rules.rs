//! Every rule that screening goes by, with its source and mark, to be read and searched.

use super::frame::DeskTabs;
use crate::desk::use_desk;
use crate::parts::Field;
use crate::shape::prelude::*;
use pinfold_core::view::rulebook::{RuleLine, rulebook};
use pinfold_core::words::ask::ENGLISH as ASK;
use pinfold_core::words::rules::EN;

/// Whether a rule is among those looked for: every word stands somewhere in it.
fn has(line: &RuleLine, looked_for: &str) -> bool {
    let text = format!(
        "{} {} {} {} {}",
        line.name,
        ASK.outcome(line.outcome),
        line.words,
        line.asks.join(" "),
        line.source.join(" ")
    )
    .to_ascii_lowercase();
    looked_for
        .split_whitespace()
        .all(|word| text.contains(word))
}

/// The rules.
#[component]
pub fn RuleBook() -> impl IntoShape {
    let desk = use_desk();
    let book = desk
        .read_now(|l| desk.books(|b| rulebook(b, l.practice())))
        .unwrap_or_default();
    let sources = desk.books(|b| b.knowledge.rules.sources.clone());
    let all = book.len();
    let looked_for = RwSignal::new(String::new());
    let shown = Memo::new(move |_| {
        let words = looked_for.get().to_ascii_lowercase();
        book.iter()
            .filter(|line| has(line, &words))
            .cloned()
            .collect::<Vec<_>>()
    });
    let count = move || EN.shown(shown.with(Vec::len), all);
    let list = move || {
        let mut views = Vec::new();
        let mut last = None;
        for line in shown.get() {
            if last != Some(line.outcome) {
                last = Some(line.outcome);
                views.push(view! { <h2>{ASK.outcome(line.outcome)}</h2> });
            }
            let source = ASK.source(&line.source.join(", "), line.mark, line.policy);
            let past = if line.passable {
                EN.passable
            } else {
                ASK.no_way_past
            };
            let asks = line
                .asks
                .into_iter()
                .map(|q| view! { <li>{q}</li> })
                .collect::<Vec<_>>();
            let none = asks.is_empty();
            views.push(view! {
                <article class="panel">
                    <p>{line.words}</p>
                    <p class="note">{line.name} " \u{b7} " {source} " \u{b7} " {past}</p>
                    <details class="asks" hidden=none>
                        <summary>{EN.rests_on}</summary>
                        <ul class="lines">{asks}</ul>
                    </details>
                </article>
            });
        }
        views
    };
    let sources = sources
        .unwrap_or_default()
        .into_iter()
        .map(|s| view! { <li><b>{s.key}</b> " " {s.text}</li> })
        .collect::<Vec<_>>();
    view! {
        <div class="screen">
            <header class="column"><h1>{EN.rules}</h1></header>
            <main class="column stack reading">
                <p>{EN.what}</p>
                <Field id="find" label=EN.find value=looked_for on_input=move |t| looked_for.set(t) />
                <p role="status">{count}</p>
                {list}
                <details>
                    <summary>{EN.sources}</summary>
                    <ul class="lines">{sources}</ul>
                </details>
                <p class="note">{ASK.caution}</p>
            </main>
            <DeskTabs here=2 />
        </div>
    }
}
