//! Constants of automotive, ring and avionics waves against the standards' timings.

mod support;

use std::f64::consts::TAU;

use support::{between, near};
use tidewall_stress::fit::{Definition, double_exponential, ramp_exponential, unit_double_exponential};
use tidewall_stress::measure::{Measures, grid_s, measure};
use tidewall_stress::{Shape, forms};

const US: f64 = 1e-6;

fn measured(shape: &Shape, finest_s: f64, until_s: f64) -> Measures {
    measure(|t| shape.value(t), &grid_s(finest_s, until_s, 20_000)).expect("a shape that can be measured")
}

#[test]
fn automotive_constants_follow_from_rise_and_duration() {
    // tr and td in s, slow and fast constants in s, factor: independent solution, residual below 1e-12.
    for (rise, duration, slow, fast, factor) in [
        (1.0 * US, 2e-3, 866.9e-6, 0.4610e-6, 1.00455),
        (3.0 * US, 1e-3, 430.1e-6, 1.443e-6, 1.02279),
        (1.0 * US, 50e-6, 20.56e-6, 0.5777e-6, 1.14083),
        (5e-9, 150e-9, 59.50e-9, 3.235e-9, 1.25024),
        (5e-9, 100e-9, 37.74e-9, 3.690e-9, 1.42597),
        (10e-3, 400e-3, 162.3e-3, 6.036e-3, 1.17944),
        (10e-3, 350e-3, 140.7e-3, 6.222e-3, 1.20870),
        (10e-3, 100e-3, 29.77e-3, 11.45e-3, 2.95196),
    ] {
        let shape = double_exponential(rise, duration, Definition::TenPercent).unwrap();
        let Shape::DoubleExponential {
            scale,
            alpha_per_s,
            beta_per_s,
        } = shape
        else {
            panic!("{rise}/{duration}")
        };
        near("slow constant", 1.0 / alpha_per_s, slow, 5e-4);
        near("fast constant", 1.0 / beta_per_s, fast, 5e-4);
        near("factor", scale, factor, 1e-4);
        let m = measured(&shape, 1e-3 * rise, 5.0 * duration);
        near("tr", m.rise_s.unwrap(), rise, 1e-5);
        near("td", m.duration_s.unwrap(), duration, 1e-5);
    }
    assert!(double_exponential(10e-3, 40e-3, Definition::TenPercent).is_err());
    for (duration, tau) in [
        (40e-3, 12.486e-3),
        (100e-3, 38.544e-3),
        (350e-3, 147.117e-3),
        (400e-3, 168.832e-3),
    ] {
        let shape = ramp_exponential(10e-3, duration, 0.0).unwrap();
        let Shape::RampExponential { tau_s, .. } = shape else {
            panic!("a ramp")
        };
        near("tail constant", tau_s, tau, 1e-4);
        let m = measured(&shape, 1e-6, 5.0 * duration);
        near("tr", m.rise_s.unwrap(), 10e-3, 1e-5);
        near("td", m.duration_s.unwrap(), duration, 1e-5);
    }
}

#[test]
fn ring_wave_rises_in_half_a_microsecond_and_decays_to_60_percent() {
    // IEEE C62.41.2 and IEC 61000-4-12: rise 0.5 µs, 100 kHz; the second peak 40–110 % of the first, the
    // following ones 40–80 % of the one before (from memory).
    let shape = forms::ring_wave_100_khz();
    let Shape::DampedCosine { scale, .. } = shape else {
        panic!("a damped cosine")
    };
    near("factor", scale, 1.590, 0.001);
    let m = measured(&shape, 1e-9, 60.0 * US);
    near("rise", m.rise_s.unwrap(), 0.500 * US, 0.004);
    near("time of the first peak", m.peak_s, 0.852 * US, 0.004);
    let peak_in = |from: f64, to: f64| {
        (0..=2000)
            .map(|k| shape.value(US * (from + (to - from) * f64::from(k) / 2000.0)))
            .fold(0.0, |best: f64, x| if x.abs() > best.abs() { x } else { best })
    };
    let peaks = [
        peak_in(0.0, 2.5),
        peak_in(2.5, 7.5),
        peak_in(7.5, 12.5),
        peak_in(12.5, 17.5),
        peak_in(17.5, 22.5),
    ];
    for (peak, expected) in peaks.iter().zip([1.0, -0.97, 0.58, -0.35, 0.21]) {
        near("peak", *peak, expected, 0.01);
    }
    between("Pk2/Pk1", -peaks[1] / peaks[0], 0.40, 1.10);
    between("Pk3/Pk2", -peaks[2] / peaks[1], 0.40, 0.80);
    between("Pk4/Pk3", -peaks[3] / peaks[2], 0.40, 0.80);
}

#[test]
fn avionics_waves_by_time_of_peak_and_half_value() {
    // RTCA DO-160 section 22 and SAE ARP5412 (timings from a standards summary page); constants by an
    // independent solution: time of peak and half value in µs; α, β in 1/µs; factor.
    for (peak, half, alpha, beta, factor) in [
        (6.4, 69.0, 0.0113579, 0.641703, 1.09477),
        (40.0, 120.0, 0.0126326, 0.0436046, 2.33354),
        (50.0, 500.0, 0.00158478, 0.0800219, 1.10433),
        (0.25, 4.0, 0.187546, 18.5683, 1.05870),
    ] {
        let shape = double_exponential(peak * US, half * US, Definition::PeakTime).unwrap();
        let Shape::DoubleExponential {
            scale,
            alpha_per_s,
            beta_per_s,
        } = shape
        else {
            panic!("{peak}/{half}")
        };
        near("α", alpha_per_s, alpha / US, 1e-4);
        near("β", beta_per_s, beta / US, 1e-4);
        near("factor", scale, factor, 1e-4);
    }
    // Component A of ARP5412 (constants from memory): 218.81 kA, 11354 and 647265 1/s give 200 kA.
    let (shape, peak_s) = unit_double_exponential(11354.0, 647_265.0);
    let Shape::DoubleExponential { scale, .. } = shape else {
        panic!("component A")
    };
    near("peak of component A", 218_810.0 / scale, 200e3, 1e-3);
    near("its time", peak_s, 6.36 * US, 2e-3);
    // Waveform 3: half the amplitude after four cycles, decrement 0.1733 per cycle, Q = 18.1.
    let Shape::DampedSine {
        decay_per_s,
        omega_per_s,
        ..
    } = forms::damped_sine_over_four_cycles(1e6, 0.5)
    else {
        panic!("a damped sine")
    };
    near("decrement", decay_per_s * 1e-6, 0.1733, 1e-3);
    near("quality", omega_per_s / (2.0 * decay_per_s), 18.1, 2e-3);
    near("frequency", omega_per_s / TAU, 1e6, 1e-12);
}
