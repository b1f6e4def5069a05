//! Reading a file that somebody brings: hostile until it is read. It comes in pieces, is measured
//! while it comes, and the first thing that is too much ends it: then nothing is taken in.

use super::lines::{LineFlaw, LineTrouble};
use super::{Entry, Header, Journal, MAX_LINE};
use alloc::borrow::ToOwned;
use alloc::string::{String, ToString};
use alloc::vec::Vec;

/// How much is read. All of it is policy: far above what a practice writes, and below what ends a
/// phone's memory.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Limits {
    /// Bytes of a file.
    pub bytes: usize,
    /// Lines of a file.
    pub lines: usize,
    /// Bytes of a line.
    pub line: usize,
    /// How deep values may be nested in a line.
    pub depth: usize,
}

impl Limits {
    /// The limits of this build.
    pub const HERE: Self = Self {
        bytes: 134_217_728,
        lines: 1_000_000,
        line: MAX_LINE,
        depth: 64,
    };
}

/// The greatest counter that a file may bring. A greater one would leave no names for what is written
/// after it; a thousand facts a day reach it in three million years.
pub const COUNTER_BROUGHT: u64 = 1_000_000_000_000;

/// 2200-01-01T00:00:00Z. A clock that once read later would make every clock here unsure for ever.
const LATEST: i64 = 7_258_118_400_000;

/// Which limit was gone past.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Limit {
    /// Bytes of the file.
    Bytes,
    /// Lines of the file.
    Lines,
    /// Bytes of a line.
    Line,
    /// Nesting in a line.
    Depth,
}

/// Why nothing was taken from a file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Refused {
    /// More than is read: of what, how much may be, and in which line (0 before the first).
    TooMuch(Limit, usize, usize),
    /// Nothing is in it.
    Empty,
    /// It is sealed: it has to be opened with its passphrase first.
    Sealed,
    /// It was saved as UTF-16, or has bytes that are no text in its first line.
    NotText,
    /// It does not begin as a journal does.
    NotAJournal,
    /// It is another of Pinfold's files, and which.
    Another(String),
    /// Written by a newer build: its format.
    Newer(u32),
}

/// A file as it was read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Carried {
    /// Its first line.
    pub header: Header,
    /// Its entries.
    pub journal: Journal,
    /// How many lines were entries, the doubled ones too.
    pub lines: usize,
    /// Lines that are left out, and why. The file still has them.
    pub flaws: Vec<LineFlaw>,
}

impl Carried {
    /// How many lines are missing at the end, by what the header says.
    #[must_use]
    pub fn missing(&self) -> usize {
        let said = self.header.entries.unwrap_or(0);
        let found = self.lines.saturating_add(self.flaws.len());
        usize::try_from(said)
            .unwrap_or(usize::MAX)
            .saturating_sub(found)
    }
}

/// A file that is being read.
pub struct Reading {
    limits: Limits,
    bytes: usize,
    number: usize,
    part: Vec<u8>,
    header: Option<Header>,
    journal: Journal,
    lines: usize,
    flaws: Vec<LineFlaw>,
}

/// The first bytes of sealed files, in both of their forms.
const SEALED: [&[u8]; 2] = [b"age-encryption.org/", b"-----BEGIN AGE"];

/// How deep a line is nested; brackets in texts do not count.
fn depth(line: &[u8]) -> usize {
    let (mut depth, mut deepest, mut quoted, mut escaped) = (0_usize, 0, false, false);
    for byte in line {
        if quoted {
            quoted = escaped || *byte != b'"';
            escaped = !escaped && *byte == b'\\';
            continue;
        }
        match byte {
            b'"' => quoted = true,
            b'{' | b'[' => depth = depth.saturating_add(1),
            b'}' | b']' => depth = depth.saturating_sub(1),
            _ => {}
        }
        deepest = deepest.max(depth);
    }
    deepest
}

/// What would poison a journal that took it in.
fn poison(entry: &Entry) -> Option<LineTrouble> {
    let time = |wall: i64| (0..LATEST).contains(&wall);
    let when = [
        entry.when.earliest(entry.at.wall),
        entry.when.latest(entry.at.wall),
    ];
    if entry.id.counter > COUNTER_BROUGHT {
        Some(LineTrouble::Counter)
    } else if !time(entry.at.wall.0)
        || !when.iter().all(|wall| time(wall.0))
        || !(-1440..=1440).contains(&entry.at.zone)
        || entry.at.mono < 0
    {
        Some(LineTrouble::Time)
    } else {
        None
    }
}

impl Reading {
    /// Nothing read yet.
    #[must_use]
    pub fn new(limits: Limits) -> Self {
        Self {
            limits,
            bytes: 0,
            number: 0,
            part: Vec::new(),
            header: None,
            journal: Journal::new(),
            lines: 0,
            flaws: Vec::new(),
        }
    }

    /// Reads a whole file.
    ///
    /// # Errors
    /// [`Refused`] says why nothing was taken.
    pub fn whole(bytes: &[u8], limits: Limits) -> Result<Carried, Refused> {
        let mut reading = Self::new(limits);
        reading.feed(bytes)?;
        reading.end()
    }

