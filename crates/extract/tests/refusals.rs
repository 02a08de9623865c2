//! What the data do not tell is said, and bad input is refused.

use tidewall_devices::datasheet::RatingWave;
use tidewall_extract::family::avalanche::{Known, PulsePoint, Reading};
use tidewall_extract::family::capacitance::BuiltIn;
use tidewall_extract::family::varistor::Law;
use tidewall_extract::family::{
    CurvePoint, Point, Refusal, Settings, Standing, WarningKind, avalanche, capacitance, flat_clamp,
    gas_tube, leakage, pin, snapback, thermal, varistor,
};
use tidewall_extract::fit::FitError;

fn settings() -> Settings {
    Settings::default()
}

fn curve(points: &[(f64, f64)]) -> Vec<CurvePoint> {
    points.iter().map(|&(i, v)| CurvePoint::new(i, v)).collect()
}

#[test]
fn points_between_trigger_and_hold_are_rejected_with_a_reason() {
    let points = curve(&[
        (1e-4, 7.0),
        (1e-3, 9.5),
        (0.05, 8.0),
        (0.2, 6.4),
        (1.0, 4.1),
        (4.0, 4.7),
        (8.0, 5.5),
        (16.0, 7.1),
    ]);
    let fit = snapback::fit(&points, &settings()).unwrap();
    let rejected: Vec<usize> = fit
        .points
        .iter()
        .filter(|p| {
            p.rejected
                .as_ref()
                .is_some_and(|why| why.contains("between trigger and hold"))
        })
        .map(|p| p.number)
        .collect();
    assert_eq!(rejected, [3, 4]);
    assert_eq!((fit.quality.points, fit.quality.rejected), (6, 2));
    assert_eq!(fit.value("breakdown"), Some(9.5));
    assert_eq!(fit.estimate("breakdown").unwrap().standing, Standing::Observed);
    let r = fit.value("dynamic_resistance").unwrap();
    assert!((r - 0.2).abs() < 0.01, "{r}");
}

#[test]
fn a_curve_that_never_folds_is_no_snapback() {
    let refusal = snapback::fit(&curve(&[(1.0, 5.0), (2.0, 6.0), (3.0, 7.0)]), &settings()).unwrap_err();
    assert!(refusal.to_string().contains("never falls back"), "{refusal}");
}

#[test]
fn a_falling_on_branch_is_flagged() {
    let points = curve(&[(1.0, 28.0), (5.0, 28.2), (10.0, 27.5), (20.0, 28.6), (40.0, 29.2)]);
    assert!(
        flat_clamp::fit(&points, &settings())
            .unwrap()
            .warns(WarningKind::NonMonotonic)
    );
    let rising = curve(&[(1.0, 28.0), (5.0, 28.2), (10.0, 28.3), (20.0, 28.6), (40.0, 29.2)]);
    assert!(
        !flat_clamp::fit(&rising, &settings())
            .unwrap()
            .warns(WarningKind::NonMonotonic)
    );
}

#[test]
fn saturation_a_short_span_and_few_points_are_flagged() {
    let saturating: Vec<CurvePoint> = (1..=10)
        .map(|k| {
            let i = 4.0 * f64::from(k);
            let beyond = (i - 28.0f64).max(0.0);
            CurvePoint::new(i, 28.0 + 0.03 * i + 0.01 * beyond * beyond)
        })
        .collect();
    assert!(
        flat_clamp::fit(&saturating, &settings())
            .unwrap()
            .warns(WarningKind::Saturation)
    );
    let short = flat_clamp::fit(&curve(&[(10.0, 28.3), (15.0, 28.45), (20.0, 28.62)]), &settings()).unwrap();
    assert!(short.warns(WarningKind::ShortSpan) && short.warns(WarningKind::FewPoints));
    assert!(!short.warns(WarningKind::Saturation));
}

#[test]
fn without_points_below_the_trigger_there_is_no_trigger_voltage() {
    let fit = flat_clamp::fit(&curve(&[(10.0, 28.3), (20.0, 28.6), (40.0, 29.2)]), &settings()).unwrap();
    let trigger = fit.estimate("breakdown").unwrap();
    assert_eq!((trigger.standing, trigger.value), (Standing::NotIdentified, None));
    assert!(trigger.needs.as_ref().unwrap().contains("below the trigger"));
    assert!(fit.entries.iter().all(|entry| entry.key != "breakdown"));
}

fn pulse(wave: RatingWave, current_a: f64, voltage_v: f64) -> PulsePoint {
    PulsePoint {
        wave,
        current_a,
        voltage_v,
        sigma_v: None,
        reading: Reading::Highest,
    }
}

