//! The model problems, integrated by a general-purpose library: the same equations, another method.
//!
//! The reference is `diffsol` 0.18 (ESDIRK of order 3 with an embedded order 4 estimate, Newton iterations, singular mass
//! matrix for the algebraic rows) at tight tolerance. Switching is located here on its dense output, by a loop of its
//! own, and the integration starts anew after it.

mod support;

use std::cell::RefCell;

use diffsol::{NalgebraLU, NalgebraMat, OdeBuilder, OdeSolverMethod, OdeSolverStopReason};
use support::{Model, assemble, models, simulate};
use tidewall_devices::law::{MAX_EVENTS, State};
use tidewall_ladder::{Equations, Probe, Reading, StateKind};
use tidewall_transient::{Extremes, Options, PeakTracker};

/// Agreement asked for.
const SHARE: f64 = 1e-3;
/// Relative tolerance of the reference.
const RELATIVE: f64 = 3e-7;
/// A quantity smaller than this share of the largest of its kind in the circuit (the current of a track that only
/// charges picofarads, say) is compared with that share of the largest instead of with itself.
const MINOR: f64 = 0.05;

/// Three-point Gauss quadrature on 0 to 1.
const GAUSS: [(f64, f64); 3] = [
    (0.112_701_665_379_258_31, 5.0 / 18.0),
    (0.5, 8.0 / 18.0),
    (0.887_298_334_620_741_7, 5.0 / 18.0),
];

/// What the reference run yields.
struct Reference {
    probes: Vec<PeakTracker>,
    amps: Vec<PeakTracker>,
    energies_j: Vec<f64>,
    junctions: Vec<PeakTracker>,
    steps: usize,
}

impl Reference {
    fn new(probes: usize, elements: usize) -> Reference {
        Reference {
            probes: vec![PeakTracker::default(); probes],
            amps: vec![PeakTracker::default(); elements],
            energies_j: vec![0.0; elements],
            junctions: vec![PeakTracker::default(); elements],
            steps: 0,
        }
    }

    fn sample(&mut self, probes: &[Probe], t: f64, y: &[f64], readings: &[Reading]) {
        for (log, probe) in self.probes.iter_mut().zip(probes) {
            let volts = |node: Option<usize>| node.map_or(0.0, |node| y[node]);
            log.take(t, volts(probe.plus) - volts(probe.minus));
        }
        for (k, reading) in readings.iter().enumerate() {
            self.amps[k].take(t, reading.amps);
            self.junctions[k].take(t, reading.junction_c);
        }
    }

    fn break_here(&mut self) {
        let all = self.probes.iter_mut().chain(&mut self.amps);
        all.chain(&mut self.junctions).for_each(PeakTracker::break_here);
    }
}

/// Watches that are true at once, one after the other, until none is left.
fn settle(equations: &Equations, y: &mut [f64], states: &mut [State]) {
    let due = |y: &[f64], states: &[State]| {
        (0..states.len()).find_map(|device| {
            let watches = equations.watches(device, y, states[device]);
            let k = watches
                .iter()
                .position(|watch| watch.is_some_and(|w| w.at_once && w.value >= 0.0));
            k.map(|k| (device, k))
        })
    };
    while let Some((device, k)) = due(y, states) {
        equations.switch(device, k, y, &mut states[device]);
    }
}

/// The first watch that has come true at `y`, if any.
fn fired(
    equations: &Equations,
    y: &[f64],
    states: &[State],
    armed: &[[bool; MAX_EVENTS]],
) -> Option<(usize, usize)> {
    (0..states.len()).find_map(|device| {
        let watches = equations.watches(device, y, states[device]);
        (0..MAX_EVENTS)
            .find(|&k| {
                watches[k].is_some_and(|watch| watch.value >= 0.0 && (watch.at_once || armed[device][k]))
            })
            .map(|k| (device, k))
    })
}

