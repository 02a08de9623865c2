//! What must not change a result does not change it, on random ladders.

mod ports;

use ports::{ACCURACY, Wired, cases, scale};
use tidewall_devices::law::Avalanche;
use tidewall_devices::{Law, Protector};
use tidewall_ladder::{Across, Conductor, Inductance, Pin, Port, Series, SeriesKind, Shunt, Stage, Supply};
use tidewall_soak::{Case, Dice};
use tidewall_transient::Options;

fn plain(name: &str, resistance_ohm: f64) -> Stage {
    Stage::Series(Box::new(Series {
        name: name.into(),
        conductor: Conductor::First,
        kind: SeriesKind::Plain {
            resistance_ohm,
            inductance: Inductance::linear(0.0),
        },
    }))
}

/// A symmetrical avalanche diode without a lead.
fn clamp(name: &str, breakdown_v: f64, ohm: f64, farads: f64) -> Stage {
    Stage::Shunt(Box::new(Shunt {
        name: name.into(),
        across: Across::ToReturn(Conductor::First),
        protector: Protector {
            law: Law::Avalanche(Avalanche {
                vbr25_v: breakdown_v,
                alpha_per_k: 0.0,
                r_ohm: ohm,
                knee_v: 0.05,
                bidirectional: true,
                forward_v: breakdown_v,
                forward_ohm: ohm,
                c0_f: farads,
                built_in_v: 0.7,
                grading: 0.0,
            }),
            series_ohm: 1e-3,
            package_h: 0.0,
            thermal: Default::default(),
        },
        lead_h: 0.0,
        reversed: false,
    }))
}

/// True where every part is the same in both directions.
fn is_symmetrical(port: &Port) -> bool {
    let symmetrical = |law: &Law| match law {
        Law::Avalanche(law) => law.bidirectional,
        Law::FlatClamp(law) => law.bidirectional,
        Law::Crowbar(law) => law.bidirectional,
        Law::Varistor(_) | Law::GasTube(_) | Law::Limiter(_) => true,
        Law::Table(_) | Law::Diode(_) | Law::Pin(_) => false,
    };
    let stages = port.stages.iter().all(|stage| match stage {
        Stage::Shunt(shunt) => symmetrical(&shunt.protector.law),
        Stage::Series(series) => match &series.kind {
            SeriesKind::Device { protector, .. } => symmetrical(&protector.law),
            _ => true,
        },
        Stage::Capacitor(_) => true,
        Stage::Steering(_) => false,
    });
    stages && port.pin.conduction.is_none()
}

#[test]
fn mirrored_polarity_gives_mirrored_results_for_symmetrical_parts() {
    for up in cases(0, 250, |case| is_symmetrical(&case.port)) {
        let mut port = up.case.port.clone();
        port.supply = port.supply.map(|supply| Supply {
            volts: -supply.volts,
            ..supply
        });
        let down = Wired::new(Case {
            port,
            network: up.case.network.scaled(-1.0),
            ..up.case.clone()
        });
        let (a, b) = (up.run(), down.run());
        assert_eq!(a.counters, b.counters, "case {}", up.case.number);
        for (a, b) in a.probes.iter().zip(&b.probes) {
            up.close(a.volts.max, -b.volts.min, 1e-9, 0.0, "highest voltage");
            up.close(a.volts.min, -b.volts.max, 1e-9, 0.0, "lowest voltage");
        }
        for (a, b) in a.elements.iter().zip(&b.elements) {
            up.close(a.amps.max, -b.amps.min, 1e-9, 0.0, "highest current");
            up.close(a.energy_j, b.energy_j, 1e-9, 0.0, "energy");
        }
    }
}

#[test]
fn impedances_times_a_factor_leave_the_voltages_and_divide_currents_and_energies() {
    let factor = 4.0;
    let options = Options {
        amps: Options::default().amps / factor,
        ..Options::default()
    };
    let mut compared = 0;
    for a in cases(1_000, 400, |_| true) {
        let mut b = Wired::new(a.case.clone());
        if !scale(&mut b.circuit, factor) {
            continue;
        }
        compared += 1;
        let (before, after) = (a.run(), b.run_with(&options));
        a.same_ends(&a.ends_of(&before), &b.ends_of(&after), ACCURACY);
        // Small energies beside the largest are those of picofarads.
        let top = before
            .elements
            .iter()
            .map(|element| element.energy_j)
            .fold(1e-9, f64::max);
        for (before, after) in before.elements.iter().zip(&after.elements) {
            if before.energy_j > 0.05 * top {
                a.close(
                    before.energy_j,
                    factor * after.energy_j,
                    2.0 * ACCURACY,
                    0.0,
                    "energy",
                );
            }
        }
    }
    assert!(compared > 200, "only {compared} ladders could be scaled");
}

