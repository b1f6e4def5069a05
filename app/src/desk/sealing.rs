//! The seal: what is written is sealed here before it touches any storage, and what is read is opened
//! here. Unlocking and locking. Making and changing passphrases is `passphrase`.

use super::locked_out::LockedOut;
use super::{Desk, Kept, Standing, Why};
use crate::device::reach::get;
use crate::device::{clock, entropy, reload, worker};
use crate::store::tries::Tries;
use crate::store::{Row, Shelf, Store, strip};
use js_sys::Uint8Array;
use pinfold_core::base::id::EntryId;
use pinfold_core::journal::pack::{PackName, Packed};
use pinfold_core::journal::{Entry, Journal, KeyId};
use pinfold_core::ledger::{Ledger, SheetName};
use pinfold_core::seal::{
    self, Codec, Door, Key, KeyRow, Locked, Nonce, Opened, Plain, Unlocked, Unsealable, Unsealed,
    WhyLocked, WrongRows,
};
use pinfold_core::view::chair as view;
use pinfold_core::words::vault::EN;
use wasm_bindgen::JsValue;

/// The script of the worker that makes keys, and seals and opens copies.
pub(super) const VAULT: &str = "/vault.js";
/// The row of the store's small facts that says how this phone keeps what is written.
pub(super) const MARK: &str = "sealing";
/// The row that says in which format the rows are written; none is 1. A build that changes what rows
/// mean writes its own number, and this one then leaves all of it alone.
const FORMAT: &str = "format";
/// No passphrase, by choice.
pub(super) const OPEN: &str = "open";
/// Plain rows are still being sealed: both are read.
pub(super) const CHANGING: &str = "changing";
/// Sealed; a plain row is a stranger's.
pub(super) const SEALED: &str = "sealed";
/// Rows of keys lie under their names after this.
pub(super) const KEY: &str = "key.";

/// The setting that says after how many minutes without a touch it locks by itself.
pub const LOCK_AFTER: &str = "lock_after";
/// And what holds while nothing was chosen. Policy.
const LOCK_MINUTES: i64 = 10;

/// How what is written here is kept from strangers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sealing {
    /// Nobody has said yet.
    Unasked,
    /// Without a passphrase, by choice.
    Open,
    /// Behind a passphrase.
    Sealed,
}

/// What becomes of entries before they are stored. Only the last can seal, and only it has keys.
pub(super) enum Guard {
    /// Rows are plain.
    Plain,
    /// Rows wait for their keys; nothing is written but what is counted out.
    Locked(Box<Shut>),
    /// Rows are sealed.
    Sealed(Box<Unlocked>),
}

/// What was read at the start and cannot be opened yet, as it stands. It is looked into when somebody
/// unlocks: what starts does not pay for that.
pub(super) struct Shut {
    /// The store's small facts, the practice's wrapped keys among them.
    pub(super) meta: Vec<Row>,
    /// Entries, people's wrapped keys, and what was counted out.
    pub(super) rows: Vec<Row>,
    pub(super) changing: bool,
}

impl Shut {
    fn keys(&self) -> Result<Locked, WrongRows> {
        let meta = self.meta.iter().filter(|row| row.key.starts_with(KEY));
        let people = self.rows.iter().filter(|row| KeyRow::is(&row.text));
        Locked::from_rows(meta.chain(people).map(|row| row.text.as_str()))
    }

    /// What was counted out, with the keys of its rows.
    pub(super) fn outs(&self) -> Vec<(String, LockedOut)> {
        let outs = self.rows.iter();
        outs.filter_map(|row| Some((row.key.clone(), LockedOut::read(&row.text)?)))
            .collect()
    }
}

/// What a person opens a practice with.
pub enum Typed {
    /// The passphrase.
    Passphrase(String),
    /// The recovery code.
    Code(seal::RecoveryCode),
}

pub(super) fn nonce() -> Option<Nonce> {
    entropy::bytes().map(Nonce::from_random)
}

pub(super) fn key() -> Option<Key> {
    let mut bytes = entropy::bytes()?;
    let key = Key::from_bytes(&bytes);
    bytes.fill(0);
    Some(key)
}

pub(super) fn key_row(row: &KeyRow) -> Row {
    Row {
        key: format!("{KEY}{}", row.which.name()),
        text: row.to_string(),
    }
}

