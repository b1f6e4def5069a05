//! A visit, or all visits of a person, as a FHIR R4 (4.0.1) Bundle of type `transaction`, so that a
//! clinic's own server can take it in one request.
//!
//! - Every resource has a `urn:uuid` full URL made from the names of entries; references inside the
//!   Bundle use it and nothing else.
//! - Every resource that R4 lets search by identifier carries that UUID as an identifier too, and
//!   its request says `ifNoneExist`: what a server already has is not made twice. `AdverseEvent` has
//!   no such search in R4 (read second-hand, in a public table of its search parameters) and
//!   `Provenance` no identifier at all, so sending a visit twice makes those twice.
//! - No code is invented. Where none is known to us there is text; the few that stand here are
//!   listed below with their marks. Scores have no code: they are no validated scale.
//! - Which elements R4 requires, and its closed lists of codes, were read from a machine model of
//!   it (`fhir.resources` 6.4.0); `tests/outside` holds this output beside that library.

use super::Refused;
use super::json::Writer;
use super::name::{URI_SYSTEM, uuid};
use super::time::{Range, between, instant, local};
use super::visit::{Missing, Place, Said, Visit, answers, days, erased, on};
use crate::base::date::Date;
use crate::base::flat;
use crate::base::id::EntryId;
use crate::base::stamp::{Stamp, Wall, When};
use crate::event::session::{IncidentKind, Mode, PointUse, TurnedUp};
use crate::intake::bank::Kind;
use crate::intake::{Question, Reply, Value};
use crate::ledger::{Ledger, Want};
use crate::needle::{self, Size};
use crate::people::Person;
use crate::record::{Record, record};
use crate::session::{Cream, FlawKind, IncidentLine, PackLine, Session};
use crate::view::books::Books;
use crate::view::flaw;
use crate::view::said::in_words;
use crate::words::acts::EN as ACTS;
use crate::words::cards;
use crate::words::wire::EN;
use crate::words::{flaw as flaw_words, place, record as record_words};
use alloc::string::{String, ToString};
use alloc::vec::Vec;

/// The class of a visit that comes and goes: `AMB` (read: many public R4 files).
const ACT_CODES: &str = "http://terminology.hl7.org/CodeSystem/v3-ActCode";
/// Consent Document (read: the value set of HL7's consent management guide).
const LOINC: (&str, &str) = ("http://loinc.org", "59284-0");

/// Where R4 keeps the identifier of a kind of resource.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Identified {
    /// A list of them, and searchable.
    Many,
    /// One, and searchable.
    One,
    /// One, but no search by it.
    Unsearched,
    /// None at all.
    No,
}

fn identified(kind: &str) -> Identified {
    match kind {
        "QuestionnaireResponse" => Identified::One,
        "AdverseEvent" => Identified::Unsearched,
        "Provenance" => Identified::No,
        _ => Identified::Many,
    }
}

/// What is written, and what has been.
struct Out<'a> {
    w: Writer,
    ledger: &'a Ledger,
    books: &'a Books,
    made: Stamp,
    /// Full URLs written so far: two visits share the person and answers of one day.
    written: flat::Set<String>,
    /// Those of the visit that is being written: what its Provenance is about.
    targets: Vec<String>,
}

/// A Bundle with one visit: a session, whose it is, and what was answered before it. `made` is now.
///
/// A session that belongs to nobody has a `Patient` without a name of its own. One that is still
/// open is written out as it stands, and says so in every status.
///
/// # Errors
/// [`Refused`]: there is no such session, it is a rehearsal, it was erased, or now is no time.
pub fn visit(
    ledger: &Ledger,
    books: &Books,
    session: EntryId,
    made: Stamp,
) -> Result<String, Refused> {
    let want = Want::Session(session, 0);
    let found = ledger.session(session).filter(|_| ledger.has(&want));
    let found = found.ok_or(Refused::Unknown)?;
    if found.state().rehearsal {
        return Err(Refused::Rehearsal);
    }
    let person = found.state().person;
    if erased(person.and_then(|id| ledger.person(id)), found.state()) {
        return Err(Refused::Erased);
    }
    let mut out = Out::begin(ledger, books, made)?;
    let patient = out.patient(person.unwrap_or(session), person);
    out.session(session, found, &patient);
    Ok(out.w.finish())
}

