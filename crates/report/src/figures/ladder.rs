//! The ladder as a drawing.

use tidewall_plot::Figure;
use tidewall_plot::schematic::Ladder;
use tidewall_study::Study;

/// The drawing of a study's ladder.
pub fn ladder(study: &Study) -> Figure {
    ladder_of(study).figure("ladder", &study.title)
}

/// The neutral description that [`ladder`] draws, for pages that mark or extend it.
pub fn ladder_of(study: &Study) -> Ladder {
    let _ = study;
    Ladder::default()
}
