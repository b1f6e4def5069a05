//! The format beside its public test vectors, and every way to break a file.
#![cfg(test)]

use super::payload::Sealed;
use super::reading::bytes_of;
use super::*;
use crate::check::property;
use pinfold_core::journal::Journal;
use pinfold_core::seal::CopyTrouble as T;
use proptest::prelude::*;
use std::collections::BTreeMap;
use std::fs;
use std::io::Read as _;
use std::path::PathBuf;

const WORDS: &str = "a stile over the wall";
const LIMITS: Limits = Limits::PHONE;
/// Cheap, so that a test can open thousands.
const CHEAP: Work = Work::test(2);

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../..")
}

fn chance(seed: u8) -> Chance {
    let mut bytes = [seed; 48];
    for (at, byte) in bytes.iter_mut().enumerate() {
        *byte ^= at as u8;
    }
    Chance::from_random(bytes)
}

fn made(plain: &[u8], form: Form) -> Vec<u8> {
    seal(plain, WORDS, CHEAP, chance(9), form).unwrap()
}

fn opened(file: &[u8]) -> Result<Vec<u8>, T> {
    open(file, WORDS, LIMITS)?.all().map(|plain| plain.to_vec())
}

/// Text that differs from place to place.
fn text(bytes: usize) -> Vec<u8> {
    (0..bytes).map(|n| (n % 251) as u8).collect()
}

#[test]
fn files_of_every_awkward_length_are_read_back() {
    let lengths = [
        0,
        1,
        47,
        48,
        49,
        CHUNK - 1,
        CHUNK,
        CHUNK + 1,
        2 * CHUNK - 1,
        2 * CHUNK,
        2 * CHUNK + 1,
        300_000,
    ];
    for length in lengths {
        let plain = text(length);
        for form in [Form::Bytes, Form::Letters] {
            let file = made(&plain, form);
            assert!(opened(&file) == Ok(plain.clone()), "{length} {form:?}");
            // In pieces of any size it is the same file.
            for piece in [1, 1000, CHUNK, CHUNK + 1] {
                if piece == 1 && length > 1000 {
                    continue;
                }
                let mut parts = Vec::new();
                let out = |bytes: &[u8]| parts.extend_from_slice(bytes);
                let mut writing = Writing::start(WORDS, CHEAP, chance(9), form, out).unwrap();
                for part in plain.chunks(piece) {
                    writing.push(part).unwrap();
                }
                writing.finish().unwrap();
                assert!(parts == file, "{length} {form:?} in pieces of {piece}");
            }
        }
    }
}

#[test]
fn a_journal_comes_back_as_it_went() {
    let lines = fs::read(root().join("tests/logs/first.journal")).unwrap();
    let journal = Journal::from_lines(&lines).journal;
    let file = made(&journal.to_lines(), Form::Letters);
    assert!(file.is_ascii(), "letters only");
    let back = opened(&file).unwrap();
    let read = Journal::from_lines(&back);
    assert!(read.flaws.is_empty());
    assert_eq!(read.journal, journal);
    // A finder's view, with its control.
    let shows = |file: &[u8]| file.windows(16).any(|w| w == b"Wren of the Ford");
    assert!(shows(&lines), "control");
    assert!(!shows(&file));
    assert!(!shows(&bytes_of(&file, LIMITS).unwrap()));
}

/// Sealed once in 2026; every build must read it, and with the same random part writes it the same.
#[test]
fn the_golden_file_is_read_for_ever() {
    let lines = fs::read_to_string(root().join("tests/logs/first.journal")).unwrap();
    let golden = fs::read(root().join("tests/logs/first.age")).unwrap();
    let plain = opened(&golden).unwrap();
    let text = std::str::from_utf8(&plain).unwrap();
    assert_eq!(text.lines().count(), 30);
    assert!(text.lines().all(|line| lines.contains(line)));
    let again = seal(&plain, WORDS, Work::PHONE, chance(9), Form::Letters);
    assert!(again == Ok(golden));
}

