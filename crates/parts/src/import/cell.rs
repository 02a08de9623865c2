//! Rows and cells of a table, whatever file they are from.

/// What a cell holds.
#[derive(Clone, Debug, PartialEq)]
pub enum Cell {
    /// Nothing.
    Empty,
    /// Text, blanks at its ends removed.
    Text(String),
    /// A number, as a workbook stores it.
    Number(f64),
    /// Something that is no value, and why: an error, a date, a formula without a value.
    Bad(String),
}

impl Cell {
    /// Its text for people.
    pub fn text(&self) -> String {
        match self {
            Cell::Empty | Cell::Bad(_) => String::new(),
            Cell::Text(text) => text.clone(),
            Cell::Number(number) => number.to_string(),
        }
    }

    pub(super) fn of_text(text: &str) -> Cell {
        match text.trim_matches(|c: char| c.is_whitespace() || c == '\u{feff}') {
            "" => Cell::Empty,
            text => Cell::Text(text.to_owned()),
        }
    }
}

/// One row.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// Line of a text file, or row of a workbook, counted from 1.
    pub number: u64,
    /// Its cells from the first column on.
    pub cells: Vec<Cell>,
}

impl Row {
    /// The cell of a column, counted from 0; empty beyond the last one.
    pub fn cell(&self, column: usize) -> &Cell {
        self.cells.get(column).unwrap_or(&Cell::Empty)
    }

    /// Whether all cells are empty.
    pub fn is_empty(&self) -> bool {
        self.cells.iter().all(|cell| *cell == Cell::Empty)
    }
}

/// How places in a table are named.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Places {
    /// `line 17, column 3`.
    Lines,
    /// `Sheet1!C17`.
    Cells {
        /// The sheet.
        sheet: String,
    },
}

impl Places {
    /// A cell; the column counts from 0.
    pub fn cell(&self, row: u64, column: usize) -> String {
        match self {
            Places::Lines => format!("line {row}, column {}", column + 1),
            Places::Cells { .. } => format!("{}{row}", letters(column)),
        }
    }

    /// Several cells of one row, as the source of a datum.
    pub(super) fn source(&self, row: u64, columns: &[usize]) -> String {
        let listed = |name: &dyn Fn(usize) -> String| {
            let names: Vec<String> = columns.iter().map(|column| name(*column)).collect();
            names.join(", ")
        };
        match self {
            Places::Lines if columns.is_empty() => format!("line {row}"),
            Places::Lines => {
                let word = if columns.len() == 1 { "column" } else { "columns" };
                format!(
                    "line {row}, {word} {}",
                    listed(&|column| (column + 1).to_string())
                )
            }
            Places::Cells { sheet } if columns.is_empty() => format!("{sheet}, row {row}"),
            Places::Cells { sheet } => {
                format!(
                    "{sheet}, {}",
                    listed(&|column| format!("{}{row}", letters(column)))
                )
            }
        }
    }

    /// A row as a whole.
    pub fn row(&self, row: u64) -> String {
        match self {
            Places::Lines => format!("line {row}"),
            Places::Cells { .. } => format!("row {row}"),
        }
    }
}

/// Letters of a column counted from 0: `A`, `Z`, `AA`.
pub fn letters(column: usize) -> String {
    let mut left = column + 1;
    let mut name = Vec::new();
    while left > 0 {
        let digit = (left - 1) % 26;
        name.push(b'A' + u8::try_from(digit).unwrap_or(0));
        left = (left - 1) / 26;
    }
    name.iter().rev().map(|byte| char::from(*byte)).collect()
}

/// The column, counted from 0, of its letters; up to `XFD`, the last one of a workbook.
pub fn column_of(letters: &str) -> Option<usize> {
    const LAST: usize = 16_384;
    if letters.is_empty() || letters.len() > 3 {
        return None;
    }
    let mut column = 0;
    for letter in letters.chars() {
        let digit = u32::from(letter.to_ascii_uppercase()).checked_sub(u32::from('A'))?;
        if digit >= 26 {
            return None;
        }
        column = column * 26 + digit as usize + 1;
    }
    (column <= LAST).then_some(column - 1)
}
