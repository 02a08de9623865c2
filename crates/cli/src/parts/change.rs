//! `tidewall parts add` and `tidewall parts retire`.

use schemars::JsonSchema;
use serde::Serialize;
use tidewall_desk::parts;
use tidewall_parts::Change;
use tidewall_parts::wire::DatumExport;
use tidewall_study::read_parts_file;

use super::args::AddArgs;
use super::{PartsOutput, no_part};
use crate::args::Format;
use crate::failure::Failure;
use crate::library::{self, Place};
use crate::output;
use crate::sheet::page::{Page, Style};

/// What was changed in the library.
#[derive(Debug, Serialize, JsonSchema)]
pub struct LibraryChange {
    /// Version of this form.
    schema: &'static str,
    /// The library's file.
    library: String,
    /// True if nothing was written.
    dry_run: bool,
    /// The parts, in the order of their names.
    parts: Vec<PartChange>,
}

#[derive(Debug, Serialize, JsonSchema)]
struct PartChange {
    /// Name.
    name: String,
    /// `added`, `unchanged`, `changed` or `retired`.
    change: &'static str,
    /// The data that changed.
    data: Vec<DatumChange>,
}

#[derive(Debug, Serialize, JsonSchema)]
struct DatumChange {
    /// The change in words.
    words: String,
    /// What was stated before.
    old: Option<DatumExport>,
    /// What is stated now.
    new: Option<DatumExport>,
}

impl PartChange {
    fn of(name: &str, change: Change) -> PartChange {
        let (word, changes) = match change {
            Change::Added => ("added", Vec::new()),
            Change::Unchanged => ("unchanged", Vec::new()),
            Change::Changed(changes) => ("changed", changes),
        };
        let data = changes.iter().map(|change| DatumChange {
            words: change.in_words(),
            old: change.old.as_ref().map(DatumExport::from),
            new: change.new.as_ref().map(DatumExport::from),
        });
        PartChange {
            name: name.to_owned(),
            change: word,
            data: data.collect(),
        }
    }
}

/// Puts the parts of a parts file into the library.
pub fn add(args: &AddArgs, place: &Place, format: Format) -> Result<(), Failure> {
    let file = args.file.display().to_string();
    let records = parts::records(&file, &read_parts_file(&args.file)?)?;
    // A dry run leaves no trace, not even a new file.
    let mut library = if args.dry_run && !place.path().exists() {
        place.read()?
    } else {
        library::open(place)?
    };
    let changes = parts::add(&mut library, &file, &records, args.dry_run)?;
    let parts = changes
        .into_iter()
        .map(|(name, change)| PartChange::of(&name, change));
    report(parts.collect(), place, args.dry_run, format)
}

/// Takes a part out of the library.
pub fn retire(name: &str, place: &Place, format: Format) -> Result<(), Failure> {
    let mut library = library::open(place)?;
    if library.part(name)?.is_none() {
        return Err(no_part(&library, name));
    }
    parts::retire(&mut library, name)?;
    let part = PartChange {
        name: name.to_owned(),
        change: "retired",
        data: Vec::new(),
    };
    report(vec![part], place, false, format)
}

fn report(parts: Vec<PartChange>, place: &Place, dry_run: bool, format: Format) -> Result<(), Failure> {
    let library = place.path().display().to_string();
    if format == Format::Json {
        return output::print_json(&PartsOutput::Change(LibraryChange {
            schema: "tidewall/parts-change/1",
            library,
            dry_run,
            parts,
        }));
    }
    let mut page = Page::for_terminal();
    let widest = parts.iter().map(|part| part.name.len()).max().unwrap_or(0);
    for part in &parts {
        page.line(&[
            (Style::Plain, &format!("{:<widest$}  ", part.name)),
            (Style::Strong, part.change),
        ]);
        for datum in &part.data {
            page.entry("", &datum.words);
        }
    }
    let end = if dry_run {
        format!("Dry run: nothing was written to {library}.")
    } else {
        format!("Written to {library}.")
    };
    page.line(&[(Style::Plain, &end)]);
    output::print(&page.finish())
}
