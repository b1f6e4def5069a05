//! Points of the practice's own: what may be written down, and what plan and screening make of it.
//! Nothing near such a point was looked at by Pinfold, and each says so.

use crate::atlas::{Area, Atlas, Group, Hazard, Kind, Point, Reach, Spot};
use crate::base::cite::Mark;
use crate::base::units::Micrometres;
use crate::event::point::{Described, is_own};
use crate::procedure::check::{MOST_NAME, MOST_TEXT, Slip, text};
use crate::screening::rules::Set;
use crate::screening::{OwnPoint, Rules};
use alloc::string::String;
use alloc::vec;
use alloc::vec::Vec;

/// Which field of a point.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[expect(missing_docs, reason = "each is named as its field")]
pub enum Field {
    Code,
    Name,
    Area,
    Reach,
    Words,
    Sets,
    At,
    Depth,
    Source,
}

/// A field of a point that cannot be used, and why.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Wrong {
    /// Which field.
    pub field: Field,
    /// What is wrong.
    pub slip: Slip,
}

/// The deepest that may be written down, in micrometres: the longest needle of common sizes (policy).
pub const MOST_DEPTH: u32 = 75_000;

/// The sets that a point of an area may belong to or not: those that hold some points of the area, but
/// not all. Somebody has to say.
#[must_use]
pub fn choices(area: Area, rules: &Rules) -> Vec<&Set> {
    let sets = rules.sets.iter();
    sets.filter(|set| is_choice(set, area, rules)).collect()
}

fn is_choice(set: &Set, area: Area, rules: &Rules) -> bool {
    let mut here = codes(area, rules).map(|code| set.points.contains(code));
    let first = here.next();
    first.is_some_and(|first| here.any(|other| other != first))
}

fn codes(area: Area, rules: &Rules) -> impl Iterator<Item = &String> {
    let areas = rules.areas.iter().filter(move |(other, _)| *other == area);
    areas.flat_map(|(_, codes)| codes)
}

/// The sets of which a point of an area has to be in one, since what lies there decides: inside the
/// orbit or on its rim, the front of the neck or the back (policy).
#[must_use]
pub const fn one_of(area: Area) -> &'static [&'static str] {
    match area {
        Area::EyeRim => &["ORBIT", "RIM"],
        Area::Neck => &["NECK-A", "NECK-P"],
        _ => &[],
    }
}

fn group(set: &str) -> Option<Group> {
    Some(match set {
        "ORBIT" => Group::Orbit,
        "RIM" => Group::Rim,
        "NECK-A" => Group::NeckFront,
        "NECK-P" => Group::NeckBack,
        _ => return None,
    })
}

/// Everything that is wrong with a point; nothing if it can be used.
#[must_use]
pub fn check(point: &Described, atlas: &Atlas, rules: &Rules) -> Vec<Wrong> {
    let mut out = Vec::new();
    let mut say = |field: Field, slip: Slip| out.push(Wrong { field, slip });
    if !is_own(&point.code) {
        say(Field::Code, Slip::Unknown(point.code.clone()));
    } else if atlas.get(&point.code).is_some_and(|p| p.mark != Mark::Own) {
        say(Field::Code, Slip::Twice);
    }
    for (field, what, most, needed) in [
        (Field::Name, &point.name, MOST_NAME, true),
        (Field::Words, &point.words, MOST_TEXT, true),
        (
            Field::Source,
            &point.source,
            MOST_TEXT,
            point.depth.is_some(),
        ),
    ] {
        if let Some(slip) = text(what, most, needed) {
            say(field, slip);
        }
    }
    if point.reach == Reach::Four {
        say(Field::Reach, Slip::Unknown("four".into()));
    }
    for (at, set) in point.sets.iter().enumerate() {
        let known = rules.sets.iter().find(|known| known.name == *set);
        if !known.is_some_and(|known| is_choice(known, point.area, rules)) {
            say(Field::Sets, Slip::Unknown(set.clone()));
        } else if point.sets.iter().take(at).any(|other| other == set) {
            say(Field::Sets, Slip::Twice);
        }
    }
    let needed = one_of(point.area);
    if !needed.is_empty() && !point.sets.iter().any(|set| needed.contains(&set.as_str())) {
        say(Field::Sets, Slip::Empty);
    }
    if let Some((x, y)) = point.at {
        let half = match point.reach {
            Reach::Pair => x > 0,
            Reach::Midline | Reach::Four => x == 0,
        };
        let there = atlas.face().area_at(Spot { x, y });
        match there {
            _ if !half => say(Field::At, Slip::Crossed),
            Some(area) if area == point.area => {}
            Some(area) => say(Field::At, Slip::Elsewhere(area)),
            None => say(Field::At, Slip::Unknown(String::new())),
        }
    }
    match point.depth {
        Some((least, most)) if least > most => say(Field::Depth, Slip::Crossed),
        Some((least, most)) if least == 0 || most > MOST_DEPTH => {
            say(Field::Depth, Slip::Outside(1, MOST_DEPTH));
        }
        _ => {}
    }
    out
}

/// The point as the atlas holds it. `unlooked`: that nothing near it was looked at.
#[must_use]
pub fn point(of: &Described, unlooked: &str) -> Point {
    Point {
        code: of.code.clone(),
        name: of.name.clone(),
        kind: Kind::Own,
        area: of.area,
        reach: of.reach,
        groups: of.sets.iter().filter_map(|set| group(set)).collect(),
        words: of.words.clone(),
        sites: Vec::new(),
        depth: of
            .depth
            .map(|(least, most)| (Micrometres(least), Micrometres(most))),
        angle: None,
        hazards: vec![Hazard {
            mark: Mark::Own,
            words: unlooked.into(),
        }],
        layer: Vec::new(),
        nearby: Vec::new(),
        source: of.source.clone(),
        mark: Mark::Own,
    }
}

/// The point as screening knows it: its area, the sets it was put in, and those of its whole area.
#[must_use]
pub fn screened(of: &Described, rules: &Rules) -> OwnPoint {
    let whole = rules.sets.iter().filter(|set| {
        let mut here = codes(of.area, rules).map(|code| set.points.contains(code));
        here.next() == Some(true) && here.all(|there| there)
    });
    let whole = whole.map(|set| set.name.clone());
    OwnPoint {
        code: of.code.clone(),
        area: of.area,
        sets: of.sets.iter().cloned().chain(whole).collect(),
    }
}
