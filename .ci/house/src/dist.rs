//! What is handed to whoever deploys: the site, the headers it needs, the order to copy it in, and
//! one archive that comes out the same, byte for byte, from the same source.

use crate::{Fault, VERSION, finish, headers, site};
use std::path::Path;
use std::process::Command;

/// Writes `to/pinfold-VERSION/`, `to/pinfold-VERSION.tar.gz` and its `.sha256`.
///
/// # Errors
/// If what is checked out carries a version tag that is not this version's, or a file cannot be read
/// or written.
pub fn dist(built: &Path, to: &Path) -> Result<(), Fault> {
    println!("  {}", tagged(&tags_here(), VERSION)?);
    let name = format!("pinfold-{VERSION}");
    let folder = to.join(&name);
    if folder.exists() {
        std::fs::remove_dir_all(&folder)?;
    }
    finish::copy(built, &folder.join("site"))?;
    std::fs::write(folder.join("HEADERS.txt"), header_list())?;
    std::fs::write(folder.join("DEPLOY.txt"), deploy_words(built)?)?;
    let sums: String = site::files(&folder)?
        .iter()
        .map(|(path, bytes)| {
            format!(
                "{}  {}\n",
                site::sha256(bytes),
                path.trim_start_matches('/')
            )
        })
        .collect();
    std::fs::write(folder.join("SHA256SUMS"), sums)?;

    let archive = to.join(format!("{name}.tar.gz"));
    let bytes = pack(&folder, &name)?;
    std::fs::write(&archive, &bytes)?;
    let sum = site::sha256(&bytes);
    std::fs::write(
        to.join(format!("{name}.tar.gz.sha256")),
        format!("{sum}  {name}.tar.gz\n"),
    )?;
    println!("  {}\n  {sum}  {name}.tar.gz", folder.display());
    Ok(())
}

/// The version tags on what is checked out, one a line; empty outside a repository.
fn tags_here() -> String {
    Command::new("git")
        .args(["tag", "--points-at", "HEAD", "--list", "v*"])
        .output()
        .ok()
        .filter(|out| out.status.success())
        .map(|out| String::from_utf8_lossy(&out.stdout).into_owned())
        .unwrap_or_default()
}

/// What to say of the tag. The version and the tag are one name: another tag here is a slip.
fn tagged(tags: &str, version: &str) -> Result<String, Fault> {
    let wanted = format!("v{version}");
    let mut found = tags.lines().map(str::trim).filter(|tag| !tag.is_empty());
    match found.find(|tag| *tag != wanted) {
        Some(other) => Err(format!(
            "this commit is tagged {other}, but Cargo.toml says {version}: they must agree"
        )
        .into()),
        None if tags.lines().any(|tag| tag.trim() == wanted) => Ok(format!("tagged {wanted}")),
        None => Ok(format!(
            "not tagged yet: the tag of this version is {wanted}"
        )),
    }
}

/// In order of name, with no time, owner or machine in it.
fn pack(folder: &Path, name: &str) -> Result<Vec<u8>, Fault> {
    let gzip = flate2::GzBuilder::new()
        .mtime(0)
        .write(Vec::new(), flate2::Compression::best());
    let mut tar = tar::Builder::new(gzip);
    for (path, bytes) in site::files(folder)? {
        let mut header = tar::Header::new_ustar();
        header.set_size(u64::try_from(bytes.len())?);
        header.set_mode(0o644);
        header.set_mtime(0);
        header.set_uid(0);
        header.set_gid(0);
        tar.append_data(&mut header, format!("{name}{path}"), bytes.as_slice())?;
    }
    Ok(tar.into_inner()?.finish()?)
}

fn header_list() -> String {
    let mut text = String::from(
        "Every answer of the server, the service worker's script too, carries these headers.\n\n",
    );
    for (name, value) in headers::all() {
        text.push_str(&format!("{name}: {value}\n"));
    }
    text.push_str("\nTypes by ending:\n\n");
    for ending in [
        "html",
        "js",
        "wasm",
        "bin",
        "css",
        "json",
        "webmanifest",
        "png",
        "svg",
        "txt",
    ] {
        if let Some(kind) = headers::kind(&format!("/x.{ending}")) {
            text.push_str(&format!(".{ending}\t{kind}\n"));
        }
    }
    text
}

fn deploy_words(built: &Path) -> Result<String, Fault> {
    let mut text = format!(
        "Pinfold {VERSION}: how to put it on a server\n\n\
         It is a folder of files for the root of one address of its own, over HTTPS. Nothing runs on\n\
         the server and nothing is sent to it. Let no other program share the address: it could read\n\
         the records of everybody who uses Pinfold there.\n\n\
         1. Set the headers and types of HEADERS.txt for every file.\n\
         2. Copy everything of site/ but sw.js. Phones go on with the build they have.\n\
         3. Check a few against SHA256SUMS, as a browser would fetch them. A server must not change a\n   \
            file on the way (no \"optimising\"): a phone refuses a build with one wrong byte.\n\
         4. Copy site/sw.js last. From now on phones fetch the new build, keep it beside the old one,\n   \
            and offer it when nothing is open. None of them is changed under somebody's hands.\n\n\
         If a build was bad: copy site/kill-sw.js to the server under the name sw.js. It takes over at\n\
         the next visit, drops the program's files, and the visit after that comes from the server.\n\
         What was recorded stays. Then deploy a good build in the same order.\n\n\
         Files, in the order to copy them:\n\n"
    );
    for path in site::files(built)?.keys() {
        if path != "/sw.js" && path != site::SHELL {
            text.push_str(&format!("  {path}\n"));
        }
    }
    // A phone that has no build yet asks for the page first: by then what it names is there.
    text.push_str("  /index.html\n  /sw.js   (last)\n");
    Ok(text)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_archive_is_the_same_twice_and_differs_when_a_file_does() {
        let folder = std::env::temp_dir().join(format!("pinfold-dist-{}", std::process::id()));
        std::fs::create_dir_all(folder.join("site")).expect("a folder");
        std::fs::write(folder.join("site/index.html"), "one").expect("a file");
        let first = pack(&folder, "x").expect("an archive");
        std::fs::write(folder.join("site/index.html"), "one").expect("a file");
        let second = pack(&folder, "x").expect("an archive");
        std::fs::write(folder.join("site/index.html"), "two").expect("a file");
        let third = pack(&folder, "x").expect("an archive");
        std::fs::remove_dir_all(&folder).expect("removed");
        assert_eq!(first, second);
        assert_ne!(first, third);
    }

    #[test]
    fn the_tag_is_the_version_or_there_is_none() {
        assert!(tagged("", "1.2.0").expect("none").contains("v1.2.0"));
        assert_eq!(tagged("v1.2.0\n", "1.2.0").expect("same"), "tagged v1.2.0");
        assert!(tagged("v1.1.0\n", "1.2.0").is_err());
        assert!(tagged("v1.2.0\nv1.1.0\n", "1.2.0").is_err());
    }

    #[test]
    fn the_worker_is_copied_last() {
        let folder = std::env::temp_dir().join(format!("pinfold-order-{}", std::process::id()));
        std::fs::create_dir_all(&folder).expect("a folder");
        for name in ["index.html", "sw.js", "zebra.txt"] {
            std::fs::write(folder.join(name), name).expect("a file");
        }
        let words = deploy_words(&folder).expect("words");
        std::fs::remove_dir_all(&folder).expect("removed");
        assert!(
            words
                .trim_end()
                .ends_with("/zebra.txt\n  /index.html\n  /sw.js   (last)")
        );
    }
}
