//! Floor of the record: what goes out in a copy and what comes in by one. Everything here is worked
//! out and nothing is changed: the desk merges once, after somebody has read what it would do.

mod check;
mod differ;
mod import;
mod kept;
mod scope;

pub use check::Checked;
pub use differ::{Disagreement, Side, disagreements};
pub use import::{Change, Reopened, Summary, summary, wanted_for};
pub use kept::{Past, past};
pub use scope::{Part, Taken, base, take, wanted};
