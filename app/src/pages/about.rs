//! What this is, its cautions, and the notices of other people's work.

use super::frame::DeskTabs;
use crate::shape::prelude::*;
use pinfold_core::words::app;

/// About.
#[component]
pub fn About() -> impl IntoShape {
    view! {
        <div class="screen">
            <header class="head column"><h1>{app::EN.about}</h1></header>
            <main class="column stack reading">
                <p>{app::EN.about_what}</p>
                <ul class="lines">
                    {app::EN.cautions.iter().map(|line| view! { <li>{*line}</li> }).collect::<Vec<_>>()}
                </ul>
                <p class="note">{app::EN.name} " " {env!("CARGO_PKG_VERSION")}</p>
                <a class="press plain" href="notices.txt" target="_blank" rel="noopener">
                    {app::EN.notices}
                </a>
            </main>
            <DeskTabs here=3 />
        </div>
    }
}
