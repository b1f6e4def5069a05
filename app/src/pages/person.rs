//! What must I know about this person?

use super::frame::{DeskTabs, NotSaved, SavedSign, Steps, marked, time_of_day};
use super::people::NameForm;
use crate::desk::{Route, use_desk, zone};
use crate::parts::{Field, Kind, Look, Notice, Press};
use crate::shape::prelude::*;
use pinfold_core::base::date::Date;
use pinfold_core::base::id::EntryId;
use pinfold_core::base::stamp::Wall;
use pinfold_core::event::person::Booked;
use pinfold_core::ledger::DeskCommand;
use pinfold_core::view::visit::day_of;
use pinfold_core::words::acts;
use pinfold_core::words::app;
use pinfold_core::words::atlas;
use pinfold_core::words::exports;
use pinfold_core::words::people::EN;

/// A person.
#[component]
pub fn Person(
    /// Who.
    person: EntryId,
) -> impl IntoShape {
    let desk = use_desk();
    let known = Memo::new(move |_| desk.read(|l| l.person(person).cloned()));
    let there = Memo::new(move |_| known.with(|p| p.as_ref().is_some_and(|p| p.named.is_some())));
    let name = move || known.with(|p| p.as_ref().map_or(String::new(), |p| p.name().to_string()));
    let visit = Memo::new(move |_| desk.visit(person));
    let age = move || visit.with(|v| v.as_ref().and_then(|v| v.age).map(|n| EN.years(n)));
    let left_in = move || visit.with(|v| v.as_ref().map_or(0, |v| v.left_in));
    let sessions = Memo::new(move |_| {
        desk.read(|l| {
            l.visits_of(person)
                .map(|(id, visit)| (id, visit.opened_at, visit.zone, visit.rehearsal))
                .collect::<Vec<_>>()
        })
    });
    let bookings =
        Memo::new(move |_| known.with(|p| p.as_ref().map_or(Vec::new(), |p| p.bookings.clone())));
    let came_for = move || {
        known.with(|p| {
            p.as_ref()
                .and_then(|p| p.named.as_ref())
                .and_then(|n| n.came_for.clone())
        })
    };
    let editing = RwSignal::new(false);
    view! {
        <div class="screen">
            <header class="column">
                <div class="head">
                    <h1><bdi>{name}</bdi></h1>
                    <p class="note end">{age} " " <SavedSign /></p>
                </div>
                <Steps person=person here=None />
            </header>
            <main class="column halves">
                <div class="stack">
                <NotSaved />
                <p class="note" hidden=move || desk.read(|l| l.unread()) == 0>{app::EN.still_reading}</p>
                <div hidden=move || there.get()>
                    <Notice title=app::EN.not_there next=app::EN.not_there_next quiet=true />
                </div>
                <div hidden=move || { left_in() == 0 }>
                    <Notice title=Signal::derive(move || format!("{} {}", left_in(), EN.left_in)) quiet=true>
                        <a class="press plain" href=Route::After(person).href()>{acts::EN.left_in_first}</a>
                    </Notice>
                </div>
                <p hidden=move || came_for().is_none()><bdi>{came_for}</bdi></p>
                <section class="panel stack">
                    <h2>{EN.visits}</h2>
                    <p hidden=move || !sessions.with(Vec::is_empty)>{EN.no_visits}</p>
                    <ul class="lines">
                        {move || sessions.get().into_iter().rev().map(|(id, at, zone, rehearsal)| {
                            let day = at.map_or(String::new(), |at| format!("{} {}", day_of(at, zone), time_of_day(at, zone)));
                            view! { <li><a href=Route::Write(id).href()>{day} {marked(rehearsal)}</a></li> }
                        }).collect::<Vec<_>>()}
                    </ul>
                    <ul class="lines">
                        {move || bookings.get().into_iter().map(|b| {
                            let zone = zone();
                            let text = format!("{} {}, {} min", day_of(b.at, zone), time_of_day(b.at, zone), b.minutes);
                            view! {
                                <li>
                                    <span>{text}</span>
                                    <span class="end">
                                        <Press text=EN.unbook look=Look::Plain fit=true on_press=move |()| {
                                            let _ = desk.act(DeskCommand::Unbook(person, b.id));
                                        } />
                                    </span>
                                </li>
                            }
                        }).collect::<Vec<_>>()}
                    </ul>
                </section>
                </div>
                <div class="stack">
                <section class="panel stack"><h2>{EN.book}</h2><Book person=person ahead=0 /></section>
                <a class="press plain" href=Route::After(person).href()>{acts::EN.after}</a>
                <a class="press plain" href=Route::Tape(person).href()>{atlas::EN.tape}</a>
                <a class="press plain" href=Route::Exports(Some(person)).href()>{exports::EN.page}</a>
                <a class="press plain" href=Route::Erase(person).href()>{app::EN.record_out}</a>
                <Press text=EN.change look=Look::Plain on_press=move |()| editing.update(|e| *e = !*e) />
                {move || editing.get().then(|| {
                    let named = known.with_untracked(|p| p.as_ref().and_then(|p| p.named.clone()));
                    view! { <NameForm person=Some(person) named=named /> }
                })}
                </div>
            </main>
            <DeskTabs here=1 />
        </div>
    }
}

