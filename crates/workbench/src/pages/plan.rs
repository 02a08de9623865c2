//! The laboratory test plan.

mod sheet;

use std::sync::Arc;

use axum::extract::{Path, State};
use axum::response::Response;
use maud::{Markup, html};
use tidewall_desk::failure::Failure;

use super::runs::{Desk, refused, shown};
use crate::asked::Asked;
use crate::download::file;
use crate::error::Refusal;
use crate::html::{Page, Place, StudyPage, page as frame};
use crate::jobs::{Kind, Stage};
use crate::product::Product;
use crate::state::App;

/// `GET /study/{name}/plan`
pub async fn page(State(app): State<App>, Path(name): Path<String>, asked: Asked) -> Result<Page, Refusal> {
    let desk = Desk::of(&app, name, asked).await?;
    let section = section(&desk).await;
    let body = html! {
        (desk.heading("Test plan"))
        @if desk.study().is_some() { (section) }
    };
    let title = format!("Test plan: {}", desk.title());
    Ok(frame(
        &app,
        Place::Study(&desk.name, StudyPage::Plan),
        &title,
        &body,
    ))
}

/// `GET /study/{name}/plan/part`
pub async fn part(State(app): State<App>, Path(name): Path<String>, asked: Asked) -> Result<Page, Refusal> {
    let desk = Desk::of(&app, name, asked).await?;
    Ok(Page(section(&desk).await))
}

async fn section(desk: &Desk) -> Markup {
    let page = StudyPage::Plan.address(&desk.name);
    let address = format!("{page}/part{}", desk.asked.query());
    let run = match desk.answered(Kind::Plan, Asked::default()).await {
        Ok(run) => run,
        Err(refusal) => return desk.section("part-plan", &address, None, &refused(&refusal.report)),
    };
    let body = html! {
        (shown(&run, &html! {}, |_, product| match product {
            Product::Plan(plan) => html! {
                p.actions {
                    a.button href=(format!("{page}/file.csv")) download { "Download CSV" }
                    a.button href=(format!("{page}/file.json")) download { "Download JSON" }
                }
                (sheet::plan(plan))
            },
            _ => html! {},
        }))
        (desk.again(&run, &page))
    };
    desk.section("part-plan", &address, run.job().map(AsRef::as_ref), &body)
}

/// `GET /study/{name}/plan/file.csv`
pub async fn csv(State(app): State<App>, Path(name): Path<String>) -> Result<Response, Refusal> {
    let product = ready(&app, &name).await?;
    let Product::Plan(plan) = &*product else {
        return Err(Refusal::internal());
    };
    let mut table = Vec::new();
    tidewall_desk::plan::csv(plan, &mut table).map_err(|_| Refusal::internal())?;
    Ok(file(&name, "-plan.csv", "text/csv; charset=utf-8", table))
}

/// `GET /study/{name}/plan/file.json`
pub async fn json(State(app): State<App>, Path(name): Path<String>) -> Result<Response, Refusal> {
    let product = ready(&app, &name).await?;
    let Product::Plan(plan) = &*product else {
        return Err(Refusal::internal());
    };
    let text = serde_json::to_vec_pretty(plan).map_err(|_| Refusal::internal())?;
    Ok(file(&name, "-plan.json", "application/json", text))
}

/// The finished plan of the study as it stands.
async fn ready(app: &App, name: &str) -> Result<Arc<Product>, Refusal> {
    let desk = Desk::of(app, name.to_owned(), Asked::default()).await?;
    if let Err(failure) = &desk.reading.study {
        return Err(failure.clone().into());
    }
    let run = desk.answered(Kind::Plan, Asked::default()).await?;
    match run.job().map(|job| job.stage()) {
        Some(Stage::Done(product)) => Ok(product),
        _ => Err(Failure::output(
            name,
            "the plan of the study as it stands now is not finished",
            "wait for the page of the plan to show it, then download again",
        )
        .into()),
    }
}
