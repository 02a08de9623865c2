//! Parts into the library and out of it, each in one transaction.

use tidewall_parts::import::{
    ImportOptions, ImportReport, Mapping, Outcome, Reached, Refusal, Table, import_into,
};
use tidewall_parts::{Action, Change, Library, LibraryError, PartRecord, Provenance};
use tidewall_study::parts::PartEntry;

use crate::failure::Failure;
use crate::library::now;

/// The parts of a parts file as the library takes them; the file's own sources are their documents.
///
/// # Errors
/// Where a part does not say how firm its values are.
pub fn records(file: &str, entries: &[PartEntry]) -> Result<Vec<PartRecord>, Failure> {
    let record = |entry: &PartEntry| {
        let source = Provenance {
            document: entry.datasheet.source.to_string(),
            ..Provenance::default()
        };
        PartRecord::from_datasheet(&entry.datasheet, source)
            .map_err(|error| Failure::library(format!("{file}:{}: {error}", entry.line), "state its `kind`"))
    };
    entries.iter().map(record).collect()
}

/// Puts parts of a file into the library; says what became of each. In a dry run nothing is kept.
///
/// # Errors
/// Where one of them does not fit or the library cannot be written; nothing is kept then.
pub fn add(
    library: &mut Library,
    file: &str,
    records: &[PartRecord],
    dry_run: bool,
) -> Result<Vec<(String, Change)>, Failure> {
    let action = Action {
        what: format!("parts file {file}"),
        document: file.to_owned(),
        at_unix_s: Some(now()),
    };
    let mut edit = library.begin(&action)?;
    let mut changes = Vec::new();
    for record in records {
        let change = edit.put(record).map_err(|error| at(file, error))?;
        changes.push((record.name.clone(), change));
    }
    if !dry_run {
        edit.commit()?;
    }
    Ok(changes)
}

/// The error of a record, with the file it comes from.
fn at(file: &str, error: LibraryError) -> Failure {
    match error {
        LibraryError::Unfit { .. } => Failure::library(format!("{file}: {error}"), "nothing was changed"),
        error => error.into(),
    }
}

/// Takes a part out of the library; its history stays.
///
/// # Errors
/// Where there is no such part, or the library cannot be written.
pub fn retire(library: &mut Library, name: &str) -> Result<(), Failure> {
    let action = Action {
        what: "retired by hand".to_owned(),
        document: String::new(),
        at_unix_s: Some(now()),
    };
    let mut edit = library.begin(&action)?;
    edit.retire(name)?;
    edit.commit()?;
    Ok(())
}

/// Imports a table by a mapping. In a dry run, and where no row is good or too many are bad, nothing is kept.
///
/// # Errors
/// Where table or mapping cannot be used, or the library cannot be written; nothing is kept then.
pub fn import(
    library: &mut Library,
    table: &Table,
    mapping: &Mapping,
    options: &ImportOptions,
    progress: &mut dyn FnMut(Reached),
) -> Result<ImportReport, Failure> {
    let action = Action {
        what: format!("import of {}", table.name()),
        document: table.name().to_owned(),
        at_unix_s: Some(now()),
    };
    let mut edit = library.begin(&action)?;
    let report =
        import_into(table, mapping, options, &mut edit, progress).map_err(|refusal| match refusal {
            Refusal::Table(error) => Failure::from(error),
            Refusal::Library(error) => Failure::from(error),
        })?;
    if !options.dry_run && report.outcome != Outcome::Nothing {
        edit.commit()?;
    }
    Ok(report)
}
