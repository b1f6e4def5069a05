//! A map in one sorted row of pages, for what grows with the years.
//!
//! One row of memory ([`super::flat`]) costs the square of its length when it is filled out of order,
//! and an import brings hundreds of thousands of facts in any order. Here a page is found by its last
//! key and a row is put into that page alone. The tree of the standard library does the same in 27 kB
//! of code of the start, uncompressed, over four pairs of types (2026-11, opt-level z, wasm-opt -Oz).

use alloc::vec::Vec;
use core::slice;

/// Rows on one page. Policy: moving half of them takes about as long as looking through the pages of
/// a million.
const PAGE: usize = 128;

/// A map whose keys are in order. No page is empty.
#[derive(Clone, Debug)]
pub struct Map<K, V> {
    pages: Vec<Vec<(K, V)>>,
    len: usize,
}

impl<K, V> Default for Map<K, V> {
    fn default() -> Self {
        Self {
            pages: Vec::new(),
            len: 0,
        }
    }
}

// Where the pages end depends on who came first; what they hold does not.
impl<K: PartialEq, V: PartialEq> PartialEq for Map<K, V> {
    fn eq(&self, other: &Self) -> bool {
        self.len == other.len && self.iter().eq(other.iter())
    }
}

impl<K: Eq, V: Eq> Eq for Map<K, V> {}

impl<K, V> Map<K, V> {
    /// How many rows.
    #[must_use]
    pub fn len(&self) -> usize {
        self.len
    }

    /// Whether there is none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.len == 0
    }

    /// Rows in the order of their keys.
    pub fn iter(&self) -> Iter<'_, K, V> {
        Iter {
            pages: self.pages.iter(),
            front: [].iter(),
            back: [].iter(),
        }
    }

    /// Keys in order.
    pub fn keys(&self) -> impl DoubleEndedIterator<Item = &K> + Clone {
        self.iter().map(|(key, _)| key)
    }

    /// Values in the order of their keys.
    pub fn values(&self) -> impl DoubleEndedIterator<Item = &V> + Clone {
        self.iter().map(|(_, value)| value)
    }

    /// The row with the greatest key.
    #[must_use]
    pub fn last_key_value(&self) -> Option<(&K, &V)> {
        self.pages.last()?.last().map(|(key, value)| (key, value))
    }
}

impl<K: Ord, V> Map<K, V> {
    /// The page of a key, and where on it the key is or belongs. The end is looked at first: most rows
    /// come in order.
    fn place(&self, key: &K) -> (usize, Result<usize, usize>) {
        let last = self
            .pages
            .last()
            .and_then(|rows| Some((rows.len(), rows.last()?)));
        if let Some((end, _)) = last.filter(|(_, row)| row.0 < *key) {
            return (self.pages.len().saturating_sub(1), Err(end));
        }
        let page = self
            .pages
            .partition_point(|page| page.last().is_some_and(|row| row.0 < *key));
        let rows = self.pages.get(page).map_or(&[][..], Vec::as_slice);
        let at = rows.binary_search_by(|row| row.0.cmp(key));
        (page, at)
    }

    /// The value under a key.
    #[must_use]
    pub fn get(&self, key: &K) -> Option<&V> {
        let (page, at) = self.place(key);
        Some(&self.pages.get(page)?.get(at.ok()?)?.1)
    }

    /// The value under a key, to be changed.
    pub fn get_mut(&mut self, key: &K) -> Option<&mut V> {
        let (page, at) = self.place(key);
        Some(&mut self.pages.get_mut(page)?.get_mut(at.ok()?)?.1)
    }

    /// Puts a value under a key, in the place of what was there.
    pub fn insert(&mut self, key: K, value: V) {
        let (mut page, at) = self.place(&key);
        let at = match at {
            Ok(at) => {
                if let Some(row) = self.pages.get_mut(page).and_then(|rows| rows.get_mut(at)) {
                    row.1 = value;
                }
                return;
            }
            Err(at) => at,
        };
        self.len = self.len.saturating_add(1);
        let mut at = at;
        let last = page.saturating_add(1) >= self.pages.len();
        let full = self.pages.get_mut(page).filter(|rows| rows.len() >= PAGE);
        if let Some(rows) = full {
            // At the end a page stays full and a new one is begun; elsewhere it is cut in half.
            let cut = if last && at == rows.len() {
                at
            } else {
                rows.len() / 2
            };
            let mut more = Vec::with_capacity(PAGE);
            more.extend(rows.drain(cut..));
            let next = page.saturating_add(1);
            self.pages.insert(next, more);
            if at >= cut {
                (page, at) = (next, at.saturating_sub(cut));
            }
        }
        match self.pages.get_mut(page) {
            Some(rows) => rows.insert(at, (key, value)),
            None => self.pages.push(alloc::vec![(key, value)]),
        }
    }

    /// Takes a key and its value out.
    pub fn remove(&mut self, key: &K) {
        let (page, Ok(at)) = self.place(key) else {
            return;
        };
        if let Some(rows) = self.pages.get_mut(page) {
            rows.remove(at);
            self.len = self.len.saturating_sub(1);
            if rows.is_empty() {
                self.pages.remove(page);
            }
        }
    }

