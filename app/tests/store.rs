//! The store against a real IndexedDB and a real local storage, with the browser's failures played
//! by a few lines of JavaScript.
#![cfg(target_arch = "wasm32")]

mod common;

use common::{js, sleep, until};
use pinfold_app::device::flag;
use pinfold_app::store::StoreEvent::{
    Conflict, Emptied, NoTail, NotSaved, OpenElsewhere, Refused, Saved, Saving,
};
use pinfold_app::store::strip::{self, Strip};
use pinfold_app::store::{Deed, Row, Shelf, Store, StoreEvent, Why};
use std::cell::RefCell;
use std::rc::Rc;
use wasm_bindgen_futures::JsFuture;
use wasm_bindgen_test::{wasm_bindgen_test, wasm_bindgen_test_configure};

wasm_bindgen_test_configure!(run_in_browser);

/// Hands on the browser's own methods, so that a test can make the next transactions abort
/// (`abort`), the next rows find no room (`full`, after `roomFor` more), or the next transaction
/// take long (`slow`, milliseconds).
const PLAY: &str = r"
window.play ??= (() => {
  const play = { abort: 0, full: 0, roomFor: 0, slow: 0, db: null };
  const begin = IDBDatabase.prototype.transaction;
  IDBDatabase.prototype.transaction = function (names, mode, options) {
    const transaction = begin.call(this, names, mode, options);
    play.db = this;
    if (mode === 'readwrite' && play.abort > 0) {
      play.abort--;
      queueMicrotask(() => transaction.abort());
    }
    if (mode === 'readwrite' && play.slow > 0) {
      const end = Date.now() + play.slow;
      play.slow = 0;
      transaction.commit = undefined;
      const spin = () => { transaction.objectStore(names[0]).get('x').onsuccess = () => { if (Date.now() < end) spin(); }; };
      spin();
    }
    return transaction;
  };
  const add = IDBObjectStore.prototype.add;
  IDBObjectStore.prototype.add = function (...row) {
    if (play.full > 0 && play.roomFor-- <= 0) {
      play.full--;
      throw new DOMException('no room', 'QuotaExceededError');
    }
    return add.apply(this, row);
  };
  return play;
})();
Object.assign(play, { abort: 0, full: 0, roomFor: 0, slow: 0 });
localStorage.clear();
";

struct Bench {
    name: &'static str,
    heard: Rc<RefCell<Vec<StoreEvent>>>,
}

impl Bench {
    /// An empty database, an empty tail, nothing going wrong.
    async fn new(name: &'static str) -> Self {
        js(PLAY);
        delete(name).await;
        Self {
            name,
            heard: Rc::default(),
        }
    }

    async fn open(&self) -> (Store, Vec<Row>) {
        let heard = Rc::clone(&self.heard);
        Store::open(self.name, move |event| heard.borrow_mut().push(event))
            .await
            .unwrap()
    }

    /// What a new start finds in the database alone.
    async fn kept(&self) -> Vec<Row> {
        let tail = tail();
        assert!(tail.is_empty(), "the tail would be folded in: {tail:?}");
        Store::open(self.name, |_| {}).await.unwrap().1
    }

    fn heard(&self) -> Vec<StoreEvent> {
        self.heard.take()
    }

    async fn hears(&self, event: StoreEvent) {
        until(&format!("{event:?}"), || {
            self.heard.borrow().contains(&event)
        })
        .await;
    }
}

async fn delete(name: &str) {
    let deleted = js(&format!(
        "new Promise((done, fail) => {{ const r = indexedDB.deleteDatabase('{name}'); r.onsuccess = done; r.onerror = fail; }})"
    ));
    JsFuture::from(js_sys::Promise::resolve(&deleted))
        .await
        .unwrap();
}

fn row(number: u32, text: &str) -> Row {
    Row {
        key: format!("{number:016}-00000000000000000000000000000abc"),
        text: text.into(),
    }
}

fn beside(number: u32, ordinal: u32, text: &str) -> Row {
    let mut row = row(number, text);
    row.key = format!("{}~{ordinal}", row.key);
    row
}

