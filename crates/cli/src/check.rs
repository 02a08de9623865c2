//! `tidewall check`.

use std::path::{Path, PathBuf};

use std::time::Duration;

use schemars::JsonSchema;
use serde::Serialize;
use tidewall_assess::draws;
use tidewall_assess::level::highest_levels;
use tidewall_assess::rank::CheckLine;
use tidewall_assess::result::{Assessment, Verdict};
use tidewall_assess::{assess, assess_filtered};
use tidewall_study::Study;
use tidewall_transient::Options;
use tidewall_units::{Quantity, Ratio, Seconds, parse};

use crate::args::{CheckArgs, Format};
use crate::corner::Choice;
use crate::failure::{self, Failure};
use crate::interrupt::{interrupted, stop_on_interrupt};
use crate::library::Shelf;
use crate::output::{self, Existing, Target};
use crate::progress::Progress;
use crate::sheet::{self, Detail};
use crate::status::Status;
use crate::trace;

/// Output of `check` as JSON: one result for one study, a list for several.
#[derive(Debug, Serialize, JsonSchema)]
#[serde(untagged)]
pub enum CheckOutput {
    /// The result of the one study.
    One(Box<Assessment>),
    /// The results of those studies that could be read, in the order of the arguments.
    Several(Vec<Assessment>),
}

/// What the arguments ask for, checked.
struct Plan {
    choice: Option<Choice>,
    trace: Option<Target>,
    margin: Option<f64>,
    draws: Option<draws::Plan>,
    highest_level: bool,
    detail: Detail,
}

/// The studies that are named: files as they stand, folders as every study in them, in the order of their names.
///
/// A study is a file ending in `.toml` that has a `[port]` table; parts files have none.
fn expand(named: &[PathBuf]) -> Result<Vec<PathBuf>, Failure> {
    let mut studies = Vec::new();
    for path in named {
        if !path.is_dir() {
            studies.push(path.clone());
            continue;
        }
        let unreadable = |error: std::io::Error| {
            Failure::usage(
                format!("the folder `{}` cannot be read: {error}", path.display()),
                "check its permissions",
            )
        };
        let mut found = Vec::new();
        for entry in std::fs::read_dir(path).map_err(unreadable)? {
            let file = entry.map_err(unreadable)?.path();
            let toml = file.extension().is_some_and(|ext| ext == "toml");
            if toml && file.is_file() && tidewall_desk::folder::has_port_table(&file).map_err(unreadable)? {
                found.push(file);
            }
        }
        if found.is_empty() {
            return Err(Failure::usage(
                format!("there is no study in the folder `{}`", path.display()),
                "a study is a .toml file with a [port] table",
            ));
        }
        found.sort();
        studies.extend(found);
    }
    Ok(studies)
}

/// Checks every study.
pub fn run(args: &CheckArgs, library: Option<&Path>, format: Format) -> Result<Status, Failure> {
    let plan = plan(args)?;
    let shelf = Shelf::new(library);
    let studies = expand(&args.studies)?;
    let several = studies.len() > 1;
    let mut status = Status::Pass;
    let mut verdicts: Vec<(String, Option<Verdict>, String)> = Vec::new();
    let mut results = Vec::new();
    let mut stopped = None;
    for path in &studies {
        let name = path.display().to_string();
        match one(path, &shelf, &plan) {
            Ok(checked) => {
                status = status.max(Status::from(checked.result.verdict));
                let title = checked.result.study.title.clone();
                verdicts.push((name, Some(checked.result.verdict), title));
                if format == Format::Text {
                    if verdicts.len() > 1 && plan.detail != Detail::Verdict {
                        output::print("\n")?;
                    }
                    output::print(&sheet::sheet(
                        &checked.study,
                        &checked.result,
                        &checked.traced,
                        plan.detail,
                    ))?;
                }
                if let Some(failure) = checked.failure {
                    failure::report(&failure, format);
                    status = Status::BadInput;
                }
                results.push(checked.result);
                if interrupted() {
                    stopped = Some(format!("stopped in {}", path.display()));
                    break;
                }
            }
            Err(failure) => {
                failure::report(&failure, format);
                status = Status::BadInput;
                verdicts.push((name, None, String::new()));
            }
        }
    }
    match format {
        Format::Text if several && plan.detail != Detail::Verdict => {
            output::print(&sheet::verdicts(&verdicts))?
        }
        Format::Text => {}
        Format::Json if several => output::print_json(&CheckOutput::Several(results))?,
        Format::Json => {
            if let Some(result) = results.pop() {
                output::print_json(&CheckOutput::One(Box::new(result)))?;
            }
        }
    }
    if let Some(text) = stopped {
        let left = match studies.len() - verdicts.len() {
            0 => String::new(),
            1 => ", and 1 study is not judged".to_owned(),
            more => format!(", and {more} studies are not judged"),
        };
        output::remark(&format!("{text}: draws or levels are not complete{left}"));
        status = Status::Stopped;
    }
    Ok(status)
}