/// Whether a row is sealed, or a wrapped key.
pub(super) fn is_sealed(row: &Row) -> bool {
    Codec::of(&row.text) == Some(Codec::Sealed) || KeyRow::is(&row.text)
}

/// The entry's name in the key of a row: a second text under one key lies beside it, under `key~1`.
fn name_of(row: &Row) -> Option<EntryId> {
    let key = row
        .key
        .split_once('~')
        .map_or(row.key.as_str(), |(key, _)| key);
    EntryId::from_row_key(key).ok()
}

/// What a plain row holds.
pub(super) fn plain(row: &Row) -> Option<Entry> {
    seal::open(&Plain, name_of(row)?, &row.text).ok()
}

/// Packs sealed, and the rows of keys that were made for them.
#[derive(Default)]
pub(super) struct SealedPacks {
    pub(super) keys: Vec<Row>,
    pub(super) packs: Vec<Row>,
}

/// Makes a person's key if there is none yet, and its row.
fn give_key(unlocked: &mut Unlocked, person: EntryId, rows: &mut Vec<Row>) -> Option<()> {
    if !unlocked.has_person(person)
        && let Some(made) = unlocked.add_person(person, key()?, nonce()?)
    {
        rows.push(key_row(&made));
    }
    Some(())
}

/// Seals one entry, making its person's key if there is none yet: the row of the key comes first.
/// Nothing only where the browser gives no random numbers.
pub(super) fn seal_into(unlocked: &mut Unlocked, entry: &Entry, rows: &mut Vec<Row>) -> Option<()> {
    // What is left of somebody erased has no key any more, and must not get another.
    let bare = entry.body.get() == "null";
    if let (KeyId::Person(person), false) = (entry.key, bare || entry.erases().is_some()) {
        give_key(unlocked, person, rows)?;
    }
    let text = match unlocked.close(entry, nonce()?) {
        _ if bare => unlocked.close_whole(entry, nonce()?).ok()?,
        Ok(text) => text,
        // Their key is damaged: what happened is written down all the same, under the practice's.
        Err(Unsealable::NoKey(_)) => unlocked.close_whole(entry, nonce()?).ok()?,
        Err(Unsealable::TooLong) => return None,
    };
    rows.push(Row {
        key: entry.id.row_key(),
        text,
    });
    Some(())
}

/// The journal in plain rows. What cannot be read is kept in it as it stands.
pub(super) fn open_plain(rows: &[Row]) -> Journal {
    let mut journal = Journal::new();
    for row in rows {
        take(&mut journal, row, plain(row));
    }
    journal
}

fn take(journal: &mut Journal, row: &Row, entry: Option<Entry>) {
    match entry {
        Some(entry) => {
            let _ = journal.insert(entry);
        }
        None => journal.keep_unreadable(row.text.clone()),
    }
}

/// Opens what is sealed. As doors, because what starts holds no ciphers: see `history::Late`.
#[derive(Clone, Copy)]
pub(super) struct Openers {
    pack: fn(&Unlocked, PackName, &str) -> Option<Packed>,
    sheet: fn(&Unlocked, &str, &str) -> Option<Vec<u8>>,
}

impl Openers {
    pub(super) fn new() -> Self {
        Self {
            pack: |unlocked, name, text| unlocked.open_pack(name, text).ok(),
            sheet: |unlocked, name, text| unlocked.open_sheet(name, text).ok(),
        }
    }
}

/// What opens packs and sheets. Without keys nothing is sealed.
pub(super) struct Keys<'a> {
    pub(super) unlocked: Option<&'a Unlocked>,
    /// How those keys are used; they are never there without it.
    pub(super) openers: Option<Openers>,
    /// Plain ones are still being sealed: both are read. Else a plain one is a stranger's.
    pub(super) changing: bool,
}

impl<'a> Keys<'a> {
    fn for_text(&self, text: &str) -> Option<&'a Unlocked> {
        let plain = self.changing && Codec::of(text) == Some(Codec::Plain);
        self.unlocked.filter(|_| !plain)
    }

    /// The pack in a text; nothing if it cannot be opened.
    pub(super) fn open_pack(&self, name: PackName, text: &str) -> Option<Packed> {
        match self.for_text(text) {
            Some(unlocked) => (self.openers?.pack)(unlocked, name, text),
            None => Plain.open_pack(name, text).ok(),
        }
    }

    /// The bytes of a sheet; nothing if it cannot be opened.
    pub(super) fn open_sheet(&self, name: &str, text: &str) -> Option<Vec<u8>> {
        match self.for_text(text) {
            Some(unlocked) => (self.openers?.sheet)(unlocked, name, text),
            None => Plain.open_sheet(text).ok(),
        }
    }
}

