//! A ranking in words.

use tidewall_assess::rank::{CheckLine, Placed};
use tidewall_assess::result::Verdict;
use tidewall_units::{Ohms, Quantity};

/// What stands where, in words.
pub fn placed(places: &[Placed]) -> String {
    let alone = places.len() == 1;
    let words = places.iter().map(|placed| {
        let what = match (&placed.part, placed.resistance_ohm) {
            (Some(part), _) => part.clone(),
            (None, Some(ohms)) => Ohms(ohms).rounded(3),
            (None, None) => String::new(),
        };
        if alone {
            what
        } else {
            format!("{} {what}", placed.stage)
        }
    });
    words.collect::<Vec<_>>().join(", ")
}

/// The check that decides: the one under stress that has the worst margin, or the first that is unknown.
pub fn closest(verdict: Verdict, checks: &[CheckLine], margin: Option<f64>) -> Option<&CheckLine> {
    if verdict == Verdict::Unknown {
        return checks.first();
    }
    checks
        .iter()
        .find(|check| check.stress.is_some() && check.margin.is_some() && check.margin == margin)
}

/// A check with its stress.
pub fn short(check: &CheckLine) -> String {
    match &check.stress {
        Some(stress) => format!("{}, {stress}", check.check),
        None => check.check.clone(),
    }
}
