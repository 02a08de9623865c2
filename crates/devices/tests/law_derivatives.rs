//! Every law's derivatives agree with finite differences in every discrete state.

use tidewall_devices::law::{
    Avalanche, Bias, Crowbar, CurrentLimiter, Diode, FlatClamp, GasTube, Law, Mode, PinClamp, State, Table,
    Trigger, Varistor,
};

fn laws() -> Vec<(&'static str, Law, Vec<Mode>)> {
    let avalanche = |bidirectional| {
        Law::Avalanche(Avalanche {
            vbr25_v: 36.0,
            alpha_per_k: 9.8e-4,
            r_ohm: 0.09,
            knee_v: 0.05,
            bidirectional,
            forward_v: 0.7,
            forward_ohm: 0.02,
            c0_f: 2e-9,
            built_in_v: 0.7,
            grading: 0.45,
        })
    };
    let crowbar = |bidirectional| {
        Law::Crowbar(Crowbar {
            trigger_v: 36.0,
            trigger_a: 0.1,
            alpha_per_k: 1e-3,
            off_ohm: 3.0,
            on_v: 2.0,
            on_ohm: 0.1,
            hold_a: 0.06,
            hold_per_k: -0.005,
            transition_s: 1e-7,
            bidirectional,
            forward_v: 0.7,
            forward_ohm: 0.05,
            knee_v: 0.05,
            c_f: 1e-10,
        })
    };
    let flat = |trigger, bidirectional| {
        Law::FlatClamp(FlatClamp {
            trigger_v: 35.0,
            on_v: 34.0,
            alpha_per_k: 2e-4,
            reference_c: 70.0,
            r_ohm: 0.03,
            delay_s: 2e-9,
            settle_s: 5e-10,
            off_v: 30.0,
            saturation_a: 60.0,
            breakdown_v: 50.0,
            breakdown_ohm: 0.3,
            trigger,
            bidirectional,
            forward_v: 0.7,
            forward_ohm: 0.02,
            knee_v: 0.05,
            c0_f: 1e-9,
            built_in_v: 0.7,
            grading: 0.5,
        })
    };
    let flat_modes = vec![Mode::Off, Mode::Delay, Mode::On, Mode::TimedOut];
    let slope = Trigger::Slope {
        rc_s: 1e-6,
        hold_s: 5e-5,
    };
    vec![
        ("avalanche, unidirectional", avalanche(false), vec![Mode::Off]),
        ("avalanche, bidirectional", avalanche(true), vec![Mode::Off]),
        (
            "crowbar, unidirectional",
            crowbar(false),
            vec![Mode::Off, Mode::On],
        ),
        ("crowbar, bidirectional", crowbar(true), vec![Mode::Off, Mode::On]),
        (
            "flat clamp, by voltage",
            flat(Trigger::Voltage, false),
            flat_modes.clone(),
        ),
        ("flat clamp, by slope", flat(slope, true), flat_modes),
        (
            "varistor",
            Law::Varistor(Varistor {
                v1ma_v: 39.0,
                alpha: 28.0,
                v1ma_per_k: -5e-4,
                linear_above_a: 200.0,
                c_f: 1e-9,
            }),
            vec![Mode::Off],
        ),
        (
            "gas tube",
            Law::GasTube(GasTube {
                dc_v: 23.0,
                slope_coefficient_v: 7.78,
                slope_exponent: 0.2258,
                glow_v: 17.0,
                glow_to_arc_a: 0.5,
                arc_v: 5.0,
                arc_ohm: 0.05,
                arc_to_glow_a: 0.1,
                extinction_a: 0.01,
                drop_s: 1e-8,
                c_f: 1e-12,
                insulation_ohm: 1e10,
            }),
            vec![Mode::Off, Mode::Glow, Mode::Arc],
        ),
        (
            "diode",
            Law::Diode(Diode {
                forward_v: 0.7,
                forward_ohm: 0.1,
                breakdown_v: 30.0,
                breakdown_ohm: 0.5,
                knee_v: 0.03,
                c_f: 1e-12,
            }),
            vec![Mode::Off],
        ),
        (
            "pin",
            Law::Pin(PinClamp {
                positive_v: 4.1,
                positive_ohm: 1.0,
                negative_v: 0.8,
                negative_ohm: 0.7,
                knee_v: 0.03,
                c_f: 5e-12,
            }),
            vec![Mode::Off],
        ),
        (
            "table",
            Law::Table(
                Table::new(
                    &[-40.0, -36.0, 0.0, 30.0, 36.5, 40.0],
                    &[-30.0, -0.01, 0.0, 1e-4, 1.0, 25.0],
                    1e-10,
                )
                .expect("rising"),
            ),
            vec![Mode::Off],
        ),
        (
            "limiter",
            Law::Limiter(CurrentLimiter {
                on_ohm: 12.0,
                trip_a: 0.2,
                transition_s: 5e-7,
                blocked_ohm: 1e6,
                reset_v: 15.0,
                withstand_v: 38.0,
                breakdown_ohm: 12.0,
                c_f: 1e-11,
            }),
            vec![Mode::Off, Mode::Blocked, Mode::Limiting],
        ),
    ]
}

