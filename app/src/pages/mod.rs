//! Pages: one per question of the job. They read the desk and give it commands; parts lay things
//! out.

mod about;
mod after;
mod ask;
mod at_chair;
mod atlas;
mod beside;
mod by_point;
mod chair;
mod copies;
mod copy_out;
mod count;
mod count_only;
mod differ;
mod erase;
mod exports;
mod frame;
mod hand;
mod keeping;
mod leave_in;
mod locked;
mod look;
mod next;
mod own;
mod own_points;
mod paper;
mod passphrase;
mod people;
mod person;
mod plan;
mod procedures;
mod region;
mod resume;
mod room;
mod rules;
mod sealing;
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
            | Route::Beside(_)
            | Route::Count(_)
            | Route::About
            | Route::People
            | Route::Settings
            | Route::Copies
            | Route::Seal
            | Route::Passphrase
            | Route::Differ
            | Route::Keeping
            | Route::Erase(_)
    )
}

/// Every page but the first. They and all that only they need are a module of their own, which is
/// fetched once the first page stands: what starts must be small.
#[derive(Clone, Copy)]
struct Others {
    /// Draws a page.
    draw: fn(Route) -> Shape,
    /// Draws what stands before the passphrase.
    locked: fn() -> Shape,
    /// What Today says of the room on this phone, and its question for the emergency number: what is
    /// answered there is decided, and nothing that starts decides anything.
    notes: fn() -> Shape,
    /// Fills the invented practice, if it is empty; asks once for a real one to be kept.
    begin: fn(&Desk),
}

/// The pages of the shelf.
#[derive(Clone, Copy)]
enum Shelf {
    /// On their way.
    Coming,
    /// They do not come.
    Missing,
    /// Here: draws one.
    Here(fn(Route) -> Shape),
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
    desk.begin_tidying();
    Ok(Others {
        draw,
        locked: || view! { <locked::Locked /> },
        notes: || view! { <room::RoomNotes /> <settings::EmergencyNumber /> },
        begin: |desk| {
            desk.fill_with_invented();
            desk.ask_to_keep_once();
        },
    })
}

/// The pages that no visit passes through: what is looked up, set up and printed. They are a third
/// module, fetched once the second is there. Listed once: whoever adds a page must say where it stands.
macro_rules! on_the_shelf {
    () => {
        Route::Atlas
            | Route::Point(_)
            | Route::Tape(_)
            | Route::After(_)
            | Route::Beside(_)
            | Route::OwnPoints
            | Route::Procedures
            | Route::Compose(..)
            | Route::Rules
            | Route::OwnRules
            | Route::Seal
            | Route::Passphrase
            | Route::Copies
            | Route::Differ
            | Route::Keeping
            | Route::Erase(_)
            | Route::Exports(_)
            | Route::Settings
            | Route::About
            | Route::PrintSheet
            | Route::PrintLetter(_)
            | Route::PrintTray(_)
            | Route::PrintRecord(_)
            | Route::PrintAftercare(_)
    };
}

/// Brings the module with the pages of the shelf, begins what only it has, and says where they are drawn.
#[wasm_split_helpers::wasm_split(shelf, fallible)]
fn shelf(desk: Desk) -> Result<fn(Route) -> Shape, NoPages> {
    desk.begin_rare();
    Ok(draw_from_the_shelf)
}

fn draw_from_the_shelf(route: Route) -> Shape {
    if missing_knowledge(&route) {
        return view! { <standing::NoKnowledge /> };
    }
    match route {
        Route::Settings => view! { <settings::Settings /> },
        Route::About => view! { <about::About /> },
        Route::Seal => view! { <passphrase::SealPractice /> },
        Route::Passphrase => view! { <passphrase::ChangePassphrase /> },
        Route::Copies => view! { <copies::Copies /> },
        Route::Differ => view! { <differ::Differ /> },
        Route::Keeping => view! { <keeping::Keeping /> },
        Route::Erase(person) => view! { <erase::Erase person=person /> },
        Route::Exports(person) => view! { <exports::Exports person=person /> },
        Route::OwnRules => view! { <own::OwnRules /> },
        Route::Atlas => view! { <atlas::Atlas /> },
        Route::Point(code) => view! { <atlas::PointPage code=code /> },
        Route::OwnPoints => view! { <own_points::OwnPoints /> },
        Route::Procedures => view! { <procedures::Procedures /> },
        Route::Compose(of, copy) => view! { <procedures::Compose of=of copy=copy /> },
        Route::Beside(session) => view! { <beside::Beside session=session /> },
        Route::After(person) => view! { <after::After person=person /> },
        Route::Tape(person) => view! { <tape::Tape person=person /> },
        Route::PrintLetter(person) => view! { <paper::LetterSheet person=person /> },
        Route::PrintSheet => view! { <paper::QuestionSheet /> },
        Route::PrintTray(person) => view! { <paper::TrayList person=person /> },
        Route::PrintRecord(session) => view! { <paper::RecordSheet session=session /> },
        Route::PrintAftercare(person) => view! { <paper::Aftercare person=person /> },
        Route::Rules => view! { <rules::RuleBook /> },
        // No other is asked for here; see `on_the_shelf`.
        _ => view! { <standing::NoShelf /> },
    }
}

