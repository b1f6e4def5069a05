//! What surrounds pages: the saved sign, the strip at the head of chair-side pages, notices that
//! belong to no page, and the tabs.

use crate::desk::{CopyOut, Kept, Route, Why, use_desk};
use crate::parts::tabs::Tab;
use crate::parts::way::{Mile, Stage};
use crate::parts::{Look, Notice, Press, Saved, Tabs, Way, Written};
use crate::shape::prelude::*;
use pinfold_core::base::id::EntryId;
use pinfold_core::base::stamp::Wall;
use pinfold_core::view::chair::{clocks, time_text};
use pinfold_core::view::today::open_chairs;
use pinfold_core::words::{app, chair, people, place, settings};

/// A wall time as a time of day, in the zone the phone has now.
#[must_use]
pub fn time_of_day(at: Wall, zone: i16) -> String {
    let minutes = at.0.div_euclid(60_000) + i64::from(zone);
    let of_day = minutes.rem_euclid(24 * 60);
    format!("{:02}:{:02}", of_day / 60, of_day % 60)
}

/// What became of a file that was to leave, in words; `ready` where it did.
#[must_use]
pub fn gone(what: CopyOut, ready: &str) -> String {
    match what {
        CopyOut::Ready => ready,
        CopyOut::Given => settings::EN.copy_gone,
        CopyOut::Failed => settings::EN.copy_failed,
    }
    .to_string()
}

/// Whether two presses stand for a held one: for whoever cannot hold. Every held press is given it.
#[must_use]
pub fn two_press() -> Memo<bool> {
    let desk = use_desk();
    Memo::new(move |_| desk.read(|l| !l.practice().setting("two_press").is_empty()))
}

/// The saved sign.
#[component]
pub fn SavedSign() -> impl IntoShape {
    let kept = use_desk().kept();
    let state = Memo::new(move |_| match kept.get() {
        Kept::Saved(_) => Written::Saved,
        Kept::Saving => Written::Saving,
        Kept::NotSaved(_) => Written::NotSaved,
    });
    let text = Memo::new(move |_| match kept.get() {
        Kept::Saved(at) => chair::EN.saved_at(&time_of_day(at, crate::desk::zone())),
        Kept::Saving => chair::EN.saving.to_string(),
        Kept::NotSaved(_) => chair::EN.not_saved.to_string(),
    });
    view! { <Saved state=state text=text /> }
}

/// What went wrong with saving, until it is mended.
#[component]
pub fn NotSaved() -> impl IntoShape {
    let desk = use_desk();
    let why = Memo::new(move |_| match desk.kept().get() {
        Kept::NotSaved(why) => Some(why),
        _ => None,
    });
    move || {
        why.get().map(|why| {
            let next = match why {
                Why::Full => app::EN.not_saved_full,
                _ => app::EN.not_saved_other,
            };
            view! {
                <Notice title=app::EN.not_saved kept=app::EN.not_saved_kept next=next alert=true>
                    <Press
                        text=app::EN.save_again
                        look=Look::Raised
                        chair=true
                        on_press=move |()| desk.save_again()
                    />
                </Notice>
            }
        })
    }
}

