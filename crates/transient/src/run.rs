//! Transients, alone and in bundles.

use tidewall_ladder::Flat;
use tidewall_lanes::Pack;

use crate::engine::{Corner, Engine};
use crate::problem::{Options, Outcome, Problem, TransientError};
use crate::workspace::{LANES, Workspace};

/// From so many corners of one kind on a bundle is quicker than one after the other: a step of a bundle costs about two
/// of a single run.
const WORTH_A_BUNDLE: usize = 3;

/// Integrates a transient.
///
/// # Errors
/// [`TransientError`] for one that comes to no end.
pub fn run(
    problem: &Problem,
    options: &Options,
    workspace: &mut Workspace,
) -> Result<Outcome, TransientError> {
    workspace.set(problem.equations);
    let corner = Corner {
        number: 0,
        problem,
        flat: Flat::new(problem.equations, &workspace.plan.symbolic),
    };
    let mut results = vec![None];
    let (plan, work) = (&workspace.plan, &mut workspace.single);
    Engine::<f64>::integrate(vec![corner], options, plan, work, &mut results);
    results
        .pop()
        .flatten()
        .unwrap_or(Err(TransientError::NoInitialState))
}

/// Integrates several transients; results stand in the order of the problems and are those of [`run`] to the last bit.
/// Problems whose circuits differ by numbers alone go through the steps together, whatever their order.
pub fn run_all(
    problems: &[Problem],
    options: &Options,
    workspace: &mut Workspace,
) -> Vec<Result<Outcome, TransientError>> {
    let mut results: Vec<Option<Result<Outcome, TransientError>>> = vec![None; problems.len()];
    let mut left: Vec<usize> = (0..problems.len()).collect();
    while let Some(&first) = left.first() {
        workspace.set(problems[first].equations);
        let mut kind: Vec<Corner> = Vec::new();
        left.retain(|&number| {
            let problem = &problems[number];
            if !workspace.plan.is_of(problem.equations) || problem.probes != problems[first].probes {
                return true;
            }
            let flat = Flat::new(problem.equations, &workspace.plan.symbolic);
            let fits = kind
                .first()
                .is_none_or(|first| first.flat.differs_by_numbers(&flat));
            if fits {
                kind.push(Corner {
                    number,
                    problem,
                    flat,
                });
            }
            !fits
        });
        let plan = &workspace.plan;
        if kind.len() < WORTH_A_BUNDLE {
            for corner in kind {
                Engine::<f64>::integrate(vec![corner], options, plan, &mut workspace.single, &mut results);
            }
        } else {
            Engine::<Pack<LANES>>::integrate(kind, options, plan, &mut workspace.bundle, &mut results);
        }
    }
    let missing = Err(TransientError::NoInitialState);
    results
        .into_iter()
        .map(|result| result.unwrap_or_else(|| missing.clone()))
        .collect()
}
