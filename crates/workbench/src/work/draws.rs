//! Monte Carlo draws, and the highest survived levels.

use std::sync::Arc;

use tidewall_assess::draws::{Plan, run};
use tidewall_assess::level::highest_levels;
use tidewall_assess::rank::CheckLine;
use tidewall_desk::failure::Failure;
use tidewall_study::Study;
use tidewall_transient::Options;

use super::Work;
use super::ranking::distribution;
use crate::asked::Asked;
use crate::product::Product;

/// Most draws that a page asks for.
const MOST: u64 = 1_000_000;
/// Draws unless another number is asked for: a failure in a hundred is then seen with an interval of about ±0.6 %.
pub const USUAL: u64 = 1000;

/// Number, seed and distribution.
pub(super) fn plan(asked: &Asked, count: u64) -> Result<Plan, Failure> {
    Ok(Plan {
        count,
        seed: asked.whole("seed", 1, 0..=u64::MAX)?,
        distribution: distribution(asked)?,
    })
}

pub(super) fn work(study: Arc<Study>, asked: &Asked) -> Result<Work, Failure> {
    let plan = plan(asked, asked.whole("draws", USUAL, 1..=MOST)?)?;
    Ok(Box::new(move |job| {
        let options = Options::default();
        // The corners say which draws come off worse than any of them.
        let corners = tidewall_assess::assess(&study, &options, &|done, all| {
            job.show_or_stop("corners", done, all);
        });
        let show = |done, all| job.show("draws", done, all);
        let mut drawn = run(&study, &plan, &options, &show, job.stop());
        let lines: Vec<CheckLine> = corners.checks.iter().map(CheckLine::from).collect();
        drawn.draws.compare(&lines);
        Ok(Product::Draws(drawn))
    }))
}

pub(super) fn levels(study: Arc<Study>) -> Work {
    Box::new(move |job| {
        let show = |done: usize, all: usize| job.show("levels", done as u64, all as u64);
        let found = highest_levels(&study, &Options::default(), &show, job.stop());
        Ok(Product::Levels(found))
    })
}
