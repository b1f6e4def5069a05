//! What can wait, in idle moments: packing what is closed, summing up again what is not believed, laying
//! a new base of sheets, finishing an erasure. Nothing that starts reaches it: it comes with the pages.

use super::history::{Late, pack_names, texts};
use super::sealing::Openers;
use super::{Desk, Standing};
use crate::device::{clock, idle};
use crate::store::{Row, Store, Why};
use pinfold_core::base::id::{EntryId, Stream};
use pinfold_core::base::stamp::Wall;
use pinfold_core::ledger::{Ledger, Packing, SheetName, Want};
use wasm_bindgen_futures::spawn_local;

/// Packs that are read, or streams that are packed, in one idle moment. Policy.
const SLICE: usize = 16;
/// Streams that are summed up again without a pause: all of it is one task. Policy.
const LEARNT: usize = 8;
/// Small sheets from which on a new base is laid. Policy: a start reads no more of them.
const MOST_SINCE: usize = 64;
/// How long nothing is said of a person before they are packed without a visit, in milliseconds. Policy.
const QUIET: i64 = 12 * 3_600_000;
/// Streams on one sheet of a base. Policy.
const SHEET: usize = 240;

/// A whole new base, to be laid in one transaction.
pub(super) struct Base {
    /// Its sheets.
    pub(super) rows: Vec<Row>,
    /// The keys of those it takes the place of.
    pub(super) gone: Vec<String>,
    names: Vec<SheetName>,
    seq: u64,
}

/// While this is held nothing is tidied.
pub(super) struct Hush(Desk);

impl Drop for Hush {
    fn drop(&mut self) {
        let inner = self.0.inner();
        let history = &inner.history;
        history.taken.set(false);
        history.hushed.set(history.hushed.get().saturating_sub(1));
        self.0.tidy();
    }
}

/// What is packed next: closed sessions, and with them whoever they belong to; of others, who was not
/// spoken of for a while, so that one visit does not make many packs.
fn to_pack(ledger: &Ledger) -> Vec<Packing> {
    let streams = ledger.packable();
    let session = |stream: &&Stream| matches!(stream, Stream::Session(_));
    let closed = streams.iter().filter(session);
    let mut packings: Vec<Packing> = closed
        .filter_map(|stream| ledger.pack(*stream))
        .take(SLICE)
        .collect();
    let visited: Vec<EntryId> = packings
        .iter()
        .filter_map(|p| match p.packed.name.stream {
            Stream::Session(id) => ledger.visit(id)?.person,
            _ => None,
        })
        .collect();
    let before = Wall(clock::wall() - QUIET);
    let due = |stream: &&Stream| match stream {
        Stream::Person(id) if visited.contains(id) => true,
        Stream::Person(_) => ledger.latest_of(**stream) < Some(before),
        _ => false,
    };
    let people = streams.iter().filter(due).filter_map(|s| ledger.pack(*s));
    packings.extend(people.take(SLICE));
    packings
}

impl Desk {
    /// Hands the desk what comes with the pages, and begins to see to what can wait.
    pub fn begin_tidying(&self) {
        let inner = self.inner();
        inner.history.late.set(Some(Late {
            tidy: Self::tidy_now,
            give_again: Self::give_again,
            sealed: Openers::new(),
        }));
        if inner.history.emptied.take() {
            self.give_again();
        }
        self.tidy();
    }

    /// Waits until nothing is being tidied, and keeps it so.
    pub(super) async fn hush(&self) -> Hush {
        let inner = self.inner();
        let history = &inner.history;
        history.hushed.set(history.hushed.get().saturating_add(1));
        // One after the other: a base that was worked out before an erasure must not come after it.
        while history.tidying.get() || history.taken.get() {
            idle::moment().await;
        }
        history.taken.set(true);
        Hush(*self)
    }

    fn tidy_now(self) {
        let desk = self;
        let inner = self.inner();
        if inner.history.tidying.replace(true) {
            inner.history.again.set(true);
            return;
        }
        spawn_local(async move {
            loop {
                idle::moment().await;
                let store = inner.store.borrow().clone();
                let ready = desk.standing.get_untracked() == Standing::Ready;
                let ready = ready && inner.history.hushed.get() == 0;
                let Some(store) = store.filter(|_| ready) else {
                    break;
                };
                match desk.slice(&store).await {
                    Ok(true) => {}
                    Ok(false) if inner.history.again.take() => {}
                    // What could not be done now is done after the next start or close.
                    Ok(false) | Err(_) => break,
                }
            }
            inner.history.tidying.set(false);
        });
    }

    /// One slice of that work. Whether there may be more.
    async fn slice(&self, store: &Store) -> Result<bool, Why> {
        let inner = self.inner();
        if !inner.history.audited.get() {
            self.audit(store).await?;
            return Ok(true);
        }
        if let Some(rare) = inner.history.rare.get()
            && !inner.history.swept.replace(true)
        {
            (rare.finish_erasing)(*self, store.clone()).await;
            return Ok(true);
        }
        let (mut tried, mut streams) = (false, Vec::new());
        for _ in 0..SLICE / LEARNT {
            let names = self.read_now(|ledger| ledger.to_learn(LEARNT));
            if names.is_empty() {
                break;
            }
            tried = true;
            let packs = self.open_packs(texts(store, &names).await?, None);
            streams.extend(inner.ledger.borrow_mut().learn(packs));
        }
        if tried {
            self.lay_since(store, &streams, &[]).await?;
            // What was learned may be open, and whatever is open is read in.
            self.load(store, &Want::Start, None).await?;
            self.changed();
            return Ok(!streams.is_empty());
        }
        let packings = self.read_now(to_pack);
        if !packings.is_empty() {
            self.pack_away(store, &packings).await?;
            return Ok(true);
        }
        if self.small_sheets() > MOST_SINCE {
            return self.lay_base(store).await;
        }
        Ok(false)
    }

