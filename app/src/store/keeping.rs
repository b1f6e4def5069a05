//! The store itself: takes rows in, in order, and does not let go of one before it is saved.

use super::database::{self, Connection};
use super::mirror::{Mirror, mirrored, once_kept};
use super::tail;
use super::writing::{Deed, Done, beside_key, carry_out};
use super::{Row, Shelf, StoreEvent, Why};
use crate::device::alarm::Timer;
use crate::device::flag;
use crate::device::listen::Listener;
use crate::device::local::at_hand;
use crate::device::visibility::{self, Seen};
use std::cell::{Cell, RefCell};
use std::collections::VecDeque;
use std::rc::Rc;
use wasm_bindgen_futures::spawn_local;
use web_sys::IdbDatabase;

/// When one tap's transaction counts as slow, in milliseconds. Policy.
const PATIENCE: i32 = 5_000;
/// The same for everything at once: an import, a pack. Policy.
const LONG_PATIENCE: i32 = 120_000;
/// How long between two looks whether all is saved, in milliseconds. Policy.
const LOOK_AGAIN: i32 = 20;
/// The first wait before trying again, in milliseconds, doubled each time. Policy.
const FIRST_WAIT: i64 = 250;
/// The longest wait. Policy.
const LONGEST_WAIT: i64 = 30_000;

/// Everything kept, for a copy to take out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Everything {
    /// Single entries in the order of keys, those not saved yet among them.
    pub rows: Vec<Row>,
    /// Packed sessions in the order of keys.
    pub packs: Vec<Row>,
}

/// The store. Copies of the handle are the same store.
#[derive(Clone)]
pub struct Store(Rc<Inner>);

struct Waiting {
    row: Row,
    /// Its copy in the tail, if one could be made.
    copy: Option<String>,
}

struct Inner {
    name: String,
    events: Box<dyn Fn(StoreEvent)>,
    connection: RefCell<Option<Connection>>,
    opened: Cell<bool>,
    /// Nothing is in the database, and the second copy was not asked yet.
    bare: Cell<bool>,
    waiting: RefCell<VecDeque<Waiting>>,
    beside: RefCell<Option<Row>>,
    writing: Cell<bool>,
    failures: Cell<u32>,
    again: RefCell<Option<Timer>>,
    durability: RefCell<String>,
    visible: RefCell<Option<Listener>>,
    /// A change is being made in both.
    changing: Cell<bool>,
    /// Local storage says that rows were saved here.
    said_kept: Cell<bool>,
    /// The second copy, if one is kept.
    mirror: Option<Mirror>,
}

impl Store {
    /// Opens the database `name` and reads every single row. Rows that are only in the tail are put
    /// into the database on the way; they are among those given back.
    ///
    /// # Errors
    /// If the browser does not open the database. Nothing is lost by trying again.
    pub async fn open(
        name: &str,
        events: impl Fn(StoreEvent) + 'static,
    ) -> Result<(Self, Vec<Row>), Why> {
        Self::open_with(name, None, Box::new(events)).await
    }

    /// The same, with a second copy that follows, and that stands in if the database is gone.
    ///
    /// # Errors
    /// As [`Store::open`].
    pub async fn open_mirrored(
        name: &str,
        events: impl Fn(StoreEvent) + 'static,
    ) -> Result<(Self, Vec<Row>), Why> {
        Self::open_with(name, Some(Mirror::new(name)), Box::new(events)).await
    }

    async fn open_with(
        name: &str,
        mirror: Option<Mirror>,
        events: Box<dyn Fn(StoreEvent)>,
    ) -> Result<(Self, Vec<Row>), Why> {
        let inner = Rc::new(Inner {
            name: name.into(),
            events,
            connection: RefCell::new(None),
            opened: Cell::new(false),
            bare: Cell::new(false),
            waiting: RefCell::default(),
            beside: RefCell::default(),
            writing: Cell::new(false),
            failures: Cell::new(0),
            again: RefCell::new(None),
            durability: RefCell::default(),
            visible: RefCell::new(None),
            changing: Cell::new(false),
            said_kept: Cell::new(false),
            mirror,
        });
        let db = inner.database().await?;
        let (mut rows, mut unreadable) = database::read_all(&db, Shelf::Rows).await?;
        if rows.is_empty() && database::count(&db, Shelf::Packs).await? == 0 {
            inner.bare.set(true);
            inner.put_back(&db).await?;
            (rows, unreadable) = database::read_all(&db, Shelf::Rows).await?;
        }
        for key in unreadable {
            inner.tell(StoreEvent::Unreadable { key });
        }
        inner.fold_tail_in(&mut rows);

        let seen = Rc::downgrade(&inner);
        inner.visible.replace(visibility::watch(move |what| {
            if let (Seen::Visible { .. }, Some(inner)) = (what, seen.upgrade()) {
                inner.retry();
            }
        }));
        Ok((Self(inner), rows))
    }

