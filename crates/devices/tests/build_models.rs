//! Models built from datasheets: corners, assumptions, and the datum that is missing.

mod common;

use common::parts::{empty, flat_clamp, forward, gas_tube, snapback, table, thyristor, varistor};
use common::{FAMILY, clamp, datasheet, within, within_percent};
use tidewall_devices::build::Built;
use tidewall_devices::curve::voltage_at;
use tidewall_devices::datasheet::{
    CapacitancePoint, Datasheet, Family, Firmness, PartCorner, RatingWave, Spread,
};
use tidewall_devices::heating::HeatedPulse;
use tidewall_devices::law::{Bias, Law, Mode, State, Trigger};
use tidewall_devices::pulse_power::UnitWave;
use tidewall_devices::thermal::Foster;

fn build(sheet: &Datasheet, corner: PartCorner) -> Built {
    sheet
        .protector(corner, 25.0)
        .unwrap_or_else(|missing| panic!("{missing}"))
}

#[test]
fn avalanche_corners_shift_the_curve_and_keep_its_slope() {
    let sheet = datasheet(&FAMILY[5]);
    let at = |corner| match build(&sheet, corner).protector.law {
        Law::Avalanche(a) => a,
        other => panic!("{other:?}"),
    };
    let (low, typical, high) = (at(PartCorner::Low), at(PartCorner::Typical), at(PartCorner::High));
    assert_eq!(
        (low.vbr25_v, typical.vbr25_v, high.vbr25_v),
        (31.4, 33.0, 1.05 * 33.0)
    );
    assert_eq!(low.r_ohm, high.r_ohm);
    assert_eq!(typical.r_ohm, high.r_ohm);
    assert!(high.r_ohm > 0.0 && high.r_ohm < FAMILY[5].r_short);
}

#[test]
fn built_avalanche_models_give_back_both_clamping_points_through_their_ladder() {
    // The ladder itself is integrated: exact exponentials of its poles are not used here.
    for row in [&FAMILY[2], &FAMILY[5], &FAMILY[9]] {
        let built = build(&datasheet(row), PartCorner::High);
        let Law::Avalanche(law) = built.protector.law else {
            panic!("an avalanche law")
        };
        let ladder = &built.protector.thermal;
        for (wave, (volts, amps)) in [
            (RatingWave::Long10x1000, row.long),
            (RatingWave::Surge8x20, row.short),
        ] {
            let wave = UnitWave::of(wave).expect("standard wave");
            let n = ladder.len();
            let steps = 20_000;
            let h = 2.5 * wave.half_s() / f64::from(steps);
            let mut rise = vec![0.0; n];
            let mut top = 0.0f64;
            for step in 1..=steps {
                let i = amps * wave.value(f64::from(step) * h);
                let volts = law.breakdown_v(25.0 + rise[0]) + law.r_ohm * i;
                top = top.max(volts);
                // Backward Euler of the ladder under that power.
                let mut diagonal = vec![0.0; n];
                let mut right = vec![0.0; n];
                for k in 0..n {
                    let inward = if k > 0 {
                        1.0 / ladder.resistance_k_per_w[k - 1]
                    } else {
                        0.0
                    };
                    diagonal[k] =
                        ladder.capacity_j_per_k[k] / h + 1.0 / ladder.resistance_k_per_w[k] + inward;
                    right[k] = ladder.capacity_j_per_k[k] / h * rise[k];
                }
                right[0] += volts * i;
                for k in 1..n {
                    let g = 1.0 / ladder.resistance_k_per_w[k - 1];
                    let factor = g / diagonal[k - 1];
                    diagonal[k] -= factor * g;
                    right[k] += factor * right[k - 1];
                }
                for k in (0..n).rev() {
                    let above = if k + 1 < n {
                        rise[k + 1] / ladder.resistance_k_per_w[k]
                    } else {
                        0.0
                    };
                    rise[k] = (right[k] + above) / diagonal[k];
                }
            }
            within_percent(top, volts, 0.2);
        }
    }
}

