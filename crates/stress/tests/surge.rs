//! IEC 61000-4-5 generators and couplings, measured by the standard's definitions into open and short.
//!
//! Tolerances: IEC 61000-4-5 Ed.2 and Ed.3, Tables 2, 3 and 6 to 9 (from memory). Expected circuit values:
//! an independent calculation of the same circuits, reproduced within 2 % (0.5 µF coupling: 3 %).

mod support;

use support::{Clamp, Load, OPEN_OHM, Run, SHORT_OHM, between, near, run};
use tidewall_stress::generator::Drive;
use tidewall_stress::generator::surge::{
    CombinationSet, SET_D2, SET_D3, SET_D18, SET_H, SET_K, SurgeCoupling, Through, combination_wave,
};
use tidewall_stress::generator::telecom::{OPEN_CIRCUIT_PER_CHARGE, TelecomCoupling, wave_10_700};
use tidewall_stress::{Network, Node};

const US: f64 = 1e-6;
const BARE: SurgeCoupling = SurgeCoupling::Series { resistance_ohm: 0.0 };

fn wave(set: &CombinationSet, level_v: f64, coupling: SurgeCoupling) -> Network {
    combination_wave(set, level_v, coupling, Drive::LineToEarth)
}

fn open_and_short(network: &Network, decoupled: bool, open_until_s: f64, short_until_s: f64) -> (Run, Run) {
    let with = |ohm: f64| {
        let load = Load::one_line(ohm);
        if decoupled { load.decoupled() } else { load }
    };
    (
        run(network, &with(OPEN_OHM), 10e-9, open_until_s),
        run(network, &with(SHORT_OHM), 10e-9, short_until_s),
    )
}

/// One row of the generator table: T1, T2, Tw of the voltage, T1, T2, 1.18 Tw of the current in µs,
/// undershoot in percent, effective impedance.
fn check_set(set: &CombinationSet, row: [f64; 8]) {
    let (open, short) = open_and_short(&wave(set, 1000.0, BARE), false, 150.0 * US, 80.0 * US);
    let (v, i) = (open.voltage(), short.current());
    let name = set.name;
    let [t1_v, t2_v, tw_v, t1_i, t2_i, tw_i, undershoot, z] = row;
    near(&format!("{name} open-circuit peak"), v.peak, 1000.0, 0.02);
    near(
        &format!("{name} voltage T1"),
        v.front_voltage_s.unwrap(),
        t1_v * US,
        0.02,
    );
    near(
        &format!("{name} voltage T2"),
        v.tail_voltage_s.unwrap(),
        t2_v * US,
        0.02,
    );
    near(&format!("{name} voltage Tw"), v.width_s.unwrap(), tw_v * US, 0.02);
    near(
        &format!("{name} current T1"),
        i.front_current_s.unwrap(),
        t1_i * US,
        0.02,
    );
    near(
        &format!("{name} current T2"),
        i.tail_current_s.unwrap(),
        t2_i * US,
        0.02,
    );
    near(
        &format!("{name} current 1.18 Tw"),
        1.18 * i.width_s.unwrap(),
        tw_i * US,
        0.02,
    );
    near(
        &format!("{name} undershoot"),
        i.undershoot,
        undershoot / 100.0,
        0.02,
    );
    near(&format!("{name} effective impedance"), v.peak / i.peak, z, 0.02);
    // The standard's own limits.
    between(
        "front of the voltage",
        v.front_voltage_s.unwrap(),
        0.84 * US,
        1.56 * US,
    );
    between(
        "half value of the voltage",
        v.tail_voltage_s.unwrap(),
        40.0 * US,
        60.0 * US,
    );
    between("width of the voltage", v.width_s.unwrap(), 40.0 * US, 60.0 * US);
    between(
        "front of the current",
        i.front_current_s.unwrap(),
        6.4 * US,
        9.6 * US,
    );
    between(
        "half value of the current",
        i.tail_current_s.unwrap(),
        16.0 * US,
        24.0 * US,
    );
    between(
        "1.18 × width of the current",
        1.18 * i.width_s.unwrap(),
        16.0 * US,
        24.0 * US,
    );
    between("effective impedance", v.peak / i.peak, 1.8, 2.2);
}

