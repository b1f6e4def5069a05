//! A walk through everything that is kept, read in or not, some streams at a time: a copy of many
//! years takes the memory of a few visits.

use crate::base::id::Stream;
use crate::journal::Journal;
use crate::journal::pack::PackName;
use crate::ledger::{Ledger, Read};
use alloc::vec::Vec;

/// From how many bytes of lines on a step is long enough. Policy.
const STEP: usize = 2_097_152;
/// How many a pack comes to: a closed visit of a hundred and twenty facts. Rough.
const PACK: usize = 32_768;
/// And a line beside its body. Rough.
const LINE: usize = 192;

/// What is still to be gone through, the last first.
#[derive(Clone, Debug)]
pub struct Walk(Vec<Vec<Stream>>);

/// One step: streams that belong together, and the packs of them that are to be read for it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Step {
    streams: Vec<Stream>,
    /// To be read, and given to [`Step::facts`]. The ledger does not keep them.
    pub packs: Vec<PackName>,
}

impl Walk {
    /// Through everything that is known now. What comes later is not gone through.
    #[must_use]
    pub fn new(ledger: &Ledger) -> Self {
        let mut groups = ledger.groups_of_all();
        groups.reverse();
        Self(groups)
    }

    /// The next step; nothing at the end. A person and their visits are never in two.
    pub fn step(&mut self, ledger: &Ledger) -> Option<Step> {
        let mut step = Step {
            streams: Vec::new(),
            packs: Vec::new(),
        };
        let mut bytes = 0_usize;
        while let Some(group) = self.0.pop() {
            for stream in &group {
                for pack in ledger.packs_left(*stream) {
                    step.packs.push(pack);
                    bytes = bytes.saturating_add(PACK);
                }
                for entry in ledger.journal().of(*stream) {
                    bytes = bytes.saturating_add(entry.body.get().len().saturating_add(LINE));
                }
            }
            step.streams.extend(group);
            // The practice stands alone: every later file of a copy may be read without it.
            if bytes >= STEP || step.streams.first() == Some(&Stream::Practice) {
                break;
            }
        }
        (!step.streams.is_empty()).then_some(step)
    }
}

impl Step {
    /// The facts of these streams: those that are read in, and those of the packs. With the practice's
    /// come the lines that are no entries, and with a flawed pack its text.
    #[must_use]
    pub fn facts(&self, ledger: &Ledger, packs: Vec<Read>) -> Journal {
        let here = ledger.journal();
        let mut facts = here.only(&self.streams);
        if self.streams.contains(&Stream::Practice) {
            here.unreadable()
                .for_each(|line| facts.keep_unreadable(line.into()));
        }
        for (_, read) in packs {
            match read {
                Ok(entries) => entries.into_iter().for_each(|entry| {
                    let _ = facts.insert(entry);
                }),
                Err(text) => facts.keep_unreadable(text),
            }
        }
        facts
    }
}

/// Everything of a ledger that has it all, step by step; it stops where something is not read in.
pub(super) fn through(ledger: &Ledger, each: &mut dyn FnMut(&Journal)) {
    let mut walk = Walk::new(ledger);
    while let Some(step) = walk.step(ledger).filter(|step| step.packs.is_empty()) {
        each(&step.facts(ledger, Vec::new()));
    }
}
