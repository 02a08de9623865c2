//! Counting what the draws come to.

use super::population::Population;
use super::random::positions;
use super::result::{AxisResult, DrawnCheck, DrawnPosition, DrawsResult, Proportion, WorstSpecimen};
use super::{Axis, Plan};
use crate::result::{CheckResult, Verdict};

/// Quantile of the normal distribution at 97.5 %, for two-sided intervals of 95 %.
const Z_95: f64 = 1.959_963_984_540_054;

/// The 95 % score interval of a share (Wilson 1927): `(p + z²/2n ± z √(p (1 − p)/n + z²/4n²)) / (1 + z²/n)`.
///
/// `(0, 1)` without a trial.
pub fn wilson(count: u64, of: u64) -> (f64, f64) {
    if of == 0 {
        return (0.0, 1.0);
    }
    let (n, share) = (of as f64, count as f64 / of as f64);
    let z2 = Z_95 * Z_95;
    let middle = share + z2 / (2.0 * n);
    let half = Z_95 * (share * (1.0 - share) / n + z2 / (4.0 * n * n)).sqrt();
    let scale = 1.0 + z2 / n;
    // At none and at all of them the end is exact; rounding must not move it.
    let low = if count == 0 { 0.0 } else { (middle - half) / scale };
    let high = if count == of { 1.0 } else { (middle + half) / scale };
    (low, high)
}

fn proportion(count: u64, of: u64) -> Option<Proportion> {
    let (low, high) = wilson(count, of);
    (of > 0).then(|| Proportion {
        count,
        of,
        share: count as f64 / of as f64,
        low,
        high,
    })
}

/// Quantile of rising values at a share from 0 to 1, straight between the two nearest (definition 7 of Hyndman and Fan
/// 1996). `None` without values.
pub fn quantile(rising: &[f64], share: f64) -> Option<f64> {
    let place = share * (rising.len().checked_sub(1)?) as f64;
    let below = place.floor() as usize;
    let above = (below + 1).min(rising.len() - 1);
    Some(rising[below] + (place - below as f64) * (rising[above] - rising[below]))
}

/// One check of one thing.
pub(super) struct CheckTally {
    pub check: &'static str,
    pub stress: Option<String>,
    pub element: String,
    pub failures: u64,
    judged: u64,
    unknown: u64,
    /// Draw, margin and verdict, in the order of the draws.
    pub margins: Vec<(u64, f64, Verdict)>,
}

impl CheckTally {
    /// The draw at which it comes off worst: a failure first, then the lowest margin, then the earliest draw.
    pub fn worst(&self) -> Option<(u64, f64, Verdict)> {
        let badness = |entry: &(u64, f64, Verdict)| (entry.2 != Verdict::Fail, entry.1);
        self.margins.iter().copied().min_by(|a, b| {
            let (a, b) = (badness(a), badness(b));
            a.0.cmp(&b.0).then(a.1.total_cmp(&b.1))
        })
    }

    /// True for a check of the design whose margin is not the same in all draws, but for rounding. The energy audit
    /// judges the calculation, not the design.
    pub fn varies(&self) -> bool {
        if self.check == "energy-audit" {
            return false;
        }
        let ends = self
            .margins
            .iter()
            .fold((f64::INFINITY, f64::NEG_INFINITY), |ends, entry| {
                (ends.0.min(entry.1), ends.1.max(entry.1))
            });
        ends.1 - ends.0 > 1e-9 * ends.1.abs().max(1.0)
    }

    pub fn is(&self, result: &CheckResult) -> bool {
        self.check == result.check && self.stress == result.stress && self.element == result.element
    }

    fn result(&self, done: u64) -> DrawnCheck {
        let mut rising: Vec<f64> = self.margins.iter().map(|entry| entry.1).collect();
        rising.sort_by(f64::total_cmp);
        let nothing_to_judge = done - self.judged - self.unknown;
        let lowest = self.margins.iter().min_by(|a, b| a.1.total_cmp(&b.1));
        DrawnCheck {
            check: self.check,
            stress: self.stress.clone(),
            element: self.element.clone(),
            failures: self.failures,
            judged: self.judged,
            unknown: self.unknown,
            nothing_to_judge,
            probability: proportion(self.failures, self.judged + nothing_to_judge),
            worst_margin: lowest.map(|entry| entry.1),
            worst_draw: lowest.map(|entry| entry.0),
            margin_p05: quantile(&rising, 0.05),
            margin_p50: quantile(&rising, 0.5),
            margin_p95: quantile(&rising, 0.95),
        }
    }
}

/// All draws so far.
#[derive(Default)]
pub(super) struct Tally {
    pub done: u64,
    failing: u64,
    undecided: u64,
    pub checks: Vec<CheckTally>,
}

impl Tally {
    /// Adds the checks of a draw. Draws come in their order.
    pub fn add(&mut self, draw: u64, results: &[CheckResult]) {
        self.done += 1;
        let any = |verdict| results.iter().any(|result| result.verdict == verdict);
        if any(Verdict::Fail) {
            self.failing += 1;
        } else if any(Verdict::Unknown) {
            self.undecided += 1;
        }
        for result in results {
            let known = self.checks.iter().position(|check| check.is(result));
            let place = known.unwrap_or_else(|| {
                self.checks.push(CheckTally {
                    check: result.check,
                    stress: result.stress.clone(),
                    element: result.element.clone(),
                    failures: 0,
                    judged: 0,
                    unknown: 0,
                    margins: Vec::new(),
                });
                self.checks.len() - 1
            });
            let check = &mut self.checks[place];
            match result.verdict {
                Verdict::Unknown => check.unknown += 1,
                verdict => {
                    check.judged += 1;
                    check.failures += u64::from(verdict == Verdict::Fail);
                    if let Some(margin) = result.margin {
                        check.margins.push((draw, margin, verdict));
                    }
                }
            }
        }
    }

