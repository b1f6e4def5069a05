//! Maps and sets in one sorted row of memory.
//!
//! What one visit holds is counted in tens: for that a sorted `Vec` is as quick as a tree and a small
//! part of its code. The tree of the standard library, and the sort that fills it, cost 28 kB and
//! 14 kB of the compressed app over some fifty pairs of types (2026-11, opt-level z, wasm-opt -Oz).
//! The general-purpose `litemap` sorts with the standard library when it is filled, which keeps
//! half of that cost. What grows with the years (the journal's entries) is in [`super::paged`]:
//! filling this one out of order costs the square of its length.

use alloc::vec::{self, Vec};
use core::borrow::Borrow;
use core::cmp::Ordering;
use core::fmt;
use core::slice;
use serde::{Deserialize, Serialize};

/// A map whose keys are in order. For up to some thousands of rows, or rows that come in order.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Map<K, V> {
    rows: Vec<(K, V)>,
}

impl<K, V> Default for Map<K, V> {
    fn default() -> Self {
        Self { rows: Vec::new() }
    }
}

impl<K: fmt::Debug, V: fmt::Debug> fmt::Debug for Map<K, V> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_map().entries(self.iter()).finish()
    }
}

impl<K, V> Map<K, V> {
    /// A map of nothing.
    #[must_use]
    pub const fn new() -> Self {
        Self { rows: Vec::new() }
    }

    /// Rows as they lie. They have to be in the order of their keys, each once: what is not will not be found.
    #[must_use]
    pub(crate) fn in_order(rows: Vec<(K, V)>) -> Self {
        Self { rows }
    }

    /// How many rows.
    #[must_use]
    pub fn len(&self) -> usize {
        self.rows.len()
    }

    /// Whether there is none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    /// Rows in the order of their keys.
    pub fn iter(&self) -> Iter<'_, K, V> {
        Iter(self.rows.iter())
    }

    /// Keys in order.
    pub fn keys(&self) -> impl DoubleEndedIterator<Item = &K> + ExactSizeIterator + Clone {
        self.rows.iter().map(|(key, _)| key)
    }

    /// Values in the order of their keys.
    pub fn values(&self) -> impl DoubleEndedIterator<Item = &V> + ExactSizeIterator + Clone {
        self.rows.iter().map(|(_, value)| value)
    }

    /// Values to be changed, in the order of their keys.
    pub fn values_mut(&mut self) -> impl DoubleEndedIterator<Item = &mut V> {
        self.rows.iter_mut().map(|(_, value)| value)
    }

    /// Rows in the order of their keys, the values to be changed.
    pub fn iter_mut(&mut self) -> impl Iterator<Item = (&K, &mut V)> {
        self.rows.iter_mut().map(|(key, value)| (&*key, value))
    }

    /// Keys, given away, in order.
    pub fn into_keys(self) -> impl DoubleEndedIterator<Item = K> {
        self.rows.into_iter().map(|(key, _)| key)
    }

    /// Values, given away, in the order of their keys.
    pub fn into_values(self) -> impl DoubleEndedIterator<Item = V> {
        self.rows.into_iter().map(|(_, value)| value)
    }

    /// The row with the least key.
    #[must_use]
    pub fn first_key_value(&self) -> Option<(&K, &V)> {
        self.rows.first().map(|(key, value)| (key, value))
    }

    /// The row with the greatest key.
    #[must_use]
    pub fn last_key_value(&self) -> Option<(&K, &V)> {
        self.rows.last().map(|(key, value)| (key, value))
    }

    /// Takes all rows out.
    pub fn clear(&mut self) {
        self.rows.clear();
    }

    /// Keeps the rows of which `keep` is true.
    pub fn retain(&mut self, mut keep: impl FnMut(&K, &mut V) -> bool) {
        self.rows.retain_mut(|(key, value)| keep(key, value));
    }
}

impl<K: Ord, V> Map<K, V> {
    fn place<Q: Ord + ?Sized>(&self, key: &Q) -> Result<usize, usize>
    where
        K: Borrow<Q>,
    {
        place_of(&self.rows, |row| row.0.borrow().cmp(key))
    }

    /// The value under a key.
    pub fn get<Q: Ord + ?Sized>(&self, key: &Q) -> Option<&V>
    where
        K: Borrow<Q>,
    {
        let at = self.place(key).ok()?;
        self.rows.get(at).map(|(_, value)| value)
    }

