//! `soak`: runs random ladders and adds up what came out.

use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::sync::Mutex;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::{Duration, Instant};

use clap::Parser;
use serde::{Deserialize, Serialize};
use tidewall_soak::{Case, Failure, Kind, Tally, attempt, verdict};
use tidewall_transient::Options;

/// Cases between two savings of what is known.
const BLOCK: u64 = 2_000;

/// Runs random physical ladders; every one must converge, balance its energy and give finite results.
#[derive(Parser)]
struct Asked {
    /// How many cases.
    #[arg(long, default_value_t = 1_000_000)]
    cases: u64,
    /// Number of the first case.
    #[arg(long, default_value_t = 0)]
    from: u64,
    /// One case only: its circuit, its result.
    #[arg(long, conflicts_with_all = ["cases", "from", "keep"])]
    case: Option<u64>,
    /// Threads; all cores unless given.
    #[arg(long)]
    threads: Option<usize>,
    /// Keeps what is known in this file after every 2000 cases, and goes on from there when it exists.
    #[arg(long)]
    keep: Option<PathBuf>,
}

/// What a run knows, for going on later.
#[derive(Default, Serialize, Deserialize)]
struct Kept {
    from: u64,
    next: u64,
    tally: Tally,
    seconds: f64,
    slowest_s: f64,
    slowest_case: u64,
    /// Peak memory in KiB after the first block and now.
    memory_early_kib: Option<u64>,
    memory_late_kib: Option<u64>,
}

fn main() -> ExitCode {
    let asked = Asked::parse();
    let done = match asked.case {
        Some(number) => Ok(one(number)),
        None => many(&asked),
    };
    match done {
        Ok(true) => ExitCode::SUCCESS,
        Ok(false) => ExitCode::from(1),
        Err(message) => {
            eprintln!("soak: {message}");
            ExitCode::from(3)
        }
    }
}

fn one(number: u64) -> bool {
    match Case::new(number) {
        Ok(case) => {
            println!("{case:#?}");
            switching(&case);
        }
        Err(refused) => println!("{refused}"),
    }
    let started = Instant::now();
    let result = verdict(number);
    println!("{result:#?}\n{:?}", started.elapsed());
    result.is_ok()
}

/// Which parts changed their state and how often, up to where the run ends or is given up.
fn switching(case: &Case) {
    let mut shorter = case.clone();
    let mut ended = attempt(&shorter, &Options::default());
    if let Err(stopped) = &ended {
        shorter.network.duration_s = stopped.at_s.max(1e-12) * 0.999;
        ended = attempt(&shorter, &Options::default());
    }
    let Ok(outcome) = ended else { return };
    let Ok(assembly) = case.port.assemble(&case.network) else {
        return;
    };
    println!("{:?}", outcome.counters);
    let devices = assembly.circuit.devices.iter().zip(&outcome.switched);
    for ((device, &count), last_s) in devices
        .zip(&outcome.last_switch_s)
        .filter(|((_, count), _)| **count > 0)
    {
        println!(
            "{} changed its state {count} times, last at {last_s:e} s: {:?}",
            device.name, device.law
        );
    }
}

fn many(asked: &Asked) -> Result<bool, String> {
    let mut kept = match &asked.keep {
        Some(path) if path.exists() => read(path)?,
        _ => Kept {
            from: asked.from,
            next: asked.from,
            ..Kept::default()
        },
    };
    let threads = asked
        .threads
        .or_else(|| std::thread::available_parallelism().ok().map(usize::from))
        .unwrap_or(1)
        .max(1);
    let end = kept.from + asked.cases;
    while kept.next < end {
        let started = Instant::now();
        let to = (kept.next + BLOCK).min(end);
        block(&mut kept, to, threads);
        kept.seconds += started.elapsed().as_secs_f64();
        kept.memory_late_kib = peak_memory_kib();
        kept.memory_early_kib = kept.memory_early_kib.or(kept.memory_late_kib);
        if let Some(path) = &asked.keep {
            write(path, &kept)?;
        }
        eprintln!(
            "{} of {} cases, {} failures, {:.0} s",
            kept.next - kept.from,
            asked.cases,
            kept.tally.failures.len(),
            kept.seconds
        );
    }
    let last = kept.next.saturating_sub(1);
    println!("numbers                {} to {last}", kept.from);
    println!("{}", kept.tally);
    println!(
        "time                   {:.0} s on {threads} threads; slowest {:.3} s (case {})",
        kept.seconds, kept.slowest_s, kept.slowest_case
    );
    let kib = |kib: Option<u64>| kib.map_or("unknown".to_owned(), |kib| format!("{kib} KiB"));
    println!(
        "peak memory            {} after {BLOCK} cases, {} at the end",
        kib(kept.memory_early_kib),
        kib(kept.memory_late_kib)
    );
    Ok(kept.tally.failures.is_empty())
}

/// Runs the cases from `kept.next` to `to` on `threads` threads.
fn block(kept: &mut Kept, to: u64, threads: usize) {
    let next = AtomicU64::new(kept.next);
    let sum = Mutex::new((Tally::default(), (0.0, 0)));
    std::thread::scope(|scope| {
        for _ in 0..threads {
            scope.spawn(|| {
                let (mut tally, mut slowest) = (Tally::default(), (0.0, 0));
                loop {
                    let number = next.fetch_add(1, Ordering::Relaxed);
                    if number >= to {
                        break;
                    }
                    let (result, took) = judged(number);
                    if let Err(failure) = &result {
                        println!("case {number}: {}", failure.text);
                    }
                    tally.take(number, result);
                    if took.as_secs_f64() > slowest.0 {
                        slowest = (took.as_secs_f64(), number);
                    }
                }
                let mut sum = sum.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
                sum.0.add(tally);
                if slowest.0 > sum.1.0 {
                    sum.1 = slowest;
                }
            });
        }
    });
    let (tally, slowest) = sum
        .into_inner()
        .unwrap_or_else(std::sync::PoisonError::into_inner);
    kept.tally.add(tally);
    if slowest.0 > kept.slowest_s {
        (kept.slowest_s, kept.slowest_case) = slowest;
    }
    kept.next = to;
}

/// The verdict on a case, a panic being one more failure: the run goes on, and the case is named.
fn judged(number: u64) -> (Result<tidewall_soak::Verdict, Failure>, Duration) {
    let started = Instant::now();
    let result = std::panic::catch_unwind(|| verdict(number)).unwrap_or_else(|_| {
        Err(Failure {
            number,
            kind: Kind::Panic,
            text: "the program fell over; its message stands above".into(),
        })
    });
    (result, started.elapsed())
}

fn read(path: &Path) -> Result<Kept, String> {
    let text = std::fs::read_to_string(path).map_err(|error| format!("{}: {error}", path.display()))?;
    serde_json::from_str(&text).map_err(|error| format!("{}: {error}", path.display()))
}

fn write(path: &Path, kept: &Kept) -> Result<(), String> {
    let text = serde_json::to_string(kept).map_err(|error| error.to_string())?;
    let beside = path.with_extension("part");
    std::fs::write(&beside, text)
        .and_then(|()| std::fs::rename(&beside, path))
        .map_err(|error| format!("{}: {error}", path.display()))
}

/// Most memory that this process has had, where the system tells it.
fn peak_memory_kib() -> Option<u64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"))?;
    line.trim().trim_end_matches("kB").trim().parse().ok()
}
