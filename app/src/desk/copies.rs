//! Copies of the journal, out and in.

use super::burying::mark;
use super::{Desk, Why, wrap};
use crate::device::files::{self, Gone, NotPicked};
use crate::store::{Deed, Shelf};
use pinfold_core::carry::{self, Part, Summary};
use pinfold_core::journal::{Entry, Limits, Reading, Refused};
use pinfold_core::ledger::{DeskCommand, Refusal, Want};
use pinfold_core::practice::own::{self, Unusable};
use pinfold_core::words::copies::EN as COPIES;
use pinfold_core::words::rules::EN;
use std::rc::Rc;

/// The largest file of rules or procedures that is read, in bytes. Policy.
const LIMIT: u64 = 64 * 1024 * 1024;

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

/// What a file that was picked is.
pub enum LookedInto {
    /// A copy, and what bringing it in would do.
    Copy(Rc<Summary>),
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

impl Desk {
    /// Makes sure that no pack is missed: a copy may hold too much, never too little.
    async fn know_all(self) -> Result<(), Why> {
        let store = self.inner().store.borrow().clone();
        self.audit(&store.ok_or(Why::Closed)?).await
    }

    /// Takes a part of the journal out as one file, and writes down that it was made if it is a copy.
    /// Nothing if it cannot be taken: see [`carry::take`].
    pub async fn copy_out(self, part: Part) -> Option<CopyOut> {
        if self.know_all().await.is_err() || self.bring_in(&carry::wanted(part)).await.is_err() {
            return Some(CopyOut::Failed);
        }
        let taken = self.read_now(|l| carry::take(l, part, self.stamp().wall))?;
        let Some(text) = wrap::seal(taken.text).await else {
            return Some(CopyOut::Failed);
        };
        let name = format!("pinfold-{}.jsonl.txt", self.today());
        let gone = files::save(&name, "text/plain", &text).await.into();
        if let (CopyOut::Ready, Some(made)) = (gone, taken.made) {
            let _ = self.act(DeskCommand::CopyMade(made));
        }
        Some(gone)
    }

    /// Gives a text away: to the phone's share sheet, or as a file where it has none. `name` ends in
    /// `.txt`. Straight from a press.
    pub async fn give_text(self, name: &str, text: String) -> CopyOut {
        let gone = if files::can_share() {
            files::share(name, &text).await
        } else {
            files::save(name, "text/plain", text.as_bytes()).await
        };
        gone.into()
    }

    /// Saves a text for another program, of the media type `kind`.
    pub async fn give_file(self, name: &str, kind: &str, text: String) -> CopyOut {
        files::save(name, kind, text.as_bytes()).await.into()
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
        let reading = Reading::new(Limits::HERE);
        let most = u64::try_from(Limits::HERE.bytes).unwrap_or(u64::MAX);
        let picked = match files::pick(".txt,.jsonl,.age,text/plain", most).await {
            Ok(picked) => picked,
            Err(NotPicked::Cancelled) => return LookedInto::Nothing,
            Err(NotPicked::TooBig { size }) => {
                let why = reading.claims(size).err().unwrap_or(Refused::NotAJournal);
                return LookedInto::Refused(COPIES.refused(&why));
            }
            Err(NotPicked::Unreadable) => {
                return LookedInto::Refused(COPIES.refused(&Refused::NotText));
            }
        };
        let Some(text) = wrap::open(picked.text).await else {
            return LookedInto::Refused(COPIES.refused(&Refused::Sealed));
        };
        let carried = match Reading::whole(text.as_bytes(), Limits::HERE) {
            Ok(carried) => carried,
            Err(why) => return LookedInto::Refused(COPIES.refused(&why)),
        };
        // It is set beside what is packed away.
        if self.know_all().await.is_err() {
            return LookedInto::Refused(COPIES.not_read.to_string());
        }
        let mut want = self.read_now(|l| carry::wanted_for(l, &carried));
        while self.bring_in(&want).await.is_ok() {
            match self.read_now(|l| carry::summary(l, &carried)) {
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
        let rows = self.rows(entries.iter())?;
        // Whoever is erased by it goes from this phone too; if it ends before, the next start goes on.
        let marks = [mark(&erased)];
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
