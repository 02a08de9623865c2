//! Finds out how a table of numbers is laid out: separator, decimal mark, preamble, names, units, first row.

use std::collections::BTreeMap;
use std::io::BufRead;

use super::fault::ReadFault;
use super::lines::{Lines, text};
use super::unit::{UnitKind, named, scale_of};

/// How much of a text is looked at, in bytes and lines.
const LOOK_BYTES: usize = 256 * 1024;
const LOOK_LINES: usize = 2000;

/// What parts cells.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Separator {
    Byte(u8),
    Blanks,
}

/// A column as the text names it.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Column {
    /// Its name; empty if there is none.
    pub(crate) name: String,
    /// Unit, if one stands there.
    pub(crate) unit: Option<(UnitKind, f64)>,
}

/// A line of the preamble.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Entry {
    pub(crate) line: usize,
    /// Lower case, letters and digits with single blanks.
    pub(crate) key: String,
    pub(crate) values: Vec<String>,
}

/// A laid-out table whose head has been read.
pub(crate) struct Table<R> {
    pub(crate) lines: Lines<R>,
    looked_at: std::collections::VecDeque<(usize, Vec<u8>)>,
    pub(crate) separator: Separator,
    pub(crate) decimal_comma: bool,
    /// Cells of each row before the first number.
    pub(crate) skip: usize,
    pub(crate) columns: Vec<Column>,
    pub(crate) preamble: Vec<Entry>,
    /// The text has been read to its end while looking.
    ended: bool,
}

/// Cells of a line.
pub(crate) fn cells(line: &[u8], separator: Separator) -> Vec<&[u8]> {
    match separator {
        Separator::Byte(byte) => line.split(|b| *b == byte).map(<[u8]>::trim_ascii).collect(),
        Separator::Blanks => line
            .split(|b| *b == b' ' || *b == b'\t')
            .filter(|cell| !cell.is_empty())
            .collect(),
    }
}

/// A finite number; words such as `inf` are none.
pub(crate) fn number(cell: &[u8], comma: bool) -> Option<f64> {
    let cell = cell.trim_ascii();
    let cell = match cell {
        [b'"', inner @ .., b'"'] => inner.trim_ascii(),
        _ => cell,
    };
    let (_, rest) = match cell.first()? {
        b'+' | b'-' => (true, &cell[1..]),
        _ => (false, cell),
    };
    if !matches!(rest.first()?, b'0'..=b'9' | b'.' | b',') {
        return None;
    }
    let value = if comma {
        let mut buffer = [0u8; 40];
        let place = buffer.get_mut(..cell.len())?;
        place.copy_from_slice(cell);
        let mut commas = 0;
        for byte in place.iter_mut() {
            match byte {
                b',' => {
                    *byte = b'.';
                    commas += 1;
                }
                b'.' => commas += 1,
                _ => {}
            }
        }
        if commas > 1 {
            return None;
        }
        std::str::from_utf8(place).ok()?.parse::<f64>().ok()?
    } else {
        std::str::from_utf8(cell).ok()?.parse::<f64>().ok()?
    };
    value.is_finite().then_some(value)
}

/// Where the numbers of a row begin and how many there are up to its end.
fn shape(line: &[u8], separator: Separator, comma: bool) -> (usize, usize) {
    let mut cells = cells(line, separator);
    while cells.last().is_some_and(|cell| cell.is_empty()) {
        cells.pop();
    }
    let start = cells
        .iter()
        .rposition(|cell| number(cell, comma).is_none())
        .map_or(0, |at| at + 1);
    (start, cells.len() - start)
}

/// Letters and digits of a key in lower case, parted by single blanks.
pub(crate) fn normal(key: &str) -> String {
    let spaced: String = key
        .chars()
        .map(|c| if c.is_alphanumeric() { c } else { ' ' })
        .collect();
    spaced
        .split_whitespace()
        .map(str::to_lowercase)
        .collect::<Vec<_>>()
        .join(" ")
}

/// A line without the sign of a comment.
pub(crate) fn uncommented(line: &str) -> &str {
    line.trim().trim_start_matches(['#', '%', '!', '/']).trim_start()
}