/// Minutes after midnight from "14:05".
fn minutes(text: &str) -> Option<i64> {
    let (h, m) = text.trim().split_once(':')?;
    let (h, m): (i64, i64) = (h.parse().ok()?, m.parse().ok()?);
    ((0..24).contains(&h) && (0..60).contains(&m)).then_some(h * 60 + m)
}

/// Books a visit.
#[component]
pub fn Book(
    /// Whose.
    person: EntryId,
    /// How many days ahead is suggested.
    ahead: i32,
) -> impl IntoShape {
    let desk = use_desk();
    let suggested = Date::from_days(desk.today().days() + ahead).unwrap_or_else(|_| desk.today());
    let day = RwSignal::new(suggested.to_string());
    let booked = RwSignal::new(String::new());
    // Today the next quarter of an hour: a time that is over cannot be meant.
    let at = match ahead {
        0 => {
            let local = desk.stamp().wall.0 / 60_000 + i64::from(zone());
            (local.rem_euclid(1440) / 15 * 15 + 15).min(1425)
        }
        _ => 540,
    };
    let time = RwSignal::new(format!("{:02}:{:02}", at / 60, at % 60));
    let long = RwSignal::new(String::from("60"));
    let wrong = RwSignal::new("");
    let book = move |()| {
        let read = || {
            let day = day.get_untracked().trim().parse::<Date>().ok()?;
            let at = minutes(&time.get_untracked())?;
            let long: u16 = long.get_untracked().trim().parse().ok()?;
            let local = i64::from(day.days()) * 1440 + at - i64::from(zone());
            Some(Booked {
                at: Wall(local * 60_000),
                minutes: long,
            })
        };
        let done = read().filter(|b| desk.act(DeskCommand::Book(person, b.clone())).is_ok());
        wrong.set(if done.is_some() { "" } else { EN.book_bad });
        booked.set(done.map_or(String::new(), |b| {
            let zone = zone();
            format!(
                "{} {} {}",
                EN.booked,
                day_of(b.at, zone),
                time_of_day(b.at, zone)
            )
        }));
    };
    view! {
        <div class="stack">
            <Field id="day" label=EN.book_day kind=Kind::Date value=day on_input=move |t| day.set(t) />
            <div class="row">
                <Field id="time" label=EN.book_time kind=Kind::Time value=time on_input=move |t| time.set(t) />
                <Field
                    id="long"
                    label=EN.book_minutes
                    kind=Kind::Number
                    value=long
                    on_input=move |t| long.set(t)
                    error=Signal::derive(move || wrong.get().to_string())
                />
            </div>
            <p role="status"><b>{move || booked.get()}</b></p>
            <Press text=EN.book on_press=book />
        </div>
    }
}
