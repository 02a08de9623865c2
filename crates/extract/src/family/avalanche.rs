//! Avalanche diodes: breakdown, isothermal resistance, heating.

use tidewall_devices::datasheet::RatingWave;
use tidewall_devices::heating::{HeatedPeak, HeatedPulse};
use tidewall_devices::pulse_power::UnitWave;
use tidewall_devices::thermal::Foster;

use super::data::{Datum, wave_text};
use super::draft::{Draft, Told};
use super::input::{Sign, check, deviations, given, weights};
use super::line::monotonic;
use super::{CONFIDENCE, Fit, Point, Refusal, Settings, Standing, WarningKind};
use crate::fit::{Identified, Outcome, Parameter, Problem, Scale};

/// What the voltage of a point is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Reading {
    /// Highest voltage during the wave (clamping voltage by IEC 61643-321, as quoted by a maker's datasheet).
    Highest,
    /// Mean over a window of a rectangular pulse, as shares of its width: 0.7 to 0.9 is usual for transmission-line pulses.
    Window {
        /// Begin.
        from: f64,
        /// End.
        to: f64,
    },
}

/// A clamping point.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PulsePoint {
    /// Its wave.
    pub wave: RatingWave,
    /// Peak current in amperes.
    pub current_a: f64,
    /// Voltage in volts.
    pub voltage_v: f64,
    /// Standard deviation of the voltage in volts, if it is known.
    pub sigma_v: Option<f64>,
    /// How the voltage was read.
    pub reading: Reading,
}

/// What is known beforehand.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Known {
    /// Breakdown voltage at 25 °C in volts; fitted if it is not given.
    pub breakdown_v: Option<f64>,
    /// Temperature coefficient of the breakdown voltage in 1/K. Without it heating cannot be told from its effect.
    pub alpha_per_k: Option<f64>,
}

/// Ratio of the longest to the shortest wave's heating from which they count as two: below it their slopes differ by
/// less than a quarter of the part that heating adds (a choice).
const TWO_WAVES: f64 = 1.33;
/// Junction rise in kelvins that no silicon survives.
const MOST_RISE_K: f64 = 1000.0;

const SECOND_WAVE: &str =
    "measure a second waveform: for example 8/20 beside 10/1000, or a transmission-line pulse of 100 ns";

const BREAKDOWN: Told = Told {
    key: "breakdown",
    meaning: "breakdown voltage at 25 °C",
    unit: "V",
    needs: "measure it with a small direct current, or points at further currents",
};
const R_ISO: Told = Told {
    key: "isothermal_resistance",
    meaning: "isothermal resistance",
    unit: "Ω",
    needs: SECOND_WAVE,
};
const HEATING: Told = Told {
    key: "heating_coefficient",
    meaning: "heating coefficient K of Zth = K √t",
    unit: "K/(W √s)",
    needs: SECOND_WAVE,
};
const APPARENT: Told = Told {
    key: "apparent_resistance",
    meaning: "apparent resistance for this wave, heating included",
    unit: "Ω",
    needs: "measure at a second current",
};

/// A point with its wave laid out for the model.
struct Laid {
    of: String,
    theta: f64,
    seen: UnitWave,
    pulse: HeatedPulse,
    at: Point,
    wave: RatingWave,
}

fn lay(points: &[PulsePoint]) -> Result<Vec<Laid>, Refusal> {
    let plain: Vec<Point> = points
        .iter()
        .map(|p| Point {
            x: p.current_a,
            y: p.voltage_v,
            sigma: p.sigma_v,
        })
        .collect();
    check(&plain, ("current", Sign::Positive), ("voltage", Sign::Positive))?;
    let unit = Foster::square_root_law(1.0, None);
    points
        .iter()
        .zip(plain)
        .enumerate()
        .map(|(k, (p, at))| {
            let unusable = |why| Refusal::Unusable { point: k + 1, why };
            let seen = match (p.reading, p.wave) {
                (Reading::Highest, wave) => wave,
                (Reading::Window { from, to }, RatingWave::Rectangle { width_s }) => {
                    if !(0.0 <= from && from < to && to <= 1.0) {
                        return Err(unusable(
                            "the window must lie within the pulse: 0 ≤ from < to ≤ 1",
                        ));
                    }
                    // The current is flat: what has been seen is the voltage in the middle of the window.
                    RatingWave::Rectangle {
                        width_s: 0.5 * (from + to) * width_s,
                    }
                }
                (Reading::Window { .. }, _) => {
                    return Err(unusable("a window of the width is for rectangular pulses only"));
                }
            };
            let wave = UnitWave::of(seen).ok_or(unusable("no smooth wave has this front and tail"))?;
            let theta = wave.theta_peak();
            if !(1e-5..=10.0).contains(&theta) {
                return Err(unusable("the wave is shorter than 0.1 ns or longer than 100 s"));
            }
            Ok(Laid {
                of: wave_text(p.wave),
                theta,
                seen: wave,
                pulse: HeatedPulse::new(&wave, p.current_a, &unit),
                at,
                wave: p.wave,
            })
        })
        .collect()
}