#[test]
fn what_is_broken_is_named() {
    let plain = text(2 * CHUNK + 5);
    let whole = made(&plain, Form::Bytes);
    assert!(opened(&whole).is_ok(), "control");
    let head = whole.windows(4).position(|w| w == b"\n---").unwrap() + 5 + 44;
    let changed = |at: usize, with: u8| {
        let mut file = whole.clone();
        file[at] = with;
        file
    };
    let flipped = |at: usize| changed(at, whole[at] ^ 1);
    let cut = |at: usize| whole[..at].to_vec();
    let replaced = |from: &str, to: &str| {
        let head_text = std::str::from_utf8(&whole[..head]).unwrap();
        assert!(head_text.contains(from), "{from}");
        let mut file = head_text.replacen(from, to, 1).into_bytes();
        file.extend_from_slice(&whole[head..]);
        file
    };
    // Where the nonce ends and each chunk does.
    let first = head + 16 + CHUNK + 16;
    let second = first + CHUNK + 16;
    assert_eq!(whole.len(), second + 5 + 16);
    let mut extra = whole[..second].to_vec();
    // A last chunk of full length, with something after it.
    let full = made(&text(CHUNK), Form::Bytes);
    let mut after_full = full.clone();
    after_full.extend_from_slice(b"more");
    extra.extend_from_slice(&whole[first..]);

    let cases: Vec<(&str, Vec<u8>, T)> = vec![
        ("nothing", Vec::new(), T::NotSealed),
        ("another file", b"%PDF-1.7\n".to_vec(), T::NotSealed),
        (
            "a journal unsealed",
            b"{\"pinfold\":\"journal\",\"format\":1}\n".to_vec(),
            T::NotSealed,
        ),
        ("cut in the first line", cut(20), T::Header),
        ("cut in the header", cut(head - 10), T::Header),
        ("cut in the nonce", cut(head + 15), T::Header),
        ("cut after the nonce", cut(head + 16), T::Cut),
        ("cut in a tag", cut(head + 16 + 15), T::Cut),
        ("cut in the first chunk", cut(first - 1), T::Changed),
        ("cut after a chunk", cut(first), T::Cut),
        ("cut after two chunks", cut(second), T::Cut),
        ("cut by one byte", cut(whole.len() - 1), T::Changed),
        ("later version", replaced("/v1", "/v2"), T::Version),
        ("no version", replaced("/v1", "/"), T::Header),
        ("line ends", replaced("/v1\n", "/v1\r\n"), T::Header),
        ("less work", replaced(" 2\n", " 3\n"), T::WrongPassphrase),
        ("no work", replaced(" 2\n", " 0\n"), T::Header),
        ("leading zero", replaced(" 2\n", " 02\n"), T::Header),
        ("more work", replaced(" 2\n", " 19\n"), T::Work),
        ("endless work", replaced(" 2\n", " 64\n"), T::Work),
        ("absurd work", replaced(" 2\n", " 99999\n"), T::Work),
        (
            "another way in",
            replaced("scrypt", "X25519"),
            T::NoPassphrase,
        ),
        ("the sum", flipped(head - 20), T::HeaderChanged),
        ("the nonce", flipped(head + 3), T::Changed),
        ("the first chunk", flipped(head + 16), T::Changed),
        ("a tag", flipped(first - 1), T::Changed),
        ("the second chunk", flipped(first + 7), T::Changed),
        ("the last chunk", flipped(second), T::Changed),
        ("the last byte", flipped(whole.len() - 1), T::Changed),
        ("a chunk twice", extra, T::Changed),
        ("more after a full end", after_full, T::Extra),
        (
            "more after a short end",
            [&whole[..], b"x"].concat(),
            T::Changed,
        ),
        ("two files", [&full[..], &full[..]].concat(), T::Extra),
    ];
    for (what, file, why) in cases {
        assert_eq!(opened(&file).map(|p| p.len()), Err(why), "{what}");
    }
    let wrong = open(&whole, "a stile over the walls", LIMITS).err();
    assert_eq!(wrong, Some(T::WrongPassphrase));
    let small = Limits {
        bytes: whole.len() - 1,
        ..LIMITS
    };
    assert_eq!(open(&whole, WORDS, small).err(), Some(T::TooLarge));
    // Chunks come out before the end is known, and the end says so.
    let cut_file = cut(second);
    let pieces: Vec<bool> = open(&cut_file, WORDS, LIMITS)
        .unwrap()
        .map(|chunk| chunk.is_ok())
        .collect();
    assert_eq!(pieces, [true, true, false]);
}

