//! Ranking: every candidate for a stage (or for several) through all checks, all corners and all stresses.
//!
//! Candidates are judged in steps of rising cost: checks of the data, checks of the models, then of every stress the corners that
//! usually decide, then all others. A candidate that fails a step is rejected there with that failure as its reason.
//! The screen is sound because a failure found in some corners is a failure of the whole: the worst corner of a check
//! is kept, and the worst check decides. So no part is dropped that the whole would pass; a test holds the ranking
//! against the whole assessment of every part.

mod judge;
mod order;
mod place;
mod result;
mod short_list;

use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

use rayon::prelude::*;
use tidewall_study::Study;
use tidewall_transient::Options;

use crate::memo::Memo;
use crate::result::StudyRef;
use judge::Bench;

pub(crate) use judge::worst_margin;
pub use order::Order;
pub use place::{Choice, Position, with};
pub use result::{Candidate, CheckLine, Counts, Placed, RANKING_SCHEMA, Ranking, Standing};
pub use short_list::{ShortListed, draw_best};

/// Why candidates cannot be ranked.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum RankError {
    /// The ladder has no stage of that name.
    #[error("the ladder has no stage `{stage}`; it has {}", .stages.join(", "))]
    NoStage {
        /// The name asked for.
        stage: String,
        /// The names there are.
        stages: Vec<String>,
    },
    /// A capacitor takes no part of the library.
    #[error("`{0}` is a capacitor: parts cannot stand in its place")]
    NotForParts(String),
    /// Values are for plain series elements.
    #[error("`{0}` is not a plain series element, which alone takes a resistance")]
    NotForValues(String),
    /// There is nothing to try.
    #[error("there is no candidate for `{0}`")]
    NoCandidate(String),
    /// A part of the wrong kind for the stage.
    #[error("`{part}` cannot stand in `{stage}`: series parts go in the line, all others across it")]
    Misplaced {
        /// The part.
        part: String,
        /// The stage.
        stage: String,
    },
    /// A resistance that is none.
    #[error("{0} Ω is not a resistance to try")]
    BadValue(f64),
    /// A stage is asked for twice.
    #[error("`{0}` is asked for twice")]
    Twice(String),
    /// More combinations than can be counted on a machine.
    #[error("there are too many combinations to go through")]
    TooMany,
}

/// How to rank.
pub struct RankOptions<'a> {
    /// Options of the integration.
    pub transient: Options,
    /// Order of those that do not fail.
    pub order: Order,
    /// Whether to stop at a candidate's first failing step. Without, every corner of every candidate is run; verdicts,
    /// order and reasons are the same.
    pub screen: bool,
    /// Where transients are kept for what is asked about the candidates afterwards.
    pub memo: Option<&'a Memo>,
    /// A candidate that was judged before, by its fingerprint.
    pub known: &'a (dyn Fn(&str) -> Option<Candidate> + Sync),
    /// Called from any thread with each candidate judged now, and how many of all are done.
    pub judged: &'a (dyn Fn(&Candidate, usize, usize) + Sync),
    /// Asked between transients: true ends the work with what has been judged by then.
    pub stop: &'a (dyn Fn() -> bool + Sync),
}

impl Default for RankOptions<'_> {
    fn default() -> Self {
        RankOptions {
            transient: Options::default(),
            order: Order::default(),
            screen: true,
            memo: None,
            known: &|_| None,
            judged: &|_, _, _| {},
            stop: &|| false,
        }
    }
}

/// Ranks every combination of the choices in their positions.
///
/// # Errors
/// See [`RankError`].
pub fn rank(study: &Study, positions: &[Position], options: &RankOptions<'_>) -> Result<Ranking, RankError> {
    for (k, position) in positions.iter().enumerate() {
        if positions[..k].iter().any(|other| other.stage == position.stage) {
            return Err(RankError::Twice(position.stage.clone()));
        }
        if position.choices.is_empty() {
            return Err(RankError::NoCandidate(position.stage.clone()));
        }
    }
    let total = positions
        .iter()
        .try_fold(1usize, |total, position| {
            total.checked_mul(position.choices.len())
        })
        .ok_or(RankError::TooMany)?;
    let bench = Bench::new(study, options);
    let done = AtomicUsize::new(0);
    let stopped = AtomicBool::new(false);
    let candidates: Mutex<Vec<(usize, Candidate)>> = Mutex::new(Vec::new());
    (0..total).into_par_iter().for_each(|number| {
        if stopped.load(Ordering::Relaxed) || (options.stop)() {
            stopped.store(true, Ordering::Relaxed);
            return;
        }
        let placed = combination(positions, number);
        let Some(candidate) = bench.judge(&placed) else {
            stopped.store(true, Ordering::Relaxed);
            return;
        };
        let so_far = done.fetch_add(1, Ordering::Relaxed) + 1;
        (options.judged)(&candidate, so_far, total);
        if let Ok(mut list) = candidates.lock() {
            list.push((number, candidate));
        }
    });
    // A poisoned lock means that a thread has panicked, and the panic goes on from `for_each` before this line.
    let mut judged = candidates.into_inner().unwrap_or_default();
    // Threads finish in any order.
    judged.sort_by_key(|(number, _)| *number);
    let judged: Vec<Candidate> = judged.into_iter().map(|(_, candidate)| candidate).collect();
    let counts = Counts::of(&judged, total);
    let (ranked, rejected) = order::sort(judged, &options.order);
    Ok(Ranking {
        schema: RANKING_SCHEMA,
        version: env!("CARGO_PKG_VERSION"),
        study: StudyRef {
            title: study.title.clone(),
            digest: study.digest.clone(),
        },
        positions: positions.iter().map(|position| position.stage.clone()).collect(),
        complete: counts.judged == total,
        counts,
        order: options.order.in_words(),
        ranked,
        rejected,
        short_list: None,
    })
}

/// The choices of a combination by its number; the last position changes fastest.
fn combination(positions: &[Position], mut number: usize) -> Vec<(&str, &Choice)> {
    let mut placed = Vec::with_capacity(positions.len());
    for position in positions.iter().rev() {
        let n = position.choices.len();
        placed.push((position.stage.as_str(), &position.choices[number % n]));
        number /= n;
    }
    placed.reverse();
    placed
}
