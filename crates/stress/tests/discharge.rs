//! Electrostatic discharge, transmission-line pulse and burst, measured by the standards' definitions.

mod support;

use support::{Load, SHORT_OHM, at, between, near, run};
use tidewall_stress::generator::Drive;
use tidewall_stress::generator::burst::{BurstCoupling, burst_pulse};
use tidewall_stress::generator::esd::{
    C150_R330, C150_R2000, C330_R330, C330_R2000, DischargeNetwork, analytic_discharge, discharge,
    human_body, transmission_line_pulse,
};
use tidewall_stress::measure::{grid_s, measure};
use tidewall_stress::{Network, forms};

const NS: f64 = 1e-9;
/// The measuring target of IEC 61000-4-2 and ISO 10605.
const TARGET_OHM: f64 = 2.0;

/// The instant at which the current first reaches a tenth of its first peak: the standard's time reference.
fn reference_s(current: &[(f64, f64)], peak: f64) -> f64 {
    current
        .iter()
        .find(|point| point.1 >= 0.1 * peak)
        .expect("a rise")
        .0
}

/// Measured per kilovolt: peak, rise, and the currents at the two instants after the reference.
fn contact(network: &Network, first_s: f64, second_s: f64) -> [f64; 4] {
    let result = run(network, &Load::one_line(TARGET_OHM), 5e-12, second_s + 10.0 * NS);
    let i = result.current();
    let reference = reference_s(&result.current, i.peak);
    [
        i.peak,
        i.rise_s.unwrap(),
        at(&result.current, reference + first_s),
        at(&result.current, reference + second_s),
    ]
}

/// Table row: instants, and A/kV at them by the independent calculation and by the standard with tolerance.
struct Row {
    network: DischargeNetwork,
    instants_s: (f64, f64),
    calculated: (f64, f64),
    standard: ((f64, f64), (f64, f64)),
    peak: (f64, f64),
}

fn check_network(row: &Row) {
    let network = discharge(&row.network, 1000.0, 0);
    let [peak, rise, first, second] = contact(&network, row.instants_s.0, row.instants_s.1);
    near("peak", peak, 3.750, 0.02);
    near("rise", rise, 0.800 * NS, 0.02);
    near("first late current", first, row.calculated.0, 0.02);
    near("second late current", second, row.calculated.1, 0.02);
    // The standard's own limits.
    between("peak", peak, 3.75 * (1.0 - row.peak.0), 3.75 * (1.0 + row.peak.1));
    between("rise", rise, 0.7 * NS, 1.0 * NS);
    near("first late current", first, row.standard.0.0, row.standard.0.1);
    near("second late current", second, row.standard.1.0, row.standard.1.1);
}

#[test]
fn contact_discharge_150_pf_330_ohms() {
    // IEC 61000-4-2 Ed.2 Table 3: 3.75 A/kV ±15 %, 0.8 ns ±25 %, 2 A/kV and 1 A/kV ±30 % (from memory);
    // ISO 10605:2008 asks ±10 % on the peak of the same network.
    check_network(&Row {
        network: C150_R330,
        instants_s: (30.0 * NS, 60.0 * NS),
        calculated: (1.981, 1.011),
        standard: ((2.0, 0.30), (1.0, 0.30)),
        peak: (0.10, 0.10),
    });
}

#[test]
fn contact_discharge_330_pf_330_ohms() {
    // ISO 10605:2008 (from memory).
    check_network(&Row {
        network: C330_R330,
        instants_s: (65.0 * NS, 130.0 * NS),
        calculated: (1.969, 1.019),
        standard: ((2.0, 0.30), (1.0, 0.30)),
        peak: (0.10, 0.10),
    });
}

#[test]
fn contact_discharge_150_pf_2_kilohms() {
    // ISO 10605:2008 (from memory): peak +30/−0 %, with the rounding of the elements.
    check_network(&Row {
        network: C150_R2000,
        instants_s: (180.0 * NS, 360.0 * NS),
        calculated: (0.274, 0.151),
        standard: ((0.275, 0.30), (0.15, 0.50)),
        peak: (0.001, 0.30),
    });
}

