//! Procedures of the practice's own as JSON: how a fact keeps one, and the file they are shared as.
//!
//! ```json
//! {"pinfold":"procedures","format":1,
//!  "modules":[{"name":"hands","module":"hands_arms","size":{"id":"0.16x25"},
//!    "technique":{"how":"perpendicular","direction":"none"},"sensation":{"sought":"mild"},
//!    "stay":{"least":1200,"most":1800},"seconds":{"place":20,"remove":6},
//!    "steps":[{"point":"LI4","side":"both","keep":1}]},
//!   {"name":"before the face","parts":["hands"]}],
//!  "procedures":[{"name":"Short, ours","visit":"first","about":"","source":"","modules":["before the face"]}]}
//! ```
//! A part of a procedure is written in its place or named; a named module is one part, or is made of
//! others (`parts`). Names are taken apart when the file is read: a fact and a shared file hold whole
//! procedures. `mark` may be given with each figure and is kept only where Pinfold's own procedures
//! bear it out. Times are seconds. Nothing of a file is taken unless all of it can be.

use super::own::{list, name, object, of, quoted};
use crate::atlas::{Atlas, Side};
use crate::base::cite::Mark;
use crate::base::units::Seconds;
use crate::event::body::Fields;
use crate::event::procedure::{Composed, Json};
use crate::needle::Needles;
use crate::procedure::check::MOST_STEPS;
use crate::procedure::compose::OWN;
use crate::procedure::{
    Composition, Direction, Hands, How, Module, ModuleName, Procedure, Sensation, SizeChoice,
    Sought, Stay, Step, Technique, Visit, Wrong,
};
use alloc::borrow::ToOwned;
use alloc::boxed::Box;
use alloc::format;
use alloc::string::{String, ToString};
use alloc::vec::Vec;
use serde_json::value::RawValue;

/// The longest file that is read, in bytes.
pub const MOST_BYTES: usize = 256_000;
/// Procedures in a file, at most.
pub const MOST_PROCEDURES: usize = 50;
/// Points in all parts that a file writes down, at most.
pub const MOST_FILE_STEPS: usize = 5_000;
/// Named modules in a file, at most.
pub const MOST_NAMED: usize = 200;
/// How deep modules may be made of modules.
pub const DEEPEST: usize = 8;
/// How often names are looked up for one file, at most: modules of modules can multiply.
const MOST_LOOKS: usize = 10_000;
/// Characters of a module's name, at most.
const MOST_MODULE_NAME: usize = 80;

/// Why a file of procedures cannot be used. Nothing of it is taken then.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Unusable {
    /// It is not such a file, or not written as one: where, and the reader's words.
    NotProcedures(String, String),
    /// More than is read: of bytes, procedures, points, modules or parts, and how many may be.
    TooMuch(Much, usize),
    /// A part names a module that the file does not have: where, and the name.
    NoSuchModule(String, String),
    /// Modules that are made of one another, in a ring.
    Ring(Vec<String>),
    /// Modules of modules, deeper than [`DEEPEST`]: the outermost.
    TooDeep(String),
    /// Two of the same stable name, or a name that is none.
    BadName(String),
    /// A procedure that does not fit points and needles: its place in the file, itself, what is wrong.
    Wrong(usize, Box<(Composition, Wrong)>),
}

/// What there is too much of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[expect(missing_docs, reason = "each is named as what it counts")]
pub enum Much {
    Bytes,
    Procedures,
    Steps,
    Modules,
    Parts,
}

const VISITS: &[(&str, Visit)] = &[
    ("first", Visit::First),
    ("return", Visit::Return),
    ("any", Visit::Any),
];

