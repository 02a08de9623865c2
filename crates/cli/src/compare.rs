//! `tidewall compare`.

use std::path::Path;
use std::sync::atomic::Ordering;

use tidewall_assess::compare::{compare, equivalents};
use tidewall_assess::rank::RankOptions;
use tidewall_assess::result::Verdict;
use tidewall_transient::Options;

use crate::args::{CompareArgs, Format};
use crate::failure::Failure;
use crate::interrupt::stop_on_interrupt;
use crate::library::Shelf;
use crate::output;
use crate::progress::Progress;
use crate::rank::{refused, stages, study};
use crate::sheet;
use crate::status::Status;
use tidewall_desk::candidates::{self, Sources};

/// Lays parts side by side, or finds those nearest to a given one.
pub fn run(args: &CompareArgs, library: Option<&Path>, format: Format) -> Result<Status, Failure> {
    let shelf = Shelf::new(library);
    let sources = Sources::from(&args.candidates);
    let study = study(&shelf, &args.study, args.margin.as_deref())?;
    let named: Vec<String> = args.at.iter().cloned().collect();
    let stage = stages(&study, &named)?.remove(0);
    let all = candidates::gather(&study, &sources, &shelf)?;
    let chosen = candidates::choose(&all, &sources)?;
    if let Some(name) = &args.equivalents_of {
        let reference = candidates::named(&all, std::slice::from_ref(name))?.remove(0);
        let progress = Progress::new(true, "candidates");
        let stop = stop_on_interrupt();
        let options = RankOptions {
            judged: &|_, done, all| progress.show(done as u64, all as u64),
            stop: &|| stop.load(Ordering::Relaxed),
            ..RankOptions::default()
        };
        let found = equivalents(&study, &stage, &reference, &chosen, args.top, &options).map_err(refused)?;
        progress.end();
        match format {
            Format::Text => output::print(&sheet::compare::equivalents(&study, &found))?,
            Format::Json => output::print_json(&found)?,
        }
        // As good as the best of them; none is a failure only if all were looked at.
        let best = found.equivalents.iter().map(|other| other.part.verdict).min();
        let none = if found.complete {
            Verdict::Fail
        } else {
            Verdict::Unknown
        };
        return Ok(Status::from(best.unwrap_or(none)));
    }
    if args.parts.is_empty() {
        return Err(Failure::usage(
            "no part is named",
            "name the parts to compare, or one with --equivalents-of",
        ));
    }
    let parts = candidates::named(&chosen, &args.parts)?;
    let progress = Progress::new(true, "parts");
    let comparison = compare(&study, &stage, &parts, &Options::default(), &|done, all| {
        progress.show(done as u64, all as u64);
    })
    .map_err(refused)?;
    progress.end();
    match format {
        Format::Text => output::print(&sheet::compare::comparison(&study, &comparison))?,
        Format::Json => output::print_json(&comparison)?,
    }
    // As good as the best of them.
    let best = comparison.parts.iter().map(|part| part.verdict).min();
    Ok(Status::from(best.unwrap_or(Verdict::Unknown)))
}
