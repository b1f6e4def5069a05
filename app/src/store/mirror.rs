//! A second copy of the rows in a store of its own, because one kind of browser can lose the first.
//!
//! Chromium keeps IndexedDB in LevelDB's logs. A process that is killed between the head and the text
//! of a record leaves a torn end; the next start writes on behind it; and the start after that finds
//! the log damaged in the middle, and clears the whole database away (seen with Chromium 156, and
//! walked in `tests/browser/kills.test.mjs`). So the rows are kept once more in a storage bucket: a
//! directory of its own with a log of its own, written at another time. One blow cannot tear both.
//!
//! Other browsers have no buckets, and keep IndexedDB in SQLite, which rolls a torn write back.
//!
//! Every change is made in the database first, then here, and only then called saved: so at any moment
//! at most one of the two is being written, and the other is whole. At a start the copy is brought up to
//! the database before anything is written: a torn end that nothing was written behind is still read.

use super::database::{self, Connection, count, read_all, read_keys, read_some};
use super::writing::{Deed, carry_out};
use super::{Row, Shelf, Why, strip};
use crate::device::{flag, reach};
use std::cell::{Cell, RefCell};
use std::future::{Future, poll_fn};
use std::pin::pin;
use std::task::Poll;
use wasm_bindgen::JsCast as _;
use wasm_bindgen::JsValue;
use web_sys::{IdbDatabase, IdbFactory};

/// How long catching up or giving back may take before nothing waits for it any more, in milliseconds.
/// Policy.
const PATIENCE: i32 = 30_000;
/// The same for the question whether there is a copy, where nothing says that there ever was: a first start
/// waits for it. Policy.
const ASKING: i32 = 2_000;

/// What is copied: what cannot be worked out again.
const COPIED: [Shelf; 3] = [Shelf::Rows, Shelf::Packs, Shelf::Meta];

/// The second copy of one database.
pub(super) struct Mirror {
    name: String,
    connection: RefCell<Option<Connection>>,
    /// Held on to: once nobody holds it, Chromium lets the connection fall silent without a word.
    bucket: RefCell<JsValue>,
    stands: Cell<Stands>,
}

/// How the copy stands beside the database.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Stands {
    /// Something may be missing.
    Behind,
    /// It holds what the database holds.
    Level,
    /// There is none, or it fell silent: until the next start nothing waits for it.
    Off,
}

/// The bucket's name. Letters, digits, hyphens only, as the draft asks.
fn bucket_of(name: &str) -> String {
    format!("{name}-mirror")
}

/// Where buckets are asked for; `undefined` where the browser has none.
fn buckets() -> JsValue {
    reach::navigator("storageBuckets")
}

/// Says that rows were once saved in a database of this name.
pub(super) fn once_kept(name: &str) -> String {
    format!("{name}.kept")
}

/// Says that the copy has once held all of it: what it holds must not be written over unread.
pub(super) fn mirrored(name: &str) -> String {
    format!("{name}.mirrored")
}

/// What comes of it, or nothing if it takes longer: a copy must not keep the database waiting for ever.
async fn within<T>(millis: i32, work: impl Future<Output = T>) -> Option<T> {
    let (mut work, mut limit) = (pin!(work), pin!(database::pause(millis)));
    poll_fn(|context| match work.as_mut().poll(context) {
        Poll::Ready(done) => Poll::Ready(Some(done)),
        Poll::Pending => limit.as_mut().poll(context).map(|()| None),
    })
    .await
}

/// Takes the copy of a database away.
pub(super) async fn remove(name: &str) {
    let _ = reach::ask(&buckets(), "delete", &[&bucket_of(name).into()]).await;
}

impl Mirror {
    pub(super) fn new(name: &str) -> Self {
        Self {
            name: name.into(),
            connection: RefCell::new(None),
            bucket: RefCell::new(JsValue::UNDEFINED),
            stands: Cell::new(Stands::Behind),
        }
    }

    /// The copy, open; [`Why::Denied`] where the browser has no buckets.
    async fn open(&self) -> Result<IdbDatabase, Why> {
        if let Some(connection) = self.connection.borrow().as_ref() {
            return Ok(connection.db.clone());
        }
        if !reach::can(&buckets(), "open") {
            return Err(Why::Denied);
        }
        let name = bucket_of(&self.name).into();
        let bucket = reach::ask(&buckets(), "open", &[&name]).await;
        let bucket = bucket.map_err(|_| Why::Other)?;
        let factory = reach::get(&bucket, "indexedDB").dyn_into();
        let factory: IdbFactory = factory.map_err(|_| Why::Other)?;
        self.bucket.replace(bucket);
        let fresh = database::connect_in(
            &factory,
            &self.name,
            false,
            Box::new(|| {}),
            Box::new(|| {}),
            Box::new(|| {}),
        )
        .await?;
        Ok(self.connection.borrow_mut().get_or_insert(fresh).db.clone())
    }

