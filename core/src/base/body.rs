//! L0. Values as JSON, as they stand in the bodies of facts.
//!
//! Reading is total and never ends early: what is wrong reads as nothing and is remembered, and
//! whoever reads asks at the end. So what is compiled for a type is one call a field, with no way
//! out that would have to clean up (see DEVELOPERS.md, "Size"). Only what bodies hold is read:
//! objects, lists, texts, whole numbers, yes and no. `serde_json` has seen that it is JSON, and it
//! reads and writes the texts; `serde`'s own derives are the reference in the tests.

use crate::base::flat;
use alloc::borrow::{Cow, ToOwned};
use alloc::boxed::Box;
use alloc::string::{String, ToString};
use alloc::vec::Vec;
use core::fmt;
use core::str::FromStr;
use serde_json::value::RawValue;

pub use pinfold_pack::Body;

/// What has a form in JSON.
pub trait Body: Sized {
    /// Writes it: exactly one value is on top of the writer after this.
    fn write(&self, out: &mut Writer);
    /// Reads one: the value on top of the reader. Any value of the type if it is of another form.
    fn read(from: &mut Reader<'_>) -> Self;
}

/// What is wrong with a body: fixed words, and the field's name where there is one to name.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Wrong {
    what: &'static str,
    field: &'static str,
}

impl fmt::Display for Wrong {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.what)?;
        f.write_str(self.field)
    }
}

impl core::error::Error for Wrong {}

/// JSON being read: a pile of values not yet looked into, the next one on top. An object is taken
/// off and its fields' values are laid there in its place, in the order in which they are asked for.
/// An empty text stands for a value that is missing, and reads as nothing.
pub struct Reader<'a> {
    pile: Vec<&'a str>,
    /// The value that was taken off last.
    last: &'a str,
    /// What is wrong, and in which value.
    wrong: Option<(Wrong, &'a str)>,
}

/// Reads one value from any text.
///
/// # Errors
/// If it is not JSON, or what is wrong with it first.
pub fn read_any<T: Body>(text: &str) -> Result<T, Wrong> {
    read(json(text)?)
}

/// Any text as JSON.
///
/// # Errors
/// If it is not.
pub fn json(text: &str) -> Result<&RawValue, Wrong> {
    serde_json::from_str(text).map_err(|_| Wrong {
        what: "not JSON",
        field: "",
    })
}

/// Reads one value.
///
/// # Errors
/// What is wrong with it first.
pub fn read<T: Body>(json: &RawValue) -> Result<T, Wrong> {
    let mut from = Reader::of(json);
    let value = T::read(&mut from);
    from.end().map(|()| value)
}

/// Writes one value as JSON.
#[must_use]
pub fn write<T: Body>(value: &T) -> String {
    let mut out = Writer::default();
    value.write(&mut out);
    out.end()
}

/// The values of a list, or the names and values of an object in turn, of a text that is JSON.
fn parts(text: &str) -> Vec<&str> {
    // As many as an envelope has.
    let mut parts = Vec::with_capacity(16);
    let mut ends = text.chars();
    ends.next();
    ends.next_back();
    let inside = ends.as_str();
    let (mut from, mut depth, mut quoted, mut escaped) = (0_usize, 0_u32, false, false);
    let mut part = |from: usize, to: usize| {
        let part = inside.get(from..to).unwrap_or_default().trim_ascii();
        if !part.is_empty() {
            parts.push(part);
        }
    };
    for (at, byte) in inside.bytes().enumerate() {
        if quoted {
            quoted = escaped || byte != b'"';
            escaped = !escaped && byte == b'\\';
            continue;
        }
        match byte {
            b'"' => quoted = true,
            b'{' | b'[' => depth = depth.saturating_add(1),
            b'}' | b']' => depth = depth.saturating_sub(1),
            b',' | b':' if depth == 0 => {
                part(from, at);
                from = at.saturating_add(1);
            }
            _ => {}
        }
    }
    part(from, inside.len());
    parts
}

