//! `view!` and `#[component]` as Leptos has them, compiled to the one view type of `pinfold_app::shape`.
//!
//! Leptos' own macro makes a new Rust type of every piece of markup, and the code that builds, patches
//! and removes it is compiled anew for each. Here the markup becomes a plan, a string that one small
//! builder reads, and a list of what is put into its holes.

mod component;
mod view;

use proc_macro::TokenStream;

/// Markup to a `Shape`. What it takes is Leptos' markup: elements, text, blocks, components,
/// `on:event`, `class:name`, `prop:name`, `style:name`, and `on_made` for the element itself.
#[proc_macro]
pub fn view(tokens: TokenStream) -> TokenStream {
    view::expand(tokens.into()).into()
}

/// A function with named arguments (`#[prop(into)]`, `#[prop(optional)]`, `#[prop(default = ..)]`) to
/// a component for `view!`.
#[proc_macro_attribute]
pub fn component(_: TokenStream, item: TokenStream) -> TokenStream {
    component::expand(item.into())
        .unwrap_or_else(|why| why.into_compile_error())
        .into()
}
