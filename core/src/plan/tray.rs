//! What to lay out: packets by size.

use crate::needle::Pack;
use alloc::vec::Vec;

/// The packets that hold at least `wanted` needles with the fewest left over, and of those the
/// fewest packets. 1, 5 and 10 divide one another, so filling from the largest is exact. No packets
/// offered counts as singles.
#[must_use]
pub fn packets(wanted: u16, offered: &[Pack]) -> Vec<(Pack, u16)> {
    let mut left = wanted;
    let mut out = Vec::new();
    let smallest = offered.iter().copied().min().unwrap_or(Pack::One);
    for pack in Pack::LARGEST_FIRST {
        if pack != smallest && !offered.contains(&pack) {
            continue;
        }
        let holds = pack.needles();
        let count = if pack == smallest {
            left.div_ceil(holds)
        } else {
            // A larger packet is taken only when it is filled, unless what is left would need as
            // many needles from smaller ones anyway: 9 in fives is 10, so one ten does.
            let rounded = left
                .div_ceil(smallest.needles())
                .saturating_mul(smallest.needles());
            rounded.checked_div(holds).unwrap_or(0)
        };
        if count > 0 {
            out.push((pack, count));
            left = left.saturating_sub(count.saturating_mul(holds));
        }
    }
    out
}

/// How many needles these packets hold.
#[must_use]
pub fn held(packets: &[(Pack, u16)]) -> u16 {
    packets.iter().fold(0, |sum, (pack, count)| {
        sum.saturating_add(count.saturating_mul(pack.needles()))
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use Pack::{Five, One, Ten};
    use proptest::prelude::*;

    #[test]
    fn packets_by_hand() {
        assert_eq!(packets(35, &[Five, Ten]), [(Ten, 3), (Five, 1)]);
        assert_eq!(packets(9, &[Five, Ten]), [(Ten, 1)]);
        assert_eq!(packets(45, &[Five]), [(Five, 9)]);
        assert_eq!(packets(13, &[One, Five, Ten]), [(Ten, 1), (One, 3)]);
        assert_eq!(packets(13, &[One, Ten]), [(Ten, 1), (One, 3)]);
        assert_eq!(packets(3, &[Ten]), [(Ten, 1)]);
        assert_eq!(packets(3, &[]), [(One, 3)]);
        assert_eq!(packets(0, &[Five]), []);
    }

    proptest! {
        /// Against trying every combination.
        #[test]
        fn nothing_smaller_would_do(wanted in 0_u16..60, one: bool, five: bool, ten: bool) {
            let offered: Vec<Pack> =
                [(One, one), (Five, five), (Ten, ten)].into_iter().filter(|p| p.1).map(|p| p.0).collect();
            let found = packets(wanted, &offered);
            let count: u16 = found.iter().map(|p| p.1).sum();
            let has = |pack| offered.contains(&pack) || (offered.is_empty() && pack == One);
            let range = |pack, most: u16| if has(pack) { 0..=most } else { 0..=0 };
            let mut best = (u16::MAX, u16::MAX);
            for tens in range(Ten, 7) {
                for fives in range(Five, 13) {
                    for ones in range(One, 61) {
                        let holds = tens * 10 + fives * 5 + ones;
                        if holds >= wanted {
                            best = best.min((holds, tens + fives + ones));
                        }
                    }
                }
            }
            prop_assert_eq!((held(&found), count), best);
            prop_assert!(found.iter().all(|p| has(p.0)));
        }
    }
}
