//! Tables for a spreadsheet: `text/csv; charset=utf-8; header=present`, RFC 4180, one table a file.
//!
//! Visits and people are named as in the journal; names of people stand in the tables only if that is
//! asked for. Times are local, as `2027-01-15 09:10:00`, and every row has the minutes that local
//! time was ahead of UTC. What happened between two times has both, in columns of their own. A
//! rehearsal is left out: nobody was treated. Its column stays, so that a sheet goes on reading it.

use super::csv::Rows;
use super::time::{Range, local};
use super::visit::{Visit, answers};
use crate::base::id::EntryId;
use crate::base::stamp::Wall;
use crate::event::person::Told;
use crate::event::session::Mode;
use crate::intake::{Milli, Reply, Value};
use crate::ledger::{Ledger, Whole};
use crate::needle::Size;
use crate::record::record;
use crate::session::{Fate, Session};
use crate::view::books::Books;
use crate::view::flaw;
use crate::view::said::in_words;
use crate::words::place;
use crate::words::wire::EN;
use alloc::string::{String, ToString};
use alloc::vec::Vec;

/// One table.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Table {
    /// One row a visit: when, how, both sums, what was written.
    Visits,
    /// One row a region of a visit.
    Regions,
    /// One row a needle that was placed.
    Needles,
    /// One row an opened packet, with its lot.
    Lots,
    /// One row an application of numbing cream.
    Cream,
    /// One row an answer, also those that a later one replaced.
    Answers,
    /// One row a score.
    Scores,
    /// One row a booked visit.
    Bookings,
}

/// What a table says beyond its facts.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Options {
    /// Names of people stand in it.
    pub names: bool,
    /// It begins with a byte-order mark: some spreadsheet programs guess another alphabet without.
    pub mark: bool,
    /// Only what belongs to this person.
    pub person: Option<EntryId>,
}

impl Table {
    /// Every table.
    pub const ALL: &'static [Self] = &[
        Self::Visits,
        Self::Regions,
        Self::Needles,
        Self::Lots,
        Self::Cream,
        Self::Answers,
        Self::Scores,
        Self::Bookings,
    ];

    /// Its stable name, for a file.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Visits => "visits",
            Self::Regions => "regions",
            Self::Needles => "needles",
            Self::Lots => "lots",
            Self::Cream => "cream",
            Self::Answers => "answers",
            Self::Scores => "scores",
            Self::Bookings => "bookings",
        }
    }

    /// The names of its columns: stable, so that a sheet that reads them goes on reading them.
    #[must_use]
    pub const fn columns(self) -> &'static [&'static str] {
        match self {
            Self::Visits => &[
                "visit",
                "person",
                "name",
                "opened_at",
                "closed_at",
                "minutes_ahead_of_utc",
                "mode",
                "screening",
                "rehearsal",
                "closed",
                "stopped",
                "opened",
                "packless",
                "placed",
                "in",
                "out",
                "out_uncounted",
                "stays_in",
                "not_found",
                "unused",
                "spoilt",
                "unaccounted",
                "unplaced_not_found",
                "unseen",
                "fell_off",
                "turned_up",
                "false_balance",
                "first_in",
                "last_out",
                "marks",
                "felt",
                "otherwise",
                "told",
                "notes",
                "signed",
                "flaws",
                "corrected",
            ],
            Self::Regions => &[
                "visit",
                "person",
                "minutes_ahead_of_utc",
                "rehearsal",
                "region",
                "place",
                "placed",
                "in",
                "out",
                "out_uncounted",
                "stays_in",
                "not_found",
                "unseen",
                "fell_off",
                "first_answer",
                "points",
                "in_from",
                "in_to",
                "out_from",
                "out_to",
                "about",
            ],
            Self::Needles => &[
                "visit",
                "person",
                "minutes_ahead_of_utc",
                "rehearsal",
                "needle",
                "region",
                "point",
                "side",
                "kind",
                "diameter_mm",
                "length_mm",
                "in_from",
                "in_to",
                "now",
                "out_from",
                "out_to",
            ],
            Self::Lots => &[
                "visit",
                "person",
                "minutes_ahead_of_utc",
                "rehearsal",
                "packet",
                "opened_at",
                "lot",
                "kind",
                "diameter_mm",
                "length_mm",
                "label",
                "held",
            ],
            Self::Cream => &[
                "visit",
                "person",
                "minutes_ahead_of_utc",
                "rehearsal",
                "product",
                "milligrams",
                "places",
                "on",
                "off",
            ],
            Self::Answers => &[
                "person",
                "name",
                "date",
                "question",
                "asked",
                "value",
                "unit",
                "words",
                "told",
                "entered_at",
                "minutes_ahead_of_utc",
            ],
            Self::Scores => &["person", "name", "date", "about", "score", "seen"],
            Self::Bookings => &["person", "name", "booking", "at_utc", "minutes"],
        }
    }
}

