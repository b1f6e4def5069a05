//! A procedure being edited: what can be chosen of it, each as a list of words and the place of the one
//! that is chosen, so that a page needs one kind of choice for all of them.

use super::visit::Books;
use crate::atlas::{Atlas, Side};
use crate::base::units::Seconds;
use crate::procedure::{Composition, Direction, How, Module, ModuleName, Sought, Step};
use crate::words::place::EN as PLACE;
use crate::words::plan::EN as PLAN;
use crate::words::procedures::EN;
use alloc::string::{String, ToString};
use alloc::vec::Vec;

/// Something that is chosen from a list. Those of a point begin with the part's own choice, where the
/// point may do otherwise.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Knob {
    /// Right and left of a part, together or apart.
    Apart,
    /// A part's needle.
    Size,
    /// A part's technique.
    How,
    /// A part's direction.
    Direction,
    /// What a part seeks.
    Sought,
    /// A point's side.
    Side,
    /// What goes first when fewer needles are wanted.
    Keep,
    /// A point's needle.
    StepSize,
    /// A point's technique.
    StepHow,
    /// A point's direction.
    StepDirection,
    /// Whether a point's needle stays in when the person goes home.
    WornHome,
}

/// What a part has of these.
pub const OF_A_PART: [Knob; 5] = [
    Knob::Size,
    Knob::How,
    Knob::Direction,
    Knob::Sought,
    Knob::Apart,
];
/// What a point has of these.
pub const OF_A_POINT: [Knob; 6] = [
    Knob::Side,
    Knob::Keep,
    Knob::StepSize,
    Knob::StepHow,
    Knob::StepDirection,
    Knob::WornHome,
];

/// The techniques that can be chosen, in the order in which they are offered.
pub const HOWS: [How; 4] = [
    How::Perpendicular,
    How::Oblique,
    How::Transverse,
    How::Pressed,
];
/// The directions that can be chosen, in the order in which they are offered.
pub const DIRECTIONS: [Direction; 6] = [
    Direction::None,
    Direction::Backward,
    Direction::Upward,
    Direction::Downward,
    Direction::Medial,
    Direction::Lateral,
];
const SOUGHTS: [Sought; 3] = [Sought::None, Sought::Mild, Sought::DeQi];
const SIDES: [Side; 4] = [Side::Both, Side::Right, Side::Left, Side::Centre];
/// Every part there can be, in placing order.
pub const PARTS: [ModuleName; 10] = [
    ModuleName::HandsArms,
    ModuleName::LegsFeet,
    ModuleName::Scalp,
    ModuleName::Ear,
    ModuleName::Forehead,
    ModuleName::EyeRim,
    ModuleName::Cheek,
    ModuleName::MouthJaw,
    ModuleName::Neck,
    ModuleName::Intradermals,
];

/// The place of one in a list, 0 if it is not there.
fn place<T: PartialEq>(list: &[T], one: &T) -> usize {
    list.iter().position(|other| other == one).unwrap_or(0)
}

/// The place of what a point chose for itself, after that of its part.
fn own<T: PartialEq>(list: &[T], one: Option<&T>) -> usize {
    one.map_or(0, |one| place(list, one).saturating_add(1))
}

/// What is at a place after that of the part.
fn given<T: Copy>(list: &[T], at: usize) -> Option<T> {
    list.get(at.checked_sub(1)?).copied()
}

