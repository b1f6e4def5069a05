//! The smallest page of the same library and toolchain: what `make bench` measures Pinfold against.

use leptos::prelude::*;

fn main() {
    leptos::mount::mount_to_body(|| {
        let count = RwSignal::new(0_u32);
        view! {
            <h1>"Hello"</h1>
            <button on:click=move |_| count.update(|n| *n += 1)>{move || count.get()}</button>
        }
    });
}
