//! Sealing as a whole: round trips, refusals, a finder's view, rows that are read for ever.
#![cfg(test)]

use super::*;
use crate::base::id::Replica;
use crate::check::property;
use crate::journal::pack::Packed;
use crate::journal::{Journal, KeyId};
use alloc::string::ToString;
use alloc::vec::Vec;
use proptest::prelude::*;

const JOURNAL: &str = include_str!("../../../tests/logs/first.journal");
/// Sealed once in 2026 with the keys and nonces below; every build must read it.
const GOLDEN: &str = include_str!("../../../tests/logs/first.sealed");

/// The same entries packed, sealed once with the same keys; every build must read it.
const GOLDEN_PACKS: &str = include_str!("../../../tests/logs/first.packs");

/// So many entries of the journal are in it; lines that were added to the journal later are not.
const GOLDEN_ENTRIES: usize = 29;

/// Nonces that differ and repeat from run to run. In tests only: outside them a nonce is random.
struct Nonces(u8);

impl Nonces {
    fn next(&mut self) -> Nonce {
        self.0 = self.0.checked_add(1).expect("enough nonces for a test");
        Nonce::from_random([self.0; NONCE])
    }
}

fn key(byte: u8) -> Key {
    Key::from_bytes(&[byte; KEY])
}

fn how() -> How {
    How::new("argon2id,v=19,m=19456,t=2,p=1,AAECAwQFBgcICQoLDA0ODw").unwrap()
}

fn new(nonces: &mut Nonces) -> New {
    New {
        data: key(0xd0),
        practice: key(0xe0),
        nonces: [nonces.next(), nonces.next(), nonces.next()],
    }
}

/// The practice of the golden rows, and its rows.
fn practice() -> (Unlocked, Vec<KeyRow>) {
    let mut nonces = Nonces(0);
    let new = new(&mut nonces);
    let set_up = Unlocked::set_up(new, how(), &key(0xa0), Some(&key(0xb0))).unwrap();
    (set_up.unlocked, set_up.rows)
}

fn entries() -> Vec<Entry> {
    let read = Journal::from_lines(JOURNAL.as_bytes());
    assert!(read.flaws.is_empty());
    read.journal.iter().take(GOLDEN_ENTRIES).cloned().collect()
}

fn people() -> Vec<EntryId> {
    let mut people = Vec::new();
    for entry in entries() {
        if let KeyId::Person(id) = entry.key
            && !people.contains(&id)
        {
            people.push(id);
        }
    }
    // Somebody of whom this journal knows nothing more.
    people.push(EntryId {
        counter: 4,
        replica: Replica(7),
    });
    people
}

/// The golden journal's practice with every person's key, all rows of keys, and its sealed rows.
fn sealed() -> (Unlocked, Vec<KeyRow>, Vec<(EntryId, String)>) {
    let (mut unlocked, mut rows) = practice();
    let mut nonces = Nonces(3);
    for (at, id) in people().into_iter().enumerate() {
        let own = key(u8::try_from(at).unwrap() + 1);
        rows.push(unlocked.add_person(id, own, nonces.next()).unwrap());
    }
    let all = entries();
    let all = all.iter();
    let texts = all.map(|e| (e.id, unlocked.close(e, nonces.next()).unwrap()));
    let texts = texts.collect();
    (unlocked, rows, texts)
}

fn locked(rows: &[KeyRow]) -> Locked {
    let texts: Vec<String> = rows.iter().map(ToString::to_string).collect();
    Locked::from_rows(texts.iter().map(String::as_str)).unwrap()
}

fn line(entry: &Entry) -> String {
    entry.to_line()
}

#[test]
fn a_plain_row_opens_only_as_itself() {
    let entry = entries().remove(0);
    let text = Plain.close(&entry);
    assert_eq!(open(&Plain, entry.id, &text), Ok(entry.clone()));
    let other = EntryId {
        counter: 2,
        replica: entry.id.replica,
    };
    assert_eq!(open(&Plain, other, &text), Err(Unsealed::NotThatEntry));
    assert_eq!(
        open(&Plain, entry.id, "sealed9 xyz"),
        Err(Unsealed::UnknownCodec)
    );
    assert_eq!(Codec::of(&text), Some(Codec::Plain));
    assert_eq!(Codec::of("sealed1 practice AA"), Some(Codec::Sealed));
    assert_eq!(Codec::of("sealed9 practice AA"), None);
    assert_eq!(Codec::of("plain"), None);
}

