//! L0. The packed form of the knowledge: bytes that are not self-describing, for a reader of the same
//! build. Numbers are LEB128 (7 bits a byte, signed ones zigzag), lists and texts their length first.
//!
//! Reading is total: past the end, or at anything that cannot be, it marks itself as spoilt and goes
//! on with zeros and empty lists. Whoever reads asks at the end whether it was sound.

use crate::base::flat;
use crate::base::id::Replica;
use alloc::boxed::Box;
use alloc::string::String;
use alloc::vec::Vec;

pub use pinfold_pack::Pack;

/// How deep lists and boxed values may lie in one another: conditions of rules do. Deeper is damage.
const DEEPEST: u8 = 40;

/// What can be packed.
pub trait Pack: Sized {
    /// Appends the packed form.
    fn pack(&self, out: &mut Vec<u8>);
    /// Reads one; any value of the type if the bytes are spoilt.
    fn unpack(from: &mut From<'_>) -> Self;
}

/// Packed bytes being read.
pub struct From<'a> {
    left: &'a [u8],
    depth: u8,
    spoilt: bool,
}

impl<'a> From<'a> {
    /// Reads from the beginning of some bytes. Ask at the end whether all was [`From::sound`].
    pub fn over(bytes: &'a [u8]) -> Self {
        Self {
            left: bytes,
            depth: 0,
            spoilt: false,
        }
    }

    /// Whether nothing was spoilt, and everything was read.
    pub fn sound(&self) -> bool {
        !self.spoilt && self.left.is_empty()
    }

    /// Reads one value from the whole of some bytes; none if they are spoilt or too many.
    pub fn whole<T: Pack>(bytes: &'a [u8]) -> Option<T> {
        let mut from = Self::over(bytes);
        let value = T::unpack(&mut from);
        from.sound().then_some(value)
    }

    /// From here on everything reads as zero or empty.
    pub fn spoil(&mut self) {
        self.spoilt = true;
        self.left = &[];
    }

    fn deeper(&mut self) {
        self.depth = self.depth.saturating_add(1);
        if self.depth > DEEPEST {
            self.spoil();
        }
    }

    fn byte(&mut self) -> u8 {
        match self.left.split_first() {
            Some((byte, rest)) => {
                self.left = rest;
                *byte
            }
            None => {
                self.spoil();
                0
            }
        }
    }

    /// The place of an enum's variant, at most `most`.
    pub fn variant(&mut self, most: u8) -> u8 {
        let at = self.byte();
        if at > most {
            self.spoil();
            return 0;
        }
        at
    }

    fn number(&mut self) -> u64 {
        let (mut value, mut shift) = (0_u64, 0_u32);
        while shift < 64 {
            let byte = self.byte();
            value |= u64::from(byte & 0x7f).wrapping_shl(shift);
            if byte & 0x80 == 0 {
                return value;
            }
            shift = shift.wrapping_add(7);
        }
        self.spoil();
        0
    }

    /// A length that the bytes left could hold.
    pub fn length(&mut self) -> usize {
        let length = usize::try_from(self.number()).unwrap_or(usize::MAX);
        if length > self.left.len() {
            self.spoil();
            return 0;
        }
        length
    }

    /// A list, whose rows are read by `one`. Each has to take a byte at least.
    pub fn list<T>(&mut self, mut one: impl FnMut(&mut Self) -> T) -> Vec<T> {
        // So a length is never more than the bytes left.
        let length = self.length();
        let mut all = Vec::with_capacity(length.min(1024));
        self.deeper();
        for _ in 0..length {
            all.push(one(self));
            if self.spoilt {
                break;
            }
        }
        self.depth = self.depth.saturating_sub(1);
        all
    }
}

fn write_number(mut value: u64, out: &mut Vec<u8>) {
    loop {
        let low = u8::try_from(value & 0x7f).unwrap_or(0);
        value >>= 7;
        if value == 0 {
            out.push(low);
            return;
        }
        out.push(low | 0x80);
    }
}

macro_rules! unsigned {
    ($($number:ty),*) => {$(
        impl Pack for $number {
            fn pack(&self, out: &mut Vec<u8>) {
                write_number(u64::try_from(*self).unwrap_or(0), out);
            }
            fn unpack(from: &mut From<'_>) -> Self {
                let value = from.number();
                Self::try_from(value).unwrap_or_else(|_| { from.spoil(); 0 })
            }
        }
    )*};
}
unsigned!(u8, u16, u32, u64, usize);

macro_rules! signed {
    ($($number:ty),*) => {$(
        impl Pack for $number {
            fn pack(&self, out: &mut Vec<u8>) {
                let wide = i64::from(*self);
                write_number(((wide << 1) ^ (wide >> 63)).cast_unsigned(), out);
            }
            fn unpack(from: &mut From<'_>) -> Self {
                let zigzag = from.number();
                let wide = (zigzag >> 1).cast_signed() ^ (zigzag & 1).cast_signed().wrapping_neg();
                Self::try_from(wide).unwrap_or_else(|_| { from.spoil(); 0 })
            }
        }
    )*};
}
signed!(i16, i32, i64);

