//! The solver by itself.

mod common;

use common::Noise;
use tidewall_extract::fit::{FitError, Identified, Intervals, Loss, Parameter, Problem, Scale, Weights};

const UNIT: Scale = Scale::Linear { typical: 1.0 };

#[test]
fn a_decaying_wave_is_found_from_several_starts_and_the_same_every_time() {
    // From the given start alone the descent ends elsewhere.
    let t: Vec<f64> = (0..40).map(|k| 0.25 * f64::from(k)).collect();
    let law = |v: &[f64], t: f64| v[0] * (-v[1] * t).exp() * (v[2] * t).cos();
    let truth = [2.0, 0.15, 3.0];
    let observed: Vec<f64> = t.iter().map(|&t| law(&truth, t)).collect();
    let model = |v: &[f64], k: usize| law(v, t[k]);
    let parameters = [
        Parameter::new("amplitude", UNIT, 1.0).within(0.5, 4.0),
        Parameter::new("decay", Scale::Log, 0.5).within(0.05, 1.0),
        Parameter::new("frequency", Scale::Log, 0.5).within(0.3, 6.0),
    ];
    let problem = Problem::new(&parameters, &observed, &model);
    let one = problem.solve();
    assert!(one.is_err() || one.is_ok_and(|o| o.chi_square > 1.0));
    let several = Problem {
        starts: 24,
        ..problem
    };
    let (a, b) = (several.solve().unwrap(), several.solve().unwrap());
    assert_eq!(a.values, b.values);
    assert_eq!(a.counters, b.counters);
    for (value, wanted) in a.values.iter().zip(truth) {
        assert!((value - wanted).abs() < 1e-6, "{:?}", a.values);
    }
    assert!(a.counters.starts > 20 && a.counters.evaluations > a.counters.iterations);
}

#[test]
fn bounds_are_kept() {
    // The best slope is 2, the bound 1.5.
    let x = [1.0, 2.0, 3.0, 4.0];
    let observed = x.map(|x| 2.0 * x);
    let model = |v: &[f64], k: usize| v[0] * x[k];
    let parameters = [Parameter::new(
        "slope",
        Scale::Between { low: 0.0, high: 1.5 },
        1.0,
    )];
    if let Ok(outcome) = Problem::new(&parameters, &observed, &model).solve() {
        assert!(outcome.values[0] <= 1.5);
        // At the bound the curve no longer moves with the parameter: no value is claimed.
        assert_eq!(outcome.identified, [Identified::No]);
    }
}

#[test]
fn only_the_sum_of_two_parameters_is_told() {
    let x: Vec<f64> = (0..8).map(f64::from).collect();
    let observed: Vec<f64> = x.iter().map(|x| 3.0 * x + 1.0 + 0.01 * (7.0 * x).sin()).collect();
    let model = |v: &[f64], k: usize| (v[0] + v[1]) * x[k] + v[2];
    let parameters = [
        Parameter::new("a", UNIT, 1.0),
        Parameter::new("b", UNIT, 1.0),
        Parameter::new("c", UNIT, 0.0),
    ];
    let outcome = Problem::new(&parameters, &observed, &model).solve().unwrap();
    assert_eq!(
        outcome.identified,
        [Identified::No, Identified::No, Identified::Yes]
    );
    assert_eq!(outcome.intervals[0], None);
    assert!(outcome.intervals[2].is_some());
    assert!(outcome.condition > 1e6);
}

#[test]
fn a_robust_loss_withstands_bad_points() {
    let mut noise = Noise::of(7);
    let x: Vec<f64> = (0..20).map(f64::from).collect();
    let observed: Vec<f64> = x
        .iter()
        .map(|x| 5.0 + 0.5 * x + 0.05 * noise.normal() + if *x == 3.0 || *x == 16.0 { 4.0 } else { 0.0 })
        .collect();
    let model = |v: &[f64], k: usize| v[0] + v[1] * x[k];
    let parameters = [
        Parameter::new("intercept", UNIT, 0.0),
        Parameter::new("slope", UNIT, 0.0),
    ];
    let plain = Problem::new(&parameters, &observed, &model);
    let miss = |loss: Loss| {
        let outcome = Problem { loss, ..plain }.solve().unwrap();
        let kept = (outcome.kept[3], outcome.kept[10]);
        (
            (outcome.values[0] - 5.0).abs(),
            outcome.standard_errors[0].unwrap(),
            kept,
        )
    };
    let (squares, squares_error, _) = miss(Loss::Squares);
    assert!(squares > 0.3 && squares_error > 0.3);
    for loss in [Loss::Huber { scale: None }, Loss::SoftL1 { scale: None }] {
        let (off, error, (bad, good)) = miss(loss);
        assert!(off < 0.08 && error < 0.06, "{loss:?}: {off}, {error}");
        assert!(bad < 0.1 && good > 0.5, "{loss:?}: {bad}, {good}");
    }
}