#[test]
fn either_door_opens_every_entry_and_a_wrong_one_none() {
    let (_, rows, texts) = sealed();
    for door in [Door::Passphrase(key(0xa0)), Door::Recovery(key(0xb0))] {
        let unlocked = locked(&rows).unlock(&door).unwrap();
        assert!(unlocked.damaged().is_empty());
        for (entry, (id, text)) in entries().iter().zip(&texts) {
            let opened = open(&unlocked, *id, text).unwrap();
            assert_eq!(line(&opened), line(entry), "byte for byte");
        }
    }
    let wrong = [Door::Passphrase(key(0xb0)), Door::Recovery(key(0xa0))];
    for door in wrong {
        let why = locked(&rows).unlock(&door).unwrap_err();
        assert_eq!(why.why, WhyLocked::WrongDoor);
        assert_eq!(*why.locked, locked(&rows), "to be tried again");
    }
    let without: Vec<KeyRow> = rows
        .iter()
        .filter(|row| row.which != Which::Recovery)
        .cloned()
        .collect();
    let why = locked(&without).unlock(&Door::Recovery(key(0xb0)));
    assert_eq!(why.unwrap_err().why, WhyLocked::NoSuchDoor);
    let mut swapped = rows.clone();
    for row in &mut swapped {
        if row.which == Which::Practice {
            *row = format!("{row}A").parse().unwrap();
        }
    }
    let why = locked(&swapped).unlock(&Door::Passphrase(key(0xa0)));
    assert_eq!(why.unwrap_err().why, WhyLocked::Damaged);
}

#[test]
fn rows_that_are_no_practice_are_named() {
    let (_, rows, _) = sealed();
    let texts: Vec<String> = rows.iter().map(ToString::to_string).collect();
    let of = |texts: &[&str]| Locked::from_rows(texts.iter().copied()).unwrap_err();
    assert_eq!(of(&[]), WrongRows::Missing("passphrase"));
    assert_eq!(of(&[&texts[1]]), WrongRows::Missing("practice"));
    assert_eq!(
        of(&[&texts[1], &texts[1]]),
        WrongRows::Twice("passphrase".into())
    );
    let mut odd: Vec<&str> = texts.iter().map(String::as_str).collect();
    let strange = [
        "key2 practice AA",
        "key1",
        "key1 practice",
        "key1 practice ",
        "key1 practice AA AA",
        "key1 passphrase AA",
        "key1 p:0-x AA",
        "",
    ];
    odd.extend(strange);
    let read = Locked::from_rows(odd.into_iter()).unwrap();
    assert_eq!(read.unread(), strange, "kept as they stand");
    assert!(read.unlock(&Door::Passphrase(key(0xa0))).is_ok());
}

#[test]
fn a_destroyed_key_takes_the_bodies_and_nothing_else() {
    let (mut unlocked, mut rows, texts) = sealed();
    let person = people()[0];
    // Control: with the key every body is there.
    let (id, text) = texts
        .iter()
        .find(|(_, text)| text.contains(&KeyId::Person(person).to_string()))
        .unwrap();
    assert!(open(&unlocked, *id, text).is_ok());

    let name = unlocked.forget(person).unwrap();
    assert_eq!(name, KeyId::Person(person).to_string());
    assert_eq!(unlocked.forget(person), None);
    rows.retain(|row| row.which.name() != name);
    drop(unlocked);
    let unlocked = locked(&rows).unlock(&Door::Passphrase(key(0xa0))).unwrap();
    let mut gone = 0;
    for (entry, (id, text)) in entries().iter().zip(&texts) {
        if entry.key == KeyId::Person(person) {
            gone += 1;
            assert_eq!(open(&unlocked, *id, text), Err(Unsealed::NoKey));
            // What is left is what the journal leaves after a tombstone, so a restart shows the same.
            let left = entry.clone().without_body();
            assert_eq!(unlocked.open(*id, text), Ok(Opened::Residue(left)));
            assert_eq!(
                unlocked.close(entry, Nonce::from_random([99; NONCE])),
                Err(Unsealable::NoKey(person)),
                "never sealed under another key instead"
            );
        } else {
            assert_eq!(open(&unlocked, *id, text), Ok(entry.clone()));
        }
    }
    assert!(gone > 5, "{gone}");
}