/// True for a line that says nothing in the middle of a table.
pub(crate) fn is_remark(line: &[u8]) -> bool {
    let line = line.trim_ascii();
    line.is_empty() || matches!(line[0], b'#' | b'%' | b'!') || line.starts_with(b"//")
}

impl<R: BufRead> Table<R> {
    /// Reads the head.
    pub(crate) fn open(reader: R) -> Result<Table<R>, ReadFault> {
        let mut lines = Lines::new(reader);
        let mut seen: Vec<(usize, Vec<u8>)> = Vec::new();
        let (mut bytes, mut ended) = (0, false);
        while bytes < LOOK_BYTES && seen.len() < LOOK_LINES {
            let mut line = Vec::new();
            if !lines.next_into(&mut line)? {
                ended = true;
                break;
            }
            bytes += line.len();
            seen.push((lines.line, line));
        }
        let (separator, decimal_comma, (skip, count)) = layout(&seen)?;
        let is_row = |line: &[u8]| !is_remark(line) && shape(line, separator, decimal_comma) == (skip, count);
        let first = seen.iter().position(|(_, line)| is_row(line)).unwrap_or_default();
        let head: Vec<(usize, String)> = seen[..first]
            .iter()
            .filter(|(_, line)| !line.trim_ascii().is_empty())
            .map(|(number, line)| (*number, text(line)))
            .collect();
        let mut table = Table {
            lines,
            looked_at: seen.into_iter().skip(first).collect(),
            separator,
            decimal_comma,
            skip,
            columns: Vec::new(),
            preamble: Vec::new(),
            ended,
        };
        table.read_head(&head, count)?;
        Ok(table)
    }

    fn split(&self, line: &str) -> Vec<String> {
        let line = uncommented(line);
        match self.separator {
            Separator::Byte(byte) => line
                .split(char::from(byte))
                .map(|cell| cell.trim().to_owned())
                .collect(),
            Separator::Blanks => {
                let mut cells: Vec<String> = Vec::new();
                for word in line.split_whitespace() {
                    match cells.last_mut() {
                        // `t (ns)` is one name.
                        Some(last) if word.starts_with(['(', '[']) && !last.ends_with([')', ']']) => {
                            last.push(' ');
                            last.push_str(word);
                        }
                        _ => cells.push(word.to_owned()),
                    }
                }
                cells
            }
        }
    }

    fn read_head(&mut self, head: &[(usize, String)], count: usize) -> Result<(), ReadFault> {
        let unit_row = |cells: &[String]| {
            cells.len() >= count && count > 0 && cells[..count].iter().all(|c| scale_of(c).is_some())
        };
        let name_row = |cells: &[String]| {
            cells.len() >= count
                && cells[..count]
                    .iter()
                    .all(|c| !c.is_empty() && number(c.as_bytes(), self.decimal_comma).is_none())
        };
        let mut rest = head.len();
        let mut units: Option<Vec<Option<(UnitKind, f64)>>> = None;
        let mut names: Option<Vec<String>> = None;
        let mut extra: Vec<Entry> = Vec::new();
        if self.skip == 0 && rest > 0 {
            let last = self.split(&head[rest - 1].1);
            let above = (rest > 1).then(|| self.split(&head[rest - 2].1));
            if unit_row(&last) && above.as_ref().is_some_and(|above| name_row(above)) {
                units = Some(last[..count].iter().map(|c| scale_of(c)).collect());
                let above = above.unwrap_or_default();
                names = Some(above[..count].to_vec());
                // Some instruments put start and increment beside the units.
                for (name, value) in above.iter().zip(&last).skip(count) {
                    if number(value.as_bytes(), self.decimal_comma).is_some() {
                        extra.push(Entry {
                            line: head[rest - 1].0,
                            key: normal(name),
                            values: vec![value.clone()],
                        });
                    }
                }
                rest -= 2;
            } else if name_row(&last) {
                names = Some(last[..count].to_vec());
                rest -= 1;
            } else if last.len() * 2 == count && self.separator == Separator::Byte(b',') {
                return Err(ambiguous(head[rest - 1].0));
            }
        }
        self.columns = (0..count)
            .map(|k| {
                let (name, own) = names
                    .as_ref()
                    .map_or((String::new(), None), |names| named(&names[k]));
                let row = units.as_ref().and_then(|units| units[k]);
                Column {
                    name,
                    unit: row.or(own),
                }
            })
            .collect();
        for (line, text) in &head[..rest] {
            self.preamble.extend(entry(*line, text, self.separator));
        }
        self.preamble.extend(extra);
        if self.skip > 0 {
            let beside: Vec<Entry> = self
                .looked_at
                .iter()
                .filter_map(|(line, row)| {
                    let row = text(row);
                    let cells = self.split(&row);
                    let key = cells.first().filter(|key| !key.is_empty())?;
                    Some(Entry {
                        line: *line,
                        key: normal(key),
                        values: cells[1..self.skip.min(cells.len())]
                            .iter()
                            .map(|c| (*c).to_owned())
                            .collect(),
                    })
                })
                .collect();
            self.preamble.extend(beside);
        }
        Ok(())
    }

