//! Tables of a transmission-line-pulse test: a voltage, a current and, after each pulse, a leakage.

use std::io::BufRead;

use super::fault::ReadFault;
use super::layout::{Table, normal};
use super::unit::UnitKind;

/// Rise of the leakage over its baseline that counts as a failure (common practice, no source).
pub const FAILURE_FACTOR: f64 = 10.0;
/// Rise over the failure level from which the junction is taken as shorted (common practice, no source).
pub const HARD_FACTOR: f64 = 1000.0;
/// Points whose median is the baseline.
const BASELINE_POINTS: usize = 3;
/// Points in a table at most.
const MOST_POINTS: usize = 100_000;

/// How to read a table.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TlpOptions {
    /// Pulse width in seconds, in place of the header's.
    pub width_s: Option<f64>,
    /// Rise time in seconds, in place of the header's.
    pub rise_s: Option<f64>,
    /// Rise of the leakage over its baseline that counts as a failure, above 1.
    pub failure_factor: f64,
}

impl Default for TlpOptions {
    fn default() -> Self {
        TlpOptions {
            width_s: None,
            rise_s: None,
            failure_factor: FAILURE_FACTOR,
        }
    }
}

/// One pulse.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TlpPoint {
    /// Line of the text.
    pub line: usize,
    /// Voltage in volts, averaged by the instrument over its window.
    pub volts: f64,
    /// Current in amperes.
    pub amps: f64,
    /// Size of the leakage after the pulse in amperes.
    pub leakage_a: Option<f64>,
}

/// How badly a part failed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Severity {
    /// The leakage has risen beyond its limit.
    Soft,
    /// The leakage has risen a thousand times further, or the voltage has broken down to less than half.
    Hard,
}

/// The first pulse after which the part was not what it had been.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TlpFailure {
    /// Its point.
    pub point: TlpPoint,
    /// How badly.
    pub severity: Severity,
    /// Baseline of the leakage in amperes.
    pub baseline_a: f64,
    /// Leakage after this pulse over the baseline.
    pub ratio: f64,
}

/// A table that has been read.
#[derive(Clone, Debug, PartialEq)]
pub struct TlpTable {
    /// The pulses before the failure, in order.
    pub points: Vec<TlpPoint>,
    /// The failure; `None` if there is none or no leakage was measured.
    pub failure: Option<TlpFailure>,
    /// Points left out: the failing one and those after it.
    pub excluded: usize,
    /// Pulse width in seconds.
    pub width_s: Option<f64>,
    /// Rise time in seconds.
    pub rise_s: Option<f64>,
    /// What was assumed, left out or is unknown, in words.
    pub notes: Vec<String>,
}

const VOLTAGE: &[&str] = &[
    "voltage",
    "v",
    "u",
    "vdut",
    "v dut",
    "vtlp",
    "v tlp",
    "dut voltage",
    "device voltage",
    "tlp voltage",
    "pulse voltage",
    "clamp voltage",
    "clamping voltage",
];
const CURRENT: &[&str] = &[
    "current",
    "i",
    "idut",
    "i dut",
    "itlp",
    "i tlp",
    "dut current",
    "device current",
    "tlp current",
    "pulse current",
];
const LEAKAGE: &[&str] = &[
    "leakage",
    "leakage current",
    "ileak",
    "i leak",
    "ileakage",
    "leak",
    "il",
    "dc leakage",
    "i leakage",
];
const WIDTH: &[&str] = &[
    "pulse width",
    "pulsewidth",
    "width",
    "tlp pulse width",
    "pulse length",
];
const RISE: &[&str] = &[
    "rise time",
    "risetime",
    "rise",
    "tlp rise time",
    "pulse rise time",
    "tr",
];

/// Reads a table.
///
/// # Errors
/// A row that is none, columns that cannot be told apart, fewer than two points before the failure.
pub fn read(reader: impl BufRead, options: &TlpOptions) -> Result<TlpTable, ReadFault> {
    if !(options.failure_factor > 1.0 && options.failure_factor.is_finite()) {
        return Err(ReadFault::whole(
            format!("the failure factor is {}", options.failure_factor),
            "a factor above 1",
            "10 is common",
        ));
    }
    let mut table = Table::open(reader)?;
    let mut notes = Vec::new();
    let places = places(&table, &mut notes)?;
    let time = |given: Option<f64>, keys: &[&str]| {
        given.or_else(|| {
            let entry = table.entry(keys)?;
            table.numbers(entry, UnitKind::Time).first().copied()
        })
    };
    let (width_s, rise_s) = (time(options.width_s, WIDTH), time(options.rise_s, RISE));
    for (what, value) in [("pulse width", width_s), ("rise time", rise_s)] {
        match value {
            None => notes.push(format!(
                "the {what} is unknown: neither the header nor the caller gives it"
            )),
            Some(value) if !(1e-12..1.0).contains(&value) => {
                return Err(ReadFault::whole(
                    format!("the {what} is {value:e} s"),
                    "a time between 1 ps and 1 s",
                    "does the header give its unit?",
                ));
            }
            Some(_) => {}
        }
    }
    let points = points(&mut table, places)?;
    let failure = failure(&points, options.failure_factor);
    let mut kept = points.len();
    if let Some((at, failure)) = &failure {
        kept = *at;
        notes.push(format!(
            "{} failure in line {}: leakage {:.3e} A, {:.3} times the baseline of {:.3e} A (limit {} times); this \
             pulse and those after it are left out: {} of {} points",
            match failure.severity {
                Severity::Soft => "soft",
                Severity::Hard => "hard",
            },
            failure.point.line,
            failure.point.leakage_a.unwrap_or_default(),
            failure.ratio,
            failure.baseline_a,
            options.failure_factor,
            points.len() - kept,
            points.len(),
        ));
    } else if points
        .iter()
        .all(|point| point.leakage_a.is_none_or(|amps| amps == 0.0))
    {
        notes.push("no leakage above zero was measured: whether the part failed is unknown".to_owned());
    }
    if kept < 2 {
        return Err(ReadFault::whole(
            format!("there are {kept} points before the failure"),
            "at least two",
            "is the leakage's baseline that of a sound part?",
        ));
    }
    Ok(TlpTable {
        excluded: points.len() - kept,
        points: points[..kept].to_vec(),
        failure: failure.map(|(_, failure)| failure),
        width_s,
        rise_s,
        notes,
    })
}

