//! Invented practices, and everything that Pinfold writes out of them, as files for other programs.

use pinfold_core::atlas::{Area, Region, Side};
use pinfold_core::base::date::Date;
use pinfold_core::base::id::{EntryId, Replica};
use pinfold_core::base::stamp::{Stamp, Wall, When};
use pinfold_core::base::units::{Micrometres, Seconds};
use pinfold_core::event::Count;
use pinfold_core::event::person::{
    Answered, Booked, Consented, Looked, Named, Overrode, Told, Wrote,
};
use pinfold_core::event::practice::Set;
use pinfold_core::event::session::{
    CreamOn, Did, Doing, Ended, Finder, How, Incident, IncidentKind, LeftOut, Mode, PlannedNeedles,
    PlannedRegion, PointUse, SearchPlace, Used, Version,
};
use pinfold_core::intake::bank::Kind as Asked;
use pinfold_core::intake::{Milli, Question, Reason, Reply, Value};
use pinfold_core::ledger::{ChairCommand as C, Command, DeskCommand as D, Found, Hand, Ledger};
use pinfold_core::needle::{Kind, Size};
use pinfold_core::view::books::Books;
use pinfold_core::wire::tables::Table;
use pinfold_core::wire::{calendar, fhir, tables};
use std::fs;
use std::path::Path;

/// Texts that other programs trip over, and some that look as if.
pub const TEXTS: &[&str] = &[
    "=HYPERLINK(\"x\")",
    "+44 20 7946",
    "-2+3",
    "@a",
    "\t=1",
    " =1",
    "\u{ff1d}1",
    "\r=1",
    "say \"so\", then; \\ or \\n",
    "one line\nand another\r\n=third",
    "Ä wide brow, 85 µm 🙂 and on and on, so that a line of a calendar has to be folded at least twice",
    "bell \u{7} and nought \u{0} and del \u{7f}",
    "plain",
    "007",
    "<b>&amp;</b>",
];

/// Small invented chances that repeat.
pub struct Chance(u64);

impl Chance {
    /// From a seed.
    #[must_use]
    pub fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1)
    }

    /// 0 to `n` - 1.
    pub fn below(&mut self, n: u64) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) % n
    }

    /// Once in `n` times.
    pub fn once_in(&mut self, n: u64) -> bool {
        self.below(n) == 0
    }

    /// 1 to `most`.
    pub fn few(&mut self, most: u64) -> u16 {
        u16::try_from(1 + self.below(most)).unwrap_or(1)
    }

    /// One of these.
    ///
    /// # Panics
    /// If there is nothing to choose from.
    pub fn of<T: Copy>(&mut self, all: &[T]) -> T {
        let at = self.below(all.len() as u64);
        all[usize::try_from(at).unwrap_or(0)]
    }

    /// A text of the awkward kind.
    pub fn text(&mut self) -> String {
        self.of(TEXTS).to_string()
    }
}

/// An invented practice while it is made.
struct Maker<'a> {
    chance: Chance,
    ledger: Ledger,
    books: &'a Books,
    millis: i64,
    zone: i16,
}

