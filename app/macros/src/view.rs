//! `view!`: markup to a plan and what goes into its holes.
//!
//! A plan is a row of words that end with a zero. The first letter of a word says what it is:
//!
//! | word | is | what follows |
//! |---|---|---|
//! | `<tag` | an element opens | |
//! | `=name` | an attribute | its value, as the next word |
//! | `"text` | text | |
//! | `?name` | an attribute | a hole |
//! | `.name` | a class, there or not | a hole |
//! | `:name` | a property | a hole |
//! | `~name` | a style property | a hole |
//! | `!name` | an event | a hole |
//! | `@` | who is told of the element | a hole |
//! | `#` | a child | a hole |
//! | `>` | the element closes | |

use proc_macro2::{Span, TokenStream};
use quote::{ToTokens, format_ident, quote, quote_spanned};
use rstml::node::{KeyedAttribute, Node, NodeAttribute, NodeBlock, NodeElement, NodeName};
use syn::spanned::Spanned;
use syn::{Expr, Ident, LitStr, Stmt};

pub fn expand(tokens: TokenStream) -> TokenStream {
    let (nodes, wrong) = rstml::Parser::new(rstml::ParserConfig::new().recover_block(true))
        .parse_recoverable(tokens)
        .split_vec();
    let wrong = wrong.into_iter().map(|w| w.emit_as_expr_tokens());
    let shape = all(&nodes);
    quote!({ #(#wrong;)* #shape })
}

/// Several beside each other; one alone is itself.
fn all(nodes: &[Node]) -> TokenStream {
    let mut shapes: Vec<TokenStream> = nodes.iter().filter_map(one).collect();
    match shapes.len() {
        1 => shapes.remove(0),
        _ => quote!(::pinfold_app::shape::Shape::List(::std::vec![#(#shapes),*])),
    }
}

/// One node by itself.
fn one(node: &Node) -> Option<TokenStream> {
    Some(match node {
        Node::Element(element) if is_component(element.name()) => component(element),
        Node::Element(element) => {
            let mut plan = Plan::default();
            plan.element(element);
            let (words, holes) = (LitStr::new(&plan.words, Span::call_site()), plan.holes);
            quote!(::pinfold_app::shape::Shape::piece(#words, ::std::vec![#(#holes),*]))
        }
        Node::Text(text) => {
            let text = &text.value;
            quote!(::pinfold_app::shape::IntoShape::into_shape(#text))
        }
        Node::Block(block) => hole(&bare(block)),
        Node::Fragment(fragment) => all(&fragment.children),
        Node::Comment(_) => return None,
        other => {
            let span = other.span();
            quote_spanned!(span => compile_error!("view! takes elements, text and blocks"))
        }
    })
}

/// What a block comes to, without its braces where it is only one expression.
fn bare(block: &NodeBlock) -> TokenStream {
    match block.try_block().map(|block| block.stmts.as_slice()) {
        Some([Stmt::Expr(only, None)]) => only.to_token_stream(),
        _ => block.to_token_stream(),
    }
}

/// What goes into a hole.
fn hole(value: &impl ToTokens) -> TokenStream {
    quote!(::pinfold_app::shape::IntoShape::into_shape(#value))
}

fn is_component(name: &NodeName) -> bool {
    let NodeName::Path(path) = name else {
        return false;
    };
    path.path.segments.last().is_some_and(|last| {
        last.ident
            .to_string()
            .starts_with(|c: char| c.is_uppercase())
    })
}

fn component(element: &NodeElement<rstml::Infallible>) -> TokenStream {
    let name = element.name();
    let span = name.span();
    let mut given = Vec::new();
    for attribute in element.attributes() {
        let NodeAttribute::Attribute(attribute) = attribute else {
            return quote_spanned!(span => compile_error!("name = value"));
        };
        let key: Ident = match &attribute.key {
            NodeName::Path(path) if path.path.get_ident().is_some() => path
                .path
                .get_ident()
                .cloned()
                .unwrap_or_else(|| format_ident!("_")),
            other => return quote_spanned!(other.span() => compile_error!("a plain name")),
        };
        let value = attribute
            .value()
            .map_or(quote!(true), ToTokens::to_token_stream);
        given.push(quote!(.#key(#value)));
    }
    if !element.children.is_empty() {
        let children = all(&element.children);
        given.push(quote!(.children(::std::boxed::Box::new(move || #children))));
    }
    // With the span of its name, so that a missing argument is shown there.
    let build = quote_spanned!(span => .build());
    quote! {
        <#name as ::pinfold_app::shape::Part>::draw(
            <<#name as ::pinfold_app::shape::Part>::Props>::builder() #(#given)* #build
        )
    }
}

#[derive(Default)]
struct Plan {
    words: String,
    holes: Vec<TokenStream>,
}

impl Plan {
    fn word(&mut self, kind: char, word: &str) {
        self.words.push(kind);
        self.words.push_str(word);
        self.words.push('\0');
    }

    fn element(&mut self, element: &NodeElement<rstml::Infallible>) {
        self.word('<', &element.name().to_string());
        for attribute in element.attributes() {
            match attribute {
                NodeAttribute::Attribute(attribute) => self.attribute(attribute),
                NodeAttribute::Block(block) => self
                    .holes
                    .push(quote_spanned!(block.span() => compile_error!("name = value"))),
            }
        }
        for child in &element.children {
            self.child(child);
        }
        self.word('>', "");
    }

    fn child(&mut self, child: &Node) {
        match child {
            Node::Element(element) if !is_component(element.name()) => self.element(element),
            Node::Text(text) => self.word('"', &text.value_string()),
            Node::Fragment(fragment) => {
                for child in &fragment.children {
                    self.child(child);
                }
            }
            other => {
                if let Some(shape) = one(other) {
                    self.word('#', "");
                    self.holes.push(shape);
                }
            }
        }
    }

    fn attribute(&mut self, attribute: &KeyedAttribute) {
        let key = attribute.key.to_string();
        let value = attribute.value();
        if key == "on_made" {
            self.word('@', "");
            self.holes
                .push(quote!(::pinfold_app::shape::Shape::told(#value)));
            return;
        }
        if let Some((kind, name)) = key.split_once(':') {
            match kind {
                "on" => {
                    let event = event_type(name);
                    self.word('!', name);
                    self.holes
                        .push(quote!(::pinfold_app::shape::on::<#event>(#value)));
                    return;
                }
                "class" => self.word('.', name),
                "prop" => self.word(':', name),
                "style" => self.word('~', name),
                // A name of XML, such as `xlink:href`.
                _ => self.word('?', &key),
            }
            self.holes.push(hole(&value));
            return;
        }
        match (attribute.value_literal_string(), value) {
            (Some(text), Some(Expr::Lit(literal))) if !matches!(literal.lit, syn::Lit::Bool(_)) => {
                self.word('=', &key);
                self.words.push_str(&text);
                self.words.push('\0');
            }
            (_, Some(value)) => {
                self.word('?', &key);
                self.holes.push(hole(value));
            }
            (_, None) => {
                self.word('=', &key);
                self.words.push('\0');
            }
        }
    }
}

/// The browser's type of an event, as Leptos gives it.
fn event_type(name: &str) -> TokenStream {
    let name = match name {
        "click" | "contextmenu" => "MouseEvent",
        "keydown" | "keyup" => "KeyboardEvent",
        "pointerdown" | "pointerup" | "pointercancel" | "pointerleave" | "pointermove" => {
            "PointerEvent"
        }
        _ => "Event",
    };
    let name = format_ident!("{name}");
    quote!(::web_sys::#name)
}
