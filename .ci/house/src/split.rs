//! Cuts the compiled program in two: what starts, and what follows once the first page stands.
//!
//! It must run between the compiler and wasm-bindgen: it reads the linker's relocations, which
//! wasm-bindgen drops, and leaves wasm-bindgen only the part that starts.

use crate::Fault;
use std::path::Path;
use wasm_split_cli_support::{Options, transform};

/// The script that brings the other modules, as the program imports it.
const LINK: &str = "./pinfold-split.js";
/// The part that starts, which wasm-bindgen takes.
pub const MAIN: &str = "/main.wasm";

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
    // One that is never wanted would be fetched and kept for nothing.
    match cut.split_modules.len() {
        1 => Ok(()),
        n => Err(format!("the program was cut into {n} modules beside the first, not one").into()),
    }
}
