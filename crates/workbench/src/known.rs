//! Candidates that were judged before: ranking them again in another order, or going on after a stop, costs nothing.

use std::collections::HashMap;
use std::sync::{Mutex, PoisonError};

use tidewall_assess::rank::Candidate;

/// How many are kept: some kilobytes each.
const KEPT: usize = 8192;

/// Candidates by their fingerprint, which covers study, choice, options and version.
#[derive(Debug, Default)]
pub struct Known(Mutex<HashMap<String, Candidate>>);

impl Known {
    /// A candidate judged before.
    pub fn get(&self, fingerprint: &str) -> Option<Candidate> {
        let known = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        known.get(fingerprint).cloned()
    }

    /// Keeps a candidate. When there are too many all are forgotten: what is of use is soon judged again.
    pub fn keep(&self, candidate: &Candidate) {
        let mut known = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if known.len() >= KEPT && !known.contains_key(&candidate.fingerprint) {
            known.clear();
        }
        known.insert(candidate.fingerprint.clone(), candidate.clone());
    }
}
