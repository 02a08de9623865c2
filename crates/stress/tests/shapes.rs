//! Shapes against the definitions and the published constants, without any circuit.

mod support;

use support::{between, near};
use tidewall_stress::fit::{
    Definition, FitError, double_exponential, front_and_tail_s, impulse, power_exponential, ramp_exponential,
    unit_double_exponential,
};
use tidewall_stress::forms;
use tidewall_stress::measure::{Measures, grid_s, measure, measure_samples};
use tidewall_stress::{Shape, Waveform};

const US: f64 = 1e-6;

fn measured(shape: &Shape, finest_s: f64, until_s: f64) -> Measures {
    measure(|t| shape.value(t), &grid_s(finest_s, until_s, 20_000)).expect("a shape that can be measured")
}

/// One of every shape, with a time scale for probing.
fn every_shape() -> Vec<(Shape, f64)> {
    vec![
        (Shape::Constant, 1.0),
        (
            Shape::Sine {
                frequency_hz: 50.0,
                phase_rad: 0.4,
            },
            20e-3,
        ),
        (
            double_exponential(10.0 * US, 1000.0 * US, Definition::Current).unwrap(),
            20.0 * US,
        ),
        (
            power_exponential(8.0 * US, 20.0 * US, Definition::Current).unwrap(),
            10.0 * US,
        ),
        (forms::surge_1p2_50(), 2.0 * US),
        (forms::surge_8_20(), 10.0 * US),
        (forms::surge_10_700(), 20.0 * US),
        (forms::surge_5_320(), 10.0 * US),
        (forms::lightning_10_350(), 20.0 * US),
        (forms::burst_5_50(), 10e-9),
        (forms::contact_discharge_current(), 2e-9),
        (forms::damped_8_20(), 10.0 * US),
        (forms::ring_wave_100_khz(), 2.0 * US),
        (forms::damped_sine_over_four_cycles(1e6, 0.5), 0.5 * US),
        (ramp_exponential(10e-3, 400e-3, 0.14).unwrap(), 20e-3),
        (forms::rectangle(10e-9, 100e-9), 50e-9),
        (
            forms::samples(&[(0.0, 0.0), (1e-6, 2.0), (3e-6, -1.0), (9e-6, 0.5)]).unwrap(),
            3e-6,
        ),
    ]
}

#[test]
fn analytic_slopes_agree_with_differences() {
    for (shape, scale_s) in every_shape() {
        let waveform = Waveform {
            shape,
            amplitude: 3.0,
            delay_s: 0.25 * scale_s,
        };
        let mut corners = Vec::new();
        waveform.push_breakpoints_s(&mut corners);
        for k in 1..200 {
            let t = scale_s * 0.0317 * f64::from(k);
            let h = 1e-5 * scale_s;
            if corners.iter().any(|corner| (corner - t).abs() < 2.0 * h) {
                continue;
            }
            let difference = (waveform.value(t + h) - waveform.value(t - h)) / (2.0 * h);
            let slope = waveform.slope(t);
            assert!(
                (slope - difference).abs() <= 1e-6 * slope.abs() + 1e-5 / scale_s,
                "{:?} at {t:e}: {slope:e} against {difference:e}",
                waveform.shape
            );
        }
        assert_eq!(waveform.value(0.2 * scale_s), 0.0, "nothing before the start");
    }
}

#[test]
fn every_value_and_slope_is_finite_from_start_to_far_tail() {
    for (shape, scale_s) in every_shape() {
        for t in [
            0.0,
            1e-30,
            1e-15,
            scale_s,
            1e3 * scale_s,
            1e9 * scale_s,
            1e60 * scale_s,
        ] {
            assert!(
                shape.value(t).is_finite() && shape.slope(t).is_finite(),
                "{shape:?} at {t:e}"
            );
        }
    }
}

#[test]
fn named_shapes_peak_at_one() {
    for (shape, scale_s) in every_shape() {
        if matches!(shape, Shape::Constant | Shape::Sine { .. } | Shape::Samples(_)) {
            continue;
        }
        near(
            &format!("{shape:?}"),
            measured(&shape, 1e-3 * scale_s, 200.0 * scale_s).peak,
            1.0,
            1e-6,
        );
    }
}

