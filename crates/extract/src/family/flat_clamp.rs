//! Flat clamps: trigger and straight on-branch.

use super::branch::{above, pick};
use super::data::Datum;
use super::draft::Told;
use super::input::{Sign, check};
use super::line::{observed, straight};
use super::snapback::draft;
use super::{CurvePoint, Fit, Point, Refusal, Settings};

/// Share of the highest current below which a point belongs to the off-state (a choice).
pub const OFF_SHARE: f64 = 0.02;

const ON: &str = "the on-branch";

const TOLD: [Told; 2] = [
    Told {
        key: "on_voltage",
        meaning: "on-branch voltage at zero current",
        unit: "V",
        needs: "measure points at currents 3 : 1 apart or more",
    },
    Told {
        key: "dynamic_resistance",
        meaning: "dynamic resistance",
        unit: "Ω",
        needs: "measure points at currents 3 : 1 apart or more",
    },
];

/// On-branch `V = V0 + R I`, and the highest voltage seen in the off-state as trigger voltage.
///
/// # Errors
/// [`Refusal`]: unusable numbers or fewer than two points on the on-branch.
pub fn fit(points: &[CurvePoint], settings: &Settings) -> Result<Fit, Refusal> {
    let points: Vec<Point> = points.iter().map(|&p| p.into()).collect();
    check(
        &points,
        ("current", Sign::NotNegative),
        ("voltage", Sign::Positive),
    )?;
    let branches = above(&points, OFF_SHARE);
    let mut draft = draft("flat-clamp", "V = V0 + R I");
    for &k in &branches.off {
        draft.point(k + 1, "the off-state", (points[k].x, points[k].y), None);
    }
    let (on, numbers) = pick(&points, &branches.on);
    let outcome = straight(&mut draft, ON, &on, &numbers, &TOLD, settings)?;
    let trigger = branches.off.iter().map(|&k| points[k].y).reduce(f64::max);
    observed(
        &mut draft,
        Told {
            key: "breakdown",
            meaning: "trigger voltage: highest voltage seen in the off-state",
            unit: "V",
            needs: "measure points below the trigger, at under 2 % of the highest current",
        },
        trigger,
    );
    draft.datum(Datum::OnVoltage(outcome.values[0]));
    draft.datum(Datum::DynamicResistance(outcome.values[1]));
    if let Some(trigger) = trigger {
        draft.datum(Datum::Breakdown(trigger, None));
    }
    draft.finish(
        "Points below 2 % of the highest current are the off-state, and the highest of their voltages the trigger voltage; \
         least squares of V = V0 + R I over the others, equal weights unless standard deviations are given.",
    )
}
