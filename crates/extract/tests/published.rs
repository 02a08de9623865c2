//! Published curves give the published values.

use tidewall_devices::build::split_heating;
use tidewall_devices::datasheet::{Datasheet, Family, RatingWave};
use tidewall_devices::pulse_power::UnitWave;
use tidewall_extract::family::avalanche::{Known, PulsePoint, Reading};
use tidewall_extract::family::thyristor::SurgePoint;
use tidewall_extract::family::varistor::Law;
use tidewall_extract::family::{
    CurvePoint, Fit, Point, Settings, Standing, WarningKind, avalanche, gas_tube, snapback, thyristor,
    varistor,
};

fn settings() -> Settings {
    Settings::default()
}

fn within(value: f64, expected: f64, tolerance: f64) {
    assert!(
        (value - expected).abs() <= tolerance,
        "{value} is not {expected} ± {tolerance}"
    );
}

fn value(fit: &Fit, key: &str) -> f64 {
    fit.value(key).unwrap_or_else(|| panic!("no value `{key}`"))
}

fn curve(points: &[(f64, f64)]) -> Vec<CurvePoint> {
    points.iter().map(|&(i, v)| CurvePoint::new(i, v)).collect()
}

#[test]
fn the_on_branch_of_a_low_voltage_part_from_three_pulses() {
    // Application report on reading ESD-device datasheets (2010, revised 2023): TLP 7.6 V at 1 A, 8.2 V at 5 A, 10.4 V at
    // 16 A. Least squares over them: 0.1895 Ω, 7.343 V (exactly 7.34365 V).
    let fit = snapback::on_branch(&curve(&[(1.0, 7.6), (5.0, 8.2), (16.0, 10.4)]), &settings()).unwrap();
    within(value(&fit, "dynamic_resistance"), 0.1895, 5e-5);
    within(value(&fit, "on_voltage"), 7.343, 1e-3);
    assert_eq!(fit.estimate("on_voltage").unwrap().standing, Standing::Estimated);
    assert!(fit.warns(WarningKind::FewPoints));
}

#[test]
fn the_on_branch_of_a_snapback_array_from_two_pulses() {
    // Datasheet of a 3.3 V snapback array (2016): 3.5 V at 4 A, 5.3 V at 16 A; published 0.15 Ω.
    let fit = snapback::on_branch(&curve(&[(4.0, 3.5), (16.0, 5.3)]), &settings()).unwrap();
    within(value(&fit, "dynamic_resistance"), 0.15, 1e-9);
    within(value(&fit, "on_voltage"), 2.9, 1e-8);
    for key in ["dynamic_resistance", "on_voltage"] {
        let estimate = fit.estimate(key).unwrap();
        assert_eq!(estimate.standing, Standing::NotTestable);
        assert_eq!((estimate.interval, estimate.standard_error), (None, None));
    }
}

/// Automotive 1500 W family datasheet: typical breakdown, clamping voltage and current 10/1000 with resistance, the same
/// for 8/20, temperature coefficient in 1e-4/K.
const FAMILY: [[f64; 8]; 10] = [
    [18.0, 25.2, 59.5, 0.106, 32.5, 308.0, 0.044, 8.8],
    [22.0, 30.6, 49.0, 0.153, 39.3, 254.0, 0.064, 9.2],
    [24.0, 33.2, 45.0, 0.178, 42.8, 234.0, 0.075, 9.4],
    [27.0, 37.5, 40.0, 0.228, 48.3, 207.0, 0.096, 9.6],
    [30.0, 41.5, 36.0, 0.278, 53.5, 187.0, 0.12, 9.7],
    [33.0, 45.7, 33.0, 0.333, 59.0, 169.0, 0.14, 9.8],
    [36.0, 49.9, 30.0, 0.403, 64.3, 156.0, 0.17, 9.9],
    [39.0, 53.9, 28.0, 0.461, 69.7, 143.0, 0.20, 10.0],
    [47.0, 64.5, 23.2, 0.653, 84.0, 119.0, 0.291, 10.1],
    [68.0, 92.0, 16.3, 1.26, 121.0, 83.0, 0.60, 10.4],
];

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
fn apparent_resistances_of_the_ten_row_family() {
    // The datasheet prints two or three digits: 0.6 % (10/1000) and 2.9 % (8/20) of the exact value.
    for [typ, v_long, i_long, r_long, v_short, i_short, r_short, alpha] in FAMILY {
        for (wave, i, v, published, percent) in [
            (RatingWave::Long10x1000, i_long, v_long, r_long, 0.6),
            (RatingWave::Surge8x20, i_short, v_short, r_short, 2.9),
        ] {
            let known = Known {
                breakdown_v: Some(1.05 * typ),
                alpha_per_k: Some(1e-4 * alpha),
            };
            let fit = avalanche::fit(&[pulse(wave, i, v)], &known, &settings()).unwrap();
            let apparent = fit.estimate("apparent_resistance").unwrap();
            assert_eq!(apparent.standing, Standing::NotTestable);
            let exact = apparent.value.unwrap();
            within(published, exact, 0.01 * percent * exact);
            // One wave: heating cannot be told.
            for key in ["isothermal_resistance", "heating_coefficient"] {
                let estimate = fit.estimate(key).unwrap();
                assert_eq!(
                    (estimate.standing, estimate.value),
                    (Standing::NotIdentified, None)
                );
                assert!(estimate.needs.as_ref().unwrap().contains("second waveform"));
            }
        }
    }
}