#[test]
fn one_waveform_does_not_tell_heating() {
    let points: Vec<PulsePoint> = [(5.0, 36.0), (10.0, 37.6), (20.0, 41.1), (33.0, 45.7)]
        .map(|(i, v)| pulse(RatingWave::Long10x1000, i, v))
        .to_vec();
    let known = Known {
        breakdown_v: None,
        alpha_per_k: Some(9.8e-4),
    };
    let fit = avalanche::fit(&points, &known, &settings()).unwrap();
    let heating = fit.estimate("heating_coefficient").unwrap();
    assert_eq!(heating.standing, Standing::NotIdentified);
    let needs = heating.needs.as_ref().unwrap();
    assert!(needs.contains("second waveform") && needs.contains("8/20") && needs.contains("100 ns"));
    assert_eq!(
        fit.estimate("apparent_resistance").unwrap().standing,
        Standing::Estimated
    );
}

#[test]
fn a_second_wave_of_the_same_heating_is_no_second_wave() {
    let tail = |tail_us: f64| RatingWave::FrontTail {
        front_s: 10e-6,
        tail_s: tail_us * 1e-6,
    };
    let points = [
        pulse(tail(1000.0), 10.0, 37.6),
        pulse(tail(1000.0), 33.0, 45.7),
        pulse(tail(1100.0), 10.0, 37.7),
        pulse(tail(1100.0), 33.0, 45.9),
    ];
    let known = Known {
        breakdown_v: None,
        alpha_per_k: Some(9.8e-4),
    };
    let fit = avalanche::fit(&points, &known, &settings()).unwrap();
    assert_eq!(
        fit.estimate("heating_coefficient").unwrap().standing,
        Standing::NotIdentified
    );
    assert!(fit.estimate("apparent_resistance@10/1000").is_some());
    assert!(fit.estimate("apparent_resistance@10/1100").is_some());
}

#[test]
fn without_the_temperature_coefficient_heating_is_not_told() {
    let points = [
        pulse(RatingWave::Long10x1000, 10.0, 37.6),
        pulse(RatingWave::Long10x1000, 33.0, 45.7),
        pulse(RatingWave::Surge8x20, 60.0, 43.0),
        pulse(RatingWave::Surge8x20, 169.0, 59.0),
    ];
    let fit = avalanche::fit(&points, &Known::default(), &settings()).unwrap();
    let heating = fit.estimate("heating_coefficient").unwrap();
    assert_eq!(heating.standing, Standing::NotIdentified);
    assert!(heating.needs.as_ref().unwrap().contains("two temperatures"));
}

#[test]
fn a_transmission_line_pulse_is_read_in_its_window() {
    let tlp = |i, v, reading| PulsePoint {
        reading,
        ..pulse(RatingWave::Rectangle { width_s: 100e-9 }, i, v)
    };
    let window = Reading::Window { from: 0.7, to: 0.9 };
    let known = Known {
        breakdown_v: Some(34.0),
        alpha_per_k: Some(9.8e-4),
    };
    let points = [
        tlp(10.0, 35.0, window),
        tlp(20.0, 36.0, window),
        pulse(RatingWave::Surge8x20, 60.0, 43.0),
        pulse(RatingWave::Surge8x20, 169.0, 59.0),
    ];
    let fit = avalanche::fit(&points, &known, &settings()).unwrap();
    assert_eq!(
        fit.estimate("heating_coefficient").unwrap().standing,
        Standing::Estimated
    );
    let outside = [tlp(10.0, 35.0, Reading::Window { from: 0.7, to: 1.2 })];
    assert!(matches!(
        avalanche::fit(&outside, &known, &settings()),
        Err(Refusal::Unusable { point: 1, .. })
    ));
}

#[test]
fn too_few_points_for_the_unknowns_are_refused() {
    let points = [
        pulse(RatingWave::Long10x1000, 33.0, 45.7),
        pulse(RatingWave::Surge8x20, 169.0, 59.0),
    ];
    let known = Known {
        breakdown_v: None,
        alpha_per_k: Some(9.8e-4),
    };
    let refusal = avalanche::fit(&points, &known, &settings()).unwrap_err();
    assert_eq!(
        refusal,
        Refusal::Fit(FitError::TooFew {
            points: 2,
            parameters: 3
        })
    );
    let refusal = varistor::fit(&curve(&[(1e-3, 47.0)]), Law::Power, None, &settings()).unwrap_err();
    assert!(
        matches!(refusal, Refusal::TooFew { have: 1, need: 2, .. }),
        "{refusal}"
    );
    assert!(!refusal.hint().is_empty());
}

#[test]
fn points_at_one_place_are_refused() {
    let refusal = flat_clamp::fit(&curve(&[(5.0, 28.0), (5.0, 28.1)]), &settings()).unwrap_err();
    assert!(
        matches!(refusal, Refusal::Alike { axis: "current", .. }),
        "{refusal}"
    );
}

