//! The equations of random circuits at random states: derivatives against differences, and conservation of energy.

mod anywhere;
mod support;

use anywhere::{anywhere, equations};
use support::{Dice, case};
use tidewall_devices::law::State;
use tidewall_ladder::{Equations, Reading};

const CASES: u64 = 300;

fn rhs(equations: &Equations, t: f64, y: &[f64], states: &[State]) -> Vec<f64> {
    let mut f = vec![0.0; equations.len()];
    equations.rhs(t, y, states, &mut f);
    f
}

fn jacobian(equations: &Equations, y: &[f64], states: &[State]) -> Vec<f64> {
    let n = equations.len();
    let mut matrix = vec![0.0; n * n];
    equations.jacobian(y, states, |row, column, value| matrix[row * n + column] += value);
    matrix
}

/// Fourth-order central difference of a vector function of one number.
fn slope(mut f: impl FnMut(f64) -> Vec<f64>, at: f64, h: f64) -> Vec<f64> {
    let (p1, m1, p2, m2) = (f(at + h), f(at - h), f(at + 2.0 * h), f(at - 2.0 * h));
    (0..p1.len())
        .map(|k| (8.0 * (p1[k] - m1[k]) - (p2[k] - m2[k])) / (12.0 * h))
        .collect()
}

#[test]
fn the_jacobian_agrees_with_differences_of_the_right_hand_side() {
    // Corners are rounded over millivolts here and volts there: one of these widths suits each entry.
    const WIDTHS: [f64; 5] = [1e-3, 1e-4, 1e-5, 1e-6, 1e-7];
    let mut checked = 0;
    for number in 0..CASES {
        let case = case(number);
        let equations = equations(&case);
        let (n, t) = (equations.len(), 0.3 * case.network.duration_s);
        let mut dice = Dice::new(number + 1_000_000);
        let (y, states) = anywhere(&equations, &mut dice);
        let given = jacobian(&equations, &y, &states);
        let mut moved = y.clone();
        for column in 0..n {
            let numeric: Vec<Vec<f64>> = WIDTHS
                .iter()
                .map(|h| {
                    let at = |value: f64| {
                        moved[column] = value;
                        rhs(&equations, t, &moved, &states)
                    };
                    let slope = slope(at, y[column], *h);
                    moved[column] = y[column];
                    slope
                })
                .collect();
            for row in 0..n {
                let given_row = &given[row * n..(row + 1) * n];
                // What rounding of the terms of this row does to a difference.
                let terms: f64 = given_row
                    .iter()
                    .zip(&y)
                    .map(|(a, y)| (a * y).abs())
                    .sum::<f64>()
                    .max(rhs(&equations, t, &y, &states)[row].abs());
                let fits = WIDTHS.iter().zip(&numeric).any(|(h, numeric)| {
                    let allowed = 1e-6 * given_row[column].abs() + 4e-16 * terms / h;
                    let off = (given_row[column] - numeric[row]).abs();
                    // A width at which rounding hides the entry shows nothing.
                    off <= allowed
                        && (given_row[column] == 0.0 || 4e-16 * terms / h < 0.01 * given_row[column].abs())
                });
                let shown: Vec<f64> = numeric.iter().map(|numeric| numeric[row]).collect();
                let hidden =
                    4e-16 * terms / WIDTHS[0] > 0.01 * given_row[column].abs() && given_row[column] != 0.0;
                assert!(
                    fits || hidden,
                    "case {number}, row {row}, column {column}: {:e}, by differences {shown:?}",
                    given_row[column]
                );
                checked += usize::from(given_row[column] != 0.0 && !hidden);
            }
        }
    }
    assert!(checked > 10_000, "only {checked} entries could be seen");
}

