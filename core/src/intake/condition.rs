//! Conditions, as rules and questions state them. Written as text in the data files, read and
//! checked at build time (`core/build/rule_text.rs`), shipped as this tree.

use super::answer::Milli;
use crate::base::pack::Pack;
use crate::needle;
use alloc::boxed::Box;
use alloc::vec::Vec;
use serde::{Deserialize, Serialize};

/// A condition. Questions, settings, sets and traits are named by position in their files.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, Pack)]
#[serde(rename_all = "snake_case")]
pub enum Expr {
    /// All hold; holds if there are none.
    All(Vec<Expr>),
    /// At least one holds.
    Any(Vec<Expr>),
    /// Does not hold.
    Not(Box<Expr>),
    /// The question is answered by one of the options in the mask; bit 0 is the first. A yes-no
    /// question has *no* as bit 0 and *yes* as bit 1.
    Is(u16, u64),
    /// The question's answers include this option.
    Has(u16, u16),
    /// The question's number compares so.
    Num(u16, Compare, Figure),
    /// So long since the question's date.
    Since(u16, Span, Compare, Figure),
    /// So long since the last visit. Does not hold if there was none.
    Gap(Span, Compare, Figure),
    /// The weights of those that hold add up to at least this.
    Score(i64, Vec<(i64, Expr)>),
    /// The setting is on.
    On(u16),
    /// There was no visit before.
    FirstVisit,
    /// Needles were left in at the last visit.
    LeftIn,
    /// Current is planned.
    Electro,
    /// A numbing cream is planned.
    Cream,
    /// It is to be covered.
    Wrap,
    /// It has this trait.
    Trait(u16),
    /// The plan has a point of this set.
    Plan(u16),
    /// The plan has a needle of this kind.
    Kind(needle::Kind),
}

/// How a number compares with a figure.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, Pack)]
#[serde(rename_all = "snake_case")]
pub enum Compare {
    /// Less than.
    Lt,
    /// At most.
    Le,
    /// Greater than.
    Gt,
    /// At least.
    Ge,
}

/// A figure in a condition, in thousandths.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, Pack)]
pub enum Figure {
    /// This number.
    #[serde(rename = "n")]
    Number(Milli),
    /// The setting at this position.
    #[serde(rename = "s")]
    Setting(u16),
}

/// In what a span of time is counted: completed units.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, Pack)]
#[serde(rename_all = "snake_case")]
pub enum Span {
    /// Days.
    Days,
    /// Completed calendar months.
    Months,
    /// Completed years.
    Years,
}

impl Compare {
    /// Whether `left` compares so with `right`.
    #[must_use]
    pub fn holds(self, left: i64, right: i64) -> bool {
        match self {
            Self::Lt => left < right,
            Self::Le => left <= right,
            Self::Gt => left > right,
            Self::Ge => left >= right,
        }
    }
}

impl Expr {
    /// Every question the condition names, with repeats.
    pub fn questions(&self, out: &mut Vec<u16>) {
        match self {
            Self::All(parts) | Self::Any(parts) => parts.iter().for_each(|p| p.questions(out)),
            Self::Not(part) => part.questions(out),
            Self::Score(_, parts) => parts.iter().for_each(|(_, p)| p.questions(out)),
            Self::Is(q, _) | Self::Has(q, _) | Self::Num(q, ..) | Self::Since(q, ..) => {
                out.push(*q);
            }
            Self::Gap(..)
            | Self::On(_)
            | Self::FirstVisit
            | Self::LeftIn
            | Self::Electro
            | Self::Cream
            | Self::Wrap
            | Self::Trait(_)
            | Self::Plan(_)
            | Self::Kind(_) => {}
        }
    }
}
