//! Three-valued truth after Kleene's strong logic: unknown is not no.

use serde::{Deserialize, Serialize};

/// Yes, no, or not known. Ordered `No < Unknown < Yes`, so *and* is the least and *or* the greatest.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Truth {
    /// Known to be false.
    No,
    /// Not asked, asked and not known, not measured, or not computable.
    Unknown,
    /// Known to be true.
    Yes,
}

impl Truth {
    /// Strong Kleene conjunction: false if either is false, true if both are true, else unknown.
    #[must_use]
    pub fn and(self, other: Self) -> Self {
        self.min(other)
    }

    /// Strong Kleene disjunction: true if either is true, false if both are false, else unknown.
    #[must_use]
    pub fn or(self, other: Self) -> Self {
        self.max(other)
    }

    /// Negation; unknown stays unknown.
    #[must_use]
    #[expect(
        clippy::should_implement_trait,
        reason = "Kleene's word for it; `!` would read as a boolean"
    )]
    pub fn not(self) -> Self {
        match self {
            Self::No => Self::Yes,
            Self::Unknown => Self::Unknown,
            Self::Yes => Self::No,
        }
    }

    /// True unless this is known to be false: the reading that fails closed.
    #[must_use]
    pub fn possible(self) -> bool {
        self != Self::No
    }
}

impl From<bool> for Truth {
    fn from(value: bool) -> Self {
        if value { Self::Yes } else { Self::No }
    }
}

#[cfg(test)]
mod tests {
    use super::Truth::{self, No, Unknown, Yes};

    #[test]
    fn tables_are_strong_kleene() {
        // S. C. Kleene, Introduction to Metamathematics, 1952, section 64 (from memory).
        let all = [No, Unknown, Yes];
        let and = [[No, No, No], [No, Unknown, Unknown], [No, Unknown, Yes]];
        let or = [[No, Unknown, Yes], [Unknown, Unknown, Yes], [Yes, Yes, Yes]];
        for (i, a) in all.into_iter().enumerate() {
            for (j, b) in all.into_iter().enumerate() {
                assert_eq!(a.and(b), and[i][j]);
                assert_eq!(a.or(b), or[i][j]);
                assert_eq!(a.and(b).not(), a.not().or(b.not()));
            }
        }
        assert_eq!(Truth::from(true), Yes);
    }
}
