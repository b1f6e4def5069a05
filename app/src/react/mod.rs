//! Values that pages hear of: signals, memos and callbacks, used like Leptos' own, on Leptos' own
//! nodes.
//!
//! Leptos compiles its signals anew for each type of value. Here the node of every one counts turns
//! (a `u32`), and the value lies beside it on a shelf: one type of node, one type of shelf.

mod callback;
mod memo;
mod signal;

pub use callback::Callback;
pub use memo::Memo;
pub use signal::{RwSignal, Signal};

use leptos::prelude::{GetValue, LocalStorage, StoredValue};
use std::any::Any;
use std::rc::Rc;

/// What lies beside a node. It goes when its owner goes: a page, an effect.
type Shelf = StoredValue<Option<Rc<dyn Any>>, LocalStorage>;

/// A shelf with something on it.
fn shelve(value: Rc<dyn Any>) -> Shelf {
    StoredValue::new_local(Some(value))
}

/// What lies on a shelf; nothing once its owner has gone.
fn fetch(shelf: Shelf) -> Option<Rc<dyn Any>> {
    shelf.try_get_value().flatten()
}
