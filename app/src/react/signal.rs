//! Signals: values that are set, and values that are read through a function.

use super::{Memo, Shelf, fetch, shelve};
use leptos::prelude::{RwSignal as Node, Track, Update, untrack};
use std::any::Any;
use std::cell::RefCell;
use std::marker::PhantomData;
use std::rc::Rc;

/// A value that can be set; readers hear of every setting. Copies are the same signal.
pub struct RwSignal<T> {
    turns: Node<u32>,
    shelf: Shelf,
    of: PhantomData<fn() -> T>,
}

impl<T> Clone for RwSignal<T> {
    fn clone(&self) -> Self {
        *self
    }
}

impl<T> Copy for RwSignal<T> {}

impl<T: 'static> RwSignal<T> {
    /// A signal that holds this.
    pub fn new(value: T) -> Self {
        Self {
            turns: Node::new(0),
            shelf: shelve(Rc::new(RefCell::new(value))),
            of: PhantomData,
        }
    }

    /// Reads the value where it lies, without being told when it is set; nothing once the page that
    /// made it has gone.
    pub fn try_with_untracked<R>(&self, read: impl FnOnce(&T) -> R) -> Option<R> {
        let value = fetch(self.shelf)?;
        let value = value.downcast_ref::<RefCell<T>>()?;
        Some(read(&value.borrow()))
    }

    /// Reads the value where it lies, without being told when it is set.
    ///
    /// # Panics
    /// After the page that made it has gone.
    pub fn with_untracked<R>(&self, read: impl FnOnce(&T) -> R) -> R {
        self.try_with_untracked(read).expect(GONE)
    }

    /// Reads the value where it lies.
    ///
    /// # Panics
    /// After the page that made it has gone.
    pub fn with<R>(&self, read: impl FnOnce(&T) -> R) -> R {
        self.turns.track();
        self.with_untracked(read)
    }

    /// A copy of the value.
    ///
    /// # Panics
    /// After the page that made it has gone.
    pub fn get(&self) -> T
    where
        T: Clone,
    {
        self.with(T::clone)
    }

    /// A copy of the value, without being told when it is set.
    ///
    /// # Panics
    /// After the page that made it has gone.
    pub fn get_untracked(&self) -> T
    where
        T: Clone,
    {
        self.with_untracked(T::clone)
    }

    /// A copy of the value, without being told when it is set; nothing once the page that made it
    /// has gone.
    pub fn try_get_untracked(&self) -> Option<T>
    where
        T: Clone,
    {
        self.try_with_untracked(T::clone)
    }

    /// Only to be told when it is set.
    pub fn track(&self) {
        self.turns.track();
    }

    /// Changes the value where it lies and tells the readers; nothing once the page that made it has
    /// gone.
    pub fn try_update<R>(&self, change: impl FnOnce(&mut T) -> R) -> Option<R> {
        let value = fetch(self.shelf)?;
        let answer = change(&mut value.downcast_ref::<RefCell<T>>()?.borrow_mut());
        self.turns.update(|n| *n = n.wrapping_add(1));
        Some(answer)
    }

    /// Changes the value where it lies and tells the readers.
    pub fn update(&self, change: impl FnOnce(&mut T)) {
        // After its page has gone there are no readers.
        let _ = self.try_update(change);
    }

    /// Sets the value and tells the readers.
    pub fn set(&self, value: T) {
        self.update(|place| *place = value);
    }
}

const GONE: &str = "a signal is read while its page is there";

/// A value that is read: fixed, or computed anew each time from signals and memos. Copies are the
/// same.
pub struct Signal<T> {
    shelf: Shelf,
    of: PhantomData<fn() -> T>,
}

impl<T> Clone for Signal<T> {
    fn clone(&self) -> Self {
        *self
    }
}

impl<T> Copy for Signal<T> {}

impl<T: 'static> Signal<T> {
    /// What the function gives.
    pub fn derive(read: impl Fn() -> T + 'static) -> Self {
        let read: Rc<dyn Fn() -> T> = Rc::new(read);
        Self {
            shelf: shelve(Rc::new(read)),
            of: PhantomData,
        }
    }

    /// The value.
    ///
    /// # Panics
    /// After the page that made it has gone.
    pub fn get(&self) -> T {
        let read = fetch(self.shelf);
        let read = read
            .as_deref()
            .and_then(<dyn Any>::downcast_ref::<Rc<dyn Fn() -> T>>);
        read.expect(GONE)()
    }

    /// Reads the value.
    ///
    /// # Panics
    /// After the page that made it has gone.
    pub fn with<R>(&self, read: impl FnOnce(&T) -> R) -> R {
        read(&self.get())
    }

    /// Only to be told when it changes.
    ///
    /// # Panics
    /// After the page that made it has gone.
    pub fn track(&self) {
        self.get();
    }

    /// The value, without being told when it changes.
    ///
    /// # Panics
    /// After the page that made it has gone.
    pub fn get_untracked(&self) -> T {
        untrack(|| self.get())
    }

    /// Reads the value, without being told when it changes.
    ///
    /// # Panics
    /// After the page that made it has gone.
    pub fn with_untracked<R>(&self, read: impl FnOnce(&T) -> R) -> R {
        read(&self.get_untracked())
    }
}

impl<T: Clone + 'static> From<T> for Signal<T> {
    fn from(value: T) -> Self {
        Self::derive(move || value.clone())
    }
}

impl<T: Clone + Default + 'static> Default for Signal<T> {
    fn default() -> Self {
        T::default().into()
    }
}

impl From<&'static str> for Signal<String> {
    fn from(text: &'static str) -> Self {
        Self::derive(move || text.into())
    }
}

impl<T: Clone + 'static> From<Memo<T>> for Signal<T> {
    fn from(memo: Memo<T>) -> Self {
        Self::derive(move || memo.get())
    }
}

impl<T: Clone + 'static> From<RwSignal<T>> for Signal<T> {
    fn from(signal: RwSignal<T>) -> Self {
        Self::derive(move || signal.get())
    }
}