    /// Takes rows in. Before this returns they are in memory and in the tail; then they go into the
    /// database, those of one call together or not at all. What becomes of them is told by events.
    pub fn append(&self, rows: Vec<Row>) {
        let mut no_tail = None;
        let rows: Vec<Waiting> = rows
            .into_iter()
            .map(|row| {
                let copy = tail::keep(&self.0.name, &row)
                    .map_err(|why| no_tail = Some(why))
                    .ok();
                Waiting { row, copy }
            })
            .collect();
        if rows.is_empty() {
            return;
        }
        if let Some(why) = no_tail {
            self.0.tell(StoreEvent::NoTail { why });
        }
        self.0.take_in(rows);
    }

    /// What is to lie beside the rows from now on: written over in the transaction of every next row,
    /// so it is never older than what is saved.
    pub fn lay_beside(&self, row: Row) {
        self.0.beside.replace(Some(row));
    }

    /// Puts all the rows into the database in one transaction, for an import. Ends when that is
    /// complete; after an error none of them was kept.
    ///
    /// # Errors
    /// What stood in the way. After [`Why::Slow`] they may still have been kept: doing it again is
    /// harmless.
    pub async fn append_all(&self, rows: &[Row]) -> Result<(), Why> {
        self.0
            .carry_out(&[Deed::Keep(Shelf::Rows, rows)], LONG_PATIENCE)
            .await
    }

    /// Writes what may be overwritten: a summary, or a fact about the store itself.
    ///
    /// # Errors
    /// What stood in the way; [`Why::Denied`] for a shelf where nothing is overwritten.
    pub async fn lay(&self, shelf: Shelf, rows: &[Row]) -> Result<(), Why> {
        if !matches!(shelf, Shelf::Summaries | Shelf::Meta) {
            return Err(Why::Denied);
        }
        self.0
            .carry_out(&[Deed::Lay(shelf, rows)], LONG_PATIENCE)
            .await
    }

