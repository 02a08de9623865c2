//! The highest survived level against studies that state that level themselves.

mod common;

use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

use common::study;
use tidewall_assess::assess;
use tidewall_assess::level::{HighestLevel, LevelOutcome, checks_at, highest_levels};
use tidewall_assess::result::Verdict;
use tidewall_study::Study;
use tidewall_transient::Options;

fn searched(study: &Study) -> Vec<HighestLevel> {
    highest_levels(study, &Options::default(), &|_, _| {}, &AtomicBool::new(false))
}

/// Whether a check of the surge fails in the full assessment of the study that states this level.
fn fails_as_stated(level_v: f64) -> bool {
    let stated = study(&[("level = \"500 V\"", &format!("level = \"{level_v} V\""))]);
    let result = assess(&stated, &Options::default(), &|_, _| {});
    let mut of_stress = result.checks.iter().filter(|check| check.stress.is_some());
    of_stress.any(|check| check.verdict == Verdict::Fail)
}

#[test]
fn the_level_is_the_one_at_which_the_stated_study_begins_to_fail() {
    let levels = searched(&study(&[]));
    let [level] = &levels[..] else {
        panic!("{levels:?}")
    };
    assert_eq!(level.outcome, LevelOutcome::Found);
    let (highest, fails) = (level.factor.expect("a level"), level.fails_at.expect("a failure"));
    assert!(highest < fails && fails <= 1.01 * highest, "{highest} {fails}");
    assert!(!fails_as_stated(500.0 * highest));
    assert!(fails_as_stated(500.0 * fails));
    // Brute force over the range, coarser: nothing below fails, everything above does.
    for step in 0..12 {
        let factor = 0.25 * 1.28f64.powi(step);
        assert_eq!(
            fails_as_stated(500.0 * factor),
            factor > highest,
            "{factor} against {highest}"
        );
    }
    assert!((level.level.expect("volts") - 500.0 * highest).abs() < 1e-9);
    assert_eq!((level.unit, level.what, level.study_level), ("V", "level", 500.0));
    let gives = level.gives_way.as_ref().expect("a check gives way");
    assert_eq!(gives.verdict, Verdict::Fail);
    assert!(
        gives.corner.is_some() && gives.margin.expect("a margin") < 0.0,
        "{gives:?}"
    );
    assert!(level.unknown.is_empty() && level.survives_again_at.is_empty());
    // Between the listed 0.5 kV and 1 kV, or wherever the boundary lies.
    let listed = [500.0, 1000.0, 2000.0, 4000.0];
    let above = listed.iter().position(|listed| *listed > 500.0 * highest);
    let name = |place: usize| format!("level {}", place + 1);
    let below = above.unwrap_or(listed.len()).checked_sub(1).map(name);
    let starts = |text: &Option<String>, name: Option<String>| match (text, name) {
        (Some(text), Some(name)) => assert!(text.starts_with(&name), "{text} {name}"),
        (text, name) => assert_eq!(*text, name),
    };
    starts(&level.listed_survived, below);
    starts(&level.listed_next, above.map(name));
}

#[test]
fn a_level_at_factor_1_is_judged_as_the_assessment_judges_it() {
    let study = study(&[]);
    let whole = assess(&study, &Options::default(), &|_, _| {});
    let of_stress: Vec<_> = whole
        .checks
        .into_iter()
        .filter(|check| check.stress.is_some())
        .collect();
    assert_eq!(checks_at(&study, 0, 1.0, &Options::default()), of_stress);
}

#[test]
fn a_design_that_survives_everything_or_nothing_is_said_to() {
    let mighty = [
        ("power = \"1.5 kW\"", "power = \"150 kW\""),
        ("\"80 V\"", "\"8 kV\""),
        ("\"-10 V\"", "\"-8 kV\""),
    ];
    let levels = searched(&study(&mighty));
    assert_eq!(
        levels[0].outcome,
        LevelOutcome::SurvivesAll,
        "{:?}",
        levels[0].gives_way
    );
    assert_eq!((levels[0].factor, levels[0].fails_at), (Some(4.0), None));
    assert!(levels[0].gives_way.is_none());
    let levels = searched(&study(&[("\"80 V\"", "\"31 V\"")]));
    assert_eq!(levels[0].outcome, LevelOutcome::FailsAtLowest);
    assert_eq!((levels[0].factor, levels[0].fails_at), (None, Some(0.25)));
    assert!(levels[0].text.is_none() && levels[0].gives_way.is_some());
}

#[test]
fn a_cancelled_search_says_so() {
    let cancel = AtomicBool::new(false);
    let last = AtomicUsize::new(0);
    let progress = |done: usize, all: usize| {
        assert!(done <= all);
        last.store(done, Ordering::Relaxed);
        cancel.store(done >= 3, Ordering::Relaxed);
    };
    let levels = highest_levels(&study(&[]), &Options::default(), &progress, &cancel);
    assert_eq!(last.load(Ordering::Relaxed), 3);
    assert_eq!(levels[0].outcome, LevelOutcome::Cancelled);
    assert_eq!((levels[0].factor, levels[0].fails_at), (None, None));
}

#[test]
fn what_is_not_known_at_the_level_is_named() {
    let levels = searched(&study(&[(
        "negative_withstand = [{ voltage = \"-10 V\", lasts = \"any\" }]\n",
        "",
    )]));
    assert!(
        levels[0]
            .unknown
            .iter()
            .any(|place| place.starts_with("let-through-negative-voltage")),
        "{:?}",
        levels[0]
    );
}
