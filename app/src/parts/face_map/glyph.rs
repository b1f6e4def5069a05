//! The shapes of the marks as SVG paths: shape first, colour second. All marks of one state are one
//! path, so a press changes two attributes.

use super::State;
use std::fmt::Write as _;

/// Adds a full circle to a path.
pub(super) fn circle(d: &mut String, x: i32, y: i32, r: i32) {
    let _ = write!(
        d,
        "M{} {y}a{r} {r} 0 1 0 {} 0a{r} {r} 0 1 0 -{} 0z",
        x - r,
        2 * r,
        2 * r
    );
}

/// Adds a diamond to a path.
pub(super) fn diamond(d: &mut String, x: i32, y: i32, r: i32) {
    let _ = write!(d, "M{x} {}l{r} {r}l-{r} {r}l-{r} -{r}z", y - r);
}

/// Adds the mark of a state, `r` being half its width.
pub(super) fn mark(d: &mut String, state: State, x: i32, y: i32, r: i32) {
    let side = 2 * r;
    // Writing to a String cannot fail.
    let _ = match state {
        State::Planned | State::In | State::Unaccounted => {
            circle(d, x, y, r);
            Ok(())
        }
        State::Out => write!(d, "M{} {}h{side}v{side}h-{side}z", x - r, y - r),
        // The outline, and a hollow cut out of its upper half.
        State::OutUncounted => write!(
            d,
            "M{} {}h{side}v{side}h-{side}zM{} {}v{}h{}v-{}z",
            x - r,
            y - r,
            x - r + r / 7,
            y - r + r / 7,
            r + r / 6,
            side - 2 * (r / 7),
            r + r / 6,
        ),
        State::Skipped => write!(d, "M{} {}h{side}v{}h-{side}z", x - r, y + r / 2, r * 2 / 5),
        // The cap is drawn with the stems.
        State::StaysIn => {
            let ring = r * 3 / 4;
            circle(d, x, y + r - ring, ring);
            Ok(())
        }
        State::Differs => {
            diamond(d, x, y, r * 5 / 4);
            Ok(())
        }
    };
}

/// Adds what stands up from a mark: the stem of a needle that is in, the flat cap of one that stays.
pub(super) fn stem(d: &mut String, state: State, x: i32, y: i32, r: i32) {
    let _ = match state {
        State::In => write!(d, "M{x} {y}l{} -{}", r * 3 / 2, r * 3 / 2),
        State::StaysIn => write!(d, "M{x} {y}v-{r}M{} {}h{}", x - r, y - r, 2 * r),
        _ => Ok(()),
    };
}

/// How far below the middle a mark's number is written, to stand free of its filled part.
pub(super) fn number_shift(state: State, r: i32) -> i32 {
    match state {
        State::OutUncounted => -r / 3,
        State::Skipped => -r / 8,
        State::StaysIn => r / 4,
        _ => 0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_state_has_a_shape_of_its_own() {
        let mut shapes: Vec<String> = Vec::new();
        for state in State::ALL {
            let mut d = String::new();
            mark(&mut d, state, 0, 0, 100);
            assert!(d.starts_with('M') && d.ends_with('z'), "{state:?}");
            stem(&mut d, state, 0, 0, 100);
            // A planned ring and one not accounted for differ in their dashes only.
            if state != State::Unaccounted {
                assert!(!shapes.contains(&d), "{state:?}");
            }
            shapes.push(d);
        }
    }

    #[test]
    fn paths_hold_whole_numbers_only() {
        for state in State::ALL {
            let mut d = String::new();
            mark(&mut d, state, -123, 457, 31);
            assert!(!d.contains('.') && !d.contains("--"), "{d}");
        }
    }
}
