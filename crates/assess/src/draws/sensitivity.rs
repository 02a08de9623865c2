//! Which tolerance decides: rank correlations over the draws, and one axis at a time from the worst specimen.

use std::collections::BTreeMap;
use std::sync::atomic::{AtomicBool, Ordering};

use rayon::prelude::*;
use tidewall_transient::Options;

use super::Plan;
use super::axes::{Axis, AxisKind};
use super::population::{Population, Stresses};
use super::random::positions;
use super::result::{AxisSensitivity, Sensitivity};
use super::tally::{CheckTally, Tally};
use crate::result::Verdict;

/// How many checks are looked at.
const CHECKS: usize = 3;

/// Spearman's rank correlation: Pearson's correlation of the ranks, equal values sharing the mean of theirs (Spearman
/// 1904; ties as usual). `None` with fewer than three pairs or where one side does not vary.
pub fn rank_correlation(pairs: &[(f64, f64)]) -> Option<f64> {
    if pairs.len() < 3 {
        return None;
    }
    let a = ranks(pairs.iter().map(|pair| pair.0));
    let b = ranks(pairs.iter().map(|pair| pair.1));
    let mean = 0.5 * (pairs.len() as f64 + 1.0);
    let product =
        |a: &[f64], b: &[f64]| -> f64 { a.iter().zip(b).map(|(a, b)| (a - mean) * (b - mean)).sum() };
    let scale = (product(&a, &a) * product(&b, &b)).sqrt();
    (scale > 0.0).then(|| product(&a, &b) / scale)
}

fn ranks(values: impl Iterator<Item = f64>) -> Vec<f64> {
    let values: Vec<f64> = values.collect();
    let mut order: Vec<usize> = (0..values.len()).collect();
    order.sort_by(|a, b| values[*a].total_cmp(&values[*b]));
    let mut ranks = vec![0.0; values.len()];
    let mut start = 0;
    for group in order.chunk_by(|a, b| values[*a] == values[*b]) {
        let shared = start as f64 + 0.5 * (group.len() as f64 + 1.0);
        for &place in group {
            ranks[place] = shared;
        }
        start += group.len();
    }
    ranks
}

/// Sensitivities of the checks that come off worst among those whose margin depends on the draw.
pub(super) fn of(
    population: &Population,
    tally: &Tally,
    plan: &Plan,
    options: &Options,
    cancel: &AtomicBool,
) -> Vec<Sensitivity> {
    let mut found = Vec::new();
    for (check, worst) in tally.varying().into_iter().take(CHECKS) {
        if cancel.load(Ordering::Relaxed) {
            break;
        }
        found.push(of_check(population, check, worst, plan, options));
    }
    found
}

fn of_check(
    population: &Population,
    check: &CheckTally,
    (draw, margin, _): (u64, f64, Verdict),
    plan: &Plan,
    options: &Options,
) -> Sensitivity {
    let axes = population.axes();
    let stress = check.stress.as_ref().and_then(|id| population.stress(id));
    let stresses = stress.map_or(Stresses::None, Stresses::One);
    let at = |draw| positions(plan.seed, draw, axes.len(), plan.distribution);
    let base = at(draw);
    // The generator of another stress cannot matter.
    let matters = |axis: &Axis| match axis.kind {
        AxisKind::Amplitude { stress: of } => stress == Some(of),
        _ => true,
    };
    let moved: Vec<usize> = (0..axes.len()).filter(|axis| matters(&axes[*axis])).collect();
    let ends: BTreeMap<(usize, bool), Option<f64>> = moved
        .par_iter()
        .flat_map_iter(|axis| [(*axis, false), (*axis, true)])
        .map(|(axis, high)| {
            let mut positions = base.clone();
            positions[axis] = if high { 1.0 } else { 0.0 };
            let results = population.judge(&positions, stresses, options);
            let margin = results
                .iter()
                .find(|result| check.is(result))
                .and_then(|result| result.margin);
            ((axis, high), margin)
        })
        .collect();
    let drawn: Vec<(Vec<f64>, f64)> = check
        .margins
        .iter()
        .map(|(draw, margin, _)| (at(*draw), *margin))
        .collect();
    let mut list: Vec<AxisSensitivity> = moved
        .iter()
        .map(|&axis| {
            let margin_low = ends[&(axis, false)];
            let margin_high = ends[&(axis, true)];
            let pairs: Vec<(f64, f64)> = drawn.iter().map(|(at, margin)| (at[axis], *margin)).collect();
            AxisSensitivity {
                axis: axes[axis].name.clone(),
                what: axes[axis].moves().to_owned(),
                margin_low,
                margin_high,
                swing: margin_low.zip(margin_high).map(|(low, high)| high - low),
                rank_correlation: rank_correlation(&pairs),
            }
        })
        .collect();
    list.sort_by(|a, b| {
        let size = |axis: &AxisSensitivity| axis.swing.map_or(-1.0, f64::abs);
        size(b).total_cmp(&size(a))
    });
    Sensitivity {
        check: check.check,
        stress: check.stress.clone(),
        element: check.element.clone(),
        draw,
        margin,
        axes: list,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ranks_correlate_as_they_should() {
        let pairs =
            |f: fn(f64) -> f64| -> Vec<(f64, f64)> { (0..20).map(f64::from).map(|x| (x, f(x))).collect() };
        assert_eq!(rank_correlation(&pairs(|x| x.powi(3))), Some(1.0));
        assert_eq!(rank_correlation(&pairs(|x| -x.exp())), Some(-1.0));
        assert_eq!(rank_correlation(&pairs(|_| 1.0)), None);
        assert_eq!(rank_correlation(&[(1.0, 2.0), (2.0, 3.0)]), None);
        // Worked by hand: ranks (1, 2.5, 2.5, 4) against (1, 3, 2, 4) give 4.5 / √(4.5 · 5).
        let tied = [(1.0, 10.0), (2.0, 30.0), (2.0, 20.0), (3.0, 40.0)];
        let wanted = 4.5 / (4.5f64 * 5.0).sqrt();
        assert!((rank_correlation(&tied).unwrap() - wanted).abs() < 1e-12);
    }
}