/// A Bundle with everything of one person: each visit as [`visit()`] writes it, and booked visits that
/// have not begun before `made`. Rehearsals are left out.
///
/// # Errors
/// [`Refused`]: there is no such person, they were erased, or now is no time.
pub fn person(
    ledger: &Ledger,
    books: &Books,
    person: EntryId,
    made: Stamp,
) -> Result<String, Refused> {
    let want = Want::Person(person, 0);
    let found = ledger.person(person).filter(|_| ledger.has(&want));
    let found = found.ok_or(Refused::Unknown)?;
    if found.erased {
        return Err(Refused::Erased);
    }
    let mut out = Out::begin(ledger, books, made)?;
    let patient = out.patient(person, Some(person));
    let mut visits = 0_usize;
    for (id, session) in ledger.sessions_of(person) {
        if !session.state().rehearsal {
            out.session(id, session, &patient);
            visits = visits.saturating_add(1);
        }
    }
    if visits == 0 {
        // Answered, and not treated yet.
        out.all_answers(person, None, &patient, None);
    }
    for booking in found.bookings.iter().filter(|b| b.at >= made.wall) {
        out.appointment(booking, &patient);
    }
    Ok(out.w.finish())
}

fn full_url(kind: &str, of: EntryId, which: &[&str]) -> String {
    ["urn:uuid:", &uuid(kind, of, which)].concat()
}

fn points<'a>(points: impl Iterator<Item = &'a PointUse>) -> String {
    place::EN.points(points.map(|p| (p.code.as_str(), p.side)))
}

fn needle_words(size: Option<Size>) -> String {
    let what = match size.map(|s| s.kind) {
        Some(needle::Kind::Intradermal) => EN.lying_needle,
        _ => EN.needle,
    };
    match size {
        Some(size) => [what, " ", &size.to_string()].concat(),
        None => [what, ", ", EN.no_size].concat(),
    }
}

impl<'a> Out<'a> {
    fn begin(ledger: &'a Ledger, books: &'a Books, made: Stamp) -> Result<Self, Refused> {
        let stamp = instant(made.wall, made.zone).ok_or(Refused::Clock)?;
        let mut w = Writer::default();
        w.open("");
        w.text("resourceType", "Bundle");
        w.text("type", "transaction");
        w.text("timestamp", &stamp);
        w.list("entry");
        Ok(Self {
            w,
            ledger,
            books,
            made,
            written: flat::Set::new(),
            targets: Vec::new(),
        })
    }

    /// An entry begins: its resource is open afterwards. Nothing if it stands in the Bundle already.
    fn entry(&mut self, kind: &str, url: &str) -> bool {
        self.targets.push(url.into());
        if !self.written.insert(url.into()) {
            return false;
        }
        let w = &mut self.w;
        w.open("");
        w.text("fullUrl", url);
        w.open("resource");
        w.text("resourceType", kind);
        let (lists, names) = match identified(kind) {
            Identified::Many => (true, true),
            Identified::One | Identified::Unsearched => (false, true),
            Identified::No => (false, false),
        };
        if names {
            if lists {
                w.list("identifier");
                w.open("");
            } else {
                w.open("identifier");
            }
            w.text("system", URI_SYSTEM);
            w.text("value", url);
            w.close();
            if lists {
                w.close();
            }
        }
        true
    }

    /// The entry ends.
    fn end(&mut self, kind: &str, url: &str) {
        let w = &mut self.w;
        w.close();
        w.open("request");
        w.text("method", "POST");
        w.text("url", kind);
        if matches!(identified(kind), Identified::Many | Identified::One) {
            w.pieces("ifNoneExist", &["identifier=", URI_SYSTEM, "|", url]);
        }
        w.close();
        w.close();
    }

    fn refer(&mut self, name: &str, url: &str) {
        self.w.open(name);
        self.w.text("reference", url);
        self.w.close();
    }

    fn display(&mut self, name: &str, who: &str) {
        self.w.open(name);
        self.w.text("display", who);
        self.w.close();
    }

    /// A stretch of time that is known, at least at one end. An end before its beginning is left out:
    /// FHIR takes none (per-1), and the procedure's note says so.
    fn period(&mut self, name: &str, from: Option<Wall>, to: Option<Wall>, zone: i16) {
        let to = to.filter(|to| from.is_none_or(|from| from <= *to));
        self.w.open(name);
        self.w.time("start", from, zone);
        self.w.time("end", to, zone);
        self.w.close();
    }

    /// A note in pieces, if there is anything in it; its list is open.
    fn note(&mut self, pieces: &[&str]) {
        self.w.open("");
        self.w.pieces("text", pieces);
        self.w.close();
    }

    /// A list of one note.
    fn notes(&mut self, pieces: &[&str]) {
        self.w.list("note");
        self.note(pieces);
        self.w.close();
    }

    fn practitioner(&self) -> String {
        let practice = self.ledger.practice();
        let name = practice.setting("practitioner").trim();
        let registration = practice.setting("registration").trim();
        match (name.is_empty(), registration.is_empty()) {
            (true, _) => EN.practitioner.into(),
            (false, true) => name.into(),
            (false, false) => [name, " (", registration, ")"].concat(),
        }
    }

