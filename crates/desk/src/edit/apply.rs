//! Edits on a text.

use std::ops::Range;

use toml_edit::{Document, Item, Table, Value as Written};

use super::blocks::{block, headers, line_end, line_start};
use super::place::{find, pieces, table};
use super::value::written_key;
use super::{Edit, Entry, Patch, Value};
use crate::failure::Failure;

/// The patch that an edit is on a text.
///
/// # Errors
/// Where the text is no TOML, or has nothing at the place.
pub fn apply(text: &str, edit: &Edit) -> Result<Patch, Failure> {
    if let Edit::Text { text: new } = edit {
        return Ok(Patch::between(text, new));
    }
    let document = parse(text)?;
    let (range, new) = match edit {
        Edit::Text { .. } => (0..0, String::new()),
        Edit::Set { at, value } => set(text, &document, &place(at)?, value)?,
        Edit::Unset { at } => unset(text, &document, &place(at)?)?,
        Edit::Insert { list, at, entry } => insert(text, &document, list, *at, entry)?,
        Edit::Remove { list, at } => {
            let range = entry_block(text, &document, list, *at)?;
            (remove_block(text, range), String::new())
        }
        Edit::Move { list, from, to } => return moved(text, &document, list, *from, *to),
    };
    let changed = format!("{}{new}{}", &text[..range.start], &text[range.end..]);
    // What was written is TOML by construction; if it is not, nothing is changed.
    parse(&changed)?;
    Ok(Patch::between(text, &changed))
}

/// The patch that several edits are, each made on what the one before left.
///
/// # Errors
/// As [`apply`]; no edit is made then.
pub fn apply_all(text: &str, edits: &[Edit]) -> Result<Patch, Failure> {
    let mut now = text.to_owned();
    for edit in edits {
        let patch = apply(&now, edit)?;
        now = patch.on(&now).unwrap_or(now);
    }
    Ok(Patch::between(text, &now))
}

fn parse(text: &str) -> Result<Document<String>, Failure> {
    Document::parse(text.to_owned()).map_err(|error| {
        let at = error.span().map_or(0, |span| span.start.min(text.len()));
        let line = 1 + text.as_bytes()[..at]
            .iter()
            .filter(|byte| **byte == b'\n')
            .count();
        Failure::usage(
            format!(
                "the text cannot be read as TOML in line {line}: {}",
                error.message()
            ),
            "correct the text itself; single values cannot be changed before",
        )
    })
}

/// The pieces of a place that an edit names. A key without a name is TOML, but nothing of a study.
fn place(at: &str) -> Result<Vec<String>, Failure> {
    let pieces = pieces(at);
    if pieces.iter().any(String::is_empty) {
        return Err(nothing_at(&pieces));
    }
    Ok(pieces)
}

fn nothing_at(place: &[String]) -> Failure {
    Failure::usage(
        format!("there is nothing at `{}` in the study", place.join(".")),
        "the text may have changed meanwhile: reload the page",
    )
}

/// The text's own end of line.
fn newline(text: &str) -> &'static str {
    if text.contains("\r\n") { "\r\n" } else { "\n" }
}

type Change = (Range<usize>, String);