/// What sealed rows gave.
struct Read {
    journal: Journal,
    /// What is wrong with some, in words.
    flaws: Vec<&'static str>,
    /// Keys of plain rows that say what a sealed one says: a copy that the browser brought back after
    /// it was taken away. They can go.
    again: Vec<String>,
}

fn open_sealed(unlocked: &Unlocked, rows: &[Row], changing: bool) -> Read {
    let mut journal = Journal::new();
    let (mut flaws, mut plains, mut again) = (Vec::new(), Vec::new(), Vec::new());
    let entries = |row: &&Row| !KeyRow::is(&row.text) && LockedOut::read(&row.text).is_none();
    for row in rows.iter().filter(entries) {
        let is_plain = Codec::of(&row.text) == Some(Codec::Plain);
        if is_plain && !changing {
            plains.push(row);
            continue;
        }
        let opened = match name_of(row) {
            _ if is_plain => plain(row).ok_or(Unsealed::NotThatEntry),
            Some(id) => match unlocked.open(id, &row.text) {
                Ok(Opened::Whole(entry)) => Ok(entry),
                Ok(Opened::Residue(entry)) => {
                    flaws.push(EN.no_key);
                    Ok(entry)
                }
                Err(why) => Err(why),
            },
            None => Err(Unsealed::NotThatEntry),
        };
        if let Err(why) = opened {
            flaws.push(EN.unsealed(why));
        }
        take(&mut journal, row, opened.ok());
    }
    for row in plains {
        if plain(row).is_some_and(|entry| journal.get(entry.id) == Some(&entry)) {
            again.push(row.key.clone());
        } else {
            flaws.push(EN.plain_row);
            journal.keep_unreadable(row.text.clone());
        }
    }
    if !unlocked.damaged().is_empty() {
        flaws.push(EN.person_key_damaged);
    }
    Read {
        journal,
        flaws,
        again,
    }
}

/// What the worker made.
pub(super) struct Made {
    pub(super) key: Key,
    pub(super) how: String,
}

/// Has a key made in the worker.
///
/// # Errors
/// Words for a person: nothing was tried.
pub(super) async fn make(fields: &[(&str, JsValue)]) -> Result<Made, &'static str> {
    let answer = worker::ask(VAULT, fields).await.ok_or(EN.no_worker)?;
    let mut bytes = Uint8Array::new(&get(&answer, "key")).to_vec();
    let made = <&[u8; seal::KEY]>::try_from(bytes.as_slice()).map(Key::from_bytes);
    bytes.fill(0);
    match made {
        Ok(key) => Ok(Made {
            key,
            how: get(&answer, "how").as_string().unwrap_or_default(),
        }),
        Err(_) => Err(not_made(&answer)),
    }
}

/// Why the worker made nothing, in words.
pub(super) fn not_made(answer: &JsValue) -> &'static str {
    match get(answer, "why").as_string().as_deref() {
        Some("memory") => EN.no_memory,
        Some("empty") => EN.empty_passphrase,
        Some("text") => EN.newer_passphrase,
        _ => EN.no_worker,
    }
}

/// The door that what was typed leads to.
pub(super) async fn door(locked_how: &str, typed: &Typed) -> Result<Door, &'static str> {
    Ok(match typed {
        Typed::Passphrase(passphrase) => Door::Passphrase(
            make(&[
                ("do", "derive".into()),
                ("how", locked_how.into()),
                ("passphrase", passphrase.into()),
            ])
            .await?
            .key,
        ),
        Typed::Code(code) => Door::Recovery(code_key(code).await?),
    })
}

pub(super) async fn code_key(code: &seal::RecoveryCode) -> Result<Key, &'static str> {
    let bytes = Uint8Array::from(code.bytes().as_slice());
    let fields = [("do", "recovery".into()), ("code", bytes.clone().into())];
    let made = make(&fields).await;
    bytes.fill(0, 0, bytes.length());
    Ok(made?.key)
}

impl Desk {
    /// How what is written here is kept from strangers.
    #[must_use]
    pub fn sealing(&self) -> crate::react::Signal<Sealing> {
        self.sealing.into()
    }

