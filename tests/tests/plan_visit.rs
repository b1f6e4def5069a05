//! The plan of a visit: findings, limits, tray, hour. Scheduling figures are those of our scheduling
//! reference, section 2.4, proved there by bounds and agreed with a constraint solver (derived).

use pinfold_core::atlas::{Area, Atlas, Group, Region, Side};
use pinfold_core::base::units::{Micrometres, Seconds};
use pinfold_core::needle::{Kind, Needles, Pack};
use pinfold_core::plan::hour::{self, Needle, most_in_one_go};
use pinfold_core::plan::{
    Books, Capped, Cream, Fit, Limits, Offer, Omission, Options, Plan, Position, Reason, Slot,
    Target, Topical, Why, others_that_fit, plan, tray,
};
use pinfold_core::procedure::{Procedure, procedures};
use proptest::prelude::*;

struct Shelf {
    atlas: Atlas,
    needles: Needles,
    procedures: Vec<Procedure>,
}

impl Shelf {
    fn new() -> Self {
        Self {
            atlas: Atlas::load().expect("sound"),
            needles: Needles::load().expect("sound"),
            procedures: procedures().expect("sound"),
        }
    }
    fn books(&self) -> Books<'_> {
        Books {
            atlas: &self.atlas,
            needles: &self.needles,
        }
    }
    fn get(&self, id: &str) -> &Procedure {
        self.procedures.iter().find(|p| p.id == id).expect(id)
    }
    fn plan(&self, id: &str, omissions: &[Omission], limits: &Limits, options: &Options) -> Plan {
        plan(self.books(), self.get(id), omissions, limits, options)
    }
}

fn because(rule: &str) -> Reason {
    Reason {
        rule: rule.into(),
        words: format!("because of {rule}"),
    }
}

fn omit(what: Target) -> Omission {
    Omission {
        what,
        why: because("R"),
    }
}

fn cream(areas: &[Area]) -> Cream {
    Cream {
        areas: areas.iter().map(|area| (*area, 50)).collect(),
        amount: Some((150, 200)),
        apply: Seconds(120),
        least: Seconds(1800),
        most: Some(Seconds(3600)),
        wipe: Seconds(120),
        wait: Seconds(300),
    }
}

const FACE: [Area; 4] = [Area::Forehead, Area::EyeRim, Area::Cheek, Area::MouthJaw];

#[test]
fn a_pregnant_return_visit_loses_both_li4_and_says_why() {
    let shelf = Shelf::new();
    let whole = shelf.plan("return_full", &[], &Limits::default(), &Options::default());
    let rule = omit(Target::Group(Group::PregnancyCustom));
    let less = shelf.plan(
        "return_full",
        &[rule],
        &Limits::default(),
        &Options::default(),
    );
    assert_eq!(whole.needles - less.needles, 2);
    let gone: Vec<(&str, Side)> = less
        .left_out
        .iter()
        .map(|l| (l.point.as_str(), l.side))
        .collect();
    assert_eq!(gone, [("LI4", Side::Right), ("LI4", Side::Left)]);
    assert!(
        less.left_out
            .iter()
            .all(|l| l.why == [Why::Finding(because("R"))])
    );
    assert_eq!(less.regions[0].needles, 2);
    // The tray and the hour follow at once.
    let body = |plan: &Plan| {
        plan.tray
            .iter()
            .find(|t| t.id == "0.16x25")
            .expect("a line")
            .needed
    };
    assert_eq!((body(&whole), body(&less)), (8, 6));
    assert!(less.total < whole.total);
}

