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
    template: &'static str,
    bar: OnceLock<ProgressBar>,
}

impl Progress {
    /// Begins now. Nothing is ever shown unless `wanted` and standard error is a terminal.
    pub fn new(wanted: bool) -> Progress {
        Progress::with("{pos} of {len} corners {wide_bar} {eta} left", wanted)
    }

    /// The same over the length of a file.
    pub fn through_file(wanted: bool) -> Progress {
        Progress::with("{percent} % read {wide_bar} {eta} left", wanted)
    }

    fn with(template: &'static str, wanted: bool) -> Progress {
        Progress {
            start: Instant::now(),
            wanted: wanted && std::io::stderr().is_terminal(),
            template,
            bar: OnceLock::new(),
        }
    }

    /// So many of so many are done. May be called from any thread.
    pub fn show(&self, done: usize, all: usize) {
        if !self.wanted || self.start.elapsed() < PATIENCE {
            return;
        }
        let bar = self.bar.get_or_init(|| {
            let bar = ProgressBar::with_draw_target(Some(all as u64), ProgressDrawTarget::stderr());
            if let Ok(style) = ProgressStyle::with_template(self.template) {
                bar.set_style(style);
            }
            bar
        });
        // Threads may report out of order.
        if done as u64 > bar.position() {
            bar.set_position(done as u64);
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
