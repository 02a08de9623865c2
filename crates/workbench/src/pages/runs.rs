//! What pages with long runs share: how far one is, whether it still fits, and figures.

use std::sync::Arc;

use maud::{Markup, html};
use tidewall_desk::failure::{ErrorReport, Failure};
use tidewall_report::words::harmless;
use tidewall_study::Study;

use crate::asked::Asked;
use crate::error::Refusal;
use crate::jobs::{Job, Kind, Stage};
use crate::product::Product;
use crate::state::{App, Reading};
use crate::work;

/// What a page with runs is made from: the study as it stands, and what the address asks.
pub struct Desk {
    /// The workbench.
    pub app: App,
    /// The study's name in the folder.
    pub name: String,
    /// Its text and what it says.
    pub reading: Reading,
    /// What the address asks.
    pub asked: Asked,
}

impl Desk {
    /// Reads the study.
    ///
    /// # Errors
    /// Where there is none of that name.
    pub async fn of(app: &App, name: String, asked: Asked) -> Result<Desk, Refusal> {
        let wanted = name.clone();
        let reading = app.blocking(move |app| app.reading(&wanted)).await?;
        Ok(Desk {
            app: app.clone(),
            name,
            reading,
            asked,
        })
    }

    /// The study, if it can be read.
    pub fn study(&self) -> Option<&Arc<Study>> {
        self.reading.study.as_ref().ok()
    }

    /// Title of the study, or its name.
    pub fn title(&self) -> String {
        let title = self.study().map(|study| study.title.clone());
        title
            .filter(|title| !title.is_empty())
            .unwrap_or_else(|| self.name.clone())
    }

    /// Heading of a page, and what is wrong with a study that cannot be read.
    pub fn heading(&self, title: &str) -> Markup {
        html! {
            h1 { (title) }
            @match &self.reading.study {
                Ok(study) => p.port { (harmless(&study.title)) },
                Err(failure) => (unreadable(failure)),
            }
        }
    }

    /// The run of a kind that the page shows: the one that the address names, else the latest.
    pub fn job(&self, kind: Kind) -> Shown {
        let Some(text) = self.asked.one("run") else {
            return self.latest(kind);
        };
        match text.parse().ok().and_then(|id| self.app.jobs().get(id)) {
            Some(job) if job.kind == kind && job.study == self.name => Shown::Job(job),
            // A page may have several kinds; the number names one of them.
            Some(_) => self.latest(kind),
            None => match self.latest(kind) {
                Shown::None => Shown::Lost,
                shown => shown,
            },
        }
    }

    /// The run that answers a question about the study as it stands; begun where there is none. The value `again` in the address
    /// names one that is not good enough, because it was stopped.
    ///
    /// # Errors
    /// Where what is asked makes no sense for the study.
    pub async fn answered(&self, kind: Kind, question: Asked) -> Result<Shown, Refusal> {
        let Some(study) = self.study() else {
            return Ok(Shown::None);
        };
        let jobs = self.app.jobs();
        let known = jobs.latest_asked(&self.name, kind, &study.digest, &question);
        let again = self.asked.one("again").and_then(|id| id.parse::<u64>().ok());
        if let Some(job) = known.filter(|job| again.is_none_or(|again| again != job.id || !job.ended())) {
            return Ok(Shown::Job(job));
        }
        work::begin(&self.app, &self.name, kind, question)
            .await
            .map(Shown::Job)
    }

    /// A link that has a run made again which was stopped or broke.
    pub fn again(&self, shown: &Shown, page: &str) -> Markup {
        let Some(job) = shown.job() else {
            return html! {};
        };
        let whole = match job.stage() {
            Stage::Stopped | Stage::Broken => false,
            Stage::Done(product) => product.is_whole(),
            Stage::Failed(_) | Stage::Waiting | Stage::Running { .. } => true,
        };
        let mut asked = self.asked.clone();
        asked.set("again", &job.id.to_string());
        html! { @if !whole { p { a href=(format!("{page}{}", asked.query())) { "Run it again" } } } }
    }

    fn latest(&self, kind: Kind) -> Shown {
        self.app
            .jobs()
            .latest(&self.name, kind)
            .map_or(Shown::None, Shown::Job)
    }

