//! Why something was not kept.

use crate::device::reach;
use wasm_bindgen::JsValue;

/// What stood in the way.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Why {
    /// The phone has no room left.
    Full,
    /// The connection to the database was lost.
    Closed,
    /// The browser took the transaction back.
    Aborted,
    /// No answer in time. It may still come through; a second try does no harm.
    Slow,
    /// The database has been changed by a newer version of the app.
    Newer,
    /// The browser does not let this page store anything.
    Denied,
    /// Rows are still on their way; ask again when they are saved.
    Busy,
    /// Anything else.
    Other,
}

impl Why {
    /// From what the browser threw or reported.
    pub(super) fn of(error: &JsValue) -> Self {
        match reach::error_name(error).as_str() {
            "QuotaExceededError" => Self::Full,
            "InvalidStateError" | "TransactionInactiveError" => Self::Closed,
            "AbortError" => Self::Aborted,
            "TimeoutError" => Self::Slow,
            "VersionError" => Self::Newer,
            "SecurityError" | "NotAllowedError" => Self::Denied,
            _ => Self::Other,
        }
    }

    /// True if trying again by itself cannot help.
    pub(super) fn for_a_person(self) -> bool {
        matches!(self, Self::Newer | Self::Denied)
    }

    /// True if a fresh connection may help at once.
    pub(super) fn may_be_the_connection(self) -> bool {
        matches!(self, Self::Closed | Self::Aborted | Self::Other)
    }
}
