//! The desk: the one way to act. It stamps the time, names the run, hands commands to the ledger,
//! seals what was decided, gives it to the store, and tells the pages that something changed. Nothing
//! between a tap and its redraw waits for the browser.

mod burying;
mod copies;
mod hearing;
mod history;
mod invented;
mod locked_out;
mod opening;
mod passphrase;
mod rare;
mod room;
mod route;
mod sealing;
mod tidying;
mod wrap;

pub use crate::device::pedal::{Learn, learn};
pub use crate::device::wake::Awake;
pub use crate::store::Why;
pub use burying::Erased;
pub use copies::{
    CopyOut, LookedInto, Picked, Prepared, SealedFile, Wrapped, can_ask_where, can_share,
};
pub use locked_out::{HeldIn, LockedOut, Nameless};
pub use opening::Opening;
pub use passphrase::{NewDoor, wrong_passphrase};
pub use room::RoomSaid;
pub use route::Route;
pub use sealing::{LOCK_AFTER, Sealing, Typed};

use crate::device::alarm::{Alarm, Tick, Timer};
use crate::device::listen::Listener;
use crate::device::wake::Wake;
use crate::device::{
    battery, beside, broke, clock, hash, pedal, print, started, theme, update, visibility,
};
use crate::react::{RwSignal, Signal};
use crate::store::{Store, StoreEvent, strip};
use leptos::prelude::{GetValue, LocalStorage, StoredValue, expect_context};
use pinfold_core::base::data::BadData;
use pinfold_core::base::date::Date;
use pinfold_core::base::id::{EntryId, Replica};
use pinfold_core::base::stamp::{Wall, When};
use pinfold_core::ledger::{Command, Facts, Hand, Ledger, Refusal};
use pinfold_core::session::{Now, Session};
use pinfold_core::view::books::Books;
use pinfold_core::view::chair as view;
use pinfold_core::view::heard::Heard;
use pinfold_core::view::resume::{Back, moved};
use pinfold_core::view::visit::{VisitView, day_of, visit_at};
use pinfold_core::words::{chair, place};
use std::cell::{Cell, OnceCell, RefCell};
use std::rc::Rc;

use sealing::Guard;

/// How often it is looked whether to lock while the page is out of sight, in milliseconds. Policy.
const HIDDEN_LOOK: i64 = 30_000;

/// Whether what was done is written on this phone.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kept {
    /// All of it, since then.
    Saved(Wall),
    /// On its way.
    Saving,
    /// Not written yet; it is counted and shown, and tried again.
    NotSaved(Why),
}

/// How the app stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// Reading what is kept.
    Opening,
    /// What is kept waits for its passphrase.
    Locked,
    /// Another window has the journal.
    Elsewhere,
    /// Another window took the journal from this one.
    TakenOver,
    /// Ready.
    Ready,
}

/// Whether the file of knowledge has come.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Known {
    /// On its way.
    Coming,
    /// Here: questions can be asked and plans made.
    Here,
    /// Missing, damaged or of another build.
    Missing,
}

/// A visit as it was judged at one version of the facts, in one stretch of five minutes.
struct Judged {
    of: (EntryId, u32, Date, u16),
    seen: VisitView,
}

