//! Lab correlation: a capture set against a study's prediction, and which one parameter would explain the difference.
//!
//! The measured voltage is compared with the prediction at the same place under the same stress. Every parameter that
//! may be other than stated is fitted alone by least squares, with the alignment in time fitted anew for each value.
//! Method and limits: `docs/correlation.md`.

mod align;
mod bench;
mod finding;
mod parameters;
pub mod result;
mod search;

use rayon::prelude::*;
use tidewall_extract::waves::{Readings, Treated, Wave, front, front_lag, readings};
use tidewall_stress::catalogue::Sign;
use tidewall_study::Study;

use crate::corners::Case;
use crate::result::StudyRef;
use crate::simulate::CaseError;
use align::Target;
use bench::{Bench, Predicted};
use result::{Alignment, Candidate, CaptureRecord, Correlation, Deviation, Overlay, SCHEMA};
use search::{Fitted, Noise};

pub use bench::Places;
pub use parameters::{BENCH_C, bench_cases};

/// Points of the common grid at most.
const GRID: usize = 4000;
/// Points of the overlay at most.
const OVERLAY: usize = 1000;
/// Energy residual above which a transient is not trusted.
const AUDIT: f64 = 1e-3;

/// Why there is no correlation.
#[derive(Clone, Debug, PartialEq)]
pub enum CorrelateError {
    /// The study's own transient cannot be had.
    Case(CaseError),
    /// A place that the ladder does not have.
    NoPlace {
        /// Voltage or current.
        what: &'static str,
        /// The name asked for.
        name: String,
        /// The names there are.
        there: Vec<String>,
    },
    /// No corner was left to compare with.
    NoCase,
    /// The integrator kept no waveform.
    NoWave,
    /// The measured or predicted wave has no front to align.
    NoFront(&'static str),
    /// The prediction's energy audit is out of bounds: residual.
    Audit(f64),
}

impl std::fmt::Display for CorrelateError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            CorrelateError::Case(error) => write!(f, "the prediction cannot be computed: {error}"),
            CorrelateError::NoPlace { what, name, there } => {
                write!(
                    f,
                    "there is no {what} `{name}` in the ladder: there are {}",
                    there.join(", ")
                )
            }
            CorrelateError::NoCase => f.write_str("no corner is left to compare with"),
            CorrelateError::NoWave => f.write_str("the transient left no waveform"),
            CorrelateError::NoFront(which) => write!(f, "the {which} voltage has no front to align by"),
            CorrelateError::Audit(residual) => {
                write!(
                    f,
                    "the prediction's energy audit leaves {residual:.2e}, above {AUDIT:e}: it is not trusted"
                )
            }
        }
    }
}

/// A measurement and what to compare it with.
#[derive(Clone, Debug)]
pub struct Measurement {
    /// The waves, treated.
    pub waves: Treated,
    /// Where they are from.
    pub record: CaptureRecord,
    /// Where the probes stood.
    pub places: Places,
    /// Notes and faults of the reading.
    pub notes: Vec<String>,
}

/// The study at one case, aligned with the measurement.
struct Aligned<'s> {
    bench: Bench<'s>,
    predicted: Predicted,
    sign: f64,
    shift_s: f64,
    correlation: f64,
    squares: f64,
}

