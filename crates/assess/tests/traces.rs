//! Worst corners run again, and the operating points of the protectors.

mod common;

use tidewall_assess::assess;
use tidewall_assess::traces::{Traces, traces, worst_runs};
use tidewall_study::Study;
use tidewall_transient::Options;

fn traced(study: &Study) -> Traces {
    let options = Options::default();
    traces(study, &assess(study, &options, &|_, _| {}), &options)
}

#[test]
fn the_worst_corner_is_the_one_the_check_names() {
    let study = common::study(&[]);
    let options = Options::default();
    let assessment = assess(&study, &options, &|_, _| {});
    let worst = worst_runs(&study, &assessment, &options);
    assert!(worst.points.is_empty() && worst.failures.is_empty() && worst.without.is_empty());
    let outcome = worst.of(0).expect("the surge");
    let named = assessment
        .checks
        .iter()
        .find(|check| check.check.starts_with("let-through") && check.stress.is_some())
        .and_then(|check| check.corner)
        .expect("a corner");
    assert_eq!(outcome.case.corner(), named);
    assert!(outcome.outcome.recording.is_some());
}

/// Voltages of a one-sided diode between 36 V and 40 V, on both sides of the port.
fn sides(points: &Traces) -> (Vec<f64>, Vec<f64>) {
    let on = |sign: f64| {
        let side = points.points.iter().filter(move |point| point.amps * sign > 0.0);
        side.map(|point| point.volts).collect()
    };
    (on(1.0), on(-1.0))
}

#[test]
fn operating_points_have_the_sign_of_the_port_and_lie_where_the_part_conducts() {
    let upright = traced(&common::study(&[]));
    let (positive, negative) = sides(&upright);
    assert!(!positive.is_empty() && !negative.is_empty());
    // Breakdown from 36 V in the cold on the one side, forward on the other.
    assert!(
        positive.iter().all(|volts| (34.0..80.0).contains(volts)),
        "{positive:?}"
    );
    assert!(
        negative.iter().all(|volts| (-8.0..-0.3).contains(volts)),
        "{negative:?}"
    );
    let turned = traced(&common::study(&[(
        "lead = \"2 nH\"",
        "lead = \"2 nH\"\nreversed = true",
    )]));
    let (positive, negative) = sides(&turned);
    assert!(
        positive.iter().all(|volts| (0.3..8.0).contains(volts)),
        "{positive:?}"
    );
    assert!(
        negative.iter().all(|volts| (-80.0..-34.0).contains(volts)),
        "{negative:?}"
    );
}