const MODULES: &[(&str, ModuleName)] = &[
    ("hands_arms", ModuleName::HandsArms),
    ("legs_feet", ModuleName::LegsFeet),
    ("scalp", ModuleName::Scalp),
    ("ear", ModuleName::Ear),
    ("forehead", ModuleName::Forehead),
    ("eye_rim", ModuleName::EyeRim),
    ("cheek", ModuleName::Cheek),
    ("mouth_jaw", ModuleName::MouthJaw),
    ("neck", ModuleName::Neck),
    ("intradermals", ModuleName::Intradermals),
];

const HOWS: &[(&str, How)] = &[
    ("perpendicular", How::Perpendicular),
    ("oblique", How::Oblique),
    ("transverse", How::Transverse),
    ("pressed", How::Pressed),
];

const DIRECTIONS: &[(&str, Direction)] = &[
    ("none", Direction::None),
    ("backward", Direction::Backward),
    ("upward", Direction::Upward),
    ("downward", Direction::Downward),
    ("medial", Direction::Medial),
    ("lateral", Direction::Lateral),
];

const SOUGHTS: &[(&str, Sought)] = &[
    ("none", Sought::None),
    ("mild", Sought::Mild),
    ("de_qi", Sought::DeQi),
];

const SIDES: &[(&str, Side)] = &[
    ("right", Side::Right),
    ("left", Side::Left),
    ("both", Side::Both),
    ("centre", Side::Centre),
];

const MARKS: &[(&str, Mark)] = &[
    ("read", Mark::Read),
    ("memory", Mark::Memory),
    ("common_practice", Mark::CommonPractice),
    ("derived", Mark::Derived),
    ("policy", Mark::Policy),
    ("own", Mark::Own),
];

/// A number as seconds; one that cannot be is the greatest there is, which no bound lets through.
fn seconds(from: &mut Fields<'_>, field: &'static str) -> Seconds {
    Seconds(u32::try_from(from.number(field)).unwrap_or(u32::MAX))
}

/// A mark; `own` where none is given.
fn mark(from: &mut Fields<'_>) -> Mark {
    match from.maybe_text("mark") {
        Some(text) => of(from, "mark", &text, MARKS, Mark::Own),
        None => Mark::Own,
    }
}

/// A choice by its name that must be there.
fn choice<T: Copy>(from: &mut Fields<'_>, field: &'static str, names: &[(&str, T)], other: T) -> T {
    let text = from.text(field);
    of(from, field, &text, names, other)
}

/// A choice by its name that may be missing.
fn maybe<T: Copy>(
    from: &mut Fields<'_>,
    field: &'static str,
    names: &[(&str, T)],
    other: T,
) -> Option<T> {
    let text = from.maybe_text(field)?;
    Some(of(from, field, &text, names, other))
}

/// The figures of one part that stand in an object of their own.
fn within<'a, T>(
    from: &mut Fields<'a>,
    field: &'static str,
    wrong: &mut Result<(), String>,
    read: impl FnOnce(&mut Fields<'a>) -> T,
) -> Option<T> {
    let Some(raw) = from.maybe(field) else {
        from.refuse("missing: ", field);
        return None;
    };
    let mut inner = Fields::of(raw);
    let value = read(&mut inner);
    if let (Ok(()), Err(words)) = (&wrong, inner.end()) {
        *wrong = Err(format!("{field}: {words}"));
    }
    Some(value)
}

fn read_step(raw: &RawValue) -> Result<Step, String> {
    let mut from = Fields::of(raw);
    let step = Step {
        point: from.text("point"),
        side: choice(&mut from, "side", SIDES, Side::Both),
        keep: u8::try_from(from.number("keep")).unwrap_or(0),
        size: from.maybe_text("size"),
        how: maybe(&mut from, "how", HOWS, How::Oblique),
        direction: maybe(&mut from, "direction", DIRECTIONS, Direction::None),
        worn_home: from.yes("worn_home"),
    };
    from.end().map(|()| step)
}

