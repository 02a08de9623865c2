//! Check values of flat clamps, snapback parts, varistors, gas tubes and thyristors.

mod common;

use common::{within, within_percent};
use tidewall_devices::build::{exponent_through, fit_line, fit_slope_law};
use tidewall_devices::coordination::{RAMP_ENERGY, clamp_energy_j, follow_current_a, release_ohm};
use tidewall_devices::curve::{clamp_loop_ohm, operating_point, voltage_at};
use tidewall_devices::datasheet::RatingWave;
use tidewall_devices::law::{Bias, GasTube, Law, Mode, State, Varistor};
use tidewall_devices::pin::human_body_a;
use tidewall_devices::pulse_power::UnitWave;
use tidewall_devices::rating::{derating_factor, width_exponent};

/// Two-pole 5 mm tube datasheet: direct spark-over, impulse at 100 V/µs and at 1 kV/µs.
const TUBES: [(f64, f64, f64); 11] = [
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
];

fn tube(dc_v: f64, a: f64, b: f64) -> GasTube {
    GasTube {
        dc_v,
        slope_coefficient_v: a,
        slope_exponent: b,
        glow_v: 70.0,
        glow_to_arc_a: 0.5,
        arc_v: 10.0,
        arc_ohm: 0.01,
        arc_to_glow_a: 0.1,
        extinction_a: 0.01,
        drop_s: 10e-9,
        c_f: 1e-12,
        insulation_ohm: 1e10,
    }
}

fn varistor(v1ma_v: f64, alpha: f64) -> Law {
    Law::Varistor(Varistor {
        v1ma_v,
        alpha,
        v1ma_per_k: -5e-4,
        linear_above_a: 1e5,
        c_f: 1e-12,
    })
}

#[test]
fn v30_dynamic_resistance_of_a_snapback_part_by_least_squares() {
    // Application report on reading ESD-device datasheets (2010, rev. 2023): TLP points.
    let (r, v0) = fit_line(&[(1.0, 7.6), (5.0, 8.2), (16.0, 10.4)]).expect("three points");
    within(r, 0.1895, 1e-4);
    within(v0, 7.343, 1e-3);
}

#[test]
fn v31_dynamic_resistance_of_a_3_v3_array_as_published() {
    // 3.3 V snapback array datasheet (2016): 3.5 V at 4 A, 5.3 V at 16 A; published 0.15 Ω.
    let (r, v0) = fit_line(&[(4.0, 3.5), (16.0, 5.3)]).expect("two points");
    within(r, 0.15, 1e-9);
    within(v0, 2.9, 1e-9);
}

#[test]
fn v32_on_resistance_of_a_grounded_gate_transistor_by_width() {
    // Open 180 nm design kit: holds at 6.2 V, fails at 8 V and 7 mA/µm.
    let (ohm_um, hold) = fit_line(&[(0.0, 6.2), (7e-3, 8.0)]).expect("two points");
    within(ohm_um, 257.0, 0.5);
    within(hold, 6.2, 1e-9);
    within(7e-3 * 400.0, 2.8, 1e-9);
    within(ohm_um / 400.0, 0.64, 0.005);
}

#[test]
fn v33_dynamic_resistance_of_a_clamp_loop() {
    within(clamp_loop_ohm(20.0, 0.0, 10e-3), 60e-3, 1e-9);
    assert!(clamp_loop_ohm(20.0, 9.0, 10e-3) < 16e-3);
}

#[test]
fn v34_failure_current_per_width_from_a_human_body_level() {
    // Abstract of a 2010 transactions paper: 2.6 kV on 25 µm.
    within(1e3 * human_body_a(2600.0) / 25.0, 69.3, 0.05);
}

#[test]
fn v35_energy_of_an_active_clamp() {
    within(
        1e3 * clamp_energy_j(30.0, &[(RAMP_ENERGY, 5.0, 0.4e-3)]),
        30.0,
        1e-9,
    );
}

#[test]
fn v36_latch_up_rule() {
    within(release_ohm(12.0, 6.0, 0.5, 0.1), 59.5, 1e-9);
    within(1e3 * follow_current_a(12.0, 6.0, 100.0, 0.5), 59.7, 0.05);
    assert_eq!(release_ohm(5.0, 6.0, 0.5, 0.1), 0.0);
    // 3.3 V array on a 3.3 V rail: folds back below it, so a stiff rail keeps it on.
    assert!(follow_current_a(3.3, 2.9, 0.1, 0.15) > 1.0);
}

#[test]
fn v37_ten_per_cent_more_voltage_on_a_varistor() {
    // Zinc-oxide catalogue: standing power times about 20 (exponent 30) and 150 (exponent 50).
    for (alpha, exact, published) in [(30.0, 19.2, 20.0), (50.0, 129.0, 150.0)] {
        let law = varistor(100.0, alpha);
        let power = |volts: f64| {
            let bias = Bias {
                volts,
                junction_c: 25.0,
                inner: [0.0; 2],
            };
            volts * law.conduction(State::INITIAL, &bias).amps
        };
        let factor = power(99.0) / power(90.0);
        within_percent(factor, exact, 0.3);
        within_percent(factor, published, 15.0);
    }
}

