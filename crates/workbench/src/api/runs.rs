//! Beginning and stopping runs, and putting what they found into the study.

use std::sync::Arc;

use axum::extract::{Path, State};
use axum::response::Response;
use serde::{Deserialize, Serialize};
use tidewall_assess::rank::{Choice, Placed, with};
use tidewall_desk::edit::{Edit, Value, apply_all};
use tidewall_desk::failure::Failure;
use tidewall_study::{SeriesElement, Stage, Study};
use tidewall_units::{Ohms, Quantity};

use super::edit::made;
use crate::asked::Asked;
use crate::body::Json;
use crate::error::Refusal;
use crate::html::StudyPage;
use crate::jobs::{self, Kind};
use crate::product::Product;
use crate::state::App;
use crate::studies::{OpenStudy, Snapshot};
use crate::work;

/// A run that was begun.
#[derive(Debug, Serialize)]
pub struct Begun {
    /// Its number.
    run: u64,
    /// The section of the page that shows it.
    section: String,
    /// Where the section's markup is.
    part: String,
    /// Address of the page that shows it.
    page: String,
}

/// Kinds by their word, each with its page and the section of it: those that a page begins by itself have none.
const KINDS: [(&str, Kind, StudyPage, &str); 6] = [
    ("ranking", Kind::Ranking, StudyPage::Candidates, "ranking"),
    (
        "requirement",
        Kind::Requirement,
        StudyPage::Candidates,
        "requirement",
    ),
    ("draws", Kind::Draws, StudyPage::Draws, "draws"),
    ("levels", Kind::Levels, StudyPage::Draws, "levels"),
    ("report", Kind::Report, StudyPage::Report, "report"),
    (
        "correlation",
        Kind::Correlation,
        StudyPage::Measured,
        "correlation",
    ),
];

/// `POST /api/study/{name}/run/{kind}`
pub async fn begin(
    State(app): State<App>,
    Path((name, word)): Path<(String, String)>,
    Json(asked): Json<Asked>,
) -> Result<axum::Json<Begun>, Refusal> {
    let known = KINDS.iter().find(|(own, ..)| *own == word);
    let &(_, kind, page, part) =
        known.ok_or_else(|| Refusal::missing(format!("there is no run `{word}`"), "reload the page"))?;
    let job = work::begin(&app, &name, kind, asked.without_empty()).await?;
    let page = page.address(&name);
    Ok(axum::Json(Begun {
        run: job.id,
        section: format!("part-{part}"),
        part: format!("{page}/part/{part}?run={}", job.id),
        page: format!("{page}?run={}", job.id),
    }))
}

/// What a stop came to.
#[derive(Debug, Serialize)]
pub struct Stopped {
    /// False where the run had ended already.
    stopping: bool,
}

/// `POST /api/runs/{id}/stop`
pub async fn stop(State(app): State<App>, Path(id): Path<u64>) -> Result<axum::Json<Stopped>, Refusal> {
    let Some(job) = app.jobs().get(id) else {
        return Err(lost());
    };
    let stopping = app.jobs().stop(job.id);
    Ok(axum::Json(Stopped { stopping }))
}

fn lost() -> Refusal {
    Refusal::missing(
        "that run is not known: it was begun before this start of the workbench, or is too old to be kept",
        "begin it again",
    )
}

/// Which candidate to take.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Take {
    /// Revision of the text it is made on.
    base: String,
    /// The ranking.
    run: u64,
    /// Which of the ranked, counted from 0.
    row: usize,
}

/// `POST /api/study/{name}/use`: puts a ranked candidate into the study.
pub async fn take(
    State(app): State<App>,
    Path(name): Path<String>,
    Json(take): Json<Take>,
) -> Result<Response, Refusal> {
    let job = app
        .jobs()
        .get(take.run)
        .filter(|job| job.study == name)
        .ok_or_else(lost)?;
    let jobs::Stage::Done(product) = job.stage() else {
        return Err(lost());
    };
    let Product::Ranking(ranked) = &*product else {
        return Err(lost());
    };
    let candidate = ranked.ranking.ranked.get(take.row).ok_or_else(lost)?;
    let placed = candidate.placed.clone();
    let (wanted, base) = (name.clone(), take.base.clone());
    let edits = app
        .blocking(move |app| edits(app, &wanted, &base, &placed))
        .await?;
    let label = candidate
        .placed
        .iter()
        .map(|placed| match (&placed.part, placed.resistance_ohm) {
            (Some(part), _) => format!("{part} in {}", placed.stage),
            (None, ohms) => format!(
                "{} in {}",
                Ohms(ohms.unwrap_or(f64::NAN)).rounded(4),
                placed.stage
            ),
        })
        .collect::<Vec<_>>()
        .join(", ");
    let own = edits.clone();
    let change = move |study: &OpenStudy| {
        study.change(&take.base, &label, |text| {
            let patch = apply_all(text, &own)?;
            Ok(patch.on(text).unwrap_or_else(|| text.to_owned()))
        })
    };
    made(&app, &name, edits, change).await
}

/// The edits that put choices into their stages; refused where the study could not be read after them.
fn edits(app: &App, name: &str, base: &str, places: &[Placed]) -> Result<Vec<Edit>, Refusal> {
    let reading = app.reading(name)?;
    let study = reading.study?;
    let mut edits = Vec::new();
    for placed in places {
        edits.push(place(&study, placed)?);
    }
    // A text that has changed meanwhile is a conflict, which the change itself finds and shows.
    if reading.snapshot.revision != base {
        return Ok(edits);
    }
    let patch = apply_all(&reading.snapshot.text, &edits)?;
    let text = patch.on(&reading.snapshot.text);
    let changed = app.read(&Snapshot {
        text: text.unwrap_or_default().into(),
        ..reading.snapshot
    })?;
    edits.extend(places.iter().filter_map(|placed| turned(&changed, placed)));
    Ok(edits)
}

/// The edit that turns a part of one direction to the side on which its conductors work, as the ranking did.
fn turned(study: &Study, placed: &Placed) -> Option<Edit> {
    let shunt = study.shunt(&placed.stage)?;
    let part = Choice::Part(Arc::new(study.parts.get(&shunt.part)?.clone()));
    let ranked = with(study, &[(placed.stage.as_str(), &part)]);
    let reversed = ranked.shunt(&placed.stage)?.reversed;
    let number = number(study, &placed.stage)?;
    (reversed != shunt.reversed).then(|| Edit::Set {
        at: format!("ladder.{number}.reversed"),
        value: Value::Truth(reversed),
    })
}

/// Position of a stage in the ladder.
fn number(study: &Study, stage: &str) -> Option<usize> {
    study.ladder.iter().position(|own| own.name() == stage)
}

fn place(study: &Study, placed: &Placed) -> Result<Edit, Failure> {
    let gone = || {
        Failure::usage(
            format!("the ladder has no stage `{}` for this any more", placed.stage),
            "rank again",
        )
    };
    let number = number(study, &placed.stage).ok_or_else(gone)?;
    let (end, value) = match (&study.ladder[number], &placed.part, placed.resistance_ohm) {
        (Stage::Shunt(_), Some(part), _) => ("shunt", part.clone()),
        (Stage::Series(_), Some(part), _) => ("series", part.clone()),
        (Stage::Series(series), None, Some(ohms))
            if matches!(series.element, SeriesElement::Passive { .. }) =>
        {
            ("series.resistance", Ohms(ohms).rounded(6))
        }
        _ => return Err(gone()),
    };
    Ok(Edit::Set {
        at: format!("ladder.{number}.{end}"),
        value: Value::Text(value),
    })
}
