//! Monte Carlo draws: how often does a specimen fail, which one is the worst, and which tolerance decides.
//!
//! Each draw is one situation: a position in the tolerance of every part (each line of a pair has its own specimen), an
//! amplitude inside the generator's tolerance for every stress, an ambient temperature and a working voltage inside the
//! port's ranges. In it the specimen goes through every stress in all of its polarities, unpowered and powered as the
//! study asks, because that is what a test does to it, and every check gives its verdict. The blind spot below the firing
//! of a first stage is no tolerance and is not drawn; [`crate::assess`] looks for it.
//!
//! Draws are counter-based: draw `k` has its own stream of the generator, so that it is the same whatever the number of
//! draws and of threads.

mod axes;
mod beyond;
mod population;
mod random;
mod result;
mod sensitivity;
mod tally;

use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};

use rayon::prelude::*;
use tidewall_study::Study;
use tidewall_transient::Options;

use crate::result::CheckResult;

pub use axes::{Axis, AxisKind};
pub use population::Population;
pub use random::{Distribution, positions};
pub use result::{
    AxisResult, AxisSensitivity, BeyondCorners, DrawnCheck, DrawnPosition, DrawsResult, Proportion,
    Sensitivity, WorstSpecimen,
};
pub use sensitivity::rank_correlation;
pub use tally::{quantile, wilson};

/// Draws that are handed to the threads at a time: after a cancellation the draws before the first missing one count.
const BLOCK: u64 = 64;

/// What is to be drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Plan {
    /// Number of draws.
    pub count: u64,
    /// Seed of the generator.
    pub seed: u64,
    /// How positions lie between the limits.
    pub distribution: Distribution,
}

/// The draws with what they say about each tolerance.
#[derive(Clone, Debug, PartialEq)]
pub struct Drawn {
    /// Failures and margins.
    pub draws: DrawsResult,
    /// Sensitivities of the checks that come closest to their limits, closest first.
    pub sensitivity: Vec<Sensitivity>,
}

/// Draws specimens of a study and judges each.
///
/// `progress` is called from any thread with (finished, all) draws. When `cancel` becomes true the draws that are
/// running are finished, and the result holds the unbroken run of draws from the first one, marked as incomplete: the
/// ones beyond a gap are left out, since those that finish early are no fair sample.
pub fn run(
    study: &Study,
    plan: &Plan,
    options: &Options,
    progress: &(dyn Fn(u64, u64) + Sync),
    cancel: &AtomicBool,
) -> Drawn {
    let population = Population::new(study);
    let axes = population.axes().len();
    let mut tally = tally::Tally::default();
    let finished = AtomicU64::new(0);
    let one = |draw: u64| -> Option<Vec<CheckResult>> {
        if cancel.load(Ordering::Relaxed) {
            return None;
        }
        let positions = positions(plan.seed, draw, axes, plan.distribution);
        let results = population.judge(&positions, population::Stresses::All, options);
        progress(finished.fetch_add(1, Ordering::Relaxed) + 1, plan.count);
        Some(results)
    };
    let mut next = 0;
    while next < plan.count {
        let end = plan.count.min(next.saturating_add(BLOCK));
        let block: Vec<_> = (next..end).into_par_iter().map(one).collect();
        let whole = block.iter().take_while(|results| results.is_some()).count() as u64;
        for (draw, results) in (next..).zip(block.into_iter().map_while(|results| results)) {
            tally.add(draw, &results);
        }
        if whole < end - next {
            break;
        }
        next = end;
    }
    let draws = tally.result(&population, plan);
    let sensitivity = sensitivity::of(&population, &tally, plan, options, cancel);
    Drawn { draws, sensitivity }
}