    /// The person, named by the entry that first wrote them down, or by the session if nobody was.
    fn patient(&mut self, of: EntryId, person: Option<EntryId>) -> String {
        let url = full_url("Patient", of, &[]);
        if self.entry("Patient", &url) {
            let named = person
                .and_then(|id| self.ledger.person(id))
                .and_then(|p| p.named.as_ref());
            if let Some(named) = named {
                let w = &mut self.w;
                w.list("name");
                w.words("", &named.name);
                w.close();
                if let Some(contact) = named.contact.as_deref().filter(|c| !c.trim().is_empty()) {
                    w.list("telecom");
                    w.open("");
                    w.text("system", "other");
                    w.text("value", contact);
                    w.close();
                    w.close();
                }
                w.date("birthDate", named.birth_date);
            }
            self.end("Patient", &url);
        }
        url
    }

    fn session(&mut self, id: EntryId, session: &Session, patient: &str) {
        let visit = Visit::new(id, session);
        let Some(record) = record(self.ledger, id) else {
            return;
        };
        let person = visit.state.person.and_then(|p| self.ledger.person(p));
        self.targets = alloc::vec![patient.to_string()];
        let encounter = self.encounter(&visit, person, patient);
        if let (Some(of), Some(Mode::Planned)) = (visit.state.person, visit.state.mode) {
            self.all_answers(of, visit.day, patient, Some(&encounter));
        }
        self.consent(&visit, &record, patient);
        self.looked(&visit, person, patient, &encounter);
        let procedure = self.procedure(&visit, &record, session, patient, &encounter);
        self.counts(&visit, &record, patient, &encounter, &procedure);
        for place in &visit.places {
            self.place(&visit, place, patient, &encounter, &procedure);
        }
        for cream in &visit.state.creams {
            self.cream(&visit, cream, patient, &encounter);
        }
        for (&pack, line) in &visit.state.packs {
            self.pack(&visit, pack, line, patient);
        }
        for missing in &visit.missing {
            self.missing(&visit, missing, patient, &encounter);
        }
        for line in &visit.state.incidents {
            self.incident(&visit, line, patient, &encounter);
        }
        for (id, _, up) in &visit.state.turned_up {
            if up.after.is_some() {
                self.turned_up(&visit, *id, up, patient, &encounter);
            }
        }
        if let Some(wrote) = &record.wrote {
            for (what, text) in [(EN.marks, &wrote.marks), (EN.felt, &wrote.felt)] {
                let key = if what == EN.marks { "marks" } else { "felt" };
                self.text_seen(&visit, key, what, text, patient, &encounter);
            }
        }
        self.provenance(&visit);
    }

    fn encounter(&mut self, visit: &Visit<'_>, person: Option<&Person>, patient: &str) -> String {
        let url = full_url("Encounter", visit.id, &[]);
        if self.entry("Encounter", &url) {
            let closed = visit.state.closed.is_some();
            let w = &mut self.w;
            w.text("status", if closed { "finished" } else { "in-progress" });
            w.open("class");
            w.text("system", ACT_CODES);
            w.text("code", "AMB");
            w.close();
            w.list("type");
            w.words("", EN.visit);
            w.close();
            self.refer("subject", patient);
            let (opened, zone) = (visit.state.opened_at, visit.state.zone);
            self.period("period", opened, visit.ended, zone);
            let came_for = person.and_then(|p| p.named.as_ref()?.came_for.as_deref());
            self.w.list("reasonCode");
            self.w.words("", came_for.unwrap_or_default());
            self.w.close();
            self.end("Encounter", &url);
        }
        url
    }

    /// What stood on a day: one response for each day on which something of it was answered, with all
    /// that was answered on that day.
    fn all_answers(
        &mut self,
        of: EntryId,
        until: Option<Date>,
        patient: &str,
        during: Option<&str>,
    ) {
        let said = answers(self.ledger, of);
        for day in days(&said, until) {
            self.answers(
                of,
                day,
                &said,
                patient,
                during.filter(|_| until == Some(day)),
            );
        }
    }

    fn answers(
        &mut self,
        of: EntryId,
        day: Date,
        said: &[Said],
        patient: &str,
        during: Option<&str>,
    ) {
        let date = day.to_string();
        let url = full_url("QuestionnaireResponse", of, &[&date]);
        if !self.entry("QuestionnaireResponse", &url) {
            return;
        }
        self.w.text("status", "completed");
        self.refer("subject", patient);
        if let Some(encounter) = during {
            self.refer("encounter", encounter);
        }
        self.w.text("authored", &date);
        self.w.list("item");
        let books = self.books;
        let bank = &books.knowledge.bank;
        for question in &bank.questions {
            if let Some(said) = on(said, day, &question.id) {
                self.answer(Some(question), said);
            }
        }
        // Questions that the bank does not have any more.
        for one in said {
            let id = &one.answered.question;
            let last = on(said, day, id).is_some_and(|s| core::ptr::eq(s, one));
            if last && bank.question(id).is_none() {
                self.answer(None, one);
            }
        }
        self.w.close();
        self.end("QuestionnaireResponse", &url);
    }

