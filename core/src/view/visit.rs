//! A visit: what was answered today, what follows from it, and the plan that is left. It joins the
//! person, the knowledge and the plan; each of those knows nothing of the others.

use crate::atlas::{Atlas, Side};
use crate::base::date::Date;
use crate::base::flat;
use crate::base::id::EntryId;
use crate::base::stamp::Wall;
use crate::base::units::Seconds;
use crate::event::Count;
use crate::event::person::{Chose, Overrode};
use crate::event::session::{LeftOut, PlannedNeedles, PlannedRegion, PointUse};
use crate::intake::{Answers, Fault, Limit, Milli, Outcome};
use crate::ledger::{Ledger, Want};

pub use super::books::Books;
use super::points as own_points;
use super::procedures;
use super::speeds;
use crate::needle;
use crate::people::Person;
use crate::plan::{self, Limits, Omission, Options, Plan, Position, Reason, Slot};
use crate::procedure::Procedure;
use crate::screening::{
    BIRTH_DATE, Cap, Case, Finding, Override, Planned, Rule, Rules, Screening, Spot, Target,
};
use crate::session::Session;
use crate::topical::Cream;
use alloc::format;
use alloc::string::{String, ToString};
use alloc::vec::Vec;

/// The question whether needles left in on purpose are out.
const LEFT_IN: &str = "left_in_out";

/// The local day of a wall time.
#[must_use]
pub fn day_of(at: Wall, zone: i16) -> Date {
    let millis = at.0.saturating_add(i64::from(zone).saturating_mul(60_000));
    let days = i32::try_from(millis.div_euclid(86_400_000)).unwrap_or(0);
    Date::from_days(days).unwrap_or_else(|_| Date::epoch())
}

/// How far a visit is, step by step.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Steps {
    /// Nothing open is left to ask.
    pub asked: bool,
    /// Something was looked at today.
    pub looked: bool,
    /// A procedure was chosen and consent was given today.
    pub planned: bool,
    /// A chair was opened today and everything in it is out.
    pub seated: bool,
    /// It was counted and closed.
    pub counted: bool,
    /// It was written up.
    pub written: bool,
    /// The next visit is booked.
    pub next: bool,
}

/// One person's visit today.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct VisitView {
    /// Who.
    pub person: EntryId,
    /// Their name.
    pub name: String,
    /// Birth date, if known.
    pub birth_date: Option<Date>,
    /// Whole years of age, if the birth date is known.
    pub age: Option<u32>,
    /// Never treated here before.
    pub first_visit: bool,
    /// The last session before today.
    pub last_visit: Option<Date>,
    /// Needles left in on purpose, not yet recorded as out.
    pub left_in: u32,
    /// What the answers come to.
    pub screening: Option<Screening>,
    /// Ids of the questions that are asked of this person today, in the order of the bank.
    pub asked: Vec<String>,
    /// Answers that still hold today.
    pub answers: Answers,
    /// Questions that nobody answered themselves: a "no" of today to another one names them.
    pub covered: flat::Set<String>,
    /// Figures and rules of the practice's own that cannot be used, and so are not.
    pub unusable: Vec<Fault>,
    /// An answer that cannot be used, if one is.
    pub fault: Option<Fault>,
    /// Findings that were gone past today as a whole, by rule.
    pub overridden: flat::Set<String>,
    /// The procedure chosen for today.
    pub chosen: Option<Chose>,
    /// The plan that is left.
    pub plan: Option<Plan>,
    /// What is left of the time booked, if the person is late.
    pub late: Option<Slot>,
    /// Consent stands today.
    pub consented: bool,
    /// Today's session, the latest if there are several.
    pub session: Option<EntryId>,
    /// How far it is.
    pub steps: Steps,
}

/// The name a finding is overridden by.
#[must_use]
pub fn finding_name(finding: &Finding) -> String {
    match &finding.part {
        Some(part) => format!("{}.{part}", finding.rule),
        None => finding.rule.clone(),
    }
}

/// The sessions of a person before `today`, and today's.
fn sessions(
    ledger: &Ledger,
    person: EntryId,
    today: Date,
) -> (Option<Date>, u32, Option<(EntryId, &Session)>) {
    let (mut last, mut left_in, mut now) = (None, 0_u32, None);
    for (id, session) in ledger.sessions_of(person) {
        let state = session.state();
        // A rehearsal treated nobody.
        if state.rehearsal {
            continue;
        }
        let day = state.opened_at.map(|at| day_of(at, state.zone));
        left_in = left_in.saturating_add(state.sum.stays_in);
        match day {
            Some(day) if day == today => now = Some((id, session)),
            Some(day) if day < today => last = last.max(Some(day)),
            _ => {}
        }
    }
    (last, left_in, now)
}

