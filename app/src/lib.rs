//! Pinfold's interface. Rooms: `desk` (the one way to act), `pages` (one per question of the job),
//! `parts` (values in, callbacks out), `store` (bytes and ids), `device` (one ability a file).

pub mod desk;
pub mod device;
pub mod pages;
pub mod parts;
pub mod react;
pub mod shape;
pub mod store;

// What the macros write names this crate, here as in its tests.
extern crate self as pinfold_app;

use shape::prelude::*;
use wasm_bindgen_futures::spawn_local;

/// Mounts the interface and opens the desk.
pub fn start() {
    device::broke::watch();
    let desk = desk::Desk::new();
    shape::mount_to_body(move || view! { <pages::App desk=desk /> });
    spawn_local(desk.open());
}