#[test]
fn one_arm_can_be_left_out_alone_and_every_reason_is_kept() {
    let shelf = Shelf::new();
    let arm = omit(Target::Area(Area::HandsArms, Side::Right));
    let point = Omission {
        what: Target::Point("LI4".into(), Side::Both),
        why: because("PR1"),
    };
    let plan = shelf.plan(
        "return_full",
        &[arm, point],
        &Limits::default(),
        &Options::default(),
    );
    let why = |side| {
        let left = plan
            .left_out
            .iter()
            .find(|l| l.point == "LI4" && l.side == side)
            .expect("left out");
        left.why.len()
    };
    assert_eq!((why(Side::Right), why(Side::Left)), (2, 1));
    assert_eq!(plan.regions[0].needles, 1, "TE5 left only");
    assert_eq!((plan.regions[0].pairs, plan.regions[0].singles), (0, 1));
    // The midline is not hit by a side.
    let right = omit(Target::Area(Area::Forehead, Side::Right));
    let plan = shelf.plan(
        "return_full",
        &[right],
        &Limits::default(),
        &Options::default(),
    );
    let forehead = plan
        .regions
        .iter()
        .find(|t| t.region.area == Area::Forehead)
        .expect("there");
    assert_eq!(
        forehead.needles, 6,
        "four on the left and two on the midline"
    );
}

#[test]
fn the_strictest_cap_rules_and_pairs_stay_pairs() {
    let shelf = Shelf::new();
    let limits = Limits {
        most_needles: vec![
            Capped::everywhere(30, because("A")),
            Capped::everywhere(21, because("B")),
        ],
        ..Limits::default()
    };
    let plan = shelf.plan("return_full", &[], &limits, &Options::default());
    assert!(plan.needles <= 21 && plan.needles >= 20, "{}", plan.needles);
    assert!(
        plan.left_out
            .iter()
            .all(|l| l.why == [Why::MostNeedles(21, because("B"))])
    );
    for block in &plan.blocks {
        for place in &block.places {
            let twins = plan
                .blocks
                .iter()
                .flat_map(|b| &b.places)
                .filter(|p| p.point == place.point)
                .count();
            assert_eq!(
                twins,
                if place.side == Side::Centre { 1 } else { 2 },
                "{}",
                place.point
            );
        }
    }
    // The heart of the procedure stays: LI4 and the point between the brows are marked keep first.
    for code in ["LI4", "EX-HN3", "GV20"] {
        assert!(
            plan.blocks
                .iter()
                .flat_map(|b| &b.places)
                .any(|p| p.point == code),
            "{code}"
        );
    }
}

#[test]
fn a_cap_on_a_part_leaves_the_rest_alone() {
    let shelf = Shelf::new();
    let cheek = Target::Area(Area::Cheek, Side::Right);
    let limits = Limits {
        most_needles: vec![Capped {
            most: 3,
            on: vec![cheek.clone()],
            why: because("N"),
        }],
        most_stay: vec![Capped {
            most: Seconds::from_minutes(12),
            on: vec![cheek.clone()],
            why: because("S"),
        }],
        most_depth: vec![
            Capped {
                most: Micrometres::from_mm(5),
                on: vec![cheek],
                why: because("D"),
            },
            Capped {
                most: Micrometres::from_mm(3),
                on: vec![Target::Point("SI18".into(), Side::Both)],
                why: because("E"),
            },
        ],
        ..Limits::default()
    };
    let plan = shelf.plan("return_full", &[], &limits, &Options::default());
    let count = |side| {
        let region = Region {
            area: Area::Cheek,
            side,
        };
        plan.of_region(region).map(|b| b.needles).sum::<u16>()
    };
    assert_eq!((count(Side::Right), count(Side::Left)), (3, 7));
    assert_eq!(plan.needles, 44);
    for block in &plan.blocks {
        let right = block.region.area == Area::Cheek && block.region.side == Side::Right;
        assert_eq!(
            block.stay.0,
            Seconds(if right { 720 } else { 1200 }),
            "{:?}",
            block.region
        );
        for place in &block.places {
            let expected = match (place.point.as_str(), right) {
                ("SI18", _) => Some(3),
                (_, true) => Some(5),
                _ => None,
            };
            assert_eq!(
                place.most_depth,
                expected.map(Micrometres::from_mm),
                "{}",
                place.point
            );
        }
    }
    assert_eq!(
        plan.mind,
        [because("D"), because("E")],
        "depths are said once each"
    );
    // Every needle of a kind.
    let tiny = omit(Target::Kind(Kind::Intradermal));
    let plan = shelf.plan(
        "return_lines",
        &[tiny],
        &Limits::default(),
        &Options::default(),
    );
    assert_eq!((plan.needles, plan.left_out.len()), (28, 8));
}

