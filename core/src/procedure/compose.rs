//! A procedure of the practice's own: what is kept of it, and every edit of it. Edits are total: a
//! place that is not there changes nothing and is answered with `false`. Whether the whole can be
//! used is asked once, by [`Composition::check`].

use super::{
    Direction, Hands, How, Module, ModuleName, Procedure, Sensation, SizeChoice, Sought, Stay,
    Step, Technique, Visit,
};
use crate::atlas::{Atlas, Side};
use crate::base::cite::Mark;
use crate::base::units::Seconds;
use alloc::string::{String, ToString};
use alloc::vec::Vec;

/// What every id of a practice's procedure begins with. No built-in procedure's does.
pub const OWN: &str = "OWN-";

/// A procedure as a practice writes it down. Its needles are counted and its evidence is said by
/// whoever shows it, so neither can be claimed in it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Composition {
    /// [`OWN`] and letters, digits or hyphens; empty until it is first kept.
    pub id: String,
    /// What a person reads. 1 to 80 characters.
    pub name: String,
    /// Whom it is for.
    pub visit: Visit,
    /// What it is, in the practice's words. Up to 400 characters.
    pub about: String,
    /// What it rests on, in the practice's words. Up to 400 characters.
    pub source: String,
    /// The parts, in placing order.
    pub modules: Vec<Module>,
}

/// A part of which nothing is chosen yet: no size, no stay and no seconds, so that it cannot be kept
/// before somebody chose them.
#[must_use]
pub fn blank(module: ModuleName) -> Module {
    Module {
        module,
        apart: false,
        size: SizeChoice {
            id: String::new(),
            mark: Mark::Own,
        },
        technique: Technique {
            how: How::Perpendicular,
            direction: Direction::None,
            mark: Mark::Own,
        },
        sensation: Sensation {
            sought: Sought::None,
            mark: Mark::Own,
        },
        stay: Stay {
            least: Seconds(0),
            most: Seconds(0),
            mark: Mark::Own,
        },
        seconds: Hands {
            place: Seconds(0),
            remove: Seconds(0),
            mark: Mark::Own,
        },
        steps: Vec::new(),
    }
}

/// The same figures for a part as in one of Pinfold's procedures, without its points and with the
/// marks they have there; where none has such a part, a [`blank`] one.
#[must_use]
pub fn start(built_in: &[Procedure], module: ModuleName) -> Module {
    let mut all = built_in.iter().flat_map(|p| &p.modules);
    let found = all.find(|m| m.module == module);
    found.map_or_else(
        || blank(module),
        |m| Module {
            steps: Vec::new(),
            ..m.clone()
        },
    )
}

/// A point as it is commonly added: usual, with the part's needle and technique.
#[must_use]
pub fn step(point: &str, side: Side) -> Step {
    Step {
        point: point.to_string(),
        side,
        keep: 2,
        size: None,
        how: None,
        direction: None,
        worn_home: false,
    }
}

/// Puts a value in place of another; whether that changed anything.
fn put<T: PartialEq>(there: &mut T, value: T) -> bool {
    let other = *there != value;
    *there = value;
    other
}

/// Moves one of a list to another place; whether both places are there and differ.
fn shift<T>(list: &mut Vec<T>, from: usize, to: usize) -> bool {
    if from == to || from >= list.len() || to >= list.len() {
        return false;
    }
    let one = list.remove(from);
    list.insert(to, one);
    true
}

impl Composition {
    /// One with nothing in it.
    #[must_use]
    pub fn empty() -> Self {
        Self {
            id: String::new(),
            name: String::new(),
            visit: Visit::Any,
            about: String::new(),
            source: String::new(),
            modules: Vec::new(),
        }
    }

    /// A copy of a procedure under a new name; a procedure of its own from then on. Figures keep the
    /// marks they have there until they are changed.
    #[must_use]
    pub fn copy(of: &Procedure, name: String) -> Self {
        Self {
            id: String::new(),
            name,
            visit: of.visit,
            about: of.about.clone(),
            source: String::new(),
            modules: of.modules.clone(),
        }
    }

