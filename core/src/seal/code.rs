//! The recovery code: 128 random bits that a person writes down.
//!
//! Printed as seven groups of four signs of Crockford's base 32 (no I, L, O, U): 26 signs hold the
//! 128 bits, the last two a check. The check is the number modulo 1021, in the manner of the pure
//! systems of ISO/IEC 7064: any one wrong sign and any two signs changed over are noticed, and of
//! other slips all but one in a thousand. It guards against slips of the pen; it is no secret.

use alloc::string::String;
use core::fmt;
use zeroize::Zeroizing;

/// Bytes of a code.
pub const CODE: usize = 16;

/// Crockford's signs. I and L are read as 1, O as 0.
const SIGNS: &[u8; 32] = b"0123456789ABCDEFGHJKMNPQRSTVWXYZ";
/// Signs of the 128 bits, and with the check.
const BODY: usize = 26;
const ALL: usize = 28;
/// The largest prime below 32 * 32.
const MODULUS: u128 = 1021;
/// More typed text than this is no code.
const TYPED_MAX: usize = 200;

/// A recovery code. Overwritten when it is dropped; printed only by [`RecoveryCode::printed`].
pub struct RecoveryCode(Zeroizing<[u8; CODE]>);

/// Why typed text is no recovery code.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BadCode {
    /// So many signs, and not 28.
    Length(usize),
    /// A sign that no code has.
    Sign(char),
    /// The check does not fit: a sign is wrong, or two changed places.
    Check,
}

impl fmt::Debug for RecoveryCode {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("RecoveryCode")
    }
}

fn sign(value: u128) -> char {
    let at = usize::try_from(value & 31).unwrap_or_default();
    SIGNS.get(at).map_or('0', |&sign| char::from(sign))
}

fn value(typed: char) -> Option<u8> {
    let upper = match typed.to_ascii_uppercase() {
        'O' => '0',
        'I' | 'L' => '1',
        other => other,
    };
    let at = SIGNS.iter().position(|&sign| char::from(sign) == upper)?;
    u8::try_from(at).ok()
}

impl RecoveryCode {
    /// A code from 16 bytes of the browser's generator for secrets.
    #[must_use]
    pub fn from_random(bytes: [u8; CODE]) -> Self {
        Self(Zeroizing::new(bytes))
    }

    /// The 128 bits.
    #[must_use]
    pub fn bytes(&self) -> &[u8; CODE] {
        &self.0
    }

    /// The code as it is printed: `XXXX-XXXX-XXXX-XXXX-XXXX-XXXX-XXXX`.
    #[must_use]
    pub fn printed(&self) -> Zeroizing<String> {
        let number = u128::from_be_bytes(*self.0);
        let check = number % MODULUS;
        let mut out = Zeroizing::new(String::with_capacity(ALL.saturating_add(6)));
        for place in 0..ALL {
            if place > 0 && place % 4 == 0 {
                out.push('-');
            }
            // Of 26 signs of five bits the first has only three: 128 bits are 26 * 5 - 2.
            let body = BODY.checked_sub(place.saturating_add(1));
            out.push(match body.and_then(|left| u32::try_from(left).ok()) {
                Some(left) => sign(number >> left.saturating_mul(5)),
                None if place == BODY => sign(check >> 5),
                None => sign(check),
            });
        }
        out
    }

