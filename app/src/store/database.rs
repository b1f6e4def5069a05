//! IndexedDB in few words: a connection, a request's answer, a transaction's end.
//!
//! Inside a transaction nothing but its own requests may be awaited: it closes when control returns
//! to the browser with none pending.

use super::{Row, Shelf, Why};
use crate::device::alarm::Timer;
use crate::device::{flag, reach};
use js_sys::{Array, Function, Object, Promise};
use std::rc::Rc;
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::JsFuture;
use web_sys::{
    Event, IdbDatabase, IdbFactory, IdbObjectStore, IdbOpenDbRequest, IdbRequest, IdbTransaction,
};

/// The shape of the database. A newer build may raise it; an older one must then stand back.
const VERSION: u32 = 1;

/// How long opening may take before it is said, in milliseconds. Policy: some phones never answer the
/// first time.
const OPENING: i32 = 10_000;

impl Shelf {
    const ALL: [Self; 4] = [Self::Rows, Self::Packs, Self::Summaries, Self::Meta];

    /// Its name in the database.
    pub(super) fn name(self) -> &'static str {
        match self {
            Self::Rows => "rows",
            Self::Packs => "packs",
            Self::Summaries => "summaries",
            Self::Meta => "meta",
        }
    }
}

/// An open connection and the hands that belong to it.
pub(super) struct Connection {
    pub(super) db: IdbDatabase,
    /// True if the database did not exist before.
    pub(super) fresh: bool,
    _closed: Closure<dyn Fn()>,
    _wanted: Closure<dyn Fn()>,
}

impl Drop for Connection {
    fn drop(&mut self) {
        self.db.set_onclose(None);
        self.db.set_onversionchange(None);
        // Transactions under way still run to their end.
        self.db.close();
    }
}

fn factory() -> Option<IdbFactory> {
    reach::global("indexedDB").dyn_into().ok()
}

/// Removes a whole database. Its connections must be closed; a browser that will not is left alone.
pub async fn remove(name: &str) {
    super::mirror::remove(name).await;
    flag::clear(&super::mirror::once_kept(name));
    flag::clear(&super::mirror::mirrored(name));
    let asked = factory().and_then(|factory| factory.delete_database(name).ok());
    if let Some(request) = asked {
        let request: &IdbRequest = request.as_ref();
        let _ = answer(request).await;
    }
}

/// Opens the database, making it if need be. `patient`: without end, because another window may hold it
/// and let go of it; else an answer that does not come is [`Why::Slow`]. `blocked`: another window keeps
/// it from us, or no answer has come for long; of a window that is removing it nothing else tells.
/// `closed`: the browser dropped the connection. `wanted`: another window wants to change or remove it.
pub(super) async fn connect(
    name: &str,
    patient: bool,
    blocked: impl Fn() + 'static,
    closed: impl Fn() + 'static,
    wanted: impl Fn() + 'static,
) -> Result<Connection, Why> {
    let factory = factory().ok_or(Why::Denied)?;
    connect_in(
        &factory,
        name,
        patient,
        Box::new(blocked),
        Box::new(closed),
        Box::new(wanted),
    )
    .await
}