#[test]
fn one_clamping_point_and_a_rating_give_a_model_that_returns_the_point() {
    for row in &FAMILY {
        let mut sheet = datasheet(row);
        sheet.clamp.truncate(1);
        let built = build(&sheet, PartCorner::High);
        let Law::Avalanche(law) = built.protector.law else {
            panic!("an avalanche law")
        };
        let wave = UnitWave::of(RatingWave::Long10x1000).expect("standard wave");
        let k = 125.0 / (1500.0 * wave.theta_peak());
        let poles = Foster::square_root_law(k, None);
        let peak =
            HeatedPulse::new(&wave, row.long.1, &poles).peak(law.vbr25_v, law.alpha_per_k, law.r_ohm, 1.0);
        within_percent(peak.voltage_v, row.long.0, 0.01);
        assert!(
            law.r_ohm < row.r_long,
            "heating takes a part of the apparent resistance"
        );
        // The rating heats this model by about Tj,max − 25 K; the voltage is not quite constant.
        within_percent(built.rated_rise_k.expect("rated"), 125.0, 12.0);
    }
}

#[test]
fn heating_that_exceeds_the_rise_seen_leaves_the_apparent_resistance() {
    let mut sheet = datasheet(&FAMILY[5]);
    sheet.clamp = vec![clamp(RatingWave::Long10x1000, 33.0, 36.0)];
    let built = sheet.protector(PartCorner::High, 85.0).expect("complete");
    let Law::Avalanche(law) = built.protector.law else {
        panic!("an avalanche law")
    };
    assert_eq!(law.alpha_per_k, 0.0);
    within_percent(law.r_ohm, (36.0 - 34.65) / 33.0, 1e-6);
    within(law.vbr25_v, 34.65 * (1.0 + 9.8e-4 * 60.0), 1e-9);
    assert!(
        built
            .assumptions
            .iter()
            .any(|a| a.why.contains("heating by the rating would exceed"))
    );
}

#[test]
fn clamping_points_without_heating_are_not_split() {
    // Slope on the long wave below the slope on the short one.
    let mut sheet = datasheet(&FAMILY[5]);
    sheet.clamp = vec![
        clamp(RatingWave::Long10x1000, 33.0, 40.0),
        clamp(RatingWave::Surge8x20, 169.0, 85.0),
    ];
    let built = build(&sheet, PartCorner::High);
    assert!(
        built
            .assumptions
            .iter()
            .any(|a| a.why.contains("does not grow with the width"))
    );
}

#[test]
fn a_split_model_states_the_rise_its_own_rating_has() {
    let built = build(&datasheet(&FAMILY[2]), PartCorner::High);
    // Effective rise: the 24 V row stands its rated 10/1000 pulse at 293 K by the split.
    within_percent(built.rated_rise_k.expect("rated"), 293.0, 1.0);
}

#[test]
fn unidirectional_parts_have_a_forward_branch_and_the_others_conduct_alike_both_ways() {
    let mut sheet = datasheet(&FAMILY[5]);
    let amps = |built: &Built, volts| {
        let bias = Bias {
            volts,
            junction_c: 25.0,
            inner: [0.0; 2],
        };
        built.protector.law.conduction(State::INITIAL, &bias).amps
    };
    let both = build(&sheet, PartCorner::High);
    for volts in [1.0, 30.0, 34.6, 36.0, 50.0] {
        assert_eq!(amps(&both, volts), -amps(&both, -volts));
    }
    sheet.bidirectional = Some(false);
    assert_eq!(
        sheet
            .protector(PartCorner::High, 25.0)
            .expect_err("no forward voltage")
            .key,
        "forward"
    );
    forward(&mut sheet);
    let one = build(&sheet, PartCorner::High);
    within(amps(&one, -3.5), -100.0, 0.01);
    assert_eq!(amps(&one, 36.0), amps(&both, 36.0));
}

#[test]
fn capacitance_law_goes_through_two_stated_points() {
    let mut sheet = datasheet(&FAMILY[5]);
    let point = |bias_v, pf: f64| CapacitancePoint {
        bias_v,
        capacitance_f: Spread {
            typ: Some(pf * 1e-12),
            ..Spread::default()
        },
    };
    sheet.capacitance = vec![point(28.0, 900.0), point(0.0, 4000.0)];
    let law = build(&sheet, PartCorner::High).protector.law;
    within_percent(law.capacitance(0.0).0, 4e-9, 1e-6);
    within_percent(law.capacitance(28.0).0, 0.9e-9, 1e-6);
    within_percent(law.capacitance(-28.0).0, 0.9e-9, 1e-6);
}

