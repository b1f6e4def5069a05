//! Procedures, Pinfold's and the practice's own: listed, found by name, edited, shared.
//!
//! A page holds a [`Composition`], edits it by its own functions, and gives [`save`] one command.

use super::points;
use super::visit::Books;
use crate::base::cite::Mark;
use crate::event::procedure::Retired;
use crate::event::session::{Used, Version};
use crate::ledger::DeskCommand;
use crate::practice::composed::{self, Unusable};
use crate::practice::{Kept, Practice};
use crate::procedure::{Composition, Module, ModuleName, Procedure, Visit, Wrong, compose};
use crate::words::procedures::EN;
use alloc::string::{String, ToString};
use alloc::vec;
use alloc::vec::Vec;

/// One procedure as it is listed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    /// Its stable name: what is chosen.
    pub id: String,
    /// What a person reads.
    pub name: String,
    /// How many needles when nothing is left out.
    pub needles: u16,
    /// Whom it is for.
    pub visit: Visit,
    /// What it is.
    pub about: String,
    /// What is known about its effect.
    pub evidence: String,
    /// How well that sentence is supported.
    pub evidence_mark: Mark,
    /// What it rests on.
    pub source: String,
    /// The practice's own.
    pub own: bool,
    /// Taken off the list.
    pub retired: bool,
    /// What cannot be used of it here, in words; empty if nothing.
    pub trouble: String,
}

/// One of the practice's own as it stands, its marks settled; none if this build cannot read it.
fn own(books: &Books, id: &str, kept: &Kept) -> Option<Composition> {
    let mut made = composed::read(id, &kept.procedure).ok()?;
    made.settle(&books.procedures);
    Some(made)
}

/// Every procedure: those on the list first, Pinfold's before the practice's own, in their order; then
/// the retired ones. [`Line::retired`] tells them apart.
#[must_use]
pub fn list(books: &Books, practice: &Practice) -> Vec<Line> {
    let atlas = points::atlas(books, practice);
    let mut lines: Vec<Line> = Vec::new();
    for one in &books.procedures {
        lines.push(line(one, false, practice));
    }
    for (id, kept) in practice.all_composed() {
        let Some(made) = own(books, id, kept) else {
            let mut unread = line(&Composition::empty().procedure(&atlas, ""), true, practice);
            unread.id = id.to_string();
            unread.name = id.to_string();
            unread.retired = practice.is_retired(id);
            unread.trouble = EN.unread.to_string();
            lines.push(unread);
            continue;
        };
        let one = made.procedure(&atlas, EN.own_evidence);
        let mut line = line(&one, true, practice);
        let wrong = made.check(&atlas, &books.needles);
        let words: Vec<String> = wrong.iter().map(|w| EN.trouble(&made, w)).collect();
        line.trouble = words.join(" ");
        lines.push(line);
    }
    let (mut on, off): (Vec<Line>, Vec<Line>) = lines.into_iter().partition(|l| !l.retired);
    on.extend(off);
    on
}

fn line(one: &Procedure, own: bool, practice: &Practice) -> Line {
    Line {
        id: one.id.clone(),
        name: one.name.clone(),
        needles: one.needles,
        visit: one.visit,
        about: one.about.clone(),
        evidence: one.evidence.clone(),
        evidence_mark: one.evidence_mark,
        source: one.source.clone(),
        own,
        retired: practice.is_retired(&one.id),
        trouble: String::new(),
    }
}

/// A procedure by its stable name, retired or not, as the plan takes it.
#[must_use]
pub fn find(books: &Books, practice: &Practice, id: &str) -> Option<Procedure> {
    if let Some(one) = books.procedure(id) {
        return Some(one.clone());
    }
    let made = own(books, id, practice.composed(id)?)?;
    Some(made.procedure(&points::atlas(books, practice), EN.own_evidence))
}

/// Which procedure that is, in which version: what a session that is opened from it keeps.
#[must_use]
pub fn used(books: &Books, practice: &Practice, id: &str) -> Option<Used> {
    if let Some(one) = books.procedure(id) {
        return Some(Used {
            id: one.id.clone(),
            name: one.name.clone(),
            version: Version::BuiltIn(composed::fingerprint(one)),
        });
    }
    let kept = practice.composed(id)?;
    Some(Used {
        id: id.to_string(),
        name: own(books, id, kept)?.name,
        version: Version::Composed(kept.version),
    })
}

/// One of the practice's own, to be edited; none for Pinfold's, which are copied and not edited.
#[must_use]
pub fn edit(books: &Books, practice: &Practice, id: &str) -> Option<Composition> {
    own(books, id, practice.composed(id)?)
}

/// A copy of any procedure, to be edited and kept beside it.
#[must_use]
pub fn copy(books: &Books, practice: &Practice, id: &str) -> Option<Composition> {
    let of = find(books, practice, id)?;
    let name = EN.copy_of(&of.name);
    let mut copy = Composition::copy(&of, name);
    if books.procedure(id).is_none() {
        copy.source = of.source;
    }
    Some(copy)
}

