//! A journal file on stdin becomes, on stdout, what Pinfold hands to other programs.
//!
//! ```text
//! export fhir          one FHIR R4 Bundle a line, for each visit that is no rehearsal
//! export fhir-person   one Bundle a line, for each person
//! export csv TABLE     a table: visits, regions, needles, lots, cream, answers, scores, bookings
//! export calendar      every booked visit to come, as iCalendar, with an alarm an hour before
//! ```
//!
//! `--names` writes people's names into tables and calendar. "Now" is the latest stamp of the journal,
//! so the same file always gives the same text. What is refused is said on stderr.
#![allow(clippy::disallowed_macros, reason = "an example talks by printing")]

use pinfold_core::base::stamp::Stamp;
use pinfold_core::journal::Journal;
use pinfold_core::ledger::Ledger;
use pinfold_core::view::books::Books;
use pinfold_core::wire::tables::Table;
use pinfold_core::wire::{calendar, fhir, tables};
use std::error::Error;
use std::io::{Read, Write};

fn main() -> Result<(), Box<dyn Error>> {
    let mut words: Vec<String> = std::env::args().skip(1).collect();
    let names = words.iter().any(|w| w == "--names");
    words.retain(|w| w != "--names");
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    let mut bytes = Vec::new();
    std::io::stdin().read_to_end(&mut bytes)?;
    let text = export(&bytes, &words, names)?;
    std::io::stdout().write_all(text.as_bytes())?;
    Ok(())
}

fn export(bytes: &[u8], words: &[&str], names: bool) -> Result<String, Box<dyn Error>> {
    let read = Journal::from_lines(bytes);
    for flaw in &read.flaws {
        eprintln!("line {}: {}", flaw.line, flaw.why);
    }
    let latest = read.journal.iter().map(|entry| entry.at);
    let made = latest.max_by_key(|at| at.wall).unwrap_or(Stamp::default());
    let ledger = Ledger::new(read.journal);
    let books = Books::load()?;
    let mut out = String::new();
    match words {
        ["fhir"] => {
            for (id, _) in ledger.whole().expect("all of it").sessions() {
                match fhir::visit(&ledger, &books, id, made) {
                    Ok(bundle) => out.push_str(&(bundle + "\n")),
                    Err(why) => eprintln!("session {id}: {}", why.say()),
                }
            }
        }
        ["fhir-person"] => {
            for (id, _) in ledger.whole().expect("all of it").people() {
                match fhir::person(&ledger, &books, id, made) {
                    Ok(bundle) => out.push_str(&(bundle + "\n")),
                    Err(why) => eprintln!("person {id}: {}", why.say()),
                }
            }
        }
        ["csv", name] => {
            let table = Table::ALL.iter().find(|t| t.name() == *name);
            let table = *table.ok_or("no such table")?;
            let options = tables::Options {
                names,
                ..tables::Options::default()
            };
            out = tables::table(
                ledger.whole().ok_or("a part is missing")?,
                &books,
                table,
                options,
            );
        }
        ["calendar"] => {
            let options = calendar::Options {
                name: names,
                alarm: Some(60),
            };
            out = calendar::all(
                ledger.whole().ok_or("a part is missing")?,
                options,
                made.wall,
            )
            .unwrap_or_default();
        }
        _ => {
            return Err(
                "usage: export fhir|fhir-person|csv TABLE|calendar [--names] < journal".into(),
            );
        }
    }
    Ok(out)
}