#[test]
fn flat_clamps_follow_their_line_and_know_their_trigger() {
    let Law::FlatClamp(law) = build(&flat_clamp(), PartCorner::High).protector.law else {
        panic!("a flat clamp")
    };
    assert_eq!((law.trigger_v, law.on_v, law.r_ohm), (36.5, 36.0, 0.03));
    assert_eq!(law.trigger, Trigger::Voltage);
    let mut sheet = flat_clamp();
    sheet.detector_s = Some(1e-6);
    assert_eq!(
        sheet
            .protector(PartCorner::High, 25.0)
            .expect_err("no time-out")
            .key,
        "time_out"
    );
    sheet.time_out_s = Some(1e-4);
    let Law::FlatClamp(law) = build(&sheet, PartCorner::Low).protector.law else {
        panic!("a flat clamp")
    };
    assert_eq!(
        law.trigger,
        Trigger::Slope {
            rc_s: 1e-6,
            hold_s: 1e-4
        }
    );
    // Its line may also come from clamping points, whose slope does not depend on the wave.
    let mut sheet = flat_clamp();
    (sheet.on_v, sheet.dynamic_ohm) = (Spread::default(), None);
    sheet.clamp = vec![
        clamp(RatingWave::Surge8x20, 10.0, 36.3),
        clamp(RatingWave::Surge8x20, 40.0, 37.2),
    ];
    let Law::FlatClamp(law) = build(&sheet, PartCorner::High).protector.law else {
        panic!("a flat clamp")
    };
    within(law.on_v, 36.0, 1e-9);
    within(law.r_ohm, 0.03, 1e-9);
    // 40 A of 8/20 µs from 25 °C just reaches the highest junction temperature.
    within_percent(
        build(&flat_clamp(), PartCorner::High)
            .rated_rise_k
            .expect("rated"),
        125.0,
        2.0,
    );
}

#[test]
fn flat_clamps_stay_flat_where_avalanche_parts_rise() {
    // Trade fact (common practice, no source): flat over current and temperature against an avalanche part.
    let flat = flat_clamp();
    let avalanche = datasheet(&FAMILY[5]);
    let volts = |sheet: &Datasheet, ambient_c: f64, amps: f64| {
        let law = sheet
            .protector(PartCorner::High, ambient_c)
            .expect("complete")
            .protector
            .law;
        let (state, inner) = match &law {
            Law::FlatClamp(clamp) => (
                State {
                    mode: Mode::On,
                    sign: 1.0,
                },
                [clamp.on_at_v(), 0.0],
            ),
            _ => (State::INITIAL, [0.0; 2]),
        };
        voltage_at(&law, state, inner, ambient_c, amps).expect("conducts")
    };
    let span = |sheet| volts(sheet, 85.0, 30.0) / volts(sheet, -40.0, 1.0) - 1.0;
    assert!(span(&flat) < 0.04, "flat clamp: {}", span(&flat));
    assert!(span(&avalanche) > 0.15, "avalanche: {}", span(&avalanche));
}

#[test]
fn snapback_and_thyristor_models_take_their_line_and_lowest_holding_current() {
    let Law::Crowbar(law) = build(&snapback(), PartCorner::High).protector.law else {
        panic!("a crowbar")
    };
    within(law.on_v, 2.9, 1e-9);
    within(law.on_ohm, 0.15, 1e-9);
    assert_eq!((law.trigger_v, law.hold_a), (8.0, 0.03));
    // At the trigger voltage the branch below it carries the trigger current.
    let at = Bias {
        volts: 8.0,
        junction_c: 25.0,
        inner: [0.0; 2],
    };
    within_percent(
        Law::Crowbar(law).conduction(State::INITIAL, &at).amps,
        law.trigger_a,
        1.0,
    );
    // A holding voltage gives the holding current on that line.
    let mut sheet = snapback();
    sheet.hold_a = Spread::default();
    assert_eq!(
        sheet
            .protector(PartCorner::High, 25.0)
            .expect_err("no holding current")
            .key,
        "hold_current"
    );
    sheet.hold_v = Spread {
        min: Some(2.915),
        ..Spread::default()
    };
    let Law::Crowbar(law) = build(&sheet, PartCorner::High).protector.law else {
        panic!("a crowbar")
    };
    within(law.hold_a, 0.1, 1e-9);
    let Law::Crowbar(law) = build(&thyristor(), PartCorner::High).protector.law else {
        panic!("a crowbar")
    };
    within(law.on_v + 5.0 * law.on_ohm, 3.0, 1e-9);
    assert_eq!((law.trigger_v, law.hold_a, law.trigger_a), (10.5, 0.02, 0.2));
    // Without a minimum the guaranteed off-state voltage is the lowest breakover.
    let mut sheet = thyristor();
    sheet.on_v = Spread {
        min: Some(0.9),
        max: Some(1.0),
        ..Spread::default()
    };
    sheet.dynamic_ohm = Some(0.4);
    let Law::Crowbar(law) = build(&sheet, PartCorner::Low).protector.law else {
        panic!("a crowbar")
    };
    assert_eq!(law.trigger_v, 5.25);
    // Trigger voltage away from 25 °C needs its coefficient.
    let mut sheet = thyristor();
    sheet.alpha_per_k = None;
    assert!(sheet.protector(PartCorner::High, 25.0).is_ok());
    assert_eq!(
        sheet
            .protector(PartCorner::High, 70.0)
            .expect_err("no coefficient")
            .key,
        "temperature_coefficient"
    );
}