impl Maker<'_> {
    fn hand(&mut self) -> Hand {
        self.millis += 20_000 + i64::try_from(self.chance.below(120_000)).unwrap_or(0);
        let wall = Wall(1_800_000_000_000 + self.millis);
        Hand {
            replica: Replica(77),
            stamp: Stamp {
                wall,
                mono: self.millis,
                zone: self.zone,
            },
            when: match self.chance.below(6) {
                0 => When::About(wall.plus(-300_000)),
                1 => When::Between(wall.plus(-600_000), wall.plus(-60_000)),
                _ => When::Now,
            },
        }
    }

    fn act(&mut self, command: impl Into<Command>) {
        let hand = self.hand();
        if let Ok(facts) = self.ledger.decide(&command.into(), &hand) {
            self.ledger.append(&facts);
        }
    }

    fn today(&self) -> Date {
        pinfold_core::view::visit::day_of(Wall(1_800_000_000_000 + self.millis), self.zone)
    }

    fn region(&mut self) -> Region {
        Region {
            area: self.chance.of(Area::ALL),
            side: self
                .chance
                .of(&[Side::Left, Side::Right, Side::Both, Side::Centre]),
        }
    }

    fn size(&mut self) -> Option<Size> {
        let kind = self.chance.of(&[Kind::Filiform, Kind::Intradermal]);
        (!self.chance.once_in(3)).then(|| Size {
            kind,
            diameter: Micrometres(self.chance.of(&[120, 160, 200])),
            length: Micrometres(self.chance.of(&[1500, 15_000, 30_000])),
        })
    }

    fn point(&mut self) -> PointUse {
        PointUse {
            code: self.chance.of(&["ST3", "GV20", "LI4", "=ST4"]).into(),
            side: self.chance.of(&[Side::Left, Side::Right, Side::Centre]),
        }
    }

    fn reply(&mut self, question: &Question) -> Reply {
        if self.chance.once_in(6) {
            return Reply::Unknown(self.chance.of(&[Reason::NotKnown, Reason::NotMeasured]));
        }
        Reply::Known(match &question.kind {
            Asked::YesNo => Value::Yes(self.chance.once_in(2)),
            Asked::Choice(options) | Asked::Side(options) => {
                let at = self.chance.below(options.len() as u64);
                Value::Choice(options[usize::try_from(at).unwrap_or(0)].0.clone())
            }
            Asked::Several(options) => Value::Several(
                options
                    .iter()
                    .filter(|_| self.chance.once_in(3))
                    .map(|(id, _)| id.clone())
                    .collect(),
            ),
            Asked::Number { min, max, .. } => {
                let span = u64::try_from(max.0 - min.0).unwrap_or(0) + 1;
                Value::Number(Milli(
                    min.0 + i64::try_from(self.chance.below(span)).unwrap_or(0),
                ))
            }
            Asked::Date => Value::Date(self.today()),
            Asked::Places => {
                let n = self.chance.below(3);
                Value::Places((0..n).map(|_| self.region()).collect())
            }
        })
    }

    fn person(&mut self) -> EntryId {
        let name = self.chance.text();
        let born = self.chance.once_in(2).then(|| "1984-02-29".parse().ok());
        let named = Named {
            name,
            birth_date: born.flatten(),
            contact: self.chance.once_in(2).then(|| self.chance.text()),
            came_for: self.chance.once_in(2).then(|| self.chance.text()),
        };
        let hand = self.hand();
        let facts = self
            .ledger
            .decide(&D::Meet(named).into(), &hand)
            .expect("a name that can be kept");
        self.ledger.append(&facts);
        facts.entries()[0].id
    }

    fn before(&mut self, person: EntryId) {
        let (books, date) = (self.books, self.today());
        for question in &books.knowledge.bank.questions {
            if self.chance.once_in(3) {
                let reply = self.reply(question);
                let told = self.chance.of(&[Told::Asked, Told::Paper, Told::Patient]);
                let question = question.id.clone();
                self.act(D::Answer(
                    person,
                    Answered {
                        question,
                        reply,
                        date,
                        told,
                    },
                ));
            }
        }
        if self.chance.once_in(4) {
            let reply = Reply::Known(Value::Choice("gone".into()));
            let question = "a question of another year".into();
            let told = Told::Asked;
            self.act(D::Answer(
                person,
                Answered {
                    question,
                    reply,
                    date,
                    told,
                },
            ));
        }
        let (rule, reason) = ("NE4".into(), "known, and lay down".into());
        self.act(D::Override(
            person,
            Overrode {
                rule,
                reason,
                date,
                points: Vec::new(),
            },
        ));
        let mut yes = || self.chance.once_in(2);
        let consent = Consented {
            date,
            needles: true,
            cream: yes(),
            stays_in: yes(),
            pictures: yes(),
            read_back: yes(),
        };
        self.act(D::Consent(person, consent));
        let scores = (0..self.chance.below(3))
            .map(|n| (self.chance.text(), u8::try_from(n * 5).unwrap_or(0)))
            .collect();
        let text = self.chance.text();
        self.act(D::Look(person, Looked { date, text, scores }));
    }

    fn session(&mut self, person: Option<EntryId>) {
        let planned = person.is_some() && self.chance.once_in(2);
        if let (Some(person), true) = (person, planned) {
            self.before(person);
        }
        let plan = if planned {
            vec![PlannedRegion {
                region: self.region(),
                stay: Seconds(1200),
                needles: vec![PlannedNeedles {
                    size: self.size(),
                    count: Count::new(2).expect("in range"),
                    points: vec![self.point()],
                }],
                left_out: vec![LeftOut {
                    point: self.point(),
                    rule: "SK18".into(),
                }],
            }]
        } else {
            Vec::new()
        };
        let open = C::Open {
            mode: if planned {
                Mode::Planned
            } else {
                Mode::CountOnly
            },
            person,
            plan,
            rehearsal: self.chance.once_in(8),
            procedure: planned.then(|| Used {
                id: "first_short".into(),
                name: "Short <first> visit, \"ours\"".into(),
                version: Version::BuiltIn("00ff00ff00ff00ff".into()),
            }),
        };
        let hand = self.hand();
        let facts = self
            .ledger
            .decide(&Command::Chair(open), &hand)
            .expect("a session can always be opened");
        self.ledger.append(&facts);
        let session = facts.entries()[0].id;
        for _ in 0..self.chance.below(24) {
            self.chair(session);
        }
        if self.chance.once_in(2) {
            self.count_out(session);
            let words = Some("counted twice, told and signed".into());
            self.act(C::Close { session, words });
            if self.chance.once_in(2) {
                let found = self.found();
                self.act(C::TurnUp { session, found });
            }
        }
        if let (Some(person), true) = (person, self.chance.once_in(2)) {
            let mut text = || self.chance.text();
            let wrote = Wrote {
                session,
                marks: text(),
                felt: text(),
                otherwise: text(),
                told: text(),
                done: true,
            };
            self.act(D::Write(person, wrote));
        }
    }

    /// Everything out, wiped and counted, as far as the sums let it.
    fn count_out(&mut self, session: EntryId) {
        let state = |ledger: &Ledger| ledger.session(session).map(|s| s.state().clone());
        let Some(now) = state(&self.ledger) else {
            return;
        };
        for (region, sum) in now.regions.iter().filter(|(_, sum)| sum.unseen > 0) {
            self.act(C::NotFound {
                session,
                region: *region,
                count: u16::try_from(sum.unseen).unwrap_or(1),
                words: "searched hair, linen and floor; told".into(),
            });
        }
        self.act(C::AllOut { session });
        let Some(now) = state(&self.ledger) else {
            return;
        };
        let count = u16::try_from(now.sum.out_uncounted).unwrap_or(0);
        self.act(C::CountedOut { session, count });
        for cream in now.creams.iter().filter(|c| c.off.is_none()) {
            let cream = cream.id;
            self.act(C::CreamOff { session, cream });
        }
        for pack in now.packs.values() {
            let seen = now.needles.values().filter(|n| n.size == pack.size).count();
            let held = now.packs.values().filter(|p| p.size == pack.size);
            let held: u16 = held.map(|p| p.held).sum();
            let left = held.saturating_sub(u16::try_from(seen).unwrap_or(0));
            self.act(C::CountStrips {
                session,
                size: pack.size,
                left,
            });
        }
        let open = state(&self.ledger).map_or(0, |s| s.sum.unaccounted);
        if let Ok(count @ 1..) = u16::try_from(open) {
            let words = "searched hair, linen and floor; told".into();
            self.act(C::UnplacedNotFound {
                session,
                count,
                words,
            });
        }
        if let Some(now) = state(&self.ledger) {
            for demand in crate::demands(&now, session) {
                self.act(demand);
            }
        }
    }

    fn found(&mut self) -> Found {
        Found {
            count: self.chance.few(2),
            region: None,
            size: self.size(),
            place: self.chance.once_in(2).then_some(SearchPlace::Collar),
            by: self
                .chance
                .of(&[Finder::Practitioner, Finder::Person, Finder::Other]),
            embedded: self.chance.once_in(4),
            stuck: self.chance.once_in(4),
            fits: Vec::new(),
            words: self.chance.text(),
        }
    }

    /// What is one press in the chair beside needles simply placed and taken out.
    fn beside(&mut self, session: EntryId, region: Region) -> C {
        match self.chance.below(6) {
            0 | 1 => C::Incident {
                session,
                what: Incident {
                    kind: self.chance.of(IncidentKind::ALL),
                    region: self.chance.once_in(2).then_some(region),
                    point: self.chance.once_in(2).then(|| self.point()),
                    words: self.chance.text(),
                },
            },
            2 => C::FellUnseen {
                session,
                region,
                count: 1,
            },
            3 => C::EndStay {
                session,
                region: Some(region),
                count: 1,
                how: self
                    .chance
                    .of(&[Ended::ByMe, Ended::ByPerson, Ended::FellOffUnseen]),
            },
            4 => C::TurnUp {
                session,
                found: self.found(),
            },
            _ => C::Do {
                session,
                what: Did {
                    what: self
                        .chance
                        .of(&[Doing::GotUp, Doing::Bell, Doing::LookedIn]),
                    who: self.chance.text(),
                    from: String::new(),
                    next: None,
                },
            },
        }
    }

    fn chair(&mut self, session: EntryId) {
        let (region, count) = (self.region(), self.chance.few(6));
        let used: Vec<Region> = self
            .ledger
            .session(session)
            .map(|s| s.state().regions.keys().copied().collect())
            .unwrap_or_default();
        let there = if used.is_empty() {
            region
        } else {
            self.chance.of(&used)
        };
        let size = self.size();
        let words = "searched hair, linen and floor; told".to_string();
        let command = match self.chance.below(17) {
            0 | 1 => C::OpenPack {
                session,
                held: self.chance.of(&[1, 5, 10]),
                size,
                lot: self.chance.once_in(2).then(|| self.chance.text()),
            },
            2..=4 => {
                let named = usize::from(count.min(2));
                let points = (0..named).map(|_| self.point()).collect();
                C::Place {
                    session,
                    region,
                    count,
                    size,
                    points,
                    stay: None,
                }
            }
            5 | 6 => C::TakeOut {
                session,
                region: there,
                count,
                how: How::Taken,
                first: self.chance.once_in(3).then_some(count + 1),
            },
            7 => C::LeaveIn {
                session,
                region: there,
                count: 1,
                longest: None,
            },
            8 => C::NotFound {
                session,
                region: there,
                count: 1,
                words,
            },
            9 => C::Spoil {
                session,
                count,
                size,
            },
            10 => C::UnplacedNotFound {
                session,
                count: 1,
                words,
            },
            11 => C::Note {
                session,
                text: self.chance.text(),
                region: self.chance.once_in(2).then_some(region),
            },
            12 => C::CreamOn {
                session,
                cream: CreamOn {
                    regions: vec![region],
                    earliest: Seconds(1800),
                    latest: Seconds(3600),
                    product: self.chance.once_in(2).then(|| "lido4_uk".into()),
                    milligrams: self.chance.once_in(2).then_some(3000),
                },
            },
            13..=15 => self.beside(session, there),
            _ if self.chance.once_in(4) => C::Stop {
                session,
                why: self.chance.text(),
            },
            _ => C::Undo { session },
        };
        self.act(command);
    }
}

