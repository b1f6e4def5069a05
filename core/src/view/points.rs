//! Points of the practice's own: described, drawn, taken away, and put beside Pinfold's.

use super::visit::Books;
use crate::atlas::{Area, Atlas, Spot};
use crate::event::point::{Described, TakenAway};
use crate::ledger::DeskCommand;
use crate::practice::Practice;
use crate::practice::points::{self, Wrong};
use crate::screening::OwnPoint;
use crate::screening::rules::Set;
use crate::words::points::EN;
use alloc::borrow::Cow;
use alloc::string::ToString;
use alloc::vec::Vec;

/// The points there are: Pinfold's, and those of the practice that can be used and were not taken away.
#[must_use]
pub fn atlas<'a>(books: &'a Books, practice: &Practice) -> Cow<'a, Atlas> {
    with(books, &usable(books, practice))
}

/// The same, and what screening has to know of the practice's own.
#[must_use]
pub(super) fn known<'a>(books: &'a Books, practice: &Practice) -> (Cow<'a, Atlas>, Vec<OwnPoint>) {
    let own = usable(books, practice);
    let rules = &books.knowledge.rules;
    let screened = own.iter().map(|point| points::screened(point, rules));
    (with(books, &own), screened.collect())
}

fn with<'a>(books: &'a Books, own: &[&Described]) -> Cow<'a, Atlas> {
    if own.is_empty() {
        return Cow::Borrowed(&books.atlas);
    }
    let mut face = books.atlas.face().clone();
    for point in own {
        // A place that another build draws elsewhere is not drawn; the point stays.
        if let Some((x, y)) = point.at
            && face.area_at(Spot { x, y }) == Some(point.area)
        {
            face.put(&point.code, Spot { x, y }, x != 0);
        }
    }
    let all = books.atlas.points().cloned();
    let own = own.iter().map(|point| points::point(point, EN.unlooked));
    Cow::Owned(Atlas::new(all.chain(own).collect(), face))
}

fn usable<'a>(books: &Books, practice: &'a Practice) -> Vec<&'a Described> {
    let rules = &books.knowledge.rules;
    let here = practice.points().filter(|(_, away)| !away);
    here.map(|(point, _)| point)
        .filter(|point| {
            let wrong = points::check(point, &books.atlas, rules);
            wrong.iter().all(|wrong| wrong.field == points::Field::At)
        })
        .collect()
}

/// One point as it is listed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    /// All of it.
    pub point: Described,
    /// Taken away.
    pub away: bool,
    /// What cannot be used of it here, in words; empty if nothing.
    pub trouble: alloc::string::String,
}

/// Every point of the practice's own, in the order of their codes; taken-away ones among them.
#[must_use]
pub fn list(books: &Books, practice: &Practice) -> Vec<Line> {
    let line = |(point, away): (&Described, bool)| {
        let wrong = points::check(point, &books.atlas, &books.knowledge.rules);
        let words: Vec<_> = wrong.iter().map(|wrong| EN.trouble(wrong)).collect();
        Line {
            point: point.clone(),
            away,
            trouble: words.join(" "),
        }
    };
    practice.points().map(line).collect()
}

/// The sets a point of an area can be in or not, to be chosen: name, and what lies there.
#[must_use]
pub fn sets(books: &Books, area: Area) -> Vec<&Set> {
    points::choices(area, &books.knowledge.rules)
}

/// Keeps a point: the one command for it, or none if it stands like that already.
///
/// # Errors
/// Every field that cannot be used. Nothing is changed then.
pub fn save(
    books: &Books,
    practice: &Practice,
    point: &Described,
) -> Result<Option<DeskCommand>, Vec<Wrong>> {
    let wrong = points::check(point, &books.atlas, &books.knowledge.rules);
    if !wrong.is_empty() {
        return Err(wrong);
    }
    let stands = practice
        .points()
        .any(|(other, away)| other == point && !away);
    Ok((!stands).then(|| DeskCommand::Describe(point.clone())))
}

/// Takes a point away, or puts it back. Sessions keep it as they had it.
#[must_use]
pub fn take_away(code: &str, back: bool) -> DeskCommand {
    DeskCommand::TakeAway(TakenAway {
        code: code.to_string(),
        back,
    })
}
