//! The highest level of each stress that a design survives.
//!
//! The amplitude of one stress is scaled, all else stays, and every corner of that stress is run as [`crate::assess`] runs
//! it, the blind spot below a first stage's firing included. The design survives a level if none of the checks of that
//! stress fails.

use std::sync::atomic::{AtomicBool, Ordering};

use schemars::JsonSchema;
use serde::Serialize;
use tidewall_stress::catalogue::listed_levels;
use tidewall_study::{StressCase, Study};
use tidewall_transient::Options;

use crate::corners::{self, Case};
use crate::firing;
use crate::result::{CheckResult, Verdict};
use crate::simulate::{self, Ports, Runs};
use crate::text::{amps, volts};

/// Factors on the level that are tried first, a factor of √2 apart.
const SCAN: [f64; 9] = [
    0.25,
    0.25 * std::f64::consts::SQRT_2,
    0.5,
    std::f64::consts::FRAC_1_SQRT_2,
    1.0,
    std::f64::consts::SQRT_2,
    2.0,
    2.0 * std::f64::consts::SQRT_2,
    4.0,
];
/// The boundary is found to this share.
const CLOSE: f64 = 0.01;
/// Levels looked at for one stress at most: the scan, and bisections of one step to a hundredth (⌈log₂ (ln √2 / ln
/// 1.01)⌉).
const MOST: usize = SCAN.len() + 6;

/// How a search for the highest level ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum LevelOutcome {
    /// The boundary was found.
    Found,
    /// The design survives the highest level that was tried.
    SurvivesAll,
    /// It fails at the lowest level that was tried.
    FailsAtLowest,
    /// The search was cancelled.
    Cancelled,
}

/// The highest level of one stress that the design survives.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct HighestLevel {
    /// Id of the stress.
    pub stress: String,
    /// How the search ended.
    pub outcome: LevelOutcome,
    /// Lowest factor on the study's level that was tried.
    pub tried_from: f64,
    /// Highest factor that was tried.
    pub tried_to: f64,
    /// Highest factor on the study's level up to which every level that was tried is survived; found to 1 %.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub factor: Option<f64>,
    /// The level there, in `unit`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub level: Option<f64>,
    /// The study's own level, in `unit`.
    pub study_level: f64,
    /// Unit of the levels.
    pub unit: &'static str,
    /// What the levels are: "level" as the study states it, or "open-circuit peak" or "short-circuit peak" where it
    /// states none.
    pub what: &'static str,
    /// The level in words.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub text: Option<String>,
    /// Lowest factor at which it was seen to fail.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub fails_at: Option<f64>,
    /// The check that fails there, at its worst corner.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub gives_way: Option<CheckResult>,
    /// Factors above that at which it survives again: what fails is a band of levels, not all from there on.
    pub survives_again_at: Vec<f64>,
    /// Checks of this stress that are unknown at the highest survived level.
    pub unknown: Vec<String>,
    /// Highest level listed in the standard that is survived, in words.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub listed_survived: Option<String>,
    /// The next one listed in the standard.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub listed_next: Option<String>,
}

/// Searches the highest survived level of every stress, in the order of the study.
///
/// `progress` is called with (done, at most) levels run. One that fails at the corner that failed last is not run at the
/// others.
/// When `cancel` becomes true, the level that is running is finished; the stresses without a result say so.
pub fn highest_levels(
    study: &Study,
    options: &Options,
    progress: &(dyn Fn(usize, usize) + Sync),
    cancel: &AtomicBool,
) -> Vec<HighestLevel> {
    let all = study.stresses.len() * MOST;
    // Models do not depend on the level.
    let ports = Ports::new(study, &corners::cases(study));
    (0..study.stresses.len())
        .map(|stress| {
            let mut done = stress * MOST;
            let mut seen: Vec<(f64, Vec<CheckResult>)> = Vec::new();
            let mut suspect: Option<Case> = None;
            let found = search(&mut |factor| {
                if cancel.load(Ordering::Relaxed) {
                    return None;
                }
                done += 1;
                // The corner that failed last fails first: one failing corner decides.
                let survives =
                    if suspect.is_some_and(|case| fails_alone(study, &ports, &case, factor, options)) {
                        false
                    } else {
                        let results = checks_of(study, &ports, stress, factor, options);
                        let failing = results.iter().find(|result| result.verdict == Verdict::Fail);
                        let survives = failing.is_none();
                        if let Some(failing) = failing {
                            let place = cases_at(study, stress, factor)
                                .iter()
                                .position(|case| Some(case.corner()) == failing.corner);
                            suspect = place.map(|place| cases_at(study, stress, 1.0)[place]);
                        }
                        seen.push((factor, results));
                        survives
                    };
                progress(done, all);
                Some(survives)
            });
            let at = |factor: Option<f64>| -> Vec<CheckResult> {
                let Some(factor) = factor else { return Vec::new() };
                let known = seen.iter().find(|(of, _)| *of == factor);
                known.map_or_else(
                    || checks_of(study, &ports, stress, factor, options),
                    |(_, results)| results.clone(),
                )
            };
            result(&study.stresses[stress], found.as_ref(), &at)
        })
        .collect()
}

