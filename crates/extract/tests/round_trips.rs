//! Curves made from known values with noise are found again inside the stated intervals, in 93 to 97 % of the trials.

mod common;

use common::Noise;
use tidewall_devices::datasheet::RatingWave;
use tidewall_devices::heating::HeatedPulse;
use tidewall_devices::pulse_power::UnitWave;
use tidewall_devices::thermal::Foster;
use tidewall_extract::family::avalanche::{Known, PulsePoint, Reading};
use tidewall_extract::family::capacitance::BuiltIn;
use tidewall_extract::family::thermal::PowerPoint;
use tidewall_extract::family::thyristor::SurgePoint;
use tidewall_extract::family::varistor::Law;
use tidewall_extract::family::{
    CurvePoint, Fit, Point, Settings, avalanche, capacitance, flat_clamp, gas_tube, leakage, pin, snapback,
    thermal, thyristor, varistor,
};

/// Trials of a round trip.
const TRIALS: u64 = 1000;

/// Makes and fits every trial, and counts how often the 95 % interval of each key holds its true value.
fn coverage(truth: &[(&str, f64)], trial: impl Fn(&mut Noise) -> Fit) {
    let mut held = vec![0u64; truth.len()];
    for k in 0..TRIALS {
        let fit = trial(&mut Noise::of(k));
        for (count, (key, value)) in held.iter_mut().zip(truth) {
            let estimate = fit.estimate(key).unwrap_or_else(|| panic!("no estimate `{key}`"));
            let [low, high] = estimate
                .interval
                .unwrap_or_else(|| panic!("trial {k}: no interval for `{key}`"));
            let inside = low.is_none_or(|x| x <= *value) && high.is_none_or(|x| *value <= x);
            *count += u64::from(inside);
        }
    }
    let shares: Vec<f64> = held.iter().map(|&h| h as f64 / TRIALS as f64).collect();
    for ((key, _), share) in truth.iter().zip(shares) {
        assert!(
            (0.93..=0.97).contains(&share),
            "the 95 % interval of `{key}` holds the true value in {:.1} % of the trials",
            100.0 * share
        );
    }
}

fn settings() -> Settings {
    Settings::default()
}

fn spaced(low: f64, high: f64, count: usize) -> Vec<f64> {
    let step = |k: usize| low * (high / low).powf(k as f64 / (count - 1) as f64);
    (0..count).map(step).collect()
}

#[test]
fn avalanche_breakdown_resistance_and_heating() {
    let (vbr, alpha, r, k) = (33.0, 9.8e-4, 0.09, 9.0);
    let unit = Foster::square_root_law(1.0, None);
    let mut clean = Vec::new();
    for (wave, currents) in [
        (RatingWave::Long10x1000, [5.0, 12.0, 22.0, 33.0]),
        (RatingWave::Surge8x20, [20.0, 60.0, 110.0, 169.0]),
    ] {
        for i in currents {
            let pulse = HeatedPulse::new(&UnitWave::of(wave).unwrap(), i, &unit);
            clean.push((wave, i, pulse.peak(vbr, alpha, r, k).voltage_v));
        }
    }
    let known = Known {
        breakdown_v: None,
        alpha_per_k: Some(alpha),
    };
    let truth = [
        ("breakdown", vbr),
        ("isothermal_resistance", r),
        ("heating_coefficient", k),
    ];
    coverage(&truth, |noise| {
        let points: Vec<PulsePoint> = clean
            .iter()
            .map(|&(wave, current_a, v)| PulsePoint {
                wave,
                current_a,
                voltage_v: v + 0.3 * noise.normal(),
                sigma_v: None,
                reading: Reading::Highest,
            })
            .collect();
        avalanche::fit(&points, &known, &settings()).unwrap()
    });
}

#[test]
fn flat_clamp_branch() {
    coverage(&[("on_voltage", 28.5), ("dynamic_resistance", 0.035)], |noise| {
        let points: Vec<CurvePoint> = spaced(2.0, 40.0, 8)
            .into_iter()
            .map(|i| CurvePoint::new(i, 28.5 + 0.035 * i + 0.05 * noise.normal()))
            .chain([CurvePoint::new(1e-3, 31.0)])
            .collect();
        flat_clamp::fit(&points, &settings()).unwrap()
    });
}

