//! L1. The questions asked before a treatment, the answers given to them, and the language in
//! which rules speak of answers.
//!
//! An answer says a value or why there is none. A missing answer, one too old to hold, and "not
//! asked" are all *open*: unknown is never "no".

pub mod answer;
pub mod bank;
pub mod condition;
pub mod outcome;
pub mod scale;

pub use answer::{Answer, Answers, Fault, Milli, Reason, Reply, Slip, Value};
pub use bank::{Bank, By, Exit, Group, Kind, Question};
pub use condition::{Compare, Expr, Figure, Span};
pub use outcome::{Limit, Outcome, Urgency, Words};
pub use scale::Scale;
