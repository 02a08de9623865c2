//! The benchmark command; `scripts/bench` calls it.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::{Parser, Subcommand};
use serde::Serialize;
use serde::de::DeserializeOwned;
use tidewall_bench::program::{self, Plan};
use tidewall_bench::transient::{Report, Sweep};
use tidewall_bench::{guard, lanes, plots, table, transient};

/// Benchmarks of one transient and of whole programs.
#[derive(Debug, Parser)]
#[command(name = "tidewall-bench", version)]
struct Cli {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Run the suite: Tidewall, the Rust solvers, the references
    Transient {
        /// Where the result goes
        #[arg(long, value_name = "FILE.json")]
        to: PathBuf,
        /// Only circuits whose key contains this
        #[arg(long, default_value = "")]
        only: String,
        /// Time for the repetitions of each run in seconds
        #[arg(long, default_value_t = 0.1)]
        seconds: f64,
    },
    /// Add what another program has measured on the same circuits, and print the table
    Table {
        /// What `transient` wrote
        #[arg(value_name = "FILE.json")]
        result: PathBuf,
        /// What the other program wrote
        #[arg(long, value_name = "FILE.json")]
        with: Option<PathBuf>,
    },
    /// Draw the work-precision plots
    Plots {
        /// What `transient` and `table` wrote
        #[arg(value_name = "FILE.json")]
        result: PathBuf,
        /// Folder they go to
        #[arg(long, value_name = "FOLDER")]
        to: PathBuf,
    },
    /// Measure whole programs, and print the tables
    Program {
        /// Where the result goes
        #[arg(long, value_name = "FILE.json")]
        to: PathBuf,
        /// Folder of the demonstration
        #[arg(long, value_name = "FOLDER")]
        demo: PathBuf,
        /// A folder for changed studies
        #[arg(long, value_name = "FOLDER")]
        work: PathBuf,
        /// Parts of the large ranking
        #[arg(long, default_value_t = 250)]
        parts: usize,
        /// Repetitions of each command
        #[arg(long, default_value_t = 5)]
        repeats: usize,
        /// Edits
        #[arg(long, default_value_t = 20)]
        edits: usize,
    },
    /// Rank parts once, and print what it took as JSON
    #[command(hide = true)]
    RankOnce {
        #[arg(long)]
        demo: PathBuf,
        #[arg(long)]
        parts: usize,
        #[arg(long)]
        stresses: usize,
        #[arg(long)]
        screened: bool,
    },
    /// Run corners of each circuit one after the other and in bundles
    Lanes {
        /// Only circuits whose key contains this
        #[arg(long, default_value = "")]
        only: String,
        /// Repetitions
        #[arg(long, default_value_t = 15)]
        repeats: usize,
    },
    /// Write the counts and references that the tests hold the engine against
    Counts {
        /// Where they go
        #[arg(long, value_name = "FILE.json")]
        to: PathBuf,
    },
}

/// What another program measured.
#[derive(Debug, serde::Deserialize)]
struct Others {
    versions: Vec<String>,
    circuits: std::collections::BTreeMap<String, Vec<Sweep>>,
}

fn main() -> ExitCode {
    match run(Cli::parse().command) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("{error}");
            ExitCode::FAILURE
        }
    }
}

fn run(command: Command) -> Result<(), String> {
    match command {
        Command::Transient { to, only, seconds } => {
            let report = transient::measure(&only, seconds, &|key| eprintln!("{key} …"))?;
            write(&to, &report)
        }
        Command::Table { result, with } => {
            let mut report: Report = read(&result)?;
            if let Some(path) = with {
                add(&mut report, read(&path)?);
                write(&result, &report)?;
            }
            print!("{}", table::transient(&report));
            Ok(())
        }
        Command::Plots { result, to } => {
            fs::create_dir_all(&to).map_err(|error| format!("{}: {error}", to.display()))?;
            for (key, figure) in plots::figures(&read(&result)?) {
                put(&to.join(format!("{key}.svg")), figure.svg)?;
            }
            Ok(())
        }
        Command::Program {
            to,
            demo,
            work,
            parts,
            repeats,
            edits,
        } => {
            let own = std::env::current_exe().map_err(|error| error.to_string())?;
            let plan = Plan {
                program: own.with_file_name("tidewall"),
                own,
                demo,
                work,
                parts,
                repeats,
                edits,
            };
            let report = program::measure(&plan, &|what| eprintln!("{what} …"))?;
            write(&to, &report)?;
            print!("{}", program::text::text(&report));
            Ok(())
        }
        Command::RankOnce {
            demo,
            parts,
            stresses,
            screened,
        } => {
            let ranked = program::ranking::once(&demo, parts, stresses, screened)?;
            let text = serde_json::to_string(&ranked).map_err(|error| error.to_string())?;
            println!("{text}");
            Ok(())
        }
        Command::Lanes { only, repeats } => {
            print!("{}", lanes::text(&lanes::measure(&only, repeats)?));
            Ok(())
        }
        Command::Counts { to } => {
            let ready = transient::ready()?;
            let entries = ready.iter().map(guard::entry).collect::<Result<Vec<_>, _>>()?;
            write(&to, &entries)
        }
    }
}

/// Puts the other program's sweeps beside those there; its earlier ones go.
fn add(report: &mut Report, mut others: Others) {
    report.versions.extend(others.versions);
    report.versions.dedup();
    for circuit in &mut report.circuits {
        for sweep in others.circuits.remove(&circuit.key).into_iter().flatten() {
            circuit.sweeps.retain(|known| known.solver != sweep.solver);
            circuit.sweeps.push(sweep);
        }
    }
}

fn read<T: DeserializeOwned>(path: &Path) -> Result<T, String> {
    let text = fs::read_to_string(path).map_err(|error| format!("{}: {error}", path.display()))?;
    serde_json::from_str(&text).map_err(|error| format!("{}: {error}", path.display()))
}

fn write<T: Serialize>(path: &Path, value: &T) -> Result<(), String> {
    let text = serde_json::to_string_pretty(value).map_err(|error| format!("{}: {error}", path.display()))?;
    put(path, text + "\n")
}

/// Writes beside the file and then puts it in its place, so that nothing half-written is left.
fn put(path: &Path, text: String) -> Result<(), String> {
    let beside = path.with_extension("part");
    fs::write(&beside, text)
        .and_then(|()| fs::rename(&beside, path))
        .map_err(|error| format!("{}: {error}", path.display()))
}
