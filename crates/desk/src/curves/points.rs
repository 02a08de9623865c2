//! Points from a table.

use std::fs::File;
use std::io::{BufRead, BufReader};
use std::path::Path;

use tidewall_devices::datasheet::RatingWave;
use tidewall_extract::readers::tlp::{self, TlpOptions};
use tidewall_study::LARGEST_FILE;
use tidewall_study::parts::wave::{self, parse_wave};
use tidewall_units::{Quantity, parse};

use crate::failure::Failure;

/// Points of a curve: the rows of a table whose first row names the columns with their units.
#[derive(Clone, Debug)]
pub struct Points {
    file: String,
    heads: Vec<(String, String)>,
    rows: Vec<(usize, Vec<String>)>,
    notes: Vec<String>,
}

impl Points {
    /// Reads the file. Commas, semicolons and tabs separate columns, as in the tables of a parts file.
    ///
    /// # Errors
    /// Where it cannot be read, or is no table.
    pub fn read(path: &Path) -> Result<Points, Failure> {
        let file = path.display().to_string();
        let about = std::fs::metadata(path).map_err(|error| {
            Failure::file(
                &file,
                format!("cannot be read: {}", error.kind()),
                "check the name of the file",
            )
        })?;
        if about.len() > LARGEST_FILE {
            return Err(Failure::file(
                &file,
                "is too large",
                "points of a curve fit into 8 MiB",
            ));
        }
        let text = std::fs::read_to_string(path).map_err(|error| {
            Failure::file(
                &file,
                format!("cannot be read: {}", error.kind()),
                "a CSV file in UTF-8 is expected",
            )
        })?;
        Points::parse(&file, &text)
    }

    /// Reads the file of a transmission-line-pulse test; points from the first failure on are left out and told.
    /// `width_s` stands for the pulse width of the table.
    ///
    /// # Errors
    /// Where it cannot be read, or is no such table.
    pub fn read_tlp(path: &Path, width_s: Option<f64>) -> Result<Points, Failure> {
        let file = path.display().to_string();
        let opened = File::open(path).map_err(|error| {
            let message = format!("cannot be read: {}", error.kind());
            Failure::file(&file, message, "check the name of the file")
        })?;
        Points::of_tlp(&file, BufReader::new(opened), width_s)
    }

    /// As [`Points::read_tlp`], of an open table called `file`.
    ///
    /// # Errors
    /// Where it is no such table.
    pub fn of_tlp(file: &str, table: impl BufRead, width_s: Option<f64>) -> Result<Points, Failure> {
        let options = TlpOptions {
            width_s,
            ..TlpOptions::default()
        };
        let table = tlp::read(table, &options).map_err(|fault| Failure::in_capture(file, &fault))?;
        let head = |name: &str, unit: &str| (name.to_owned(), unit.to_owned());
        let mut heads = vec![head("current", "A"), head("voltage", "V")];
        if table.width_s.is_some() {
            heads.push(head("wave", ""));
        }
        let rows = table.points.iter().map(|point| {
            let mut cells = vec![format!("{:e}", point.amps), format!("{:e}", point.volts)];
            cells.extend(table.width_s.map(|width_s| format!("rectangle {width_s:e} s")));
            (point.line, cells)
        });
        Ok(Points {
            file: file.to_owned(),
            heads,
            rows: rows.collect(),
            notes: table.notes,
        })
    }

    /// What was left out or assumed in reading.
    pub fn notes(&self) -> &[String] {
        &self.notes
    }

    /// The points of a text called `file`.
    ///
    /// # Errors
    /// Where it is no table.
    pub fn parse(file: &str, text: &str) -> Result<Points, Failure> {
        let text = text.trim_start_matches('\u{feff}');
        let head = text
            .lines()
            .find(|line| !line.trim().is_empty() && !line.starts_with('#'))
            .unwrap_or_default();
        let separator = [b'\t', b';']
            .into_iter()
            .find(|s| head.as_bytes().contains(s))
            .unwrap_or(b',');
        let mut reader = csv::ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .comment(Some(b'#'))
            .delimiter(separator)
            .trim(csv::Trim::All)
            .from_reader(text.as_bytes());
        let mut heads = None;
        let mut rows = Vec::new();
        for record in reader.records() {
            let record = record.map_err(|error| Failure::file(file, format!("is no CSV: {error}"), ""))?;
            let line = record.position().map_or(0, csv::Position::line) as usize;
            let cells: Vec<String> = record.iter().map(str::to_owned).collect();
            if heads.is_none() {
                heads = Some(cells.iter().map(|cell| head_of(cell)).collect::<Vec<_>>());
            } else if cells.iter().any(|cell| !cell.is_empty()) {
                rows.push((line, cells));
            }
        }
        let heads = heads.ok_or_else(|| {
            Failure::file(
                file,
                "is empty",
                "the first row names the columns with their units: current (A),voltage (V)",
            )
        })?;
        Ok(Points {
            file: file.to_owned(),
            heads,
            rows,
            notes: Vec::new(),
        })
    }