/// The same, where another store than the usual one is meant.
pub(super) async fn connect_in(
    factory: &IdbFactory,
    name: &str,
    patient: bool,
    blocked: Box<dyn Fn()>,
    closed: Box<dyn Fn()>,
    wanted: Box<dyn Fn()>,
) -> Result<Connection, Why> {
    let request = factory
        .open_with_u32(name, VERSION)
        .map_err(|why| Why::of(&why))?;
    let blocked: Rc<dyn Fn()> = Rc::from(blocked);
    let late = patient.then(|| {
        let blocked = Rc::clone(&blocked);
        Timer::after(OPENING.into(), move || blocked())
    });
    let blocked = Closure::<dyn Fn()>::new(move || blocked());
    request.set_onblocked(Some(blocked.as_ref().unchecked_ref()));
    let made = Closure::<dyn Fn(Event)>::new(move |event: Event| {
        let _ = make_shelves(&event);
    });
    request.set_onupgradeneeded(Some(made.as_ref().unchecked_ref()));

    let fresh_mark = request.clone();
    let db = if patient {
        answer(&request).await
    } else {
        answer_within(&request, OPENING).await
    };
    drop(late);
    request.set_onblocked(None);
    request.set_onupgradeneeded(None);
    let db: IdbDatabase = db?.dyn_into().map_err(|_| Why::Other)?;

    let closed = Closure::wrap(closed);
    let wanted = Closure::wrap(wanted);
    db.set_onclose(Some(closed.as_ref().unchecked_ref()));
    db.set_onversionchange(Some(wanted.as_ref().unchecked_ref()));
    Ok(Connection {
        db,
        fresh: reach::get(&fresh_mark, FRESH).is_truthy(),
        _closed: closed,
        _wanted: wanted,
    })
}

/// A mark of ours on the request that made the database.
const FRESH: &str = "pinfoldFresh";

fn make_shelves(event: &Event) -> Option<()> {
    let request: IdbOpenDbRequest = event.target()?.unchecked_into();
    let db: IdbDatabase = request.result().ok()?.unchecked_into();
    for shelf in Shelf::ALL {
        db.create_object_store(shelf.name()).ok()?;
    }
    reach::set(&request, FRESH, &JsValue::TRUE);
    Some(())
}

/// Begins a transaction that changes things, with the strict promise: "complete" then means that
/// the bytes were handed on to the disk. The typed binding has this behind an unstable switch.
pub(super) fn strict(db: &IdbDatabase, shelves: &[Shelf]) -> Result<IdbTransaction, Why> {
    let options = Object::new();
    reach::set(&options, "durability", &"strict".into());
    let names = names(shelves);
    let begun = reach::call(db, "transaction", &[&names, &"readwrite".into(), &options]);
    begun
        .map(JsValue::unchecked_into)
        .map_err(|why| Why::of(&why))
}

/// Begins a transaction that only reads.
fn reading(db: &IdbDatabase, shelf: Shelf) -> Result<IdbObjectStore, Why> {
    db.transaction_with_str(shelf.name())
        .and_then(|transaction| transaction.object_store(shelf.name()))
        .map_err(|why| Why::of(&why))
}

fn names(shelves: &[Shelf]) -> Array {
    shelves
        .iter()
        .map(|shelf| JsValue::from_str(shelf.name()))
        .collect()
}

/// A promise that a function of the browser can settle. Never rejected, so that one which nobody
/// waits for any more is no error.
fn settled(arm: impl Fn(&Function)) -> JsFuture {
    JsFuture::from(Promise::new(&mut |settle, _| arm(&settle)))
}

fn give_up_after(millis: i32, settle: &Function) {
    if let Some(window) = web_sys::window() {
        let _ = window.set_timeout_with_callback_and_timeout_and_arguments_0(settle, millis);
    }
}

/// Waits so many milliseconds. Never inside a transaction: it would be over.
pub(super) async fn pause(millis: i32) {
    let _ = settled(|settle| give_up_after(millis, settle)).await;
}

/// Waits for a request of the present transaction.
pub(super) async fn answer(request: &IdbRequest) -> Result<JsValue, Why> {
    let _ = settled(|settle| {
        request.set_onsuccess(Some(settle));
        request.set_onerror(Some(settle));
    })
    .await;
    read(request)
}

async fn answer_within(request: &IdbRequest, millis: i32) -> Result<JsValue, Why> {
    let event = settled(|settle| {
        request.set_onsuccess(Some(settle));
        request.set_onerror(Some(settle));
        give_up_after(millis, settle);
    })
    .await;
    if event.is_ok_and(|event| event.is_undefined()) {
        return Err(Why::Slow);
    }
    read(request)
}

fn read(request: &IdbRequest) -> Result<JsValue, Why> {
    match request.error() {
        Ok(Some(error)) => Err(Why::of(&error)),
        Ok(None) => request.result().map_err(|why| Why::of(&why)),
        Err(why) => Err(Why::of(&why)),
    }
}

