//! Everybody, and writing down somebody new.

use super::frame::{DeskTabs, NotSaved, SavedSign};
use super::sealing::Choice;
use crate::desk::{Route, use_desk};
use crate::parts::{Field, Kind, Slab};
use crate::shape::prelude::*;
use pinfold_core::base::date::Date;
use pinfold_core::base::id::EntryId;
use pinfold_core::event::person::Named;
use pinfold_core::ledger::{DeskCommand, Refusal};
use pinfold_core::view::people::{everybody, find};
use pinfold_core::words::app;
use pinfold_core::words::people::EN;

/// Names that are drawn at once; whoever is none of them is looked for. Policy: drawing them is what a letter
/// in the search costs, and twenty are within one picture.
const SHOWN: usize = 20;

/// Everybody: the first of them, and whoever is looked for.
#[component]
pub fn People() -> impl IntoShape {
    let desk = use_desk();
    let typed = RwSignal::new(String::new());
    let all = Memo::new(move |_| desk.read(|l| everybody(l).count()));
    let rows = Memo::new(move |_| typed.with(|typed| desk.read(|l| find(l, typed, SHOWN))));
    let list = move || {
        rows.get()
            .into_iter()
            .map(|(id, name)| {
                view! { <li><a class="press spread" href=Route::Person(id).href()><bdi>{name}</bdi></a></li> }
            })
            .collect::<Vec<_>>()
    };
    // Few are seen at a glance.
    let few = move || all.get() <= SHOWN;
    let cut = move || rows.with(Vec::len) < SHOWN;
    view! {
        <div class="screen">
            <header class="head column">
                <h1>{EN.people}</h1>
                <p class="note end"><SavedSign /></p>
            </header>
            <main class="column halves">
                <div class="stack">
                    <NotSaved />
                    <p class="note" hidden=move || desk.read(|l| l.unread()) == 0>{app::EN.still_reading}</p>
                    <p hidden=move || all.get() != 0>{EN.nobody}</p>
                    <div hidden=few><Field id="find" label=EN.find value=typed on_input=move |t| typed.set(t) /></div>
                    <p role="status" hidden=few>
                        {move || if rows.with(Vec::is_empty) { EN.find_none } else { "" }}
                    </p>
                    <ul class="stack">{list}</ul>
                    <p class="note" hidden=move || few() || cut()>{move || EN.shown_of(SHOWN, all.get())}</p>
                </div>
                <section class="stack">
                    <h2>{EN.add}</h2>
                    {move || if desk.must_choose() {
                        view! { <Choice /> }
                    } else {
                        view! { <NameForm person=None named=None /> }
                    }}
                </section>
            </main>
            <DeskTabs here=1 />
        </div>
    }
}

/// Reads a birth date: empty is none; not a date, one to come, or one more than 130 years ago is a
/// slip. Eight digits will do: a phone's number pad may have no hyphen.
fn birth(text: &str, today: Date) -> Result<Option<Date>, ()> {
    let text = text.trim();
    if text.is_empty() {
        return Ok(None);
    }
    let date = match text.len() {
        8 if text.bytes().all(|b| b.is_ascii_digit()) => {
            format!("{}-{}-{}", &text[..4], &text[4..6], &text[6..])
        }
        _ => text.to_string(),
    };
    let date = date.parse::<Date>().map_err(|_| ())?;
    (date <= today && today.years_since(date) <= 130)
        .then_some(Some(date))
        .ok_or(())
}

/// The fields that say who somebody is.
#[component]
pub fn NameForm(
    /// Whom they are about; none for somebody new.
    person: Option<EntryId>,
    /// What is known already.
    named: Option<Named>,
) -> impl IntoShape {
    let desk = use_desk();
    let known = named.unwrap_or(Named {
        name: String::new(),
        birth_date: None,
        contact: None,
        came_for: None,
    });
    let name = RwSignal::new(known.name);
    let birth_date = RwSignal::new(known.birth_date.map_or(String::new(), |d| d.to_string()));
    let contact = RwSignal::new(known.contact.unwrap_or_default());
    let came_for = RwSignal::new(known.came_for.unwrap_or_default());
    let name_wrong = RwSignal::new("");
    let birth_wrong = RwSignal::new("");
    let long = RwSignal::new("");
    let some = |text: String| (!text.trim().is_empty()).then_some(text);
    let keep = move |()| {
        name_wrong.set("");
        birth_wrong.set("");
        long.set("");
        let Ok(birth_date) = birth(&birth_date.get_untracked(), desk.today()) else {
            birth_wrong.set(EN.birth_bad);
            return;
        };
        let named = Named {
            name: name.get_untracked().trim().to_string(),
            birth_date,
            contact: some(contact.get_untracked()),
            came_for: some(came_for.get_untracked()),
        };
        let done = desk.act(match person {
            None => DeskCommand::Meet(named),
            Some(id) => DeskCommand::Rename(id, named),
        });
        match done {
            Ok(id) => desk.go(&Route::Person(person.unwrap_or(id))),
            Err(Refusal::Unwritable(field)) if !field.starts_with("name") => long.set(EN.too_long),
            Err(_) => name_wrong.set(EN.name_missing),
        }
    };
    view! {
        <form
            class="stack"
            on:submit=move |ev| {
                ev.prevent_default();
                keep(());
            }
        >
            <Field id="name" label=EN.name value=name on_input=move |t| name.set(t) error=Signal::derive(move || name_wrong.get().to_string()) required=true />
            <Field
                id="birth"
                label=EN.birth_date
                hint=EN.birth_hint
                value=birth_date
                on_input=move |t| birth_date.set(t)
                error=Signal::derive(move || birth_wrong.get().to_string())
            />
            <Field id="contact" label=EN.contact value=contact on_input=move |t| contact.set(t) />
            <Field id="for" label=EN.came_for kind=Kind::Lines value=came_for on_input=move |t| came_for.set(t) error=Signal::derive(move || long.get().to_string()) />
            <Slab text=EN.keep tall=crate::parts::slab::Tall::Low solid=true on_press=keep />
        </form>
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_birth_date_is_a_day_that_was() {
        let today: Date = "2027-01-15".parse().unwrap();
        let read = |text| birth(text, today).map(|d| d.map(|d| d.to_string()));
        assert_eq!(read(" "), Ok(None));
        assert_eq!(read("1984-02-29"), Ok(Some("1984-02-29".into())));
        assert_eq!(read("19840229"), Ok(Some("1984-02-29".into())));
        for slip in [
            "1985-02-29",
            "2027-01-16",
            "1084-02-28",
            "29.2.1984",
            "1984",
            "29021984",
        ] {
            assert_eq!(read(slip), Err(()), "{slip}");
        }
    }
}
