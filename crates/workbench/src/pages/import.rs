//! A table into the library: what its columns seem to mean, the mapping to be confirmed, a dry run, the import.

use std::sync::Arc;

use axum::extract::{Path, State};
use maud::{Markup, html};
use tidewall_desk::failure::Failure;
use tidewall_parts::import::{
    Confidence, FileOptions, Guess, GuessOptions, ImportReport, Outcome, Table, guess,
};
use tidewall_report::words::harmless;
use tidewall_study::parts::{FAMILIES, FIRMNESS};

use super::parts::{LibraryPage, address, ways};
use crate::asked::Asked;
use crate::error::Refusal;
use crate::html::{Page, Place, page as frame};
use crate::state::App;
use crate::uploads::Upload;

/// Rows of each kind that are shown; the counts are of all.
const SHOWN: usize = 100;
const CONFIDENCES: [Confidence; 4] = [
    Confidence::Certain,
    Confidence::Likely,
    Confidence::Doubtful,
    Confidence::NotUnderstood,
];
/// Where the user begins who has to write a mapping by hand.
const EMPTY: &str = "mapping = 1\n\n[constants]\nkind = \"typical\"\ndocument = \"\"\nfamily = \"\"\n\n[name]\ncolumn = \"\"\n";

/// `GET /import`
pub async fn page(State(app): State<App>) -> Page {
    let body = html! {
        (ways(LibraryPage::Import))
        h1 { "Import a table" }
        p { "A CSV or XLSX file of up to 64 MB with one part in each row. What its columns seem to mean is shown first; nothing is \
             imported before you say so." }
        form.asking.stacked.drop #send-table data-drop {
            label for="table" { "Table: choose it, or drop it here" }
            input #table type="file" accept=".csv,.tsv,.txt,.xlsx";
            p { button.main type="submit" { "Look at it" } }
        }
        p.hint {
            code { "tidewall parts sample FILE.csv" } " writes a table of invented parts to try it on. The form of the mapping is \
            described in " span.mono { "docs/parts-import.md" } "."
        }
    };
    frame(&app, Place::Parts, "Import a table", &body)
}

/// What is thought of a table.
struct Seen {
    guess: Result<Guess, Failure>,
    kind: Option<String>,
}

/// `GET /import/{id}`
pub async fn table(State(app): State<App>, Path(id): Path<u64>, asked: Asked) -> Result<Page, Refusal> {
    let upload = app.uploads().get(id)?;
    let seen = {
        let (upload, asked) = (Arc::clone(&upload), asked.clone());
        app.blocking(move |_| Ok(look(&upload, &asked))).await?
    };
    let body = html! {
        (ways(LibraryPage::Import))
        h1 { "Import " (harmless(&upload.name)) }
        (options(&upload, &asked))
        @match &seen.guess {
            Ok(guess) => (columns(guess)),
            Err(failure) => (refused(failure)),
        }
        (mapping(&upload, &asked, &seen))
        section #outcome aria-live="polite" tabindex="-1" {}
    };
    let title = format!("Import {}", upload.name);
    Ok(frame(&app, Place::Parts, &title, &body))
}

fn look(upload: &Upload, asked: &Asked) -> Seen {
    let text = |name: &str| asked.one(name).map(str::to_owned);
    let file = FileOptions {
        sheet: text("sheet"),
        ..FileOptions::default()
    };
    let wanted = GuessOptions {
        kind: text("kind"),
        document: text("document"),
        family: text("family"),
    };
    let guessed = Table::open_as(upload.path(), &upload.name, &file).and_then(|table| guess(&table, &wanted));
    Seen {
        guess: guessed.map_err(Failure::from),
        kind: wanted.kind,
    }
}

