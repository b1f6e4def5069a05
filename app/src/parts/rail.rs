//! The rail of posts: one post for every opened needle, grouped in tens. Logo, progress bar and
//! safety check at once; it is drawn wherever it would not give away the answer to a count.
//!
//! All posts of one kind are one path, so a press changes two or three attributes, whether six
//! needles are open or a hundred and twenty. Lengths are tenths of a drawing unit, whole numbers.

use crate::shape::prelude::*;
use std::fmt::Write as _;

/// How many opened needles are in each state. Each is somebody's count; none is a remainder.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Posts {
    /// In the skin: a standing post with a head.
    pub inside: u16,
    /// Stays in on purpose: a post with a flat cap.
    pub stays_in: u16,
    /// Out, not yet counted: a low block with a hollow top.
    pub out_uncounted: u16,
    /// Out: a low block.
    pub out: u16,
    /// Not found after a recount or a search: a diamond with a question mark, where a post is missing.
    pub not_found: u16,
    /// Bent, dropped or touched before use: a post bent over.
    pub spoilt: u16,
    /// Counted unused in the strips: a small ring.
    pub unused: u16,
    /// Nobody has counted it yet: a dashed ring.
    pub unaccounted: u16,
}

/// The states in the order they stand on the rail, from its start.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Post {
    Inside,
    StaysIn,
    OutUncounted,
    Out,
    NotFound,
    Spoilt,
    Unused,
    Unaccounted,
}

impl Posts {
    const ORDER: [Post; 8] = [
        Post::Inside,
        Post::StaysIn,
        Post::OutUncounted,
        Post::Out,
        Post::NotFound,
        Post::Spoilt,
        Post::Unused,
        Post::Unaccounted,
    ];

    fn of(&self, post: Post) -> u32 {
        u32::from(match post {
            Post::Inside => self.inside,
            Post::StaysIn => self.stays_in,
            Post::OutUncounted => self.out_uncounted,
            Post::Out => self.out,
            Post::NotFound => self.not_found,
            Post::Spoilt => self.spoilt,
            Post::Unused => self.unused,
            Post::Unaccounted => self.unaccounted,
        })
    }

    /// All posts together.
    #[must_use]
    pub fn total(&self) -> u32 {
        Self::ORDER.iter().map(|&post| self.of(post)).sum()
    }

    /// The first and one past the last place of a state on the rail.
    fn places(&self, post: Post) -> std::ops::Range<u32> {
        let mut start = 0;
        for each in Self::ORDER {
            let count = self.of(each);
            if each == post {
                return start..start + count;
            }
            start += count;
        }
        start..start
    }
}

/// Width of the drawing.
const WIDTH: u32 = 3580;
/// Height of one row of posts, and the distance from one row to the next.
const ROW: u32 = 420;
/// The gap after each ten.
const GAP: u32 = 50;
/// Posts in one row: more would be thinner than a post can be seen at 80 cm.
const ROW_POSTS: u32 = 70;
/// Posts stand no further apart than this, so six needles do not look like a fence of sixty.
const PITCH_MOST: u32 = 90;
/// More than this is not drawn: no session opens so many, and a damaged count must not hang the page.
const DRAWN_MOST: u32 = 700;

/// Where posts stand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Layout {
    rows: u32,
    per_row: u32,
    pitch: u32,
}

impl Layout {
    fn of(total: u32) -> Self {
        let total = total.clamp(1, DRAWN_MOST);
        let rows = total.div_ceil(ROW_POSTS);
        // Whole tens to a row, so that a row never ends inside a group.
        let per_row = if rows == 1 {
            total
        } else {
            total.div_ceil(rows).div_ceil(10) * 10
        };
        let gaps = (per_row - 1) / 10 * GAP;
        let pitch = ((WIDTH - gaps) / per_row).min(PITCH_MOST);
        Self {
            rows,
            per_row,
            pitch,
        }
    }

    fn height(self) -> u32 {
        self.rows * ROW
    }

    /// The middle of a place along the rail, and the ground it stands on.
    fn at(self, place: u32) -> (u32, u32) {
        let (row, along) = (place / self.per_row, place % self.per_row);
        let x = along * self.pitch + along / 10 * GAP + self.pitch / 2;
        (x, row * ROW + ROW - 20)
    }

