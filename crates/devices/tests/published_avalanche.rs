//! Check values of avalanche parts: clamping, temperature, pulse power.

mod common;

use common::{FAMILY, datasheet, within, within_percent};
use tidewall_devices::build::{fit_line, split_heating};
use tidewall_devices::curve::{
    ClampLine, apparent_ohm_at_width, operating_point, parallel_share_a, voltage_at,
};
use tidewall_devices::datasheet::{LeakagePoint, PartCorner, RatingWave, Spread};
use tidewall_devices::heating::HeatedPulse;
use tidewall_devices::law::{Avalanche, Law, State};
use tidewall_devices::leakage::{doubling_k, leakage_a, runaway_leakage_a};
use tidewall_devices::pulse_power::{
    HeatProperties, HotBox, UnitWave, dawson, front_s_of, power_factor, virtual_origin_s,
    wunsch_bell_w_per_m2,
};
use tidewall_devices::rating::{
    PulseShape, derating_factor, derating_zero_c, heating_coefficient, highest_repetition_hz,
    residual_rise_k, rise_to_explain_k,
};
use tidewall_devices::thermal::Foster;

fn long() -> UnitWave {
    UnitWave::of(RatingWave::Long10x1000).expect("standard wave")
}

fn surge() -> UnitWave {
    UnitWave::of(RatingWave::Surge8x20).expect("standard wave")
}

fn wave(front_us: f64, tail_us: f64) -> UnitWave {
    UnitWave::of(RatingWave::FrontTail {
        front_s: front_us * 1e-6,
        tail_s: tail_us * 1e-6,
    })
    .expect("valid")
}

#[test]
fn v01_apparent_resistance_of_the_24_v_row_as_published() {
    // Automotive 1500 W family datasheet, 24 V row, VBRmax = 1.05 VBRtyp.
    within(ClampLine::through(25.2, 33.2, 45.0).r_ohm, 0.178, 0.001);
    within(ClampLine::through(25.2, 42.8, 234.0).r_ohm, 0.075, 0.001);
}

#[test]
fn v01_apparent_resistances_of_all_ten_rows_as_published() {
    // Same datasheet; it prints two or three digits, hence 0.6 % (10/1000) and 2.9 % (8/20) of the exact value.
    for row in &FAMILY {
        let vbr_max = 1.05 * row.typ;
        within_percent(
            row.r_long,
            ClampLine::through(vbr_max, row.long.0, row.long.1).r_ohm,
            0.6,
        );
        within_percent(
            row.r_short,
            ClampLine::through(vbr_max, row.short.0, row.short.1).r_ohm,
            2.9,
        );
    }
}

#[test]
fn v02_clamping_voltage_at_another_current_by_the_published_rule() {
    // Same datasheet: VCLmax(I) = VCL − RD (IPP − I).
    within(
        ClampLine::with_resistance(0.14, 59.0, 169.0).voltage_v(23.8),
        38.67,
        0.02,
    );
}

#[test]
fn v03_breakdown_over_temperature_by_the_published_rule() {
    // Same datasheet: VBR(T) = VBR25 (1 + alpha (T − 25)).
    let part = Avalanche {
        vbr25_v: 33.0,
        alpha_per_k: 9.8e-4,
        r_ohm: 0.1,
        knee_v: 0.05,
        bidirectional: true,
        forward_v: 0.7,
        forward_ohm: 0.1,
        c0_f: 1e-12,
        built_in_v: 0.7,
        grading: 0.5,
    };
    within(part.breakdown_v(125.0), 36.23, 0.02);
    within(part.breakdown_v(-40.0), 30.90, 0.02);
}

#[test]
fn v04_clamping_voltage_at_intermediate_current_by_the_published_worst_case_line() {
    // Makers' notes on clamping voltage for a broad range of pulse currents.
    within(ClampLine::through(25.2, 33.2, 45.8).voltage_v(20.0), 28.69, 0.02);
}

#[test]
fn v05_apparent_resistance_between_two_widths_by_the_published_rule() {
    // Maker's note on dynamic resistance (2004), 310 µs.
    within(apparent_ohm_at_width(0.08034, 0.20444, 310e-6), 0.1171, 1e-4);
    within(apparent_ohm_at_width(0.08034, 0.20444, 1e-6), 0.08034, 1e-12);
}