#[test]
fn annex_forms_of_the_surge_standard() {
    // IEC 61000-4-5 Ed.3 annex (constants from memory); expected: independent evaluation, µs.
    for (shape, current, peak_us, t1, t2, tw) in [
        (forms::surge_1p2_50(), false, 2.73, 1.195, 50.0, 49.53),
        (forms::surge_8_20(), true, 11.54, 8.019, 20.0, 16.25),
        (forms::surge_10_700(), false, 26.9, 10.01, 698.9, 695.0),
        (forms::surge_5_320(), true, 15.2, 4.971, 322.6, 321.0),
    ] {
        let m = measured(&shape, 1e-8, 5e-3);
        let (front, tail) = if current {
            (m.front_current_s, m.tail_current_s)
        } else {
            (m.front_voltage_s, m.tail_voltage_s)
        };
        near("time of peak", m.peak_s, peak_us * US, 0.005);
        near("front", front.unwrap(), t1 * US, 0.002);
        near("tail", tail.unwrap(), t2 * US, 0.002);
        near("width", m.width_s.unwrap(), tw * US, 0.002);
    }
    // The exact peak factors: a remembered 0.895 belongs to 5/320, not to 8/20.
    for (shape, front_us, tail_us, n, factor) in [
        (forms::surge_1p2_50(), 0.356, 65.845, 1.852, 0.93974),
        (forms::surge_8_20(), 47.52, 4.296, 2.741, 0.93898),
        (forms::surge_10_700(), 2.574, 945.1, 1.749, 0.93714),
        (forms::surge_5_320(), 1.355, 429.1, 1.556, 0.89461),
    ] {
        let Shape::Heidler(term) = shape else {
            panic!("a single term")
        };
        let k = (-(front_us / tail_us) * f64::powf(n * tail_us / front_us, 1.0 / n)).exp();
        near("factor A", term.scale * k, factor, 1e-4);
    }
}

#[test]
fn lightning_current_10_350() {
    // IEC 62305-1, Heidler n = 10 (from memory).
    let m = measured(&forms::lightning_10_350(), 1e-8, 5e-3);
    near("front", m.front_current_s.unwrap(), 9.98 * US, 0.005);
    near("tail", m.tail_current_s.unwrap(), 357.0 * US, 0.005);
    let Shape::Heidler(term) = forms::lightning_10_350() else {
        panic!("a single term")
    };
    near("k", 1.0 / term.scale, 0.93, 0.005);
}

#[test]
fn closed_forms_of_c62_41_2() {
    // IEEE C62.41.2 (1.037 and 68.22 µs, k and τ seen in a paper on surge models; the rest from memory).
    let v = measured(&forms::damped_cosine(0.4074 * US, 68.22 * US, 0.0), 1e-9, 1e-3);
    near("1.2/50 front", v.front_voltage_s.unwrap(), 1.200 * US, 0.004);
    near("1.2/50 tail", v.tail_voltage_s.unwrap(), 50.0 * US, 0.004);
    let Shape::DampedCosine { scale, .. } = forms::damped_cosine(0.4074 * US, 68.22 * US, 0.0) else {
        panic!("a damped cosine")
    };
    near("1.2/50 factor", scale, 1.037, 0.001);
    let Shape::PowerExponential { exponent, tau_s } =
        power_exponential(8.0 * US, 20.0 * US, Definition::Current).unwrap()
    else {
        panic!("a power exponential")
    };
    near("8/20 exponent", exponent, 2.9306, 1e-4);
    near("8/20 τ", tau_s, 3.9762 * US, 1e-4);
    let cubic = Shape::PowerExponential {
        exponent: 3.0,
        tau_s: 3.911 * US,
    };
    let m = measured(&cubic, 1e-8, 2e-4);
    near("8/20 cubic front", m.front_current_s.unwrap(), 8.023 * US, 0.001);
    near("8/20 cubic tail", m.tail_current_s.unwrap(), 19.94 * US, 0.001);
    let m = measured(&forms::damped_cosine(3.827 * US, 1404.0 * US, 0.0), 1e-8, 2e-2);
    near(
        "10/1000 front by the current definition",
        m.front_current_s.unwrap(),
        10.0 * US,
        0.004,
    );
    near(
        "10/1000 front by the voltage definition",
        m.front_voltage_s.unwrap(),
        11.8 * US,
        0.004,
    );
    near("10/1000 tail", m.tail_current_s.unwrap(), 1000.0 * US, 0.004);
    // Alternative burst form: 1.27 (1 − exp(−t/3.5)) exp(−t/55.6), ns.
    let m = measured(&forms::damped_cosine(3.5e-9, 55.6e-9, 0.0), 1e-11, 1e-6);
    near("burst rise", m.rise_s.unwrap(), 5.00e-9, 0.004);
    near("burst width", m.width_s.unwrap(), 50.0e-9, 0.004);
}

