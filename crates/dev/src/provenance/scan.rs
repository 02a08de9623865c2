//! Walks a Rust source and gathers every number that stands for something physical, with the mark it carries.
//!
//! The rule. Counted are:
//!
//! - every number in a `const` or `static` whose type is a number or is made of numbers (array, slice, tuple, range);
//! - in other constants and in function bodies every number but 0, 1, 2, a half and powers of ten, which are signs,
//!   counts and units (a power of ten that stands beside a message with a mark counts). Whole numbers without a decimal point count only where they are handed on as a value (argument of
//!   a call, field, element), not as indices, bounds or exponents. What a temperature (a name in `_c`) is above or below
//!   25.0, to which all data sheets refer, is a unit too.
//!
//! Not counted are tests, patterns, places in arrays, ranges, whole-number powers, and macros with a grammar of their own.
//!
//! The mark of a number is the nearest of: the comment behind its line; a message with a mark, or the catalogue's own
//! `Mark`, in the same call, tuple or row; a later call in the same block that names the number or the variable it is
//! bound to beside a message with a mark; the comment above the element, field, arm or statement it stands in; the
//! documentation of its function or constant.

use syn::spanned::Spanned;
use syn::visit::{self, Visit};
use syn::{Attribute, Expr, ExprLit, Lit, Pat, Stmt, Type};

use super::comments::Comments;
use super::mark::{Mark, sentence_with_mark};
use super::syntax::{
    ROW, arguments, documentation, is_25, is_celsius, is_decade, is_numeric, is_test, line, mark_among,
    tells_unit, token, words,
};

/// One number of a source file, or what the catalogue says of a disturbance (then `text` is empty).
#[derive(Clone, Debug, PartialEq)]
pub struct Number {
    /// Constant or function it stands in, with its type's name if it has one.
    pub item: String,
    /// True in a constant.
    pub constant: bool,
    /// Name of the field it is put into, or of the variable if that tells the unit.
    pub place: Option<String>,
    /// The number as written, without the suffix of its type.
    pub text: String,
    /// Line, counted from 1.
    pub line: usize,
    /// The mark with the words that carry it; `None` for a number without one.
    pub mark: Option<(Mark, String)>,
}

/// Every number of a source text that counts.
///
/// # Errors
/// What `syn` says where the text is no Rust.
pub fn numbers(text: &str) -> syn::Result<Vec<Number>> {
    let file = syn::parse_file(text)?;
    let mut scan = Scan {
        comments: Comments::of(text),
        owner: None,
        item: None,
        scopes: Vec::new(),
        place: None,
        handed_on: false,
        spoken_of: false,
        found: Vec::new(),
    };
    scan.visit_file(&file);
    Ok(scan.found)
}

/// Where a mark may come from, from the outside inwards.
enum Scope {
    /// A mark with its words.
    Marked(Mark, String),
    /// Numbers and variables that a call of the block names beside a message with a mark.
    Noted(Vec<(String, Mark, String)>),
}

struct Item {
    name: String,
    documentation: String,
    constant: bool,
    every_number: bool,
}

struct Scan {
    comments: Comments,
    owner: Option<String>,
    item: Option<Item>,
    scopes: Vec<Scope>,
    place: Option<String>,
    handed_on: bool,
    spoken_of: bool,
    found: Vec<Number>,
}

impl Scan {
    fn within(&mut self, scope: Option<(Mark, String)>, visit: impl FnOnce(&mut Self)) {
        let depth = self.scopes.len();
        self.scopes
            .extend(scope.map(|(mark, words)| Scope::Marked(mark, words)));
        visit(self);
        self.scopes.truncate(depth);
    }

    /// The mark of the comment above a line.
    fn above(&self, line: usize) -> Option<(Mark, String)> {
        let text = self.comments.above(line);
        Mark::in_text(&text).map(|mark| (mark, text))
    }

    fn item(&mut self, mut item: Item, attributes: &[Attribute], visit: impl FnOnce(&mut Self)) {
        if is_test(attributes) {
            return;
        }
        let text = documentation(attributes);
        item.documentation.clone_from(&text);
        let words = if item.constant {
            text.clone()
        } else {
            sentence_with_mark(&text)
        };
        let (item, scopes) = (self.item.replace(item), std::mem::take(&mut self.scopes));
        self.within(Mark::in_text(&text).map(|mark| (mark, words)), visit);
        (self.item, self.scopes) = (item, scopes);
    }

    fn named(&self, name: &syn::Ident) -> String {
        match &self.owner {
            Some(owner) => format!("{owner}::{name}"),
            None => name.to_string(),
        }
    }

    fn constant(&mut self, name: &syn::Ident, of: &Type, attributes: &[Attribute], value: &Expr) {
        let item = Item {
            name: self.named(name),
            documentation: String::new(),
            constant: true,
            every_number: is_numeric(of),
        };
        self.item(item, attributes, |scan| scan.value(value));
    }