    /// The first entry of the preamble under one of these keys.
    pub(crate) fn entry(&self, keys: &[&str]) -> Option<&Entry> {
        keys.iter()
            .find_map(|key| self.preamble.iter().find(|entry| entry.key == *key))
    }

    /// Numbers of an entry; a unit in the same cell or the one after is applied if it measures `kind`.
    pub(crate) fn numbers(&self, entry: &Entry, kind: UnitKind) -> Vec<f64> {
        let mut numbers = Vec::new();
        for (k, value) in entry.values.iter().enumerate() {
            let value = value.trim().trim_matches('"').trim();
            if let Some(number) = number(value.as_bytes(), self.decimal_comma) {
                let after = entry.values.get(k + 1).and_then(|unit| scale_of(unit));
                let factor = after.filter(|unit| unit.0 == kind).map_or(1.0, |unit| unit.1);
                numbers.push(number * factor);
                continue;
            }
            // `10 ns`, `10ns`.
            let end = value
                .char_indices()
                .filter(|(_, c)| c.is_ascii_digit())
                .map(|(at, _)| at + 1)
                .next_back();
            let Some(end) = end else { continue };
            let parsed = number(&value.as_bytes()[..end], self.decimal_comma);
            let unit = scale_of(&value[end..]).filter(|unit| unit.0 == kind);
            if let (Some(number), Some(unit)) = (parsed, unit) {
                numbers.push(number * unit.1);
            }
        }
        numbers
    }

    /// The next row's line number and bytes; false at the end. Remarks and empty lines are passed over.
    pub(crate) fn next_row(&mut self, line: &mut Vec<u8>, number: &mut usize) -> Result<bool, ReadFault> {
        loop {
            if let Some((at, bytes)) = self.looked_at.pop_front() {
                *line = bytes;
                *number = at;
            } else {
                if self.ended {
                    return Ok(false);
                }
                if !self.lines.next_into(line)? {
                    self.ended = true;
                    return Ok(false);
                }
                *number = self.lines.line;
            }
            if !is_remark(line) {
                return Ok(true);
            }
        }
    }