#[test]
fn contact_discharge_330_pf_2_kilohms() {
    check_network(&Row {
        network: C330_R2000,
        instants_s: (400.0 * NS, 800.0 * NS),
        calculated: (0.275, 0.150),
        standard: ((0.275, 0.30), (0.15, 0.50)),
        peak: (0.001, 0.30),
    });
}

#[test]
fn contact_discharge_answers_to_its_load() {
    for (ohm, peak) in [
        (0.1, 3.774),
        (2.0, 3.750),
        (10.0, 3.654),
        (50.0, 3.234),
        (330.0, 1.763),
    ] {
        let i = run(
            &discharge(&C150_R330, 1000.0, 0),
            &Load::one_line(ohm),
            5e-12,
            20.0 * NS,
        )
        .current();
        near(&format!("peak into {ohm} Ω"), i.peak, peak, 0.02);
    }
}

#[test]
fn contact_discharge_valley_and_second_maximum() {
    // The 330 pF / 2 kΩ network is not listed: its current falls without a valley.
    for (network, valley, second) in [
        (C150_R330, 1.34, 2.49),
        (C330_R330, 1.25, 2.52),
        (C150_R2000, 0.29, 0.49),
    ] {
        let result = run(
            &discharge(&network, 1000.0, 0),
            &Load::one_line(TARGET_OHM),
            5e-12,
            60.0 * NS,
        );
        let from = result.current().peak_s;
        let late: Vec<f64> = result
            .current
            .iter()
            .filter(|p| p.0 > from)
            .map(|p| p.1)
            .collect();
        let turn = late
            .windows(2)
            .position(|pair| pair[1] > pair[0])
            .expect("a valley");
        near("valley", late[turn], valley, 0.02);
        near(
            "second maximum",
            late[turn..].iter().fold(0.0, |a, b| b.max(a)),
            second,
            0.02,
        );
    }
}

#[test]
fn analytic_discharge_current_at_4_kilovolts() {
    // IEC 61000-4-2 Ed.2 clause 6 formula (from memory) against its Table 3, and against the values of an
    // independent evaluation.
    let network = analytic_discharge(4000.0, 0);
    let result = run(&network, &Load::one_line(TARGET_OHM), 10e-12, 590.0 * NS);
    let i = result.current();
    let reference = reference_s(&result.current, i.peak);
    let (i30, i60) = (
        at(&result.current, reference + 30.0 * NS),
        at(&result.current, reference + 60.0 * NS),
    );
    near("peak", i.peak, 14.92, 0.005);
    near("rise", i.rise_s.unwrap(), 0.811 * NS, 0.02);
    near("current at 30 ns", i30, 8.01, 0.02);
    near("current at 60 ns", i60, 4.02, 0.02);
    near("charge", i.integral, 585.0 * NS, 0.02);
    near("square integral", i.integral_of_square, 3.66e-6, 0.02);
    near("peak of the standard", i.peak, 15.0, 0.15);
    near("rise of the standard", i.rise_s.unwrap(), 0.8 * NS, 0.25);
    near("30 ns of the standard", i30, 8.0, 0.30);
    near("60 ns of the standard", i60, 4.0, 0.30);
    let late: Vec<(f64, f64)> = result
        .current
        .iter()
        .copied()
        .filter(|p| p.0 > 8.0 * NS)
        .collect();
    let second = late.iter().fold(
        (0.0, 0.0),
        |best: (f64, f64), p| if p.1 > best.1 { *p } else { best },
    );
    near("second maximum", second.1, 8.98, 0.02);
    near("its instant", second.0, 19.5 * NS, 0.02);
}

#[test]
fn circuit_and_analytic_discharge_agree() {
    let circuit = run(
        &discharge(&C150_R330, 1000.0, 0),
        &Load::one_line(TARGET_OHM),
        10e-12,
        100.0 * NS,
    );
    let analytic = run(
        &analytic_discharge(1000.0, 0),
        &Load::one_line(TARGET_OHM),
        10e-12,
        100.0 * NS,
    );
    let square: f64 = circuit
        .current
        .iter()
        .zip(&analytic.current)
        .map(|(a, b)| (a.1 - b.1).powi(2))
        .sum::<f64>();
    let rms = (square / circuit.current.len() as f64).sqrt();
    between("rms difference in A/kV", rms, 0.0, 0.21);
}

