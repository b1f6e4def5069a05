//! What a page looks like, as a value: one type for every view.
//!
//! Leptos' markup makes a type of every piece of a page, and compiles the code that builds, patches and
//! removes it anew for each; that was a third of the program (measured: DEVELOPERS.md). Here a piece of
//! markup is a plan, which `view!` writes, and what goes into its holes; what stands on the page is one
//! tree ([`made`]) that one function builds and one patches. Signals, effects, owners and contexts are
//! Leptos' own, and markup is written as for Leptos.

mod into;
mod made;

pub use into::IntoShape;
pub use made::{mount, mount_to_body};

use leptos::prelude::Owner;
use std::borrow::Cow;
use std::rc::Rc;
use wasm_bindgen::JsCast;

/// What pages and parts import: Leptos' signals and this room's views.
pub mod prelude {
    pub use super::{Children, IntoShape, Shape};
    pub use crate::react::{Callback, Memo, RwSignal, Signal};
    pub use leptos::prelude::{
        Effect, GetValue, LocalStorage, SetValue, StoredValue, TimeoutHandle, UpdateValue,
        WithValue, event_target_value, on_cleanup, provide_context, set_timeout,
        set_timeout_with_handle, untrack, use_context, window_event_listener,
    };
    pub use pinfold_view::{component, view};
}

/// A view, or what is put into a hole of one.
pub enum Shape {
    /// Nothing: no text, no attribute.
    Nothing,
    /// There or not: a class, an attribute without a value.
    Flag(bool),
    /// Text, or the value of an attribute.
    Text(Cow<'static, str>),
    /// One element and what is in it.
    Piece(Piece),
    /// Several beside each other.
    List(Vec<Shape>),
    /// Computed again whenever a signal it read changes.
    Live(Live),
    /// Hears an event.
    Ear(Hears),
    /// Is told of the element once it is made.
    Told(Box<dyn FnOnce(web_sys::Element)>),
}

/// Computes a shape.
type Live = Box<dyn FnMut() -> Shape>;
/// Hears an event.
type Hears = Rc<dyn Fn(web_sys::Event)>;
/// What a component is given between its tags.
pub type Children = Box<dyn FnOnce() -> Shape>;

/// One element: its plan (see `pinfold_view`) and what goes into the holes, in order.
pub struct Piece {
    plan: &'static str,
    holes: Vec<Shape>,
}

impl Shape {
    /// An element. Written by `view!`.
    #[must_use]
    pub fn piece(plan: &'static str, holes: Vec<Self>) -> Self {
        Self::Piece(Piece { plan, holes })
    }

    /// What is told of an element. Written by `view!`.
    #[must_use]
    pub fn told(tell: impl FnOnce(web_sys::Element) + 'static) -> Self {
        Self::Told(Box::new(tell))
    }
}

/// What hears an event of the type that the browser sends under that name. Written by `view!`. It
/// runs where it was written down: contexts are found, and what it makes goes when the page does.
pub fn on<E: JsCast>(hear: impl Fn(E) + 'static) -> Shape {
    heard_here(Rc::new(move |event: web_sys::Event| {
        hear(event.unchecked_into());
    }))
}

fn heard_here(hear: Hears) -> Shape {
    let owner = Owner::current();
    Shape::Ear(Rc::new(move |event| match &owner {
        Some(owner) => owner.with(|| hear(event)),
        None => hear(event),
    }))
}

/// A component. Written by `#[component]`.
pub trait Part {
    /// What it is given.
    type Props;

    /// What it looks like.
    fn draw(props: Self::Props) -> Shape;
}

/// Draws without the page around it hearing of the signals that are read meanwhile.
pub fn quiet(draw: impl FnOnce() -> Shape) -> Shape {
    leptos::prelude::untrack(draw)
}
