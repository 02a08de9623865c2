//! One study as a sheet.

mod checks;
mod heading;
mod parts;

use std::time::Duration;

use axum::extract::{Path, State};
use maud::{Markup, html};
use serde::Serialize;

use crate::error::Refusal;
use crate::html::{Page, Place, StudyPage, page as frame};
use crate::judge::{Judgement, finished, judgement};
use crate::state::{App, Reading};
use crate::studies::Snapshot;

/// What the sections of a sheet are made from.
#[derive(Clone, Debug)]
pub struct Sheet {
    /// The text and what it says.
    pub reading: Reading,
    /// What is known of the assessment; `None` for a study that cannot be read.
    pub judgement: Option<Judgement>,
}

impl Sheet {
    /// The sheet of a study as it is on the disk; its assessment is begun where there is none.
    ///
    /// # Errors
    /// Where there is no such study.
    pub async fn of(app: &App, name: &str) -> Result<Sheet, Refusal> {
        let wanted = name.to_owned();
        let reading = app.blocking(move |app| app.reading(&wanted)).await?;
        Ok(Sheet::judged(app, reading))
    }

    /// The sheet after a change, which waits a little for the assessment.
    ///
    /// # Errors
    /// Where reading breaks.
    pub async fn after(app: &App, snapshot: Snapshot, patience: Duration) -> Result<Sheet, Refusal> {
        let read = move |app: &App| {
            let study = app.read(&snapshot);
            Ok(Reading { snapshot, study })
        };
        let mut sheet = Sheet::judged(app, app.blocking(read).await?);
        if let (Ok(study), Some(Judgement::Running { .. })) = (&sheet.reading.study, &sheet.judgement) {
            // Whoever waits in vain hears of it by an event.
            let _ = tokio::time::timeout(patience, finished(app, &study.digest)).await;
            sheet = Sheet::judged(app, sheet.reading);
        }
        Ok(sheet)
    }

    fn judged(app: &App, reading: Reading) -> Sheet {
        let study = reading.study.as_ref().ok();
        let judgement = study.map(|study| judgement(app, &reading.snapshot.name, study));
        Sheet { reading, judgement }
    }
}

/// A section: its name in the address, and how it is drawn.
type Section = (&'static str, fn(&Sheet) -> Markup);

/// The sections, in the order of the sheet.
const SECTIONS: &[Section] = &[
    ("heading", heading::section),
    ("port", parts::port),
    ("stresses", parts::stresses),
    ("ladder", parts::ladder),
    ("pin", parts::pin),
    ("checks", checks::section),
    ("notes", checks::notes),
    ("text", heading::text),
];

/// `GET /study/{name}`
pub async fn page(State(app): State<App>, Path(name): Path<String>) -> Result<Page, Refusal> {
    let sheet = Sheet::of(&app, &name).await?;
    let title = match &sheet.reading.study {
        Ok(study) => study.title.clone(),
        Err(_) => name.clone(),
    };
    Ok(frame(
        &app,
        Place::Study(&name, StudyPage::Sheet),
        &title,
        &html! {
            @for section in SECTIONS { (wrapped(&name, &sheet, section)) }
        },
    ))
}

/// `GET /study/{name}/part/{part}`
pub async fn part(
    State(app): State<App>,
    Path((name, part)): Path<(String, String)>,
) -> Result<Page, Refusal> {
    let section = SECTIONS
        .iter()
        .find(|(own, _)| *own == part)
        .ok_or_else(|| Refusal::missing(format!("a sheet has no section `{part}`"), "reload the page"))?;
    let sheet = Sheet::of(&app, &name).await?;
    Ok(Page(wrapped(&name, &sheet, section)))
}

/// A section of the sheet as markup.
#[derive(Clone, Debug, Serialize)]
pub struct Drawn {
    /// Its address, by which a page knows it.
    part: String,
    /// Its markup.
    html: String,
}

/// Every section of a sheet.
pub fn draw(sheet: &Sheet) -> Vec<Drawn> {
    let name = &sheet.reading.snapshot.name;
    let drawn = SECTIONS.iter().map(|section| Drawn {
        part: address(name, section.0),
        html: wrapped(name, sheet, section).into_string(),
    });
    drawn.collect()
}

fn address(name: &str, part: &str) -> String {
    format!("{}/part/{part}", StudyPage::Sheet.address(name))
}

fn wrapped(name: &str, sheet: &Sheet, (part, draw): &Section) -> Markup {
    html! {
        section.part id=(format!("part-{part}")) data-part=(address(name, part)) data-watch=(name)
            data-revision=(sheet.reading.snapshot.revision) { (draw(sheet)) }
    }
}