#[test]
fn the_split_of_the_ten_row_family_is_not_testable_and_gives_both_points_back() {
    for [typ, v_long, i_long, _, v_short, i_short, _, alpha] in FAMILY {
        let (vbr, alpha) = (1.05 * typ, 1e-4 * alpha);
        let known = Known {
            breakdown_v: Some(vbr),
            alpha_per_k: Some(alpha),
        };
        let points = [
            pulse(RatingWave::Long10x1000, i_long, v_long),
            pulse(RatingWave::Surge8x20, i_short, v_short),
        ];
        let fit = avalanche::fit(&points, &known, &settings()).unwrap();
        for point in &fit.points {
            assert!(point.residual.unwrap().abs() < 1e-6, "{point:?}");
        }
        for key in ["isothermal_resistance", "heating_coefficient"] {
            let estimate = fit.estimate(key).unwrap();
            assert_eq!(
                (estimate.standing, estimate.interval),
                (Standing::NotTestable, None)
            );
        }
        // The model builder splits by nested false position: the same two numbers.
        let wave = |w| UnitWave::of(w).unwrap();
        let split = split_heating(
            vbr,
            alpha,
            (wave(RatingWave::Long10x1000), i_long, v_long),
            (wave(RatingWave::Surge8x20), i_short, v_short),
        )
        .unwrap();
        within(value(&fit, "isothermal_resistance") / split.r_iso_ohm, 1.0, 1e-5);
        within(
            value(&fit, "heating_coefficient") / split.k_k_per_w_sqrt_s,
            1.0,
            1e-5,
        );
    }
}

#[test]
fn a_third_point_makes_the_split_testable() {
    // 33 V row with the rule of the same datasheet for 8/20 at 23.8 A: VCL − RD (IPP − I) = 38.67 V.
    let [typ, v_long, i_long, _, v_short, i_short, _, alpha] = FAMILY[5];
    let known = Known {
        breakdown_v: Some(1.05 * typ),
        alpha_per_k: Some(1e-4 * alpha),
    };
    let points = [
        pulse(RatingWave::Long10x1000, i_long, v_long),
        pulse(RatingWave::Surge8x20, i_short, v_short),
        pulse(RatingWave::Surge8x20, 23.8, 38.67),
    ];
    let fit = avalanche::fit(&points, &known, &settings()).unwrap();
    let estimate = fit.estimate("isothermal_resistance").unwrap();
    assert_eq!(estimate.standing, Standing::Estimated);
    let [low, high] = estimate.interval.unwrap();
    assert!(low.unwrap() < estimate.value.unwrap() && estimate.value.unwrap() < high.unwrap());
}

#[test]
fn firing_voltages_of_the_230_v_tube() {
    // Two-pole tube datasheet: 450 V at 100 V/µs, 600 V at 1 kV/µs. a = 77.8 V, b = 0.2258; 5 kV/µs: 762 V.
    let points = [Point::new(1e8, 450.0), Point::new(1e9, 600.0)];
    let fit = gas_tube::fit(&points, Some(230.0), &settings()).unwrap();
    within(value(&fit, "slope_factor"), 77.8, 0.05);
    within(value(&fit, "slope_exponent"), 0.2258, 5e-5);
    let at = 230.0 + value(&fit, "slope_factor") * 5000f64.powf(value(&fit, "slope_exponent"));
    within(at, 762.0, 0.5);
    assert_eq!(
        fit.estimate("slope_factor").unwrap().standing,
        Standing::NotTestable
    );
}