/// Biases that reach both sides of every corner but stand on none.
fn biases() -> Vec<Bias> {
    let mut out = Vec::new();
    for k in -58..=58 {
        for junction_c in [-40.0, 31.0, 160.0] {
            for inner in [[0.013, 0.3], [2.4, 0.02], [33.7, 21.0]] {
                out.push(Bias {
                    volts: 0.97 * f64::from(k) + 0.0131,
                    junction_c,
                    inner,
                });
            }
        }
    }
    out
}

fn at_volts(bias: &Bias, volts: f64) -> Bias {
    let mut moved = *bias;
    moved.volts = volts;
    moved
}

fn at_kelvin(bias: &Bias, junction_c: f64) -> Bias {
    let mut moved = *bias;
    moved.junction_c = junction_c;
    moved
}

fn states(modes: &[Mode]) -> Vec<State> {
    modes
        .iter()
        .flat_map(|&mode| [1.0, -1.0].map(|sign| State { mode, sign }))
        .collect()
}

fn slope(f: impl Fn(f64) -> f64, at: f64, h: f64) -> f64 {
    // Fourth-order central difference.
    (8.0 * (f(at + h) - f(at - h)) - (f(at + 2.0 * h) - f(at - 2.0 * h))) / (12.0 * h)
}

fn same(given: f64, numeric: f64, scale: f64, what: &str) {
    let allowed = 1e-7 * given.abs().max(numeric.abs()) + 1e-9 * scale;
    assert!(
        (given - numeric).abs() <= allowed,
        "{what}: given {given:e}, by differences {numeric:e}"
    );
}

#[test]
fn conduction_derivatives_agree_with_finite_differences_in_every_state() {
    for (name, law, modes) in laws() {
        for state in states(&modes) {
            for bias in biases() {
                let c = law.conduction(state, &bias);
                let what = format!("{name} {state:?} {bias:?}");
                let scale = c.amps.abs() + 1.0;
                let by_volts = slope(
                    |v| law.conduction(state, &at_volts(&bias, v)).amps,
                    bias.volts,
                    1e-4,
                );
                same(c.per_volt, by_volts, 10.0 * scale, &format!("{what} dI/dV"));
                let by_kelvin = slope(
                    |t| law.conduction(state, &at_kelvin(&bias, t)).amps,
                    bias.junction_c,
                    1e-2,
                );
                same(c.per_kelvin, by_kelvin, scale, &format!("{what} dI/dT"));
                for k in 0..2 {
                    let by_inner = slope(
                        |x| {
                            let mut moved = bias;
                            moved.inner[k] = x;
                            law.conduction(state, &moved).amps
                        },
                        bias.inner[k],
                        1e-4,
                    );
                    same(
                        c.per_inner[k],
                        by_inner,
                        10.0 * scale,
                        &format!("{what} dI/dinner{k}"),
                    );
                }
            }
        }
    }
}

#[test]
fn inner_rates_agree_with_finite_differences() {
    for (name, law, modes) in laws() {
        for state in states(&modes) {
            for bias in biases() {
                for k in 0..law.inner_count() {
                    let rate = law.inner_rate(state, &bias, k);
                    let what = format!("{name} {state:?} {bias:?} rate {k}");
                    let at = |b: Bias| law.inner_rate(state, &b, k).per_s;
                    let scale = rate.per_s.abs() + 1.0;
                    let by_volts = slope(|volts| at(at_volts(&bias, volts)), bias.volts, 1e-5);
                    same(rate.per_volt, by_volts, scale, &format!("{what} d/dV"));
                    let by_kelvin = slope(
                        |junction_c| at(at_kelvin(&bias, junction_c)),
                        bias.junction_c,
                        1e-2,
                    );
                    same(rate.per_kelvin, by_kelvin, scale, &format!("{what} d/dT"));
                    let with = |j: usize, x: f64| {
                        let mut moved = bias;
                        moved.inner[j] = x;
                        at(moved)
                    };
                    let by_self = slope(|x| with(k, x), bias.inner[k], 1e-5);
                    same(rate.per_self, by_self, scale, &format!("{what} d/dself"));
                    let by_other = slope(|x| with(1 - k, x), bias.inner[1 - k], 1e-5);
                    same(rate.per_other, by_other, scale, &format!("{what} d/dother"));
                }
            }
        }
    }
}

