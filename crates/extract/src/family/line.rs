//! Straight branches `V = V0 + R I`.

use super::draft::{Draft, Told};
use super::input::{deviations, enough, range, weights};
use super::{CONFIDENCE, Point, Refusal, Settings, Standing, WarningKind};
use crate::fit::{Outcome, Parameter, Problem, Scale, student_t};

/// A fall of the voltage between neighbouring points that counts as one: the resolution of an eight-bit record (0.4 %).
const FALL: f64 = 0.004;
/// Confidence at which a bend is reported.
const BEND_CONFIDENCE: f64 = 0.99;

fn line(values: &[f64], x: f64) -> f64 {
    values[0] + values[1] * x
}

/// Fits the branch `of` and writes it into the draft: intercept and slope as `told`, the points numbered by `numbers`.
pub(super) fn straight(
    draft: &mut Draft,
    of: &'static str,
    points: &[Point],
    numbers: &[usize],
    told: &[Told; 2],
    settings: &Settings,
) -> Result<Outcome, Refusal> {
    enough(points, of, "current", 2)?;
    let observed: Vec<f64> = points.iter().map(|p| p.y).collect();
    let sigmas = deviations(points, false);
    let (low, high) = range(points);
    let height = observed.iter().fold(0.0f64, |m, v| m.max(v.abs())).max(1e-30);
    let parameters = [
        Parameter::new("intercept", Scale::Linear { typical: height }, observed[0]),
        Parameter::new(
            "slope",
            Scale::Linear {
                typical: height / high,
            },
            0.1 * height / high,
        ),
    ];
    let model = |values: &[f64], k: usize| line(values, points[k].x);
    let problem = Problem {
        weights: weights(&sigmas),
        loss: settings.loss,
        confidence: CONFIDENCE,
        ..Problem::new(&parameters, &observed, &model)
    };
    let outcome = problem.solve()?;
    draft.outcome(&outcome, told, sigmas.is_some());
    for (point, number) in points.iter().zip(numbers) {
        draft.point(
            *number,
            of,
            (point.x, point.y),
            Some(line(&outcome.values, point.x)),
        );
    }
    draft.band(of, (low, high), &outcome, line, |v| v);
    draft.usual_warnings(of, points.len(), Some(high / low));
    monotonic(draft, of, points);
    if outcome.values[1] <= 0.0 {
        draft.warn(
            WarningKind::Implausible,
            format!("the slope of {of} is not above zero: no resistance has been seen"),
        );
    }
    if points.len() >= 5 {
        bend(draft, of, &problem, points)?;
    }
    Ok(outcome)
}

/// Warns of a branch whose voltage falls as the current rises.
pub(super) fn monotonic(draft: &mut Draft, of: &str, points: &[Point]) {
    let mut sorted: Vec<&Point> = points.iter().collect();
    sorted.sort_by(|a, b| a.x.total_cmp(&b.x));
    if sorted
        .windows(2)
        .any(|w| w[1].x > w[0].x && w[1].y < w[0].y * (1.0 - FALL))
    {
        draft.warn(
            WarningKind::NonMonotonic,
            format!("{of} falls with rising current: part of it may belong to another branch"),
        );
    }
}

/// Tests a quadratic term: whether the points bend away from the line more than their scatter explains.
fn bend(draft: &mut Draft, of: &str, straight: &Problem, points: &[Point]) -> Result<(), Refusal> {
    let high = range(points).1;
    let curved = [
        straight.parameters[0],
        straight.parameters[1],
        Parameter::new("bend", straight.parameters[0].scale, 0.0),
    ];
    let model =
        |values: &[f64], k: usize| line(values, points[k].x) + values[2] * (points[k].x / high).powi(2);
    let outcome = Problem {
        parameters: &curved,
        model: &model,
        ..*straight
    }
    .solve()?;
    let Some(error) = outcome.standard_errors[2] else {
        return Ok(());
    };
    let t = outcome.values[2] / error;
    let limit = student_t(BEND_CONFIDENCE, outcome.freedom as f64);
    if t.abs() > limit {
        let (kind, way) = if t > 0.0 {
            (
                WarningKind::Saturation,
                "rises faster at the top: saturation, or heating by the pulse",
            )
        } else {
            (
                WarningKind::Bend,
                "flattens at the top: the lowest points may belong to the corner",
            )
        };
        draft.warn(kind, format!("{of} is no straight line; it {way}"));
    }
    Ok(())
}

/// States a value that was read off a point.
pub(super) fn observed(draft: &mut Draft, told: Told, value: Option<f64>) {
    match value {
        Some(value) => draft.estimate(told, value, Standing::Observed),
        None => draft.estimate(told, f64::NAN, Standing::NotIdentified),
    }
}