/// A table of the whole ledger, or of one person. UTF-8; a header row, then the rows, oldest first.
#[must_use]
pub fn table(ledger: Whole<'_>, books: &Books, table: Table, options: Options) -> String {
    let mut sheet = Sheet {
        rows: Rows::default(),
        ledger: &ledger,
        books,
        options,
    };
    for column in table.columns() {
        sheet.rows.text(column);
    }
    sheet.rows.end();
    let wanted = |person: Option<EntryId>| options.person.is_none() || options.person == person;
    match table {
        Table::Answers | Table::Scores | Table::Bookings => {
            for (id, _) in ledger.people().filter(|(id, _)| wanted(Some(*id))) {
                match table {
                    Table::Answers => sheet.answers(id),
                    Table::Scores => sheet.scores(id),
                    _ => sheet.bookings(id),
                }
            }
        }
        _ => {
            for (id, session) in ledger.sessions() {
                // Nobody was treated in a rehearsal, so no other program hears of it.
                if wanted(session.state().person) && !session.state().rehearsal {
                    sheet.session(table, &Visit::new(id, session), session);
                }
            }
        }
    }
    let text = sheet.rows.finish();
    if options.mark {
        let mut marked = String::from('\u{feff}');
        marked.push_str(&text);
        marked
    } else {
        text
    }
}

struct Sheet<'a> {
    rows: Rows,
    ledger: &'a Ledger,
    books: &'a Books,
    options: Options,
}

fn bit(yes: bool) -> &'static str {
    if yes { EN.yes } else { EN.no }
}

const fn fate(fate: Fate) -> &'static str {
    match fate {
        Fate::In => EN.fate_in,
        Fate::Out => EN.fate_out,
        Fate::OutUncounted => EN.fate_out_uncounted,
        Fate::StaysIn => EN.fate_stays_in,
        Fate::NotFound => EN.fate_not_found,
        Fate::Unseen => EN.unseen,
        Fate::FellOff => EN.fell_off,
    }
}

