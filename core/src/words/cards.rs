//! Emergency cards: what to do when somebody is unwell. Written in `data/cards.toml`, each with its
//! source and mark.

use crate::base::cite::Mark;
use crate::event::session::IncidentKind;

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

/// The card for something that went wrong; none for *something else*.
#[must_use]
pub fn card(kind: IncidentKind) -> Option<&'static Card> {
    let id = match kind {
        IncidentKind::Faint => "faint",
        IncidentKind::Bleeding | IncidentKind::Bruise => "bleed",
        IncidentKind::Haematoma => "haematoma",
        IncidentKind::StuckNeedle => "stuck",
        IncidentKind::BentOrBroken => "broken",
        IncidentKind::StrongPain => "pain",
        IncidentKind::Toxicity => "cream",
        IncidentKind::Eye => "eye",
        IncidentKind::Chest => "breath",
        IncidentKind::Needlestick => "stick",
        IncidentKind::Other => return None,
    };
    CARDS.iter().find(|card| card.id == id)
}

/// The name of a kind of incident.
#[must_use]
pub const fn incident(kind: IncidentKind) -> &'static str {
    match kind {
        IncidentKind::Faint => "Faint, or about to",
        IncidentKind::Bleeding => "Bled",
        IncidentKind::Bruise => "Bruise",
        IncidentKind::Haematoma => "Swelling of blood that grows",
        IncidentKind::StuckNeedle => "A needle did not come out",
        IncidentKind::BentOrBroken => "Bent or broken needle",
        IncidentKind::StrongPain => "Strong pain",
        IncidentKind::Toxicity => "Signs of too much numbing cream",
        IncidentKind::Eye => "Signs about an eye",
        IncidentKind::Chest => "Signs about the chest",
        IncidentKind::Needlestick => "Practitioner stuck by a used needle",
        IncidentKind::Other => "Something else",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_kind_of_incident_has_a_card_but_something_else() {
        for kind in IncidentKind::ALL {
            let other = *kind == IncidentKind::Other;
            assert_eq!(card(*kind).is_none(), other, "{kind:?}");
            assert!(!incident(*kind).is_empty());
        }
        // The reference's 5.3, action (LAST, read second-hand): wipe off, needles out, say what it is.
        let toxic = card(IncidentKind::Toxicity).unwrap();
        assert!(
            toxic
                .lines
                .iter()
                .any(|l| l.contains("local anaesthetic toxicity"))
        );
    }

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