    fn answer(&mut self, question: Option<&Question>, said: &Said) {
        let w = &mut self.w;
        w.open("");
        w.text("linkId", &said.answered.question);
        w.text("text", question.map_or("", |q| q.say.as_str()));
        w.list("answer");
        let value = match &said.answered.reply {
            Reply::Known(value) => Some(value),
            Reply::Unknown(_) => None,
        };
        // What is several answers in one becomes one each.
        let several = match value {
            Some(Value::Several(ids)) => ids.len(),
            Some(Value::Places(regions)) => regions.len(),
            _ => 0,
        };
        for n in 0..several.max(1) {
            w.open("");
            match value {
                Some(Value::Yes(yes)) => w.yes("valueBoolean", *yes),
                Some(Value::Date(date)) => w.date("valueDate", Some(*date)),
                Some(Value::Number(number)) => match question.map(|q| &q.kind) {
                    Some(Kind::Number { unit, .. }) if !unit.trim().is_empty() => {
                        w.open("valueQuantity");
                        w.decimal("value", *number);
                        w.text("unit", unit);
                        w.close();
                    }
                    _ => w.decimal("valueDecimal", *number),
                },
                Some(Value::Places(regions)) if several > 0 => {
                    let site = regions.iter().nth(n).map(|r| EN.site(*r));
                    w.maybe("valueString", site.as_deref());
                }
                Some(Value::Several(ids)) if several > 0 => {
                    let one = ids.iter().skip(n).take(1).cloned().collect();
                    let one = Reply::Known(Value::Several(one));
                    w.text("valueString", &said_in_words(question, &one));
                }
                // Not known is a text that says so, never a missing answer and never a no.
                _ => w.text(
                    "valueString",
                    &said_in_words(question, &said.answered.reply),
                ),
            }
            w.close();
        }
        w.close();
        w.close();
    }

    fn consent(&mut self, visit: &Visit<'_>, record: &Record, patient: &str) {
        let Some(consent) = &record.consent else {
            return;
        };
        let url = full_url("Consent", visit.id, &[]);
        if !self.entry("Consent", &url) {
            return;
        }
        let w = &mut self.w;
        w.text("status", "active");
        w.words("scope", EN.treatment);
        w.list("category");
        w.open("");
        w.list("coding");
        w.open("");
        w.text("system", LOINC.0);
        w.text("code", LOINC.1);
        w.close();
        w.close();
        w.text("text", EN.consent);
        w.close();
        w.close();
        self.refer("patient", patient);
        let w = &mut self.w;
        w.date("dateTime", Some(consent.date));
        w.words("policyRule", EN.consent_policy);
        w.open("provision");
        w.list("provision");
        for (what, yes) in [
            (EN.consent_needles, consent.needles),
            (EN.consent_cream, consent.cream),
            (EN.consent_stays_in, consent.stays_in),
            (EN.consent_pictures, consent.pictures),
        ] {
            w.open("");
            w.text("type", if yes { "permit" } else { "deny" });
            w.list("code");
            w.words("", what);
            w.close();
            w.close();
        }
        w.close();
        w.close();
        self.end("Consent", &url);
    }

    fn observation(
        &mut self,
        url: &str,
        status: &str,
        code: &str,
        patient: &str,
        during: &str,
    ) -> bool {
        let new = self.entry("Observation", url);
        if new {
            self.w.text("status", status);
            self.w.words("code", code);
            self.refer("subject", patient);
            self.refer("encounter", during);
        }
        new
    }

    fn looked(&mut self, visit: &Visit<'_>, person: Option<&Person>, patient: &str, during: &str) {
        let look = visit.day.and_then(|day| person?.looks.get(&day));
        let (Some(look), Some(of)) = (look, visit.state.person) else {
            return;
        };
        let day = look.date.to_string();
        if !look.text.trim().is_empty() {
            let url = full_url("Observation", of, &["looked ", &day]);
            if self.observation(&url, "final", EN.looked, patient, during) {
                self.w.text("effectiveDateTime", &day);
                self.w.text("valueString", &look.text);
                self.end("Observation", &url);
            }
        }
        for (n, (what, score)) in look.scores.iter().enumerate() {
            let url = full_url("Observation", of, &["score ", &day, " ", &n.to_string()]);
            let code = [EN.score, " ", what].concat();
            if self.observation(&url, "final", &code, patient, during) {
                self.w.text("effectiveDateTime", &day);
                self.w.number("valueInteger", u32::from(*score));
                self.end("Observation", &url);
            }
        }
    }

