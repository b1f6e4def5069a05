//! Copies of the journal, out and in.

use super::{Desk, row};
use crate::device::files::{self, Gone, NotPicked};
use pinfold_core::journal::Journal;
use pinfold_core::ledger::{DeskCommand, Want};
use pinfold_core::practice::own::{self, Unusable};
use pinfold_core::words::rules::EN;

/// The largest file that is read, in bytes. Policy.
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

/// What became of a copy that was to come in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CopyIn {
    /// So many entries were new; so many lines could not be read, and are kept.
    Brought {
        /// Entries that were not here.
        new: usize,
        /// Lines that are no entries.
        flaws: usize,
    },
    /// It is no journal.
    NotACopy,
    /// Larger than a copy can be.
    TooLarge,
    /// Nothing was picked.
    Nothing,
    /// The browser did not keep it: nothing was changed.
    NotKept,
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
    /// Takes the whole journal out as one file.
    pub async fn copy_out(self) -> CopyOut {
        if self.bring_in(&Want::Everything).await.is_err() {
            return CopyOut::Failed;
        }
        let (bytes, day) = {
            let inner = self.inner();
            let ledger = inner.ledger.borrow();
            (ledger.journal().to_lines(), self.today())
        };
        let name = format!("pinfold-{day}.jsonl.txt");
        files::save(&name, "text/plain", &bytes).await.into()
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

    /// Brings a copy in. What is new is stored in one transaction first, and only then shown: after
    /// an error nothing is changed.
    pub async fn copy_in(self) -> CopyIn {
        let picked = match files::pick(".txt,.jsonl,text/plain", LIMIT).await {
            Ok(picked) => picked,
            Err(NotPicked::TooBig { .. }) => return CopyIn::TooLarge,
            Err(NotPicked::Cancelled) => return CopyIn::Nothing,
            Err(NotPicked::Unreadable) => return CopyIn::NotACopy,
        };
        self.bring(picked.text.as_bytes()).await
    }

    /// Brings the text of a copy in.
    pub async fn bring(self, bytes: &[u8]) -> CopyIn {
        let read = Journal::from_lines(bytes);
        if read.journal.is_empty() {
            return CopyIn::NotACopy;
        }
        // What it touches is set beside what is packed away.
        let want = match read.journal.tombs().next() {
            Some(_) => Want::Everything,
            None => Want::Streams(read.journal.streams().collect()),
        };
        if self.bring_in(&want).await.is_err() {
            return CopyIn::NotKept;
        }
        let inner = self.inner();
        let (rows, before) = {
            let ledger = inner.ledger.borrow();
            let known = ledger.journal();
            let rows: Vec<_> = read
                .journal
                .iter()
                .filter(|entry| known.get(entry.id) != Some(*entry))
                .map(row)
                .collect();
            (rows, known.len())
        };
        let store = inner.store.borrow().clone();
        let Some(store) = store else {
            return CopyIn::NotKept;
        };
        if !rows.is_empty() && store.append_all(&rows).await.is_err() {
            return CopyIn::NotKept;
        }
        if inner.ledger.borrow_mut().merge(&read.journal).is_err() {
            return CopyIn::NotKept;
        }
        let after = inner.ledger.borrow().journal().len();
        self.changed();
        self.tidy();
        CopyIn::Brought {
            new: after.saturating_sub(before),
            flaws: read.flaws.len(),
        }
    }
}