/// The keys in the tail of any database, in order. Each test begins with none.
fn tail() -> Vec<String> {
    let names =
        js("Object.keys(localStorage).filter((name) => name.includes('.tail.')).sort().join(' ')");
    let names = names.as_string().unwrap();
    names
        .split_whitespace()
        .map(|name| name.split_once(".tail.").unwrap().1.into())
        .collect()
}

fn put_in_tail(database: &str, row: &Row) {
    js(&format!(
        "localStorage.setItem('{database}.tail.{}', JSON.stringify('{}'))",
        row.key, row.text
    ));
}

const SAVED: StoreEvent = Saved { waiting: 0 };

#[wasm_bindgen_test]
async fn what_is_saved_is_there_at_the_next_start() {
    let bench = Bench::new("t-saved").await;
    let (store, rows) = bench.open().await;
    assert_eq!(rows, [], "control: nothing is there before");
    store.append(vec![row(2, "second"), row(1, "first")]);
    assert_eq!(tail().len(), 2, "the tail has them before append returns");
    assert_eq!(bench.heard(), [Saving { waiting: 2 }]);
    assert_eq!(store.waiting(), 2);
    bench.hears(SAVED).await;
    assert_eq!(tail().len(), 0, "saved rows leave the tail");
    assert_eq!(store.waiting(), 0);
    assert_eq!(
        bench.kept().await,
        [row(1, "first"), row(2, "second")],
        "in the order of keys"
    );
}

#[wasm_bindgen_test]
async fn the_browser_says_strict() {
    let bench = Bench::new("t-strict").await;
    let (store, _) = bench.open().await;
    assert_eq!(store.durability(), "", "control: nothing is claimed before");
    store.append(vec![row(1, "a")]);
    bench.hears(SAVED).await;
    assert_eq!(store.durability(), "strict");
    // The reading itself is real: a plain transaction does not say strict.
    assert_eq!(
        js("play.db.transaction('rows', 'readwrite').durability")
            .as_string()
            .unwrap(),
        "default"
    );
}

#[wasm_bindgen_test]
async fn a_tail_without_its_transaction_is_folded_in() {
    let bench = Bench::new("t-tail").await;
    let (store, _) = bench.open().await;
    store.append(vec![row(2, "b")]);
    bench.hears(SAVED).await;
    assert_eq!(bench.kept().await, [row(2, "b")], "control: only that");
    put_in_tail(bench.name, &row(3, "c"));
    put_in_tail(bench.name, &row(1, "a"));
    // The copy of a row that was saved, left behind by a kill between the two.
    put_in_tail(bench.name, &row(2, "b"));
    bench.heard();
    let (_, rows) = bench.open().await;
    assert_eq!(rows, [row(1, "a"), row(2, "b"), row(3, "c")]);
    bench.hears(SAVED).await;
    assert_eq!(
        bench.kept().await,
        [row(1, "a"), row(2, "b"), row(3, "c")],
        "and they are in the database now"
    );
    assert!(
        !bench
            .heard()
            .iter()
            .any(|one| matches!(one, Conflict { .. }))
    );
}

#[wasm_bindgen_test]
async fn a_tail_that_cannot_be_read_is_left_and_told() {
    let bench = Bench::new("t-torn").await;
    let key = row(1, "").key;
    js(&format!(
        "localStorage.setItem('t-torn.tail.{key}', '\"torn')"
    ));
    let (_, rows) = bench.open().await;
    assert_eq!(rows, []);
    assert_eq!(bench.heard(), [StoreEvent::Unreadable { key: key.clone() }]);
    assert_eq!(tail(), [key]);
}

#[wasm_bindgen_test]
async fn one_key_with_two_texts_keeps_both() {
    let bench = Bench::new("t-two-texts").await;
    let (store, _) = bench.open().await;
    store.append(vec![row(1, "a")]);
    bench.hears(SAVED).await;
    bench.heard();
    store.append(vec![row(1, "a")]);
    bench.hears(SAVED).await;
    assert_eq!(
        bench.heard(),
        [Saving { waiting: 1 }, SAVED],
        "control: the same text is no conflict"
    );
    store.append(vec![row(1, "other"), row(2, "b")]);
    bench.hears(SAVED).await;
    let key = row(1, "").key;
    assert!(bench.heard().contains(&Conflict { key: key.clone() }));
    let both = [row(1, "a"), beside(1, 1, "other"), row(2, "b")];
    assert_eq!(bench.kept().await, both);
    // Once more, and a third text.
    store.append(vec![row(1, "other")]);
    bench.hears(SAVED).await;
    assert!(!bench.heard().contains(&Conflict { key: key.clone() }));
    assert_eq!(bench.kept().await, both);
    store.append(vec![row(1, "third")]);
    bench.hears(SAVED).await;
    assert!(bench.heard().contains(&Conflict { key }));
    assert!(bench.kept().await.contains(&beside(1, 2, "third")));
}

