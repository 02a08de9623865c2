//! What the numbers were measured on.

use std::fs;
use std::process::Command;

use serde::{Deserialize, Serialize};

/// Processor and versions; nothing that tells one machine of a kind from another.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Machine {
    /// Name of the processor.
    pub processor: String,
    /// Cores that the program may use.
    pub cores: usize,
    /// Version of Tidewall.
    pub tidewall: String,
    /// Version of the compiler on the machine.
    pub compiler: String,
    /// Processes that wanted to run, over the last minute, before the benchmark began.
    pub load: Option<f64>,
    /// Multiplications and additions per second of one core on numbers in registers.
    pub flops_per_s: f64,
}

impl Machine {
    /// Looks at this machine.
    pub fn here() -> Machine {
        let unknown = || "unknown".to_owned();
        let processor = fs::read_to_string("/proc/cpuinfo").ok().and_then(|text| {
            let line = text.lines().find(|line| line.starts_with("model name"))?;
            Some(line.split_once(':')?.1.trim().to_owned())
        });
        let compiler = Command::new("rustc").arg("--version").output().ok();
        Machine {
            processor: processor.unwrap_or_else(unknown),
            cores: std::thread::available_parallelism().map_or(1, usize::from),
            tidewall: env!("CARGO_PKG_VERSION").to_owned(),
            compiler: compiler.map_or_else(unknown, |output| {
                String::from_utf8_lossy(&output.stdout).trim().to_owned()
            }),
            load: load(),
            flops_per_s: crate::clock::flops_per_s(),
        }
    }

    /// In a line.
    pub fn line(&self) -> String {
        let load = self.load.map_or_else(String::new, |load| {
            format!(", {load:.1} other processes wanted to run when it began")
        });
        format!(
            "{}, {} cores{load}; tidewall {}, {}",
            self.processor, self.cores, self.tidewall, self.compiler
        )
    }
}

fn load() -> Option<f64> {
    let text = fs::read_to_string("/proc/loadavg").ok()?;
    text.split_whitespace().next()?.parse().ok()
}
