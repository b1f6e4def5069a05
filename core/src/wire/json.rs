//! A writer of JSON for files that others read. It escapes, it writes no comma too many, and it
//! leaves out what is empty: FHIR knows no empty text, list or object.

use super::time::instant;
use crate::base::date::Date;
use crate::base::stamp::Wall;
use crate::intake::Milli;
use alloc::string::{String, ToString};
use alloc::vec::Vec;

/// JSON, while it is written.
#[derive(Default)]
pub(super) struct Writer {
    out: String,
    /// What is open: where it began, and how it ends.
    open: Vec<(usize, char)>,
}

impl Writer {
    fn member(&mut self, name: &str) {
        if !self.out.is_empty() && !self.out.ends_with(['{', '[']) {
            self.out.push(',');
        }
        if !name.is_empty() {
            self.quoted(name);
            self.out.push(':');
        }
    }

    /// A text as JSON has it. Control characters that FHIR's `string` does not allow become spaces.
    fn quoted(&mut self, text: &str) {
        self.out.push('"');
        for c in text.chars() {
            match c {
                '"' => self.out.push_str("\\\""),
                '\\' => self.out.push_str("\\\\"),
                '\n' => self.out.push_str("\\n"),
                '\r' => self.out.push_str("\\r"),
                '\t' => self.out.push_str("\\t"),
                c if c.is_control() => self.out.push(' '),
                c => self.out.push(c),
            }
        }
        self.out.push('"');
    }

    fn begin(&mut self, name: &str, opens: char, closes: char) {
        self.open.push((self.out.len(), closes));
        self.member(name);
        self.out.push(opens);
    }

    /// An object begins; in a list its name is empty.
    pub fn open(&mut self, name: &str) {
        self.begin(name, '{', '}');
    }

    /// A list begins.
    pub fn list(&mut self, name: &str) {
        self.begin(name, '[', ']');
    }

    /// What was opened last ends; nothing is left of it if nothing was written into it.
    pub fn close(&mut self) {
        let Some((from, closes)) = self.open.pop() else {
            return;
        };
        if self.out.ends_with(['{', '[']) {
            self.out.truncate(from);
        } else {
            self.out.push(closes);
        }
    }

    /// A text, without the spaces at its ends; none if nothing is left.
    pub fn text(&mut self, name: &str, text: &str) {
        let text = text.trim_matches(|c: char| c.is_whitespace() || c.is_control());
        if !text.is_empty() {
            self.member(name);
            self.quoted(text);
        }
    }

    /// A text, if there is one.
    pub fn maybe(&mut self, name: &str, text: Option<&str>) {
        self.text(name, text.unwrap_or_default());
    }

    /// A text in pieces.
    pub fn pieces(&mut self, name: &str, pieces: &[&str]) {
        self.text(name, &pieces.concat());
    }

    /// A date, if there is one.
    pub fn date(&mut self, name: &str, date: Option<Date>) {
        let text = date.map(|d| d.to_string());
        self.maybe(name, text.as_deref());
    }

    /// A time as RFC 3339 writes it, if there is one that can be.
    pub fn time(&mut self, name: &str, at: Option<Wall>, zone: i16) {
        let text = at.and_then(|at| instant(at, zone));
        self.maybe(name, text.as_deref());
    }

    /// A whole number.
    pub fn number(&mut self, name: &str, number: u32) {
        self.member(name);
        self.out.push_str(&number.to_string());
    }

    /// A decimal number, exact.
    pub fn decimal(&mut self, name: &str, number: Milli) {
        self.member(name);
        self.out.push_str(&number.to_string());
    }

    /// Yes or no.
    pub fn yes(&mut self, name: &str, yes: bool) {
        self.member(name);
        self.out.push_str(if yes { "true" } else { "false" });
    }

    /// An object with one text in it: FHIR's way to say something in words where no code is known.
    pub fn words(&mut self, name: &str, text: &str) {
        self.open(name);
        self.text("text", text);
        self.close();
    }

    /// The finished text; whatever is still open is closed.
    pub fn finish(mut self) -> String {
        while !self.open.is_empty() {
            self.close();
        }
        self.out
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::property;
    use proptest::prelude::*;

    #[test]
    fn what_is_empty_is_left_out() {
        let mut w = Writer::default();
        w.open("");
        w.text("a", "one");
        w.list("none");
        w.open("");
        w.text("nothing", "  ");
        w.close();
        w.close();
        w.words("nor", "");
        w.list("two");
        w.text("", "x");
        w.text("", "y");
        w.close();
        w.decimal("d", Milli(-1500));
        assert_eq!(
            w.finish(),
            r#"{"a":"one","two":["x","y"],"d":-1.5}"#,
            "closed by finish"
        );
    }

    #[test]
    fn any_text_reads_back() {
        property("texts as JSON", 1000, &".{0,40}", |text: String| {
            let mut w = Writer::default();
            w.open("");
            w.yes("z", true);
            w.text("t", &text);
            let read: serde_json::Value = serde_json::from_str(&w.finish()).expect("JSON");
            let kept: String = text
                .chars()
                .map(|c| {
                    if c.is_control() && !"\n\r\t".contains(c) {
                        ' '
                    } else {
                        c
                    }
                })
                .collect();
            let back = read["t"].as_str().unwrap_or_default();
            prop_assert_eq!(back.trim(), kept.trim());
            Ok(())
        });
    }
}