fn scaled(case: &Case, factor: f64) -> Case {
    Case {
        factor: factor * case.factor,
        ..*case
    }
}

/// The corners of one stress at a factor on its level, without blind spots.
fn cases_at(study: &Study, stress: usize, factor: f64) -> Vec<Case> {
    let all = corners::cases(study).into_iter();
    all.filter(|case| case.stress == stress)
        .map(|case| scaled(&case, factor))
        .collect()
}

/// Whether some check fails at one corner, given at the study's level, on its own.
fn fails_alone(study: &Study, ports: &Ports<'_>, case: &Case, factor: f64, options: &Options) -> bool {
    let cases = [scaled(case, factor)];
    let results = simulate::simulate_in_turn(ports, &cases, options);
    let checks = Runs::of(study, &cases, results).checks(study);
    let id = &study.stresses[case.stress].id;
    checks
        .iter()
        .any(|result| result.stress.as_ref() == Some(id) && result.verdict == Verdict::Fail)
}

/// Every check of one stress at a factor on its level, worst first.
pub fn checks_at(study: &Study, stress: usize, factor: f64, options: &Options) -> Vec<CheckResult> {
    checks_of(
        study,
        &Ports::new(study, &corners::cases(study)),
        stress,
        factor,
        options,
    )
}

fn checks_of(
    study: &Study,
    ports: &Ports<'_>,
    stress: usize,
    factor: f64,
    options: &Options,
) -> Vec<CheckResult> {
    let mut cases = cases_at(study, stress, factor);
    cases.extend(firing::blind_spots(ports, &cases, options));
    let results = simulate::simulate_all(ports, &cases, options, &|_| {});
    let mut results = Runs::of(study, &cases, results).checks(study);
    let id = &study.stresses[stress].id;
    results.retain(|result| result.stress.as_ref() == Some(id));
    results
}

/// What a search finds.
#[derive(Clone, Debug, Default, PartialEq)]
struct Search {
    highest: Option<f64>,
    fails_at: Option<f64>,
    again: Vec<f64>,
}

/// Upward scan, then bisection of the first step from surviving to failing, which is taken to hold one boundary. `None`
/// when `survives` gives up.
fn search(survives: &mut dyn FnMut(f64) -> Option<bool>) -> Option<Search> {
    let mut scan = Vec::new();
    for factor in SCAN {
        scan.push((factor, survives(factor)?));
    }
    let Some(first) = scan.iter().position(|(_, survived)| !survived) else {
        return Some(Search {
            highest: scan.last().map(|(factor, _)| *factor),
            ..Search::default()
        });
    };
    let again = scan[first..]
        .iter()
        .filter(|(_, survived)| *survived)
        .map(|(factor, _)| *factor)
        .collect();
    let mut fails_at = scan[first].0;
    let mut highest = first.checked_sub(1).map(|below| scan[below].0);
    if let Some(below) = &mut highest {
        while fails_at > (1.0 + CLOSE) * *below {
            let middle = (*below * fails_at).sqrt();
            if survives(middle)? {
                *below = middle;
            } else {
                fails_at = middle;
            }
        }
    }
    Some(Search {
        highest,
        fails_at: Some(fails_at),
        again,
    })
}

/// The study's own level of a stress in its unit, and what it is.
pub fn study_level(case: &StressCase) -> (f64, &'static str, &'static str) {
    let (request, disturbance) = (&case.request, &case.disturbance);
    let named = request.level_name.as_ref().and_then(|name| {
        let listed = listed_levels(disturbance.standard, request).iter();
        listed.clone().find(|row| row.0 == name.trim()).map(|row| row.1)
    });
    let by_current = request.quantity.as_deref() == Some("current");
    match (request.level_v.or(named), request.current_a) {
        (Some(level), _) => (level, "V", "level"),
        (None, Some(current)) => (current, "A", "level"),
        (None, None) if by_current => (disturbance.short_circuit_peak_a, "A", "short-circuit peak"),
        (None, None) => (disturbance.open_circuit_peak_v, "V", "open-circuit peak"),
    }
}

