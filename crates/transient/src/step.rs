//! One step of the method, of every lane.

use tidewall_ladder::Flat;
use tidewall_lanes::{Job, Lane};

use crate::engine::Engine;
use crate::method::{RODAS, STAGES};
use crate::workspace::Buffers;

/// The first stages, and their factors times `scale`.
#[inline(always)]
fn weighted_columns<'a, T: Lane, const J: usize>(
    stages: &'a [Vec<T>],
    factors: &[f64; STAGES],
    n: usize,
    scale: T,
) -> ([&'a [T]; J], [T; J]) {
    let mut columns = [&stages[0][..n]; J];
    let mut scaled = [scale; J];
    for j in 0..J {
        columns[j] = &stages[j][..n];
        scaled[j] = T::splat(factors[j]) * scale;
    }
    (columns, scaled)
}

/// `base + Σ factors stages`, into `out`.
#[inline(always)]
fn combine<T: Lane, const J: usize>(out: &mut [T], base: &[T], factors: &[f64; STAGES], stages: &[Vec<T>]) {
    let n = out.len();
    let base = &base[..n];
    let (columns, factors) = weighted_columns::<T, J>(stages, factors, n, T::splat(1.0));
    for k in 0..n {
        T::one_by_one();
        let mut sum = base[k];
        for j in 0..J {
            sum += factors[j] * columns[j][k];
        }
        out[k] = sum;
    }
}

/// Adds `mass Σ factors stages / h` to `out`.
#[inline(always)]
fn couple<T: Lane, const J: usize>(
    out: &mut [T],
    mass: &[T],
    per_h: T,
    factors: &[f64; STAGES],
    stages: &[Vec<T>],
) {
    let n = out.len();
    let mass = &mass[..n];
    let (columns, factors) = weighted_columns::<T, J>(stages, factors, n, per_h);
    for k in 0..n {
        T::one_by_one();
        let mut sum = T::default();
        for j in 0..J {
            sum += factors[j] * columns[j][k];
        }
        out[k] += mass[k] * sum;
    }
}

/// A try of a step by every lane, with derivatives and laws at the present state where they are not known.
pub(crate) struct Try<'e, 'a, T: Lane> {
    pub(crate) engine: &'e mut Engine<'a, T>,
    pub(crate) linearise: bool,
}

impl<T: Lane> Job for Try<'_, '_, T> {
    type Output = ();

    #[inline(always)]
    fn run(self) {
        if self.linearise {
            self.engine.linearise();
        }
        self.engine.try_step();
    }
}

impl<T: Lane> Engine<'_, T> {
    /// Right-hand side, its derivatives and the device laws at the present state.
    #[inline(always)]
    fn linearise(&mut self) {
        let (flat, work) = (&self.flat, &mut *self.work);
        flat.rhs(self.t, &work.y, &work.modes, &mut work.points, &mut work.f);
        flat.slopes(self.t, &mut work.slopes);
        flat.negative_jacobian(&work.y, &work.f, &work.points, &mut work.jacobian);
    }

    /// Tries a step, leaving its scaled error (infinite where it came to nothing) and the dense output.
    #[inline(always)]
    fn try_step(&mut self) {
        let (flat, work, symbolic) = (&self.flat, &mut *self.work, &self.plan.symbolic);
        let h = self.h;
        let per_h = T::splat(1.0) / h;
        let diagonal = per_h / T::splat(RODAS.gamma);
        work.matrix.copy_from_slice(&work.jacobian);
        for (&slot, mass) in flat.diagonal().iter().zip(&work.mass) {
            T::one_by_one();
            work.matrix[slot] += *mass * diagonal;
        }
        let pivots = symbolic.factor(&mut work.matrix);
        for stage in 0..STAGES {
            let (before, rest) = work.stages.split_at_mut(stage);
            let out = &mut rest[0][..];
            if stage == 0 {
                out.copy_from_slice(&work.f);
            } else {
                let a = &RODAS.a[stage];
                match stage {
                    1 => combine::<T, 1>(&mut work.argument, &work.y, a, before),
                    2 => combine::<T, 2>(&mut work.argument, &work.y, a, before),
                    3 => combine::<T, 3>(&mut work.argument, &work.y, a, before),
                    4 => combine::<T, 4>(&mut work.argument, &work.y, a, before),
                    // The last argument is the one before it and the stage made from that.
                    _ => {
                        for (argument, add) in work.argument.iter_mut().zip(&before[4]) {
                            T::one_by_one();
                            *argument += *add;
                        }
                    }
                }
                let t = self.t + T::splat(RODAS.alpha[stage]) * h;
                flat.rhs(t, &work.argument, &work.modes, &mut work.stage_points, out);
                let c = &RODAS.c[stage];
                match stage {
                    1 => couple::<T, 1>(out, &work.mass, per_h, c, before),
                    2 => couple::<T, 2>(out, &work.mass, per_h, c, before),
                    3 => couple::<T, 3>(out, &work.mass, per_h, c, before),
                    4 => couple::<T, 4>(out, &work.mass, per_h, c, before),
                    _ => couple::<T, 5>(out, &work.mass, per_h, c, before),
                }
            }
            flat.add_rhs_per_time(&work.slopes, T::splat(RODAS.gamma_sum[stage]) * h, out);
            symbolic.solve(&work.matrix, out);
            heat_stage(flat, work, stage, h);
        }
        self.finish_step(pivots);
    }

    /// Dense output and scaled error from the stages.
    #[inline(always)]
    fn finish_step(&mut self, pivots: T) {
        let c = T::splat;
        let work = &mut *self.work;
        dense_output(work);
        let n = work.y.len();
        let (from, to, last) = (&work.y[..n], &work.dense.to[..n], &work.stages[STAGES - 1][..n]);
        let (absolute, tops) = (&work.absolute[..n], &work.tops[..n]);
        let (relative, receding) = (c(self.options.relative), c(self.options.receding));
        let (zero, mut error, mut sum) = (c(0.0), c(0.0), pivots);
        for k in 0..n {
            T::one_by_one();
            // Stiffly accurate: the last stage is the error of the embedded solution.
            let size = from[k].abs().max(to[k].abs());
            let receded = (tops[k] - size).max(zero);
            let scaled = last[k].abs() / (absolute[k] + relative * size + receding * receded);
            error = error.max(scaled);
            // A value that is not a number would get lost in the maximum.
            sum += to[k];
        }
        let lost = (sum + error) * zero;
        self.error = lost.below(c(1.0), error.max(c(1e-10)), c(f64::INFINITY));
    }
}