    fn function(&mut self, name: &syn::Ident, attributes: &[Attribute], block: &syn::Block) {
        let item = Item {
            name: self.named(name),
            documentation: String::new(),
            constant: false,
            every_number: false,
        };
        self.item(item, attributes, |scan| scan.visit_block(block));
    }

    /// An expression that is handed on: argument, field, element.
    fn value(&mut self, of: &Expr) {
        let before = std::mem::replace(&mut self.handed_on, true);
        let scope = self.above(line(of.span()));
        self.within(scope, |scan| scan.visit_expr(of));
        self.handed_on = before;
    }

    fn values<'a>(&mut self, of: impl Iterator<Item = &'a Expr> + Clone) {
        let mut scope = mark_among(of.clone());
        if let (Some((_, words)), Some(item)) = (&mut scope, &self.item)
            && words.starts_with(ROW)
            && !item.documentation.is_empty()
        {
            // What the table says of its rows.
            *words = format!("{words}: {}", item.documentation);
        }
        let before = std::mem::replace(&mut self.spoken_of, scope.is_some());
        self.within(scope, |scan| of.for_each(|value| scan.value(value)));
        self.spoken_of = before;
    }

    /// `.sourced("what", "source", Mark::…)`: what the catalogue says of a disturbance.
    fn note(&mut self, call: &syn::ExprMethodCall) {
        let [what, source, mark] = [0, 1, 2].map(|k| call.args.get(k));
        let (Some(what), Some(source), Some(mark)) = (what.and_then(words), source.and_then(words), mark)
        else {
            return;
        };
        let Some((mark, _)) = mark_among(std::iter::once(mark)) else {
            return;
        };
        // A note may itself own up to a weaker origin.
        let mark = Mark::in_text(&source).map_or(mark, |said| said.min(mark));
        if let Some(item) = &self.item {
            self.found.push(Number {
                item: item.name.clone(),
                constant: false,
                place: None,
                text: String::new(),
                line: line(call.method.span()),
                mark: Some((mark, format!("{what}: {source}"))),
            });
        }
    }

    fn take(&mut self, text: String, value: f64, whole: bool, line: usize) {
        let Some(item) = &self.item else { return };
        let sign = [0.0, 0.5, 1.0, 2.0].contains(&value);
        let unit = is_decade(value) && !self.spoken_of;
        if !item.every_number && (sign || unit || (whole && !self.handed_on)) {
            return;
        }
        let behind = self.comments.behind(line);
        let mark = Mark::in_text(behind)
            .map(|mark| (mark, behind.to_owned()))
            .or_else(|| self.scopes.iter().rev().find_map(|scope| scope.mark_of(&text)));
        self.found.push(Number {
            item: item.name.clone(),
            constant: item.constant,
            place: self.place.clone(),
            text,
            line,
            mark,
        });
    }
}

impl Scope {
    fn mark_of(&self, text: &str) -> Option<(Mark, String)> {
        match self {
            Scope::Marked(mark, words) => Some((*mark, words.clone())),
            Scope::Noted(noted) => {
                let found = noted.iter().find(|(token, ..)| token == text)?;
                Some((found.1, found.2.clone()))
            }
        }
    }
}

impl<'a> Visit<'a> for Scan {
    fn visit_item_const(&mut self, of: &'a syn::ItemConst) {
        self.constant(&of.ident, &of.ty, &of.attrs, &of.expr);
    }

    fn visit_impl_item_const(&mut self, of: &'a syn::ImplItemConst) {
        self.constant(&of.ident, &of.ty, &of.attrs, &of.expr);
    }

    fn visit_item_static(&mut self, of: &'a syn::ItemStatic) {
        self.constant(&of.ident, &of.ty, &of.attrs, &of.expr);
    }

    fn visit_item_fn(&mut self, of: &'a syn::ItemFn) {
        self.function(&of.sig.ident, &of.attrs, &of.block);
    }

    fn visit_impl_item_fn(&mut self, of: &'a syn::ImplItemFn) {
        self.function(&of.sig.ident, &of.attrs, &of.block);
    }

    fn visit_trait_item_fn(&mut self, of: &'a syn::TraitItemFn) {
        if let Some(block) = &of.default {
            self.function(&of.sig.ident, &of.attrs, block);
        }
    }

    fn visit_trait_item_const(&mut self, of: &'a syn::TraitItemConst) {
        if let Some((_, value)) = &of.default {
            self.constant(&of.ident, &of.ty, &of.attrs, value);
        }
    }

    fn visit_item_impl(&mut self, of: &'a syn::ItemImpl) {
        let owner = match &*of.self_ty {
            Type::Path(path) => path.path.segments.last().map(|last| last.ident.to_string()),
            _ => None,
        };
        let before = std::mem::replace(&mut self.owner, owner);
        visit::visit_item_impl(self, of);
        self.owner = before;
    }

    fn visit_item_mod(&mut self, of: &'a syn::ItemMod) {
        if !is_test(&of.attrs) {
            visit::visit_item_mod(self, of);
        }
    }