fn set(text: &str, document: &Document<String>, place: &[String], value: &Value) -> Result<Change, Failure> {
    if let Some(found) = find(document, place) {
        return match found.span() {
            Some(span) => Ok((span, value.to_string())),
            None => Err(Failure::usage(
                format!("`{}` is a table with a header of its own", place.join(".")),
                "change its keys one by one, or the text itself",
            )),
        };
    }
    let Some((key, parent)) = place.split_last() else {
        return Err(nothing_at(place));
    };
    let line = format!("{} = {value}", written_key(key));
    if parent.is_empty() {
        return Ok(add_line(text, document.as_table(), 0, &line));
    }
    if let Some(inner) = find(document, parent).and_then(|found| found.value()) {
        return match inner {
            Written::InlineTable(inner) => add_inline(text, inner, &line).ok_or_else(|| nothing_at(place)),
            // One more at the end of a list.
            Written::Array(list) if key.parse() == Ok(list.len()) => {
                append(text, list, value).ok_or_else(|| nothing_at(place))
            }
            _ => Err(nothing_at(place)),
        };
    }
    if let Some(found) = table(document, parent) {
        let header = found.span().map_or(0, |span| span.start);
        if found.is_implicit() || found.is_dotted() {
            // Its keys stand in tables further out, dotted.
            let dotted: Vec<String> = place.iter().map(|piece| written_key(piece)).collect();
            return Ok(add_line(
                text,
                document.as_table(),
                0,
                &format!("{} = {value}", dotted.join(".")),
            ));
        }
        return Ok(add_line(text, found, line_end(text, header), &line));
    }
    // A table that is not there: one in the top level gets a header, one within an entry stands in one line.
    match parent {
        [name] if name.parse::<usize>().is_err() => {
            let n = newline(text);
            let gap = gap_at_end(text);
            Ok((
                text.len()..text.len(),
                format!("{gap}[{}]{n}{line}{n}", written_key(name)),
            ))
        }
        [.., name] if name.parse::<usize>().is_err() => {
            let inner = Value::Table(Entry(vec![(key.clone(), value.clone())]));
            set(text, document, parent, &inner)
        }
        _ => Err(nothing_at(place)),
    }
}

/// Ends of line between the end of a text and a new block.
fn gap_at_end(text: &str) -> String {
    let n = newline(text);
    match text {
        "" => String::new(),
        _ if text.ends_with("\n\n") || text.ends_with("\r\n\r\n") => String::new(),
        _ if text.ends_with('\n') => n.to_owned(),
        _ => format!("{n}{n}"),
    }
}

/// A new line behind the last key of a table, or at `first` where it has none.
fn add_line(text: &str, table: &Table, first: usize, line: &str) -> Change {
    let n = newline(text);
    let last = last_value(table).map(|end| line_end(text, end));
    let at = last.unwrap_or(first);
    let before = if at > 0 && !text[..at].ends_with('\n') {
        n
    } else {
        ""
    };
    // A first key of the text's own table keeps its distance from what follows.
    let after = if last.is_none() && at == 0 && !text.is_empty() {
        n
    } else {
        ""
    };
    (at..at, format!("{before}{line}{n}{after}"))
}

/// End of the last value that stands directly in a table, dotted keys included.
fn last_value(table: &Table) -> Option<usize> {
    let ends = table.iter().filter_map(|(_, item)| match item {
        Item::Value(value) => value.span().map(|span| span.end),
        Item::Table(inner) if inner.is_dotted() => last_value(inner),
        _ => None,
    });
    ends.max()
}

fn add_inline(text: &str, table: &toml_edit::InlineTable, pair: &str) -> Option<Change> {
    let ends = table
        .iter()
        .filter_map(|(_, value)| value.span())
        .map(|span| span.end);
    if let Some(end) = ends.max() {
        return Some((end..end, format!(", {pair}")));
    }
    let span = table.span()?;
    text[span.clone()]
        .starts_with('{')
        .then(|| (span, format!("{{ {pair} }}")))
}

fn append(text: &str, list: &toml_edit::Array, value: &Value) -> Option<Change> {
    let ends = list.iter().filter_map(|value| value.span()).map(|span| span.end);
    if let Some(end) = ends.max() {
        return Some((end..end, format!(", {value}")));
    }
    let start = list.span()?.start + 1;
    text[..start]
        .ends_with('[')
        .then(|| (start..start, value.to_string()))
}

fn unset(text: &str, document: &Document<String>, place: &[String]) -> Result<Change, Failure> {
    let missing = || nothing_at(place);
    let found = find(document, place).ok_or_else(missing)?;
    let value = found.span().ok_or_else(|| {
        Failure::usage(
            format!("`{}` is a table with a header of its own", place.join(".")),
            "remove its keys one by one, or change the text itself",
        )
    })?;
    let (key, parent) = place.split_last().ok_or_else(missing)?;
    match find(document, parent).and_then(|found| found.value()) {
        Some(Written::Array(_)) => Ok((with_comma(text, value), String::new())),
        Some(Written::InlineTable(inner)) => {
            let start = inner.get_key_value(key).and_then(|(key, _)| key.span());
            let start = start.ok_or_else(missing)?.start;
            Ok((with_comma(text, start..value.end), String::new()))
        }
        _ => {
            let owner = table(document, parent).ok_or_else(missing)?;
            let start = owner.get_key_value(key).and_then(|(key, _)| key.span());
            let start = start.ok_or_else(missing)?.start;
            Ok((line_start(text, start)..line_end(text, value.end), String::new()))
        }
    }
}

