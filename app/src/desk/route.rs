//! Where the person is: the part of the address after `#`. It needs no server rule, and *back*
//! works.

use pinfold_core::atlas::Region;
use pinfold_core::base::id::EntryId;

/// A page.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Route {
    /// Who is next and what is unfinished.
    Today,
    /// Everybody, and writing down somebody new.
    People,
    /// What must be known of one person.
    Person(EntryId),
    /// Is there a reason to change or stop today?
    Ask(EntryId),
    /// The same questions, with the phone in the patient's hand.
    Hand(EntryId),
    /// What is seen and felt today.
    Look(EntryId),
    /// What goes where, with what, for how long.
    Plan(EntryId),
    /// Opening a chair with no plan.
    CountOnly,
    /// A session's chair.
    Chair(EntryId),
    /// Taking out one region.
    Region(EntryId, Region),
    /// What is rare at the chair: of a session.
    Beside(EntryId),
    /// The count and the close.
    Count(EntryId),
    /// What happened that the plan did not say: of a session.
    Write(EntryId),
    /// What they leave with, and when again: of a person.
    Next(EntryId),
    /// How the practice is set up.
    Settings,
    /// Setting a passphrase and getting a recovery code.
    Seal,
    /// Another passphrase in the place of the present one.
    Passphrase,
    /// Copies out and in.
    Copies,
    /// Where two phones disagree.
    Differ,
    /// How long records are kept, and which are past it.
    Keeping,
    /// Erasing a person, and taking their record out.
    Erase(EntryId),
    /// Files for other programs: of everybody, or of one person.
    Exports(Option<EntryId>),
    /// What this is, who made what, and the notices.
    About,
    /// Every rule, to be read.
    Rules,
    /// Figures and rules of the practice's own.
    OwnRules,
    /// Every point, to be found.
    Atlas,
    /// Points of the practice's own.
    OwnPoints,
    /// Every procedure.
    Procedures,
    /// A procedure of the practice's own being composed: from which, nothing for a new one; and whether
    /// that is copied, not changed.
    Compose(String, bool),
    /// One point, by its code.
    Point(String),
    /// The measuring tape: one person's lengths.
    Tape(EntryId),
    /// After a visit, with no chair open: of a person.
    After(EntryId),
    /// The question sheet to fill in by hand.
    PrintSheet,
    /// The tray list with a tally, for a person's plan today.
    PrintTray(EntryId),
    /// The record of a session.
    PrintRecord(EntryId),
    /// What a person takes home.
    PrintAftercare(EntryId),
    /// The letter to another clinician, from a person's answers of today.
    PrintLetter(EntryId),
}

impl Route {
    /// Reads an address; anything else is Today.
    #[must_use]
    pub fn read(text: &str) -> Self {
        let mut parts = text.trim_start_matches('/').split('/');
        let first = parts.next().unwrap_or_default();
        let second = parts.next().unwrap_or_default();
        let id = second.parse::<EntryId>().ok();
        let with = |make: fn(EntryId) -> Self| id.map_or(Self::Today, make);
        match first {
            "people" => Self::People,
            "person" => with(Self::Person),
            "ask" => with(Self::Ask),
            "hand" => with(Self::Hand),
            "look" => with(Self::Look),
            "plan" => with(Self::Plan),
            "count-only" => Self::CountOnly,
            "chair" => with(Self::Chair),
            "beside" => with(Self::Beside),
            "count" => with(Self::Count),
            "out" => match (id, parts.next().and_then(|r| r.parse().ok())) {
                (Some(session), Some(region)) => Self::Region(session, region),
                _ => Self::Today,
            },
            "write" => with(Self::Write),
            "next" => with(Self::Next),
            "settings" => Self::Settings,
            "seal" => Self::Seal,
            "passphrase" => Self::Passphrase,
            "copies" => Self::Copies,
            "differ" => Self::Differ,
            "keeping" => Self::Keeping,
            "erase" => with(Self::Erase),
            "exports" => Self::Exports(id),
            "about" => Self::About,
            "rules" => Self::Rules,
            "own-rules" => Self::OwnRules,
            "atlas" => Self::Atlas,
            "own-points" => Self::OwnPoints,
            "procedures" => Self::Procedures,
            "compose" => Self::Compose(second.to_string(), false),
            "copy-of" => Self::Compose(second.to_string(), true),
            "point" => Self::Point(second.to_string()),
            "tape" => with(Self::Tape),
            "after" => with(Self::After),
            "print-sheet" => Self::PrintSheet,
            "print-letter" => with(Self::PrintLetter),
            "print-tray" => with(Self::PrintTray),
            "print-record" => with(Self::PrintRecord),
            "print-aftercare" => with(Self::PrintAftercare),
            _ => Self::Today,
        }
    }

