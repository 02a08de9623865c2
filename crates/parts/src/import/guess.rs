//! A first guess of a mapping, from headers and sample cells. It is never imported by: the user confirms it first.

mod columns;
mod datum;
mod write;

use schemars::JsonSchema;
use serde::Serialize;

use super::cell::{Row, letters};
use super::error::ImportError;
use super::table::Table;
use columns::Column;

/// Version of the guess's form.
pub const GUESS_SCHEMA: &str = "tidewall/import-guess/1";

/// Rows below the header that are looked at.
const SAMPLED: usize = 60;

/// What the user said beforehand.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct GuessOptions {
    /// How firm the values are; left to fill in if it is not said.
    pub kind: Option<String>,
    /// The document; the name of the file if it is not said.
    pub document: Option<String>,
    /// Family of all parts, for a table without a column for it.
    pub family: Option<String>,
}

/// How sure a guess is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Confidence {
    /// The header is a term of the trade and the cells fit it.
    Certain,
    /// The header, or what is left unsaid, is usual.
    Likely,
    /// Something had to be assumed, or cells do not fit.
    Doubtful,
    /// Nothing is taken from the column.
    NotUnderstood,
}

impl Confidence {
    /// In words.
    pub fn in_words(self) -> &'static str {
        match self {
            Confidence::Certain => "certain",
            Confidence::Likely => "likely",
            Confidence::Doubtful => "doubtful",
            Confidence::NotUnderstood => "not understood",
        }
    }
}

/// What is thought of one column.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct GuessedColumn {
    /// Its letter.
    pub column: String,
    /// Its header.
    pub header: String,
    /// What it is thought to state; empty if it is not understood.
    pub meaning: String,
    /// How sure that is.
    pub confidence: Confidence,
    /// Why.
    pub reason: String,
}

/// A first guess.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Guess {
    /// Version of this form.
    pub schema: &'static str,
    /// The table.
    pub file: String,
    /// How it is written.
    pub form: String,
    /// Row of the headers, counted from 1.
    pub header_row: u64,
    /// What is thought of each column.
    pub columns: Vec<GuessedColumn>,
    /// What the user must fill in before it can be used.
    pub to_fill_in: Vec<String>,
    /// The mapping file.
    pub mapping: String,
}

/// The most columns whose meaning is guessed: each is held against all others.
const MOST_COLUMNS: usize = 256;

/// Guesses a mapping for a table.
///
/// # Errors
/// A table that cannot be read, or without a row of headers that are understood.
pub fn guess(table: &Table, options: &GuessOptions) -> Result<Guess, ImportError> {
    let rows = table.head(super::bind::SEARCHED + SAMPLED)?;
    let header = find_header(&rows).ok_or_else(|| {
        ImportError::new(
            table.name(),
            "",
            "no row has two or more headers that are understood",
        )
        .expected("headers such as \"Part\", \"VRWM (V)\", \"VBR min (V)\", \"VC @ Ipp 8/20 (V)\"")
        .hint("write the mapping file by hand; docs/parts-import.md describes it")
    })?;
    if header.cells.len() > MOST_COLUMNS {
        return Err(ImportError::new(
            table.name(),
            format!("row {}", header.number),
            format!(
                "has {} columns, and a guess looks at {MOST_COLUMNS}",
                header.cells.len()
            ),
        )
        .expected("a table of parts, one column for each datum")
        .hint("leave out columns, or write the mapping file by hand; docs/parts-import.md describes it"));
    }
    let samples: Vec<&Row> = rows
        .iter()
        .filter(|row| row.number > header.number)
        .take(SAMPLED)
        .collect();
    let mut columns = columns::look(header, &samples, table.decimal());
    let data = datum::assemble(&mut columns);
    let written = write::mapping(table, header.number, &columns, &data, options);
    let columns = columns
        .into_iter()
        .enumerate()
        .filter(|(_, column)| !column.text.is_empty())
        .map(|(place, column)| GuessedColumn {
            column: letters(place),
            header: column.text,
            meaning: column.words,
            confidence: column.confidence,
            reason: column.reasons.join("; "),
        })
        .collect();
    Ok(Guess {
        schema: GUESS_SCHEMA,
        file: table.name().to_owned(),
        form: table.form().in_words(),
        header_row: header.number,
        columns,
        to_fill_in: written.to_fill_in,
        mapping: written.text,
    })
}

/// The row with most headers that are understood, at least two; the first of several.
fn find_header(rows: &[Row]) -> Option<&Row> {
    let mut best: Option<(usize, &Row)> = None;
    for row in rows.iter().take(super::bind::SEARCHED) {
        let known = row
            .cells
            .iter()
            .filter(|cell| matches!(cell, super::cell::Cell::Text(_)))
            .filter(|cell| Column::knows(&cell.text()))
            .count();
        if known >= 2 && best.is_none_or(|(most, _)| known > most) {
            best = Some((known, row));
        }
    }
    best.map(|(_, row)| row)
}
