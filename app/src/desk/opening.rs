//! Opening the desk: one window, then what is kept, then the first picture.

use super::sealing::{Guard, open_plain};
use super::{Desk, Kept, Standing};
use crate::device::lock::{self, Held, Hold};
use crate::device::{broke, clock, entropy, flag, reload};
use crate::store::{Store, Why};
use pinfold_core::base::stamp::Wall;
use pinfold_core::ledger::Ledger;

/// The name of the database, and of the lock that says which window writes it.
const PRACTICE: &str = "pinfold";
/// The same for invented data: it never lies beside anybody's own.
const INVENTED: &str = "pinfold-invented";
/// Says that this phone is looking around.
const LOOKING: &str = "pinfold.looking";

/// Which database this page opens.
fn practice() -> &'static str {
    if flag::is_set(LOOKING) {
        INVENTED
    } else {
        PRACTICE
    }
}

/// Hands over to the static page: what is kept does not open.
fn cannot_open(why: Why) {
    let kind = if why == Why::Newer { "newer" } else { "store" };
    broke::tell(kind, &format!("{why:?}"));
}

/// What an open desk holds on to.
pub struct Opening {
    _lock: Option<Held>,
}

impl Desk {
    /// Opens the desk. Another window may have it: then [`Desk::standing`] says so.
    pub async fn open(self) {
        let desk = self;
        match lock::hold(practice(), move || desk.lost()).await {
            Hold::Held(lock) => self.open_here(Some(lock)).await,
            Hold::Absent => self.open_here(None).await,
            Hold::Elsewhere => self.standing.set(Standing::Elsewhere),
        }
    }

    /// Takes the journal over from the other window, which is told.
    pub async fn take_over(self) {
        let desk = self;
        self.standing.set(Standing::Opening);
        match lock::take_over(practice(), move || desk.lost()).await {
            Hold::Held(lock) => self.open_here(Some(lock)).await,
            Hold::Absent => self.open_here(None).await,
            Hold::Elsewhere => self.standing.set(Standing::Elsewhere),
        }
    }

    /// True while invented data is shown.
    #[must_use]
    pub fn invented(&self) -> bool {
        flag::is_set(LOOKING)
    }

    /// Opens an invented practice beside this one.
    pub fn look_around(&self) {
        if flag::set(LOOKING) {
            reload::now();
        }
    }

    /// Removes the invented practice in one act and goes back.
    pub fn leave_invented(self) {
        if !self.invented() {
            return;
        }
        self.inner().store.replace(None);
        wasm_bindgen_futures::spawn_local(async move {
            crate::store::remove(INVENTED).await;
            flag::clear(LOOKING);
            reload::now();
        });
    }

    /// Another window took over: what is here is let go, unsaved entries stay in the tail, where
    /// that window found them.
    fn lost(&self) {
        let inner = self.inner();
        inner.store.replace(None);
        inner.replica.set(None);
        // Keys and what was read with them go with it.
        if !matches!(&*inner.guard.borrow(), Guard::Plain) {
            inner.guard.replace(Guard::Plain);
            inner.ledger.replace(Ledger::default());
        }
        self.standing.set(Standing::TakenOver);
    }

    async fn open_here(self, lock: Option<Held>) {
        let desk = self;
        let Some(replica) = entropy::replica() else {
            broke::tell("start", "no random numbers");
            return;
        };
        let opened = Store::open_mirrored(practice(), move |event| desk.store_says(&event)).await;
        let (store, rows) = match opened {
            Ok(opened) => opened,
            Err(why) => return cannot_open(why),
        };
        let (guard, sealing, rows) = match Self::guard_of(&store, rows).await {
            Ok(found) => found,
            Err(why) => return cannot_open(why),
        };
        let inner = self.inner();
        let locked = matches!(guard, Guard::Locked(_));
        inner.guard.replace(guard);
        self.sealing.set(sealing);
        if !locked && let Err(why) = self.read_ledger(&store, open_plain(&rows), None).await {
            broke::tell("store", &format!("{why:?}"));
            return;
        }
        // What the tail brought is on its way: until that is complete nothing may say "saved".
        let on_its_way = store.waiting() > 0;
        inner.store.replace(Some(store));
        inner.replica.set(Some(replica));
        inner.follows_since.set(clock::mono());
        inner.opening.replace(Some(Opening { _lock: lock }));
        if !on_its_way {
            self.kept.set(Kept::Saved(Wall(clock::wall())));
        }
        if self.read_now(|l| l.open_sessions().next().is_some()) {
            self.came_back(0, true);
        }
        self.listen();
        if locked {
            self.standing.set(Standing::Locked);
            self.outward();
            return;
        }
        self.standing.set(Standing::Ready);
        self.changed();
        self.tidy();
    }
}