/// An invented practice with up to four visits of up to three people. The same seed, the same practice.
///
/// # Panics
/// If writing down a person or opening a session is refused, which would be a defect.
#[must_use]
pub fn invent(books: &Books, seed: u64) -> Ledger {
    let mut chance = Chance::new(seed);
    let zone = chance.of(&[-210, 0, 60, 345, 840, 1440]);
    let mut maker = Maker {
        chance,
        ledger: Ledger::default(),
        books,
        millis: 0,
        zone,
    };
    let reason = String::new();
    if maker.chance.once_in(2) {
        let (name, value) = ("practitioner".into(), maker.chance.text());
        maker.act(D::Set(Set {
            name,
            value,
            reason: reason.clone(),
        }));
        let (name, value) = ("registration".into(), "none: invented".into());
        maker.act(D::Set(Set {
            name,
            value,
            reason,
        }));
    }
    let people: Vec<EntryId> = (0..=maker.chance.below(3))
        .map(|_| maker.person())
        .collect();
    for _ in 0..=maker.chance.below(4) {
        let known = !maker.chance.once_in(6);
        let who = maker.chance.of(&people);
        maker.session(known.then_some(who));
        maker.millis += 86_400_000 * i64::from(maker.chance.few(9));
    }
    for _ in 0..maker.chance.below(4) {
        let ahead = i64::from(maker.chance.few(60)) * 86_400_000;
        let booked = Booked {
            at: Wall(1_800_000_000_000 + maker.millis + ahead),
            minutes: 5 * maker.chance.few(24),
        };
        let who = maker.chance.of(&people);
        maker.act(D::Book(who, booked));
    }
    if maker.chance.once_in(8) {
        maker.act(D::Erase(people[0]));
    }
    maker.ledger
}

