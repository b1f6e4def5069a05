//! Packs as a phone keeps them, a line each on stdin (name, tab, text), become the entries that are in
//! them, a line each, on stdout. Only plain packs: a sealed one needs its keys.
//!
//! ```text
//! cargo run -p pinfold-core --example unpack < packs
//! ```
#![allow(clippy::disallowed_macros, reason = "an example talks by printing")]

use pinfold_core::seal::Plain;
use std::error::Error;
use std::io::Read as _;

fn main() -> Result<(), Box<dyn Error>> {
    let mut text = String::new();
    std::io::stdin().read_to_string(&mut text)?;
    for line in text.lines() {
        let (name, pack) = line.split_once('\t').ok_or("a name, a tab, a pack")?;
        let name = name
            .parse()
            .map_err(|_| format!("no name of a pack: {name}"))?;
        let packed = Plain
            .open_pack(name, pack)
            .map_err(|why| format!("{name}: {why:?}"))?;
        let entries = packed.entries().map_err(|why| format!("{name}: {why:?}"))?;
        for entry in entries {
            println!("{}", entry.to_line());
        }
    }
    Ok(())
}
