//! Candidates for a stage of the ladder: what to try, how they stand, what a part must be.

mod draws;
mod form;
mod requirement;
mod table;
mod view;

use axum::extract::{Path, State};
use maud::{Markup, html};

use super::runs::{Desk, shown};
use crate::asked::Asked;
use crate::error::Refusal;
use crate::html::{Page, Place, StudyPage, page as frame};
use crate::jobs::Kind;
use crate::product::Product;
use crate::state::App;

/// `GET /study/{name}/candidates`
pub async fn page(State(app): State<App>, Path(name): Path<String>, asked: Asked) -> Result<Page, Refusal> {
    let desk = Desk::of(&app, name, asked).await?;
    let body = html! {
        (desk.heading("Candidates"))
        @if desk.study().is_some() {
            (form::form(&desk))
            (requirement_section(&desk))
            (ranking_section(&desk))
        }
    };
    let title = format!("Candidates: {}", desk.title());
    Ok(frame(
        &app,
        Place::Study(&desk.name, StudyPage::Candidates),
        &title,
        &body,
    ))
}

/// `GET /study/{name}/candidates/part/{part}`
pub async fn part(
    State(app): State<App>,
    Path((name, part)): Path<(String, String)>,
    asked: Asked,
) -> Result<Page, Refusal> {
    let desk = Desk::of(&app, name, asked).await?;
    match part.as_str() {
        "ranking" => Ok(Page(ranking_section(&desk))),
        "requirement" => Ok(Page(requirement_section(&desk))),
        _ => Err(Refusal::missing(
            format!("this page has no part `{part}`"),
            "reload the page",
        )),
    }
}

/// Address of a section of the page.
pub fn address(desk: &Desk, part: &str) -> String {
    let page = StudyPage::Candidates.address(&desk.name);
    format!("{page}/part/{part}{}", desk.asked.query())
}

fn ranking_section(desk: &Desk) -> Markup {
    let run = desk.job(Kind::Ranking);
    let none = html! {
        p.hint { "Nothing has been ranked yet. Every candidate goes through all checks at all corners of all stresses; one that \
                  fails is rejected with its first reason." }
    };
    let body = html! {
        h2 { "Ranking" }
        (shown(&run, &none, |job, product| match product {
            Product::Ranking(ranked) => table::ranking(desk, job, ranked),
            _ => html! {},
        }))
    };
    let job = run.job().map(AsRef::as_ref);
    desk.section("part-ranking", &address(desk, "ranking"), job, &body)
}

fn requirement_section(desk: &Desk) -> Markup {
    let run = desk.job(Kind::Requirement);
    let body = shown(&run, &html! {}, |job, product| match product {
        Product::Requirement(list) => requirement::all(desk, job, list),
        _ => html! {},
    });
    let body = html! {
        @if run.job().is_some() {
            h2 { "What must a part be?" }
            (body)
        }
    };
    let job = run.job().map(AsRef::as_ref);
    desk.section("part-requirement", &address(desk, "requirement"), job, &body)
}
