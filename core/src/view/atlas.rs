//! One point as its page shows it, and the tape: a person's measured lengths and what they make of
//! every offset.

use super::books::Books;
use super::points;
use super::rulebook::{RuleLine, line};
use crate::atlas::{Area, Atlas, Point};
use crate::base::stamp::Wall;
use crate::measure::{FINGER_UNIT, Measures, distance};
use crate::practice::Practice;
use crate::procedure::Procedure;
use crate::screening::{OwnPoint, Spot};
use crate::words::atlas::EN;
use alloc::string::{String, ToString};
use alloc::vec::Vec;

/// Whether a point is one of the drawing's: those are assumed to be found more closely than the rest.
fn on_face(area: Area) -> bool {
    matches!(
        area,
        Area::Forehead | Area::EyeRim | Area::Cheek | Area::MouthJaw
    )
}

/// How a point is found: each of its bearings in words, in millimetres where this body was measured.
#[must_use]
pub fn bearings(books: &Books, point: &Point, measures: &Measures) -> Vec<String> {
    let mut out = Vec::new();
    for site in &point.sites {
        let segment = site.segment.as_ref();
        let segment = segment.and_then(|id| books.segments.iter().find(|s| s.id == *id));
        let here = distance(site, &books.segments, measures, on_face(point.area));
        out.push(EN.bearing(site, segment, here));
    }
    out
}

/// The rules that leave a point out, ask about it or limit it, heaviest first. Rules about the whole
/// visit are not here; a rule about places that a person names is, as it can name this one.
#[must_use]
pub fn left_out_for(books: &Books, practice: &Practice, point: &Point) -> Vec<RuleLine> {
    let rules = &books.knowledge.rules;
    let (figures, _) = practice.figures(rules, Wall(i64::MAX));
    let (own, _) = practice.judged(&books.knowledge.bank, rules);
    // A point of the practice's own is in sets that only the practice knows of.
    let (_, theirs) = points::known(books, practice);
    let theirs = theirs.iter().find(|own| own.code == point.code);
    let mut lines = Vec::new();
    for rule in rules.rules.iter().chain(&own) {
        if rule
            .to
            .iter()
            .any(|aim| aims(books, &aim.to, point, theirs))
        {
            lines.push(line(books, rule, &figures));
        }
    }
    crate::base::flat::sort_by_key(&mut lines, |l| core::cmp::Reverse(l.outcome.level()));
    lines
}

fn aims(books: &Books, spot: &Spot, point: &Point, own: Option<&OwnPoint>) -> bool {
    match spot {
        Spot::Point(code, _) => *code == point.code,
        Spot::Set(at, _) => {
            let set = books.knowledge.rules.sets.get(usize::from(*at));
            set.is_some_and(|set| match own {
                Some(own) => own.sets.contains(&set.name),
                None => set.points.contains(&point.code),
            })
        }
        Spot::Region(region) => region.area == point.area,
        Spot::Places(_) => true,
        Spot::Kind(_) => false,
    }
}

/// What the keys in a point's source cell stand for.
#[must_use]
pub fn sources(books: &Books, point: &Point) -> Vec<String> {
    let mut out = Vec::new();
    for key in crate::atlas::source_keys(&point.source) {
        if let Some(source) = books.point_sources.iter().find(|s| s.key == key) {
            out.push(alloc::format!("{key}: {}. {}", source.text, source.seen));
        }
    }
    out
}

/// One length on the tape page.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TapeLine {
    /// The segment's id, or `finger`.
    pub id: String,
    /// From where to where.
    pub what: String,
    /// What one unit is worth, where it was measured, and where the count is from.
    pub note: String,
    /// As it was written down, in centimetres; empty if it was not measured.
    pub length: String,
    /// A point of the chosen procedure needs it.
    pub needed: bool,
}

/// The lengths of the tape page: first those that the chosen procedure's points need. `atlas`: the points
/// there are, the practice's own too.
#[must_use]
pub fn tape(
    books: &Books,
    atlas: &Atlas,
    measures: &Measures,
    procedure: Option<&Procedure>,
) -> Vec<TapeLine> {
    let mut needed: Vec<&str> = Vec::new();
    let codes = procedure.into_iter().flat_map(Procedure::uses);
    for point in codes.filter_map(|(code, ..)| atlas.get(code)) {
        for site in &point.sites {
            needed.extend(site.segment.as_deref());
            if site
                .offset
                .is_some_and(|o| o.unit == crate::atlas::Unit::FCun)
            {
                needed.push(FINGER_UNIT);
            }
        }
    }
    let mut lines: Vec<TapeLine> = books
        .segments
        .iter()
        .map(|segment| TapeLine {
            id: segment.id.clone(),
            what: EN.segment(segment),
            note: EN.unit(segment, measures.get(&segment.id)),
            length: measures
                .get(&segment.id)
                .map_or(String::new(), |um| EN.cm(um)),
            needed: needed.contains(&segment.id.as_str()),
        })
        .collect();
    lines.push(TapeLine {
        id: FINGER_UNIT.to_string(),
        what: EN.finger.to_string(),
        note: EN.finger_note.to_string(),
        length: measures.finger.map_or(String::new(), |um| EN.cm(um)),
        needed: needed.contains(&FINGER_UNIT),
    });
    crate::base::flat::sort_by_key(&mut lines, |l| !l.needed);
    lines
}

/// A point and how far it is from its landmarks on this body.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PointLine {
    /// Its code.
    pub code: String,
    /// Its name.
    pub name: String,
    /// Its bearings.
    pub bearings: Vec<String>,
}

