//! Parts of pages: values in, callbacks out. They know no store, no device and no desk; every
//! sentence is passed in by the page. What can be tested without a browser (geometry, entry and
//! hold machines) is plain Rust at the foot of its file.

#![expect(
    missing_docs,
    reason = "the arguments of a part are listed above it; the macro makes them fields it cannot document"
)]

pub mod band;
pub mod call;
pub mod choice;
pub mod count_head;
pub mod face_map;
pub mod field;
pub mod hold;
pub mod keys;
pub mod notice;
pub mod press;
pub mod rail;
pub mod saved;
pub mod select;
pub mod sheet;
pub mod slab;
pub mod step;
pub mod tabs;
pub mod ticks;
pub mod way;
pub mod wick;

pub use band::Band;
pub use call::Call;
pub use choice::Choice;
pub use count_head::CountHead;
pub use face_map::{FaceMap, MapWords, Mark, Place, RegionMap, RegionPicture, Seat, State};
pub use field::{Field, Kind};
pub use hold::{Hold, HoldWords, Span};
pub use keys::{Keys, KeysWords, Pad};
pub use notice::Notice;
pub use press::{Look, OneOf, Press};
pub use rail::{Posts, Rail};
pub use saved::{Saved, Written};
pub use select::Select;
pub use sheet::Sheet;
pub use slab::Slab;
pub use step::Step;
pub use tabs::{Tab, Tabs};
pub use ticks::{Tick, Ticks};
pub use way::{Mile, Stage, Way};
pub use wick::{Burns, Waiting, Wick};