    fn text_seen(
        &mut self,
        visit: &Visit<'_>,
        key: &str,
        what: &str,
        text: &str,
        patient: &str,
        during: &str,
    ) {
        if text.trim().is_empty() {
            return;
        }
        let url = full_url("Observation", visit.id, &[key]);
        if self.observation(&url, "final", what, patient, during) {
            self.w.date("effectiveDateTime", visit.day);
            self.w.text("valueString", text);
            self.end("Observation", &url);
        }
    }

    fn procedure(
        &mut self,
        visit: &Visit<'_>,
        record: &Record,
        session: &Session,
        patient: &str,
        during: &str,
    ) -> String {
        let url = full_url("Procedure", visit.id, &[]);
        if !self.entry("Procedure", &url) {
            return url;
        }
        let state = visit.state;
        let nothing = state.closed.is_some() && state.sum.placed == 0;
        let status = if nothing {
            "not-done"
        } else if state.stopped.is_some() {
            "stopped"
        } else if state.closed.is_some() {
            "completed"
        } else {
            "in-progress"
        };
        self.w.text("status", status);
        let why = state.stopped.as_ref().map(|(_, why)| why.as_str());
        let why = why.or(nothing.then_some(EN.not_done));
        self.w.words("statusReason", why.unwrap_or_default());
        self.w.words("code", EN.acupuncture);
        self.refer("subject", patient);
        self.refer("encounter", during);
        let (from, to) = visit.span();
        self.period("performedPeriod", from, to, state.zone);
        let who = self.practitioner();
        self.w.list("performer");
        self.w.open("");
        self.display("actor", &who);
        self.w.close();
        self.w.close();
        self.w.list("bodySite");
        for place in &visit.places {
            self.w.words("", &EN.site(place.region));
        }
        self.w.close();
        let told = record.wrote.as_ref().map_or("", |w| w.told.as_str());
        self.w.list("followUp");
        self.w.words("", told);
        self.w.close();
        self.w.list("note");
        self.remarks(visit, record, session);
        self.w.close();
        // Lots only: a needle is used up, so what was used is named by its packet.
        self.w.list("usedReference");
        for &pack in state.packs.keys() {
            self.refer("", &full_url("Device", pack, &[]));
        }
        self.w.close();
        self.end("Procedure", &url);
        url
    }

    /// Everything that is words, note by note.
    fn remarks(&mut self, visit: &Visit<'_>, record: &Record, session: &Session) {
        const RECORD: &record_words::RecordWords = &record_words::EN;
        let state = visit.state;
        self.note(&[match state.mode {
            Some(Mode::CountOnly) => RECORD.not_screened,
            Some(Mode::Planned) => RECORD.screened,
            None => EN.mode_unknown,
        }]);
        if state.person.is_none() {
            self.note(&[EN.nobody]);
        }
        match &record.consent {
            None => self.note(&[RECORD.consent, " ", RECORD.no_consent]),
            Some(consent) if consent.read_back => self.note(&[EN.read_back]),
            Some(_) => {}
        }
        for one in &record.overrides {
            self.note(&[RECORD.went_past, " ", &one.rule, ": ", &one.reason]);
        }
        for (id, value, reason) in &record.figures {
            let colon = if reason.is_empty() { "" } else { ": " };
            self.note(&[RECORD.figure, " ", id, " = ", value, colon, reason]);
        }
        for left in &record.left_out {
            let point = points(core::iter::once(&left.point));
            self.note(&[RECORD.left_out, " ", &point, " (", &left.rule, ")"]);
        }
        for cream in &state.creams {
            if instant(cream.on.wall, state.zone).is_none() {
                self.note(&[EN.cream_no_time]);
            }
        }
        for words in &record.signed {
            self.note(&[EN.signed, " ", words]);
        }
        if let Some(wrote) = &record.wrote
            && !wrote.otherwise.trim().is_empty()
        {
            self.note(&[EN.otherwise, " ", &wrote.otherwise]);
        }
        if visit.any_about() {
            self.note(&[EN.about]);
        }
        if visit.contradicts() {
            self.note(&[EN.contradicts]);
        }
        for kind in &record.flaws {
            // Said below, with what else is to be said about the count.
            if *kind != FlawKind::FalseBalance {
                self.note(&[flaw::say(&flaw_words::EN, *kind)]);
            }
        }
        for line in &record.about_count {
            self.note(&[line]);
        }
        if !record.from_elsewhere.is_empty() {
            self.note(&[EN.from_elsewhere]);
        }
        let corrected = Visit::corrected(session);
        if corrected > 0 {
            self.note(&[&RECORD.corrected(corrected)]);
        }
        self.note(&[RECORD.not_per_needle]);
        self.note(&[RECORD.caution]);
        for (range, line) in &record.happened {
            self.w.open("");
            let at = Some(range.0).filter(|at| *at == range.1);
            self.w.time("time", at, state.zone);
            let range = said_range(*range, state.zone);
            self.w.pieces("text", &[line, &range]);
            self.w.close();
        }
        for note in state.notes.iter().filter(|n| !n.text.trim().is_empty()) {
            let site = note.region.map(|r| EN.site(r));
            let colon = if site.is_some() { ": " } else { "" };
            self.w.open("");
            self.w.time("time", Some(note.at), state.zone);
            let site = site.as_deref().unwrap_or_default();
            self.w.pieces("text", &[site, colon, &note.text]);
            self.w.close();
        }
    }

