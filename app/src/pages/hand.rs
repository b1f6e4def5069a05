//! The questions in the patient's own hand: large, nothing else on the page, and one way out.

use super::ask::{Group, Row};
use super::frame::NotSaved;
use crate::desk::use_desk;
use crate::parts::Slab;
use crate::parts::slab::Tall;
use crate::shape::prelude::*;
use pinfold_core::base::id::EntryId;
use pinfold_core::event::person::Told;
use pinfold_core::intake::{By, Outcome};
use pinfold_core::words::ask::ENGLISH as EN;

/// The questions that a patient answers without help: the lines of a return visit, or on a first
/// visit all that are asked of them. What follows from the answers is for the practitioner and is not
/// shown here.
#[component]
pub fn Hand(
    /// Who answers.
    person: EntryId,
) -> impl IntoShape {
    let desk = use_desk();
    let visit = Memo::new(move |_| desk.visit(person));
    let told = RwSignal::new(Told::Patient);
    let first = visit.with_untracked(|v| v.as_ref().is_some_and(|v| v.first_visit));
    let rows = Memo::new(move |_| {
        let asked = visit.with(|v| v.as_ref().map_or(Vec::new(), |v| v.asked.clone()));
        desk.books(|b| {
            let bank = &b.knowledge.bank;
            let here: Vec<_> = if first {
                bank.questions.iter().collect()
            } else {
                bank.return_screen()
            };
            here.into_iter()
                .filter(|q| q.by == By::Patient && asked.contains(&q.id))
                .map(|q| q.id.clone())
                .collect::<Vec<_>>()
        })
        .unwrap_or_default()
    });
    let list = move || {
        let mut views = Vec::new();
        let mut last = None;
        for id in rows.get() {
            let found = desk.books(|b| b.knowledge.bank.question(&id).cloned());
            let Ok(Some(q)) = found else { continue };
            if first && last != Some(q.group) {
                last = Some(q.group);
                views.push(view! { <Group person=person group=q.group visit=visit told=told /> });
            }
            views.push(view! { <Row person=person question=q visit=visit told=told /> });
        }
        views
    };
    let now = Memo::new(move |_| {
        visit.with(|v| {
            let verdict = v.as_ref().and_then(|v| v.screening.as_ref()?.verdict);
            verdict == Some(Outcome::Emergency)
        })
    });
    view! {
        <div class="screen">
            <header class="column">
                <h1>{EN.title}</h1>
                <p>{EN.please}</p>
            </header>
            <main class="column stack hand">
                <NotSaved />
                {list}
                <p class="asked" role="alert">{move || if now.get() { EN.give_back_now } else { "" }}</p>
                <Slab text=EN.give_back tall=Tall::Low solid=true on_press=move |()| desk.give_back(person) />
            </main>
        </div>
    }
}
