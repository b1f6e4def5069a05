//! Floor of the record: what goes out in a copy and what comes in by one. Everything here is worked
//! out and nothing is changed: the desk merges once, after somebody has read what it would do.

mod check;
mod differ;
mod import;
mod kept;
mod scope;
mod walk;

pub use check::{Beside, Checked};
pub use differ::{Disagreement, Side, apart, disagreements};
pub use import::{Change, Reopened, Summary, at_chair, summary, wanted_for};
pub use kept::{Past, past};
pub use scope::{Copying, PIECE, Part, Taken, Written, take, wanted};
pub use walk::{Step, Walk};
