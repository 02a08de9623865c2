//! `tidewall plan`.

use std::path::Path;

use tidewall_assess::plan::plan;
use tidewall_desk::plan::csv;
use tidewall_transient::Options;

use crate::args::{Format, PlanArgs};
use crate::failure::Failure;
use crate::library::Shelf;
use crate::output::{self, Existing, Target};
use crate::progress::Progress;
use crate::sheet;
use crate::status::Status;

/// Plans the laboratory test of a study.
pub fn run(args: &PlanArgs, library: Option<&Path>, format: Format) -> Result<Status, Failure> {
    let target = args
        .output
        .as_deref()
        .map(|path| {
            let existing = if args.force {
                Existing::Replace
            } else {
                Existing::Keep
            };
            Target::new(path, existing)
        })
        .transpose()?;
    let study = Shelf::new(library).study(&args.study)?;
    let progress = Progress::new(true, "transients");
    let found = plan(&study, &Options::default(), &|done, all| {
        progress.show(done as u64, all as u64);
    });
    progress.end();
    if let Some(target) = target {
        target.write(|out| csv(&found, out))?;
    }
    match format {
        Format::Text => output::print(&sheet::plan::sheet(&study, &found))?,
        Format::Json => output::print_json(&found)?,
    }
    Ok(Status::Pass)
}
