//! `tidewall rank`.

mod state;

use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use schemars::JsonSchema;
use serde::Serialize;
use tidewall_assess::rank::{Order, Position, RankError, RankOptions, Ranking, draw_best, rank};
use tidewall_assess::requirement::{Requirement, synthesise};
use tidewall_assess::result::Verdict;
use tidewall_devices::datasheet::Datasheet;
use tidewall_study::{SeriesElement, Stage, Study};
use tidewall_transient::Options;

use crate::args::{Format, RankArgs};
use crate::check::margin;
use crate::failure::Failure;
use crate::interrupt::stop_on_interrupt;
use crate::library::Shelf;
use crate::output;
use crate::progress::Progress;
use crate::sheet;
use crate::status::Status;
use state::State;
use tidewall_desk::candidates::{self, Sources};
use tidewall_desk::ranking;

/// Output of `rank --explain` as JSON: one requirement for one stage, a list for several.
#[derive(Debug, Serialize, JsonSchema)]
#[serde(untagged)]
pub enum RequirementOutput {
    /// For the one stage.
    One(Box<Requirement>),
    /// For each stage, in the order of the arguments.
    Several(Vec<Requirement>),
}

/// Ranks candidates, or says what a part must be.
pub fn run(args: &RankArgs, library: Option<&Path>, format: Format) -> Result<Status, Failure> {
    let shelf = Shelf::new(library);
    let sources = Sources::from(&args.candidates);
    let study = study(&shelf, &args.study, args.margin.as_deref())?;
    let stages = stages(&study, &args.at)?;
    if args.explain {
        return explain(&study, &stages, format);
    }
    let all = candidates::gather(&study, &sources, &shelf)?;
    let parts = candidates::choose(&all, &sources)?;
    let mut positions = Vec::new();
    for stage in &stages {
        positions.push(place(&study, stage, &parts)?);
    }
    for text in &args.series {
        let (stage, ohms) = ranking::series("--series", text)?;
        positions.push(Position::of_ohms(&study, &stage, &ohms).map_err(refused)?);
    }
    let order = args
        .prefer
        .as_deref()
        .map(|text| ranking::order("--prefer", text))
        .transpose()?
        .unwrap_or_default();
    let state = args.resume.as_deref().map(State::open).transpose()?;
    let stop = stop_on_interrupt();
    let mut ranking = ranked(&study, &positions, order, state.as_ref(), stop)?;
    if let Some(state) = state {
        state.end()?;
    }
    if let Some(plan) = args.draws.plan() {
        let progress = Progress::new(true, "draws");
        let show = |done, all| progress.show(done, all);
        let options = Options::default();
        let best = &ranking.ranked[..ranking.ranked.len().min(args.top)];
        ranking.short_list = Some(draw_best(&study, &positions, best, &plan, &options, &show, stop));
        progress.end();
    }
    match format {
        Format::Text => output::print(&sheet::rank::sheet(&study, &ranking, args.top, args.rejected))?,
        Format::Json => output::print_json(&ranking)?,
    }
    Ok(status(&ranking))
}

/// Reads the study, with the margin of the command line in place of its own.
pub fn study(shelf: &Shelf, path: &Path, share: Option<&str>) -> Result<Study, Failure> {
    let mut study = shelf.study(path)?;
    if let Some(text) = share {
        study.margin = margin(text)?;
    }
    Ok(study)
}

/// What cannot be ranked or compared, as a failure.
pub fn refused(error: RankError) -> Failure {
    let hint = match &error {
        RankError::NoStage { .. } | RankError::NotForParts(_) => {
            "--at names a stage that holds a part, as the ladder of the study calls it"
        }
        RankError::NoCandidate(_) => {
            "--from says where parts are looked for, --family and --only which of them"
        }
        RankError::Misplaced { .. } => {
            "--at names the stage; `tidewall parts list` shows the family of each part"
        }
        RankError::NotForValues(_) => {
            "--series takes a stage with `series = { resistance = … }`; parts in the line are chosen with --at"
        }
        RankError::BadValue(_) => "resistances above zero, such as 4.7Ω",
        RankError::Twice(_) => "name each stage once, with --at or with --series",
        RankError::TooMany => "narrow the parts with --family and --only",
    };
    Failure::usage(error.to_string(), hint)
}

