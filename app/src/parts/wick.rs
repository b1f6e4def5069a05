//! Wicks: clocks as bars, from now at the start edge to the due post, all on one scale of minutes,
//! so that rows sorted soonest first make a stair.

use super::press::some;
use crate::shape::prelude::*;

/// What burns down.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Burns {
    /// Needles staying in: a straight top line.
    #[default]
    Needles,
    /// A cream on the skin: a wavy top line.
    Cream,
}

/// What part of the shared scale a clock has left, in thousandths.
///
/// `left_s` and `scale_s` in seconds; the scale is the longest time any clock on the page has left.
/// A clock that is due has 0, and nothing is longer than the scale.
#[must_use]
pub fn permille(left_s: i64, scale_s: i64) -> u16 {
    if left_s <= 0 || scale_s <= 0 {
        return 0;
    }
    let part = i128::from(left_s) * 1000 / i128::from(scale_s);
    u16::try_from(part.min(1000)).unwrap_or(1000)
}

/// One bar.
///
/// - `left`: thousandths of the shared scale (see [`permille`]); `burns`; `thin`: 4 px, in a list.
#[component]
pub fn Wick(
    #[prop(into)] left: Signal<u16>,
    #[prop(optional)] burns: Burns,
    #[prop(optional)] thin: bool,
) -> impl IntoShape {
    view! {
        <span
            class="wick"
            class:cream=burns == Burns::Cream
            class:thin=thin
            aria-hidden="true"
            style:--burn=move || left.get().to_string()
        >
            <i></i>
        </span>
    }
}

/// A row of the waiting list (an `<li>`; the page gives `<ol class="waiting">` around them).
///
/// On short phones the later rows fold away, but only if the page ends the list with
/// `<li class="rest short">`, words for what is folded ("and the rest, the last in 17 min"): no clock
/// disappears without a word.
///
/// - `name`: the region; `needles`: how many are in there, empty for a cream.
/// - `time`: in words, such as "6 min" or "1 min over"; `left`: thousandths of the shared scale.
/// - `over`: due already; `href`: where the row leads, empty for nowhere.
#[component]
pub fn Waiting(
    #[prop(into)] name: Signal<String>,
    #[prop(into)] time: Signal<String>,
    #[prop(into)] left: Signal<u16>,
    #[prop(optional, into)] needles: Signal<String>,
    #[prop(optional)] burns: Burns,
    #[prop(optional, into)] over: Signal<bool>,
    #[prop(optional, into)] href: Signal<String>,
) -> impl IntoShape {
    view! {
        <li class:over=over>
            <a class="waits" href=move || some(href.get())>
                <span>
                    {move || name.get()} " " <span class="soft">{move || needles.get()}</span>
                </span>
                <b>
                    <bdi>{move || time.get()}</bdi>
                </b>
            </a>
            <Wick left=left burns=burns thin=true />
        </li>
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_scale_is_shared_and_has_ends() {
        assert_eq!(permille(600, 1200), 500);
        assert_eq!(permille(1200, 1200), 1000);
        assert_eq!(permille(1300, 1200), 1000);
        assert_eq!(permille(0, 1200), 0);
        assert_eq!(permille(-45, 1200), 0);
        assert_eq!(permille(10, 0), 0);
        assert_eq!(permille(i64::MAX, i64::MAX), 1000);
        assert_eq!(permille(1, i64::MAX), 0);
    }
}