/// Where a value that was read stands in the whole that it was read from: `modules[0].steps[2].side`.
/// Empty for the whole itself, and for what is no part of it.
#[must_use]
pub fn place(whole: &str, value: &str) -> String {
    let first = |text: &str| text.as_ptr().addr();
    let after = |text: &str| first(text).saturating_add(text.len());
    let within = |part: &str| first(part) <= first(value) && after(value) <= after(part);
    let (mut at, mut inside) = (String::new(), whole);
    while inside.len() > value.len() && !value.is_empty() {
        let parts = parts(inside);
        let Some(n) = parts.iter().position(|part| within(part)) else {
            break;
        };
        if inside.starts_with('[') {
            at.push('[');
            at.push_str(&n.to_string());
            at.push(']');
        } else {
            let name = n.checked_sub(1).and_then(|n| parts.get(n));
            if !at.is_empty() {
                at.push('.');
            }
            at.push_str(name.unwrap_or(&"").trim_matches('"'));
        }
        inside = parts.get(n).unwrap_or(&"");
    }
    at
}

/// The field's name, and whether it may be missing.
fn field(name: &'static str) -> (&'static str, bool) {
    match name.strip_suffix('?') {
        Some(name) => (name, true),
        None => (name, false),
    }
}

impl<'a> Reader<'a> {
    /// JSON.
    #[must_use]
    pub fn of(json: &'a RawValue) -> Self {
        Self {
            pile: Vec::from([json.get()]),
            last: "",
            wrong: None,
        }
    }

    /// What was wrong first, and the value that it is wrong in; see [`place`].
    #[must_use]
    pub fn wrong(&self) -> Option<(Wrong, &'a str)> {
        self.wrong
    }

    /// Lays the value on top there once more: it is read twice, to see first what it is.
    pub fn again(&mut self) {
        self.pile.extend(self.pile.last().copied());
    }

    /// Whether the value on top is a text.
    #[must_use]
    pub fn is_text(&self) -> bool {
        self.pile.last().is_some_and(|text| text.starts_with('"'))
    }

    /// The end: nothing was wrong.
    ///
    /// # Errors
    /// What was wrong first.
    pub fn end(self) -> Result<(), Wrong> {
        self.wrong.map_or(Ok(()), |(wrong, _)| Err(wrong))
    }

    /// Remembers what is wrong, unless something was before.
    #[cold]
    fn refuse(&mut self, what: &'static str, field: &'static str) {
        let wrong = Wrong { what, field };
        self.wrong = self.wrong.or(Some((wrong, self.last)));
    }

