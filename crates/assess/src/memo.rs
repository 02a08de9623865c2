//! Transients that may be asked for again: those of a study that is edited, and of parts that are ranked and then compared.

use std::collections::HashMap;
use std::fmt::Debug;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use rayon::prelude::*;
use sha2::{Digest, Sha256};

use tidewall_study::Study;
use tidewall_transient::Options;

use crate::corners::Case;
use crate::firing;
use crate::simulate::{CaseOutcome, Ports};

/// Digest of all that a transient depends on: the port's models, its supply, the generator and the options. What only
/// judges the result (levels, limits, titles, margins) is not in it.
pub(crate) type Key = [u8; 32];

/// Digest of a value in its full text, in which every number has all its digits.
pub(crate) fn digest(value: &impl Debug) -> Key {
    Sha256::digest(format!("{value:?}").as_bytes()).into()
}

/// Rounds for which blind spots are kept.
const SPOTS_KEPT: u64 = 64;

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
    /// The blind spots of a study under one stress, and the round in which they were last of use.
    spots: HashMap<Key, (u64, Vec<Case>)>,
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
        let mut known = self.lock();
        known.outcomes.clear();
        known.spots.clear();
    }

    // Outcomes are put and taken whole, so that the map is whole even after a panic.
    fn lock(&self) -> MutexGuard<'_, Known> {
        self.known.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// A new assessment begins.
    pub(crate) fn begin(&self) {
        let mut known = self.lock();
        known.round += 1;
        let now = known.round;
        known.spots.retain(|_, (round, _)| *round + SPOTS_KEPT > now);
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

    /// The blind spots of a key; `None` where it is not known.
    fn spots(&self, key: &Key) -> Option<Vec<Case>> {
        let mut known = self.lock();
        let now = known.round;
        let (round, spots) = known.spots.get_mut(key)?;
        *round = now;
        Some(spots.clone())
    }

    /// Keeps an outcome.
    pub(crate) fn put(&self, key: Key, outcome: &CaseOutcome) {
        let mut known = self.lock();
        known.counts.run += 1;
        let round = known.round;
        known.outcomes.insert(key, (round, Arc::new(outcome.clone())));
    }

    /// Keeps blind spots.
    fn put_spots(&self, key: Key, spots: &[Case]) {
        let mut known = self.lock();
        let round = known.round;
        known.spots.insert(key, (round, spots.to_vec()));
    }
}

/// The blind spots of a study as [`firing::blind_spots`] finds them, those that a memo knows not looked for again. The
/// cases are in the order of the stresses, and of each stress either all or none are asked about.
pub(crate) fn blind_spots(
    memo: Option<&Memo>,
    ports: &Ports<'_>,
    cases: &[Case],
    options: &Options,
) -> Vec<Case> {
    let Some(memo) = memo else {
        return firing::blind_spots(ports, cases, options);
    };
    let study: &Study = ports.study();
    // Once for all stresses: a study is long in full text.
    let own = digest(&(study, options));
    let groups: Vec<&[Case]> = cases.chunk_by(|a, b| a.stress == b.stress).collect();
    let found: Vec<Vec<Case>> = groups
        .into_par_iter()
        .map(|cases| {
            let key = digest(&(own, cases[0].stress));
            if let Some(spots) = memo.spots(&key) {
                return spots;
            }
            let spots = firing::blind_spots(ports, cases, options);
            memo.put_spots(key, &spots);
            spots
        })
        .collect();
    found.into_iter().flatten().collect()
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
