//! What a part calls when it was used.

use crate::memo::Shelf;
use leptos::prelude::{GetValue, StoredValue};
use std::marker::PhantomData;
use std::rc::Rc;

/// A function of the page, given to a part. Copies are the same function.
pub struct Callback<T> {
    // One type of shelf for every type of argument: Leptos compiles its stores anew for each.
    shelf: Shelf,
    of: PhantomData<fn(T)>,
}

impl<T> Clone for Callback<T> {
    fn clone(&self) -> Self {
        *self
    }
}

impl<T> Copy for Callback<T> {}

impl<T: 'static, F: Fn(T) + 'static> From<F> for Callback<T> {
    fn from(call: F) -> Self {
        let call: Rc<dyn Fn(T)> = Rc::new(call);
        Self {
            shelf: StoredValue::new_local(Some(Rc::new(call))),
            of: PhantomData,
        }
    }
}

impl<T: 'static> Callback<T> {
    /// The function as a callback.
    pub fn new(call: impl Fn(T) + 'static) -> Self {
        Self::from(call)
    }

    /// Calls it. After the page that gave it has gone, nothing happens.
    pub fn run(&self, argument: T) {
        let call = self.shelf.try_get_value().flatten();
        if let Some(call) = call
            .as_deref()
            .and_then(<dyn std::any::Any>::downcast_ref::<Rc<dyn Fn(T)>>)
        {
            call(argument);
        }
    }
}
