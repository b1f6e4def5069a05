//! The journal as text: one header line, then one entry a line.

use super::{Damage, Entry, Header, Journal};
use crate::base::id::EntryId;
use alloc::borrow::ToOwned;
use alloc::string::{String, ToString};
use alloc::vec::Vec;

/// The first line of a journal file. A reader that finds a greater `format` says so and reads on.
pub const HEADER: &str = r#"{"pinfold":"journal","format":1}"#;

/// The longest line that is read, in bytes. A longer one is damage, not memory.
pub const MAX_LINE: usize = 262_144;

/// What came out of a text.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ReadLines {
    /// Everything that could be read, and the lines that could not.
    pub journal: Journal,
    /// What was wrong, line by line, in the reader's words.
    pub flaws: Vec<LineFlaw>,
}

/// One thing wrong with one line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LineFlaw {
    /// 1 for the first line.
    pub line: usize,
    /// What is wrong with it.
    pub why: LineTrouble,
}

/// What can be wrong with a line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum LineTrouble {
    /// Not an entry; the reader's words.
    NotAnEntry(String),
    /// Longer than [`MAX_LINE`]; cut off and not kept.
    TooLong,
    /// Not text at all (broken UTF-8).
    NotText,
    /// A journal from a newer build.
    NewerFormat(u32),
    /// The file does not begin with a journal's header.
    NoHeader,
    /// A counter that leaves no names after it; not taken in from a file.
    Counter,
    /// A time or a zone that no clock here can show; not taken in from a file.
    Time,
}

impl Journal {
    /// The whole journal as text, header first, each rival and unreadable line included.
    #[must_use]
    pub fn to_lines(&self) -> Vec<u8> {
        self.under(HEADER)
    }

    /// The same under another first line.
    #[must_use]
    pub fn under(&self, header: &str) -> Vec<u8> {
        let mut out = Vec::new();
        let mut line = |text: &str| {
            out.extend_from_slice(text.as_bytes());
            out.push(b'\n');
        };
        line(header);
        self.lines(&mut |_, text| line(text));
        out
    }

    /// Every line in order: entries and their rivals by id, then what is no entry.
    pub fn lines(&self, each: &mut dyn FnMut(Option<EntryId>, &str)) {
        for entry in self.entries.values() {
            match self.rivals.get(&entry.id) {
                None => each(Some(entry.id), &entry.to_line()),
                Some(rivals) => rivals
                    .keys()
                    .for_each(|rival| each(Some(rival.id), &rival.to_line())),
            }
        }
        self.unreadable.keys().for_each(|text| each(None, text));
    }

    /// Reads what it can. Never fails: what cannot be read is named and, if it is text of bearable
    /// length, kept.
    #[must_use]
    pub fn from_lines(bytes: &[u8]) -> ReadLines {
        let mut read = ReadLines::default();
        let mut headed = false;
        for (index, raw) in bytes.split(|&b| b == b'\n').enumerate() {
            let number = index.saturating_add(1);
            let mut flaw = |why| read.flaws.push(LineFlaw { line: number, why });
            if raw.len() > MAX_LINE {
                flaw(LineTrouble::TooLong);
                continue;
            }
            let Ok(text) = core::str::from_utf8(raw) else {
                flaw(LineTrouble::NotText);
                continue;
            };
            let text = text.trim_matches(['\u{feff}', '\r', ' ', '\t']);
            if text.is_empty() {
                continue;
            }
            if let Some(header) = Header::of_line(text) {
                headed = true;
                if header.format > 1 {
                    flaw(LineTrouble::NewerFormat(header.format));
                }
                continue;
            }
            if !headed {
                headed = true;
                flaw(LineTrouble::NoHeader);
            }
            match Entry::from_line(text) {
                Ok(entry) => {
                    let _ = read.journal.insert(entry);
                }
                Err(why) => {
                    read.flaws.push(LineFlaw {
                        line: number,
                        why: LineTrouble::NotAnEntry(why.to_string()),
                    });
                    read.journal.keep_unreadable(text.to_owned());
                }
            }
        }
        read
    }
}

impl core::fmt::Display for LineTrouble {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::NotAnEntry(why) => write!(f, "not an entry: {why}"),
            Self::TooLong => f.write_str("longer than a line may be; not kept"),
            Self::NotText => f.write_str("not text; not kept"),
            Self::NewerFormat(n) => write!(f, "written by a newer build (format {n})"),
            Self::NoHeader => f.write_str("the file does not begin as a journal does"),
            Self::Counter => f.write_str("a counter beyond any practice; not taken in"),
            Self::Time => f.write_str("a time that no clock shows; not taken in"),
        }
    }
}

impl core::fmt::Display for Damage {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::Rivals(_) => f.write_str("two different facts have the same name; both are kept"),
            Self::Unreadable(_) => f.write_str("a line that cannot be read; kept as it stands"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::property;
    use proptest::prelude::*;

    const LINE: &str = r#"{"id":"1-00000000000000000000000000000001","at":{"wall":5,"mono":1,"zone":0},"stream":"practice","kind":"note","body":{"text":"x"}}"#;

    #[test]
    fn text_reads_back_and_a_cut_off_last_line_costs_only_itself() {
        let text = alloc::format!("{HEADER}\n{LINE}\n{}", &LINE[..40]);
        let read = Journal::from_lines(text.as_bytes());
        assert_eq!(read.journal.len(), 1);
        assert!(matches!(
            read.flaws.as_slice(),
            [LineFlaw {
                line: 3,
                why: LineTrouble::NotAnEntry(_)
            }]
        ));
        let again = Journal::from_lines(&read.journal.to_lines());
        assert_eq!(again.journal, read.journal, "the broken line is kept too");
    }

    #[test]
    fn foreign_files_are_named() {
        let read = Journal::from_lines(b"%PDF-1.7\n\xff\xfe\n");
        assert!(read.journal.is_empty());
        let words: Vec<&LineTrouble> = read.flaws.iter().map(|f| &f.why).collect();
        assert!(matches!(
            words.as_slice(),
            [
                LineTrouble::NoHeader,
                LineTrouble::NotAnEntry(_),
                LineTrouble::NotText
            ]
        ));
        let newer = Journal::from_lines(br#"{"pinfold":"journal","format":9}"#);
        assert!(matches!(
            newer.flaws.as_slice(),
            [LineFlaw {
                why: LineTrouble::NewerFormat(9),
                ..
            }]
        ));
    }

    #[test]
    fn any_bytes_are_read_without_panic() {
        property(
            "any bytes as a journal",
            1000,
            &prop::collection::vec(any::<u8>(), 0..600),
            |bytes| {
                let read = Journal::from_lines(&bytes);
                let again = Journal::from_lines(&read.journal.to_lines());
                prop_assert_eq!(again.journal, read.journal);
                Ok(())
            },
        );
    }

    #[test]
    fn any_cut_of_a_file_keeps_the_lines_before_it() {
        let text = alloc::format!("{HEADER}\n{LINE}\n{}\n", LINE.replace("\"1-0", "\"2-0"));
        for cut in 0..=text.len() {
            let read = Journal::from_lines(&text.as_bytes()[..cut]);
            let whole = text[..cut].matches('\n').count().saturating_sub(1);
            assert!(read.journal.len() >= whole, "cut at byte {cut}");
        }
    }
}
