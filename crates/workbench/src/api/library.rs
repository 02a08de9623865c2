//! Changes of the parts library.

use axum::extract::State;
use axum::response::{IntoResponse, Response};
use maud::{Markup, html};
use serde::{Deserialize, Serialize};
use tidewall_desk::library::Place;
use tidewall_desk::parts::{add as add_parts, records, retire as retire_part};
use tidewall_parts::Change;
use tidewall_report::words::harmless;
use tidewall_study::{NoFiles, read_parts};

use crate::body::Json;
use crate::error::Refusal;
use crate::events::Event;
use crate::pages::parts::address;
use crate::state::App;

/// A part by its name.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Named {
    name: String,
}

/// The text of a parts file.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PartsText {
    /// Name of the file; the text may have none.
    #[serde(default)]
    file: String,
    /// The text.
    text: String,
    /// Nothing is to be kept.
    dry_run: bool,
}

/// What was done, to be shown.
#[derive(Clone, Debug, Serialize)]
pub struct Outcome {
    /// Markup that says it.
    pub html: String,
}

impl Outcome {
    /// An outcome as an answer.
    pub fn of(markup: Markup) -> Response {
        axum::Json(Outcome {
            html: markup.into_string(),
        })
        .into_response()
    }
}

/// `POST /api/parts/retire`
pub async fn retire(State(app): State<App>, Json(named): Json<Named>) -> Result<Response, Refusal> {
    app.blocking(move |app| {
        let mut library = Place::new(app.library())?.open()?;
        Ok(retire_part(&mut library, &named.name)?)
    })
    .await?;
    app.events().send(Event::Files);
    Ok(Outcome::of(html! {}))
}

/// `POST /api/parts/add`
pub async fn add(State(app): State<App>, Json(asked): Json<PartsText>) -> Result<Response, Refusal> {
    let dry_run = asked.dry_run;
    let changes = app
        .blocking(move |app| {
            let file = if asked.file.is_empty() {
                "written in the workbench"
            } else {
                &asked.file
            };
            let records = records(file, &read_parts(file, &asked.text, &NoFiles)?)?;
            let place = Place::new(app.library())?;
            // A dry run leaves no trace, not even a new file.
            let mut library = if dry_run && !place.path().exists() {
                place.read()?
            } else {
                place.open()?
            };
            Ok(add_parts(&mut library, file, &records, dry_run)?)
        })
        .await?;
    if !dry_run {
        app.events().send(Event::Files);
    }
    Ok(Outcome::of(html! {
        h2 { @if dry_run { "Dry run" } @else { "Added" } }
        p { strong { @if dry_run { "Nothing was written." } @else { "Written to the library." } } }
        ul {
            @for (name, change) in &changes {
                li {
                    @if dry_run { (harmless(name)) } @else { a href=(address(name)) { (harmless(name)) } }
                    ": "
                    @match change {
                        Change::Added => "new",
                        Change::Unchanged => "as it was",
                        Change::Changed(fields) => {
                            "changed"
                            ul { @for field in fields { li { (harmless(&field.in_words())) } } }
                        }
                    }
                }
            }
        }
    }))
}