    /// The value under a key, to be changed.
    pub fn get_mut<Q: Ord + ?Sized>(&mut self, key: &Q) -> Option<&mut V>
    where
        K: Borrow<Q>,
    {
        let at = self.place(key).ok()?;
        self.rows.get_mut(at).map(|(_, value)| value)
    }

    /// Whether a key is there.
    pub fn contains_key<Q: Ord + ?Sized>(&self, key: &Q) -> bool
    where
        K: Borrow<Q>,
    {
        self.place(key).is_ok()
    }

    /// Puts a value under a key; gives back what was there.
    pub fn insert(&mut self, key: K, value: V) -> Option<V> {
        match self.place(&key) {
            Ok(at) => self
                .rows
                .get_mut(at)
                .map(|row| core::mem::replace(&mut row.1, value)),
            Err(at) => {
                self.rows.insert(at, (key, value));
                None
            }
        }
    }

    /// Takes a key and its value out.
    pub fn remove<Q: Ord + ?Sized>(&mut self, key: &Q) -> Option<V>
    where
        K: Borrow<Q>,
    {
        let at = self.place(key).ok()?;
        Some(self.rows.remove(at).1)
    }

    /// The value under a key, made if it is not there.
    #[expect(
        clippy::indexing_slicing,
        reason = "the row was found or put there one line before"
    )]
    pub fn or_insert_with(&mut self, key: K, make: impl FnOnce() -> V) -> &mut V {
        let at = match self.place(&key) {
            Ok(at) => at,
            Err(at) => {
                self.rows.insert(at, (key, make()));
                at
            }
        };
        &mut self.rows[at].1
    }

    /// The value under a key, this one if it is not there.
    pub fn or_insert(&mut self, key: K, value: V) -> &mut V {
        self.or_insert_with(key, || value)
    }

    /// The value under a key, an empty one if it is not there.
    pub fn or_default(&mut self, key: K) -> &mut V
    where
        V: Default,
    {
        self.or_insert_with(key, V::default)
    }
}

/// The rows of a [`Map`], in the order of their keys.
pub struct Iter<'a, K, V>(slice::Iter<'a, (K, V)>);

impl<K, V> Clone for Iter<'_, K, V> {
    fn clone(&self) -> Self {
        Self(self.0.clone())
    }
}

impl<'a, K, V> Iterator for Iter<'a, K, V> {
    type Item = (&'a K, &'a V);

    fn next(&mut self) -> Option<Self::Item> {
        self.0.next().map(|(key, value)| (key, value))
    }

    fn size_hint(&self) -> (usize, Option<usize>) {
        self.0.size_hint()
    }
}

impl<K, V> DoubleEndedIterator for Iter<'_, K, V> {
    fn next_back(&mut self) -> Option<Self::Item> {
        self.0.next_back().map(|(key, value)| (key, value))
    }
}

impl<K, V> ExactSizeIterator for Iter<'_, K, V> {}

impl<'a, K, V> IntoIterator for &'a Map<K, V> {
    type Item = (&'a K, &'a V);
    type IntoIter = Iter<'a, K, V>;

    fn into_iter(self) -> Self::IntoIter {
        self.iter()
    }
}

impl<K, V> IntoIterator for Map<K, V> {
    type Item = (K, V);
    type IntoIter = vec::IntoIter<(K, V)>;

    fn into_iter(self) -> Self::IntoIter {
        self.rows.into_iter()
    }
}

impl<K: Ord, V> Extend<(K, V)> for Map<K, V> {
    fn extend<I: IntoIterator<Item = (K, V)>>(&mut self, rows: I) {
        for (key, value) in rows {
            self.insert(key, value);
        }
    }
}

impl<K: Ord, V> FromIterator<(K, V)> for Map<K, V> {
    fn from_iter<I: IntoIterator<Item = (K, V)>>(rows: I) -> Self {
        let mut map = Self::new();
        map.extend(rows);
        map
    }
}

/// Takes rows over as they lie, if they are in order; if not, each is put in its place.
impl<K: Ord, V> From<Vec<(K, V)>> for Map<K, V> {
    fn from(rows: Vec<(K, V)>) -> Self {
        if rows.is_sorted_by(|a, b| a.0 < b.0) {
            return Self { rows };
        }
        rows.into_iter().collect()
    }
}

impl<K: Ord, V, const N: usize> From<[(K, V); N]> for Map<K, V> {
    fn from(rows: [(K, V); N]) -> Self {
        rows.into_iter().collect()
    }
}