#[test]
fn v06_temperature_coefficient_of_the_family_is_linear_in_breakdown() {
    // Derived: least squares of VBR·alpha over the ten rows of the automotive 1500 W family.
    let points: Vec<(f64, f64)> = FAMILY.iter().map(|r| (r.typ, 0.1 * r.typ * r.alpha)).collect();
    let (slope, intercept) = fit_line(&points).expect("ten points");
    within_percent(slope, 1.095, 0.5);
    within_percent(intercept, -3.78, 0.5);
}

#[test]
fn v08_rated_power_of_the_24_v_row() {
    // Same datasheet, products of the published points.
    let (long_w, short_w) = (33.2 * 45.0, 42.8 * 234.0);
    within(long_w, 1494.0, 0.5);
    within(short_w, 10015.0, 0.5);
    within(short_w / long_w, 6.70, 0.01);
    // The same currents come back from those powers on the worst-case lines.
    within(
        ClampLine::through(25.2, 33.2, 45.0).current_at_power_a(long_w),
        45.0,
        1e-6,
    );
    within(
        ClampLine::through(25.2, 42.8, 234.0).current_at_power_a(short_w),
        234.0,
        1e-6,
    );
}

#[test]
fn v09_measures_of_the_8_20_form() {
    // Derived from the IEEE C62.45 form (from memory).
    let w = surge();
    within_percent(w.charge_s() * 1e6, 17.45, 0.5);
    within_percent(w.square_s() * 1e6, 12.16, 0.5);
    within_percent(front_s_of(&w) * 1e6, 8.03, 0.5);
    within_percent((w.half_s() - virtual_origin_s(&w)) * 1e6, 19.93, 0.5);
}

#[test]
fn v10_dawson_integral_and_equivalent_width_of_an_exponential() {
    // Maximum of Dawson's integral: 0.541044 at 0.924139 (mathematical tables).
    let highest = (0..200_000).map(|k| dawson(k as f64 * 1e-5)).fold(0.0, f64::max);
    within(highest, 0.541_044, 1e-6);
    within(dawson(0.1), 0.099_335_992_397_852_86, 1e-15);
    within(dawson(2.0), 0.301_340_388_923_791_96, 1e-14);
    within(dawson(10.0), 0.050_253_847_187_598_53, 1e-15);
    within(dawson(-1.0), -0.538_079_506_912_768_4, 1e-14);
    let w = UnitWave::Exponential { tau_s: 1e-3 };
    within(w.equivalent_s() / w.half_s(), 0.4223, 1e-4);
    within(w.equivalent_s() / 1e-3, 0.2927, 1e-4);
}

#[test]
fn v11_power_of_8_20_against_10_1000_by_the_law_and_as_published() {
    // Derived factor 6.608; published rating 10 kW against 1.5 kW = 6.67, rows 6.60 to 6.70 (one family).
    let factor = power_factor(&surge(), &long());
    within_percent(factor, 6.608, 0.5);
    within_percent(factor, 10.0 / 1.5, 2.0);
    for row in &FAMILY {
        within_percent(factor, row.short.0 * row.short.1 / (row.long.0 * row.long.1), 2.0);
    }
}

#[test]
fn equivalent_widths_of_the_standard_waves() {
    // Derived table for heating as the root of time: Q/Ip in µs, I²t/Ip² in µs, θ in √µs, t_eq in µs, factor.
    let table = [
        (surge(), [17.45, 12.16, 3.118, 9.7, 6.61]),
        (wave(1.2, 50.0), [70.4, 36.2, 4.621, 21.4, 4.46]),
        (wave(6.4, 69.0), [91.0, 50.0, 5.511, 30.4, 3.74]),
        (wave(10.0, 160.0), [217.0, 116.0, 8.331, 69.0, 2.47]),
        (wave(5.0, 310.0), [440.0, 224.0, 11.49, 132.0, 1.79]),
        (wave(10.0, 350.0), [491.0, 254.0, 12.24, 150.0, 1.68]),
        (wave(10.0, 700.0), [995.0, 507.0, 17.26, 298.0, 1.19]),
        (long(), [1427.0, 723.0, 20.60, 424.0, 1.0]),
    ];
    for (w, [charge, square, theta, equivalent, factor]) in table {
        within_percent(w.charge_s() * 1e6, charge, 0.5);
        within_percent(w.square_s() * 1e6, square, 0.5);
        within_percent(w.theta_peak() * 1e3, theta, 0.5);
        within_percent(w.equivalent_s() * 1e6, equivalent, 1.0);
        within_percent(power_factor(&w, &long()), factor, 0.5);
    }
}

