//! One study as a sheet.

mod checks;
mod field;
mod figures;
mod heading;
mod ladder;
mod pin;
mod port;
mod stresses;
mod text;

use std::sync::Arc;
use std::time::Duration;

use axum::extract::{Path, State};
use maud::{Markup, html};
use serde::Serialize;
use tidewall_desk::failure::ErrorReport;
use tidewall_desk::outline::{NoOutline, Outline};
use tidewall_study::Study;

use crate::error::Refusal;
use crate::html::{Page, Place, StudyPage, page as frame};
use crate::judge::{Haste, Judged, Judgement, finished, judgement};
use crate::state::{App, Reading};
use crate::studies::Snapshot;

/// What the sections of a sheet are made from.
#[derive(Clone, Debug)]
pub struct Sheet {
    /// The workbench.
    pub app: App,
    /// The text and what it says.
    pub reading: Reading,
    /// The text as keys and values; it may be one while it is no study.
    pub outline: Result<Outline, NoOutline>,
    /// What is known of the assessment; `None` for a study that cannot be read.
    pub judgement: Option<Judgement>,
    /// The last result: of this text, or of the one before while this one is being computed or cannot be read.
    pub judged: Option<Arc<Judged>>,
    /// Names of the library's parts.
    pub library: Arc<Vec<String>>,
}

/// What the disk says of a sheet.
struct Read {
    reading: Reading,
    outline: Result<Outline, NoOutline>,
    library: Arc<Vec<String>>,
}

impl Read {
    fn new(app: &App, reading: Reading) -> Read {
        Read {
            outline: Outline::of(&reading.snapshot.text),
            library: app.part_names(),
            reading,
        }
    }
}

impl Sheet {
    /// The sheet of a study as it is on the disk; its assessment is begun where there is none.
    ///
    /// # Errors
    /// Where there is no such study.
    pub async fn of(app: &App, name: &str) -> Result<Sheet, Refusal> {
        let wanted = name.to_owned();
        let read = move |app: &App| Ok(Read::new(app, app.reading(&wanted)?));
        Ok(Sheet::judged(app, app.blocking(read).await?))
    }

    /// The sheet after a change, which waits a little for the assessment.
    ///
    /// # Errors
    /// Where reading breaks.
    pub async fn after(app: &App, snapshot: Snapshot, patience: Duration) -> Result<Sheet, Refusal> {
        let read = move |app: &App| {
            let study = app.read(&snapshot);
            Ok(Read::new(app, Reading { snapshot, study }))
        };
        let mut sheet = Sheet::judged(app, app.blocking(read).await?);
        if let (Ok(study), Some(Judgement::Running { .. })) = (&sheet.reading.study, &sheet.judgement) {
            // Whoever waits in vain hears of it by an event.
            let _ = tokio::time::timeout(patience, finished(app, &study.digest)).await;
            sheet.look(app);
        }
        Ok(sheet)
    }

    fn judged(app: &App, read: Read) -> Sheet {
        let mut sheet = Sheet {
            app: app.clone(),
            reading: read.reading,
            outline: read.outline,
            judgement: None,
            judged: None,
            library: read.library,
        };
        sheet.look(app);
        sheet
    }

    fn look(&mut self, app: &App) {
        let name = &self.reading.snapshot.name;
        let study = self.reading.study.as_ref().ok();
        self.judgement = study.map(|study| judgement(app, name, study, Haste::Now));
        self.judged = match &self.judgement {
            Some(Judgement::Done(judged)) => Some(Arc::clone(judged)),
            _ => app.judge().last(name),
        };
    }

    /// The study, if it can be read.
    pub fn study(&self) -> Option<&Study> {
        self.reading.study.as_deref().ok()
    }

    /// What the port was like when it could last be read: what is shown does not jump while a value is wrong.
    pub fn shape(&self) -> Option<&Study> {
        self.study()
            .or_else(|| self.judged.as_ref().map(|judged| judged.study.as_ref()))
    }

    /// The result shown is of an earlier text.
    pub fn is_stale(&self) -> bool {
        !matches!(self.judgement, Some(Judgement::Done(_)))
    }

    /// Where in the text the study's fault is, if it can be said: the place of a value, or of the entry around it.
    pub fn fault(&self) -> Option<(String, &ErrorReport)> {
        let report = self.reading.study.as_ref().err()?.pieces();
        let outline = self.outline.as_ref().ok()?;
        let own = report.file.as_deref() == Some(self.reading.snapshot.name.as_str());
        let line = report.line.filter(|_| own)?;
        Some((outline.place_at(line, report.column.unwrap_or(1))?, report))
    }
}

/// A section: its name in the address, and how it is drawn.
type Section = (&'static str, fn(&Sheet) -> Markup);

/// The head of the sheet.
const HEAD: &[Section] = &[("heading", heading::section)];

/// What the engineer writes.
const WRITTEN: &[Section] = &[
    ("ladder", ladder::section),
    ("port", port::section),
    ("stresses", stresses::section),
    ("pin", pin::section),
];

/// What comes of it, in figures: beside what is written where the window is wide enough, so that both are in sight.
const FOUND: &[Section] = &[
    ("margins", figures::margins),
    ("window", figures::window),
    ("waveforms", figures::waveforms),
    ("energy", figures::energy),
];

/// Every number, and the text.
const REST: &[Section] = &[
    ("checks", checks::section),
    ("notes", checks::notes),
    ("text", text::section),
];

/// The sections, in the order of the sheet.
fn sections() -> impl Iterator<Item = &'static Section> {
    [HEAD, WRITTEN, FOUND, REST].into_iter().flatten()
}

/// Sections worth a link.
const CONTENTS: &[(&str, &str)] = &[
    ("ladder", "Ladder"),
    ("port", "Port"),
    ("stresses", "Stresses"),
    ("pin", "Pin"),
    ("margins", "Margins"),
    ("window", "Window"),
    ("waveforms", "Waveforms"),
    ("energy", "Energy"),
    ("checks", "Checks"),
    ("text", "Text"),
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
            nav.sections aria-label="Sections" {
                @for (part, label) in CONTENTS { a href=(format!("#part-{part}")) { (label) } }
            }
            div.sheet data-study=(name) {
                @for (class, sections) in [("head-of-sheet", HEAD), ("written", WRITTEN), ("found", FOUND), ("rest", REST)] {
                    div class=(class) { @for section in sections { (wrapped(&name, &sheet, section)) } }
                }
            }
        },
    ))
}

/// `GET /study/{name}/part/{part}`
pub async fn part(
    State(app): State<App>,
    Path((name, part)): Path<(String, String)>,
) -> Result<Page, Refusal> {
    let section = sections()
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
    let drawn = sections().map(|section| Drawn {
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