#[test]
fn a_tombstone_outlives_the_key_it_names() {
    let (unlocked, _) = practice();
    let text = r#"{"id":"9-00000000000000000000000000000001","at":{"wall":5,"mono":1,"zone":0},"stream":"practice","key":"p:4-00000000000000000000000000000001","kind":"key.erased","body":{"key":"p:4-00000000000000000000000000000001"}}"#;
    let tomb = Entry::from_line(text).unwrap();
    let row = unlocked
        .close(&tomb, Nonce::from_random([9; NONCE]))
        .unwrap();
    assert_eq!(open(&unlocked, tomb.id, &row), Ok(tomb));
}

#[test]
fn a_new_passphrase_replaces_one_row_and_seals_nothing_again() {
    let (mut unlocked, mut rows, texts) = sealed();
    let other = How::new("argon2id,v=19,m=65536,t=3,p=1,Dw4NDAsKCQgHBgUEAwIBAA").unwrap();
    let nonce = Nonce::from_random([77; NONCE]);
    let row = unlocked
        .new_passphrase(other.clone(), &key(0xc0), nonce)
        .unwrap();
    // Until the store said that it is kept, the old one holds.
    assert_ne!(unlocked.locked().how(), &other);
    let still = unlocked.locked().clone();
    assert!(still.unlock(&Door::Passphrase(key(0xa0))).is_ok());
    unlocked.behind(row.clone());
    assert_eq!(unlocked.locked().how(), &other, "control: then the new one");
    let changed = rows
        .iter_mut()
        .filter(|old| old.which.name() == row.which.name())
        .map(|old| *old = row.clone())
        .count();
    assert_eq!(changed, 1);
    assert_eq!(unlocked.lock(), locked(&rows), "nothing else was touched");
    assert_eq!(locked(&rows).how(), &other);
    assert!(locked(&rows).unlock(&Door::Passphrase(key(0xa0))).is_err());
    let mut open_now = locked(&rows).unlock(&Door::Passphrase(key(0xc0))).unwrap();
    for (id, text) in &texts {
        assert!(open(&open_now, *id, text).is_ok());
    }
    // The same for the code; the old code's row is replaced, so it opens no more.
    let row = open_now
        .new_recovery(&key(0xc1), Nonce::from_random([78; NONCE]))
        .unwrap();
    assert!(
        open_now
            .locked()
            .clone()
            .unlock(&Door::Recovery(key(0xb0)))
            .is_ok(),
        "control: until it is kept the old one opens"
    );
    open_now.behind(row.clone());
    let again = open_now.lock();
    assert!(again.has_recovery());
    assert!(again.clone().unlock(&Door::Recovery(key(0xb0))).is_err());
    assert!(again.unlock(&Door::Recovery(key(0xc1))).is_ok());
    assert_eq!(row.which, Which::Recovery);
}

#[test]
fn a_person_has_one_key() {
    let (mut unlocked, rows, _) = sealed();
    let person = people()[0];
    let nonce = || Nonce::from_random([55; NONCE]);
    assert_eq!(unlocked.add_person(person, key(9), nonce()), None);
    // A damaged row counts as there, and costs that person only.
    let mut texts: Vec<String> = rows.iter().map(ToString::to_string).collect();
    let at = texts.iter().position(|t| t.starts_with("key1 p:")).unwrap();
    let swapped = if texts[at].ends_with('A') { "Q" } else { "A" };
    let cut = texts[at].len() - 1;
    texts[at].replace_range(cut.., swapped);
    let read = Locked::from_rows(texts.iter().map(String::as_str)).unwrap();
    let mut unlocked = read.unlock(&Door::Passphrase(key(0xa0))).unwrap();
    assert_eq!(unlocked.damaged(), [person]);
    assert!(!unlocked.has_person(person));
    assert_eq!(unlocked.add_person(person, key(9), nonce()), None);
}

