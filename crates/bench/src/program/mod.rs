//! Whole programs: start-up, the demonstration's studies, ranking, cost laws, edit to result.

pub mod memory;
pub mod ranking;
pub mod text;

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::Instant;

use cpu_time::ProcessTime;
use serde::{Deserialize, Serialize};
use tidewall_assess::assess;
use tidewall_study::{FolderLoader, read_text};
use tidewall_transient::{Options, Workspace};

use crate::clock::{self, Repeat, median, quantile};
use crate::machine::Machine;
use crate::measure::Places;
use crate::own;
use crate::suite::ladder_of;
use ranking::Ranked;

/// Time and memory of a command.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Timed {
    /// What was run.
    pub what: String,
    /// Transients of the result, where it has some.
    pub transients: Option<usize>,
    /// Median time in seconds.
    pub seconds: f64,
    /// Time in seconds below which 95 % of the runs stayed.
    pub p95_seconds: f64,
    /// Mean processor time in seconds, to a tick of the system's clock over all runs; `None` where it is not told.
    pub processor_s: Option<f64>,
    /// Peak memory in bytes.
    pub peak_bytes: Option<u64>,
}

/// One transient of a ladder of a certain length.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Length {
    /// Elements of the ladder.
    pub elements: usize,
    /// States.
    pub states: usize,
    /// Accepted steps.
    pub steps: u64,
    /// Time in seconds.
    pub seconds: f64,
}

/// A ranking on a number of threads.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct OnThreads {
    /// Threads.
    pub threads: usize,
    /// The ranking.
    pub ranked: Ranked,
}

/// Everything.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Report {
    /// What it was measured on.
    pub machine: Machine,
    /// Start-up and studies.
    pub commands: Vec<Timed>,
    /// Edit to result: as a command, and inside a program that is already running.
    pub edits: Vec<Timed>,
    /// The large ranking, without and with screens, on one and two threads.
    pub rankings: Vec<OnThreads>,
    /// Rankings of fewer parts, unscreened.
    pub by_parts: Vec<OnThreads>,
    /// Rankings under fewer stresses, unscreened.
    pub by_corners: Vec<OnThreads>,
    /// Ladders by length.
    pub by_length: Vec<Length>,
}

/// What is measured.
#[derive(Clone, Debug)]
pub struct Plan {
    /// The `tidewall` program.
    pub program: PathBuf,
    /// This program, for rankings in a process of their own.
    pub own: PathBuf,
    /// Folder of the demonstration.
    pub demo: PathBuf,
    /// A folder to write changed studies into.
    pub work: PathBuf,
    /// Parts of the large ranking.
    pub parts: usize,
    /// Repetitions of each command.
    pub repeats: usize,
    /// Edits.
    pub edits: usize,
}

/// Study that is edited.
const EDITED: &str = "supply-24v.toml";
/// What is changed in it.
const LEAD: &str = "lead = \"2 nH\"";

/// Measures everything, with `progress` told each part.
///
/// # Errors
/// In words, what cannot be run.
pub fn measure(plan: &Plan, progress: &dyn Fn(&str)) -> Result<Report, String> {
    let machine = Machine::here();
    progress("start-up and studies");
    let mut commands = vec![command(plan, "--version", &["--version".into()])?];
    for name in studies(&plan.demo)? {
        let path = plan.demo.join(&name).display().to_string();
        let mut timed = command(plan, &format!("check {name}"), &["check".into(), path])?;
        timed.transients = Some(transients_of(&plan.demo, &name)?);
        commands.push(timed);
    }
    progress("edits");
    let edits = vec![edit_by_command(plan)?, edit_inside(plan)?];
    let mut rankings = Vec::new();
    for screened in [false, true] {
        for threads in [1, 2] {
            progress(&format!(
                "ranking of {} parts, {}, threads: {threads}",
                plan.parts,
                if screened { "screened" } else { "unscreened" }
            ));
            rankings.push(on_threads(plan, threads, plan.parts, 6, screened)?);
        }
    }
    progress("cost by parts, corners and length");
    let few = (plan.parts / 8).max(1);
    let by_parts = [1, 2, 4].map(|share| on_threads(plan, 1, share * few, 6, false));
    let by_corners = [1, 2, 3, 6].map(|stresses| on_threads(plan, 1, few, stresses, false));
    Ok(Report {
        machine,
        commands,
        edits,
        rankings,
        by_parts: by_parts.into_iter().collect::<Result<_, _>>()?,
        by_corners: by_corners.into_iter().collect::<Result<_, _>>()?,
        by_length: [2, 5, 10, 20, 30, 40]
            .into_iter()
            .map(length)
            .collect::<Result<_, _>>()?,
    })
}

/// Names of the demonstration's studies.
fn studies(demo: &Path) -> Result<Vec<String>, String> {
    let entries = fs::read_dir(demo).map_err(|error| format!("{}: {error}", demo.display()))?;
    let mut names: Vec<String> = entries
        .flatten()
        .filter_map(|entry| entry.file_name().into_string().ok())
        .filter(|name| name.ends_with(".toml") && name != "parts.toml")
        .collect();
    names.sort();
    Ok(names)
}

fn transients_of(demo: &Path, name: &str) -> Result<usize, String> {
    let text = fs::read_to_string(demo.join(name)).map_err(|error| error.to_string())?;
    let study = read_text(name, &text, &FolderLoader::new(demo)).map_err(|error| error.to_string())?;
    Ok(assess(&study, &Options::default(), &|_, _| {}).transients.len())
}

