//! From what trunk laid out to what a phone gets: optimised, with notices, with the packed knowledge, checked, listed, dated by
//! its own hash. The finished folder is swapped in whole, so a failed build leaves the last good one.

use crate::{Fault, VERSION, headers, notices, site, split};
use pinfold_core::view::books::Books;
use std::path::{Path, PathBuf};
use std::process::Command;

/// What to finish and with what.
pub struct Order {
    /// trunk's folder.
    pub from: PathBuf,
    /// What was cut from the program: the modules that follow, and the script that brings them.
    pub split: PathBuf,
    /// The worker's module and its glue, as wasm-bindgen wrote them.
    pub vault: PathBuf,
    /// The finished site.
    pub to: PathBuf,
    /// The optimiser: version 132 of binaryen. Debian's own 108 breaks the app without an error.
    pub wasm_opt: PathBuf,
    /// Optimised modules of earlier runs, by the hash of what went in: an unchanged one is not done again.
    pub kept: PathBuf,
}

/// The worker's module and its glue; its script lies in `public`.
const VAULT: [&str; 2] = ["pinfold-vault.js", "pinfold-vault_bg.wasm"];

const BUILD_SLOT: &str = "const BUILD = \"unfinished\";";
const FILES_SLOT: &str = "const FILES = {};";

/// Does all of it. The limits of size are a step of their own (`sizes`), so that a build that grew too
/// big can still be looked at.
pub fn finish(order: &Order) -> Result<(), Fault> {
    let stage = order.to.with_extension("new");
    if stage.exists() {
        std::fs::remove_dir_all(&stage)?;
    }
    copy(&order.from, &stage)?;
    for (path, bytes) in site::files(&order.split)? {
        if path != split::MAIN {
            std::fs::write(stage.join(path.trim_start_matches('/')), bytes)?;
        }
    }
    for name in VAULT {
        std::fs::copy(order.vault.join(name), stage.join(name))
            .map_err(|e| format!("the worker's {name} is missing: {e}"))?;
    }
    for (path, bytes) in site::files(&stage)? {
        if path.ends_with(".wasm") {
            let optimised = optimise(order, &bytes)?;
            for word in machine_words() {
                if holds(&optimised, &word) {
                    return Err(format!("{path} holds a path of this machine: {word}").into());
                }
            }
            std::fs::write(stage.join(path.trim_start_matches('/')), optimised)?;
        }
    }
    bundle_styles(&stage.join("style"))?;
    std::fs::write(stage.join("notices.txt"), notices::write()?)?;
    std::fs::write(stage.join("knowledge.bin"), Books::load()?.pack())?;
    for (path, _) in site::files(&stage)? {
        // A file that no server sends would keep the worker from ever installing.
        headers::kind(&path).ok_or_else(|| format!("{path} has no type in headers.rs"))?;
    }
    date(&stage)?;
    if order.to.exists() {
        std::fs::remove_dir_all(&order.to)?;
    }
    std::fs::rename(&stage, &order.to)?;
    Ok(())
}

/// Puts the imported sheets in their places in `app.css`: one request instead of a chain.
fn bundle_styles(folder: &Path) -> Result<(), Fault> {
    let main = folder.join("app.css");
    let mut whole = String::new();
    for line in std::fs::read_to_string(&main)?.lines() {
        if let Some(rest) = line.trim().strip_prefix("@import ") {
            let name = rest
                .trim_start_matches("url")
                .trim_matches(|c| "\"'(); ".contains(c));
            let sheet = folder.join(name);
            let text = std::fs::read_to_string(&sheet)
                .map_err(|e| format!("app.css imports {name}: {e}"))?;
            whole.push_str(&text);
            std::fs::remove_file(sheet)?;
        } else {
            whole.push_str(line);
        }
        whole.push('\n');
    }
    let mut left = std::fs::read_dir(folder)?.filter_map(Result::ok);
    if let Some(other) = left.find(|entry| entry.file_name() != "app.css") {
        return Err(format!("app.css does not import {:?}", other.file_name()).into());
    }
    std::fs::write(main, whole)?;
    Ok(())
}

/// Copies a folder with everything in it.
pub fn copy(from: &Path, to: &Path) -> Result<(), Fault> {
    std::fs::create_dir_all(to)?;
    let entries = std::fs::read_dir(from)
        .map_err(|e| format!("cannot read {}: {e}; run make build", from.display()))?;
    for entry in entries {
        let entry = entry?;
        let target = to.join(entry.file_name());
        if entry.file_type()?.is_dir() {
            // trunk's own workshop, left behind by an interrupted run.
            if entry.file_name() != ".stage" {
                copy(&entry.path(), &target)?;
            }
        } else {
            std::fs::copy(entry.path(), target)?;
        }
    }
    Ok(())
}

/// What the optimiser is told. Its control flow is made anew before it is shrunk twice: 2.3 kB of
/// brotli less of 350 than shrinking once (2026-11).
const SHRINK: [&str; 4] = ["--flatten", "--rereloop", "-Oz", "-Oz"];

