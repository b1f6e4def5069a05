//! Number keys: "how many came out?" A key answers once and then rests until the next question, so
//! a knuckle that lands twice cannot answer twice. Nothing is filled in beforehand.

use super::press::chairside_counts;
use crate::shape::prelude::*;
use leptos::ev;
use wasm_bindgen::JsCast as _;

/// The highest number that has a key of its own.
const KEYS_MOST: u16 = 14;
/// The most that can be typed: no count of needles has more than three digits.
const TYPED_MOST: u16 = 999;

/// What has been entered so far.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Entry {
    typed: Option<u16>,
    answered: Option<u16>,
}

impl Entry {
    /// A key with a whole number on it. `Some` is the answer; `None` when the keys rest.
    pub fn key(&mut self, number: u16) -> Option<u16> {
        if self.answered.is_some() {
            return None;
        }
        self.typed = None;
        self.answered = Some(number);
        self.answered
    }

    /// One typed digit. A digit that would make more than 999 is not taken, so that what stands
    /// there is always what was typed.
    pub fn digit(&mut self, digit: u16) {
        if self.answered.is_some() || digit > 9 {
            return;
        }
        let next = self
            .typed
            .unwrap_or(0)
            .saturating_mul(10)
            .saturating_add(digit);
        if next <= TYPED_MOST {
            self.typed = Some(next);
        }
    }

    /// Takes the last digit back.
    pub fn back(&mut self) {
        self.typed = match self.typed {
            Some(number) if number >= 10 => Some(number / 10),
            _ => None,
        };
    }

    /// Ends a typed answer. Nothing typed is no answer: it is not nought.
    pub fn enter(&mut self) -> Option<u16> {
        let typed = self.typed?;
        self.key(typed)
    }

    /// What is typed but not answered.
    #[must_use]
    pub fn typed(self) -> Option<u16> {
        self.typed
    }

    /// The answer, once given.
    #[must_use]
    pub fn answered(self) -> Option<u16> {
        self.answered
    }
}

/// The words on the keys.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct KeysWords {
    /// On the key that opens the digits: "more".
    pub more: &'static str,
    /// On the key that ends a typed number: "that many".
    pub done: &'static str,
    /// On the key that takes a digit back: "back".
    pub back: &'static str,
    /// What a screen reader calls the typed number: "typed".
    pub typed: &'static str,
}

/// Number keys 0 to 14 and *more*.
///
/// - `name`: the question, for a screen reader; `words`.
/// - `on_answer`: called once; then the keys rest until `question` changes.
/// - `question`: any number that changes with each new question (also when the same one is asked again).
///
/// By keyboard: digits anywhere on the page outside a field, Enter ends, Backspace takes back.
#[component]
pub fn Keys(
    #[prop(into)] name: Signal<String>,
    words: KeysWords,
    #[prop(into)] question: Signal<u32>,
    #[prop(into)] on_answer: Callback<u16>,
) -> impl IntoShape {
    let entry = RwSignal::new(Entry::default());
    let digits = RwSignal::new(false);
    Effect::new(move || {
        question.track();
        entry.set(Entry::default());
        digits.set(false);
    });
    let answer = move |number: Option<u16>| {
        if let Some(number) = number {
            on_answer.run(number);
        }
    };
    let on_key = move |ev: web_sys::KeyboardEvent| {
        if ev.ctrl_key() || ev.alt_key() || ev.meta_key() || is_typing_elsewhere(&ev) {
            return;
        }
        let key = ev.key();
        if let Some(digit) = digit_of(&key) {
            entry.update(|entry| entry.digit(digit));
        } else if key == "Backspace" {
            entry.update(Entry::back);
        } else if key == "Enter" && entry.with_untracked(|entry| entry.typed().is_some()) {
            // Enter would also press whatever key has the focus: one answer, not two.
            ev.prevent_default();
            answer(entry.try_update(Entry::enter).flatten());
        }
    };
    let listener = window_event_listener(ev::keydown, on_key);
    on_cleanup(move || listener.remove());

    let resting = move || entry.with(|entry| entry.answered().is_some());
    let number_key = move |number: u16| {
        view! {
            <button
                type="button"
                class="press"
                class:rested=resting
                class:told=move || entry.with(|entry| entry.answered() == Some(number))
                aria-disabled=move || resting().then_some("true")
                on:click=move |ev| {
                    if chairside_counts(&ev) {
                        answer(entry.try_update(|entry| entry.key(number)).flatten());
                    }
                }
            >
                {number}
            </button>
        }
    };
    let shows_typed = move || digits.get() || entry.with(|entry| entry.typed().is_some());
    view! {
        <div role="group" aria-label=move || name.get()>
            <div class="typed" hidden=move || !shows_typed() role="status">
                <span class="heard">{words.typed}</span>
                <b class="num">
                    {move || {
                        entry
                            .with(|entry| entry.typed().or(entry.answered()))
                            .map(|number| number.to_string())
                            .unwrap_or_default()
                    }}
                </b>
            </div>
            <div class="keys" hidden=move || digits.get()>
                {(0..=KEYS_MOST).map(number_key).collect::<Vec<_>>()}
                <button
                    type="button"
                    class="press word"
                    class:rested=resting
                    on:click=move |ev| {
                        if chairside_counts(&ev) && !resting() {
                            digits.set(true);
                        }
                    }
                >
                    {words.more}
                </button>
            </div>
            <div hidden=move || !digits.get()>
                <Digits
                    on_digit=move |digit| entry.update(|entry| entry.digit(digit))
                    on_back=move |()| entry.update(Entry::back)
                    on_done=move |()| answer(entry.try_update(Entry::enter).flatten())
                    back=words.back
                    done=words.done
                />
            </div>
        </div>
    }
}

