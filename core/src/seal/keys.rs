//! Which key lies under which: rows of wrapped keys, and the two states a practice can be in.
//!
//! ```text
//! passphrase --Argon2id--> door key --+
//!                                     +--> data key --> practice's key --> envelopes, entries of nobody
//! recovery code ---HKDF--> door key --+             +-> one key a person --> bodies of their entries
//! ```
//!
//! Every arrow after a door key is one row, `key1 <what> <base64 of nonce, ciphertext and tag>`, bound
//! to what it wraps. A new passphrase replaces one row and touches nothing else. Removing a person's
//! row removes the one way to the bodies of their entries.

use super::secret::{self, Key, Nonce};
use crate::base::flat::Map;
use crate::base::id::EntryId;
use crate::journal::KeyId;
use alloc::boxed::Box;
use alloc::format;
use alloc::string::{String, ToString};
use alloc::vec::Vec;
use core::fmt;
use core::str::FromStr;

/// The first word of a row.
const KEY_ROW: &str = "key1";

/// The longest [`How`], in bytes.
const HOW_MAX: usize = 200;

/// How a passphrase is turned into its key, as one word: parameters and salt. This room does not
/// read it; it is kept in the same row as what it leads to, so the two cannot come apart.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct How(String);

impl How {
    /// A word of printable ASCII, 1 to 200 characters; nothing for other text.
    #[must_use]
    pub fn new(word: &str) -> Option<Self> {
        let plain = word.bytes().all(|b| b.is_ascii_graphic());
        (plain && !word.is_empty() && word.len() <= HOW_MAX).then(|| Self(word.into()))
    }

    /// The word.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

/// What a row wraps, and thereby what it is wrapped with.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Which {
    /// The data key, under the passphrase's key.
    Passphrase(How),
    /// The data key, under the recovery code's key.
    Recovery,
    /// The practice's key, under the data key.
    Practice,
    /// One person's key, under the data key.
    Person(EntryId),
}

impl Which {
    /// The name of the row: one row a name. A new passphrase has the name of the old one.
    #[must_use]
    pub fn name(&self) -> String {
        match self {
            Self::Passphrase(_) => "passphrase".into(),
            Self::Recovery => "recovery".into(),
            Self::Practice => KeyId::Practice.to_string(),
            Self::Person(id) => KeyId::Person(*id).to_string(),
        }
    }

    fn bound(&self) -> String {
        format!("pinfold {KEY_ROW} {self}")
    }

    fn wrap(self, with: &Key, nonce: Nonce, key: &Key) -> Option<KeyRow> {
        let nonce = nonce.bytes();
        let word = secret::encrypt(with, nonce, &self.bound(), nonce, key.bytes())?;
        Some(KeyRow { which: self, word })
    }
}

impl fmt::Display for Which {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.name())?;
        match self {
            Self::Passphrase(how) => write!(f, " {}", how.0),
            _ => Ok(()),
        }
    }
}

/// One wrapped key.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct KeyRow {
    /// What it wraps.
    pub which: Which,
    word: String,
}

impl KeyRow {
    fn unwrap_with(&self, with: &Key) -> Option<Key> {
        let bytes = secret::decode(&self.word)?;
        let (nonce, sealed) = secret::split_nonce(&bytes)?;
        let plain = secret::decrypt(with, nonce, &self.which.bound(), sealed)?;
        Some(Key::from_bytes(plain.as_slice().try_into().ok()?))
    }
}

impl fmt::Display for KeyRow {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{KEY_ROW} {} {}", self.which, self.word)
    }
}

/// A text that is no row of a wrapped key here: changed, or from a newer build.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct BadKeyRow;

impl KeyRow {
    /// True if a text says that it is the row of a wrapped key, whether or not it can be read.
    #[must_use]
    pub fn is(text: &str) -> bool {
        text.split(' ').next() == Some(KEY_ROW)
    }
}

impl FromStr for KeyRow {
    type Err = BadKeyRow;
    fn from_str(text: &str) -> Result<Self, BadKeyRow> {
        let mut words = text.split(' ');
        if words.next() != Some(KEY_ROW) {
            return Err(BadKeyRow);
        }
        let which = match words.next().ok_or(BadKeyRow)? {
            "passphrase" => Which::Passphrase(words.next().and_then(How::new).ok_or(BadKeyRow)?),
            "recovery" => Which::Recovery,
            name => match name.parse().map_err(|_| BadKeyRow)? {
                KeyId::Practice => Which::Practice,
                KeyId::Person(id) => Which::Person(id),
            },
        };
        match (words.next(), words.next()) {
            (Some(word), None) if !word.is_empty() => Ok(Self {
                which,
                word: word.into(),
            }),
            _ => Err(BadKeyRow),
        }
    }
}

/// What opens a practice: a key made from what a person typed.
#[derive(Debug)]
pub enum Door {
    /// From the passphrase, in the way that [`Locked::how`] says.
    Passphrase(Key),
    /// From the recovery code.
    Recovery(Key),
}

