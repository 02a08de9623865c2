//! The import itself.

use std::collections::HashMap;
use std::hash::{DefaultHasher, Hash, Hasher};

use sha2::{Digest, Sha256};
use tidewall_devices::datasheet::{RatingWave, Spread};

use super::bind::Binding;
use super::cell::Row;
use super::error::ImportError;
use super::mapping::Mapping;
use super::report::{BadRow, CellFault, ImportReport, LISTED, Outcome, PartChange, SCHEMA};
use super::rows::Reader;
use super::table::{Reached, Table};
use crate::error::LibraryError;
use crate::record::{Condition, PartRecord, Value};
use crate::store::{Change, Edit, FieldChange};
use crate::wire;

/// Rows after which a file of mostly bad rows is given up.
const TRIED: u64 = 1000;

/// What to do with the rows.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct ImportOptions {
    /// Show what would change and keep nothing.
    pub dry_run: bool,
    /// Most bad rows with which the good ones are imported. Without it, half of the rows.
    pub max_bad: Option<u64>,
}

/// Where the parts go.
pub trait Sink {
    /// Takes one part.
    ///
    /// # Errors
    /// See [`Edit::put`].
    fn put(&mut self, record: &PartRecord) -> Result<Change, LibraryError>;
}

impl Sink for Edit<'_> {
    fn put(&mut self, record: &PartRecord) -> Result<Change, LibraryError> {
        Edit::put(self, record)
    }
}

/// Why an import came to nothing.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Refusal {
    /// The table or the mapping.
    #[error(transparent)]
    Table(#[from] ImportError),
    /// The library.
    #[error(transparent)]
    Library(#[from] LibraryError),
}

/// Puts every good row of a table into `sink`. Whether it is kept is for the caller to say: keep it unless the report's
/// outcome is [`Outcome::Nothing`], or it is a dry run.
///
/// # Errors
/// A table that cannot be read to its end, a mapping that does not fit it, a library that cannot be written. Then
/// nothing must be kept.
pub fn import_into(
    table: &Table,
    mapping: &Mapping,
    options: &ImportOptions,
    sink: &mut dyn Sink,
    progress: &mut dyn FnMut(Reached),
) -> Result<ImportReport, Refusal> {
    let binding = Binding::new(mapping, table)?;
    let places = table.places();
    let reader = Reader {
        binding: &binding,
        places: &places,
        decimal: table.decimal(),
    };
    let mut run = Run {
        width: binding.header.cells.len(),
        reader,
        sink,
        seen: HashMap::new(),
        report: ImportReport {
            schema: SCHEMA,
            file: table.name().to_owned(),
            form: table.form().in_words(),
            dry_run: options.dry_run,
            outcome: Outcome::Complete,
            refused: None,
            rows: 0,
            added: 0,
            changed: 0,
            moved: 0,
            unchanged: 0,
            repeated: 0,
            bad: 0,
            added_parts: Vec::new(),
            changed_parts: Vec::new(),
            bad_rows: Vec::new(),
            unused_columns: binding.unused.clone(),
            notes: table.notes().to_vec(),
        },
    };
    let mut trouble = None;
    let mut given_up = false;
    let header_row = binding.header.number;
    let spread = table.rows(|row, reached| {
        progress(reached);
        if row.number <= header_row {
            return Ok(true);
        }
        if let Err(error) = run.row(&row) {
            trouble = Some(error);
            return Ok(false);
        }
        given_up = run.hopeless(options);
        Ok(!given_up)
    })?;
    if let Some(error) = trouble {
        return Err(error.into());
    }
    run.report.notes.extend(spread);
    Ok(run.finish(options, given_up))
}

struct Run<'r> {
    reader: Reader<'r>,
    width: usize,
    sink: &'r mut dyn Sink,
    /// Digest of each name to the digest of what was said of it, and the row.
    seen: HashMap<u128, (u64, u64)>,
    report: ImportReport,
}

