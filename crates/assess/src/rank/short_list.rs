//! Monte Carlo draws of the best candidates.

use std::sync::atomic::{AtomicBool, Ordering};

use schemars::JsonSchema;
use serde::Serialize;
use tidewall_study::Study;
use tidewall_transient::Options;

use super::place::{Choice, Position, with};
use super::result::{Candidate, Placed, Standing};
use crate::draws::{self, DrawsResult, Plan, Sensitivity};

/// A candidate of the short list with its draws.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ShortListed {
    /// What stands where.
    pub placed: Vec<Placed>,
    /// How often its specimens fail.
    pub draws: DrawsResult,
    /// Which tolerances decide.
    pub sensitivity: Vec<Sensitivity>,
}

/// Draws specimens of ranked candidates, each with the same plan.
///
/// `progress` is called from any thread with (finished, all) draws. When `cancel` becomes true the list ends with what is
/// done by then.
pub fn draw_best(
    study: &Study,
    positions: &[Position],
    best: &[Candidate],
    plan: &Plan,
    options: &Options,
    progress: &(dyn Fn(u64, u64) + Sync),
    cancel: &AtomicBool,
) -> Vec<ShortListed> {
    let all = plan.count * best.len() as u64;
    let mut list = Vec::new();
    for (number, candidate) in (0u64..).zip(best) {
        if cancel.load(Ordering::Relaxed) {
            break;
        }
        let placed = with(study, &choices(positions, candidate));
        let show = |done: u64, _| progress(number * plan.count + done, all);
        let mut drawn = draws::run(&placed, plan, options, &show, cancel);
        if let Standing::Ranked { checks, .. } = &candidate.standing {
            drawn.draws.compare(checks);
        }
        list.push(ShortListed {
            placed: candidate.placed.clone(),
            draws: drawn.draws,
            sensitivity: drawn.sensitivity,
        });
    }
    list
}

/// The choices that a candidate stands for.
fn choices<'p>(positions: &'p [Position], candidate: &Candidate) -> Vec<(&'p str, &'p Choice)> {
    let is = |choice: &Choice, placed: &Placed| match choice {
        Choice::Part(part) => placed.part.as_deref() == Some(&*part.name),
        Choice::Ohms(ohms) => placed.resistance_ohm == Some(*ohms),
    };
    positions
        .iter()
        .filter_map(|position| {
            let placed = candidate
                .placed
                .iter()
                .find(|placed| placed.stage == position.stage)?;
            let choice = position.choices.iter().find(|choice| is(choice, placed))?;
            Some((position.stage.as_str(), choice))
        })
        .collect()
}
