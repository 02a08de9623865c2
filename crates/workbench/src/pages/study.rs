//! One study as a sheet.

mod checks;
mod heading;
mod parts;

use axum::extract::{Path, State};
use maud::{Markup, html};

use crate::error::Refusal;
use crate::html::{Page, Place, StudyPage, page as frame};
use crate::judge::{Judgement, judgement};
use crate::state::{App, Reading};

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
        let study = reading.study.as_ref().ok();
        let judgement = study.map(|study| judgement(app, name, study));
        Ok(Sheet { reading, judgement })
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
    Ok(frame(&app, Place::Study(&name, StudyPage::Sheet), &title, &html! {
        @for section in SECTIONS { (wrapped(&name, &sheet, section)) }
    }))
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

fn wrapped(name: &str, sheet: &Sheet, (part, draw): &Section) -> Markup {
    let address = format!("{}/part/{part}", StudyPage::Sheet.address(name));
    html! {
        section.part id=(format!("part-{part}")) data-part=(address) data-watch=(name)
            data-revision=(sheet.reading.snapshot.revision) { (draw(sheet)) }
    }
}