struct Inner {
    ledger: RefCell<Ledger>,
    history: history::History,
    store: RefCell<Option<Store>>,
    replica: Cell<Option<Replica>>,
    follows_since: Cell<i64>,
    books: OnceCell<Books>,
    opening: RefCell<Option<Opening>>,
    alarm: RefCell<Option<Alarm>>,
    wake: RefCell<Option<Wake>>,
    tick: RefCell<Option<Tick>>,
    listeners: RefCell<Vec<Listener>>,
    /// The visit that was judged last: whose, at which version of the facts, on which day.
    visited: RefCell<Option<Judged>>,
    /// The phone is on its way back from the patient: the next page may be another.
    given_back: Cell<bool>,
    /// The clocks as they were looked at last.
    heard: RefCell<Option<Heard>>,
    /// Both clocks as they were read last.
    both: Cell<Option<(Wall, i64)>>,
    /// The page was out of sight since then: the phone may have slept.
    unseen: Cell<bool>,
    /// What becomes of entries before they are stored.
    guard: RefCell<Guard>,
    /// What could not be opened, in words, and how often.
    unsealed: RefCell<Vec<(&'static str, usize)>>,
    /// A row holds no text.
    unread: Cell<bool>,
    /// Lines of the journal that are told of in `unsealed`.
    lines_told: Cell<usize>,
    /// Counts from the locked page of which no fact can be made, with the keys of their rows.
    outs_left: RefCell<Vec<(String, LockedOut)>>,
    /// Rows of counts that became facts, to be taken away once those are saved.
    entered: RefCell<Vec<String>>,
    /// When somebody touched the page last, wall milliseconds.
    touched: Cell<i64>,
    /// It was opened by the recovery code.
    by_code: Cell<bool>,
    /// Looks whether to lock while the page is out of sight.
    idle: RefCell<Option<Timer>>,
}

/// The desk. Copies are the same desk.
#[derive(Clone, Copy)]
pub struct Desk {
    inner: StoredValue<Rc<Inner>, LocalStorage>,
    version: RwSignal<u32>,
    tick: RwSignal<u32>,
    kept: RwSignal<Kept>,
    standing: RwSignal<Standing>,
    known: RwSignal<Known>,
    route: RwSignal<Route>,
    awake: RwSignal<Awake>,
    update: RwSignal<bool>,
    loaded: RwSignal<u32>,
    back: RwSignal<Option<Back>>,
    battery: RwSignal<Option<u8>>,
    /// The store was gone at the start; how many rows its second copy gave back.
    was_gone: RwSignal<Option<usize>>,
    moved: RwSignal<i64>,
    sealing: RwSignal<Sealing>,
}

impl Desk {
    /// A desk with nothing on it yet; [`Desk::open`] brings what is kept.
    #[must_use]
    pub fn new() -> Self {
        let inner = Inner {
            ledger: RefCell::default(),
            history: history::History::default(),
            store: RefCell::default(),
            replica: Cell::default(),
            follows_since: Cell::new(clock::mono()),
            books: OnceCell::new(),
            opening: RefCell::default(),
            alarm: RefCell::default(),
            wake: RefCell::default(),
            tick: RefCell::default(),
            listeners: RefCell::default(),
            visited: RefCell::default(),
            given_back: Cell::new(false),
            heard: RefCell::default(),
            both: Cell::new(None),
            unseen: Cell::new(false),
            guard: RefCell::new(Guard::Plain),
            unsealed: RefCell::default(),
            unread: Cell::default(),
            lines_told: Cell::default(),
            outs_left: RefCell::default(),
            entered: RefCell::default(),
            touched: Cell::new(clock::wall()),
            by_code: Cell::new(false),
            idle: RefCell::default(),
        };
        Self {
            inner: StoredValue::new_local(Rc::new(inner)),
            version: RwSignal::new(0),
            tick: RwSignal::new(0),
            kept: RwSignal::new(Kept::Saved(Wall(clock::wall()))),
            standing: RwSignal::new(Standing::Opening),
            known: RwSignal::new(Known::Coming),
            route: RwSignal::new(Route::read(&hash::read())),
            awake: RwSignal::new(Awake::Off),
            update: RwSignal::new(update::waiting()),
            loaded: history::loaded(),
            back: RwSignal::new(None),
            battery: RwSignal::new(None),
            was_gone: RwSignal::new(None),
            moved: RwSignal::new(0),
            sealing: RwSignal::new(Sealing::Unasked),
        }
    }

    fn inner(&self) -> Rc<Inner> {
        self.inner.get_value()
    }

    /// Does something. What was decided is in the journal, in memory and in the synchronous copy
    /// when this returns; [`Desk::kept`] tells when it is saved.
    ///
    /// # Errors
    /// The ledger's refusal; nothing was written.
    pub fn act(&self, command: impl Into<Command>) -> Result<EntryId, Refusal> {
        let inner = self.inner();
        let facts = self.decide(&command.into())?;
        let first = facts.entries().first().map(|entry| entry.id);
        self.keep(facts.entries().iter());
        inner.ledger.borrow_mut().append(&facts);
        self.ready_to_sound();
        self.changed();
        if facts.entries().iter().any(|e| e.kind == "session.closed") {
            self.tidy();
        }
        first.ok_or(Refusal::NoSuchThing)
    }

    fn decide(&self, command: &Command) -> Result<Facts, Refusal> {
        let inner = self.inner();
        let replica = inner.replica.get().ok_or(Refusal::NoSuchSession)?;
        if self.standing.get_untracked() != Standing::Ready {
            return Err(Refusal::NoSuchSession);
        }
        let hand = Hand {
            replica,
            stamp: clock::now(),
            when: When::Now,
        };
        let ledger = inner.ledger.borrow();
        ledger.decide(command, &hand)
    }

    /// Something in the journal changed: redraw, then what follows from it outside.
    fn changed(&self) {
        self.version.update(|v| *v = v.wrapping_add(1));
        self.outward();
    }