/// Answers that still hold today.
fn standing(books: &Books, person: &Person, today: Date) -> Answers {
    let bank = &books.knowledge.bank;
    person
        .answers
        .iter()
        .filter(|(id, _)| {
            bank.question(id)
                .is_some_and(|q| bank.holds(q, &person.answers, today))
        })
        .map(|(id, answer)| (id.clone(), answer.clone()))
        .collect()
}

/// From how many minutes on somebody is late (policy): the plan then goes by what is left.
const LATE: u16 = 5;

/// The time booked for a day, if there is one: the slot a plan has to fit. When it began some time ago,
/// what is left of it.
fn slot(person: &Person, today: Date, zone: i16, now: Option<u16>) -> Option<(Slot, bool)> {
    let booked = person
        .bookings
        .iter()
        .find(|b| day_of(b.at, zone) == today)?;
    let local = booked
        .at
        .0
        .div_euclid(60_000)
        .saturating_add(i64::from(zone));
    let start = u16::try_from(local.rem_euclid(1440)).unwrap_or(0);
    let late = now.map_or(0, |now| now.saturating_sub(start));
    let late = if late < LATE { 0 } else { late };
    // One that is over says nothing about today any more.
    let left = booked.minutes.checked_sub(late).filter(|left| *left > 0)?;
    let slot = Slot {
        start: start.saturating_add(late),
        length: Seconds::from_minutes(u32::from(left)),
    };
    Some((slot, late > 0))
}

/// One person's visit, as it was booked. `zone`: minutes that local time is ahead of UTC.
#[must_use]
pub fn visit(
    ledger: &Ledger,
    books: &Books,
    id: EntryId,
    today: Date,
    zone: i16,
) -> Option<VisitView> {
    visit_at(ledger, books, id, today, zone, None)
}

