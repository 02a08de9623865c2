//! `tidewall extract against`.

use std::path::Path;

use tidewall_assess::corners::{Case, cases};
use tidewall_assess::correlate::result::CaptureRecord;
use tidewall_assess::correlate::{CorrelateError, Measurement, Places, bench_cases, correlate};
use tidewall_study::Study;
use tidewall_units::{Celsius, Quantity, parse};

use super::args::AgainstArgs;
use super::{keep, read};
use crate::args::Format;
use crate::corner::Choice;
use crate::failure::Failure;
use crate::library::{Place, Shelf};
use crate::output;
use crate::progress::Progress;
use crate::sheet;
use crate::status::Status;
use tidewall_desk::captures::waves;
use tidewall_desk::names::nearest;

/// Sets a capture against a study.
pub fn run(args: &AgainstArgs, library: Option<&Path>, format: Format) -> Result<Status, Failure> {
    let study = Shelf::new(library).study(&args.study)?;
    let treatment = read::treatment(&args.waves)?;
    let (cases, chosen) = choose(args, &study)?;
    let file = args.capture.display().to_string();
    let capture = read::load(&args.capture, &args.waves)?;
    let (voltage, current) = read::columns(&capture, &args.waves, &file)?;
    let mut notes = capture.notes.clone();
    for fault in &capture.faults {
        notes.push(format!(
            "line {}: {} ({} times)",
            fault.line, fault.reason, fault.count
        ));
    }
    let measurement = Measurement {
        waves: waves(&capture, voltage, current, &treatment),
        record: CaptureRecord {
            file: file.clone(),
            voltage: capture.channels[voltage].name.clone(),
            current: current.map(|current| capture.channels[current].name.clone()),
            samples: capture.samples,
            specimen: args.specimen.clone(),
            instrument: args.instrument.clone(),
            date: args.date.clone(),
        },
        places: Places {
            voltage_at: args.at.clone(),
            current_of: args.current_of.clone(),
        },
        notes,
    };
    let progress = Progress::new(true, "parameters");
    let result = correlate(&study, &cases, &chosen, &measurement, &|done, all| {
        progress.show(done as u64, all as u64);
    })
    .map_err(|error| refused(&error, &file))?;
    progress.end();
    let kept = if args.keep {
        let place = Place::new(library)?;
        Some(keep::keep(&study, &result, &measurement.waves, &place)?)
    } else {
        None
    };
    match format {
        Format::Text => output::print(&sheet::correlation::sheet(&study, &result))?,
        Format::Json => output::print_json(&result)?,
    }
    if let Some(kept) = kept {
        output::remark(&kept);
    }
    Ok(Status::Pass)
}

/// The corners to compare with, and how they were chosen.
fn choose(args: &AgainstArgs, study: &Study) -> Result<(Vec<Case>, String), Failure> {
    if let Some(choice) = Choice::read(&args.corners)? {
        choice.check(study)?;
        let kept: Vec<Case> = cases(study)
            .into_iter()
            .filter(|case| choice.keeps(study, case))
            .collect();
        let words = format!(
            "the nearest of {} corners that fit {}",
            kept.len(),
            choice.texts().join(" or ")
        );
        return Ok((kept, words));
    }
    let ambient = parse::<Celsius>(&args.ambient).map_err(|error| {
        Failure::usage(
            format!("--ambient: {error}"),
            "give the temperature with its unit: \"23 °C\"",
        )
    })?;
    let mut all = bench_cases(study, ambient.si());
    let mut words = "the nearest stress, polarity and supply".to_owned();
    if let Some(id) = &args.stress {
        all.retain(|case| study.stresses[case.stress].id == *id);
        words = "the nearest polarity and supply of the stress named".to_owned();
        if all.is_empty() {
            let ids = study.stresses.iter().map(|stress| stress.id.as_str());
            let there = ids.clone().collect::<Vec<_>>().join(", ");
            return Err(Failure::usage(
                format!("there is no stress `{id}` in {}", study.path),
                nearest(id, ids).unwrap_or_else(|| format!("there are {there}")),
            ));
        }
    }
    Ok((
        all,
        format!("{words}, with typical parts and nominal amplitude at the bench's temperature"),
    ))
}

fn refused(error: &CorrelateError, file: &str) -> Failure {
    let message = error.to_string();
    match error {
        CorrelateError::NoPlace { what: "voltage", .. } => Failure::usage(message, "name it with --at"),
        CorrelateError::NoPlace { .. } => Failure::usage(message, "name it with --current-of"),
        CorrelateError::NoFront("measured") => Failure::capture(
            file,
            message,
            "is the event in the capture, and the right column chosen?",
        ),
        _ => Failure::usage(message, "tidewall check says what the study lacks"),
    }
}
