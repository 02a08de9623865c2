//! What runs come to.

use std::collections::BTreeSet;

use tidewall_assess::compare::{Comparison, Equivalents};
use tidewall_assess::correlate::result::Correlation;
use tidewall_assess::draws::Drawn;
use tidewall_assess::level::{HighestLevel, LevelOutcome};
use tidewall_assess::plan::TestPlan;
use tidewall_assess::rank::Ranking;
use tidewall_assess::requirement::Requirement;
use tidewall_assess::result::Verdict;
use tidewall_report::document::Note;

/// What a run came to.
#[derive(Debug)]
pub enum Product {
    /// A ranking.
    Ranking(Ranked),
    /// What a part must be, for each stage.
    Requirement(Vec<Requirement>),
    /// Parts side by side.
    Comparison(Comparison),
    /// Parts nearest to one.
    Equivalents(Equivalents),
    /// Draws with what decides.
    Draws(Drawn),
    /// Highest survived levels.
    Levels(Vec<HighestLevel>),
    /// A test plan.
    Plan(TestPlan),
    /// A note.
    Report(Report),
    /// A capture against the prediction.
    Correlation(Box<Correlation>),
}

impl Product {
    /// Nothing of it was left out by a stop.
    pub fn is_whole(&self) -> bool {
        match self {
            Product::Ranking(ranked) => ranked.ranking.complete,
            Product::Equivalents(found) => found.complete,
            Product::Draws(drawn) => drawn.draws.complete,
            Product::Levels(levels) => levels
                .iter()
                .all(|level| level.outcome != LevelOutcome::Cancelled),
            Product::Requirement(_)
            | Product::Comparison(_)
            | Product::Plan(_)
            | Product::Report(_)
            | Product::Correlation(_) => true,
        }
    }
}

/// A ranking with what its page needs besides.
#[derive(Debug)]
pub struct Ranked {
    /// The ranking.
    pub ranking: Ranking,
    /// Names of candidates that are classes and no parts: a study cannot name them.
    pub generic: BTreeSet<String>,
}

/// A note with its other forms.
#[derive(Debug)]
pub struct Report {
    /// The note.
    pub note: Note,
    /// Verdict of the study.
    pub verdict: Verdict,
    /// The workbook.
    pub workbook: Vec<u8>,
}
