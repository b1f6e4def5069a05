//! After the visit, with no chair open: a needle turned up, what stayed in is out, they call with
//! something.

use super::frame::{NotSaved, SavedSign, Steps};
use crate::desk::{Desk, use_desk};
use crate::parts::{Field, Kind, Look, OneOf, Press, Select};
use crate::shape::prelude::*;
use pinfold_core::base::id::EntryId;
use pinfold_core::event::person::{CallKind, Called};
use pinfold_core::event::session::{Ended, Finder, SearchPlace};
use pinfold_core::ledger::{ChairCommand, DeskCommand, Found};
use pinfold_core::needle::Size;
use pinfold_core::view::after::{Balance, Fit, StayLine, fits, stays, turned_up};
use pinfold_core::view::visit::day_of;
use pinfold_core::words::ask::ENGLISH as ASK;
use pinfold_core::words::calls::{EN as CALLS, call};
use pinfold_core::words::settings::EN as SETTINGS;
use pinfold_core::words::{acts, place};

const CALLS_ABOUT: [CallKind; 5] = [
    CallKind::Bruise,
    CallKind::Headache,
    CallKind::Chest,
    CallKind::Eye,
    CallKind::Other,
];
const FINDERS: [Finder; 3] = [Finder::Practitioner, Finder::Person, Finder::Other];

/// What can be written down of a person after a visit.
#[component]
pub fn After(
    /// Whose.
    person: EntryId,
) -> impl IntoShape {
    let desk = use_desk();
    let name = move || {
        desk.read(|l| {
            l.person(person)
                .map_or(String::new(), |p| p.name().to_string())
        })
    };
    let up = move || {
        let lines = desk.read(|l| turned_up(l, person));
        let line = |(_, at, words): (EntryId, pinfold_core::base::stamp::Wall, String)| {
            view! { <li>{day_of(at, crate::desk::zone()).to_string()} " " <bdi>{words}</bdi></li> }
        };
        lines.into_iter().map(line).collect::<Vec<_>>()
    };
    let inside = move || {
        let lines = desk.read(|l| stays(l, person));
        lines
            .into_iter()
            .map(|one| view! { <Stays line=one /> })
            .collect::<Vec<_>>()
    };
    view! {
        <div class="screen">
            <header class="column">
                <div class="head"><h1><bdi>{name}</bdi></h1><p class="note end"><SavedSign /></p></div>
                <Steps person=person here=None />
            </header>
            <main class="column halves">
                <div class="stack">
                    <NotSaved />
                    <Needle person=person />
                    <ul class="lines">{up}</ul>
                </div>
                <div class="stack">
                    {inside}
                    <Calls person=person />
                </div>
            </main>
        </div>
    }
}

/// The sizes there are, with *not known* first.
fn sizes(desk: Desk) -> Vec<Option<Size>> {
    let all = desk.books(|b| {
        b.needles
            .sizes()
            .iter()
            .map(|s| Some(s.size))
            .collect::<Vec<_>>()
    });
    let mut sizes = vec![None];
    sizes.extend(all.unwrap_or_default());
    sizes
}

/// A needle turned up.
#[component]
fn Needle(person: EntryId) -> impl IntoShape {
    let desk = use_desk();
    let all = StoredValue::new(sizes(desk));
    let [size, spot, finder, skin, stuck, visit] = [(); 6].map(|()| RwSignal::new(0_usize));
    let words = RwSignal::new(String::new());
    let said = RwSignal::new(String::new());
    let fitting = Memo::new(move |_| {
        let wanted = all.get_value().get(size.get()).copied().flatten();
        desk.read(|l| fits(l, person, wanted))
    });
    let visits = move || {
        let line = |fit: Fit| {
            let day = day_of(fit.at, crate::desk::zone());
            let open = match fit.balance {
                Balance::NotFound(n) => format!(" \u{b7} {} {n}", acts::EN.missing_there),
                _ => String::new(),
            };
            format!("{day} \u{b7} {}{open}", fit.used)
        };
        let options: Vec<String> = fitting.get().into_iter().map(line).collect();
        view! { <Select id="up-visit" label=acts::EN.which_visit options=options chosen=visit on_choose=move |at| visit.set(at) /> }
    };
    let size_words: Vec<String> = all
        .get_value()
        .iter()
        .map(|s| s.map_or(acts::EN.not_known.to_string(), |s| s.to_string()))
        .collect();
    let mut places = vec![acts::EN.elsewhere.to_string()];
    places.extend(
        SearchPlace::ALL
            .iter()
            .map(|p| acts::EN.place(*p).to_string()),
    );
    let keep = move |()| {
        let all_fits = fitting.get_untracked();
        let Some(fit) = all_fits.get(visit.get_untracked()) else {
            said.set(acts::EN.no_visit.to_string());
            return;
        };
        let others = all_fits
            .iter()
            .map(|f| f.session)
            .filter(|s| *s != fit.session);
        let found = Found {
            count: 1,
            region: None,
            size: all.get_value().get(size.get_untracked()).copied().flatten(),
            place: spot
                .get_untracked()
                .checked_sub(1)
                .and_then(|at| SearchPlace::ALL.get(at).copied()),
            by: FINDERS
                .get(finder.get_untracked())
                .copied()
                .unwrap_or(Finder::Other),
            embedded: skin.get_untracked() == 1,
            stuck: stuck.get_untracked() == 1,
            fits: others.collect(),
            words: words.get_untracked().trim().to_string(),
        };
        let session = fit.session;
        let done = desk.act(ChairCommand::TurnUp { session, found });
        said.set(match done {
            Ok(_) => acts::EN.up_kept.to_string(),
            Err(_) => SETTINGS.too_long.to_string(),
        });
    };
    let finders = FINDERS.map(|f| acts::EN.finder(f).to_string()).to_vec();
    view! {
        <section class="panel stack">
            <h2>{acts::EN.turned_up}</h2>
            <Select id="up-size" label=acts::EN.its_size options=size_words chosen=size on_choose=move |at| size.set(at) />
            {visits}
            <Select id="up-place" label=acts::EN.where_found options=places chosen=spot on_choose=move |at| spot.set(at) />
            <OneOf name=acts::EN.turned_up texts=finders chosen=finder on_choose=move |at| finder.set(at) />
            <OneOf name=acts::EN.embedded texts=vec![acts::EN.loose.into(), acts::EN.embedded.into()] chosen=skin on_choose=move |at| skin.set(at) />
            <OneOf name=acts::EN.stuck texts=vec![acts::EN.nobody_stuck.into(), acts::EN.stuck.into()] chosen=stuck on_choose=move |at| stuck.set(at) />
            <Field id="up-words" label=acts::EN.in_words kind=Kind::Lines value=words on_input=move |t| words.set(t) />
            <p role="status"><b>{move || said.get()}</b></p>
            <Press text=acts::EN.write_down on_press=keep />
        </section>
    }
}