#[test]
fn limits_of_stay_position_and_wear_are_kept() {
    let shelf = Shelf::new();
    let limits = Limits {
        most_stay: vec![Capped::everywhere(
            Seconds::from_minutes(10),
            because("gentle"),
        )],
        position: Some((Position::OnFront, because("back pain"))),
        ..Limits::default()
    };
    let plan = shelf.plan("return_full", &[], &limits, &Options::default());
    assert!(
        plan.blocks
            .iter()
            .all(|b| b.stay == (Seconds(600), Seconds(600)))
    );
    assert!(plan.regions.iter().all(|t| !FACE.contains(&t.region.area)));
    assert_eq!(plan.position.as_ref().map(|p| p.0), Some(Position::OnFront));

    let mut worn = shelf.get("return_lines").clone();
    for module in &mut worn.modules {
        for step in &mut module.steps {
            step.worn_home = step.point == "NL1";
        }
    }
    let home = super_plan(&shelf, &worn, &Limits::default());
    assert_eq!(home.worn_home, 2);
    let block = home
        .blocks
        .iter()
        .find(|b| b.places[0].worn_home)
        .expect("a block");
    assert_eq!(block.taking_out, None, "it is not taken out here");
    let none = Limits {
        no_retained: vec![because("CX2")],
        ..Limits::default()
    };
    let plan = super_plan(&shelf, &worn, &none);
    assert_eq!((plan.worn_home, home.needles - plan.needles), (0, 2));
    assert!(
        plan.left_out
            .iter()
            .all(|l| l.why == [Why::Retained(because("CX2"))])
    );
}

fn super_plan(shelf: &Shelf, procedure: &Procedure, limits: &Limits) -> Plan {
    plan(shelf.books(), procedure, &[], limits, &Options::default())
}

#[test]
fn a_point_the_atlas_does_not_know_is_named_not_dropped() {
    let shelf = Shelf::new();
    let mut odd = shelf.get("first_short").clone();
    odd.modules[0].steps[0].point = "LI99".into();
    odd.modules[1].steps[0].side = Side::Both; // GV20 has no sides
    odd.modules[2].size.id = "9x9".into();
    let plan = super_plan(&shelf, &odd, &Limits::default());
    let why = |code: &str| {
        &plan
            .left_out
            .iter()
            .find(|l| l.point == code)
            .expect("named")
            .why
    };
    assert_eq!(why("LI99"), &[Why::UnknownPoint]);
    assert_eq!(why("GV20"), &[Why::UnknownPoint]);
    assert_eq!(why("EX-HN3"), &[Why::UnknownSize]);
    assert_eq!(plan.needles, 6);
}

#[test]
fn the_tray_of_the_full_visit_by_hand() {
    let shelf = Shelf::new();
    let plan = shelf.plan("return_full", &[], &Limits::default(), &Options::default());
    // Hands 4 + scalp 4 = 8; brow 6; forehead 10 + cheeks 14 + mouth 10 = 34. One spare of each.
    let lines: Vec<(&str, u16, u16)> = plan
        .tray
        .iter()
        .map(|t| (t.id.as_str(), t.needed, t.opened))
        .collect();
    assert_eq!(
        lines,
        [("0.16x25", 8, 10), ("0.16x15", 34, 35), ("0.20x15", 6, 10)]
    );
    assert_eq!(plan.tray[1].packs, [(Pack::Ten, 3), (Pack::Five, 1)]);
    assert_eq!((plan.needles, plan.opened), (48, 55));
    let mut options = Options::default();
    options.packs.insert("0.16x15".into(), vec![Pack::Five]);
    options
        .packs
        .insert("0.20x15".into(), vec![Pack::One, Pack::Five]);
    let plan = shelf.plan("return_full", &[], &Limits::default(), &options);
    assert_eq!(plan.tray[1].packs, [(Pack::Five, 7)]);
    assert_eq!(plan.tray[2].packs, [(Pack::Five, 1), (Pack::One, 2)]);
}