    fn too_much<T>(&self, limit: Limit) -> Result<T, Refused> {
        let most = match limit {
            Limit::Bytes => self.limits.bytes,
            Limit::Lines => self.limits.lines,
            Limit::Line => self.limits.line,
            Limit::Depth => self.limits.depth,
        };
        Err(Refused::TooMuch(limit, most, self.number))
    }

    /// The file says how long it is, before it is opened.
    ///
    /// # Errors
    /// If that is too much.
    pub fn claims(&self, bytes: u64) -> Result<(), Refused> {
        if usize::try_from(bytes).is_ok_and(|bytes| bytes <= self.limits.bytes) {
            Ok(())
        } else {
            self.too_much(Limit::Bytes)
        }
    }

    /// The next piece of the file, of any length.
    ///
    /// # Errors
    /// [`Refused`]; do not go on then.
    pub fn feed(&mut self, piece: &[u8]) -> Result<(), Refused> {
        let mut rest = piece;
        loop {
            let end = rest.iter().position(|byte| *byte == b'\n');
            let (now, after) = match end {
                Some(at) => rest.split_at(at),
                None => (rest, &[][..]),
            };
            let room = self.limits.line.saturating_sub(self.part.len());
            let left = self.limits.bytes.saturating_sub(self.bytes);
            let taken = now.len().saturating_add(usize::from(end.is_some()));
            // In which line it is too much is counted from 1.
            if taken > left || now.len() > room {
                self.number = self.number.saturating_add(1);
                return self.too_much(if now.len() > room {
                    Limit::Line
                } else {
                    Limit::Bytes
                });
            }
            self.bytes = self.bytes.saturating_add(taken);
            self.part.extend_from_slice(now);
            if end.is_none() {
                return Ok(());
            }
            let line = core::mem::take(&mut self.part);
            self.line(&line)?;
            rest = after.get(1..).unwrap_or_default();
        }
    }

    /// The end of the file.
    ///
    /// # Errors
    /// [`Refused`] says why nothing was taken.
    pub fn end(mut self) -> Result<Carried, Refused> {
        if !self.part.is_empty() {
            let line = core::mem::take(&mut self.part);
            self.line(&line)?;
        }
        Ok(Carried {
            header: self.header.ok_or(Refused::Empty)?,
            journal: self.journal,
            lines: self.lines,
            flaws: self.flaws,
        })
    }

    fn line(&mut self, raw: &[u8]) -> Result<(), Refused> {
        self.number = self.number.saturating_add(1);
        if self.number > self.limits.lines.saturating_add(1) {
            return self.too_much(Limit::Lines);
        }
        if depth(raw) > self.limits.depth {
            return self.too_much(Limit::Depth);
        }
        if self.header.is_none() {
            return self.first(raw);
        }
        let number = self.number;
        let mut flaw = |why| self.flaws.push(LineFlaw { line: number, why });
        let Ok(text) = core::str::from_utf8(raw) else {
            flaw(LineTrouble::NotText);
            return Ok(());
        };
        let text = text.trim_matches(['\u{feff}', '\r', ' ', '\t']);
        if text.is_empty() || Header::of_line(text).is_some_and(|other| other.format == 1) {
            // Two files put together are one.
            return Ok(());
        }
        match Entry::from_line(text) {
            Ok(entry) => match poison(&entry) {
                Some(why) => flaw(why),
                None => {
                    self.lines = self.lines.saturating_add(1);
                    let _ = self.journal.insert(entry);
                }
            },
            Err(why) => flaw(LineTrouble::NotAnEntry(why.to_string())),
        }
        Ok(())
    }

    /// The first line says whether the rest is worth reading.
    fn first(&mut self, raw: &[u8]) -> Result<(), Refused> {
        if SEALED.iter().any(|begin| raw.starts_with(begin)) {
            return Err(Refused::Sealed);
        }
        // A browser that read UTF-16 as text leaves its zeroes, and U+FFFD in place of its mark.
        let text = match core::str::from_utf8(raw) {
            Ok(text) if !text.contains(['\0', '\u{fffd}']) => text,
            _ => return Err(Refused::NotText),
        };
        let text = text.trim_matches(['\u{feff}', '\r', ' ', '\t']);
        if text.is_empty() {
            return Ok(());
        }
        let Some(header) = Header::of_line(text) else {
            return Err(another(text));
        };
        if header.format > 1 {
            return Err(Refused::Newer(header.format));
        }
        let most = self.limits.lines;
        if header
            .entries
            .is_some_and(|n| usize::try_from(n).is_ok_and(|n| n > most))
        {
            return self.too_much(Limit::Lines);
        }
        self.header = Some(header);
        Ok(())
    }
}

/// No journal: perhaps another of Pinfold's files, whose first field says what it is.
fn another(text: &str) -> Refused {
    let rest = text.strip_prefix("{\"pinfold\":\"");
    let name = rest.and_then(|rest| rest.split('"').next());
    match name {
        Some(name) if name != "journal" && name.len() <= 40 => Refused::Another(name.to_owned()),
        _ => Refused::NotAJournal,
    }
}