#[test]
fn sampled_currents_heat_as_their_closed_forms() {
    for w in [
        surge(),
        long(),
        wave(1.2, 50.0),
        UnitWave::Exponential { tau_s: 50e-6 },
    ] {
        let end = 3.0 * w.half_s();
        let t: Vec<f64> = (0..=1500)
            .map(|k| end * (f64::from(k) / 1500.0).powi(2))
            .collect();
        let i: Vec<f64> = t.iter().map(|&t| -37.0 * w.value(t)).collect();
        let shape = PulseShape::of_samples(&t, &i).expect("a current");
        within_percent(shape.theta_peak_sqrt_s, w.theta_peak(), 0.05);
    }
    assert_eq!(PulseShape::of_samples(&[0.0], &[1.0]), None);
    assert_eq!(PulseShape::of_samples(&[0.0, 1.0], &[0.0, 0.0]), None);
    assert_eq!(PulseShape::of_samples(&[1.0, 0.0], &[1.0, 1.0]), None);
    assert_eq!(PulseShape::of_samples(&[0.0, f64::NAN], &[1.0, 1.0]), None);
}

#[test]
fn v12_wunsch_bell_at_one_millisecond() {
    // Formula of Wunsch and Bell (1968) with silicon averages (from memory): 26.76 kW/cm².
    within_percent(
        wunsch_bell_w_per_m2(&HeatProperties::HOT_SILICON, 650.0, 1e-3) * 1e-4,
        26.76e3,
        1.0,
    );
}

#[test]
fn v13_hot_box_of_dwyer_franklin_and_campbell() {
    let hot = HotBox {
        edges_m: [100e-6, 20e-6, 1e-6],
        heat: HeatProperties::HOT_SILICON,
    };
    let [tc, tb, ta] = hot.joints_s();
    within_percent(tc * 1e9, 4.58, 0.5);
    within_percent(tb * 1e6, 1.834, 0.5);
    within_percent(ta * 1e6, 45.8, 0.5);
    within_percent(hot.power_w(650.0, 100e-9), 59.9, 0.5);
    within_percent(hot.power_w(650.0, 10e-6), 6.86, 0.5);
    for joint in [tc, tb, ta] {
        within_percent(
            hot.power_w(650.0, joint * (1.0 - 1e-9)),
            hot.power_w(650.0, joint * (1.0 + 1e-9)),
            1e-4,
        );
    }
}

#[test]
fn v14_linear_derating() {
    within(1500.0 * derating_factor(85.0, 25.0, 150.0), 780.0, 1e-9);
    within(derating_factor(-40.0, 25.0, 150.0), 1.0, 0.0);
    within(derating_factor(180.0, 25.0, 150.0), 0.0, 0.0);
}

#[test]
fn v15_a_published_part_does_not_follow_the_line_to_the_highest_junction_temperature() {
    // 1500 W family datasheet, revision of 2009: 1250 W kept at Tj 150 °C.
    within(derating_zero_c(1250.0 / 1500.0, 150.0), 775.0, 1e-6);
}

#[test]
fn v16_highest_repetition_of_a_400_w_part() {
    // Derived: 400 W 10/1000, exponential of the tail counted as its energy at constant clamp voltage.
    let energy = 400.0 * 1e-3 / std::f64::consts::LN_2;
    within(highest_repetition_hz(energy, 150.0, 85.0, 120.0), 0.939, 0.001);
}

