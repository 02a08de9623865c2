//! The recommendation note: made, read and downloaded.

use std::sync::Arc;

use axum::extract::{Path, State};
use axum::http::header;
use axum::response::{IntoResponse, Response};
use maud::{Markup, html};
use tidewall_desk::failure::Failure;
use tidewall_report::document::Text;
use tidewall_report::words::harmless;

use super::runs::{Desk, shown};
use crate::asked::Asked;
use crate::download::file;
use crate::error::Refusal;
use crate::guard::OwnPolicy;
use crate::html::{Page, Place, StudyPage, escaped, page as frame, verdict};
use crate::jobs::{Job, Kind, Stage};
use crate::product::{Product, Report};
use crate::state::App;

/// Media type of a workbook.
const WORKBOOK: &str = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet";

/// `GET /study/{name}/report`
pub async fn page(State(app): State<App>, Path(name): Path<String>, asked: Asked) -> Result<Page, Refusal> {
    let desk = Desk::of(&app, name, asked).await?;
    let body = html! {
        (desk.heading("Report"))
        @if desk.study().is_some() {
            (form(&desk))
            (section(&desk))
        }
    };
    let title = format!("Report: {}", desk.title());
    Ok(frame(
        &app,
        Place::Study(&desk.name, StudyPage::Report),
        &title,
        &body,
    ))
}

/// `GET /study/{name}/report/part/report`
pub async fn part(State(app): State<App>, Path(name): Path<String>, asked: Asked) -> Result<Page, Refusal> {
    let desk = Desk::of(&app, name, asked).await?;
    Ok(Page(section(&desk)))
}

fn form(desk: &Desk) -> Markup {
    let last = desk.app.jobs().latest(&desk.name, Kind::Report);
    let last = last.map(|job| job.asked.clone()).unwrap_or_default();
    let sources = [
        ("study", "the study and its parts files", true),
        ("library", "the parts library", false),
        ("generic", "generic classes", false),
    ];
    html! {
        form.setup id="setup" data-start=(format!("/api/study/{}/run", escaped(&desk.name))) {
            fieldset {
                legend { "Alternatives from" }
                @for (word, title, usual) in sources {
                    @let ticked = if last.is_empty() { usual } else { last.has("from", word) };
                    p.choice {
                        input type="checkbox" id=(format!("from-{word}")) name="from" value=(word) checked[ticked];
                        label for=(format!("from-{word}")) { (title) }
                    }
                }
            }
            fieldset {
                legend { "Also" }
                p.weights {
                    label { "draws " input.short type="text" inputmode="numeric" name="draws" value=[last.one("draws")] placeholder="0" autocomplete="off"; }
                    label { "seed " input.short type="text" inputmode="numeric" name="seed" value=[last.one("seed")] placeholder="1" autocomplete="off"; }
                    label { "date to print " input type="text" name="date" value=[last.one("date")] placeholder="none" maxlength="60" autocomplete="off"; }
                    label { "paper "
                        select name="paper" {
                            option value="a4" { "A4" }
                            option value="letter" selected[last.one("paper") == Some("letter")] { "letter" }
                        }
                    }
                }
            }
            p.actions { button.main type="submit" name="kind" value="report" { "Make the report" } }
            noscript { p.hint { "Runs are begun by the script of this page, which this browser does not run." } }
        }
    }
}

fn section(desk: &Desk) -> Markup {
    let run = desk.job(Kind::Report);
    let none = html! {
        p.hint { "No report has been made yet. It holds the recommendation with figures, alternatives, test plan in short and the \
                  origin of every value." }
    };
    let address = format!(
        "{}/part/report{}",
        StudyPage::Report.address(&desk.name),
        desk.asked.query()
    );
    let body = shown(&run, &none, |job, product| match product {
        Product::Report(report) => made(desk, job, report),
        _ => html! {},
    });
    desk.section("part-report", &address, run.job().map(AsRef::as_ref), &body)
}

