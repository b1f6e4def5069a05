//! What to say on the phone when a person calls after a visit. Written in `data/calls.toml`, each with
//! its source and mark.

use crate::base::cite::Mark;
use crate::event::person::CallKind;

/// What to say about one thing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Call {
    /// Stable id.
    pub id: &'static str,
    /// What they call with.
    pub title: &'static str,
    /// What is usual.
    pub usual: &'static [&'static str],
    /// What needs a doctor today.
    pub today: &'static [&'static str],
    /// What needs the emergency number now.
    pub now: &'static [&'static str],
    /// Source keys.
    pub source: &'static str,
    /// How well its weakest line is supported.
    pub mark: Mark,
}

/// Every call.
pub const CALLS: &[Call] = include!(concat!(env!("OUT_DIR"), "/calls.rs"));

/// What to say about a kind of call.
#[must_use]
pub fn call(about: CallKind) -> Option<&'static Call> {
    let id = match about {
        CallKind::Bruise => "bruise",
        CallKind::Headache => "headache",
        CallKind::Chest => "chest",
        CallKind::Eye => "eye",
        CallKind::Other => "other",
    };
    CALLS.iter().find(|call| call.id == id)
}

/// Heads above its lines, and what stands above them all.
#[expect(missing_docs, reason = "each field is the sentence it holds")]
pub struct CallWords {
    pub first: &'static str,
    pub usual: &'static str,
    pub today: &'static str,
    pub now: &'static str,
    pub told: &'static str,
    pub said: &'static str,
}

/// English.
pub const EN: CallWords = CallWords {
    first: "Local emergency care and your own training come first. If in doubt, send them on.",
    usual: "Usual",
    today: "A doctor today",
    now: "Call the emergency number now",
    told: "What they told",
    said: "What you said",
};

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn chest_and_sight_send_to_the_emergency_number() {
        for about in [
            CallKind::Bruise,
            CallKind::Headache,
            CallKind::Chest,
            CallKind::Eye,
            CallKind::Other,
        ] {
            let call = call(about).unwrap();
            assert!(
                !call.now.is_empty() && !call.source.is_empty(),
                "{}",
                call.id
            );
        }
        // Red flag rows RF6 (headache at its worst within minutes), RF8 and RF11 of the reference.
        assert!(
            call(CallKind::Chest).unwrap().usual.is_empty(),
            "chest pain is never usual"
        );
        assert!(call(CallKind::Headache).unwrap().now[0].contains("five minutes"));
        assert!(call(CallKind::Eye).unwrap().now[0].contains("doubled"));
    }
}