/// What the table itself does not say.
fn options(upload: &Upload, asked: &Asked) -> Markup {
    html! {
        form.asking method="get" action=(format!("/import/{}", upload.id)) aria-label="What the table does not say" {
            label { "values are "
                select name="kind" {
                    option value="" { "not said" }
                    @for (word, _) in FIRMNESS {
                        option value=(word) selected[asked.has("kind", word)] { (word) }
                    }
                }
            }
            label { "from the document " input type="text" name="document" value=[asked.one("document")] placeholder=(harmless(&upload.name)); }
            label { "all parts are of family "
                select name="family" {
                    option value="" { "as the table says" }
                    @for (word, _) in FAMILIES {
                        option value=(word) selected[asked.has("family", word)] { (word) }
                    }
                }
            }
            label { "sheet of a workbook " input type="text" name="sheet" value=[asked.one("sheet")]; }
            button type="submit" { "Guess again" }
        }
    }
}

fn columns(guess: &Guess) -> Markup {
    html! {
        h2 { "What the columns seem to mean" }
        p {
            (harmless(&guess.form)) "; headers in row " (guess.header_row) ". Of " (guess.columns.len()) " columns "
            @for (k, confidence) in CONFIDENCES.into_iter().enumerate() {
                @if k > 0 { ", " }
                (guess.columns.iter().filter(|column| column.confidence == confidence).count()) " " (confidence.in_words())
            }
            "."
        }
        div.scroll.tall tabindex="0" role="region" aria-label="Columns" {
            table.facts {
                thead { tr {
                    th scope="col" { "column" }
                    th scope="col" { "header" }
                    th scope="col" { "seems to be" }
                    th scope="col" { "how sure" }
                    th scope="col" { "why" }
                } }
                tbody {
                    @for column in &guess.columns {
                        tr {
                            td { (column.column) }
                            th scope="row" { (harmless(&column.header)) }
                            td { (harmless(&column.meaning)) }
                            td { (sure(column.confidence)) }
                            td { (harmless(&column.reason)) }
                        }
                    }
                }
            }
        }
    }
}

fn sure(confidence: Confidence) -> Markup {
    let words = confidence.in_words();
    match confidence {
        Confidence::Certain | Confidence::Likely => html! { (words) },
        Confidence::Doubtful | Confidence::NotUnderstood => html! { em { (words) } },
    }
}

/// A refusal in the page, where the rest of it stays of use.
pub fn refused(failure: &Failure) -> Markup {
    let pieces = failure.pieces();
    html! {
        div.fault role="alert" {
            p.message {
                @if let Some(file) = &pieces.file { (harmless(file)) ": " }
                @if let Some(line) = pieces.line { "line " (line) ": " }
                (harmless(&pieces.message))
            }
            @if let Some(expected) = &pieces.expected { p { "Expected: " (harmless(expected)) } }
            @if let Some(hint) = &pieces.hint { p.hint { (harmless(hint)) } }
        }
    }
}

fn mapping(upload: &Upload, asked: &Asked, seen: &Seen) -> Markup {
    let (text, open) = match &seen.guess {
        Ok(guess) => (guess.mapping.as_str(), guess.to_fill_in.as_slice()),
        Err(_) => (EMPTY, [].as_slice()),
    };
    html! {
        h2 { "Mapping" }
        @if !open.is_empty() {
            div.fault {
                p.message { "To be filled in before the import" }
                ul { @for what in open { li { (harmless(what)) } } }
                @if seen.kind.is_none() { p.hint { "What can be chosen above is filled in by “Guess again”." } }
            }
        }
        form.asking.stacked #run-import data-table=(upload.id) data-sheet=[asked.one("sheet")] {
            label for="mapping" { "Which column is which datum: look it through and correct it" }
            textarea #mapping rows="22" spellcheck="false" { "\n" (text) }
            p {
                label { "bad rows that are left out, at most " input #max-bad type="text" inputmode="numeric" size="6" placeholder="half"; }
            }
            p {
                button.main type="submit" value="try" { "Dry run" } " "
                button type="submit" value="import" { "Import" }
            }
        }
    }
}