/// The heat of each device's conduction as one more row of the method: it follows from the other states and nothing
/// follows from it, so that its stages need no elimination.
#[inline(always)]
fn heat_stage<T: Lane>(flat: &Flat<T>, work: &mut Buffers<T>, stage: usize, h: T) {
    let (before, rest) = work.heat_stages.split_at_mut(stage);
    let points = if stage == 0 {
        &work.points
    } else {
        &work.stage_points
    };
    for (device, out) in rest[0].iter_mut().enumerate() {
        T::one_by_one();
        let along = flat.watts_along(device, &work.points[device], &work.stages[stage]);
        let mut coupling = T::default();
        for (factor, earlier) in RODAS.c[stage].iter().zip(before.iter()) {
            coupling += T::splat(*factor) * earlier[device];
        }
        *out = T::splat(RODAS.gamma) * (h * (points[device].watts() + along) + coupling);
    }
}

/// The solution within the step, of the states and of the heat.
#[inline(always)]
fn dense_output<T: Lane>(work: &mut Buffers<T>) {
    let c = T::splat;
    let n = work.y.len();
    let [u0, u1, u2, u3, u4, u5] = &work.stages;
    let (u0, u1, u2, u3, u4, u5) = (&u0[..n], &u1[..n], &u2[..n], &u3[..n], &u4[..n], &u5[..n]);
    let argument = &work.argument[..n];
    let dense = &mut work.dense;
    dense.from.copy_from_slice(&work.y);
    let (to, c3, c4) = (&mut dense.to[..n], &mut dense.c3[..n], &mut dense.c4[..n]);
    let mut d2 = [T::default(); STAGES];
    let mut d3 = d2;
    for j in 0..STAGES {
        d2[j] = c(RODAS.d2[j]);
        d3[j] = c(RODAS.d3[j]);
    }
    for k in 0..n {
        T::one_by_one();
        to[k] = argument[k] + u5[k];
        c3[k] = d2[0] * u0[k] + d2[1] * u1[k] + d2[2] * u2[k] + d2[3] * u3[k] + d2[4] * u4[k];
        c4[k] = d3[0] * u0[k] + d3[1] * u1[k] + d3[2] * u2[k] + d3[3] * u3[k] + d3[4] * u4[k];
    }
    for device in 0..work.heat.to.len() {
        T::one_by_one();
        let stages = &work.heat_stages;
        work.heat.to[device] = weighted(stages, &RODAS.a[STAGES - 1], device) + stages[STAGES - 1][device];
        work.heat.c3[device] = weighted(stages, &RODAS.d2, device);
        work.heat.c4[device] = weighted(stages, &RODAS.d3, device);
    }
}

#[inline(always)]
fn weighted<T: Lane>(stages: &[Vec<T>; STAGES], factors: &[f64; STAGES], k: usize) -> T {
    let mut sum = T::default();
    for (stage, factor) in stages.iter().zip(factors).take(STAGES - 1) {
        sum += T::splat(*factor) * stage[k];
    }
    sum
}
