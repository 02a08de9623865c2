//! Where the search begins.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

use super::Problem;

/// The given start, then a Latin hypercube (McKay, Beckman and Conover, 1979) over the search ranges: every range is cut into
/// as many slices as there are further starts, and each slice is used once.
pub(super) fn starts(problem: &Problem) -> Vec<Vec<f64>> {
    let mut list = vec![
        problem
            .parameters
            .iter()
            .map(|p| p.scale.inner(p.start))
            .collect::<Vec<f64>>(),
    ];
    let more = problem.starts.saturating_sub(1);
    if more == 0 || problem.parameters.iter().all(|p| p.search.is_none()) {
        return list;
    }
    let mut generator = ChaCha8Rng::seed_from_u64(problem.seed);
    let mut uniform = || (generator.next_u64() >> 11) as f64 * (-53f64).exp2();
    let mut cube = vec![list[0].clone(); more];
    for (j, parameter) in problem.parameters.iter().enumerate() {
        let Some((low, high)) = parameter.search else {
            continue;
        };
        let (low, high) = (parameter.scale.inner(low), parameter.scale.inner(high));
        let mut slices: Vec<usize> = (0..more).collect();
        for k in (1..more).rev() {
            slices.swap(k, (uniform() * (k + 1) as f64) as usize);
        }
        for (start, slice) in cube.iter_mut().zip(slices) {
            start[j] = low + (high - low) * (slice as f64 + uniform()) / more as f64;
        }
    }
    list.append(&mut cube);
    list
}
