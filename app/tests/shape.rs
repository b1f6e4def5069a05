//! What stands on the page, beside Leptos' own renderer: the same markup and the same changes must
//! give the same nodes. Then what only ours promises.
#![cfg(target_arch = "wasm32")]

mod common;

use common::{js, sleep, until};
use wasm_bindgen::{JsCast, JsValue};
use wasm_bindgen_test::{wasm_bindgen_test, wasm_bindgen_test_configure};
use web_sys::{Element, HtmlElement};

wasm_bindgen_test_configure!(run_in_browser);

/// A new element on the page.
fn ground() -> HtmlElement {
    js("document.body.appendChild(document.createElement('div'))").unchecked_into()
}

/// The text of what is in an element, without the marks by which a renderer keeps places.
fn plain(of: &Element) -> String {
    let tell = js("(of => {
        const copy = of.cloneNode(true), gone = [];
        const walk = document.createTreeWalker(copy, NodeFilter.SHOW_COMMENT);
        while (walk.nextNode()) gone.push(walk.currentNode);
        gone.forEach(n => n.remove());
        copy.normalize();
        const say = n => n.nodeType === 3 ? JSON.stringify(n.data)
            : `<${n.namespaceURI.slice(-3)} ${n.localName} ${[...n.attributes]
                .filter(a => a.value || a.name !== 'class')
                .map(a => `${a.name}=${JSON.stringify(a.value)}`).sort().join(' ')}`
              + `${n.value === undefined ? '' : ' value:' + n.value}>${[...n.childNodes].map(say).join('')}</>`;
        return [...copy.childNodes].map(say).join('');
    })");
    let tell: js_sys::Function = tell.unchecked_into();
    tell.call1(&JsValue::NULL, of)
        .expect("tells")
        .as_string()
        .expect("text")
}

/// The values that the markup reads, as one renderer's signals.
macro_rules! knobs {
    () => {
        #[derive(Clone, Copy)]
        pub struct Knobs {
            pub text: RwSignal<String>,
            pub maybe: RwSignal<Option<u32>>,
            pub on: RwSignal<bool>,
            pub list: RwSignal<Vec<u32>>,
        }

        impl Knobs {
            pub fn new() -> Self {
                Self {
                    text: RwSignal::new("one".into()),
                    maybe: RwSignal::new(None),
                    on: RwSignal::new(false),
                    list: RwSignal::new(vec![1, 2]),
                }
            }
        }
    };
}

/// One page, written once, for both.
macro_rules! page {
    ($knobs:ident) => {{
        let Knobs {
            text,
            maybe,
            on,
            list,
        } = $knobs;
        let rows = move || {
            list.get()
                .into_iter()
                .map(|n| view! { <li class:even=move || n % 2 == 0>"row " {n}</li> })
                .collect::<Vec<_>>()
        };
        let dots = move || {
            list.get()
                .into_iter()
                .map(|n| view! { <circle cx=n cy="1" r="2" /> })
                .collect::<Vec<_>>()
        };
        let part = move || {
            on.get()
                .then(|| view! { <b>"on, with " {move || text.get()}</b> "!" })
        };
        view! {
            <h1 class="big" lang="en" class:loud=on>{move || text.get()} " and more"</h1>
            <p hidden=move || !on.get() title=move || maybe.get().map(|n| n.to_string())>
                {move || maybe.get()} {part} "end"
            </p>
            <ul>{rows}</ul>
            <ol>"before" {rows} "after"</ol>
            <svg viewBox="0 0 9 9"><g>{dots}</g></svg>
            <input type="text" prop:value=move || text.get() />
            <i style:--burn=move || text.get()></i>
        }
    }};
}

mod ours {
    use pinfold_app::shape::prelude::*;

    knobs!();

    pub fn page(knobs: Knobs) -> Shape {
        page!(knobs)
    }
}

mod theirs {
    use leptos::prelude::*;

    knobs!();

    pub fn page(knobs: Knobs) -> impl IntoView {
        page!(knobs)
    }
}

/// Both pages side by side.
struct Both {
    ours: (HtmlElement, ours::Knobs),
    theirs: (HtmlElement, theirs::Knobs),
}

impl Both {
    fn new() -> Self {
        let (a, b) = (ground(), ground());
        let (made, kept) = (std::rc::Rc::default(), std::rc::Rc::default());
        let (to, and): (
            std::rc::Rc<std::cell::Cell<_>>,
            std::rc::Rc<std::cell::Cell<_>>,
        ) = (std::rc::Rc::clone(&made), std::rc::Rc::clone(&kept));
        pinfold_app::shape::mount(&a, move || {
            let knobs = ours::Knobs::new();
            to.set(Some(knobs));
            ours::page(knobs)
        });
        leptos::mount::mount_to(b.clone(), move || {
            let knobs = theirs::Knobs::new();
            and.set(Some(knobs));
            theirs::page(knobs)
        })
        .forget();
        Self {
            ours: (a, made.take().expect("mounted")),
            theirs: (b, kept.take().expect("mounted")),
        }
    }