/// One part; what is left of its fields is looked at by the caller.
fn read_module(from: &mut Fields<'_>) -> Result<Module, String> {
    let module = choice(from, "module", MODULES, ModuleName::Intradermals);
    let mut out = crate::procedure::compose::blank(module);
    out.apart = from.yes("apart");
    let mut wrong = Ok(());
    if let Some(size) = within(from, "size", &mut wrong, |f| SizeChoice {
        id: f.text("id"),
        mark: mark(f),
    }) {
        out.size = size;
    }
    if let Some(technique) = within(from, "technique", &mut wrong, |f| Technique {
        how: choice(f, "how", HOWS, How::Oblique),
        direction: choice(f, "direction", DIRECTIONS, Direction::None),
        mark: mark(f),
    }) {
        out.technique = technique;
    }
    if let Some(sensation) = within(from, "sensation", &mut wrong, |f| Sensation {
        sought: choice(f, "sought", SOUGHTS, Sought::None),
        mark: mark(f),
    }) {
        out.sensation = sensation;
    }
    if let Some(stay) = within(from, "stay", &mut wrong, |f| Stay {
        least: seconds(f, "least"),
        most: seconds(f, "most"),
        mark: mark(f),
    }) {
        out.stay = stay;
    }
    if let Some(hands) = within(from, "seconds", &mut wrong, |f| Hands {
        place: seconds(f, "place"),
        remove: seconds(f, "remove"),
        mark: mark(f),
    }) {
        out.seconds = hands;
    }
    wrong?;
    let steps = from.list("steps");
    if steps.len() > MOST_STEPS {
        return Err(format!("steps: more than {MOST_STEPS}"));
    }
    for (at, raw) in steps.into_iter().enumerate() {
        let step = read_step(raw).map_err(|words| format!("steps[{at}]: {words}"))?;
        out.steps.push(step);
    }
    Ok(out)
}

fn whole_module(raw: &RawValue) -> Result<Module, String> {
    let mut from = Fields::of(raw);
    let module = read_module(&mut from)?;
    from.end().map(|()| module)
}

/// What a procedure says of itself, and its parts, not yet looked into.
fn head(raw: &RawValue) -> Result<(Composition, Vec<&RawValue>), String> {
    let mut from = Fields::of(raw);
    let made = Composition {
        id: from.maybe_text("id").unwrap_or_default(),
        name: from.text("name"),
        visit: choice(&mut from, "visit", VISITS, Visit::Any),
        about: from.maybe_text("about").unwrap_or_default(),
        source: from.maybe_text("source").unwrap_or_default(),
        modules: Vec::new(),
    };
    let parts = from.list("modules");
    from.end().map(|()| (made, parts))
}

/// Reads a procedure as a fact keeps it.
///
/// # Errors
/// The reader's words, with the place.
pub fn read(id: &str, kept: &Json) -> Result<Composition, String> {
    let raw: &RawValue = serde_json::from_str(kept.text()).map_err(|_| "not JSON".to_string())?;
    let (mut made, parts) = head(raw)?;
    made.id = id.to_string();
    for (at, raw) in parts.into_iter().enumerate() {
        let module = whole_module(raw).map_err(|words| format!("modules[{at}].{words}"))?;
        made.modules.push(module);
    }
    Ok(made)
}

/// A named module of a file.
enum Named {
    One(Module),
    Of(Vec<String>),
}

struct Modules {
    all: Vec<(String, Named)>,
    looks: usize,
}

impl Modules {
    fn find(&self, name: &str) -> Option<usize> {
        self.all.iter().position(|(known, _)| known == name)
    }

    /// The positions that one is made of; names that are not there are refused elsewhere.
    fn of(&self, at: usize) -> Vec<usize> {
        match self.all.get(at) {
            Some((_, Named::Of(parts))) => parts.iter().filter_map(|n| self.find(n)).collect(),
            _ => Vec::new(),
        }
    }

