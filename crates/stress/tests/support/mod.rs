//! A small simulator of generator networks for calibration, independent of the product's integrator:
//! classical fourth-order Runge–Kutta with a fixed small step on coil currents and capacitor voltages, and a
//! nodal solution for the voltages at every stage. Coupling arresters count as struck, without arc voltage.

#![allow(dead_code)] // each test binary uses its own share of it

pub mod requests;

use tidewall_stress::measure::{Measures, measure_samples};
use tidewall_stress::{Network, Node};

/// An ideal unidirectional clamp from line 0 to earth.
#[derive(Clone, Copy)]
pub struct Clamp {
    pub clamping_v: f64,
    pub forward_v: f64,
    pub ohm: f64,
}

/// What hangs on the network.
#[derive(Clone, Default)]
pub struct Load {
    /// Resistors between conductors.
    pub resistors: Vec<(Node, Node, f64)>,
    pub clamp: Option<Clamp>,
    /// Decoupling inductance from each listed line to earth.
    pub decoupled_lines: Vec<usize>,
}

pub const OPEN_OHM: f64 = 1e6;
pub const SHORT_OHM: f64 = 1e-4;

impl Load {
    /// One line into `ohm` against earth.
    pub fn one_line(ohm: f64) -> Load {
        Load {
            resistors: vec![(Node::Line(0), Node::Earth, ohm)],
            ..Load::default()
        }
    }

    /// Each of two lines into its own resistance against earth.
    pub fn two_lines(first_ohm: f64, second_ohm: f64) -> Load {
        Load {
            resistors: vec![
                (Node::Line(0), Node::Earth, first_ohm),
                (Node::Line(1), Node::Earth, second_ohm),
            ],
            ..Load::default()
        }
    }

    /// With the network's decoupling inductance from line 0 to earth.
    pub fn decoupled(mut self) -> Load {
        self.decoupled_lines = vec![0];
        self
    }

    /// With a clamp instead of a resistor on line 0.
    pub fn clamp(clamp: Clamp) -> Load {
        Load {
            clamp: Some(clamp),
            ..Load::default()
        }
    }
}

/// Voltage of line 0 against earth, and current out of the network into the load at line 0.
pub struct Run {
    pub voltage: Vec<(f64, f64)>,
    pub current: Vec<(f64, f64)>,
}

impl Run {
    pub fn voltage(&self) -> Measures {
        measure_samples(&self.voltage).expect("a voltage that can be measured")
    }

    pub fn current(&self) -> Measures {
        measure_samples(&self.current).expect("a current that can be measured")
    }
}

struct Circuit<'a> {
    network: &'a Network,
    load: &'a Load,
    lines: usize,
    /// Place of each branch's coil current and capacitor voltage in the state.
    coil: Vec<Option<usize>>,
    charge: Vec<Option<usize>>,
    shunt_from: usize,
    decoupling_from: usize,
    states: usize,
}

impl<'a> Circuit<'a> {
    fn new(network: &'a Network, load: &'a Load) -> (Self, Vec<f64>) {
        let mut state = Vec::new();
        let (mut coil, mut charge) = (Vec::new(), Vec::new());
        for branch in &network.branches {
            coil.push((branch.inductance_h > 0.0).then(|| {
                state.push(branch.initial_a);
                state.len() - 1
            }));
            charge.push(branch.capacitor.map(|capacitor| {
                state.push(capacitor.initial_v);
                state.len() - 1
            }));
        }
        let shunt_from = state.len();
        state.extend(network.capacitors.iter().map(|capacitor| capacitor.initial_v));
        let decoupling_from = state.len();
        state.extend(load.decoupled_lines.iter().map(|_| 0.0));
        let ends = network
            .branches
            .iter()
            .flat_map(|branch| [branch.from, branch.to]);
        let loads = load
            .resistors
            .iter()
            .flat_map(|resistor| [resistor.0, resistor.1]);
        let lines = ends
            .chain(loads)
            .map(|node| if let Node::Line(line) = node { line + 1 } else { 0 })
            .max()
            .unwrap_or(0);
        let states = state.len();
        (
            Circuit {
                network,
                load,
                lines,
                coil,
                charge,
                shunt_from,
                decoupling_from,
                states,
            },
            state,
        )
    }

    fn index(&self, node: Node) -> Option<usize> {
        match node {
            Node::Earth => None,
            Node::Inner(inner) => Some(inner),
            Node::Line(line) => Some(self.network.inner_nodes + line),
        }
    }

