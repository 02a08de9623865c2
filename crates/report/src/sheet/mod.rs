//! The bare data as a workbook: every check, every transient, the waves, what leads cost, where values come from. Text is
//! never a formula; numbers are in SI units, with the unit in the heading.

mod tables;
mod waves;

use rust_xlsxwriter::{DocProperties, ExcelDateTime, Format, Workbook, Worksheet, XlsxError};
use tidewall_study::Study;

use crate::gather::Material;
use crate::words::harmless;

/// A cell.
enum Cell {
    Text(String),
    Number(f64),
    Empty,
}

impl From<&str> for Cell {
    fn from(text: &str) -> Cell {
        Cell::Text(harmless(text))
    }
}

impl From<String> for Cell {
    fn from(text: String) -> Cell {
        Cell::from(text.as_str())
    }
}

impl From<f64> for Cell {
    fn from(number: f64) -> Cell {
        // A workbook knows no infinity.
        if number.is_finite() {
            Cell::Number(number)
        } else {
            Cell::from(number.to_string())
        }
    }
}

impl<T: Into<Cell>> From<Option<T>> for Cell {
    fn from(value: Option<T>) -> Cell {
        value.map_or(Cell::Empty, Into::into)
    }
}

/// The workbook of a study. The same study gives the same bytes.
///
/// # Errors
/// More rows than a workbook can hold.
pub fn workbook(study: &Study, material: &Material) -> Result<Vec<u8>, XlsxError> {
    let mut book = Workbook::new();
    // A workbook must say when it was made; with no clock it says the beginning of its own time.
    let date = ExcelDateTime::from_ymd(1900, 1, 1)?;
    book.set_properties(
        &DocProperties::new()
            .set_title(harmless(&study.title))
            .set_creation_datetime(&date),
    );
    tables::study(&mut book, study, material)?;
    tables::checks(&mut book, material)?;
    tables::transients(&mut book, material)?;
    tables::elements(&mut book, material)?;
    tables::leads(&mut book, material)?;
    tables::alternatives(&mut book, material)?;
    for outcome in &material.traces.outcomes {
        waves::sheet(&mut book, study, outcome)?;
    }
    tables::origins(&mut book, material)?;
    book.save_to_buffer()
}

/// A new sheet with headings that stay in sight.
fn begin<'a>(book: &'a mut Workbook, name: &str, heads: &[&str]) -> Result<&'a mut Worksheet, XlsxError> {
    let bold = Format::new().set_bold();
    let sheet = book.add_worksheet();
    sheet.set_name(name)?;
    sheet.set_freeze_panes(1, 0)?;
    for (column, head) in (0u16..).zip(heads) {
        sheet.write_string_with_format(0, column, *head, &bold)?;
        sheet.set_column_width(column, (head.len() as f64 + 2.0).max(12.0))?;
    }
    Ok(sheet)
}

fn write(sheet: &mut Worksheet, row: u32, cells: Vec<Cell>) -> Result<(), XlsxError> {
    for (column, cell) in (0u16..).zip(cells) {
        match cell {
            Cell::Text(text) => sheet.write_string(row, column, text)?,
            Cell::Number(number) => sheet.write_number(row, column, number)?,
            Cell::Empty => continue,
        };
    }
    Ok(())
}