    /// How many needles it has when nothing is left out; points the atlas does not have count none.
    #[must_use]
    pub fn needles(&self, atlas: &Atlas) -> u16 {
        let steps = self.modules.iter().flat_map(|module| &module.steps);
        steps.fold(0_u16, |sum, step| {
            let point = atlas.get(&step.point);
            sum.saturating_add(point.map_or(0, |point| point.reach.needles(step.side)))
        })
    }

    /// The same as the plan takes procedures. `evidence`: what is known about its effect.
    #[must_use]
    pub fn procedure(&self, atlas: &Atlas, evidence: &str) -> Procedure {
        Procedure {
            id: self.id.clone(),
            name: self.name.clone(),
            needles: self.needles(atlas),
            visit: self.visit,
            about: self.about.clone(),
            evidence: evidence.to_string(),
            evidence_mark: Mark::Own,
            source: self.source.clone(),
            mark: Mark::Own,
            modules: self.modules.clone(),
        }
    }

    /// Takes every mark away that Pinfold's own procedures do not bear out: a figure keeps its mark
    /// only if a part of the same name has the very same figure with that mark there. Any other was
    /// set by a practice, whatever a file says of it.
    pub fn settle(&mut self, built_in: &[Procedure]) {
        for mine in &mut self.modules {
            let same = || {
                let all = built_in.iter().flat_map(|p| &p.modules);
                all.filter(|m| m.module == mine.module)
            };
            let size = same().any(|m| m.size == mine.size);
            let technique = same().any(|m| m.technique == mine.technique);
            let sensation = same().any(|m| m.sensation == mine.sensation);
            let stay = same().any(|m| m.stay == mine.stay);
            let seconds = same().any(|m| m.seconds == mine.seconds);
            for (borne_out, mark) in [
                (size, &mut mine.size.mark),
                (technique, &mut mine.technique.mark),
                (sensation, &mut mine.sensation.mark),
                (stay, &mut mine.stay.mark),
                (seconds, &mut mine.seconds.mark),
            ] {
                if !borne_out {
                    *mark = Mark::Own;
                }
            }
        }
    }

    fn module(&mut self, at: usize) -> Option<&mut Module> {
        self.modules.get_mut(at)
    }

    fn step(&mut self, module: usize, at: usize) -> Option<&mut Step> {
        self.module(module)?.steps.get_mut(at)
    }

    /// Adds a part at the end; not one whose name is there already.
    pub fn add_module(&mut self, module: Module) -> bool {
        let new = self.modules.iter().all(|m| m.module != module.module);
        if new {
            self.modules.push(module);
        }
        new
    }

    /// Takes a part out, with its points.
    pub fn remove_module(&mut self, at: usize) -> bool {
        let there = at < self.modules.len();
        if there {
            self.modules.remove(at);
        }
        there
    }

    /// Moves a part to another place in the order.
    pub fn move_module(&mut self, from: usize, to: usize) -> bool {
        shift(&mut self.modules, from, to)
    }

    /// Whether right and left of a part are placed, timed and counted apart.
    pub fn set_apart(&mut self, module: usize, apart: bool) -> bool {
        self.module(module)
            .is_some_and(|m| put(&mut m.apart, apart))
    }

    /// Another needle for a part, by the stable name of its size.
    pub fn set_module_size(&mut self, module: usize, id: &str) -> bool {
        self.module(module)
            .filter(|m| m.size.id != id)
            .is_some_and(|m| {
                m.size = SizeChoice {
                    id: id.to_string(),
                    mark: Mark::Own,
                };
                true
            })
    }

    /// Another technique for a part.
    pub fn set_technique(&mut self, module: usize, how: How, direction: Direction) -> bool {
        self.module(module)
            .filter(|m| (m.technique.how, m.technique.direction) != (how, direction))
            .is_some_and(|m| {
                m.technique = Technique {
                    how,
                    direction,
                    mark: Mark::Own,
                };
                true
            })
    }

