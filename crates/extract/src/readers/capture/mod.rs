//! Oscilloscope captures as text: a time and up to eight channels a row, of any length, in bounded memory.
//!
//! Taken are preambles of `key,value` lines (above the table or in its first columns), a row of names, a row of units,
//! units behind names, separators `,` `;` tab and blanks, decimal commas, scale factors and zeros of the preamble, and
//! a sample number or no time at all where the preamble (or the caller) gives the increment.
//!
//! Peaks and integrals are those of all samples; the kept waveform has all samples of a short capture, and of a long
//! one the lowest and highest of every bucket, with all samples around the steepest step and the largest value of each
//! channel.

mod keep;
mod watch;

use std::io::BufRead;

use super::fault::ReadFault;
use super::layout::{Table, normal};
use super::unit::UnitKind;
use keep::Keeper;
use watch::{TimeWatch, Top};

pub use watch::{CaptureFault, Flaw};

/// The most channels beside the time.
pub const MOST_CHANNELS: usize = 8;
/// The most samples: five times what the deepest memories in common use hold (from memory).
pub const MOST_SAMPLES: u64 = 1_000_000_000;
/// Rows kept unless told otherwise.
pub const KEPT: usize = 200_000;
/// Lines between two reports of progress.
const REPORT: u64 = 1 << 14;

/// How to read a capture.
#[derive(Clone, Debug, PartialEq)]
pub struct CaptureOptions {
    /// About how many rows are kept of a longer capture; at most twice as many are.
    pub keep: usize,
    /// Time between samples in seconds, in place of what the text says.
    pub increment_s: Option<f64>,
    /// Time of the first sample in seconds, in place of what the preamble says; used with an increment.
    pub start_s: Option<f64>,
}

impl Default for CaptureOptions {
    fn default() -> Self {
        CaptureOptions {
            keep: KEPT,
            increment_s: None,
            start_s: None,
        }
    }
}

/// One channel.
#[derive(Clone, Debug, PartialEq)]
pub struct Channel {
    /// Name in the text; `channel 1`, … without one.
    pub name: String,
    /// What it measures, if a unit says so.
    pub kind: Option<UnitKind>,
    /// Kept values, in SI units where the unit is known and as they stand where not; one per kept time.
    pub values: Vec<f64>,
    /// Highest value and its time in seconds, of all samples.
    pub highest: (f64, f64),
    /// Lowest value and its time in seconds, of all samples.
    pub lowest: (f64, f64),
    /// Time integral over all samples.
    pub integral: f64,
}

/// A capture that has been read.
#[derive(Clone, Debug, PartialEq)]
pub struct Capture {
    /// Kept times in seconds, rising; equal where the text gives one twice.
    pub times_s: Vec<f64>,
    /// Channels in the order of the columns.
    pub channels: Vec<Channel>,
    /// Time integrals over all samples of the products of two channels, by their numbers: `∫ a b dt`, exact for
    /// straight lines between samples.
    pub products: Vec<Vec<f64>>,
    /// Samples read.
    pub samples: u64,
    /// Bytes read.
    pub bytes: u64,
    /// First and last time in seconds.
    pub span_s: (f64, f64),
    /// Usual time between samples in seconds.
    pub step_s: Option<f64>,
    /// Whether samples were left out of the kept waveform.
    pub thinned: bool,
    /// What is wrong with it though it could be read.
    pub faults: Vec<CaptureFault>,
    /// What was assumed or taken from the preamble, in words.
    pub notes: Vec<String>,
}

impl Capture {
    /// The channel of a name (in any case) or number from 1.
    pub fn channel(&self, name: &str) -> Option<usize> {
        let same = |channel: &Channel| channel.name.eq_ignore_ascii_case(name);
        let by_name = self.channels.iter().position(same);
        by_name.or_else(|| {
            let number: usize = name.parse().ok()?;
            (1..=self.channels.len()).contains(&number).then(|| number - 1)
        })
    }

    /// `∫ (a − a0) (b − b0) dt` over all samples, in the product of their units and seconds.
    pub fn product_integral(&self, a: usize, a0: f64, b: usize, b0: f64) -> f64 {
        let span = self.span_s.1 - self.span_s.0;
        self.products[a][b] - a0 * self.channels[b].integral - b0 * self.channels[a].integral + a0 * b0 * span
    }
}

