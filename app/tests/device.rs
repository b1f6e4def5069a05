//! The phone's abilities, as far as a headless browser has them.
#![cfg(target_arch = "wasm32")]

mod common;

use common::{js, sleep, until};
use pinfold_app::device::alarm::{Alarm, Tick, Timer};
use pinfold_app::device::files::{self, NotPicked};
use pinfold_app::device::lock::{self, Hold};
use pinfold_app::device::wake::{Awake, Wake};
use pinfold_app::device::{
    broke, clock, display, entropy, hash, started, storage_state, theme, update, visibility,
};
use std::cell::{Cell, RefCell};
use std::rc::Rc;
use wasm_bindgen::JsCast;
use wasm_bindgen_test::{wasm_bindgen_test, wasm_bindgen_test_configure};

wasm_bindgen_test_configure!(run_in_browser);

fn counter() -> (Rc<Cell<u32>>, impl Fn() + 'static) {
    let count = Rc::new(Cell::new(0));
    let more = Rc::clone(&count);
    (count, move || more.set(more.get() + 1))
}

#[wasm_bindgen_test]
async fn one_window_holds_the_lock() {
    let (lost, lose) = counter();
    let first = lock::hold("t-lock", lose).await;
    assert!(matches!(first, Hold::Held(_)));
    assert!(matches!(lock::hold("t-lock", || {}).await, Hold::Elsewhere));
    assert_eq!(lost.get(), 0, "control: asking takes nothing away");
    assert!(matches!(lock::hold("t-other", || {}).await, Hold::Held(_)));
    drop(first);
    sleep(50).await;
    assert_eq!(lost.get(), 0, "letting go is not losing");
    assert!(matches!(lock::hold("t-lock", || {}).await, Hold::Held(_)));
}

#[wasm_bindgen_test]
async fn the_lock_can_be_taken_over_and_the_loser_is_told() {
    let (lost, lose) = counter();
    let first = lock::hold("t-steal", lose).await;
    assert!(matches!(first, Hold::Held(_)));
    let (second_lost, lose) = counter();
    let second = lock::take_over("t-steal", lose).await;
    assert!(matches!(second, Hold::Held(_)));
    until("the first is told", || lost.get() == 1).await;
    drop(first);
    assert!(
        matches!(lock::hold("t-steal", || {}).await, Hold::Elsewhere),
        "what the loser lets go is not the lock"
    );
    assert_eq!(second_lost.get(), 0);
    drop(second);
}

#[wasm_bindgen_test]
fn clocks_and_names() {
    let (a, b) = (clock::now(), clock::now());
    assert!(a.wall.0 > 1_700_000_000_000 && b.wall >= a.wall);
    assert!(a.mono >= 0 && b.mono >= a.mono && a.mono < a.wall.0);
    let offset = js("new Date().getTimezoneOffset()").as_f64().unwrap();
    assert_eq!(f64::from(-a.zone), offset);
    assert_ne!(entropy::replica(), entropy::replica());
    assert_ne!(entropy::bytes::<24>().unwrap(), [0; 24]);
}

#[wasm_bindgen_test]
async fn an_alarm_rings_once_when_due() {
    let (rung, ring) = counter();
    let alarm = Alarm::new(ring);
    alarm.set(Some(clock::wall() + 80));
    sleep(20).await;
    assert_eq!(rung.get(), 0, "control: not before");
    until("rung", || rung.get() == 1).await;
    alarm.set(Some(clock::wall() - 1));
    assert_eq!(rung.get(), 1, "not inside the call");
    until("rung for what has passed", || rung.get() == 2).await;
    alarm.set(Some(clock::wall() + 30));
    alarm.set(None);
    sleep(80).await;
    assert_eq!(rung.get(), 2, "stopped");
    alarm.set(Some(clock::wall() + 30));
    drop(alarm);
    sleep(80).await;
    assert_eq!(rung.get(), 2, "dropped");
}

#[wasm_bindgen_test]
async fn timers_and_ticks_stop_when_dropped() {
    let (count, more) = counter();
    let timer = Timer::after(20, more);
    drop(timer);
    sleep(60).await;
    assert_eq!(count.get(), 0);
    let (count, more) = counter();
    let kept = Timer::after(20, more);
    until("the one that is kept", || count.get() == 1).await;
    drop(kept);

    let (count, more) = counter();
    let tick = Tick::new(more);
    until("a tick", || count.get() > 0).await;
    drop(tick);
    let then = count.get();
    sleep(1200).await;
    assert_eq!(count.get(), then);
}