#[test]
fn chair_times_are_the_proven_ones() {
    // n, a, b, L, U, chair seconds.
    for (n, a, b, least, most, chair) in [
        (30, 12, 6, 1200, 1800, 1566),  // case 1
        (35, 12, 6, 1200, 1800, 1626),  // case 3, first in first out
        (20, 10, 10, 1200, 1800, 1410), // case 5
        (22, 8, 14, 1000, 1500, 1316),  // case 6
        (64, 30, 10, 900, 1500, 3030),  // case 7 (A07): removals at any time, proven best
    ] {
        let needle = Needle {
            place: Seconds(a),
            remove: Seconds(b),
            least: Seconds(least),
            most: Seconds(most),
            stays: false,
        };
        let run = hour::run(&vec![needle; n], &[], 0);
        assert_eq!(run.end, chair, "{n} needles");
        assert!(
            run.needles
                .iter()
                .all(|t| (least..=most).contains(&t.stay().0))
        );
        assert_eq!(run.interleaved, n == 64);
    }
    // The greatest number in one block: 151 (case 1) and 51 (case 7).
    assert_eq!(
        most_in_one_go(Seconds(12), Seconds(6), Seconds(1800)),
        Some(151)
    );
    assert_eq!(
        most_in_one_go(Seconds(30), Seconds(10), Seconds(1500)),
        Some(51)
    );
}

#[test]
fn the_hour_of_the_full_visit_by_hand() {
    let shelf = Shelf::new();
    let plan = shelf.plan("return_full", &[], &Limits::default(), &Options::default());
    // Placing: 8 at 20 s, 34 at 15 s, 6 at 20 s = 790 s after 300 s of opening. The last goes in at
    // 1090, stays 1200, is out 6 s later at 2296; closing takes 300.
    let last = plan.blocks.last().expect("blocks");
    assert_eq!(last.placing.to, 1090);
    assert_eq!(last.taking_out.expect("out").to, 2296);
    assert_eq!(plan.total, Seconds(2596));
    assert!(plan.overstays.is_empty() && !plan.interleaved);
    assert!(
        plan.blocks
            .iter()
            .all(|b| b.longest >= Seconds(1200) && b.longest <= Seconds(1800))
    );
    // First in, first out.
    let outs: Vec<u32> = plan
        .blocks
        .iter()
        .map(|b| b.taking_out.expect("out").from)
        .collect();
    assert!(outs.is_sorted());
}

