//! Copies of the journal, out and in.

use super::burying::mark;
use super::wrap::{self, Unopened};
use super::{Desk, Why};
use crate::device::files::{self, File, Gone, NotPicked};
use crate::store::{Deed, Shelf};
use js_sys::Uint8Array;
use pinfold_core::carry::{self, Part, Summary};
use pinfold_core::event::copies::Made;
use pinfold_core::journal::{Carried, Entry, Limits, Reading, Refused};
use pinfold_core::ledger::{DeskCommand, Refusal, Want};
use pinfold_core::practice::own::{self, Unusable};
use pinfold_core::words::copies::EN as COPIES;
use pinfold_core::words::rules::EN;
use std::rc::Rc;
use wasm_bindgen::JsValue;

/// The largest file of rules or procedures that is read, in bytes. Policy.
const LIMIT: u64 = 64 * 1024 * 1024;

/// How many bytes of a copy are read at a time.
const PIECE: u64 = 1024 * 1024;

/// What became of a copy that was to go out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CopyOut {
    /// The file is written, or handed to the phone.
    Ready,
    /// The person gave up.
    Given,
    /// It could not be written.
    Failed,
}

impl From<Gone> for CopyOut {
    fn from(gone: Gone) -> Self {
        match gone {
            Gone::Written | Gone::Handed => Self::Ready,
            Gone::Cancelled => Self::Given,
            Gone::Refused => Self::Failed,
        }
    }
}

/// How a copy leaves. What has people in it has no way out but sealed.
#[derive(Clone)]
pub enum Wrapped {
    /// Sealed behind this passphrase.
    Sealed(Part, String),
    /// Procedures of the practice's own, readable by anybody, by choice.
    PlainProcedures,
}

/// A copy that is ready to leave: the share sheet and the dialog of places open only from a fresh press,
/// which sealing would outlast.
pub struct Prepared {
    /// Its name says the day and whether it is sealed, never whose it is.
    name: String,
    content: JsValue,
    made: Option<Made>,
    /// Whether it is sealed.
    pub sealed: bool,
    /// Whether it is longer than a copy that is brought in may be.
    pub too_long: bool,
}

/// Whether this browser has a share sheet that takes a copy.
#[must_use]
pub fn can_share() -> bool {
    files::can_share()
}

/// Whether this browser asks where a copy is to be saved; else it goes to the downloads.
#[must_use]
pub fn can_ask_where() -> bool {
    files::can_ask_where()
}

/// A sealed file that was picked, and is not opened yet.
pub struct SealedFile(File);

/// What a file that was picked is.
pub enum LookedInto {
    /// A copy, and what bringing it in would do.
    Copy(Rc<Summary>),
    /// A sealed copy, in which nothing wrong shows from outside: its passphrase is to be asked for.
    Sealed(Rc<SealedFile>),
    /// That passphrase does not open it; another may.
    WrongPassphrase,
    /// Nothing can be taken from it: in words.
    Refused(String),
    /// Nothing was picked.
    Nothing,
}

/// What became of picking a file.
pub enum Picked {
    /// Its text.
    Text(String),
    /// None was picked.
    Nothing,
    /// It is larger than is read, or no text.
    TooMuch,
}

fn unopened(why: &Unopened) -> LookedInto {
    match why {
        Unopened::Passphrase => LookedInto::WrongPassphrase,
        Unopened::Never(why) => LookedInto::Refused((*why).to_string()),
    }
}

/// Reads a file that was picked, piece by piece: what is too much ends it, whatever its size.
/// Nothing refused it if the phone would not read it.
async fn in_pieces(file: &File) -> Result<Carried, Option<Refused>> {
    let size = files::size(file);
    let mut reading = Reading::new(Limits::HERE);
    let mut at = 0;
    while at < size {
        let piece = files::piece(file, at, at + PIECE).await.ok_or(None)?;
        let fed = reading.feed(&piece);
        // A sealed file may be longer. Of any other that is too long no second piece is read.
        if fed != Err(Refused::Sealed) {
            reading.claims(size)?;
        }
        fed?;
        at += PIECE;
    }
    Ok(reading.end()?)
}

impl Desk {
    /// Makes sure that no pack is missed: a copy may hold too much, never too little.
    async fn know_all(self) -> Result<(), Why> {
        let store = self.inner().store.borrow().clone();
        self.audit(&store.ok_or(Why::Closed)?).await
    }