    /// The address, without the `#`.
    #[must_use]
    pub fn text(&self) -> String {
        match self {
            Self::Today => "/".into(),
            Self::People => "/people".into(),
            Self::Person(id) => format!("/person/{id}"),
            Self::Ask(id) => format!("/ask/{id}"),
            Self::Hand(id) => format!("/hand/{id}"),
            Self::Look(id) => format!("/look/{id}"),
            Self::Plan(id) => format!("/plan/{id}"),
            Self::CountOnly => "/count-only".into(),
            Self::Chair(id) => format!("/chair/{id}"),
            Self::Region(id, region) => format!("/out/{id}/{region}"),
            Self::Beside(id) => format!("/beside/{id}"),
            Self::Count(id) => format!("/count/{id}"),
            Self::Write(id) => format!("/write/{id}"),
            Self::Next(id) => format!("/next/{id}"),
            Self::Settings => "/settings".into(),
            Self::Seal => "/seal".into(),
            Self::Passphrase => "/passphrase".into(),
            Self::Copies => "/copies".into(),
            Self::Differ => "/differ".into(),
            Self::Keeping => "/keeping".into(),
            Self::Erase(id) => format!("/erase/{id}"),
            Self::Exports(None) => "/exports".into(),
            Self::Exports(Some(id)) => format!("/exports/{id}"),
            Self::About => "/about".into(),
            Self::Rules => "/rules".into(),
            Self::OwnRules => "/own-rules".into(),
            Self::Atlas => "/atlas".into(),
            Self::OwnPoints => "/own-points".into(),
            Self::Procedures => "/procedures".into(),
            Self::Compose(id, false) => format!("/compose/{id}"),
            Self::Compose(id, true) => format!("/copy-of/{id}"),
            Self::Point(code) => format!("/point/{code}"),
            Self::Tape(id) => format!("/tape/{id}"),
            Self::After(id) => format!("/after/{id}"),
            Self::PrintSheet => "/print-sheet".into(),
            Self::PrintLetter(id) => format!("/print-letter/{id}"),
            Self::PrintTray(id) => format!("/print-tray/{id}"),
            Self::PrintRecord(id) => format!("/print-record/{id}"),
            Self::PrintAftercare(id) => format!("/print-aftercare/{id}"),
        }
    }

    /// The address for a link.
    #[must_use]
    pub fn href(&self) -> String {
        format!("#{}", self.text())
    }

    /// Chair-side pages are dark.
    #[must_use]
    pub fn chairside(&self) -> bool {
        matches!(
            self,
            Self::Chair(_) | Self::Region(..) | Self::Beside(_) | Self::Count(_) | Self::CountOnly
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_page_reads_back_and_nonsense_is_today() {
        let id: EntryId = "12-00000000000000000000000000000abc".parse().unwrap();
        let region = "cheek.left".parse().unwrap();
        for route in [
            Route::Today,
            Route::People,
            Route::Person(id),
            Route::Ask(id),
            Route::Hand(id),
            Route::Look(id),
            Route::Plan(id),
            Route::CountOnly,
            Route::Chair(id),
            Route::Region(id, region),
            Route::Beside(id),
            Route::Count(id),
            Route::Write(id),
            Route::Next(id),
            Route::Settings,
            Route::Seal,
            Route::Passphrase,
            Route::Copies,
            Route::Differ,
            Route::Keeping,
            Route::Erase(id),
            Route::Exports(None),
            Route::Exports(Some(id)),
            Route::About,
            Route::Rules,
            Route::OwnRules,
            Route::Atlas,
            Route::OwnPoints,
            Route::Procedures,
            Route::Compose(String::new(), false),
            Route::Compose("OWN-1".into(), false),
            Route::Compose("first_short".into(), true),
            Route::Point("EX-HN3".into()),
            Route::Tape(id),
            Route::After(id),
            Route::PrintSheet,
            Route::PrintLetter(id),
            Route::PrintTray(id),
            Route::PrintRecord(id),
            Route::PrintAftercare(id),
        ] {
            assert_eq!(Route::read(&route.text()), route);
        }
        for text in ["", "/chair/x", "/out/12", "//", "/chair/<img>", "nowhere"] {
            assert_eq!(Route::read(text), Route::Today, "{text}");
        }
    }
}
