//! Places in a text: keys and positions joined by points.

use std::ops::Range;

use toml_edit::{Document, Item, Value};

/// What stands at a place.
#[derive(Clone, Copy, Debug)]
pub enum Found<'d> {
    /// A value, or a table or list with headers of its own.
    Item(&'d Item),
    /// A value within a list or table in one line.
    Value(&'d Value),
}

impl<'d> Found<'d> {
    /// What stands at a key or position within it.
    fn step(self, piece: &str) -> Option<Found<'d>> {
        let position = || piece.parse::<usize>().ok();
        match self {
            Found::Item(Item::Value(value)) | Found::Value(value) => match value {
                Value::Array(list) => list.get(position()?).map(Found::Value),
                Value::InlineTable(table) => table.get(piece).map(Found::Value),
                _ => None,
            },
            Found::Item(Item::Table(table)) => table.get(piece).map(Found::Item),
            // A table of a list is no item: it is reached together with the key that follows.
            Found::Item(_) => None,
        }
    }

    /// It as a value.
    pub fn value(self) -> Option<&'d Value> {
        match self {
            Found::Item(item) => item.as_value(),
            Found::Value(value) => Some(value),
        }
    }

    /// The bytes of a value.
    pub fn span(self) -> Option<Range<usize>> {
        self.value()?.span()
    }
}

/// The pieces of a place.
pub fn pieces(place: &str) -> Vec<String> {
    place.split('.').map(str::to_owned).collect()
}

/// What stands at a place.
pub fn find<'d>(document: &'d Document<String>, place: &[String]) -> Option<Found<'d>> {
    let mut at = Found::Item(document.as_item());
    let mut rest = place;
    while let Some((first, after)) = rest.split_first() {
        if let Found::Item(Item::ArrayOfTables(list)) = at {
            let table = list.get(first.parse().ok()?)?;
            let (key, after) = after.split_first()?;
            at = Found::Item(table.get(key)?);
            rest = after;
        } else {
            at = at.step(first)?;
            rest = after;
        }
    }
    Some(at)
}

/// The table with a header, or the text's own, that a place leads to.
pub fn table<'d>(document: &'d Document<String>, place: &[String]) -> Option<&'d toml_edit::Table> {
    let mut at = document.as_table();
    let mut rest = place;
    while let Some((key, after)) = rest.split_first() {
        match at.get(key)? {
            Item::Table(table) => {
                at = table;
                rest = after;
            }
            Item::ArrayOfTables(list) => {
                let (position, after) = after.split_first()?;
                at = list.get(position.parse().ok()?)?;
                rest = after;
            }
            Item::None | Item::Value(_) => return None,
        }
    }
    Some(at)
}

/// The value at a place.
pub fn find_value<'d>(document: &'d Document<String>, place: &[String]) -> Option<&'d Value> {
    find(document, place)?.value()
}
