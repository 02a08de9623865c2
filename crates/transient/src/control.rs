//! Lengths of steps.

use crate::method::ORDER;

/// How often one step may be refused for its energy residual or for an extreme inside it before it is taken all the
/// same (the audit of the whole run still judges the result).
pub(crate) const MOST_REFUSALS: u32 = 7;
/// Share of the error expected from the step before that a step's error is taken to have at least: where the error passes
/// through zero, as it does in every ringing, the next step would be too long.
const MEMORY: f64 = 0.6;
/// Length of the next try over that of a step refused for its energy residual.
pub(crate) const REFUSED: f64 = 0.4;

/// `0.9 error^(−1/4)`: the change of length that would bring the scaled error to two thirds of its limit.
fn ideal(error: f64) -> f64 {
    const { assert!(ORDER == 4) };
    0.9 / error.sqrt().sqrt()
}

/// Length of the next step over that of one just accepted, from its scaled error, from the error that the step before made
/// one expect, and from whether tries of it were rejected, or refused.
pub(crate) fn growth(error: f64, expected: f64, rejected: bool, refusals: u32) -> f64 {
    let growth = ideal(error.max(MEMORY * expected)).clamp(0.2, 6.0);
    match (rejected, refusals) {
        (true, _) => growth.min(1.0),
        (false, 0) => growth,
        // Back to the length before one refusal.
        (false, _) => growth.min(1.0 / REFUSED),
    }
}

/// Length of the next try over that of one rejected for its error.
pub(crate) fn shrink(error: f64) -> f64 {
    if error.is_finite() {
        ideal(error).clamp(0.1, 0.9)
    } else {
        0.1
    }
}

/// Length of a try, and whether it ends at the instant `left` seconds away: neither overshot nor left a splinter before.
pub(crate) fn fitted(wanted_s: f64, left_s: f64) -> (f64, bool) {
    if wanted_s * 1.05 >= left_s {
        (left_s, true)
    } else if wanted_s * 2.0 > left_s {
        (0.5 * left_s, false)
    } else {
        (wanted_s, false)
    }
}
