//! Erasing: what is kept of a person goes in one transaction with their tombstone, what is left of them
//! and their key. Until that is complete nothing of it is gone; once it is, all of it.

use super::history::{pack_names, texts};
use super::passphrase::all_saved;
use super::sealing::{Guard, KEY};
use super::{Desk, Why};
use crate::store::{Deed, Row, Shelf, Store};
use pinfold_core::base::id::EntryId;
use pinfold_core::journal::KeyId;
use pinfold_core::ledger::{Command, DeskCommand, Refusal, Want};

/// The row of the store's small facts that names people whose erasing is not finished here.
const ERASING: &str = "erasing";

/// What became of erasing somebody.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Erased {
    /// Gone, also from what is kept on this phone.
    Gone,
    /// Gone from the journal; what is kept on this phone is still to be taken away.
    RowsLeft,
    /// Needles are in.
    NeedlesIn,
    /// There is nobody of that name.
    Nobody,
    /// What is kept of them could not be read; nothing was changed.
    NotRead,
    /// Something is not saved yet; nothing was changed.
    NotSaved,
}

/// People whose erasing is to be finished.
async fn marked(store: &Store) -> Result<Vec<EntryId>, Why> {
    let mark = store.read_one(Shelf::Meta, ERASING).await?;
    let ids = mark.unwrap_or_default();
    Ok(ids.split(' ').filter_map(|id| id.parse().ok()).collect())
}

fn row(people: &[EntryId]) -> Row {
    let people = people.iter().map(ToString::to_string);
    Row {
        key: ERASING.into(),
        text: people.collect::<Vec<_>>().join(" "),
    }
}

/// The row that says whose erasing is to be finished: these, and whoever it names already.
///
/// # Errors
/// What stood in the way of reading whom it names.
pub(super) async fn mark(store: &Store, people: &[EntryId]) -> Result<Row, Why> {
    let mut all = marked(store).await?;
    all.retain(|id| !people.contains(id));
    all.extend(people);
    Ok(row(&all))
}

impl Desk {
    /// Erases a person, and takes away what is kept of them on this phone.
    pub async fn erase(self, person: EntryId) -> Erased {
        let inner = self.inner();
        let Some(store) = inner.store.borrow().clone() else {
            return Erased::NotRead;
        };
        let _hush = self.hush().await;
        if self.audit(&store).await.is_err() {
            return Erased::NotRead;
        }
        let command = Command::Desk(DeskCommand::Erase(person));
        let mut want = Want::Person(person, 0);
        let mut marked = false;
        let (keys, facts) = loop {
            if self.bring_in(&want).await.is_err() {
                return Erased::NotRead;
            }
            if all_saved(&store).await.is_err() {
                return Erased::NotSaved;
            }
            let Ok(keys) = store.keys(Shelf::Rows).await else {
                return Erased::NotRead;
            };
            match self.decide(&command) {
                // Marked before it is done: whatever fails then, a later start goes on with it. A mark of
                // somebody who is not erased says nothing.
                Ok(_) if !marked => {
                    let Ok(row) = mark(&store, &[person]).await else {
                        return Erased::NotSaved;
                    };
                    if store.lay(Shelf::Meta, &[row]).await.is_err() {
                        return Erased::NotSaved;
                    }
                    marked = true;
                }
                Ok(facts) => break (keys, facts),
                Err(Refusal::LoadFirst(streams)) => want = Want::Streams(streams),
                Err(Refusal::NeedlesIn(_)) => return Erased::NeedlesIn,
                Err(_) => return Erased::Nobody,
            }
        };
        let Some(rows) = self.rows(facts.entries().iter()) else {
            return Erased::NotSaved;
        };
        inner.ledger.borrow_mut().append(&facts);
        self.changed();
        if self.destroy(&store, &[person], &rows, &keys).await.is_ok() {
            return Erased::Gone;
        }
        // The word stands all the same, and the next start goes on with it.
        store.append(rows);
        inner.history.swept.set(false);
        Erased::RowsLeft
    }

    /// Finishes what was begun: takes away what is kept of people who are erased in the journal.
    ///
    /// # Errors
    /// What stood in the way. What is kept is as it was.
    pub(super) async fn bury_left(&self, store: &Store, people: &[EntryId]) -> Result<(), Why> {
        self.audit(store).await?;
        while let Err(Refusal::LoadFirst(streams)) = self.read_now(|l| l.burial(people)) {
            self.bring_in(&Want::Streams(streams)).await?;
        }
        let keys = store.keys(Shelf::Rows).await?;
        self.destroy(store, people, &[], &keys).await
    }

    /// The same after a start.
    pub(super) async fn finish_erasing(&self, store: &Store) {
        let Ok(mut people) = marked(store).await else {
            return;
        };
        people.retain(|id| self.read_now(|l| l.journal().destroyed(KeyId::Person(*id))));
        if !people.is_empty() {
            // Where it fails it is met again at the next start.
            let _ = self.bury_left(store, &people).await;
        }
    }