fn result(
    case: &StressCase,
    found: Option<&Search>,
    at: &dyn Fn(Option<f64>) -> Vec<CheckResult>,
) -> HighestLevel {
    let (study_level, unit, what) = study_level(case);
    let words = |level: f64| if unit == "A" { amps(level) } else { volts(level) };
    let outcome = match found {
        None => LevelOutcome::Cancelled,
        Some(found) if found.highest.is_none() => LevelOutcome::FailsAtLowest,
        Some(found) if found.fails_at.is_none() => LevelOutcome::SurvivesAll,
        Some(_) => LevelOutcome::Found,
    };
    let factor = found.and_then(|found| found.highest);
    let level = factor.map(|factor| factor * study_level);
    let fails_at = found.and_then(|found| found.fails_at);
    let gives_way = at(fails_at)
        .into_iter()
        .find(|result| result.verdict == Verdict::Fail);
    let unknown = at(factor)
        .iter()
        .filter(|result| result.verdict == Verdict::Unknown)
        .map(|result| format!("{}, {}", result.check, result.element))
        .collect();
    let listed: &[(&str, f64)] = match what {
        "level" if unit == "V" => listed_levels(case.disturbance.standard, &case.request),
        _ => &[],
    };
    // A hair of slack, so that a level that is reached exactly counts as reached.
    let reached = |row: &&(&str, f64)| level.is_some_and(|level| row.1 <= level * (1.0 + 1e-9));
    let in_words = |row: &(&str, f64)| format!("level {} ({})", row.0, volts(row.1));
    let listed_next = if matches!(outcome, LevelOutcome::Found) {
        listed.iter().find(|row| !reached(row)).map(in_words)
    } else {
        None
    };
    HighestLevel {
        stress: case.id.clone(),
        outcome,
        tried_from: SCAN[0],
        tried_to: SCAN[SCAN.len() - 1],
        factor,
        level,
        study_level,
        unit,
        what,
        text: level.map(words),
        fails_at,
        gives_way,
        survives_again_at: found.map(|found| found.again.clone()).unwrap_or_default(),
        unknown,
        listed_survived: listed.iter().rfind(reached).map(in_words),
        listed_next,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn found(survives: impl Fn(f64) -> bool) -> (Search, usize) {
        let mut runs = 0;
        let found = search(&mut |factor| {
            runs += 1;
            Some(survives(factor))
        });
        (found.expect("nothing gives up"), runs)
    }

    #[test]
    fn a_boundary_anywhere_is_found_as_a_fine_scan_finds_it() {
        for step in 1..=120 {
            let boundary = 0.25 * 16f64.powf(f64::from(step) / 121.0);
            let (search, runs) = found(|factor| factor <= boundary);
            let (highest, fails_at) = (search.highest.unwrap(), search.fails_at.unwrap());
            let fine = (0..=16_000).map(|k| 0.25 * 16f64.powf(f64::from(k) / 16_000.0));
            let last = fine.take_while(|factor| *factor <= boundary).last().unwrap();
            assert!(
                highest <= boundary && fails_at > boundary,
                "{boundary}: {search:?}"
            );
            assert!(
                last / highest < 1.01 && fails_at / last < 1.0102,
                "{boundary}: {search:?}"
            );
            assert!(search.again.is_empty());
            assert!(runs <= MOST, "{runs}");
        }
    }

    #[test]
    fn ends_and_bands_are_told_apart() {
        let (all, runs) = found(|_| true);
        assert_eq!((all.highest, all.fails_at), (Some(4.0), None));
        assert_eq!(runs, SCAN.len());
        let (none, _) = found(|_| false);
        assert_eq!((none.highest, none.fails_at), (None, Some(0.25)));
        let (band, _) = found(|factor| !(0.6..1.2).contains(&factor));
        assert!((band.highest.unwrap() / 0.6 - 1.0).abs() < 0.01, "{band:?}");
        assert_eq!(band.again, SCAN[5..]);
        assert_eq!(search(&mut |_| None), None);
    }
}