    fn term(&mut self, what: &str, n: u32) {
        self.w.open("");
        self.w.words("code", what);
        self.w.number("valueInteger", n);
        self.w.close();
    }

    /// The two sums, each term as it is counted.
    fn counts(
        &mut self,
        visit: &Visit<'_>,
        record: &Record,
        patient: &str,
        during: &str,
        procedure: &str,
    ) {
        let url = full_url("Observation", visit.id, &["count"]);
        let status = counted(visit);
        if !self.observation(&url, status, EN.needle_count, patient, during) {
            return;
        }
        self.part_of(procedure);
        let zone = visit.state.zone;
        self.period("effectivePeriod", visit.state.opened_at, visit.ended, zone);
        if let (Some((opened, not_found)), true) = (record.at_close, record.false_balance > 0) {
            let closed_over = EN.closed_over(opened, not_found);
            self.notes(&[ACTS.false_balance, " ", &closed_over]);
        }
        self.w.list("component");
        let sum = &visit.state.sum;
        for (what, n) in [
            (EN.opened, sum.opened),
            (EN.packless, sum.packless),
            (EN.placed, sum.placed),
            (EN.in_now, sum.in_now),
            (EN.out, sum.out),
            (EN.out_uncounted, sum.out_uncounted),
            (EN.stays_in, sum.stays_in),
            (EN.not_found, sum.not_found),
            (EN.unused, sum.unused),
            (EN.spoilt, sum.spoilt),
            (EN.unaccounted, sum.unaccounted),
            (EN.unplaced_not_found, sum.unplaced_not_found),
            (EN.unseen, sum.unseen),
            (EN.fell_off, sum.fell_off),
            (EN.turned_up, sum.turned_up),
            (EN.false_balance, record.false_balance),
        ] {
            self.term(what, n);
        }
        self.w.close();
        self.end("Observation", &url);
    }

    fn part_of(&mut self, procedure: &str) {
        self.w.list("partOf");
        self.refer("", procedure);
        self.w.close();
    }

    fn stretch(&mut self, what: &str, range: Range, zone: i16) {
        // A component whose times cannot be read would have no value: it is left out.
        if instant(range.0, zone).is_some() || instant(range.1, zone).is_some() {
            self.w.open("");
            self.w.words("code", what);
            self.period("valuePeriod", Some(range.0), Some(range.1), zone);
            self.w.close();
        }
    }

    fn place(
        &mut self,
        visit: &Visit<'_>,
        place: &Place<'_>,
        patient: &str,
        during: &str,
        procedure: &str,
    ) {
        let url = full_url("Observation", visit.id, &[&place.region.to_string()]);
        if !self.observation(&url, counted(visit), EN.region, patient, during) {
            return;
        }
        self.part_of(procedure);
        let zone = visit.state.zone;
        self.w.words("bodySite", &EN.site(place.region));
        let sum = visit.state.regions.get(&place.region).copied();
        let sum = sum.unwrap_or_default();
        let over = sum.in_now == 0 && sum.out_uncounted == 0;
        let last = place.came_out.map_or(place.went_in.1, |out| out.1);
        let from = Some(place.went_in.0);
        self.period("effectivePeriod", from, over.then_some(last), zone);
        if place.about {
            self.notes(&[EN.about]);
        }
        self.w.list("component");
        for (what, n) in [
            (EN.placed, sum.placed),
            (EN.in_now, sum.in_now),
            (EN.out, sum.out),
            (EN.out_uncounted, sum.out_uncounted),
            (EN.stays_in, sum.stays_in),
            (EN.not_found, sum.not_found),
            (EN.unseen, sum.unseen),
            (EN.fell_off, sum.fell_off),
        ] {
            self.term(what, n);
        }
        if let Some(first) = place.first_answer {
            self.term(EN.first_answer, first.into());
        }
        for (size, n) in &place.sizes {
            self.term(&needle_words(*size), *n);
        }
        let points = points(place.points.iter().copied());
        if !points.is_empty() {
            self.w.open("");
            self.w.words("code", EN.points);
            self.w.text("valueString", &points);
            self.w.close();
        }
        self.stretch(EN.went_in, place.went_in, zone);
        if let Some(out) = place.came_out {
            self.stretch(EN.came_out, out, zone);
        }
        self.w.close();
        self.end("Observation", &url);
    }

