//! Sealed files and rows beside libraries that are not ours: they open ours, ours opens theirs.

use pinfold_core::seal::{CopyTrouble, RecoveryCode};
use pinfold_vault::age::{self, CHUNK, Chance, Form, Limits, Work};
use pinfold_vault::copy::{self, CHANCE};
use pinfold_vault::door::{Cost, How, recovery_key};
use serde_json::json;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

const WORDS: &str = "a stile over the wall, \u{e9}t\u{e9} 7";

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../..")
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|b| format!("{b:02x}")).collect()
}

/// Bytes that differ from file to file. Not random: outside a test they must be.
fn chance(seed: u8) -> [u8; CHANCE] {
    core::array::from_fn(|at| seed.wrapping_mul(31) ^ at as u8)
}

fn texts() -> Vec<(&'static str, Vec<u8>)> {
    let text = |bytes: usize| (0..bytes).map(|n| (n % 251) as u8).collect();
    let journal = fs::read(root().join("tests/logs/first.journal")).expect("a journal");
    vec![
        ("empty", Vec::new()),
        ("one", text(1)),
        ("chunk_less_one", text(CHUNK - 1)),
        ("chunk", text(CHUNK)),
        ("chunk_and_one", text(CHUNK + 1)),
        ("two_chunks", text(2 * CHUNK)),
        ("many", text(700_001)),
        ("journal", journal),
    ]
}

fn write(folder: &Path) {
    fs::write(folder.join("passphrase"), WORDS).expect("written");
    for (seed, (name, plain)) in texts().into_iter().enumerate() {
        fs::write(folder.join(format!("{name}.plain")), &plain).expect("written");
        let seed = (2 * seed) as u8;
        let random = Chance::from_random(chance(seed));
        let bytes = age::seal(&plain, WORDS, Work::PHONE, random, Form::Bytes).expect("sealed");
        fs::write(folder.join(format!("{name}.bytes.age")), bytes).expect("written");
        // The very call that the worker's script makes for a copy.
        let letters = copy::seal(&plain, WORDS, chance(seed + 1)).expect("sealed");
        fs::write(folder.join(format!("{name}.letters.age")), letters).expect("written");
    }
    let derived = Cost::LADDER.iter().take(4).map(|&cost| {
        let how = How::new(cost, *b"0123456789abcdef");
        let key = how.key(WORDS).expect("a key");
        json!({"passphrase": WORDS, "how": how.to_string(), "key": hex(&*key)})
    });
    let codes = [0, 1, u128::MAX, 0x0123_4567_89ab_cdef_0011_2233_4455_6677];
    let codes = codes.map(|number: u128| {
        let code = RecoveryCode::from_random(number.to_be_bytes());
        let key = recovery_key(code.bytes());
        json!({"code": hex(code.bytes()), "printed": code.printed().as_str(), "key": hex(&*key)})
    });
    let vectors = json!({
        "argon2id": derived.collect::<Vec<_>>(),
        "recovery": codes,
        // The keys of core/src/seal/tests.rs, with which the golden rows were sealed.
        "golden": {"passphrase_key": "a0".repeat(32), "recovery_key": "b0".repeat(32)},
    });
    fs::write(folder.join("vectors.json"), vectors.to_string()).expect("written");
    let golden = root().join("tests/logs/first.sealed");
    fs::copy(golden, folder.join("golden.sealed")).expect("copied");
    let golden = root().join("tests/logs/first.packs");
    fs::copy(golden, folder.join("golden.packs")).expect("copied");
}

#[test]
fn others_open_ours_and_ours_opens_theirs() {
    let name = format!("pinfold-vault-{}", std::process::id());
    let folder = std::env::temp_dir().join(name);
    fs::create_dir_all(&folder).expect("a folder");
    write(&folder);
    let run = Command::new("bash")
        .arg("tests/outside/run.sh")
        .arg("vault")
        .arg(&folder)
        .current_dir(root())
        .output()
        .expect("bash runs");
    let said = String::from_utf8_lossy(&run.stdout);
    let why = String::from_utf8_lossy(&run.stderr);
    println!("{said}{why}");
    if run.status.code() == Some(77) {
        println!("SKIPPED: nothing was checked by libraries that are not ours. {why}");
    } else {
        assert!(run.status.success(), "{said}{why}");
        let theirs = theirs(&folder);
        println!("{theirs} files of theirs opened by ours");
        assert_eq!(theirs, 8);
    }
    fs::remove_dir_all(folder).expect("removed");
}

/// Opens what they sealed. Their work follows their machine, so more is allowed than on a phone.
fn theirs(folder: &Path) -> usize {
    let limits = Limits {
        work: 20,
        ..Limits::PHONE
    };
    let mut count = 0;
    for (name, plain) in texts() {
        for form in ["bytes", "letters"] {
            let Ok(file) = fs::read(folder.join(format!("{name}.theirs-{form}.age"))) else {
                continue;
            };
            let opened = age::open(&file, WORDS, limits).and_then(age::Reading::all);
            let opened = opened.map(|bytes| bytes.to_vec());
            assert!(opened == Ok(plain.clone()), "{name} {form}");
            if name == "one" {
                let wrong = age::open(&file, "another", limits).err();
                assert_eq!(wrong, Some(CopyTrouble::WrongPassphrase), "{form}: control");
                let mut flipped = file.clone();
                let at = if form == "bytes" {
                    file.len() - 1
                } else {
                    file.len() - 60
                };
                flipped[at] ^= 1;
                let broken = age::open(&flipped, WORDS, limits).and_then(age::Reading::all);
                assert!(broken.is_err(), "{form}: control");
                // As the app opens it, within what a phone can bear.
                let app = copy::open(&file, WORDS).map(|bytes| bytes.to_vec());
                assert!(
                    app == Ok(plain.clone()) || app == Err(CopyTrouble::Work),
                    "{form}: {app:?}"
                );
                println!(
                    "as the app opens {form} of theirs: {:?}",
                    app.map(|bytes| bytes.len())
                );
            }
            count += 1;
        }
    }
    count
}