    /// Another sensation sought in a part.
    pub fn set_sensation(&mut self, module: usize, sought: Sought) -> bool {
        self.module(module)
            .filter(|m| m.sensation.sought != sought)
            .is_some_and(|m| {
                m.sensation = Sensation {
                    sought,
                    mark: Mark::Own,
                };
                true
            })
    }

    /// Another stay for a part's needles.
    pub fn set_stay(&mut self, module: usize, least: Seconds, most: Seconds) -> bool {
        self.module(module)
            .filter(|m| (m.stay.least, m.stay.most) != (least, most))
            .is_some_and(|m| {
                m.stay = Stay {
                    least,
                    most,
                    mark: Mark::Own,
                };
                true
            })
    }

    /// Other seconds for placing one needle of a part and taking it out.
    pub fn set_seconds(&mut self, module: usize, place: Seconds, remove: Seconds) -> bool {
        self.module(module)
            .filter(|m| (m.seconds.place, m.seconds.remove) != (place, remove))
            .is_some_and(|m| {
                m.seconds = Hands {
                    place,
                    remove,
                    mark: Mark::Own,
                };
                true
            })
    }

    /// Adds a point at the end of a part.
    pub fn add_step(&mut self, module: usize, step: Step) -> bool {
        self.module(module).is_some_and(|m| {
            m.steps.push(step);
            true
        })
    }

    /// Takes a point out of a part.
    pub fn remove_step(&mut self, module: usize, at: usize) -> bool {
        self.module(module)
            .filter(|m| at < m.steps.len())
            .is_some_and(|m| {
                m.steps.remove(at);
                true
            })
    }

    /// Moves a point to another place within its part.
    pub fn move_step(&mut self, module: usize, from: usize, to: usize) -> bool {
        self.module(module)
            .is_some_and(|m| shift(&mut m.steps, from, to))
    }

    /// Another side for a point.
    pub fn set_side(&mut self, module: usize, at: usize, side: Side) -> bool {
        self.step(module, at)
            .is_some_and(|s| put(&mut s.side, side))
    }

    /// Another needle for a point than its part's; none is the part's.
    pub fn set_size(&mut self, module: usize, at: usize, size: Option<String>) -> bool {
        self.step(module, at)
            .is_some_and(|s| put(&mut s.size, size))
    }

    /// Another technique for a point than its part's; none is the part's.
    pub fn set_how(&mut self, module: usize, at: usize, how: Option<How>) -> bool {
        self.step(module, at).is_some_and(|s| put(&mut s.how, how))
    }

    /// Another direction for a point than its part's; none is the part's.
    pub fn set_direction(&mut self, module: usize, at: usize, to: Option<Direction>) -> bool {
        self.step(module, at)
            .is_some_and(|s| put(&mut s.direction, to))
    }

    /// 1 the heart of the procedure, 2 usual, 3 the first to go.
    pub fn set_keep(&mut self, module: usize, at: usize, keep: u8) -> bool {
        self.step(module, at)
            .is_some_and(|s| put(&mut s.keep, keep))
    }

    /// Whether a point's needle stays in on purpose when the person goes home.
    pub fn set_worn_home(&mut self, module: usize, at: usize, worn_home: bool) -> bool {
        self.step(module, at)
            .is_some_and(|s| put(&mut s.worn_home, worn_home))
    }
}

#[cfg(test)]
mod tests {
    use super::super::procedures;
    use super::*;

    fn full() -> Composition {
        let all = procedures().unwrap();
        let full = all.iter().find(|p| p.id == "return_full").unwrap();
        Composition::copy(full, "Ours".into())
    }

