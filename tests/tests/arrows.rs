//! The house's arrows: which room may use which. A new arrow is a decision, written down in
//! DEVELOPERS.md and here.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

/// Rooms of the core, lowest floor first. A room uses rooms on lower floors only; rooms on one floor
/// do not know one another.
const CORE: &[&[&str]] = &[
    &["base"],
    &["atlas"],
    &["needle"],
    &["intake"],
    &["topical", "procedure", "measure"],
    &["screening", "plan"],
    &["journal"],
    &["event", "seal"],
    &["session", "people", "practice"],
    &["ledger"],
    &["words"],
    &["view"],
    &["record", "carry"],
    &["wire"],
];

/// What each room of the interface may use: of the interface, and of the core (`*` is all of it).
const APP: &[(&str, &[&str], &[&str])] = &[
    ("react", &[], &[]),
    ("shape", &["react"], &[]),
    ("device", &[], &["base"]),
    ("store", &["device"], &["base"]),
    ("desk", &["device", "react", "store"], &["*"]),
    ("parts", &["react", "shape"], &["base", "atlas"]),
    ("pages", &["desk", "parts", "react", "shape"], &["*"]),
];

fn files(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder)
        .expect("a folder of the house")
        .flatten()
    {
        let path = entry.path();
        if path.is_dir() {
            found.extend(files(&path));
        } else if path.extension().is_some_and(|e| e == "rs") {
            found.push(path);
        }
    }
    found
}

/// The shipped part of a file: a file of tests and tests at its foot are left out.
fn shipped(text: &str) -> &str {
    if text.contains("\n#![cfg(test)]\n") {
        return "";
    }
    text.split("\n#[cfg(test)]\nmod ")
        .next()
        .unwrap_or_default()
}

/// Rooms named after `prefix` in the shipped part of a file.
fn named(text: &str, prefix: &str) -> BTreeSet<String> {
    let shipped = shipped(text);
    let mut rooms = BTreeSet::new();
    for line in shipped
        .lines()
        .filter(|l| !l.trim_start().starts_with("//"))
    {
        for rest in line.split(prefix).skip(1) {
            let inner = rest.strip_prefix('{').map_or(rest, |list| list);
            let names = if rest.starts_with('{') {
                inner.split(',').collect()
            } else {
                vec![inner]
            };
            for name in names {
                let word: String = name
                    .trim()
                    .chars()
                    .take_while(|c| c.is_alphanumeric() || *c == '_')
                    .collect();
                if !word.is_empty() {
                    rooms.insert(word);
                }
            }
        }
    }
    rooms
}

fn room_of(path: &Path, root: &Path) -> String {
    let inside = path.strip_prefix(root).expect("inside the root");
    let first = inside
        .components()
        .next()
        .expect("a name")
        .as_os_str()
        .to_string_lossy();
    first.trim_end_matches(".rs").to_string()
}

fn floor(room: &str) -> Option<usize> {
    CORE.iter().position(|rooms| rooms.contains(&room))
}

/// Arrows in a text of `room` that go up or sideways.
fn wrong_in_core(room: &str, text: &str) -> Vec<String> {
    let here = floor(room).unwrap_or_else(|| panic!("{room} stands on no floor: add it to CORE"));
    named(text, "crate::")
        .into_iter()
        .filter(|to| to != room)
        .filter(|to| floor(to).is_some_and(|there| there >= here))
        .collect()
}

