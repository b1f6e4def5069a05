//! A memo: a value computed from others, kept until one of them changes.

use super::{Shelf, fetch, shelve};
use leptos::prelude::{Get, Memo as Turns, StoredValue, UpdateValue, untrack};
use std::any::Any;
use std::marker::PhantomData;
use std::rc::Rc;

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

/// Computes the value.
type Compute = Box<dyn Fn() -> Rc<dyn Any>>;

/// Whether two values of the type are the same.
fn same<T: PartialEq + 'static>(one: &dyn Any, other: &dyn Any) -> bool {
    one.downcast_ref::<T>() == other.downcast_ref::<T>()
}

/// The part that does not know the type.
fn turns_of(shelf: Shelf, compute: Compute, same: fn(&dyn Any, &dyn Any) -> bool) -> Turns<u32> {
    let compute: Rc<Compute> = Rc::new(compute);
    let compute = shelve(compute);
    Turns::new(move |turns: Option<&u32>| {
        // Taken out first: what it computes may itself put things onto shelves.
        let step = fetch(compute);
        let turns = turns.copied().unwrap_or(0);
        let Some(step) = step.as_deref().and_then(<dyn Any>::downcast_ref::<Compute>) else {
            return turns;
        };
        let value = step();
        let before = fetch(shelf);
        if before.is_some_and(|before| same(&*before, &*value)) {
            return turns;
        }
        shelf.update_value(|place| *place = Some(value));
        turns.wrapping_add(1)
    })
}

impl<T: PartialEq + 'static> Memo<T> {
    /// A memo. The argument of `compute` is there only to be used like Leptos' own; it is nothing.
    pub fn new(compute: impl Fn(()) -> T + 'static) -> Self {
        let shelf: Shelf = StoredValue::new_local(None);
        let compute = Box::new(move || -> Rc<dyn Any> { Rc::new(compute(())) });
        Self {
            turns: turns_of(shelf, compute, same::<T>),
            shelf,
            of: PhantomData,
        }
    }
}

/// Brings the value up to date, tells the reader's node of it, and takes it out.
fn value_of(turns: Turns<u32>, shelf: Shelf) -> Option<Rc<dyn Any>> {
    turns.get();
    fetch(shelf)
}

impl<T: 'static> Memo<T> {
    /// Reads the value where it lies.
    ///
    /// # Panics
    /// After the page that made it has gone.
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
        untrack(|| self.with(read))
    }

    /// A copy of the value, without being told when it changes.
    pub fn get_untracked(&self) -> T
    where
        T: Clone,
    {
        self.with_untracked(T::clone)
    }

    /// Only to be told when it changes. It is worked out all the same: one that never was hears of no
    /// change itself.
    pub fn track(&self) {
        self.turns.get();
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

    #[test]
    fn one_that_is_only_tracked_tells_of_changes() {
        let owner = Owner::new();
        owner.set();
        let source = RwSignal::new(1_u32);
        let mine = Memo::new(move |_| source.get() / 10);
        let runs = Turns::new(move |n: Option<&u32>| {
            mine.track();
            n.copied().unwrap_or(0) + 1
        });
        assert_eq!(runs.get(), 1);
        source.set(9);
        assert_eq!(runs.get(), 1, "it came out the same");
        source.set(10);
        assert_eq!(runs.get(), 2);
    }
}
