//! `tidewall parts import`.

use std::fs;
use std::io::Read;
use std::path::Path;

use schemars::JsonSchema;
use serde::Serialize;
use tidewall_desk::parts;
use tidewall_parts::Library;
use tidewall_parts::import::{
    Confidence, FileOptions, Form, Guess, GuessOptions, ImportError, ImportOptions, ImportReport, Mapping,
    Outcome, Table, guess,
};

use super::args::ImportArgs;
use crate::args::Format;
use crate::failure::Failure;
use crate::library::{self, Place};
use crate::output::{self, Existing, Target};
use crate::progress::Progress;
use crate::sheet::page::{Page, Style};
use crate::status::Status;

/// Largest mapping file in bytes.
const LARGEST: u64 = 1 << 20;

/// Output of `parts import` as JSON.
#[derive(Debug, Serialize, JsonSchema)]
#[serde(untagged)]
pub enum ImportOutput {
    /// What was done.
    Report(ImportReport),
    /// The guess of a mapping, when none is confirmed.
    Guess(Guess),
}

/// Imports, or guesses.
pub fn run(args: &ImportArgs, place: &Place, format: Format) -> Result<Status, Failure> {
    if let Some(path) = &args.mapping {
        let name = path.display().to_string();
        let mut mapping = Mapping::parse(&name, &text_of(path)?)?;
        mapping.file.sheet = args.sheet.clone().or(mapping.file.sheet);
        let table = Table::open(&args.file, &mapping.file)?;
        return import(args, &table, &mapping, place, format);
    }
    // A wish to write is judged before the table is read.
    let existing = if args.force {
        Existing::Replace
    } else {
        Existing::Keep
    };
    let target = args
        .guess
        .as_deref()
        .map(|path| Target::new(path, existing))
        .transpose()?;
    let options = FileOptions {
        sheet: args.sheet.clone(),
        ..FileOptions::default()
    };
    let table = Table::open(&args.file, &options)?;
    let guess = guess(
        &table,
        &GuessOptions {
            kind: args.kind.clone(),
            document: args.document.clone(),
            family: args.family.clone(),
        },
    )?;
    if args.accept_guess {
        return accept(args, &table, &guess, place, format);
    }
    if let Some(target) = target {
        target.write(|out| out.write_all(guess.mapping.as_bytes()))?;
    }
    let written = args.guess.is_some();
    show(args, &guess, format)?;
    if written {
        return Ok(Status::Pass);
    }
    Err(Failure::usage(
        "no mapping is confirmed, so nothing is imported",
        "--guess MAPPING.toml writes this guess as a file to look through, --mapping MAPPING.toml imports by it, \
         --accept-guess imports by the guess as it is",
    ))
}

fn text_of(path: &Path) -> Result<String, Failure> {
    let refuse = |message: String, hint: &str| {
        Failure::from(ImportError {
            file: path.display().to_string(),
            message,
            hint: hint.to_owned(),
            ..ImportError::default()
        })
    };
    let mut text = String::new();
    let file = fs::File::open(path).map_err(|error| {
        refuse(
            format!("cannot be read: {}", error.kind()),
            "tidewall parts import FILE --guess MAPPING.toml writes one",
        )
    })?;
    file.take(LARGEST + 1)
        .read_to_string(&mut text)
        .map_err(|error| refuse(format!("cannot be read: {error}"), "a mapping file is UTF-8 text"))?;
    if text.len() as u64 > LARGEST {
        return Err(refuse("is larger than 1 MiB".to_owned(), "is it a mapping file?"));
    }
    Ok(text)
}

/// Imports by the guess, which the user has confirmed unseen.
fn accept(
    args: &ImportArgs,
    table: &Table,
    guess: &Guess,
    place: &Place,
    format: Format,
) -> Result<Status, Failure> {
    if !guess.to_fill_in.is_empty() {
        return Err(Failure::usage(
            format!("the guess leaves something open: {}", guess.to_fill_in.join("; ")),
            "say --kind, --document or --family, or let --guess write the mapping file and fill it in",
        ));
    }
    let mapping = Mapping::parse("the guess", &guess.mapping)?;
    import(args, table, &mapping, place, format)
}

fn import(
    args: &ImportArgs,
    table: &Table,
    mapping: &Mapping,
    place: &Place,
    format: Format,
) -> Result<Status, Failure> {
    // A dry run leaves no trace, not even a new file.
    let mut library: Library = if args.dry_run && !place.path().exists() {
        place.read()?
    } else {
        library::open(place)?
    };
    let options = ImportOptions {
        dry_run: args.dry_run,
        max_bad: args.max_bad,
    };
    let unit = match table.form() {
        Form::Text { .. } => "bytes",
        Form::Workbook { .. } => "rows",
    };
    let progress = Progress::new(format == Format::Text, unit);
    let report = parts::import(&mut library, table, mapping, &options, &mut |reached| {
        progress.show(reached.done, reached.all);
    });
    progress.end();
    let report = report?;
    let status = match report.outcome {
        Outcome::Complete => Status::Pass,
        Outcome::Partial => Status::Unknown,
        Outcome::Nothing => Status::BadInput,
    };
    match format {
        Format::Json => output::print_json(&ImportOutput::Report(report))?,
        Format::Text => output::print(&sheet(&report, place))?,
    }
    Ok(status)
}

