//! Values and standard errors agree with those of scipy (`validation/extract_reference.py`) to 1e-4 of their size.

use serde_json::Value;
use tidewall_devices::datasheet::RatingWave;
use tidewall_extract::family::avalanche::{Known, PulsePoint, Reading};
use tidewall_extract::family::capacitance::BuiltIn;
use tidewall_extract::family::thermal::PowerPoint;
use tidewall_extract::family::thyristor::SurgePoint;
use tidewall_extract::family::varistor::Law;
use tidewall_extract::family::{
    CurvePoint, Fit, Point, Settings, avalanche, capacitance, gas_tube, leakage, snapback, thermal,
    thyristor, varistor,
};
use tidewall_extract::fit::{Loss, Parameter, Problem, Scale};

const LIMIT: f64 = 1e-4;

fn case(name: &str) -> Value {
    let all: Value =
        serde_json::from_str(include_str!("../../../validation/extract_reference.json")).unwrap();
    all[name].clone()
}

fn rows(case: &Value) -> Vec<Vec<f64>> {
    let row = |row: &Value| {
        row.as_array()
            .unwrap()
            .iter()
            .map(|x| x.as_f64().unwrap())
            .collect()
    };
    case["points"].as_array().unwrap().iter().map(row).collect()
}

fn plain(case: &Value) -> Vec<Point> {
    let point = |row: &Vec<f64>| Point {
        sigma: row.get(2).copied(),
        ..Point::new(row[0], row[1])
    };
    rows(case).iter().map(point).collect()
}

fn curve(case: &Value) -> Vec<CurvePoint> {
    let point = |p: &Point| CurvePoint {
        sigma_v: p.sigma,
        ..CurvePoint::new(p.x, p.y)
    };
    plain(case).iter().map(point).collect()
}

fn near(got: f64, wanted: f64, what: &str) {
    assert!((got / wanted - 1.0).abs() < LIMIT, "{what}: {got}, not {wanted}");
}

fn compare(name: &str, case: &Value, fit: &Fit) {
    let values = case["values"].as_object().unwrap();
    assert!(values.len() >= 2, "{name}: the reference is empty");
    for (key, wanted) in values {
        let estimate = fit.estimate(key).unwrap_or_else(|| panic!("{name}: no `{key}`"));
        near(
            estimate.value.unwrap(),
            wanted.as_f64().unwrap(),
            &format!("{name}, {key}"),
        );
        let error = case["errors"][key].as_f64().unwrap();
        near(
            estimate.standard_error.unwrap(),
            error,
            &format!("{name}, standard error of {key}"),
        );
    }
}

#[test]
fn branches() {
    for name in ["on-branch", "on-branch-sigmas"] {
        let case = case(name);
        compare(
            name,
            &case,
            &snapback::on_branch(&curve(&case), &Settings::default()).unwrap(),
        );
    }
}

#[test]
fn varistors() {
    for (name, law) in [
        ("varistor-power", Law::Power),
        ("varistor-bulk", Law::PowerAndBulk),
        ("varistor-log", Law::LogVoltage),
    ] {
        let case = case(name);
        compare(
            name,
            &case,
            &varistor::fit(&curve(&case), law, None, &Settings::default()).unwrap(),
        );
    }
}

#[test]
fn gas_tubes() {
    for (name, direct) in [("gas-tube", Some(230.0)), ("gas-tube-direct", None)] {
        let case = case(name);
        compare(
            name,
            &case,
            &gas_tube::fit(&plain(&case), direct, &Settings::default()).unwrap(),
        );
    }
}

#[test]
fn surge_currents_and_thermal_impedance() {
    let reference = case("thyristor-surge");
    let points: Vec<SurgePoint> = plain(&reference)
        .iter()
        .map(|p| SurgePoint {
            wave: RatingWave::FrontTail {
                front_s: p.x / 5.0,
                tail_s: p.x,
            },
            current_a: p.y,
            sigma_a: None,
        })
        .collect();
    let fit = thyristor::surge_current(&points, &Settings::default()).unwrap();
    compare("thyristor-surge", &reference, &fit);
    let reference = case("thermal");
    let points: Vec<PowerPoint> = plain(&reference)
        .iter()
        .map(|p| PowerPoint {
            wave: RatingWave::Rectangle { width_s: p.x },
            power_w: p.y,
            sigma_w: None,
        })
        .collect();
    let rise = reference["rise"].as_f64().unwrap();
    compare(
        "thermal",
        &reference,
        &thermal::fit(&points, rise, None, &Settings::default()).unwrap(),
    );
}

#[test]
fn leakage_and_capacitance() {
    let reference = case("leakage");
    compare(
        "leakage",
        &reference,
        &leakage::fit(&plain(&reference), 24.0, &Settings::default()).unwrap(),
    );
    for (name, built_in) in [
        ("capacitance", BuiltIn::Fixed(0.7)),
        ("capacitance-built-in", BuiltIn::Fitted),
    ] {
        let case = case(name);
        compare(
            name,
            &case,
            &capacitance::fit(&plain(&case), built_in, &Settings::default()).unwrap(),
        );
    }
}

#[test]
fn an_avalanche_diode_that_heats_itself() {
    let reference = case("avalanche");
    let waves = reference["waves"].as_array().unwrap();
    let points: Vec<PulsePoint> = plain(&reference)
        .iter()
        .zip(waves)
        .map(|(p, wave)| PulsePoint {
            wave: match wave.as_str().unwrap() {
                "8/20" => RatingWave::Surge8x20,
                "10/1000" => RatingWave::Long10x1000,
                other => panic!("unknown wave {other}"),
            },
            current_a: p.x,
            voltage_v: p.y,
            sigma_v: None,
            reading: Reading::Highest,
        })
        .collect();
    let known = Known {
        breakdown_v: None,
        alpha_per_k: reference["alpha"].as_f64(),
    };
    compare(
        "avalanche",
        &reference,
        &avalanche::fit(&points, &known, &Settings::default()).unwrap(),
    );
}

#[test]
fn robust_losses() {
    for name in ["huber", "soft-l1"] {
        let case = case(name);
        let points = plain(&case);
        let observed: Vec<f64> = points.iter().map(|p| p.y).collect();
        let scale = case["scale"].as_f64();
        let unit = Scale::Linear { typical: 1.0 };
        let parameters = [
            Parameter::new("intercept", unit, 1.0),
            Parameter::new("slope", unit, 1.0),
        ];
        let model = |v: &[f64], k: usize| v[0] + v[1] * points[k].x;
        let outcome = Problem {
            loss: if name == "huber" {
                Loss::Huber { scale }
            } else {
                Loss::SoftL1 { scale }
            },
            ..Problem::new(&parameters, &observed, &model)
        }
        .solve()
        .unwrap();
        for (j, key) in ["intercept", "slope"].into_iter().enumerate() {
            near(
                outcome.values[j],
                case["values"][key].as_f64().unwrap(),
                &format!("{name}, {key}"),
            );
            near(
                outcome.standard_errors[j].unwrap(),
                case["errors"][key].as_f64().unwrap(),
                &format!("{name}, standard error of {key}"),
            );
        }
    }
}