    /// Puts what the copy holds into an empty database, in one transaction. Gives back how many rows: none
    /// where there can be no copy.
    ///
    /// # Errors
    /// The copy could not be read or put back. Whoever goes on all the same writes over the last there is.
    pub(super) async fn give_back(&self, to: &IdbDatabase) -> Result<usize, Why> {
        let there_is = flag::is_set(&mirrored(&self.name));
        let millis = if there_is { PATIENCE } else { ASKING };
        match within(millis, self.lay_into(to)).await {
            Some(Err(Why::Denied)) => Ok(0),
            Some(done) => done,
            None => Err(Why::Slow),
        }
    }

    async fn lay_into(&self, to: &IdbDatabase) -> Result<usize, Why> {
        let from = self.open().await?;
        let mut all = Vec::new();
        for shelf in COPIED {
            all.push((shelf, read_all(&from, shelf).await?.0));
        }
        let rows = all.iter().map(|(_, rows)| rows.len()).sum();
        if rows > 0 {
            let deeds: Vec<Deed<'_>> = all.iter().map(|(s, rows)| Deed::Lay(*s, rows)).collect();
            let _ = carry_out(to, &deeds, PATIENCE).await?;
        }
        Ok(rows)
    }

    /// Brings the copy up to what the database holds, unless it is. A fault here stops nothing: the
    /// database stands, and the next change tries again.
    pub(super) async fn follow(&self, from: &IdbDatabase) {
        if self.stands.get() == Stands::Behind {
            let done = within(PATIENCE, self.catch_up(from)).await;
            self.judge(done);
        }
    }

    /// Does here what was done in the database. Both begin alike, so both end alike.
    pub(super) async fn repeat(&self, deeds: &[Deed<'_>], millis: i32) {
        if self.stands.get() == Stands::Level {
            let done = within(millis, self.carry_out(deeds, millis)).await;
            self.judge(done);
        }
    }

    /// The database may hold what this does not.
    pub(super) fn may_lack(&self) {
        if self.stands.get() == Stands::Level {
            self.stands.set(Stands::Behind);
        }
    }

    fn judge(&self, done: Option<Result<(), Why>>) {
        let stands = match done {
            Some(Ok(())) => Stands::Level,
            Some(Err(Why::Denied)) | None => Stands::Off,
            Some(Err(_)) => Stands::Behind,
        };
        self.stands.set(stands);
        if stands == Stands::Level {
            let _ = flag::is_set(&mirrored(&self.name)) || flag::set(&mirrored(&self.name));
        } else {
            self.let_go();
        }
    }

    fn let_go(&self) {
        let connection = self.connection.take();
        drop(connection);
    }

    async fn carry_out(&self, deeds: &[Deed<'_>], millis: i32) -> Result<(), Why> {
        let copied = |deed: &&Deed<'_>| deed.shelf() != Shelf::Summaries;
        let deeds: Vec<Deed<'_>> = deeds.iter().filter(copied).copied().collect();
        if !deeds.is_empty() {
            let _ = carry_out(&self.open().await?, &deeds, millis).await?;
        }
        Ok(())
    }

    async fn catch_up(&self, from: &IdbDatabase) -> Result<(), Why> {
        let mut to = self.open().await?;
        let meta = read_all(from, Shelf::Meta).await?.0;
        if self.has_too_much(&to, from, &meta).await? {
            self.let_go();
            remove(&self.name).await;
            to = self.open().await?;
        }
        for shelf in [Shelf::Packs, Shelf::Rows] {
            // Packs are many and change seldom: their number tells.
            if shelf == Shelf::Packs && count(from, shelf).await? == count(&to, shelf).await? {
                continue;
            }
            let has = read_keys(&to, shelf).await?;
            let mut keys = read_keys(from, shelf).await?;
            keys.retain(|key| has.binary_search(key).is_err());
            let texts = read_some(from, shelf, &keys).await?;
            let rows = keys.into_iter().zip(texts);
            let rows = rows.filter_map(|(key, text)| Some(Row { key, text: text? }));
            let rows: Vec<Row> = rows.collect();
            if !rows.is_empty() {
                let _ = carry_out(&to, &[Deed::Lay(shelf, &rows)], PATIENCE).await?;
            }
        }
        // Last: it names what opens the rows, and rows that nothing opens yet are harmless.
        let _ = carry_out(&to, &[Deed::Lay(Shelf::Meta, &meta)], PATIENCE).await?;
        Ok(())
    }

    /// Whether the copy was left standing before rows were taken away, erased or sealed. Then it is begun
    /// anew: rows of the same name may have other texts, and what was erased must not lie here.
    async fn has_too_much(
        &self,
        to: &IdbDatabase,
        from: &IdbDatabase,
        meta: &[Row],
    ) -> Result<bool, Why> {
        // The strip changes with every press.
        let lasting = |rows: &[Row]| -> Vec<Row> {
            let lasting = rows.iter().filter(|row| row.key != strip::BESIDE);
            lasting.cloned().collect()
        };
        let there = read_all(to, Shelf::Meta).await?.0;
        if lasting(&there) != lasting(meta)
            || count(to, Shelf::Packs).await? > count(from, Shelf::Packs).await?
        {
            return Ok(true);
        }
        let keys = read_keys(from, Shelf::Rows).await?;
        let has = read_keys(to, Shelf::Rows).await?;
        Ok(has.iter().any(|key| keys.binary_search(key).is_err()))
    }
}
