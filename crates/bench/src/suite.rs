//! The circuits of the benchmark: ports and generators of the trade, one transient each.
//!
//! Parts are plain numbers, so that a change of how models are made from datasheets does not change the benchmark.
//! They are invented; their sizes are usual ones of the class named beside them. Board and thermal ladder are what a
//! study gets where it says nothing: tracks of 75 Ω on laminate of loss tangent 0.02, one thermal pole per decade.

use tidewall_devices::law::{Avalanche, GasTube, PinClamp};
use tidewall_devices::thermal::Foster;
use tidewall_devices::{Law, Protector, ThermalLadder};
use tidewall_ladder::port::Assembly;
use tidewall_ladder::{
    Across, Capacitor, Conductor, Equations, Inductance, LadderError, Pin, Port, Series, SeriesKind, Shunt,
    Stage, Supply,
};
use tidewall_stress::Network;
use tidewall_stress::fit::FitError;
use tidewall_stress::generator::Drive;
use tidewall_stress::generator::automotive::load_dump;
use tidewall_stress::generator::esd::{C150_R330, discharge};
use tidewall_stress::generator::surge::{SET_D3, SET_D18, SurgeCoupling, Through, combination_wave};
use tidewall_stress::generator::telecom::{TelecomCoupling, wave_10_700};
use tidewall_transient::Problem;

/// A port under one stress, and what is watched in it.
#[derive(Clone, Debug)]
pub struct Circuit {
    /// Short name, the same in every file.
    pub key: &'static str,
    /// What it is.
    pub title: &'static str,
    /// The port.
    pub port: Port,
    /// The generator.
    pub network: Network,
    /// Probes whose largest voltage counts.
    pub pins: Vec<&'static str>,
    /// Elements whose largest current and whose energy count.
    pub shunts: Vec<&'static str>,
}

/// A circuit with its equations.
#[derive(Clone, Debug)]
pub struct Assembled {
    /// Circuit and places to look at.
    pub assembly: Assembly,
    /// The equations.
    pub equations: Equations,
    /// Corners of the sources in seconds.
    pub breakpoints_s: Vec<f64>,
    /// End of the run in seconds.
    pub duration_s: f64,
    /// Shortest time scale of the generator in seconds.
    pub finest_s: f64,
}

impl Circuit {
    /// Joins port and generator.
    ///
    /// # Errors
    /// [`LadderError`] for a circuit that has no solution; none of the suite is one.
    pub fn assemble(&self) -> Result<Assembled, LadderError> {
        let assembly = self.port.assemble(&self.network)?;
        let equations = Equations::new(assembly.circuit.clone())?;
        Ok(Assembled {
            assembly,
            equations,
            breakpoints_s: self.network.breakpoints_s(),
            duration_s: self.network.duration_s,
            finest_s: self.network.finest_s,
        })
    }
}

impl Assembled {
    /// What the integrator is given.
    pub fn problem(&self) -> Problem<'_> {
        Problem {
            equations: &self.equations,
            probes: &self.assembly.probes,
            levels: &[],
            breakpoints_s: &self.breakpoints_s,
            duration_s: self.duration_s,
            finest_s: self.finest_s,
        }
    }
}

