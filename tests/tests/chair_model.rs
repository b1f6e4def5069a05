//! The ledger against a toy: a bag of needles per region, a heap per size. Random acts, undo,
//! corrections, reload and the merging of two phones.

use pinfold_core::atlas::{Area, Region, Side};
use pinfold_core::base::id::EntryId;
use pinfold_core::base::units::Micrometres;
use pinfold_core::event::session::How;
use pinfold_core::journal::Journal;
use pinfold_core::ledger::{ChairCommand as C, Ledger, Refusal};
use pinfold_core::needle::{Kind, Size};
use pinfold_core::session::State;
use pinfold_tests::check::property;
use pinfold_tests::{act, count_only, hand};
use proptest::prelude::*;

#[derive(Clone, Debug)]
enum Act {
    Pack(u8, u16),
    Place(u8, u8, u16),
    TakeOut(u8, u16),
    AllOut,
    CountedOut(u16),
    LeaveIn(u8, u16),
    NotFound(u8, u16),
    Spoil(u8, u16),
    Strips(u8, u16),
    Undo,
}

fn any_act() -> impl Strategy<Value = Act> {
    prop_oneof![
        2 => (0..3_u8, 1..12_u16).prop_map(|(s, n)| Act::Pack(s, n)),
        5 => (0..4_u8, 0..3_u8, 1..9_u16).prop_map(|(r, s, n)| Act::Place(r, s, n)),
        4 => (0..4_u8, 0..10_u16).prop_map(|(r, n)| Act::TakeOut(r, n)),
        1 => Just(Act::AllOut),
        1 => (1..9_u16).prop_map(Act::CountedOut),
        1 => (0..4_u8, 1..3_u16).prop_map(|(r, n)| Act::LeaveIn(r, n)),
        1 => (0..4_u8, 1..3_u16).prop_map(|(r, n)| Act::NotFound(r, n)),
        1 => (0..3_u8, 1..4_u16).prop_map(|(s, n)| Act::Spoil(s, n)),
        1 => (0..3_u8, 0..6_u16).prop_map(|(s, n)| Act::Strips(s, n)),
        2 => Just(Act::Undo),
    ]
}

fn region(n: u8) -> Region {
    let area = [Area::HandsArms, Area::Scalp, Area::Cheek, Area::Cheek][usize::from(n)];
    Region {
        area,
        side: if n == 3 { Side::Left } else { Side::Right },
    }
}

/// 0 stands for "nobody said".
fn size(n: u8) -> Option<Size> {
    (n > 0).then(|| Size {
        kind: Kind::Filiform,
        diameter: Micrometres(if n == 1 { 160 } else { 200 }),
        length: Micrometres::from_mm(15),
    })
}

/// A bag of needles in one region.
#[derive(Clone, Copy, Default, Debug, PartialEq)]
struct Bag {
    placed: u32,
    inside: u32,
    out: u32,
    uncounted: u32,
    stays: u32,
    lost: u32,
}

#[derive(Clone, Default, Debug)]
struct Toy {
    bags: [Bag; 4],
    held: [u32; 3],
    placed: [u32; 3],
    spoilt: [u32; 3],
    strips: [Option<u32>; 3],
}

impl Toy {
    fn handled(&mut self, s: usize) {
        for (i, strip) in self.strips.iter_mut().enumerate() {
            if i == s || i == 0 || s == 0 {
                *strip = None;
            }
        }
    }

