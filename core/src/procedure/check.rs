//! Whether a procedure of the practice's own can be used: field by field, against the points and
//! needle sizes there are. The bounds are policy: wide enough for any visit, narrow enough that a
//! slip of the finger or a hostile file is seen.

use super::{Composition, ModuleName, Step};
use crate::atlas::{Area, Atlas, Side};
use crate::base::units::Seconds;
use crate::needle::Needles;
use alloc::format;
use alloc::string::{String, ToString};
use alloc::vec::Vec;

/// Steps in all parts together, at most.
pub const MOST_STEPS: usize = 300;
/// Needles in all, at most: no more can be written into one fact of a session.
pub const MOST_NEEDLES: u16 = 500;
/// Characters of a name, at most.
pub const MOST_NAME: usize = 80;
/// Characters of the other texts, at most.
pub const MOST_TEXT: usize = 400;
/// A needle stays at least this.
pub const LEAST_STAY: Seconds = Seconds(60);
/// And at most this.
pub const MOST_STAY: Seconds = Seconds(86_400);
/// Seconds at one needle, at most; at least 1.
pub const MOST_SECONDS: Seconds = Seconds(600);

/// Which field.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Field {
    /// The stable name.
    Id,
    /// The name.
    Name,
    /// What it is.
    About,
    /// What it rests on.
    Source,
    /// The list of parts.
    Modules,
    /// One part.
    Module,
    /// Its needle, or that of one point.
    Size,
    /// Its stay.
    Stay,
    /// Seconds to place one needle.
    Place,
    /// Seconds to take one out.
    Remove,
    /// Its points.
    Steps,
    /// One point.
    Point,
    /// The point's side.
    Side,
    /// What goes first.
    Keep,
}

impl Field {
    /// As in files.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Id => "id",
            Self::Name => "name",
            Self::About => "about",
            Self::Source => "source",
            Self::Modules => "modules",
            Self::Module => "module",
            Self::Size => "size",
            Self::Stay => "stay",
            Self::Place => "seconds.place",
            Self::Remove => "seconds.remove",
            Self::Steps => "steps",
            Self::Point => "point",
            Self::Side => "side",
            Self::Keep => "keep",
        }
    }
}

/// What is wrong with it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Slip {
    /// Nothing is there and something has to be.
    Empty,
    /// Longer than so many characters.
    TooLong(usize),
    /// It holds a character that cannot be seen or that turns the writing round.
    Unseen,
    /// No such thing is known here.
    Unknown(String),
    /// The point is not found on that side.
    NoSide(Side),
    /// The point lies in this area, not in the part's.
    Elsewhere(Area),
    /// The least is above the most.
    Crossed,
    /// Outside this range, both ends included.
    Outside(u32, u32),
    /// More than so many.
    TooMany(usize),
    /// It is there already.
    Twice,
}

/// A field that cannot be used, and why.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Wrong {
    /// Which part, counted from 0, if it is in one.
    pub module: Option<usize>,
    /// Which point of it, counted from 0, if it is one.
    pub step: Option<usize>,
    /// Which field.
    pub field: Field,
    /// What is wrong.
    pub slip: Slip,
}

impl Wrong {
    /// The field as a path: `modules[2].steps[0].side`.
    #[must_use]
    pub fn path(&self) -> String {
        let field = self.field.name();
        match (self.module, self.step) {
            (Some(m), Some(s)) => format!("modules[{m}].steps[{s}].{field}"),
            (Some(m), None) => format!("modules[{m}].{field}"),
            _ => field.to_string(),
        }
    }
}

/// Whether a text holds something that a reader cannot see, or that turns the writing round. What
/// looks like markup is text like any other.
#[must_use]
pub fn unseen(text: &str) -> bool {
    text.chars()
        .any(|c| c.is_control() || matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}'))
}

/// What is wrong with a text of at most so many characters, if anything is.
#[must_use]
pub fn text(text: &str, most: usize, needed: bool) -> Option<Slip> {
    if needed && text.trim().is_empty() {
        Some(Slip::Empty)
    } else if unseen(text) {
        Some(Slip::Unseen)
    } else {
        (text.chars().count() > most).then_some(Slip::TooLong(most))
    }
}

/// Whether two steps ask for a needle at the same place.
fn same_place(a: &Step, b: &Step) -> bool {
    a.point == b.point && (a.side == b.side || a.side == Side::Both || b.side == Side::Both)
}

/// What was found so far, and where the finger is.
struct Finder {
    found: Vec<Wrong>,
    module: Option<usize>,
    step: Option<usize>,
}

impl Finder {
    fn say(&mut self, field: Field, slip: Slip) {
        self.found.push(Wrong {
            module: self.module,
            step: self.step,
            field,
            slip,
        });
    }