/// The same at a minute of the local day: of a slot that has begun, only what is left counts, until a
/// chair is open.
#[must_use]
pub fn visit_at(
    ledger: &Ledger,
    books: &Books,
    id: EntryId,
    today: Date,
    zone: i16,
    minute: Option<u16>,
) -> Option<VisitView> {
    // Never a visit of which a part is still to be read in.
    let want = Want::Person(id, books.learning.sessions);
    let person = ledger.person(id).filter(|_| ledger.has(&want))?;
    let speeds = speeds::learned(ledger, &books.learning).ok()?;
    let (last_visit, left_in, session) = sessions(ledger, id, today);
    let birth_date = person.named.as_ref().and_then(|n| n.birth_date);
    let chosen = person.plans.get(&today).cloned();
    let procedure = chosen
        .as_ref()
        .and_then(|c| procedures::find(books, ledger.practice(), &c.procedure));
    let (atlas, own_points) = own_points::known(books, ledger.practice());
    let instead = chosen.as_ref().map_or(&[][..], |c| c.instead.as_slice());
    let procedure = procedure.map(|p| p.with(&atlas, instead));
    let procedure = procedure.as_ref();

    let mut case = Case::new(today);
    case.birth_date = birth_date;
    case.last_visit = last_visit;
    case.left_in = u16::try_from(left_in).unwrap_or(u16::MAX);
    case.answers = standing(books, person, today);
    let covered = books.knowledge.bank.cover(&mut case.answers, today);
    case.own_points = own_points;
    case.points = procedure.map(|p| points(books, p)).unwrap_or_default();
    // What nobody knows is left out of the plan, and says so there.
    let known = |code: &str| case.area_of(&books.knowledge.rules, code).is_some();
    let points: Vec<Planned> = case
        .points
        .iter()
        .filter(|p| known(&p.code))
        .cloned()
        .collect();
    case.points = points;
    case.electro = chosen.as_ref().is_some_and(|c| c.electro);
    case.topical = chosen
        .as_ref()
        .and_then(|c| c.cream.as_ref())
        .map(|c| Cream {
            product: c.product.clone(),
            mg: c.milligrams,
            area_cm2: c.area_cm2,
            minutes: c.minutes,
            wrap: false,
        });
    if ledger.practice().setting("cream_scope") == "confirmed" {
        case.settings
            .insert("cream_scope_confirmed".into(), Milli(1000));
    }
    let (figures, mut unusable) = ledger
        .practice()
        .figures(&books.knowledge.rules, Wall(i64::MAX));
    for (id, figure) in figures {
        case.settings.insert(id.clone(), figure.value);
        case.reasons.insert(id, figure.reason);
    }
    let (own, not_judged) = ledger
        .practice()
        .judged(&books.knowledge.bank, &books.knowledge.rules);
    case.own = own;
    unusable.extend(not_judged);
    let screened = books.knowledge.screen(&case);
    let mut asked: Vec<String> = books
        .knowledge
        .asked(&case)
        .iter()
        // Written down with the name already, and read back before needles.
        .filter(|q| q.id != BIRTH_DATE || birth_date.is_none())
        .map(|q| q.id.clone())
        .collect();
    // Needles that were left in on purpose are the first question of the next visit.
    if let Some(at) = asked.iter().position(|id| id == LEFT_IN) {
        let first = asked.remove(at);
        asked.insert(0, first);
    }
    let (screening, fault) = match screened {
        Ok(screening) => (Some(screening), None),
        Err(fault) => (None, Some(fault)),
    };
    let past: Vec<&Overrode> = person
        .overrides
        .iter()
        .filter(|o| o.date == today)
        .collect();
    let whole = past.iter().filter(|o| o.points.is_empty());
    let overridden: flat::Set<String> = whole.map(|o| o.rule.clone()).collect();
    let slot = slot(person, today, zone, minute.filter(|_| session.is_none()));
    let late = slot.and_then(|(slot, late)| late.then_some(slot));
    let plan = match (procedure, &screening) {
        // Over a stop nothing is planned: no map, no tray, no order to follow by habit.
        (Some(procedure), Some(screening)) if !stopped(screening) => Some(planned(
            books,
            &atlas,
            procedure,
            screening,
            &case.own,
            &past,
            &Options {
                slot: slot.map(|(slot, _)| slot),
                speeds,
                ..options(&atlas, procedure, chosen.as_ref())
            },
        )),
        _ => None,
    };
    let consented = person
        .consent
        .as_ref()
        .is_some_and(|c| c.date == today && c.needles && c.read_back);
    let state = session.map(|(_, s)| s.state());
    let steps = Steps {
        asked: screening.as_ref().is_some_and(|s| s.open.is_empty()),
        looked: person.looks.contains_key(&today),
        planned: chosen.is_some() && consented,
        seated: state
            .is_some_and(|s| s.sum.placed > 0 && s.sum.in_now == 0 && s.sum.out_uncounted == 0),
        counted: state.is_some_and(|s| s.closed.is_some()),
        written: session.is_some_and(|(id, _)| person.written.get(&id).is_some_and(|w| w.done)),
        next: person.bookings.iter().any(|b| {
            let zone = state.map_or(0, |s| s.zone);
            day_of(b.at, zone) > today
        }),
    };
    Some(VisitView {
        person: id,
        name: person.name().to_string(),
        birth_date,
        age: birth_date
            .filter(|b| *b <= today)
            .map(|b| today.years_since(b)),
        first_visit: last_visit.is_none(),
        last_visit,
        left_in,
        screening,
        asked,
        answers: case.answers,
        covered,
        unusable,
        fault,
        overridden,
        chosen,
        plan,
        late,
        consented,
        session: session.map(|(id, _)| id),
        steps,
    })
}

/// The points of a procedure, as screening asks for them.
fn points(books: &Books, procedure: &Procedure) -> Vec<Planned> {
    let mut points = Vec::new();
    for module in &procedure.modules {
        for step in &module.steps {
            let size = step.size.as_ref().unwrap_or(&module.size.id);
            let kind = books
                .needles
                .get(size)
                .map_or(needle::Kind::Filiform, |stocked| stocked.size.kind);
            points.push(Planned {
                code: step.point.clone(),
                side: step.side,
                kind,
            });
        }
    }
    points
}

/// The plan that is left when every finding has had its say.
fn planned(
    books: &Books,
    atlas: &Atlas,
    procedure: &Procedure,
    screening: &Screening,
    own: &[Rule],
    past: &[&Overrode],
    options: &Options,
) -> Plan {
    let mut omissions: Vec<Omission> = Vec::new();
    let mut limits = Limits::default();
    for (finding, stands) in (screening.findings.iter().map(|f| (f, false)))
        .chain(screening.standing.iter().map(|f| (f, true)))
    {
        let name = finding_name(finding);
        let past = past
            .iter()
            .filter(|o| finding.overriding == Override::Reason && o.rule == name);
        let mut stays: Vec<&PointUse> = Vec::new();
        let mut gone = false;
        for overrode in past {
            gone |= overrode.points.is_empty();
            stays.extend(&overrode.points);
        }
        if gone {
            continue;
        }
        let kinds = kinds_of(&books.knowledge.rules, own, finding);
        if !stands {
            apply(
                atlas,
                finding,
                kinds.is_empty(),
                &stays,
                &mut omissions,
                &mut limits,
            );
        }
        // A kind of needle is left out wherever it stands, and so is one that would stay in.
        for kind in kinds {
            let why = Reason {
                rule: name.clone(),
                words: finding.words.clone(),
            };
            if kind == needle::Kind::Intradermal {
                limits.no_retained.push(why.clone());
            }
            omissions.push(Omission {
                what: plan::Target::Kind(kind),
                why,
            });
        }
    }
    let shelf = plan::Books {
        atlas,
        needles: &books.needles,
    };
    plan::plan(shelf, procedure, &omissions, &limits, options)
}