impl Pack for bool {
    fn pack(&self, out: &mut Vec<u8>) {
        out.push(u8::from(*self));
    }
    fn unpack(from: &mut From<'_>) -> Self {
        from.variant(1) == 1
    }
}

impl Pack for String {
    fn pack(&self, out: &mut Vec<u8>) {
        write_number(u64::try_from(self.len()).unwrap_or(0), out);
        out.extend_from_slice(self.as_bytes());
    }
    fn unpack(from: &mut From<'_>) -> Self {
        let length = from.length();
        let (text, rest) = from.left.split_at_checked(length).unwrap_or_default();
        from.left = rest;
        match core::str::from_utf8(text) {
            Ok(text) => text.into(),
            Err(_) => {
                from.spoil();
                Self::new()
            }
        }
    }
}

impl Pack for Replica {
    fn pack(&self, out: &mut Vec<u8>) {
        out.extend_from_slice(&self.0.to_le_bytes());
    }
    fn unpack(from: &mut From<'_>) -> Self {
        let Some((name, rest)) = from.left.split_first_chunk() else {
            from.spoil();
            return Self(0);
        };
        from.left = rest;
        Self(u128::from_le_bytes(*name))
    }
}

impl<T: Pack> Pack for Vec<T> {
    fn pack(&self, out: &mut Vec<u8>) {
        write_number(u64::try_from(self.len()).unwrap_or(0), out);
        for one in self {
            one.pack(out);
        }
    }
    fn unpack(from: &mut From<'_>) -> Self {
        from.list(T::unpack)
    }
}

impl<T: Pack> Pack for Option<T> {
    fn pack(&self, out: &mut Vec<u8>) {
        out.push(u8::from(self.is_some()));
        if let Some(value) = self {
            value.pack(out);
        }
    }
    fn unpack(from: &mut From<'_>) -> Self {
        (from.variant(1) == 1).then(|| T::unpack(from))
    }
}

impl<T: Pack> Pack for Box<T> {
    fn pack(&self, out: &mut Vec<u8>) {
        self.as_ref().pack(out);
    }
    fn unpack(from: &mut From<'_>) -> Self {
        from.deeper();
        let value = T::unpack(from);
        from.depth = from.depth.saturating_sub(1);
        Self::new(value)
    }
}

macro_rules! tuples {
    ($($part:ident $field:tt),*) => {
        impl<$($part: Pack),*> Pack for ($($part,)*) {
            fn pack(&self, out: &mut Vec<u8>) {
                $(self.$field.pack(out);)*
            }
            fn unpack(from: &mut From<'_>) -> Self {
                ($($part::unpack(from),)*)
            }
        }
    };
}
tuples!(A 0, B 1);
tuples!(A 0, B 1, C 2);
tuples!(A 0, B 1, C 2, D 3);

impl<T: Pack + Ord> Pack for flat::Set<T> {
    fn pack(&self, out: &mut Vec<u8>) {
        write_number(u64::try_from(self.iter().count()).unwrap_or(0), out);
        for one in self {
            one.pack(out);
        }
    }
    fn unpack(from: &mut From<'_>) -> Self {
        Vec::<T>::unpack(from).into_iter().collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bytes<T: Pack>(value: &T) -> Vec<u8> {
        let mut out = Vec::new();
        value.pack(&mut out);
        out
    }

    /// LEB128 as in the DWARF 5 standard, appendix C: the examples of its tables (from memory).
    #[test]
    fn numbers_are_leb128() {
        for (n, packed) in [
            (2_u64, &[2][..]),
            (127, &[127]),
            (128, &[0x80, 1]),
            (129, &[0x81, 1]),
            (12_857, &[0xb9, 0x64]),
        ] {
            assert_eq!(bytes(&n), packed);
            assert_eq!(From::whole::<u64>(packed), Some(n));
        }
        for n in [0, -1, 1, i64::MIN, i64::MAX] {
            assert_eq!(From::whole::<i64>(&bytes(&n)), Some(n));
        }
    }

    #[test]
    fn what_cannot_be_is_refused_and_what_is_over_as_well() {
        assert_eq!(From::whole::<u8>(&[0x80, 2]), None, "256 is no u8");
        assert_eq!(From::whole::<u64>(&[0xff; 11]), None, "too long");
        assert_eq!(From::whole::<u64>(&[]), None);
        assert_eq!(From::whole::<u64>(&[1, 1]), None, "one byte too many");
        assert_eq!(From::whole::<bool>(&[2]), None);
        assert_eq!(From::whole::<String>(&[1, 0xff]), None, "not UTF-8");
        assert_eq!(
            From::whole::<Vec<u8>>(&[200, 1, 1]),
            None,
            "longer than the bytes"
        );
        let texts = Vec::from([String::from("PC4"), String::new()]);
        assert_eq!(From::whole::<Vec<String>>(&bytes(&texts)), Some(texts));
    }
}
