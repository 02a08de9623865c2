//! The parts library: the list, and one part with everything that is stated of it.

mod one;

use axum::extract::State;
use maud::{Markup, html};
use tidewall_desk::candidates;
use tidewall_desk::library::Place as LibraryPlace;
use tidewall_desk::parts::{PartLine, short};
use tidewall_parts::Filter;
use tidewall_report::words::harmless;
use tidewall_study::parts::FAMILIES;
use tidewall_units::{Farads, Volts};

use crate::asked::Asked;
use crate::error::Refusal;
use crate::html::{Page, Place, escaped, page as frame};
use crate::state::App;

pub use one::{page as one, part as one_part};

/// Parts on one page of the list.
const SHOWN: usize = 100;

/// The pages that belong to the library.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LibraryPage {
    /// The list.
    List,
    /// A table is imported.
    Import,
    /// Parts of a parts file are added.
    Add,
    /// One part.
    One,
}

/// The way to the other pages of the library.
pub fn ways(here: LibraryPage) -> Markup {
    let current = |page: LibraryPage| (page == here).then_some("page");
    html! {
        nav.pages aria-label="Library" {
            a href="/parts" aria-current=[current(LibraryPage::List)] { "All parts" }
            a href="/import" aria-current=[current(LibraryPage::Import)] { "Import a table" }
            a href="/parts-add" aria-current=[current(LibraryPage::Add)] { "Add a parts file" }
        }
    }
}

/// The address of a part.
pub fn address(name: &str) -> String {
    format!("/parts/{}", escaped(name))
}

/// `GET /parts`
pub async fn page(State(app): State<App>, asked: Asked) -> Result<Page, Refusal> {
    let list = fragment(&app, &asked).await?;
    let body = html! {
        (ways(LibraryPage::List))
        h1 { "Parts library" }
        form.asking role="search" method="get" action="/parts" aria-label="Filter" {
            label { "name contains " input #text type="search" name="text" value=[asked.one("text")] autocomplete="off" spellcheck="false"; }
            label { "family "
                select name="family" {
                    option value="" { "all" }
                    @for (word, _) in FAMILIES {
                        option value=(word) selected[asked.has("family", word)] { (word) }
                    }
                }
            }
            button type="submit" { "Show" }
        }
        (list)
    };
    Ok(frame(&app, Place::Parts, "Parts library", &body))
}

/// `GET /parts-list`
pub async fn list(State(app): State<App>, asked: Asked) -> Result<Page, Refusal> {
    Ok(Page(fragment(&app, &asked).await?))
}

/// What a page of the list shows.
struct Shown {
    lines: Vec<PartLine>,
    /// All that the filter lets through.
    all: usize,
    from: usize,
    library: String,
}

async fn fragment(app: &App, asked: &Asked) -> Result<Markup, Refusal> {
    let question = asked.clone();
    let shown = app.blocking(move |app| look(app, &question)).await?;
    let address = format!("/parts-list{}", asked.query());
    Ok(html! {
        section.part id="part-parts" data-part=(address) data-watch="all" { (table(&shown, asked)) }
    })
}

fn look(app: &App, asked: &Asked) -> Result<Shown, Refusal> {
    let filter = Filter {
        family: asked.one("family").map(candidates::family).transpose()?,
        text: asked.one("text").map(str::to_owned),
    };
    let library = LibraryPlace::new(app.library())?.read()?;
    let names = library.names(&filter)?;
    let from = asked.whole("from", 0, 0..=u64::from(u32::MAX))?;
    let from = usize::try_from(from)
        .unwrap_or(usize::MAX)
        .min(names.len().saturating_sub(1) / SHOWN * SHOWN);
    let mut lines = Vec::new();
    for name in names.iter().skip(from).take(SHOWN) {
        // A part that has gone between the two questions is left out.
        lines.extend(library.part(name)?.as_ref().map(PartLine::of));
    }
    Ok(Shown {
        lines,
        all: names.len(),
        from,
        library: library.path().display().to_string(),
    })
}

fn table(shown: &Shown, asked: &Asked) -> Markup {
    if shown.lines.is_empty() {
        return html! {
            p { "No part of the library fits. " a href="/import" { "Import a table" } " or widen the filter." }
            (at(&shown.library))
        };
    }
    html! {
        div.scroll tabindex="0" role="region" aria-label="Parts" {
            table.parts {
                thead { tr {
                    th scope="col" { "part" }
                    th scope="col" { "family" }
                    th.n scope="col" { "stand-off" }
                    th scope="col" { "breakdown" }
                    th scope="col" { "rating" }
                    th.n scope="col" { "capacitance" }
                    th scope="col" { "kind" }
                    th.n scope="col" { "sources" }
                } }
                tbody {
                    @for line in &shown.lines {
                        tr {
                            th scope="row" { a href=(address(&line.name)) { (harmless(&line.name)) } }
                            td { (line.family) }
                            td.n { (line.stand_off_v.map_or(String::new(), |volts| short(Volts(volts)))) }
                            td { (line.breakdown()) }
                            td { (harmless(line.rating.as_deref().unwrap_or_default())) }
                            td.n { (line.capacitance_f.map_or(String::new(), |farads| short(Farads(farads)))) }
                            td { (line.kind.unwrap_or_default()) }
                            td.n { (line.sources) }
                        }
                    }
                }
            }
        }
        (turn(shown, asked))
        (at(&shown.library))
    }
}

/// Which of how many, and the way to the others.
fn turn(shown: &Shown, asked: &Asked) -> Markup {
    let last = shown.from + shown.lines.len();
    let to = |from: usize| {
        let mut asked = asked.only(&["text", "family"]);
        if from > 0 {
            asked.set("from", &from.to_string());
        }
        format!("/parts{}", asked.query())
    };
    html! {
        p.turn {
            @if shown.all > shown.lines.len() {
                "Parts " (shown.from + 1) " to " (last) " of " (shown.all) ". "
                @if shown.from > 0 { a href=(to(shown.from.saturating_sub(SHOWN))) rel="prev" { "Previous" } " " }
                @if last < shown.all { a href=(to(last)) rel="next" { "Next" } }
            } @else if shown.all == 1 {
                "1 part."
            } @else {
                (shown.all) " parts."
            }
        }
    }
}

fn at(library: &str) -> Markup {
    html! { p.hint { "Library: " span.mono { (harmless(library)) } } }
}

/// `GET /parts-add`
pub async fn add(State(app): State<App>) -> Page {
    let body = html! {
        (ways(LibraryPage::Add))
        h1 { "Add a parts file" }
        p { "The parts of a parts file (" code { "[[part]]" } " tables, as beside a study) go into the library with their sources." }
        form.asking.stacked #add-parts {
            label for="add-file" { "Parts file" }
            input #add-file type="file" accept=".toml";
            label for="add-text" { "or its text" }
            textarea #add-text rows="14" spellcheck="false" {}
            p {
                button type="submit" value="try" { "Dry run" } " "
                button.main type="submit" value="add" { "Add to the library" }
            }
        }
        section #outcome aria-live="polite" {}
    };
    frame(&app, Place::Parts, "Add a parts file", &body)
}
