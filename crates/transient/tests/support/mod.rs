//! Model problems: a name, a port and a generator network each. Every reference runs all of them.
//!
//! The devices are plain numbers, so that the same problems can be written down a second time, independently,
//! in `validation/reference.py`.

#![allow(dead_code)]

use tidewall_devices::law::{Avalanche, Crowbar, FlatClamp, GasTube, PinClamp, Trigger, Varistor};
use tidewall_devices::{Law, Protector, ThermalLadder};
use tidewall_ladder::port::Assembly;
use tidewall_ladder::{
    Across, Conductor, Equations, Inductance, Pin, Port, Series, SeriesKind, Shunt, Stage, Supply,
};
use tidewall_stress::Network;
use tidewall_stress::generator::Drive;
use tidewall_stress::generator::automotive;
use tidewall_stress::generator::burst::{BurstCoupling, burst_pulse};
use tidewall_stress::generator::esd::{C150_R330, discharge};
use tidewall_stress::generator::surge::{SET_D3, SET_D18, SurgeCoupling, Through, combination_wave};
use tidewall_stress::generator::telecom::{TelecomCoupling, wave_10_700};
use tidewall_transient::{Options, Outcome, Problem, TransientError, Workspace, run};

/// A port under one stress.
#[derive(Clone)]
pub struct Model {
    pub name: &'static str,
    pub port: Port,
    pub network: Network,
    /// End of the run in seconds.
    pub end_s: f64,
}

pub fn thermal() -> ThermalLadder {
    ThermalLadder {
        capacity_j_per_k: vec![200e-6, 2e-3, 40e-3],
        resistance_k_per_w: vec![0.02, 0.2, 20.0],
    }
}

pub fn avalanche(vbr25_v: f64, r_ohm: f64, bidirectional: bool) -> Protector {
    let law = Avalanche {
        vbr25_v,
        alpha_per_k: 9.8e-4,
        r_ohm,
        knee_v: 0.02,
        bidirectional,
        forward_v: 0.8,
        forward_ohm: 0.02,
        c0_f: 1e-9,
        built_in_v: 0.7,
        grading: 0.45,
    };
    Protector {
        law: Law::Avalanche(law),
        series_ohm: 0.0,
        package_h: 0.0,
        thermal: thermal(),
    }
}

pub fn flat_clamp() -> Protector {
    let law = FlatClamp {
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
    };
    Protector {
        law: Law::FlatClamp(law),
        series_ohm: 0.0,
        package_h: 0.0,
        thermal: thermal(),
    }
}

pub fn snapback() -> Protector {
    let law = Crowbar {
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
    };
    Protector {
        law: Law::Crowbar(law),
        series_ohm: 0.0,
        package_h: 0.0,
        thermal: ThermalLadder::default(),
    }
}

pub fn thyristor() -> Protector {
    let law = Crowbar {
        trigger_v: 130.0,
        trigger_a: 0.2,
        alpha_per_k: 0.0,
        off_ohm: 5.0,
        on_v: 2.0,
        on_ohm: 0.05,
        hold_a: 0.15,
        hold_per_k: -5e-3,
        transition_s: 0.3e-6,
        bidirectional: true,
        forward_v: 0.8,
        forward_ohm: 0.1,
        knee_v: 0.05,
        c_f: 80e-12,
    };
    Protector {
        law: Law::Crowbar(law),
        series_ohm: 0.0,
        package_h: 0.0,
        thermal: ThermalLadder::default(),
    }
}

pub fn varistor() -> Protector {
    let law = Varistor {
        v1ma_v: 47.0,
        alpha: 30.0,
        v1ma_per_k: 0.0,
        linear_above_a: 1e5,
        c_f: 2e-9,
    };
    Protector {
        law: Law::Varistor(law),
        series_ohm: 0.03,
        package_h: 0.0,
        thermal: ThermalLadder::default(),
    }
}

pub fn gas_tube() -> Protector {
    let law = GasTube {
        dc_v: 230.0,
        slope_coefficient_v: 77.8,
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
    };
    Protector {
        law: Law::GasTube(law),
        series_ohm: 0.0,
        package_h: 0.0,
        thermal: ThermalLadder::default(),
    }
}

