//! L6. One plain struct per page, in the practitioner's words. A view may join folds; it decides
//! nothing and writes nothing.

pub mod after;
pub mod atlas;
pub mod books;
pub mod by_point;
pub mod chair;
pub mod count;
pub mod draft;
pub mod flaw;
pub mod handover;
pub mod heard;
pub mod hour;
pub mod letter;
pub mod people;
pub mod points;
pub mod procedures;
pub mod resume;
pub mod room;
pub mod rulebook;
pub mod said;
pub mod speeds;
pub mod today;
pub mod visit;
