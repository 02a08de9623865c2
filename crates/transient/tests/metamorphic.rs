//! What must not change the result does not change it.

mod support;

use support::{
    FIRST, Model, SECOND, assemble, avalanche, gas_tube, models, series, series_in, shunt, simulate,
    thyristor, varistor,
};
use tidewall_ladder::{Across, Conductor, Equations, Pin, Port, Probe, Stage};
use tidewall_stress::Network;
use tidewall_stress::generator::Drive;
use tidewall_stress::generator::surge::{SET_D3, SurgeCoupling, Through, combination_wave};
use tidewall_stress::generator::telecom::{TelecomCoupling, wave_10_700};
use tidewall_transient::{Options, Outcome, Workspace};

/// What a run may be off by at the default tolerances.
const ACCURACY: f64 = 1e-3;

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

fn model(port: Port, network: Network, end_s: f64) -> Model {
    Model {
        name: "metamorphic",
        port,
        network,
        end_s,
    }
}

fn close(a: f64, b: f64, scale: f64, share: f64, what: &str) {
    assert!(
        (a - b).abs() <= share * scale.max(a.abs()).max(b.abs()),
        "{what}: {a:e} against {b:e}"
    );
}

/// Largest size among some values.
fn largest(values: impl Iterator<Item = f64>) -> f64 {
    values.map(f64::abs).fold(0.0, f64::max)
}

#[test]
fn the_other_polarity_mirrors_symmetrical_ports() {
    let coupling = TelecomCoupling {
        wire_ohm: 25.0,
        arrester: true,
    };
    let one = Drive::LineToEarth;
    let cases = [
        (
            shunt("D1", FIRST, avalanche(38.0, 0.1, true), 2e-9),
            combination_wave(&SET_D3, 1e3, SurgeCoupling::SignalArrester, one),
        ),
        (
            shunt("D1", FIRST, varistor(), 2e-9),
            combination_wave(&SET_D3, 500.0, SurgeCoupling::Series { resistance_ohm: 0.0 }, one),
        ),
        (
            shunt("D1", FIRST, thyristor(), 2e-9),
            wave_10_700(1500.0, coupling, one),
        ),
        (
            shunt("D1", FIRST, gas_tube(), 2e-9),
            combination_wave(&SET_D3, 4e3, SurgeCoupling::SignalCapacitor, one),
        ),
    ];
    for (stage, network) in cases {
        let stages = || vec![series("track", 0.02, 15e-9), stage.clone()];
        let up = model(port(1, stages()), network.clone(), 200e-6);
        let down = model(port(1, stages()), network.scaled(-1.0), 200e-6);
        let (_, _, up) = simulate(&up, &Options::default());
        let (_, _, down) = simulate(&down, &Options::default());
        assert_eq!(up.counters.events, down.counters.events);
        for (a, b) in up.probes.iter().zip(&down.probes) {
            close(a.volts.max, -b.volts.min, 0.0, 1e-9, "highest voltage");
            close(a.volts.min, -b.volts.max, a.volts.size(), 1e-9, "lowest voltage");
        }
        for (a, b) in up.elements.iter().zip(&down.elements) {
            close(a.amps.max, -b.amps.min, a.amps.size(), 1e-9, "current");
            close(a.energy_j, b.energy_j, 0.0, 1e-9, "energy");
        }
    }
}

#[test]
fn a_resistor_in_two_halves_is_the_same_resistor() {
    let network = || {
        let drive = Drive::LineToEarth;
        combination_wave(
            &SET_D3,
            1e3,
            SurgeCoupling::Series { resistance_ohm: 10.0 },
            drive,
        )
    };
    let clamp = |name: &str, volts: f64| shunt(name, FIRST, avalanche(volts, 0.2, true), 3e-9);
    let whole = vec![clamp("D1", 40.0), series("R", 4.0, 0.0), clamp("D2", 20.0)];
    let halves = vec![
        clamp("D1", 40.0),
        series("Ra", 1.5, 0.0),
        series("Rb", 2.5, 0.0),
        clamp("D2", 20.0),
    ];
    let (a, _, whole) = simulate(&model(port(1, whole), network(), 200e-6), &Options::default());
    let (b, _, halves) = simulate(&model(port(1, halves), network(), 200e-6), &Options::default());
    let of = |out: &Outcome, elements: &[usize]| -> Vec<(f64, f64)> {
        let element = |k: &usize| (out.elements[*k].amps.max, out.elements[*k].energy_j);
        elements.iter().map(element).collect()
    };
    let (whole_elements, half_elements) = (of(&whole, &a.elements), of(&halves, &b.elements));
    for (k, j) in [(0, 0), (1, 1), (1, 2), (2, 3)] {
        close(whole_elements[k].0, half_elements[j].0, 0.0, ACCURACY, "current");
    }
    close(
        whole_elements[1].1,
        half_elements[1].1 + half_elements[2].1,
        0.0,
        ACCURACY,
        "energy of the resistor",
    );
    let pin = |out: &Outcome| out.probes.last().map(|probe| probe.volts.max);
    close(
        pin(&whole).unwrap(),
        pin(&halves).unwrap(),
        0.0,
        ACCURACY,
        "pin voltage",
    );
}

