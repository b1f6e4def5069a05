//! A pedal or clicker: anything that sends a key. It presses the slab of the page it is heard on, and
//! nothing else: never a held press, never while somebody types, never through a sheet.

use super::listen::Listener;
use std::cell::Cell;
use wasm_bindgen::JsCast;
use web_sys::{Element, Event, HtmlElement, KeyboardEvent};

/// A pedal that comes again this soon is one foot, in milliseconds.
pub const DEAD_MS: u64 = 250;

/// What a key is to somebody who teaches a pedal.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Learn {
    /// This key, by its name.
    Key(String),
    /// Leave it as it was.
    Leave,
    /// Tab: needed for other things.
    Refused,
    /// No key yet: it only changes another.
    Wait,
}

/// What a key is to somebody who teaches a pedal; `code` stands in for a key without a name.
#[must_use]
pub fn learn(key: &str, code: &str) -> Learn {
    match key {
        "Escape" => Learn::Leave,
        "Tab" => Learn::Refused,
        "Shift" | "Control" | "Alt" | "AltGraph" | "Meta" | "CapsLock" => Learn::Wait,
        "Unidentified" | "Process" | "Dead" | "" if code.is_empty() => Learn::Wait,
        "Unidentified" | "Process" | "Dead" | "" => Learn::Key(code.into()),
        key => Learn::Key(key.into()),
    }
}

/// One stroke of a key at the chair.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stroke<'a> {
    /// The key's name.
    pub key: &'a str,
    /// Its place on a keyboard, for a key without a name.
    pub code: &'a str,
    /// Milliseconds since the page began.
    pub at: u64,
    /// Sent again because it is held down.
    pub repeat: bool,
    /// Another key is held that makes it a command of the browser.
    pub command: bool,
    /// Somebody types in a field.
    pub field: bool,
    /// A sheet is open.
    pub sheet: bool,
}

/// What a stroke does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Does {
    /// It is not the pedal: the page and the browser have it.
    NotIt,
    /// It is the pedal, and nothing happens: nobody else gets it either, or it would press what has
    /// the focus, or type a digit.
    Rests,
    /// The slab is pressed.
    Presses,
}

/// The pedal: when it last pressed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Pedal {
    last: Option<u64>,
}

impl Pedal {
    /// Hears a stroke. `learned` is the key that was learned; empty: none.
    pub fn stroke(&mut self, learned: &str, stroke: Stroke<'_>) -> Does {
        let it = stroke.key.eq_ignore_ascii_case(learned) || stroke.code == learned;
        if learned.is_empty() || !it || stroke.field || stroke.command {
            return Does::NotIt;
        }
        let soon = self
            .last
            .is_some_and(|last| stroke.at >= last && stroke.at - last < DEAD_MS);
        if stroke.repeat || stroke.sheet || soon {
            return Does::Rests;
        }
        self.last = Some(stroke.at);
        Does::Presses
    }
}

/// The slab a foot may press: shown, not shut, not held.
const SLAB: &str = ".screen.chair .slab:not(.hold,.shut,[hidden] *)";

/// Hears a pedal until the listeners are dropped. `learned` is asked at every key; it is empty where
/// no page of the chair is shown. `presses` says whether the page's slab may be pressed.
pub fn hear(
    learned: impl Fn() -> String + Clone + 'static,
    presses: impl Fn() -> bool + 'static,
) -> [Option<Listener>; 2] {
    let pedal = Cell::new(Pedal::default());
    let lifted = learned.clone();
    [
        // Before the page: what has the focus must not hear it as well.
        Listener::before("keydown", move |ev| {
            let mut machine = pedal.get();
            let does = heard(&ev, &learned(), |key, stroke| machine.stroke(key, stroke));
            pedal.set(machine);
            if does == Does::Presses && presses() {
                press();
            }
        }),
        // A press of the space bar ends on lifting.
        Listener::before("keyup", move |ev| {
            let mut machine = Pedal::default();
            heard(&ev, &lifted(), |key, stroke| machine.stroke(key, stroke));
        }),
    ]
}