#[test]
fn capacitance_is_the_slope_of_the_charge_behind_the_stored_energy() {
    for (name, law, _) in laws() {
        for bias in biases() {
            let v = bias.volts;
            let (c, c_per_v) = law.capacitance(v);
            assert!(c > 0.0, "{name} at {v} V");
            // d(stored)/dv = C v.
            let by_energy = slope(|x| law.stored_j(x), v, 1e-4);
            same(c * v, by_energy, 1e-8, &format!("{name} at {v} V: energy"));
            let by_volts = slope(|x| law.capacitance(x).0, v, 1e-4);
            same(c_per_v, by_volts, 1e-8, &format!("{name} at {v} V: dC/dV"));
        }
    }
}

#[test]
fn laws_do_not_lose_monotony_with_voltage_nor_pump_energy() {
    for (name, law, modes) in laws() {
        for state in states(&modes) {
            for bias in biases() {
                let c = law.conduction(state, &bias);
                assert!(
                    c.per_volt >= 0.0,
                    "{name} {state:?} {bias:?}: negative slope {}",
                    c.per_volt
                );
                // Rounded corners let less than a milliampere-scale leak pass at zero volts; never a source.
                assert!(
                    c.amps.is_finite() && c.per_kelvin.is_finite(),
                    "{name} {state:?} {bias:?}"
                );
            }
        }
    }
}

#[test]
fn a_symmetrical_law_conducts_the_same_both_ways() {
    for (name, law, modes) in laws() {
        if !matches!(
            name,
            "avalanche, bidirectional"
                | "crowbar, bidirectional"
                | "flat clamp, by slope"
                | "varistor"
                | "gas tube"
                | "limiter"
        ) {
            continue;
        }
        for &mode in &modes {
            for bias in biases() {
                let mirrored = at_volts(&bias, -bias.volts);
                let plus = law.conduction(State { mode, sign: 1.0 }, &bias);
                let minus = law.conduction(State { mode, sign: -1.0 }, &mirrored);
                assert_eq!(plus.amps, -minus.amps, "{name} {mode:?} {bias:?}");
                assert_eq!(plus.per_volt, minus.per_volt, "{name} {mode:?} {bias:?}");
            }
        }
    }
}

#[test]
fn trial_steps_to_absurd_biases_stay_finite() {
    for (name, law, modes) in laws() {
        for state in states(&modes) {
            for volts in [-1e9, -1e5, 0.0, 1e5, 1e9] {
                for junction_c in [-1e6, -300.0, 25.0, 1e4, 1e6] {
                    let bias = Bias {
                        volts,
                        junction_c,
                        inner: [-50.0, 50.0],
                    };
                    let c = law.conduction(state, &bias);
                    let all = [c.amps, c.per_volt, c.per_kelvin, c.per_inner[0], c.per_inner[1]];
                    assert!(
                        all.iter().all(|x| x.is_finite()),
                        "{name} {state:?} {bias:?}: {c:?}"
                    );
                    for k in 0..law.inner_count() {
                        let r = law.inner_rate(state, &bias, k);
                        let all = [r.per_s, r.per_volt, r.per_self, r.per_kelvin];
                        assert!(
                            all.iter().all(|x| x.is_finite()),
                            "{name} {state:?} {bias:?}: {r:?}"
                        );
                    }
                    let (cap, slope) = law.capacitance(volts);
                    assert!(
                        cap.is_finite() && slope.is_finite() && law.stored_j(volts).is_finite(),
                        "{name}"
                    );
                }
            }
        }
    }
}

#[test]
fn a_voltage_that_is_no_number_is_answered_by_none() {
    // A trial step can ask for it; the integrator must see it and not fall over.
    for (name, law, modes) in laws() {
        for state in states(&modes) {
            let bias = Bias {
                volts: f64::NAN,
                junction_c: 25.0,
                inner: [0.1, 0.1],
            };
            let point = law.point(state, &bias);
            let any = point.conduction.amps + point.farads;
            assert!(any.is_nan() || any.is_finite(), "{name}");
        }
    }
    let table = laws()
        .into_iter()
        .find(|(name, ..)| *name == "table")
        .expect("a table")
        .1;
    let bias = Bias {
        volts: f64::NAN,
        junction_c: 25.0,
        inner: [0.0; 2],
    };
    assert!(table.conduction(State::INITIAL, &bias).amps.is_nan());
}