#[test]
fn forms_of_8_20_agree_in_front_and_tail_and_differ_in_charge() {
    let exact = power_exponential(8.0 * US, 20.0 * US, Definition::Current).unwrap();
    for (shape, charge_us, square_us) in [
        (exact, 17.55, Some(12.24)),
        (forms::surge_8_20(), 17.46, Some(12.24)),
        (forms::damped_8_20(), 16.15, None),
    ] {
        let m = measured(&shape, 1e-9, 4e-4);
        near("front", m.front_current_s.unwrap(), 8.0 * US, 0.003);
        near("tail", m.tail_current_s.unwrap(), 20.0 * US, 0.003);
        let grid = grid_s(1e-9, 4e-4, 20_000);
        let end = grid
            .iter()
            .position(|t| *t > 11.0 * US && shape.value(*t) <= 0.0)
            .unwrap_or(grid.len() - 1);
        let lobe = measure(|t| shape.value(t), &grid[..=end]).unwrap();
        near("charge of the first lobe", lobe.integral, charge_us * US, 0.003);
        if let Some(square_us) = square_us {
            near("I²t", m.integral_of_square, square_us * US, 0.003);
        }
    }
    near(
        "undershoot",
        measured(&forms::damped_8_20(), 1e-9, 4e-4).undershoot,
        0.336,
        0.01,
    );
    let Shape::DampedSine { scale, .. } = forms::damped_8_20() else {
        panic!("a damped sine")
    };
    near("factor", scale, 1.62550, 1e-4);
}

