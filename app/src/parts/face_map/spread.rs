//! Keeps the discs of a region apart. Points on a face can be closer than a fingertip; the drawing
//! spreads their discs and ties each to its true spot.

/// A place on the region map.
pub(super) type Spot = (i32, i32);

/// Discs are at least this far apart, middle to middle.
pub(super) const APART: i32 = 520;
/// And at least this far from the edge of the map.
pub(super) const EDGE: i32 = 270;
/// How often the discs push one another before a grid is used instead.
const ROUNDS: usize = 80;

/// Where the discs go: near their true spots, none closer than [`APART`], all inside `width` by
/// `height`. Deterministic: the same spots always give the same picture. When there are more discs
/// than the map holds, the rest stay on their true spots, and the list beside the map carries them.
pub(super) fn spread(spots: &[Spot], width: i32, height: i32) -> Vec<Spot> {
    let mut out: Vec<Spot> = spots
        .iter()
        .map(|&spot| inside(spot, width, height))
        .collect();
    for _ in 0..ROUNDS {
        if !push(&mut out, width, height) {
            return out;
        }
    }
    grid(spots, width, height)
}

fn inside((x, y): Spot, width: i32, height: i32) -> Spot {
    (
        x.clamp(EDGE, (width - EDGE).max(EDGE)),
        y.clamp(EDGE, (height - EDGE).max(EDGE)),
    )
}

/// One round. True when some pair was too close.
fn push(spots: &mut [Spot], width: i32, height: i32) -> bool {
    let mut moved = false;
    for second in 1..spots.len() {
        for first in 0..second {
            let (a, b) = (spots[first], spots[second]);
            let (dx, dy) = (b.0 - a.0, b.1 - a.1);
            let far = dx * dx + dy * dy;
            if far >= APART * APART {
                continue;
            }
            moved = true;
            let far = isqrt(far);
            // Two on one spot part along a line that differs from pair to pair.
            let (dx, dy, far) = if far == 0 {
                if (first + second) % 2 == 0 {
                    (1, 0, 1)
                } else {
                    (0, 1, 1)
                }
            } else {
                (dx, dy, far)
            };
            // A little more than half of what is missing, so that rounding cannot stall it.
            let half = (APART - far.min(APART)) / 2 + 6;
            let (sx, sy) = (dx * half / far, dy * half / far);
            spots[first] = inside((a.0 - sx, a.1 - sy), width, height);
            spots[second] = inside((b.0 + sx, b.1 + sy), width, height);
        }
    }
    moved
}

/// Each disc in the nearest free cell of a grid, in the order given.
fn grid(spots: &[Spot], width: i32, height: i32) -> Vec<Spot> {
    let across = ((width - 2 * EDGE) / APART + 1).max(1);
    let down = ((height - 2 * EDGE) / APART + 1).max(1);
    let mut free: Vec<Spot> = (0..down)
        .flat_map(|row| (0..across).map(move |column| (column, row)))
        .map(|(column, row)| {
            (
                EDGE + column * (width - 2 * EDGE) / (across - 1).max(1),
                EDGE + row * (height - 2 * EDGE) / (down - 1).max(1),
            )
        })
        .collect();
    spots
        .iter()
        .map(|&spot| {
            let nearest = (0..free.len()).min_by_key(|&cell| {
                let (dx, dy) = (free[cell].0 - spot.0, free[cell].1 - spot.1);
                i64::from(dx) * i64::from(dx) + i64::from(dy) * i64::from(dy)
            });
            match nearest {
                Some(cell) => free.swap_remove(cell),
                None => inside(spot, width, height),
            }
        })
        .collect()
}

fn isqrt(value: i32) -> i32 {
    // The squares here are below 2 * 520 * 520.
    i32::try_from(u32::try_from(value).unwrap_or(0).isqrt()).unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    const W: i32 = 2880;
    const H: i32 = 2160;

    fn closest(spots: &[Spot]) -> i32 {
        let mut least = i32::MAX;
        for (i, a) in spots.iter().enumerate() {
            for b in &spots[..i] {
                let (dx, dy) = (a.0 - b.0, a.1 - b.1);
                least = least.min(isqrt(dx * dx + dy * dy));
            }
        }
        least
    }

    /// A small fixed sequence: no outside randomness in a test that must repeat.
    fn numbers(seed: u32) -> impl FnMut(i32) -> i32 {
        let mut state = seed.wrapping_mul(2_654_435_761).wrapping_add(1);
        move |below| {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            (state >> 8) as i32 % below
        }
    }

    #[test]
    fn twenty_discs_anywhere_never_touch() {
        for seed in 0..200 {
            let mut next = numbers(seed);
            let count = 2 + next(19) as usize;
            let spots: Vec<Spot> = (0..count).map(|_| (next(W), next(H))).collect();
            assert!(
                seed > 5 || closest(&spots) < APART || count < 4,
                "the control: too close before"
            );
            let out = spread(&spots, W, H);
            assert_eq!(out.len(), spots.len());
            assert!(closest(&out) >= 519, "{seed}: {} of {count}", closest(&out));
            for (x, y) in out {
                assert!((EDGE..=W - EDGE).contains(&x) && (EDGE..=H - EDGE).contains(&y));
            }
        }
    }

    #[test]
    fn fourteen_on_one_spot_part() {
        let out = spread(&[(1440, 1080); 14], W, H);
        assert!(closest(&out) >= 519, "{}", closest(&out));
    }

    #[test]
    fn discs_with_room_stay_where_they_are() {
        let spots = [(400, 400), (1000, 400), (1600, 1600)];
        assert_eq!(spread(&spots, W, H), spots);
    }

    #[test]
    fn more_discs_than_the_map_holds_are_all_still_there() {
        assert_eq!(spread(&[(5, 5); 60], W, H).len(), 60);
        assert_eq!(spread(&[], W, H), []);
    }
}
