//! Pinfold's interface. Rooms: `desk` (the one way to act), `pages`, `parts`, `store`, `device`.

pub mod device;
pub mod parts;
pub mod store;

use leptos::prelude::*;

/// Mounts the interface on the page's `main` element.
pub fn start() {
    leptos::mount::mount_to_body(|| view! { <p>"Pinfold"</p> });
}