    fn say_if(&mut self, field: Field, slip: Option<Slip>) {
        if let Some(slip) = slip {
            self.say(field, slip);
        }
    }

    fn within(&mut self, field: Field, value: Seconds, least: Seconds, most: Seconds) {
        if value < least || value > most {
            self.say(field, Slip::Outside(least.0, most.0));
        }
    }

    fn size(&mut self, id: &str, needles: &Needles) {
        if id.is_empty() {
            self.say(Field::Size, Slip::Empty);
        } else if needles.get(id).is_none() {
            self.say(Field::Size, Slip::Unknown(id.to_string()));
        }
    }

    fn one_step(&mut self, step: &Step, module: ModuleName, atlas: &Atlas, needles: &Needles) {
        match atlas.get(&step.point) {
            None => self.say(Field::Point, Slip::Unknown(step.point.clone())),
            Some(point) => {
                if point.reach.needles(step.side) == 0 {
                    self.say(Field::Side, Slip::NoSide(step.side));
                }
                if module.area().is_some_and(|area| area != point.area) {
                    self.say(Field::Point, Slip::Elsewhere(point.area));
                }
            }
        }
        if let Some(size) = &step.size {
            self.size(size, needles);
        }
        if !(1..=3).contains(&step.keep) {
            self.say(Field::Keep, Slip::Outside(1, 3));
        }
    }
}

impl Composition {
    /// Everything that is wrong with it, in its order; nothing if it can be used. A part without
    /// points may be kept: it is worked on.
    #[must_use]
    pub fn check(&self, atlas: &Atlas, needles: &Needles) -> Vec<Wrong> {
        let mut finder = Finder {
            found: Vec::new(),
            module: None,
            step: None,
        };
        finder.say_if(Field::Name, text(&self.name, MOST_NAME, true));
        finder.say_if(Field::About, text(&self.about, MOST_TEXT, false));
        finder.say_if(Field::Source, text(&self.source, MOST_TEXT, false));
        let mut before: Vec<&Step> = Vec::new();
        for (at, module) in self.modules.iter().enumerate() {
            finder.module = Some(at);
            let earlier = self.modules.iter().take(at);
            if earlier.clone().any(|m| m.module == module.module) {
                finder.say(Field::Module, Slip::Twice);
            }
            finder.size(&module.size.id, needles);
            let stay = module.stay;
            if stay.least > stay.most {
                finder.say(Field::Stay, Slip::Crossed);
            } else {
                let ends = [stay.least, stay.most].into_iter();
                let mut out = ends.filter(|s| *s < LEAST_STAY || *s > MOST_STAY);
                let out = out.next().unwrap_or(LEAST_STAY);
                finder.within(Field::Stay, out, LEAST_STAY, MOST_STAY);
            }
            let hands = module.seconds;
            finder.within(Field::Place, hands.place, Seconds(1), MOST_SECONDS);
            finder.within(Field::Remove, hands.remove, Seconds(1), MOST_SECONDS);
            for (at, step) in module.steps.iter().enumerate() {
                if before.len() >= MOST_STEPS {
                    finder.step = None;
                    finder.say(Field::Steps, Slip::TooMany(MOST_STEPS));
                    return finder.found;
                }
                finder.step = Some(at);
                finder.one_step(step, module.module, atlas, needles);
                if before.iter().any(|other| same_place(other, step)) {
                    finder.say(Field::Point, Slip::Twice);
                }
                before.push(step);
            }
            finder.step = None;
        }
        finder.module = None;
        if self.needles(atlas) > MOST_NEEDLES {
            let slip = Slip::TooMany(usize::from(MOST_NEEDLES));
            finder.say(Field::Modules, slip);
        }
        finder.found
    }
}

#[cfg(test)]
mod tests {
    use super::super::{compose, procedures};
    use super::*;

    fn paths(draft: &Composition) -> Vec<(String, Slip)> {
        let (atlas, needles) = (Atlas::load().unwrap(), Needles::load().unwrap());
        let found = draft.check(&atlas, &needles);
        found.into_iter().map(|w| (w.path(), w.slip)).collect()
    }

    #[test]
    fn a_copy_of_each_of_ours_can_be_used() {
        let atlas = Atlas::load().unwrap();
        for one in procedures().unwrap() {
            let copy = Composition::copy(&one, "Copy".into());
            assert_eq!(paths(&copy), [], "{}", one.id);
            assert_eq!(copy.needles(&atlas), one.needles, "{}", one.id);
        }
    }

