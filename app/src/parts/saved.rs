//! The saved sign: a small tray. Full when everything is written on this phone, half while writing,
//! a diamond when the last press is not written.

use crate::shape::prelude::*;

/// What is written on this phone.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Written {
    /// All of it.
    Saved,
    /// The last press is on its way.
    Saving,
    /// The last press could not be written; it is still on the screen.
    NotSaved,
}

/// The tray sign with its words.
///
/// - `state`; `text`: "saved 14:32", "saving\u{2026}", "not saved".
/// "Not saved" is spoken as an alert; the other two are not spoken unless asked for.
#[component]
pub fn Saved(
    #[prop(into)] state: Signal<Written>,
    #[prop(into)] text: Signal<String>,
) -> impl IntoShape {
    let lost = move || state.get() == Written::NotSaved;
    view! {
        <span class="saved" class:lost=lost role=move || lost().then_some("alert")>
            <svg viewBox="0 0 16 16" aria-hidden="true">
                <path
                    class:odd=lost
                    d=move || {
                        if lost() { "M8 1L15 8L8 15L1 8Z" } else { "M1.5 1V14.5H14.5V1" }
                    }
                />
                <path
                    class="full"
                    d=move || match state.get() {
                        Written::Saved => "M3.5 7H12.5V12.5H3.5Z",
                        Written::Saving => "M3.5 10.5H12.5V12.5H3.5Z",
                        Written::NotSaved => "",
                    }
                />
            </svg>
            {move || text.get()}
        </span>
    }
}
