//! What a piece of syntax is to the audit: number, temperature, message, test.

use proc_macro2::Span;
use syn::{Attribute, Expr, ExprLit, Lit, Meta, Type};

use super::mark::Mark;

/// How the words of a mark begin that stands as a variant in a row of a table.
pub(super) const ROW: &str = "row ";

/// True for a name that ends in a unit.
pub(super) fn tells_unit(name: &str) -> bool {
    const UNITS: [&str; 12] = [
        "_s", "_v", "_a", "_ohm", "_f", "_h", "_hz", "_c", "_k", "_j", "_w", "_a2s",
    ];
    UNITS.iter().any(|unit| name.ends_with(unit))
}

/// Line on which a piece of syntax begins, counted from 1.
pub(super) fn line(span: Span) -> usize {
    span.start().line
}

pub(super) fn documentation(attributes: &[Attribute]) -> String {
    let line = |attribute: &Attribute| match &attribute.meta {
        Meta::NameValue(pair) if pair.path.is_ident("doc") => match &pair.value {
            Expr::Lit(ExprLit {
                lit: Lit::Str(text), ..
            }) => Some(text.value().trim().to_owned()),
            _ => None,
        },
        _ => None,
    };
    attributes.iter().filter_map(line).collect::<Vec<_>>().join(" ")
}

pub(super) fn is_test(attributes: &[Attribute]) -> bool {
    attributes.iter().any(|attribute| {
        attribute.path().is_ident("test")
            || matches!(&attribute.meta, Meta::List(list) if list.path.is_ident("cfg")
                && list.tokens.to_string() == "test")
    })
}

/// True for a number, and for arrays, slices, tuples and ranges of numbers and names.
pub(super) fn is_numeric(of: &Type) -> bool {
    const NUMBERS: [&str; 9] = ["f64", "f32", "u8", "u32", "u64", "usize", "i32", "i64", "isize"];
    match of {
        Type::Path(path) => path.path.segments.last().is_some_and(|last| {
            NUMBERS.iter().any(|number| last.ident == number)
                || last.ident == "Range"
                || last.ident == "Levels"
        }),
        Type::Reference(inner) => is_numeric(&inner.elem),
        Type::Array(array) => is_numeric(&array.elem),
        Type::Slice(slice) => is_numeric(&slice.elem),
        // A name with its place in a list is no number.
        Type::Tuple(tuple) => tuple.elems.iter().any(|own| is_numeric(own) && !is_place(own)),
        _ => false,
    }
}

fn is_place(of: &Type) -> bool {
    matches!(of, Type::Path(path) if path.path.is_ident("usize"))
}

/// True for a number of degrees Celsius: what is called `…_c`, or a sum with it.
pub(super) fn is_celsius(of: &Expr) -> bool {
    let ends = |name: &syn::Ident| name.to_string().ends_with("_c");
    match of {
        Expr::Path(path) => path.path.get_ident().is_some_and(ends),
        Expr::Field(field) => matches!(&field.member, syn::Member::Named(name) if ends(name)),
        Expr::Paren(inner) => is_celsius(&inner.expr),
        _ => false,
    }
}

pub(super) fn is_25(of: &Expr) -> bool {
    matches!(of, Expr::Lit(ExprLit { lit: Lit::Float(number), .. }) if number.base10_digits() == "25.0")
}

/// Powers of ten.
pub(super) fn is_decade(value: f64) -> bool {
    let decade = value.log10();
    (decade - decade.round()).abs() < 1e-9
}

/// The weakest mark among direct arguments, messages and variants of `Mark`, with the message or, for a variant, the name
/// of the row.
pub(super) fn mark_among<'a>(arguments: impl Iterator<Item = &'a Expr> + Clone) -> Option<(Mark, String)> {
    let names: Vec<String> = arguments.clone().filter_map(text).collect();
    arguments
        .filter_map(|argument| {
            let own = text(argument).and_then(|text| Mark::in_text(&text).map(|mark| (mark, text)));
            own.or_else(|| Some((variant(argument)?, format!("{ROW}{}", names.join(", ")))))
        })
        .min_by_key(|found| found.0)
}

fn text(of: &Expr) -> Option<String> {
    match of {
        Expr::Lit(ExprLit {
            lit: Lit::Str(text), ..
        }) => Some(text.value()),
        _ => None,
    }
}

/// `Mark::…`.
fn variant(of: &Expr) -> Option<Mark> {
    let Expr::Path(path) = of else { return None };
    let mut last = path.path.segments.iter().rev();
    let (variant, owner) = (last.next()?, last.next()?);
    (owner.ident == "Mark")
        .then(|| Mark::of_variant(&variant.ident.to_string()))
        .flatten()
}

/// The words of a message: a string, or the template of a formatted one.
pub(super) fn words(of: &Expr) -> Option<String> {
    match of {
        Expr::Lit(_) => text(of),
        Expr::Reference(inner) => words(&inner.expr),
        Expr::Macro(template) => template.mac.tokens.clone().into_iter().find_map(|token| {
            let text: syn::LitStr = syn::parse_str(&token.to_string()).ok()?;
            Some(text.value())
        }),
        _ => None,
    }
}

/// Arguments of a call, if the expression is one.
pub(super) fn arguments(of: &Expr) -> Option<&syn::punctuated::Punctuated<Expr, syn::Token![,]>> {
    match of {
        Expr::Call(call) => Some(&call.args),
        Expr::MethodCall(call) => Some(&call.args),
        _ => None,
    }
}

/// A literal or the name of a variable.
pub(super) fn token(of: &Expr) -> Option<String> {
    match of {
        Expr::Lit(ExprLit {
            lit: Lit::Float(number),
            ..
        }) => Some(number.base10_digits().to_owned()),
        Expr::Lit(ExprLit {
            lit: Lit::Int(number),
            ..
        }) => Some(number.base10_digits().to_owned()),
        Expr::Unary(unary) => token(&unary.expr),
        Expr::Path(path) => path.path.get_ident().map(ToString::to_string),
        _ => None,
    }
}
