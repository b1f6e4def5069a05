//! Words of copies: going out, being checked, coming in; of facts that disagree; of erasing and of how
//! long records are kept.

use crate::journal::{Limit, LineFlaw, LineTrouble, Refused};
use alloc::format;
use alloc::string::{String, ToString};

/// Fixed words.
#[expect(missing_docs, reason = "each field is the sentence it holds")]
pub struct CopyWords {
    pub whole: &'static str,
    pub whole_note: &'static str,
    pub since: &'static str,
    pub since_note: &'static str,
    pub no_since: &'static str,
    pub procedures: &'static str,
    pub procedures_note: &'static str,
    pub person: &'static str,
    pub person_note: &'static str,
    pub in_: &'static str,
    pub look_first: &'static str,
    pub check: &'static str,
    pub check_note: &'static str,
    pub bring_in: &'static str,
    pub leave: &'static str,
    pub left: &'static str,
    pub would: &'static str,
    pub all_here: &'static str,
    pub lacks_nothing: &'static str,
    pub reopens: &'static str,
    pub reopens_why: &'static str,
    pub erases: &'static str,
    pub erases_why: &'static str,
    pub changes: &'static str,
    pub not_set: &'static str,
    pub new_people: &'static str,
    pub nobody_named: &'static str,
    pub continues: &'static str,
    pub continues_not: &'static str,
    pub flaws: &'static str,
    pub never: &'static str,
    pub differ: &'static str,
    pub differ_why: &'static str,
    pub differ_none: &'static str,
    pub stands: &'static str,
    pub choose: &'static str,
    pub cannot_be_read: &'static str,
    pub empty: &'static str,
    pub sealed: &'static str,
    pub not_text: &'static str,
    pub not_a_journal: &'static str,
    pub not_kept: &'static str,
    pub not_read: &'static str,
    pub erase: &'static str,
    pub erase_what: &'static str,
    pub erase_left: &'static str,
    pub erase_copies: &'static str,
    pub erase_hold: &'static str,
    pub erased: &'static str,
    pub needles_in: &'static str,
    pub erase_not_kept: &'static str,
    pub erase_cream: &'static str,
    pub keep_long: &'static str,
    pub keep_why: &'static str,
    pub keep_none: &'static str,
    pub keep_years: &'static str,
    pub keep_minor: &'static str,
    pub keep_from: &'static str,
    pub from_visit: &'static str,
    pub from_entry: &'static str,
    pub keep_bad: &'static str,
    pub keep_example: &'static str,
    pub past: &'static str,
    pub past_none: &'static str,
    pub past_unknown: &'static str,
    pub pass: &'static str,
    pub pass_lost: &'static str,
    pub prepare: &'static str,
    pub plain: &'static str,
    pub plain_note: &'static str,
    pub preparing: &'static str,
    pub ready: &'static str,
    pub ready_plain: &'static str,
    pub at_chair: &'static str,
    pub at_chair_why: &'static str,
    pub unsure: &'static str,
    pub lacks_nothing_of: &'static str,
    pub all_files: &'static str,
    pub not_all_files: &'static str,
    pub share: &'static str,
    pub save: &'static str,
    pub download: &'static str,
    pub not_this_one: &'static str,
    pub is_sealed: &'static str,
    pub is_sealed_why: &'static str,
    pub open: &'static str,
    pub opening: &'static str,
    pub no_worker: &'static str,
    pub unreadable: &'static str,
}

