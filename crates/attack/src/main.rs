//! `attack`: runs the targets on bad files for a while.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::PathBuf;
use std::process::ExitCode;
use std::time::{Duration, Instant};

use clap::Parser;
use tidewall_attack::mutate::Mutator;
use tidewall_attack::{Target, corpus, targets};

/// Gives every reader bad files made from good ones; a panic, a hang or a wrong answer is a finding.
#[derive(Parser)]
struct Asked {
    /// Targets; all unless given.
    targets: Vec<String>,
    /// Seconds for each target.
    #[arg(long, default_value_t = 600)]
    seconds: u64,
    /// Seed of the first round.
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Where files that are findings are kept.
    #[arg(long, default_value = "findings")]
    findings: PathBuf,
    /// Milliseconds above which one file counts as a hang.
    #[arg(long, default_value_t = 5_000)]
    slow_ms: u64,
}

fn main() -> ExitCode {
    let asked = Asked::parse();
    let chosen: Vec<Target> = targets()
        .into_iter()
        .filter(|target| asked.targets.is_empty() || asked.targets.iter().any(|name| name == target.name))
        .collect();
    if chosen.is_empty() {
        eprintln!("attack: no such target; there are: {}", names());
        return ExitCode::from(3);
    }
    let mut findings = 0;
    for target in chosen {
        match attack(target, &asked) {
            Ok(found) => findings += found,
            Err(error) => {
                eprintln!("attack: {}: {error}", target.name);
                return ExitCode::from(3);
            }
        }
    }
    ExitCode::from(u8::from(findings > 0))
}

fn names() -> String {
    let names: Vec<&str> = targets().iter().map(|target| target.name).collect();
    names.join(", ")
}

fn attack(target: Target, asked: &Asked) -> std::io::Result<u64> {
    let files = corpus::files(target.name)?;
    let mut mutator = Mutator::new(asked.seed, &files, target.words);
    let (started, most) = (Instant::now(), Duration::from_secs(asked.seconds));
    let (mut tried, mut found, mut slowest) = (0u64, 0u64, Duration::ZERO);
    while started.elapsed() < most {
        let bytes = mutator.next_file();
        let began = Instant::now();
        let fell = catch_unwind(AssertUnwindSafe(|| (target.run)(&bytes))).is_err();
        let took = began.elapsed();
        tried += 1;
        slowest = slowest.max(took);
        if fell || took > Duration::from_millis(asked.slow_ms) {
            found += 1;
            std::fs::create_dir_all(&asked.findings)?;
            let path = asked
                .findings
                .join(format!("{}-{}-{tried}", target.name, asked.seed));
            std::fs::write(&path, &bytes)?;
            eprintln!(
                "{}: {} ({} ms)",
                path.display(),
                if fell { "fell over" } else { "slow" },
                took.as_millis()
            );
        }
    }
    println!(
        "{:<12} {tried:>9} files in {:>4} s, {found} findings, slowest {} ms",
        target.name,
        started.elapsed().as_secs(),
        slowest.as_millis()
    );
    Ok(found)
}
