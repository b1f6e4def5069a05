//! The room that the browser keeps for us: asked for once, and read afresh wherever it is shown.

use super::{Desk, Kept, Standing};
use crate::device::{display, flag, idle, storage_state};
use leptos::prelude::Effect;
use pinfold_core::view::room::Room;
use wasm_bindgen_futures::spawn_local;

/// Says that the browser was asked on this phone not to clear our storage. What it answered is never
/// remembered.
const ASKED: &str = "pinfold.keep-asked";

/// What the browser says about the room just now.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct RoomSaid {
    /// Whether it has agreed not to clear it; nothing if it cannot be asked.
    pub agreed: Option<bool>,
    /// How full it is; nothing if it does not say.
    pub room: Option<Room>,
    /// Whether the app runs from the home screen.
    pub own_window: bool,
}

impl Desk {
    /// Asks the browser how it stands, once it is idle.
    pub async fn room(self) -> RoomSaid {
        idle::moment().await;
        let room = storage_state::estimate().await;
        RoomSaid {
            agreed: storage_state::persisted().await,
            room: room.map(|room| Room {
                used: room.used,
                quota: room.quota,
            }),
            own_window: display::mode() == display::Display::Standalone,
        }
    }

    /// Asks the browser not to clear our storage by itself. How it stands then, [`Desk::room`] says.
    pub async fn ask_to_keep(self) {
        if storage_state::persist().await.is_some() {
            let _ = flag::set(ASKED);
        }
    }

    /// Asks it by itself, once on this phone: when the first person of a real practice is saved. To be
    /// called where something is drawn; it ends with that.
    pub fn ask_to_keep_once(self) {
        if self.invented() || flag::is_set(ASKED) {
            return;
        }
        Effect::new(move |done: Option<bool>| {
            let saved = || {
                self.standing.get() == Standing::Ready
                    && matches!(self.kept.get(), Kept::Saved(_))
                    && self.read(|l| l.everybody().next().is_some())
            };
            let done = done.unwrap_or(false);
            let now = !done && saved();
            if now {
                spawn_local(self.ask_to_keep());
            }
            done || now
        });
    }
}
