//! Gas tubes: firing voltage against slope.

use tidewall_units::{Quantity, VoltsPerSecond};

use super::data::Datum;
use super::draft::{Draft, Told};
use super::input::{Sign, check, given, range};
use super::logarithm::LogCurve;
use super::{Fit, Point, Refusal, Settings, Standing, WarningKind};
use crate::fit::{Intervals, Parameter, Scale};

const OF: &str = "the firing voltages";
/// One volt per microsecond in V/s.
const UNIT_SLOPE: f64 = 1e6;

const FACTOR: Told = Told {
    key: "slope_factor",
    meaning: "rise of the firing voltage at 1 V/µs",
    unit: "V",
    needs: "measure at a second slope, ten times higher or lower",
};
const POWER: Told = Told {
    key: "slope_exponent",
    meaning: "exponent of the slope",
    unit: "",
    needs: "measure at a second slope, ten times higher or lower",
};
const DIRECT: Told = Told {
    key: "breakdown",
    meaning: "direct spark-over voltage",
    unit: "V",
    needs: "measure the direct spark-over voltage at 100 V/s",
};

/// `Vs = Vdc + a (S / 1 V/µs)^b` through firing points (V/s, V): all above `direct_v`, which is fitted as well if it is not
/// given. (Form derived from published tables of tubes; no source for the law itself.)
///
/// # Errors
/// [`Refusal`]: unusable numbers, a firing voltage at or below the direct one, voltages that do not rise with the slope,
/// or fewer points than unknowns.
pub fn fit(points: &[Point], direct_v: Option<f64>, settings: &Settings) -> Result<Fit, Refusal> {
    check(
        points,
        ("slope", Sign::Positive),
        ("firing voltage", Sign::Positive),
    )?;
    if let Some(direct_v) = direct_v {
        given("direct spark-over voltage", direct_v)?;
        if let Some(k) = points.iter().position(|p| p.y <= direct_v) {
            return Err(Refusal::Unusable {
                point: k + 1,
                why: "the firing voltage is not above the direct spark-over voltage",
            });
        }
    }
    let Some(lowest) = points.iter().copied().min_by(|a, b| a.x.total_cmp(&b.x)) else {
        return Err(Refusal::TooFew {
            what: "the firing voltages",
            have: 0,
            need: 2,
        });
    };
    let highest = points
        .iter()
        .copied()
        .max_by(|a, b| a.x.total_cmp(&b.x))
        .unwrap_or(lowest);
    if highest.y <= lowest.y && points.len() > 1 {
        return Err(Refusal::Contradiction(
            "the firing voltage does not rise with the slope",
        ));
    }
    let (low, high) = range(points);
    let base = direct_v.unwrap_or(0.8 * lowest.y);
    let b = ((highest.y - base) / (lowest.y - base)).ln() / (high / low).ln();
    let b = if b > 0.01 && b < 0.95 { b } else { 0.25 };
    let a = (highest.y - base) / (high / UNIT_SLOPE).powf(b);
    let all = [
        Parameter::new("slope factor", Scale::Log, a).within(a / 30.0, 30.0 * a),
        Parameter::new("slope exponent", Scale::Between { low: 0.0, high: 1.0 }, b).within(0.05, 0.9),
        Parameter::new("direct spark-over voltage", Scale::Log, base).within(0.1 * base, lowest.y),
    ];
    let told = [FACTOR, POWER, DIRECT];
    let count = if direct_v.is_some() { 2 } else { 3 };
    let law = |values: &[f64], s: f64| {
        let direct = direct_v.unwrap_or_else(|| values[2]);
        (direct + values[0] * (s / UNIT_SLOPE).powf(values[1])).ln()
    };
    let curve = LogCurve {
        of: OF,
        axis: "slope",
        parameters: &all[..count],
        told: &told[..count],
        curve: &law,
        intervals: Intervals::Profile,
        starts: if direct_v.is_some() { 1 } else { 8 },
    };
    let mut draft = Draft::new(
        "gas-tube",
        "Vs = Vdc + a (S / 1 V/µs)^b",
        ("slope", "V/s"),
        ("firing voltage", "V"),
        "ln V",
    );
    let outcome = curve.fit(&mut draft, points, settings)?;
    let direct = match direct_v {
        Some(value) => {
            draft.estimate(DIRECT, value, Standing::Given);
            value
        }
        None => outcome.values[2],
    };
    draft.warn(
        WarningKind::Extrapolation,
        format!(
            "holds from {} to {}: faster surges are extrapolated",
            VoltsPerSecond(low).rounded(4),
            VoltsPerSecond(high).rounded(4)
        ),
    );
    let at = |s: f64| law(&outcome.values, s).exp();
    draft.datum(Datum::Breakdown(direct, None));
    draft.datum(Datum::Firing(vec![(low, at(low)), (high, at(high))]));
    draft.finish(
        "Least squares of the logarithm of the firing voltage (the same relative scatter at all slopes), equal weights unless \
         standard deviations are given; a on a logarithmic scale, b between 0 and 1; intervals by the profile of the sum of \
         squares. The firing data written are the fitted curve at the lowest and highest slope.",
    )
}