#[wasm_bindgen_test]
async fn a_tick_rests_while_the_page_is_hidden() {
    let seen = Rc::new(RefCell::new(Vec::new()));
    let told = Rc::clone(&seen);
    let watch = visibility::watch(move |what| told.borrow_mut().push(what));
    let (count, more) = counter();
    let tick = Tick::new(more);
    until("a tick", || count.get() > 0).await;
    js(
        "Object.defineProperty(document, 'visibilityState', { configurable: true, get: () => 'hidden' }); document.dispatchEvent(new Event('visibilitychange'))",
    );
    let then = count.get();
    sleep(1300).await;
    assert_eq!(count.get(), then, "no tick out of sight");
    js("delete document.visibilityState; document.dispatchEvent(new Event('visibilitychange'))");
    assert_eq!(count.get(), then + 1, "one at once on coming back");
    let seen = seen.take();
    assert_eq!(seen[0], visibility::Seen::Hidden);
    assert!(
        matches!(seen[1], visibility::Seen::Visible { away } if (1200..5000).contains(&away)),
        "{seen:?}"
    );
    drop((watch, tick));
}

#[wasm_bindgen_test]
async fn the_screen_lock_reports_what_is_true() {
    let wake = Wake::new(|_| {});
    assert_eq!(wake.state(), Awake::Off);
    wake.want(true);
    until("an answer", || wake.state() != Awake::Asking).await;
    assert!(matches!(
        wake.state(),
        Awake::Held | Awake::Refused | Awake::Absent
    ));
    wake.want(false);
    assert_eq!(wake.state(), Awake::Off);
    // A phone that refuses, played.
    js(
        "Object.defineProperty(navigator, 'wakeLock', { configurable: true, value: { request: () => Promise.reject(new DOMException('no', 'NotAllowedError')) } })",
    );
    wake.want(true);
    until("refused", || wake.state() == Awake::Refused).await;
    wake.want(false);
    // One that grants it and takes it back.
    js(
        "window.sentinel = new EventTarget(); sentinel.release = () => { window.released = true; return Promise.resolve(); }; Object.defineProperty(navigator, 'wakeLock', { configurable: true, value: { request: () => Promise.resolve(sentinel) } })",
    );
    wake.want(true);
    until("held", || wake.state() == Awake::Held).await;
    js("sentinel.dispatchEvent(new Event('release'))");
    assert_eq!(wake.state(), Awake::Refused);
    js("document.dispatchEvent(new Event('visibilitychange'))");
    until("held again", || wake.state() == Awake::Held).await;
    drop(wake);
    assert!(js("window.released").is_truthy(), "dropping lets go");
    js("Object.defineProperty(navigator, 'wakeLock', { configurable: true, value: undefined })");
    let wake = Wake::new(|_| {});
    wake.want(true);
    assert_eq!(wake.state(), Awake::Absent);
    js("delete navigator.wakeLock");
}

#[wasm_bindgen_test]
async fn routes_go_out_and_come_in() {
    let seen = Rc::new(RefCell::new(Vec::new()));
    let told = Rc::clone(&seen);
    let watch = hash::watch(move |route| told.borrow_mut().push(route));
    hash::go("/chair");
    until("the first", || seen.borrow().len() == 1).await;
    assert_eq!(hash::read(), "/chair");
    hash::replace("/count");
    until("the second", || seen.borrow().len() == 2).await;
    assert_eq!(seen.take(), ["/chair", "/count"]);
    drop(watch);
    hash::replace("");
    sleep(50).await;
    assert_eq!(seen.take(), Vec::<String>::new(), "dropped");
}

#[wasm_bindgen_test]
async fn the_static_page_is_called() {
    js(
        "window.called = []; window.pinfold = { broke: (...all) => called.push(all.join('|')), started: () => called.push('started'), update: { waiting: false, apply: () => called.push('apply') } }",
    );
    started::tell();
    assert!(!update::waiting() && !update::apply());
    let (told, tell) = counter();
    let watch = update::watch(tell);
    js("pinfold.update.waiting = true; window.dispatchEvent(new CustomEvent('pinfold-update'))");
    assert_eq!(told.get(), 1);
    assert!(update::waiting() && update::apply());
    broke::tell("panic", "words");
    assert_eq!(
        js("called.join(' ')").as_string().unwrap(),
        "started apply panic|words"
    );
    js("delete window.pinfold");
    // Nobody there to hear: no harm.
    started::tell();
    broke::tell("panic", "words");
    assert!(!update::waiting());
    drop(watch);
}

#[wasm_bindgen_test]
fn the_theme_reaches_the_root_and_the_bars() {
    js(
        "document.head.insertAdjacentHTML('beforeend', '<meta name=theme-color content=red media=\"(prefers-color-scheme: dark)\"><meta name=theme-color content=blue>')",
    );
    let now = || {
        js("document.documentElement.dataset.theme + [...document.querySelectorAll('meta[name=theme-color]')].map((m) => ' ' + m.content).join('')").as_string().unwrap()
    };
    assert_eq!(now(), "undefined red blue", "control");
    theme::set(Some("chair"), "#123456");
    assert_eq!(now(), "chair #123456 #123456");
    theme::set(None, "#ffffff");
    assert_eq!(now(), "undefined #ffffff #ffffff");
}

