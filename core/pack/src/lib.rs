//! `#[derive(Pack)]`: a value's fields one after the other, an enum's variant by its place.
//!
//! Reading never ends early: a damaged file yields empty values and marks the reader as spoilt. So
//! the code that reads is one call a field, with no way out that would have to clean up what was
//! read so far; that is the greater part of what other derives make (see DEVELOPERS.md, "Size").

mod body;

use proc_macro::TokenStream;
use proc_macro2::TokenStream as Tokens;
use quote::{format_ident, quote};
use syn::{Data, DeriveInput, Fields, parse_macro_input};

/// Lays a struct or an enum out. Generic types and unions are not wanted here and are refused.
#[proc_macro_derive(Pack)]
pub fn pack(input: TokenStream) -> TokenStream {
    let input = parse_macro_input!(input as DeriveInput);
    derived(&input)
        .unwrap_or_else(syn::Error::into_compile_error)
        .into()
}

/// Gives a struct or an enum its form in JSON, as the `serde` attributes beside it say.
#[proc_macro_derive(Body, attributes(serde))]
pub fn body(input: TokenStream) -> TokenStream {
    let input = parse_macro_input!(input as DeriveInput);
    body::derived(&input)
        .unwrap_or_else(syn::Error::into_compile_error)
        .into()
}

fn derived(input: &DeriveInput) -> syn::Result<Tokens> {
    let name = &input.ident;
    let (write, read) = match &input.data {
        Data::Struct(data) => {
            let (pattern, write) = written(&data.fields);
            let read = made(&data.fields);
            (
                quote! { let Self #pattern = self; #write },
                quote! { Self #read },
            )
        }
        Data::Enum(data) => {
            let (mut writes, mut reads) = (Vec::new(), Vec::new());
            for (at, variant) in data.variants.iter().enumerate() {
                let at = u8::try_from(at)
                    .map_err(|_| syn::Error::new_spanned(variant, "too many variants"))?;
                let ident = &variant.ident;
                let (pattern, write) = written(&variant.fields);
                let read = made(&variant.fields);
                writes.push(quote! { Self::#ident #pattern => { out.push(#at); #write } });
                reads.push(if reads.is_empty() {
                    // The first stands in for a number that no variant has.
                    (quote! { _ }, quote! { Self::#ident #read })
                } else {
                    (quote! { #at }, quote! { Self::#ident #read })
                });
            }
            let most = u8::try_from(data.variants.len().saturating_sub(1)).unwrap_or(u8::MAX);
            reads.rotate_left(1);
            let arms = reads.iter().map(|(at, make)| quote! { #at => #make });
            (
                quote! { match self { #(#writes),* } },
                quote! { match from.variant(#most) { #(#arms),* } },
            )
        }
        Data::Union(_) => {
            return Err(syn::Error::new_spanned(name, "a union cannot be packed"));
        }
    };
    Ok(quote! {
        impl crate::base::pack::Pack for #name {
            fn pack(&self, out: &mut alloc::vec::Vec<u8>) { #write }
            fn unpack(from: &mut crate::base::pack::From<'_>) -> Self { #read }
        }
    })
}

/// The pattern that takes fields apart, and the calls that write them in order.
fn written(fields: &Fields) -> (Tokens, Tokens) {
    let names: Vec<_> = (0..fields.len()).map(|n| format_ident!("f{n}")).collect();
    let write = quote! { #(crate::base::pack::Pack::pack(#names, out);)* };
    let pattern = match fields {
        Fields::Named(named) => {
            let idents = named.named.iter().map(|f| &f.ident);
            quote! { { #(#idents: #names),* } }
        }
        Fields::Unnamed(_) => quote! { ( #(#names),* ) },
        Fields::Unit => quote! {},
    };
    (pattern, write)
}

/// The fields, read in order.
fn made(fields: &Fields) -> Tokens {
    let read = quote! { crate::base::pack::Pack::unpack(from) };
    match fields {
        Fields::Named(named) => {
            let idents = named.named.iter().map(|f| &f.ident);
            quote! { { #(#idents: #read),* } }
        }
        Fields::Unnamed(unnamed) => {
            let each = unnamed.unnamed.iter().map(|_| &read);
            quote! { ( #(#each),* ) }
        }
        Fields::Unit => quote! {},
    }
}
