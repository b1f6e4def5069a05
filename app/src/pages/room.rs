//! What the browser says of the room it keeps for the records: on Today where something is to be done,
//! in Settings all of it; and that a newer version wrote here.

use crate::desk::{Desk, Kept, RoomSaid, Route, Why, use_desk};
use crate::parts::{Look, Notice, Press};
use crate::shape::prelude::*;
use pinfold_core::base::id::EntryId;
use pinfold_core::people::Person;
use pinfold_core::view::room::{Room, TAB_DAYS, tab_may_be_cleared};
use pinfold_core::words::room::EN;
use pinfold_core::words::vault::EN as VAULT;
use wasm_bindgen_futures::spawn_local;

/// What the browser says, asked now.
fn look(desk: Desk, said: RwSignal<Option<RoomSaid>>) {
    spawn_local(async move {
        let now = desk.room().await;
        // The page may be gone already.
        let _ = said.try_update(|said| *said = Some(now));
    });
}

/// Asked when it is shown, when a write is refused for want of room, and when that is over.
fn watched(desk: Desk) -> (RwSignal<Option<RoomSaid>>, Memo<bool>) {
    let said = RwSignal::new(None);
    let full = Memo::new(move |_| desk.kept().get() == Kept::NotSaved(Why::Full));
    Effect::new(move || {
        let _ = full.get();
        look(desk, said);
    });
    (said, full)
}

/// How full it is, in words.
fn used(said: &RoomSaid) -> String {
    said.room
        .map_or(EN.used_unknown.into(), |r| EN.used(r.used, r.quota))
}

/// That a newer version wrote settings.
fn newer_practice(desk: Desk) -> Option<Shape> {
    (desk.read(|l| l.practice().newer()) > 0).then(|| {
        view! { <Notice title=EN.newer_practice kept=EN.newer_practice_kept next=EN.newer_next quiet=true /> }
    })
}

/// On Today: nothing, unless something is to be done.
#[component]
pub fn RoomNotes() -> impl IntoShape {
    let desk = use_desk();
    let (said, full) = watched(desk);
    let little = move || {
        let seen = said.get().filter(|s| s.room.is_some_and(Room::little));
        (full.get() || seen.is_some()).then(|| {
            let kept = match seen {
                Some(seen) => format!("{} {}", used(&seen), EN.little_kept),
                None => EN.little_kept.into(),
            };
            view! {
                <Notice title=EN.little kept=kept next=EN.little_next quiet=true>
                    <a class="press plain" href=Route::Copies.href()>{EN.copies}</a>
                </Notice>
            }
        })
    };
    let tab = move || {
        let may = said
            .get()
            .is_some_and(|s| tab_may_be_cleared(s.agreed, s.own_window));
        (may && !desk.invented()).then(|| {
            view! { <p class="note"><a href=Route::Settings.href()>{EN.tab(TAB_DAYS)} " " <b>{EN.what_to_do}</b></a></p> }
        })
    };
    view! { {little} {move || newer_practice(desk)} {tab} }
}

/// In Settings: how it stands.
#[component]
pub fn RoomPanel() -> impl IntoShape {
    let desk = use_desk();
    let (said, _) = watched(desk);
    let agreed = move || match said.get() {
        None => EN.looking,
        Some(s) => match s.agreed {
            Some(true) => EN.agreed,
            Some(false) => EN.not_agreed,
            None => EN.not_asked,
        },
    };
    let place = move || {
        said.get().map(|s| {
            if s.own_window {
                view! { <p>{EN.own_window}</p> }
            } else {
                view! { <p>{EN.tab_why(TAB_DAYS)}</p> <p>{EN.tab_next}</p> }
            }
        })
    };
    let again = move |()| {
        said.set(None);
        spawn_local(async move {
            desk.ask_to_keep().await;
            look(desk, said);
        });
    };
    view! {
        <section class="panel stack">
            <h2>{EN.room}</h2>
            {move || newer_practice(desk)}
            <p role="status" id="room-agreed"><b>{agreed}</b></p>
            <p class="note">{EN.all_the_same}</p>
            <Press text=EN.ask_again look=Look::Plain on_press=again />
            <p id="room-used">{move || said.get().map(|s| used(&s))}</p>
            {place}
        </section>
    }
}

/// That a newer version wrote about somebody, or that something of theirs is damaged, on every page of
/// theirs.
#[component]
pub fn NewerPerson(
    /// Who.
    person: EntryId,
) -> impl IntoShape {
    let desk = use_desk();
    // 2: newer; 1: damaged.
    let how = Memo::new(move |_| {
        desk.read(|l| {
            let found = l.person(person);
            if found.is_some_and(Person::read_only) {
                2
            } else {
                u8::from(found.is_some_and(|p| p.unread > 0) || l.flawed(person))
            }
        })
    });
    move || {
        let (title, kept, next) = match how.get() {
            0 => return None,
            1 => (VAULT.flaws, VAULT.damaged, EN.damaged_person_next),
            _ => (EN.newer_person, EN.newer_person_kept, EN.newer_person_next),
        };
        Some(view! { <Notice title=title kept=kept next=next quiet=true /> })
    }
}
