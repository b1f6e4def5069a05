//! What Pinfold does in a worker, beside the page: it makes keys from a passphrase or a recovery code,
//! and it writes and reads the sealed file that is taken out.
//!
//! Nothing here draws chance, reads a clock or touches storage; random bytes, passphrases and files
//! come in as arguments. Nothing panics on any input. What the work costs in memory is bounded by
//! arguments too, and asked for before it is taken.

// In tests an `unwrap` is how a test fails; what is shipped has none.
#![cfg_attr(
    not(test),
    deny(
        clippy::unwrap_used,
        clippy::expect_used,
        clippy::indexing_slicing,
        clippy::panic,
        clippy::arithmetic_side_effects
    )
)]

pub mod age;
pub mod door;
#[cfg(target_arch = "wasm32")]
mod worker;

#[cfg(test)]
#[path = "../../../core/src/check.rs"]
mod check;

/// True if so much memory can be had now. It is given back at once: an allocation that fails inside a
/// library ends the worker, this one only says so.
fn can_have(bytes: usize) -> bool {
    Vec::<u8>::new().try_reserve_exact(bytes).is_ok()
}