/// Fits breakdown (unless given), isothermal resistance and heating coefficient `K` of `Zth = K √t` to points on two waves or
/// more; `V = VBR (1 + α ΔT) + R i` is followed through every wave with its own heat.
///
/// With one wave, or without the temperature coefficient, only the apparent resistance of each wave is fitted and the
/// other two are stated as not identified.
///
/// # Errors
/// [`Refusal`]: unusable numbers, or fewer points than unknowns.
pub fn fit(points: &[PulsePoint], known: &Known, settings: &Settings) -> Result<Fit, Refusal> {
    if let Some(v) = known.breakdown_v {
        given("breakdown voltage", v)?;
    }
    if let Some(alpha) = known.alpha_per_k
        && !(1e-6..=1e-2).contains(&alpha)
    {
        return Err(Refusal::Given {
            what: "temperature coefficient of the breakdown",
            value: alpha,
            expected: "between 0.0001 %/K and 1 %/K (heating of a part whose voltage falls with temperature cannot be seen this way)",
        });
    }
    let laid = lay(points)?;
    if laid.is_empty() {
        return Err(Refusal::TooFew {
            what: "the clamping curve",
            have: 0,
            need: 2,
        });
    }
    if let Some(v) = known.breakdown_v
        && let Some(k) = laid.iter().position(|p| p.at.y <= v)
    {
        return Err(Refusal::Unusable {
            point: k + 1,
            why: "the clamping voltage is not above the breakdown voltage",
        });
    }
    let longest = laid.iter().map(|p| p.theta).fold(0.0, f64::max);
    let shortest = laid.iter().map(|p| p.theta).fold(f64::INFINITY, f64::min);
    match known.alpha_per_k {
        Some(alpha) if longest >= TWO_WAVES * shortest => heated(&laid, known.breakdown_v, alpha, settings),
        _ => apparent(&laid, known, settings),
    }
}

fn draft(family: &str, law: &str) -> Draft {
    Draft::new(family, law, ("current", "A"), ("voltage", "V"), "V")
}

