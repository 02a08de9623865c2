//! One step of the method.

use crate::method::{RODAS, STAGES};
use crate::problem::TransientError;
use crate::run::Integrator;
use crate::workspace::Workspace;

/// `base + Σ factors stages`, into `out`.
fn combine<const J: usize>(out: &mut [f64], base: &[f64], factors: &[f64; STAGES], stages: &[Vec<f64>]) {
    let n = out.len();
    let base = &base[..n];
    let columns: [&[f64]; J] = std::array::from_fn(|j| &stages[j][..n]);
    let factors: [f64; J] = std::array::from_fn(|j| factors[j]);
    for k in 0..n {
        let mut sum = base[k];
        for j in 0..J {
            sum += factors[j] * columns[j][k];
        }
        out[k] = sum;
    }
}

/// Adds `mass Σ factors stages / h` to `out`.
fn couple<const J: usize>(
    out: &mut [f64],
    mass: &[f64],
    per_h: f64,
    factors: &[f64; STAGES],
    stages: &[Vec<f64>],
) {
    let n = out.len();
    let mass = &mass[..n];
    let columns: [&[f64]; J] = std::array::from_fn(|j| &stages[j][..n]);
    let factors: [f64; J] = std::array::from_fn(|j| factors[j] * per_h);
    for k in 0..n {
        let mut sum = 0.0;
        for j in 0..J {
            sum += factors[j] * columns[j][k];
        }
        out[k] += mass[k] * sum;
    }
}

