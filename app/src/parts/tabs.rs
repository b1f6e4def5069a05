//! The tabs at the foot of desk pages.

use crate::shape::prelude::*;

/// One tab.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Tab {
    /// Its label.
    pub text: String,
    /// Where its page is.
    pub href: String,
}

/// The tabs.
///
/// - `name`: for a screen reader; `tabs`: in order; `here`: the index of the shown one, if any.
#[component]
pub fn Tabs(
    #[prop(into)] name: Signal<String>,
    tabs: Vec<Tab>,
    #[prop(into)] here: Signal<Option<usize>>,
) -> impl IntoShape {
    let links: Vec<_> = tabs
        .into_iter()
        .enumerate()
        .map(|(index, tab)| {
            view! {
                <a
                    href=tab.href
                    aria-current=move || (here.get() == Some(index)).then_some("page")
                >
                    {tab.text}
                </a>
            }
        })
        .collect();
    view! { <nav class="tabs column" aria-label=move || name.get()>{links}</nav> }
}