/// The largest size of a time in seconds or a value in its unit: products of three of them are finite (numerical choice).
const LARGEST: f64 = 1e30;

/// Where the time of a row comes from.
#[derive(Clone, Copy)]
enum Clock {
    /// First column times a factor to seconds.
    Column(f64),
    /// Row number times increment; with or without a column of numbers to skip.
    Counted { start_s: f64, step_s: f64, skip: bool },
}

/// Gain, reference and zero of a channel: `value = (raw − reference) gain + zero`.
#[derive(Clone, Copy)]
struct Scale {
    gain: f64,
    reference: f64,
    zero: f64,
}

/// Sums over all samples of one channel.
struct Sums {
    top: Top,
    bottom: Top,
    highest: (f64, f64),
    lowest: (f64, f64),
    integral: f64,
    rest: f64,
}

/// Reads a capture. `progress` is called now and then with the bytes read so far.
///
/// # Errors
/// The first line that is no sample, a time that runs backwards, a layout without a time or with too many channels.
pub fn read(
    reader: impl BufRead,
    options: &CaptureOptions,
    progress: &mut dyn FnMut(u64),
) -> Result<Capture, ReadFault> {
    let mut table = Table::open(reader)?;
    let mut notes = Vec::new();
    let clock = clock(&table, options, &mut notes)?;
    let skipped = match clock {
        Clock::Column(_) | Clock::Counted { skip: true, .. } => 1,
        Clock::Counted { .. } => 0,
    };
    let columns = table.columns.len();
    let n = columns - skipped;
    if n == 0 || n > MOST_CHANNELS {
        return Err(ReadFault::whole(
            format!("there are {n} channels beside the time"),
            "one to eight",
            "leave out the columns that are not needed",
        ));
    }
    let scales = scales(&table, skipped, &mut notes);
    let names: Vec<String> = table.columns[skipped..]
        .iter()
        .enumerate()
        .map(|(k, column)| match column.name.as_str() {
            "" => format!("channel {}", k + 1),
            name => name.to_owned(),
        })
        .collect();
    let mut keeper = Keeper::new(n, options.keep);
    let mut times = TimeWatch::new();
    let mut sums: Vec<Sums> = Vec::with_capacity(n);
    let mut products = vec![vec![0.0; n]; n];
    let mut values = vec![0.0; columns];
    let mut row = vec![0.0; n + 2];
    let mut before = vec![0.0; n + 2];
    let (mut line, mut at, mut samples) = (Vec::new(), 0, 0u64);
    while table.next_row(&mut line, &mut at)? {
        table.row(&line, at, &mut values, |_| false)?;
        if samples == MOST_SAMPLES {
            return Err(ReadFault::at(
                at,
                0,
                format!("there are more than {MOST_SAMPLES} samples"),
                "a capture of one event",
                "cut the capture to the event",
            ));
        }
        row[0] = samples as f64;
        row[1] = match clock {
            Clock::Column(factor) => values[0] * factor,
            Clock::Counted { start_s, step_s, .. } => start_s + step_s * samples as f64,
        };
        for (k, scale) in scales.iter().enumerate() {
            row[2 + k] = (values[skipped + k] - scale.reference) * scale.gain + scale.zero;
        }
        if let Some(k) = row[1..]
            .iter()
            .position(|value| value.is_nan() || value.abs() > LARGEST)
        {
            return Err(ReadFault::at(
                at,
                if k == 0 { 1 } else { skipped + k },
                format!("{:e} with its unit and scale is no measured value", row[1 + k]),
                "values below 1e30",
                "look at the increments and units in the head of the file",
            ));
        }
        times
            .push(at, row[1])
            .map_err(|before| backwards(at, row[1], before))?;
        if samples == 0 {
            sums.extend(row[2..].iter().map(|value| Sums {
                top: Top::new(),
                bottom: Top::new(),
                highest: (*value, row[1]),
                lowest: (*value, row[1]),
                integral: 0.0,
                rest: *value,
            }));
        }
        let step = if samples == 0 { 0.0 } else { row[1] - before[1] };
        for (k, sums) in sums.iter_mut().enumerate() {
            let value = row[2 + k];
            sums.top.push(at, value);
            sums.bottom.push(at, -value);
            if value > sums.highest.0 {
                sums.highest = (value, row[1]);
            }
            if value < sums.lowest.0 {
                sums.lowest = (value, row[1]);
            }
            sums.integral += 0.5 * step * (before[2 + k] + value);
            for j in k..n {
                let (a0, a1, b0, b1) = (before[2 + k], value, before[2 + j], row[2 + j]);
                let part = step / 6.0 * (2.0 * (a0 * b0 + a1 * b1) + a0 * b1 + a1 * b0);
                products[k][j] += part;
                if j != k {
                    products[j][k] += part;
                }
            }
        }
        keeper.push(&row);
        std::mem::swap(&mut row, &mut before);
        samples += 1;
        if samples.is_multiple_of(REPORT) {
            progress(table.lines.bytes);
        }
    }
    progress(table.lines.bytes);
    if samples < 2 {
        return Err(ReadFault::whole(
            format!("there are {samples} samples"),
            "at least two",
            "",
        ));
    }
    let (step_s, mut faults) = times.finish();
    for (name, sums) in names.iter().zip(&sums) {
        for (top, sign) in [(&sums.top, 1.0), (&sums.bottom, -1.0)] {
            if top.is_flat(sign * sums.rest) {
                faults.push(top.fault(name, sign));
            }
        }
    }
    let (rows, thinned) = keeper.finish();
    let series = |place: usize| {
        rows.chunks_exact(n + 2)
            .map(|row| row[place])
            .collect::<Vec<f64>>()
    };
    let times_s = series(1);
    let span_s = (times_s[0], before[1]);
    let channels = names
        .into_iter()
        .zip(&table.columns[skipped..])
        .zip(sums)
        .enumerate()
        .map(|(k, ((name, column), sums))| Channel {
            name,
            kind: column.unit.map(|unit| unit.0),
            values: series(2 + k),
            highest: sums.highest,
            lowest: sums.lowest,
            integral: sums.integral,
        })
        .collect();
    Ok(Capture {
        times_s,
        channels,
        products,
        samples,
        bytes: table.lines.bytes,
        span_s,
        step_s,
        thinned,
        faults,
        notes,
    })
}

