//! The list of studies with their verdicts.

use std::sync::Arc;

use axum::extract::State;
use maud::{Markup, html};
use tidewall_desk::failure::Failure;
use tidewall_report::words::finding::reason;
use tidewall_report::words::harmless;
use tidewall_study::Study;
use tidewall_study::profile::profiles;

use crate::error::Refusal;
use crate::html::{Page, Place, StudyPage, page as frame, verdict};
use crate::judge::{Haste, Judgement, Summary, judgement};
use crate::state::App;

/// A line of the list.
struct Line {
    name: String,
    study: Result<Arc<Study>, Failure>,
}

/// `GET /`
pub async fn page(State(app): State<App>) -> Result<Page, Refusal> {
    let list = fragment(&app).await?;
    Ok(frame(
        &app,
        Place::Studies,
        "Studies",
        &html! {
            h1 { "Studies" }
            @if app.is_demo() { (guide()) }
            (list)
            (begin())
        },
    ))
}

/// The way through the demo, for the first visit.
fn guide() -> Markup {
    let sheet = |name: &str| StudyPage::Sheet.address(name);
    let avalanche = "supply-24v-avalanche.toml";
    html! {
        details.guide open {
            summary { "The first ten minutes" }
            ol {
                li { "The ports of an invented river gauge stand below. " a href=(sheet(avalanche)) { "One of them fails" }
                    ": open it and ask its worst check why." }
                li { "In its ladder, put " code { "maple-33" } " in the place of D1's part. The figures follow; Undo takes it back." }
                li { "Click a gap of the drawing and add a stage, or lengthen a lead and see what the pin gets." }
                li { "Let " a href=(StudyPage::Candidates.address(avalanche)) { "candidates" } " be ranked for the place, and lay the best "
                    a href=(StudyPage::Compare.address(avalanche)) { "side by side" } "." }
                li { "Read the " a href=(StudyPage::Plan.address(avalanche)) { "test plan" } " and make the "
                    a href=(StudyPage::Report.address(avalanche)) { "report" } "." }
            }
            form data-form="keep" {
                label for="keep" { "Keep this copy with what you change in it, in a new folder: " }
                input id="keep" name="folder" size="36" autocomplete="off" spellcheck="false" placeholder="/home/you/river-gauge";
                " "
                button type="submit" { "Keep" }
            }
        }
    }
}

/// A new study.
fn begin() -> Markup {
    html! {
        h2 { "New study" }
        form data-form="new" {
            span.pair {
                label for="new-profile" { "kind of port " }
                select id="new-profile" name="profile" required {
                    option value="" { "choose" }
                    @for each in profiles() { option value=(each.key) { (each.title) } }
                }
            }
            span.pair {
                label for="new-name" { "file " }
                input id="new-name" name="name" size="24" required autocomplete="off" spellcheck="false" placeholder="inlet.toml";
            }
            button type="submit" { "Begin" }
        }
    }
}

/// `GET /part/studies`
pub async fn list(State(app): State<App>) -> Result<Page, Refusal> {
    Ok(Page(fragment(&app).await?))
}

async fn fragment(app: &App) -> Result<Markup, Refusal> {
    let read = |app: &App| {
        let listing = app.folder().list();
        let lines = listing.studies.iter().map(|name| Line {
            name: name.clone(),
            study: match app.reading(name) {
                Ok(reading) => reading.study,
                Err(refusal) => Err(Failure::usage(
                    refusal.report.message.clone(),
                    refusal.report.hint.clone().unwrap_or_default(),
                )),
            },
        });
        Ok((lines.collect::<Vec<_>>(), listing))
    };
    let (lines, listing) = app.blocking(read).await?;
    Ok(html! {
        section.part id="part-studies" data-part="/part/studies" data-watch="all" {
            @if lines.is_empty() {
                p { "There is no study in this folder. A study is a " code { ".toml" } " file with a " code { "[port]" }
                    " table; begin one below." }
            } @else {
                div.scroll {
                    table {
                        thead { tr {
                            th scope="col" { "study" }
                            th scope="col" { "title" }
                            th scope="col" { "verdict" }
                            th scope="col" { "why" }
                        } }
                        tbody {
                            @for line in &lines { (row(app, line)) }
                        }
                    }
                }
            }
            @if listing.cut { p { "There are more studies; only the first " (listing.studies.len()) " are listed." } }
            @for (folder, why) in &listing.unreadable {
                p.hint { "The folder " (harmless(folder)) " cannot be read: " (why) "." }
            }
        }
    })
}

fn row(app: &App, line: &Line) -> Markup {
    let address = StudyPage::Sheet.address(&line.name);
    let name = html! { th scope="row" { a href=(address) { (harmless(&line.name)) } } };
    let study = match &line.study {
        Ok(study) => study,
        Err(failure) => {
            let pieces = failure.pieces();
            return html! {
                tr {
                    (name)
                    td { "–" }
                    td { span.verdict.unread { "not read" } }
                    td {
                        @if let Some(number) = pieces.line { "line " (number) ": " }
                        (harmless(&pieces.message))
                    }
                }
            };
        }
    };
    let said = match app.judge().summary(&study.digest) {
        Some(summary) => summed(&summary),
        None => match judgement(app, &line.name, study, Haste::InTurn) {
            Judgement::Done(judged) => summed(&Summary {
                verdict: judged.assessment.verdict,
                reason: reason(&judged.assessment),
            }),
            Judgement::Running { done, all } => html! {
                td { span.verdict.running { "computing" } }
                td { (progress(&line.name, done, all)) }
            },
            Judgement::Broken => html! {
                td { span.verdict.unknown { "unknown" } }
                td { "the computation broke; please report this study" }
            },
        },
    };
    html! {
        tr {
            (name)
            td { (harmless(&study.title)) }
            (said)
        }
    }
}

fn summed(summary: &Summary) -> Markup {
    html! {
        td { (verdict(summary.verdict)) }
        td { (harmless(&summary.reason)) }
    }
}

/// The progress of a study's assessment; the script moves it.
pub fn progress(name: &str, done: usize, all: usize) -> Markup {
    html! {
        progress data-progress=(name) max=(all.max(1)) value=(done) aria-label="corners" {}
        noscript { " reload to see the result" }
    }
}