impl<K: Serialize, V: Serialize> Serialize for Map<K, V> {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_map(self)
    }
}

impl<'de, K: Deserialize<'de> + Ord, V: Deserialize<'de>> Deserialize<'de> for Map<K, V> {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Rows<K, V>(core::marker::PhantomData<(K, V)>);
        impl<'de, K: Deserialize<'de> + Ord, V: Deserialize<'de>> serde::de::Visitor<'de> for Rows<K, V> {
            type Value = Map<K, V>;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a map")
            }

            fn visit_map<A: serde::de::MapAccess<'de>>(
                self,
                mut rows: A,
            ) -> Result<Self::Value, A::Error> {
                let mut map = Map::new();
                while let Some((key, value)) = rows.next_entry()? {
                    map.insert(key, value);
                }
                Ok(map)
            }
        }
        deserializer.deserialize_map(Rows(core::marker::PhantomData))
    }
}

/// A set in order. For up to some thousands of things, or things that come in order.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Set<T> {
    rows: Vec<T>,
}

impl<T> Default for Set<T> {
    fn default() -> Self {
        Self { rows: Vec::new() }
    }
}

impl<T: fmt::Debug> fmt::Debug for Set<T> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_set().entries(&self.rows).finish()
    }
}

impl<T> Set<T> {
    /// A set of nothing.
    #[must_use]
    pub const fn new() -> Self {
        Self { rows: Vec::new() }
    }

    /// How many.
    #[must_use]
    pub fn len(&self) -> usize {
        self.rows.len()
    }

    /// Whether there is none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    /// All, in order.
    pub fn iter(&self) -> slice::Iter<'_, T> {
        self.rows.iter()
    }

    /// The least.
    #[must_use]
    pub fn first(&self) -> Option<&T> {
        self.rows.first()
    }

    /// The greatest.
    #[must_use]
    pub fn last(&self) -> Option<&T> {
        self.rows.last()
    }

    /// Takes all out.
    pub fn clear(&mut self) {
        self.rows.clear();
    }

    /// Takes the least out.
    pub fn pop_first(&mut self) -> Option<T> {
        (!self.rows.is_empty()).then(|| self.rows.remove(0))
    }

    /// Keeps those of which `keep` is true.
    pub fn retain(&mut self, keep: impl FnMut(&T) -> bool) {
        self.rows.retain(keep);
    }
}

impl<T: Ord> Set<T> {
    fn place<Q: Ord + ?Sized>(&self, thing: &Q) -> Result<usize, usize>
    where
        T: Borrow<Q>,
    {
        place_of(&self.rows, |row| row.borrow().cmp(thing))
    }

    /// Whether it is there.
    pub fn contains<Q: Ord + ?Sized>(&self, thing: &Q) -> bool
    where
        T: Borrow<Q>,
    {
        self.place(thing).is_ok()
    }

    /// Puts one in; whether it was not there before.
    pub fn insert(&mut self, thing: T) -> bool {
        match self.place(&thing) {
            Ok(_) => false,
            Err(at) => {
                self.rows.insert(at, thing);
                true
            }
        }
    }

    /// Takes one out; whether it was there.
    pub fn remove<Q: Ord + ?Sized>(&mut self, thing: &Q) -> bool
    where
        T: Borrow<Q>,
    {
        match self.place(thing) {
            Ok(at) => {
                self.rows.remove(at);
                true
            }
            Err(_) => false,
        }
    }

    /// What both hold, in order.
    pub fn intersection<'a>(&'a self, other: &'a Self) -> impl Iterator<Item = &'a T> {
        self.rows.iter().filter(|thing| other.contains(thing))
    }

    /// What only this one holds, in order.
    pub fn difference<'a>(&'a self, other: &'a Self) -> impl Iterator<Item = &'a T> {
        self.rows.iter().filter(|thing| !other.contains(thing))
    }

    /// Whether the other holds all of this one.
    #[must_use]
    pub fn is_subset(&self, other: &Self) -> bool {
        self.rows.iter().all(|thing| other.contains(thing))
    }

    /// Whether they share nothing.
    #[must_use]
    pub fn is_disjoint(&self, other: &Self) -> bool {
        self.intersection(other).next().is_none()
    }
}

impl<'a, T> IntoIterator for &'a Set<T> {
    type Item = &'a T;
    type IntoIter = slice::Iter<'a, T>;