    /// Does several things in one transaction, in this order: all of it or nothing. For whoever erases
    /// somebody or seals what was plain: nothing else may lay over what is never overwritten.
    ///
    /// # Errors
    /// What stood in the way. Nothing was changed then; after [`Why::Slow`] it may still be, whole.
    pub async fn change(&self, deeds: &[Deed<'_>]) -> Result<(), Why> {
        self.0.carry_out(deeds, LONG_PATIENCE).await
    }

    /// Lays sealed rows over the plain ones of the same keys, and what opens them beside, in one
    /// transaction: all of it or nothing. The one place where a row is laid over another.
    ///
    /// # Errors
    /// What stood in the way. Nothing was changed then; after [`Why::Slow`] it may still be, whole.
    pub async fn seal_over(&self, rows: &[Row], meta: &[Row]) -> Result<(), Why> {
        let deeds = [Deed::Lay(Shelf::Meta, meta), Deed::Lay(Shelf::Rows, rows)];
        self.0.carry_out(&deeds, LONG_PATIENCE).await
    }

    /// Takes rows away for good. A copy taken out before still has them.
    ///
    /// # Errors
    /// [`Why::Busy`] while rows are waiting to be saved, or what stood in the way.
    pub async fn erase(&self, shelf: Shelf, keys: &[String]) -> Result<(), Why> {
        if self.waiting() > 0 {
            return Err(Why::Busy);
        }
        self.0
            .carry_out(&[Deed::Remove(shelf, keys)], LONG_PATIENCE)
            .await
    }

    /// Every row of a shelf, in the order of keys.
    ///
    /// # Errors
    /// What stood in the way.
    pub async fn read(&self, shelf: Shelf) -> Result<Vec<Row>, Why> {
        let db = self.0.database().await?;
        let (rows, unreadable) = database::read_all(&db, shelf).await?;
        for key in unreadable {
            self.0.tell(StoreEvent::Unreadable { key });
        }
        Ok(rows)
    }

    /// The texts under some keys of a shelf, in their order; none where there is no such row.
    ///
    /// # Errors
    /// What stood in the way.
    pub async fn read_some(
        &self,
        shelf: Shelf,
        keys: &[String],
    ) -> Result<Vec<Option<String>>, Why> {
        database::read_some(&self.0.database().await?, shelf, keys).await
    }

    /// Keeps packs, all or none. Their single rows stay until [`Store::settle`].
    ///
    /// # Errors
    /// What stood in the way.
    pub async fn keep_packs(&self, packs: &[Row]) -> Result<(), Why> {
        let deeds = [Deed::Keep(Shelf::Packs, packs)];
        self.0.carry_out(&deeds, LONG_PATIENCE).await
    }

    /// Lays sheets of summaries, takes away those they replace, and the single rows whose packs are
    /// kept, all or nothing.
    ///
    /// # Errors
    /// What stood in the way. Nothing was changed then.
    pub async fn settle(&self, sheets: &[Row], old: &[String], rows: &[String]) -> Result<(), Why> {
        let deeds = [
            Deed::Lay(Shelf::Summaries, sheets),
            Deed::Remove(Shelf::Summaries, old),
            Deed::Remove(Shelf::Rows, rows),
        ];
        self.0.carry_out(&deeds, LONG_PATIENCE).await
    }

    /// Every key of a shelf, in order.
    ///
    /// # Errors
    /// What stood in the way.
    pub async fn keys(&self, shelf: Shelf) -> Result<Vec<String>, Why> {
        database::read_keys(&self.0.database().await?, shelf).await
    }

    /// The text under one key of a shelf.
    ///
    /// # Errors
    /// What stood in the way.
    pub async fn read_one(&self, shelf: Shelf, key: &str) -> Result<Option<String>, Why> {
        database::read_one(&self.0.database().await?, shelf, key).await
    }

    /// Everything, for a copy to take out: what is saved, and what is still waiting.
    ///
    /// # Errors
    /// What stood in the way.
    pub async fn read_everything(&self) -> Result<Everything, Why> {
        let packs = self.read(Shelf::Packs).await?;
        let mut rows = self.read(Shelf::Rows).await?;
        for waiting in self.0.waiting.borrow().iter() {
            join(&mut rows, waiting.row.clone());
        }
        Ok(Everything { rows, packs })
    }

    /// Rows taken in and not saved yet.
    #[must_use]
    pub fn waiting(&self) -> usize {
        self.0.waiting.borrow().len()
    }

    /// Tries again at once to save what is waiting.
    pub fn retry(&self) {
        self.0.retry();
    }

    /// The promise the browser says it gave for the last complete transaction: `strict`, or empty
    /// if none was made yet or it does not say.
    #[must_use]
    pub fn durability(&self) -> String {
        self.0.durability.borrow().clone()
    }
}

/// What happened to a row that was joined to others.
enum Joined {
    New,
    Same,
    Beside(String),
}

/// Puts a row among sorted rows. The same key and text is one row; the same key with other text
/// goes beside it.
fn join(rows: &mut Vec<Row>, row: Row) -> Joined {
    let mut key = row.key.clone();
    let mut ordinal = 0_u32;
    loop {
        match rows.binary_search_by(|there| there.key.as_str().cmp(&key)) {
            Err(place) => {
                let joined = if ordinal == 0 {
                    Joined::New
                } else {
                    Joined::Beside(key.clone())
                };
                rows.insert(
                    place,
                    Row {
                        key,
                        text: row.text,
                    },
                );
                return joined;
            }
            Ok(place) => {
                if rows.get(place).is_some_and(|there| there.text == row.text) {
                    return Joined::Same;
                }
                ordinal = ordinal.saturating_add(1);
                key = beside_key(&row.key, ordinal);
            }
        }
    }
}

impl Inner {
    fn tell(&self, event: StoreEvent) {
        (self.events)(event);
    }