/// Reads a stroke off its event, and keeps it from everybody else if it is the pedal's.
fn heard(ev: &Event, learned: &str, stroke: impl FnOnce(&str, Stroke<'_>) -> Does) -> Does {
    if learned.is_empty() {
        return Does::NotIt;
    }
    let ev: &KeyboardEvent = ev.unchecked_ref();
    let target = ev.target().and_then(|t| t.dyn_into::<Element>().ok());
    let field = target.is_some_and(|t| matches!(t.closest("input,textarea,select"), Ok(Some(_))));
    let does = stroke(
        learned,
        Stroke {
            key: &ev.key(),
            code: &ev.code(),
            at: ev.time_stamp() as u64,
            repeat: ev.repeat(),
            command: ev.ctrl_key() || ev.alt_key() || ev.meta_key(),
            field,
            sheet: found("dialog[open]").is_some(),
        },
    );
    if does != Does::NotIt {
        ev.prevent_default();
        ev.stop_propagation();
    }
    does
}

fn found(what: &str) -> Option<Element> {
    web_sys::window()?
        .document()?
        .query_selector(what)
        .ok()
        .flatten()
}

fn press() {
    if let Some(slab) = found(SLAB).and_then(|slab| slab.dyn_into::<HtmlElement>().ok()) {
        slab.click();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const PEDAL: Stroke<'_> = Stroke {
        key: "PageDown",
        code: "PageDown",
        at: 10_000,
        repeat: false,
        command: false,
        field: false,
        sheet: false,
    };

    fn once(learned: &str, stroke: Stroke<'_>) -> Does {
        Pedal::default().stroke(learned, stroke)
    }

    #[test]
    fn the_learned_key_presses_and_no_other() {
        assert_eq!(once("PageDown", PEDAL), Does::Presses);
        assert_eq!(once("PageUp", PEDAL), Does::NotIt);
        assert_eq!(once("", PEDAL), Does::NotIt, "none is learned");
        let b = Stroke {
            key: "B",
            code: "KeyB",
            ..PEDAL
        };
        assert_eq!(once("b", b), Does::Presses, "whether capitals are locked");
        let nameless = Stroke {
            key: "Unidentified",
            code: "F13",
            ..PEDAL
        };
        assert_eq!(once("F13", nameless), Does::Presses);
    }

    #[test]
    fn held_down_it_presses_once() {
        let mut pedal = Pedal::default();
        assert_eq!(pedal.stroke("PageDown", PEDAL), Does::Presses);
        for at in [10_500, 10_533, 12_000] {
            let again = Stroke {
                at,
                repeat: true,
                ..PEDAL
            };
            assert_eq!(pedal.stroke("PageDown", again), Does::Rests, "{at}");
        }
        let lifted = Stroke {
            at: 12_300,
            ..PEDAL
        };
        assert_eq!(pedal.stroke("PageDown", lifted), Does::Presses, "control");
    }

    #[test]
    fn it_is_dead_for_250_ms_and_a_chattering_one_does_not_extend_that() {
        let mut pedal = Pedal::default();
        let mut at = |at| pedal.stroke("PageDown", Stroke { at, ..PEDAL });
        assert_eq!(at(10_000), Does::Presses);
        assert_eq!(at(10_000), Does::Rests);
        assert_eq!(at(10_249), Does::Rests);
        assert_eq!(at(10_250), Does::Presses);
        assert_eq!(
            at(5),
            Does::Presses,
            "a clock that jumps back deafens nobody"
        );
    }

    #[test]
    fn in_a_field_it_types_and_in_a_sheet_it_rests() {
        let field = Stroke {
            field: true,
            ..PEDAL
        };
        assert_eq!(once("PageDown", field), Does::NotIt);
        let sheet = Stroke {
            sheet: true,
            ..PEDAL
        };
        assert_eq!(once("PageDown", sheet), Does::Rests);
        let command = Stroke {
            command: true,
            ..PEDAL
        };
        assert_eq!(once("PageDown", command), Does::NotIt);
        // What rested starts no dead time.
        let mut pedal = Pedal::default();
        assert_eq!(pedal.stroke("PageDown", sheet), Does::Rests);
        assert_eq!(pedal.stroke("PageDown", PEDAL), Does::Presses);
    }

    #[test]
    fn any_key_is_learned_but_tab_escape_and_those_that_change_others() {
        assert_eq!(learn("b", "KeyB"), Learn::Key("b".into()));
        assert_eq!(learn(" ", "Space"), Learn::Key(" ".into()));
        assert_eq!(learn("Enter", "Enter"), Learn::Key("Enter".into()));
        assert_eq!(learn("Unidentified", "F13"), Learn::Key("F13".into()));
        assert_eq!(learn("Unidentified", ""), Learn::Wait);
        assert_eq!(learn("Shift", "ShiftLeft"), Learn::Wait);
        assert_eq!(learn("Escape", "Escape"), Learn::Leave);
        assert_eq!(learn("Tab", "Tab"), Learn::Refused);
    }
}