#[test]
fn the_time_derivative_agrees_with_differences_of_the_right_hand_side() {
    for number in 0..CASES {
        let case = case(number);
        let equations = equations(&case);
        let mut dice = Dice::new(number + 2_000_000);
        let (y, states) = anywhere(&equations, &mut dice);
        let t = case.network.duration_s * dice.log(1e-3, 0.5);
        let h = 1e-4 * t.min(case.network.finest_s);
        let corners = case.network.breakpoints_s();
        if corners.iter().any(|corner| (corner - t).abs() < 3.0 * h) {
            continue;
        }
        let mut given = vec![0.0; equations.len()];
        equations.rhs_per_time(t, &mut given);
        let numeric = slope(|t| rhs(&equations, t, &y, &states), t, h);
        let f = rhs(&equations, t, &y, &states);
        for k in 0..equations.len() {
            let allowed = 1e-5 * given[k].abs() + 1e-14 * f[k].abs() / h;
            assert!(
                (given[k] - numeric[k]).abs() <= allowed,
                "case {number}, row {k}: {:e}, by differences {:e}",
                given[k],
                numeric[k]
            );
        }
    }
}

/// Solves `a x = b` in place by elimination with row exchanges; false when singular.
fn solve(a: &mut [f64], b: &mut [f64]) -> bool {
    let n = b.len();
    for k in 0..n {
        let pivot = (k..n)
            .max_by(|&i, &j| a[i * n + k].abs().total_cmp(&a[j * n + k].abs()))
            .unwrap_or(k);
        if a[pivot * n + k] == 0.0 {
            return false;
        }
        for column in 0..n {
            a.swap(k * n + column, pivot * n + column);
        }
        b.swap(k, pivot);
        for row in k + 1..n {
            let factor = a[row * n + k] / a[k * n + k];
            for column in k..n {
                a[row * n + column] -= factor * a[k * n + column];
            }
            b[row] -= factor * b[k];
        }
    }
    for k in (0..n).rev() {
        let sum: f64 = (k + 1..n).map(|column| a[k * n + column] * b[column]).sum();
        b[k] = (b[k] - sum) / a[k * n + k];
    }
    true
}

/// Sets the algebraic states so that their equations hold (they are linear).
fn make_consistent(equations: &Equations, t: f64, y: &mut [f64], states: &[State]) {
    let n = equations.len();
    for _ in 0..3 {
        let f = rhs(equations, t, y, states);
        let mut matrix = jacobian(equations, y, states);
        let mut change = vec![0.0; n];
        for k in 0..n {
            if equations.dynamic()[k] {
                matrix[k * n..(k + 1) * n].fill(0.0);
                matrix[k * n + k] = 1.0;
            } else {
                change[k] = -f[k];
            }
        }
        assert!(solve(&mut matrix, &mut change), "singular algebraic equations");
        y.iter_mut().zip(&change).for_each(|(y, change)| *y += change);
    }
}

#[test]
fn power_delivered_is_heat_plus_the_growth_of_stored_energy() {
    for number in 0..CASES {
        let case = case(number);
        let equations = equations(&case);
        let n = equations.len();
        let mut dice = Dice::new(number + 3_000_000);
        let (mut y, states) = anywhere(&equations, &mut dice);
        let t = case.network.duration_s * dice.log(1e-3, 0.5);
        make_consistent(&equations, t, &mut y, &states);
        let f = rhs(&equations, t, &y, &states);
        // Stored energy is a sum over single states: its gradient is found one state at a time, the others at zero.
        let (mut whole, mut port) = (0.0, 0.0);
        let mut gross = 0.0;
        for k in (0..n).filter(|&k| equations.dynamic()[k]) {
            let held = |value: f64| {
                let mut alone = vec![0.0; n];
                alone[k] = value;
                let stored = equations.stored(t, &alone);
                vec![stored.whole_j, stored.port_j]
            };
            let gradient = slope(held, y[k], 1e-4 * (0.1 + y[k].abs()));
            whole += gradient[0] * f[k];
            port += gradient[1] * f[k];
            gross += (gradient[0] * f[k]).abs();
        }
        let mut readings = vec![Reading::default(); equations.elements()];
        let power = equations.readings(t, &y, &states, &mut readings);
        for reading in &readings {
            gross += reading.watts.abs() + (reading.volts * reading.amps).abs();
        }
        gross += power.entering_w;
        for (what, left, right) in [
            ("whole circuit", power.delivered_w - power.dissipated_w, whole),
            ("port", power.into_port_w - power.dissipated_in_port_w, port),
        ] {
            assert!(
                (left - right).abs() <= 1e-9 * gross,
                "case {number} ({}), {what}: {left:e} W against {right:e} W of {gross:e} W",
                case.stress
            );
        }
        assert!(power.entering_w >= power.into_port_w);
    }
}
