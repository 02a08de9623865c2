//! Varistors: power law, power law with bulk resistance, four-term law of the logarithm.

use tidewall_devices::datasheet::RatingWave;

use super::data::Datum;
use super::draft::{Draft, Told};
use super::input::{Sign, check, range};
use super::line::monotonic;
use super::logarithm::LogCurve;
use super::{CurvePoint, Fit, Point, Refusal, Settings, WarningKind};
use crate::fit::{Intervals, Outcome, Parameter, Scale};

/// Law of a varistor.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Law {
    /// `V = V1mA (I / 1 mA)^(1/α)` (I = K V^α of a maker's note of 1998, solved for the voltage).
    Power,
    /// The same with a bulk resistance, `+ R I`.
    PowerAndBulk,
    /// `log V = b1 + b2 log I + b3 e^(−log I) + b4 e^(log I)`, logarithms to base 10 (a maker's note on varistor models).
    LogVoltage,
}

const MILLI: f64 = 1e-3;
const OF: &str = "the curve";

const V1MA: Told = Told {
    key: "breakdown",
    meaning: "voltage at 1 mA",
    unit: "V",
    needs: "measure the voltage at 1 mA",
};
const EXPONENT: Told = Told {
    key: "exponent",
    meaning: "non-linearity exponent α",
    unit: "",
    needs: "measure at currents some decades apart",
};
const BULK: Told = Told {
    key: "dynamic_resistance",
    meaning: "bulk resistance",
    unit: "Ω",
    needs: "measure near the rated surge current, where the bulk raises the voltage above the power law",
};
const fn term(key: &'static str, meaning: &'static str) -> Told {
    Told {
        key,
        meaning,
        unit: "",
        needs: "measure over more than three decades of current",
    }
}
const TERMS: [Told; 4] = [
    term("b1", "constant term"),
    term("b2", "factor of log I"),
    term("b3", "factor of e^(−log I)"),
    term("b4", "factor of e^(log I)"),
];

/// Fits a law. The points above some amperes come from surges of `wave`, which the clamping data written need; without it
/// none are written.
///
/// # Errors
/// [`Refusal`]: unusable numbers, or fewer points than unknowns.
pub fn fit(
    points: &[CurvePoint],
    law: Law,
    wave: Option<RatingWave>,
    settings: &Settings,
) -> Result<Fit, Refusal> {
    let points: Vec<Point> = points.iter().map(|&p| p.into()).collect();
    check(&points, ("current", Sign::Positive), ("voltage", Sign::Positive))?;
    if points.is_empty() {
        return Err(Refusal::TooFew {
            what: "the curve",
            have: 0,
            need: 2,
        });
    }
    let (low, high) = range(&points);
    let at = |x: f64| points.iter().find(|p| p.x == x).map_or(f64::NAN, |p| p.y);
    // Through the ends.
    let beta = ((at(high) / at(low)).ln() / (high / low).ln()).abs().max(1e-3);
    let beta = if beta.is_finite() { beta } else { 0.03 };
    let v1 = at(low) * (MILLI / low).powf(beta);
    let power = [
        Parameter::new("voltage at 1 mA", Scale::Log, v1),
        Parameter::new("exponent", Scale::Reciprocal, 1.0 / beta),
        Parameter::new(
            "bulk resistance",
            Scale::Linear {
                typical: 0.1 * at(high) / high,
            },
            0.05 * at(high) / high,
        ),
    ];
    let terms = [at(low).log10(), beta, 0.0, 0.0].map(|start| {
        let typical = if start == 0.0 { 0.01 } else { 0.1 };
        Parameter::new("factor of the law", Scale::Linear { typical }, start)
    });
    let (family, text, parameters, told): (_, _, &[Parameter], &[Told]) = match law {
        Law::Power => (
            "varistor-power",
            "V = V1mA (I / 1 mA)^(1/α)",
            &power[..2],
            &[V1MA, EXPONENT],
        ),
        Law::PowerAndBulk => (
            "varistor-power-bulk",
            "V = V1mA (I / 1 mA)^(1/α) + R I",
            &power,
            &[V1MA, EXPONENT, BULK],
        ),
        Law::LogVoltage => (
            "varistor-log",
            "log V = b1 + b2 log I + b3 e^(−log I) + b4 e^(log I), base 10",
            &terms,
            &TERMS,
        ),
    };
    let curve = LogCurve {
        of: OF,
        axis: "current",
        parameters,
        told,
        curve: &|values, i| ln_voltage(law, values, i),
        intervals: if law == Law::PowerAndBulk {
            Intervals::Profile
        } else {
            Intervals::Linearised
        },
        starts: 1,
    };
    let mut draft = Draft::new(family, text, ("current", "A"), ("voltage", "V"), "ln V");
    let outcome = curve.fit(&mut draft, &points, settings)?;
    monotonic(&mut draft, OF, &points);
    if low > MILLI || high < MILLI {
        draft.warn(
            WarningKind::Extrapolation,
            "the voltage at 1 mA lies outside the currents measured",
        );
    }
    if law == Law::LogVoltage && high < 1e3 * low {
        draft.warn(
            WarningKind::ShortSpan,
            "the four-term law is meant for more than three decades of current",
        );
    }
    plausible(&mut draft, law, &outcome.values, (low, high));
    write(&mut draft, law, &outcome, wave, (low, high));
    draft.finish(
        "Least squares of the logarithm of the voltage over all points (the same relative scatter everywhere), equal weights \
         unless standard deviations are given; intervals of the exponent symmetrical in 1/α, those with a bulk resistance \
         by the profile of the sum of squares.",
    )
}