impl Run<'_> {
    fn row(&mut self, row: &Row) -> Result<(), LibraryError> {
        self.report.rows += 1;
        if let Some(fault) = self.ragged(row) {
            self.bad(row, String::new(), vec![fault]);
            return Ok(());
        }
        let record = match self.reader.read(row) {
            Ok(record) => record,
            Err((part, faults)) => {
                self.bad(row, part, faults);
                return Ok(());
            }
        };
        let key = name_digest(&record.name);
        let said = digest(&record);
        if let Some((before, place)) = self.seen.get(&key) {
            if *before == said {
                self.report.repeated += 1;
                return Ok(());
            }
            let reason = format!(
                "`{}` stands in row {place} already, with other values",
                record.name
            );
            let fault = self.reader.name_fault(row, &reason, "each part once");
            self.bad(row, record.name, vec![fault]);
            return Ok(());
        }
        let change = match self.sink.put(&record) {
            Ok(change) => change,
            Err(LibraryError::Unfit { why, .. }) => {
                let fault = self.reader.row_fault(row, &why, "");
                self.bad(row, record.name, vec![fault]);
                return Ok(());
            }
            Err(error) => return Err(error),
        };
        self.seen.insert(key, (said, row.number));
        let mut entry = PartChange {
            part: record.name,
            row: row.number,
            changes: Vec::new(),
        };
        match change {
            Change::Unchanged => self.report.unchanged += 1,
            Change::Added => {
                self.report.added += 1;
                if self.report.added_parts.len() < LISTED {
                    self.report.added_parts.push(entry);
                }
            }
            Change::Changed(fields) if fields.iter().all(only_moved) => self.report.moved += 1,
            Change::Changed(mut fields) => {
                fields.retain(|field| !only_moved(field));
                self.report.changed += 1;
                if self.report.changed_parts.len() < LISTED {
                    entry.changes = fields.iter().map(FieldChange::in_words).collect();
                    self.report.changed_parts.push(entry);
                }
            }
        }
        Ok(())
    }

    /// A row with more or fewer cells than the header has lost or gained a delimiter. Workbooks leave out empty cells.
    fn ragged(&self, row: &Row) -> Option<CellFault> {
        if *self.reader.places != super::cell::Places::Lines {
            return None;
        }
        let surplus = row
            .cells
            .iter()
            .skip(self.width)
            .any(|cell| *cell != super::cell::Cell::Empty);
        if row.cells.len() >= self.width && !surplus {
            return None;
        }
        let reason = format!("has {} columns, the header {}", row.cells.len(), self.width);
        Some(
            self.reader
                .row_fault(row, &reason, "as many columns as the header"),
        )
    }

    fn bad(&mut self, row: &Row, part: String, faults: Vec<CellFault>) {
        self.report.bad += 1;
        if self.report.bad_rows.len() < LISTED {
            self.report.bad_rows.push(BadRow {
                row: row.number,
                part,
                faults,
            });
        }
    }

    /// Whether going on can lead to nothing.
    fn hopeless(&self, options: &ImportOptions) -> bool {
        let report = &self.report;
        match options.max_bad {
            Some(most) => report.bad > most,
            None => report.rows == TRIED && report.bad == TRIED,
        }
    }

    fn finish(mut self, options: &ImportOptions, given_up: bool) -> ImportReport {
        let report = &mut self.report;
        let good = report.rows - report.bad;
        let most = options.max_bad.unwrap_or(report.rows / 2);
        report.outcome = if report.bad == 0 && good > 0 {
            Outcome::Complete
        } else if good == 0 || report.bad > most {
            Outcome::Nothing
        } else {
            Outcome::Partial
        };
        if report.outcome == Outcome::Nothing {
            report.refused = Some(match (report.rows, good, options.max_bad) {
                (0, ..) => "there is no row below the header".to_owned(),
                (_, 0, _) if given_up => format!("each of the first {} rows is bad", report.rows),
                (_, 0, _) => "every row is bad".to_owned(),
                (_, _, Some(most)) => format!("more than {most} rows are bad, which is the limit that was set"),
                (..) => {
                    "more than half of the rows are bad: the mapping is likely wrong (a higher limit can be set)".to_owned()
                }
            });
        }
        self.report
    }
}

/// Whether a datum says what it said, from another place of the same document.
fn only_moved(field: &FieldChange) -> bool {
    match (&field.old, &field.new) {
        (Some(old), Some(new)) => {
            old.value == new.value
                && old.firmness == new.firmness
                && old.source.revision == new.source.revision
        }
        _ => false,
    }
}

/// Enough of a name's digest that two names of a file never share it.
fn name_digest(name: &str) -> u128 {
    let digest = Sha256::digest(name);
    let mut bytes = [0; 16];
    bytes.copy_from_slice(&digest[..16]);
    u128::from_le_bytes(bytes)
}

/// Digest of what a record says, places aside.
fn digest(record: &PartRecord) -> u64 {
    let mut hasher = DefaultHasher::new();
    record.family.hash(&mut hasher);
    for datum in &record.data {
        datum.key.hash(&mut hasher);
        wire::firmness_word(datum.firmness).hash(&mut hasher);
        condition(&datum.condition, &mut hasher);
        match &datum.value {
            Value::Number(number) => (0u8, number.to_bits()).hash(&mut hasher),
            Value::Flag(flag) => (1u8, flag).hash(&mut hasher),
            Value::Spread(Spread { min, typ, max }) => {
                (
                    2u8,
                    min.map(f64::to_bits),
                    typ.map(f64::to_bits),
                    max.map(f64::to_bits),
                )
                    .hash(&mut hasher);
            }
            Value::Curve(points) => {
                for (volts, amps) in points {
                    (3u8, volts.to_bits(), amps.to_bits()).hash(&mut hasher);
                }
            }
        }
    }
    hasher.finish()
}

fn condition(condition: &Condition, hasher: &mut DefaultHasher) {
    match condition.wave {
        None => 0u8.hash(hasher),
        Some(RatingWave::Surge8x20) => 1u8.hash(hasher),
        Some(RatingWave::Long10x1000) => 2u8.hash(hasher),
        Some(RatingWave::FrontTail { front_s, tail_s }) => {
            (3u8, front_s.to_bits(), tail_s.to_bits()).hash(hasher)
        }
        Some(RatingWave::Rectangle { width_s }) => (4u8, width_s.to_bits()).hash(hasher),
    }
    let numbers = condition.numbers();
    numbers.map(|number| number.map(f64::to_bits)).hash(hasher);
    condition.pulses.hash(hasher);
}
