//! Pages: one per question of the job. They read the desk and give it commands; parts lay things
//! out.

mod about;
mod ask;
mod atlas;
mod chair;
mod copies;
mod count;
mod count_only;
mod frame;
mod hand;
mod look;
mod next;
mod own;
mod paper;
mod people;
mod person;
mod plan;
mod region;
mod rules;
mod settings;
mod standing;
mod tape;
mod today;
mod unwell;
mod write;

use crate::desk::{Desk, Known, Route, Standing, use_desk};
use crate::shape::prelude::*;
use wasm_bindgen_futures::spawn_local;

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

/// Every page but the first. They and all that only they need are a module of their own, which is
/// fetched once the first page stands: what starts must be small.
#[derive(Clone, Copy)]
struct Others {
    /// Draws a page.
    draw: fn(Route) -> Shape,
    /// Fills the invented practice, if it is empty.
    invent: fn(&Desk),
}

/// The module with the other pages is not there.
struct NoPages;

impl From<wasm_split_helpers::SplitLoaderError> for NoPages {
    fn from(_: wasm_split_helpers::SplitLoaderError) -> Self {
        Self
    }
}

/// Brings the module with the other pages, begins what only they need, and says where they are drawn.
#[wasm_split_helpers::wasm_split(pages, fallible)]
fn pages(desk: Desk) -> Result<Others, NoPages> {
    spawn_local(desk.fetch_books());
    Ok(Others {
        draw,
        invent: Desk::fill_with_invented,
    })
}

fn draw(route: Route) -> Shape {
    let desk = use_desk();
    if needs_knowledge(&route) && desk.known().get() != Known::Here {
        return view! { <standing::NoKnowledge /> };
    }
    match route {
        // It stands already: what starts draws it. Here the list is whole.
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
        Route::Hand(person) => view! { <hand::Hand person=person /> },
        Route::Look(person) => view! { <look::LookToday person=person /> },
        Route::Plan(person) => view! { <plan::PlanToday person=person /> },
        Route::Write(session) => view! { <write::Write session=session /> },
        Route::Next(person) => view! { <next::NextVisit person=person /> },
        Route::Settings => view! { <settings::Settings /> },
        Route::Copies => view! { <copies::Copies /> },
        Route::OwnRules => view! { <own::OwnRules /> },
        Route::Atlas => view! { <atlas::Atlas /> },
        Route::Point(code) => view! { <atlas::PointPage code=code /> },
        Route::Tape(person) => view! { <tape::Tape person=person /> },
        Route::Rules => view! { <rules::RuleBook /> },
        Route::PrintLetter(person) => view! { <paper::LetterSheet person=person /> },
        Route::PrintSheet => view! { <paper::QuestionSheet /> },
        Route::PrintTray(person) => view! { <paper::TrayList person=person /> },
        Route::PrintRecord(session) => view! { <paper::RecordSheet session=session /> },
        Route::PrintAftercare(person) => view! { <paper::Aftercare person=person /> },
    }
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
    let others = RwSignal::new(None::<Others>);
    spawn_local(async move {
        // Once more, if it failed: then it is not there, and no page but the first can be drawn.
        for _ in 0..2 {
            if let Ok(pages) = pages(desk).await {
                others.set(Some(pages));
                return;
            }
        }
        desk.broken("a part of the program did not load");
    });
    Effect::new(move || {
        if let (Standing::Ready, Some(others)) = (standing.get(), others.get()) {
            (others.invent)(&desk);
        }
    });
    // Until then the static page waits, and comes with what it knows if the wait is long: a chair that
    // is opened first needs the other module.
    Effect::new(move || {
        let stands = match (standing.get(), others.get()) {
            (Standing::Opening, _) => false,
            (Standing::Ready, None) => route.get() == Route::Today,
            _ => true,
        };
        if stands {
            desk.stands();
        }
    });
    let pinned = move || (standing.get() == Standing::Ready).then(|| view! { <frame::Pinned /> });
    let page = move || match (standing.get(), route.get(), others.get()) {
        (Standing::Ready, Route::Today, _) => view! { <today::Today /> },
        (Standing::Ready, route, Some(others)) => (others.draw)(route),
        (other, _, _) => view! { <standing::NotReady standing=other /> },
    };
    view! { {pinned} {page} }
}