/// The full model.
fn heated(laid: &[Laid], breakdown: Option<f64>, alpha: f64, settings: &Settings) -> Result<Fit, Refusal> {
    let points: Vec<Point> = laid.iter().map(|p| p.at).collect();
    let least_v = points.iter().map(|p| p.y).fold(f64::INFINITY, f64::min);
    let (vbr, slope) = start(laid, breakdown, least_v);
    let k = slope / (vbr * alpha * vbr) / laid.iter().map(|p| p.theta).fold(0.0, f64::max);
    let all = [
        Parameter::new("isothermal resistance", Scale::Log, 0.3 * slope).within(0.01 * slope, slope),
        Parameter::new("heating coefficient", Scale::Log, 0.5 * k).within(0.05 * k, 2.0 * k),
        Parameter::new("breakdown voltage", Scale::Linear { typical: vbr }, vbr)
            .within(0.9 * vbr, 1.02 * vbr),
    ];
    let told = [R_ISO, HEATING, BREAKDOWN];
    let count = if breakdown.is_some() { 2 } else { 3 };
    let run = |values: &[f64], pulse: &HeatedPulse| -> HeatedPeak {
        let vbr = breakdown.unwrap_or_else(|| values[2]);
        pulse.peak(vbr, alpha, values[0], values[1])
    };
    let observed: Vec<f64> = points.iter().map(|p| p.y).collect();
    let sigmas = deviations(&points, false);
    let model = |values: &[f64], k: usize| run(values, &laid[k].pulse).voltage_v;
    let outcome = Problem {
        weights: weights(&sigmas),
        loss: settings.loss,
        confidence: CONFIDENCE,
        starts: 2,
        seed: settings.seed,
        ..Problem::new(&all[..count], &observed, &model)
    }
    .solve()?;
    let mut draft = draft(
        "avalanche",
        "V = VBR (1 + α ΔT) + R i, ΔT from the part's own power with Zth = K √t",
    );
    draft.outcome(&outcome, &told[..count], sigmas.is_some());
    if outcome.identified[1] == Identified::No {
        draft.warn(
            WarningKind::Implausible,
            "the slope does not grow with the width of the wave: no heating is to be seen",
        );
    }
    if outcome.identified[0] == Identified::No {
        draft.warn(
            WarningKind::Implausible,
            "heating would explain more than the rise seen: no isothermal resistance is left",
        );
    }
    let vbr = match breakdown {
        Some(v) => {
            draft.estimate(BREAKDOWN, v, Standing::Given);
            v
        }
        None => outcome.values[2],
    };
    draft.estimate(COEFFICIENT, alpha, Standing::Given);
    for (k, p) in laid.iter().enumerate() {
        draft.point(k + 1, &p.of, (p.at.x, p.at.y), Some(model(&outcome.values, k)));
    }
    let rise = (0..laid.len())
        .map(|k| run(&outcome.values, &laid[k].pulse).rise_k)
        .fold(0.0, f64::max);
    if rise > MOST_RISE_K {
        draft.warn(
            WarningKind::Implausible,
            format!("the fitted heating means a junction rise of {rise:.0} K, which no silicon survives"),
        );
    }
    let waves = waves(laid);
    for (of, members) in &waves {
        let of_wave: Vec<Point> = members.iter().map(|&k| points[k]).collect();
        monotonic(&mut draft, of, &of_wave);
        band(&mut draft, &laid[members[0]], &of_wave, &outcome, &run);
    }
    draft.usual_warnings("all waves", laid.len(), None);
    draft.datum(Datum::Breakdown(vbr, None));
    draft.datum(Datum::TemperatureCoefficient(alpha));
    let mut clamps = Vec::new();
    for (_, members) in &waves {
        let top = members
            .iter()
            .copied()
            .max_by(|&a, &b| points[a].x.total_cmp(&points[b].x));
        let Some(top) = top else { continue };
        let Some(wave) = UnitWave::of(laid[top].wave) else {
            continue;
        };
        // The whole wave, however its points were read.
        let whole = HeatedPulse::new(&wave, points[top].x, &Foster::square_root_law(1.0, None));
        clamps.push((
            laid[top].wave,
            points[top].x,
            run(&outcome.values, &whole).voltage_v,
        ));
    }
    draft.datum(Datum::Clamp(clamps));
    let names: Vec<&str> = waves.iter().map(|(of, _)| of.as_str()).collect();
    draft.finish(format!(
        "Least squares of the voltage over the waves {} together, temperature coefficient {alpha} 1/K given, breakdown \
         voltage {}; resistance and heating coefficient on logarithmic scales, two starts (seed {}); equal weights unless \
         standard deviations are given. The clamping data written are the fitted highest voltages at each wave's highest \
         current.",
        names.join(", "),
        if breakdown.is_some() { "given" } else { "fitted" },
        settings.seed,
    ))
}

const COEFFICIENT: Told = Told {
    key: "temperature_coefficient",
    meaning: "temperature coefficient of the breakdown voltage",
    unit: "1/K",
    needs: "measure the breakdown voltage at two temperatures",
};

/// Breakdown and steepest apparent slope to begin with.
fn start(laid: &[Laid], breakdown: Option<f64>, least_v: f64) -> (f64, f64) {
    let mut intercept = f64::INFINITY;
    for (_, members) in waves(laid) {
        let by_current = |a: &&usize, b: &&usize| laid[**a].at.x.total_cmp(&laid[**b].at.x);
        let (Some(&low), Some(&high)) = (
            members.iter().min_by(by_current),
            members.iter().max_by(by_current),
        ) else {
            continue;
        };
        let (a, b) = (laid[low].at, laid[high].at);
        let line = a.y - (b.y - a.y) / (b.x - a.x) * a.x;
        if line.is_finite() && line > 0.5 * least_v && line < least_v {
            intercept = intercept.min(line);
        }
    }
    let vbr = breakdown.unwrap_or(if intercept.is_finite() {
        intercept
    } else {
        0.95 * least_v
    });
    let slope = laid
        .iter()
        .map(|p| (p.at.y - vbr) / p.at.x)
        .fold(0.0, f64::max)
        .max(1e-6 * vbr);
    (vbr, slope)
}

/// Names of the waves with the places of their points, in the order they come.
fn waves(laid: &[Laid]) -> Vec<(String, Vec<usize>)> {
    let mut list: Vec<(String, Vec<usize>)> = Vec::new();
    for (k, p) in laid.iter().enumerate() {
        match list
            .iter_mut()
            .find(|(of, members)| *of == p.of && laid[members[0]].theta == p.theta)
        {
            Some((_, members)) => members.push(k),
            None => list.push((p.of.clone(), vec![k])),
        }
    }
    list
}

