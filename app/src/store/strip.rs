//! The nameless strip: what a phone must be able to show after a kill before anything is unlocked,
//! and what the static page shows when the program is broken. No name, no note, no answer: how many
//! needles are in by region, and which clocks are due when.

use super::{Row, Why};
use crate::device::local::at_hand;
use gloo_storage::{LocalStorage, Storage};
use pinfold_core::base::body::{self, Body, Reader, Writer};

const NAME: &str = "pinfold.strip";
const VERSION: u8 = 1;

/// The strip. Labels come ready to read: whoever shows them cannot look anything up.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Strip {
    /// The shape of this text: 1.
    v: u8,
    /// When it was written, wall milliseconds.
    at: i64,
    /// Regions and the needles in them now.
    placed: Vec<(String, u32)>,
    /// What is due, and when, wall milliseconds.
    due: Vec<(String, i64)>,
    /// One for each of `placed`, in its order: which session and which region, as two words. So that
    /// what is counted out before anything is unlocked finds its place. None in an older strip.
    held: Option<Vec<(String, u32)>>,
}

impl Strip {
    /// A strip as of `at`.
    #[must_use]
    pub fn new(
        at: i64,
        placed: Vec<(String, u32)>,
        due: Vec<(String, i64)>,
        held: Vec<(String, u32)>,
    ) -> Self {
        Self {
            v: VERSION,
            at,
            placed,
            due,
            held: Some(held),
        }
    }

    /// Which session and region each of [`Strip::placed`] is, as two words.
    #[must_use]
    pub fn held(&self) -> &[(String, u32)] {
        self.held.as_deref().unwrap_or_default()
    }

    /// So many came out of what `held` names. If that is all of them, `done`, the clock of the
    /// region, is done too. `at`: when, wall milliseconds.
    #[must_use]
    pub fn without(mut self, held: &str, count: u32, done: &str, at: i64) -> Self {
        self.at = at;
        let places = self.held.get_or_insert_default();
        let Some(at) = places.iter().position(|(name, _)| name == held) else {
            return self;
        };
        let left = places.get(at).map_or(0, |(_, n)| n.saturating_sub(count));
        if left > 0 {
            for list in [places, &mut self.placed] {
                if let Some((_, n)) = list.get_mut(at) {
                    *n = left;
                }
            }
            return self;
        }
        places.remove(at);
        if at < self.placed.len() {
            self.placed.remove(at);
        }
        if let Some(clock) = self.due.iter().position(|(words, _)| words == done) {
            self.due.remove(clock);
        }
        self
    }

    /// When it was written, wall milliseconds.
    #[must_use]
    pub fn at(&self) -> i64 {
        self.at
    }

    /// Regions and the needles in them at that time.
    #[must_use]
    pub fn placed(&self) -> &[(String, u32)] {
        &self.placed
    }

    /// What was to be due, and when, wall milliseconds.
    #[must_use]
    pub fn due(&self) -> &[(String, i64)] {
        &self.due
    }
}

/// Its fields as text; one that a later build adds is passed over.
const NAMES: &str = "v at in due held? *";

impl Body for Strip {
    fn write(&self, out: &mut Writer) {
        self.v.write(out);
        self.at.write(out);
        self.placed.write(out);
        self.due.write(out);
        self.held.write(out);
        out.object(NAMES);
    }
    fn read(from: &mut Reader<'_>) -> Self {
        from.object(NAMES);
        Self {
            v: Body::read(from),
            at: Body::read(from),
            placed: Body::read(from),
            due: Body::read(from),
            held: Body::read(from),
        }
    }
}

/// Writes the strip before this returns, or takes it away if nothing is in and no clock runs.
///
/// # Errors
/// If the browser did not take it. Whatever the old strip said is still there then.
pub fn write(strip: &Strip) -> Result<(), Why> {
    if !at_hand() {
        return Err(Why::Denied);
    }
    if strip.placed.is_empty() && strip.due.is_empty() {
        LocalStorage::delete(NAME);
        return Ok(());
    }
    // As it stands: the static page reads it as JSON.
    LocalStorage::raw()
        .set_item(NAME, &body::write(strip))
        .map_err(|_| Why::Full)
}

/// Reads the strip. `None` if there is none, or one of a shape this build does not know.
#[must_use]
pub fn read() -> Option<Strip> {
    if !at_hand() {
        return None;
    }
    let text = LocalStorage::raw().get_item(NAME).ok().flatten()?;
    body::read_any::<Strip>(&text)
        .ok()
        .filter(|strip| strip.v == VERSION)
}

/// The key of the strip's second copy, on the shelf of small facts.
pub const BESIDE: &str = "strip";

/// The strip as a row of the database. The browser writes local storage to disk seconds late; this copy
/// goes with the entries that it counts, also when it says that nothing is in.
#[must_use]
pub fn row(strip: &Strip) -> Row {
    Row {
        key: BESIDE.into(),
        text: body::write(strip),
    }
}

/// Takes the copy of the database where it is the newer one.
pub fn settle(beside: &str) {
    let Ok(beside) = body::read_any::<Strip>(beside) else {
        return;
    };
    if beside.v == VERSION && read().is_none_or(|here| here.at < beside.at) {
        let _ = write(&beside);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_reads_back_from_the_text_that_the_static_page_reads() {
        let strip = Strip::new(
            1_000,
            vec![("Patient's L cheek".into(), 7)],
            vec![("Take out \"L\" cheek".into(), -2_000)],
            vec![("3-ab cheek.left".into(), 7)],
        );
        let text = r#"{"v":1,"at":1000,"in":[["Patient's L cheek",7]],"due":[["Take out \"L\" cheek",-2000]],"held":[["3-ab cheek.left",7]]}"#;
        assert_eq!(body::write(&strip), text);
        assert_eq!(body::read_any(text), Ok(strip));
        let later = text.replace("\"in\"", "\"new\":[{}],\"in\"");
        assert!(body::read_any::<Strip>(&later).is_ok());
        assert!(body::read_any::<Strip>("{\"v\":1}").is_err(), "control");
        let older = text.replace(r#","held":[["3-ab cheek.left",7]]"#, "");
        let older = body::read_any::<Strip>(&older).expect("one of an older build");
        assert!(older.held().is_empty());
    }

    #[test]
    fn what_is_counted_out_leaves_the_strip() {
        let clocks = vec![("out L".to_string(), 1), ("out R".to_string(), 2)];
        let placed = vec![("L".to_string(), 7), ("R".to_string(), 3)];
        let held = vec![("3-ab l".to_string(), 7), ("3-ab r".to_string(), 3)];
        let strip = Strip::new(1, placed, clocks, held);
        let some = strip.clone().without("3-ab l", 5, "out L", 1);
        assert_eq!(
            (some.placed()[0].1, some.held()[0].1, some.due().len()),
            (2, 2, 2)
        );
        let all = strip.clone().without("3-ab l", 7, "out L", 1);
        assert_eq!(all.placed(), [("R".to_string(), 3)]);
        assert_eq!(all.due(), [("out R".to_string(), 2)]);
        assert_eq!(
            strip.clone().without("3-ab x", 7, "out L", 1),
            strip,
            "nothing of that name"
        );
    }
}