#[test]
fn human_body_model_into_short_and_500_ohms() {
    // JS-001 limits as in a tester's specification sheet: 0.67 A/kV ±10 %, rise 2–10 ns, decay to 36.8 %
    // 150 ±20 ns, ringing below 15 %; into 500 Ω 0.375–0.55 A at 1 kV, rise 5–25 ns, ratio of peaks ≥ 63 %.
    let network = human_body(1000.0, 0);
    let result = run(&network, &Load::one_line(SHORT_OHM), 20e-12, 600.0 * NS);
    let short = result.current();
    near("peak by an independent calculation", short.peak, 0.624, 0.02);
    near(
        "rise by an independent calculation",
        short.rise_s.unwrap(),
        6.1 * NS,
        0.02,
    );
    near("peak", short.peak, 0.667, 0.10);
    between("rise", short.rise_s.unwrap(), 2.0 * NS, 10.0 * NS);
    let decayed = result
        .current
        .iter()
        .find(|p| p.0 > short.peak_s && p.1 < 0.368 * short.peak)
        .unwrap()
        .0;
    between("decay", decayed - short.peak_s, 130.0 * NS, 170.0 * NS);
    assert!(short.undershoot < 0.15);
    let load = run(&network, &Load::one_line(500.0), 20e-12, 300.0 * NS).current();
    between("peak into 500 Ω", load.peak, 0.375, 0.55);
    // The stray capacitance that slows the rise into 500 Ω belongs to the tester's board and is not modelled.
    assert!(load.peak / short.peak >= 0.63);
}

#[test]
fn transmission_line_pulse_is_rectangular_behind_50_ohms() {
    // ANSI/ESD STM5.5.1: quasi-rectangular; 100 ns wide with 10 ns edges is the usual choice.
    let network = transmission_line_pulse(1000.0, 10.0 * NS, 100.0 * NS, 0);
    let open = run(&network, &Load::one_line(1e9), 50e-12, 150.0 * NS).voltage();
    let short = run(&network, &Load::one_line(SHORT_OHM), 50e-12, 150.0 * NS).current();
    near("open circuit", open.peak, 1000.0, 1e-6);
    near("short circuit", short.peak, 20.0, 1e-5);
    near("rise", short.rise_s.unwrap(), 10.0 * NS, 1e-6);
    near("width", short.width_s.unwrap(), 100.0 * NS, 1e-6);
    let matched = run(&network, &Load::one_line(50.0), 50e-12, 150.0 * NS);
    for t in [70.0, 80.0, 90.0] {
        near(
            "half the charge voltage in the reading window",
            at(&matched.voltage, t * NS),
            500.0,
            1e-6,
        );
    }
}

#[test]
fn burst_pulse_by_formula() {
    // IEC 61000-4-4 Ed.3 annex (constants from memory): 5 ns ±30 %, 50 ns ±30 %.
    let shape = forms::burst_5_50();
    let pulse = measure(|t| shape.value(t), &grid_s(0.1 * NS, 2000.0 * NS, 8000)).unwrap();
    near("peak", pulse.peak, 1.0, 1e-9);
    near("rise", pulse.rise_s.unwrap(), 5.12 * NS, 0.005);
    near("width", pulse.width_s.unwrap(), 49.4 * NS, 0.005);
    near("integral", pulse.integral, 64.2 * NS, 0.005);
    near(
        "integral of the square",
        pulse.integral_of_square,
        37.2 * NS,
        0.005,
    );
}