fn made(desk: &Desk, job: &Job, report: &Report) -> Markup {
    let page = StudyPage::Report.address(&desk.name);
    let address = |end: &str| format!("{page}/{}/{end}", job.id);
    let note = &report.note;
    html! {
        (desk.stale(job))
        h2 { (harmless(&note.title)) }
        p.judged { (verdict(report.verdict)) " " (harmless(&note.kind)) @if let Some(date) = &note.date { ", " (harmless(date)) } }
        p.actions {
            a.button.main href=(address("note")) { "Read it" }
            @if cfg!(feature = "pdf") {
                a.button href=(address("note.pdf")) download { "Download PDF" }
            }
            a.button href=(address("note.html")) download { "Download HTML" }
            a.button href=(address("data.xlsx")) download { "Download workbook (XLSX)" }
        }
        @if !cfg!(feature = "pdf") {
            p.hint { "This build has no PDF. Download the HTML and print it, or build with the feature " code { "pdf" } "." }
        }
        h3 { "What it holds" }
        ol.contents {
            @for section in &note.sections {
                li { a href=(format!("{}#s-{}", address("note"), section.id)) { (harmless(&section.title)) } }
            }
        }
        h3 { "In short" }
        table.values {
            tbody {
                @for (word, text) in &note.facts { tr { th scope="row" { (harmless(word)) } td { (harmless(&Text::words(text))) } } }
            }
        }
    }
}

/// The report of a run.
fn ready(app: &App, name: &str, id: u64) -> Result<Arc<Product>, Refusal> {
    let job = app
        .jobs()
        .get(id)
        .filter(|job| job.study == name && job.kind == Kind::Report);
    match job.map(|job| job.stage()) {
        Some(Stage::Done(product)) => Ok(product),
        _ => Err(Refusal::missing(
            "that report is not here: it was made before this start of the workbench, or is too old to be kept",
            "make it again on the page of the report",
        )),
    }
}

/// The note of a report, rendered away from the threads that answer.
async fn rendered<T: Send + 'static>(
    app: &App,
    name: String,
    id: u64,
    render: impl FnOnce(&Report) -> Result<T, Failure> + Send + 'static,
) -> Result<T, Refusal> {
    app.blocking(move |app| {
        let product = ready(app, &name, id)?;
        match &*product {
            Product::Report(report) => Ok(render(report)?),
            _ => Err(Refusal::internal()),
        }
    })
    .await
}

/// `GET /study/{name}/report/{run}/note`: the note itself, under its own policy, which lets in its style sheet and no script.
pub async fn note(
    State(app): State<App>,
    Path((name, id)): Path<(String, u64)>,
) -> Result<Response, Refusal> {
    let (text, policy) = rendered(&app, name, id, |report| {
        Ok((
            tidewall_report::html::html(&report.note),
            tidewall_report::html::policy(&report.note),
        ))
    })
    .await?;
    let mut response = ([(header::CONTENT_TYPE, "text/html; charset=utf-8")], text).into_response();
    response.extensions_mut().insert(OwnPolicy(policy));
    Ok(response)
}

/// `GET /study/{name}/report/{run}/note.html`
pub async fn html_file(
    State(app): State<App>,
    Path((name, id)): Path<(String, u64)>,
) -> Result<Response, Refusal> {
    let text = rendered(&app, name.clone(), id, |report| {
        Ok(tidewall_report::html::html(&report.note))
    })
    .await?;
    Ok(file(
        &name,
        "-report.html",
        "text/html; charset=utf-8",
        text.into_bytes(),
    ))
}

/// `GET /study/{name}/report/{run}/data.xlsx`
pub async fn workbook(
    State(app): State<App>,
    Path((name, id)): Path<(String, u64)>,
) -> Result<Response, Refusal> {
    let bytes = rendered(&app, name.clone(), id, |report| Ok(report.workbook.clone())).await?;
    Ok(file(&name, "-report.xlsx", WORKBOOK, bytes))
}

/// `GET /study/{name}/report/{run}/note.pdf`
pub async fn pdf(State(app): State<App>, Path((name, id)): Path<(String, u64)>) -> Result<Response, Refusal> {
    let study = name.clone();
    let bytes = rendered(&app, name.clone(), id, move |report| typeset(report, &study)).await?;
    Ok(file(&name, "-report.pdf", "application/pdf", bytes))
}

#[cfg(feature = "pdf")]
fn typeset(report: &Report, name: &str) -> Result<Vec<u8>, Failure> {
    match tidewall_report::pdf::pdf(&report.note) {
        Ok(typeset) => Ok(typeset.bytes),
        Err(fault) => Err(Failure::output(
            name,
            format!("the note cannot be typeset: {fault}"),
            "",
        )),
    }
}

#[cfg(not(feature = "pdf"))]
fn typeset(_report: &Report, name: &str) -> Result<Vec<u8>, Failure> {
    Err(Failure::output(
        name,
        "this build has no PDF",
        "build with the feature `pdf`, or download the HTML and print it",
    ))
}