/// What an import did, or would do.
pub fn report(report: &ImportReport) -> Markup {
    let words = match (report.outcome, report.dry_run) {
        (Outcome::Complete, false) => "Every row is in the library.",
        (Outcome::Complete, true) => "Every row would go into the library. Nothing was written.",
        (Outcome::Partial, false) => "The good rows are in the library, the bad ones are not.",
        (Outcome::Partial, true) => {
            "The good rows would go into the library, the bad ones not. Nothing was written."
        }
        (Outcome::Nothing, false) => "Nothing was imported.",
        (Outcome::Nothing, true) => "Nothing would be imported.",
    };
    let counts = [
        ("rows", report.rows),
        ("added", report.added),
        ("changed", report.changed),
        ("moved", report.moved),
        ("unchanged", report.unchanged),
        ("repeated", report.repeated),
        ("bad", report.bad),
    ];
    html! {
        h2 { @if report.dry_run { "Dry run" } @else { "Import" } }
        p { strong { (words) } }
        @if let Some(why) = &report.refused { p.fault { (harmless(why)) } }
        table.values {
            tbody { @for (what, number) in counts { tr { th scope="row" { (what) } td.n { (number) } } } }
        }
        (bad_rows(report))
        @if !report.changed_parts.is_empty() {
            h3 { "Changed" }
            ul {
                @for part in report.changed_parts.iter().take(SHOWN) {
                    li { (part_name(report, &part.part)) ": " (harmless(&part.changes.join("; "))) }
                }
            }
            (more(report.changed))
        }
        @if !report.added_parts.is_empty() {
            h3 { @if report.dry_run { "New" } @else { "Added" } }
            p {
                @for (k, part) in report.added_parts.iter().take(SHOWN).enumerate() {
                    @if k > 0 { ", " }
                    (part_name(report, &part.part))
                }
            }
            (more(report.added))
        }
        @if !report.unused_columns.is_empty() {
            h3 { "Columns that nothing was taken from" }
            p { (harmless(&report.unused_columns.join(", "))) }
        }
        @if !report.notes.is_empty() {
            h3 { "Notes" }
            ul { @for note in &report.notes { li { (harmless(note)) } } }
        }
        @if !report.dry_run && report.outcome != Outcome::Nothing { p { a href="/parts" { "To the parts" } } }
    }
}

fn part_name(report: &ImportReport, name: &str) -> Markup {
    if report.dry_run {
        html! { (harmless(name)) }
    } else {
        html! { a href=(address(name)) { (harmless(name)) } }
    }
}

fn bad_rows(report: &ImportReport) -> Markup {
    if report.bad_rows.is_empty() {
        return html! {};
    }
    html! {
        h3 { "Bad rows" }
        div.scroll tabindex="0" role="region" aria-label="Bad rows" {
            table.facts {
                thead { tr {
                    th scope="col" { "where" }
                    th scope="col" { "part" }
                    th scope="col" { "column" }
                    th scope="col" { "cell" }
                    th scope="col" { "what is wrong" }
                } }
                tbody {
                    @for row in report.bad_rows.iter().take(SHOWN) {
                        @for fault in &row.faults {
                            tr {
                                th scope="row" { (harmless(&fault.place)) }
                                td { (harmless(&row.part)) }
                                td { (harmless(&fault.header)) }
                                td.mono { (harmless(&fault.value)) }
                                td {
                                    (harmless(&fault.reason))
                                    @if !fault.expected.is_empty() { "; expected " (harmless(&fault.expected)) }
                                    @if !fault.hint.is_empty() { " (" (harmless(&fault.hint)) ")" }
                                }
                            }
                        }
                    }
                }
            }
        }
        (more(report.bad))
    }
}

fn more(all: u64) -> Markup {
    let left = all.saturating_sub(SHOWN as u64);
    html! { @if left > 0 { p.hint { "And " (left) " more." } } }
}
