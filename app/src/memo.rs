//! A memo for values of every type, with one reactive node of one type behind all of them.
//!
//! Leptos compiles its own memo anew for each type of value, some 2 kB of code a type, and pages
//! have some forty types. Here the node counts turns (a `u32`), and the value lies beside it.
//! It is used like Leptos' own, so that pages read the same.

use leptos::prelude::{
    Get, GetValue, LocalStorage, Memo as Turns, Signal, StoredValue, Track, UpdateValue,
};
use std::any::Any;
use std::marker::PhantomData;
use std::rc::Rc;

/// What lies beside the node: the value, once it was computed.
pub(crate) type Shelf = StoredValue<Option<Rc<dyn Any>>, LocalStorage>;

/// A value computed from others, computed again when they change; readers hear of it only if it
/// comes out different. Copies are the same memo.
pub struct Memo<T> {
    turns: Turns<u32>,
    shelf: Shelf,
    of: PhantomData<fn() -> T>,
}

impl<T> Clone for Memo<T> {
    fn clone(&self) -> Self {
        *self
    }
}

impl<T> Copy for Memo<T> {}

/// The part that does not know the type: `step` computes, and says whether it came out different.
fn turns_of(step: Rc<dyn Fn() -> bool>) -> Turns<u32> {
    let step = StoredValue::new_local(step);
    Turns::new(move |before: Option<&u32>| {
        // Taken out first: what it computes may itself put things into the same store.
        let step = step.get_value();
        before.copied().unwrap_or(0).wrapping_add(u32::from(step()))
    })
}

impl<T: PartialEq + 'static> Memo<T> {
    /// A memo. The argument of `compute` is there only to be used like Leptos' own; it is nothing.
    pub fn new(compute: impl Fn(()) -> T + 'static) -> Self {
        let shelf: Shelf = StoredValue::new_local(None);
        let step = move || {
            let value = compute(());
            let before = shelf.get_value();
            let same = before
                .as_deref()
                .and_then(<dyn Any>::downcast_ref::<T>)
                .is_some_and(|before| *before == value);
            if !same {
                shelf.update_value(|place| *place = Some(Rc::new(value)));
            }
            !same
        };
        Self {
            turns: turns_of(Rc::new(step)),
            shelf,
            of: PhantomData,
        }
    }
}

/// Brings the value up to date, tells the reader's node of it, and takes it out.
fn value_of(turns: Turns<u32>, shelf: Shelf) -> Option<Rc<dyn Any>> {
    turns.get();
    shelf.get_value()
}

impl<T: 'static> Memo<T> {
    /// Reads the value where it lies.
    ///
    /// # Panics
    /// Never: the value is there once the node was read.
    pub fn with<R>(&self, read: impl FnOnce(&T) -> R) -> R {
        let value = value_of(self.turns, self.shelf);
        let value = value.as_deref().and_then(<dyn Any>::downcast_ref::<T>);
        read(value.expect("a memo that was read has its value"))
    }

    /// A copy of the value.
    pub fn get(&self) -> T
    where
        T: Clone,
    {
        self.with(T::clone)
    }

    /// Reads the value without being told when it changes.
    pub fn with_untracked<R>(&self, read: impl FnOnce(&T) -> R) -> R {
        leptos::prelude::untrack(|| self.with(read))
    }

    /// A copy of the value, without being told when it changes.
    pub fn get_untracked(&self) -> T
    where
        T: Clone,
    {
        self.with_untracked(T::clone)
    }

    /// Only to be told when it changes.
    pub fn track(&self) {
        self.turns.track();
    }
}

impl<T: Clone + Send + Sync + 'static> From<Memo<T>> for Signal<T> {
    fn from(memo: Memo<T>) -> Self {
        Signal::derive(move || memo.get())
    }
}

#[cfg(test)]
mod tests {
    use super::Memo;
    use leptos::prelude::{Get, Memo as Turns, Owner, RwSignal, Set};

    /// Leptos' own memo is the reference: the same values, and readers as seldom.
    #[test]
    fn does_what_leptos_own_memo_does() {
        let owner = Owner::new();
        owner.set();
        let source = RwSignal::new(1_u32);
        let mine = Memo::new(move |_| (source.get() / 10, String::from("ten")));
        let theirs = Turns::new(move |_| (source.get() / 10, String::from("ten")));
        let mine_read = Turns::new(move |n: Option<&u32>| {
            mine.track();
            n.copied().unwrap_or(0) + 1
        });
        let theirs_read = Turns::new(move |n: Option<&u32>| {
            theirs.get();
            n.copied().unwrap_or(0) + 1
        });
        for next in [1, 2, 9, 10, 11, 35, 35, 3] {
            source.set(next);
            assert_eq!(mine.get(), theirs.get());
            assert_eq!(mine.with(|v| v.0), next / 10);
            assert_eq!(mine_read.get(), theirs_read.get(), "after {next}");
        }
        assert_eq!(
            theirs_read.get(),
            4,
            "it was read anew only when it came out different"
        );
    }
}
