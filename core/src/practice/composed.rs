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

use crate::atlas::Atlas;
use crate::base::body::{self, Body, Reader, Writer};
use crate::event::procedure::{Composed, Json};
use crate::needle::Needles;
use crate::procedure::check::MOST_STEPS;
use crate::procedure::compose::OWN;
use crate::procedure::{
    Composition, Hands, Module, ModuleName, Procedure, Sensation, SizeChoice, Stay, Step,
    Technique, Visit, Wrong,
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

/// Parts that one procedure can have: there are no more of the body.
const MOST_PARTS: usize = 10;

/// What a procedure says of itself, without its parts; those lie on the reader then.
fn head(from: &mut Reader<'_>) -> Composition {
    from.object("id? name visit about? source? modules");
    Composition {
        id: String::read(from),
        name: String::read(from),
        visit: Visit::read(from),
        about: String::read(from),
        source: String::read(from),
        modules: Vec::new(),
    }
}

/// What is wrong so far: where, and the reader's words.
fn sound(whole: &RawValue, from: &Reader<'_>) -> Result<(), (String, String)> {
    let at = |value| body::place(whole.get(), value);
    let wrong = from.wrong();
    wrong.map_or(Ok(()), |(wrong, value)| Err((at(value), wrong.to_string())))
}

/// A part that has more points than any procedure may have.
fn few(module: &Module) -> Result<(), String> {
    if module.steps.len() > MOST_STEPS {
        Err(format!("steps: more than {MOST_STEPS}"))
    } else {
        Ok(())
    }
}

/// Reads a procedure as a fact keeps it.
///
/// # Errors
/// The reader's words, with the place.
pub fn read(id: &str, kept: &Json) -> Result<Composition, String> {
    let raw = body::json(kept.text()).map_err(|wrong| wrong.to_string())?;
    let mut from = Reader::of(raw);
    let mut made = head(&mut from);
    made.modules = Vec::read(&mut from);
    made.id = id.to_string();
    sound(raw, &from).map_err(|(at, words)| format!("{at}: {words}"))?;
    made.modules.iter().try_for_each(few)?;
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
                return if out.len() > MOST_PARTS {
                    Err(Unusable::TooMuch(Much::Modules, MOST_PARTS))
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

/// What a named module is called, and what it is made of.
#[derive(Body)]
struct Called {
    name: String,
    #[serde(default)]
    parts: Vec<String>,
}

/// A named module that is made of others.
#[derive(Body)]
#[serde(deny_unknown_fields)]
struct OfParts {
    name: String,
    parts: Vec<String>,
}

/// A named module that is one part: [`Module`] with a name.
#[derive(Body)]
#[serde(deny_unknown_fields)]
struct OnePart {
    name: String,
    #[serde(default)]
    parts: Vec<String>,
    module: ModuleName,
    #[serde(default)]
    apart: bool,
    size: SizeChoice,
    technique: Technique,
    sensation: Sensation,
    stay: Stay,
    seconds: Hands,
    steps: Vec<Step>,
}

fn named(from: &mut Reader<'_>) -> (String, Named) {
    from.again();
    if !Called::read(from).parts.is_empty() {
        let of = OfParts::read(from);
        return (of.name, Named::Of(of.parts));
    }
    let one = OnePart::read(from);
    let module = Module {
        module: one.module,
        apart: one.apart,
        size: one.size,
        technique: one.technique,
        sensation: one.sensation,
        stay: one.stay,
        seconds: one.seconds,
        steps: one.steps,
    };
    (one.name, Named::One(module))
}

fn count(much: Much, there: usize, most: usize) -> Result<(), Unusable> {
    if there > most {
        Err(Unusable::TooMuch(much, most))
    } else {
        Ok(())
    }
}

fn not(at: &str, words: &str) -> Unusable {
    Unusable::NotProcedures(at.to_owned(), words.to_owned())
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
    let raw = body::json(text).map_err(|wrong| not("", &wrong.to_string()))?;
    let mut from = Reader::of(raw);
    let sound = |from: &Reader<'_>| sound(raw, from).map_err(|(at, words)| not(&at, &words));
    from.object("pinfold format modules? procedures?");
    if from.text() != "procedures" || u16::read(&mut from) != 1 {
        return Err(not("", "not a file of procedures of format 1"));
    }
    let modules = from.list();
    count(Much::Modules, modules, MOST_NAMED)?;
    let mut steps = 0_usize;
    let mut seen = |module: &Module| {
        steps = steps.saturating_add(module.steps.len());
        count(Much::Steps, steps, MOST_FILE_STEPS)
    };
    let mut all = Modules {
        all: Vec::new(),
        looks: 0,
    };
    for at in 0..modules {
        let (name, module) = named(&mut from);
        sound(&from)?;
        let place = format!("modules[{at}]");
        if crate::procedure::check::text(&name, MOST_MODULE_NAME, true).is_some() {
            let words = "name: empty, too long, or with characters that cannot be seen";
            return Err(not(&place, words));
        }
        if all.find(&name).is_some() {
            return Err(Unusable::BadName(name));
        }
        if let Named::One(module) = &module {
            few(module).map_err(|words| not(&place, &words))?;
            seen(module)?;
        }
        all.all.push((name, module));
    }
    let procedures = from.list();
    count(Much::Procedures, procedures, MOST_PROCEDURES)?;
    sound(&from)?;
    if let Some(ring) = all.ring() {
        return Err(Unusable::Ring(ring));
    }
    // What nobody uses must be sound as well.
    let names: Vec<String> = all.all.iter().map(|(name, _)| name.clone()).collect();
    for name in &names {
        all.take_apart(name, name, 1, &mut Vec::new())?;
    }
    let mut out: Vec<Composition> = Vec::new();
    for at in 0..procedures {
        let mut made = head(&mut from);
        let parts = from.list();
        sound(&from)?;
        count(Much::Modules, parts, MOST_PARTS)?;
        for part in 0..parts {
            let place = format!("procedures[{at}].modules[{part}]");
            if from.is_text() {
                let name = from.text();
                sound(&from)?;
                all.take_apart(&name, &place, 1, &mut made.modules)?;
            } else {
                let module = Module::read(&mut from);
                sound(&from)?;
                few(&module).map_err(|words| not(&place, &words))?;
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

/// Writes a procedure, with its stable name if it has one and that is wanted.
fn write_one(made: &Composition, id: bool, out: &mut Writer) {
    out.text(if id { &made.id } else { "" });
    out.text(&made.name);
    made.visit.write(out);
    out.text(&made.about);
    out.text(&made.source);
    made.modules.write(out);
    out.object("id? name visit about source modules");
}

fn text_of(made: &Composition) -> String {
    let mut out = Writer::default();
    write_one(made, false, &mut out);
    out.end()
}

/// The fact that keeps a procedure.
#[must_use]
pub fn composed(made: &Composition) -> Composed {
    Composed {
        id: made.id.clone(),
        procedure: Json::new(text_of(made)),
    }
}

/// Procedures as a file to hand on: whole, nothing named.
#[must_use]
pub fn write_file(all: &[Composition]) -> String {
    let mut out = Writer::default();
    out.text("procedures");
    1_u16.write(&mut out);
    for made in all {
        write_one(made, true, &mut out);
    }
    out.list(all.len());
    out.object("pinfold format procedures");
    out.end()
}

/// 16 hexadecimal digits made from all that a procedure of Pinfold's says, so that a session can name
/// exactly the one it used. FNV-1a, 64 bits: tells versions apart, and guards against nothing.
#[must_use]
pub fn fingerprint(built_in: &Procedure) -> String {
    let mut hash = 0xcbf2_9ce4_8422_2325_u64;
    let text = text_of(&Composition::copy(built_in, built_in.name.clone()));
    for byte in built_in.id.bytes().chain(text.bytes()) {
        hash = (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3);
    }
    format!("{hash:016x}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::units::Seconds;

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