#[test]
fn keys_do_not_open_in_each_others_places() {
    let (_, rows, _) = sealed();
    // A person's wrapped key put in the practice's place, the code's in the passphrase's, and so on.
    let texts: Vec<String> = rows.iter().map(ToString::to_string).collect();
    let word = |text: &str| text.rsplit(' ').next().unwrap().to_string();
    for (at, into) in texts.iter().enumerate() {
        for (from, other) in texts.iter().enumerate() {
            let mut moved = texts.clone();
            moved[at] = into.replace(&word(into), &word(other));
            let locked = Locked::from_rows(moved.iter().map(String::as_str)).unwrap();
            let whole = [key(0xa0), key(0xb0)];
            let [a, b] = whole;
            let by_pass = locked.clone().unlock(&Door::Passphrase(a));
            let by_code = locked.unlock(&Door::Recovery(b));
            let fine = |tried: &Result<Unlocked, NotUnlocked>| {
                tried.as_ref().is_ok_and(|u| u.damaged().is_empty())
            };
            assert_eq!(
                fine(&by_pass) && fine(&by_code),
                at == from,
                "row {from} in place of {at}"
            );
        }
    }
}

/// What somebody finds who reads the rows: a search for everything that a person typed.
fn finds(rows: &[String], words: &[&str]) -> Vec<String> {
    let found = words
        .iter()
        .filter(|word| rows.iter().any(|row| row.contains(**word)));
    found.map(ToString::to_string).collect()
}

#[test]
fn a_finder_reads_no_name_answer_place_or_kind() {
    let all = entries();
    let mut words = Vec::new();
    for kind in all.iter().map(|e| e.kind.as_str()) {
        if !words.contains(&kind) {
            words.push(kind);
        }
    }
    words.extend([
        "Wren of the Ford",
        "1984-02-29",
        "the mill house",
        "pregnant",
        "brow heavy",
        "lido4_uk",
        "cheek.left",
        "emergency_number",
        "1800000060000",
        "session.",
        "\"s:",
    ]);
    let plain: Vec<String> = all.iter().map(|e| Plain.close(e)).collect();
    assert_eq!(
        finds(&plain, &words),
        words,
        "control: plain rows show them"
    );
    let (_, keys, texts) = sealed();
    let mut rows: Vec<String> = texts.into_iter().map(|(_, text)| text).collect();
    rows.extend(keys.iter().map(ToString::to_string));
    assert!(finds(&rows, &words).is_empty());
    // Nor under the base64 by luck or by a slip: none of the decoded bytes read as text.
    for row in &rows {
        for word in row.split(' ').filter_map(secret::decode) {
            let text = String::from_utf8_lossy(&word).into_owned();
            assert!(finds(&[text], &words).is_empty(), "{row}");
        }
    }
    // What a finder does see.
    assert!(rows.iter().any(|row| row.starts_with("sealed1 p:1-")));
}

#[test]
fn the_golden_rows_are_read_for_ever() {
    let (_, keys, texts) = sealed();
    let mut now = String::new();
    for key in &keys {
        now.push_str(&key.to_string());
        now.push('\n');
    }
    for (id, text) in &texts {
        now.push_str(&format!("{} {text}\n", id.row_key()));
    }
    let (old_keys, old_rows): (Vec<&str>, Vec<&str>) =
        GOLDEN.lines().partition(|line| line.starts_with("key1 "));
    for code in [false, true] {
        let door = if code {
            Door::Recovery(key(0xb0))
        } else {
            Door::Passphrase(key(0xa0))
        };
        let old = Locked::from_rows(old_keys.iter().copied()).unwrap();
        let unlocked = old.unlock(&door).unwrap();
        for row in &old_rows {
            let (name, text) = row.split_once(' ').unwrap();
            let id = EntryId::from_row_key(name).unwrap();
            let opened = open(&unlocked, id, text).unwrap();
            assert!(
                JOURNAL.lines().any(|line| line == opened.to_line()),
                "{name}"
            );
        }
    }
    assert_eq!(old_rows.len(), GOLDEN_ENTRIES);
    assert_eq!(now, GOLDEN, "and written the same");
}