    /// Takes a part of the journal out as one file and seals it. It does not leave yet: see
    /// [`Desk::give_copy`].
    ///
    /// # Errors
    /// Words for a person: it cannot be taken (see [`carry::take`]), or was not sealed.
    pub async fn copy_out(self, wrapped: Wrapped) -> Result<Prepared, &'static str> {
        let part = match wrapped {
            Wrapped::Sealed(part, _) => part,
            Wrapped::PlainProcedures => Part::Procedures,
        };
        if self.know_all().await.is_err() || self.bring_in(&carry::wanted(part)).await.is_err() {
            return Err(COPIES.not_read);
        }
        let taken = self.read_now(|l| carry::take(l, part, self.stamp().wall));
        let taken = taken.ok_or(COPIES.no_since)?;
        let (content, kind) = match &wrapped {
            Wrapped::Sealed(_, passphrase) => (wrap::seal(&taken.text, passphrase).await?, "age"),
            Wrapped::PlainProcedures => (
                Uint8Array::from(taken.text.as_slice()).into(),
                "not-sealed.jsonl",
            ),
        };
        Ok(Prepared {
            name: format!("pinfold-{}.{kind}.txt", self.today()),
            content,
            made: taken.made,
            sealed: matches!(wrapped, Wrapped::Sealed(..)),
            too_long: taken.text.len() > Limits::HERE.bytes,
        })
    }

    /// Lets a copy leave, straight from a press, by the share sheet or as a saved file; and writes down
    /// that it was made if it is one.
    pub async fn give_copy(self, copy: &Prepared, share: bool) -> CopyOut {
        let gone = if share {
            files::share(&copy.name, &copy.content).await
        } else {
            files::save(&copy.name, "text/plain", &copy.content).await
        };
        let gone = gone.into();
        if let (CopyOut::Ready, Some(made)) = (gone, &copy.made) {
            let _ = self.act(DeskCommand::CopyMade(made.clone()));
        }
        gone
    }

    /// Gives a text away: to the phone's share sheet, or as a file where it has none. `name` ends in
    /// `.txt`. Straight from a press.
    pub async fn give_text(self, name: &str, text: String) -> CopyOut {
        let text = text.into();
        let gone = if files::can_share() {
            files::share(name, &text).await
        } else {
            files::save(name, "text/plain", &text).await
        };
        gone.into()
    }

    /// Saves a text for another program, of the media type `kind`.
    pub async fn give_file(self, name: &str, kind: &str, text: String) -> CopyOut {
        files::save(name, kind, &text.into()).await.into()
    }

    /// Lets a file of text be picked, to be read by whoever asked; nothing is changed by it.
    pub async fn pick_text(self) -> Picked {
        match files::pick(".txt,.json,text/plain", LIMIT).await {
            Ok(picked) => Picked::Text(picked.text),
            Err(NotPicked::Cancelled) => Picked::Nothing,
            Err(_) => Picked::TooMuch,
        }
    }

    /// An id that no rule of the practice's own has.
    #[must_use]
    pub fn free_rule_id(&self) -> String {
        let taken = self.read_now(|l| l.practice().own_rules());
        (1..)
            .map(|n| format!("{}{n}", own::OWN))
            .find(|id| !taken.iter().any(|rule| rule.id == *id))
            .unwrap_or_default()
    }

    /// Brings a file of rules in; says in words what became of it, or nothing if none was picked. A
    /// rule that is here already is left; another under a taken id is given a free one.
    pub async fn bring_rules(self) -> Option<String> {
        let picked = match files::pick(".txt,.json,text/plain", LIMIT).await {
            Ok(picked) => picked,
            Err(NotPicked::Cancelled) => return None,
            Err(_) => return Some(EN.not_rules.to_string()),
        };
        let read = self.books(|b| own::read(&picked.text, &b.knowledge.bank, &b.knowledge.rules));
        let rules = match read {
            Ok(Ok(rules)) => rules,
            Ok(Err(Unusable::Rule(fault))) => return Some(EN.slip(&fault)),
            _ => return Some(EN.not_rules.to_string()),
        };
        let mut new = 0;
        for mut rule in rules {
            let here = self.read_now(|l| l.practice().own_rules());
            if here.contains(&rule) {
                continue;
            }
            if here.iter().any(|known| known.id == rule.id) {
                rule.id = self.free_rule_id();
            }
            if self.act(DeskCommand::Set(rule.setting())).is_ok() {
                new += 1;
            }
        }
        Some(EN.brought(new))
    }

    /// Lets a copy be picked and looks into it. Nothing is changed by it.
    pub async fn look_into(self) -> LookedInto {
        let file = match files::choose(".txt,.jsonl,.age,text/plain").await {
            Ok(file) => file,
            Err(NotPicked::Cancelled) => return LookedInto::Nothing,
            Err(_) => return LookedInto::Refused(COPIES.unreadable.to_string()),
        };
        match in_pieces(&file).await {
            Ok(carried) => self.summed(&carried).await,
            Err(Some(Refused::Sealed)) => match wrap::look(&file).await {
                Ok(()) => LookedInto::Sealed(Rc::new(SealedFile(file))),
                Err(why) => unopened(&why),
            },
            Err(Some(why)) => LookedInto::Refused(COPIES.refused(&why)),
            Err(None) => LookedInto::Refused(COPIES.unreadable.to_string()),
        }
    }

    /// Looks into a sealed copy with its passphrase. Nothing is changed by it.
    pub async fn look_inside(self, sealed: &SealedFile, passphrase: &str) -> LookedInto {
        match wrap::open(&sealed.0, passphrase).await {
            Ok(text) => match Reading::whole(&text, Limits::HERE) {
                Ok(carried) => self.summed(&carried).await,
                Err(why) => LookedInto::Refused(COPIES.refused(&why)),
            },
            Err(why) => unopened(&why),
        }
    }

    /// Sets a file beside what is here, and beside what is packed away.
    async fn summed(self, carried: &Carried) -> LookedInto {
        if self.know_all().await.is_err() {
            return LookedInto::Refused(COPIES.not_read.to_string());
        }
        let mut want = self.read_now(|l| carry::wanted_for(l, carried));
        while self.bring_in(&want).await.is_ok() {
            match self.read_now(|l| carry::summary(l, carried)) {
                Ok(seen) => return LookedInto::Copy(Rc::new(seen)),
                Err(Refusal::LoadFirst(streams)) => want = Want::Streams(streams),
                Err(_) => break,
            }
        }
        LookedInto::Refused(COPIES.not_read.to_string())
    }

    /// Brings in what was looked into. What is new is stored in one transaction first, and only then
    /// merged, once: after an error nothing is changed. How many facts came; nothing if the phone did
    /// not keep them.
    pub async fn bring(self, seen: &Summary) -> Option<usize> {
        let inner = self.inner();
        let store = inner.store.borrow().clone()?;
        let _hush = self.hush().await;
        let touched = self.read_now(|l| l.touched(&seen.journal));
        self.bring_in(&Want::Streams(touched)).await.ok()?;
        let (entries, erased): (Vec<Entry>, _) = self.read_now(|l| {
            let here = l.journal();
            let texts = seen.journal.texts().map(|text| here.admitted(text));
            let new = texts.filter(|t| !here.holds(t)).collect();
            (new, l.erased_by(&seen.journal))
        });
        // Whoever is erased by it goes from this phone too; if it ends before, the next start goes on.
        let marks = [mark(&store, &erased).await.ok()?];
        let rows = self.rows(entries.iter())?;
        let marks = marks.get(..usize::from(!erased.is_empty()));
        let deeds = [
            Deed::Keep(Shelf::Rows, &rows),
            Deed::Lay(Shelf::Meta, marks.unwrap_or_default()),
        ];
        if !rows.is_empty() && store.change(&deeds).await.is_err() {
            // A key that was made is in use from now on: it must not be lost with the copy.
            store.append(Self::keys_in(rows));
            return None;
        }
        // It was all read in before the wait, and stays so.
        inner.ledger.borrow_mut().merge(&seen.journal).ok()?;
        self.changed();
        if let Some(brought) = seen.brought() {
            let _ = self.act(DeskCommand::Brought(brought));
        }
        if !erased.is_empty() && self.bury_left(&store, &erased).await.is_err() {
            inner.history.swept.set(false);
        }
        Some(entries.len())
    }
}