    /// The toy's own idea of what an act does; `None` if it cannot be, which is refused.
    fn act(&mut self, act: &Act) -> Option<()> {
        match *act {
            Act::Pack(s, n) => {
                self.handled(s.into());
                self.held[usize::from(s)] += u32::from(n);
            }
            Act::Place(r, s, n) => {
                self.handled(s.into());
                self.placed[usize::from(s)] += u32::from(n);
                let bag = &mut self.bags[usize::from(r)];
                bag.placed += u32::from(n);
                bag.inside += u32::from(n);
            }
            Act::TakeOut(r, n) => {
                let bag = &mut self.bags[usize::from(r)];
                let mut left = u32::from(n);
                for from in [
                    &mut bag.inside,
                    &mut bag.uncounted,
                    &mut bag.lost,
                    &mut bag.stays,
                ] {
                    let taken = left.min(*from);
                    *from -= taken;
                    left -= taken;
                }
                // What came out had been in.
                bag.placed += left;
                self.placed[0] += left;
                bag.out += u32::from(n);
            }
            Act::AllOut => {
                for bag in &mut self.bags {
                    bag.uncounted += bag.inside + bag.stays;
                    (bag.inside, bag.stays) = (0, 0);
                }
            }
            Act::CountedOut(_) => return None, // which bag they lay in is the ledger's choice; see below
            Act::LeaveIn(r, n) => {
                let bag = &mut self.bags[usize::from(r)];
                bag.inside = bag.inside.checked_sub(n.into())?;
                bag.stays += u32::from(n);
            }
            Act::NotFound(r, n) => {
                let bag = &mut self.bags[usize::from(r)];
                if bag.inside + bag.uncounted < n.into() {
                    return None;
                }
                let inside = bag.inside.min(n.into());
                bag.inside -= inside;
                bag.uncounted -= u32::from(n) - inside;
                bag.lost += u32::from(n);
            }
            Act::Spoil(s, n) => {
                self.handled(s.into());
                self.spoilt[usize::from(s)] += u32::from(n);
            }
            Act::Strips(s, n) => self.strips[usize::from(s)] = Some(n.into()),
            Act::Undo => {}
        }
        Some(())
    }

    /// Opened and unaccounted by brute force: one needle at a time finds itself a packet.
    fn opened(&self) -> (u32, u32) {
        let mut left = self.held;
        let mut seen =
            [0, 1, 2].map(|s| self.placed[s] + self.spoilt[s] + self.strips[s].unwrap_or(0));
        let mut nowhere = 0;
        for s in [1, 2, 0] {
            for _ in 0..seen[s] {
                if left[s] > 0 {
                    left[s] -= 1;
                    seen[s] -= 1;
                }
            }
        }
        for (s, n) in seen.into_iter().enumerate() {
            for _ in 0..n {
                let other: &[usize] = if s == 0 { &[1, 2] } else { &[0] };
                match other.iter().find(|o| left[**o] > 0) {
                    Some(o) => left[*o] -= 1,
                    None => nowhere += 1,
                }
            }
        }
        (self.held.iter().sum::<u32>() + nowhere, left.iter().sum())
    }
}

fn command(session: EntryId, act: &Act) -> C {
    match *act {
        Act::Pack(s, held) => C::OpenPack {
            session,
            held,
            size: size(s),
            lot: None,
        },
        Act::Place(r, s, count) => C::Place {
            session,
            region: region(r),
            count,
            size: size(s),
            points: Vec::new(),
            stay: None,
        },
        Act::TakeOut(r, count) => C::TakeOut {
            session,
            region: region(r),
            count,
            how: How::Taken,
            first: None,
        },
        Act::AllOut => C::AllOut { session },
        Act::CountedOut(count) => C::CountedOut { session, count },
        Act::LeaveIn(r, count) => C::LeaveIn {
            session,
            region: region(r),
            count,
            longest: None,
        },
        Act::NotFound(r, count) => C::NotFound {
            session,
            region: region(r),
            count,
            words: "searched hair and linen".into(),
        },
        Act::Spoil(s, count) => C::Spoil {
            session,
            count,
            size: size(s),
        },
        Act::Strips(s, left) => C::CountStrips {
            session,
            size: size(s),
            left,
        },
        Act::Undo => C::Undo { session },
    }
}

fn sums_hold(state: &State) -> Result<(), TestCaseError> {
    let s = &state.sum;
    prop_assert_eq!(
        s.opened,
        s.placed + s.unused + s.spoilt + s.unaccounted,
        "first sum"
    );
    prop_assert_eq!(
        s.placed,
        s.in_now + s.out + s.out_uncounted + s.stays_in + s.not_found,
        "second sum"
    );
    let mut by_region = 0;
    for r in state.regions.values() {
        prop_assert_eq!(
            r.placed,
            r.in_now + r.out + r.out_uncounted + r.stays_in + r.not_found
        );
        by_region += r.placed;
    }
    prop_assert_eq!(by_region, s.placed);
    Ok(())
}

