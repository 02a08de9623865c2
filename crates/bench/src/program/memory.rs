//! Peak memory of processes, where the system tells it.

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
