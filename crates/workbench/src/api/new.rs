//! New studies: begun for a kind of port, or copied from another; and the demo, kept.

use std::path::PathBuf;

use axum::extract::{Path, State};
use serde::{Deserialize, Serialize};
use tidewall_desk::failure::Failure;
use tidewall_desk::file;
use tidewall_desk::names::nearest;
use tidewall_study::profile::profiles;
use tidewall_study::template::new_study;

use crate::body::Json;
use crate::demo;
use crate::error::Refusal;
use crate::events::Event;
use crate::html::StudyPage;
use crate::state::App;

/// A new study.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct New {
    /// Key of the profile of its port.
    profile: String,
    /// Name of the file, with or without `.toml`.
    name: String,
}

/// A copy of a study.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Copy {
    /// Name of the new file, with or without `.toml`.
    name: String,
}

/// A folder to keep the demo in.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Keep {
    /// The folder, which must not be there yet.
    folder: String,
}

/// Where what was made is to be seen.
#[derive(Clone, Debug, Serialize)]
pub struct Made {
    /// Address of its page.
    address: String,
}

/// Where something was put.
#[derive(Clone, Debug, Serialize)]
pub struct Kept {
    /// The folder.
    folder: String,
}

/// `POST /api/new`
pub async fn new(State(app): State<App>, Json(new): Json<New>) -> Result<axum::Json<Made>, Refusal> {
    let text = new_study(new.profile.trim()).ok_or_else(|| {
        let keys = profiles().iter().map(|profile| profile.key.as_str());
        Refusal::bad(
            format!("there is no port profile `{}`", new.profile.trim()),
            nearest(new.profile.trim(), keys).unwrap_or_else(|| "choose one from the list".to_owned()),
        )
    })?;
    make(&app, &new.name, text).await
}

/// `POST /api/study/{name}/copy`
pub async fn copy(
    State(app): State<App>,
    Path(name): Path<String>,
    Json(copy): Json<Copy>,
) -> Result<axum::Json<Made>, Refusal> {
    let text = app
        .blocking(move |app| Ok(app.studies().get(&name)?.snapshot().text.to_string()))
        .await?;
    make(&app, &copy.name, text).await
}

async fn make(app: &App, name: &str, text: String) -> Result<axum::Json<Made>, Refusal> {
    let name = name.trim();
    if name.is_empty() {
        return Err(Refusal::bad(
            "the study needs the name of a file",
            "a name such as inlet.toml",
        ));
    }
    let name = if name.ends_with(".toml") {
        name.to_owned()
    } else {
        format!("{name}.toml")
    };
    let address = StudyPage::Sheet.address(&name);
    app.blocking(move |app| {
        let path = app.folder().place(&name)?;
        Ok(file::create(&path, &name, text.as_bytes())?)
    })
    .await?;
    app.events().send(Event::Files);
    Ok(axum::Json(Made { address }))
}

/// `POST /api/demo/keep`: copies the demo as it is now, edits included, into a folder of the user's own.
pub async fn keep(State(app): State<App>, Json(keep): Json<Keep>) -> Result<axum::Json<Kept>, Refusal> {
    if !app.is_demo() {
        return Err(Refusal::bad(
            "this folder is no copy of the demo",
            "its files are where you opened it",
        ));
    }
    let folder = PathBuf::from(keep.folder.trim());
    if !folder.is_absolute() {
        return Err(Refusal::bad(
            "the folder must be named from the root",
            "a name such as /home/you/river-gauge",
        ));
    }
    app.blocking(move |app| {
        let shown = folder.display().to_string();
        std::fs::create_dir(&folder).map_err(|error| {
            Failure::output(
                shown.clone(),
                format!("cannot be made: {}", error.kind()),
                "name a folder that is not there yet, in one that is",
            )
        })?;
        demo::copy_to(app.folder().root(), &folder)?;
        Ok(axum::Json(Kept { folder: shown }))
    })
    .await
}