fn ln_voltage(law: Law, values: &[f64], i: f64) -> f64 {
    match law {
        Law::Power => values[0].ln() + (i / MILLI).ln() / values[1],
        Law::PowerAndBulk => (values[0] * (i / MILLI).powf(1.0 / values[1]) + values[2] * i).ln(),
        Law::LogVoltage => {
            let x = i.log10();
            (values[0] + values[1] * x + values[2] * (-x).exp() + values[3] * x.exp())
                * std::f64::consts::LN_10
        }
    }
}

fn plausible(draft: &mut Draft, law: Law, values: &[f64], (low, high): (f64, f64)) {
    let steps = (0..=60).map(|k| low * (high / low).powf(f64::from(k) / 60.0));
    let curve: Vec<f64> = steps.map(|i| ln_voltage(law, values, i)).collect();
    if curve.windows(2).any(|w| w[1] < w[0]) {
        draft.warn(
            WarningKind::NonMonotonic,
            "the fitted voltage falls somewhere with rising current",
        );
    }
    if law != Law::LogVoltage && !(values[1] > 1.0 && values[1] < 200.0) {
        draft.warn(WarningKind::Implausible, "no varistor has this exponent");
    }
    if law == Law::PowerAndBulk && values[2] < 0.0 {
        draft.warn(
            WarningKind::Implausible,
            "the bulk resistance is below zero: use the power law alone",
        );
    }
}

fn write(draft: &mut Draft, law: Law, outcome: &Outcome, wave: Option<RatingWave>, (low, high): (f64, f64)) {
    let values = &outcome.values;
    let v = |i: f64| ln_voltage(law, values, i).exp();
    let v1ma = if law == Law::LogVoltage {
        draft.derived(V1MA, outcome, |values| ln_voltage(law, values, MILLI).exp())
    } else {
        values[0]
    };
    draft.datum(Datum::Breakdown(v1ma, Some(MILLI)));
    if law != Law::LogVoltage {
        draft.datum(Datum::Exponent(values[1]));
    }
    if law == Law::PowerAndBulk && values[2] >= 0.0 {
        draft.datum(Datum::DynamicResistance(values[2]));
    } else if let Some(wave) = wave {
        // Two currents tell exponent and bulk, one tells the bulk beside a known exponent.
        let middle = (low.max(MILLI) * high).sqrt();
        let currents = if law == Law::LogVoltage {
            vec![middle, high]
        } else {
            vec![high]
        };
        draft.datum(Datum::Clamp(
            currents.into_iter().map(|i| (wave, i, v(i))).collect(),
        ));
    }
}
