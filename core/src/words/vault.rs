//! Words of the seal: unlocking, the recovery code, and files that were taken out sealed. What went
//! wrong says what happened, what is kept, and what to do next.

use crate::seal::{BadCode, CopyTrouble, Unsealed, WhyLocked, WrongRows};
use alloc::format;
use alloc::string::String;

/// Fixed words.
#[expect(missing_docs, reason = "each field is the sentence it holds")]
pub struct VaultWords {
    pub wrong_passphrase: &'static str,
    pub plain_row: &'static str,
    pub damaged: &'static str,
    pub out_read: &'static str,
    pub choice: &'static str,
    pub choice_why: &'static str,
    pub choice_set: &'static str,
    pub choice_without: &'static str,
    pub choice_without_note: &'static str,
    pub open_mark: &'static str,
    pub sealed_mark: &'static str,
    pub passphrase: &'static str,
    pub passphrase_hint: &'static str,
    pub again: &'static str,
    pub too_short: &'static str,
    pub differ: &'static str,
    pub go_on: &'static str,
    pub code_title: &'static str,
    pub code_why: &'static str,
    pub print_code: &'static str,
    pub code_written: &'static str,
    pub code_check_title: &'static str,
    pub code_check_why: &'static str,
    pub second_group: &'static str,
    pub last_group: &'static str,
    pub wrong_groups: &'static str,
    pub show_again: &'static str,
    pub seal_now: &'static str,
    pub working: &'static str,
    pub sealed_now: &'static str,
    pub change: &'static str,
    pub old_passphrase: &'static str,
    pub new_passphrase: &'static str,
    pub by_code: &'static str,
    pub changed_now: &'static str,
    pub locked: &'static str,
    pub locked_why: &'static str,
    pub unlock: &'static str,
    pub use_code: &'static str,
    pub new_code: &'static str,
    pub new_code_why: &'static str,
    pub new_code_now: &'static str,
    pub code_renewed: &'static str,
    pub use_passphrase: &'static str,
    pub code: &'static str,
    pub code_hint: &'static str,
    pub in_now: &'static str,
    pub clocks: &'static str,
    pub count_out: &'static str,
    pub count_first: &'static str,
    pub counted: &'static str,
    pub cards: &'static str,
    pub lock_now: &'static str,
    pub lock_after: &'static str,
    pub lock_after_hint: &'static str,
    pub ten_minutes: &'static str,
    pub two_minutes: &'static str,
    pub five_minutes: &'static str,
    pub half_hour: &'static str,
    pub hour: &'static str,
    pub flaws: &'static str,
    pub no_people: &'static str,
    pub no_worker: &'static str,
    pub no_memory: &'static str,
    pub no_chance: &'static str,
    pub empty_passphrase: &'static str,
    pub newer_passphrase: &'static str,
    pub not_kept: &'static str,
    pub sealed_already: &'static str,
    pub not_said: &'static str,
    pub wait_first: &'static str,
    pub not_at_work: &'static str,
    pub not_unsaved: &'static str,
    pub not_opened: &'static str,
    pub nothing_to_lock: &'static str,
    pub person_key_damaged: &'static str,
    pub no_recovery_code: &'static str,
    pub practice_key_damaged: &'static str,
    pub no_practice: &'static str,
    pub row_twice: &'static str,
    pub newer_row: &'static str,
    pub no_key: &'static str,
    pub broken_row: &'static str,
    pub strange_row: &'static str,
    pub code_check: &'static str,
    pub not_sealed: &'static str,
    pub too_large: &'static str,
    pub armour_cut: &'static str,
    pub armour: &'static str,
    pub armour_extra: &'static str,
    pub version: &'static str,
    pub header: &'static str,
    pub no_passphrase: &'static str,
    pub work: &'static str,
    pub memory: &'static str,
    pub copy_wrong_passphrase: &'static str,
    pub header_changed: &'static str,
    pub cut: &'static str,
    pub changed: &'static str,
    pub extra: &'static str,
}