/// Every circuit of the suite.
///
/// # Errors
/// [`FitError`] if the load dump's shape cannot be made, which would be a defect of the waveform fit.
pub fn suite() -> Result<Vec<Circuit>, FitError> {
    let one = Drive::LineToEarth;
    let supply = Supply {
        volts: 24.0,
        source_ohm: 2.0,
        cable_h: 1e-6,
        on_both: false,
    };
    let inlet = inlet_of(avalanche(38.0, 0.05, false, 3000.0));
    let mut powered = inlet.clone();
    powered.supply = Some(supply);
    let surge = |level, coupling| combination_wave(&SET_D3, level, coupling, one);
    let bare = SurgeCoupling::Series { resistance_ohm: 0.0 };
    let line_earth = combination_wave(&SET_D18, 1000.0, SurgeCoupling::PowerLineEarth, one);
    let telecom = TelecomCoupling {
        wire_ohm: 25.0,
        arrester: false,
    };
    let direct = |wire_ohm| SurgeCoupling::Symmetrical {
        wire_ohm,
        through: Through::Direct,
    };
    let clamped = |network, key, title, port| circuit(key, title, port, network, &["pin"], &["D1"]);
    let pins = ["pin 1", "pin 2", "pin 1 to pin 2"];
    Ok(vec![
        clamped(
            surge(500.0, bare),
            "surge-2",
            "combination wave 500 V, 2 Ω, avalanche stage and rail capacitor",
            inlet,
        ),
        clamped(
            line_earth,
            "surge-12",
            "combination wave 1 kV, 12 Ω through 9 µF, powered inlet",
            powered,
        ),
        clamped(
            surge(1000.0, SurgeCoupling::SignalCapacitor),
            "surge-42",
            "combination wave 1 kV, 42 Ω through 0.5 µF, avalanche stage",
            single(avalanche(26.7, 0.3, true, 600.0), 100e-12),
        ),
        clamped(
            wave_10_700(1500.0, telecom, one),
            "10-700",
            "10/700 at 1.5 kV, avalanche stage",
            single(avalanche(58.0, 0.3, true, 1500.0), 100e-12),
        ),
        circuit(
            "esd",
            "contact discharge 8 kV, avalanche stage, 4.7 Ω, conducting pin",
            signal_port(),
            discharge(&C150_R330, 8000.0, 0),
            &["pin", "after track in"],
            &["D1", "pin"],
        ),
        clamped(
            load_dump(101.0, 14.0, 10e-3, 400e-3, 2.0, None, one)?,
            "load-dump",
            "load dump 101 V on 14 V, 2 Ω, avalanche stage and rail capacitor",
            inlet_of(avalanche(27.0, 0.02, false, 6600.0)),
        ),
        circuit(
            "two-stage",
            "10/700 at 4 kV, gas tube, 10 Ω, avalanche stage",
            two_stage(),
            wave_10_700(4000.0, telecom, one),
            &["pin"],
            &["G1", "D1"],
        ),
        circuit(
            "pair-line-line",
            "combination wave 500 V line to line, 82 Ω, three avalanche diodes",
            pair(),
            combination_wave(&SET_D3, 500.0, direct(80.0), Drive::LineToLine),
            &pins,
            // The other two charge and never conduct.
            &["D3"],
        ),
        circuit(
            "pair-line-earth",
            "combination wave 1 kV both lines to earth, 80 Ω each, three avalanche diodes",
            pair(),
            combination_wave(&SET_D3, 1000.0, direct(80.0), Drive::BothToEarth),
            &pins,
            &["D1", "D2"],
        ),
    ])
}

/// One avalanche stage behind a track, with `sections` track sections of 1 nH between it and the pin: the same port
/// at any length of the ladder, under the combination wave through 42 Ω.
pub fn ladder_of(sections: usize) -> Circuit {
    let mut stages = vec![
        series("track in", Conductor::First, 0.02, 15e-9),
        shunt("D1", FIRST, avalanche(26.7, 0.3, true, 600.0), 2e-9),
    ];
    let track = |k| series(&format!("section {k}"), Conductor::First, 1e-3, 1e-9);
    stages.extend((1..=sections).map(track));
    circuit(
        "ladder",
        "combination wave 1 kV, 42 Ω, avalanche stage, track in sections",
        port(1, stages, 100e-12),
        combination_wave(
            &SET_D3,
            1000.0,
            SurgeCoupling::SignalCapacitor,
            Drive::LineToEarth,
        ),
        &["pin"],
        &["D1"],
    )
}

