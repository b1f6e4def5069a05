//! Words of the seal: unlocking, the recovery code, and files that were taken out sealed. What went
//! wrong says what happened, what is kept, and what to do next.

use crate::seal::{BadCode, CopyTrouble, Unsealed, WhyLocked, WrongRows};
use alloc::format;
use alloc::string::String;

/// Fixed words.
#[expect(missing_docs, reason = "each field is the sentence it holds")]
pub struct VaultWords {
    pub wrong_passphrase: &'static str,
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
    not_sealed: "This is not a sealed copy. Nothing was read in, and everything here is as it was. Choose another file; sealed copies end in .age.",
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
