//! What is packed away, as far as a start needs it: sheets, single rows and the few packs they want are
//! read, and a page that needs more waits until its packs are read in. What can wait is `tidying`.

use super::rare::Rare;
use super::sealing::{Guard, Keys, Openers};
use super::{Desk, Route};
use crate::react::RwSignal;
use crate::store::{Row, Shelf, Store, Why};
use pinfold_core::base::id::{EntryId, Stream};
use pinfold_core::journal::Journal;
use pinfold_core::journal::pack::PackName;
use pinfold_core::ledger::{Index, Ledger, Read, SheetName, Want};
use pinfold_core::seal::Unlocked;
use std::cell::{Cell, RefCell};
use wasm_bindgen_futures::spawn_local;

/// Packs that are read in one go. Policy.
const AT_ONCE: usize = 64;
/// Closed sessions that teach a speed, until the file of knowledge says how many.
const LATEST: u16 = 20;

/// What no start needs, as doors: what starts must not hold it.
#[derive(Clone, Copy)]
pub(super) struct Late {
    /// Sees to what can wait.
    pub(super) tidy: fn(Desk),
    /// Gives everything again to a store that was cleared away.
    pub(super) give_again: fn(&Desk),
    /// Open what is sealed: whoever has the keys came by them on a page.
    pub(super) sealed: Openers,
}

/// What the desk knows of sheets, and of its own work on them.
#[derive(Default)]
pub(super) struct History {
    pub(super) seq: Cell<u64>,
    pub(super) sheets: RefCell<Vec<SheetName>>,
    /// The names of all packs were set beside the index in this run.
    pub(super) audited: Cell<bool>,
    /// It was looked whether an erasure is to be finished.
    pub(super) swept: Cell<bool>,
    /// What comes with the pages; nothing until they are here.
    pub(super) late: Cell<Option<Late>>,
    /// What comes with the shelf; nothing until it is here.
    pub(super) rare: Cell<Option<Rare>>,
    /// The store was cleared away before that: everything is still to be given again.
    pub(super) emptied: Cell<bool>,
    pub(super) tidying: Cell<bool>,
    pub(super) again: Cell<bool>,
    /// How many need what is kept for themselves: nothing is tidied meanwhile.
    pub(super) hushed: Cell<u32>,
    /// One of them has it.
    pub(super) taken: Cell<bool>,
    /// Plain packs and sheets are still being sealed: both are read.
    pub(super) changing: Cell<bool>,
    /// What is kept is being read at an unlocking.
    pub(super) unlocking: Cell<bool>,
    loading: Cell<bool>,
}

type Texts = Vec<(PackName, Option<String>)>;

pub(super) async fn texts(store: &Store, names: &[PackName]) -> Result<Texts, Why> {
    let keys: Vec<String> = names.iter().map(ToString::to_string).collect();
    let texts = store.read_some(Shelf::Packs, &keys).await?;
    Ok(names.iter().copied().zip(texts).collect())
}

fn open(keys: &Keys<'_>, texts: Texts) -> Vec<Read> {
    let open = |(name, text): (PackName, Option<String>)| {
        let Some(text) = text else {
            return (name, Err(format!("the pack {name} is missing")));
        };
        let packed = keys.open_pack(name, &text);
        let entries = packed.and_then(|packed| packed.entries().ok());
        (name, entries.ok_or(text))
    };
    texts.into_iter().map(open).collect()
}

pub(super) async fn pack_names(store: &Store) -> Result<Vec<PackName>, Why> {
    let keys = store.keys(Shelf::Packs).await?;
    Ok(keys.iter().filter_map(|key| key.parse().ok()).collect())
}

impl Desk {
    /// The ledger of what is kept: sheets, the tail, and the packs that the first page wants. `with`:
    /// the keys, at an unlocking; later the desk has them.
    pub(super) async fn read_ledger(
        &self,
        store: &Store,
        tail: Journal,
        with: Option<&Unlocked>,
    ) -> Result<(), Why> {
        let rows = store.read(Shelf::Summaries).await?;
        let keys = self.keys(with);
        let named = |row: &Row| {
            let name: SheetName = row.key.parse().ok()?;
            Some((name, keys.open_sheet(&row.key, &row.text)))
        };
        let sheets: Vec<_> = rows.iter().filter_map(named).collect();
        let index = Index::read(&sheets);
        let inner = self.inner();
        let history = &inner.history;
        history.seq.set(index.seq);
        let names = sheets.iter().map(|(name, _)| *name);
        history.sheets.replace(names.collect());
        // Without any sheet there may be packs all the same.
        let sound = index.sound && !sheets.is_empty();
        inner.ledger.replace(Ledger::resume(index, tail));
        if !sound {
            let names = pack_names(store).await?;
            inner.ledger.borrow_mut().audit(names);
        }
        history.audited.set(!sound);
        history.swept.set(false);
        self.load(store, &Want::Start, with).await
    }

    fn keys<'a>(&self, unlocked: Option<&'a Unlocked>) -> Keys<'a> {
        let inner = self.inner();
        Keys {
            unlocked,
            openers: inner.history.late.get().map(|late| late.sealed),
            changing: inner.history.changing.get(),
        }
    }

    /// Opens packs with the keys there are.
    pub(super) fn open_packs(&self, texts: Texts, with: Option<&Unlocked>) -> Vec<Read> {
        let inner = self.inner();
        let guard = inner.guard.borrow();
        let own = match &*guard {
            Guard::Sealed(unlocked) => Some(&**unlocked),
            _ => None,
        };
        open(&self.keys(with.or(own)), texts)
    }

    /// Reads in whatever is missing for something.
    pub(super) async fn load(
        &self,
        store: &Store,
        want: &Want,
        with: Option<&Unlocked>,
    ) -> Result<(), Why> {
        loop {
            let mut names = self.read_now(|ledger| ledger.to_load(want));
            if names.is_empty() {
                return Ok(());
            }
            names.truncate(AT_ONCE);
            let packs = self.open_packs(texts(store, &names).await?, with);
            self.inner().ledger.borrow_mut().absorb(packs);
        }
    }

    /// The same for whoever acts at once afterwards.
    ///
    /// # Errors
    /// What stood in the way of reading.
    pub(super) async fn bring_in(&self, want: &Want) -> Result<(), Why> {
        let store = self.inner().store.borrow().clone();
        self.load(&store.ok_or(Why::Closed)?, want, None).await
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
            Route::Chair(id) | Route::Region(id, _) | Route::Count(id) | Route::Beside(id) => {
                chair(*id)
            }
            Route::Erase(id) => Some(Want::Person(*id, 0)),
            Route::Write(id) | Route::PrintRecord(id) => Some(Want::Session(*id, self.latest())),
            Route::Copies | Route::Differ => {
                let rare = self.inner().history.rare.get();
                rare.map(|rare| self.read_now(rare.apart))
            }
            Route::Keeping | Route::Exports(None) => Some(Want::Everything),
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

    /// Sees to what can wait, once the part of the program with it is here.
    pub(super) fn tidy(&self) {
        if let Some(late) = self.inner().history.late.get() {
            (late.tidy)(*self);
        }
    }

    /// The store was cleared away beneath us. Before the pages are here nothing is written, so that can
    /// wait for them.
    pub(super) fn emptied(&self) {
        let inner = self.inner();
        match inner.history.late.get() {
            Some(late) => (late.give_again)(self),
            None => inner.history.emptied.set(true),
        }
    }
}

/// A signal that tells when something was read in.
pub(super) fn loaded() -> RwSignal<u32> {
    RwSignal::new(0)
}