#[test]
fn varistor_models_go_through_their_clamping_points() {
    let volts = |sheet: &Datasheet, amps: f64| {
        let built = build(sheet, PartCorner::High);
        let law = built.protector.law;
        voltage_at(&law, State::INITIAL, [0.0; 2], 25.0, amps).expect("conducts")
            + built.protector.series_ohm * amps
    };
    let mut sheet = varistor();
    within(volts(&sheet, 50.0), 1120.0, 1e-3);
    within(volts(&sheet, 1e-3), 748.0, 1e-3);
    // A second, higher point shows the bulk.
    sheet.clamp.push(clamp(RatingWave::Surge8x20, 4500.0, 1900.0));
    let built = build(&sheet, PartCorner::High);
    assert!(built.protector.series_ohm > 0.0);
    within(volts(&sheet, 50.0), 1120.0, 0.01);
    within(volts(&sheet, 4500.0), 1900.0, 0.01);
    // An exponent and one point also give the bulk.
    let mut sheet = varistor();
    sheet.exponent = Some(40.0);
    within(volts(&sheet, 50.0), 1120.0, 1e-3);
    // The lower corner keeps the shape.
    let low = build(&varistor(), PartCorner::Low).protector.law;
    let high = build(&varistor(), PartCorner::High).protector.law;
    let at = |law: &Law, amps| voltage_at(law, State::INITIAL, [0.0; 2], 25.0, amps).expect("conducts");
    within_percent(at(&low, 50.0) / at(&high, 50.0), 612.0 / 748.0, 1e-6);
}

#[test]
fn gas_tube_models_fire_by_the_stated_points_of_their_corner() {
    let law = |corner| match build(&gas_tube(), corner).protector.law {
        Law::GasTube(tube) => tube,
        other => panic!("{other:?}"),
    };
    let high = law(PartCorner::High);
    within(high.firing_v(100e6), 450.0, 1e-6);
    within(high.firing_v(1e9), 600.0, 1e-6);
    let low = law(PartCorner::Low);
    assert_eq!(low.dc_v, 195.5);
    assert!(low.firing_v(100e6) < 450.0 && low.arc_to_glow_a < low.glow_to_arc_a);
    assert!(low.extinction_a < low.arc_to_glow_a);
}

#[test]
fn measured_tables_are_mirrored_or_given_a_forward_branch() {
    let law = build(&table(), PartCorner::High).protector.law;
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
    for (volts, current) in table().table {
        within(amps(&law, volts), current, 1e-12);
        within(amps(&law, -volts), -current, 1e-12);
    }
    // Monotone between the points.
    let mut before = f64::NEG_INFINITY;
    for k in -450..=450 {
        let now = amps(&law, f64::from(k) / 10.0);
        assert!(now >= before, "falls at {} V", f64::from(k) / 10.0);
        before = now;
    }
    let mut sheet = table();
    sheet.bidirectional = Some(false);
    assert_eq!(
        sheet
            .protector(PartCorner::High, 25.0)
            .expect_err("no forward voltage")
            .key,
        "forward"
    );
    forward(&mut sheet);
    let law = build(&sheet, PartCorner::High).protector.law;
    assert!(amps(&law, -2.0) < -30.0);
    let mut sheet = table();
    sheet.table.truncate(1);
    sheet.table.push((30.0, 5.0));
    assert_eq!(
        sheet
            .protector(PartCorner::High, 25.0)
            .expect_err("not rising")
            .key,
        "table"
    );
}

