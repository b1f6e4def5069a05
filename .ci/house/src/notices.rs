//! The notices that the licences of other people's code ask for: every crate that the compiler sees
//! for the shipped module, with its licence and the text found in its own folder.

use crate::{Fault, VERSION};
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::process::Command;

/// What the shipped modules are made from: the app, and the worker.
const ROOT_CRATES: [&str; 2] = ["pinfold-app", "pinfold-vault"];

/// Rust's own standard library is in the module too, but in no dependency list. Text: the file
/// LICENSE-MIT of the compiler's source.
const STD: &str = include_str!("std-licence.txt");

/// The whole text.
pub fn write() -> Result<String, Fault> {
    let cargo = std::env::var("CARGO").unwrap_or_else(|_| "cargo".to_owned());
    let out = Command::new(cargo)
        .args(["metadata", "--format-version", "1", "--locked"])
        .args(["--filter-platform", "wasm32-unknown-unknown"])
        .output()?;
    if !out.status.success() {
        return Err(String::from_utf8_lossy(&out.stderr).into_owned().into());
    }
    let metadata: Value = serde_json::from_slice(&out.stdout)?;
    let mut crates = Vec::new();
    for package in used(&metadata)? {
        crates.push(Notice::read(package)?);
    }
    Ok(print(crates))
}

/// One crate.
struct Notice {
    name: String,
    version: String,
    licence: String,
    authors: String,
    texts: Vec<String>,
}

impl Notice {
    fn read(package: &Value) -> Result<Notice, Fault> {
        let text = |key: &str| package[key].as_str().unwrap_or_default().to_owned();
        let manifest = text("manifest_path");
        let folder = Path::new(&manifest)
            .parent()
            .ok_or("a package without a folder")?;
        let licence = text("license");
        let authors: Vec<&str> = package["authors"]
            .as_array()
            .into_iter()
            .flatten()
            .filter_map(Value::as_str)
            .collect();
        Ok(Notice {
            name: text("name"),
            version: text("version"),
            texts: texts(folder, &licence)?,
            licence,
            authors: authors.join(", "),
        })
    }
}

/// The packages that the shipped module is made of: normal dependencies, procedural macros and all
/// (what they write is compiled in), without the workspace's own.
fn used(metadata: &Value) -> Result<Vec<&Value>, Fault> {
    let list = |value: &'_ Value| value.as_array().cloned().unwrap_or_default();
    let packages: BTreeMap<&str, &Value> = metadata["packages"]
        .as_array()
        .ok_or("cargo metadata names no packages")?
        .iter()
        .filter_map(|package| Some((package["id"].as_str()?, package)))
        .collect();
    let mut needs: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for node in list(&metadata["resolve"]["nodes"]) {
        let normal = list(&node["deps"])
            .into_iter()
            .filter(|dep| {
                list(&dep["dep_kinds"])
                    .iter()
                    .any(|kind| kind["kind"].is_null())
            })
            .filter_map(|dep| Some(dep["pkg"].as_str()?.to_owned()))
            .collect();
        needs.insert(node["id"].as_str().unwrap_or_default().to_owned(), normal);
    }
    let mut open: Vec<String> = packages
        .iter()
        .filter(|(_, package)| ROOT_CRATES.iter().any(|root| package["name"] == *root))
        .map(|(id, _)| (*id).to_owned())
        .collect();
    let mut seen = BTreeSet::new();
    while let Some(id) = open.pop() {
        if seen.insert(id.clone()) {
            open.extend(needs.get(&id).cloned().unwrap_or_default());
        }
    }
    let mut found: Vec<&Value> = seen
        .iter()
        .filter_map(|id| packages.get(id.as_str()).copied())
        // A package of the workspace has no source: it is ours.
        .filter(|package| !package["source"].is_null())
        .collect();
    found.sort_by_key(|package| (package["name"].to_string(), package["version"].to_string()));
    Ok(found)
}

/// The licence texts of a crate's folder. Where the crate offers a choice with MIT in it, MIT is
/// taken and its text is enough.
fn texts(folder: &Path, licence: &str) -> Result<Vec<String>, Fault> {
    let mut files = Vec::new();
    for entry in std::fs::read_dir(folder)? {
        let entry = entry?;
        let name = entry.file_name().to_string_lossy().to_uppercase();
        let is_text = ["LICENSE", "LICENCE", "COPYING", "NOTICE", "UNLICENSE"]
            .iter()
            .any(|start| name.starts_with(start));
        if is_text && entry.file_type()?.is_file() {
            files.push((name, entry.path()));
        }
    }
    files.sort();
    let choice = licence.contains(" OR ") || licence.contains('/');
    if choice && licence.contains("MIT") && files.iter().any(|(name, _)| name.contains("MIT")) {
        files.retain(|(name, _)| name.contains("MIT") || name.starts_with("NOTICE"));
    }
    let mut found = Vec::new();
    for (_, path) in files {
        found.push(
            String::from_utf8_lossy(&std::fs::read(path)?)
                .trim()
                .to_owned(),
        );
    }
    Ok(found)
}

fn print(crates: Vec<Notice>) -> String {
    // Crates that share a text word for word (blanks aside) share one copy of it.
    let mut shared: BTreeMap<String, (String, Vec<String>)> = BTreeMap::new();
    let mut page = format!(
        "Pinfold {VERSION}: notices for the code of others that is in it\n\n\
         Pinfold itself: MIT OR Apache-2.0.\n\n\
         {} packages, each with the licence it names:\n\n",
        crates.len()
    );
    for one in &crates {
        let title = format!("{} {}", one.name, one.version);
        let licence = if one.licence.is_empty() {
            "no licence named"
        } else {
            &one.licence
        };
        page.push_str(&format!("  {title}: {licence}\n"));
        if one.texts.is_empty() {
            let by = if one.authors.is_empty() {
                "its authors"
            } else {
                &one.authors
            };
            page.push_str(&format!(
                "    (its package holds no licence text; written by {by})\n"
            ));
        }
        for text in &one.texts {
            let key = text.split_whitespace().collect::<Vec<_>>().join(" ");
            let entry = shared
                .entry(key)
                .or_insert_with(|| (text.clone(), Vec::new()));
            entry.1.push(title.clone());
        }
    }
    page.push_str("  Rust's standard library: MIT OR Apache-2.0\n");
    let mut texts: Vec<(String, Vec<String>)> = shared.into_values().collect();
    texts.sort_by(|a, b| a.1.cmp(&b.1));
    texts.push((
        STD.trim().to_owned(),
        vec!["Rust's standard library".to_owned()],
    ));
    for (text, users) in texts {
        let rule = "-".repeat(72);
        page.push_str(&format!("\n{rule}\n{}\n\n{text}\n", users.join(", ")));
    }
    page
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_shipped_crates_are_there_and_the_tools_are_not() {
        let text = write().expect("notices");
        for name in ["leptos 0.8", "wasm-bindgen 0.2", "serde 1"] {
            assert!(text.contains(&format!("  {name}")), "{name}");
        }
        // Used by tests and by this tool only.
        for name in ["proptest ", "tiny_http ", "pinfold-core "] {
            assert!(!text.contains(&format!("\n  {name}")), "{name}");
        }
        assert!(text.contains("Permission is hereby granted, free of charge"));
    }

    #[test]
    fn every_shipped_crate_names_a_licence() {
        assert!(!write().expect("notices").contains("no licence named"));
    }
}
