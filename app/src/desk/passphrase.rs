//! Making, changing and doing without a passphrase. Reached from the pages of the shelf, but for doing
//! without.

use super::sealing::{
    CHANGING, Guard, MARK, OPEN, SEALED, Sealing, code_key, door, is_sealed, key, key_row, make,
    nonce, plain, seal_into,
};
use super::{Desk, Typed};
use crate::device::alarm::Timer;
use crate::device::entropy;
use crate::store::{Row, Shelf, Store, Why};
use js_sys::{Promise, Uint8Array};
use pinfold_core::seal::{Codec, How, New, RecoveryCode, Unlocked, Which};
use pinfold_core::words::vault::EN;
use wasm_bindgen_futures::JsFuture;

/// The shortest passphrase that is taken, in characters. Policy: a shorter one is found by trying.
const SHORTEST: usize = 10;

/// What is wrong with a new passphrase typed twice; nothing if it can be taken.
#[must_use]
pub fn wrong_passphrase(first: &str, second: &str) -> Option<&'static str> {
    if first.chars().count() < SHORTEST {
        Some(EN.too_short)
    } else if first != second {
        Some(EN.differ)
    } else {
        None
    }
}

fn mark(text: &str) -> Row {
    Row {
        key: MARK.into(),
        text: text.into(),
    }
}

/// What is said where the store did not take a change: after a wait it may have all the same.
fn not_kept(why: Why) -> &'static str {
    if why == Why::Slow {
        EN.not_said
    } else {
        EN.not_kept
    }
}

/// A little while, for something that is on its way to the store.
async fn breathe() {
    let mut timer = None;
    let later = Promise::new(&mut |done, _| {
        timer = Timer::after(200, move || {
            let _ = done.call0(&wasm_bindgen::JsValue::UNDEFINED);
        });
    });
    if timer.is_some() {
        let _ = JsFuture::from(later).await;
    }
}

/// Waits until all is saved, about ten seconds at most.
pub(super) async fn all_saved(store: &Store) -> Result<(), &'static str> {
    for _ in 0..50 {
        if store.waiting() == 0 {
            return Ok(());
        }
        store.retry();
        breathe().await;
    }
    Err(EN.not_unsaved)
}

/// A key from a new passphrase, at the cost that this phone bears.
async fn new_door(passphrase: &str) -> Result<(How, pinfold_core::seal::Key), &'static str> {
    let salt = entropy::bytes::<16>().ok_or(EN.no_chance)?;
    let fields = [
        ("do", "set".into()),
        ("salt", Uint8Array::from(salt.as_slice()).into()),
        ("passphrase", passphrase.into()),
    ];
    let made = make(&fields).await?;
    let how = How::new(&made.how).ok_or(EN.no_worker)?;
    Ok((how, made.key))
}

/// The plain rows among some, sealed; rows of new keys first. A row that is no entry is left out.
fn sealed_anew(unlocked: &mut Unlocked, rows: &[Row]) -> Option<Vec<Row>> {
    let mut anew = Vec::new();
    for row in rows
        .iter()
        .filter(|row| Codec::of(&row.text) == Some(Codec::Plain))
    {
        let Some(entry) = plain(row) else { continue };
        seal_into(unlocked, &entry, &mut anew)?;
        // A second text under one key has a key of its own.
        if let Some(last) = anew.last_mut() {
            last.key.clone_from(&row.key);
        }
    }
    Some(anew)
}

