//! What do they leave with, and when again?

use super::frame::{NotSaved, SavedSign, Steps};
use super::person::Book;
use crate::desk::{Route, use_desk};
use crate::parts::Slab;
use crate::parts::slab::Tall;
use crate::shape::prelude::*;
use pinfold_core::base::id::EntryId;
use pinfold_core::words::people::EN;
use pinfold_core::words::{app, visit};

/// Next.
#[component]
pub fn NextVisit(
    /// Who.
    person: EntryId,
) -> impl IntoShape {
    let desk = use_desk();
    let name = desk.read(|l| {
        l.person(person)
            .map_or(String::new(), |p| p.name().to_string())
    });
    let lines = visit::EN
        .aftercare
        .iter()
        .map(|l| view! { <li>{*l}</li> })
        .collect::<Vec<_>>();
    view! {
        <div class="screen">
            <header class="column">
                <div class="head"><h1><bdi>{name}</bdi></h1><p class="note end"><SavedSign /></p></div>
                <Steps person=person here=Some(6) />
            </header>
            <main class="column halves">
                <div class="stack">
                <NotSaved />
                <section class="panel stack">
                    <h2>{visit::EN.aftercare_title}</h2>
                    <ul class="lines">{lines}</ul>
                    <a class="press plain" href=Route::PrintAftercare(person).href()>{EN.print_aftercare}</a>
                </section>
                </div>
                <div class="stack">
                <section class="panel stack"><h2>{EN.book}</h2><Book person=person ahead=7 /></section>
                <Slab text=app::EN.today tall=Tall::Low solid=true on_press=move |()| desk.go(&Route::Today) />
                </div>
            </main>
        </div>
    }
}