/// Integrates from `t` to `stop` or to the next change of state; returns the time reached and the watch that fired.
fn segment(
    equations: &Equations,
    probes: &[Probe],
    (t, stop, first_s): (f64, f64, f64),
    y: &mut Vec<f64>,
    states: &[State],
    out: &mut Reference,
) -> (f64, Option<(usize, usize)>) {
    let n = equations.len();
    let dynamic: Vec<f64> = equations
        .dynamic()
        .iter()
        .map(|&is| f64::from(u8::from(is)))
        .collect();
    let absolute = equations.kinds().iter().map(|kind| {
        let base = match kind {
            StateKind::Voltage | StateKind::Current => 1e-3,
            StateKind::Temperature => 1e-2,
            StateKind::Inner => 1e-4,
        };
        base * RELATIVE / 1e-4
    });
    let cache = RefCell::new((vec![f64::NAN; n], vec![0.0; n * n]));
    let start = y.clone();
    let mut problem = OdeBuilder::<NalgebraMat<f64>>::new()
        .t0(t)
        .h0(first_s)
        .rtol(RELATIVE)
        .atol(absolute.collect::<Vec<_>>())
        .rhs_implicit(
            |x: &[f64], _p: &[f64], t: f64, f: &mut [f64]| equations.rhs(t, x, states, f),
            |x: &[f64], _p: &[f64], _t: f64, v: &[f64], out: &mut [f64]| {
                let mut cache = cache.borrow_mut();
                let (at, matrix) = &mut *cache;
                if at.as_slice() != x {
                    at.copy_from_slice(x);
                    matrix.fill(0.0);
                    equations.jacobian(x, states, |row, column, value| matrix[row * n + column] += value);
                }
                for (row, out) in out.iter_mut().enumerate() {
                    let entries = &matrix[row * n..(row + 1) * n];
                    *out = entries.iter().zip(v).map(|(a, b)| a * b).sum();
                }
            },
        )
        .mass(|v: &[f64], _p: &[f64], _t: f64, beta: f64, out: &mut [f64]| {
            for k in 0..n {
                out[k] = dynamic[k] * v[k] + beta * out[k];
            }
        })
        .init(
            move |_p: &[f64], _t: f64, y: &mut [f64]| y.copy_from_slice(&start),
            n,
        )
        .build()
        .expect("the equations make a problem");
    problem.ode_options.min_timestep = 1e-25;
    problem.ode_options.max_nonlinear_solver_failures = 500;
    problem.ode_options.max_error_test_failures = 500;
    let mut solver = problem
        .esdirk34::<NalgebraLU<f64>>()
        .expect("a consistent start exists");
    let mut readings = vec![Reading::default(); equations.elements()];
    let mut armed = vec![[false; MAX_EVENTS]; states.len()];
    let mut last = t;
    out.break_here();
    solver.set_stop_time(stop).expect("the stop lies ahead");
    loop {
        let reached_stop = matches!(
            solver
                .step()
                .unwrap_or_else(|error| panic!("reference at {last:.6e} s: {error}")),
            OdeSolverStopReason::TstopReached
        );
        let now = solver.state().t;
        let at = |t: f64| -> Vec<f64> {
            let inside = solver.interpolate(t).expect("the time lies in the step");
            inside.batch_as_slice(0).to_vec()
        };
        let end = at(now);
        // Where in the step does a watch come true?
        let mut done = now;
        let mut event = fired(equations, &end, states, &armed);
        if event.is_some() {
            let (mut low, mut high) = (last, now);
            for _ in 0..60 {
                let middle = 0.5 * (low + high);
                match fired(equations, &at(middle), states, &armed) {
                    Some(found) => {
                        event = Some(found);
                        high = middle;
                    }
                    None => low = middle,
                }
            }
            done = high;
        }
        let length = done - last;
        for (place, weight) in GAUSS {
            let inner = last + place * length;
            let state = at(inner);
            equations.readings(inner, &state, states, &mut readings);
            out.sample(probes, inner, &state, &readings);
            for (energy, reading) in out.energies_j.iter_mut().zip(&readings) {
                *energy += weight * length * reading.watts;
            }
        }
        *y = at(done);
        equations.readings(done, y, states, &mut readings);
        out.sample(probes, done, y, &readings);
        out.steps += 1;
        last = done;
        if event.is_some() || reached_stop {
            return (done, event);
        }
        for (device, armed) in armed.iter_mut().enumerate() {
            let watches = equations.watches(device, y, states[device]);
            for (armed, watch) in armed.iter_mut().zip(watches) {
                *armed |= watch.is_some_and(|watch| watch.value < 0.0);
            }
        }
    }
}

