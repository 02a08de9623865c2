//! Specimens anywhere in their type's tolerance: the corners at its ends, something between them elsewhere.

mod common;

use std::sync::Arc;

use common::{clamp, parts, rating, spread};
use tidewall_devices::Law;
use tidewall_devices::build::ModelRange;
use tidewall_devices::datasheet::{Datasheet, Family, PartCorner, RatingWave};
use tidewall_devices::law::{Bias, State};
use tidewall_devices::pulse_power::UnitWave;
use tidewall_devices::rating::PulseShape;
use tidewall_devices::specimen::Specimens;
use tidewall_devices::thermal::Foster;

/// Data from one side only: the low corner falls back on the slope of the highest curve.
fn avalanche() -> Datasheet {
    let mut sheet = parts::empty(Family::Avalanche);
    sheet.bidirectional = Some(true);
    sheet.breakdown_v = spread(36.7, 38.6, 40.6);
    sheet.alpha_per_k = Some(9.8e-4);
    sheet.clamp = vec![
        clamp(RatingWave::Long10x1000, 56.0, 53.5),
        clamp(RatingWave::Surge8x20, 287.0, 69.7),
    ];
    sheet.ratings = vec![rating(RatingWave::Long10x1000, Some(3e3), None)];
    sheet.junction_max_c = Some(175.0);
    sheet
}

/// Both curves of its own, so that slope and heating differ between the corners.
fn avalanche_of_two_curves() -> Datasheet {
    let mut sheet = avalanche();
    for (point, min) in sheet.clamp.iter_mut().zip([47.0, 60.0]) {
        point.voltage_v.min = Some(min);
    }
    sheet
}

/// One clamping point that leaves nothing for the isothermal resistance: the breakdown follows the ambient alone.
fn avalanche_without_feedback() -> Datasheet {
    let mut sheet = avalanche();
    sheet.clamp = vec![clamp(RatingWave::Long10x1000, 56.0, 42.0)];
    sheet
}

fn thyristor_at_its_stand_off() -> Datasheet {
    let mut sheet = parts::thyristor();
    sheet.breakdown_v.min = None;
    sheet.stand_off_v = Some(0.8 * sheet.breakdown_v.max.expect("a maximum"));
    sheet
}

fn all() -> Vec<(&'static str, Datasheet)> {
    let mut thyristor = parts::thyristor();
    thyristor.alpha_per_k = Some(1e-3);
    let mut at_stand_off = thyristor_at_its_stand_off();
    at_stand_off.alpha_per_k = Some(1e-3);
    vec![
        ("avalanche", avalanche()),
        ("avalanche of two curves", avalanche_of_two_curves()),
        ("avalanche without feedback", avalanche_without_feedback()),
        ("flat clamp", parts::flat_clamp()),
        ("snapback", parts::snapback()),
        ("thyristor", thyristor),
        ("thyristor at its stand-off", at_stand_off),
        ("varistor", parts::varistor()),
        ("gas tube", parts::gas_tube()),
        ("table", parts::table()),
    ]
}

fn models(sheet: &Datasheet) -> ModelRange {
    ModelRange::new(sheet, -40.0, 85.0).unwrap_or_else(|missing| panic!("{missing}"))
}

#[test]
fn position_0_is_the_low_corner_and_1_the_high_one_bit_by_bit() {
    for (name, sheet) in all() {
        let models = models(&sheet);
        for ambient_c in [-40.0, 85.0] {
            for (position, corner) in [(0.0, PartCorner::Low), (1.0, PartCorner::High)] {
                let whole = sheet.protector(corner, ambient_c).expect("the model is built");
                let drawn = models.at(position, ambient_c);
                assert_eq!(
                    drawn.protector, whole.protector,
                    "{name} at {ambient_c} °C, {corner:?}"
                );
                assert_eq!(drawn.rated_rise_k, whole.rated_rise_k, "{name} at {ambient_c} °C");
            }
        }
    }
}

/// What [`ModelRange`] rests on: every parameter is a straight line in the ambient.
#[test]
fn any_ambient_gives_the_model_that_is_built_there() {
    for (name, sheet) in all() {
        let models = models(&sheet);
        for ambient_c in [-40.0, -7.5, 20.0, 61.0, 85.0] {
            for (position, corner) in [(0.0, PartCorner::Low), (1.0, PartCorner::High)] {
                let whole = sheet.protector(corner, ambient_c).expect("the model is built");
                let drawn = models.at(position, ambient_c);
                for volts in [-30.0, -5.0, 5.0, 35.0, 39.0, 60.0, 700.0] {
                    let current = |law: &Law| {
                        let bias = Bias {
                            volts,
                            junction_c: ambient_c + 40.0,
                            inner: law.inner_initial(20.0),
                        };
                        law.conduction(State::INITIAL, &bias).amps
                    };
                    let (a, b) = (current(&whole.protector.law), current(&drawn.protector.law));
                    assert!(
                        (a - b).abs() <= 1e-9 * a.abs().max(1e-12),
                        "{name}, {volts} V at {ambient_c} °C: {a} against {b}"
                    );
                }
                assert_eq!(whole.protector.thermal, drawn.protector.thermal, "{name}");
            }
        }
    }
}

