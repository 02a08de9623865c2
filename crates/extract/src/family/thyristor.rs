//! Thyristor surge suppressors: on-state, breakover, surge current against width.

use tidewall_devices::datasheet::{PulseRating, RatingWave};
use tidewall_devices::pulse_power::UnitWave;

use super::data::{Datum, wave_text};
use super::draft::{Draft, Told};
use super::input::{Sign, check, enough};
use super::logarithm::LogCurve;
use super::snapback::{Names, folding};
use super::{CurvePoint, Fit, Point, Refusal, Settings, WarningKind};
use crate::fit::{Intervals, Parameter, Scale};

/// On-state `V = VT0 + rT I` from the points after breakover, and the breakover point as it was seen (terms of
/// IEC 61643-341). Points between breakover and hold are rejected.
///
/// # Errors
/// [`Refusal`], as for a snapback clamp.
pub fn on_state(points: &[CurvePoint], settings: &Settings) -> Result<Fit, Refusal> {
    let names = Names {
        family: "thyristor",
        law: "on-state V = VT0 + rT I from the hold point on",
        trigger: "breakover voltage",
        trigger_current: "breakover current",
    };
    folding(points, settings, &names)
}

/// A surge current that the part withstands, or that destroys it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SurgePoint {
    /// Its wave.
    pub wave: RatingWave,
    /// Peak current in amperes.
    pub current_a: f64,
    /// Standard deviation of the current in amperes, if it is known.
    pub sigma_a: Option<f64>,
}

const TOLD: [Told; 2] = [
    Told {
        key: "surge_current_1ms",
        meaning: "surge current for a time of 1 ms",
        unit: "A",
        needs: "measure at a second width",
    },
    Told {
        key: "width_exponent",
        meaning: "exponent q of the surge current against width",
        unit: "",
        needs: "measure at a second width, ten times longer or shorter",
    },
];

/// Width by which a wave counts here in seconds: time to half value of an impulse, width of a rectangle.
fn width_s(wave: RatingWave) -> f64 {
    match wave {
        RatingWave::Surge8x20 => 20e-6,
        RatingWave::Long10x1000 => 1e-3,
        RatingWave::FrontTail { tail_s, .. } => tail_s,
        RatingWave::Rectangle { width_s } => width_s,
    }
}

/// Surge current against width, `I = I1 (t / 1 ms)^−q`, by least squares of the logarithms; `t` is the time to half value.
///
/// # Errors
/// [`Refusal`]: unusable numbers, or fewer than two widths.
pub fn surge_current(points: &[SurgePoint], settings: &Settings) -> Result<Fit, Refusal> {
    let plain: Vec<Point> = points
        .iter()
        .map(|p| Point {
            x: width_s(p.wave),
            y: p.current_a,
            sigma: p.sigma_a,
        })
        .collect();
    check(&plain, ("width", Sign::Positive), ("current", Sign::Positive))?;
    if let Some(k) = points.iter().position(|p| UnitWave::of(p.wave).is_none()) {
        return Err(Refusal::Unusable {
            point: k + 1,
            why: "no smooth wave has this front and tail",
        });
    }
    let what = "the surge currents";
    enough(&plain, what, "width", 2)?;
    let parameters = [
        Parameter::new("surge current", Scale::Log, plain[0].y),
        Parameter::new("exponent", Scale::Linear { typical: 0.3 }, 0.3),
    ];
    let mut draft = Draft::new(
        "thyristor-surge-current",
        "I = I1 (t / 1 ms)^−q",
        ("time to half value", "s"),
        ("surge current", "A"),
        "ln A",
    );
    let curve = LogCurve {
        of: what,
        axis: "width",
        parameters: &parameters,
        told: &TOLD,
        curve: &|values, t| values[0].ln() - values[1] * (t / 1e-3).ln(),
        intervals: Intervals::Linearised,
        starts: 1,
    };
    let outcome = curve.fit(&mut draft, &plain, settings)?;
    if outcome.values[1] <= 0.0 {
        draft.warn(
            WarningKind::Implausible,
            "the current does not fall with the width",
        );
    }
    draft.datum(Datum::Ratings(
        points
            .iter()
            .map(|p| PulseRating {
                wave: p.wave,
                power_w: None,
                current_a: Some(p.current_a),
                energy_j: None,
                pulses: 1,
            })
            .collect(),
    ));
    let waves: Vec<String> = points.iter().map(|p| wave_text(p.wave)).collect();
    draft.finish(format!(
        "Least squares of ln I = ln I1 − q ln(t / 1 ms) over the waves {}, t being the time to half value, equal weights \
         unless standard deviations are given. The ratings written are the points, not the law.",
        waves.join(", ")
    ))
}
