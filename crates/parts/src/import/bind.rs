//! A mapping bound to the columns of one table.

use std::collections::HashMap;

use tidewall_devices::datasheet::RatingWave;

use super::cell::{Row, letters};
use super::error::ImportError;
use super::mapping::{FamilyFrom, Fixed, Given, Mapping, Numbered, Place, Rule, squeeze};
use super::table::Table;
use tidewall_devices::datasheet::Family;

/// How many rows are searched for the header.
pub(super) const SEARCHED: usize = 60;

/// A value of a rule, with the column bound.
pub(super) enum Bound<T> {
    Constant(T),
    Column { column: usize, unit: Option<String> },
}

/// A rule with its columns.
pub(super) struct BoundRule<'m> {
    pub rule: &'m Rule,
    pub given: Bound<Fixed>,
    pub wave: Option<Bound<RatingWave>>,
    pub numbers: Vec<(Numbered, Bound<f64>)>,
}

/// A mapping with its columns.
pub(super) struct Binding<'m> {
    pub mapping: &'m Mapping,
    pub header: Row,
    pub name: usize,
    pub family: Bound<Family>,
    pub rules: Vec<BoundRule<'m>>,
    /// Headers of columns that nothing is taken from and that the mapping does not skip.
    pub unused: Vec<String>,
}

impl<'m> Binding<'m> {
    /// Finds the header row and the columns.
    ///
    /// # Errors
    /// No such row or column.
    pub fn new(mapping: &'m Mapping, table: &Table) -> Result<Binding<'m>, ImportError> {
        let rows = table.head(SEARCHED)?;
        let wanted = headers(mapping);
        let header = match mapping.header_row {
            Some(number) => rows.iter().find(|row| row.number == number).ok_or_else(|| {
                ImportError::new(
                    table.name(),
                    table.places().row(number),
                    "there is no such row, or it is blank",
                )
                .expected("the row of the column headers")
                .hint(format!("`header_row` in [file] of {} says so", mapping.name))
            })?,
            None => find_header(&rows, &wanted).ok_or_else(|| {
                ImportError::new(
                    table.name(),
                    "",
                    format!("none of the first {SEARCHED} rows holds a header of the mapping"),
                )
                .expected(format!("a row with {}", wanted.join(", ")))
            })?,
        };
        let columns = Columns {
            header: header.cells.iter().map(|cell| squeeze(&cell.text())).collect(),
            file: table.name(),
            place: table.places().row(header.number),
        };
        let mut rules = Vec::new();
        for rule in &mapping.data {
            let mut numbers = Vec::new();
            for (numbered, given) in &rule.conditions.numbers {
                numbers.push((*numbered, columns.bind(given)?));
            }
            rules.push(BoundRule {
                rule,
                given: columns.bind(&rule.given)?,
                wave: rule
                    .conditions
                    .wave
                    .as_ref()
                    .map(|given| columns.bind(given))
                    .transpose()?,
                numbers,
            });
        }
        let name = columns.find(&mapping.part_name)?;
        let family = match &mapping.family {
            FamilyFrom::Constant(family) => Bound::Constant(*family),
            FamilyFrom::Column(place) => Bound::Column {
                column: columns.find(place)?,
                unit: None,
            },
        };
        let mut binding = Binding {
            mapping,
            header: header.clone(),
            name,
            family,
            rules,
            unused: Vec::new(),
        };
        binding.unused = binding.find_unused(&columns.header);
        Ok(binding)
    }

    /// Header text of a column, for messages.
    pub fn header_of(&self, column: usize) -> String {
        squeeze(&self.header.cell(column).text())
    }

    fn find_unused(&self, header: &[String]) -> Vec<String> {
        let mut used = vec![self.name];
        let mut note = |column: Option<usize>| used.extend(column);
        note(column_of(&self.family));
        for rule in &self.rules {
            note(column_of(&rule.given));
            note(rule.wave.as_ref().and_then(column_of));
            for (_, bound) in &rule.numbers {
                note(column_of(bound));
            }
        }
        let skipped: Vec<String> = self.mapping.skipped.iter().map(|text| squeeze(text)).collect();
        header
            .iter()
            .enumerate()
            .filter(|(column, text)| !text.is_empty() && !used.contains(column) && !skipped.contains(text))
            .map(|(_, text)| text.clone())
            .collect()
    }
}

/// The column of a bound value, if it has one.
pub(super) fn column_of<T>(bound: &Bound<T>) -> Option<usize> {
    match bound {
        Bound::Constant(_) => None,
        Bound::Column { column, .. } => Some(*column),
    }
}

/// The header texts a mapping names.
fn headers(mapping: &Mapping) -> Vec<String> {
    fn of<T>(given: &Given<T>) -> Option<&Place> {
        match given {
            Given::Constant(_) => None,
            Given::Column { place, .. } => Some(place),
        }
    }
    let mut places = vec![Some(&mapping.part_name)];
    if let FamilyFrom::Column(place) = &mapping.family {
        places.push(Some(place));
    }
    for rule in &mapping.data {
        places.push(of(&rule.given));
        places.push(rule.conditions.wave.as_ref().and_then(of));
        places.extend(rule.conditions.numbers.iter().map(|(_, given)| of(given)));
    }
    let mut texts: Vec<String> = places
        .into_iter()
        .flatten()
        .filter_map(|place| match place {
            Place::Header(text) => Some(text.clone()),
            Place::Letter(_) => None,
        })
        .collect();
    texts.sort();
    texts.dedup();
    texts
}

/// The row with most of the headers; the first one of several. A mapping by letters alone takes the first row.
fn find_header<'r>(rows: &'r [Row], wanted: &[String]) -> Option<&'r Row> {
    if wanted.is_empty() {
        return rows.first();
    }
    let hits = |row: &Row| {
        let texts: Vec<String> = row.cells.iter().map(|cell| squeeze(&cell.text())).collect();
        wanted.iter().filter(|text| texts.contains(text)).count()
    };
    let mut best: Option<(usize, &Row)> = None;
    for row in rows {
        let hits = hits(row);
        if hits > 0 && best.is_none_or(|(most, _)| hits > most) {
            best = Some((hits, row));
        }
    }
    best.map(|(_, row)| row)
}