#[test]
fn v38_exponent_through_a_clamping_point() {
    within(exponent_through(680.0, 50.0, 1120.0), 21.7, 0.05);
    assert!(exponent_through(680.0, 50.0, 600.0).is_nan());
}

#[test]
fn v39_varistor_behind_2_ohm() {
    let at = operating_point(
        &varistor(200.0, 30.0),
        0.0,
        State::INITIAL,
        [0.0; 2],
        25.0,
        2000.0,
        2.0,
    );
    within(at.current_a, 842.4, 0.05);
    within(at.voltage_v, 315.2, 0.05);
}

#[test]
fn v40_voltage_ratio_over_four_decades_and_energy_of_a_surge() {
    let law = varistor(200.0, 30.0);
    let at = |amps| voltage_at(&law, State::INITIAL, [0.0; 2], 25.0, amps).expect("conducts");
    within(at(10.0) / at(1e-3), 1.359, 0.001);
    let surge = UnitWave::of(RatingWave::Surge8x20).expect("standard wave");
    within(surge.charge_s() * 100.0 * 775.0, 1.352, 0.002);
}

#[test]
fn v41_gas_tube_firing_law_of_the_230_v_tube() {
    let (a, b) = fit_slope_law(230.0, &[(100e6, 450.0), (1000e6, 600.0)]).expect("two rising points");
    within(a, 77.8, 0.05);
    within(b, 0.2258, 1e-4);
    let tube = tube(230.0, a, b);
    within(tube.firing_v(5e9), 762.0, 0.5);
    // Fires at 4.5 µs on 100 V/µs and at 0.6 µs on 1 kV/µs.
    within(tube.firing_v(100e6) / 100e6 * 1e6, 4.5, 1e-9);
    within(tube.firing_v(1000e6) / 1000e6 * 1e6, 0.6, 1e-9);
}

#[test]
fn every_tube_of_the_published_table_gives_a_firing_law_that_returns_its_points() {
    for (dc, slow, fast) in TUBES {
        let (a, b) = fit_slope_law(dc, &[(100e6, slow), (1000e6, fast)]).expect("rising");
        let tube = tube(dc, a, b);
        within(tube.firing_v(100e6), slow, 1e-6);
        within(tube.firing_v(1000e6), fast, 1e-6);
        within(tube.firing_v(0.0), dc, 0.0);
    }
    assert_eq!(fit_slope_law(230.0, &[(100e6, 450.0)]), None);
    assert_eq!(fit_slope_law(230.0, &[(100e6, 200.0), (1000e6, 600.0)]), None);
    assert_eq!(fit_slope_law(230.0, &[(100e6, 600.0), (1000e6, 450.0)]), None);
}

#[test]
fn the_disruptive_integral_fires_on_ramps_as_the_slope_law_does() {
    // 230 V row, between and beyond the published slopes, both polarities.
    let (a, b) = fit_slope_law(230.0, &[(100e6, 450.0), (1000e6, 600.0)]).expect("rising");
    let law = Law::GasTube(tube(230.0, a, b));
    let expected = tube(230.0, a, b);
    for slope in [1e6, 100e6, 300e6, -1000e6, 5e9] {
        // Classical Runge-Kutta on the inner rate.
        let rate = |t: f64| {
            let bias = Bias {
                volts: slope * t,
                junction_c: 25.0,
                inner: [0.0; 2],
            };
            law.inner_rate(State::INITIAL, &bias, 1).per_s
        };
        let from = 230.0 / slope.abs();
        let h = (expected.firing_v(slope.abs()) - 230.0) / slope.abs() / 2000.0;
        let (mut sum, mut t) = (0.0, from);
        while sum < 1.0 {
            sum += h / 6.0 * (rate(t) + 4.0 * rate(t + 0.5 * h) + rate(t + h));
            t += h;
        }
        within_percent(slope.abs() * t, expected.firing_v(slope.abs()), 0.1);
        let bias = Bias {
            volts: slope * t,
            junction_c: 25.0,
            inner: [0.0, sum],
        };
        let fired = law.watches(State::INITIAL, &bias, 0.0)[0].expect("a watch");
        assert!(fired.value >= 0.0 && fired.at_once);
        let (state, _) = law.after(State::INITIAL, &bias, 0.0, 0);
        assert_eq!((state.mode, state.sign), (Mode::Glow, slope.signum()));
    }
}

#[test]
fn v42_surge_current_of_a_tube_in_arc() {
    // An arc that stands at 10 V in all at this current.
    let law = Law::GasTube(GasTube {
        arc_v: 9.0,
        arc_ohm: 0.01,
        ..tube(230.0, 77.8, 0.2258)
    });
    let arc = State {
        mode: Mode::Arc,
        sign: 1.0,
    };
    let at = operating_point(&law, 0.0, arc, [9.0, 0.0], 25.0, 4000.0, 40.0);
    within(at.current_a, 99.75, 0.005);
}

#[test]
fn v43_thyristor_rating_against_width_and_temperature() {
    // 100–145 V symmetrical thyristor datasheet (1997): 120 A at 8/20 µs, 35 A at 10/1000 µs; derated in a straight
    // line from 70 °C to zero at 150 °C.
    within(width_exponent((20e-6, 120.0), (1000e-6, 35.0)), 0.315, 5e-4);
    within(35.0 * derating_factor(100.0, 70.0, 150.0), 21.9, 0.05);
}
