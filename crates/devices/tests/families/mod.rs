//! A law of every family, and the modes that each may be in.

use tidewall_devices::law::{
    Avalanche, Crowbar, CurrentLimiter, Diode, FlatClamp, GasTube, Law, Mode, PinClamp, Table, Trigger,
    Varistor,
};

pub fn laws() -> Vec<(&'static str, Law, Vec<Mode>)> {
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
