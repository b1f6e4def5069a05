//! Reads the body of a fact out of its JSON.
//!
//! A reader of whole JSON, compiled anew for each of some fifty types, was the largest function of
//! the program. Here only what bodies hold is read (objects, lists, texts, whole numbers, yes and
//! no), level by level, with `serde_json` finding the ends; what is compiled for a type is no more
//! than its fields. It is also stricter: no fractions, and no struct written as a list.

use alloc::borrow::Cow;
use alloc::string::{String, ToString};
use alloc::vec::Vec;
use core::fmt;
use serde::de::value::{MapAccessDeserializer, MapDeserializer, SeqDeserializer};
use serde::de::{DeserializeOwned, Expected, IntoDeserializer, MapAccess, Unexpected, Visitor};
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use serde_json::value::RawValue;

/// Reads a body.
///
/// # Errors
/// Words of the reader that name the field.
pub(super) fn read<T: DeserializeOwned>(text: &RawValue) -> Result<T, Error> {
    T::deserialize(Node(text))
}

/// A part of a body that is kept as the JSON it is, for a later reader.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Json(String);

/// How [`Json`] asks for itself.
const AS_IT_IS: &str = "json as it is";

impl Json {
    /// JSON that a writer of ours made; `null` if it is none, which only a programming slip can cause.
    #[must_use]
    pub fn new(text: String) -> Self {
        Self(RawValue::from_string(text).map_or_else(|_| "null".into(), |raw| raw.get().into()))
    }

    /// As it stands in the file.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.0
    }
}

impl Serialize for Json {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let raw: &RawValue = serde_json::from_str(&self.0).unwrap_or(RawValue::NULL);
        raw.serialize(serializer)
    }
}

impl<'de> Deserialize<'de> for Json {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Whole;
        impl Visitor<'_> for Whole {
            type Value = Json;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("JSON")
            }

            fn visit_str<E: serde::de::Error>(self, text: &str) -> Result<Json, E> {
                Ok(Json(text.into()))
            }
        }
        deserializer.deserialize_newtype_struct(AS_IT_IS, Whole)
    }
}

/// One value, not yet looked into.
struct Node<'a>(&'a RawValue);

/// The members of an object, in the order of the file; two of one name are both here.
struct Members<'a>(Vec<(Cow<'a, str>, Node<'a>)>);

impl<'de> Deserialize<'de> for Members<'de> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Each;
        impl<'de> Visitor<'de> for Each {
            type Value = Members<'de>;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("an object")
            }

            fn visit_map<A: MapAccess<'de>>(self, mut all: A) -> Result<Self::Value, A::Error> {
                let mut members = Vec::new();
                while let Some((name, value)) = all.next_entry::<Cow<'de, str>, &RawValue>()? {
                    members.push((name, Node(value)));
                }
                Ok(Members(members))
            }
        }
        deserializer.deserialize_map(Each)
    }
}

/// What is wrong with a body. Fixed words and the field's name: words put together at each of some
/// three hundred places where a body can be wrong were a fifth of its reader.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Error {
    what: &'static str,
    field: &'static str,
}

#[cold]
#[inline(never)]
const fn wrong(what: &'static str) -> Error {
    Error { what, field: "" }
}

impl fmt::Display for Error {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.what)?;
        f.write_str(self.field)
    }
}

impl core::error::Error for Error {}

impl serde::de::Error for Error {
    #[cold]
    fn custom<T: fmt::Display>(_words: T) -> Self {
        wrong("a value that does not fit")
    }

    #[cold]
    fn invalid_type(_found: Unexpected<'_>, _wanted: &dyn Expected) -> Self {
        wrong("a value of another kind")
    }

    #[cold]
    fn invalid_value(_found: Unexpected<'_>, _wanted: &dyn Expected) -> Self {
        wrong("a value out of its range")
    }

    #[cold]
    fn invalid_length(_length: usize, _wanted: &dyn Expected) -> Self {
        wrong("a list of another length")
    }

    #[cold]
    fn unknown_variant(_name: &str, _wanted: &'static [&'static str]) -> Self {
        wrong("a choice that is none of its choices")
    }

    #[cold]
    fn unknown_field(_name: &str, _wanted: &'static [&'static str]) -> Self {
        wrong("a field that it does not have")
    }

    #[cold]
    fn missing_field(field: &'static str) -> Self {
        Self {
            what: "missing: ",
            field,
        }
    }

    #[cold]
    fn duplicate_field(field: &'static str) -> Self {
        Self {
            what: "said twice: ",
            field,
        }
    }
}

impl<'de> Node<'de> {
    fn members(&self) -> Result<Members<'de>, Error> {
        serde_json::from_str(self.0.get()).map_err(|_| wrong("not an object"))
    }

    fn list(&self) -> Result<Vec<&'de RawValue>, Error> {
        serde_json::from_str(self.0.get()).map_err(|_| wrong("not a list"))
    }

    fn text(&self) -> Result<Cow<'de, str>, Error> {
        serde_json::from_str(self.0.get()).map_err(|_| wrong("not a text"))
    }

    fn number(&self) -> Result<i64, Error> {
        serde_json::from_str(self.0.get()).map_err(|_| wrong("not a whole number"))
    }
}