struct Columns<'t> {
    header: Vec<String>,
    file: &'t str,
    place: String,
}

impl Columns<'_> {
    fn find(&self, place: &Place) -> Result<usize, ImportError> {
        let text = match place {
            Place::Letter(column) => return Ok(*column),
            Place::Header(text) => text,
        };
        let mut count: HashMap<&str, usize> = HashMap::new();
        for header in &self.header {
            *count.entry(header).or_default() += 1;
        }
        match count.get(text.as_str()) {
            Some(1) => self.header.iter().position(|header| header == text),
            Some(_) => {
                let alike: Vec<String> = (0..self.header.len())
                    .filter(|column| self.header[*column] == *text)
                    .map(letters)
                    .collect();
                return Err(ImportError::new(
                    self.file,
                    self.place.clone(),
                    format!(
                        "the header {} stands above several columns: {}",
                        place.in_words(),
                        alike.join(", ")
                    ),
                )
                .hint("name the column by `letter` in the mapping file"));
            }
            None => None,
        }
        .ok_or_else(|| {
            let named: Vec<String> = self
                .header
                .iter()
                .filter(|header| !header.is_empty())
                .map(|header| format!("\"{header}\""))
                .collect();
            ImportError::new(
                self.file,
                self.place.clone(),
                format!("there is no column {}", place.in_words()),
            )
            .expected(format!("one of {}", named.join(", ")))
        })
    }

    fn bind<T: Copy>(&self, given: &Given<T>) -> Result<Bound<T>, ImportError> {
        Ok(match given {
            Given::Constant(value) => Bound::Constant(*value),
            Given::Column { place, unit } => Bound::Column {
                column: self.find(place)?,
                unit: unit.clone(),
            },
        })
    }
}