/// Band of one wave between its lowest and highest current.
fn band(
    draft: &mut Draft,
    like: &Laid,
    points: &[Point],
    outcome: &Outcome,
    run: &dyn Fn(&[f64], &HeatedPulse) -> HeatedPeak,
) {
    let (low, high) = super::input::range(points);
    let currents: Vec<f64> = (0..=8).map(|k| low + (high - low) * f64::from(k) / 8.0).collect();
    let unit = Foster::square_root_law(1.0, None);
    for current in currents {
        let pulse = HeatedPulse::new(&like.seen, current, &unit);
        let at = |values: &[f64]| run(values, &pulse).voltage_v;
        draft.band_point(&like.of, current, outcome, at, |v| v);
        if high <= low {
            break;
        }
    }
}

/// Apparent resistance of each wave.
fn apparent(laid: &[Laid], known: &Known, settings: &Settings) -> Result<Fit, Refusal> {
    let mut draft = draft("avalanche-apparent", "V = VBR + R' I for each wave");
    let several = waves(laid);
    let mut clamps = Vec::new();
    for (of, members) in &several {
        let points: Vec<Point> = members.iter().map(|&k| laid[k].at).collect();
        let top = points
            .iter()
            .fold(points[0], |m, p| if p.x > m.x { *p } else { m });
        let observed: Vec<f64> = points.iter().map(|p| p.y).collect();
        let sigmas = deviations(&points, false);
        let vbr = known.breakdown_v;
        let (low_v, low) = points.iter().fold((f64::INFINITY, f64::INFINITY), |(v, x), p| {
            (v.min(p.y), x.min(p.x))
        });
        let slope = (top.y - vbr.unwrap_or(low_v)) / top.x;
        let slope = if slope > 0.0 { slope } else { 1e-3 * top.y / top.x };
        let all = [
            Parameter::new("apparent resistance", Scale::Linear { typical: slope }, slope),
            Parameter::new(
                "breakdown voltage",
                Scale::Linear { typical: low_v },
                0.95 * low_v,
            ),
        ];
        let count = if vbr.is_some() { 1 } else { 2 };
        if count == 2 {
            super::input::enough(&points, "the clamping curve of one wave", "current", 2)?;
        }
        let line = |values: &[f64], i: f64| vbr.unwrap_or_else(|| values[1]) + values[0] * i;
        let model = |values: &[f64], k: usize| line(values, points[k].x);
        let outcome = Problem {
            weights: weights(&sigmas),
            loss: settings.loss,
            confidence: CONFIDENCE,
            ..Problem::new(&all[..count], &observed, &model)
        }
        .solve()?;
        draft.outcome(&outcome, &[APPARENT, BREAKDOWN][..count], sigmas.is_some());
        if several.len() > 1 {
            draft.of_wave(count, of);
        }
        for (&k, p) in members.iter().zip(&points) {
            draft.point(k + 1, of, (p.x, p.y), Some(line(&outcome.values, p.x)));
        }
        draft.band(of, (low, top.x), &outcome, line, |v| v);
        draft.usual_warnings(of, points.len(), Some(top.x / low));
        monotonic(&mut draft, of, &points);
        clamps.push((laid[members[0]].wave, top.x, line(&outcome.values, top.x)));
        if several.len() == 1 {
            draft.datum(Datum::Breakdown(vbr.unwrap_or_else(|| outcome.values[1]), None));
        }
    }
    if let Some(v) = known.breakdown_v {
        draft.estimate(BREAKDOWN, v, Standing::Given);
        if several.len() > 1 {
            draft.datum(Datum::Breakdown(v, None));
        }
    }
    match known.alpha_per_k {
        Some(alpha) => {
            draft.estimate(COEFFICIENT, alpha, Standing::Given);
            draft.datum(Datum::TemperatureCoefficient(alpha));
            draft.estimate(R_ISO, f64::NAN, Standing::NotIdentified);
            draft.estimate(HEATING, f64::NAN, Standing::NotIdentified);
        }
        None => {
            draft.estimate(COEFFICIENT, f64::NAN, Standing::NotIdentified);
            let needs = "give the temperature coefficient (measure the breakdown voltage at two temperatures) and two waveforms";
            for told in [R_ISO, HEATING] {
                draft.estimate(Told { needs, ..told }, f64::NAN, Standing::NotIdentified);
            }
        }
    }
    draft.datum(Datum::Clamp(clamps));
    draft.finish(
        "Least squares of V = VBR + R' I for each wave by itself, equal weights unless standard deviations are given; the \
         clamping data written are the fitted line at each wave's highest current.",
    )
}