#[test]
fn numbers_that_are_none_are_refused_with_their_place() {
    for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
        let refusal =
            flat_clamp::fit(&curve(&[(1.0, 28.0), (2.0, bad), (3.0, 29.0)]), &settings()).unwrap_err();
        assert_eq!(
            refusal,
            Refusal::NotFinite {
                what: "voltage",
                point: 2
            }
        );
    }
    let refusal = gas_tube::fit(&[Point::new(-1e8, 400.0)], Some(230.0), &settings()).unwrap_err();
    assert!(
        refusal.to_string().starts_with("slope of point 1 is"),
        "{refusal}"
    );
    let refusal = gas_tube::fit(&[Point::new(1e8, 200.0)], Some(230.0), &settings()).unwrap_err();
    assert!(matches!(refusal, Refusal::Unusable { point: 1, .. }));
    let some = [
        Point {
            sigma: Some(1e-9),
            ..Point::new(25.0, 1e-8)
        },
        Point::new(85.0, 1e-6),
    ];
    let refusal = leakage::fit(&some, 24.0, &settings()).unwrap_err();
    assert_eq!(refusal, Refusal::SomeSigmas { point: 2 });
}

#[test]
fn a_built_in_voltage_that_is_not_told_is_assumed_and_said_so() {
    let points: Vec<Point> = [2.0, 4.0, 8.0, 16.0, 30.0]
        .iter()
        .zip([1.02, 0.975, 1.025, 0.98, 1.01])
        .map(|(&v, off)| Point::new(v, off * 1e-10 * (1.0f64 + v / 0.7).powf(-0.4)))
        .collect();
    let fit = capacitance::fit(&points, BuiltIn::FittedIfIdentified, &settings()).unwrap();
    let built_in = fit.estimate("built_in").unwrap();
    assert_eq!((built_in.standing, built_in.value), (Standing::Given, Some(0.7)));
    assert!(fit.warns(WarningKind::Assumption));
}

#[test]
fn current_against_the_voltage_of_a_pin_is_refused() {
    let refusal = pin::fit(&curve(&[(1.0, 5.0), (-1.0, 5.0)]), &settings()).unwrap_err();
    assert!(matches!(refusal, Refusal::Unusable { point: 2, .. }));
}

#[test]
fn a_pin_seen_from_one_side_says_nothing_of_the_other() {
    let fit = pin::fit(
        &curve(&[(0.2, 4.3), (0.5, 4.6), (1.0, 5.1), (2.0, 6.1)]),
        &settings(),
    )
    .unwrap();
    assert!(fit.estimate("negative_threshold").is_none());
    assert_eq!(fit.entries.len(), 1);
    assert!(
        fit.entries[0].value.contains("positive_threshold") && !fit.entries[0].value.contains("negative")
    );
}

#[test]
fn standard_deviations_that_do_not_match_the_scatter_are_flagged() {
    let points: Vec<CurvePoint> = [(2.0, 28.4), (5.0, 28.0), (10.0, 28.9), (20.0, 28.5), (40.0, 29.5)]
        .into_iter()
        .map(|(i, v)| CurvePoint {
            sigma_v: Some(0.01),
            ..CurvePoint::new(i, v)
        })
        .collect();
    let fit = flat_clamp::fit(&points, &settings()).unwrap();
    assert!(fit.warns(WarningKind::Scatter));
    assert!(fit.quality.reduced_chi_square.unwrap() > 100.0);
}

#[test]
fn a_ladder_that_does_not_spread_like_the_root_of_time_says_so() {
    let points: Vec<thermal::PowerPoint> = [1e-5, 1e-4, 1e-3, 1e-2]
        .into_iter()
        .zip([1.01, 0.99, 1.0, 1.005])
        .map(|(width_s, off)| thermal::PowerPoint {
            wave: RatingWave::Rectangle { width_s },
            power_w: off * 500.0 * (width_s / 1e-3f64).powf(-0.3),
            sigma_w: None,
        })
        .collect();
    let fit = thermal::fit(&points, 150.0, None, &settings()).unwrap();
    assert!(fit.warns(WarningKind::Bend));
    assert!(!fit.poles.is_empty());
}

#[test]
fn slopes_that_do_not_grow_with_the_wave_show_no_heating() {
    let mut points = Vec::new();
    for (wave, ohm, currents) in [
        (RatingWave::Long10x1000, 0.1, [5.0, 15.0, 30.0]),
        (RatingWave::Surge8x20, 0.12, [20.0, 60.0, 160.0]),
    ] {
        for (k, i) in currents.into_iter().enumerate() {
            let scatter = [0.02, -0.03, 0.01][k];
            points.push(pulse(wave, i, 33.0 + ohm * i + scatter));
        }
    }
    let known = Known {
        breakdown_v: Some(32.9),
        alpha_per_k: Some(9.8e-4),
    };
    let fit = avalanche::fit(&points, &known, &settings()).unwrap();
    let heating = fit.estimate("heating_coefficient").unwrap();
    assert_eq!((heating.standing, heating.value), (Standing::NotIdentified, None));
    assert!(fit.warns(WarningKind::Implausible));
}
