//! What went wrong, on standard error.

use std::io::Write;

pub use tidewall_desk::failure::{ErrorReport, Failure};
use tidewall_report::words::harmless;

use crate::args::Format;

/// Writes an error to standard error, as text or as JSON.
pub fn report(failure: &Failure, format: Format) {
    let text = match format {
        Format::Text => harmless(&failure.to_string()),
        Format::Json => serde_json::to_string(failure.pieces()).unwrap_or_else(|_| failure.to_string()),
    };
    // There is nowhere left to report that standard error is closed.
    let _ = writeln!(std::io::stderr(), "{text}");
}