/// The stamp of the latest entry: what "now" is for files that must come out the same every time.
#[must_use]
pub fn latest(ledger: &Ledger) -> Stamp {
    let stamps = ledger.journal().iter().map(|entry| entry.at);
    stamps.max_by_key(|at| at.wall).unwrap_or_default()
}

/// Writes everything that can be written out of a ledger, named as `tests/outside/check.py` reads it.
///
/// # Errors
/// What the file system says.
pub fn write_all(folder: &Path, case: &str, ledger: &Ledger, books: &Books) -> std::io::Result<()> {
    let made = latest(ledger);
    let put = |ending: &str, text: String| {
        if text.is_empty() {
            Ok(())
        } else {
            fs::write(folder.join(format!("{case}.{ending}")), text)
        }
    };
    let lines = |all: Vec<String>| all.into_iter().map(|b| b + "\n").collect::<String>();
    let visits = ledger
        .whole()
        .expect("all of it")
        .sessions()
        .map(|(id, _)| fhir::visit(ledger, books, id, made));
    put("fhir", lines(visits.flatten().collect()))?;
    let people = ledger
        .whole()
        .expect("all of it")
        .people()
        .map(|(id, _)| fhir::person(ledger, books, id, made));
    put("person.fhir", lines(people.flatten().collect()))?;
    for (ending, name) in [("ics", false), ("named.ics", true)] {
        let options = calendar::Options {
            name,
            alarm: Some(60),
        };
        put(
            ending,
            calendar::all(ledger.whole().expect("all of it"), options, made.wall)
                .unwrap_or_default(),
        )?;
    }
    for table in Table::ALL {
        let options = tables::Options {
            names: true,
            ..tables::Options::default()
        };
        let text = tables::table(ledger.whole().expect("all of it"), books, *table, options);
        put(&format!("{}.csv", table.name()), text)?;
    }
    let journal = ledger.journal().to_lines();
    put("journal", String::from_utf8_lossy(&journal).into_owned())
}