    /// Outward effects only: the nameless strip, the next alarm, the wake lock, the theme.
    fn outward(&self) {
        let inner = self.inner();
        let Some(now) = self.now() else { return };
        if self.standing.get_untracked() != Standing::Ready {
            // Nothing is read yet: what the strip says is all that is known.
            if self.standing.get_untracked() == Standing::Locked {
                let inside = strip::read().is_some_and(|strip| !strip.placed().is_empty());
                if let Some(wake) = inner.wake.borrow().as_ref() {
                    wake.want(inside);
                }
                paint(inside);
            }
            return;
        }
        let ledger = inner.ledger.borrow();
        let states = || ledger.open_sessions().map(|(_, session)| session.state());
        let (inside, due) = view::strip(states(), &now, &chair::EN, &place::EN);
        let heard = Heard::look(ledger.open_sessions().map(|(id, s)| (id, s.state())), &now);
        let next = heard.next.map(|millis| now.wall.0.saturating_add(millis));
        let held = ledger
            .open_sessions()
            .flat_map(|(id, session)| view::held(id, session.state()))
            .collect();
        let busy = !inside.is_empty() || !due.is_empty();
        let dark = !inside.is_empty() || self.route.with_untracked(Route::chairside);
        // If the browser takes no strip, the database and the page still have everything.
        self.write_strip(&strip::Strip::new(now.wall.0, inside, due, held));
        if let Some(alarm) = inner.alarm.borrow().as_ref() {
            alarm.set(next);
        }
        if let Some(wake) = inner.wake.borrow().as_ref() {
            wake.want(busy);
        }
        self.sounds(heard);
        paint(dark);
    }

    /// Now, on both clocks; none before this run has a name.
    #[must_use]
    pub fn now(&self) -> Option<Now> {
        let inner = self.inner();
        let stamp = clock::now();
        inner.replica.get().map(|run| Now {
            run,
            wall: stamp.wall,
            mono: stamp.mono,
            follows_since: inner.follows_since.get(),
        })
    }

    /// Reads the ledger; whoever reads in a reactive place is told of every change.
    pub fn read<R>(&self, read: impl FnOnce(&Ledger) -> R) -> R {
        self.version.track();
        read(&self.inner().ledger.borrow())
    }

    /// Reads the ledger once, without being told of changes.
    pub fn read_now<R>(&self, read: impl FnOnce(&Ledger) -> R) -> R {
        read(&self.inner().ledger.borrow())
    }

    /// Reads one session.
    pub fn session<R>(&self, id: EntryId, read: impl FnOnce(&Session) -> R) -> Option<R> {
        self.read(|ledger| ledger.session(id).map(read))
    }

    /// Reads what is known before anybody is asked.
    ///
    /// # Errors
    /// [`BadData`] while the file of knowledge has not come, or if it is damaged or missing: then
    /// nothing may be planned, and everything may be recorded.
    pub fn books<R>(&self, read: impl FnOnce(&Books) -> R) -> Result<R, BadData> {
        let inner = self.inner();
        inner.books.get().map(read).ok_or(BadData("knowledge"))
    }

    /// Fetches the file of knowledge, at the start or once more; the chair does not wait for it.
    pub async fn fetch_books(self) {
        self.known.set(Known::Coming);
        let file = beside::fetch("/knowledge.bin").await;
        let known = match file.ok().and_then(|file| Books::unpack(&file).ok()) {
            Some(books) => {
                let _ = self.inner().books.set(books);
                Known::Here
            }
            None => Known::Missing,
        };
        self.known.set(known);
        self.changed();
    }

    /// Whether the file of knowledge has come.
    #[must_use]
    pub fn known(&self) -> Signal<Known> {
        self.known.into()
    }

    /// Today, by the phone's wall clock and zone.
    #[must_use]
    pub fn today(&self) -> Date {
        day_of(Wall(clock::wall()), clock::zone())
    }

    /// One person's visit today.
    pub fn visit(&self, person: EntryId) -> Option<VisitView> {
        let today = self.today();
        let minute = self.five_minutes();
        let of = (person, self.version.get(), today, minute);
        let inner = self.inner();
        // Several parts of a page ask for the same visit after every answer: it is judged once.
        if let Some(judged) = inner.visited.borrow().as_ref()
            && judged.of == of
        {
            return Some(judged.seen.clone());
        }
        let seen = self.read(|ledger| {
            self.books(|books| visit_at(ledger, books, person, today, clock::zone(), Some(minute)))
                .ok()
                .flatten()
        })?;
        inner.visited.replace(Some(Judged {
            of,
            seen: seen.clone(),
        }));
        Some(seen)
    }