fn circuit(
    key: &'static str,
    title: &'static str,
    port: Port,
    network: Network,
    pins: &[&'static str],
    shunts: &[&'static str],
) -> Circuit {
    Circuit {
        key,
        title,
        port,
        network,
        pins: pins.to_vec(),
        shunts: shunts.to_vec(),
    }
}

const FIRST: Across = Across::ToReturn(Conductor::First);
const SECOND: Across = Across::ToReturn(Conductor::Second);

/// Heating of an avalanche diode of a pulse power in watts on 10/1000 µs: it reaches 150 K in a rectangle of 1 ms, as √t.
fn heating(pulse_w: f64) -> ThermalLadder {
    let k = 150.0 / pulse_w / 1e-3f64.sqrt();
    Foster::square_root_law(k, Some(45_000.0 / pulse_w)).to_ladder()
}

/// An avalanche diode of a breakdown voltage, a slope resistance and a pulse power in watts on 10/1000 µs.
fn avalanche(vbr25_v: f64, r_ohm: f64, bidirectional: bool, pulse_w: f64) -> Protector {
    let law = Avalanche {
        vbr25_v,
        alpha_per_k: 9.8e-4,
        r_ohm,
        knee_v: 0.02,
        bidirectional,
        forward_v: 0.8,
        forward_ohm: 0.02,
        // Capacitance goes with die area, and that with pulse power over voltage.
        c0_f: 2e-9 * (pulse_w / 3000.0) * (38.0 / vbr25_v),
        built_in_v: 0.7,
        grading: 0.45,
    };
    Protector {
        law: Law::Avalanche(law),
        series_ohm: 0.0,
        package_h: 0.0,
        thermal: heating(pulse_w),
    }
}

/// A gas tube of 230 V, 700 V at 1 kV/µs.
fn gas_tube() -> Protector {
    let law = GasTube {
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
    };
    Protector {
        law: Law::GasTube(law),
        series_ohm: 0.0,
        package_h: 0.0,
        thermal: ThermalLadder::default(),
    }
}

fn series(name: &str, conductor: Conductor, resistance_ohm: f64, inductance_h: f64) -> Stage {
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

fn shunt(name: &str, across: Across, protector: Protector, lead_h: f64) -> Stage {
    Stage::Shunt(Box::new(Shunt {
        name: name.into(),
        across,
        protector,
        lead_h,
        reversed: false,
    }))
}

fn port(conductors: usize, stages: Vec<Stage>, pin_f: f64) -> Port {
    Port {
        conductors,
        stages,
        pin: Pin {
            capacitance_f: pin_f,
            esr_ohm: 0.0,
            conduction: None,
        },
        supply: None,
        ambient_c: 25.0,
        track_ohm: 75.0,
        loss_tangent: 0.02,
    }
}

fn single(protector: Protector, pin_f: f64) -> Port {
    let stages = vec![
        series("track in", Conductor::First, 0.02, 15e-9),
        shunt("D1", FIRST, protector, 2e-9),
        series("track out", Conductor::First, 0.01, 10e-9),
    ];
    port(1, stages, pin_f)
}

/// A supply inlet: a stage with a capacitor behind it.
fn inlet_of(protector: Protector) -> Port {
    let mut inlet = single(protector, 1e-9);
    inlet.stages.push(Stage::Capacitor(Capacitor {
        name: "C1".into(),
        across: FIRST,
        capacitance_f: 1e-6,
        esr_ohm: 10e-3,
        lead_h: 1e-9,
    }));
    inlet
}

/// A signal line whose pin conducts beyond its supply.
fn signal_port() -> Port {
    let mut signal = single(avalanche(6.5, 0.15, true, 200.0), 3e-12);
    signal.stages.insert(2, series("Rs", Conductor::First, 4.7, 0.0));
    signal.pin.conduction = Some(PinClamp {
        positive_v: 4.1,
        positive_ohm: 1.0,
        negative_v: 0.7,
        negative_ohm: 1.0,
        knee_v: 0.02,
        c_f: 2e-12,
    });
    signal
}

fn two_stage() -> Port {
    let stages = vec![
        series("track in", Conductor::First, 0.02, 15e-9),
        shunt("G1", FIRST, gas_tube(), 10e-9),
        series("R1", Conductor::First, 10.0, 50e-9),
        shunt("D1", FIRST, avalanche(20.0, 0.2, true, 600.0), 3e-9),
        series("track out", Conductor::First, 0.01, 10e-9),
    ];
    port(1, stages, 100e-12)
}

fn pair() -> Port {
    let stages = vec![
        series("track 1", Conductor::First, 0.02, 15e-9),
        series("track 2", Conductor::Second, 0.02, 15e-9),
        shunt("D1", FIRST, avalanche(14.0, 0.25, true, 600.0), 2e-9),
        shunt("D2", SECOND, avalanche(15.5, 0.25, true, 600.0), 2e-9),
        shunt("D3", Across::LineToLine, avalanche(13.0, 0.3, true, 600.0), 2e-9),
        series("R1", Conductor::First, 10.0, 5e-9),
        series("R2", Conductor::Second, 10.0, 5e-9),
    ];
    port(2, stages, 50e-12)
}