impl Knob {
    /// What it is called.
    #[must_use]
    pub const fn label(self) -> &'static str {
        match self {
            Self::Apart => EN.sides,
            Self::Size | Self::StepSize => EN.size,
            Self::How | Self::StepHow => EN.technique,
            Self::Direction | Self::StepDirection => EN.direction,
            Self::Sought => EN.sensation,
            Self::Side => EN.side,
            Self::Keep => EN.keep,
            Self::WornHome => EN.worn_home,
        }
    }

    /// What can be chosen.
    #[must_use]
    pub fn options(self, books: &Books) -> Vec<String> {
        let mut all: Vec<String> = Vec::new();
        if matches!(self, Self::StepSize | Self::StepHow | Self::StepDirection) {
            all.push(EN.as_the_part.to_string());
        }
        match self {
            Self::Apart => all.extend([EN.together, EN.apart].map(String::from)),
            Self::Size => {
                // Nothing chosen yet stands first.
                all.push(EN.not_chosen.to_string());
                all.extend(books.needles.sizes().iter().map(|s| s.size.to_string()));
            }
            Self::StepSize => all.extend(books.needles.sizes().iter().map(|s| s.size.to_string())),
            Self::How | Self::StepHow => {
                all.extend(HOWS.map(|how| PLAN.technique(how, Direction::None)));
            }
            Self::Direction | Self::StepDirection => all
                .extend(DIRECTIONS.map(|to| PLAN.direction(to).unwrap_or(EN.no_slant).to_string())),
            Self::Sought => all.extend(SOUGHTS.map(|s| PLAN.sought(s).to_string())),
            Self::Side => all.extend([EN.both, EN.right, EN.left, EN.midline].map(String::from)),
            Self::Keep => {
                all.extend([EN.keep_first, EN.keep_usual, EN.keep_last].map(String::from));
            }
            Self::WornHome => all.extend([EN.out_today, EN.goes_home].map(String::from)),
        }
        all
    }

    /// The place of what is chosen.
    #[must_use]
    pub fn get(self, books: &Books, made: &Composition, module: usize, step: usize) -> usize {
        let Some(part) = made.modules.get(module) else {
            return 0;
        };
        self.of_part(books, part)
            .or_else(|| Some(self.of_step(books, part.steps.get(step)?)))
            .unwrap_or(0)
    }

    fn of_part(self, books: &Books, part: &Module) -> Option<usize> {
        Some(match self {
            Self::Apart => usize::from(part.apart),
            Self::Size => {
                let sizes = books.needles.sizes();
                let at = sizes.iter().position(|s| s.id == part.size.id);
                at.map_or(0, |at| at.saturating_add(1))
            }
            Self::How => place(&HOWS, &part.technique.how),
            Self::Direction => place(&DIRECTIONS, &part.technique.direction),
            Self::Sought => place(&SOUGHTS, &part.sensation.sought),
            _ => return None,
        })
    }

    fn of_step(self, books: &Books, step: &Step) -> usize {
        match self {
            Self::Side => place(&SIDES, &step.side),
            Self::Keep => usize::from(step.keep.saturating_sub(1)),
            Self::StepSize => {
                let sizes = books.needles.sizes();
                let id = step.size.as_deref();
                let at = sizes.iter().position(|s| Some(s.id.as_str()) == id);
                at.map_or(0, |at| at.saturating_add(1))
            }
            Self::StepHow => own(&HOWS, step.how.as_ref()),
            Self::StepDirection => own(&DIRECTIONS, step.direction.as_ref()),
            _ => usize::from(step.worn_home),
        }
    }

    /// Chooses what stands at a place; whether anything changed.
    pub fn set(
        self,
        books: &Books,
        made: &mut Composition,
        (module, step): (usize, usize),
        at: usize,
    ) -> bool {
        let Some(technique) = made.modules.get(module).map(|part| part.technique) else {
            return false;
        };
        let size = at
            .checked_sub(1)
            .and_then(|at| books.needles.sizes().get(at));
        let size = size.map(|stocked| stocked.id.clone());
        let how = |at: usize| HOWS.get(at).copied();
        match self {
            Self::Apart => made.set_apart(module, at == 1),
            Self::Size => made.set_module_size(module, &size.unwrap_or_default()),
            Self::How => {
                how(at).is_some_and(|how| made.set_technique(module, how, technique.direction))
            }
            Self::Direction => DIRECTIONS
                .get(at)
                .is_some_and(|to| made.set_technique(module, technique.how, *to)),
            Self::Sought => SOUGHTS
                .get(at)
                .is_some_and(|sought| made.set_sensation(module, *sought)),
            Self::Side => SIDES
                .get(at)
                .is_some_and(|side| made.set_side(module, step, *side)),
            Self::Keep => {
                let keep = u8::try_from(at.saturating_add(1)).unwrap_or(u8::MAX);
                made.set_keep(module, step, keep)
            }
            Self::StepSize => made.set_size(module, step, size),
            Self::StepHow => made.set_how(module, step, given(&HOWS, at)),
            Self::StepDirection => made.set_direction(module, step, given(&DIRECTIONS, at)),
            Self::WornHome => made.set_worn_home(module, step, at == 1),
        }
    }
}

/// A figure of a part that is typed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Dial {
    /// Minutes that a needle stays at least.
    Least,
    /// Minutes that it stays at most.
    Most,
    /// Seconds to place one.
    Place,
    /// Seconds to take one out.
    Remove,
}

/// What a part has of these.
pub const DIALS: [Dial; 4] = [Dial::Least, Dial::Most, Dial::Place, Dial::Remove];