pub fn series(name: &str, resistance_ohm: f64, inductance_h: f64) -> Stage {
    series_in(name, Conductor::First, resistance_ohm, inductance_h)
}

pub fn series_in(name: &str, conductor: Conductor, resistance_ohm: f64, inductance_h: f64) -> Stage {
    let inductance = Inductance::linear(inductance_h);
    Stage::Series(Box::new(Series {
        name: name.into(),
        conductor,
        kind: SeriesKind::Plain {
            resistance_ohm,
            inductance,
        },
    }))
}

pub fn shunt(name: &str, across: Across, protector: Protector, lead_h: f64) -> Stage {
    Stage::Shunt(Box::new(Shunt {
        name: name.into(),
        across,
        protector,
        lead_h,
        reversed: false,
    }))
}

pub const FIRST: Across = Across::ToReturn(Conductor::First);
pub const SECOND: Across = Across::ToReturn(Conductor::Second);

fn port(conductors: usize, stages: Vec<Stage>, pin_f: f64, supply: Option<Supply>) -> Port {
    let pin = Pin {
        capacitance_f: pin_f,
        esr_ohm: 0.0,
        conduction: None,
    };
    Port {
        conductors,
        stages,
        pin,
        supply,
        ambient_c: 25.0,
        track_ohm: 75.0,
        loss_tangent: 0.0,
    }
}

fn single(protector: Protector, pin_f: f64) -> Port {
    let stages = vec![
        series("track in", 0.02, 15e-9),
        shunt("D1", FIRST, protector, 2e-9),
        series("track out", 0.01, 10e-9),
    ];
    port(1, stages, pin_f, None)
}

