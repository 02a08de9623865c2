//! Ctrl-C in long runs.

use std::sync::OnceLock;
use std::sync::atomic::{AtomicBool, Ordering};

/// Exit status of a run that was stopped from the keyboard: 128 and the number of the signal, as shells have it.
pub const STATUS: u8 = 130;

static STOP: AtomicBool = AtomicBool::new(false);

/// A flag that the first interrupt from the keyboard sets; a second one ends the program as usual.
pub fn stop_on_interrupt() -> &'static AtomicBool {
    static SET: OnceLock<()> = OnceLock::new();
    SET.get_or_init(|| {
        // Without a handler an interrupt ends the program at once: nothing half-written is left by that either.
        let _ = ctrlc::set_handler(|| {
            if STOP.swap(true, Ordering::Relaxed) {
                std::process::exit(i32::from(STATUS));
            }
        });
    });
    &STOP
}

/// Whether the run was interrupted.
pub fn interrupted() -> bool {
    STOP.load(Ordering::Relaxed)
}
