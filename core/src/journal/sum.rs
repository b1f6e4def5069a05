//! A sum over lines, in any order: two sets of lines with one sum and one number are the same set,
//! as far as slips go. It is no seal: somebody who wants two sets to agree can make them.

use super::Journal;
use crate::base::body::{Body, Reader, Writer};
use crate::base::id::EntryId;
use core::fmt;
use core::str::FromStr;

/// The sum. Written as 16 hexadecimal digits.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Sum(pub u64);

/// Text that is no sum.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct BadSum;

impl Sum {
    /// The sum of one line: FNV-1a over its bytes (offset and prime of the 64-bit variant), stirred so
    /// that lines which differ little do not cancel out when they are added.
    #[must_use]
    pub fn of(line: &str) -> Self {
        let mut x = 0xcbf2_9ce4_8422_2325_u64;
        for byte in line.bytes() {
            x = (x ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3);
        }
        x = (x ^ (x >> 33)).wrapping_mul(0xff51_afd7_ed55_8ccd);
        Self(x ^ (x >> 33))
    }

    /// With one line more.
    pub fn add(&mut self, line: &str) {
        self.0 = self.0.wrapping_add(Self::of(line).0);
    }
}

impl fmt::Display for Sum {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:016x}", self.0)
    }
}

impl fmt::Debug for Sum {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

impl FromStr for Sum {
    type Err = BadSum;
    fn from_str(text: &str) -> Result<Self, BadSum> {
        let plain = |b: u8| matches!(b, b'0'..=b'9' | b'a'..=b'f');
        if text.len() != 16 || !text.bytes().all(plain) {
            return Err(BadSum);
        }
        u64::from_str_radix(text, 16).map(Self).map_err(|_| BadSum)
    }
}

impl Body for Sum {
    fn write(&self, out: &mut Writer) {
        out.shown(self);
    }
    fn read(from: &mut Reader<'_>) -> Self {
        from.parsed(Self(0))
    }
}

#[cfg(test)]
impl serde::Serialize for Sum {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

#[cfg(test)]
impl<'de> serde::Deserialize<'de> for Sum {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text: alloc::string::String = serde::Deserialize::deserialize(deserializer)?;
        text.parse()
            .map_err(|BadSum| serde::de::Error::custom("no sum"))
    }
}

impl Journal {
    /// How many lines come before `before`, and their sum: entries, rivals among them, and every line
    /// that is no entry.
    #[must_use]
    pub fn sum_before(&self, before: EntryId) -> (u32, Sum) {
        let (mut count, mut sum) = (0_u32, Sum::default());
        self.lines(&mut |id, line| {
            if id.is_none_or(|id| id < before) {
                count = count.saturating_add(1);
                sum.add(line);
            }
        });
        (count, sum)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use alloc::string::ToString;

    #[test]
    fn a_sum_is_of_a_set_and_reads_back() {
        let sum = |lines: &[&str]| {
            let mut sum = Sum::default();
            lines.iter().for_each(|line| sum.add(line));
            sum
        };
        assert_eq!(sum(&["a", "b"]), sum(&["b", "a"]));
        assert_ne!(sum(&["a", "b"]), sum(&["a", "c"]));
        assert_ne!(sum(&["a", "a"]), sum(&[]), "a pair does not cancel out");
        let one = Sum::of("a");
        assert_eq!(one.to_string().parse(), Ok(one));
        for bad in [
            "",
            "0",
            "000000000000000g",
            "000000000000000A",
            "00000000000000000",
        ] {
            assert_eq!(bad.parse::<Sum>(), Err(BadSum), "{bad}");
        }
    }
}
