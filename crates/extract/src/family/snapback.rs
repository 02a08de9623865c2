//! Snapback clamps: off-branch, trigger, hold point and on-branch of a transmission-line-pulse curve.

use super::branch::{BISTABLE, folded, pick};
use super::data::Datum;
use super::draft::{Draft, Told};
use super::input::{Sign, check};
use super::line::{observed, straight};
use super::{CurvePoint, Fit, Point, Refusal, Settings, WarningKind};

/// Names under which the values of a folding part are known.
pub(super) struct Names {
    pub family: &'static str,
    pub law: &'static str,
    pub trigger: &'static str,
    pub trigger_current: &'static str,
}

const OFF: &str = "the off-branch";
const ON: &str = "the on-branch";

/// On-branch `V = V0 + R I` above the hold point; trigger and hold points as they were seen.
///
/// Points between trigger and hold are rejected: on that stretch the characteristic has more than one answer. The hold
/// voltage is the line's at the lowest current seen on the on-branch; the part may hold at still lower currents, which
/// only a falling direct current shows.
///
/// # Errors
/// [`Refusal`]: unusable numbers, no fold, or fewer than two points on the on-branch.
pub fn fit(points: &[CurvePoint], settings: &Settings) -> Result<Fit, Refusal> {
    let names = Names {
        family: "snapback",
        law: "on-branch V = V0 + R I from the hold point on",
        trigger: "trigger voltage",
        trigger_current: "current at the trigger point",
    };
    folding(points, settings, &names)
}

/// On-branch alone: all points are on it.
///
/// # Errors
/// [`Refusal`]: unusable numbers or fewer than two points.
pub fn on_branch(points: &[CurvePoint], settings: &Settings) -> Result<Fit, Refusal> {
    let points: Vec<Point> = points.iter().map(|&p| p.into()).collect();
    check(&points, ("current", Sign::Positive), ("voltage", Sign::Positive))?;
    let mut draft = draft("snapback-on-branch", "V = V0 + R I");
    let places: Vec<usize> = (0..points.len()).collect();
    let numbers: Vec<usize> = places.iter().map(|k| k + 1).collect();
    let outcome = straight(&mut draft, ON, &points, &numbers, &ON_TOLD, settings)?;
    draft.datum(Datum::OnVoltage(outcome.values[0]));
    draft.datum(Datum::DynamicResistance(outcome.values[1]));
    draft.finish(
        "Least squares of V = V0 + R I over all points, equal weights unless standard deviations are given.",
    )
}

pub(super) const ON_TOLD: [Told; 2] = [
    Told {
        key: "on_voltage",
        meaning: "on-state voltage at zero current",
        unit: "V",
        needs: "measure on-branch points at currents 3 : 1 apart or more",
    },
    Told {
        key: "dynamic_resistance",
        meaning: "dynamic resistance of the on-branch",
        unit: "Ω",
        needs: "measure on-branch points at currents 3 : 1 apart or more",
    },
];

pub(super) fn draft(family: &str, law: &str) -> Draft {
    Draft::new(family, law, ("current", "A"), ("voltage", "V"), "V")
}

pub(super) fn folding(points: &[CurvePoint], settings: &Settings, names: &Names) -> Result<Fit, Refusal> {
    let points: Vec<Point> = points.iter().map(|&p| p.into()).collect();
    check(
        &points,
        ("current", Sign::NotNegative),
        ("voltage", Sign::Positive),
    )?;
    let branches = folded(&points)?;
    let mut draft = draft(names.family, names.law);
    for &k in &branches.off {
        draft.point(k + 1, OFF, (points[k].x, points[k].y), None);
    }
    for &k in &branches.between {
        draft.rejected(k + 1, "between", (points[k].x, points[k].y), BISTABLE);
    }
    let (on, numbers) = pick(&points, &branches.on);
    let outcome = straight(&mut draft, ON, &on, &numbers, &ON_TOLD, settings)?;
    let trigger = branches.off.last().map(|&k| points[k]);
    let told = |key, meaning, unit| Told {
        key,
        meaning,
        unit,
        needs: "measure points below the trigger in finer steps",
    };
    let v = trigger.map(|p| p.y);
    observed(&mut draft, told("breakdown", names.trigger, "V"), v);
    observed(
        &mut draft,
        told("breakdown_at", names.trigger_current, "A"),
        trigger.map(|p| p.x),
    );
    let lowest = on[0].x;
    let hold = draft.derived(
        told(
            "hold_voltage",
            "on-state voltage at the lowest current seen on the on-branch",
            "V",
        ),
        &outcome,
        |values| values[0] + values[1] * lowest,
    );
    observed(
        &mut draft,
        told("hold_current_seen", "lowest current seen on the on-branch", "A"),
        Some(lowest),
    );
    draft.warn(
        WarningKind::Assumption,
        "the part may hold at currents below the lowest on-branch point: measure the holding current with a falling \
         direct current before judging latch-up",
    );
    if let Some(trigger) = trigger {
        draft.datum(Datum::Breakdown(
            trigger.y,
            (trigger.x > 0.0).then_some(trigger.x),
        ));
        if trigger.y < hold {
            draft.warn(
                WarningKind::Implausible,
                "the trigger voltage lies below the holding voltage",
            );
        }
    }
    draft.datum(Datum::OnVoltage(outcome.values[0]));
    draft.datum(Datum::DynamicResistance(outcome.values[1]));
    draft.datum(Datum::HoldVoltage(hold));
    draft.finish(
        "Points in the order of their currents; trigger point: highest voltage before it falls by 5 % or more; hold point: \
         lowest voltage after that; points between the two rejected; least squares of V = V0 + R I from the hold point on, \
         equal weights unless standard deviations are given; holding voltage: the line at the lowest of those currents.",
    )
}