#[test]
fn combination_wave_set_h_meets_every_limit_with_its_undershoot() {
    check_set(&SET_H, [1.465, 50.6, 50.0, 7.65, 19.7, 19.6, 27.7, 2.000]);
    let short = run(
        &wave(&SET_H, 1000.0, BARE),
        &Load::one_line(SHORT_OHM),
        10e-9,
        80.0 * US,
    );
    assert!(
        short.current().undershoot <= 0.30,
        "undershoot limit of the standard, 30 % at the generator"
    );
}

#[test]
fn combination_wave_set_k_gives_its_published_times() {
    check_set(&SET_K, [1.203, 50.0, 49.5, 8.01, 20.0, 19.8, 33.7, 2.001]);
}

#[test]
fn combination_wave_set_d2_is_exact_by_virtual_origin() {
    check_set(&SET_D2, [1.200, 50.00, 49.51, 8.000, 20.00, 19.78, 33.6, 2.000]);
}

#[test]
fn combination_wave_set_d3_is_exact_by_the_third_edition() {
    check_set(&SET_D3, [1.200, 50.49, 50.00, 8.000, 20.18, 20.00, 31.8, 2.000]);
}

#[test]
fn combination_wave_set_d18_meets_the_third_edition_through_18_microfarads() {
    let (open, _) = open_and_short(&wave(&SET_D18, 1000.0, BARE), false, 150.0 * US, 1.0 * US);
    let (_, short) = open_and_short(
        &wave(&SET_D18, 1000.0, SurgeCoupling::PowerLineLine),
        false,
        US,
        100.0 * US,
    );
    let (v, i) = (open.voltage(), short.current());
    near("D18 peak", v.peak, 1000.0, 0.02);
    near("D18 voltage T1", v.front_voltage_s.unwrap(), 1.200 * US, 0.02);
    near("D18 voltage T2", v.tail_voltage_s.unwrap(), 50.49 * US, 0.02);
    near("D18 voltage Tw", v.width_s.unwrap(), 50.00 * US, 0.02);
    near("D18 current T1", i.front_current_s.unwrap(), 8.000 * US, 0.02);
    near("D18 current T2", i.tail_current_s.unwrap(), 20.17 * US, 0.02);
    near("D18 current 1.18 Tw", 1.18 * i.width_s.unwrap(), 20.00 * US, 0.02);
    near("D18 undershoot", i.undershoot, 0.391, 0.02);
    near("D18 impedance", v.peak / i.peak, 2.000, 0.02);
    // Without the capacitor the same set misses: 9.6/25.7 µs and 1.73 Ω.
    let bare = run(
        &wave(&SET_D18, 1000.0, BARE),
        &Load::one_line(SHORT_OHM),
        10e-9,
        100.0 * US,
    )
    .current();
    near("D18 bare T1", bare.front_current_s.unwrap(), 9.6 * US, 0.02);
    near("D18 bare T2", bare.tail_current_s.unwrap(), 25.7 * US, 0.02);
    near("D18 bare impedance", v.peak / bare.peak, 1.73, 0.02);
}

#[test]
fn open_circuit_voltage_agrees_with_the_closed_form() {
    // Closed form of the same circuit after Carobbi (encyclopaedia article on IEC 61000-4-5).
    let (c, l) = (SET_D3.storage_f, SET_D3.inductance_h);
    let (r1, r2, r3) = (SET_D3.storage_ohm, SET_D3.series_ohm, SET_D3.output_ohm);
    let (sum, product) = ((r2 + r3) / l + 1.0 / (r1 * c), (r1 + r2 + r3) / (r1 * l * c));
    let root = (sum * sum / 4.0 - product).sqrt();
    let (a, b) = (sum / 2.0 - root, sum / 2.0 + root);
    near("slow rate", a, 0.014509e6, 1e-4);
    near("fast rate", b, 2.470691e6, 1e-4);
    let open = run(
        &wave(&SET_D3, 1000.0, BARE),
        &Load::one_line(1e7),
        5e-9,
        60.0 * US,
    );
    let charge = SET_D3.charge_ratio * 1000.0;
    for (t, v) in open.voltage.iter().step_by(100) {
        let closed = charge * (r3 / l) / (b - a) * ((-a * t).exp() - (-b * t).exp());
        assert!(
            (v - closed).abs() < 3e-6 * charge,
            "{t:e} s: {v} V against {closed} V"
        );
    }
}

