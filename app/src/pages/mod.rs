//! Pages: one per question of the job. They read the desk and give it commands; parts lay things
//! out.

mod about;
mod ask;
mod chair;
mod copies;
mod count;
mod count_only;
mod frame;
mod look;
mod next;
mod paper;
mod people;
mod person;
mod plan;
mod region;
mod settings;
mod standing;
mod today;
mod unwell;
mod write;

use crate::desk::{Desk, Known, Route, Standing};
use crate::shape::prelude::*;

/// Whether a page can be shown without questions, points and procedures: the start of the day, the
/// chair and what is about this phone. A page that asks or plans must never stand there half filled,
/// so it is not made before they have come.
fn needs_knowledge(route: &Route) -> bool {
    !matches!(
        route,
        Route::Today
            | Route::CountOnly
            | Route::Chair(_)
            | Route::Region(..)
            | Route::Count(_)
            | Route::About
            | Route::People
            | Route::Settings
            | Route::Copies
    )
}

/// The whole interface.
#[component]
pub fn App(
    /// The desk.
    desk: Desk,
) -> impl IntoShape {
    provide_context(desk);
    let standing = desk.standing();
    let route = Memo::new(move |_| desk.route().get());
    let pinned = move || (standing.get() == Standing::Ready).then(|| view! { <frame::Pinned /> });
    let page = move || match standing.get() {
        Standing::Ready if route.with(needs_knowledge) && desk.known().get() != Known::Here => {
            view! { <standing::NoKnowledge /> }
        }
        Standing::Ready => match route.get() {
            Route::Today => view! { <today::Today /> },
            Route::CountOnly => view! { <count_only::CountOnly /> },
            Route::Chair(session) => view! { <chair::Chair session=session /> },
            Route::Region(session, region) => {
                view! { <region::RegionOut session=session region=region /> }
            }
            Route::Count(session) => view! { <count::Count session=session /> },
            Route::About => view! { <about::About /> },
            Route::People => view! { <people::People /> },
            Route::Person(person) => view! { <person::Person person=person /> },
            Route::Ask(person) => view! { <ask::Ask person=person /> },
            Route::Look(person) => view! { <look::LookToday person=person /> },
            Route::Plan(person) => view! { <plan::PlanToday person=person /> },
            Route::Write(session) => view! { <write::Write session=session /> },
            Route::Next(person) => view! { <next::NextVisit person=person /> },
            Route::Settings => view! { <settings::Settings /> },
            Route::Copies => view! { <copies::Copies /> },
            Route::PrintSheet => view! { <paper::QuestionSheet /> },
            Route::PrintTray(person) => view! { <paper::TrayList person=person /> },
            Route::PrintRecord(session) => {
                view! { <paper::RecordSheet session=session /> }
            }
            Route::PrintAftercare(person) => {
                view! { <paper::Aftercare person=person /> }
            }
        },
        other => view! { <standing::NotReady standing=other /> },
    };
    view! { {pinned} {page} }
}
