//! Words of procedures: what is listed, what cannot be used, what a file brought.

use super::place;
use super::plan;
use crate::event::session::{Used, Version};
use crate::practice::composed::{Much, Unusable};
use crate::procedure::check::MOST_NAME;
use crate::procedure::{Composition, Field, Slip, Visit, Wrong};
use alloc::format;
use alloc::string::{String, ToString};

/// Fixed words.
#[expect(missing_docs, reason = "each field is the sentence it holds")]
pub struct ProcedureWords {
    pub procedures: &'static str,
    pub own: &'static str,
    pub built_in: &'static str,
    pub retired: &'static str,
    pub own_evidence: &'static str,
    pub unread: &'static str,
    pub nothing_changed: &'static str,
    pub file_kept_out: &'static str,
    pub first: &'static str,
    pub returning: &'static str,
    pub any: &'static str,
    pub id: &'static str,
    pub name: &'static str,
    pub about: &'static str,
    pub source: &'static str,
    pub modules: &'static str,
    pub module: &'static str,
    pub size: &'static str,
    pub stay: &'static str,
    pub place: &'static str,
    pub remove: &'static str,
    pub steps: &'static str,
    pub point: &'static str,
    pub side: &'static str,
    pub keep: &'static str,
    pub planned_from: &'static str,
    pub figures: &'static str,
    pub what: &'static str,
    pub new: &'static str,
    pub copy: &'static str,
    pub change: &'static str,
    pub take_off: &'static str,
    pub put_back: &'static str,
    pub share: &'static str,
    pub bring: &'static str,
    pub take_new: &'static str,
    pub take_all: &'static str,
    pub taken: &'static str,
    pub not_there: &'static str,
    pub composing: &'static str,
    pub composing_what: &'static str,
    pub for_whom: &'static str,
    pub part: &'static str,
    pub add_part: &'static str,
    pub add_point: &'static str,
    pub add_point_hint: &'static str,
    pub no_point: &'static str,
    pub up: &'static str,
    pub down: &'static str,
    pub take_out: &'static str,
    pub keep_it: &'static str,
    pub caution: &'static str,
    pub sides: &'static str,
    pub technique: &'static str,
    pub direction: &'static str,
    pub sensation: &'static str,
    pub worn_home: &'static str,
    pub as_the_part: &'static str,
    pub together: &'static str,
    pub apart: &'static str,
    pub not_chosen: &'static str,
    pub no_slant: &'static str,
    pub both: &'static str,
    pub right: &'static str,
    pub left: &'static str,
    pub midline: &'static str,
    pub keep_first: &'static str,
    pub keep_usual: &'static str,
    pub keep_last: &'static str,
    pub out_today: &'static str,
    pub goes_home: &'static str,
    pub least: &'static str,
    pub most: &'static str,
}

/// English.
pub const EN: ProcedureWords = ProcedureWords {
    procedures: "Procedures",
    own: "Our own",
    built_in: "Pinfold's",
    retired: "Off the list",
    own_evidence: "Not tested. Composed by a practice; no trial has looked at it.",
    unread: "This version of Pinfold cannot read this procedure. It is kept as it is; open it with the newer version.",
    nothing_changed: "Nothing was changed; what you entered is still here.",
    file_kept_out: "Nothing of the file was taken; what is here stays as it was.",
    first: "first visit",
    returning: "return visit",
    any: "any visit",
    id: "stable name",
    name: "name",
    about: "what it is",
    source: "what it rests on",
    modules: "the parts",
    module: "the part",
    size: "needle size",
    stay: "stay",
    place: "seconds to place one",
    remove: "seconds to take one out",
    steps: "the points",
    point: "the point",
    side: "side",
    keep: "what goes first",
    planned_from: "Planned from:",
    figures: "Needle, technique, stay:",
    what: "Procedures that can be planned: Pinfold's, which are copied and not changed, and those of the practice. No trial has tested any of them.",
    new: "Compose a new one",
    copy: "Copy",
    change: "Change",
    take_off: "Take off the list",
    put_back: "Put back on the list",
    share: "Share our own as a file",
    bring: "Bring a file in",
    take_new: "Take the new ones",
    take_all: "Take also those that differ; the present ones stay in their sessions",
    taken: "Taken. What was here stayed as it was.",
    not_there: "There is no such procedure here. Nothing was changed.",
    composing: "A procedure of our own",
    composing_what: "Parts are placed in their order, points in theirs. A figure that you set is marked as set by a practice. Sessions keep the version they were planned from.",
    for_whom: "Whom it is for",
    part: "part",
    add_part: "Add a part",
    add_point: "Add a point",
    add_point_hint: "its code, such as LI4",
    no_point: "There is no point of this code. Look in the atlas; nothing was added.",
    up: "Up",
    down: "Down",
    take_out: "Take out",
    keep_it: "Keep this version",
    caution: "For a licensed practitioner. What is planned from a procedure still leaves out what today's answers bar.",
    sides: "right and left",
    technique: "technique",
    direction: "direction",
    sensation: "sensation sought",
    worn_home: "when the person goes home",
    as_the_part: "as in the part",
    together: "together",
    apart: "apart",
    not_chosen: "not chosen yet",
    no_slant: "no slant",
    both: "both sides",
    right: "right",
    left: "left",
    midline: "midline",
    keep_first: "the heart of it, goes last",
    keep_usual: "usual",
    keep_last: "goes first",
    out_today: "out today",
    goes_home: "stays in on purpose",
    least: "stays at least, minutes",
    most: "stays at most, minutes",
};

