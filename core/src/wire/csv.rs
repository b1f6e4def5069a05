//! Rows of a spreadsheet: RFC 4180, made safe for programs that take text for formulas.
//!
//! A spreadsheet program may run a cell that begins with `=`, `+`, `-`, `@`, a tab, a carriage
//! return, a line feed or a full-width form of these. Quotes do not stop it. So such a text is given
//! an apostrophe in front, which those programs take for "this is text" (advice of OWASP; the
//! reference's marks: the five signs read second-hand, line feed and full-width forms memory). Spaces
//! before the sign do not help it past. A text that is a number as a whole cannot run and stays.
//! That changes the text, so nothing is ever read back from these tables: the journal is the copy.

use crate::intake::Milli;
use alloc::string::{String, ToString};

/// Rows, while they are written.
#[derive(Default)]
pub(super) struct Rows {
    out: String,
    begun: bool,
}

/// Whether a spreadsheet program may take this text for a formula.
fn runs(text: &str) -> bool {
    let risky = |c: char| {
        matches!(
            c,
            '=' | '+' | '-' | '@' | '\t' | '\r' | '\n' | '＝' | '＋' | '－' | '＠'
        )
    };
    text.starts_with(risky) || text.trim_start().starts_with(risky)
}

/// A number as a whole: digits with at most one sign before and one point among them.
fn number(text: &str) -> bool {
    let digits = text.strip_prefix(['+', '-']).unwrap_or(text);
    let (whole, part) = digits.split_once('.').unwrap_or((digits, "0"));
    let plain = |t: &str| !t.is_empty() && t.bytes().all(|b| b.is_ascii_digit());
    plain(whole) && plain(part)
}

impl Rows {
    fn cell(&mut self, text: &str, apostrophe: bool) {
        if self.begun {
            self.out.push(',');
        }
        self.begun = true;
        // Semicolon and tab are quoted too: some programs part cells at them.
        if text.contains([',', ';', '"', '\r', '\n', '\t']) {
            self.out.push('"');
            if apostrophe {
                self.out.push('\'');
            }
            self.out.push_str(&text.replace('"', "\"\""));
            self.out.push('"');
        } else {
            if apostrophe {
                self.out.push('\'');
            }
            self.out.push_str(text);
        }
    }

    /// A text that somebody may have typed.
    pub fn text(&mut self, text: &str) {
        self.cell(text, runs(text) && !number(text));
    }

    /// A text, or an empty cell.
    pub fn maybe(&mut self, text: Option<&str>) {
        self.text(text.unwrap_or_default());
    }

    /// A lot number, always with an apostrophe: else a program drops its leading zeros, or makes a
    /// date of `3-12` and a thousand of `1e3`.
    pub fn lot(&mut self, lot: Option<&str>) {
        match lot {
            Some(lot) => self.cell(lot, true),
            None => self.cell("", false),
        }
    }

    /// A number of our own.
    pub fn number(&mut self, number: impl Into<i64>) {
        self.cell(&number.into().to_string(), false);
    }

    /// A number of our own with a point.
    pub fn decimal(&mut self, number: Milli) {
        self.cell(&number.to_string(), false);
    }

    /// A number, or an empty cell.
    pub fn maybe_number(&mut self, number: Option<i64>) {
        match number {
            Some(number) => self.number(number),
            None => self.cell("", false),
        }
    }

    /// The row ends.
    pub fn end(&mut self) {
        self.out.push_str("\r\n");
        self.begun = false;
    }

    /// The finished table.
    pub fn finish(self) -> String {
        self.out
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn one(text: &str) -> String {
        let mut rows = Rows::default();
        rows.text(text);
        rows.finish()
    }

    #[test]
    fn texts_that_would_run_are_defused_and_numbers_stay() {
        // The reference's table (section 5.6), and what it names beside it.
        for (text, cell) in [
            ("=1+1", "'=1+1"),
            ("-1.5", "-1.5"),
            ("+1", "+1"),
            ("-2+3", "'-2+3"),
            ("@a", "'@a"),
            ("\t=1", "\"'\t=1\""),
            ("\r=1", "\"'\r=1\""),
            ("+44 20 7946", "'+44 20 7946"),
            ("-", "'-"),
            ("1e5", "1e5"),
            ("-1e5", "'-1e5"),
            ("", ""),
            (" =1", "' =1"),
            ("\u{ff1d}1", "'\u{ff1d}1"),
            ("\u{a0}=1", "'\u{a0}=1"),
            ("a;=1+1", "\"a;=1+1\""),
            ("say \"so\", then", "\"say \"\"so\"\", then\""),
            ("plain", "plain"),
        ] {
            assert_eq!(one(text), cell, "{text:?}");
        }
    }

    #[test]
    fn a_row_is_as_the_reference_has_it() {
        let mut rows = Rows::default();
        rows.number(1);
        rows.text("=HYPERLINK(\"x\")");
        rows.decimal(Milli(-1500));
        rows.end();
        assert_eq!(rows.finish(), "1,\"'=HYPERLINK(\"\"x\"\")\",-1.5\r\n");
    }

    #[test]
    fn a_lot_is_always_text() {
        for lot in ["007", "3-12", "1e5", "K2207"] {
            let mut rows = Rows::default();
            rows.lot(Some(lot));
            assert_eq!(rows.finish(), alloc::format!("'{lot}"));
        }
    }

    #[test]
    fn an_empty_cell_at_the_front_keeps_its_comma() {
        let mut rows = Rows::default();
        rows.text("");
        rows.lot(None);
        rows.maybe_number(None);
        rows.end();
        assert_eq!(rows.finish(), ",,\r\n");
    }
}