    /// Now, for what is written out with its date.
    #[must_use]
    pub fn stamp(&self) -> pinfold_core::base::stamp::Stamp {
        clock::now()
    }

    /// The local minute of the day, up to the next five: how late somebody is need not be known more
    /// closely.
    fn five_minutes(&self) -> u16 {
        let minutes = clock::wall().div_euclid(60_000) + i64::from(clock::zone());
        let of_day = minutes.rem_euclid(1440) + 4;
        u16::try_from(of_day - of_day % 5).unwrap_or(0)
    }

    /// Tells a reactive reader of every second that passes in sight.
    pub fn track_time(&self) {
        self.tick.track();
    }

    /// Whether what was done is saved.
    #[must_use]
    pub fn kept(&self) -> Signal<Kept> {
        self.kept.into()
    }

    /// How the app stands.
    #[must_use]
    pub fn standing(&self) -> Signal<Standing> {
        self.standing.into()
    }

    /// Where the person is.
    #[must_use]
    pub fn route(&self) -> Signal<Route> {
        self.route.into()
    }

    /// Whether the screen is kept awake.
    #[must_use]
    pub fn awake(&self) -> Signal<Awake> {
        self.awake.into()
    }

    /// Whether a new version waits.
    #[must_use]
    pub fn update_waits(&self) -> Signal<bool> {
        self.update.into()
    }

    /// Somebody is back at the chair, until they say that they have seen what it says.
    #[must_use]
    pub fn back(&self) -> RwSignal<Option<Back>> {
        self.back
    }

    fn came_back(&self, away: i64, again: bool) {
        let at = Wall(clock::wall());
        let back = Back { away, again, at };
        self.back.update(|was| *was = Some(back.after(*was)));
    }

    /// The browser had lost the store before this start: how many rows the second copy gave back, 0 if
    /// there was none.
    #[must_use]
    pub fn was_gone(&self) -> Signal<Option<usize>> {
        self.was_gone.into()
    }

    /// What is left in the battery, in hundredths, once that is little.
    #[must_use]
    pub fn battery(&self) -> Signal<Option<u8>> {
        self.battery.into()
    }

    /// By how many milliseconds the phone's clock was found moved, until somebody says that it was seen.
    #[must_use]
    pub fn moved(&self) -> RwSignal<i64> {
        self.moved
    }

    /// Compares both clocks with what they said last.
    fn check_clocks(&self) {
        let inner = self.inner();
        let seen = !inner.unseen.replace(false);
        let now = (Wall(clock::wall()), clock::mono());
        if let Some(before) = inner.both.replace(Some(now)) {
            let by = moved(before, now, seen);
            if by != 0 {
                self.moved.set(by);
            }
        }
    }

    /// The key that a pedal sends here; none where no open chair is shown.
    fn pedal(&self) -> String {
        if self.route.with_untracked(Route::chairside) {
            self.read_now(|l| l.practice().setting("pedal").to_string())
        } else {
            String::new()
        }
    }

    /// Goes to a page.
    pub fn go(&self, route: &Route) {
        hash::go(&route.text());
    }

    /// Goes to a page in the place of this one.
    pub fn replace(&self, route: &Route) {
        hash::replace(&route.text());
    }

    /// The patient gives the phone back: to the page of the answers, and no way back from it.
    pub fn give_back(&self, person: EntryId) {
        self.inner().given_back.set(true);
        self.replace(&Route::Ask(person));
    }

    /// Tries again to save what is not saved.
    pub fn save_again(&self) {
        if let Some(store) = self.inner().store.borrow().as_ref() {
            store.retry();
        }
    }

    /// Takes the new version, if nothing is open. Returns whether it does.
    pub fn take_update(&self) -> bool {
        let busy = self
            .inner()
            .ledger
            .borrow()
            .open_sessions()
            .next()
            .is_some();
        !busy && update::apply()
    }

    /// The first page stands: the static page steps back, and stops waiting.
    pub fn stands(&self) {
        started::tell();
    }

    /// Hands over to the static page: a part of the program is not there. The words hold nothing
    /// personal.
    pub fn broken(&self, why: &str) {
        broke::tell("start", why);
    }

    /// Opens the phone's print dialogue.
    pub fn print(&self) {
        print::open();
    }