    /// Node voltages for a state at time `t`.
    fn voltages(&self, t: f64, state: &[f64]) -> Vec<f64> {
        let Some(clamp) = self.load.clamp else {
            return self.solve(t, state, None);
        };
        // Exactly one of the clamp's three pieces agrees with its own solution.
        let line = self.index(Node::Line(0)).expect("a line");
        for piece in [
            (0.0, 1e9),
            (clamp.clamping_v, clamp.ohm),
            (-clamp.forward_v, clamp.ohm),
        ] {
            let voltages = self.solve(t, state, Some(piece));
            let v = voltages[line];
            let agrees = if piece.1 > 1.0 {
                v <= clamp.clamping_v && v >= -clamp.forward_v
            } else if piece.0 > 0.0 {
                v >= piece.0
            } else {
                v <= piece.0
            };
            if agrees {
                return voltages;
            }
        }
        panic!("the clamp has no consistent piece");
    }

    /// Nodal solution; the clamp is a source `piece.0` behind `piece.1` ohms.
    fn solve(&self, t: f64, state: &[f64], piece: Option<(f64, f64)>) -> Vec<f64> {
        let n = self.network.inner_nodes + self.lines;
        let mut a = vec![vec![0.0; n + 1]; n];
        let conduct = |a: &mut Vec<Vec<f64>>, from: Option<usize>, to: Option<usize>, g: f64, i: f64| {
            // Current i + g (v_from − v_to) flows from → to.
            if let Some(k) = from {
                a[k][k] += g;
                a[k][n] -= i;
            }
            if let Some(k) = to {
                a[k][k] += g;
                a[k][n] += i;
            }
            if let (Some(k), Some(m)) = (from, to) {
                a[k][m] -= g;
                a[m][k] -= g;
            }
        };
        for (number, branch) in self.network.branches.iter().enumerate() {
            let (from, to) = (self.index(branch.from), self.index(branch.to));
            match self.coil[number] {
                Some(coil) => conduct(&mut a, from, to, 0.0, state[coil]),
                None => {
                    let drive = self.drive(number, t, state);
                    conduct(
                        &mut a,
                        from,
                        to,
                        1.0 / branch.resistance_ohm,
                        drive / branch.resistance_ohm,
                    );
                }
            }
        }
        for (from, to, ohm) in &self.load.resistors {
            conduct(&mut a, self.index(*from), self.index(*to), 1.0 / ohm, 0.0);
        }
        if let Some((volts, ohm)) = piece {
            conduct(&mut a, self.index(Node::Line(0)), None, 1.0 / ohm, -volts / ohm);
        }
        for (k, line) in self.load.decoupled_lines.iter().enumerate() {
            conduct(
                &mut a,
                self.index(Node::Line(*line)),
                None,
                0.0,
                state[self.decoupling_from + k],
            );
        }
        for (k, capacitor) in self.network.capacitors.iter().enumerate() {
            a[capacitor.node] = vec![0.0; n + 1];
            a[capacitor.node][capacitor.node] = 1.0;
            a[capacitor.node][n] = state[self.shunt_from + k];
        }
        eliminate(a)
    }

    /// Source voltage less capacitor voltage of a branch.
    fn drive(&self, number: usize, t: f64, state: &[f64]) -> f64 {
        let emf = self.network.branches[number]
            .emf
            .as_ref()
            .map_or(0.0, |emf| emf.value(t));
        emf - self.charge[number].map_or(0.0, |charge| state[charge])
    }

    fn rates(&self, t: f64, state: &[f64]) -> Vec<f64> {
        let voltages = self.voltages(t, state);
        let at = |node: Node| self.index(node).map_or(0.0, |k| voltages[k]);
        let mut rates = vec![0.0; self.states];
        let mut into = vec![0.0; self.network.inner_nodes];
        for (number, branch) in self.network.branches.iter().enumerate() {
            let across = at(branch.from) - at(branch.to) + self.drive(number, t, state);
            let current = match self.coil[number] {
                Some(coil) => {
                    rates[coil] = (across - branch.resistance_ohm * state[coil]) / branch.inductance_h;
                    state[coil]
                }
                None => across / branch.resistance_ohm,
            };
            if let (Some(charge), Some(capacitor)) = (self.charge[number], branch.capacitor) {
                rates[charge] = current / capacitor.capacitance_f;
            }
            if let Node::Inner(node) = branch.from {
                into[node] -= current;
            }
            if let Node::Inner(node) = branch.to {
                into[node] += current;
            }
        }
        for (k, capacitor) in self.network.capacitors.iter().enumerate() {
            rates[self.shunt_from + k] = into[capacitor.node] / capacitor.capacitance_f;
        }
        for (k, line) in self.load.decoupled_lines.iter().enumerate() {
            rates[self.decoupling_from + k] = at(Node::Line(*line)) / self.network.decoupling_h;
        }
        rates
    }
}

