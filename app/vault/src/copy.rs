//! A copy of the journal as it leaves a phone and comes to one: always by the same rules, whoever asks.

use crate::age::{self, Chance, Form, Limits, Unwritten, Work};
use pinfold_core::seal::CopyTrouble;
use zeroize::Zeroizing;

/// Random bytes that one copy uses up.
pub const CHANCE: usize = 48;

/// Seals a copy: in letters, because a phone's share sheet takes texts and a text survives being pasted;
/// with [`Work::PHONE`]. `chance`: bytes of the browser's generator for secrets, never used before.
///
/// # Errors
/// [`Unwritten`].
pub fn seal(plain: &[u8], passphrase: &str, chance: [u8; CHANCE]) -> Result<Vec<u8>, Unwritten> {
    let chance = Chance::from_random(chance);
    age::seal(plain, passphrase, Work::PHONE, chance, Form::Letters)
}

/// What is wrong with a sealed copy as far as it shows before its passphrase is asked for.
///
/// # Errors
/// [`CopyTrouble`].
pub fn look(file: &[u8]) -> Result<(), CopyTrouble> {
    age::look(file, Limits::PHONE)
}

/// Opens a sealed copy, in letters or in bytes, within [`Limits::PHONE`]: all of it, checked, or nothing.
///
/// # Errors
/// [`CopyTrouble`].
pub fn open(file: &[u8], passphrase: &str) -> Result<Zeroizing<Vec<u8>>, CopyTrouble> {
    age::open(file, passphrase, Limits::PHONE)?.all()
}

#[cfg(test)]
mod tests {
    use super::*;
    use pinfold_core::journal::{Limits as Read, Reading, Refused};

    const WORDS: &str = "a stile over the wall";
    const COPY: &str = "{\"pinfold\":\"journal\",\"format\":1,\"scope\":\"whole\",\"entries\":0}\n";

    fn sealed() -> String {
        let file = seal(COPY.as_bytes(), WORDS, core::array::from_fn(|at| at as u8));
        String::from_utf8(file.expect("sealed")).expect("text")
    }

    #[test]
    fn what_leaves_is_a_text_of_the_fixed_work_and_comes_back() {
        let file = sealed();
        assert!(file.starts_with("-----BEGIN AGE ENCRYPTED FILE-----\nYWdl"));
        assert!(file.ends_with("-----END AGE ENCRYPTED FILE-----\n"));
        // Nobody reads it as a plain copy: it is said to be sealed.
        let plain = |bytes: &[u8]| Reading::whole(bytes, Read::HERE).map(|read| read.lines);
        assert_eq!(plain(COPY.as_bytes()), Ok(0), "control");
        assert_eq!(plain(file.as_bytes()), Err(Refused::Sealed));
        assert_eq!(look(file.as_bytes()), Ok(()));
        let back = open(file.as_bytes(), WORDS).expect("opened");
        assert_eq!(*back, COPY.as_bytes());
        // The work it was written with, by the header: 2^17, the least of OWASP for r = 8 and p = 1.
        let bytes = age_bytes(&file);
        let head = String::from_utf8_lossy(bytes.get(..120).unwrap_or(&bytes)).into_owned();
        let words: Vec<&str> = head.lines().nth(1).unwrap_or_default().split(' ').collect();
        assert_eq!((words.get(1), words.get(3)), (Some(&"scrypt"), Some(&"17")));
        // Two copies of one text have nothing in common but their form.
        let other = seal(COPY.as_bytes(), WORDS, [9; CHANCE]).expect("sealed");
        assert_ne!(other, file.as_bytes());
        assert_eq!(
            seal(COPY.as_bytes(), "", [9; CHANCE]),
            Err(Unwritten::EmptyPassphrase)
        );
    }

    fn age_bytes(letters: &str) -> Vec<u8> {
        use base64ct::{Base64, Encoding};
        let lines = letters.lines().filter(|line| !line.starts_with('-'));
        Base64::decode_vec(&lines.collect::<String>()).expect("letters")
    }