    /// Checks whose margin depends on the draw, the one that comes off worst first.
    pub fn varying(&self) -> Vec<(&CheckTally, (u64, f64, Verdict))> {
        let mut varying: Vec<_> = self
            .checks
            .iter()
            .filter(|check| check.varies())
            .filter_map(|check| Some((check, check.worst()?)))
            .collect();
        varying.sort_by(|(_, a), (_, b)| {
            let fails = |entry: &(u64, f64, Verdict)| entry.2 == Verdict::Fail;
            fails(b).cmp(&fails(a)).then(a.1.total_cmp(&b.1))
        });
        varying
    }

    pub fn result(&self, population: &Population, plan: &Plan) -> DrawsResult {
        let mut checks: Vec<DrawnCheck> = self.checks.iter().map(|check| check.result(self.done)).collect();
        checks.sort_by(|a, b| {
            let margin = |check: &DrawnCheck| check.worst_margin.unwrap_or(f64::INFINITY);
            b.failures
                .cmp(&a.failures)
                .then(margin(a).total_cmp(&margin(b)))
                .then(b.unknown.cmp(&a.unknown))
        });
        let axes = population.axes();
        let worst = self
            .varying()
            .first()
            .map(|(check, (draw, margin, verdict))| WorstSpecimen {
                draw: *draw,
                check: check.check,
                stress: check.stress.clone(),
                element: check.element.clone(),
                verdict: *verdict,
                margin: *margin,
                positions: placed(axes, &positions(plan.seed, *draw, axes.len(), plan.distribution)),
            });
        DrawsResult {
            asked: plan.count,
            done: self.done,
            complete: self.done == plan.count,
            seed: plan.seed,
            distribution: plan.distribution,
            any_failure: proportion(self.failing, self.done),
            undecided: self.undecided,
            checks,
            worst,
            beyond_corners: Vec::new(),
            axes: axes.iter().map(axis_result).collect(),
            notes: notes(plan, axes),
        }
    }
}

fn axis_result(axis: &Axis) -> AxisResult {
    AxisResult {
        axis: axis.name.clone(),
        what: axis.what.to_owned(),
        low: axis.value(0.0),
        high: axis.value(1.0),
        unit: axis.unit,
    }
}

fn placed(axes: &[Axis], positions: &[f64]) -> Vec<DrawnPosition> {
    axes.iter()
        .zip(positions)
        .map(|(axis, position)| DrawnPosition {
            axis: axis.name.clone(),
            what: axis.what.to_owned(),
            position: *position,
            value: axis.value(*position),
            unit: axis.unit,
        })
        .collect()
}

/// What the numbers rest on.
fn notes(plan: &Plan, axes: &[Axis]) -> Vec<String> {
    let mut notes = vec![
        format!(
            "positions are {} and independent of each other (common practice, no source): a probability is that of \
             this assumption, not of a production",
            plan.distribution.words()
        ),
        "all data of a part that have a minimum and a maximum move together; what is known from one side only, \
         holding data, ratings and the capacitance in transients are the same for every specimen"
            .to_owned(),
        "series elements, capacitors, tracks and the pin have no tolerance here".to_owned(),
        "each draw runs every stress in all of its polarities; the blind spot below the firing of a first stage is \
         not drawn"
            .to_owned(),
        "intervals are 95 % score intervals (Wilson 1927) of the drawing alone".to_owned(),
    ];
    if axes.is_empty() {
        notes.push("nothing has a tolerance: all draws are alike".to_owned());
    }
    notes
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn score_intervals_have_their_published_ends() {
        // Newcombe 1998 (from memory), table I: 81 of 263, 15 of 148, 0 of 20, 1 of 29.
        for (count, of, low, high) in [
            (81, 263, 0.2553, 0.3662),
            (15, 148, 0.0624, 0.1605),
            (0, 20, 0.0, 0.1611),
            (1, 29, 0.0061, 0.1718),
        ] {
            let (a, b) = wilson(count, of);
            assert!(
                (a - low).abs() < 5e-5 && (b - high).abs() < 5e-5,
                "{count}/{of}: {a} {b}"
            );
        }
        assert_eq!(wilson(5, 5).1, 1.0);
        assert_eq!(wilson(0, 0), (0.0, 1.0));
    }

    #[test]
    fn quantiles_lie_straight_between_values() {
        let rising = [1.0, 2.0, 4.0, 8.0, 16.0];
        assert_eq!(quantile(&rising, 0.0), Some(1.0));
        assert_eq!(quantile(&rising, 0.5), Some(4.0));
        assert_eq!(quantile(&rising, 0.875), Some(12.0));
        assert_eq!(quantile(&rising, 1.0), Some(16.0));
        assert_eq!(quantile(&[], 0.5), None);
    }
}