#[test]
fn cream_dwells_while_the_hands_are_placed_and_comes_off_in_time() {
    let shelf = Shelf::new();
    let options = Options {
        cream: Some(cream(&FACE)),
        ..Options::default()
    };
    let plan = shelf.plan("return_full", &[], &Limits::default(), &options);
    let Topical::On(times) = &plan.topical else {
        panic!("cream is used")
    };
    // On from 300 to 420; due 2220; 8 needles at 20 s end just then; wiped 2220 to 2340; ready 2640.
    assert_eq!((times.on.from, times.on.to), (300, 420));
    assert_eq!(
        (times.off.from, times.off.to, times.ready),
        (2220, 2340, 2640)
    );
    assert_eq!(times.off_by, Some(4020));
    assert!(!times.late);
    assert_eq!(plan.blocks[0].placing.from, 2060);
    assert_eq!(plan.blocks[1].placing.to, 2220);
    assert!(
        plan.blocks[2..]
            .iter()
            .all(|b| b.placing.from >= times.ready)
    );

    let no = Limits {
        no_topical: vec![because("TA1")],
        ..Limits::default()
    };
    let plan = shelf.plan("return_full", &[], &no, &options);
    assert_eq!(plan.topical, Topical::LeftOut(vec![because("TA1")]));
    assert_eq!(plan.total, Seconds(2596));

    let broken = Limits {
        no_topical_on: vec![(Area::Cheek, because("TA9"))],
        ..Limits::default()
    };
    let plan = shelf.plan("return_full", &[], &broken, &options);
    let Topical::On(times) = &plan.topical else {
        panic!("cream is used")
    };
    assert!(!times.areas.contains(&Area::Cheek));
    assert_eq!(times.barred, [(Area::Cheek, because("TA9"))]);

    // Four areas of 50 cm2 at 150 to 200 mg on each: 1.5 to 2 g per 10 cm2 is a UK label's (read).
    let Topical::On(times) = shelf
        .plan("return_full", &[], &Limits::default(), &options)
        .topical
    else {
        panic!("cream is used")
    };
    assert_eq!((times.cm2, times.amount_mg), (200, Some((30_000, 40_000))));
    assert_eq!(times.too_wide, None);
    let atopic = Limits {
        cream_stay: vec![(Seconds::from_minutes(20), because("SK7"))],
        cream_area: vec![(100, because("small"))],
        ..Limits::default()
    };
    let plan = shelf.plan("return_full", &[], &atopic, &options);
    let Topical::On(times) = &plan.topical else {
        panic!("cream is used")
    };
    assert_eq!(
        (times.off.from, times.off_by, times.late),
        (1620, Some(1620), false)
    );
    assert_eq!(times.too_wide, Some((100, because("small"))));
    assert_eq!(plan.mind, [because("SK7")]);

    let plan = shelf.plan("body_only", &[], &Limits::default(), &options);
    assert_eq!(plan.topical, Topical::None, "nothing is needled there");
}

#[test]
fn a_slot_too_short_is_said_and_offers_fit_when_taken() {
    let shelf = Shelf::new();
    let slot = Slot {
        start: 13 * 60 + 30,
        length: Seconds::from_minutes(45),
    };
    let options = Options {
        cream: Some(cream(&FACE)),
        slot: Some(slot),
        ..Options::default()
    };
    let tight = shelf.plan("return_full", &[], &Limits::default(), &options);
    let Fit::TooLong(over, offers) = &tight.fit else {
        panic!("{:?}", tight.fit)
    };
    assert_eq!(over.0, tight.total.0 - slot.length.0);
    assert_eq!(offers.last(), Some(&Offer::Longer(*over)));
    assert!(
        offers.contains(&Offer::WithoutCream(Seconds(2596))),
        "{offers:?}"
    );

    let short = Slot {
        length: Seconds::from_minutes(40),
        ..slot
    };
    let options = Options {
        slot: Some(short),
        ..Options::default()
    };
    let tight = shelf.plan("return_full", &[], &Limits::default(), &options);
    let Fit::TooLong(_, offers) = &tight.fit else {
        panic!("{:?}", tight.fit)
    };
    let &Offer::Fewer(needles, total) = &offers[0] else {
        panic!("{offers:?}")
    };
    let limits = Limits {
        most_needles: vec![Capped::everywhere(needles, because("slot"))],
        ..Limits::default()
    };
    let taken = shelf.plan("return_full", &[], &limits, &options);
    assert_eq!((taken.needles, taken.total), (needles, total));
    assert!(matches!(taken.fit, Fit::Fits(_)));
    // One step more would not fit.
    let limits = Limits {
        most_needles: vec![Capped::everywhere(needles + 2, because("slot"))],
        ..Limits::default()
    };
    assert!(matches!(
        shelf.plan("return_full", &[], &limits, &options).fit,
        Fit::TooLong(..)
    ));
    // 13:30 and 40 minutes, when it fits.
    assert!(taken.leave_at.expect("a time") <= 14 * 60 + 10);

    let others = others_that_fit(
        shelf.books(),
        &shelf.procedures,
        "return_full",
        &[],
        &Limits::default(),
        &options,
    );
    assert!(
        others
            .iter()
            .any(|(id, needles, _)| id == "first_short" && *needles == 12)
    );
    assert!(others.iter().all(|(id, ..)| id != "return_full"));
}