    /// Takes the top off.
    fn take(&mut self) -> &'a str {
        self.last = self.pile.pop().unwrap_or_default();
        self.last
    }

    /// Takes a missing value off, if it is one.
    pub fn missing(&mut self) -> bool {
        let missing = self.pile.last().is_none_or(|text| text.is_empty());
        if missing {
            self.take();
        }
        missing
    }

    /// Takes an object off and lays the values of its fields there instead, the first on top.
    /// `names` are the fields, with a question mark at those that may be missing; a star lets others
    /// pass.
    pub fn object(&mut self, names: &'static str) {
        let mut members = self.members();
        let (names, strict) = match names.strip_suffix(" *") {
            Some(names) => (names, false),
            None => (names, true),
        };
        for name in names.rsplit(' ') {
            let (name, may_miss) = field(name);
            let value = match members.iter().rposition(|(known, _)| known == name) {
                Some(at) => members.swap_remove(at).1,
                None => {
                    if !may_miss {
                        self.refuse("missing: ", name);
                    }
                    ""
                }
            };
            self.pile.push(value);
        }
        for (left, _) in members {
            match names.split(' ').find(|name| field(name).0 == left) {
                Some(name) => self.refuse("said twice: ", field(name).0),
                None if strict => self.refuse("a field that it does not have", ""),
                None => {}
            }
        }
    }

    /// Takes an object off: its names and values.
    fn members(&mut self) -> Vec<(Cow<'a, str>, &'a str)> {
        let text = self.take();
        if !text.starts_with('{') {
            self.refuse("not an object", "");
            return Vec::new();
        }
        let parts = parts(text);
        let mut members = Vec::with_capacity(parts.len());
        let mut parts = parts.into_iter();
        while let (Some(name), Some(value)) = (parts.next(), parts.next()) {
            members.push((self.unquoted(name), value));
        }
        members
    }

    /// Takes a list off and lays its values there instead, the first on top. How many.
    pub fn list(&mut self) -> usize {
        let text = self.take();
        if text.starts_with('[') {
            let parts = parts(text);
            self.pile.extend(parts.iter().rev());
            return parts.len();
        }
        if !text.is_empty() {
            self.refuse("not a list", "");
        }
        0
    }

    /// The same for a list of so many.
    pub fn row(&mut self, count: usize) {
        let floor = self.pile.len().saturating_sub(1);
        if self.list() != count {
            self.refuse("a list of another length", "");
        }
        self.pile.resize(floor.saturating_add(count), "");
    }

    /// Takes a choice off: which of the names it is, from 0. What it carries lies there then.
    /// A colon stands at the names that carry something.
    pub fn choice(&mut self, names: &'static str) -> usize {
        let text = self.pile.last().copied().unwrap_or_default();
        let mut carried = "";
        let name = if text.starts_with('{') {
            let mut members = self.members();
            let one = members.pop().filter(|_| members.is_empty());
            let (name, value) = one.unwrap_or_default();
            carried = value;
            name
        } else {
            self.text()
        };
        let at = names.split(' ').position(|known| {
            let (known, carries) = match known.strip_suffix(':') {
                Some(known) => (known, true),
                None => (known, false),
            };
            // Nothing that is carried is an empty text.
            known == name && carries != carried.is_empty()
        });
        if at.is_none() && !text.is_empty() {
            self.refuse("a choice that is none of its choices", "");
        }
        let at = at.unwrap_or(0);
        if names
            .split(' ')
            .nth(at)
            .is_some_and(|name| name.ends_with(':'))
        {
            self.pile.push(carried);
        }
        at
    }

    fn unquoted(&mut self, text: &'a str) -> Cow<'a, str> {
        // Most texts stand between their quotes as they are.
        let plain = text.strip_prefix('"').and_then(|t| t.strip_suffix('"'));
        if let Some(plain) = plain
            && !plain.as_bytes().contains(&b'\\')
        {
            return Cow::Borrowed(plain);
        }
        match serde_json::from_str::<String>(text) {
            Ok(text) => Cow::Owned(text),
            Err(_) => {
                self.refuse("not a text", "");
                Cow::Borrowed("")
            }
        }
    }

    /// Takes a text off.
    pub fn text(&mut self) -> Cow<'a, str> {
        match self.take() {
            "" => Cow::Borrowed(""),
            text => self.unquoted(text),
        }
    }

    /// Takes a whole number off.
    fn number(&mut self) -> i64 {
        match self.take() {
            "" => 0,
            // As for `serde_json`, a zero with a sign is no whole number.
            text => match text.parse() {
                Ok(number) if text != "-0" => number,
                _ => {
                    self.refuse("not a whole number", "");
                    0
                }
            },
        }
    }

    /// Takes none off, if it is none.
    fn none(&mut self) -> bool {
        if self.pile.last() == Some(&"null") {
            self.take();
            return true;
        }
        self.missing()
    }

    /// Takes yes or no off.
    fn yes(&mut self) -> bool {
        match self.take() {
            "true" => true,
            "false" | "" => false,
            _ => {
                self.refuse("not true or false", "");
                false
            }
        }
    }

    /// What was made of a value; `instead` of what could not be made.
    pub fn or<T>(&mut self, made: Option<T>, instead: T) -> T {
        made.unwrap_or_else(|| {
            self.refuse("a value out of its range", "");
            instead
        })
    }

    /// Takes a text off and reads it in its type's own way.
    pub fn parsed<T: FromStr>(&mut self, instead: T) -> T {
        let text = self.text();
        self.or(text.parse().ok(), instead)
    }
}

/// JSON being written: a pile of written values, the last one on top. A field's value that says
/// nothing (none, no, 0, an empty text or list, the first choice) is left out where it may be
/// missing.
#[derive(Default)]
pub struct Writer {
    pile: Vec<(String, bool)>,
}

