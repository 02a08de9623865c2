//! Changes of a study.

use std::time::Duration;

use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use serde::{Deserialize, Serialize};
use tidewall_desk::edit::{Edit, apply_all};
use tidewall_desk::failure::{ErrorReport, Failure};

use crate::body::Json;
use crate::error::Refusal;
use crate::events::Event;
use crate::pages::study::{Drawn, Sheet, draw};
use crate::state::App;
use crate::studies::{ChangeError, OpenStudy, Snapshot};

/// How long an answer waits for the figures; a longer run is announced by an event.
const PATIENCE: Duration = Duration::from_millis(150);

/// A change.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Change {
    /// Revision of the text it is made on.
    base: String,
    /// What is done, in a few words, for undo.
    #[serde(default)]
    label: String,
    /// Each made on what the one before left.
    edits: Vec<Edit>,
}

/// Undo or redo.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Step {
    /// Revision of the text it is made on.
    base: String,
}

/// The study after a change.
#[derive(Clone, Debug, Serialize)]
pub struct Changed {
    /// The new revision.
    revision: String,
    /// Sections of the sheet, drawn anew.
    parts: Vec<Drawn>,
}

/// What a change that was made on another text is answered with. Nothing was written.
#[derive(Clone, Debug, Serialize)]
struct Conflict {
    error: Box<ErrorReport>,
    conflict: Both,
}

/// Both texts.
#[derive(Clone, Debug, Serialize)]
struct Both {
    /// Revision of the text in the file.
    revision: String,
    /// The text in the file.
    theirs: String,
    /// The text that the change would have made of the one it was meant for, where that is known.
    #[serde(skip_serializing_if = "Option::is_none")]
    mine: Option<String>,
    /// The change can also be made on the text in the file.
    fits: bool,
}

/// `POST /api/study/{name}/edit`
pub async fn edit(
    State(app): State<App>,
    Path(name): Path<String>,
    Json(change): Json<Change>,
) -> Result<Response, Refusal> {
    let edits = change.edits.clone();
    let work = move |study: &OpenStudy| {
        let label = if change.label.is_empty() {
            "change"
        } else {
            &change.label
        };
        study.change(&change.base, label, |text| edited(text, &change.edits))
    };
    made(&app, &name, edits, work).await
}

/// `GET /api/study/{name}/sheet`: every section as it is now.
pub async fn sheet(State(app): State<App>, Path(name): Path<String>) -> Result<Response, Refusal> {
    Ok(answer(&Sheet::of(&app, &name).await?))
}

fn answer(sheet: &Sheet) -> Response {
    axum::Json(Changed {
        revision: sheet.reading.snapshot.revision.clone(),
        parts: draw(sheet),
    })
    .into_response()
}

/// `POST /api/study/{name}/undo`
pub async fn undo(
    State(app): State<App>,
    Path(name): Path<String>,
    Json(step): Json<Step>,
) -> Result<Response, Refusal> {
    made(&app, &name, Vec::new(), move |study| study.undo(&step.base)).await
}

/// `POST /api/study/{name}/redo`
pub async fn redo(
    State(app): State<App>,
    Path(name): Path<String>,
    Json(step): Json<Step>,
) -> Result<Response, Refusal> {
    made(&app, &name, Vec::new(), move |study| study.redo(&step.base)).await
}

fn edited(text: &str, edits: &[Edit]) -> Result<String, Failure> {
    let patch = apply_all(text, edits)?;
    Ok(patch.on(text).unwrap_or_else(|| text.to_owned()))
}

/// Makes a change and answers with the sheet, or with both texts where the change was made on another one.
pub(super) async fn made(
    app: &App,
    name: &str,
    edits: Vec<Edit>,
    work: impl FnOnce(&OpenStudy) -> Result<Snapshot, ChangeError> + Send + 'static,
) -> Result<Response, Refusal> {
    let wanted = name.to_owned();
    let done = app
        .blocking(move |app| {
            let study = app.studies().get(&wanted)?;
            Ok(work(&study))
        })
        .await?;
    match done {
        Ok(snapshot) => {
            app.events().send(Event::Changed {
                name: name.to_owned(),
                revision: snapshot.revision.clone(),
            });
            let sheet = Sheet::after(app, snapshot, PATIENCE).await?;
            Ok(answer(&sheet))
        }
        Err(ChangeError::Failed(failure)) => Err(failure.into()),
        Err(ChangeError::Conflict { now, base }) => Ok(conflict(*now, base.as_deref(), &edits)),
    }
}

fn conflict(now: Snapshot, base: Option<&str>, edits: &[Edit]) -> Response {
    let failure = Failure::output(
        &now.name,
        "has changed meanwhile, in another window or by another program; nothing was written",
        "look at both texts, then keep one or make the change on the new text",
    );
    let mine = base
        .filter(|_| !edits.is_empty())
        .and_then(|base| edited(base, edits).ok());
    let answer = Conflict {
        error: Box::new(failure.pieces().clone()),
        conflict: Both {
            fits: !edits.is_empty() && apply_all(&now.text, edits).is_ok(),
            revision: now.revision,
            theirs: now.text.to_string(),
            mine,
        },
    };
    (StatusCode::CONFLICT, axum::Json(answer)).into_response()
}
