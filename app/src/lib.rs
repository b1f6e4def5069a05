//! Pinfold's interface. Rooms: `desk` (the one way to act), `pages`, `parts`, `store`, `device`.

use leptos::prelude::*;

/// Mounts the interface on the page's `main` element.
pub fn start() {
    leptos::mount::mount_to_body(|| view! { <p>"Pinfold"</p> });
}