fn reference(model: &Model) -> Reference {
    let (assembly, equations) = assemble(model);
    let mut out = Reference::new(assembly.probes.len(), equations.elements());
    let (mut y, mut states) = equations.initial();
    let mut stops = model.network.breakpoints_s();
    stops.retain(|&stop| stop < model.end_s);
    stops.push(model.end_s);
    let first = 1e-3 * model.network.finest_s;
    let mut t = 0.0;
    settle(&equations, &mut y, &mut states);
    for stop in stops {
        let mut step = first;
        while t < stop {
            let span = (t, stop, step);
            let (reached, event) = segment(&equations, &assembly.probes, span, &mut y, &states, &mut out);
            t = reached;
            if let Some((device, watch)) = event {
                equations.switch(device, watch, &mut y, &mut states[device]);
                settle(&equations, &mut y, &mut states);
                step = 1e-3 * first;
            }
        }
    }
    out
}

/// A quantity: name, then extremes of ours and of the reference.
type Pair = (String, [f64; 2], [f64; 2]);

/// Notes each quantity whose extremes do not agree within the share asked for: of its own peak in either direction, or of
/// the minor share of the largest of its kind.
fn compare(model: &str, kind: &str, pairs: &[Pair], wrong: &mut Vec<String>) {
    let size = |pair: &Pair| pair.2[0].abs().max(pair.2[1].abs());
    let largest = pairs.iter().map(size).fold(0.0, f64::max);
    let mut worst = 0.0f64;
    for pair in pairs {
        let scale = size(pair).max(MINOR * largest);
        for (ours, theirs) in pair.1.iter().zip(pair.2) {
            let share = (ours - theirs).abs() / scale;
            worst = worst.max(share);
            if share > SHARE {
                wrong.push(format!(
                    "{model}: {kind} {}: {ours:.6e} against {theirs:.6e} ({share:.2e} of {scale:.3e})",
                    pair.0
                ));
            }
        }
    }
    println!("{model}: {kind} within {worst:.1e}");
}

fn check(which: impl Fn(usize) -> bool) {
    let mut wrong = Vec::new();
    let models = models();
    for (_, model) in models.iter().enumerate().filter(|(k, _)| which(*k)) {
        let theirs = reference(model);
        let (assembly, equations, ours) = simulate(model, &Options::default());
        println!(
            "{}: {} steps against {} of the reference",
            model.name, ours.counters.steps, theirs.steps
        );
        let both = |extremes: Extremes| [extremes.max, extremes.min];
        let ambient_c = model.port.ambient_c;
        let probes = assembly.probes.iter().enumerate();
        let volts = probes.map(|(k, probe)| {
            let (ours, theirs) = (ours.probes[k].volts, theirs.probes[k].extremes());
            (probe.name.clone(), both(ours), both(theirs))
        });
        compare(model.name, "voltage", &volts.collect::<Vec<_>>(), &mut wrong);
        let elements = || (0..equations.elements()).map(|k| (k, equations.element_name(k).to_string()));
        let amps =
            elements().map(|(k, name)| (name, both(ours.elements[k].amps), both(theirs.amps[k].extremes())));
        compare(model.name, "current", &amps.collect::<Vec<_>>(), &mut wrong);
        let energies =
            elements().map(|(k, name)| (name, [ours.elements[k].energy_j; 2], [theirs.energies_j[k]; 2]));
        compare(model.name, "energy", &energies.collect::<Vec<_>>(), &mut wrong);
        let rises = elements().filter_map(|(k, name)| {
            let ours = ours.elements[k].peak_junction_c? - ambient_c;
            let theirs = theirs.junctions[k].extremes().max - ambient_c;
            Some((name, [ours; 2], [theirs; 2]))
        });
        compare(
            model.name,
            "junction rise",
            &rises.collect::<Vec<_>>(),
            &mut wrong,
        );
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn even_model_problems_agree_with_a_general_integrator() {
    check(|k| k % 2 == 0);
}

#[test]
fn odd_model_problems_agree_with_a_general_integrator() {
    check(|k| k % 2 == 1);
}
