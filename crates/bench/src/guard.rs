//! Committed counts and references: what a change of the engine is held against without a clock.

use serde::{Deserialize, Serialize};
use tidewall_transient::{Counters, Options, Workspace};

use crate::general;
use crate::measure::{Deviation, Quantities};
use crate::own;
use crate::transient::Ready;

/// What is committed of one circuit.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Entry {
    /// Key of the circuit.
    pub key: String,
    /// Work at default options.
    pub counts: Counts,
    /// Peaks and energies at a tight tolerance.
    pub reference: Quantities,
    /// How far an independent method at a tight tolerance was from them.
    pub independent: Deviation,
}

/// The integrator's counters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Counts {
    /// Accepted steps.
    pub steps: u64,
    /// Rejected steps.
    pub rejections: u64,
    /// Factorisations.
    pub factorisations: u64,
    /// Evaluations of the right-hand side.
    pub evaluations: u64,
}

impl From<Counters> for Counts {
    fn from(counters: Counters) -> Counts {
        Counts {
            steps: counters.steps,
            rejections: counters.rejections,
            factorisations: counters.factorisations,
            evaluations: counters.evaluations,
        }
    }
}

impl Counts {
    /// Each count that has risen above another by more than a tenth, in words.
    pub fn risen_above(&self, committed: &Counts) -> Vec<String> {
        let pairs = [
            ("steps", self.steps, committed.steps),
            (
                "steps and rejections",
                self.steps + self.rejections,
                committed.steps + committed.rejections,
            ),
            ("factorisations", self.factorisations, committed.factorisations),
            ("evaluations", self.evaluations, committed.evaluations),
        ];
        pairs
            .into_iter()
            .filter(|&(_, now, then)| 10 * now > 11 * then)
            .map(|(what, now, then)| format!("{now} {what}, {then} committed"))
            .collect()
    }
}

/// Counts and result of a circuit at default options.
///
/// # Errors
/// In words, why the run was given up.
pub fn default_run(ready: &Ready) -> Result<(Quantities, Counts), String> {
    let mut workspace = Workspace::new(&ready.assembled.equations);
    own::at(
        &ready.assembled,
        &ready.places,
        &Options::default(),
        &mut workspace,
    )
    .map(|(quantities, counters)| (quantities, counters.into()))
    .map_err(|error| format!("`{}`: {error}", ready.circuit.key))
}

/// The entry of a circuit, made anew.
///
/// # Errors
/// In words, why a run was given up.
pub fn entry(ready: &Ready) -> Result<Entry, String> {
    let named = |error: String| format!("`{}`: {error}", ready.circuit.key);
    let reference =
        own::reference(&ready.assembled, &ready.places).map_err(|error| named(error.to_string()))?;
    let independent = general::independent(&ready.assembled, &ready.places).map_err(named)?;
    Ok(Entry {
        key: ready.circuit.key.into(),
        counts: default_run(ready)?.1,
        independent: independent.deviation(&reference),
        reference,
    })
}

/// The committed entries.
///
/// # Errors
/// What is wrong with the text.
pub fn read(text: &str) -> Result<Vec<Entry>, serde_json::Error> {
    serde_json::from_str(text)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rise_of_more_than_a_tenth_is_said() {
        let committed = Counts {
            steps: 100,
            rejections: 10,
            factorisations: 110,
            evaluations: 700,
        };
        assert!(committed.risen_above(&committed).is_empty());
        let at_limit = Counts {
            evaluations: 770,
            ..committed
        };
        assert!(at_limit.risen_above(&committed).is_empty());
        let above = Counts {
            evaluations: 771,
            ..committed
        };
        assert_eq!(above.risen_above(&committed), ["771 evaluations, 700 committed"]);
    }
}