/// The stages named, or the only one that a part can be chosen for.
pub fn stages(study: &Study, named: &[String]) -> Result<Vec<String>, Failure> {
    if !named.is_empty() {
        return Ok(named.to_vec());
    }
    let shunts: Vec<&str> = study
        .ladder
        .iter()
        .filter(|stage| matches!(stage, Stage::Shunt(_)))
        .map(Stage::name)
        .collect();
    match shunts.as_slice() {
        [one] => Ok(vec![(*one).to_owned()]),
        [] => Err(Failure::usage(
            "the ladder has no shunt stage to choose a part for",
            "add a [[ladder]] entry with `shunt`",
        )),
        several => Err(Failure::usage(
            format!("the ladder has several shunt stages: {}", several.join(", ")),
            "say which with --at; given twice, both are chosen together",
        )),
    }
}

/// A stage with the parts that can stand in it.
fn place(study: &Study, stage: &str, parts: &[Arc<Datasheet>]) -> Result<Position, Failure> {
    let series = study.ladder.iter().any(|other| match other {
        Stage::Series(series) => {
            series.name == stage && matches!(series.element, SeriesElement::Passive { .. })
        }
        _ => false,
    });
    Position::of_parts(study, stage, parts).map_err(|error| match error {
        RankError::NoCandidate(_) if series => Failure::usage(
            error.to_string(),
            "for a plain resistance use --series NAME=VALUES; --from and --family say where parts are looked for",
        ),
        error => refused(error),
    })
}

fn ranked(
    study: &Study,
    positions: &[Position],
    order: Order,
    state: Option<&State>,
    stop: &AtomicBool,
) -> Result<Ranking, Failure> {
    let progress = Progress::new(true, "candidates");
    let options = RankOptions {
        transient: Options::default(),
        order,
        screen: true,
        memo: None,
        known: &|fingerprint| state.and_then(|state| state.known(fingerprint)),
        judged: &|candidate, done, all| {
            if let Some(state) = state {
                state.keep(candidate);
            }
            progress.show(done as u64, all as u64);
        },
        stop: &|| stop.load(Ordering::Relaxed),
    };
    let ranking = rank(study, positions, &options).map_err(refused)?;
    progress.end();
    Ok(ranking)
}

fn explain(study: &Study, stages: &[String], format: Format) -> Result<Status, Failure> {
    let requirements = stages
        .iter()
        .map(|stage| synthesise(study, stage, &Options::default()).map_err(refused))
        .collect::<Result<Vec<_>, _>>()?;
    match format {
        Format::Text => {
            for requirement in &requirements {
                output::print(&sheet::requirement::sheet(requirement))?;
            }
        }
        Format::Json if requirements.len() > 1 => {
            output::print_json(&RequirementOutput::Several(requirements.clone()))?;
        }
        Format::Json => {
            if let Some(one) = requirements.first() {
                output::print_json(&RequirementOutput::One(Box::new(one.clone())))?;
            }
        }
    }
    let status = requirements.iter().map(|requirement| match requirement.window {
        Some(true) => Status::Pass,
        Some(false) => Status::Fail,
        None => Status::Unknown,
    });
    Ok(status.max().unwrap_or(Status::Pass))
}

/// As good as the best candidate: there is a part, or there is none.
fn status(ranking: &Ranking) -> Status {
    if ranking.counts.pass + ranking.counts.marginal > 0 {
        Status::from(Verdict::Pass)
    } else if ranking.counts.unknown > 0 || !ranking.complete {
        Status::from(Verdict::Unknown)
    } else {
        Status::from(Verdict::Fail)
    }
}
