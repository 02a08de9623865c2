//! The pieces of a transient one by one: laws, right-hand side, Jacobian, factors and solution, whole runs.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use tidewall_bench::laws::laws;
use tidewall_bench::transient::ready;
use tidewall_devices::law::Bias;
use tidewall_ladder::Layout;
use tidewall_transient::lu::Symbolic;
use tidewall_transient::{Options, Workspace, run};

fn law(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("law");
    for sample in laws() {
        let law = &sample.law;
        let bias = Bias {
            volts: sample.volts,
            junction_c: 60.0,
            inner: sample.inner,
        };
        group.bench_function(sample.family, |bencher| {
            bencher.iter(|| {
                let bias = black_box(bias);
                (law.conduction(sample.state, &bias), law.capacitance(bias.volts))
            });
        });
    }
}

fn equations(criterion: &mut Criterion) {
    for ready in ready().expect("the suite runs") {
        let equations = &ready.assembled.equations;
        let n = equations.len();
        // Where the transient ends is a state that occurs.
        let problem = ready.assembled.problem();
        let mut workspace = Workspace::new(equations);
        let outcome = run(&problem, &Options::default(), &mut workspace).expect("the suite runs");
        let (y, states) = (outcome.final_y, outcome.final_states);
        let key = ready.circuit.key;
        let mut out = vec![0.0; n];
        criterion.bench_function(&format!("right-hand side/{key}"), |bencher| {
            bencher.iter(|| equations.rhs(black_box(1e-6), black_box(&y), &states, &mut out));
        });
        let mut places = Vec::new();
        equations.jacobian(&y, &states, |row, column, _| places.push((row, column)));
        let symbolic = Symbolic::new(n, &places);
        let at = |row: usize, column: usize| symbolic.slot(symbolic.place(row), symbolic.place(column));
        let mut jacobian = vec![0.0; symbolic.slots()];
        criterion.bench_function(&format!("Jacobian/{key}"), |bencher| {
            bencher.iter(|| {
                jacobian.fill(0.0);
                equations.jacobian(black_box(&y), &states, |row, column, value| {
                    jacobian[at(row, column)] += value;
                });
            });
        });
        // The matrix of a step of a thousandth of the run.
        let mut matrix: Vec<f64> = jacobian.iter().map(|entry| -entry).collect();
        for (k, _) in equations.dynamic().iter().enumerate().filter(|(_, is)| **is) {
            matrix[at(k, k)] += 4e3 / ready.assembled.duration_s;
        }
        let (mut values, mut b) = (matrix.clone(), vec![1.0; n]);
        criterion.bench_function(&format!("factors/{key}"), |bencher| {
            bencher.iter(|| {
                values.copy_from_slice(black_box(&matrix));
                assert_eq!(symbolic.factor(&mut values), 0.0);
            });
        });
        criterion.bench_function(&format!("solution/{key}"), |bencher| {
            bencher.iter(|| {
                b.fill(1.0);
                symbolic.solve(black_box(&values), &mut b);
            });
        });
        criterion.bench_function(&format!("transient/{key}"), |bencher| {
            bencher.iter(|| run(&problem, &Options::default(), &mut workspace));
        });
    }
}

fn quick() -> Criterion {
    Criterion::default()
        .sample_size(20)
        .warm_up_time(std::time::Duration::from_millis(100))
        .measurement_time(std::time::Duration::from_millis(400))
}

criterion_group! {
    name = benches;
    config = quick();
    targets = law, equations
}
criterion_main!(benches);
