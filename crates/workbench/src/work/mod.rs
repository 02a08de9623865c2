//! From what a form asks to a run: everything that can be refused is refused before the run begins.

mod comparison;
mod correlation;
mod draws;
mod ranking;
mod report;

use std::sync::Arc;

use tidewall_assess::rank::{Position, RankError};
use tidewall_assess::requirement::synthesise;
use tidewall_desk::candidates::{self, Sources};
use tidewall_desk::failure::Failure;
use tidewall_devices::datasheet::Datasheet;
use tidewall_study::{SeriesElement, Stage, Study};
use tidewall_transient::Options;

use crate::asked::Asked;
use crate::error::Refusal;
use crate::jobs::{Job, Kind, Run, Wish, start};
use crate::product::Product;
use crate::state::App;

/// What a run does.
type Work = Box<dyn FnOnce(&Run<'_>) -> Result<Product, Failure> + Send>;

/// Begins a run of a kind for a study.
///
/// # Errors
/// Where the study cannot be read, or what is asked makes no sense for it.
pub async fn begin(app: &App, name: &str, kind: Kind, asked: Asked) -> Result<Arc<Job>, Refusal> {
    let (wanted, question) = (name.to_owned(), asked.clone());
    let (digest, work) = app
        .blocking(move |app| {
            let study = app.reading(&wanted)?.study?;
            let digest = study.digest.clone();
            Ok((digest, prepared(app, study, kind, &question)?))
        })
        .await?;
    let wish = Wish {
        study: name.to_owned(),
        kind,
        asked,
        digest,
    };
    start(app, wish, work)
}

fn prepared(app: &App, study: Arc<Study>, kind: Kind, asked: &Asked) -> Result<Work, Failure> {
    match kind {
        Kind::Ranking => ranking::work(app, study, asked),
        Kind::Requirement => requirement(study, asked),
        Kind::Comparison => comparison::work(app, study, asked),
        Kind::Equivalents => comparison::equivalents_work(app, study, asked),
        Kind::Draws => draws::work(study, asked),
        Kind::Levels => Ok(draws::levels(study)),
        Kind::Plan => Ok(Box::new(move |run| {
            let show = |done: usize, all: usize| run.show_or_stop("transients", done, all);
            let plan = tidewall_assess::plan::plan(&study, &Options::default(), &show);
            Ok(Product::Plan(plan))
        })),
        Kind::Report => report::work(app, study, asked),
        Kind::Correlation => correlation::work(app, study, asked),
    }
}

/// What a part must be, for each shunt stage that is asked for.
fn requirement(study: Arc<Study>, asked: &Asked) -> Result<Work, Failure> {
    let stages: Vec<String> = asked
        .all("stage")
        .into_iter()
        .filter(|name| study.shunt(name).is_some())
        .collect();
    if stages.is_empty() {
        return Err(Failure::usage(
            "no stage across the line is chosen",
            "tick the stage that the part is for",
        ));
    }
    Ok(Box::new(move |run| {
        let mut list = Vec::new();
        for (done, stage) in stages.iter().enumerate() {
            run.show_or_stop("stages", done, stages.len());
            list.push(synthesise(&study, stage, &Options::default()).map_err(refused)?);
        }
        Ok(Product::Requirement(list))
    }))
}

/// Where parts come from, as a form asks.
fn sources(asked: &Asked) -> Sources {
    Sources {
        from: asked.all("from"),
        families: asked.all("family"),
        only: Vec::new(),
    }
}

/// The parts that a form chooses. Files on this machine that a form might name are no source here.
fn chosen(app: &App, study: &Study, asked: &Asked) -> Result<Vec<Arc<Datasheet>>, Failure> {
    let sources = sources(asked);
    if let Some(other) = sources
        .from
        .iter()
        .find(|from| !["study", "library", "generic"].contains(&from.as_str()))
    {
        return Err(Failure::usage(
            format!("parts do not come from `{other}`"),
            "choose the study, the library or the generic classes",
        ));
    }
    let shelf = app.shelf();
    candidates::choose(&candidates::gather(study, &sources, &shelf)?, &sources)
}

/// Every part that can be named: those of study and library, and the generic classes behind them.
pub fn everything(app: &App, study: &Study) -> Result<Vec<Arc<Datasheet>>, Failure> {
    let shelf = app.shelf();
    let from = |from: &[&str]| Sources {
        from: from.iter().map(|from| (*from).to_owned()).collect(),
        ..Sources::default()
    };
    let mut all = candidates::gather(study, &from(&[]), &shelf)?;
    for part in candidates::gather(study, &from(&["generic"]), &shelf)? {
        if !all.iter().any(|known| known.name == part.name) {
            all.push(part);
        }
    }
    Ok(all)
}

/// The one stage across the line that a form asks for, or the only one there is.
///
/// # Errors
/// Where there is none or it is not said which.
pub fn shunt_stage(study: &Study, asked: &Asked) -> Result<String, Failure> {
    if let Some(stage) = asked.one("stage") {
        return match study.shunt(stage) {
            Some(_) => Ok(stage.to_owned()),
            None => Err(Failure::usage(
                format!("the ladder has no stage `{stage}` across the line"),
                "choose one of those that the form lists",
            )),
        };
    }
    let mut shunts = study
        .ladder
        .iter()
        .filter(|stage| matches!(stage, Stage::Shunt(_)));
    match (shunts.next(), shunts.next()) {
        (Some(one), None) => Ok(one.name().to_owned()),
        (None, _) => Err(Failure::usage(
            "the ladder has no stage across the line to choose a part for",
            "add one on the sheet",
        )),
        _ => Err(Failure::usage(
            "the ladder has several stages across the line",
            "choose one",
        )),
    }
}

/// True for a stage in the line that is a plain resistance and inductance.
pub fn is_plain(stage: &Stage) -> bool {
    matches!(stage, Stage::Series(series) if matches!(series.element, SeriesElement::Passive { .. }))
}

/// A stage with the parts that can stand in it.
fn position(study: &Study, stage: &str, parts: &[Arc<Datasheet>]) -> Result<Position, Failure> {
    Position::of_parts(study, stage, parts).map_err(refused)
}

/// What cannot be ranked or compared, as a failure.
fn refused(error: RankError) -> Failure {
    let hint = match &error {
        RankError::NoStage { .. } | RankError::NotForParts(_) => {
            "choose one of the stages that the form lists"
        }
        RankError::NoCandidate(_) => "take more sources, or more families",
        RankError::Misplaced { .. } => "the page of parts shows the family of each",
        RankError::NotForValues(_) => "values are for stages with a plain resistance; others take parts",
        RankError::BadValue(_) => "resistances above zero, such as 4.7Ω",
        RankError::Twice(_) => "choose each stage once",
        RankError::TooMany => "take fewer families or values",
    };
    Failure::usage(error.to_string(), hint)
}
