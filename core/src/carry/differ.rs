//! Where two phones say different things: found when one is merged with the other, and listed side by
//! side until somebody chose.

use super::import::both_wrote;
use crate::base::flat;
use crate::base::id::{EntryId, Stream};
use crate::base::stamp::Wall;
use crate::event::copies::Pair;
use crate::event::matter::{gone, last_words};
use crate::event::{Event, MANY};
use crate::journal::{Entry, Journal, Scope, Sum};
use crate::ledger::{ChairCommand, Choice, Command, DeskCommand, Ledger, Want};
use crate::view::books::Books;
use crate::view::said;
use crate::words::copies::EN;
use crate::words::place;
use alloc::string::{String, ToString};
use alloc::vec::Vec;

/// Matters on which the last word here and the last word there are different, and neither side knew the
/// other's.
#[must_use]
pub(super) fn pairs(here: &Journal, there: &Journal, scope: Scope) -> Vec<Pair> {
    let mut pairs = Vec::new();
    for stream in both_wrote(here, there) {
        let (ours, theirs) = (last_words(here, stream), last_words(there, stream));
        for (matter, there_entry) in &theirs {
            // Of a part, only points and procedures are whole: settings are but those in force.
            if scope == Scope::Person && matter.0 == "practice.set" {
                continue;
            }
            let Some(here_entry) = ours.get(matter) else {
                continue;
            };
            let apart = here_entry.id != there_entry.id
                && there.get(here_entry.id).is_none()
                && here.get(there_entry.id).is_none();
            if apart && here_entry.body.get() != there_entry.body.get() && pairs.len() < MANY {
                pairs.push(Pair {
                    here: here_entry.id,
                    there: there_entry.id,
                });
            }
        }
    }
    pairs
}

/// One side of a disagreement.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Side {
    /// The fact.
    pub id: EntryId,
    /// When it was entered.
    pub at: Wall,
    /// What it says.
    pub words: String,
    /// Whether it stands while nothing is chosen.
    pub stands: bool,
    /// What choosing it is.
    pub choose: Command,
}

/// One matter on which facts disagree and nobody chose yet.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Disagreement {
    /// What it is about.
    pub title: String,
    /// Whose; empty if it is nobody's.
    pub name: String,
    /// What is said, side by side.
    pub sides: Vec<Side>,
}

fn whose(ledger: &Ledger, stream: Stream) -> String {
    let person = match stream {
        Stream::Practice => None,
        Stream::Person(id) => Some(id),
        Stream::Session(id) => ledger.session(id).and_then(|s| s.state().person),
    };
    let person = person.and_then(|id| ledger.who(id));
    person.map_or_else(String::new, |p| p.name.clone())
}

/// What a fact says, for somebody who has to choose. Where there are no words of its own, its fields.
fn words(entry: &Entry, books: Option<&Books>) -> String {
    let Ok(event) = Event::read(entry) else {
        return EN.cannot_be_read.to_string();
    };
    match &event {
        Event::Named(e) => {
            let birth = e.birth_date.map(|d| d.to_string());
            let more = [birth, e.contact.clone(), e.came_for.clone()];
            EN.joined(&e.name, &more)
        }
        Event::Answered(e) => {
            let question = books.and_then(|b| b.knowledge.bank.question(&e.question));
            let answer = question.map(|q| said::in_words(q, &e.reply));
            answer.unwrap_or_else(|| entry.body.get().to_string())
        }
        Event::Closed(e) => EN.closed_over(e.opened, e.not_found, e.words.as_deref()),
        Event::Tray(e) => EN.tray(e.tens, e.over),
        Event::Set(e) => EN.value(&e.value, &e.reason),
        Event::Looked(e) => e.text.clone(),
        Event::Chose(e) => e.procedure.clone(),
        _ => entry.body.get().to_string(),
    }
}

fn title(entry: &Entry, books: Option<&Books>) -> String {
    match Event::read(entry) {
        Ok(Event::Answered(e)) => {
            let question = books.and_then(|b| b.knowledge.bank.question(&e.question));
            question.map_or(e.question, |q| q.say.clone())
        }
        Ok(Event::Set(e)) => EN.setting(&e.name),
        _ => EN.kind(&entry.kind).to_string(),
    }
}

/// What has to be read in before [`disagreements`] can tell all of them.
#[must_use]
pub fn apart(ledger: &Ledger) -> Want {
    let twice = ledger.visits().filter(|(_, line)| line.two_totals);
    let mut streams: Vec<Stream> = twice.map(|(id, _)| Stream::Session(id)).collect();
    for (pair, _) in met(ledger) {
        for id in [pair.here, pair.there] {
            if ledger.journal().get(id).is_none() {
                streams.extend(ledger.may_hold(id));
            }
        }
    }
    Want::Streams(streams)
}