    /// In one transaction: `rows` come; rows, packs, sheets and keys of these people go, and what is
    /// left of them comes in their place. `keys`: those of all rows that are kept.
    async fn destroy(
        &self,
        store: &Store,
        people: &[EntryId],
        rows: &[Row],
        keys: &[String],
    ) -> Result<(), Why> {
        let inner = self.inner();
        // Others who are marked stay so.
        let mut left = marked(store).await?;
        left.retain(|id| !people.contains(id));
        let (gone_mark, new_mark) = ([ERASING.to_string()], [row(&left)]);
        let mark = if left.is_empty() {
            Deed::Remove(Shelf::Meta, &gone_mark)
        } else {
            Deed::Lay(Shelf::Meta, &new_mark)
        };
        let burial = self.read_now(|l| l.burial(people));
        let burial = burial.map_err(|_| Why::Busy)?;
        let bare = self.rows(burial.rows.iter()).ok_or(Why::Other)?;
        let new = burial.packs.iter().filter_map(|one| one.new.as_ref());
        let packs: Option<Vec<Row>> = new.map(|packed| self.pack_row(packed)).collect();
        let packs = packs.ok_or(Why::Other)?;
        // Sealed, a pack that cannot be read needs the key that goes; plain, anybody may read in it.
        let plain = matches!(&*inner.guard.borrow(), Guard::Plain);
        let names = |one: &pinfold_core::ledger::Repacked| -> Vec<String> {
            let flawed = one.flawed.iter().filter(|_| plain).map(|(name, _)| name);
            one.old
                .iter()
                .chain(flawed)
                .map(ToString::to_string)
                .collect()
        };
        let old: Vec<String> = burial.packs.iter().flat_map(names).collect();
        let theirs = people
            .iter()
            .map(|id| format!("{KEY}{}", KeyId::Person(*id)));
        let of_it = |key: &&String| {
            let name = key.split_once('~').map_or(key.as_str(), |(name, _)| name);
            bare.iter().any(|row| row.key == name)
        };
        let gone = keys.iter().filter(of_it).cloned().chain(theirs);
        let gone: Vec<String> = gone.collect();
        inner.ledger.borrow_mut().bury(&burial, plain);
        // Every sheet may name them.
        let laid = match self.whole_base() {
            Some(base) => {
                let deeds = [
                    Deed::Keep(Shelf::Rows, rows),
                    Deed::Remove(Shelf::Rows, &gone),
                    Deed::Keep(Shelf::Rows, &bare),
                    Deed::Remove(Shelf::Packs, &old),
                    Deed::Lay(Shelf::Packs, &packs),
                    Deed::Remove(Shelf::Summaries, &base.gone),
                    Deed::Lay(Shelf::Summaries, &base.rows),
                    mark,
                ];
                store.change(&deeds).await.map(|()| base)
            }
            None => Err(Why::Other),
        };
        match laid {
            Ok(base) => {
                self.base_is_laid(base);
                self.forget_keys(people);
                Ok(())
            }
            Err(why) => {
                inner.ledger.borrow_mut().unbury(&burial);
                Err(why)
            }
        }
    }

    /// Seals what was packed plainly, and lays every sheet anew. True if nothing plain was found.
    ///
    /// # Errors
    /// What stood in the way. What was sealed is sealed; it can be gone on with.
    pub(super) async fn seal_packs(&self, store: &Store) -> Result<bool, Why> {
        use pinfold_core::seal::Codec;
        let mut none = true;
        for names in pack_names(store).await?.chunks(64) {
            let plain = texts(store, names).await?.into_iter().filter(|(_, text)| {
                let text = text.as_deref().unwrap_or_default();
                Codec::of(text) == Some(Codec::Plain)
            });
            let sealed = self.packs_anew(plain).ok_or(Why::Other)?;
            if sealed.packs.is_empty() {
                continue;
            }
            none = false;
            // A key is kept with what is sealed under it, and tried again if that fails.
            let deeds = [
                Deed::Keep(Shelf::Rows, &sealed.keys),
                Deed::Lay(Shelf::Packs, &sealed.packs),
            ];
            if let Err(why) = store.change(&deeds).await {
                store.append(sealed.keys);
                return Err(why);
            }
        }
        let sheets = store.read(Shelf::Summaries).await?;
        let plain = |row: &Row| Codec::of(&row.text) == Some(Codec::Plain);
        if sheets.iter().any(plain) {
            none = false;
            let base = self.whole_base().ok_or(Why::Other)?;
            // Whatever lies there goes, also what was never listed.
            let gone: Vec<String> = sheets.into_iter().map(|row| row.key).collect();
            let deeds = [
                Deed::Remove(Shelf::Summaries, &gone),
                Deed::Lay(Shelf::Summaries, &base.rows),
            ];
            store.change(&deeds).await?;
            self.base_is_laid(base);
        }
        Ok(none)
    }
}