    /// Reads the numbers of a row into `values`; `empty` tells which cells may be empty (they become NaN).
    pub(crate) fn row(
        &self,
        line: &[u8],
        at: usize,
        values: &mut [f64],
        empty: impl Fn(usize) -> bool,
    ) -> Result<(), ReadFault> {
        let mut found = 0;
        let mut take = |cell: &[u8], place: usize| -> Result<(), ReadFault> {
            let k = place - self.skip;
            if k >= values.len() {
                if cell.is_empty() {
                    return Ok(());
                }
                return Err(ReadFault::at(
                    at,
                    place + 1,
                    format!("there are more cells than the {} of the other rows", values.len()),
                    "the same number of cells in every row",
                    "",
                ));
            }
            values[k] = match number(cell, self.decimal_comma) {
                Some(value) => value,
                None if cell.is_empty() && empty(k) => f64::NAN,
                None => return Err(no_number(cell, at, place + 1)),
            };
            found += 1;
            Ok(())
        };
        match self.separator {
            Separator::Byte(byte) => {
                for (place, cell) in line.split(|b| *b == byte).enumerate().skip(self.skip) {
                    take(cell.trim_ascii(), place)?;
                }
            }
            Separator::Blanks => {
                let cells = line
                    .split(|b| *b == b' ' || *b == b'\t')
                    .filter(|cell| !cell.is_empty());
                for (place, cell) in cells.enumerate().skip(self.skip) {
                    take(cell, place)?;
                }
            }
        }
        if found == values.len() {
            return Ok(());
        }
        Err(ReadFault::at(
            at,
            0,
            format!("the row has {found} of {} numbers", values.len()),
            "the same number of cells in every row",
            "was the capture cut off while it was written?",
        ))
    }
}

fn no_number(cell: &[u8], line: usize, place: usize) -> ReadFault {
    let shown: String = text(cell).chars().take(40).collect();
    let word = shown.trim_matches(['"', '+', '-']).to_lowercase();
    if ["inf", "infinity", "nan", "overflow", "ovl", "clipped"].contains(&word.as_str()) {
        return ReadFault::at(
            line,
            place,
            format!("`{shown}` is not a finite number: the instrument was over its range"),
            "a number",
            "capture again with a lower sensitivity",
        );
    }
    ReadFault::at(line, place, format!("`{shown}` is not a number"), "a number", "")
}

fn ambiguous(line: usize) -> ReadFault {
    ReadFault::at(
        line,
        0,
        "the rows have twice as many cells as the heading: decimal commas cannot be told from separating ones",
        "decimal points, or semicolons between the cells",
        "export with a decimal point",
    )
}

/// A line of the preamble: key and values.
fn entry(line: usize, text: &str, separator: Separator) -> Option<Entry> {
    let text = uncommented(text);
    let mut cells: Vec<&str> = match separator {
        Separator::Byte(byte) => text.split(char::from(byte)).map(str::trim).collect(),
        Separator::Blanks => vec![text],
    };
    while cells.last().is_some_and(|cell| cell.is_empty()) {
        cells.pop();
    }
    if cells.len() == 1 {
        let (key, value) = text.split_once(['=', ':', '\t', ';', ','])?;
        cells = vec![key, value];
    }
    let key = normal(cells.first()?.trim_matches('"'));
    (!key.is_empty()).then(|| Entry {
        line,
        key,
        values: cells[1..].iter().map(|c| c.trim().to_owned()).collect(),
    })
}

type Shape = (usize, usize);

fn layout(seen: &[(usize, Vec<u8>)]) -> Result<(Separator, bool, Shape), ReadFault> {
    let mut best: Option<((usize, usize), Separator, bool, Shape)> = None;
    for separator in [
        Separator::Byte(b';'),
        Separator::Byte(b'\t'),
        Separator::Byte(b','),
        Separator::Blanks,
    ] {
        for comma in [false, true] {
            if comma && separator == Separator::Byte(b',') {
                continue;
            }
            let mut counts: BTreeMap<Shape, usize> = BTreeMap::new();
            for (_, line) in seen.iter().filter(|(_, line)| !is_remark(line)) {
                let shape = shape(line, separator, comma);
                if shape.1 >= 2 || shape == (0, 1) {
                    *counts.entry(shape).or_default() += 1;
                }
            }
            for (shape, rows) in counts {
                // Rows first, then the finer division: `1;2` is also one cell of something else.
                let score = (rows, shape.1);
                if best.as_ref().is_none_or(|best| score > best.0) {
                    best = Some((score, separator, comma, shape));
                }
            }
        }
    }
    best.map(|(_, separator, comma, shape)| (separator, comma, shape))
        .ok_or_else(|| {
            ReadFault::whole(
                "there are no rows of numbers",
                "a time and at least one channel a line, parted by commas, semicolons, tabs or blanks",
                "export the capture as CSV",
            )
        })
}