    /// A section that is drawn anew when the study changes or the run goes on. `address` is where its markup is served.
    pub fn section(&self, id: &str, address: &str, job: Option<&Job>, body: &Markup) -> Markup {
        html! {
            section.part id=(id) data-part=(address) data-watch=(self.name)
                data-revision=(self.reading.snapshot.revision)
                data-run=[job.map(|job| job.id)] { (body) }
        }
    }

    /// A word where the study has changed since the run.
    pub fn stale(&self, job: &Job) -> Markup {
        let present = self.study().is_some_and(|study| study.digest == job.digest);
        html! {
            @if !present {
                p.stale { "The study or its parts have changed since this was computed; it is about what stood before." }
            }
        }
    }
}

/// The run that a page shows.
pub enum Shown {
    /// None was begun.
    None,
    /// The address names one that is not known.
    Lost,
    /// This one.
    Job(Arc<Job>),
}

impl Shown {
    /// The run.
    pub fn job(&self) -> Option<&Arc<Job>> {
        match self {
            Shown::Job(job) => Some(job),
            Shown::None | Shown::Lost => None,
        }
    }
}

/// What is wrong with a text.
pub fn unreadable(failure: &Failure) -> Markup {
    let pieces = failure.pieces();
    html! {
        div.fault role="alert" {
            p { strong { "This study cannot be read" } @if let Some(line) = pieces.line { ": line " (line) } "." }
            p.message { (harmless(&pieces.message)) }
            @if let Some(expected) = &pieces.expected { p { "Expected: " (harmless(expected)) } }
            @if let Some(hint) = &pieces.hint { p.hint { (harmless(hint)) } }
        }
    }
}

/// A failure in a page.
pub fn fault(failure: &Failure) -> Markup {
    refused(failure.pieces())
}

/// What is wrong with what was asked.
pub fn refused(pieces: &ErrorReport) -> Markup {
    html! {
        div.fault {
            p.message { (harmless(&pieces.message)) }
            @if let Some(expected) = &pieces.expected { p { "Expected: " (harmless(expected)) } }
            @if let Some(hint) = &pieces.hint { p.hint { (harmless(hint)) } }
        }
    }
}

/// A run: its progress with a button that stops it, its product, or why there is none.
pub fn shown(shown: &Shown, none: &Markup, product: impl FnOnce(&Job, &Product) -> Markup) -> Markup {
    let job = match shown {
        Shown::None => return none.clone(),
        Shown::Lost => {
            return html! {
                p.stale {
                    "That run is not known here: it was begun before this start of the workbench, or is too old to be kept. \
                     A run that had not ended then is lost; nothing else is. Begin it again."
                }
            };
        }
        Shown::Job(job) => job,
    };
    match job.stage() {
        Stage::Done(done) => product(job, &done),
        Stage::Waiting => going(job, "waits for its turn", 0, 0),
        Stage::Running { what, done, all } => going(job, what, done, all),
        Stage::Stopped => html! {
            p.stale { "Stopped before there was a result (" (job.kind.title()) ")." }
        },
        Stage::Failed(failure) => fault(&failure),
        Stage::Broken => html! {
            div.fault {
                p.message { "This broke (" (job.kind.title()) "); that is a defect of the workbench." }
                p.hint { "Please report this study with what was asked." }
            }
        },
    }
}

fn going(job: &Job, what: &str, done: u64, all: u64) -> Markup {
    let id = format!("bar-{}", job.id);
    html! {
        p.going {
            label for=(id) { "Under way, " (job.kind.title()) ": " }
            @if all > 0 {
                progress id=(id) data-bar=(job.id) max=(all) value=(done) {}
            } @else {
                progress id=(id) data-bar=(job.id) {}
            }
            " "
            span.counted data-counted=(job.id) {
                @if all > 0 { (done) " of " (all) " " }
            }
            span { (what) }
            " "
            @if job.is_stopping() {
                span { "(stopping)" }
            } @else {
                button type="button" data-stop=(job.id) data-key="stop" { "Stop" }
            }
        }
        p.hint {
            @if job.kind.keeps_what_is_done() { "A stop keeps what is done by then. " }
            @else { "A stop keeps nothing of it. " }
            "It goes on when this page is left."
        }
        noscript { p { "Reload to see how far it is." } }
    }
}