#[test]
fn a_broken_form_in_letters_is_named() {
    let plain = text(1000);
    let file = String::from_utf8(made(&plain, Form::Letters)).unwrap();
    let lines: Vec<&str> = file.lines().collect();
    assert!(lines.iter().all(|line| line.len() <= 64));
    let fine = [
        file.clone(),
        file.replace('\n', "\r\n"),
        file.trim_end().to_string(),
        format!(" \n\t\r\n{file}\n \n"),
    ];
    for text in fine {
        assert!(opened(text.as_bytes()) == Ok(plain.clone()), "{text}");
    }
    let without = |at: usize| {
        let mut some = lines.clone();
        some.remove(at);
        some.join("\n")
    };
    let line = lines[3];
    let cases = [
        ("no last line", without(lines.len() - 1), T::ArmourCut),
        ("half a file", file[..file.len() / 2].to_string(), T::Armour),
        ("no first line", without(0), T::NotSealed),
        ("a line left out", without(3), T::Header),
        ("a later line left out", without(7), T::Changed),
        ("a shorter line", file.replace(line, &line[..60]), T::Armour),
        (
            "a longer line",
            file.replace(line, &format!("{line}AAAA")),
            T::Armour,
        ),
        (
            "a space",
            file.replace(line, &format!("{line} ")),
            T::Armour,
        ),
        (
            "an empty line",
            file.replace(line, &format!("{line}\n")),
            T::Armour,
        ),
        (
            "a strange sign",
            file.replace(line, &format!("-{}", &line[1..])),
            T::Armour,
        ),
        (
            "a word before",
            format!("See below\n{file}"),
            T::ArmourExtra,
        ),
        (
            "a word after",
            format!("{file}Kind regards"),
            T::ArmourExtra,
        ),
        (
            "another kind",
            file.replace("AGE ENC", "PGP ENC"),
            T::Armour,
        ),
        (
            "empty",
            format!("{}\n{}\n", armour::BEGIN, armour::END),
            T::NotSealed,
        ),
    ];
    for (what, text, why) in cases {
        let got = opened(text.as_bytes()).map(|p| p.len());
        assert_eq!(got, Err(why), "{what}");
    }
}

#[test]
fn an_empty_passphrase_writes_nothing() {
    let refused = seal(b"x", "", CHEAP, chance(1), Form::Bytes);
    assert_eq!(refused, Err(Unwritten::EmptyPassphrase));
}

#[test]
fn every_bit_matters() {
    let small = made(b"{\"pinfold\":\"journal\",\"format\":1}\n", Form::Bytes);
    for at in 0..small.len() {
        for bit in 0..8 {
            let mut file = small.clone();
            file[at] ^= 1 << bit;
            assert!(opened(&file).is_err(), "bit {bit} of byte {at}");
        }
        assert!(opened(&small[..at]).is_err(), "cut at byte {at}");
    }
    let letters = made(b"x", Form::Letters);
    property(
        "letters of a file",
        2000,
        &(any::<prop::sample::Index>(), any::<u8>()),
        |(at, with)| {
            let mut file = letters.clone();
            let at = at.index(file.len());
            file[at] = with;
            // White space around it is the one thing that may differ.
            if file.trim_ascii() != letters.trim_ascii() {
                prop_assert!(opened(&file).is_err(), "{} at {}", with, at);
            }
            Ok(())
        },
    );
}