#[test]
fn double_exponentials_for_every_wave_of_the_table() {
    // Front, tail in µs; definition; α, β in 1/µs; A; t_peak, Tw, Q/Ip, I²t/Ip² in µs. Independent Newton
    // solution with residuals below 1e-9; the wave names are those of IEC, ITU-T, Telcordia and TIA.
    let v = Definition::Voltage;
    let i = Definition::Current;
    let rows: [(f64, f64, Definition, [f64; 7]); 22] = [
        (
            1.2,
            50.0,
            v,
            [0.0146591, 2.46893, 1.03725, 2.089, 49.51, 70.34, 36.05],
        ),
        (
            1.2,
            50.0,
            i,
            [0.0147322, 2.08031, 1.04333, 2.397, 49.61, 70.32, 36.17],
        ),
        (
            10.0,
            350.0,
            v,
            [0.00211487, 0.292239, 1.04414, 16.988, 345.91, 490.14, 252.21],
        ),
        (
            10.0,
            350.0,
            i,
            [0.00212718, 0.246066, 1.05139, 19.475, 346.74, 489.99, 253.17],
        ),
        (
            10.0,
            1000.0,
            v,
            [0.000710728, 0.310221, 1.01639, 19.640, 995.94, 1426.79, 721.77],
        ),
        (
            10.0,
            1000.0,
            i,
            [0.000712406, 0.262027, 1.01901, 22.607, 996.81, 1426.48, 722.86],
        ),
        (
            10.0,
            700.0,
            v,
            [0.00102513, 0.305609, 1.02279, 18.706, 695.93, 994.38, 505.12],
        ),
        (
            10.0,
            700.0,
            i,
            [0.00102839, 0.257924, 1.02646, 21.506, 696.79, 994.13, 506.16],
        ),
        (
            5.0,
            320.0,
            v,
            [0.00224911, 0.608485, 1.02478, 9.238, 317.96, 453.96, 230.89],
        ),
        (
            5.0,
            320.0,
            i,
            [0.00225685, 0.513419, 1.02877, 10.617, 318.39, 453.84, 231.41],
        ),
        (
            4.0,
            300.0,
            i,
            [0.00239409, 0.647013, 1.02481, 8.686, 298.72, 426.47, 216.91],
        ),
        (
            2.0,
            10.0,
            v,
            [0.117819, 0.89551, 1.56571, 2.608, 9.15, 11.54, 6.93],
        ),
        (
            2.0,
            10.0,
            i,
            [0.127132, 0.716332, 1.76549, 2.934, 9.28, 11.42, 7.04],
        ),
        (
            10.0,
            160.0,
            v,
            [0.00497937, 0.266186, 1.09937, 15.233, 155.87, 216.65, 114.72],
        ),
        (
            10.0,
            160.0,
            i,
            [0.00504071, 0.223015, 1.11684, 17.386, 156.66, 216.56, 115.58],
        ),
        (
            10.0,
            360.0,
            i,
            [0.00206427, 0.246674, 1.04998, 19.555, 356.75, 504.39, 260.40],
        ),
        (
            10.0,
            560.0,
            v,
            [0.00129151, 0.302028, 1.02810, 18.138, 555.93, 792.64, 403.98],
        ),
        (
            10.0,
            560.0,
            i,
            [0.0012965, 0.254743, 1.03264, 20.835, 556.78, 792.43, 405.00],
        ),
        (
            9.0,
            720.0,
            v,
            [0.000992698, 0.341648, 1.02013, 17.147, 716.34, 1024.65, 519.61],
        ),
        (
            9.0,
            720.0,
            i,
            [0.000995526, 0.288433, 1.02336, 19.722, 717.12, 1024.41, 520.57],
        ),
        (
            0.5,
            700.0,
            v,
            [0.000992493, 6.45508, 1.00151, 1.360, 699.80, 1008.92, 505.07],
        ),
        (
            0.5,
            700.0,
            i,
            [0.000992749, 5.4648, 1.00175, 1.576, 699.84, 1008.88, 505.14],
        ),
    ];
    let more = [
        (
            0.2,
            310.0,
            i,
            [0.00224119, 13.6679, 1.00159, 0.638, 309.94, 446.83, 223.70],
        ),
        (
            10.0,
            250.0,
            i,
            [0.00305843, 0.237747, 1.07216, 18.549, 246.71, 346.05, 180.80],
        ),
    ];
    for (front, tail, definition, [alpha, beta, factor, peak, width, charge, square]) in
        rows.into_iter().chain(more)
    {
        let what = format!("{front}/{tail} {definition:?}");
        let shape = double_exponential(front * US, tail * US, definition).unwrap();
        let Shape::DoubleExponential {
            scale,
            alpha_per_s,
            beta_per_s,
        } = shape
        else {
            panic!("{what}")
        };
        near(&format!("{what} α"), alpha_per_s, alpha / US, 1e-5);
        near(&format!("{what} β"), beta_per_s, beta / US, 1e-5);
        near(&format!("{what} A"), scale, factor, 1e-5);
        let peak_s = unit_double_exponential(alpha_per_s, beta_per_s).1;
        between(
            &format!("{what} time of peak"),
            peak_s / US,
            peak - 6e-4,
            peak + 6e-4,
        );
        let (front_s, tail_s) = front_and_tail_s(|t| shape.value(t), peak_s, definition).unwrap();
        near(&format!("{what} front"), front_s, front * US, 1e-9);
        near(&format!("{what} tail"), tail_s, tail * US, 1e-9);
        // Charge and square integral in closed form, against the table.
        let q = scale * (1.0 / alpha_per_s - 1.0 / beta_per_s);
        let q2 = scale.powi(2) * (0.5 / alpha_per_s + 0.5 / beta_per_s - 2.0 / (alpha_per_s + beta_per_s));
        between(&format!("{what} charge"), q / US, charge - 0.011, charge + 0.011);
        between(&format!("{what} square"), q2 / US, square - 0.011, square + 0.011);
        let m = measured(&shape, 1e-3 * front * US, 25.0 * tail * US);
        between(
            &format!("{what} width"),
            m.width_s.unwrap() / US,
            width - 0.011,
            width + 0.011,
        );
        near(&format!("{what} measured charge"), m.integral, q, 1e-4);
    }
}

