//! The levels to be shot.

use tidewall_stress::catalogue::{StressRequest, listed_levels};
use tidewall_study::StressCase;

use super::result::{Noted, Step};
use super::words::{DERIVED, MEMORY, PRACTICE, SOURCE, noted};
use crate::level::study_level;

/// A hair of slack, so that a level that is listed counts as itself.
const SAME: f64 = 1e-9;

/// The levels of a stress from the lowest listed one to the required one, and why.
pub(super) fn steps(case: &StressCase) -> (Vec<Step>, Noted) {
    let (required, unit, what) = study_level(case);
    let standard = case.disturbance.standard;
    let listed = if unit == "V" && what == "level" {
        listed(standard, &case.request)
    } else {
        Vec::new()
    };
    let mut steps: Vec<Step> = listed
        .iter()
        .filter(|(_, level)| *level < required * (1.0 - SAME))
        .map(|(name, level)| Step {
            level: *level,
            name: name.clone(),
            share: level / required,
        })
        .collect();
    let own = listed
        .iter()
        .find(|(_, level)| (level / required - 1.0).abs() <= SAME)
        .and_then(|(name, _)| name.clone());
    let lower = !steps.is_empty();
    steps.push(Step {
        level: required,
        name: own,
        share: 1.0,
    });
    (steps, reason(standard, lower, listed.is_empty()))
}

/// Levels of the standard with their names. Where the edition is left open and decides the names, the levels that the
/// editions have in common stand without one.
fn listed(standard: &str, request: &StressRequest) -> Vec<(Option<String>, f64)> {
    let named = |request: &StressRequest| -> Vec<(Option<String>, f64)> {
        let list = listed_levels(standard, request).iter();
        list.map(|(name, level)| (Some((*name).to_owned()), *level))
            .collect()
    };
    let found = named(request);
    if !found.is_empty() || request.edition.is_some() {
        return found;
    }
    let of = |edition: &str| {
        named(&StressRequest {
            edition: Some(edition.to_owned()),
            ..request.clone()
        })
    };
    let (second, third) = (of("2"), of("3"));
    let common = second
        .into_iter()
        .filter(|(_, level)| third.iter().any(|(_, other)| other == level));
    common.map(|(_, level)| (None, level)).collect()
}

fn reason(standard: &str, lower: bool, none_listed: bool) -> Noted {
    match standard {
        _ if none_listed => noted(
            "no levels of the standard are known here, so the required one stands alone",
            PRACTICE,
        ),
        _ if !lower => noted("no listed level lies below the required one", DERIVED),
        "IEC 61000-4-5" => noted("all lower levels must be met too; start with the lowest", SOURCE),
        "IEC 61000-4-2" => noted(
            "raise the voltage from the lowest level, to find any threshold of failure",
            MEMORY,
        ),
        _ => noted(
            "the standard asks for the required level alone; lower ones first show mistakes of the set-up while they \
             cost little",
            PRACTICE,
        ),
    }
}
