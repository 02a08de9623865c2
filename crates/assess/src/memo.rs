//! Transients of a study that is edited: what an edit does not touch is not run again.

use std::collections::HashMap;
use std::fmt::Debug;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use sha2::{Digest, Sha256};

use crate::simulate::CaseOutcome;

/// Digest of all that a transient depends on: the port's models, its supply, the generator and the options. What only
/// judges the result (levels, limits, titles, margins) is not in it.
pub(crate) type Key = [u8; 32];

/// Digest of a value in its full text, in which every number has all its digits.
pub(crate) fn digest(value: &impl Debug) -> Key {
    Sha256::digest(format!("{value:?}").as_bytes()).into()
}

/// Transients that were run before.
///
/// A transient taken from here is the same to the bit as one run anew, and so is every judgement made of it.
#[derive(Debug)]
pub struct Memo {
    known: Mutex<Known>,
    most: usize,
}

#[derive(Debug, Default)]
struct Known {
    /// The outcome, and the round in which it was last of use.
    outcomes: HashMap<Key, (u64, Arc<CaseOutcome>)>,
    round: u64,
    counts: Counts,
}

/// How often a transient was known, and how often it had to be run.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Counts {
    /// Taken from the memo.
    pub known: u64,
    /// Run.
    pub run: u64,
}

impl Memo {
    /// Room for so many transients; those that were not of use for the longest time make room for new ones.
    pub fn new(most: usize) -> Memo {
        Memo {
            known: Mutex::default(),
            most,
        }
    }

    /// What was known and what was run since the beginning.
    pub fn counts(&self) -> Counts {
        self.lock().counts
    }

    /// Forgets everything.
    pub fn clear(&self) {
        self.lock().outcomes.clear();
    }

    // Outcomes are put and taken whole, so that the map is whole even after a panic.
    fn lock(&self) -> MutexGuard<'_, Known> {
        self.known.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// A new assessment begins.
    pub(crate) fn begin(&self) {
        let mut known = self.lock();
        known.round += 1;
        if known.outcomes.len() > self.most {
            let mut rounds: Vec<u64> = known.outcomes.values().map(|(round, _)| *round).collect();
            rounds.sort_unstable();
            let oldest = rounds[rounds.len() - self.most];
            known.outcomes.retain(|_, (round, _)| *round > oldest);
        }
    }

    /// The outcome of a key, with the time beyond each of `levels` (probe and volts) in place of those it was run with;
    /// `None` where it is not known, or was beyond a level that was not timed.
    pub(crate) fn get(
        &self,
        key: &Key,
        levels: impl FnOnce(&CaseOutcome) -> Vec<(usize, f64)>,
    ) -> Option<CaseOutcome> {
        let found = {
            let mut known = self.lock();
            let now = known.round;
            let (round, outcome) = known.outcomes.get_mut(key)?;
            *round = now;
            Arc::clone(outcome)
        };
        let levels = levels(&found);
        let beyond_s = beyond(&found, &levels)?;
        self.lock().counts.known += 1;
        let mut outcome = CaseOutcome::clone(&found);
        outcome.levels = levels;
        outcome.outcome.beyond_s = beyond_s;
        Some(outcome)
    }

    /// Keeps an outcome.
    pub(crate) fn put(&self, key: Key, outcome: &CaseOutcome) {
        let mut known = self.lock();
        known.counts.run += 1;
        let round = known.round;
        known.outcomes.insert(key, (round, Arc::new(outcome.clone())));
    }
}

/// The time that an outcome spent beyond each level: as it was timed, or none for a level that was never passed.
fn beyond(outcome: &CaseOutcome, levels: &[(usize, f64)]) -> Option<Vec<f64>> {
    let run = &outcome.outcome;
    let one = |level: &(usize, f64)| {
        if let Some(timed) = outcome.levels.iter().position(|own| own == level) {
            return Some(run.beyond_s[timed]);
        }
        let (probe, volts) = *level;
        let seen = run.probes[probe].volts;
        let within = if volts < 0.0 {
            seen.min >= volts
        } else {
            seen.max <= volts
        };
        within.then_some(0.0)
    };
    levels.iter().map(one).collect()
}
