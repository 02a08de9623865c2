//! One part: every datum with its condition, kind and source, and what happened to it.

use axum::extract::{Path, State};
use maud::{Markup, html};
use tidewall_desk::library::Place as LibraryPlace;
use tidewall_desk::names::nearest;
use tidewall_desk::parts::HistoryLine;
use tidewall_parts::{Filter, Library, PartRecord, wire, words};
use tidewall_report::words::harmless;

use super::{LibraryPage, address, ways};
use crate::error::Refusal;
use crate::html::{Page, Place, page as frame};
use crate::state::App;

/// A part as it is, and what happened to it.
struct Known {
    name: String,
    /// `None` once it is retired.
    record: Option<PartRecord>,
    history: Vec<HistoryLine>,
}

/// `GET /parts/{name}`
pub async fn page(State(app): State<App>, Path(name): Path<String>) -> Result<Page, Refusal> {
    let known = look(&app, name).await?;
    let body = html! {
        (ways(LibraryPage::One))
        h1 { (harmless(&known.name)) }
        (section(&known))
    };
    Ok(frame(&app, Place::Parts, &known.name, &body))
}

/// `GET /parts/{name}/part`
pub async fn part(State(app): State<App>, Path(name): Path<String>) -> Result<Page, Refusal> {
    let known = look(&app, name).await?;
    Ok(Page(section(&known)))
}

async fn look(app: &App, name: String) -> Result<Known, Refusal> {
    app.blocking(move |app| {
        let library = LibraryPlace::new(app.library())?.read()?;
        let record = library.part(&name)?;
        let history: Vec<HistoryLine> = library.history(&name)?.iter().map(HistoryLine::from).collect();
        if record.is_none() && history.is_empty() {
            return Err(missing(&library, &name));
        }
        Ok(Known {
            name,
            record,
            history,
        })
    })
    .await
}

fn missing(library: &Library, name: &str) -> Refusal {
    let names = library.names(&Filter::default()).unwrap_or_default();
    let hint = nearest(name, names.iter().map(String::as_str));
    Refusal::missing(
        format!("there is no part `{}` in the parts library", harmless(name)),
        hint.unwrap_or_else(|| "the list of the library shows what there is".to_owned()),
    )
}

fn section(known: &Known) -> Markup {
    html! {
        section.part id="part-one" data-part=(format!("{}/part", address(&known.name))) data-watch="all" {
            @match &known.record {
                Some(record) => (data(record)),
                None => p.fault { "This part is no longer in the library; what happened to it stays below." },
            }
            (history(&known.history))
        }
    }
}

fn data(record: &PartRecord) -> Markup {
    let counting = record.counting();
    html! {
        p.port { (wire::family_word(record.family)) ", " (record.data.len()) @if record.data.len() == 1 { " datum" } @else { " data" } }
        h2 { "What is stated" }
        div.scroll tabindex="0" role="region" aria-label="Data" {
            table.facts {
                thead { tr {
                    th scope="col" { "datum" }
                    th scope="col" { "value" }
                    th scope="col" { "condition" }
                    th scope="col" { "kind" }
                    th scope="col" { "source" }
                } }
                tbody {
                    @for (datum, counts) in record.data.iter().zip(&counting) {
                        tr {
                            th scope="row" { (words::name(datum)) @if !counts { " *" } }
                            td { (harmless(&words::value(datum))) }
                            td { (harmless(&words::condition(&datum.condition))) }
                            td { (wire::firmness_word(datum.firmness)) }
                            td { (harmless(&words::source(datum))) }
                        }
                    }
                }
            }
        }
        @if counting.contains(&false) {
            p.hint { "* does not count: another datum takes precedence, or no model has room for it." }
        }
        p { button type="button" data-retire=(record.name) data-key="retire" { "Take it out of the library" } }
    }
}

fn history(lines: &[HistoryLine]) -> Markup {
    html! {
        h2 { "History" }
        div.scroll tabindex="0" role="region" aria-label="History" {
            table.facts {
                thead { tr {
                    th scope="col" { "when" }
                    th scope="col" { "what happened" }
                    th scope="col" { "by" }
                } }
                tbody {
                    @for line in lines {
                        tr {
                            td.when { (line.at.as_deref().unwrap_or("time not recorded")) }
                            td { (harmless(&line.words)) }
                            td { (harmless(&line.action)) @if line.by == "program" { " (the program itself)" } }
                        }
                    }
                }
            }
        }
    }
}
