//! The hour of a plan as a picture and in words: who is busy with what, when, from sitting down.

use crate::base::units::Seconds;
use crate::plan::{Block, Plan, Span, Topical};
use crate::words::place::EN as PLACE;
use crate::words::plan::EN;
use alloc::string::{String, ToString};
use alloc::vec::Vec;

/// One line of the picture: a region, the cream, or the practitioner's free hands.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct HourRow {
    /// What it is about.
    pub name: String,
    /// The same as the bars, in words.
    pub words: String,
    /// Hands at it: placing, putting on.
    pub begins: Vec<Span>,
    /// On or in the skin.
    pub lasts: Vec<Span>,
    /// Hands at it: taking out, wiping off.
    pub ends: Vec<Span>,
}

/// The rest between two things to do, from which it is worth a word: 2 minutes (policy).
const REST: u32 = 120;

/// The lines, in the order of their beginnings; the last is when hands are free to look in.
#[must_use]
pub fn hour(plan: &Plan) -> Vec<HourRow> {
    let mut rows: Vec<(u32, HourRow)> = Vec::new();
    if let Topical::On(cream) = &plan.topical {
        let on = Span {
            from: cream.on.to,
            to: cream.off.from,
        };
        let mut words = EN.cream_hour(cream.on.from, cream.off);
        if let Some(by) = cream.off_by {
            words.push_str(&EN.off_by(by));
        }
        let row = HourRow {
            name: EN.cream.to_string(),
            words,
            begins: alloc::vec![cream.on],
            lasts: alloc::vec![on],
            ends: alloc::vec![cream.off],
        };
        rows.push((cream.on.from, row));
    }
    for total in &plan.regions {
        let mut row = HourRow {
            name: PLACE.region(total.region),
            ..HourRow::default()
        };
        for block in plan.of_region(total.region) {
            row.add(block, plan.total);
        }
        let first = row.begins.first().map_or(0, |span| span.from);
        rows.push((first, row));
    }
    crate::base::flat::sort_by_key(&mut rows, |(first, _)| *first);
    let mut rows: Vec<HourRow> = rows.into_iter().map(|(_, row)| row).collect();
    let free = free(&rows);
    if !free.is_empty() {
        let words = free.iter().map(|span| EN.span(*span));
        rows.push(HourRow {
            name: EN.hands_free.to_string(),
            words: words.collect::<Vec<_>>().join(", "),
            lasts: free,
            ..HourRow::default()
        });
    }
    rows
}

impl HourRow {
    fn add(&mut self, block: &Block, total: Seconds) {
        let until = block.taking_out.map_or(total.0, |out| out.from);
        self.begins.push(block.placing);
        self.lasts.push(Span {
            from: block.placing.to,
            to: until,
        });
        self.ends.extend(block.taking_out);
        if !self.words.is_empty() {
            self.words.push_str("; ");
        }
        self.words
            .push_str(&EN.block_hour(block.placing, block.taking_out));
    }
}

/// When nobody's hands are needed, though something is in or on the skin.
fn free(rows: &[HourRow]) -> Vec<Span> {
    let busy = rows
        .iter()
        .flat_map(|row| row.begins.iter().chain(&row.ends));
    let mut busy: Vec<Span> = busy.copied().collect();
    crate::base::flat::sort_by_key(&mut busy, |span| span.from);
    let (mut free, mut until) = (Vec::new(), None::<u32>);
    for span in busy {
        if let Some(until) = until.filter(|until| until.saturating_add(REST) <= span.from) {
            free.push(Span {
                from: until,
                to: span.from,
            });
        }
        until = until.max(Some(span.to));
    }
    free
}

/// The bars of some spans on a drawing 1000 wide, as the path of an SVG: from `top` to `foot`.
#[must_use]
pub fn bars(spans: &[Span], total: Seconds, top: u8, foot: u8) -> String {
    let at = |second: u32| {
        let at = u64::from(second).saturating_mul(1000);
        at.checked_div(u64::from(total.0))
            .map_or(1000, |at| at.min(1000))
    };
    let mut path = String::new();
    for span in spans {
        let from = at(span.from);
        // What is too short to be drawn is drawn a hair wide all the same.
        let to = at(span.to).max(from.saturating_add(3));
        path.push_str(&alloc::format!("M{from} {top}H{to}V{foot}H{from}Z"));
    }
    path
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::atlas::Area;
    use crate::plan::{Cream, Limits, Options, plan};
    use crate::view::books::Books;

    fn made(id: &str, cream: bool) -> Plan {
        let books = Books::load().unwrap();
        let shelf = crate::plan::Books {
            atlas: &books.atlas,
            needles: &books.needles,
        };
        let mut options = Options::default();
        if cream {
            options.cream = Some(Cream {
                areas: alloc::vec![(Area::Forehead, 20)],
                amount: None,
                apply: Seconds(120),
                least: Seconds::from_minutes(30),
                most: Some(Seconds::from_minutes(60)),
                wipe: Seconds(120),
                wait: Seconds(300),
            });
        }
        let procedure = books.procedure(id).unwrap();
        plan(shelf, procedure, &[], &Limits::default(), &options)
    }

    #[test]
    fn every_region_stands_once_and_hands_are_never_in_two_places() {
        for (id, cream) in [
            ("first_short", false),
            ("return_full", false),
            ("return_full", true),
        ] {
            let plan = made(id, cream);
            let rows = hour(&plan);
            let regions = rows.iter().filter(|row| !row.begins.is_empty()).count();
            assert_eq!(regions, plan.regions.len() + usize::from(cream), "{id}");
            assert_eq!(rows[0].name == EN.cream, cream, "{id}");
            let busy = rows.iter().flat_map(|r| r.begins.iter().chain(&r.ends));
            let mut busy: Vec<Span> = busy.copied().collect();
            busy.sort_by_key(|span| (span.from, span.to));
            for pair in busy.windows(2) {
                assert!(pair[0].to <= pair[1].from, "{id}: {pair:?}");
            }
            for row in &rows {
                for span in row.begins.iter().chain(&row.lasts).chain(&row.ends) {
                    assert!(span.from <= span.to && span.to <= plan.total.0, "{id}");
                }
                assert!(!row.words.is_empty());
            }
        }
    }

    #[test]
    fn free_hands_are_only_between_things_to_do() {
        let plan = made("first_short", false);
        let rows = hour(&plan);
        let free = rows.last().unwrap();
        assert_eq!(free.name, EN.hands_free);
        // Twelve needles are in long before the first must come out.
        assert_eq!(free.lasts.len(), 1, "{free:?}");
        for row in &rows[..rows.len() - 1] {
            for busy in row.begins.iter().chain(&row.ends) {
                for rest in &free.lasts {
                    assert!(busy.to <= rest.from || busy.from >= rest.to);
                }
            }
        }
    }

    #[test]
    fn bars_stay_on_their_drawing() {
        let span = |from, to| Span { from, to };
        assert_eq!(
            bars(&[span(0, 300), span(600, 600)], Seconds(600), 2, 8),
            "M0 2H500V8H0ZM1000 2H1003V8H1000Z"
        );
        assert_eq!(
            bars(&[span(0, u32::MAX)], Seconds(0), 0, 1),
            "M1000 0H1003V1H1000Z"
        );
    }
}