#[test]
fn core_rooms_use_lower_floors_only() {
    // Control: the check must see an arrow that goes up.
    assert_eq!(
        wrong_in_core("journal", "use crate::event::Event;"),
        ["event"]
    );
    assert_eq!(
        wrong_in_core("plan", "fn f(x: &crate::screening::Finding) {}"),
        ["screening"]
    );
    // What only tests use hides nothing that follows it; a file of tests is left out.
    let hidden = "#[cfg(test)]\nfn f() {}\nuse crate::event::Event;";
    assert_eq!(wrong_in_core("journal", hidden), ["event"]);
    let tests = "\n#![cfg(test)]\nuse crate::event::Event;";
    assert!(wrong_in_core("journal", tests).is_empty());
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../core/src");
    let mut wrong = Vec::new();
    for path in files(&root) {
        let room = room_of(&path, &root);
        if room == "lib" || room == "check" {
            continue;
        }
        let text = fs::read_to_string(&path).expect("a readable file");
        for to in wrong_in_core(&room, &text) {
            wrong.push(format!("{} uses {to}", path.display()));
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

#[test]
fn core_names_no_browser_clock_file_or_chance() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../core/src");
    let barred = [
        "std::",
        "web_sys",
        "js_sys",
        "wasm_bindgen",
        "SystemTime",
        "Instant",
        "getrandom",
    ];
    let bad = |text: &str| {
        let shipped = shipped(text);
        barred
            .into_iter()
            .filter(|word| {
                shipped
                    .lines()
                    .any(|l| !l.trim_start().starts_with("//") && l.contains(word))
            })
            .collect::<Vec<_>>()
    };
    assert_eq!(
        bad("let now = std::time::Instant::now();"),
        ["std::", "Instant"],
        "control"
    );
    for path in files(&root) {
        if room_of(&path, &root) != "check" {
            let text = fs::read_to_string(&path).expect("a readable file");
            assert!(
                bad(&text).is_empty(),
                "{}: {:?}",
                path.display(),
                bad(&text)
            );
        }
    }
}

fn wrong_in_app(room: &str, text: &str) -> Vec<String> {
    let Some((_, own, core)) = APP.iter().find(|(name, ..)| *name == room) else {
        panic!("{room} is not in the table: add it to APP");
    };
    let mut wrong: Vec<String> = named(text, "crate::")
        .into_iter()
        .filter(|to| to != room && APP.iter().any(|(name, ..)| name == to))
        .filter(|to| !own.contains(&to.as_str()))
        .collect();
    if !core.contains(&"*") {
        wrong.extend(
            named(text, "pinfold_core::")
                .into_iter()
                .filter(|to| !core.contains(&to.as_str())),
        );
    }
    wrong
}

#[test]
fn the_interface_keeps_its_arrows() {
    assert_eq!(
        wrong_in_app("pages", "crate::store::Store::open()"),
        ["store"],
        "control"
    );
    assert_eq!(
        wrong_in_app("store", "use pinfold_core::event::Event;"),
        ["event"],
        "control"
    );
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../app/src");
    let mut wrong = Vec::new();
    for path in files(&root) {
        let room = room_of(&path, &root);
        if ["lib", "main", "bin"].contains(&room.as_str()) {
            continue;
        }
        let text = fs::read_to_string(&path).expect("a readable file");
        for to in wrong_in_app(&room, &text) {
            wrong.push(format!("{} uses {to}", path.display()));
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

/// What the worker's crate may use of the core: it makes keys and files, and knows no facts.
const VAULT: &[&str] = &["seal"];

#[test]
fn the_worker_knows_the_seal_alone_and_draws_nothing_itself() {
    let barred = [
        "std::fs",
        "std::net",
        "std::time",
        "std::env",
        "web_sys",
        "js_sys",
        "getrandom",
        "rand",
    ];
    let wrong = |text: &str| {
        let rooms = named(text, "pinfold_core::").into_iter();
        let mut wrong: Vec<String> = rooms.filter(|to| !VAULT.contains(&to.as_str())).collect();
        let lines = shipped(text).lines().map(str::trim_start);
        for line in lines.filter(|l| !l.starts_with("//")) {
            // Only where it stands as a word: `operand` is none.
            let words: Vec<&str> = line
                .split(|c: char| !c.is_alphanumeric() && !"_:".contains(c))
                .collect();
            let found = barred.iter().filter(|bad| {
                words
                    .iter()
                    .any(|w| w == *bad || w.starts_with(&format!("{bad}::")))
            });
            wrong.extend(found.map(ToString::to_string));
        }
        wrong
    };
    assert_eq!(
        wrong("use pinfold_core::journal::Entry;\nlet n = rand::random();\nuse std::fs;"),
        ["journal", "rand", "std::fs"],
        "control"
    );
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../app/vault/src");
    let all = files(&root);
    assert!(all.len() > 6);
    for path in all {
        let text = fs::read_to_string(&path).expect("a readable file");
        assert!(
            wrong(&text).is_empty(),
            "{}: {:?}",
            path.display(),
            wrong(&text)
        );
    }
}

#[test]
fn no_raw_html_in_the_interface() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../app/src");
    for path in files(&root) {
        let text = fs::read_to_string(&path).expect("a readable file");
        assert!(!text.contains("inner_html"), "{}", path.display());
    }
}
