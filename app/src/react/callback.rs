//! What a part calls when it was used.

use super::{Shelf, fetch, shelve};
use std::any::Any;
use std::marker::PhantomData;
use std::rc::Rc;

/// A function of the page, given to a part. Copies are the same function.
pub struct Callback<T> {
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
            shelf: shelve(Rc::new(call)),
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
        let call = fetch(self.shelf);
        if let Some(call) = call
            .as_deref()
            .and_then(<dyn Any>::downcast_ref::<Rc<dyn Fn(T)>>)
        {
            call(argument);
        }
    }
}