impl Dial {
    /// What it is called.
    #[must_use]
    pub const fn label(self) -> &'static str {
        match self {
            Self::Least => EN.least,
            Self::Most => EN.most,
            Self::Place => EN.place,
            Self::Remove => EN.remove,
        }
    }

    /// As it is typed; nothing for a figure that is still to be chosen.
    #[must_use]
    pub fn get(self, made: &Composition, module: usize) -> String {
        let Some(part) = made.modules.get(module) else {
            return String::new();
        };
        let figure = match self {
            Self::Least => part.stay.least.0.div_euclid(60),
            Self::Most => part.stay.most.0.div_euclid(60),
            Self::Place => part.seconds.place.0,
            Self::Remove => part.seconds.remove.0,
        };
        if figure == 0 {
            String::new()
        } else {
            figure.to_string()
        }
    }

    /// Takes what was typed over. What is no number is refused when the whole is kept, like nothing at all.
    pub fn set(self, made: &mut Composition, module: usize, text: &str) -> bool {
        let Some((stay, seconds)) = made.modules.get(module).map(|m| (m.stay, m.seconds)) else {
            return false;
        };
        let figure = text.trim().parse::<u32>().unwrap_or(0);
        let minutes = Seconds::from_minutes(figure);
        match self {
            Self::Least => made.set_stay(module, minutes, stay.most),
            Self::Most => made.set_stay(module, stay.least, minutes),
            Self::Place => made.set_seconds(module, Seconds(figure), seconds.remove),
            Self::Remove => made.set_seconds(module, seconds.place, Seconds(figure)),
        }
    }
}

/// The parts and points as they stand, in one text that changes when one comes, goes or moves, and not
/// when a figure does.
#[must_use]
pub fn shape(made: &Composition) -> String {
    let mut out = String::new();
    for part in &made.modules {
        out.push_str(PLAN.module(part.module, &PLACE));
        for step in &part.steps {
            out.push(' ');
            out.push_str(&step.point);
        }
        out.push(';');
    }
    out
}

/// How a point stands in its part's list: "LI4 Hegu". `atlas` holds the practice's own points too.
#[must_use]
pub fn line(atlas: &Atlas, step: &Step) -> String {
    let name = atlas.get(&step.point).map_or("", |p| p.name.as_str());
    alloc::format!("{} {name}", step.point)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::procedure::compose::step;

    #[test]
    fn every_choice_of_every_knob_is_chosen_and_read_back() {
        let books = Books::load().unwrap();
        let full = books.procedure("return_full").unwrap();
        let mut made = Composition::copy(full, "Ours".into());
        let mut seen = 0;
        for knob in OF_A_PART.iter().chain(&OF_A_POINT) {
            let options = knob.options(&books);
            assert!(options.len() > 1 && options.iter().all(|o| !o.is_empty()));
            assert!(!knob.label().is_empty());
            for at in 0..options.len() {
                knob.set(&books, &mut made, (1, 1), at);
                assert_eq!(knob.get(&books, &made, 1, 1), at, "{knob:?} {at}");
                seen += 1;
            }
        }
        assert!(seen > 40, "{seen}");
        // A place that is not there changes nothing.
        let before = made.clone();
        assert!(!Knob::Apart.set(&books, &mut made, (99, 0), 1));
        assert!(!Knob::Side.set(&books, &mut made, (1, 99), 1));
        assert!(!Knob::How.set(&books, &mut made, (1, 1), 99));
        assert_eq!(made, before);
    }

    #[test]
    fn figures_are_typed_and_read_back_and_nonsense_is_nothing() {
        let books = Books::load().unwrap();
        let full = books.procedure("return_full").unwrap();
        let mut made = Composition::copy(full, "Ours".into());
        for dial in DIALS {
            assert!(dial.set(&mut made, 0, " 25 "), "{dial:?}");
            assert_eq!(dial.get(&made, 0), "25");
            dial.set(&mut made, 0, "many");
            assert_eq!(dial.get(&made, 0), "");
            let wrong = made.check(&books.atlas, &books.needles);
            assert!(!wrong.is_empty(), "{dial:?}: nothing cannot be kept");
            dial.set(&mut made, 0, "25");
        }
        assert!(made.check(&books.atlas, &books.needles).is_empty());
        assert!(!Dial::Least.set(&mut made, 99, "25"));
    }

    #[test]
    fn the_shape_changes_with_points_and_not_with_figures() {
        let books = Books::load().unwrap();
        let full = books.procedure("return_full").unwrap();
        let mut made = Composition::copy(full, "Ours".into());
        let before = shape(&made);
        Dial::Least.set(&mut made, 0, "3");
        assert_eq!(shape(&made), before);
        made.add_step(0, step("LI10", Side::Both));
        assert_ne!(shape(&made), before);
        assert_eq!(line(&books.atlas, &made.modules[0].steps[0]), "LI4 Hegu");
    }
}
