//! The program keeps the linker's relocations: `pinfold-house split` cuts it by them.

fn main() {
    println!("cargo::rerun-if-changed=build.rs");
    if std::env::var("CARGO_CFG_TARGET_ARCH").as_deref() == Ok("wasm32") {
        println!("cargo::rustc-link-arg-bins=--emit-relocs");
    }
}
