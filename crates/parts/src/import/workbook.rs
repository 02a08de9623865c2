//! Workbooks (XLSX).
//!
//! The cells of a sheet are read one after another. What the format makes a reader hold in memory is held: the table of
//! shared texts, and the list of merged ranges.

use std::io::{BufReader, Read, Seek};

use calamine::{DataRef, Dimensions, Reader, Xlsx};

use super::cell::{Cell, Row, letters};

/// Most merged ranges of a sheet.
const MOST_MERGED: usize = 100_000;

/// Last row and column of a sheet, counted from 0. A cell that says it lies
/// beyond would ask for gigabytes of empty ones before it.
const LAST_ROW: u32 = 1_048_575;
const LAST_COLUMN: usize = 16_383;

/// A workbook that is open.
pub(super) struct Workbook<R: Read + Seek> {
    book: Xlsx<BufReader<R>>,
}

/// What is seen of a sheet while it is read.
pub(super) struct Seen {
    /// The row.
    pub row: Row,
    /// Rows of the sheet, as it declares them; 0 if it does not.
    pub of_rows: u64,
}

/// Merged ranges whose value was spread, in words.
pub(super) type Spread = Vec<String>;

impl<R: Read + Seek> Workbook<R> {
    pub fn new(bytes: R) -> Result<Workbook<R>, String> {
        let book = Xlsx::new(BufReader::new(bytes)).map_err(|error| error.to_string())?;
        Ok(Workbook { book })
    }

    pub fn sheets(&self) -> Vec<String> {
        self.book.sheet_names()
    }

    /// Gives each row with a cell to `each`, until that says `false`. Returns what was spread.
    pub fn rows<E>(
        &mut self,
        sheet: &str,
        refuse: impl Fn(String) -> E,
        mut each: impl FnMut(Seen) -> Result<bool, E>,
    ) -> Result<Spread, E> {
        let told = |error: calamine::XlsxError| refuse(error.to_string());
        let mut merged = self.book.merge_cells_by_sheet_name(sheet).map_err(told)?;
        if merged.len() > MOST_MERGED {
            return Err(refuse(format!("has more than {MOST_MERGED} merged ranges")));
        }
        merged.retain(|range| range.start != range.end);
        merged.sort_by_key(|range| range.start);
        let mut spreader = Spreader {
            waiting: merged.into_iter().peekable(),
            active: Vec::new(),
            told: Vec::new(),
        };
        let mut cells = self.book.worksheet_cells_reader(sheet).map_err(told)?;
        let of_rows = u64::from(cells.dimensions().end.0) + 1;
        let mut row: Option<(u32, Vec<Cell>)> = None;
        loop {
            let next = cells.next_cell_with_formula_metadata().map_err(told)?;
            let place = next.as_ref().map(|cell| cell.pos.0);
            if let Some((number, _)) = &row
                && place != Some(*number)
                && let Some((number, values)) = row.take()
            {
                if place.is_some_and(|place| place < number) {
                    return Err(refuse(format!("has row {} out of order", number + 1)));
                }
                let row = spreader.spread(number, values);
                if !row.is_empty() && !each(Seen { row, of_rows })? {
                    return Ok(spreader.told);
                }
            }
            let Some(cell) = next else {
                return Ok(spreader.told);
            };
            let (number, column) = (cell.pos.0, cell.pos.1 as usize);
            if number > LAST_ROW || column > LAST_COLUMN {
                return Err(refuse(
                    "has a cell beyond the last one of the format, XFD1048576".to_owned(),
                ));
            }
            let (_, values) = row.get_or_insert_with(|| (number, Vec::new()));
            if values.len() <= column {
                values.resize(column + 1, Cell::Empty);
            }
            values[column] = value(&cell.value, cell.formula.is_some());
        }
    }
}

fn value(value: &DataRef<'_>, formula: bool) -> Cell {
    match value {
        DataRef::Int(number) => Cell::Number(*number as f64),
        DataRef::Float(number) if number.is_finite() => Cell::Number(*number),
        DataRef::Float(_) => Cell::Bad("is not a finite number".to_owned()),
        DataRef::String(text) => Cell::of_text(text),
        DataRef::SharedString(text) => Cell::of_text(text),
        DataRef::Bool(flag) => Cell::Text(if *flag { "true" } else { "false" }.to_owned()),
        DataRef::DateTime(_) | DataRef::DateTimeIso(_) | DataRef::DurationIso(_) => {
            Cell::Bad("is a date or a time".to_owned())
        }
        DataRef::Error(error) => Cell::Bad(format!("is the error {error}")),
        DataRef::Empty if formula => Cell::Bad(
            "is a formula without a stored value: open and save the workbook where it was made".to_owned(),
        ),
        DataRef::Empty => Cell::Empty,
    }
}

/// Gives every cell of a merged range the value of its first one.
struct Spreader {
    waiting: std::iter::Peekable<std::vec::IntoIter<Dimensions>>,
    active: Vec<(Dimensions, Cell)>,
    told: Spread,
}

impl Spreader {
    fn spread(&mut self, number: u32, mut cells: Vec<Cell>) -> Row {
        while let Some(range) = self.waiting.next_if(|range| range.start.0 <= number) {
            // A range whose first row holds nothing has nothing to spread.
            let first = cells
                .get(range.start.1 as usize)
                .filter(|_| range.start.0 == number);
            if let Some(cell) = first.filter(|cell| **cell != Cell::Empty) {
                let corner = |(row, column): (u32, u32)| format!("{}{}", letters(column as usize), row + 1);
                self.told
                    .push(format!("{}:{}", corner(range.start), corner(range.end)));
                self.active.push((range, cell.clone()));
            }
        }
        self.active.retain(|(range, _)| range.end.0 >= number);
        for (range, value) in &self.active {
            let (from, to) = (range.start.1 as usize, range.end.1 as usize);
            let to = to.min(LAST_COLUMN);
            if cells.len() <= to {
                cells.resize(to + 1, Cell::Empty);
            }
            for cell in cells.iter_mut().take(to + 1).skip(from) {
                if *cell == Cell::Empty {
                    *cell = value.clone();
                }
            }
        }
        Row {
            number: u64::from(number) + 1,
            cells,
        }
    }
}