    fn cream(&mut self, visit: &Visit<'_>, cream: &Cream, patient: &str, during: &str) {
        let zone = visit.state.zone;
        // R4 asks for a time here; without one the procedure's note says so.
        if instant(cream.on.wall, zone).is_none() {
            return;
        }
        let url = full_url("MedicationAdministration", cream.id, &[]);
        if !self.entry("MedicationAdministration", &url) {
            return;
        }
        let over = cream.off.is_some();
        self.w
            .text("status", if over { "completed" } else { "in-progress" });
        let shelf = &self.books.knowledge.shelf;
        let product = cream.product.as_deref();
        let name = product.and_then(|id| shelf.product(id).map(|p| p.name.as_str()).or(Some(id)));
        let colon = if name.is_some() { ": " } else { "" };
        let name = [EN.cream, colon, name.unwrap_or_default()].concat();
        self.w.words("medicationCodeableConcept", &name);
        self.refer("subject", patient);
        self.refer("context", during);
        self.period("effectivePeriod", Some(cream.on.wall), cream.off, zone);
        self.w.list("note");
        let places: Vec<String> = cream.regions.iter().map(|r| EN.site(*r)).collect();
        if !places.is_empty() {
            self.note(&[EN.where_on, " ", &places.join("; ")]);
        }
        if let Some(milligrams) = visit.milligrams(cream.id) {
            self.note(&[&EN.milligrams(milligrams)]);
        }
        if !over {
            self.note(&[EN.cream_not_wiped]);
        }
        self.w.close();
        self.end("MedicationAdministration", &url);
    }

    /// One opened packet: the device, and that it was used on this person.
    fn pack(&mut self, visit: &Visit<'_>, pack: EntryId, line: &PackLine, patient: &str) {
        let held = EN.packet(visit.label(pack).unwrap_or(line.held), line.held);
        let device = full_url("Device", pack, &[]);
        if self.entry("Device", &device) {
            self.w.maybe("lotNumber", line.lot.as_deref());
            self.w.list("deviceName");
            self.w.open("");
            self.w.text("name", &needle_words(line.size));
            self.w.text("type", "user-friendly-name");
            self.w.close();
            self.w.close();
            self.w.words("type", EN.needle);
            self.notes(&[&held]);
            self.end("Device", &device);
        }
        let used = full_url("DeviceUseStatement", pack, &[]);
        if self.entry("DeviceUseStatement", &used) {
            let closed = visit.state.closed.is_some();
            self.w
                .text("status", if closed { "completed" } else { "active" });
            self.refer("subject", patient);
            let (from, to) = visit
                .when(pack)
                .map_or((None, None), |r| (Some(r.0), visit.ended));
            self.period("timingPeriod", from, to, visit.state.zone);
            self.refer("device", &device);
            self.notes(&[&held]);
            self.end("DeviceUseStatement", &used);
        }
    }

    fn missing(&mut self, visit: &Visit<'_>, missing: &Missing<'_>, patient: &str, during: &str) {
        let n = missing.placed.saturating_add(missing.unplaced);
        // All of them turned up again: that stands in the counts, and nothing is missing.
        if n == 0 {
            return;
        }
        let words = EN.needles_not_found(n, missing.words);
        let at = (missing.at, missing.at);
        self.adverse(visit, missing.id, &words, at, Some(patient), during);
    }

    /// Something that went wrong. What it is, where and how bad are words: no code for any of it is
    /// known here, and how bad it was nobody asked.
    fn incident(&mut self, visit: &Visit<'_>, line: &IncidentLine, patient: &str, during: &str) {
        let what = &line.what;
        let site = what.region.map(|r| EN.site(r)).unwrap_or_default();
        let point = points(what.point.iter());
        let words = EN.incident(cards::incident(what.kind), &site, &point, &what.words);
        let words = about(words, line.when);
        // It befell the practitioner: the person who was treated is not its subject.
        let whose = (what.kind != IncidentKind::Needlestick).then_some(patient);
        let at = between(line.when, line.at);
        self.adverse(visit, line.id, &words, at, whose, during);
    }

    /// Needles that turned up after the count was closed.
    fn turned_up(
        &mut self,
        visit: &Visit<'_>,
        id: EntryId,
        up: &TurnedUp,
        patient: &str,
        during: &str,
    ) {
        let named = up.needles.iter().map(|span| span.needles().count());
        let named = u32::try_from(named.sum::<usize>()).unwrap_or(u32::MAX);
        let n = named.saturating_add(u32::from(up.loose));
        let when = visit.told(id).unwrap_or_default();
        let words = about(EN.after_close(n, &ACTS.up(up)), when);
        if let Some(at) = visit.when(id) {
            self.adverse(visit, id, &words, at, Some(patient), during);
        }
    }