/// Needles that stayed in on purpose, and how that ended.
#[component]
fn Stays(line: StayLine) -> impl IntoShape {
    let desk = use_desk();
    let (session, region) = (line.session, line.region);
    let count = u16::try_from(line.n).unwrap_or(u16::MAX);
    let end = move |how: Ended| {
        let command = ChairCommand::EndStay {
            session,
            region: Some(region),
            count,
            how,
        };
        let _ = desk.act(command);
    };
    let ways = [Ended::ByMe, Ended::ByPerson, Ended::FellOffUnseen].map(|how| {
        view! { <Press text=acts::EN.ended(how) look=Look::Plain on_press=move |()| end(how) /> }
    });
    view! {
        <section class="panel stack">
            <h2>{place::EN.region(region)}</h2>
            <p>{line.line()}</p>
            {ways.into_iter().collect::<Vec<_>>()}
        </section>
    }
}

/// They call with something: what to say, and what was said.
#[component]
fn Calls(person: EntryId) -> impl IntoShape {
    let desk = use_desk();
    let about = RwSignal::new(0_usize);
    let [told, answer] = [(); 2].map(|()| RwSignal::new(String::new()));
    let said = RwSignal::new(String::new());
    let titles = CALLS_ABOUT
        .map(|kind| call(kind).map_or(String::new(), |c| c.title.to_string()))
        .to_vec();
    let words = move || {
        let kind = CALLS_ABOUT
            .get(about.get())
            .copied()
            .unwrap_or(CallKind::Other);
        let one = call(kind)?;
        let list = |head: &'static str, lines: &'static [&'static str]| {
            let none = lines.is_empty();
            let lines: Vec<_> = lines.iter().map(|l| view! { <li>{*l}</li> }).collect();
            view! { <div hidden=none><h3>{head}</h3> <ul class="lines">{lines}</ul></div> }
        };
        Some(view! {
            {list(CALLS.now, one.now)}
            {list(CALLS.today, one.today)}
            {list(CALLS.usual, one.usual)}
            <p class="note">{ASK.source(one.source, one.mark, false)}</p>
        })
    };
    let keep = move |()| {
        let session = desk.read_now(|l| {
            let mut treated = l.sessions_of(person).filter(|(_, s)| !s.state().rehearsal);
            treated.next_back().map(|(id, _)| id)
        });
        let called = Called {
            about: CALLS_ABOUT
                .get(about.get_untracked())
                .copied()
                .unwrap_or(CallKind::Other),
            session,
            words: told.get_untracked().trim().to_string(),
            told: answer.get_untracked().trim().to_string(),
        };
        let done = desk.act(DeskCommand::Call(person, called));
        said.set(match done {
            Ok(_) => {
                told.set(String::new());
                answer.set(String::new());
                acts::EN.call_kept.to_string()
            }
            Err(_) => SETTINGS.too_long.to_string(),
        });
    };
    view! {
        <section class="panel stack">
            <h2>{acts::EN.they_call}</h2>
            <p>{CALLS.first}</p>
            <div class="listed"><OneOf name=acts::EN.they_call texts=titles chosen=about on_choose=move |at| about.set(at) /></div>
            {words}
            <Field id="call-told" label=CALLS.told kind=Kind::Lines value=told on_input=move |t| told.set(t) />
            <Field id="call-said" label=CALLS.said kind=Kind::Lines value=answer on_input=move |t| answer.set(t) />
            <p role="status"><b>{move || said.get()}</b></p>
            <Press text=acts::EN.write_down on_press=keep />
        </section>
    }
}
