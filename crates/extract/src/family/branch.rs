//! Which branch a point of a folding characteristic belongs to.

use super::{Point, Refusal};

/// Branches by the places of the points.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Branches {
    /// Before the trigger point, that one included.
    pub off: Vec<usize>,
    /// Between trigger and hold.
    pub between: Vec<usize>,
    /// From the hold point on.
    pub on: Vec<usize>,
}

/// Why a point between trigger and hold is no use.
pub(super) const BISTABLE: &str = "between trigger and hold: the part may stand on either branch there, and which one \
    depends on the source, so that the point belongs to neither";

/// A fall of the voltage by this share is a fold and no scatter.
const FOLD: f64 = 0.05;

/// Splits a curve that folds back. Points are taken in the order of their currents.
///
/// The trigger point is the highest one before the first fold (a fall by 5 % or more), the hold point the lowest one
/// after it: what lies between is on no branch.
pub(super) fn folded(points: &[Point]) -> Result<Branches, Refusal> {
    let mut order: Vec<usize> = (0..points.len()).collect();
    order.sort_by(|&a, &b| points[a].x.total_cmp(&points[b].x));
    let v = |k: usize| points[order[k]].y;
    let mut trigger = 0;
    let mut fold = None;
    for k in 1..order.len() {
        if v(k) >= v(trigger) {
            trigger = k;
        } else if v(k) < (1.0 - FOLD) * v(trigger) {
            fold = Some(k);
            break;
        }
    }
    let Some(fold) = fold else {
        return Err(Refusal::Contradiction(
            "the voltage never falls back by 5 % or more: this is no curve of a snapback part, or the points below the \
             trigger are missing",
        ));
    };
    let hold = (fold..order.len())
        .min_by(|&a, &b| v(a).total_cmp(&v(b)))
        .unwrap_or(fold);
    Ok(Branches {
        off: order[..=trigger].to_vec(),
        between: order[trigger + 1..hold].to_vec(),
        on: order[hold..].to_vec(),
    })
}

/// Splits a curve at a share of its highest current.
pub(super) fn above(points: &[Point], share: f64) -> Branches {
    let top = points.iter().fold(0.0f64, |m, p| m.max(p.x));
    let mut order: Vec<usize> = (0..points.len()).collect();
    order.sort_by(|&a, &b| points[a].x.total_cmp(&points[b].x));
    let (off, on) = order.into_iter().partition(|&k| points[k].x < share * top);
    Branches {
        off,
        between: Vec::new(),
        on,
    }
}

/// The points at some places, with their numbers from 1.
pub(super) fn pick(points: &[Point], places: &[usize]) -> (Vec<Point>, Vec<usize>) {
    (
        places.iter().map(|&k| points[k]).collect(),
        places.iter().map(|&k| k + 1).collect(),
    )
}