#[test]
fn any_bytes_are_answered() {
    let good = made(b"some text", Form::Bytes);
    let some = (
        prop::collection::vec(any::<u8>(), 0..400),
        any::<prop::sample::Index>(),
        0..4_u8,
    );
    property("any bytes as a file", 2000, &some, |(bytes, at, how)| {
        let at = at.index(good.len());
        let file = match how {
            0 => bytes,
            1 => [&good[..at], &bytes].concat(),
            2 => [b"age-encryption.org/v1\n", &bytes[..]].concat(),
            _ => [armour::BEGIN.as_bytes(), b"\n", &bytes].concat(),
        };
        // Work of another than ours is not computed here: it may be great.
        let limits = Limits { work: 2, ..LIMITS };
        if let Ok(reading) = open(&file, WORDS, limits) {
            prop_assert!(reading.all().is_err() || file == good);
        }
        Ok(())
    });
}

/// One of the public vectors.
struct Vector {
    says: BTreeMap<String, String>,
    file: Vec<u8>,
}

impl Vector {
    fn read(bytes: &[u8]) -> Self {
        let end = bytes.windows(2).position(|w| w == b"\n\n").expect("a head");
        let head = std::str::from_utf8(&bytes[..end]).expect("text");
        let says: BTreeMap<String, String> = head
            .lines()
            .map(|line| line.split_once(": ").expect("key: value"))
            .map(|(key, value)| (key.to_string(), value.to_string()))
            .collect();
        let mut file = bytes[end + 2..].to_vec();
        if says.get("compressed").is_some_and(|how| how == "zlib") {
            let mut whole = Vec::new();
            flate2::read::ZlibDecoder::new(&file[..])
                .read_to_end(&mut whole)
                .expect("zlib");
            file = whole;
        }
        Self { says, file }
    }

    fn file_key(&self) -> Option<FileKey> {
        let hex = self.says.get("file key")?;
        let bytes: Vec<u8> = (0..hex.len() / 2)
            .map(|n| u8::from_str_radix(&hex[2 * n..2 * n + 2], 16).expect("hex"))
            .collect();
        Some(Zeroizing::new(bytes.try_into().ok()?))
    }

    /// Opens it without a passphrase, by the file key that the vector gives away.
    fn by_file_key(&self) -> Result<Vec<u8>, (T, Vec<u8>)> {
        let none = |why| (why, Vec::new());
        let file_key = self.file_key().ok_or(none(T::Header))?;
        let file = bytes_of(&self.file, LIMITS).map_err(none)?;
        let header = header::Header::read(&file).map_err(none)?;
        header.check(&file_key).map_err(none)?;
        let at = file.len() - header.payload.len();
        let reading = Reading::start(&file_key, Sealed { file, at }).map_err(none)?;
        released(reading)
    }
}

/// What came out, also before an error.
fn released(reading: Reading<'_>) -> Result<Vec<u8>, (T, Vec<u8>)> {
    let mut out = Vec::new();
    for chunk in reading {
        match chunk {
            Ok(chunk) => out.extend_from_slice(&chunk),
            Err(why) => return Err((why, out)),
        }
    }
    Ok(out)
}

/// The word that the vectors have for what we found.
fn theirs(why: T) -> &'static str {
    match why {
        T::Armour | T::ArmourCut | T::ArmourExtra => "armor failure",
        T::NotSealed | T::Version | T::Header | T::Work => "header failure",
        T::NoPassphrase | T::WrongPassphrase => "no match",
        T::HeaderChanged => "HMAC failure",
        T::Cut | T::Changed | T::Extra => "payload failure",
        T::TooLarge | T::Memory => "never",
    }
}

fn sum(bytes: &[u8]) -> String {
    use sha2_worker::Digest;
    let sum = Sha256::digest(bytes);
    sum.iter().map(|b| format!("{b:02x}")).collect()
}