#[test]
fn intradermals_are_counted_with_the_region_they_lie_in() {
    let shelf = Shelf::new();
    let plan = shelf.plan("return_lines", &[], &Limits::default(), &Options::default());
    let regions: Vec<String> = plan.regions.iter().map(|t| t.region.to_string()).collect();
    assert_eq!(regions.iter().filter(|r| r.starts_with("cheek")).count(), 2);
    let cheek = Region {
        area: Area::Cheek,
        side: Side::Right,
    };
    let total = plan
        .regions
        .iter()
        .find(|t| t.region == cheek)
        .expect("there")
        .needles;
    let in_blocks: u16 = plan
        .blocks
        .iter()
        .filter(|b| b.region == cheek)
        .map(|b| b.needles)
        .sum();
    assert_eq!((total, in_blocks), (5, 5));
    assert_eq!(plan.of_region(cheek).count(), 2);
    assert_eq!(plan.size_of(cheek), None, "two sizes");
    assert_eq!(
        plan.stay_of(cheek),
        Seconds(1200),
        "the longer of 20 and 10 minutes"
    );
    let rule = omit(Target::Area(Area::Cheek, Side::Right));
    let plan = shelf.plan(
        "return_lines",
        &[rule],
        &Limits::default(),
        &Options::default(),
    );
    assert_eq!(plan.emptied(), [cheek]);
    // Numbers go on within the area and both sides of a pair share theirs.
    for area in Area::ALL {
        let mut numbers: Vec<(u16, &str)> = plan
            .blocks
            .iter()
            .filter(|b| b.region.area == *area)
            .flat_map(|b| &b.places)
            .map(|p| (p.number, p.point.as_str()))
            .collect();
        numbers.sort_unstable();
        numbers.dedup();
        for (at, (number, _)) in numbers.iter().enumerate() {
            assert_eq!(usize::from(*number), at + 1, "{numbers:?}");
        }
    }
}