/// A part to be added to a procedure: the figures that Pinfold's procedures have for it, or a blank
/// one where none has such a part (ear and neck): its size, stay and seconds are then still to be
/// chosen.
#[must_use]
pub fn part(books: &Books, module: ModuleName) -> Module {
    compose::start(&books.procedures, module)
}

/// Keeps a procedure: the one command for it, or none if it stands like that already.
///
/// # Errors
/// Every field that cannot be used. Nothing is changed then.
pub fn save(
    books: &Books,
    practice: &Practice,
    made: &Composition,
) -> Result<Option<DeskCommand>, Vec<Wrong>> {
    let wrong = made.check(&points::atlas(books, practice), &books.needles);
    if !wrong.is_empty() {
        return Err(wrong);
    }
    let mut made = made.clone();
    made.name = made.name.trim().to_string();
    made.settle(&books.procedures);
    let stands = edit(books, practice, &made.id);
    let new = stands.as_ref() != Some(&made);
    Ok(new.then(|| DeskCommand::Compose(vec![composed::composed(&made)])))
}

/// Another name for one of the practice's own, or none if it stands like that already.
///
/// # Errors
/// Like [`save`].
pub fn rename(
    books: &Books,
    practice: &Practice,
    id: &str,
    name: &str,
) -> Result<Option<DeskCommand>, Vec<Wrong>> {
    let Some(mut made) = edit(books, practice, id) else {
        return Ok(None);
    };
    made.name = name.to_string();
    save(books, practice, &made)
}

/// Takes a procedure off the list, Pinfold's too, or puts it back.
#[must_use]
pub fn retire(id: &str, back: bool) -> DeskCommand {
    DeskCommand::Retire(Retired {
        id: id.to_string(),
        back,
    })
}

/// Those of the practice's own as a file to hand on; Pinfold's are in every Pinfold.
#[must_use]
pub fn share(books: &Books, practice: &Practice, ids: &[&str]) -> String {
    let all: Vec<Composition> = ids
        .iter()
        .filter_map(|id| edit(books, practice, id))
        .collect();
    composed::write_file(&all)
}

/// How a procedure of a file stands to those that are here.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Standing {
    /// There is none like it.
    New,
    /// The very same is here, under this stable name; perhaps retired.
    Here(String),
    /// Another version of it is here, so called.
    Differs(String),
}

/// One procedure of a file that was read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Brought {
    /// What it is.
    pub made: Composition,
    /// How many needles.
    pub needles: u16,
    /// How it stands to those that are here.
    pub standing: Standing,
}

/// Whether two are the same in all but their stable name.
fn alike(a: &Composition, b: &Composition) -> bool {
    (&a.name, a.visit, &a.about, &a.source, &a.modules)
        == (&b.name, b.visit, &b.about, &b.source, &b.modules)
}

/// Reads a file of procedures and says how each stands to those that are here. Nothing is changed;
/// [`take`] makes the command.
///
/// # Errors
/// [`Unusable`]: nothing of the file can be taken.
pub fn read_file(books: &Books, practice: &Practice, text: &str) -> Result<Vec<Brought>, Unusable> {
    let atlas = points::atlas(books, practice);
    let read = composed::read_file(text, &atlas, &books.needles, &books.procedures)?;
    let here: Vec<Composition> = practice
        .all_composed()
        .into_iter()
        .filter_map(|(id, kept)| own(books, id, kept))
        .collect();
    let mut out: Vec<Brought> = Vec::new();
    for made in read {
        let same = here.iter().find(|other| alike(other, &made));
        let same_id = here.iter().find(|other| other.id == made.id);
        // One that stands in the file twice is new once.
        let before = out.iter().find(|other| alike(&other.made, &made));
        let standing = match (same, before, same_id) {
            (Some(other), ..) => Standing::Here(other.id.clone()),
            (None, Some(other), _) => Standing::Here(other.made.id.clone()),
            (None, None, Some(other)) => Standing::Differs(other.name.clone()),
            (None, None, None) => Standing::New,
        };
        out.push(Brought {
            needles: made.needles(&atlas),
            made,
            standing,
        });
    }
    Ok(out)
}

