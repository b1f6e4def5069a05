//! What a phone has to fetch: raw, gzip -9 and brotli -q 11, and the limits that fail a build.

use crate::{Fault, site};
use std::io::Write;
use std::path::Path;

/// The module that starts the app, in bytes of brotli. Above it a build fails.
pub const START_LIMIT: usize = 170_000;
/// All WASM that a visit needs, in bytes of brotli. Above it a build fails. Scripts are listed beside it.
pub const WASM_LIMIT: usize = 455_000;
/// The pages of the shelf, in bytes of brotli: what is looked up, set up and printed, and no visit waits
/// for. Above it a build fails.
pub const SHELF_LIMIT: usize = 173_000;
/// The worker's module, in bytes of brotli: fetched by a phone beside the rest, compiled only where there
/// is something to unlock. Above it a build fails.
pub const VAULT_LIMIT: usize = 40_000;
/// The module that `START_LIMIT` is about.
const START: &str = "/pinfold-app_bg.wasm";
/// The module that `SHELF_LIMIT` is about.
const SHELF: &str = "/split_shelf.wasm";

/// The module that `VAULT_LIMIT` is about.
const VAULT: &str = "/pinfold-vault_bg.wasm";

/// One file, in bytes.
pub struct Size {
    pub path: String,
    pub raw: usize,
    pub gzip: usize,
    pub brotli: usize,
}

impl Size {
    fn of(path: &str, bytes: &[u8]) -> Result<Size, Fault> {
        let mut gzip = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::best());
        gzip.write_all(bytes)?;
        let mut brotli = Vec::new();
        {
            let mut writer = brotli::CompressorWriter::new(&mut brotli, 4096, 11, 22);
            writer.write_all(bytes)?;
        }
        Ok(Size {
            path: path.to_owned(),
            raw: bytes.len(),
            gzip: gzip.finish()?.len(),
            brotli: brotli.len(),
        })
    }

    fn is_code(&self) -> bool {
        self.path.ends_with(".wasm") || self.path.ends_with(".js")
    }
}

/// Measures every file that a phone keeps.
pub fn measure(folder: &Path) -> Result<Vec<Size>, Fault> {
    let files = site::files(folder)?;
    files
        .iter()
        .filter(|(path, _)| !site::NOT_KEPT.contains(&path.as_str()))
        .map(|(path, bytes)| Size::of(path, bytes))
        .collect()
}

/// Who waits for a module.
#[derive(Clone, Copy, PartialEq, Eq)]
enum For {
    Visit,
    Shelf,
    Worker,
}

impl For {
    fn of(path: &str) -> Self {
        match path {
            SHELF => Self::Shelf,
            VAULT => Self::Worker,
            _ => Self::Visit,
        }
    }
}

fn wasm(table: &[Size], whom: For) -> usize {
    table
        .iter()
        .filter(|size| size.path.ends_with(".wasm") && For::of(&size.path) == whom)
        .map(|size| size.brotli)
        .sum()
}

/// The table as text, kB of 1000 bytes.
pub fn print(table: &[Size]) -> String {
    let kb = |bytes: usize| format!("{}.{}", bytes / 1000, bytes % 1000 / 100);
    let mut text = format!("  {:<28}{:>9}{:>9}{:>9}\n", "kB", "raw", "gzip", "brotli");
    let mut add = |name: &str, raw: usize, gzip: usize, brotli: usize| {
        text.push_str(&format!(
            "  {name:<28}{:>9}{:>9}{:>9}\n",
            kb(raw),
            kb(gzip),
            kb(brotli)
        ));
    };
    for size in table.iter().filter(|size| size.is_code()) {
        add(&size.path, size.raw, size.gzip, size.brotli);
    }
    let sum = |pick: fn(&Size) -> usize| -> usize { table.iter().map(pick).sum() };
    add(
        &format!("all {} files kept", table.len()),
        sum(|s| s.raw),
        sum(|s| s.gzip),
        sum(|s| s.brotli),
    );
    text.push_str(&format!(
        "  WASM of a visit {} of {} kB allowed, what starts at most {}; the shelf {} of {}, the worker {} of {}\n",
        kb(wasm(table, For::Visit)),
        kb(WASM_LIMIT),
        kb(START_LIMIT),
        kb(wasm(table, For::Shelf)),
        kb(SHELF_LIMIT),
        kb(wasm(table, For::Worker)),
        kb(VAULT_LIMIT)
    ));
    text
}

/// Fails above a limit, naming what is over it and by how much.
pub fn check(table: &[Size]) -> Result<(), Fault> {
    let start = table
        .iter()
        .find(|size| size.path == START)
        .ok_or_else(|| format!("the site has no {START}"))?;
    if start.brotli > START_LIMIT {
        return Err(format!(
            "{START} is {} bytes of brotli, {} above the limit",
            start.brotli,
            start.brotli - START_LIMIT
        )
        .into());
    }
    for (what, whom, limit) in [
        ("the WASM that a visit needs", For::Visit, WASM_LIMIT),
        ("the WASM of the shelf", For::Shelf, SHELF_LIMIT),
        ("the WASM of the worker", For::Worker, VAULT_LIMIT),
    ] {
        let wasm = wasm(table, whom);
        if wasm > limit {
            let over = wasm - limit;
            return Err(format!("{what} is {wasm} bytes of brotli, {over} above the limit").into());
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn table(start: usize, other: usize, shelf: usize, vault: usize) -> Vec<Size> {
        let size = |path: &str, brotli| Size {
            path: path.to_owned(),
            raw: 0,
            gzip: 0,
            brotli,
        };
        vec![
            size(START, start),
            size("/split_pages.wasm", other),
            size(SHELF, shelf),
            size(VAULT, vault),
            size("/boot.js", 900_000),
        ]
    }

    #[test]
    fn a_build_above_a_limit_fails_and_one_at_it_does_not() {
        let rest = WASM_LIMIT - START_LIMIT;
        assert!(check(&table(START_LIMIT, rest, SHELF_LIMIT, VAULT_LIMIT)).is_ok());
        assert!(check(&table(START_LIMIT + 1, 0, 0, 0)).is_err());
        assert!(check(&table(START_LIMIT, rest + 1, 0, 0)).is_err());
        assert!(check(&table(START_LIMIT, 0, SHELF_LIMIT + 1, 0)).is_err());
        assert!(check(&table(START_LIMIT, 0, 0, VAULT_LIMIT + 1)).is_err());
        assert!(check(&[]).is_err());
    }

    #[test]
    fn what_repeats_shrinks() {
        let size = Size::of("/a.js", &[b'a'; 100_000]).expect("sizes");
        assert_eq!(size.raw, 100_000);
        assert!(size.gzip < 1000 && size.brotli < size.gzip);
    }
}
