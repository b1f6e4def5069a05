//! L1. The unit a person answers in, where it is another than the one that is kept.

use super::answer::Milli;

/// How a number is typed and shown. What is kept never changes its unit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Scale {
    /// In the unit that is kept.
    Kept,
    /// A weight kept in kilograms, typed in pounds: 1 lb = 0.453 592 37 kg exactly (international
    /// yard and pound agreement of 1959; from memory).
    Pounds,
}

/// Kilograms in 100 000 000 pounds.
const KG: i128 = 45_359_237;
/// Those pounds.
const LB: i128 = 100_000_000;
/// Pounds are shown to the tenth.
const TENTH: i128 = 100;

impl Scale {
    /// The scale for a question's own unit, in a practice that weighs in pounds or does not.
    #[must_use]
    pub fn of(unit: &str, pounds: bool) -> Self {
        if pounds && unit == "kg" {
            Self::Pounds
        } else {
            Self::Kept
        }
    }

    /// The unit that is typed, for a question that keeps `unit`.
    #[must_use]
    pub const fn unit(self, unit: &str) -> &str {
        match self {
            Self::Kept => unit,
            Self::Pounds => "lb",
        }
    }

    /// A kept number as it is shown; pounds to the nearest tenth.
    #[must_use]
    pub fn shown(self, kept: Milli) -> Milli {
        match self {
            Self::Kept => kept,
            Self::Pounds => scaled(kept, LB, KG, TENTH),
        }
    }

    /// A typed number as it is kept; kilograms to the nearest `step` of the question.
    #[must_use]
    pub fn kept(self, typed: Milli, step: Milli) -> Milli {
        match self {
            Self::Kept => typed,
            Self::Pounds => scaled(typed, KG, LB, step.0.into()),
        }
    }
}

/// `n · times ÷ by`, to the nearest multiple of `step`; saturates.
fn scaled(n: Milli, times: i128, by: i128, step: i128) -> Milli {
    let by = by.saturating_mul(step.max(1));
    let size = i128::from(n.0.unsigned_abs()).saturating_mul(times);
    let steps = size
        .saturating_mul(2)
        .saturating_add(by)
        .checked_div(by.saturating_mul(2))
        .unwrap_or(0);
    let out = i64::try_from(steps.saturating_mul(step.max(1))).unwrap_or(i64::MAX);
    Milli(if n.0 < 0 { out.saturating_neg() } else { out })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Published equivalents (kitchen and clinic tables; from memory): 100 lb = 45.4 kg,
    /// 154 lb = 69.9 kg, 220 lb = 99.8 kg, 1 kg = 2.2 lb, 70 kg = 154.3 lb.
    #[test]
    fn pounds_and_kilograms_as_tables_have_them() {
        let kept = |lb: &str| {
            let lb = lb.parse().unwrap();
            Scale::Pounds.kept(lb, Milli(100)).to_string()
        };
        assert_eq!(
            ["100", "154", "220", "-100"].map(kept),
            ["45.4", "69.9", "99.8", "-45.4"]
        );
        let shown = |kg: i64| Scale::Pounds.shown(Milli::whole(kg)).to_string();
        assert_eq!([1, 70].map(shown), ["2.2", "154.3"]);
        assert_eq!(Scale::of("mm", true), Scale::Kept);
        assert_eq!(Scale::of("kg", false), Scale::Kept);
    }

    #[test]
    fn what_was_shown_is_kept_as_it_was_and_nothing_overflows() {
        for tenths in 10..=4000 {
            let kg = Milli(tenths * 100);
            assert_eq!(Scale::Pounds.kept(Scale::Pounds.shown(kg), Milli(100)), kg);
        }
        for n in [i64::MIN, i64::MAX] {
            let _ = Scale::Pounds.shown(Milli(n));
            let _ = Scale::Pounds.kept(Milli(n), Milli(0));
        }
        assert_eq!(Scale::Pounds.shown(Milli(i64::MAX)), Milli(i64::MAX));
    }
}
