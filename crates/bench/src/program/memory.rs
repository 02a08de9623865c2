//! Peak memory and processor time of processes, where the system tells them.

use std::fs;
use std::process::{Command, Stdio};
use std::time::Duration;

/// Most memory that this process has had, in bytes.
pub fn own_peak_bytes() -> Option<u64> {
    peak_of("self")
}

fn peak_of(process: &str) -> Option<u64> {
    let status = fs::read_to_string(format!("/proc/{process}/status")).ok()?;
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"))?;
    let kibibytes: u64 = line.trim().trim_end_matches("kB").trim().parse().ok()?;
    Some(1024 * kibibytes)
}

/// Most memory that a command has, in bytes, by looking every millisecond while it runs.
///
/// # Errors
/// The command cannot be started.
pub fn of_command(command: &mut Command) -> std::io::Result<Option<u64>> {
    let mut child = command.stdout(Stdio::null()).stderr(Stdio::null()).spawn()?;
    let mut peak = None;
    while child.try_wait()?.is_none() {
        peak = peak.max(peak_of(&child.id().to_string()));
        std::thread::sleep(Duration::from_millis(1));
    }
    Ok(peak)
}

/// Ticks of the system's clock in a second, as Linux counts them for programs on every machine.
const TICKS_PER_S: f64 = 100.0;

/// Processor time in seconds of all commands that this process has waited for.
pub fn children_s() -> Option<f64> {
    let text = fs::read_to_string("/proc/self/stat").ok()?;
    // The name in brackets may hold anything; after it come the state and, as 14th and 15th, the children's times.
    let mut fields = text.rsplit_once(')')?.1.split_whitespace().skip(13);
    let mut ticks = || fields.next()?.parse::<f64>().ok();
    Some((ticks()? + ticks()?) / TICKS_PER_S)
}

/// Share of each of `runs` commands in the processor time since `before`.
pub fn since(before: Option<f64>, runs: usize) -> Option<f64> {
    Some((children_s()? - before?) / runs.max(1) as f64)
}