    /// What went wrong, in words, between two times; whose it is, or the practitioner's.
    fn adverse(
        &mut self,
        visit: &Visit<'_>,
        id: EntryId,
        words: &str,
        at: Range,
        whose: Option<&str>,
        during: &str,
    ) {
        let url = full_url("AdverseEvent", id, &[]);
        if !self.entry("AdverseEvent", &url) {
            return;
        }
        let (zone, who) = (visit.state.zone, self.practitioner());
        self.w.text("actuality", "actual");
        let words = [words, &said_range(at, zone)].concat();
        self.w.words("event", &words);
        match whose {
            Some(patient) => self.refer("subject", patient),
            None => self.display("subject", &who),
        }
        self.refer("encounter", during);
        // R4 has one time here: a range is said in words.
        let once = Some(at.0).filter(|from| *from == at.1);
        self.w.time("date", once, zone);
        self.display("recorder", &who);
        self.end("AdverseEvent", &url);
    }

    fn appointment(&mut self, booking: &crate::people::Booking, patient: &str) {
        let end = booking
            .at
            .plus(i64::from(booking.minutes).saturating_mul(60_000));
        let zone = self.made.zone;
        let (Some(start), Some(end)) = (instant(booking.at, zone), instant(end, zone)) else {
            return;
        };
        let url = full_url("Appointment", booking.id, &[]);
        if self.entry("Appointment", &url) {
            self.w.text("status", "booked");
            self.w.text("start", &start);
            self.w.text("end", &end);
            self.w.number("minutesDuration", booking.minutes.into());
            self.w.list("participant");
            self.w.open("");
            self.refer("actor", patient);
            self.w.text("status", "accepted");
            self.w.close();
            self.w.close();
            self.end("Appointment", &url);
        }
    }

    /// Who says all this, by what, and from which session of the journal.
    fn provenance(&mut self, visit: &Visit<'_>) {
        let targets = core::mem::take(&mut self.targets);
        let url = full_url("Provenance", visit.id, &[]);
        if !self.entry("Provenance", &url) {
            return;
        }
        self.w.list("target");
        for target in &targets {
            self.refer("", target);
        }
        self.w.close();
        let made = self.made;
        self.w.time("recorded", Some(made.wall), made.zone);
        self.w.words("activity", EN.written_out);
        self.w.list("agent");
        let who = self.practitioner();
        self.w.open("");
        self.display("who", &who);
        self.w.close();
        let version = [EN.product, " ", env!("CARGO_PKG_VERSION")].concat();
        self.w.open("");
        self.w.words("type", EN.writer);
        self.display("who", &version);
        self.w.close();
        self.w.close();
        self.w.list("entity");
        self.w.open("");
        self.w.text("role", "source");
        self.display(
            "what",
            &[EN.journal_session, " ", &visit.id.to_string()].concat(),
        );
        self.w.close();
        self.w.close();
        self.end("Provenance", &url);
    }
}

/// A stretch of time after what happened in it; nothing for a single moment, or for no time at all.
fn said_range(at: Range, zone: i16) -> String {
    match (local(at.0, zone), local(at.1, zone)) {
        (Some(from), Some(to)) if at.0 != at.1 => [". ", &EN.between(&from, &to)].concat(),
        _ => String::new(),
    }
}

/// The same words; if their time is no more than about right, they say so.
fn about(words: String, when: When) -> String {
    match when {
        When::About(_) => [&words, ". ", EN.about_then].concat(),
        When::Now | When::Between(..) => words,
    }
}

/// A count that still moves is preliminary.
fn counted(visit: &Visit<'_>) -> &'static str {
    if visit.state.closed.is_some() {
        "final"
    } else {
        "preliminary"
    }
}

/// A reply in words; a question that the bank does not have any more has its options' own names.
fn said_in_words(question: Option<&Question>, reply: &Reply) -> String {
    if let Some(question) = question {
        return in_words(question, reply);
    }
    let ids: Vec<&str> = match reply {
        Reply::Known(Value::Choice(id)) => alloc::vec![id.as_str()],
        Reply::Known(Value::Several(ids)) => ids.iter().map(String::as_str).collect(),
        Reply::Known(_) => Vec::new(),
        Reply::Unknown(_) => alloc::vec![crate::words::ask::ENGLISH.not_known],
    };
    if ids.is_empty() {
        crate::words::ask::ENGLISH.none_of_these.into()
    } else {
        ids.join(", ")
    }
}