    /// Where nothing is in the database: puts the second copy's rows into it, and says what was lost. An
    /// error is one only if there is something to lose by going on: the copy would be written over.
    async fn put_back(&self, db: &IdbDatabase) -> Result<(), Why> {
        let Some(mirror) = self.mirror.as_ref().filter(|_| self.bare.get()) else {
            return Ok(());
        };
        match mirror.give_back(db).await {
            Err(why) if flag::is_set(&mirrored(&self.name)) => return Err(why),
            Ok(rows) if rows > 0 => self.tell(StoreEvent::PutBack { rows }),
            _ if flag::is_set(&once_kept(&self.name)) => self.tell(StoreEvent::Gone),
            _ => {}
        }
        self.bare.set(false);
        Ok(())
    }

    /// Joins what the tail holds to the rows of the database, and queues what is missing there.
    fn fold_tail_in(self: &Rc<Self>, rows: &mut Vec<Row>) {
        if !at_hand() {
            self.tell(StoreEvent::NoTail { why: Why::Denied });
        }
        let tail = tail::read(&self.name);
        for key in tail.unreadable {
            self.tell(StoreEvent::Unreadable { key });
        }
        let mut missing = Vec::new();
        for row in tail.rows {
            let copy = tail::name(&self.name, &row.key);
            match join(rows, row.clone()) {
                Joined::Same => tail::drop(&copy, &row.text),
                Joined::New => missing.push(Waiting {
                    row,
                    copy: Some(copy),
                }),
                Joined::Beside(key) => {
                    self.tell(StoreEvent::Conflict { key: row.key });
                    let row = Row {
                        key,
                        text: row.text,
                    };
                    missing.push(Waiting {
                        row,
                        copy: Some(copy),
                    });
                }
            }
        }
        if !missing.is_empty() {
            self.take_in(missing);
        }
    }

    fn take_in(self: &Rc<Self>, rows: Vec<Waiting>) {
        self.waiting.borrow_mut().extend(rows);
        let waiting = self.waiting.borrow().len();
        self.tell(StoreEvent::Saving { waiting });
        self.write_on();
    }

    fn retry(self: &Rc<Self>) {
        // Taken out first: the timer may be the one that is calling us.
        let timer = self.again.take();
        drop(timer);
        self.write_on();
    }

    /// Sets the writing going, unless it is. One transaction at a time: if one failed while the
    /// next went through, an effect could be saved without its cause.
    fn write_on(self: &Rc<Self>) {
        if self.writing.replace(true) {
            return;
        }
        let inner = Rc::clone(self);
        spawn_local(async move {
            while let Some(batch) = inner.batch() {
                match inner.write(&batch).await {
                    Ok(done) => inner.saved(batch.len(), done),
                    Err(why) => {
                        inner.not_saved(why);
                        break;
                    }
                }
            }
            inner.writing.set(false);
        });
    }

    /// Everything that waits now. Those of one call were put in together, so they stay together.
    fn batch(&self) -> Option<Vec<Row>> {
        let waiting = self.waiting.borrow();
        (!waiting.is_empty()).then(|| waiting.iter().map(|one| one.row.clone()).collect())
    }

    async fn write(self: &Rc<Self>, batch: &[Row]) -> Result<Done, Why> {
        let beside = self.beside.borrow().clone();
        let rows = Deed::Keep(Shelf::Rows, batch);
        match &beside {
            Some(row) => {
                let beside = Deed::Lay(Shelf::Meta, std::slice::from_ref(row));
                self.attempt_twice(&[rows, beside], PATIENCE).await
            }
            None => self.attempt_twice(&[rows], PATIENCE).await,
        }
    }

    fn saved(&self, count: usize, done: Done) {
        let saved: Vec<Waiting> = {
            let mut waiting = self.waiting.borrow_mut();
            let count = count.min(waiting.len());
            waiting.drain(..count).collect()
        };
        for one in saved {
            if let Some(copy) = one.copy {
                tail::drop(&copy, &one.row.text);
            }
        }
        self.failures.set(0);
        self.conclude(done);
        let waiting = self.waiting.borrow().len();
        self.tell(StoreEvent::Saved { waiting });
    }