    fn store_says(&self, event: &StoreEvent) {
        match event {
            StoreEvent::Saving { .. } => {
                // While something is not saved, "saving" must not hide it.
                if !matches!(self.kept.get_untracked(), Kept::NotSaved(_)) {
                    self.kept.set(Kept::Saving);
                }
            }
            StoreEvent::Saved { waiting: 0 } => {
                self.kept.set(Kept::Saved(Wall(clock::wall())));
                self.drop_entered();
            }
            // What is not saved lies in the tail, where the newer build finds it.
            StoreEvent::Refused { why: Why::Newer } => broke::tell("newer", "while running"),
            // The static page says so, with the strip, and goes when it opens.
            StoreEvent::Held => broke::tell("held", "opening"),
            StoreEvent::NotSaved { why, .. } | StoreEvent::Refused { why } => {
                self.kept.set(Kept::NotSaved(*why));
            }
            // Cleared away beneath us: what is in memory is given again, every entry of it.
            StoreEvent::Emptied => self.emptied(),
            StoreEvent::PutBack { rows } => self.was_gone.set(Some(*rows)),
            StoreEvent::Gone => self.was_gone.set(Some(0)),
            StoreEvent::OpenElsewhere => self.standing.set(Standing::Elsewhere),
            // No line of the journal, which names what is: kept as it is, and told of.
            StoreEvent::Unreadable { key } if EntryId::from_row_key(key).is_ok() => {
                self.inner().unread.set(true);
            }
            // Kept as they are; the journal names them as damage at the next start.
            StoreEvent::NoTail { .. }
            | StoreEvent::Conflict { .. }
            | StoreEvent::Unreadable { .. }
            | StoreEvent::Saved { .. } => {}
        }
    }

    /// Everything that tells the desk something by itself.
    fn listen(&self) {
        let desk = *self;
        let inner = self.inner();
        inner.tick.replace(Some(Tick::new(move || {
            desk.check_clocks();
            desk.tick.update(|t| *t = t.wrapping_add(1));
            desk.lock_if_idle();
        })));
        inner.alarm.replace(Some(Alarm::new(move || {
            desk.tick.update(|t| *t = t.wrapping_add(1));
            desk.outward();
        })));
        inner
            .wake
            .replace(Some(Wake::new(move |state| desk.awake.set(state))));
        battery::watch(move |left| desk.battery.set(left));
        let [down, up] = pedal::hear(
            move || desk.pedal(),
            move || {
                let shown = |route: &Route| matches!(route, Route::Chair(_) | Route::Region(..));
                desk.route.with_untracked(shown)
            },
        );
        let listeners = [
            down,
            up,
            hash::watch(move |text| {
                let route = Route::read(&text);
                // In the patient's hand no way leads to anybody's data but giving the phone back.
                let held = desk.route.get_untracked();
                let given = desk.inner().given_back.take();
                if matches!(held, Route::Hand(_)) && held != route && !given {
                    hash::go(&held.text());
                    return;
                }
                desk.route.set(route);
                // Whoever goes on has found their place: only a start is still to be told of.
                if desk
                    .back
                    .with_untracked(|back| back.is_some_and(|b| !b.again))
                {
                    desk.back.set(None);
                }
                desk.ready_to_sound();
                desk.outward();
            }),
            update::watch(move || desk.update.set(update::waiting())),
            visibility::watch(move |seen| match seen {
                visibility::Seen::Visible { away } => {
                    desk.inner().idle.replace(None);
                    desk.lock_if_idle();
                    if desk.route.with_untracked(Route::chairside) {
                        desk.came_back(away, false);
                    }
                    desk.outward();
                }
                visibility::Seen::Hidden => {
                    desk.inner().unseen.set(true);
                    desk.look_while_hidden();
                }
            }),
            Listener::on_document("pointerdown", move |_| desk.touched()),
            Listener::on_document("keydown", move |_| desk.touched()),
            Listener::on_document("input", move |_| desk.touched()),
        ];
        // Those of an earlier opening go: after a take-over there are new ones.
        inner
            .listeners
            .replace(listeners.into_iter().flatten().collect());
    }

    /// Out of sight there is no tick: looks now and then whether to lock.
    fn look_while_hidden(&self) {
        let desk = *self;
        let timer = Timer::after(HIDDEN_LOOK, move || {
            desk.lock_if_idle();
            desk.look_while_hidden();
        });
        // The old one may be the one that is calling us.
        let old = self.inner().idle.replace(timer);
        drop(old);
    }
}

impl Default for Desk {
    fn default() -> Self {
        Self::new()
    }
}

fn paint(dark: bool) {
    theme::set(
        dark.then_some("chair"),
        if dark { "#130d0a" } else { "#f8f5f0" },
    );
}

/// Minutes that local time is now ahead of UTC, for printing times of day.
#[must_use]
pub fn zone() -> i16 {
    clock::zone()
}

/// The desk of this page.
///
/// # Panics
/// Outside the app, where nobody put one: a slip in the code, not something a person can cause.
#[must_use]
pub fn use_desk() -> Desk {
    expect_context()
}
