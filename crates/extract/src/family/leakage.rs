//! Leakage against temperature.

use super::data::Datum;
use super::draft::{Draft, Told};
use super::input::{Sign, check, given, range};
use super::logarithm::LogCurve;
use super::{Fit, Point, Refusal, Settings, WarningKind};
use crate::fit::{Intervals, Parameter, Scale};

const OF: &str = "the leakage";
const REFERENCE_C: f64 = 25.0;

const TOLD: [Told; 2] = [
    Told {
        key: "leakage_25c",
        meaning: "leakage at 25 °C",
        unit: "A",
        needs: "measure at a second temperature",
    },
    Told {
        key: "leakage_doubling",
        meaning: "temperature rise that doubles the leakage",
        unit: "K",
        needs: "measure at a second temperature, 40 K higher or more",
    },
];

/// `I = I25 2^((T − 25 °C)/D)` through points (°C, A) at one voltage, by least squares of the logarithm.
///
/// # Errors
/// [`Refusal`]: unusable numbers, or fewer than two temperatures.
pub fn fit(points: &[Point], voltage_v: f64, settings: &Settings) -> Result<Fit, Refusal> {
    given("voltage of the leakage", voltage_v)?;
    check(points, ("temperature", Sign::Any), ("leakage", Sign::Positive))?;
    if let Some(k) = points.iter().position(|p| !(-273.15..=1000.0).contains(&p.x)) {
        return Err(Refusal::Unusable {
            point: k + 1,
            why: "no part is at this temperature; °C expected",
        });
    }
    let start = points.first().map_or(1.0, |p| p.y);
    let parameters = [
        Parameter::new("leakage at 25 °C", Scale::Log, start),
        Parameter::new("doubling", Scale::Reciprocal, 20.0),
    ];
    let law =
        |values: &[f64], t: f64| values[0].ln() + (t - REFERENCE_C) / values[1] * std::f64::consts::LN_2;
    let curve = LogCurve {
        of: OF,
        axis: "temperature",
        parameters: &parameters,
        told: &TOLD,
        curve: &law,
        intervals: Intervals::Linearised,
        starts: 1,
    };
    let mut draft = Draft::new(
        "leakage",
        "I = I25 2^((T − 25 °C)/D)",
        ("temperature", "°C"),
        ("leakage", "A"),
        "ln A",
    );
    let outcome = curve.solve(points, settings)?;
    curve.write(&mut draft, points, &outcome, false);
    let (low, high) = range(points);
    if high - low < 40.0 {
        draft.warn(
            WarningKind::ShortSpan,
            format!("the temperatures span {:.0} K, less than 40 K", high - low),
        );
    }
    if !(low..=high).contains(&REFERENCE_C) {
        draft.warn(
            WarningKind::Extrapolation,
            "25 °C lies outside the temperatures measured",
        );
    }
    let doubling = outcome.values[1];
    if doubling > 0.0 {
        let at = |t: f64| law(&outcome.values, t).exp();
        draft.datum(Datum::Leakage(voltage_v, vec![(low, at(low)), (high, at(high))]));
        draft.datum(Datum::LeakageDoubling(doubling));
    } else {
        draft.warn(
            WarningKind::Implausible,
            "the leakage does not rise with temperature: no doubling is written",
        );
    }
    draft.finish(
        "Least squares of the logarithm of the leakage, equal weights unless standard deviations are given; interval of the \
         doubling symmetrical in 1/D. The leakage data written are the fitted line at the lowest and highest temperature.",
    )
}
