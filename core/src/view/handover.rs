//! The card for a colleague who takes over: what is in, which clock runs, what matters of the
//! answers, which packets were opened.

use super::chair::{clocks, size_text, title};
use super::visit::VisitView;
use crate::session::{Now, State};
use crate::words::beside::EN;
use crate::words::chair::EN as CHAIR;
use crate::words::place::EN as PLACES;
use alloc::format;
use alloc::string::{String, ToString};
use alloc::vec;
use alloc::vec::Vec;

/// The card. No list is empty: where there is nothing, it says so.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Card {
    /// "Patient's L cheek: 7", and what stays in on purpose.
    pub inside: Vec<String>,
    /// "L cheek: 12 min", "Cream: 3 min over".
    pub clocks: Vec<String>,
    /// What followed from the answers of that day, in the words of the findings; what stopped the
    /// placing comes first.
    pub answers: Vec<String>,
    /// "10, 0.16 × 15 mm, lot W7".
    pub lots: Vec<String>,
}

fn or(lines: Vec<String>, none: &str) -> Vec<String> {
    if lines.is_empty() {
        vec![none.to_string()]
    } else {
        lines
    }
}

/// The card of a session. `visit` is that person's visit of the day, if it is known here.
#[must_use]
pub fn card(state: &State, now: &Now, visit: Option<&VisitView>) -> Card {
    let mut inside = Vec::new();
    for (&region, sum) in &state.regions {
        let name = title(&PLACES, region);
        for (n, word) in [
            (sum.in_now, ""),
            (sum.stays_in, CHAIR.stays_in_term),
            (sum.out_uncounted, CHAIR.out_uncounted),
            (sum.unseen, CHAIR.unaccounted),
        ] {
            if n > 0 {
                inside.push(format!("{name}: {n} {word}").trim_end().to_string());
            }
        }
    }
    let line = |clock: super::chair::ClockLine| {
        let time = match clock.left {
            Some(left) if left > 0 => CHAIR.minutes(left.saturating_add(59).div_euclid(60)),
            Some(left) => {
                let over = left.saturating_neg().div_euclid(60);
                format!("{} {}", CHAIR.minutes(over), CHAIR.over)
            }
            None => CHAIR.no_time_set.into(),
        };
        format!("{}: {time}", clock.name)
    };
    let running = clocks(state, now, &CHAIR, &PLACES);
    let mut answers: Vec<String> = Vec::new();
    if let Some((_, why)) = &state.stopped {
        answers.push(CHAIR.stopped(why));
    }
    let screening = visit.and_then(|v| v.screening.as_ref());
    answers.extend(
        screening
            .iter()
            .flat_map(|s| &s.findings)
            .map(|f| f.words.clone()),
    );
    let packs = state.packs.values().map(|p| {
        let lot = p
            .lot
            .as_deref()
            .map_or(String::new(), |lot| format!(", lot {lot}"));
        format!("{}, {}{lot}", p.held, size_text(p.size))
    });
    Card {
        inside: or(inside, EN.none_inside),
        clocks: or(running.into_iter().map(line).collect(), EN.no_clock),
        answers: or(
            answers,
            if screening.is_some() {
                EN.nothing_known
            } else {
                EN.not_asked
            },
        ),
        lots: or(packs.collect(), EN.no_lot),
    }
}