/// The pad under a list of counts (strips, tens, over): it types into one of them.
///
/// - `name`: for a screen reader; `value`: the count being typed, `None` when empty.
/// - `on_value`: what it becomes; empty is `None`, never nought.
/// - `on_done`: go to the next count; `back`, `done`: the words on those two keys.
#[component]
pub fn Pad(
    #[prop(into)] name: Signal<String>,
    #[prop(into)] value: Signal<Option<u16>>,
    #[prop(into)] on_value: Callback<Option<u16>>,
    #[prop(into)] on_done: Callback<()>,
    back: &'static str,
    done: &'static str,
) -> impl IntoShape {
    let change = move |change: &dyn Fn(&mut Entry)| {
        let mut entry = Entry {
            typed: value.get_untracked(),
            answered: None,
        };
        change(&mut entry);
        if entry.typed != value.get_untracked() {
            on_value.run(entry.typed);
        }
    };
    let on_key = move |ev: web_sys::KeyboardEvent| {
        if ev.ctrl_key() || ev.alt_key() || ev.meta_key() || is_typing_elsewhere(&ev) {
            return;
        }
        let key = ev.key();
        if let Some(digit) = digit_of(&key) {
            change(&|entry| entry.digit(digit));
        } else if key == "Backspace" {
            change(&Entry::back);
        } else if key == "Enter" && !is_on_press(&ev) {
            on_done.run(());
        }
    };
    let listener = window_event_listener(ev::keydown, on_key);
    on_cleanup(move || listener.remove());
    view! {
        <div role="group" aria-label=move || name.get()>
            <Digits
                on_digit=move |digit| change(&|entry| entry.digit(digit))
                on_back=move |()| change(&Entry::back)
                on_done=on_done
                back=back
                done=done
            />
        </div>
    }
}

/// The ten digits, back and done.
#[component]
fn Digits(
    #[prop(into)] on_digit: Callback<u16>,
    #[prop(into)] on_back: Callback<()>,
    #[prop(into)] on_done: Callback<()>,
    back: &'static str,
    done: &'static str,
) -> impl IntoShape {
    let digit = move |digit: u16| {
        view! {
            <button
                type="button"
                class="press"
                on:click=move |ev| {
                    if chairside_counts(&ev) {
                        on_digit.run(digit);
                    }
                }
            >
                {digit}
            </button>
        }
    };
    let word = move |text: &'static str, press: Callback<()>| {
        view! {
            <button
                type="button"
                class="press word"
                on:click=move |ev| {
                    if chairside_counts(&ev) {
                        press.run(());
                    }
                }
            >
                {text}
            </button>
        }
    };
    view! {
        <div class="keys pad">
            {(0..=9).map(digit).collect::<Vec<_>>()} {word(back, on_back)} {word(done, on_done)}
        </div>
    }
}

/// The digit a key types.
fn digit_of(key: &str) -> Option<u16> {
    match key.as_bytes() {
        [digit @ b'0'..=b'9'] => Some(u16::from(digit - b'0')),
        _ => None,
    }
}

fn target(ev: &web_sys::KeyboardEvent) -> Option<web_sys::Element> {
    ev.target()?.dyn_into::<web_sys::Element>().ok()
}

/// Whether the key belongs to a field or to a sheet that lies over the keys.
fn is_typing_elsewhere(ev: &web_sys::KeyboardEvent) -> bool {
    target(ev).is_some_and(|element| {
        matches!(element.closest("input,textarea,select,dialog"), Ok(Some(_)))
    })
}

/// Whether the key would press a button or follow a link.
fn is_on_press(ev: &web_sys::KeyboardEvent) -> bool {
    target(ev).is_some_and(|element| matches!(element.closest("button,a"), Ok(Some(_))))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_key_answers_once_and_then_rests() {
        let mut entry = Entry::default();
        assert_eq!(entry.key(7), Some(7));
        assert_eq!(entry.key(8), None);
        entry.digit(3);
        assert_eq!(entry.enter(), None);
        assert_eq!(entry.answered(), Some(7));
    }

    #[test]
    fn two_digits_are_one_number_and_enter_ends_it() {
        let mut entry = Entry::default();
        entry.digit(1);
        assert_eq!(entry.answered(), None, "one digit is not an answer yet");
        entry.digit(2);
        assert_eq!(entry.typed(), Some(12));
        assert_eq!(entry.enter(), Some(12));
        assert_eq!(entry.enter(), None);
    }

    #[test]
    fn nothing_typed_is_no_answer_and_nought_is_one() {
        let mut entry = Entry::default();
        assert_eq!(entry.enter(), None);
        entry.digit(4);
        entry.back();
        assert_eq!(entry.typed(), None);
        assert_eq!(entry.enter(), None);
        entry.digit(0);
        assert_eq!(entry.enter(), Some(0));
    }

    #[test]
    fn a_digit_too_many_is_not_taken() {
        let mut entry = Entry::default();
        for digit in [9, 9, 9, 9] {
            entry.digit(digit);
        }
        entry.digit(10);
        assert_eq!(entry.typed(), Some(999));
        entry.back();
        assert_eq!(entry.typed(), Some(99));
    }

    #[test]
    fn only_single_digits_type() {
        assert_eq!(digit_of("7"), Some(7));
        assert_eq!(digit_of("F1"), None);
        assert_eq!(digit_of(""), None);
        assert_eq!(digit_of("٣"), None);
    }
}
