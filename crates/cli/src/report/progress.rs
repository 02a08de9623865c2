//! Progress of work that goes through several phases.

use std::sync::Mutex;

use crate::progress::Progress;

/// One bar after the other.
#[derive(Default)]
pub struct Phases {
    now: Mutex<Option<(&'static str, Progress)>>,
}

impl Phases {
    /// So many of so many are done of a phase. May be called from any thread.
    pub fn show(&self, what: &'static str, done: usize, all: usize) {
        // A poisoned lock means that another thread has panicked; the bar is the least of the worries then.
        let Ok(mut now) = self.now.lock() else { return };
        if now.as_ref().is_none_or(|(phase, _)| *phase != what)
            && let Some((_, before)) = now.replace((what, Progress::new(true, what)))
        {
            before.end();
        }
        if let Some((_, progress)) = now.as_ref() {
            progress.show(done as u64, all as u64);
        }
    }

    /// Takes the last bar away.
    pub fn end(self) {
        if let Ok(Some((_, progress))) = self.now.into_inner() {
            progress.end();
        }
    }
}