/// The points of a procedure that have an offset, in its order, each once.
#[must_use]
pub fn offsets(
    books: &Books,
    atlas: &Atlas,
    measures: &Measures,
    procedure: &Procedure,
) -> Vec<PointLine> {
    let mut lines: Vec<PointLine> = Vec::new();
    for (code, ..) in procedure.uses() {
        let Some(point) = atlas.get(code) else {
            continue;
        };
        let seen = lines.iter().any(|line| line.code == point.code);
        if !seen && point.sites.iter().any(|site| site.offset.is_some()) {
            lines.push(PointLine {
                code: point.code.clone(),
                name: point.name.clone(),
                bearings: bearings(books, point, measures),
            });
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::units::Micrometres;
    use crate::intake::Outcome;

    #[test]
    fn who_a_point_is_left_out_for_is_what_screening_leaves_it_out_for() {
        let books = Books::load().unwrap();
        let practice = Practice::default();
        let names = |code: &str| -> Vec<String> {
            let point = books.atlas.get(code).unwrap();
            let lines = left_out_for(&books, &practice, point);
            lines.iter().map(|l| l.name.clone()).collect()
        };
        // Left out in pregnancy by custom: LI4, not the midpoint of the brows.
        let pregnancy = |code: &str| {
            let point = books.atlas.get(code).unwrap();
            let lines = left_out_for(&books, &practice, point);
            lines
                .iter()
                .any(|l| l.outcome == Outcome::Omit && l.name.starts_with("PR"))
        };
        assert!(pregnancy("LI4"), "{:?}", names("LI4"));
        assert!(!pregnancy("EX-HN3"), "{:?}", names("EX-HN3"));
        // A point on the orbit has more rules than one on the hand.
        assert!(names("BL1").len() > names("LI10").len());
    }

    #[test]
    fn rules_about_sets_find_a_point_of_the_practices_own() {
        use crate::event::point::Described;
        use crate::ledger::{Command, DeskCommand, Hand, Ledger};
        let books = Books::load().unwrap();
        let mut ledger = Ledger::default();
        let own = Described {
            code: "OWN-B1".into(),
            name: "Beside the dimple".into(),
            area: Area::Cheek,
            reach: crate::atlas::Reach::Pair,
            words: "A finger beside the dimple.".into(),
            sets: Vec::new(),
            at: None,
            depth: None,
            source: String::new(),
        };
        let hand = Hand {
            replica: crate::base::id::Replica(1),
            stamp: crate::base::stamp::Stamp::default(),
            when: crate::base::stamp::When::Now,
        };
        let said = |ledger: &Ledger| {
            let atlas = points::atlas(&books, ledger.practice());
            let point = atlas.get("OWN-B1").cloned()?;
            Some(left_out_for(&books, ledger.practice(), &point).len())
        };
        assert_eq!(said(&ledger), None, "the control");
        let mut by_sets = Vec::new();
        for sets in [Vec::new(), ["PERIORAL".to_string()].to_vec()] {
            let described = DeskCommand::Describe(Described {
                sets,
                ..own.clone()
            });
            let facts = ledger.decide(&Command::Desk(described), &hand).unwrap();
            ledger.append(&facts);
            by_sets.push(said(&ledger).unwrap());
        }
        assert!(by_sets[0] > 0 && by_sets[1] > by_sets[0], "{by_sets:?}");
    }

    #[test]
    fn every_point_has_bearings_and_every_offset_becomes_millimetres_once_measured() {
        let books = Books::load().unwrap();
        let mut measures = Measures::default();
        for segment in &books.segments {
            measures.set(&segment.id, segment.least);
        }
        measures.set(FINGER_UNIT, Micrometres(20_000));
        let (mut found, mut plain) = (0, 0);
        for point in books.atlas.points() {
            let said = bearings(&books, point, &measures);
            assert_eq!(said.len(), point.sites.len(), "{}", point.code);
            for (site, said) in point.sites.iter().zip(&said) {
                let counted = site
                    .offset
                    .is_some_and(|o| site.segment.is_some() || o.unit == crate::atlas::Unit::FCun);
                assert_eq!(said.contains("give or take"), counted, "{said}");
                if counted {
                    found += 1;
                } else {
                    plain += 1;
                }
            }
        }
        assert!(found > 30 && plain > 60, "{found} {plain}");
    }

    #[test]
    fn the_tape_asks_first_for_what_the_procedure_needs() {
        let books = Books::load().unwrap();
        let procedure = books.procedure("return_full").unwrap();
        let mut measures = Measures::default();
        let lines = tape(&books, &books.atlas, &measures, Some(procedure));
        assert_eq!(lines.len(), books.segments.len() + 1);
        let needed = lines.iter().take_while(|l| l.needed).count();
        assert!(needed > 0 && lines.iter().filter(|l| l.needed).count() == needed);
        let before = offsets(&books, &books.atlas, &measures, procedure);
        assert!(!before.is_empty());
        for line in &lines[..needed] {
            let segment = books.segments.iter().find(|s| s.id == line.id);
            let length = segment.map_or(Micrometres(20_000), |s| s.least);
            measures.set(&line.id, length);
        }
        let after = offsets(&books, &books.atlas, &measures, procedure);
        let said = |lines: &[PointLine]| {
            let all = lines.iter().flat_map(|l| &l.bearings);
            all.filter(|b| b.contains("give or take")).count()
        };
        assert_eq!(said(&before), 0);
        assert!(said(&after) > 0);
        assert!(
            tape(&books, &books.atlas, &measures, None)
                .iter()
                .all(|l| !l.needed)
        );
    }
}