    #[test]
    fn bytes_are_opened_as_letters_are() {
        let bytes = age_bytes(&sealed());
        assert!(core::str::from_utf8(&bytes).is_err(), "no text");
        assert_eq!(look(&bytes), Ok(()));
        let back = open(&bytes, WORDS).expect("opened");
        assert_eq!(*back, COPY.as_bytes());
        assert_eq!(
            Reading::whole(&bytes, Read::HERE).map(|read| read.lines),
            Err(Refused::Sealed),
            "and are known for sealed"
        );
    }

    #[test]
    fn each_way_to_fail_has_its_own_name() {
        use CopyTrouble as T;
        let file = sealed();
        let bytes = age_bytes(&file);
        let last = bytes.len() - 1;
        let mut flipped = bytes.clone();
        flipped[last] ^= 1;
        let cut = file.rsplit_once("-----END").expect("an end").0;
        let opened = |file: &[u8], words: &str| open(file, words).map(|plain| plain.len());
        assert_eq!(opened(&bytes, WORDS), Ok(COPY.len()), "control");
        assert_eq!(opened(&bytes, "another"), Err(T::WrongPassphrase));
        assert_eq!(opened(&flipped, WORDS), Err(T::Changed));
        assert_eq!(opened(cut.as_bytes(), WORDS), Err(T::ArmourCut));
        assert_eq!(look(cut.as_bytes()), Err(T::ArmourCut), "before any asking");
        assert_eq!(look(b"%PDF-1.7"), Err(T::NotSealed));
    }

    /// The file with another work in its header: what a hostile one would say.
    fn with_work(bytes: &[u8], work: &str) -> Vec<u8> {
        let at = bytes.windows(4).position(|w| w == b" 17\n");
        let at = at.expect("the work");
        let (head, tail) = bytes.split_at(at);
        [head, b" ", work.as_bytes(), &tail[3..]].concat()
    }

    #[test]
    fn a_giant_work_is_refused_before_any_of_it_is_done() {
        let begun = std::time::Instant::now();
        let bytes = age_bytes(&sealed());
        let once = begun.elapsed();
        let begun = std::time::Instant::now();
        for work in ["19", "20", "40", "63", "64", "255", "256", "99999999999"] {
            let file = with_work(&bytes, work);
            assert_eq!(look(&file), Err(CopyTrouble::Work), "{work}");
            let opened = open(&file, WORDS).map(|plain| plain.len());
            assert_eq!(opened, Err(CopyTrouble::Work), "{work}");
        }
        // 2^19 alone would take four times as long as what was done once.
        assert!(begun.elapsed() < once, "{:?} {once:?}", begun.elapsed());
        // Control: what is allowed is worked at, and is another key then.
        assert_eq!(look(&with_work(&bytes, "18")), Ok(()));
        let opened = open(&with_work(&bytes, "2"), WORDS).map(|plain| plain.len());
        assert_eq!(opened, Err(CopyTrouble::WrongPassphrase));
        for work in ["0", "017", "+17", "1x", ""] {
            assert_eq!(
                look(&with_work(&bytes, work)),
                Err(CopyTrouble::Header),
                "{work}"
            );
        }
    }

    #[test]
    fn a_file_longer_than_any_copy_is_not_looked_into() {
        // No header is needed: the length alone is judged.
        let long = vec![b'-'; Limits::PHONE.bytes + 1];
        assert_eq!(look(&long), Err(CopyTrouble::TooLarge));
        assert_eq!(look(&long[1..]), Err(CopyTrouble::Armour), "control");
        // The longest journal that is read fits, sealed and in letters.
        let chunks = Read::HERE.bytes.div_ceil(age::CHUNK) + 1;
        let sealed = Read::HERE.bytes + 16 * chunks + 300;
        assert!(sealed.div_ceil(48) * 65 + 70 <= Limits::PHONE.bytes);
    }
}