#[test]
fn coupling_18_microfarads_line_to_line() {
    let coupling = SurgeCoupling::PowerLineLine;
    let (open, short) = open_and_short(&wave(&SET_D3, 1000.0, coupling), true, 150.0 * US, 120.0 * US);
    let (v, i) = (open.voltage(), short.current());
    near("voltage T1", v.front_voltage_s.unwrap(), 1.19 * US, 0.02);
    near("voltage Tw", v.width_s.unwrap(), 38.7 * US, 0.02);
    near("current, D3", i.peak, 450.0, 0.02);
    near("current T1, D3", i.front_current_s.unwrap(), 7.06 * US, 0.02);
    near("current Tw, D3", i.width_s.unwrap(), 14.4 * US, 0.02);
    near("undershoot, D3", i.undershoot, 0.43, 0.02);
    let (_, short) = open_and_short(&wave(&SET_D18, 1000.0, coupling), true, US, 120.0 * US);
    let i = short.current();
    near("current, D18", i.peak, 500.0, 0.02);
    near("current T1, D18", i.front_current_s.unwrap(), 8.00 * US, 0.02);
    near("current Tw, D18", i.width_s.unwrap(), 16.95 * US, 0.02);
    near("undershoot, D18", i.undershoot, 0.39, 0.02);
}

#[test]
fn coupling_9_microfarads_and_10_ohms_line_to_earth() {
    let coupling = SurgeCoupling::PowerLineEarth;
    let (open, short) = open_and_short(&wave(&SET_D3, 1000.0, coupling), true, 150.0 * US, 150.0 * US);
    let (v, i) = (open.voltage(), short.current());
    near("voltage T1", v.front_voltage_s.unwrap(), 1.16 * US, 0.02);
    near("voltage Tw", v.width_s.unwrap(), 27.6 * US, 0.02);
    near("current", i.peak, 83.2, 0.02);
    near("current T1", i.front_current_s.unwrap(), 2.67 * US, 0.02);
    near("current Tw", i.width_s.unwrap(), 21.0 * US, 0.02);
    near("1.04 Tw", 1.04 * i.width_s.unwrap(), 21.9 * US, 0.02);
    // Third edition at the port: 83.3 A, 2.5 µs ±30 %, 1.04 Tw 25 µs ±30 %.
    near("83.3 A of the standard", i.peak, 83.3, 0.10);
    between(
        "2.5 µs of the standard",
        i.front_current_s.unwrap(),
        1.75 * US,
        3.25 * US,
    );
    between(
        "25 µs of the standard",
        1.04 * i.width_s.unwrap(),
        17.5 * US,
        32.5 * US,
    );
    let (_, short) = open_and_short(&wave(&SET_D18, 1000.0, coupling), true, US, 150.0 * US);
    let i = short.current();
    near("current, D18", i.peak, 84.2, 0.02);
    near("current T1, D18", i.front_current_s.unwrap(), 2.73 * US, 0.02);
    near("current Tw, D18", i.width_s.unwrap(), 23.9 * US, 0.02);
}

