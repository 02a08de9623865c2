//! Thermal ladders from a pulse-power curve.

use tidewall_devices::datasheet::{PulseRating, RatingWave};
use tidewall_devices::pulse_power::UnitWave;
use tidewall_devices::thermal::Foster;

use super::data::Datum;
use super::draft::{Draft, Told};
use super::input::{Sign, check, given, sound};
use super::logarithm::LogCurve;
use super::{Fit, Point, Pole, Refusal, Settings, WarningKind};
use crate::fit::{Intervals, Parameter, Scale};

/// A power that heats the junction by the same rise as all the others.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PowerPoint {
    /// Its wave.
    pub wave: RatingWave,
    /// Peak power in watts.
    pub power_w: f64,
    /// Standard deviation of the power in watts, if it is known.
    pub sigma_w: Option<f64>,
}

const OF: &str = "the thermal impedance";

const TOLD: [Told; 2] = [
    Told {
        key: "impedance_1ms",
        meaning: "thermal impedance for 1 ms",
        unit: "K/W",
        needs: "measure the power at a second width",
    },
    Told {
        key: "time_exponent",
        meaning: "exponent of time",
        unit: "",
        needs: "measure the power at a second width, ten times longer or shorter",
    },
];

/// `Zth = Z1 (t / 1 ms)^n` with `Zth = ΔT/P` at the width of the equivalent rectangle (√t law), and the ladder of Foster
/// poles through the points. `rise_k` is the junction rise that all the powers cause; `total_k_per_w` the resistance to
/// ambient, if it is known.
///
/// # Errors
/// [`Refusal`]: unusable numbers, a wave that is none, or fewer than two widths.
pub fn fit(
    points: &[PowerPoint],
    rise_k: f64,
    total_k_per_w: Option<f64>,
    settings: &Settings,
) -> Result<Fit, Refusal> {
    given("junction rise", rise_k)?;
    if let Some(total) = total_k_per_w {
        given("thermal resistance to ambient", total)?;
    }
    let mut plain = Vec::new();
    for (k, p) in points.iter().enumerate() {
        sound("power", k + 1, p.power_w, Sign::Positive)?;
        let wave = UnitWave::of(p.wave).ok_or(Refusal::Unusable {
            point: k + 1,
            why: "no smooth wave has this front and tail",
        })?;
        plain.push(Point {
            x: wave.equivalent_s(),
            y: rise_k / p.power_w,
            sigma: p.sigma_w.map(|s| s / p.power_w * rise_k / p.power_w),
        });
    }
    check(
        &plain,
        ("width", Sign::Positive),
        ("thermal impedance", Sign::Positive),
    )?;
    let parameters = [
        Parameter::new(
            "impedance at 1 ms",
            Scale::Log,
            plain.first().map_or(1.0, |p| p.y),
        ),
        Parameter::new("exponent", Scale::Linear { typical: 0.5 }, 0.5),
    ];
    let curve = LogCurve {
        of: OF,
        axis: "width",
        parameters: &parameters,
        told: &TOLD,
        curve: &|values, t| values[0].ln() + values[1] * (t / 1e-3).ln(),
        intervals: Intervals::Linearised,
        starts: 1,
    };
    let mut draft = Draft::new(
        "thermal",
        "Zth = Z1 (t / 1 ms)^n; poles R (1 − exp(−t/τ)) through the points",
        ("width of the equivalent rectangle", "s"),
        ("thermal impedance", "K/W"),
        "ln K/W",
    );
    let outcome = curve.fit(&mut draft, &plain, settings)?;
    if let Some([Some(low), Some(high)]) = outcome.intervals[1].map(|(a, b)| [Some(a), Some(b)])
        && !(low..=high).contains(&0.5)
    {
        draft.warn(
            WarningKind::Bend,
            format!(
                "exponent {:.3}: the √t law of heat spreading does not hold over these widths",
                outcome.values[1]
            ),
        );
    }
    let pairs: Vec<(f64, f64)> = plain.iter().map(|p| (p.x, p.y)).collect();
    let ladder = Foster::from_points(&pairs, total_k_per_w)
        .ok_or(Refusal::Contradiction("no thermal ladder follows these points"))?;
    let off: Vec<String> = pairs
        .iter()
        .enumerate()
        .filter(|(_, (t, z))| (ladder.step_response(*t) / z - 1.0).abs() > 0.03)
        .map(|(k, _)| (k + 1).to_string())
        .collect();
    if !off.is_empty() {
        draft.warn(
            WarningKind::LargeResidual,
            format!("the ladder is more than 3 % off point {}", off.join(", ")),
        );
    }
    let poles = ladder.resistance_k_per_w.iter().zip(&ladder.time_s);
    draft.poles(
        poles
            .map(|(&resistance_k_per_w, &time_s)| Pole {
                resistance_k_per_w,
                time_s,
            })
            .collect(),
    );
    draft.datum(Datum::Ratings(
        points
            .iter()
            .map(|p| PulseRating {
                wave: p.wave,
                power_w: Some(p.power_w),
                current_a: None,
                energy_j: None,
                pulses: 1,
            })
            .collect(),
    ));
    draft.finish(format!(
        "Zth = {rise_k} K / P at the width of the equivalent rectangle; least squares of its logarithm against ln t, equal \
         weights unless standard deviations are given; one pole per decade fitted to the curve that is straight between the \
         points in a log-log plot. The ratings written are the points."
    ))
}
