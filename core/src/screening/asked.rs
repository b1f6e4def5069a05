//! Which questions are asked of a case at all.

use super::Knowledge;
use super::case::Case;
use super::ground::Ground;
use crate::base::truth::Truth;
use crate::intake::bank::Question;
use alloc::vec::Vec;

impl Knowledge {
    /// The questions whose condition for being asked is met, in the order of the bank. One that
    /// waits for an answer still open is left out until that answer is there.
    #[must_use]
    pub fn asked(&self, case: &Case) -> Vec<&Question> {
        let ground = Ground::new(&self.bank, &self.rules, &self.shelf, case);
        self.bank
            .questions
            .iter()
            .filter(|q| {
                q.asked_when
                    .as_ref()
                    .is_none_or(|when| ground.because(when).0 == Truth::Yes)
            })
            .collect()
    }
}