/// A practice whose keys are all wrapped. There is nothing to be done with it but to unlock it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Locked {
    how: How,
    passphrase: KeyRow,
    recovery: Option<KeyRow>,
    practice: KeyRow,
    people: Map<EntryId, KeyRow>,
    unread: Vec<String>,
}

/// Why rows are no practice. The rows are kept as they stand.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum WrongRows {
    /// No row of this name, without which nothing can be opened.
    Missing(&'static str),
    /// Two rows of one name.
    Twice(String),
}

/// Why a practice did not open.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WhyLocked {
    /// Not the right passphrase or recovery code, or the row was changed: the two look alike.
    WrongDoor,
    /// No recovery code was ever set.
    NoSuchDoor,
    /// The door opened, but the practice's own key behind it is damaged.
    Damaged,
}

/// A practice that did not open. The rows are as they were: it can be tried again.
#[derive(Debug, PartialEq, Eq)]
pub struct NotUnlocked {
    /// What stood in the way.
    pub why: WhyLocked,
    /// The practice, still locked.
    pub locked: Box<Locked>,
}

impl Locked {
    /// From the rows of a store. A text that is no row of a key is kept ([`Locked::unread`]).
    ///
    /// # Errors
    /// [`WrongRows`] if these rows do not make a practice.
    pub fn from_rows<'a>(texts: impl Iterator<Item = &'a str>) -> Result<Self, WrongRows> {
        let (mut passphrase, mut recovery, mut practice) = (None, None, None);
        let mut people = Map::new();
        let mut unread = Vec::new();
        for text in texts {
            let Ok(row) = text.parse::<KeyRow>() else {
                unread.push(text.into());
                continue;
            };
            let name = row.which.name();
            let before = match &row.which {
                Which::Passphrase(how) => {
                    passphrase.replace((how.clone(), row)).map(|(_, row)| row)
                }
                Which::Recovery => recovery.replace(row),
                Which::Practice => practice.replace(row),
                Which::Person(id) => people.insert(*id, row),
            };
            if before.is_some() {
                return Err(WrongRows::Twice(name));
            }
        }
        let (how, passphrase) = passphrase.ok_or(WrongRows::Missing("passphrase"))?;
        Ok(Self {
            how,
            passphrase,
            recovery,
            practice: practice.ok_or(WrongRows::Missing("practice"))?,
            people,
            unread,
        })
    }

    /// How the passphrase is turned into its key.
    #[must_use]
    pub fn how(&self) -> &How {
        &self.how
    }

    /// Every row of a wrapped key: first the three of the practice, then one a person.
    #[must_use]
    pub fn rows(&self) -> Vec<KeyRow> {
        let mut rows = Vec::new();
        rows.push(self.practice.clone());
        rows.push(self.passphrase.clone());
        rows.extend(self.recovery.clone());
        rows.extend(self.people.iter().map(|(_, row)| row.clone()));
        rows
    }

    /// True if a recovery code was set.
    #[must_use]
    pub fn has_recovery(&self) -> bool {
        self.recovery.is_some()
    }

    /// Texts that came as rows of keys and could not be read.
    #[must_use]
    pub fn unread(&self) -> &[String] {
        &self.unread
    }

    fn stays(self, why: WhyLocked) -> NotUnlocked {
        NotUnlocked {
            why,
            locked: Box::new(self),
        }
    }

    /// Opens the practice.
    ///
    /// # Errors
    /// [`NotUnlocked`], with the rows in it: it can be tried again.
    pub fn unlock(self, door: &Door) -> Result<Unlocked, NotUnlocked> {
        let data = match door {
            Door::Passphrase(key) => self.passphrase.unwrap_with(key),
            Door::Recovery(key) => match &self.recovery {
                Some(row) => row.unwrap_with(key),
                None => return Err(self.stays(WhyLocked::NoSuchDoor)),
            },
        };
        let Some(data) = data else {
            return Err(self.stays(WhyLocked::WrongDoor));
        };
        let Some(practice) = self.practice.unwrap_with(&data) else {
            return Err(self.stays(WhyLocked::Damaged));
        };
        let mut people = Map::new();
        let mut damaged = Vec::new();
        for (id, row) in self.people.iter() {
            match row.unwrap_with(&data) {
                Some(key) => {
                    people.insert(*id, key);
                }
                // One damaged row costs one person, not the practice.
                None => damaged.push(*id),
            }
        }
        Ok(Unlocked {
            data,
            practice,
            people,
            damaged,
            rows: self,
        })
    }
}

/// A practice whose keys are at hand. Whatever seals, opens or makes keys takes this value, so it
/// cannot be asked of a locked one.
///
/// ```compile_fail
/// # use pinfold_core::seal::{Locked, Nonce};
/// # use pinfold_core::journal::Entry;
/// fn seal(locked: &Locked, entry: &Entry, nonce: Nonce) {
///     let _ = locked.close(entry, nonce);
/// }
/// ```
///
/// The same of an open one can:
///
/// ```
/// # use pinfold_core::seal::{Nonce, Unlocked};
/// # use pinfold_core::journal::Entry;
/// fn seal(unlocked: &Unlocked, entry: &Entry, nonce: Nonce) {
///     let _ = unlocked.close(entry, nonce);
/// }
/// ```
///
/// Dropping it, or locking it, overwrites every key.
#[derive(Debug)]
pub struct Unlocked {
    data: Key,
    practice: Key,
    people: Map<EntryId, Key>,
    damaged: Vec<EntryId>,
    rows: Locked,
}