#[test]
fn snapback_on_branch_and_hold() {
    let truth = [
        ("on_voltage", 2.9),
        ("dynamic_resistance", 0.15),
        ("hold_voltage", 2.9 + 0.15 * 1.0),
    ];
    coverage(&truth, |noise| {
        let mut points: Vec<CurvePoint> = [(1e-4, 6.5), (3e-4, 7.4), (1e-3, 7.9), (0.1, 6.1), (0.3, 4.6)]
            .into_iter()
            .map(|(i, v)| CurvePoint::new(i, v))
            .collect();
        for i in [1.0, 3.0, 5.0, 7.0, 9.0, 11.0, 13.0, 16.0] {
            points.push(CurvePoint::new(i, 2.9 + 0.15 * i + 0.03 * noise.normal()));
        }
        snapback::fit(&points, &settings()).unwrap()
    });
}

#[test]
fn thyristor_on_state() {
    coverage(&[("on_voltage", 1.4), ("dynamic_resistance", 0.03)], |noise| {
        let mut points: Vec<CurvePoint> = [(1e-3, 130.0), (0.15, 145.0), (0.2, 60.0)]
            .into_iter()
            .map(|(i, v)| CurvePoint::new(i, v))
            .collect();
        for i in [2.0, 10.0, 20.0, 35.0, 50.0, 70.0, 90.0] {
            points.push(CurvePoint::new(i, 1.4 + 0.03 * i + 0.02 * noise.normal()));
        }
        thyristor::on_state(&points, &settings()).unwrap()
    });
}

#[test]
fn thyristor_surge_current() {
    let tails = [10e-6, 20e-6, 160e-6, 310e-6, 560e-6, 1e-3];
    coverage(
        &[("surge_current_1ms", 35.0), ("width_exponent", 0.315)],
        |noise| {
            let points: Vec<SurgePoint> = tails
                .iter()
                .map(|&tail_s| SurgePoint {
                    wave: RatingWave::FrontTail {
                        front_s: tail_s / 5.0,
                        tail_s,
                    },
                    current_a: 35.0 * (tail_s / 1e-3f64).powf(-0.315) * (0.08 * noise.normal()).exp(),
                    sigma_a: None,
                })
                .collect();
            thyristor::surge_current(&points, &settings()).unwrap()
        },
    );
}

#[test]
fn varistor_power_law() {
    coverage(&[("breakdown", 47.0), ("exponent", 28.0)], |noise| {
        let points: Vec<CurvePoint> = spaced(1e-4, 10.0, 9)
            .into_iter()
            .map(|i| {
                let v = 47.0 * (i / 1e-3f64).powf(1.0 / 28.0);
                CurvePoint::new(i, v * (0.01 * noise.normal()).exp())
            })
            .collect();
        varistor::fit(&points, Law::Power, None, &settings()).unwrap()
    });
}

#[test]
fn varistor_with_bulk() {
    let truth = [
        ("breakdown", 47.0),
        ("exponent", 28.0),
        ("dynamic_resistance", 0.02),
    ];
    coverage(&truth, |noise| {
        let points: Vec<CurvePoint> = spaced(1e-3, 2000.0, 12)
            .into_iter()
            .map(|i| {
                let v = 47.0 * (i / 1e-3f64).powf(1.0 / 28.0) + 0.02 * i;
                CurvePoint::new(i, v * (0.015 * noise.normal()).exp())
            })
            .collect();
        varistor::fit(&points, Law::PowerAndBulk, None, &settings()).unwrap()
    });
}

#[test]
fn varistor_log_law() {
    let truth = [("b1", 1.78), ("b2", 0.03), ("b3", -0.0005), ("b4", 0.004)];
    coverage(&truth, |noise| {
        let points: Vec<CurvePoint> = spaced(1e-3, 2000.0, 13)
            .into_iter()
            .map(|i| {
                let x = i.log10();
                let v = 10f64.powf(1.78 + 0.03 * x - 0.0005 * (-x).exp() + 0.004 * x.exp());
                CurvePoint::new(i, v * (0.01 * noise.normal()).exp())
            })
            .collect();
        varistor::fit(&points, Law::LogVoltage, None, &settings()).unwrap()
    });
}

