//! The rows that a phone holds after so many sessions were closed, as `make bench` lays them into a browser.
//!
//! `cargo run --release -p pinfold-core --example scale_rows FOLDER [SESSIONS PEOPLE]` writes, of a practice
//! without a passphrase, `full.jsonl` and `empty.jsonl` (no closed session), one row a line:
//! `{"shelf":"packs","key":"...","text":"..."}`; `old.jsonl`, the sheets of the full one as another version
//! of the folds would have left them; and `about.json`: the last moment in it, and what it holds. Everything
//! is invented, and each run writes the same bytes. Both have one person more, with one chair open.
#![expect(
    clippy::disallowed_macros,
    reason = "an example may print and write files; the library may not"
)]

mod scale;

use pinfold_core::seal::Plain;
use pinfold_core::view::books::Books;
use scale::{Kept, practice};
use std::fs::File;
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};

fn row(to: &mut impl Write, shelf: &str, key: &str, text: &str) -> io::Result<()> {
    let row = serde_json::json!({ "shelf": shelf, "key": key, "text": text });
    writeln!(to, "{row}")
}

fn write(to: &Path, kept: &Kept) -> io::Result<()> {
    let mut file = BufWriter::new(File::create(to)?);
    row(&mut file, "meta", "sealing", "open")?;
    for entry in &kept.tail {
        let key = entry.id.row_key();
        row(&mut file, "rows", &key, &Plain.close(entry))?;
    }
    for (name, bytes) in &kept.sheets {
        let text = Plain.close_sheet(bytes.as_deref().unwrap_or_default());
        row(&mut file, "summaries", &name.to_string(), &text)?;
    }
    for (name, packed) in &kept.packs {
        let text = Plain.close_pack(packed);
        row(&mut file, "packs", &name.to_string(), &text)?;
    }
    file.flush()
}

/// A sheet of another version of the folds: its number stands first in the directory, which begins at the
/// sixth byte; the last eight are the sum of all before (FNV-1a).
fn of_another_fold(sheet: &[u8]) -> Vec<u8> {
    let mut bytes = sheet[..sheet.len() - 8].to_vec();
    bytes[5] = if bytes[5] == 1 { 2 } else { 1 };
    let sum = bytes.iter().fold(0xcbf2_9ce4_8422_2325_u64, |sum, byte| {
        (sum ^ u64::from(*byte)).wrapping_mul(0x0100_0000_01b3)
    });
    bytes.extend(sum.to_le_bytes());
    bytes
}

fn main() -> io::Result<()> {
    let number = |n: usize, or: usize| {
        let word = std::env::args().nth(n);
        word.and_then(|word| word.parse().ok()).unwrap_or(or)
    };
    let folder: PathBuf = std::env::args().nth(1).expect("a folder").into();
    std::fs::create_dir_all(&folder)?;
    let (sessions, people) = (number(2, 10_000), number(3, 2_000));
    let books = Books::load().expect("sound");
    let (full, empty) = (practice(sessions, people, &books), practice(0, 0, &books));
    write(&folder.join("full.jsonl"), &full)?;
    write(&folder.join("empty.jsonl"), &empty)?;
    let mut old = BufWriter::new(File::create(folder.join("old.jsonl"))?);
    for (name, bytes) in &full.sheets {
        let text = Plain.close_sheet(&of_another_fold(bytes.as_deref().unwrap_or_default()));
        row(&mut old, "summaries", &name.to_string(), &text)?;
    }
    old.flush()?;
    let about = serde_json::json!({
        "sessions": sessions, "people": people, "at": full.at, "empty_at": empty.at,
        "packs": full.packs.len(), "sheets": full.sheets.len(), "rows": full.tail.len(),
    });
    std::fs::write(folder.join("about.json"), format!("{about}\n"))?;
    println!("{about}");
    Ok(())
}