/// Begins to watch for a transaction's end. To be called before its first request is awaited.
pub(super) fn ending(transaction: &IdbTransaction, millis: i32) -> JsFuture {
    settled(|settle| {
        transaction.set_oncomplete(Some(settle));
        transaction.set_onabort(Some(settle));
        give_up_after(millis, settle);
    })
}

/// Waits for the end: `Ok` only if the transaction is complete.
pub(super) async fn ended(ending: JsFuture, transaction: &IdbTransaction) -> Result<(), Why> {
    match ending.await.ok().map(JsValue::dyn_into::<Event>) {
        Some(Ok(event)) if event.type_() == "complete" => Ok(()),
        Some(Ok(_)) => Err(reason(transaction).unwrap_or(Why::Aborted)),
        _ => Err(Why::Slow),
    }
}

/// Why a transaction was aborted, if it says so.
pub(super) fn reason(transaction: &IdbTransaction) -> Option<Why> {
    transaction.error().map(|error| Why::of(&error))
}

/// Every row of a shelf in the order of keys, and the keys of those that are not text.
pub(super) async fn read_all(
    db: &IdbDatabase,
    shelf: Shelf,
) -> Result<(Vec<Row>, Vec<String>), Why> {
    let store = reading(db, shelf)?;
    let keys = store.get_all_keys().map_err(|why| Why::of(&why))?;
    let texts = store.get_all().map_err(|why| Why::of(&why))?;
    // Both are asked before the first is awaited: one snapshot, one order. The answer to the second
    // request comes after the answer to the first.
    let texts: Array = answer(&texts).await?.unchecked_into();
    let keys: Array = read(&keys)?.unchecked_into();
    let mut rows = Vec::with_capacity(texts.length() as usize);
    let mut unreadable = Vec::new();
    for (key, text) in keys.iter().zip(texts.iter()) {
        let key = key.as_string().unwrap_or_default();
        match text.as_string() {
            Some(text) => rows.push(Row { key, text }),
            None => unreadable.push(key),
        }
    }
    Ok((rows, unreadable))
}

/// How many rows a shelf has.
pub(super) async fn count(db: &IdbDatabase, shelf: Shelf) -> Result<u32, Why> {
    let count = reading(db, shelf)?.count().map_err(|why| Why::of(&why))?;
    Ok(answer(&count)
        .await?
        .as_f64()
        .map_or(0, |count| count as u32))
}

/// Every key of a shelf, in order.
pub(super) async fn read_keys(db: &IdbDatabase, shelf: Shelf) -> Result<Vec<String>, Why> {
    let keys = reading(db, shelf)?
        .get_all_keys()
        .map_err(|why| Why::of(&why))?;
    let keys: Array = answer(&keys).await?.unchecked_into();
    Ok(keys.iter().filter_map(|key| key.as_string()).collect())
}

/// The texts under some keys, in their order, in one reading; none where there is no such row.
pub(super) async fn read_some(
    db: &IdbDatabase,
    shelf: Shelf,
    keys: &[String],
) -> Result<Vec<Option<String>>, Why> {
    let store = reading(db, shelf)?;
    let mut asked = Vec::with_capacity(keys.len());
    for key in keys {
        asked.push(
            store
                .get(&key.as_str().into())
                .map_err(|why| Why::of(&why))?,
        );
    }
    // Answers come in the order of the requests.
    if let Some(last) = asked.last() {
        answer(last).await?;
    }
    asked.iter().map(|one| Ok(read(one)?.as_string())).collect()
}

/// The text under one key.
pub(super) async fn read_one(
    db: &IdbDatabase,
    shelf: Shelf,
    key: &str,
) -> Result<Option<String>, Why> {
    let request = reading(db, shelf)?
        .get(&key.into())
        .map_err(|why| Why::of(&why))?;
    Ok(answer(&request).await?.as_string())
}
