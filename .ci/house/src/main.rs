//! Keeps the house: what happens to a build between the compiler and a phone. Never shipped.
//!
//! ```text
//! pinfold-house split  --from target/wasm/.../pinfold-app.wasm --to target/split
//! pinfold-house finish --from target/trunk --split target/split --vault target/vault --to target/site --wasm-opt PATH
//! pinfold-house serve  --site target/site --port 8080
//! pinfold-house sizes  --site target/site
//! pinfold-house notices
//! pinfold-house dist   --site target/site --to target/dist
//! ```
//! Exit 1 with one line of reason when a step fails, 2 when it was called wrongly.

mod dist;
mod finish;
mod headers;
mod notices;
mod serve;
mod site;
mod sizes;
mod split;

use std::collections::BTreeMap;
use std::path::PathBuf;
use std::process::ExitCode;

/// What every step returns on failure: one sentence for the person at the terminal.
pub type Fault = Box<dyn std::error::Error>;

/// The workspace's version: the one that About shows and the archive is named for.
pub const VERSION: &str = env!("CARGO_PKG_VERSION");

/// `--name value` pairs after the subcommand; a `--name` without value counts as `yes`.
struct Options(BTreeMap<String, String>);

impl Options {
    fn read(args: &[String]) -> Result<Options, Fault> {
        let mut found = BTreeMap::new();
        let mut rest = args.iter().peekable();
        while let Some(arg) = rest.next() {
            let name = arg
                .strip_prefix("--")
                .ok_or_else(|| format!("{arg} is not an option"))?;
            let value = match rest.peek() {
                Some(next) if !next.starts_with("--") => rest.next().cloned().unwrap_or_default(),
                _ => "yes".to_owned(),
            };
            found.insert(name.to_owned(), value);
        }
        Ok(Options(found))
    }

    fn path(&self, name: &str, otherwise: &str) -> PathBuf {
        PathBuf::from(self.text(name, otherwise))
    }

    fn text(&self, name: &str, otherwise: &str) -> String {
        self.0
            .get(name)
            .cloned()
            .unwrap_or_else(|| otherwise.to_owned())
    }

    fn has(&self, name: &str) -> bool {
        self.0.contains_key(name)
    }
}

fn run(step: &str, options: &Options) -> Result<(), Fault> {
    let site = options.path("site", "target/site");
    match step {
        "finish" => finish::finish(&finish::Order {
            from: options.path("from", "target/trunk"),
            split: options.path("split", "target/split"),
            vault: options.path("vault", "target/vault"),
            to: options.path("to", "target/site"),
            wasm_opt: options.path("wasm-opt", "wasm-opt"),
            kept: options.path("kept", "target/wasm/opt"),
        }),
        "split" => split::split(
            &options.path(
                "from",
                "target/wasm/wasm32-unknown-unknown/release/pinfold-app.wasm",
            ),
            &options.path("to", "target/split"),
        ),
        "serve" => serve::serve(
            &site,
            options.text("port", "8080").parse::<u16>()?,
            !options.has("without-policy"),
        ),
        "sizes" => {
            let table = sizes::measure(&site)?;
            print!("{}", sizes::print(&table));
            sizes::check(&table)
        }
        "notices" => {
            print!("{}", notices::write()?);
            Ok(())
        }
        "dist" => dist::dist(&site, &options.path("to", "target/dist")),
        _ => Err(format!("no step is called {step:?}").into()),
    }
}

fn main() -> ExitCode {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let Some((step, rest)) = args.split_first() else {
        eprintln!("usage: pinfold-house split|finish|serve|sizes|notices|dist [--option value]");
        return ExitCode::from(2);
    };
    let options = match Options::read(rest) {
        Ok(options) => options,
        Err(fault) => {
            eprintln!("pinfold-house {step}: {fault}");
            return ExitCode::from(2);
        }
    };
    match run(step, &options) {
        Ok(()) => ExitCode::SUCCESS,
        Err(fault) => {
            eprintln!("pinfold-house {step}: {fault}");
            ExitCode::FAILURE
        }
    }
}