    fn into_iter(self) -> Self::IntoIter {
        self.rows.iter()
    }
}

impl<T> IntoIterator for Set<T> {
    type Item = T;
    type IntoIter = vec::IntoIter<T>;

    fn into_iter(self) -> Self::IntoIter {
        self.rows.into_iter()
    }
}

impl<T: Ord> Extend<T> for Set<T> {
    fn extend<I: IntoIterator<Item = T>>(&mut self, things: I) {
        for thing in things {
            self.insert(thing);
        }
    }
}

impl<'a, T: Ord + Copy> Extend<&'a T> for Set<T> {
    fn extend<I: IntoIterator<Item = &'a T>>(&mut self, things: I) {
        self.extend(things.into_iter().copied());
    }
}

impl<T: Ord> FromIterator<T> for Set<T> {
    fn from_iter<I: IntoIterator<Item = T>>(things: I) -> Self {
        let mut set = Self::new();
        set.extend(things);
        set
    }
}

/// Takes things over as they lie, if they are in order; if not, each is put in its place.
impl<T: Ord> From<Vec<T>> for Set<T> {
    fn from(rows: Vec<T>) -> Self {
        if rows.is_sorted_by(|a, b| a < b) {
            return Self { rows };
        }
        rows.into_iter().collect()
    }
}

impl<T: Ord, const N: usize> From<[T; N]> for Set<T> {
    fn from(things: [T; N]) -> Self {
        things.into_iter().collect()
    }
}

impl<T: Serialize> Serialize for Set<T> {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        self.rows.serialize(serializer)
    }
}

impl<'de, T: Deserialize<'de> + Ord> Deserialize<'de> for Set<T> {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        Vec::deserialize(deserializer).map(|things: Vec<T>| things.into_iter().collect())
    }
}

/// Where a row is, or where it belongs. The end is looked at first: most rows come in order.
fn place_of<T>(rows: &[T], order: impl Fn(&T) -> Ordering) -> Result<usize, usize> {
    match rows.last().map(&order) {
        None | Some(Ordering::Less) => Err(rows.len()),
        _ => rows.binary_search_by(order),
    }
}

/// Sorts, equals staying in their order: for the short lists of one visit, in place of the standard
/// library's sort, which is some 2 kB of code for every type it sorts.
pub fn sort_by<T>(rows: &mut [T], order: impl Fn(&T, &T) -> Ordering) {
    for end in 1..rows.len() {
        let Some((mine, before)) = rows.get(..=end).and_then(<[T]>::split_last) else {
            return;
        };
        let at = before.partition_point(|row| order(row, mine) != Ordering::Greater);
        if let Some(tail) = rows.get_mut(at..=end) {
            tail.rotate_right(1);
        }
    }
}

/// [`sort_by`] a key.
pub fn sort_by_key<T, K: Ord>(rows: &mut [T], key: impl Fn(&T) -> K) {
    sort_by(rows, |a, b| key(a).cmp(&key(b)));
}

