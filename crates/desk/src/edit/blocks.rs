//! The blocks of a text: each table header with the comment above it and everything below it, up to the next.

use std::ops::Range;

use toml_edit::{Document, Item, Table};

/// A table header.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Header {
    /// Keys and positions that lead to the table.
    pub path: Vec<String>,
    /// Byte at which the header stands.
    pub at: usize,
}

/// Every header of a text, in the order of the text.
pub fn headers(document: &Document<String>) -> Vec<Header> {
    let mut found = Vec::new();
    collect(document.as_table(), &mut Vec::new(), &mut found);
    found.sort_by_key(|header| header.at);
    found
}

fn collect(table: &Table, path: &mut Vec<String>, found: &mut Vec<Header>) {
    for (key, item) in table {
        path.push(key.to_owned());
        match item {
            Item::Table(inner) => one(inner, path, found),
            Item::ArrayOfTables(list) => {
                for (number, inner) in list.iter().enumerate() {
                    path.push(number.to_string());
                    one(inner, path, found);
                    path.pop();
                }
            }
            Item::None | Item::Value(_) => {}
        }
        path.pop();
    }
}

fn one(table: &Table, path: &mut Vec<String>, found: &mut Vec<Header>) {
    // A table without a header of its own is there because of a longer one, or of a dotted key.
    if !table.is_implicit()
        && !table.is_dotted()
        && let Some(span) = table.span()
    {
        found.push(Header {
            path: path.clone(),
            at: span.start,
        });
    }
    collect(table, path, found);
}

/// Start of the line that byte `at` stands in.
pub fn line_start(text: &str, at: usize) -> usize {
    text[..at].rfind('\n').map_or(0, |end| end + 1)
}

/// Start of the line after the one that byte `at` stands in.
pub fn line_end(text: &str, at: usize) -> usize {
    text[at..].find('\n').map_or(text.len(), |end| at + end + 1)
}

/// Where the block of a header begins: at the first line of the comment right above it.
pub fn block_start(text: &str, header: usize) -> usize {
    let mut start = line_start(text, header);
    while start > 0 {
        let above = line_start(text, start - 1);
        if !text[above..start].trim_start().starts_with('#') {
            break;
        }
        start = above;
    }
    start
}

/// The block of a table: its header with the comment above, its keys, and the tables within it.
pub fn block(text: &str, headers: &[Header], path: &[String]) -> Option<Range<usize>> {
    let number = headers.iter().position(|header| header.path == path)?;
    let next = headers[number + 1..]
        .iter()
        .find(|header| !header.path.starts_with(path));
    let end = next.map_or(text.len(), |header| block_start(text, header.at));
    Some(block_start(text, headers[number].at)..end)
}
