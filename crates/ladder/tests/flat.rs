//! The flat equations of random circuits at random states say what the readable ones say.

mod anywhere;
mod support;

use anywhere::{anywhere, equations};
use support::{Dice, case};
use tidewall_devices::law::{Modes, State};
use tidewall_ladder::{DevicePoint, Emf, Equations, Flat, Forms, Layout, Reading};

const CASES: u64 = 300;

/// All entries, in an order that is neither that of the equations nor its reverse.
struct Dense {
    n: usize,
    step: usize,
}

impl Dense {
    fn new(n: usize) -> Dense {
        // A step that shares no factor with n visits every place.
        let mut step = n / 2 + 1;
        while (2..=n).any(|d| n.is_multiple_of(d) && step.is_multiple_of(d)) {
            step += 1;
        }
        Dense { n, step }
    }
}

impl Layout for Dense {
    fn place(&self, k: usize) -> usize {
        k * self.step % self.n
    }

    fn slot(&self, row: usize, column: usize) -> usize {
        row * self.n + column
    }

    fn slots(&self) -> usize {
        self.n * self.n
    }
}

fn close(a: f64, b: f64, scale: f64, what: &str) {
    assert!(
        (a - b).abs() <= 1e-12 * scale + 1e-300,
        "{what}: {a:e} against {b:e}"
    );
}

fn modes_of(states: &[State]) -> Vec<Modes<f64>> {
    states.iter().map(|&state| Modes::of(state)).collect()
}

fn flat_of(equations: &Equations, y: &[f64]) -> (Dense, Flat, Vec<f64>) {
    let layout = Dense::new(equations.len());
    let flat = Flat::new(equations, &layout);
    let mut here = vec![0.0; y.len()];
    for (k, value) in y.iter().enumerate() {
        here[layout.place(k)] = *value;
    }
    assert_eq!(flat.in_order(&here), y);
    (layout, flat, here)
}

#[test]
fn right_hand_side_and_jacobian_agree() {
    for number in 0..CASES {
        let case = case(number);
        let equations = equations(&case);
        let (n, t) = (equations.len(), 0.3 * case.network.duration_s);
        let (y, states) = anywhere(&equations, &mut Dice::new(number + 2_000_000));
        let (layout, flat, here) = flat_of(&equations, &y);
        let mut jacobian = vec![0.0; n * n];
        equations.jacobian(&y, &states, |row, column, value| {
            jacobian[row * n + column] += value
        });
        let (mut f, mut g) = (vec![0.0; n], vec![0.0; n]);
        let mut points = vec![DevicePoint::default(); flat.devices()];
        equations.rhs(t, &y, &states, &mut f);
        flat.rhs(t, &here, &modes_of(&states), &mut points, &mut g);
        let mut matrix = vec![0.0; n * n];
        flat.negative_jacobian(&here, &g, &points, &mut matrix);
        let (mut f_t, mut g_t, mut slopes) = (vec![0.0; n], vec![0.0; n], vec![0.0; flat.drives()]);
        equations.rhs_per_time(t, &mut f_t);
        flat.slopes(t, &mut slopes);
        flat.add_rhs_per_time(&slopes, 1.0, &mut g_t);
        for row in 0..n {
            let at = layout.place(row);
            let terms = |column: usize| (jacobian[row * n + column] * y[column]).abs();
            let scale = (0..n).map(terms).fold(f[row].abs(), f64::max);
            close(g[at], f[row], scale, &format!("case {number}: row {row}"));
            close(
                g_t[at],
                f_t[row],
                f_t[row].abs(),
                &format!("case {number}: slope of row {row}"),
            );
            let entries = &jacobian[row * n..(row + 1) * n];
            let scale = entries.iter().fold(0.0f64, |m, x| m.max(x.abs()));
            for (column, wanted) in entries.iter().enumerate() {
                let got = -matrix[layout.slot(at, layout.place(column))];
                close(
                    got,
                    *wanted,
                    scale,
                    &format!("case {number}: entry {row}, {column}"),
                );
            }
        }
    }
}