#[test]
fn no_double_exponential_below_its_limiting_ratio() {
    for (definition, limit) in [(Definition::Voltage, 3.470), (Definition::Current, 3.805)] {
        let Err(FitError::NoSolution { needed, .. }) = double_exponential(8.0 * US, 20.0 * US, definition)
        else {
            panic!("8/20 must have no double exponential")
        };
        near("limiting ratio", needed.lowest, limit, 3e-4);
        assert!(double_exponential(10.0 * US, 1.005 * limit * 10.0 * US, definition).is_ok());
    }
    // Any front and tail still finds a form.
    for ratio in [1.8, 2.0, 2.5, 3.0, 3.7, 3.79, 3.81, 4.0, 10.0, 1e4] {
        let shape = impulse(8.0 * US, 8.0 * ratio * US, Definition::Current).unwrap();
        let m = measured(&shape, 1e-8, 200.0 * ratio * US);
        near("front", m.front_current_s.unwrap(), 8.0 * US, 1e-5);
        near("tail", m.tail_current_s.unwrap(), 8.0 * ratio * US, 1e-5);
    }
    for (front, tail) in [
        (0.0, 1.0),
        (1.0, 1.0),
        (-1.0, 5.0),
        (f64::NAN, 1.0),
        (1.0, f64::INFINITY),
    ] {
        assert!(matches!(
            impulse(front, tail, Definition::Voltage),
            Err(FitError::BadTimes { .. })
        ));
    }
}

#[test]
fn samples_are_checked_and_joined_by_straight_lines() {
    use forms::SamplesError;
    let shape = forms::samples(&[(1e-6, 1.0), (2e-6, 3.0), (4e-6, -1.0)]).unwrap();
    let values: Vec<f64> = [0.5e-6, 1e-6, 1.5e-6, 3e-6, 4e-6, 5e-6]
        .iter()
        .map(|t| shape.value(*t))
        .collect();
    for (value, expected) in values.iter().zip([0.0, 1.0, 2.0, 1.0, -1.0, -1.0]) {
        assert!((value - expected).abs() < 1e-12, "{values:?}");
    }
    assert_eq!(
        forms::samples(&[(0.0, 1.0)]),
        Err(SamplesError::TooFew { count: 1 })
    );
    assert_eq!(
        forms::samples(&[(0.0, 1.0), (0.0, 2.0)]),
        Err(SamplesError::NotAscending { index: 1 })
    );
    assert_eq!(
        forms::samples(&[(-1.0, 1.0), (0.0, 2.0)]),
        Err(SamplesError::BeforeZero { index: 0 })
    );
    assert_eq!(
        forms::samples(&[(0.0, 1.0), (f64::NAN, 2.0)]),
        Err(SamplesError::NotFinite { index: 1 })
    );
    assert_eq!(
        forms::samples(&[(0.0, 0.0), (1.0, 0.0)]),
        Err(SamplesError::AllZero)
    );
}

#[test]
fn a_triangle_is_measured_exactly() {
    // Up in 10, down in 40: every measure follows from geometry.
    let m = measure_samples(&[(0.0, 0.0), (10.0, -2.0), (50.0, 0.0), (60.0, 0.0)]).unwrap();
    near("peak", m.peak, -2.0, 1e-12);
    near("voltage front", m.front_voltage_s.unwrap(), 10.0, 1e-12);
    near("current front", m.front_current_s.unwrap(), 10.0, 1e-12);
    near("tail", m.tail_current_s.unwrap(), 30.0, 1e-12);
    near("width", m.width_s.unwrap(), 25.0, 1e-12);
    near("duration", m.duration_s.unwrap(), 45.0, 1e-12);
    near("rise", m.rise_s.unwrap(), 8.0, 1e-12);
    near("integral", m.integral, -50.0, 1e-12);
    near("square", m.integral_of_square, 4.0 * 50.0 / 3.0, 1e-12);
    assert_eq!(m.undershoot, 0.0);
    assert!(measure_samples(&[(0.0, 0.0), (1.0, 0.0), (2.0, 0.0)]).is_none());
    assert!(measure_samples(&[(0.0, f64::NAN), (1.0, 0.0), (2.0, 0.0)]).is_none());
}
