//! What stands on the page, and how it is brought up to date: built once, then patched in place, so
//! that focus, typed text and scrolling stay where they are.

use super::{Hears, Live, Piece, Shape};
use leptos::prelude::{Owner, RenderEffect};
use std::borrow::Cow;
use std::cell::RefCell;
use std::rc::Rc;
use wasm_bindgen::prelude::*;
use web_sys::{Element, Node};

/// What was made of a shape.
enum Made {
    /// Text; also nothing, as empty text, which keeps the place.
    Text(Node, Cow<'static, str>),
    /// An element, and what stands in its holes.
    Piece(&'static str, Element, Vec<Made>),
    /// Several, and an empty text behind them, which keeps the place of a list without any.
    List(Vec<Made>, Node),
    /// What is computed again. The effect lives as long as this.
    Live(Rc<RefCell<Option<Made>>>, RenderEffect<()>),
    /// Something about an element.
    Spot(Spot),
    /// A listener.
    Ear(Ear),
    /// Somebody was told of this element.
    Told(Element),
}

/// What about an element a hole is.
#[derive(Clone, Copy, PartialEq)]
enum About {
    Attribute,
    Class,
    Property,
    Style,
}

/// Something about an element, and how it was set last.
struct Spot {
    element: Element,
    about: About,
    name: &'static str,
    last: Option<Cow<'static, str>>,
}

/// A listener on an element. What hears can be changed while it listens.
struct Ear {
    element: Element,
    event: &'static str,
    hears: Rc<RefCell<Option<Hears>>>,
    closure: Closure<dyn FnMut(web_sys::Event)>,
}

impl Drop for Ear {
    fn drop(&mut self) {
        // It fails only for an event of no name.
        let _ = self
            .element
            .remove_event_listener_with_callback(self.event, self.closure.as_ref().unchecked_ref());
    }
}

const SVG: &str = "http://www.w3.org/2000/svg";

thread_local! {
    static DOCUMENT: web_sys::Document = web_sys::window()
        .and_then(|w| w.document())
        .expect("an interface has a page");
}

fn text(words: &str) -> Node {
    DOCUMENT.with(|d| d.create_text_node(words).into())
}

/// # Panics
/// If the name is none of an element's; the markup is ours.
fn element(tag: &str, svg: bool) -> Element {
    DOCUMENT
        .with(|d| {
            if svg {
                d.create_element_ns(Some(SVG), tag)
            } else {
                d.create_element(tag)
            }
        })
        .expect("markup has names of elements")
}

/// Puts a node before another, or last. It fails only if that other has left the page, which is then
/// not seen either.
fn put(parent: &Node, node: &Node, before: Option<&Node>) {
    let _ = parent.insert_before(node, before);
}

/// Whether what is in a node is drawing, not text.
fn draws(parent: &Node) -> bool {
    parent
        .dyn_ref::<Element>()
        .and_then(Element::namespace_uri)
        .is_some_and(|uri| uri == SVG)
}

fn take_away(node: &Node) {
    if let Some(parent) = node.parent_node() {
        let _ = parent.remove_child(node);
    }
}

/// Puts a shape into the page, as [`mount`] does.
///
/// # Panics
/// If the page has no body: it is ours and has one.
pub fn mount_to_body(draw: impl FnOnce() -> Shape) {
    let body = DOCUMENT.with(web_sys::Document::body);
    mount(&body.expect("our page has a body"), draw);
}

/// Puts a shape into an element, and keeps it up to date until the page is left.
pub fn mount(parent: &Element, draw: impl FnOnce() -> Shape) {
    // An error says that it was set before, which is as well.
    let _ = any_spawner::Executor::init_wasm_bindgen();
    let owner = Owner::new();
    let made = owner.with(|| build(draw(), false));
    made.each_root(&mut |node| put(parent, node, None));
    // For as long as the page: nothing takes it down.
    std::mem::forget((owner, made));
}

fn build(shape: Shape, svg: bool) -> Made {
    match shape {
        Shape::Nothing | Shape::Flag(_) | Shape::Told(_) | Shape::Ear(_) => {
            Made::Text(text(""), Cow::Borrowed(""))
        }
        Shape::Text(words) => Made::Text(text(&words), words),
        Shape::Piece(piece) => build_piece(piece, svg),
        Shape::List(shapes) => {
            let made = shapes.into_iter().map(|s| build(s, svg)).collect();
            Made::List(made, text(""))
        }
        Shape::Live(live) => watch(None, live, svg),
    }
}

/// What the parts of a piece are, in the order of its holes.
fn build_piece(piece: Piece, svg: bool) -> Made {
    let mut open: Vec<(Element, bool)> = Vec::new();
    let mut root = None;
    let mut made = Vec::with_capacity(piece.holes.len());
    let mut holes = piece.holes.into_iter();
    let mut hole = || holes.next().unwrap_or(Shape::Nothing);
    let mut svg = svg;
    let mut words = piece.plan.split_terminator('\0');
    while let Some(word) = words.next() {
        let (kind, name) = word.split_at_checked(1).unwrap_or_default();
        if kind == "<" {
            svg |= name == "svg";
            let new = element(name, svg);
            if let Some((parent, _)) = open.last() {
                put(parent, &new, None);
            }
            open.push((new, svg));
            continue;
        }
        let Some((here, _)) = open.last() else {
            break;
        };
        match kind {
            "=" => {
                let _ = here.set_attribute(name, words.next().unwrap_or_default());
            }
            "\"" => put(here, &text(name), None),
            "#" => {
                let child = build(hole(), svg);
                child.each_root(&mut |node| put(here, node, None));
                made.push(child);
            }
            ">" => {
                root = open.pop().map(|(element, _)| element);
                svg = open.last().is_some_and(|(_, svg)| *svg);
            }
            "!" => made.push(match hole() {
                Shape::Ear(hears) => listen(here.clone(), name, hears),
                _ => Made::Told(here.clone()),
            }),
            "@" => {
                let mut told = Made::Told(here.clone());
                told.patch(hole());
                made.push(told);
            }
            _ => {
                let spot = Made::Spot(Spot {
                    element: here.clone(),
                    about: match kind {
                        "." => About::Class,
                        ":" => About::Property,
                        "~" => About::Style,
                        _ => About::Attribute,
                    },
                    name,
                    last: None,
                });
                made.push(match hole() {
                    Shape::Live(live) => watch(Some(spot), live, svg),
                    fixed => {
                        let mut spot = spot;
                        spot.patch(fixed);
                        spot
                    }
                });
            }
        }
    }
    Made::Piece(
        piece.plan,
        root.unwrap_or_else(|| element("p", false)),
        made,
    )
}

fn listen(element: Element, event: &'static str, hears: Hears) -> Made {
    let hears = Rc::new(RefCell::new(Some(hears)));
    let closure = {
        let hears = hears.clone();
        Closure::new(move |event: web_sys::Event| {
            // Out of its place before it runs: what it does may change what hears.
            let hear = hears.borrow().clone();
            if let Some(hear) = hear {
                hear(event);
            }
        })
    };
    let _ = element.add_event_listener_with_callback(event, closure.as_ref().unchecked_ref());
    Made::Ear(Ear {
        element,
        event,
        hears,
        closure,
    })
}

/// Computes a shape now and again whenever what it read changes, on top of what was made before.
fn watch(before: Option<Made>, live: Live, svg: bool) -> Made {
    let place = Rc::new(RefCell::new(before));
    let effect = watch_in(place.clone(), live, svg);
    Made::Live(place, effect)
}

fn watch_in(place: Rc<RefCell<Option<Made>>>, mut live: Live, svg: bool) -> RenderEffect<()> {
    RenderEffect::new(move |_| {
        let shape = live();
        let mut place = place.borrow_mut();
        match &mut *place {
            Some(made) => made.patch(shape),
            none => *none = Some(build(shape, svg)),
        }
    })
}

impl Spot {
    fn set(&mut self, to: Option<Cow<'static, str>>) {
        if self.last == to {
            return;
        }
        let name = self.name;
        // Each fails only for a name that the browser does not take; the markup is ours.
        let _ = match (self.about, &to) {
            (About::Attribute, Some(to)) => self.element.set_attribute(name, to).is_ok(),
            (About::Attribute, None) => self.element.remove_attribute(name).is_ok(),
            (About::Class, to) => self
                .element
                .class_list()
                .toggle_with_force(name, to.is_some())
                .is_ok(),
            (About::Property, to) => js_sys::Reflect::set(
                &self.element,
                &JsValue::from_str(name),
                &JsValue::from_str(to.as_deref().unwrap_or_default()),
            )
            .is_ok(),
            (About::Style, to) => self
                .element
                .unchecked_ref::<web_sys::HtmlElement>()
                .style()
                .set_property(name, to.as_deref().unwrap_or_default())
                .is_ok(),
        };
        self.last = to;
    }
}

impl Made {
    /// Each node that stands beside the others where this was put, in order.
    fn each_root(&self, each: &mut dyn FnMut(&Node)) {
        match self {
            Self::Text(node, _) => each(node),
            Self::Piece(_, root, _) => each(root),
            Self::List(made, end) => {
                for made in made {
                    made.each_root(each);
                }
                each(end);
            }
            Self::Live(place, _) => {
                if let Some(made) = &*place.borrow() {
                    made.each_root(each);
                }
            }
            Self::Spot(_) | Self::Ear(_) | Self::Told(_) => {}
        }
    }

    fn first(&self) -> Option<Node> {
        match self {
            Self::Text(node, _) => Some(node.clone()),
            Self::Piece(_, root, _) => Some(root.clone().into()),
            Self::List(made, end) => made.first().map_or(Some(end.clone()), Self::first),
            Self::Live(place, _) => place.borrow().as_ref().and_then(Self::first),
            Self::Spot(_) | Self::Ear(_) | Self::Told(_) => None,
        }
    }

    /// Nothing of this hears any more. An element that leaves the page with the focus in it may send
    /// events while it goes, when what would hear them is gone already.
    fn hush(&self) {
        match self {
            Self::Piece(_, _, made) | Self::List(made, _) => made.iter().for_each(Self::hush),
            Self::Live(place, _) => {
                if let Some(made) = &*place.borrow() {
                    made.hush();
                }
            }
            Self::Ear(ear) => *ear.hears.borrow_mut() = None,
            Self::Text(..) | Self::Spot(_) | Self::Told(_) => {}
        }
    }

    fn leave(&self) {
        self.hush();
        self.each_root(&mut take_away);
    }

    /// Brings what stands on the page to a new shape.
    fn patch(&mut self, shape: Shape) {
        match (&mut *self, shape) {
            (Self::Live(place, effect), Shape::Live(live)) => {
                *effect = watch_in(place.clone(), live, false);
            }
            // What changes from fixed to computed and back does so in its place.
            (_, Shape::Live(live)) => {
                let nothing = Self::List(Vec::new(), text(""));
                let before = std::mem::replace(self, nothing);
                *self = watch(Some(before), live, false);
            }
            (Self::Live(place, _), shape) => {
                if let Some(mut made) = place.take() {
                    made.patch(shape);
                    *self = made;
                }
            }
            (Self::Spot(spot), shape) => spot.set(match shape {
                Shape::Text(text) => Some(text),
                Shape::Flag(true) => Some(Cow::Borrowed("")),
                _ => None,
            }),
            (Self::Told(element), Shape::Told(tell)) => tell(element.clone()),
            (Self::Told(_), _) => {}
            (Self::Ear(ear), Shape::Ear(hears)) => *ear.hears.borrow_mut() = Some(hears),
            (Self::Text(node, before), shape @ (Shape::Text(_) | Shape::Nothing)) => {
                let words = match shape {
                    Shape::Text(words) => words,
                    _ => Cow::Borrowed(""),
                };
                if *before != words {
                    node.set_node_value(Some(&words));
                    *before = words;
                }
            }
            (Self::Piece(plan, _, made), Shape::Piece(piece)) if *plan == piece.plan => {
                for (made, shape) in made.iter_mut().zip(piece.holes) {
                    made.patch(shape);
                }
            }
            (Self::List(made, end), Shape::List(shapes)) => {
                let had = made.len();
                let mut n = 0;
                for shape in shapes {
                    if let Some(made) = made.get_mut(n) {
                        made.patch(shape);
                    } else if let Some(parent) = end.parent_node() {
                        let new = build(shape, draws(&parent));
                        new.each_root(&mut |node| put(&parent, node, Some(end)));
                        made.push(new);
                    }
                    n += 1;
                }
                if n < had {
                    for gone in made.drain(n..) {
                        gone.leave();
                    }
                }
            }
            (_, shape) => {
                let Some((first, parent)) =
                    self.first().and_then(|f| f.parent_node().map(|p| (f, p)))
                else {
                    return;
                };
                let new = build(shape, draws(&parent));
                new.each_root(&mut |node| put(&parent, node, Some(&first)));
                self.leave();
                *self = new;
            }
        }
    }
}