impl Integrator<'_> {
    /// Right-hand side, its derivatives and the device laws at the present state.
    pub(crate) fn linearise(&mut self) {
        let work = &mut *self.work;
        work.flat
            .rhs(self.t, &self.y, &self.states, &mut work.points, &mut work.f);
        work.flat.slopes(self.t, &mut work.slopes);
        work.flat
            .negative_jacobian(&self.y, &work.f, &work.points, &mut work.jacobian);
        self.counters.evaluations += 1;
    }

    /// Tries a step from `self.y`; returns its scaled error, leaving the result in the dense output.
    pub(crate) fn try_step(&mut self, h: f64) -> f64 {
        let work = &mut *self.work;
        let per_h = 1.0 / h;
        work.matrix.copy_from_slice(&work.jacobian);
        for (&slot, mass) in work.flat.diagonal().iter().zip(&work.mass) {
            work.matrix[slot] += mass * (per_h / RODAS.gamma);
        }
        self.counters.factorisations += 1;
        if work.symbolic.factor(&mut work.matrix) != 0.0 {
            return f64::INFINITY;
        }
        for stage in 0..STAGES {
            let (before, rest) = work.stages.split_at_mut(stage);
            let out = &mut rest[0][..];
            if stage == 0 {
                out.copy_from_slice(&work.f);
            } else {
                let a = &RODAS.a[stage];
                match stage {
                    1 => combine::<1>(&mut work.argument, &self.y, a, before),
                    2 => combine::<2>(&mut work.argument, &self.y, a, before),
                    3 => combine::<3>(&mut work.argument, &self.y, a, before),
                    4 => combine::<4>(&mut work.argument, &self.y, a, before),
                    // The last argument is the one before it and the stage made from that.
                    _ => {
                        for (argument, add) in work.argument.iter_mut().zip(&before[4]) {
                            *argument += add;
                        }
                    }
                }
                let t = self.t + RODAS.alpha[stage] * h;
                let points = &mut work.stage_points;
                work.flat.rhs(t, &work.argument, &self.states, points, out);
                self.counters.evaluations += 1;
                let c = &RODAS.c[stage];
                match stage {
                    1 => couple::<1>(out, &work.mass, per_h, c, before),
                    2 => couple::<2>(out, &work.mass, per_h, c, before),
                    3 => couple::<3>(out, &work.mass, per_h, c, before),
                    4 => couple::<4>(out, &work.mass, per_h, c, before),
                    _ => couple::<5>(out, &work.mass, per_h, c, before),
                }
            }
            work.flat
                .add_rhs_per_time(&work.slopes, RODAS.gamma_sum[stage] * h, out);
            work.symbolic.solve(&work.matrix, out);
            heat_stage(work, stage, h);
        }
        self.finish_step()
    }

    /// Dense output and scaled error from the stages.
    fn finish_step(&mut self) -> f64 {
        let (relative, receding) = (self.options.relative, self.options.receding);
        let work = &mut *self.work;
        let n = self.y.len();
        let [u0, u1, u2, u3, u4, u5] = &work.stages;
        let (u0, u1, u2, u3, u4, u5) = (&u0[..n], &u1[..n], &u2[..n], &u3[..n], &u4[..n], &u5[..n]);
        let (argument, from) = (&work.argument[..n], &self.y[..n]);
        let dense = &mut work.dense;
        dense.from.copy_from_slice(from);
        let (to, c3, c4) = (&mut dense.to[..n], &mut dense.c3[..n], &mut dense.c4[..n]);
        for k in 0..n {
            to[k] = argument[k] + u5[k];
            c3[k] = RODAS.d2[0] * u0[k]
                + RODAS.d2[1] * u1[k]
                + RODAS.d2[2] * u2[k]
                + RODAS.d2[3] * u3[k]
                + RODAS.d2[4] * u4[k];
            c4[k] = RODAS.d3[0] * u0[k]
                + RODAS.d3[1] * u1[k]
                + RODAS.d3[2] * u2[k]
                + RODAS.d3[3] * u3[k]
                + RODAS.d3[4] * u4[k];
        }
        let (absolute, tops) = (&work.absolute[..n], &work.tops[..n]);
        let (mut error, mut sum) = (0.0f64, 0.0);
        for k in 0..n {
            // Stiffly accurate: the last stage is the error of the embedded solution.
            let size = from[k].abs().max(to[k].abs());
            let receded = (tops[k] - size).max(0.0);
            let scaled = u5[k].abs() / (absolute[k] + relative * size + receding * receded);
            error = error.max(scaled);
            // A value that is not a number would get lost in the maximum.
            sum += to[k];
        }
        for device in 0..work.heat.to.len() {
            let u = |j: usize| work.heat_stages[j][device];
            let sum = |factors: &[f64; STAGES]| (0..STAGES - 1).map(|j| factors[j] * u(j)).sum::<f64>();
            work.heat.to[device] = sum(&RODAS.a[STAGES - 1]) + u(STAGES - 1);
            work.heat.c3[device] = sum(&RODAS.d2);
            work.heat.c4[device] = sum(&RODAS.d3);
        }
        if sum.is_finite() && error.is_finite() {
            error.max(1e-10)
        } else {
            f64::INFINITY
        }
    }

    /// Solves the algebraic equations for the algebraic variables, leaving the dynamic ones as they are.
    pub(crate) fn make_consistent(&mut self) -> Result<(), TransientError> {
        if self.work.flat.dynamic().iter().all(|&dynamic| dynamic) {
            return Ok(());
        }
        for _ in 0..20 {
            self.linearise();
            let work = &mut *self.work;
            work.matrix.copy_from_slice(&work.jacobian);
            for &slot in &work.dynamic_slots {
                work.matrix[slot] = 0.0;
            }
            for (k, &slot) in work.flat.diagonal().iter().enumerate() {
                if work.flat.dynamic()[k] {
                    work.matrix[slot] = 1.0;
                    work.f[k] = 0.0;
                }
            }
            self.counters.factorisations += 1;
            if work.symbolic.factor(&mut work.matrix) != 0.0 {
                return Err(TransientError::NoInitialState);
            }
            work.symbolic.solve(&work.matrix, &mut work.f);
            let mut size = 0.0f64;
            for (y, change) in self.y.iter_mut().zip(work.f.iter()) {
                *y += change;
                size = size.max(change.abs() / (1.0 + y.abs()));
            }
            if !size.is_finite() {
                return Err(TransientError::NoInitialState);
            }
            if size < 1e-12 {
                return Ok(());
            }
        }
        Err(TransientError::NoInitialState)
    }
}

/// The heat of each device's conduction as one more row of the method: it follows from the other states and nothing
/// follows from it, so that its stages need no elimination.
fn heat_stage(work: &mut Workspace, stage: usize, h: f64) {
    let (before, rest) = work.heat_stages.split_at_mut(stage);
    let points = if stage == 0 {
        &work.points
    } else {
        &work.stage_points
    };
    for (device, out) in rest[0].iter_mut().enumerate() {
        let along = work
            .flat
            .watts_along(device, &work.points[device], &work.stages[stage]);
        let mut coupling = 0.0;
        for (factor, earlier) in RODAS.c[stage].iter().zip(before.iter()) {
            coupling += factor * earlier[device];
        }
        *out = RODAS.gamma * (h * (points[device].watts() + along) + coupling);
    }
}