#[test]
fn the_golden_packs_are_read_for_ever() {
    let (unlocked, _, _) = sealed();
    let mut nonces = Nonces(100);
    let (mut now, mut all) = (String::new(), Vec::new());
    let journal = Journal::from_lines(JOURNAL.as_bytes()).journal;
    for stream in journal.streams() {
        let entries = entries();
        let Some(packed) = Packed::new(stream, entries.iter()) else {
            continue;
        };
        let text = unlocked.close_pack(&packed, &mut || Some(nonces.next()));
        now.push_str(&format!("{} {}\n", packed.name, text.unwrap()));
    }
    for line in GOLDEN_PACKS.lines() {
        let (name, text) = line.split_once(' ').unwrap();
        let packed = unlocked.open_pack(name.parse().unwrap(), text).unwrap();
        all.extend(packed.entries().unwrap());
    }
    all.sort();
    assert_eq!(now, GOLDEN_PACKS, "and written the same");
    assert_eq!(all, entries());
}

fn any_text() -> impl Strategy<Value = String> {
    prop_oneof![
        any::<String>(),
        "[ -~]{0,80}",
        Just(String::new()),
        Just("\0".repeat(300)),
    ]
}

fn made(id: EntryId, key: KeyId, text: &str) -> Entry {
    let mut entry = entries().remove(0);
    entry.id = id;
    entry.key = key;
    entry.kind = "note".into();
    entry.body = Entry::raw(&serde_json::to_string(text).unwrap());
    entry
}

#[test]
fn whatever_is_sealed_opens_and_whatever_is_changed_does_not() {
    let (unlocked, _, _) = sealed();
    let people = people();
    let some = (
        any_text(),
        1_u64..1_000_000,
        any::<u128>(),
        any::<[u8; NONCE]>(),
        0..3_usize,
        any::<(prop::sample::Index, u8)>(),
    );
    property(
        "sealed rows",
        1500,
        &some,
        |(text, counter, replica, nonce, whose, (at, bit))| {
            let id = EntryId {
                counter,
                replica: Replica(replica),
            };
            let key = match whose {
                0 => KeyId::Practice,
                n => KeyId::Person(people[(n - 1) % people.len()]),
            };
            let entry = made(id, key, &text);
            let row = unlocked.close(&entry, Nonce::from_random(nonce)).unwrap();
            prop_assert_eq!(
                open(&unlocked, id, &row).unwrap().to_line(),
                entry.to_line()
            );

            // Another name of the row.
            for other in [
                EntryId {
                    counter: counter + 1,
                    ..id
                },
                EntryId {
                    replica: Replica(replica ^ 1),
                    ..id
                },
            ] {
                prop_assert_eq!(open(&unlocked, other, &row), Err(Unsealed::Broken));
            }
            // Another key's name.
            let others = people.iter().map(|id| KeyId::Person(*id));
            for other in others.chain([KeyId::Practice]).filter(|k| *k != key) {
                let moved = row.replacen(&key.to_string(), &other.to_string(), 1);
                prop_assert_eq!(open(&unlocked, id, &moved), Err(Unsealed::Broken));
            }
            // One bit of one sealed byte: nonce, ciphertext or tag, of either part.
            let words: Vec<&str> = row.split(' ').collect();
            for part in 2..words.len() {
                let mut bytes = secret::decode(words[part]).unwrap();
                let place = at.index(bytes.len());
                bytes[place] ^= 1 << (bit % 8);
                let mut changed: Vec<String> = words.iter().map(ToString::to_string).collect();
                changed[part] = {
                    use base64ct::Encoding;
                    base64ct::Base64Unpadded::encode_string(&bytes)
                };
                let changed = changed.join(" ");
                prop_assert_eq!(open(&unlocked, id, &changed), Err(Unsealed::Broken));
            }
            // One letter of the row becomes another.
            let mut letters = row.clone().into_bytes();
            let place = at.index(letters.len());
            letters[place] = b' ' + bit % 95;
            let letters = String::from_utf8(letters).unwrap();
            if letters != row {
                prop_assert!(open(&unlocked, id, &letters).is_err(), "{}", letters);
            }
            // Cut anywhere, or longer.
            prop_assert!(open(&unlocked, id, &row[..at.index(row.len())]).is_err());
            prop_assert!(open(&unlocked, id, &(row.clone() + "A")).is_err());
            prop_assert!(open(&unlocked, id, &(row + " ")).is_err());
            Ok(())
        },
    );
}