/// A piece of a list in one line with one comma beside it.
fn with_comma(text: &str, range: Range<usize>) -> Range<usize> {
    let after = &text[range.end..];
    let rest = after.trim_start();
    if let Some(behind) = rest.strip_prefix(',') {
        let behind = behind.trim_start_matches([' ', '\t']);
        return range.start..text.len() - behind.len();
    }
    let before = text[..range.start].trim_end();
    match before.strip_suffix(',') {
        Some(before) => before.len()..range.end,
        None => range,
    }
}

/// Number of entries of a list of tables; `None` where it is no list of tables.
fn entries(document: &Document<String>, list: &str) -> Option<usize> {
    match document.as_table().get(list) {
        None => Some(0),
        Some(Item::ArrayOfTables(list)) => Some(list.len()),
        Some(_) => None,
    }
}

fn entry_block(
    text: &str,
    document: &Document<String>,
    list: &str,
    at: usize,
) -> Result<Range<usize>, Failure> {
    let path = [list.to_owned(), at.to_string()];
    block(text, &headers(document), &path).ok_or_else(|| nothing_at(&path))
}

/// The range of a block that goes: at the end of a text the empty lines before it go as well.
fn remove_block(text: &str, range: Range<usize>) -> Range<usize> {
    if range.end < text.len() {
        return range;
    }
    let kept = text[..range.start].trim_end();
    match kept.len() {
        0 => 0..range.end,
        end => line_end(text, end - 1).min(range.start)..range.end,
    }
}

fn insert(
    text: &str,
    document: &Document<String>,
    list: &str,
    at: usize,
    Entry(keys): &Entry,
) -> Result<Change, Failure> {
    let count = entries(document, list).ok_or_else(|| {
        Failure::usage(
            format!("`{list}` is no list of tables with headers"),
            "change the text itself",
        )
    })?;
    let n = newline(text);
    let mut new = format!("[[{}]]{n}", written_key(list));
    for (key, value) in keys {
        new.push_str(&format!("{} = {value}{n}", written_key(key)));
    }
    let place = if at < count {
        entry_block(text, document, list, at)?.start
    } else if count > 0 {
        entry_block(text, document, list, count - 1)?.end
    } else {
        text.len()
    };
    Ok((place..place, parted(text, place, &new)))
}

/// A block with the empty lines that part it from what stands before and behind `place`.
fn parted(text: &str, place: usize, block: &str) -> String {
    let n = newline(text);
    let before = gap_at_end(&text[..place]);
    let after = if place < text.len() { n } else { "" };
    format!("{before}{}{n}{after}", block.trim_end())
}

fn moved(
    text: &str,
    document: &Document<String>,
    list: &str,
    from: usize,
    to: usize,
) -> Result<Patch, Failure> {
    let count = entries(document, list).unwrap_or(0);
    let to = to.min(count.saturating_sub(1));
    let range = entry_block(text, document, list, from)?;
    if from == to {
        return Ok(Patch::default());
    }
    let piece = text[range.clone()].to_owned();
    let rest = {
        let range = remove_block(text, range);
        format!("{}{}", &text[..range.start], &text[range.end..])
    };
    let left = parse(&rest)?;
    let place = if to < count - 1 {
        entry_block(&rest, &left, list, to)?.start
    } else {
        entry_block(&rest, &left, list, count - 2)?.end
    };
    let changed = format!(
        "{}{}{}",
        &rest[..place],
        parted(&rest, place, &piece),
        &rest[place..]
    );
    parse(&changed)?;
    Ok(Patch::between(text, &changed))
}
