//! Pages: one per question of the job. They read the desk and give it commands; parts lay things
//! out.

mod about;
mod chair;
mod count;
mod count_only;
mod frame;
mod region;
mod standing;
mod today;

use crate::desk::{Desk, Route, Standing};
use leptos::prelude::*;

/// The whole interface.
#[component]
pub fn App(
    /// The desk.
    desk: Desk,
) -> impl IntoView {
    provide_context(desk);
    let standing = desk.standing();
    let route = Memo::new(move |_| desk.route().get());
    move || match standing.get() {
        Standing::Ready => match route.get() {
            Route::Today => view! { <today::Today /> }.into_any(),
            Route::CountOnly => view! { <count_only::CountOnly /> }.into_any(),
            Route::Chair(session) => view! { <chair::Chair session=session /> }.into_any(),
            Route::Region(session, region) => {
                view! { <region::RegionOut session=session region=region /> }.into_any()
            }
            Route::Count(session) => view! { <count::Count session=session /> }.into_any(),
            _ => view! { <about::About /> }.into_any(),
        },
        other => view! { <standing::NotReady standing=other /> }.into_any(),
    }
}