impl Sheet<'_> {
    fn id(&mut self, id: Option<EntryId>) {
        let text = id.map(|id| id.to_string());
        self.rows.maybe(text.as_deref());
    }

    fn name(&mut self, person: Option<EntryId>) {
        let person = person.filter(|_| self.options.names);
        let name = person.and_then(|id| self.ledger.person(id));
        self.rows.maybe(name.map(|p| p.name()));
    }

    fn time(&mut self, at: Option<Wall>, zone: i16) {
        let text = at.and_then(|at| local(at, zone));
        self.rows.maybe(text.as_deref());
    }

    fn range(&mut self, range: Option<Range>, zone: i16) {
        self.time(range.map(|r| r.0), zone);
        self.time(range.map(|r| r.1), zone);
    }

    fn size(&mut self, size: Option<Size>) {
        use crate::needle::Kind;
        self.rows.maybe(size.map(|s| match s.kind {
            Kind::Filiform => "filiform",
            Kind::Intradermal => "intradermal",
        }));
        for length in [size.map(|s| s.diameter), size.map(|s| s.length)] {
            match length {
                Some(length) => self.rows.decimal(Milli(i64::from(length.0))),
                None => self.rows.text(""),
            }
        }
    }

    /// The columns that every table of sessions begins with.
    fn head(&mut self, visit: &Visit<'_>) {
        self.id(Some(visit.id));
        self.id(visit.state.person);
        self.rows.number(visit.state.zone);
        self.rows.text(bit(visit.state.rehearsal));
    }

    fn session(&mut self, table: Table, visit: &Visit<'_>, session: &Session) {
        match table {
            Table::Visits => self.visit(visit, session),
            Table::Regions => self.regions(visit),
            Table::Needles => self.needles(visit),
            Table::Lots => self.lots(visit),
            Table::Cream => self.cream(visit),
            Table::Answers | Table::Scores | Table::Bookings => {}
        }
    }

    fn visit(&mut self, visit: &Visit<'_>, session: &Session) {
        let state = visit.state;
        let (zone, sum) = (state.zone, &state.sum);
        self.id(Some(visit.id));
        self.id(state.person);
        self.name(state.person);
        self.time(state.opened_at, zone);
        self.time(visit.ended, zone);
        self.rows.number(zone);
        let (mode, screening) = match state.mode {
            Some(Mode::Planned) => (EN.planned, EN.screening_before),
            Some(Mode::CountOnly) => (EN.count_only, EN.screening_none),
            None => ("", EN.mode_unknown),
        };
        self.rows.text(mode);
        self.rows.text(screening);
        self.rows.text(bit(state.rehearsal));
        self.rows.text(bit(state.closed.is_some()));
        self.rows
            .maybe(state.stopped.as_ref().map(|(_, why)| why.as_str()));
        for n in [
            sum.opened,
            sum.packless,
            sum.placed,
            sum.in_now,
            sum.out,
            sum.out_uncounted,
            sum.stays_in,
            sum.not_found,
            sum.unused,
            sum.spoilt,
            sum.unaccounted,
            sum.unplaced_not_found,
            sum.unseen,
            sum.fell_off,
            sum.turned_up,
            visit.state.false_balance,
        ] {
            self.rows.number(n);
        }
        let (first, last) = visit.span();
        self.time(first, zone);
        self.time(last, zone);
        let record = record(self.ledger, visit.id);
        let wrote = record.as_ref().and_then(|r| r.wrote.as_ref());
        self.rows.maybe(wrote.map(|w| w.marks.as_str()));
        self.rows.maybe(wrote.map(|w| w.felt.as_str()));
        self.rows.maybe(wrote.map(|w| w.otherwise.as_str()));
        self.rows.maybe(wrote.map(|w| w.told.as_str()));
        let notes: Vec<&str> = state.notes.iter().map(|n| n.text.as_str()).collect();
        self.rows.text(&notes.join("\n"));
        let signed = record.as_ref().map(|r| r.signed.join("\n"));
        self.rows.maybe(signed.as_deref());
        let flaws: Vec<&str> = record
            .iter()
            .flat_map(|r| r.flaws.iter().map(|kind| flaw::name(*kind)))
            .collect();
        self.rows.text(&flaws.join(" "));
        self.rows.number(Visit::corrected(session));
        self.rows.end();
    }

    fn regions(&mut self, visit: &Visit<'_>) {
        let zone = visit.state.zone;
        for place in &visit.places {
            self.head(visit);
            let sum = visit.state.regions.get(&place.region).copied();
            let sum = sum.unwrap_or_default();
            self.rows.text(&place.region.to_string());
            self.rows.text(&EN.site(place.region));
            for n in [
                sum.placed,
                sum.in_now,
                sum.out,
                sum.out_uncounted,
                sum.stays_in,
                sum.not_found,
                sum.unseen,
                sum.fell_off,
            ] {
                self.rows.number(n);
            }
            self.rows.maybe_number(place.first_answer.map(i64::from));
            let points = place.points.iter().map(|p| (p.code.as_str(), p.side));
            self.rows.text(&place::EN.points(points));
            self.range(Some(place.went_in), zone);
            self.range(place.came_out, zone);
            self.rows.text(bit(place.about));
            self.rows.end();
        }
    }

    fn needles(&mut self, visit: &Visit<'_>) {
        let zone = visit.state.zone;
        for (name, needle) in &visit.state.needles {
            self.head(visit);
            self.rows.text(&name.to_string());
            self.rows.text(&needle.region.to_string());
            let point = needle.point.as_ref();
            self.rows.maybe(point.map(|p| p.code.as_str()));
            self.rows.maybe(point.map(|p| p.side.name()));
            self.size(needle.size);
            self.range(Some(visit.went_in(*name, needle)), zone);
            self.rows.text(fate(needle.fate));
            self.range(visit.came_out(needle), zone);
            self.rows.end();
        }
    }

    fn lots(&mut self, visit: &Visit<'_>) {
        for (&pack, line) in &visit.state.packs {
            self.head(visit);
            self.id(Some(pack));
            self.time(visit.when(pack).map(|r| r.0), visit.state.zone);
            self.rows.lot(line.lot.as_deref());
            self.size(line.size);
            self.rows.number(visit.label(pack).unwrap_or(line.held));
            self.rows.number(line.held);
            self.rows.end();
        }
    }

    fn cream(&mut self, visit: &Visit<'_>) {
        let zone = visit.state.zone;
        for cream in &visit.state.creams {
            self.head(visit);
            let id = cream.product.as_deref();
            let known = id.and_then(|id| self.books.knowledge.shelf.product(id));
            self.rows.maybe(known.map(|p| p.name.as_str()).or(id));
            self.rows
                .maybe_number(visit.milligrams(cream.id).map(i64::from));
            let places: Vec<String> = cream.regions.iter().map(ToString::to_string).collect();
            self.rows.text(&places.join(" "));
            self.time(Some(cream.on.wall), zone);
            self.time(cream.off, zone);
            self.rows.end();
        }
    }

    fn answers(&mut self, person: EntryId) {
        use crate::intake::bank::Kind;
        for said in answers(self.ledger, person) {
            let (question, reply) = (&said.answered.question, &said.answered.reply);
            let zone = said.zone;
            let known = self.books.knowledge.bank.question(question);
            self.id(Some(person));
            self.name(Some(person));
            self.rows.text(&said.answered.date.to_string());
            self.rows.text(question);
            self.rows.maybe(known.map(|q| q.say.as_str()));
            match reply {
                Reply::Known(value) => self.value(value),
                Reply::Unknown(_) => self.rows.text(EN.not_known),
            }
            self.rows.maybe(known.and_then(|q| match &q.kind {
                Kind::Number { unit, .. } => Some(unit.as_str()),
                _ => None,
            }));
            let words = known.map(|q| in_words(q, reply));
            self.rows.maybe(words.as_deref());
            self.rows.text(match said.answered.told {
                Told::Asked => EN.asked,
                Told::Paper => EN.paper,
                Told::Patient => EN.patient,
            });
            self.time(Some(said.entered), zone);
            self.rows.number(zone);
            self.rows.end();
        }
    }

    fn value(&mut self, value: &Value) {
        match value {
            Value::Yes(yes) => self.rows.text(bit(*yes)),
            Value::Choice(id) => self.rows.text(id),
            Value::Several(ids) => {
                let ids: Vec<&str> = ids.iter().map(String::as_str).collect();
                self.rows.text(&ids.join(" "));
            }
            Value::Number(n) => self.rows.decimal(*n),
            Value::Date(date) => self.rows.text(&date.to_string()),
            Value::Places(regions) => {
                let names: Vec<String> = regions.iter().map(ToString::to_string).collect();
                self.rows.text(&names.join(" "));
            }
        }
    }

    fn scores(&mut self, person: EntryId) {
        let ledger = self.ledger;
        let Some(found) = ledger.person(person) else {
            return;
        };
        for (date, look) in &found.looks {
            // A look without a score is a row too: what was seen is not lost.
            let none = look.scores.is_empty().then_some(("", None));
            let scores = look
                .scores
                .iter()
                .map(|(what, n)| (what.as_str(), Some(*n)));
            for (what, n) in scores.chain(none) {
                self.id(Some(person));
                self.name(Some(person));
                self.rows.text(&date.to_string());
                self.rows.text(what);
                self.rows.maybe_number(n.map(i64::from));
                self.rows.text(&look.text);
                self.rows.end();
            }
        }
    }

    fn bookings(&mut self, person: EntryId) {
        let ledger = self.ledger;
        let bookings = ledger.person(person).map(|p| p.bookings.as_slice());
        for booking in bookings.unwrap_or_default() {
            self.id(Some(person));
            self.name(Some(person));
            self.id(Some(booking.id));
            self.time(Some(booking.at), 0);
            self.rows.number(booking.minutes);
            self.rows.end();
        }
    }
}
