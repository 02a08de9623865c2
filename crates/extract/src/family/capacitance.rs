//! Junction capacitance against bias.

use super::data::Datum;
use super::draft::{Draft, Told};
use super::input::{Sign, check, given, range};
use super::logarithm::LogCurve;
use super::{Fit, Point, Refusal, Settings, Standing, WarningKind};
use crate::fit::{Identified, Intervals, Parameter, Scale};

/// Built-in voltage of a silicon junction in volts that is taken when the data do not tell it (0.6 to 0.8 V, from memory);
/// the models of parts use the same.
pub const BUILT_IN_V: f64 = 0.7;

/// What is done about the built-in voltage.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum BuiltIn {
    /// It has this value in volts.
    Fixed(f64),
    /// It is fitted.
    Fitted,
    /// It is fitted if the data tell it within 50 %, otherwise fixed at [`BUILT_IN_V`].
    FittedIfIdentified,
}

const OF: &str = "the capacitance";

const C0: Told = Told {
    key: "capacitance_0v",
    meaning: "capacitance without bias",
    unit: "F",
    needs: "measure at a low bias",
};
const GRADING: Told = Told {
    key: "grading_exponent",
    meaning: "grading exponent m",
    unit: "",
    needs: "measure at a bias of several volts",
};
const BUILT_IN: Told = Told {
    key: "built_in",
    meaning: "built-in voltage",
    unit: "V",
    needs: "measure at biases below 1 V",
};

/// `C = C0 / (1 + V/Vbi)^m` through points (size of the bias in V, F), by least squares of the logarithm.
///
/// # Errors
/// [`Refusal`]: unusable numbers, or fewer points than unknowns.
pub fn fit(points: &[Point], built_in: BuiltIn, settings: &Settings) -> Result<Fit, Refusal> {
    check(
        points,
        ("bias", Sign::NotNegative),
        ("capacitance", Sign::Positive),
    )?;
    if let BuiltIn::Fixed(v) = built_in {
        given("built-in voltage", v)?;
    }
    let highest = points.iter().fold(f64::MIN_POSITIVE, |m, p| m.max(p.y));
    let all = [
        Parameter::new("capacitance without bias", Scale::Log, highest),
        Parameter::new("grading exponent", Scale::Linear { typical: 0.4 }, 0.4),
        Parameter::new("built-in voltage", Scale::Log, BUILT_IN_V).within(0.1, 5.0),
    ];
    let told = [C0, GRADING, BUILT_IN];
    let solve = |fixed: Option<f64>| {
        let law = move |values: &[f64], v: f64| {
            let vbi = fixed.unwrap_or_else(|| values[2]);
            values[0].ln() - values[1] * (v / vbi).ln_1p()
        };
        let count = if fixed.is_some() { 2 } else { 3 };
        let curve = LogCurve {
            of: OF,
            axis: "bias",
            parameters: &all[..count],
            told: &told[..count],
            curve: &law,
            intervals: if fixed.is_some() {
                Intervals::Linearised
            } else {
                Intervals::Profile
            },
            starts: if fixed.is_some() { 1 } else { 6 },
        };
        curve.solve(points, settings).map(|outcome| {
            let mut draft = Draft::new(
                "capacitance",
                "C = C0 / (1 + V/Vbi)^m",
                ("bias", "V"),
                ("capacitance", "F"),
                "ln F",
            );
            curve.write(&mut draft, points, &outcome, false);
            let (low, high) = range(points);
            let ends = [low, high].map(|v| (v, law(&outcome.values, v).exp()));
            (draft, outcome, ends)
        })
    };
    let told_enough = |outcome: &crate::fit::Outcome| {
        outcome.identified.iter().all(|i| *i == Identified::Yes)
            && outcome.standard_errors[2].is_some_and(|e| e <= 0.5 * outcome.values[2])
    };
    let (fixed, found) = match built_in {
        BuiltIn::Fixed(v) => (Some(v), solve(Some(v))?),
        BuiltIn::Fitted => (None, solve(None)?),
        BuiltIn::FittedIfIdentified => match solve(None) {
            Ok(found) if told_enough(&found.1) => (None, found),
            _ => (Some(BUILT_IN_V), solve(Some(BUILT_IN_V))?),
        },
    };
    let (mut draft, outcome, ends) = found;
    if let Some(v) = fixed {
        draft.estimate(BUILT_IN, v, Standing::Given);
        if built_in == BuiltIn::FittedIfIdentified {
            draft.warn(
                WarningKind::Assumption,
                "built-in voltage 0.7 V assumed: the points do not tell it; measure at biases below 1 V",
            );
        }
    }
    let m = outcome.values[1];
    if !(0.0..=1.0).contains(&m) {
        draft.warn(
            WarningKind::Implausible,
            "no junction has a grading exponent outside 0 to 1",
        );
    }
    draft.datum(Datum::Capacitance(ends.to_vec()));
    if fixed == Some(BUILT_IN_V) && (0.0..=1.0).contains(&m) {
        draft.datum(Datum::Grading(m));
    }
    draft.finish(
        "Least squares of the logarithm of the capacitance, equal weights unless standard deviations are given; with a fitted \
         built-in voltage, intervals by the profile of the sum of squares. The capacitance data written are the fitted curve \
         at the lowest and highest bias; the exponent is written only if the built-in voltage is the 0.7 V of the models.",
    )
}
