//! What a fit writes gives, when the model is built from it, the curve that was fitted.

use tidewall_devices::build::{exponent_through, split_heating};
use tidewall_devices::datasheet::{Datasheet, Family, Firmness, RatingWave};
use tidewall_devices::pulse_power::UnitWave;
use tidewall_extract::family::avalanche::{Known, PulsePoint, Reading};
use tidewall_extract::family::capacitance::BuiltIn;
use tidewall_extract::family::varistor::Law;
use tidewall_extract::family::{
    CurvePoint, Fit, Point, Settings, avalanche, capacitance, flat_clamp, leakage, pin, snapback, varistor,
};

fn settings() -> Settings {
    Settings::default()
}

fn sheet(fit: &Fit, family: Family) -> Datasheet {
    let mut sheet = Datasheet::unknown("maple-1", family, "test");
    fit.apply(&mut sheet);
    assert_eq!(sheet.firmness, Some(Firmness::Measured));
    sheet
}

fn near(value: f64, wanted: f64) {
    assert!((value / wanted - 1.0).abs() < 1e-4, "{value}, not {wanted}");
}

fn curve(points: &[(f64, f64)]) -> Vec<CurvePoint> {
    points.iter().map(|&(i, v)| CurvePoint::new(i, v)).collect()
}

#[test]
fn clamping_data_of_an_avalanche_fit_split_into_the_same_values() {
    let points: Vec<PulsePoint> = [
        (RatingWave::Long10x1000, 5.0, 35.1),
        (RatingWave::Long10x1000, 33.0, 43.8),
        (RatingWave::Surge8x20, 20.0, 36.2),
        (RatingWave::Surge8x20, 110.0, 50.4),
        (RatingWave::Surge8x20, 169.0, 60.1),
    ]
    .map(|(wave, current_a, voltage_v)| PulsePoint {
        wave,
        current_a,
        voltage_v,
        sigma_v: None,
        reading: Reading::Highest,
    })
    .to_vec();
    let known = Known {
        breakdown_v: None,
        alpha_per_k: Some(9.8e-4),
    };
    let fit = avalanche::fit(&points, &known, &settings()).unwrap();
    let sheet = sheet(&fit, Family::Avalanche);
    near(sheet.breakdown_v.typ.unwrap(), fit.value("breakdown").unwrap());
    let point = |wave| {
        let p = sheet.clamp.iter().find(|p| p.wave == wave).unwrap();
        (UnitWave::of(wave).unwrap(), p.current_a, p.voltage_v.typ.unwrap())
    };
    let split = split_heating(
        sheet.breakdown_v.typ.unwrap(),
        sheet.alpha_per_k.unwrap(),
        point(RatingWave::Long10x1000),
        point(RatingWave::Surge8x20),
    )
    .unwrap();
    near(split.r_iso_ohm, fit.value("isothermal_resistance").unwrap());
    near(split.k_k_per_w_sqrt_s, fit.value("heating_coefficient").unwrap());
}

#[test]
fn on_branches_reach_the_datasheet() {
    let points = curve(&[
        (0.01, 30.9),
        (5.0, 28.4),
        (10.0, 28.6),
        (20.0, 28.9),
        (40.0, 29.7),
    ]);
    let fit = flat_clamp::fit(&points, &settings()).unwrap();
    let written = sheet(&fit, Family::FlatClamp);
    assert_eq!(written.on_v.typ, fit.value("on_voltage"));
    assert_eq!(written.dynamic_ohm, fit.value("dynamic_resistance"));
    assert_eq!(written.breakdown_v.typ, Some(30.9));
    let points = curve(&[(1e-3, 9.5), (1.0, 4.1), (4.0, 4.71), (8.0, 5.5), (16.0, 7.12)]);
    let fit = snapback::fit(&points, &settings()).unwrap();
    let written = sheet(&fit, Family::Snapback);
    assert_eq!(
        (written.breakdown_v.typ, written.breakdown_at_a),
        (Some(9.5), Some(1e-3))
    );
    assert_eq!(written.hold_v.typ, fit.value("hold_voltage"));
}

#[test]
fn the_four_term_law_of_a_varistor_becomes_clamping_data_on_its_curve() {
    let points: Vec<CurvePoint> = [1e-3, 1e-2, 0.1, 1.0, 10.0, 100.0, 1000.0]
        .map(|i: f64| CurvePoint::new(i, 47.0 * (i / 1e-3).powf(1.0 / 28.0) + 0.02 * i))
        .to_vec();
    let fit = varistor::fit(&points, Law::LogVoltage, Some(RatingWave::Surge8x20), &settings()).unwrap();
    let written = sheet(&fit, Family::Varistor);
    assert_eq!(written.clamp.len(), 2);
    let top = &fit.points[6];
    near(written.clamp[1].voltage_v.typ.unwrap(), top.fitted.unwrap());
    let power = varistor::fit(&points[..5], Law::Power, None, &settings()).unwrap();
    let written = sheet(&power, Family::Varistor);
    let (v1, at) = (written.breakdown_v.typ.unwrap(), 10.0f64);
    let v = v1 * (at / 1e-3).powf(1.0 / written.exponent.unwrap());
    near(exponent_through(v1, at, v), power.value("exponent").unwrap());
}

#[test]
fn leakage_and_capacitance_follow_the_fitted_lines() {
    let points = [(25.0, 1e-8), (65.0, 1.3e-7), (105.0, 1.2e-6)].map(|(t, i)| Point::new(t, i));
    let fit = leakage::fit(&points, 24.0, &settings()).unwrap();
    let written = sheet(&fit, Family::Avalanche);
    // Beyond the hottest point the model goes on with the doubling.
    let ratio = written.leakage_at(24.0, 125.0).unwrap() / written.leakage_at(24.0, 105.0).unwrap();
    near(ratio, (20.0 / fit.value("leakage_doubling").unwrap()).exp2());
    let points =
        [(0.0, 1e-10), (2.0, 5.6e-11), (10.0, 3.2e-11), (24.0, 2.2e-11)].map(|(v, c)| Point::new(v, c));
    let fit = capacitance::fit(&points, BuiltIn::Fixed(0.7), &settings()).unwrap();
    let written = sheet(&fit, Family::Avalanche);
    assert_eq!(written.grading, fit.value("grading_exponent"));
    near(
        written.capacitance[0].capacitance_f.typ.unwrap(),
        fit.value("capacitance_0v").unwrap(),
    );
}

#[test]
fn values_are_written_with_their_units() {
    let fit = pin::fit(
        &curve(&[(0.2, 4.3), (1.0, 5.1), (2.0, 6.1), (-0.5, -1.0), (-2.0, -1.9)]),
        &settings(),
    )
    .unwrap();
    let entry = &fit.entries[0];
    assert_eq!(entry.key, "conduction");
    assert!(
        entry
            .value
            .starts_with("{ positive_threshold = \"4.1 V\", positive_resistance = \"1 Ω\""),
        "{}",
        entry.value
    );
    assert!(
        entry.value.contains("negative_threshold = \"-700 mV\""),
        "{}",
        entry.value
    );
}
