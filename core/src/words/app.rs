//! Words of the app around the visit: opening, windows, saving, versions, Today, About.

use alloc::format;
use alloc::string::String;

/// Fixed words.
#[expect(missing_docs, reason = "each field is the sentence it holds")]
pub struct AppWords {
    pub name: &'static str,
    pub opening: &'static str,
    /// While summaries of older visits are worked out again.
    pub still_reading: &'static str,
    pub elsewhere: &'static str,
    pub elsewhere_kept: &'static str,
    pub elsewhere_next: &'static str,
    pub take_over: &'static str,
    pub taken_over: &'static str,
    pub taken_over_kept: &'static str,
    pub record_out: &'static str,
    pub today: &'static str,
    pub all_saved: &'static str,
    pub works_offline: &'static str,
    pub nobody_today: &'static str,
    pub open_chairs: &'static str,
    pub closed_today: &'static str,
    pub not_saved: &'static str,
    pub not_saved_kept: &'static str,
    pub not_saved_full: &'static str,
    pub not_saved_other: &'static str,
    pub gone: &'static str,
    pub gone_kept: &'static str,
    pub gone_next: &'static str,
    pub put_back: &'static str,
    pub put_back_kept: &'static str,
    pub put_back_next: &'static str,
    pub save_again: &'static str,
    pub no_knowledge: &'static str,
    pub no_knowledge_kept: &'static str,
    pub no_knowledge_next: &'static str,
    pub no_shelf: &'static str,
    pub no_shelf_kept: &'static str,
    pub no_shelf_next: &'static str,
    pub load_again: &'static str,
    pub update: &'static str,
    pub update_take: &'static str,
    pub update_waits: &'static str,
    pub main_menu: &'static str,
    pub about: &'static str,
    pub about_what: &'static str,
    pub cautions: &'static [&'static str],
    pub notices: &'static str,
    pub not_there: &'static str,
    pub not_there_next: &'static str,
    pub screen_on: &'static str,
    pub screen_off: &'static str,
    pub seen: &'static str,
    pub settings: &'static str,
    pub resume: &'static str,
    pub due_today: &'static str,
    pub nobody_due: &'static str,
    pub unfinished: &'static str,
    pub no_time: &'static str,
    pub first_visit: &'static str,
    pub todo_ask: &'static str,
    pub todo_look: &'static str,
    pub todo_plan: &'static str,
    pub todo_chair: &'static str,
    pub todo_write: &'static str,
    pub todo_next: &'static str,
    pub todo_nothing: &'static str,
    pub no_name: &'static str,
    pub first_session: &'static str,
    pub first_session_why: &'static str,
    pub clock_due: &'static str,
}

/// English.
pub const EN: AppWords = AppWords {
    name: "Pinfold",
    opening: "Opening\u{2026}",
    still_reading: "Older visits are still being read in. Until then some may be missing from the lists.",
    elsewhere: "Open in another window",
    elsewhere_kept: "Everything is kept there. Only one window can write, so that no count is split in two.",
    elsewhere_next: "Go to that window, or take over here.",
    take_over: "Take over here",
    taken_over: "Another window took over",
    taken_over_kept: "Everything entered here is kept and can be seen there.",
    record_out: "Take this record out, or erase it",
    today: "Today",
    all_saved: "all saved on this phone",
    works_offline: "works without internet",
    nobody_today: "Nobody in the chair.",
    open_chairs: "In the chair",
    closed_today: "Closed",
    not_saved: "Not saved",
    not_saved_kept: "The last press is counted and still on this screen. It is tried again by itself.",
    not_saved_full: "The phone is full: free some space, then press Save again.",
    not_saved_other: "Keep this window open, then press Save again.",
    gone: "This browser has lost what was kept here",
    gone_kept: "Nothing of it is left on this phone. A copy that was taken out earlier still has it.",
    gone_next: "Bring the last copy in before you go on. If there is none, write down on paper what you know.",
    put_back: "This browser had lost its store; the second copy on this phone was put in its place",
    put_back_kept: "What was saved up to the last moments is here again.",
    put_back_next: "Look whether the last visit is whole, and take a copy out today.",
    save_again: "Save again",
    no_knowledge: "Questions and points did not load",
    no_knowledge_kept: "Nothing that was written down is touched. Nothing can be asked or planned here now; a chair can be opened, counted and closed from Today.",
    no_knowledge_next: "Load them again. If this comes back, go online and reload the page.",
    no_shelf: "This page did not load",
    no_shelf_kept: "Nothing that was written down is touched. Visits, chairs and counts go on without it.",
    no_shelf_next: "Reload when no needle is in. If this comes back, go online and reload the page.",
    load_again: "Load again",
    update: "New version ready",
    update_take: "Take it now",
    update_waits: "It waits until nothing is open.",
    main_menu: "Main",
    about: "About",
    about_what: "Pinfold counts needles back, keeps time, and writes down what happened. Everything stays on this phone, except the files you take out yourself.",
    cautions: &[
        "Pinfold informs a licensed practitioner. It does not judge whether a treatment is right for a person.",
        "Local law, your licence and your training decide what you may do. Local codes come before anything here.",
        "In an emergency call the local emergency number first, and write later.",
        "A phone can fail. Keep paper and a second timer at hand; no browser can promise an alarm from a locked screen.",
    ],
    notices: "Other people's work in this app",
    not_there: "That is not here",
    not_there_next: "Go back to Today.",
    screen_on: "screen stays on",
    screen_off: "the phone may dim the screen",
    seen: "Seen",
    settings: "Settings",
    resume: "resume",
    due_today: "Today",
    nobody_due: "Nobody is booked today.",
    unfinished: "Not written up yet",
    no_time: "no time",
    first_visit: "first visit",
    todo_ask: "not asked today",
    todo_look: "not looked at today",
    todo_plan: "to plan",
    todo_chair: "in the chair now",
    todo_write: "counted, not written up",
    todo_next: "next visit not booked",
    todo_nothing: "done",
    no_name: "No name yet",
    first_session: "Before the first session",
    first_session_why: "Which number is called in an emergency where you work? It stands on every emergency card.",
    clock_due: "a clock is due",
};

impl AppWords {
    /// "saved 14:32" beside the name of the phone's state.
    #[must_use]
    pub fn needles_in(&self, n: u32) -> String {
        format!("{n} {} in now", if n == 1 { "needle" } else { "needles" })
    }

    /// "Wren is in the chair".
    #[must_use]
    pub fn in_the_chair(&self, name: &str) -> String {
        format!("{name} is in the chair")
    }

    /// "31 in".
    #[must_use]
    pub fn inside(&self, n: u32) -> String {
        format!("{n} in")
    }

    /// "needles in now, next out in 3 min".
    #[must_use]
    pub fn next_out(&self, seconds: i64) -> String {
        if seconds <= 0 {
            return self.clock_due.into();
        }
        let minutes = seconds.saturating_add(59).div_euclid(60);
        format!("next clock in {minutes} min")
    }
}
