//! Data that are missing or absurd: the model asks for the right datum, and never panics.

mod common;

use common::parts::{empty, flat_clamp, gas_tube, snapback, steering, table, thyristor, varistor};
use common::{FAMILY, datasheet, rating, spread, within};
use tidewall_devices::datasheet::{
    CapacitancePoint, Datasheet, Family, FiringPoint, Firmness, PartCorner, RatingWave, Spread,
};
use tidewall_devices::law::{Bias, Law, State};

/// A change that takes one datum away, and the key the model must then ask for.
type Without = (&'static str, fn(&mut Datasheet));

fn asks_for(complete: &Datasheet, cases: &[Without]) {
    assert!(
        complete.protector(PartCorner::High, 25.0).is_ok(),
        "{:?}",
        complete.family
    );
    for (key, take) in cases {
        let mut sheet = complete.clone();
        take(&mut sheet);
        let missing = sheet.protector(PartCorner::High, 25.0).expect_err(key);
        assert_eq!(missing.key, *key, "{missing}");
        assert_eq!(missing.family, complete.family);
        let text = missing.to_string();
        assert!(
            text.contains(*key) && text.contains(&*complete.name) && !missing.why.is_empty(),
            "{text}"
        );
    }
}

#[test]
fn every_shunt_family_asks_for_the_datum_that_is_missing() {
    let mut avalanche = datasheet(&FAMILY[5]);
    avalanche.clamp.truncate(1);
    asks_for(
        &avalanche,
        &[
            ("breakdown", |s| s.breakdown_v.max = None),
            ("clamp", |s| s.clamp.clear()),
            ("clamp", |s| s.clamp[0].voltage_v.max = Some(20.0)),
            ("temperature_coefficient", |s| s.alpha_per_k = None),
            ("rating", |s| s.ratings.clear()),
            ("junction_max", |s| s.junction_max_c = None),
            ("bidirectional", |s| s.bidirectional = None),
        ],
    );
    let mut low = datasheet(&FAMILY[5]);
    low.breakdown_v.min = None;
    assert_eq!(
        low.protector(PartCorner::Low, 25.0).expect_err("no minimum").key,
        "breakdown"
    );
    asks_for(
        &flat_clamp(),
        &[
            ("breakdown", |s| s.breakdown_v = Spread::default()),
            ("on_voltage", |s| s.on_v = Spread::default()),
            ("dynamic_resistance", |s| s.dynamic_ohm = None),
            ("temperature_coefficient", |s| s.alpha_per_k = None),
            ("turn_on_delay", |s| s.turn_on_s = None),
            ("turn_off_voltage", |s| s.turn_off_v = None),
            ("saturation_current", |s| s.saturation_a = None),
            ("transistor_breakdown", |s| s.transistor_breakdown_v = None),
            ("forward", |s| s.forward_v = None),
            ("bidirectional", |s| s.bidirectional = None),
        ],
    );
    asks_for(
        &snapback(),
        &[
            ("breakdown", |s| s.breakdown_v = Spread::default()),
            ("on_voltage", |s| s.clamp.clear()),
            ("dynamic_resistance", |s| s.clamp.truncate(1)),
            ("hold_current", |s| s.hold_a = Spread::default()),
            ("bidirectional", |s| s.bidirectional = None),
        ],
    );
    asks_for(
        &thyristor(),
        &[
            ("breakdown", |s| s.breakdown_v = Spread::default()),
            ("dynamic_resistance", |s| s.clamp.clear()),
            ("hold_current", |s| s.hold_a = Spread::default()),
        ],
    );
    let mut with_exponent = varistor();
    with_exponent.exponent = Some(30.0);
    asks_for(
        &with_exponent,
        &[
            ("breakdown", |s| s.breakdown_v = Spread::default()),
            ("clamp", |s| s.clamp.clear()),
        ],
    );
    asks_for(&varistor(), &[("exponent", |s| s.clamp.clear())]);
    asks_for(
        &gas_tube(),
        &[
            ("breakdown", |s| s.breakdown_v = Spread::default()),
            ("firing", |s| s.firing.truncate(1)),
            ("firing", |s| s.firing[1].voltage_v.max = Some(400.0)),
            ("glow_voltage", |s| s.glow_v = None),
            ("glow_to_arc_current", |s| s.glow_to_arc_a = None),
            ("arc_voltage", |s| s.arc_v = None),
        ],
    );
    asks_for(
        &table(),
        &[
            ("table", |s| s.table.clear()),
            ("bidirectional", |s| s.bidirectional = None),
        ],
    );
}

#[test]
fn steering_diodes_ask_for_their_rail() {
    let model = steering().steering().expect("complete");
    assert_eq!((model.rail_f, model.rail_v), (1e-6, 3.3));
    let amps = |law: &Law, volts| {
        law.conduction(
            State::INITIAL,
            &Bias {
                volts,
                junction_c: 25.0,
                inner: [0.0; 2],
            },
        )
        .amps
    };
    let diode = Law::Diode(model.diode);
    assert!(amps(&diode, 3.5) > 90.0 && amps(&diode, -50.0).abs() < 1e-3);
    within(amps(&Law::Avalanche(model.rail_clamp), 7.0), 5.0, 1e-6);
    let cases: [Without; 4] = [
        ("forward", |s| s.forward_v = None),
        ("rail_capacitance", |s| s.rail_f = None),
        ("rail_voltage", |s| s.rail_v = None),
        ("rail_clamp", |s| s.rail_clamp = None),
    ];
    for (key, take) in cases {
        let mut sheet = steering();
        take(&mut sheet);
        assert_eq!(sheet.steering().expect_err(key).key, key);
    }
    assert_eq!(
        steering()
            .protector(PartCorner::High, 25.0)
            .expect_err("not one shunt")
            .key,
        "family"
    );
}

#[test]
fn series_families_ask_for_the_datum_that_is_missing() {
    let mut sheet = empty(Family::Inductor);
    assert_eq!(sheet.resistor_ohm().expect_err("none").key, "resistance");
    assert_eq!(sheet.inductor().expect_err("none").key, "inductance");
    sheet.inductance_h = Some(10e-6);
    assert_eq!(sheet.inductor().expect_err("none").key, "inductor_saturation");
    sheet.inductor_saturation_a = Some(3.0);
    assert_eq!(sheet.inductor().expect_err("none").key, "resistance");
    assert_eq!(sheet.bead().expect_err("none").key, "resistance");
    sheet.resistance_ohm = Some(0.05);
    assert_eq!(sheet.inductor().expect("complete").winding_ohm, 0.05);
    assert_eq!(sheet.resistor_ohm(), Ok(0.05));
    assert_eq!(sheet.bead().expect_err("none").key, "bead_resistance");
    sheet.bead_ohm = Some(600.0);
    assert_eq!(sheet.bead().expect("complete").parallel_ohm, 600.0);
    assert_eq!(sheet.fuse().expect_err("none").key, "melting_i2t");
    sheet.melting_a2s = Some(30.0);
    assert_eq!(sheet.fuse().expect("complete").melting_a2s, 30.0);
    assert_eq!(sheet.ptc().expect_err("none").key, "rated_current");
    sheet.rated_a = Some(0.5);
    assert_eq!(sheet.ptc().expect_err("none").key, "trip_current");
    sheet.trip_a = Some(0.2);
    assert_eq!(sheet.ptc().expect("complete").hold_a, 0.5);
    assert_eq!(sheet.limiter().expect_err("none").key, "voltage_max");
    sheet.voltage_max_v = Some(650.0);
    assert_eq!(sheet.limiter().expect_err("none").key, "reset_voltage");
    sheet.reset_v = Some(15.0);
    assert!(sheet.limiter().is_ok());
}

#[test]
fn absurd_datasheets_neither_panic_nor_give_laws_that_are_not_finite() {
    // Reproducible draws of every datum, wild ones among them.
    let mut seed = 0x2545_f491_4f6c_dd1d_u64;
    let mut draw = || {
        seed ^= seed << 13;
        seed ^= seed >> 7;
        seed ^= seed << 17;
        seed
    };
    // The last three of the wild ones are no numbers a parts file can hold: they must not panic, no more.
    let wild = [
        0.0,
        1e-12,
        1e-6,
        1e-3,
        0.5,
        1.0,
        30.0,
        36.0,
        150.0,
        1e3,
        1e6,
        -1.0,
        1e300,
        f64::NAN,
        f64::INFINITY,
    ];
    let families = [
        Family::Avalanche,
        Family::FlatClamp,
        Family::Snapback,
        Family::Varistor,
        Family::GasTube,
        Family::Thyristor,
        Family::Table,
        Family::Steering,
        Family::Limiter,
    ];
    let mut built = 0;
    for round in 0..2000 {
        let mut value = || {
            let k = draw() as usize;
            // Half of the time something plausible, so that many get through to a model.
            if k & 1 == 0 {
                10f64.powf((k >> 8) as f64 % 700.0 / 100.0 - 3.0)
            } else {
                wild[(k >> 8) % if round % 2 == 0 { 11 } else { wild.len() }]
            }
        };
        let mut sheet = Datasheet::unknown("wild", families[round % families.len()], "drawn");
        sheet.firmness = Some(if round % 4 < 2 {
            Firmness::Typical
        } else {
            Firmness::Guaranteed
        });
        sheet.bidirectional = Some(round % 3 == 0);
        let mut any = || {
            let v = value();
            spread(0.9 * v, v, 1.1 * v)
        };
        (sheet.breakdown_v, sheet.on_v, sheet.hold_v, sheet.hold_a) = (any(), any(), any(), any());
        let waves = [
            RatingWave::Surge8x20,
            RatingWave::Long10x1000,
            RatingWave::Rectangle {
                width_s: any().max.unwrap_or(0.0),
            },
            RatingWave::FrontTail {
                front_s: any().min.unwrap_or(0.0),
                tail_s: any().max.unwrap_or(0.0),
            },
        ];
        for wave in waves {
            sheet.clamp.push(tidewall_devices::datasheet::ClampPoint {
                wave,
                current_a: any().typ.unwrap_or(0.0),
                voltage_v: any(),
            });
            sheet.ratings.push(rating(wave, any().typ, any().typ));
        }
        for slope in [1e8, 1e9] {
            sheet.firing.push(FiringPoint {
                slope_v_per_s: slope,
                voltage_v: any(),
            });
        }
        sheet.table = (0..4)
            .map(|_| (any().typ.unwrap_or(0.0), any().typ.unwrap_or(0.0)))
            .collect();
        sheet.capacitance = vec![CapacitancePoint {
            bias_v: any().typ.unwrap_or(0.0),
            capacitance_f: any(),
        }];
        let mut one = || any().typ;
        sheet.alpha_per_k = one().map(|x| x * 1e-4);
        (sheet.forward_v, sheet.forward_at_a, sheet.junction_max_c) = (one(), one(), one());
        (sheet.thermal_k_per_w, sheet.dynamic_ohm, sheet.turn_on_s) = (one(), one(), one());
        (sheet.turn_off_v, sheet.saturation_a, sheet.transistor_breakdown_v) = (one(), one(), one());
        (sheet.exponent, sheet.glow_v, sheet.glow_to_arc_a, sheet.arc_v) = (one(), one(), one(), one());
        (
            sheet.resistance_ohm,
            sheet.trip_a,
            sheet.voltage_max_v,
            sheet.reset_v,
        ) = (one(), one(), one(), one());
        (sheet.rail_f, sheet.rail_v) = (one(), one());
        sheet.rail_clamp = one().zip(one());
        let _ = sheet.steering();
        let _ = sheet.limiter();
        for corner in [PartCorner::Low, PartCorner::Typical, PartCorner::High] {
            let Ok(model) = sheet.protector(corner, 85.0) else {
                continue;
            };
            built += 1;
            if round % 2 == 1 {
                continue;
            }
            let thermal = &model.protector.thermal;
            let all = thermal.capacity_j_per_k.iter().chain(&thermal.resistance_k_per_w);
            for x in all {
                assert!(
                    x.is_finite() && *x > 0.0,
                    "round {round}: {sheet:?} gives {thermal:?}"
                );
            }
            for volts in [-1e3, -1.0, 0.0, 1.0, 40.0, 1e3] {
                let law = &model.protector.law;
                let c = law.conduction(
                    State::INITIAL,
                    &Bias {
                        volts,
                        junction_c: 85.0,
                        inner: [1.0, 0.0],
                    },
                );
                assert!(
                    c.amps.is_finite() && c.per_volt.is_finite(),
                    "round {round}: {sheet:?} gives {model:?}"
                );
                assert!(
                    law.capacitance(volts).0 > 0.0,
                    "round {round}: {sheet:?} gives {model:?}"
                );
            }
        }
    }
    assert!(built > 150, "only {built} models were built");
}