#[wasm_bindgen_test]
async fn a_tail_at_odds_with_the_database_keeps_both() {
    let bench = Bench::new("t-odds").await;
    let (store, _) = bench.open().await;
    store.append(vec![row(1, "a")]);
    bench.hears(SAVED).await;
    put_in_tail(bench.name, &row(1, "other"));
    bench.heard();
    let (_, rows) = bench.open().await;
    assert_eq!(rows, [row(1, "a"), beside(1, 1, "other")]);
    let key = row(1, "").key;
    bench.hears(SAVED).await;
    assert!(bench.heard().contains(&Conflict { key }));
    assert_eq!(bench.kept().await, [row(1, "a"), beside(1, 1, "other")]);
}

#[wasm_bindgen_test]
async fn a_lost_connection_is_opened_again() {
    let bench = Bench::new("t-closed").await;
    let (store, _) = bench.open().await;
    store.append(vec![row(1, "a")]);
    bench.hears(SAVED).await;
    bench.heard();
    js("play.db.close()");
    let dead = js(
        "(() => { try { play.db.transaction('rows'); return 'alive' } catch (e) { return e.name } })()",
    );
    assert_eq!(dead.as_string().unwrap(), "InvalidStateError", "control");
    store.append(vec![row(2, "b")]);
    bench.hears(SAVED).await;
    assert_eq!(bench.heard(), [Saving { waiting: 1 }, SAVED]);
    assert_eq!(bench.kept().await, [row(1, "a"), row(2, "b")]);
}

#[wasm_bindgen_test]
async fn a_database_cleared_beneath_us_is_told() {
    let bench = Bench::new("t-emptied").await;
    let (store, _) = bench.open().await;
    store.append(vec![row(1, "a")]);
    bench.hears(SAVED).await;
    bench.heard();
    // Ends only because our connection stands back.
    delete(bench.name).await;
    assert_eq!(bench.heard(), [OpenElsewhere]);
    store.append(vec![row(2, "b")]);
    bench.hears(SAVED).await;
    assert!(bench.heard().contains(&Emptied));
    assert_eq!(
        bench.kept().await,
        [row(2, "b")],
        "control: the first is gone"
    );
    store.append(vec![row(1, "a"), row(2, "b")]);
    bench.hears(SAVED).await;
    assert_eq!(bench.kept().await, [row(1, "a"), row(2, "b")]);
}

#[wasm_bindgen_test]
async fn a_newer_database_is_left_alone() {
    let bench = Bench::new("t-newer").await;
    let (store, _) = bench.open().await;
    let raised = js(
        "new Promise((done, fail) => { const r = indexedDB.open('t-newer', 2); r.onsuccess = () => { r.result.close(); done(); }; r.onerror = fail; })",
    );
    JsFuture::from(js_sys::Promise::resolve(&raised))
        .await
        .unwrap();
    assert_eq!(bench.heard(), [OpenElsewhere]);
    store.append(vec![row(1, "a")]);
    bench.hears(Refused { why: Why::Newer }).await;
    assert_eq!(store.waiting(), 1, "kept in memory");
    assert_eq!(tail(), [row(1, "").key], "and in the tail");
    assert_eq!(
        Store::open(bench.name, |_| {}).await.err(),
        Some(Why::Newer)
    );
}