fn plan(args: &CheckArgs) -> Result<Plan, Failure> {
    if args.trace.is_some() && args.studies.len() > 1 {
        return Err(Failure::usage(
            "--trace takes one study",
            "run tidewall check once for each study whose waveforms are wanted",
        ));
    }
    let trace = args
        .trace
        .as_deref()
        .map(|path| Target::new(path, Existing::Replace))
        .transpose()?;
    let detail = match (args.verbose, args.quiet) {
        (_, true) => Detail::Verdict,
        (true, _) => Detail::Everything,
        _ => Detail::Usual,
    };
    Ok(Plan {
        choice: Choice::read(&args.corners)?,
        trace,
        margin: args.margin.as_deref().map(margin).transpose()?,
        draws: args.draws.plan(),
        highest_level: args.highest_level,
        detail,
    })
}

/// A margin on the command line.
pub fn margin(text: &str) -> Result<f64, Failure> {
    let hint = "a share from 0 % to below 100 %, such as \"10 %\"";
    match parse::<Ratio>(text) {
        Ok(Ratio(share)) if (0.0..1.0).contains(&share) => Ok(share),
        Ok(_) => Err(Failure::usage(format!("--margin cannot be {text}"), hint)),
        Err(error) => Err(Failure::usage(format!("--margin: {error}"), hint)),
    }
}

/// A study with its result.
struct Checked {
    study: Study,
    result: Assessment,
    traced: Vec<String>,
    /// Why the waveforms could not be written.
    failure: Option<Failure>,
}

fn one(path: &Path, shelf: &Shelf, plan: &Plan) -> Result<Checked, Failure> {
    let mut study = shelf.study(path)?;
    if let Some(margin) = plan.margin {
        study.margin = margin;
        study.assumptions.retain(|line| !line.starts_with("margin = "));
        study
            .assumptions
            .push(format!("margin = {} (from the command line)", Ratio(margin)));
    }
    let options = Options::default();
    let progress = Progress::new(plan.detail != Detail::Verdict, "corners");
    let show = |done: usize, all: usize| progress.show(done as u64, all as u64);
    let mut result = match &plan.choice {
        None => assess(&study, &options, &show),
        Some(choice) => {
            choice.check(&study)?;
            let keep = |case: &_| choice.keeps(&study, case);
            assess_filtered(&study, &options, &keep, choice.texts(), &show)
        }
    };
    let mut took = progress.end();
    if result.restriction.as_ref().is_some_and(|only| only.run == 0) {
        return Err(Failure::usage(
            format!("no corner of {} fits: no blind spot was found there", study.path),
            "leave out tolerance=blind-spot",
        ));
    }
    took += further(&study, &mut result, plan, &options);
    if plan.detail == Detail::Everything {
        output::remark(&format!(
            "{}: {}",
            study.path,
            Seconds(took.as_secs_f64()).rounded(3)
        ));
    }
    let (traced, failure) = match &plan.trace {
        None => (Vec::new(), None),
        Some(target) => match trace::write(&study, &result, &options, target) {
            Ok(traced) => (traced, None),
            Err(failure) => (Vec::new(), Some(failure)),
        },
    };
    Ok(Checked {
        study,
        result,
        traced,
        failure,
    })
}

/// What is asked for besides the corners; how long it took.
fn further(study: &Study, result: &mut Assessment, plan: &Plan, options: &Options) -> Duration {
    let wanted = plan.detail != Detail::Verdict;
    let mut took = Duration::ZERO;
    if let Some(draws) = &plan.draws {
        let progress = Progress::new(wanted, "draws");
        let show = |done, all| progress.show(done, all);
        let mut drawn = draws::run(study, draws, options, &show, stop_on_interrupt());
        let corners: Vec<CheckLine> = result.checks.iter().map(CheckLine::from).collect();
        drawn.draws.compare(&corners);
        result.draws = Some(drawn.draws);
        result.sensitivity = Some(drawn.sensitivity);
        took += progress.end();
    }
    if plan.highest_level {
        let progress = Progress::new(wanted, "levels");
        let show = |done: usize, all: usize| progress.show(done as u64, all as u64);
        result.highest_levels = Some(highest_levels(study, options, &show, stop_on_interrupt()));
        took += progress.end();
    }
    took
}