fn count(number: u64, one: &str, many: &str) -> String {
    format!("{number} {}", if number == 1 { one } else { many })
}

/// The report for people.
fn sheet(report: &ImportReport, place: &Place) -> String {
    /// Rows of each kind that are shown.
    const SHOWN: usize = 20;
    let mut page = Page::for_terminal();
    let (style, words) = match (report.outcome, report.dry_run) {
        (Outcome::Complete, false) => (Style::Pass, "every row is in the library"),
        (Outcome::Complete, true) => (Style::Pass, "dry run: every row would go into the library"),
        (Outcome::Partial, false) => (
            Style::Doubt,
            "the good rows are in the library, the bad ones are not",
        ),
        (Outcome::Partial, true) => (Style::Doubt, "dry run: the good rows would go into the library"),
        (Outcome::Nothing, false) => (Style::Fail, "nothing was imported"),
        (Outcome::Nothing, true) => (Style::Fail, "dry run: nothing would be imported"),
    };
    page.line(&[
        (Style::Strong, &report.file),
        (Style::Plain, ": "),
        (style, words),
    ]);
    page.entry("", &report.form);
    if let Some(why) = &report.refused {
        page.entry("", why);
    }
    let counts = [
        count(report.rows, "row", "rows"),
        format!("{} added", report.added),
        format!("{} changed", report.changed),
        format!("{} moved", report.moved),
        format!("{} unchanged", report.unchanged),
        format!("{} repeated", report.repeated),
        format!("{} bad", report.bad),
    ];
    page.entry("", &counts.join(", "));
    if !report.bad_rows.is_empty() {
        page.heading("Bad rows");
        for row in report.bad_rows.iter().take(SHOWN) {
            for fault in &row.faults {
                let mut text = String::new();
                if !row.part.is_empty() {
                    text.push_str(&format!("{}: ", row.part));
                }
                if !fault.header.is_empty() {
                    text.push_str(&format!("\"{}\": ", fault.header));
                }
                text.push_str(&fault.reason);
                if !fault.expected.is_empty() {
                    text.push_str(&format!("; expected {}", fault.expected));
                }
                if !fault.hint.is_empty() {
                    text.push_str(&format!(" ({})", fault.hint));
                }
                page.entry(&format!("{}  ", fault.place), &text);
            }
        }
        more(&mut page, report.bad, SHOWN);
    }
    if !report.changed_parts.is_empty() {
        page.heading("Changed");
        for part in report.changed_parts.iter().take(SHOWN) {
            page.entry(&format!("{}  ", part.part), &part.changes.join("; "));
        }
        more(&mut page, report.changed, SHOWN);
    }
    if report.dry_run && !report.added_parts.is_empty() {
        page.heading("Added");
        let names: Vec<&str> = report
            .added_parts
            .iter()
            .take(SHOWN)
            .map(|part| part.part.as_str())
            .collect();
        page.entry("", &names.join(", "));
        more(&mut page, report.added, SHOWN);
    }
    if !report.unused_columns.is_empty() {
        page.heading("Columns that nothing was taken from");
        page.entry("", &report.unused_columns.join(", "));
    }
    if !report.notes.is_empty() {
        page.heading("Notes");
        for note in &report.notes {
            page.entry("", note);
        }
    }
    page.blank();
    let end = if report.dry_run || report.outcome == Outcome::Nothing {
        format!("Nothing was written to {}.", place.path().display())
    } else {
        format!("Written to {}.", place.path().display())
    };
    page.line(&[(Style::Plain, &end)]);
    page.finish()
}

fn more(page: &mut Page, all: u64, shown: usize) {
    let left = all.saturating_sub(shown as u64);
    if left > 0 {
        page.entry("", &format!("and {left} more; --format json lists up to 1000"));
    }
}

/// Shows the guess.
fn show(args: &ImportArgs, guess: &Guess, format: Format) -> Result<(), Failure> {
    if format == Format::Json {
        return output::print_json(&ImportOutput::Guess(guess.clone()));
    }
    let mut page = Page::for_terminal();
    page.line(&[
        (Style::Strong, &guess.file),
        (
            Style::Plain,
            &format!(": {}; headers in row {}", guess.form, guess.header_row),
        ),
    ]);
    for column in &guess.columns {
        let style = match column.confidence {
            Confidence::Certain => Style::Pass,
            Confidence::Likely => Style::Plain,
            Confidence::Doubtful | Confidence::NotUnderstood => Style::Doubt,
        };
        let meaning = if column.meaning.is_empty() {
            String::new()
        } else {
            format!("{}, ", column.meaning)
        };
        page.styled_entry(
            style,
            &format!("{} \"{}\"  ", column.column, column.header),
            &format!("{meaning}{}: {}", column.confidence.in_words(), column.reason),
        );
    }
    if !guess.to_fill_in.is_empty() {
        page.heading("To be filled in");
        for what in &guess.to_fill_in {
            page.entry("", what);
        }
    }
    if let Some(path) = &args.guess {
        page.blank();
        page.line(&[(
            Style::Plain,
            &format!(
                "{}: look it through, then import with --mapping. Nothing was imported.",
                path.display()
            ),
        )]);
    }
    output::print(&page.finish())
}
