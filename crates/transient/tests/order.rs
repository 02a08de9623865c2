//! The order of the method, measured on circuits with an exact solution.

use tidewall_ladder::{Branch, Circuit, Equations, Inductance, Probe, ProbeRole, Side};
use tidewall_stress::{Shape, Waveform};
use tidewall_transient::{Options, Problem, Workspace, run};

/// Source, resistance and inductance into a capacitance with a load: a double-exponential source makes the
/// right-hand side depend on time.
fn driven(emf: Option<Waveform>, c0_v: f64) -> Circuit {
    let mut circuit = Circuit::default();
    let out = circuit.node("out", 1e-6, c0_v, Side::Port);
    circuit.branches.push(Branch {
        name: "source".into(),
        from: None,
        to: Some(out),
        resistance_ohm: 2.0,
        inductance: Inductance::linear(10e-6),
        capacitor: None,
        initial_a: 0.0,
        emf,
        side: Side::Generator,
    });
    circuit.branches.push(Branch {
        name: "load".into(),
        from: Some(out),
        to: None,
        resistance_ohm: 50.0,
        inductance: Inductance::linear(0.0),
        capacitor: None,
        initial_a: 0.0,
        emf: None,
        side: Side::Port,
    });
    circuit
}

fn final_volts(circuit: &Circuit, step_s: f64, duration_s: f64) -> f64 {
    let equations = Equations::new(circuit.clone()).unwrap();
    let probes = [Probe {
        name: "out".into(),
        role: ProbeRole::Connector(0),
        plus: Some(0),
        minus: None,
    }];
    let problem = Problem {
        equations: &equations,
        probes: &probes,
        levels: &[],
        breakpoints_s: &[],
        duration_s,
        finest_s: 1e-6,
    };
    let options = Options {
        fixed_step_s: Some(step_s),
        ..Options::default()
    };
    run(&problem, &options, &mut Workspace::new(&equations))
        .unwrap()
        .final_y[0]
}

#[test]
fn free_ringing_converges_with_order_four() {
    // Exact solution of the series R-L-C with R_load across C, from the roots of its characteristic polynomial.
    let (r, l, c, load): (f64, f64, f64, f64) = (2.0, 10e-6, 1e-6, 50.0);
    let (sum, product) = (r / l + 1.0 / (load * c), (1.0 + r / load) / (l * c));
    let (sigma, omega) = (0.5 * sum, (product - 0.25 * sum * sum).sqrt());
    let (v0, t) = (100.0, 40e-6f64);
    let slope0 = -v0 / (load * c);
    let exact =
        (-sigma * t).exp() * (v0 * (omega * t).cos() + (slope0 + sigma * v0) / omega * (omega * t).sin());
    let circuit = driven(None, v0);
    let errors: Vec<f64> = [2e-6, 1e-6, 0.5e-6]
        .iter()
        .map(|&h| (final_volts(&circuit, h, t) - exact).abs())
        .collect();
    for pair in errors.windows(2) {
        let order = (pair[0] / pair[1]).log2();
        assert!(
            (3.7..4.8).contains(&order),
            "order {order:.2} from errors {errors:?}"
        );
    }
}

#[test]
fn a_driven_circuit_converges_with_order_four() {
    let shape = Shape::DoubleExponential {
        scale: 1.0,
        alpha_per_s: 2e4,
        beta_per_s: 2e5,
    };
    let circuit = driven(
        Some(Waveform {
            shape,
            amplitude: 500.0,
            delay_s: 0.0,
        }),
        0.0,
    );
    let fine = final_volts(&circuit, 0.02e-6, 40e-6);
    let errors: Vec<f64> = [2e-6, 1e-6, 0.5e-6]
        .iter()
        .map(|&h| (final_volts(&circuit, h, 40e-6) - fine).abs())
        .collect();
    for pair in errors.windows(2) {
        let order = (pair[0] / pair[1]).log2();
        assert!(
            (3.6..5.2).contains(&order),
            "order {order:.2} from errors {errors:?}"
        );
    }
}
