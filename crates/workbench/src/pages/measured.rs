//! A measured capture against the prediction.

use std::sync::Arc;

use axum::extract::{Path, State};
use maud::{Markup, html};
use tidewall_assess::correlate::result::{Correlation, Outcome};
use tidewall_desk::captures;
use tidewall_report::figures;
use tidewall_report::words::correlation::{deviation, parameter};
use tidewall_report::words::number::corner_words;
use tidewall_report::words::{harmless, sentence};
use tidewall_units::{Quantity, Seconds, Volts};

use super::runs::{Desk, shown};
use crate::asked::Asked;
use crate::error::Refusal;
use crate::figures::figure;
use crate::html::{Page, Place, StudyPage, escaped, page as frame};
use crate::jobs::{Job, Kind};
use crate::product::Product;
use crate::state::App;

/// `GET /study/{name}/measured`
pub async fn page(State(app): State<App>, Path(name): Path<String>, asked: Asked) -> Result<Page, Refusal> {
    let desk = Desk::of(&app, name, asked).await?;
    let files = app.blocking(|app| Ok(captures::list(app.folder()))).await?;
    let body = html! {
        (desk.heading("Measured against predicted"))
        @if desk.study().is_some() {
            (form(&desk, &files))
            (section(&desk))
        }
    };
    let title = format!("Measured: {}", desk.title());
    Ok(frame(
        &app,
        Place::Study(&desk.name, StudyPage::Measured),
        &title,
        &body,
    ))
}

/// `GET /study/{name}/measured/part/correlation`
pub async fn part(State(app): State<App>, Path(name): Path<String>, asked: Asked) -> Result<Page, Refusal> {
    let desk = Desk::of(&app, name, asked).await?;
    Ok(Page(section(&desk)))
}

fn form(desk: &Desk, files: &[String]) -> Markup {
    let Some(study) = desk.study() else {
        return html! {};
    };
    let last = desk.app.jobs().latest(&desk.name, Kind::Correlation);
    let last = last.map(|job| job.asked.clone()).unwrap_or_default();
    let field = |name: &str, title: &str, hint: &str| {
        html! {
            label { (title) " "
                input.short type="text" name=(name) value=[last.one(name)] placeholder=(hint) autocomplete="off" spellcheck="false"; }
        }
    };
    html! {
        @if files.is_empty() {
            p.hint { "There is no CSV file in the opened folder. Put a capture of the oscilloscope there: a column of times, and one of \
                      volts or of volts and amperes." }
        } @else {
            form.setup id="setup" data-start=(format!("/api/study/{}/run", escaped(&desk.name))) {
                fieldset {
                    legend { "Capture" }
                    p.weights {
                        label { "file "
                            select name="capture" {
                                @for file in files { option value=(file) selected[last.one("capture") == Some(file)] { (harmless(file)) } }
                            }
                        }
                        label { "stress "
                            select name="stress" {
                                option value="" { "the nearest" }
                                @for case in &study.stresses {
                                    option value=(case.id) selected[last.one("stress") == Some(case.id.as_str())] { (harmless(&case.id)) }
                                }
                            }
                        }
                        (field("bench", "bench at", "23 °C"))
                    }
                }
                details.more {
                    summary { "Columns, probes and places" }
                    fieldset {
                        legend { "Left open where the file and the ladder say it" }
                        p.weights {
                            (field("voltage", "voltage column", ""))
                            (field("voltage factor", "its factor", "1"))
                            (field("at", "voltage measured at", "pin"))
                            (field("current", "current column", ""))
                            (field("current factor", "its factor (current)", "1"))
                            (field("of", "current of", "first shunt"))
                        }
                    }
                }
                p.actions { button.main type="submit" name="kind" value="correlation" { "Compare" } }
                noscript { p.hint { "Runs are begun by the script of this page, which this browser does not run." } }
            }
        }
    }
}