    /// Sets the names of all packs beside the directory, once in each run.
    pub(super) async fn audit(&self, store: &Store) -> Result<(), Why> {
        let inner = self.inner();
        if inner.history.audited.get() {
            return Ok(());
        }
        let names = pack_names(store).await?;
        let changed = inner.ledger.borrow_mut().audit(names);
        inner.history.audited.set(true);
        if !changed.is_empty() {
            self.load(store, &Want::Start, None).await?;
            self.changed();
        }
        Ok(())
    }

    fn small_sheets(&self) -> usize {
        let inner = self.inner();
        let sheets = inner.history.sheets.borrow();
        sheets.iter().filter(|name| name.part.is_none()).count()
    }

    /// Keeps packs; only when they are, a sheet says so and their single rows go.
    async fn pack_away(&self, store: &Store, packings: &[Packing]) -> Result<(), Why> {
        if store.waiting() > 0 {
            return Err(Why::Busy);
        }
        let new = packings
            .iter()
            .filter(|p| self.read_now(|ledger| !ledger.has_pack(p.packed.name)));
        // Where it should be sealed and cannot be, it stays in its rows.
        let packs: Option<Vec<Row>> = new.map(|p| self.pack_row(&p.packed)).collect();
        store.keep_packs(&packs.ok_or(Why::Other)?).await?;
        let inner = self.inner();
        for packing in packings {
            inner.ledger.borrow_mut().packed(packing);
        }
        let streams: Vec<Stream> = packings.iter().map(|p| p.packed.name.stream).collect();
        let rows = packings.iter().flat_map(|p| &p.rows);
        let rows: Vec<String> = rows.map(EntryId::row_key).collect();
        self.lay_since(store, &streams, &rows).await
    }

    fn sheet(&self, name: SheetName, streams: &[Stream]) -> Option<Row> {
        let bytes = self.read_now(|ledger| ledger.sheet(name, streams));
        self.sheet_row(name, &bytes)
    }

    /// A new base in the place of every sheet there is, to be laid whole: nothing of the old may stay.
    pub(super) fn whole_base(&self) -> Option<Base> {
        let groups = self.read_now(|ledger| ledger.groups(SHEET));
        let of = u32::try_from(groups.len()).unwrap_or(u32::MAX);
        // Its number is used once it is laid: a number without a sheet would look like one that is lost.
        let seq = self.inner().history.seq.get() + 1;
        let (mut rows, mut names) = (Vec::new(), Vec::new());
        for (part, group) in (0_u32..).zip(&groups) {
            let part = Some((part, of));
            let name = SheetName { seq, part };
            rows.push(self.sheet(name, group)?);
            names.push(name);
        }
        let inner = self.inner();
        let old = inner.history.sheets.borrow();
        Some(Base {
            rows,
            gone: old.iter().map(ToString::to_string).collect(),
            names,
            seq,
        })
    }

    /// That base is laid.
    pub(super) fn base_is_laid(&self, base: Base) {
        let inner = self.inner();
        inner.history.seq.set(base.seq);
        inner.history.sheets.replace(base.names);
    }

    fn next_seq(&self) -> u64 {
        let inner = self.inner();
        let seq = inner.history.seq.get() + 1;
        inner.history.seq.set(seq);
        seq
    }

    async fn lay_since(
        &self,
        store: &Store,
        streams: &[Stream],
        rows: &[String],
    ) -> Result<(), Why> {
        let name = SheetName {
            seq: self.next_seq(),
            part: None,
        };
        let sheet = self.sheet(name, streams).ok_or(Why::Other)?;
        store.settle(&[sheet], &[], rows).await?;
        self.inner().history.sheets.borrow_mut().push(name);
        Ok(())
    }

    /// Lays a new base, a sheet a moment, and takes away what it covers with the last.
    async fn lay_base(&self, store: &Store) -> Result<bool, Why> {
        let groups = self.read_now(|ledger| ledger.groups(SHEET));
        let of = u32::try_from(groups.len()).unwrap_or(u32::MAX);
        let seq = self.next_seq();
        let buried = || self.read_now(|ledger| ledger.journal().tombs().count());
        let before = buried();
        for (part, group) in (0_u32..).zip(&groups) {
            let name = SheetName {
                seq,
                part: Some((part, of)),
            };
            let inner = self.inner();
            let old: Vec<SheetName> = {
                let sheets = inner.history.sheets.borrow();
                let last = part.saturating_add(1) == of;
                sheets
                    .iter()
                    .filter(|n| last && n.seq < seq)
                    .copied()
                    .collect()
            };
            let gone: Vec<String> = old.iter().map(ToString::to_string).collect();
            let sheet = self.sheet(name, group).ok_or(Why::Other)?;
            store.settle(&[sheet], &gone, &[]).await?;
            {
                let mut sheets = inner.history.sheets.borrow_mut();
                sheets.push(name);
                sheets.retain(|name| !old.contains(name));
            }
            idle::moment().await;
            if buried() != before {
                // A sheet of this base may name somebody who was erased meanwhile: once more.
                return Err(Why::Busy);
            }
        }
        Ok(of > 0)
    }
}