/// What was chosen with a procedure: fewer needles, a cream.
fn options(atlas: &Atlas, procedure: &Procedure, chosen: Option<&Chose>) -> Options {
    let cream = chosen.and_then(|c| c.cream.as_ref());
    Options {
        most: chosen.and_then(|c| c.most).map(Count::get),
        cream: cream.map(|cream| plan::Cream {
            areas: face_areas(atlas, procedure),
            amount: None,
            apply: Seconds(120),
            least: Seconds::from_minutes(cream.minutes),
            most: None,
            wipe: Seconds(120),
            wait: Seconds(300),
        }),
        ..Options::default()
    }
}

/// The areas of the face a procedure needles, with the skin each has: where cream goes.
fn face_areas(atlas: &Atlas, procedure: &Procedure) -> Vec<(crate::atlas::Area, u32)> {
    use crate::atlas::Area;
    let used: flat::Set<Area> = procedure
        .modules
        .iter()
        .filter_map(|m| m.module.area())
        .collect();
    [Area::Forehead, Area::Cheek, Area::MouthJaw]
        .into_iter()
        .filter(|area| used.contains(area))
        .map(|area| {
            let skin = atlas.face().skin().iter().find(|skin| skin.area == area);
            (area, skin.map_or(0, |skin| skin.cm2))
        })
        .collect()
}

/// The kinds of needle that a finding leaves out: screening names the points planned with them.
fn kinds_of(rules: &Rules, own: &[Rule], finding: &Finding) -> Vec<needle::Kind> {
    if finding.outcome != Outcome::Omit && finding.could_be != Some(Outcome::Omit) {
        return Vec::new();
    }
    let rules = rules.rules.iter().chain(own);
    let same = rules.filter(|r| r.id == finding.rule && r.part == finding.part);
    same.flat_map(|r| &r.to)
        .filter_map(|aim| match aim.to {
            Spot::Kind(kind) => Some(kind),
            _ => None,
        })
        .collect()
}

/// A point on a side, less the sides that were let stay.
fn less(code: &str, side: Side, stays: &[&PointUse]) -> Vec<Side> {
    let stays = |side: Side| {
        stays
            .iter()
            .any(|p| p.code == code && (p.side == side || p.side == Side::Both))
    };
    let halves: &[Side] = match side {
        Side::Both if stays(Side::Right) || stays(Side::Left) => &[Side::Right, Side::Left],
        _ => &[side],
    };
    halves.iter().copied().filter(|s| !stays(*s)).collect()
}

/// What one finding takes away from a plan. Points are left to the kind of needle where that is meant.
fn apply(
    atlas: &Atlas,
    finding: &Finding,
    points: bool,
    stays: &[&PointUse],
    omissions: &mut Vec<Omission>,
    limits: &mut Limits,
) {
    let why = || Reason {
        rule: finding_name(finding),
        words: finding.words.clone(),
    };
    match finding.outcome {
        // A rule that stops or asks about a place, and not about the visit, leaves that place out
        // until it is settled.
        Outcome::Omit | Outcome::Stop | Outcome::Ask | Outcome::Emergency => {
            for target in &finding.targets {
                match target {
                    Target::Point(code, side) if points => {
                        for side in less(code, *side, stays) {
                            omissions.push(Omission {
                                what: plan::Target::Point(code.clone(), side),
                                why: why(),
                            });
                        }
                    }
                    Target::Region(region) => omissions.push(Omission {
                        what: plan::Target::Area(region.area, region.side),
                        why: why(),
                    }),
                    // Kinds are left out by the caller. Sets are named only while nothing is
                    // planned: then there is nothing to leave out.
                    Target::Point(..) | Target::Kind(_) | Target::Set(..) => {}
                }
            }
        }
        Outcome::NoTopical => {
            let mut places = false;
            for target in &finding.targets {
                let area = match target {
                    Target::Region(region) => Some(region.area),
                    Target::Point(code, _) => atlas.get(code).map(|point| point.area),
                    _ => None,
                };
                if let Some(area) = area {
                    limits.no_topical_on.push((area, why()));
                    places = true;
                }
            }
            if !places {
                limits.no_topical.push(why());
            }
        }
        Outcome::NoElectro => limits.no_electro.push(why()),
        Outcome::Limit | Outcome::Refer | Outcome::Record => {}
    }
    for cap in &finding.caps {
        match cap {
            Cap::Needles(n) => {
                let most = u16::try_from(*n).unwrap_or(u16::MAX);
                limits.most_needles.push(capped(most, finding, why()));
            }
            Cap::Minutes(n) => {
                let most = Seconds::from_minutes(*n);
                limits.most_stay.push(capped(most, finding, why()));
            }
            Cap::Depth(most) => limits.most_depth.push(capped(*most, finding, why())),
            Cap::CreamMinutes(n) => limits.cream_stay.push((Seconds::from_minutes(*n), why())),
            Cap::CreamArea(cm2) => limits.cream_area.push((*cm2, why())),
            Cap::Plain(Limit::Lying) => {
                limits.position.get_or_insert((Position::OnBack, why()));
            }
            _ => {
                if !limits.mind.iter().any(|m| m.rule == finding_name(finding)) {
                    limits.mind.push(why());
                }
            }
        }
    }
}