#[test]
fn burst_generator_into_50_ohms_and_1_kilohm() {
    // IEC 61000-4-4 Ed.3: 50 Ω: half the set voltage ±10 %, 5 ±1.5 ns, 50 ±15 ns; 1 kΩ: × 1000/1050 ±20 %,
    // 5 ±1.5 ns, 50 ns −15/+100 ns (values from memory).
    for (level_v, peak_1k) in [
        (250.0, 238.0),
        (500.0, 476.0),
        (1000.0, 952.0),
        (2000.0, 1905.0),
        (4000.0, 3810.0),
    ] {
        let network = burst_pulse(level_v, BurstCoupling::Direct, Drive::LineToEarth);
        let matched = run(&network, &Load::one_line(50.0), 0.05 * NS, 300.0 * NS).voltage();
        near("peak into 50 Ω", matched.peak, 0.5 * level_v, 0.001);
        between("rise into 50 Ω", matched.rise_s.unwrap(), 3.5 * NS, 6.5 * NS);
        between("width into 50 Ω", matched.width_s.unwrap(), 35.0 * NS, 65.0 * NS);
        let high = run(&network, &Load::one_line(1000.0), 0.05 * NS, 300.0 * NS).voltage();
        near("peak into 1 kΩ", high.peak, peak_1k, 0.002);
        between("rise into 1 kΩ", high.rise_s.unwrap(), 3.5 * NS, 6.5 * NS);
        between("width into 1 kΩ", high.width_s.unwrap(), 35.0 * NS, 150.0 * NS);
        let short = run(&network, &Load::one_line(SHORT_OHM), 0.05 * NS, 50.0 * NS).current();
        near("short circuit", short.peak, level_v / 50.0, 0.001);
    }
}

#[test]
fn burst_couplings_per_kilovolt() {
    let short = SHORT_OHM;
    // Coupling, load, voltage peak, current peak, rise, width, charge: an independent calculation.
    for (coupling, ohm, v, i, rise, width, charge) in [
        (
            BurstCoupling::Network33Nf,
            short,
            f64::NAN,
            19.9,
            5.1,
            47.4,
            1148.0,
        ),
        (BurstCoupling::Network33Nf, 50.0, 499.0, 10.0, 5.1, 48.4, 602.0),
        (BurstCoupling::Clamp100Pf, short, f64::NAN, 10.2, 2.6, 8.7, 92.0),
        (BurstCoupling::Clamp100Pf, 50.0, 326.0, 6.5, 3.2, 12.1, 82.0),
        (BurstCoupling::Clamp100Pf, 1000.0, 892.0, 0.9, 4.6, 32.0, 31.0),
        (BurstCoupling::Clamp200Pf, short, f64::NAN, 13.0, 3.2, 12.1, 164.0),
        (BurstCoupling::Clamp200Pf, 50.0, 385.0, 7.7, 3.7, 16.8, 135.0),
    ] {
        let network = burst_pulse(1000.0, coupling, Drive::LineToEarth);
        let result = run(&network, &Load::one_line(ohm), 0.02 * NS, 600.0 * NS);
        let current = result.current();
        let what = format!("{coupling:?} into {ohm} Ω");
        if v.is_finite() {
            near(&format!("{what}: voltage"), result.voltage().peak, v, 0.02);
        }
        // Half a unit of the table's last digit comes on top for its roundest values.
        between(
            &format!("{what}: current"),
            current.peak,
            0.98 * i - 0.05,
            1.02 * i + 0.05,
        );
        between(
            &format!("{what}: rise"),
            current.rise_s.unwrap() / NS,
            0.98 * rise - 0.05,
            1.02 * rise + 0.05,
        );
        near(
            &format!("{what}: width"),
            current.width_s.unwrap(),
            width * NS,
            0.02,
        );
        let forward: f64 = result
            .current
            .windows(2)
            .map(|p| 0.5 * (p[0].1 + p[1].1).max(0.0))
            .sum();
        near(&format!("{what}: charge"), forward * 0.02 * NS, charge * NS, 0.02);
    }
}

#[test]
fn burst_couples_into_both_lines_at_once() {
    let network = burst_pulse(1000.0, BurstCoupling::Network33Nf, Drive::BothToEarth);
    let i = run(&network, &Load::two_lines(50.0, 50.0), 0.05 * NS, 200.0 * NS).current();
    // 50 Ω source into two 50 Ω loads in parallel: a third of the set voltage on each.
    near("current of one line", i.peak, 1000.0 / 3.0 / 50.0, 0.02);
}