/// The random parts of a new practice.
#[derive(Debug)]
pub struct New {
    /// The data key.
    pub data: Key,
    /// The practice's key. Another than the data key.
    pub practice: Key,
    /// One for each row that is written: practice, passphrase, recovery.
    pub nonces: [Nonce; 3],
}

/// A new practice and the rows to keep. Nothing may be sealed before they are saved.
#[derive(Debug)]
pub struct SetUp {
    /// The practice, open.
    pub unlocked: Unlocked,
    /// Every row.
    pub rows: Vec<KeyRow>,
}

impl Unlocked {
    /// A new practice behind a passphrase and, if one was drawn, a recovery code. Nothing only where
    /// the cipher refuses 32 bytes, which it does not.
    #[must_use]
    pub fn set_up(new: New, how: How, passphrase: &Key, recovery: Option<&Key>) -> Option<SetUp> {
        let New {
            data,
            practice,
            nonces: [first, second, third],
        } = new;
        let inner = Which::Practice.wrap(&data, first, &practice)?;
        let outer = Which::Passphrase(how.clone()).wrap(passphrase, second, &data)?;
        let recovery = match recovery {
            Some(key) => Some(Which::Recovery.wrap(key, third, &data)?),
            None => None,
        };
        let mut rows = Vec::new();
        rows.push(inner.clone());
        rows.push(outer.clone());
        rows.extend(recovery.clone());
        let locked = Locked {
            how,
            passphrase: outer,
            recovery,
            practice: inner,
            people: Map::new(),
            unread: Vec::new(),
        };
        let unlocked = Self {
            data,
            practice,
            people: Map::new(),
            damaged: Vec::new(),
            rows: locked,
        };
        Some(SetUp { unlocked, rows })
    }

    pub(super) fn practice(&self) -> &Key {
        &self.practice
    }

    pub(super) fn person(&self, id: EntryId) -> Option<&Key> {
        self.people.get(&id)
    }

    /// True if this person's entries can be sealed and opened.
    #[must_use]
    pub fn has_person(&self, id: EntryId) -> bool {
        self.people.contains_key(&id)
    }

    /// People whose row of a key was there and did not open. It is kept, and counts as there.
    #[must_use]
    pub fn damaged(&self) -> &[EntryId] {
        &self.damaged
    }

    /// Gives a person their key. The row must be saved before the first entry sealed under it.
    ///
    /// Nothing if they have one: a second would make what the first sealed unreadable.
    #[must_use]
    pub fn add_person(&mut self, id: EntryId, key: Key, nonce: Nonce) -> Option<KeyRow> {
        if self.rows.people.contains_key(&id) {
            return None;
        }
        let row = Which::Person(id).wrap(&self.data, nonce, &key)?;
        self.rows.people.insert(id, row.clone());
        self.people.insert(id, key);
        Some(row)
    }

    /// Destroys a person's key here, and names the row that must be removed from the store. Until
    /// that is done the key is not destroyed, and a copy of the row made earlier still holds it.
    ///
    /// Nothing if there was none.
    #[must_use]
    pub fn forget(&mut self, id: EntryId) -> Option<String> {
        self.people.remove(&id);
        self.damaged.retain(|other| *other != id);
        let row = self.rows.people.remove(&id)?;
        Some(row.which.name())
    }

    /// The row that puts the data key behind another passphrase: one to replace, nothing to seal again.
    /// Nothing is changed here until it is kept: then see [`Unlocked::behind`]. A copy of the old row
    /// still opens with the old passphrase.
    #[must_use]
    pub fn new_passphrase(&self, how: How, key: &Key, nonce: Nonce) -> Option<KeyRow> {
        Which::Passphrase(how).wrap(key, nonce, &self.data)
    }

    /// A new row is kept in the place of the old one. A row of a person changes nothing.
    pub fn behind(&mut self, row: KeyRow) {
        match &row.which {
            Which::Passphrase(how) => {
                self.rows.how = how.clone();
                self.rows.passphrase = row;
            }
            Which::Recovery => self.rows.recovery = Some(row),
            _ => {}
        }
    }

    /// The row that puts the data key behind another recovery code, or the first one: as with
    /// [`Unlocked::new_passphrase`].
    #[must_use]
    pub fn new_recovery(&self, key: &Key, nonce: Nonce) -> Option<KeyRow> {
        Which::Recovery.wrap(key, nonce, &self.data)
    }

    /// The rows as they stand, to try a door on: whether somebody knows the passphrase.
    #[must_use]
    pub fn locked(&self) -> &Locked {
        &self.rows
    }

    /// Overwrites every key. What is left needs a door again.
    #[must_use]
    pub fn lock(self) -> Locked {
        self.rows
    }
}