#[test]
fn typical_or_measured_parts_lend_their_typical_values_to_all_corners_and_say_so() {
    let mut sheet = gas_tube();
    sheet.breakdown_v = Spread {
        typ: Some(230.0),
        ..Spread::default()
    };
    for point in &mut sheet.firing {
        point.voltage_v = Spread {
            typ: point.voltage_v.max,
            ..Spread::default()
        };
    }
    assert_eq!(
        sheet
            .protector(PartCorner::High, 25.0)
            .expect_err("guaranteed without a maximum")
            .key,
        "breakdown"
    );
    sheet.firmness = Some(Firmness::Typical);
    let built = build(&sheet, PartCorner::High);
    assert!(built.assumptions.iter().any(|a| a.what == "tolerance corner"));
}

#[test]
fn v48_a_limiter_holds_the_difference_between_two_clamps() {
    // ITU mitigation handbook, case study 2.10 (2008): 200 mA trip, −226 V at the tube, −68 V at the rail.
    let across = 226.0 - 68.0;
    within(across, 158.0, 1e-12);
    let mut sheet = empty(Family::Limiter);
    (sheet.resistance_ohm, sheet.trip_a) = (Some(5.0), Some(0.2));
    (sheet.voltage_max_v, sheet.reset_v) = (Some(650.0), Some(15.0));
    let law = sheet.limiter().expect("complete").model;
    let closed = State {
        mode: Mode::Off,
        sign: 1.0,
    };
    let bias = Bias {
        volts: -across,
        junction_c: 25.0,
        inner: law.inner_initial(0.0),
    };
    let amps = law.conduction(closed, &bias).amps;
    let trip = law.watches(closed, &bias, amps)[0].expect("a watch");
    assert!(trip.value > 0.0 && trip.at_once, "158 V across 5 Ω trips it");
    let (blocked, mut inner) = law.after(closed, &bias, amps, 0);
    assert_eq!(blocked.mode, Mode::Blocked);
    inner[0] = 1e-6;
    let held = law
        .conduction(
            blocked,
            &Bias {
                volts: -across,
                junction_c: 25.0,
                inner,
            },
        )
        .amps;
    assert!(held.abs() < 1e-3, "holds 158 V at {held} A");
}

#[test]
fn a_breakover_part_never_triggers_at_less_than_it_holds_with() {
    // Fed in between, such a model would fire and go out for ever: random ladders did not end.
    let trigger = |stated: Option<f64>, ambient_c: f64| {
        let mut sheet = thyristor();
        sheet.breakdown_at_a = stated;
        sheet.hold_a.min = Some(0.15);
        sheet.hold_per_k = Some(-5e-3);
        let built = sheet.protector(PartCorner::High, ambient_c).unwrap();
        let Law::Crowbar(law) = built.protector.law else {
            panic!("a thyristor breaks over")
        };
        assert!(
            law.trigger_a >= law.hold_at_a(ambient_c) * (1.0 - 1e-12),
            "{law:?}"
        );
        let noted = built
            .assumptions
            .iter()
            .any(|a| a.what == "current at the trigger point in A");
        (law.trigger_a, noted)
    };
    assert_eq!(trigger(Some(0.4), 25.0), (0.4, false));
    assert_eq!(trigger(Some(0.01), 25.0), (0.15, true));
    assert_eq!(trigger(None, 25.0), (0.15, true));
    // In the cold it holds with more.
    assert!((trigger(Some(0.16), -55.0).0 - 0.21).abs() < 1e-12);
}

#[test]
fn the_forward_corner_of_a_one_sided_table_is_rounded() {
    let mut sheet = table();
    sheet.bidirectional = Some(false);
    sheet.forward_v = Some(0.8);
    sheet.forward_ohm = Some(5e-3);
    let Law::Table(table) = sheet.protector(PartCorner::Typical, 25.0).unwrap().protector.law else {
        panic!("a table")
    };
    let law = Law::Table(table);
    let slope = |volts: f64| {
        let bias = Bias {
            volts,
            junction_c: 25.0,
            inner: [0.0; 2],
        };
        law.conduction(State::INITIAL, &bias).per_volt
    };
    // From a hundredth of the branch's slope to nine tenths of it over tens of millivolts, not over one.
    let (foot, top) = (-0.72, -0.87);
    assert!(
        slope(foot) < 0.05 / 5e-3 && slope(top) > 0.9 / 5e-3,
        "{} {}",
        slope(foot),
        slope(top)
    );
    for k in 0..40 {
        let volts = foot + (top - foot) * f64::from(k) / 40.0;
        assert!(slope(volts - 1e-3) - slope(volts) < 0.15 / 5e-3, "at {volts} V");
    }
}