/// A cap where its finding means it: on what the finding names, or on the whole visit.
fn capped<T>(most: T, finding: &Finding, why: Reason) -> plan::Capped<T> {
    let on = finding
        .targets
        .iter()
        .filter_map(|target| match target {
            Target::Point(code, side) => Some(plan::Target::Point(code.clone(), *side)),
            Target::Region(region) => Some(plan::Target::Area(region.area, region.side)),
            Target::Kind(kind) => Some(plan::Target::Kind(*kind)),
            // Named only while nothing is planned; then the cap falls on the whole visit.
            Target::Set(..) => None,
        })
        .collect();
    plan::Capped { most, on, why }
}

/// The plan as the chair takes it over: block by block, size by size.
#[must_use]
pub fn for_the_chair(books: &Books, plan: &Plan) -> Vec<PlannedRegion> {
    let mut lines: Vec<PlannedRegion> = Vec::new();
    for block in &plan.blocks {
        let mut needles: Vec<(String, u16, Vec<PointUse>)> = Vec::new();
        for place in &block.places {
            let point = PointUse {
                code: place.point.clone(),
                side: place.side,
            };
            match needles.iter_mut().find(|(size, ..)| *size == place.size) {
                Some((_, count, points)) => {
                    *count = count.saturating_add(place.needles);
                    points.push(point);
                }
                None => needles.push((place.size.clone(), place.needles, Vec::from([point]))),
            }
        }
        let needles = needles
            .into_iter()
            .filter_map(|(size, count, points)| {
                Some(PlannedNeedles {
                    size: books.needles.get(&size).map(|s| s.size),
                    count: Count::new(count)?,
                    points,
                })
            })
            .collect();
        let left_out = plan
            .left_out
            .iter()
            .filter(|left| left.region == Some(block.region))
            .map(|left| LeftOut {
                point: PointUse {
                    code: left.point.clone(),
                    side: left.side,
                },
                rule: left.rule().to_string(),
            })
            .collect();
        lines.push(PlannedRegion {
            region: block.region,
            stay: block.stay.0,
            needles,
            left_out,
        });
    }
    lines
}

/// Whether a finding stops the whole visit, and not one place of it.
fn stopped(screening: &Screening) -> bool {
    screening
        .findings
        .iter()
        .any(|f| f.outcome.level() >= Outcome::Stop.level() && f.targets.is_empty())
}