    #[test]
    fn an_edit_changes_what_it_names_and_marks_it_as_set_by_a_practice() {
        let mut draft = full();
        let before = draft.clone();
        assert_eq!(draft.modules[0].stay.mark, Mark::CommonPractice);
        // The same figure is no edit and keeps its mark.
        let stay = draft.modules[0].stay;
        assert!(!draft.set_stay(0, stay.least, stay.most));
        assert_eq!(draft, before);
        assert!(draft.set_stay(0, Seconds(600), stay.most));
        assert_eq!(draft.modules[0].stay.mark, Mark::Own);
        assert!(draft.set_module_size(0, "0.20x15"));
        assert_eq!(draft.modules[0].size.mark, Mark::Own);
        assert!(draft.set_technique(1, How::Oblique, Direction::None));
        assert!(draft.set_sensation(1, Sought::DeQi));
        assert!(draft.set_seconds(1, Seconds(30), Seconds(9)));
        let m = &draft.modules[1];
        assert_eq!(
            (m.technique.mark, m.sensation.mark, m.seconds.mark),
            (Mark::Own, Mark::Own, Mark::Own)
        );
        // What was not touched is as it was.
        assert_eq!(draft.modules[2..], before.modules[2..]);
        assert_eq!(draft.modules[1].stay, before.modules[1].stay);
    }

    #[test]
    fn parts_and_points_move_come_and_go() {
        let mut draft = full();
        let codes = |d: &Composition, m: usize| -> Vec<String> {
            d.modules[m].steps.iter().map(|s| s.point.clone()).collect()
        };
        assert_eq!(codes(&draft, 1), ["GV24", "GB13", "GV20"]);
        assert!(draft.move_step(1, 2, 0));
        assert_eq!(codes(&draft, 1), ["GV20", "GV24", "GB13"]);
        assert!(draft.remove_step(1, 1) && draft.add_step(1, step("GV24", Side::Centre)));
        assert_eq!(codes(&draft, 1), ["GV20", "GB13", "GV24"]);
        assert!(draft.move_module(0, 5));
        assert_eq!(draft.modules[5].module, ModuleName::HandsArms);
        assert!(draft.remove_module(5));
        assert!(!draft.add_module(blank(ModuleName::Scalp)), "there already");
        assert!(draft.add_module(blank(ModuleName::Neck)));
        assert_eq!(draft.modules.len(), 6);
        assert!(draft.set_side(0, 1, Side::Left) && draft.set_keep(0, 1, 1));
        assert!(draft.set_size(0, 1, Some("0.16x15".into())));
        assert!(draft.set_how(0, 1, Some(How::Oblique)));
        assert!(draft.set_direction(0, 1, Some(Direction::Medial)));
        assert!(draft.set_worn_home(0, 1, true) && draft.set_apart(0, true));
    }

    #[test]
    fn a_place_that_is_not_there_changes_nothing() {
        let mut draft = full();
        let before = draft.clone();
        let far = usize::MAX;
        for no in [
            draft.remove_module(6),
            draft.move_module(0, 6),
            draft.move_module(far, 0),
            draft.set_apart(far, true),
            draft.set_module_size(6, "x"),
            draft.set_stay(6, Seconds(1), Seconds(2)),
            draft.add_step(6, step("LI4", Side::Both)),
            draft.remove_step(0, 2),
            draft.move_step(0, 0, 2),
            draft.move_step(0, 1, 1),
            draft.set_side(0, far, Side::Left),
            draft.set_keep(far, far, 3),
        ] {
            assert!(!no);
        }
        assert_eq!(draft, before);
    }

    #[test]
    fn a_mark_that_no_procedure_of_ours_bears_out_is_taken_away() {
        let built_in = procedures().unwrap();
        let mut draft = full();
        let before = draft.clone();
        draft.settle(&built_in);
        assert_eq!(draft, before, "the control: a copy keeps its marks");
        draft.modules[0].stay.mark = Mark::Read;
        draft.modules[1].size.id = "0.20x15".into();
        draft.settle(&built_in);
        assert_eq!(draft.modules[0].stay.mark, Mark::Own);
        assert_eq!(draft.modules[1].size.mark, Mark::Own);
        assert_eq!(draft.modules[1].stay, before.modules[1].stay);
    }
}