    /// Reads what a person typed: in either case, with or without spaces, hyphens and dots, O for 0
    /// and I or L for 1.
    ///
    /// # Errors
    /// [`BadCode`] says what is wrong with it.
    pub fn from_typed(text: &str) -> Result<Self, BadCode> {
        if text.len() > TYPED_MAX {
            return Err(BadCode::Length(text.chars().count()));
        }
        let between =
            |c: &char| !c.is_whitespace() && !matches!(c, '-' | '.' | '\u{2010}'..='\u{2014}');
        let mut values = Zeroizing::new([0_u8; ALL]);
        let mut count = 0_usize;
        for typed in text.chars().filter(between) {
            let value = value(typed).ok_or(BadCode::Sign(typed))?;
            if let Some(place) = values.get_mut(count) {
                *place = value;
            }
            count = count.saturating_add(1);
        }
        if count != ALL {
            return Err(BadCode::Length(count));
        }
        let (body, check) = values.split_at_checked(BODY).ok_or(BadCode::Check)?;
        let mut number = 0_u128;
        for &value in body {
            // The first sign stands for three bits only.
            number = number.checked_mul(32).ok_or(BadCode::Check)? | u128::from(value);
        }
        let said = check
            .iter()
            .fold(0_u128, |sum, &value| (sum << 5) | u128::from(value));
        if number % MODULUS != said {
            return Err(BadCode::Check);
        }
        Ok(Self::from_random(number.to_be_bytes()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::property;
    use alloc::string::ToString;
    use proptest::prelude::*;

    fn code(number: u128) -> RecoveryCode {
        RecoveryCode::from_random(number.to_be_bytes())
    }

    #[test]
    fn a_code_is_read_back_as_people_type_it() {
        assert_eq!(
            code(0).printed().as_str(),
            "0000-0000-0000-0000-0000-0000-0000"
        );
        let printed = code(u128::MAX).printed();
        let rest = u128::MAX % 1021;
        let check: String = [rest / 32, rest % 32].iter().map(|&n| sign(n)).collect();
        assert_eq!(
            printed.as_str(),
            "7ZZZ-ZZZZ-ZZZZ-ZZZZ-ZZZZ-ZZZZ-ZZ".to_string() + &check
        );
        property("codes", 500, &any::<u128>(), |number| {
            let printed = code(number).printed();
            let typed = [
                printed.to_string(),
                printed.to_lowercase(),
                printed.replace('-', ""),
                printed.replace('-', " \u{2013} ") + "\n",
                printed.replace('0', "o").replace('1', "l"),
                printed.replace('0', "O").replace('1', "I"),
            ];
            for text in typed {
                let read = RecoveryCode::from_typed(&text);
                prop_assert_eq!(read.map(|code| *code.bytes()), Ok(number.to_be_bytes()));
            }
            Ok(())
        });
    }

    #[test]
    fn every_single_slip_and_every_swap_is_noticed() {
        property("slips", 60, &any::<u128>(), |number| {
            let printed = code(number).printed().replace('-', "");
            let signs: alloc::vec::Vec<char> = printed.chars().collect();
            for at in 0..ALL {
                for &other in SIGNS {
                    let other = char::from(other);
                    let mut typed = signs.clone();
                    typed[at] = other;
                    let text: String = typed.iter().collect();
                    let read = RecoveryCode::from_typed(&text);
                    prop_assert_eq!(read.is_ok(), other == signs[at], "{} at {}", other, at);
                }
                for with in 0..at {
                    let mut typed = signs.clone();
                    typed.swap(at, with);
                    let text: String = typed.iter().collect();
                    let read = RecoveryCode::from_typed(&text);
                    prop_assert_eq!(read.is_ok(), signs[at] == signs[with], "{} {}", at, with);
                }
            }
            Ok(())
        });
    }

    #[test]
    fn what_is_no_code_is_named() {
        let wrong = |text: &str| RecoveryCode::from_typed(text).unwrap_err();
        assert_eq!(wrong(""), BadCode::Length(0));
        assert_eq!(wrong("0000"), BadCode::Length(4));
        assert_eq!(wrong(&"0".repeat(29)), BadCode::Length(29));
        assert_eq!(wrong(&"0".repeat(999)), BadCode::Length(999));
        assert_eq!(wrong("000U"), BadCode::Sign('U'));
        assert_eq!(wrong("wren of the ford"), BadCode::Length(13));
        assert_eq!(wrong(&("8".to_string() + &"0".repeat(27))), BadCode::Check);
    }
}
