//! What is packed away. A start reads sheets, single rows and the few packs they want; a page that
//! needs more waits until its packs are read in; what is closed is packed, and what is not summed up
//! is, in idle moments. Whatever touches the bytes of packs and sheets stands here.

use super::{Desk, Route, Standing};
use crate::device::{clock, idle};
use crate::react::RwSignal;
use crate::store::{Row, Shelf, Store, Why};
use pinfold_core::base::id::{EntryId, Stream};
use pinfold_core::base::stamp::Wall;
use pinfold_core::journal::Journal;
use pinfold_core::journal::pack::PackName;
use pinfold_core::ledger::{Index, Ledger, Packing, Read, SheetName, Want};
use pinfold_core::seal::Plain;
use std::cell::{Cell, RefCell};
use wasm_bindgen_futures::spawn_local;

/// Packs that are read, or streams that are packed, in one idle moment. Policy.
const SLICE: usize = 16;
/// Small sheets from which on a new base is laid. Policy: a start reads no more of them.
const MOST_SINCE: usize = 64;
/// How long nothing is said of a person before they are packed without a visit, in milliseconds. Policy.
const QUIET: i64 = 12 * 3_600_000;
/// Streams on one sheet of a base. Policy.
const SHEET: usize = 240;
/// Closed sessions that teach a speed, until the file of knowledge says how many.
const LATEST: u16 = 20;

/// What the desk knows of sheets, and of its own work on them.
#[derive(Default)]
pub(super) struct History {
    seq: Cell<u64>,
    sheets: RefCell<Vec<SheetName>>,
    /// The names of all packs were set beside the index in this run.
    audited: Cell<bool>,
    tidying: Cell<bool>,
    again: Cell<bool>,
    loading: Cell<bool>,
}

fn keys(names: &[PackName]) -> Vec<String> {
    names.iter().map(ToString::to_string).collect()
}

