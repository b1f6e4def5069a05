//! Checking a copy: it is opened, counted and compared, and nothing is changed.

use super::scope::within;
use crate::base::id::EntryId;
use crate::base::stamp::Wall;
use crate::journal::{Carried, Entry, Journal, Scope};
use crate::ledger::Ledger;

/// What a copy is beside what is here.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Checked {
    /// What it says that it holds.
    pub scope: Scope,
    /// When it was taken out, if it says so.
    pub at: Option<Wall>,
    /// Facts in it.
    pub entries: usize,
    /// Of these, those that are here too.
    pub here: usize,
    /// Of these, those that are not here.
    pub new: usize,
    /// Of these, those that stand here under the same name with another text.
    pub differ: usize,
    /// Of those that are here: how many it still holds readably although they were erased here.
    pub erased: usize,
    /// Facts that are here and that it should hold and lacks.
    pub lacking: usize,
    /// When the last of these was entered.
    pub last_lacking: Option<Wall>,
    /// Lines missing at its end, by its own count.
    pub missing: usize,
    /// Lines that cannot be read.
    pub flaws: usize,
    /// For what came after an earlier copy: whether all that the earlier one covered is here.
    pub continues: Option<bool>,
}

/// Whether a text of one journal is in another, once what either of them erased is erased.
pub(super) fn known(text: &Entry, from: &Journal, other: &Journal) -> bool {
    let bare = other.admitted(text);
    let mut texts = other.texts_of(text.id);
    texts.any(|known| from.admitted(known) == bare)
}

/// Compares a copy with what is here, which has to be read in: [`super::summary`] sees to that.
pub(super) fn check(ledger: &Ledger, carried: &Carried) -> Checked {
    let (here, there) = (ledger.journal(), &carried.journal);
    let header = &carried.header;
    let mut checked = Checked {
        scope: header.scope(),
        at: header.at,
        entries: 0,
        here: 0,
        new: 0,
        differ: 0,
        erased: 0,
        lacking: 0,
        last_lacking: None,
        missing: carried.missing(),
        flaws: carried.flaws.len(),
        continues: header
            .since
            .map(|base| here.sum_before(base.before) == (base.entries, base.sum)),
    };
    for text in there.texts() {
        checked.entries = checked.entries.saturating_add(1);
        let n = if known(text, there, here) {
            if here.admitted(text) != *text {
                checked.erased = checked.erased.saturating_add(1);
            }
            &mut checked.here
        } else if here.get(text.id).is_some() {
            &mut checked.differ
        } else {
            &mut checked.new
        };
        *n = n.saturating_add(1);
    }
    let first = header.since.map_or(EntryId::LEAST, |base| base.before);
    for text in within(ledger, header.scope(), header.person).texts() {
        if text.id >= first && !known(text, here, there) {
            checked.lacking = checked.lacking.saturating_add(1);
            checked.last_lacking = checked.last_lacking.max(Some(text.at.wall));
        }
    }
    checked
}
