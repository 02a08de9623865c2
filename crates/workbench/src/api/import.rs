//! Tables that are sent and imported.

use axum::body::Body;
use axum::extract::{Path, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Response};
use serde::{Deserialize, Serialize};
use tidewall_desk::library::Place;
use tidewall_desk::parts;
use tidewall_parts::import::{ImportOptions, Mapping, Table};

use super::library::Outcome;
use crate::asked::Asked;
use crate::body::Json;
use crate::error::Refusal;
use crate::events::Event;
use crate::pages::import::report;
use crate::state::App;

/// Where a table that was sent can be looked at.
#[derive(Debug, Serialize)]
struct Sent {
    address: String,
}

/// What is to be done with a table.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Wanted {
    /// The mapping file's text.
    mapping: String,
    /// Nothing is to be kept.
    dry_run: bool,
    /// Most bad rows with which the good ones are imported.
    #[serde(default)]
    max_bad: Option<u64>,
    /// Sheet of a workbook.
    #[serde(default)]
    sheet: Option<String>,
}

/// `POST /api/import?name=…`: takes a file. Its kind is said to be bytes, which no form of another page can say.
pub async fn send(
    State(app): State<App>,
    asked: Asked,
    headers: HeaderMap,
    body: Body,
) -> Result<Response, Refusal> {
    let text = |name: header::HeaderName| headers.get(name).and_then(|value| value.to_str().ok());
    if text(header::CONTENT_TYPE) != Some("application/octet-stream") {
        return Err(Refusal::new(
            StatusCode::UNSUPPORTED_MEDIA_TYPE,
            "a table is sent as it is",
            "send it with the content type application/octet-stream",
        ));
    }
    let declared = text(header::CONTENT_LENGTH).and_then(|length| length.parse().ok());
    let name = asked.one("name").unwrap_or_default();
    let upload = app.uploads().take(name, declared, body).await?;
    Ok(axum::Json(Sent {
        address: format!("/import/{}", upload.id),
    })
    .into_response())
}

/// `POST /api/import/{id}`: imports a table by a mapping, in one transaction, or shows what that would do.
pub async fn run(
    State(app): State<App>,
    Path(id): Path<u64>,
    Json(wanted): Json<Wanted>,
) -> Result<Response, Refusal> {
    let upload = app.uploads().get(id)?;
    let dry_run = wanted.dry_run;
    let done = app
        .blocking(move |app| {
            let mut mapping = Mapping::parse("the mapping", &wanted.mapping).map_err(refusal)?;
            mapping.file.sheet = wanted.sheet.or(mapping.file.sheet);
            let table = Table::open_as(upload.path(), &upload.name, &mapping.file).map_err(refusal)?;
            let place = Place::new(app.library())?;
            // A dry run leaves no trace, not even a new file.
            let mut library = if dry_run && !place.path().exists() {
                place.read()?
            } else {
                place.open()?
            };
            let options = ImportOptions {
                dry_run,
                max_bad: wanted.max_bad,
            };
            Ok(parts::import(
                &mut library,
                &table,
                &mapping,
                &options,
                &mut |_| (),
            )?)
        })
        .await?;
    if !dry_run {
        app.events().send(Event::Files);
    }
    Ok(Outcome::of(report(&done)))
}

fn refusal(error: tidewall_parts::import::ImportError) -> Refusal {
    tidewall_desk::failure::Failure::from(error).into()
}
