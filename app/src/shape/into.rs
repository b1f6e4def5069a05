//! What can stand in a hole.

use super::Shape;
use crate::react::{Memo, RwSignal, Signal};
use std::borrow::Cow;

/// What can be shown, or be the value of an attribute.
pub trait IntoShape {
    /// As a shape.
    fn into_shape(self) -> Shape;
}

impl IntoShape for Shape {
    fn into_shape(self) -> Shape {
        self
    }
}

impl IntoShape for () {
    fn into_shape(self) -> Shape {
        Shape::Nothing
    }
}

impl IntoShape for bool {
    fn into_shape(self) -> Shape {
        Shape::Flag(self)
    }
}

impl IntoShape for &'static str {
    fn into_shape(self) -> Shape {
        Shape::Text(Cow::Borrowed(self))
    }
}

impl IntoShape for String {
    fn into_shape(self) -> Shape {
        Shape::Text(Cow::Owned(self))
    }
}

/// Whole numbers, as digits.
macro_rules! numbers {
    ($($of:ty)*) => {$(
        impl IntoShape for $of {
            fn into_shape(self) -> Shape {
                self.to_string().into_shape()
            }
        }
    )*};
}

numbers!(u8 u16 u32 u64 usize i32 i64);

impl<T: IntoShape> IntoShape for Option<T> {
    fn into_shape(self) -> Shape {
        self.map_or(Shape::Nothing, T::into_shape)
    }
}

impl<T: IntoShape> IntoShape for Vec<T> {
    fn into_shape(self) -> Shape {
        Shape::List(self.into_iter().map(T::into_shape).collect())
    }
}

/// A function is what it gives, computed again when what it read changes.
impl<T: IntoShape, F: FnMut() -> T + 'static> IntoShape for F {
    fn into_shape(mut self) -> Shape {
        Shape::Live(Box::new(move || self().into_shape()))
    }
}

/// A signal is what it holds.
macro_rules! signals {
    ($($of:ident)*) => {$(
        impl<T: IntoShape + Clone + 'static> IntoShape for $of<T> {
            fn into_shape(self) -> Shape {
                (move || self.get()).into_shape()
            }
        }
    )*};
}

signals!(Signal RwSignal Memo);