    fn conclude(&self, done: Done) {
        self.durability.replace(done.durability);
        for key in done.conflicts {
            self.tell(StoreEvent::Conflict { key });
        }
    }

    fn not_saved(self: &Rc<Self>, why: Why) {
        let waiting = self.waiting.borrow().len();
        if why == Why::Slow {
            self.let_connection_go();
        }
        if why.for_a_person() {
            self.tell(StoreEvent::Refused { why });
            return;
        }
        let failures = self.failures.get();
        self.failures.set(failures.saturating_add(1));
        let wait = FIRST_WAIT
            .saturating_mul(1_i64.checked_shl(failures.min(20)).unwrap_or(i64::MAX))
            .min(LONGEST_WAIT);
        let inner = Rc::downgrade(self);
        let timer = Timer::after(wait, move || {
            if let Some(inner) = inner.upgrade() {
                inner.retry();
            }
        });
        let old = self.again.replace(timer);
        drop(old);
        self.tell(StoreEvent::NotSaved { why, waiting });
    }

    /// One transaction, and its tidings told.
    async fn carry_out(self: &Rc<Self>, deeds: &[Deed<'_>], patience: i32) -> Result<(), Why> {
        let done = self.attempt_twice(deeds, patience).await?;
        self.conclude(done);
        Ok(())
    }

    /// Phones drop connections in the background without a word: a second try on a fresh one.
    async fn attempt_twice(
        self: &Rc<Self>,
        deeds: &[Deed<'_>],
        patience: i32,
    ) -> Result<Done, Why> {
        match self.attempt(deeds, patience).await {
            Err(why) if why.may_be_the_connection() => {
                self.let_connection_go();
                self.attempt(deeds, patience).await
            }
            other => other,
        }
    }

    async fn attempt(self: &Rc<Self>, deeds: &[Deed<'_>], patience: i32) -> Result<Done, Why> {
        let db = self.database().await?;
        let Some(mirror) = &self.mirror else {
            return carry_out(&db, deeds, patience).await;
        };
        // One after the other, never at once: see there. So one change waits for the one before it.
        while self.changing.replace(true) {
            database::pause(LOOK_AGAIN).await;
        }
        mirror.follow(&db).await;
        let done = carry_out(&db, deeds, patience).await;
        match done {
            Ok(_) => mirror.repeat(deeds, patience).await,
            Err(_) => mirror.may_lack(),
        }
        self.changing.set(false);
        if done.is_ok() && !self.said_kept.replace(true) {
            let _ = flag::set(&once_kept(&self.name));
        }
        done
    }

    fn let_connection_go(&self) {
        let connection = self.connection.take();
        drop(connection);
    }

    /// The open database, opened again if it was closed.
    async fn database(self: &Rc<Self>) -> Result<IdbDatabase, Why> {
        if let Some(connection) = self.connection.borrow().as_ref() {
            return Ok(connection.db.clone());
        }
        let first = !self.opened.get();
        let (blocked, closed, wanted) = (
            Rc::downgrade(self),
            Rc::downgrade(self),
            Rc::downgrade(self),
        );
        let fresh = database::connect(
            &self.name,
            first,
            move || {
                if let Some(inner) = blocked.upgrade() {
                    inner.tell(if first {
                        StoreEvent::Held
                    } else {
                        StoreEvent::OpenElsewhere
                    });
                }
            },
            move || {
                if let Some(inner) = closed.upgrade() {
                    inner.let_connection_go();
                    inner.retry();
                }
            },
            move || {
                if let Some(inner) = wanted.upgrade() {
                    // Standing in the way would leave the other window hanging.
                    inner.let_connection_go();
                    inner.tell(StoreEvent::OpenElsewhere);
                }
            },
        )
        .await?;
        let emptied = self.opened.replace(true) && fresh.fresh;
        // Two openings at once: the first to arrive is kept, the other closes as it is dropped.
        let db = self.connection.borrow_mut().get_or_insert(fresh).db.clone();
        if emptied {
            self.bare.set(true);
            self.tell(StoreEvent::Emptied);
        }
        // Before anything is written: what is in no memory, such as old sessions.
        if !first && let Err(why) = self.put_back(&db).await {
            self.let_connection_go();
            return Err(why);
        }
        Ok(db)
    }
}