/// Sets a measurement against the nearest of some cases. `chosen` says how these were chosen; `progress` is called with
/// the number of finished fits and all of them.
///
/// # Errors
/// See [`CorrelateError`].
pub fn correlate(
    study: &Study,
    cases: &[Case],
    chosen: &str,
    measurement: &Measurement,
    progress: &(dyn Fn(usize, usize) + Sync),
) -> Result<Correlation, CorrelateError> {
    let target = target(measurement)?;
    let nearest = nearest(study, cases, measurement, &target)?;
    let Aligned {
        bench,
        predicted,
        sign,
        shift_s,
        squares,
        ..
    } = &nearest;
    if predicted.residual.is_nan() || predicted.residual.abs() > AUDIT {
        return Err(CorrelateError::Audit(predicted.residual));
    }
    let rest = measurement.waves.rest;
    let count = target.wave.values.len() as f64;
    // Thinning parts neighbours, so that fewer samples of the grid stand for one independent one.
    let thinning = measurement.waves.voltage.values.len() as f64 / count;
    let noise = Noise {
        variance: rest.map(|rest| rest.noise * rest.noise),
        per_independent: rest.map_or(1.0, |rest| {
            (rest.samples_per_independent() / thinning.max(1.0)).max(1.0)
        }),
    };
    let parameters = parameters::parameters(bench);
    let done = std::sync::atomic::AtomicUsize::new(0);
    let all = parameters.len();
    let fits: Vec<Option<Fitted>> = parameters
        .par_iter()
        .map(|parameter| {
            let fitted = search::fit(
                bench,
                parameter,
                &measurement.places,
                &target,
                *sign,
                *shift_s,
                noise,
            );
            progress(done.fetch_add(1, std::sync::atomic::Ordering::Relaxed) + 1, all);
            fitted
        })
        .collect();
    let mut notes = measurement.notes.clone();
    notes.extend(measurement.waves.notes.iter().cloned());
    let floor = noise.variance.map_or(0.0, |variance| variance * count);
    if noise.variance.is_none() {
        notes.push("the noise is unknown: intervals rest on what each fit leaves".to_owned());
    }
    let mut ranked: Vec<(Candidate, &Fitted, usize)> = Vec::new();
    for (k, (parameter, fitted)) in parameters.iter().zip(&fits).enumerate() {
        let Some(fitted) = fitted else {
            notes.push(format!(
                "{} could not be fitted: no value of it gave a transient",
                parameter.name
            ));
            continue;
        };
        let beyond = (squares - floor).max(f64::MIN_POSITIVE);
        ranked.push((
            Candidate {
                parameter: parameter.name.clone(),
                unit: parameter.unit,
                stated: parameter.nominal,
                fitted: fitted.value,
                interval: [fitted.interval.0, fitted.interval.1],
                interval_open: fitted.open,
                plausible: [parameter.low, parameter.high],
                plausible_because: parameter.reason,
                is_plausible: (parameter.low..=parameter.high).contains(&fitted.value),
                explains: ((squares - fitted.squares) / beyond).clamp(0.0, 1.0),
                left_v: (fitted.squares / count).sqrt(),
                explains_current: explained_current(
                    &nearest,
                    measurement,
                    &target,
                    parameter.quantity,
                    fitted,
                ),
            },
            fitted,
            k,
        ));
    }
    ranked.sort_by(|a, b| a.1.squares.total_cmp(&b.1.squares));
    let finding = finding::finding(
        &ranked.iter().map(|(c, f, _)| (c, *f)).collect::<Vec<_>>(),
        *squares,
        floor,
        count,
    );
    let fitted_v = ranked.first().and_then(|(_, fitted, k)| {
        let change = Some((parameters[*k].quantity, fitted.value));
        let wave = bench.predict(change, &measurement.places).ok()?.voltage;
        Some((wave.scaled(0.0, *sign), fitted.shift_s))
    });
    let study_ref = StudyRef {
        title: study.title.clone(),
        digest: study.digest.clone(),
    };
    Ok(Correlation {
        schema: SCHEMA,
        version: env!("CARGO_PKG_VERSION"),
        study: study_ref,
        capture: measurement.record.clone(),
        stress: study.stresses[bench.case.stress].id.clone(),
        corner: bench.case.corner(),
        chosen: chosen.to_owned(),
        voltage_at: predicted.voltage_at.clone(),
        current_of: predicted
            .current_of
            .clone()
            .filter(|_| measurement.waves.current.is_some()),
        alignment: Alignment {
            method: "cross-correlation of the slopes of both fronts, then least squares",
            shift_s: *shift_s,
            correlation: nearest.correlation,
            turned: *sign < 0.0,
        },
        deviations: deviations(&nearest, measurement, &target),
        residual_v: (squares / count).sqrt(),
        noise_v: rest.map(|rest| rest.noise),
        finding,
        candidates: ranked.into_iter().map(|(candidate, _, _)| candidate).collect(),
        overlay: overlay(&nearest, measurement, &target, fitted_v.as_ref()),
        notes,
    })
}

