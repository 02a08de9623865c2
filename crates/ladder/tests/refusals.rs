//! Circuits that have no solution are refused with the element named.

use tidewall_devices::law::Diode;
use tidewall_devices::{Law, Protector, ThermalLadder};
use tidewall_ladder::{
    Across, Branch, Circuit, Conductor, Device, Equations, Inductance, LadderError, Pin, Port, Series,
    SeriesKind, Shunt, Side, Stage, Supply,
};
use tidewall_stress::Network;
use tidewall_stress::generator::Drive;
use tidewall_stress::generator::surge::{SET_D3, SurgeCoupling, combination_wave};

fn diode() -> Protector {
    Protector {
        law: Law::Diode(Diode {
            forward_v: 0.7,
            forward_ohm: 0.1,
            breakdown_v: 100.0,
            breakdown_ohm: 0.5,
            knee_v: 0.02,
            c_f: 10e-12,
        }),
        series_ohm: 0.0,
        package_h: 0.0,
        thermal: ThermalLadder::default(),
    }
}

fn port(conductors: usize, stages: Vec<Stage>) -> Port {
    Port {
        conductors,
        stages,
        pin: Pin {
            capacitance_f: 100e-12,
            ..Pin::default()
        },
        supply: None,
        ambient_c: 25.0,
        track_ohm: 75.0,
        loss_tangent: 0.02,
    }
}

fn series(name: &str, conductor: Conductor, resistance_ohm: f64, henries: f64) -> Stage {
    Stage::Series(Box::new(Series {
        name: name.into(),
        conductor,
        kind: SeriesKind::Plain {
            resistance_ohm,
            inductance: Inductance::linear(henries),
        },
    }))
}

fn shunt(name: &str, across: Across, lead_h: f64) -> Stage {
    Stage::Shunt(Box::new(Shunt {
        name: name.into(),
        across,
        protector: diode(),
        lead_h,
        reversed: false,
    }))
}

fn surge(drive: Drive) -> Network {
    let coupling = SurgeCoupling::Series { resistance_ohm: 10.0 };
    combination_wave(&SET_D3, 1000.0, coupling, drive)
}

/// Why a port under a surge is refused.
fn refusal(port: &Port, drive: Drive) -> LadderError {
    port.assemble(&surge(drive))
        .and_then(|assembly| Equations::new(assembly.circuit))
        .expect_err("refused")
}

#[test]
fn a_branch_of_zero_ohms_and_zero_henries_is_refused_by_name() {
    let series_case = port(1, vec![series("link", Conductor::First, 0.0, 0.0)]);
    assert_eq!(
        refusal(&series_case, Drive::LineToEarth),
        LadderError::ZeroBranch("link".into())
    );
    let first = Across::ToReturn(Conductor::First);
    let shunt_case = port(1, vec![shunt("D1", first, 0.0)]);
    assert_eq!(
        refusal(&shunt_case, Drive::LineToEarth),
        LadderError::ZeroBranch("D1".into())
    );
    let mut stiff = port(1, vec![shunt("D1", first, 1e-9)]);
    stiff.supply = Some(Supply {
        volts: 5.0,
        source_ohm: 0.0,
        cable_h: 0.0,
        on_both: false,
    });
    let bare = Network {
        decoupling_h: 0.0,
        ..surge(Drive::LineToEarth)
    };
    let error = stiff
        .assemble(&bare)
        .and_then(|assembly| Equations::new(assembly.circuit));
    assert_eq!(error.err(), Some(LadderError::ZeroBranch("port supply".into())));
}

#[test]
fn a_second_conductor_that_the_port_does_not_have_is_refused_by_name() {
    let name = || LadderError::NoSecondConductor("X".into());
    let second = Across::ToReturn(Conductor::Second);
    for stage in [
        series("X", Conductor::Second, 1.0, 1e-9),
        shunt("X", second, 1e-9),
        shunt("X", Across::LineToLine, 1e-9),
    ] {
        assert_eq!(refusal(&port(1, vec![stage.clone()]), Drive::LineToEarth), name());
        let pair = port(2, vec![stage]);
        assert!(pair.assemble(&surge(Drive::BothToEarth)).is_ok());
    }
}

#[test]
fn a_stress_on_a_conductor_that_the_port_does_not_have_is_refused() {
    let single = port(1, vec![series("R1", Conductor::First, 1.0, 1e-9)]);
    for drive in [Drive::BothToEarth, Drive::LineToLine] {
        assert_eq!(refusal(&single, drive), LadderError::NoConductor(2, 1));
    }
}

#[test]
fn values_that_are_negative_infinite_or_not_numbers_are_refused_with_their_quantity() {
    let bad = [-1.0, f64::NAN, f64::INFINITY];
    for value in bad {
        let stage = series("R1", Conductor::First, value, 1e-9);
        let LadderError::Value {
            element, quantity, ..
        } = refusal(&port(1, vec![stage]), Drive::LineToEarth)
        else {
            panic!("{value} ohms accepted");
        };
        assert_eq!((element.as_str(), quantity), ("R1", "resistance in Ω"));
        let stage = series("L1", Conductor::First, 1.0, value);
        let error = refusal(&port(1, vec![stage]), Drive::LineToEarth);
        assert!(
            matches!(error, LadderError::Value { .. }),
            "{value} henries accepted"
        );
        let stage = shunt("D1", Across::ToReturn(Conductor::First), value);
        let error = refusal(&port(1, vec![stage]), Drive::LineToEarth);
        assert!(
            matches!(error, LadderError::Value { .. }),
            "a lead of {value} accepted"
        );
    }
}

#[test]
fn a_node_without_capacitance_between_inductances_is_refused() {
    let mut circuit = Circuit::default();
    let (middle, end) = (
        circuit.node("middle", 0.0, 0.0, Side::Port),
        circuit.node("end", 1e-12, 0.0, Side::Port),
    );
    let coil = |from, to| Branch {
        name: "coil".into(),
        from,
        to,
        resistance_ohm: 0.1,
        inductance: Inductance::linear(1e-6),
        capacitor: None,
        initial_a: 0.0,
        emf: None,
        side: Side::Port,
    };
    circuit.branches.push(coil(None, Some(middle)));
    circuit.branches.push(coil(Some(middle), Some(end)));
    assert_eq!(
        circuit.validate(),
        Err(LadderError::FloatingNode("middle".into()))
    );
    // A lead inductance does not hold it either, a resistor does.
    circuit.devices.push(Device {
        name: "D1".into(),
        from: Some(middle),
        to: None,
        law: diode().law,
        thermal: ThermalLadder::default(),
        ambient_c: 25.0,
        series_ohm: 0.1,
        lead_h: 1e-9,
        loss_s: 0.0,
        initial_v: 0.0,
        side: Side::Port,
    });
    assert!(circuit.validate().is_err());
    circuit.branches.push(Branch {
        inductance: Inductance::linear(0.0),
        ..coil(Some(middle), None)
    });
    assert_eq!(circuit.validate(), Ok(()));
}