/// The places of so many rows in their order, equals as they came: for lists that grow with the years.
/// `after` says whether the row at one place comes after that at another. Stretches that are in order
/// are merged, so a list that is in order is only looked at once. One function for lists of every type.
#[must_use]
pub fn order(len: usize, after: &dyn Fn(usize, usize) -> bool) -> Vec<usize> {
    let mut rows: Vec<usize> = (0..len).collect();
    let turns = rows.windows(2).filter_map(|two| match *two {
        [a, b] if after(a, b) => Some(b),
        _ => None,
    });
    let mut ends: Vec<usize> = turns.chain([len]).collect();
    while ends.len() > 1 {
        let mut merged = Vec::with_capacity(len);
        let (mut longer, mut from) = (Vec::new(), 0);
        for two in ends.chunks(2) {
            let (Some(&middle), Some(&end)) = (two.first(), two.last()) else {
                break;
            };
            let part = |from: usize, to: usize| rows.get(from..to).unwrap_or_default();
            let (mut left, mut right) = (part(from, middle), part(middle, end));
            while let (Some((&a, others)), Some((&b, more))) =
                (left.split_first(), right.split_first())
            {
                if after(a, b) {
                    merged.push(b);
                    right = more;
                } else {
                    merged.push(a);
                    left = others;
                }
            }
            merged.extend_from_slice(left);
            merged.extend_from_slice(right);
            longer.push(end);
            from = end;
        }
        (rows, ends) = (merged, longer);
    }
    rows
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::property;
    use alloc::collections::{BTreeMap, BTreeSet};
    use proptest::prelude::*;

    /// The standard library's trees and sort are the reference.
    #[test]
    fn agrees_with_the_trees_of_the_standard_library() {
        let acts = prop::collection::vec((0_u8..4, 0_u8..12, any::<u16>()), 0..60);
        property("flat rows", 2000, &acts, |acts| {
            let mut map = Map::new();
            let mut tree = BTreeMap::new();
            let mut set = Set::new();
            let mut leaves = BTreeSet::new();
            for (act, key, value) in acts {
                match act {
                    0 => {
                        prop_assert_eq!(map.insert(key, value), tree.insert(key, value));
                        prop_assert_eq!(set.insert(key), leaves.insert(key));
                    }
                    1 => {
                        prop_assert_eq!(map.remove(&key), tree.remove(&key));
                        prop_assert_eq!(set.remove(&key), leaves.remove(&key));
                    }
                    2 => {
                        let a = map.or_insert_with(key, || value);
                        *a = a.wrapping_add(1);
                        let b = tree.entry(key).or_insert(value);
                        *b = b.wrapping_add(1);
                    }
                    _ => {
                        prop_assert_eq!(map.get(&key), tree.get(&key));
                        prop_assert_eq!(set.contains(&key), leaves.contains(&key));
                    }
                }
            }
            prop_assert!(map.iter().eq(tree.iter()));
            prop_assert!(map.iter().rev().eq(tree.iter().rev()));
            prop_assert!(set.iter().eq(leaves.iter()));
            prop_assert_eq!(map.first_key_value(), tree.first_key_value());
            prop_assert_eq!(map.last_key_value(), tree.last_key_value());
            Ok(())
        });
    }

    #[test]
    fn sorts_as_the_standard_library_does_and_is_stable() {
        let rows = prop::collection::vec((0_u8..6, any::<u16>()), 0..80);
        property("short sort", 2000, &rows, |rows| {
            let mut mine = rows.clone();
            sort_by_key(&mut mine, |row| row.0);
            let mut theirs = rows;
            theirs.sort_by_key(|row| row.0);
            prop_assert_eq!(mine, theirs);
            Ok(())
        });
    }

    /// The standard library's stable sort is the reference. Some of the lists have stretches in order.
    #[test]
    fn long_lists_come_in_the_order_of_the_standard_library() {
        let rows = prop::collection::vec((0_u16..400, any::<bool>()), 0..300);
        property("long order", 1000, &rows, |rows| {
            let mut rows: Vec<u16> = rows
                .into_iter()
                .scan(0_u16, |last, (n, rises)| {
                    *last = if rises { last.wrapping_add(n % 3) } else { n };
                    Some(*last)
                })
                .collect();
            let mine = order(rows.len(), &|a, b| rows[a] > rows[b]);
            let mut places: Vec<usize> = (0..rows.len()).collect();
            places.sort_by_key(|at| rows[*at]);
            prop_assert_eq!(&mine, &places);
            // What lies in order is taken over as it lies, and what does not is put in order.
            let set: Vec<u16> = Set::from(rows.clone()).into_iter().collect();
            let both = rows.iter().map(|n| (*n, ())).collect::<Vec<_>>();
            let keys: Vec<u16> = Map::from(both).into_keys().collect();
            rows.sort();
            rows.dedup();
            prop_assert_eq!(&set, &rows);
            prop_assert_eq!(&keys, &rows);
            prop_assert_eq!(&Set::from(rows.clone()).rows, &rows);
            Ok(())
        });
    }

    #[test]
    fn a_map_goes_through_a_file_as_a_tree_does() {
        let tree = BTreeMap::from([("b".to_owned(), 2), ("a".to_owned(), 1)]);
        let map = Map::from([("b".to_owned(), 2), ("a".to_owned(), 1)]);
        let text = serde_json::to_string(&tree).expect("writes");
        assert_eq!(serde_json::to_string(&map).expect("writes"), text);
        assert_eq!(
            serde_json::from_str::<Map<String, i32>>(&text).expect("reads"),
            map
        );
        let set = Set::from([3, 1, 2, 1]);
        assert_eq!(serde_json::to_string(&set).expect("writes"), "[1,2,3]");
        assert_eq!(
            serde_json::from_str::<Set<i32>>("[3,1,2]").expect("reads"),
            set
        );
    }
}