#[test]
fn readings_and_energies_agree() {
    for number in 0..CASES {
        let case = case(number);
        let equations = equations(&case);
        let t = 0.3 * case.network.duration_s;
        let (y, states) = anywhere(&equations, &mut Dice::new(number + 3_000_000));
        let (_, flat, here) = flat_of(&equations, &y);
        let (forms, elements) = (flat.forms(), equations.elements());
        let mut readings = vec![Reading::default(); elements];
        let power = equations.readings(t, &y, &states, &mut readings);
        let mut f = vec![0.0; y.len()];
        let mut points = vec![DevicePoint::default(); flat.devices()];
        flat.rhs(t, &here, &modes_of(&states), &mut points, &mut f);
        let form = |k: usize| {
            forms
                .terms(k)
                .map(|(column, factor)| factor * here[column])
                .sum::<f64>()
        };
        let size = |k: usize| {
            forms
                .terms(k)
                .map(|(column, factor)| (factor * here[column]).abs())
                .sum::<f64>()
        };
        let (mut port_w, mut port_scale) = (0.0, 0.0);
        for (k, reading) in readings.iter().enumerate() {
            let what = |what: &str| format!("case {number}: {what} of {}", equations.element_name(k));
            let (volts, amps) = (Forms::volts(k), Forms::amps(k));
            close(form(volts), reading.volts, size(volts), &what("voltage"));
            close(form(amps), reading.amps, size(amps), &what("current"));
            let resistors = forms.resistors(k).iter();
            let (mut watts, mut scale) = resistors.fold((0.0, 0.0), |(sum, scale), &(ohm, k)| {
                (sum + ohm * form(k).powi(2), scale + ohm * size(k).powi(2))
            });
            if let Some(device) = k.checked_sub(elements - flat.devices()) {
                watts += points[device].watts();
                scale += points[device].watts().abs();
                let junction = forms.junction(k).map_or(forms.ambient_c(k), |row| here[row]);
                assert_eq!(junction, reading.junction_c, "{}", what("junction"));
            }
            close(watts, reading.watts, scale, &what("heat"));
            if forms.in_port(k) {
                port_w += watts;
                port_scale += scale;
            }
        }
        close(
            port_w,
            power.dissipated_in_port_w,
            port_scale,
            &format!("case {number}: heat in the port"),
        );
        let (mut into, mut entering, mut scale) = (0.0, 0.0, 0.0);
        for flow in forms.flows() {
            let watts = flow.sign * here[flow.node] * form(flow.amps);
            into += watts;
            entering += watts.max(0.0);
            scale += here[flow.node].abs() * size(flow.amps);
        }
        close(
            into,
            power.into_port_w,
            scale,
            &format!("case {number}: into the port"),
        );
        close(
            entering,
            power.entering_w,
            scale,
            &format!("case {number}: entering"),
        );
        let (mut delivered, mut scale) = (0.0, 0.0);
        for source in forms.sources() {
            let volts = match &source.emf {
                Emf::State(row) => here[*row],
                Emf::Wave(wave) => wave.value(t),
            };
            delivered += volts * form(source.amps);
            scale += volts.abs() * size(source.amps);
        }
        close(
            delivered,
            power.delivered_w,
            scale,
            &format!("case {number}: delivered"),
        );
        let (a, b) = (equations.stored(t, &y), flat.stored(&here));
        close(b.whole_j, a.whole_j, a.whole_j, &format!("case {number}: stored"));
        close(
            b.port_j,
            a.port_j,
            a.port_j,
            &format!("case {number}: stored in the port"),
        );
    }
}

#[test]
fn heat_along_a_direction_is_its_derivative() {
    for number in 0..100 {
        let case = case(number);
        let equations = equations(&case);
        let t = 0.3 * case.network.duration_s;
        let mut dice = Dice::new(number + 4_000_000);
        let (y, states) = anywhere(&equations, &mut dice);
        let (_, flat, here) = flat_of(&equations, &y);
        let direction: Vec<f64> = here.iter().map(|_| dice.lin(-1.0, 1.0)).collect();
        let watts = |h: f64| {
            let moved: Vec<f64> = here.iter().zip(&direction).map(|(y, d)| y + h * d).collect();
            let mut points = vec![DevicePoint::default(); flat.devices()];
            flat.rhs(
                t,
                &moved,
                &modes_of(&states),
                &mut points,
                &mut vec![0.0; moved.len()],
            );
            points
        };
        let at = watts(0.0);
        for k in 0..flat.devices() {
            let given = flat.watts_along(k, &at[k], &direction);
            // Corners are rounded over millivolts here and volts there: one of these widths suits each device.
            let fits = [1e-3, 1e-4, 1e-5, 1e-6, 1e-7].into_iter().any(|h| {
                let (p1, m1, p2, m2) = (watts(h), watts(-h), watts(2.0 * h), watts(-2.0 * h));
                let near = p1[k].watts() - m1[k].watts();
                let slope = (8.0 * near - (p2[k].watts() - m2[k].watts())) / (12.0 * h);
                (slope - given).abs() <= 1e-5 * given.abs() + 1e-15 * at[k].watts().abs() / h
            });
            assert!(fits, "case {number}: device {k}, {given:e}");
        }
    }
}