/// Every matter on which facts disagree and nobody chose: two texts of one id, words of two phones that
/// did not know each other, and rounds of taking out that were entered twice.
#[must_use]
pub fn disagreements(ledger: &Ledger, books: Option<&Books>) -> Vec<Disagreement> {
    let mut all = Vec::new();
    two_texts(ledger, books, &mut all);
    two_words(ledger, books, &mut all);
    two_totals(ledger, &mut all);
    all
}

fn two_texts(ledger: &Ledger, books: Option<&Books>, all: &mut Vec<Disagreement>) {
    let journal = ledger.journal();
    for (id, texts, chosen) in journal.rivals() {
        let (false, Some(standing)) = (chosen, journal.get(id)) else {
            continue;
        };
        let side = |text: &Entry| Side {
            id,
            at: text.at.wall,
            words: words(text, books),
            stands: text == standing,
            choose: DeskCommand::Settle(Choice::Text(id, Sum::of(&text.to_line()))).into(),
        };
        all.push(Disagreement {
            title: title(standing, books),
            name: whose(ledger, standing.stream),
            sides: texts.map(side).collect(),
        });
    }
}

/// Every pair that was ever found, and when the two met.
fn met(ledger: &Ledger) -> impl Iterator<Item = (Pair, EntryId)> {
    let practice = ledger.journal().of(Stream::Practice);
    practice
        .filter_map(|entry| match Event::read(entry) {
            Ok(Event::Brought(brought)) => Some((brought.differ, entry.id)),
            _ => None,
        })
        .flat_map(|(pairs, met)| pairs.into_iter().map(move |pair| (pair, met)))
}

fn two_words(ledger: &Ledger, books: Option<&Books>, all: &mut Vec<Disagreement>) {
    let mut seen = flat::Set::new();
    for (pair, met) in met(ledger) {
        let (least, most) = (pair.here.min(pair.there), pair.here.max(pair.there));
        // Two phones that merge each other find the same.
        if seen.insert((least, most)) {
            all.extend(open_pair(ledger, books, least, most, met));
        }
    }
}

/// A pair, if nobody chose between the two, nothing took one of them out, and nobody said anything on
/// the matter since they met.
fn open_pair(
    ledger: &Ledger,
    books: Option<&Books>,
    least: EntryId,
    most: EntryId,
    met: EntryId,
) -> Option<Disagreement> {
    let journal = ledger.journal();
    let (one, two) = (journal.get(least)?, journal.get(most)?);
    let matter = Event::read(one).ok()?.matter()?;
    if one.stream != two.stream || Event::read(two).ok()?.matter()? != matter {
        return None;
    }
    let read: Vec<(EntryId, Event)> = journal
        .of(one.stream)
        .filter_map(|e| Some((e.id, Event::read(e).ok()?)))
        .collect();
    let gone = gone(read.iter().map(|(id, event)| (*id, event)));
    let of_it = |(id, event): &&(EntryId, Event)| {
        !gone.contains(id) && event.matter().as_ref() == Some(&matter)
    };
    let standing: Vec<EntryId> = read.iter().filter(of_it).map(|(id, _)| *id).collect();
    let last = *standing.last()?;
    if !standing.contains(&least) || !standing.contains(&most) || last > met {
        return None;
    }
    let side = |entry: &Entry| {
        // Whatever came after it on the matter is chosen against as well, or that would stand.
        let over = standing.iter().copied().filter(|id| *id > entry.id);
        let mut over: Vec<EntryId> = over.collect();
        if over.is_empty() {
            over.push(if entry.id == least { most } else { least });
        }
        Side {
            id: entry.id,
            at: entry.at.wall,
            words: words(entry, books),
            stands: entry.id == last,
            choose: DeskCommand::Settle(Choice::Fact(entry.id, over)).into(),
        }
    };
    Some(Disagreement {
        title: title(one, books),
        name: whose(ledger, one.stream),
        sides: Vec::from([side(one), side(two)]),
    })
}

fn two_totals(ledger: &Ledger, all: &mut Vec<Disagreement>) {
    for (session, found) in ledger.sessions_here() {
        for two in &found.state().two_totals {
            let at = |id: EntryId| ledger.journal().get(id).map_or(Wall(0), |e| e.at.wall);
            let sides = two.totals.iter().enumerate();
            all.push(Disagreement {
                title: EN.total_of(&place::EN.region(two.region)),
                name: whose(ledger, Stream::Session(session)),
                sides: sides
                    .map(|(n, (total, out))| Side {
                        id: *total,
                        at: at(*total),
                        words: EN.out(*out),
                        stands: n == 0,
                        choose: ChairCommand::ChooseTotal {
                            session,
                            total: *total,
                        }
                        .into(),
                    })
                    .collect(),
            });
        }
    }
}