#[test]
fn v17_heating_split_of_two_rows() {
    // Derived figures: both points under heating by a constant clamping voltage. Here that recipe is followed with
    // the crate's own kernel: K and the rises come out as stated; so does the resistance of the 24 V row.
    let recipe = |row: &common::Row| {
        let (vbr, alpha) = (1.05 * row.typ, 1e-4 * row.alpha);
        let run = |w: &UnitWave, (volts, amps): (f64, f64), end: f64| -> Vec<(f64, f64)> {
            (1..=1000)
                .map(|n| end * (f64::from(n) / 1000.0).powi(2))
                .map(|t| (vbr * alpha * volts * amps * w.theta(t), amps * w.value(t)))
                .collect()
        };
        let (on_long, on_short) = (run(&long(), row.long, 2.5e-3), run(&surge(), row.short, 60e-6));
        let top = |points: &[(f64, f64)], r: f64, k: f64| {
            points
                .iter()
                .map(|(heat, amps)| vbr + k * heat + r * amps)
                .fold(0.0, f64::max)
        };
        let halve = |low: f64, high: f64, f: &dyn Fn(f64) -> f64| {
            let (mut a, mut b) = (low, high);
            for _ in 0..60 {
                let m = 0.5 * (a + b);
                if f(m) < 0.0 { a = m } else { b = m }
            }
            0.5 * (a + b)
        };
        let r_for = |k: f64| halve(0.0, 2.0, &|r| top(&on_long, r, k) - row.long.0);
        let k = halve(0.0, 20.0, &|k| row.short.0 - top(&on_short, r_for(k), k));
        let rise = |w: &UnitWave, (volts, amps): (f64, f64)| k * volts * amps * w.theta_peak();
        (r_for(k), k, rise(&long(), row.long), rise(&surge(), row.short))
    };
    let (r24, k24, long24, short24) = recipe(&FAMILY[2]);
    within_percent(r24, 0.0500, 2.0);
    within_percent(k24, 9.49, 2.0);
    within_percent(long24, 292.0, 2.0);
    within_percent(short24, 296.0, 2.0);
    let (_, k33, long33, short33) = recipe(&FAMILY[5]);
    within_percent(k33, 9.00, 2.0);
    within_percent(long33, 280.0, 2.0);
    within_percent(short33, 280.0, 2.0);
}

#[test]
fn the_split_gives_back_both_published_points_of_every_row() {
    // The split follows the wave with its own power; run through the model it must return what it was made from.
    for row in &FAMILY {
        let (vbr, alpha) = (1.05 * row.typ, 1e-4 * row.alpha);
        let split = split_heating(
            vbr,
            alpha,
            (long(), row.long.1, row.long.0),
            (surge(), row.short.1, row.short.0),
        )
        .expect("both points of the family can be split");
        assert!(split.r_iso_ohm > 0.0 && split.r_iso_ohm < row.r_short);
        let poles = Foster::square_root_law(split.k_k_per_w_sqrt_s, None);
        for (w, (volts, amps)) in [(long(), row.long), (surge(), row.short)] {
            let peak = HeatedPulse::new(&w, amps, &poles).peak(vbr, alpha, split.r_iso_ohm, 1.0);
            within_percent(peak.voltage_v, volts, 1e-4);
        }
        // Equal ratings on both waves mean about equal junction rises.
        within_percent(split.rise_short_k, split.rise_long_k, 4.0);
    }
}

#[test]
fn v18_residual_heat_one_second_after_a_rated_pulse() {
    // Derived: 24 V part, K 9.49 K/W/√s, energy of the rated 10/1000 pulse at constant clamping voltage.
    let energy = 33.2 * 45.0 * long().charge_s();
    within(residual_rise_k(9.49, energy, 1.0), 10.1, 0.05);
}

#[test]
fn v19_two_parallel_parts_at_opposite_tolerance() {
    let line = |vbr| ClampLine {
        v0_v: vbr,
        r_ohm: 0.333,
    };
    let (first, second) = parallel_share_a(line(0.95 * 33.0), line(1.05 * 33.0), 50.0);
    within(first, 29.95, 0.02);
    within(second, 20.05, 0.02);
    assert_eq!(parallel_share_a(line(30.0), line(36.0), 5.0), (5.0, 0.0));
}

#[test]
fn v20_capacitance_at_a_bias() {
    let mut sheet = datasheet(&FAMILY[5]);
    sheet.capacitance = vec![tidewall_devices::datasheet::CapacitancePoint {
        bias_v: 0.0,
        capacitance_f: Spread {
            typ: Some(100e-12),
            ..Spread::default()
        },
    }];
    sheet.grading = Some(0.5);
    let law = sheet
        .protector(PartCorner::High, 25.0)
        .expect("complete")
        .protector
        .law;
    within(law.capacitance(5.0).0 * 1e12, 35.0, 0.05);
}

