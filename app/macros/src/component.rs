//! `#[component]`: the arguments become a builder that does not compile while one is missing.

use proc_macro2::TokenStream;
use quote::{format_ident, quote};
use syn::punctuated::Punctuated;
use syn::{Attribute, Expr, FnArg, Ident, ItemFn, Meta, Pat, Token, Type};

/// One argument.
struct Prop {
    name: Ident,
    of: Type,
    docs: Vec<Attribute>,
    builder: TokenStream,
}

/// What `#[prop(..)]` says, in the builder's words.
fn builder_of(attrs: &[Attribute], of: &Type) -> syn::Result<TokenStream> {
    let (mut into, mut default) = (false, None);
    for attr in attrs.iter().filter(|a| a.path().is_ident("prop")) {
        for meta in attr.parse_args_with(Punctuated::<Meta, Token![,]>::parse_terminated)? {
            match &meta {
                Meta::Path(path) if path.is_ident("into") => into = true,
                Meta::Path(path) if path.is_ident("optional") => default = Some(quote!(default)),
                Meta::NameValue(pair) if pair.path.is_ident("default") => {
                    let value: &Expr = &pair.value;
                    default = Some(quote!(default = #value));
                }
                other => {
                    return Err(syn::Error::new_spanned(
                        other,
                        "into, optional, or default = value",
                    ));
                }
            }
        }
    }
    // `Option<T>` that may be left out is given as `T`.
    let bare = default.is_some()
        && matches!(of, Type::Path(path) if path.path.segments.last().is_some_and(|s| s.ident == "Option"));
    let setter = match (into, bare) {
        (true, true) => Some(quote!(setter(into, strip_option))),
        (true, false) => Some(quote!(setter(into))),
        (false, true) => Some(quote!(setter(strip_option))),
        (false, false) => None,
    };
    let says: Punctuated<TokenStream, Token![,]> = default.into_iter().chain(setter).collect();
    Ok(if says.is_empty() {
        quote!()
    } else {
        quote!(#[builder(#says)])
    })
}

pub fn expand(item: TokenStream) -> syn::Result<TokenStream> {
    let mut item: ItemFn = syn::parse2(item)?;
    let name = item.sig.ident.clone();
    let props_name = format_ident!("{name}Props");
    let inner = format_ident!("{}_body", name.to_string().to_lowercase());
    let vis = item.vis.clone();
    let (docs, kept): (Vec<_>, Vec<_>) =
        item.attrs.drain(..).partition(|a| a.path().is_ident("doc"));
    item.attrs = kept;
    let mut props = Vec::new();
    for arg in &mut item.sig.inputs {
        let FnArg::Typed(arg) = arg else {
            return Err(syn::Error::new_spanned(arg, "a component has no self"));
        };
        let Pat::Ident(pat) = &*arg.pat else {
            return Err(syn::Error::new_spanned(&arg.pat, "a plain name"));
        };
        let builder = builder_of(&arg.attrs, &arg.ty)?;
        let docs = arg.attrs.iter().filter(|a| a.path().is_ident("doc"));
        props.push(Prop {
            name: pat.ident.clone(),
            of: (*arg.ty).clone(),
            docs: docs.cloned().collect(),
            builder,
        });
        arg.attrs.clear();
    }
    let names: Vec<_> = props.iter().map(|p| &p.name).collect();
    let fields = props.iter().map(|p| {
        let (name, of, docs, builder) = (&p.name, &p.of, &p.docs, &p.builder);
        quote!(#(#docs)* #builder #vis #name: #of)
    });
    item.sig.ident = inner.clone();
    item.vis = syn::Visibility::Inherited;
    Ok(quote! {
        #(#docs)*
        #vis struct #name;

        #[doc = concat!("What [`", stringify!(#name), "`] is given.")]
        #[derive(::leptos::typed_builder_macro::TypedBuilder)]
        #[builder(crate_module_path = ::leptos::typed_builder)]
        #vis struct #props_name { #(#fields),* }

        impl ::pinfold_app::shape::Part for #name {
            type Props = #props_name;

            fn draw(props: #props_name) -> ::pinfold_app::shape::Shape {
                let #props_name { #(#names),* } = props;
                ::pinfold_app::shape::quiet(move || ::pinfold_app::shape::IntoShape::into_shape(#inner(#(#names),*)))
            }
        }

        // What is given is named where it is given, and the builder sees that all of it is there.
        #[allow(clippy::too_many_arguments, reason = "each is named where it is given")]
        #item
    })
}
