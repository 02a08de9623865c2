//! A law of every family with a bias at which it works hard: above its corner, conducting.

use tidewall_devices::Law;
use tidewall_devices::law::{
    Avalanche, Crowbar, CurrentLimiter, Diode, FlatClamp, GasTube, MAX_INNER, Mode, PinClamp, State, Table,
    Trigger, Varistor,
};

/// A law, and where it is asked.
#[derive(Clone, Debug)]
pub struct Sample {
    /// Name of the family.
    pub family: &'static str,
    /// The law.
    pub law: Law,
    /// Discrete state.
    pub state: State,
    /// Voltage in volts.
    pub volts: f64,
    /// Inner states.
    pub inner: [f64; MAX_INNER],
}

/// One sample of each family.
pub fn laws() -> Vec<Sample> {
    let steady = |family, law, volts| Sample {
        family,
        law,
        state: State::INITIAL,
        volts,
        inner: [0.0; MAX_INNER],
    };
    let on = |family, law, mode, volts, on_v| Sample {
        family,
        law,
        state: State { mode, sign: 1.0 },
        volts,
        inner: [on_v, 1.0],
    };
    let mut samples = vec![
        steady("avalanche", avalanche(), 40.0),
        on("flat clamp", flat_clamp(), Mode::On, 36.0, 34.0),
        on("crowbar", crowbar(), Mode::On, 3.5, 2.9),
        steady("varistor", varistor(), 70.0),
        on("gas tube", gas_tube(), Mode::Arc, 16.0, 15.0),
        steady("diode", diode(), 1.0),
        steady("pin", pin(), 4.3),
        on("limiter", limiter(), Mode::Off, 0.5, 0.2),
    ];
    let volts: Vec<f64> = (0..20).map(f64::from).collect();
    let amps: Vec<f64> = volts.iter().map(|v| v * v).collect();
    if let Ok(table) = Table::new(&volts, &amps, 1e-12) {
        samples.push(steady("table of 20 points", Law::Table(table), 12.3));
    }
    samples
}

fn avalanche() -> Law {
    Law::Avalanche(Avalanche {
        vbr25_v: 38.0,
        alpha_per_k: 9.8e-4,
        r_ohm: 0.1,
        knee_v: 0.02,
        bidirectional: true,
        forward_v: 0.8,
        forward_ohm: 0.02,
        c0_f: 1e-9,
        built_in_v: 0.7,
        grading: 0.45,
    })
}

fn flat_clamp() -> Law {
    Law::FlatClamp(FlatClamp {
        trigger_v: 35.0,
        on_v: 34.0,
        alpha_per_k: 2e-4,
        reference_c: 25.0,
        r_ohm: 0.03,
        delay_s: 5e-9,
        settle_s: 2e-9,
        off_v: 30.0,
        saturation_a: 150.0,
        breakdown_v: 48.0,
        breakdown_ohm: 0.2,
        trigger: Trigger::Voltage,
        bidirectional: false,
        forward_v: 0.8,
        forward_ohm: 0.02,
        knee_v: 0.02,
        c0_f: 0.6e-9,
        built_in_v: 0.7,
        grading: 0.45,
    })
}

fn crowbar() -> Law {
    Law::Crowbar(Crowbar {
        trigger_v: 9.0,
        trigger_a: 0.05,
        alpha_per_k: 0.0,
        off_ohm: 1.0,
        on_v: 2.9,
        on_ohm: 0.15,
        hold_a: 0.02,
        hold_per_k: 0.0,
        transition_s: 0.5e-9,
        bidirectional: false,
        forward_v: 0.8,
        forward_ohm: 0.1,
        knee_v: 0.01,
        c_f: 1e-12,
    })
}

fn varistor() -> Law {
    Law::Varistor(Varistor {
        v1ma_v: 47.0,
        alpha: 30.0,
        v1ma_per_k: 0.0,
        linear_above_a: 1e5,
        c_f: 2e-9,
    })
}

fn gas_tube() -> Law {
    Law::GasTube(GasTube {
        dc_v: 230.0,
        slope_coefficient_v: 98.7,
        slope_exponent: 0.226,
        glow_v: 70.0,
        glow_to_arc_a: 0.5,
        arc_v: 15.0,
        arc_ohm: 0.02,
        arc_to_glow_a: 0.1,
        extinction_a: 0.01,
        drop_s: 10e-9,
        c_f: 1e-12,
        insulation_ohm: 1e10,
    })
}

fn diode() -> Law {
    Law::Diode(Diode {
        forward_v: 0.8,
        forward_ohm: 0.05,
        breakdown_v: 60.0,
        breakdown_ohm: 1.0,
        knee_v: 0.03,
        c_f: 1e-12,
    })
}

fn pin() -> Law {
    Law::Pin(PinClamp {
        positive_v: 4.1,
        positive_ohm: 1.0,
        negative_v: 0.7,
        negative_ohm: 1.0,
        knee_v: 0.02,
        c_f: 2e-12,
    })
}

fn limiter() -> Law {
    Law::Limiter(CurrentLimiter {
        on_ohm: 5.0,
        trip_a: 0.2,
        transition_s: 1e-7,
        blocked_ohm: 1e6,
        reset_v: 15.0,
        withstand_v: 850.0,
        breakdown_ohm: 1.0,
        c_f: 10e-12,
    })
}