/// Gauss elimination with row pivoting on the augmented matrix.
fn eliminate(mut a: Vec<Vec<f64>>) -> Vec<f64> {
    let n = a.len();
    for k in 0..n {
        let best = (k..n)
            .max_by(|p, q| a[*p][k].abs().total_cmp(&a[*q][k].abs()))
            .expect("a row");
        a.swap(k, best);
        let pivot = a[k].clone();
        for row in &mut a[k + 1..] {
            let factor = row[k] / pivot[k];
            if factor != 0.0 {
                row.iter_mut()
                    .zip(&pivot)
                    .for_each(|(entry, above)| *entry -= factor * above);
            }
        }
    }
    let mut x = vec![0.0; n];
    for k in (0..n).rev() {
        let rest: f64 = (k + 1..n).map(|m| a[k][m] * x[m]).sum();
        x[k] = (a[k][n] - rest) / a[k][k];
        assert!(x[k].is_finite(), "a node hangs in the air");
    }
    x
}

/// Runs `network` into `load` with steps of `step_s` until `until_s`.
pub fn run(network: &Network, load: &Load, step_s: f64, until_s: f64) -> Run {
    let (circuit, mut state) = Circuit::new(network, load);
    let line = circuit.index(Node::Line(0)).expect("a line");
    let steps = (until_s / step_s).round() as usize;
    let (mut voltage, mut current) = (Vec::with_capacity(steps + 1), Vec::with_capacity(steps + 1));
    let add = |state: &[f64], rate: &[f64], h: f64| -> Vec<f64> {
        state.iter().zip(rate).map(|(x, r)| x + h * r).collect()
    };
    for k in 0..=steps {
        let t = k as f64 * step_s;
        let voltages = circuit.voltages(t, &state);
        let v = voltages[line];
        voltage.push((t, v));
        let mut i: f64 = load
            .resistors
            .iter()
            .map(|(from, to, ohm)| {
                let at = |node: &Node| circuit.index(*node).map_or(0.0, |k| voltages[k]);
                let through = (at(from) - at(to)) / ohm;
                if *from == Node::Line(0) {
                    through
                } else if *to == Node::Line(0) {
                    -through
                } else {
                    0.0
                }
            })
            .sum();
        if let Some(clamp) = load.clamp {
            i += if v > clamp.clamping_v {
                (v - clamp.clamping_v) / clamp.ohm
            } else if v < -clamp.forward_v {
                (v + clamp.forward_v) / clamp.ohm
            } else {
                0.0
            };
        }
        current.push((t, i));
        let k1 = circuit.rates(t, &state);
        let k2 = circuit.rates(t + 0.5 * step_s, &add(&state, &k1, 0.5 * step_s));
        let k3 = circuit.rates(t + 0.5 * step_s, &add(&state, &k2, 0.5 * step_s));
        let k4 = circuit.rates(t + step_s, &add(&state, &k3, step_s));
        for (n, x) in state.iter_mut().enumerate() {
            *x += step_s / 6.0 * (k1[n] + 2.0 * k2[n] + 2.0 * k3[n] + k4[n]);
        }
    }
    Run { voltage, current }
}

/// Value of a trace at `t` with a straight line between points.
pub fn at(points: &[(f64, f64)], t: f64) -> f64 {
    let next = points
        .partition_point(|point| point.0 <= t)
        .clamp(1, points.len() - 1);
    let (from, to) = (points[next - 1], points[next]);
    from.1 + (to.1 - from.1) * ((t - from.0) / (to.0 - from.0))
}

/// Asserts that `value` lies within `share` of `expected`.
#[track_caller]
pub fn near(what: &str, value: f64, expected: f64, share: f64) {
    let deviation = value / expected - 1.0;
    assert!(
        deviation.abs() <= share,
        "{what}: {value:.6e} against {expected:.6e}, {:+.2} % (allowed ±{:.2} %)",
        100.0 * deviation,
        100.0 * share
    );
}

/// Asserts that `value` lies between two limits.
#[track_caller]
pub fn between(what: &str, value: f64, low: f64, high: f64) {
    assert!(
        (low..=high).contains(&value),
        "{what}: {value:.6e} is not between {low:.6e} and {high:.6e}"
    );
}
