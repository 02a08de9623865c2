//! Two columns of numbers from a CSV file.
//!
//! The first row names the columns, each with its unit in brackets: `time (µs),current (A)`. Columns are
//! separated by commas, semicolons or tabs; with the latter two a decimal comma is understood. Lines that
//! begin with `#` are skipped.

use tidewall_units::{Quantity, parse};

use crate::error::StudyError;
use tidewall_units::clip;

use crate::source::Source;

/// The rows of a file, not yet numbers.
pub(crate) struct Columns<'a> {
    source: &'a Source,
    separator: u8,
    header: (u64, csv::StringRecord),
    rows: Vec<(u64, csv::StringRecord)>,
}

/// Splits a file into its columns.
pub(crate) fn columns(source: &Source) -> Result<Columns<'_>, StudyError> {
    let first = source
        .text
        .lines()
        .find(|line| !line.trim().is_empty() && !line.starts_with('#'))
        .unwrap_or_default();
    let separator = [b';', b'\t', b',']
        .into_iter()
        .find(|mark| first.contains(char::from(*mark)))
        .unwrap_or(b',');
    let mut reader = csv::ReaderBuilder::new()
        .delimiter(separator)
        .has_headers(false)
        .comment(Some(b'#'))
        .trim(csv::Trim::All)
        .flexible(true)
        .from_reader(source.text.as_bytes());
    let mut rows = Vec::new();
    for record in reader.records() {
        let record = record.map_err(|error| {
            let at = error.position().map_or(0, csv::Position::byte) as usize;
            source.error(
                at..at,
                "this row is not CSV",
                "two numbers with a comma between them",
                "",
            )
        })?;
        let at = record.position().map_or(0, csv::Position::byte);
        rows.push((at, record));
    }
    if rows.is_empty() {
        return Err(source.error(
            0..0,
            "the file has no rows",
            "a heading and rows of two numbers",
            "",
        ));
    }
    let header = rows.remove(0);
    Ok(Columns {
        source,
        separator,
        header,
        rows,
    })
}

impl Columns<'_> {
    /// The name of the second column, without its unit.
    pub(crate) fn second_name(&self) -> &str {
        let cell = self.header.1.get(1).unwrap_or_default();
        cell.split('(').next().unwrap_or_default().trim()
    }

    /// The numbers in SI units. `units` serve where the heading has none.
    pub(crate) fn pairs<X: Quantity, Y: Quantity>(
        &self,
        names: (&str, &str),
        units: Option<(Option<f64>, Option<f64>)>,
    ) -> Result<Vec<(f64, f64)>, StudyError> {
        let (x_unit, y_unit) = units.unwrap_or_default();
        let x_scale = self.scale::<X>(0, names.0, x_unit)?;
        let y_scale = self.scale::<Y>(1, names.1, y_unit)?;
        let mut pairs = Vec::with_capacity(self.rows.len());
        for (at, record) in &self.rows {
            if record.len() != 2 {
                return Err(self.row_error(*at, 0, format!("this row has {} columns", record.len())));
            }
            pairs.push((
                self.number(*at, record, 0)? * x_scale,
                self.number(*at, record, 1)? * y_scale,
            ));
        }
        Ok(pairs)
    }

    /// The unit of a column in SI units.
    fn scale<Q: Quantity>(&self, column: usize, name: &str, given: Option<f64>) -> Result<f64, StudyError> {
        let cell = self.header.1.get(column).unwrap_or_default();
        let (title, unit) = match cell.split_once('(') {
            Some((title, rest)) => (title.trim(), rest.split(')').next().map(str::trim)),
            None => (cell.trim(), None),
        };
        let expected = format!("{name} (UNIT) as heading of column {}", column + 1);
        let fail =
            |message: String, hint: &str| Err(self.error(self.header.0, column, message, &expected, hint));
        if title.parse::<f64>().is_ok() {
            return fail(
                "the file has no heading".to_owned(),
                "name the columns in the first row, with their units",
            );
        }
        if !title.eq_ignore_ascii_case(name) {
            return fail(format!("the heading is `{}`", clip(cell)), "");
        }
        match (unit, given) {
            (Some(unit), _) => match parse::<Q>(&format!("1 {unit}")) {
                Ok(one) => Ok(one.si()),
                Err(error) => fail(error.message, error.hint.as_deref().unwrap_or_default()),
            },
            (None, Some(scale)) => Ok(scale),
            (None, None) => fail(
                format!("`{}` has no unit", clip(cell)),
                "write the unit in brackets, such as (µs)",
            ),
        }
    }

    fn number(&self, at: u64, record: &csv::StringRecord, column: usize) -> Result<f64, StudyError> {
        let cell = record.get(column).unwrap_or_default();
        let text = if self.separator == b',' {
            cell.to_owned()
        } else {
            cell.replace(',', ".")
        };
        let text = text.replace('−', "-");
        match text.parse::<f64>() {
            Ok(value) if value.is_finite() => Ok(value),
            _ => Err(self.row_error(at, column, format!("`{}` is not a finite number", clip(cell)))),
        }
    }

    fn row_error(&self, at: u64, column: usize, message: String) -> StudyError {
        self.error(
            at,
            column,
            message,
            "two finite numbers without units",
            "units stand in the heading only",
        )
    }

    fn error(&self, at: u64, column: usize, message: String, expected: &str, hint: &str) -> StudyError {
        // The record's position may be that of skipped lines before it.
        let text = &self.source.text;
        let mut start = usize::try_from(at).unwrap_or(text.len()).min(text.len());
        while let Some(line) = text
            .get(start..)
            .and_then(|rest| rest.split_inclusive('\n').next())
        {
            if line.trim().is_empty() || line.starts_with('#') {
                start += line.len();
            } else {
                break;
            }
        }
        let line = text
            .get(start..)
            .and_then(|rest| rest.lines().next())
            .unwrap_or_default();
        let mut cells = line.split(char::from(self.separator));
        let before: usize = cells.by_ref().take(column).map(|cell| cell.len() + 1).sum();
        let cell = cells.next().unwrap_or_default();
        let lead = cell.len() - cell.trim_start().len();
        let from = start + before.min(line.len()) + lead;
        self.source
            .error(from..from + cell.trim().len(), message, expected, hint)
    }
}