#[test]
fn coupling_half_a_microfarad_and_40_ohms() {
    let coupling = SurgeCoupling::SignalCapacitor;
    let (open, short) = open_and_short(&wave(&SET_D3, 1000.0, coupling), true, 150.0 * US, 150.0 * US);
    let (v, i) = (open.voltage(), short.current());
    near("voltage T1", v.front_voltage_s.unwrap(), 1.19 * US, 0.03);
    near("voltage Tw", v.width_s.unwrap(), 36.1 * US, 0.03);
    near("current", i.peak, 22.2, 0.03);
    near("current T1", i.front_current_s.unwrap(), 1.33 * US, 0.03);
    near("current Tw", i.width_s.unwrap(), 11.7 * US, 0.03);
    near("1.18 Tw", 1.18 * i.width_s.unwrap(), 13.8 * US, 0.03);
    near("undershoot", i.undershoot, 0.11, 0.05);
    // Third edition at the port: 1.2/38 µs ±30 %, 1.3/13 µs ±30 %.
    between("38 µs of the standard", v.width_s.unwrap(), 26.6 * US, 49.4 * US);
    between(
        "1.3 µs of the standard",
        i.front_current_s.unwrap(),
        0.91 * US,
        1.69 * US,
    );
    between(
        "13 µs of the standard",
        1.18 * i.width_s.unwrap(),
        9.1 * US,
        16.9 * US,
    );
}

#[test]
fn coupling_40_ohms_and_struck_arrester() {
    let coupling = SurgeCoupling::SignalArrester;
    let (open, short) = open_and_short(&wave(&SET_D3, 1000.0, coupling), true, 150.0 * US, 150.0 * US);
    let (v, i) = (open.voltage(), short.current());
    near("voltage T1", v.front_voltage_s.unwrap(), 1.19 * US, 0.02);
    near("voltage Tw", v.width_s.unwrap(), 41.6 * US, 0.02);
    near("current", i.peak, 24.0, 0.02);
    near("current T1", i.front_current_s.unwrap(), 1.57 * US, 0.02);
    near("current Tw", i.width_s.unwrap(), 40.9 * US, 0.02);
    near("1.18 Tw", 1.18 * i.width_s.unwrap(), 48.3 * US, 0.02);
    assert!(i.undershoot < 1e-3);
    between(
        "48 µs of the standard",
        1.18 * i.width_s.unwrap(),
        33.6 * US,
        62.4 * US,
    );
}

#[test]
fn symmetrical_pair_shares_42_ohms() {
    let coupling = SurgeCoupling::Symmetrical {
        wire_ohm: 80.0,
        through: Through::Direct,
    };
    let network = combination_wave(&SET_D3, 1000.0, coupling, Drive::BothToEarth);
    let one = run(&network, &Load::two_lines(SHORT_OHM, OPEN_OHM), 10e-9, 30.0 * US).current();
    let both = run(&network, &Load::two_lines(SHORT_OHM, SHORT_OHM), 10e-9, 30.0 * US).current();
    near("one wire shorted, the other open", one.peak, 12.25, 0.02);
    near("both shorted, each", both.peak, 12.0, 0.02);
}

#[test]
fn peak_short_circuit_currents_follow_the_effective_impedance() {
    // Nominal V/Z of IEC 61000-4-5: 2 Ω, 12 Ω and 42 Ω rows.
    for (level_v, two, twelve, forty_two) in [
        (500.0, 250.0, 41.7, 11.9),
        (1000.0, 500.0, 83.3, 23.8),
        (2000.0, 1000.0, 166.7, 47.6),
        (4000.0, 2000.0, 333.3, 95.2),
        (6000.0, 3000.0, 500.0, 142.9),
    ] {
        let peak = |coupling| {
            let network = wave(&SET_D3, level_v, coupling);
            run(&network, &Load::one_line(SHORT_OHM), 20e-9, 15.0 * US)
                .current()
                .peak
        };
        near("2 Ω", peak(BARE), two, 0.02);
        near("12 Ω", peak(SurgeCoupling::PowerLineEarth), twelve, 0.02);
        near(
            "42 Ω through the arrester",
            peak(SurgeCoupling::SignalArrester),
            forty_two,
            0.02,
        );
    }
}

