//! Pinfold's pure core. Clinical knowledge is data; what happened is a fact in an append-only
//! journal; everything shown is a fold of facts shaped by a view.
//!
//! No browser, file, clock or random source is named here: stamps, ids and entropy come in as
//! arguments. Nothing panics on any input.

#![cfg_attr(not(test), no_std)]
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

extern crate alloc;

pub mod atlas;
pub mod base;
pub mod carry;
pub mod event;
pub mod intake;
pub mod journal;
pub mod ledger;
pub mod measure;
pub mod needle;
pub mod people;
pub mod plan;
pub mod practice;
pub mod procedure;
pub mod record;
pub mod screening;
pub mod seal;
pub mod session;
pub mod topical;
pub mod view;
pub mod wire;
pub mod words;

#[cfg(test)]
mod check;