    /// Rows from one key to another, either with its own, in order.
    pub fn between(&self, from: &K, to: &K) -> Iter<'_, K, V> {
        let ((first, Ok(at) | Err(at)), (last, end)) = (self.place(from), self.place(to));
        let end = end.map_or_else(|end| end, |there| there.saturating_add(1));
        let rows = |page: usize| self.pages.get(page).map_or(&[][..], Vec::as_slice);
        let (front, back) = if first < last {
            (rows(first).get(at..), rows(last).get(..end))
        } else {
            // One page, or, the wrong way round, nothing.
            (rows(last).get(at..end).filter(|_| first == last), None)
        };
        let pages = self.pages.get(first.saturating_add(1)..last);
        Iter {
            pages: pages.unwrap_or_default().iter(),
            front: front.unwrap_or_default().iter(),
            back: back.unwrap_or_default().iter(),
        }
    }
}

/// The rows of a [`Map`], in the order of their keys.
#[derive(Debug)]
pub struct Iter<'a, K, V> {
    pages: slice::Iter<'a, Vec<(K, V)>>,
    front: slice::Iter<'a, (K, V)>,
    back: slice::Iter<'a, (K, V)>,
}

impl<K, V> Clone for Iter<'_, K, V> {
    fn clone(&self) -> Self {
        Self {
            pages: self.pages.clone(),
            front: self.front.clone(),
            back: self.back.clone(),
        }
    }
}

impl<'a, K, V> Iterator for Iter<'a, K, V> {
    type Item = (&'a K, &'a V);

    fn next(&mut self) -> Option<Self::Item> {
        loop {
            if let Some((key, value)) = self.front.next() {
                return Some((key, value));
            }
            self.front = match self.pages.next() {
                Some(rows) => rows.iter(),
                None => return self.back.next().map(|(key, value)| (key, value)),
            };
        }
    }
}

impl<K, V> DoubleEndedIterator for Iter<'_, K, V> {
    fn next_back(&mut self) -> Option<Self::Item> {
        loop {
            if let Some((key, value)) = self.back.next_back() {
                return Some((key, value));
            }
            self.back = match self.pages.next_back() {
                Some(rows) => rows.iter(),
                None => return self.front.next_back().map(|(key, value)| (key, value)),
            };
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::property;
    use alloc::collections::BTreeMap;
    use proptest::prelude::*;

    /// The standard library's tree is the reference.
    #[test]
    fn agrees_with_the_tree_of_the_standard_library() {
        let acts = prop::collection::vec((0_u8..8, 0_u16..1500, 0_u16..600), 0..1500);
        let most = core::cell::Cell::new(0);
        property(
            "paged rows",
            200,
            &(acts, any::<bool>()),
            |(acts, ordered)| {
                let mut map = Map::default();
                let mut tree = BTreeMap::new();
                for (n, (act, key, value)) in (0_u16..).zip(acts) {
                    // In order every third is left out, to be put in or asked for by the others.
                    let key = if ordered && act < 4 { n / 3 * 3 } else { key };
                    match act {
                        0..6 => {
                            map.insert(key, value);
                            tree.insert(key, value);
                        }
                        6 => {
                            map.remove(&key);
                            tree.remove(&key);
                        }
                        _ => {
                            prop_assert_eq!(map.get(&key), tree.get(&key));
                            prop_assert_eq!(map.get_mut(&key), tree.get_mut(&key));
                            let to = key.saturating_add(value);
                            prop_assert!(map.between(&key, &to).eq(tree.range(key..=to)));
                            let back = map.between(&key, &to).rev();
                            prop_assert!(back.eq(tree.range(key..=to).rev()));
                            let none = map.between(&to.saturating_add(1), &key);
                            prop_assert_eq!(none.count(), 0, "the wrong way round is nothing");
                        }
                    }
                    prop_assert_eq!(map.len(), tree.len());
                    prop_assert_eq!(map.last_key_value(), tree.last_key_value());
                }
                prop_assert_eq!(map.is_empty(), tree.is_empty());
                prop_assert!(map.iter().eq(tree.iter()));
                prop_assert!(map.values().rev().eq(tree.values().rev()));
                prop_assert!(map.pages.iter().all(|p| !p.is_empty() && p.len() <= PAGE));
                let mut ends = (map.iter(), tree.iter());
                for turn in 0..map.len() {
                    let both = if turn % 3 == 0 {
                        (ends.0.next_back(), ends.1.next_back())
                    } else {
                        (ends.0.next(), ends.1.next())
                    };
                    prop_assert_eq!(both.0, both.1);
                }
                prop_assert_eq!((ends.0.next(), ends.0.next_back()), (None, None));
                let mut other = Map::default();
                for (&key, &value) in tree.iter().rev() {
                    other.insert(key, value);
                }
                prop_assert_eq!(&map, &other, "who came first does not matter");
                if let Some((&key, _)) = tree.first_key_value() {
                    other.remove(&key);
                    prop_assert!(map != other, "control: one less is another map");
                }
                most.set(most.get().max(map.pages.len()));
                Ok(())
            },
        );
        let most = most.get();
        assert!(most > 4, "control: there was more than one page: {most}");
    }

    #[test]
    fn what_comes_in_order_fills_its_pages() {
        let mut map = Map::default();
        for n in 0..10 * PAGE {
            map.insert(n, ());
        }
        assert_eq!(map.pages.len(), 10);
    }
}
