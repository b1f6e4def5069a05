//! The hour of a plan, which hands can follow region by region, beside the shortest hour there is for
//! the same needles: never shorter than what is proven least, and how much longer.

use pinfold_core::atlas::Atlas;
use pinfold_core::base::units::Seconds;
use pinfold_core::needle::Needles;
use pinfold_core::plan::hour::instance::{
    Group, GroupOrder, Instance, LONGEST, Removal, Topical, Window,
};
use pinfold_core::plan::hour::search::{Proof, solve};
use pinfold_core::plan::hour::{self, Needle};
use pinfold_core::plan::{Books, Capped, Limits, Options, Plan, Reason, plan};
use pinfold_core::procedure::{Procedure, procedures};
use pinfold_core::words::plan::EN;
use pinfold_tests::hour::cream_on_the_face;

const STEPS: u64 = 400_000_000;

/// The needles and the cream of a plan as an instance: every block a group.
fn instance(procedure: &Procedure, plan: &Plan, options: &Options) -> Instance {
    let window = |(least, most): (Seconds, Seconds)| Window {
        least: least.0,
        most: most.0,
    };
    let groups = plan.blocks.iter().map(|block| {
        assert!(block.places.iter().all(|place| !place.worn_home));
        let seconds = &procedure
            .modules
            .iter()
            .find(|module| module.module == block.module)
            .expect("the block's module")
            .seconds;
        Group {
            id: block.region.to_string(),
            area: format!("{:?}", block.region.area),
            needles: u32::from(block.needles),
            setup: 0,
            insert: seconds.place.0,
            remove: seconds.remove.0,
            stay: window(block.stay),
        }
    });
    let topicals = options.cream.iter().map(|cream| Topical {
        id: "cream".into(),
        areas: cream
            .areas
            .iter()
            .map(|(area, _)| format!("{area:?}"))
            .collect(),
        apply: cream.apply.0,
        dwell: window((cream.least, cream.most.unwrap_or(Seconds(LONGEST)))),
        wipe: cream.wipe.0,
        first: window((cream.wait, Seconds(LONGEST))),
        last: None,
    });
    Instance {
        id: procedure.id.clone(),
        open: options.open.0,
        close: options.close.0,
        groups: groups.collect(),
        topicals: topicals.collect(),
        order: GroupOrder::Strict,
        removal: Removal::Any,
    }
}

#[test]
fn a_plans_hour_beside_the_shortest() {
    let atlas = Atlas::load().expect("sound");
    let needles = Needles::load().expect("sound");
    let books = Books {
        atlas: &atlas,
        needles: &needles,
    };
    let cream = cream_on_the_face();
    for procedure in procedures().expect("sound") {
        for cream in [None, Some(cream.clone())] {
            let options = Options {
                cream,
                ..Options::default()
            };
            let plan = plan(books, &procedure, &[], &Limits::default(), &options);
            let creamed = plan.blocks.iter().any(|b| {
                cream_on_the_face()
                    .areas
                    .iter()
                    .any(|(area, _)| *area == b.region.area)
            });
            if options.cream.is_some() && !creamed {
                continue;
            }
            let answer = solve(&instance(&procedure, &plan, &options), STEPS);
            let name = format!("{}, cream {}", procedure.id, options.cream.is_some());
            let shortest = answer.value.expect(&name);
            println!(
                "{name}: plan {}, shortest {shortest} {:?}, bound {:?}",
                plan.total.0, answer.proof, answer.bound
            );
            assert_eq!(answer.proof, Proof::Optimal, "{name}");
            // A region is taken out as one, so fine needles that are due before the others of their
            // region wait for them: that is the one reason found to take longer.
            let waits = if procedure.id == "return_lines" {
                64
            } else {
                0
            };
            assert_eq!(i64::from(plan.total.0), shortest + waits, "{name}");
        }
    }
}

/// A plan whose needles cannot all be in at once says so, with the number that can.
#[test]
fn what_cannot_be_in_at_once_is_said_with_what_can() {
    // A07 of the open instances (invented): 1 + 1500 / max(30, 10) = 51 of 64, by the closed form.
    let needle = Needle {
        place: Seconds(30),
        remove: Seconds(10),
        least: Seconds(900),
        most: Seconds(1500),
        stays: false,
    };
    let run = hour::run(&[needle; 64], &[], 0);
    assert_eq!((run.interleaved, run.in_one_go), (true, 51));
    let run = hour::run(&[needle; 51], &[], 0);
    assert_eq!((run.interleaved, run.in_one_go), (false, 51));

    let atlas = Atlas::load().expect("sound");
    let needles = Needles::load().expect("sound");
    let books = Books {
        atlas: &atlas,
        needles: &needles,
    };
    let all = procedures().expect("sound");
    let full = all.iter().find(|p| p.id == "return_full").expect("ours");
    let whole = plan(books, full, &[], &Limits::default(), &Options::default());
    assert_eq!((whole.interleaved, whole.in_one_go), (false, 48));
    assert_eq!(EN.one_go(&whole), "", "control");
    // No stay above five minutes: the first is in after 20 s and due out at 320. By then 8 are in at
    // 20 s each and 10 at 15 s each, which makes 310; the next would make it 330.
    let why = Reason {
        rule: "R".into(),
        words: "short stays".into(),
    };
    let limits = Limits {
        most_stay: vec![Capped::everywhere(Seconds(300), why)],
        ..Limits::default()
    };
    let short = plan(books, full, &[], &limits, &Options::default());
    assert!(short.interleaved && short.overstays.is_empty());
    assert_eq!(
        EN.one_go(&short),
        "48 needles cannot all be in before the first is due out; at most 18 can. So some come out \
         before the last goes in. Leave some out to have all in at once, or work in waves, which is \
         never quicker."
    );
}
