//! How long records are kept, and which are past it.

use super::frame::{DeskTabs, NotSaved, SavedSign};
use crate::desk::{Route, use_desk, zone};
use crate::parts::{Field, Kind, Look, OneOf, Press};
use crate::shape::prelude::*;
use pinfold_core::carry::past;
use pinfold_core::ledger::DeskCommand;
use pinfold_core::practice::retention::{EXAMPLES, Retention, Until};
use pinfold_core::words::copies::{EN, shown};
use pinfold_core::words::settings;

/// How long records are kept.
#[component]
pub fn Keeping() -> impl IntoShape {
    let desk = use_desk();
    let now = desk.read_now(|l| Retention::of(l.practice()));
    let years = RwSignal::new(now.map_or(String::new(), |k| k.years.to_string()));
    let minor = RwSignal::new(now.map_or_else(|| "0".to_string(), |k| k.minor_until.to_string()));
    let from = RwSignal::new(usize::from(now.is_some_and(|k| k.from_entry)));
    let wrong = RwSignal::new("");
    let said = RwSignal::new("");
    let keep = move |()| {
        let number = |text: RwSignal<String>| text.get_untracked().trim().parse::<u16>().ok();
        let keep = number(years)
            .zip(number(minor))
            .map(|(years, minor_until)| Retention {
                years,
                from_entry: from.get_untracked() == 1,
                minor_until,
            });
        let keep = keep.filter(|k| (1..=100).contains(&k.years) && k.minor_until <= 100);
        wrong.set(if keep.is_some() { "" } else { EN.keep_bad });
        let settings = keep.map_or(Vec::new(), Retention::settings);
        let done = !settings.is_empty()
            && settings
                .into_iter()
                .all(|set| desk.act(DeskCommand::Set(set)).is_ok());
        said.set(if done { settings::EN.kept } else { "" });
    };
    let examples: Vec<_> = EXAMPLES
        .iter()
        .map(|example| {
            let note = format!("{} ({})", example.source, example.mark.word());
            view! {
                <Press text=example.name note=note look=Look::Plain spread=true on_press=move |()| {
                    years.set(example.keep.years.to_string());
                    minor.set(example.keep.minor_until.to_string());
                    from.set(usize::from(example.keep.from_entry));
                } />
            }
        })
        .collect();
    let list = move || {
        let past = desk.read(|l| {
            l.whole()
                .map_or(Vec::new(), |all| past(all, desk.today(), zone()))
        });
        let none = past.is_empty().then(|| view! { <p>{EN.past_none}</p> });
        let lines: Vec<_> = past
            .into_iter()
            .map(|p| {
                let (day, unknown) = match p.until {
                    Until::Day(day) => (day, ""),
                    Until::AtLeast(day) => (day, EN.past_unknown),
                };
                let line = EN.past_line(&p.last.to_string(), &day.to_string());
                view! {
                    <li>
                        <a href=Route::Erase(p.person).href()><bdi>{shown(&p.name)}</bdi></a>
                        " " <span class="note">{line} " " {unknown}</span>
                    </li>
                }
            })
            .collect();
        view! { {none} <ul class="lines">{lines}</ul> }
    };
    view! {
        <div class="screen">
            <header class="head column">
                <h1>{EN.keep_long}</h1>
                <p class="note end"><SavedSign /></p>
            </header>
            <main class="column stack">
                <NotSaved />
                <p class="reading">{EN.keep_why}</p>
                {examples}
                <Field id="years" label=EN.keep_years kind=Kind::Number value=years on_input=move |t| years.set(t) error=Signal::derive(move || wrong.get().to_string()) />
                <Field id="minor" label=EN.keep_minor kind=Kind::Number value=minor on_input=move |t| minor.set(t) />
                <OneOf name=EN.keep_from texts=vec![EN.from_visit.to_string(), EN.from_entry.to_string()] chosen=from on_choose=move |n| from.set(n) />
                <Press text=settings::EN.keep on_press=keep />
                <p role="status">{move || said.get()}</p>
                <section class="panel stack"><h2>{EN.past}</h2>{list}</section>
            </main>
            <DeskTabs here=2 />
        </div>
    }
}