fn optimise(order: &Order, module: &[u8]) -> Result<Vec<u8>, Fault> {
    std::fs::create_dir_all(&order.kept)?;
    // What was told is part of the name: another order makes another module.
    let name = site::sha256(&[module, SHRINK.concat().as_bytes()].concat());
    let done = order.kept.join(format!("{name}.wasm"));
    if !done.exists() {
        let before = order.kept.join("before.wasm");
        let after = order.kept.join("after.wasm");
        std::fs::write(&before, module)?;
        let run = Command::new(&order.wasm_opt)
            .args(SHRINK)
            .arg(&before)
            .arg("-o")
            .arg(&after)
            .output()
            .map_err(|e| format!("wasm-opt did not start: {e}"))?;
        if !run.status.success() {
            let said = String::from_utf8_lossy(&run.stderr);
            return Err(format!("wasm-opt failed: {}", said.trim()).into());
        }
        std::fs::rename(&after, &done)?;
        std::fs::remove_file(&before)?;
    }
    Ok(std::fs::read(done)?)
}

/// What must not be found in a shipped module: the home folder and the checkout.
fn machine_words() -> Vec<String> {
    let home = std::env::var("HOME").ok();
    let here = std::env::current_dir()
        .ok()
        .and_then(|path| path.into_os_string().into_string().ok());
    [home, here]
        .into_iter()
        .flatten()
        .filter(|word| word.len() > 1)
        .map(|word| format!("{}/", word.trim_end_matches('/')))
        .collect()
}

fn holds(bytes: &[u8], word: &str) -> bool {
    bytes
        .windows(word.len())
        .any(|part| part == word.as_bytes())
}

/// Writes the build's name into the page and the list into the worker.
fn date(stage: &Path) -> Result<(), Fault> {
    let page = without_crate_link(&std::fs::read_to_string(stage.join("index.html"))?);
    check_page(&page)?;
    let id = site::build_id(VERSION, &site::kept(&site::files(stage)?));
    let page = fill(
        &page,
        "data-build=\"unfinished\"",
        &format!("data-build=\"{id}\""),
    )?;
    let page = fill(
        &page,
        "data-version=\"unfinished\"",
        &format!("data-version=\"{VERSION}\""),
    )?;
    std::fs::write(stage.join("index.html"), page)?;

    let list = serde_json::to_string_pretty(&site::kept(&site::files(stage)?))?;
    let worker = std::fs::read_to_string(stage.join("sw.js"))?;
    let worker = fill(&worker, BUILD_SLOT, &format!("const BUILD = \"{id}\";"))?;
    let worker = fill(&worker, FILES_SLOT, &format!("const FILES = {list};"))?;
    std::fs::write(stage.join("sw.js"), worker)?;
    println!("  build {VERSION} {id}");
    Ok(())
}

/// trunk leaves its link to the crate in the page when it does not put its own loader there.
fn without_crate_link(page: &str) -> String {
    page.lines()
        .filter(|line| !line.starts_with("<link data-trunk rel=\"rust\"") && !line.is_empty())
        .map(|line| format!("{line}\n"))
        .collect()
}

/// Replaces the one place that is left for something; none or two of them is a fault.
fn fill(text: &str, slot: &str, with: &str) -> Result<String, Fault> {
    match text.matches(slot).count() {
        1 => Ok(text.replace(slot, with)),
        n => Err(format!("{slot} stands {n} times where it must stand once").into()),
    }
}

/// What the policy would refuse at run time is refused here, where somebody is looking.
fn check_page(page: &str) -> Result<(), Fault> {
    for (word, why) in [
        ("<script>", "an inline script"),
        ("<style", "an inline style"),
        (" style=", "a style attribute"),
        (" onclick=", "an inline handler"),
        ("data-trunk", "a link that trunk did not take"),
        ("integrity=", "a hash that the fixed names do without"),
    ] {
        if page.contains(word) {
            return Err(format!("index.html holds {why}").into());
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_machine_path_is_found_where_there_is_one() {
        assert!(holds(
            b"..panicked at /home/someone/x.rs..",
            "/home/someone/"
        ));
        assert!(!holds(b"..panicked at /crates/x.rs..", "/home/someone/"));
    }

    #[test]
    fn a_slot_is_filled_once_or_not_at_all() {
        assert_eq!(fill("a SLOT b", "SLOT", "x").expect("one"), "a x b");
        assert!(fill("a b", "SLOT", "x").is_err());
        assert!(fill("SLOT SLOT", "SLOT", "x").is_err());
    }

    #[test]
    fn the_sources_have_their_slots() {
        let worker = include_str!("../../../public/sw.js");
        assert!(fill(worker, BUILD_SLOT, "").is_ok());
        assert!(fill(worker, FILES_SLOT, "").is_ok());
        let page = include_str!("../../../app/index.html");
        assert!(fill(page, "data-build=\"unfinished\"", "").is_ok());
        assert!(fill(page, "data-version=\"unfinished\"", "").is_ok());
    }

    #[test]
    fn a_page_that_the_policy_would_refuse_fails_the_build() {
        assert!(check_page("<script src=\"/boot.js\" defer></script>").is_ok());
        assert!(check_page("<script>go()</script>").is_err());
        assert!(check_page("<p style=\"color:red\">").is_err());
    }
}