/// What is to open a sealed practice from now on.
#[derive(Clone, Copy)]
pub enum NewDoor<'a> {
    /// A passphrase.
    Passphrase(&'a str),
    /// A recovery code.
    Code(&'a RecoveryCode),
}

impl Desk {
    /// A new recovery code, to be shown once and written on paper.
    #[must_use]
    pub fn draw_code(&self) -> Option<RecoveryCode> {
        entropy::bytes().map(RecoveryCode::from_random)
    }

    /// Whether somebody has to say how this practice is kept before a person is entered.
    #[must_use]
    pub fn must_choose(&self) -> bool {
        !self.invented() && self.sealing.get() == Sealing::Unasked
    }

    /// Goes on without a passphrase. It can be sealed later.
    pub fn do_without(self) {
        self.sealing.set(Sealing::Open);
        let store = self.inner().store.borrow().clone();
        wasm_bindgen_futures::spawn_local(async move {
            if let Some(store) = store {
                // Where it is not kept the question comes again, which harms nothing.
                let _ = store.lay(Shelf::Meta, &[mark(OPEN)]).await;
            }
        });
    }

    /// Seals this practice behind a passphrase and a recovery code. What is plain already is sealed
    /// in one transaction together with the keys: ended in the middle, everything is as it was.
    ///
    /// # Errors
    /// Words for a person: nothing was changed, or it is not known yet whether it was.
    pub async fn seal(self, passphrase: &str, code: &RecoveryCode) -> Result<(), &'static str> {
        let inner = self.inner();
        let store = inner.store.borrow().clone().ok_or(EN.not_unsaved)?;
        if !matches!(&*inner.guard.borrow(), Guard::Plain) || self.invented() {
            return Err(EN.sealed_already);
        }
        let (how, outer) = new_door(passphrase).await?;
        let recovery = code_key(code).await?;
        let chance = || {
            Some(New {
                data: key()?,
                practice: key()?,
                nonces: [nonce()?, nonce()?, nonce()?],
            })
        };
        let new = chance().ok_or(EN.no_chance)?;
        let set_up = Unlocked::set_up(new, how, &outer, Some(&recovery)).ok_or(EN.no_chance)?;
        let mut unlocked = set_up.unlocked;

        // Nothing is packed plainly meanwhile.
        let hush = self.hush().await;
        all_saved(&store).await?;
        let rows = store.read(Shelf::Rows).await.map_err(|_| EN.not_kept)?;
        // An earlier try that was slow: other keys laid over its own would open nothing of it.
        if rows.iter().any(is_sealed) {
            return Err(EN.not_said);
        }
        let anew = sealed_anew(&mut unlocked, &rows).ok_or(EN.no_chance)?;
        let mut meta: Vec<Row> = set_up.rows.iter().map(key_row).collect();
        meta.push(mark(CHANGING));
        store.seal_over(&anew, &meta).await.map_err(not_kept)?;
        // From here on everything is sealed; what was written in the meantime follows.
        inner.history.changing.set(true);
        inner.guard.replace(Guard::Sealed(Box::new(unlocked)));
        self.sealing.set(Sealing::Sealed);
        self.touched();
        drop(hush);
        self.seal_the_rest().await;
        Ok(())
    }

    /// Seals plain rows that were written while the change was under way, packs and sheets, then says
    /// that it is over.
    pub(super) async fn seal_the_rest(self) {
        let _hush = self.hush().await;
        loop {
            let inner = self.inner();
            let Some(store) = inner.store.borrow().clone() else {
                return;
            };
            if all_saved(&store).await.is_err() {
                continue;
            }
            let Ok(rows) = store.read(Shelf::Rows).await else {
                return;
            };
            let anew = match &mut *inner.guard.borrow_mut() {
                Guard::Sealed(unlocked) => sealed_anew(unlocked, &rows),
                _ => return,
            };
            let Some(anew) = anew else { return };
            // A key must be kept before anything sealed under it: at once, like every row.
            let keys = Self::keys_in(anew.clone());
            if !keys.is_empty() {
                store.append(keys);
            }
            // Where it fails the next start goes on with it.
            let Ok(packs) = self.seal_packs(&store).await else {
                return;
            };
            let last = store.waiting() == 0 && anew.is_empty() && packs;
            let said = mark(if last { SEALED } else { CHANGING });
            let done = store.seal_over(&anew, &[said]).await.is_ok();
            if done && last {
                inner.history.changing.set(false);
            }
            if !done || last {
                return;
            }
        }
    }

    /// Puts another passphrase, or another recovery code, in the place of the present one: one row is
    /// replaced, nothing is sealed anew. `old`: the present passphrase, nothing where it was opened by
    /// the recovery code.
    ///
    /// # Errors
    /// Words for a person: the old one stays, or it is not known yet which of the two holds.
    pub async fn change_door(
        self,
        old: Option<String>,
        new: NewDoor<'_>,
    ) -> Result<(), &'static str> {
        let inner = self.inner();
        let store = inner.store.borrow().clone().ok_or(EN.not_unsaved)?;
        let locked = match &*inner.guard.borrow() {
            Guard::Sealed(unlocked) => unlocked.locked().clone(),
            _ => return Err(EN.nothing_to_lock),
        };
        match old {
            Some(old) => {
                let door = door(locked.how().as_str(), &Typed::Passphrase(old)).await?;
                let opened = locked.unlock(&door);
                opened.map_err(|not| EN.not_unlocked(not.why))?;
            }
            None if self.came_by_code() => {}
            None => return Err(EN.empty_passphrase),
        }
        let (how, outer) = match new {
            NewDoor::Passphrase(new) => new_door(new).await.map(|(how, key)| (Some(how), key))?,
            NewDoor::Code(code) => (None, code_key(code).await?),
        };
        let by_passphrase = how.is_some();
        let chance = nonce().ok_or(EN.no_chance)?;
        let row = match (&*inner.guard.borrow(), how) {
            (Guard::Sealed(unlocked), Some(how)) => unlocked.new_passphrase(how, &outer, chance),
            (Guard::Sealed(unlocked), None) => unlocked.new_recovery(&outer, chance),
            _ => None,
        };
        let row = row.ok_or(EN.no_chance)?;
        store
            .lay(Shelf::Meta, &[key_row(&row)])
            .await
            .map_err(not_kept)?;
        // Only now: until it is kept the old one holds, here as there.
        if let Guard::Sealed(unlocked) = &mut *inner.guard.borrow_mut() {
            unlocked.behind(row);
        }
        if by_passphrase {
            inner.by_code.set(false);
        }
        Ok(())
    }

    /// The database was cleared away beneath us: the keys go back before what is sealed under them.
    pub(super) fn give_again(&self) {
        let desk = *self;
        let inner = self.inner();
        let Some(store) = inner.store.borrow().clone() else {
            return;
        };
        // What was packed is given again in rows, as far as it is read in.
        inner.ledger.borrow_mut().emptied();
        inner.history.sheets.take();
        let (mut meta, mut rows, mut keys) = (Vec::new(), Vec::new(), Vec::new());
        match &*inner.guard.borrow() {
            Guard::Sealed(unlocked) => {
                keys = unlocked.locked().rows();
                meta.push(mark(SEALED));
            }
            Guard::Locked(shut) => {
                meta.clone_from(&shut.meta);
                rows.clone_from(&shut.rows);
            }
            Guard::Plain if self.sealing.get_untracked() == Sealing::Open => meta.push(mark(OPEN)),
            Guard::Plain => {}
        }
        for row in keys {
            match row.which {
                Which::Person(_) => rows.push(key_row(&row)),
                _ => meta.push(key_row(&row)),
            }
        }
        wasm_bindgen_futures::spawn_local(async move {
            let mut laid = meta.is_empty();
            while !laid {
                laid = store.lay(Shelf::Meta, &meta).await.is_ok();
                if !laid {
                    breathe().await;
                }
            }
            store.append(rows);
            let entries: Vec<_> = desk.read_now(|l| l.journal().iter().cloned().collect());
            if !entries.is_empty() {
                desk.keep(entries.iter());
            }
        });
    }
}