impl Writer {
    /// The one value that was written.
    #[must_use]
    pub fn end(mut self) -> String {
        self.take().0
    }

    fn push(&mut self, text: String, nothing: bool) {
        self.pile.push((text, nothing));
    }

    fn take(&mut self) -> (String, bool) {
        self.pile.pop().unwrap_or_default()
    }

    /// Says whether the value on top says nothing.
    pub fn nothing_if(&mut self, nothing: bool) {
        if let Some(last) = self.pile.last_mut() {
            last.1 = nothing;
        }
    }

    /// Takes so many values off; they come in the order in which they were written.
    fn last(&mut self, count: usize) -> Vec<(String, bool)> {
        let from = self.pile.len().saturating_sub(count);
        self.pile.split_off(from)
    }

    /// Puts the object of the last values in their place. `names` as in [`Reader::object`].
    pub fn object(&mut self, names: &'static str) {
        let names = names.trim_end_matches(" *");
        let values = self.last(names.split(' ').count());
        let mut text = String::from("{");
        for (name, (value, nothing)) in names.split(' ').zip(values) {
            let (name, may_miss) = field(name);
            if !(nothing && may_miss) {
                if text.len() > 1 {
                    text.push(',');
                }
                text.push('"');
                text.push_str(name);
                text.push_str("\":");
                text.push_str(&value);
            }
        }
        text.push('}');
        self.push(text, false);
    }

    /// Puts a list of the last values in their place.
    pub fn list(&mut self, count: usize) {
        let mut text = String::from("[");
        for (value, _) in self.last(count) {
            if text.len() > 1 {
                text.push(',');
            }
            text.push_str(&value);
        }
        text.push(']');
        self.push(text, count == 0);
    }

    /// Puts a choice there, with the last value in it if it carries one. `names` as in
    /// [`Reader::choice`].
    pub fn choice(&mut self, names: &'static str, at: usize) {
        let name = names.split(' ').nth(at).unwrap_or_default();
        match name.strip_suffix(':') {
            Some(name) => self.object(name),
            None => self.quoted(name, at == 0),
        }
    }

    fn quoted(&mut self, text: &str, nothing: bool) {
        self.push(serde_json::to_string(text).unwrap_or_default(), nothing);
    }

    /// Writes a text.
    pub fn text(&mut self, text: &str) {
        self.quoted(text, text.is_empty());
    }

    /// Writes as a text what is shown.
    pub fn shown(&mut self, value: &dyn fmt::Display) {
        self.text(&value.to_string());
    }

    fn number(&mut self, number: i64) {
        self.push(number.to_string(), number == 0);
    }
}

macro_rules! numbers {
    ($($number:ty),*) => {$(
        impl Body for $number {
            fn write(&self, out: &mut Writer) {
                out.number(i64::from(*self));
            }
            fn read(from: &mut Reader<'_>) -> Self {
                let number = from.number();
                from.or(Self::try_from(number).ok(), 0)
            }
        }
    )*};
}
numbers!(u8, u16, u32, i16, i64);

impl Body for bool {
    fn write(&self, out: &mut Writer) {
        out.push(self.to_string(), !self);
    }
    fn read(from: &mut Reader<'_>) -> Self {
        from.yes()
    }
}

impl Body for String {
    fn write(&self, out: &mut Writer) {
        out.text(self);
    }
    fn read(from: &mut Reader<'_>) -> Self {
        from.text().into_owned()
    }
}

/// JSON within JSON, as it stands.
impl Body for Box<RawValue> {
    fn write(&self, out: &mut Writer) {
        out.push(self.get().to_owned(), false);
    }
    fn read(from: &mut Reader<'_>) -> Self {
        RawValue::from_string(from.take().to_owned()).unwrap_or_else(|_| RawValue::NULL.to_owned())
    }
}

impl<T: Body> Body for Option<T> {
    fn write(&self, out: &mut Writer) {
        match self {
            Some(value) => {
                value.write(out);
                out.nothing_if(false);
            }
            None => out.push("null".to_owned(), true),
        }
    }
    fn read(from: &mut Reader<'_>) -> Self {
        (!from.none()).then(|| T::read(from))
    }
}