#[test]
fn a_resistor_in_two_pieces_is_the_same_resistor() {
    let of = |stage: &Stage| match stage {
        Stage::Series(series) => match series.kind {
            SeriesKind::Plain {
                resistance_ohm,
                inductance,
            } if inductance.henries == 0.0 && resistance_ohm < 100.0 => Some(resistance_ohm),
            _ => None,
        },
        _ => None,
    };
    let place = |port: &Port| port.stages.iter().position(|stage| of(stage).is_some());
    for whole in cases(2_000, 120, |case| place(&case.port).is_some()) {
        let mut port = whole.case.port.clone();
        let at = place(&port).unwrap();
        let Stage::Series(resistor) = &whole.case.port.stages[at] else {
            unreachable!("it is a resistor")
        };
        let ohm = of(&port.stages[at]).unwrap();
        let piece = |share: f64| {
            Stage::Series(Box::new(Series {
                kind: SeriesKind::Plain {
                    resistance_ohm: share * ohm,
                    inductance: Inductance::linear(0.0),
                },
                ..Series::clone(resistor)
            }))
        };
        let pieces = [piece(0.3), piece(0.7)];
        port.stages.splice(at..=at, pieces);
        let mut halves = whole.with_port(port);
        // The pad between the pieces is no part of the comparison.
        let pad = &mut halves.circuit.nodes;
        let between = pad
            .iter()
            .position(|node| node.name == format!("after {}", resistor.name));
        pad[between.unwrap()].capacitance_f = 1e-16;
        whole.same_ends(
            &whole.ends_of(&whole.run()),
            &halves.ends_of(&halves.run()),
            2.0 * ACCURACY,
        );
    }
}

#[test]
fn an_element_that_does_nothing_changes_nothing() {
    for alone in cases(3_000, 250, |_| true) {
        let mut port = alone.case.port.clone();
        // A clamp for a megavolt with a tenth of a femtofarad.
        port.stages.push(clamp("idle", 1e6, 1.0, 1e-16));
        let beside = alone.with_port(port);
        alone.same_ends(
            &alone.ends_of(&alone.run()),
            &beside.ends_of(&beside.run()),
            2.0 * ACCURACY,
        );
    }
}

#[test]
fn a_finer_tolerance_moves_no_voltage_by_more_than_the_claimed_error() {
    let fine = Options {
        max_steps: 4_000_000,
        ..Options::with_relative(0.1 * Options::default().relative)
    };
    let mut off: Vec<(f64, u64)> = Vec::new();
    for case in cases(4_000, 400, |_| true) {
        let (a, b) = (case.ends_of(&case.run()), case.ends_of(&case.run_with(&fine)));
        let least = 10.0 * Options::default().volts;
        let share = |(a, b): (&f64, &f64)| ((a - b).abs() - least).max(0.0) / a.max(*b);
        off.push((a.iter().zip(&b).map(share).fold(0.0, f64::max), case.case.number));
    }
    off.sort_by(|a, b| b.0.total_cmp(&a.0));
    let beyond = off.iter().filter(|(off, _)| *off > ACCURACY).count();
    assert!(
        beyond <= off.len() / 100 && off[0].0 <= 3.0 * ACCURACY,
        "{beyond} of {}: {:?}",
        off.len(),
        &off[..10]
    );
}

#[test]
fn a_lower_clamp_never_lets_more_through_a_resistive_ladder() {
    let mut dice = Dice::new(9_000_000);
    let mut conducted = 0;
    for case in cases(5_000, 200, |case| {
        case.port.conductors == 1 && case.port.supply.is_none()
    }) {
        let breakdown_v = dice.log(5.0, 200.0);
        let (before, behind, lower) = (dice.log(0.1, 100.0), dice.log(0.1, 100.0), dice.lin(0.7, 0.97));
        let with = |share: f64| {
            let mut port = case.case.port.clone();
            port.pin = Pin {
                capacitance_f: 10e-12,
                ..Pin::default()
            };
            port.stages = vec![
                plain("before", before),
                clamp("D1", share * breakdown_v, 0.2 * share, 100e-12),
                plain("behind", behind),
            ];
            let wired = case.with_port(port);
            // The connector first, then the pin.
            wired.ends_of(&wired.run())[1]
        };
        let (low, high) = (with(lower), with(1.0));
        assert!(
            low <= high * (1.0 + ACCURACY) + 2.0 * Options::default().volts,
            "case {} ({}): {low} V through the lower clamp, {high} V through the higher",
            case.case.number,
            case.case.stress
        );
        conducted += usize::from(high > breakdown_v);
    }
    assert!(conducted > 100, "only {conducted} pins were clamped at all");
}