async fn read(store: &Store, names: &[PackName]) -> Result<Vec<Read>, Why> {
    let texts = store.read_some(Shelf::Packs, &keys(names)).await?;
    let open = |(name, text): (&PackName, Option<String>)| {
        let Some(text) = text else {
            return (*name, Err(format!("the pack {name} is missing")));
        };
        let packed = Plain.open_pack(*name, &text).ok();
        let entries = packed.and_then(|packed| packed.entries().ok());
        (*name, entries.ok_or(text))
    };
    Ok(names.iter().zip(texts).map(open).collect())
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

async fn pack_names(store: &Store) -> Result<Vec<PackName>, Why> {
    let keys = store.keys(Shelf::Packs).await?;
    Ok(keys.iter().filter_map(|key| key.parse().ok()).collect())
}

impl Desk {
    /// The ledger of what is kept: sheets, the tail, and the packs that the first page wants.
    pub(super) async fn read_ledger(&self, store: &Store, tail: Journal) -> Result<(), Why> {
        let rows = store.read(Shelf::Summaries).await?;
        let named = |row: &Row| {
            let name: SheetName = row.key.parse().ok()?;
            Some((name, Plain.open_sheet(&row.text).ok()))
        };
        let sheets: Vec<_> = rows.iter().filter_map(named).collect();
        let index = Index::read(&sheets);
        let inner = self.inner();
        let history = &inner.history;
        history.seq.set(index.seq);
        let names = sheets.iter().map(|(name, _)| *name);
        history.sheets.replace(names.collect());
        let sound = index.sound;
        inner.ledger.replace(Ledger::resume(index, tail));
        if !sound {
            let names = pack_names(store).await?;
            inner.ledger.borrow_mut().audit(names);
        }
        history.audited.set(!sound);
        self.load(store, &Want::Start).await
    }

    /// Reads in whatever is missing for something.
    async fn load(&self, store: &Store, want: &Want) -> Result<(), Why> {
        loop {
            let mut names = self.read_now(|ledger| ledger.to_load(want));
            if names.is_empty() {
                return Ok(());
            }
            names.truncate(SLICE * 4);
            let packs = read(store, &names).await?;
            self.inner().ledger.borrow_mut().absorb(packs);
        }
    }

    /// The same for whoever acts at once afterwards.
    ///
    /// # Errors
    /// What stood in the way of reading.
    pub(super) async fn bring_in(&self, want: &Want) -> Result<(), Why> {
        let store = self.inner().store.borrow().clone();
        self.load(&store.ok_or(Why::Closed)?, want).await
    }

    fn latest(&self) -> u16 {
        self.books(|b| b.learning.sessions).unwrap_or(LATEST)
    }

    fn wants(&self, route: &Route) -> Option<Want> {
        let chair = |session: EntryId| {
            let mut streams = vec![Stream::Session(session)];
            let person = self.read_now(|l| l.visit(session).and_then(|v| v.person));
            streams.extend(person.map(Stream::Person));
            Some(Want::Streams(streams))
        };
        match route {
            Route::Person(id)
            | Route::Ask(id)
            | Route::Hand(id)
            | Route::Look(id)
            | Route::Plan(id)
            | Route::Next(id)
            | Route::Tape(id)
            | Route::After(id)
            | Route::Exports(Some(id))
            | Route::PrintLetter(id)
            | Route::PrintTray(id)
            | Route::PrintAftercare(id) => Some(Want::Person(*id, self.latest())),
            Route::Chair(id) | Route::Region(id, _) | Route::Count(id) => chair(*id),
            Route::Write(id) | Route::PrintRecord(id) => Some(Want::Session(*id, self.latest())),
            Route::Copies | Route::Exports(None) => Some(Want::Everything),
            _ => None,
        }
    }

    /// Whether everything that a page shows is read in. If not, that is begun, and whoever asked in a
    /// reactive place is told when it is done.
    pub fn at_hand(&self, route: &Route) -> bool {
        let Some(want) = self.wants(route) else {
            return true;
        };
        if self.read_now(|ledger| ledger.has(&want)) {
            return true;
        }
        self.loaded.track();
        let inner = self.inner();
        if !inner.history.loading.replace(true) {
            let desk = *self;
            spawn_local(async move {
                let done = desk.bring_in(&want).await;
                inner.history.loading.set(false);
                // If it could not be read it is tried again by whoever goes there again.
                if done.is_ok() {
                    desk.loaded.update(|n| *n = n.wrapping_add(1));
                }
            });
        }
        false
    }

    /// Sees to what can wait: in idle moments, until nothing is left.
    pub(super) fn tidy(&self) {
        let desk = *self;
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
        if !inner.history.audited.replace(true) {
            let names = pack_names(store).await?;
            let changed = inner.ledger.borrow_mut().audit(names);
            if !changed.is_empty() {
                self.load(store, &Want::Start).await?;
                self.changed();
            }
            return Ok(true);
        }
        let names = self.read_now(|ledger| ledger.to_learn(SLICE));
        if !names.is_empty() {
            let packs = read(store, &names).await?;
            let streams = inner.ledger.borrow_mut().learn(packs);
            self.lay_since(store, &streams, &[]).await?;
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
        let packs: Vec<Row> = new
            .map(|p| Row {
                key: p.packed.name.to_string(),
                text: Plain.close_pack(&p.packed),
            })
            .collect();
        store.keep_packs(&packs).await?;
        let inner = self.inner();
        for packing in packings {
            inner.ledger.borrow_mut().packed(packing);
        }
        let streams: Vec<Stream> = packings.iter().map(|p| p.packed.name.stream).collect();
        let rows = packings.iter().flat_map(|p| &p.rows);
        let rows: Vec<String> = rows.map(EntryId::row_key).collect();
        self.lay_since(store, &streams, &rows).await
    }

    fn sheet(&self, name: SheetName, streams: &[Stream]) -> Row {
        let bytes = self.read_now(|ledger| ledger.sheet(name, streams));
        Row {
            key: name.to_string(),
            text: Plain.close_sheet(&bytes),
        }
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
        store
            .settle(&[self.sheet(name, streams)], &[], rows)
            .await?;
        self.inner().history.sheets.borrow_mut().push(name);
        Ok(())
    }

    /// Lays a new base, a sheet a moment, and takes away what it covers with the last. To be called at
    /// once when a person is erased, in the act that destroys their key: the old sheets name them.
    pub(super) async fn lay_base(&self, store: &Store) -> Result<bool, Why> {
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
            store.settle(&[self.sheet(name, group)], &gone, &[]).await?;
            let mut sheets = inner.history.sheets.borrow_mut();
            sheets.push(name);
            sheets.retain(|name| !old.contains(name));
            drop(sheets);
            idle::moment().await;
            if buried() != before {
                // A sheet of this base may name somebody who was erased meanwhile: once more.
                return Err(Why::Busy);
            }
        }
        Ok(of > 0)
    }
}

/// A signal that tells when something was read in.
pub(super) fn loaded() -> RwSignal<u32> {
    RwSignal::new(0)
}