impl<T: Body> Body for Vec<T> {
    fn write(&self, out: &mut Writer) {
        for one in self {
            one.write(out);
        }
        out.list(self.len());
    }
    fn read(from: &mut Reader<'_>) -> Self {
        let mut all = Self::new();
        for _ in 0..from.list() {
            all.push(T::read(from));
            // What follows is thrown away in any case.
            if from.wrong.is_some() {
                break;
            }
        }
        all
    }
}

impl<T: Body + Ord> Body for flat::Set<T> {
    fn write(&self, out: &mut Writer) {
        for one in self {
            one.write(out);
        }
        out.list(self.iter().count());
    }
    fn read(from: &mut Reader<'_>) -> Self {
        Vec::<T>::read(from).into_iter().collect()
    }
}

impl<A: Body, B: Body> Body for (A, B) {
    fn write(&self, out: &mut Writer) {
        self.0.write(out);
        self.1.write(out);
        out.list(2);
    }
    fn read(from: &mut Reader<'_>) -> Self {
        from.row(2);
        (A::read(from), B::read(from))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn two() -> u16 {
        2
    }

    #[expect(
        clippy::trivially_copy_pass_by_ref,
        reason = "a field is passed by reference"
    )]
    fn is_two(n: &u16) -> bool {
        *n == two()
    }

    /// What no body has, but the derive knows.
    #[derive(Debug, PartialEq, Eq, Body, serde::Serialize, serde::Deserialize)]
    struct Loose {
        #[serde(rename = "in")]
        inside: bool,
        #[serde(default = "two", skip_serializing_if = "is_two")]
        n: u16,
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        rows: Vec<(String, i64)>,
    }

    #[test]
    fn fields_of_another_name_with_another_default_and_beside_unknown_ones() {
        for (text, read) in [
            (r#"{"in":true}"#, Some((true, 2, 0))),
            (
                r#" { "n" : 0 , "x" : [ { "a" : "}" } ] , "in" : false } "#,
                Some((false, 0, 0)),
            ),
            (
                r#"{"in":true,"*":0,"rows":[["],\"",-1],["",0]]}"#,
                Some((true, 2, 2)),
            ),
            (r#"{"inside":true}"#, None),
            (r#"{"in":true,"n":null}"#, None),
            (r#"{"in":true,"x":1"#, None),
            ("", None),
        ] {
            let mine = read_any::<Loose>(text).ok();
            assert_eq!(mine, serde_json::from_str(text).ok(), "{text}");
            let found = mine.as_ref().map(|m| (m.inside, m.n, m.rows.len()));
            assert_eq!(found, read, "{text}");
            if let Some(mine) = mine {
                assert_eq!(write(&mine), serde_json::to_string(&mine).expect("JSON"));
            }
        }
    }

    #[test]
    fn what_is_wrong_has_its_place() {
        for (text, at, words) in [
            (r#" {"in":1}"#, "in", "not true or false"),
            (
                r#"{"in":true,"rows":[["a",1], ["b","c"]]}"#,
                "rows[1][1]",
                "not a whole number",
            ),
            (
                r#"{"in":true,"rows":[["a",1],["b"]]}"#,
                "rows[1]",
                "a list of another length",
            ),
            (r#"{"n":3}"#, "", "missing: in"),
            (r#"{"in":true,"n":70000}"#, "n", "a value out of its range"),
        ] {
            let mut from = Reader::of(json(text).expect("JSON"));
            let _ = Loose::read(&mut from);
            let (wrong, value) = from.wrong().expect("wrong");
            let said = (place(text.trim(), value), wrong.to_string());
            assert_eq!(said, (at.into(), words.into()), "{text}");
        }
        assert_eq!(place("[1]", &String::from("1")), "", "no part of it");
    }

    #[test]
    fn a_row_has_its_length() {
        for text in ["[]", "[[\"a\"]]", "[[\"a\",1,2]]", "[[]]", "[\"a\",1]"] {
            let mine = read_any::<Vec<(String, i64)>>(text).ok();
            assert_eq!(mine, serde_json::from_str(text).ok(), "{text}");
        }
    }
}