#[test]
fn v21_leakage_over_temperature() {
    // Rule: doubling per 10 K. Published limits of the 1500 W family: 0.2 µA at 25 °C, 1 µA at 85 °C.
    within(leakage_a(1.0, 25.0, 10.0, 85.0), 64.0, 1e-9);
    within(doubling_k((25.0, 0.2e-6), (85.0, 1e-6)), 25.8, 0.05);
    let mut sheet = datasheet(&FAMILY[5]);
    let at = |temperature_c, current_a| LeakagePoint {
        voltage_v: 28.2,
        temperature_c,
        current_a,
    };
    sheet.leakage = vec![at(25.0, 0.2e-6), at(85.0, 1e-6)];
    within_percent(sheet.leakage_at(28.0, 85.0).expect("given"), 1e-6, 1e-9);
    within_percent(sheet.leakage_at(24.0, 110.84).expect("given"), 2e-6, 0.1);
    assert_eq!(
        sheet.leakage_at(30.0, 25.0).expect_err("no point at 30 V").key,
        "leakage"
    );
}

#[test]
fn v22_published_failure_data_are_consistent() {
    // Energies 2025, abstract: mean power and current of failure of three makers' 6.8 V parts, 3 ms.
    for (watts, amps, volts) in [(202.0, 29.0, 6.97), (321.0, 46.9, 6.84), (357.0, 51.8, 6.89)] {
        // A clamp of that voltage dissipates that power at that current.
        let line = ClampLine {
            v0_v: volts,
            r_ohm: 0.0,
        };
        within_percent(line.current_at_power_a(watts), amps, 0.2);
    }
}

#[test]
fn v24_published_12_v_pick_fails_at_its_tolerance_corner() {
    // Automotive ideal-diode controller datasheet, TVS selection: −150 V behind 10 Ω, output held at 16 V, 60 V
    // transistor: limit 44 V. Published pick: stand-off 33 V, VBR 36.7 V at least; VC 53.3 V at 11.3 A.
    let limit = 60.0 - 16.0;
    within(150.0 / 10.0, 15.0, 1e-12);
    let worst = ClampLine::through(40.7, 53.3, 11.3);
    within(worst.r_ohm, 1.11, 0.01);
    let at = worst.meets(150.0, 10.0);
    within(at.current_a, 9.83, 0.02);
    within(at.voltage_v, 51.7, 0.05);
    assert!(at.voltage_v > limit, "the tolerance corner must fail");
    // On the minimum breakdown alone, as published, it passes: above jump start and suppressed load dump, below the
    // absolute maximum of 65 V and below the limit.
    let lowest = ClampLine::through(36.7, 53.3, 11.3).meets(36.7, 10.0).voltage_v;
    for level in [24.0, 35.0] {
        assert!(lowest > level);
    }
    for level in [limit, 65.0] {
        assert!(lowest < level);
    }
}

#[test]
fn v24b_published_24_v_pick_passes_at_its_tolerance_corner() {
    // Ideal-diode controller datasheet, 24 V selection (2020): −600 V behind 50 Ω, 75 V transistor, battery at 32 V:
    // limit 43 V. Pick: 26 V part, VC 42.1 V at 14.25 A; VBR 28.9 V at least (from memory), 1.11 times that at most
    // (makers' notes for ±5 % types).
    let limit = 75.0 - 32.0;
    within(600.0 / 50.0, 12.0, 1e-12);
    let worst = ClampLine::through(1.11 * 28.9, 42.1, 14.25);
    let at = worst.meets(600.0, 50.0);
    within(at.current_a, 11.2, 0.02);
    within(at.voltage_v, 39.95, 0.02);
    assert!(at.voltage_v <= limit, "the tolerance corner must pass");
    within(14.25 * 42.1, 600.0, 1.0);
    // One bidirectional part is impossible: it would have to stay off at 65 V and clamp below 43 V.
    let off_at_65_v = ClampLine {
        v0_v: 65.0,
        r_ohm: 0.0,
    };
    assert!(off_at_65_v.meets(600.0, 50.0).voltage_v > limit);
}