/// An object read field by field. Reading never ends early: what is wrong is asked once, at the end,
/// so a field costs one call. For what has many fields and is read in few places.
pub(crate) struct Fields<'a> {
    left: Vec<(Cow<'a, str>, Node<'a>)>,
    wrong: Option<Error>,
}

impl<'a> Fields<'a> {
    /// The fields of an object.
    pub fn of(text: &'a RawValue) -> Self {
        match Node(text).members() {
            Ok(Members(left)) => Self { left, wrong: None },
            Err(wrong) => Self {
                left: Vec::new(),
                wrong: Some(wrong),
            },
        }
    }

    /// Marks the whole as wrong.
    pub fn refuse(&mut self, what: &'static str, field: &'static str) {
        self.wrong = self.wrong.or(Some(Error { what, field }));
    }

    fn take<T>(
        &mut self,
        name: &'static str,
        read: impl FnOnce(&Node<'a>) -> Result<T, Error>,
    ) -> Option<T> {
        let at = self.left.iter().position(|(field, _)| field == name)?;
        let (_, node) = self.left.swap_remove(at);
        match read(&node) {
            Ok(value) => Some(value),
            Err(wrong) => {
                self.wrong = self.wrong.or(Some(wrong));
                None
            }
        }
    }

    /// A text that may be missing.
    pub fn maybe_text(&mut self, name: &'static str) -> Option<String> {
        self.take(name, Node::text).map(Cow::into_owned)
    }

    /// A text.
    pub fn text(&mut self, name: &'static str) -> String {
        self.maybe_text(name).unwrap_or_else(|| {
            self.refuse("missing: ", name);
            String::new()
        })
    }

    /// A whole number; 0 if it is missing.
    pub fn number(&mut self, name: &'static str) -> i64 {
        self.take(name, Node::number).unwrap_or(0)
    }

    /// Yes or no; no if it is missing.
    pub fn yes(&mut self, name: &'static str) -> bool {
        self.take(name, |node| match node.0.get() {
            "true" => Ok(true),
            "false" => Ok(false),
            _ => Err(wrong("not true or false")),
        })
        .unwrap_or(false)
    }

    /// A value of any kind that may be missing.
    pub fn maybe(&mut self, name: &'static str) -> Option<&'a RawValue> {
        self.take(name, |node| Ok(node.0))
    }

    /// A list; empty if it is missing.
    pub fn list(&mut self, name: &'static str) -> Vec<&'a RawValue> {
        self.take(name, Node::list).unwrap_or_default()
    }

    /// A list of texts; empty if it is missing.
    pub fn texts(&mut self, name: &'static str) -> Vec<String> {
        let list = self.list(name);
        let texts: Option<Vec<String>> = list
            .into_iter()
            .map(|text| Node(text).text().ok().map(Cow::into_owned))
            .collect();
        texts.unwrap_or_else(|| {
            self.refuse("not a text in: ", name);
            Vec::new()
        })
    }

    /// The end: nothing was wrong, and no field is left.
    ///
    /// # Errors
    /// Words of the reader.
    pub fn end(mut self) -> Result<(), String> {
        if !self.left.is_empty() {
            self.refuse("a field that it does not have", "");
        }
        self.wrong.map_or(Ok(()), |wrong| Err(wrong.to_string()))
    }
}

impl<'de> IntoDeserializer<'de, Error> for Node<'de> {
    type Deserializer = Self;

    fn into_deserializer(self) -> Self {
        self
    }
}

macro_rules! numbers {
    ($($method:ident)*) => {$(
        fn $method<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
            visitor.visit_i64(self.number()?)
        }
    )*};
}

macro_rules! texts {
    ($($method:ident)*) => {$(
        fn $method<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
            visitor.visit_str(&self.text()?)
        }
    )*};
}

/// What no body holds.
macro_rules! never {
    ($($method:ident)*) => {$(
        fn $method<V: Visitor<'de>>(self, _visitor: V) -> Result<V::Value, Error> {
            Err(wrong("not a shape that a body has"))
        }
    )*};
}

