//! What came out of many cases.

use std::fmt;

use serde::{Deserialize, Serialize};

use crate::verdict::{Failure, Kind, Verdict};

/// Bins of a quarter octave in the number of steps.
const BINS_PER_OCTAVE: f64 = 4.0;

/// Results of many cases, added up; the same for any order of adding but for the order of failures.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Tally {
    /// Cases in all.
    pub cases: u64,
    /// Those that went wrong.
    pub failures: Vec<Failure>,
    /// Largest residual of the energy audit among the others, and the case that has it.
    pub worst_residual: f64,
    /// Number of that case.
    pub worst_case: u64,
    /// Steps of all cases.
    pub steps: u64,
    /// Changes of state of all cases.
    pub events: u64,
    /// Most steps of a case.
    pub most_steps: u64,
    /// Number of that case.
    pub longest_case: u64,
    /// Cases by steps, in bins of a quarter octave.
    pub bins: Vec<u64>,
}

impl Tally {
    /// Adds a case.
    pub fn take(&mut self, number: u64, result: Result<Verdict, Failure>) {
        self.cases += 1;
        match result {
            Err(failure) => self.failures.push(failure),
            Ok(verdict) => self.take_verdict(number, &verdict),
        }
    }

    fn take_verdict(&mut self, number: u64, verdict: &Verdict) {
        if verdict.residual > self.worst_residual {
            (self.worst_residual, self.worst_case) = (verdict.residual, number);
        }
        if verdict.steps > self.most_steps {
            (self.most_steps, self.longest_case) = (verdict.steps, number);
        }
        self.steps += verdict.steps;
        self.events += verdict.events;
        let bin = ((verdict.steps.max(1) as f64).log2() * BINS_PER_OCTAVE) as usize;
        if self.bins.len() <= bin {
            self.bins.resize(bin + 1, 0);
        }
        self.bins[bin] += 1;
    }

    /// Adds another tally.
    pub fn add(&mut self, other: Tally) {
        self.cases += other.cases;
        self.failures.extend(other.failures);
        self.failures.sort_by_key(|failure| failure.number);
        if other.worst_residual > self.worst_residual {
            (self.worst_residual, self.worst_case) = (other.worst_residual, other.worst_case);
        }
        if other.most_steps > self.most_steps {
            (self.most_steps, self.longest_case) = (other.most_steps, other.longest_case);
        }
        self.steps += other.steps;
        self.events += other.events;
        if self.bins.len() < other.bins.len() {
            self.bins.resize(other.bins.len(), 0);
        }
        for (bin, count) in self.bins.iter_mut().zip(&other.bins) {
            *bin += count;
        }
    }

    /// Steps that this share of the cases stays below, to a quarter octave.
    pub fn quantile(&self, share: f64) -> u64 {
        let wanted = share * self.bins.iter().sum::<u64>() as f64;
        let mut sum = 0;
        for (bin, count) in self.bins.iter().enumerate() {
            sum += count;
            if sum as f64 >= wanted {
                return ((bin + 1) as f64 / BINS_PER_OCTAVE).exp2().round() as u64;
            }
        }
        self.most_steps
    }

    /// Failures of a kind.
    pub fn of(&self, kind: Kind) -> impl Iterator<Item = &Failure> {
        self.failures.iter().filter(move |failure| failure.kind == kind)
    }
}

impl fmt::Display for Tally {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let kinds = [
            (Kind::Refused, "draws that make no circuit"),
            (Kind::NoConvergence, "no convergence"),
            (Kind::TooManySteps, "given up after the most steps allowed"),
            (
                Kind::Oscillates,
                "ports that oscillate by themselves, told as such",
            ),
            (Kind::Chatter, "changes of state without end"),
            (Kind::NoInitialState, "no state before the stress"),
            (Kind::Audit, "energy audit of 1e-3 or more"),
            (Kind::NotFinite, "a result that is no finite number"),
            (Kind::Panic, "the program fell over"),
        ];
        writeln!(f, "cases                  {}", self.cases)?;
        writeln!(f, "failures               {}", self.failures.len())?;
        for (kind, words) in kinds {
            let numbers: Vec<String> = self.of(kind).map(|failure| failure.number.to_string()).collect();
            if !numbers.is_empty() {
                let shown = numbers[..numbers.len().min(20)].join(", ");
                let more = if numbers.len() > 20 { ", …" } else { "" };
                writeln!(f, "  {words}: {} (cases {shown}{more})", numbers.len())?;
            }
        }
        writeln!(
            f,
            "worst energy audit     {:.2e} (case {})",
            self.worst_residual, self.worst_case
        )?;
        let good = (self.cases - self.failures.len() as u64).max(1);
        writeln!(
            f,
            "steps of a case        {} on average, half below {}, 99 % below {}, 99.9 % below {}",
            self.steps / good,
            self.quantile(0.5),
            self.quantile(0.99),
            self.quantile(0.999)
        )?;
        writeln!(
            f,
            "most steps             {} (case {})",
            self.most_steps, self.longest_case
        )?;
        write!(f, "changes of state       {}", self.events)
    }
}
