//! Copies of the journal, out and in.

use super::burying::mark;
use super::history::texts;
use super::wrap::{self, Unopened};
use super::{Desk, Why};
use crate::device::files::{self, File, Gone, NotPicked};
use crate::store::{Deed, Shelf, Store};
use js_sys::Uint8Array;
use pinfold_core::base::date::Date;
use pinfold_core::carry::{self, Beside, Copying, PIECE, Part, Summary, Walk};
use pinfold_core::event::copies::Made;
use pinfold_core::journal::{Carried, Entry, Journal, Limits, Reading, Refused};
use pinfold_core::ledger::{DeskCommand, Refusal, Want};
use pinfold_core::practice::own::{self, Unusable};
use pinfold_core::words::copies::EN as COPIES;
use pinfold_core::words::rules::EN;
use std::rc::Rc;
use wasm_bindgen::JsValue;

/// The largest file of rules or procedures that is read, in bytes. Policy.
const LIMIT: u64 = 64 * 1024 * 1024;

/// The media type that phones share.
const TEXT: &str = "text/plain";

/// How many bytes of a copy are read at a time.
const MOUTHFUL: u64 = 1024 * 1024;

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
    // The names say the day, which of several files it is, and whether it is sealed; never whose it is.
    day: Date,
    files: Vec<JsValue>,
    made: Option<Made>,
    /// Whether it is sealed.
    pub sealed: bool,
}

impl Prepared {
    /// How many files it is; each leaves by a press of its own.
    #[must_use]
    pub fn files(&self) -> usize {
        self.files.len()
    }

    fn name(&self, nth: usize) -> String {
        let (day, of) = (self.day, self.files.len());
        let which = if of > 1 {
            format!(".{}-of-{of}", nth + 1)
        } else {
            String::new()
        };
        let kind = if self.sealed {
            "age"
        } else {
            "not-sealed.jsonl"
        };
        format!("pinfold-{day}{which}.{kind}.txt")
    }
}

/// A walk through everything, the packs read on the way and not kept.
struct Through {
    desk: Desk,
    store: Store,
    walk: Walk,
}

impl Through {
    async fn next(&mut self) -> Result<Option<Journal>, Why> {
        let desk = self.desk;
        let Some(step) = desk.read_now(|l| self.walk.step(l)) else {
            return Ok(None);
        };
        let packs = desk.open_packs(texts(&self.store, &step.packs).await?, None);
        Ok(Some(desk.read_now(|l| step.facts(l, packs))))
    }
}

/// What becomes the files of a copy, one after the other.
enum Source {
    /// One file that is there.
    Taken(Vec<u8>),
    /// As many as it takes.
    Through(Box<(Through, Copying)>),
    Done,
}

impl Source {
    /// The next file; `made` is set with the last, if it is a copy.
    async fn next(&mut self, made: &mut Option<Made>) -> Result<Option<Vec<u8>>, &'static str> {
        match std::mem::replace(self, Self::Done) {
            Self::Done => Ok(None),
            Self::Taken(text) => Ok(Some(text)),
            Self::Through(mut both) => {
                let (through, copying) = &mut *both;
                while let Some(facts) = through.next().await.map_err(|_| COPIES.not_read)? {
                    if let Some(file) = copying.take(&facts) {
                        *self = Self::Through(both);
                        return Ok(Some(file.text));
                    }
                }
                let (file, what) = both.1.end().ok_or(COPIES.no_since)?;
                *made = Some(what);
                Ok(Some(file.text))
            }
        }
    }
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
        let piece = files::piece(file, at, at + MOUTHFUL).await.ok_or(None)?;
        let fed = reading.feed(&piece);
        // A sealed file may be longer. Of any other that is too long no second piece is read.
        if fed != Err(Refused::Sealed) {
            reading.claims(size)?;
        }
        fed?;
        at += MOUTHFUL;
    }
    Ok(reading.end()?)
}

impl Desk {
    /// Makes sure that no pack is missed: a copy may hold too much, never too little.
    async fn know_all(self) -> Result<(), Why> {
        let store = self.inner().store.borrow().clone();
        self.audit(&store.ok_or(Why::Closed)?).await
    }

    fn through(self) -> Result<Through, Why> {
        let store = self.inner().store.borrow().clone();
        Ok(Through {
            desk: self,
            store: store.ok_or(Why::Closed)?,
            walk: self.read_now(Walk::new),
        })
    }