/// Takes the new ones of a file in, in one act; with `differing` also those of which another version
/// is here, which is then the earlier one. None if there is nothing to take.
#[must_use]
pub fn take(brought: &[Brought], differing: bool) -> Option<DeskCommand> {
    let wanted = |one: &&Brought| match one.standing {
        Standing::New => true,
        Standing::Differs(_) => differing,
        Standing::Here(_) => false,
    };
    let all: Vec<_> = brought.iter().filter(wanted).collect();
    (!all.is_empty()).then(|| {
        DeskCommand::Compose(
            all.iter()
                .map(|one| composed::composed(&one.made))
                .collect(),
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::id::Replica;
    use crate::base::stamp::{Stamp, When};
    use crate::base::units::Seconds;
    use crate::ledger::{Command, Hand, Ledger};

    fn act(ledger: &mut Ledger, command: DeskCommand) {
        let hand = Hand {
            replica: Replica(1),
            stamp: Stamp::default(),
            when: When::Now,
        };
        let facts = ledger.decide(&Command::Desk(command), &hand).unwrap();
        ledger.append(&facts);
    }

    #[test]
    fn a_copy_is_kept_edited_renamed_retired_and_brought_back() {
        let books = Books::load().unwrap();
        let mut ledger = Ledger::default();
        let names = |ledger: &Ledger| -> Vec<(String, u16, bool, bool)> {
            let lines = list(&books, ledger.practice()).into_iter();
            lines
                .map(|l| (l.name, l.needles, l.own, l.retired))
                .collect()
        };
        assert_eq!(names(&ledger).len(), 4, "the control");
        let made = copy(&books, ledger.practice(), "first_short").unwrap();
        assert_eq!(made.name, "Short first visit, copy");
        let command = save(&books, ledger.practice(), &made).unwrap().unwrap();
        act(&mut ledger, command);
        assert_eq!(
            names(&ledger)[4],
            ("Short first visit, copy".into(), 12, true, false)
        );
        let id = list(&books, ledger.practice())[4].id.clone();
        assert!(id.starts_with(compose::OWN) && id.len() <= 80, "{id}");
        let first = used(&books, ledger.practice(), &id).unwrap();
        // Edited: the same name in files, another version.
        let mut made = edit(&books, ledger.practice(), &id).unwrap();
        assert_eq!(save(&books, ledger.practice(), &made), Ok(None), "as it is");
        assert!(made.remove_step(0, 1) && made.set_stay(0, Seconds(900), Seconds(1200)));
        let command = save(&books, ledger.practice(), &made).unwrap().unwrap();
        act(&mut ledger, command);
        let second = used(&books, ledger.practice(), &id).unwrap();
        assert!(first.id == second.id && first.version != second.version);
        let command = rename(&books, ledger.practice(), &id, " Ours ").unwrap();
        act(&mut ledger, command.unwrap());
        assert_eq!(names(&ledger)[4], ("Ours".into(), 10, true, false));
        let found = find(&books, ledger.practice(), &id).unwrap();
        assert_eq!(found.modules[0].stay.mark, Mark::Own);
        assert_eq!(found.modules[0].size.mark, Mark::CommonPractice);
        assert!(found.evidence.starts_with("Not tested.") && found.mark == Mark::Own);
        // Retired ones stand apart and are still there for who chose them.
        act(&mut ledger, retire("first_short", false));
        act(&mut ledger, retire(&id, false));
        let now = names(&ledger);
        assert_eq!(now.iter().filter(|l| l.3).count(), 2);
        assert!(now[3].3 && now[4].3 && !now[2].3);
        assert!(find(&books, ledger.practice(), &id).is_some());
        act(&mut ledger, retire(&id, true));
        assert_eq!(names(&ledger)[3], ("Ours".into(), 10, true, false));
        // The folded journal says the same.
        let again = Ledger::new(ledger.journal().clone());
        assert_eq!(names(&again), names(&ledger));
    }

    #[test]
    fn what_cannot_be_used_gives_words_and_no_command() {
        let books = Books::load().unwrap();
        let ledger = Ledger::default();
        let mut made = copy(&books, ledger.practice(), "body_only").unwrap();
        assert!(
            save(&books, ledger.practice(), &made).is_ok(),
            "the control"
        );
        made.add_step(0, compose::step("GB14", crate::atlas::Side::Both));
        let wrong = save(&books, ledger.practice(), &made).unwrap_err();
        assert_eq!(
            EN.wrong(&made, &wrong[0]),
            "Hands, arms, GB14: the point lies elsewhere (Forehead). Nothing was changed; what you entered is still here."
        );
    }

    #[test]
    fn one_that_this_build_cannot_read_is_listed_and_kept() {
        let books = Books::load().unwrap();
        let mut ledger = Ledger::default();
        let odd = crate::event::procedure::Composed {
            id: "OWN-odd".into(),
            procedure: crate::event::procedure::Json::new("{\"shape\":2}".into()),
        };
        act(&mut ledger, DeskCommand::Compose(vec![odd]));
        let lines = list(&books, ledger.practice());
        assert_eq!((lines.len(), lines[4].name.as_str()), (5, "OWN-odd"));
        assert_eq!(lines[4].trouble, EN.unread);
        assert!(find(&books, ledger.practice(), "OWN-odd").is_none());
        // Nobody can put one in the place of Pinfold's.
        let over = crate::event::procedure::Composed {
            id: "first_short".into(),
            procedure: crate::event::procedure::Json::new("{}".into()),
        };
        let hand = Hand {
            replica: Replica(1),
            stamp: Stamp::default(),
            when: When::Now,
        };
        let command = Command::Desk(DeskCommand::Compose(vec![over]));
        assert!(ledger.decide(&command, &hand).is_err());
    }
}