/// What is pinned above every page: invented data, and every open chair but the one that is shown.
/// Today shows its chairs itself, larger; paper shows none.
#[component]
pub fn Pinned() -> impl IntoShape {
    let desk = use_desk();
    let invented = desk
        .invented()
        .then(|| view! { <p class="pinned">{settings::EN.demo_here}</p> });
    let bars = move || {
        let here = match desk.route().get() {
            Route::Today
            | Route::Hand(_)
            | Route::PrintLetter(_)
            | Route::PrintSheet
            | Route::PrintTray(_)
            | Route::PrintRecord(_)
            | Route::PrintAftercare(_) => return Vec::new(),
            Route::Chair(s) | Route::Region(s, _) | Route::Beside(s) | Route::Count(s) => Some(s),
            _ => None,
        };
        desk.read(open_chairs)
            .into_iter()
            .filter(|open| Some(open.session) != here)
            .map(|open| {
                let name = if open.name.is_empty() {
                    app::EN.no_name.to_string()
                } else {
                    open.name
                };
                // Its next clock, wherever the practitioner is.
                let next = Memo::new(move |_| {
                    desk.track_time();
                    let line = desk.session(open.session, |s| {
                        let now = desk.now()?;
                        let clocks = clocks(s.state(), &now, &chair::EN, &place::EN);
                        let clock = clocks.first()?;
                        Some(format!("{}: {}", clock.name, time_text(&chair::EN, clock)))
                    });
                    line.flatten().unwrap_or_default()
                });
                view! {
                    <a class="pinned" href=Route::Chair(open.session).href()>
                        <bdi>{name}</bdi> {marked(open.rehearsal)}
                        <b class="in">{app::EN.inside(open.inside)}</b>
                        <span>{next}</span>
                        <b>{app::EN.resume}</b>
                    </a>
                }
            })
            .collect::<Vec<_>>()
    };
    view! { <nav class="pins unprinted" aria-label=app::EN.open_chairs>{invented} {bars}</nav> }
}

/// " (rehearsal)", where it is one.
#[must_use]
pub fn marked(rehearsal: bool) -> &'static str {
    if rehearsal { chair::EN.rehearsed } else { "" }
}

/// The tabs of desk pages.
#[component]
pub fn DeskTabs(
    /// Which is shown.
    here: usize,
) -> impl IntoShape {
    let tabs = vec![
        Tab {
            text: app::EN.today.into(),
            href: Route::Today.href(),
        },
        Tab {
            text: people::EN.people.into(),
            href: Route::People.href(),
        },
        Tab {
            text: app::EN.settings.into(),
            href: Route::Settings.href(),
        },
        Tab {
            text: app::EN.about.into(),
            href: Route::About.href(),
        },
    ];
    view! { <Tabs name=app::EN.main_menu tabs=tabs here=Some(here) /> }
}

/// The steps of a visit: where you are, what is done. `here` counts from Ask.
#[component]
pub fn Steps(
    /// Whose visit.
    person: EntryId,
    /// Which step is shown, if one is.
    here: Option<usize>,
) -> impl IntoShape {
    let desk = use_desk();
    let visit = Memo::new(move |_| {
        desk.visit(person)
            .map(|v| (v.steps, v.session))
            .unwrap_or_default()
    });
    let miles = Memo::new(move |_| {
        let (steps, session) = visit.get();
        let chair = session.map_or(Route::Plan(person), Route::Chair);
        let count = session.map_or(Route::Plan(person), Route::Count);
        let write = session.map_or(Route::Person(person), Route::Write);
        let w = &people::EN;
        [
            (w.ask, Route::Ask(person), steps.asked),
            (w.look, Route::Look(person), steps.looked),
            (w.plan, Route::Plan(person), steps.planned),
            (w.chair, chair, steps.seated),
            (w.count, count, steps.counted),
            (w.write, write, steps.written),
            (w.next, Route::Next(person), steps.next),
        ]
        .into_iter()
        .enumerate()
        .map(|(at, (text, route, done))| Mile {
            text: text.into(),
            href: route.href(),
            stage: match (here == Some(at), done) {
                (true, _) => Stage::Here,
                (false, true) => Stage::Done,
                (false, false) => Stage::Ahead,
            },
        })
        .collect::<Vec<_>>()
    });
    view! { <Way name=people::EN.way done=people::EN.done miles=miles /> }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_of_day_follow_the_zone() {
        let at = Wall(1_800_000_000_000); // 2027-01-15T08:00:00Z
        assert_eq!(time_of_day(at, 0), "08:00");
        assert_eq!(time_of_day(at, 345), "13:45");
        assert_eq!(time_of_day(at, -600), "22:00");
        assert_eq!(time_of_day(Wall(-60_000), 0), "23:59");
    }
}
