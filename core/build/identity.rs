//! Names the packed knowledge: a pack is read only by a program that was built from the same data
//! files and the same types. The packed format does not describe itself, so this is what keeps a
//! pack of another build from being misread.

use std::path::{Path, PathBuf};

/// Where the types of the packed values are written.
pub const SOURCES: &[&str] = &[
    "pack/src",
    "src/atlas",
    "src/base",
    "src/intake",
    "src/measure",
    "src/needle",
    "src/procedure",
    "src/screening/rules.rs",
    "src/topical",
    "src/view/books.rs",
];

/// Writes `knowledge-id.txt`: 16 hexadecimal digits.
///
/// # Errors
/// A file that cannot be read or written.
pub fn write(data: &Path, out: &Path) -> std::io::Result<()> {
    let root = data.parent().unwrap_or(data);
    let mut files = Vec::new();
    gather(data, &mut files)?;
    for source in SOURCES {
        gather(&root.join(source), &mut files)?;
    }
    files.sort();
    // FNV-1a, 64 bits: tells builds apart. Against damage the service worker's SHA-256 stands.
    let mut hash = 0xcbf2_9ce4_8422_2325_u64;
    for file in files {
        for byte in std::fs::read(file)? {
            hash = (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3);
        }
    }
    std::fs::write(out.join("knowledge-id.txt"), format!("{hash:016x}"))
}

fn gather(place: &Path, files: &mut Vec<PathBuf>) -> std::io::Result<()> {
    if place.is_dir() {
        for entry in std::fs::read_dir(place)? {
            gather(&entry?.path(), files)?;
        }
    } else {
        files.push(place.to_owned());
    }
    Ok(())
}