    #[test]
    fn each_slip_is_named_by_its_field() {
        let all = procedures().unwrap();
        let sound = Composition::copy(&all[1], "Ours".into());
        let with = |edit: &dyn Fn(&mut Composition)| {
            let mut draft = sound.clone();
            edit(&mut draft);
            paths(&draft)
        };
        let one = |path: &str, slip: Slip| [(path.to_string(), slip)];
        let name = |text: &str| {
            let text = text.to_string();
            with(&|d| d.name.clone_from(&text))
        };
        assert_eq!(name("  "), one("name", Slip::Empty));
        assert_eq!(name(&"a".repeat(81)), one("name", Slip::TooLong(80)));
        assert_eq!(name("a\u{7}"), one("name", Slip::Unseen));
        assert_eq!(name("a\u{202e}b"), one("name", Slip::Unseen));
        // 80 letters of three bytes each are 80 letters; what looks like markup is text.
        assert_eq!(name(&"\u{9488}".repeat(80)), []);
        assert_eq!(name("<b>ours</b>"), []);
        assert_eq!(
            with(&|d| d.modules[0].steps[0].point = "LI99".into()),
            one("modules[0].steps[0].point", Slip::Unknown("LI99".into()))
        );
        assert_eq!(
            with(&|d| d.modules[0].steps[0].side = Side::Centre),
            one("modules[0].steps[0].side", Slip::NoSide(Side::Centre))
        );
        let cheek = compose::step("SI18", Side::Both);
        assert_eq!(
            with(&|d| {
                d.remove_module(4);
                d.modules[2].steps.push(cheek.clone());
            }),
            one("modules[2].steps[6].point", Slip::Elsewhere(Area::Cheek))
        );
        assert_eq!(
            with(&|d| d.modules[3].size.id = "9x9".into()),
            one("modules[3].size", Slip::Unknown("9x9".into()))
        );
        assert_eq!(
            with(&|d| d.modules[0].steps[1].size = Some(String::new())),
            one("modules[0].steps[1].size", Slip::Empty)
        );
        let stay = |least: u32, most: u32| {
            with(&|d| {
                d.set_stay(0, Seconds(least), Seconds(most));
            })
        };
        assert_eq!(stay(700, 600), one("modules[0].stay", Slip::Crossed));
        let outside = one("modules[0].stay", Slip::Outside(60, 86_400));
        assert_eq!(stay(59, 600), outside);
        assert_eq!(stay(60, 86_401), outside);
        assert_eq!(stay(60, 86_400), []);
        let seconds = |place: u32, remove: u32| {
            with(&|d| {
                d.set_seconds(0, Seconds(place), Seconds(remove));
            })
        };
        assert_eq!(
            seconds(0, 6),
            one("modules[0].seconds.place", Slip::Outside(1, 600))
        );
        assert_eq!(
            seconds(600, 601),
            one("modules[0].seconds.remove", Slip::Outside(1, 600))
        );
        assert_eq!(seconds(1, 600), []);
        let twice = one("modules[0].steps[2].point", Slip::Twice);
        for side in [Side::Both, Side::Right] {
            let again = compose::step("LI4", side);
            assert_eq!(with(&|d| d.modules[0].steps.push(again.clone())), twice);
        }
        assert_eq!(
            with(&|d| {
                d.set_side(0, 0, Side::Left);
                d.modules[0].steps.push(compose::step("LI4", Side::Right));
            }),
            [],
            "the two sides of a pair, one by one"
        );
        let twin = with(&|d| {
            let mut again = d.modules[2].clone();
            again.steps.clear();
            d.modules.push(again);
        });
        assert_eq!(twin, one("modules[6].module", Slip::Twice));
        let keep = with(&|d| d.modules[0].steps[0].keep = 0);
        assert_eq!(keep, one("modules[0].steps[0].keep", Slip::Outside(1, 3)));
        let blank = with(&|d| d.modules.push(compose::blank(ModuleName::Ear)));
        let fields: Vec<&str> = blank.iter().map(|(path, _)| path.as_str()).collect();
        let place = "modules[6].seconds.place";
        let remove = "modules[6].seconds.remove";
        assert_eq!(
            fields,
            ["modules[6].size", "modules[6].stay", place, remove]
        );
        let many = with(&|d| {
            let step = compose::step("LI4", Side::Both);
            d.modules[0].steps = alloc::vec![step; 301];
        });
        let last = many.last().unwrap();
        assert_eq!(*last, ("modules[0].steps".into(), Slip::TooMany(300)));
    }

    #[test]
    fn intradermals_may_lie_anywhere() {
        let all = procedures().unwrap();
        let lines = all.iter().find(|p| p.id == "return_lines").unwrap();
        let mut draft = Composition::copy(lines, "Ours".into());
        let at = draft.modules.len() - 1;
        assert_eq!(draft.modules[at].module, ModuleName::Intradermals);
        draft.add_step(at, compose::step("ST36", Side::Both));
        assert_eq!(paths(&draft), []);
    }
}
