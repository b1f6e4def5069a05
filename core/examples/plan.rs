//! Prints a plan as the plan page would say it: `cargo run -p pinfold-core --example plan -- return_full
//! pregnant 40`. First the procedure's id, then any of: `pregnant`, `cream`, `cap`, and a number of
//! minutes for the slot. Nothing here screens anybody: the words stand in for findings.

#![allow(
    clippy::disallowed_macros,
    reason = "an example speaks by printing; the core itself has no output"
)]

use pinfold_core::atlas::{Atlas, Group};
use pinfold_core::base::units::Seconds;
use pinfold_core::needle::Needles;
use pinfold_core::plan::{
    Books, Capped, Cream, Fit, Limits, Omission, Options, Reason, Slot, Target, Topical, plan,
};
use pinfold_core::procedure::procedures;
use pinfold_core::words::{place, plan as words};
use std::error::Error;

fn because(rule: &str, words: &str) -> Reason {
    Reason {
        rule: rule.into(),
        words: words.into(),
    }
}

fn main() -> Result<(), Box<dyn Error>> {
    let mut asked = std::env::args().skip(1);
    let id = asked.next().unwrap_or_else(|| "return_full".into());
    let atlas = Atlas::load()?;
    let needles = Needles::load()?;
    let all = procedures()?;
    let Some(procedure) = all.iter().find(|p| p.id == id) else {
        let ids: Vec<&str> = all.iter().map(|p| p.id.as_str()).collect();
        return Err(format!("no procedure {id}; there are {}", ids.join(", ")).into());
    };
    let mut omissions = Vec::new();
    let mut limits = Limits::default();
    let mut options = Options::default();
    for word in asked {
        match word.as_str() {
            "pregnant" => omissions.push(Omission {
                what: Target::Group(Group::PregnancyCustom),
                why: because("example", "Left out in pregnancy by custom."),
            }),
            "cap" => limits.most_needles.push(Capped::everywhere(
                20,
                because("example", "Few needles today."),
            )),
            "cream" => {
                options.cream = Some(Cream {
                    areas: atlas
                        .face()
                        .skin()
                        .iter()
                        .map(|s| (s.area, s.cm2))
                        .collect(),
                    amount: Some((150, 200)),
                    apply: Seconds(120),
                    least: Seconds::from_minutes(30),
                    most: Some(Seconds::from_minutes(60)),
                    wipe: Seconds(120),
                    wait: Seconds::from_minutes(5),
                });
            }
            minutes => {
                options.slot = Some(Slot {
                    start: 13 * 60 + 30,
                    length: Seconds::from_minutes(minutes.parse()?),
                });
            }
        }
    }
    let books = Books {
        atlas: &atlas,
        needles: &needles,
    };
    let made = plan(books, procedure, &omissions, &limits, &options);
    let (words, places) = (&words::EN, &place::EN);

    println!("{}\n{}\n", procedure.name, procedure.evidence);
    if made.needles == 0 {
        println!("{}", words.nothing_left);
    }
    println!("{}", words.order);
    for (at, block) in made.blocks.iter().enumerate() {
        println!(
            "{:>2} {:<14} {:>2}  stay {:<12} in {:>2}-{:<2} min, out {}",
            at + 1,
            places.region(block.region),
            block.needles,
            words.stay(block.stay.0, block.stay.1),
            block.placing.from / 60,
            block.placing.to.div_ceil(60),
            block.taking_out.map_or_else(
                || "stays in".to_string(),
                |span| format!("{}-{} min", span.from / 60, span.to.div_ceil(60))
            )
        );
        for place in &block.places {
            println!(
                "     {:>2} {:<7} {:?}, {}, {}",
                place.number,
                place.point,
                place.side,
                place.size,
                words.technique(place.how, place.direction)
            );
        }
    }
    println!("\n{}", words.tray);
    for line in &made.tray {
        for &(pack, count) in &line.packs {
            println!("  {}", words.packets(line.size, None, pack, count));
        }
    }
    println!("  {}", words.to_open(made.opened, made.needles));
    if !made.left_out.is_empty() {
        println!("\n{}", words.left_out);
        for left in words.left(&made.left_out, places) {
            println!("  {left}");
        }
    }
    println!("\n{}", words.hour);
    if let Topical::On(times) = &made.topical {
        println!(
            "  cream on {} min, off {} min, needles from {} min",
            times.on.from / 60,
            times.off.from / 60,
            times.ready / 60
        );
        if let Some((least, most)) = times.amount_mg {
            println!("  {}", words.cream_amount(times.cm2, least, most));
        }
    }
    println!("  in all {}", words.minutes(made.total));
    println!("  {}", words.fit(&made.fit));
    if made.interleaved {
        println!("  {}", words.one_go(&made));
    }
    if let Fit::TooLong(_, offers) = &made.fit {
        for &offer in offers {
            println!("  - {}", words.offer(offer));
        }
    }
    if let Some(minute) = made.leave_at {
        println!("  {}", words.leave_by(minute));
    }
    Ok(())
}
