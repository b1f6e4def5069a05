//! Cuts the compiled program: what starts, the pages of a visit, which follow once the first page
//! stands, and those that are looked up, set up and printed.
//!
//! It must run between the compiler and wasm-bindgen: it reads the linker's relocations, which
//! wasm-bindgen drops, and leaves wasm-bindgen only the part that starts.

use crate::{Fault, site};
use std::path::Path;
use wasm_split_cli_support::{Options, transform};

/// The script that brings the other modules, as the program imports it.
const LINK: &str = "./pinfold-split.js";
/// The part that starts, which wasm-bindgen takes.
pub const MAIN: &str = "/main.wasm";

/// The parts beside the first: what two of them share, the pages of a visit, the pages of the shelf.
const PARTS: [&str; 3] = ["chunk_", "split_pages", "split_shelf"];

/// Cuts `from` into `to`: `main.wasm` for wasm-bindgen, the other modules and the script.
pub fn split(from: &Path, to: &Path) -> Result<(), Fault> {
    let program =
        std::fs::read(from).map_err(|e| format!("cannot read {}: {e}", from.display()))?;
    if to.exists() {
        std::fs::remove_dir_all(to)?;
    }
    let main = to.join(MAIN.trim_start_matches('/'));
    let mut options = Options::new(&program);
    options.output_dir = to;
    options.main_out_path = &main;
    options.link_name = LINK;
    options.main_module = "./pinfold-app.js";
    let cut = transform(options).map_err(|e| format!("cannot cut the program: {e:#}"))?;
    let mark = mark(&program);
    for file in std::fs::read_dir(to)? {
        let file = file?.path();
        let marked = rename(&std::fs::read(&file)?, &mark)
            .ok_or_else(|| format!("{} does not name what the modules share", file.display()))?;
        std::fs::write(file, marked)?;
    }
    // One that is never wanted would be fetched and kept for nothing.
    let mut names: Vec<String> = cut
        .split_modules
        .iter()
        .filter_map(|path| Some(path.file_stem()?.to_string_lossy().into_owned()))
        .map(|name| {
            name.trim_end_matches(|c: char| c.is_ascii_digit())
                .to_owned()
        })
        .collect();
    names.sort();
    if names != PARTS {
        return Err(format!("the program was cut into {names:?}, not {PARTS:?}").into());
    }
    Ok(())
}

/// What the cutter calls the one thing it has to name itself: the stack that all modules share.
const SHARED: &[u8] = b"__wasm_split_shared0";

/// The name in its place, of the same length, made from the program. The modules agree on addresses and
/// on nothing that a browser checks, so two of different builds would run together and write into each
/// other's data. With this name in all of them, the browser refuses to link what is not of one build.
/// The worker keeps builds apart anyhow; a phone that has no worker yet may be served while files change.
fn mark(program: &[u8]) -> Vec<u8> {
    let mut name = format!("build_{}", site::sha256(program)).into_bytes();
    name.truncate(SHARED.len());
    name
}

/// Puts the name in its places. `None` if there is no such place.
fn rename(file: &[u8], mark: &[u8]) -> Option<Vec<u8>> {
    let mut left = file.to_vec();
    let mut found = false;
    let mut at = 0;
    while let Some(place) = left.get_mut(at..at + SHARED.len()) {
        if place == SHARED {
            place.copy_from_slice(mark);
            found = true;
        }
        at += 1;
    }
    found.then_some(left)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn another_program_has_another_mark_of_the_same_length() {
        assert_eq!(mark(b"one program"), mark(b"one program"));
        assert_ne!(mark(b"one program"), mark(b"one program."));
        assert_eq!(mark(b"").len(), SHARED.len());
    }

    #[test]
    fn the_mark_stands_in_every_place_and_nothing_moves() {
        let mark = mark(b"");
        let file = b"a __wasm_split_shared0, b __wasm_split_shared0";
        let marked = rename(file, &mark).expect("it is there");
        assert_eq!(marked.len(), file.len());
        let places = marked.windows(mark.len()).filter(|part| *part == mark);
        assert_eq!(places.count(), 2);
        assert!(!marked.windows(SHARED.len()).any(|part| part == SHARED));
        assert_eq!(rename(b"no such name", &mark), None);
    }
}