    /// What could not be opened or read, in words; told once for each way. Of packs, what was read so far.
    #[must_use]
    pub fn unsealed(&self) -> Vec<(&'static str, usize)> {
        let inner = self.inner();
        let mut told = inner.unsealed.borrow().clone();
        // A pack that cannot be read is a line, too.
        let lines =
            self.read(|l| l.journal().unreadable().count()) + usize::from(inner.unread.get());
        let more = lines.saturating_sub(inner.lines_told.get());
        if more > 0 {
            told.push((EN.damaged, more));
        }
        told
    }

    /// The rows of some entries, sealed if this practice is: synchronously, and before any storage is
    /// touched. Nothing where it should be sealed and cannot be; that is never written plain.
    pub(super) fn rows<'a>(&self, entries: impl Iterator<Item = &'a Entry>) -> Option<Vec<Row>> {
        let mut rows = Vec::new();
        match &mut *self.inner().guard.borrow_mut() {
            Guard::Plain => rows.extend(entries.map(|entry| Row {
                key: entry.id.row_key(),
                text: Plain.close(entry),
            })),
            Guard::Sealed(unlocked) => {
                for entry in entries {
                    seal_into(unlocked, entry, &mut rows)?;
                }
            }
            Guard::Locked(_) => return None,
        }
        Some(rows)
    }

    /// The keys of people who were erased are destroyed: their rows are gone.
    pub(super) fn forget_keys(&self, people: &[EntryId]) {
        if let Guard::Sealed(unlocked) = &mut *self.inner().guard.borrow_mut() {
            for person in people {
                let _ = unlocked.forget(*person);
            }
        }
    }

    /// Nothing once this window gave the practice up: its keys are gone, and nothing may be written plain.
    fn has_store(&self) -> Option<()> {
        self.inner().store.borrow().as_ref().map(|_| ())
    }

    /// The row of a pack, sealed if this practice is.
    pub(super) fn pack_row(&self, packed: &Packed) -> Option<Row> {
        self.has_store()?;
        let text = match &*self.inner().guard.borrow() {
            Guard::Plain => Plain.close_pack(packed),
            Guard::Sealed(unlocked) => unlocked.close_pack(packed, &mut nonce)?,
            Guard::Locked(_) => return None,
        };
        let key = packed.name.to_string();
        Some(Row { key, text })
    }

    /// Plain packs, sealed; the rows of keys that were made for it. One that cannot be read as a pack
    /// cannot be sealed as one: it stays, and is named.
    pub(super) fn packs_anew(
        &self,
        plain: impl Iterator<Item = (PackName, Option<String>)>,
    ) -> Option<SealedPacks> {
        let inner = self.inner();
        let ledger = inner.ledger.borrow();
        let mut guard = inner.guard.borrow_mut();
        let Guard::Sealed(unlocked) = &mut *guard else {
            return None;
        };
        let mut sealed = SealedPacks::default();
        for (name, text) in plain {
            let packed = text.and_then(|text| Plain.open_pack(name, &text).ok());
            let Some(mut packed) = packed.filter(|p| p.entries().is_ok()) else {
                continue;
            };
            // Nobody who was erased gets a key again.
            packed
                .bodies
                .retain(|(key, _)| !ledger.journal().destroyed(*key));
            for (key, _) in &packed.bodies {
                if let KeyId::Person(person) = key {
                    give_key(unlocked, *person, &mut sealed.keys)?;
                }
            }
            sealed.packs.push(Row {
                key: name.to_string(),
                text: unlocked.close_pack(&packed, &mut nonce)?,
            });
        }
        Some(sealed)
    }

    /// The row of a sheet, sealed if this practice is.
    pub(super) fn sheet_row(&self, name: SheetName, bytes: &[u8]) -> Option<Row> {
        self.has_store()?;
        let key = name.to_string();
        let text = match &*self.inner().guard.borrow() {
            Guard::Plain => Plain.close_sheet(bytes),
            Guard::Sealed(unlocked) => unlocked.close_sheet(&key, bytes, nonce()?)?,
            Guard::Locked(_) => return None,
        };
        Some(Row { key, text })
    }

    /// The rows of keys among some.
    pub(super) fn keys_in(rows: Vec<Row>) -> Vec<Row> {
        rows.into_iter()
            .filter(|row| KeyRow::is(&row.text))
            .collect()
    }

    /// Gives entries to the store, sealed if this practice is.
    pub(super) fn keep<'a>(&self, entries: impl Iterator<Item = &'a Entry>) {
        // As the journal will have them: nobody who was erased gets a key again.
        let entries: Vec<Entry> =
            self.read_now(|l| entries.map(|e| l.journal().admitted(e)).collect());
        match (
            self.rows(entries.iter()),
            self.inner().store.borrow().as_ref(),
        ) {
            (Some(rows), Some(store)) => store.append(rows),
            _ => self.kept.set(Kept::NotSaved(Why::Other)),
        }
    }

    /// What the rows read at the start are: plain, or to be unlocked first.
    pub(super) async fn guard_of(
        store: &Store,
        rows: Vec<Row>,
    ) -> Result<(Guard, Sealing, Vec<Row>), Why> {
        let meta = store.read(Shelf::Meta).await?;
        if meta.iter().any(|row| row.key == FORMAT && row.text != "1") {
            return Err(Why::Newer);
        }
        let mark = meta.iter().find(|row| row.key == MARK);
        let mark = mark.map_or("", |row| row.text.as_str());
        if mark != SEALED && mark != CHANGING && !meta.iter().chain(&rows).any(is_sealed) {
            let sealing = if mark == OPEN {
                Sealing::Open
            } else {
                Sealing::Unasked
            };
            return Ok((Guard::Plain, sealing, rows));
        }
        if let Some(beside) = meta.iter().find(|row| row.key == strip::BESIDE) {
            strip::settle(&beside.text);
        }
        let changing = mark == CHANGING;
        let shut = Shut {
            meta,
            rows,
            changing,
        };
        Ok((Guard::Locked(Box::new(shut)), Sealing::Sealed, Vec::new()))
    }

    /// Writes the strip; of a sealed practice also beside the rows that it counts, because there it is
    /// all that is known after a kill.
    pub(super) fn write_strip(&self, strip: &strip::Strip) {
        let inner = self.inner();
        let _ = strip::write(strip);
        if let (false, Some(store)) = (
            matches!(&*inner.guard.borrow(), Guard::Plain),
            inner.store.borrow().as_ref(),
        ) {
            store.lay_beside(strip::row(strip));
        }
    }

    /// Why there is nothing to unlock, in words; none where there is.
    #[must_use]
    pub fn cannot_unlock(&self) -> Option<&'static str> {
        match &*self.inner().guard.borrow() {
            Guard::Locked(shut) => shut.keys().err().map(|why| EN.wrong_rows(&why)),
            _ => None,
        }
    }

    /// Whether a recovery code was made.
    #[must_use]
    pub fn has_code(&self) -> bool {
        match &*self.inner().guard.borrow() {
            Guard::Locked(shut) => shut.keys().is_ok_and(|keys| keys.has_recovery()),
            _ => false,
        }
    }

    /// Seconds to wait before the next try; none while a chair is in the strip.
    #[must_use]
    pub fn wait_to_unlock(&self) -> i64 {
        let left = match strip::read() {
            Some(_) => 0,
            None => Tries::read().left(clock::wall()),
        };
        left.saturating_add(999).div_euclid(1_000)
    }

    /// Unlocks: what is kept is opened, what was counted out meanwhile becomes facts.
    ///
    /// # Errors
    /// Words for a person. Everything is kept, locked.
    pub async fn unlock(self, typed: Typed) -> Result<(), &'static str> {
        let inner = self.inner();
        let locked = match &*inner.guard.borrow() {
            Guard::Locked(shut) => shut.keys().map_err(|why| EN.wrong_rows(&why))?,
            _ => return Ok(()),
        };
        if self.wait_to_unlock() > 0 {
            return Err(EN.wait_first);
        }
        let before = Tries::read();
        before.begin(clock::wall());
        let door = match door(locked.how().as_str(), &typed).await {
            Ok(door) => door,
            Err(why) => {
                before.undo();
                return Err(why);
            }
        };
        let unlocked = locked.unlock(&door).map_err(|not| {
            if not.why != WhyLocked::WrongDoor {
                Tries::forget();
            }
            EN.not_unlocked(not.why)
        })?;
        let (read, changing) = match &*inner.guard.borrow() {
            Guard::Locked(shut) => {
                let read = open_sealed(&unlocked, &shut.rows, shut.changing);
                (read, shut.changing)
            }
            _ => return Ok(()),
        };
        Tries::forget();
        inner.history.changing.set(changing);
        let store = inner.store.borrow().clone().ok_or(EN.not_opened)?;
        // Pressed twice it is read once.
        if inner.history.unlocking.replace(true) {
            return Ok(());
        }
        let told = read.journal.unreadable().count();
        let done = self.read_ledger(&store, read.journal, Some(&unlocked));
        let done = done.await;
        inner.history.unlocking.set(false);
        // It stays locked until all of that is read: whatever is counted out meanwhile is among these.
        let outs = match &*inner.guard.borrow() {
            Guard::Locked(shut) if done.is_ok() => shut.outs(),
            Guard::Locked(_) => {
                inner.ledger.replace(Ledger::default());
                return Err(EN.not_opened);
            }
            _ => {
                // Another window took over.
                inner.ledger.replace(Ledger::default());
                return Ok(());
            }
        };
        inner.by_code.set(matches!(typed, Typed::Code(_)));
        inner.unsealed.replace(tally(&read.flaws));
        inner.lines_told.set(told);
        inner.entered.replace(read.again);
        inner.guard.replace(Guard::Sealed(Box::new(unlocked)));
        inner.touched.set(clock::wall());
        self.standing.set(Standing::Ready);
        self.enter_locked_outs(outs);
        self.drop_entered();
        self.changed();
        self.tidy();
        // Or once the shelf is here.
        if let (true, Some(rare)) = (changing, inner.history.rare.get()) {
            (rare.seal_the_rest)(self);
        }
        Ok(())
    }

    /// Whether the last unlocking was by the recovery code: then a new passphrase is wanted.
    #[must_use]
    pub fn came_by_code(&self) -> bool {
        self.inner().by_code.get()
    }

    /// Whether a needle is in or a clock runs.
    fn at_work(&self) -> bool {
        let Some(now) = self.now() else { return true };
        let inner = self.inner();
        let ledger = inner.ledger.borrow();
        let states = ledger.open_sessions().map(|(_, session)| session.state());
        let (inside, due) = view::strip(
            states,
            &now,
            &pinfold_core::words::chair::EN,
            &pinfold_core::words::place::EN,
        );
        !inside.is_empty() || !due.is_empty()
    }

    /// Locks: keys and all that was read leave the memory with the page, which is loaded anew. Never
    /// while a needle is in, a clock runs, or something is not saved.
    ///
    /// # Errors
    /// Words for a person: why it did not.
    pub fn lock(&self) -> Result<(), &'static str> {
        let inner = self.inner();
        if self.at_work() {
            return Err(EN.not_at_work);
        }
        if inner
            .store
            .borrow()
            .as_ref()
            .is_none_or(|store| store.waiting() > 0)
        {
            return Err(EN.not_unsaved);
        }
        if !matches!(&*inner.guard.borrow(), Guard::Sealed(_)) {
            return Err(EN.nothing_to_lock);
        }
        inner.store.replace(None);
        inner.replica.set(None);
        inner.guard.replace(Guard::Plain);
        inner.ledger.replace(Ledger::default());
        reload::now();
        Ok(())
    }

    /// Somebody touched the page.
    pub(super) fn touched(&self) {
        self.inner().touched.set(clock::wall());
    }

    /// Locks if nobody touched the page for as long as the setting says.
    pub(super) fn lock_if_idle(&self) {
        let inner = self.inner();
        if !matches!(&*inner.guard.borrow(), Guard::Sealed(_)) {
            return;
        }
        let minutes = self.read_now(|l| l.practice().setting(LOCK_AFTER).parse::<i64>().ok());
        let millis = minutes
            .unwrap_or(LOCK_MINUTES)
            .clamp(1, 24 * 60)
            .saturating_mul(60_000);
        // A clock that was set back is no touch, and no reason to lock.
        if clock::wall().saturating_sub(inner.touched.get()) >= millis {
            let _ = self.lock();
        }
    }
}

/// Each of the words once, with how often.
fn tally(words: &[&'static str]) -> Vec<(&'static str, usize)> {
    let mut tally: Vec<(&'static str, usize)> = Vec::new();
    for word in words {
        match tally.iter_mut().find(|(known, _)| known == word) {
            Some((_, n)) => *n = n.saturating_add(1),
            None => tally.push((word, 1)),
        }
    }
    tally
}