#[wasm_bindgen_test]
async fn an_import_is_all_or_nothing() {
    let bench = Bench::new("t-import").await;
    let (store, _) = bench.open().await;
    let many: Vec<Row> = (1..=2000).map(|n| row(n, "text")).collect();
    // Both tries are taken back.
    js("play.abort = 2");
    assert_eq!(store.append_all(&many).await, Err(Why::Aborted));
    assert_eq!(bench.kept().await, []);
    js("play.full = 1; play.roomFor = 1500");
    assert_eq!(store.append_all(&many).await, Err(Why::Full));
    assert_eq!(
        bench.kept().await,
        [],
        "1500 fitted, and none of them stayed"
    );
    assert_eq!(store.append_all(&many).await, Ok(()));
    assert_eq!(bench.kept().await, many, "control: it goes when it can");
    assert_eq!(store.append_all(&many).await, Ok(()), "twice is harmless");
    assert_eq!(bench.kept().await.len(), 2000);
    assert_eq!(tail().len(), 0, "an import does not go through the tail");
}

#[wasm_bindgen_test]
async fn taken_back_then_tried_again_by_itself() {
    let bench = Bench::new("t-abort").await;
    let (store, _) = bench.open().await;
    js("play.abort = 2");
    store.append(vec![row(1, "a"), row(2, "b")]);
    let not_saved = NotSaved {
        why: Why::Aborted,
        waiting: 2,
    };
    bench.hears(not_saved.clone()).await;
    assert_eq!(tail().len(), 2, "still in the tail");
    bench.hears(SAVED).await;
    assert_eq!(bench.heard(), [Saving { waiting: 2 }, not_saved, SAVED]);
    assert_eq!(bench.kept().await, [row(1, "a"), row(2, "b")]);
}

#[wasm_bindgen_test]
async fn no_room_then_room() {
    let bench = Bench::new("t-full").await;
    let (store, _) = bench.open().await;
    js("play.full = 1000");
    store.append(vec![row(1, "a")]);
    bench
        .hears(NotSaved {
            why: Why::Full,
            waiting: 1,
        })
        .await;
    store.append(vec![row(2, "b")]);
    bench
        .hears(NotSaved {
            why: Why::Full,
            waiting: 2,
        })
        .await;
    assert_eq!(store.waiting(), 2);
    assert_eq!(
        store.read_everything().await.unwrap().rows,
        [row(1, "a"), row(2, "b")],
        "a copy taken out now has what is not saved"
    );
    assert!(!bench.heard().contains(&SAVED), "control");
    js("play.full = 0");
    store.retry();
    bench.hears(SAVED).await;
    assert_eq!(bench.kept().await, [row(1, "a"), row(2, "b")]);
}

#[wasm_bindgen_test]
async fn a_slow_transaction_is_told_and_does_no_harm() {
    let bench = Bench::new("t-slow").await;
    let (store, _) = bench.open().await;
    js("play.slow = 6500");
    store.append(vec![row(1, "a")]);
    sleep(1000).await;
    assert_eq!(bench.heard(), [Saving { waiting: 1 }], "control: not yet");
    bench
        .hears(NotSaved {
            why: Why::Slow,
            waiting: 1,
        })
        .await;
    bench.hears(SAVED).await;
    assert!(
        !bench
            .heard()
            .iter()
            .any(|one| matches!(one, Conflict { .. })),
        "the first came through after all, and the second found the same text"
    );
    assert_eq!(bench.kept().await, [row(1, "a")]);
}

#[wasm_bindgen_test]
async fn a_full_tail_does_not_stop_the_database() {
    let bench = Bench::new("t-no-tail").await;
    let (store, _) = bench.open().await;
    js(
        "let size = 4 << 20; for (let n = 0; size > 0; n++) { try { localStorage.setItem('filler' + n, 'x'.repeat(size)); } catch { size >>= 1; } }",
    );
    store.append(vec![row(1, "a")]);
    assert_eq!(tail().len(), 0, "control: the tail really is full");
    bench.hears(SAVED).await;
    assert_eq!(
        bench.heard(),
        [NoTail { why: Why::Full }, Saving { waiting: 1 }, SAVED]
    );
    assert_eq!(bench.kept().await, [row(1, "a")]);
}

