//! The section of the highest survived levels.

use tidewall_assess::level::{HighestLevel, LevelOutcome};
use tidewall_report::words::level::in_words;

use super::page::{Page, Style};

/// One entry for each stress.
pub fn section(page: &mut Page, levels: &[HighestLevel]) {
    page.heading("Highest survived level of each stress, at every corner");
    for level in levels {
        let style = match level.outcome {
            LevelOutcome::Found | LevelOutcome::SurvivesAll => Style::Plain,
            LevelOutcome::Cancelled => Style::Doubt,
            LevelOutcome::FailsAtLowest => Style::Fail,
        };
        page.styled_entry(style, &format!("{}: ", level.stress), &in_words(level));
    }
    page.entry(
        "– ",
        "the amplitude alone is scaled; found to 1 % between scanned levels a factor of √2 apart",
    );
}
