//! A capture against the prediction.

use std::fs::File;
use std::io::BufReader;
use std::sync::Arc;

use tidewall_assess::correlate::result::CaptureRecord;
use tidewall_assess::correlate::{CorrelateError, Measurement, Places, bench_cases, correlate};
use tidewall_desk::captures::{Columns, columns, waves};
use tidewall_desk::failure::Failure;
use tidewall_extract::readers::capture::{CaptureOptions, read};
use tidewall_extract::waves::Treatment;
use tidewall_study::Study;
use tidewall_units::Celsius;

use super::Work;
use crate::asked::Asked;
use crate::product::Product;
use crate::state::App;

/// Buffer of the file in bytes.
const BUFFER: usize = 1 << 18;
/// Temperature of the bench in °C unless another is given.
const BENCH_C: f64 = 23.0;

pub(super) fn work(app: &App, study: Arc<Study>, asked: &Asked) -> Result<Work, Failure> {
    let Some(name) = asked.one("capture").map(str::to_owned) else {
        return Err(Failure::usage(
            "no capture is chosen",
            "put the capture as a CSV file into the folder, and choose it",
        ));
    };
    let path = app.folder().file(&name)?;
    let factor = |field: &str| -> Result<f64, Failure> {
        let Some(text) = asked.one(field) else {
            return Ok(1.0);
        };
        let factor = text.replace('−', "-").replace(',', ".").parse::<f64>().ok();
        factor
            .filter(|factor| factor.is_finite() && *factor != 0.0)
            .ok_or_else(|| {
                Failure::usage(
                    format!("{field}: `{text}` is no factor"),
                    "10 for a probe of 10:1, −1 to turn a wave",
                )
            })
    };
    let treatment = Treatment {
        voltage_factor: factor("voltage factor")?,
        current_factor: factor("current factor")?,
        ..Treatment::default()
    };
    let ambient_c = asked.quantity::<Celsius>("bench")?.unwrap_or(BENCH_C);
    let mut cases = bench_cases(&study, ambient_c);
    let mut chosen = "the nearest stress, polarity and supply".to_owned();
    if let Some(id) = asked.one("stress") {
        cases.retain(|case| study.stresses[case.stress].id == *id);
        chosen = "the nearest polarity and supply of the stress named".to_owned();
        if cases.is_empty() {
            return Err(Failure::usage(
                format!("there is no stress `{id}` in the study"),
                "choose one of those that the form lists",
            ));
        }
    }
    chosen.push_str(", with typical parts and nominal amplitude at the bench's temperature");
    let asked = asked.clone();
    Ok(Box::new(move |run| {
        let input = File::open(&path).map_err(|error| {
            Failure::capture(
                &name,
                format!("cannot be read: {}", error.kind()),
                "check its permissions",
            )
        })?;
        let length = input.metadata().map_or(0, |about| about.len());
        let capture = read(
            BufReader::with_capacity(BUFFER, input),
            &CaptureOptions::default(),
            &mut |bytes| run.show_or_stop("megabytes", mega(bytes), mega(length)),
        )
        .map_err(|fault| Failure::in_capture(&name, &fault))?;
        let own = Columns {
            voltage: asked.one("voltage"),
            current: asked.one("current"),
            voltage_asked: "the field “voltage column”",
            current_asked: "the field “current column”",
        };
        let (voltage, current) = columns(&capture, &own, &name)?;
        let mut notes = capture.notes.clone();
        notes.extend(
            capture
                .faults
                .iter()
                .map(|fault| format!("line {}: {} ({} times)", fault.line, fault.reason, fault.count)),
        );
        let measurement = Measurement {
            waves: waves(&capture, voltage, current, &treatment),
            record: CaptureRecord {
                file: name.clone(),
                voltage: capture.channels[voltage].name.clone(),
                current: current.map(|current| capture.channels[current].name.clone()),
                samples: capture.samples,
                ..CaptureRecord::default()
            },
            places: Places {
                voltage_at: asked.one("at").map(str::to_owned),
                current_of: asked.one("of").map(str::to_owned),
            },
            notes,
        };
        let show = |done: usize, all: usize| run.show_or_stop("parameters", done, all);
        let found = correlate(&study, &cases, &chosen, &measurement, &show);
        let found = found.map_err(|error| refused(&error, &name))?;
        Ok(Product::Correlation(Box::new(found)))
    }))
}

fn mega(bytes: u64) -> usize {
    usize::try_from(bytes / 1_000_000).unwrap_or(usize::MAX)
}

fn refused(error: &CorrelateError, file: &str) -> Failure {
    let message = error.to_string();
    match error {
        CorrelateError::NoPlace { .. } => Failure::usage(message, "name one of them in the form"),
        CorrelateError::NoFront("measured") => Failure::capture(
            file,
            message,
            "is the event in the capture, and the right column chosen?",
        ),
        _ => Failure::usage(message, "the sheet says what the study lacks"),
    }
}