fn any_target() -> impl Strategy<Value = Target> {
    let side = prop_oneof![
        Just(Side::Right),
        Just(Side::Left),
        Just(Side::Both),
        Just(Side::Centre)
    ];
    let codes: Vec<String> = Atlas::load()
        .expect("sound")
        .points()
        .map(|p| p.code.clone())
        .chain(["".into(), "LI99".into(), "\u{1F9F7}".into()])
        .collect();
    prop_oneof![
        (proptest::sample::select(codes), side.clone()).prop_map(|(c, s)| Target::Point(c, s)),
        (proptest::sample::select(Area::ALL), side).prop_map(|(a, s)| Target::Area(a, s)),
        proptest::sample::select(vec![
            Group::Orbit,
            Group::Rim,
            Group::NeckFront,
            Group::NeckBack,
            Group::PregnancyCustom
        ])
        .prop_map(Target::Group),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn leaving_points_out_never_raises_a_count(
        which in 0_usize..4,
        targets in proptest::collection::vec(any_target(), 0..12),
        cut in 0_usize..12,
    ) {
        let shelf = Shelf::new();
        let id = &shelf.procedures[which].id;
        let omissions: Vec<Omission> = targets.into_iter().map(omit).collect();
        let fewer = &omissions[..cut.min(omissions.len())];
        let more = shelf.plan(id, fewer, &Limits::default(), &Options::default());
        let less = shelf.plan(id, &omissions, &Limits::default(), &Options::default());
        prop_assert!(less.needles <= more.needles);
        prop_assert!(less.total <= more.total);
        prop_assert!(less.opened <= more.opened);
        for total in &less.regions {
            let before = more.regions.iter().find(|t| t.region == total.region);
            prop_assert!(before.is_some_and(|t| t.needles >= total.needles));
        }
        // Nothing vanishes: planned and left out make the whole.
        let left: u16 = less.left_out.iter().map(|l| l.needles).sum();
        let whole = shelf.plan(id, &[], &Limits::default(), &Options::default());
        prop_assert_eq!(less.needles + left, whole.needles);
    }

    #[test]
    fn any_input_gives_a_sound_plan(
        which in 0_usize..4,
        targets in proptest::collection::vec(any_target(), 0..8),
        caps in proptest::collection::vec(0_u16..70, 0..3),
        stay in proptest::option::of(0_u32..4000),
        spares in 0_u16..=u16::MAX,
        seconds in proptest::array::uniform5(prop_oneof![0_u32..8000, Just(u32::MAX)]),
        most in proptest::option::of(0_u32..9000),
        slot in proptest::option::of((0_u16..1440, 0_u32..10_000)),
        packs in proptest::collection::vec(proptest::sample::select(vec![Pack::One, Pack::Five, Pack::Ten]), 0..3),
        barred: bool,
    ) {
        let shelf = Shelf::new();
        let procedure = &shelf.procedures[which];
        let omissions: Vec<Omission> = targets.into_iter().map(omit).collect();
        let limits = Limits {
            most_needles: caps.iter().map(|cap| Capped::everywhere(*cap, because("cap"))).collect(),
            most_stay: stay.map(|s| Capped::everywhere(Seconds(s), because("stay"))).into_iter().collect(),
            no_topical_on: if barred { vec![(Area::Cheek, because("sore"))] } else { vec![] },
            ..Limits::default()
        };
        let [apply, least, wipe, wait, open] = seconds.map(Seconds);
        let mut options = Options {
            spares,
            open,
            cream: Some(Cream { areas: FACE.iter().map(|area| (*area, most.unwrap_or(0))).collect(), amount: least.0.checked_mul(2).map(|n| (least.0, n)), apply, least, most: most.map(Seconds), wipe, wait }),
            slot: slot.map(|(start, length)| Slot { start, length: Seconds(length) }),
            ..Options::default()
        };
        options.packs.insert("0.16x15".into(), packs);
        let made = plan(shelf.books(), procedure, &omissions, &limits, &options);
        // The same again is the same.
        prop_assert_eq!(&made, &plan(shelf.books(), procedure, &omissions, &limits, &options));
        if let Some(cap) = caps.iter().min() {
            prop_assert!(made.needles <= *cap);
        }
        let by_block: u16 = made.blocks.iter().map(|b| b.needles).sum();
        let by_region: u16 = made.regions.iter().map(|t| t.needles).sum();
        let by_size: u16 = made.tray.iter().map(|t| t.needed).sum();
        prop_assert!([by_block, by_region, by_size].iter().all(|n| *n == made.needles));
        for line in &made.tray {
            prop_assert_eq!(tray::held(&line.packs), line.opened);
            // Packs cover what is needed and the spares, so far as numbers go.
            prop_assert!(u32::from(line.opened) >= u32::from(line.needed));
            if spares < 1000 {
                prop_assert!(line.opened >= line.needed + spares);
            }
        }
        for block in &made.blocks {
            let sides: u16 = block.places.iter().map(|p| p.needles).sum();
            prop_assert_eq!(sides, block.needles);
            prop_assert!(block.places.iter().all(|p| p.side != Side::Both));
            prop_assert!(block.stay.0 <= block.stay.1);
        }
        if let Fit::TooLong(_, offers) = &made.fit {
            for offer in offers {
                if let Offer::Fewer(needles, total) | Offer::FewerWithoutCream(needles, total) = offer {
                    prop_assert!(*needles < made.needles);
                    prop_assert!(total.0 <= options.slot.expect("a slot").length.0);
                }
            }
        }
    }
}
