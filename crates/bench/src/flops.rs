//! How much floating-point work a step is, counted from the circuit and not measured.
//!
//! Additions, multiplications and divisions count one each; an exponential or a logarithm [`EXP`], a power two of them.
//! Comparisons, loads and stores count nothing, so that the figure is a lower bound of the work and not a model of its
//! time.

use serde::{Deserialize, Serialize};
use tidewall_devices::Law;
use tidewall_ladder::Equations;

/// Operations that an exponential or a logarithm counts for (the usual length of a polynomial kernel, from memory).
pub const EXP: u64 = 20;

/// Operations of one step.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Flops {
    /// One factorisation.
    pub factor: u64,
    /// One solution with the factors.
    pub solve: u64,
    /// One right-hand side.
    pub rhs: u64,
    /// One Jacobian.
    pub jacobian: u64,
    /// Sums of stages, error and continuous extension.
    pub stages: u64,
    /// Readings at three inner points and the end, for peaks, energies and audit.
    pub booking: u64,
}

/// Stages of the method.
const STAGES: u64 = 6;

impl Flops {
    /// Counts the work for a circuit, with factors in an order of minimum degree.
    pub fn of(equations: &Equations) -> Flops {
        let n = equations.len();
        let (y, states) = equations.initial();
        let mut present = vec![vec![false; n]; n];
        let mut entries = 0;
        equations.jacobian(&y, &states, |row, column, _| {
            present[row][column] = true;
            entries += 1;
        });
        let (factor, solve) = elimination(present);
        let circuit = equations.circuit();
        let branches = circuit.branches.len() as u64;
        let devices = || circuit.devices.iter();
        let laws: u64 = devices().map(|device| law(&device.law)).sum();
        let thermal: u64 = devices().map(|device| device.thermal.len() as u64).sum();
        // Per branch: three sums of the drive, resistance, division, two sums into the nodes. Per device the same, the
        // bias, the division by the capacitance, the power. Per thermal node: difference, two divisions, difference.
        let rhs =
            7 * branches + 12 * devices().count() as u64 + laws + 4 * thermal + circuit.nodes.len() as u64;
        let n = n as u64;
        // Sums over earlier stages: 15 products each in the arguments and in the coupling, 10 in the extension.
        let stages = 2 * n * (15 + 15 + 10) + STAGES * 3 * n + 5 * n;
        // Per sample: the extension, three products and sums per element for power and energies, the laws.
        let elements = equations.elements() as u64;
        let sample = 5 * n + 20 * elements + laws;
        Flops {
            factor,
            solve,
            rhs,
            jacobian: 2 * entries + laws,
            stages,
            booking: 4 * sample,
        }
    }

    /// An accepted step: Jacobian, factors, six stages, book-keeping.
    pub fn step(&self) -> u64 {
        self.jacobian + self.attempt() + self.booking
    }

    /// A rejected step: factors and six stages.
    pub fn attempt(&self) -> u64 {
        self.factor + STAGES * (self.solve + self.rhs) + self.stages
    }
}

/// Operations of a law with its capacitance: rounded corners are an exponential and a logarithm each, a depletion
/// capacitance is a power.
fn law(law: &Law) -> u64 {
    const CORNER: u64 = 2 * EXP + 8;
    const POWER: u64 = 2 * EXP;
    match law {
        Law::Avalanche(_) => 2 * CORNER + POWER + 10,
        Law::FlatClamp(_) => 3 * CORNER + 2 * POWER + 20,
        Law::Crowbar(_) | Law::GasTube(_) => 2 * CORNER + 20,
        Law::Varistor(_) => 2 * POWER + 15,
        Law::Diode(_) | Law::Pin(_) => 2 * CORNER,
        Law::Limiter(_) => 2 * CORNER + 10,
        Law::Table(_) => 25,
    }
}

/// Operations of a factorisation and of a solution, eliminating the node with the fewest neighbours first.
fn elimination(mut present: Vec<Vec<bool>>) -> (u64, u64) {
    let n = present.len();
    let mut left: Vec<usize> = (0..n).collect();
    let (mut factor, mut solve) = (0u64, n as u64);
    while !left.is_empty() {
        let degree = |k: usize| {
            left.iter()
                .filter(|&&j| j != k && (present[k][j] || present[j][k]))
                .count()
        };
        let Some(at) = (0..left.len()).min_by_key(|&at| degree(left[at])) else {
            break;
        };
        let pivot = left.remove(at);
        let right: Vec<usize> = left.iter().copied().filter(|&c| present[pivot][c]).collect();
        let below: Vec<usize> = left.iter().copied().filter(|&r| present[r][pivot]).collect();
        factor += 1 + (below.len() * (1 + 2 * right.len())) as u64;
        solve += 2 * (below.len() + right.len()) as u64;
        for &row in &below {
            for &column in &right {
                present[row][column] = true;
            }
        }
    }
    (factor, solve)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_full_matrix_costs_two_thirds_of_its_cube() {
        let n = 30;
        let (factor, solve) = elimination(vec![vec![true; n]; n]);
        let cube = (n * n * n) as f64;
        assert!(
            (factor as f64 / (2.0 / 3.0 * cube) - 1.0).abs() < 0.05,
            "{factor}"
        );
        assert_eq!(solve, (2 * n * n - n) as u64);
    }

    #[test]
    fn a_chain_costs_in_proportion_to_its_length() {
        let chain = |n: usize| {
            (0..n)
                .map(|row| (0..n).map(|column| row.abs_diff(column) < 2).collect())
                .collect()
        };
        // Each pivot but the last has one neighbour: reciprocal, factor, product and difference.
        assert_eq!(elimination(chain(10)), (10 + 9 * 3, 10 + 9 * 4));
    }
}