    fn visit_attribute(&mut self, _: &'a Attribute) {}

    fn visit_macro(&mut self, of: &'a syn::Macro) {
        // `vec![…]`, `format!(…)` and the like hold expressions; what does not parse as such is a grammar of its own.
        let list = syn::punctuated::Punctuated::<Expr, syn::Token![,]>::parse_terminated;
        if let Ok(values) = of.parse_body_with(list) {
            let mut inner = Scan {
                comments: std::mem::take(&mut self.comments),
                scopes: std::mem::take(&mut self.scopes),
                item: self.item.take(),
                place: self.place.clone(),
                owner: None,
                handed_on: false,
                spoken_of: false,
                found: Vec::new(),
            };
            inner.values(values.iter());
            (self.comments, self.scopes, self.item) = (inner.comments, inner.scopes, inner.item);
            self.found.append(&mut inner.found);
        }
    }

    fn visit_pat(&mut self, _: &'a Pat) {}

    fn visit_type(&mut self, _: &'a Type) {}

    fn visit_block(&mut self, of: &'a syn::Block) {
        let mut noted = Vec::new();
        for statement in &of.stmts {
            if let Stmt::Expr(expression, _) = statement
                && let Some(arguments) = arguments(expression)
                && let Some((mark, words)) = mark_among(arguments.iter())
            {
                let tokens = arguments.iter().filter_map(token);
                noted.extend(tokens.map(|token| (token, mark, words.clone())));
            }
        }
        let depth = self.scopes.len();
        self.scopes.push(Scope::Noted(noted));
        let handed_on = std::mem::replace(&mut self.handed_on, false);
        for statement in &of.stmts {
            let variable = match statement {
                Stmt::Local(local) => match &local.pat {
                    Pat::Ident(name) => Some(name.ident.to_string()),
                    _ => None,
                },
                _ => None,
            };
            let bound = variable
                .as_ref()
                .and_then(|name| self.scopes[depth].mark_of(name));
            let before = self.place.take();
            self.place = variable.filter(|name| tells_unit(name));
            let scope = self.above(line(statement.span())).or(bound);
            self.within(scope, |scan| scan.visit_stmt(statement));
            self.place = before;
        }
        self.handed_on = handed_on;
        self.scopes.truncate(depth);
    }

    fn visit_arm(&mut self, of: &'a syn::Arm) {
        let scope = self.above(line(of.span()));
        self.within(scope, |scan| {
            scan.value(&of.body);
            if let Some((_, guard)) = &of.guard {
                scan.visit_expr(guard);
            }
        });
    }

    fn visit_field_value(&mut self, of: &'a syn::FieldValue) {
        let scope = self.above(line(of.span()));
        let place = match &of.member {
            syn::Member::Named(name) => Some(name.to_string()),
            syn::Member::Unnamed(_) => None,
        };
        let before = std::mem::replace(&mut self.place, place);
        self.within(scope, |scan| scan.value(&of.expr));
        self.place = before;
    }

    fn visit_expr_call(&mut self, of: &'a syn::ExprCall) {
        self.visit_expr(&of.func);
        self.values(of.args.iter());
    }

    fn visit_expr_method_call(&mut self, of: &'a syn::ExprMethodCall) {
        self.visit_expr(&of.receiver);
        if of.method == "sourced" {
            self.note(of);
        }
        let counts = ["powi", "rounded", "take", "skip", "step_by", "nth"];
        if !counts.iter().any(|name| of.method == name) {
            let scope = self.above(line(of.method.span()));
            self.within(scope, |scan| scan.values(of.args.iter()));
        }
    }

    fn visit_expr_tuple(&mut self, of: &'a syn::ExprTuple) {
        self.values(of.elems.iter());
    }

    fn visit_expr_array(&mut self, of: &'a syn::ExprArray) {
        of.elems.iter().for_each(|value| self.value(value));
    }

    fn visit_expr_repeat(&mut self, of: &'a syn::ExprRepeat) {
        self.value(&of.expr);
    }

    fn visit_expr_index(&mut self, of: &'a syn::ExprIndex) {
        self.visit_expr(&of.expr);
    }

    fn visit_expr_range(&mut self, of: &'a syn::ExprRange) {
        // A range of a constant is made of its values; one in a function bounds a loop or a slice.
        if self.item.as_ref().is_some_and(|item| item.constant) {
            visit::visit_expr_range(self, of);
        }
    }

    fn visit_expr_binary(&mut self, of: &'a syn::ExprBinary) {
        if is_celsius(&of.left) && is_25(&of.right) {
            return;
        }
        let before = std::mem::replace(&mut self.handed_on, false);
        visit::visit_expr_binary(self, of);
        self.handed_on = before;
    }

    fn visit_expr_lit(&mut self, of: &'a ExprLit) {
        let at = line(of.span());
        match &of.lit {
            Lit::Float(number) => {
                if let Ok(value) = number.base10_parse::<f64>() {
                    self.take(number.base10_digits().to_owned(), value, false, at);
                }
            }
            Lit::Int(number) => {
                if let Ok(value) = number.base10_parse::<f64>() {
                    self.take(number.base10_digits().to_owned(), value, true, at);
                }
            }
            _ => {}
        }
    }
}