/// English.
pub const EN: VaultWords = VaultWords {
    plain_row: "A row that is not sealed lies among the sealed ones. It was not read, because anybody could have put it there; it is kept as it stands. If you do not know where it is from, read in the newest sealed copy.",
    damaged: "An entry, or a part of a visit or of a person, is damaged or missing. What there is of it is kept as it stands, and the rest is read without it. Bring in the newest copy, which may hold it whole.",
    out_read: "I have written it down",
    choice: "Before the first person is written down",
    choice_why: "What you write can be sealed behind a passphrase. Whoever finds or takes this phone then cannot read it here. If passphrase and recovery code are both lost, nobody can open it, also not the makers of Pinfold.",
    choice_set: "Set a passphrase",
    choice_without: "Run without a passphrase",
    choice_without_note: "whoever opens this phone can read everything; it can be sealed later",
    open_mark: "No passphrase: whoever opens this phone can read everything.",
    sealed_mark: "Sealed behind a passphrase.",
    passphrase: "Passphrase",
    passphrase_hint: "At least 10 characters. Four or five words that have nothing to do with one another are good; none that you use elsewhere.",
    again: "The same again",
    too_short: "This is too short: it would be found by trying. What you typed is still here. Make it 10 characters or more.",
    differ: "These two are not the same. Nothing was set. Type both once more.",
    go_on: "Go on",
    code_title: "Write the recovery code on paper",
    code_why: "It opens everything if the passphrase is forgotten. It is shown this once. Keep the paper away from this phone: who has both needs nothing else.",
    print_code: "Print it",
    code_written: "It is on paper",
    code_check_title: "From the paper",
    code_check_why: "Type the second and the last group of four, so that it is certain that they can be read.",
    second_group: "Second group",
    last_group: "Last group",
    wrong_groups: "That is not what was shown. Nothing was set. Look at the paper, or show the code once more.",
    show_again: "Show the code once more",
    seal_now: "Seal this practice",
    working: "Making the key. This takes a moment\u{2026}",
    sealed_now: "Sealed. From now on everything is sealed before it is stored. What was written before may lie in the browser's own files for some time yet.",
    change: "Change the passphrase",
    old_passphrase: "The present passphrase",
    new_passphrase: "The new passphrase",
    by_code: "Opened by the recovery code. Set a new passphrase now; the code stays as it is.",
    changed_now: "The passphrase is changed. A copy of this browser's files made earlier still opens with the old one.",
    locked: "Locked",
    locked_why: "What is written here is sealed. Nothing of it can be seen or lost from this page.",
    unlock: "Unlock",
    use_code: "Use the recovery code",
    new_code: "A new recovery code",
    new_code_why: "If the paper is lost, or somebody saw it. The old code then opens this phone no more; what was copied off it before still opens with the old one.",
    new_code_now: "Put it in the old one's place",
    code_renewed: "The new code opens this practice, the old one no more. Destroy the old paper.",
    use_passphrase: "Use the passphrase",
    code: "Recovery code",
    code_hint: "28 signs in seven groups, as on the paper",
    in_now: "In now, as this phone last knew it",
    clocks: "Clocks",
    count_out: "Count out",
    count_first: "Take the needles out and count them here. Nothing has to be unlocked for that; it is written down under its name once you unlock.",
    counted: "Counted here, without a name yet",
    cards: "Emergency cards",
    lock_now: "Lock now",
    lock_after: "Lock by itself",
    lock_after_hint: "after so long without a touch; never while a needle is in or a clock runs",
    ten_minutes: "10 minutes",
    two_minutes: "2 minutes",
    five_minutes: "5 minutes",
    half_hour: "30 minutes",
    hour: "an hour",
    flaws: "Not everything can be read",
    no_people: "Set a passphrase, or say that there is to be none; then a copy can be brought in.",
    no_worker: "The key could not be made: this browser did not start the part that makes it. Nothing was changed, and everything is kept. Reload the page when no needle is in, and try again.",
    no_memory: "There is not enough memory to make the key now. Nothing was changed, and everything is kept. Close other pages and try again.",
    no_chance: "This browser gives no random numbers, without which no key can be made. Nothing was changed. Use another browser.",
    empty_passphrase: "Nothing was typed. Nothing was changed. Type the passphrase.",
    newer_passphrase: "The passphrase was set by a newer version of Pinfold, or its row is damaged. Everything is kept, locked. Take the newer version, or use the recovery code.",
    not_kept: "This browser did not keep it, so nothing was changed: everything is as it was. Free some space on the phone, then try again.",
    sealed_already: "This practice has a passphrase already. Nothing was changed. Change it in Settings.",
    not_said: "This browser has not said whether that was done, now or at an earlier try. Everything is kept. Close Pinfold and open it again: the passphrase of the first try opens it, or the one before, if there was one. Keep every code that is on paper.",
    wait_first: "After several wrong ones there is a wait. Nothing was tried, and everything is kept. Try again when it is over.",
    not_at_work: "It does not lock while a needle is in or a clock runs. Nothing was changed. Close the chair first.",
    not_opened: "The passphrase is right, but this browser did not give back all that it keeps. Nothing was changed, and it is still locked. Try again; if it stays so, reload the page.",
    not_unsaved: "Something is not saved yet, so nothing was changed. Wait until the sign says saved, then try again.",
    nothing_to_lock: "There is no passphrase here, so there is nothing to lock. Set one in Settings.",
    person_key_damaged: "The key of a person is damaged: what was written about them before cannot be read. It is kept as it stands; everything else can be read, and new entries are kept. Read in the newest sealed copy.",
    wrong_passphrase: "That did not open it: the passphrase or code is another one, or what it opens was damaged. Everything is kept, locked. Type it again; look at capital letters and the keyboard's language, or use the other of the two.",
    no_recovery_code: "No recovery code was ever made here. Everything is kept, locked. Use the passphrase.",
    practice_key_damaged: "The passphrase or code is right, but the key behind it is damaged, so nothing can be read. Everything is kept as it stands. Read in the newest sealed copy; do not clear this browser's data before.",
    no_practice: "A part without which nothing can be unlocked is missing from this browser's storage. What is there is kept as it stands. Read in the newest sealed copy; do not clear this browser's data before.",
    row_twice: "One key is there twice, and it cannot be known which is the right one. Both are kept. Read in the newest sealed copy; do not clear this browser's data before.",
    newer_row: "An entry was sealed by a newer version of Pinfold. It is kept as it stands. Take the newer version, then it can be read.",
    no_key: "The key of this entry is not here, or was destroyed when the person was erased. The rest is kept. If nobody was erased, read in the newest sealed copy.",
    broken_row: "The seal of an entry does not fit: it was changed or damaged. It is kept as it stands, and all other entries can be read. Read in the newest sealed copy, which may hold it whole.",
    strange_row: "An entry opened, but it is not the entry that should be there. It is kept as it stands, and all other entries can be read. Read in the newest sealed copy.",
    code_check: "One or more signs are wrong, or two changed places. Nothing was tried. Compare with the paper, group by group.",
    not_sealed: "This is not a sealed copy. Nothing was read in, and everything here is as it was. Choose another file; sealed copies from here end in .age.txt.",
    too_large: "This file is larger than is read here. Nothing was read in, and everything here is as it was. Open it on a computer with a program for age files.",
    armour_cut: "The end of this copy is missing. Nothing was read in, and everything here is as it was. Fetch the file again from where it was put, or use an earlier copy.",
    armour: "The letters of this copy were changed: a line is not as it was written. Nothing was read in, and everything here is as it was. Take the file itself, not its text; or use an earlier copy.",
    armour_extra: "There is other text before or after this copy. Nothing was read in, and everything here is as it was. Take the file itself, or remove that text.",
    version: "This copy was sealed in a version of the format that is not known here. Nothing was read in, and everything here is as it was. Take the newest version of Pinfold, then try again.",
    header: "The beginning of this copy is damaged or cut off. Nothing was read in, and everything here is as it was. Fetch the file again from where it was put, or use an earlier copy.",
    no_passphrase: "This file is sealed for a key, not with a passphrase. Nothing was read in, and everything here is as it was. Choose a copy that was made here.",
    work: "This file asks for more memory than is allowed here. Nothing was read in, and everything here is as it was. If you trust it, open it on a computer and seal it again with less work.",
    memory: "There is not enough memory to open this copy now. Nothing was read in, and everything here is as it was. Close other pages, start the browser again, and try once more; or use a computer.",
    copy_wrong_passphrase: "This passphrase does not open this copy. Nothing was read in, and everything here is as it was. Type it again. It is the one that was set when this copy was made, which may not be the one you unlock with.",
    header_changed: "The passphrase is right, but the beginning of this copy was changed after it was made. Nothing was read in, and everything here is as it was. Use an earlier copy.",
    cut: "The end of this copy is missing. Nothing was read in, and everything here is as it was. Fetch the file again from where it was put, or use an earlier copy.",
    changed: "The passphrase is right, but a part of this copy was changed, damaged or cut off. Nothing was read in, and everything here is as it was. Fetch the file again from where it was put, or use an earlier copy.",
    extra: "Something was put after the end of this copy. Nothing was read in, and everything here is as it was. Fetch the file again from where it was put, or use an earlier copy.",
};