/// Whether planning may go on: nothing stops the visit, and nothing decisive is open.
#[must_use]
pub fn may_plan(view: &VisitView) -> bool {
    view.screening.as_ref().is_some_and(|s| {
        s.verdict.is_none_or(|v| v.level() < Outcome::Ask.level())
            || s.findings
                .iter()
                .filter(|f| f.outcome.level() >= Outcome::Ask.level())
                .all(|f| !f.targets.is_empty())
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::id::Replica;
    use crate::base::stamp::{Stamp, When};
    use crate::event::person::{Answered, Booked, Named, Told};
    use crate::intake::{Kind, Reply, Value};
    use crate::ledger::{Command, DeskCommand, Hand};

    fn act(ledger: &mut Ledger, command: DeskCommand) -> EntryId {
        let hand = Hand {
            replica: Replica(1),
            stamp: Stamp::default(),
            when: When::Now,
        };
        let facts = ledger.decide(&Command::Desk(command), &hand).unwrap();
        ledger.append(&facts);
        facts.entries()[0].id
    }

    fn meet(ledger: &mut Ledger) -> EntryId {
        let named = Named {
            name: "Wren".into(),
            birth_date: "1984-02-29".parse().ok(),
            contact: None,
            came_for: None,
        };
        act(ledger, DeskCommand::Meet(named))
    }

    #[test]
    fn nothing_is_planned_over_a_stop_and_a_known_birth_date_is_not_asked() {
        let books = Books::load().unwrap();
        let today: Date = "2027-01-15".parse().unwrap();
        let mut ledger = Ledger::default();
        let person = meet(&mut ledger);
        let chose = Chose {
            date: today,
            procedure: "first_short".into(),
            cream: None,
            electro: false,
            most: None,
            instead: Vec::new(),
        };
        act(&mut ledger, DeskCommand::Choose(person, chose));
        let before = visit(&ledger, &books, person, today, 0).unwrap();
        assert!(
            before.plan.is_some(),
            "control: without a stop there is a plan"
        );
        assert_eq!(before.plan.as_ref().and_then(|p| p.leave_at), None);
        let booked = Booked {
            at: Wall(1_800_000_000_000), // 2027-01-15T08:00Z
            minutes: 5,
        };
        act(&mut ledger, DeskCommand::Book(person, booked));
        let slotted = visit(&ledger, &books, person, today, 60).unwrap().plan;
        let slotted = slotted.unwrap();
        assert!(slotted.leave_at.is_some_and(|at| at > 9 * 60), "9:00 local");
        assert!(
            matches!(&slotted.fit, plan::Fit::TooLong(_, offers) if !offers.is_empty()),
            "5 minutes are too few, and something else is offered"
        );
        // Half of another slot is gone: what is left counts, and the door is reached no earlier.
        let booked = Booked {
            at: Wall(1_800_000_000_000 - 3_600_000), // 8:00 local
            minutes: 60,
        };
        act(&mut ledger, DeskCommand::Book(person, booked));
        let at = |minute| visit_at(&ledger, &books, person, today, 60, minute).unwrap();
        let in_time = at(Some(8 * 60 + 4));
        assert_eq!(in_time.late, None);
        let late = at(Some(8 * 60 + 30));
        let left = Slot {
            start: 8 * 60 + 30,
            length: Seconds::from_minutes(30),
        };
        assert_eq!(late.late, Some(left));
        let leave = |v: &VisitView| v.plan.as_ref().and_then(|p| p.leave_at).unwrap();
        assert_eq!(leave(&late), leave(&in_time) + 30);
        assert_eq!(at(Some(9 * 60)).late, None, "it is over");
        assert!(!before.asked.iter().any(|id| id == BIRTH_DATE));
        assert!(!may_plan(&before), "unanswered questions are never a yes");
        // A cold sore now stops the visit (safety row 24; clinic pages, read).
        for question in ["sore_today", "cold_sore"] {
            let answer = Answered {
                question: question.into(),
                reply: Reply::Known(Value::Yes(true)),
                date: today,
                told: Told::Asked,
            };
            act(&mut ledger, DeskCommand::Answer(person, answer));
        }
        let after = visit(&ledger, &books, person, today, 0).unwrap();
        assert!(
            after.plan.is_none(),
            "{:?}",
            after.screening.map(|s| s.verdict)
        );
    }

    #[test]
    fn a_point_in_the_place_of_another_is_chosen_screened_and_taken_back() {
        let books = Books::load().unwrap();
        let today: Date = "2027-01-15".parse().unwrap();
        let mut ledger = Ledger::default();
        let person = meet(&mut ledger);
        let mut points = |instead: &[(&str, &str)]| -> Vec<String> {
            let chose = Chose {
                date: today,
                procedure: "first_short".into(),
                cream: None,
                electro: false,
                most: None,
                instead: instead
                    .iter()
                    .map(|(a, b)| (a.to_string(), b.to_string()))
                    .collect(),
            };
            act(&mut ledger, DeskCommand::Choose(person, chose));
            let seen = visit(&ledger, &books, person, today, 0)
                .unwrap()
                .plan
                .unwrap();
            let planned = seen.blocks.iter().flat_map(|b| &b.places);
            let mut codes: Vec<String> = planned.map(|p| p.point.clone()).collect();
            codes.extend(seen.left_out.iter().map(|l| l.point.clone()));
            codes
        };
        let has = |codes: &[String], code: &str| codes.iter().any(|c| c == code);
        let before = points(&[]);
        assert!(has(&before, "TE5") && !has(&before, "LI10"), "control");
        let after = points(&[("TE5", "LI10")]);
        assert!(!has(&after, "TE5") && has(&after, "LI10"));
        assert_eq!(after.len(), before.len(), "one for one, both sides");
        // Another area, one that is there already, and none at all change nothing.
        for (gone, put) in [
            ("TE5", "SI18"),
            ("TE5", "LI4"),
            ("TE5", "ZZ9"),
            ("ZZ9", "LI10"),
        ] {
            assert_eq!(points(&[(gone, put)]), before, "{gone} {put}");
        }
        // What is put in is asked of today's answers too: LI4 is left out in pregnancy by custom, and so
        // is what takes another's place when it is LI4.
        let hands = points(&[("LI4", "PC6"), ("TE5", "LI4")]);
        assert!(has(&hands, "LI4") && has(&hands, "PC6") && !has(&hands, "TE5"));
    }

    /// Books whose procedures are as they are, and a ledger with one person who is to have one.
    fn somebody(procedure: &str, cream: bool) -> (Books, Ledger, EntryId, Date) {
        let today: Date = "2027-01-15".parse().unwrap();
        let mut ledger = Ledger::default();
        let person = meet(&mut ledger);
        let cream = cream.then(|| crate::event::person::ChosenCream {
            product: "lidocaine_4_us".into(),
            milligrams: 5_000,
            area_cm2: 50,
            minutes: 30,
        });
        let chose = Chose {
            date: today,
            procedure: procedure.into(),
            cream,
            electro: false,
            most: None,
            instead: Vec::new(),
        };
        act(&mut ledger, DeskCommand::Choose(person, chose));
        let books = Books::load().unwrap();
        // Nothing to report.
        for question in &books.knowledge.bank.questions {
            let id = question.id.as_str();
            let value = match &question.kind {
                Kind::YesNo => Value::Yes(matches!(id, "eaten" | "understands")),
                Kind::Choice(_) | Kind::Side(_) => Value::Choice("no".into()),
                Kind::Several(_) => Value::Several(flat::Set::new()),
                Kind::Number { .. } if id == "systolic" => Value::Number(Milli::whole(120)),
                Kind::Number { .. } if id == "diastolic" => Value::Number(Milli::whole(80)),
                _ => continue,
            };
            tell(&mut ledger, person, today, id, value);
        }
        (books, ledger, person, today)
    }

    fn tell(ledger: &mut Ledger, person: EntryId, date: Date, question: &str, value: Value) {
        let answer = Answered {
            question: question.into(),
            reply: Reply::Known(value),
            date,
            told: Told::Asked,
        };
        act(ledger, DeskCommand::Answer(person, answer));
    }

    fn set(ledger: &mut Ledger, name: &str, value: &str) {
        let set = crate::event::practice::Set {
            name: name.into(),
            value: value.into(),
            reason: String::new(),
        };
        act(ledger, DeskCommand::Set(set));
    }

    /// CX2 (CARD19, MCM, read): no needle that stays in the skin with a mechanical valve.
    #[test]
    fn a_kind_of_needle_that_is_left_out_is_left_out_of_the_plan_as_such() {
        let (mut books, mut ledger, person, today) = somebody("return_lines", false);
        // An ordinary needle that would stay in, which no point of the lists forbids.
        let worn = "LI4";
        for module in &mut books.procedures.iter_mut().flat_map(|p| &mut p.modules) {
            let steps = module.steps.iter_mut();
            steps
                .filter(|s| s.point == worn)
                .for_each(|s| s.worn_home = true);
        }
        let tiny = |books: &Books, plan: &Plan| -> (usize, bool) {
            let places = plan.blocks.iter().flat_map(|b| &b.places);
            let kind = |size: &str| books.needles.get(size).map(|row| row.size.kind);
            let tiny = places
                .clone()
                .filter(|p| kind(&p.size) == Some(needle::Kind::Intradermal));
            (tiny.count(), places.clone().any(|p| p.point == worn))
        };
        let before = visit(&ledger, &books, person, today, 0).unwrap();
        let before = before.plan.unwrap();
        let (count, worn_in) = tiny(&books, &before);
        assert!(count > 0 && worn_in, "the control");
        let valve = Value::Choice("mechanical".into());
        tell(&mut ledger, person, today, "valve", valve);
        let after = visit(&ledger, &books, person, today, 0).unwrap();
        let after = after.plan.unwrap();
        assert_eq!(tiny(&books, &after), (0, false));
        let rules: flat::Set<&str> = after.left_out.iter().map(|l| l.rule()).collect();
        assert!(rules.contains("CX2.retained"), "{rules:?}");
        // Filiform needles of the same areas stay in the plan.
        assert!(after.blocks.iter().any(|b| b.region.area.name() == "cheek"));
    }

    /// SK1 (US-4, FDA09, read): no cream on broken skin, there and not everywhere.
    #[test]
    fn cream_barred_on_one_place_is_barred_there_only() {
        let (books, mut ledger, person, today) = somebody("first_short", true);
        set(&mut ledger, "cream_scope", "confirmed");
        let on = |ledger: &Ledger| -> Vec<crate::atlas::Area> {
            let view = visit(ledger, &books, person, today, 0).unwrap();
            match view.plan.unwrap().topical {
                plan::Topical::On(times) => times.areas.clone(),
                _ => Vec::new(),
            }
        };
        use crate::atlas::Area;
        assert!(on(&ledger).contains(&Area::Forehead), "the control");
        tell(&mut ledger, person, today, "sore_today", Value::Yes(true));
        tell(&mut ledger, person, today, "skin_broken", Value::Yes(true));
        let places = flat::Set::from(["cheek.right".parse().unwrap()]);
        tell(
            &mut ledger,
            person,
            today,
            "skin_broken_where",
            Value::Places(places),
        );
        let left = on(&ledger);
        assert!(
            left.contains(&Area::Forehead) && !left.contains(&Area::Cheek),
            "{left:?}"
        );
    }

    /// SK14 (common practice): a lesion is left out. Its region goes, and a point that is clear of
    /// it can be let stay alone, with a reason.
    #[test]
    fn a_point_clear_of_a_lesion_can_be_let_stay_alone() {
        let (books, mut ledger, person, today) = somebody("first_short", false);
        tell(&mut ledger, person, today, "mole", Value::Yes(true));
        let places = flat::Set::from(["forehead.left".parse().unwrap()]);
        let places = Value::Places(places);
        tell(&mut ledger, person, today, "mole_where", places);
        let gone = |ledger: &Ledger| -> Vec<String> {
            let view = visit(ledger, &books, person, today, 0).unwrap();
            let plan = view.plan.unwrap();
            let left = plan.left_out.iter().filter(|l| l.rule() == "SK14.omit");
            left.map(|l| format!("{}.{}", l.point, l.side.name()))
                .collect()
        };
        let explained = Value::Yes(true);
        tell(&mut ledger, person, today, "mole_explained", explained);
        let width = Value::Number(Milli::whole(3));
        tell(&mut ledger, person, today, "mole_width", width);
        assert_eq!(gone(&ledger), ["EX-HN3.centre", "GB14.left"]);
        let clear = Overrode {
            rule: "SK14.omit".into(),
            reason: "three finger-breadths away".into(),
            date: today,
            points: [PointUse {
                code: "EX-HN3".into(),
                side: Side::Centre,
            }]
            .to_vec(),
        };
        act(&mut ledger, DeskCommand::Override(person, clear));
        assert_eq!(gone(&ledger), ["GB14.left"]);
        let all = Overrode {
            rule: "SK14.omit".into(),
            reason: "looked at by a doctor".into(),
            date: today,
            points: Vec::new(),
        };
        act(&mut ledger, DeskCommand::Override(person, all));
        assert_eq!(gone(&ledger), [""; 0]);
    }

    /// A figure and a rule of the practice change the visit, and the record says which figure stood.
    #[test]
    fn figures_and_rules_of_the_practice_count_in_a_visit() {
        let (books, mut ledger, person, today) = somebody("first_short", false);
        tell(&mut ledger, person, today, "fainted", Value::Yes(true));
        let found = |ledger: &Ledger, name: &str| {
            let view = visit(ledger, &books, person, today, 0).unwrap();
            let findings = view.screening.unwrap().findings;
            findings
                .iter()
                .find(|f| finding_name(f) == name)
                .map(|f| format!("{:?} {}", f.caps, f.words))
        };
        assert!(found(&ledger, "NE3.faint").unwrap().contains("Needles(20)"));
        let rules = &books.knowledge.rules;
        let why = "twelve points a side is how we work";
        let more = crate::practice::figure(rules, "few_needles", Some(Milli::whole(24)), why);
        act(&mut ledger, DeskCommand::Set(more.unwrap()));
        assert!(found(&ledger, "NE3.faint").unwrap().contains("Needles(24)"));
        assert!(found(&ledger, "ST1.few_needles").unwrap().contains(why));
        assert_eq!(found(&ledger, "OWN-1"), None);
        let rule = r#"{"id":"OWN-1","when":[[{"question":"fainted","is":["yes"]}]],"outcome":"stop","words":"Not with us.","source":"ours"}"#;
        set(&mut ledger, "rule.OWN-1", rule);
        assert!(found(&ledger, "OWN-1").is_some());
        set(&mut ledger, "rule.OWN-1", "");
        assert_eq!(found(&ledger, "OWN-1"), None);
    }
}