#[test]
fn robust_intervals_hold_on_clean_data_too() {
    let x: Vec<f64> = (0..30).map(f64::from).collect();
    let model = |v: &[f64], k: usize| v[0] + v[1] * x[k];
    let parameters = [
        Parameter::new("intercept", UNIT, 0.0),
        Parameter::new("slope", UNIT, 0.0),
    ];
    for loss in [Loss::Huber { scale: None }, Loss::SoftL1 { scale: None }] {
        let mut held = [0; 2];
        for trial in 0..1000 {
            let mut noise = Noise::of(trial);
            let observed: Vec<f64> = x.iter().map(|x| 5.0 + 0.5 * x + 0.1 * noise.normal()).collect();
            let problem = Problem {
                loss,
                ..Problem::new(&parameters, &observed, &model)
            };
            let outcome = problem.solve().unwrap();
            for (j, truth) in [5.0, 0.5].into_iter().enumerate() {
                let (low, high) = outcome.intervals[j].unwrap();
                held[j] += u32::from(low <= truth && truth <= high);
            }
        }
        for held in held {
            assert!((920..=975).contains(&held), "{loss:?}: {held} of 1000");
        }
    }
}

#[test]
fn given_standard_deviations_are_used_as_they_are() {
    let x = [0.0, 1.0, 2.0, 3.0];
    let observed = [1.0, 2.1, 2.9, 4.0];
    let model = |v: &[f64], k: usize| v[0] + v[1] * x[k];
    let parameters = [
        Parameter::new("intercept", UNIT, 0.0),
        Parameter::new("slope", UNIT, 0.0),
    ];
    let solve = |weights| {
        Problem {
            weights,
            ..Problem::new(&parameters, &observed, &model)
        }
        .solve()
        .unwrap()
    };
    let fine = solve(Weights::Sigmas(&[0.1; 4]));
    let coarse = solve(Weights::Sigmas(&[0.2; 4]));
    let ratio = coarse.standard_errors[1].unwrap() / fine.standard_errors[1].unwrap();
    assert!((ratio - 2.0).abs() < 1e-6);
    // Only the ratio of relative deviations counts.
    let a = solve(Weights::Relative(&[1.0, 1.0, 2.0, 2.0]));
    let b = solve(Weights::Relative(&[3.0, 3.0, 6.0, 6.0]));
    assert!((a.standard_errors[1].unwrap() / b.standard_errors[1].unwrap() - 1.0).abs() < 1e-6);
    // Two points and two parameters: known deviations make an interval all the same.
    let two = Problem {
        weights: Weights::Sigmas(&[0.1; 2]),
        ..Problem::new(&parameters, &observed[..2], &model)
    };
    assert_eq!(two.solve().unwrap().identified, [Identified::Yes; 2]);
}

#[test]
fn profile_and_linearised_intervals_agree_for_a_straight_line() {
    let x = [0.0, 1.0, 2.0, 3.0, 4.0];
    let observed = [1.0, 2.1, 2.9, 4.0, 5.2];
    let model = |v: &[f64], k: usize| v[0] + v[1] * x[k];
    let parameters = [
        Parameter::new("intercept", UNIT, 0.0),
        Parameter::new("slope", UNIT, 0.0),
    ];
    let plain = Problem::new(&parameters, &observed, &model);
    let profile = Problem {
        intervals: Intervals::Profile,
        ..plain
    };
    let (a, b) = (plain.solve().unwrap(), profile.solve().unwrap());
    for j in 0..2 {
        let ((low, high), (low_p, high_p)) = (a.intervals[j].unwrap(), b.intervals[j].unwrap());
        assert!((low - low_p).abs() < 2e-4 * (high - low) && (high - high_p).abs() < 2e-4 * (high - low));
    }
}

#[test]
fn unusable_problems_are_refused() {
    let model = |v: &[f64], _: usize| v[0];
    let parameters = [Parameter::new("level", UNIT, 0.0)];
    let nan = Problem::new(&parameters, &[1.0, f64::NAN], &model)
        .solve()
        .unwrap_err();
    assert!(matches!(nan, FitError::Unusable { point: 2, .. }), "{nan}");
    let none = Problem::new(&parameters, &[], &model).solve().unwrap_err();
    assert!(matches!(
        none,
        FitError::TooFew {
            points: 0,
            parameters: 1
        }
    ));
    let short = Problem {
        weights: Weights::Sigmas(&[1.0]),
        ..Problem::new(&parameters, &[1.0, 2.0], &model)
    };
    assert!(matches!(
        short.solve().unwrap_err(),
        FitError::Unusable { point: 2, .. }
    ));
    let nowhere = |_: &[f64], _: usize| f64::NAN;
    assert_eq!(
        Problem::new(&parameters, &[1.0, 2.0], &nowhere)
            .solve()
            .unwrap_err(),
        FitError::NoStart
    );
}
