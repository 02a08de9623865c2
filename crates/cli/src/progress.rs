//! Progress of a long run, on a terminal.

use std::io::IsTerminal;
use std::sync::OnceLock;
use std::time::{Duration, Instant};

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

/// Runs shorter than this show nothing.
const PATIENCE: Duration = Duration::from_millis(500);

/// A bar on standard error that appears only when the run takes long.
pub struct Progress {
    start: Instant,
    wanted: bool,
    unit: &'static str,
    bar: OnceLock<ProgressBar>,
}

impl Progress {
    /// Begins now, counting in a unit ("corners"). Nothing is ever shown unless `wanted` and standard error is a
    /// terminal.
    pub fn new(wanted: bool, unit: &'static str) -> Progress {
        Progress {
            start: Instant::now(),
            wanted: wanted && std::io::stderr().is_terminal(),
            unit,
            bar: OnceLock::new(),
        }
    }

    /// So many of so many are done. May be called from any thread.
    pub fn show(&self, done: u64, all: u64) {
        if !self.wanted || self.start.elapsed() < PATIENCE {
            return;
        }
        let bar = self.bar.get_or_init(|| {
            let bar = ProgressBar::with_draw_target(Some(all), ProgressDrawTarget::stderr());
            let template = format!("{{pos}} of {{len}} {} {{wide_bar}} {{eta}} left", self.unit);
            if let Ok(style) = ProgressStyle::with_template(&template) {
                bar.set_style(style);
            }
            bar
        });
        // Threads may report out of order.
        if done > bar.position() {
            bar.set_position(done);
        }
    }

    /// Takes the bar away; how long the run took.
    pub fn end(self) -> Duration {
        if let Some(bar) = self.bar.get() {
            bar.finish_and_clear();
        }
        self.start.elapsed()
    }
}