    /// A ring of modules, if there is one: what is left when everything that is made only of settled
    /// modules is settled, time and again.
    fn ring(&self) -> Option<Vec<String>> {
        let made_of: Vec<Vec<usize>> = (0..self.all.len()).map(|at| self.of(at)).collect();
        let mut open: Vec<usize> = (0..self.all.len()).collect();
        loop {
            let before = open.clone();
            let waits = |at: &usize| {
                let parts = made_of.get(*at).map_or(&[][..], Vec::as_slice);
                parts.iter().any(|part| before.contains(part))
            };
            open.retain(waits);
            if open.len() == before.len() {
                break;
            }
        }
        let mut at = *open.first()?;
        let mut path: Vec<usize> = Vec::new();
        while !path.contains(&at) {
            path.push(at);
            at = *made_of.get(at)?.iter().find(|part| open.contains(part))?;
        }
        let ring = path.iter().skip_while(|one| **one != at).chain([&at]);
        let names = ring.filter_map(|one| self.all.get(*one));
        Some(names.map(|(name, _)| name.clone()).collect())
    }

    fn take_apart(
        &mut self,
        name: &str,
        at: &str,
        depth: usize,
        out: &mut Vec<Module>,
    ) -> Result<(), Unusable> {
        self.looks = self.looks.saturating_add(1);
        if self.looks > MOST_LOOKS {
            return Err(Unusable::TooMuch(Much::Parts, MOST_LOOKS));
        }
        if depth > DEEPEST {
            return Err(Unusable::TooDeep(name.to_owned()));
        }
        let found = self.find(name).and_then(|at| self.all.get(at));
        let parts = match found {
            None => return Err(Unusable::NoSuchModule(at.to_owned(), name.to_owned())),
            Some((_, Named::One(module))) => {
                out.push(module.clone());
                // No more than there are parts of the body, and one to be refused.
                return if out.len() > MODULES.len() {
                    Err(Unusable::TooMuch(Much::Modules, MODULES.len()))
                } else {
                    Ok(())
                };
            }
            Some((_, Named::Of(parts))) => parts.clone(),
        };
        for part in &parts {
            self.take_apart(part, name, depth.saturating_add(1), out)?;
        }
        Ok(())
    }
}

fn named(raw: &RawValue) -> Result<(String, Named), String> {
    let mut from = Fields::of(raw);
    let name = from.text("name");
    if crate::procedure::check::text(&name, MOST_MODULE_NAME, true).is_some() {
        return Err("name: empty, too long, or with characters that cannot be seen".to_string());
    }
    let parts = from.texts("parts");
    let module = if parts.is_empty() {
        Named::One(read_module(&mut from)?)
    } else {
        Named::Of(parts)
    };
    from.end().map(|()| (name, module))
}

fn count(much: Much, there: usize, most: usize) -> Result<(), Unusable> {
    if there > most {
        Err(Unusable::TooMuch(much, most))
    } else {
        Ok(())
    }
}

fn not(at: String) -> impl FnOnce(String) -> Unusable {
    move |words| Unusable::NotProcedures(at, words)
}