/// Columns of voltage, current and leakage with their factors to SI units.
type Places = [Option<(usize, f64)>; 3];

fn places<R: BufRead>(table: &Table<R>, notes: &mut Vec<String>) -> Result<Places, ReadFault> {
    let kinds = [UnitKind::Voltage, UnitKind::Current, UnitKind::Current];
    let mut places: Places = [None; 3];
    for (k, column) in table.columns.iter().enumerate() {
        let name = normal(&column.name);
        let which = [VOLTAGE, CURRENT, LEAKAGE]
            .iter()
            .position(|names| names.contains(&name.as_str()));
        let Some(which) = which else { continue };
        let factor = match column.unit {
            Some((kind, factor)) if kind == kinds[which] => factor,
            Some((kind, _)) => {
                return Err(ReadFault::whole(
                    format!("the column `{}` is in {}", column.name, kind.word()),
                    kinds[which].word(),
                    "name the columns voltage, current and leakage",
                ));
            }
            None => {
                notes.push(format!(
                    "`{}` has no unit and is taken as {}",
                    column.name,
                    kinds[which].word()
                ));
                1.0
            }
        };
        if places[which].is_some() {
            return Err(ReadFault::whole(
                format!(
                    "two columns could be the {}",
                    ["voltage", "current", "leakage"][which]
                ),
                "one of each",
                "take the other one out, or name it otherwise",
            ));
        }
        places[which] = Some((k, factor));
    }
    if table.columns.iter().all(|column| column.name.is_empty()) && (2..=3).contains(&table.columns.len()) {
        notes.push(
            "the columns have no names and are taken as voltage, current, leakage in V and A".to_owned(),
        );
        for (k, place) in places.iter_mut().enumerate().take(table.columns.len()) {
            *place = Some((k, 1.0));
        }
    }
    if places[0].is_none() || places[1].is_none() {
        let names: Vec<&str> = table.columns.iter().map(|column| column.name.as_str()).collect();
        return Err(ReadFault::whole(
            format!(
                "voltage and current are not among the columns {}",
                names.join(", ")
            ),
            "columns named voltage and current, with leakage if it was measured",
            "",
        ));
    }
    Ok(places)
}

fn points<R: BufRead>(table: &mut Table<R>, places: Places) -> Result<Vec<TlpPoint>, ReadFault> {
    let mut points = Vec::new();
    let mut values = vec![0.0; table.columns.len()];
    let (mut line, mut at) = (Vec::new(), 0);
    let needed: Vec<usize> = places[..2].iter().flatten().map(|place| place.0).collect();
    while table.next_row(&mut line, &mut at)? {
        table.row(&line, at, &mut values, |cell| !needed.contains(&cell))?;
        let value = |which: usize| places[which].map(|(place, factor)| values[place] * factor);
        let leakage_a = value(2).filter(|amps| amps.is_finite()).map(f64::abs);
        points.push(TlpPoint {
            line: at,
            volts: value(0).unwrap_or_default(),
            amps: value(1).unwrap_or_default(),
            leakage_a,
        });
        if points.len() > MOST_POINTS {
            return Err(ReadFault::at(
                at,
                0,
                format!("there are more than {MOST_POINTS} points"),
                "one point a pulse",
                "is this a waveform?",
            ));
        }
    }
    Ok(points)
}

/// The first point whose leakage exceeds the factor times the median of the first few.
fn failure(points: &[TlpPoint], factor: f64) -> Option<(usize, TlpFailure)> {
    let mut first: Vec<f64> = points
        .iter()
        .filter_map(|point| point.leakage_a)
        .take(BASELINE_POINTS)
        .collect();
    first.sort_by(f64::total_cmp);
    // A baseline of zero is one below the instrument's resolution: nothing can be a multiple of it.
    let baseline_a = first.get(first.len() / 2).copied().filter(|amps| *amps > 0.0)?;
    let limit = factor * baseline_a;
    let at = points
        .iter()
        .position(|point| point.leakage_a.is_some_and(|leakage| leakage > limit))?;
    let point = points[at];
    let leakage = point.leakage_a?;
    let collapsed = at > 0 && point.volts.abs() < 0.5 * points[at - 1].volts.abs();
    let hard = leakage > HARD_FACTOR * limit || collapsed && points[at - 1].amps.abs() > 0.0;
    Some((
        at,
        TlpFailure {
            point,
            severity: if hard { Severity::Hard } else { Severity::Soft },
            baseline_a,
            ratio: leakage / baseline_a,
        },
    ))
}
