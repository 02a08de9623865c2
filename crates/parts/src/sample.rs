//! A table of invented parts, to try the import on.
//!
//! No part of it can be bought. The numbers hang together as those of real parts do: stand-off voltages step in E24,
//! pulse powers in trade classes from 200 W to 5 kW on 10/1000 µs; the pulse power on 8/20 µs is 6.7 times that, as
//! heating by √t has it; capacitance goes with pulse power over voltage. The ratios are those of the demonstration parts
//! in `demo/river-gauge/parts.toml`.

mod columns;
mod families;

use std::io::{self, Write};

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

pub use columns::mapping;

/// How the table is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Style {
    /// Commas between columns, decimal points.
    Point,
    /// Semicolons between columns, decimal commas.
    Comma,
}

/// One row while it is filled: the cells by the header of their column.
struct Filled {
    cells: Vec<String>,
}

impl Filled {
    fn new() -> Filled {
        Filled {
            cells: vec![String::new(); columns::COLUMNS.len()],
        }
    }

    fn text(&mut self, header: &str, text: &str) {
        if let Some(column) = columns::COLUMNS.iter().position(|column| column.header == header) {
            text.clone_into(&mut self.cells[column]);
        }
    }

    /// A number in the unit of the column's header, of three digits; large ones whole.
    fn number(&mut self, header: &str, number: f64) {
        self.text(header, &three_digits(number).to_string());
    }
}

/// Rounded to three significant digits.
fn three_digits(number: f64) -> f64 {
    format!("{number:.2e}").parse().unwrap_or(number)
}

/// Draws of one row.
struct Draw(ChaCha8Rng);

impl Draw {
    fn one_of<T: Copy>(&mut self, choices: &[T]) -> T {
        choices[self.0.random_range(0..choices.len())]
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        self.0.random_range(low..high)
    }

    fn flag(&mut self) -> bool {
        self.0.random_bool(0.5)
    }
}

/// Writes `rows` invented parts below one row of headers. The same seed gives the same bytes.
///
/// # Errors
/// What `out` cannot take.
pub fn write(rows: u32, seed: u64, style: Style, out: &mut dyn Write) -> io::Result<()> {
    let (delimiter, comma) = match style {
        Style::Point => (b',', false),
        Style::Comma => (b';', true),
    };
    let mut table = csv::WriterBuilder::new().delimiter(delimiter).from_writer(out);
    table.write_record(columns::COLUMNS.iter().map(|column| column.header))?;
    for number in 1..=rows {
        // A stream of its own for each row: the first rows of a longer table are those of a shorter one.
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        rng.set_stream(u64::from(number));
        let mut filled = Filled::new();
        families::fill(number, &mut Draw(rng), &mut filled);
        if comma {
            for (cell, column) in filled.cells.iter_mut().zip(columns::COLUMNS) {
                if column.numeric {
                    *cell = cell.replace('.', ",");
                }
            }
        }
        table.write_record(&filled.cells)?;
    }
    table.flush()
}
