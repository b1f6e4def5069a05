//! Turns the reviewable files of `data/` into JSON the core embeds. No TOML or CSV reader ships.
//! One function for each kind of data file; a row that cannot be trusted stops the build.

use std::path::PathBuf;

#[path = "build/atlas.rs"]
mod atlas;
#[path = "build/identity.rs"]
mod identity;
#[path = "build/knowledge.rs"]
mod knowledge;
#[path = "build/rule_text.rs"]
mod rule_text;

#[expect(
    clippy::disallowed_macros,
    reason = "a build script speaks to cargo by printing"
)]
fn main() {
    println!("cargo:rerun-if-changed=data");
    println!("cargo:rerun-if-changed=build");
    for source in identity::SOURCES {
        println!("cargo:rerun-if-changed={source}");
    }
    let data =
        PathBuf::from(std::env::var_os("CARGO_MANIFEST_DIR").unwrap_or_default()).join("data");
    let out = PathBuf::from(std::env::var_os("OUT_DIR").unwrap_or_default());
    if let Err(why) = knowledge::write(&data, &out) {
        println!("cargo:error=core/data: {why}");
        std::process::exit(1);
    }
    atlas::write_all(&out);
    if let Err(why) = identity::write(&data, &out) {
        println!("cargo:error=the identity of the knowledge: {why}");
        std::process::exit(1);
    }
}
