//! `#[derive(Body)]`: a value as JSON, in the form that the `serde` attributes beside it describe.
//!
//! What is made for a type is one call a field, to read and to write; names go over as one text
//! for the whole type: `region count size?`, a question mark at what may be missing. A choice that
//! carries something has a colon: `known: unknown:`. A star at the end lets unknown fields pass.

use proc_macro2::TokenStream as Tokens;
use quote::{format_ident, quote};
use syn::{Attribute, Data, DeriveInput, Error, Field, Fields, LitStr, Path, Result, Variant};

/// Those attributes of `serde` that bodies use. Any other is refused.
#[derive(Default)]
struct Said {
    deny_unknown_fields: bool,
    /// It may be missing: `default`, and what stands there then, if that is not nothing.
    missing: Option<Option<Path>>,
    /// When it is left out: `skip_serializing_if`.
    left_out: Option<Path>,
    rename: Option<String>,
}

fn said(attributes: &[Attribute]) -> Result<Said> {
    let mut said = Said::default();
    for attribute in attributes.iter().filter(|a| a.path().is_ident("serde")) {
        attribute.parse_nested_meta(|meta| {
            let is = |name| meta.path.is_ident(name);
            if is("deny_unknown_fields") {
                said.deny_unknown_fields = true;
            } else if is("default") {
                let path = meta.value().ok().map(|v| v.parse::<LitStr>()).transpose()?;
                said.missing = Some(path.map(|p| p.parse()).transpose()?);
            } else if is("skip_serializing_if") {
                said.left_out = Some(meta.value()?.parse::<LitStr>()?.parse()?);
            } else if is("rename") {
                said.rename = Some(meta.value()?.parse::<LitStr>()?.value());
            } else if is("rename_all") {
                // The names of variants are always made so.
                let how: LitStr = meta.value()?.parse()?;
                if how.value() != "snake_case" {
                    return Err(meta.error("bodies know snake_case only"));
                }
            } else if !is("transparent") {
                return Err(meta.error("bodies do not know this"));
            }
            Ok(())
        })?;
    }
    Ok(said)
}

pub(crate) fn derived(input: &DeriveInput) -> Result<Tokens> {
    let name = &input.ident;
    let (write, read) = match &input.data {
        Data::Struct(data) => whole(input, &data.fields)?,
        Data::Enum(data) => choices(data.variants.iter())?,
        Data::Union(_) => return Err(Error::new_spanned(name, "a union has no body")),
    };
    Ok(quote! {
        impl crate::base::body::Body for #name {
            fn write(&self, out: &mut crate::base::body::Writer) { #write }
            fn read(from: &mut crate::base::body::Reader<'_>) -> Self { #read }
        }
    })
}

/// A struct: an object, or what a struct of one nameless field holds.
fn whole(input: &DeriveInput, fields: &Fields) -> Result<(Tokens, Tokens)> {
    let fields = match fields {
        Fields::Named(named) => &named.named,
        Fields::Unnamed(one) if one.unnamed.len() == 1 => {
            return Ok((
                quote! { crate::base::body::Body::write(&self.0, out); },
                quote! { Self(crate::base::body::Body::read(from)) },
            ));
        }
        _ => return Err(Error::new_spanned(&input.ident, "a body has named fields")),
    };
    let mut names = Vec::new();
    let (mut writes, mut reads) = (Vec::new(), Vec::new());
    for field in fields {
        let (name, write, read) = member(field)?;
        names.push(name);
        writes.push(write);
        reads.push(read);
    }
    if !said(&input.attrs)?.deny_unknown_fields {
        names.push("*".into());
    }
    let names = names.join(" ");
    Ok((
        quote! { #(#writes)* out.object(#names); },
        quote! { from.object(#names); Self { #(#reads),* } },
    ))
}

fn member(field: &Field) -> Result<(String, Tokens, Tokens)> {
    let ident = &field.ident;
    let said = said(&field.attrs)?;
    let mut name = said
        .rename
        .or_else(|| ident.as_ref().map(ToString::to_string))
        .unwrap_or_default();
    let mut write = quote! { crate::base::body::Body::write(&self.#ident, out); };
    let mut read = quote! { crate::base::body::Body::read(from) };
    if let Some(stands) = said.missing {
        name.push('?');
        // What is nothing is left out by itself; see `Writer`.
        if let Some(stands) = stands {
            let Some(left_out) = said.left_out else {
                return Err(Error::new_spanned(field, "when is it left out?"));
            };
            write.extend(quote! { out.nothing_if(#left_out(&self.#ident)); });
            read = quote! { if from.missing() { #stands() } else { #read } };
        }
    } else if said.left_out.is_some() {
        return Err(Error::new_spanned(field, "left out, but not missed?"));
    }
    Ok((name, write, quote! { #ident: #read }))
}

/// An enum: a name, or an object of one name and what it carries.
fn choices<'a>(variants: impl Iterator<Item = &'a Variant>) -> Result<(Tokens, Tokens)> {
    let mut names = Vec::new();
    let (mut writes, mut reads) = (Vec::new(), Vec::new());
    for (at, variant) in variants.enumerate() {
        let ident = &variant.ident;
        let mut name = snake(&ident.to_string());
        let fields: Vec<_> = (0..variant.fields.len())
            .map(|n| format_ident!("f{n}"))
            .collect();
        let count = fields.len();
        let (pattern, row, make) = match &variant.fields {
            Fields::Unit => (quote! {}, quote! {}, quote! { Self::#ident }),
            Fields::Unnamed(_) => {
                name.push(':');
                let each = fields
                    .iter()
                    .map(|_| quote! { crate::base::body::Body::read(from) });
                let make = quote! { Self::#ident( #(#each),* ) };
                if count == 1 {
                    (quote! { ( #(#fields),* ) }, quote! {}, make)
                } else {
                    (
                        quote! { ( #(#fields),* ) },
                        quote! { out.list(#count); },
                        quote! { { from.row(#count); #make } },
                    )
                }
            }
            Fields::Named(_) => {
                return Err(Error::new_spanned(variant, "fields of a choice: a struct"));
            }
        };
        writes.push(quote! { Self::#ident #pattern => {
            #(crate::base::body::Body::write(#fields, out);)*
            #row
            #at
        } });
        reads.push((at, make));
        names.push(name);
    }
    let names = names.join(" ");
    // The first stands in for a name that is none of them.
    let rest = reads
        .iter()
        .skip(1)
        .map(|(at, make)| quote! { #at => #make });
    let first = reads.first().map(|(_, make)| quote! { _ => #make });
    Ok((
        quote! { let at = match self { #(#writes),* }; out.choice(#names, at); },
        quote! { match from.choice(#names) { #(#rest,)* #first } },
    ))
}

/// `FellOut` as `fell_out`.
fn snake(name: &str) -> String {
    let mut snake = String::new();
    for (at, letter) in name.char_indices() {
        if letter.is_ascii_uppercase() && at > 0 {
            snake.push('_');
        }
        snake.push(letter.to_ascii_lowercase());
    }
    snake
}