/// One block of the clamp-current table: front and width of the clamped current in µs, then for each set
/// voltage: peak, reverse peak with half its last digit, charge in mC, energy in mJ of the forward part.
/// The table was worked out without the decoupling inductance across the clamp.
fn check_clamp(
    set: &CombinationSet,
    coupling: SurgeCoupling,
    tolerance: f64,
    (front_us, width_us): (f64, f64),
    rows: [[f64; 6]; 3],
) {
    let clamp = Clamp {
        clamping_v: 40.0,
        forward_v: 1.0,
        ohm: 0.01,
    };
    for [level_v, peak_a, reverse_a, half_digit, charge_mc, energy_mj] in rows {
        let result = run(
            &wave(set, level_v, coupling),
            &Load::clamp(clamp),
            10e-9,
            200.0 * US,
        );
        let i = result.current();
        near(&format!("{level_v} V peak"), i.peak, peak_a, tolerance);
        let (mut charge, mut energy) = (0.0, 0.0);
        for (a, v) in result
            .current
            .iter()
            .zip(&result.voltage)
            .filter(|(a, _)| a.1 > 0.0)
        {
            charge += a.1 * 10e-9;
            energy += a.1 * v.1 * 10e-9;
        }
        near(
            &format!("{level_v} V charge"),
            charge,
            charge_mc * 1e-3,
            tolerance,
        );
        near(
            &format!("{level_v} V energy"),
            energy,
            energy_mj * 1e-3,
            tolerance,
        );
        let reverse = i.undershoot * i.peak;
        between(
            &format!("{level_v} V reverse"),
            reverse,
            reverse_a - half_digit,
            reverse_a + half_digit,
        );
        if level_v == 1000.0 {
            near(
                "front of the clamped current",
                i.front_current_s.unwrap(),
                front_us * US,
                tolerance,
            );
            near(
                "width of the clamped current",
                i.width_s.unwrap(),
                width_us * US,
                tolerance,
            );
        }
    }
}

#[test]
fn clamp_currents_bare_generator() {
    check_clamp(
        &SET_D3,
        BARE,
        0.02,
        (7.95, 16.9),
        [
            [500.0, 227.5, 54.0, 0.5, 3.69, 154.0],
            [1000.0, 476.4, 132.0, 0.5, 8.05, 351.0],
            [2000.0, 974.0, 288.0, 0.5, 17.0, 800.0],
        ],
    );
}

#[test]
fn clamp_currents_through_18_microfarads() {
    check_clamp(
        &SET_D18,
        SurgeCoupling::PowerLineLine,
        0.02,
        (7.95, 16.9),
        [
            [500.0, 227.5, 71.0, 0.6, 3.68, 154.0],
            [1000.0, 476.4, 167.0, 0.6, 7.74, 338.0],
            [2000.0, 974.0, 359.0, 0.6, 16.0, 762.0],
        ],
    );
}

#[test]
fn clamp_currents_through_9_microfarads() {
    check_clamp(
        &SET_D3,
        SurgeCoupling::PowerLineEarth,
        0.02,
        (2.66, 20.6),
        [
            [500.0, 38.2, 3.0, 0.5, 0.894, 36.0],
            [1000.0, 79.8, 6.0, 0.5, 1.92, 77.7],
            [2000.0, 162.9, 13.0, 0.5, 3.97, 163.0],
        ],
    );
}

#[test]
fn clamp_currents_through_half_a_microfarad() {
    check_clamp(
        &SET_D3,
        SurgeCoupling::SignalCapacitor,
        0.03,
        (1.32, 11.6),
        [
            [500.0, 10.2, 1.0, 0.5, 0.133, 5.3],
            [1000.0, 21.3, 2.4, 0.05, 0.282, 11.3],
            [2000.0, 43.4, 5.0, 0.5, 0.579, 23.3],
        ],
    );
}