fn backwards(line: usize, time_s: f64, before_s: f64) -> ReadFault {
    ReadFault::at(
        line,
        0,
        format!("time runs backwards: {time_s:e} s after {before_s:e} s"),
        "rising times",
        "export one segment of the capture alone",
    )
}

const INCREMENT: &[&str] = &[
    "increment",
    "x increment",
    "xincrement",
    "x inc",
    "xinc",
    "xincr",
    "time increment",
    "sample interval",
    "sampling interval",
    "sample period",
    "sampling period",
    "sample time",
    "horizontal interval",
    "delta t",
    "dt",
];
const RATE: &[&str] = &[
    "sample rate",
    "sampling rate",
    "sample frequency",
    "sampling frequency",
];
const START: &[&str] = &[
    "start",
    "start time",
    "x origin",
    "xorigin",
    "x zero",
    "xzero",
    "x start",
    "time origin",
    "time of first sample",
];

fn clock<R: BufRead>(
    table: &Table<R>,
    options: &CaptureOptions,
    notes: &mut Vec<String>,
) -> Result<Clock, ReadFault> {
    let first = &table.columns[0];
    let name = normal(&first.name);
    let kind = first.unit.map(|unit| unit.0);
    let is_time = kind == Some(UnitKind::Time)
        || ["time", "t", "seconds", "second", "time base", "zeit", "temps"].contains(&name.as_str());
    let is_index = kind == Some(UnitKind::Number)
        || [
            "index",
            "sample",
            "sample number",
            "samples",
            "point",
            "points",
            "no",
            "n",
            "number",
            "i",
        ]
        .contains(&name.as_str())
            && kind.is_none();
    let from_preamble = |keys| {
        let entry = table.entry(keys)?;
        table.numbers(entry, UnitKind::Time).first().copied()
    };
    let rate = || {
        let entry = table.entry(RATE)?;
        let rate = table.numbers(entry, UnitKind::Number).first().copied()?;
        (rate > 0.0).then(|| 1.0 / rate)
    };
    let given = options.increment_s;
    let increment = given.or_else(|| from_preamble(INCREMENT)).or_else(rate);
    let counted = |step_s: f64, skip: bool, notes: &mut Vec<String>| {
        if !(step_s > 0.0 && step_s.is_finite()) {
            return Err(ReadFault::whole(
                format!("the increment is {step_s:e} s"),
                "an increment above zero",
                "",
            ));
        }
        let start_s = options.start_s.or_else(|| from_preamble(START));
        let source = if given.is_some() {
            "as given"
        } else {
            "of the preamble"
        };
        let origin = match start_s {
            Some(start) => format!("the first sample at {start:e} s"),
            None => "the first sample at 0 s because no start is stated".to_owned(),
        };
        notes.push(format!(
            "times are counted with the increment {step_s:e} s {source}, {origin}"
        ));
        Ok(Clock::Counted {
            start_s: start_s.unwrap_or(0.0),
            step_s,
            skip,
        })
    };
    if let Some(step_s) = given {
        return counted(
            step_s,
            is_time || is_index || table.columns.len() > 1 && kind.is_none(),
            notes,
        );
    }
    if is_time {
        let unit = first.unit.filter(|unit| unit.0 == UnitKind::Time);
        if unit.is_none() {
            notes.push(format!("`{}` has no unit and is taken as seconds", first.name));
        }
        return Ok(Clock::Column(unit.map_or(1.0, |unit| unit.1)));
    }
    if is_index {
        let step_s = increment.ok_or_else(no_time)?;
        return counted(step_s, true, notes);
    }
    if table.columns.len() == 1 || matches!(kind, Some(UnitKind::Voltage | UnitKind::Current)) {
        return counted(increment.ok_or_else(no_time)?, false, notes);
    }
    notes.push("the first column has no unit; it is taken as the time in seconds".to_owned());
    Ok(Clock::Column(1.0))
}

