//! Words of the Ask page. The questions themselves stand in `data/questions.toml`.

/// The sentences of one language.
#[derive(Clone, Copy, Debug)]
pub struct Ask {
    /// Above a return visit's questions.
    pub title: &'static str,
    /// Under it, for the person who holds the phone.
    pub please: &'static str,
    /// An answer.
    pub yes: &'static str,
    /// An answer.
    pub no: &'static str,
    /// An answer that is none.
    pub not_known: &'static str,
    /// An answer that is none, for what could be measured.
    pub not_measured: &'static str,
    /// Answers a whole group. Never offered for red flags.
    pub no_to_all: &'static str,
    /// The only way out of the page.
    pub give_back: &'static str,
    /// Beside a question: opens why it is asked.
    pub why: &'static str,
    /// An answer given on an earlier day that still holds.
    pub still_true: &'static str,
}

/// English.
pub const ENGLISH: Ask = Ask {
    title: "Before we start today",
    please: "Please press one answer on each line.",
    yes: "yes",
    no: "no",
    not_known: "asked, not known",
    not_measured: "not measured today",
    no_to_all: "No to all of these",
    give_back: "Give the phone back",
    why: "Why is this asked?",
    still_true: "Answered before. Is it still so?",
};
