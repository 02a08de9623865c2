//! Everything that a note is made from, computed by the judgement's own functions.

use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use tidewall_assess::compare::{Comparison, Known, compare_known};
use tidewall_assess::memo::Memo;
use tidewall_assess::paths::{PathCost, path_costs};
use tidewall_assess::plan::{Extent, TestPlan, plan_to};
use tidewall_assess::rank::{CheckLine, Position, RankError, RankOptions, Ranking, Standing, rank};
use tidewall_assess::result::Assessment;
use tidewall_assess::traces::Traces;
use tidewall_assess::{assess_and_trace, draws};
use tidewall_devices::datasheet::Datasheet;
use tidewall_study::parts::is_series;
use tidewall_study::{Stage, Study};
use tidewall_transient::Options;

/// Most parts that stand beside the chosen one when none is named.
const BESIDE: usize = 2;

/// How many transients are kept from the ranking of a stage for the comparison in it: some tens of kilobytes each.
const KEPT: usize = 2000;

/// What a note is asked to hold.
pub struct Request<'a> {
    /// Options of the integration.
    pub options: Options,
    /// Judgement and waves of the very study, where they are known.
    pub judged: Option<(&'a Assessment, &'a Traces)>,
    /// Monte Carlo draws, where they are asked for.
    pub draws: Option<draws::Plan>,
    /// Parts to be tried in each shunt stage besides the one that stands there.
    pub candidates: Vec<Arc<Datasheet>>,
    /// Names of those that must stand beside the chosen part; of the best and the nearest misses otherwise.
    pub against: Vec<String>,
    /// The stage that `against` is meant for; every shunt stage otherwise.
    pub at: Option<String>,
    /// Called from any thread with what is being done and how far it is.
    pub progress: &'a (dyn Fn(&'static str, usize, usize) + Sync),
}

/// What the alternatives in one stage came to.
pub struct Alternatives {
    /// The stage.
    pub stage: String,
    /// The part that stands there.
    pub chosen: String,
    /// All others, judged.
    pub ranking: Ranking,
    /// The chosen part and some of the others side by side; `None` with nothing to lay beside it.
    pub beside: Option<Comparison>,
}

/// What a note is made from.
pub struct Material {
    /// The judgement.
    pub result: Assessment,
    /// Of each stress the run of its worst let-through, with its waves.
    pub traces: Traces,
    /// Alternatives of each shunt stage.
    pub alternatives: Vec<Alternatives>,
    /// What longer paths cost.
    pub paths: Vec<PathCost>,
    /// The test plan, at the required levels only.
    pub plan: TestPlan,
}

/// Computes all of it.
///
/// # Errors
/// A part that must be compared cannot stand in the stage.
pub fn gather(study: &Study, request: &Request) -> Result<Material, RankError> {
    let options = &request.options;
    let show = |what: &'static str| move |done: usize, all: usize| (request.progress)(what, done, all);
    let (mut result, traces) = match &request.judged {
        Some((result, traces)) => (Assessment::clone(result), Traces::clone(traces)),
        None => assess_and_trace(study, options, &show("corners")),
    };
    if let Some(drawn) = &request.draws {
        add_draws(study, &mut result, drawn, request);
    }
    let paths = path_costs(study, &result, options);
    let alternatives = alternatives(study, &result, request)?;
    let plan = plan_to(study, Extent::RequiredLevels, options, &show("shots"));
    Ok(Material {
        result,
        traces,
        alternatives,
        paths,
        plan,
    })
}

fn add_draws(study: &Study, result: &mut Assessment, asked: &draws::Plan, request: &Request) {
    let cancel = AtomicBool::new(false);
    let show = |done: u64, all: u64| (request.progress)("draws", done as usize, all as usize);
    let mut drawn = draws::run(study, asked, &request.options, &show, &cancel);
    let corners: Vec<CheckLine> = result.checks.iter().map(CheckLine::from).collect();
    drawn.draws.compare(&corners);
    result.draws = Some(drawn.draws);
    result.sensitivity = Some(drawn.sensitivity);
}

/// Every shunt stage with what else could stand in it.
fn alternatives(
    study: &Study,
    result: &Assessment,
    request: &Request,
) -> Result<Vec<Alternatives>, RankError> {
    let mut list = Vec::new();
    for stage in &study.ladder {
        let Stage::Shunt(shunt) = stage else { continue };
        if request.at.as_ref().is_some_and(|at| *at != shunt.name) {
            continue;
        }
        let others: Vec<Arc<Datasheet>> = request
            .candidates
            .iter()
            .filter(|part| !is_series(part.family) && *part.name != *shunt.part)
            .cloned()
            .collect();
        if others.is_empty() {
            continue;
        }
        let position = Position::of_parts(study, &shunt.name, &others)?;
        let memo = Memo::new(KEPT);
        let options = RankOptions {
            transient: request.options,
            memo: Some(&memo),
            judged: &|_, done, all| (request.progress)("alternatives", done, all),
            ..RankOptions::default()
        };
        let ranking = rank(study, std::slice::from_ref(&position), &options)?;
        let names = beside(&ranking, &request.against);
        let mut parts: Vec<Arc<Datasheet>> = Vec::new();
        parts.extend(study.parts.get(&shunt.part).cloned().map(Arc::new));
        for name in &names {
            parts.extend(others.iter().find(|part| *part.name == **name).cloned());
        }
        let progress = |done: usize, all: usize| (request.progress)("comparison", done, all);
        let known = Known {
            standing: Some(result),
            memo: Some(&memo),
        };
        let beside = (parts.len() > 1)
            .then(|| compare_known(study, &shunt.name, &parts, known, &request.options, &progress))
            .transpose()?;
        list.push(Alternatives {
            stage: shunt.name.clone(),
            chosen: shunt.part.clone(),
            ranking,
            beside,
        });
    }
    Ok(list)
}

/// Who stands beside the chosen part: those asked for, or the best of each family that does not fail and then the nearest
/// misses of families not shown yet.
fn beside(ranking: &Ranking, against: &[String]) -> Vec<String> {
    if !against.is_empty() {
        return against.to_vec();
    }
    let mut families: Vec<&str> = Vec::new();
    let mut names = Vec::new();
    for candidate in ranking.ranked.iter().chain(&ranking.rejected) {
        let Some(placed) = candidate.placed.first() else {
            continue;
        };
        let (Some(part), Some(family)) = (&placed.part, &placed.family) else {
            continue;
        };
        // What fails by its data alone is told in a line; there is nothing to lay beside it.
        let by_data = matches!(candidate.standing, Standing::Rejected { step: 0, .. });
        if by_data || families.contains(&family.as_str()) || names.len() == BESIDE {
            continue;
        }
        families.push(family);
        names.push(part.clone());
    }
    names
}
