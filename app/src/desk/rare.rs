//! What comes with the shelf and is seldom wanted: finishing an erasing or a sealing that ended half way,
//! and what has to be read in where two phones disagree. A visit goes on without it.

use super::Desk;
use crate::store::Store;
use pinfold_core::carry::apart;
use pinfold_core::ledger::{Ledger, Want};
use std::future::Future;
use std::pin::Pin;
use wasm_bindgen_futures::spawn_local;

type Done = Pin<Box<dyn Future<Output = ()>>>;

/// As doors: neither what starts nor the pages of a visit must hold it.
#[derive(Clone, Copy)]
pub(super) struct Rare {
    /// What has to be read in where two phones disagree.
    pub(super) apart: fn(&Ledger) -> Want,
    /// Takes away what is left of people who are erased.
    pub(super) finish_erasing: fn(Desk, Store) -> Done,
    /// Seals what is still plain.
    pub(super) seal_the_rest: fn(Desk),
}

impl Desk {
    /// Hands the desk what comes with the shelf, and begins with what waited for it.
    pub fn begin_rare(&self) {
        let history = &self.inner().history;
        history.rare.set(Some(Rare {
            apart,
            finish_erasing: |desk, store| {
                Box::pin(async move { desk.finish_erasing(&store).await })
            },
            seal_the_rest: |desk| spawn_local(desk.seal_the_rest()),
        }));
        if history.changing.get() {
            spawn_local(self.seal_the_rest());
        }
        self.tidy();
    }
}