#[wasm_bindgen_test]
async fn a_picked_file_is_read_within_its_limit() {
    let file = |text: &str| -> web_sys::File {
        js(&format!("new File(['{text}'], 'copy.txt')")).unchecked_into()
    };
    let read = files::read(&file("grüße"), 7).await.unwrap();
    assert_eq!(
        (read.name.as_str(), read.text.as_str()),
        ("copy.txt", "grüße")
    );
    assert_eq!(
        files::read(&file("grüße"), 6).await,
        Err(NotPicked::TooBig { size: 7 })
    );
    // Bytes that are no text, in pieces; the last is as long as what is left.
    let bytes: web_sys::File =
        js("new File([new Uint8Array([0, 255, 254, 7])], 'x')").unchecked_into();
    assert_eq!(files::size(&bytes), 4);
    assert_eq!(files::piece(&bytes, 0, 3).await, Some(vec![0, 255, 254]));
    assert_eq!(files::piece(&bytes, 3, 6).await, Some(vec![7]));
    // The dialog itself: closed without a choice, then with one.
    js(
        "window.show = HTMLInputElement.prototype.click; HTMLInputElement.prototype.click = function () { setTimeout(() => this.dispatchEvent(new Event('cancel'))); }",
    );
    assert_eq!(files::pick(".txt", 10).await, Err(NotPicked::Cancelled));
    js(
        "HTMLInputElement.prototype.click = function () { const all = new DataTransfer(); all.items.add(new File(['abc'], 'a.txt')); this.files = all.files; setTimeout(() => this.dispatchEvent(new Event('change'))); }",
    );
    assert_eq!(files::pick(".txt", 10).await.unwrap().text, "abc");
    js("HTMLInputElement.prototype.click = show");
}

#[wasm_bindgen_test]
async fn a_file_is_saved_where_told_or_downloaded() {
    js(
        "window.written = ''; window.showSaveFilePicker = async (o) => ({ createWritable: async () => ({ write: async (b) => { written = o.suggestedName + '=' + await b.text() + ' ' + b.type; }, close: async () => { written += ' closed'; } }) })",
    );
    assert_eq!(
        files::save("a.txt", "text/plain", &"abc".into()).await,
        files::Gone::Written
    );
    assert_eq!(
        js("written").as_string().unwrap(),
        "a.txt=abc text/plain closed"
    );
    js("window.showSaveFilePicker = async () => { throw new DOMException('', 'AbortError'); }");
    assert_eq!(
        files::save("a.txt", "text/plain", &"abc".into()).await,
        files::Gone::Cancelled
    );
    js(
        "window.showSaveFilePicker = undefined; window.clicked = ''; window.follow = HTMLAnchorElement.prototype.click; HTMLAnchorElement.prototype.click = function () { clicked = this.download + ' ' + this.protocol; }",
    );
    assert_eq!(
        files::save("a.txt", "text/plain", &"abc".into()).await,
        files::Gone::Handed
    );
    assert_eq!(js("clicked").as_string().unwrap(), "a.txt blob:");
    js("HTMLAnchorElement.prototype.click = follow");
}

#[wasm_bindgen_test]
async fn a_text_file_goes_to_the_share_sheet_only_if_it_can() {
    js(
        "Object.defineProperty(navigator, 'canShare', { configurable: true, value: (s) => s.files[0].type === 'text/plain' }); Object.defineProperty(navigator, 'share', { configurable: true, value: async (s) => { window.shared = s.files[0].name + '=' + await s.files[0].text(); } })",
    );
    assert!(files::can_share());
    assert_eq!(
        files::share("b.txt", &"abc".into()).await,
        files::Gone::Handed
    );
    assert_eq!(js("shared").as_string().unwrap(), "b.txt=abc");
    js(
        "Object.defineProperty(navigator, 'canShare', { configurable: true, value: undefined }); Object.defineProperty(navigator, 'share', { configurable: true, value: undefined })",
    );
    assert!(!files::can_share());
    assert_eq!(
        files::share("b.txt", &"abc".into()).await,
        files::Gone::Refused
    );
    js("delete navigator.canShare; delete navigator.share");
}

#[wasm_bindgen_test]
async fn the_browser_says_how_full_it_is() {
    let room = storage_state::estimate().await.unwrap();
    assert!(room.quota > room.used);
    assert!(storage_state::persisted().await.is_some());
    assert!(storage_state::persist().await.is_some());
    assert_eq!(display::mode(), display::Display::Tab);
}