/// Reads a file of procedures and tries each against points and needles. Marks are settled against
/// Pinfold's own procedures.
///
/// # Errors
/// [`Unusable`] says what and why; nothing of the file is taken then.
pub fn read_file(
    text: &str,
    atlas: &Atlas,
    needles: &Needles,
    built_in: &[Procedure],
) -> Result<Vec<Composition>, Unusable> {
    count(Much::Bytes, text.len(), MOST_BYTES)?;
    let no_json = |_| not(String::new())("not JSON".to_string());
    let raw: &RawValue = serde_json::from_str(text).map_err(no_json)?;
    let mut from = Fields::of(raw);
    if from.text("pinfold") != "procedures" || from.number("format") != 1 {
        let words = "not a file of procedures of format 1".to_string();
        return Err(not(String::new())(words));
    }
    let (modules, procedures) = (from.list("modules"), from.list("procedures"));
    from.end().map_err(not(String::new()))?;
    count(Much::Procedures, procedures.len(), MOST_PROCEDURES)?;
    count(Much::Modules, modules.len(), MOST_NAMED)?;
    let mut steps = 0_usize;
    let mut seen = |module: &Module| {
        steps = steps.saturating_add(module.steps.len());
        count(Much::Steps, steps, MOST_FILE_STEPS)
    };
    let mut all = Modules {
        all: Vec::new(),
        looks: 0,
    };
    for (at, raw) in modules.into_iter().enumerate() {
        let (name, module) = named(raw).map_err(not(format!("modules[{at}]")))?;
        if all.find(&name).is_some() {
            return Err(Unusable::BadName(name));
        }
        if let Named::One(module) = &module {
            seen(module)?;
        }
        all.all.push((name, module));
    }
    if let Some(ring) = all.ring() {
        return Err(Unusable::Ring(ring));
    }
    // What nobody uses must be sound as well.
    let names: Vec<String> = all.all.iter().map(|(name, _)| name.clone()).collect();
    for name in &names {
        all.take_apart(name, name, 1, &mut Vec::new())?;
    }
    let mut out: Vec<Composition> = Vec::new();
    for (at, raw) in procedures.into_iter().enumerate() {
        let place = format!("procedures[{at}]");
        let (mut made, parts) = head(raw).map_err(not(place.clone()))?;
        count(Much::Modules, parts.len(), MODULES.len())?;
        for (part, raw) in parts.into_iter().enumerate() {
            let place = format!("{place}.modules[{part}]");
            if let Ok(name) = serde_json::from_str::<String>(raw.get()) {
                all.take_apart(&name, &place, 1, &mut made.modules)?;
            } else {
                let module = whole_module(raw).map_err(not(place))?;
                seen(&module)?;
                made.modules.push(module);
            }
        }
        let plain = |c: char| c.is_ascii_alphanumeric() || c == '-';
        let tail = made.id.strip_prefix(OWN).unwrap_or_default();
        let good = !tail.is_empty() && made.id.len() <= 80 && tail.chars().all(plain);
        let twice = out.iter().any(|other| other.id == made.id);
        if !made.id.is_empty() && (!good || twice) {
            return Err(Unusable::BadName(made.id));
        }
        if let Some(wrong) = made.check(atlas, needles).into_iter().next() {
            return Err(Unusable::Wrong(at, Box::new((made, wrong))));
        }
        made.settle(built_in);
        out.push(made);
    }
    Ok(out)
}

fn number(n: u32) -> Option<String> {
    Some(n.to_string())
}

fn write_step(step: &Step) -> String {
    object([
        ("point", Some(quoted(&step.point))),
        ("side", Some(name(SIDES, &step.side))),
        ("keep", number(u32::from(step.keep))),
        ("size", step.size.as_ref().map(quoted)),
        ("how", step.how.map(|how| name(HOWS, &how))),
        ("direction", step.direction.map(|to| name(DIRECTIONS, &to))),
        ("worn_home", step.worn_home.then(|| "true".to_string())),
    ])
}

fn write_module(module: &Module) -> String {
    let mark = |mark: Mark| ("mark", Some(name(MARKS, &mark)));
    let (size, technique) = (&module.size, &module.technique);
    let (sensation, stay, hands) = (&module.sensation, &module.stay, &module.seconds);
    object([
        ("module", Some(name(MODULES, &module.module))),
        ("apart", module.apart.then(|| "true".to_string())),
        (
            "size",
            Some(object([("id", Some(quoted(&size.id))), mark(size.mark)])),
        ),
        (
            "technique",
            Some(object([
                ("how", Some(name(HOWS, &technique.how))),
                ("direction", Some(name(DIRECTIONS, &technique.direction))),
                mark(technique.mark),
            ])),
        ),
        (
            "sensation",
            Some(object([
                ("sought", Some(name(SOUGHTS, &sensation.sought))),
                mark(sensation.mark),
            ])),
        ),
        (
            "stay",
            Some(object([
                ("least", number(stay.least.0)),
                ("most", number(stay.most.0)),
                mark(stay.mark),
            ])),
        ),
        (
            "seconds",
            Some(object([
                ("place", number(hands.place.0)),
                ("remove", number(hands.remove.0)),
                mark(hands.mark),
            ])),
        ),
        ("steps", Some(list(&module.steps, write_step))),
    ])
}