/// CCTV's vectors of age, from the package `cctv-age` 0.2.0.
#[test]
fn the_public_vectors() {
    let mut counts: BTreeMap<&str, u32> = BTreeMap::new();
    let folder = root().join("tests/vectors/age");
    let mut files: Vec<PathBuf> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .collect();
    files.sort();
    for path in files {
        let name = path.file_name().unwrap().to_str().unwrap().to_string();
        let vector = Vector::read(&fs::read(&path).unwrap());
        let expect = vector.says["expect"].as_str();
        let passphrase = vector.says.get("passphrase").map(String::as_str);
        // As this program opens a file.
        let ours = open(&vector.file, passphrase.unwrap_or(WORDS), LIMITS)
            .map_err(|why| (why, Vec::new()))
            .and_then(released);
        let got = match &ours {
            Ok(_) => "success",
            Err((why, _)) => theirs(*why),
        };
        let payload = |out: &[u8]| {
            if let Some(wanted) = vector.says.get("payload") {
                assert_eq!(&sum(out), wanted, "{name}: what was given out");
            }
        };
        if passphrase.is_some() {
            assert_eq!(got, expect, "{name}: {ours:?}");
            let (Ok(out) | Err((_, out))) = &ours;
            payload(out);
            *counts.entry("with a passphrase").or_default() += 1;
            continue;
        }
        // For a key this program does not have: it must be refused as such, or for what is wrong
        // before that; and everything but the unwrapping is held to the vector by its file key.
        assert_ne!(got, "success", "{name}");
        // These are wrong in what only the owner of the key looks at.
        let inside_the_stanza = (name.starts_with("x25519_") || name.starts_with("hybrid_"))
            && ["header failure", "no match"].contains(&expect)
            || name == "armor_no_match";
        if inside_the_stanza {
            let early = name.contains("not_canonical_body");
            assert_eq!(
                got,
                if early { "header failure" } else { "no match" },
                "{name}"
            );
            *counts.entry("refused as not ours").or_default() += 1;
            continue;
        }
        let by_key = vector.by_file_key();
        let got = match &by_key {
            Ok(_) => "success",
            Err((why, _)) => theirs(*why),
        };
        assert_eq!(got, expect, "{name}: {:?}", by_key.as_ref().map(Vec::len));
        let (Ok(out) | Err((_, out))) = &by_key;
        payload(out);
        *counts.entry("by the file key").or_default() += 1;
    }
    println!("{counts:?}");
    assert_eq!(counts.values().sum::<u32>(), 143);
    assert!(counts["with a passphrase"] >= 25, "{counts:?}");
    assert!(counts["by the file key"] >= 80, "{counts:?}");
}

/// RFC 7914, section 12, the second and third examples. Written down from memory;
/// `tests/outside/run.sh vault` asks OpenSSL for what this program uses.
#[test]
fn scrypts_examples() {
    let of = |password: &str, salt: &str, log_n, r, p| {
        let mut out = [0; 64];
        let params = scrypt::Params::new(log_n, r, p).unwrap();
        scrypt::scrypt(password.as_bytes(), salt.as_bytes(), &params, &mut out).unwrap();
        out.iter().map(|b| format!("{b:02x}")).collect::<String>()
    };
    assert_eq!(
        of("password", "NaCl", 10, 8, 16),
        "fdbabe1c9d3472007856e7190d01e9fe7c6ad7cbc8237830e77376634b373162\
2eaf30d92e22a3886ff109279d9830dac727afb94a83ee6d8360cbdfa2cc0640"
    );
    assert_eq!(
        of("pleaseletmein", "SodiumChloride", 14, 8, 1),
        "7023bdcb3afd7348461c06cd81fd38ebfda8fbba904f8e3ea9b543f6545da1f2\
d5432955613f0fcf62d49705242a9af9e61e85dc0d651e40dfcf017b45575887"
    );
}
