//! Property tests that say their seed and count, so that a failure can be run again.
//!
//! Each property has a seed of its own that stays the same, so that the same code passes or fails the
//! same; `PINFOLD_SEED=<number>` takes another, `PINFOLD_SEED=new` one that nobody has seen (long runs),
//! `PINFOLD_CASES=<number>` sets how many cases.

#![allow(
    clippy::disallowed_macros,
    reason = "a test says its seed by printing; shared with a crate where printing is free"
)]

use proptest::strategy::Strategy;
use proptest::test_runner::{Config, RngAlgorithm, TestCaseResult, TestRng, TestRunner};

fn from_env(name: &str) -> Option<u64> {
    std::env::var(name).ok().and_then(|text| text.parse().ok())
}

/// Runs `test` on `cases` values of `strategy` and prints name, count and seed.
///
/// # Panics
/// With the smallest failing case found and the seed that found it.
pub fn property<S: Strategy>(
    name: &str,
    cases: u32,
    strategy: &S,
    test: impl Fn(S::Value) -> TestCaseResult,
) {
    let seed = match std::env::var("PINFOLD_SEED").as_deref() {
        Ok("new") => std::time::UNIX_EPOCH
            .elapsed()
            .map_or(1, |d| d.as_nanos() as u64),
        Ok(text) => text.parse().expect("PINFOLD_SEED is a number or `new`"),
        Err(_) => name.bytes().fold(20_260_101, |sum, byte| {
            sum * 31 % 1_000_003 + u64::from(byte)
        }),
    };
    let cases = from_env("PINFOLD_CASES")
        .and_then(|n| u32::try_from(n).ok())
        .unwrap_or(cases);
    let mut bytes = [0_u8; 32];
    bytes[..8].copy_from_slice(&seed.to_le_bytes());
    let rng = TestRng::from_seed(RngAlgorithm::ChaCha, &bytes);
    let config = Config {
        cases,
        failure_persistence: None,
        ..Config::default()
    };
    println!("property {name}: {cases} cases, seed {seed}");
    if let Err(why) = TestRunner::new_with_rng(config, rng).run(strategy, test) {
        panic!("property {name}, seed {seed}: {why}");
    }
}
