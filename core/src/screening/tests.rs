//! Tests of the screening: laws that hold for any answers, and openness against brute force.

use super::*;

#[test]
fn all_unknown_is_never_none() {
    let knowledge = Knowledge::load().unwrap();
    let screening = knowledge
        .screen(&Case::new("2026-03-09".parse().unwrap()))
        .unwrap();
    assert_eq!(screening.verdict, Some(Outcome::Ask));
    assert!(screening.open.len() > 50);
}