#[test]
fn v24c_published_24_v_pick_with_an_85_v_transistor() {
    // Ideal-diode controller datasheet, 24 V section (2023): limit 53 V; 28 V part, VC 45.4 V by listings.
    let limit = 85.0 - 32.0;
    within(limit, 53.0, 0.0);
    let worst = ClampLine::through(1.11 * 31.1, 45.4, 600.0 / 45.4);
    assert!(worst.meets(600.0, 50.0).voltage_v <= limit);
}

#[test]
fn v27_33_v_part_behind_42_ohm() {
    let at = ClampLine {
        v0_v: 34.65,
        r_ohm: 0.14,
    }
    .meets(1000.0, 42.0);
    within(at.current_a, 22.91, 0.02);
    within(at.voltage_v, 37.86, 0.02);
}

#[test]
fn v28_24_v_part_behind_2_ohm() {
    let at = ClampLine {
        v0_v: 25.2,
        r_ohm: 0.075,
    }
    .meets(500.0, 2.0);
    within(at.current_a, 228.8, 0.05);
    within(at.voltage_v, 42.36, 0.02);
    within_percent(at.current_a * at.voltage_v, 9690.0, 0.1);
    within(at.current_a / 234.0, 0.98, 0.005);
}

#[test]
fn the_law_meets_a_load_line_where_its_straight_line_does() {
    let law = Law::Avalanche(Avalanche {
        vbr25_v: 34.65,
        alpha_per_k: 9.8e-4,
        r_ohm: 0.14,
        knee_v: 0.05,
        bidirectional: true,
        forward_v: 0.7,
        forward_ohm: 0.1,
        c0_f: 1e-12,
        built_in_v: 0.7,
        grading: 0.5,
    });
    let at = operating_point(&law, 0.0, State::INITIAL, [0.0; 2], 25.0, 1000.0, 42.0);
    within(at.current_a, 22.91, 0.02);
    within(at.voltage_v, 37.86, 0.02);
    within(
        voltage_at(&law, State::INITIAL, [0.0; 2], 25.0, 22.91).expect("conducts"),
        37.86,
        0.02,
    );
}

#[test]
fn v57_runaway_limit_of_a_standing_leakage() {
    within(1e3 * runaway_leakage_a(24.0, 100.0, 10.0), 2.211, 0.001);
    // Just below it the balance T = Ta + Rth V I(T) has a solution, just above it has none.
    let settles = |factor: f64| {
        let at_ambient = factor * runaway_leakage_a(24.0, 100.0, 10.0);
        let mut rise = 0.0;
        for _ in 0..100_000 {
            rise = 100.0 * 24.0 * leakage_a(at_ambient, 25.0, 10.0, 25.0 + rise);
            if rise > 1e3 {
                return false;
            }
        }
        true
    };
    assert!(settles(0.995) && !settles(1.005));
}

#[test]
fn v58_heating_coefficient_from_a_rating() {
    // Derived: 600 W 10/1000, rise of 125 K, the wave taken as an exponential of the same tail.
    let w = UnitWave::Exponential {
        tau_s: 1e-3 / std::f64::consts::LN_2,
    };
    within(heating_coefficient(125.0, 600.0, w.theta_peak()), 10.14, 0.005);
}

#[test]
fn v59_heating_alone_would_need() {
    within(rise_to_explain_k(25.2, 33.2, 9.4e-4), 338.0, 0.5);
}

#[test]
fn trade_facts_of_clamping() {
    // Common practice, no source: VC = VBR + IPP·Rdyn; a 58 V part, VBR at least 68 V, 0.09 Ω, rises 1.8 V at 20 A.
    let law = Law::Avalanche(Avalanche {
        vbr25_v: 68.0,
        alpha_per_k: 1e-3,
        r_ohm: 0.09,
        knee_v: 0.05,
        bidirectional: true,
        forward_v: 0.7,
        forward_ohm: 0.1,
        c0_f: 1e-12,
        built_in_v: 0.7,
        grading: 0.5,
    });
    let volts = voltage_at(&law, State::INITIAL, [0.0; 2], 25.0, 20.0).expect("conducts");
    within(volts - 68.0, 1.8, 1e-3);
    within(
        ClampLine {
            v0_v: 68.0,
            r_ohm: 0.09,
        }
        .voltage_v(20.0),
        69.8,
        1e-9,
    );
}