/// English.
pub const EN: CopyWords = CopyWords {
    whole: "All of it",
    whole_note: "the whole journal as a text file; a long one is several",
    since: "What came since the last copy",
    since_note: "keep it beside the earlier copies: without them it is not all",
    no_since: "What came since the last copy cannot be told apart here: there is none yet, or older entries were brought in since. Take out all of it.",
    procedures: "Our own procedures only",
    procedures_note: "nobody's record is in it",
    person: "This person's record",
    person_note: "one person, their visits, and what is needed to read them",
    in_: "What it would bring",
    look_first: "it is looked into first; nothing is changed until you say so",
    check: "What this copy is",
    check_note: "Counted and compared with what is here. Nothing was changed yet.",
    bring_in: "Bring it in",
    leave: "Leave it",
    left: "Left. Nothing was changed.",
    would: "Nothing of it is done before you press.",
    all_here: "Everything in this copy is here already. Nothing was changed.",
    lacks_nothing: "The copy holds everything that is here.",
    reopens: "Their count would be open again",
    reopens_why: "The copy holds something about needles that came after these counts were closed. They have to be counted and closed again.",
    erases: "They would be erased here",
    erases_why: "They were erased where this copy is from. If you bring it in, their names, answers and visits are gone here too.",
    changes: "Settings that would change",
    not_set: "not set",
    new_people: "People who are not here yet",
    nobody_named: "nobody named",
    continues: "It goes on from an earlier copy, and all that the earlier one held is here.",
    continues_not: "It goes on from an earlier copy that is not all here. Bring that one in as well.",
    flaws: "Lines that are left out (the file still has them)",
    never: "No copy was ever taken out. If this phone is lost, everything is lost.",
    differ: "Two phones disagree",
    differ_why: "Each of these was written where the other was not known. What stands now is marked. Choose; both are kept in the journal.",
    differ_none: "Nothing is waiting for a choice.",
    stands: "stands until you choose",
    choose: "This is right",
    cannot_be_read: "This cannot be read here.",
    empty: "There is nothing in this file. Nothing was changed.",
    sealed: "This copy is locked. Open it with its passphrase first. Nothing was changed.",
    not_text: "This file is no text, or was saved again by another program in another form (UTF-16). Use the file as it was taken out. Nothing was changed.",
    not_a_journal: "This file does not begin as a copy does. Nothing was changed.",
    not_kept: "This phone did not keep it. Nothing was changed; try again.",
    not_read: "This phone could not read all that it keeps. Nothing was changed; everything is where it was. Try again.",
    erase: "Erase this person",
    erase_what: "Their name, answers, plans, visits and notes are gone for good, here and on every phone that this one is merged with.",
    erase_left: "What is left, without their name:",
    erase_copies: "Copies that were taken out earlier still hold all of it. Find them and destroy them.",
    erase_hold: "Hold to erase",
    erased: "Erased. Copies that were taken out earlier still hold it.",
    needles_in: "Needles are still in: count them out and close the chair first. Nothing was erased.",
    erase_cream: "Numbing cream is not written down as wiped off. Wipe it off first.",
    erase_not_kept: "It is erased in the journal, but this phone did not yet take the old lines away. Close Pinfold and open it again before you hand the phone on.",
    keep_long: "How long records are kept",
    keep_why: "The law where you work says how long. These are examples and no advice. Nothing is erased by itself.",
    keep_none: "No period was chosen.",
    keep_years: "Years",
    keep_minor: "Under 18 at that time: not before this birthday (0 for none)",
    keep_from: "Counted from",
    from_visit: "the last visit",
    from_entry: "the last thing written down",
    keep_bad: "Write 1 to 100 years, and a birthday of 0 to 100.",
    keep_example: "Take this example",
    past: "Records past their period",
    past_none: "No record is past it.",
    past_unknown: "birth date not known: they may have been under 18",
    pass: "A passphrase for this copy",
    pass_lost: "Only this passphrase opens the copy, and it is kept nowhere. If it is lost, nobody can open the copy; the recovery code does not either.",
    prepare: "Seal the copy",
    plain: "Leave it unsealed",
    plain_note: "no passphrase: whoever has the file can read it",
    preparing: "Sealing the copy. Nothing has left this phone yet\u{2026}",
    ready: "The copy is ready and sealed. It has not left this phone yet.",
    ready_plain: "The copy is ready and NOT sealed: whoever has the file can read it. It has not left this phone yet.",
    at_chair: "They are in the chair here",
    at_chair_why: "The copy erases them, and needles or cream are still on them. Nothing is brought in now: count the needles out, take the cream off, close the chair, and look into this copy again.",
    unsure: "The phone did not answer in time: it may have kept this, or not. Close Pinfold, open it again and look into the copy once more; what is here already is not taken twice.",
    lacks_nothing_of: "It holds everything that is here of whoever is in it.",
    all_files: "With it, everything that these files hold is here.",
    not_all_files: "Not everything that these files hold is here yet: bring the others in as well.",
    share: "Share it",
    save: "Save it where I say",
    download: "Put it into the downloads",
    not_this_one: "Take no copy now",
    is_sealed: "This copy is sealed",
    is_sealed_why: "The passphrase that was set when it was taken out. Nothing is changed by looking.",
    open: "Open it",
    opening: "Opening the copy\u{2026}",
    no_worker: "This browser did not start the part that opens copies, or had not enough memory for it. Nothing was read in, and everything here is as it was. Reload the page when no needle is in, and try again.",
    unreadable: "The phone did not let this file be read. Nothing was read in, and everything here is as it was. Choose it again; if it lies on a shared drive, put it on this phone first.",
};