#[test]
fn the_conductors_of_a_pair_may_change_places() {
    let stages = |a: Conductor, b: Conductor, (at_a, at_b): (Across, Across)| {
        vec![
            series_in("track a", a, 0.02, 15e-9),
            series_in("track b", b, 0.02, 15e-9),
            shunt("Da", at_a, avalanche(14.0, 0.25, true), 2e-9),
            shunt("Db", at_b, avalanche(15.5, 0.25, true), 2e-9),
            shunt("Dab", Across::LineToLine, avalanche(1.0, 0.3, true), 2e-9),
        ]
    };
    let coupling = SurgeCoupling::Symmetrical {
        wire_ohm: 80.0,
        through: Through::Direct,
    };
    let network = || combination_wave(&SET_D3, 1e3, coupling, Drive::BothToEarth);
    let (first, second) = (Conductor::First, Conductor::Second);
    let straight = port(2, stages(first, second, (FIRST, SECOND)));
    let crossed = port(2, stages(second, first, (SECOND, FIRST)));
    let (a, _, straight) = simulate(&model(straight, network(), 100e-6), &Options::default());
    let (b, _, crossed) = simulate(&model(crossed, network(), 100e-6), &Options::default());
    let conducts = straight.elements[a.elements[4]].energy_j;
    assert!(
        conducts > 1e-6,
        "the part between the lines takes only {conducts} J"
    );
    for (k, j) in a.elements.iter().zip(&b.elements) {
        let (k, j) = (&straight.elements[*k], &crossed.elements[*j]);
        close(k.amps.size(), j.amps.size(), 0.0, ACCURACY, "current");
        close(k.energy_j, j.energy_j, 0.0, ACCURACY, "energy");
    }
    for (k, j) in [(0, 1), (1, 0)] {
        let (k, j) = (straight.probes[k].volts.max, crossed.probes[j].volts.max);
        close(k, j, 0.0, ACCURACY, "connector voltage");
    }
}

fn outcome(equations: &Equations, probes: &[Probe], model: &Model, work: &mut Workspace) -> Outcome {
    let breakpoints = model.network.breakpoints_s();
    let problem = tidewall_transient::Problem {
        equations,
        probes,
        levels: &[],
        breakpoints_s: &breakpoints,
        duration_s: model.end_s,
        finest_s: model.network.finest_s,
    };
    tidewall_transient::run(&problem, &Options::default(), work).unwrap()
}

#[test]
fn every_run_gives_the_same_digits_whatever_ran_before_or_beside_it() {
    let all = models();
    let alone: Vec<Outcome> = all
        .iter()
        .map(|model| simulate(model, &Options::default()).2)
        .collect();
    // The workspace used twice, and two threads at the same time, in opposite order.
    let twice = |model: &Model| {
        let (assembly, equations) = assemble(model);
        let mut work = Workspace::new(&equations);
        outcome(&equations, &assembly.probes, model, &mut work);
        outcome(&equations, &assembly.probes, model, &mut work)
    };
    let (forth, back) = std::thread::scope(|scope| {
        let forth = scope.spawn(|| all.iter().map(twice).collect::<Vec<_>>());
        let back = scope.spawn(|| all.iter().rev().map(twice).collect::<Vec<_>>());
        (forth.join().unwrap(), back.join().unwrap())
    });
    for (k, alone) in alone.iter().enumerate() {
        assert_eq!(alone, &forth[k], "{}", all[k].name);
        assert_eq!(alone, &back[all.len() - 1 - k], "{}", all[k].name);
    }
}

#[test]
fn a_tolerance_ten_times_finer_changes_no_peak_by_more_than_the_accuracy() {
    let fine = Options::with_relative(0.1 * Options::default().relative);
    for model in models() {
        let (_, equations, a) = simulate(&model, &Options::default());
        let (_, _, b) = simulate(&model, &fine);
        for (a, b) in a.probes.iter().zip(&b.probes) {
            let what = format!("{}: voltage", model.name);
            close(a.volts.size(), b.volts.size(), 0.0, ACCURACY, &what);
        }
        // Small currents beside the largest: those that only charge picofarads.
        let currents = 0.05 * largest(b.elements.iter().map(|element| element.amps.size()));
        let energies = 0.05 * largest(b.elements.iter().map(|element| element.energy_j));
        for (k, (a, b)) in a.elements.iter().zip(&b.elements).enumerate() {
            let what = |what| format!("{}: {what} of {}", model.name, equations.element_name(k));
            close(a.amps.size(), b.amps.size(), currents, ACCURACY, &what("current"));
            close(a.energy_j, b.energy_j, energies, ACCURACY, &what("energy"));
        }
    }
}