impl VaultWords {
    /// "14:32, in 6 min", "14:32, 2 min over": a clock of the strip.
    #[must_use]
    pub fn due(&self, time: &str, millis_left: i64) -> String {
        let minutes = millis_left.saturating_abs().div_euclid(60_000);
        if millis_left > 0 {
            format!("{time}, in {} min", minutes.saturating_add(1))
        } else {
            format!("{time}, {minutes} min over")
        }
    }

    /// A count from the locked page, "7 out: Patient's L cheek", of which no fact can be made.
    #[must_use]
    pub fn out_left(&self, out: &str) -> String {
        format!(
            "{out}, counted while it was locked. Its session is closed or not here. It is kept until you have written it down."
        )
    }

    /// "7 out: Patient's L cheek".
    #[must_use]
    pub fn out_of(&self, count: u16, label: &str) -> String {
        format!("{count} out: {label}")
    }

    /// "Wait 20 s".
    #[must_use]
    pub fn wait(&self, seconds: i64) -> String {
        format!("Wait {seconds} s before the next one.")
    }

    /// A flaw of which there are several.
    #[must_use]
    pub fn several(&self, words: &str, count: usize) -> String {
        if count > 1 {
            format!("{words} ({count} times)")
        } else {
            words.into()
        }
    }

    /// Why a practice was not unlocked.
    #[must_use]
    pub const fn not_unlocked(&self, why: WhyLocked) -> &'static str {
        match why {
            WhyLocked::WrongDoor => self.wrong_passphrase,
            WhyLocked::NoSuchDoor => self.no_recovery_code,
            WhyLocked::Damaged => self.practice_key_damaged,
        }
    }

    /// Why there is nothing to unlock.
    #[must_use]
    pub const fn wrong_rows(&self, why: &WrongRows) -> &'static str {
        match why {
            WrongRows::Missing(_) => self.no_practice,
            WrongRows::Twice(_) => self.row_twice,
        }
    }

    /// Why an entry was not opened.
    #[must_use]
    pub const fn unsealed(&self, why: Unsealed) -> &'static str {
        match why {
            Unsealed::UnknownCodec => self.newer_row,
            Unsealed::NoKey => self.no_key,
            Unsealed::Broken => self.broken_row,
            Unsealed::NotThatEntry => self.strange_row,
        }
    }

    /// Why typed text is no recovery code.
    #[must_use]
    pub fn bad_code(&self, why: BadCode) -> String {
        match why {
            BadCode::Length(count) => format!(
                "The recovery code has 28 signs in seven groups; these are {count}. Nothing was tried. Compare with the paper, group by group."
            ),
            BadCode::Sign(sign) => format!(
                "No recovery code has the sign {sign:?}. Nothing was tried. Compare with the paper, group by group."
            ),
            BadCode::Check => self.code_check.into(),
        }
    }

    /// Why a sealed copy was not read in.
    #[must_use]
    pub const fn copy(&self, why: CopyTrouble) -> &'static str {
        use CopyTrouble as T;
        match why {
            T::NotSealed => self.not_sealed,
            T::TooLarge => self.too_large,
            T::ArmourCut => self.armour_cut,
            T::Armour => self.armour,
            T::ArmourExtra => self.armour_extra,
            T::Version => self.version,
            T::Header => self.header,
            T::NoPassphrase => self.no_passphrase,
            T::Work => self.work,
            T::Memory => self.memory,
            T::WrongPassphrase => self.copy_wrong_passphrase,
            T::HeaderChanged => self.header_changed,
            T::Cut => self.cut,
            T::Changed => self.changed,
            T::Extra => self.extra,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_trouble_says_what_happened_what_is_kept_and_what_next() {
        for &why in CopyTrouble::ALL {
            assert_eq!(CopyTrouble::from_word(why.word()), Some(why));
            let words = EN.copy(why);
            assert!(words.matches(". ").count() >= 2, "three parts: {words}");
            assert!(words.contains("everything here is as it was"), "{words}");
        }
        assert_eq!(CopyTrouble::from_word("other"), None);
        for why in [
            Unsealed::UnknownCodec,
            Unsealed::NoKey,
            Unsealed::Broken,
            Unsealed::NotThatEntry,
        ] {
            let words = EN.unsealed(why);
            assert!(words.matches(". ").count() >= 2, "three parts: {words}");
            assert!(words.contains("kept"), "{words}");
        }
        for why in [
            WhyLocked::WrongDoor,
            WhyLocked::NoSuchDoor,
            WhyLocked::Damaged,
        ] {
            let words = EN.not_unlocked(why);
            assert!(words.matches(". ").count() >= 2, "three parts: {words}");
            assert!(words.contains("Everything is kept"), "{words}");
        }
        for why in [BadCode::Length(3), BadCode::Sign('U'), BadCode::Check] {
            assert!(EN.bad_code(why).contains("Nothing was tried"), "{why:?}");
        }
    }
}
