//! The call panel: the next clock, the one that is read at 80 cm. Calm, soon (the last minute), due
//! (counts up). Never blinks.

use super::wick::{Burns, Wick};
use crate::shape::prelude::*;

/// How near a clock is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Nearness {
    /// More than a minute left.
    Calm,
    /// The last minute.
    Soon,
    /// Due or over.
    Due,
}

/// How near a clock with this many seconds left is.
#[must_use]
pub const fn nearness(left_s: i64) -> Nearness {
    match left_s {
        ..=0 => Nearness::Due,
        1..=60 => Nearness::Soon,
        _ => Nearness::Calm,
    }
}

/// The figure of a clock: `3:20` left, `+0:45` over. Minutes are not turned into hours, because
/// stays are thought of in minutes.
#[must_use]
pub fn clock_figure(left_s: i64) -> String {
    let over = left_s <= 0;
    let whole = left_s.unsigned_abs();
    let (minutes, seconds) = (whole / 60, whole % 60);
    let sign = if over { "+" } else { "" };
    format!("{sign}{minutes}:{seconds:02}")
}

/// The same in whole minutes, for whoever is disturbed by what moves: `4` left (begun minutes count
/// whole, so that it is never said too early to be due), `+0` over.
#[must_use]
pub fn minute_figure(left_s: i64) -> String {
    let whole = left_s.unsigned_abs();
    if left_s <= 0 {
        format!("+{}", whole / 60)
    } else {
        whole.div_ceil(60).to_string()
    }
}

/// The call panel.
///
/// - `name`: for a screen reader ("Next clock", "Due now").
/// - `whose`: small before the title ("Patient's"), may be empty; `title`: the region ("L cheek").
/// - `left`: seconds left, negative when over.
/// - `before`: small words before the figure while it waits ("take out in"); `over`: after it when due ("over").
/// - `unit`: for a clock in whole minutes, what stands after the figure ("min"); empty for minutes and seconds.
/// - `wick`: thousandths of the shared scale; `burns`: needles or cream.
/// - `children`: presses or notes under the clock, if any.
///
/// The timer's live value is off by its role, so it is not read out every second; the page speaks
/// sparsely through its own status line.
#[component]
pub fn Call(
    #[prop(into)] name: Signal<String>,
    #[prop(into)] title: Signal<String>,
    #[prop(into)] left: Signal<i64>,
    #[prop(into)] before: Signal<String>,
    #[prop(into)] over: Signal<String>,
    #[prop(into)] wick: Signal<u16>,
    #[prop(optional, into)] whose: Signal<String>,
    #[prop(optional)] burns: Burns,
    #[prop(optional)] unit: &'static str,
    #[prop(optional)] children: Option<Children>,
) -> impl IntoShape {
    let near = Memo::new(move |_| nearness(left.get()));
    let due = move || near.get() == Nearness::Due;
    view! {
        <section
            class="call"
            class:soon=move || near.get() == Nearness::Soon
            class:due=due
            aria-label=move || name.get()
        >
            <h2>
                <small>{move || whose.get()}</small>
                " "
                {move || title.get()}
            </h2>
            <div class="num clock" role="timer">
                <small>{move || if due() { String::new() } else { before.get() }}</small>
                <bdi>
                    {move || if unit.is_empty() { clock_figure(left.get()) } else { minute_figure(left.get()) }}
                </bdi>
                <small>{move || if due() { over.get() } else { unit.to_string() }}</small>
            </div>
            <Wick left=wick burns=burns />
            {children.map(|draw| draw())}
        </section>
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_count_down_and_then_up() {
        assert_eq!(clock_figure(200), "3:20");
        assert_eq!(clock_figure(61), "1:01");
        assert_eq!(clock_figure(1), "0:01");
        assert_eq!(clock_figure(0), "+0:00");
        assert_eq!(clock_figure(-45), "+0:45");
        assert_eq!(clock_figure(-3_605), "+60:05");
        assert_eq!(clock_figure(5_400), "90:00");
        assert!(clock_figure(i64::MIN).starts_with('+'));
    }

    #[test]
    fn whole_minutes_are_never_said_due_too_early() {
        for (left, figure) in [
            (200, "4"),
            (61, "2"),
            (60, "1"),
            (1, "1"),
            (0, "+0"),
            (-59, "+0"),
            (-60, "+1"),
        ] {
            assert_eq!(minute_figure(left), figure, "{left}");
        }
    }

    #[test]
    fn the_last_minute_is_soon_and_nought_is_due() {
        assert_eq!(nearness(61), Nearness::Calm);
        assert_eq!(nearness(60), Nearness::Soon);
        assert_eq!(nearness(1), Nearness::Soon);
        assert_eq!(nearness(0), Nearness::Due);
        assert_eq!(nearness(-1), Nearness::Due);
    }
}
