//! What leaves for other programs: tables, a calendar, a person's visits for a clinic's server. Only what
//! the practitioner asks for, as files.

use super::frame::{DeskTabs, gone};
use super::room::NewerPerson;
use crate::desk::{Desk, use_desk};
use crate::parts::{Look, OneOf, Press};
use crate::shape::prelude::*;
use pinfold_core::base::id::EntryId;
use pinfold_core::wire::{calendar, fhir, tables};
use pinfold_core::words::exports::EN;
use wasm_bindgen_futures::spawn_local;

/// Gives a file, and says what became of it.
fn give(desk: Desk, said: RwSignal<String>, name: String, kind: &'static str, text: String) {
    spawn_local(async move {
        said.set(gone(desk.give_file(&name, kind, text).await, EN.given));
    });
}

/// Files for other programs: of the whole practice, or of one person.
#[component]
pub fn Exports(
    /// Whose; nobody's is everybody's.
    person: Option<EntryId>,
) -> impl IntoShape {
    let desk = use_desk();
    let said = RwSignal::new(String::new());
    let names = RwSignal::new(0_usize);
    let who = desk.read_now(|l| {
        let person = person.and_then(|id| l.person(id));
        person.map_or(String::new(), |p| p.name().to_string())
    });
    let with_names = move || names.get_untracked() == 1;
    let table = move |table: tables::Table| {
        let options = tables::Options {
            names: with_names(),
            mark: true,
            person,
        };
        let text = desk.read_now(|l| {
            let whole = person.map_or_else(|| l.whole(), |id| l.whole_of(id))?;
            let text = desk.books(|b| tables::table(whole, b, table, options));
            text.ok()
        });
        if let Some(text) = text {
            let name = format!("pinfold-{}-{}.csv", table.name(), desk.today());
            give(desk, said, name, "text/csv", text);
        }
    };
    let list: Vec<_> = tables::Table::ALL
        .iter()
        .zip(EN.table)
        .map(|(one, words)| {
            let one = *one;
            view! { <Press text=words look=Look::Plain on_press=move |()| table(one) /> }
        })
        .collect();
    let booked = move |()| {
        let options = calendar::Options {
            name: with_names(),
            alarm: None,
        };
        let text = desk.read_now(|l| match person {
            Some(person) => calendar::next(l, person, options, desk.stamp().wall),
            None => calendar::all(l.whole()?, options, desk.stamp().wall),
        });
        match text {
            Some(text) => {
                let name = format!("pinfold-{}.ics", desk.today());
                give(desk, said, name, "text/calendar", text);
            }
            None => said.set(EN.nothing_booked.to_string()),
        }
    };
    let server = person.map(|person| {
        let send = move |()| {
            let made = desk.stamp();
            match desk.read_now(|l| desk.books(|b| fhir::person(l, b, person, made))) {
                Ok(Ok(text)) => {
                    let name = format!("pinfold-{}.json", desk.today());
                    give(desk, said, name, "application/fhir+json", text);
                }
                Ok(Err(why)) => said.set(why.say().to_string()),
                Err(_) => {}
            }
        };
        view! {
            <section class="panel stack">
                <h2>{EN.server}</h2>
                <p class="note">{EN.server_what}</p>
                <Press text=EN.server_give on_press=send />
            </section>
        }
    });
    view! {
        <div class="screen">
            <header class="column"><h1>{EN.page}</h1></header>
            <main class="column stack reading">
                <p><bdi>{who}</bdi></p>
                {person.map(|person| view! { <NewerPerson person=person /> })}
                <p>{EN.what}</p>
                <OneOf name=EN.names texts=vec![EN.names_no.to_string(), EN.names_yes.to_string()] chosen=names on_choose=move |at| names.set(at) />
                <p role="status"><b>{move || said.get()}</b></p>
                {server}
                <section class="panel stack">
                    <h2>{EN.calendar}</h2>
                    <p class="note">{EN.calendar_what}</p>
                    <Press text=EN.calendar_give on_press=booked />
                </section>
                <section class="panel stack">
                    <h2>{EN.tables}</h2>
                    <p class="note">{EN.tables_what}</p>
                    {list}
                </section>
            </main>
            <DeskTabs here=2 />
        </div>
    }
}