#[test]
fn gas_tube_slopes() {
    coverage(&[("slope_factor", 77.8), ("slope_exponent", 0.2258)], |noise| {
        let points: Vec<Point> = [1e6, 1e7, 1e8, 1e9, 5e9, 1e10]
            .into_iter()
            .map(|s: f64| {
                let v = 230.0 + 77.8 * (s / 1e6).powf(0.2258);
                Point::new(s, v * (0.03 * noise.normal()).exp())
            })
            .collect();
        gas_tube::fit(&points, Some(230.0), &settings()).unwrap()
    });
}

#[test]
fn gas_tube_with_the_direct_voltage() {
    let truth = [
        ("slope_factor", 77.8),
        ("slope_exponent", 0.2258),
        ("breakdown", 230.0),
    ];
    coverage(&truth, |noise| {
        let points: Vec<Point> = spaced(1e2, 1e10, 14)
            .into_iter()
            .map(|s| {
                let v = 230.0 + 77.8 * (s / 1e6).powf(0.2258);
                Point::new(s, v * (0.02 * noise.normal()).exp())
            })
            .collect();
        gas_tube::fit(&points, None, &settings()).unwrap()
    });
}

#[test]
fn pin_on_both_sides() {
    let truth = [
        ("positive_threshold", 4.1),
        ("positive_resistance", 1.0),
        ("negative_threshold", 0.8),
        ("negative_resistance", 0.6),
    ];
    coverage(&truth, |noise| {
        let points: Vec<CurvePoint> = [0.2, 0.5, 1.0, 1.5, 2.0, 2.5]
            .into_iter()
            .flat_map(|i: f64| [(i, 4.1 + i), (-i, -0.8 - 0.6 * i)])
            .map(|(i, v)| CurvePoint::new(i, v + 0.03 * noise.normal()))
            .collect();
        pin::fit(&points, &settings()).unwrap()
    });
}

#[test]
fn thermal_impedance() {
    let (z, n) = (0.32, 0.47);
    coverage(&[("impedance_1ms", z), ("time_exponent", n)], |noise| {
        let points: Vec<PowerPoint> = spaced(1e-6, 1e-2, 7)
            .into_iter()
            .map(|width_s| PowerPoint {
                wave: RatingWave::Rectangle { width_s },
                power_w: 150.0 / (z * (width_s / 1e-3f64).powf(n)) * (0.05 * noise.normal()).exp(),
                sigma_w: None,
            })
            .collect();
        thermal::fit(&points, 150.0, None, &settings()).unwrap()
    });
}

#[test]
fn leakage_doubling() {
    coverage(&[("leakage_25c", 2e-8), ("leakage_doubling", 11.5)], |noise| {
        let points: Vec<Point> = [25.0, 45.0, 65.0, 85.0, 105.0, 125.0]
            .into_iter()
            .map(|t: f64| {
                let i = 2e-8 * ((t - 25.0) / 11.5).exp2();
                Point::new(t, i * (0.15 * noise.normal()).exp())
            })
            .collect();
        leakage::fit(&points, 24.0, &settings()).unwrap()
    });
}

#[test]
fn capacitance_with_a_given_built_in_voltage() {
    coverage(
        &[("capacitance_0v", 1e-10), ("grading_exponent", 0.42)],
        |noise| {
            let points: Vec<Point> = [0.0, 1.0, 3.0, 6.0, 12.0, 24.0]
                .into_iter()
                .map(|v: f64| {
                    let c = 1e-10 * (1.0 + v / 0.7).powf(-0.42);
                    Point::new(v, c * (0.02 * noise.normal()).exp())
                })
                .collect();
            capacitance::fit(&points, BuiltIn::Fixed(0.7), &settings()).unwrap()
        },
    );
}

#[test]
fn capacitance_with_the_built_in_voltage() {
    let truth = [
        ("capacitance_0v", 1e-10),
        ("grading_exponent", 0.42),
        ("built_in", 0.8),
    ];
    coverage(&truth, |noise| {
        let points: Vec<Point> = [0.0, 0.2, 0.5, 1.0, 2.0, 4.0, 8.0, 16.0, 30.0]
            .into_iter()
            .map(|v: f64| {
                let c = 1e-10 * (1.0 + v / 0.8).powf(-0.42);
                Point::new(v, c * (0.01 * noise.normal()).exp())
            })
            .collect();
        capacitance::fit(&points, BuiltIn::Fitted, &settings()).unwrap()
    });
}
