//! What stands in a text and where, for forms that edit it by [`crate::edit`].

use std::ops::Range;

use toml_edit::{Document, Item, Table, Value};

use crate::edit::{find_in, headers};

/// A text of a study as keys and values, whether or not they make a study.
#[derive(Clone, Debug)]
pub struct Outline {
    document: Document<String>,
    text: String,
}

/// Why a text has no outline.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NoOutline {
    /// Line, counted from 1.
    pub line: usize,
    /// What is wrong.
    pub message: String,
}

/// A value as it is written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Shown {
    /// A text.
    Text(String),
    /// Anything else in one piece, as TOML: a number, `true`.
    Plain(String),
    /// A list of so many values.
    List(usize),
    /// A table.
    Table,
}

impl Outline {
    /// Reads a text.
    ///
    /// # Errors
    /// Where it is no TOML.
    pub fn of(text: &str) -> Result<Outline, NoOutline> {
        let document = Document::parse(text.to_owned()).map_err(|error| {
            let at = error.span().map_or(0, |span| span.start.min(text.len()));
            NoOutline {
                line: 1 + text.as_bytes()[..at]
                    .iter()
                    .filter(|byte| **byte == b'\n')
                    .count(),
                message: error.message().to_owned(),
            }
        })?;
        Ok(Outline {
            document,
            text: text.to_owned(),
        })
    }

    /// What stands at a place, such as `ladder.2.series.inductance`.
    pub fn get(&self, place: &str) -> Option<Shown> {
        let pieces: Vec<String> = place.split('.').map(str::to_owned).collect();
        if let Some(found) = find_in(&self.document, &pieces) {
            return Some(self.shown(found));
        }
        self.table(&pieces).map(|_| Shown::Table)
    }

    /// The text or plain value at a place; empty where there is none.
    pub fn text(&self, place: &str) -> String {
        match self.get(place) {
            Some(Shown::Text(text) | Shown::Plain(text)) => text,
            _ => String::new(),
        }
    }

    /// How many entries a list of tables or values has.
    pub fn count(&self, place: &str) -> usize {
        match self.get(place) {
            Some(Shown::List(count)) => count,
            _ => match self.document.as_table().get(place) {
                Some(Item::ArrayOfTables(list)) => list.len(),
                _ => 0,
            },
        }
    }

    /// The keys of a table, in the order of the text.
    pub fn keys(&self, place: &str) -> Vec<String> {
        let pieces: Vec<String> = place.split('.').map(str::to_owned).collect();
        if let Some(Value::InlineTable(table)) = find_in(&self.document, &pieces) {
            return table.iter().map(|(key, _)| key.to_owned()).collect();
        }
        let table = self.table(&pieces);
        table.map_or(Vec::new(), |table| {
            table.iter().map(|(key, _)| key.to_owned()).collect()
        })
    }

    /// The place whose value holds a byte of the text, as narrow as can be.
    pub fn place_of(&self, byte: usize) -> Option<String> {
        let mut path = Vec::new();
        in_table(self.document.as_table(), byte, &mut path).then(|| path.join("."))
    }

    /// The place at a line and a column in characters, both counted from 1: that of the value there, else that of the table or
    /// entry around it.
    pub fn place_at(&self, line: usize, column: usize) -> Option<String> {
        let range = self.line(line)?;
        let own = &self.text[range.clone()];
        let within: usize = own
            .chars()
            .take(column.saturating_sub(1))
            .map(char::len_utf8)
            .sum();
        let at = range.start + within;
        self.place_of(at).or_else(|| {
            let headers = headers(&self.document);
            let around = headers.iter().rfind(|header| header.at <= at)?;
            Some(around.path.join("."))
        })
    }

    /// The bytes of a line.
    fn line(&self, number: usize) -> Option<Range<usize>> {
        let mut start = 0;
        for (index, line) in self.text.split_inclusive('\n').enumerate() {
            if index + 1 == number {
                return Some(start..start + line.len());
            }
            start += line.len();
        }
        None
    }

    fn table(&self, place: &[String]) -> Option<&Table> {
        crate::edit::table_in(&self.document, place)
    }

    fn shown(&self, value: &Value) -> Shown {
        match value {
            Value::String(text) => Shown::Text(text.value().clone()),
            Value::Array(list) => Shown::List(list.len()),
            Value::InlineTable(_) => Shown::Table,
            other => Shown::Plain(
                other
                    .span()
                    .and_then(|span| self.text.get(span))
                    .unwrap_or_default()
                    .to_owned(),
            ),
        }
    }
}

fn in_table(table: &Table, byte: usize, path: &mut Vec<String>) -> bool {
    for (key, item) in table {
        path.push(key.to_owned());
        let found = match item {
            Item::Value(value) => in_value(value, byte, path),
            Item::Table(inner) => in_table(inner, byte, path),
            Item::ArrayOfTables(list) => list.iter().enumerate().any(|(number, inner)| {
                path.push(number.to_string());
                let found = in_table(inner, byte, path);
                if !found {
                    path.pop();
                }
                found
            }),
            Item::None => false,
        };
        if found {
            return true;
        }
        path.pop();
    }
    false
}

fn in_value(value: &Value, byte: usize, path: &mut Vec<String>) -> bool {
    if !value.span().is_some_and(|span| span.contains(&byte)) {
        return false;
    }
    let inner: Vec<(String, &Value)> = match value {
        Value::Array(list) => list
            .iter()
            .enumerate()
            .map(|(number, value)| (number.to_string(), value))
            .collect(),
        Value::InlineTable(table) => table.iter().map(|(key, value)| (key.to_owned(), value)).collect(),
        _ => Vec::new(),
    };
    for (key, value) in inner {
        path.push(key);
        if in_value(value, byte, path) {
            return true;
        }
        path.pop();
    }
    true
}
