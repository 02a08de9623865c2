//! The data behind a figure.

use std::sync::Arc;

/// Heading of a column.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Column {
    /// What it holds.
    pub name: String,
    /// Unit of its numbers: SI base units, °C; empty for text and bare numbers.
    pub unit: String,
}

/// What stands in a row.
#[derive(Clone, Debug, PartialEq)]
pub enum Cell {
    /// Words.
    Text(String),
    /// A number in the unit of the column.
    Number(f64),
    /// Nothing is known.
    Unknown,
}

impl From<&str> for Cell {
    fn from(text: &str) -> Cell {
        Cell::Text(text.to_owned())
    }
}

impl From<String> for Cell {
    fn from(text: String) -> Cell {
        Cell::Text(text)
    }
}

impl From<f64> for Cell {
    fn from(number: f64) -> Cell {
        Cell::Number(number)
    }
}

impl From<Option<f64>> for Cell {
    fn from(number: Option<f64>) -> Cell {
        number.map_or(Cell::Unknown, Cell::Number)
    }
}

/// The cells of a column. A waveform's are numbers alone, and thousands of them.
#[derive(Clone, Debug, PartialEq)]
enum Cells {
    Numbers(Arc<[f64]>),
    Mixed(Vec<Cell>),
}

impl Cells {
    fn len(&self) -> usize {
        match self {
            Cells::Numbers(numbers) => numbers.len(),
            Cells::Mixed(cells) => cells.len(),
        }
    }

    fn text(&self, row: usize) -> String {
        match self {
            Cells::Numbers(numbers) => numbers.get(row).map_or_else(String::new, |number| plain(*number)),
            Cells::Mixed(cells) => match cells.get(row) {
                Some(Cell::Text(text)) => quoted(text),
                Some(Cell::Number(number)) => plain(*number),
                Some(Cell::Unknown) | None => String::new(),
            },
        }
    }
}

/// The data behind a figure: every row has one cell for each column.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Table {
    /// Headings.
    pub columns: Vec<Column>,
    cells: Vec<Cells>,
}

impl Table {
    /// An empty table with columns of (name, unit).
    pub fn new(columns: &[(&str, &str)]) -> Table {
        let column = |(name, unit): &(&str, &str)| Column {
            name: (*name).to_owned(),
            unit: (*unit).to_owned(),
        };
        Table {
            columns: columns.iter().map(column).collect(),
            cells: vec![Cells::Mixed(Vec::new()); columns.len()],
        }
    }

    /// Adds a column of numbers to a table without rows of its own; what is missing at its end is unknown.
    pub fn numbers(&mut self, name: &str, unit: &str, numbers: impl Into<Arc<[f64]>>) {
        self.columns.push(Column {
            name: name.to_owned(),
            unit: unit.to_owned(),
        });
        self.cells.push(Cells::Numbers(numbers.into()));
    }

    /// Number of rows.
    pub fn len(&self) -> usize {
        self.cells.iter().map(Cells::len).max().unwrap_or(0)
    }

    /// True for a table without rows.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// Adds a row; cells that are missing are unknown, and cells without a column are left out.
    pub fn row(&mut self, cells: impl IntoIterator<Item = Cell>) {
        let mut cells = cells.into_iter();
        for column in &mut self.cells {
            let cell = cells.next().unwrap_or(Cell::Unknown);
            if let Cells::Mixed(column) = column {
                column.push(cell);
            }
        }
    }

    /// What stands in a row of a column, both counted from 0.
    pub fn cell(&self, row: usize, column: usize) -> Cell {
        match self.cells.get(column) {
            Some(Cells::Numbers(numbers)) => numbers.get(row).copied().into(),
            Some(Cells::Mixed(cells)) => cells.get(row).cloned().unwrap_or(Cell::Unknown),
            None => Cell::Unknown,
        }
    }

    /// Comma-separated text (RFC 4180, UTF-8, lines ended by CR LF). The unit stands in the heading; numbers are the
    /// shortest that read back as the same; what is unknown or not finite is an empty cell.
    pub fn csv(&self) -> String {
        let headings = self.columns.iter().map(|column| match column.unit.as_str() {
            "" => quoted(&column.name),
            unit => quoted(&format!("{} ({unit})", column.name)),
        });
        let mut text = line(headings);
        for row in 0..self.len() {
            text.push_str(&line(self.cells.iter().map(|column| column.text(row))));
        }
        text
    }
}

fn line(cells: impl Iterator<Item = String>) -> String {
    let mut line = cells.collect::<Vec<_>>().join(",");
    line.push_str("\r\n");
    line
}

fn quoted(text: &str) -> String {
    if text.contains([',', '"', '\r', '\n']) {
        format!("\"{}\"", text.replace('"', "\"\""))
    } else {
        text.to_owned()
    }
}

fn plain(number: f64) -> String {
    if !number.is_finite() {
        return String::new();
    }
    let size = number.abs();
    // Adding zero turns a negative zero into zero.
    if size == 0.0 || (1e-4..1e9).contains(&size) {
        format!("{}", number + 0.0)
    } else {
        format!("{number:e}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn csv_quotes_what_needs_it_and_leaves_the_unknown_empty() {
        let mut table = Table::new(&[("stress, in words", ""), ("peak", "V")]);
        table.row(["8 kV \"contact\"".into(), 43.75.into()]);
        table.row(["burst".into(), f64::NAN.into()]);
        table.row(["surge".into()]);
        table.row(["rest".into(), (-0.0).into(), "beyond".into()]);
        table.row(["small".into(), 1.5e-9.into()]);
        assert_eq!(
            table.csv(),
            "\"stress, in words\",peak (V)\r\n\"8 kV \"\"contact\"\"\",43.75\r\nburst,\r\nsurge,\r\nrest,0\r\nsmall,1.5e-9\r\n"
        );
    }
}
