//! Property tests that say their seed and count, so that a failure can be run again.
//!
//! `PINFOLD_SEED=<number>` repeats a run, `PINFOLD_CASES=<number>` sets how many cases (long runs).

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
    let clock = std::time::UNIX_EPOCH
        .elapsed()
        .map_or(1, |d| d.as_nanos() as u64);
    let seed = from_env("PINFOLD_SEED").unwrap_or(clock);
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