#[test]
fn a_body_opens_only_in_its_own_envelope() {
    let (unlocked, _, _) = sealed();
    let person = KeyId::Person(people()[0]);
    let id = entries()[0].id;
    let row = |text: &str, byte: u8| {
        let entry = made(id, person, text);
        unlocked
            .close(&entry, Nonce::from_random([byte; NONCE]))
            .unwrap()
    };
    let (one, two) = (row("one", 1), row("two", 2));
    let part = |row: &str, at: usize| row.split(' ').nth(at).unwrap().to_string();
    let mixed = format!("sealed1 {person} {} {}", part(&one, 2), part(&two, 3));
    assert_eq!(open(&unlocked, id, &mixed), Err(Unsealed::Broken));
    // Control: put together from its own parts it opens.
    let own = format!("sealed1 {person} {} {}", part(&one, 2), part(&one, 3));
    assert!(open(&unlocked, id, &own).is_ok());
}

#[test]
fn any_text_as_a_row_is_answered() {
    let (unlocked, _, _) = sealed();
    let id = entries()[0].id;
    let some = prop_oneof![
        any::<String>(),
        "sealed1 (practice|p:1-000102030405060708090a0b0c0d0e0f|p:)?( [A-Za-z0-9+/]{0,90}){0,4}",
        "(plain|sealed1|sealed2|key1) .{0,40}",
    ];
    property("any row", 1500, &some, |text| {
        prop_assert!(open(&unlocked, id, &text).is_err());
        prop_assert!(unlocked.open(id, &text).is_err());
        let _ = text.parse::<KeyRow>();
        let _ = Locked::from_rows(core::iter::once(text.as_str()));
        let _ = RecoveryCode::from_typed(&text);
        let _ = How::new(&text);
        Ok(())
    });
}

/// What happened is never refused: with a damaged key of a person it is sealed under the practice's.
#[test]
fn a_person_whose_key_is_damaged_is_written_down_all_the_same() {
    let (_, rows, _) = sealed();
    let person = people()[0];
    let texts: Vec<String> = rows
        .iter()
        .map(|row| {
            let text = row.to_string();
            match row.which {
                Which::Person(id) if id == person => {
                    let mut text = text;
                    let last = text.pop().unwrap();
                    text.push(if last == 'A' { 'Q' } else { 'A' });
                    text
                }
                _ => text,
            }
        })
        .collect();
    assert!(texts.iter().all(|text| KeyRow::is(text)));
    let locked = Locked::from_rows(texts.iter().map(String::as_str)).unwrap();
    let mut unlocked = locked.unlock(&Door::Passphrase(key(0xa0))).unwrap();
    assert_eq!(unlocked.damaged(), [person]);
    let mut nonces = Nonces(100);
    let made = unlocked.add_person(person, key(1), nonces.next());
    assert_eq!(made, None, "a damaged key is not laid over");
    let theirs = entries();
    let entry = theirs
        .iter()
        .find(|e| e.key == KeyId::Person(person))
        .unwrap();
    assert_eq!(
        unlocked.close(entry, nonces.next()),
        Err(Unsealable::NoKey(person)),
        "control"
    );
    let text = unlocked.close_whole(entry, nonces.next()).unwrap();
    assert!(text.starts_with("sealed1 practice ") && !text.contains("p:"));
    assert_eq!(
        unlocked.open(entry.id, &text),
        Ok(Opened::Whole(entry.clone()))
    );
    assert_eq!(
        unlocked.locked().rows().len(),
        rows.len(),
        "every row, the damaged one too"
    );
    assert!(
        unlocked
            .locked()
            .clone()
            .unlock(&Door::Passphrase(key(0xa0)))
            .is_ok()
    );
}