/// The program with arguments, its library in the work folder so that nothing of the user's is read.
fn program(plan: &Plan, arguments: &[String]) -> Command {
    let mut command = Command::new(&plan.program);
    command
        .args(arguments)
        .arg("--library")
        .arg(plan.work.join("none.sqlite"))
        .stdout(Stdio::null())
        .stderr(Stdio::null());
    command
}

fn seconds_of(plan: &Plan, arguments: &[String]) -> Result<f64, String> {
    let start = Instant::now();
    let status = program(plan, arguments)
        .status()
        .map_err(|error| format!("{}: {error}", plan.program.display()))?;
    let seconds = start.elapsed().as_secs_f64();
    // A study that fails or is unknown ends with 1 or 2 and was judged all the same.
    match status.code() {
        Some(0..=2) => Ok(seconds),
        _ => Err(format!("{arguments:?} ended with {status}")),
    }
}

fn command(plan: &Plan, what: &str, arguments: &[String]) -> Result<Timed, String> {
    let before = memory::children_s();
    let samples = (0..plan.repeats)
        .map(|_| seconds_of(plan, arguments))
        .collect::<Result<Vec<_>, _>>()?;
    let processor_s = memory::since(before, samples.len());
    Ok(Timed {
        what: what.to_owned(),
        transients: None,
        seconds: median(&samples),
        p95_seconds: quantile(&samples, 0.95),
        processor_s,
        peak_bytes: memory::of_command(&mut program(plan, arguments)).map_err(|error| error.to_string())?,
    })
}

/// The study with another lead inductance, `number` of them all different.
fn edited(plan: &Plan, number: usize) -> Result<String, String> {
    let path = plan.demo.join(EDITED);
    let text = fs::read_to_string(&path).map_err(|error| format!("{}: {error}", path.display()))?;
    if !text.contains(LEAD) {
        return Err(format!("{}: no `{LEAD}` to change", path.display()));
    }
    Ok(text.replace(LEAD, &format!("lead = \"{:.2} nH\"", 1.0 + 0.05 * number as f64)))
}

fn edit_by_command(plan: &Plan) -> Result<Timed, String> {
    let named = |error: std::io::Error| format!("{}: {error}", plan.work.display());
    fs::copy(plan.demo.join("parts.toml"), plan.work.join("parts.toml")).map_err(named)?;
    let path = plan.work.join(EDITED);
    let arguments = ["check".to_owned(), path.display().to_string()];
    let mut samples = Vec::new();
    let before = memory::children_s();
    for number in 0..plan.edits {
        let text = edited(plan, number)?;
        let start = Instant::now();
        fs::write(&path, text).map_err(named)?;
        seconds_of(plan, &arguments)?;
        samples.push(start.elapsed().as_secs_f64());
    }
    Ok(Timed {
        what: format!("{EDITED}: new lead inductance, `tidewall check`"),
        transients: Some(transients_of(&plan.work, EDITED)?),
        seconds: median(&samples),
        p95_seconds: quantile(&samples, 0.95),
        processor_s: memory::since(before, samples.len()),
        peak_bytes: None,
    })
}

fn edit_inside(plan: &Plan) -> Result<Timed, String> {
    let mut samples = Vec::new();
    let mut transients = 0;
    let spent = ProcessTime::now();
    for number in 0..plan.edits {
        let text = edited(plan, number)?;
        let start = Instant::now();
        let study =
            read_text(EDITED, &text, &FolderLoader::new(&plan.demo)).map_err(|error| error.to_string())?;
        transients = assess(&study, &Options::default(), &|_, _| {}).transients.len();
        samples.push(start.elapsed().as_secs_f64());
    }
    Ok(Timed {
        what: format!("{EDITED}: new lead inductance, in a running program"),
        transients: Some(transients),
        seconds: median(&samples),
        p95_seconds: quantile(&samples, 0.95),
        processor_s: Some(spent.elapsed().as_secs_f64() / samples.len().max(1) as f64),
        peak_bytes: None,
    })
}

/// A ranking in a process of its own, which is told the number of threads.
fn on_threads(
    plan: &Plan,
    threads: usize,
    parts: usize,
    stresses: usize,
    screened: bool,
) -> Result<OnThreads, String> {
    let mut command = Command::new(&plan.own);
    command
        .env("RAYON_NUM_THREADS", threads.to_string())
        .arg("rank-once")
        .arg("--demo")
        .arg(&plan.demo)
        .args(["--parts", &parts.to_string(), "--stresses", &stresses.to_string()]);
    if screened {
        command.arg("--screened");
    }
    let output = command.output().map_err(|error| error.to_string())?;
    if !output.status.success() {
        return Err(String::from_utf8_lossy(&output.stderr).into_owned());
    }
    let ranked = serde_json::from_slice(&output.stdout).map_err(|error| error.to_string())?;
    Ok(OnThreads { threads, ranked })
}

fn length(elements: usize) -> Result<Length, String> {
    // Track in, shunt, and sections.
    let circuit = ladder_of(elements - 2);
    let assembled = circuit.assemble().map_err(|error| error.to_string())?;
    let places = Places::of(&circuit, &assembled).ok_or("the ladder lacks what it watches")?;
    let mut workspace = Workspace::new(&assembled.equations);
    let options = Options::default();
    let (_, counters) =
        own::at(&assembled, &places, &options, &mut workspace).map_err(|error| error.to_string())?;
    let repeat = Repeat {
        seconds: 0.3,
        most: 1000,
    };
    let seconds = clock::time(repeat, || {
        own::at(&assembled, &places, &options, &mut workspace).ok();
    });
    Ok(Length {
        elements,
        states: assembled.equations.len(),
        steps: counters.steps,
        seconds,
    })
}
