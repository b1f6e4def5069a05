//! L0. Every sentence a person reads. One file per room of the interface; in each a struct whose
//! fields are the sentences, and one constant of it per language, so a missing text is a compile
//! error. Sentences with numbers or names in them are functions of the struct.

pub mod acts;
pub mod app;
pub mod ask;
pub mod atlas;
pub mod beside;
pub mod calls;
pub mod cards;
pub mod chair;
pub mod copies;
pub mod device;
pub mod exports;
pub mod flaw;
pub mod invented;
pub mod letter;
pub mod people;
pub mod place;
pub mod plan;
pub mod points;
pub mod procedures;
pub mod record;
pub mod rules;
pub mod settings;
pub mod vault;
pub mod visit;
pub mod wire;