fn no_time() -> ReadFault {
    ReadFault::whole(
        "there is no time: neither a column of it nor an increment in the preamble",
        "a column in seconds, or a line such as `increment,1e-9` above the table",
        "give the increment",
    )
}

const GAIN: &[&str] = &[
    "y increment",
    "yincrement",
    "y multiplier",
    "ymult",
    "y mult",
    "scale factor",
    "factor",
    "vertical multiplier",
];
const REFERENCE: &[&str] = &["y reference", "yreference", "y offset in codes", "yoff"];
const ZERO: &[&str] = &["y origin", "yorigin", "y zero", "yzero"];

/// Factors of the preamble and of the units. What is stated once holds for all channels.
fn scales<R: BufRead>(table: &Table<R>, skipped: usize, notes: &mut Vec<String>) -> Vec<Scale> {
    let n = table.columns.len() - skipped;
    let mut stated = |keys: &[&str], none: f64| -> Vec<f64> {
        let Some(entry) = table.entry(keys) else {
            return vec![none; n];
        };
        let numbers = table.numbers(entry, UnitKind::Voltage);
        if numbers.is_empty() {
            return vec![none; n];
        }
        let list: Vec<String> = numbers.iter().take(n).map(|x| format!("{x:e}")).collect();
        notes.push(format!(
            "`{}` of line {} is applied: {}",
            entry.key,
            entry.line,
            list.join(", ")
        ));
        (0..n).map(|k| *numbers.get(k).unwrap_or(&numbers[0])).collect()
    };
    let (gains, references, zeros) = (stated(GAIN, 1.0), stated(REFERENCE, 0.0), stated(ZERO, 0.0));
    (0..n)
        .map(|k| {
            let column = &table.columns[skipped + k];
            let unit = column.unit.map_or(1.0, |unit| unit.1);
            if column.unit.is_none() {
                notes.push(format!("channel {} has no unit and is taken as it stands", k + 1));
            }
            Scale {
                gain: gains[k] * unit,
                reference: references[k],
                zero: zeros[k] * unit,
            }
        })
        .collect()
}