fn same_as_toy(state: &State, toy: &Toy) -> Result<(), TestCaseError> {
    for (i, bag) in toy.bags.iter().enumerate() {
        let r = state
            .regions
            .get(&region(i as u8))
            .copied()
            .unwrap_or_default();
        let real = Bag {
            placed: r.placed,
            inside: r.in_now,
            out: r.out,
            uncounted: r.out_uncounted,
            stays: r.stays_in,
            lost: r.not_found,
        };
        prop_assert_eq!(real, *bag, "region {}", i);
    }
    let (opened, unaccounted) = toy.opened();
    prop_assert_eq!(state.sum.opened, opened);
    prop_assert_eq!(state.sum.unaccounted, unaccounted);
    prop_assert_eq!(state.sum.spoilt, toy.spoilt.iter().sum::<u32>());
    prop_assert_eq!(state.sum.unused, toy.strips.iter().flatten().sum::<u32>());
    Ok(())
}

#[test]
fn a_bag_of_needles_agrees() {
    property(
        "ledger and toy",
        2000,
        &prop::collection::vec(any_act(), 1..40),
        |acts| {
            let (mut ledger, session) = count_only(1);
            let mut past: Vec<Toy> = Vec::new();
            let mut toy = Toy::default();
            for (i, one) in acts.iter().enumerate() {
                let at = hand(1, i as i64 * 1000 + 1000);
                if matches!(one, Act::CountedOut(_)) {
                    continue;
                }
                let done = act(&mut ledger, command(session, one), &at);
                if matches!(one, Act::Undo) {
                    match past.pop() {
                        Some(before) => {
                            prop_assert_eq!(done, Ok(()));
                            toy = before;
                        }
                        None => prop_assert_eq!(done, Err(Refusal::NothingToUndo)),
                    }
                } else {
                    let mut after = toy.clone();
                    if after.act(one).is_some() {
                        prop_assert_eq!(done, Ok(()), "{:?}", one);
                        past.push(std::mem::replace(&mut toy, after));
                    } else {
                        prop_assert!(done.is_err(), "{:?}", one);
                    }
                }
                let state = ledger.session(session).unwrap().state();
                sums_hold(state)?;
                same_as_toy(state, &toy)?;
            }
            // A reload reads the same lines and folds to the same state.
            let lines = ledger.journal().to_lines();
            let read = Journal::from_lines(&lines);
            prop_assert!(read.flaws.is_empty());
            let again = Ledger::new(read.journal);
            prop_assert_eq!(
                again.session(session).unwrap().state(),
                ledger.session(session).unwrap().state()
            );
            Ok(())
        },
    );
}

#[test]
fn needles_taken_in_a_hurry_are_counted_back() {
    let acts = prop::collection::vec(any_act(), 1..30);
    property(
        "counted from the tray",
        1000,
        &(acts, 1..60_u16),
        |(acts, n)| {
            let (mut ledger, session) = count_only(1);
            for (i, one) in acts.iter().enumerate() {
                let _ = act(
                    &mut ledger,
                    command(session, one),
                    &hand(1, i as i64 * 1000),
                );
            }
            act(&mut ledger, C::AllOut { session }, &hand(1, 90_000)).unwrap();
            let before = ledger.session(session).unwrap().state().sum;
            prop_assert_eq!(before.in_now + before.stays_in, 0);
            let done = act(
                &mut ledger,
                C::CountedOut { session, count: n },
                &hand(1, 91_000),
            );
            let after = ledger.session(session).unwrap().state().sum;
            if u32::from(n) <= before.out_uncounted {
                prop_assert_eq!(done, Ok(()));
                prop_assert_eq!(after.out, before.out + u32::from(n));
                prop_assert_eq!(after.out_uncounted, before.out_uncounted - u32::from(n));
            } else {
                prop_assert_eq!(done, Err(Refusal::OutOfRange));
                prop_assert_eq!(after, before);
            }
            sums_hold(ledger.session(session).unwrap().state())
        },
    );
}

#[test]
fn two_phones_come_together_in_any_order() {
    let some = || prop::collection::vec(any_act(), 0..15);
    property(
        "merge of two phones",
        1000,
        &(some(), some(), some()),
        |(before, here, there)| {
            let (mut a, session) = count_only(1);
            for (i, one) in before.iter().enumerate() {
                let _ = act(&mut a, command(session, one), &hand(1, i as i64 * 1000));
            }
            let mut b = Ledger::new(a.journal().clone());
            for (i, one) in here.iter().enumerate() {
                let _ = act(
                    &mut a,
                    command(session, one),
                    &hand(1, 60_000 + i as i64 * 1000),
                );
            }
            for (i, one) in there.iter().enumerate() {
                let _ = act(
                    &mut b,
                    command(session, one),
                    &hand(2, 60_500 + i as i64 * 1000),
                );
            }
            let (ja, jb) = (a.journal().clone(), b.journal().clone());
            a.merge(&jb);
            b.merge(&ja);
            let of = |l: &Ledger| l.session(session).unwrap().state().clone();
            prop_assert_eq!(of(&a), of(&b), "commutative");
            sums_hold(&of(&a))?;
            let once = of(&a);
            a.merge(&jb);
            prop_assert_eq!(of(&a), once, "idempotent");
            Ok(())
        },
    );
}