    /// Makes the same change in both and compares, once with what comes at once and once later.
    async fn after(&self, what: &str, change: &str) -> String {
        use leptos::prelude::Set as _;
        let (mine, other) = (&self.ours.1, &self.theirs.1);
        for change in change.split(' ').filter(|c| !c.is_empty()) {
            let (knob, value) = change.split_once('=').expect("knob=value");
            let number = value.parse().ok();
            let numbers: Vec<u32> = value.split(',').filter_map(|n| n.parse().ok()).collect();
            match knob {
                "text" => {
                    mine.text.set(value.into());
                    other.text.set(value.into());
                }
                "maybe" => {
                    mine.maybe.set(number);
                    other.maybe.set(number);
                }
                "on" => {
                    mine.on.set(value == "yes");
                    other.on.set(value == "yes");
                }
                "list" => {
                    mine.list.set(numbers.clone());
                    other.list.set(numbers);
                }
                other => panic!("no such knob: {other}"),
            }
        }
        sleep(20).await;
        let shown = plain(&self.ours.0);
        assert_eq!(shown, plain(&self.theirs.0), "{what}");
        shown
    }
}

#[wasm_bindgen_test]
async fn the_same_markup_and_changes_give_the_same_nodes_as_leptos_own_renderer() {
    let both = Both::new();
    let mut seen = vec![both.after("at first", "").await];
    for change in [
        "text=two",
        "maybe=7",
        "maybe=none",
        "on=yes",
        "text=three",
        "on=no",
        "on=yes maybe=3",
        "list=1,2,3,4",
        "list=4",
        "list=",
        "list=9,8",
        "list=8,9,10 text=x on=no maybe=none",
        "on=yes on=no on=yes",
    ] {
        let now = both.after(change, change).await;
        assert_ne!(
            seen.last(),
            Some(&now),
            "control: {change} changes the page"
        );
        seen.push(now);
    }
}

mod promised {
    use pinfold_app::shape::prelude::*;
    use std::cell::Cell;
    use std::rc::Rc;

    /// What happened, and what drives it.
    #[derive(Clone, Copy)]
    pub struct Drive {
        pub shown: RwSignal<bool>,
        pub turn: RwSignal<u32>,
        pub heard: RwSignal<u32>,
    }

    #[component]
    pub fn Ears(
        heard: RwSignal<u32>,
        #[prop(optional)] children: Option<Children>,
    ) -> impl IntoShape {
        let name: &'static str = use_context::<&'static str>().unwrap_or("none");
        view! {
            <div on:focusout=move |_| heard.update(|n| *n += 1)>
                <button id="ear" title=name on:click=move |_| {
                    // A context is found in a handler, too.
                    heard.update(|n| *n += if use_context::<&'static str>().is_some() { 100 } else { 7 });
                }>"press"</button>
                {children.map(|c| c())}
            </div>
        }
    }

    pub fn page(drive: Drive, told: Rc<Cell<u32>>) -> Shape {
        provide_context("room");
        let turned = move || {
            let told = told.clone();
            let turn = drive.turn.get();
            view! {
                <section on_made=move |_| told.set(told.get() + 1)>
                    <input id="typed" />
                    <Ears heard=drive.heard><em>{turn}</em></Ears>
                </section>
            }
        };
        view! { {move || drive.shown.get().then(|| view! { <main>{turned.clone()}</main> })} }
    }
}

#[wasm_bindgen_test]
async fn what_is_computed_again_keeps_its_elements_focus_and_typed_text() {
    let at = ground();
    let told = std::rc::Rc::new(std::cell::Cell::new(0));
    let made: std::rc::Rc<std::cell::Cell<Option<promised::Drive>>> = std::rc::Rc::default();
    let (to, count) = (made.clone(), told.clone());
    pinfold_app::shape::mount(&at, move || {
        use pinfold_app::react::RwSignal;
        let drive = promised::Drive {
            shown: RwSignal::new(true),
            turn: RwSignal::new(1),
            heard: RwSignal::new(0),
        };
        to.set(Some(drive));
        promised::page(drive, count)
    });
    let drive = made.take().expect("mounted");
    js("typed.value = 'half a word'; typed.focus(); window.was = typed");
    drive.turn.set(2);
    let turned = || js("document.querySelector('em')?.textContent") == "2";
    until("drawn again", turned).await;
    assert!(js("typed === window.was && document.activeElement === typed").is_truthy());
    assert_eq!(js("typed.value"), "half a word");
    assert_eq!(told.get(), 2, "whoever asked for the element is told again");
    assert_eq!(
        js("ear.title"),
        "room",
        "a context is found where a component is drawn"
    );

    js("ear.focus()");
    js("ear.click()");
    assert_eq!(
        drive.heard.get_untracked(),
        100,
        "one click is heard once, by the new page"
    );
    js("typed.focus()");
    assert_eq!(
        drive.heard.get_untracked(),
        101,
        "control: leaving the button is heard"
    );

    js("ear.focus(); window.gone = ear");
    drive.shown.set(false);
    sleep(20).await;
    assert_eq!(at.text_content().as_deref(), Some(""));
    js("window.gone.click()");
    assert_eq!(
        drive.heard.get_untracked(),
        101,
        "what has left the page hears nothing, not even its own leaving"
    );
    drive.shown.set(true);
    sleep(20).await;
    assert_eq!(
        js("document.querySelector('em').textContent"),
        "2",
        "and comes back"
    );
}
