//! Turns the reviewable files of `data/` into JSON the core embeds. No TOML or CSV reader ships.

#[expect(
    clippy::disallowed_macros,
    reason = "a build script speaks to cargo by printing"
)]
fn main() {
    println!("cargo:rerun-if-changed=data");
}