    /// Takes a part of the journal out and seals it, as one file or as several. It does not leave yet:
    /// see [`Desk::give_copy`].
    ///
    /// # Errors
    /// Words for a person: it cannot be taken (see [`carry::take`]), or was not sealed.
    pub async fn copy_out(self, wrapped: Wrapped) -> Result<Prepared, &'static str> {
        // Nothing is packed meanwhile: it could be met in neither place.
        let _hush = self.hush().await;
        let not_read = |_| COPIES.not_read;
        self.know_all().await.map_err(not_read)?;
        let now = self.stamp().wall;
        let part = match &wrapped {
            Wrapped::Sealed(part, _) => *part,
            Wrapped::PlainProcedures => Part::Procedures,
        };
        let mut source = if matches!(part, Part::Whole | Part::Since) {
            let copying = self.read_now(|l| Copying::new(l, part, now, PIECE));
            let copying = copying.ok_or(COPIES.no_since)?;
            Source::Through(Box::new((self.through().map_err(not_read)?, copying)))
        } else {
            let read = self.bring_in(&carry::wanted(part)).await;
            read.map_err(not_read)?;
            let taken = self.read_now(|l| carry::take(l, part, now));
            Source::Taken(taken.ok_or(COPIES.not_read)?.text)
        };
        let mut copy = Prepared {
            day: self.today(),
            files: Vec::new(),
            made: None,
            sealed: matches!(wrapped, Wrapped::Sealed(..)),
        };
        while let Some(text) = source.next(&mut copy.made).await? {
            let content = match &wrapped {
                Wrapped::Sealed(_, passphrase) => wrap::seal(&text, passphrase).await?,
                Wrapped::PlainProcedures => Uint8Array::from(text.as_slice()).into(),
            };
            // Several files are much: the browser keeps them better.
            let file = files::blob(&content, TEXT);
            copy.files.push(file.map_or(content, Into::into));
        }
        Ok(copy)
    }

    /// Lets one file of a copy leave, straight from a press, by the share sheet or as a saved file; and
    /// writes down with the last that a copy was made, if it is one.
    pub async fn give_copy(self, copy: &Prepared, nth: usize, share: bool) -> CopyOut {
        let Some(file) = copy.files.get(nth) else {
            return CopyOut::Failed;
        };
        let name = copy.name(nth);
        let gone = if share {
            files::share(&name, file).await
        } else {
            files::save(&name, TEXT, file).await
        };
        let gone = gone.into();
        let last = nth + 1 == copy.files.len();
        if let (CopyOut::Ready, true, Some(made)) = (gone, last, &copy.made) {
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
            files::save(name, TEXT, &text).await
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

    /// Lets go of what was read in for an earlier file: several of them would fill the phone's memory.
    /// Only the page of copies, which shows none of it, may ask for this.
    async fn put_away(self) {
        // Not while somebody else reads their way through.
        let _hush = self.hush().await;
        let wanted = self.read_now(carry::apart);
        self.inner().ledger.borrow_mut().put_away(&[wanted]);
    }

    /// Lets a copy be picked and looks into it. Nothing is changed by it.
    pub async fn look_into(self) -> LookedInto {
        let file = match files::choose(".txt,.jsonl,.age,text/plain").await {
            Ok(file) => file,
            Err(NotPicked::Cancelled) => return LookedInto::Nothing,
            Err(_) => return LookedInto::Refused(COPIES.unreadable.to_string()),
        };
        self.put_away().await;
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
        let mut beside = Beside::new(carried);
        if beside.wanted() {
            let _hush = self.hush().await;
            let seen = async {
                let mut through = self.through()?;
                while let Some(facts) = through.next().await? {
                    beside.take(&facts);
                }
                Ok::<_, Why>(())
            };
            if seen.await.is_err() {
                return LookedInto::Refused(COPIES.not_read.to_string());
            }
        }
        let mut want = self.read_now(|l| carry::wanted_for(l, carried));
        while self.bring_in(&want).await.is_ok() {
            match self.read_now(|l| carry::summary(l, beside.clone())) {
                Ok(seen) => return LookedInto::Copy(Rc::new(seen)),
                Err(Refusal::LoadFirst(streams)) => want = Want::Streams(streams),
                Err(_) => break,
            }
        }
        LookedInto::Refused(COPIES.not_read.to_string())
    }

    /// Brings in what was looked into. What is new is stored in one transaction first, and only then
    /// merged, once: after an error nothing is changed here. How many facts came.
    ///
    /// # Errors
    /// Words for a person: why it was not.
    pub async fn bring(self, seen: &Summary) -> Result<usize, &'static str> {
        let inner = self.inner();
        let store = inner.store.borrow().clone().ok_or(COPIES.not_kept)?;
        let _hush = self.hush().await;
        let touched = self.read_now(|l| l.touched(&seen.journal));
        let read = self.bring_in(&Want::Streams(touched)).await;
        read.map_err(|_| COPIES.not_read)?;
        // Needles may have come in since it was looked into.
        if !self
            .read_now(|l| carry::at_chair(l, &seen.journal))
            .is_empty()
        {
            return Err(COPIES.at_chair_why);
        }
        let (entries, erased): (Vec<Entry>, _) = self.read_now(|l| {
            let here = l.journal();
            let texts = seen.journal.texts().map(|text| here.admitted(text));
            let new = texts.filter(|t| !here.holds(t)).collect();
            (new, l.erased_by(&seen.journal))
        });
        // Whoever is erased by it goes from this phone too; if it ends before, the next start goes on.
        let marks = mark(&store, &erased).await;
        let marks = [marks.map_err(|_| COPIES.not_kept)?];
        let rows = self.rows(entries.iter()).ok_or(COPIES.not_kept)?;
        let marks = marks.get(..usize::from(!erased.is_empty()));
        let deeds = [
            Deed::Keep(Shelf::Rows, &rows),
            Deed::Lay(Shelf::Meta, marks.unwrap_or_default()),
        ];
        if !rows.is_empty()
            && let Err(why) = store.change(&deeds).await
        {
            // A key that was made is in use from now on: it must not be lost with the copy.
            store.append(Self::keys_in(rows));
            return Err(match why {
                Why::Slow => COPIES.unsure,
                _ => COPIES.not_kept,
            });
        }
        // It was all read in before the wait, and stays so.
        let merged = inner.ledger.borrow_mut().merge(&seen.journal);
        merged.map_err(|_| COPIES.unsure)?;
        self.changed();
        if let Some(brought) = seen.brought() {
            let _ = self.act(DeskCommand::Brought(brought));
        }
        if !erased.is_empty() && self.bury_left(&store, &erased).await.is_err() {
            inner.history.swept.set(false);
        }
        Ok(entries.len())
    }
}
