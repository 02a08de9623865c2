//! `tidewall extract read`, and the reading of captures for other commands.

use std::fs::File;
use std::io::{BufReader, Read};
use std::path::Path;

use schemars::JsonSchema;
use serde::Serialize;
use tidewall_desk::captures::{self, Columns, waves};
use tidewall_extract::readers::UnitKind;
use tidewall_extract::readers::capture::{Capture, CaptureOptions, read};
use tidewall_extract::waves::{Readings, Skew, Treated, Treatment, readings};
use tidewall_units::{Quantity, Seconds, parse};

use super::args::{ReadArgs, WaveArgs};
use crate::args::Format;
use crate::failure::Failure;
use crate::output;
use crate::progress::Progress;
use crate::sheet;
use crate::status::Status;

/// Version of the form.
const SCHEMA: &str = "tidewall/capture/1";
/// Buffer of the file in bytes.
const BUFFER: usize = 1 << 18;

/// What is in a capture.
#[derive(Debug, Serialize, JsonSchema)]
pub struct CaptureOutput {
    /// Version of this form.
    schema: &'static str,
    /// File.
    pub file: String,
    /// Samples in the file.
    pub samples: u64,
    /// Bytes read.
    pub bytes: u64,
    /// First and last time in seconds.
    pub span_s: [f64; 2],
    /// Usual time between samples in seconds.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub step_s: Option<f64>,
    /// Samples kept of the waveform; peaks and integrals are those of all.
    pub kept: usize,
    /// The channels, as they stand in the file but in SI units.
    pub channels: Vec<ChannelOutput>,
    /// Read off voltage and current after factors, zero and skew; absent without a voltage.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub readings: Option<ReadingsOutput>,
    /// What is wrong with it.
    pub faults: Vec<FaultOutput>,
    /// What was assumed or done.
    pub notes: Vec<String>,
}

/// One channel.
#[derive(Debug, Serialize, JsonSchema)]
pub struct ChannelOutput {
    /// Name.
    pub name: String,
    /// V or A; absent where the file has no unit.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub unit: Option<&'static str>,
    /// Highest value.
    pub highest: f64,
    /// Its time in seconds.
    pub highest_at_s: f64,
    /// Lowest value.
    pub lowest: f64,
    /// Its time in seconds.
    pub lowest_at_s: f64,
    /// Time integral over all samples.
    pub integral: f64,
}

/// What is read off voltage and current.
#[derive(Debug, Serialize, JsonSchema)]
pub struct ReadingsOutput {
    /// Voltage of largest size.
    pub peak_v: f64,
    /// Current of largest size.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub peak_a: Option<f64>,
    /// Voltage at the instant of the largest current.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub clamp_v: Option<f64>,
    /// Energy in joules.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub energy_j: Option<f64>,
    /// Charge in coulombs.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub charge_c: Option<f64>,
    /// Front of the current in seconds.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub front_s: Option<f64>,
    /// Time to half value of the current in seconds.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tail_s: Option<f64>,
}

/// Something wrong with a capture that could be read.
#[derive(Debug, Serialize, JsonSchema)]
pub struct FaultOutput {
    /// Line where it occurs first.
    pub line: usize,
    /// How often.
    pub count: u64,
    /// What, in words.
    pub reason: String,
}

/// Reads a capture and prints what is in it.
pub fn run(args: &ReadArgs, format: Format) -> Result<Status, Failure> {
    let file = args.capture.display().to_string();
    let treatment = treatment(&args.waves)?;
    let capture = load(&args.capture, &args.waves)?;
    let mut notes = capture.notes.clone();
    // Without a word about them, a capture without a voltage is still a capture.
    let wanted = args.waves.voltage.is_some() || args.waves.current.is_some();
    let found = match (columns(&capture, &args.waves, &file), wanted) {
        (Ok(columns), _) => Some(columns),
        (Err(failure), true) => return Err(failure),
        (Err(_), false) => None,
    };
    let readings = found.and_then(|(voltage, current)| {
        let treated = waves(&capture, voltage, current, &treatment);
        notes.extend(treated.notes.iter().cloned());
        let read = readings(&treated.voltage, treated.current.as_ref())?;
        let energy_j = energy(
            &capture, voltage, current, &treatment, &treated, &read, &mut notes,
        );
        Some(ReadingsOutput {
            peak_v: read.peak_v.0,
            peak_a: read.peak_a.map(|peak| peak.0),
            clamp_v: read.clamp_v,
            energy_j,
            charge_c: read.charge_c,
            front_s: read.front_s,
            tail_s: read.tail_s,
        })
    });
    let output = CaptureOutput {
        schema: SCHEMA,
        file,
        samples: capture.samples,
        bytes: capture.bytes,
        span_s: [capture.span_s.0, capture.span_s.1],
        step_s: capture.step_s,
        kept: capture.times_s.len(),
        channels: capture.channels.iter().map(channel).collect(),
        readings,
        faults: capture
            .faults
            .iter()
            .map(|fault| FaultOutput {
                line: fault.line,
                count: fault.count,
                reason: fault.reason.clone(),
            })
            .collect(),
        notes,
    };
    match format {
        Format::Text => output::print(&sheet::capture::sheet(&output))?,
        Format::Json => output::print_json(&output)?,
    }
    Ok(Status::Pass)
}