    /// Number of rows.
    pub fn len(&self) -> usize {
        self.rows.len()
    }

    /// True if there is no row.
    pub fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    /// Name of the table.
    pub fn file(&self) -> &str {
        &self.file
    }

    fn column(&self, name: &str) -> Option<usize> {
        self.heads.iter().position(|(head, _)| head == name)
    }

    fn required(&self, name: &str, unit: &str) -> Result<usize, Failure> {
        self.column(name).ok_or_else(|| {
            let bracket = if unit.is_empty() {
                String::new()
            } else {
                format!(" ({unit})")
            };
            let found: Vec<&str> = self.heads.iter().map(|(head, _)| head.as_str()).collect();
            Failure::file(
                &self.file,
                format!("has no column `{name}{bracket}`, only: {}", found.join(", ")),
                "`tidewall extract fit --help` lists the columns of each family",
            )
        })
    }

    fn cell(&self, row: usize, column: usize) -> Result<&str, Failure> {
        let (line, cells) = &self.rows[row];
        cells
            .get(column)
            .map(String::as_str)
            .filter(|cell| !cell.is_empty())
            .ok_or_else(|| {
                Failure::cell(
                    &self.file,
                    *line,
                    column + 1,
                    format!("there is no {}", self.heads[column].0),
                    "every row holds a value in every column that is read",
                )
            })
    }

    fn values<Q: Quantity>(&self, column: usize) -> Result<Vec<f64>, Failure> {
        let unit = &self.heads[column].1;
        (0..self.len())
            .map(|row| {
                let cell = self.cell(row, column)?;
                // The unit is the header's: one that a cell brings along as well would be read twice.
                parse::<Q>(&format!("{cell} {unit}"))
                    .map(Quantity::si)
                    .map_err(|error| {
                        let hint = format!(
                            "{} in the unit of the header, such as `{} ({})`",
                            Q::NAME,
                            self.heads[column].0,
                            Q::SYMBOL
                        );
                        Failure::cell(&self.file, self.rows[row].0, column + 1, error.to_string(), hint)
                    })
            })
            .collect()
    }

    /// The values of a column in SI units; `name` may carry its unit only in the header.
    ///
    /// # Errors
    /// Where a cell is missing or is not what belongs there.
    pub fn quantities<Q: Quantity>(&self, name: &str) -> Result<Vec<f64>, Failure> {
        let column = self.required(name, Q::SYMBOL)?;
        if self.heads[column].1.is_empty() {
            return Err(Failure::cell(
                &self.file,
                0,
                column + 1,
                format!("the column `{name}` has no unit"),
                format!("write it in brackets: {name} ({})", Q::SYMBOL),
            ));
        }
        self.values::<Q>(column)
    }

    /// Standard deviations, where there is a column for them.
    ///
    /// # Errors
    /// Where a cell is missing or is not what belongs there.
    pub fn deviations<Q: Quantity>(&self) -> Result<Vec<Option<f64>>, Failure> {
        match self.column("deviation") {
            None => Ok(vec![None; self.len()]),
            Some(_) => Ok(self.quantities::<Q>("deviation")?.into_iter().map(Some).collect()),
        }
    }

    /// The waves of the rows: the column's, or one for all.
    ///
    /// # Errors
    /// Where a cell is missing or is not what belongs there.
    pub fn waves(&self, all: Option<RatingWave>) -> Result<Vec<RatingWave>, Failure> {
        if let (None, Some(wave)) = (self.column("wave"), all) {
            return Ok(vec![wave; self.len()]);
        }
        let column = self.required("wave", "")?;
        (0..self.len())
            .map(|row| {
                let cell = self.cell(row, column)?;
                parse_wave(cell).map_err(|_| {
                    Failure::cell(
                        &self.file,
                        self.rows[row].0,
                        column + 1,
                        format!("`{cell}` is no wave"),
                        format!("a wave is {}", wave::EXPECTED),
                    )
                })
            })
            .collect()
    }

    /// A failure about a point by its number, from 1.
    pub fn about(&self, point: Option<usize>, message: String, hint: &str) -> Failure {
        match point.and_then(|point| self.rows.get(point.wrapping_sub(1))) {
            Some((line, _)) => Failure::cell(&self.file, *line, 0, message, hint),
            None => Failure::file(&self.file, message, hint),
        }
    }
}

/// `name (unit)`.
fn head_of(cell: &str) -> (String, String) {
    match cell.strip_suffix(')').and_then(|cell| cell.split_once('(')) {
        Some((name, unit)) => (name.trim().to_lowercase(), unit.trim().to_owned()),
        None => (cell.trim().to_lowercase(), String::new()),
    }
}
