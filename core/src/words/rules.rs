//! Words of the rule book.

use crate::intake::{Fault, Slip};
use alloc::format;
use alloc::string::String;
use alloc::vec::Vec;

/// Fixed words.
#[expect(missing_docs, reason = "each field is the sentence it holds")]
pub struct RuleWords {
    pub rules: &'static str,
    pub what: &'static str,
    pub find: &'static str,
    pub rests_on: &'static str,
    pub passable: &'static str,
    pub sources: &'static str,
    pub own: &'static str,
    pub own_what: &'static str,
    pub own_rules: &'static str,
    pub new_rule: &'static str,
    pub when: &'static str,
    pub is: &'static str,
    pub then: &'static str,
    pub to: &'static str,
    pub to_hint: &'static str,
    pub words: &'static str,
    pub source: &'static str,
    pub take_away: &'static str,
    pub share: &'static str,
    pub bring: &'static str,
    pub figures: &'static str,
    pub own_figure: &'static str,
    pub ours: &'static str,
    pub reason: &'static str,
    pub reason_hint: &'static str,
    pub back_to_ours: &'static str,
    pub not_rules: &'static str,
    pub not_gone_by: &'static str,
}

/// English.
pub const EN: RuleWords = RuleWords {
    rules: "Rules and sources",
    what: "What screening goes by, heaviest first. The word in brackets says how well a rule is supported: read in a source, from memory, common practice, derived from such figures, or policy, a figure that somebody had to choose.",
    find: "Find in the rules",
    rests_on: "Rests on these questions",
    passable: "may be gone past with a written reason",
    sources: "What the source names stand for",
    own: "Our own figures and rules",
    own_what: "Figures may be made stricter freely, and looser only with a written reason; records keep the figure in force. A rule of your own adds to the built-in ones and never switches one off.",
    own_rules: "Rules of our own",
    new_rule: "Write a new rule",
    when: "When this question",
    is: "is answered",
    then: "then",
    to: "Points or regions",
    to_hint: "only where something is left out: LI4, cheek.left",
    words: "What it changes, and why",
    source: "What it rests on",
    take_away: "Take it away",
    share: "Share the rules",
    bring: "Bring rules in",
    figures: "Figures",
    own_figure: "Our figure",
    ours: "Pinfold's own:",
    reason: "Why",
    reason_hint: "a few words; needed for a looser figure",
    back_to_ours: "Back to Pinfold's figure",
    not_gone_by: "Of our own figures and rules these cannot be used and are not gone by; see Settings:",
    not_rules: "This file does not hold rules. Nothing was changed.",
};

impl RuleWords {
    /// What is wrong with a figure or a rule, and where.
    #[must_use]
    pub fn slip(&self, fault: &Fault) -> String {
        let what = match &fault.slip {
            Slip::OutOfRange(min, max) => format!("outside {min} to {max}"),
            Slip::NoReason => {
                String::from("looser than Pinfold's figure: write why, in a few words")
            }
            Slip::NoSuchOption(id) => format!("{id} is not known"),
            Slip::Unheard => String::from("not known"),
            _ => String::from("does not fit"),
        };
        format!(
            "{}: {what}. Nothing was changed; what you typed is still here.",
            fault.field
        )
    }

    /// Figures and rules of the practice's own that are not gone by; nothing if there are none.
    #[must_use]
    pub fn unusable(&self, faults: &[Fault]) -> String {
        if faults.is_empty() {
            return String::new();
        }
        let fields: Vec<&str> = faults.iter().map(|f| f.field.as_str()).collect();
        format!("{} {}", self.not_gone_by, fields.join(", "))
    }

    /// How many rules a file brought.
    #[must_use]
    pub fn brought(&self, new: usize) -> String {
        format!("Rules brought in: {new}. What was here stayed as it was.")
    }

    /// "12 of 153 rules".
    #[must_use]
    pub fn shown(&self, shown: usize, all: usize) -> String {
        format!("{shown} of {all} rules")
    }
}
