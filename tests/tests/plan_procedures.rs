//! Our procedures: what they claim, and the customs they follow. Customs are common practice: no
//! single source, asserted as such.

use pinfold_core::atlas::{Area, Atlas, Group, Side};
use pinfold_core::base::cite::Mark;
use pinfold_core::needle::Needles;
use pinfold_core::plan::{Books, Limits, Options, Plan, plan};
use pinfold_core::procedure::{Direction, How, ModuleName, Procedure, procedures};

fn whole(id: &str) -> (Procedure, Plan) {
    let atlas = Atlas::load().expect("sound");
    let needles = Needles::load().expect("sound");
    let books = Books {
        atlas: &atlas,
        needles: &needles,
    };
    let procedure = procedures()
        .expect("sound")
        .into_iter()
        .find(|p| p.id == id)
        .expect(id);
    let plan = plan(
        books,
        &procedure,
        &[],
        &Limits::default(),
        &Options::default(),
    );
    (procedure, plan)
}

#[test]
fn counts_are_what_is_claimed() {
    for (id, needles) in [
        ("first_short", 12),
        ("return_full", 48),
        ("return_lines", 36),
        ("body_only", 12),
    ] {
        let (procedure, plan) = whole(id);
        assert_eq!(
            (plan.needles, procedure.needles),
            (needles, needles),
            "{id}"
        );
        assert!(plan.left_out.is_empty(), "{id}: {:?}", plan.left_out);
        // By another road: pairs count two, the rest one.
        let by_hand: u16 = procedure
            .modules
            .iter()
            .flat_map(|m| &m.steps)
            .map(|s| if s.side == Side::Both { 2 } else { 1 })
            .sum();
        assert_eq!(by_hand, needles, "{id}");
    }
}

#[test]
fn the_full_return_visit_has_seven_regions_with_the_cheeks_apart() {
    let (_, plan) = whole("return_full");
    let regions: Vec<(String, u16)> = plan
        .regions
        .iter()
        .map(|total| (total.region.to_string(), total.needles))
        .collect();
    let expected = [
        ("hands_arms.both", 4),
        ("scalp.both", 4),
        ("forehead.both", 10),
        ("eye_rim.both", 6),
        ("cheek.right", 7),
        ("cheek.left", 7),
        ("mouth_jaw.both", 10),
    ];
    assert_eq!(regions, expected.map(|(r, n)| (r.to_string(), n)));
    assert_eq!(plan.blocks.len(), 7, "one press of placing each");
}

#[test]
fn every_point_exists_in_its_modules_area() {
    let atlas = Atlas::load().expect("sound");
    for procedure in procedures().expect("sound") {
        for module in &procedure.modules {
            for step in &module.steps {
                let point = atlas.get(&step.point).expect(&step.point);
                assert!(point.reach.needles(step.side) > 0, "{}", step.point);
                if let Some(area) = module.module.area() {
                    assert_eq!(point.area, area, "{}", step.point);
                }
            }
        }
    }
}

#[test]
fn customs_of_the_trade_are_kept() {
    for procedure in procedures().expect("sound") {
        // Hands and arms first, for comfort.
        assert_eq!(
            procedure.modules[0].module,
            ModuleName::HandsArms,
            "{}",
            procedure.id
        );
        for module in &procedure.modules {
            match module.module {
                // Scalp needles slant backward, along the skin.
                ModuleName::Scalp => {
                    assert_eq!(module.technique.how, How::Transverse);
                    assert_eq!(module.technique.direction, Direction::Backward);
                    assert_eq!(module.technique.mark, Mark::CommonPractice);
                    assert_eq!(module.size.id, "0.16x25");
                }
                ModuleName::HandsArms | ModuleName::LegsFeet => {
                    assert_eq!(module.size.id, "0.16x25");
                }
                ModuleName::EyeRim => assert_eq!(module.size.id, "0.20x15"),
                ModuleName::Intradermals => {
                    assert_eq!(module.technique.how, How::Pressed);
                    continue;
                }
                _ => assert_eq!(module.size.id, "0.16x15"),
            }
            // 20 to 30 minutes is the usual habit.
            assert_eq!((module.stay.least.0, module.stay.most.0), (1200, 1800));
            assert_eq!(module.stay.mark, Mark::CommonPractice);
            // No published time per needle was found.
            assert_eq!(module.seconds.mark, Mark::Policy);
        }
    }
}

#[test]
fn nothing_of_ours_enters_the_orbit_or_the_throat() {
    // Left out by default in our safety reference (policy; some bodies bar them, read).
    let atlas = Atlas::load().expect("sound");
    for procedure in procedures().expect("sound") {
        for step in procedure.modules.iter().flat_map(|m| &m.steps) {
            let point = atlas.get(&step.point).expect(&step.point);
            for group in [Group::Orbit, Group::NeckFront, Group::NeckBack] {
                assert!(!point.is_in(group), "{}: {}", procedure.id, step.point);
            }
        }
    }
    // Control: the atlas does have such points.
    assert!(atlas.points().any(|p| p.is_in(Group::Orbit)));
}

#[test]
fn each_says_plainly_that_it_is_untested_and_ours() {
    for procedure in procedures().expect("sound") {
        assert!(
            procedure.evidence.starts_with("Not tested."),
            "{}",
            procedure.id
        );
        assert_eq!(procedure.mark, Mark::Policy);
        assert_eq!(procedure.source, "own composition");
    }
}

#[test]
fn a_first_visit_stays_away_from_the_eye() {
    let (_, plan) = whole("first_short");
    assert!(plan.regions.iter().all(|t| t.region.area != Area::EyeRim));
}
