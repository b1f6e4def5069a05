//! Words of the rule book.

use alloc::format;
use alloc::string::String;

/// Fixed words.
#[expect(missing_docs, reason = "each field is the sentence it holds")]
pub struct RuleWords {
    pub rules: &'static str,
    pub what: &'static str,
    pub find: &'static str,
    pub rests_on: &'static str,
    pub passable: &'static str,
    pub sources: &'static str,
}

/// English.
pub const EN: RuleWords = RuleWords {
    rules: "Rules and sources",
    what: "What screening goes by, heaviest first. The word in brackets says how well a rule is supported: read in a source, from memory, common practice, derived from such figures, or policy, a figure that somebody had to choose.",
    find: "Find in the rules",
    rests_on: "Rests on these questions",
    passable: "may be gone past with a written reason",
    sources: "What the source names stand for",
};

impl RuleWords {
    /// "12 of 153 rules".
    #[must_use]
    pub fn shown(&self, shown: usize, all: usize) -> String {
        format!("{shown} of {all} rules")
    }
}
