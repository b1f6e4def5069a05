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
    /// When an answer must be seen to at once.
    pub give_back_now: &'static str,
    /// Puts the questions into the patient's hand.
    pub hand_over: &'static str,
    /// Beside it.
    pub hand_over_note: &'static str,
    /// Opens the letter to another clinician.
    pub letter: &'static str,
    /// Beside a question: opens why it is asked.
    pub why: &'static str,
    /// An answer given on an earlier day that still holds.
    pub still_true: &'static str,
    /// Under a number, date or list: writes the answer down.
    pub keep: &'static str,
    /// For a list of which nothing is true.
    pub none_of_these: &'static str,
    /// What is wrong with a number.
    pub bad_number: &'static str,
    /// What is wrong with a date.
    pub bad_date: &'static str,
    /// Any other answer that does not fit.
    pub bad_answer: &'static str,
    /// Over the findings.
    pub findings: &'static str,
    /// When the rules found nothing.
    pub nothing_found: &'static str,
    /// Over the questions that can still change something.
    pub still_to_ask: &'static str,
    /// Over the lines of a return visit.
    pub since_last_time: &'static str,
    /// Over everything that can be asked.
    pub all_questions: &'static str,
    /// A visit that must not go on.
    pub stop_next: &'static str,
    /// An emergency, before the number.
    pub emergency_next: &'static str,
    /// The field for a reason to go past a finding.
    pub reason: &'static str,
    /// Under it.
    pub reason_hint: &'static str,
    /// Writes the reason down.
    pub go_past: &'static str,
    /// A finding that was gone past.
    pub gone_past: &'static str,
    /// A finding that nobody may go past.
    pub no_way_past: &'static str,
    /// Beside a figure that Pinfold chose.
    pub own_choice: &'static str,
    /// Goes on to the next step.
    pub on: &'static str,
    /// Under the findings, always.
    pub caution: &'static str,
}

impl Ask {
    /// The word over a finding.
    #[must_use]
    pub const fn outcome(&self, outcome: crate::intake::Outcome) -> &'static str {
        use crate::intake::Outcome as O;
        match outcome {
            O::Record => "Write down",
            O::Limit => "Go easy",
            O::NoElectro => "No current",
            O::NoTopical => "No numbing cream",
            O::Omit => "Leave out",
            O::Refer => "Advise a clinician",
            O::Ask => "Ask first",
            O::Stop => "Stop: no needling today",
            O::Emergency => "Emergency",
        }
    }

    /// Over what open questions could still come to.
    #[must_use]
    pub fn undecided(&self, n: usize) -> alloc::string::String {
        alloc::format!("{n} more depend on answers that are still missing")
    }

    /// Over the answers that are said back.
    #[must_use]
    pub fn read_back(&self, n: usize) -> alloc::string::String {
        alloc::format!("Read back: {n} to say and hear confirmed")
    }

    /// How many answers were a plain no.
    #[must_use]
    pub fn noes(&self, n: usize) -> alloc::string::String {
        alloc::format!("Answered no: {n}")
    }

    /// Where a finding comes from, and how well that was seen.
    #[must_use]
    pub fn source(
        &self,
        sources: &str,
        mark: crate::base::cite::Mark,
        policy: bool,
    ) -> alloc::string::String {
        let own = if policy { self.own_choice } else { "" };
        alloc::format!("{sources} [{}]{own}", mark.word())
    }
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
    give_back_now: "Please give the phone back now.",
    hand_over: "Hand the phone over",
    hand_over_note: "the questions alone, large; nothing else can be opened until it is given back",
    letter: "Letter to a clinician",
    why: "Why is this asked?",
    still_true: "Answered before. Is it still so?",
    keep: "Keep",
    none_of_these: "None of these",
    bad_number: "This number is outside its range. What you typed is still here.",
    bad_date: "This is not a date, or it is still to come. Write year-month-day, as 2026-03-09.",
    bad_answer: "This answer does not fit the question. Nothing was changed.",
    findings: "What follows",
    nothing_found: "The rules found nothing in these answers. That is all this says.",
    still_to_ask: "Still to ask",
    since_last_time: "Since last time",
    all_questions: "All questions",
    stop_next: "Do not needle today. Say why, write it down, and advise whom to see.",
    emergency_next: "Call the local emergency number now, and note the time it began:",
    reason: "Why you go past this",
    reason_hint: "A few words. They stand in the record.",
    go_past: "Go past it",
    gone_past: "gone past today, with a written reason",
    no_way_past: "cannot be gone past",
    own_choice: ", figure or code chosen for Pinfold",
    on: "Go on",
    caution: "This informs a licensed practitioner. Local codes and your training decide. In an emergency call the local number first.",
};