#[test]
fn firing_voltages_of_the_whole_table_of_tubes() {
    // The same datasheet: direct voltage, at 100 V/µs, at 1 kV/µs.
    for (direct, slow, fast) in [
        (90.0, 300.0, 550.0),
        (150.0, 350.0, 550.0),
        (200.0, 425.0, 575.0),
        (230.0, 450.0, 600.0),
        (250.0, 475.0, 625.0),
        (300.0, 525.0, 650.0),
        (350.0, 600.0, 750.0),
        (400.0, 650.0, 800.0),
        (420.0, 675.0, 850.0),
        (470.0, 750.0, 950.0),
        (600.0, 950.0, 1100.0),
    ] {
        let points = [Point::new(1e8, slow), Point::new(1e9, fast)];
        let fit = gas_tube::fit(&points, Some(direct), &settings()).unwrap();
        for point in &fit.points {
            assert!((point.residual.unwrap() / point.y).abs() < 1e-8, "{point:?}");
        }
        let b = ((fast - direct) / (slow - direct)).log10();
        within(value(&fit, "slope_exponent"), b, 1e-7);
        // What is written gives the same law again when the model is built.
        let mut sheet = Datasheet::unknown("willow-tube", Family::GasTube, "test");
        fit.apply(&mut sheet);
        let firing: Vec<(f64, f64)> = sheet
            .firing
            .iter()
            .map(|p| (p.slope_v_per_s, p.voltage_v.typ.unwrap()))
            .collect();
        let (_, again) = tidewall_devices::build::fit_slope_law(direct, &firing).unwrap();
        within(again, b, 1e-7);
    }
}

#[test]
fn surge_current_against_width_of_a_thyristor() {
    // Thyristor datasheet (1997): 120 A 8/20, 35 A 10/1000: exponent 0.315.
    let point = |wave, current_a| SurgePoint {
        wave,
        current_a,
        sigma_a: None,
    };
    let front_tail = |front: f64, tail: f64| RatingWave::FrontTail {
        front_s: front * 1e-6,
        tail_s: tail * 1e-6,
    };
    let two = [
        point(RatingWave::Surge8x20, 120.0),
        point(RatingWave::Long10x1000, 35.0),
    ];
    let fit = thyristor::surge_current(&two, &settings()).unwrap();
    within(value(&fit, "width_exponent"), 0.315, 5e-4);
    within(value(&fit, "surge_current_1ms"), 35.0, 1e-6);
    assert_eq!(
        fit.estimate("width_exponent").unwrap().standing,
        Standing::NotTestable
    );
    // With four other waves of the table (2/10, 10/160, 5/310, 10/560) the interval holds the exponent of the two.
    let all = [
        point(front_tail(2.0, 10.0), 175.0),
        point(RatingWave::Surge8x20, 120.0),
        point(front_tail(10.0, 160.0), 60.0),
        point(front_tail(5.0, 310.0), 50.0),
        point(front_tail(10.0, 560.0), 45.0),
        point(RatingWave::Long10x1000, 35.0),
    ];
    let fit = thyristor::surge_current(&all, &settings()).unwrap();
    let [low, high] = fit.estimate("width_exponent").unwrap().interval.unwrap();
    assert!(
        low.unwrap() < 0.3155 && 0.3155 < high.unwrap(),
        "{low:?} {high:?}"
    );
    // It is not the half of the √t law.
    assert!(high.unwrap() < 0.5);
}

#[test]
fn exponent_of_a_varistor_from_two_points() {
    // 680 V at 1 mA, 1120 V at 50 A: exponent 21.7 (derived; the pair mixes a nominal and a maximum).
    let fit = varistor::fit(
        &curve(&[(1e-3, 680.0), (50.0, 1120.0)]),
        Law::Power,
        None,
        &settings(),
    )
    .unwrap();
    within(value(&fit, "exponent"), 21.7, 0.05);
    assert_eq!(fit.estimate("exponent").unwrap().standing, Standing::NotTestable);
}