#[wasm_bindgen_test]
async fn where_local_storage_is_denied_the_database_still_keeps() {
    let bench = Bench::new("t-denied").await;
    js(
        "window.allowed = Object.getOwnPropertyDescriptor(window, 'localStorage'); Object.defineProperty(window, 'localStorage', { configurable: true, get() { throw new DOMException('no', 'SecurityError'); } })",
    );
    let denied = js("(() => { try { return localStorage.length } catch (e) { return e.name } })()");
    assert_eq!(denied.as_string().unwrap(), "SecurityError", "control");
    let (store, _) = bench.open().await;
    store.append(vec![row(1, "a")]);
    let strip = strip::write(&Strip::new(
        1,
        vec![("Patient's L cheek".into(), 1)],
        vec![],
        vec![],
    ));
    bench.hears(SAVED).await;
    flag::clear("t-flag");
    let flags = (flag::set("t-flag"), flag::is_set("t-flag"));
    js("Object.defineProperty(window, 'localStorage', allowed)");
    let no_tail = NoTail { why: Why::Denied };
    assert_eq!(
        bench.heard(),
        [no_tail.clone(), no_tail, Saving { waiting: 1 }, SAVED],
        "told at the start and at the tap"
    );
    assert_eq!(strip, Err(Why::Denied));
    assert_eq!(flags, (false, false));
    assert_eq!(bench.kept().await, [row(1, "a")]);
    assert!(flag::set("t-flag") && flag::is_set("t-flag"), "control");
    flag::clear("t-flag");
    assert!(!flag::is_set("t-flag"));
}

#[wasm_bindgen_test]
async fn two_databases_share_no_tail() {
    let bench = Bench::new("t-own").await;
    put_in_tail("t-own", &row(1, "mine"));
    put_in_tail("t-own.other", &row(2, "theirs"));
    let (_, rows) = bench.open().await;
    assert_eq!(rows, [row(1, "mine")]);
    bench.hears(SAVED).await;
    assert_eq!(tail(), [row(2, "").key], "theirs stays where it was");
    pinfold_app::store::remove("t-own").await;
    js(PLAY);
    assert_eq!(bench.kept().await, [], "removed");
}

#[wasm_bindgen_test]
async fn a_burst_of_taps_keeps_every_one() {
    let bench = Bench::new("t-burst").await;
    let (store, _) = bench.open().await;
    let taps: Vec<Row> = (1..=200).map(|n| row(n, "tap")).collect();
    for (number, tap) in taps.iter().enumerate() {
        // Every so often the browser takes a transaction back, or drops the connection.
        if number % 37 == 0 {
            js("play.abort = 1");
        }
        if number % 53 == 0 {
            js("play.db.close()");
        }
        store.append(vec![tap.clone()]);
        if number % 5 == 0 {
            sleep(1).await;
        }
    }
    until("all saved", || store.waiting() == 0).await;
    assert_eq!(bench.kept().await, taps);
}

/// As when somebody is erased: their key and packs go with every sheet, and what is left comes.
#[wasm_bindgen_test]
async fn several_things_are_done_in_one_transaction_or_not_at_all() {
    let bench = Bench::new("t-change").await;
    let (store, _) = bench.open().await;
    let one = |key: &str, text: &str| Row {
        key: key.into(),
        text: text.into(),
    };
    let (key, pack, sheet) = (
        one("key.p:3", "key1 p:3 x"),
        one("s:1/2-3", "names somebody"),
        one("base.1", "names somebody"),
    );
    store
        .append_all(&[row(1, "names somebody"), row(2, "b"), key.clone()])
        .await
        .unwrap();
    store.keep_packs(&[pack.clone()]).await.unwrap();
    store.lay(Shelf::Summaries, &[sheet.clone()]).await.unwrap();
    let (tomb, bare, left, base) = (
        [row(9, "tombstone")],
        [row(1, "bare")],
        [one("s:1/2-3", "left")],
        [one("base.2", "nobody")],
    );
    let rows = [key.key, row(1, "").key];
    let (packs, sheets) = ([pack.key], [sheet.key]);
    let deeds = [
        Deed::Keep(Shelf::Rows, &tomb),
        Deed::Remove(Shelf::Rows, &rows),
        Deed::Keep(Shelf::Rows, &bare),
        Deed::Remove(Shelf::Packs, &packs),
        Deed::Lay(Shelf::Packs, &left),
        Deed::Remove(Shelf::Summaries, &sheets),
        Deed::Lay(Shelf::Summaries, &base),
    ];
    let before = bench.kept().await;
    js("play.abort = 2");
    assert_eq!(store.change(&deeds).await, Err(Why::Aborted));
    assert_eq!(bench.kept().await, before, "nothing came and nothing went");
    let packs = store.read(Shelf::Packs).await.unwrap();
    assert_eq!(packs[0].text, "names somebody");
    assert_eq!(store.change(&deeds).await, Ok(()));
    assert_eq!(
        bench.kept().await,
        [row(1, "bare"), row(2, "b"), row(9, "tombstone")]
    );
    assert_eq!(store.read(Shelf::Packs).await, Ok(left.to_vec()));
    assert_eq!(store.read(Shelf::Summaries).await, Ok(base.to_vec()));
}

