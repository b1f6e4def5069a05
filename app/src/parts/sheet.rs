//! A sheet over the page: the browser's own dialog, which traps the focus and gives it back.

use super::press::{Look, Press};
use crate::shape::prelude::*;
use wasm_bindgen::JsCast as _;

/// A sheet.
///
/// - `open`: whether it is shown; the page owns this.
/// - `on_close`: asked for by the back press or Esc; the page then sets `open` to false.
/// - `title`, `back`: its heading and the label of the back press.
/// - `children`: built once; the sheet keeps them while it is shut.
///
/// A touch beside the sheet does not shut it: at the chair a knuckle lands anywhere.
#[component]
pub fn Sheet(
    #[prop(into)] open: Signal<bool>,
    #[prop(into)] on_close: Callback<()>,
    #[prop(into)] title: Signal<String>,
    #[prop(into)] back: Signal<String>,
    children: Children,
) -> impl IntoShape {
    let dialog = StoredValue::new_local(None::<web_sys::HtmlDialogElement>);
    Effect::new(move || {
        let wanted = open.get();
        if let Some(dialog) = dialog.get_value() {
            if wanted && !dialog.open() {
                // Fails only when the dialog has left the page, and then nobody can see it.
                let _ = dialog.show_modal();
            } else if !wanted && dialog.open() {
                dialog.close();
            }
        }
    });
    view! {
        <dialog
            class="sheet"
            on_made=move |element: web_sys::Element| dialog.set_value(element.dyn_into().ok())
            aria-label=move || title.get()
            on:cancel=move |ev: web_sys::Event| {
                // The page decides, so that the two never disagree about what is open.
                ev.prevent_default();
                on_close.run(());
            }
            on:close=move |_| {
                if open.get_untracked() {
                    on_close.run(());
                }
            }
        >
            <div class="column">
                <div class="head">
                    <h1>{move || title.get()}</h1>
                    <Press
                        text=back
                        look=Look::Plain
                        chair=true
                        fit=true
                        on_press=move |()| on_close.run(())
                    />
                </div>
                {children()}
            </div>
        </dialog>
    }
}
