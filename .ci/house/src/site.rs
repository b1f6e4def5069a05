//! A built site as a folder of files: reading it, hashing it, and which of its files a phone keeps.

use crate::Fault;
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::path::Path;

/// Files a phone does not keep: the worker's script (the browser keeps that itself) and what only
/// whoever deploys needs.
pub const NOT_KEPT: [&str; 2] = ["/sw.js", "/kill-sw.js"];

/// The page every address inside the app is answered with. It is listed as `/`: many hosts answer
/// `/index.html` with a redirect, and a redirected answer cannot be kept for a navigation.
pub const SHELL: &str = "/";

/// Lower-case SHA-256 in hexadecimal, 64 characters.
pub fn sha256(bytes: &[u8]) -> String {
    Sha256::digest(bytes)
        .iter()
        .map(|byte| format!("{byte:02x}"))
        .collect()
}

/// Every file below `folder`, by its path in the site (`/icons/mark.svg`; `index.html` is `/`).
pub fn files(folder: &Path) -> Result<BTreeMap<String, Vec<u8>>, Fault> {
    let mut found = BTreeMap::new();
    gather(folder, "", &mut found)?;
    if let Some(shell) = found.remove("/index.html") {
        found.insert(SHELL.to_owned(), shell);
    }
    Ok(found)
}

fn gather(folder: &Path, prefix: &str, found: &mut BTreeMap<String, Vec<u8>>) -> Result<(), Fault> {
    let entries =
        std::fs::read_dir(folder).map_err(|e| format!("cannot read {}: {e}", folder.display()))?;
    for entry in entries {
        let entry = entry?;
        let name = entry
            .file_name()
            .into_string()
            .map_err(|name| format!("{name:?} is not a name a web server can give"))?;
        let path = format!("{prefix}/{name}");
        if entry.file_type()?.is_dir() {
            gather(&entry.path(), &path, found)?;
        } else {
            found.insert(path, std::fs::read(entry.path())?);
        }
    }
    Ok(())
}

/// What a phone keeps: path to hash, in order.
pub fn kept(files: &BTreeMap<String, Vec<u8>>) -> BTreeMap<String, String> {
    files
        .iter()
        .filter(|(path, _)| !NOT_KEPT.contains(&path.as_str()))
        .map(|(path, bytes)| (path.clone(), sha256(bytes)))
        .collect()
}

/// The name of a build: the first 16 characters of the hash of its list.
pub fn build_id(version: &str, kept: &BTreeMap<String, String>) -> String {
    let list: String = kept
        .iter()
        .map(|(path, hash)| format!("{path}\t{hash}\n"))
        .collect();
    sha256(format!("{version}\n{list}").as_bytes())
        .chars()
        .take(16)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_hash_is_the_published_one() {
        // FIPS 180-4, the standard's own example for the three letters "abc".
        assert_eq!(
            sha256(b"abc"),
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
        );
    }

    #[test]
    fn one_changed_byte_is_another_build() {
        let mut site = BTreeMap::from([
            ("/".to_owned(), b"shell".to_vec()),
            ("/sw.js".to_owned(), b"worker".to_vec()),
        ]);
        let before = build_id("1", &kept(&site));
        assert!(!kept(&site).contains_key("/sw.js"));
        site.insert("/sw.js".to_owned(), b"another worker".to_vec());
        assert_eq!(before, build_id("1", &kept(&site)));
        site.insert("/".to_owned(), b"shelf".to_vec());
        assert_ne!(before, build_id("1", &kept(&site)));
    }
}