fn section(desk: &Desk) -> Markup {
    let run = desk.job(Kind::Correlation);
    let none = html! {
        p.hint { "A capture is set against the transient of the bench: typical parts, nominal level. Then every parameter that may be \
                  other than stated is fitted alone, and the page says which would explain the difference." }
    };
    let address = format!(
        "{}/part/correlation{}",
        StudyPage::Measured.address(&desk.name),
        desk.asked.query()
    );
    let body = shown(&run, &none, |job, product| match product {
        Product::Correlation(found) => sheet(desk, job, found),
        _ => html! {},
    });
    desk.section("part-correlation", &address, run.job().map(AsRef::as_ref), &body)
}

fn sheet(desk: &Desk, job: &Job, found: &Correlation) -> Markup {
    let word = match found.finding.outcome {
        Outcome::Agreement => "agrees",
        Outcome::One => "one explains",
        Outcome::Tie => "several explain",
        Outcome::None => "unexplained",
    };
    let noise = found
        .noise_v
        .map_or("unknown".to_owned(), |noise| Volts(noise).rounded(3));
    html! {
        (desk.stale(job))
        h2 { (harmless(&found.capture.file)) }
        p.judged {
            span.verdict.pass[found.finding.outcome == Outcome::Agreement] { (word) }
            " " (harmless(&sentence(&found.finding.text)))
        }
        table.values {
            tbody {
                tr { th scope="row" { "capture" } td {
                    (found.capture.samples) " samples, " (harmless(&found.capture.voltage))
                    @if let Some(current) = &found.capture.current { " and " (harmless(current)) } } }
                tr { th scope="row" { "places" } td {
                    "voltage at " (harmless(&found.voltage_at))
                    @if let Some(of) = &found.current_of { ", current of " (harmless(of)) } } }
                tr { th scope="row" { "stress" } td { (harmless(&found.stress)) "; " (corner_words(&found.corner)) } }
                tr { th scope="row" { "chosen" } td { (harmless(&found.chosen)) } }
                tr { th scope="row" { "aligned" } td {
                    "prediction moved by " (Seconds(found.alignment.shift_s).rounded(4))
                    @if found.alignment.turned { ", turned" }
                    "; " (found.alignment.method) } }
                tr { th scope="row" { "difference" } td {
                    (Volts(found.residual_v).rounded(3)) " (root mean square), noise " (noise) } }
            }
        }
        (figure(&desk.app, &Arc::new(figures::correlation(found))))
        h3 { "Read off both waves" }
        div.scroll tabindex="0" role="region" aria-label="Read off both waves" {
            table {
                thead { tr {
                    th scope="col" { "quantity" }
                    th.n scope="col" { "measured" }
                    th.n scope="col" { "predicted" }
                    th.n scope="col" { "deviation" }
                } }
                tbody {
                    @for row in &found.deviations {
                        @let [quantity, measured, predicted, share] = deviation(row);
                        tr { th scope="row" { (quantity) } td.n { (measured) } td.n { (predicted) } td.n { (share) } }
                    }
                }
            }
        }
        h3 { "Each parameter alone, the one that explains most first" }
        div.scroll tabindex="0" role="region" aria-label="Parameters" {
            table {
                thead { tr {
                    th scope="col" { "parameter" }
                    th.n scope="col" { "stated" }
                    th.n scope="col" { "fitted" }
                    th scope="col" { "95 % interval" }
                    th scope="col" { "plausible" }
                    th.n scope="col" { "explains" }
                } }
                tbody {
                    @for candidate in &found.candidates {
                        @let [name, stated, fitted, interval, plausible, explains] = parameter(candidate);
                        tr {
                            th scope="row" { (harmless(&name)) }
                            td.n { (stated) }
                            td.n { (fitted) }
                            td { (interval) }
                            td { (plausible) }
                            td.n { (explains) }
                        }
                    }
                }
            }
        }
        details.more {
            summary { "Assumed and done" }
            ul { @for note in &found.notes { li { (harmless(&sentence(note))) } } }
        }
    }
}