fn channel(channel: &tidewall_extract::readers::capture::Channel) -> ChannelOutput {
    ChannelOutput {
        name: channel.name.clone(),
        unit: match channel.kind {
            Some(UnitKind::Voltage) => Some("V"),
            Some(UnitKind::Current) => Some("A"),
            _ => None,
        },
        highest: channel.highest.0,
        highest_at_s: channel.highest.1,
        lowest: channel.lowest.0,
        lowest_at_s: channel.lowest.1,
        integral: channel.integral,
    }
}

/// Energy from all samples; from the kept ones where the channels were moved against each other.
fn energy(
    capture: &Capture,
    voltage: usize,
    current: Option<usize>,
    treatment: &Treatment,
    treated: &Treated,
    read: &Readings,
    notes: &mut Vec<String>,
) -> Option<f64> {
    let current = current?;
    if treatment.skew != Skew::Given(0.0) {
        if capture.thinned {
            notes.push("the energy is that of the kept samples, because the channels were moved".to_owned());
        }
        return read.energy_j;
    }
    let zero = |rest: &Option<tidewall_extract::waves::Rest>, factor: f64| match (rest, treatment.zero) {
        (Some(rest), true) => rest.mean / factor,
        _ => 0.0,
    };
    let (v0, i0) = (
        zero(&treated.rest, treatment.voltage_factor),
        zero(&treated.current_rest, treatment.current_factor),
    );
    let product = capture.product_integral(voltage, v0, current, i0);
    Some(product * treatment.voltage_factor * treatment.current_factor)
}

/// Reads a capture from a file or standard input, with a bar on a terminal.
pub fn load(path: &Path, args: &WaveArgs) -> Result<Capture, Failure> {
    let file = path.display().to_string();
    let increment_s = match &args.increment {
        None => None,
        Some(text) => Some(time("--increment", text)?),
    };
    let options = CaptureOptions {
        increment_s,
        ..CaptureOptions::default()
    };
    let (input, length): (Box<dyn Read>, Option<u64>) = if file == "-" {
        (Box::new(std::io::stdin().lock()), None)
    } else {
        let opened = File::open(path).and_then(|file| {
            let about = file.metadata()?;
            if about.is_dir() {
                return Err(std::io::ErrorKind::IsADirectory.into());
            }
            Ok((file, about.is_file().then_some(about.len())))
        });
        let (opened, length) = opened.map_err(|error| {
            let message = format!("cannot be read: {}", error.kind());
            Failure::capture(&file, message, "name a capture as CSV, or - for standard input")
        })?;
        (Box::new(opened), length)
    };
    let progress = Progress::new(length.is_some(), "MB");
    let capture = read(BufReader::with_capacity(BUFFER, input), &options, &mut |bytes| {
        if let Some(length) = length {
            progress.show(bytes / 1_000_000, length / 1_000_000);
        }
    });
    progress.end();
    capture.map_err(|fault| Failure::in_capture(&file, &fault))
}

fn time(name: &str, text: &str) -> Result<f64, Failure> {
    parse::<Seconds>(text).map(Quantity::si).map_err(|error| {
        Failure::usage(
            format!("{name}: {error}"),
            "give the time with its unit, in quotes: \"1 ns\"",
        )
    })
}

/// What the arguments say is to be done to the waves.
pub fn treatment(args: &WaveArgs) -> Result<Treatment, Failure> {
    for (name, factor) in [
        ("--voltage-factor", args.voltage_factor),
        ("--current-factor", args.current_factor),
    ] {
        if factor == 0.0 || !factor.is_finite() {
            let message = format!("{name}: {factor} is no factor");
            return Err(Failure::usage(
                message,
                "10 for a probe of 10:1, -1 to turn a wave",
            ));
        }
    }
    Ok(Treatment {
        voltage_factor: args.voltage_factor,
        current_factor: args.current_factor,
        zero: !args.keep_offset,
        skew: match args.skew.trim() {
            "auto" => Skew::Estimated,
            text => Skew::Given(time("--skew", text)?),
        },
    })
}

/// The columns of voltage and current.
pub fn columns(capture: &Capture, args: &WaveArgs, file: &str) -> Result<(usize, Option<usize>), Failure> {
    let asked = Columns {
        voltage: args.voltage.as_deref(),
        current: args.current.as_deref(),
        voltage_asked: "--voltage",
        current_asked: "--current",
    };
    captures::columns(capture, &asked, file)
}