/// Whether a page needs questions, points and procedures that are not there.
fn missing_knowledge(route: &Route) -> bool {
    needs_knowledge(route) && use_desk().known().get() != Known::Here
}

fn draw(route: Route) -> Shape {
    if missing_knowledge(&route) {
        return view! { <standing::NoKnowledge /> };
    }
    match route {
        // It stands already: what starts draws it. Here the list is whole.
        Route::Today => view! { <today::Today notes=None /> },
        Route::CountOnly => view! { <count_only::CountOnly /> },
        Route::Chair(session) => view! { <chair::Chair session=session /> },
        Route::Region(session, region) => {
            view! { <region::RegionOut session=session region=region /> }
        }
        Route::Count(session) => view! { <count::Count session=session /> },
        Route::People => view! { <people::People /> },
        Route::Person(person) => view! { <person::Person person=person /> },
        Route::Ask(person) => view! { <ask::Ask person=person /> },
        Route::Hand(person) => view! { <hand::Hand person=person /> },
        Route::Look(person) => view! { <look::LookToday person=person /> },
        Route::Plan(person) => view! { <plan::PlanToday person=person /> },
        Route::Write(session) => view! { <write::Write session=session /> },
        Route::Next(person) => view! { <next::NextVisit person=person /> },
        // Asked for elsewhere.
        on_the_shelf!() => view! { <standing::NoShelf /> },
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
    let on_shelf = RwSignal::new(Shelf::Coming);
    spawn_local(async move {
        // Once more, if it failed: then it is not there, and no page but the first can be drawn.
        let come = match pages(desk).await {
            Ok(come) => Some(come),
            Err(NoPages) => pages(desk).await.ok(),
        };
        match come {
            Some(come) => others.set(Some(come)),
            None => return desk.broken("a part of the program did not load"),
        }
        // Without the shelf every visit goes on all the same.
        let come = match shelf(desk).await {
            Ok(draw) => Ok(draw),
            Err(NoPages) => shelf(desk).await,
        };
        on_shelf.set(come.map_or(Shelf::Missing, Shelf::Here));
    });
    Effect::new(move || {
        if let (Standing::Ready, Some(others)) = (standing.get(), others.get()) {
            (others.begin)(&desk);
        }
    });
    // Until then the static page waits, and comes with what it knows if the wait is long: a chair that
    // is opened first needs the other module.
    Effect::new(move || {
        let stands = match (standing.get(), others.get()) {
            (Standing::Opening, _) | (Standing::Locked, None) => false,
            (Standing::Ready, None) => route.get() == Route::Today,
            (Standing::Ready, _) => {
                !matches!(route.get(), on_the_shelf!()) || !matches!(on_shelf.get(), Shelf::Coming)
            }
            _ => true,
        };
        if stands {
            desk.stands();
        }
    });
    let pinned = move || (standing.get() == Standing::Ready).then(|| view! { <frame::Pinned /> });
    let page = move || match (standing.get(), route.get(), others.get()) {
        (Standing::Ready, route, _) if !desk.at_hand(&route) => {
            view! { <standing::NotReady standing=Standing::Opening /> }
        }
        (Standing::Ready, Route::Today, others) => {
            view! { <today::Today notes=others.map(|o| o.notes) /> }
        }
        (Standing::Ready, route @ on_the_shelf!(), _) => match on_shelf.get() {
            Shelf::Here(draw) => draw(route),
            Shelf::Coming => view! { <standing::NotReady standing=Standing::Opening /> },
            Shelf::Missing => view! { <standing::NoShelf /> },
        },
        (Standing::Ready, route, Some(others)) => (others.draw)(route),
        (Standing::Locked, _, Some(others)) => (others.locked)(),
        (other, _, _) => view! { <standing::NotReady standing=other /> },
    };
    view! { {pinned} {page} }
}