    /// The drawing of one state: an SVG path, empty when nothing is in that state.
    fn path(self, posts: &Posts, post: Post) -> String {
        let mut d = String::new();
        for place in posts.places(post) {
            if place >= DRAWN_MOST {
                break;
            }
            let (x, ground) = self.at(place);
            self.draw(&mut d, post, x, ground, posts.of(post) == 1);
        }
        d
    }

    fn draw(self, d: &mut String, post: Post, x: u32, ground: u32, lone: bool) {
        // Half a post, the head's radius, half a block and a ring, in proportion to the pitch.
        let half = (self.pitch * 18 / 100).clamp(7, 12);
        let head = (self.pitch * 41 / 100).clamp(12, 27);
        let block = (self.pitch * 34 / 100).clamp(10, 23);
        let ring = (self.pitch * 36 / 100).clamp(10, 32);
        let top = ground - 320;
        // Writing to a String cannot fail.
        let _ = match post {
            Post::Inside => write!(
                d,
                "M{} {top}h{}V{ground}h-{}zM{} {}a{head} {head} 0 1 1 0 1z",
                x - half,
                2 * half,
                2 * half,
                x - head,
                top - 20,
            ),
            Post::StaysIn => write!(
                d,
                "M{} {}h{}v45h-{}V{ground}h-{}V{}h-{}z",
                x - head,
                top - 45,
                2 * head,
                head - half,
                2 * half,
                top,
                head - half,
            ),
            Post::Out => write!(
                d,
                "M{} {}h{}v90h-{}z",
                x - block,
                ground - 90,
                2 * block,
                2 * block
            ),
            // The inner rectangle is cut out of the block: the upper half stays hollow.
            Post::OutUncounted => write!(
                d,
                "M{} {}h{}v150h-{}zM{} {}h{}v80h-{}z",
                x - block,
                ground - 150,
                2 * block,
                2 * block,
                x - block + 8,
                ground - 142,
                2 * block - 16,
                2 * block - 16,
            ),
            Post::NotFound => {
                // One alone may be wider than its place: its neighbours are low there.
                let wide = if lone {
                    64
                } else {
                    (self.pitch * 55 / 100).clamp(24, 64)
                };
                write!(
                    d,
                    "M{x} {}l{wide} 160l-{wide} 160l-{wide} -160z",
                    ground - 350
                )
            }
            Post::Spoilt => write!(
                d,
                "M{} {ground}v-120l{} -70",
                x - block / 2,
                block + block / 2
            ),
            Post::Unused => write!(
                d,
                "M{} {}a{ring} {ring} 0 1 1 0 1z",
                x - ring,
                ground - ring - 12,
            ),
            // Drawn out upwards, so that what nobody has counted is seen from across the room.
            Post::Unaccounted => write!(
                d,
                "M{} {}a{ring} {ring} 0 0 1 {} 0v70a{ring} {ring} 0 0 1 -{} 0z",
                x - ring,
                ground - ring - 82,
                2 * ring,
                2 * ring,
            ),
        };
    }

    /// The question marks in the diamonds.
    fn asks(self, posts: &Posts) -> String {
        let mut d = String::new();
        for place in posts.places(Post::NotFound) {
            if place >= DRAWN_MOST {
                break;
            }
            let (x, ground) = self.at(place);
            let _ = write!(
                d,
                "M{} {}a18 20 0 1 1 26 22q-8 6 -8 24m0 34v1",
                x - 18,
                ground - 218
            );
        }
        d
    }
}