#[test]
fn a_doubled_out_errs_toward_still_in() {
    property(
        "doubled out",
        1000,
        &(1..20_u16, 0..20_u16, 0..20_u16),
        |(placed, x, y)| {
            let (x, y) = (x.min(placed), y.min(placed));
            let (mut a, session) = count_only(1);
            act(
                &mut a,
                command(session, &Act::Place(2, 0, placed)),
                &hand(1, 1000),
            )
            .unwrap();
            let mut b = Ledger::new(a.journal().clone());
            act(
                &mut a,
                command(session, &Act::TakeOut(2, x)),
                &hand(1, 2000),
            )
            .unwrap();
            act(
                &mut b,
                command(session, &Act::TakeOut(2, y)),
                &hand(2, 2000),
            )
            .unwrap();
            let jb = b.journal().clone();
            a.merge(&jb);
            let state = a.session(session).unwrap().state();
            prop_assert_eq!(state.sum.in_now, u32::from(placed - x.max(y)));
            prop_assert!(state.sum.in_now >= u32::from(placed.saturating_sub(x + y)));
            prop_assert_eq!(
                state.flaws.is_empty(),
                x == 0 || y == 0,
                "a doubled out is named"
            );
            Ok(())
        },
    );
}

#[test]
fn a_fact_merged_into_a_closed_session_opens_it_again() {
    let (mut a, session) = count_only(1);
    let place = command(session, &Act::Place(2, 0, 3));
    act(&mut a, place.clone(), &hand(1, 1000)).unwrap();
    let mut b = Ledger::new(a.journal().clone());
    act(
        &mut a,
        command(session, &Act::TakeOut(2, 3)),
        &hand(1, 2000),
    )
    .unwrap();
    let words = Some("packets were opened before the count".to_string());
    act(&mut a, C::Close { session, words }, &hand(1, 3000)).unwrap();
    assert!(
        a.session(session).unwrap().state().closed.is_some(),
        "control: it was closed"
    );
    act(&mut b, place, &hand(2, 1500)).unwrap();
    let jb = b.journal().clone();
    a.merge(&jb);
    let state = a.session(session).unwrap().state();
    assert_eq!(
        (state.closed, state.reopened, state.sum.in_now),
        (None, true, 3)
    );
}

#[test]
fn closing_is_refused_until_it_adds_up() {
    // Needles in 32, out 31: the session cannot close. Clean needle technique manual as quoted in a
    // 2021 safety column [read, second-hand].
    let (mut ledger, session) = count_only(1);
    let mut at = 0;
    let mut go = |ledger: &mut Ledger, c: C| {
        at += 1000;
        act(ledger, c, &hand(1, at))
    };
    for held in [10, 10, 10, 2] {
        go(
            &mut ledger,
            C::OpenPack {
                session,
                held,
                size: size(1),
                lot: None,
            },
        )
        .unwrap();
    }
    go(&mut ledger, command(session, &Act::Place(1, 1, 20))).unwrap();
    go(&mut ledger, command(session, &Act::Place(2, 1, 12))).unwrap();
    go(&mut ledger, command(session, &Act::TakeOut(1, 19))).unwrap();
    go(&mut ledger, command(session, &Act::TakeOut(2, 12))).unwrap();
    go(&mut ledger, command(session, &Act::Strips(1, 0))).unwrap();
    let close = C::Close {
        session,
        words: None,
    };
    assert!(matches!(
        go(&mut ledger, close.clone()),
        Err(Refusal::StillOpen(_))
    ));
    assert!(ledger.session(session).unwrap().state().closed.is_none());
    // Words alone do not close over a needle that is in.
    let words = Some("I am sure they are all out".to_string());
    assert!(go(&mut ledger, C::Close { session, words }).is_err());
    go(&mut ledger, command(session, &Act::TakeOut(1, 1))).unwrap();
    go(&mut ledger, close).unwrap();
    assert!(ledger.session(session).unwrap().state().closed.is_some());
}