#[test]
fn the_breakdown_moves_evenly_and_heating_stays_between_the_corners() {
    let models = models(&avalanche_of_two_curves());
    let (low, high) = (models.at(0.0, 25.0), models.at(1.0, 25.0));
    let at = |position: f64, t_s: f64| models.at(position, 25.0).protector.thermal.step_response(t_s);
    let mut last = 0.0;
    for step in 0..=10 {
        let position = f64::from(step) / 10.0;
        let built = models.at(position, 25.0);
        let Law::Avalanche(law) = &built.protector.law else {
            panic!("not an avalanche diode")
        };
        assert!((law.vbr25_v - (36.7 + 3.9 * position)).abs() < 1e-9);
        assert!(law.vbr25_v > last);
        last = law.vbr25_v;
        for t_s in [1e-8, 1e-6, 2e-5, 1e-3, 0.1] {
            let (a, b, drawn) = (at(0.0, t_s), at(1.0, t_s), at(position, t_s));
            let wanted = a + position * (b - a);
            assert!(
                (drawn / wanted - 1.0).abs() < 0.01,
                "{drawn} K/W against {wanted}"
            );
        }
    }
    assert_ne!(
        low.protector.thermal, high.protector.thermal,
        "the two curves heat alike"
    );
    assert!(!models.is_alike());
}

#[test]
fn blended_poles_follow_both_step_responses() {
    let (a, b) = (
        Foster::square_root_law(10.0, Some(20.0)),
        Foster::square_root_law(17.0, Some(20.0)),
    );
    for x in [1e-9, 0.01, 0.3, 0.5, 0.99, 1.0 - 1e-9] {
        let poles = Foster::between(&a, &b, x);
        let ladder = poles.to_ladder();
        assert!(
            ladder.capacity_j_per_k.iter().all(|c| *c > 0.0),
            "{x}: {ladder:?}"
        );
        assert!(
            ladder.resistance_k_per_w.iter().all(|r| *r > 0.0),
            "{x}: {ladder:?}"
        );
        for exponent in -80..=30 {
            let t_s = 10f64.powf(f64::from(exponent) / 10.0);
            let wanted = (1.0 - x) * a.step_response(t_s) + x * b.step_response(t_s);
            for found in [poles.step_response(t_s), ladder.step_response(t_s)] {
                assert!(
                    (found / wanted - 1.0).abs() < 0.02,
                    "{x}, {t_s} s: {found} against {wanted}"
                );
            }
        }
    }
    assert_eq!(Foster::between(&a, &b, 0.0), a);
    assert_eq!(Foster::between(&a, &b, 1.0), b);
}

#[test]
fn specimens_narrow_their_data_and_keep_the_ratings_of_the_type() {
    let mut sheet = avalanche();
    sheet.capacitance = vec![tidewall_devices::datasheet::CapacitancePoint {
        bias_v: 0.0,
        capacitance_f: spread(1e-9, 1.2e-9, 2e-9),
    }];
    let of = Arc::new(sheet.clone());
    let models = Ok(Arc::new(models(&sheet)));
    let pair = Datasheet::of_specimens(Specimens {
        of: of.clone(),
        models: models.clone(),
        positions: [0.75, 0.25],
    });
    let close = |a: Option<f64>, b: f64| assert!((a.expect("a value") - b).abs() < 1e-9 * b, "{a:?} {b}");
    close(pair.breakdown_v.min, 36.7 + 0.25 * 3.9);
    close(pair.breakdown_v.max, 36.7 + 0.75 * 3.9);
    let first = pair.on_line(0);
    close(first.breakdown_v.min, 36.7 + 0.75 * 3.9);
    close(first.capacitance[0].capacitance_f.max, 1.75e-9);
    close(pair.on_line(1).capacitance[0].capacitance_f.min, 1.25e-9);
    let vbr = |sheet: &Datasheet, corner| match sheet.protector(corner, 25.0).expect("built").protector.law {
        Law::Avalanche(law) => law.vbr25_v,
        other => panic!("{other:?}"),
    };
    close(Some(vbr(&pair, PartCorner::Low)), 36.7 + 0.25 * 3.9);
    close(Some(vbr(&pair, PartCorner::High)), 36.7 + 0.75 * 3.9);
    close(Some(vbr(&first, PartCorner::Low)), 36.7 + 0.75 * 3.9);
    close(Some(vbr(&first, PartCorner::High)), 36.7 + 0.75 * 3.9);
    let wave = UnitWave::of(RatingWave::Surge8x20).expect("a wave");
    let times: Vec<f64> = (0..200).map(|k| f64::from(k) * 0.5e-6).collect();
    let amps: Vec<f64> = times.iter().map(|t| 100.0 * wave.value(*t)).collect();
    let shape = PulseShape::of_samples(&times, &amps).expect("a shape");
    assert_eq!(
        pair.allowed_current(&shape, 1, 60.0).expect("rated"),
        of.allowed_current(&shape, 1, 60.0).expect("rated")
    );
    // A datum known from one side only is a bound, whatever the specimen.
    assert_eq!(pair.clamp, of.clamp);
}

#[test]
fn a_specimen_of_a_type_without_a_model_lacks_the_same_datum() {
    let mut sheet = avalanche();
    sheet.breakdown_v.min = None;
    let models = ModelRange::new(&sheet, -40.0, 85.0).map(Arc::new);
    let missing = models.clone().expect_err("no lowest breakdown");
    let drawn = Datasheet::of_specimens(Specimens {
        of: Arc::new(sheet),
        models,
        positions: [0.5; 2],
    });
    assert_eq!(
        drawn.protector(PartCorner::High, 25.0).expect_err("no model"),
        missing
    );
    assert_eq!(drawn.breakdown_v.min, None);
    assert!(!drawn.has_spread());
}