#[wasm_bindgen_test]
async fn a_pack_takes_the_place_of_its_rows() {
    let bench = Bench::new("t-pack").await;
    let (store, _) = bench.open().await;
    let pack = Row {
        key: "s:1".into(),
        text: "packed".into(),
    };
    let summary = Row {
        key: "s:1".into(),
        text: "short".into(),
    };
    let covers = [row(1, "").key, row(2, "").key];
    store.append(vec![row(1, "a"), row(2, "b"), row(3, "c")]);
    bench.hears(SAVED).await;
    let (packs, sheets) = ([pack.clone()], [summary.clone()]);
    js("play.abort = 2");
    assert_eq!(store.keep_packs(&packs).await, Err(Why::Aborted));
    assert_eq!(store.read(Shelf::Packs).await, Ok(vec![]));
    store.keep_packs(&packs).await.unwrap();
    assert_eq!(bench.kept().await.len(), 3, "nothing was taken away yet");
    store.settle(&sheets, &[], &covers).await.unwrap();
    let all = store.read_everything().await.unwrap();
    assert_eq!(all.rows, [row(3, "c")]);
    assert_eq!(all.packs, [pack]);
    assert_eq!(store.read(Shelf::Summaries).await, Ok(vec![summary]));
    assert_eq!(
        store.read_one(Shelf::Packs, "s:1").await,
        Ok(Some("packed".into()))
    );
    assert_eq!(store.read_one(Shelf::Packs, "s:2").await, Ok(None));
    let old = Row {
        key: "s:1".into(),
        text: "other".into(),
    };
    assert_eq!(
        store.lay(Shelf::Packs, &[old.clone()]).await,
        Err(Why::Denied)
    );
    store.lay(Shelf::Summaries, &[old.clone()]).await.unwrap();
    assert_eq!(store.read(Shelf::Summaries).await, Ok(vec![old]));
    store.erase(Shelf::Packs, &["s:1".into()]).await.unwrap();
    assert_eq!(store.keys(Shelf::Packs).await, Ok(vec![]));
}

#[wasm_bindgen_test]
fn the_strip_is_written_at_once_and_goes_when_nothing_is_in() {
    js(PLAY);
    let read = || js("localStorage.getItem('pinfold.strip')").as_string();
    let full = Strip::new(
        1_000,
        vec![("Patient's L cheek".into(), 7)],
        vec![("Take out L cheek".into(), 2_000)],
        vec![("3-0a cheek.left".into(), 7)],
    );
    strip::write(&full).unwrap();
    assert_eq!(
        read().unwrap(),
        r#"{"v":1,"at":1000,"in":[["Patient's L cheek",7]],"due":[["Take out L cheek",2000]],"held":[["3-0a cheek.left",7]]}"#
    );
    assert_eq!(strip::read(), Some(full));
    strip::write(&Strip::new(
        3_000,
        vec![],
        vec![("Cream off".into(), 4_000)],
        vec![],
    ))
    .unwrap();
    assert!(read().is_some(), "a clock alone keeps it");
    strip::write(&Strip::new(5_000, vec![], vec![], vec![])).unwrap();
    assert_eq!(read(), None);
    assert_eq!(strip::read(), None);
    js(r#"localStorage.setItem('pinfold.strip', '{"v":2,"at":0,"in":[],"due":[]}')"#);
    assert_eq!(strip::read(), None, "a shape of a later build");
}
