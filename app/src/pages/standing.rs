//! Before the desk is ready, or when another window has it.

use super::frame::DeskTabs;
use crate::desk::{Known, Standing, use_desk};
use crate::parts::{Notice, Press};
use crate::shape::prelude::*;
use pinfold_core::words::app;

/// Says how the app stands, and offers to take over.
#[component]
pub fn NotReady(
    /// How it stands.
    standing: Standing,
) -> impl IntoShape {
    let desk = use_desk();
    let take = move || wasm_bindgen_futures::spawn_local(desk.take_over());
    let body = match standing {
        Standing::Opening | Standing::Locked | Standing::Ready => {
            view! { <p class="note">{app::EN.opening}</p> }
        }
        Standing::Elsewhere => view! {
            <Notice title=app::EN.elsewhere kept=app::EN.elsewhere_kept next=app::EN.elsewhere_next quiet=true>
                <Press text=app::EN.take_over on_press=move |()| take() />
            </Notice>
        },
        Standing::TakenOver => view! {
            <Notice title=app::EN.taken_over kept=app::EN.taken_over_kept next=app::EN.elsewhere_next quiet=true>
                <Press text=app::EN.take_over on_press=move |()| take() />
            </Notice>
        },
    };
    view! {
        <div class="screen">
            <header class="head column"><h1>{app::EN.name}</h1></header>
            <main class="column">{body}</main>
        </div>
    }
}

/// Where questions, points and procedures are wanted and have not come.
#[component]
pub fn NoKnowledge() -> impl IntoShape {
    let desk = use_desk();
    let body = move || {
        if desk.known().get() == Known::Missing {
            view! {
                <Notice title=app::EN.no_knowledge kept=app::EN.no_knowledge_kept next=app::EN.no_knowledge_next alert=true>
                    <Press
                        text=app::EN.load_again
                        on_press=move |()| wasm_bindgen_futures::spawn_local(desk.fetch_books())
                    />
                </Notice>
            }
        } else {
            view! { <p class="note">{app::EN.opening}</p> }
        }
    };
    view! {
        <div class="screen">
            <header class="head column"><h1>{app::EN.name}</h1></header>
            <main class="column">{body}</main>
            <DeskTabs here=1 />
        </div>
    }
}

/// Where a page of the shelf is wanted and its module did not come.
#[component]
pub fn NoShelf() -> impl IntoShape {
    view! {
        <div class="screen">
            <header class="head column"><h1>{app::EN.name}</h1></header>
            <main class="column">
                <Notice title=app::EN.no_shelf kept=app::EN.no_shelf_kept next=app::EN.no_shelf_next alert=true />
            </main>
            <DeskTabs here=2 />
        </div>
    }
}