/// The measured voltage on the grid, and how far an alignment may move.
fn target(measurement: &Measurement) -> Result<Target, CorrelateError> {
    let wave = &measurement.waves.voltage;
    let (rise_from, rise_to) = front(wave).ok_or(CorrelateError::NoFront("measured"))?;
    let n = wave.times_s.len();
    let (first, last) = (wave.times_s[0], wave.times_s[n - 1]);
    let grid = if n <= GRID {
        wave.clone()
    } else {
        let step = (last - first) / (GRID - 1) as f64;
        let times: Vec<f64> = (0..GRID).map(|k| first + step * k as f64).collect();
        wave.on(&times)
    };
    let step = (last - first) / (grid.times_s.len() - 1).max(1) as f64;
    Ok(Target {
        wave: grid,
        span_s: (1.5 * (rise_to - rise_from)).max(5.0 * step),
        free_zero: measurement.waves.zeroed,
    })
}

fn nearest<'s>(
    study: &'s Study,
    cases: &[Case],
    measurement: &Measurement,
    target: &Target,
) -> Result<Aligned<'s>, CorrelateError> {
    let measured = &measurement.waves.voltage;
    let sign_of = |case: &Case| if case.sign == Sign::Negative { -1.0 } else { 1.0 };
    let wanted = measured.peak().map_or(1.0, |peak| peak.0.signum());
    // Polarity first: a wave of the other sign is compared only where the study has no other.
    let alike: Vec<Case> = cases
        .iter()
        .filter(|case| sign_of(case) == wanted)
        .copied()
        .collect();
    let cases = if alike.is_empty() { cases.to_vec() } else { alike };
    let found: Vec<Result<Aligned<'s>, CorrelateError>> = cases
        .par_iter()
        .map(|case| {
            let bench = Bench::new(study, *case)?;
            let predicted = bench.predict(None, &measurement.places)?;
            let peak = predicted.voltage.peak().map_or(0.0, |peak| peak.0);
            let sign = if peak * wanted < 0.0 { -1.0 } else { 1.0 };
            let voltage = predicted.voltage.scaled(0.0, sign);
            let lag = front_lag(&voltage, measured).ok_or(CorrelateError::NoFront("predicted"))?;
            let found = target.nearest(&voltage, lag.seconds);
            Ok(Aligned {
                bench,
                predicted,
                sign,
                shift_s: found.shift_s,
                correlation: lag.correlation,
                squares: found.squares,
            })
        })
        .collect();
    let mut best: Option<Aligned<'s>> = None;
    let mut error = CorrelateError::NoCase;
    for one in found {
        match one {
            Ok(one) if best.as_ref().is_none_or(|best| one.squares < best.squares) => best = Some(one),
            Ok(_) => {}
            Err(other) => error = other,
        }
    }
    best.ok_or(error)
}

/// Predicted current, brought to the measured one's times.
fn current_on(nearest: &Aligned<'_>, predicted: &Predicted, shift_s: f64, times_s: &[f64]) -> Option<Wave> {
    let current = predicted.current.as_ref()?;
    Some(current.scaled(0.0, nearest.sign).later(shift_s).on(times_s))
}