impl<'de> Deserializer<'de> for Node<'de> {
    type Error = Error;

    numbers!(deserialize_i8 deserialize_i16 deserialize_i32 deserialize_i64
        deserialize_u8 deserialize_u16 deserialize_u32 deserialize_u64);
    texts!(deserialize_str deserialize_string deserialize_char deserialize_identifier);
    never!(deserialize_any deserialize_f32 deserialize_f64 deserialize_bytes deserialize_byte_buf
        deserialize_unit);

    fn deserialize_bool<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
        match self.0.get() {
            "true" => visitor.visit_bool(true),
            "false" => visitor.visit_bool(false),
            _ => Err(wrong("not true or false")),
        }
    }

    fn deserialize_option<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
        match self.0.get() {
            "null" => visitor.visit_none(),
            _ => visitor.visit_some(self),
        }
    }

    fn deserialize_seq<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
        let list = self.list()?.into_iter().map(Node);
        visitor.visit_seq(SeqDeserializer::new(list))
    }

    fn deserialize_map<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
        let members = self.members()?.0.into_iter();
        visitor.visit_map(MapDeserializer::new(members))
    }

    fn deserialize_struct<V: Visitor<'de>>(
        self,
        _name: &'static str,
        _fields: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Error> {
        self.deserialize_map(visitor)
    }

    fn deserialize_enum<V: Visitor<'de>>(
        self,
        _name: &'static str,
        _variants: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Error> {
        if self.0.get().starts_with('"') {
            visitor.visit_enum(self.text()?.into_deserializer())
        } else {
            let members = self.members()?.0;
            if members.len() == 1 {
                let one = MapDeserializer::new(members.into_iter());
                visitor.visit_enum(MapAccessDeserializer::new(one))
            } else {
                Err(wrong("not one of the choices"))
            }
        }
    }

    fn deserialize_newtype_struct<V: Visitor<'de>>(
        self,
        name: &'static str,
        visitor: V,
    ) -> Result<V::Value, Error> {
        if name == AS_IT_IS {
            return visitor.visit_str(self.0.get());
        }
        visitor.visit_newtype_struct(self)
    }

    fn deserialize_tuple<V: Visitor<'de>>(
        self,
        _len: usize,
        visitor: V,
    ) -> Result<V::Value, Error> {
        self.deserialize_seq(visitor)
    }

    fn deserialize_tuple_struct<V: Visitor<'de>>(
        self,
        _name: &'static str,
        _len: usize,
        visitor: V,
    ) -> Result<V::Value, Error> {
        self.deserialize_seq(visitor)
    }

    fn deserialize_unit_struct<V: Visitor<'de>>(
        self,
        _name: &'static str,
        _visitor: V,
    ) -> Result<V::Value, Error> {
        Err(wrong("not a shape that a body has"))
    }

    fn deserialize_ignored_any<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
        visitor.visit_unit()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::event::person::Answered;
    use crate::event::session::{Opened, Out, Placed};
    use alloc::string::ToString;

    fn both<T: DeserializeOwned + PartialEq + fmt::Debug>(text: &str) -> Option<T> {
        let raw: &RawValue = serde_json::from_str(text).expect("JSON");
        let mine = read::<T>(raw).ok();
        // serde_json's own reader is the reference.
        assert_eq!(mine, serde_json::from_str(text).ok(), "{text}");
        mine
    }

    #[test]
    fn reads_what_the_general_reader_reads() {
        let id = "1-000102030405060708090a0b0c0d0e0f";
        let placed = r#"{ "region":"cheek.left", "count":3,"points":[{"code":"ST\u0036","side":"left"}] ,"stay":1200 }"#;
        assert!(both::<Placed>(placed).is_some());
        assert!(
            both::<Out>(&alloc::format!(
                r#"{{"needles":[{{"placed":"{id}","from":0,"to":2}}],"how":"fell_out"}}"#
            ))
            .is_some()
        );
        assert!(
            both::<Opened>(&alloc::format!(
                r#"{{"mode":"count_only","person":"{id}","rehearsal":true}}"#
            ))
            .is_some()
        );
        for reply in [
            r#"{"known":{"yes":true}}"#,
            r#"{"known":{"number":36500}}"#,
            r#"{"known":{"several":["a","b"]}}"#,
            r#"{"unknown":"not_asked"}"#,
            r#"{"known":{"places":["neck"]}}"#,
            r#"{"known":{"date":"2026-02-03"}}"#,
        ] {
            both::<Answered>(&alloc::format!(
                r#"{{"question":"q","reply":{reply},"day":"2026-11-25"}}"#
            ));
        }
    }

    #[test]
    fn refuses_what_the_general_reader_refuses() {
        for text in [
            r#"{"region":"cheek.left"}"#,
            r#"{"region":"cheek.left","count":0}"#,
            r#"{"region":"cheek.left","count":70000}"#,
            r#"{"region":"cheek.left","count":-1}"#,
            r#"{"region":"cheek.left","count":1.5}"#,
            r#"{"region":"cheek.left","count":"3"}"#,
            r#"{"region":"nowhere","count":3}"#,
            r#"{"region":"cheek.left","count":3,"count":4}"#,
            r#"{"region":"cheek.left","count":3,"more":true}"#,
            r#"{"region":"cheek.left","count":3,"points":{}}"#,
            "null",
            "[]",
            "3",
            "\"x\"",
            "true",
        ] {
            assert!(both::<Placed>(text).is_none(), "{text}");
        }
    }

    #[test]
    fn is_stricter_with_a_struct_written_as_a_list() {
        let text = r#"["cheek.left",3,null,[],null,"placing",null]"#;
        let raw: &RawValue = serde_json::from_str(text).expect("JSON");
        let why = read::<Placed>(raw).expect_err("a list is no object");
        assert_eq!(why.to_string(), "not an object");
    }
}
