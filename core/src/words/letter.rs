//! The letter to another clinician: facts, no diagnosis.

use crate::intake::Urgency;

/// Fixed words.
#[expect(missing_docs, reason = "each field is the sentence it holds")]
pub struct LetterWords {
    pub title: &'static str,
    pub share: &'static str,
    pub none: &'static str,
    pub to: &'static str,
    pub colleague: &'static str,
    pub asked: &'static str,
    pub not_begun: &'static str,
    pub born: &'static str,
    pub caution: &'static str,
}

/// English.
pub const EN: LetterWords = LetterWords {
    title: "Letter to a clinician",
    share: "Share as text",
    none: "Nothing in today's answers sends this person to another clinician.",
    to: "To:",
    colleague: "whoever looks after this person",
    asked: "Before a cosmetic treatment with acupuncture needles this was asked or measured:",
    not_begun: "No needling was begun.",
    born: "born",
    caution: "These are answers and measurements, not a diagnosis.",
};

impl LetterWords {
    /// How soon.
    #[must_use]
    pub const fn urgency(&self, urgency: Urgency) -> &'static str {
        match urgency {
            Urgency::Routine => "when convenient",
            Urgency::Soon => "soon",
            Urgency::TwoWeeks => "within two weeks",
            Urgency::Urgent => "urgently",
            Urgency::SameDay => "the same day",
        }
    }
}