fn explained_current(
    nearest: &Aligned<'_>,
    measurement: &Measurement,
    target: &Target,
    quantity: parameters::Quantity,
    fitted: &Fitted,
) -> Option<f64> {
    let times = &target.wave.times_s;
    let measured = measurement.waves.current.as_ref()?.on(times);
    let squares = |predicted: &Predicted, shift_s: f64| {
        let current = current_on(nearest, predicted, shift_s, times)?;
        let pairs = measured.values.iter().zip(&current.values);
        Some(pairs.map(|(a, b)| (a - b) * (a - b)).sum::<f64>())
    };
    let before = squares(&nearest.predicted, nearest.shift_s)?;
    let change = Some((quantity, fitted.value));
    let changed = nearest.bench.predict(change, &measurement.places).ok()?;
    let after = squares(&changed, fitted.shift_s)?;
    let rest = measurement.waves.current_rest.map_or(0.0, |rest| rest.noise);
    let floor = rest * rest * times.len() as f64;
    (before > floor).then(|| ((before - after) / (before - floor)).clamp(-1.0, 1.0))
}

fn deviations(nearest: &Aligned<'_>, measurement: &Measurement, target: &Target) -> Vec<Deviation> {
    let waves = &measurement.waves;
    // Peaks are read where each wave has its own points; sums over the span that both have.
    let (first, last) = (
        target.wave.times_s[0],
        target.wave.times_s[target.wave.times_s.len() - 1],
    );
    let shift = nearest.shift_s;
    let moved = |wave: &Wave| wave.scaled(0.0, nearest.sign).later(shift);
    let voltage = moved(&nearest.predicted.voltage);
    let until = voltage.times_s.last().map_or(last, |end| end.min(last));
    let cut = |wave: &Wave| {
        let (times_s, values) = wave
            .times_s
            .iter()
            .zip(&wave.values)
            .filter(|(t, _)| (first..=until).contains(*t))
            .unzip();
        Wave { times_s, values }
    };
    let current = nearest
        .predicted
        .current
        .as_ref()
        .filter(|_| waves.current.is_some())
        .map(|current| cut(&moved(current)));
    let predicted = readings(&cut(&voltage), current.as_ref());
    let measured_current = waves.current.as_ref().map(cut);
    let measured = readings(&cut(&waves.voltage), measured_current.as_ref());
    type Read = fn(&Readings) -> Option<f64>;
    let rows: [(&'static str, &'static str, Read); 8] = [
        ("peak voltage", "V", |r| Some(r.peak_v.0)),
        ("peak current", "A", |r| Some(r.peak_a?.0)),
        ("voltage at the peak of the current", "V", |r| r.clamp_v),
        ("overshoot of the front", "1", |r| r.overshoot),
        ("energy", "J", |r| r.energy_j),
        ("charge", "C", |r| r.charge_c),
        ("front of the current", "s", |r| r.front_s),
        ("tail of the current", "s", |r| r.tail_s),
    ];
    rows.into_iter()
        .map(|(quantity, unit, read)| {
            let measured = measured.as_ref().and_then(read);
            let predicted = predicted.as_ref().and_then(read);
            let share = match (measured, predicted) {
                (Some(m), Some(p)) if p != 0.0 && unit != "1" => Some((m - p) / p.abs()),
                _ => None,
            };
            Deviation {
                quantity,
                unit,
                measured,
                predicted,
                share,
            }
        })
        .collect()
}

fn overlay(
    nearest: &Aligned<'_>,
    measurement: &Measurement,
    target: &Target,
    fitted: Option<&(Wave, f64)>,
) -> Overlay {
    let every = target.wave.times_s.len().div_ceil(OVERLAY);
    let times_s: Vec<f64> = target.wave.times_s.iter().step_by(every).copied().collect();
    let on = |wave: &Wave| wave.on(&times_s).values;
    let voltage = nearest.predicted.voltage.scaled(0.0, nearest.sign);
    let measured_a = measurement.waves.current.as_ref().map(on);
    Overlay {
        measured_v: on(&target.wave),
        predicted_v: on(&voltage.later(nearest.shift_s)),
        fitted_v: fitted.map(|(wave, shift)| on(&wave.later(*shift))),
        predicted_a: measured_a
            .as_ref()
            .and_then(|_| current_on(nearest, &nearest.predicted, nearest.shift_s, &times_s))
            .map(|wave| wave.values),
        measured_a,
        times_s,
    }
}