/// The rail.
///
/// - `posts`: the counts; `label`: the sum in words, such as "50 opened: 41 in, 7 out, 2 not yet accounted for".
#[component]
pub fn Rail(
    #[prop(into)] posts: Signal<Posts>,
    #[prop(into)] label: Signal<String>,
) -> impl IntoShape {
    let layout = Memo::new(move |_| Layout::of(posts.with(Posts::total)));
    let path = move |post: Post| move || posts.with(|posts| layout.get().path(posts, post));
    let ground = move || {
        let layout = layout.get();
        let mut d = String::new();
        for row in 1..=layout.rows {
            let _ = write!(d, "M0 {}H{WIDTH}", row * ROW - 15);
        }
        d
    };
    view! {
        <svg
            class="rail"
            role="img"
            viewBox=move || format!("0 0 {WIDTH} {}", layout.get().height())
            aria-label=move || label.get()
        >
            <path class="base" d=ground />
            <path class="in" d=path(Post::Inside) />
            <path class="stays" d=path(Post::StaysIn) />
            <path class="uncounted" d=path(Post::OutUncounted) />
            <path class="out" d=path(Post::Out) />
            <path class="unused" d=path(Post::Unused) />
            <path class="spoilt" d=path(Post::Spoilt) />
            <path class="open" d=path(Post::Unaccounted) />
            <path class="lost" d=path(Post::NotFound) />
            <path class="ask" d=move || posts.with(|posts| layout.get().asks(posts)) />
        </svg>
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn posts_stand_in_tens_inside_the_drawing() {
        for total in 1..=DRAWN_MOST {
            let layout = Layout::of(total);
            let mut last: Option<(u32, u32)> = None;
            for place in 0..total {
                let (x, ground) = layout.at(place);
                assert!(
                    x >= layout.pitch / 2 && x + layout.pitch / 2 <= WIDTH,
                    "{total} {place}"
                );
                assert!(ground < layout.height());
                if let Some((before, row)) = last.filter(|&(_, row)| row == ground) {
                    let gap = if (place % layout.per_row).is_multiple_of(10) {
                        GAP
                    } else {
                        0
                    };
                    assert_eq!(x - before, layout.pitch + gap, "{total} {place} {row}");
                }
                last = Some((x, ground));
            }
        }
    }

    #[test]
    fn rows_grow_with_the_needles() {
        assert_eq!(Layout::of(0).rows, 1);
        assert_eq!(Layout::of(70).rows, 1);
        assert_eq!(
            Layout::of(71),
            Layout {
                rows: 2,
                per_row: 40,
                pitch: 85
            }
        );
        assert_eq!(
            Layout::of(120),
            Layout {
                rows: 2,
                per_row: 60,
                pitch: 55
            }
        );
        assert_eq!(Layout::of(6).pitch, PITCH_MOST);
        assert_eq!(Layout::of(u32::MAX).rows, 10);
    }

    /// Every opened needle is drawn once: the places of the states cover the rail without a gap.
    #[test]
    fn every_needle_has_its_own_post() {
        let posts = Posts {
            inside: 5,
            stays_in: 1,
            out_uncounted: 2,
            out: 7,
            not_found: 1,
            spoilt: 1,
            unused: 3,
            unaccounted: 4,
        };
        let mut places: Vec<u32> = Posts::ORDER.iter().flat_map(|&p| posts.places(p)).collect();
        assert_eq!(places.len() as u32, posts.total());
        places.sort_unstable();
        assert!(places.iter().enumerate().all(|(i, &p)| i as u32 == p));
        let layout = Layout::of(posts.total());
        for post in Posts::ORDER {
            let path = layout.path(&posts, post);
            assert!(path.matches('M').count() as u32 >= posts.of(post));
        }
        assert_eq!(layout.asks(&posts).matches('M').count(), 1);
    }

    #[test]
    fn a_needle_taken_out_changes_only_its_two_paths() {
        let before = Posts {
            inside: 41,
            out: 7,
            unaccounted: 2,
            ..Posts::default()
        };
        let after = Posts {
            inside: 40,
            out: 8,
            ..before
        };
        let layout = Layout::of(before.total());
        assert_eq!(layout, Layout::of(after.total()));
        let changed = Posts::ORDER
            .iter()
            .filter(|&&post| layout.path(&before, post) != layout.path(&after, post))
            .count();
        assert_eq!(changed, 2);
    }

    #[test]
    fn a_damaged_count_is_drawn_without_a_panic() {
        let worst = Posts {
            inside: u16::MAX,
            stays_in: u16::MAX,
            out_uncounted: u16::MAX,
            out: u16::MAX,
            not_found: u16::MAX,
            spoilt: u16::MAX,
            unused: u16::MAX,
            unaccounted: u16::MAX,
        };
        let layout = Layout::of(worst.total());
        assert_eq!(
            layout.path(&worst, Post::Inside).matches('a').count() as u32,
            DRAWN_MOST
        );
        assert_eq!(layout.path(&worst, Post::Unaccounted), "");
    }
}