impl ProcedureWords {
    /// Whom a procedure is for.
    #[must_use]
    pub const fn visit(&self, visit: Visit) -> &'static str {
        match visit {
            Visit::First => self.first,
            Visit::Return => self.returning,
            Visit::Any => self.any,
        }
    }

    /// The name of a copy, no longer than a name may be.
    #[must_use]
    pub fn copy_of(&self, name: &str) -> String {
        let tail = ", copy";
        let room = MOST_NAME.saturating_sub(tail.len());
        let head: String = name.chars().take(room).collect();
        format!("{head}{tail}")
    }

    /// A field.
    #[must_use]
    pub const fn field(&self, field: Field) -> &'static str {
        match field {
            Field::Id => self.id,
            Field::Name => self.name,
            Field::About => self.about,
            Field::Source => self.source,
            Field::Modules => self.modules,
            Field::Module => self.module,
            Field::Size => self.size,
            Field::Stay => self.stay,
            Field::Place => self.place,
            Field::Remove => self.remove,
            Field::Steps => self.steps,
            Field::Point => self.point,
            Field::Side => self.side,
            Field::Keep => self.keep,
        }
    }

    fn slip(&self, field: Field, slip: &Slip) -> String {
        let stay = field == Field::Stay;
        let what = match slip {
            Slip::Empty if field == Field::Size => "nothing is chosen".to_string(),
            Slip::Empty => "nothing is written".to_string(),
            Slip::TooLong(most) => format!("longer than {most} characters"),
            Slip::Unseen => "a character that cannot be seen".to_string(),
            Slip::Unknown(what) => format!("{what} is not known here"),
            Slip::NoSide(_) => "the point is not found on that side".to_string(),
            Slip::Elsewhere(area) => {
                let area = place::EN.area(*area);
                return format!("the point lies elsewhere ({area})");
            }
            Slip::Crossed => "the least is above the most".to_string(),
            Slip::Outside(..) if stay => "outside 1 minute to 24 hours".to_string(),
            Slip::Outside(least, most) => format!("outside {least} to {most}"),
            Slip::TooMany(most) if field == Field::Modules => format!("more than {most} needles"),
            Slip::TooMany(most) => format!("more than {most} in all"),
            Slip::Twice => "there twice".to_string(),
        };
        format!("{}: {what}", self.field(field))
    }

    fn place(&self, made: &Composition, wrong: &Wrong) -> String {
        let module = wrong.module.and_then(|at| made.modules.get(at));
        let Some(module) = module else {
            return String::new();
        };
        let part = plan::EN.module(module.module, &place::EN);
        let step = wrong.step.and_then(|at| module.steps.get(at));
        step.map_or_else(
            || format!("{part}: "),
            |step| format!("{part}, {}: ", step.point),
        )
    }

    /// What is wrong with a field of a procedure, where, and that nothing was changed.
    #[must_use]
    pub fn wrong(&self, made: &Composition, wrong: &Wrong) -> String {
        format!("{} {}", self.trouble(made, wrong), self.nothing_changed)
    }

    /// What is wrong with a field of a procedure, and where.
    #[must_use]
    pub fn trouble(&self, made: &Composition, wrong: &Wrong) -> String {
        let slip = self.slip(wrong.field, &wrong.slip);
        format!("{}{slip}.", self.place(made, wrong))
    }

    /// Why a file of procedures was not taken.
    #[must_use]
    pub fn unusable(&self, why: &Unusable) -> String {
        let what = match why {
            Unusable::NotProcedures(at, words) if at.is_empty() => {
                format!("This file cannot be read as procedures: {words}.")
            }
            Unusable::NotProcedures(at, words) => {
                format!("This file cannot be read as procedures. {at}: {words}.")
            }
            Unusable::TooMuch(much, most) => {
                let what = match much {
                    Much::Bytes => "bytes",
                    Much::Procedures => "procedures",
                    Much::Steps => "points in all",
                    Much::Modules => "modules in one place",
                    Much::Parts => "modules when they are taken apart",
                };
                format!("The file holds more than {most} {what}.")
            }
            Unusable::NoSuchModule(at, name) => {
                format!("{at}: the file has no module \u{201c}{name}\u{201d}.")
            }
            Unusable::Ring(names) => format!(
                "Modules are made of one another in a ring: {}.",
                names.join(" \u{2192} ")
            ),
            Unusable::TooDeep(name) => format!(
                "Modules of modules go too deep at \u{201c}{name}\u{201d}; {} steps are read.",
                crate::practice::composed::DEEPEST
            ),
            Unusable::BadName(name) => format!(
                "\u{201c}{name}\u{201d} is there twice, or is no stable name for a procedure of a practice."
            ),
            Unusable::Wrong(at, found) => {
                let (made, wrong) = &**found;
                format!(
                    "procedures[{at}].{}: \u{201c}{}\u{201d}, {}{}.",
                    wrong.path(),
                    made.name.chars().take(MOST_NAME).collect::<String>(),
                    self.place(made, wrong),
                    self.slip(wrong.field, &wrong.slip)
                )
            }
        };
        format!("{what} {}", self.file_kept_out)
    }

    /// What a file brings, before anything is taken: "2 new, 1 already here, 1 of which another
    /// version is here."
    #[must_use]
    pub fn brought(&self, new: usize, here: usize, differs: usize) -> String {
        format!("{new} new, {here} already here, {differs} of which another version is here.")
    }

    /// The procedure of a session and its version, as the record prints it.
    #[must_use]
    pub fn used(&self, used: &Used) -> String {
        match &used.version {
            Version::Composed(entry) => {
                format!("{} (our own, version {entry})", used.name)
            }
            Version::BuiltIn(hash) => format!("{} (Pinfold's, version {hash})", used.name),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_copy_of_the_longest_name_is_no_longer() {
        let name = EN.copy_of(&"\u{9488}".repeat(80));
        assert_eq!(name.chars().count(), 80);
        assert!(name.ends_with(", copy"));
    }
}