fn write_one(made: &Composition, id: bool) -> String {
    object([
        ("id", (id && !made.id.is_empty()).then(|| quoted(&made.id))),
        ("name", Some(quoted(&made.name))),
        ("visit", Some(name(VISITS, &made.visit))),
        ("about", Some(quoted(&made.about))),
        ("source", Some(quoted(&made.source))),
        ("modules", Some(list(&made.modules, write_module))),
    ])
}

/// The fact that keeps a procedure.
#[must_use]
pub fn composed(made: &Composition) -> Composed {
    Composed {
        id: made.id.clone(),
        procedure: Json::new(write_one(made, false)),
    }
}

/// Procedures as a file to hand on: whole, nothing named.
#[must_use]
pub fn write_file(all: &[Composition]) -> String {
    let all = list(all, |made| write_one(made, true));
    format!("{{\"pinfold\":\"procedures\",\"format\":1,\"procedures\":{all}}}")
}

/// 16 hexadecimal digits made from all that a procedure of Pinfold's says, so that a session can name
/// exactly the one it used. FNV-1a, 64 bits: tells versions apart, and guards against nothing.
#[must_use]
pub fn fingerprint(built_in: &Procedure) -> String {
    let mut hash = 0xcbf2_9ce4_8422_2325_u64;
    let text = write_one(&Composition::copy(built_in, built_in.name.clone()), false);
    for byte in built_in.id.bytes().chain(text.bytes()) {
        hash = (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3);
    }
    format!("{hash:016x}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_those_that_procedures_are_written_with() {
        fn same<T: serde::Serialize>(names: &[(&str, T)]) -> usize {
            for (name, value) in names {
                assert_eq!(serde_json::to_string(value).unwrap(), format!("\"{name}\""));
            }
            names.len()
        }
        assert_eq!(same(VISITS), 3);
        assert_eq!(same(MODULES), 10);
        assert_eq!(same(HOWS), 4);
        assert_eq!(same(DIRECTIONS), 6);
        assert_eq!(same(SOUGHTS), 3);
        assert_eq!(same(SIDES), 4);
        assert_eq!(same(MARKS), 6);
    }

    #[test]
    fn what_is_written_reads_back_the_same() {
        for one in crate::procedure::procedures().unwrap() {
            let mut made = Composition::copy(&one, "<b>\"ours\"</b> & co".into());
            made.source = "our own case book".into();
            made.set_worn_home(0, 0, true);
            made.set_size(0, 1, Some("0.16x15".into()));
            let kept = composed(&made);
            assert_eq!(read("", &kept.procedure), Ok(made.clone()), "{}", one.id);
            // By another reader.
            let json: serde_json::Value = serde_json::from_str(kept.procedure.text()).unwrap();
            assert_eq!(json["name"], "<b>\"ours\"</b> & co");
            assert_eq!(json["modules"].as_array().unwrap().len(), one.modules.len());
        }
    }

    #[test]
    fn a_fingerprint_changes_with_the_content_and_with_nothing_else() {
        let all = crate::procedure::procedures().unwrap();
        let mut prints: Vec<String> = all.iter().map(fingerprint).collect();
        assert_eq!(prints[0], fingerprint(&all[0].clone()));
        let mut other = all[0].clone();
        other.modules[0].stay.most = Seconds(1_860);
        prints.push(fingerprint(&other));
        let count = prints.len();
        let prints: alloc::collections::BTreeSet<String> = prints.into_iter().collect();
        assert_eq!((prints.len(), count), (5, 5));
    }
}
