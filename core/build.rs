//! Turns the reviewable files of `data/` into JSON the core embeds. No TOML or CSV reader ships.

#[path = "build/atlas.rs"]
mod atlas;

#[expect(
    clippy::disallowed_macros,
    reason = "a build script speaks to cargo by printing"
)]
fn main() {
    println!("cargo:rerun-if-changed=data");
    println!("cargo:rerun-if-changed=build");
    let out = std::path::PathBuf::from(std::env::var_os("OUT_DIR").unwrap_or_default());
    atlas::write_all(&out);
}