/// Every model problem.
pub fn models() -> Vec<Model> {
    let one = Drive::LineToEarth;
    let surge = |level: f64, coupling| combination_wave(&SET_D3, level, coupling, one);
    let bare = SurgeCoupling::Series { resistance_ohm: 0.0 };
    let supply = Some(Supply {
        volts: 24.0,
        source_ohm: 2.0,
        cable_h: 0.0,
        on_both: false,
    });
    let pin_clamp = PinClamp {
        positive_v: 4.1,
        positive_ohm: 1.0,
        negative_v: 0.7,
        negative_ohm: 1.0,
        knee_v: 0.02,
        c_f: 2e-12,
    };
    let mut powered = single(avalanche(38.0, 0.1, false), 4.7e-6);
    powered.supply = supply;
    let mut esd_pin = single(snapback(), 3e-12);
    esd_pin.stages.insert(2, series("Rs", 4.7, 0.0));
    esd_pin.pin.conduction = Some(pin_clamp);
    let two_stage = port(
        1,
        vec![
            shunt("G1", FIRST, gas_tube(), 10e-9),
            series("R1", 10.0, 50e-9),
            shunt("D1", FIRST, avalanche(20.0, 0.2, true), 3e-9),
            series("track out", 0.01, 10e-9),
        ],
        100e-12,
        None,
    );
    let pair = port(
        2,
        vec![
            series_in("track 1", Conductor::First, 0.02, 15e-9),
            series_in("track 2", Conductor::Second, 0.02, 15e-9),
            shunt("D1", FIRST, avalanche(14.0, 0.25, true), 2e-9),
            shunt("D2", SECOND, avalanche(15.5, 0.25, true), 2e-9),
            shunt("D3", Across::LineToLine, avalanche(13.0, 0.3, true), 2e-9),
            series_in("R1", Conductor::First, 10.0, 5e-9),
            series_in("R2", Conductor::Second, 10.0, 5e-9),
        ],
        50e-12,
        None,
    );
    let line_to_earth = TelecomCoupling {
        wire_ohm: 25.0,
        arrester: false,
    };
    vec![
        model(
            "surge 2 ohm, avalanche",
            single(avalanche(38.0, 0.1, false), 1e-9),
            surge(500.0, bare),
            200e-6,
        ),
        model(
            "surge 2 ohm through 18 uF, powered, avalanche",
            powered.clone(),
            combination_wave(&SET_D18, 500.0, SurgeCoupling::PowerLineLine, one),
            300e-6,
        ),
        model(
            "surge 12 ohm, powered, avalanche",
            powered,
            surge(1000.0, SurgeCoupling::PowerLineEarth),
            300e-6,
        ),
        model(
            "surge 42 ohm capacitor, flat clamp",
            single(flat_clamp(), 100e-12),
            surge(1000.0, SurgeCoupling::SignalCapacitor),
            100e-6,
        ),
        model(
            "surge 42 ohm arrester, avalanche",
            single(avalanche(38.0, 0.1, true), 100e-12),
            surge(1000.0, SurgeCoupling::SignalArrester),
            200e-6,
        ),
        model(
            "surge 12 ohm, varistor",
            single(varistor(), 1e-9),
            surge(1000.0, SurgeCoupling::PowerLineEarth),
            200e-6,
        ),
        model(
            "10/700, avalanche",
            single(avalanche(58.0, 0.3, true), 100e-12),
            wave_10_700(1500.0, line_to_earth, one),
            3e-3,
        ),
        model(
            "10/700, thyristor",
            single(thyristor(), 100e-12),
            wave_10_700(1500.0, line_to_earth, one),
            3e-3,
        ),
        model(
            "discharge 8 kV, snapback, resistor, pin",
            esd_pin,
            discharge(&C150_R330, 8000.0, 0),
            300e-9,
        ),
        model(
            "discharge 8 kV, avalanche",
            single(avalanche(6.5, 0.15, true), 10e-12),
            discharge(&C150_R330, 8000.0, 0),
            300e-9,
        ),
        model(
            "burst 2 kV, avalanche",
            single(avalanche(14.0, 0.25, true), 20e-12),
            burst_pulse(2000.0, BurstCoupling::Network33Nf, one),
            1e-6,
        ),
        model(
            "load dump 87 V, avalanche",
            single(avalanche(27.0, 0.05, false), 1e-6),
            automotive::load_dump(87.0, 14.0, 10e-3, 400e-3, 2.0, None, one).unwrap(),
            1.2,
        ),
        model(
            "gas tube, resistor, avalanche",
            two_stage.clone(),
            wave_10_700(4000.0, line_to_earth, one),
            3e-3,
        ),
        model(
            "gas tube, resistor, avalanche, 42 ohm",
            two_stage,
            surge(4000.0, SurgeCoupling::SignalCapacitor),
            200e-6,
        ),
        model(
            "pair, common mode, unequal parts",
            pair,
            combination_wave(
                &SET_D3,
                1000.0,
                SurgeCoupling::Symmetrical {
                    wire_ohm: 80.0,
                    through: Through::Direct,
                },
                Drive::BothToEarth,
            ),
            200e-6,
        ),
        model(
            "surge 2 ohm, flat clamp",
            single(flat_clamp(), 1e-9),
            surge(200.0, bare),
            200e-6,
        ),
    ]
}

fn model(name: &'static str, port: Port, network: Network, end_s: f64) -> Model {
    Model {
        name,
        port,
        network,
        end_s,
    }
}

/// Assembles a model.
pub fn assemble(model: &Model) -> (Assembly, Equations) {
    let assembly = model.port.assemble(&model.network).unwrap();
    let equations = Equations::new(assembly.circuit.clone()).unwrap();
    (assembly, equations)
}

/// Runs a model.
pub fn simulate(model: &Model, options: &Options) -> (Assembly, Equations, Outcome) {
    let (assembly, equations) = assemble(model);
    let outcome = attempt(model, &assembly, &equations, options)
        .unwrap_or_else(|error| panic!("{}: {error}", model.name));
    (assembly, equations, outcome)
}

/// Runs an assembled model that may be refused.
pub fn attempt(
    model: &Model,
    assembly: &Assembly,
    equations: &Equations,
    options: &Options,
) -> Result<Outcome, TransientError> {
    let breakpoints = model.network.breakpoints_s();
    let problem = Problem {
        equations,
        probes: &assembly.probes,
        levels: &[],
        breakpoints_s: &breakpoints,
        duration_s: model.end_s,
        finest_s: model.network.finest_s,
    };
    run(&problem, options, &mut Workspace::new(equations))
}