fn many(n: usize, one: &str, more: &str) -> String {
    format!("{n} {}", if n == 1 { one } else { more })
}

/// A text from elsewhere, to be shown: without what cannot be seen or turns the writing round.
#[must_use]
pub fn shown(text: &str) -> String {
    let hidden =
        |c: char| c.is_control() || matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    let chars = text.chars().take(200);
    chars
        .map(|c| if hidden(c) { '\u{fffd}' } else { c })
        .collect()
}

impl CopyWords {
    /// What facts of a kind are.
    #[must_use]
    pub fn kind(&self, kind: &str) -> &'static str {
        let (room, _) = kind.split_once('.').unwrap_or((kind, ""));
        match (room, kind) {
            (_, "person.named") => "names and how to reach them",
            (_, "person.answered") => "answers",
            (_, "person.overrode") => "findings gone past",
            (_, "person.consented") => "consents",
            (_, "person.looked" | "person.measured") => "what was seen, felt and measured",
            (_, "person.chose") => "plans",
            (_, "person.booked") => "bookings",
            (_, "person.wrote") => "visits written up",
            (_, "person.called") => "calls after a visit",
            (_, "session.closed") => "closed counts",
            (_, "practice.set") => "settings",
            (_, "key.erased") => "people erased",
            ("session", _) => "chairs opened, joined or stopped",
            ("pack", _) => "packets",
            ("needle", _) => "needles in and out",
            ("count" | "search", _) => "counts and searches",
            ("cream" | "clock", _) => "cream and clocks",
            ("incident", _) => "incidents",
            ("note" | "chair", _) => "notes and what was done beside",
            ("corrected" | "settled", _) => "corrections and choices",
            ("procedure", _) => "our own procedures",
            ("point", _) => "our own points",
            ("copy", _) => "notes on copies",
            ("residue", _) => "what is left of people who were erased",
            _ => "from a newer version",
        }
    }

    /// "of 12 facts, 10 are here already, 2 are not, 0 say something else".
    #[must_use]
    pub fn counted(&self, entries: usize, here: usize, new: usize, differ: usize) -> String {
        let facts = many(entries, "fact", "facts");
        format!(
            "{facts} in it: {here} here already, {new} not here, {differ} that say something else here."
        )
    }

    /// "The copy is older: it lacks 12 facts that are here, the last of 2026-03-09 14:05."
    #[must_use]
    pub fn lacking(&self, n: usize, last: &str) -> String {
        let facts = many(n, "fact that is here", "facts that are here");
        format!("The copy lacks {facts}, the last of {last}.")
    }

    /// Of a copy that is several files: which it is.
    #[must_use]
    pub fn piece(&self, number: u32, last: bool) -> String {
        if last {
            format!("The last of {number} files that are one copy.")
        } else {
            format!("File {number} of a copy of several files; more of them follow.")
        }
    }

    /// Which of several files is to leave next; nothing if there is but one.
    #[must_use]
    pub fn next_file(&self, number: usize, of: usize) -> String {
        if of < 2 {
            return String::new();
        }
        format!(
            "File {number} of {of}. Only all of them together are the copy: each leaves by a press of its own, and all have the same passphrase."
        )
    }

    /// One of several files has left.
    #[must_use]
    pub fn file_left(&self, number: usize, of: usize) -> String {
        format!("File {number} of {of} has left. Now the next one.")
    }

    /// How much is missing at the end of a file.
    #[must_use]
    pub fn cut_off(&self, n: usize) -> String {
        let lines = many(n, "line is", "lines are");
        format!(
            "The end of this file is missing: {lines} not there by its own count. Take the copy out again if you can."
        )
    }

    /// That needles stay in on purpose, of which nobody will know here.
    #[must_use]
    pub fn erase_stays(&self, n: u32) -> String {
        let n = usize::try_from(n).unwrap_or(usize::MAX);
        let stay = many(n, "needle stays", "needles stay");
        format!(
            "{stay} in on purpose. Once this is erased nobody can tell from here that they are in, or where: write it down elsewhere first."
        )
    }

    /// What a copy still holds of people who were erased here.
    #[must_use]
    pub fn still_holds(&self, n: usize) -> String {
        let facts = many(n, "fact", "facts");
        format!(
            "It still holds {facts} about somebody who was erased here. They do not come back; destroy the file."
        )
    }

    /// Facts that this build cannot read.
    #[must_use]
    pub fn newer(&self, n: u32) -> String {
        format!(
            "{n} from a newer version of Pinfold: kept and passed on untouched, read once this version is newer too."
        )
    }

    /// Facts that are not as their kind has them.
    #[must_use]
    pub fn malformed(&self, n: u32) -> String {
        format!(
            "{n} that cannot be read as what they say they are: kept as they stand, and named in the visit."
        )
    }

    /// Visits that are not here yet.
    #[must_use]
    pub fn visits(&self, n: u32) -> String {
        let n = usize::try_from(n).unwrap_or(usize::MAX);
        many(
            n,
            "visit that is not here yet",
            "visits that are not here yet",
        )
    }

    /// Settings of somebody else's practice.
    #[must_use]
    pub fn left_out(&self, n: u32) -> String {
        format!("{n} settings of the other practice are left out: yours stand.")
    }

    /// Matters on which both say something else.
    #[must_use]
    pub fn would_differ(&self, n: usize) -> String {
        let things = many(n, "thing", "things");
        format!(
            "{things} on which the two disagree. You choose afterwards; until then the later word stands."
        )
    }

    /// What was brought in.
    #[must_use]
    pub fn brought(&self, n: usize) -> String {
        let facts = many(n, "fact was", "facts were");
        format!("{facts} brought in. What was here stayed as it was.")
    }

    /// The age of the last copy.
    #[must_use]
    pub fn age(&self, days: i64, brought: u32) -> String {
        let days = match days {
            ..1 => "Last copy: today.".to_string(),
            1 => "Last copy: yesterday.".to_string(),
            n => format!("Last copy: {n} days ago."),
        };
        if brought == 0 {
            days
        } else {
            format!(
                "{days} {brought} facts were brought in from elsewhere since; they are not in it."
            )
        }
    }

    /// Why nothing was taken from a file.
    #[must_use]
    pub fn refused(&self, why: &Refused) -> String {
        match why {
            Refused::Empty => self.empty.into(),
            Refused::Sealed => self.sealed.into(),
            Refused::NotText => self.not_text.into(),
            Refused::NotAJournal => self.not_a_journal.into(),
            Refused::Newer(format) => format!(
                "A newer version of Pinfold wrote this file (format {format}). Take the new version first, then bring the file in. Nothing was changed."
            ),
            Refused::Another(what) => format!(
                "This is a file of {}, not a copy of a journal. Bring it in on its own page. Nothing was changed.",
                shown(what)
            ),
            Refused::TooMuch(limit, most, line) => {
                let what = match limit {
                    Limit::Bytes => format!("it is longer than {} MB", most >> 20),
                    Limit::Lines => format!("it has, or says that it has, more than {most} lines"),
                    Limit::Line => format!("a line is longer than {most} bytes"),
                    Limit::Depth => format!("a line is nested deeper than {most} levels"),
                };
                let at = if *line == 0 {
                    String::new()
                } else {
                    format!(" (line {line})")
                };
                format!("This file is more than a copy can be: {what}{at}. Nothing was changed.")
            }
        }
    }

    /// One line that is left out.
    #[must_use]
    pub fn flaw(&self, flaw: &LineFlaw) -> String {
        let why = match &flaw.why {
            LineTrouble::NotAnEntry(why) => format!("not an entry: {why}"),
            LineTrouble::TooLong => "longer than a line may be".into(),
            LineTrouble::NotText => "not text".into(),
            LineTrouble::NewerFormat(n) => format!("written by a newer version (format {n})"),
            LineTrouble::NoHeader => "the file does not begin as a copy does".into(),
            LineTrouble::Counter => "a counter beyond any practice".into(),
            LineTrouble::Time => "a time that no clock shows".into(),
        };
        format!("Line {}: {why}.", flaw.line)
    }

    /// A name with what else is known of somebody.
    #[must_use]
    pub fn joined(&self, name: &str, more: &[Option<String>]) -> String {
        let mut text = shown(name);
        for more in more.iter().flatten() {
            text.push_str(", ");
            text.push_str(&shown(more));
        }
        text
    }

    /// A close, as it was signed.
    #[must_use]
    pub fn closed_over(&self, opened: u32, not_found: u32, words: Option<&str>) -> String {
        let words = words.map_or_else(String::new, |w| format!(": {}", shown(w)));
        format!("closed over {opened} opened, {not_found} not found{words}")
    }

    /// A tray count.
    #[must_use]
    pub fn tray(&self, tens: u16, over: u16) -> String {
        format!("{tens} full tens and {over} over in the tray")
    }

    /// A setting's value.
    #[must_use]
    pub fn value(&self, value: &str, reason: &str) -> String {
        let value = if value.is_empty() {
            self.not_set
        } else {
            value
        };
        if reason.is_empty() {
            shown(value)
        } else {
            format!("{} ({})", shown(value), shown(reason))
        }
    }

    /// The setting of that name.
    #[must_use]
    pub fn setting(&self, name: &str) -> String {
        format!("Setting: {}", shown(name))
    }

    /// A region's total.
    #[must_use]
    pub fn total_of(&self, region: &str) -> String {
        format!("Taken out of {region}: one round, entered twice")
    }

    /// So many came out.
    #[must_use]
    pub fn out(&self, n: u32) -> String {
        format!("{n} out")
    }

    /// What is left of a person: "3 packets with their lots, 2 incidents, 1 needle not found".
    #[must_use]
    pub fn residue(&self, packets: usize, incidents: usize, not_found: usize) -> String {
        format!(
            "{}, {}, {}.",
            many(
                packets,
                "packet with its lot and day",
                "packets with their lots and days"
            ),
            many(
                incidents,
                "incident by its kind",
                "incidents by their kinds"
            ),
            many(not_found, "needle not found", "needles not found"),
        )
    }

    /// A record past its period.
    #[must_use]
    pub fn past_line(&self, last: &str, until: &str) -> String {
        format!("last {last}, to be kept to {until}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_went_wrong_with_a_copy_says_what_is_kept_and_what_next() {
        let kept = |words: &str| words.contains("kept") || words.contains("as it was");
        for words in [EN.no_worker, EN.unreadable] {
            assert!(words.matches(". ").count() >= 2, "three parts: {words}");
            assert!(kept(words), "{words}");
        }
        assert!(!kept(EN.ready), "control");
        // Before a passphrase is chosen: what its loss means.
        assert!(
            EN.pass_lost
                .contains("If it is lost, nobody can open the copy")
        );
        // The plain way says so before and after it is taken.
        assert!(EN.plain_note.contains("whoever has the file can read it"));
        assert!(
            EN.ready_plain
                .contains("NOT sealed: whoever has the file can read it")
        );
    }
}
