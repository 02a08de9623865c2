//! Every law's derivatives agree with finite differences in every discrete state.

mod families;

use families::laws;
use tidewall_devices::law::{Bias, Mode, State};

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
