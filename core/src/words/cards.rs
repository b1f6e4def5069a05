//! Emergency cards: what to do when somebody is unwell. Written in `data/cards.toml`, each with its
//! source and mark.

use crate::base::cite::Mark;

/// One card.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Card {
    /// Stable id.
    pub id: &'static str,
    /// When it is meant.
    pub title: &'static str,
    /// What to do, in order.
    pub lines: &'static [&'static str],
    /// Source keys.
    pub source: &'static str,
    /// How well its weakest line is supported.
    pub mark: Mark,
}

/// Every card, the likeliest first.
pub const CARDS: &[Card] = include!(concat!(env!("OUT_DIR"), "/cards.rs"));

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_faint_is_first_and_counting_waits_until_the_person_is_safe() {
        // WHO guidelines 1999, section 3.3 (read): lay flat, needles out, count afterwards.
        let first = CARDS.first().unwrap();
        assert_eq!(first.id, "faint");
        assert!(
            first
                .lines
                .iter()
                .any(|l| l.contains("when the person is safe"))
        );
        assert!(CARDS.iter().all(|c| !c.source.is_empty()));
    }
}