#[test]
fn clamp_currents_through_the_arrester() {
    check_clamp(
        &SET_D3,
        SurgeCoupling::SignalArrester,
        0.02,
        (1.57, 39.0),
        [
            [500.0, 11.0, 0.0, 0.0, 0.519, 20.8],
            [1000.0, 23.1, 0.0, 0.0, 1.18, 47.3],
            [2000.0, 47.1, 0.0, 0.0, 2.53, 102.0],
        ],
    );
}

#[test]
fn wave_10_700_meets_the_standard_into_open_and_short() {
    let single = TelecomCoupling {
        wire_ohm: 25.0,
        arrester: false,
    };
    let network = wave_10_700(1000.0 / OPEN_CIRCUIT_PER_CHARGE, single, Drive::LineToEarth);
    let open = run(&network, &Load::one_line(OPEN_OHM), 50e-9, 2e-3).voltage();
    let short = run(&network, &Load::one_line(SHORT_OHM), 50e-9, 1e-3).current();
    near("open-circuit peak", open.peak, 1000.0, 0.001);
    near("voltage T1", open.front_voltage_s.unwrap(), 9.13 * US, 0.02);
    near("voltage T2", open.tail_voltage_s.unwrap(), 722.0 * US, 0.02);
    near("voltage Tw", open.width_s.unwrap(), 718.0 * US, 0.02);
    near("current T1", short.front_current_s.unwrap(), 4.81 * US, 0.02);
    near("current T2", short.tail_current_s.unwrap(), 322.0 * US, 0.02);
    near("current Tw", short.width_s.unwrap(), 320.0 * US, 0.02);
    near("current", short.peak, 25.0, 0.02);
    near("impedance", open.peak / short.peak, 39.99, 0.02);
    // IEC 61000-4-5: 10 µs ±30 %, 700 µs ±20 %, 5 µs ±20 %, 320 µs ±20 %, 40 Ω ±10 %.
    between("10 µs", open.front_voltage_s.unwrap(), 7.0 * US, 13.0 * US);
    between("700 µs", open.width_s.unwrap(), 560.0 * US, 840.0 * US);
    between("5 µs", short.front_current_s.unwrap(), 4.0 * US, 6.0 * US);
    between("320 µs", short.width_s.unwrap(), 256.0 * US, 384.0 * US);
    between("40 Ω", open.peak / short.peak, 36.0, 44.0);
}

#[test]
fn wave_10_700_into_one_of_several_wires() {
    for (wires, peak_a, tail_us) in [(2.0, 15.4, 408.0), (4.0, 8.69, 502.0), (8.0, 4.65, f64::NAN)] {
        let coupling = TelecomCoupling {
            wire_ohm: 25.0 * wires,
            arrester: false,
        };
        let network = wave_10_700(1000.0 / OPEN_CIRCUIT_PER_CHARGE, coupling, Drive::LineToEarth);
        let i = run(&network, &Load::one_line(SHORT_OHM), 50e-9, 1.5e-3).current();
        near(&format!("{wires} wires"), i.peak, peak_a, 0.02);
        if tail_us.is_finite() {
            near(
                &format!("{wires} wires, tail"),
                i.tail_current_s.unwrap(),
                tail_us * US,
                0.02,
            );
        }
    }
}

#[test]
fn a_floating_generator_gives_the_same_wave_between_two_lines() {
    // Line 1 tied to earth: the floating generator must look like the earthed one.
    let earthed = wave(&SET_D3, 1000.0, SurgeCoupling::PowerLineLine);
    let floating = combination_wave(&SET_D3, 1000.0, SurgeCoupling::PowerLineLine, Drive::LineToLine);
    let a = run(&earthed, &Load::one_line(SHORT_OHM), 10e-9, 40.0 * US).current();
    let mut load = Load::two_lines(OPEN_OHM, SHORT_OHM);
    load.resistors.push((Node::Line(0), Node::Line(1), SHORT_OHM));
    let b = run(&floating, &load, 10e-9, 40.0 * US).current();
    near("peak", b.peak, a.peak, 1e-3);
    near(
        "front",
        b.front_current_s.unwrap(),
        a.front_current_s.unwrap(),
        1e-3,
    );
}
